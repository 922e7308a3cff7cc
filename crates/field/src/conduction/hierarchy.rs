//! The levels from the finest to one column, and one cycle through them.
//!
//! A cycle relaxes colour 0 then colour 1 on the way down and the other way round on the way up, so that it is a
//! symmetric operator and conjugate gradients may use it. In the plain cycle each level is visited once. In the nested
//! one, the coarser level is solved by up to two steps of conjugate gradients with the cycle below it as
//! preconditioner (Y. Notay, P. S. Vassilevski, Numer. Linear Algebra Appl. 15 (2008) 473), on those levels only whose
//! cells fell to a third since the last of them: it keeps the pace where conductivities are in patches, for about
//! twice the work. The usual effort begins with the plain cycle and goes over to the nested one where it is slow.

use super::coarsen::{Merging, coarser, recouple, sum_ground};
use super::couplings::{Couplings, Pair, inner, product, zeros};
use super::level::Level;

/// How often coarser levels are visited.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cycle {
    /// Each level once.
    Plain,
    /// Coarser levels by two steps of conjugate gradients.
    Nested,
    /// Plain, and nested from where the plain one turns out to be slow.
    AsNeeded,
}

/// All levels.
#[derive(Debug)]
pub(super) struct Hierarchy {
    pub levels: Vec<Level>,
    /// Levels that the nested cycle solves by steps of their own.
    nested: Vec<bool>,
}

/// Arrays of one level in a cycle.
#[derive(Debug, Default)]
pub(super) struct Room {
    pub x: Pair<f32>,
    pub right: Pair<f32>,
    /// Two directions and their images, for the nested steps.
    steps: Option<Box<[Pair<f32>; 4]>>,
}

impl Hierarchy {
    /// Levels under a finest one whose couplings, but not its ground, are set.
    pub fn new(finest: Level, protected: [Vec<bool>; 2]) -> Hierarchy {
        let mut merging = Merging::new(&finest.widths, protected);
        let mut levels = vec![finest];
        while let Some(last) = levels.last_mut() {
            let Some(maps) = merging.next(&last.widths) else { break };
            last.merged = maps;
            let next = coarser(last);
            levels.push(next);
        }
        let mut nested = vec![false; levels.len()];
        let mut counted = levels[0].strips.total();
        for (level, nested) in levels.iter().zip(&mut nested).skip(1) {
            // The coarsest level is solved exactly and needs no steps.
            let coarsest = level.merged[0].is_empty();
            if !coarsest && 3 * level.strips.total() <= counted {
                *nested = true;
                counted = level.strips.total();
            }
        }
        Hierarchy { levels, nested }
    }

    /// Takes over other couplings of the finest level; its ground is to be set anew.
    pub fn recouple(&mut self, couplings: Couplings) {
        self.levels[0].couplings = couplings;
        for i in 1..self.levels.len() {
            let (fine, coarse) = self.levels.split_at_mut(i);
            recouple(&fine[i - 1], &mut coarse[0]);
        }
    }

    /// Takes over a new ground of the finest level and builds all pivots.
    pub fn ground(&mut self, ground: Pair<f32>) {
        self.levels[0].couplings.ground = ground;
        self.levels[0].factor();
        for i in 1..self.levels.len() {
            let (fine, coarse) = self.levels.split_at_mut(i);
            sum_ground(&fine[i - 1], &mut coarse[0]);
            coarse[0].factor();
        }
    }

    /// Arrays for cycles.
    pub fn rooms(&self, cycle: Cycle) -> Vec<Room> {
        let nested = |i: usize| cycle == Cycle::Nested && self.nested[i];
        self.levels
            .iter()
            .enumerate()
            .map(|(i, level)| {
                let [x, right] = level.room();
                let steps = nested(i).then(|| Box::new([0; 4].map(|_| zeros(&level.strips))));
                Room { x, right, steps }
            })
            .collect()
    }

    /// One cycle: `rooms[0].x` from `rooms[0].right`.
    pub fn cycle(&self, rooms: &mut [Room]) {
        self.visit(0, rooms);
    }

    fn visit(&self, at: usize, rooms: &mut [Room]) {
        let level = &self.levels[at];
        let (own, coarser) = rooms.split_at_mut(1);
        let Room { x: [zero, one], right, .. } = &mut own[0];
        level.relax(0, zero, None, &right[0]);
        level.relax(1, one, Some(zero), &right[1]);
        // A single column is solved by now; so is a single row of one colour.
        if level.merged[0].is_empty() {
            return;
        }
        let below = &self.levels[at + 1].strips;
        level.restrict(below, one, &mut coarser[0].right);
        match coarser[0].steps.take() {
            Some(mut steps) => {
                self.steps(at + 1, coarser, &mut steps);
                coarser[0].steps = Some(steps);
            }
            None => self.visit(at + 1, coarser),
        }
        level.prolong(below, &coarser[0].x, zero);
        level.relax(1, one, Some(zero), &right[1]);
        level.relax(0, zero, Some(one), &right[0]);
    }

    /// Up to two steps of conjugate gradients on a level, the second only where the first left more than a quarter.
    fn steps(&self, at: usize, rooms: &mut [Room], [c, v, d, w]: &mut [Pair<f32>; 4]) {
        let level = &self.levels[at];
        let (strips, couplings) = (&level.strips, &level.couplings);
        self.visit(at, rooms);
        std::mem::swap(c, &mut rooms[0].x);
        let rho = product(strips, couplings, c, v);
        let alpha = inner(strips, c, &rooms[0].right);
        if rho <= 0.0 || rho.is_nan() {
            std::mem::swap(c, &mut rooms[0].x);
            return;
        }
        let before = inner(strips, &rooms[0].right, &rooms[0].right);
        let first = alpha / rho;
        combine(&mut rooms[0].right, 1.0, -first as f32, v);
        let after = inner(strips, &rooms[0].right, &rooms[0].right);
        if after <= 0.0625 * before {
            combine(&mut rooms[0].x, 0.0, first as f32, c);
            return;
        }
        self.visit(at, rooms);
        std::mem::swap(d, &mut rooms[0].x);
        let beta = product(strips, couplings, d, w);
        let gamma = inner(strips, d, v);
        let second = inner(strips, d, &rooms[0].right);
        let rest = beta - gamma * gamma / rho;
        if rest <= 0.0 || rest.is_nan() {
            combine(&mut rooms[0].x, 0.0, first as f32, c);
            return;
        }
        combine(&mut rooms[0].x, 0.0, (first - gamma * second / (rho * rest)) as f32, c);
        combine(&mut rooms[0].x, 1.0, (second / rest) as f32, d);
    }
}

/// `to = keep to + add from`.
fn combine(to: &mut Pair<f32>, keep: f32, add: f32, from: &Pair<f32>) {
    for (to, from) in to.iter_mut().zip(from) {
        for (t, f) in to.iter_mut().zip(from) {
            *t = if keep == 0.0 { add * f } else { keep * *t + add * f };
        }
    }
}
