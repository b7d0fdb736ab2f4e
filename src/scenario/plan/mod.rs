//! The checked plan: each key of the scenario file is declared here once, with its text, unit, range, default and type.
//!
//! Numbers are in the documented unit of their [`Kind`](crate::quantity::Kind), the first argument of their rule; shares are 0 to 1.

mod intake;
mod processing;
mod product;
mod standing;
mod verdict;
mod years;

pub use super::rates::{RateChoice, RateSpread};
pub use super::words::{
    Building, DrainsTo, DriedBy, HeatedBy, Liquor, Method, Overs, Ranges, Rinse, Rules, Scraps, Structure,
    Vent,
};
pub use intake::{Bran, Climate, Generation, MixPart, Room, Stream};
pub use processing::{
    Bedding, BeddingAmount, Beds, Bulking, Drums, Feeding, Filling, Grinder, Grit, Purchase, Stock, TopUp,
};
pub use product::{Blend, Castings, DryingRule, Harvest, HarvestRule, Money, Premises, Screen};
pub use standing::{FilledPart, Sampled, Standing, StandingBeds, StandingDrums};
pub use verdict::Verdict;
pub use years::SettledYear;

pub(in crate::scenario) use product::MOST_MONEY;

use super::calendar::{day_after, days_between};
use super::check::Checker;
use super::filled;
use super::fitted_file::Fitted;
use super::own_ingredient::{OwnIngredient, contradictions};
use super::path::KeyPath;
use super::rule::{date, entries, free_text, list, name, need, needed_list, section, set, word, words};
use super::section::section;
use super::sizing::Sizing;
use super::words::Word;
use crate::chain::{Horizon, SiteState};
use crate::quantity::Kind::{Count, Days};
use crate::trace::failures::Judging;
use jiff::civil::Date;
use std::iter::successors;
use std::ops::Deref;
use std::sync::Arc;

/// Days of a year.
const YEAR: u32 = 365;

/// A scenario that has been checked; its [`Choices`] are read through it. Only a check can make one.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    pub(super) choices: Choices,
    pub(super) begins: Option<Begins>,
    pub(super) fitted: Option<Arc<Fitted>>,
    /// First day of the scenario, from which its streams grow.
    pub(super) first_day: Date,
}

/// What a plan goes on from.
#[derive(Debug, Clone, PartialEq)]
pub struct Begins {
    /// The evening before the first day of the plan.
    pub evening: Date,
    /// Name of the site whose state it is.
    pub name: String,
    /// The state.
    pub state: Arc<SiteState>,
}

impl Deref for Plan {
    type Target = Choices;
    fn deref(&self) -> &Choices {
        &self.choices
    }
}

section! {
    /// A site: what comes in, what stands there, how it is worked.
    pub struct Choices checked by fits_together {
        /// Address of the schema, for editors; not read.
        schema as "$schema": String = free_text(),
        /// Who, what, why: for readers; printed, not used.
        note: String = free_text(),
        /// Name of the site, used in titles and file names.
        name: String = name(),
        /// Where it is, in words; printed, not used.
        place: String = free_text(),
        /// First day of the run, such as 2027-01-04; from 1900 to 2199.
        start: Date = date(),
        /// Length of the run.
        days: u32 = need(Days, 1.0, 3660.0),
        /// Steps of a bed in a day; more make a run slower and a little more exact.
        steps_per_day: u32 = set(Count, 1.0, 96.0, 1.0, "choice"),
        /// Weather outdoors and temperature in the rooms. Left out: the default of each key.
        climate: Climate = section(),
        /// Ingredients of your own, by name: a library ingredient with your laboratory figures.
        ingredients: Vec<OwnIngredient> = entries(),
        /// Sources of scraps; may be empty.
        streams: Vec<Stream> = needed_list(),
        /// Starter and bran. Left out: the default of each key.
        bran: Bran = section(),
        /// Fermenting drums. Left out: none, and all intake is turned away.
        drums: Drums = section(),
        /// Grinder that makes paste. Left out: the default of each key.
        grinder: Grinder = section(),
        /// Dry matter mixed into the paste. Left out: none.
        bulking: Option<Bulking> = section(),
        /// Mineral matter mixed into the feed. Left out: none.
        grit: Option<Grit> = section(),
        /// Worm beds, in groups of equal ones. Harvests take turns in the order of the file, so another order of groups harvests them on
        /// other days. Left out: none.
        beds: Vec<Beds> = list(),
        /// The site on the evening before the first day, where it runs already. Left out: it is new.
        as_it_stands: Option<Standing> = section(),
        /// Worms. Left out: none.
        stock: Option<Stock> = section(),
        /// When and how much the beds are fed. Left out: the default of each key.
        feeding: Feeding = section(),
        /// When castings are taken. Left out: the default of each key.
        harvest: Harvest = section(),
        /// Drying and screening of castings. Left out: the default of each key.
        screen: Screen = section(),
        /// Curing, blending and sale. Left out: cured, then all sold alone.
        castings: Castings = section(),
        /// Floor, drain, power and people. Left out: the default of each key, and limits are not checked.
        site: Premises = section(),
        /// Prices in one currency. Left out: no money is reported.
        money: Option<Money> = section(),
        /// When a later year counts as settled. Left out: the default of each key.
        settled_year: SettledYear = section(),
        /// How failures weigh in the verdict on the site. Left out: the default of each key.
        verdict: Verdict = section(),
        /// Places and trades whose published limits and thresholds are applied. Left out: none.
        rules: Vec<Rules> = words(),
        /// Targets, limits and costs for sizing the site. Left out: the usual ones.
        sizing: Sizing = section(),
        /// Rates and figures of library ingredients fixed or replaced for this site, by key of the literature tables, such as
        /// bed.decay_rate_protein or ingredients.bread.moisture.
        rates: Vec<RateChoice> = entries(),
        /// Ranges of the rates that published trials narrow (`loamledger facts bed.decay_rate_protein` shows both): draws alone use
        /// them, and a range under `rates` comes first.
        ranges: Ranges = word(Ranges::AfterPrints),
    }
}

/// Most days of beds that a run records, of all beds together: some 150 bytes each. Our choice.
const MOST_BED_DAYS: f64 = 5e6;

/// A run records every bed on every day, which must fit into memory.
fn records_fit(check: &mut Checker<'_>, path: &KeyPath, choices: &Choices) {
    let beds: f64 = choices.beds.iter().map(|group| f64::from(group.count)).sum();
    let bed_days = beds * f64::from(choices.days);
    if bed_days > MOST_BED_DAYS {
        let problem = format!("{beds} beds over {} days make {bed_days:.0} records of beds", choices.days);
        let hint =
            "equal beds behave alike: give fewer, larger beds of the same area in all, or a shorter run";
        let allowed = format!("at most {MOST_BED_DAYS:.0} records");
        check.wrong(&path.key("days"), &problem, &allowed, Some(hint.to_owned()));
    }
}

/// What several sections must fulfil together.
fn fits_together(check: &mut Checker<'_>, path: &KeyPath, choices: &Choices) {
    different_names(check, "streams", choices.streams.iter().map(|s| s.name.as_str()));
    different_names(check, "beds", choices.beds.iter().map(|b| b.name.as_str()));
    if let Some(stock) = &choices.stock
        && !check.is_faulty(&path.key("start"))
    {
        let at = path.key("stock");
        if let Some(arrives) = stock.arrives {
            within_run(check, &at.key("arrives"), arrives, choices);
        }
        for (i, top_up) in stock.top_up.iter().enumerate() {
            within_run(check, &at.key("top_up").index(i).key("date"), top_up.date, choices);
        }
    }
    if let Some(standing) = &choices.as_it_stands {
        standing.fits(check, &path.key("as_it_stands"), choices);
    }
    if !choices.ferments() && choices.drums.count > 0 {
        let at = path.key("feeding").key("scraps");
        let hint = format!("leave `drums` out, or write \"scraps\": \"{}\"", Scraps::Fermented.name());
        let problem =
            format!("{} drums are given, and fresh scraps do not pass through drums", choices.drums.count);
        check.wrong(&at, &problem, "a site without drums", Some(hint));
    }
    records_fit(check, path, choices);
    contradictions(check, choices);
    filled::fits(check, path, choices);
}

impl Choices {
    /// Whether scraps are fermented in drums; else they are fed fresh.
    pub fn ferments(&self) -> bool {
        self.feeding.scraps == Scraps::Fermented
    }

    /// Whether beds are filled with feed on the first day, as for a batch.
    pub fn fills_beds(&self) -> bool {
        self.beds.iter().any(|group| group.filled_with.is_some())
    }

    /// Bran per wet scraps, kg/kg; none for fresh scraps.
    pub fn bran_dose(&self) -> f64 {
        if self.ferments() { self.bran.dose } else { 0.0 }
    }

    /// Most fresh scraps that wait for the next feeding, kg: as said, or those of four open days, a weekend and what is left over.
    pub fn most_waiting(&self) -> f64 {
        let open_days =
            || 4.0 * self.streams.iter().map(|s| s.open_day_amount() * (1.0 - s.contamination)).sum::<f64>();
        self.feeding.most_waiting.unwrap_or_else(open_days)
    }
}

fn different_names<'a>(check: &mut Checker<'_>, key: &str, names: impl Iterator<Item = &'a str>) {
    let mut seen: Vec<&str> = Vec::new();
    for (i, name) in names.enumerate() {
        if seen.contains(&name) {
            let path = KeyPath::top(key).index(i).key("name");
            check.wrong(&path, "this name is taken by an earlier one", "a name of its own", None);
        }
        seen.push(name);
    }
}

fn within_run(check: &mut Checker<'_>, path: &KeyPath, date: Date, choices: &Choices) {
    let last = day_after(choices.start, choices.days.max(1) - 1);
    if !check.is_faulty(path) && !(choices.start..=last).contains(&date) {
        check.wrong(path, "is outside the run", &format!("{} to {last}", choices.start), None);
    }
}

impl Plan {
    /// Date of a day of the run, the first being 0.
    pub fn date(&self, day: u32) -> Date {
        day_after(self.start, day)
    }

    /// What the plan goes on from. `None` if the site is new on its first day.
    pub fn begins(&self) -> Option<&Begins> {
        self.begins.as_ref()
    }

    /// The equally likely sites that a fit to a log left, which are drawn in place of the ranges of unknowns. `None` if the plan is not
    /// fitted.
    pub fn fitted(&self) -> Option<&Arc<Fitted>> {
        self.fitted.as_ref()
    }

    /// Whether the site is new on the first day, with bedding and the worms that are bought for it.
    pub fn is_new(&self) -> bool {
        self.begins.is_none() && self.as_it_stands.is_none()
    }

    /// Each bed by the name of its group and its own, which is numbered where there are several.
    pub fn bed_names(&self) -> impl Iterator<Item = (&str, String)> {
        self.beds.iter().flat_map(|group| {
            let own = |n| if group.count > 1 { format!("{} {n}", group.name) } else { group.name.clone() };
            (1..=group.count).map(move |n| (group.name.as_str(), own(n)))
        })
    }

    /// How the site stands on the evening before the first day, where the scenario says so and no state replaces it.
    pub fn standing(&self) -> Option<&Standing> {
        self.as_it_stands.as_ref().filter(|_| self.begins.is_none())
    }

    /// So many days from the first of the run.
    pub fn days_from_first(&self, days: u32) -> impl Iterator<Item = Date> {
        (0..days).map(|day| self.date(day))
    }

    /// Date of every day of the run, in order.
    pub fn dates(&self) -> impl Iterator<Item = Date> {
        let first = (self.days > 0).then_some(self.start);
        successors(first, |day| day.tomorrow().ok()).take(self.days as usize)
    }

    /// Wet mass of a stream on a day before day-to-day variation, contamination included.
    ///
    /// # Units
    /// kg
    ///
    /// # Panics
    /// If the plan has no stream of that place.
    pub fn open_amount(&self, stream: usize, date: Date) -> f64 {
        self.streams[stream].open_amount(self.first_day, date)
    }

    /// [`Plan::open_amount`] of each day of the run.
    ///
    /// # Units
    /// kg
    ///
    /// # Panics
    /// If the plan has no stream of that place.
    pub fn daily_amounts(&self, stream: usize) -> Vec<f64> {
        self.dates().map(|date| self.open_amount(stream, date)).collect()
    }

    /// Wet mass of a stream on each of so many days from the first. Days beyond the run have no further growth: amounts stay at the level
    /// of its last day but for weekdays, months and closed days.
    ///
    /// # Units
    /// kg
    ///
    /// # Panics
    /// If the plan has no stream of that place.
    pub fn amounts_of(&self, stream: usize, days: u32) -> Vec<f64> {
        let last = day_after(self.start, self.days.max(1) - 1);
        let on = |date: Date| self.streams[stream].level_amount(self.first_day, date, date.min(last));
        (0..days).map(|day| on(day_after(self.start, day))).collect()
    }

    /// Days that are simulated at most to find a settled year: those of the run, or whole years; those of the run where no settled
    /// year is sought.
    pub fn most_days(&self) -> u32 {
        if self.seeks_settled_year() { self.days.max(self.settled_year.most_years * YEAR) } else { self.days }
    }

    /// Whether a settled year is sought: in a run of a year or more, unless the plan says no.
    pub fn seeks_settled_year(&self) -> bool {
        self.settled_year.most_years > 1 && self.days >= YEAR
    }

    /// How long the chain follows the site: the run, and on to the settled year.
    pub fn horizon(&self) -> Horizon {
        let SettledYear { tolerance, most_years } = self.settled_year;
        Horizon { days: self.days as usize, most_years: most_years as usize, tolerance }
    }

    /// How the site is judged.
    pub fn judging(&self) -> Judging {
        Judging {
            rule: self.verdict.rule(),
            rules: self.rules.iter().map(|rule| rule.name().to_owned()).collect(),
        }
    }

    /// Whether the plan names a rule, by its word.
    pub fn names_rule(&self, word: &str) -> bool {
        self.rules.iter().any(|rule| rule.name() == word)
    }

    /// The same plan without a settled year.
    #[must_use]
    pub fn without_later_years(&self) -> Self {
        let mut plan = self.clone();
        plan.choices.settled_year.most_years = 1;
        plan
    }

    /// The same plan over so many days, without a settled year.
    #[must_use]
    pub fn over_days(&self, days: u32) -> Self {
        let mut plan = self.without_later_years();
        plan.choices.days = days;
        plan
    }

    /// Mean intake over the run without contamination: `sum over streams and days of open amount x (1 - contamination) / days`.
    ///
    /// # Units
    /// kg/day
    pub fn mean_intake(&self) -> f64 {
        let total: f64 = (0..self.streams.len())
            .map(|i| self.daily_amounts(i).iter().sum::<f64>() * (1.0 - self.streams[i].contamination))
            .sum();
        total / f64::from(self.days)
    }

    /// Bran in store on the first day, kg. Left out of the file: what is needed until the first own bran is ready, and the reserve.
    pub fn starting_bran(&self) -> f64 {
        let made_in = if self.bran.bought { 0 } else { self.bran.starter_days + self.bran.ferment_days };
        let needed = || {
            let reserve = (self.bran.safety_weeks * 7.0).ceil().clamp(0.0, 366.0);
            let clean = |day: Date| {
                let of = |s: &Stream| s.open_amount(self.first_day, day) * (1.0 - s.contamination);
                self.streams.iter().map(of).sum::<f64>()
            };
            (0..made_in + 366)
                .take_while(|&day| f64::from(day) < f64::from(made_in) + reserve)
                .map(|day| clean(day_after(self.start, day)))
                .sum::<f64>()
                * self.bran_dose()
        };
        self.bran.starting_bran.unwrap_or_else(needed)
    }

    /// Area of all beds, m2; 0 without beds.
    pub fn bed_area(&self) -> f64 {
        self.beds.iter().map(|b| f64::from(b.count) * b.area).sum()
    }

    /// Purchases of worms within the run: the first, then the later ones in the order of the file; empty without worms.
    pub fn purchases(&self) -> Vec<Purchase> {
        let Some(stock) = &self.stock else { return Vec::new() };
        // what came before the run is in the state that it goes on from
        let purchase = |date: Date, mass: f64| {
            let day = u32::try_from(days_between(self.start, date)).ok()?;
            Some(Purchase { day, mass })
        };
        // worms that come with a new site are there already in one that goes on
        let new = self.is_new().then_some(self.start);
        let first = stock.arrives.or(new).and_then(|date| purchase(date, stock.mass));
        let later = stock.top_up.iter().filter_map(|t| purchase(t.date, t.mass));
        first.into_iter().chain(later).collect()
    }

    /// Live worms bought in all purchases, kg.
    pub fn stock_bought(&self) -> f64 {
        self.purchases().iter().map(|purchase| purchase.mass).sum()
    }

    /// Ages of the worms of each purchase.
    pub fn structure(&self) -> Structure {
        self.stock.as_ref().map_or(Structure::Mixed, |stock| stock.structure)
    }
}
