//! Structure functions: capacity over resistance along the path that a ladder stands for.
//!
//! Going along the ladder from its input, resistance and capacity add up. The cumulative structure function is the
//! capacity passed over the resistance passed; its slope, the differential structure function, is large where the path
//! is wide and stores well. In one dimension the slope is conductivity times heat capacity per volume times the square
//! of the area (V. Székely, T. Van Bien, Solid-State Electronics 31 (1988) 1363-1368; from memory). A capacity of the
//! ladder stands for the stretch to both sides of its node, so half of it is counted before the node.

use crate::ladder::Rung;

/// A place along the path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Resistance passed from the input.
    pub resistance: f64,
    /// Capacity passed from the input.
    pub capacity: f64,
}

/// The cumulative structure function, one place a node, from the input on.
pub fn cumulative(rungs: &[Rung]) -> Vec<Place> {
    let (mut resistance, mut capacity) = (0.0, 0.0);
    rungs
        .iter()
        .map(|rung| {
            let place = Place { resistance, capacity: capacity + 0.5 * rung.capacity };
            resistance += rung.resistance;
            capacity += rung.capacity;
            place
        })
        .collect()
}

/// Capacity at a resistance, between the places logarithmically in capacity; `None` outside of the path.
pub fn capacity_at(path: &[Place], resistance: f64) -> Option<f64> {
    let next = path.partition_point(|p| p.resistance < resistance);
    let (b, a) = (path.get(next)?, path.get(next.checked_sub(1)?)?);
    let share = (resistance - a.resistance) / (b.resistance - a.resistance);
    Some((a.capacity.ln() + share * (b.capacity / a.capacity).ln()).exp())
}

/// Resistance at which the path has passed a capacity; `None` outside of the path.
pub fn resistance_at(path: &[Place], capacity: f64) -> Option<f64> {
    let next = path.partition_point(|p| p.capacity < capacity);
    let (b, a) = (path.get(next)?, path.get(next.checked_sub(1)?)?);
    let share = (capacity / a.capacity).ln() / (b.capacity / a.capacity).ln();
    Some(a.resistance + share * (b.resistance - a.resistance))
}

/// The differential structure function: middle of each stretch between two places, and slope there. Stretches are as
/// short as the ladder has them; `least` joins neighbours until a stretch has at least that resistance.
pub fn differential(path: &[Place], least: f64) -> Vec<Place> {
    let mut slopes = Vec::new();
    let Some(mut from) = path.first().copied() else { return slopes };
    for place in &path[1..] {
        let resistance = place.resistance - from.resistance;
        if resistance >= least && resistance > 0.0 {
            slopes.push(Place {
                resistance: 0.5 * (place.resistance + from.resistance),
                capacity: (place.capacity - from.capacity) / resistance,
            });
            from = *place;
        }
    }
    slopes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_uniform_line_is_straight() {
        let rungs = [Rung { capacity: 2.0, resistance: 0.5 }; 8];
        let path = cumulative(&rungs);
        assert_eq!(path[3], Place { resistance: 1.5, capacity: 7.0 });
        for place in differential(&path, 0.9) {
            assert!((place.capacity - 4.0).abs() < 1e-12);
        }
        assert_eq!(differential(&path, 0.9).len(), 3);
        assert!((resistance_at(&path, 7.0).unwrap() - 1.5).abs() < 1e-12);
        assert!((capacity_at(&path, 1.5).unwrap() - 7.0).abs() < 1e-12);
        assert_eq!(capacity_at(&path, 3.6), None);
        assert_eq!(resistance_at(&path, 0.5), None);
    }
}
