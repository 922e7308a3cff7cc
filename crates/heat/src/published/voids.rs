//! A round void in a bond line under a thin die: the whole package as boxes against the fin around and over the void.
//!
//! A thin die over a bond line is a fin: in the plane it conducts, downward it loses heat to what the bond line carries.
//! Over the void it loses only what air carries, so that the heat of the middle must go sideways first. With `m2 =
//! conductance / (k t)` inside and outside, `T = q / conductance + A I0(m r)` over the void and `+ C K0(m r)` around it,
//! joined in value and slope at its edge.

use super::{Source, Table};
use crate::metrics::SETS;
use crate::network::{Downward, Setting, Upward};
use crate::problem::{BondLine, Interface, Layer, Lid, Mount, Problem, VoidPlaces};
use crate::solid::{Reading, estimate, solve};
use crate::specimen;
use facedown_evidence::Basis;

const FIN: Source = Source(
    "fin with film on one face, modified Bessel functions over and around the void (F. P. Incropera, D. P. DeWitt 2007, section 3.6.4), evaluated with scipy (reference library)",
    Basis::ReferenceLibrary,
);

/// Spacings of the three grids fall by this.
const RATIO: f64 = std::f64::consts::SQRT_2;

pub(super) fn rows(table: &mut Table) {
    let found = [false, true].map(|void| {
        let problem = package(void);
        let grids = [1.0, RATIO, RATIO * RATIO].map(|fineness| hottest(&problem, fineness));
        estimate(grids, RATIO).value
    });
    table.relative("heat-void-none", FIN, 0.5, found[0], 5e-3);
    table.relative("heat-void-middle", FIN, 0.788_187, found[1], 1e-2);
}

fn hottest(problem: &Problem, fineness: f64) -> f64 {
    let Some(board) = problem.board.clone() else { return f64::NAN };
    let setting = Setting {
        ambient_k: 300.0,
        down: Downward::Insulated,
        up: Upward::Film(1e9),
        board,
        natural: SETS[0].0,
        pattern: SETS[0].1,
        powers_w: vec![1.0],
    };
    solve(problem, &setting, fineness).map_or(f64::NAN, |r: Reading| r.junction())
}

/// One watt on 10 x 10 mm of 50 um thickness and 400 W/(m K), 50 um of 1 W/(m K) under a lid that is as good as cold.
fn package(void: bool) -> Problem {
    let mut problem = specimen::bare();
    let die = &mut problem.dies[0];
    (die.width_m, die.height_m, die.power_w) = (10e-3, 10e-3, 1.0);
    die.body = vec![Layer::plain("die", 50e-6, 400.0)];
    if let Mount::Bumps(joints) = &mut die.mount {
        joints.count = 0.0;
        joints.fill = vec![(300.0, 1e-4)];
    }
    die.interface = Some(Interface {
        name: "bond line".into(),
        bond_line: BondLine::Given(50e-6),
        conductivity: vec![(300.0, 1.0)],
        contact_m2_k_w: 0.0,
        voids: 0.0,
        void_places: void.then(|| VoidPlaces::Circles(vec![([5e-3, 5e-3], 2e-3)])),
        capacity: None,
    });
    problem.lid = Some(Lid {
        width_m: 12e-3,
        height_m: 12e-3,
        thickness_m: 100e-6,
        conductivity: vec![(300.0, 1e5)],
        foot: None,
        capacity: None,
    });
    problem
}
