//! The sheets of a run whose unknowns were drawn.

use super::sheet::Sheet;
use crate::quantity::{Kind, Units};
use crate::report::number::in_column_unit;
use crate::report::pages::page::words;
use crate::report::pages::uncertainty::{
    kind_of, shown_unit, sought_bands, sought_failures, sought_figures, statement,
};
use crate::report::pages::verdict::{rule, sentence};
use crate::report::table::{Cell, Column};
use crate::study::uncertainty::{SeriesBands, UncertaintyAnswer};

/// Names of the quantiles.
const QUANTILES: [&str; 5] = ["5 %", "25 %", "50 %", "75 %", "95 %"];

/// The sheets in the order of their tabs.
pub(super) fn sheets(study: &UncertaintyAnswer, units: Units) -> [Sheet; 3] {
    [totals(study, units), chances(study, units), bands(study)]
}

/// Rows have units of their own, so numbers are converted to the reader's units here.
fn totals(study: &UncertaintyAnswer, units: Units) -> Sheet {
    let mut columns = vec![Column::words("figure"), Column::words("unit")];
    columns
        .extend(["best-estimate run", "mean"].iter().chain(&QUANTILES).map(|name| Column::plain(name, "")));
    let rows = sought_figures(study).map(|figure| {
        let spread = figure.spread.as_ref();
        let kind = kind_of(figure.name, figure.unit);
        let shown = |value: Option<f64>| {
            Cell::from(value.map(|v| kind.map_or(v, |kind| in_column_unit(kind, v, units))))
        };
        let mut row: Vec<Cell> = vec![figure.what.into(), shown_unit(figure.name, figure.unit, units).into()];
        row.extend([figure.central, spread.map(|s| s.mean)].map(shown));
        row.extend((0..QUANTILES.len()).map(|q| shown(spread.map(|s| s.quantiles[q]))));
        row
    });
    Sheet::new(
        "Totals",
        "Totals and quality over the draws, each row in its own unit: a share of the draws lies below each quantile.",
        2,
        columns,
        rows,
    )
}

fn chances(study: &UncertaintyAnswer, units: Units) -> Sheet {
    let share = |name| Column::of(name, Kind::Share);
    let columns = [
        Column::words("failure"),
        Column::words("severity"),
        Column::plain("draws", "1"),
        Column::plain("of draws in which it could happen", "1"),
        share("chance"),
        share("low"),
        share("high"),
        Column::words("best-estimate run"),
    ];
    let rows = sought_failures(study).map(|f| {
        vec![
            statement(f.statement, units).into(),
            f.severity.name().into(),
            f.count.into(),
            f.draws.into(),
            f.share.into(),
            f.low.into(),
            f.high.into(),
            if f.in_central_run { "fails" } else { "does not fail" }.into(),
        ]
    });
    let about = format!(
        "Chance of each failure, with its 95 % interval (Wilson). Verdict: {}. {}",
        sentence(&study.verdict, units),
        rule(&study.verdict)
    );
    Sheet::new("Chances", &about, 1, columns, rows)
}

/// One row a day, five columns a series.
fn bands(study: &UncertaintyAnswer) -> Sheet {
    let mut columns = vec![Column::words("date")];
    let bands: Vec<&SeriesBands> = sought_bands(study).collect();
    for series in &bands {
        columns.extend(QUANTILES.map(|quantile| {
            let name = format!("{} {quantile}", words(series.name));
            match kind_of(series.name, series.unit) {
                Some(kind) => Column::of(&name, kind),
                None => Column::plain(&name, series.unit),
            }
        }));
    }
    let days = bands.first().map_or(&[][..], |series| &series.days[..]);
    let row = |n: usize| {
        let quantiles = bands.iter().flat_map(|series| series.days[n].quantiles).map(Cell::from);
        std::iter::once(days[n].date.into()).chain(quantiles).collect()
    };
    Sheet::new(
        "Bands",
        "Bands by day: half of the draws lie between 25 and 75 %, nine in ten between 5 and 95 %.",
        1,
        columns,
        (0..days.len()).map(row),
    )
}
