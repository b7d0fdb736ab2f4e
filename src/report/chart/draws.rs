//! The charts of a run with draws: bands under the best-estimate run, ranges of quality, chances of failure.

use super::{Chart, ChartBands, RUN_CHARTS, chances, format_range, quality, run_chart};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, format_figures, in_column_unit};
use crate::study::answer::RunAnswer;
use crate::study::uncertainty::UncertaintyAnswer;

/// File names of the charts of a run with draws, without ending, in the order of [`draws_charts`].
pub const DRAWS_CHARTS: [&str; 10] = {
    let [throughput, stock, drums, beds, carbon, nitrogen, water, quality, gases] = RUN_CHARTS;
    [throughput, stock, drums, beds, carbon, nitrogen, water, quality, gases, "chart_chances"]
};

/// The charts of a run with draws, in the order of [`DRAWS_CHARTS`]. Flows and gases are those of the best-estimate run.
pub fn draws_charts(best: &RunAnswer, study: &UncertaintyAnswer, units: Units) -> Vec<Chart> {
    let bands = ChartBands::of(study);
    DRAWS_CHARTS.into_iter().filter_map(|file| draws_chart(file, best, (study, &bands), units)).collect()
}

/// One of them by its file name, with the bands of the study. `None` if no chart of a run with draws has that name.
pub(in crate::report) fn draws_chart(
    file: &str,
    best: &RunAnswer,
    (study, bands): (&UncertaintyAnswer, &ChartBands),
    units: Units,
) -> Option<Chart> {
    match file {
        "chart_quality" => Some(quality::spread(best, study)),
        "chart_chances" => Some(chances::chart(study, units)),
        _ => {
            let mut chart = run_chart(file, best, bands, units)?;
            if let Some(title) = title(file, best, study, units) {
                chart.title = title;
            }
            Some(chart)
        }
    }
}

/// 5 % and 95 % quantile of a figure.
fn ends(study: &UncertaintyAnswer, name: &str) -> Option<(f64, f64)> {
    let figure = study.figures.iter().find(|figure| figure.name == name)?;
    let [low, _, _, _, high] = figure.spread.as_ref()?.quantiles;
    Some((low, high))
}

/// The finding of a chart with bands. `None` if the chart has none.
fn title(file: &str, best: &RunAnswer, study: &UncertaintyAnswer, units: Units) -> Option<String> {
    let mass = |(low, high): (f64, f64)| format_range(Kind::Mass, low, high, units);
    Some(match file {
        "chart_throughput" => format!(
            "In nine of ten draws, {} of scraps arrive, {} of feed are laid on the beds and {} of castings are screened.",
            mass(ends(study, "intake")?),
            mass(ends(study, "fed")?),
            mass(ends(study, "castings_screened")?)
        ),
        "chart_stock" => format!(
            "In nine of ten draws, the worm stock ends at {}; the intake requires {}.",
            mass(ends(study, "stock_end")?),
            super::format_quantity(Kind::Mass, best.stock.needed_at_ration, units)
        ),
        "chart_drums" => {
            let (low, high) = ends(study, "drums_highest")?;
            let (low, high) = (format_figures(low, 3), format_figures(high, 3));
            let range = if low == high { low } else { format!("{low} to {high}") };
            format!(
                "In nine of ten draws, {range} drums are in use at the peak; {} are owned.",
                best.drums.owned
            )
        }
        "chart_beds" => {
            let (low, high) = ends(study, "bed_hottest")?;
            let degrees = |value: f64| format_figures(in_column_unit(Kind::Temperature, value, units), 3);
            format!(
                "In nine of ten draws, the hottest spot of any bed reaches {} to {} {}.",
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
    fn a_run_with_draws_gives_the_charts_that_are_listed() {
        let charts = draws_charts(&sample::answer(), &sample_draws::study(), Units::Us);
        let files: Vec<&str> = charts.iter().map(|chart| chart.file.as_str()).collect();
        assert_eq!(files, DRAWS_CHARTS);
        // 90 and 180 kg are 198 and 397 lb
        assert_eq!(
            charts[1].title,
            "In nine of ten draws, the worm stock ends at 198 to 397 lb; the intake requires 331 lb."
        );
        assert!(charts[3].title.contains("to 93.2 °F"), "{}", charts[3].title);
    }
}
