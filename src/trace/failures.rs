//! Ways for a site to fail, each a question with its severity: read off the figures of a run and of its settled year.

use super::figures::{self, place};
use crate::warning::Severity;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Chances at which failures weigh in a verdict.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VerdictRule {
    /// Largest chance of a serious failure in a site that works.
    pub serious_chance: f64,
    /// Largest chance of any other failure in a site that works.
    pub caution_chance: f64,
    /// Largest chance of a serious failure in a site that does not fail.
    pub fails_chance: f64,
}

/// How a site is judged: by which rules of places and trades, and how failures weigh.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Judging {
    /// How failures weigh.
    pub rule: VerdictRule,
    /// Words of the rules that the scenario names.
    pub rules: Vec<String>,
}

impl Judging {
    /// The failures that are asked about: our own questions, and those of the rules named.
    pub fn asked(&self) -> impl Iterator<Item = &'static RunFailure> {
        FAILURES.iter().filter(|f| f.rule.is_none_or(|rule| self.rules.iter().any(|named| named == rule)))
    }
}

/// A way for a site to fail: a figure above or below a limit.
pub struct RunFailure {
    /// Name in files.
    pub name: &'static str,
    /// When a draw counts as failed, in words.
    pub statement: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// The rule that sets the limit, by its word in a scenario; asked only where the scenario names it. None for our own questions.
    pub rule: Option<&'static str>,
    /// Figures looked at, those that a run has; the worst one counts.
    figures: &'static [&'static str],
    above: bool,
    limit: f64,
}

/// Every failure, the gravest first. Limits are our choice except two: above 33 °C worms of the model die of heat (`process::worm`), and C:N
/// 20 is the maximum of a published rule (`site.standard_carbon_to_nitrogen_maximum`). The start-up is asked about apart: worms bought are
/// few at first and grow, so that it says nothing about later years. Hunger is judged by what it kills in a settled year: worms that get
/// thin in a holiday, or until they are as many as the feed carries, take no harm, and a stock that falls or is too small is asked about
/// already.
pub const FAILURES: [RunFailure; 9] = [
    RunFailure {
        name: "turned_away",
        statement: "more than 2 % of the scraps of a settled year are turned away",
        severity: Severity::Serious,
        rule: None,
        figures: &["settled_turned_away_share"],
        above: true,
        limit: 0.02,
    },
    RunFailure {
        name: "overheated",
        statement: "a bed passes 33 °C somewhere, where worms begin to die",
        severity: Severity::Serious,
        rule: None,
        figures: &["bed_hottest", "settled_bed_hottest"],
        above: true,
        limit: 33.0,
    },
    RunFailure {
        name: "soured",
        statement: "a bed falls below pH 5 where worms live",
        severity: Severity::Serious,
        rule: None,
        figures: &["bed_ph_lowest", "settled_bed_ph_lowest"],
        above: false,
        limit: 5.0,
    },
    RunFailure {
        name: "stock_short",
        statement: "worms too few: beds take under 95 % of a settled year's scraps",
        severity: Severity::Serious,
        rule: None,
        figures: &["settled_taken_share"],
        above: false,
        limit: 0.95,
    },
    RunFailure {
        name: "stock_falls",
        statement: "worms fall by more than 5 % from one settled year to the next",
        severity: Severity::Serious,
        rule: None,
        figures: &["settled_stock_kept"],
        above: false,
        limit: 0.95,
    },
    RunFailure {
        name: "turned_away_at_start",
        statement: "more than 10 % of the scraps of the first half-year are turned away",
        severity: Severity::Caution,
        rule: None,
        figures: &["start_up_turned_away_share"],
        above: true,
        limit: 0.1,
    },
    RunFailure {
        name: "spoiled",
        statement: "more than 2 % of the drums spoil",
        severity: Severity::Caution,
        rule: None,
        figures: &["drums_spoiled_share", "settled_drums_spoiled_share"],
        above: true,
        limit: 0.02,
    },
    RunFailure {
        name: "starved",
        statement: "most worms that die in a settled year die of hunger",
        severity: Severity::Caution,
        rule: None,
        figures: &["settled_hunger_deaths_share"],
        above: true,
        limit: 0.5,
    },
    RunFailure {
        name: "off_standard",
        statement: "castings with C:N above 20",
        severity: Severity::Caution,
        rule: Some("india"),
        figures: &["castings_carbon_to_nitrogen", "settled_castings_carbon_to_nitrogen"],
        above: true,
        limit: 20.0,
    },
];

impl RunFailure {
    /// Whether drums alone can show it.
    pub fn is_of_drums(&self) -> bool {
        self.figures.iter().all(|name| figures::is_of_drums(name))
    }

    /// Names of the figures looked at.
    pub fn figures(&self) -> &'static [&'static str] {
        self.figures
    }

    /// The most that a figure may be. None if the failure is a figure below its limit.
    pub fn at_most(&self) -> Option<f64> {
        self.above.then_some(self.limit)
    }

    /// The least that a figure may be. None if the failure is a figure above its limit.
    pub fn at_least(&self) -> Option<f64> {
        (!self.above).then_some(self.limit)
    }

    /// Largest chance that a rule allows of it in a site that works; 1 for a note.
    pub fn allowed(&self, rule: &VerdictRule) -> f64 {
        match self.severity {
            Severity::Serious => rule.serious_chance,
            Severity::Caution => rule.caution_chance,
            Severity::Note => 1.0,
        }
    }

    /// Whether a run fails by its figures. None if it cannot, as castings cannot be off standard when there are none.
    ///
    /// # Panics
    /// When the failure names no figure (a fault of ours, found by a test).
    pub fn happened(&self, figures: &[impl Into<Option<f64>> + Copy]) -> Option<bool> {
        let value = |name: &&str| figures[place(name).expect("a failure names figures of the table")].into();
        let outside = |value: f64| if self.above { value > self.limit } else { value < self.limit };
        self.figures.iter().filter_map(value).map(outside).reduce(|any, one| any || one)
    }
}

#[cfg(test)]
mod tests {
    use super::super::figures::FIGURES;
    use super::*;

    #[test]
    fn failures_name_figures_and_the_gravest_stand_first() {
        for failure in &FAILURES {
            assert!(failure.figures.iter().all(|name| place(name).is_some()), "{}", failure.name);
        }
        assert!(FAILURES.is_sorted_by(|a, b| a.severity >= b.severity));
    }

    #[test]
    fn a_draw_fails_above_or_below_its_limit_by_kind() {
        for failure in &FAILURES {
            for name in failure.figures {
                let happened = |value: Option<f64>| {
                    let mut figures = [None; FIGURES];
                    figures[place(name).unwrap()] = value;
                    failure.happened(&figures)
                };
                assert_eq!(happened(Some(failure.limit + 0.001)), Some(failure.above), "{}", failure.name);
                assert_eq!(happened(Some(failure.limit - 0.001)), Some(!failure.above), "{}", failure.name);
                assert_eq!(happened(Some(failure.limit)), Some(false));
                assert_eq!(happened(None), None);
            }
        }
    }

    #[test]
    fn the_worse_of_first_and_settled_year_counts() {
        let hot = FAILURES.iter().find(|f| f.name == "overheated").unwrap();
        let figures = |first: f64, settled: f64| {
            let mut figures = [None; FIGURES];
            figures[place("bed_hottest").unwrap()] = Some(first);
            figures[place("settled_bed_hottest").unwrap()] = Some(settled);
            hot.happened(&figures)
        };
        assert_eq!(
            [figures(20.0, 34.0), figures(34.0, 20.0), figures(20.0, 20.0)],
            [Some(true), Some(true), Some(false)]
        );
    }
}
