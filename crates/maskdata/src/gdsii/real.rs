//! The eight-byte real of the stream format: excess-64 exponent to the base 16 and a 56-bit fraction.
//!
//! `value = (-1)^s * M / 2^56 * 16^(e - 64)`, normalised so that `1/16 <= M / 2^56 < 1` (Rubin 1987, appendix C).
//! A double has 53 significant bits, the fraction here at least 53, so encoding loses nothing; decoding
//! rounds the up to 56 bits once, to the nearest double.

/// The value of an eight-byte real. Never fails: every bit pattern is a number.
///
/// The result is the double nearest to the stored value (ties to even).
pub fn decode_real(bytes: [u8; 8]) -> f64 {
    let bits = u64::from_be_bytes(bytes);
    let fraction = bits & 0x00ff_ffff_ffff_ffff;
    let exponent = ((bits >> 56) & 0x7f) as i32;
    // u64 to f64 rounds to nearest, and a power of two changes no digit: the range 16^-64..16^63 is far inside
    // that of a double.
    let magnitude = fraction as f64 * power_of_two(4 * (exponent - 64) - 56);
    if bits >> 63 == 1 { -magnitude } else { magnitude }
}

/// The eight-byte real that holds exactly the double `value`.
///
/// `None` where the format cannot hold it: not a number, infinite, 16^63 and above, or too small to be normalised
/// (below 16^-65). Zero of either sign is eight zero bytes.
pub fn encode_real(value: f64) -> Option<[u8; 8]> {
    if value == 0.0 {
        return Some([0; 8]);
    }
    if !value.is_normal() {
        return None;
    }
    let bits = value.to_bits();
    let sign = bits >> 63;
    let binary_exponent = ((bits >> 52) & 0x7ff) as i32 - 1023;
    let significand = (bits & 0x000f_ffff_ffff_ffff) | 0x0010_0000_0000_0000;
    // value = significand * 2^(binary_exponent - 52), significand in [2^52, 2^53).
    // Wanted: fraction * 2^-56 * 16^k with fraction in [2^52, 2^56), so k = floor(binary_exponent / 4) + 1.
    let k = binary_exponent.div_euclid(4) + 1;
    let shift = binary_exponent - 52 + 56 - 4 * k;
    let fraction = significand << shift;
    let exponent = k + 64;
    if !(0..=127).contains(&exponent) {
        return None;
    }
    Some((sign << 63 | (exponent as u64) << 56 | fraction).to_be_bytes())
}

fn power_of_two(exponent: i32) -> f64 {
    f64::from_bits(((exponent + 1023) as u64) << 52)
}

#[cfg(test)]
mod tests {
    use super::{decode_real, encode_real};
    use proptest::prelude::*;

    #[test]
    fn limits_of_the_format_are_refused() {
        assert_eq!(encode_real(f64::NAN), None);
        assert_eq!(encode_real(f64::INFINITY), None);
        assert_eq!(encode_real(16f64.powi(63)), None);
        assert!(encode_real(16f64.powi(62)).is_some());
        assert!(encode_real(16f64.powi(-65)).is_some());
        assert_eq!(encode_real(16f64.powi(-66)), None);
        assert_eq!(encode_real(-0.0), Some([0; 8]));
    }

    proptest! {
        #[test]
        fn encoding_then_decoding_gives_the_same_double(fraction in -1.0f64..1.0, exponent in -60i32..60) {
            let value = fraction * 16f64.powi(exponent);
            prop_assert_eq!(decode_real(encode_real(value).unwrap()), value);
        }

        #[test]
        fn every_bit_pattern_decodes_to_a_finite_number(bytes: [u8; 8]) {
            prop_assert!(decode_real(bytes).is_finite());
        }
    }
}
