//! How figures are written for people.

use crate::quantity::{Kind, Units, convert, show, shown_unit, spaced};

pub use crate::quantity::percent;

/// Figures of a number in text.
const FIGURES: u32 = 4;
/// Below this size a number is written with a power of ten; counting zeros after the point is no reading.
const SMALLEST_PLAIN: f64 = 1e-4;
/// A size at which every kind shows its everyday unit (kg, m, m3; lb, ft, yd3): tables keep one unit in a column.
const EVERYDAY: f64 = 100.0;

/// A plain number of four significant figures, thousands set apart by a space.
pub fn figure(value: f64) -> String {
    rounded(value, FIGURES)
}

/// A plain number of so many significant figures, thousands set apart by a space.
pub fn rounded(value: f64, figures: u32) -> String {
    if value != 0.0 && value.abs() < SMALLEST_PLAIN {
        return format!("{value:.1e}");
    }
    spaced(value, figures)
}

/// A number and its unit, both as suits its size.
///
/// # Units
/// Takes the documented unit of the kind.
pub fn told(kind: Kind, value: f64, units: Units) -> String {
    show(kind, value, units).replace('\u{2009}', " ")
}

/// The unit a table column of this kind is written in.
pub(super) fn column_unit(kind: Kind, units: Units) -> &'static str {
    shown_unit(kind, EVERYDAY, units)
}

/// A value in the unit of its column ([`column_unit`]).
///
/// # Units
/// Takes the documented unit of the kind.
pub(super) fn in_column_unit(kind: Kind, value: f64, units: Units) -> f64 {
    convert(kind, value, column_unit(kind, units)).unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_rounded_and_grouped() {
        assert_eq!(figure(94_912.3), "94 910");
        assert_eq!(figure(0.0), "0");
        assert_eq!(figure(3.214e-13), "3.2e-13");
        assert_eq!(rounded(-12.345, 3), "-12.3");
        assert_eq!(percent(0.0325), "3.2 %");
    }

    #[test]
    fn columns_keep_one_unit_whatever_the_size() {
        assert_eq!(column_unit(Kind::Mass, Units::Si), "kg");
        assert_eq!(column_unit(Kind::Mass, Units::Us), "lb");
        assert_eq!(column_unit(Kind::Volume, Units::Us), "yd3");
        // one pound is 0.45359237 kg by definition
        assert!((in_column_unit(Kind::Mass, 0.453_592_37, Units::Us) - 1.0).abs() < 1e-12);
        assert_eq!(told(Kind::Temperature, 20.0, Units::Us), "68 °F");
    }
}
