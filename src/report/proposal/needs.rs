//! What the site takes and gives in a year, in sentences for the first page: each with its range over the draws.

use super::ProposalContents;
use super::findings::{amount, quantiles, settled, share, year_name};
use super::text::{capital, join, set};
use crate::matter::ratio;
use crate::quantity::{Kind, Units};
use crate::report::cautions::in_short;
use crate::report::number::{format_decimals, format_figures, format_interval, format_range};
use crate::report::pages::page::words;
use crate::site_figures::water::WaterFigures;
use crate::trace::DayRecord;

/// Tonnes in a short ton. # Source: by definition
const SHORT_TON: f64 = 0.907_184_74;

/// A best estimate with the range of nine draws in ten: "110 t (82 to 174)"; said where the estimate lies outside that range.
pub(super) fn ranged(c: &ProposalContents, kind: Kind, value: f64, figure: &str) -> String {
    match quantiles(c, figure) {
        Some([low, .., high]) if is_one_number(c, kind, (low, high)) => amount(c, kind, value),
        Some([low, .., high]) if (low..=high).contains(&value) => {
            set(format_range(kind, value, (low, high), c.units).trim_end())
        }
        Some([low, .., high]) => format!(
            "{} (the best estimate; nine of ten draws: {} to {})",
            amount(c, kind, value),
            amount(c, kind, low),
            amount(c, kind, high)
        ),
        None => amount(c, kind, value),
    }
}

/// Whether a range is one number in the digits shown.
pub(super) fn is_one_number(c: &ProposalContents, kind: Kind, (low, high): (f64, f64)) -> bool {
    !format_interval(kind, low, high, c.units).contains(" to ")
}

/// A figure of the year that counts with its range, and that of the first year where it differs. None if the run has none.
fn of_years(c: &ProposalContents, kind: Kind, figure: &str) -> Option<(f64, String)> {
    let later = c.answer.later_years.last.as_ref();
    let Some(found) = later.and_then(|last| last.figures.iter().find(|f| f.name == figure)) else {
        let first = c.uncertainty?.figures.iter().find(|f| f.name == figure)?.central?;
        return Some((first, format!("{} in {} days", ranged(c, kind, first, figure), c.answer.days)));
    };
    let now = found.settled?;
    let range = ranged(c, kind, now, &format!("settled_{figure}"));
    let first = found.first.map_or_else(String::new, |first| amount(c, kind, first));
    let same = first == amount(c, kind, now) || first.is_empty();
    let before = if same { String::new() } else { format!(", {first} in the first") };
    Some((now, format!("{range} in {}{before}", year_name(c))))
}

/// Sum of a daily figure of the run.
fn sum(c: &ProposalContents, of: impl Fn(&DayRecord) -> f64) -> f64 {
    c.answer.daily.iter().map(of).sum()
}

/// The amount of the year that counts, or that of the run.
fn yearly(c: &ProposalContents, kind: Kind, figure: &str, sum: f64) -> (f64, String) {
    of_years(c, kind, figure)
        .unwrap_or_else(|| (sum, format!("{} in {} days", amount(c, kind, sum), c.answer.days)))
}

/// Water taken.
pub(super) fn water(c: &ProposalContents) -> String {
    let now = &c.answer.year_that_counts().water;
    if now.taken <= 0.0 {
        return "No water is used.".to_owned();
    }
    let (_, on_beds) = yearly(c, Kind::Mass, "irrigation", sum(c, |d| d.irrigation));
    let most = now.most_taken.max(c.answer.site.water.most_taken);
    let per_scraps = now.per_scraps.map_or_else(String::new, |per_scraps| {
        format!("; in all {} times the mass of the scraps", format_decimals(per_scraps, 1))
    });
    format!(
        "On the beds {on_beds}; {} to wash drums and rinse{per_scraps}, at most {} on a day.",
        amount(c, Kind::Mass, now.washing + now.rinsing),
        amount(c, Kind::Mass, most)
    )
}

/// What runs off, the tank for it, and where it goes.
pub(super) fn drainage(c: &ProposalContents) -> String {
    let (now, first) = (&c.answer.year_that_counts().water, &c.answer.site.water);
    if now.run_off.max(first.run_off) <= 0.0 {
        return "Nothing runs off.".to_owned();
    }
    let most = |of: fn(&WaterFigures) -> f64| of(now).max(of(first));
    let have = now
        .tank_of_plan
        .map_or_else(String::new, |have| format!(" (planned: {})", amount(c, Kind::Volume, have)));
    format!(
        "{} runs off in {}: {} from beds, {} of acid liquor, the rest washing water; at most {} on a day. Emptied every {} days, \
         the tank must hold {}{have}. {}.",
        amount(c, Kind::Mass, now.run_off),
        year_name(c),
        amount(c, Kind::Mass, now.drained),
        amount(c, Kind::Mass, now.liquor),
        amount(c, Kind::Mass, most(|w| w.most_run_off)),
        now.emptied_every,
        amount(c, Kind::Volume, most(|w| w.tank)),
        capital(now.goes_to)
    )
}

/// Dry matter mixed in, bran and grit.
pub(super) fn bulking(c: &ProposalContents) -> String {
    let (_, bran) = yearly(c, Kind::Mass, "bran_used", c.answer.bran.used);
    let bran = capital(&format!("bran: {bran}."));
    let Some(plan) = &c.plan.bulking else { return format!("No bulking is planned. {bran}") };
    let (_, text) = yearly(c, Kind::Mass, "bulking", c.answer.grinder.bulking);
    let floor = &c.answer.year_that_counts().floor;
    let store = floor.bulking.max(c.answer.site.floor.bulking);
    let store = if store > 0.0 {
        format!(": {} for {} days", amount(c, Kind::Volume, store), plan.stored_days)
    } else {
        String::new()
    };
    format!("{}: {text}, stored dry and under cover{store}. {bran}", capital(&words(&plan.ingredient)))
}

/// Electricity, heat and hours of work.
pub(super) fn energy_and_work(c: &ProposalContents) -> String {
    let site = c.answer.year_that_counts();
    let (e, l) = (&site.energy, &site.labour);
    let kilowatt_hours = |value: f64| format!("{}\u{a0}kWh", format_figures(value, 3));
    let dries = || format!("{} to dry castings by {}", kilowatt_hours(e.drying), e.dried_by);
    let drying = (e.drying > 0.0).then(dries);
    let rooms = e.rooms.iter().filter(|room| room.electricity + room.fuel > 0.0).map(|room| {
        let used = kilowatt_hours(room.electricity + room.fuel);
        format!("{used} to heat the {} by {}", room.room, room.heated_by)
    });
    let cooled = e.cooled.iter().filter(|room| room.electricity > 0.0);
    let cooled = cooled.map(|room| format!("{} to cool the {}", kilowatt_hours(room.electricity), room.room));
    let grinding = format!("{} to grind", kilowatt_hours(e.grinder));
    let all: Vec<String> = [grinding].into_iter().chain(drying).chain(rooms).chain(cooled).collect();
    let per_tonne = l.per_tonne.map_or_else(String::new, |hours| {
        let (hours, unit) = match c.units {
            Units::Si => (hours, "tonne"),
            Units::Us => (hours * SHORT_TON, "ton"),
        };
        format!(", {} a {unit} of scraps", format_figures(hours, 2))
    });
    format!(
        "{}; fans and pumps are not counted. {} hours of work in {}{per_tonne}: {} a working day.",
        capital(&join(&all)),
        format_figures(l.hours, 2),
        year_name(c),
        format_figures(l.on_a_working_day, 2)
    )
}

/// What endangers people at work, with the figures of this site.
pub(super) fn safety(c: &ProposalContents) -> String {
    let out = in_short(c.answer, c.units);
    if out.is_empty() {
        return "See the cautions.".to_owned();
    }
    set(&out.join(" "))
}

/// Scraps turned away in the year that counts, in words.
pub(super) fn turned_away(c: &ProposalContents) -> String {
    let run = || {
        let (away, arrived) = (sum(c, |d| d.turned_away), sum(c, |d| d.intake));
        ratio(away, arrived)
    };
    match settled(c, "turned_away_share").unwrap_or_else(run) {
        away if away > 0.0 => format!("{} turned away", share(away)),
        _ => "none turned away".to_owned(),
    }
}
