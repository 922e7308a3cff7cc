//! How bumps in a row share a current that comes from one end.

/// Shares of `count` bumps of `bump_ohm` each to the rail, on a bus of `segment_ohm` between neighbours fed at the first:
/// `I_k/I = 2 sinh(t/2) cosh((N - k + 1/2) t)/sinh(N t)`, `t = 2 asinh(sqrt(segment/bump)/2)` (uniform ladder network). The
/// crowding factor is `count` times the first share. Empty for no bumps.
pub fn ladder(count: u32, segment_ohm: f64, bump_ohm: f64) -> Vec<f64> {
    let n = f64::from(count);
    let t = 2.0 * ((segment_ohm / bump_ohm).sqrt() / 2.0).asinh();
    if t == 0.0 {
        return vec![1.0 / n; count as usize];
    }
    (1..=count)
        .map(|k| {
            let x = (n - f64::from(k) + 0.5) * t;
            // cosh(x)/sinh(N t) by exponentials that cannot overflow: x < N t.
            let quotient = (x - n * t).exp() * (1.0 + (-2.0 * x).exp()) / (1.0 - (-2.0 * n * t).exp());
            2.0 * (t / 2.0).sinh() * quotient
        })
        .collect()
}

/// Largest share over the mean share in such a row, 1 where the bus has no resistance.
pub fn ladder_crowding(count: u32, segment_ohm: f64, bump_ohm: f64) -> f64 {
    ladder(count, segment_ohm, bump_ohm).first().map_or(1.0, |first| first * f64::from(count))
}
