//! The outside checks for people: a table and the grounds of each check by area, and a summary in Markdown.

use crate::literature;
use crate::quantity::Units;
use crate::report::number::rounded;
use crate::report::pages::facts::reference;
use crate::report::pages::page::Page;
use crate::report::table::{Align, Cell, Column, Table};
use crate::verification::{Area, Check, Relation, Verdict, VerificationAnswer};

/// Figures of printed values and ours: as many as the longest print has.
const FIGURES: u32 = 7;
/// Figures of gaps and tolerances.
const GAP_FIGURES: u32 = 2;

const fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Agrees => "agrees",
        Verdict::Differs => "differs",
        Verdict::Broken => "BROKEN",
    }
}

/// The printed value, with its sense where it is a bound.
fn printed(check: &Check) -> String {
    let sense = match check.case.relation {
        Relation::Equal => "",
        Relation::AtLeast => ">= ",
        Relation::AtMost => "<= ",
    };
    format!("{sense}{}", rounded(check.case.printed, FIGURES))
}

/// Name without its area.
fn name(check: &Check) -> &'static str {
    check.case.key.split_once('.').map_or(check.case.key, |(_, name)| name)
}

/// Ours less printed; what is only rounding of the arithmetic is none.
fn gap(check: &Check) -> f64 {
    if check.difference.abs() < 1e-12 * check.case.printed.abs() { 0.0 } else { check.difference }
}

/// How the checks came out, in a line.
fn count(answer: &VerificationAnswer) -> String {
    let of = |verdict| answer.with(verdict).count();
    format!(
        "{} checks: {} agree, {} differ for a stated reason, {} broken",
        answer.checks.len(),
        of(Verdict::Agrees),
        of(Verdict::Differs),
        of(Verdict::Broken)
    )
}

fn figures(answer: &VerificationAnswer, area: Area) -> Table {
    let mut columns = ["check", "printed", "ours", "gap", "tolerance", "unit", ""].map(Column::words);
    for column in &mut columns[1..5] {
        column.align = Align::Right;
    }
    let mut table = Table::new("", columns.into());
    for check in answer.of(area) {
        let row: [Cell; 7] = [
            name(check).into(),
            printed(check).into(),
            rounded(check.case.ours, FIGURES).into(),
            rounded(gap(check), GAP_FIGURES).into(),
            rounded(check.case.tolerance, GAP_FIGURES).into(),
            check.case.unit.into(),
            word(check.verdict).into(),
        ];
        table.push(row.into());
    }
    table
}

/// What each check rests on.
fn grounds(page: &mut Page, answer: &VerificationAnswer, area: Area) {
    for check in answer.of(area) {
        let case = &check.case;
        let differs = case.gap.map_or(String::new(), |gap| format!(" Differs: {}.", gap.reason));
        let told = format!(
            "{}: {}. Tolerance: {}.{differs} Source: {}.",
            name(check),
            case.inputs,
            case.why,
            case.source
        );
        page.item("- ", &told);
    }
}

fn bibliography(page: &mut Page, answer: &VerificationAnswer) {
    page.heading("sources");
    let mut keys: Vec<&str> = answer.checks.iter().map(|check| check.case.source).collect();
    keys.sort_unstable();
    keys.dedup();
    for key in keys {
        page.line(key, &literature::source(key).map_or_else(|| "no reference".to_owned(), reference));
    }
}

/// The answer to *verify* as a page of text: every check by area with its grounds, then the sources.
pub fn verification_text(answer: &VerificationAnswer) -> String {
    let mut page = Page::new(Units::Si);
    page.paragraph(&format!(
        "Loamledger {} against what others have printed, central values. {}.",
        answer.version,
        count(answer)
    ));
    for area in Area::ALL {
        page.heading(area.name());
        page.table(&figures(answer, area));
        grounds(&mut page, answer, area);
    }
    bibliography(&mut page, answer);
    page.into_text()
}

/// How the checks came out by area, and every disagreement with its reason, in Markdown.
pub fn summary_markdown(answer: &VerificationAnswer) -> String {
    let mut areas = Table::new("", ["area", "agree", "differ", "sources"].map(Column::words).into());
    for column in &mut areas.columns[1..] {
        column.align = Align::Right;
    }
    for area in Area::ALL {
        let of = |verdict| answer.of(area).filter(|check| check.verdict == verdict).count().to_string();
        let mut sources: Vec<&str> = answer.of(area).map(|check| check.case.source).collect();
        sources.sort_unstable();
        sources.dedup();
        let row =
            [area.name().to_owned(), of(Verdict::Agrees), of(Verdict::Differs), sources.len().to_string()];
        areas.push(row.map(Cell::Words).into());
    }
    let mut gaps = Table::new("", ["check", "printed", "ours", "unit", "why"].map(Column::words).into());
    for column in &mut gaps.columns[1..3] {
        column.align = Align::Right;
    }
    for check in answer.with(Verdict::Differs) {
        let reason = check.case.gap.map_or("", |gap| gap.reason);
        let ours = rounded(check.case.ours, GAP_FIGURES + 1);
        let row =
            [check.case.key.to_owned(), printed(check), ours, check.case.unit.to_owned(), reason.to_owned()];
        gaps.push(row.map(Cell::Words).into());
    }
    format!("{}.\n\n{}\n{}", count(answer), areas.to_markdown(Units::Si), gaps.to_markdown(Units::Si))
}
