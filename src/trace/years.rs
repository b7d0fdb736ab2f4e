//! Whole years of a run beside each other, and whether they still differ.

use super::{DayRecord, Flow, Holder, Trace};
use crate::matter::Element;
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

/// Days of a year. Years are counted from the first day of the run.
pub const YEAR: usize = 365;

/// Share of the mean stock of the first year below which the stock has died out. Source: our choice.
const DIED_OUT: f64 = 0.01;

/// Sums of a whole year.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct YearSums {
    /// Number of the year, from 1.
    pub year: usize,
    /// Its first day.
    #[schemars(with = "String")]
    pub start: Date,
    /// Scraps that arrived, kg.
    pub intake: f64,
    /// Part of them turned away, kg.
    pub turned_away: f64,
    /// Paste with bulking laid on beds, kg.
    pub fed: f64,
    /// Feed eaten, as wet feed of 80 % water, kg.
    pub eaten: f64,
    /// Worms, mean over the nights, kg live.
    pub stock_mean: f64,
    /// Worms on the last night, kg live.
    pub stock_end: f64,
    /// Castings harvested, dry matter, kg.
    pub castings_dry: f64,
    /// Castings and blend sold, kg.
    pub product_sold: f64,
    /// Water added to beds, kg.
    pub water_added: f64,
    /// Water drained from beds, kg.
    pub drained: f64,
    /// Salt held in beds on the last night, kg.
    pub salt_held: f64,
}

impl YearSums {
    /// Name and unit of each column of a file of years, in order.
    pub const FIELDS: [(&'static str, &'static str); 13] = [
        ("year", "1"),
        ("start", "date"),
        ("intake", "kg"),
        ("turned_away", "kg"),
        ("fed", "kg"),
        ("eaten", "kg"),
        ("stock_mean", "kg live"),
        ("stock_end", "kg live"),
        ("castings_dry", "kg"),
        ("product_sold", "kg"),
        ("water_added", "kg"),
        ("drained", "kg"),
        ("salt_held", "kg"),
    ];

    /// The sums of a year, numbered from 1, from what it left behind.
    pub fn of(year: usize, trace: &Trace) -> Self {
        let sum = |of: fn(&DayRecord) -> f64| trace.daily.iter().map(of).sum::<f64>();
        let sold = |flow| trace.ledger.matter(flow).wet();
        Self {
            year,
            start: trace.daily.first().map_or(Date::MIN, |day| day.date),
            intake: sum(|d| d.intake),
            turned_away: sum(|d| d.turned_away),
            fed: sum(|d| d.fed),
            eaten: sum(|d| d.eaten),
            stock_mean: sum(|d| d.stock) / trace.daily.len().max(1) as f64,
            stock_end: trace.daily.last().map_or(0.0, |d| d.stock),
            castings_dry: trace.ledger.matter(Flow::Harvest).dry(),
            product_sold: sold(Flow::CastingsSold) + sold(Flow::BlendSold),
            water_added: sum(|d| d.irrigation),
            drained: sum(|d| d.drainage),
            salt_held: trace.holding(Holder::Beds).map_or(0.0, |beds| beds.end.element(Element::Salt)),
        }
    }
}

/// What must be alike in two successive years: its words and how it is read.
type Measure = (&'static str, fn(&YearSums) -> f64);

/// What must be alike in two successive years.
const MEASURES: [Measure; 6] = [
    ("scraps taken in", |y| y.intake - y.turned_away),
    ("worms", |y| y.stock_mean),
    ("castings harvested, dry matter", |y| y.castings_dry),
    ("feed eaten", |y| y.eaten),
    ("water added to beds", |y| y.water_added),
    ("salt held in beds", |y| y.salt_held),
];

/// How far a year is from the one before in one respect.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct YearChange {
    /// What is compared, in words.
    pub what: &'static str,
    /// In the year before, kg.
    pub before: f64,
    /// In this year, kg.
    pub now: f64,
    /// Now less before, as a share of the larger; 0 where both are 0.
    pub share: f64,
}

impl YearChange {
    /// Every change from one year to the next, the largest first.
    pub fn between(before: &YearSums, now: &YearSums) -> Vec<Self> {
        let change = |(what, of): &Measure| {
            let (before, now) = (of(before), of(now));
            let larger = before.abs().max(now.abs());
            let share = if larger > 0.0 { (now - before) / larger } else { 0.0 };
            Self { what, before, now, share }
        };
        let mut all: Vec<Self> = MEASURES.iter().map(change).collect();
        all.sort_by(|a, b| b.share.abs().total_cmp(&a.share.abs()));
        all
    }
}

/// How the search for a settled year ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Settling {
    /// A year is like the one before.
    Settled,
    /// The most years were simulated, and the last one still differs from the one before.
    StillChanging,
    /// Hardly any worms are left.
    DiedOut,
    /// The run is shorter than a year.
    TooShort,
    /// The plan seeks none.
    NotSought,
}

/// How a year compares with those before; `None` while there is one year only.
pub fn settling(years: &[YearSums], tolerance: f64) -> Option<Settling> {
    let [.., before, now] = years else { return None };
    let first = &years[0];
    let alike = YearChange::between(before, now).iter().all(|change| change.share.abs() <= tolerance);
    Some(if now.stock_mean < DIED_OUT * first.stock_mean {
        Settling::DiedOut
    } else if alike {
        Settling::Settled
    } else {
        Settling::StillChanging
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn year(year: usize, stock: f64, castings: f64) -> YearSums {
        YearSums {
            year,
            start: date(2031, 1, 1),
            intake: 1000.0,
            turned_away: 0.0,
            fed: 1000.0,
            eaten: 1200.0,
            stock_mean: stock,
            stock_end: stock,
            castings_dry: castings,
            product_sold: 300.0,
            water_added: 500.0,
            drained: 50.0,
            salt_held: 2.0,
        }
    }

    #[test]
    fn a_year_settles_when_every_measure_is_within_the_tolerance_of_the_year_before() {
        let years = [year(1, 50.0, 100.0), year(2, 96.0, 200.0), year(3, 100.0, 191.0)];
        assert_eq!(settling(&years[..1], 0.05), None);
        // worms 46 of 96 apart
        assert_eq!(settling(&years[..2], 0.05), Some(Settling::StillChanging));
        // by hand: worms (100 - 96) / 100 = 4 %, castings (191 - 200) / 200 = -4.5 %
        assert_eq!(settling(&years, 0.05), Some(Settling::Settled));
        assert_eq!(settling(&years, 0.044), Some(Settling::StillChanging));
        let changes = YearChange::between(&years[1], &years[2]);
        assert_eq!(changes[0].what, "castings harvested, dry matter");
        assert!((changes[0].share + 0.045).abs() < 1e-12 && (changes[1].share - 0.04).abs() < 1e-12);
        assert!(changes[2..].iter().all(|change| change.share.abs() < 1e-12));
    }

    #[test]
    fn a_stock_below_a_hundredth_of_that_of_the_first_year_has_died_out() {
        let years = [year(1, 50.0, 100.0), year(2, 0.51, 100.0), year(3, 0.49, 100.0)];
        assert_eq!(settling(&years[..2], 0.05), Some(Settling::StillChanging));
        assert_eq!(settling(&years, 0.05), Some(Settling::DiedOut));
        // a site that never had worms has none that could die out
        let none = [year(1, 0.0, 0.0), year(2, 0.0, 0.0)];
        assert_eq!(settling(&none, 0.05), Some(Settling::Settled));
    }
}
