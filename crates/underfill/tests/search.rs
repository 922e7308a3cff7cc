//! The search against its own parts, and on what must not be released.
#![allow(clippy::unwrap_used, reason = "test code")]

use facedown_underfill::front::{self, Map, Resolution, Shape};
use facedown_underfill::search::{self, NoSearch, Stage, Why, specimen};
use facedown_underfill::{Edge, Pattern};

#[test]
fn the_first_row_is_the_shortest_released_recipe_by_the_fine_grid() {
    let mut task = specimen::task(8);
    task.base.resolution = Resolution { cells_a_pitch: 1.0, least: 20, ..Resolution::default() };
    task.effort.coarse = Resolution { cells_a_pitch: 0.5, least: 10, ..Resolution::default() };
    let table = search::search(&task).unwrap();
    assert_eq!(table.rows.len(), task.recipes.len());
    let best = table.best().unwrap();
    assert_eq!(best.stage, Stage::Refined);
    // Every released recipe on the fine grid, one by one.
    let mut times = Vec::new();
    for row in table.rows.iter().filter(|r| r.why.is_none()) {
        let outcome = front::solve(&row.recipe.problem(&task.base)).unwrap();
        times.push(outcome.fill_time_s.unwrap().max(row.recipe.last_start()));
        if row.stage == Stage::Refined {
            assert_eq!(outcome.fill_time_s, row.fill_time_s);
        }
        let [least, most] = row.volume_window_m3.unwrap();
        assert!(least < 0.9 * row.recipe.volume_m3 && most > 1.1 * row.recipe.volume_m3);
        // Liquid is kept: the gap takes what the window says less the fillets.
        assert!(outcome.free_volume_m3 < least);
    }
    let shortest = times.iter().copied().fold(f64::INFINITY, f64::min);
    assert!((best.done_s.unwrap() / shortest - 1.0).abs() < 0.01, "{shortest} {best:?}");
    assert_eq!(best.recipe.pattern, Pattern::U);
    // What is refused says why, and comes after.
    let first_refused = table.rows.iter().position(|r| r.why.is_some()).unwrap();
    assert!(table.rows[first_refused..].iter().all(|r| r.why.is_some()));
    assert!(table.rows.iter().any(|r| matches!(r.why, Some(Why::BeadTooLarge { .. }))));
    // The same table on one thread.
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    assert_eq!(pool.install(|| search::search(&task)).unwrap(), table);
}

#[test]
fn dirt_and_gel_leave_no_recipe_and_say_so() {
    let mut task = specimen::task(6);
    task.base.resolution.least = 24;
    task.effort.coarse.least = 12;
    task.recipes.retain(|r| r.edge == Edge::Left && r.passes == 4 && r.pattern != Pattern::L);
    let side = task.base.size_m[0];
    let patch = Shape::Disc { centre_m: [0.5 * side, 0.5 * side], radius_m: 0.25 * side };
    let dirty = |ground: f64| Map::Patches { ground, patches: vec![(patch.clone(), 3.0)] };
    task.base.angle_die_rad = dirty(0.4);
    task.base.angle_substrate_rad = dirty(0.4);
    let table = search::search(&task).unwrap();
    assert!(table.best().is_none());
    // The disc takes 0.196 of the die and bumps about a fifth of that; a cell of the rim, half dirty, may draw: 19 of 144 cells, by half.
    for row in &table.rows {
        assert!(matches!(row.why, Some(Why::Voids { .. } | Why::DoesNotWet { .. })), "{row:?}");
        assert!(row.void_area_fraction.unwrap() > 0.09);
    }
    let mut gelling = specimen::task(6);
    gelling.base.resolution.least = 24;
    gelling.effort.coarse.least = 12;
    gelling.recipes.truncate(3);
    gelling.base.clock = front::Clock::new(vec![(0.0, 0.0), (1e-3, 1e-3 / 0.15)], None).unwrap();
    let table = search::search(&gelling).unwrap();
    assert!(table.rows.iter().all(|r| r.why.is_some()));
    assert!(table.rows.iter().any(|r| matches!(r.why, Some(Why::Gels { .. }))), "{table:?}");
    let mut none = specimen::task(6);
    none.recipes.clear();
    assert_eq!(search::search(&none), Err(NoSearch::NoRecipe));
    let mut wrong = specimen::task(6);
    wrong.recipes[0].volume_m3 = f64::NAN;
    assert!(search::search(&wrong).unwrap_err().to_string().starts_with("the volume of a recipe is NaN"));
}
