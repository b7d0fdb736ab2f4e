//! How figures are written for people; a column of a table keeps one unit.

use crate::quantity::{Kind, Units, convert, shown_unit};

pub use crate::quantity::{
    format_decimals, format_exact, format_figures, format_interval, format_number, format_percent,
    format_quantity, format_range,
};

/// A size at which every kind shows its everyday unit (kg, m, m3; lb, ft, yd3): tables keep one unit in a column.
const EVERYDAY: f64 = 100.0;
/// Below this size, in the documented unit, a quantity is what rounding leaves of zero.
const ROUNDING: f64 = 1e-9;

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

/// A value in the unit of its column as text, with so many significant figures.
///
/// # Units
/// Takes the documented unit of the kind.
pub(super) fn format_in_column(kind: Kind, value: f64, figures: u32, units: Units) -> String {
    let value = if value.abs() < ROUNDING { 0.0 } else { value };
    format_figures(in_column_unit(kind, value, units), figures)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_keep_one_unit_whatever_the_size() {
        assert_eq!(column_unit(Kind::Mass, Units::Si), "kg");
        assert_eq!(column_unit(Kind::Mass, Units::Us), "lb");
        assert_eq!(column_unit(Kind::Volume, Units::Us), "yd3");
        // one pound is 0.45359237 kg by definition
        assert!((in_column_unit(Kind::Mass, 0.453_592_37, Units::Us) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn cells_show_no_rounding_and_no_negative_zero() {
        assert_eq!(format_in_column(Kind::Mass, -2.5e-12, 4, Units::Si), "0");
        assert_eq!(format_in_column(Kind::Share, 0.1234, 3, Units::Si), "12.3");
        assert_eq!(format_in_column(Kind::Temperature, 0.0, 4, Units::Us), "32");
    }
}
