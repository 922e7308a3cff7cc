//! The air ahead of the front: which dry cells the air can still leave, and pockets that are closed off.
//!
//! Dry cells that share a face are one component. A component with a way to an open edge is at the pressure of the room; any
//! other is a pocket with its own mass of air, `pressure times volume` at one temperature (Boyle's law). The mass is kept by
//! cell, so that a pocket that falls apart shares it by volume, pockets that meet add theirs, and a pocket that finds a way out
//! is let go. What is closed off with less air than a cell holds lies below the grid: the front passes over such places
//! without leaving air, and their sum is reported.

use super::network::{NONE, Network};

/// A component of dry cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Air {
    /// Pressure times volume, Pa m3; absent where the air can leave.
    pub mass: Option<f64>,
    /// Volume of the air, m3.
    pub volume: f64,
}

/// Components of the dry cells.
#[derive(Debug, Clone, Default)]
pub(super) struct Gas {
    /// Component of each cell; [`NONE`] for one without air.
    pub of: Vec<u32>,
    /// Components.
    pub airs: Vec<Air>,
    /// Air that was let go below the grid, m3, in this look.
    pub let_go: f64,
}

/// What is known of the air in each cell from the step before.
#[derive(Debug, Clone)]
pub(super) struct Memory {
    /// Pressure of the trapped air, Pa; negative where it was not trapped.
    pub pressure: Vec<f64>,
    /// Cells whose air was let go below the grid.
    pub passed: Vec<bool>,
}

impl Gas {
    /// Looks for components among the cells that are not full. `covered` says of every stretch whether liquid lies on it.
    pub fn look(
        network: &Network,
        fill: &[f64],
        full: &[bool],
        memory: &mut Memory,
        covered: &[bool],
        ambient: f64,
    ) -> Gas {
        let n = full.len();
        let mut gas = Gas { of: vec![NONE; n], airs: Vec::new(), let_go: 0.0 };
        let mut open = vec![false; n];
        for &(cell, stretch) in &network.vents {
            open[cell as usize] |= stretch == NONE || !covered[stretch as usize];
        }
        // A full cell of which a part repels holds air in that part.
        let airy = |c: usize| !full[c] || network.repels[c] > 0.0;
        let mean = network.whole / n.max(1) as f64;
        let mut members: Vec<u32> = Vec::new();
        for start in 0..n {
            if !airy(start) || gas.of[start] != NONE {
                continue;
            }
            let own = gas.airs.len() as u32;
            members.clear();
            members.push(start as u32);
            gas.of[start] = own;
            let mut next = 0;
            while let Some(&cell) = members.get(next) {
                next += 1;
                for to in network.beside[cell as usize] {
                    if to != NONE && airy(to as usize) && gas.of[to as usize] == NONE {
                        gas.of[to as usize] = own;
                        members.push(to);
                    }
                }
            }
            let each = || members.iter().map(|&c| c as usize);
            let volume: f64 = each().map(|c| network.air(c, fill[c], full[c])).sum();
            let vented = ambient <= 0.0 || each().any(|c| open[c]);
            let fresh = each().all(|c| memory.pressure[c] < 0.0);
            let below = fresh
                && (each().all(|c| memory.passed[c])
                    || volume < mean && each().all(|c| network.drive[c] > 0.0 && network.repels[c] == 0.0));
            if vented || below {
                if below && !vented && !each().all(|c| memory.passed[c]) {
                    gas.let_go += volume;
                }
                for c in each() {
                    memory.pressure[c] = -1.0;
                    memory.passed[c] = !vented;
                }
                gas.airs.push(Air { mass: None, volume });
            } else {
                let mass = each()
                    .map(|c| {
                        let pressure = if memory.pressure[c] < 0.0 { ambient } else { memory.pressure[c] };
                        pressure * network.air(c, fill[c], full[c])
                    })
                    .sum();
                for c in each() {
                    memory.passed[c] = false;
                }
                gas.airs.push(Air { mass: Some(mass), volume });
            }
        }
        gas
    }
}
