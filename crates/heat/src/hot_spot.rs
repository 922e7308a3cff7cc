//! How much hotter than its mean a die's hottest place is: uneven power, and the edge that is cooler than the middle.
//!
//! Uneven power spreads in the die and in the layers next to it as in a compound plate cut off at the die's outline,
//! heated in between: upward and downward admittances add up. The middle of an evenly heated die is warmer than its
//! edge because its carrier takes more heat at the edge; the rise lies below that of an even source on the carrier (a
//! die that does not conduct) and below that of a die on a contact of one temperature
//! ([`crate::spreading::bow_of_conducting_die`]); the two limits are joined like resistances side by side (an estimate,
//! derived).

use crate::network::{Network, Solution, Stage, Upward};
use crate::plate::{Face, Modes, Patch, Plate, Rectangle};
use crate::problem::{Block, Die, Mount};
use crate::sheet::Sheet;
use crate::spreading::bow_of_conducting_die;

/// What lifts the hottest place over the mean, K.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct HotSpot {
    /// By uneven power.
    pub map: f64,
    /// By the cooler edge.
    pub edge: f64,
}

/// Layers below a die's active face, cut off at its outline.
fn downward(network: &Network<'_>, place: usize) -> Plate {
    let die = &network.problem.dies[network.on_bumps[place]];
    let mut layers = vec![network.joints[place]];
    let mut film = 0.0;
    if let Some(stage) = network.interposer.as_ref().or(network.substrate.as_ref()) {
        layers.extend(stage.plate.layers.iter().chain(&stage.plate.beneath));
        film = stage.plate.film;
    }
    Plate { film, ..Plate::on_film(die.width_m, die.height_m, layers, 1.0) }
}

/// Layers above it.
fn upward(network: &Network<'_>, place: usize) -> Plate {
    let die = &network.problem.dies[network.on_bumps[place]];
    let mut layers = network.bodies[place].clone();
    let mut film = 0.0;
    match (&network.lid, network.interfaces[place]) {
        (Some(lid), Some(interface)) => {
            layers.push(interface);
            layers.extend(&lid.plate.layers);
            film = lid.plate.film;
        }
        (None, _) if network.problem.lid.is_none() => {
            film = match network.setting.up {
                Upward::Film(film) => film,
                // A film of air is not felt by what is uneven within a die.
                _ => 0.0,
            };
        }
        _ => {}
    }
    Plate { film, ..Plate::on_film(die.width_m, die.height_m, layers, 1.0) }
}

/// Cells of a power grid that the closed form takes together along each side, at most.
const TOGETHER: usize = 8;

/// Blocks of a die; those of a grid in at most eight columns and rows.
fn coarse_blocks(die: &Die) -> Vec<Block> {
    let Some(grid) = &die.grid else { return die.blocks.clone() };
    let (columns, rows) = (grid.cells.columns, grid.cells.rows());
    let [nx, ny] = [columns.min(TOGETHER), rows.min(TOGETHER)];
    let [w, h] = [grid.width_m / nx as f64, grid.height_m / ny as f64];
    let mut blocks: Vec<Block> = (0..nx * ny)
        .map(|i| {
            let [x, y] = [(i % nx) as f64, (i / nx) as f64];
            Block { x_m: grid.x_m + x * w, y_m: grid.y_m + y * h, width_m: w, height_m: h, power_w: 0.0 }
        })
        .collect();
    for (i, heat) in grid.cells.values.iter().enumerate() {
        // To the block that holds its middle.
        let [x, y] = [(i % columns, columns, nx), (i / columns, rows, ny)]
            .map(|(at, all, n)| (2 * at + 1) * n / (2 * all));
        blocks[y * nx + x].power_w += heat;
    }
    blocks
}

/// Hottest block over the mean of the die by its power map, K.
fn map_rise(network: &Network<'_>, place: usize, die: &Die, scale: f64) -> f64 {
    if (die.blocks.is_empty() && die.grid.is_none()) || scale == 0.0 {
        return 0.0;
    }
    let (down, up) = (downward(network, place), upward(network, place));
    let blocks = coarse_blocks(die);
    let sources: Vec<(Rectangle, f64)> = blocks
        .iter()
        .map(|b| {
            let rectangle = Rectangle { x: [b.x_m, b.x_m + b.width_m], y: [b.y_m, b.y_m + b.height_m] };
            (rectangle, b.power_w * scale)
        })
        .collect();
    let patches: Vec<Patch> = sources.iter().map(|(r, _)| Patch::rectangle(*r)).collect();
    let count = Modes::count_for(&down, &patches, 8.0, 64);
    let modes = Modes::from_impedance([die.width_m, die.height_m], count, |beta| {
        if beta == 0.0 { 0.0 } else { 1.0 / (down.admittance(beta) + up.admittance(beta)) }
    });
    let centres: Vec<[f64; 2]> =
        sources.iter().map(|(r, _)| [(r.x[0] + r.x[1]) / 2.0, (r.y[0] + r.y[1]) / 2.0]).collect();
    modes.field(&sources, &centres).into_iter().fold(0.0, f64::max)
}

/// Middle over mean of an evenly heated source on a stage for one watt, K/W.
fn bulge(stage: &Stage, patch: &Patch, centre: [f64; 2]) -> f64 {
    (stage.modes.at(patch, centre, Face::Heated) - stage.modes.mean(patch, patch)).max(0.0)
}

fn edge_rise(network: &Network<'_>, s: &Solution, place: usize, die: &Die) -> f64 {
    let (down, up) = (s.down[place], s.up[place]);
    let moving = down.abs() + up.abs();
    let conductance: f64 = network.bodies[place].iter().map(|b: &Sheet| b.thickness * b.in_plane).sum();
    if moving <= 0.0 {
        return 0.0;
    }
    let centre = |stage: &Stage, shift: [f64; 2]| {
        [
            stage.plate.width_m / 2.0 + die.at_m[0] + shift[0],
            stage.plate.height_m / 2.0 + die.at_m[1] + shift[1],
        ]
    };
    let mut even = 0.0;
    if let Some(stage) = network.interposer.as_ref().or(network.substrate.as_ref()) {
        even += down.abs() / moving
            * down.max(0.0)
            * bulge(stage, &stage.patches[place], centre(stage, [0.0; 2]));
    }
    if let (Some(stage), Some(_)) = (&network.lid, network.interfaces[place]) {
        let shift = network.problem.interposer.as_ref().map_or([0.0; 2], |i| i.at_m);
        even += up.abs() / moving * up.max(0.0) * bulge(stage, &stage.patches[place], centre(stage, shift));
    }
    let smooth = bow_of_conducting_die() * moving / conductance;
    if even > 0.0 { even * smooth / (even + smooth) } else { 0.0 }
}

/// Hot spots of the dies on bumps.
pub(crate) fn of_dies(network: &Network<'_>, s: &Solution) -> Vec<HotSpot> {
    network
        .on_bumps
        .iter()
        .enumerate()
        .map(|(place, &index)| {
            let die = &network.problem.dies[index];
            let power = network.setting.powers_w[index];
            let listed: f64 = match &die.grid {
                Some(grid) => grid.cells.values.iter().sum(),
                None => die.blocks.iter().map(|b| b.power_w).sum(),
            };
            // A test power keeps the shape of the map; what is even or in the bumps lifts nothing over the mean.
            let own = if die.power_w > 0.0 { 1.0 - (die.even_w + die.joule_w()) / die.power_w } else { 1.0 };
            let scale = if listed > 0.0 { own * power / listed } else { 0.0 };
            HotSpot { map: map_rise(network, place, die, scale), edge: edge_rise(network, s, place, die) }
        })
        .collect()
}

/// Rise of the active face of a die that stands on another, over the back of its host, K: its body and attach, and the
/// spreading into the host.
pub(crate) fn stacked_rise(network: &Network<'_>, index: usize, temperature_k: f64) -> f64 {
    let die = &network.problem.dies[index];
    let Mount::OnDie { host, attach } = &die.mount else { return 0.0 };
    let Some(place) = network.on_bumps.iter().position(|i| i == host) else { return 0.0 };
    let own: f64 = die
        .body
        .iter()
        .chain(attach)
        .map(|l| crate::mixing::sheet(l, temperature_k, network.setting.pattern).resistance())
        .sum();
    let below = downward(network, place);
    let mut layers: Vec<Sheet> = network.bodies[place].iter().rev().copied().collect();
    layers.extend(&below.layers);
    let plate = Plate { film: below.film, ..Plate::on_film(below.width_m, below.height_m, layers, 1.0) };
    let centre = [plate.width_m / 2.0 + die.at_m[0], plate.height_m / 2.0 + die.at_m[1]];
    let patch = Patch::rectangle(Rectangle::centred(centre, die.width_m, die.height_m));
    let count = Modes::count_for(&plate, std::slice::from_ref(&patch), 8.0, 96);
    let modes = Modes::from_impedance([plate.width_m, plate.height_m], count, |beta| {
        if beta == 0.0 { 0.0 } else { 1.0 / plate.admittance(beta) }
    });
    network.setting.powers_w[index] * (own / (die.width_m * die.height_m) + modes.mean(&patch, &patch))
}
