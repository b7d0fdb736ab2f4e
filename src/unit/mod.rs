//! Equipment: holds matter, obeys capacity, runs processes.
//!
//! [The model in equations](self::equations) writes out what a drum, a bed, its worms and its castings do in a day.

pub mod bed;
pub mod cure;
pub mod drum_store;
pub mod equations;
pub mod grinder;
pub mod screen;
pub mod starter;
