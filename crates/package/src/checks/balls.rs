//! Balls: on the body, apart, and on a board that carries the package.

use super::{Checker, layout, length};
use crate::bump_rules::nm;
use crate::bump_sites::{row_name, site_block};
use facedown_diagnostic::Finding;
use facedown_quantity::Nm;

/// Usual ball pitches, um (JEDEC JEP95 registered outlines, from memory).
const PITCHES_UM: &[i64] = &[1500, 1270, 1000, 800, 750, 650, 500, 400, 350, 300];

pub fn check(c: &mut Checker) {
    let design = c.design;
    if let (Some(board), Some(substrate)) = (&design.board, &design.substrate)
        && (board.width.si() < substrate.width.si() || board.height.si() < substrate.height.si())
    {
        let finding = Finding::error(
            "body-too-large",
            format!(
                "the substrate of {} x {} is larger than the board of {} x {}",
                substrate.width, substrate.height, board.width, board.height
            ),
        )
        .allowed("a board at least as large as the substrate");
        c.at("board.width", finding);
    }
    let Some(balls) = &design.balls else { return };
    let Some(substrate) = &design.substrate else {
        let finding =
            Finding::error("no-support", "there are balls and no substrate").mend("add a table [substrate]");
        c.absent("balls", finding);
        return;
    };
    let (pitch, ball) = (nm(&balls.pitch), nm(&balls.diameter));
    if pitch <= Nm::ZERO || ball <= Nm::ZERO {
        return;
    }
    if ball >= pitch {
        let finding = Finding::error(
            "balls-touch",
            format!("balls of {} at a pitch of {} touch each other", layout(ball), layout(pitch)),
        )
        .allowed("balls smaller than the pitch; about half to two thirds of it is usual");
        c.at("balls.diameter", finding);
    }
    if !PITCHES_UM.iter().any(|p| Nm::from_um(*p) == pitch) {
        let list: Vec<String> = PITCHES_UM.iter().map(|p| (*p as f64 / 1000.0).to_string()).collect();
        let finding = Finding::advice(
            "ball-pitch",
            format!("a ball pitch of {} is not among the usual ones", layout(pitch)),
        )
        .allowed(format!("{} mm", list.join(", ")));
        c.at("balls.pitch", finding);
    }
    if balls.land.as_ref().is_some_and(|l| nm(l) >= pitch) {
        c.at(
            "balls.land",
            Finding::error("balls-touch", "the lands of the balls touch each other")
                .allowed("lands smaller than the pitch"),
        );
    }
    let fit = |size: Nm| ((size - ball).0.max(0) / pitch.0 + 1) as u64;
    let (fit_x, fit_y) = (fit(nm(&substrate.width)), fit(nm(&substrate.height)));
    let [columns, rows] = balls.matrix.map_or([fit_x, fit_y], |[x, y]| [u64::from(x), u64::from(y)]);
    for (count, fits, size, axis) in
        [(columns, fit_x, &substrate.width, "columns"), (rows, fit_y, &substrate.height, "rows")]
    {
        if count > fits {
            let reach = (count as f64 - 1.0) * pitch.m() + ball.m();
            let finding = Finding::error(
                "balls-outside",
                format!("{count} {axis} of balls reach over {}, the body has {size}", length(reach)),
            )
            .allowed(format!("up to {fits} {axis}"))
            .mend("use fewer balls, a smaller pitch, or a larger substrate");
            c.at("balls.matrix", finding);
        }
    }
    if columns == 0 || rows == 0 {
        c.at(
            "balls.matrix",
            Finding::error("count-zero", "the array has no columns or no rows").allowed("1 or more of each"),
        );
        return;
    }
    for (j, text) in balls.depopulate.iter().enumerate() {
        let finding = match site_block(text) {
            None => Finding::error("bad-site", format!("`{text}` is not a ball or a block of balls")).allowed("row letters and column number, `C4`, or two of them, `C4:F7`; the letters I, O, Q, S, X and Z name no row (JEP95)"),
            Some(((_, row), (_, column))) if u64::from(row) >= rows || u64::from(column) >= columns => {
                let last = format!("{}{columns}", row_name(u32::try_from(rows - 1).unwrap_or(u32::MAX)));
                Finding::error("site-outside", format!("`{text}` lies outside the ball array")).allowed(format!("A1 to {last}"))
            }
            Some(_) => continue,
        };
        c.at(&format!("balls.depopulate[{j}]"), finding);
    }
}
