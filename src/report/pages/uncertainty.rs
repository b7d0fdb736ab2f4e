//! The page of *run --draws*.

use crate::monte_carlo::shard::Shard;
use crate::monte_carlo::summary::ErrorRule;
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, in_column_unit, rounded, told};
use crate::report::pages::page::Page;
use crate::report::table::{Align, Cell, Column, Measure, Table};
use crate::study::uncertainty::{FailureChance, SeriesBands, UncertaintyAnswer};
use crate::trace::figures::TABLE;

/// Figures of a number: an ensemble of a thousand draws tells no more.
const FIGURES: u32 = 3;
/// From here on a number is written with a power of ten.
const BEYOND_SENSE: f64 = 1e7;
/// Rows of a table of bands.
const BAND_ROWS: usize = 13;
/// Most failed draws told one by one.
const MOST_FAILED: usize = 10;
/// Most figures told one by one that are not settled.
const MOST_UNSETTLED: usize = 6;
/// Most gaps told one by one.
const MOST_GAPS: usize = 8;

/// The kind of a figure by its unit and name; none where it is shown as it is.
pub(in crate::report) fn kind_of(name: &str, unit: &str) -> Option<Kind> {
    const SHARES: [&str; 6] = [
        "bed_moisture",
        "castings_moisture",
        "castings_nitrogen",
        "castings_carbon",
        "castings_phosphate",
        "castings_potash",
    ];
    let share = name.ends_with("_share") || SHARES.contains(&name);
    match unit {
        "kg" => Some(Kind::Mass),
        "kg/d" => Some(Kind::MassRate),
        "°C" => Some(Kind::Temperature),
        "kg/kg" | "1" if share => Some(Kind::Share),
        _ => None,
    }
}

/// Unit in which a figure is shown; empty for a plain number.
pub(in crate::report) fn shown_unit(name: &str, unit: &'static str, units: Units) -> &'static str {
    match kind_of(name, unit) {
        Some(kind) => column_unit(kind, units),
        None if matches!(unit, "1" | "kg/kg" | "pH") => "",
        None => unit,
    }
}

/// A value of a figure, without its unit.
pub(in crate::report) fn shown(name: &str, unit: &str, value: f64, units: Units) -> String {
    written(kind_of(name, unit).map_or(value, |kind| in_column_unit(kind, value, units)))
}

/// A number; one beyond all sense, as rates beyond all sense give, with a power of ten.
fn written(value: f64) -> String {
    if value.abs() >= BEYOND_SENSE { format!("{value:.1e}") } else { rounded(value, FIGURES) }
}

/// A column of numbers made into words already.
pub(in crate::report) fn right(name: &str) -> Column {
    Column { name: name.to_owned(), measure: Measure::Words, align: Align::Right }
}

/// The answer to *run* with draws as a page of text: chances, spreads, bands, draws that failed.
pub fn uncertainty_text(answer: &UncertaintyAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&format!("How sure: {}", answer.name));
    made(&mut page, answer);
    chances(&mut page, answer);
    figures(&mut page, answer);
    page.heading("Bands by day");
    page.paragraph(
        "The middle half of the draws lies between 25 and 75 %, nine in ten between 5 and 95 %. bands.csv has every day.",
    );
    for series in &answer.bands {
        bands(&mut page, series);
    }
    failed(&mut page, answer);
    page.into_text()
}

pub(in crate::report) fn made(page: &mut Page, answer: &UncertaintyAnswer) {
    page.line("draws", &format!("{} of {}, seed {}", answer.answered, answer.draws, answer.seed));
    if answer.partial {
        page.line("PARTIAL", &format!("not made: draws {}", gaps(&answer.missing)));
    }
    if !answer.failed.is_empty() {
        page.line(
            "FAILED",
            &format!("{} draws gave no answer; they are named at the end", answer.failed.len()),
        );
    }
    page.line("unknowns drawn", &format!("{} rates and figures of ingredients", answer.unknowns_drawn));
    page.line("run", &format!("{} days from {}", answer.days, answer.start));
    let enough = match (answer.settled, answer.draws_to_settle) {
        (true, _) => "no: every mean and chance is settled".to_owned(),
        (false, Some(draws)) => {
            format!(
                "yes: about {} draws would settle all; not settled: {}",
                rounded(draws as f64, 2),
                unsettled(answer)
            )
        }
        (false, None) => format!("yes; not settled: {}", unsettled(answer)),
    };
    page.line("would more draws change it", &enough);
}

fn gaps(missing: &[(u64, u64)]) -> String {
    let told = missing
        .iter()
        .take(MOST_GAPS)
        .map(|(from, to)| if to - from == 1 { from.to_string() } else { format!("{from} to {}", to - 1) });
    let mut told: Vec<String> = told.collect();
    if missing.len() > MOST_GAPS {
        told.push(format!("and {} more gaps", missing.len() - MOST_GAPS));
    }
    told.join(", ")
}

/// What is not settled, the first few by name.
fn unsettled(answer: &UncertaintyAnswer) -> String {
    let figures = answer.figures.iter().filter(|f| !f.is_settled()).map(|f| f.name);
    let failures = answer.failures.iter().filter(|f| !f.settled).map(|f| f.name);
    let all: Vec<&str> = figures.chain(failures).collect();
    let named = all[..all.len().min(MOST_UNSETTLED)].join(", ");
    match all.len().checked_sub(MOST_UNSETTLED) {
        Some(more) if more > 0 => format!("{named} and {more} more"),
        _ => named,
    }
}

/// When a failure counts, with its temperature in the units asked for.
pub(in crate::report) fn statement(failure: &FailureChance, units: Units) -> String {
    let mut words: Vec<String> = failure.statement.split(' ').map(str::to_owned).collect();
    for n in 1..words.len() {
        if words[n] == "°C"
            && let Ok(degrees) = words[n - 1].parse()
        {
            words[n - 1] = told(Kind::Temperature, degrees, units);
            words[n] = String::new();
        }
    }
    words.retain(|word| !word.is_empty());
    words.join(" ")
}

/// Chances of failures with their intervals.
pub(in crate::report) fn chances(page: &mut Page, answer: &UncertaintyAnswer) {
    page.heading("Chance of each failure");
    let columns = vec![
        Column::words("failure"),
        right("draws"),
        Column::of("chance", Kind::Share),
        Column::of("at least", Kind::Share),
        Column::of("at most", Kind::Share),
        Column::words("central run"),
    ];
    let mut table = Table::new("", columns);
    for f in &answer.failures {
        let central = if f.in_central_run { "fails" } else { "-" };
        table.push(vec![
            statement(f, page.units()).into(),
            if f.draws < answer.answered {
                format!("{} of {}", f.count, f.draws)
            } else {
                f.count.to_string()
            }
            .into(),
            f.share.into(),
            f.low.into(),
            f.high.into(),
            central.into(),
        ]);
    }
    page.table(&table);
    page.paragraph("At least and at most: 95 % interval (Wilson).");
}

pub(in crate::report) fn figures(page: &mut Page, answer: &UncertaintyAnswer) {
    let units = page.units();
    page.heading("Totals and quality");
    let names = ["5 %", "50 %", "95 %", "mean", "+-", "central run"];
    let mut columns = vec![Column::words("figure"), Column::words("unit")];
    columns.extend(names.map(right));
    let mut table = Table::new("", columns);
    for f in &answer.figures {
        let cell = |value: f64| Cell::from(shown(f.name, f.unit, value, units));
        let mut row: Vec<Cell> = vec![f.what.into(), shown_unit(f.name, f.unit, units).into()];
        if let Some(spread) = &f.spread {
            let [low, _, middle, _, high] = spread.quantiles;
            row.extend([low, middle, high, spread.mean].map(cell));
            let half = spread.mean_interval.high.map(|high| high - spread.mean);
            row.push(half_width(f.name, f.unit, half, units));
        } else {
            row.extend([const { Cell::Empty }; 5]);
        }
        row.push(f.central.map_or(Cell::Empty, cell));
        table.push(row);
    }
    page.table(&table);
    absent(page, answer);
    let first = answer.figures.first().and_then(|f| f.spread.as_ref());
    let blocks = first.map(|spread| spread.standard_error_from) == Some(ErrorRule::BlockMeans);
    page.paragraph(if blocks {
        "+-: half the 95 % interval of the mean, from the means of full blocks of 250 draws."
    } else {
        "+-: half the 95 % interval of the mean as if draws were independent; they are stratified, so it is too wide rather than too narrow."
    });
    page.paragraph(
        "The central run has every rate at its central value, the intake and weather of the season and no luck; it need not lie in the middle of the draws.",
    );
}

/// Says which figures some draws do not have, those of as many draws together.
fn absent(page: &mut Page, answer: &UncertaintyAnswer) {
    let mut counts: Vec<usize> =
        answer.figures.iter().map(|f| f.draws).filter(|n| *n < answer.answered).collect();
    counts.sort_unstable();
    counts.dedup();
    for count in counts {
        let names: Vec<&str> = answer.figures.iter().filter(|f| f.draws == count).map(|f| f.what).collect();
        page.item(
            "- ",
            &format!(
                "{}: over the {count} of {} draws that have it; in the others there is nothing to measure",
                names.join(", "),
                answer.answered
            ),
        );
    }
}

/// Half a width: a difference, so temperatures lose their zero.
fn half_width(name: &str, unit: &str, half: Option<f64>, units: Units) -> Cell {
    let Some(half) = half else { return Cell::Empty };
    let at = |value: f64| kind_of(name, unit).map_or(value, |kind| in_column_unit(kind, value, units));
    let half = at(half) - at(0.0);
    if half >= BEYOND_SENSE { written(half).into() } else { rounded(half, 2).into() }
}

fn bands(page: &mut Page, series: &SeriesBands) {
    let units = page.units();
    let unit = shown_unit(series.name, series.unit, units);
    let title = format!(
        "{}{}",
        series.name.replace('_', " "),
        if unit.is_empty() { String::new() } else { format!(", {unit}") }
    );
    let mut columns = vec![Column::words("date")];
    columns.extend(["5 %", "25 %", "50 %", "75 %", "95 %"].map(right));
    let mut table = Table::new(&title, columns);
    // evenly over the run, the last day always among them
    let last = series.days.len().saturating_sub(1);
    let rows = BAND_ROWS.min(series.days.len());
    for n in 0..rows {
        let day = &series.days[if rows > 1 { n * last / (rows - 1) } else { last }];
        let mut row: Vec<Cell> = vec![day.date.to_string().into()];
        row.extend(day.quantiles.map(|value| Cell::from(shown(series.name, series.unit, value, units))));
        table.push(row);
    }
    page.table(&table);
}

fn failed(page: &mut Page, answer: &UncertaintyAnswer) {
    if answer.failed.is_empty() {
        return;
    }
    page.heading("Draws that failed");
    page.paragraph(&format!(
        "{} of {} draws gave no answer and are in no figure above. Rerun one alone with the arguments given.",
        answer.failed.len(),
        answer.answered + answer.failed.len()
    ));
    for failed in answer.failed.iter().take(MOST_FAILED) {
        page.item(
            "- ",
            &format!(
                "draw {} of seed {}: {}; loamledger run FILE {}",
                failed.draw, failed.seed, failed.message, failed.rerun
            ),
        );
    }
    if answer.failed.len() > MOST_FAILED {
        page.item(
            "- ",
            &format!("and {} more; uncertainty.json names all", answer.failed.len() - MOST_FAILED),
        );
    }
}

/// What is said of a shard, as a page of text: which draws it holds. No figure comes of a part alone, but for a single draw, which is how
/// one is looked at.
pub fn shard_text(shard: &Shard) -> String {
    let (head, made) = (&shard.head, &shard.ensemble);
    let mut page = Page::new(Units::Si);
    page.heading(&format!("Shard: {}", head.name));
    let numbers = gaps(&[(made.from, made.to)]);
    page.line("draws", &format!("{numbers} of {}, seed {}", head.draws, head.seed));
    page.line("with figures", &made.rows.len().to_string());
    if made.is_partial() {
        page.line("PARTIAL", "ended before all its draws were made");
    }
    for failed in &made.failed {
        page.line("FAILED", &format!("draw {}: {}", failed.draw, failed.message));
    }
    for (name, value) in TABLE.iter().zip(first_of_one(shard)) {
        let told = value.map_or_else(
            || "none".to_owned(),
            |value| {
                let unit = shown_unit(name.name, name.unit, Units::Si);
                format!("{} {unit}", shown(name.name, name.unit, value, Units::Si))
            },
        );
        page.line(name.name, told.trim_end());
    }
    page.line("next", "loamledger merge SHARD... --out DIR");
    page.into_text()
}

/// The figures of a shard of a single draw, which is how one is looked at alone.
fn first_of_one(shard: &Shard) -> &[Option<f64>] {
    match shard.ensemble.rows.as_slice() {
        [row] => &row.figures,
        _ => &[],
    }
}
