//! The chance of each failure over the draws, with its interval.

use super::intervals::{IntervalPoint, IntervalRow, Intervals};
use super::{Body, Chart, Ink, source_of};
use crate::quantity::Units;
use crate::report::number::format_figures;
use crate::report::pages::uncertainty::{sought_failures, statement};
use crate::study::uncertainty::{FailureChance, UncertaintyAnswer};
use crate::trace::failures::{FAILURES, VerdictRule};

/// Heading of failures that the best-estimate run shows.
const IN_BEST_ESTIMATE: &str = "also in the best-estimate run";
/// Heading of failures that it does not show.
const NOT_IN_BEST_ESTIMATE: &str = "not in the best-estimate run";

pub(super) fn chart(answer: &UncertaintyAnswer, units: Units) -> Chart {
    let mut failures: Vec<&FailureChance> = sought_failures(answer).collect();
    failures.sort_by_key(|f| std::cmp::Reverse((f.in_central_run, f.count)));
    Chart {
        file: "chart_chances".to_owned(),
        title: title(answer, units),
        shows: "Share of the draws in which each failure occurs, with its 95 % interval (Wilson), and the chance that the verdict allows. A draw is one simulated run with its \
                own set of uncertain values."
            .to_owned(),
        source: source_of(
            &answer.name,
            (answer.start, answer.days),
            &format!("{} draws, seed {}", answer.answered, answer.seed),
            &answer.version,
        ),
        body: Body::Intervals(Intervals {
            label: "chance of the failure in the run".to_owned(),
            unit: "%".to_owned(),
            log: false,
            from_zero: true,
            reference: None,
            series: vec![("chance".to_owned(), Ink::Night)],
            allowed: Some("allowed chance".to_owned()),
            rows: failures.into_iter().map(|failure| row(failure, &answer.verdict.rule, units)).collect(),
        }),
    }
}

fn row(failure: &FailureChance, rule: &VerdictRule, units: Units) -> IntervalRow {
    let known = FAILURES.iter().find(|known| known.name == failure.name);
    let allowed = known.map(|known| 100.0 * known.allowed(rule)).filter(|allowed| *allowed < 100.0);
    let [share, low, high] = [failure.share, failure.low, failure.high].map(|x| 100.0 * x);
    IntervalRow {
        group: if failure.in_central_run { IN_BEST_ESTIMATE } else { NOT_IN_BEST_ESTIMATE }.to_owned(),
        label: statement(failure.statement, units),
        figures: format!(
            "{} % ({} to {})",
            format_figures(share, 2),
            format_figures(low, 2),
            format_figures(high, 2)
        ),
        allowed: allowed.map(|most| (None, Some(most))),
        points: vec![Some(IntervalPoint { interval: Some((low, high)), inner: None, middle: share })],
    }
}

fn title(answer: &UncertaintyAnswer, units: Units) -> String {
    let mut likely: Vec<&FailureChance> = sought_failures(answer).filter(|f| f.count > 0).collect();
    likely.sort_by_key(|f| std::cmp::Reverse(f.count));
    match likely[..] {
        [] => format!("No failure occurs in any of {} draws.", answer.answered),
        [first, ..] => format!(
            "Most likely failure, in {:.0} % of the draws: {}. {} of {} failures occur in some draw.",
            100.0 * first.share,
            statement(first.statement, units),
            likely.len(),
            sought_failures(answer).count()
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample_draws;

    #[test]
    fn chances_are_in_percent_with_their_intervals() {
        let chart = chart(&sample_draws::study(), Units::Us);
        let Body::Intervals(drawn) = &chart.body else { panic!("intervals") };
        assert_eq!(drawn.rows[0].group, NOT_IN_BEST_ESTIMATE);
        assert_eq!(drawn.rows[0].label, "a bed passes 91.4 °F somewhere, where worms begin to die");
        let point = drawn.rows[0].points[0].expect("a point");
        // 6 of 20; the interval is that of Wilson (1927) at 1.96: 0.1455 to 0.5190
        assert!((point.middle - 30.0).abs() < 1e-9);
        let (low, high) = point.interval.expect("an interval");
        assert!((low - 14.55).abs() < 0.01 && (high - 51.90).abs() < 0.01, "{low} {high}");
        assert_eq!(drawn.rows[0].figures, "30 % (15 to 52)");
        // a serious failure: the chance that the rule of the verdict allows
        let rule = sample_draws::study().verdict.rule;
        assert_eq!(drawn.rows[0].allowed, Some((None, Some(100.0 * rule.serious_chance))));
        assert!(chart.title.starts_with("Most likely failure, in 30 % of the draws"), "{}", chart.title);
    }
}
