//! Probabilities from draws: the interval about a share, and the draws themselves.

use super::{Source, Table};
use crate::window::Probability;
use facedown_evidence::Basis;
use facedown_field::random::Sequence;

const NEWCOMBE: Source = Source(
    "R. G. Newcombe, Statistics in Medicine 17 (1998) 857, table I, method 3: score intervals of 95 %",
    Basis::Published,
);
const VIGNA: Source = Source(
    "SplitMix64 of the seed 1234567 by the reference program, as listed at Rosetta Code: first number over 2^64",
    Basis::Published,
);

pub fn rows(table: &mut Table) {
    for (hits, draws, between) in [
        (81, 263, [0.2553, 0.3662]),
        (15, 148, [0.0624, 0.1605]),
        (0, 20, [0.0, 0.1611]),
        (1, 29, [0.0061, 0.1718]),
    ] {
        let found = Probability::of(hits, draws, 0.95).between;
        for (name, k) in [("low", 0), ("high", 1)] {
            // Printed to four digits.
            table.within(
                &format!("underfill-share-{hits}-of-{draws}-{name}"),
                NEWCOMBE,
                between[k],
                found[k],
                5.1e-5,
            );
        }
    }
    let first = 6_457_827_717_110_365_317_u64 as f64 / 2_f64.powi(64);
    table.within("underfill-draw-first", VIGNA, first, Sequence::new(1_234_567).uniform(0), 1e-15);
}
