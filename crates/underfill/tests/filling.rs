//! The fill of a part on its bump map, from the study's own problem.

#![allow(clippy::unwrap_used, reason = "test code")]

use facedown_evidence::Status;
use facedown_underfill::front::{End, Shape};
use facedown_underfill::{Extent, Face, Outcome, Problem, ResiduePatch, solve, specimen};

fn placed() -> Problem {
    Problem { fineness: Some(2.0), ..specimen::wetting() }
}

fn figure(outcome: &Outcome, name: &str) -> Option<(f64, Status, Option<f64>)> {
    outcome.figures.iter().find(|f| f.name == name).map(|f| (f.value, f.status, f.hand))
}

/// Residue along the third row of bumps from the top, on every face.
fn dirty(angle_deg: f64) -> Problem {
    let mut problem = placed();
    for face in [Face::Die, Face::Substrate, Face::Bump] {
        problem.residues.push(ResiduePatch {
            face,
            extent: Extent::Shape(Shape::Rectangle { low_m: [0.9e-3, 5.15e-3], high_m: [5.7e-3, 5.45e-3] }),
            cover: 0.9,
            angle_rad: f64::to_radians(angle_deg),
        });
    }
    problem.residue_left = Some(0.04);
    problem
}

#[test]
fn every_figure_of_the_fill_is_solved_with_its_hand_check() {
    let outcome = solve(&placed()).unwrap();
    let hand = solve(&specimen::wetting()).unwrap();
    let (time, status, by_hand) = figure(&outcome, "fill_time").unwrap();
    assert_eq!((status, by_hand), (Status::Solved, hand.fill_time_s));
    // One mean medium with a torsion function against the real map with its bare rim.
    assert!((time / by_hand.unwrap() - 1.0).abs() < 0.15, "{time} {by_hand:?}");
    assert_eq!(outcome.fill_time_s, Some(time));
    for name in ["gel_margin", "void_area_fraction", "largest_void", "voids_touching_bumps", "volume_error"] {
        assert_eq!(figure(&outcome, name).unwrap().1, Status::Solved, "{name}");
    }
    assert!(figure(&outcome, "volume_error").unwrap().0 < 1e-10);
    let filling = outcome.filling.unwrap();
    assert_eq!(filling.map.arrival_s.len(), filling.map.count[0] * filling.map.count[1]);
    assert!((filling.used_m3 + filling.left_m3 - outcome.volume_m3).abs() < 1e-9 * outcome.volume_m3);
    assert!(outcome.untreated.is_none());
}

#[test]
fn what_is_left_over_stands_around_the_die() {
    let outcome = solve(&placed()).unwrap();
    let (height, status, hand) = figure(&outcome, "fillet_height").unwrap();
    assert!(status == Status::Solved && hand.unwrap() > 0.0 && height > 0.0);
    let (fillets, filling) = (outcome.fillets.as_ref().unwrap(), outcome.filling.as_ref().unwrap());
    let spilled = fillets.spill.map_or(0.0, |s| s.volume_m3);
    let left = outcome.volume_m3 - filling.free_volume_m3;
    assert!(((fillets.held_m3 + spilled) / left - 1.0).abs() < 1e-6, "{} {left}", fillets.held_m3);
    // A passive close to the die is told.
    let near = Problem { keep_clear_m: Some(0.2e-3), ..placed() };
    let told = solve(&near).unwrap().notes;
    assert!(told.iter().any(|n| n.contains("must stay clear")), "{told:?}");
}

#[test]
fn residue_along_a_row_shuts_air_in_and_the_plasma_takes_it_away() {
    let outcome = solve(&dirty(115.0)).unwrap();
    let (before, after) = (outcome.untreated.unwrap(), outcome.filling.unwrap());
    // The bar of 4.8 mm by 0.3 mm does not wet: about its area less bumps stays dry.
    let share = 4.8 * 0.3 / (7.2 * 6.4);
    assert!(before.void_area_fraction > 0.5 * share && before.void_area_fraction < 1.2 * share);
    assert!(before.bumps_touched >= 12 && before.voids_bridging() >= 1);
    assert!(after.void_area_fraction < 0.1 * before.void_area_fraction);
    assert!(!before.map.angle_substrate_rad.is_empty());
    assert!(matches!(before.end, End::Voids) && before.fill_time_s.is_some());
}

#[test]
fn without_plasma_residue_stays_and_the_figures_are_those_of_the_dirty_face() {
    let mut problem = dirty(115.0);
    problem.plasma = None;
    let outcome = solve(&problem).unwrap();
    assert!(outcome.untreated.is_none());
    assert!(figure(&outcome, "void_area_fraction").unwrap().0 > 1.0);
    assert!(outcome.notes.iter().any(|n| n.contains("trapped")), "{:?}", outcome.notes);
}

#[test]
fn what_does_not_fill_has_no_time_and_says_why() {
    // Too little liquid.
    let mut short = placed();
    short.dispense.volume_m3 = Some(2e-9);
    let outcome = solve(&short).unwrap();
    assert!(figure(&outcome, "fill_time").is_none() && !outcome.fills);
    assert!(outcome.limits["fill_time"].contains("dispensed"), "{:?}", outcome.limits);
    // Faces that do not wet.
    let mut repelling = placed();
    for angle in [&mut repelling.angle_die, &mut repelling.angle_substrate, &mut repelling.angle_bump] {
        angle.as_mut().unwrap().angle_rad = 120_f64.to_radians();
    }
    let outcome = solve(&repelling).unwrap();
    assert!(figure(&outcome, "fill_time").is_none() && outcome.filling.unwrap().filled == 0.0);
    assert!(outcome.limits["fill_time"].contains("draw"), "{:?}", outcome.limits);
    // A die that is far too wide for the gel.
    let mut slow = placed();
    slow.liquid.viscosity = vec![(363.15, 2e4)];
    let outcome = solve(&slow).unwrap();
    assert!(figure(&outcome, "fill_time").is_none());
    assert!(outcome.limits["fill_time"].contains("gels"), "{:?}", outcome.limits);
}

#[test]
fn a_fill_that_is_wanted_no_more_stops() {
    let asked = std::sync::atomic::AtomicUsize::new(0);
    let going = || asked.fetch_add(1, std::sync::atomic::Ordering::Relaxed) < 20;
    assert_eq!(facedown_underfill::solve_while(&placed(), &going), Err(facedown_underfill::Refusal::Stopped));
}

#[test]
fn bumps_that_touch_on_the_map_leave_the_closed_forms_and_say_so() {
    let mut problem = placed();
    problem.places_m[1] = problem.places_m[0];
    let outcome = solve(&problem).unwrap();
    assert_eq!(figure(&outcome, "fill_time").unwrap().1, Status::Hand);
    assert!(outcome.notes.iter().any(|n| n.contains("not followed")));
}
