//! Figures against stocking density, first year and settled year in one panel each.

use super::{Body, Chart, ChartLayer, ChartSource, Horizontal, Ink, Mark, Panel, Panels};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, in_column_unit};
use crate::report::pages::density::{advice, first_name, shown, unit_of};
use crate::study::what_if::{Band, Densities, DensityFigure};

/// File name, without ending.
pub(super) const DENSITY: &str = "chart_density";
/// Figures drawn, in order, with a short label.
const DRAWN: [(&str, &str); 5] = [
    ("eaten", "feed eaten per area and day"),
    ("castings_dry", "castings a year, dry"),
    ("stock_end", "worms at the end of the year"),
    ("survival", "lowest stock over the start"),
    ("surplus", "surplus of the year and gain of the stock"),
];

/// The chart of stocking densities.
pub(super) fn chart(of: &Densities, source: ChartSource, units: Units) -> Chart {
    let title =
        advice(of, units).into_iter().next().unwrap_or_else(|| "Figures by stocking density.".to_owned());
    let at = |density: &f64| in_column_unit(Kind::ArealMass, *density, units);
    let at: Vec<f64> = of.densities.iter().map(at).collect();
    let x: Vec<f64> = at.iter().map(|density| Horizontal::place(*density)).collect();
    let panels: Vec<Panel> = DRAWN
        .iter()
        .filter_map(|(name, label)| {
            let figure = of.figures.iter().find(|f| f.name == *name)?;
            Some(panel(of, figure, label, &x, units))
        })
        .collect();
    // starts are tried by doubling; on an even axis the thin ones would crowd
    let label = "worms bought at first (logarithmic axis)".to_owned();
    let unit = column_unit(Kind::ArealMass, units).to_owned();
    let body = match at.len() {
        2.. => Body::Panels(Panels { x: Horizontal::Ratios { label, unit, at }, panels }),
        _ => Body::Nothing("Only one density was tried, so there is no axis to draw against.".to_owned()),
    };
    let later = of.figures.iter().any(|figure| !figure.settled.is_empty());
    let shows = if later {
        format!(
            "Means of the draws in the {} (solid) and in the settled year (dashed) by the density worms were bought at, all per bed area; \
             bands hold 9 of 10 draws, the darker one those of the settled year.",
            first_name(of)
        )
    } else {
        "Means of the draws by the density worms were bought at, all per bed area; bands hold 9 of 10 draws."
            .to_owned()
    };
    let title = title.replace("m2", "m\u{b2}").replace("ft2", "ft\u{b2}");
    Chart { file: DENSITY.to_owned(), title, shows, source, body }
}

fn panel(of: &Densities, figure: &DensityFigure, label: &str, x: &[f64], units: Units) -> Panel {
    let value = |v: f64| shown(figure, v, units);
    let band = |name: &str, ink, bands: &[Band]| {
        let edge = |(at, band): (&f64, &Band)| (*at, value(band.low), value(band.high));
        ChartLayer::new(name, ink, Mark::Area(x.iter().zip(bands).map(edge).collect()))
    };
    let points = |bands: &[Band]| -> Vec<(f64, f64)> {
        x.iter().zip(bands).map(|(at, band)| (*at, value(band.mean))).collect()
    };
    // survival in a settled year is its winter, not its start
    let later = if figure.name == "survival" { &[][..] } else { figure.settled.as_slice() };
    let mut layers = vec![band("", Ink::Wide, &figure.first)];
    if !later.is_empty() {
        layers.push(band("", Ink::Narrow, later));
    }
    layers.push(ChartLayer::new(first_name(of), Ink::Night, Mark::Line(points(&figure.first))));
    layers.push(ChartLayer::new("", Ink::Night, Mark::Dots(points(&figure.first))));
    if !later.is_empty() {
        layers.push(ChartLayer::new("settled year", Ink::Ember, Mark::Line(points(later))));
        layers.push(ChartLayer::new("", Ink::Ember, Mark::Dots(points(later))));
    }
    let is_money = figure.unit == "money/m2";
    Panel {
        label: label.to_owned(),
        unit: unit_of(figure, of, units),
        from_zero: !is_money,
        min_span: 0.0,
        layers,
    }
}
