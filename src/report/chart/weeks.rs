//! Daily figures summed by week of the run.

use crate::trace::DayRecord;

/// Days of a week.
pub(super) const WEEK: usize = 7;

/// Sum of a daily figure over each full week of the run, placed at the middle of the week, days since the first day.
pub(super) fn weekly(daily: &[DayRecord], of: impl Fn(&DayRecord) -> f64) -> Vec<(f64, f64)> {
    daily
        .chunks_exact(WEEK)
        .enumerate()
        .map(|(week, days)| {
            let start = (week * WEEK) as f64;
            (start + 0.5 * WEEK as f64, days.iter().map(&of).sum())
        })
        .collect()
}

/// A daily figure at noon of each day.
pub(super) fn by_day(daily: &[DayRecord], of: impl Fn(&DayRecord) -> f64) -> Vec<(f64, f64)> {
    daily.iter().enumerate().map(|(day, record)| (day as f64 + 0.5, of(record))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn an_incomplete_last_week_is_left_out() {
        let daily: Vec<DayRecord> =
            (0..17).map(|n| DayRecord { intake: f64::from(n), ..DayRecord::new(date(2031, 1, 1)) }).collect();
        // 0 + .. + 6 = 21, 7 + .. + 13 = 70
        assert_eq!(weekly(&daily, |d| d.intake), [(3.5, 21.0), (10.5, 70.0)]);
        assert_eq!(by_day(&daily, |d| d.intake)[16], (16.5, 16.0));
    }
}
