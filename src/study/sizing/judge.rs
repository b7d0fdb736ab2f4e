//! Whether a site meets its targets: draws of it, as few as the answer needs. The numbers below are choices of ours.

use super::answer::Missed;
use super::grid::Grid;
use super::search::{AXES, Point, within};
use super::{SizingError, chance};
use crate::monte_carlo::ensemble::{self, Ensemble};
use crate::monte_carlo::{Draws, Study, Watch};
use crate::scenario::Plan;
use crate::scenario::sizing::Target;
use crate::trace::figures;
use std::collections::BTreeMap;

/// Confidence of a quick look.
const EVEN: f64 = 0.5;
/// Draws before the first look, and between the first looks.
const LOOK: u64 = 10;
/// Draws between later looks.
const LATER_LOOK: u64 = 20;
/// Doubt that is left when a target is settled before the last draw.
const DOUBT: f64 = 0.001;
/// Share of draws in which a larger site loses a target, from which on the larger site is reported as worse.
const REVERSAL: f64 = 0.05;
/// Draws from which on a site counts as looked at when the work is stopped.
const LOOKED_AT: u64 = 20;
/// Sites that are looked at with all draws for the nearest to the targets.
const NEAR: usize = 4;

/// A target with the place of its figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// The target.
    pub target: Target,
    /// Place of the figure among the figures of a draw.
    pub place: usize,
}

impl Wanted {
    /// Whether a value of the figure holds; one that is not a number, as of a failed draw, does not.
    pub fn holds(&self, value: f64) -> bool {
        let t = &self.target;
        value.is_finite()
            && t.at_most.is_none_or(|most| value <= most)
            && t.at_least.is_none_or(|least| value >= least)
    }

    /// Number of values that hold.
    pub fn met(&self, values: &[f64]) -> u64 {
        values.iter().filter(|value| self.holds(**value)).count() as u64
    }
}

/// The targets of a plan.
///
/// # Errors
/// [`SizingError::UnknownFigure`] for a figure that no draw has.
pub fn wanted(plan: &Plan) -> Result<Vec<Wanted>, SizingError> {
    let place = |target: &Target| {
        figures::place(&target.figure).ok_or_else(|| SizingError::UnknownFigure(target.figure.clone()))
    };
    plan.sizing.targets.iter().map(|t| Ok(Wanted { target: t.clone(), place: place(t)? })).collect()
}

/// Figures of the targets by target and draw; not a number where a draw failed.
pub(super) type Values = Vec<Vec<f64>>;

/// A target that a larger site meets less often.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Reversal {
    /// Place among the targets.
    pub(super) target: usize,
    /// Sizes of the smaller site.
    pub(super) smaller: [f64; AXES],
    /// Sizes of the larger site.
    pub(super) larger: [f64; AXES],
    /// Share of common draws that hold in the smaller site and not in the larger one.
    pub(super) lost: f64,
}

/// Judges sites on the same draws, and remembers the draws of every site.
pub struct Judge<'a> {
    pub(super) plan: &'a Plan,
    pub(super) study: &'a Study,
    pub(super) watch: &'a Watch,
    /// The sizes that are tried.
    pub grid: Grid,
    /// The targets of the plan.
    pub wanted: Vec<Wanted>,
    all: Draws,
    quick: u64,
    /// Draws that must hold among the quick ones, by target: a quick look asks that a chance is likelier met than not.
    quick_needed: Vec<u64>,
    confidence: f64,
    seen: BTreeMap<Point, Values>,
    /// Sites judged on other sizes.
    before: usize,
    /// Number of draws made so far, of all sites.
    pub draws_made: u64,
}

/// How many draws a judge makes of a site, and how sure it must be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// All draws of a site.
    pub all: Draws,
    /// Number of draws of a site in a quick look: the first ones.
    pub quick: u64,
    /// Confidence with which a chance must be shown, 0.5 to 0.999.
    pub confidence: f64,
}

impl<'a> Judge<'a> {
    /// A judge of the sites of a plan, who has judged nothing yet.
    pub fn new(
        plan: &'a Plan,
        study: &'a Study,
        grid: Grid,
        wanted: Vec<Wanted>,
        sample: Sample,
        watch: &'a Watch,
    ) -> Self {
        let Sample { all, quick, confidence } = sample;
        let likely = |w: &Wanted| chance::needed(quick, w.target.chance, EVEN).unwrap_or(quick);
        let quick_needed = wanted.iter().map(likely).collect();
        Self {
            plan,
            study,
            watch,
            grid,
            wanted,
            all,
            quick,
            quick_needed,
            confidence,
            seen: BTreeMap::new(),
            before: 0,
            draws_made: 0,
        }
    }

    /// Nothing judged yet, on other sizes: the same draws and targets.
    pub(super) fn on(&self, grid: Grid) -> Self {
        Self {
            grid,
            wanted: self.wanted.clone(),
            quick_needed: self.quick_needed.clone(),
            seen: BTreeMap::new(),
            before: 0,
            draws_made: 0,
            ..*self
        }
    }

    /// Goes on with other sizes, where no site was found.
    pub(super) fn turn_to(&mut self, grid: Grid) {
        self.before += self.seen.len();
        self.seen.clear();
        self.grid = grid;
    }

    /// Confidence with which a chance must be shown.
    pub(super) fn confidence(&self) -> f64 {
        self.confidence
    }

    /// Whether the first draws of a site hold as often as a quick look asks; it ends as soon as they show every chance, or none can.
    ///
    /// # Errors
    /// [`SizingError`].
    ///
    /// # Panics
    /// Where the address space cannot count the draws it holds.
    pub fn quick(&mut self, point: &Point) -> Result<bool, SizingError> {
        loop {
            let made = self.made(point).min(self.quick);
            if made > 0
                && let Some(settled) = self.quickly(point, made)
            {
                return Ok(settled);
            }
            self.extend(point, (made + LOOK).min(self.quick))?;
        }
    }

    /// Whether a site passes a quick look by this many first draws. None if more are needed.
    fn quickly(&self, point: &Point, made: u64) -> Option<bool> {
        let first = usize::try_from(made).expect("draws are kept in memory");
        let (mut shown, mut hopeless) = (true, false);
        for ((wanted, values), needed) in self.wanted.iter().zip(&self.seen[point]).zip(&self.quick_needed) {
            let met = wanted.met(&values[..first]);
            // as many failures as the rest cannot make good
            hopeless |= made - met > self.quick - needed;
            shown = shown && chance::at_least(met, made, wanted.target.chance) <= 1.0 - self.confidence;
        }
        if hopeless { Some(false) } else { (shown || made == self.quick).then_some(true) }
    }

    /// The sites that miss a target by their draws: by the usual quick look, or by more draws.
    pub fn missed(&self) -> Vec<Point> {
        let missed = |point: &&Point| {
            let made = self.made(point);
            self.settled(point) == Some(false)
                || (made <= self.quick && self.quickly(point, made) == Some(false))
        };
        self.seen.keys().filter(missed).copied().collect()
    }

    /// The cheapest site whose draws, no fewer than those of a quick look, hold as often as asked, with those draws.
    pub(super) fn cheapest_so_far(&self) -> Option<(Point, &Values)> {
        let good = |point: &&Point| {
            self.wanted.iter().zip(&self.seen[*point]).all(|(wanted, values)| {
                values.len() as u64 >= self.quick.min(LOOKED_AT)
                    && wanted.met(values) as f64 >= wanted.target.chance * values.len() as f64
            })
        };
        let by_cost = |a: &&Point, b: &&Point| self.grid.cost(a).total_cmp(&self.grid.cost(b));
        self.seen.keys().filter(good).min_by(by_cost).map(|point| (*point, &self.seen[point]))
    }

    /// Number of sites judged.
    pub fn candidates(&self) -> usize {
        self.before + self.seen.len()
    }

    /// Asks for more certainty from now on.
    pub(super) fn set_confidence(&mut self, confidence: f64) {
        self.confidence = confidence;
    }

    /// The draws a target must hold in of all draws.
    ///
    /// # Panics
    /// Never: too few draws are refused before.
    pub fn needed(&self, target: &Target) -> u64 {
        chance::needed(self.all.to, target.chance, self.confidence).unwrap_or(self.all.to)
    }

    /// Whether a site meets every target, by as few of its draws as settle that.
    ///
    /// # Errors
    /// [`SizingError`] when draws cannot be made or the work is stopped.
    pub fn meets(&mut self, point: &Point) -> Result<bool, SizingError> {
        loop {
            let made = self.made(point);
            if made > 0
                && let Some(settled) = self.settled(point)
            {
                return Ok(settled);
            }
            let step = if made < 2 * LOOK { LOOK } else { LATER_LOOK };
            self.extend(point, (made + step).min(self.all.to))?;
        }
    }

    /// Figures of the targets in all draws of a site.
    ///
    /// # Errors
    /// [`SizingError`].
    pub fn whole(&mut self, point: &Point) -> Result<&Values, SizingError> {
        self.extend(point, self.all.to)?;
        Ok(&self.seen[point])
    }

    /// Figures of the targets in so many of the first draws of a site.
    ///
    /// # Errors
    /// [`SizingError`].
    ///
    /// # Panics
    /// Where the address space cannot count the draws it holds.
    pub(super) fn first(&mut self, point: &Point, draws: u64) -> Result<Values, SizingError> {
        self.extend(point, draws)?;
        let draws = usize::try_from(draws).expect("draws are kept in memory");
        Ok(self.seen[point].iter().map(|values| values[..draws].to_vec()).collect())
    }

    /// Draws of a quick look.
    pub(super) fn quick_draws(&self) -> u64 {
        self.quick
    }

    /// All draws of a site.
    pub(super) fn all_draws(&self) -> Draws {
        self.all
    }

    /// Whether all draws of a site meet every target, by the rule of the last draw.
    ///
    /// # Errors
    /// [`SizingError`].
    pub fn meets_whole(&mut self, point: &Point) -> Result<bool, SizingError> {
        self.extend(point, self.all.to)?;
        self.meets(point)
    }

    /// Whether a site meets every target by all its draws; fewer are made if it clearly does not.
    ///
    /// # Errors
    /// [`SizingError`].
    pub fn shows(&mut self, point: &Point) -> Result<bool, SizingError> {
        Ok(self.meets(point)? && self.meets_whole(point)?)
    }

    /// How far a site is from its targets, by the draws made so far.
    pub(super) fn shortfall(&self, point: &Point) -> f64 {
        self.short_over(point, usize::MAX)
    }

    /// How far a site is from its targets, by no more than so many first draws: the sum of squares of what is missing of each chance,
    /// so that none is given up for the others.
    fn short_over(&self, point: &Point, draws: usize) -> f64 {
        let Some(values) = self.seen.get(point) else { return f64::INFINITY };
        let missing = |(wanted, values): (&Wanted, &Vec<f64>)| {
            let values = &values[..draws.min(values.len())];
            let wants = self.needed(&wanted.target) as f64 / self.all.to as f64;
            (wants - wanted.met(values) as f64 / values.len() as f64).max(0.0).powi(2)
        };
        self.wanted.iter().zip(values).map(missing).sum()
    }

    /// How much farther one site is from its targets than another, by the draws that were made of both; below zero where nearer.
    pub(super) fn farther(&self, point: &Point, than: &Point) -> f64 {
        let common = usize::try_from(self.made(point).min(self.made(than))).unwrap_or(usize::MAX);
        self.short_over(point, common) - self.short_over(than, common)
    }

    /// The site judged that is least short of its targets, the cheapest of equal ones; the few that are near are looked at with
    /// all draws.
    ///
    /// # Errors
    /// [`SizingError`].
    ///
    /// # Panics
    /// Before any site was judged.
    pub fn nearest(&mut self) -> Result<Point, SizingError> {
        for _ in 0..NEAR {
            let point = self.least_short(|_| true);
            if self.made(&point) == self.all.to {
                return Ok(point);
            }
            self.extend(&point, self.all.to)?;
        }
        Ok(self.least_short(|made| made))
    }

    /// The site least short among all, or among those with all draws.
    fn least_short(&self, wanted: impl Fn(bool) -> bool) -> Point {
        let by = |point: &Point| (self.shortfall(point), self.grid.cost(point));
        let among = self.seen.keys().filter(|point| wanted(self.made(point) == self.all.to));
        let nearest = among.min_by(|a, b| {
            let (a, b) = (by(a), by(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
        *nearest.expect("a site was judged")
    }

    /// Draws made of a site.
    fn made(&self, point: &Point) -> u64 {
        self.seen.get(point).map_or(0, |values| values[0].len() as u64)
    }

    /// Whether enough is known: missed when any target surely is, met when all surely are.
    fn settled(&self, point: &Point) -> Option<bool> {
        let mut all = true;
        for (wanted, values) in self.wanted.iter().zip(&self.seen[point]) {
            match self.target_settled(wanted, values) {
                Some(false) => return Some(false),
                met => all &= met.is_some(),
            }
        }
        all.then_some(true)
    }

    /// Whether enough is known of a target by its figures.
    fn target_settled(&self, wanted: &Wanted, values: &[f64]) -> Option<bool> {
        let (made, met) = (values.len() as u64, wanted.met(values));
        let (needed, chance) = (self.needed(&wanted.target), wanted.target.chance);
        let hopeless = 1.0 - chance::at_least((met + 1).min(made), made, chance);
        if made - met > self.all.to - needed || (met < made && hopeless < DOUBT) {
            return Some(false);
        }
        let sure = met >= needed || (made < self.all.to && chance::at_least(met, made, chance) < DOUBT);
        sure.then_some(true)
    }

    /// The targets that a site judged surely misses, with the draws made.
    pub(super) fn misses(&self, point: &Point) -> Vec<Missed> {
        let values = self.seen.get(point).into_iter().flatten();
        let missed = self.wanted.iter().zip(values).filter(|(w, v)| self.target_settled(w, v) == Some(false));
        missed
            .map(|(wanted, values)| Missed {
                figure: wanted.target.figure.clone(),
                draws: values.len(),
                share: wanted.met(values) as f64 / values.len() as f64,
                needed: self.needed(&wanted.target) as f64 / self.all.to as f64,
            })
            .collect()
    }

    /// Whether a target is about the settled year; else sites are followed to the end of the run only.
    fn needs_later_years(&self) -> bool {
        figures::need_later_years(self.wanted.iter().map(|wanted| wanted.place))
    }

    /// Makes draws of a site until there are so many.
    ///
    /// # Errors
    /// [`SizingError`].
    pub(super) fn extend(&mut self, point: &Point, to: u64) -> Result<(), SizingError> {
        let from = self.made(point);
        if from >= to {
            return Ok(());
        }
        let sized = self.plan.resized(&self.grid.size(point)).map_err(SizingError::Size)?;
        let sized = if self.needs_later_years() { sized } else { sized.without_later_years() };
        let more = self.all.between(from, to);
        let more = values(&draws(&sized, self.study, &more, self.watch)?, &self.wanted);
        let values = self.seen.entry(*point).or_insert_with(|| vec![Vec::new(); self.wanted.len()]);
        for (known, more) in values.iter_mut().zip(more) {
            known.extend(more);
        }
        self.draws_made += to - from;
        Ok(())
    }

    /// For each target the pair of sites, one within the other, where the larger loses most: none where more never harms.
    pub(super) fn reversals(&self) -> Vec<Reversal> {
        let mut worst: Vec<Option<Reversal>> = vec![None; self.wanted.len()];
        for (small, fewer) in &self.seen {
            for (large, more) in self.seen.iter().filter(|(large, _)| *large != small && within(small, large))
            {
                for (n, wanted) in self.wanted.iter().enumerate() {
                    let pairs = || fewer[n].iter().zip(&more[n]);
                    let lost = pairs().filter(|(a, b)| wanted.holds(**a) && !wanted.holds(**b)).count();
                    let gained = pairs().filter(|(a, b)| !wanted.holds(**a) && wanted.holds(**b)).count();
                    let share = lost as f64 / pairs().count().max(1) as f64;
                    let known = worst[n].as_ref().map_or(REVERSAL, |w| w.lost);
                    if lost > gained && share > known {
                        worst[n] = Some(Reversal {
                            target: n,
                            smaller: self.grid.values(small),
                            larger: self.grid.values(large),
                            lost: share,
                        });
                    }
                }
            }
        }
        worst.into_iter().flatten().collect()
    }
}

/// The draws asked for.
///
/// # Errors
/// [`SizingError::NoDraw`] where every draw fails; [`SizingError::Stopped`].
pub(super) fn draws(
    plan: &Plan,
    study: &Study,
    asked: &Draws,
    watch: &Watch,
) -> Result<Ensemble, SizingError> {
    let made = ensemble::run(plan, study, asked, watch);
    if made.is_partial() {
        return Err(SizingError::Stopped(Box::default()));
    }
    match made.failed.first() {
        Some(failed) if made.rows.is_empty() => Err(SizingError::NoDraw(failed.message.clone())),
        _ => Ok(made),
    }
}

/// Figures of the targets in the draws made; not a number where a draw failed or there is nothing to measure: a site without
/// castings does not meet a target on their moisture.
pub(super) fn values(made: &Ensemble, wanted: &[Wanted]) -> Values {
    let count = usize::try_from(made.to - made.from).expect("draws are kept in memory");
    let mut values = vec![vec![f64::NAN; count]; wanted.len()];
    for row in &made.rows {
        let place = usize::try_from(row.draw - made.from).expect("draws are kept in memory");
        for (values, wanted) in values.iter_mut().zip(wanted) {
            values[place] = row.figures[wanted.place].unwrap_or(f64::NAN);
        }
    }
    values
}
