//! Dates, days of the year and closed days.

use jiff::civil::{Date, Weekday};

/// A month and a day, in any year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct MonthDay {
    /// Month, 1 to 12.
    pub month: i8,
    /// Day of the month, from 1.
    pub day: i8,
}

impl MonthDay {
    /// Reads `MM-DD`. None if the text is anything else. 29 February counts as a day.
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

    /// The date in a year; 29 February becomes 28 February in a year without it.
    pub(super) fn in_year(self, year: i16) -> Date {
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
    /// What is wrong, in words.
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

/// Reads `YYYY-MM-DD`. None if the text is anything else.
pub fn date(text: &str) -> Option<Date> {
    (text.len() == 10).then(|| text.parse().ok()).flatten()
}

/// Place of a weekday in a list from Monday, 0 to 6.
pub(super) fn weekday_index(weekday: Weekday) -> usize {
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
