//! The sheets of a run whose unknowns were drawn.

use super::sheet::{Field, Sheet, Value};
use crate::quantity::{Kind, Units};
use crate::report::number::in_column_unit;
use crate::report::pages::uncertainty::{kind_of, shown_unit, statement};
use crate::report::table::Measure;
use crate::study::uncertainty::UncertaintyAnswer;

/// Names of the quantiles.
const QUANTILES: [&str; 5] = ["5 %", "25 %", "50 %", "75 %", "95 %"];

/// The sheets in the order of their tabs.
pub(super) fn sheets(study: &UncertaintyAnswer, units: Units) -> [Sheet; 3] {
    [totals(study, units), chances(study, units), bands(study)]
}

/// Rows have units of their own, so numbers are put in the reader's here.
fn totals(study: &UncertaintyAnswer, units: Units) -> Sheet {
    let mut fields = vec![Field::words("figure"), Field::words("unit")];
    let number = |name: &str| Field::plain(name, "as told beside");
    fields.extend(["central run", "mean"].map(number));
    fields.extend(QUANTILES.map(number));
    let rows = study.figures.iter().map(|figure| {
        let spread = figure.spread.as_ref();
        let kind = kind_of(figure.name, figure.unit);
        let shown = |value: Option<f64>| {
            Value::from(value.map(|v| kind.map_or(v, |kind| in_column_unit(kind, v, units))))
        };
        let unit = shown_unit(figure.name, figure.unit, units);
        let mut row = vec![figure.what.into(), if unit.is_empty() { "1" } else { unit }.into()];
        row.extend([figure.central, spread.map(|s| s.mean)].map(shown));
        row.extend((0..QUANTILES.len()).map(|q| shown(spread.map(|s| s.quantiles[q]))));
        row
    });
    Sheet {
        name: "Totals",
        about: "Totals and quality over the draws: a share of the draws lies below each quantile.".to_owned(),
        fields,
        kept: 2,
        rows: rows.collect(),
    }
}

fn chances(study: &UncertaintyAnswer, units: Units) -> Sheet {
    let share = |name| Field::of(name, Kind::Share);
    let rows = study.failures.iter().map(|f| {
        vec![
            statement(f, units).into(),
            (f.count as f64).into(),
            (f.draws as f64).into(),
            f.share.into(),
            f.low.into(),
            f.high.into(),
            if f.in_central_run { "fails" } else { "does not" }.into(),
        ]
    });
    Sheet {
        name: "Chances",
        about: "Chance of each failure, with its 95 % interval (Wilson).".to_owned(),
        fields: vec![
            Field::words("failure"),
            Field::plain("draws", "1"),
            Field::plain("of draws in which it could happen", "1"),
            share("chance"),
            share("at least"),
            share("at most"),
            Field::words("central run"),
        ],
        kept: 1,
        rows: rows.collect(),
    }
}

/// One row a day, five columns a series.
fn bands(study: &UncertaintyAnswer) -> Sheet {
    let mut fields = vec![Field::words("date")];
    for series in &study.bands {
        let measure = kind_of(series.name, series.unit).map_or(Measure::Plain(series.unit), Measure::Of);
        fields.extend(QUANTILES.map(|quantile| Field {
            name: format!("{} {quantile}", series.name.replace('_', " ")),
            measure,
            remark: "",
        }));
    }
    let days = study.bands.first().map_or(&[][..], |series| &series.days[..]);
    let row = |n: usize| {
        let quantiles = study.bands.iter().flat_map(|series| series.days[n].quantiles).map(Value::from);
        [Value::Date(days[n].date)].into_iter().chain(quantiles).collect()
    };
    Sheet {
        name: "Bands",
        about: "Bands by day: half of the draws lie between 25 and 75 %, nine in ten between 5 and 95 %."
            .to_owned(),
        fields,
        kept: 1,
        rows: (0..days.len()).map(row).collect(),
    }
}
