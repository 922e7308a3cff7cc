//! The section of the page: what a plane through the first die cuts, from the board upward.

use super::PageInput;
use crate::chart::section::{Dimension, Piece, Section, Shape};
use crate::palette::Made;
use facedown_material::MadeOf;
use facedown_package::{Bumps, Design, Die, Form, Mount, StackLayer, thickness_m};
use facedown_pipeline::studies::placing::{centre, footprint, from_above};
use std::collections::BTreeMap;

/// Height of a ball over its diameter after attach where no study has computed it (common practice, no source).
const BALL_SQUASH: f64 = 0.75;

/// The section and the sentence under it; none for a design without a die.
pub fn section(input: &PageInput<'_>) -> Option<(Section, String)> {
    let first = input.design.dies.first()?;
    let mut cut = Cut {
        input,
        design: input.design,
        section: Section::default(),
        plane: 0.0,
        tops: BTreeMap::new(),
        notes: Vec::new(),
    };
    cut.plane = cut.place(first)[1];
    cut.carriers();
    for die in &input.design.dies {
        cut.die(die);
    }
    cut.form();
    cut.legend();
    let mut caption = format!(
        "Cut at y = {:.1} mm from the package's centre. Colours say what a thing is made of; copper layers are broken by their \
         share of copper.",
        cut.plane * 1e3
    );
    for note in cut.notes {
        caption.push(' ');
        caption.push_str(&note);
    }
    Some((cut.section, caption))
}

struct Cut<'a> {
    input: &'a PageInput<'a>,
    design: &'a Design,
    section: Section,
    /// The plane's y from the package's centre, m.
    plane: f64,
    /// Upper face of what dies stand on, by name, m above the board.
    tops: BTreeMap<String, f64>,
    notes: Vec<String>,
}

impl Cut<'_> {
    fn push(&mut self, made: Made, shape: Shape, x: [f64; 2], z: [f64; 2]) {
        if x[1] > x[0] && z[1] > z[0] && x.iter().chain(&z).all(|v| v.is_finite()) {
            self.section.pieces.push(Piece { made, shape, x, z });
        }
    }

    fn measure(&mut self, name: impl Into<String>, z: [f64; 2]) {
        if z[1] > z[0] {
            self.section.dimensions.push(Dimension { name: name.into(), z });
        }
    }

    fn made(&self, material: &str) -> Made {
        match self.design.materials.library.get(material).map(|m| m.made_of) {
            Ok(MadeOf::Silicon) => Made::Silicon,
            Ok(MadeOf::Copper) => Made::Copper,
            Ok(MadeOf::Solder) => Made::Solder,
            Ok(MadeOf::Plate) => Made::Plate,
            Ok(MadeOf::Underfill) => Made::Adhesive,
            Ok(MadeOf::Laminate) => Made::Laminate,
            Ok(MadeOf::Interface) => Made::ThermalInterface,
            Ok(MadeOf::Dielectric | MadeOf::Gas) | Err(_) => Made::Dielectric,
        }
    }

    /// Centre of a die from the package's centre, m.
    fn place(&self, die: &Die) -> [f64; 2] {
        let mut at = centre(die);
        let mut on = die.on();
        // A chain of dies is as long as there are dies; a ring of them has been refused by the checks.
        for _ in 0..self.design.dies.len() {
            let Some((_, host)) = self.design.die(on) else { break };
            let below = centre(host);
            at = [at[0] + below[0], at[1] + below[1]];
            on = host.on();
        }
        if on == "interposer" {
            let below =
                self.design.interposer.as_ref().and_then(|i| i.at).map_or([0.0; 2], |a| a.map(|v| v.si()));
            at = [at[0] + below[0], at[1] + below[1]];
        }
        at
    }

    /// Layers from the top down, the upper face at `top`.
    fn stack(&mut self, layers: &[StackLayer], x: [f64; 2], top: f64) {
        let mut z = top;
        let body = layers.iter().map(|l| self.made(l.material.as_str())).find(|m| *m != Made::Copper);
        for layer in layers {
            let low = z - layer.thickness.si();
            let made = self.made(layer.material.as_str());
            if made == Made::Copper {
                let under =
                    layer.fill.as_ref().map(|f| self.made(f.as_str())).or(body).unwrap_or(Made::Laminate);
                self.push(under, Shape::Block, x, [low, z]);
                self.push(Made::Copper, Shape::Metal(layer.copper.map_or(1.0, |c| c.si())), x, [low, z]);
            } else {
                self.push(made, Shape::Block, x, [low, z]);
            }
            z = low;
        }
    }

    /// Board, balls, substrate, interposer.
    fn carriers(&mut self) {
        let Some(substrate) = &self.design.substrate else {
            self.tops.insert("substrate".into(), 0.0);
            return;
        };
        let half = substrate.width.si() / 2.0;
        let x = [-half, half];
        let mut z = 0.0;
        if let Some(balls) = &self.design.balls {
            let solved = self.input.joints.iter().find_map(|(_, o)| o.balls.as_ref()).map(|b| b.stand_off);
            let written = balls.stand_off.map(|s| s.si());
            z = solved.or(written).unwrap_or_else(|| {
                self.notes.push("The balls are drawn at three quarters of their diameter.".into());
                BALL_SQUASH * balls.diameter.si()
            });
            let sites = balls.sites(substrate);
            let row = nearest_row(sites.iter().map(|s| s.y.m()), self.plane);
            let r = balls.diameter.si() / 2.0;
            for site in sites.iter().filter(|s| (s.y.m() - row).abs() < 1e-9) {
                self.push(Made::Solder, Shape::Barrel, [site.x.m() - r, site.x.m() + r], [0.0, z]);
            }
            self.measure("ball gap", [0.0, z]);
        }
        let thickness = thickness_m(&substrate.layers);
        if let Some(board) = &self.design.board {
            let whole = thickness_m(&board.layers);
            let shown = whole.min(0.5 * (z + thickness));
            self.push(Made::Laminate, Shape::Block, [-half * 1.04, half * 1.04], [-shown, 0.0]);
            self.notes.push("Of the board only the upper part is drawn.".into());
        }
        self.stack(&substrate.layers, x, z + thickness);
        self.measure("substrate", [z, z + thickness]);
        z += thickness;
        self.tops.insert("substrate".into(), z);
        let Some(interposer) = &self.design.interposer else { return };
        let at = interposer.at.map_or([0.0; 2], |a| a.map(|v| v.si()));
        let (w, h) = (interposer.width.si(), interposer.height.si());
        if (self.plane - at[1]).abs() > h / 2.0 {
            return;
        }
        let x = [at[0] - w / 2.0, at[0] + w / 2.0];
        if let Some(bumps) = &interposer.bumps {
            let (gap, width) = self.gap("interposer", bumps);
            self.push(Made::Adhesive, Shape::Block, x, [z, z + gap]);
            let pitch = bumps.pitch.si();
            let count = ((w - 2.0 * pitch) / pitch).floor().clamp(0.0, 2000.0) as i64;
            for index in 0..=count {
                let middle = at[0] + (index as f64 - count as f64 / 2.0) * pitch;
                self.push(
                    Made::Solder,
                    Shape::Barrel,
                    [middle - width / 2.0, middle + width / 2.0],
                    [z, z + gap],
                );
            }
            self.measure("gap under interposer", [z, z + gap]);
            z += gap;
        }
        let thickness = thickness_m(&interposer.layers);
        self.stack(&interposer.layers, x, z + thickness);
        self.measure("interposer", [z, z + thickness]);
        self.tops.insert("interposer".into(), z + thickness);
    }

    /// Gap under a part and width of its joints, m: as the joint study found them, else as the design has them.
    fn gap(&self, part: &str, bumps: &Bumps) -> (f64, f64) {
        let sizes = bumps.sizes();
        let solved =
            self.input.joints.iter().find(|(name, _)| *name == part).and_then(|(_, o)| o.bumps.as_ref());
        match solved {
            Some(array) => {
                (array.stand_off, array.kinds.first().map_or(sizes.bump.m(), |k| k.width.max(sizes.ubm.m())))
            }
            None => (sizes.height.m(), sizes.bump.m()),
        }
    }

    fn die(&mut self, die: &Die) {
        let Some(mut z) = self.tops.get(die.on()).copied() else { return };
        let Ok((size, turns)) = footprint(die) else { return };
        let at = self.place(die);
        if (self.plane - at[1]).abs() > size[1] / 2.0 {
            return;
        }
        let x = [at[0] - size[0] / 2.0, at[0] + size[0] / 2.0];
        let only = self.section.dimensions.iter().all(|d| !d.name.starts_with("gap under die"));
        if die.mount() == Mount::Flip {
            if let Some(bumps) = &die.bumps {
                let (gap, width) = self.gap(die.name.as_str(), bumps);
                self.underfill(die, x, z, gap);
                let sites = die.sites().sites;
                let seen: Vec<[f64; 2]> = sites
                    .iter()
                    .map(|s| {
                        let [px, py, _, _] = from_above(die, turns, [s.x.m(), s.y.m(), 0.0, 0.0]);
                        [x[0] + px, at[1] - size[1] / 2.0 + py]
                    })
                    .collect();
                let row = nearest_row(seen.iter().map(|p| p[1]), self.plane);
                for [px, _] in seen.iter().filter(|p| (p[1] - row).abs() < 1e-9) {
                    self.push(
                        Made::Solder,
                        Shape::Barrel,
                        [px - width / 2.0, px + width / 2.0],
                        [z, z + gap],
                    );
                }
                if only {
                    self.measure("gap under die", [z, z + gap]);
                }
                z += gap;
            }
            if let Some(rdl) = &die.rdl {
                let film: f64 = rdl.dielectrics.iter().map(|d| d.thickness.si()).sum();
                let metal = rdl.thickness.map_or(0.0, |t| t.si());
                self.push(Made::Dielectric, Shape::Block, x, [z, z + film]);
                let low = z + 0.5 * (film - metal).max(0.0);
                self.push(Made::Copper, Shape::Metal(0.5), x, [low, low + metal.min(film)]);
                z += film;
            }
        } else {
            if let Some(attach) = &die.attach {
                let made = self.made(attach.material.as_str());
                self.push(made, Shape::Block, x, [z, z + attach.thickness.si()]);
                z += attach.thickness.si();
            }
            self.notes.push(format!("The wires of die {} are not drawn.", die.name));
        }
        let top = z + die.thickness.si();
        let made = self.made(die.material());
        self.push(made, Shape::Block, x, [z, top]);
        if only || die.mount() == Mount::Wire {
            self.measure(format!("die {}", die.name), [z, top]);
        }
        self.tops.insert(die.name.to_string(), top);
    }

    fn underfill(&mut self, die: &Die, x: [f64; 2], z: f64, gap: f64) {
        let Some(underfill) = self.design.process.as_ref().and_then(|p| p.underfill.as_ref()) else { return };
        if !underfill.dies.is_empty() && !underfill.dies.contains(&die.name) {
            return;
        }
        self.push(Made::Adhesive, Shape::Block, x, [z, z + gap]);
        let Some((_, found)) = self.input.underfill.iter().find(|(name, _)| *name == die.name.as_str())
        else {
            return;
        };
        let (width, height) = (found.fillet_width_m, found.fillet_height_m + gap);
        if width > 0.0 && width.is_finite() && height.is_finite() {
            self.push(Made::Adhesive, Shape::Fillet, [x[1], x[1] + width], [z, z + height]);
            // The fillet on the left is the mirror of that on the right; its upright side is at the die.
            self.section.pieces.push(Piece {
                made: Made::Adhesive,
                shape: Shape::Fillet,
                x: [x[0], x[0] - width],
                z: [z, z + height],
            });
        }
    }

    /// Ring or lid, and what fills the gap between lid and dies.
    fn form(&mut self) {
        let Some(substrate) = &self.design.substrate else { return };
        let half = substrate.width.si() / 2.0;
        let base = self.tops.get("substrate").copied().unwrap_or(0.0);
        let feet = |setback: f64, band: f64| {
            [[-half + setback, -half + setback + band], [half - setback - band, half - setback]]
        };
        match &self.design.form {
            Some(Form::Ring(ring)) => {
                let glue = base + ring.adhesive_thickness.si();
                let top = glue + ring.thickness.si();
                let made = self.made(ring.material.as_str());
                for x in feet(ring.setback.map_or(0.0, |s| s.si()), ring.band.si()) {
                    self.push(Made::Adhesive, Shape::Block, x, [base, glue]);
                    self.push(made, Shape::Block, x, [glue, top]);
                }
                self.measure("ring", [glue, top]);
            }
            Some(Form::Lid(lid)) => {
                let glue = base + lid.adhesive_thickness.si();
                let under = glue + lid.foot_height.si();
                let top = under + lid.thickness.si();
                let made = self.made(lid.material.as_str());
                let setback = lid.setback.map_or(0.0, |s| s.si());
                for die in &self.design.dies {
                    self.interface(die, under);
                }
                for x in feet(setback, lid.band.si()) {
                    self.push(Made::Adhesive, Shape::Block, x, [base, glue]);
                    self.push(made, Shape::Block, x, [glue, under]);
                }
                self.push(made, Shape::Block, [-half + setback, half - setback], [under, top]);
                self.measure("lid", [under, top]);
            }
            _ => {}
        }
    }

    /// The thermal interface between a die and the lid, whose lower face is at `under`.
    fn interface(&mut self, die: &Die, under: f64) {
        let name = die.name.as_str();
        let joins = self.design.interfaces.iter().find(|i| {
            let parts = [i.between[0].as_str(), i.between[1].as_str()];
            parts.contains(&name) && parts.contains(&"lid")
        });
        let (Some(_), Some(top), Ok((size, _))) = (joins, self.tops.get(name).copied(), footprint(die))
        else {
            return;
        };
        let at = self.place(die);
        if (self.plane - at[1]).abs() > size[1] / 2.0 {
            return;
        }
        let x = [at[0] - size[0] / 2.0, at[0] + size[0] / 2.0];
        self.push(Made::ThermalInterface, Shape::Block, x, [top, under]);
        if self.section.dimensions.iter().all(|d| d.name != "thermal interface") {
            self.measure("thermal interface", [top, under]);
        }
    }

    fn legend(&mut self) {
        let called = |made: Made| match made {
            Made::Silicon => "silicon",
            Made::Copper | Made::SecondCopper => "copper",
            Made::Solder => "solder",
            Made::Plate => "nickel, steel, other plate",
            Made::Dielectric => "dielectric, mask",
            Made::Adhesive => "underfill, adhesive",
            Made::Laminate => "laminate, board",
            Made::ThermalInterface => "thermal interface",
        };
        let present = |made: &Made| self.section.pieces.iter().any(|p| p.made == *made);
        self.section.legend = Made::ALL.into_iter().filter(present).map(|m| (m, called(m).into())).collect();
    }
}

/// The y of the row nearest to a plane.
fn nearest_row(rows: impl Iterator<Item = f64>, plane: f64) -> f64 {
    rows.min_by(|a, b| (a - plane).abs().total_cmp(&(b - plane).abs())).unwrap_or(plane)
}
