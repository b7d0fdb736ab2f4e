//! The live page: its document, what it is sent when a choice was moved, and the pages behind its numbers. All texts are made here, in
//! both systems of units; the script of the page only puts them in place. Text of a scenario reaches the page as text alone: the
//! markup library escapes it, and markup that the script puts in place (`site`, `details`) holds none.

pub mod details;
mod live;
mod page;
mod site;

pub use live::{Bands, Moved, Settled, bands, moved, saved_name, settled};
pub use page::{LARGEST_OPENED, PAGE_SCRIPT, PAGE_STYLE, page};

use super::chart::{Chart, ChartBands, draws_chart, run_chart};
use super::draw::svg_file;
use crate::quantity::Units;
use crate::study::answer::RunAnswer;
use crate::study::uncertainty::UncertaintyAnswer;

/// Charts that the page shows, by their file names.
pub const PAGE_CHARTS: [&str; 3] = ["chart_stock", "chart_drums", "chart_throughput"];

/// Draws with their bands.
type Drawn<'a> = Option<(&'a UncertaintyAnswer, &'a ChartBands)>;

/// A chart of the page with the bands of draws where there are some. `None` if the page has no such chart.
fn chart(name: &str, answer: &RunAnswer, drawn: Drawn<'_>, units: Units) -> Option<Chart> {
    let known = PAGE_CHARTS.contains(&name);
    let made = || match drawn {
        Some(drawn) => draws_chart(name, answer, drawn, units),
        None => run_chart(name, answer, &ChartBands::default(), units),
    };
    known.then(made).flatten()
}

/// A chart of the page as an SVG file with its fonts. `None` if the page has no such chart.
pub fn picture(
    name: &str,
    answer: &RunAnswer,
    study: Option<&UncertaintyAnswer>,
    units: Units,
) -> Option<String> {
    let bands = study.map(ChartBands::of);
    chart(name, answer, study.zip(bands.as_ref()), units).map(|chart| svg_file(&chart))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of a colour such as `#1f4e5f` or `#fff`. Source: WCAG 2.1.
    fn luminance(colour: &str) -> f64 {
        let digits = colour.trim_start_matches('#');
        let step = digits.len() / 3;
        let part = |n: usize| {
            let text = digits[n * step..(n + 1) * step].repeat(3 - step);
            let share = f64::from(u8::from_str_radix(&text, 16).unwrap()) / 255.0;
            if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(0) + 0.7152 * part(1) + 0.0722 * part(2)
    }

    #[test]
    fn text_stands_out_from_its_ground_in_both_schemes() {
        let schemes: Vec<&str> = PAGE_STYLE
            .split("color-scheme: light dark;")
            .chain(PAGE_STYLE.split("{\n  :root {").skip(1))
            .skip(1)
            .collect();
        assert_eq!(schemes.len(), 2);
        for scheme in schemes {
            let colour = |name: &str| {
                let (_, rest) =
                    scheme.split_once(&format!("--{name}: ")).unwrap_or_else(|| panic!("no {name}"));
                luminance(rest.split(';').next().unwrap())
            };
            for ink in ["ink", "quiet", "deep", "against"] {
                for ground in ["ground", "sheet"] {
                    let (a, b) = (colour(ink), colour(ground));
                    let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
                    assert!(contrast >= 4.5, "{ink} on {ground}: {contrast:.2}");
                }
            }
        }
    }
}
