//! What a sizing answers. Sizes are in the unit of their [`Variable`], cost in the currency or weight of the answer.

use crate::quantity::Kind;
use jiff::civil::Date;
use serde::Serialize;

/// The answer to *size*: the site that was sought.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizingAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// First day of the run.
    pub start: Date,
    /// Number of days of the run.
    pub days: u32,
    /// Seed of the search.
    pub seed: u64,
    /// Seed of the verification.
    pub fresh_seed: u64,
    /// Most draws of a site in the search.
    pub draws: u64,
    /// Draws of the verification.
    pub verified_draws: u64,
    /// Confidence with which the search showed each chance.
    pub confidence: f64,
    /// Times the search was made stricter because a fresh seed fell short.
    pub raised: u32,
    /// Currency of cost. None if the plan gives no prices, or the weight of a size that is sought is assumed.
    pub currency: Option<String>,
    /// Every size, sought or held.
    pub variables: Vec<Variable>,
    /// Cost of the answer, in the currency or in weight.
    pub cost: f64,
    /// Cost of the plan's own sizes. None if the plan sets no limit on one that is sought.
    pub plan_cost: Option<f64>,
    /// Nothing that costs less can meet the targets, where more never harms.
    pub cost_bound: f64,
    /// Whether the bound reaches the cost: nothing cheaper meets the targets, where more never harms.
    pub proven: bool,
    /// Targets, as the fresh draws meet them.
    pub targets: Vec<Met>,
    /// What else may go wrong, on the fresh draws, whether a target names it or not.
    pub risks: Vec<Risk>,
    /// The next smaller site in each size, and what it misses.
    pub smaller: Vec<Smaller>,
    /// Two sizes against each other. None if fewer than two are sought.
    pub trade_off: Option<TradeOff>,
    /// How the chance of each target changes with each size that is sought.
    pub along: Vec<Along>,
    /// Buying the stock against growing it, on a few draws of the search.
    pub start_up: Vec<StartUp>,
    /// Grinding and bran that the site needs, with central values.
    pub demand: Demand,
    /// Rules printed elsewhere, with the answer beside them.
    pub compared: Vec<PublishedRule>,
    /// Targets that a larger site met less often: the bound on cost does not hold there.
    pub reversals: Vec<ReversalFound>,
    /// Number of sites judged.
    pub candidates: usize,
    /// Draws made in the search.
    pub draws_made: u64,
}

/// One size that may be sought, or is held at the plan's value.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Variable {
    /// Name of the size, one of [`NAMES`](super::NAMES).
    pub name: &'static str,
    /// Unit of the values below.
    pub unit: &'static str,
    /// What it measures, for readers in other units.
    #[serde(skip)]
    pub kind: Kind,
    /// Sought, or held at the plan's value.
    pub free: bool,
    /// The answer. None for no limit.
    pub value: Option<f64>,
    /// The plan's own. None for no limit.
    pub plan: Option<f64>,
    /// What a calculation by hand gives; see [`Reckoned`](super::Reckoned).
    pub by_hand: f64,
    /// Least that met the targets in the search with all others as at the site it began with. None if the size is held.
    pub least: Option<f64>,
    /// Least value tried. None if the size is held.
    pub low: Option<f64>,
    /// Largest value tried. None if the size is held.
    pub high: Option<f64>,
    /// Step between the values tried. None if the size is held.
    pub step: Option<f64>,
    /// Cost of one unit: of an hour of grinding a year's wages, of bran made a week a year's price, of the others once.
    pub weight: f64,
    /// Where the weight comes from: given, a price of the plan, or assumed.
    pub basis: &'static str,
}

/// A target and how often it holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Met {
    /// Name of the figure.
    pub figure: String,
    /// What the figure is, in words.
    pub what: &'static str,
    /// Unit of the figure.
    pub unit: &'static str,
    /// The figure is at most this. None without such a limit.
    pub at_most: Option<f64>,
    /// The figure is at least this. None without such a limit.
    pub at_least: Option<f64>,
    /// Chance asked, 0 to 1.
    pub chance: f64,
    /// Share of the fresh draws in which it holds.
    pub share: f64,
    /// Low end of the 95 % interval of the chance, by Clopper and Pearson.
    pub low: f64,
    /// High end of that interval.
    pub high: f64,
    /// Limit that the draws show with the chance and confidence asked. None for a target between two limits.
    pub promised: Option<f64>,
    /// Whether the chance asked is met.
    pub met: bool,
    /// Whether it has the least to spare of all targets.
    pub binding: bool,
}

/// The risk of a failure of [`crate::trace::failures::FAILURES`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Risk {
    /// Name in files.
    pub name: &'static str,
    /// When a draw counts as failed, in words.
    pub statement: &'static str,
    /// Share of draws in which it happens, of those in which it could.
    pub share: f64,
    /// Low end of the 95 % interval of the chance.
    pub low: f64,
    /// High end of that interval.
    pub high: f64,
}

/// The next smaller site in one size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Smaller {
    /// Name of the size.
    pub variable: &'static str,
    /// Its value. None if the answer is the least value tried.
    pub value: Option<f64>,
    /// Targets it misses; empty where the answer is the least value tried.
    pub missed: Vec<Missed>,
}

/// A target that is missed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Missed {
    /// Name of its figure.
    pub figure: String,
    /// Draws made: fewer where the target was missed beyond doubt.
    pub draws: usize,
    /// Share of these draws in which it holds.
    pub share: f64,
    /// Share of all draws that would have shown the chance asked with the confidence asked.
    pub needed: f64,
}

/// Sites that differ from the answer in one size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Along {
    /// Name of the size.
    pub variable: &'static str,
    /// Its sites, by rising value of the size.
    pub points: Vec<AlongPoint>,
}

/// A site that differs from the answer in one size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AlongPoint {
    /// Value of the size.
    pub value: f64,
    /// Whether it is the answer.
    pub answer: bool,
    /// How often each target holds, in the order of the targets.
    pub shares: Vec<AlongShare>,
}

/// How often a target holds in the first draws of a site: as many of every site, so that these differ by their sizes alone.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AlongShare {
    /// Draws looked at.
    pub draws: usize,
    /// Share of them in which it holds.
    pub share: f64,
    /// Low end of the 95 % interval of the chance.
    pub low: f64,
    /// High end of that interval.
    pub high: f64,
}

/// Two sizes against each other, all others as in the answer, except the stock if it follows the bed area; judged by the draws
/// and the rule of the answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TradeOff {
    /// Name of the size that is set.
    pub set: &'static str,
    /// Name of the size that follows.
    pub follows: &'static str,
    /// Whether beds are stocked as densely as in the answer, whatever their area.
    pub stocked: bool,
    /// Its sites, by rising value of the size that is set.
    pub points: Vec<TradeOffPoint>,
}

/// A point of a trade-off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TradeOffPoint {
    /// Value of the size that is set.
    pub set: f64,
    /// About the least value of the other that meets the targets; if no value tried does, that of the site nearest to them.
    pub follows: f64,
    /// Cost of the whole site.
    pub cost: f64,
    /// Whether it is the answer.
    pub answer: bool,
    /// Targets that it misses; empty if it meets them all.
    pub missed: Vec<Missed>,
}

impl TradeOffPoint {
    /// Whether every target is met: none is missed.
    pub fn meets(&self) -> bool {
        self.missed.is_empty()
    }
}

/// A way to begin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StartUp {
    /// Share of the stock that is bought; the rest is grown.
    pub bought_share: f64,
    /// Live worms bought, kg.
    pub bought: f64,
    /// What they cost, by the weight of the stock.
    pub cost: f64,
    /// Share of draws that reach the full intake within the run.
    pub reached: f64,
    /// Month of the run, from 1, in which half of the draws have reached it. None if fewer do.
    pub month: Option<u32>,
    /// Day of the run, from 1, on which half of the draws have reached it. None if fewer do.
    pub day: Option<u32>,
    /// Month of the run, from 1, in which nine tenths have. None if fewer do.
    pub late_month: Option<u32>,
    /// Share of the intake turned away over the run, mean of the draws.
    pub turned_away: f64,
    /// Worms at the end, mean of the draws, kg live.
    pub stock_end: f64,
}

/// Grinding and bran that the site needs, with central values.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Demand {
    /// Grinding on the busiest day, h.
    pub grinder_hours: f64,
    /// Bran begun in the largest week; 0 if it is bought, kg.
    pub bran_weekly: f64,
    /// Most drums in use at night.
    pub drums: f64,
    /// Ground over the last quarter of the run, of what was taken in then: below 1 the drums only store what the beds do not take.
    pub keeps_up: f64,
}

/// A rule printed elsewhere beside the answer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PublishedRule {
    /// What is compared, in words.
    pub what: &'static str,
    /// Unit of all three numbers.
    pub unit: &'static str,
    /// Value of the answer.
    pub ours: f64,
    /// Low end of the printed range.
    pub low: f64,
    /// High end of the printed range.
    pub high: f64,
    /// Key of the printed range in the literature.
    pub key: &'static str,
    /// Whether ours lies in the range.
    pub inside: bool,
}

/// A target that a larger site meets less often.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReversalFound {
    /// Name of its figure.
    pub figure: String,
    /// Names of the sizes that were larger.
    pub larger: Vec<&'static str>,
    /// Share of the common draws in which it holds in the smaller site only.
    pub lost: f64,
}
