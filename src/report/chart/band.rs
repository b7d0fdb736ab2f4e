//! Bands of an ensemble, as charts take them.

use super::Ink;
use super::Layer;
use super::Mark;
use super::axis::day_of;
use jiff::civil::Date;

/// Quantiles of a figure over an ensemble, by date. All lists are of one length.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Band {
    /// Dates.
    pub dates: Vec<Date>,
    /// One draw in twenty lies below.
    pub p5: Vec<f64>,
    /// One in four lies below.
    pub p25: Vec<f64>,
    /// Half lie below.
    pub p50: Vec<f64>,
    /// Three in four lie below.
    pub p75: Vec<f64>,
    /// Nineteen in twenty lie below.
    pub p95: Vec<f64>,
}

/// The bands of the charts of a run; each is drawn where it is given.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bands {
    /// Number of draws they rest on.
    pub draws: usize,
    /// Scraps that arrive, by the first day of the week. # Units: kg per week
    pub intake: Option<Band>,
    /// Feed laid on beds, by the first day of the week. # Units: kg per week
    pub fed: Option<Band>,
    /// Castings harvested, by the first day of the week. # Units: kg per week
    pub harvested: Option<Band>,
    /// Live worms by day. # Units: kg
    pub stock: Option<Band>,
    /// Drums in use by day. # Units: 1
    pub drums_in_use: Option<Band>,
    /// Mean bed temperature by day. # Units: °C
    pub bed_temperature: Option<Band>,
}

impl Band {
    /// The two bands and the median as layers, the outer band first. Positions are days since `first` plus `shift`; values pass through `unit`.
    pub fn layers(&self, what: &str, first: Date, shift: f64, unit: impl Fn(f64) -> f64) -> Vec<Layer> {
        let between = |low: &[f64], high: &[f64]| {
            let edges = self.dates.iter().zip(low).zip(high);
            Mark::Area(
                edges
                    .map(|((date, low), high)| (day_of(first, *date) + shift, unit(*low), unit(*high)))
                    .collect(),
            )
        };
        let middle = self.dates.iter().zip(&self.p50);
        let middle =
            Mark::Line(middle.map(|(date, value)| (day_of(first, *date) + shift, unit(*value))).collect());
        vec![
            Layer::new(format!("{what}: 9 draws in 10"), Ink::Wide, between(&self.p5, &self.p95)),
            Layer::new(format!("{what}: half of the draws"), Ink::Narrow, between(&self.p25, &self.p75)),
            Layer::new(format!("{what}: median draw"), Ink::Slate, middle),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn bands_become_areas_at_their_dates_in_the_unit_asked() {
        let band = Band {
            dates: vec![date(2031, 1, 1), date(2031, 1, 8)],
            p5: vec![1.0, 2.0],
            p25: vec![2.0, 3.0],
            p50: vec![3.0, 4.0],
            p75: vec![4.0, 5.0],
            p95: vec![5.0, 6.0],
        };
        let layers = band.layers("fed", date(2031, 1, 1), 3.5, |v| 10.0 * v);
        assert_eq!(layers[0].mark, Mark::Area(vec![(3.5, 10.0, 50.0), (10.5, 20.0, 60.0)]));
        assert_eq!(layers[1].mark, Mark::Area(vec![(3.5, 20.0, 40.0), (10.5, 30.0, 50.0)]));
        assert_eq!(layers[2].mark, Mark::Line(vec![(3.5, 30.0), (10.5, 40.0)]));
    }
}
