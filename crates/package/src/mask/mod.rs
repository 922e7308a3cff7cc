//! Pads from drawings: what a layout's shapes and labels, or a placed design's pins, mean for a die.

pub(crate) mod gdsii;
pub(crate) mod lefdef;

use crate::pads::Pad;
use facedown_layout::Point;
use facedown_quantity::Nm;
use std::collections::{BTreeMap, BTreeSet};

/// An axis-parallel box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Box2 {
    low: Point,
    high: Point,
}

impl Box2 {
    /// The box around some points; `None` for no points.
    fn around(points: &[Point]) -> Option<Box2> {
        let first = *points.first()?;
        Some(points.iter().fold(Box2 { low: first, high: first }, |b, p| Box2 {
            low: Point::new(b.low.x.min(p.x), b.low.y.min(p.y)),
            high: Point::new(b.high.x.max(p.x), b.high.y.max(p.y)),
        }))
    }

    fn holds(&self, p: Point) -> bool {
        (self.low.x..=self.high.x).contains(&p.x) && (self.low.y..=self.high.y).contains(&p.y)
    }

    fn centre(&self) -> Point {
        Point::new(Nm((self.low.x.0 + self.high.x.0) / 2), Nm((self.low.y.0 + self.high.y.0) / 2))
    }

    /// The pad whose opening this box is, in the frame of `origin`.
    fn pad(&self, name: String, net: String, origin: Point) -> Pad {
        let centre = self.centre();
        Pad {
            name,
            net,
            x: centre.x - origin.x,
            y: centre.y - origin.y,
            width: self.high.x - self.low.x,
            height: self.high.y - self.low.y,
            class: None,
            current_a: None,
        }
    }
}

/// `word` with the next number that makes it a name of its own; `numbers` remembers how far each word has come.
fn unique_name(word: &str, taken: &mut BTreeSet<String>, numbers: &mut BTreeMap<String, usize>) -> String {
    let number = numbers.entry(word.to_owned()).or_insert(0);
    loop {
        *number += 1;
        let name = format!("{word}_{number}");
        if taken.insert(name.clone()) {
            return name;
        }
    }
}
