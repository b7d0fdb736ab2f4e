//! Labelled rows of points with intervals.

use super::look::{INK, QUIET, hex, stroke};
use super::panels::{measure, raised};
use super::paper::{Anchor, Paint, Paper};
use super::text::{Type, one_line};
use crate::report::chart::{Ink, IntervalPoint, IntervalRow, Intervals, Scale};

/// Height of a row, px.
const ROW: f64 = 22.0;
/// Maximum width of labels, px.
const MAX_LABEL: f64 = 400.0;
/// Maximum width of figures, px.
const MAX_FIGURES: f64 = 300.0;
/// Type of rows.
const FACE: Type = Type::regular(12.0);
/// Colour of inner intervals.
const INNER: &str = "#7f93a8";
/// Colour of allowed ranges.
const PALE: &str = "#dfe8d8";

/// The plotting field and its scale.
struct PlotField<'a> {
    scale: &'a Scale,
    log: bool,
    left: f64,
    right: f64,
}

impl PlotField<'_> {
    /// Position of a value, clamped to the field.
    fn x(&self, value: f64) -> f64 {
        let (from, to) = (self.scale.from, self.scale.to);
        let part = if self.log {
            (value.max(f64::MIN_POSITIVE) / from).ln() / (to / from).ln()
        } else {
            (value - from) / (to - from)
        };
        self.left + part.clamp(0.0, 1.0) * (self.right - self.left)
    }
}

/// Draws rows from `top` down. Returns the lower end.
pub(super) fn draw(paper: &mut Paper, intervals: &Intervals, left: f64, top: f64) -> f64 {
    let widest = |of: fn(&IntervalRow) -> &str, limit: f64| {
        intervals.rows.iter().map(|row| FACE.width(&one_line(of(row)))).fold(0.0, f64::max).min(limit)
    };
    let scale = intervals.scale();
    let end = paper.width() - left;
    let field = PlotField {
        scale: &scale,
        log: intervals.log,
        left: left + widest(|row| &row.label, MAX_LABEL) + 16.0,
        right: end - widest(|row| &row.figures, MAX_FIGURES) - 20.0,
    };
    let first = key(paper, intervals, left, top);
    let bottom = first + height(intervals);
    grid(paper, &field, first, bottom);
    if let Some((at, name)) = &intervals.reference {
        let x = field.x(*at);
        paper.straight((x, first - 2.0), (x, bottom), &Paint::line(INK, 1.25));
        paper.text(x, first - 6.0, Anchor::Middle, FACE, INK, name);
    }
    let mut y = first;
    let mut group = "";
    for row in &intervals.rows {
        if row.group != group {
            group = &row.group;
            y += ROW + 2.0;
            let face = Type::bold(12.0);
            paper.rimmed(left, y - 6.0, Anchor::Start, face, INK, &face.cut(&one_line(group), end - left));
        }
        y += ROW;
        draw_row(paper, intervals, row, &field, (left, y - 0.5 * ROW, end));
    }
    let middle = 0.5 * (field.left + field.right);
    paper.text(middle, bottom + 36.0, Anchor::Middle, FACE, INK, &measure(&intervals.label, &intervals.unit));
    bottom + 42.0
}

/// Height of all rows with their headings.
fn height(intervals: &Intervals) -> f64 {
    let mut group = "";
    let mut sum = 4.0;
    for row in &intervals.rows {
        if row.group != group {
            group = &row.group;
            sum += ROW + 2.0;
        }
        sum += ROW;
    }
    sum
}

fn grid(paper: &mut Paper, field: &PlotField<'_>, top: f64, bottom: f64) {
    for tick in &field.scale.ticks {
        let x = field.x(tick.at);
        paper.straight((x, top), (x, bottom), &Paint::line("#dde1e4", 0.75));
        paper.text(x, bottom + 16.0, Anchor::Middle, Type::regular(11.0), INK, &tick.text);
    }
    paper.straight((field.left, bottom), (field.right, bottom), &Paint::line(QUIET, 1.0));
}

/// The key, if there is more than one series or a pale bar.
fn key(paper: &mut Paper, intervals: &Intervals, left: f64, top: f64) -> f64 {
    let y = top + 14.0;
    let mut x = left;
    let named = intervals.series.len() > 1 || intervals.allowed.is_some();
    if named {
        for (n, (name, ink)) in intervals.series.iter().enumerate() {
            point(paper, n, *ink, x + 8.0, y - 4.0);
            paper.text(x + 20.0, y, Anchor::Start, FACE, QUIET, name);
            x += 42.0 + FACE.width(name);
        }
    }
    if let Some(allowed) = &intervals.allowed {
        paper.rectangle(x, y - 10.0, 24.0, 12.0, &Paint::filled(PALE));
        paper.text(x + 30.0, y, Anchor::Start, FACE, QUIET, allowed);
    }
    let below = if named { y + 8.0 } else { top };
    // the name of the reference is above its line
    if intervals.reference.is_some() { below + 18.0 } else { below }
}

/// Points of the first series are discs, of the second open squares, of others open circles.
fn point(paper: &mut Paper, series: usize, ink: Ink, x: f64, y: f64) {
    let colour = hex(stroke(ink).colour);
    let open = Paint::line(colour.clone(), 2.0);
    match series {
        0 => paper.disc(x, y, 4.0, &Paint::filled(colour)),
        1 => paper.rectangle(x - 5.0, y - 5.0, 10.0, 10.0, &open),
        _ => paper.disc(x, y, 8.0, &open),
    }
}

fn draw_row(
    paper: &mut Paper,
    intervals: &Intervals,
    row: &IntervalRow,
    field: &PlotField<'_>,
    (left, y, end): (f64, f64, f64),
) {
    if let Some((low, high)) = row.allowed {
        let (from, to) = (low.map_or(field.left, |v| field.x(v)), high.map_or(field.right, |v| field.x(v)));
        paper.rectangle(from, y - 8.0, to - from, 16.0, &Paint::filled(PALE));
    }
    let label = FACE.cut(&one_line(&row.label), MAX_LABEL);
    paper.text(field.left - 12.0, y + 4.0, Anchor::End, FACE, INK, &label);
    let figures = FACE.cut(&raised(&one_line(&row.figures)), MAX_FIGURES);
    paper.text(end, y + 4.0, Anchor::End, FACE, INK, &figures);
    debug_assert!(left < field.left, "labels are left of the field");
    // points share the height of the row, open ones larger so that both are visible; intervals are drawn one above the other
    let whiskers = row.points.iter().flatten().filter(|point| point.interval.is_some()).count();
    for (n, (one, (_, ink))) in row.points.iter().zip(&intervals.series).enumerate() {
        let Some(IntervalPoint { interval, inner, middle }) = one else { continue };
        let y = if whiskers > 1 { y + 7.0 * (n as f64 - 0.5 * (whiskers - 1) as f64) } else { y };
        if let Some((low, high)) = interval {
            whisker(paper, *ink, field.x(*low), field.x(*high), y);
        }
        if let Some((low, high)) = inner {
            let (low, high) = (field.x(*low), field.x(*high));
            paper.rectangle(low, y - 3.5, high - low, 7.0, &Paint::filled(INNER));
        }
        if n > 0 && interval.is_some() {
            // hide the interval inside an open point
            paper.disc(field.x(*middle), y, 5.0, &Paint::filled("#ffffff"));
        }
        point(paper, n, *ink, field.x(*middle), y);
    }
}

fn whisker(paper: &mut Paper, ink: Ink, low: f64, high: f64, y: f64) {
    let paint = Paint::line(hex(stroke(ink).colour), 2.0);
    paper.straight((low, y), (high, y), &paint);
    for end in [low, high] {
        paper.straight((end, y - 4.0), (end, y + 4.0), &paint);
    }
}
