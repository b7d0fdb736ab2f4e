//! A floor plan to scale, with numbered rooms, a scale bar and a key.

use super::look::{INK, QUIET};
use super::panels::raised;
use super::paper::{Anchor, Paint, Paper};
use super::text::{Type, one_line};
use crate::quantity::{Kind, Units, convert};
use crate::report::chart::{FloorDrawing, length};
use crate::report::number::format_number;
use crate::site_figures::layout::{Contents, FloorRoom, Rectangle};

/// Highest drawing of the floor, px.
const HIGHEST: f64 = 400.0;
/// Room left of and above the floor for its measures, px.
const MEASURES: f64 = 22.0;
/// Type of measures and of the key.
const FACE: Type = Type::regular(12.0);
/// Height of a line of the key, px.
const KEY_LINE: f64 = 17.0;
/// Longest scale bar, as a share of the width of the floor.
const BAR: f64 = 0.25;

/// Colours of what stands there: inside and edge.
const fn colours(contents: Contents) -> (&'static str, &'static str, &'static str) {
    match contents {
        Contents::Beds => ("#f6f1e6", "#b98d57", "#7c5a2e"),
        Contents::Pallets => ("#eaf0f5", "#ffffff", "#6d7f90"),
        Contents::Goods => ("#eef1ea", "#b9c6ae", "#6f8060"),
    }
}

/// Colour of drums.
const DRUM: &str = "#36587c";

/// Pixels per metre and the place of the corner.
struct Scaled {
    per_metre: f64,
    left: f64,
    top: f64,
}

impl Scaled {
    fn draw(&self, paper: &mut Paper, of: &Rectangle, paint: &Paint) {
        let k = self.per_metre;
        paper.exact(self.left + k * of.x, self.top + k * of.y, k * of.width, k * of.depth, paint);
    }
}

/// Draws a floor from `top` down. Returns the lower end.
pub(super) fn draw(paper: &mut Paper, drawing: &FloorDrawing, left: f64, top: f64) -> f64 {
    let plan = &drawing.plan;
    let room = paper.width() - 2.0 * left - MEASURES;
    let per_metre = (room / plan.width).min(HIGHEST / plan.depth);
    let at = Scaled { per_metre, left: left + MEASURES, top: top + MEASURES };
    for room in &plan.rooms {
        let (floor, ..) = colours(room.contents);
        at.draw(
            paper,
            &room.room,
            &Paint { line: Some(("#b6bdc2".to_owned(), 0.75)), ..Paint::filled(floor) },
        );
    }
    let mut drums = plan.drums;
    for room in &plan.rooms {
        let (_, inside, edge) = colours(room.contents);
        let paint = Paint { line: Some((edge.to_owned(), 0.75)), ..Paint::filled(inside) };
        for thing in &room.things {
            at.draw(paper, thing, &paint);
            if room.contents == Contents::Pallets {
                let here = drums.min(plan.drums_per_pallet);
                drums -= here;
                pallet(paper, &at, thing, (here, plan.drums_per_pallet), plan.drum_diameter);
            }
        }
    }
    let whole = Rectangle { x: 0.0, y: 0.0, width: plan.width, depth: plan.depth };
    at.draw(paper, &whole, &Paint::line(INK, 2.5));
    for (n, room) in plan.rooms.iter().enumerate() {
        number(paper, &at, room, n + 1);
    }
    measures(paper, &at, &whole, drawing.units);
    let bottom = at.top + per_metre * plan.depth;
    let below = bar(paper, &at, &whole, bottom + 20.0, drawing.units);
    key(paper, drawing, left, below)
}

/// The drums on a pallet, in a square.
fn pallet(paper: &mut Paper, at: &Scaled, pallet: &Rectangle, (here, most): (usize, usize), diameter: f64) {
    let side = (1..=most).find(|n| n * n >= most).unwrap_or(1);
    let step = pallet.width / side as f64;
    for n in 0..here {
        let x = pallet.x + step * ((n % side) as f64 + 0.5);
        let y = pallet.y + step * ((n / side) as f64 + 0.5);
        let k = at.per_metre;
        paper.disc(at.left + k * x, at.top + k * y, 0.5 * k * diameter, &Paint::filled(DRUM));
    }
}

/// The number of a room in its upper left corner.
fn number(paper: &mut Paper, at: &Scaled, room: &FloorRoom, number: usize) {
    let k = at.per_metre;
    let radius = 8.5;
    let x = at.left + k * room.room.x + (0.5 * k * room.room.width).min(radius + 2.5);
    let y = at.top + k * room.room.y + (0.5 * k * room.room.depth).min(radius + 2.5);
    let paint = Paint { line: Some((INK.to_owned(), 1.0)), ..Paint::filled("#ffffff") };
    paper.disc(x, y, radius, &paint);
    paper.text(x, y + 4.0, Anchor::Middle, Type::bold(11.5), INK, &number.to_string());
}

fn measures(paper: &mut Paper, at: &Scaled, whole: &Rectangle, units: Units) {
    let (width, depth) = (at.per_metre * whole.width, at.per_metre * whole.depth);
    let middle = at.left + 0.5 * width;
    paper.text(middle, at.top - 7.0, Anchor::Middle, FACE, INK, &length(whole.width, units));
    paper.upward(at.left - 8.0, at.top + 0.5 * depth, FACE, INK, &length(whole.depth, units));
}

/// A scale bar of a round length.
fn bar(paper: &mut Paper, at: &Scaled, whole: &Rectangle, y: f64, units: Units) -> f64 {
    let unit = match units {
        Units::Si => "m",
        Units::Us => "ft",
    };
    let metre = convert(Kind::Length, 1.0, unit).unwrap_or(1.0);
    let most = BAR * whole.width * metre;
    let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0];
    let chosen = steps.into_iter().rev().find(|step| *step <= most).unwrap_or(1.0);
    let pixels = at.per_metre * chosen / metre;
    let paint = Paint::line(INK, 1.5);
    paper.straight((at.left, y), (at.left + pixels, y), &paint);
    for x in [at.left, at.left + pixels] {
        paper.straight((x, y - 4.0), (x, y + 4.0), &paint);
    }
    let text = format!("{} {unit}", format_number(chosen));
    paper.text(at.left + pixels + 8.0, y + 4.0, Anchor::Start, FACE, INK, &text);
    y + 12.0
}

/// The rooms by number, in two columns where they fit.
fn key(paper: &mut Paper, drawing: &FloorDrawing, left: f64, top: f64) -> f64 {
    let left = left + MEASURES;
    let half = 0.5 * (paper.width() - 2.0 * left) - 10.0;
    let line = |n: usize| raised(&one_line(&format!("{}  {}", n + 1, drawing.names[n])));
    let lines: Vec<String> = (0..drawing.names.len()).map(line).collect();
    let columns = if lines.iter().all(|line| FACE.width(line) <= half) { 2 } else { 1 };
    let width = if columns == 2 { half } else { paper.width() - 2.0 * left };
    for (n, line) in lines.iter().enumerate() {
        let x = left + (n % columns) as f64 * (half + 20.0);
        let y = top + 16.0 + KEY_LINE * (n / columns) as f64;
        paper.text(x, y, Anchor::Start, FACE, QUIET, &FACE.cut(line, width));
    }
    top + 10.0 + KEY_LINE * lines.len().div_ceil(columns) as f64
}
