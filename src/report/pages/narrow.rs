//! The printed page of *narrow*.

use crate::quantity::Units;
use crate::report::number::{format_decimals, format_figures, format_percent};
use crate::report::pages::page::{Page, words};
use crate::report::table::{Cell, Column, Table};
use crate::verification::Relation;
use crate::verification::narrow::{Coverage, LeftOut, LeftOutCheck, NarrowAnswer, PrintAnswer, RowAnswer};

/// Digits of points of ranges and figures.
const DIGITS: u32 = 3;

/// Ranges after the prints, as a page of text.
pub fn narrow_text(answer: &NarrowAnswer) -> String {
    let mut page = Page::new(Units::Si);
    page.heading("Ranges after the prints");
    page.line("draws", &format!("{}, seed {}", answer.draws, answer.seed));
    page.line(
        "that count",
        &format!("{} (effective number of the weighted draws)", format_figures(answer.effective, 3)),
    );
    let errors = format!(
        "{} in the logarithm of contents (1.4 times that in the logit of losses), {} in that of worms and castings; correlated by {} within a source",
        answer.error.losses, answer.error.worms, answer.within_source
    );
    page.line("error of the model", &errors);
    page.line("program version", answer.version);
    rows(&mut page, answer);
    correlations(&mut page, answer);
    sources(&mut page, answer);
    prints(&mut page, answer);
    left_out(&mut page, answer);
    page.heading("How to read this");
    page.paragraph(
        "Rates and ingredients were drawn from their ranges as printed, each trial was run at each draw, and draws were weighed by the \
         likelihood of what its paper prints. Pull is how far the mean of a row moves, in its standard deviations as printed; left is the standard deviation that remains. A row of which 95 % or \
         more is left keeps its range as printed. Best estimates do not move: they lie within the new ranges, and the pull is less than the \
         choice of prints is worth. Rows of worms are not narrowed: what a trial shows of its worms is not known of those of a site.",
    );
    page.into_text()
}

fn points([low, middle, high]: [f64; 3]) -> String {
    [low, middle, high].map(|number| format_figures(number, DIGITS)).join(" / ")
}

fn signed(number: f64) -> String {
    let text = format_decimals(number, 2);
    if number > 0.0 { format!("+{text}") } else { text }
}

/// Name of a key without its table, in words.
fn row_name(key: &str) -> String {
    words(key.split_once('.').map_or(key, |(_, name)| name))
}

fn rows(page: &mut Page, answer: &NarrowAnswer) {
    page.heading("Rows, 5 / 50 / 95 %");
    let mut columns: Vec<Column> =
        ["row", "as printed", "after the prints", "unit"].map(Column::words).into();
    columns.extend(["pull", "left"].map(Column::words_right));
    columns.push(Column::words(""));
    let mut table = Table::new("", columns);
    for row in &answer.rows {
        let cells: [Cell; 7] = [
            row_name(row.key).into(),
            points(row.before).into(),
            points(row.after).into(),
            row.unit.into(),
            signed(row.pull).into(),
            format_decimals(row.left, 2).into(),
            (if row.is_narrowed() { "narrowed" } else { "as printed" }).into(),
        ];
        table.push(cells.into());
    }
    page.table(&table);
}

fn correlations(page: &mut Page, answer: &NarrowAnswer) {
    page.heading("Rank correlations");
    let mut columns: Vec<Column> = ["row", "with"].map(Column::words).into();
    columns.extend(["as printed", "after"].map(Column::words_right));
    let mut table = Table::new("", columns);
    let narrowed = |key: &str| answer.rows.iter().any(|row: &RowAnswer| row.key == key && row.is_narrowed());
    for pair in answer.correlations.iter().filter(|pair| narrowed(pair.a) && narrowed(pair.b)) {
        let cells: [Cell; 4] = [
            row_name(pair.a).into(),
            row_name(pair.b).into(),
            signed(pair.before).into(),
            signed(pair.after).into(),
        ];
        table.push(cells.into());
    }
    page.table(&table);
}

fn sources(page: &mut Page, answer: &NarrowAnswer) {
    page.heading("Each source alone");
    page.paragraph("How far it moves each row, in standard deviations as printed:");
    let mut columns = vec![Column::words("source")];
    columns.extend(["prints", "draws that count"].map(Column::words_right));
    columns.extend(answer.rows.iter().map(|row| Column::words_right(&short(row.key))));
    let mut table = Table::new("", columns);
    for source in &answer.sources {
        let mut row: Vec<Cell> = vec![
            source.key.into(),
            source.prints.len().to_string().into(),
            format_figures(source.effective, 3).into(),
        ];
        row.extend(source.pulls.iter().map(|pull| Cell::from(signed(*pull))));
        table.push(row);
    }
    page.table(&table);
}

/// Last words of a key, for the head of a narrow column.
fn short(key: &str) -> String {
    let name = row_name(key);
    name.replace("decay rate ", "")
        .replace("hemicellulose and ", "")
        .replace(" rate", "")
        .replace("maximum ", "")
}

fn prints(page: &mut Page, answer: &NarrowAnswer) {
    page.heading("Prints, foretold without their source");
    let of = |coverage: &Coverage| {
        format!(
            "{} of {} within the 5 to 95 % points of the draws, {} within these with the error of model and print, mean log density {}",
            coverage.in_draws,
            coverage.prints,
            coverage.in_band,
            format_decimals(coverage.log_score, 2)
        )
    };
    page.line("as printed", &of(&answer.before));
    page.line("each source left out", &of(&answer.after));
    let mut columns: Vec<Column> = ["print", "source", "published"].map(Column::words).into();
    columns.extend(["5 / 50 / 95 %", "unit", "draws", "with error"].map(Column::words));
    let mut table = Table::new("", columns);
    for source in &answer.sources {
        for print in &source.prints {
            table.push(print_row(source.key, print));
        }
    }
    page.table(&table);
}

fn print_row(source: &'static str, print: &PrintAnswer) -> Vec<Cell> {
    let sense = match print.relation {
        Relation::Equal => "",
        Relation::AtLeast => ">= ",
        Relation::AtMost => "<= ",
    };
    let held = |held: bool| if held { "within" } else { "outside" };
    vec![
        row_name(print.key).into(),
        source.into(),
        format!("{sense}{}", format_figures(print.printed, DIGITS)).into(),
        points(print.foretold.points).into(),
        print.unit.into(),
        held(print.foretold.in_draws).into(),
        held(print.foretold.in_band).into(),
    ]
}

fn left_out(page: &mut Page, answer: &NarrowAnswer) {
    page.heading("Gaps: prints that no rate reaches");
    let gaps = answer.left_out.iter().filter(|one| matches!(one.why, LeftOut::OutOfReach { .. }));
    let mut none = true;
    for gap in gaps {
        none = false;
        page.item("- ", &format!("{} ({}): {}", row_name(gap.key), gap.source, reason(gap)));
    }
    if none {
        page.paragraph("None among those that were compared.");
    }
    page.heading("Left out");
    for one in answer.left_out.iter().filter(|one| !matches!(one.why, LeftOut::OutOfReach { .. })) {
        page.item("- ", &format!("{} ({}): {}", row_name(one.key), one.source, reason(one)));
    }
}

fn reason(check: &LeftOutCheck) -> String {
    match &check.why {
        LeftOut::Arithmetic => "a sum, or derived here".to_owned(),
        LeftOut::NoScale => "a bound at 0".to_owned(),
        LeftOut::Site => "castings of a worked site beside castings in general".to_owned(),
        LeftOut::Contradicted => "contradicts a balance or its source".to_owned(),
        LeftOut::NotComparable => "of another species, feed, basis or method".to_owned(),
        LeftOut::OneSided { reason } => format!("one-sided: {reason}"),
        LeftOut::Circular { rate } => format!("its source set the range of {rate}"),
        LeftOut::OutOfReach { far, above } => format!(
            "{} of the draws lie more than 3 errors {} it: a gap of the model's form or of the print",
            format_percent(*far),
            if *above { "above" } else { "below" }
        ),
        LeftOut::NoBearing { most } => {
            format!("rank correlation with these rows at most {}", format_decimals(*most, 2))
        }
        LeftOut::Refused => "its source alone moves a row by more than a standard deviation".to_owned(),
    }
}
