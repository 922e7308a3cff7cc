//! Cycles in a recorded temperature, by rainflow counting.
//!
//! ASTM E1049-85 (reapproved 2017), Standard Practices for Cycle Counting in Fatigue Analysis: section 5.4.4 for a
//! history that runs once ([`count`], its residue as half cycles) and section 5.4.5 for one that repeats
//! ([`count_repeating`], begun at its maximum, where every cycle closes). Swings below a gate are dropped first. A
//! counted cycle keeps the times of its two reversals; [`mission_cycles`] adds the time near each end, which creep
//! models ask for. Cost: one pass, plus the walk along each dwell.

use crate::problem::{Cycle, History};
use std::collections::{BTreeMap, BTreeSet};

/// A turning point of a history.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reversal {
    /// Place in the points that were read, from 0.
    pub index: usize,
    /// Time, in the unit that was read.
    pub time: f64,
    /// Value, in the unit that was read.
    pub value: f64,
}

/// A counted cycle or half cycle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counted {
    /// The reversal that comes first.
    pub first: Reversal,
    /// The reversal that comes second; in a repeating history its time may lie in the next repetition.
    pub second: Reversal,
    /// 1 for a closed cycle, 0.5 for a half cycle.
    pub count: f64,
}

impl Counted {
    /// Distance between both reversals.
    pub fn range(&self) -> f64 {
        (self.second.value - self.first.value).abs()
    }

    /// Middle of both reversals.
    pub fn mean(&self) -> f64 {
        0.5 * (self.second.value + self.first.value)
    }

    /// Time from the first reversal to the second, smaller cycles within it included.
    pub fn half_period(&self) -> f64 {
        self.second.time - self.first.time
    }
}

/// Which way a history is going.
#[derive(Clone, Copy)]
enum Course {
    Unknown,
    Up,
    Down,
}

/// The turning points of a history of (time, value): first and last point and all between that turn by at least `gate`
/// (in the unit of the value; 0 keeps every turn). A beginning or end that moves by less than the gate is left out. Empty
/// for a history that nowhere moves by the gate.
pub fn reversals(points: &[(f64, f64)], gate: f64) -> Vec<Reversal> {
    let all: Vec<Reversal> =
        points.iter().enumerate().map(|(index, &(time, value))| Reversal { index, time, value }).collect();
    gated(&all, gate)
}

fn gated(points: &[Reversal], gate: f64) -> Vec<Reversal> {
    let Some(&start) = points.first() else { return Vec::new() };
    let turns = |swing: f64| swing > 0.0 && swing >= gate;
    let mut kept = Vec::new();
    let mut course = Course::Unknown;
    let (mut low, mut high) = (start, start);
    for &point in points {
        match course {
            Course::Unknown => {
                if point.value < low.value {
                    low = point;
                }
                if point.value > high.value {
                    high = point;
                }
                if turns(high.value - low.value) {
                    if high.time >= low.time && high.index == point.index {
                        kept.push(low);
                        course = Course::Up;
                    } else {
                        kept.push(high);
                        course = Course::Down;
                    }
                }
            }
            Course::Up if point.value > high.value => high = point,
            Course::Up if turns(high.value - point.value) => {
                kept.push(high);
                low = point;
                course = Course::Down;
            }
            Course::Down if point.value < low.value => low = point,
            Course::Down if turns(point.value - low.value) => {
                kept.push(low);
                high = point;
                course = Course::Up;
            }
            Course::Up | Course::Down => {}
        }
    }
    match course {
        Course::Unknown => {}
        Course::Up => kept.push(high),
        Course::Down => kept.push(low),
    }
    kept
}

/// Counts the cycles of a history that runs once, from its turning points (ASTM E1049-85, 5.4.4): closed cycles count
/// 1, those that hold the beginning and the residue count 0.5.
pub fn count(turning: &[Reversal]) -> Vec<Counted> {
    let mut counted = Vec::new();
    let mut open: Vec<Reversal> = Vec::new();
    for &point in turning {
        open.push(point);
        while let [.., a, b, c] = open[..] {
            if (c.value - b.value).abs() < (b.value - a.value).abs() {
                break;
            }
            let holds_start = open.len() == 3;
            counted.push(Counted { first: a, second: b, count: if holds_start { 0.5 } else { 1.0 } });
            if holds_start {
                open.remove(0);
            } else {
                open.truncate(open.len() - 3);
                open.push(c);
            }
        }
    }
    counted.extend(open.windows(2).map(|w| Counted { first: w[0], second: w[1], count: 0.5 }));
    counted
}

/// Counts one repetition of a history of (time, value) that repeats (ASTM E1049-85, 5.4.5): it is read from its maximum
/// around to its maximum, so that all cycles are closed and count 1. The next repetition begins where the last point
/// ends; a step between the two counts as a swing.
pub fn count_repeating(points: &[(f64, f64)], gate: f64) -> Vec<Counted> {
    let (Some(start), Some(end)) = (points.first(), points.last()) else { return Vec::new() };
    let period = end.0 - start.0;
    let peak = (0..points.len()).fold(0, |best, i| if points[i].1 > points[best].1 { i } else { best });
    let place =
        |index: usize, later: f64| Reversal { index, time: points[index].0 + later, value: points[index].1 };
    let around: Vec<Reversal> =
        (peak..points.len()).map(|i| place(i, 0.0)).chain((0..=peak).map(|i| place(i, period))).collect();
    let mut counted = Vec::new();
    let mut open: Vec<Reversal> = Vec::new();
    for point in gated(&around, gate) {
        open.push(point);
        while let [.., a, b, c] = open[..] {
            if (c.value - b.value).abs() < (b.value - a.value).abs() {
                break;
            }
            counted.push(Counted { first: a, second: b, count: 1.0 });
            open.truncate(open.len() - 3);
            open.push(c);
        }
    }
    counted
}

/// How long a repeating history stays around a turning point within `band` of its value, at most one repetition; straight
/// lines between the points.
pub fn dwell(points: &[(f64, f64)], around: usize, band: f64) -> f64 {
    let n = points.len();
    let Some(&(_, value)) = points.get(around) else { return 0.0 };
    let period = points[n - 1].0 - points[0].0;
    let walk = |forward: bool| {
        let mut at = around;
        let mut time = 0.0;
        for _ in 0..n {
            let next = if forward { (at + 1) % n } else { (at + n - 1) % n };
            let step = if (forward && next == 0) || (!forward && at == 0) {
                0.0
            } else {
                (points[next].0 - points[at].0).abs()
            };
            let (from, to) = ((points[at].1 - value).abs(), (points[next].1 - value).abs());
            if to > band {
                return time + if to > from { step * (band - from) / (to - from) } else { 0.0 };
            }
            time += step;
            at = next;
        }
        time
    };
    (walk(true) + walk(false)).min(period)
}

/// Kinds of cycles that a record is put together to, at most.
const KINDS: usize = 120;

/// The steps of temperature, K, that the ends of a cycle fall into.
fn kind(one: &Counted, step: f64) -> (i64, i64) {
    let (low, high) = (one.first.value.min(one.second.value), one.first.value.max(one.second.value));
    ((low / step).floor() as i64, (high / step).ceil() as i64)
}

/// The cycles of a recorded and repeating temperature over the whole life, the widest first.
///
/// Cycles whose ends fall into the same steps of half a kelvin (or of half the gate, where that is more) are put together
/// with the lowest low, the highest high and the longest dwell among them, which errs to the safe side. A long and
/// restless record has more kinds than are worth a strain each: its steps are doubled until `KINDS` are left. The dwell is
/// the time within a tenth of the range from an end, averaged over both ends; the ramp is the rest of the time from end
/// to end.
pub fn mission_cycles(history: &History) -> Vec<Cycle> {
    let counted = count_repeating(&history.points, history.gate);
    let mut step = (0.5 * history.gate).max(0.5);
    let kinds = |step: f64| counted.iter().map(|one| kind(one, step)).collect::<BTreeSet<_>>().len();
    while kinds(step) > KINDS {
        step *= 2.0;
    }
    let mut groups: BTreeMap<(i64, i64), Cycle> = BTreeMap::new();
    for one in &counted {
        let (low, high) = (one.first.value.min(one.second.value), one.first.value.max(one.second.value));
        let band = 0.1 * one.range();
        let stay = 0.5
            * (dwell(&history.points, one.first.index, band)
                + dwell(&history.points, one.second.index, band));
        let ramp = (one.half_period() - stay).max(0.0);
        let group = groups.entry(kind(one, step)).or_insert_with(|| Cycle {
            name: history.name.clone(),
            low,
            high,
            lower_part: None,
            count: 0.0,
            dwell: Some(0.0),
            ramp: Some(0.0),
        });
        group.low = group.low.min(low);
        group.high = group.high.max(high);
        group.count += one.count * history.repeats;
        group.dwell = group.dwell.map(|d| d.max(stay));
        group.ramp = group.ramp.map(|r| r.max(ramp));
    }
    let mut cycles: Vec<Cycle> = groups.into_values().collect();
    for cycle in &mut cycles {
        let name = format!("{}, {:.0} to {:.0} degC", cycle.name, cycle.low - 273.15, cycle.high - 273.15);
        cycle.name = name;
    }
    cycles.sort_by(|a, b| (b.high - b.low).total_cmp(&(a.high - a.low)));
    cycles
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn series(values: &[f64]) -> Vec<(f64, f64)> {
        values.iter().enumerate().map(|(i, &v)| (i as f64, v)).collect()
    }

    fn totals(counted: &[Counted]) -> Vec<(f64, f64)> {
        let mut sums: BTreeMap<i64, f64> = BTreeMap::new();
        for one in counted {
            *sums.entry((one.range() * 1e6).round() as i64).or_default() += one.count;
        }
        sums.into_iter().map(|(range, count)| (range as f64 / 1e6, count)).collect()
    }

    #[test]
    fn the_residue_counts_as_half_cycles() {
        // ASTM E1049-85, figure 6.
        let points = series(&[-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]);
        let counted = count(&reversals(&points, 0.0));
        assert_eq!(totals(&counted), [(3.0, 0.5), (4.0, 1.5), (6.0, 0.5), (8.0, 1.0), (9.0, 0.5)]);
        let means: Vec<f64> = counted.iter().filter(|c| c.range() == 4.0).map(Counted::mean).collect();
        assert_eq!(means, [-1.0, 1.0]);
        assert_eq!(counted[2].half_period(), 1.0);
    }

    #[test]
    fn a_repeating_history_closes_every_cycle() {
        let points = series(&[-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]);
        let expected = [(3.0, 1.0), (4.0, 1.0), (7.0, 1.0), (9.0, 1.0)];
        assert_eq!(totals(&count_repeating(&points, 0.0)), expected);
        // Where the record begins makes no difference.
        let turned = series(&[-1.0, 3.0, -4.0, 4.0, -2.0, 1.0, -3.0, 5.0, -1.0]);
        assert_eq!(totals(&count_repeating(&turned, 0.0)), expected);
    }

    #[test]
    fn small_swings_do_not_pass_the_gate() {
        let points = series(&[0.0, 10.0, 9.0, 10.5, 0.0, 1.0, 0.5, 10.0, 0.0]);
        assert_eq!(totals(&count(&reversals(&points, 2.0))), [(10.0, 1.0), (10.5, 1.0)]);
        assert!(reversals(&series(&[1.0, 1.0, 1.0]), 0.0).is_empty());
        assert!(count_repeating(&[], 0.0).is_empty() && count_repeating(&series(&[1.0]), 0.0).is_empty());
    }

    #[test]
    fn dwells_are_measured_in_the_record() {
        // Hot for 100 s, cold for 50 s, ramps of 10 s: each dwell and a tenth of both ramps.
        let day = [(0.0, 300.0), (50.0, 300.0), (60.0, 400.0), (160.0, 400.0), (170.0, 300.0)];
        let history = History { name: "day".into(), points: day.to_vec(), repeats: 7.0, gate: 5.0 };
        let cycles = mission_cycles(&history);
        assert_eq!(cycles.len(), 1);
        assert_eq!((cycles[0].low, cycles[0].high, cycles[0].count), (300.0, 400.0, 7.0));
        assert!((cycles[0].dwell.unwrap() - 0.5 * (102.0 + 52.0)).abs() < 1e-9);
        assert_eq!(cycles[0].name, "day, 27 to 127 degC");
    }

    #[test]
    fn a_restless_record_is_put_together_to_a_bounded_number_of_kinds() {
        // Two tones that never meet: nearly every cycle has ends of its own.
        let points: Vec<(f64, f64)> = (0..20_000)
            .map(f64::from)
            .map(|t| (60.0 * t, 300.0 + 25.0 * (0.37 * t).sin() + 20.0 * (2.71 * t).sin()))
            .collect();
        let history = History { name: "sea".into(), points, repeats: 3.0, gate: 1.0 };
        let counted = count_repeating(&history.points, history.gate);
        let cycles = mission_cycles(&history);
        assert!(cycles.len() <= KINDS && counted.len() > 1000, "{} of {}", cycles.len(), counted.len());
        let count: f64 = cycles.iter().map(|c| c.count).sum();
        assert!((count - 3.0 * counted.len() as f64).abs() < 1e-6);
        let widest = counted.iter().map(Counted::range).fold(0.0, f64::max);
        assert!(cycles[0].high - cycles[0].low >= widest);
    }

    proptest! {
        #[test]
        fn half_cycles_and_turns_agree(values in prop::collection::vec(-100.0..100.0_f64, 2..60)) {
            let turning = reversals(&series(&values), 0.0);
            let halves: f64 = count(&turning).iter().map(|c| 2.0 * c.count).sum();
            prop_assert_eq!(halves as usize, turning.len().saturating_sub(1));
            for pair in turning.windows(3) {
                prop_assert!((pair[1].value - pair[0].value) * (pair[2].value - pair[1].value) < 0.0);
            }
        }

        #[test]
        fn a_repetition_counts_its_path(values in prop::collection::vec(-100.0..100.0_f64, 2..60), turn in 0..60usize) {
            // Twice the sum of the ranges is the way that the closed history goes up and down.
            let mut points = series(&values);
            points.push((values.len() as f64, values[0]));
            let way: f64 = points.windows(2).map(|w| (w[1].1 - w[0].1).abs()).sum();
            let counted = count_repeating(&points, 0.0);
            let sum: f64 = counted.iter().map(|c| 2.0 * c.count * c.range()).sum();
            prop_assert!((sum - way).abs() < 1e-9 * (1.0 + way));
            let most = counted.iter().map(Counted::range).fold(0.0, f64::max);
            let (low, high) = values.iter().fold((f64::MAX, f64::MIN), |(l, h), &v| (l.min(v), h.max(v)));
            prop_assert!((most - (high - low)).abs() < 1e-12);
            prop_assert!(counted.iter().all(|c| c.half_period() >= 0.0 && c.half_period() <= values.len() as f64));
            let mut turned: Vec<f64> = values.clone();
            turned.rotate_left(turn % values.len());
            turned.push(turned[0]);
            prop_assert_eq!(totals(&count_repeating(&series(&turned), 0.0)), totals(&counted));
        }

        #[test]
        fn nothing_below_the_gate_is_counted(values in prop::collection::vec(-100.0..100.0_f64, 2..60), gate in 0.1..150.0_f64) {
            let once = count(&reversals(&series(&values), gate));
            let again = count_repeating(&series(&values), gate);
            prop_assert!(once.iter().chain(&again).all(|c| c.range() >= gate));
        }
    }
}
