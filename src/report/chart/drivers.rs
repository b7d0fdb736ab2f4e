//! Which unknowns matter: partial rank correlations, and Sobol' indices where they were asked for.

use super::intervals::{IntervalPoint, IntervalRow, Intervals};
use super::{Body, Chart, Ink, Source};
use crate::report::number::percent;
use crate::study::drivers::{Driver, DriversAnswer, FigureDrivers};
use crate::study::sensitivity::Estimate;
use crate::study::sobol::{FigureSobol, Index, SobolAnswer};

/// File names of the charts of drivers, without ending, in the order of [`drivers_charts`].
pub const DRIVERS_CHARTS: [&str; 2] = ["chart_drivers", "chart_sobol"];

/// Most unknowns drawn of a figure; files have all.
const MOST: usize = 6;

/// The charts of *drivers*, in the order of [`DRIVERS_CHARTS`].
pub fn drivers_charts(answer: &DriversAnswer) -> Vec<Chart> {
    vec![correlations(answer), indices(answer)]
}

fn source(answer: &DriversAnswer) -> Source {
    let rest = format!("{} draws, seed {}, Loamledger {}", answer.draws, answer.seed, answer.version);
    Source { name: answer.name.clone(), rest }
}

fn point(estimate: &Estimate) -> IntervalPoint {
    let Estimate { value, low, high } = *estimate;
    IntervalPoint { interval: Some((low, high)), inner: None, middle: value }
}

/// A part that is explained; chance may push one below nothing.
fn part(share: f64) -> String {
    if share < 0.0 { "below 0 %".to_owned() } else { percent(share) }
}

/// Two decimals with a true minus.
fn plain(value: f64) -> String {
    format!("{value:.2}").replace("-0.00", "0.00").replace('-', "\u{2013}")
}

/// Unknowns that stand out from chance, the strongest first.
fn clear(figure: &FigureDrivers) -> impl Iterator<Item = &Driver> {
    figure.drivers.iter().filter(|driver| driver.is_clear()).take(MOST)
}

fn correlations(answer: &DriversAnswer) -> Chart {
    let mut rows = Vec::new();
    for figure in &answer.figures {
        rows.extend(clear(figure).map(|driver| IntervalRow {
            group: figure.what.to_owned(),
            label: driver.key.to_owned(),
            figures: format!("{}, {}", part(driver.part), driver.evidence),
            allowed: None,
            points: vec![Some(point(&driver.partial))],
        }));
    }
    let body = if rows.is_empty() {
        Body::Nothing("No rate stands out from chance.".to_owned())
    } else {
        Body::Intervals(Intervals {
            label: "partial rank correlation: +1 raises the figure, \u{2013}1 lowers it".to_owned(),
            unit: String::new(),
            log: false,
            from_zero: true,
            reference: Some((0.0, "no effect".to_owned())),
            series: vec![("rate".to_owned(), Ink::Night)],
            allowed: None,
            rows,
        })
    };
    Chart {
        file: "chart_drivers".to_owned(),
        title: correlations_title(answer),
        shows: format!(
            "The {MOST} strongest rates of each figure that stand out from chance, with 95 % intervals; at the right the part of \
             the figure's spread in ranks that each explains, and how well its range is founded."
        ),
        source: source(answer),
        body,
    }
}

fn correlations_title(answer: &DriversAnswer) -> String {
    let all = answer.figures.iter().flat_map(|figure| clear(figure).map(move |driver| (figure, driver)));
    match all.max_by(|a, b| a.1.part.total_cmp(&b.1.part)) {
        None => "No unknown rate stands out from chance.".to_owned(),
        Some((figure, driver)) => format!(
            "What matters most: {} explains {} of the spread of the {} (in ranks).",
            driver.what,
            percent(driver.part),
            figure.what
        ),
    }
}

/// What a figure is, in words; by its name where the answer does not tell.
fn what<'a>(answer: &'a DriversAnswer, name: &'a str) -> &'a str {
    answer.figures.iter().find(|figure| figure.name == name).map_or(name, |figure| figure.what)
}

fn indices(answer: &DriversAnswer) -> Chart {
    let body = match &answer.sobol {
        None => Body::Nothing("Sobol' indices were not asked for (--sobol ROWS).".to_owned()),
        Some(sobol) => match index_rows(answer, sobol) {
            rows if rows.is_empty() => Body::Nothing("No figure varies enough for indices.".to_owned()),
            rows => Body::Intervals(Intervals {
                label: "share of the variance of the figure, 0 to 1".to_owned(),
                unit: String::new(),
                log: false,
                from_zero: true,
                reference: None,
                series: vec![
                    ("first: the rate alone".to_owned(), Ink::Night),
                    ("total: with all it does together with others".to_owned(), Ink::Ember),
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
            "The {MOST} largest Sobol' indices of each figure, of runs without chance, with 95 % intervals; rates not looked at \
             stand at their central values."
        ),
        source: source(answer),
        body,
    }
}

fn index_rows(answer: &DriversAnswer, sobol: &SobolAnswer) -> Vec<IntervalRow> {
    let row = |group: &str, index: &Index| IntervalRow {
        group: group.to_owned(),
        label: index.key.to_owned(),
        figures: format!("{} | {}", plain(index.first.value), plain(index.total.value)),
        allowed: None,
        points: [&index.first, &index.total].map(|estimate| Some(point(estimate))).to_vec(),
    };
    let of = |figure: &FigureSobol| -> Vec<IntervalRow> {
        let group = what(answer, figure.name);
        figure.indices.iter().take(MOST).map(|index| row(group, index)).collect()
    };
    sobol.figures.iter().filter(|figure| figure.nothing.is_none()).flat_map(of).collect()
}

fn indices_title(answer: &DriversAnswer) -> String {
    let all = answer.sobol.iter().flat_map(|sobol| &sobol.figures).filter(|figure| figure.nothing.is_none());
    let all = all.flat_map(|figure| figure.indices.iter().map(move |index| (figure, index)));
    match all.max_by(|a, b| a.1.total.value.total_cmp(&b.1.total.value)) {
        None => "No Sobol' indices were found.".to_owned(),
        Some((figure, index)) => format!(
            "With all it does, {} carries {} of the variance of the {}.",
            index.key,
            percent(index.total.value.clamp(0.0, 1.0)),
            what(answer, figure.name)
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answer() -> DriversAnswer {
        let driver = |key, value: f64, part| Driver {
            key,
            what: "rate of decay",
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
                    driver("bed.a", -0.8, 0.6),
                    driver("bed.b", 0.3, 0.1),
                    driver("bed.c", 0.05, 0.0),
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
    fn rates_that_are_lost_in_chance_are_left_out() {
        let charts = drivers_charts(&answer());
        let files: Vec<&str> = charts.iter().map(|c| c.file.as_str()).collect();
        assert_eq!(files, DRIVERS_CHARTS);
        let Body::Intervals(drawn) = &charts[0].body else { panic!("intervals") };
        let labels: Vec<&str> = drawn.rows.iter().map(|row| row.label.as_str()).collect();
        assert_eq!(labels, ["bed.a", "bed.b"]);
        assert_eq!(drawn.rows[0].figures, "60.0 %, judgement");
        assert!(drawn.scale().from <= -0.9 && drawn.scale().to >= 0.4);
        assert!(charts[0].title.contains("rate of decay explains 60.0 %"), "{}", charts[0].title);
        assert!(matches!(charts[1].body, Body::Nothing(_)));
    }

    #[test]
    fn indices_have_two_points_a_row() {
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
        assert!(chart.title.contains("bed.a carries 70.0 %"), "{}", chart.title);
    }
}
