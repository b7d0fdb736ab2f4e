//! Quality of the products as multiples of published limits.

use super::intervals::{IntervalPoint, IntervalRow, Intervals};
use super::{BEST_ESTIMATE, Body, Chart, ChartBands, Ink, source};
use crate::process::quality::standards::{Judgement, QualityMeasure};
use crate::quantity::format_figures;
use crate::study::answer::{Judged, Product, RunAnswer};
use crate::study::uncertainty::UncertaintyAnswer;

/// Label of the axis.
const MULTIPLE: &str = "value as a multiple of its maximum (of its minimum if it has no maximum)";
/// Its unit.
const AT_LIMIT: &str = "1 = at the limit";
/// The finding if there is no product.
const NOTHING_SOLD: &str = "Nothing is sold, so there is no product to judge.";

/// Rows on a common scale of multiples of their limits.
fn against_limits(series: Vec<(String, Ink)>, rows: Vec<IntervalRow>) -> Body {
    Body::Intervals(Intervals {
        label: MULTIPLE.to_owned(),
        unit: AT_LIMIT.to_owned(),
        log: true,
        from_zero: false,
        reference: Some((1.0, "limit".to_owned())),
        series,
        allowed: Some("allowed".to_owned()),
        rows,
    })
}

pub(super) fn chart(answer: &RunAnswer) -> Chart {
    let sold: Vec<&Product> = answer.products.iter().filter(|p| p.quality.is_some()).collect();
    let rows = rows(&sold);
    let inks = [Ink::Night, Ink::Ember];
    let body = if rows.is_empty() {
        Body::Nothing("Nothing was sold in this run, so there is no product to judge.".to_owned())
    } else {
        let series = sold.iter().zip(inks).map(|(product, ink)| (product.name.to_owned(), ink));
        against_limits(series.collect(), rows)
    };
    Chart {
        file: "chart_quality".to_owned(),
        title: title(&sold),
        shows: "Mean product sold in the run, compared with the published limits that the model can judge; points outside their \
                pale bar fail. Metals and pathogens need laboratory tests."
            .to_owned(),
        source: source(answer, &ChartBands::default()),
        body,
    }
}

/// Castings over the draws against the same limits. Limits on quantities that are not kept for each draw are left out.
pub(super) fn spread(answer: &RunAnswer, study: &UncertaintyAnswer) -> Chart {
    let judged = answer.products.iter().find(|p| p.quality.is_some()).map_or(&[][..], |p| &p.standards[..]);
    let ranged: Vec<Ranged<'_>> = judged.iter().filter_map(|judged| Ranged::of(judged, study)).collect();
    let body = if ranged.is_empty() {
        Body::Nothing(
            "Nothing was sold in the best-estimate run, so there is no product to judge.".to_owned(),
        )
    } else {
        let series = vec![(BEST_ESTIMATE.to_owned(), Ink::Night)];
        against_limits(series, ranged.iter().map(Ranged::row).collect())
    };
    Chart {
        file: "chart_quality".to_owned(),
        title: spread_title(&ranged),
        shows: "Castings after screening (pH: as sold), compared with the published limits that the model can judge; thick bars hold \
                half of the draws, thin bars nine in ten. Metals and pathogens need laboratory tests."
            .to_owned(),
        source: source(answer, &ChartBands::of(study)),
        body,
    }
}

/// A limit and the range of the draws for it.
struct Ranged<'a> {
    judged: &'a Judged,
    limit: f64,
    best: f64,
    /// 5, 25, 75 and 95 % quantile of the draws.
    quantiles: [f64; 4],
}

impl<'a> Ranged<'a> {
    fn of(judged: &'a Judged, study: &UncertaintyAnswer) -> Option<Self> {
        let limit = unit_limit(judged)?;
        let name = figure(judged.quantity)?;
        let figure = study.figures.iter().find(|figure| figure.name == name)?;
        let [p5, p25, _, p75, p95] = figure.spread.as_ref()?.quantiles;
        let best = figure.central?;
        let (best, quantiles) = match judged.quantity {
            QualityMeasure::DryMatter => (1.0 - best, [p95, p75, p25, p5].map(|moisture| 1.0 - moisture)),
            _ => (best, [p5, p25, p75, p95]),
        };
        (best > 0.0).then_some(Self { judged, limit, best, quantiles })
    }

    fn row(&self) -> IntervalRow {
        let (min, max) = self.judged.allowed;
        let [p5, p25, p75, p95] = self.quantiles.map(|value| value / self.limit);
        let in_unit = |value: f64| format_value(value, self.judged.unit);
        let [low, .., high] = self.quantiles;
        IntervalRow {
            group: self.judged.standard.to_owned(),
            label: format!("{}, {}", formula(self.judged.limit), allowed_words(self.judged)),
            figures: format!(
                "{} ({} to {}) {}",
                in_unit(self.best),
                in_unit(low),
                in_unit(high),
                unit(self.judged.unit)
            )
            .trim_end()
            .to_owned(),
            allowed: Some((min.map(|v| v / self.limit), max.map(|v| v / self.limit))),
            points: vec![Some(IntervalPoint {
                interval: Some((p5, p95)),
                inner: Some((p25, p75)),
                middle: self.best / self.limit,
            })],
        }
    }

    fn inside(&self) -> bool {
        let [low, .., high] = self.quantiles;
        self.judged.allowed.0.is_none_or(|least| low >= least)
            && self.judged.allowed.1.is_none_or(|most| high <= most)
    }

    fn outside(&self) -> bool {
        let [low, .., high] = self.quantiles;
        self.judged.allowed.0.is_some_and(|least| high < least)
            || self.judged.allowed.1.is_some_and(|most| low > most)
    }
}

/// The figure of a draw that holds a quantity. `None` if there is none.
fn figure(quantity: QualityMeasure) -> Option<&'static str> {
    Some(match quantity {
        QualityMeasure::Moisture | QualityMeasure::DryMatter => "castings_moisture",
        QualityMeasure::Carbon => "castings_carbon",
        QualityMeasure::Nitrogen => "castings_nitrogen",
        QualityMeasure::Phosphate => "castings_phosphate",
        QualityMeasure::Potash => "castings_potash",
        QualityMeasure::CarbonToNitrogen => "castings_carbon_to_nitrogen",
        QualityMeasure::Conductivity => "castings_conductivity",
        QualityMeasure::SaturatedConductivity => "castings_conductivity_saturated",
        QualityMeasure::Ph => "castings_ph",
        QualityMeasure::CarbonOfProduct
        | QualityMeasure::NutrientSum
        | QualityMeasure::BulkDensity
        | QualityMeasure::Below4Mm
        | QualityMeasure::Metal
        | QualityMeasure::Pathogen => return None,
    })
}

fn spread_title(ranged: &[Ranged<'_>]) -> String {
    if ranged.is_empty() {
        return NOTHING_SOLD.to_owned();
    }
    let met = ranged.iter().filter(|r| r.inside()).count();
    let missed = ranged.iter().filter(|r| r.outside()).count();
    format!(
        "In at least nine of ten draws, castings meet {met} of {} limits and miss {missed}; {} remain uncertain.",
        ranged.len(),
        ranged.len() - met - missed
    )
}

/// The limit that counts as 1: the maximum, or the minimum if there is no maximum.
fn unit_limit(judged: &Judged) -> Option<f64> {
    judged.allowed.1.or(judged.allowed.0).filter(|limit| *limit > 0.0)
}

fn rows(sold: &[&Product]) -> Vec<IntervalRow> {
    let Some(first) = sold.first() else { return Vec::new() };
    let mut rows = Vec::new();
    for judged in &first.standards {
        let Some(limit) = unit_limit(judged) else { continue };
        let mine: Vec<Option<&Judged>> = sold
            .iter()
            .map(|product| {
                product.standards.iter().find(|j| (j.standard, j.limit) == (judged.standard, judged.limit))
            })
            .collect();
        let value = |j: Option<&Judged>| j.and_then(|j| j.value).filter(|v| *v > 0.0);
        if mine.iter().all(|j| value(*j).is_none()) {
            continue;
        }
        let (min, max) = judged.allowed;
        let figures: Vec<String> = mine
            .iter()
            .map(|j| value(*j).map_or("\u{2013}".to_owned(), |v| format_value(v, judged.unit)))
            .collect();
        rows.push(IntervalRow {
            group: judged.standard.to_owned(),
            label: format!("{}, {}", formula(judged.limit), allowed_words(judged)),
            figures: format!("{} {}", figures.join(" | "), unit(judged.unit)).trim_end().to_owned(),
            allowed: Some((min.map(|v| v / limit), max.map(|v| v / limit))),
            points: mine
                .iter()
                .map(|j| value(*j).map(|v| IntervalPoint { interval: None, inner: None, middle: v / limit }))
                .collect(),
        });
    }
    rows
}

/// Whether values are shown in percent: shares of mass.
fn in_percent(unit: &str) -> bool {
    unit.starts_with("kg/kg ")
}

fn format_value(value: f64, unit: &str) -> String {
    format_figures(if in_percent(unit) { 100.0 * value } else { value }, 3)
}

fn unit(unit: &str) -> &str {
    match unit {
        "kg/kg wet" => "% of wet mass",
        "kg/kg dry matter" => "% of dry matter",
        "kg/kg" | "pH" => "",
        other => other,
    }
}

fn allowed_words(judged: &Judged) -> String {
    let in_unit = |v: f64| format_value(v, judged.unit);
    let sign = if in_percent(judged.unit) { " %" } else { "" };
    match judged.allowed {
        (Some(least), Some(most)) => format!("{} to {}{sign}", in_unit(least), in_unit(most)),
        (None, Some(most)) => format!("at most {}{sign}", in_unit(most)),
        (Some(least), None) => format!("at least {}{sign}", in_unit(least)),
        (None, None) => "no limit".to_owned(),
    }
}

fn title(sold: &[&Product]) -> String {
    if sold.is_empty() {
        return NOTHING_SOLD.to_owned();
    }
    let counts: Vec<String> = sold
        .iter()
        .map(|product| {
            let judged = product.standards.iter().filter(|j| j.value.is_some());
            let (all, met) = judged
                .fold((0, 0), |(all, met), j| (all + 1, met + usize::from(j.verdict == Judgement::Pass)));
            format!(
                "{} {} {met} of {all} limits",
                product.name,
                if product.name == "blend" { "meets" } else { "meet" }
            )
        })
        .collect();
    // the limit missed by the largest factor
    let worst = sold
        .iter()
        .flat_map(|product| product.standards.iter().map(move |j| (product.name, j)))
        .filter_map(|(name, j)| Some((name, j, beyond(j)?)))
        .max_by(|a, b| a.2.total_cmp(&b.2));
    let furthest = worst.filter(|w| w.2 > 1.0).map_or(String::new(), |(name, j, factor)| {
        format!(
            "; furthest from its limit: {} ({name}: {} times {})",
            formula(j.limit),
            format_figures(factor, 2),
            off(j)
        )
    });
    let list = counts.join(", ");
    let mut letters = list.chars();
    let list: String = letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect());
    format!("{list}{furthest}.")
}

/// A name with the formulas of oxides in subscripts.
fn formula(text: &str) -> String {
    text.replace("P2O5", "P\u{2082}O\u{2085}").replace("K2O", "K\u{2082}O")
}

/// Factor by which a value lies outside its limits; at most 1 inside them. `None` without a value.
fn beyond(judged: &Judged) -> Option<f64> {
    let value = judged.value.filter(|v| *v > 0.0)?;
    let over = judged.allowed.1.filter(|most| *most > 0.0).map_or(0.0, |most| value / most);
    let under = judged.allowed.0.map_or(0.0, |least| least / value);
    Some(over.max(under))
}

fn off(judged: &Judged) -> &'static str {
    match (judged.value, judged.allowed.1) {
        (Some(value), Some(most)) if value > most => "the maximum",
        _ => "too low",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{sample, sample_draws};

    fn limit(
        name: &'static str,
        value: f64,
        allowed: (Option<f64>, Option<f64>),
        verdict: Judgement,
    ) -> Judged {
        let one = sample::answer().products[0].standards[0].clone();
        Judged { limit: name, value: Some(value), allowed, verdict, ..one }
    }

    #[test]
    fn values_are_multiples_of_their_limit() {
        let mut answer = sample::answer();
        answer.products[0].standards.push(limit(
            "conductivity",
            12.0,
            (Some(1.0), Some(4.0)),
            Judgement::Fail,
        ));
        answer.products[0].standards.push(limit("nitrogen", 0.02, (Some(0.01), None), Judgement::Pass));
        let chart = chart(&answer);
        let Body::Intervals(drawn) = &chart.body else { panic!("intervals") };
        let middle = |row: usize| drawn.rows[row].points[0].map(|p| p.middle);
        assert_eq!(middle(0), Some(19.09 / 20.0));
        assert_eq!(middle(1), Some(3.0));
        assert_eq!(middle(2), Some(2.0));
        assert_eq!(drawn.rows[1].allowed, Some((Some(0.25), Some(1.0))));
        assert_eq!(drawn.rows[2].allowed, Some((Some(1.0), None)));
        assert_eq!(drawn.rows[1].label, "conductivity, 1 to 4");
        assert_eq!(
            chart.title,
            "Castings meet 2 of 3 limits; furthest from its limit: conductivity (castings: 3 times the maximum)."
        );
    }

    #[test]
    fn each_limit_shows_the_range_of_the_draws() {
        let chart = spread(&sample::answer(), &sample_draws::study());
        let Body::Intervals(drawn) = &chart.body else { panic!("intervals") };
        // at most 20; draws 15 (5 %) to 24 (95 %), best estimate 18
        assert_eq!(
            drawn.rows[0].points[0],
            Some(IntervalPoint { interval: Some((0.75, 1.2)), inner: Some((0.8, 1.1)), middle: 0.9 })
        );
        assert_eq!(drawn.rows[0].figures, "18 (15 to 24)");
        assert!(
            chart.title.starts_with("In at least nine of ten draws, castings meet 0 of 1 limits"),
            "{}",
            chart.title
        );
    }

    #[test]
    fn without_a_product_there_is_nothing_to_draw() {
        let mut answer = sample::answer();
        answer.products[0].quality = None;
        assert!(matches!(chart(&answer).body, Body::Nothing(_)));
    }
}
