//! Gases of the whole run per tonne of scraps taken in. The daily record holds carbon dioxide only, so there is no monthly chart.

use super::intervals::{IntervalPoint, IntervalRow, Intervals};
use super::{Body, Chart, ChartBands, Ink, source};
use crate::quantity::{Kind, Units, format_figures};
use crate::report::number::{column_unit, in_column_unit};
use crate::study::answer::RunAnswer;

/// The mass to which emissions are related: its name, the unit of emissions per mass, and its size, kg.
fn basis(units: Units) -> (&'static str, &'static str, f64) {
    match units {
        Units::Si => ("tonne", "kg/t", 1000.0),
        Units::Us => ("thousand pounds", "lb per 1000 lb", 453.592_37),
    }
}

pub(super) fn chart(answer: &RunAnswer, units: Units) -> Chart {
    let taken: f64 = answer.daily.iter().map(|d| d.intake - d.turned_away).sum();
    let (per, unit, _) = basis(units);
    let g = &answer.gases;
    let gases = [
        ("carbon dioxide", g.carbon_dioxide),
        ("water vapour", g.water_vapour),
        ("dinitrogen", g.dinitrogen),
        ("methane", g.methane),
        ("ammonia", g.ammonia),
        ("nitrous oxide", g.nitrous_oxide),
        ("hydrogen", g.hydrogen),
    ];
    let mut emitted: Vec<(&str, f64)> = gases.into_iter().filter(|(_, kg)| *kg > 0.0).collect();
    emitted.sort_by(|a, b| b.1.total_cmp(&a.1));
    let rows: Vec<IntervalRow> = emitted.iter().map(|(name, kg)| row(name, *kg, taken, units)).collect();
    let body = if taken <= 0.0 || rows.is_empty() {
        Body::Nothing("No scraps were taken in, so emissions per tonne are undefined.".to_owned())
    } else {
        Body::Intervals(Intervals {
            label: format!("emissions per {per} of scraps taken in"),
            unit: unit.to_owned(),
            log: true,
            from_zero: false,
            reference: None,
            series: vec![("gas".to_owned(), Ink::Night)],
            allowed: None,
            rows,
        })
    };
    Chart {
        file: "chart_gases".to_owned(),
        title: title(answer, taken, units),
        shows: "Gases from drums, bran, beds, screen and curing over the whole run, on a logarithmic scale."
            .to_owned(),
        source: source(answer, &ChartBands::default()),
        body,
    }
}

fn row(name: &str, kg: f64, taken: f64, units: Units) -> IntervalRow {
    let (_, unit, mass) = basis(units);
    let shown = in_column_unit(Kind::Mass, kg * mass / taken.max(f64::MIN_POSITIVE), units);
    IntervalRow {
        group: String::new(),
        label: name.to_owned(),
        figures: format!("{} {unit}", format_figures(shown, 3)),
        allowed: None,
        points: vec![Some(IntervalPoint { interval: None, inner: None, middle: shown })],
    }
}

fn title(answer: &RunAnswer, taken: f64, units: Units) -> String {
    if taken <= 0.0 {
        return "No scraps are taken in.".to_owned();
    }
    let (whole, _, mass) = basis(units);
    let per = |kg: f64| {
        let shown = in_column_unit(Kind::Mass, kg * mass / taken, units);
        format!("{} {}", format_figures(shown, 2), column_unit(Kind::Mass, units))
    };
    let g = &answer.gases;
    format!(
        "Each {whole} of scraps emits {} of carbon dioxide, {} of ammonia, {} of methane and {} of nitrous oxide.",
        per(g.carbon_dioxide),
        per(g.ammonia),
        per(g.methane),
        per(g.nitrous_oxide)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn emissions_are_per_tonne_taken_in() {
        let mut answer = sample::answer();
        answer.daily[0].intake = 500.0;
        answer.gases.ammonia = 2.0;
        let chart = chart(&answer, Units::Si);
        let Body::Intervals(drawn) = &chart.body else { panic!("intervals") };
        let labels: Vec<&str> = drawn.rows.iter().map(|row| row.label.as_str()).collect();
        assert_eq!(labels, ["carbon dioxide", "ammonia"]);
        assert_eq!(drawn.rows[1].points[0].map(|p| p.middle), Some(4.0));
        assert_eq!(drawn.rows[0].figures, "1830 kg/t");
        assert!(chart.title.contains("4 kg of ammonia"), "{}", chart.title);
    }
}
