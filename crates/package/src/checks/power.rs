//! Power: given once, inside the die.

use super::{Checker, Many, layout};
use crate::bump_rules::nm;
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
