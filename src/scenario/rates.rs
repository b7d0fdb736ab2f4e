//! Rates fixed or replaced in a scenario, checked against the literature tables.

use super::check::Checker;
use super::locate::Part;
use super::path::KeyPath;
use super::rule::{Entry, Rule, free_text};
use super::section::{At, Presence, Section, Shape as Look, section};
use crate::literature::{self, Entry as Row};
use crate::quantity::{Shape, Uncertain, did_you_mean, nearest};
use jsonc_parser::ast::Value;

/// Shapes that a scenario may give to a rate: the names of [`Shape`] except that of a share of a set, which is not drawn alone.
const RATE_SHAPES: [&str; 8] =
    ["fixed", "uniform", "triangular", "log_triangular", "lognormal", "normal", "beta", "pert"];

/// Units that are shares of a whole whatever they belong to.
const SHARE_UNITS: [&str; 10] = [
    "kg/kg wet",
    "kg/kg sugars and starch",
    "kg/kg starch",
    "kg/kg dry matter",
    "kg/kg dry mass",
    "kg/kg organic matter",
    "kg NaCl equivalent/kg dry matter",
    "kg water/kg wet",
    "m3/m3",
    "m2/m2",
];
/// Units that are shares where the name of the rate says so.
const RATIO_UNITS: [&str; 4] = ["1", "kg/kg", "dimensionless", "eq/eq"];
/// Words by which a name says that a ratio is a share.
const SHARE_WORDS: [&str; 4] = ["share", "fraction", "recovery", "separation"];
/// Coldest there is. # Units: °C # Source: by definition
const ABSOLUTE_ZERO: f64 = -273.15;

/// A rate fixed or replaced for this site, in the unit of its literature table.
#[derive(Debug, Clone, PartialEq)]
pub struct RateChoice {
    /// Key of the literature tables, such as `bed.decay_rate_protein` or `ingredients.bread.moisture`.
    pub key: String,
    /// Value of the central run.
    pub central: f64,
    /// Range to draw from. None if the rate is fixed.
    pub range: Option<RateSpread>,
}

/// Range of a replaced rate, in the unit of its literature table. What the ends mean depends on the shape:
/// [`crate::quantity::Shape`].
#[derive(Debug, Clone, PartialEq)]
pub struct RateSpread {
    /// Low end, at most the central value.
    pub low: f64,
    /// High end, at least the central value.
    pub high: f64,
    /// Name of the shape. None keeps the shape of the table.
    pub shape: Option<String>,
}

section! {
    /// Range of a rate, in the unit of its literature table.
    pub(super) struct RateRange {
        /// Value of the central run.
        central: f64 = TableNumber,
        /// Low end: a limit, or the 5 % point where the shape is normal or lognormal.
        low: f64 = TableNumber,
        /// High end: a limit, or the 95 % point where the shape is normal or lognormal.
        high: f64 = TableNumber,
        /// Shape of the distribution. Left out: the shape in the literature table.
        shape: String = free_text(),
    }
}

/// A number in the unit of a literature table.
struct TableNumber;

impl Rule<f64> for TableNumber {
    fn shape(&self) -> Look {
        Look::Plain
    }
    fn presence(&self) -> Presence {
        Presence::Required
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> f64 {
        at.value.and_then(|v| check.plain_number(&at.path, v, &Look::Plain)).unwrap_or(f64::NAN)
    }
}

impl Entry for RateChoice {
    fn shape() -> Look {
        let about = "A number in the unit of the literature table fixes the rate; an object gives a range to draw from.";
        Look::NumberOr(about, Box::new(RateRange::shape(())))
    }

    fn read(check: &mut Checker<'_>, path: &KeyPath, key: &str, value: &Value<'_>) -> Self {
        let key = key.to_owned();
        let entry = literature::entry(&key);
        if entry.is_none() {
            let hint = literature::nearest_key(&key).map(did_you_mean);
            let fault = check.at(path, Part::Key, "unknown rate");
            let allowed = "keys of the literature tables, such as \"bed.decay_rate_protein\" or \"ingredients.bread.moisture\"; `loamledger facts` lists them";
            check.faults.push(fault.allowed(allowed).hint(hint));
        }
        if !matches!(value, Value::Object(_)) {
            let central = check.plain_number(path, value, &<Self as Entry>::shape());
            if let Some(value) = central {
                within(check, path, value, entry, true);
            }
            return Self { key, central: central.unwrap_or(f64::NAN), range: None };
        }
        let range = RateRange::read(check, path, Some(value), ());
        if !check.is_faulty(path) {
            // a low end of zero is the end of a range, not a value
            for (name, value, is_value) in
                [("central", range.central, true), ("low", range.low, false), ("high", range.high, true)]
            {
                within(check, &path.key(name), value, entry, is_value);
            }
            spread(check, path, &range, entry);
        }
        let RateRange { central, low, high, shape } = range;
        let shape = (!shape.is_empty()).then_some(shape);
        Self { key, central, range: Some(RateSpread { low, high, shape }) }
    }
}

/// Order and shape of a range.
fn spread(check: &mut Checker<'_>, path: &KeyPath, range: &RateRange, entry: Option<&Row>) {
    let given = Some(range.shape.as_str()).filter(|shape| !shape.is_empty());
    let named = given.filter(|shape| !RATE_SHAPES.contains(shape));
    if let Some(shape) = named {
        check.wrong(
            &path.key("shape"),
            "unknown shape",
            &RATE_SHAPES.join(", "),
            nearest(shape, RATE_SHAPES).map(did_you_mean),
        );
    }
    if !(range.low <= range.central && range.central <= range.high) {
        let allowed = "low at most central, central at most high";
        check.wrong(&path.key("central"), "low, central and high are out of order", allowed, None);
    }
    if check.is_faulty(path) {
        return;
    }
    let shape = match given {
        Some(name) => Shape::from_name(name),
        None => entry.map(|entry| entry.value.shape()),
    };
    let Some(shape) = shape else { return };
    // a range without width is its central value, whatever the shape
    if range.low >= range.high {
        return;
    }
    if let Err(error) = Uncertain::new(range.central, range.low, range.high, shape) {
        let at = if given.is_some() { path.key("shape") } else { path.key("central") };
        let allowed =
            format!("three numbers that suit the shape, or another shape: {}", RATE_SHAPES.join(", "));
        check.wrong(&at, &error.to_string(), &allowed, None);
    }
}

/// What a number may be, whatever is published.
struct Bounds {
    low: f64,
    high: f64,
    /// Whether the low end itself is not allowed.
    open: bool,
}

impl Bounds {
    /// From sign and unit of a published number.
    fn of(entry: &Row) -> Self {
        let (low, high) = (entry.value.low(), entry.value.high());
        let unit = entry.unit.as_str();
        // a shift of pH may be below zero
        if matches!(unit, "pH" | "pKa") && low >= 0.0 {
            return Self { low: 0.0, high: 14.0, open: false };
        }
        if matches!(unit, "degC" | "degree Celsius") {
            return Self { low: ABSOLUTE_ZERO, high: f64::INFINITY, open: false };
        }
        let highest = if is_share(entry) && high <= 1.0 {
            1.0
        } else if unit.starts_with("percent") && high <= 100.0 {
            100.0
        } else {
            f64::INFINITY
        };
        if low > 0.0 {
            Self { low: 0.0, high: highest, open: true }
        } else if low >= 0.0 {
            Self { low: 0.0, high: highest, open: false }
        } else if high < 0.0 {
            Self { low: f64::NEG_INFINITY, high: 0.0, open: false }
        } else {
            Self { low: f64::NEG_INFINITY, high: f64::INFINITY, open: false }
        }
    }

    fn holds(&self, value: f64) -> bool {
        value.is_finite()
            && value <= self.high
            && if self.open { value > self.low } else { value >= self.low }
    }
}

fn is_share(entry: &Row) -> bool {
    let says_so = || SHARE_WORDS.iter().any(|word| entry.key.contains(word) || entry.name.contains(word));
    let unit = entry.unit.as_str();
    SHARE_UNITS.contains(&unit) || (RATIO_UNITS.contains(&unit) && says_so())
}

fn within(check: &mut Checker<'_>, path: &KeyPath, value: f64, entry: Option<&Row>, is_value: bool) {
    let Some(entry) = entry else { return };
    let mut bounds = Bounds::of(entry);
    bounds.open &= is_value;
    if bounds.holds(value) {
        return;
    }
    let (low, high) = (bounds.low, bounds.high);
    let range = match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("{}{low} to {high}", if bounds.open { "above " } else { "" }),
        (true, false) => format!("{}{low}", if bounds.open { "above " } else { "at least " }),
        (false, _) => format!("at most {high}"),
    };
    let allowed =
        format!("{range}, in {}; published are {} to {}", entry.unit, entry.value.low(), entry.value.high());
    let hint = if value > 1.0 && (high - 1.0).abs() < 1e-12 && value <= 100.0 {
        Some(format!("percent given? write {}", value / 100.0))
    } else if bounds.open && value.abs() < f64::MIN_POSITIVE {
        Some(format!("for next to nothing write a small number such as {:e}", entry.value.low() / 1000.0))
    } else {
        Some(format!("`loamledger facts {}` tells what the number is", entry.key))
    };
    let problem = if value < 0.0 && low >= 0.0 { "is negative" } else { "is out of range" };
    check.wrong(path, problem, &allowed, hint);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bounds(key: &str) -> Bounds {
        Bounds::of(literature::entry(key).expect("a key of the tables"))
    }

    #[test]
    fn bounds_follow_sign_and_unit() {
        let rate = bounds("bed.decay_rate_protein");
        assert!(rate.holds(9.0) && !rate.holds(0.0) && !rate.holds(-1.0) && !rate.holds(f64::NAN));
        assert!(!rate.holds(f64::INFINITY));
        let share = bounds("worms.cocoon_hatch_share");
        assert!(share.holds(1.0) && !share.holds(1.01) && !share.holds(0.0));
        // a share that may be nothing
        let drained = bounds("bed.leachate_share_of_feed_water");
        assert!(drained.holds(0.0) && !drained.holds(1.2));
        let cold = bounds("worms.growth_temperature_base");
        assert!(cold.holds(-4.0) && !cold.holds(-300.0));
        // a ratio that is no share may pass 1 although nothing published does
        assert!(bounds("fermentation.acetic_to_lactic_ratio").holds(1.2));
    }

    #[test]
    fn every_published_number_lies_in_its_own_bounds() {
        for entry in literature::entries().iter().chain(literature::composition()) {
            let bounds = Bounds::of(entry);
            for value in [entry.value.low(), entry.value.central(), entry.value.high()] {
                assert!(bounds.holds(value), "{} {value}", entry.key);
            }
        }
    }

    #[test]
    fn shapes_are_those_of_uncertain_numbers() {
        for name in RATE_SHAPES {
            assert!(Shape::from_name(name).is_some(), "{name}");
        }
    }
}
