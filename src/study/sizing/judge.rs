//! Whether a site meets its targets, by draws that all sites have in common, as few as the answer needs. The numbers below are choices of
//! ours.
//!
//! A search looks at the first draws of a site, a quick look, and later at all of them. A draw that was not made is expected to go as at the
//! nearest site where it was ([`expected`]); those that may go either way are made first, until it is clear whether too many draws fail.
//! The site that the search ends at is made with all its draws. A draw in which a drum was always free is the same with any number of drums
//! that is enough, and is not made again.

mod expected;
mod known;
mod make;

use super::SizingError;
use super::chance;
use super::grid::Grid;
use super::question::Wanted;
use super::search::{Point, Sites};
use super::start_up;
use crate::monte_carlo::ensemble::{self, CommonDraws, Ensemble};
use crate::monte_carlo::{Draws, Study, Watch};
use crate::scenario::Plan;
use expected::Looked;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Confidence of a quick look: a chance is likelier met than not.
pub(super) const EVEN: f64 = 0.5;
/// Draws made at a time.
const LOOK: usize = 8;
/// Times that so many are made at a site of which only the shares of draws are asked.
const LOOKS: usize = 3;
/// Weight of how far draws are beyond a limit, beside the squares of what is missing of a chance.
const BEYOND: f64 = 0.02;
/// Chance below which a difference between two sites is no noise.
const NOISE: f64 = 0.05;
/// Draws more that fail, of which a sign test cannot say that they are no luck: 0.5^4 = 0.0625.
const LUCK: usize = 4;
/// Largest chance that is asked when a chance is made stricter.
const STRICTEST: f64 = 0.999;

/// A draw of a site.
#[derive(Debug, Clone, PartialEq)]
struct Made {
    /// Value of each question; not a number where the draw failed.
    values: Vec<f64>,
    /// A number of drums with which, as with any larger one, the draw is the same. None if it is not known.
    drums_enough: Option<f64>,
}

/// Draws of a site, by number.
type Known = Vec<Option<Made>>;

/// Values of the questions by question and draw; not a number where a draw failed.
pub(super) type Values = Vec<Vec<f64>>;

/// Judges sites on the same draws, and remembers the draws of every site.
pub struct Judge<'a> {
    pub(super) plan: &'a Plan,
    pub(super) study: &'a Study,
    pub(super) watch: &'a Watch,
    /// The sizes that are tried.
    pub grid: Grid,
    /// What a site must meet.
    pub wanted: Vec<Wanted>,
    all: Draws,
    quick: usize,
    /// Whether a site is looked at by few draws, of which a chance must be likelier met than not, or by all, which must show it.
    quickly: bool,
    confidence: f64,
    /// The allowed chance of missing a target is multiplied by this: 1 for the answer.
    ease: f64,
    /// The site that smaller ones are compared with: within noise of it a chance that its draws meet is enough, and one that it misses may
    /// be missed. None where each chance must be shown.
    anchor: Option<Point>,
    seen: BTreeMap<Point, Known>,
    /// Number of draws made so far, of all sites.
    pub draws_made: u64,
    /// Number of draws that could not differ from one made, and were not made.
    pub draws_reused: u64,
    common: Rc<CommonDraws<'a>>,
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
    ///
    /// # Panics
    /// Where the address space cannot count the draws.
    pub fn new(
        (plan, study, watch): (&'a Plan, &'a Study, &'a Watch),
        grid: Grid,
        wanted: Vec<Wanted>,
        sample: Sample,
    ) -> Self {
        let Sample { all, quick, confidence } = sample;
        let kept = Draws::first(all.seed, all.to.max(start_up::DRAWS), 1);
        Self {
            plan,
            study,
            watch,
            grid,
            wanted,
            all,
            quick: usize::try_from(quick.min(all.to)).expect("draws are kept in memory"),
            quickly: false,
            confidence,
            ease: 1.0,
            anchor: None,
            seen: BTreeMap::new(),
            draws_made: 0,
            draws_reused: 0,
            common: Rc::new(CommonDraws::of(study, &kept)),
        }
    }

    /// Nothing judged yet, on other sizes: the same draws and targets.
    pub(super) fn on(&self, grid: Grid) -> Self {
        Self {
            grid,
            wanted: self.wanted.clone(),
            anchor: None,
            seen: BTreeMap::new(),
            draws_made: 0,
            draws_reused: 0,
            common: Rc::clone(&self.common),
            ..*self
        }
    }

    /// Looks at sites by few draws from now on, or by all.
    pub fn set_quickly(&mut self, quickly: bool) {
        self.quickly = quickly;
    }

    /// Asks for more or less certainty from now on.
    pub(super) fn set_confidence(&mut self, confidence: f64) {
        self.confidence = confidence;
    }

    /// Allows so many times the chance of missing a target from now on.
    pub(super) fn set_ease(&mut self, ease: f64) {
        self.ease = ease;
    }

    /// From now on a site within noise of this one is as good if its draws meet each chance; None asks for each chance to be shown again.
    pub(super) fn set_anchor(&mut self, anchor: Option<Point>) {
        self.anchor = anchor;
    }

    /// Number of sites judged.
    pub fn candidates(&self) -> usize {
        self.seen.len()
    }

    /// The draws that all sites have in common.
    pub(super) fn common(&self) -> &CommonDraws<'a> {
        &self.common
    }

    /// All draws of a site.
    pub(super) fn all_draws(&self) -> Draws {
        self.all
    }

    fn count(&self) -> usize {
        usize::try_from(self.all.to).expect("draws are kept in memory")
    }

    /// Draws of a look.
    fn look(&self) -> usize {
        if self.quickly { self.quick } else { self.count() }
    }

    /// Confidence with which the draws of a look must show a chance.
    fn sure(&self) -> f64 {
        if self.quickly { EVEN } else { self.confidence }
    }

    /// The chance asked of a question.
    fn chance(&self, wanted: &Wanted) -> f64 {
        (1.0 - self.ease * (1.0 - wanted.target.chance)).clamp(0.0, STRICTEST)
    }

    /// Draws in which a question may fail, so that the rest shows its chance with this confidence; 0 if even all would not show it.
    fn allowed(&self, wanted: &Wanted, draws: usize, confidence: f64) -> usize {
        let needed = chance::needed(draws as u64, self.chance(wanted), confidence).unwrap_or(draws as u64);
        draws - usize::try_from(needed).expect("no more than the draws")
    }

    /// Share of all draws that must hold.
    pub(super) fn needed_share(&self, wanted: &Wanted) -> f64 {
        let draws = self.count();
        1.0 - self.allowed(wanted, draws, self.confidence) as f64 / draws as f64
    }

    /// Known draws of these in which a question fails.
    fn failed(&self, point: &Point, question: usize, draws: impl Iterator<Item = usize>) -> usize {
        let known = &self.seen[point];
        let fails =
            |n: &usize| known[*n].as_ref().is_some_and(|m| !self.wanted[question].holds(m.values[question]));
        draws.filter(fails).count()
    }

    /// Draws of a look in which a question may fail at a site.
    fn most(&self, point: &Point, question: usize) -> usize {
        let (wanted, draws) = (&self.wanted[question], self.look());
        match self.anchor {
            None => self.allowed(wanted, draws, self.sure()),
            Some(anchor) if self.worse(point, &anchor, question) => 0,
            Some(anchor) => {
                let allowed = self.allowed(wanted, draws, self.sure()).max(self.point_allowed(wanted));
                let there = self.failed(&anchor, question, 0..draws);
                if there > allowed { there + LUCK } else { allowed }
            }
        }
    }

    /// Draws in which a question may fail where its share alone must meet the chance.
    fn point_allowed(&self, wanted: &Wanted) -> usize {
        let allowed = (1.0 - self.chance(wanted)) * self.count() as f64 + 1e-9;
        (0..=self.count()).take_while(|n| *n as f64 <= allowed).count().saturating_sub(1)
    }

    /// Whether a question fails in more of the common draws than in those of another site, beyond noise: by a sign test of the draws that
    /// differ.
    fn worse(&self, point: &Point, than: &Point, question: usize) -> bool {
        let (lost, gained, _) = self.differ(than, point, question, self.count());
        lost > gained && chance::at_least(lost as u64, (lost + gained) as u64, 0.5) < NOISE
    }

    /// Of the first common draws of two sites: those in which a question holds in the first only, in the second only, and all.
    pub(super) fn differ(
        &self,
        a: &Point,
        b: &Point,
        question: usize,
        first: usize,
    ) -> (usize, usize, usize) {
        let wanted = &self.wanted[question];
        let (mut lost, mut gained, mut common) = (0, 0, 0);
        for (a, b) in self.seen[a].iter().zip(&self.seen[b]).take(first) {
            let (Some(a), Some(b)) = (a, b) else { continue };
            let holds = |made: &Made| wanted.holds(made.values[question]);
            lost += usize::from(holds(a) && !holds(b));
            gained += usize::from(!holds(a) && holds(b));
            common += 1;
        }
        (lost, gained, common)
    }

    /// Makes all draws of a look of a site.
    ///
    /// # Errors
    /// [`SizingError`].
    pub fn look_at(&mut self, point: &Point) -> Result<(), SizingError> {
        self.first(point, self.look()).map(|_| ())
    }

    /// Makes so many of the draws of a site that came nearest to a limit at another.
    ///
    /// # Errors
    /// [`SizingError`].
    pub(super) fn nearest_draws(
        &mut self,
        point: &Point,
        by: &Point,
        draws: usize,
    ) -> Result<(), SizingError> {
        let known = self.seen.get(point);
        let unmade = |n: &usize| known.is_none_or(|known| known[*n].is_none());
        let next: Vec<usize> = self.by_nearness(by).into_iter().take(draws).filter(unmade).collect();
        self.make(point, &next)
    }

    /// Values of the questions in all draws of a site.
    ///
    /// # Errors
    /// [`SizingError`].
    pub fn whole(&mut self, point: &Point) -> Result<Values, SizingError> {
        self.first(point, self.count())
    }

    /// Values of the questions in so many of the first draws of a site.
    ///
    /// # Errors
    /// [`SizingError`].
    pub(super) fn first(&mut self, point: &Point, draws: usize) -> Result<Values, SizingError> {
        let draws = draws.min(self.count());
        let known = self.seen.get(point);
        let next: Vec<usize> = (0..draws).filter(|n| known.is_none_or(|known| known[*n].is_none())).collect();
        self.make(point, &next)?;
        let known = &self.seen[point][..draws];
        let of = |question: usize| known.iter().flatten().map(|made| made.values[question]).collect();
        Ok((0..self.wanted.len()).map(of).collect())
    }

    /// Whether all draws of a site meet every target; they are made until it is certain that they do not, the likeliest to fail first.
    ///
    /// # Errors
    /// [`SizingError`].
    pub fn meets_whole(&mut self, point: &Point) -> Result<bool, SizingError> {
        loop {
            let next = self.likeliest(point, 2 * LOOK);
            if next.is_empty() {
                return self.meets(point);
            }
            self.make(point, &next)?;
            let too_many = |n: usize| self.failed(point, n, 0..self.look()) > self.most(point, n);
            if (0..self.wanted.len()).any(too_many) {
                return Ok(false);
            }
        }
    }

    /// Shares of all draws of a site in which each question holds: a few looks are made, the other draws taken as expected.
    ///
    /// # Errors
    /// [`SizingError`].
    pub(super) fn shares(&mut self, point: &Point) -> Result<Vec<f64>, SizingError> {
        for _ in 0..LOOKS {
            let next = self.doubtful(point, LOOK);
            if next.is_empty() {
                break;
            }
            self.make(point, &next)?;
        }
        let (expected, draws) = (self.expected(point), self.look());
        let share = |n: usize| {
            let failed = self.failed(point, n, 0..draws) as f64 + expected::failing(&expected, n);
            1.0 - failed / draws as f64
        };
        Ok((0..self.wanted.len()).map(share).collect())
    }

    /// How far a site is from each target, by draws that another has too: what is missing of the chance, and how far its draws are beyond
    /// the limit in the mean.
    fn short(&self, point: &Point, common_with: &Point) -> Vec<(f64, f64)> {
        let pairs = self.seen[point].iter().zip(&self.seen[common_with]);
        let common: Vec<&Made> =
            pairs.filter_map(|(made, other)| other.as_ref().and(made.as_ref())).collect();
        let draws = common.len().max(1) as f64;
        let of = |(n, wanted): (usize, &Wanted)| {
            let failed = common.iter().filter(|made| !wanted.holds(made.values[n])).count() as f64;
            let beyond =
                common.iter().map(|made| wanted.beyond(made.values[n])).filter(|beyond| beyond.is_finite());
            (
                (failed / draws - (1.0 - self.chance(wanted))).max(0.0),
                beyond.map(|b| b.max(0.0)).sum::<f64>() / draws,
            )
        };
        self.wanted.iter().enumerate().map(of).collect()
    }
}

impl Sites for Judge<'_> {
    type Error = SizingError;
    /// By as few of its draws as tell.
    fn meets(&mut self, point: &Point) -> Result<bool, SizingError> {
        loop {
            match self.looked(point, LOOK) {
                Looked::Clear(met) => return Ok(met),
                Looked::Open(next) => self.make(point, &next)?,
            }
        }
    }
    /// By squares of what is missing of each chance, so that none is given up for the others; where these are alike, by how far the draws are
    /// beyond the limits of what is missed.
    fn farther(&self, point: &Point, than: &Point) -> f64 {
        let pairs = self.short(point, than).into_iter().zip(self.short(than, point));
        pairs
            .map(|((missing, beyond), (missing_than, beyond_than))| {
                let missed = missing.max(missing_than) > 0.0 && beyond + beyond_than > 0.0;
                let slope = if missed { (beyond - beyond_than) / (beyond + beyond_than) } else { 0.0 };
                missing.powi(2) - missing_than.powi(2) + BEYOND * slope
            })
            .sum()
    }
    fn cost(&self, point: &Point) -> f64 {
        self.grid.cost(point)
    }
    fn top(&self) -> Point {
        self.grid.top()
    }
}

/// The draws asked for, in one go.
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

/// Values of the questions in the draws made; not a number where a draw failed.
pub(super) fn values(made: &Ensemble, wanted: &[Wanted]) -> Values {
    let count = usize::try_from(made.to - made.from).expect("draws are kept in memory");
    let mut values = vec![vec![f64::NAN; count]; wanted.len()];
    for row in &made.rows {
        let place = usize::try_from(row.draw - made.from).expect("draws are kept in memory");
        for (values, wanted) in values.iter_mut().zip(wanted) {
            values[place] = wanted.value(&row.figures);
        }
    }
    values
}
