//! Power: given once, inside the die; a grid that adds up to the power beside it.

use super::{Checker, Many, layout, length};
use crate::bump_rules::nm;
use crate::grid::PowerGridSource;
use facedown_diagnostic::Finding;
use facedown_quantity::{Nm, Power};

pub fn check(c: &mut Checker) {
    let design = c.design;
    for (i, die) in design.dies.iter().enumerate() {
        if let (Some(power), Some(_)) = (&die.power, &die.power_map)
            && !die.power_blocks.is_empty()
        {
            let sum: f64 = die.power_blocks.iter().map(|b| b.power_w).sum();
            // To the microwatt, so that the sentence shows no rounding of the sum.
            let sum = (sum * 1e6).round() / 1e6;
            let finding = Finding::error(
                "power-twice",
                format!("the power is written as {power} and again as a map of {}", Power::from_si(sum)),
            )
            .mend("remove `power`, or remove `power_map`");
            c.at(&format!("die[{i}].power"), finding);
        }
        grid(c, i);
        let path = format!("die[{i}].power_map");
        let (width, height) = (nm(&die.width), nm(&die.height));
        let (mut outside, mut wrong) = (Many::new(), Many::new());
        for (row, block) in die.power_blocks.iter().enumerate() {
            let name = block.name.clone().unwrap_or_else(|| format!("{}", row + 1));
            if block.width <= Nm::ZERO || block.height <= Nm::ZERO || block.power_w < 0.0 {
                let place =
                    design.places.cell(&path, row, if block.power_w < 0.0 { "power" } else { "width" });
                wrong.push(c, place, || {
                    let what = format!(
                        "block `{name}` has {} on {} x {}",
                        Power::from_si(block.power_w),
                        layout(block.width),
                        layout(block.height)
                    );
                    Finding::error("bad-block", what).allowed("a power of at least zero on sizes above zero")
                });
            } else if block.x < Nm::ZERO
                || block.y < Nm::ZERO
                || block.x + block.width > width
                || block.y + block.height > height
            {
                let column = if block.x < Nm::ZERO || block.x + block.width > width { "x" } else { "y" };
                let place = design.places.cell(&path, row, column);
                outside.push(c, place, || {
                    Finding::error("block-outside", format!("block `{name}` reaches outside the die"))
                        .allowed(format!(
                            "0 to {} in x and 0 to {} in y, from the lower-left corner of the die",
                            layout(width),
                            layout(height)
                        ))
                });
            }
        }
        wrong.close(c, &path, "bad-block", "blocks have no size or negative power");
        outside.close(c, &path, "block-outside", "blocks reach outside the die");
    }
}

/// Share by which the sum of a grid may differ from the power that is written beside it: what rounding of the cells
/// leaves.
const SUM_APART: f64 = 1e-3;

fn grid(c: &mut Checker, i: usize) {
    let die = &c.design.dies[i];
    let path = format!("die[{i}].power_grid");
    if die.power_grid.is_some() && die.power_map.is_some() {
        let finding =
            Finding::error("power-twice", "the power is written as a map of blocks and again as a grid");
        c.at(&path, finding.mend("remove `power_grid`, or remove `power_map`"));
    }
    if let Some(PowerGridSource::Placed(placed)) = &die.power_grid {
        for (axis, side) in [(0, &die.width), (1, &die.height)] {
            let (from, size) = (placed.origin[axis].si(), placed.size[axis].si());
            if size <= 0.0 {
                let finding = Finding::error("not-positive", format!("{} is not a size", placed.size[axis]));
                c.at(&format!("{path}.size[{axis}]"), finding.allowed("a length above zero"));
            } else if from < -1e-9 || from + size > side.si() + 1e-9 {
                let word = ["x", "y"][axis];
                let what =
                    format!("the grid reaches from {} to {} in {word}", length(from), length(from + size));
                let finding = Finding::error("block-outside", what)
                    .allowed(format!("0 to {side} in {word}, from the lower-left corner of the die"));
                c.at(&format!("{path}.origin[{axis}]"), finding);
            }
        }
    }
    if let (Some(power), Some(grid)) = (&die.power, &die.power_cells) {
        let sum = grid.cells.sum();
        if (sum - power.si()).abs() > SUM_APART * power.si().abs().max(sum) {
            let told = Power::from_si((sum * 1e6).round() / 1e6);
            let finding = Finding::error(
                "power-differs",
                format!("the power is written as {power}, the cells of the grid add up to {told}"),
            )
            .allowed(format!("{told} within 0.1 %, or no `power` beside the grid"))
            .mend("look at the unit in the heading of the grid, or remove `power`");
            c.at(&format!("die[{i}].power"), finding);
        }
    }
}
