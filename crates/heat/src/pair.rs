//! The pair of transients of JESD51-14 on a package as it is: what a test of the standard would read.
//!
//! All heat goes upward into a cold plate, once through a good contact and once through a poor one; both warming-ups are
//! followed in space and parted by [`separation`](mod@crate::separation). The method is made for one path of heat; where it spreads
//! on its way the reading lies below the steady `theta_jc_top`, and the figure says so.

use crate::metrics::{self, SETS};
use crate::network::{Downward, Upward};
use crate::outcome::Outcome;
use crate::problem::{Carrier, Problem};
use crate::separation::{Separation, WORSE_DRY, impedance_and_slope, separation};
use crate::solid::{Heating, TIMES_S, heating};
use crate::valid::Refusal;
use facedown_evidence::Figure;

/// Difference from the steady resistance, as a share of it, from which the figure is outside what the method is for: what it reads
/// on stacks of known layers (`published::transient`).
const ONE_PATH: f64 = 0.15;

/// Both warming-ups and where they part.
pub(crate) struct Pair {
    pub greased: Heating,
    pub dry: Heating,
    parted: Option<Separation>,
}

/// Follows the pair; nothing where a part has no heat capacity given.
pub(crate) fn follow(problem: &Problem, board: &Carrier, fineness: f64) -> Result<Option<Pair>, Refusal> {
    let on_film = |film: f64| {
        let plate = Upward::Film(film);
        heating(problem, &metrics::setting(problem, board, SETS[0], Downward::Insulated, plate), fineness)
    };
    let film = problem.cold_plate_film;
    let (greased, dry) = rayon::join(|| on_film(film), || on_film(film / WORSE_DRY));
    let (Some(greased), Some(dry)) = (greased?, dry?) else { return Ok(None) };
    let of = |h: &Heating| {
        let (parts, at_once) = (h.hottest.clone(), h.hottest_at_once);
        move |time: f64| impedance_and_slope(&parts, at_once, time)
    };
    let parted = separation(of(&greased), of(&dry), TIMES_S);
    Ok(Some(Pair { greased, dry, parted }))
}

/// Puts the figure of the pair beside the others, or says why there is none.
pub(crate) fn tell(problem: &Problem, pair: &Pair, outcome: &mut Outcome) {
    let Some(parted) = pair.parted else {
        outcome.notes.push(
            "The pair of transients of JESD51-14 gives no resistance: the two warming-ups do not part, or are apart from the start."
                .into(),
        );
        return;
    };
    let basis = format!(
        "warming-up of the hottest place on a cold plate of {:.0} W/m2K, where its slope parts from that on a film a third as good \
         (JESD51-14, 2010, by slopes; thresholds from memory); rational Krylov spaces of {} and {} solutions on {} cells; \
         error of those spaces, not of the one grid",
        problem.cold_plate_film, pair.greased.shifts, pair.dry.shifts, pair.greased.cells
    );
    let mut figure = Figure::solved("theta_jc_pair", parted.theta_k_w, "K/W", &basis);
    figure.error = Some(pair.greased.error * pair.greased.impedance(TIMES_S[1]));
    let steady = outcome.figures.iter().find(|f| f.name == "theta_jc_top").map(|f| f.value);
    if let Some(steady) = steady {
        let apart = parted.theta_k_w / steady - 1.0;
        if apart.abs() > ONE_PATH {
            figure.outside = Some(format!(
                "the method wants one path of heat; heat spreads on its way here, and the pair reads {:.0} % {} than theta_jc_top",
                100.0 * apart.abs(),
                if apart < 0.0 { "less" } else { "more" }
            ));
        }
    }
    outcome
        .limits
        .insert("theta_jc_pair".into(), format!("parted after {} s", crate::judge::round(parted.time_s)));
    outcome.figures.push(figure);
}
