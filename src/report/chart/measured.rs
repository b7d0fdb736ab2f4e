//! A figure of a draw in the units of the reader.

use crate::quantity::{Kind, Units};
use crate::report::number::{in_column_unit, rounded};
use crate::report::pages::uncertainty::{kind_of, shown_unit};

/// Digits of a number beside a row or in a sentence.
const DIGITS: u32 = 3;

/// How a figure is shown.
#[derive(Debug, Clone, Copy)]
pub(super) struct Measured {
    kind: Option<Kind>,
    units: Units,
    /// Unit; empty for a plain number.
    pub unit: &'static str,
}

impl Measured {
    /// The measure of a figure by its name and unit in files.
    pub(super) fn of(name: &str, unit: &'static str, units: Units) -> Self {
        Self { kind: kind_of(name, unit), units, unit: shown_unit(name, unit, units) }
    }

    /// A value in the unit shown.
    pub(super) fn at(&self, value: f64) -> f64 {
        self.kind.map_or(value, |kind| in_column_unit(kind, value, self.units))
    }

    /// A difference of two values: temperatures lose their zero.
    pub(super) fn difference(&self, value: f64) -> f64 {
        self.at(value) - self.at(0.0)
    }

    /// A value with its unit, as a sentence bears it.
    pub(super) fn said(&self, value: f64) -> String {
        format!("{} {}", rounded(self.at(value), DIGITS), self.unit).trim_end().to_owned()
    }
}

/// A signed number with a true minus.
pub(super) fn signed(value: f64) -> String {
    let digits = rounded(value.abs(), DIGITS);
    match value {
        v if v > 0.0 => format!("+{digits}"),
        v if v < 0.0 => format!("\u{2013}{digits}"),
        _ => digits,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_of_temperature_have_no_zero() {
        let hottest = Measured::of("bed_hottest", "°C", Units::Us);
        assert_eq!(hottest.said(30.0), "86 °F");
        assert!((hottest.difference(10.0) - 18.0).abs() < 1e-9);
        assert_eq!(Measured::of("turned_away_share", "kg/kg", Units::Si).said(0.034), "3.4 %");
        assert_eq!([signed(2.0), signed(-0.5), signed(0.0)], ["+2", "\u{2013}0.5", "0"]);
    }
}
