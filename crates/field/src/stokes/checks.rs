//! Flows with exact answers: between plates, in a rectangular duct, past planes of symmetry turned around.

use super::*;

fn even(n: usize) -> Vec<f64> {
    graded(n, 1.0)
}

/// Flow along x in a quarter of a duct of half sides `a` and `b`; walls at the far sides of y and z.
fn duct(cells: usize, a: f64, b: f64) -> Flow {
    let mesh = Mesh::new([&even(1), &even(cells), &even(cells)], |[x, y, z]| [x, a * y, b * z]).unwrap();
    solve(&mesh, [1.0, 0.0, 0.0], |n| {
        let wall = n.index[1] == n.last[1] || n.index[2] == n.last[2];
        let ends = n.index[0] == 0 || n.index[0] == n.last[0];
        Condition::Held([wall, wall || ends || n.index[1] == 0, wall || ends || n.index[2] == 0])
    })
    .unwrap()
}

/// Mean velocity in a duct of half sides a and b: F. M. White, Viscous Fluid Flow, 2nd ed. (1991), eq. 3-48.
fn duct_mean(a: f64, b: f64) -> f64 {
    let sum: f64 = (0..200)
        .map(|k| f64::from(2 * k + 1))
        .map(|n| (0.5 * n * std::f64::consts::PI * b / a).tanh() / n.powi(5))
        .sum();
    a * a / 3.0 * (1.0 - 192.0 * a / (std::f64::consts::PI.powi(5) * b) * sum)
}

#[test]
fn a_duct_converges_with_the_fourth_power() {
    // In the corner of two walls the velocity goes as r^2 ln r, which makes the error h^4 (a + b ln 1/h): over h^4 it grows by
    // the same step at each halving, where a power p would make each step 2^(4 - p) times the last.
    let exact = duct_mean(1.0, 0.7);
    let error = |n| (duct(n, 1.0, 0.7).integral[0] / 0.7 / exact - 1.0).abs();
    let [coarse, middle, fine] = [4, 8, 16].map(|n| error(n) * (n as f64).powi(4));
    let steps = (fine - middle) / (middle - coarse);
    assert!(fine < 0.04 && (steps - 1.0).abs() < 0.03, "{coarse} {middle} {fine} {steps}");
}

#[test]
fn flow_between_plates_is_exact_on_straight_bricks_and_near_on_bent_ones() {
    // Poiseuille: quadratic in y; the inner edges are bent, the outer ones straight.
    let bend = |[x, y, z]: [f64; 3]| {
        let bump = 0.2 * x * (1.0 - x) * y * (1.0 - y);
        [x, y + bump, z]
    };
    let mesh = Mesh::new([&even(2), &even(2), &even(1)], bend).unwrap();
    let flow = solve(&mesh, [1.0, 0.0, 0.0], |n| {
        let wall = n.index[1] == n.last[1];
        let ends = n.index[0] == 0 || n.index[0] == n.last[0];
        Condition::Held([wall, wall || ends || n.index[1] == 0, wall || ends || n.index[2] % n.last[2] == 0])
    })
    .unwrap();
    assert!((flow.volume - 1.0).abs() < 1e-12);
    // Bent bricks do not hold the parabola exactly; straight ones do.
    assert!((flow.integral[0] - 1.0 / 3.0).abs() < 1e-4, "{:?}", flow.integral);
    let mesh = Mesh::new([&even(2), &even(2), &even(1)], |p| p).unwrap();
    let flow = solve(&mesh, [1.0, 0.0, 0.0], |n| {
        let wall = n.index[1] == n.last[1];
        let ends = n.index[0] == 0 || n.index[0] == n.last[0];
        Condition::Held([wall, wall || ends || n.index[1] == 0, wall || ends || n.index[2] % n.last[2] == 0])
    })
    .unwrap();
    assert!((flow.integral[0] - 1.0 / 3.0).abs() < 1e-10);
}

#[test]
fn work_is_dissipated_and_mass_balances() {
    let flow = duct(3, 1.0, 0.5);
    assert!((flow.integral[0] / flow.dissipation - 1.0).abs() < 1e-8);
    assert!(flow.divergence < 1e-10 && flow.imbalance < 1e-10, "{} {}", flow.divergence, flow.imbalance);
}

#[test]
fn nothing_held_or_folded_is_refused() {
    let mesh = Mesh::new([&even(1), &even(1), &even(1)], |p| p).unwrap();
    assert_eq!(
        solve(&mesh, [1.0, 0.0, 0.0], |_| Condition::Held([false; 3])).err(),
        Some(NoConvergence::Singular)
    );
    let folded = Mesh::new([&even(1), &even(1), &even(1)], |[x, y, z]| [-x, y, z]).unwrap();
    assert_eq!(
        solve(&folded, [1.0, 0.0, 0.0], |_| Condition::Held([true; 3])).err(),
        Some(NoConvergence::Singular)
    );
    assert_eq!(Mesh::new([&[0.0, 1.0], &[0.0, 0.0], &[0.0, 1.0]], |p| p).err(), Some(NotAMesh(1)));
}
