//! The printed page of a log.

use super::page::Page;
use crate::quantity::{Units, convert, shown_unit};
use crate::report::number::{column_unit, format_figures, format_percent, in_column_unit};
use crate::report::table::{Column, Table};
use crate::scenario::log::{Compared, LogKind, Remark};
use crate::study::log::{LogAnswer, LogComparison};

/// Digits of values.
const DIGITS: u32 = 4;
/// Harvests that are listed.
const LAST_HARVESTS: usize = 4;

/// What was read of a log and the model beside it, as a page of text.
pub fn log_text(answer: &LogAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&format!("Log of {}", answer.name));
    let first = answer.comparisons.iter().map(|c| c.first).min();
    let last = answer.comparisons.iter().map(|c| c.last).max();
    if let (Some(first), Some(last)) = (first, last) {
        page.line("lines used", &format!("{}, from {first} to {last}", answer.lines));
    } else {
        page.line("lines used", "none");
    }
    page.line("lines that are wrong, not used", &answer.wrong.to_string());
    page.line("run of the scenario", &format!("{} days from {}", answer.days, answer.start));
    page.line("program version", answer.version);
    read(answer, &mut page);
    remarks(answer, &mut page);
    against(answer, &mut page);
    page.into_text()
}

fn read(answer: &LogAnswer, page: &mut Page) {
    page.heading("What was read");
    let columns = ["what", "stream", "lines", "first", "last", "used as"].map(Column::words);
    let mut table = Table::new("", columns.to_vec());
    for of in &answer.comparisons {
        table.push(vec![
            of.what.row().word.into(),
            of.stream.as_str().into(),
            of.points.len().to_string().into(),
            of.first.to_string().into(),
            of.last.to_string().into(),
            usage(of).into(),
        ]);
    }
    page.table(&table);
    if !answer.harvests.is_empty() {
        let all = answer.harvests.len();
        let beds = answer
            .harvests
            .iter()
            .rev()
            .take(LAST_HARVESTS)
            .map(|(date, bed)| format!("bed {bed} on {date}"));
        page.line("beds harvested", &format!("{all} times, last {}", beds.collect::<Vec<_>>().join(", ")));
    }
}

const fn usage(of: &LogComparison) -> &'static str {
    match of.what {
        LogKind::CastingsTaken => "day and bed known, mass measured",
        _ if of.known => "known: replaces the plan's",
        _ => "measured",
    }
}

fn remarks(answer: &LogAnswer, page: &mut Page) {
    page.heading("Remarks");
    if answer.remarks.is_empty() {
        page.paragraph("no duplicates, gaps, unusual amounts or dates outside the run");
    }
    for remark in &answer.remarks {
        page.item("- ", &remark_text(remark, page.units()));
    }
}

fn remark_text(remark: &Remark, units: Units) -> String {
    match remark {
        Remark::Duplicate { line, of } => {
            format!(
                "line {line} says the same as line {of} and is left out; if both are right, write their sum or different notes"
            )
        }
        Remark::OutsideRun { line, date } => {
            format!(
                "line {line}: {date} is outside the run of the scenario, and the line is left out; change `start` or `days` to use it"
            )
        }
        Remark::Unusual { line, value, largest } => {
            let kind = crate::quantity::Kind::Mass;
            let [value, largest] = [*value, *largest].map(|mass| {
                let unit = shown_unit(kind, mass, units);
                format!("{} {unit}", format_figures(convert(kind, mass, unit).unwrap_or(mass), DIGITS))
            });
            format!(
                "line {line}: {value} is far above the {largest} that the plan expects at most; it is used, check its unit"
            )
        }
        Remark::Gap { what: None, from, to, days, .. } => {
            format!("no line at all on the {days} days between {from} and {to}")
        }
        Remark::Gap { what: Some(LogKind::ScrapsIn), place, from, to, days } => {
            format!(
                "no scraps of {place} on the {days} days between {from} and {to}, some of them open: nothing is taken to have arrived; write 0 if that is so"
            )
        }
        Remark::Gap { what: Some(kind), from, to, days, .. } => {
            let word = kind.row().word;
            format!(
                "no line of {word} on the {days} days between {from} and {to}: the plan's temperature holds between"
            )
        }
    }
}

fn against(answer: &LogAnswer, page: &mut Page) {
    page.heading("Against the plan");
    page.paragraph(
        "Amounts are totals from the first to the last line of their kind; states and figures of castings are means over the lines. \
         The plan is run twice with best-estimate rates: as it is, and with what the log knows for certain in its place.",
    );
    let mut columns = ["what", "stream", "as", "unit"].map(Column::words).to_vec();
    columns.extend(
        ["log", "plan as it is", "with what is known", "log less that", "typical gap"]
            .map(Column::words_right),
    );
    let mut table = Table::new("", columns);
    let units = page.units();
    for of in &answer.comparisons {
        let kind = of.what.row().quantity;
        let shown = |value: f64| in_column_unit(kind, value, units);
        let text =
            |value: Option<f64>| value.map_or("-".to_owned(), |value| format_figures(shown(value), DIGITS));
        let gap = |value: f64| shown(value) - shown(0.0);
        let less = match (of.compared, of.model) {
            (_, None) => "-".to_owned(),
            (Compared::Sum, Some(model)) if model > 0.0 => {
                signed(&format_percent((of.log / model - 1.0).abs()), of.log - model)
            }
            (_, Some(model)) => signed(&format_figures(gap(of.log - model).abs(), 3), of.log - model),
        };
        table.push(vec![
            of.what.row().word.into(),
            of.stream.as_str().into(),
            (if of.compared == Compared::Sum { "total" } else { "mean" }).into(),
            column_unit(kind, units).into(),
            text(Some(of.log)).into(),
            text(of.plan).into(),
            text(of.model).into(),
            less.into(),
            of.misfit.map_or("-".to_owned(), |misfit| format_figures(gap(misfit), 3)).into(),
        ]);
    }
    page.table(&table);
    page.paragraph("Typical gap: root mean square of log less model over the lines.");
}

fn signed(digits: &str, value: f64) -> String {
    if value < 0.0 { format!("-{digits}") } else { format!("+{digits}") }
}
