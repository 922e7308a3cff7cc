//! From the problem to the outcome: checks the input, takes the steps in the order of the work, and judges.

use crate::cure::{Chemoviscosity, Course, History, Kinetics, Melt};
use crate::faces::{self, Faces};
use crate::filling::{self, Moment};
use crate::flow::cells::Permeability;
use crate::flow::patterns::{self, Scaled};
use crate::flow::permeability::Cell;
use crate::flow::plates::Gap;
use crate::flow::pressure::Bump;
use crate::flow::regions::Regions;
use crate::flow::{Medium, race};
use crate::front::{Clock, Going};
use crate::outcome::{CurePoint, FrontPoint, Outcome};
use crate::problem::{BumpShape, Edge, Face, Pattern, Problem};
use crate::{recipe, report, volume};
use facedown_field::NoConvergence;

/// Activation energy of an uncured silica-filled epoxy's viscosity where none is given, J/mol: the usual fall by about a hundred
/// from 25 to 100 degC (common practice, no source).
pub const ACTIVATION: f64 = 55e3;
/// Starting values of the cure: seconds to gel at 150 degC (5 to 20 min, common practice) and activation energy, J/mol (72 to 95
/// kJ/mol were published for epoxies: Cheng et al. 1994, and others). Mean, low, high.
pub const STARTING: [(f64, f64); 3] = [(600.0, 75e3), (300.0, 65e3), (1200.0, 95e3)];
/// Points of the curves.
const POINTS: usize = 41;

/// Why a problem has no outcome.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A number that cannot be.
    #[error("{what} is {value}; allowed is {allowed}. Correct the input that it comes from.")]
    NotPhysical {
        /// What.
        what: String,
        /// Its value in SI.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// A face without any angle.
    #[error(
        "no contact angle is known on the {face}; state the angle of the underfill there, give readings with two liquids, or give the \
         material a contact angle"
    )]
    NoAngle {
        /// Face in words.
        face: &'static str,
    },
    /// Bumps as wide as their pitch.
    #[error(
        "bumps of {diameter_um:.1} um at a pitch of {pitch_um:.1} um touch; allowed are bumps below their pitch"
    )]
    BumpsTouch {
        /// Diameter, um.
        diameter_um: f64,
        /// Pitch, um.
        pitch_um: f64,
    },
    /// A sphere that is lower than the gap.
    #[error(
        "a joint of {diameter_um:.1} um cannot span a gap of {gap_um:.1} um; allowed is a gap up to the diameter, or a pillar instead \
         of a sphere"
    )]
    LowSphere {
        /// Diameter, um.
        diameter_um: f64,
        /// Gap, um.
        gap_um: f64,
    },
    /// More bumps than the die has room for.
    #[error(
        "{count} bumps take more than the gap under the die has; check their number, diameter and the size of the die"
    )]
    TooManyBumps {
        /// Number.
        count: usize,
    },
    /// Whoever asked wants it no more.
    #[error("stopped before the gap was filled")]
    Stopped,
    /// A numerical method that did not end.
    #[error(
        "the {what} could not be followed: {reason}. Check its constants: rates that differ by many orders cause this."
    )]
    Numeric {
        /// What.
        what: &'static str,
        /// Why.
        reason: NoConvergence,
    },
}

/// Everything between input and figures.
pub(crate) struct Work<'a> {
    pub problem: &'a Problem,
    pub faces: Faces,
    /// What the bumps resist; none for a bare gap.
    pub resistance: Option<Permeability>,
    /// Least pressure at a row, Pa.
    pub least_pa: Option<f64>,
    pub rim: Medium,
    pub field: Medium,
    /// Length away from the first line and along it, m.
    pub sides: (f64, f64),
    pub viscosity: f64,
    pub gap_volume: f64,
    pub fillet_volume: f64,
    pub fillet: (f64, f64),
    pub dispensed: f64,
    /// Pass volume that the offset allows, m3.
    pub most_a_pass: Option<f64>,
    /// Fluidity time to fill, 1/Pa.
    pub fluidity: Option<f64>,
    /// The same without bumps.
    pub fluidity_bare: Option<f64>,
    pub fill: Fill,
    /// Gel times at the flow temperature: middle, low, high (the same three for given kinetics).
    pub gel: [Option<f64>; 3],
    pub air: Option<Air>,
    pub degree: [f64; 3],
    pub gel_temperature: Option<f64>,
    /// Fluidity time over time while it flows.
    pub clock: Clock,
    /// Angles over the die that were read.
    pub maps: &'a [crate::measured::FaceMap],
    /// What shear does to the flow.
    pub sheared: Option<crate::shear::Sheared>,
    /// The cleaning step on each face whose readings show it.
    pub cleaning: Vec<crate::cleaning::Cleaning>,
}

/// What became of the front.
pub(crate) enum Fill {
    /// Full after a time, s, of which the front waited for passes, s.
    Full { time: f64, waited: f64 },
    /// Not drawn in.
    NoDrive { pressure: f64, between_bumps: bool },
    /// Gelled with a share filled.
    Gels { share: f64 },
    /// Not enough underfill.
    Short { share: f64 },
}

/// Trapped air by the race of the rim: shares of the die's area by estimate and bound, and the lead, m.
pub(crate) struct Air {
    pub estimate: f64,
    pub bound: f64,
    pub lead: f64,
    pub race: race::Race,
    pub distance: f64,
}

/// Judges a problem: figures, limits, notes, process sheet and curves.
///
/// # Errors
/// [`Refusal`] for input that is not physical or incomplete. A gap that does not fill is an outcome.
pub fn solve(problem: &Problem) -> Result<Outcome, Refusal> {
    solve_while(problem, &|| true)
}

/// The same as long as it is to go on, which is asked before every step of the front.
///
/// # Errors
/// As [`solve`], and [`Refusal::Stopped`].
pub fn solve_while(problem: &Problem, going: &Going<'_>) -> Result<Outcome, Refusal> {
    crate::limits::check(problem)?;
    let found = crate::measured::read(problem);
    let with_drops;
    let problem = if found.readings.is_empty() {
        problem
    } else {
        let readings = problem.readings.iter().chain(&found.readings).cloned().collect();
        with_drops = Problem { readings, ..problem.clone() };
        &with_drops
    };
    let mut faces = faces::judge(problem, &found.own)?;
    faces.notes.extend(found.notes.iter().cloned());

    let gap = Gap {
        gap_m: problem.gap_m,
        tension_n_m: problem.liquid.surface_tension_n_m,
        angles_rad: [faces.angle(Face::Die), faces.angle(Face::Substrate)],
    };
    let rim = Medium { permeability_m2: gap.gap_m.powi(2) / 12.0, free: 1.0, pressure_pa: gap.pressure() };
    let bump = problem.bumps.map(|b| Bump {
        cell: Cell { lattice: b.lattice, pitch_m: b.pitch_m, diameter_m: b.diameter_m, gap_m: problem.gap_m },
        shape: b.shape,
    });
    let (mut field, mut resistance, mut least_pa, mut bump_volume) = (rim, None, None, 0.0);
    if let (Some(bump), Some(b)) = (bump, problem.bumps) {
        let low = Refusal::LowSphere { diameter_um: b.diameter_m * 1e6, gap_um: problem.gap_m * 1e6 };
        let through = bump.permeability().ok_or(low.clone())?;
        let one = bump.volume().ok_or(low.clone())?;
        bump_volume = one * b.count as f64;
        let angle = faces.angle(Face::Bump);
        field = Medium {
            permeability_m2: through.solved_m2,
            free: 1.0 - one / (bump.cell.area() * problem.gap_m),
            pressure_pa: bump.mean_pressure(gap, angle).ok_or(low)?,
        };
        least_pa = Some(bump.least_pressure(gap, angle));
        resistance = Some(through);
    }
    let die = problem.die;
    let gap_volume = die.width_m * die.height_m * problem.gap_m - bump_volume;
    if gap_volume <= 0.0 {
        return Err(Refusal::TooManyBumps { count: problem.bumps.map_or(0, |b| b.count) });
    }

    // The first line lies along `along`; the front goes `across`.
    let along_x = match problem.dispense.edge {
        Some(Edge::Bottom | Edge::Top) => true,
        Some(Edge::Left | Edge::Right) => false,
        None => die.width_m >= die.height_m,
    };
    let covered = problem
        .bumps
        .map_or((0.0, 0.0), |b| (b.covered_width_m.min(die.width_m), b.covered_height_m.min(die.height_m)));
    let turned = |x: f64, y: f64| if along_x { (y, x) } else { (x, y) };
    let sides = turned(die.width_m, die.height_m);
    let covered = turned(covered.0, covered.1);
    let rims = (0.5 * (sides.0 - covered.0), 0.5 * (sides.1 - covered.1));
    let way = if problem.dispense.pattern == Pattern::TwoLines { 0.5 * sides.0 } else { sides.0 };
    let stated = stated_viscosity(problem);
    let sheared = crate::shear::sheared(problem, gap, stated, way);
    let with_shear;
    let problem = match &sheared {
        Some(sheared) => {
            with_shear = sheared.apparent(problem);
            &with_shear
        }
        None => problem,
    };
    let series = |rim_m: f64, covered: f64| match problem.bumps {
        Some(_) => Regions(vec![(rim, rim_m), (field, covered), (rim, rim_m)]),
        None => Regions(vec![(rim, 2.0 * rim_m)]),
    };
    let pattern = problem.dispense.pattern;
    let across = match pattern {
        Pattern::TwoLines => Regions(match problem.bumps {
            Some(_) => vec![(rim, rims.0), (field, 0.5 * covered.0)],
            None => vec![(rim, 0.5 * sides.0)],
        }),
        _ => series(rims.0, covered.0),
    };
    let along = series(rims.1, covered.1);
    let (fluidity, progress) = front(pattern, &across, &along);
    let bare = Regions(vec![(rim, across.length())]);
    let bare_along = Regions(vec![(rim, sides.1)]);
    let fluidity_bare = front(pattern, &bare, &bare_along).0;

    // Volume.
    let wanted = problem.fillet.map_or_else(
        || {
            let height = 0.6 * die.thickness_m;
            (height, height.clamp(0.3e-3, 1e-3))
        },
        |f| (f.height_m, f.width_m),
    );
    let perimeter = 2.0 * (die.width_m + die.height_m);
    let (dispensed, fillet) = match problem.dispense.volume_m3 {
        None => (gap_volume + volume::fillet_volume(perimeter, wanted.1, wanted.0), wanted),
        Some(given) => {
            let ratio = wanted.1 / wanted.0;
            let height = volume::fillet_height(perimeter, ratio, given - gap_volume);
            (given, (height, ratio * height))
        }
    };
    let lines = match pattern {
        Pattern::Line => sides.1,
        Pattern::TwoLines => 2.0 * sides.1,
        Pattern::L => sides.0 + sides.1,
        Pattern::U => sides.1 + 2.0 * sides.0,
    };
    let most_a_pass = problem.dispense.offset_m.map(|offset| volume::pass_volume(offset, lines));

    // Cure and fluidity time while it flows, for the middle, low and high kinetics.
    let melt = melt(problem);
    let growth = problem.liquid.chemoviscosity.unwrap_or(Chemoviscosity::STARTING);
    let kinetics: Vec<Kinetics> = match problem.liquid.kinetics {
        Some(k) => vec![k],
        None => STARTING.iter().map(|&(gel, energy)| Kinetics::starting(gel, energy)).collect(),
    };
    let flow_k = problem.dispense.temperature_k;
    let while_flowing = match problem.dispense.heating {
        Some((from, rate)) => History::steps(from, [((flow_k - from) / rate, flow_k, 0.0)]),
        None => History::constant(flow_k),
    };
    let cure = History::steps(flow_k, problem.cure.iter().map(|s| (s.ramp_s, s.temperature_k, s.hold_s)));
    let follow = |k: Kinetics, history: &History| {
        Course::follow(k, growth, melt, history).map_err(|reason| Refusal::Numeric { what: "cure", reason })
    };
    let flows = kinetics.iter().map(|k| follow(*k, &while_flowing)).collect::<Result<Vec<_>, _>>()?;
    let all = |values: Vec<Option<f64>>| match values[..] {
        [a, b, c] => [a, b, c],
        _ => [values[0]; 3],
    };
    let gel = all(flows.iter().map(Course::gel_time).collect());

    // The front in time.
    let passes = Passes {
        count: problem.dispense.passes,
        wait_s: problem.dispense.wait_s,
        of_gap: dispensed / (f64::from(problem.dispense.passes) * gap_volume),
    };
    let mut curve = Vec::new();
    let fill = match fluidity {
        None => {
            let between_bumps = rim.pressure_pa > 0.0;
            let pressure = if between_bumps { field.pressure_pa } else { rim.pressure_pa };
            Fill::NoDrive { pressure, between_bumps }
        }
        Some(whole) => {
            let straight = matches!(pattern, Pattern::Line | Pattern::TwoLines).then_some(&across);
            passes.run(&flows[0], whole, &progress, straight, &mut curve)
        }
    };

    // From the end of the flow through the cure.
    let flowed = match fill {
        Fill::Full { time, .. } => time,
        _ => 0.0,
    };
    let mut degrees = Vec::new();
    let (mut points, mut gel_temperature) = (Vec::new(), None);
    for (i, (k, flow)) in kinetics.iter().zip(&flows).enumerate() {
        let start = flow.degree(flowed).clamp(k.start, 1.0);
        let course = follow(Kinetics { start, ..*k }, &cure)?;
        degrees.push(Some(course.degree(cure.end()).clamp(0.0, 1.0)));
        if i == 0 {
            gel_temperature = course.gel_time().filter(|t| *t <= cure.end()).map(|t| cure.at(t));
            points.extend((0..POINTS).map(|i| {
                let time_s = cure.end() * i as f64 / (POINTS - 1) as f64;
                let degree = course.degree(time_s).clamp(0.0, 1.0);
                CurePoint { time_s, temperature_k: cure.at(time_s), degree }
            }));
        }
    }
    let degree = all(degrees).map(|d| d.unwrap_or(0.0));

    let air = matches!(fill, Fill::Full { .. }).then(|| air(problem, (sides, rims), (rim, field), &progress));
    let work = Work {
        problem,
        resistance,
        least_pa,
        rim,
        field,
        sides,
        viscosity: melt.viscosity(flow_k),
        gap_volume,
        fillet_volume: dispensed - gap_volume,
        fillet,
        dispensed,
        most_a_pass,
        fluidity,
        fluidity_bare,
        fill,
        gel,
        air,
        degree,
        gel_temperature,
        clock: filling::task::clock(&flows[0]),
        maps: &found.shown.maps,
        sheared,
        cleaning: crate::cleaning::judge(problem, &found),
        faces,
    };
    let (mut figures, mut limits, mut notes, advice) = report::write(&work);
    let (mut filling, mut untreated, mut fillets) = (None, None, None);
    if let Some(fineness) = problem.fineness {
        if !problem.residues.is_empty() && problem.plasma.is_some() {
            untreated = filling::fill(&work, fineness, Moment::Untreated, going).ok();
        }
        match filling::fill(&work, fineness, Moment::Dispense, going) {
            Ok(found) => {
                filling::write::write(&work, &found, &mut figures, &mut limits, &mut notes);
                fillets = filling::fillets::stand(&work, &found, &mut notes);
                if let Some(fillets) = &fillets {
                    filling::fillets::write(fillets, &mut figures, &mut limits);
                }
                filling = Some(found);
            }
            Err(crate::front::Refusal::Stopped) => return Err(Refusal::Stopped),
            Err(reason) => notes.push(format!(
                "The front on the bump map is not followed: {reason}. The closed forms stand in its place."
            )),
        }
    }
    if !going() {
        return Err(Refusal::Stopped);
    }
    let plan = crate::planning::plan(&work, &found, &mut figures, &mut notes);
    let full = match (&filling, &work.fill) {
        (Some(found), _) => found.fill_time_s,
        (None, Fill::Full { time, .. }) => Some(*time),
        (None, _) => None,
    };
    let void_area_fraction = match &filling {
        Some(found) => found.fill_time_s.map(|_| found.void_area_fraction),
        None => report::void_share(&work).map(|v| v.0),
    };
    if let Some(found) = &filling {
        curve.clone_from(&found.course);
    }
    Ok(Outcome {
        figures,
        limits,
        notes,
        advice,
        sheet: recipe::sheet(&work, full),
        fills: full.is_some(),
        fill_time_s: full,
        gel_time_s: work.gel[0],
        gel_temperature_k: work.gel_temperature,
        cure_degree: work.degree[0],
        volume_m3: work.dispensed,
        gap_m: problem.gap_m,
        gap_volume_m3: work.gap_volume,
        fillet_height_m: fillets
            .as_ref()
            .map_or(work.fillet.0, |f| f.sides.iter().map(|s| s.height_m).fold(f64::INFINITY, f64::min)),
        fillet_width_m: fillets
            .as_ref()
            .map_or(work.fillet.1, |f| f.sides.iter().map(|s| s.width_m).fold(0.0, f64::max)),
        fillets,
        void_area_fraction,
        driving_pressure_pa: work.field.pressure_pa,
        permeability_m2: work.field.permeability_m2,
        angles: work.faces.angles,
        surface_energies: work.faces.energies,
        front: curve,
        cure: points,
        filling,
        untreated,
        plan,
        cleaning: work.cleaning,
        measured: found.shown.clone(),
    })
}

fn melt(problem: &Problem) -> Melt<'_> {
    Melt {
        points: &problem.liquid.viscosity,
        energy_j_mol: problem.liquid.activation_j_mol.unwrap_or(ACTIVATION),
    }
}

/// Viscosity at the flow temperature before cure, at the shear rate of its reading, Pa s.
fn stated_viscosity(problem: &Problem) -> f64 {
    melt(problem).viscosity(problem.dispense.temperature_k)
}

/// Fluidity time to fill and the progress (fluidity time over it, share of the volume).
fn front(pattern: Pattern, across: &Regions, along: &Regions) -> (Option<f64>, Vec<(f64, f64)>) {
    match pattern {
        Pattern::Line | Pattern::TwoLines => {
            let length = across.length();
            let Some(whole) = across.fluidity_to(length) else { return (None, Vec::new()) };
            let progress = (0..POINTS)
                .map(|i| {
                    let x = length * i as f64 / (POINTS - 1) as f64;
                    let time =
                        if i + 1 == POINTS { 1.0 } else { across.fluidity_to(x).unwrap_or(0.0) / whole };
                    (time, across.share_to(x))
                })
                .collect();
            (Some(whole), progress)
        }
        Pattern::L | Pattern::U => {
            let (Some(dx), Some(dy)) = (across.mean_mobility(), along.mean_mobility()) else {
                return (None, Vec::new());
            };
            let sides = Scaled { across: across.length() / dx.sqrt(), along: along.length() / dy.sqrt() };
            (Some(patterns::fluidity(pattern, sides)), patterns::progress(pattern, sides, 21))
        }
    }
}

/// Passes of equal volume.
struct Passes {
    count: u32,
    wait_s: f64,
    /// Volume of one pass over that of the gap.
    of_gap: f64,
}

impl Passes {
    /// Times the front: it stands still where a pass is used up before the next one comes.
    fn run(
        &self,
        course: &Course,
        whole: f64,
        progress: &[(f64, f64)],
        straight: Option<&Regions>,
        curve: &mut Vec<FrontPoint>,
    ) -> Fill {
        let position = |share: f64, time: f64| {
            straight.map(|regions| {
                // The share of a progress point belongs to an even position.
                let i = patterns::share_at(progress, time);
                debug_assert!((i - share).abs() < 1e-6);
                let places: Vec<(f64, f64)> = progress
                    .iter()
                    .enumerate()
                    .map(|(k, p)| (p.1, regions.length() * k as f64 / (progress.len() - 1) as f64))
                    .collect();
                patterns::share_at(&places, share)
            })
        };
        let (mut time, mut done, mut waited) = (0.0_f64, 0.0, 0.0);
        for pass in 1..=self.count {
            let start = if pass == 1 { 0.0 } else { time.max(f64::from(pass - 1) * self.wait_s) };
            if start > time {
                waited += start - time;
                let share = patterns::share_at(progress, done);
                curve.push(FrontPoint {
                    time_s: start,
                    filled: share,
                    position_m: position(share, done),
                    pockets: 0,
                });
            }
            let share = f64::from(pass) * self.of_gap;
            // Rounding must not leave the last drop out.
            let target = if share >= 1.0 - 1e-9 { 1.0 } else { patterns::time_at(progress, share) };
            let base = course.fluidity_time(start);
            let first = curve.is_empty();
            for &(t, s) in progress.iter().filter(|p| (p.0 > done || first) && p.0 < target) {
                let Some(at) = course.time_of_fluidity(base + (t - done) * whole) else {
                    return Fill::Gels { share: gelled(course, base, done, whole, progress) };
                };
                curve.push(FrontPoint { time_s: at, filled: s, position_m: position(s, t), pockets: 0 });
            }
            match course.time_of_fluidity(base + (target - done) * whole) {
                None => return Fill::Gels { share: gelled(course, base, done, whole, progress) },
                Some(at) => {
                    let share = patterns::share_at(progress, target);
                    curve.push(FrontPoint {
                        time_s: at,
                        filled: share,
                        position_m: position(share, target),
                        pockets: 0,
                    });
                    (time, done) = (at, target);
                }
            }
            if target >= 1.0 {
                return Fill::Full { time, waited };
            }
        }
        Fill::Short { share: patterns::share_at(progress, done) }
    }
}

fn gelled(course: &Course, base: f64, done: f64, whole: f64, progress: &[(f64, f64)]) -> f64 {
    patterns::share_at(progress, done + (course.most_fluidity() - base).max(0.0) / whole)
}

/// Air that the rim traps.
fn air(
    problem: &Problem,
    (sides, rims): ((f64, f64), (f64, f64)),
    (rim, field): (Medium, Medium),
    progress: &[(f64, f64)],
) -> Air {
    let (along_m, detour_m, width) = match problem.dispense.pattern {
        // Both side rims run to the far side and meet in its middle, where there is a rim.
        Pattern::Line => (sides.0, 0.5 * sides.1, rims.1.min(if rims.0 > 0.0 { f64::INFINITY } else { 0.0 })),
        Pattern::TwoLines => (0.5 * sides.0, 0.0, rims.1),
        // The later of the two rims of the free sides closes at the far corner.
        Pattern::L if sides.0 >= sides.1 => (sides.0, 0.0, rims.1),
        Pattern::L => (sides.1, 0.0, rims.0),
        Pattern::U => (0.5 * sides.1, 0.0, rims.0),
    };
    let race = race::Race { rim_width_m: if problem.bumps.is_some() { width } else { 0.0 }, rim, field };
    let lead = race.lead(along_m);
    let shrink = race::shrunken(problem.ambient_pa, field.pressure_pa);
    let share = |lead: f64| {
        let closing = race::closing_time(lead, race::Way { along_m, detour_m }, race.ratio());
        (1.0 - patterns::share_at(progress, closing)).max(0.0) * shrink
    };
    Air {
        estimate: share(lead.estimate_m),
        bound: share(lead.bound_m),
        lead: lead.estimate_m,
        race,
        distance: along_m,
    }
}

/// True where the joint stands for itself as a cylinder of equal volume.
pub(crate) fn is_sphere(problem: &Problem) -> bool {
    problem.bumps.is_some_and(|b| b.shape == BumpShape::TruncatedSphere)
}
