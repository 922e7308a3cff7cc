//! `facedown materials`: what the built-in library holds, with sources.

use crate::arguments::Materials;
use crate::exit::{Done, Exit, Failure};
use crate::terminal;
use facedown_material::{Library, material_rows, property_rows};

/// Lists all materials, or one with its properties.
pub fn run(arguments: &Materials) -> Done {
    let library = Library::built_in();
    let text = match &arguments.name {
        None => {
            let rows = material_rows(&library);
            if arguments.json { json(&rows)? } else { list(&rows) }
        }
        Some(name) => {
            let material = library.get(name).map_err(Failure::input)?;
            let rows = property_rows(material);
            if arguments.json {
                json(
                    &serde_json::json!({ "name": material.name, "title": material.title, "properties": rows }),
                )?
            } else {
                one(&material.name, &material.title, &rows)
            }
        }
    };
    terminal::print(&text);
    Ok(Exit::Met)
}

fn json<T: serde::Serialize>(rows: &T) -> Result<String, Failure> {
    serde_json::to_string_pretty(rows).map(|text| text + "\n").map_err(Failure::input)
}

fn list(rows: &[facedown_material::MaterialRow]) -> String {
    let name = rows.iter().map(|r| r.name.chars().count()).max().unwrap_or(0);
    let made_of = rows.iter().map(|r| r.made_of.chars().count()).max().unwrap_or(0);
    let line = |r: &facedown_material::MaterialRow| {
        format!("{:<name$}  {:<made_of$}  {:>2} properties  {}\n", r.name, r.made_of, r.properties, r.title)
    };
    rows.iter().map(line).collect()
}

/// Values in aligned columns; under each property, once, its sources.
fn one(name: &str, title: &str, rows: &[facedown_material::PropertyRow]) -> String {
    let at = rows.iter().map(|r| r.at.chars().count()).max().unwrap_or(0);
    let value = rows.iter().map(|r| r.value.chars().count()).max().unwrap_or(0);
    let mut text = format!("{name}: {title}\n");
    for (i, row) in rows.iter().enumerate() {
        if i == 0 || rows[i - 1].property != row.property {
            text.push_str(&format!("\n{}\n", row.property));
        }
        let line = format!("  {:>value$}  {:<at$}", row.value, row.at);
        text.push_str(line.trim_end());
        text.push('\n');
        if rows.get(i + 1).is_none_or(|next| next.property != row.property) {
            let mut about = |word: &str, what: &str| {
                if !what.is_empty() {
                    text.push_str(&format!("    {word}: {what}\n"));
                }
            };
            about("holds", &row.range);
            about("spread of sources", &row.spread);
            about(row.status, &row.source);
            about("note", &row.note);
        }
    }
    text
}
