//! Lines over a plain number, such as the chance of failure over the size of a part.

use super::{Body, Chart, Horizontal, Ink, Layer, Mark, Panel, Panels, Source};

/// Lines over a plain number.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// File name without ending.
    pub file: String,
    /// The finding in one sentence.
    pub title: String,
    /// What is drawn, with what a reader must know to read it.
    pub shows: String,
    /// Where it comes from: scenario, dates, basis, version.
    pub source: Source,
    /// What the horizontal axis measures, and its unit.
    pub x: (String, String),
    /// What the vertical axis measures, and its unit.
    pub y: (String, String),
    /// Whether the vertical axis begins at zero.
    pub from_zero: bool,
    /// Lines, in the order of the key.
    pub lines: Vec<CurveLine>,
    /// Levels to compare with, such as an accepted chance.
    pub levels: Vec<(String, f64)>,
}

/// A line, with an interval at each of its points where one is known.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveLine {
    /// Name in the key.
    pub name: String,
    /// Its points, by rising position.
    pub points: Vec<CurvePoint>,
}

/// Position, value, and the low and high end of the interval of the value; none where it is not known.
pub type CurvePoint = (f64, f64, Option<(f64, f64)>);

/// Inks of lines in turn; levels are dotted.
const INKS: [Ink; 3] = [Ink::Night, Ink::Ember, Ink::Sky];

impl Curve {
    /// The chart; without points it says so.
    pub fn chart(self) -> Chart {
        let Self { file, title, shows, source, x, y, from_zero, lines, levels } = self;
        let positions = || lines.iter().flat_map(|line| line.points.iter().map(|p| p.0));
        let (from, to) =
            positions().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        if !from.is_finite() || !to.is_finite() {
            let body = Body::Nothing("There is no point to draw.".to_owned());
            return Chart { file, title, shows, source, body };
        }
        let mut layers = Vec::new();
        for line in &lines {
            let band: Vec<_> =
                line.points.iter().filter_map(|(at, _, i)| i.map(|(low, high)| (*at, low, high))).collect();
            if !band.is_empty() {
                layers.push(Layer::new(format!("{}: interval", line.name), Ink::Wide, Mark::Area(band)));
            }
        }
        for (line, ink) in lines.iter().zip(INKS.into_iter().cycle()) {
            let points: Vec<_> = line.points.iter().map(|p| (p.0, p.1)).collect();
            layers.push(Layer::new(line.name.clone(), ink, Mark::Line(points.clone())));
            layers.push(Layer::new("", ink, Mark::Dots(points)));
        }
        layers
            .extend(levels.into_iter().map(|(name, level)| Layer::new(name, Ink::Slate, Mark::Level(level))));
        let panel = Panel { label: y.0, unit: y.1, from_zero, least_span: 0.0, layers };
        let x = Horizontal::Numbers { label: x.0, unit: x.1, from, to };
        Chart { file, title, shows, source, body: Body::Panels(Panels { x, panels: vec![panel] }) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_has_its_interval_below_and_its_points_upon_it() {
        let curve = Curve {
            file: "chart_drums_needed".to_owned(),
            title: "Sixty drums are enough in 19 of 20 draws.".to_owned(),
            shows: "Chance that a delivery finds no drum.".to_owned(),
            source: Source { name: "Sample Shed".to_owned(), rest: "1000 draws".to_owned() },
            x: ("drums".to_owned(), String::new()),
            y: ("chance of failure".to_owned(), "%".to_owned()),
            from_zero: true,
            lines: vec![CurveLine {
                name: "any failure".to_owned(),
                points: vec![(40.0, 30.0, Some((25.0, 36.0))), (60.0, 4.0, Some((2.0, 7.0)))],
            }],
            levels: vec![("accepted".to_owned(), 5.0)],
        };
        let Body::Panels(panels) = curve.chart().body else { panic!("panels") };
        assert_eq!(
            panels.x,
            Horizontal::Numbers { label: "drums".to_owned(), unit: String::new(), from: 40.0, to: 60.0 }
        );
        let layers = &panels.panels[0].layers;
        assert_eq!(layers[0].mark, Mark::Area(vec![(40.0, 25.0, 36.0), (60.0, 2.0, 7.0)]));
        assert_eq!(layers[1].mark, Mark::Line(vec![(40.0, 30.0), (60.0, 4.0)]));
        assert_eq!(layers[3].mark, Mark::Level(5.0));
        assert!((panels.panels[0].scale().to - 40.0).abs() < 1e-9);
    }
}
