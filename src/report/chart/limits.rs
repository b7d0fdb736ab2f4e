//! Limits and targets of a scenario, drawn as levels in the charts of its run.

use super::{Body, Chart, ChartLayer, Ink, Mark, Panels};
use crate::quantity::{Kind, Units};
use crate::report::number::{format_figures, format_interval, format_quantity, in_column_unit};
use crate::scenario::Plan;
use crate::trace::failures::{FAILURES, RunFailure};
use crate::trace::figures::SETTLED;

/// Place of temperature and of moisture among the panels of the beds.
const TEMPERATURE: usize = 0;
const MOISTURE: usize = 1;

/// Figures of targets that a chart shows: name, file of the chart, panel, and what it measures.
const SHOWN: [(&str, &str, usize, Kind); 5] = [
    ("drums_highest", "chart_drums", 0, Kind::Factor),
    ("drums_mean", "chart_drums", 0, Kind::Factor),
    ("stock_end", "chart_stock", 0, Kind::Mass),
    ("stock_mean", "chart_stock", 0, Kind::Mass),
    ("bed_hottest", "chart_beds", TEMPERATURE, Kind::Temperature),
];

/// The charts with the plan's limits for beds, the heat that worms survive, and the targets of its sizing.
#[must_use]
pub fn with_limits(mut charts: Vec<Chart>, plan: &Plan, units: Units) -> Vec<Chart> {
    for chart in &mut charts {
        let file = chart.file.clone();
        let Body::Panels(panels) = &mut chart.body else { continue };
        if file == "chart_beds" {
            heat(panels, plan, units);
            moisture(panels, plan, units);
        }
        targets(panels, &file, plan, units);
    }
    charts
}

/// Levels of one meaning: the first carries the name in the key.
fn levels(panels: &mut Panels, panel: usize, name: &str, ink: Ink, at: impl IntoIterator<Item = f64>) {
    let Some(panel) = panels.panels.get_mut(panel) else { return };
    for (n, level) in at.into_iter().enumerate() {
        let name = if n == 0 { name } else { "" };
        panel.layers.push(ChartLayer::new(name, ink, Mark::Level(level)));
    }
}

/// Temperatures beyond which beds are not fed, and above which worms die.
fn heat(panels: &mut Panels, plan: &Plan, units: Units) {
    let degrees = |value: f64| in_column_unit(Kind::Temperature, value, units);
    let words = |value: f64| format_quantity(Kind::Temperature, value, units);
    let (coldest, hottest) = (plan.feeding.coldest, plan.feeding.hottest);
    let dies = FAILURES.iter().find(|f| f.name == "overheated").and_then(RunFailure::at_most);
    let name = dies.map_or_else(
        || format!("not fed outside {}", format_interval(Kind::Temperature, coldest, hottest, units)),
        |dies| {
            let fed = format_interval(Kind::Temperature, coldest, hottest, units);
            format!("fed at {fed}; worms die above {}", words(dies))
        },
    );
    levels(panels, TEMPERATURE, &name, Ink::Ember, [coldest, hottest].into_iter().chain(dies).map(degrees));
}

/// The moisture between which beds are kept, of every group that differs.
fn moisture(panels: &mut Panels, plan: &Plan, units: Units) {
    let mut known: Vec<[f64; 2]> = Vec::new();
    for group in &plan.beds {
        let [low, high] = group.moisture_band;
        if !known.contains(&[low, high]) {
            known.push([low, high]);
            let name = format!("kept at {}", format_interval(Kind::Share, low, high, units));
            levels(panels, MOISTURE, &name, Ink::Ember, [100.0 * low, 100.0 * high]);
        }
    }
}

/// Targets of the sizing whose figure a panel shows.
fn targets(panels: &mut Panels, file: &str, plan: &Plan, units: Units) {
    for target in &plan.sizing.targets {
        let figure = target.figure.strip_prefix(SETTLED).unwrap_or(&target.figure);
        let Some((.., panel, kind)) = SHOWN.iter().find(|row| row.0 == figure && row.1 == file) else {
            continue;
        };
        for (limit, words) in [(target.at_most, "at most"), (target.at_least, "at least")] {
            let Some(limit) = limit else { continue };
            let at = in_column_unit(*kind, limit, units);
            let name = format!("target: {words} {}", format_figures(at, 4));
            levels(panels, *panel, &name, Ink::Sky, [at]);
        }
    }
}
