//! The section `sizing`: sizes sought, targets, costs.

use super::check::Checker;
use super::field::{Fallback, Number};
use super::path::KeyPath;
use super::plan::MOST_MONEY;
use super::rule::{Rule, flag, list, may, section, section_with, set};
use super::section::{At, Presence, Shape, section};
use crate::quantity::Kind::{Count, Factor, Hours, Mass, Money, MoneyPerArea, MoneyPerMass, Share};
use crate::quantity::{Kind, did_you_mean, nearest};
use crate::trace::figures;

/// The figure nearest to a mistyped name, for a hint. None if none is near.
pub fn nearest_figure(name: &str) -> Option<&'static str> {
    nearest(name, figures::TABLE.iter().map(|figure| figure.name))
}

section! {
    /// Targets, limits and costs for sizing the site: what may change, what must be met, what is cheap.
    pub struct Sizing checked by targets_agree {
        /// Number of drums. Left out: varied.
        drums: Extent = section_with(Range { kind: Count, low: 0.0, high: 20_000.0, step: 1.0, free: true }),
        /// Number of beds, of the sizes that the scenario gives. Left out: varied.
        beds: Extent = section_with(Range { kind: Count, low: 0.0, high: 10_000.0, step: 1.0, free: true }),
        /// Live worms bought first. Left out: varied.
        stock: Extent = section_with(Range { kind: Mass, low: 0.0, high: 1e6, step: 1e-3, free: true }),
        /// Grinding hours on a working day. Left out: as in the scenario.
        grinder_hours: Extent = section_with(Range { kind: Hours, low: 0.0, high: 24.0, step: 0.01, free: false }),
        /// Most bran made in a week. Left out: as in the scenario.
        bran_weekly_capacity: Extent = section_with(Range { kind: Mass, low: 0.0, high: 1e5, step: 1e-3, free: false }),
        /// What the site must meet, each with its chance. Left out: the questions of the verdict, each with the chance that the verdict
        /// allows, so that the site found works by its own verdict.
        targets: Vec<Target> = list(),
        /// Confidence with which the draws of the search must show each chance.
        confidence: f64 = set(Share, 0.5, 0.999, 0.8, "choice"),
        /// Costs that the search keeps low. Left out: the prices of `money`, or assumed weights.
        cost: Cost = section(),
    }
}

/// What the numbers of an [`Extent`] may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// What is measured.
    kind: Kind,
    /// Smallest value.
    low: f64,
    /// Largest value.
    high: f64,
    /// Smallest step.
    step: f64,
    /// Whether the size is varied if the section is left out.
    free: bool,
}

section! {
    /// Whether a size is varied, and between which bounds.
    #[derive(Copy, Default)]
    pub struct Extent (range: Range) checked by bounds_in_order {
        /// False keeps the value of the scenario. Left out: varied.
        free: bool = FreeIn(range),
        /// Lowest value tried. Left out: well below a hand calculation.
        low: Option<f64> = may(range.kind, range.low, range.high),
        /// Highest value tried. Left out: well above a hand calculation.
        high: Option<f64> = may(range.kind, range.low, range.high),
        /// Step between the values tried. Left out: a twentieth of a hand calculation, rounded; whole drums and beds.
        step: Option<f64> = may(range.kind, range.step, range.high),
    }
}

/// A size is varied if its section is given, unless that says no; some are if it is left out.
struct FreeIn(Range);

impl Rule<bool> for FreeIn {
    fn shape(&self) -> Shape {
        Shape::Flag
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> bool {
        flag(at.section.is_some() || self.0.free).read(check, at)
    }
}

section! {
    /// A statement that must hold in a share of all draws.
    pub struct Target checked by says_something {
        /// Figure of a draw, such as turned_away_share.
        figure: String = Figure,
        /// The figure is at most this, in its own unit. Give this, `at_least` or both.
        at_most: Option<f64> = Limit,
        /// The figure is at least this, in its own unit. Give this, `at_most` or both.
        at_least: Option<f64> = Limit,
        /// Share of draws in which it must hold.
        chance: f64 = set(Share, 0.05, 0.999, 0.9, "choice"),
    }
}

/// Name of a figure of a draw.
struct Figure;

impl Rule<String> for Figure {
    fn shape(&self) -> Shape {
        Shape::Text
    }
    fn presence(&self) -> Presence {
        Presence::Required
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> String {
        let given = at.value.and_then(|value| check.text_of(&at.path, value, &Shape::Text));
        if let Some(name) = given.filter(|name| figures::figure(name).is_none()) {
            let names = figures::TABLE.map(|figure| figure.name);
            let hint = nearest_figure(name).map(did_you_mean);
            check.wrong(&at.path, "is no figure of a run", &names.join(", "), hint);
        }
        given.unwrap_or_default().to_owned()
    }
}

/// A limit of a figure, in the unit of the figure; a text is read with its units.
struct Limit;

/// A limit of a figure that is not known.
const LIMIT: Number = Number { kind: Factor, low: -1e9, high: 1e9, fallback: Fallback::Nothing, basis: "" };

impl Rule<Option<f64>> for Limit {
    fn shape(&self) -> Shape {
        Shape::Number(LIMIT)
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Option<f64> {
        let figure = at.section.and_then(|section| section.get_string("figure"));
        let kind = figures::figure(&figure?.value)?.kind;
        let (low, high) = if kind == Share { (0.0, 1.0) } else { (LIMIT.low, LIMIT.high) };
        check.number(&at.path, at.value?, &Number { kind, low, high, ..LIMIT })
    }
}

section! {
    /// Costs that the search keeps low, in any one currency or weight; a key left out takes the price of `money`, or an assumed
    /// weight.
    #[derive(Copy, Default)]
    pub struct Cost {
        /// Cost of one drum.
        drum: Option<f64> = may(Money, 0.0, MOST_MONEY),
        /// Cost of beds, by area.
        bed: Option<f64> = may(MoneyPerArea, 0.0, MOST_MONEY),
        /// Cost of worms bought, by live mass.
        worms: Option<f64> = may(MoneyPerMass, 0.0, MOST_MONEY),
        /// Cost of one hour of grinding on every working day.
        grinder_hour: Option<f64> = may(Money, 0.0, MOST_MONEY),
        /// Cost of one kilogram of bran made a week.
        bran: Option<f64> = may(Money, 0.0, MOST_MONEY),
    }
}

fn bounds_in_order(check: &mut Checker<'_>, path: &KeyPath, extent: &Extent) {
    let bounds = [("low", extent.low), ("high", extent.high), ("step", extent.step)];
    if !extent.free && bounds.iter().any(|(_, bound)| bound.is_some()) {
        let problem = "keeps the value of the scenario but has bounds";
        check.wrong(&path.key("free"), problem, "bounds, or `\"free\": false`", None);
    }
    if let (Some(low), Some(high)) = (extent.low, extent.high)
        && low > high
    {
        let problem = format!("nothing lies between {low} and {high}");
        check.wrong(&path.key("high"), &problem, "at least `low`", Some("swap the two".to_owned()));
    }
}

/// Bounds of drums and beds are whole, and no two targets contradict each other.
fn targets_agree(check: &mut Checker<'_>, path: &KeyPath, sizing: &Sizing) {
    for (name, extent) in [("drums", &sizing.drums), ("beds", &sizing.beds)] {
        for (key, value) in [("low", extent.low), ("high", extent.high), ("step", extent.step)] {
            if value.is_some_and(|v| v.fract() != 0.0) {
                check.wrong(&path.key(name).key(key), "is not a whole number", "a whole number", None);
            }
        }
    }
    let path = path.key("targets");
    if sizing.targets.is_empty() && check.located.holds(&path) && !check.is_faulty(&path) {
        let hint = "leave the key out for the usual ones".to_owned();
        check.wrong(&path, "holds no target", "at least one target", Some(hint));
    }
    for (place, target) in sizing.targets.iter().enumerate() {
        let others = sizing.targets.iter().filter(|other| other.figure == target.figure);
        let most = others.filter_map(|other| other.at_most).fold(f64::INFINITY, f64::min);
        if let Some(least) = target.at_least.filter(|least| *least > most) {
            let problem = format!("at least {least} contradicts at most {most} of the same figure");
            let allowed = format!("at most {most}, or another target");
            check.wrong(&path.index(place).key("at_least"), &problem, &allowed, None);
        }
    }
}

fn says_something(check: &mut Checker<'_>, path: &KeyPath, _: &Target) {
    if ["at_most", "at_least"].iter().all(|key| !check.located.holds(&path.key(key))) {
        check.wrong(path, "has no limit", "`at_most`, `at_least` or both", None);
    }
}
