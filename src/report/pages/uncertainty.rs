//! The page of *run --draws*.

use crate::monte_carlo::ensemble::KeptFigure;
use crate::monte_carlo::shard::Shard;
use crate::monte_carlo::summary::ErrorRule;
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, format_figures, format_in_column, format_quantity, in_column_unit};
use crate::report::pages::page::{Page, words};
use crate::report::pages::verdict;
use crate::report::table::{Cell, Column, Table};
use crate::study::uncertainty::{FailureChance, FigureSpread, SeriesBands, UncertaintyAnswer};
use crate::trace::failures::FAILURES;
use crate::trace::figures::{SETTLED, TABLE, is_of_drums};

/// Significant figures of a number: a thousand draws give no more.
const FIGURES: u32 = 3;
/// Rows of a table of bands.
const BAND_ROWS: usize = 13;
/// Most failed draws listed.
const MOST_FAILED: usize = 10;
/// Most unsettled figures listed.
const MOST_UNSETTLED: usize = 6;
/// Most gaps listed.
const MOST_GAPS: usize = 8;

/// Figures that are shares although their names do not say so.
const SHARES: [&str; 8] = [
    "bed_moisture",
    "castings_moisture",
    "castings_nitrogen",
    "castings_nitrate_nitrogen",
    "castings_ammonium_nitrogen",
    "castings_carbon",
    "castings_phosphate",
    "castings_potash",
];

/// The kind of a figure by its unit and name; None if it is shown as it is.
pub(in crate::report) fn kind_of(name: &str, unit: &str) -> Option<Kind> {
    let name = name.strip_prefix("settled_").unwrap_or(name);
    let share = name.ends_with("_share") || SHARES.contains(&name);
    match unit {
        "kg" => Some(Kind::Mass),
        "kg/d" => Some(Kind::MassRate),
        "kg/(kg d)" => Some(Kind::Ration),
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
    match kind_of(name, unit) {
        Some(kind) => format_in_column(kind, value, FIGURES, units),
        None => format_figures(value, FIGURES),
    }
}

/// A name with its unit after a comma, if it has one.
pub(in crate::report) fn with_unit(name: &str, unit: &str) -> String {
    if unit.is_empty() { name.to_owned() } else { format!("{name}, {unit}") }
}

/// The answer to *run* with draws as a page of text: chances, spreads, bands, failed draws.
pub fn uncertainty_text(answer: &UncertaintyAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&format!("Uncertainty: {}", answer.name));
    draws(&mut page, answer);
    chances(&mut page, answer);
    figures(&mut page, answer);
    page.heading("Ranges by day");
    page.paragraph(
        "Half of the draws lie between 25 and 75 %, nine in ten between 5 and 95 %. bands.csv has every day.",
    );
    for series in sought_bands(answer) {
        bands(&mut page, series);
    }
    failed(&mut page, answer);
    page.into_text()
}

/// How many draws were made, of what, and whether they suffice.
pub(in crate::report) fn draws(page: &mut Page, answer: &UncertaintyAnswer) {
    page.line("draws", &format!("{} of {}, seed {}", answer.answered, answer.draws, answer.seed));
    if answer.partial {
        page.line("PARTIAL", &format!("missing: draws {}", gaps(&answer.missing)));
    }
    if !answer.failed.is_empty() {
        page.line(
            "FAILED",
            &format!("{} draws gave no answer; they are listed at the end", answer.failed.len()),
        );
    }
    page.explain_draw();
    page.line("unknowns", &format!("{} rates and ingredient figures", answer.unknowns_drawn));
    page.line("run", &format!("{} days from {}", answer.days, answer.start));
    let enough = match (answer.settled, answer.draws_to_settle) {
        (true, _) => "no: every mean and chance is settled".to_owned(),
        (false, Some(draws)) => {
            format!(
                "yes: about {} draws would settle all; not settled: {}",
                format_figures(draws as f64, 2),
                unsettled(answer)
            )
        }
        (false, None) => format!("yes; not settled: {}", unsettled(answer)),
    };
    page.line("more draws needed", &enough);
}

fn gaps(missing: &[(u64, u64)]) -> String {
    let shown = missing
        .iter()
        .take(MOST_GAPS)
        .map(|(from, to)| if to - from == 1 { from.to_string() } else { format!("{from} to {}", to - 1) });
    let mut shown: Vec<String> = shown.collect();
    if missing.len() > MOST_GAPS {
        shown.push(format!("and {} more gaps", missing.len() - MOST_GAPS));
    }
    shown.join(", ")
}

/// What is not settled, the first few by name.
fn unsettled(answer: &UncertaintyAnswer) -> String {
    let figures = answer.figures.iter().filter(|f| !f.is_settled()).map(|f| f.what);
    let failures = answer.failures.iter().filter(|f| !f.settled).map(|f| f.statement);
    let all: Vec<&str> = figures.chain(failures).collect();
    let named = all[..all.len().min(MOST_UNSETTLED)].join(", ");
    match all.len().checked_sub(MOST_UNSETTLED) {
        Some(more) if more > 0 => format!("{named} and {more} more"),
        _ => named,
    }
}

/// When a failure counts, with its temperature in the units asked for.
pub(in crate::report) fn statement(failure: &str, units: Units) -> String {
    let mut words: Vec<String> = failure.split(' ').map(str::to_owned).collect();
    for n in 1..words.len() {
        if words[n] == "°C"
            && let Ok(degrees) = words[n - 1].parse()
        {
            words[n - 1] = format_quantity(Kind::Temperature, degrees, units);
            words[n] = String::new();
        }
    }
    words.retain(|word| !word.is_empty());
    words.join(" ")
}

/// Chances of failures with their intervals.
pub(in crate::report) fn chances(page: &mut Page, answer: &UncertaintyAnswer) {
    page.heading("Verdict, and chance of each failure");
    verdict::verdict(&answer.verdict, page);
    let columns = vec![
        Column::words("failure"),
        Column::words("severity"),
        Column::words_right("draws"),
        Column::of("chance", Kind::Share),
        Column::of("low", Kind::Share),
        Column::of("high", Kind::Share),
        Column::words("best estimate"),
    ];
    let mut table = Table::new("", columns);
    for f in sought_failures(answer) {
        let central = if f.in_central_run { "fails" } else { "-" };
        table.push(vec![
            statement(f.statement, page.units()).into(),
            f.severity.name().into(),
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
    page.paragraph("Low and high: 95 % interval of the chance (Wilson). Best estimate: whether the best-estimate run fails.");
}

/// Every figure with its spread over the draws.
pub(in crate::report) fn figures(page: &mut Page, answer: &UncertaintyAnswer) {
    let units = page.units();
    page.heading("Totals and quality");
    let names = ["5 %", "50 %", "95 %", "mean", "+-", "best estimate"];
    let mut columns = vec![Column::words("figure")];
    columns.extend(names.map(Column::words_right));
    let mut table = Table::new("", columns);
    for f in sought_figures(answer) {
        let cell = |value: f64| Cell::from(shown(f.name, f.unit, value, units));
        let mut row: Vec<Cell> = vec![with_unit(f.what, shown_unit(f.name, f.unit, units)).into()];
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
        "+-: half the 95 % interval of the mean as if draws were independent; they are stratified, so the true interval is rather narrower."
    });
    page.paragraph(
        "Best estimate: the run with every rate at its best estimate, the usual intake and weather of the season and no chance events. It need not lie in the middle of the draws.",
    );
    let outside = outside_band(answer);
    if !outside.is_empty() {
        page.paragraph(&format!(
            "The best estimate lies outside the range of nine in ten draws for: {}. Draws have weather and intake that change from day to \
             day and chance events, which the best estimate has not; extremes and rare events show it first.",
            outside.join(", ")
        ));
    }
}

/// Figures whose best estimate lies below the 5 % or above the 95 % point of the draws.
fn outside_band(answer: &UncertaintyAnswer) -> Vec<&'static str> {
    let is_outside = |f: &&FigureSpread| match (&f.spread, f.central) {
        (Some(spread), Some(central)) => central < spread.quantiles[0] || central > spread.quantiles[4],
        _ => false,
    };
    answer.figures.iter().filter(is_outside).map(|f| f.what).collect()
}

/// Figures that are sought: those of drums are not on a site without drums, those of the settled year not in a run of less than a
/// year.
pub(in crate::report) fn sought_figures(answer: &UncertaintyAnswer) -> impl Iterator<Item = &FigureSpread> {
    let drums = answer.uses_drums();
    answer.figures.iter().filter(move |f| {
        let later = !f.name.starts_with(SETTLED) || f.draws > 0 || f.central.is_some();
        later && (drums || !is_of_drums(f.name))
    })
}

/// Failures that are sought: those of drums are not on a site without drums.
pub(in crate::report) fn sought_failures(answer: &UncertaintyAnswer) -> impl Iterator<Item = &FailureChance> {
    let drums = answer.uses_drums();
    let is_of_drums =
        |f: &FailureChance| FAILURES.iter().any(|known| known.name == f.name && known.is_of_drums());
    answer.failures.iter().filter(move |f| drums || !is_of_drums(f))
}

/// Bands that are sought: that of drums is not on a site without drums.
pub(in crate::report) fn sought_bands(answer: &UncertaintyAnswer) -> impl Iterator<Item = &SeriesBands> {
    let drums = answer.uses_drums();
    answer.bands.iter().filter(move |series| drums || series.name != "drums_in_use")
}

/// Says which figures some draws do not have, grouped by the number of draws that have them.
fn absent(page: &mut Page, answer: &UncertaintyAnswer) {
    let mut counts: Vec<usize> =
        sought_figures(answer).map(|f| f.draws).filter(|n| *n < answer.answered).collect();
    counts.sort_unstable();
    counts.dedup();
    for count in counts {
        let names = sought_figures(answer).filter(|f| f.draws == count).map(|f| f.what);
        let names: Vec<&str> = names.collect();
        page.item(
            "- ",
            &format!("{}: from the {count} of {} draws that have a value", names.join(", "), answer.answered),
        );
    }
}

/// Half the width of an interval: a difference, so the zero of the temperature scale does not count.
fn half_width(name: &str, unit: &str, half: Option<f64>, units: Units) -> Cell {
    let Some(half) = half else { return Cell::Empty };
    let at = |value: f64| kind_of(name, unit).map_or(value, |kind| in_column_unit(kind, value, units));
    let half = at(half) - at(0.0);
    format_figures(half, 2).into()
}

fn bands(page: &mut Page, series: &SeriesBands) {
    let units = page.units();
    let unit = shown_unit(series.name, series.unit, units);
    let title = with_unit(&words(series.name), unit);
    let mut columns = vec![Column::words("date")];
    columns.extend(["5 %", "25 %", "50 %", "75 %", "95 %"].map(Column::words_right));
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
    page.heading("Failed draws");
    page.paragraph(&format!(
        "{} of {} draws gave no answer and are left out of every figure above. Each can be rerun alone with the arguments shown.",
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
            &format!("and {} more; uncertainty.json lists all", answer.failed.len() - MOST_FAILED),
        );
    }
}

/// A shard as a page of text: the draws it holds. Figures are shown only for a shard of a single draw.
pub fn shard_text(shard: &Shard) -> String {
    let (head, made) = (&shard.head, &shard.ensemble);
    let mut page = Page::new(Units::Si);
    page.heading(&format!("Partial result: {}", head.name));
    let numbers = gaps(&[(made.from, made.to)]);
    page.line("draws", &format!("{numbers} of {}, seed {}", head.draws, head.seed));
    page.line("draws with figures", &made.rows.len().to_string());
    if made.is_partial() {
        page.line("PARTIAL", "stopped before all its draws were made");
    }
    for failed in &made.failed {
        page.line("FAILED", &format!("draw {}: {}", failed.draw, failed.message));
    }
    for (name, figure) in TABLE.iter().zip(first_of_one(shard)) {
        let text = figure.value().map_or_else(
            || "no value".to_owned(),
            |value| {
                let unit = shown_unit(name.name, name.unit, Units::Si);
                format!("{} {unit}", shown(name.name, name.unit, value, Units::Si))
            },
        );
        page.line(name.what, text.trim_end());
    }
    page.line("next", "loamledger merge SHARD... --out DIR");
    page.into_text()
}

/// The figures of a shard of a single draw; none for more draws.
fn first_of_one(shard: &Shard) -> &[KeptFigure] {
    match shard.ensemble.rows.as_slice() {
        [row] => &row.figures,
        _ => &[],
    }
}
