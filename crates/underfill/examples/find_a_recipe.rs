//! The quickest void-free recipes for an invented die with 12 by 12 bumps, as a table. `cargo run -p facedown-underfill --example
//! find_a_recipe`; a line, an L or a U in several passes comes first, and why others are not released is told.

use facedown_underfill::search::{self, NoSearch, specimen};

fn main() -> Result<(), NoSearch> {
    let table = search::search(&specimen::task(12))?;
    println!("followed on the coarse and on the fine grid: {:?}", table.followed);
    for row in &table.rows {
        let time = row.done_s.map_or("-".to_string(), |t| format!("{t:.2} s"));
        let window = row
            .volume_window_m3
            .map_or(String::new(), |[a, b]| format!("{:.2} to {:.2} mm3", 1e9 * a, 1e9 * b));
        let why = row.why.as_ref().map_or(String::new(), ToString::to_string);
        println!("{:>9} {:<62} {window} {:?} {why}", time, row.recipe.words(), row.stage);
    }
    Ok(())
}
