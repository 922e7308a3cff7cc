//! Films, temperatures and conductivities that agree with each other.
//!
//! Films follow the face temperatures, and those the films: a damped iteration in the logarithm of the films, inside an
//! iteration that takes the conductivities at the new temperatures. It ends when nothing moves any more; a case that
//! does not settle is refused.

use crate::film::{Air, AirFace, Facing, Natural, radiation};
use crate::network::{Downward, Films, Levels, Network, Setting, Solution, Upward};
use crate::problem::Problem;
use crate::valid::Refusal;

/// A settled case.
#[derive(Debug, Clone)]
pub struct Settled<'a> {
    /// The network with its last films.
    pub network: Network<'a>,
    /// Its temperatures and heat.
    pub solution: Solution,
    /// Convection (or the given film) and radiation of top, substrate, board above, board below, W/(m2 K).
    pub parts: [[f64; 2]; 4],
    /// Mean temperatures of the parts, K.
    pub levels: Levels,
    /// The films, W/(m2 K).
    pub films: Films,
    /// What the correlations were used outside of, as sentences.
    pub outside: Vec<String>,
}

/// A film that is too weak to matter and keeps quotients finite, W/(m2 K).
const LEAST_FILM: f64 = 1e-6;

/// The faces that lie in air.
pub(crate) struct Faces {
    pub top: Option<AirFace>,
    pub board_top: Option<AirFace>,
    pub board_bottom: Option<AirFace>,
}

impl Faces {
    pub(crate) fn of(setting: &Setting) -> Faces {
        let (w, h) = (setting.board.width_m, setting.board.height_m);
        // Package and board are one hot horizontal face to the air that rises from them: both take the board's length.
        let face = |facing, speed| AirFace {
            facing,
            natural_length_m: w * h / (2.0 * (w + h)),
            flow_length_m: w.max(h),
            speed_m_s: speed,
            set: setting.natural,
        };
        let down = match setting.down {
            Downward::Air(speed) => Some(speed),
            _ => None,
        };
        Faces {
            top: match setting.up {
                Upward::Air(speed) => Some(face(Facing::Up, speed)),
                _ => None,
            },
            board_top: down.map(|s| face(Facing::Up, s)),
            board_bottom: down.map(|s| face(Facing::Down, s)),
        }
    }
}

/// Convection and radiation of the four faces.
fn film_parts(problem: &Problem, setting: &Setting, faces: &Faces, s: &Solution) -> [[f64; 2]; 4] {
    let ambient = setting.ambient_k;
    let emissivity = problem.emissivity;
    let of = |face: &Option<AirFace>, rise: f64, emissivity: f64| match face {
        // A rise in between of a failed step must not reach the correlations below absolute zero.
        Some(face) => {
            let hot = (ambient + rise).max(1.0);
            [face.convection(hot, ambient), radiation(emissivity, hot, ambient)]
        }
        None => [0.0, 0.0],
    };
    let top = match setting.up {
        Upward::Film(film) => [film, 0.0],
        _ => of(&faces.top, s.faces[0].rise, emissivity.top),
    };
    let open = !matches!(setting.up, Upward::Insulated);
    let beside = faces.top.or(faces.board_top).filter(|_| open);
    [
        top,
        of(&beside, s.faces[1].rise, emissivity.substrate),
        of(&faces.board_top, s.faces[2].rise, emissivity.board),
        of(&faces.board_bottom, s.faces[3].rise, emissivity.board),
    ]
}

fn films_of(parts: &[[f64; 2]; 4]) -> Films {
    let sum = |i: usize| (parts[i][0] + parts[i][1]).max(LEAST_FILM);
    Films { top: sum(0), substrate: sum(1), board_top: sum(2), board_bottom: sum(3) }
}

fn levels_of(network: &Network<'_>, s: &Solution) -> Levels {
    let ambient = network.setting.ambient_k;
    let mut dies = vec![ambient; network.problem.dies.len()];
    for (place, &die) in network.on_bumps.iter().enumerate() {
        dies[die] = ambient + (s.junction[place] + s.back[place]) / 2.0;
    }
    for (i, die) in network.problem.dies.iter().enumerate() {
        if let crate::problem::Mount::OnDie { host, .. } = die.mount {
            dies[i] = dies[host];
        }
    }
    let under = s.under_bumps.iter().sum::<f64>() / s.under_bumps.len().max(1) as f64;
    Levels {
        dies,
        lid: ambient + s.lid,
        interposer: ambient + (under + s.under_interposer) / 2.0,
        substrate: ambient + s.substrate,
        board: ambient + s.board_footprint,
    }
}

/// Solves a setting until films, temperatures and conductivities agree to a millionth.
///
/// # Errors
/// [`Refusal::Unsettled`] when they do not, [`Refusal::NoWayOut`] when heat has no path.
pub fn settle<'a>(problem: &'a Problem, setting: &'a Setting) -> Result<Settled<'a>, Refusal> {
    settle_from(problem, setting, None)
}

/// The same from the temperatures and films of a like case, which takes fewer steps.
///
/// # Errors
/// As [`settle`].
pub fn settle_from<'a>(
    problem: &'a Problem,
    setting: &'a Setting,
    like: Option<(&Levels, &Films)>,
) -> Result<Settled<'a>, Refusal> {
    let power: f64 = setting.powers_w.iter().sum();
    let faces = Faces::of(setting);
    let ambient = setting.ambient_k;
    let ambients = Levels {
        dies: vec![ambient; problem.dies.len()],
        lid: ambient,
        interposer: ambient,
        substrate: ambient,
        board: ambient,
    };
    let mut levels = like.map_or(ambients, |(levels, _)| levels.clone());
    // A start of 10 K: natural convection alone would start from nothing at the ambient.
    let start = Solution {
        faces: [crate::network::FaceHeat { rise: 10.0, ..Default::default() }; 4],
        ..Solution::default()
    };
    let mut parts = film_parts(problem, setting, &faces, &start);
    let mut films = films_of(&parts);
    // Faces that are cooled in both cases start from the films of the like one.
    if let (Some((_, known)), Downward::Air(_)) = (like, setting.down)
        && known.board_top.min(known.board_bottom) > 0.1
    {
        (films.board_top, films.board_bottom) = (known.board_top, known.board_bottom);
    }
    for _ in 0..40 {
        let mut network = Network::assemble(problem, setting, &levels, films)?;
        let mut solution = network.solve()?;
        let mut step = 0.6;
        let mut before = f64::INFINITY;
        let mut steady = false;
        for _ in 0..300 {
            parts = film_parts(problem, setting, &faces, &solution);
            let wanted = films_of(&parts);
            let pairs = [
                (films.top, wanted.top),
                (films.substrate, wanted.substrate),
                (films.board_top, wanted.board_top),
                (films.board_bottom, wanted.board_bottom),
            ];
            let change = pairs.iter().map(|(a, b)| (b / a).ln().abs()).fold(0.0, f64::max);
            if change < 1e-10 {
                steady = true;
                break;
            }
            // Radiation at a high temperature overshoots; shorter steps end that.
            if change > 0.9 * before {
                step = (step * 0.6_f64).max(0.05);
            }
            before = change;
            let toward = |(a, b): (f64, f64)| a * (b / a).powf(step);
            films = Films {
                top: toward(pairs[0]),
                substrate: toward(pairs[1]),
                board_top: toward(pairs[2]),
                board_bottom: toward(pairs[3]),
            };
            network.refresh(films);
            solution = network.solve()?;
        }
        if !steady {
            break;
        }
        let next = levels_of(&network, &solution);
        let hottest = solution.junction.iter().fold(1e-9, |m: f64, t| m.max(t.abs()));
        let moved = next
            .dies
            .iter()
            .zip(&levels.dies)
            .chain([
                (&next.lid, &levels.lid),
                (&next.interposer, &levels.interposer),
                (&next.substrate, &levels.substrate),
                (&next.board, &levels.board),
            ])
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max);
        levels = next;
        // The next step would be a thousand times smaller.
        if moved < 2e-5 * hottest {
            network.places(&mut solution);
            if !solution.case.iter().chain([&solution.board_sensor]).all(|t| t.is_finite()) {
                break;
            }
            let outside = outside(&faces, setting, &solution);
            return Ok(Settled { network, solution, parts, levels, films, outside });
        }
    }
    Err(Refusal::Unsettled { power_w: power })
}

/// Ranges that the correlations leave.
fn outside(faces: &Faces, setting: &Setting, s: &Solution) -> Vec<String> {
    let mut sentences = Vec::new();
    let named = [
        ("the top", &faces.top, s.faces[0].rise),
        ("the board's upper face", &faces.board_top, s.faces[2].rise),
        ("the board's lower face", &faces.board_bottom, s.faces[3].rise),
    ];
    for (name, face, rise) in named {
        let Some(face) = face else { continue };
        let mean = setting.ambient_k + rise / 2.0;
        let air = Air::at(mean);
        if !(Air::RANGE_K[0]..=Air::RANGE_K[1]).contains(&mean) {
            sentences.push(format!(
                "Air at {name} is {:.0} degC; the property table ends at {:.0} and {:.0} degC.",
                mean - 273.15,
                Air::RANGE_K[0] - 273.15,
                Air::RANGE_K[1] - 273.15
            ));
        }
        let rayleigh = air.rayleigh(face.natural_length_m, rise);
        let range = match (face.set, face.facing) {
            (Natural::ThinLayer, Facing::Up) => 1.0..=1e10,
            (Natural::ThinLayer, _) => 1e3..=1e10,
            (Natural::Textbook, Facing::Up) => 1e4..=1e11,
            (Natural::Textbook, _) => 1e5..=1e10,
        };
        if face.speed_m_s <= 0.0 && rise.abs() > 0.5 && !range.contains(&rayleigh) {
            sentences.push(format!(
                "The Rayleigh number at {name} is {rayleigh:.1e}, outside the correlation's {:.0e} to {:.0e}.",
                range.start(),
                range.end()
            ));
        }
        let reynolds = face.speed_m_s * face.flow_length_m / air.viscosity;
        if reynolds > 1e8 {
            sentences.push(format!("The Reynolds number at {name} is {reynolds:.1e}, above 1e8."));
        }
    }
    sentences
}
