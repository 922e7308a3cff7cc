//! The thermal metrics: one settled case each, in the surroundings that JESD51 prescribes.
//!
//! Junction is the hottest place of the hottest die, with all dies powered as the design says (definitions: JESD51-12;
//! from memory). `theta` needs all heat through both of its planes, `psi` divides a difference by the whole power
//! while the heat splits as it likes.

use crate::film::Natural;
use crate::hot_spot::{HotSpot, of_dies, stacked_rise};
use crate::mixing::Pattern;
use crate::network::{Downward, Films, Levels, Setting, Upward};
use crate::outcome::{Metric, Step};
use crate::paths;
use crate::problem::{Carrier, Mount, Problem};
use crate::surroundings::{Settled, settle, settle_from};
use crate::valid::Refusal;

/// Correlations and patterns that are run: the main set first.
pub(crate) const SETS: [(Natural, Pattern); 3] = [
    (Natural::ThinLayer, Pattern::Along),
    (Natural::Textbook, Pattern::Along),
    (Natural::ThinLayer, Pattern::NoDirection),
];

/// What is read off a settled case.
#[derive(Debug, Clone)]
pub(crate) struct Reading {
    /// Hottest place of each die of the problem over the ambient, K.
    pub hottest: Vec<f64>,
    /// Mean of each active face over the ambient, K.
    pub mean: Vec<f64>,
    /// Place in the network of the die on bumps that is hottest, or that carries the hottest.
    pub place: usize,
    /// Hot spots of the dies on bumps.
    pub spots: Vec<HotSpot>,
    /// Hottest place of all over the ambient, K.
    pub junction: f64,
    /// Hottest bump at half its height over the ambient, K.
    pub bump: f64,
    /// Top of the case over the hottest die, over the ambient, K.
    pub case: f64,
}

/// Reads a settled case off.
pub(crate) fn read(case: &Settled<'_>) -> Reading {
    let (network, s) = (&case.network, &case.solution);
    let problem = network.problem;
    let spots = of_dies(network, s);
    let (mut hottest, mut mean) = (vec![0.0; problem.dies.len()], vec![0.0; problem.dies.len()]);
    let mut bump = f64::NEG_INFINITY;
    for (place, &die) in network.on_bumps.iter().enumerate() {
        mean[die] = s.junction[place];
        hottest[die] = s.junction[place] + spots[place].map + spots[place].edge;
        let across = s.junction[place] - s.under_bumps[place];
        bump = bump.max(hottest[die] - if network.substrate.is_some() { across / 2.0 } else { 0.0 });
    }
    let mut place = 0;
    let mut junction = f64::NEG_INFINITY;
    for (i, die) in problem.dies.iter().enumerate() {
        let at = match die.mount {
            Mount::Bumps(_) => network.on_bumps.iter().position(|&j| j == i),
            Mount::OnDie { host, .. } => {
                let at = network.on_bumps.iter().position(|&j| j == host);
                if let Some(p) = at {
                    mean[i] = s.back[p] + stacked_rise(network, i, case.levels.dies[i]);
                    hottest[i] = mean[i] + spots[p].edge;
                }
                at
            }
        };
        if hottest[i] > junction {
            junction = hottest[i];
            place = at.unwrap_or(0);
        }
    }
    // The back of a bare die is warmest in its middle, as its active face is.
    let case_rise = s.case[place] + if network.lid.is_none() { spots[place].edge } else { 0.0 };
    Reading { hottest, mean, place, spots, junction, bump, case: case_rise }
}

/// The powers that the metrics are taken at: the design's, or one watt by area where there is none.
pub(crate) fn test_powers(problem: &Problem) -> Vec<f64> {
    if problem.power_w() > 0.0 {
        return problem.dies.iter().map(|d| d.power_w).collect();
    }
    let area = |d: &crate::problem::Die| {
        if matches!(d.mount, Mount::Bumps(_)) { d.width_m * d.height_m } else { 0.0 }
    };
    let all: f64 = problem.dies.iter().map(area).sum();
    problem.dies.iter().map(|d| area(d) / all).collect()
}

/// Setting of a standard surroundings.
pub(crate) fn setting(
    problem: &Problem,
    board: &Carrier,
    set: (Natural, Pattern),
    down: Downward,
    up: Upward,
) -> Setting {
    Setting {
        ambient_k: problem.service.ambient_k,
        down,
        up,
        board: board.clone(),
        natural: set.0,
        pattern: set.1,
        powers_w: test_powers(problem),
    }
}

/// Where an air case starts from, and the share of the power that it is taken at.
pub(crate) struct Like<'a> {
    /// Temperatures of a like case.
    pub levels: &'a Levels,
    /// Its films.
    pub films: &'a Films,
    /// Share of the design's power.
    pub share: f64,
}

/// A package in air.
pub(crate) struct InAir {
    /// The metric.
    pub metric: Metric,
    /// Ranges that the correlations left.
    pub outside: Vec<String>,
    /// Where the kelvins go on the way that takes more of the heat.
    pub path: Vec<Step>,
    /// Temperatures, to start like cases from.
    pub levels: Levels,
    /// Films, for the same.
    pub films: Films,
}

/// A package in air of that velocity (m/s; zero: still air).
pub(crate) fn in_air(
    problem: &Problem,
    board: &Carrier,
    set: (Natural, Pattern),
    speed_m_s: f64,
    words: &str,
    like: &Like<'_>,
) -> Result<InAir, Refusal> {
    let mut setting = setting(problem, board, set, Downward::Air(speed_m_s), Upward::Air(speed_m_s));
    setting.powers_w.iter_mut().for_each(|p| *p *= like.share);
    let power: f64 = setting.powers_w.iter().sum();
    let case = settle_from(problem, &setting, Some((like.levels, like.films)))?;
    let reading = read(&case);
    let metric = Metric {
        surroundings: words.into(),
        speed_m_s,
        theta_ja: Some(reading.junction / power),
        psi_jt: Some((reading.junction - reading.case) / power),
        psi_jb: Some((reading.junction - case.solution.board_sensor) / power),
        board_share: case.solution.balls / power,
    };
    let (s, network) = (&case.solution, &case.network);
    let spot = &reading.spots[reading.place];
    let path = if s.balls >= 0.5 * power {
        paths::down(network, s, reading.place, spot)
    } else {
        paths::up(network, s, reading.place, spot, None)
    };
    Ok(InAir { metric, outside: case.outside, path, levels: case.levels, films: case.films })
}

/// Junction to board with a cooled ring (JESD51-8), K/W.
pub(crate) fn to_board(problem: &Problem, board: &Carrier, set: (Natural, Pattern)) -> Result<f64, Refusal> {
    let setting = setting(problem, board, set, Downward::Ring, Upward::Insulated);
    let power: f64 = setting.powers_w.iter().sum();
    let case = settle(problem, &setting)?;
    Ok((read(&case).junction - case.solution.board_sensor) / power)
}

/// Junction to the top of the case with a cold plate of that film, all heat forced upward, K/W.
pub(crate) fn to_case(problem: &Problem, board: &Carrier, film: f64) -> Result<f64, Refusal> {
    let setting = setting(problem, board, SETS[0], Downward::Insulated, Upward::Film(film));
    let power: f64 = setting.powers_w.iter().sum();
    let case = settle(problem, &setting)?;
    let reading = read(&case);
    Ok((reading.junction - reading.case) / power)
}
