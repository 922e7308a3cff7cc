//! Fatigue of an array of joints over the mission: strain and life of every place, damage of every cycle, the first
//! failure of the array, and the worst joint through its worst cycle by every published law.
//!
//! The figure rests on the strain model of Engelmaier, which is cheap enough for every place and cycle. Its other
//! constants are run the same way. The models of creep strain and work need the joint integrated; they are run for the
//! worst joint in the cycle that damages it most, and their ratio to the strain model there is taken for all.

use crate::energy::{Kind, LONGEST, sources};
use crate::engelmaier::{self, Load};
use crate::joint::{Course, Effort, Elastic, Settled};
use crate::outcome::{AttachmentLife, CycleDamage, Loop, ModelLife};
use crate::problem::{Attachment, Cycle, Mission, Shadow, ShadowLimit};
use crate::strain::{Paths, course, range};
use crate::weibull::{Weibull, array_of_one_shape};

/// A value with the lowest and highest of all models.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Spread {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// Which models are run beside that of the values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Beside {
    All,
    /// The constants of the strain model alone, which cost nothing.
    None,
}

/// What fatigue of one attachment comes to.
pub(crate) struct Fatigue {
    pub life: AttachmentLife,
    /// Equivalent shear strain range of the worst joint in the cycle that damages it most.
    pub strain_range: Spread,
    /// Cycles of that kind to the failed share of the mission.
    pub cycles_to_failed: Spread,
    /// Damage of the worst joint over the mission against its median.
    pub damage: Spread,
    /// Characteristic life of the array, s.
    pub characteristic: Spread,
    pub array: Weibull,
    /// Characteristic life of the array at each limit of what lies above the joints, s.
    pub limits: Vec<(String, Spread)>,
    /// The limit that the values are taken at, where they would lie outside what the limits give.
    pub taken: Option<String>,
    /// The cycle that damages most.
    pub worst_cycle: Cycle,
    /// Sentences about what the models leave.
    pub outside: Vec<String>,
    /// Laws that gave nothing.
    pub failures: Vec<String>,
}

/// Time at each end of a cycle, s: as given, else half of the life over the count, at most 12 h.
pub(crate) fn dwell(cycle: &Cycle, mission: &Mission) -> f64 {
    let share = if cycle.count > 0.0 { 0.5 * mission.life / cycle.count } else { 43_200.0 };
    cycle.dwell.unwrap_or(share.min(43_200.0))
}

/// Time of a ramp, s: as given, else 10 min; at least one second.
pub(crate) fn ramp(cycle: &Cycle) -> f64 {
    cycle.ramp.unwrap_or(600.0).max(1.0)
}

/// Mean temperature of both parts over a cycle, K.
fn mean_temperature(cycle: &Cycle) -> f64 {
    let (low, high) = cycle.lower_part.unwrap_or((cycle.low, cycle.high));
    0.25 * (cycle.low + cycle.high + low + high)
}

/// What a cycle of that strain range does to a joint.
fn load(cycle: &Cycle, strain_range: f64, mission: &Mission) -> Load {
    Load { strain_range, mean_temperature: mean_temperature(cycle), dwell: dwell(cycle, mission) }
}

/// Lives of every place (in the order of the problem) in every cycle by one set of constants, and what they add up to.
struct Reckoned {
    /// Median cycles by cycle and place.
    cycles: Vec<Vec<f64>>,
    /// Damage by place.
    damage: Vec<f64>,
}

impl Reckoned {
    fn new(set: &engelmaier::Constants, cycles: &[Cycle], ranges: &[Vec<f64>], mission: &Mission) -> Self {
        let lives: Vec<Vec<f64>> = cycles
            .iter()
            .zip(ranges)
            .map(|(cycle, ranges)| {
                ranges.iter().map(|r| set.median_cycles(&load(cycle, *r, mission))).collect()
            })
            .collect();
        let places = ranges.first().map_or(0, Vec::len);
        let of = |p: usize| crate::miner::damage(cycles.iter().zip(&lives).map(|(c, n)| (c.count, n[p])));
        let damage = (0..places).map(of).collect();
        Reckoned { cycles: lives, damage }
    }

    /// The array over time, s.
    fn array(&self, a: &Attachment, life: f64) -> Option<Weibull> {
        first_failure(a, self.damage.iter().map(|d| if *d > 0.0 { life / d } else { LONGEST * life }))
    }
}

/// First failure of an array whose places have these medians.
fn first_failure(a: &Attachment, medians: impl Iterator<Item = f64>) -> Option<Weibull> {
    let shape = a.weibull_shape;
    let parts: Vec<(f64, f64)> = medians
        .zip(&a.places)
        .map(|(median, place)| (Weibull::of_median(median, shape).scale, place.count as f64))
        .collect();
    array_of_one_shape(shape, &parts)
}

/// The index of the largest value, the first of equals.
fn largest(values: impl Iterator<Item = f64>) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (i, v) in values.enumerate() {
        if best.is_none_or(|(_, b)| v > b) {
            best = Some((i, v));
        }
    }
    best.map(|(i, _)| i)
}

/// An attachment by the strain model alone: every place in every cycle by every set of its constants.
struct Strained<'a> {
    paths: Vec<Paths<'a>>,
    /// Strain ranges by cycle and place.
    ranges: Vec<Vec<f64>>,
    /// What comes of them, by set of constants; at least one.
    sets: Vec<Reckoned>,
    /// The place that is damaged most by the first set.
    place: usize,
    /// The cycle that damages it most.
    worst: usize,
}

impl<'a> Strained<'a> {
    /// Nothing where no cycle damages a joint.
    fn new(a: &'a Attachment, cycles: &[Cycle], mission: &Mission) -> Option<Strained<'a>> {
        let paths: Vec<Paths<'_>> =
            cycles.iter().map(|c| Paths::settled(a, c, ramp(c) + dwell(c, mission))).collect();
        let ranges: Vec<Vec<f64>> =
            paths.iter().map(|p| a.places.iter().map(|q| range(&p.at(q.distance))).collect()).collect();
        let constants = engelmaier::sets(a.alloy);
        let sets: Vec<Reckoned> =
            constants.iter().map(|set| Reckoned::new(set, cycles, &ranges, mission)).collect();
        let first = sets.first()?;
        let place = largest(first.damage.iter().copied())?;
        // Below this the life is beyond what the models tell apart.
        if first.damage[place] <= 1e-9 {
            return None;
        }
        let worst = largest(cycles.iter().zip(&first.cycles).map(|(c, n)| c.count / n[place]))?;
        Some(Strained { paths, ranges, sets, place, worst })
    }
}

/// The attachment at each limit of what lies above its joints, by name.
fn at_limits(a: &Attachment, cycles: &[Cycle], mission: &Mission, beside: Beside) -> Vec<(String, Fatigue)> {
    let Some(shadow) = &a.shadow else { return Vec::new() };
    let run = |limit: &ShadowLimit| {
        Some((limit.name.clone(), reckoned(&held(a, shadow, limit), cycles, mission, beside)?))
    };
    shadow.limits.iter().filter_map(run).collect()
}

impl Spread {
    /// The same value, with the spreads of the limits beside its own.
    fn spanning(self, limits: impl Iterator<Item = Spread>) -> Spread {
        limits.fold(self, |all, one| Spread {
            value: self.value,
            low: all.low.min(one.low),
            high: all.high.max(one.high),
        })
    }
}

/// Reckons an attachment over the cycles of a mission; nothing where no cycle strains it.
///
/// Between the limits of what lies above the joints its expansion may pass that of the other part: there the mismatch
/// vanishes, and a mean of the limits would live longer than either. Nobody knows the expansion so well that the joints
/// could be trusted to lie there, so that then the values are those of the limit that damages more.
pub(crate) fn fatigue(
    a: &Attachment,
    cycles: &[Cycle],
    mission: &Mission,
    beside: Beside,
) -> Option<Fatigue> {
    let between = reckoned(a, cycles, mission, beside)?;
    let mut all = at_limits(a, cycles, mission, beside);
    if all.is_empty() {
        return Some(between);
    }
    let limits: Vec<(String, Spread)> = all.iter().map(|l| (l.0.clone(), l.1.characteristic)).collect();
    // The worst joint and the whole array need not turn at the same expansion.
    let outlived = all.iter().all(|l| l.1.damage.value > between.damage.value)
        || all.iter().all(|l| l.1.characteristic.value < between.characteristic.value);
    let worst = largest(all.iter().map(|l| -l.1.characteristic.value)).filter(|_| outlived);
    let (taken, mut chosen) = match worst {
        Some(worst) => {
            let (name, limit) = all.remove(worst);
            all.push((String::new(), between));
            (Some(name), limit)
        }
        None => (None, between),
    };
    let others = |of: fn(&Fatigue) -> Spread| all.iter().map(move |l| of(&l.1));
    chosen.strain_range = chosen.strain_range.spanning(others(|f| f.strain_range));
    chosen.cycles_to_failed = chosen.cycles_to_failed.spanning(others(|f| f.cycles_to_failed));
    chosen.damage = chosen.damage.spanning(others(|f| f.damage));
    chosen.characteristic = chosen.characteristic.spanning(others(|f| f.characteristic));
    Some(Fatigue { limits, taken, ..chosen })
}

/// The attachment with what lies above its joints at one limit.
fn held(a: &Attachment, shadow: &Shadow, limit: &ShadowLimit) -> Attachment {
    let above = Shadow { expansion: limit.expansion.clone(), limits: Vec::new(), ..shadow.clone() };
    Attachment { shadow: Some(above), ..a.clone() }
}

/// An attachment with what lies above its joints as it is given, its limits left out.
fn reckoned(a: &Attachment, cycles: &[Cycle], mission: &Mission, beside: Beside) -> Option<Fatigue> {
    let cycles: Vec<Cycle> = cycles.iter().filter(|c| c.count > 0.0 && c.high > c.low).cloned().collect();
    let sets = engelmaier::sets(a.alloy);
    let Strained { paths, ranges, sets: all, place, worst } = Strained::new(a, &cycles, mission)?;
    let first = all.first()?;
    let mut damage: Vec<CycleDamage> = cycles
        .iter()
        .enumerate()
        .map(|(i, c)| {
            let n = first.cycles[i][place];
            CycleDamage {
                cycle: c.name.clone(),
                between_k: (c.low, c.high),
                count: c.count,
                strain_range: ranges[i][place],
                median_cycles: n,
                damage: c.count / n,
            }
        })
        .collect();
    damage.sort_by(|a, b| b.damage.total_cmp(&a.damage));
    let array = first.array(a, mission.life)?;

    let mut models: Vec<ModelLife> = sets
        .iter()
        .zip(&all)
        .map(|(set, one)| ModelLife {
            model: set.name.into(),
            cycles: one.cycles[worst][place],
            kind: Kind::Median.words().into(),
        })
        .collect();
    let run = match beside {
        Beside::All => integrate(a, &cycles[worst], &paths[worst], place, mission),
        Beside::None => Run { loops: Vec::new(), lives: Vec::new(), failures: Vec::new() },
    };
    let median = first.cycles[worst][place];
    let mut ratios = Vec::new();
    for (name, cycles, kind) in run.lives {
        let own = kind.median(cycles, a.weibull_shape);
        if own < LONGEST {
            ratios.push(own / median);
        }
        models.push(ModelLife { model: name.into(), cycles, kind: kind.words().into() });
    }

    let in_worst = |one: &Reckoned| {
        first_failure(a, one.cycles[worst].iter().copied()).map(|w| w.quantile(mission.failed))
    };
    let to_failed = in_worst(first)?;
    let over = |value: f64, by_set: Vec<f64>, scaled: &dyn Fn(f64) -> f64| {
        let every = by_set.into_iter().chain(ratios.iter().map(|r| scaled(*r))).filter(|v| v.is_finite());
        let (low, high) = every.fold((value, value), |(l, h), v| (l.min(v), h.max(v)));
        Spread { value, low, high }
    };
    let cycles_to_failed = over(to_failed, all.iter().filter_map(in_worst).collect(), &|r| to_failed * r);
    let own = first.damage[place];
    let most = |one: &Reckoned| one.damage.iter().copied().fold(0.0, f64::max);
    let total = over(own, all.iter().map(most).collect(), &|r| own / r);
    let arrays = all.iter().filter_map(|one| one.array(a, mission.life)).map(|w| w.scale).collect();
    let characteristic = over(array.scale, arrays, &|r| array.scale * r);
    let strain = ranges[worst][place];
    let strain_range = Spread { value: strain, low: strain, high: strain };

    let worst_cycle = cycles[worst].clone();
    let outside = outside(a, &cycles, &worst_cycle, &load(&worst_cycle, strain, mission));
    Some(Fatigue {
        strain_range,
        limits: Vec::new(),
        taken: None,
        outside,
        life: AttachmentLife {
            worst_place: a.places[place].name.clone(),
            damage,
            distribution: curve(&array),
            weibull_shape: array.shape,
            characteristic_life_s: array.scale,
            loops: run.loops,
            models,
            place_cycles: first.cycles[worst].clone(),
        },
        cycles_to_failed,
        damage: total,
        characteristic,
        array,
        worst_cycle,
        failures: run.failures,
    })
}

/// Time and share failed from one in ten thousand to 99 %, evenly on the Weibull plot.
fn curve(array: &Weibull) -> Vec<(f64, f64)> {
    let (first, last) = (array.quantile(1e-4), array.quantile(0.99));
    const POINTS: usize = 60;
    (0..=POINTS)
        .map(|i| {
            let t = first * (last / first).powf(i as f64 / POINTS as f64);
            (t, array.failed(t))
        })
        .collect()
}

/// The worst joint through the worst cycle by every law of its alloy.
struct Run {
    loops: Vec<Loop>,
    lives: Vec<(&'static str, f64, Kind)>,
    failures: Vec<String>,
}

fn integrate(a: &Attachment, cycle: &Cycle, paths: &Paths<'_>, place: usize, mission: &Mission) -> Run {
    let dwell = dwell(cycle, mission);
    let mut path = course(&paths.at(a.places[place].distance));
    let compliance = if a.underfill.is_some() {
        // The whole joint is driven; the law tells what its solder takes.
        let (compliance, driven) = paths.series();
        path.iter_mut().for_each(|point| point.1 *= driven);
        compliance
    } else {
        let area = 0.25 * std::f64::consts::PI * a.interface_diameter * a.interface_diameter;
        a.stiffness.map_or(0.0, |stiffness| area / (stiffness * a.solder_height))
    };
    let course = Course { path, ramp: ramp(cycle), hot_dwell: dwell, cold_dwell: dwell };
    let elastic = Elastic::Shear { compliance };
    let mut run = Run { loops: Vec::new(), lives: Vec::new(), failures: Vec::new() };
    for source in sources(a.alloy) {
        match source.lives(elastic, &course, &Effort::USUAL, a.interface_diameter) {
            Ok((settled, lives)) => {
                if settled.settled {
                    run.lives.extend(lives.into_iter().map(|(m, n)| (m.name, n, m.kind)));
                } else if !lives.is_empty() {
                    let cycles = settled.cycles;
                    run.failures.push(format!(
                        "{} does not settle within {cycles} cycles: its loop is the last of them, and no life is read from \
                         it.",
                        source.law().name()
                    ));
                }
                run.loops.push(drawn(source.law().name(), &settled));
            }
            Err(why) => run.failures.push(format!("{} gives nothing: {why}.", source.law().name())),
        }
    }
    run
}

/// The loop in shear, at most a few hundred points.
fn drawn(law: &str, settled: &Settled) -> Loop {
    let root = 3.0_f64.sqrt();
    let every = settled.points.len().div_ceil(300).max(1);
    let last = settled.points.len() - 1;
    let points = settled
        .points
        .iter()
        .enumerate()
        .filter(|(i, _)| i % every == 0 || *i == last)
        .map(|(_, p)| (p[2] * root, p[3] / root))
        .collect();
    Loop {
        law: law.into(),
        points,
        work_density: settled.work,
        inelastic_strain: settled.inelastic,
        cycles: settled.cycles,
        settled: settled.settled,
    }
}

fn outside(a: &Attachment, cycles: &[Cycle], worst: &Cycle, load: &Load) -> Vec<String> {
    let mut said: Vec<String> =
        engelmaier::outside(a.alloy, load, worst.low, worst.high).into_iter().collect();
    let median = engelmaier::sets(a.alloy)[0].median_cycles(load);
    if median > 1e6 {
        said.push(format!(
            "A median of {median:.1e} cycles lies beyond the tests that the models were fitted to."
        ));
    }
    if !(0.5..=1.5).contains(&a.strain_factor) && a.underfill.is_none() {
        said.push(format!("A strain factor of {} lies outside 0.5 to 1.5.", a.strain_factor));
    }
    if let Some(u) = &a.underfill {
        said.push(
            "The life models were fitted to joints without underfill; in underfill they rank designs.".into(),
        );
        if let Some(glass) = u.glass_transition
            && let Some(c) = cycles.iter().find(|c| c.high > glass)
        {
            said.push(format!(
                "Cycle {} reaches {:.0} degC, above the glass transition of the underfill at {:.0} degC, where another \
                 kind of damage acts.",
                c.name,
                c.high - 273.15,
                glass - 273.15
            ));
        }
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen;

    #[test]
    fn left_out_times_follow_the_count() {
        let mission = Mission { life: 1e6, ..specimen::outdoors().mission };
        let often = specimen::cycle("often", 0.0, 50.0, 1000.0);
        assert_eq!((dwell(&often, &mission), ramp(&often)), (500.0, 600.0));
        let seldom = Cycle { count: 2.0, ..often.clone() };
        assert_eq!(dwell(&seldom, &mission), 43_200.0);
        let given = Cycle { dwell: Some(7.0), ramp: Some(0.0), ..often };
        assert_eq!((dwell(&given, &mission), ramp(&given)), (7.0, 1.0));
        let never = Cycle { count: 0.0, ..seldom };
        assert_eq!(dwell(&never, &mission), 43_200.0);
    }

    #[test]
    fn the_secant_is_near_what_the_law_settles_to() {
        let mission = specimen::outdoors().mission;
        for (low, high) in [(-10.0, 95.0), (0.0, 100.0), (20.0, 60.0)] {
            for (height, share) in [(30e-6, 0.2), (12e-6, 0.25)] {
                let mut a = specimen::bumps();
                (a.solder_height, a.joint_share, a.stiffness) = (height, share, Some(4e5));
                let cycle = Cycle {
                    dwell: Some(1800.0),
                    ramp: Some(600.0),
                    ..specimen::cycle("one", low, high, 100.0)
                };
                let paths = Paths::settled(&a, &cycle, 2400.0);
                let (compliance, _) = paths.series();
                let run = integrate(&a, &cycle, &paths, 0, &mission);
                let solder = run.loops[0].points.iter().map(|(strain, stress)| strain - compliance * stress);
                let (least, most) =
                    solder.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), s| (l.min(s), m.max(s)));
                let found = range(&paths.at(a.places[0].distance));
                let ratio = found / (most - least);
                assert!((0.8..1.3).contains(&ratio), "{low} to {high}, {height} m: {ratio}");
            }
        }
    }

    #[test]
    fn an_expansion_between_limits_spans_what_each_of_them_gives() {
        let outdoors = specimen::outdoors().mission;
        let mut a = specimen::balls();
        let with = |a: &Attachment, ppm: f64| {
            let mut one = a.clone();
            if let Some(shadow) = one.shadow.as_mut() {
                shadow.expansion = vec![(300.0, ppm * 1e-6)];
            }
            one
        };
        let own = fatigue(&a, &outdoors.cycles, &outdoors, Beside::All).unwrap();
        assert!(own.limits.is_empty() && own.strain_range.low == own.strain_range.high);
        let ppms = [3.0, 25.0];
        let ends = ppms.map(|ppm| fatigue(&with(&a, ppm), &outdoors.cycles, &outdoors, Beside::All).unwrap());
        let limits = ppms
            .map(|ppm| ShadowLimit { name: format!("{ppm} ppm/K"), expansion: vec![(300.0, ppm * 1e-6)] });
        a.shadow.as_mut().unwrap().limits = limits.to_vec();
        let both = fatigue(&a, &outdoors.cycles, &outdoors, Beside::All).unwrap();
        let span = |of: &dyn Fn(&Fatigue) -> Spread| {
            let all = || ends.iter().chain([&own]).map(of);
            let low = all().map(|s| s.low).fold(f64::INFINITY, f64::min);
            let high = all().map(|s| s.high).fold(f64::NEG_INFINITY, f64::max);
            Spread { value: of(&own).value, low, high }
        };
        assert_eq!(both.strain_range, span(&|f| f.strain_range));
        assert_eq!(both.cycles_to_failed, span(&|f| f.cycles_to_failed));
        assert_eq!(both.characteristic, span(&|f| f.characteristic));
        assert_eq!(both.damage, span(&|f| f.damage));
        assert!(both.characteristic.low < own.characteristic.low);
        // A value between limits that live shorter is not believed: that of the worse limit counts, and the long life stays
        // the upper end of the span.
        let lives = ends.each_ref().map(|e| e.characteristic.value);
        let worse = if lives[0] < lives[1] { 0 } else { 1 };
        let mut taken = 0;
        for ppm in 3..=25 {
            let mut plain = with(&a, f64::from(ppm));
            let found = fatigue(&plain, &outdoors.cycles, &outdoors, Beside::All).unwrap();
            plain.shadow.as_mut().unwrap().limits.clear();
            let own = fatigue(&plain, &outdoors.cycles, &outdoors, Beside::All).unwrap();
            let (least, most) = (lives[0].min(lives[1]), lives[0].max(lives[1]));
            let value = found.characteristic.value;
            if own.characteristic.value > most {
                taken += 1;
                assert_eq!(found.taken.as_deref(), Some(limits[worse].name.as_str()), "{ppm}");
                assert_eq!(value, ends[worse].characteristic.value, "{ppm}");
                assert!(found.characteristic.high >= own.characteristic.high, "{ppm}");
            } else if found.taken.is_none() {
                assert_eq!(value, own.characteristic.value, "{ppm}");
            }
            assert!(least * (1.0 - 1e-12) <= value && value <= most * (1.0 + 1e-12), "{ppm}: {value}");
        }
        assert!(taken > 3 && taken < 22, "{taken}");
    }

    #[test]
    fn cycles_without_count_or_swing_do_nothing() {
        let mission = specimen::outdoors().mission;
        let cycles = [specimen::cycle("never", 0.0, 100.0, 0.0), specimen::cycle("flat", 50.0, 50.0, 1e6)];
        assert!(fatigue(&specimen::balls(), &cycles, &mission, Beside::All).is_none());
    }
}
