//! Stocking densities against each other.

use super::paired::{Paired, gain, mean};
use super::variants::Ready;
use crate::monte_carlo::ensemble::Ensemble;
use crate::trace::figures;
use serde::Serialize;

/// Smallest gain from a denser stocking, as a share, that counts. Our choice.
pub const NO_GAIN: f64 = 0.02;

/// Stocking densities against each other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Densities {
    /// The densities that were tried, rising.
    pub points: Vec<DensityPoint>,
    /// The least density from which on no denser one gains feed laid or castings. None if each still gains (the densest has nothing
    /// beside it that could show a gain), kg/m2.
    pub enough: Option<f64>,
}

/// One stocking density. Figures are means over the draws, of the whole run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DensityPoint {
    /// Worms bought first, per bed area, kg live/m2.
    pub density: f64,
    /// Worms bought first, kg live.
    pub bought: f64,
    /// Paste with bulking laid, kg wet.
    pub fed: f64,
    /// Castings through the screen, kg wet.
    pub castings: f64,
    /// Worms at the end, kg.
    pub stock_end: f64,
    /// Worms at the end per bed area: crowding, kg/m2.
    pub density_end: f64,
    /// Feed eaten per live worms and day, as feed of 80 % water, kg/(kg d).
    pub intake: f64,
    /// Share of bed-days on which worms starved.
    pub starving: f64,
    /// Gain in feed laid over the next thinner point, as a share of it. None for the thinnest.
    pub gain_fed: Option<Paired>,
    /// Gain in castings over the next thinner point, as a share of them. None for the thinnest.
    pub gain_castings: Option<Paired>,
}

/// Whether a gain does not count: below 2 %, and either not distinguishable from zero or clearly below 2 %.
fn nothing(gain: Option<Paired>) -> bool {
    gain.is_none_or(|g| g.mean < NO_GAIN && (g.low <= 0.0 || g.high < NO_GAIN))
}

/// The variants by rising density.
pub(super) fn densities(ready: &[Ready], runs: &[Ensemble]) -> Densities {
    let place = |name: &str| figures::place(name).expect("a figure of the table");
    let (fed, castings, stock) = (place("fed"), place("castings_screened"), place("stock_end"));
    let mut order: Vec<usize> = (0..ready.len()).collect();
    let density = |n: usize| ready[n].plan.size().stock / ready[n].plan.bed_area();
    order.sort_by(|a, b| density(*a).total_cmp(&density(*b)));
    let points = order
        .iter()
        .enumerate()
        .map(|(at, &n)| {
            let thinner = at.checked_sub(1).map(|before| &runs[order[before]]);
            let run = &runs[n];
            DensityPoint {
                density: density(n),
                bought: ready[n].plan.size().stock,
                fed: mean(run, fed),
                castings: mean(run, castings),
                stock_end: mean(run, stock),
                density_end: mean(run, stock) / ready[n].plan.bed_area(),
                intake: mean(run, place("intake_per_worm")),
                starving: mean(run, place("starving_share")),
                gain_fed: thinner.and_then(|thinner| gain(thinner, run, fed)),
                gain_castings: thinner.and_then(|thinner| gain(thinner, run, castings)),
            }
        })
        .collect();
    // the densest has nothing beside it that could show a gain, so it is never the answer
    let enough = (0..order.len().saturating_sub(1)).find(|&at| {
        let denser = &order[at + 1..];
        [fed, castings]
            .iter()
            .all(|&figure| denser.iter().all(|&n| nothing(gain(&runs[order[at]], &runs[n], figure))))
    });
    Densities { points, enough: enough.map(|at| density(order[at])) }
}
