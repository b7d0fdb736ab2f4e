//! What measurements would leave of the spread of each forecast.

use super::intervals::{IntervalPoint, IntervalRow, Intervals};
use super::{Body, Chart, Ink, source_of};
use crate::report::number::{format_decimals, format_percent};
use crate::study::weigh::answer::WeighAnswer;

/// Name of the chart of *weigh*, without ending.
pub const WEIGH_CHART: &str = "chart_weigh";
/// Inks of the forecasts.
const INKS: [Ink; 3] = [Ink::Night, Ink::Ember, Ink::Steel];

/// The chart of *weigh*.
pub fn weigh_chart(answer: &WeighAnswer) -> Chart {
    let rows: Vec<IntervalRow> = answer
        .routines
        .iter()
        .map(|routine| IntervalRow {
            group: if routine.place.is_some() { "in this order" } else { "worth little after these" }
                .to_owned(),
            label: routine.what(),
            figures: format!("{} h", format_decimals(routine.minutes / 60.0, 1)),
            allowed: None,
            points: routine
                .alone
                .iter()
                .map(|share| Some(IntervalPoint { interval: None, inner: None, middle: 100.0 * share }))
                .collect(),
        })
        .collect();
    let body = if rows.is_empty() {
        Body::Nothing("Nothing can be measured in these days.".to_owned())
    } else {
        Body::Intervals(Intervals {
            label: "left of the spread of the forecast by this alone".to_owned(),
            unit: "%".to_owned(),
            log: false,
            from_zero: true,
            reference: Some((100.0, "nothing measured".to_owned())),
            series: answer.forecasts.iter().zip(INKS).map(|(f, ink)| (f.what.to_owned(), ink)).collect(),
            allowed: None,
            rows,
        })
    };
    let days = usize::try_from((answer.until - answer.from).get_days() + 1).unwrap_or(1);
    let basis = format!("{} draws, seed {}", answer.draws, answer.seed);
    Chart {
        file: WEIGH_CHART.to_owned(),
        title: title(answer),
        shows: format!(
            "Points: share of the standard deviation of each forecast of the {} days after that a measurement alone leaves. Order: what narrows \
             most for a minute of work, given all above. Right: hours of work in all.",
            answer.forecast_days
        ),
        source: source_of(&answer.name, (answer.from, days), &basis, answer.version),
        body,
    }
}

fn title(answer: &WeighAnswer) -> String {
    let first = answer.routines.first().filter(|routine| routine.place == Some(1));
    let Some(first) = first else { return "No measurement in these days narrows a forecast.".to_owned() };
    let most = first.alone.iter().zip(&answer.forecasts).min_by(|a, b| a.0.total_cmp(b.0));
    let leaves = most.map_or(String::new(), |(left, forecast)| {
        format!(", which alone leaves {} of the spread of {}", format_percent(*left), forecast.what)
    });
    format!("First: {}{leaves}.", first.how)
}
