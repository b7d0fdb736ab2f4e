//! A sheet of SVG: text, lines and shapes at given positions, rounded to a tenth of a pixel.

use super::look::FAMILY;
use super::text::{Type, escaped};
use std::fmt::Write;

/// Which part of a text is at its position.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    /// Its start.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// How a shape is painted.
#[derive(Debug, Clone, Default)]
pub(super) struct Paint {
    /// Colour inside, if any.
    pub fill: Option<String>,
    /// Opacity, 0 to 1, if not opaque.
    pub cover: Option<f64>,
    /// Colour and width of the line, if any.
    pub line: Option<(String, f64)>,
    /// Dash and gap.
    pub dash: Option<(f64, f64)>,
}

impl Paint {
    /// Filled, without a line.
    pub(super) fn filled(colour: impl Into<String>) -> Self {
        Self { fill: Some(colour.into()), ..Self::default() }
    }

    /// A line, not filled.
    pub(super) fn line(colour: impl Into<String>, width: f64) -> Self {
        Self { line: Some((colour.into(), width)), ..Self::default() }
    }

    fn attributes(&self) -> String {
        let mut out = format!(" fill=\"{}\"", self.fill.as_deref().unwrap_or("none"));
        if let Some(cover) = self.cover.filter(|cover| *cover < 1.0) {
            let _ = write!(out, " opacity=\"{}\"", short(cover));
        }
        if let Some((colour, width)) = &self.line {
            let _ = write!(out, " stroke=\"{colour}\" stroke-width=\"{}\"", short(*width));
        }
        if let Some((dash, gap)) = self.dash {
            let _ = write!(out, " stroke-dasharray=\"{} {}\"", short(dash), short(gap));
        }
        out
    }
}

/// A number with at most two decimals and no trailing zeros, the same on every machine.
pub(super) fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A coordinate, to a tenth of a pixel.
fn at(value: f64) -> String {
    short((10.0 * value).round() / 10.0)
}

/// A sheet being drawn.
#[derive(Debug, Clone)]
pub(super) struct Paper {
    width: f64,
    body: String,
}

impl Paper {
    /// An empty sheet.
    pub(super) fn new(width: f64) -> Self {
        Self { width, body: String::new() }
    }

    /// Width of the sheet.
    pub(super) fn width(&self) -> f64 {
        self.width
    }

    /// Text on a base line.
    pub(super) fn text(&mut self, x: f64, y: f64, anchor: Anchor, face: Type, colour: &str, text: &str) {
        self.write_text(x, y, anchor, face, colour, text, "");
    }

    /// Text with a white outline, for places where it may overlap something.
    pub(super) fn rimmed(&mut self, x: f64, y: f64, anchor: Anchor, face: Type, colour: &str, text: &str) {
        let rim = " stroke=\"#ffffff\" stroke-width=\"3\" stroke-linejoin=\"round\" paint-order=\"stroke\"";
        self.write_text(x, y, anchor, face, colour, text, rim);
    }

    #[expect(clippy::too_many_arguments, reason = "the one place that writes a text element")]
    fn write_text(
        &mut self,
        x: f64,
        y: f64,
        anchor: Anchor,
        face: Type,
        colour: &str,
        text: &str,
        extra: &str,
    ) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let weight = if face.bold { " font-weight=\"bold\"" } else { "" };
        let _ = writeln!(
            self.body,
            "<text x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\" font-size=\"{}\"{weight} fill=\"{colour}\"{extra}>{}</text>",
            at(x),
            at(y),
            short(face.size),
            escaped(text)
        );
    }

    /// A rectangle.
    pub(super) fn rectangle(&mut self, x: f64, y: f64, width: f64, height: f64, paint: &Paint) {
        let _ = writeln!(
            self.body,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{}/>",
            at(x),
            at(y),
            at(width),
            at(height),
            paint.attributes()
        );
    }

    /// A rectangle to a hundredth of a pixel, for drawings to scale.
    pub(super) fn exact(&mut self, x: f64, y: f64, width: f64, height: f64, paint: &Paint) {
        let n = short;
        let attributes = paint.attributes();
        let _ = writeln!(
            self.body,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{attributes}/>",
            n(x),
            n(y),
            n(width),
            n(height)
        );
    }

    /// Text that runs upwards, its middle at this place.
    pub(super) fn upward(&mut self, x: f64, y: f64, face: Type, colour: &str, text: &str) {
        let turned = format!(" transform=\"rotate(-90 {} {})\"", at(x), at(y));
        self.write_text(x, y, Anchor::Middle, face, colour, text, &turned);
    }

    /// A straight line.
    pub(super) fn straight(&mut self, from: (f64, f64), to: (f64, f64), paint: &Paint) {
        let _ = writeln!(
            self.body,
            "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"{}/>",
            at(from.0),
            at(from.1),
            at(to.0),
            at(to.1),
            paint.attributes()
        );
    }

    /// A disc.
    pub(super) fn disc(&mut self, x: f64, y: f64, radius: f64, paint: &Paint) {
        let _ = writeln!(
            self.body,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{}/>",
            at(x),
            at(y),
            short(radius),
            paint.attributes()
        );
    }

    /// A ribbon from one vertical edge to another, both as (x, top, height); heights to a hundredth of a pixel.
    pub(super) fn ribbon(&mut self, from: (f64, f64, f64), to: (f64, f64, f64), paint: &Paint) {
        let half = 0.5 * (from.0 + to.0);
        let n = short;
        let _ = writeln!(
            self.body,
            "<path d=\"M{} {}C{} {} {} {} {} {}L{} {}C{} {} {} {} {} {}Z\"{}/>",
            n(from.0),
            n(from.1),
            n(half),
            n(from.1),
            n(half),
            n(to.1),
            n(to.0),
            n(to.1),
            n(to.0),
            n(to.1 + to.2),
            n(half),
            n(to.1 + to.2),
            n(half),
            n(from.1 + from.2),
            n(from.0),
            n(from.1 + from.2),
            paint.attributes()
        );
    }

    /// Another drawing, scaled into a rectangle.
    pub(super) fn inset(&mut self, x: f64, y: f64, size: (f64, f64), inside: (u32, u32), drawing: &str) {
        let _ = writeln!(
            self.body,
            "<svg x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" viewBox=\"0 0 {} {}\">\n{drawing}</svg>",
            at(x),
            at(y),
            at(size.0),
            at(size.1),
            inside.0,
            inside.1
        );
    }

    /// The finished document. `style` is its style sheet; screen readers read `title`.
    pub(super) fn finish(self, height: f64, title: &str, style: &str) -> String {
        let (width, height) = (at(self.width), at(height));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
             role=\"img\" font-family=\"{FAMILY}\">\n<title>{}</title>\n{style}<rect width=\"{width}\" height=\"{height}\" \
             fill=\"#ffffff\"/>\n{}</svg>\n",
            escaped(title),
            self.body
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!(short(1.0 / 3.0), "0.33");
        assert_eq!(short(-0.001), "0");
        assert_eq!(short(120.0), "120");
        assert_eq!(at(12.345), "12.3");
    }

    #[test]
    fn text_is_escaped_everywhere() {
        let mut paper = Paper::new(100.0);
        paper.text(1.0, 2.0, Anchor::Start, Type::regular(10.0), "#000000", "</text><script>");
        let svg = paper.finish(50.0, "\"quoted\" & <b>", "");
        assert!(!svg.contains("<script>") && !svg.contains("<b>"), "{svg}");
        assert!(svg.contains("&lt;/text&gt;&lt;script&gt;"));
    }
}
