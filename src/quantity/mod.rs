//! Physical quantities with units, as read from and shown to people.
//!
//! Inside the model every number is a plain `f64` in the documented unit of its [`Kind`]; only input and output have units.

pub mod constant;
mod format;
mod kind;
mod nearest;
mod uncertain;

pub use format::{
    format_decimals, format_exact, format_figures, format_input, format_interval, format_number,
    format_percent, format_quantity, format_range,
};
pub use kind::Kind;
pub use nearest::{did_you_mean, nearest};
pub use uncertain::{Shape, Uncertain, UncertainError};

use kind::{Form, Unit, spec};
use std::fmt;

/// Units shown to people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// Metric units.
    #[default]
    Si,
    /// US customary units.
    Us,
}

/// Why a text is not a quantity of the wanted kind.
#[derive(Debug, Clone, PartialEq)]
pub struct QuantityError {
    /// The text as given.
    pub given: String,
    /// The kind wanted.
    pub kind: Kind,
    /// The reason, in words.
    pub reason: String,
    /// Accepted units, the documented one first; empty text means a plain number.
    pub allowed: Vec<&'static str>,
    /// The probable intention, if there is one.
    pub hint: Option<String>,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}`: {}; allowed: {}", self.given, self.reason, self.kind.allowed())?;
        self.hint.as_ref().map_or(Ok(()), |hint| write!(f, "; {hint}"))
    }
}

impl std::error::Error for QuantityError {}

impl Kind {
    /// Words for the kind.
    pub fn name(self) -> &'static str {
        spec(self).name
    }

    /// Unit of a plain number; empty if it has none.
    pub fn unit(self) -> &'static str {
        spec(self).accepted[0]
    }

    /// Units to suggest, in words.
    pub fn allowed(self) -> String {
        let row = spec(self);
        let units: Vec<&str> = row.accepted.iter().copied().filter(|u| !u.is_empty()).collect();
        match (row.accepted[0].is_empty(), units.is_empty()) {
            (true, true) => format!("a plain number ({})", row.name),
            (true, false) => format!("a plain number or a text with {} ({})", units.join(", "), row.name),
            (false, _) => {
                format!("a number in {} or a text with {} ({})", units[0], units.join(", "), row.name)
            }
        }
    }
}

/// A spelling without case, spaces, raised digits, degree signs and brackets, which do not distinguish units.
fn plain(text: &str) -> String {
    let lower = text.to_lowercase().replace(" per ", "/");
    let lower = lower.strip_prefix("per ").map_or_else(|| lower.clone(), |rest| format!("/{rest}"));
    lower
        .chars()
        .filter_map(|c| match c {
            '²' => Some('2'),
            '³' => Some('3'),
            '°' | '^' | '(' | ')' | '·' | '*' => None,
            c if c.is_whitespace() => None,
            c => Some(c),
        })
        .collect()
}

fn in_list<'a>(units: &'a [Unit], spelling: &str) -> Option<&'a Unit> {
    units.iter().find(|u| plain(u.symbol) == spelling || u.also.iter().any(|a| plain(a) == spelling))
}

/// Finds a unit by its spelling.
type Find = for<'a> fn(&'a [Unit], &str) -> Option<&'a Unit>;

/// Size of the named unit and its zero, in the documented unit.
fn size(kind: Kind, unit: &str) -> Option<(f64, f64)> {
    // charts convert every point, and units of ours are spelt as they are listed
    let listed: Find = |units, symbol| units.iter().find(|u| u.symbol == symbol);
    size_by(listed, kind, unit).or_else(|| size_by(in_list, kind, &plain(unit)))
}

fn size_by(find: Find, kind: Kind, wanted: &str) -> Option<(f64, f64)> {
    match spec(kind).form {
        Form::Plain(units) => find(units, wanted).map(|u| (u.factor, u.zero)),
        Form::Per { over, under, scale, also } => {
            if let Some(whole) = find(also, wanted) {
                return Some((whole.factor, whole.zero));
            }
            let (top, bottom) = wanted.rsplit_once('/')?;
            let (top, bottom) = (find(over, top)?, find(under, bottom)?);
            Some((top.factor / bottom.factor * scale, 0.0))
        }
    }
}

/// Splits a leading number from the unit after it.
fn split(text: &str) -> Option<(f64, &str)> {
    let bytes = text.as_bytes();
    let digits = |mut i: usize| {
        while bytes.get(i).is_some_and(u8::is_ascii_digit) {
            i += 1;
        }
        i
    };
    let signed = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let mut end = digits(signed);
    if bytes.get(end) == Some(&b'.') {
        end = digits(end + 1);
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = digits(end + 1 + sign);
        if exponent > end + 1 + sign {
            end = exponent;
        }
    }
    let number: f64 = text[..end].parse().ok()?;
    number.is_finite().then(|| (number, text[end..].trim()))
}

/// Reads a text with a unit, such as `120 lb/day`.
///
/// # Units
/// The result is in the documented unit of the kind.
///
/// # Errors
/// If the text has no leading number, lacks a required unit, or has an unknown unit or one of another kind.
pub fn parse(kind: Kind, text: &str) -> Result<f64, QuantityError> {
    let fail = |reason: String, hint: Option<String>| QuantityError {
        given: text.to_owned(),
        kind,
        reason,
        allowed: spec(kind).accepted.to_vec(),
        hint,
    };
    let Some((number, unit)) = split(text.trim()) else {
        let example = spec(kind).accepted.last().map_or("", |u| u.split(' ').next().unwrap_or(""));
        return Err(fail(
            "does not begin with a number".into(),
            Some(format!("for example \"12 {example}\"")),
        ));
    };
    if unit.starts_with(',') {
        let hint = "write the number without thousands separators, with a decimal point".to_owned();
        return Err(fail("has a comma in the number".into(), Some(hint)));
    }
    if unit.is_empty() && !spec(kind).accepted[0].is_empty() {
        let hint = format!("write {number} without quotes for {number} {}", kind.unit());
        return Err(fail("has no unit".into(), Some(hint)));
    }
    match size(kind, unit) {
        Some((factor, zero)) => Ok((number - zero) * factor),
        None => {
            Err(fail(format!("unknown unit `{unit}`, wanted is {}", kind.name()), suggestion(kind, unit)))
        }
    }
}

/// The nearest accepted spelling, or the kind to which the unit belongs.
fn suggestion(kind: Kind, unit: &str) -> Option<String> {
    if let Some(other) = Kind::ALL.into_iter().find(|&other| size(other, unit).is_some()) {
        return Some(format!("`{unit}` measures {}", other.name()));
    }
    let mut known = spellings(kind);
    known.sort_by_key(|s| (!spec(kind).accepted.contains(&s.as_str()), s.len()));
    let folded: Vec<String> = known.iter().map(|s| plain(s)).collect();
    let found = nearest(&plain(unit), folded.iter().map(String::as_str))?;
    folded.iter().position(|s| s == found).map(|place| did_you_mean(&known[place]))
}

fn spellings(kind: Kind) -> Vec<String> {
    let names = |units: &'static [Unit]| {
        units.iter().flat_map(|u| std::iter::once(u.symbol).chain(u.also.iter().copied()))
    };
    match spec(kind).form {
        Form::Plain(units) => names(units).map(str::to_owned).collect(),
        Form::Per { over, under, also, .. } => {
            let pairs = names(over).flat_map(|top| names(under).map(move |bottom| format!("{top}/{bottom}")));
            pairs.chain(names(also).map(str::to_owned)).collect()
        }
    }
}

/// Converts a value in the documented unit to another unit of its kind; None if the kind does not have the unit.
pub fn convert(kind: Kind, value: f64, unit: &str) -> Option<f64> {
    size(kind, unit).map(|(factor, zero)| value / factor + zero)
}

/// The unit in which a value of this size is shown.
pub fn shown_unit(kind: Kind, value: f64, units: Units) -> &'static str {
    let row = spec(kind);
    let choices = match units {
        Units::Si => row.si,
        Units::Us => row.us,
    };
    choices.iter().rev().find(|(least, _)| value.abs() >= *least || value.is_nan()).unwrap_or(&choices[0]).1
}

/// Whole part of a number: 0 if it is negative or not a number, and the largest `u32` if it is larger.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a cast saturates, and 0 stands for what is not a number, as documented"
)]
pub fn whole(value: f64) -> u32 {
    value as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() <= 1e-12 * a.abs().max(b.abs()).max(1e-300)
    }

    #[test]
    fn definitions_match_the_printed_conversions() {
        // unit_definitions: pound, short ton, square foot, US liquid gallon, cubic yard
        for (kind, text, value) in [
            (Kind::Mass, "1 lb", 0.453_592_37),
            (Kind::Mass, "1 ton", 907.184_74),
            (Kind::Area, "1 ft2", 0.092_903_04),
            (Kind::Volume, "1 gal", 0.003_785_411_784),
        ] {
            assert!(close(parse(kind, text).unwrap(), value), "{text}");
        }
        // the header prints the cubic yard to nine figures only
        assert!((parse(Kind::Volume, "1 yd3").unwrap() - 0.764_554_858).abs() < 5e-10);
    }

    #[test]
    fn printed_rows_are_reproduced() {
        // epa_conversion_2016: 396 lb/yd3 = 234.9, 3.8 lb/gal = 455.3, 7.49 lb/gal = 897.5 kg/m3; 55 gal = 208.2 L
        assert!((parse(Kind::Density, "396 lb/yd3").unwrap() - 234.9).abs() < 0.05);
        assert!((parse(Kind::Density, "3.8 lb/gal").unwrap() - 455.3).abs() < 0.05);
        assert!((parse(Kind::Density, "7.49 lb/gal").unwrap() - 897.5).abs() < 0.05);
        assert!((parse(Kind::Volume, "55 gal").unwrap() - 0.2082).abs() < 5e-5);
        // appelhof: one pound per square foot = 4.88 kg/m2; eref_2024: 56.80 per short ton = 62.61 per tonne
        assert!((parse(Kind::ArealMass, "1 lb/ft2").unwrap() - 4.88).abs() < 0.005);
        assert!((parse(Kind::MoneyPerMass, "56.80 /ton").unwrap() - 62.61).abs() < 0.005);
        assert!((parse(Kind::MoneyPerVolume, "400 per yd3").unwrap() - 523.0).abs() < 0.5);
    }

    #[test]
    fn spellings_are_read() {
        for (kind, text, value) in [
            (Kind::MassRate, "70 kg/week", 10.0),
            (Kind::MassRate, "1 ton per week", 907.184_74 / 7.0),
            (Kind::MassRate, "1 t/week", 1000.0 / 7.0),
            (Kind::Area, "100 sq ft", 9.290_304),
            (Kind::Area, "2 m²", 2.0),
            (Kind::Temperature, "50 F", 10.0),
            (Kind::Temperature, "-40 °F", -40.0),
            (Kind::Temperature, "300 K", 26.85),
            (Kind::TemperatureDifference, "9 F", 5.0),
            (Kind::Share, "75 %", 0.75),
            (Kind::Share, "0.2", 0.2),
            (Kind::Airflow, "100 cfm", 169.901_079_552),
            (Kind::Airflow, "1 L/s", 3.6),
            (Kind::Throughput, "660 lb/h", 660.0 * 0.453_592_37),
            (Kind::Ration, "25 %/day", 0.25),
            (Kind::Ration, "0.25 lb/lb/day", 0.25),
            (Kind::Ration, "1.75 kg/kg/week", 0.25),
            (Kind::Ratio, "20 g/kg", 0.02),
            (Kind::Days, "2 weeks", 14.0),
            (Kind::Length, "1.5e0 in", 0.0381),
            (Kind::HeatTransfer, "1 Btu/h/ft2/F", 5.678_263_341_113_488),
        ] {
            let got = parse(kind, text).unwrap_or_else(|e| panic!("{e}"));
            assert!((got - value).abs() < 1e-9 * value.abs().max(1.0), "{text}: {got} not {value}");
        }
    }

    #[test]
    fn a_wrong_unit_is_named_with_the_nearest_spelling() {
        let message = |kind, text| parse(kind, text).unwrap_err().to_string();
        insta::assert_snapshot!(message(Kind::MassRate, "120 lb/dya"), @"`120 lb/dya`: unknown unit `lb/dya`, wanted is mass per time; allowed: a number in kg/day or a text with kg/day, kg/week, t/year, lb/day, lb/week, ton/week (short ton) (mass per time); did you mean `lb/day`?");
        insta::assert_snapshot!(message(Kind::MassRate, "3 yd3"), @"`3 yd3`: unknown unit `yd3`, wanted is mass per time; allowed: a number in kg/day or a text with kg/day, kg/week, t/year, lb/day, lb/week, ton/week (short ton) (mass per time); `yd3` measures volume");
        insta::assert_snapshot!(message(Kind::Area, "18"), @"`18`: has no unit; allowed: a number in m2 or a text with m2, ft2, sq ft, yd2 (area); write 18 without quotes for 18 m2");
        insta::assert_snapshot!(message(Kind::Mass, "1,200 lb"), @"`1,200 lb`: has a comma in the number; allowed: a number in kg or a text with kg, g, t (tonne), lb, oz, ton (short ton) (mass); write the number without thousands separators, with a decimal point");
        for text in ["NaN kg", "inf kg", "kg", "", "1e999 kg", "-", ".", "--1 kg"] {
            assert!(parse(Kind::Mass, text).is_err(), "{text}");
        }
    }

    #[test]
    fn whole_parts_saturate() {
        assert_eq!([0.0, 2.9, -1.0, f64::NAN].map(whole), [0, 2, 0, 0]);
        assert_eq!([4_294_967_295.0, 1e12].map(whole), [u32::MAX, u32::MAX]);
    }

    #[test]
    fn every_suggested_and_shown_unit_is_read() {
        for kind in Kind::ALL {
            let row = spec(kind);
            let shown = row.si.iter().chain(row.us).map(|s| s.1);
            for unit in row.accepted.iter().map(|u| u.split(" (").next().unwrap()).chain(shown) {
                assert!(parse(kind, &format!("1 {unit}")).is_ok(), "{kind:?} {unit}");
            }
            let documented = kind.unit();
            assert!(close(parse(kind, &format!("2 {documented}")).unwrap(), 2.0), "{kind:?}");
        }
    }

    proptest! {
        #[test]
        fn any_unit_there_and_back(index in 0..Kind::ALL.len(), pick in 0usize..1000, value in -1e6f64..1e6) {
            let kind = Kind::ALL[index];
            let all = spellings(kind);
            let unit = &all[pick % all.len()];
            let there = convert(kind, value, unit).unwrap();
            let back = parse(kind, &format!("{there} {unit}"));
            // a kind with a documented unit refuses a text without one
            if unit.is_empty() && !kind.unit().is_empty() {
                prop_assert!(back.is_err());
            } else {
                prop_assert!((back.unwrap() - value).abs() <= 1e-9 * value.abs().max(1.0));
            }
        }

        #[test]
        fn no_text_panics(text in ".{0,24}") {
            for kind in Kind::ALL {
                let _ = parse(kind, &text);
            }
        }
    }
}
