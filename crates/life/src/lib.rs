//! Life of the joints of a flip-chip package, and how it is shown: fatigue, electromigration, mission, failure
//! statistics, qualification, moisture.
//!
//! [`problem::Problem`] is what it reads, [`outcome::Outcome`] what it gives. Mismatch becomes strain of every joint
//! ([`mod@strain`], in underfill through its [`cell`]), strain becomes cycles ([`engelmaier`]) and damage over the mission ([`rainflow`], [`miner`]), and joints
//! become an array that fails with its first ([`weibull`]). The worst joint is also integrated through its worst cycle by
//! published laws of solder ([`anand`], [`creep`], [`joint`]), each with the life models that were fitted with it
//! ([`energy`]), so that a figure shows how far the published models lie apart. A solve takes some tens of milliseconds.
//! Bulk fatigue of solder is all that the fatigue figures mean: brittle interfaces, cracks in pads or dies and
//! delamination of underfill are not in them.
//!
//! ```
//! let outcome = facedown_life::solve(&facedown_life::specimen::outdoors()).unwrap();
//! let life = outcome.figures.iter().find(|f| f.name == "life_balls").unwrap();
//! let [low, high] = life.between.unwrap();
//! assert!(low <= life.value && life.value <= high);
//! ```

pub mod acceleration;
pub mod anand;
mod carried;
pub mod cell;
pub mod creep;
pub mod demonstration;
pub mod electromigration;
pub mod energy;
pub mod engelmaier;
mod fatigue;
pub mod joint;
mod judge;
pub mod miner;
pub mod moisture;
pub mod norris_landzberg;
pub mod outcome;
pub mod plan;
pub mod problem;
pub mod published;
pub mod rainflow;
pub mod rank;
mod sentence;
mod shown;
mod solve;
pub mod specimen;
pub mod storage;
pub mod strain;
pub mod table;
pub mod tested;
mod valid;
pub mod weibull;
pub mod weibull_fit;

pub use outcome::Outcome;
pub use problem::Problem;
pub use solve::{solve, values};
pub use valid::{Refusal, solidus};
