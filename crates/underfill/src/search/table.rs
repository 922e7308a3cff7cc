//! The search: what is asked, the rounds from arithmetic to the fine grid, and the ranked table.

use super::NoSearch;
use super::follow::follow;
use super::recipe::Recipe;
use super::refusal::Why;
use super::volume::{self, Surroundings};
use crate::flow::patterns::{self, Scaled};
use crate::front::medium::Local;
use crate::front::{self, CellLaw, ClosedForms, Resolution};
use crate::problem::{Edge, Pattern};
use facedown_evidence::input::within;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// What is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SearchTask {
    /// Gap, bumps, angles, clock and the fine grid; its lines are replaced.
    pub base: front::Problem,
    /// What lies around the die.
    pub around: Surroundings,
    /// Recipes to try.
    pub recipes: Vec<Recipe>,
    /// Voids and dry places that are allowed, over the die's area.
    pub void_area_fraction: f64,
    /// Largest void that is allowed, m2.
    pub largest_void_m2: f64,
    /// Gel over fill time that is asked for, 1 or more.
    pub gel_margin: f64,
    /// How much is followed.
    pub effort: Effort,
}

/// How much is followed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Effort {
    /// The coarse grid.
    pub coarse: Resolution,
    /// Most recipes that are followed on it.
    pub followed: usize,
    /// Rows at the top of the table that shall stand on the fine grid.
    pub first: usize,
    /// Most recipes that are followed on the fine grid.
    pub refined: usize,
}

impl Default for Effort {
    /// Half a cell a pitch and 24 along the shorter side for at most 24 recipes; the first three rows on the fine grid, for which at
    /// most six are refined.
    fn default() -> Effort {
        let coarse = Resolution { cells_a_pitch: 0.5, least: 24, advance: 1.0, ..Resolution::default() };
        Effort { coarse, followed: 24, first: 3, refined: 6 }
    }
}

/// How far a recipe was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Stage {
    /// Arithmetic and closed forms only.
    Screened,
    /// Followed on the coarse grid.
    Coarse,
    /// Followed on the fine grid.
    Refined,
}

/// A row of the table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tried {
    /// The recipe.
    pub recipe: Recipe,
    /// How far it was looked at.
    pub stage: Stage,
    /// Why it is not released; nothing for one that is.
    pub why: Option<Why>,
    /// Time until the gap is full, waits included, s.
    pub fill_time_s: Option<f64>,
    /// When it is done, s: full, and the last pass begun. Recipes are ranked by it.
    pub done_s: Option<f64>,
    /// How far the fill time on the fine grid lies from that on the coarse one, s.
    pub refined_by_s: Option<f64>,
    /// Fill time by the closed forms, s, by which it was ranked before it was followed.
    pub estimate_s: Option<f64>,
    /// When the last pass begins, s.
    pub last_start_s: f64,
    /// Gel, s.
    pub gel_time_s: Option<f64>,
    /// Voids and dry places over the die's area.
    pub void_area_fraction: Option<f64>,
    /// Largest void, m2.
    pub largest_void_m2: Option<f64>,
    /// Last place to be filled, m.
    pub last_place_m: Option<[f64; 2]>,
    /// Least that fills gap and smallest fillets, and most before a bead or a fillet runs over its room, m3.
    pub volume_window_m3: Option<[f64; 2]>,
}

impl Tried {
    pub(super) fn new(recipe: Recipe, stage: Stage) -> Tried {
        Tried {
            recipe,
            stage,
            why: None,
            fill_time_s: None,
            done_s: None,
            refined_by_s: None,
            estimate_s: None,
            last_start_s: recipe.last_start(),
            gel_time_s: None,
            void_area_fraction: None,
            largest_void_m2: None,
            last_place_m: None,
            volume_window_m3: None,
        }
    }
}

/// The ranked table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Table {
    /// Released recipes first, the shortest before the others; then what was followed and refused, by its dry area; then what was not
    /// followed. Rows that tie stand in the order in which they were asked.
    pub rows: Vec<Tried>,
    /// Recipes followed on the coarse and on the fine grid.
    pub followed: [usize; 2],
}

impl Table {
    /// The best recipe that is released.
    pub fn best(&self) -> Option<&Tried> {
        self.rows.first().filter(|r| r.why.is_none())
    }
}

/// The medium of the mean cell; nothing where it does not draw.
fn mean_medium(base: &front::Problem, law: &dyn CellLaw) -> Option<(crate::flow::Medium, f64)> {
    let n = 16;
    let mean = |value: &dyn Fn([f64; 2]) -> f64| {
        let places = (0..n * n).map(|k| [k % n, k / n].map(|i| (i as f64 + 0.5) / n as f64));
        places.map(|p| value([p[0] * base.size_m[0], p[1] * base.size_m[1]])).sum::<f64>() / (n * n) as f64
    };
    let gap_m = mean(&|p| base.gap_m.at(p));
    let faces = [&base.angle_die_rad, &base.angle_substrate_rad, &base.angle_bump_rad];
    let cosines = faces.map(|f| mean(&|p| f.at(p).cos()));
    let count = base.bumps.as_ref().map_or(0, |b| b.places_m.len());
    let density_per_m2 = count as f64 / (base.size_m[0] * base.size_m[1]);
    let medium = law.medium(Local { gap_m, density_per_m2, cosines })?;
    (medium.pressure_pa > 0.0).then_some((medium, gap_m))
}

/// Fill time of a recipe by the closed forms of an even medium, s.
fn estimate(base: &front::Problem, medium: crate::flow::Medium, recipe: &Recipe) -> Option<f64> {
    let mobility = medium.permeability_m2 * medium.pressure_pa / medium.free;
    let turned = matches!(recipe.edge, Edge::Bottom | Edge::Top);
    let [across, along] = if turned { [1, 0] } else { [0, 1] }.map(|k| base.size_m[k] / mobility.sqrt());
    // The middle of a U lies across; its two arms feed along.
    let fluidity = match recipe.pattern {
        Pattern::TwoLines => patterns::fluidity(Pattern::TwoLines, Scaled { across, along }),
        pattern => patterns::fluidity(pattern, Scaled { across, along }),
    };
    base.clock.time(fluidity).map(|t| t.max(recipe.last_start()))
}

/// Searches with the closed forms in each cell.
///
/// # Errors
/// [`NoSearch`]: no recipe, or a number that cannot be. A recipe that does not fill is a row with its reason.
pub fn search(task: &SearchTask) -> Result<Table, NoSearch> {
    search_with(task, &ClosedForms::of(&task.base))
}

/// The same with another law of the cells.
///
/// # Errors
/// As [`search`].
pub fn search_with(task: &SearchTask, law: &dyn CellLaw) -> Result<Table, NoSearch> {
    check(task)?;
    let mean = mean_medium(&task.base, law);
    let area = task.base.size_m[0] * task.base.size_m[1];
    let mut rows: Vec<Tried> = task
        .recipes
        .iter()
        .map(|recipe| {
            let mut row = Tried::new(*recipe, Stage::Screened);
            if let Some((medium, gap_m)) = mean {
                row.estimate_s = estimate(&task.base, medium, recipe);
                let free = area * gap_m * medium.free;
                row.volume_window_m3 = Some(volume::window(recipe, task.base.size_m, free, &task.around));
                row.why = volume::refusal(recipe, task.base.size_m, free, &task.around);
            }
            row
        })
        .collect();

    // The quickest by the closed forms are followed.
    let mut order: Vec<usize> = (0..rows.len()).filter(|&k| rows[k].why.is_none()).collect();
    let time = |r: &Tried| r.estimate_s.unwrap_or(f64::INFINITY);
    order.sort_by(|&a, &b| time(&rows[a]).total_cmp(&time(&rows[b])).then(a.cmp(&b)));
    let left_out = order.split_off(order.len().min(task.effort.followed));
    for k in left_out {
        rows[k].why = Some(Why::LeftOut { followed: order.len() });
    }
    let coarse: Vec<(usize, Tried)> = order
        .par_iter()
        .map(|&k| (k, follow(task, law, rows[k].recipe, task.effort.coarse, Stage::Coarse)))
        .collect();
    let mut followed = [coarse.len(), 0];
    for (k, tried) in coarse {
        rows[k] = Tried { estimate_s: rows[k].estimate_s, ..tried };
    }

    // The first rows are refined until all of them stand on the fine grid: a refined row may fall behind others.
    let mut ranks: Vec<usize> = (0..rows.len()).collect();
    loop {
        rank(&mut ranks, &rows);
        let left = task.effort.refined.saturating_sub(followed[1]);
        let next: Vec<usize> = ranks
            .iter()
            .copied()
            .take(task.effort.first)
            .filter(|&k| rows[k].stage == Stage::Coarse)
            .take(left)
            .collect();
        if next.is_empty() {
            break;
        }
        followed[1] += next.len();
        let fine: Vec<(usize, Tried)> = next
            .par_iter()
            .map(|&k| (k, follow(task, law, rows[k].recipe, task.base.resolution, Stage::Refined)))
            .collect();
        for (k, tried) in fine {
            let refined_by_s = tried.fill_time_s.zip(rows[k].fill_time_s).map(|(a, b)| (a - b).abs());
            rows[k] = Tried { estimate_s: rows[k].estimate_s, refined_by_s, ..tried };
        }
    }
    Ok(Table { rows: ranks.into_iter().map(|k| rows[k].clone()).collect(), followed })
}

fn rank(ranks: &mut [usize], rows: &[Tried]) {
    ranks.sort_by(|&a, &b| {
        let (x, y) = (&rows[a], &rows[b]);
        let class = |r: &Tried| (r.why.is_some(), r.stage == Stage::Screened);
        let key = |r: &Tried| match (&r.why, r.stage) {
            (None, _) => r.done_s.unwrap_or(f64::INFINITY),
            (_, Stage::Screened) => r.estimate_s.unwrap_or(f64::INFINITY),
            _ => r.void_area_fraction.unwrap_or(f64::INFINITY),
        };
        class(x).cmp(&class(y)).then(key(x).total_cmp(&key(y))).then(a.cmp(&b))
    });
}

fn check(task: &SearchTask) -> Result<(), NoSearch> {
    if task.recipes.is_empty() {
        return Err(NoSearch::NoRecipe);
    }
    within("the share of voids that is allowed", task.void_area_fraction, 0.0, 1.0, "from 0 to 1")?;
    within("the largest void that is allowed", task.largest_void_m2, 0.0, f64::INFINITY, "zero or more")?;
    within("the gel margin", task.gel_margin, 1.0, 1e6, "1 or more")?;
    let around = &task.around;
    within("the thickness of the die", around.thickness_m, 1e-6, 1e-1, "from 1 um to 0.1 m")?;
    within("the tolerance of the volume", around.volume_tolerance, 0.0, 0.9, "from 0 to 0.9")?;
    for room in around.room_m {
        within("the room beside the die", room, 0.0, 1.0, "from 0 to 1 m")?;
    }
    if let Some(f) = around.least_fillet {
        within("the height of the smallest fillet", f.height_m, 0.0, 1e-1, "from 0 to 0.1 m")?;
        within("the width of the smallest fillet", f.width_m, 0.0, 1e-1, "from 0 to 0.1 m")?;
    }
    for recipe in &task.recipes {
        within("the passes of a recipe", f64::from(recipe.passes), 1.0, 1000.0, "from 1 to 1000")?;
        within("the wait of a recipe", recipe.wait_s, 0.0, 1e6, "from 0 to 1e6 s")?;
        within("the offset of a recipe", recipe.offset_m, 1e-6, 1.0, "from 1 um to 1 m")?;
        within("the volume of a recipe", recipe.volume_m3, 1e-18, 1.0, "above zero")?;
    }
    Ok(())
}
