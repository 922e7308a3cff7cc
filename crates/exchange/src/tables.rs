//! CSV tables: pads, bumps, assignment, net lengths. Columns carry their unit in the name; the first line is a comment
//! that says which way the die faces.

use crate::view::View;
use facedown_quantity::Nm;

/// A die pad.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PadRow {
    /// Pad name.
    pub name: String,
    /// Its net; `None` where it carries none.
    pub net: Option<String>,
    /// Centre, die face up.
    pub x: Nm,
    /// Centre.
    pub y: Nm,
    /// Width along x.
    pub width: Nm,
    /// Height along y.
    pub height: Nm,
}

/// A bump.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BumpRow {
    /// Bump name.
    pub name: String,
    /// Its net; `None` where it carries none.
    pub net: Option<String>,
    /// Centre, die face up.
    pub x: Nm,
    /// Centre.
    pub y: Nm,
    /// Largest diameter.
    pub diameter: Nm,
}

/// One pad and the bump that it goes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AssignmentRow {
    /// Net name.
    pub net: String,
    /// Pad name.
    pub pad: String,
    /// Bump name.
    pub bump: String,
}

/// The routed length of a net.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NetLengthRow {
    /// Net name.
    pub net: String,
    /// Number of pads.
    pub pads: usize,
    /// Number of bumps.
    pub bumps: usize,
    /// Routed length.
    pub length: Nm,
    /// Shortest possible length around foreign capture pads, where it is known.
    pub bound: Option<Nm>,
}

/// The pads, in the order given.
pub fn pads(rows: &[PadRow], die_width: Nm, view: View) -> Vec<u8> {
    let lines = rows.iter().map(|r| {
        vec![r.name.clone(), text(&r.net), um(view.x(r.x, die_width)), um(r.y), um(r.width), um(r.height)]
    });
    table(view, &["name", "net", "x_um", "y_um", "width_um", "height_um"], lines)
}

/// The bumps, in the order given.
pub fn bumps(rows: &[BumpRow], die_width: Nm, view: View) -> Vec<u8> {
    let lines = rows
        .iter()
        .map(|r| vec![r.name.clone(), text(&r.net), um(view.x(r.x, die_width)), um(r.y), um(r.diameter)]);
    table(view, &["name", "net", "x_um", "y_um", "diameter_um"], lines)
}

/// The assignment, in the order given. It is the same in both views.
pub fn assignment(rows: &[AssignmentRow], view: View) -> Vec<u8> {
    table(
        view,
        &["net", "pad", "bump"],
        rows.iter().map(|r| vec![r.net.clone(), r.pad.clone(), r.bump.clone()]),
    )
}

/// The net lengths, in the order given. They are the same in both views.
pub fn net_lengths(rows: &[NetLengthRow], view: View) -> Vec<u8> {
    let lines = rows.iter().map(|r| {
        let bound = r.bound.map(um).unwrap_or_default();
        vec![r.net.clone(), r.pads.to_string(), r.bumps.to_string(), um(r.length), bound]
    });
    table(view, &["net", "pads", "bumps", "length_um", "shortest_um"], lines)
}

fn text(net: &Option<String>) -> String {
    net.clone().unwrap_or_default()
}

/// Exact decimal micrometres.
fn um(length: Nm) -> String {
    length.to_string().trim_end_matches(" um").to_owned()
}

fn table(view: View, columns: &[&str], lines: impl Iterator<Item = Vec<String>>) -> Vec<u8> {
    let mut bytes = format!("# {}\n", view.sentence()).into_bytes();
    let mut writer = csv::Writer::from_writer(&mut bytes);
    // Neither can fail: the bytes go to memory, and every line has as many fields as there are columns.
    let _ = writer.write_record(columns);
    for line in lines {
        let _ = writer.write_record(&line);
    }
    let _ = writer.flush();
    drop(writer);
    bytes
}

#[cfg(test)]
mod tests {
    use super::{NetLengthRow, PadRow, net_lengths, pads};
    use crate::view::View;
    use expect_test::expect;
    use facedown_quantity::Nm;

    #[test]
    fn face_down_mirrors_x_and_says_so() {
        let rows = [PadRow {
            name: "p1".into(),
            net: Some("data,[3]".into()),
            x: Nm(100_500),
            y: Nm(40_000),
            width: Nm(60_000),
            height: Nm(60_000),
        }];
        let up = String::from_utf8(pads(&rows, Nm(1_000_000), View::FaceUp)).unwrap();
        expect![[r#"
            # die face up: seen on the pad face, x right, y up, origin at the lower-left die corner
            name,net,x_um,y_um,width_um,height_um
            p1,"data,[3]",100.5,40,60,60
        "#]]
        .assert_eq(&up);
        let down = String::from_utf8(pads(&rows, Nm(1_000_000), View::FaceDown)).unwrap();
        assert!(down.starts_with("# die face down"));
        assert!(down.contains("899.5,40,60,60"));
    }

    #[test]
    fn an_unknown_bound_stays_empty() {
        let row = NetLengthRow { net: "a".into(), pads: 1, bumps: 1, length: Nm(1_234_500), bound: None };
        let text = String::from_utf8(net_lengths(&[row], View::FaceUp)).unwrap();
        assert!(text.ends_with("a,1,1,1234.5,\n"), "{text}");
    }
}
