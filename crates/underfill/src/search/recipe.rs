//! A dispense recipe, the lines that it lays, and the recipes that a design gives rise to.

use super::NoSearch;
use crate::front::{Line, Problem as Front};
use crate::problem::{Edge, Pattern, Problem};
use serde::{Deserialize, Serialize};

/// A recipe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Recipe {
    /// Pattern.
    pub pattern: Pattern,
    /// Edge of the first line. An L goes on along the next edge counter-clockwise; a U has it in its middle.
    pub edge: Edge,
    /// Passes, 1 or more.
    pub passes: u32,
    /// From the start of one pass to the start of the next, s.
    pub wait_s: f64,
    /// Distance of the middle of the bead from the die, m.
    pub offset_m: f64,
    /// Volume of all passes, m3.
    pub volume_m3: f64,
}

/// Length of an edge of a die of that size, m.
pub(super) fn length(edge: Edge, size_m: [f64; 2]) -> f64 {
    match edge {
        Edge::Left | Edge::Right => size_m[1],
        Edge::Bottom | Edge::Top => size_m[0],
    }
}

impl Recipe {
    /// The edges that are fed, the first one first.
    pub fn edges(&self) -> Vec<Edge> {
        self.pattern.edges(self.edge)
    }

    /// The lines as the front reads them: each pass has its share of the volume, and in it each line by its length.
    pub fn lines(&self, size_m: [f64; 2]) -> Vec<Line> {
        let edges = self.edges();
        let whole: f64 = edges.iter().map(|e| length(*e, size_m)).sum();
        let mut lines = Vec::new();
        for pass in 0..self.passes {
            for &edge in &edges {
                let to_m = length(edge, size_m);
                lines.push(Line {
                    edge,
                    from_m: 0.0,
                    to_m,
                    volume_m3: self.volume_m3 / f64::from(self.passes) * to_m / whole,
                    start_s: f64::from(pass) * self.wait_s,
                });
            }
        }
        lines
    }

    /// When its last pass begins, s.
    pub fn last_start(&self) -> f64 {
        f64::from(self.passes.saturating_sub(1)) * self.wait_s
    }

    /// The front's problem with these lines.
    pub fn problem(&self, base: &Front) -> Front {
        Front { lines: self.lines(base.size_m), ..base.clone() }
    }

    /// The recipe in words.
    pub fn words(&self) -> String {
        let edge = match self.edge {
            Edge::Left => "left",
            Edge::Right => "right",
            Edge::Bottom => "bottom",
            Edge::Top => "top",
        };
        let passes = match self.passes {
            1 => "one pass".to_string(),
            n => format!("{n} passes every {:.0} s", self.wait_s),
        };
        format!(
            "{} from the {edge} edge, {passes}, {:.2} mm off, {:.2} mm3",
            self.pattern.words(),
            1e3 * self.offset_m,
            1e9 * self.volume_m3
        )
    }
}

/// What recipes are made of: every combination, less those that are the same.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Choices {
    /// Patterns.
    pub patterns: Vec<Pattern>,
    /// First edges.
    pub edges: Vec<Edge>,
    /// Numbers of passes.
    pub passes: Vec<u32>,
    /// Waits, s; without meaning for one pass.
    pub waits_s: Vec<f64>,
    /// Offsets, m.
    pub offsets_m: Vec<f64>,
    /// Volumes of all passes, m3.
    pub volumes_m3: Vec<f64>,
}

/// Offset where the design gives none, m (common practice, no source).
const OFFSET: f64 = 0.5e-3;
/// Wait between passes where the design gives none, s (common practice, no source).
const WAIT: f64 = 20.0;

impl Choices {
    /// Of a design: all patterns from all edges, the design's volume (or what its gap and fillets need), its offset, one pass
    /// and as many as keep a bead within the offset, and the design's own number.
    ///
    /// # Errors
    /// [`NoSearch::Design`] where the design has no outcome.
    pub fn of(problem: &Problem) -> Result<Choices, NoSearch> {
        let outcome = crate::solve(problem)?;
        let d = problem.dispense;
        let offset = d.offset_m.unwrap_or(OFFSET);
        let volume = d.volume_m3.unwrap_or(outcome.volume_m3);
        let size = [problem.die.width_m, problem.die.height_m];
        // As many passes as an L and a line along the shorter edge need.
        let needed = |lines_m: f64| {
            let a_pass = crate::volume::pass_volume(offset, lines_m);
            (1.1 * volume / a_pass).ceil().clamp(1.0, 10.0) as u32
        };
        let mut passes = vec![1, needed(size[0] + size[1]), needed(size[0].min(size[1])), d.passes];
        passes.sort_unstable();
        passes.dedup();
        Ok(Choices {
            patterns: vec![Pattern::Line, Pattern::TwoLines, Pattern::L, Pattern::U],
            edges: Edge::AROUND.to_vec(),
            passes,
            waits_s: vec![if d.wait_s > 0.0 { d.wait_s } else { WAIT }],
            offsets_m: vec![offset],
            volumes_m3: vec![volume],
        })
    }

    /// The recipes, in the order of the choices.
    pub fn recipes(&self) -> Vec<Recipe> {
        let mut out: Vec<Recipe> = Vec::new();
        for &pattern in &self.patterns {
            for &edge in &self.edges {
                for &passes in &self.passes {
                    for &wait_s in &self.waits_s {
                        for &offset_m in &self.offsets_m {
                            for &volume_m3 in &self.volumes_m3 {
                                let wait_s = if passes > 1 { wait_s } else { 0.0 };
                                let next = Recipe { pattern, edge, passes, wait_s, offset_m, volume_m3 };
                                if !out.iter().any(|r| same(r, &next)) {
                                    out.push(next);
                                }
                            }
                        }
                    }
                }
            }
        }
        out
    }
}

/// Whether two recipes lay the same lines.
fn same(a: &Recipe, b: &Recipe) -> bool {
    let opposite = a.pattern == Pattern::TwoLines && b.pattern == Pattern::TwoLines && {
        let mut edges = [a.edges(), b.edges()];
        edges
            .iter_mut()
            .for_each(|e| e.sort_unstable_by_key(|edge| Edge::AROUND.iter().position(|x| x == edge)));
        edges[0] == edges[1]
    };
    (opposite || (a.pattern == b.pattern && a.edge == b.edge)) && Recipe { edge: b.edge, ..*a } == *b
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::front;

    #[test]
    fn a_design_gives_its_recipes_once_each_and_their_lines_hold_the_volume() {
        let problem = crate::specimen::wetting();
        let recipes = Choices::of(&problem).unwrap().recipes();
        // 4 lines, 2 pairs, 4 corners, 4 middles, with one pass and with those that the offset asks for.
        assert_eq!(recipes.len() % 14, 0, "{}", recipes.len());
        assert!(recipes.len() >= 28);
        let size = [problem.die.width_m, problem.die.height_m];
        for r in &recipes {
            let lines = r.lines(size);
            let volume: f64 = lines.iter().map(|l| l.volume_m3).sum();
            assert!((volume / r.volume_m3 - 1.0).abs() < 1e-12);
            assert_eq!(lines.len(), r.edges().len() * r.passes as usize);
            assert!(lines.iter().all(|l| l.start_s <= r.last_start()));
            // The front takes them.
            let mut base = front::Problem::bare(size, 1e-4, 0.03, 0.4, &[]);
            base.resolution.least = 4;
            assert!(front::solve(&r.problem(&base)).is_ok(), "{}", r.words());
        }
        let edges = |pattern, edge| Recipe { pattern, edge, ..recipes[0] }.edges();
        assert_eq!(edges(Pattern::L, Edge::Top), [Edge::Top, Edge::Left]);
        assert_eq!(edges(Pattern::U, Edge::Left), [Edge::Left, Edge::Bottom, Edge::Top]);
        assert_eq!(edges(Pattern::TwoLines, Edge::Bottom), [Edge::Bottom, Edge::Top]);
    }
}
