//! Rows of marks that show how many there are of something.

use super::look::{INK, QUIET, hex, stroke};
use super::panels::raised;
use super::paper::{Anchor, Paint, Paper};
use super::text::{Type, one_line};
use crate::report::chart::{CountRow, Counts, Ink, MarkShape};

/// Distance of marks, px.
const STEP: f64 = 15.0;
/// Type of labels.
const LABEL: Type = Type::bold(13.0);
/// Type of details and keys.
const FACE: Type = Type::regular(12.0);

/// Draws rows from `top` down. Returns the lower end.
pub(super) fn draw(paper: &mut Paper, counts: &Counts, left: f64, top: f64) -> f64 {
    let mut y = top;
    for row in &counts.rows {
        y = draw_row(paper, row, left, y) + 12.0;
    }
    y
}

fn draw_row(paper: &mut Paper, row: &CountRow, left: f64, top: f64) -> f64 {
    let end = paper.width() - left;
    let y = top + 15.0;
    let label = LABEL.cut(&raised(&one_line(&row.label)), end - left);
    paper.text(left, y, Anchor::Start, LABEL, INK, &label);
    let detail = FACE.cut(&raised(&row.detail), (end - left - LABEL.width(&label) - 16.0).max(0.0));
    paper.text(left + LABEL.width(&label) + 14.0, y, Anchor::Start, FACE, QUIET, &detail);
    let (width, height) = size(row.shape);
    let step = STEP.max(width + 3.0);
    let in_line = crate::quantity::whole(((end - left) / step).floor().max(1.0)) as usize;
    let first = y + 9.0;
    let looks = row.groups.iter().flat_map(|(count, ink, _)| std::iter::repeat_n(*ink, *count));
    let mut lines = 0;
    for (n, ink) in looks.enumerate() {
        let (x, line) = (left + step * (n % in_line) as f64, n / in_line);
        mark(paper, row.shape, ink, x, first + (height + 4.0) * line as f64);
        lines = line + 1;
    }
    key(paper, row, (left, end), first + (height + 4.0) * lines as f64 + 2.0)
}

/// Width and height of a mark, px.
const fn size(shape: MarkShape) -> (f64, f64) {
    match shape {
        MarkShape::Disc | MarkShape::Square => (12.0, 12.0),
        MarkShape::Bed => (12.0, 26.0),
    }
}

fn mark(paper: &mut Paper, shape: MarkShape, ink: Option<Ink>, x: f64, y: f64) {
    let (width, height) = size(shape);
    let edge = Some(("#4a555e".to_owned(), 1.0));
    let paint = match ink {
        Some(ink) => Paint { line: edge, ..Paint::filled(hex(stroke(ink).colour)) },
        None => Paint { line: edge, ..Paint::default() },
    };
    match shape {
        MarkShape::Disc => paper.disc(x + 0.5 * width, y + 0.5 * height, 0.5 * width, &paint),
        MarkShape::Bed | MarkShape::Square => paper.rectangle(x, y, width, height, &paint),
    }
}

/// The key of a row, on as many lines as it needs; nothing where no group has a name.
fn key(paper: &mut Paper, row: &CountRow, (left, end): (f64, f64), top: f64) -> f64 {
    let named = row.groups.iter().filter(|(_, _, name)| !name.is_empty());
    let (mut x, mut y) = (left, top + 12.0);
    let mut any = false;
    for (_, ink, name) in named {
        let name = FACE.cut(&raised(&one_line(name)), end - left - 20.0);
        let width = 18.0 + FACE.width(&name);
        if any && x + width > end {
            (x, y) = (left, y + 16.0);
        }
        any = true;
        mark(paper, MarkShape::Square, *ink, x, y - 10.0);
        paper.text(x + 18.0, y, Anchor::Start, FACE, QUIET, &name);
        x += width + 20.0;
    }
    if any { y + 4.0 } else { top }
}
