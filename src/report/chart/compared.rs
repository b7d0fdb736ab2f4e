//! Variants of a site against it: differences with intervals, and figures against the value of a number that was varied.

use super::intervals::{IntervalPoint, IntervalRow, Intervals};
use super::measured::{Measured, signed};
use super::{Body, Chart, Horizontal, Ink, Layer, Mark, Panel, Panels, Source};
use crate::quantity::{self, Kind, Units};
use crate::report::number::{column_unit, in_column_unit, rounded};
use crate::scenario::field;
use crate::study::what_if::{Base, DENSITY, Paired, Variant, WhatIf};

/// File name of the chart of figures against the value that was varied, without ending.
const AGAINST: &str = "chart_against";
/// Inks of lines where a second key was varied; more lines could not be told apart.
const INKS: [Ink; 3] = [Ink::Night, Ink::Ember, Ink::Sky];

/// File names of the charts of a comparison of so named figures, without ending, in the order of [`compare_charts`].
pub fn compare_chart_names<'a>(figures: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let differences = figures.into_iter().map(|figure| format!("chart_difference_{figure}"));
    differences.chain([AGAINST.to_owned()]).collect()
}

/// The charts of a comparison: the differences of each figure, then all figures against the value of a number.
pub fn compare_charts(answer: &WhatIf, units: Units) -> Vec<Chart> {
    let differences = answer.figures.iter().enumerate().map(|(n, base)| difference(answer, n, base, units));
    differences.chain([against(answer, units)]).collect()
}

fn source(answer: &WhatIf) -> Source {
    let rest = format!(
        "{} draws of the site and of each variant, the same ones, seed {}, Loamledger {}",
        answer.draws, answer.seed, answer.version
    );
    Source { name: answer.name.clone(), rest }
}

/// A variant by its keys and values.
fn label(answer: &WhatIf, variant: &Variant) -> String {
    let pairs = answer.keys.iter().zip(&variant.values).map(|(key, value)| format!("{key} = {value}"));
    pairs.collect::<Vec<_>>().join(", ")
}

fn difference(answer: &WhatIf, n: usize, base: &Base, units: Units) -> Chart {
    let measured = Measured::of(base.figure, base.unit, units);
    let rows = answer.variants.iter().map(|variant| {
        let Paired { mean, low, high, clear } = variant.figures[n].difference;
        let [mean, low, high] = [mean, low, high].map(|value| measured.difference(value));
        IntervalRow {
            group: String::new(),
            label: label(answer, variant),
            figures: format!(
                "{} ({} to {}){}",
                signed(mean),
                signed(low),
                signed(high),
                if clear { "" } else { ", not clear" }
            ),
            allowed: None,
            points: vec![Some(IntervalPoint { interval: Some((low, high)), inner: None, middle: mean })],
        }
    });
    Chart {
        file: format!("chart_difference_{}", base.figure),
        title: difference_title(answer, n, base, measured),
        shows: format!(
            "{}: mean of the differences, variant less the site as it stands, draw by draw, with its 95 % interval; not clear \
             where that holds zero.",
            capital(base.what)
        ),
        source: source(answer),
        body: Body::Intervals(Intervals {
            label: format!("difference in {}", base.what),
            unit: measured.unit.to_owned(),
            log: false,
            from_zero: true,
            reference: Some((0.0, "as it stands".to_owned())),
            series: vec![("difference".to_owned(), Ink::Night)],
            allowed: None,
            rows: rows.collect(),
        }),
    }
}

fn difference_title(answer: &WhatIf, n: usize, base: &Base, measured: Measured) -> String {
    let clear = answer.variants.iter().filter(|variant| variant.figures[n].difference.clear);
    let largest = clear.max_by(|a, b| {
        let size = |variant: &Variant| variant.figures[n].difference.mean.abs();
        size(a).total_cmp(&size(b))
    });
    match largest {
        None => format!("No variant clearly changes this figure: {}.", base.what),
        Some(variant) => {
            let d = variant.figures[n].difference;
            let change = format!("{} {}", signed(measured.difference(d.mean)), measured.unit);
            format!(
                "Largest clear change in {}: {} from {}, with {}.",
                base.what,
                change.trim_end(),
                measured.said(base.mean),
                label(answer, variant)
            )
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// A key that holds a number: its kind and the values it took, in the unit of the reader.
struct Number {
    kind: Option<Kind>,
    values: Vec<f64>,
}

impl Number {
    fn of(answer: &WhatIf, place: usize, units: Units) -> Option<Self> {
        let key = &answer.keys[place];
        // places in a list are left out of the table of fields
        let pattern: Vec<&str> = key.split('.').filter(|part| part.parse::<usize>().is_err()).collect();
        let kind = if key == DENSITY {
            Some(Kind::ArealMass)
        } else {
            field::field(&pattern.join(".")).map(|field| field.kind)
        };
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
    let number = Number::of(answer, 0, units).filter(|number| different(&number.values) > 1);
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
                x: Horizontal::Numbers { label: key.to_owned(), unit: unit.to_owned(), from, to },
                panels: answer.figures.iter().enumerate().map(panel).collect(),
            })
        }
        Some(_) => Body::Nothing(format!("{} takes too many values for lines of its own.", answer.keys[1])),
        None => Body::Nothing(format!(
            "{key} does not take several numbers, so there is nothing to draw against."
        )),
    };
    Chart {
        file: AGAINST.to_owned(),
        title: against_title(answer, &answer.keys.join(" with "), &body),
        shows: if others.len() == 1 {
            "Means over the draws by variant; the band is the 95 % interval of the difference from the site as it stands, \
             which is the dotted level."
        } else {
            "Means over the draws by variant; the dotted level is the site as it stands."
        }
        .to_owned(),
        source: source(answer),
        body,
    }
}

/// Values of a key in the order in which they first stand; a single nameless one where there is no such key.
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
    let measured = Measured::of(base.figure, base.unit, units);
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
                // nothing but a temperature is less than nothing
                let low = if base.unit == "°C" { low } else { low.max(0.0) };
                (*at, measured.at(low), measured.at(high.max(low)))
            };
            layers.push(Layer::new("95 % interval", Ink::Wide, Mark::Area(mine.iter().map(edge).collect())));
        }
        let points: Vec<(f64, f64)> =
            mine.iter().map(|(at, variant)| (*at, measured.at(variant.figures[n].mean))).collect();
        let name = if other.is_empty() { "mean".to_owned() } else { format!("{} = {other}", answer.keys[1]) };
        layers.push(Layer::new(name, ink, Mark::Line(points.clone())));
        layers.push(Layer::new("", ink, Mark::Dots(points)));
    }
    layers.push(Layer::new("as it stands", Ink::Slate, Mark::Level(measured.at(base.mean))));
    Panel {
        label: base.what.to_owned(),
        unit: measured.unit.to_owned(),
        from_zero: false,
        least_span: 0.0,
        layers,
    }
}

fn against_title(answer: &WhatIf, key: &str, body: &Body) -> String {
    let Body::Panels(panels) = body else {
        return format!("{key} was varied.");
    };
    if let Some(density) = answer.density.as_ref().and_then(|d| d.enough)
        && let Horizontal::Numbers { unit, .. } = &panels.x
    {
        let units = if unit == column_unit(Kind::ArealMass, Units::Us) { Units::Us } else { Units::Si };
        let shown = rounded(in_column_unit(Kind::ArealMass, density, units), 3);
        let unit = column_unit(Kind::ArealMass, units).replace('2', "\u{b2}");
        return format!("Stocking more than {shown} {unit} of worms gains nothing in feed laid or castings.");
    }
    let moved = |n: usize| answer.variants.iter().filter(|v| v.figures[n].difference.clear).count();
    let clear: Vec<&str> =
        answer.figures.iter().enumerate().filter(|(n, _)| moved(*n) > 0).map(|(_, base)| base.what).collect();
    match clear[..] {
        [] => format!("{key} clearly changes none of the figures looked at."),
        _ => format!(
            "{key} clearly changes {} of {} figures: {}.",
            clear.len(),
            answer.figures.len(),
            clear.join(", ")
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::what_if::Compared;

    fn answer(keys: &[&str], values: &[&[&str]]) -> WhatIf {
        let variants = values.iter().zip(1..).map(|(values, n)| {
            let mean = 100.0 * f64::from(n);
            let difference = Paired { mean, low: mean - 20.0, high: mean + 20.0, clear: true };
            Variant {
                values: values.iter().map(|v| (*v).to_owned()).collect(),
                figures: vec![Compared { mean: 1000.0 + mean, difference }],
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
    fn differences_stand_by_variant_in_the_unit_of_the_reader() {
        let answer = answer(&["drums.count"], &[&["40"], &["60"]]);
        let charts = compare_charts(&answer, Units::Us);
        let files: Vec<&str> = charts.iter().map(|c| c.file.as_str()).collect();
        assert_eq!(files, compare_chart_names(["fed"]));
        let Body::Intervals(drawn) = &charts[0].body else { panic!("intervals") };
        assert_eq!((drawn.unit.as_str(), drawn.rows[1].label.as_str()), ("lb", "drums.count = 60"));
        let point = drawn.rows[1].points[0].expect("a point");
        // 200 kg over 0.45359237 kg a pound
        assert!((point.middle - 440.924_524).abs() < 1e-5, "{point:?}");
        assert_eq!(
            charts[0].title,
            "Largest clear change in paste with bulking laid: +441 lb from 2200 lb, with drums.count = 60."
        );
    }

    #[test]
    fn a_number_gives_lines_and_words_give_none() {
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
        assert_eq!(panels.panels[0].layers[2].name, "screen.method = two_decks");
        let words = answer(&["screen.method"], &[&["trommel"], &["two_decks"]]);
        assert!(matches!(against(&words, Units::Si).body, Body::Nothing(_)));
    }
}
