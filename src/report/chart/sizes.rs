//! Sizing: the chance of meeting each target against each size, and two sizes against each other.

use super::Body;
use super::Chart;
use super::Horizontal;
use super::Ink;
use super::Layer;
use super::Mark;
use super::Panel;
use super::Panels;
use super::Source;
use super::measured::Measured;
use super::source_of;
use crate::quantity::Kind;
use crate::quantity::Units;
use crate::report::number::column_unit;
use crate::report::number::in_column_unit;
use crate::report::number::percent;
use crate::report::number::rounded;
use crate::study::sizing::Along;
use crate::study::sizing::AlongPoint;
use crate::study::sizing::AlongShare;
use crate::study::sizing::Met;
use crate::study::sizing::NAMES;
use crate::study::sizing::SizingAnswer;
use crate::study::sizing::TradeOff;
use crate::study::sizing::TradeOffPoint;
use crate::study::sizing::Variable;

/// File name of the chart of two sizes against each other, without ending.
const TRADE_OFF: &str = "chart_trade_off";

/// File names of all charts that a sizing may have, without ending; only sizes that are sought have one.
pub fn size_chart_names() -> Vec<String> {
    NAMES.iter().map(|name| format!("chart_chance_{name}")).chain([TRADE_OFF.to_owned()]).collect()
}

/// The charts of a sizing: chances by each size that is sought, then the trade-off where there is one.
pub fn size_charts(answer: &SizingAnswer, units: Units) -> Vec<Chart> {
    let chances = answer.along.iter().map(|along| chances(answer, along, units));
    let trade_off = answer.trade_off.iter().map(|trade_off| against(answer, trade_off, units));
    chances.chain(trade_off).collect()
}

/// A size in the units of the reader.
struct Sized<'a> {
    variable: Option<&'a Variable>,
    name: String,
    units: Units,
}

impl<'a> Sized<'a> {
    fn of(answer: &'a SizingAnswer, name: &str, units: Units) -> Self {
        let variable = answer.variables.iter().find(|variable| variable.name == name);
        Self { variable, name: name.replace('_', " "), units }
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

    /// A value as a sentence bears it: 60 drums, 190 m2 of bed area.
    fn said(&self, value: f64) -> String {
        let number = rounded(self.at(value), 3);
        match self.name.as_str() {
            "drums" | "grinder hours" => format!("{number} {}", self.name),
            name => format!("{number} {} of {name}", self.unit().replace('2', "\u{b2}")),
        }
    }

    fn axis(&self, values: impl Iterator<Item = f64>) -> Horizontal {
        let (from, to) = values
            .map(|value| self.at(value))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        Horizontal::Numbers { label: self.name.clone(), unit: self.unit().to_owned(), from, to }
    }
}

fn source(answer: &SizingAnswer) -> Source {
    let basis = format!("{} draws or more of each site, seed {}", answer.draws, answer.seed);
    source_of(&answer.name, (answer.start, answer.days as usize), &basis, answer.version)
}

/// A target in words.
fn target(met: &Met, units: Units) -> String {
    let measured = Measured::of(&met.figure, met.unit, units);
    let name = met.figure.replace('_', " ");
    match (met.at_least, met.at_most) {
        (Some(least), Some(most)) => format!("{name} is {} to {}", measured.said(least), measured.said(most)),
        (Some(least), None) => format!("{name} is at least {}", measured.said(least)),
        (None, Some(most)) => format!("{name} is at most {}", measured.said(most)),
        (None, None) => name,
    }
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
            label: format!("chance that {}", target(met, units)),
            unit: "%".to_owned(),
            from_zero: true,
            least_span: 0.0,
            layers: vec![
                Layer::new("95 % interval", Ink::Wide, Mark::Area(band)),
                Layer::new("share of draws", Ink::Night, Mark::Line(line.clone())),
                Layer::new("", Ink::Night, Mark::Dots(line)),
                Layer::new("asked", Ink::Slate, Mark::Level(100.0 * met.chance)),
                Layer::new(
                    "the answer",
                    Ink::Ember,
                    Mark::Dots(chosen.map(|(at, s)| (at, 100.0 * s.share)).collect()),
                ),
            ],
        }
    };
    Chart {
        file: format!("chart_chance_{}", along.variable),
        title: chances_title(answer, along, &sized, units),
        shows: format!(
            "Share of the draws in which each target holds, by {}, all other sizes as in the answer.",
            sized.name
        ),
        source: source(answer),
        body: Body::Panels(Panels {
            x: sized.axis(along.points.iter().map(|point| point.value)),
            panels: answer.targets.iter().enumerate().map(panel).collect(),
        }),
    }
}

fn chances_title(answer: &SizingAnswer, along: &Along, sized: &Sized<'_>, units: Units) -> String {
    let said = |point: &AlongPoint| sized.said(point.value);
    let chosen = along.points.iter().find(|point| point.answer);
    let (Some(first), Some(chosen)) = (along.points.first(), chosen) else {
        return format!("{} was not looked at.", sized.name);
    };
    // the target that the least size looked at costs most
    let loss = |n: usize| chosen.shares[n].share - first.shares[n].share;
    let worst = (0..answer.targets.len()).max_by(|a, b| loss(*a).total_cmp(&loss(*b)));
    match worst.filter(|n| loss(*n) > 0.0) {
        Some(n) => format!(
            "With {} instead of {} the chance that {} falls from {} to {}.",
            said(first),
            said(chosen),
            target(&answer.targets[n], units),
            percent(chosen.shares[n].share),
            percent(first.shares[n].share)
        ),
        None => {
            format!("With {} no target holds less often than with the answer, {}.", said(first), said(chosen))
        }
    }
}

fn against(answer: &SizingAnswer, trade_off: &TradeOff, units: Units) -> Chart {
    let set = Sized::of(answer, trade_off.set, units);
    let follows = Sized::of(answer, trade_off.follows, units);
    let line = |of: &dyn Fn(&TradeOffPoint) -> Option<f64>, answer: bool| -> Vec<(f64, f64)> {
        let points = trade_off.points.iter().filter(|point| !answer || point.answer);
        points.map(|point| (set.at(point.set), of(point).unwrap_or(f64::NAN))).collect()
    };
    let panel = |label: String, unit: String, of: &dyn Fn(&TradeOffPoint) -> Option<f64>| Panel {
        label,
        unit,
        from_zero: true,
        least_span: 0.0,
        layers: vec![
            Layer::new("sites that meet the targets", Ink::Night, Mark::Line(line(of, false))),
            Layer::new("", Ink::Night, Mark::Dots(line(of, false))),
            Layer::new("the answer", Ink::Ember, Mark::Dots(line(of, true))),
        ],
    };
    let currency = answer.currency.clone().unwrap_or_else(|| "assumed weights".to_owned());
    Chart {
        file: TRADE_OFF.to_owned(),
        title: trade_off_title(trade_off, &set, &follows),
        shows: format!(
            "Least {} that does as well as the answer on the draws of the search, by {}, all other sizes as in the answer; where no \
             point stands, none that was tried does.",
            follows.name, set.name
        ),
        source: source(answer),
        body: Body::Panels(Panels {
            x: set.axis(trade_off.points.iter().map(|point| point.set)),
            panels: vec![
                panel(format!("least {}", follows.name), follows.unit().to_owned(), &|point| {
                    point.follows.map(|value| follows.at(value))
                }),
                panel("cost of the whole site".to_owned(), currency, &|point| point.cost),
            ],
        }),
    }
}

fn trade_off_title(trade_off: &TradeOff, set: &Sized<'_>, follows: &Sized<'_>) -> String {
    let met: Vec<(f64, f64)> =
        trade_off.points.iter().filter_map(|point| Some((point.set, point.follows?))).collect();
    match met[..] {
        [first, .., last] => format!(
            "With {} it takes {}; with {}, {}.",
            set.said(first.0),
            follows.said(first.1),
            set.said(last.0),
            follows.said(last.1)
        ),
        _ => format!("{} cannot be given up for {}.", set.name, follows.name),
    }
}
