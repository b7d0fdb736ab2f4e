//! What the figures say, in sentences. Every sentence is made from the numbers of the answer and changes with them.

use super::Contents;
use super::text::{capital, list, name, set};
use crate::quantity::Kind;
use crate::report::chart::{long_date, said};
use crate::report::number::{figure, rounded, told};
use crate::report::pages::uncertainty::statement;
use crate::site_figures::money::MoneyFigures;
use crate::study::uncertainty::{FailureChance, UncertaintyAnswer};
use crate::warning::Severity;

/// Chance from which a failure is told on the first page: one draw in twenty.
const WORTH_TELLING: f64 = 0.05;
/// Most failures told in one sentence.
const MOST_TOLD: usize = 3;
/// Most sources of scraps named.
const MOST_NAMED: usize = 4;
/// The failure in which worms are lost, as the draws name it.
const STOCK_LOST: &str = "stock_lost";

/// An amount in a sentence; zero keeps its everyday unit.
pub(super) fn amount(c: &Contents, kind: Kind, value: f64) -> String {
    let words = if value == 0.0 { told(kind, 0.0, c.units) } else { said(kind, value, c.units) };
    set(words.trim_end()).replace(' ', "\u{a0}")
}

/// A share in percent, to two figures.
fn share(value: f64) -> String {
    format!("{}\u{a0}%", rounded(100.0 * value, 2))
}

/// "1 drum", "2 drums".
fn counted(number: f64, one: &str, many: &str) -> String {
    format!("{}\u{a0}{}", figure(number), if number.to_bits() == 1.0_f64.to_bits() { one } else { many })
}

/// Quantiles of a figure over the draws; none where no draw has it.
fn quantiles(c: &Contents, figure: &str) -> Option<[f64; 5]> {
    let found = c.uncertainty?.figures.iter().find(|f| f.name == figure)?;
    found.spread.as_ref().map(|spread| spread.quantiles)
}

/// Where nine draws in ten of a figure lie.
fn span(c: &Contents, figure: &str, kind: Kind, what: &str) -> String {
    quantiles(c, figure).map_or_else(String::new, |[low, .., high]| {
        format!(" {what} {} to {} in nine draws of ten.", amount(c, kind, low), amount(c, kind, high))
    })
}

/// The question that the document answers.
pub(super) fn question(c: &Contents) -> String {
    let (plan, answer) = (c.plan, c.answer);
    let sources: Vec<String> = plan.streams.iter().take(MOST_NAMED).map(|s| name(&s.name)).collect();
    let more = plan.streams.len().saturating_sub(MOST_NAMED);
    let sources = match more {
        0 => list(&sources),
        more => format!("{} and {} more", sources.join(", "), more),
    };
    let brought = match plan.streams.len() {
        0 => "food scraps".to_owned(),
        _ => format!("{} of food scraps a day ({sources})", amount(c, Kind::Mass, plan.mean_intake())),
    };
    format!(
        "Can {} take in {brought}, let them sour in sealed drums so that they keep, grind them and feed them to worms, \
         and sell the castings? What does it take, what comes out, and how sure is that?",
        name(&answer.name)
    )
}

/// How the question was answered.
pub(super) fn method(c: &Contents) -> String {
    let answer = c.answer;
    let last = answer.daily.last().map_or(answer.start, |day| day.date);
    let draws = c.uncertainty.map_or_else(
        || "no draws were made, so that nothing is said of how sure it is".to_owned(),
        |u| {
            format!(
                "then {} times more with {} rates and figures of ingredients that nobody knows exactly, the weather, the intake and luck drawn anew each time",
                u.answered, u.unknowns_drawn
            )
        },
    );
    set(&format!(
        "The answer follows every kilogram through {} days, from {} to {}, once with the best known value of each rate, {draws}. \
         The books of the run close to one part in {}.",
        answer.days,
        long_date(answer.start),
        long_date(last),
        closeness(answer.balance.largest_relative_residual)
    ))
}

/// One over a residual, as a power of ten that it stays within.
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

/// The answer in a few sentences.
pub(super) fn verdict(c: &Contents) -> String {
    let works = c.uncertainty.map_or_else(|| by_warnings(c), |u| by_failures(c, u));
    let priced = c.answer.site.money.as_ref().map_or_else(String::new, |m| {
        let sum = money(m, m.surplus.abs());
        if m.surplus < 0.0 {
            format!(" As priced it loses {sum} a year.")
        } else {
            format!(" As priced it leaves {sum} a year.")
        }
    });
    format!("{works}{priced}")
}

/// Failures worth telling, the likeliest first.
fn likeliest(u: &UncertaintyAnswer) -> Vec<&FailureChance> {
    let mut found: Vec<&FailureChance> = u.failures.iter().filter(|f| f.share >= WORTH_TELLING).collect();
    found.sort_by(|a, b| b.share.total_cmp(&a.share));
    found
}

fn by_failures(c: &Contents, u: &UncertaintyAnswer) -> String {
    let failing: Vec<String> =
        u.failures.iter().filter(|f| f.in_central_run).map(|f| statement(f, c.units)).collect();
    if !failing.is_empty() {
        return format!("As planned it fails, even with the best known rates: {}.", list(&failing));
    }
    let works = format!(
        "It works as planned with the best known rates: none of the {} failures looked for happens.",
        u.failures.len()
    );
    likeliest(u).first().map_or_else(
        || format!("{works} None happens in more than {} of the draws.", share(WORTH_TELLING)),
        |f| format!("{works} The likeliest in the draws: {} ({}).", statement(f, c.units), share(f.share)),
    )
}

fn by_warnings(c: &Contents) -> String {
    let serious = c.warnings.iter().filter(|w| w.severity == Severity::Serious).count();
    match serious {
        0 => "With the best known rates the run gives no serious warning.".to_owned(),
        _ => format!(
            "With the best known rates the run gives {}; see what stands against it.",
            counted(serious as f64, "serious warning", "serious warnings")
        ),
    }
}

/// What comes in.
pub(super) fn comes_in(c: &Contents) -> String {
    let offered: f64 = c.answer.streams.iter().map(|s| s.delivered.wet).sum();
    let away: f64 = c.answer.streams.iter().map(|s| s.turned_away).sum();
    if offered <= 0.0 {
        return "Nothing.".to_owned();
    }
    let turned = if away > 0.0 {
        format!(
            "{} of it ({}) finds no free drum and is turned away",
            amount(c, Kind::Mass, away),
            share(away / offered)
        )
    } else {
        "all of it finds a drum".to_owned()
    };
    let mean = offered / c.answer.days.max(1) as f64;
    format!(
        "{} of scraps in {} days, {} on a mean day; {turned}.",
        amount(c, Kind::Mass, offered),
        c.answer.days,
        amount(c, Kind::Mass, mean)
    )
}

/// What comes out.
pub(super) fn comes_out(c: &Contents) -> String {
    let sold = c.answer.products.iter().filter(|p| p.amounts.wet > 0.0).map(|p| {
        format!(
            "{} of {} ({})",
            amount(c, Kind::Volume, p.volume),
            p.name,
            amount(c, Kind::Mass, p.amounts.wet)
        )
    });
    let sold: Vec<String> = sold.collect();
    if sold.is_empty() {
        return "Nothing is sold in this run.".to_owned();
    }
    let quality =
        c.answer.products.iter().find_map(|p| Some((p.name, p.quality.as_ref()?))).map(|(product, q)| {
            format!(
                " The {product} hold {} water, C:N {}, and of their dry matter {} nitrogen.",
                share(q.moisture),
                rounded(q.carbon_to_nitrogen, 3),
                share(q.nitrogen)
            )
        });
    format!(
        "{} sold.{}{}",
        list(&sold),
        quality.unwrap_or_default(),
        span(c, "product_sold", Kind::Mass, "All that is sold comes to")
    )
}

/// What the drums do.
pub(super) fn drums(c: &Contents) -> String {
    let d = &c.answer.drums;
    if d.owned == 0 {
        return "None.".to_owned();
    }
    let bad = if d.spoiled > 0.0 {
        format!("{} of {} sealed spoil", figure(d.spoiled), figure(d.sealed))
    } else {
        "none spoils".to_owned()
    };
    let most = quantiles(c, "drums_highest")
        .map(|[.., high]| format!(" In one draw in twenty the peak is {} or more.", rounded(high, 3)));
    format!(
        "{} of {}: {} in use on a mean night, {} at the peak; {bad}.{}",
        d.owned,
        amount(c, Kind::Volume, c.plan.drums.volume),
        rounded(d.in_use.mean, 3),
        figure(d.in_use.highest),
        most.unwrap_or_default()
    )
}

/// What the beds take.
pub(super) fn beds(c: &Contents) -> String {
    let area = c.plan.bed_area();
    if area <= 0.0 {
        return "None.".to_owned();
    }
    let count = c.answer.beds.len();
    let load: f64 = c.answer.beds.iter().map(|b| b.load * b.area).sum::<f64>() / area;
    let floor = &c.answer.site.floor;
    let have =
        floor.have.map_or_else(String::new, |have| format!(", {} is there", amount(c, Kind::Area, have)));
    format!(
        "{} in {}, fed {} a day. With drums, aisles and work places the site takes {} of floor{have}.",
        amount(c, Kind::Area, area),
        counted(count as f64, "bed", "beds"),
        amount(c, Kind::ArealMass, load),
        amount(c, Kind::Area, floor.total)
    )
}

/// What worms are needed.
pub(super) fn worms(c: &Contents) -> String {
    let s = &c.answer.stock;
    let put_in = s.start.total + s.bought;
    if put_in <= 0.0 {
        return "None.".to_owned();
    }
    let need = if s.needed_at_ration > 0.0 {
        format!(
            "; the intake needs {} at the ration, the mean stock is {}",
            amount(c, Kind::Mass, s.needed_at_ration),
            amount(c, Kind::Mass, s.mean.total)
        )
    } else {
        String::new()
    };
    format!("{} put in{need}.", amount(c, Kind::Mass, put_in))
}

/// Whether the stock holds.
pub(super) fn holds(c: &Contents) -> String {
    let s = &c.answer.stock;
    let put_in = s.start.total + s.bought;
    if put_in <= 0.0 {
        return "There is no stock.".to_owned();
    }
    let lost = c.uncertainty.and_then(|u| u.failures.iter().find(|f| f.name == STOCK_LOST));
    let word = match (s.end.total >= put_in, lost.is_some_and(|lost| lost.share >= 0.5)) {
        (true, false) => "Yes",
        (true, true) => "Doubtful",
        (false, _) => "No",
    };
    let chance = lost.map_or_else(String::new, |lost| {
        let [chance, low, high] = [lost.share, lost.low, lost.high].map(share);
        format!(" In {chance} of the draws (95 % interval {low} to {high}) fewer are left than were put in.")
    });
    set(&format!(
        "{word}: with the best known rates {} of worms are left at the end, {} of what was put in.{chance}",
        amount(c, Kind::Mass, s.end.total),
        share(s.end.total / put_in)
    ))
}

/// How sure it is.
pub(super) fn sure(c: &Contents) -> String {
    let Some(u) = c.uncertainty else {
        return "Not asked: this document was made without draws.".to_owned();
    };
    let all = likeliest(u);
    let likeliest = if all.is_empty() {
        "no failure looked for is likelier than one in twenty".to_owned()
    } else {
        let told = all.iter().take(MOST_TOLD).map(|f| {
            let (low, high) = (share(f.low), share(f.high));
            format!("{} ({}; 95 % interval {low} to {high})", statement(f, c.units), share(f.share))
        });
        format!("likeliest to fail: {}", told.collect::<Vec<_>>().join("; "))
    };
    set(&format!("{} draws: {likeliest}. {}", u.answered, enough(u)))
}

/// Whether more draws would change the answer.
pub(super) fn enough(u: &UncertaintyAnswer) -> String {
    match (u.settled, u.draws_to_settle) {
        (true, _) => "More draws would not change it.".to_owned(),
        (false, Some(draws)) => {
            format!("About {} draws would settle every figure.", rounded(draws as f64, 2))
        }
        (false, None) => "More draws would still move some figures.".to_owned(),
    }
}

/// A sum in the currency of the scenario.
fn money(m: &MoneyFigures, value: f64) -> String {
    format!("{}\u{a0}{}", name(&m.currency), rounded(value, 3).replace(' ', "\u{a0}"))
}

/// What it costs, where the scenario holds prices.
pub(super) fn costs(c: &Contents) -> Option<String> {
    let m = c.answer.site.money.as_ref()?;
    let left = if m.surplus >= 0.0 {
        format!("{} is left", money(m, m.surplus))
    } else {
        format!("{} is lacking", money(m, -m.surplus))
    };
    let back = m.payback.map_or_else(
        || format!("it does not pay back within {} years", m.years),
        |years| format!("it pays back in {} years, interest left out", rounded(years, 2)),
    );
    let missing = if m.not_counted.is_empty() {
        String::new()
    } else {
        let names: Vec<String> = m.not_counted.iter().map(|n| (*n).to_owned()).collect();
        format!(" No price is given for {}.", list(&names))
    };
    Some(format!(
        "{} to set up. A year costs {} and earns {}: {left}, and {back}.{missing}",
        money(m, m.capital_total),
        money(m, m.running_total),
        money(m, m.income_total)
    ))
}

/// What to measure first: the measurement that tells most of each usual figure, told once each.
pub(super) fn measure_first(c: &Contents) -> Option<String> {
    let drivers = c.drivers?;
    let mut found: Vec<(&str, Vec<String>)> = Vec::new();
    for of in &drivers.figures {
        let Some(best) = of.measurements.first() else { continue };
        match found.iter_mut().find(|(what, _)| *what == best.measurement) {
            Some((_, tells)) => tells.push(of.what.to_owned()),
            None => found.push((best.measurement, vec![of.what.to_owned()])),
        }
    }
    found.sort_by_key(|(_, tells)| std::cmp::Reverse(tells.len()));
    let (what, tells) = found.first()?;
    Some(format!("{}. It tells most about {}.", capital(what), list(tells)))
}
