//! Charts as data: series, axes, units and the finding of each chart. This module reads series off an answer, groups them and
//! converts them to the reader's units. It does not know how charts are drawn, and it computes no kilogram.
//!
//! [`run_charts`], [`draws_charts`], [`drivers_charts`], [`size_charts`], [`compare_charts`], [`log_charts`], [`fit_charts`] and [`weigh_chart`] make the [`Chart`]s of an answer.
//! Beside each of them is the list of its file names, so that the output folder can be checked before the run.

mod axis;
mod band;
mod beds;
mod chances;
mod compared;
mod density;
mod draws;
mod drivers;
mod drums;
mod fit;
mod flow;
mod gases;
mod intervals;
mod limits;
mod log;
mod measured;
mod quality;
mod site;
mod sizes;
mod stock;
mod throughput;
mod weeks;
mod weigh;

pub use axis::{Scale, Tick, ticks};
pub use band::{ChartBand, ChartBands};
pub use compared::{compare_chart_names, compare_charts};
pub use draws::{DRAWS_CHARTS, draws_charts};
pub use drivers::{DRIVERS_CHARTS, drivers_charts};
pub use fit::{fit_chart_names, fit_charts};
pub use flow::{Branch, FlowDiagram, Stage, Way};
pub use intervals::{IntervalPoint, IntervalRow, Intervals};
pub use limits::with_limits;
pub use log::{log_chart_names, log_charts};
pub use site::{CountRow, Counts, FloorDrawing, MarkShape, counts_chart, floor_chart};
pub use sizes::{size_chart_names, size_charts};
pub use weigh::{WEIGH_CHART, weigh_chart};

pub(super) use axis::date_ticks;
pub(super) use compared::{density_chart, key_in_words};
pub(super) use draws::draws_chart;
pub(super) use flow::LEAST_DRAWN;
pub(super) use site::{length, needed_floor};

use crate::quantity::{Kind, Units, convert, format_figures, shown_unit};
use crate::study::answer::RunAnswer;
use axis::scale_for;
use jiff::ToSpan;
use jiff::civil::Date;

/// File names of the charts of a run, without ending, in the order of [`run_charts`].
pub const RUN_CHARTS: [&str; 9] = [
    "chart_throughput",
    "chart_stock",
    "chart_drums",
    "chart_beds",
    "chart_carbon",
    "chart_nitrogen",
    "chart_water",
    "chart_quality",
    "chart_gases",
];

/// Name of the best-estimate run in a key.
const BEST_ESTIMATE: &str = "best-estimate run";

/// A chart: its finding, its marks and its source.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// File name without ending.
    pub file: String,
    /// The finding, computed from the numbers.
    pub title: String,
    /// What is drawn and how to read it.
    pub shows: String,
    /// Scenario, dates, basis and version.
    pub source: ChartSource,
    /// The marks themselves.
    pub body: Body,
}

/// The source of a chart: its last line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChartSource {
    /// Name of the scenario as its author typed it.
    pub name: String,
    /// The rest of the line: dates, basis and version.
    pub rest: String,
}

/// What a chart draws.
#[derive(Debug, Clone, PartialEq)]
pub enum Body {
    /// One or more panels over one horizontal axis.
    Panels(Panels),
    /// A flow diagram to scale.
    Flow(FlowDiagram),
    /// Points with intervals on labelled rows.
    Intervals(Intervals),
    /// A floor plan to scale.
    Floor(FloorDrawing),
    /// Rows of marks that show how many there are of something.
    Counts(Counts),
    /// Nothing to draw, and why.
    Nothing(String),
}

/// Panels that share their horizontal axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Panels {
    /// Horizontal axis.
    pub x: Horizontal,
    /// Panels, top first.
    pub panels: Vec<Panel>,
}

/// A horizontal axis.
#[derive(Debug, Clone, PartialEq)]
pub enum Horizontal {
    /// Dates; positions are days since the first, at midnight.
    Dates {
        /// First day.
        first: Date,
        /// Days from the first to the end of the last.
        days: f64,
    },
    /// Plain numbers.
    Numbers {
        /// What they are.
        label: String,
        /// Their unit; empty for plain counts.
        unit: String,
        /// Lower end.
        from: f64,
        /// Upper end.
        to: f64,
    },
    /// Numbers of which the ratios count; positions are their logarithms ([`Horizontal::place`]).
    Ratios {
        /// What they are.
        label: String,
        /// Their unit; empty for plain counts.
        unit: String,
        /// The numbers that get a tick, rising, above 0.
        at: Vec<f64>,
    },
}

impl Horizontal {
    /// Position of a number on an axis of [`Horizontal::Ratios`].
    pub fn place(value: f64) -> f64 {
        value.ln()
    }
}

/// One pair of axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// What the vertical axis measures.
    pub label: String,
    /// Unit of the vertical axis.
    pub unit: String,
    /// Whether the axis must include zero. Amounts do; temperatures and shares need not.
    pub from_zero: bool,
    /// Minimum span of the vertical axis, in its unit.
    pub min_span: f64,
    /// What is drawn, bottom layer first.
    pub layers: Vec<ChartLayer>,
}

/// One thing drawn in a panel.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartLayer {
    /// Name in the key.
    pub name: String,
    /// Look.
    pub ink: Ink,
    /// Shape and values.
    pub mark: Mark,
}

/// Shapes. Points are horizontal and vertical positions in the units of the axes.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A line through points.
    Line(Vec<(f64, f64)>),
    /// Dots.
    Dots(Vec<(f64, f64)>),
    /// Bars from zero, of one width, centred.
    Bars {
        /// Centres and heights.
        points: Vec<(f64, f64)>,
        /// Width of a bar, in the unit of the horizontal axis.
        width: f64,
    },
    /// An area between two edges: position, lower edge, upper edge.
    Area(Vec<(f64, f64, f64)>),
    /// A level across the whole panel.
    Level(f64),
}

/// How a layer looks: every ink differs from the others in lightness and, for lines, in dash as well as in hue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Solid dark line; darkest area.
    Night,
    /// Dashed line of middle lightness.
    Ember,
    /// Light solid line; light bar.
    Sky,
    /// Dotted dark line.
    Slate,
    /// Middle area.
    Steel,
    /// Pale bar or area.
    Straw,
    /// Outer band.
    Wide,
    /// Inner band.
    Narrow,
}

impl Mark {
    /// The same as steps of one day: a figure of an evening holds until the next. Bars, dots and levels stay as they are.
    #[must_use]
    pub fn stepped(self) -> Self {
        let ends = |x: f64| [x - 0.5, x + 0.5];
        match self {
            Self::Line(points) => {
                Self::Line(points.into_iter().flat_map(|(x, y)| ends(x).map(|x| (x, y))).collect())
            }
            Self::Area(points) => Self::Area(
                points.into_iter().flat_map(|(x, low, high)| ends(x).map(|x| (x, low, high))).collect(),
            ),
            other => other,
        }
    }

    /// Lowest and highest vertical value. `None` if the mark has no finite value.
    pub fn extent(&self) -> Option<(f64, f64)> {
        let values: Vec<f64> = match self {
            Self::Line(points) | Self::Dots(points) => points.iter().map(|p| p.1).collect(),
            Self::Bars { points, .. } => points.iter().map(|p| p.1).chain([0.0]).collect(),
            Self::Area(points) => points.iter().flat_map(|p| [p.1, p.2]).collect(),
            Self::Level(level) => vec![*level],
        };
        let finite = || values.iter().copied().filter(|v| v.is_finite());
        finite().next()?;
        Some((finite().fold(f64::INFINITY, f64::min), finite().fold(f64::NEG_INFINITY, f64::max)))
    }
}

impl ChartLayer {
    /// A layer of this name, look and shape.
    pub fn new(name: impl Into<String>, ink: Ink, mark: Mark) -> Self {
        Self { name: name.into(), ink, mark }
    }
}

impl Panel {
    /// The vertical scale that holds every layer.
    pub fn scale(&self) -> Scale {
        let extents = self.layers.iter().filter_map(|layer| layer.mark.extent());
        let (low, high) =
            extents.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), e| (l.min(e.0), h.max(e.1)));
        scale_for(low, high, self.from_zero, self.min_span)
    }
}

/// The charts of a run, in the order of [`RUN_CHARTS`], with bands where an ensemble gives them.
pub fn run_charts(answer: &RunAnswer, bands: &ChartBands, units: Units) -> Vec<Chart> {
    RUN_CHARTS.into_iter().filter_map(|file| run_chart(file, answer, bands, units)).collect()
}

/// One of them by its file name. `None` if no chart of a run has that name.
pub(super) fn run_chart(file: &str, answer: &RunAnswer, bands: &ChartBands, units: Units) -> Option<Chart> {
    Some(match file {
        "chart_throughput" => throughput::chart(answer, bands, units),
        "chart_stock" => stock::chart(answer, bands, units),
        "chart_drums" => drums::chart(answer, bands, units),
        "chart_beds" => beds::chart(answer, bands, units),
        "chart_carbon" => flow::carbon(answer, units),
        "chart_nitrogen" => flow::nitrogen(answer, units),
        "chart_water" => flow::water(answer, units),
        "chart_quality" => quality::chart(answer),
        "chart_gases" => gases::chart(answer, units),
        _ => return None,
    })
}

/// Source line of a chart of a run.
pub fn source(answer: &RunAnswer, bands: &ChartBands) -> ChartSource {
    let basis = match bands.draws {
        0 => BEST_ESTIMATE.to_owned(),
        draws => format!("{BEST_ESTIMATE} with bands from {draws} draws, seed {}", bands.seed),
    };
    source_of(&answer.name, (answer.start, answer.daily.len()), &basis, answer.version)
}

/// Source line of any chart: name, first day, number of days, basis, version.
fn source_of(name: &str, (start, days): (Date, usize), basis: &str, version: &str) -> ChartSource {
    let last = start.saturating_add(i64::try_from(days).unwrap_or(1).saturating_sub(1).days());
    ChartSource {
        name: name.to_owned(),
        rest: format!("{} to {}, {basis}, Loamledger {version}", format_date(start), format_date(last)),
    }
}

/// Short names of months.
pub(crate) const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// A date as charts write it: 4 Jan 2031.
pub(super) fn format_date(date: Date) -> String {
    format!("{} {} {}", date.day(), month_name(date), date.year())
}

/// Short name of the month of a date.
pub(crate) fn month_name(date: Date) -> &'static str {
    usize::try_from(date.month() - 1).ok().and_then(|month| MONTHS.get(month)).copied().unwrap_or("")
}

/// A quantity in a sentence: three digits, in the unit that suits its size.
pub(crate) fn format_quantity(kind: Kind, value: f64, units: Units) -> String {
    let unit = shown_unit(kind, value, units);
    let shown = convert(kind, value, unit).unwrap_or(value);
    format!("{} {unit}", format_figures(shown, 3))
}

/// A range in a sentence: 1.2 to 3.4 t.
pub(crate) fn format_range(kind: Kind, low: f64, high: f64, units: Units) -> String {
    let unit = shown_unit(kind, high, units);
    let shown = |value: f64| format_figures(convert(kind, value, unit).unwrap_or(value), 3);
    format!("{} to {} {unit}", shown(low), shown(high))
}

/// The date axis of a run.
fn dates(answer: &RunAnswer) -> Horizontal {
    Horizontal::Dates { first: answer.start, days: (answer.daily.len() as f64).max(1.0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn a_run_gives_the_charts_that_are_listed() {
        let charts = run_charts(&sample::answer(), &ChartBands::default(), Units::Si);
        let files: Vec<&str> = charts.iter().map(|chart| chart.file.as_str()).collect();
        assert_eq!(files, RUN_CHARTS);
        for chart in &charts {
            assert!(chart.title.ends_with('.') && chart.shows.ends_with('.'), "{}", chart.file);
            assert_eq!(chart.source.name, "Sample Shed");
            assert!(
                chart.source.rest.starts_with("1 Apr 2031 to 1 Apr 2031, best-estimate run"),
                "{}",
                chart.source.rest
            );
        }
    }

    #[test]
    fn a_mark_without_finite_values_has_no_extent() {
        assert_eq!(Mark::Line(vec![(0.0, f64::NAN)]).extent(), None);
        assert_eq!(Mark::Area(vec![(0.0, 1.0, 3.0), (1.0, -2.0, 2.0)]).extent(), Some((-2.0, 3.0)));
        assert_eq!(Mark::Bars { points: vec![(0.0, 5.0)], width: 1.0 }.extent(), Some((0.0, 5.0)));
    }
}
