//! What a sizing answers.

use crate::quantity::Kind;
use jiff::civil::Date;
use serde::Serialize;

/// The site that was sought.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizingAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// First day.
    pub start: Date,
    /// Days of the run.
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
    /// Currency of cost; none where a weight is assumed.
    pub currency: Option<String>,
    /// The sizes.
    pub variables: Vec<Variable>,
    /// Cost of the answer. # Units: currency, or weight
    pub cost: f64,
    /// Cost of the plan's own sizes; none where the plan sets no limit on one that is sought.
    pub plan_cost: Option<f64>,
    /// Nothing that costs less can meet the targets, where more never harms.
    pub cost_bound: f64,
    /// Whether the bound is the cost itself.
    pub proven: bool,
    /// Targets, as the fresh draws meet them.
    pub targets: Vec<Met>,
    /// What else may go wrong, on the fresh draws, whether a target names it or not.
    pub risks: Vec<Risk>,
    /// The next smaller site in each size, and what it misses.
    pub smaller: Vec<Smaller>,
    /// Two sizes against each other.
    pub trade_off: Option<TradeOff>,
    /// How the chance of each target changes with each size that is sought.
    pub along: Vec<Along>,
    /// Buying the stock against growing it.
    pub start_up: Vec<StartUp>,
    /// What the site asks of grinder and bran, with central values.
    pub demand: Demand,
    /// Rules printed elsewhere.
    pub compared: Vec<Compared>,
    /// Targets that a larger site met less often: the bound on cost does not hold there.
    pub reversals: Vec<ReversalTold>,
    /// Sites judged.
    pub candidates: usize,
    /// Draws made in the search.
    pub draws_made: u64,
}

/// One size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Variable {
    /// Name.
    pub name: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// What it measures, for readers in other units.
    #[serde(skip)]
    pub kind: Kind,
    /// Sought, or held at the plan's value.
    pub free: bool,
    /// The answer; none for no limit.
    pub value: Option<f64>,
    /// The plan's own.
    pub plan: Option<f64>,
    /// What a reckoning by hand gives.
    pub by_hand: f64,
    /// Least that meets the targets with all others at their largest.
    pub least: Option<f64>,
    /// Least value tried.
    pub low: Option<f64>,
    /// Largest value tried.
    pub high: Option<f64>,
    /// Step.
    pub step: Option<f64>,
    /// Cost of one unit.
    pub weight: f64,
    /// Where the weight comes from.
    pub basis: &'static str,
}

/// A target and how often it holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Met {
    /// Figure.
    pub figure: String,
    /// What the figure is, in words.
    pub what: &'static str,
    /// Unit of the figure.
    pub unit: &'static str,
    /// At most.
    pub at_most: Option<f64>,
    /// At least.
    pub at_least: Option<f64>,
    /// Chance asked.
    pub chance: f64,
    /// Share of draws in which it holds.
    pub share: f64,
    /// Low end of the 95 % interval of the chance.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Limit that the draws show with the chance and confidence asked; none for a target between two limits.
    pub promised: Option<f64>,
    /// Whether the chance asked is met.
    pub met: bool,
    /// Whether it has the least to spare.
    pub binding: bool,
}

/// A way for a year to fail, as [`crate::monte_carlo::figures::FAILURES`] holds them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Risk {
    /// Name.
    pub name: &'static str,
    /// When it counts.
    pub statement: &'static str,
    /// Share of draws in which it happens.
    pub share: f64,
    /// Low end of the 95 % interval of the chance.
    pub low: f64,
    /// High end.
    pub high: f64,
}

/// The next smaller site in one size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Smaller {
    /// Size.
    pub variable: &'static str,
    /// Its value; none where the answer is the least value tried.
    pub value: Option<f64>,
    /// Targets it misses.
    pub missed: Vec<Missed>,
}

/// A target that is missed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Missed {
    /// Figure.
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
    /// The size.
    pub variable: &'static str,
    /// By rising value.
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
    /// Share in which it holds.
    pub share: f64,
    /// Low end of the 95 % interval of the chance.
    pub low: f64,
    /// High end.
    pub high: f64,
}

/// Two sizes against each other, all others as in the answer, but for the stock where it goes with the beds; judged by the draws
/// and the rule of the answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TradeOff {
    /// The size that is set.
    pub set: &'static str,
    /// The size that follows.
    pub follows: &'static str,
    /// Whether beds are stocked as densely as in the answer, whatever their area.
    pub stocked: bool,
    /// Points.
    pub points: Vec<TradeOffPoint>,
}

/// A point of a trade-off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TradeOffPoint {
    /// The size that is set.
    pub set: f64,
    /// About the least of the other that meets the targets; where none tried does, that of the site nearest to them.
    pub follows: f64,
    /// Cost of the whole site.
    pub cost: f64,
    /// Whether it is the answer.
    pub answer: bool,
    /// Targets that it misses; none where it meets them all.
    pub missed: Vec<Missed>,
}

impl TradeOffPoint {
    /// Whether every target is met.
    pub fn meets(&self) -> bool {
        self.missed.is_empty()
    }
}

/// A way to begin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StartUp {
    /// Share of the stock that is bought; the rest is grown.
    pub bought_share: f64,
    /// Live worms bought. # Units: kg
    pub bought: f64,
    /// What they cost.
    pub cost: f64,
    /// Share of draws that reach the full intake within the run.
    pub reached: f64,
    /// Month of the run in which half of the draws have reached it; none where fewer do.
    pub month: Option<u32>,
    /// Day of the run on which half of the draws have reached it, from 1.
    pub day: Option<u32>,
    /// Month in which nine tenths have.
    pub late_month: Option<u32>,
    /// Share of the intake turned away over the run, mean of the draws.
    pub turned_away: f64,
    /// Worms at the end, mean of the draws. # Units: kg
    pub stock_end: f64,
}

/// What the site asks of grinder and bran, with central values.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Demand {
    /// Grinding on the busiest day. # Units: h
    pub grinder_hours: f64,
    /// Bran begun in the largest week; 0 where it is bought. # Units: kg
    pub bran_weekly: f64,
    /// Most drums in use at night.
    pub drums: f64,
    /// Ground over the last quarter of the run, of what was taken in then: below 1 the drums only store what the beds do not take.
    pub keeps_up: f64,
}

/// A rule printed elsewhere beside ours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Compared {
    /// What.
    pub what: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// Ours.
    pub ours: f64,
    /// Low end of the printed range.
    pub low: f64,
    /// High end of the printed range.
    pub high: f64,
    /// Key of the literature.
    pub key: &'static str,
    /// Whether ours lies in the range.
    pub inside: bool,
}

/// A target that a larger site meets less often.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReversalTold {
    /// Figure.
    pub figure: String,
    /// Sizes that were larger.
    pub larger: Vec<&'static str>,
    /// Share of draws that hold in the smaller site only.
    pub lost: f64,
}
