//! An uncertain number: central value, range and shape.
//!
//! Holds the knowledge about a number, without any random generator. A Monte Carlo layer reads [`Uncertain`] and draws
//! from it. The printed sources rarely state a distribution, so the meaning of `low` and `high` for each shape is **our
//! convention**, stated at each variant of [`Shape`].

use std::fmt;

/// Distribution of a number between its low and its high value. Source: our convention, see the module text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shape {
    /// Never drawn: a definition, a choice, a check value or a number that follows from others. `low` and `high` are the
    /// printed span, for one-at-a-time trials only; most often they equal `central`.
    Fixed,
    /// Uniform between the limits `low` and `high`; `central` is the value used without draws.
    Uniform,
    /// Triangle with limits `low` and `high` and mode `central`.
    Triangular,
    /// The logarithm is triangular: limits `low` and `high`, mode (of the logarithm) `central`.
    LogTriangular,
    /// The logarithm is normal: median `central`; `low` and `high` are the 5 % and 95 % points.
    Lognormal,
    /// Normal: mean `central`; `low` and `high` are the 5 % and 95 % points.
    Normal,
    /// Beta stretched between the limits `low` and `high`: mean `central`, its two parameters summing to 6 (the
    /// concentration of [`Shape::Pert`]).
    Beta,
    /// PERT: beta stretched between the limits `low` and `high` with mode `central` of weight 4.
    Pert,
    /// One share of a set that sums to 1: mean share `central` (before the set is brought to sum 1); `low` and `high` are
    /// the limits a drawn share is expected to keep, from which the concentration of the set is chosen.
    Dirichlet,
}

impl Shape {
    /// Every shape.
    pub const ALL: [Self; 9] = [
        Self::Fixed,
        Self::Uniform,
        Self::Triangular,
        Self::LogTriangular,
        Self::Lognormal,
        Self::Normal,
        Self::Beta,
        Self::Pert,
        Self::Dirichlet,
    ];

    /// The name in the tables and in scenario files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Fixed => "fixed",
            Self::Uniform => "uniform",
            Self::Triangular => "triangular",
            Self::LogTriangular => "log_triangular",
            Self::Lognormal => "lognormal",
            Self::Normal => "normal",
            Self::Beta => "beta",
            Self::Pert => "pert",
            Self::Dirichlet => "dirichlet",
        }
    }

    /// The shape of that name; None if unknown.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|shape| shape.name() == name)
    }

    /// Whether the shape is of the logarithm, so that all three numbers must be above zero.
    pub const fn is_logarithmic(self) -> bool {
        matches!(self, Self::LogTriangular | Self::Lognormal)
    }
}

impl fmt::Display for Shape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// Why three numbers and a shape are not an uncertain number; one variant per broken rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum UncertainError {
    /// A number is infinite or not a number.
    NotFinite {
        /// Which of the three: "central", "low" or "high".
        which: &'static str,
        /// The number given.
        value: f64,
    },
    /// The low value is above the central one.
    LowAboveCentral {
        /// Low value given.
        low: f64,
        /// Central value given.
        central: f64,
    },
    /// The central value is above the high one.
    CentralAboveHigh {
        /// Central value given.
        central: f64,
        /// High value given.
        high: f64,
    },
    /// A shape that is drawn has equal low and high values; use [`Shape::Fixed`].
    NoSpread {
        /// Shape given.
        shape: Shape,
        /// The common value of low and high.
        value: f64,
    },
    /// A shape on the logarithm has a low value at or below zero.
    LogarithmOfNonPositive {
        /// Shape given.
        shape: Shape,
        /// Low value given.
        low: f64,
    },
    /// A shape whose central value must lie strictly inside has it on a limit.
    CentralOnLimit {
        /// Shape given.
        shape: Shape,
        /// Central value given.
        central: f64,
    },
    /// A share of a set leaves 0 to 1.
    ShareOutsideUnit {
        /// Low value given.
        low: f64,
        /// High value given.
        high: f64,
    },
}

impl fmt::Display for UncertainError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFinite { which, value } => write!(f, "the {which} value {value} is not a finite number"),
            Self::LowAboveCentral { low, central } => {
                write!(f, "the low value {low} is above the central value {central}")
            }
            Self::CentralAboveHigh { central, high } => {
                write!(f, "the central value {central} is above the high value {high}")
            }
            Self::NoSpread { shape, value } => {
                write!(f, "shape {shape} needs low below high, both are {value}; use shape fixed")
            }
            Self::LogarithmOfNonPositive { shape, low } => {
                write!(f, "shape {shape} needs values above zero, the low value is {low}")
            }
            Self::CentralOnLimit { shape, central } => {
                write!(f, "shape {shape} needs its central value {central} strictly between low and high")
            }
            Self::ShareOutsideUnit { low, high } => {
                write!(f, "a dirichlet share lies in 0 to 1, the range is {low} to {high}")
            }
        }
    }
}

impl std::error::Error for UncertainError {}

/// A number with its range and shape; an inconsistent one cannot exist.
///
/// # Units
/// Those of the number; the owner of the value keeps its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertain {
    central: f64,
    low: f64,
    high: f64,
    shape: Shape,
}

impl Uncertain {
    /// An uncertain number from its central value, range and shape.
    ///
    /// low <= central <= high always; low < high for every drawn shape; low > 0 on the logarithm; low < central < high
    /// for beta, lognormal and normal; 0 <= low and high <= 1 for a Dirichlet share.
    ///
    /// # Errors
    /// The first broken rule, as an [`UncertainError`].
    pub fn new(central: f64, low: f64, high: f64, shape: Shape) -> Result<Self, UncertainError> {
        for (which, value) in [("central", central), ("low", low), ("high", high)] {
            if !value.is_finite() {
                return Err(UncertainError::NotFinite { which, value });
            }
        }
        if low > central {
            return Err(UncertainError::LowAboveCentral { low, central });
        }
        if central > high {
            return Err(UncertainError::CentralAboveHigh { central, high });
        }
        if shape != Shape::Fixed && low >= high {
            return Err(UncertainError::NoSpread { shape, value: low });
        }
        if shape.is_logarithmic() && low <= 0.0 {
            return Err(UncertainError::LogarithmOfNonPositive { shape, low });
        }
        let inside = low < central && central < high;
        if matches!(shape, Shape::Beta | Shape::Lognormal | Shape::Normal) && !inside {
            return Err(UncertainError::CentralOnLimit { shape, central });
        }
        if shape == Shape::Dirichlet && (low < 0.0 || high > 1.0) {
            return Err(UncertainError::ShareOutsideUnit { low, high });
        }
        Ok(Self { central, low, high, shape })
    }

    /// A number that is not drawn, with no range.
    ///
    /// # Errors
    /// [`UncertainError::NotFinite`].
    pub fn fixed(value: f64) -> Result<Self, UncertainError> {
        Self::new(value, value, value, Shape::Fixed)
    }

    /// The value used without draws.
    pub const fn central(&self) -> f64 {
        self.central
    }

    /// The low value, in the meaning its [`Shape`] gives it.
    pub const fn low(&self) -> f64 {
        self.low
    }

    /// The high value, in the meaning its [`Shape`] gives it.
    pub const fn high(&self) -> f64 {
        self.high
    }

    /// Its distribution.
    pub const fn shape(&self) -> Shape {
        self.shape
    }

    /// Whether a Monte Carlo run draws this number.
    pub const fn is_drawn(&self) -> bool {
        !matches!(self.shape, Shape::Fixed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_broken_rule_has_an_error() {
        let new = Uncertain::new;
        assert!(matches!(
            new(f64::NAN, 0.0, 1.0, Shape::Uniform),
            Err(UncertainError::NotFinite { which: "central", .. })
        ));
        assert!(matches!(
            new(0.5, f64::NEG_INFINITY, 1.0, Shape::Normal),
            Err(UncertainError::NotFinite { which: "low", .. })
        ));
        assert!(matches!(
            new(0.5, 0.0, f64::INFINITY, Shape::Normal),
            Err(UncertainError::NotFinite { which: "high", .. })
        ));
        assert_eq!(
            new(0.5, 0.6, 1.0, Shape::Pert),
            Err(UncertainError::LowAboveCentral { low: 0.6, central: 0.5 })
        );
        assert_eq!(
            new(1.5, 0.6, 1.0, Shape::Fixed),
            Err(UncertainError::CentralAboveHigh { central: 1.5, high: 1.0 })
        );
        assert_eq!(
            new(1.0, 1.0, 1.0, Shape::Triangular),
            Err(UncertainError::NoSpread { shape: Shape::Triangular, value: 1.0 })
        );
        assert_eq!(
            new(1.0, 0.0, 2.0, Shape::LogTriangular),
            Err(UncertainError::LogarithmOfNonPositive { shape: Shape::LogTriangular, low: 0.0 })
        );
        assert_eq!(
            new(2.0, 1.0, 2.0, Shape::Lognormal),
            Err(UncertainError::CentralOnLimit { shape: Shape::Lognormal, central: 2.0 })
        );
        assert_eq!(
            new(0.5, 0.1, 1.2, Shape::Dirichlet),
            Err(UncertainError::ShareOutsideUnit { low: 0.1, high: 1.2 })
        );
    }

    #[test]
    fn valid_numbers_keep_their_values() {
        let mode_on_limit = Uncertain::new(0.1, 0.0, 0.1, Shape::Triangular).unwrap();
        assert_eq!(mode_on_limit.central().to_bits(), 0.1_f64.to_bits());
        assert!(mode_on_limit.is_drawn());
        let definition = Uncertain::fixed(-8.09694).unwrap();
        assert!(!definition.is_drawn() && definition.low() <= definition.high());
    }

    #[test]
    fn shape_names_parse_to_their_shapes() {
        for shape in Shape::ALL {
            assert_eq!(Shape::from_name(shape.name()), Some(shape));
        }
        assert_eq!(Shape::from_name("range"), None);
    }
}
