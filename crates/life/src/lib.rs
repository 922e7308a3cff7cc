//! Life of solder joints by closed forms. Begun: what the study will read and give, fatigue by strain, acceleration of
//! tests, properties over temperature. There is no `solve` yet, and nothing here is coupled to a design.

pub mod acceleration;
pub mod anand;
pub mod creep;
pub mod demonstration;
pub mod electromigration;
pub mod energy;
pub mod engelmaier;
pub mod joint;
pub mod miner;
pub mod norris_landzberg;
pub mod outcome;
pub mod problem;
pub mod published;
pub mod rainflow;
pub mod rank;
pub mod strain;
pub mod table;
pub mod weibull;
pub mod weibull_fit;
