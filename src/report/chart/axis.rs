//! Scales and ticks: round numbers and calendar dates.

use super::month_name;
use crate::quantity::format_figures;
use jiff::ToSpan;
use jiff::civil::Date;

/// A tick of an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Position, in the unit of the axis.
    pub at: f64,
    /// Label; may be empty.
    pub text: String,
}

/// Ends and ticks of an axis, in its unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// Lower end.
    pub from: f64,
    /// Upper end.
    pub to: f64,
    /// Ticks.
    pub ticks: Vec<Tick>,
}

/// Target number of ticks on a vertical axis.
const VERTICAL: f64 = 5.0;
/// Longest run with weekly ticks, days.
const BY_WEEK: f64 = 75.0;
/// Longest run with monthly ticks, days.
const BY_MONTH: f64 = 400.0;
/// Longest run with quarterly ticks, days.
const BY_QUARTER: f64 = 1200.0;

/// Step of round ticks: the smallest of 1, 2 or 5 times a power of ten that gives at most `wanted` steps.
fn step(span: f64, wanted: f64) -> f64 {
    let rough = span / wanted;
    let power = 10_f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= rough * (1.0 - 1e-9)).unwrap_or(rough)
}

/// Round ticks between two numbers, about `wanted` of them.
pub fn ticks(from: f64, to: f64, wanted: f64) -> Vec<Tick> {
    let span = to - from;
    if !span.is_finite() || span <= 0.0 {
        return Vec::new();
    }
    let step = step(span, wanted);
    let first = (from / step - 1e-9).ceil();
    let count = ((to / step + 1e-9).floor() - first).max(0.0);
    let mut out = Vec::new();
    let mut n = 0.0;
    while n <= count {
        let whole = first + n;
        // rounding may leave a zero slightly off, which would print with a power of ten
        let at = if whole == 0.0 { 0.0 } else { whole * step };
        out.push(Tick { at, text: format_figures(at, 6).replace('-', "\u{2013}") });
        n += 1.0;
    }
    out
}

/// A scale that covers `low` to `high` and ends on round numbers. It spans at least `min_span`, so that small changes look small.
pub(super) fn scale_for(low: f64, high: f64, from_zero: bool, min_span: f64) -> Scale {
    let (mut low, mut high) = if low.is_finite() && high.is_finite() { (low, high) } else { (0.0, 1.0) };
    let short = 0.5 * (min_span - (high - low));
    if short > 0.0 {
        (low, high) = (low - short, high + short);
    }
    if from_zero {
        low = low.min(0.0);
        high = high.max(0.0);
    }
    if high - low <= 1e-9 * high.abs().max(low.abs()) {
        // a flat line is centred, or drawn at the bottom if it is zero
        let room = if high == 0.0 { 1.0 } else { 0.5 * high.abs() };
        high += room;
        if !from_zero {
            low -= room;
        }
    }
    let step = step(high - low, VERTICAL);
    let from = (low / step + 1e-9).floor() * step;
    let to = (high / step - 1e-9).ceil() * step;
    Scale { from, to, ticks: ticks(from, to, VERTICAL + 2.0) }
}

/// Ticks of a logarithmic axis: 1, 2 and 5 times powers of ten, or powers of ten only over more than three decades.
pub(super) fn log_ticks(from: f64, to: f64) -> Vec<Tick> {
    let mut out = Vec::new();
    let (first, last) = (from.log10().floor(), to.log10().ceil());
    let multiples: &[f64] = if last - first > 3.0 { &[1.0] } else { &[1.0, 2.0, 5.0] };
    let mut power = first;
    while power <= last {
        for multiple in multiples {
            let at = multiple * 10_f64.powf(power);
            if at >= from * (1.0 - 1e-9) && at <= to * (1.0 + 1e-9) {
                out.push(Tick { at, text: format_figures(at, 3) });
            }
        }
        power += 1.0;
    }
    out
}

/// Ticks on calendar dates: weekly for a short run, otherwise on the first of a month. Positions are days since `first`.
pub(in crate::report) fn date_ticks(first: Date, days: f64) -> Vec<Tick> {
    if days <= BY_WEEK {
        return week_ticks(first, days);
    }
    let months: i8 = if days <= BY_MONTH {
        1
    } else if days <= BY_QUARTER {
        3
    } else {
        12
    };
    let mut out = Vec::new();
    let mut date = first.first_of_month();
    loop {
        let at = day_of(first, date);
        if at > days {
            return out;
        }
        if at >= 0.0 && (date.month() - 1) % months == 0 {
            let year = out.is_empty() || date.month() == 1;
            let month = month_name(date);
            out.push(Tick {
                at,
                text: if year { format!("{month} {}", date.year()) } else { month.to_owned() },
            });
        }
        let Ok(next) = date.checked_add(1.month()) else { return out };
        date = next;
    }
}

fn week_ticks(first: Date, days: f64) -> Vec<Tick> {
    let step = if days <= 35.0 { 7 } else { 14 };
    let mut out = Vec::new();
    let mut date = first;
    while day_of(first, date) <= days {
        let text = format!("{} {}", date.day(), month_name(date));
        let year = out.is_empty();
        let text = if year { format!("{text} {}", date.year()) } else { text };
        out.push(Tick { at: day_of(first, date), text });
        let Ok(next) = date.checked_add(step.days()) else { break };
        date = next;
    }
    out
}

/// Days from one date to another.
pub(super) fn day_of(first: Date, date: Date) -> f64 {
    f64::from((date - first).get_days())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn texts(ticks: &[Tick]) -> Vec<&str> {
        ticks.iter().map(|tick| tick.text.as_str()).collect()
    }

    #[test]
    fn scales_end_on_round_numbers_and_cover_their_values() {
        let scale = scale_for(3.0, 1873.0, true, 0.0);
        assert_eq!((scale.from, scale.to), (0.0, 2000.0));
        assert_eq!(texts(&scale.ticks), ["0", "500", "1000", "1500", "2000"]);
        let scale = scale_for(-3.2, 21.7, false, 0.0);
        assert_eq!(texts(&scale.ticks), ["\u{2013}5", "0", "5", "10", "15", "20", "25"]);
        let scale = scale_for(0.71, 0.79, false, 0.0);
        assert!(scale.from <= 0.71 && scale.to >= 0.79 && scale.from > 0.6, "{scale:?}");
        let scale = scale_for(0.0, 60.0, true, 0.0);
        assert_eq!((scale.from, scale.to), (0.0, 60.0));
        let scale = scale_for(72.0, 76.0, false, 10.0);
        assert_eq!((scale.from, scale.to), (68.0, 80.0));
    }

    #[test]
    fn empty_and_flat_data_still_have_a_scale() {
        for (low, high) in [(f64::INFINITY, f64::NEG_INFINITY), (0.0, 0.0), (5.0, 5.0), (-2.0, -2.0)] {
            for from_zero in [false, true] {
                let scale = scale_for(low, high, from_zero, 0.0);
                assert!(scale.to > scale.from && scale.ticks.len() >= 2, "{low} {high} {scale:?}");
            }
        }
        assert!(ticks(1.0, 1.0, 5.0).is_empty());
    }

    #[test]
    fn a_year_has_a_tick_on_the_first_of_each_month() {
        let ticks = date_ticks(date(2027, 8, 30), 365.0);
        assert_eq!(ticks.len(), 12);
        assert_eq!(ticks[0], Tick { at: 2.0, text: "Sep 2027".to_owned() });
        assert_eq!(texts(&ticks)[3..6], ["Dec", "Jan 2028", "Feb"]);
        // 30 August to 1 March over 29 February 2028 not yet: 184 days
        assert!((ticks[6].at - 184.0).abs() < 1e-12);
    }

    #[test]
    fn short_runs_tick_by_weeks_and_long_ones_by_quarters() {
        let weeks = date_ticks(date(2031, 12, 20), 28.0);
        assert_eq!(texts(&weeks), ["20 Dec 2031", "27 Dec", "3 Jan", "10 Jan", "17 Jan"]);
        let quarters = date_ticks(date(2031, 2, 1), 730.0);
        assert_eq!(texts(&quarters)[..4], ["Apr 2031", "Jul", "Oct", "Jan 2032"]);
        assert!(date_ticks(date(2031, 2, 1), 3650.0).len() <= 12);
    }

    #[test]
    fn log_ticks_are_one_two_five() {
        assert_eq!(texts(&log_ticks(0.1, 10.0)), ["0.1", "0.2", "0.5", "1", "2", "5", "10"]);
        assert_eq!(texts(&log_ticks(0.001, 1000.0)), ["0.001", "0.01", "0.1", "1", "10", "100", "1000"]);
    }
}
