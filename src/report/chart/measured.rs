//! A figure of a draw in the reader's units.

use crate::quantity::{Kind, Units};
use crate::report::number::{format_figures, in_column_unit};
use crate::report::pages::uncertainty::{kind_of, shown_unit};

/// Digits of a number beside a row or in a sentence.
const DIGITS: u32 = 3;

/// How a figure is shown.
#[derive(Debug, Clone, Copy)]
pub(super) struct ShownFigure {
    kind: Option<Kind>,
    units: Units,
    /// Unit; empty for a plain number.
    pub unit: &'static str,
}

impl ShownFigure {
    /// How to show a figure, by its name and unit in files.
    pub(super) fn of(name: &str, unit: &'static str, units: Units) -> Self {
        Self { kind: kind_of(name, unit), units, unit: shown_unit(name, unit, units) }
    }

    /// A value in the unit shown.
    pub(super) fn at(&self, value: f64) -> f64 {
        self.kind.map_or(value, |kind| in_column_unit(kind, value, self.units))
    }

    /// A difference of two values; the zero of a temperature scale cancels.
    pub(super) fn difference(&self, value: f64) -> f64 {
        self.at(value) - self.at(0.0)
    }

    /// A value with its unit.
    pub(super) fn to_text(self, value: f64) -> String {
        format!("{} {}", format_figures(self.at(value), DIGITS), self.unit).trim_end().to_owned()
    }
}

/// A number with its sign.
pub(super) fn format_signed(value: f64) -> String {
    let digits = format_figures(value.abs(), DIGITS);
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
    fn temperature_differences_ignore_the_zero_of_the_scale() {
        let hottest = ShownFigure::of("bed_hottest", "°C", Units::Us);
        assert_eq!(hottest.to_text(30.0), "86 °F");
        assert!((hottest.difference(10.0) - 18.0).abs() < 1e-9);
        assert_eq!(ShownFigure::of("turned_away_share", "kg/kg", Units::Si).to_text(0.034), "3.4 %");
        assert_eq!([format_signed(2.0), format_signed(-0.5), format_signed(0.0)], ["+2", "\u{2013}0.5", "0"]);
    }
}
