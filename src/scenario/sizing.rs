//! The checked object `sizing`: sizes sought, targets, what makes a site dear.

use super::check::Checker;
use super::field::field;
use super::given::Given;
use super::path::KeyPath;
use super::raw_sizing as raw;
use crate::quantity::{self, Kind, did_you_mean, nearest};
use crate::trace::figures;

/// The figure with the name most like this one, for a hint. None if no name is near.
pub fn nearest_figure(name: &str) -> Option<&'static str> {
    nearest(name, figures::TABLE.iter().map(|figure| figure.name))
}

/// What is asked when a site is sized.
#[derive(Debug, Clone, PartialEq)]
pub struct Sizing {
    /// Number of drums.
    pub drums: Extent,
    /// Area of all beds. # Units: m2
    pub bed_area: Extent,
    /// Live worms of the first purchase. # Units: kg
    pub stock: Extent,
    /// Grinding hours on a working day. # Units: h
    pub grinder_hours: Extent,
    /// Most bran made in a week. # Units: kg
    pub bran_weekly_capacity: Extent,
    /// What must be met; never empty.
    pub targets: Vec<Target>,
    /// Confidence with which the draws of the search must show each chance, 0.5 to 0.999.
    pub confidence: f64,
    /// Weights of cost of the user's own.
    pub cost: Cost,
}

/// Whether a size is sought, and where. Numbers are in the unit of the size.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Extent {
    /// Whether it is sought; else it is held at the plan's value, and the rest is none.
    pub free: bool,
    /// Least value tried; none leaves it to the search.
    pub low: Option<f64>,
    /// Largest value tried; none leaves it to the search.
    pub high: Option<f64>,
    /// Step between the values tried; none leaves it to the search.
    pub step: Option<f64>,
}

/// A statement about a figure that must hold in a share of all draws. One limit is given, or both.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// Name of the figure, one of [`figures::TABLE`].
    pub figure: String,
    /// The figure is at most this, in its own unit.
    pub at_most: Option<f64>,
    /// The figure is at least this, in its own unit.
    pub at_least: Option<f64>,
    /// Share of draws in which it must hold, 0.05 to 0.999.
    pub chance: f64,
}

/// Weights of cost as given, in any currency; what is none follows from prices or is assumed (`study::sizing`).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Cost {
    /// Per drum.
    pub drum: Option<f64>,
    /// Per m2 of bed.
    pub bed: Option<f64>,
    /// Per t of live worms.
    pub worms: Option<f64>,
    /// Per hour of grinding on every working day.
    pub grinder_hour: Option<f64>,
    /// Per kg of bran made a week.
    pub bran: Option<f64>,
}

/// Checks the object.
pub(super) fn sizing(check: &mut Checker<'_>, raw: raw::Sizing) -> Sizing {
    let path = KeyPath::top("sizing");
    let sought = Extent { free: true, ..Extent::default() };
    let mut one = |key: &str, given: Option<raw::Extent>, left_out: Extent| {
        given.map_or(left_out, |given| extent(check, &path.key(key), &given))
    };
    let drums = one("drums", raw.drums, sought);
    let bed_area = one("bed_area", raw.bed_area, sought);
    let stock = one("stock", raw.stock, sought);
    let grinder_hours = one("grinder_hours", raw.grinder_hours, Extent::default());
    let bran_weekly_capacity = one("bran_weekly_capacity", raw.bran_weekly_capacity, Extent::default());
    let confidence = check.value(&path.key("confidence"), raw.confidence.as_ref());
    let targets = match raw.targets {
        None => usual_targets(),
        Some(given) => targets(check, &path.key("targets"), &given),
    };
    Sizing {
        drums,
        bed_area,
        stock,
        grinder_hours,
        bran_weekly_capacity,
        targets,
        confidence,
        cost: cost(check, &path.key("cost"), &raw.cost.unwrap_or_default()),
    }
}

/// Targets where none are given: little is turned away, no bed kills worms, nothing piles up, and half of the worms are there at
/// the end. Some 15 % of a year's intake is eight weeks of it, fermenting included, of the twelve that drums keep; without that
/// limit drums to hold the whole year would do instead of beds, and without the last one worms would be bought to be used up. The limits are choices of ours.
fn usual_targets() -> Vec<Target> {
    let most = |figure, limit| (figure, Some(limit), None);
    [
        most("turned_away_share", 0.02),
        most("bed_hottest", 33.0),
        most("backlog", 0.15),
        ("stock_kept", None, Some(0.5)),
    ]
    .into_iter()
    .map(|(figure, at_most, at_least): (&str, _, _)| Target {
        figure: figure.to_owned(),
        at_most,
        at_least,
        chance: 0.9,
    })
    .collect()
}

fn extent(check: &mut Checker<'_>, path: &KeyPath, raw: &raw::Extent) -> Extent {
    let free = raw.free.unwrap_or(true);
    let mut read = |key: &str, given: &Option<Given>| check.number(&path.key(key), given.as_ref());
    let extent = Extent {
        free,
        low: read("low", &raw.low),
        high: read("high", &raw.high),
        step: read("step", &raw.step),
    };
    if !free && (extent.low.is_some() || extent.high.is_some() || extent.step.is_some()) {
        check.wrong(
            &path.key("free"),
            "is held at the plan's value but has bounds",
            "bounds, or `\"free\": false`",
            None,
        );
    }
    if let (Some(low), Some(high)) = (extent.low, extent.high)
        && low > high
    {
        let problem = format!("nothing lies between {low} and {high}");
        check.wrong(&path.key("high"), &problem, "at least `low`", Some("change the two about".to_owned()));
    }
    if path.pattern() == "sizing.drums" {
        let whole = |value: Option<f64>| value.is_none_or(|v| v.fract() == 0.0);
        for (key, value) in [("low", extent.low), ("high", extent.high), ("step", extent.step)] {
            if !whole(value) {
                check.wrong(&path.key(key), "is not a whole number", "a whole number", None);
            }
        }
    }
    extent
}

fn targets(check: &mut Checker<'_>, path: &KeyPath, raw: &[raw::Target]) -> Vec<Target> {
    if raw.is_empty() {
        check.wrong(
            path,
            "holds no target",
            "at least one target",
            Some("leave the key out for the usual ones".to_owned()),
        );
    }
    let all: Vec<Target> =
        raw.iter().enumerate().map(|(place, raw)| target(check, &path.index(place), raw)).collect();
    for (place, target) in all.iter().enumerate() {
        let others = all.iter().filter(|other| other.figure == target.figure);
        let most = others.filter_map(|other| other.at_most).fold(f64::INFINITY, f64::min);
        if let Some(least) = target.at_least.filter(|least| *least > most) {
            let problem = format!("at least {least} contradicts at most {most} of the same figure");
            let allowed = format!("at most {most}, or another target");
            check.wrong(&path.index(place).key("at_least"), &problem, &allowed, None);
        }
    }
    all
}

fn target(check: &mut Checker<'_>, path: &KeyPath, raw: &raw::Target) -> Target {
    let kind = figures::figure(&raw.figure).map(|figure| figure.kind);
    if kind.is_none() {
        let names = figures::TABLE.map(|figure| figure.name);
        let hint = nearest_figure(&raw.figure).map(did_you_mean);
        check.wrong(&path.key("figure"), "is no figure of a run", &names.join(", "), hint);
    }
    if raw.at_most.is_none() && raw.at_least.is_none() {
        check.wrong(path, "says nothing of its figure", "`at_most`, `at_least` or both", None);
    }
    let chance = check.value(&path.key("chance"), raw.chance.as_ref());
    let mut read = |key: &str, given: &Option<Given>| limit(check, &path.key(key), given.as_ref(), kind?);
    Target {
        figure: raw.figure.clone(),
        at_most: read("at_most", &raw.at_most),
        at_least: read("at_least", &raw.at_least),
        chance,
    }
}

/// A limit in the unit of its figure: a text is read with the figure's units.
fn limit(check: &mut Checker<'_>, path: &KeyPath, raw: Option<&Given>, kind: Kind) -> Option<f64> {
    let value = match raw? {
        Given::Number(value) => *value,
        Given::Text(text) => match quantity::parse(kind, text) {
            Ok(value) => value,
            Err(e) => {
                check.wrong(path, &e.reason, &kind.allowed(), e.hint);
                return None;
            }
        },
    };
    let row = field(&path.pattern()).expect("limits are rows of the table of fields");
    let (low, high) = if matches!(kind, Kind::Share) { (0.0, 1.0) } else { (row.low, row.high) };
    if (low..=high).contains(&value) {
        return Some(value);
    }
    let hint = (kind == Kind::Share && value > 1.0 && value <= 100.0)
        .then(|| format!("percent given? write {} or \"{value} %\"", value / 100.0));
    check.wrong(path, "is out of range", &format!("{low} to {high}; {}", kind.allowed()), hint);
    None
}

fn cost(check: &mut Checker<'_>, path: &KeyPath, raw: &raw::Cost) -> Cost {
    let mut read = |key: &str, given: &Option<Given>| check.number(&path.key(key), given.as_ref());
    Cost {
        drum: read("drum", &raw.drum),
        bed: read("bed", &raw.bed),
        worms: read("worms", &raw.worms),
        grinder_hour: read("grinder_hour", &raw.grinder_hour),
        bran: read("bran", &raw.bran),
    }
}
