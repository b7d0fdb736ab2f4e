//! What a published figure is of, and the error that parts it from the model.
//!
//! The error has two parts: what the model leaves out of any trial, and what the trial measured or its paper printed. Both are normal on
//! the scale of the outcome: the logit of a share lost, the logarithm of all else but pH.

use super::super::{Case, Relation};
use serde::Serialize;

/// Least share lost that is compared as one; what is smaller is a content of the product.
const LEAST_LOSS: f64 = 0.1;
/// Nearest a share lost may come to 0 and 1. Our choice: half a per cent is below what any trial can weigh.
const EDGE: f64 = 0.005;
/// Least figure that counts, over the published one: a logarithm has no 0. Our choice: dead is dead.
const LEAST: f64 = 0.01;
/// Errors of a logit over those of a logarithm. Source: our choice; at a loss of 0.6 it makes 0.30 into 0.1 of the dry matter.
const LOGIT: f64 = 1.4;
/// Error of the model for a pH. Source: our choice, the tolerance of pH in these checks.
const MODEL_PH: f64 = 0.5;
/// Error of a printed pH. Source: our choice.
const READING_PH: f64 = 0.2;
/// Error of a printed figure, where the print says nothing of its spread. Source: our choice, triplicates of such trials.
const READING: f64 = 0.15;
/// Error of a figure read off a chart. Source: our choice.
const READ_OFF: f64 = 0.25;
/// Share of a normal curve's 5 to 95 % on one side, in standard deviations.
const HALF: f64 = 1.645;

/// Prints that give a spread: its low and high end, taken as 5 and 95 %, in the unit of the check.
const SPREADS: [(&str, f64, f64); 5] = [
    ("beds.pomace_carbon_to_nitrogen", 13.0, 14.0),
    ("beds.kept_nitrogen_loss_of_a_heap", 0.43, 0.62),
    ("products.pomace_ph", 5.9, 6.9),
    ("products.pomace_conductivity", 1.6, 4.4),
    ("products.straw_and_manure_ph", 5.5, 7.0),
];
/// Sources whose figures were read off charts.
const CHARTS: [&str; 3] = ["neuhauser_1980", "dominguez_edwards_1997", "mathieu_2018"];

/// Standard deviations of the error of the model.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ModelError {
    /// Of losses and contents, in the logarithm; a logit has 1.4 times as much.
    pub losses: f64,
    /// Of stocks, growth and castings, in the logarithm.
    pub worms: f64,
}

impl ModelError {
    /// Those that the shipped ranges are made with. Source: our choice. With less, the bands of the draws held too few of the prints of
    /// sources left out; with more, too little is learnt.
    pub const USUAL: Self = Self { losses: 0.30, worms: 0.40 };
    /// That by which a print is judged to be in reach.
    pub(super) const OF_REACH: Self = Self { losses: 0.30, worms: 0.30 };
}

/// What a published figure is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Dry matter, volume or nitrogen that is lost.
    Loss,
    /// A content or a ratio of a product, or gas.
    Content,
    /// Worms, and what they eat and make.
    Worms,
    /// pH.
    Acidity,
}

impl Outcome {
    /// By the unit of a check.
    pub(super) fn of(case: &Case) -> Self {
        match case.unit {
            "pH" => Self::Acidity,
            "of dry" | "of volume" | "of nitrogen" | "of mass" if case.printed >= LEAST_LOSS => Self::Loss,
            "gain" | "of start" | "kg/m2" | "g/(m2 d)" | "dead" | "of control" | "d" | "many/few"
            | "kg/(kg d)" | "kg/(m2 d)" | "1/d" | "of 25 °C" | "%/d" | "of one alone"
            | "of the first 5 d" => Self::Worms,
            _ => Self::Content,
        }
    }

    /// Standard deviation of the error of the model.
    pub(super) fn model(self, error: &ModelError) -> f64 {
        match self {
            Self::Loss => LOGIT * error.losses,
            Self::Content => error.losses,
            Self::Worms => error.worms,
            Self::Acidity => MODEL_PH * error.losses / ModelError::USUAL.losses,
        }
    }
}

/// A published figure on the scale of its error.
#[derive(Debug, Clone, Copy)]
pub(super) struct Print {
    pub(super) case: Case,
    /// Its place among the figures of a draw.
    pub(super) place: usize,
    pub(super) outcome: Outcome,
    /// The published figure, on its scale.
    pub(super) at: f64,
    /// Standard deviation of what was measured and printed.
    pub(super) reading: f64,
}

impl Print {
    pub(super) fn of(case: &Case, place: usize) -> Self {
        let outcome = Outcome::of(case);
        let mut made = Self { case: *case, place, outcome, at: f64::NAN, reading: f64::NAN };
        made.at = made.on_scale(case.printed);
        let spread = SPREADS.iter().find(|(key, ..)| *key == case.key);
        let usual = if CHARTS.contains(&case.source) { READ_OFF } else { READING };
        made.reading = match (spread, outcome) {
            (Some((_, low, high)), _) => (made.on_scale(*high) - made.on_scale(*low)) / (2.0 * HALF),
            (None, Outcome::Acidity) => READING_PH,
            (None, Outcome::Loss) => LOGIT * usual,
            (None, Outcome::Content | Outcome::Worms) => usual,
        };
        made
    }

    /// A figure of this check on the scale of its error; not a number where there is none.
    pub(super) fn on_scale(&self, figure: f64) -> f64 {
        if figure.is_nan() {
            return f64::NAN;
        }
        let log = |figure: f64, print: f64| figure.max(LEAST * print).ln();
        match self.outcome {
            Outcome::Acidity => figure,
            Outcome::Loss => {
                let share = figure.clamp(EDGE, 1.0 - EDGE);
                (share / (1.0 - share)).ln()
            }
            // a gain may be negative: what is left over what was put in is compared
            Outcome::Worms if self.case.unit == "gain" => log(1.0 + figure, 1.0 + self.case.printed),
            Outcome::Content | Outcome::Worms => log(figure, self.case.printed),
        }
    }

    /// Standard deviation of model and print together.
    pub(super) fn error(&self, error: &ModelError) -> f64 {
        self.outcome.model(error).hypot(self.reading)
    }

    /// How far a figure lies from the print, in standard deviations: 0 where a bound is kept; infinite where there is no figure.
    pub(super) fn distance(&self, figure: f64, error: &ModelError) -> f64 {
        let off = (self.on_scale(figure) - self.at) / self.error(error);
        if off.is_nan() {
            return f64::INFINITY;
        }
        match self.case.relation {
            Relation::Equal => off,
            Relation::AtLeast => off.min(0.0),
            Relation::AtMost => off.max(0.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn print(printed: f64, unit: &'static str) -> Print {
        Print::of(&Case::of("beds.some", "recalled", "").printed(printed, 2, unit), 0)
    }

    #[test]
    fn a_loss_is_compared_by_its_odds_and_a_stock_by_its_ratio() {
        let loss = print(0.6, "of dry");
        // odds of 0.6 and 0.7 are 1.5 and 7/3; errors 0.42 and 0.21 together 0.4696
        let by_hand = (7.0_f64 / 3.0 / 1.5).ln() / (0.42_f64.powi(2) + 0.21_f64.powi(2)).sqrt();
        assert!((loss.distance(0.7, &ModelError::USUAL) - by_hand).abs() < 1e-12);
        let stock = print(4.0, "kg/m2");
        let by_hand = 2.0_f64.ln() / (0.4_f64.powi(2) + 0.15_f64.powi(2)).sqrt();
        assert!((stock.distance(8.0, &ModelError::USUAL) - by_hand).abs() < 1e-12);
        assert_eq!(print(0.03, "of dry").outcome, Outcome::Content);
        assert!(stock.distance(f64::NAN, &ModelError::USUAL).is_infinite());
    }

    #[test]
    fn a_bound_that_is_kept_is_no_distance() {
        let bound = Print { case: print(2.0, "kg/m2").case.bound(Relation::AtLeast), ..print(2.0, "kg/m2") };
        assert!(bound.distance(3.0, &ModelError::USUAL).abs() < 1e-12);
        assert!(bound.distance(1.0, &ModelError::USUAL) < -1.0);
    }
}
