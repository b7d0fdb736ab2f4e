//! Charts of a fit: the log against both ensembles, the forecast, and what was learnt.

use super::log::GROUPS;
use super::{
    Body, Chart, ChartLayer, Horizontal, Ink, IntervalPoint, IntervalRow, Intervals, Mark, Panel, Panels,
    format_range, source_of,
};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, format_percent, in_column_unit};
use crate::report::pages::page::{capital, key_words};
use crate::scenario::log::LogKind;
use crate::study::fit::answer::{FitAnswer, FitPoint, ForecastFit, Points};
use jiff::civil::Date;

/// Most panels of a chart, so that each stays legible.
const MOST_PANELS: usize = 4;
/// Most unknowns shown.
const MOST_UNKNOWNS: usize = 15;
/// Days by which a lone measurement is drawn wide, so that its bands are seen.
const LONE: f64 = 2.0;

const BEFORE: &str = "before the fit, 9 in 10";
const AFTER: &str = "after the fit, 9 in 10";

/// Names of the charts of a fit, without ending; of kinds that a log does not have there is none.
pub fn fit_chart_names() -> Vec<&'static str> {
    let groups =
        ["chart_fit_drums", "chart_fit_beds", "chart_fit_beds_2", "chart_fit_worms", "chart_fit_castings"];
    let more = ["chart_fit_castings_2", "chart_fit_castings_3", "chart_fit_forecast", "chart_fit_unknowns"];
    groups.into_iter().chain(more).collect()
}

/// The charts of a fit: the log by groups of kinds, the forecast, and what was learnt.
pub fn fit_charts(answer: &FitAnswer, units: Units) -> Vec<Chart> {
    let mut charts = Vec::new();
    for (file, kinds) in GROUPS {
        let there: Vec<LogKind> =
            answer.kinds.iter().map(|kind| kind.what).filter(|kind| kinds.contains(kind)).collect();
        for (number, part) in there.chunks(MOST_PANELS).enumerate() {
            let file = file.replace("log", "fit");
            let file = if number == 0 { file } else { format!("{file}_{}", number + 1) };
            charts.push(measured(answer, file, part, units));
        }
    }
    if !answer.forecasts.is_empty() {
        charts.push(forecast(answer, units));
    }
    charts.push(unknowns(answer));
    charts
}

fn day(first: Date, date: Date) -> f64 {
    f64::from((date - first).get_days()) + 0.5
}

/// Days from the first to the last, both included.
fn days_to(first: Date, last: Date) -> usize {
    usize::try_from((last - first).get_days() + 1).unwrap_or(1)
}

fn basis(answer: &FitAnswer) -> String {
    format!("{} sites fitted from {} draws, seed {}", answer.members, answer.prior, answer.seed)
}

fn measured(answer: &FitAnswer, file: String, kinds: &[LogKind], units: Units) -> Chart {
    let of = |point: &&FitPoint| kinds.contains(&point.what);
    let first = answer.points.iter().filter(of).map(|point| point.date).min().unwrap_or(answer.start);
    let days = days_to(first, answer.until);
    let farthest = (answer.kinds.iter().filter(|kind| kinds.contains(&kind.what)))
        .max_by(|a, b| a.misfit.part_of_limit().total_cmp(&b.misfit.part_of_limit()));
    let title = farthest.map_or(String::new(), |kind| {
        let word = kind.what.row().word;
        let (misfit, limit) = (kind.misfit.beyond, kind.misfit.limit);
        if kind.misfit.is_reached() {
            format!("All within their limits; nearest to its own is {word}, with a misfit of {misfit:.1} of {limit:.1}.")
        } else {
            format!("Not reached: {word}, with a misfit of {misfit:.1} above its limit of {limit:.1}.")
        }
    });
    Chart {
        file,
        title,
        shows: "Dots: the log, lines of a week as one and amounts of four weeks or more as sums; within the dotted line: two standard \
                deviations of reading and model on either side."
            .to_owned(),
        source: source_of(&answer.name, (first, days), &basis(answer), answer.version),
        body: Body::Panels(Panels {
            x: Horizontal::Dates { first, days: days as f64 },
            panels: kinds.iter().map(|kind| panel(answer, *kind, first, units)).collect(),
        }),
    }
}

/// A band at the days of measurements; one alone gets a little width.
fn band(points: &[(f64, Points)]) -> Mark {
    let edges = |(day, [low, _, high]): &(f64, Points)| (*day, *low, *high);
    match points {
        [only] => {
            let (day, low, high) = edges(only);
            Mark::Area(vec![(day - LONE, low, high), (day + LONE, low, high)])
        }
        _ => Mark::Area(points.iter().map(edges).collect()),
    }
}

fn panel(answer: &FitAnswer, kind: LogKind, first: Date, units: Units) -> Panel {
    let quantity = kind.row().quantity;
    let shown = |value: f64| in_column_unit(quantity, value, units);
    let points: Vec<&FitPoint> = answer.points.iter().filter(|point| point.what == kind).collect();
    let of = |get: fn(&FitPoint) -> Points| {
        points.iter().map(|point| (day(first, point.date), get(point).map(shown))).collect::<Vec<_>>()
    };
    let line = |get: fn(&FitPoint) -> f64| {
        points.iter().map(|point| (day(first, point.date), shown(get(point)))).collect::<Vec<_>>()
    };
    let mut layers = vec![
        ChartLayer::new(BEFORE, Ink::Wide, band(&of(|point| point.before))),
        ChartLayer::new(AFTER, Ink::Narrow, band(&of(|point| point.after))),
    ];
    // along the lower ends and back along the upper ones
    let mut around = line(|point| point.error[0]);
    around.extend(line(|point| point.error[1]).into_iter().rev());
    layers.push(ChartLayer::new("error of the log", Ink::Slate, Mark::Line(around)));
    if points.len() > 1 {
        let middle = line(|point| point.after[1]);
        layers.push(ChartLayer::new("median after", Ink::Night, Mark::Line(middle)));
    }
    layers.push(ChartLayer::new("log", Ink::Ember, Mark::Dots(line(|point| point.log))));
    Panel {
        label: kind.row().word.to_owned(),
        unit: column_unit(quantity, units).to_owned(),
        from_zero: false,
        min_span: 0.0,
        layers,
    }
}

fn forecast(answer: &FitAnswer, units: Units) -> Chart {
    let dates = || answer.forecasts.iter().flat_map(|f| f.curve.iter().map(|day| day.date));
    let first = dates().min().unwrap_or(answer.start);
    let days = dates().max().map_or(1, |last| days_to(first, last));
    Chart {
        file: "chart_fit_forecast".to_owned(),
        title: narrowest(answer, units),
        shows: format!(
            "Live worms from the first day of the run; castings and feed add up after {}, the last day of the log. Lines: medians.",
            super::format_date(answer.until)
        ),
        source: source_of(&answer.name, (first, days), &basis(answer), answer.version),
        body: Body::Panels(Panels {
            x: Horizontal::Dates { first, days: days as f64 },
            panels: answer.forecasts.iter().map(|f| forecast_panel(f, first, units)).collect(),
        }),
    }
}

/// The forecast that is narrowed most.
fn narrowest(answer: &FitAnswer, units: Units) -> String {
    let most = answer.forecasts.iter().min_by(|a, b| a.width_left.total_cmp(&b.width_left));
    most.map_or(String::new(), |forecast| {
        let ([before_low, _, before_high], [low, _, high]) = (forecast.before, forecast.after);
        format!(
            "{}: {} after the fit, {} before; {} of the width is left.",
            capital(forecast.what),
            format_range(Kind::Mass, low, high, units),
            format_range(Kind::Mass, before_low, before_high, units),
            format_percent(forecast.width_left)
        )
    })
}

fn forecast_panel(of: &ForecastFit, first: Date, units: Units) -> Panel {
    let shown = |value: f64| in_column_unit(Kind::Mass, value, units);
    let points = |after: bool| {
        let by_day = of.curve.iter();
        by_day
            .map(|d| (day(first, d.date), if after { d.after } else { d.before }.map(shown)))
            .collect::<Vec<_>>()
    };
    let median =
        |points: &[(f64, Points)]| Mark::Line(points.iter().map(|(day, [_, m, _])| (*day, *m)).collect());
    let (before, after) = (points(false), points(true));
    let layers = vec![
        ChartLayer::new(BEFORE, Ink::Wide, band(&before)),
        ChartLayer::new(AFTER, Ink::Narrow, band(&after)),
        ChartLayer::new("median before", Ink::Ember, median(&before)),
        ChartLayer::new("median after", Ink::Night, median(&after)),
    ];
    Panel {
        label: if of.name == "stock" { "live worms" } else { of.what }.to_owned(),
        unit: column_unit(Kind::Mass, units).to_owned(),
        from_zero: true,
        min_span: 0.0,
        layers,
    }
}

fn unknowns(answer: &FitAnswer) -> Chart {
    // in standard deviations of its range each unknown has the same interval before
    let half = 1.645;
    let rows = answer.unknowns.iter().take(MOST_UNKNOWNS).map(|unknown| IntervalRow {
        group: String::new(),
        label: key_words(unknown.key),
        figures: format!("{} left", format_percent(unknown.left)),
        allowed: Some((Some(-half), Some(half))),
        points: vec![Some(IntervalPoint {
            interval: Some((unknown.moved - half * unknown.left, unknown.moved + half * unknown.left)),
            inner: None,
            middle: unknown.moved,
        })],
    });
    let first = answer.unknowns.first();
    Chart {
        file: "chart_fit_unknowns".to_owned(),
        title: first.map_or("Nothing is unknown.".to_owned(), |first| {
            format!(
                "Best learnt: {}, {} of its spread is left.",
                key_words(first.key),
                format_percent(first.left)
            )
        }),
        shows: format!(
            "The {MOST_UNKNOWNS} unknowns of which the log taught most. Pale bars: nine sites in ten before the fit; points and lines: mean \
             and nine in ten after it."
        ),
        source: source_of(
            &answer.name,
            (answer.start, days_to(answer.start, answer.until)),
            &basis(answer),
            answer.version,
        ),
        body: Body::Intervals(Intervals {
            label: "distance from the middle of the range, in its standard deviations".to_owned(),
            unit: String::new(),
            log: false,
            from_zero: true,
            reference: Some((0.0, "as before".to_owned())),
            series: vec![("after the fit".to_owned(), Ink::Night)],
            allowed: Some("before the fit".to_owned()),
            rows: rows.collect(),
        }),
    }
}
