//! The flow diagram: stages from left to right, outflows upward, inflows from below. Widths are to scale, so the height of a stage
//! is what passes through it.

use super::look::{INK, QUIET};
use super::paper::{Anchor, Paint, Paper};
use super::text::Type;
use crate::quantity::{Kind, Units};
use crate::report::chart::{Branch, FlowDiagram, LEAST_DRAWN, Way, format_quantity};

/// Height of the field, px.
const HEIGHT: f64 = 470.0;
/// Width of stages, px.
const STAGE: f64 = 16.0;
/// Width of the ends of branches, px.
const END: f64 = 7.0;
/// Minimum room of a branch, px: two lines of text.
const LABEL: f64 = 29.0;
/// Gap between two branches, px.
const GAP: f64 = 5.0;
/// Minimum distance of branches from the chain, px.
const CLEAR: f64 = 22.0;
/// Thinnest visible ribbon, px.
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

/// Colour of the flow between stages.
const ONWARD: &str = "#cdb48c";

/// A branch with its position: outer edge at (x, top), inner edge on its stage.
struct Placed<'a> {
    branch: &'a Branch,
    outer: (f64, f64),
    inner: (f64, f64),
}

/// A stage with its position.
struct Node<'a> {
    name: &'a str,
    x: f64,
    top: f64,
    height: f64,
    onward: f64,
    onward_right: f64,
    into: Vec<Placed<'a>>,
    out: Vec<Placed<'a>>,
}

/// Positions of all stages, and the height they need.
struct Layout<'a> {
    nodes: Vec<Node<'a>>,
    upper: f64,
    lower: f64,
}

fn sum(branches: &[Branch]) -> f64 {
    branches.iter().map(|b| b.amount).sum()
}

/// Places the chain at `scale` pixels per kilogram; the first stage begins at height 0.
fn place(flow: &FlowDiagram, scale: f64, left: f64, step: f64) -> Layout<'_> {
    let mut layout = Layout { nodes: Vec::new(), upper: 0.0, lower: 0.0 };
    let (mut top, mut before) = (0.0, 0.0);
    let last = flow.stages.len().saturating_sub(1);
    for (n, stage) in flow.stages.iter().enumerate() {
        let x = left + step * n as f64;
        let (into, out) = (scale * sum(&stage.into), scale * sum(&stage.out));
        let (incoming, onward) = (scale * before, scale * stage.onward);
        // outflows rise before the next stage begins; the last stage has room to its right
        let (reach, clear) = if n == last { (0.62, 0.0) } else { (0.42, CLEAR) };
        let bottom = top + out - clear;
        // inflows lie below the flow from the stage before; the first stage has none
        let above = top + incoming + if n == 0 { 0.0 } else { CLEAR };
        let node = Node {
            name: stage.name,
            x,
            top,
            height: (incoming + into).max(out + onward),
            onward,
            onward_right: top + out,
            out: branches(&stage.out, scale, (x + STAGE + reach * step, bottom), (x + STAGE, top), true),
            into: branches(&stage.into, scale, (x - 0.36 * step, above), (x, top + incoming), false),
        };
        for placed in node.out.iter().chain(&node.into) {
            let height = scale * placed.branch.amount;
            let room = 0.5 * (LABEL - height).max(0.0);
            layout.upper = layout.upper.min(placed.outer.1 - room);
            layout.lower = layout.lower.max(placed.outer.1 + height + room);
        }
        layout.lower = layout.lower.max(top + node.height + 20.0);
        layout.nodes.push(node);
        (top, before) = (top + out, stage.onward);
    }
    layout
}

/// Branches of one side, their outer ends spaced so that labels fit. They end at the height of `outer` if `up`, else begin there.
fn branches(all: &[Branch], scale: f64, outer: (f64, f64), inner: (f64, f64), up: bool) -> Vec<Placed<'_>> {
    let slot = |branch: &Branch| (scale * branch.amount).max(LABEL) + GAP;
    let whole: f64 = all.iter().map(slot).sum();
    let (mut y, mut inside) = (if up { outer.1 - whole } else { outer.1 }, inner.1);
    let mut placed = Vec::with_capacity(all.len());
    for branch in all {
        let height = scale * branch.amount;
        let top = y + 0.5 * (slot(branch) - height);
        placed.push(Placed { branch, outer: (outer.0, top), inner: (inner.0, inside) });
        y += slot(branch);
        inside += height;
    }
    placed
}

/// The flow without branches too thin to draw.
fn visible(flow: &FlowDiagram) -> FlowDiagram {
    let least = LEAST_DRAWN * flow.total();
    let mut seen = flow.clone();
    for stage in &mut seen.stages {
        stage.into.retain(|branch| branch.amount >= least);
        stage.out.retain(|branch| branch.amount >= least);
    }
    seen
}

/// Draws the diagram from `top` down. Returns the lower end.
pub(super) fn draw(paper: &mut Paper, flow: &FlowDiagram, left: f64, top: f64) -> f64 {
    let total = flow.total();
    let flow = &visible(flow);
    let width = paper.width() - 2.0 * left;
    let step = (width - 250.0) / flow.stages.len() as f64;
    let first = left + 0.36 * step + 105.0;
    // the largest scale that fits the height, by bisection
    let (mut low, mut high) = (0.0, HEIGHT / flow.total().max(f64::MIN_POSITIVE));
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        let layout = place(flow, middle, first, step);
        if layout.lower - layout.upper <= HEIGHT { low = middle } else { high = middle }
    }
    let layout = place(flow, low, first, step);
    let shift = top + 8.0 - layout.upper;
    ribbons(paper, &layout, low, shift);
    labels(paper, (flow.units, total), &layout, low, shift);
    shift + layout.lower + 8.0
}

fn seen(height: f64) -> f64 {
    height.max(HAIR)
}

fn ribbons(paper: &mut Paper, layout: &Layout<'_>, scale: f64, shift: f64) {
    for pair in layout.nodes.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        let from = (a.x + STAGE, shift + a.onward_right, seen(a.onward));
        let to = (b.x, shift + b.top, seen(a.onward));
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
    for node in &layout.nodes {
        let height = seen(node.height);
        paper.rectangle(node.x, shift + node.top, STAGE, height, &Paint::filled(INK));
    }
}

/// A ribbon and the block at its outer end.
fn branch(paper: &mut Paper, way: Way, from: (f64, f64, f64), to: (f64, f64, f64), end: f64) {
    paper.ribbon(from, to, &Paint { cover: Some(0.75), ..Paint::filled(colour(way)) });
    let outer = if end < from.0 { from } else { to };
    paper.rectangle(end, outer.1, END, outer.2.max(1.0), &Paint::filled(colour(way)));
}

fn labels(paper: &mut Paper, (units, total): (Units, f64), layout: &Layout<'_>, scale: f64, shift: f64) {
    let amount = |kg: f64| {
        let share = 100.0 * kg / total;
        let share = match share {
            s if s < 0.05 => "<0.1 %".to_owned(),
            s if s < 9.95 => format!("{s:.1} %"),
            s => format!("{s:.0} %"),
        };
        format!("{}, {share}", format_quantity(Kind::Mass, kg, units))
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

/// The name of a stage, below its block.
fn stage_label(paper: &mut Paper, node: &Node<'_>, shift: f64) {
    let bottom = shift + node.top + node.height;
    paper.rimmed(node.x, bottom + 15.0, Anchor::Start, Type::bold(12.0), INK, node.name);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::chart::Stage;

    fn branch(name: &str, way: Way, amount: f64) -> Branch {
        Branch { name: name.to_owned(), way, amount }
    }

    /// 100 + 60 + 40 kg in; 5 + 15, 10, 90, 80 kg out.
    fn flow() -> FlowDiagram {
        let stage = |name, into, out, onward| Stage { name, into, out, onward };
        FlowDiagram {
            substance: "carbon",
            units: Units::Si,
            stages: vec![
                stage(
                    "drums",
                    vec![branch("scraps", Way::Brought, 100.0)],
                    vec![branch("to the air", Way::Air, 5.0), branch("liquor", Way::Away, 15.0)],
                    80.0,
                ),
                stage(
                    "paste",
                    vec![branch("bulking", Way::Brought, 60.0)],
                    vec![branch("rinse water", Way::Away, 10.0)],
                    130.0,
                ),
                stage(
                    "beds",
                    vec![branch("water", Way::Brought, 40.0)],
                    vec![branch("to the air", Way::Air, 90.0)],
                    80.0,
                ),
                stage("store", vec![], vec![branch("castings sold", Way::Product, 80.0)], 0.0),
            ],
        }
    }

    #[test]
    fn flows_fill_both_edges_of_a_stage_to_scale() {
        let (flow, scale) = (flow(), 2.5);
        let layout = place(&flow, scale, 100.0, 160.0);
        let mut before = 0.0;
        for (node, stage) in layout.nodes.iter().zip(&flow.stages) {
            // from the top of the left edge: what comes from the stage before, then each way in, without gap or overlap
            let mut left = node.top + scale * before;
            for placed in &node.into {
                assert!((placed.inner.1 - left).abs() < 1e-9, "{}", placed.branch.name);
                left += scale * placed.branch.amount;
            }
            let mut right = node.top;
            for placed in &node.out {
                assert!((placed.inner.1 - right).abs() < 1e-9, "{}", placed.branch.name);
                right += scale * placed.branch.amount;
            }
            assert!((node.onward_right - right).abs() < 1e-9);
            right += node.onward;
            assert!((left - right).abs() < 1e-9, "{}: {left} in, {right} out", node.name);
            assert!((left - node.top - node.height).abs() < 1e-9);
            before = stage.onward;
        }
    }

    #[test]
    fn labels_fit_between_outer_ends() {
        let mut paper = Paper::new(960.0);
        let end = draw(&mut paper, &flow(), 24.0, 0.0);
        assert!(end < HEIGHT + 40.0, "{end}");
        let flow = flow();
        let layout = place(&flow, 0.1, 100.0, 160.0);
        for node in &layout.nodes {
            for side in [&node.out, &node.into] {
                let middles: Vec<f64> = side.iter().map(|p| p.outer.1 + 0.05 * p.branch.amount).collect();
                assert!(middles.windows(2).all(|pair| pair[1] - pair[0] >= LABEL), "{middles:?}");
            }
        }
    }
}
