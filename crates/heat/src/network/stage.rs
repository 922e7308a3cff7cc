//! One plate of the network with its sources: what of it follows the films at once, and what waits.
//!
//! Only the even part of the heat, and on the board a few more modes, feel the films enough to matter between two
//! assemblies; all other modes are summed once.

use crate::plate::{Modes, Patch, Plate, Waves};
use facedown_field::dense;

/// Modes of the board that follow a change of film at once; higher ones hardly feel it and follow with the next network.
pub(super) const BOARD_FOLLOWS: [usize; 2] = [6, 6];
/// The same for the other plates: only the even part.
pub(super) const EVEN_FOLLOWS: [usize; 2] = [0, 0];
/// Modes for each width of a source in its plate, and the most in one direction.
const PER_PATCH: f64 = 6.0;
/// Most modes in one direction.
pub(crate) const MOST_MODES: usize = 320;

/// A plate with its sources.
#[derive(Debug, Clone)]
pub(crate) struct Stage {
    pub plate: Plate,
    pub modes: Modes,
    pub patches: Vec<Patch>,
    waves: Vec<Waves>,
    /// Modes that follow the films at once.
    follow: [usize; 2],
    /// Influence of each patch on each other by the other modes, K/W, row by row.
    fixed: Vec<f64>,
}

impl Stage {
    pub(super) fn new(plate: Plate, patches: Vec<Patch>, follow: [usize; 2]) -> Stage {
        let modes = Modes::new(&plate, Self::count(&plate, &patches), false);
        let waves: Vec<Waves> = patches.iter().map(|p| modes.waves(p)).collect();
        let mut stage = Stage { plate, modes, patches, waves, follow, fixed: Vec::new() };
        let all = stage.matrix(None);
        stage.fixed = all.iter().zip(stage.matrix(Some(follow))).map(|(all, low)| all - low).collect();
        stage
    }

    pub(super) fn count(plate: &Plate, patches: &[Patch]) -> [usize; 2] {
        Modes::count_for(plate, patches, PER_PATCH, MOST_MODES)
    }

    fn matrix(&self, upto: Option<[usize; 2]>) -> Vec<f64> {
        let n = self.patches.len();
        let mut all = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let value = self.modes.mean_of(&self.waves[j], &self.waves[i], upto);
                all[i * n + j] = value;
                all[j * n + i] = value;
            }
        }
        all
    }

    /// Takes the changed films of the plate.
    pub(super) fn refresh(&mut self) {
        self.modes.refresh(&self.plate, self.follow);
    }

    /// Mean rise of each patch for one watt in each other, K/W, row by row.
    pub(super) fn influence(&self) -> Vec<f64> {
        self.matrix(Some(self.follow)).iter().zip(&self.fixed).map(|(low, high)| low + high).collect()
    }

    /// The same when the face's film is absent on the patches; and what the patches must be heated with for one watt each.
    pub(super) fn influence_without_film_under(&self) -> Result<Vec<f64>, facedown_field::NoConvergence> {
        let n = self.patches.len();
        let all = self.influence();
        let film = self.plate.face_film;
        if film == 0.0 {
            return Ok(all);
        }
        let mut matrix = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..n {
                matrix[i * n + j] =
                    f64::from(u8::from(i == j)) - all[i * n + j] * film * self.patches[j].area;
            }
        }
        let mut result = vec![0.0; n * n];
        for j in 0..n {
            let column: Vec<f64> = (0..n).map(|i| all[i * n + j]).collect();
            for (i, value) in dense::solve(&matrix, &column)?.into_iter().enumerate() {
                result[i * n + j] = value;
            }
        }
        Ok(result)
    }
}
