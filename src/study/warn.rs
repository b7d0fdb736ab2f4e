//! Warnings read off a finished run. Each bed and kind gives one warning with its first day, days and worst value.

use super::answer::{RunAnswer, Told};
use super::run::total;
use crate::chain::Site;
use crate::matter::ratio;
use crate::process::quality::standards::Judgement;
use crate::scenario::plan::{Method, Vent};
use crate::scenario::{Plan, central};
use crate::trace::{BedRecord, DayRecord, Trace};
use crate::unit::screen::Drying;
use crate::warning::{RoomLimit, Spell, SpoilReason, Warning, Warnings};
use crate::{literature, site_figures};

/// Cold below which beds hardly work. # Units: °C # Source: our choice between the limits of breeding (edwards_2004) and 15 °C,
/// below which the figures of worms are extrapolated.
const COLD_BED: f64 = 10.0;
/// Share of the starting stock below which a bed is said to die out. # Source: our choice
const DYING_SHARE: f64 = 0.1;
/// Stock below this share of what the intake needs is reported. # Source: our choice
const BELOW_NEED: f64 = 0.9;
/// Cocoons lost above this share of those laid and brought in are reported. # Source: our choice
const COCOON_LOSS: f64 = 0.25;
/// Below this souring stalls and scraps can spoil first. # Units: °C # Source: `derived_here` (clock against temperature).
const COLD_STORE: f64 = 12.0;
/// Castings that dry on a floor for longer than this are reported. # Units: d # Source: our choice; a good floor takes 3 to 14 days.
const SLOW_DRYING: f64 = 30.0;
/// Dry castings are reported if the screen needs more than this for them. # Units: d # Source: our choice
const SCREEN_BACKLOG: f64 = 7.0;
/// Single days are noise for these warnings; a bed must be so for at least this many. # Units: d # Source: our choice
const LASTING: u32 = 3;

/// Every warning of a run, the worst first.
pub(super) fn warnings(
    plan: &Plan,
    site: &Site,
    trace: &Trace,
    answer: &RunAnswer,
    get: &dyn Fn(&str) -> f64,
) -> Vec<Told> {
    let mut all = Warnings::new();
    senseless(site, answer, &mut all);
    stores(site, trace, get, &mut all);
    feeding(plan, site, trace, &mut all);
    for n in 0..site.beds.len() {
        bed(site, trace, n, get, &mut all);
    }
    worms(plan, answer, &mut all);
    screening(site, trace, &mut all);
    products(answer, get, &mut all);
    let floor = site_figures::floor_warnings(&answer.site.floor);
    let permits = site_figures::permit_warnings(plan, site, trace, &answer.site);
    for warning in floor.into_iter().chain(permits) {
        all.add(warning);
    }
    plain(plan, site, get, &mut all);
    all.by_severity()
        .into_iter()
        .map(|w| Told {
            code: w.code(),
            severity: w.severity(),
            message: w.message(),
            hint: w.hint(),
            warning: w.clone(),
        })
        .collect()
}

fn senseless(site: &Site, answer: &RunAnswer, all: &mut Warnings) {
    if answer.streams.iter().all(|s| s.delivered.wet <= 0.0) {
        all.add(Warning::NoIntake);
    }
    if site.drums.drums == 0 {
        all.add(Warning::NoDrums);
    }
    if site.beds.is_empty() {
        all.add(Warning::NoBeds);
    }
    if answer.stock.start.total <= 0.0 && answer.stock.bought <= 0.0 {
        all.add(Warning::NoWorms);
    }
}

/// The days on which a figure passes a test, with the worst of it; `None` when there is none.
fn spell<T>(
    rows: impl Iterator<Item = T>,
    date: impl Fn(&T) -> jiff::civil::Date,
    seen: impl Fn(&T) -> Option<f64>,
    worse: impl Fn(f64, f64) -> f64,
) -> Option<Spell> {
    let mut out: Option<Spell> = None;
    for row in rows {
        let Some(value) = seen(&row) else { continue };
        match &mut out {
            None => out = Some(Spell::day(date(&row), value)),
            Some(s) => {
                s.days += 1;
                s.worst = worse(s.worst, value);
            }
        }
    }
    out
}

fn site_spell(daily: &[DayRecord], seen: impl Fn(&DayRecord) -> Option<f64>) -> Option<Spell> {
    spell(daily.iter(), |d| d.date, |d| seen(d), f64::max)
}

/// `Some` of a value above a limit.
fn above(value: f64, limit: f64) -> Option<f64> {
    (value > limit).then_some(value)
}

fn stores(site: &Site, trace: &Trace, get: &dyn Fn(&str) -> f64, all: &mut Warnings) {
    let daily = &trace.daily;
    let sum = |of: fn(&DayRecord) -> f64| total(daily, of);
    if let Some(spell) = site_spell(daily, |d| above(d.turned_away, 1e-6)) {
        all.add(Warning::IntakeTurnedAway {
            turned_away_kg: sum(|d| d.turned_away),
            offered_kg: sum(|d| d.intake),
            spell,
        });
    }
    if let Some(spell) = site_spell(daily, |d| above(d.bran_short, 1e-6)) {
        all.add(Warning::BranShort { missing_kg: sum(|d| d.bran_short), spell });
    }
    spoiled(site, trace, all);
    if site.drums.drums > 0 {
        drum_room(site, trace, get, all);
    }
}

fn spoiled(site: &Site, trace: &Trace, all: &mut Warnings) {
    for reason in SpoilReason::ALL {
        let cause = reason as usize;
        let count = trace.tally.spoiled[cause];
        let Some(first) = trace.tally.spoiled_first[cause] else { continue };
        let highest = trace.daily.iter().map(|d| d.opened_ph).fold(0.0, f64::max);
        let mut spell = Spell::day(site.date(first), highest);
        spell.days = site_spell(&trace.daily, |d| above(d.drums_spoiled, 0.0)).map_or(1, |s| s.days);
        all.add(Warning::DrumSpoiled { reason, drums: u32::try_from(count).unwrap_or(u32::MAX), spell });
    }
}

fn drum_room(site: &Site, trace: &Trace, get: &dyn Fn(&str) -> f64, all: &mut Warnings) {
    let daily = &trace.daily;
    let limit = get("fermentation.red_gauge_pressure");
    if let Some(spell) = site_spell(daily, |d| above(d.drum_pressure, limit)) {
        all.add(Warning::DrumPressure { limit_kpa: limit, spell });
    }
    for (limit, key) in [
        (RoomLimit::ImmediateDanger, "fermentation.carbon_dioxide_immediately_dangerous"),
        (RoomLimit::ShortStay, "fermentation.carbon_dioxide_exposure_limit_short_term"),
        (RoomLimit::EightHours, "fermentation.carbon_dioxide_exposure_limit_average"),
    ] {
        let ppm = get(key);
        if let Some(spell) = site_spell(daily, |d| above(d.room_carbon_dioxide, ppm)) {
            all.add(Warning::RoomCarbonDioxide { limit, limit_ppm: ppm, spell });
            break;
        }
    }
    let cold = COLD_STORE;
    let in_use = |d: &&DayRecord| d.drums_in_use > 0.0;
    let seen = |d: &&DayRecord| (d.drum_room_temperature < cold).then_some(d.drum_room_temperature);
    if let Some(spell) = spell(daily.iter().filter(in_use), |d| d.date, seen, f64::min) {
        all.add(Warning::DrumStoreCold { limit_celsius: cold, spell });
    }
    let maximum_days = f64::from(site.drums.maximum_days);
    if let Some(spell) = site_spell(daily, |d| above(d.oldest_drum, maximum_days)) {
        all.add(Warning::DrumsPastMaximum { maximum_days, spell });
    }
}

fn feeding(plan: &Plan, site: &Site, trace: &Trace, all: &mut Warnings) {
    let daily = &trace.daily;
    let days = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    if trace.tally.grinder_limited_days > 0 {
        let capacity = site.grinder.rate * site.grinder.hours_per_day;
        let first = daily.iter().find(|d| d.ground > 0.0).map_or(site.start, |d| d.date);
        let mut spell = Spell::day(first, daily.iter().map(|d| d.ground).fold(0.0, f64::max));
        spell.days = days(trace.tally.grinder_limited_days);
        all.add(Warning::GrinderBottleneck { capacity_kg_per_day: capacity, spell });
    }
    if let Some(bulking) = plan.bulking.as_ref().filter(|_| trace.tally.bulking_short_days > 0) {
        let feed = &trace.tally.feed;
        let first = daily.iter().find(|d| d.fed > 0.0).map_or(site.start, |d| d.date);
        let mut spell = Spell::day(first, 1.0 - ratio(feed.full_volume, feed.volume));
        spell.days = days(trace.tally.bulking_short_days);
        all.add(Warning::BulkingShort { target: bulking.air_filled_porosity, spell });
    }
    let largest = literature::entry("site.bed_load_conditioned").map_or(3.5, |e| e.value.high());
    for (n, bed) in site.beds.iter().enumerate() {
        let load = trace.tally.beds[n].fed / bed.setup.area / (site.days as f64).max(1.0);
        if load > largest {
            all.add(Warning::BedOverloaded {
                bed: number(n),
                limit_kg_per_m2_day: largest,
                spell: Spell::day(site.start, load),
            });
        }
    }
}

/// Number of a bed, from 1.
fn number(n: usize) -> u32 {
    u32::try_from(n + 1).unwrap_or(u32::MAX)
}

fn bed(site: &Site, trace: &Trace, n: usize, get: &dyn Fn(&str) -> f64, all: &mut Warnings) {
    let number = number(n);
    let mine = || trace.of_bed(n);
    let high = |seen: &dyn Fn(&BedRecord) -> Option<f64>| spell(mine(), |b| b.date, |b| seen(b), f64::max);
    let low = |seen: &dyn Fn(&BedRecord) -> Option<f64>| spell(mine(), |b| b.date, |b| seen(b), f64::min);
    let lasting = |s: &Spell| s.days >= LASTING;

    let hot = get("bed.heat_death_onset_temperature");
    if let Some(spell) = high(&|b| above(b.hottest, hot)) {
        all.add(Warning::BedTooHot { bed: number, limit_celsius: hot, spell });
    }
    if let Some(spell) = low(&|b| (b.temperature < COLD_BED).then_some(b.temperature)).filter(lasting) {
        all.add(Warning::BedTooCold { bed: number, limit_celsius: COLD_BED, spell });
    }
    let dry = 0.6;
    if let Some(spell) = low(&|b| (b.moisture < dry).then_some(b.moisture)).filter(lasting) {
        all.add(Warning::BedTooDry { bed: number, limit: dry, spell });
    }
    let wet = get("bed.moisture_response_full_high");
    if let Some(spell) = high(&|b| above(b.moisture, wet)).filter(lasting) {
        all.add(Warning::BedTooWet { bed: number, limit: wet, spell });
    }
    let sour = get("worms.acid_available_ph");
    if let Some(spell) = low(&|b| (b.ph < sour).then_some(b.ph)).filter(lasting) {
        all.add(Warning::BedSoured { bed: number, limit_ph: sour, spell });
    }
    let ammonia = 1000.0 * get("bed.free_ammonia_response_zero");
    if let Some(spell) = high(&|b| above(b.free_ammonia / 1000.0, 0.5 * ammonia)).filter(lasting) {
        all.add(Warning::AmmoniaStress { bed: number, limit_g_per_kg: 0.5 * ammonia, spell });
    }
    let salt = 0.5 * (get("bed.salt_response_full_limit") + get("bed.salt_response_zero"));
    if let Some(spell) = high(&|b| above(b.salt, salt)).filter(lasting) {
        all.add(Warning::SaltStress { bed: number, limit_g_per_l: salt, spell });
    }
    let thick = |b: &BedRecord| (b.fresh_reach < b.fresh_thickness).then_some(100.0 * b.fresh_thickness);
    if let Some(spell) = high(&thick).filter(lasting) {
        let reach = mine()
            .filter(|b| thick(b).is_some())
            .map(|b| 100.0 * b.fresh_reach)
            .fold(f64::INFINITY, f64::min);
        all.add(Warning::LayerTooThick { bed: number, reach_cm: reach, spell });
    }
    stock_of_bed(site, trace, n, get, all);
}

fn stock_of_bed(site: &Site, trace: &Trace, n: usize, get: &dyn Fn(&str) -> f64, all: &mut Warnings) {
    // worms may arrive after the first day
    let mine = || trace.of_bed(n).skip_while(|b| b.stock <= 0.0);
    let area = site.beds[n].setup.area;
    let upkeep = get("worms.maintenance_intake");
    if trace.tally.beds[n].starving_days >= LASTING as usize {
        let hungry = |b: &&BedRecord| (b.stock > 0.0 && b.intake < upkeep).then_some(b.intake / upkeep);
        if let Some(mut spell) = spell(mine(), |b| b.date, hungry, f64::min) {
            spell.days = u32::try_from(trace.tally.beds[n].starving_days).unwrap_or(spell.days);
            all.add(Warning::WormsStarving { bed: number(n), spell });
        }
    }
    let crowded = get("worms.laying_density_half_effect");
    if let Some(spell) = spell(mine(), |b| b.date, |b| above(b.stock / area, crowded), f64::max) {
        all.add(Warning::Crowded { bed: number(n), limit_kg_per_m2: crowded, spell });
    }
    let first = mine().next().map_or(0.0, |b| b.stock);
    let dying = |b: &&BedRecord| (first > 0.0 && b.stock < DYING_SHARE * first).then_some(b.stock / first);
    if let Some(spell) = spell(mine(), |b| b.date, dying, f64::min) {
        all.add(Warning::StockDyingOut { bed: number(n), spell });
    }
}

fn worms(plan: &Plan, answer: &RunAnswer, all: &mut Warnings) {
    let s = &answer.stock;
    if s.mean.total > 0.0 && s.mean.total < BELOW_NEED * s.needed_at_ration {
        all.add(Warning::StockBelowNeed { have_kg: s.mean.total, need_kg: s.needed_at_ration });
    }
    if s.cocoons_lost_share > COCOON_LOSS {
        let method = match plan.screen.method {
            Method::Trommel => "one trommel",
            Method::TwoDecks => "two decks",
            Method::Migration => "light or migration",
            Method::BottomCut => "a bottom cut",
        };
        all.add(Warning::CocoonsLost { share: s.cocoons_lost_share, method: method.to_owned() });
    }
}

/// Castings that wait for a dry floor or for the screen.
fn screening(site: &Site, trace: &Trace, all: &mut Warnings) {
    let screen = &site.screen;
    if matches!(screen.drying, Drying::Floor { .. }) {
        let slow = |d: &DayRecord| (d.longest_drying > SLOW_DRYING).then_some(d.castings_drying);
        if let Some(spell) = site_spell(&trace.daily, slow) {
            all.add(Warning::DryingShort { spell });
        }
    }
    let capacity = screen.rate * screen.hours_per_day;
    if let Some(spell) = site_spell(&trace.daily, |d| above(d.castings_waiting, SCREEN_BACKLOG * capacity)) {
        all.add(Warning::ScreenBottleneck { capacity_kg_per_day: capacity, spell });
    }
}

fn products(answer: &RunAnswer, get: &dyn Fn(&str) -> f64, all: &mut Warnings) {
    let hottest = answer.beds.iter().map(|b| b.hottest).fold(0.0, f64::max);
    let needed = get("site.pfrp_temperature");
    if answer.products.iter().any(|p| p.amounts.wet > 0.0) && hottest < needed {
        all.add(Warning::NoHygieneStep { hottest_celsius: hottest, needed_celsius: needed });
    }
    for product in &answer.products {
        if let Some(q) = product.quality.as_ref().filter(|_| product.name == "castings") {
            let limit = get("bed.castings_nitrogen_warning");
            if q.nitrogen > limit {
                all.add(Warning::CastingsNitrogenHigh { share: q.nitrogen, limit });
            }
        }
        for judged in product.standards.iter().filter(|j| j.verdict == Judgement::Fail) {
            let Some(value) = judged.value else { continue };
            all.add(Warning::ProductOffStandard {
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

/// What can be said of a plan without a run.
pub(super) fn of_the_plan(plan: &Plan, site: &Site) -> Warnings {
    let mut all = Warnings::new();
    let intake = plan.mean_intake();
    let stock = plan.stock.mass();
    let missing = [
        (intake <= 0.0, Warning::NoIntake),
        (plan.drums.count == 0, Warning::NoDrums),
        (site.beds.is_empty(), Warning::NoBeds),
        (stock <= 0.0, Warning::NoWorms),
    ];
    for (_, warning) in missing.into_iter().filter(|(holds, _)| *holds) {
        all.add(warning);
    }
    let need = ratio(intake, plan.feeding.ration);
    if stock > 0.0 && BELOW_NEED * need > stock {
        all.add(Warning::StockBelowNeed { have_kg: stock, need_kg: need });
    }
    if plan.drums.count > 0 {
        let days = (0..).zip(&site.drum_room);
        let cold = spell(
            days,
            |(day, _)| site.date(*day),
            |(_, room)| (**room < COLD_STORE).then_some(**room),
            f64::min,
        );
        if let Some(spell) = cold {
            all.add(Warning::DrumStoreCold { limit_celsius: COLD_STORE, spell });
        }
    }
    for warning in site_figures::floor_warnings(&site_figures::planned_floor(plan, site)) {
        all.add(warning);
    }
    plain(plan, site, &|key| central(plan, key), &mut all);
    all
}

/// Warnings that hold whatever happens in a run.
fn plain(plan: &Plan, site: &Site, get: &dyn Fn(&str) -> f64, all: &mut Warnings) {
    let drums = plan.drums.count;
    let (full, one_person) = (site.drums.drum_mass(), get("site.one_person_lift_men"));
    if drums > 0 && plan.drums.vent == Vent::Sealed {
        all.add(Warning::ValveMissing { drums });
    }
    if drums > 0 && full > one_person {
        all.add(Warning::DrumTooHeavy { drum_kg: full, one_person_kg: one_person });
    }
    published_ranges(plan, all);
}

/// Rates that the plan replaces by values outside what is published.
fn published_ranges(plan: &Plan, all: &mut Warnings) {
    for choice in &plan.rates {
        let Some(entry) = literature::entry(&choice.key) else { continue };
        let (low, high) = (entry.value.low(), entry.value.high());
        if choice.central < low || choice.central > high {
            all.add(Warning::OutsidePublishedRange {
                key: choice.key.clone(),
                value: choice.central,
                low,
                high,
                unit: entry.unit.clone(),
            });
        }
    }
}
