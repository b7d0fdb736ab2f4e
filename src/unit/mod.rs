//! Equipment: holds matter, obeys capacity, runs processes.

pub mod bed;
pub mod cure;
pub mod drum_store;
pub mod grinder;
pub mod screen;
pub mod starter;
