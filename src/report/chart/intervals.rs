//! Labelled rows of points with intervals: drivers, differences, quality against limits.

use super::axis::{log_ticks, scale_for, ticks};
use super::{Ink, Scale};

/// Rows of points with intervals over one horizontal axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Intervals {
    /// What the axis measures.
    pub label: String,
    /// Unit of the axis; empty for plain numbers.
    pub unit: String,
    /// Whether the axis is logarithmic.
    pub log: bool,
    /// Whether the axis must include zero; not for a logarithmic axis.
    pub from_zero: bool,
    /// Reference value and its name, if any.
    pub reference: Option<(f64, String)>,
    /// Names and inks of the points of a row. A single series needs no key.
    pub series: Vec<(String, Ink)>,
    /// Meaning of the pale bar behind a row. `None` if no row has one.
    pub allowed: Option<String>,
    /// Rows, top first.
    pub rows: Vec<IntervalRow>,
}

/// A labelled row of points.
#[derive(Debug, Clone, PartialEq)]
pub struct IntervalRow {
    /// Heading of the row; drawn where it differs from that of the row above.
    pub group: String,
    /// Name of the row.
    pub label: String,
    /// Figures at the right of the row.
    pub figures: String,
    /// Allowed range; `None` for an open end or for a row without limits.
    pub allowed: Option<(Option<f64>, Option<f64>)>,
    /// Points, in the order of the series; `None` if one is missing.
    pub points: Vec<Option<IntervalPoint>>,
}

/// A point with its interval, in the unit of the axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IntervalPoint {
    /// Low and high end of the interval, if any.
    pub interval: Option<(f64, f64)>,
    /// A narrower interval, drawn thick, such as the middle half of the draws.
    pub inner: Option<(f64, f64)>,
    /// Value of the point.
    pub middle: f64,
}

impl Intervals {
    /// The horizontal scale: covers points, intervals, closed ends of allowed ranges and the reference.
    pub fn scale(&self) -> Scale {
        let points = self.rows.iter().flat_map(|row| row.points.iter().flatten());
        let values = points.flat_map(|p| {
            [p.middle, p.interval.map_or(p.middle, |i| i.0), p.interval.map_or(p.middle, |i| i.1)]
        });
        let ends =
            self.rows.iter().filter_map(|row| row.allowed).flat_map(|(low, high)| [low, high]).flatten();
        let all = values.chain(ends).chain(self.reference.as_ref().map(|r| r.0));
        let usable = all.filter(|v| v.is_finite() && (!self.log || *v > 0.0));
        let (low, high) = usable.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        if self.log {
            return log_scale(low, high);
        }
        let scale = scale_for(low, high, self.from_zero, 0.0);
        Scale { ticks: ticks(scale.from, scale.to, 8.0), ..scale }
    }
}

/// A logarithmic scale with a little room at both ends.
fn log_scale(low: f64, high: f64) -> Scale {
    let (low, high) = if low.is_finite() && high.is_finite() { (low, high) } else { (0.1, 10.0) };
    let (from, to) = (low / 1.25, high * 1.25);
    // a narrow span would have fewer than two ticks
    let (from, to) = if to / from < 5.0 { (from / 2.0, to * 2.0) } else { (from, to) };
    Scale { from, to, ticks: log_ticks(from, to) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(log: bool, points: &[(f64, f64, f64)]) -> Intervals {
        Intervals {
            label: "difference in castings".to_owned(),
            unit: "kg".to_owned(),
            log,
            from_zero: false,
            reference: None,
            series: vec![("difference".to_owned(), Ink::Night)],
            allowed: None,
            rows: points
                .iter()
                .map(|(low, middle, high)| IntervalRow {
                    group: String::new(),
                    label: "more drums".to_owned(),
                    figures: String::new(),
                    allowed: None,
                    points: vec![Some(IntervalPoint {
                        interval: Some((*low, *high)),
                        inner: None,
                        middle: *middle,
                    })],
                })
                .collect(),
        }
    }

    #[test]
    fn the_scale_covers_every_interval_and_the_reference() {
        let scale = of(false, &[(-3.0, 1.0, 4.0), (2.0, 8.0, 17.0)]).scale();
        assert!(scale.from <= -3.0 && scale.to >= 17.0 && scale.ticks.len() >= 4, "{scale:?}");
        let mut log = of(true, &[(0.2, 0.5, 0.9), (0.0, 3.0, 7.0)]);
        log.reference = Some((12.0, "limit".to_owned()));
        let scale = log.scale();
        assert!(scale.from < 0.2 && scale.from > 0.0 && scale.to > 12.0, "{scale:?}");
        assert!(of(true, &[(1.0, 1.0, 1.0)]).scale().ticks.len() >= 2);
    }
}
