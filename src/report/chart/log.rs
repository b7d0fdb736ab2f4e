//! Charts of a log: what was measured as dots on the lines of the model.

use super::{Body, Chart, ChartLayer, Horizontal, Ink, Mark, Panel, Panels, format_quantity, source_of};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, in_column_unit};
use crate::scenario::log::{Compared, LogKind};
use crate::study::log::{LogAnswer, LogComparison};

/// Most panels of a chart, so that each stays legible.
const MOST_PANELS: usize = 4;
/// Streams of a large site. Our choice.
const STREAMS: usize = 40;
/// Most dots of sums.
const MOST_DOTS: usize = 60;
/// Temperature to compare differences with, K.
const USUAL_TEMPERATURE: f64 = 20.0;

/// Groups of kinds that share a chart: its file and the kinds.
pub(super) const GROUPS: [(&str, &[LogKind]); 5] = [
    ("chart_log_arrivals", &[LogKind::ScrapsIn, LogKind::WormsIn, LogKind::DrumRoom, LogKind::BedRoom]),
    ("chart_log_drums", &[LogKind::DrumsInUse, LogKind::DrumsOpened, LogKind::OpenedPh, LogKind::Liquor]),
    (
        "chart_log_beds",
        &[
            LogKind::FeedLaid,
            LogKind::Bulking,
            LogKind::WaterAdded,
            LogKind::BedTemperature,
            LogKind::BedMoisture,
            LogKind::BedPh,
            LogKind::BedDepth,
        ],
    ),
    ("chart_log_worms", &[LogKind::WormMass, LogKind::WormDensity, LogKind::YoungShare]),
    (
        "chart_log_castings",
        &[
            LogKind::CastingsTaken,
            LogKind::CastingsMoisture,
            LogKind::CastingsCarbon,
            LogKind::CastingsNitrogen,
            LogKind::CastingsRatio,
            LogKind::CastingsPhosphorus,
            LogKind::CastingsPotassium,
            LogKind::CastingsAsh,
            LogKind::CastingsPh,
        ],
    ),
];

/// File names of all charts that the log of a site with so many streams can have, without ending, and of those of any site with fewer
/// streams than `STREAMS`: the folder may hold the answer of another site.
pub fn log_chart_names(streams: usize) -> Vec<String> {
    let of = |(file, kinds): (&str, &[LogKind])| {
        // scraps have a panel for each stream
        let more = if kinds.contains(&LogKind::ScrapsIn) { streams.max(STREAMS) } else { 0 };
        let charts = (kinds.len() + more).div_ceil(MOST_PANELS);
        (0..charts).map(|number| file_of(file, number)).collect::<Vec<String>>()
    };
    GROUPS.into_iter().flat_map(of).collect()
}

/// File of a group's chart by its number from 0.
fn file_of(group: &str, number: usize) -> String {
    if number == 0 { group.to_owned() } else { format!("{group}_{}", number + 1) }
}

/// The charts of a log: groups of kinds in the order of the chain, at most four panels each; none of kinds that the log does not have.
pub fn log_charts(answer: &LogAnswer, units: Units) -> Vec<Chart> {
    let mut charts = Vec::new();
    for (file, kinds) in GROUPS {
        let of: Vec<&LogComparison> = answer.comparisons.iter().filter(|c| kinds.contains(&c.what)).collect();
        for (number, part) in of.chunks(MOST_PANELS).enumerate() {
            charts.push(chart(answer, file_of(file, number), part, units));
        }
    }
    charts
}

/// First day of the log after the first of the run, and the days of the log.
fn period(answer: &LogAnswer) -> (usize, usize) {
    let day = |date: jiff::civil::Date| usize::try_from((date - answer.start).get_days()).unwrap_or(0);
    let from = answer.comparisons.iter().map(|c| day(c.first)).min().unwrap_or(0);
    let to = answer.comparisons.iter().map(|c| day(c.last)).max().unwrap_or(0);
    (from, to + 1 - from)
}

fn chart(answer: &LogAnswer, file: String, of: &[&LogComparison], units: Units) -> Chart {
    let (from, days) = period(answer);
    let first = answer.start.saturating_add(jiff::Span::new().days(i64::try_from(from).unwrap_or(0)));
    Chart {
        file,
        title: title(of, units),
        shows: "Dots are lines of the log (of sums some). Dashed: the plan as it is; solid: the plan with what the log knows for \
                certain. Amounts add up from the first line of their kind."
            .to_owned(),
        source: source_of(&answer.name, (first, days), "best-estimate run beside the log", answer.version),
        body: Body::Panels(Panels {
            x: Horizontal::Dates { first, days: days as f64 },
            panels: of.iter().map(|c| panel(answer, c, from, days, units)).collect(),
        }),
    }
}

/// What a kind is set against: what is known against the plan, what is measured against the model.
fn beside(of: &LogComparison) -> (Option<f64>, &'static str) {
    let known = of.known && of.what != LogKind::CastingsTaken;
    if known { (of.plan, "plan") } else { (of.model, "model") }
}

/// How far log and model are apart: by their ratio; of temperatures by their difference over a usual one.
fn apart(of: &LogComparison) -> f64 {
    match beside(of).0 {
        Some(other) if of.what.row().quantity == Kind::Temperature => {
            (of.log - other).abs() / USUAL_TEMPERATURE
        }
        Some(other) if other > 0.0 && of.log > 0.0 => (of.log / other).ln().abs(),
        _ => 0.0,
    }
}

/// The kind that is farthest from the model.
fn title(of: &[&LogComparison], units: Units) -> String {
    let Some(most) = of.iter().rev().max_by(|a, b| apart(a).total_cmp(&apart(b))) else {
        return "The log has no such lines.".to_owned();
    };
    let row = most.what.row();
    let value = |value: f64| format_quantity(row.quantity, value, units).trim_end().to_owned();
    let how = if most.compared == Compared::Sum { "in all" } else { "on average" };
    let mut word = row.word.to_owned();
    if let Some(first) = word.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    match beside(most) {
        (Some(other), name) => {
            format!("{word}: {} {how} in the log, {} in the {name}.", value(most.log), value(other))
        }
        (None, _) => format!(
            "{word}: {} {how} in the log; the model has no such figure on these days.",
            value(most.log)
        ),
    }
}

fn panel(answer: &LogAnswer, of: &LogComparison, from: usize, days: usize, units: Units) -> Panel {
    let kind = of.what.row().quantity;
    let shown = |value: f64| in_column_unit(kind, value, units);
    let within = |curve: &[(usize, f64)]| {
        let points = curve.iter().filter(|(day, _)| (from..from + days).contains(day));
        points.map(|&(day, value)| ((day - from) as f64 + 0.5, shown(value))).collect::<Vec<_>>()
    };
    let mut sum = 0.0;
    let dots = of.points.iter().map(|point| {
        let day = f64::from((point.date - answer.start).get_days()) - from as f64 + 0.5;
        sum += point.log;
        (day, shown(if of.compared == Compared::Sum { sum } else { point.log }))
    });
    // sums of every day would run into one another
    let every = of.points.len().div_ceil(MOST_DOTS).max(1);
    let thinned =
        |n: usize| of.compared != Compared::Sum || n.is_multiple_of(every) || n + 1 == of.points.len();
    let dots = dots.enumerate().filter(|(n, _)| thinned(*n)).map(|(_, dot)| dot).collect();
    let mut layers = Vec::new();
    for (name, ink, curve) in
        [("plan", Ink::Ember, &of.plan_curve), ("with what the log knows", Ink::Night, &of.model_curve)]
    {
        let points = within(curve);
        if points.len() > 1 {
            layers.push(ChartLayer::new(name, ink, Mark::Line(points)));
        }
    }
    layers.push(ChartLayer::new("log", Ink::Slate, Mark::Dots(dots)));
    let place = if of.stream.is_empty() { String::new() } else { format!(", {}", of.stream) };
    Panel {
        label: format!("{}{place}", of.what.row().word),
        unit: column_unit(kind, units).to_owned(),
        from_zero: of.compared == Compared::Sum,
        min_span: 0.0,
        layers,
    }
}
