//! One panel of axes and series: the only file that uses the plotting library.
//!
//! The library rounds every coordinate to whole units. A panel is therefore drawn on a field four times as fine as the page, and the
//! caller scales it back.

use super::look::{Colour, FAMILY, GRID, Stroke, stroke};
use crate::report::chart::{ChartLayer, Mark, Scale};
use plotters::coord::Shift;
use plotters::coord::ranged1d::{DefaultFormatting, KeyPointHint, Ranged};
use plotters::prelude::{
    Cartesian2d, ChartBuilder, ChartContext, Circle, Color, DashedLineSeries, DrawingArea,
    DrawingAreaErrorKind, IntoDrawingArea, IntoFont, LineSeries, Polygon, RGBColor, Rectangle, SVGBackend,
    ShapeStyle,
};
use std::fmt::Write;
use std::io;

/// Units of the fine field in a pixel of the page.
const FINE: f64 = 4.0;
/// The library divides font sizes by this.
const FONT_DIVISOR: f64 = 1.24;
/// Size of tick labels, px.
const LABELS: f64 = 11.0;

type PlotError = DrawingAreaErrorKind<io::Error>;
type Context<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<PlotAxis, PlotAxis>>;

/// An axis with our own ticks; the library would choose different ones.
struct PlotAxis {
    from: f64,
    to: f64,
    places: Vec<f64>,
}

impl PlotAxis {
    fn of(scale: &Scale) -> Self {
        Self { from: scale.from, to: scale.to, places: scale.ticks.iter().map(|tick| tick.at).collect() }
    }
}

impl Ranged for PlotAxis {
    type FormatOption = DefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, (low, high): (i32, i32)) -> i32 {
        let part = (value - self.from) / (self.to - self.from);
        #[expect(
            clippy::cast_possible_truncation,
            reason = "held near the field, which is some thousand units"
        )]
        let units = (part.clamp(-1.0, 2.0) * f64::from(high - low)).round() as i32;
        low + units
    }

    fn key_points<Hint: KeyPointHint>(&self, hint: Hint) -> Vec<f64> {
        if hint.weight().allow_light_points() { Vec::new() } else { self.places.clone() }
    }

    fn range(&self) -> std::ops::Range<f64> {
        self.from..self.to
    }
}

/// Room of a panel, px.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PanelRoom {
    /// Width with labels.
    pub width: f64,
    /// Height with labels.
    pub height: f64,
    /// Left of the axes.
    pub left: f64,
    /// Right of the axes.
    pub right: f64,
    /// Above the axes.
    pub top: f64,
    /// Below the axes.
    pub bottom: f64,
}

/// A drawing and the size of the field it is drawn on.
pub(super) struct DrawnPanel {
    /// Elements without the document around them.
    pub elements: String,
    /// Size of the field.
    pub field: (u32, u32),
}

/// Pixels as units of the fine field.
fn fine(pixels: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "rooms are some thousand pixels and held above zero"
    )]
    let units = (FINE * pixels).round().clamp(0.0, 1e6) as u32;
    units
}

fn rgb((red, green, blue): Colour) -> RGBColor {
    RGBColor(red, green, blue)
}

fn filled(s: Stroke) -> ShapeStyle {
    rgb(s.colour).mix(s.cover).filled()
}

fn lined(s: Stroke) -> ShapeStyle {
    ShapeStyle { color: rgb(s.colour).mix(1.0), filled: false, stroke_width: fine(s.width) }
}

/// Draws a panel.
pub(super) fn panel(room: PanelRoom, x: &Scale, y: &Scale, dates: bool, layers: &[ChartLayer]) -> DrawnPanel {
    let field = (fine(room.width), fine(room.height));
    let mut svg = String::new();
    {
        let root = SVGBackend::with_string(&mut svg, field).into_drawing_area();
        draw(&root, room, x, y, dates, layers).expect("writing to text in memory cannot fail");
        root.present().expect("writing to text in memory cannot fail");
    }
    DrawnPanel { elements: joined(inside(&svg)), field }
}

/// Content of the document element.
fn inside(svg: &str) -> &str {
    let start = svg.find('>').map_or(0, |at| at + 1);
    let end = svg.rfind("</svg>").unwrap_or(svg.len());
    svg[start..end].trim_start()
}

/// The same elements with neighbouring lines of one look as one path: each dash comes as an element of its own, and hundreds of them keep a
/// browser busy.
fn joined(elements: &str) -> String {
    let line = |element| -> Option<(&str, &str)> {
        let (look, points) = str::strip_prefix(element, "<polyline ")?.split_once("points=\"")?;
        Some((look, points.strip_suffix("\"/>")?.trim_end()))
    };
    let mut all = String::with_capacity(elements.len());
    let mut drawing = None;
    for element in elements.lines() {
        let (look, points) = line(element).unzip();
        if drawing.is_some() && drawing != look {
            all.push_str("\"/>\n");
        }
        match points {
            // writing to a text cannot fail
            Some(points) if drawing == look => _ = write!(all, "M{points}"),
            Some(points) => _ = write!(all, "<path {}d=\"M{points}", look.unwrap_or_default()),
            None => _ = writeln!(all, "{element}"),
        }
        drawing = look;
    }
    if drawing.is_some() {
        all.push_str("\"/>\n");
    }
    all
}

fn draw(
    root: &DrawingArea<SVGBackend<'_>, Shift>,
    room: PanelRoom,
    x: &Scale,
    y: &Scale,
    dates: bool,
    layers: &[ChartLayer],
) -> Result<(), PlotError> {
    let mut context = ChartBuilder::on(root)
        .margin_left(0)
        .margin_right(fine(room.right))
        .margin_top(fine(room.top))
        .x_label_area_size(fine(room.bottom))
        .y_label_area_size(fine(room.left))
        .build_cartesian_2d(PlotAxis::of(x), PlotAxis::of(y))?;
    mesh(&mut context, x, y, dates)?;
    // areas first, so that they hide no line
    for layer in layers {
        fills(&mut context, layer)?;
    }
    // levels before other lines, so that their rims hide none
    let (levels, lines): (Vec<&ChartLayer>, Vec<&ChartLayer>) =
        layers.iter().partition(|layer| matches!(layer.mark, Mark::Level(_)));
    for layer in levels.into_iter().chain(lines) {
        strokes(&mut context, layer, (x.from, x.to))?;
    }
    Ok(())
}

fn mesh(context: &mut Context<'_, '_>, x: &Scale, y: &Scale, dates: bool) -> Result<(), PlotError> {
    let label = |scale: &Scale, value: f64| {
        let tick = scale.ticks.iter().find(|tick| tick.at.total_cmp(&value).is_eq());
        tick.map_or(String::new(), |tick| tick.text.clone())
    };
    let (x_text, y_text) = (|value: &f64| label(x, *value), |value: &f64| label(y, *value));
    let font = (FAMILY, FINE * LABELS * FONT_DIVISOR).into_font().color(&RGBColor(0x22, 0x2a, 0x30));
    let grid = ShapeStyle { color: rgb(GRID).mix(1.0), filled: false, stroke_width: 3 };
    let axis = ShapeStyle { color: RGBColor(0x59, 0x63, 0x6b).mix(1.0), filled: false, stroke_width: 4 };
    let mut mesh = context.configure_mesh();
    mesh.light_line_style(rgb(GRID).mix(0.0))
        .bold_line_style(grid)
        .axis_style(axis)
        .label_style(font)
        .set_all_tick_mark_size(fine(4.0))
        .x_label_formatter(&x_text)
        .y_label_formatter(&y_text);
    if dates {
        mesh.disable_x_mesh();
    }
    mesh.draw()
}

/// Runs of finite points: a line stops at a missing value.
fn runs(points: &[(f64, f64)]) -> impl Iterator<Item = &[(f64, f64)]> {
    points.split(|(_, y)| !y.is_finite()).filter(|run| !run.is_empty())
}

fn fills(context: &mut Context<'_, '_>, layer: &ChartLayer) -> Result<(), PlotError> {
    let style = filled(stroke(layer.ink));
    match &layer.mark {
        Mark::Area(points) => {
            let lower = points.iter().map(|p| (p.0, p.1));
            let upper = points.iter().rev().map(|p| (p.0, p.2));
            let edge: Vec<(f64, f64)> = lower.chain(upper).filter(|p| p.1.is_finite()).collect();
            context.draw_series([Polygon::new(edge, style)])?;
        }
        Mark::Bars { points, width } => {
            let bars = points.iter().filter(|p| p.1.is_finite() && p.1 != 0.0);
            context.draw_series(bars.map(|(at, height)| {
                Rectangle::new([(at - 0.5 * width, *height), (at + 0.5 * width, 0.0)], style)
            }))?;
        }
        Mark::Line(_) | Mark::Dots(_) | Mark::Level(_) => {}
    }
    Ok(())
}

fn strokes(context: &mut Context<'_, '_>, layer: &ChartLayer, ends: (f64, f64)) -> Result<(), PlotError> {
    let s = stroke(layer.ink);
    let level;
    let points: &[(f64, f64)] = match &layer.mark {
        Mark::Line(points) => points,
        Mark::Level(value) => {
            // a white rim, for levels cross dark areas
            let rim = ShapeStyle {
                color: RGBColor(255, 255, 255).mix(0.8),
                ..lined(Stroke { width: s.width + 2.5, ..s })
            };
            context.draw_series(LineSeries::new([(ends.0, *value), (ends.1, *value)], rim))?;
            level = [(ends.0, *value), (ends.1, *value)];
            &level
        }
        Mark::Dots(points) => {
            let dots = points.iter().filter(|p| p.1.is_finite());
            let radius = fine(3.0);
            context.draw_series(dots.map(|p| Circle::new(*p, radius, rgb(s.colour).filled())))?;
            return Ok(());
        }
        Mark::Area(_) | Mark::Bars { .. } => return Ok(()),
    };
    for run in runs(points) {
        let run = run.iter().copied();
        match s.dash {
            None => context.draw_series(LineSeries::new(run, lined(s)))?,
            Some((dash, gap)) => {
                context.draw_series(DashedLineSeries::new(run, fine(dash), fine(gap), lined(s)))?
            }
        };
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbouring_lines_of_one_look_are_one_path() {
        let drawn = "<polyline fill=\"none\" stroke=\"#111\" points=\"0,0 4,0 \"/>\n\
                     <polyline fill=\"none\" stroke=\"#111\" points=\"6,0 9,1 \"/>\n\
                     <polyline fill=\"none\" stroke=\"#222\" points=\"1,1 2,2 \"/>\n\
                     <text x=\"1\">\n7\n</text>\n\
                     <polyline fill=\"none\" stroke=\"#222\" points=\"3,3 4,4 \"/>\n";
        let wanted = "<path fill=\"none\" stroke=\"#111\" d=\"M0,0 4,0M6,0 9,1\"/>\n\
                      <path fill=\"none\" stroke=\"#222\" d=\"M1,1 2,2\"/>\n\
                      <text x=\"1\">\n7\n</text>\n\
                      <path fill=\"none\" stroke=\"#222\" d=\"M3,3 4,4\"/>\n";
        assert_eq!(joined(drawn), wanted);
    }
}
