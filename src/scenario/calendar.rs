//! The calendar: which days are open, how much comes in, how warm it is.

use jiff::civil::{Date, Weekday};
use std::f64::consts::TAU;

/// A month and a day, in any year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct MonthDay {
    /// Month, 1 to 12.
    pub month: i8,
    /// Day of the month, from 1.
    pub day: i8,
}

impl MonthDay {
    /// Reads `MM-DD`; none for any other text. 29 February counts as a day.
    pub fn parse(text: &str) -> Option<Self> {
        let (month, day) = text.split_once('-')?;
        if month.len() != 2 || day.len() != 2 {
            return None;
        }
        let (month, day) = (month.parse().ok()?, day.parse().ok()?);
        // 2028 is a leap year
        Date::new(2028, month, day).ok().map(|_| Self { month, day })
    }

    /// The month and day of a date.
    fn of(date: Date) -> Self {
        Self { month: date.month(), day: date.day() }
    }

    /// The date in a year; 29 February becomes 28 February where there is none.
    fn in_year(self, year: i16) -> Date {
        Date::new(year, self.month, self.day)
            .or_else(|_| Date::new(year, self.month, self.day - 1))
            .expect("a checked month and day is a date, or the day before it is")
    }
}

/// Days without intake; both ends are closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Closure {
    /// Between two dates.
    Once {
        /// First closed day.
        first: Date,
        /// Last closed day.
        last: Date,
    },
    /// Between two days of every year; may run over the new year.
    EveryYear {
        /// First closed day.
        first: MonthDay,
        /// Last closed day.
        last: MonthDay,
    },
}

impl Closure {
    /// Reads `2027-12-24`, `2027-12-24..2028-01-02`, `12-24` or `12-24..01-02`.
    ///
    /// # Errors
    /// Says in words what is wrong.
    pub fn parse(text: &str) -> Result<Self, String> {
        let (first, last) = text.split_once("..").unwrap_or((text, text));
        let (first, last) = (first.trim(), last.trim());
        if let (Some(first), Some(last)) = (date(first), date(last)) {
            if last < first {
                return Err("the last day is before the first".into());
            }
            return Ok(Self::Once { first, last });
        }
        match (MonthDay::parse(first), MonthDay::parse(last)) {
            (Some(first), Some(last)) => Ok(Self::EveryYear { first, last }),
            _ if date(first).is_some() || date(last).is_some() => {
                Err("one end is a date, the other is not".into())
            }
            _ => Err("is not a day or a span of days".into()),
        }
    }

    /// Whether the day is one of them.
    pub fn covers(&self, day: Date) -> bool {
        match *self {
            Self::Once { first, last } => first <= day && day <= last,
            Self::EveryYear { first, last } => {
                let day = MonthDay::of(day);
                if first <= last { first <= day && day <= last } else { first <= day || day <= last }
            }
        }
    }
}

/// Reads `YYYY-MM-DD`; none for any other text.
pub fn date(text: &str) -> Option<Date> {
    (text.len() == 10).then(|| text.parse().ok()).flatten()
}

/// Place of a weekday in a list from Monday, 0 to 6.
fn weekday_index(weekday: Weekday) -> usize {
    usize::try_from(weekday.to_monday_zero_offset()).unwrap_or(0)
}

/// Days from one date to another; negative when the second is earlier.
pub(super) fn days_between(from: Date, to: Date) -> i32 {
    (to - from).get_days()
}

/// The date so many days after the first.
pub(super) fn day_after(start: Date, days: u32) -> Date {
    start
        .checked_add(jiff::Span::new().days(i64::from(days)))
        .expect("a plan starts between 1900 and 2200 and lasts ten years at most")
}

/// How much comes in on which day.
#[derive(Debug, Clone, PartialEq)]
pub struct Calendar {
    /// Wet mass on an open day with factors of one, contamination included. # Units: kg/day
    pub amount: f64,
    /// Factors on the amount, Monday to Sunday.
    pub weekday_factors: [f64; 7],
    /// Factors on the amount, January to December.
    pub month_factors: [f64; 12],
    /// Closed days; they may overlap.
    pub closed: Vec<Closure>,
    /// Growth per year, continuous; below 0 where the amount shrinks. # Units: 1/a
    pub yearly_growth: f64,
    /// Day on which growth begins.
    pub start: Date,
}

impl Calendar {
    /// Wet mass that arrives on a day, contamination included:
    /// `amount x weekday factor x month factor x (1 + growth)^(days since start / 365.25)`, nothing on closed days.
    ///
    /// # Units
    /// kg
    pub fn open_amount(&self, day: Date) -> f64 {
        if self.closed.iter().any(|c| c.covers(day)) {
            return 0.0;
        }
        let month = usize::try_from(day.month() - 1).unwrap_or(0);
        let years = f64::from(days_between(self.start, day)) / 365.25;
        self.amount
            * self.weekday_factors[weekday_index(day.weekday())]
            * self.month_factors[month]
            * if self.yearly_growth == 0.0 { 1.0 } else { (1.0 + self.yearly_growth).powf(years) }
    }
}

/// A smooth year of outdoor temperatures: one cosine, our choice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Season {
    /// Mean of the year. # Units: °C
    pub mean: f64,
    /// Half of the warmest less the coldest monthly mean. # Units: K
    pub swing: f64,
    /// Coldest day of the year.
    pub coldest: MonthDay,
}

impl Season {
    /// Outdoor temperature without day-to-day weather: `mean - swing x cos(2 pi x days since the coldest / days of the year)`.
    ///
    /// # Units
    /// °C
    pub fn outdoors(&self, day: Date) -> f64 {
        let coldest = self.coldest.in_year(day.year());
        let turn = f64::from(day.day_of_year() - coldest.day_of_year()) / f64::from(day.days_in_year());
        self.mean - self.swing * (TAU * turn).cos()
    }
}

/// How a room follows the weather: a part of its swing, without delay. Our choice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Heating keeps the room at or above this; none without heating. # Units: °C
    pub heated_to: Option<f64>,
    /// Cooling keeps the room at or below this; none without cooling. # Units: °C
    pub cooled_to: Option<f64>,
    /// Share of the outdoor swing felt inside: 0 constant, 1 outdoors.
    pub share_of_outdoor_swing: f64,
    /// Warmer than outdoors by this on the mean of the year. # Units: K
    pub warmer_than_outdoors: f64,
}

impl Room {
    /// Temperature of the room: `yearly mean + warmer than outdoors + share of the swing x (outdoors - yearly mean)`, then raised to
    /// what it is heated to and lowered to what it is cooled to.
    ///
    /// # Units
    /// °C
    pub fn temperature(&self, yearly_mean: f64, outdoors: f64) -> f64 {
        let free =
            yearly_mean + self.warmer_than_outdoors + self.share_of_outdoor_swing * (outdoors - yearly_mean);
        let heated = self.heated_to.map_or(free, |least| free.max(least));
        self.cooled_to.map_or(heated, |most| heated.min(most))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Date {
        date(text).unwrap()
    }

    fn calendar() -> Calendar {
        Calendar {
            amount: 100.0,
            weekday_factors: [1.0, 1.0, 1.0, 1.0, 2.0, 0.5, 0.0],
            month_factors: [1.0; 12],
            closed: vec![],
            yearly_growth: 0.0,
            start: day("2027-01-04"),
        }
    }

    #[test]
    fn weekday_and_month_factors_multiply() {
        let mut c = calendar();
        c.month_factors[1] = 3.0;
        // 4 January 2027 is a Monday, 5 February 2027 a Friday
        assert_eq!(c.open_amount(day("2027-01-04")).to_bits(), 100f64.to_bits());
        assert!((c.open_amount(day("2027-02-05")) - 600.0).abs() < 1e-9);
        assert!(c.open_amount(day("2027-01-10")).abs() < 1e-12);
    }

    #[test]
    fn a_week_of_the_printed_factors() {
        // 4 x 1 + 2 + 0.5 + 0 = 6.5 days of 100 kg
        let c = calendar();
        let week: f64 = (0..7).map(|d| c.open_amount(day_after(c.start, d))).sum();
        assert!((week - 650.0).abs() < 1e-9);
    }

    #[test]
    fn closures_take_both_ends() {
        let mut c = calendar();
        c.closed =
            vec![Closure::parse("2027-03-01..2027-03-03").unwrap(), Closure::parse("12-24..01-02").unwrap()];
        for closed in ["2027-03-01", "2027-03-03", "2027-12-24", "2028-01-02", "2031-12-31"] {
            assert!(c.open_amount(day(closed)).abs() < 1e-12, "{closed}");
        }
        // the days beside them: a Thursday, a Thursday, a Thursday, a Monday
        for open in ["2027-03-04", "2027-02-25", "2027-12-23", "2028-01-03"] {
            assert!(c.open_amount(day(open)) > 0.0, "{open}");
        }
        assert!(Closure::parse("2027-03-03..2027-03-01").is_err());
        assert!(Closure::parse("2027-02-29").is_err());
        assert!(Closure::parse("2027-02-01..02-03").is_err());
        assert!(Closure::parse("13-01").is_err());
    }

    #[test]
    fn a_leap_year_has_its_day() {
        let c = calendar();
        assert_eq!(day_after(day("2028-02-28"), 1), day("2028-02-29"));
        assert_eq!(days_between(day("2028-01-01"), day("2029-01-01")), 366);
        let mut closed = calendar();
        closed.closed = vec![Closure::parse("02-29").unwrap()];
        // 29 February 2028 is a Tuesday
        assert!(c.open_amount(day("2028-02-29")) > 0.0);
        assert!(closed.open_amount(day("2028-02-29")).abs() < 1e-12);
        assert_eq!(MonthDay { month: 2, day: 29 }.in_year(2027), day("2027-02-28"));
    }

    #[test]
    fn growth_is_whole_after_a_year() {
        let mut c = calendar();
        c.yearly_growth = -0.15;
        let after_four_years = c.open_amount(day("2031-01-06")) / 100.0;
        // 1461 days later is a Saturday in 2031; 1463 days make 4.0055 years
        assert!((after_four_years - 0.85f64.powf(1463.0 / 365.25)).abs() < 1e-12);
    }

    #[test]
    fn the_season_is_coldest_and_warmest_where_it_should_be() {
        let season = Season { mean: 11.0, swing: 6.0, coldest: MonthDay { month: 1, day: 20 } };
        assert!((season.outdoors(day("2027-01-20")) - 5.0).abs() < 1e-12);
        assert!((season.outdoors(day("2027-07-21")) - 17.0).abs() < 0.01);
        let year: f64 =
            (0..365).map(|d| season.outdoors(day_after(day("2027-01-01"), d))).sum::<f64>() / 365.0;
        assert!((year - 11.0).abs() < 1e-9);
        // no jump at the new year
        let jump = season.outdoors(day("2029-01-01")) - season.outdoors(day("2028-12-31"));
        assert!(jump.abs() < 0.1);
    }

    #[test]
    fn rooms_soften_heat_and_cool() {
        let room = Room {
            heated_to: Some(8.0),
            cooled_to: Some(20.0),
            share_of_outdoor_swing: 0.5,
            warmer_than_outdoors: 1.0,
        };
        assert!((room.temperature(10.0, 10.0) - 11.0).abs() < 1e-12);
        assert!((room.temperature(10.0, -10.0) - 8.0).abs() < 1e-12);
        assert!((room.temperature(10.0, 40.0) - 20.0).abs() < 1e-12);
    }
}
