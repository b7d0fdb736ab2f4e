//! What the site takes and gives in a year, in sentences for the first page: each with its range over the draws.

use super::ProposalContents;
use super::findings::{amount, quantiles, settled, share, year_name};
use super::text::{capital, set};
use crate::matter::ratio;
use crate::quantity::{Kind, Units};
use crate::report::cautions::in_short;
use crate::report::number::{format_figures, format_interval, format_range};
use crate::report::pages::page::words;
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

/// Sum and largest day of a daily figure of the run.
fn days(c: &ProposalContents, of: impl Fn(&DayRecord) -> f64) -> (f64, f64) {
    let daily = || c.answer.daily.iter().map(&of);
    (daily().sum(), daily().fold(0.0, f64::max))
}

/// The amount of the year that counts, or that of the run.
fn yearly(c: &ProposalContents, kind: Kind, figure: &str, sum: f64) -> (f64, String) {
    of_years(c, kind, figure)
        .unwrap_or_else(|| (sum, format!("{} in {} days", amount(c, kind, sum), c.answer.days)))
}

/// Scraps taken in within the year that counts, kg.
fn scraps(c: &ProposalContents) -> f64 {
    let arrived = settled(c, "intake").unwrap_or_else(|| days(c, |d| d.intake).0);
    let away = settled(c, "turned_away_share")
        .unwrap_or_else(|| ratio(days(c, |d| d.turned_away).0, days(c, |d| d.intake).0));
    arrived * (1.0 - away)
}

/// Water put on the beds.
pub(super) fn water(c: &ProposalContents) -> String {
    let (sum, largest) = days(c, |d| d.irrigation);
    let (now, text) = yearly(c, Kind::Mass, "irrigation", sum);
    if now <= 0.0 {
        return "No water is put on the beds. Washing water is not counted.".to_owned();
    }
    let per_kilogram = format_figures(ratio(now, scraps(c)), 2);
    format!(
        "{text}, {per_kilogram} times the mass of the scraps; at most {} on a day of the run. Washing water comes on top.",
        amount(c, Kind::Mass, largest)
    )
}

/// What runs off, and where it may go.
pub(super) fn drainage(c: &ProposalContents) -> String {
    let (sum, largest) = days(c, |d| d.drainage);
    let (liquor, _) = days(c, |d| d.liquor);
    let of_year = c.answer.later_years.last.as_ref().and(c.answer.later_years.years.last());
    let now = of_year.map_or(sum, |year| year.drained);
    let liquor = settled(c, "liquor").unwrap_or(liquor);
    if now + liquor <= 0.0 {
        return "Neither beds nor drums drain.".to_owned();
    }
    let first = match of_year {
        Some(_) if amount(c, Kind::Mass, sum) != amount(c, Kind::Mass, now) => {
            format!(" ({} in the first)", amount(c, Kind::Mass, sum))
        }
        _ => String::new(),
    };
    let year = if of_year.is_some() { year_name(c) } else { format!("{} days", c.answer.days) };
    format!(
        "{} from the beds in {year}{first}, at most {} on a day of the run, and {} of acid liquor from the drums. Collect both in a \
         tank; the authority says where they may go.",
        amount(c, Kind::Mass, now),
        amount(c, Kind::Mass, largest),
        amount(c, Kind::Mass, liquor)
    )
}

/// Dry matter mixed in, bran and grit.
pub(super) fn bulking(c: &ProposalContents) -> String {
    let (_, bran) = yearly(c, Kind::Mass, "bran_used", c.answer.bran.used);
    let bran = capital(&format!("bran: {bran}."));
    let Some(plan) = &c.plan.bulking else { return format!("No bulking is planned. {bran}") };
    let (_, text) = yearly(c, Kind::Mass, "bulking", c.answer.grinder.bulking);
    format!("{}: {text}, stored dry and under cover. {bran}", capital(&words(&plan.ingredient)))
}

/// Electricity, heat and hours of work.
pub(super) fn energy_and_work(c: &ProposalContents) -> String {
    let site = c.answer.year_that_counts();
    let (e, l) = (&site.energy, &site.labour);
    let kilowatt_hours = |value: f64| format!("{}\u{a0}kWh", format_figures(value, 3));
    let drying = match e.drying {
        Some(drying) if drying > 0.0 => {
            format!(" and {} to dry castings with heat, far less with a fan", kilowatt_hours(drying))
        }
        _ => String::new(),
    };
    let per_tonne = l.per_tonne.map_or_else(String::new, |hours| {
        let (hours, unit) = match c.units {
            Units::Si => (hours, "tonne"),
            Units::Us => (hours * SHORT_TON, "ton"),
        };
        format!(", {} a {unit} of scraps", format_figures(hours, 2))
    });
    format!(
        "{} to grind{drying}; rooms, fans and pumps are not counted. {} hours of work in {}{per_tonne}: {} a working day.",
        kilowatt_hours(e.grinder),
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
        let (away, arrived) = (days(c, |d| d.turned_away).0, days(c, |d| d.intake).0);
        ratio(away, arrived)
    };
    match settled(c, "turned_away_share").unwrap_or_else(run) {
        away if away > 0.0 => format!("{} turned away", share(away)),
        _ => "none turned away".to_owned(),
    }
}
