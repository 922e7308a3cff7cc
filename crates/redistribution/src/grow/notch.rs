//! Necks and sharp notches in an outline: where metal must draw back.
//!
//! Metal that is a union of discs of a line's width is nowhere narrower than that, but where two discs overlap across a
//! neck that neither can pass: there the outline has two inward corners facing each other. The same corners are the only
//! ones that can be sharp.

use super::region::{FINE, Ring, Spot};
use std::collections::BTreeMap;

/// Length over which the direction of an outline is taken at a corner, nm.
const DIRECTION: f64 = 60.0;
/// Sine of the turn from which an inward corner may be one end of a neck.
const TURN: f64 = 0.02;
/// Least angle of a notch, degrees; with a margin to the right angle.
const LEAST_ANGLE: f64 = 95.0;

struct Corner {
    at: Spot,
    into: [f64; 2],
    out: [f64; 2],
}

fn vector(a: Spot, b: Spot) -> [f64; 2] {
    [(b[0] - a[0]) as f64, (b[1] - a[1]) as f64]
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// Inward corners of clean rings that are sharp notches, or ends of a neck narrower than `width` (nm).
pub fn notches(rings: &[&Ring], width: f64) -> Vec<Spot> {
    let mut found = Vec::new();
    let mut corners = Vec::new();
    for ring in rings {
        let n = ring.len();
        for i in 0..n {
            let (before, at, after) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
            let (into, out) = (vector(before, at), vector(at, after));
            let lengths = into[0].hypot(into[1]) * out[0].hypot(out[1]);
            // A corner between very short edges may be part of a larger turn.
            let (a, b) = (reached(ring, i, n - 1), reached(ring, i, 1));
            let (back, ahead) = (vector(at, a), vector(at, b));
            let angle = cross(back, ahead).abs().atan2(dot(back, ahead)).to_degrees();
            if cross(back, ahead) > 0.0 && angle < LEAST_ANGLE {
                found.push(at);
            }
            if cross(into, out) < -TURN * lengths {
                corners.push(Corner { at, into, out });
            }
        }
    }
    found.extend(necks(&corners, width * FINE));
    found.sort_unstable();
    found.dedup();
    found
}

fn reached(ring: &[Spot], i: usize, step: usize) -> Spot {
    let mut at = i;
    for _ in 1..ring.len() {
        at = (at + step) % ring.len();
        let d = vector(ring[i], ring[at]);
        if d[0].hypot(d[1]) >= DIRECTION * FINE {
            break;
        }
    }
    ring[at]
}

/// Both ends of every neck narrower than `width` (fine grid) between two inward corners.
fn necks(corners: &[Corner], width: f64) -> Vec<Spot> {
    let cell = |p: Spot| [0, 1].map(|k| (p[k] as f64 / width).floor() as i64);
    let mut cells: BTreeMap<[i64; 2], Vec<usize>> = BTreeMap::new();
    for (i, c) in corners.iter().enumerate() {
        cells.entry(cell(c.at)).or_default().push(i);
    }
    // Going along either edge from the corner must not come nearer to the other corner, and the metal is between.
    let sees = |c: &Corner, across: [f64; 2]| {
        dot(across, c.out) <= 0.0
            && dot(across, c.into) >= 0.0
            && cross(c.into, across) > 0.0
            && cross(c.out, across) > 0.0
    };
    let mut found = Vec::new();
    for (i, c) in corners.iter().enumerate() {
        let [x, y] = cell(c.at);
        for key in (-1..=1).flat_map(|dy| (-1..=1).map(move |dx| [x + dx, y + dy])) {
            for &j in cells.get(&key).map_or(&[][..], |v| v) {
                let across = vector(c.at, corners[j].at);
                let apart = across[0].hypot(across[1]);
                if i < j && apart < width && sees(c, across) && sees(&corners[j], [-across[0], -across[1]]) {
                    found.extend([c.at, corners[j].at]);
                }
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::offset::grown;
    use super::super::region::{spot, union};
    use super::*;

    fn block(x: f64) -> Ring {
        vec![spot(x, 0.0), spot(x + 4000.0, 0.0), spot(x + 4000.0, 4000.0), spot(x, 4000.0)]
    }

    #[test]
    fn overlapping_discs_make_a_neck_and_a_grown_block_does_not() {
        let smooth = union(&[grown(&block(0.0), 1000.0, 4.0)]);
        assert!(notches(&smooth[0].iter().collect::<Vec<_>>(), 2000.0).is_empty());
        // Points instead of blocks: two discs with their centres 1500 nm apart.
        let dot = |x: f64| vec![spot(x, 0.0), spot(x + 1.0, 0.0), spot(x, 1.0)];
        let pair = union(&[grown(&dot(0.0), 1000.0, 4.0), grown(&dot(1500.0), 1000.0, 4.0)]);
        let found = notches(&pair[0].iter().collect::<Vec<_>>(), 2000.0);
        assert_eq!(found.len(), 2, "{found:?}");
    }

    #[test]
    fn a_narrow_slit_between_two_arms_is_a_sharp_notch() {
        let vee = vec![
            spot(0.0, 0.0),
            spot(9000.0, 0.0),
            spot(9000.0, 9000.0),
            spot(6000.0, 9000.0),
            spot(4500.0, 3000.0),
            spot(3000.0, 9000.0),
            spot(0.0, 9000.0),
        ];
        assert_eq!(notches(&[&vee], 100.0), [spot(4500.0, 3000.0)]);
    }
}
