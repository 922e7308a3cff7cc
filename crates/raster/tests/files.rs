//! Files in and out: what is written reads back, and nothing that a file holds makes the reader panic or loop.
#![allow(clippy::unwrap_used)]

use facedown_raster::{Grey, MOST_PIXELS, Unreadable, png_of_colours, png_of_grey, read};
use proptest::prelude::*;

fn slope() -> Grey {
    Grey::from_fn(37, 23, |x, y| (x * 6 + y) as f32 / 255.0)
}

fn jpeg(grey: &Grey, progressive: bool) -> Vec<u8> {
    let bytes: Vec<u8> = grey.values().iter().map(|v| (v * 255.0).round() as u8).collect();
    let mut out = Vec::new();
    let mut encoder = jpeg_encoder::Encoder::new(&mut out, 95);
    encoder.set_progressive(progressive);
    encoder.encode(&bytes, grey.width() as u16, grey.height() as u16, jpeg_encoder::ColorType::Luma).unwrap();
    out
}

/// A PNG of any header, with right check sums.
fn header(width: u32, height: u32) -> Vec<u8> {
    let mut out = png_of_grey(&slope()).unwrap();
    out[16..20].copy_from_slice(&width.to_be_bytes());
    out[20..24].copy_from_slice(&height.to_be_bytes());
    let mut crc = u32::MAX;
    for byte in &out[12..29] {
        crc ^= u32::from(*byte);
        for _ in 0..8 {
            crc = if crc & 1 == 1 { (crc >> 1) ^ 0xedb8_8320 } else { crc >> 1 };
        }
    }
    out[29..33].copy_from_slice(&(!crc).to_be_bytes());
    out
}

#[test]
fn a_written_picture_reads_back() {
    let back = read(&png_of_grey(&slope()).unwrap()).unwrap();
    assert_eq!((back.width(), back.height()), (37, 23));
    assert!(back.values().iter().zip(slope().values()).all(|(a, b)| (a - b).abs() < 1e-6));
    let colours: Vec<[u8; 3]> = (0..12).map(|i| [255 * (i % 2), 0, 0]).collect();
    let red = read(&png_of_colours(4, &colours).unwrap()).unwrap();
    assert!((red.at(1, 0) - 0.2126).abs() < 1e-6 && red.at(0, 0) == 0.0);
    assert!(png_of_colours(5, &colours).is_err());
}

#[test]
fn a_jpeg_of_either_order_is_within_its_loss() {
    for progressive in [false, true] {
        let back = read(&jpeg(&slope(), progressive)).unwrap();
        assert_eq!((back.width(), back.height()), (37, 23));
        // A quality of 95 keeps smooth parts to about two steps of 255.
        let most = back.values().iter().zip(slope().values()).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
        assert!(most < 4.0 / 255.0, "{most}");
    }
}

#[test]
fn what_is_no_picture_is_refused_with_the_reason() {
    let png = png_of_grey(&slope()).unwrap();
    let photograph = jpeg(&slope(), false);
    assert_eq!(read(b""), Err(Unreadable::NotAPicture));
    assert_eq!(read(b"name,x,y\n"), Err(Unreadable::NotAPicture));
    for whole in [&png, &photograph] {
        for share in [0.3, 0.6, 0.9] {
            let cut = &whole[..(whole.len() as f64 * share) as usize];
            assert!(
                matches!(read(cut), Err(Unreadable::Truncated | Unreadable::Damaged(_))),
                "{:?}",
                read(cut)
            );
        }
    }
    let blank = Grey::from_fn(20, 20, |_, _| 0.3);
    assert_eq!(read(&png_of_grey(&blank).unwrap()), Err(Unreadable::Blank));
    assert_eq!(read(&jpeg(&blank, false)), Err(Unreadable::Blank));
    // Refused by the stated size alone: the bytes behind it hold a small picture.
    let large = Err(Unreadable::TooLarge { width: 32_000, height: 1_001 });
    assert_eq!(read(&header(32_000, 1_001)), large);
    const { assert!(32_000 * 1_001 > MOST_PIXELS) };
    assert!(matches!(read(&header(u32::MAX >> 1, u32::MAX >> 1)), Err(Unreadable::TooLarge { .. })));
    let mut broken = png.clone();
    let last = broken.len() - 30;
    broken[last] ^= 0xff;
    assert!(matches!(read(&broken), Err(Unreadable::Damaged(_))));
    let words = read(&header(32_000, 1_001)).unwrap_err().to_string();
    assert_eq!(
        words,
        "the picture has 32000 x 1001 pixels; at most 32000000 are read: cut it or halve its size"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn random_bytes_end_in_an_answer(bytes in prop::collection::vec(any::<u8>(), 0..600), kind in 0..3_u8) {
        let begin: &[u8] = match kind {
            0 => &[],
            1 => &[0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a],
            _ => &[0xff, 0xd8, 0xff],
        };
        let _ = read(&[begin, &bytes].concat());
    }

    #[test]
    fn changed_bytes_end_in_an_answer(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        kind in 0..3_u8,
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let mut bytes = match kind {
            0 => png_of_grey(&slope()).unwrap(),
            1 => jpeg(&slope(), false),
            _ => jpeg(&slope(), true),
        };
        for (place, value) in changes {
            let i = place.index(bytes.len());
            bytes[i] = value;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        if let Ok(picture) = read(&bytes) {
            prop_assert!(picture.values().iter().all(|v| (-1e-6..=1.0 + 1e-6).contains(&f64::from(*v))));
        }
    }

    #[test]
    fn grey_values_survive_a_file(width in 1_usize..40, seed in prop::collection::vec(0..=255_u8, 2..400)) {
        let rows = seed.len() / width;
        prop_assume!(rows > 0);
        let values: Vec<f32> = seed[..rows * width].iter().map(|b| f32::from(*b) / 255.0).collect();
        let picture = Grey::new(width, values).unwrap();
        let (least, most) = picture.range();
        match read(&png_of_grey(&picture).unwrap()) {
            Ok(back) => prop_assert_eq!(back, picture),
            Err(e) => prop_assert!(e == Unreadable::Blank && least == most),
        }
    }
}
