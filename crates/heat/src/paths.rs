//! Where the kelvins go: from the hottest junction to the ambient, once upward and once downward.

use crate::hot_spot::HotSpot;
use crate::network::{Downward, Network, Solution, Upward};
use crate::outcome::Step;
use crate::problem::HeatSink;
use crate::sheet::Sheet;

struct Path {
    steps: Vec<Step>,
}

impl Path {
    fn push(&mut self, name: &str, kelvins: f64, heat_w: f64) {
        let resistance_k_w = if heat_w.abs() > 1e-12 { kelvins / heat_w } else { 0.0 };
        self.steps.push(Step { name: name.into(), kelvins, share: 0.0, heat_w, resistance_k_w });
    }

    fn finish(mut self) -> Vec<Step> {
        let total: f64 = self.steps.iter().map(|s| s.kelvins).sum();
        for step in &mut self.steps {
            step.share = if total.abs() > 1e-12 { step.kelvins / total } else { 0.0 };
        }
        self.steps
    }
}

fn start(hot: &HotSpot, heat_w: f64) -> Path {
    let mut path = Path { steps: Vec::new() };
    if hot.map > 0.0 {
        path.push("uneven power in the die", hot.map, heat_w);
    }
    if hot.edge > 0.0 {
        path.push("middle of the die over its mean", hot.edge, heat_w);
    }
    path
}

/// Upward from the die at `place` of the network; empty where no heat leaves there.
pub(crate) fn up(
    network: &Network<'_>,
    s: &Solution,
    place: usize,
    hot: &HotSpot,
    heat_sink: Option<&HeatSink>,
) -> Vec<Step> {
    let heat = s.up[place];
    let connected = network.lid.is_none() || network.interfaces[place].is_some();
    if heat <= 0.0 || matches!(network.setting.up, Upward::Insulated) || !connected {
        return Vec::new();
    }
    let mut path = start(hot, heat);
    let die = &network.problem.dies[network.on_bumps[place]];
    path.push("die", s.junction[place] - s.back[place], s.body_up[place]);
    let mut last = s.back[place];
    if let Some(interface) = &network.interfaces[place] {
        let drop = interface.resistance() * heat / (die.width_m * die.height_m);
        let name = die.interface.as_ref().map_or("interface", |t| t.name.as_str());
        path.push(name, drop, heat);
        last -= drop;
    }
    let leaving = s.faces[0].heat;
    if network.lid.is_some() {
        path.push("lid", last - s.lid, leaving);
        last = s.lid;
    }
    match (network.setting.up, heat_sink) {
        (Upward::Film(_), Some(sink)) => {
            let own = if network.lid.is_some() { leaving } else { heat };
            // On bare dies each takes its share of the sink by area.
            let part = if network.lid.is_some() { 1.0 } else { die.width_m * die.height_m / s.faces[0].area };
            let drop = (sink.resistance_k_w / part * own).min(last);
            if let Some(interface) = &sink.interface {
                path.push(&interface.name, last - drop, own);
                last = drop;
            }
            path.push("heat sink to air", last, own);
        }
        (Upward::Film(_), None) => {
            path.push("film on the top", last, if network.lid.is_some() { leaving } else { heat })
        }
        _ => path.push("air above the package", last, if network.lid.is_some() { leaving } else { heat }),
    }
    path.finish()
}

/// Downward from the die at `place`; empty where no heat leaves there.
pub(crate) fn down(network: &Network<'_>, s: &Solution, place: usize, hot: &HotSpot) -> Vec<Step> {
    let heat = s.down[place];
    let Some(substrate) = network.substrate.as_ref().filter(|_| heat > 0.0) else { return Vec::new() };
    let mut path = start(hot, heat);
    path.push("bumps and underfill", s.junction[place] - s.under_bumps[place], heat);
    let mut last = s.under_bumps[place];
    let entering: f64 = s.down.iter().sum();
    if let (Some(interposer), Some(joints)) = (&network.interposer, &network.interposer_joints) {
        let drop = entering * joints.resistance() / interposer.plate.area();
        path.push("interposer", last - s.under_interposer - drop, heat);
        path.push("interposer bumps", drop, entering);
        last = s.under_interposer;
    }
    let area = substrate.plate.area();
    let balls = s.balls * network.balls.resistance() / area;
    path.push("substrate", last - balls - s.board_footprint, entering);
    path.push("balls", balls, s.balls);
    if network.setting.down == Downward::Ring {
        path.push("board to its sensor", s.board_footprint - s.board_sensor, s.balls);
        path.push("board to the ring", s.board_sensor, s.balls);
    } else {
        let films: f64 = s.faces[2..].iter().map(|f| if f.rise != 0.0 { f.heat / f.rise } else { 0.0 }).sum();
        let air = if films > 0.0 { s.balls / films } else { 0.0 };
        path.push("board", s.board_footprint - air, s.balls);
        path.push("air around the board", air, s.balls);
    }
    path.finish()
}

/// Resistance of a stack as one layer with its name.
pub(crate) fn effective(name: &str, sheets: &[Sheet]) -> crate::outcome::Effective {
    let whole = crate::mixing::whole(sheets);
    crate::outcome::Effective {
        name: name.into(),
        thickness_m: whole.thickness,
        in_plane: whole.in_plane,
        through: whole.through,
    }
}
