//! The checks against published values: a table and the details of each check by area, and a summary in Markdown.

use crate::literature;
use crate::quantity::Units;
use crate::report::number::{format_figures, format_percent};
use crate::report::pages::facts::reference;
use crate::report::pages::page::{Page, capital, words};
use crate::report::table::{Align, Cell, Column, Table};
use crate::verification::{Area, Basis, Check, DRAWS, GapKind, Relation, Verdict, VerificationAnswer};

/// Significant figures of published and computed values: as many as the longest published value has.
const FIGURES: u32 = 7;
/// Significant figures of the ends of a band.
const BAND_FIGURES: u32 = 3;
/// Significant figures of gaps and tolerances.
const GAP_FIGURES: u32 = 2;

fn word(check: &Check) -> &'static str {
    match check.verdict {
        Verdict::Agrees if !check.case.holds() => "in band",
        Verdict::Agrees => "agrees",
        Verdict::Differs => "differs",
        Verdict::Broken => "BROKEN",
    }
}

/// The published value, with its sign of comparison if it is a bound.
fn published(check: &Check) -> String {
    let sense = match check.case.relation {
        Relation::Equal => "",
        Relation::AtLeast => ">= ",
        Relation::AtMost => "<= ",
    };
    format!("{sense}{}", format_figures(check.case.printed, FIGURES))
}

/// Name without its area, in words.
fn name(check: &Check) -> String {
    words(check.case.key.split_once('.').map_or(check.case.key, |(_, name)| name))
}

/// Kind of a gap in words.
const fn kind(of: GapKind) -> &'static str {
    match of {
        GapKind::Contradiction => "published figure contradicts itself or a balance",
        GapKind::NotComparable => "not comparable",
        GapKind::Open => "open",
    }
}

/// 5 and 95 % points over the draws; nothing for a check that is not drawn.
fn band(check: &Check) -> String {
    check.case.band.map_or(String::new(), |ends| {
        let [low, high] = ends.map(|end| format_figures(end, BAND_FIGURES));
        format!("{low} to {high}")
    })
}

/// Computed minus published value; 0 if only rounding differs.
fn gap(check: &Check) -> f64 {
    if check.difference.abs() < 1e-12 * check.case.printed.abs() { 0.0 } else { check.difference }
}

/// The number of checks by outcome: those of the model, then those of plain arithmetic.
fn count(answer: &VerificationAnswer) -> String {
    let of = |basis, verdict| answer.on(basis).filter(|check| check.verdict == verdict).count();
    let gaps = |kind| {
        let differ = answer.on(Basis::Model).filter(|check| check.verdict == Verdict::Differs);
        differ.filter(|check| check.case.gap.is_some_and(|gap| gap.kind == kind)).count()
    };
    let (all, agree) = (answer.on(Basis::Model).count(), of(Basis::Model, Verdict::Agrees));
    let weak = gaps(GapKind::NotComparable) + gaps(GapKind::Contradiction);
    let share = |of: usize| format_percent(agree as f64 / of.max(1) as f64);
    let in_band = answer.with(Verdict::Agrees).filter(|check| !check.case.holds()).count();
    format!(
        "{} checks of the model: {} agree ({in_band} of them only within the band of the draws), {} differ ({} not comparable, {} \
         contradicted by a balance or by their source, {} open): {} agree, {} of those that can be compared. {} of plain arithmetic, such as sums, units and interest: {} agree, {} \
         differ. Broken: {}",
        all,
        agree,
        of(Basis::Model, Verdict::Differs),
        gaps(GapKind::NotComparable),
        gaps(GapKind::Contradiction),
        gaps(GapKind::Open),
        share(all),
        share(all - weak),
        answer.on(Basis::Arithmetic).count(),
        of(Basis::Arithmetic, Verdict::Agrees),
        of(Basis::Arithmetic, Verdict::Differs),
        answer.with(Verdict::Broken).count()
    )
}

fn figures(answer: &VerificationAnswer, area: Area) -> Table {
    let mut columns =
        ["check", "published", "computed", "band", "gap", "tolerance", "unit", ""].map(Column::words);
    for column in &mut columns[1..6] {
        column.align = Align::Right;
    }
    let mut table = Table::new("", columns.into());
    for check in answer.of(area) {
        let row: [Cell; 8] = [
            name(check).into(),
            published(check).into(),
            format_figures(check.case.ours, FIGURES).into(),
            band(check).into(),
            format_figures(gap(check), GAP_FIGURES).into(),
            format_figures(check.case.tolerance, GAP_FIGURES).into(),
            check.case.unit.into(),
            word(check).into(),
        ];
        table.push(row.into());
    }
    table
}

/// Inputs, tolerance and source of each check.
fn details(page: &mut Page, answer: &VerificationAnswer, area: Area) {
    for check in answer.of(area) {
        let case = &check.case;
        let differs =
            case.gap.map_or(String::new(), |gap| format!(" {}: {}.", capital(kind(gap.kind)), gap.reason));
        let text = format!(
            "{}: {}. {}Tolerance: {}.{differs} Source: {}.",
            name(check),
            case.inputs,
            if case.basis == Basis::Arithmetic { "Plain arithmetic. " } else { "" },
            case.why,
            case.source
        );
        page.item("- ", &text);
    }
}

fn bibliography(page: &mut Page, answer: &VerificationAnswer) {
    page.heading("Sources");
    let mut keys: Vec<&str> = answer.checks.iter().map(|check| check.case.source).collect();
    keys.sort_unstable();
    keys.dedup();
    for key in keys {
        page.line(key, &literature::source(key).map_or_else(|| "no reference".to_owned(), reference));
    }
}

/// The answer to *verify* as a page of text: every check by area with its details, then the sources.
pub fn verification_text(answer: &VerificationAnswer) -> String {
    let mut page = Page::new(Units::Si);
    page.paragraph(&format!(
        "Loamledger {} compared with published values, every rate at its best estimate. Checks of beds show the band from 5 to 95 % of \
         {DRAWS} draws of rates and ingredients too; a published value within it agrees. {}.",
        answer.version,
        count(answer)
    ));
    for area in Area::ALL {
        page.heading(&capital(area.name()));
        page.table(&figures(answer, area));
        details(&mut page, answer, area);
    }
    bibliography(&mut page, answer);
    page.into_text()
}

/// The outcome of the checks by area, and every disagreement with its reason, in Markdown.
pub fn summary_markdown(answer: &VerificationAnswer) -> String {
    let mut areas =
        Table::new("", ["area", "agree", "differ", "arithmetic", "sources"].map(Column::words).into());
    for column in &mut areas.columns[1..] {
        column.align = Align::Right;
    }
    for area in Area::ALL {
        let of = |verdict| answer.of(area).filter(|check| check.verdict == verdict).count().to_string();
        let mut sources: Vec<&str> = answer.of(area).map(|check| check.case.source).collect();
        sources.sort_unstable();
        sources.dedup();
        let sums = answer.of(area).filter(|check| check.case.basis == Basis::Arithmetic).count();
        let counts = [of(Verdict::Agrees), of(Verdict::Differs), sums.to_string(), sources.len().to_string()];
        let [agree, differ, sums, sources] = counts;
        let row = [area.name().to_owned(), agree, differ, sums, sources];
        areas.push(row.map(Cell::Words).into());
    }
    let mut gaps = Table::new(
        "",
        ["check", "published", "computed", "band", "unit", "reason"].map(Column::words).into(),
    );
    for column in &mut gaps.columns[1..4] {
        column.align = Align::Right;
    }
    for check in answer.with(Verdict::Differs) {
        let reason =
            check.case.gap.map_or(String::new(), |gap| format!("{}: {}", kind(gap.kind), gap.reason));
        let ours = format_figures(check.case.ours, GAP_FIGURES + 1);
        let row = [
            check.case.key.to_owned(),
            published(check),
            ours,
            band(check),
            check.case.unit.to_owned(),
            reason,
        ];
        gaps.push(row.map(Cell::Words).into());
    }
    format!("{}.\n\n{}\n{}", count(answer), areas.to_markdown(Units::Si), gaps.to_markdown(Units::Si))
}
