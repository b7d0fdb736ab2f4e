//! Which unknowns matter: partial rank correlations and, on request, Sobol' indices.

use super::intervals::{IntervalPoint, IntervalRow, Intervals};
use super::{Body, Chart, ChartSource, Ink};
use crate::report::number::format_figures;
use crate::report::pages::page::words;
use crate::study::drivers::{Driver, DriversAnswer, FigureDrivers};
use crate::study::sensitivity::Estimate;
use crate::study::sobol::{FigureSobol, Index, SobolAnswer};

/// File names of the charts of drivers, without ending, in the order of [`drivers_charts`].
pub const DRIVERS_CHARTS: [&str; 2] = ["chart_drivers", "chart_sobol"];

/// Number of unknowns shown for each figure; the files hold all.
const MOST: usize = 6;

/// The charts of *drivers*, in the order of [`DRIVERS_CHARTS`].
pub fn drivers_charts(answer: &DriversAnswer) -> Vec<Chart> {
    vec![correlations(answer), indices(answer)]
}

fn source(answer: &DriversAnswer) -> ChartSource {
    let rest = format!("{} draws, seed {}, Loamledger {}", answer.draws, answer.seed, answer.version);
    ChartSource { name: answer.name.clone(), rest }
}

fn point(estimate: &Estimate) -> IntervalPoint {
    let Estimate { value, low, high } = *estimate;
    IntervalPoint { interval: Some((low, high)), inner: None, middle: value }
}

/// An explained part in percent; chance may push it slightly below zero.
fn format_part(share: f64) -> String {
    format!("{} %", format_figures(100.0 * share.clamp(0.0, 1.0), 2))
}

/// Two decimals with a typographic minus.
fn plain(value: f64) -> String {
    format!("{value:.2}").replace("-0.00", "0.00").replace('-', "\u{2013}")
}

/// Unknowns that stand out from chance, strongest first.
fn clear(figure: &FigureDrivers) -> impl Iterator<Item = &Driver> {
    figure.drivers.iter().filter(|driver| driver.is_clear()).take(MOST)
}

fn correlations(answer: &DriversAnswer) -> Chart {
    let mut rows = Vec::new();
    for figure in &answer.figures {
        rows.extend(clear(figure).map(|driver| IntervalRow {
            group: figure.what.to_owned(),
            label: driver.what.to_owned(),
            figures: format!("{}, {}", format_part(driver.part), driver.evidence),
            allowed: None,
            points: vec![Some(point(&driver.partial))],
        }));
    }
    let body = if rows.is_empty() {
        Body::Nothing("No unknown stands out from chance.".to_owned())
    } else {
        Body::Intervals(Intervals {
            label: "partial rank correlation (positive: raises the figure)".to_owned(),
            unit: String::new(),
            log: false,
            from_zero: true,
            reference: Some((0.0, "no effect".to_owned())),
            series: vec![("unknown".to_owned(), Ink::Night)],
            allowed: None,
            rows,
        })
    };
    Chart {
        file: "chart_drivers".to_owned(),
        title: correlations_title(answer),
        shows: format!(
            "Up to {MOST} strongest unknowns of each figure that stand out from chance, with 95 % intervals. Right: the share of \
             the figure's rank variance that each explains, and the evidence for its range."
        ),
        source: source(answer),
        body,
    }
}

fn correlations_title(answer: &DriversAnswer) -> String {
    let all = answer.figures.iter().flat_map(|figure| clear(figure).map(move |driver| (figure, driver)));
    match all.max_by(|a, b| a.1.part.total_cmp(&b.1.part)) {
        None => "No unknown stands out from chance.".to_owned(),
        Some((figure, driver)) => format!(
            "Strongest driver: {} explains {} of the rank variance of {}.",
            driver.what,
            format_part(driver.part),
            figure.what
        ),
    }
}

/// A figure in words.
fn figure_in_words<'a>(answer: &'a DriversAnswer, name: &'a str) -> &'a str {
    answer.figures.iter().find(|figure| figure.name == name).map_or(name, |figure| figure.what)
}

/// An unknown in words.
fn unknown_in_words(answer: &DriversAnswer, key: &str) -> String {
    let mut drivers = answer.figures.iter().flat_map(|figure| &figure.drivers);
    drivers.find(|driver| driver.key == key).map_or_else(|| words(key), |driver| driver.what.to_owned())
}

fn indices(answer: &DriversAnswer) -> Chart {
    let body = match &answer.sobol {
        None => Body::Nothing("No Sobol' indices were requested (--sobol ROWS).".to_owned()),
        Some(sobol) => match index_rows(answer, sobol) {
            rows if rows.is_empty() => {
                Body::Nothing("No figure varies enough for Sobol' indices.".to_owned())
            }
            rows => Body::Intervals(Intervals {
                label: "share of the variance of the figure".to_owned(),
                unit: String::new(),
                log: false,
                from_zero: true,
                reference: None,
                series: vec![
                    ("first order: the unknown alone".to_owned(), Ink::Night),
                    ("total: with its interactions".to_owned(), Ink::Ember),
                ],
                allowed: None,
                rows,
            }),
        },
    };
    Chart {
        file: "chart_sobol".to_owned(),
        title: indices_title(answer),
        shows: format!(
            "The {MOST} largest Sobol' indices of each figure with 95 % intervals, from runs without random variation. Rates that \
             were not varied keep their best estimates."
        ),
        source: source(answer),
        body,
    }
}

fn index_rows(answer: &DriversAnswer, sobol: &SobolAnswer) -> Vec<IntervalRow> {
    let row = |group: &str, index: &Index| IntervalRow {
        group: group.to_owned(),
        label: unknown_in_words(answer, index.key),
        figures: format!("{} | {}", plain(index.first.value), plain(index.total.value)),
        allowed: None,
        points: [&index.first, &index.total].map(|estimate| Some(point(estimate))).to_vec(),
    };
    let of = |figure: &FigureSobol| -> Vec<IntervalRow> {
        let group = figure_in_words(answer, figure.name);
        figure.indices.iter().take(MOST).map(|index| row(group, index)).collect()
    };
    sobol.figures.iter().filter(|figure| figure.nothing.is_none()).flat_map(of).collect()
}

fn indices_title(answer: &DriversAnswer) -> String {
    let all = answer.sobol.iter().flat_map(|sobol| &sobol.figures).filter(|figure| figure.nothing.is_none());
    let all = all.flat_map(|figure| figure.indices.iter().map(move |index| (figure, index)));
    match all.max_by(|a, b| a.1.total.value.total_cmp(&b.1.total.value)) {
        None => "No Sobol' indices are available.".to_owned(),
        Some((figure, index)) => format!(
            "Largest total effect: {} accounts for {} of the variance of {}.",
            unknown_in_words(answer, index.key),
            format_part(index.total.value),
            figure_in_words(answer, figure.name)
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answer() -> DriversAnswer {
        let driver = |key, what, value: f64, part| Driver {
            key,
            what,
            unit: "1/d",
            evidence: "judgement",
            partial: Estimate { value, low: value - 0.1, high: value + 0.1 },
            part,
        };
        DriversAnswer {
            version: "0.0.0".to_owned(),
            name: "Sample Shed".to_owned(),
            scenario: String::new(),
            seed: 1,
            draws: 100,
            partial: false,
            answered: 100,
            unknowns_drawn: 3,
            figures: vec![FigureDrivers {
                name: "stock_end",
                unit: "kg",
                what: "worms at the end",
                draws: 100,
                nothing: None,
                explained: 0.8,
                drivers: vec![
                    driver("bed.a", "rate of decay", -0.8, 0.6),
                    driver("bed.b", "water added", 0.3, 0.1),
                    driver("bed.c", "heat lost", 0.05, 0.0),
                ],
                measurements: Vec::new(),
            }],
            sobol: None,
            limit: "",
            numbers: Vec::new(),
            values: Vec::new(),
        }
    }

    #[test]
    fn unknowns_that_do_not_stand_out_from_chance_are_left_out() {
        let charts = drivers_charts(&answer());
        let files: Vec<&str> = charts.iter().map(|c| c.file.as_str()).collect();
        assert_eq!(files, DRIVERS_CHARTS);
        let Body::Intervals(drawn) = &charts[0].body else { panic!("intervals") };
        let labels: Vec<&str> = drawn.rows.iter().map(|row| row.label.as_str()).collect();
        assert_eq!(labels, ["rate of decay", "water added"]);
        assert_eq!(drawn.rows[0].figures, "60 %, judgement");
        assert!(drawn.scale().from <= -0.9 && drawn.scale().to >= 0.4);
        assert!(charts[0].title.contains("rate of decay explains 60 %"), "{}", charts[0].title);
        assert!(matches!(charts[1].body, Body::Nothing(_)));
    }

    #[test]
    fn indices_have_two_points_per_row() {
        let mut answer = answer();
        let index = Index {
            key: "bed.a",
            first: Estimate { value: 0.4, low: 0.3, high: 0.5 },
            total: Estimate { value: 0.7, low: 0.6, high: 0.8 },
        };
        let figure = FigureSobol {
            name: "stock_end",
            nothing: None,
            mean: 1.0,
            standard_deviation: 1.0,
            indices: vec![index],
        };
        answer.sobol = Some(SobolAnswer {
            rows: 16,
            rows_used: 16,
            failed: None,
            rates: vec!["bed.a"],
            figures: vec![figure],
        });
        let chart = indices(&answer);
        let Body::Intervals(drawn) = &chart.body else { panic!("intervals") };
        assert_eq!(drawn.rows[0].group, "worms at the end");
        let middles: Vec<f64> = drawn.rows[0].points.iter().flatten().map(|p| p.middle).collect();
        assert_eq!(middles, [0.4, 0.7]);
        assert!(chart.title.contains("rate of decay accounts for 70 %"), "{}", chart.title);
    }
}
