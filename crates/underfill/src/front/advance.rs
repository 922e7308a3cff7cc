//! One step of the front: pressures and fills at its end that fit each other.
//!
//! A step of length `dS` in fluidity time is an implicit one. At its end a cell is either full, then its pressure is at least
//! what its meniscus holds (`-drive`, plus the pressure of the air before it), or not full, then the pressure is just that and
//! what flows in raises its fill. Liquid flows between full cells, and from full cells into others; a meniscus that is not
//! drawn in stands still, it never runs back. This is a complementarity problem with an M-matrix, solved by changing the set
//! of full cells until it fits its own pressures (M. Hintermüller, K. Ito and K. Kunisch, SIAM J. Optim. 13 (2002) 865).
//! With one driving pressure everywhere the sum of the steps is the obstacle problem of C. Baiocchi's transform itself, so
//! that the length of the steps makes no error at all; where the drive changes from cell to cell it makes one of first order.
//!
//! Pockets of air and reservoirs that run dry within the step are nodes of the same system: a pocket's volume follows from its
//! pressure, a reservoir's outflow is what it holds. Fills follow from flows, which are added to one cell and taken from
//! another, so that no error of the solver makes or loses liquid.

use super::gas::Gas;
use super::network::{NONE, Network};
use super::pressure::System;
use facedown_field::NoConvergence;

/// Where the front is.
#[derive(Debug, Clone)]
pub(super) struct State {
    /// Fill of each cell, 0 to 1.
    pub fill: Vec<f64>,
    /// Cells that are full.
    pub full: Vec<bool>,
    /// Pressure of full cells over that of the room, Pa.
    pub pressure: Vec<f64>,
    /// Liquid left on each stretch, m3.
    pub left: Vec<f64>,
}

/// What a step gives.
#[derive(Debug, Clone, Default)]
pub(super) struct Move {
    pub fill: Vec<f64>,
    pub wet: Vec<bool>,
    pub pressure: Vec<f64>,
    /// Outflow of each stretch, m3.
    pub out: Vec<f64>,
    /// Volume that flowed into each cell, m3.
    pub inflow: Vec<f64>,
    /// Pressure of each component of air over that of the room, Pa.
    pub air: Vec<f64>,
    /// Share of the step in which each cell was not full yet.
    pub late: Vec<f64>,
    /// Integral of conductance times pressure gradient squared.
    pub dissipation: f64,
    pub solves: usize,
    pub sweeps: usize,
    /// Whether the last solve was of a problem that is linear in the length of the step: all pressures given are zero.
    pub homogeneous: bool,
}

/// Largest error of a full cell's fill. Liquid is kept whatever it is, and the next step takes it up.
const CLOSE: f64 = 1e-9;
/// What a change of the set is decided on, over the fill or the largest drive: with loose pressures, and with close ones.
const DECISION: [f64; 2] = [1e-4, 1e-9];
/// Residual that suffices to change the set.
const LOOSE: f64 = 2e3;
/// Changes of the set after which a step is too long.
const CHANGES: usize = 24;

/// The parts of a step.
pub(super) struct Step<'a> {
    pub network: &'a Network,
    pub now: &'a State,
    pub gas: &'a Gas,
    pub ambient: f64,
    pub length: f64,
}

struct Guess {
    wet: Vec<bool>,
    p: Vec<f64>,
    /// Pressure of each component of air.
    air: Vec<f64>,
    /// Whether a stretch runs dry in the step, and its pressure then.
    drying: Vec<Option<f64>>,
    shut: Vec<[bool; 4]>,
    feed_shut: Vec<bool>,
    /// Share of the step in which a cell was not full yet: all of it or nothing while the set is sought, estimated at its end.
    late: Vec<f64>,
    /// Cells that were not full at the begin of the step, and those beside them: only here anything changes but the pressure.
    near: Vec<bool>,
    /// What a change of the set is decided on, over the fill or the largest drive.
    decision: f64,
    /// Components whose pressure fits the present set; of the others no cell changes.
    settled: Vec<bool>,
}

impl Step<'_> {
    fn air_before(&self, cell: usize, guess: &Guess) -> f64 {
        match self.gas.of[cell] {
            NONE => 0.0,
            k => guess.air[k as usize],
        }
    }

    /// Pressure of a cell as long as it is not full.
    fn hold(&self, cell: usize, guess: &Guess) -> f64 {
        self.air_before(cell, guess) - self.network.drive[cell]
    }

    /// Pressure that drives liquid from a full cell into another, over the step. Both stand at what they hold until the first of
    /// them is full, and until then nothing flows between them.
    fn pull(&self, from: usize, to: usize, guess: &Guess) -> f64 {
        let wet = guess.wet[to];
        let idle = if wet { guess.late[from].min(guess.late[to]) } else { guess.late[from] };
        let hold = self.hold(to, guess);
        let ahead = if wet { guess.p[to] } else { hold };
        let jump = if idle > 0.0 { idle * (self.hold(from, guess) - hold) } else { 0.0 };
        guess.p[from] - ahead - jump
    }

    /// Whether nothing flows between a full cell and a neighbour: a meniscus that is not drawn in stands still, and where the
    /// neighbour is filled from elsewhere within the step the two join in the next one.
    fn closed(&self, i: usize, k: usize, guess: &Guess) -> bool {
        let j = self.network.beside[i][k] as usize;
        match (guess.wet[j], self.now.full[i], self.now.full[j]) {
            (true, true, false) | (false, ..) => guess.shut[i][k],
            (true, false, true) => guess.shut[j][(k + 2) % 4],
            (true, ..) => false,
        }
    }

    /// Pressure of a stretch, where it holds liquid.
    fn feed_pressure(&self, stretch: usize, guess: &Guess) -> Option<f64> {
        (self.now.left[stretch] > 0.0).then(|| guess.drying[stretch].unwrap_or(0.0))
    }

    /// Flows (m3/s at viscosity 1) into cells that are not full, from the present pressures; tells shut faces.
    fn flows_in(&self, guess: &mut Guess, inward: &mut [f64], latch: bool) -> bool {
        let network = self.network;
        let scale = guess.decision * network.largest;
        let mut changed = false;
        inward.fill(0.0);
        for i in (0..guess.wet.len()).filter(|&i| guess.near[i]) {
            if !guess.wet[i] {
                continue;
            }
            for k in 0..4 {
                let to = network.beside[i][k];
                if to == NONE {
                    continue;
                }
                let j = to as usize;
                let wet = guess.wet[j];
                if wet && (!self.now.full[i] || self.now.full[j]) {
                    guess.shut[i][k] = false;
                    continue;
                }
                let pull = if wet { guess.p[i] - self.hold(j, guess) } else { self.pull(i, j, guess) };
                let before = guess.shut[i][k];
                let shut = pull < -scale || before && latch;
                changed |= shut != before;
                guess.shut[i][k] = shut;
                // Pressures behind a face that was shut say nothing yet of the flow through it.
                if !shut && !before && !wet {
                    inward[j] += network.link[i][k] * pull.max(0.0);
                }
            }
        }
        for (f, &(cell, stretch, t)) in network.feeds.iter().enumerate() {
            let cell = cell as usize;
            let Some(feed) = self.feed_pressure(stretch as usize, guess) else { continue };
            let pull = if guess.wet[cell] {
                feed - guess.p[cell]
            } else {
                feed + network.drive[cell] - self.air_before(cell, guess)
            };
            let shut = pull < -scale;
            changed |= shut != guess.feed_shut[f];
            guess.feed_shut[f] = shut;
            if !shut && !guess.wet[cell] {
                inward[cell] += t * pull.max(0.0);
            }
        }
        changed
    }

    /// The rows of the system for the present set.
    fn assemble(&self, guess: &Guess, system: &mut System, rows: &mut Rows) {
        let network = self.network;
        let n = guess.wet.len();
        rows.cells.clear();
        rows.cells.extend((0..n as u32).filter(|&c| guess.wet[c as usize]));
        // Nodes: pockets, then stretches that run dry.
        let mut nodes = 0;
        rows.pocket = self
            .gas
            .airs
            .iter()
            .map(|a| {
                a.mass.map(|_| {
                    nodes += 1;
                    nodes - 1
                })
            })
            .collect();
        rows.stretch = guess
            .drying
            .iter()
            .map(|d| {
                d.map(|_| {
                    nodes += 1;
                    nodes - 1
                })
            })
            .collect();
        system.begin(network.grid.count, nodes as usize);
        let m = system.frame.places();
        let mean = network.whole / n as f64;
        let mut rest: Vec<f64> = self.gas.airs.iter().map(|a| a.volume).collect();
        for &cell in &rows.cells {
            let i = cell as usize;
            let row = network.place[i] as usize;
            let missing = network.volume[i] * (1.0 - self.now.fill[i]);
            if self.gas.of[i] != NONE && !self.now.full[i] {
                rest[self.gas.of[i] as usize] -= missing;
            }
            system.right[row] -= missing / self.length;
            system.allowed[row] = CLOSE * network.volume[i].max(0.1 * mean) / self.length;
            if !guess.near[i] {
                let link = network.link[i];
                system.diagonal[row] += link.iter().sum::<f64>();
                (system.west[row], system.south[row]) = (link[0], link[1]);
                continue;
            }
            for k in 0..4 {
                let (to, t) = (network.beside[i][k], network.link[i][k]);
                if to == NONE {
                    continue;
                }
                let j = to as usize;
                if self.closed(i, k, guess) {
                    continue;
                }
                let hold = self.hold(j, guess);
                let idle = if guess.wet[j] { guess.late[i].min(guess.late[j]) } else { guess.late[i] };
                let jump = if idle > 0.0 { idle * (self.hold(i, guess) - hold) } else { 0.0 };
                if guess.wet[j] {
                    system.diagonal[row] += t;
                    system.right[row] += t * jump;
                    if k == 0 {
                        system.west[row] = t;
                    } else if k == 1 {
                        system.south[row] = t;
                    }
                } else {
                    system.diagonal[row] += t;
                    system.right[row] -= t * (network.drive[j] - jump);
                    if let Some(node) = rows.pocket[self.gas.of[j] as usize] {
                        system.to_nodes.push((row as u32, node, t));
                        system.diagonal[m + node as usize] += t;
                        system.right[m + node as usize] += t * (network.drive[j] - jump);
                    }
                }
            }
        }
        for (f, &(cell, stretch, t)) in network.feeds.iter().enumerate() {
            let (i, at) = (cell as usize, stretch as usize);
            let Some(feed) = self.feed_pressure(at, guess).filter(|_| !guess.feed_shut[f]) else { continue };
            let reservoir = rows.stretch[at].map(|k| m + k as usize);
            if guess.wet[i] {
                let row = network.place[i] as usize;
                system.diagonal[row] += t;
                if let Some(node) = reservoir {
                    system.diagonal[node] += t;
                    system.to_nodes.push((row as u32, (node - m) as u32, t));
                }
                continue;
            }
            let pocket = rows.pocket[self.gas.of[i] as usize].map(|k| m + k as usize);
            if let Some(node) = reservoir {
                system.diagonal[node] += t;
                system.right[node] -= t * (network.drive[i] - self.air_before(i, guess));
            }
            if let Some(node) = pocket {
                system.diagonal[node] += t;
                system.right[node] += t * (network.drive[i] + feed);
            }
        }
        for (k, node) in rows.pocket.iter().enumerate() {
            let Some(row) = node.map(|node| m + node as usize) else { continue };
            let mass = self.gas.airs[k].mass.unwrap_or(0.0);
            let (gauge, whole) = (guess.air[k], self.ambient + guess.air[k]);
            let slope = mass / (whole * whole);
            system.diagonal[row] += slope / self.length;
            system.right[row] -= (rest[k] - mass / whole - slope * gauge) / self.length;
            system.allowed[row] = CLOSE * mean / self.length;
        }
        for (k, node) in rows.stretch.iter().enumerate() {
            let Some(row) = node.map(|node| m + node as usize) else { continue };
            system.right[row] += self.now.left[k] / self.length;
            system.allowed[row] = CLOSE * mean / self.length;
        }
        // A region that nothing holds keeps its pressure.
        let unit = network.most;
        let mut hold = |row: usize, p: f64| {
            let d = system.diagonal[row];
            let hold = 1e-13 * if d > 0.0 { d } else { unit };
            system.diagonal[row] += hold;
            system.right[row] += hold * p;
        };
        rows.cells.iter().for_each(|&c| hold(network.place[c as usize] as usize, guess.p[c as usize]));
        // A node that something holds is left alone: over a long step even so little would be a leak.
        for row in m..m + nodes as usize {
            if system.diagonal[row] <= 0.0 {
                system.diagonal[row] = unit;
            }
        }
    }

    /// Takes the step.
    ///
    /// # Errors
    /// [`NoConvergence`] where no set fits; a shorter step then may.
    pub fn take(&self, system: &mut System) -> Result<Move, NoConvergence> {
        let network = self.network;
        let n = self.now.fill.len();
        let gauge = |k: &super::gas::Air| {
            k.mass.filter(|_| k.volume > 0.0).map_or(0.0, |mass| mass / k.volume - self.ambient)
        };
        let mut guess = Guess {
            wet: self.now.full.clone(),
            p: self.now.pressure.clone(),
            air: self.gas.airs.iter().map(gauge).collect(),
            drying: vec![None; self.now.left.len()],
            shut: vec![[false; 4]; n],
            feed_shut: vec![false; network.feeds.len()],
            settled: self.gas.airs.iter().map(|a| a.mass.is_none()).collect(),
            decision: DECISION[0],
            near: (0..n)
                .map(|i| {
                    let open = |c: u32| c != NONE && !self.now.full[c as usize];
                    !self.now.full[i] || network.beside[i].into_iter().any(open)
                })
                .collect(),
            late: self.now.full.iter().map(|f| if *f { 0.0 } else { 1.0 }).collect(),
        };
        let mut inward = vec![0.0; n];
        self.flows_in(&mut guess, &mut inward, false);
        self.add_overflowing(&mut guess, &inward, true);
        let (mut rows, mut x) = (Rows::default(), Vec::new());
        let (mut slack, mut solves, mut sweeps) = (LOOSE, 0, 0);
        let largest = network.largest;
        let mut fresh = true;
        for turn in 0..CHANGES {
            if fresh {
                self.assemble(&guess, system, &mut rows);
                system.ready();
            }
            fresh = true;
            let m = system.frame.places();
            x.clear();
            x.resize(system.diagonal.len(), 0.0);
            rows.cells.iter().for_each(|&c| x[network.place[c as usize] as usize] = guess.p[c as usize]);
            for (k, node) in rows.pocket.iter().enumerate() {
                if let Some(node) = node {
                    x[m + *node as usize] = guess.air[k];
                }
            }
            for (k, node) in rows.stretch.iter().enumerate() {
                if let Some(node) = node {
                    x[m + *node as usize] = guess.drying[k].unwrap_or(0.0);
                }
            }
            sweeps += system.solve(&mut x, slack)?;
            solves += 1;
            rows.cells.iter().for_each(|&c| guess.p[c as usize] = x[network.place[c as usize] as usize]);
            let mut changed = false;
            for (k, node) in rows.pocket.iter().enumerate() {
                let Some(node) = node else { continue };
                let before = self.ambient + guess.air[k];
                let found = (self.ambient + x[m + *node as usize]).max(0.2 * before);
                let close = if slack > 1.0 { 1e-3 } else { 1e-8 };
                guess.settled[k] = (found - before).abs() <= close * largest;
                changed |= !guess.settled[k];
                guess.air[k] = found - self.ambient;
            }
            for (k, node) in rows.stretch.iter().enumerate() {
                if let Some(node) = node {
                    let found = x[m + *node as usize];
                    // It could give more than it holds at a pressure above the room's: it does not run dry.
                    let keeps = found > guess.decision * largest;
                    guess.drying[k] = if keeps { None } else { Some(found) };
                    changed |= keeps;
                }
            }
            changed |= self.take_back(&rows.cells, &mut guess, largest);
            changed |= self.flows_in(&mut guess, &mut inward, turn >= CHANGES / 3);
            changed |= self.run_dry(&mut guess);
            changed |= self.add_overflowing(&mut guess, &inward, false);
            if changed {
                continue;
            }
            if slack > 1.0 {
                (slack, guess.decision) = (1.0, DECISION[1]);
                // The same rows, unless air or a drying line asks for new ones.
                fresh = rows.pocket.iter().chain(&rows.stretch).any(Option::is_some);
                continue;
            }
            let mut done = self.settle(&guess);
            self.lateness(&mut guess);
            done.late.clone_from(&guess.late);
            (done.solves, done.sweeps) = (solves, sweeps);
            return Ok(done);
        }
        Err(NoConvergence::TooSlow)
    }

    /// Takes cells back whose pressure would be below what they hold.
    fn take_back(&self, cells: &[u32], guess: &mut Guess, largest: f64) -> bool {
        let mut changed = false;
        for i in cells.iter().map(|&c| c as usize) {
            let settled = self.gas.of[i] == NONE || guess.settled[self.gas.of[i] as usize];
            if settled && !self.now.full[i] && guess.p[i] < self.hold(i, guess) - guess.decision * largest {
                guess.wet[i] = false;
                changed = true;
            }
        }
        changed
    }

    /// When cells are full within the step: each takes in its inflow evenly from the time at which the first of those that
    /// feed it was full. What flows nowhere on is full when its mean pressure over the step says so.
    fn lateness(&self, guess: &mut Guess) {
        let network = self.network;
        let fresh: Vec<usize> = (0..guess.wet.len()).filter(|&i| guess.wet[i] && !self.now.full[i]).collect();
        for (late, full) in guess.late.iter_mut().zip(&self.now.full) {
            *late = if *full { 0.0 } else { 1.0 };
        }
        let mut fed = vec![0.0; guess.wet.len()];
        for (f, &(cell, stretch, t)) in network.feeds.iter().enumerate() {
            let (i, at) = (cell as usize, stretch as usize);
            if let Some(feed) = self.feed_pressure(at, guess).filter(|_| !guess.feed_shut[f]) {
                fed[i] += t * (feed - guess.p[i]).max(0.0);
            }
        }
        // With every cell full nothing flows any more, and all is at the pressure of the feeds.
        let rests = guess.wet.iter().all(|w| *w) && guess.drying.iter().all(Option::is_none);
        // All at once, so that no order of the cells shows.
        for _ in 0..8 {
            let look = |&i: &usize| {
                let (mut inward, mut outward) = (fed[i], 0.0);
                let (mut begin, mut ahead) = (if fed[i] > 0.0 { 0.0 } else { 1.0_f64 }, f64::NEG_INFINITY);
                if fed[i] > 0.0 || rests {
                    ahead = 0.0;
                }
                for k in 0..4 {
                    let to = network.beside[i][k];
                    if to == NONE || self.closed(i, k, guess) {
                        continue;
                    }
                    let j = to as usize;
                    let flow = network.link[i][k] * self.pull(i, j, guess);
                    if guess.wet[j] && flow < 0.0 {
                        inward -= flow;
                        begin = begin.min(guess.late[j]);
                        // What it will be at when both are full.
                        let late = guess.late[j].min(0.8);
                        let dry = if late > 0.0 { late * self.hold(j, guess) } else { 0.0 };
                        let then = if rests { 0.0 } else { (guess.p[j] - dry) / (1.0 - late) };
                        ahead = ahead.max(then);
                    } else {
                        outward += flow.max(0.0);
                    }
                }
                let missing = network.volume[i] * (1.0 - self.now.fill[i]) / self.length;
                let mut late = begin + (1.0 - begin) * (missing / inward).clamp(0.0, 1.0);
                if outward <= 1e-6 * inward {
                    let hold = self.hold(i, guess);
                    let share = (ahead - guess.p[i]) / (ahead - hold);
                    if share.is_finite() {
                        late = share.clamp(begin, 1.0);
                    }
                }
                if rests {
                    late = late.min((guess.p[i] / self.hold(i, guess)).max(0.0));
                }
                if late.is_nan() { 1.0 } else { late }
            };
            let found: Vec<f64> = fresh.iter().map(look).collect();
            let mut moved = 0.0_f64;
            for (&i, late) in fresh.iter().zip(found) {
                moved = moved.max((late - guess.late[i]).abs());
                guess.late[i] = late;
            }
            if moved < 1e-9 {
                break;
            }
        }
    }

    /// Adds cells that more flows into than they hold. The last cell of a pocket stays.
    fn add_overflowing(&self, guess: &mut Guess, inward: &[f64], cascade: bool) -> bool {
        let network = self.network;
        let mut rest: Vec<f64> = vec![0.0; self.gas.airs.len()];
        let decision = guess.decision;
        let over = |j: usize| self.now.fill[j] + self.length * inward[j] / network.volume[j] > 1.0 + decision;
        for j in (0..inward.len()).filter(|&j| !guess.wet[j]) {
            rest[self.gas.of[j] as usize] += 1.0;
        }
        // A part that repels never fills.
        for j in (0..inward.len()).filter(|&j| network.repels[j] > 0.0 && self.gas.of[j] != NONE) {
            rest[self.gas.of[j] as usize] += 1.0;
        }
        let mut row: Vec<usize> = (0..inward.len()).filter(|&j| !guess.wet[j] && over(j)).collect();
        let mut added = false;
        let mut inward = inward.to_vec();
        while !row.is_empty() {
            row.retain(|&j| guess.settled[self.gas.of[j] as usize]);
            self.keep_one(&mut row, &mut rest, &inward);
            for &j in &row {
                added = true;
                guess.wet[j] = true;
                guess.p[j] = self.hold(j, guess);
            }
            if !cascade {
                break;
            }
            // What the row cannot hold goes on to its dry neighbours, so that several rows are added at once.
            let mut next = std::collections::BTreeSet::new();
            for &j in &row {
                let excess = inward[j] - network.volume[j] * (1.0 - self.now.fill[j]) / self.length;
                let dry =
                    |k: usize| Some(network.beside[j][k]).filter(|&to| to != NONE && !guess.wet[to as usize]);
                let whole: f64 = (0..4).filter(|&k| dry(k).is_some()).map(|k| network.link[j][k]).sum();
                for k in 0..4 {
                    if let Some(to) = dry(k).filter(|_| whole > 0.0) {
                        inward[to as usize] += excess * network.link[j][k] / whole;
                        next.insert(to as usize);
                    }
                }
            }
            let fills = |j: &usize| {
                let room = network.volume[*j] * (1.0 - self.now.fill[*j]);
                self.length * inward[*j] > room && network.drive[*j] > 0.0
            };
            row = next.into_iter().filter(fills).collect();
        }
        added
    }

    /// Takes one cell out of a row that would fill a pocket: that with most room left.
    fn keep_one(&self, row: &mut Vec<usize>, rest: &mut [f64], inward: &[f64]) {
        let mut taken = vec![0.0; rest.len()];
        row.iter().for_each(|&j| taken[self.gas.of[j] as usize] += 1.0);
        for of in 0..rest.len() {
            if self.gas.airs[of].mass.is_some() && taken[of] >= rest[of] {
                let room =
                    |j: usize| self.network.volume[j] * (1.0 - self.now.fill[j]) - self.length * inward[j];
                let here = row.iter().copied().filter(|&j| self.gas.of[j] as usize == of);
                let keep = here.max_by(|&a, &b| room(a).total_cmp(&room(b)));
                row.retain(|&j| Some(j) != keep);
                taken[of] -= 1.0;
            }
            rest[of] -= taken[of];
        }
    }

    /// Tells stretches that would give more than they hold.
    fn run_dry(&self, guess: &mut Guess) -> bool {
        let mut out = vec![0.0; self.now.left.len()];
        for (f, &(cell, stretch, t)) in self.network.feeds.iter().enumerate() {
            let (i, at) = (cell as usize, stretch as usize);
            let Some(feed) = self.feed_pressure(at, guess).filter(|_| !guess.feed_shut[f]) else { continue };
            out[at] += if guess.wet[i] {
                t * (feed - guess.p[i])
            } else {
                t * (feed + self.network.drive[i] - self.air_before(i, guess)).max(0.0)
            };
        }
        let mut changed = false;
        for (k, out) in out.iter().enumerate() {
            let holds = self.now.left[k];
            if guess.drying[k].is_none() && holds > 0.0 && out * self.length > holds * (1.0 + guess.decision)
            {
                guess.drying[k] = Some(0.0);
                changed = true;
            }
        }
        changed
    }

    /// Fills from the flows of the found pressures.
    fn settle(&self, guess: &Guess) -> Move {
        let network = self.network;
        let n = guess.wet.len();
        let mut fill = self.now.fill.clone();
        let mut inflow = vec![0.0; n];
        let mut dissipation = 0.0;
        let mut homogeneous =
            self.gas.airs.iter().all(|a| a.mass.is_none()) && guess.drying.iter().all(Option::is_none);
        for i in (0..n).filter(|&i| guess.wet[i]) {
            for k in 0..4 {
                let (to, t) = (network.beside[i][k], network.link[i][k]);
                if to == NONE {
                    continue;
                }
                let j = to as usize;
                if self.closed(i, k, guess) {
                    continue;
                }
                if guess.wet[j] {
                    if k < 2 {
                        continue;
                    }
                    let fall = self.pull(i, j, guess);
                    let moved = t * fall * self.length;
                    fill[i] -= moved / network.volume[i];
                    fill[j] += moved / network.volume[j];
                    dissipation += t * fall * fall;
                    inflow[if moved > 0.0 { j } else { i }] += moved.abs();
                } else {
                    let fall = self.pull(i, j, guess).max(0.0);
                    let moved = t * fall * self.length;
                    fill[i] -= moved / network.volume[i];
                    fill[j] += moved / network.volume[j];
                    dissipation += t * fall * fall;
                    inflow[j] += moved;
                    homogeneous = false;
                }
            }
        }
        let mut out = vec![0.0; self.now.left.len()];
        for (f, &(cell, stretch, t)) in network.feeds.iter().enumerate() {
            let (i, at) = (cell as usize, stretch as usize);
            let Some(feed) = self.feed_pressure(at, guess).filter(|_| !guess.feed_shut[f]) else { continue };
            let fall = if guess.wet[i] {
                feed - guess.p[i]
            } else {
                homogeneous = false;
                (feed + network.drive[i] - self.air_before(i, guess)).max(0.0)
            };
            let moved = t * fall * self.length;
            fill[i] += moved / network.volume[i];
            inflow[i] += moved.max(0.0);
            out[at] += moved;
            dissipation += t * fall * fall;
        }
        Move {
            fill,
            wet: guess.wet.clone(),
            pressure: guess.p.clone(),
            out,
            inflow,
            air: guess.air.clone(),
            late: guess.late.clone(),
            dissipation,
            homogeneous,
            ..Move::default()
        }
    }
}

/// Rows of the system.
#[derive(Default)]
struct Rows {
    cells: Vec<u32>,
    pocket: Vec<Option<u32>>,
    stretch: Vec<Option<u32>>,
}
