//! Rows about counted cycles, Weibull fits with censoring, and what a sample proves.

use super::{Source, Table};
use crate::rainflow::{Counted, count, count_repeating, reversals};
use crate::weibull::Weibull;
use crate::weibull_fit::{Fit, Sample};
use crate::{acceleration, demonstration, miner, rank};
use facedown_evidence::Basis;

const COUNTING: Source = Source("ASTM E1049-85, figure 6, rainflow counting", Basis::Published);
const REPEATING: Source = Source(
    "the series of ASTM E1049-85, figure 6, repeated (section 5.4.5), turned to its maximum and counted with the Python library rainflow 3.2.0",
    Basis::ReferenceLibrary,
);
const WAVE: Source =
    Source("documentation of the Python library rainflow: its example series, counted", Basis::Published);
const HANDBOOK: Source = Source(
    "NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: Weibull fit of 10 failures and 10 units censored at 500 h",
    Basis::Published,
);
const RATIO: Source = Source(
    "data of NIST/SEMATECH e-Handbook 8.4.1.3, likelihood-ratio bounds by scipy 1.17 (root of the profile)",
    Basis::ReferenceLibrary,
);
const SMALL: Source = Source(
    "D. Kececioglu, Reliability and Life Testing Handbook: 16, 34, 53, 75, 93, 120 h (as remembered), fitted with scipy 1.17",
    Basis::ReferenceLibrary,
);
const RANKS: Source = Source(
    "L. G. Johnson, The Statistical Treatment of Fatigue Experiments, 1964: median ranks of 10 (as remembered)",
    Basis::FromMemory,
);
const PARTITION: Source =
    Source("IPC-SM-785, equation 16, example: first of 10 at 800 cycles, shape 4", Basis::Published);
const RUN: Source =
    Source("Quality Digest: success run for 90 % reliability at 90 % confidence", Basis::Published);
const LONGER: Source = Source(
    "C. J. Wang, sample sizes of zero-failure tests by Weibayes (reliability 95 % at 1000 h, confidence 90 %)",
    Basis::Published,
);
const DEMONSTRATED: Source = Source(
    "parametric binomial example (reliability 90 % at 100 h, confidence 95 %, shape 1.5, test of 48 h): scale of 448.3 h",
    Basis::Published,
);
const CHI: Source = Source(
    "Freescale Semiconductor, reliability data sheet: chi-square at 60 and 90 % for 0 to 3 failures",
    Basis::Published,
);
const RATES: Source = Source(
    "Freescale Semiconductor, reliability data sheet: no failure in 500 000 device hours at 60 % confidence",
    Basis::Published,
);
const OSCILLATOR: Source = Source(
    "Fox Electronics, reliability data sheet: no failure in 720 000 device hours at 125 degC, 0.40 eV, for 25 degC: 2.55e-8 1/h",
    Basis::Published,
);
const LOTS: Source =
    Source("JESD47, sample sizes for 10 and 1 % tolerated (as remembered)", Basis::FromMemory);
const MINER: Source = Source(
    "M. A. Miner, J. Appl. Mech. 12 (1945) A159, sum of three shares with numpy 2.4",
    Basis::ReferenceLibrary,
);

/// Failures of the handbook's example, h.
const FAILED: [f64; 10] = [54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0];

fn cycles_of(counted: &[Counted], range: f64, within: f64) -> f64 {
    counted.iter().filter(|c| (c.range() - range).abs() <= within).map(|c| c.count).sum()
}

fn counting(table: &mut Table) {
    let series = |values: &[f64]| values.iter().enumerate().map(|(i, &v)| (i as f64, v)).collect::<Vec<_>>();
    let points = series(&[-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]);
    let once = count(&reversals(&points, 0.0));
    for (range, expected) in [(3.0, 0.5), (4.0, 1.5), (6.0, 0.5), (8.0, 1.0), (9.0, 0.5)] {
        let found = cycles_of(&once, range, 1e-9);
        table.within(&format!("life-rainflow-once-{range:.0}"), COUNTING, expected, found, 1e-12);
    }
    let again = count_repeating(&points, 0.0);
    for range in [3.0, 4.0, 7.0, 9.0] {
        let found = cycles_of(&again, range, 1e-9);
        table.within(&format!("life-rainflow-repeating-{range:.0}"), REPEATING, 1.0, found, 1e-12);
    }
    let wave: Vec<(f64, f64)> = (0..=200)
        .map(|i| {
            let t = 4.0 * f64::from(i) / 200.0;
            (t, 0.2 + 0.5 * t.sin() + 0.2 * (10.0 * t).cos() + 0.2 * (4.0 * t).sin())
        })
        .collect();
    let wave = count(&reversals(&wave, 0.0));
    // Printed to seven decimals.
    for (range, expected) in [(0.214_679_9, 1.0), (0.438_898_6, 1.0), (0.780_933_0, 0.5), (1.434_361_0, 0.5)]
    {
        table.within(
            &format!("life-rainflow-wave-{range:.2}"),
            WAVE,
            expected,
            cycles_of(&wave, range, 6e-8),
            1e-12,
        );
    }
    let damage = miner::damage([(3650.0, 8000.0), (14_600.0, 60_000.0), (100.0, 900.0)]);
    table.within("life-miner-sum", MINER, 0.810_69, damage, 5e-6);
}

fn fits(table: &mut Table) {
    let fitted = |failures: &[f64], running: &[f64]| -> Option<(Sample, Fit)> {
        let sample = Sample::new(failures, running).ok()?;
        let fit = sample.fit().ok()?;
        Some((sample, fit))
    };
    let [shape, scale, likelihood, mean, deviation, bounds @ ..] =
        fitted(&FAILED, &[500.0; 10]).map_or([f64::NAN; 11], |(sample, fit)| {
            let nan = (f64::NAN, f64::NAN);
            let shape = sample.shape_bounds(&fit, 0.9).unwrap_or(nan);
            let scale = sample.scale_bounds(&fit, 0.9).unwrap_or(nan);
            let tenth = sample.quantile_bounds(&fit, 0.1, 0.9).unwrap_or(nan);
            let w = fit.weibull;
            [
                w.shape,
                w.scale,
                fit.log_likelihood,
                w.mean(),
                w.deviation(),
                shape.0,
                shape.1,
                scale.0,
                scale.1,
                tenth.0,
                tenth.1,
            ]
        });
    table.within("life-weibull-shape", HANDBOOK, 1.7208, shape, 5e-5);
    // The handbook prints 606.5280, where its optimiser stops; the root lies at 606.5276.
    table.within("life-weibull-scale", HANDBOOK, 606.528, scale, 5e-4);
    table.within("life-weibull-likelihood", HANDBOOK, -75.135, likelihood, 5e-4);
    table.within("life-weibull-mean", HANDBOOK, 540.737, mean, 5e-4);
    table.within("life-weibull-deviation", HANDBOOK, 323.806, deviation, 5e-4);
    for (id, expected, found) in [
        ("shape-low", 1.014_646_96, bounds[0]),
        ("shape-high", 2.673_450_18, bounds[1]),
        ("scale-low", 458.931_186, bounds[2]),
        ("scale-high", 975.010_057, bounds[3]),
        ("tenth-low", 74.833_574_9, bounds[4]),
        ("tenth-high", 254.761_831, bounds[5]),
    ] {
        table.relative(&format!("life-weibull-90-{id}"), RATIO, expected, found, 5e-9);
    }
    let small = fitted(&[16.0, 34.0, 53.0, 75.0, 93.0, 120.0], &[])
        .map_or([f64::NAN; 2], |(_, f)| [f.weibull.shape, f.weibull.scale]);
    table.relative("life-weibull-six-shape", SMALL, 1.932_677_985, small[0], 3e-10);
    table.relative("life-weibull-six-scale", SMALL, 73.526_074_19, small[1], 1e-10);
    for (order, expected) in [(1.0, 6.70), (2.0, 16.23), (5.0, 45.17), (10.0, 93.30)] {
        let found = rank::median(order, 10).map_or(f64::NAN, |r| 100.0 * r);
        table.within(&format!("life-median-rank-{order:.0}-of-10"), RANKS, expected, found, 5e-3);
    }
    // N(component) = N(first of m) m^(1/shape); 1422.6 cut.
    let first = Weibull { shape: 4.0, scale: 1.0 }.first_of(10.0).scale;
    table.within("life-first-of-ten", PARTITION, 1422.0, 800.0 / first, 1.0);
}

fn samples(table: &mut Table) {
    let run = |r: f64, c: f64| demonstration::units(r, c, 0).map_or(f64::NAN, |n| n as f64);
    table.within("life-success-run-90-90", RUN, 22.0, run(0.9, 0.9), 1e-9);
    for (hours, shape, expected) in [(1000.0, 1.0, 45.0), (1500.0, 1.0, 30.0), (1500.0, 3.0, 14.0)] {
        let reliability = demonstration::over_longer_test(0.95, hours / 1000.0, shape);
        let id = format!("life-success-run-{hours:.0}-{shape:.0}");
        table.within(&id, LONGER, expected, run(reliability, 0.9), 1e-9);
    }
    let passing = Weibull::through(100.0, 0.1, 1.5);
    table.within("life-demonstrated-scale", DEMONSTRATED, 448.3, passing.scale, 0.05);
    for (confidence, values) in [(0.6, [1.833, 4.045, 6.211, 8.351]), (0.9, [4.605, 7.779, 10.645, 13.362])] {
        for (failed, expected) in values.into_iter().enumerate() {
            let found = demonstration::most_failures(failed as u64, confidence).map_or(f64::NAN, |f| 2.0 * f);
            let id = format!("life-chi-square-{:.0}-{failed}", 100.0 * confidence);
            table.within(&id, CHI, expected, found, 5e-4);
        }
    }
    let fit = |failed, hours, confidence| {
        demonstration::most_rate(failed, hours, confidence).map_or(f64::NAN, |rate| 1e9 * rate)
    };
    table.within("life-rate-500000", RATES, 1833.0, fit(0, 5e5, 0.6), 0.5);
    table.within("life-rate-5000000", RATES, 183.0, fit(0, 5e6, 0.6), 0.5);
    let factor = acceleration::arrhenius(0.4 * acceleration::BOLTZMANN_EV / 8.625e-5, 298.0, 398.0);
    table.within("life-rate-oscillator", OSCILLATOR, 25.5, fit(0, 7.2e5 * factor, 0.6), 0.05);
    for (share, expected) in [(0.1, 22.0), (0.01, 230.0)] {
        let found = demonstration::lot_sample(share, 0.9, 0).map_or(f64::NAN, f64::ceil);
        table.within(&format!("life-lot-sample-{:.0}", 100.0 * share), LOTS, expected, found, 1e-9);
    }
}

pub(super) fn rows(table: &mut Table) {
    counting(table);
    fits(table);
    samples(table);
}
