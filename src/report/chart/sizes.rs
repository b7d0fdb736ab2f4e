//! Sizing: the chance of meeting each target against each size, and two sizes against each other.

use super::{Body, Chart, Horizontal, Ink, Layer, Mark, Panel, Panels, Source, source_of};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, in_column_unit, percent, rounded};
use crate::report::pages::page::words;
use crate::report::pages::sizing::{fewest, limits, others};
use crate::study::sizing::{
    Along, AlongPoint, AlongShare, Met, NAMES, SizingAnswer, TradeOff, TradeOffPoint, Variable,
};

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

    /// A value with its unit: 60, 190 m2.
    fn bare(&self, value: f64) -> String {
        format!("{} {}", rounded(self.at(value), 3), self.unit().replace('2', "\u{b2}")).trim_end().to_owned()
    }

    /// A value as a sentence bears it: 60 drums, 190 m2 of bed area.
    fn said(&self, value: f64) -> String {
        match self.name.as_str() {
            "drums" | "grinder hours" => format!("{} {}", rounded(self.at(value), 3), self.name),
            name => format!("{} of {name}", self.bare(value)),
        }
    }

    fn axis(&self, values: impl Iterator<Item = f64>) -> Horizontal {
        let (from, to) = values
            .map(|value| self.at(value))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        Horizontal::Numbers { label: self.name.clone(), unit: self.unit().to_owned(), from, to }
    }
}

fn source(answer: &SizingAnswer, draws: &str) -> Source {
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
            label: format!("% of draws with {} {}", words(&met.figure), limits(met, units)),
            unit: String::new(),
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
    let draws = along.points.iter().flat_map(|p| &p.shares).map(|share| share.draws).max().unwrap_or(0);
    Chart {
        file: format!("chart_chance_{}", along.variable),
        title: chances_title(answer, along, &sized, units),
        shows: format!(
            "Share of the draws in which each target holds, by {}, all other sizes as in the answer; every site on the same draws.",
            sized.name
        ),
        source: source(answer, &draws.to_string()),
        body: Body::Panels(Panels {
            x: sized.axis(along.points.iter().map(|point| point.value)),
            panels: answer.targets.iter().enumerate().map(panel).collect(),
        }),
    }
}

fn chances_title(answer: &SizingAnswer, along: &Along, sized: &Sized<'_>, units: Units) -> String {
    let said = |point: &AlongPoint| sized.said(point.value);
    let bare = |point: &AlongPoint| sized.bare(point.value);
    let chosen = along.points.iter().find(|point| point.answer);
    let (Some(first), Some(chosen)) = (along.points.first(), chosen) else {
        return format!("No other {} was looked at.", sized.name);
    };
    // the target that the least size looked at costs most
    let loss = |n: usize| chosen.shares[n].share - first.shares[n].share;
    let worst = (0..answer.targets.len()).max_by(|a, b| loss(*a).total_cmp(&loss(*b)));
    match worst.filter(|n| loss(*n) > 0.0) {
        Some(n) => format!(
            "With {} instead of {}, {} is {} in {} of draws instead of {}.",
            said(first),
            bare(chosen),
            words(&answer.targets[n].figure),
            limits(&answer.targets[n], units),
            percent(first.shares[n].share),
            percent(chosen.shares[n].share)
        ),
        None => {
            format!(
                "With {} every target holds at least as often as with {}, the answer.",
                said(first),
                bare(chosen)
            )
        }
    }
}

fn against(answer: &SizingAnswer, trade_off: &TradeOff, units: Units) -> Chart {
    let set = Sized::of(answer, trade_off.set, units);
    let follows = Sized::of(answer, trade_off.follows, units);
    let panel = |label: String, unit: String, of: &dyn Fn(&TradeOffPoint) -> f64| {
        let points = |shown: fn(&TradeOffPoint) -> bool| -> Vec<(f64, f64)> {
            let at = |p: &TradeOffPoint| (set.at(p.set), if shown(p) { of(p) } else { f64::NAN });
            trade_off.points.iter().map(at).collect()
        };
        let good = points(TradeOffPoint::meets);
        let mut layers = Vec::new();
        if trade_off.points.iter().any(|p| p.meets() && !p.answer) {
            layers.push(Layer::new("meets every target", Ink::Night, Mark::Line(good.clone())));
            layers.push(Layer::new("", Ink::Night, Mark::Dots(good)));
        }
        if trade_off.points.iter().any(|p| !p.meets()) {
            let nearest = points(|p| !p.meets());
            layers.push(Layer::new("the nearest tried, misses a target", Ink::Sky, Mark::Dots(nearest)));
        }
        layers.push(Layer::new("the answer", Ink::Ember, Mark::Dots(points(|p| p.answer))));
        Panel { label, unit, from_zero: true, least_span: 0.0, layers }
    };
    let currency = answer.currency.clone().unwrap_or_else(|| "assumed weights".to_owned());
    Chart {
        file: TRADE_OFF.to_owned(),
        title: trade_off_title(trade_off, &set, &follows),
        shows: format!(
            "About the {} with which every target is met, by {}, judged by the draws and the rule of the answer; {}.",
            fewest(trade_off.follows),
            set.name,
            others(trade_off)
        ),
        source: source(answer, &format!("up to {}", answer.verified_draws)),
        body: Body::Panels(Panels {
            x: set.axis(trade_off.points.iter().map(|point| point.set)),
            panels: vec![
                panel(fewest(trade_off.follows), follows.unit().to_owned(), &|p| follows.at(p.follows)),
                panel("cost of the whole site".to_owned(), currency, &|p| p.cost),
            ],
        }),
    }
}

fn trade_off_title(trade_off: &TradeOff, set: &Sized<'_>, follows: &Sized<'_>) -> String {
    let met: Vec<&TradeOffPoint> = trade_off.points.iter().filter(|point| point.meets()).collect();
    match met[..] {
        [first, .., last] => format!(
            "With {} it takes {}; with {}, {}.",
            set.said(first.set),
            follows.said(first.follows),
            set.bare(last.set),
            follows.bare(last.follows)
        ),
        [only] => {
            let next = trade_off.points.windows(2).filter(|pair| pair.iter().any(|p| p.answer));
            let told = |p: &TradeOffPoint| {
                let figures: Vec<String> = p.missed.iter().map(|m| words(&m.figure)).collect();
                format!("{} misses {}", set.bare(p.set), figures.join(" and "))
            };
            let others: Vec<String> = next.flatten().filter(|p| !p.meets()).map(told).collect();
            format!(
                "Of {} values of {} tried only {} meets every target; {}.",
                trade_off.points.len(),
                set.name,
                set.bare(only.set),
                others.join(", ")
            )
        }
        [] => format!("No {} that was tried meets every target.", set.name),
    }
}
