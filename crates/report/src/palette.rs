//! Colours, one palette for every picture: a colour says what a thing is made of, never which layer it is on.
//!
//! The light palette is the design's; the dark one swaps ink and paper and keeps each hue at the contrast that
//! it has on paper (found by moving its OKLab lightness; Ottosson 2020). Contrast is that of WCAG 2.2
//! (W3C 2023, "relative luminance" and "contrast ratio"); the tests hold text at 4.5 and outlines and marks at
//! 3 (success criteria 1.4.3 and 1.4.11, level AA).

use std::fmt;

/// An sRGB colour; written as `#rrggbb`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

impl Colour {
    /// From `0xrrggbb`.
    pub const fn hex(code: u32) -> Colour {
        Colour((code >> 16) as u8, (code >> 8) as u8, code as u8)
    }

    /// This colour at an opacity in 0..=1 over another, mixed as SVG does (in sRGB).
    pub fn over(self, opacity: f64, ground: Colour) -> Colour {
        let mix = |a: u8, b: u8| (f64::from(a) * opacity + f64::from(b) * (1.0 - opacity)).round() as u8;
        Colour(mix(self.0, ground.0), mix(self.1, ground.1), mix(self.2, ground.2))
    }

    /// Relative luminance, 0 (black) to 1 (white); WCAG 2.2, definition of "relative luminance".
    pub fn luminance(self) -> f64 {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(self.0) + 0.7152 * linear(self.1) + 0.0722 * linear(self.2)
    }

    /// Contrast ratio to another colour, 1 to 21; WCAG 2.2, definition of "contrast ratio".
    pub fn contrast(self, other: Colour) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }
}

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }
}

/// What a thing is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Made {
    /// The die.
    Silicon,
    /// Traces, pillars, planes, lid core.
    Copper,
    /// Copper of the second metal layer, 25 % lighter.
    SecondCopper,
    /// Bumps and balls.
    Solder,
    /// Nickel, steel and other plate; die pad metal.
    Plate,
    /// Dielectric and passivation.
    Dielectric,
    /// Underfill and adhesives.
    Adhesive,
    /// Laminate and board.
    Laminate,
    /// Thermal interface.
    ThermalInterface,
}

impl Made {
    /// All of them, in the order of legends.
    pub const ALL: [Made; 9] = [
        Made::Silicon,
        Made::Copper,
        Made::SecondCopper,
        Made::Solder,
        Made::Plate,
        Made::Dielectric,
        Made::Adhesive,
        Made::Laminate,
        Made::ThermalInterface,
    ];

    /// Opacity at which the material is drawn: films that one sees through are at 45 %.
    pub fn opacity(self) -> f64 {
        if matches!(self, Made::Dielectric | Made::Adhesive) { 0.45 } else { 1.0 }
    }
}

/// Opacity of the veil that silicon lays over what is seen through it.
pub const SEEN_THROUGH: f64 = 0.14;

/// A material's fill and its outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tone {
    /// Fill.
    pub fill: Colour,
    /// Outline, at least 3 to 1 against the paper.
    pub rim: Colour,
}

/// All colours of one theme.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// Text and fine lines.
    pub ink: Colour,
    /// Background.
    pub paper: Colour,
    /// Second-rank text.
    pub muted: Colour,
    /// Grid lines and rules.
    pub grid: Colour,
    /// A requirement met.
    pub meets: Colour,
    /// A requirement that falls short; rule violations.
    pub short: Colour,
    /// A requirement that no study judged.
    pub not_judged: Colour,
    tones: [Tone; 9],
}

impl Palette {
    /// The colours of a material.
    pub fn tone(&self, made: Made) -> Tone {
        self.tones[made as usize]
    }
}

const fn tone(fill: u32, rim: u32) -> Tone {
    Tone { fill: Colour::hex(fill), rim: Colour::hex(rim) }
}

/// Ink on paper.
pub const LIGHT: Palette = Palette {
    ink: Colour::hex(0x1d2433),
    paper: Colour::hex(0xfaf8f3),
    muted: Colour::hex(0x5c6270),
    grid: Colour::hex(0xddd8cc),
    meets: Colour::hex(0x0f7b74),
    short: Colour::hex(0xc4472f),
    not_judged: Colour::hex(0x6b7280),
    tones: [
        tone(0x5f7389, 0x475a6f),
        tone(0xb8693d, 0x9b4f21),
        tone(0xca8f6e, 0x9b4f21),
        tone(0x8a94a3, 0x646d7c),
        tone(0xa7adb3, 0x848a8f),
        tone(0xd9c9a3, 0x978864),
        tone(0xd9a441, 0xb38008),
        tone(0x7d8f69, 0x63744f),
        tone(0x7a5c86, 0x61446c),
    ],
};

/// Paper on ink, each hue at its contrast of the light theme.
pub const DARK: Palette = Palette {
    ink: Colour::hex(0xfaf8f3),
    paper: Colour::hex(0x1d2433),
    muted: Colour::hex(0x979ead),
    grid: Colour::hex(0x363d4d),
    meets: Colour::hex(0x409e96),
    short: Colour::hex(0xe4644b),
    not_judged: Colour::hex(0x848b9a),
    tones: [
        tone(0x798ea5, 0x97acc4),
        tone(0xba6a3e, 0xd9875b),
        tone(0xcb8f6e, 0xd9875b),
        tone(0x626b79, 0x8791a0),
        tone(0x52575d, 0x6f747a),
        tone(0x4e401e, 0x81724f),
        tone(0x7c4b00, 0x9c6a00),
        tone(0x687954, 0x83956e),
        tone(0xac8cb9, 0xccacda),
    ],
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrast_is_that_of_wcag() {
        // WCAG 2.2, definition of "contrast ratio": black on white is 21 to 1.
        let ratio = Colour::hex(0).contrast(Colour::hex(0xffffff));
        assert!((ratio - 21.0).abs() < 1e-9);
        // sRGB grey #777777 on white is 4.48 to 1: W3C, "Understanding SC 1.4.3" names it as just below AA.
        let grey = Colour::hex(0x777777).contrast(Colour::hex(0xffffff));
        assert!((4.47..4.50).contains(&grey), "{grey}");
    }

    #[test]
    fn text_reads_and_outlines_show_in_both_themes() {
        for (theme, p) in [("light", LIGHT), ("dark", DARK)] {
            for (name, c) in [
                ("ink", p.ink),
                ("muted", p.muted),
                ("meets", p.meets),
                ("short", p.short),
                ("not judged", p.not_judged),
            ] {
                assert!(c.contrast(p.paper) >= 4.5, "{theme} {name}: {:.2}", c.contrast(p.paper));
            }
            for made in Made::ALL {
                let ratio = p.tone(made).rim.contrast(p.paper);
                assert!(ratio >= 3.0, "{theme} rim of {made:?}: {ratio:.2}");
            }
            // Names stand on bumps.
            let on_solder = p.ink.contrast(p.tone(Made::Solder).fill);
            assert!(on_solder >= 4.5, "{theme} ink on solder: {on_solder:.2}");
            // Copper lies on the dielectric of the die, or on its silicon seen through.
            let film = p.tone(Made::Dielectric).fill.over(0.45, p.paper);
            let veil = p.tone(Made::Silicon).fill.over(SEEN_THROUGH, p.paper);
            for (ground, colour) in [("dielectric", film), ("silicon", veil)] {
                let ratio = p.tone(Made::Copper).fill.contrast(colour);
                assert!(ratio >= 3.0, "{theme} copper on {ground}: {ratio:.2}");
            }
        }
    }

    #[test]
    fn dark_theme_keeps_each_hue_at_its_contrast() {
        for made in Made::ALL.into_iter().filter(|m| *m != Made::SecondCopper) {
            let light = LIGHT.tone(made).fill.contrast(LIGHT.paper);
            let dark = DARK.tone(made).fill.contrast(DARK.paper);
            assert!((light / dark - 1.0).abs() < 0.02, "{made:?}: {light:.2} against {dark:.2}");
        }
    }

    #[test]
    fn second_copper_is_a_quarter_lighter() {
        for p in [LIGHT, DARK] {
            let lighter = Colour::hex(0xffffff).over(0.25, p.tone(Made::Copper).fill);
            assert_eq!(p.tone(Made::SecondCopper).fill, lighter);
        }
    }
}
