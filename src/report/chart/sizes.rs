//! Sizing: the chance of meeting each target by size.

use super::{Body, Chart, ChartLayer, ChartSource, Horizontal, Ink, Mark, Panel, Panels, source_of};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, format_figures, format_percent, in_column_unit};
use crate::report::pages::page::words;
use crate::report::pages::sizing::{asks, limits};
use crate::study::sizing::{Along, AlongPoint, AlongShare, Met, NAMES, SizingAnswer, Variable};

/// File names, without ending, of all charts that a sizing may have. Only sizes that are sought have one.
pub fn size_chart_names() -> Vec<String> {
    NAMES.iter().map(|name| format!("chart_chance_{name}")).collect()
}

/// The charts of a sizing: the chances by each size that is sought.
pub fn size_charts(answer: &SizingAnswer, units: Units) -> Vec<Chart> {
    answer.along.iter().map(|along| chances(answer, along, units)).collect()
}

/// A size in the reader's units.
struct Sized<'a> {
    variable: Option<&'a Variable>,
    name: String,
    units: Units,
}

impl<'a> Sized<'a> {
    fn of(answer: &'a SizingAnswer, name: &str, units: Units) -> Self {
        let variable = answer.variables.iter().find(|variable| variable.name == name);
        Self { variable, name: words(name), units }
    }

    fn kind(&self) -> Kind {
        self.variable.map_or(Kind::Factor, |variable| variable.kind)
    }

    fn unit(&self) -> &'static str {
        column_unit(self.kind(), self.units)
    }

    fn at(&self, value: f64) -> f64 {
        in_column_unit(self.kind(), value, self.units)
    }

    /// A value with its unit: 60, 190 m².
    fn with_unit(&self, value: f64) -> String {
        format!("{} {}", format_figures(self.at(value), 3), self.unit().replace('2', "\u{b2}"))
            .trim_end()
            .to_owned()
    }

    /// A value with its name: 60 drums, 190 m² of bed area.
    fn to_text(&self, value: f64) -> String {
        match self.name.as_str() {
            "drums" | "beds" | "grinder hours" => {
                format!("{} {}", format_figures(self.at(value), 3), self.name)
            }
            name => format!("{} of {name}", self.with_unit(value)),
        }
    }

    fn axis(&self, values: impl Iterator<Item = f64>) -> Horizontal {
        let (from, to) = values
            .map(|value| self.at(value))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        Horizontal::Numbers { label: self.name.clone(), unit: self.unit().to_owned(), from, to }
    }
}

fn source(answer: &SizingAnswer, draws: &str) -> ChartSource {
    let basis = format!("{draws} draws of each site, seed {}", answer.seed);
    source_of(&answer.name, (answer.start, answer.days as usize), &basis, answer.version)
}

fn chances(answer: &SizingAnswer, along: &Along, units: Units) -> Chart {
    let sized = Sized::of(answer, along.variable, units);
    let panel = |(n, met): (usize, &Met)| {
        let of = |point: &AlongPoint| -> Option<(f64, AlongShare)> {
            point.shares.get(n).map(|share| (sized.at(point.value), *share))
        };
        let points = || along.points.iter().filter_map(of);
        let line: Vec<(f64, f64)> = points().map(|(at, s)| (at, 100.0 * s.share)).collect();
        let band = points().map(|(at, s)| (at, 100.0 * s.low, 100.0 * s.high)).collect();
        let chosen = along.points.iter().filter(|point| point.answer).filter_map(of);
        Panel {
            label: if met.failure {
                format!("% of draws without: {}", asks(met, units))
            } else {
                format!("% of draws with {} {}", met.what, limits(met, units))
            },
            unit: String::new(),
            from_zero: true,
            min_span: 0.0,
            layers: vec![
                ChartLayer::new("95 % interval", Ink::Wide, Mark::Area(band)),
                ChartLayer::new("share of draws", Ink::Night, Mark::Line(line.clone())),
                ChartLayer::new("", Ink::Night, Mark::Dots(line)),
                ChartLayer::new("required chance", Ink::Slate, Mark::Level(100.0 * met.chance)),
                ChartLayer::new(
                    "answer",
                    Ink::Ember,
                    Mark::Dots(chosen.map(|(at, s)| (at, 100.0 * s.share)).collect()),
                ),
            ],
        }
    };
    let draws = along.points.iter().flat_map(|p| &p.shares).map(|share| share.draws).max().unwrap_or(0);
    Chart {
        file: format!("chart_chance_{}", along.variable),
        title: chances_title(answer, along, &sized, units),
        shows: format!(
            "Share of the draws in which each target is met, by {}, with all other sizes as in the answer; the same draws for every site, of \
             which those near a limit are made and the others expected from the answer's.",
            sized.name
        ),
        source: source(answer, &draws.to_string()),
        body: Body::Panels(Panels {
            x: sized.axis(along.points.iter().map(|point| point.value)),
            panels: shown(answer, along).into_iter().map(|n| panel((n, &answer.targets[n]))).collect(),
        }),
    }
}

/// Targets that some draw misses at some site, by their places; the first target if none.
fn shown(answer: &SizingAnswer, along: &Along) -> Vec<usize> {
    let missed = |n: &usize| along.points.iter().any(|point| point.shares[*n].share < 1.0);
    let shown: Vec<usize> = (0..answer.targets.len()).filter(missed).collect();
    if shown.is_empty() { vec![0] } else { shown }
}

fn chances_title(answer: &SizingAnswer, along: &Along, sized: &Sized<'_>, units: Units) -> String {
    let to_text = |point: &AlongPoint| sized.to_text(point.value);
    let with_unit = |point: &AlongPoint| sized.with_unit(point.value);
    let chosen = along.points.iter().find(|point| point.answer);
    let (Some(first), Some(chosen)) = (along.points.first(), chosen) else {
        return format!("No other {} was tried.", sized.name);
    };
    // the target that suffers most at the smallest size tried
    let loss = |n: usize| chosen.shares[n].share - first.shares[n].share;
    let worst = (0..answer.targets.len()).max_by(|a, b| loss(*a).total_cmp(&loss(*b)));
    match worst.filter(|n| loss(*n) > 0.0) {
        Some(n) if answer.targets[n].failure => format!(
            "With {} instead of {}, {} in {} of draws instead of {}.",
            to_text(first),
            with_unit(chosen),
            asks(&answer.targets[n], units),
            format_percent(1.0 - first.shares[n].share),
            format_percent(1.0 - chosen.shares[n].share)
        ),
        Some(n) => format!(
            "With {} instead of {}, {} is {} in {} of draws instead of {}.",
            to_text(first),
            with_unit(chosen),
            answer.targets[n].what,
            limits(&answer.targets[n], units),
            format_percent(first.shares[n].share),
            format_percent(chosen.shares[n].share)
        ),
        None => {
            format!(
                "With {}, every target is met at least as often as with {}, the answer.",
                to_text(first),
                with_unit(chosen)
            )
        }
    }
}
