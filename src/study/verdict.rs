//! The verdict on a site: each failure weighed by its severity and by its chance, by one rule for every page and for the exit status.

use crate::trace::failures::{RunFailure, VerdictRule};
use crate::warning::Severity;
use schemars::JsonSchema;
use serde::Serialize;

/// How a site stands, the worst last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// No failure is likelier than the rule allows.
    Works,
    /// A failure is likelier than the rule allows.
    AtRisk,
    /// A serious failure is likelier than the rule lets a site stand.
    Fails,
}

/// A failure with its weight.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Weighed {
    /// Name of the failure.
    pub name: &'static str,
    /// When a draw counts as failed, in words.
    pub statement: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// Share of the draws in which it happens; of the best-estimate run alone 0 or 1.
    pub chance: f64,
    /// Largest chance that the rule allows.
    pub allowed: f64,
    /// How the site would stand by this failure alone.
    pub standing: Standing,
}

/// The verdict on a site.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Verdict {
    /// How the site stands: as by its worst failure.
    pub standing: Standing,
    /// Number of draws; 0 where the best-estimate run alone was judged.
    pub draws: usize,
    /// The rule.
    pub rule: VerdictRule,
    /// Every failure that could happen, the worst first: by standing, then by chance.
    pub weighed: Vec<Weighed>,
}

impl Verdict {
    /// Weighs failures, each with its chance.
    pub fn of<'a>(
        chances: impl IntoIterator<Item = (&'a RunFailure, f64)>,
        draws: usize,
        rule: VerdictRule,
    ) -> Self {
        let mut weighed: Vec<Weighed> =
            chances.into_iter().map(|(failure, chance)| weigh(failure, chance, &rule)).collect();
        weighed.sort_by(|a, b| b.standing.cmp(&a.standing).then(b.chance.total_cmp(&a.chance)));
        let standing = weighed.first().map_or(Standing::Works, |worst| worst.standing);
        Self { standing, draws, rule, weighed }
    }

    /// Failures that are likelier than the rule allows, the worst first.
    pub fn against(&self) -> impl Iterator<Item = &Weighed> {
        self.weighed.iter().filter(|w| w.standing > Standing::Works)
    }
}

/// A failure weighed: a serious one may be as likely as `serious_chance` and fails the site above `fails_chance`; a caution may be as
/// likely as `caution_chance` and fails no site; a note weighs nothing.
fn weigh(failure: &RunFailure, chance: f64, rule: &VerdictRule) -> Weighed {
    let RunFailure { name, statement, severity, .. } = *failure;
    let allowed = failure.allowed(rule);
    let fails = if severity == Severity::Serious { rule.fails_chance } else { 1.0 };
    let standing = if chance > fails {
        Standing::Fails
    } else if chance > allowed {
        Standing::AtRisk
    } else {
        Standing::Works
    };
    Weighed { name, statement, severity, chance, allowed, standing }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::failures::FAILURES;

    const RULE: VerdictRule = VerdictRule { serious_chance: 0.1, caution_chance: 0.33, fails_chance: 0.5 };

    fn verdict(chances: &[(&str, f64)]) -> Verdict {
        let named = |name: &str| FAILURES.iter().find(|f| f.name == name).unwrap();
        Verdict::of(chances.iter().map(|(name, chance)| (named(name), *chance)), 100, RULE)
    }

    #[test]
    fn a_serious_failure_weighs_at_a_tenth_and_fails_a_site_above_one_half() {
        for (chance, standing) in [
            (0.0, Standing::Works),
            (0.1, Standing::Works),
            (0.11, Standing::AtRisk),
            (0.48, Standing::AtRisk),
            (0.5, Standing::AtRisk),
            (0.51, Standing::Fails),
            (1.0, Standing::Fails),
        ] {
            assert_eq!(verdict(&[("overheated", chance)]).standing, standing, "{chance}");
        }
    }

    #[test]
    fn a_caution_weighs_at_a_third_and_never_fails_a_site() {
        for (chance, standing) in [(0.33, Standing::Works), (0.34, Standing::AtRisk), (1.0, Standing::AtRisk)]
        {
            assert_eq!(verdict(&[("spoiled", chance)]).standing, standing, "{chance}");
        }
    }

    #[test]
    fn the_worst_failure_decides_and_stands_first() {
        let found = verdict(&[("spoiled", 0.9), ("turned_away", 0.6), ("soured", 0.2), ("starved", 0.1)]);
        let order: Vec<&str> = found.weighed.iter().map(|w| w.name).collect();
        assert_eq!(order, ["turned_away", "spoiled", "soured", "starved"]);
        assert_eq!((found.standing, found.against().count()), (Standing::Fails, 3));
        assert_eq!(verdict(&[]).standing, Standing::Works);
    }
}
