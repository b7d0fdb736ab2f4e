//! Mass-and-nutrient balance of a small site that ferments food scraps and feeds them to worm beds.
//!
//! A tour in the order matter flows. A *scenario* file is read and checked into a plan ([`scenario`]); the plan names
//! [`ingredient`]s, whose published analyses ([`literature`]) are split into booked [`component`]s of a [`material`].
//! The [`chain`] wires [`mod@unit`]s together (drums, grinder, beds, screen, cure), each running the [`process`]es inside it,
//! and books every movement in the ledger of the [`trace`]. What is not known is drawn by [`monte_carlo`]. A [`study`] asks
//! questions of the trace; [`report`] shows the answers; [`cli`] is the program.
//!
//! Modules stand in layer order: each uses only what stands above it, and a test keeps it so.

pub mod quantity;
pub mod component;
pub mod material;
pub mod uncertain;
pub mod warning;
pub mod literature;
pub mod process;
pub mod ingredient;
pub mod unit;
pub mod trace;
pub mod chain;
pub mod scenario;
pub mod monte_carlo;
pub mod study;
pub mod report;
pub mod cli;
