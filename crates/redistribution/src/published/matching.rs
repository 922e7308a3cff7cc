//! Assignment sums of generated pad rings and bump arrays.

use super::{Source, Table};
use facedown_evidence::Basis;
use facedown_graph::assignment::{CostMatrix, Distance, assign_bottleneck, assign_dense, assign_points};
use facedown_graph::flow::{Network, min_cost_maximum_flow};

const SCIPY: Source =
    Source("scipy.optimize.linear_sum_assignment 1.17 (reference library)", Basis::ReferenceLibrary);
const SCIPY_BOTTLENECK: Source = Source(
    "scipy.sparse.csgraph.maximum_bipartite_matching 1.17 with binary search (reference library)",
    Basis::ReferenceLibrary,
);
const NETWORKX: Source =
    Source("networkx 3.6 max_flow_min_cost (reference library)", Basis::ReferenceLibrary);
const UNCROSSING: Source = Source(
    "triangle inequality: a shortest straight pairing has no two crossing segments",
    Basis::CommonPractice,
);

/// A pad ring around an array: die, pads a side, pitches, inset; columns, rows, pitch.
struct Ring {
    id: &'static str,
    die: [f64; 2],
    pads: [usize; 2],
    pad_pitch: [f64; 2],
    inset: f64,
    array: [usize; 2],
    pitch: f64,
    /// Leave out the four central sites.
    hollow: bool,
    /// Sums for straight, octilinear, rectilinear distance, and the bottleneck.
    expected: [f64; 4],
}

const RINGS: [Ring; 4] = [
    Ring {
        id: "ring-60",
        die: [4000.0, 4000.0],
        pads: [15, 15],
        pad_pitch: [240.0, 240.0],
        inset: 60.0,
        array: [8, 8],
        pitch: 450.0,
        hollow: false,
        expected: [45766.113, 48683.641, 58560.000, 1265.800],
    },
    Ring {
        id: "ring-60-hollow",
        die: [4000.0, 4000.0],
        pads: [15, 15],
        pad_pitch: [240.0, 240.0],
        inset: 60.0,
        array: [8, 8],
        pitch: 450.0,
        hollow: true,
        expected: [45766.113, 48683.641, 58560.000, 1265.800],
    },
    Ring {
        id: "ring-76",
        die: [6000.0, 4500.0],
        pads: [22, 16],
        pad_pitch: [250.0, 250.0],
        inset: 70.0,
        array: [12, 9],
        pitch: 400.0,
        hollow: false,
        expected: [73029.598, 77759.603, 92580.000, 1380.226],
    },
    Ring {
        id: "ring-300",
        die: [10000.0, 10000.0],
        pads: [75, 75],
        pad_pitch: [120.0, 120.0],
        inset: 50.0,
        array: [18, 18],
        pitch: 500.0,
        hollow: false,
        expected: [580622.934, 618163.402, 734360.000, 3700.122],
    },
];

impl Ring {
    /// Pads: south left to right, east bottom to top, north right to left, west top to bottom; each side centred.
    fn pad_places(&self) -> Vec<[f64; 2]> {
        let centred = |count: usize, pitch: f64, side: f64, k: usize| {
            side / 2.0 + (k as f64 - (count as f64 - 1.0) / 2.0) * pitch
        };
        let [w, h] = self.die;
        let x = |k| centred(self.pads[0], self.pad_pitch[0], w, k);
        let y = |k| centred(self.pads[1], self.pad_pitch[1], h, k);
        let mut places: Vec<[f64; 2]> = (0..self.pads[0]).map(|k| [x(k), self.inset]).collect();
        places.extend((0..self.pads[1]).map(|k| [w - self.inset, y(k)]));
        places.extend((0..self.pads[0]).rev().map(|k| [x(k), h - self.inset]));
        places.extend((0..self.pads[1]).rev().map(|k| [self.inset, y(k)]));
        places
    }

    fn site_places(&self) -> Vec<[f64; 2]> {
        let [columns, rows] = self.array;
        let central = |k: usize, n: usize| k == n / 2 || k + 1 == n / 2;
        let mut places = Vec::new();
        for r in 0..rows {
            for c in 0..columns {
                if self.hollow && central(r, rows) && central(c, columns) {
                    continue;
                }
                let at = |k: usize, n: usize, side: f64| {
                    side / 2.0 + (k as f64 - (n as f64 - 1.0) / 2.0) * self.pitch
                };
                places.push([at(c, columns, self.die[0]), at(r, rows, self.die[1])]);
            }
        }
        places
    }
}

pub(super) fn rows(table: &mut Table) {
    for ring in &RINGS {
        let (pads, sites) = (ring.pad_places(), ring.site_places());
        let kinds = [
            ("straight", Distance::Euclidean),
            ("octilinear", Distance::Octilinear),
            ("rectilinear", Distance::Rectilinear),
        ];
        for ((name, distance), expected) in kinds.into_iter().zip(ring.expected) {
            let total = assign_points(&pads, &sites, distance).map_or(f64::NAN, |a| a.total);
            table.within(&format!("{}-{name}", ring.id), SCIPY, expected, total, 1e-3);
        }
        let costs = CostMatrix::from_fn(pads.len(), sites.len(), |i, j| {
            Distance::Euclidean.between(pads[i], sites[j])
        });
        let largest =
            costs.as_ref().map_or(f64::NAN, |c| assign_bottleneck(c).map_or(f64::NAN, |b| b.largest));
        table.within(&format!("{}-bottleneck", ring.id), SCIPY_BOTTLENECK, ring.expected[3], largest, 1e-3);
        let crossings = costs
            .ok()
            .and_then(|c| assign_dense(&c).ok())
            .map_or(f64::NAN, |a| crossings(&pads, &sites, &a.column_of_row) as f64);
        table.exact(&format!("{}-crossings", ring.id), UNCROSSING, 0.0, crossings);
    }
    let first = &RINGS[0];
    let flow = by_flow(&first.pad_places(), &first.site_places());
    // Costs are rounded to whole nanometres there and here.
    table.within("ring-60-flow", NETWORKX, 45766.116, flow, 0.1);
}

/// Pairs of segments that cross properly.
fn crossings(pads: &[[f64; 2]], sites: &[[f64; 2]], pairs: &[Option<usize>]) -> usize {
    let segments: Vec<[[f64; 2]; 2]> =
        pairs.iter().enumerate().filter_map(|(i, j)| j.map(|j| [pads[i], sites[j]])).collect();
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])).signum()
    };
    let cross = |s: &[[f64; 2]; 2], t: &[[f64; 2]; 2]| {
        turn(s[0], s[1], t[0]) * turn(s[0], s[1], t[1]) < 0.0
            && turn(t[0], t[1], s[0]) * turn(t[0], t[1], s[1]) < 0.0
    };
    segments.iter().enumerate().map(|(k, s)| segments[..k].iter().filter(|t| cross(s, t)).count()).sum()
}

/// The straight sum in um as a min-cost flow in whole nanometres.
fn by_flow(pads: &[[f64; 2]], sites: &[[f64; 2]]) -> f64 {
    let mut network = Network::new(pads.len() + sites.len() + 2);
    let (source, sink) = (pads.len() + sites.len(), pads.len() + sites.len() + 1);
    for (i, pad) in pads.iter().enumerate() {
        network.add_arc(source, i, 1, 0);
        for (j, site) in sites.iter().enumerate() {
            let nm = (Distance::Euclidean.between(*pad, *site) * 1e3).round() as i64;
            network.add_arc(i, pads.len() + j, 1, nm);
        }
    }
    for j in 0..sites.len() {
        network.add_arc(pads.len() + j, sink, 1, 0);
    }
    match min_cost_maximum_flow(&network, source, sink) {
        Ok((value, flow)) if value == pads.len() as i64 => flow.cost as f64 / 1e3,
        _ => f64::NAN,
    }
}
