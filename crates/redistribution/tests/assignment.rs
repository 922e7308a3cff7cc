//! Pairing pads with sites: given nets, groups, refusals, and what must hold for every pairing.
use facedown_layout::Point;
use facedown_quantity::Nm;
use facedown_redistribution::assignment::{Pairing, Refusal, assign};
use facedown_redistribution::boundary::{Side, nearest_side};
use facedown_redistribution::{AssignmentMode, NetSpec, Pad, Problem, Rules, Site, Style};
use proptest::prelude::*;

/// Net names of pads along the south edge, west to east, and of sites in a row above.
fn problem(
    pads: &[&str],
    sites: &[Option<&str>],
    mode: AssignmentMode,
    nets: &[(&str, usize, bool)],
) -> Problem {
    Problem {
        name: "invented".into(),
        width: Nm::from_um(3000),
        height: Nm::from_um(3000),
        pads: pads
            .iter()
            .enumerate()
            .map(|(k, net)| Pad {
                name: format!("P{k}"),
                net: (*net).into(),
                at: Point::um(200.0 + 100.0 * k as f64, 60.0),
                width: Nm::from_um(60),
                height: Nm::from_um(60),
            })
            .collect(),
        sites: sites
            .iter()
            .enumerate()
            .map(|(k, net)| Site {
                name: format!("A{}", k + 1),
                at: Point::um(200.0 + 100.0 * k as f64, 500.0),
                net: net.map(str::to_owned),
            })
            .collect(),
        rules: Rules {
            line: Nm::from_um(10),
            space: Nm::from_um(10),
            edge_clearance: Nm::from_um(10),
            landing_enclosure: Nm::from_um(10),
            capture: Nm::from_um(60),
            ubm: Nm::from_um(50),
            bump_opening: Nm::from_um(30),
            bump: Nm::from_um(60),
            pad_opening_inset: Nm::from_um(10),
            via: Nm::from_um(20),
            via_enclosure: Nm::from_um(5),
            slots: None,
        },
        layers: 1,
        style: Style::AnyAngle,
        assignment: mode,
        nets: nets
            .iter()
            .map(|(name, bumps, one_piece)| NetSpec {
                name: (*name).into(),
                supply: true,
                bumps: *bumps,
                width: None,
                one_piece: *one_piece,
                plane: None,
            })
            .collect(),
        keep_outs: Vec::new(),
    }
}

/// `net: pads > sites` for each tree.
fn written(pairing: &Pairing) -> Vec<String> {
    pairing.trees.iter().map(|t| format!("{}: {:?} > {:?}", t.net, t.pads, t.sites)).collect()
}

#[test]
fn free_signals_take_the_sites_that_cost_least_in_all() {
    let p = problem(&["a", "b", "c"], &[None; 4], AssignmentMode::Free, &[]);
    let pairing = assign(&p).unwrap();
    assert_eq!(written(&pairing), ["a: [0] > [0]", "b: [1] > [1]", "c: [2] > [2]"]);
    assert!((pairing.bound_m() - 3.0 * 440e-6).abs() < 1e-12);
}

#[test]
fn a_given_site_is_kept_and_counts_as_given() {
    let p = problem(&["a", "b"], &[Some("b"), None, None], AssignmentMode::Free, &[]);
    let pairing = assign(&p).unwrap();
    assert_eq!(written(&pairing), ["a: [0] > [1]", "b: [1] > [0]"]);
    let slanted = (440f64.powi(2) + 100f64.powi(2)).sqrt() * 1e-6;
    assert!((pairing.fixed_bound_m - slanted).abs() < 1e-12);
    assert!((pairing.free_bound_m - slanted).abs() < 1e-12);
}

#[test]
fn neighbours_share_a_bump_when_pads_outnumber_bumps() {
    let mut p =
        problem(&["g", "g", "g", "a", "g", "g", "g"], &[None; 7], AssignmentMode::Free, &[("g", 2, false)]);
    // On one layer the spare sites would give every pad a bump of its own.
    assert_eq!(assign(&p).unwrap().trees.len(), 7);
    p.layers = 2;
    let pairing = assign(&p).unwrap();
    assert_eq!(written(&pairing), ["g: [0, 1, 2] > [1]", "g: [4, 5, 6] > [5]", "a: [3] > [3]"]);
}

#[test]
fn supplies_that_alternate_get_more_bumps_rather_than_cross() {
    let names = ["v", "g", "v", "g", "v", "g"];
    let wishes = [("v", 1, false), ("g", 1, false)];
    let p = problem(&names, &[None; 4], AssignmentMode::Free, &wishes);
    let trees = assign(&p).unwrap().trees;
    let around: Vec<usize> =
        (0..6).filter_map(|pad| trees.iter().position(|t| t.pads.contains(&pad))).collect();
    assert_eq!(facedown_graph::chords::crossing_nets(&around), None);
    // Two alternating nets of three pads each need four pieces in all, by counting non-crossing partitions.
    assert_eq!(trees.len(), 4);
    // Without sites to spare the wish stands as it is.
    let p = problem(&names, &[None; 2], AssignmentMode::Free, &wishes);
    assert_eq!(written(&assign(&p).unwrap()), ["v: [0, 2, 4] > [0]", "g: [1, 3, 5] > [1]"]);
}

#[test]
fn one_piece_joins_all_groups_in_one_tree() {
    let p = problem(&["g", "a", "g"], &[None; 4], AssignmentMode::Free, &[("g", 2, true)]);
    assert_eq!(written(&assign(&p).unwrap()), ["g: [0, 2] > [0, 2]", "a: [1] > [1]"]);
}

#[test]
fn bumps_beyond_the_pads_stand_beside_and_are_strapped() {
    let p = problem(&["g", "a"], &[None; 4], AssignmentMode::Free, &[("g", 2, false)]);
    let free = assign(&p).unwrap();
    assert_eq!(free.trees.len(), 2);
    assert_eq!(free.trees[0].sites.len(), 2);
    let p = problem(
        &["g", "a", "g"],
        &[Some("g"), Some("a"), Some("g"), Some("g")],
        AssignmentMode::Fixed,
        &[("g", 1, false)],
    );
    assert_eq!(written(&assign(&p).unwrap()), ["g: [0] > [0]", "g: [2] > [2, 3]", "a: [1] > [1]"]);
}

#[test]
fn refusals_name_every_net() {
    let p = problem(&["a", "b"], &[Some("x"), None], AssignmentMode::Fixed, &[("y", 1, false)]);
    let refusals = assign(&p).unwrap_err();
    let words: Vec<String> = refusals.iter().map(Refusal::to_string).collect();
    assert_eq!(
        words,
        [
            "site A1 is given to net x, which has no pad",
            "net y has wishes of its own but no pad",
            "net a has no bump site; with a fixed assignment every net needs one",
            "net b has no bump site; with a fixed assignment every net needs one",
        ]
    );
    let p = problem(&["a", "g", "b"], &[None; 3], AssignmentMode::Free, &[("g", 3, false)]);
    let words: Vec<String> = assign(&p).unwrap_err().iter().map(Refusal::to_string).collect();
    assert_eq!(words, ["5 bumps are wanted and 3 free sites are there; left over: g"]);
    let p = problem(&["a", "b"], &[None; 4], AssignmentMode::BySide, &[]);
    let words: Vec<String> = assign(&p).unwrap_err().iter().map(Refusal::to_string).collect();
    assert_eq!(words[0], "2 bumps are wanted on the south side and 1 free sites are there; left over: b");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]
    #[test]
    fn every_pairing_is_complete_and_never_shares_a_site(
        pads in prop::collection::vec((0usize..7, 0i64..3000, 0i64..3000), 1..30),
        sites in prop::collection::vec((prop::option::weighted(0.2, 0usize..7), 0i64..3000, 0i64..3000), 20..50),
        wishes in prop::collection::vec((1usize..5, any::<bool>(), any::<bool>()), 7),
        mode in prop_oneof![Just(AssignmentMode::Free), Just(AssignmentMode::BySide), Just(AssignmentMode::Fixed)],
    ) {
        let names = ["a", "b", "c", "d", "e", "f", "g"];
        let mut p = problem(&[], &[], mode, &[]);
        for (k, (net, x, y)) in pads.iter().enumerate() {
            p.pads.push(Pad { name: format!("P{k}"), net: names[*net].into(), at: Point::um(*x as f64, *y as f64),
                width: Nm::from_um(40), height: Nm::from_um(40) });
        }
        for (k, (net, x, y)) in sites.iter().enumerate() {
            let net = net.map(|n| names[n].to_owned()).filter(|n| p.pads.iter().any(|pad| pad.net == *n));
            p.sites.push(Site { name: format!("S{k}"), at: Point::um(*x as f64, *y as f64), net });
        }
        for (n, (bumps, supply, one_piece)) in wishes.iter().enumerate().step_by(2) {
            if p.pads.iter().any(|pad| pad.net == names[n]) {
                p.nets.push(NetSpec { name: names[n].into(), supply: *supply, bumps: *bumps, width: None,
                    one_piece: *one_piece, plane: None });
            }
        }
        if let Ok(pairing) = assign(&p) {
            let mut pad_count = vec![0; p.pads.len()];
            let mut site_count = vec![0; p.sites.len()];
            let mut straight = 0.0;
            for tree in &pairing.trees {
                prop_assert!(!tree.pads.is_empty() && !tree.sites.is_empty());
                for &k in &tree.pads { pad_count[k] += 1; prop_assert_eq!(&p.pads[k].net, &tree.net); }
                for &k in &tree.sites {
                    site_count[k] += 1;
                    prop_assert!(p.sites[k].net.as_ref().is_none_or(|n| *n == tree.net));
                }
                let spec = p.nets.iter().find(|s| s.name == tree.net);
                if spec.is_none_or(|s| s.one_piece) {
                    prop_assert_eq!(pairing.trees.iter().filter(|t| t.net == tree.net).count(), 1);
                }
                if tree.sites.len() == 1 && spec.is_none_or(|s| !s.supply) {
                    let at = p.sites[tree.sites[0]].at;
                    straight += tree.pads.iter().map(|&k| p.pads[k].at)
                        .map(|q| (q.x - at.x).m().hypot((q.y - at.y).m())).fold(0.0, f64::max);
                }
                if mode == AssignmentMode::BySide && tree.pads.len() == 1 && tree.sites.len() == 1
                    && p.sites[tree.sites[0]].net.is_none() {
                    let side = |at| -> Side { nearest_side(at, p.width, p.height).0 };
                    prop_assert_eq!(side(p.pads[tree.pads[0]].at), side(p.sites[tree.sites[0]].at));
                }
            }
            prop_assert!(pad_count.iter().all(|c| *c == 1));
            prop_assert!(site_count.iter().all(|c| *c <= 1));
            for (k, site) in p.sites.iter().enumerate() {
                prop_assert!(site.net.is_none() || site_count[k] == 1, "a given bump is used");
            }
            prop_assert!(pairing.bound_m() <= straight + 1e-12);
        }
    }
}
