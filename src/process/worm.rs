//! The daily stage-structured worm model.
//!
//! One bed's stock is 9 cocoon, 12 juvenile and 10 sub-adult sub-stages and one adult class, with a condition (memory of
//! feeding), a body-mass factor and a size of its adults. A day has a fixed order: feeding, condition and body mass, laying, deaths and development. With food
//! and room for all it is linear, and its matrix (32 by 32) gives growth, stable structure and elasticities.
//!
//! - [`rates`]: parameters, sub-stage masses, the projection matrix;
//! - [`response`]: temperature, moisture and pH factors;
//! - [`stress`]: salt, ammonia, and what worms do to the decay of a layer;
//! - [`population`]: the stock of a bed, merging, screening;
//! - [`mod@day`]: one day.
//!
//! # Source
//! `worms` table for the parameters; the equations are this project's (`modelling_choice`).

pub mod day;
pub mod population;
pub mod rates;
pub mod response;
pub mod stress;

pub use day::{Deaths, Surroundings, WormDay, day};
pub use population::{Lost, Population, Stages, WormRecovery};
pub use rates::{WormParameters, WormRates};

/// Cocoon sub-stages: nine give the measured spread of incubation, SD 6.0 d.
///
/// # Source
/// `worms.cocoon_substages`
pub const COCOON_STAGES: usize = 9;

/// Juvenile sub-stages, hatchling to 0.12 g.
///
/// # Source
/// `worms.juvenile_substages`
pub const JUVENILE_STAGES: usize = 12;

/// Sub-adult sub-stages, 0.12 g to laying.
///
/// # Source
/// `worms.subadult_substages`
pub const SUBADULT_STAGES: usize = 10;
