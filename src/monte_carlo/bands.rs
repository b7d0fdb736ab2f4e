//! Bands by day: counts of draws in narrow bins, so that memory does not grow with the draws and shards add up exactly.

use crate::trace::DayRecord;
use serde::Deserialize;
use serde::Serialize;

/// A daily series with bands.
pub struct Series {
    /// Name in files.
    pub name: &'static str,
    /// Unit.
    pub unit: &'static str,
    of: fn(&DayRecord) -> f64,
    bins: Bins,
}

/// How values fall into bins.
enum Bins {
    /// Bins whose edges grow by 2 %: a quantile is right within 1 %.
    Relative,
    /// Bins of 0.1 from -40 to 90: a quantile is right within 0.05.
    Steps,
}

/// Growth of relative bins.
const GROWTH: f64 = 1.02;
/// Values below this fall in the bin of zero.
const LEAST: f64 = 1e-3;
/// Bins of a series: relative ones reach from 1e-3 to beyond 1e8, steps from -40 to 90.
const BINS: usize = 1300;

/// Every series with bands.
pub const SERIES: [Series; 4] = [
    Series { name: "fed", unit: "kg/d", of: |d| d.fed, bins: Bins::Relative },
    Series { name: "stock", unit: "kg", of: |d| d.stock, bins: Bins::Relative },
    Series { name: "drums_in_use", unit: "1", of: |d| d.drums_in_use, bins: Bins::Relative },
    Series { name: "bed_temperature", unit: "degC", of: |d| d.bed_temperature, bins: Bins::Steps },
];

impl Bins {
    fn place(&self, value: f64) -> usize {
        let real = match self {
            Self::Relative if value < LEAST => return 0,
            Self::Relative => 1.0 + (value / LEAST).ln() / GROWTH.ln(),
            Self::Steps => (value + 40.0) / 0.1,
        };
        let last = (BINS - 1) as f64;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "held between 0 and the last bin"
        )]
        let place = real.clamp(0.0, last) as usize;
        place
    }

    /// The middle of a bin.
    fn value(&self, place: usize) -> f64 {
        match self {
            Self::Relative if place == 0 => 0.0,
            Self::Relative => LEAST * GROWTH.powf(place as f64 - 0.5),
            Self::Steps => -40.0 + 0.1 * (place as f64 + 0.5),
        }
    }
}

/// Counts by series, day and bin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bands {
    days: usize,
    counts: Vec<u32>,
}

/// Filled bins of one series and day, as files carry them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Filled {
    /// Series, by its place in the table.
    pub series: usize,
    /// Day of the run.
    pub day: usize,
    /// Bin and count, in rising order of bins.
    pub counts: Vec<(usize, u32)>,
}

impl Bands {
    /// No draws yet.
    pub fn new(days: usize) -> Self {
        Self { days, counts: vec![0; SERIES.len() * days * BINS] }
    }

    /// Days of the run.
    pub fn days(&self) -> usize {
        self.days
    }

    fn cell(&self, series: usize, day: usize) -> std::ops::Range<usize> {
        let start = (series * self.days + day) * BINS;
        start..start + BINS
    }

    /// Counts a draw in.
    pub fn add(&mut self, daily: &[DayRecord]) {
        for (n, series) in SERIES.iter().enumerate() {
            for (day, record) in daily.iter().enumerate() {
                let cell = self.cell(n, day).start;
                self.counts[cell + series.bins.place((series.of)(record))] += 1;
            }
        }
    }

    /// Adds another set of draws of the same length.
    pub fn merge(&mut self, other: &Self) {
        for (mine, theirs) in self.counts.iter_mut().zip(&other.counts) {
            *mine += theirs;
        }
    }

    /// Quantile `p` of a series on a day: the middle of the bin in which it falls. 0 without draws.
    pub fn quantile(&self, series: usize, day: usize, p: f64) -> f64 {
        let cell = &self.counts[self.cell(series, day)];
        let total: f64 = cell.iter().map(|c| f64::from(*c)).sum();
        let mut below = 0.0;
        for (place, count) in cell.iter().enumerate() {
            below += f64::from(*count);
            if *count > 0 && below >= p * total {
                return SERIES[series].bins.value(place);
            }
        }
        0.0
    }

    /// The filled bins, for a file.
    pub fn filled(&self) -> Vec<Filled> {
        (0..SERIES.len())
            .flat_map(|series| (0..self.days).map(move |day| (series, day)))
            .map(|(series, day)| {
                let cell = &self.counts[self.cell(series, day)];
                let counts = cell.iter().copied().enumerate().filter(|(_, count)| *count > 0).collect();
                Filled { series, day, counts }
            })
            .collect()
    }

    /// Bands from the filled bins of a file; `None` when one lies outside.
    pub fn from_filled(days: usize, filled: &[Filled]) -> Option<Self> {
        let mut bands = Self::new(days);
        for cell in filled {
            if cell.series >= SERIES.len() || cell.day >= days {
                return None;
            }
            let start = bands.cell(cell.series, cell.day).start;
            for (place, count) in &cell.counts {
                if *place >= BINS {
                    return None;
                }
                bands.counts[start + place] += count;
            }
        }
        Some(bands)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn quantiles_are_right_within_a_bin_and_shards_add_up() {
        let day =
            |fed: f64| [DayRecord { fed, bed_temperature: fed / 20.0, ..DayRecord::new(date(2031, 1, 1)) }];
        let (mut whole, mut first, mut second) = (Bands::new(1), Bands::new(1), Bands::new(1));
        for n in 1..=1000 {
            let value = f64::from(n);
            whole.add(&day(value));
            if n % 3 == 0 { first.add(&day(value)) } else { second.add(&day(value)) }
        }
        first.merge(&second);
        assert_eq!(first, whole);
        for (p, exact) in [(0.05, 50.0), (0.5, 500.0), (0.95, 950.0)] {
            assert!((whole.quantile(0, 0, p) / exact - 1.0).abs() < 0.011, "{}", whole.quantile(0, 0, p));
            assert!((whole.quantile(3, 0, p) - exact / 20.0).abs() < 0.1);
        }
        assert_eq!(Bands::from_filled(1, &whole.filled()), Some(whole));
    }
}
