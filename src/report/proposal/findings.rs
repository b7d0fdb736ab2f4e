//! The findings in sentences. Every sentence is made from the numbers of the answer and changes with them.

use super::text::{capital, join, name, set};
use super::{ProposalContents, needs};
use crate::quantity::Kind;
use crate::report::chart::{format_date, format_quantity, needed_floor};
use crate::report::number::{self, format_figures, format_number, format_range};
use crate::report::pages::run::years::ended;
use crate::report::pages::uncertainty::statement;
use crate::report::pages::verdict::sentence;
use crate::scenario::plan::Scraps;
use crate::site_figures::money::MoneyFigures;
use crate::study::uncertainty::{FailureChance, UncertaintyAnswer};
use crate::study::verdict::Verdict;
use crate::trace::Settling;

/// Lowest chance of a failure that the first page names: one draw in twenty. Source: our choice.
const NAMED_FROM: f64 = 0.05;
/// Number of failures named in one sentence.
const FAILURES_NAMED: usize = 2;
/// Number of sources of scraps named.
const STREAMS_NAMED: usize = 4;
/// Names of the failures of the stock.
const STOCK: [&str; 2] = ["stock_short", "stock_falls"];

/// An amount in a sentence; zero keeps its everyday unit.
pub(super) fn amount(c: &ProposalContents, kind: Kind, value: f64) -> String {
    let words = if value == 0.0 {
        number::format_quantity(kind, 0.0, c.units)
    } else {
        format_quantity(kind, value, c.units)
    };
    set(words.trim_end()).replace(' ', "\u{a0}")
}

/// A share in percent, two digits.
pub(super) fn share(value: f64) -> String {
    format!("{}\u{a0}%", format_figures(100.0 * value, 2))
}

/// "1 drum", "2 drums".
pub(super) fn counted(number: f64, one: &str, many: &str) -> String {
    format!(
        "{}\u{a0}{}",
        format_number(number),
        if number.to_bits() == 1.0_f64.to_bits() { one } else { many }
    )
}

/// Quantiles of a figure over the draws. `None` if no draw has the figure.
pub(super) fn quantiles(c: &ProposalContents, figure: &str) -> Option<[f64; 5]> {
    let found = c.uncertainty?.figures.iter().find(|f| f.name == figure)?;
    found.spread.as_ref().map(|spread| spread.quantiles)
}

/// A figure of the settled year, or of the last one simulated. None where none is sought.
pub(super) fn settled(c: &ProposalContents, figure: &str) -> Option<f64> {
    c.answer.later_years.last.as_ref()?.figures.iter().find(|f| f.name == figure)?.settled
}

/// The question that the document answers.
pub(super) fn question(c: &ProposalContents) -> String {
    let (plan, answer) = (c.plan, c.answer);
    let sources: Vec<String> = plan.streams.iter().take(STREAMS_NAMED).map(|s| name(&s.name)).collect();
    let more = plan.streams.len().saturating_sub(STREAMS_NAMED);
    let sources = match more {
        0 => join(&sources),
        more => format!("{} and {} more", sources.join(", "), more),
    };
    let brought = match plan.streams.len() {
        0 => "food scraps".to_owned(),
        _ => format!("{} of food scraps a day ({sources})", amount(c, Kind::Mass, plan.mean_intake())),
    };
    let way = match plan.feeding.scraps {
        Scraps::Fermented => "ferment them in sealed drums, grind them, feed them to worms",
        Scraps::Ground => "grind them fresh, feed them to worms",
        Scraps::Whole => "feed them fresh to worms",
    };
    format!(
        "Can {} take in {brought}, {way} and sell the castings? What does that require, what does it produce, and how certain is \
         the answer?",
        name(&answer.name)
    )
}

/// That the site is fitted to its log. `None` if it is not.
pub(super) fn fitted(c: &ProposalContents) -> Option<String> {
    let sites = c.plan.fitted()?.members.len();
    Some(set(&format!(
        "Fitted to the log of this site: the rates are those of {sites} equally likely sites that agree with what was weighed there{}, not \
         the ranges of the literature.",
        c.fitted.map_or_else(String::new, |file| format!(" ({})", name(file)))
    )))
}

/// How the question was answered.
pub(super) fn method(c: &ProposalContents) -> String {
    let answer = c.answer;
    let last = answer.daily.last().map_or(answer.start, |day| day.date);
    let draws = c.uncertainty.map_or_else(
        || "without draws, so uncertainty is not quantified".to_owned(),
        |u| {
            let (made, drawn) = (u.answered, u.unknowns_drawn);
            format!(
                "then in {made} draws of {drawn} rates and figures of ingredients, weather, intake and chance"
            )
        },
    );
    set(&format!(
        "The simulation follows every kilogram from {} to {}, once with the best estimate of each rate, {draws}. Its mass balance \
         closes to one part in {}.",
        format_date(answer.start),
        format_date(last),
        closeness(answer.balance.largest_relative_residual)
    ))
}

/// The largest power of ten whose inverse exceeds a residual.
fn closeness(residual: f64) -> String {
    let power = if residual > 0.0 { (-residual.log10()).floor() } else { f64::from(f64::DIGITS) };
    let raised = |digit: char| match digit {
        '1' => '¹',
        '2' => '²',
        '3' => '³',
        '-' => '⁻',
        digit => digit.to_digit(10).and_then(|d| char::from_u32(0x2070 + d)).unwrap_or(digit),
    };
    format!("10{}", format!("{power:.0}").chars().map(raised).collect::<String>())
}

/// The overall answer.
pub(super) fn verdict(c: &ProposalContents) -> String {
    let works = capital(&format!("{}.", sentence(verdict_of(c), c.units)));
    let priced = c.answer.year_that_counts().money.as_ref().map_or_else(String::new, |m| {
        let sum = money(m, m.surplus.abs());
        if m.surplus < 0.0 {
            format!(" At the prices given, {} loses {sum}.", year_name(c))
        } else {
            format!(" At the prices given, {} leaves a surplus of {sum}.", year_name(c))
        }
    });
    format!("{works}{priced}")
}

/// Failures that the first page names, most likely first.
fn most_likely(u: &UncertaintyAnswer) -> Vec<&FailureChance> {
    let mut found: Vec<&FailureChance> = u.failures.iter().filter(|f| f.share >= NAMED_FROM).collect();
    found.sort_by(|a, b| b.share.total_cmp(&a.share));
    found
}

/// The verdict of the draws, or of the best-estimate run where there are none.
pub(super) fn verdict_of<'a>(c: &'a ProposalContents) -> &'a Verdict {
    c.uncertainty.map_or(&c.answer.verdict, |u| &u.verdict)
}

/// Intake.
pub(super) fn comes_in(c: &ProposalContents) -> String {
    let offered: f64 = c.answer.streams.iter().map(|s| s.delivered.wet).sum();
    let away: f64 = c.answer.streams.iter().map(|s| s.turned_away).sum();
    if offered <= 0.0 {
        return "No scraps arrive.".to_owned();
    }
    let turned = if away > 0.0 {
        format!("{} ({}) are turned away", amount(c, Kind::Mass, away), share(away / offered))
    } else {
        "none is turned away".to_owned()
    };
    let mean = offered / c.answer.days.max(1) as f64;
    let later = settled(c, "turned_away_share").map_or_else(String::new, |away| {
        let away = if away > 0.0 { share(away) } else { "nothing".to_owned() };
        format!(" In {}, {away} is turned away.", year_name(c))
    });
    format!(
        "{} in the {} days of the run, {} a day on average; {turned}.{later}",
        amount(c, Kind::Mass, offered),
        c.answer.days,
        amount(c, Kind::Mass, mean)
    )
}

/// Products.
pub(super) fn comes_out(c: &ProposalContents) -> String {
    let mass: f64 = c.answer.products.iter().map(|p| p.amounts.wet).sum();
    let first = || needs::ranged(c, Kind::Mass, mass, "product_sold");
    let later = settled(c, "product_sold");
    if mass <= 0.0 && later.is_none_or(|kg| kg <= 0.0) {
        return "Nothing is sold in this run.".to_owned();
    }
    let sold = match later {
        Some(kg) => format!(
            "{} sold in {}, {} in the first",
            needs::ranged(c, Kind::Mass, kg, "settled_product_sold"),
            year_name(c),
            amount(c, Kind::Mass, mass)
        ),
        None => format!("{} sold in {} days", first(), c.answer.days),
    };
    let quality = c.answer.products.iter().find_map(|p| Some((p.name, p.quality.as_ref()?)));
    let quality = quality.map_or_else(String::new, |(product, q)| {
        format!(
            " The {product} of the run: {} water, C:N\u{a0}{}, {} nitrogen in dry matter.",
            share(q.moisture),
            format_figures(q.carbon_to_nitrogen, 2),
            share(q.nitrogen)
        )
    });
    format!("{sold}.{quality}")
}

/// Drums.
pub(super) fn drums(c: &ProposalContents) -> String {
    let d = &c.answer.drums;
    if d.owned == 0 {
        let fresh = c.answer.fresh_scraps;
        return if fresh { "None: scraps are fed fresh." } else { "None." }.to_owned();
    }
    let bad = if d.spoiled > 0 {
        format!("{} of {} sealed spoil", d.spoiled, d.sealed)
    } else {
        "none spoils".to_owned()
    };
    let peak = quantiles(c, "drums_highest")
        .map(|[.., high]| format!(", {} or more in one draw of twenty", format_number(high.ceil())));
    format!(
        "{} of {}: {} in use on average, {} at the peak{}; {bad}.",
        d.owned,
        amount(c, Kind::Volume, c.plan.drums.volume),
        format_figures(d.in_use.mean, 2),
        format_number(d.in_use.highest),
        peak.unwrap_or_default()
    )
}

/// Beds and floor.
pub(super) fn beds(c: &ProposalContents) -> String {
    let area = c.plan.bed_area();
    if area <= 0.0 {
        return "None.".to_owned();
    }
    let load: f64 = c.answer.beds.iter().map(|b| b.load * b.area).sum::<f64>() / area;
    let floor = needed_floor(c.answer);
    let have =
        floor.have.map_or_else(String::new, |have| format!("; {} is available", amount(c, Kind::Area, have)));
    format!(
        "{} with {}, fed {} a day. With {}aisles and work places, the site needs {} of floor{have}.",
        counted(c.answer.beds.len() as f64, "bed", "beds"),
        amount(c, Kind::Area, area),
        amount(c, Kind::ArealMass, load),
        if c.answer.drums.owned > 0 { "drums, " } else { "" },
        amount(c, Kind::Area, floor.total)
    )
}

/// Worms required, and whether the stock lasts: from year to year, and for the scraps.
pub(super) fn worms(c: &ProposalContents) -> String {
    let s = &c.answer.stock;
    let introduced = s.start.total + s.bought;
    if introduced <= 0.0 {
        return "None.".to_owned();
    }
    let need = if s.needed_at_ration > 0.0 {
        format!("; the scraps need {} at the ration", amount(c, Kind::Mass, s.needed_at_ration))
    } else {
        String::new()
    };
    format!("{} put in{need}. {}", amount(c, Kind::Mass, introduced), holds(c))
}

/// Whether the worm stock lasts.
fn holds(c: &ProposalContents) -> String {
    let s = &c.answer.stock;
    let introduced = s.start.total + s.bought;
    let years = &c.answer.later_years;
    let [.., before, now] = years.years.as_slice() else {
        return set(&format!(
            "Whether they last is not known: {}. At the end of the run {} live, {} of those put in.",
            ended(years),
            amount(c, Kind::Mass, s.end.total),
            share(s.end.total / introduced)
        ));
    };
    let worst = STOCK.iter().filter_map(|name| chance(c, name)).max_by(|a, b| a.0.total_cmp(&b.0));
    let falls = verdict_of(c).against().any(|w| STOCK.contains(&w.name));
    let chance = worst
        .filter(|(share, _)| *share > 0.0)
        .map_or_else(String::new, |(likely, failure)| format!("; in {} of draws, {failure}", share(likely)));
    set(&format!(
        "{}: {} live in year {} on average, {} in the year before{chance}.",
        if falls { "That they last is doubtful" } else { "They last" },
        needs::ranged(c, Kind::Mass, now.stock_mean, "settled_stock_mean"),
        now.year,
        amount(c, Kind::Mass, before.stock_mean)
    ))
}

/// The chance of a failure over the draws, with its statement. None without draws in which it could happen.
fn chance(c: &ProposalContents, name: &str) -> Option<(f64, String)> {
    let found = c.uncertainty?.failures.iter().find(|f| f.name == name && f.draws > 0)?;
    Some((found.share, statement(found.statement, c.units)))
}

/// Uncertainty.
pub(super) fn sure(c: &ProposalContents) -> String {
    let Some(u) = c.uncertainty else {
        return "Not quantified: this document was made without draws.".to_owned();
    };
    let all = most_likely(u);
    let failures = if all.is_empty() {
        format!("no failure occurs in {} or more of the draws", share(NAMED_FROM))
    } else {
        let named = all.iter().take(FAILURES_NAMED).map(|f| {
            let range = format_range(Kind::Share, f.share, (f.low, f.high), c.units);
            format!("{}: {range}", statement(f.statement, c.units))
        });
        format!("most likely failures, with 95 % interval: {}", named.collect::<Vec<_>>().join("; "))
    };
    set(&format!("{} draws; {failures}.", u.answered))
}

/// Whether more draws would change the result.
pub(super) fn enough(u: &UncertaintyAnswer) -> String {
    match (u.settled, u.draws_to_settle) {
        (true, _) => "More draws would not change the result.".to_owned(),
        (false, Some(draws)) => {
            format!("About {} draws are needed to settle every figure.", format_figures(draws as f64, 2))
        }
        (false, None) => "More draws would still change some figures.".to_owned(),
    }
}

/// A sum in the scenario's currency, two digits: prices and hours are no better known.
fn money(m: &MoneyFigures, value: f64) -> String {
    format!("{}\u{a0}{}", name(&m.currency), format_figures(value, 2).replace(' ', "\u{a0}"))
}

/// What the year that counts is called: "a settled year", "year 8", "a year".
pub(super) fn year_name(c: &ProposalContents) -> String {
    let years = &c.answer.later_years;
    match (&years.last, years.settling) {
        (None, _) => "a year".to_owned(),
        (Some(_), Settling::Settled) => "a settled year".to_owned(),
        (Some(last), _) => format!("year\u{a0}{}", last.year),
    }
}

/// Costs and income. `None` if the scenario holds no prices.
pub(super) fn costs(c: &ProposalContents) -> Option<String> {
    let m = c.answer.year_that_counts().money.as_ref()?;
    let left = if m.surplus >= 0.0 {
        format!("a surplus of {}", money(m, m.surplus))
    } else {
        format!("a shortfall of {}", money(m, -m.surplus))
    };
    let back = m.payback.map_or_else(
        || format!("it does not pay back within {} years", m.years),
        |years| format!("it pays back in {} years without interest", format_figures(years, 2)),
    );
    let missing = if m.not_counted.is_empty() {
        String::new()
    } else {
        let names: Vec<String> = m.not_counted.iter().map(|n| (*n).to_owned()).collect();
        format!(" No price is given for {}.", join(&names))
    };
    Some(format!(
        "{} to set up. {} costs {} and earns {}: {left}; {back}.{missing}",
        money(m, m.capital_total),
        capital(&year_name(c)),
        money(m, m.running_total),
        money(m, m.income_total)
    ))
}

/// The measurements that say most of some usual figure, with these figures, the one of most figures first.
pub(super) fn informative<'a>(c: &'a ProposalContents) -> Vec<(&'a str, Vec<String>)> {
    let mut found: Vec<(&str, Vec<String>)> = Vec::new();
    for of in c.drivers.iter().flat_map(|drivers| &drivers.figures) {
        let Some(best) = of.measurements.first() else { continue };
        match found.iter_mut().find(|(what, _)| *what == best.measurement) {
            Some((_, figures)) => figures.push(of.what.to_owned()),
            None => found.push((best.measurement, vec![of.what.to_owned()])),
        }
    }
    found.sort_by_key(|(_, figures)| std::cmp::Reverse(figures.len()));
    found
}
