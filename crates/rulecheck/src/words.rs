//! Findings in words.

use facedown_layout::{Point, Role};
use facedown_quantity::Nm;

/// A length in micrometres with up to four decimals (0.1 nm), without trailing zeros. Rounded down, so that a
/// length just below its limit does not read like the limit.
pub(crate) fn um(nm: f64) -> String {
    let tenths = (nm * 10.0 + 1e-6).floor() as i64;
    let (whole, rest) = (tenths.div_euclid(10_000), tenths.rem_euclid(10_000));
    if rest == 0 {
        format!("{whole} um")
    } else {
        let digits = format!("{rest:04}");
        format!("{whole}.{} um", digits.trim_end_matches('0'))
    }
}

/// A place: `(12.5, 40) um`.
pub(crate) fn place(at: Point) -> String {
    let strip = |x: Nm| x.to_string().trim_end_matches(" um").to_owned();
    format!("({}, {}) um", strip(at.x), strip(at.y))
}

/// The nearest whole-nanometre point.
pub(crate) fn point(at: [f64; 2]) -> Point {
    Point::new(Nm(at[0].round() as i64), Nm(at[1].round() as i64))
}

/// A layer in the trade's words.
pub(crate) fn layer(role: Role) -> String {
    match role {
        Role::Outline => "the die outline".into(),
        Role::Pad => "the pad layer".into(),
        Role::Opening(1) => "the dielectric openings over the pads".into(),
        Role::Opening(n) => format!("the via openings under RDL {n}"),
        Role::Rdl(n) => format!("RDL {n}"),
        Role::BumpOpening => "the openings under the UBM".into(),
        Role::Ubm => "the UBM layer".into(),
        Role::Bump => "the bump layer".into(),
        Role::KeepOut => "the keep-out layer".into(),
    }
}

/// One thing of a layer: `A via opening`.
pub(crate) fn thing(role: Role) -> &'static str {
    match role {
        Role::Outline => "outline",
        Role::Pad => "pad",
        Role::Opening(1) => "pad opening",
        Role::Opening(_) => "via opening",
        Role::Rdl(_) => "RDL metal",
        Role::BumpOpening => "bump opening",
        Role::Ubm => "UBM",
        Role::Bump => "bump",
        Role::KeepOut => "keep-out",
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn lengths_just_below_a_limit_do_not_round_up_to_it() {
        assert_eq!(super::um(10_000.0), "10 um");
        assert_eq!(super::um(9_999.97), "9.9999 um");
        assert_eq!(super::um(30_710.678), "30.7106 um");
        assert_eq!(super::um(0.0), "0 um");
    }
}
