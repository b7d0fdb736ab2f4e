//! One outside check: a published figure and what the model gives for the same inputs.

use serde::Serialize;

/// Reason for most tolerances.
const LAST_DIGIT: &str = "half of the last printed digit";

/// How the model's figure should compare with the printed one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Relation {
    /// Equal within the tolerance.
    Equal,
    /// At least as large.
    AtLeast,
    /// At most as large.
    AtMost,
}

/// Why a published figure and ours differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum GapKind {
    /// The published figure contradicts a balance, or its own source.
    Contradiction,
    /// It is of something else: another species, feed, basis or method.
    NotComparable,
    /// The model may be wrong. The reason names what would decide it.
    Open,
}

/// A known disagreement and its reason. The check fails if it changes, so that it cannot drift unnoticed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct KnownGap {
    /// Kind of reason.
    pub kind: GapKind,
    /// Expected difference, ours minus printed, in the unit of the figures.
    pub expected: f64,
    /// How far it may change before somebody must look again, in that unit.
    pub within: f64,
    /// Reason.
    pub reason: &'static str,
}

/// Result of a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Within the tolerance, or the published figure lies within the band of the draws.
    Agrees,
    /// Outside it by the known difference, for the stated reason.
    Differs,
    /// Outside it without a stated reason, or a known difference has changed or vanished: a fault of the program.
    Broken,
}

/// What decides a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// A part of the model with its rates, which nature might contradict.
    Model,
    /// A sum, a unit or a formula of finance: it shows that the program reckons as others do, and nothing of nature.
    Arithmetic,
}

/// A printed figure beside ours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Case {
    /// Name of the check, `area.what`.
    pub key: &'static str,
    /// Key of the [source](crate::literature::source) of the figure.
    pub source: &'static str,
    /// What decides it.
    pub basis: Basis,
    /// Inputs of the figure, and what had to be assumed.
    pub inputs: &'static str,
    /// Unit of both figures.
    pub unit: &'static str,
    /// How ours should compare with the printed figure.
    pub relation: Relation,
    /// The figure as printed.
    pub printed: f64,
    /// Result of the model.
    pub ours: f64,
    /// 5 and 95 % points of the result over draws of the rates and of the figures of ingredients. `None` if they are not drawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub band: Option<[f64; 2]>,
    /// Allowed difference, in their unit.
    pub tolerance: f64,
    /// Reason for the tolerance.
    pub why: &'static str,
    /// The known disagreement. `None` if the two should agree.
    pub gap: Option<KnownGap>,
}

impl Case {
    /// A check without figures yet.
    pub(super) fn of(key: &'static str, source: &'static str, inputs: &'static str) -> Self {
        Self {
            key,
            source,
            basis: Basis::Model,
            inputs,
            unit: "",
            relation: Relation::Equal,
            printed: f64::NAN,
            ours: f64::NAN,
            band: None,
            tolerance: 0.0,
            why: LAST_DIGIT,
            gap: None,
        }
    }

    /// The printed figure with its number of decimals. The tolerance is half of the last digit.
    pub(super) fn printed(self, printed: f64, decimals: i32, unit: &'static str) -> Self {
        Self { printed, unit, tolerance: 0.5 * 10_f64.powi(-decimals), ..self }
    }

    /// The same checks, as plain arithmetic.
    pub(super) fn arithmetic(cases: Vec<Self>) -> Vec<Self> {
        cases.into_iter().map(|case| Self { basis: Basis::Arithmetic, ..case }).collect()
    }

    /// Another tolerance, and its reason.
    pub(super) fn within(self, tolerance: f64, why: &'static str) -> Self {
        Self { tolerance, why, ..self }
    }

    /// The published figure is a bound, not a value.
    pub(super) fn bound(self, relation: Relation) -> Self {
        Self { relation, tolerance: 0.0, why: "the published figure is a bound", ..self }
    }

    /// The published figure is a bound, kept within the tolerance.
    pub(super) fn bound_within(self, relation: Relation) -> Self {
        Self { relation, ..self }
    }

    /// The published figure is of something else: by how much ours differs, how far that may change, and why.
    pub(super) fn differs(self, expected: f64, within: f64, reason: &'static str) -> Self {
        Self { gap: Some(KnownGap { kind: GapKind::NotComparable, expected, within, reason }), ..self }
    }

    /// The published figure contradicts a balance or its own source: likewise.
    pub(super) fn contradicts(self, expected: f64, within: f64, reason: &'static str) -> Self {
        Self { gap: Some(KnownGap { kind: GapKind::Contradiction, expected, within, reason }), ..self }
    }

    /// The figure of the model.
    pub(super) fn ours(self, ours: f64) -> Self {
        // no negative zero on the page
        Self { ours: ours + 0.0, ..self }
    }

    /// Ours minus printed, in their unit.
    pub fn difference(&self) -> f64 {
        self.ours - self.printed
    }

    /// Whether the best estimate holds the relation within the tolerance.
    pub fn holds(&self) -> bool {
        // a small margin for rounding exactly at the edge
        let tolerance = self.tolerance * (1.0 + 1e-9) + 1e-12 * self.printed.abs();
        match self.relation {
            Relation::Equal => self.difference().abs() <= tolerance,
            Relation::AtLeast => self.difference() >= -tolerance,
            Relation::AtMost => self.difference() <= tolerance,
        }
    }

    /// Whether the published figure lies within the band of the draws, or a bound is kept somewhere in it.
    pub fn is_in_band(&self) -> bool {
        self.band.is_some_and(|[low, high]| match self.relation {
            Relation::Equal => low <= self.printed && self.printed <= high,
            Relation::AtLeast => high >= self.printed,
            Relation::AtMost => low <= self.printed,
        })
    }

    /// Result of the check.
    pub fn verdict(&self) -> Verdict {
        let agrees = self.holds() || self.is_in_band();
        match self.gap {
            None if agrees => Verdict::Agrees,
            Some(gap) if !agrees && (self.difference() - gap.expected).abs() <= gap.within => {
                Verdict::Differs
            }
            _ => Verdict::Broken,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn case(ours: f64) -> Case {
        Case::of("a.b", "recalled", "").printed(2.5, 1, "kg").ours(ours)
    }

    #[test]
    fn a_figure_agrees_up_to_half_of_its_last_digit() {
        assert_eq!(case(2.55).verdict(), Verdict::Agrees);
        assert_eq!(case(2.4499).verdict(), Verdict::Broken);
        assert_eq!(case(f64::NAN).verdict(), Verdict::Broken);
        assert_eq!(case(2.9).within(0.5, "").verdict(), Verdict::Agrees);
    }

    #[test]
    fn a_known_difference_may_neither_change_nor_vanish() {
        let known = |ours| case(ours).differs(0.3, 0.01, "").verdict();
        assert_eq!(known(2.8), Verdict::Differs);
        assert_eq!(known(2.82), Verdict::Broken);
        assert_eq!(known(2.5), Verdict::Broken);
        assert_eq!(known(f64::NAN), Verdict::Broken);
    }

    #[test]
    fn a_bound_is_one_sided() {
        assert_eq!(case(9.0).bound(Relation::AtLeast).verdict(), Verdict::Agrees);
        assert_eq!(case(9.0).bound(Relation::AtMost).verdict(), Verdict::Broken);
        assert_eq!(case(2.5).bound(Relation::AtMost).verdict(), Verdict::Agrees);
    }
}
