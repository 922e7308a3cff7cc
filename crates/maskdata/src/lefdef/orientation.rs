//! The eight orientations of a placed component.

use facedown_layout::Point;

/// How a component or pin is turned: a compass point for the turn, and whether it is flipped left to right after
/// turning (LEF/DEF 5.8 language reference).
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Orientation {
    /// As drawn.
    #[default]
    N,
    /// Turned by 180 degrees.
    S,
    /// Turned by 90 degrees counter-clockwise.
    W,
    /// Turned by 90 degrees clockwise.
    E,
    /// Flipped left to right.
    FN,
    /// Turned by 180 degrees, then flipped.
    FS,
    /// Turned by 90 degrees counter-clockwise, then flipped.
    FW,
    /// Turned by 90 degrees clockwise, then flipped.
    FE,
}

impl Orientation {
    /// The orientation of a DEF word.
    pub fn parse(word: &str) -> Option<Orientation> {
        Some(match word {
            "N" => Orientation::N,
            "S" => Orientation::S,
            "W" => Orientation::W,
            "E" => Orientation::E,
            "FN" => Orientation::FN,
            "FS" => Orientation::FS,
            "FW" => Orientation::FW,
            "FE" => Orientation::FE,
            _ => return None,
        })
    }

    /// A point turned about the origin.
    pub fn turn(self, p: Point) -> Point {
        let (x, y) = (p.x, p.y);
        match self {
            Orientation::N => Point::new(x, y),
            Orientation::S => Point::new(-x, -y),
            Orientation::W => Point::new(-y, x),
            Orientation::E => Point::new(y, -x),
            Orientation::FN => Point::new(-x, y),
            Orientation::FS => Point::new(x, -y),
            Orientation::FW => Point::new(y, x),
            Orientation::FE => Point::new(-y, -x),
        }
    }

    /// A point of a box from the origin to `size`, turned, then moved so that the turned box begins at the
    /// origin again.
    pub fn turn_in_box(self, p: Point, size: Point) -> Point {
        let (at, corner) = (self.turn(p), self.turn(size));
        Point::new(
            at.x - corner.x.min(facedown_quantity::Nm::ZERO),
            at.y - corner.y.min(facedown_quantity::Nm::ZERO),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::Orientation;
    use facedown_layout::Point;
    use facedown_quantity::Nm;

    #[test]
    fn a_flipped_orientation_is_the_turn_followed_by_a_flip() {
        let p = Point::new(Nm(3), Nm(5));
        for (plain, flipped) in [("N", "FN"), ("S", "FS"), ("W", "FW"), ("E", "FE")] {
            let turned = Orientation::parse(plain).unwrap().turn(p);
            assert_eq!(Orientation::parse(flipped).unwrap().turn(p), Point::new(-turned.x, turned.y));
        }
    }

    #[test]
    fn the_turned_box_begins_at_the_origin() {
        let size = Point::new(Nm(60), Nm(100));
        let marker = Point::new(Nm(10), Nm(0));
        let at = |word: &str| {
            let p = Orientation::parse(word).unwrap().turn_in_box(marker, size);
            (p.x.0, p.y.0)
        };
        assert_eq!(at("N"), (10, 0));
        assert_eq!(at("W"), (100, 10));
        assert_eq!(at("S"), (50, 100));
        assert_eq!(at("E"), (0, 50));
        assert_eq!(at("FN"), (50, 0));
        assert_eq!(at("FS"), (10, 100));
        assert_eq!(at("FW"), (0, 10));
        assert_eq!(at("FE"), (100, 50));
    }
}
