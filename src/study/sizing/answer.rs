//! What a sizing answers. Sizes are in the unit of their [`Variable`], cost in the currency or weight of the answer.

use crate::monte_carlo::summary::wilson;
use crate::quantity::{Kind, whole};
use crate::study::answer::{Reported, RunAnswer};
use crate::study::verdict::Verdict;
use jiff::civil::Date;
use serde::Serialize;

/// The answer to *size*: the site that was sought, or the nearest to it.
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
    /// Seed of the draws below: of the verification, or of the search where no site was found.
    pub fresh_seed: u64,
    /// Most draws of a site in the first search.
    pub draws: u64,
    /// Draws that settle the answer.
    pub settling_draws: u64,
    /// Draws of the verification: as many, or more where no site shows each chance and these miss one by no more than noise.
    pub verified_draws: u64,
    /// Confidence with which the search showed each chance.
    pub confidence: f64,
    /// Times the search was made stricter because a fresh seed fell short.
    pub raised: u32,
    /// Whether a site was found; else the one below is the nearest.
    pub found: bool,
    /// Whether the draws of the search show each chance with the confidence asked; else their share alone meets it, and no larger site that
    /// was tried does better beyond noise.
    pub shown: bool,
    /// Currency of cost. None if the plan gives no prices, or the weight of a size that is sought is assumed.
    pub currency: Option<String>,
    /// Every size, sought or held.
    pub variables: Vec<Variable>,
    /// Area of the beds, m2.
    pub bed_area: f64,
    /// Cost of the site, in the currency or in weight.
    pub cost: f64,
    /// Cost of the plan's own sizes. None if the plan sets no limit on one that is sought.
    pub plan_cost: Option<f64>,
    /// Whether the targets are the questions of the verdict, as the plan has none.
    pub by_verdict: bool,
    /// Targets, as the fresh draws meet them.
    pub targets: Vec<Met>,
    /// The verdict of the same draws.
    pub verdict: Verdict,
    /// What may go wrong, on the same draws, whether a target names it or not.
    pub risks: Vec<Risk>,
    /// Why no site was found, and what would help. None if one was.
    pub refusal: Option<Refusal>,
    /// A leaner and a more cautious site about the answer, and the answer between them; empty if no site was found.
    pub sites: Vec<SizedSite>,
    /// What one step more or less of each size changes.
    pub units: Vec<UnitChange>,
    /// How the chance of each target changes with each size that is sought.
    pub along: Vec<Along>,
    /// Buying the stock against growing it, on a few draws of the search.
    pub start_up: Vec<StartUp>,
    /// Grinding and bran that the site needs, with central values.
    pub demand: Demand,
    /// Rules printed elsewhere, with the answer beside them.
    pub compared: Vec<PublishedRule>,
    /// Targets that a larger site met less often.
    pub reversals: Vec<ReversalFound>,
    /// Warnings of the best-estimate run of the site.
    pub warnings: Vec<Reported>,
    /// Number of sites judged.
    pub candidates: usize,
    /// Draws made in the search.
    pub draws_made: u64,
    /// Draws that could not differ from one made and were not made.
    pub draws_reused: u64,
    /// The best-estimate run of the site.
    #[serde(skip)]
    pub run: RunAnswer,
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
    /// Name of the figure, or of the failure.
    pub figure: String,
    /// What the figure is, or when a draw counts as failed, in words.
    pub what: &'static str,
    /// Whether it is a question of the verdict.
    pub failure: bool,
    /// What the figure measures, for readers in other units.
    #[serde(skip)]
    pub kind: Kind,
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

/// A target that is missed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Missed {
    /// Name of its figure, or of the failure.
    pub figure: String,
    /// Draws.
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

/// How often a target holds in the draws of a site: the same of every site, so that these differ by their sizes alone.
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

impl AlongShare {
    /// A share of so many draws, with its interval.
    pub(super) fn of(share: f64, draws: usize) -> Self {
        let held = whole((share * draws as f64).round()) as usize;
        let (low, high) = wilson(held.min(draws), draws);
        Self { draws, share, low, high }
    }
}

/// A site with its chances.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizedSite {
    /// `lean`, `recommended` or `cautious`.
    pub name: &'static str,
    /// The chance of missing a target that it may have, over that of the answer.
    pub ease: f64,
    /// Whether such a site was found; else the rest is that of the answer.
    pub found: bool,
    /// Values of the sizes, in the order of the variables. None for no limit.
    pub sizes: Vec<Option<f64>>,
    /// Area of its beds, m2.
    pub bed_area: f64,
    /// Its cost, in the currency or weight of the answer.
    pub cost: f64,
    /// How often each target holds in the draws of the search, in the order of the targets.
    pub shares: Vec<AlongShare>,
}

/// What one step more or less of a size changes, all others as in the answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnitChange {
    /// Name of the size.
    pub variable: &'static str,
    /// Its value.
    pub value: f64,
    /// Whether it is more than that of the answer.
    pub more: bool,
    /// What it costs more than the answer; below zero if less.
    pub cost: f64,
    /// What it changes of each target, in the order of the targets.
    pub differences: Vec<Difference>,
    /// Targets it misses by the draws and the rule of the search.
    pub missed: Vec<Missed>,
}

/// How much more often a target holds than in the answer, on draws that both have in common.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Difference {
    /// Common draws.
    pub draws: usize,
    /// Draws in which it holds in the answer only.
    pub lost: usize,
    /// Draws in which it holds in the other site only.
    pub gained: usize,
    /// (gained - lost) / draws.
    pub share: f64,
    /// Low end of its 95 % interval, by Agresti and Min.
    pub low: f64,
    /// High end of that interval.
    pub high: f64,
}

/// Why no site was found, and what would help.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Refusal {
    /// Targets that the nearest site misses by its draws.
    pub missed: Vec<Missed>,
    /// What the model reports of draws that fail there, run over three years, the most frequent first.
    pub causes: Vec<Cause>,
    /// Feeding days on which beds took nothing in those runs, as pairs of what limited and days, all beds together, the most days first.
    pub feeding: Vec<(&'static str, usize)>,
    /// Sizes that would have to be larger than was tried; empty where no larger site that was tried meets the targets.
    pub takes: Vec<Take>,
}

/// A kind of warning in draws that fail.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cause {
    /// Draws looked at in which it is raised.
    pub draws: usize,
    /// Draws looked at.
    pub of: usize,
    /// Short name of the kind of warning.
    pub code: &'static str,
    /// The warnings of this kind in the first of them: one, or one of each bed.
    pub warnings: Vec<Reported>,
}

/// A size that would have to be larger than was tried.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Take {
    /// Name of the size.
    pub name: &'static str,
    /// Whether it was held at the plan's value; else it was sought within bounds.
    pub held: bool,
    /// Largest value tried, in the unit of the size.
    pub tried: f64,
    /// Value it would take.
    pub takes: f64,
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
