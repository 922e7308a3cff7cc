//! Certificates: found where they must be, and never where a layout exists.
// Helpers of tests may unwrap as tests do.
#![allow(clippy::unwrap_used)]

use facedown_graph::chords::crossing_nets;
use facedown_layout::Point;
use facedown_quantity::Nm;
use facedown_redistribution::assignment::{Tree, assign};
use facedown_redistribution::certificate::certificates;
use facedown_redistribution::{AssignmentMode, Certificate, NetSpec, Pad, Problem, Rules, Site, Style};
use proptest::prelude::*;

const SIDE: f64 = 4000.0;

/// A square die with a ring of pads close to the edge, net by net from the lower-left corner on, and bumps in the open.
fn ring(nets: &[usize], inset: f64) -> Problem {
    let per_side = nets.len().div_ceil(4);
    let place = |k: usize| {
        let t = 300.0 + (SIDE - 600.0) * ((k % per_side) as f64 + 0.5) / per_side as f64;
        match k / per_side {
            0 => (t, inset),
            1 => (SIDE - inset, t),
            2 => (SIDE - t, SIDE - inset),
            _ => (inset, SIDE - t),
        }
    };
    let pads = nets.iter().enumerate().map(|(k, net)| {
        let (x, y) = place(k);
        Pad {
            name: format!("P{k}"),
            net: format!("n{net}"),
            at: Point::um(x, y),
            width: Nm::from_um(60),
            height: Nm::from_um(60),
        }
    });
    let mut names: Vec<usize> = nets.to_vec();
    names.sort_unstable();
    names.dedup();
    let sites = names.iter().enumerate().map(|(k, net)| Site {
        name: format!("S{k}"),
        // In a shuffled order, because places in the open must not matter.
        at: Point::um(600.0 + 350.0 * ((k * 5) % 9) as f64, 800.0 + 300.0 * ((k * 7) % 9) as f64),
        net: Some(format!("n{net}")),
    });
    Problem {
        name: "invented".into(),
        width: Nm::round_um(SIDE),
        height: Nm::round_um(SIDE),
        pads: pads.collect(),
        sites: sites.collect(),
        rules: Rules {
            line: Nm::from_um(10),
            space: Nm::from_um(10),
            edge_clearance: Nm::from_um(10),
            landing_enclosure: Nm::from_um(10),
            capture: Nm::from_um(150),
            ubm: Nm::from_um(130),
            bump_opening: Nm::from_um(100),
            bump: Nm::from_um(150),
            pad_opening_inset: Nm::from_um(10),
            via: Nm::from_um(20),
            via_enclosure: Nm::from_um(5),
            slots: None,
        },
        layers: 1,
        style: Style::AnyAngle,
        assignment: AssignmentMode::Fixed,
        nets: Vec::new(),
        keep_outs: Vec::new(),
    }
}

fn judged(problem: &Problem) -> Vec<Certificate> {
    certificates(problem, &assign(problem).unwrap().trees)
}

#[test]
fn alternating_nets_on_the_rim_are_a_conflict_and_nested_ones_are_not() {
    let alternating = ring(&[1, 0, 1, 0, 2, 0, 2, 3], 50.0);
    let found = judged(&alternating);
    let Certificate::Sector { separating, cut, mend } = &found[0] else { panic!("{found:?}") };
    assert_eq!((separating.as_str(), cut.join(" ").as_str(), found.len()), ("n0", "n1 n2", 1));
    assert_eq!(
        mend,
        "Pad P1 and pad P3 of n0 hold the rim of the die, pad P0 and pad P2 of n1 lie on either side. Free it by \
         exchanging the places of one of these, by letting n0 be two pieces that the die or the substrate joins, or by \
         a second RDL layer."
    );
    assert_eq!(judged(&ring(&[0, 1, 1, 2, 2, 0, 3, 3], 50.0)), []);
}

#[test]
fn the_supply_is_named_as_the_separating_net() {
    let mut problem = ring(&[0, 1, 2, 1, 0, 3, 4, 5], 50.0);
    assert_eq!(judged(&problem), []);
    problem.pads[4].net = "n1".into();
    problem.pads[3].net = "n0".into();
    problem.nets.push(NetSpec {
        name: "n1".into(),
        supply: true,
        bumps: 1,
        width: None,
        one_piece: true,
        plane: None,
    });
    let found = judged(&problem);
    assert!(
        matches!(&found[..], [Certificate::Sector { separating, cut, .. }] if separating == "n1" && cut == &["n0"]),
        "{found:?}"
    );
    problem.layers = 2;
    assert_eq!(judged(&problem), []);
}

#[test]
fn pads_with_room_behind_them_do_not_hang_on_the_rim() {
    // A trace of 10 with 10 space and 10 edge clearance fits behind a landing of 60 (opening of 60, inset and enclosure
    // of 10) when its centre is 60 from the edge.
    assert_eq!(judged(&ring(&[0, 1, 0, 1, 2, 3, 4, 5], 60.0)), []);
    assert_ne!(judged(&ring(&[0, 1, 0, 1, 2, 3, 4, 5], 59.0)), []);
}

#[test]
fn a_second_row_hangs_on_the_rim_through_the_first_where_gaps_are_closed() {
    // Nets 0 and 1 alternate, one pad of net 0 stands behind a pad of net 2.
    let mut problem = ring(&[2, 1, 0, 1, 3, 4, 5, 6], 50.0);
    let first = problem.pads[0].at;
    let behind = |gap_um: f64| Pad {
        name: "Q".into(),
        net: "n0".into(),
        at: Point::new(first.x, first.y + Nm::round_um(60.0 + gap_um)),
        width: Nm::from_um(60),
        height: Nm::from_um(60),
    };
    problem.pads.push(behind(29.0));
    let found = judged(&problem);
    assert!(matches!(&found[..], [Certificate::Sector { .. }]), "{found:?}");
    *problem.pads.last_mut().unwrap() = behind(30.0);
    assert_eq!(judged(&problem), []);
    // A pad of net 1 in between opens the link for net 1 itself.
    *problem.pads.last_mut().unwrap() = behind(29.0);
    problem.pads[0].net = "n1".into();
    problem.sites[2].net = None;
    assert_eq!(judged(&problem), []);
}

/// A full n x n array; `inner` nets end inside the outer ring, the pads stand around.
fn array(n: usize, inner: usize) -> (Problem, Vec<Tree>) {
    let names: Vec<usize> = (0..inner).collect();
    let mut problem = ring(&names, 50.0);
    problem.sites.clear();
    for row in 0..n {
        for column in 0..n {
            problem.sites.push(Site {
                name: format!("{row}.{column}"),
                at: Point::um(500.0 + 180.0 * column as f64, 500.0 + 180.0 * row as f64),
                net: None,
            });
        }
    }
    let on_rim = |s: usize| [s / n, s % n].iter().any(|&i| i == 0 || i == n - 1);
    let mut trees: Vec<Tree> = (0..n * n)
        .filter(|&s| !on_rim(s))
        .take(inner)
        .enumerate()
        .map(|(k, s)| Tree { net: format!("n{k}"), pads: vec![k], sites: vec![s] })
        .collect();
    // Bumps of the rim are in use by nets that have no pad outside.
    for s in (0..n * n).filter(|&s| on_rim(s)) {
        trees.push(Tree { net: format!("rim{s}"), pads: Vec::new(), sites: vec![s] });
    }
    (problem, trees)
}

#[test]
fn a_ring_holds_exactly_one_net_a_gap_and_no_more() {
    // Gap 30 = one trace of 10 with its spaces; 36 gaps around a 10 x 10 array.
    let (problem, trees) = array(10, 36);
    assert_eq!(certificates(&problem, &trees), []);
    let (problem, trees) = array(10, 37);
    let found = certificates(&problem, &trees);
    let [Certificate::Cut { cut, demand, capacity, nets, mend }] = &found[..] else { panic!("{found:?}") };
    assert_eq!((cut.as_str(), *demand, *capacity), ("ring 1 of the bumps, through 0.0", 37, 36));
    assert_eq!(nets.len(), 37);
    assert_eq!(
        mend,
        "Any one of these gives room: line and space of 6 and 6 um, bumps of the cut 200 um apart, a second RDL layer, \
         or bumps of these nets moved across the cut."
    );
}

#[test]
fn a_row_of_bumps_is_a_cut_too() {
    // Ten bumps in a level row leave 9 gaps of one trace and two ends; nets go from pads below to bumps above.
    let mut problem = ring(&(0..400).collect::<Vec<_>>(), 50.0);
    problem.sites.clear();
    let count = 22;
    for k in 0..count {
        problem.sites.push(Site {
            name: format!("R{k}"),
            at: Point::um(110.0 + 180.0 * k as f64, 1000.0),
            net: None,
        });
    }
    let mut trees: Vec<Tree> =
        (0..count).map(|s| Tree { net: format!("row{s}"), pads: Vec::new(), sites: vec![s] }).collect();
    for k in 0..30 {
        problem.sites.push(Site {
            name: format!("T{k}"),
            at: Point::um(300.0 + 100.0 * k as f64, 2000.0 + k as f64),
            net: None,
        });
        trees.push(Tree { net: format!("n{k}"), pads: vec![k], sites: vec![count + k] });
    }
    // 21 gaps of one trace; the ends are 110 - 75 - 10 clearance = 25 wide: one trace with its space each.
    let found = certificates(&problem, &trees);
    let [Certificate::Cut { cut, demand, capacity, .. }] = &found[..] else { panic!("{found:?}") };
    assert_eq!(cut, "the level line through bumps R0 to R21");
    assert_eq!((*demand, *capacity), (30, 23));
    trees.truncate(count + 23);
    assert_eq!(certificates(&problem, &trees), []);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]
    #[test]
    fn on_the_rim_a_conflict_is_found_exactly_when_nets_alternate(nets in prop::collection::vec(0usize..9, 4..24)) {
        let found = judged(&ring(&nets, 50.0));
        let sector = found.iter().any(|c| matches!(c, Certificate::Sector { .. }));
        prop_assert_eq!(sector, crossing_nets(&nets).is_some());
        for certificate in &found {
            prop_assert!(matches!(certificate, Certificate::Sector { .. }), "few nets overfill nothing");
        }
    }

    #[test]
    fn places_of_pads_and_bumps_anywhere_never_panic(
        pads in prop::collection::vec((0usize..6, 0i64..4001, 0i64..4001), 1..20),
        sites in prop::collection::vec((0i64..4001, 0i64..4001), 20),
    ) {
        let mut problem = ring(&[0], 50.0);
        problem.assignment = AssignmentMode::Free;
        problem.pads = pads.iter().enumerate().map(|(k, p)| Pad { name: format!("P{k}"), net: format!("n{}", p.0),
            at: Point::um(p.1 as f64, p.2 as f64), width: Nm::from_um(60), height: Nm::from_um(60) }).collect();
        problem.sites = sites.iter().enumerate().map(|(k, s)| Site { name: format!("S{k}"),
            at: Point::um(s.0 as f64, s.1 as f64), net: None }).collect();
        judged(&problem);
    }
}
