//! The flow diagram, drawn by hand: stages from left to right, what leaves rises, what enters comes from below. Widths are to
//! scale, so the edges of a stage are as high as what passes through it.

use super::look::INK;
use super::look::QUIET;
use super::paper::Anchor;
use super::paper::Paint;
use super::paper::Paper;
use super::text::Type;
use crate::quantity::Kind;
use crate::report::chart::Branch;
use crate::report::chart::Flow;
use crate::report::chart::Way;
use crate::report::number::told;

/// Height of the field. # Units: px
const HEIGHT: f64 = 470.0;
/// Width of stages. # Units: px
const STAGE: f64 = 16.0;
/// Width of the ends of branches. # Units: px
const END: f64 = 7.0;
/// Least distance of two branches, so that two lines of text fit. # Units: px
const LABEL: f64 = 33.0;
/// Least distance of branches from the chain. # Units: px
const CLEAR: f64 = 26.0;
/// Thinnest ribbon that can be seen. # Units: px
const HAIR: f64 = 0.6;
/// Type of names and of amounts.
const NAME: Type = Type::regular(12.0);
const AMOUNT: Type = Type::regular(11.0);

/// Colour of a ribbon.
const fn colour(way: Way) -> &'static str {
    match way {
        Way::Brought => "#b9925a",
        Way::Within => "#d9c9ae",
        Way::Product => "#2f5d3a",
        Way::Kept => "#8a8178",
        Way::Air => "#a9c4d9",
        Way::Away => "#3f7f8c",
    }
}

/// Colour of what passes from stage to stage.
const ONWARD: &str = "#cdb48c";

/// A branch with its place: outer edge at (x, top), inner edge on its stage.
struct Placed<'a> {
    branch: &'a Branch,
    outer: (f64, f64),
    inner: (f64, f64),
}

/// A stage with its place.
struct Node<'a> {
    name: &'a str,
    x: f64,
    top: f64,
    left_height: f64,
    right_height: f64,
    onward: f64,
    onward_left: f64,
    onward_right: f64,
    into: Vec<Placed<'a>>,
    out: Vec<Placed<'a>>,
}

/// Everything placed, with the field it needs.
struct Layout<'a> {
    nodes: Vec<Node<'a>>,
    least: f64,
    most: f64,
}

fn sum(branches: &[Branch]) -> f64 {
    branches.iter().map(|b| b.amount).sum()
}

/// Places the chain with `scale` pixels a kilogram; the first stage begins at height 0.
fn place(flow: &Flow, scale: f64, left: f64, step: f64) -> Layout<'_> {
    let mut layout = Layout { nodes: Vec::new(), least: 0.0, most: 0.0 };
    let (mut top, mut before) = (0.0, 0.0);
    let last = flow.stages.len().saturating_sub(1);
    for (n, stage) in flow.stages.iter().enumerate() {
        let x = left + step * n as f64;
        let (into, out) = (scale * sum(&stage.into), scale * sum(&stage.out));
        let (incoming, onward) = (scale * before, scale * stage.onward);
        let mut node = Node {
            name: stage.name,
            x,
            top,
            left_height: incoming + into,
            right_height: out + onward,
            onward,
            onward_left: top,
            onward_right: top + out,
            into: Vec::new(),
            out: Vec::new(),
        };
        // what leaves: the first rises highest
        let reach = if n == last { 0.62 } else { 0.42 };
        let heights: Vec<f64> = stage.out.iter().map(|b| scale * b.amount).collect();
        let clear = if n == last { 0.0 } else { CLEAR };
        let outer = stacked_up(&heights, top + if n == last { out + onward } else { out } - clear);
        let mut inner = top;
        for ((branch, height), outer) in stage.out.iter().zip(&heights).zip(outer) {
            layout.least = layout.least.min(outer - 14.0);
            node.out.push(Placed {
                branch,
                outer: (x + STAGE + reach * step, outer),
                inner: (x + STAGE, inner),
            });
            inner += height;
        }
        // what enters: the first lies highest
        let mut inner = top + incoming;
        let mut outer = inner + CLEAR;
        if n == 0 {
            outer = inner;
        }
        for branch in &stage.into {
            let height = scale * branch.amount;
            node.into.push(Placed { branch, outer: (x - 0.36 * step, outer), inner: (x, inner) });
            inner += height;
            layout.most = layout.most.max(outer + height.max(18.0));
            outer += height.max(LABEL - 6.0) + 6.0;
        }
        layout.most = layout.most.max(top + (incoming + into).max(out + onward) + 4.0);
        layout.nodes.push(node);
        (top, before) = (top + out, stage.onward);
    }
    layout
}

/// Tops of branches stacked upwards, the last ending at `bottom`, labels kept apart.
fn stacked_up(heights: &[f64], bottom: f64) -> Vec<f64> {
    let mut end = bottom;
    let mut tops: Vec<f64> = heights
        .iter()
        .rev()
        .map(|height| {
            let top = end - height;
            end = top.min(end - (LABEL - 6.0)) - 6.0;
            top
        })
        .collect();
    tops.reverse();
    tops
}

/// Draws the diagram from `top` down; gives back where it ends.
pub(super) fn draw(paper: &mut Paper, flow: &Flow, left: f64, top: f64) -> f64 {
    let width = paper.width() - 2.0 * left;
    let step = (width - 250.0) / flow.stages.len() as f64;
    let first = left + 0.36 * step + 105.0;
    // the largest scale at which everything fits the height, found by halving
    let (mut low, mut high) = (0.0, HEIGHT / flow.total().max(f64::MIN_POSITIVE));
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        let layout = place(flow, middle, first, step);
        if layout.most - layout.least <= HEIGHT { low = middle } else { high = middle }
    }
    let layout = place(flow, low, first, step);
    let shift = top + 34.0 - layout.least;
    ribbons(paper, flow, &layout, low, shift);
    labels(paper, flow, &layout, low, shift);
    shift + layout.most + 8.0
}

fn seen(height: f64) -> f64 {
    height.max(HAIR)
}

fn ribbons(paper: &mut Paper, flow: &Flow, layout: &Layout<'_>, scale: f64, shift: f64) {
    for pair in layout.nodes.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        let from = (a.x + STAGE, shift + a.onward_right, seen(a.onward));
        let to = (b.x, shift + b.onward_left, seen(a.onward));
        paper.ribbon(from, to, &Paint { cover: Some(0.8), ..Paint::filled(ONWARD) });
    }
    for node in &layout.nodes {
        for placed in &node.out {
            let height = seen(scale * placed.branch.amount);
            let from = (placed.inner.0, shift + placed.inner.1, height);
            let to = (placed.outer.0, shift + placed.outer.1, height);
            branch(paper, placed.branch.way, from, to, to.0);
        }
        for placed in &node.into {
            let height = seen(scale * placed.branch.amount);
            let from = (placed.outer.0, shift + placed.outer.1, height);
            let to = (placed.inner.0, shift + placed.inner.1, height);
            branch(paper, placed.branch.way, from, to, from.0 - END);
        }
    }
    debug_assert_eq!(layout.nodes.len(), flow.stages.len());
    for node in &layout.nodes {
        let height = seen(node.left_height.max(node.right_height));
        paper.rectangle(node.x, shift + node.top, STAGE, height, &Paint::filled(INK));
    }
}

/// A ribbon and the block at its outer end.
fn branch(paper: &mut Paper, way: Way, from: (f64, f64, f64), to: (f64, f64, f64), end: f64) {
    paper.ribbon(from, to, &Paint { cover: Some(0.75), ..Paint::filled(colour(way)) });
    let outer = if end < from.0 { from } else { to };
    paper.rectangle(end, outer.1, END, outer.2.max(1.0), &Paint::filled(colour(way)));
}

fn labels(paper: &mut Paper, flow: &Flow, layout: &Layout<'_>, scale: f64, shift: f64) {
    let total = flow.total();
    let amount = |kg: f64| {
        let share = 100.0 * kg / total;
        let share = match share {
            s if s < 0.05 => "<0.1 %".to_owned(),
            s if s < 9.95 => format!("{s:.1} %"),
            s => format!("{s:.0} %"),
        };
        let figures = format!("{kg:.2e}").parse().unwrap_or(kg);
        format!("{}, {share}", told(Kind::Mass, figures, flow.units))
    };
    for node in &layout.nodes {
        for placed in &node.out {
            let middle = shift + placed.outer.1 + 0.5 * scale * placed.branch.amount;
            let x = placed.outer.0 + END + 5.0;
            paper.rimmed(x, middle - 2.0, Anchor::Start, NAME, INK, &placed.branch.name);
            paper.rimmed(x, middle + 11.0, Anchor::Start, AMOUNT, QUIET, &amount(placed.branch.amount));
        }
        for placed in &node.into {
            let middle = shift + placed.outer.1 + 0.5 * scale * placed.branch.amount;
            let x = placed.outer.0 - END - 5.0;
            paper.rimmed(x, middle - 2.0, Anchor::End, NAME, INK, &placed.branch.name);
            paper.rimmed(x, middle + 11.0, Anchor::End, AMOUNT, QUIET, &amount(placed.branch.amount));
        }
        stage_label(paper, node, shift);
    }
}

/// The name of a stage above its block.
fn stage_label(paper: &mut Paper, node: &Node<'_>, shift: f64) {
    let face = Type::bold(12.0);
    paper.rimmed(node.x + 0.5 * STAGE, shift + node.top - 7.0, Anchor::Middle, face, INK, node.name);
}
