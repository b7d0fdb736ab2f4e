//! Mass-and-nutrient balance of a small site that ferments food scraps and feeds them to worm beds.
//!
//! Modules stand in layer order: each uses only what stands above it.

pub mod chain;
pub mod cli;
pub mod component;
pub mod ingredient;
pub mod literature;
pub mod material;
pub mod process;
pub mod quantity;
pub mod report;
pub mod scenario;
pub mod study;
pub mod trace;
pub mod uncertain;
pub mod unit;
pub mod warning;
