//! Colours of fields: one map for magnitudes, one for signed values.
//!
//! Magnitudes: cividis, which rises evenly in lightness for every kind of colour vision (J. R. Nuñez, C. R. Anderton, R. S.
//! Renslow, PLoS ONE 13(7) (2018) e0199239; values of matplotlib 3, 33 of 256, straight between them). Signed values:
//! blue over paper to orange, paper at zero.

use crate::palette::Colour;

const CIVIDIS: [u32; 33] = [
    0x00224e, 0x00285b, 0x002e6a, 0x053371, 0x1a386f, 0x273e6e, 0x32436d, 0x3b496c, 0x434e6c, 0x4b546c,
    0x535a6d, 0x5a5f6e, 0x61656f, 0x686a71, 0x6f7073, 0x767676, 0x7d7c78, 0x848279, 0x8c8878, 0x938e78,
    0x9b9476, 0xa39a74, 0xaba072, 0xb4a76f, 0xbcae6c, 0xc4b468, 0xcdbb63, 0xd5c25e, 0xdec958, 0xe7d150,
    0xf0d846, 0xf9e03a, 0xfee838,
];

/// Blue, paper, orange: the ends are as dark as each other.
const SIGNED: [u32; 3] = [0x2a5f9e, 0xfaf8f3, 0xb0560f];

/// Colour of a magnitude at a share of its range, 0 to 1.
pub fn magnitude(share: f64) -> Colour {
    between(&CIVIDIS, share)
}

/// Colour of a signed value over the largest magnitude, -1 to 1.
pub fn signed(share: f64) -> Colour {
    between(&SIGNED, 0.5 + 0.5 * share)
}

fn between(map: &[u32], share: f64) -> Colour {
    let last = map.len() - 1;
    let at = if share.is_finite() { share.clamp(0.0, 1.0) * last as f64 } else { 0.0 };
    let low = (at as usize).min(last - 1);
    Colour::hex(map[low + 1]).over(at - low as f64, Colour::hex(map[low]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn magnitudes_rise_in_lightness_and_signed_ends_match() {
        let steps: Vec<f64> = (0..=100).map(|i| magnitude(f64::from(i) / 100.0).luminance()).collect();
        assert!(steps.windows(2).all(|s| s[1] >= s[0]));
        assert_eq!(magnitude(0.0), Colour::hex(0x00224e));
        assert_eq!(magnitude(1.0), Colour::hex(0xfee838));
        assert_eq!(signed(0.0), Colour::hex(0xfaf8f3));
        let ratio = signed(-1.0).contrast(signed(1.0));
        assert!(ratio < 1.35, "{ratio}");
        assert_eq!(magnitude(f64::NAN), magnitude(0.0));
    }
}
