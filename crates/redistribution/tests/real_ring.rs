//! A real wire-bond ring with its bumps: 63 pads, 60 bumps, 57 nets, from an open test-chip harness (Apache-2.0, the
//! table's own heading names repository and commit). An expert's hand layout of it has 1.077 times the geodesic bound.

mod support;

use facedown_redistribution::{Certificate, solve};
use support::{figure, judge, ring_b, ring_b_folder, rows};

fn with_ring(test: impl Fn(Vec<support::Row>, Vec<support::Row>)) {
    match ring_b_folder() {
        Ok(folder) => test(rows(&folder.join("ring-b-pads.csv")), rows(&folder.join("ring-b-bumps.csv"))),
        Err(reason) => println!("skipped real ring: {reason}"),
    }
}

#[test]
fn every_net_is_routed_at_both_spaces_shorter_than_by_hand() {
    with_ring(|pads, bumps| {
        for space in [10.0, 26.0] {
            let problem = ring_b(&pads, &bumps, space);
            let outcome = solve(&problem, &mut |_| true).unwrap();
            assert_eq!(outcome.certificates, [], "space {space}");
            assert_eq!(figure(&outcome, "nets"), 57.0);
            assert_eq!(figure(&outcome, "routed_nets"), 57.0);
            let pairs = outcome.nets.iter().filter(|n| n.pads.len() == 1 && n.bumps.len() == 1).count();
            assert_eq!(pairs, 53);
            let ratio = figure(&outcome, "wirelength_ratio");
            assert!((1.0..=1.05).contains(&ratio), "space {space}: {ratio}");
            let report = judge(&problem, &outcome);
            assert!(
                report.clean(),
                "space {space}: {:#?}",
                report.violations.iter().map(|v| &v.sentence).collect::<Vec<_>>()
            );
        }
    });
}

#[test]
fn two_nets_exchanged_across_a_connected_net_are_refused_by_name() {
    with_ring(|mut pads, bumps| {
        // Nets vddio and vdda1 have two pads each, on the west and on the east side; net vss is one piece with pads
        // south and north and divides the die. One pad of each changes sides.
        let west = pads.iter().position(|p| p.1 == "vddio").unwrap();
        let east = pads.iter().position(|p| p.1 == "vdda1").unwrap();
        let net = pads[west].1.clone();
        pads[west].1 = pads[east].1.clone();
        pads[east].1 = net;
        let outcome = solve(&ring_b(&pads, &bumps, 10.0), &mut |_| true).unwrap();
        let named = outcome.certificates.iter().any(|c| match c {
            Certificate::Sector { separating, cut, .. } => {
                ["vss", "vdda1", "vddio"].contains(&separating.as_str()) && !cut.is_empty()
            }
            _ => false,
        });
        assert!(named, "{:?}", outcome.certificates);
    });
}

#[test]
fn the_same_ring_gives_the_same_bytes() {
    with_ring(|pads, bumps| {
        let problem = ring_b(&pads, &bumps, 10.0);
        assert_eq!(solve(&problem, &mut |_| true).unwrap(), solve(&problem, &mut |_| true).unwrap());
    });
}
