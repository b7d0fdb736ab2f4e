//! The rules that raise warnings, from a plan and a finished run. Each bed and kind gives one warning with its first day, its days
//! and its worst value.

mod beds;
mod castings;
mod water;

use super::answer::{Reported, RunAnswer};
use super::run::total;
use crate::chain::Site;
use crate::matter::{Element, ratio};
use crate::process::ingredient::{Note, SplitRules};
use crate::process::quality::standards::Judgement;
use crate::scenario::plan::{Method, Vent};
use crate::scenario::{Larder, Plan, central};
use crate::site_figures::SiteFigures;
use crate::trace::{DayRecord, Flow, Settling, Trace, YearSums};
use crate::warning::{RoomLimit, Spell, SpoilReason, Warning};
use crate::{literature, site_figures};
use jiff::civil::Date;

/// C:N of feed above which castings stay lean in nitrogen. Source: above it microbes take up all nitrogen set free (common practice).
const LEAN_FEED: f64 = 30.0;
/// Smallest share of the nitrogen fed that a published bed lost to the air. Source: assumed from losses of 43-70 % in heaps and the
/// ratio of beds to heaps.
const LEAST_NITROGEN_LOSS: f64 = 0.08;
/// A smaller difference between stated and used carbon is no news. # Units: kg/kg dry matter # Source: our choice, below what laboratories
/// tell apart
const CARBON_MISSED: f64 = 0.002;
/// Stock below this share of what the intake needs is reported. # Source: our choice
const BELOW_NEED: f64 = 0.9;
/// More worms than a bed holds, kg/m2: a layer of nothing but worms, 10 cm thick. Derived, as they are hardly heavier than water.
const TOO_MANY_WORMS: f64 = 100.0;
/// Cocoons lost above this share of those laid and brought in are reported. # Source: our choice
const COCOON_LOSS: f64 = 0.25;
/// Below this souring stalls and scraps can spoil first. # Units: °C # Source: `derived_here` (clock against temperature).
const COLD_STORE: f64 = 12.0;
/// Single days are noise for these warnings; a bed must be so for at least this many. # Units: d # Source: our choice
const LASTING: u32 = 3;

/// Every warning of a run, the worst first.
pub(super) fn warnings(
    plan: &Plan,
    site: &Site,
    trace: &Trace,
    answer: &RunAnswer,
    get: &dyn Fn(&str) -> f64,
) -> Vec<Reported> {
    let mut all = Vec::new();
    senseless(plan, site, answer, &mut all);
    seen(plan, site, trace, get, &mut all);
    worms(plan, answer, &mut all);
    products(answer, get, &mut all);
    all.extend(site_figures::floor_warnings(&answer.site.floor));
    all.extend(site_figures::tank_warning(&answer.site.water));
    all.extend(site_figures::permit_warnings(plan, site, trace, &answer.site));
    plain(plan, site, get, &mut all);
    reported(all)
}

/// What a later year of a site shows: its trace, its figures, the sums of every year up to it, and how the search for a settled one
/// ended.
pub(super) struct LaterSpan<'a> {
    pub(super) trace: &'a Trace,
    pub(super) figures: &'a SiteFigures,
    pub(super) sums: &'a [YearSums],
    pub(super) settling: Settling,
    /// Largest difference allowed between a settled year and the one before, as a share.
    pub(super) tolerance: f64,
}

/// Every warning of the settled year, or of the last one simulated, the worst first; those of the plan alone are with the run.
pub(super) fn of_a_later_year(
    plan: &Plan,
    site: &Site,
    of: &LaterSpan<'_>,
    get: &dyn Fn(&str) -> f64,
) -> Vec<Reported> {
    let mut all = Vec::new();
    seen(plan, site, of.trace, get, &mut all);
    all.extend(water::salt_gathers(of, get));
    all.extend(site_figures::floor_warnings(&of.figures.floor));
    all.extend(site_figures::tank_warning(&of.figures.water));
    reported(all)
}

/// What the days of a span of time show.
fn seen(plan: &Plan, site: &Site, trace: &Trace, get: &dyn Fn(&str) -> f64, all: &mut Vec<Warning>) {
    stores(site, trace, get, all);
    feeding(plan, site, trace, all);
    for n in 0..site.beds.len() {
        beds::bed(site, trace, n, get, all);
    }
    water::water(site, trace, all);
    castings::castings(site, trace, all);
}

fn reported(mut all: Vec<Warning>) -> Vec<Reported> {
    all.sort_by_key(|warning| std::cmp::Reverse(warning.rank()));
    all.into_iter().map(Reported::from).collect()
}

fn senseless(plan: &Plan, site: &Site, answer: &RunAnswer, all: &mut Vec<Warning>) {
    let delivered = answer.streams.iter().any(|s| s.delivered.wet > 0.0);
    let worms = answer.stock.start.total > 0.0 || answer.stock.bought > 0.0;
    missing(plan, site, delivered, worms, all);
}

/// What a site lacks to do anything. A batch needs neither scraps nor drums, and may be one without worms.
fn missing(plan: &Plan, site: &Site, delivered: bool, worms: bool, all: &mut Vec<Warning>) {
    let batch = plan.fills_beds();
    let lacks = [
        (!delivered && !batch, Warning::NoIntake),
        (plan.ferments() && plan.drums.count == 0 && (delivered || !batch), Warning::NoDrums),
        (site.beds.is_empty(), Warning::NoBeds),
        (!worms && !batch, Warning::NoWorms),
    ];
    all.extend(lacks.into_iter().filter_map(|(is_missing, warning)| is_missing.then_some(warning)));
}

/// The warning of the days on which a figure passes its limit, with the worst of it; `None` if it never does.
fn on_days(
    mut days: impl Iterator<Item = (Date, f64)>,
    warning: impl FnOnce(Spell) -> Warning,
) -> Option<Warning> {
    let (first, value) = days.next()?;
    let mut warning = warning(Spell::day(first, value));
    days.for_each(|(_, value)| warning.add_day(value));
    Some(warning)
}

/// The same for a figure of the whole site.
fn of_site(
    daily: &[DayRecord],
    seen: impl Fn(&DayRecord) -> Option<f64>,
    warning: impl FnOnce(Spell) -> Warning,
) -> Option<Warning> {
    on_days(daily.iter().filter_map(|day| Some((day.date, seen(day)?))), warning)
}

/// Whether a warning lasts long enough to be reported.
fn is_lasting(warning: &Warning) -> bool {
    warning.spell().is_some_and(|spell| spell.days >= LASTING)
}

/// The value, if it is above a limit.
fn above(value: f64, limit: f64) -> Option<f64> {
    (value > limit).then_some(value)
}

/// The value, if it is below a limit.
fn below(value: f64, limit: f64) -> Option<f64> {
    (value < limit).then_some(value)
}

fn stores(site: &Site, trace: &Trace, get: &dyn Fn(&str) -> f64, all: &mut Vec<Warning>) {
    let daily = &trace.daily;
    let sum = |of: fn(&DayRecord) -> f64| total(daily, of);
    all.extend(of_site(
        daily,
        |d| above(d.turned_away, 1e-6),
        |spell| {
            let (turned_away_kg, offered_kg) = (sum(|d| d.turned_away), sum(|d| d.intake));
            match site.fresh {
                Some(_) => Warning::FreshScrapsTurnedAway { turned_away_kg, offered_kg, spell },
                None => Warning::IntakeTurnedAway { turned_away_kg, offered_kg, spell },
            }
        },
    ));
    let missing_kg = sum(|d| d.bran_short);
    all.extend(of_site(
        daily,
        |d| above(d.bran_short, 1e-6),
        |spell| Warning::BranShort { missing_kg, spell },
    ));
    spoiled(site, trace, all);
    if site.drums.drums > 0 {
        drum_room(site, trace, get, all);
    }
}

fn spoiled(site: &Site, trace: &Trace, all: &mut Vec<Warning>) {
    let highest = trace.daily.iter().map(|d| d.opened_ph).fold(0.0, f64::max);
    let days = trace.daily.iter().filter(|d| d.drums_spoiled > 0.0).count();
    // a later year has its own first day
    let begins = trace.daily.iter().find(|d| d.drums_spoiled > 0.0).map_or(site.start, |d| d.date);
    for reason in SpoilReason::ALL {
        let drums = count_of(trace.tally.spoiled[reason as usize]);
        let Some(first) = trace.tally.spoiled_first[reason as usize].filter(|_| drums > 0) else { continue };
        let spell = Spell { days: count_of(days), ..Spell::day(site.date(first).max(begins), highest) };
        all.push(Warning::DrumSpoiled { reason, drums, spell });
    }
}

fn drum_room(site: &Site, trace: &Trace, get: &dyn Fn(&str) -> f64, all: &mut Vec<Warning>) {
    let daily = &trace.daily;
    let limit_kpa = get("fermentation.red_gauge_pressure");
    all.extend(of_site(
        daily,
        |d| above(d.drum_pressure, limit_kpa),
        |spell| Warning::DrumPressure { limit_kpa, spell },
    ));
    let limits = [
        (RoomLimit::ImmediateDanger, "fermentation.carbon_dioxide_immediately_dangerous"),
        (RoomLimit::ShortStay, "fermentation.carbon_dioxide_exposure_limit_short_term"),
        (RoomLimit::EightHours, "fermentation.carbon_dioxide_exposure_limit_average"),
    ];
    all.extend(limits.into_iter().find_map(|(limit, key)| {
        let limit_ppm = get(key);
        // drums just opened fill the room for minutes; a shift is judged by its mean
        let seen = |d: &DayRecord| match limit {
            RoomLimit::EightHours => above(d.room_carbon_dioxide_shift, limit_ppm),
            RoomLimit::ShortStay | RoomLimit::ImmediateDanger => above(d.room_carbon_dioxide, limit_ppm),
        };
        of_site(daily, seen, |spell| Warning::RoomCarbonDioxide { limit, limit_ppm, spell })
    }));
    all.extend(of_site(
        daily,
        |d| below(d.drum_room_temperature, COLD_STORE).filter(|_| d.drums_in_use > 0.0),
        |spell| Warning::DrumStoreCold { limit_celsius: COLD_STORE, spell },
    ));
    let maximum_days = f64::from(site.drums.maximum_days);
    all.extend(of_site(
        daily,
        |d| above(d.oldest_drum, maximum_days),
        |spell| Warning::DrumsPastMaximum { maximum_days, spell },
    ));
}

fn feeding(plan: &Plan, site: &Site, trace: &Trace, all: &mut Vec<Warning>) {
    let daily = &trace.daily;
    let first_day = daily.first().map_or(site.start, |d| d.date);
    if trace.tally.grinder_limited_days > 0 {
        let capacity = site.grinder.rate * site.grinder.hours_per_day;
        let first = daily.iter().find(|d| d.ground > 0.0).map_or(first_day, |d| d.date);
        let mut spell = Spell::day(first, daily.iter().map(|d| d.ground).fold(0.0, f64::max));
        spell.days = count_of(trace.tally.grinder_limited_days);
        all.push(Warning::GrinderBottleneck { capacity_kg_per_day: capacity, spell });
    }
    if let Some(bulking) = plan.bulking.as_ref().filter(|_| trace.tally.bulking_short_days > 0) {
        let feed = &trace.tally.feed;
        let first = daily.iter().find(|d| d.fed > 0.0).map_or(first_day, |d| d.date);
        let mut spell = Spell::day(first, 1.0 - ratio(feed.full_volume, feed.volume));
        spell.days = count_of(trace.tally.bulking_short_days);
        let element = |element| feed.matter.element(element);
        all.push(Warning::BulkingShort {
            porosity: bulking.air_filled_porosity,
            carbon_to_nitrogen: bulking.carbon_to_nitrogen,
            feed_carbon_to_nitrogen: ratio(element(Element::Carbon), element(Element::Nitrogen)),
            spell,
        });
    }
    let largest = literature::entry("site.bed_load_conditioned").map_or(3.5, |e| e.value.high());
    for (n, bed) in site.beds.iter().enumerate() {
        let load = trace.tally.beds[n].fed / bed.setup.area / (daily.len() as f64).max(1.0);
        if load > largest {
            all.push(Warning::BedOverloaded {
                bed: number(n),
                limit_kg_per_m2_day: largest,
                spell: Spell::day(first_day, load),
            });
        }
    }
}

fn count_of(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// Number of a bed, from 1.
fn number(n: usize) -> u32 {
    count_of(n + 1)
}

fn worms(plan: &Plan, answer: &RunAnswer, all: &mut Vec<Warning>) {
    let s = &answer.stock;
    if s.mean.total > 0.0 && s.mean.total < BELOW_NEED * s.needed_at_ration {
        all.push(Warning::StockBelowNeed { have_kg: s.mean.total, need_kg: s.needed_at_ration });
    }
    if s.cocoons_lost_share > COCOON_LOSS {
        let method = match plan.screen.method {
            Method::Trommel => "one trommel",
            Method::TwoDecks => "two decks",
            Method::Migration => "light or migration",
            Method::BottomCut => "a bottom cut",
        };
        all.push(Warning::CocoonsLost { share: s.cocoons_lost_share, method: method.to_owned() });
    }
}

/// Share of the nitrogen fed that beds gave off as gas; None if nothing was fed.
fn nitrogen_lost(answer: &RunAnswer) -> Option<f64> {
    let of =
        |flow: Flow| answer.balance.flows.iter().find(|row| row.flow == flow).map(|row| row.amounts.nitrogen);
    Some(of(Flow::BedGas)? / of(Flow::Feed).filter(|fed| *fed > 0.0)?)
}

fn products(answer: &RunAnswer, get: &dyn Fn(&str) -> f64, all: &mut Vec<Warning>) {
    let hottest = answer.beds.iter().map(|b| b.hottest).fold(0.0, f64::max);
    let needed = get("site.pfrp_temperature");
    if answer.products.iter().any(|p| p.amounts.wet > 0.0) && hottest < needed {
        all.push(Warning::NoHygieneStep { hottest_celsius: hottest, needed_celsius: needed });
    }
    let feed = &answer.grinder;
    if feed.carbon_to_nitrogen > LEAN_FEED {
        let carbon_to_nitrogen = feed.carbon_to_nitrogen;
        all.push(Warning::FeedLeanInNitrogen { carbon_to_nitrogen, limit: LEAN_FEED });
    } else if let Some(share) = nitrogen_lost(answer).filter(|share| *share < LEAST_NITROGEN_LOSS) {
        all.push(Warning::NitrogenLossLow { share, limit: LEAST_NITROGEN_LOSS });
    }
    for product in &answer.products {
        if let Some(q) = product.quality.as_ref().filter(|_| product.name == "castings") {
            let limit = get("bed.castings_nitrogen_warning");
            if q.nitrogen > limit {
                all.push(Warning::CastingsNitrogenHigh { share: q.nitrogen, limit });
            }
        }
        for judged in product.standards.iter().filter(|j| j.verdict == Judgement::Fail) {
            let Some(value) = judged.value else { continue };
            all.push(Warning::ProductOffStandard {
                product: product.name.to_owned(),
                standard: judged.standard.to_owned(),
                limit: judged.limit.to_owned(),
                value,
                minimum: judged.allowed.0,
                maximum: judged.allowed.1,
                unit: judged.unit.to_owned(),
            });
        }
    }
}

/// Live worms that a plan has, kg: those bought, and those in the beds of a site that runs already.
pub(super) fn stock_had(plan: &Plan, at_start: f64) -> f64 {
    plan.stock_bought() + if plan.is_new() { 0.0 } else { at_start }
}

/// The warnings of a plan before it is run; `at_start` is the live mass of worms before the first day, kg.
pub(super) fn of_the_plan(plan: &Plan, site: &Site, at_start: f64) -> Vec<Warning> {
    let mut all = Vec::new();
    let intake = plan.mean_intake();
    let stock = stock_had(plan, at_start);
    missing(plan, site, intake > 0.0, stock > 0.0, &mut all);
    let need = ratio(intake, plan.feeding.ration);
    if stock > 0.0 && BELOW_NEED * need > stock {
        all.push(Warning::StockBelowNeed { have_kg: stock, need_kg: need });
    }
    if plan.drums.count > 0 {
        let cold = (0..)
            .zip(&site.drum_room)
            .filter_map(|(day, room)| below(*room, COLD_STORE).map(|room| (site.date(day), room)));
        all.extend(on_days(cold, |spell| Warning::DrumStoreCold { limit_celsius: COLD_STORE, spell }));
    }
    all.extend(site_figures::floor_warnings(&site_figures::planned_floor(plan, site)));
    beds::filled_too_high(site, &mut all);
    plain(plan, site, &|key| central(plan, key), &mut all);
    all
}

/// Warnings that hold whatever happens in a run.
fn plain(plan: &Plan, site: &Site, get: &dyn Fn(&str) -> f64, all: &mut Vec<Warning>) {
    let drums = plan.drums.count;
    let (full, one_person) = (site.drums.drum_mass(), get("site.one_person_lift_men"));
    if drums > 0 && plan.drums.vent == Vent::Sealed {
        all.push(Warning::ValveMissing { drums });
    }
    if drums > 0 && full > one_person {
        all.push(Warning::DrumTooHeavy { drum_kg: full, one_person_kg: one_person });
    }
    if site.bulking.is_none() && !site.beds.is_empty() && plan.mean_intake() > 0.0 {
        all.push(Warning::NoBulking);
    }
    own_carbon(plan, get, all);
    let bought =
        plan.purchases().iter().map(|purchase| ratio(purchase.mass, plan.bed_area())).fold(0.0, f64::max);
    if bought > TOO_MANY_WORMS {
        all.push(Warning::WormsFindNoRoom { bought_kg_per_m2: bought, most_kg_per_m2: TOO_MANY_WORMS });
    }
    published_ranges(plan, all);
}

/// Carbon of own ingredients that does not fit their other figures.
fn own_carbon(plan: &Plan, get: &dyn Fn(&str) -> f64, all: &mut Vec<Warning>) {
    if plan.ingredients.is_empty() {
        return;
    }
    let Ok(larder) = Larder::of(plan, &SplitRules::from_values(get), get) else { return };
    for own in &plan.ingredients {
        all.extend(larder.get(&own.id).notes.iter().find_map(|note| match *note {
            Note::CarbonMissed { stated, reached } if (stated - reached).abs() > CARBON_MISSED => {
                Some(Warning::OwnCarbonDoesNotFit { ingredient: own.id.clone(), stated, used: reached })
            }
            _ => None,
        }));
    }
}

/// Rates that the plan replaces by values outside what is published.
fn published_ranges(plan: &Plan, all: &mut Vec<Warning>) {
    for choice in &plan.rates {
        let Some(entry) = literature::entry(&choice.key) else { continue };
        let (low, high) = (entry.value.low(), entry.value.high());
        if choice.central < low || choice.central > high {
            all.push(Warning::OutsidePublishedRange {
                key: choice.key.clone(),
                value: choice.central,
                low,
                high,
                unit: entry.unit.clone(),
            });
        }
    }
}
