//! Variants of a site: differences from the base site with intervals, and figures against the value that was varied.

use super::intervals::{IntervalPoint, IntervalRow, Intervals};
use super::measured::{ShownFigure, format_signed};
use super::{Body, Chart, ChartLayer, ChartSource, Horizontal, Ink, Mark, Panel, Panels, density};
use crate::quantity::{self, Kind, Units};
use crate::report::number::{column_unit, in_column_unit};
use crate::report::pages::page::words;
use crate::scenario::field;
use crate::study::what_if::{Base, DENSITY, Paired, Variant, WhatIf};

/// File name, without ending, of the chart of figures against the value that was varied.
const AGAINST: &str = "chart_against";
/// Inks of the lines of a second key; more lines would be hard to tell apart.
const INKS: [Ink; 3] = [Ink::Night, Ink::Ember, Ink::Sky];

/// File names, without ending, of the charts of a comparison of these figures, in the order of [`compare_charts`]; `of_density` says
/// whether the stocking density alone is varied.
pub fn compare_chart_names<'a>(figures: impl IntoIterator<Item = &'a str>, of_density: bool) -> Vec<String> {
    let differences = figures.into_iter().map(|figure| format!("chart_difference_{figure}"));
    let densities = of_density.then(|| density::DENSITY.to_owned());
    differences.chain([AGAINST.to_owned()]).chain(densities).collect()
}

/// The charts of a comparison: the differences of each figure, then all figures against the value that was varied, then those of
/// stocking density where that was varied.
pub fn compare_charts(answer: &WhatIf, units: Units) -> Vec<Chart> {
    let differences = answer.figures.iter().enumerate().map(|(n, base)| difference(answer, n, base, units));
    differences.chain([against(answer, units)]).chain(density_chart(answer, units)).collect()
}

/// The chart of stocking densities. None unless they were varied.
pub(in crate::report) fn density_chart(answer: &WhatIf, units: Units) -> Option<Chart> {
    answer.density.as_ref().map(|of| density::chart(of, source(answer), units))
}

fn source(answer: &WhatIf) -> ChartSource {
    let rest = format!(
        "the same {} draws for the base site and every variant, seed {}, Loamledger {}",
        answer.draws, answer.seed, answer.version
    );
    ChartSource { name: answer.name.clone(), rest }
}

/// A variant by its keys and values, in words.
fn label(answer: &WhatIf, variant: &Variant) -> String {
    let pairs = answer.keys.iter().zip(&variant.values).map(|(key, value)| pair(key, value));
    pairs.collect::<Vec<_>>().join(", ")
}

/// A key and its value in words: stock density = 4 kg/m².
fn pair(key: &str, value: &str) -> String {
    let value = value.trim_matches('"');
    let unit = kind_of(key).filter(|_| value.parse::<f64>().is_ok()).map_or("", Kind::unit);
    format!("{} = {} {}", key_in_words(key), words(value), unit.replace('2', "\u{b2}")).trim_end().to_owned()
}

/// A scenario key in words: drums count, climate drum room heated to.
pub(in crate::report) fn key_in_words(key: &str) -> String {
    words(key).replace('.', " ")
}

/// The kind of the number that a key holds. `None` if it holds no number.
fn kind_of(key: &str) -> Option<Kind> {
    if key == DENSITY {
        return Some(Kind::ArealMass);
    }
    // the table of fields omits places in a list
    let pattern: Vec<&str> = key.split('.').filter(|part| part.parse::<usize>().is_err()).collect();
    field::field(&pattern.join(".")).map(|field| field.kind)
}

fn difference(answer: &WhatIf, n: usize, base: &Base, units: Units) -> Chart {
    let shown = ShownFigure::of(base.figure, base.unit, units);
    let rows = answer.variants.iter().map(|variant| {
        let Paired { mean, low, high, clear } = variant.figures[n].difference;
        let [mean, low, high] = [mean, low, high].map(|value| shown.difference(value));
        IntervalRow {
            group: String::new(),
            label: label(answer, variant),
            figures: format!(
                "{} ({} to {}){}",
                format_signed(mean),
                format_signed(low),
                format_signed(high),
                if clear { "" } else { ", not clear" }
            ),
            allowed: None,
            points: vec![Some(IntervalPoint { interval: Some((low, high)), inner: None, middle: mean })],
        }
    });
    Chart {
        file: format!("chart_difference_{}", base.figure),
        title: difference_title(answer, n, base, shown),
        shows: format!(
            "{}: mean difference between the variant and the base site over the same draws, with its 95 % interval. A difference \
             is not clear if the interval includes zero.",
            capital(base.what)
        ),
        source: source(answer),
        body: Body::Intervals(Intervals {
            label: format!("difference in {}", base.what),
            unit: shown.unit.to_owned(),
            log: false,
            from_zero: true,
            reference: Some((0.0, "base site".to_owned())),
            series: vec![("difference".to_owned(), Ink::Night)],
            allowed: None,
            rows: rows.collect(),
        }),
    }
}

fn difference_title(answer: &WhatIf, n: usize, base: &Base, shown: ShownFigure) -> String {
    let clear = answer.variants.iter().filter(|variant| variant.figures[n].difference.clear);
    let largest = clear.max_by(|a, b| {
        let size = |variant: &Variant| variant.figures[n].difference.mean.abs();
        size(a).total_cmp(&size(b))
    });
    match largest {
        None => format!("No variant clearly changes {}.", base.what),
        Some(variant) => {
            let d = variant.figures[n].difference;
            let change = format!("{} {}", format_signed(shown.difference(d.mean)), shown.unit);
            format!(
                "Largest clear change in {}: {} from {}, with {}.",
                base.what,
                change.trim_end(),
                shown.to_text(base.mean),
                label(answer, variant)
            )
        }
    }
}

/// The varied keys in words.
fn varied(answer: &WhatIf) -> String {
    answer.keys.iter().map(|key| key_in_words(key)).collect::<Vec<_>>().join(" and ")
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// A key that holds a number: its kind and its values in the reader's unit.
struct VariedNumber {
    kind: Option<Kind>,
    values: Vec<f64>,
}

impl VariedNumber {
    fn of(answer: &WhatIf, place: usize, units: Units) -> Option<Self> {
        let key = &answer.keys[place];
        let kind = kind_of(key);
        let read = |text: &str| match text.parse::<f64>() {
            Ok(value) => Some(value),
            Err(_) => quantity::parse(kind?, text.trim_matches('"')).ok(),
        };
        let shown = |value: f64| kind.map_or(value, |kind| in_column_unit(kind, value, units));
        let values = answer.variants.iter().map(|variant| read(&variant.values[place]).map(shown));
        Some(Self { kind, values: values.collect::<Option<_>>()? })
    }
}

fn against(answer: &WhatIf, units: Units) -> Chart {
    let key = answer.keys.first().map_or("", String::as_str);
    let number = VariedNumber::of(answer, 0, units).filter(|number| different(&number.values) > 1);
    let others = distinct(answer, 1);
    let body = match number {
        Some(number) if others.len() <= INKS.len() => {
            let unit = number.kind.map_or("", |kind| column_unit(kind, units));
            let (from, to) = number
                .values
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
            let panel = |(n, base)| panel(answer, (n, base), &number.values, &others, units);
            Body::Panels(Panels {
                x: Horizontal::Numbers { label: key_in_words(key), unit: unit.to_owned(), from, to },
                panels: answer.figures.iter().enumerate().map(panel).collect(),
            })
        }
        Some(_) => Body::Nothing(format!(
            "Too many values of {} to draw a line for each.",
            key_in_words(&answer.keys[1])
        )),
        None => Body::Nothing(format!(
            "{} does not take several numbers, so there is no axis to draw against.",
            capital(&key_in_words(key))
        )),
    };
    Chart {
        file: AGAINST.to_owned(),
        title: against_title(answer, &varied(answer), &body),
        shows: if others.len() == 1 {
            "Means over the draws by variant; the band is the 95 % interval of the difference from the base site, which is the \
             dotted line."
        } else {
            "Means over the draws by variant; the dotted line is the base site."
        }
        .to_owned(),
        source: source(answer),
        body,
    }
}

/// Values of a key in order of appearance; one empty value if there is no such key.
fn distinct(answer: &WhatIf, place: usize) -> Vec<&str> {
    let mut all: Vec<&str> = Vec::new();
    for variant in &answer.variants {
        let value = variant.values.get(place).map_or("", String::as_str);
        if !all.contains(&value) {
            all.push(value);
        }
    }
    all
}

fn different(values: &[f64]) -> usize {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.dedup();
    sorted.len()
}

fn panel(answer: &WhatIf, (n, base): (usize, &Base), values: &[f64], others: &[&str], units: Units) -> Panel {
    let shown = ShownFigure::of(base.figure, base.unit, units);
    let mut layers = Vec::new();
    for (other, ink) in others.iter().zip(INKS) {
        let mine = answer.variants.iter().zip(values);
        let mut mine: Vec<(f64, &Variant)> = mine
            .filter(|(variant, _)| variant.values.get(1).map_or("", String::as_str) == *other)
            .map(|(variant, value)| (*value, variant))
            .collect();
        mine.sort_by(|a, b| a.0.total_cmp(&b.0));
        if others.len() == 1 {
            let edge = |(at, variant): &(f64, &Variant)| {
                let d = variant.figures[n].difference;
                let (low, high) = (base.mean + d.low, base.mean + d.high);
                // only temperatures can be negative
                let low = if base.unit == "°C" { low } else { low.max(0.0) };
                (*at, shown.at(low), shown.at(high.max(low)))
            };
            layers.push(ChartLayer::new(
                "95 % interval",
                Ink::Wide,
                Mark::Area(mine.iter().map(edge).collect()),
            ));
        }
        let points: Vec<(f64, f64)> =
            mine.iter().map(|(at, variant)| (*at, shown.at(variant.figures[n].mean))).collect();
        let name = if other.is_empty() { "mean".to_owned() } else { pair(&answer.keys[1], other) };
        layers.push(ChartLayer::new(name, ink, Mark::Line(points.clone())));
        layers.push(ChartLayer::new("", ink, Mark::Dots(points)));
    }
    layers.push(ChartLayer::new("base site", Ink::Slate, Mark::Level(shown.at(base.mean))));
    Panel {
        label: base.what.to_owned(),
        unit: shown.unit.to_owned(),
        from_zero: false,
        min_span: 0.0,
        layers,
    }
}

fn against_title(answer: &WhatIf, key: &str, body: &Body) -> String {
    if !matches!(body, Body::Panels(_)) {
        return format!("Figures with varied {key}.");
    }
    let moved = |n: usize| answer.variants.iter().filter(|v| v.figures[n].difference.clear).count();
    let clear: Vec<&str> =
        answer.figures.iter().enumerate().filter(|(n, _)| moved(*n) > 0).map(|(_, base)| base.what).collect();
    match clear[..] {
        [] => format!("Varying {key} clearly changes none of the figures."),
        _ => format!(
            "Varying {key} clearly changes {} of {} figures: {}.",
            clear.len(),
            answer.figures.len(),
            clear.join(", ")
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::what_if::VariantFigure;

    fn answer(keys: &[&str], values: &[&[&str]]) -> WhatIf {
        let variants = values.iter().zip(1..).map(|(values, n)| {
            let mean = 100.0 * f64::from(n);
            let difference = Paired { mean, low: mean - 20.0, high: mean + 20.0, clear: true };
            Variant {
                values: values.iter().map(|v| (*v).to_owned()).collect(),
                figures: vec![VariantFigure { mean: 1000.0 + mean, difference }],
                failed: 0,
            }
        });
        WhatIf {
            version: "0.0.0",
            name: "Sample Shed".to_owned(),
            seed: 1,
            draws: 10,
            asked: 10,
            partial: false,
            keys: keys.iter().map(|key| (*key).to_owned()).collect(),
            figures: vec![Base { figure: "fed", unit: "kg", what: "paste with bulking laid", mean: 1000.0 }],
            variants: variants.collect(),
            failed: 0,
            density: None,
        }
    }

    #[test]
    fn differences_are_by_variant_in_the_readers_unit() {
        let answer = answer(&["drums.count"], &[&["40"], &["60"]]);
        let charts = compare_charts(&answer, Units::Us);
        let files: Vec<&str> = charts.iter().map(|c| c.file.as_str()).collect();
        assert_eq!(files, compare_chart_names(["fed"], false));
        let Body::Intervals(drawn) = &charts[0].body else { panic!("intervals") };
        assert_eq!((drawn.unit.as_str(), drawn.rows[1].label.as_str()), ("lb", "drums count = 60"));
        let point = drawn.rows[1].points[0].expect("a point");
        // 200 kg over 0.45359237 kg a pound
        assert!((point.middle - 440.924_524).abs() < 1e-5, "{point:?}");
        assert_eq!(
            charts[0].title,
            "Largest clear change in paste with bulking laid: +441 lb from 2200 lb, with drums count = 60."
        );
    }

    #[test]
    fn only_numbers_give_lines() {
        let one = against(&answer(&["drums.count"], &[&["60"], &["40"]]), Units::Si);
        let Body::Panels(panels) = &one.body else { panic!("panels") };
        let layers = &panels.panels[0].layers;
        assert_eq!(layers[0].mark, Mark::Area(vec![(40.0, 1180.0, 1220.0), (60.0, 1080.0, 1120.0)]));
        assert_eq!(layers[1].mark, Mark::Line(vec![(40.0, 1200.0), (60.0, 1100.0)]));
        assert_eq!(layers[3].mark, Mark::Level(1000.0));
        let two =
            answer(&["drums.volume", "screen.method"], &[&["\"120 L\"", "trommel"], &["0.2", "two_decks"]]);
        let Body::Panels(panels) = against(&two, Units::Si).body else { panic!("panels") };
        let Horizontal::Numbers { from, to, unit, .. } = panels.x else { panic!("numbers") };
        assert_eq!((from, to, unit.as_str()), (0.12, 0.2, "m3"));
        assert_eq!(panels.panels[0].layers[2].name, "screen method = two decks");
        let words = answer(&["screen.method"], &[&["trommel"], &["two_decks"]]);
        assert!(matches!(against(&words, Units::Si).body, Body::Nothing(_)));
    }
}
