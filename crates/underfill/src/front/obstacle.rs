//! A second method, without steps: the fluidity time of filling from one linear solution.
//!
//! With one driving pressure P at every front, open air and feeds that do not run dry, the pressure summed over time solves an
//! obstacle problem (C. Baiocchi's transform; C. M. Elliott and V. Janovsky, Proc. R. Soc. Edinburgh A 88 (1981) 93), and the
//! gap is full when the obstacle lets go of the last place: at the maximum of u with `-div(gap K grad u) = gap free / P`,
//! u = 0 along the feeds, no flow through the other edges. It is the oracle of the stepped front and the hand check for designs
//! without dirty patches.

use super::medium::{CellLaw, ClosedForms};
use super::network::Network;
use super::pressure::System;
use super::problem::Problem;
use super::{Refusal, valid};

/// The fluidity time to fill (1/Pa) and the last place (m); nothing where the drive is not the same everywhere (to 1e-9), not
/// positive, or a line is not ample from the start.
///
/// # Errors
/// As [`super::solve`].
pub fn fill(problem: &Problem) -> Result<Option<(f64, [f64; 2])>, Refusal> {
    fill_with(problem, &ClosedForms::of(problem))
}

/// The same with another law of the cells.
///
/// # Errors
/// As [`super::solve`].
pub fn fill_with(problem: &Problem, law: &dyn CellLaw) -> Result<Option<(f64, [f64; 2])>, Refusal> {
    valid::check(problem)?;
    let network = Network::new(problem, law)?;
    let drive = network.drive.first().copied().unwrap_or(0.0);
    let even = network.drive.iter().all(|d| (d - drive).abs() <= 1e-9 * drive);
    let ample = problem.lines.iter().all(|l| l.start_s == 0.0 && l.volume_m3 == f64::INFINITY);
    if drive <= 0.0 || !even || !ample {
        return Ok(None);
    }
    let sums = sums(&network).map_err(Refusal::Numeric)?;
    let last = (0..sums.len()).max_by(|&a, &b| sums[a].total_cmp(&sums[b]).then(b.cmp(&a)));
    Ok(last.map(|i| (sums[i] / drive, network.grid.centre[i])))
}

/// Pressure times fluidity time of every cell when the last one is full, from below.
fn sums(network: &Network) -> Result<Vec<f64>, facedown_field::NoConvergence> {
    let mut system = System::default();
    system.begin(network.grid.count, 0);
    for (i, &place) in network.place.iter().enumerate() {
        let at = place as usize;
        system.diagonal[at] += network.link[i].iter().sum::<f64>();
        system.west[at] = network.link[i][0];
        system.south[at] = network.link[i][1];
        system.right[at] = network.volume[i];
        system.allowed[at] = 1e-11 * network.volume[i];
    }
    for &(cell, _, t) in &network.feeds {
        system.diagonal[network.place[cell as usize] as usize] += t;
    }
    let mut sums = vec![0.0; system.diagonal.len()];
    system.ready();
    system.solve(&mut sums, 1.0)?;
    Ok(network.place.iter().map(|&at| sums[at as usize]).collect())
}
