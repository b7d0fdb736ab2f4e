//! Questions asked of the model. A question takes a [`Plan`](crate::scenario::Plan) and gives figures as plain data, in SI; `report` turns
//! them into words.
//!
//! - [`check`](mod@check): what a plan means before anything is run; [`mix`](mod@mix) what a mix of ingredients is.
//! - [`run()`]: what happens with central values, as a [`RunAnswer`](answer::RunAnswer). In it are the [`site_figures`](crate::site_figures) (floor, work,
//!   power, greenhouse gas, money) and the warnings; [`rates_used`] adds which published numbers it rests on, [`stock_growth`] what
//!   the worms could do.
//! - [`uncertainty`]: how sure that is, from many draws; [`drivers`](mod@drivers) which unknowns move it, by [`sensitivity`] and [`sobol`].
//! - [`log`](mod@log) sets a log beside the model; [`fit`](mod@fit) moves the unknowns towards it.
//! - [`rounds`](mod@rounds) plans the work of the coming days; [`weigh`](mod@weigh) says what is worth measuring, before anything is.
//! - [`explore`] moves choices of a scenario and answers at once, for the live page.
//! - [`what_if`] compares variants on the same draws; [`sizing`] seeks the cheapest site that meets its targets.

pub mod ahead;
pub mod answer;
mod beside;
pub mod check;
pub mod drivers;
pub mod explore;
pub mod filled;
pub mod fit;
mod later_years;
mod measurements;
pub mod log;
pub mod mix;
pub mod rates_used;
pub mod rounds;
mod run;
pub mod sensitivity;
pub mod sobol;

pub mod stock_growth;
pub mod uncertainty;
pub mod verdict;
pub mod sizing;

mod warn;
pub mod weigh;
pub mod what_if;

pub use crate::monte_carlo::{Draws, Watch};
pub use run::{RunError, run, run_saving};
