//! Intake, feed and harvest, week by week.

use super::weeks::{WEEK, weekly};
use super::{
    BEST_ESTIMATE, Body, Chart, ChartBand, ChartBands, ChartLayer, Ink, Mark, Panel, Panels, dates,
    format_quantity, source,
};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, in_column_unit};
use crate::study::answer::RunAnswer;

pub(super) fn chart(answer: &RunAnswer, bands: &ChartBands, units: Units) -> Chart {
    let intake = weekly(&answer.daily, |d| d.intake);
    let fed = weekly(&answer.daily, |d| d.fed);
    let harvested = weekly(&answer.daily, |d| d.harvested);
    let body = if intake.is_empty() {
        Body::Nothing("The run is shorter than a week.".to_owned())
    } else {
        let mass = |value: f64| in_column_unit(Kind::Mass, value, units);
        let shown = [&intake, &fed, &harvested]
            .map(|points| points.iter().map(|(day, kg)| (*day, mass(*kg))).collect::<Vec<_>>());
        let panels = panels(answer, bands, shown, mass);
        let unit = format!("{} a week", column_unit(Kind::Mass, units));
        let panel = |(label, layers): (&str, Vec<ChartLayer>)| Panel {
            label: label.to_owned(),
            unit: unit.clone(),
            from_zero: true,
            min_span: 0.0,
            layers,
        };
        Body::Panels(Panels { x: dates(answer), panels: panels.into_iter().map(panel).collect() })
    };
    Chart {
        file: "chart_throughput".to_owned(),
        title: title(&intake, &fed, &harvested, units),
        shows: shows(answer),
        source: source(answer, bands),
        body,
    }
}

/// Label and layers of each panel. Intake and feed share a panel unless there are bands, which would overlap.
fn panels(
    answer: &RunAnswer,
    bands: &ChartBands,
    [intake, fed, harvested]: [Vec<(f64, f64)>; 3],
    mass: impl Fn(f64) -> f64,
) -> Vec<(&'static str, Vec<ChartLayer>)> {
    let (arrives, feed, taken) = ("scraps delivered", "feed laid on the beds", "castings harvested");
    if !bands.are_given() {
        let bars = Mark::Bars { points: harvested, width: 0.8 * WEEK as f64 };
        let lines = vec![
            ChartLayer::new(arrives, Ink::Night, Mark::Line(intake)),
            ChartLayer::new(feed, Ink::Ember, Mark::Line(fed)),
        ];
        return vec![("wet mass", lines), ("wet mass", vec![ChartLayer::new(taken, Ink::Sky, bars)])];
    }
    let with = |band: &Option<ChartBand>, best: Vec<(f64, f64)>| -> Vec<ChartLayer> {
        let middle = 0.5 * WEEK as f64;
        let under = band.iter().flat_map(|b| b.layers(answer.start, middle, &mass));
        under.chain([ChartLayer::new(BEST_ESTIMATE, Ink::Night, Mark::Line(best))]).collect()
    };
    vec![
        (arrives, with(&bands.intake, intake)),
        (feed, with(&bands.fed, fed)),
        (taken, with(&bands.harvested, harvested)),
    ]
}

fn title(intake: &[(f64, f64)], fed: &[(f64, f64)], harvested: &[(f64, f64)], units: Units) -> String {
    if intake.is_empty() {
        return "The run is shorter than a week.".to_owned();
    }
    let mean = |points: &[(f64, f64)]| points.iter().map(|p| p.1).sum::<f64>() / points.len() as f64;
    let kg = |value: f64| format_quantity(Kind::Mass, value, units);
    let off = mean(harvested);
    let taken = if off > 0.0 {
        format!("{} of castings are harvested", kg(off))
    } else {
        "no castings are harvested".to_owned()
    };
    format!(
        "In an average week, {} of scraps arrive, {} of feed are laid on the beds and {taken}.",
        kg(mean(intake)),
        kg(mean(fed))
    )
}

fn shows(answer: &RunAnswer) -> String {
    let left = answer.daily.len() % WEEK;
    let tail = match left {
        0 => String::new(),
        1 => " The last day is left out because it is not a full week.".to_owned(),
        left => format!(" The last {left} days are left out because they are not a full week."),
    };
    format!(
        "Wet mass by week of the run. Feed is paste with bulking and rinse water; castings are as harvested, before drying and screening.{tail}"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;
    use crate::trace::DayRecord;
    use jiff::civil::date;

    fn fortnight() -> RunAnswer {
        let day = |harvested| DayRecord {
            intake: 100.0,
            fed: 120.0,
            harvested,
            ..DayRecord::new(date(2031, 4, 1))
        };
        RunAnswer {
            daily: (0..15).map(|n| day(if n == 9 { 70.0 } else { 0.0 })).collect(),
            ..sample::answer()
        }
    }

    #[test]
    fn series_are_sums_of_the_week_in_the_readers_unit() {
        let chart = chart(&fortnight(), &ChartBands::default(), Units::Us);
        let Body::Panels(panels) = &chart.body else { panic!("panels") };
        assert_eq!(panels.panels[0].unit, "lb a week");
        let Mark::Line(points) = &panels.panels[0].layers[0].mark else { panic!("a line") };
        // 700 kg over 0.45359237 kg a pound
        assert!((points[1].1 - 1_543.235_835).abs() < 1e-5, "{points:?}");
        let Mark::Bars { points, .. } = &panels.panels[1].layers[0].mark else { panic!("bars") };
        assert!(points[0].1.abs() < 1e-12 && points[1].1 > 154.0);
        assert!(chart.shows.contains("The last day"), "{}", chart.shows);
    }

    #[test]
    fn the_title_gives_the_average_week() {
        let chart = chart(&fortnight(), &ChartBands::default(), Units::Si);
        assert_eq!(
            chart.title,
            "In an average week, 700 kg of scraps arrive, 840 kg of feed are laid on the beds and 35 kg of castings are harvested."
        );
    }

    #[test]
    fn bands_lie_under_their_line() {
        let week = vec![date(2031, 4, 1), date(2031, 4, 8)];
        let flat = |v: f64| vec![v; 2];
        let band = ChartBand {
            dates: week,
            p5: flat(600.0),
            p25: flat(700.0),
            p50: flat(800.0),
            p75: flat(900.0),
            p95: flat(1000.0),
        };
        let bands = ChartBands { draws: 1000, fed: Some(band), ..ChartBands::default() };
        let chart = chart(&fortnight(), &bands, Units::Si);
        let Body::Panels(panels) = &chart.body else { panic!("panels") };
        let names: Vec<&str> = panels.panels[1].layers.iter().map(|l| l.name.as_str()).collect();
        assert_eq!(names, ["9 draws in 10", "half of the draws", "median draw", "best-estimate run"]);
        assert_eq!(panels.panels[1].label, "feed laid on the beds");
        assert!(chart.source.rest.contains("bands from 1000 draws"), "{:?}", chart.source);
    }
}
