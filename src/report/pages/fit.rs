//! The printed page of a fit.

use crate::quantity::{Kind, Units};
use crate::report::chart::month_name;
use crate::report::number::{column_unit, format_decimals, format_figures, format_percent, in_column_unit};
use crate::report::pages::page::{Page, capital, key_words};
use crate::report::table::{Cell, Column, Table};
use crate::scenario::log::LogKind;
use crate::study::fit::answer::{FitAnswer, FitVerdict, ForecastFit, KindFit, Misfit};

/// Digits of values.
const DIGITS: u32 = 3;
/// Most unknowns shown; the file has all.
const MOST_SHOWN: usize = 15;
/// Share of the spread above which nothing was learnt about an unknown. Source: our choice.
const LEARNT: f64 = 0.9;
/// Standard deviations of its range by which an unknown moves to an end of it.
const AT_AN_END: f64 = 1.645;

/// Kinds in words, in a row.
pub fn kind_words(kinds: &[LogKind]) -> String {
    kinds.iter().map(|kind| kind.row().word).collect::<Vec<_>>().join(", ")
}

/// A fit as a page of text.
pub fn fit_text(answer: &FitAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&format!("{} fitted to its log", answer.name));
    let left_out = match answer.left_out {
        0 => String::new(),
        n => format!("; {n} left out, as the model has no figure beside them in many runs"),
    };
    page.line("lines of the log", &format!("{}, until {}", answer.lines, answer.until));
    page.line("measurements made of them", &format!("{}{left_out}", answer.measurements));
    page.line(
        "fitted",
        &format!(
            "{} sites in {} steps, from {} draws, seed {}",
            answer.members, answer.steps, answer.prior, answer.seed
        ),
    );
    page.line("program version", answer.version);
    page.heading("Verdict");
    page.paragraph(&verdict(answer));
    if let Some(doubt) = doubt(answer) {
        page.paragraph(&doubt);
    }
    forecasts(answer, &mut page);
    unknowns(answer, &mut page);
    kinds(answer, &mut page);
    uses(answer, &mut page);
    page.into_text()
}

/// The verdict in words.
fn verdict(answer: &FitAnswer) -> String {
    let reached = "The model reaches the log within its errors";
    match &answer.verdict {
        FitVerdict::Reached if answer.forecasts.is_empty() => {
            format!(
                "{reached}. The run of the scenario ends with the log, so there is no forecast: make `days` longer to have one."
            )
        }
        FitVerdict::Reached => format!("{reached}, and the forecast is narrower than before."),
        FitVerdict::TooThin => format!(
            "{reached}, but the log is too thin: no forecast is narrower by a tenth. The last table says which kinds would narrow it."
        ),
        FitVerdict::NotReached { kinds } => {
            let of = answer.kinds.iter().filter(|kind| kinds.contains(&kind.what)).map(lean);
            let at_ends: Vec<String> = (answer.unknowns.iter())
                .filter(|unknown| unknown.moved.abs() > AT_AN_END)
                .take(3)
                .map(|unknown| key_words(unknown.key))
                .collect();
            let ends = if at_ends.is_empty() {
                String::new()
            } else {
                format!(" Unknowns at an end of their range: {}.", at_ends.join("; "))
            };
            format!(
                "The model cannot reach the log within the ranges of the unknowns, so it is not fitted and no fitted.json is written. \
                 Where: {}.{ends} The log may be wrong there, the site may be otherwise than the scenario says, or the model may be.",
                of.collect::<Vec<_>>().join("; ")
            )
        }
    }
}

/// What of a fit that is kept is in doubt.
fn doubt(answer: &FitAnswer) -> Option<String> {
    let words: Vec<String> = answer
        .in_doubt()
        .map(|kind| {
            let [nearest, limit] = [kind.misfit.nearest, kind.misfit.limit].map(|x| format_figures(x, 2));
            format!("{} ({nearest}, limit {limit})", kind.what.row().word)
        })
        .collect();
    (!words.is_empty()).then(|| {
        format!(
            "In doubt: {}. The sites differ widely there, and hardly one comes near the log. Either luck made the difference, as where drums \
             pile up, or something is wrong that no unknown covers: check the scales, and how full drums are.",
            words.join("; ")
        )
    })
}

fn lean(kind: &KindFit) -> String {
    let word = kind.what.row().word;
    let misfit = format_figures(kind.misfit.beyond, 2);
    let limit = format_figures(kind.misfit.limit, 2);
    let side = match kind.lean {
        lean if lean > 0.5 => ", the log is higher than the model",
        lean if lean < -0.5 => ", the log is lower than the model",
        _ => "",
    };
    format!("{word} (misfit {misfit}, limit {limit}{side})")
}

fn forecasts(answer: &FitAnswer, page: &mut Page) {
    if answer.forecasts.is_empty() {
        return;
    }
    page.heading(&format!(
        "Forecast of the {} days after {} {} {}",
        answer.forecast_days,
        answer.until.day(),
        month_name(answer.until),
        answer.until.year()
    ));
    let unit = column_unit(Kind::Mass, page.units());
    let mut columns = vec![Column::words(&format!("figure, {unit}"))];
    columns.extend(
        ["before: 5 %", "50 %", "95 %", "after: 5 %", "50 %", "95 %", "width left"].map(Column::words_right),
    );
    let mut table = Table::new("", columns);
    for forecast in &answer.forecasts {
        let mut row: Vec<Cell> = vec![forecast.what.into()];
        row.extend(masses(forecast, page.units()));
        row.push(format_percent(forecast.width_left).into());
        table.push(row);
    }
    page.table(&table);
    page.paragraph("Nine sites in ten lie between the 5 % and the 95 % points. Weather and intake after the log are drawn in both.");
}

fn masses(forecast: &ForecastFit, units: Units) -> Vec<Cell> {
    let points = forecast.before.iter().chain(&forecast.after);
    points.map(|value| format_figures(in_column_unit(Kind::Mass, *value, units), DIGITS).into()).collect()
}

fn unknowns(answer: &FitAnswer, page: &mut Page) {
    page.heading("What the log taught about the unknowns");
    let learnt = answer.unknowns.iter().filter(|unknown| unknown.left < LEARNT);
    let mut columns = vec![Column::words("unknown"), Column::words("unit")];
    columns.extend(
        ["before: 5 %", "50 %", "95 %", "after: 5 %", "50 %", "95 %", "spread left"].map(Column::words_right),
    );
    let mut table = Table::new("", columns);
    for unknown in learnt.clone().take(MOST_SHOWN) {
        let mut row: Vec<Cell> = vec![key_words(unknown.key).into(), unknown.unit.into()];
        row.extend(
            unknown.before.iter().chain(&unknown.after).map(|x| Cell::from(format_figures(*x, DIGITS))),
        );
        row.push(format_percent(unknown.left).into());
        table.push(row);
    }
    let count = learnt.count();
    let all = answer.unknowns.len();
    page.paragraph(&match count {
        0 => format!("None of {all} unknowns is known better by a tenth of its spread."),
        _ => format!("{count} of {all} unknowns are known better by a tenth of their spread or more; the others keep theirs."),
    });
    page.table(&table);
}

fn kinds(answer: &FitAnswer, page: &mut Page) {
    page.heading("Log and model");
    let mut columns = vec![Column::words("what")];
    columns.extend(
        [
            "measurements",
            "error of a reading",
            "of the model",
            "misfit before",
            "after",
            "beyond the sites",
            "nearest sites",
            "limit",
            "log is",
        ]
        .map(Column::words_right),
    );
    let mut table = Table::new("", columns);
    for kind in &answer.kinds {
        let error = |error: f64| error_text(kind, error, page.units());
        let side = match kind.lean {
            lean if lean > 0.5 => "higher",
            lean if lean < -0.5 => "lower",
            _ => "alike",
        };
        let mut row: Vec<Cell> = vec![kind.what.row().word.into(), kind.measurements.to_string().into()];
        row.extend([error(kind.reading_error), error(kind.model_error)].map(Cell::from));
        row.extend(misfit_cells(&kind.misfit));
        row.push(side.into());
        table.push(row);
    }
    let mut row: Vec<Cell> =
        vec!["all".into(), answer.measurements.to_string().into(), Cell::Empty, Cell::Empty];
    row.extend(misfit_cells(&answer.misfit));
    table.push(row);
    page.table(&table);
    page.paragraph(
        "Misfit: mean square of log less the mean of the sites, over the error of both; about 1 where they agree. Beyond the sites: \
         the same over error and spread of the sites together. Nearest sites: that of single sites, of which one in ten is nearer. One log in a \
         thousand that the model can reach exceeds the limit. Errors are one standard deviation, assumed unless `rates` of the scenario sets them \
         (log.reading_error_..., log.model_error_...); beds whose room was not read have its weather as a further error. Lines of a week, and amounts of four weeks, are one measurement.",
    );
}

fn misfit_cells(misfit: &Misfit) -> [Cell; 5] {
    [misfit.before, misfit.after, misfit.beyond, misfit.nearest, misfit.limit]
        .map(|x| Cell::from(format_figures(x, 2)))
}

/// An error in the unit of its kind, or as a part of the value.
fn error_text(kind: &KindFit, error: f64, units: Units) -> String {
    if kind.relative {
        return format_percent(error);
    }
    let quantity = kind.what.row().quantity;
    let difference = in_column_unit(quantity, error, units) - in_column_unit(quantity, 0.0, units);
    format!("{} {}", format_figures(difference, 2), column_unit(quantity, units)).trim_end().to_owned()
}

fn uses(answer: &FitAnswer, page: &mut Page) {
    if answer.forecasts.is_empty() {
        return;
    }
    page.heading("What each kind does for the forecast");
    let mut columns = vec![Column::words("what")];
    for forecast in &answer.forecasts {
        let name = capital(forecast.name);
        columns.push(Column::words_right(&format!("{name}: alone")));
        columns.push(Column::words_right("without it"));
    }
    let mut table = Table::new("", columns);
    for kind in &answer.kinds {
        let mut row: Vec<Cell> = vec![kind.what.row().word.into()];
        for left in &kind.left {
            row.extend([left.alone, left.without].map(|share| Cell::from(format_decimals(share, 2))));
        }
        table.push(row);
    }
    page.table(&table);
    page.paragraph(
        "Share of the standard deviation of each forecast that is left: with the measurements of a kind alone, and with all others but \
         without it. Linear estimates from the draws before the fit.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_are_named_as_a_log_names_them() {
        assert_eq!(kind_words(&[LogKind::DrumsInUse, LogKind::OpenedPh]), "drums in use, pH at opening");
    }
}
