//! Numbers as text: rounded and grouped for people, exact for files.

use super::kind::spec;
use super::{Kind, Units, convert, shown_unit};

/// Significant figures of a number where nothing else is asked for.
const FIGURES: u32 = 4;
/// Significant figures of a number that is written with a power of ten, at most.
const SCIENTIFIC_FIGURES: u32 = 3;
/// Sizes that are written without a power of ten; beyond them a reader would count zeros.
const PLAIN: std::ops::Range<f64> = 1e-4..1e9;
/// Sizes that a file holds without a power of ten.
const PLAIN_IN_FILES: std::ops::Range<f64> = 1e-4..1e16;
/// Below this size, in the documented unit, a quantity is what rounding leaves of zero.
const ROUNDING: f64 = 1e-9;
/// Figures of the width of a range that its ends are rounded to.
const RANGE_FIGURES: i32 = 2;

/// A number of four significant figures, its thousands grouped by commas, without trailing zeros.
pub fn format_number(value: f64) -> String {
    format_figures(value, FIGURES)
}

/// A number of so many significant figures, its thousands grouped by commas, without trailing zeros.
pub fn format_figures(value: f64, figures: u32) -> String {
    if !value.is_finite() {
        return value.to_string();
    }
    let decimals = |figures: u32| usize::try_from(figures.max(1) - 1).unwrap_or(0);
    // rounded first, so that 9.9996 becomes 10 and not 10.000
    let rounded = format!("{value:.*e}", decimals(figures));
    let exponent: i32 = rounded.split('e').nth(1).and_then(|e| e.parse().ok()).unwrap_or(0);
    let rounded: f64 = rounded.parse().unwrap_or(value);
    if rounded == 0.0 {
        return "0".to_owned();
    }
    if !PLAIN.contains(&rounded.abs()) {
        let text = format!("{value:.*e}", decimals(figures.min(SCIENTIFIC_FIGURES)));
        let (digits, power) = text.split_once('e').unwrap_or((&text, "0"));
        return format!("{}e{power}", without_trailing_zeros(digits));
    }
    let decimals = i32::try_from(decimals(figures)).unwrap_or(0) - exponent;
    let text = format!("{rounded:.*}", usize::try_from(decimals).unwrap_or(0));
    grouped(without_trailing_zeros(&text))
}

/// A number of so many significant figures as it may be typed into a scenario: its thousands are not grouped.
pub fn format_input(value: f64, figures: u32) -> String {
    format_figures(value, figures).replace(',', "")
}

/// A number of so many decimals, never a negative zero; one beyond all sense as [`format_figures`] writes it.
pub fn format_decimals(value: f64, decimals: usize) -> String {
    if value.abs() >= 1e6 {
        return format_figures(value, SCIENTIFIC_FIGURES);
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(zero) if zero.parse() == Ok(0.0) => zero.to_owned(),
        _ => text,
    }
}

/// A share of a whole in percent, with one decimal.
pub fn format_percent(share: f64) -> String {
    format!("{} %", format_decimals(100.0 * share, 1))
}

/// A number of four significant figures and its unit, both as suits its size.
///
/// # Units
/// Takes the documented unit of the kind.
pub fn format_quantity(kind: Kind, value: f64, units: Units) -> String {
    let unit = unit_for(kind, value, units);
    with_unit(&format_number(converted(kind, value, unit)), unit)
}

/// Two ends of a range as `14 to 16.6 °C`: as many digits as their distance deserves, the unit once.
///
/// # Units
/// Takes the documented unit of the kind.
pub fn format_interval(kind: Kind, low: f64, high: f64, units: Units) -> String {
    let unit = unit_for(kind, if high.abs() > low.abs() { high } else { low }, units);
    let [low, high] = [low, high].map(|value| converted(kind, value, unit));
    let [low_text, high_text] = [low, high].map(|value| at_width(value, high - low));
    if low_text == high_text {
        return with_unit(&low_text, unit);
    }
    with_unit(&format!("{low_text} to {high_text}"), unit)
}

/// A central value and its range as `62 t (43 to 90)`: as many digits as the range deserves, the unit once.
///
/// # Units
/// Takes the documented unit of the kind.
pub fn format_range(kind: Kind, central: f64, (low, high): (f64, f64), units: Units) -> String {
    let unit = unit_for(kind, central, units);
    let [central, low, high] = [central, low, high].map(|value| converted(kind, value, unit));
    let [central, low, high] = [central, low, high].map(|value| at_width(value, high - low));
    format!("{} ({low} to {high})", with_unit(&central, unit))
}

/// A number with all its digits, as files hold it.
pub fn format_exact(value: f64) -> String {
    if value == 0.0 {
        "0".to_owned()
    } else if value.is_finite() && !PLAIN_IN_FILES.contains(&value.abs()) {
        format!("{value:e}")
    } else {
        value.to_string()
    }
}

/// The unit for a value of this size; for zero the everyday unit, neither the smallest nor the largest.
fn unit_for(kind: Kind, value: f64, units: Units) -> &'static str {
    if value.abs() >= ROUNDING || value.is_nan() {
        return shown_unit(kind, value, units);
    }
    let row = spec(kind);
    let choices = match units {
        Units::Si => row.si,
        Units::Us => row.us,
    };
    choices.get(1).or(choices.first()).map_or("", |(_, unit)| unit)
}

fn converted(kind: Kind, value: f64, unit: &str) -> f64 {
    let value = if value.abs() < ROUNDING { 0.0 } else { value };
    convert(kind, value, unit).unwrap_or(value)
}

fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() || unit.starts_with('/') {
        format!("{number}{unit}")
    } else {
        format!("{number} {unit}")
    }
}

/// A number rounded to the last digit that a range of this width deserves, at most four figures.
fn at_width(value: f64, width: f64) -> String {
    if !(width.is_finite() && width > 0.0) {
        return format_number(value);
    }
    let digit = 10_f64.powf(width.log10().floor() + f64::from(1 - RANGE_FIGURES));
    format_number((value / digit).round() * digit)
}

fn without_trailing_zeros(text: &str) -> &str {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }
}

/// Groups the digits before the point in threes where there are more than four.
fn grouped(text: &str) -> String {
    let (sign, digits) = text.strip_prefix('-').map_or(("", text), |rest| ("-", rest));
    let whole = digits.find('.').unwrap_or(digits.len());
    let mut out = sign.to_owned();
    for (i, digit) in digits.chars().enumerate() {
        if whole > 4 && 0 < i && i < whole && (whole - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_are_rounded_and_grouped() {
        assert_eq!(format_number(94_912.3), "94,910");
        assert_eq!(format_number(1_234_567.0), "1,235,000");
        assert_eq!(format_number(9.9996), "10");
        assert_eq!(format_number(0.012_345_6), "0.01235");
        assert_eq!(format_number(-1234.56), "-1235");
        assert_eq!(format_figures(-12.345, 3), "-12.3");
        assert_eq!(format_figures(12.0, 3), "12");
    }

    #[test]
    fn tiny_and_huge_numbers_have_a_power_of_ten() {
        assert_eq!(format_number(3.214e-13), "3.21e-13");
        assert_eq!(format_number(-1e-12), "-1e-12");
        assert_eq!(format_number(2e222), "2e222");
        assert_eq!(format_decimals(1e300, 1), "1e300");
        assert_eq!(format_percent(1e220), "1e222 %");
        assert_eq!(format_exact(2e222), "2e222");
        assert_eq!(format_exact(5e-324), "5e-324");
        assert_eq!(format_quantity(Kind::Mass, 1e300, Units::Si), "1e297 t");
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(format_number(-0.0), "0");
        assert_eq!(format_decimals(-0.04, 1), "0.0");
        assert_eq!(format_percent(-0.0001), "0.0 %");
        assert_eq!(format_exact(-0.0), "0");
        assert_eq!(format_quantity(Kind::Mass, -7e-18, Units::Si), "0 kg");
    }

    #[test]
    fn percent_has_one_decimal() {
        assert_eq!(format_percent(0.0325), "3.2 %");
        assert_eq!(format_percent(-0.12), "-12.0 %");
    }

    #[test]
    fn quantities_are_shown_in_a_unit_that_suits_their_size() {
        assert_eq!(format_quantity(Kind::Mass, 12_345.0, Units::Si), "12.35 t");
        assert_eq!(format_quantity(Kind::Mass, 100.0, Units::Us), "220.5 lb");
        assert_eq!(format_quantity(Kind::Mass, 0.0, Units::Si), "0 kg");
        assert_eq!(format_quantity(Kind::Volume, 0.2082, Units::Us), "55 gal");
        assert_eq!(format_quantity(Kind::Temperature, 10.0, Units::Us), "50 °F");
        assert_eq!(format_quantity(Kind::Temperature, 0.0, Units::Us), "32 °F");
        assert_eq!(format_quantity(Kind::Temperature, -5.25, Units::Si), "-5.25 °C");
        assert_eq!(format_quantity(Kind::Share, 0.225, Units::Si), "22.5 %");
        assert_eq!(format_quantity(Kind::MoneyPerMass, 62.61, Units::Si), "62.61/t");
    }

    #[test]
    fn a_range_has_its_unit_once_and_no_digit_that_it_does_not_deserve() {
        let range = |central, low, high| format_range(Kind::Mass, central, (low, high), Units::Si);
        assert_eq!(range(62_345.0, 43_210.0, 89_876.0), "62 t (43 to 90)");
        assert_eq!(range(222.2, 0.3, 780.4), "220 kg (0 to 780)");
        assert_eq!(range(90.51, 89.43, 91.52), "90.5 kg (89.4 to 91.5)");
        assert_eq!(range(5.0, 5.0, 5.0), "5 kg (5 to 5)");
        assert_eq!(format_interval(Kind::Temperature, 14.0, 16.6, Units::Us), "57.2 to 61.9 °F");
        assert_eq!(format_interval(Kind::Temperature, 18.0, 18.0, Units::Si), "18 °C");
        assert_eq!(format_interval(Kind::Share, 0.026, 0.159, Units::Si), "3 to 16 %");
    }

    proptest! {
        #[test]
        fn shown_numbers_keep_four_figures(value in 1e-4f64..1e9) {
            let back: f64 = format_input(value, 4).parse().unwrap();
            prop_assert!((back - value).abs() <= 0.5001e-3 * value);
        }

        #[test]
        fn no_number_is_long(value in proptest::num::f64::ANY) {
            for text in [format_number(value), format_percent(value), format_decimals(value, 2)] {
                prop_assert!(text.chars().count() <= 16, "{text}");
            }
            prop_assert!(value.is_nan() || format_exact(value).parse() == Ok(value));
        }
    }
}
