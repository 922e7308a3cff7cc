//! Micrographs on the page: the picture with its voids marked beside the prediction, their sizes, and what both say together.

use super::write::{Cell, paragraph, picture, table};
use super::{PageInput, third};
use crate::number::significant;
use crate::svg::Svg;
use facedown_underfill::micrograph::judged::Judged;

/// Every micrograph.
pub fn micrographs(input: &PageInput<'_>, out: &mut Svg) {
    for (part, judged) in &input.micrographs {
        if input.micrographs.len() > 1 {
            third(out, &format!("Die {part}"));
        }
        let told = told(part, judged);
        paragraph(out, "", &told);
        let shown = if judged.compared.is_some() {
            "Left: what the front predicts, teal where voids are seen too. Right: the micrograph. "
        } else {
            ""
        };
        let caption = format!(
            "{shown}Voids that touch no bump are teal, those that touch one amber, those that join two vermilion; bumps and the die's outline blue."
        );
        let name = format!("Micrograph of {part}");
        picture(
            out,
            &name,
            &format!("data:image/png;base64,{}", judged.marked_png),
            judged.marked_size,
            &format!("{name}. {told}"),
            &caption,
        );
        let rows: Vec<Vec<Cell>> = judged
            .sizes
            .iter()
            .map(|class| {
                let um = |v: f64| significant(1e6 * v, 3);
                let range = match class.to_m {
                    Some(to) if class.from_m == 0.0 => format!("below {} um", um(to)),
                    Some(to) => format!("{} to {} um", um(class.from_m), um(to)),
                    None => format!("above {} um", um(class.from_m)),
                };
                vec![
                    Cell::text(range),
                    Cell::number(class.count.to_string()),
                    Cell::number(significant(100.0 * class.share, 3)),
                ]
            })
            .collect();
        table(out, "Voids by diameter", &["Diameter", "voids", "% of the void area"], &rows);
    }
}

fn told(part: &str, judged: &Judged) -> String {
    let seen = format!(
        "Under {part} {} voids are seen, {} \u{b1} {} % of what is looked at; {} join bumps.",
        judged.voids.len(),
        significant(100.0 * judged.share, 3),
        significant(100.0 * judged.uncertainty, 1),
        judged.bridging
    );
    let Some(compared) = &judged.compared else { return seen };
    let percent = |v: f64| significant(100.0 * v, 2);
    let both = match (compared.foreseen, compared.confirmed) {
        (Some(foreseen), Some(confirmed)) => format!(
            " Of what is seen {} % was predicted; of what was predicted {} % is seen.",
            percent(foreseen),
            percent(confirmed)
        ),
        (Some(_), None) => " The front predicts none.".into(),
        (None, Some(_)) => " Of what the front predicts nothing is seen.".into(),
        (None, None) => " The front predicts none either.".into(),
    };
    format!("{seen}{both}")
}
