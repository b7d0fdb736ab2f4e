//! Panels over one horizontal axis, each with its label and key above it.

use super::axes::{self, PanelRoom};
use super::look::{INK, QUIET, hex, stroke};
use super::paper::{Anchor, Paint, Paper};
use super::text::Type;
use crate::report::chart::{ChartLayer, Horizontal, Mark, Panel, Panels, Scale, Tick, date_ticks, ticks};
use crate::report::number::format_figures;

/// Height of the axes of one panel, of two and of more, px.
const HEIGHTS: [f64; 3] = [340.0, 210.0, 150.0];
/// The same on a narrow sheet, which is printed larger.
const NARROW_HEIGHTS: [f64; 3] = [215.0, 165.0, 125.0];
/// Narrowest sheet with the full heights, px.
const WIDE: f64 = 900.0;
/// Room below the axes for labels, px.
const BELOW: f64 = 26.0;
/// Room below a panel without labels of its own, px.
const BETWEEN: f64 = 12.0;
/// Height of a line of the key, px.
const KEY_LINE: f64 = 18.0;
/// Least distance of named ticks, as a share of the axis.
const NEAREST_NAMES: f64 = 0.04;
/// Type of the key and of axis measures.
const FACE: Type = Type::regular(12.0);

/// Draws panels from `top` down. Returns the lower end.
pub(super) fn draw(paper: &mut Paper, panels: &Panels, left: f64, top: f64) -> f64 {
    let x = horizontal(&panels.x);
    let scales: Vec<Scale> = panels.panels.iter().map(Panel::scale).collect();
    let labels = Type::regular(11.0);
    let widest = scales.iter().flat_map(|s| &s.ticks).map(|t| labels.width(&t.text)).fold(0.0, f64::max);
    let room_left = widest + 14.0;
    let heights = if paper.width() < WIDE { NARROW_HEIGHTS } else { HEIGHTS };
    let height = heights[panels.panels.len().clamp(1, heights.len()) - 1];
    let mut y = top;
    for (n, (panel, scale)) in panels.panels.iter().zip(&scales).enumerate() {
        let last = n + 1 == panels.panels.len();
        y = heading(paper, panel, left, y);
        let room = PanelRoom {
            width: paper.width() - 2.0 * left,
            height: height + BELOW + 8.0,
            left: room_left,
            // the last label may extend beyond the axis
            right: 26.0,
            top: 8.0,
            bottom: BELOW,
        };
        let dates = matches!(panels.x, Horizontal::Dates { .. });
        let drawn = axes::panel(room, &x, scale, dates, &panel.layers);
        paper.inset(left, y, (room.width, room.height), drawn.field, &drawn.elements);
        y += room.height + if last { 0.0 } else { BETWEEN };
    }
    if let Horizontal::Numbers { label, unit, .. } | Horizontal::Ratios { label, unit, .. } = &panels.x {
        let middle = left + 0.5 * (room_left + paper.width() - 2.0 * left - 26.0);
        y += 8.0;
        paper.text(middle, y, Anchor::Middle, FACE, INK, &measure(label, unit));
        y += 8.0;
    }
    y
}

fn horizontal(x: &Horizontal) -> Scale {
    match x {
        Horizontal::Dates { first, days } => Scale { from: 0.0, to: *days, ticks: date_ticks(*first, *days) },
        Horizontal::Numbers { from, to, .. } => {
            let (from, to) = if to > from { (*from, *to) } else { (from - 0.5, to + 0.5) };
            Scale { from, to, ticks: ticks(from, to, 10.0) }
        }
        Horizontal::Ratios { at, .. } => by_ratio(at),
    }
}

/// A scale by ratios with a tick at each number; of numbers too near each other the first is named.
fn by_ratio(at: &[f64]) -> Scale {
    let places: Vec<f64> = at.iter().map(|value| Horizontal::place(*value)).collect();
    let [from, to] = [places.first(), places.last()].map(|place| place.copied().unwrap_or(0.0));
    let mut named = f64::NEG_INFINITY;
    let tick = |(value, place): (&f64, &f64)| {
        let far = place - named >= NEAREST_NAMES * (to - from);
        if far {
            named = *place;
        }
        Tick { at: *place, text: if far { format_figures(*value, 3) } else { String::new() } }
    };
    Scale { from, to, ticks: at.iter().zip(&places).map(tick).collect() }
}

/// A unit with its powers raised.
pub(super) fn raised(unit: &str) -> String {
    let mut out = unit.to_owned();
    for length in ["m", "ft", "yd"] {
        out = out.replace(&format!("{length}2"), &format!("{length}\u{b2}"));
        out = out.replace(&format!("{length}3"), &format!("{length}\u{b3}"));
    }
    out
}

/// A label with its unit.
pub(super) fn measure(label: &str, unit: &str) -> String {
    if unit.is_empty() { label.to_owned() } else { format!("{label}, {}", raised(unit)) }
}

/// The label of the vertical axis and the key beside it, on as many lines as needed.
fn heading(paper: &mut Paper, panel: &Panel, left: f64, top: f64) -> f64 {
    let face = Type::bold(12.0);
    let measure = measure(&panel.label, &panel.unit);
    let mut y = top + 14.0;
    paper.text(left, y, Anchor::Start, face, INK, &measure);
    let begin = left + face.width(&measure) + 26.0;
    let end = paper.width() - left;
    let mut x = begin;
    for layer in panel.layers.iter().filter(|layer| !layer.name.is_empty()) {
        let name = FACE.cut(&layer.name, end - begin - 40.0);
        let width = 30.0 + FACE.width(&name);
        if x + width > end && x > begin {
            x = begin;
            y += KEY_LINE;
        }
        swatch(paper, layer, x, y - 4.0);
        paper.text(x + 30.0, y, Anchor::Start, FACE, QUIET, &name);
        x += width + 22.0;
    }
    y + 6.0
}

/// A sample of a layer for the key, 24 px wide.
fn swatch(paper: &mut Paper, layer: &ChartLayer, x: f64, y: f64) {
    let s = stroke(layer.ink);
    match layer.mark {
        Mark::Line(_) | Mark::Level(_) => {
            let paint = Paint { dash: s.dash, ..Paint::line(hex(s.colour), s.width) };
            paper.straight((x, y), (x + 24.0, y), &paint);
        }
        Mark::Dots(_) => paper.disc(x + 12.0, y, 3.0, &Paint::filled(hex(s.colour))),
        Mark::Area(_) | Mark::Bars { .. } => {
            let paint = Paint { cover: Some(s.cover), ..Paint::filled(hex(s.colour)) };
            paper.rectangle(x, y - 5.0, 24.0, 10.0, &paint);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::LN_2;

    #[test]
    fn starts_by_doubling_are_as_far_apart_and_crowded_ones_share_a_name() {
        let scale = by_ratio(&[0.5, 1.0, 2.0, 2.02, 4.0]);
        let names: Vec<&str> = scale.ticks.iter().map(|tick| tick.text.as_str()).collect();
        assert_eq!(names, ["0.5", "1", "2", "", "4"]);
        let at: Vec<f64> = scale.ticks.iter().map(|tick| tick.at).collect();
        let steps = [at[1] - at[0], at[2] - at[1], at[4] - at[2]];
        assert!(steps.iter().all(|step| (step - LN_2).abs() < 1e-12), "{steps:?}");
        assert!((scale.from - at[0]).abs() < 1e-12 && (scale.to - at[4]).abs() < 1e-12);
    }
}
