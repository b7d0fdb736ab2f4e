//! The charts of a run whose unknowns were drawn: bands under the central run, spreads of quality, chances of failure.

use super::{Bands, Chart, RUN_CHARTS, chances, quality, run_charts, said_range};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, in_column_unit, rounded};
use crate::study::answer::RunAnswer;
use crate::study::uncertainty::UncertaintyAnswer;

/// File names of the charts of a run with draws, without ending, in the order of [`draws_charts`].
pub const DRAWS_CHARTS: [&str; 10] = {
    let [throughput, stock, drums, beds, carbon, nitrogen, water, quality, gases] = RUN_CHARTS;
    [throughput, stock, drums, beds, carbon, nitrogen, water, quality, gases, "chart_chances"]
};

/// The charts of a run with draws, in the order of [`DRAWS_CHARTS`]; flows and gases are those of the central run alone.
pub fn draws_charts(central: &RunAnswer, study: &UncertaintyAnswer, units: Units) -> Vec<Chart> {
    let bands = Bands::of(study);
    let mut charts = run_charts(central, &bands, units);
    for chart in &mut charts {
        if chart.file == "chart_quality" {
            *chart = quality::spread(central, study);
        } else if let Some(title) = title(&chart.file, central, study, units) {
            chart.title = title;
        }
    }
    charts.push(chances::chart(study, units));
    charts
}

/// 5 % and 95 % point of a figure.
fn ends(study: &UncertaintyAnswer, name: &str) -> Option<(f64, f64)> {
    let figure = study.figures.iter().find(|figure| figure.name == name)?;
    let [low, _, _, _, high] = figure.spread.as_ref()?.quantiles;
    Some((low, high))
}

/// The finding of a chart with bands; none for a chart without.
fn title(file: &str, central: &RunAnswer, study: &UncertaintyAnswer, units: Units) -> Option<String> {
    let mass = |(low, high): (f64, f64)| said_range(Kind::Mass, low, high, units);
    Some(match file {
        "chart_throughput" => format!(
            "In nine of ten draws {} of scraps arrive, {} of feed go on the beds and {} of castings come through the screen.",
            mass(ends(study, "intake")?),
            mass(ends(study, "fed")?),
            mass(ends(study, "castings_screened")?)
        ),
        "chart_stock" => format!(
            "In nine of ten draws the stock ends at {}; the intake needs {}.",
            mass(ends(study, "stock_end")?),
            super::said(Kind::Mass, central.stock.needed_at_ration, units)
        ),
        "chart_drums" => {
            let (low, high) = ends(study, "drums_highest")?;
            let (low, high) = (rounded(low, 3), rounded(high, 3));
            let range = if low == high { low } else { format!("{low} to {high}") };
            format!(
                "At the fullest, {range} drums are in use in nine of ten draws; {} are owned.",
                central.drums.owned
            )
        }
        "chart_beds" => {
            let (low, high) = ends(study, "bed_hottest")?;
            let degrees = |value: f64| rounded(in_column_unit(Kind::Temperature, value, units), 3);
            format!(
                "The hottest spot of any bed reaches {} to {} {} in nine of ten draws.",
                degrees(low),
                degrees(high),
                column_unit(Kind::Temperature, units)
            )
        }
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{sample, sample_draws};

    #[test]
    fn the_charts_of_draws_are_those_named_and_tell_of_draws() {
        let charts = draws_charts(&sample::answer(), &sample_draws::study(), Units::Us);
        let files: Vec<&str> = charts.iter().map(|chart| chart.file.as_str()).collect();
        assert_eq!(files, DRAWS_CHARTS);
        // 90 and 180 kg are 198 and 397 lb
        assert_eq!(
            charts[1].title,
            "In nine of ten draws the stock ends at 198 to 397 lb; the intake needs 331 lb."
        );
        assert!(charts[3].title.contains("to 93.2 °F"), "{}", charts[3].title);
    }
}
