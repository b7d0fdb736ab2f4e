//! Draws charts in one style, as self-contained SVG and as PNG with the embedded font. The same chart gives the same bytes. Positions
//! are in pixels of a page 960 pixels wide.

mod axes;
mod counts;
mod floor;
mod flow;
mod intervals;
mod look;
mod panels;
mod paper;
#[cfg(feature = "png")]
mod png;
pub(in crate::report) mod text;

#[cfg(feature = "png")]
pub use png::png;

use self::look::{INK, QUIET};
use self::paper::{Anchor, Paint, Paper};
use self::text::{Type, bound, one_line, set_apart};
use crate::report::chart::{Body, Chart};
use std::{error, fmt};

/// Width of every chart, px.
const WIDTH: f64 = 960.0;
/// Width of a chart with few labels on a page that prints its title, px.
const NARROW: f64 = 760.0;
/// Blank edge, px.
const EDGE: f64 = 24.0;
/// Type of the title.
const TITLE: Type = Type::bold(17.0);
/// Type of the description and the source.
const SMALL: Type = Type::regular(11.5);
/// Widest name of a scenario, px.
const NAME: f64 = 420.0;

/// Fonts for style sheets.
const REGULAR: &[u8] = include_bytes!("../fonts/NotoSans-Regular.latin.woff2");
const BOLD: &[u8] = include_bytes!("../fonts/NotoSans-Bold.latin.woff2");

/// Style with the embedded fonts. A page with many charts needs it once.
pub(super) fn font_style() -> String {
    let face = |weight: &str, bytes: &[u8]| {
        format!(
            "@font-face{{font-family:\"Noto Sans\";font-weight:{weight};src:url(data:font/woff2;base64,{}) format(\"woff2\")}}",
            base64(bytes)
        )
    };
    format!("{}\n{}", face("normal", REGULAR), face("bold", BOLD))
}

/// A chart as a self-contained SVG document with its fonts.
pub fn svg_file(chart: &Chart) -> String {
    document(chart, &format!("<style>\n{}\n</style>\n", font_style()))
}

/// A drawn chart as a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// File name with its ending.
    pub name: String,
    /// Content of the file.
    pub bytes: Vec<u8>,
}

/// Endings of the files of every chart.
pub const ENDINGS: &[&str] = if cfg!(feature = "png") { &["svg", "png"] } else { &["svg"] };

/// File names of the charts of these names, in the order of [`pictures`].
pub fn picture_names<'a>(charts: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    charts
        .into_iter()
        .flat_map(|chart| ENDINGS.iter().map(move |ending| format!("{chart}.{ending}")))
        .collect()
}

/// Draws charts as files: SVG, and PNG if the program was built with it.
///
/// # Errors
/// When a picture cannot be rendered, which is a fault of the program.
pub fn pictures(charts: &[Chart]) -> Result<Vec<Picture>, PictureError> {
    let mut out = Vec::new();
    for chart in charts {
        out.push(Picture { name: format!("{}.svg", chart.file), bytes: svg_file(chart).into_bytes() });
        #[cfg(feature = "png")]
        out.push(Picture { name: format!("{}.png", chart.file), bytes: png(&svg(chart))? });
    }
    Ok(out)
}

/// Why a picture cannot be rendered: a fault of the program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureError {
    why: String,
}

impl fmt::Display for PictureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a chart cannot be rendered: {}", self.why)
    }
}

impl error::Error for PictureError {}

/// A chart as SVG without its fonts, for a page that embeds them.
pub fn svg(chart: &Chart) -> String {
    document(chart, "")
}

fn document(chart: &Chart, style: &str) -> String {
    let mut paper = Paper::new(WIDTH);
    let mut y = EDGE;
    for line in TITLE.wrap(&bound(&one_line(&chart.title)), WIDTH - 2.0 * EDGE) {
        y += 18.0;
        paper.text(EDGE, y, Anchor::Start, TITLE, INK, &line);
        y += 5.0;
    }
    y += 2.0;
    for line in SMALL.wrap(&one_line(&chart.shows), WIDTH - 2.0 * EDGE) {
        y += 15.0;
        paper.text(EDGE, y, Anchor::Start, SMALL, QUIET, &line);
    }
    y += 16.0;
    y = body(&mut paper, chart, y) + 12.0;
    paper.straight((EDGE, y), (WIDTH - EDGE, y), &Paint::line("#dde1e4", 0.75));
    y += 17.0;
    let name = SMALL.cut(&one_line(&chart.source.name), NAME);
    let source = format!("{}: {}", set_apart(&name), chart.source.rest);
    paper.text(EDGE, y, Anchor::Start, SMALL, QUIET, &source);
    paper.finish(y + 14.0, &one_line(&chart.title), style)
}

fn body(paper: &mut Paper, chart: &Chart, y: f64) -> f64 {
    match &chart.body {
        Body::Panels(panels) => panels::draw(paper, panels, EDGE, y),
        Body::Flow(flow) => flow::draw(paper, flow, EDGE, y),
        Body::Intervals(intervals) => intervals::draw(paper, intervals, EDGE, y),
        Body::Floor(floor) => floor::draw(paper, floor, EDGE, y),
        Body::Counts(counts) => counts::draw(paper, counts, EDGE, y),
        Body::Nothing(why) => {
            paper.text(EDGE, y + 40.0, Anchor::Start, Type::regular(14.0), INK, why);
            y + 70.0
        }
    }
}

/// The marks of a chart without title and source, as SVG without fonts, for a page that prints those itself. Charts with few labels are
/// narrower, so that their type is larger on paper.
pub(super) fn plot(chart: &Chart) -> String {
    let width = match chart.body {
        Body::Panels(_) | Body::Floor(_) | Body::Counts(_) | Body::Nothing(_) => NARROW,
        Body::Flow(_) | Body::Intervals(_) => WIDTH,
    };
    let mut paper = Paper::new(width);
    let y = body(&mut paper, chart, 4.0);
    paper.finish(y + 4.0, &one_line(&chart.title), "")
}

/// Bytes in base 64, for data addresses. Source: RFC 4648 section 4.
pub(in crate::report) fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |n: usize| u32::from(three.get(n).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for n in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * n) & 63) as usize];
            out.push(if n <= three.len() { char::from(letter) } else { '=' });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Units;
    use crate::report::chart::{ChartBands, run_charts};
    use crate::report::sample;

    #[test]
    fn base64_matches_the_printed_vectors() {
        // RFC 4648 section 10
        for (plain, coded) in
            [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy")]
        {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn pictures_have_the_names_listed_in_advance() {
        let charts = run_charts(&sample::answer(), &ChartBands::default(), Units::Si);
        let made: Vec<String> = pictures(&charts).unwrap().into_iter().map(|p| p.name).collect();
        assert_eq!(made, picture_names(charts.iter().map(|c| c.file.as_str())));
        assert_eq!(made[0], "chart_throughput.svg");
    }

    #[test]
    fn the_same_chart_gives_the_same_bytes() {
        let charts = || run_charts(&sample::answer(), &ChartBands::default(), Units::Si);
        for (once, again) in charts().iter().zip(&charts()) {
            let drawn = svg(once);
            assert_eq!(drawn, svg(again), "{}", once.file);
            assert!(drawn.starts_with("<svg xmlns") && drawn.ends_with("</svg>\n"), "{}", once.file);
            assert!(!drawn.contains("NaN") && !drawn.contains("inf"), "{}", once.file);
        }
    }

    #[test]
    fn a_hostile_name_is_cut_and_escaped() {
        let mut answer = sample::answer();
        answer.name = format!("<script>alert(\"1\")</script>\n{}", "'very' long ".repeat(40));
        for chart in run_charts(&answer, &ChartBands::default(), Units::Si) {
            let drawn = svg(&chart);
            assert!(!drawn.contains("<script"), "{}", chart.file);
            assert!(drawn.contains("&lt;script&gt;") && drawn.contains('\u{2026}'), "{}", chart.file);
        }
    }
}
