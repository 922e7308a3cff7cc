//! What the study refuses: numbers that are not finite or not physical, places outside what they lie on.

use crate::problem::{
    BondLine, Carrier, Cells, Die, Interface, Joints, Layer, Metal, Mount, Problem, Surroundings, Table,
    Trace, VoidPlaces,
};
use facedown_evidence::input::{self, Missing, OutOfRange, within};

/// Why a problem cannot be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// A number outside what is physical.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Something is not there.
    #[error(transparent)]
    Missing(#[from] Missing),
    /// A part reaches over the edge of what it lies on.
    #[error("{what} reaches over the edge of {on}: place it inside, or make {on} larger")]
    Outside {
        /// The part.
        what: String,
        /// What it lies on.
        on: String,
    },
    /// No heat can leave.
    #[error("no heat can leave the package: {0}")]
    NoWayOut(&'static str),
    /// The package cannot be cut into cells.
    #[error("the solid model cannot be cut: {why}")]
    NoGrid {
        /// Why.
        why: String,
    },
    /// The films and temperatures did not agree.
    #[error("temperatures and films do not settle at {power_w} W: check the power and the films")]
    Unsettled {
        /// Heat, W.
        power_w: f64,
    },
}

type Checked = Result<(), Refusal>;
type Ranged = Result<(), OutOfRange>;

fn refuse(what: impl Into<String>, value: f64, allowed: &'static str) -> Checked {
    Err(OutOfRange::new(what, value, allowed).into())
}

fn length(what: impl Into<String>, value: f64) -> Ranged {
    // A nanometre to ten metres keeps every later quotient far from the ends of the number range.
    within(what, value, 1e-9, 10.0, "a length from 1 nm to 10 m")
}

fn offset(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, -10.0, 10.0, "within 10 m")
}

fn share(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 0.0, 1.0, "a share from 0 to 1")
}

fn power(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 0.0, 1e5, "from 0 to 100 kW")
}

fn film(what: impl Into<String>, value: f64) -> Ranged {
    within(what, value, 1e-3, 1e9, "from 0.001 to 1e9 W/m2K")
}

fn table(what: &str, table: &Table) -> Checked {
    let allowed = "a conductivity from 0.0001 to 100000 W/mK";
    input::table(what, table, 1e-4..=1e5, allowed, "give the conductivity at one temperature at least")
}

fn metal(what: &str, metal: &Metal) -> Checked {
    share(format!("the metal share of {what}"), metal.share)?;
    table(&format!("the conductivity of the metal of {what}"), &metal.conductivity)
}

fn layer(on: &str, layer: &Layer) -> Checked {
    let name = format!("layer {} of {on}", layer.name);
    length(format!("the thickness of {name}"), layer.thickness_m)?;
    table(&format!("the conductivity of {name}"), &layer.in_plane)?;
    if let Some(through) = &layer.through {
        table(&format!("the conductivity through {name}"), through)?;
    }
    for m in layer.metal.iter().chain(&layer.columns) {
        metal(&name, m)?;
    }
    Ok(())
}

fn layers(on: &str, list: &[Layer]) -> Checked {
    if list.is_empty() {
        return Err(Missing::new(format!("the layers of {on}"), "give one layer at least").into());
    }
    list.iter().try_for_each(|l| layer(on, l))
}

fn joints(of: &str, joints: &Joints, [width, height]: [f64; 2]) -> Checked {
    table(&format!("the conductivity between the joints of {of}"), &joints.fill)?;
    if joints.pieces.is_empty() {
        return Err(Missing::new(format!("the shape of the joints of {of}"), "give one piece").into());
    }
    if !(joints.count >= 0.0 && joints.count <= 1e9) {
        return refuse(format!("the number of joints of {of}"), joints.count, "from 0 to 1e9");
    }
    if !joints.places.is_empty() && joints.places.len() as f64 != joints.count {
        return refuse(
            format!("the number of places of the joints of {of}"),
            joints.places.len() as f64,
            "the number of joints, or none",
        );
    }
    for place in &joints.places {
        for (at, side) in place.iter().zip([width, height]) {
            if !(*at >= 0.0 && *at <= side) {
                return refuse(
                    format!("the place of a joint of {of}, m"),
                    *at,
                    "within the area of the joints",
                );
            }
        }
    }
    for piece in &joints.pieces {
        length(format!("the height of a joint of {of}"), piece.height_m)?;
        length(format!("the diameter of a joint of {of}"), piece.diameter_m)?;
        table(&format!("the conductivity of a joint of {of}"), &piece.conductivity)?;
        let taken = joints.count * std::f64::consts::PI * piece.diameter_m * piece.diameter_m
            / 4.0
            / (width * height);
        if taken > 1.0 {
            return refuse(
                format!("the share of the area under {of} that its joints take"),
                taken,
                "at most 1",
            );
        }
    }
    Ok(())
}

fn interface(interface: &Interface) -> Checked {
    let name = &interface.name;
    table(&format!("the conductivity of {name}"), &interface.conductivity)?;
    if let BondLine::Pressed { yield_stress_pa, pressure_pa } = interface.bond_line {
        if !(1e-3..=1e9).contains(&yield_stress_pa) {
            return refuse(format!("the yield stress of {name}"), yield_stress_pa, "from 0.001 to 1e9 Pa");
        }
        if !(1.0..=1e9).contains(&pressure_pa) {
            return refuse(format!("the pressure on {name}"), pressure_pa, "from 1 to 1e9 Pa");
        }
    }
    length(format!("the bond line of {name}"), interface.bond_line.thickness_m())?;
    if !(0.0..=1.0).contains(&interface.contact_m2_k_w) {
        return refuse(
            format!("the contact resistance of {name}"),
            interface.contact_m2_k_w,
            "from 0 to 1 m2K/W",
        );
    }
    interface.void_places.iter().try_for_each(|places| void_places(name, places))?;
    if !(0.0..=0.99).contains(&interface.voids) {
        return refuse(format!("the void share of {name}"), interface.voids, "a share from 0 to 0.99");
    }
    Ok(())
}

/// The parts of a die's heat: cells, what is even, what its bumps have.
fn heat_of(name: &str, die: &Die) -> Checked {
    power(format!("the evenly spread heat of {name}"), die.even_w)?;
    if let Some(grid) = &die.grid {
        cells(&format!("the power grid of {name}"), &grid.cells)?;
        for value in &grid.cells.values {
            power(format!("the power of a cell of {name}"), *value)?;
        }
        length(format!("the width of the power grid of {name}"), grid.width_m)?;
        length(format!("the height of the power grid of {name}"), grid.height_m)?;
        let centre =
            [grid.x_m + (grid.width_m - die.width_m) / 2.0, grid.y_m + (grid.height_m - die.height_m) / 2.0];
        if !lies_on(centre, [grid.width_m, grid.height_m], [die.width_m, die.height_m]) {
            return Err(Refusal::Outside { what: "a power grid".into(), on: name.into() });
        }
    }
    if let Mount::Bumps(joints) = &die.mount {
        if !joints.heats_w.is_empty() && joints.heats_w.len() != joints.places.len() {
            let count = joints.heats_w.len() as f64;
            return refuse(
                format!("the number of heats of the bumps of {name}"),
                count,
                "one for each place",
            );
        }
        for heat in &joints.heats_w {
            power(format!("the heat of a bump of {name}"), *heat)?;
        }
    }
    let parts = die.even_w + die.joule_w();
    if parts > die.power_w * (1.0 + 1e-9) {
        return refuse(format!("the heat of currents in {name}, W"), parts, "at most the heat of the die");
    }
    Ok(())
}

fn cells(what: &str, cells: &Cells) -> Checked {
    let whole =
        cells.columns > 0 && !cells.values.is_empty() && cells.values.len().is_multiple_of(cells.columns);
    if whole {
        Ok(())
    } else {
        refuse(format!("the number of cells of {what}"), cells.values.len() as f64, "whole rows")
    }
}

fn void_places(name: &str, places: &VoidPlaces) -> Checked {
    match places {
        VoidPlaces::Circles(circles) => {
            for (at, diameter) in circles {
                at.iter().try_for_each(|&v| offset(format!("the place of a void of {name}"), v))?;
                length(format!("the diameter of a void of {name}"), *diameter)?;
            }
        }
        VoidPlaces::Map(map) => {
            cells(&format!("the voids of {name}"), map)?;
            map.values.iter().try_for_each(|v| share(format!("a cell of the voids of {name}"), *v))?;
        }
    }
    Ok(())
}

fn trace(p: &Problem, trace: &Trace) -> Checked {
    let rows = trace.durations_s.len();
    if rows == 0 || trace.courses.is_empty() {
        return Err(Missing::new("what follows the power trace", "give a row and a course at least").into());
    }
    for duration in &trace.durations_s {
        within("the length of a row of the power trace", *duration, 1e-12, 1e9, "from 1e-12 to 1e9 s")?;
    }
    for course in &trace.courses {
        let known = p.dies.get(course.die).is_some_and(|d| course.block.is_none_or(|b| b < d.blocks.len()));
        if !known || course.powers_w.len() != rows {
            let what = format!("the powers of {} in the trace", course.name);
            return refuse(
                what,
                course.powers_w.len() as f64,
                "one for each row, of a die or block that is there",
            );
        }
        course.powers_w.iter().try_for_each(|w| power(format!("the power of {}", course.name), *w))?;
    }
    Ok(())
}

fn carrier(name: &str, c: &Carrier) -> Checked {
    length(format!("the width of {name}"), c.width_m)?;
    length(format!("the height of {name}"), c.height_m)?;
    layers(name, &c.layers)
}

/// True when a rectangle around `at` lies on one of that size; a micrometre over the edge is rounding.
fn lies_on(at: [f64; 2], size: [f64; 2], on: [f64; 2]) -> bool {
    (0..2).all(|i| at[i].abs() + size[i] / 2.0 <= on[i] / 2.0 + 1e-6)
}

/// Checks a whole problem.
pub(crate) fn check(p: &Problem) -> Checked {
    carrier("the substrate", &p.substrate)?;
    let size = [p.substrate.width_m, p.substrate.height_m];
    joints("the substrate", &p.balls, size)?;
    if let Some(board) = &p.board {
        carrier("the board", board)?;
        if !lies_on([0.0; 2], size, [board.width_m, board.height_m]) {
            return Err(Refusal::Outside { what: "the substrate".into(), on: "the board".into() });
        }
    }
    let (mut on, mut on_name) = (size, "the substrate");
    if let Some(i) = &p.interposer {
        carrier("the interposer", &i.carrier)?;
        let own = [i.carrier.width_m, i.carrier.height_m];
        joints("the interposer", &i.joints, own)?;
        i.at_m.iter().try_for_each(|&v| offset("the place of the interposer", v))?;
        if !lies_on(i.at_m, own, size) {
            return Err(Refusal::Outside { what: "the interposer".into(), on: on_name.into() });
        }
        (on, on_name) = (own, "the interposer");
    }
    if !p.dies.iter().any(|d| matches!(d.mount, Mount::Bumps(_))) {
        return Err(Missing::new("a die on bumps", "mount one die on bumps at least").into());
    }
    for (index, die) in p.dies.iter().enumerate() {
        let name = format!("die {}", die.name);
        length(format!("the width of {name}"), die.width_m)?;
        length(format!("the height of {name}"), die.height_m)?;
        die.at_m.iter().try_for_each(|&v| offset(format!("the place of {name}"), v))?;
        layers(&name, &die.body)?;
        power(format!("the power of {name}"), die.power_w)?;
        let own = [die.width_m, die.height_m];
        for block in &die.blocks {
            power(format!("the power of a block of {name}"), block.power_w)?;
            length(format!("the width of a block of {name}"), block.width_m)?;
            length(format!("the height of a block of {name}"), block.height_m)?;
            let centre = [
                block.x_m + (block.width_m - die.width_m) / 2.0,
                block.y_m + (block.height_m - die.height_m) / 2.0,
            ];
            if !lies_on(centre, [block.width_m, block.height_m], own) {
                return Err(Refusal::Outside { what: "a power block".into(), on: name });
            }
        }
        heat_of(&name, die)?;
        match &die.mount {
            Mount::Bumps(bumps) => {
                joints(&name, bumps, own)?;
                if !lies_on(die.at_m, own, on) {
                    return Err(Refusal::Outside { what: name, on: on_name.into() });
                }
            }
            Mount::OnDie { host, attach } => {
                attach.iter().try_for_each(|l| layer(&format!("the attach of {name}"), l))?;
                let below =
                    p.dies.get(*host).filter(|h| *host != index && matches!(h.mount, Mount::Bumps(_)));
                let Some(below) = below else {
                    return Err(Missing::new(
                        format!("the die under {name}"),
                        "name a die that is mounted on bumps",
                    )
                    .into());
                };
                if !lies_on(die.at_m, own, [below.width_m, below.height_m]) {
                    return Err(Refusal::Outside { what: name, on: format!("die {}", below.name) });
                }
            }
        }
        die.interface.iter().try_for_each(interface)?;
    }
    if let Some(lid) = &p.lid {
        length("the width of the lid", lid.width_m)?;
        length("the height of the lid", lid.height_m)?;
        length("the thickness of the lid", lid.thickness_m)?;
        table("the conductivity of the lid", &lid.conductivity)?;
        let own = [lid.width_m, lid.height_m];
        if !lies_on([0.0; 2], own, size) {
            return Err(Refusal::Outside { what: "the lid".into(), on: "the substrate".into() });
        }
        let shift = p.interposer.as_ref().map_or([0.0; 2], |i| i.at_m);
        for die in p.dies.iter().filter(|d| matches!(d.mount, Mount::Bumps(_)) && d.interface.is_some()) {
            let at = [die.at_m[0] + shift[0], die.at_m[1] + shift[1]];
            if !lies_on(at, [die.width_m, die.height_m], own) {
                return Err(Refusal::Outside { what: format!("die {}", die.name), on: "the lid".into() });
            }
        }
        if let Some(foot) = &lid.foot {
            length("the band of the lid's foot", foot.band_m)?;
            length("the height of the lid's foot", foot.height_m)?;
            layer("the lid's foot", &foot.adhesive)?;
            if 2.0 * foot.band_m >= own[0].min(own[1]) {
                return refuse("the band of the lid's foot", foot.band_m, "less than half of the lid");
            }
        }
    }
    if let Some(ring) = &p.ring {
        length("the width of the ring", ring.width_m)?;
        length("the height of the ring", ring.height_m)?;
        length("the thickness of the ring", ring.thickness_m)?;
        length("the band of the ring", ring.band_m)?;
        table("the conductivity of the ring", &ring.conductivity)?;
        layer("the ring", &ring.adhesive)?;
        let own = [ring.width_m, ring.height_m];
        if !lies_on([0.0; 2], own, size) {
            return Err(Refusal::Outside { what: "the ring".into(), on: "the substrate".into() });
        }
        if 2.0 * ring.band_m >= own[0].min(own[1]) {
            return refuse("the band of the ring", ring.band_m, "less than half of the ring");
        }
    }
    p.trace.iter().try_for_each(|t| trace(p, t))?;
    if let Some(fineness) = p.fineness
        && !(0.1..=8.0).contains(&fineness)
    {
        return refuse("the fineness of the grid", fineness, "from 0.1 to 8");
    }
    let service = &p.service;
    if !(100.0..=1000.0).contains(&service.ambient_k) {
        return refuse("the ambient temperature", service.ambient_k, "from 100 K to 1000 K");
    }
    if let Surroundings::MovingAir { speed_m_s } = service.surroundings
        && !(0.0..=100.0).contains(&speed_m_s)
    {
        return refuse("the air speed", speed_m_s, "from 0 to 100 m/s");
    }
    service.top_film.iter().try_for_each(|&h| film("the film on the top", h))?;
    film("the film of the cold plate", p.cold_plate_film)?;
    if let Some(sink) = &service.heat_sink {
        if !(1e-6..=1e6).contains(&sink.resistance_k_w) {
            return refuse("the resistance of the heat sink", sink.resistance_k_w, "from 1e-6 to 1e6 K/W");
        }
        sink.interface.iter().try_for_each(interface)?;
        if p.lid.is_none() && p.dies.iter().all(|d| !matches!(d.mount, Mount::Bumps(_))) {
            return Err(Refusal::NoWayOut("the heat sink stands on nothing"));
        }
    }
    for (what, value) in [
        ("the emissivity of the top", p.emissivity.top),
        ("the emissivity of the substrate", p.emissivity.substrate),
        ("the emissivity of the board", p.emissivity.board),
    ] {
        share(what, value)?;
    }
    Ok(())
}
