//! Bands by day: counts of draws in narrow bins, so that memory does not grow with the draws and shards add up exactly.

use crate::trace::DayRecord;
use serde::{Deserialize, Serialize};

/// A daily series with bands.
pub struct Series {
    /// Name in files.
    pub name: &'static str,
    /// Unit of its values, SI.
    pub unit: &'static str,
    of: fn(&DayRecord) -> f64,
    /// Days, up to and with the day, over which a mean is taken.
    over: usize,
    bins: Bins,
}

/// How values fall into bins.
enum Bins {
    /// Bins whose edges grow by 2 %: a quantile is right within 2 %.
    Relative,
    /// Bins of 0.1 from -40 to 90: a quantile is right within 0.1.
    Steps,
    /// Bins of 0.001 from 0 to 1.3: a quantile is right within 0.001.
    Shares,
    /// A bin for each whole number below 700, from there on bins that grow by 2 %.
    Whole,
}

/// Growth of relative bins. Our choice.
const GROWTH: f64 = 1.02;
/// Values below this, in the unit of the series, fall in the bin of zero. Our choice.
const LEAST: f64 = 1e-3;
/// Whole numbers with bins of their own. Our choice.
const WHOLE: f64 = 700.0;
/// Bins of a series: relative ones reach from 1e-3 to beyond 1e8, steps from -40 to 90, shares to 1.3.
const BINS: usize = 1300;

/// Days over which a mean is taken of what does not happen every day: intake, feed and harvest. Our choice.
pub const WEEK: usize = 7;

/// Every series with bands. Scraps arrive, beds are fed and castings taken on some weekdays only, so these are means over a week.
pub const SERIES: [Series; 7] = [
    Series { name: "fed_mean_of_7_days", unit: "kg/d", of: |d| d.fed, over: WEEK, bins: Bins::Relative },
    Series { name: "stock", unit: "kg", of: |d| d.stock, over: 1, bins: Bins::Relative },
    Series { name: "drums_in_use", unit: "1", of: |d| d.drums_in_use, over: 1, bins: Bins::Whole },
    Series { name: "bed_temperature", unit: "°C", of: |d| d.bed_temperature, over: 1, bins: Bins::Steps },
    Series { name: "bed_moisture", unit: "kg/kg", of: |d| d.bed_moisture, over: 1, bins: Bins::Shares },
    Series {
        name: "intake_mean_of_7_days",
        unit: "kg/d",
        of: |d| d.intake,
        over: WEEK,
        bins: Bins::Relative,
    },
    Series {
        name: "harvested_mean_of_7_days",
        unit: "kg/d",
        of: |d| d.harvested,
        over: WEEK,
        bins: Bins::Relative,
    },
];

impl Series {
    /// The value of each day: the mean over the days up to it, [`WEEK`] of them (fewer at the start) or one.
    pub fn values(&self, daily: &[DayRecord]) -> Vec<f64> {
        // a day's record is large: numbers that are read several times lie beside each other here
        let numbers: Vec<f64> = daily.iter().map(self.of).collect();
        let mean_to = |day: usize| {
            let days = &numbers[(day + 1).saturating_sub(self.over)..=day];
            days.iter().sum::<f64>() / days.len() as f64
        };
        (0..numbers.len()).map(mean_to).collect()
    }
}

impl Bins {
    fn place(&self, value: f64) -> u16 {
        let real = match self {
            // the logarithm of 0 is below every bin
            Self::Relative => 1.0 + (value / LEAST).ln() / GROWTH.ln(),
            Self::Steps => (value + 40.0) / 0.1,
            Self::Shares => value / 0.001,
            Self::Whole if value < WHOLE => value + 0.5,
            Self::Whole => WHOLE + (value / WHOLE).ln() / GROWTH.ln(),
        };
        let last = (BINS - 1) as f64;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "held between 0 and the last bin"
        )]
        let place = real.clamp(0.0, last) as u16;
        place
    }

    /// The value at a part of a bin, 0 to 1; that of whole numbers is the number itself.
    fn value(&self, place: usize, part: f64) -> f64 {
        let at = place as f64 + part;
        match self {
            Self::Relative if place == 0 => 0.0,
            Self::Relative => LEAST * GROWTH.powf(at - 1.0),
            Self::Steps => -40.0 + 0.1 * at,
            Self::Shares => 0.001 * at,
            Self::Whole if (place as f64) < WHOLE => place as f64,
            Self::Whole => WHOLE * GROWTH.powf(at - WHOLE),
        }
    }
}

/// The bins that a draw fills, by series and day: some kilobytes, where the records of its days take thirty times as many.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DrawBins(Vec<u16>);

impl DrawBins {
    /// Those of the days of a draw.
    pub fn of(daily: &[DayRecord]) -> Self {
        let of_series =
            |series: &'static Series| series.values(daily).into_iter().map(|value| series.bins.place(value));
        Self(SERIES.iter().flat_map(of_series).collect())
    }
}

/// Counts of draws by series, day and bin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayCounts {
    days: usize,
    counts: Vec<u32>,
}

/// Filled bins of one series and day, as files carry them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FilledBins {
    /// Series, by its place in [`SERIES`].
    pub series: usize,
    /// Day of the run, from 0.
    pub day: usize,
    /// Bin, from 0, and number of draws in it, in rising order of bins; empty bins are left out.
    pub counts: Vec<(usize, u32)>,
}

impl DayCounts {
    /// Counts of a run of so many days, without draws.
    pub fn new(days: usize) -> Self {
        Self { days, counts: vec![0; SERIES.len() * days * BINS] }
    }

    /// Number of days of the run.
    pub fn days(&self) -> usize {
        self.days
    }

    fn cell(&self, series: usize, day: usize) -> std::ops::Range<usize> {
        let start = (series * self.days + day) * BINS;
        start..start + BINS
    }

    /// Adds draws. The loop runs day by day: the counts of a day lie together in memory, those of a draw far apart.
    ///
    /// # Panics
    /// When a draw does not have the days of the run.
    pub fn add(&mut self, draws: &[DrawBins]) {
        assert!(draws.iter().all(|draw| draw.0.len() == SERIES.len() * self.days), "all days of the run");
        for (cell, counts) in self.counts.chunks_exact_mut(BINS).enumerate() {
            for draw in draws {
                counts[usize::from(draw.0[cell])] += 1;
            }
        }
    }

    /// Adds the counts of other draws of a run of the same length.
    pub fn merge(&mut self, other: &Self) {
        for (mine, theirs) in self.counts.iter_mut().zip(&other.counts) {
            *mine += theirs;
        }
    }

    /// Quantiles of a series on a day, at `levels` from low to high, each 0 to 1: as far into the bin in which one falls as draws of
    /// that bin lie below. 0 without draws.
    ///
    /// # Units
    /// Those of the series.
    ///
    /// # Panics
    /// On an unknown series or day.
    pub fn quantiles<const N: usize>(&self, series: usize, day: usize, levels: [f64; N]) -> [f64; N] {
        let cell = &self.counts[self.cell(series, day)];
        let total = cell.iter().map(|c| u64::from(*c)).sum::<u64>() as f64;
        let mut found = [0.0; N];
        let mut open = found.iter_mut().zip(levels.map(|p| p * total)).peekable();
        let mut below = 0.0;
        for (place, count) in cell.iter().enumerate().filter(|(_, count)| **count > 0) {
            let inside = f64::from(*count);
            while let Some((quantile, before)) = open.next_if(|(_, before)| below + inside >= *before) {
                // the draws of a bin lie evenly in it, a single one in its middle
                let part = (before - below - 0.5) / inside;
                *quantile = SERIES[series].bins.value(place, part.clamp(0.0, 1.0));
            }
            below += inside;
        }
        found
    }

    /// The filled bins of every series and day, for a file.
    pub fn filled(&self) -> Vec<FilledBins> {
        (0..SERIES.len())
            .flat_map(|series| (0..self.days).map(move |day| (series, day)))
            .map(|(series, day)| {
                let cell = &self.counts[self.cell(series, day)];
                let counts = cell.iter().copied().enumerate().filter(|(_, count)| *count > 0).collect();
                FilledBins { series, day, counts }
            })
            .collect()
    }

    /// Counts from the filled bins of a file. None if one lies outside of series, days or bins.
    pub fn from_filled(days: usize, filled: &[FilledBins]) -> Option<Self> {
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
    fn whole_numbers_are_kept_and_large_ones_are_right_within_a_hundredth() {
        for n in [0_u32, 1, 43, 699, 700, 5000, 100_000] {
            let value = f64::from(n);
            let kept = Bins::Whole.value(usize::from(Bins::Whole.place(value)), 0.5);
            let allowed = if n < 700 { 0.0 } else { 0.011 * value };
            assert!((kept - value).abs() <= allowed, "{n}: {kept}");
        }
    }

    #[test]
    fn the_middle_of_a_bin_of_shares_is_right_within_half_a_thousandth() {
        for share in [0.0, 0.5, 0.7234, 0.8651, 1.0] {
            let kept = Bins::Shares.value(usize::from(Bins::Shares.place(share)), 0.5);
            assert!((kept - share).abs() <= 0.0005 + 1e-12, "{share}: {kept}");
        }
    }

    #[test]
    fn each_series_is_that_of_its_name() {
        let day = DayRecord {
            fed: 1.0,
            stock: 2.0,
            drums_in_use: 3.0,
            bed_temperature: 4.0,
            bed_moisture: 5.0,
            intake: 6.0,
            harvested: 7.0,
            ..DayRecord::new(date(2031, 1, 1))
        };
        for (name, by_hand) in [
            ("fed_mean_of_7_days", 1.0),
            ("stock", 2.0),
            ("drums_in_use", 3.0),
            ("bed_temperature", 4.0),
            ("bed_moisture", 5.0),
            ("intake_mean_of_7_days", 6.0),
            ("harvested_mean_of_7_days", 7.0),
        ] {
            let series = SERIES.iter().find(|series| series.name == name).expect(name);
            assert!((series.values(std::slice::from_ref(&day))[0] - by_hand).abs() < 1e-12, "{name}");
        }
    }

    #[test]
    fn feed_is_a_mean_over_the_week_so_far() {
        let daily: Vec<DayRecord> =
            (1..=9).map(|n| DayRecord { fed: f64::from(n), ..DayRecord::new(date(2031, 1, 1)) }).collect();
        assert!((SERIES[0].values(&daily)[1] - 1.5).abs() < 1e-12);
        assert!((SERIES[0].values(&daily)[8] - 6.0).abs() < 1e-12);
    }

    #[test]
    fn quantiles_are_right_within_a_bin_and_shards_add_up() {
        let day = |fed: f64| {
            DrawBins::of(&[DayRecord {
                fed,
                bed_temperature: fed / 20.0,
                ..DayRecord::new(date(2031, 1, 1))
            }])
        };
        let (mut whole, mut first, mut second) = (DayCounts::new(1), DayCounts::new(1), DayCounts::new(1));
        for n in 1..=1000 {
            let value = f64::from(n);
            whole.add(&[day(value)]);
            if n % 3 == 0 { first.add(&[day(value)]) } else { second.add(&[day(value)]) }
        }
        first.merge(&second);
        assert_eq!(first, whole);
        for (p, exact) in [(0.05, 50.0), (0.5, 500.0), (0.95, 950.0)] {
            let ([fed], [warm]) = (whole.quantiles(0, 0, [p]), whole.quantiles(3, 0, [p]));
            assert!((fed / exact - 1.0).abs() < 0.011, "{fed}");
            assert!((warm - exact / 20.0).abs() < 0.1);
        }
        assert_eq!(DayCounts::from_filled(1, &whole.filled()), Some(whole));
    }

    #[test]
    fn what_lies_beyond_the_bins_is_in_the_first_or_the_last_and_nothing_is_exactly_nothing() {
        for (bins, low, high) in [
            (Bins::Relative, [-1.0, 0.0, 0.000_999], 1e300),
            (Bins::Steps, [-1e6, -40.0, -39.91], 1e6),
            (Bins::Shares, [-1.0, 0.0, 0.000_9], 2.0),
            (Bins::Whole, [-1.0, 0.0, 0.49], 1e300),
        ] {
            assert_eq!(low.map(|value| bins.place(value)), [0; 3]);
            assert_eq!(bins.place(high), 1299);
        }
        assert_eq!((Bins::Relative.place(0.001_001), Bins::Relative.value(0, 0.5)), (1, 0.0));
    }

    #[test]
    fn filled_bins_outside_series_days_or_bins_are_none() {
        let bands = |series, day, place| {
            let filled = [FilledBins { series, day, counts: vec![(place, 1)] }];
            DayCounts::from_filled(2, &filled).map(|bands| bands.days())
        };
        assert_eq!(bands(6, 1, 1299), Some(2));
        assert_eq!([bands(7, 1, 0), bands(0, 2, 0), bands(0, 0, 1300)], [None; 3]);
    }
}
