//! Quantile bands of an ensemble, for charts.

use super::axis::day_of;
use super::weeks::WEEK;
use super::{ChartLayer, Ink, Mark};
use crate::study::uncertainty::{DayBand, SeriesBands, UncertaintyAnswer};
use jiff::civil::Date;

/// Quantiles of a figure over an ensemble by date, in the unit of the figure. All lists have the same length.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ChartBand {
    /// Dates, in order.
    pub dates: Vec<Date>,
    /// 5 % quantile.
    pub p5: Vec<f64>,
    /// 25 % quantile.
    pub p25: Vec<f64>,
    /// Median.
    pub p50: Vec<f64>,
    /// 75 % quantile.
    pub p75: Vec<f64>,
    /// 95 % quantile.
    pub p95: Vec<f64>,
}

/// The bands of the charts of a run. A band that is `None` is not drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ChartBands {
    /// Number of draws; 0 without bands.
    pub draws: usize,
    /// Seed of those draws.
    pub seed: u64,
    /// Scraps delivered, by the first day of the week, kg per week.
    pub intake: Option<ChartBand>,
    /// Feed laid on beds, by the first day of the week, kg per week.
    pub fed: Option<ChartBand>,
    /// Castings harvested, by the first day of the week, kg per week.
    pub harvested: Option<ChartBand>,
    /// Live worms by day, kg.
    pub stock: Option<ChartBand>,
    /// Number of drums in use by day.
    pub drums_in_use: Option<ChartBand>,
    /// Mean bed temperature by day, °C.
    pub bed_temperature: Option<ChartBand>,
    /// Mean moisture of beds by day, kg/kg.
    pub bed_moisture: Option<ChartBand>,
}

impl ChartBands {
    /// The bands of a study. Weekly sums come from the means over seven days.
    pub fn of(answer: &UncertaintyAnswer) -> Self {
        let find = |name: &str| answer.bands.iter().find(|series| series.name == name);
        let by_day = |name: &str| find(name).map(ChartBand::by_day);
        let by_week = |name: &str| find(name).map(ChartBand::by_week);
        Self {
            draws: answer.answered,
            seed: answer.seed,
            intake: by_week("intake_mean_of_7_days"),
            fed: by_week("fed_mean_of_7_days"),
            harvested: by_week("harvested_mean_of_7_days"),
            stock: by_day("stock"),
            drums_in_use: by_day("drums_in_use"),
            bed_temperature: by_day("bed_temperature"),
            bed_moisture: by_day("bed_moisture"),
        }
    }

    /// Whether there are bands.
    pub(super) fn are_given(&self) -> bool {
        self.draws > 0
    }
}

impl ChartBand {
    fn by_day(series: &SeriesBands) -> Self {
        let mut band = Self::default();
        for day in &series.days {
            band.push(day.date, day, 1.0);
        }
        band
    }

    /// Sums of full weeks, from means over the seven days up to each day.
    fn by_week(series: &SeriesBands) -> Self {
        let mut band = Self::default();
        for week in series.days.chunks_exact(WEEK) {
            band.push(week[0].date, &week[WEEK - 1], WEEK as f64);
        }
        band
    }

    fn push(&mut self, date: Date, day: &DayBand, factor: f64) {
        self.dates.push(date);
        let [p5, p25, p50, p75, p95] = day.quantiles.map(|value| factor * value);
        self.p5.push(p5);
        self.p25.push(p25);
        self.p50.push(p50);
        self.p75.push(p75);
        self.p95.push(p95);
    }

    /// The two bands and the median as layers, the outer band first. Positions are days since `first` plus `shift`; `unit` converts values.
    pub fn layers(&self, first: Date, shift: f64, unit: impl Fn(f64) -> f64) -> Vec<ChartLayer> {
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
            ChartLayer::new("9 draws in 10", Ink::Wide, between(&self.p5, &self.p95)),
            ChartLayer::new("half of the draws", Ink::Narrow, between(&self.p25, &self.p75)),
            ChartLayer::new("median draw", Ink::Slate, middle),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_week_is_seven_times_the_mean_on_its_last_day() {
        let days = (1..=15).map(|n| DayBand {
            date: date(2031, 1, n),
            quantiles: [0.1, 0.2, 0.3, 0.4, 0.5].map(|p| p * f64::from(n)),
        });
        let series = SeriesBands { name: "fed", unit: "kg/d", days: days.collect() };
        let band = ChartBand::by_week(&series);
        assert_eq!(band.dates, [date(2031, 1, 1), date(2031, 1, 8)]);
        // days 7 and 14 hold the means of the two full weeks
        assert!((band.p5[0] - 4.9).abs() < 1e-12 && (band.p95[1] - 49.0).abs() < 1e-12, "{band:?}");
        assert_eq!(ChartBand::by_day(&series).p50.len(), 15);
    }

    #[test]
    fn bands_become_areas_at_their_dates_in_the_readers_unit() {
        let band = ChartBand {
            dates: vec![date(2031, 1, 1), date(2031, 1, 8)],
            p5: vec![1.0, 2.0],
            p25: vec![2.0, 3.0],
            p50: vec![3.0, 4.0],
            p75: vec![4.0, 5.0],
            p95: vec![5.0, 6.0],
        };
        let layers = band.layers(date(2031, 1, 1), 3.5, |v| 10.0 * v);
        assert_eq!(layers[0].mark, Mark::Area(vec![(3.5, 10.0, 50.0), (10.5, 20.0, 60.0)]));
        assert_eq!(layers[1].mark, Mark::Area(vec![(3.5, 20.0, 40.0), (10.5, 30.0, 50.0)]));
        assert_eq!(layers[2].mark, Mark::Line(vec![(3.5, 30.0), (10.5, 40.0)]));
    }
}
