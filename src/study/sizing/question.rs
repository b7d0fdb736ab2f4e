//! What a site must meet: targets of the plan, or the questions of its verdict.

use super::SizingError;
use crate::monte_carlo::summary::wilson;
use crate::quantity::Kind;
use crate::scenario::Plan;
use crate::scenario::sizing::Target;
use crate::trace::failures::{RunFailure, VerdictRule};
use crate::trace::figures::{self, RunFigure};

/// A statement about a draw of a site, with the share of draws in which it must hold.
#[derive(Clone)]
pub struct Wanted {
    /// Limits of a figure, and the share of draws.
    pub target: Target,
    /// The failure that the statement rules out. None for a target of the plan.
    pub failure: Option<&'static RunFailure>,
    /// Places of the figures among the figures of a draw; of several the worst counts.
    places: Vec<usize>,
}

impl Wanted {
    fn of_target(target: &Target) -> Result<Self, SizingError> {
        let place = figures::place(&target.figure);
        let place = place.ok_or_else(|| SizingError::UnknownFigure(target.figure.clone()))?;
        Ok(Self { target: target.clone(), failure: None, places: vec![place] })
    }

    /// The question of a failure. None if the rule allows it always, or no figure of it is known.
    fn of_failure(failure: &'static RunFailure, rule: &VerdictRule) -> Option<Self> {
        let places: Vec<usize> = failure.figures().iter().filter_map(|name| figures::place(name)).collect();
        let target = Target {
            figure: (*failure.figures().first()?).to_owned(),
            at_most: failure.at_most(),
            at_least: failure.at_least(),
            chance: 1.0 - failure.allowed(rule),
        };
        (target.chance > 0.0).then_some(Self { target, failure: Some(failure), places })
    }

    /// Name: of the failure, or of the figure of a target.
    pub fn name(&self) -> &str {
        self.failure.map_or(&self.target.figure, |failure| failure.name)
    }

    /// The figure, the first of several.
    pub fn figure(&self) -> &'static RunFigure {
        &figures::TABLE[self.places[0]]
    }

    /// What is measured.
    pub fn kind(&self) -> Kind {
        self.figure().kind
    }

    /// The value that counts of the figures of a draw. Where there is nothing to measure a target is missed (not a number), and a failure
    /// cannot happen (infinite, on the good side).
    pub fn value(&self, figures: &[impl Into<Option<f64>> + Copy]) -> f64 {
        let known = self.places.iter().filter_map(|place| (*figures.get(*place)?).into());
        let above = self.target.at_most.is_some();
        let worst = known.reduce(|a, b| if above { a.max(b) } else { a.min(b) });
        let nothing = match self.failure {
            None => f64::NAN,
            Some(_) if above => f64::NEG_INFINITY,
            Some(_) => f64::INFINITY,
        };
        worst.unwrap_or(nothing)
    }

    /// Whether a value holds; one that is not a number, as of a failed draw, does not.
    pub fn holds(&self, value: f64) -> bool {
        let t = &self.target;
        !value.is_nan()
            && t.at_most.is_none_or(|most| value <= most)
            && t.at_least.is_none_or(|least| value >= least)
    }

    /// How far a value is beyond a limit; below zero where it holds.
    pub(super) fn beyond(&self, value: f64) -> f64 {
        if value.is_nan() {
            return f64::INFINITY;
        }
        let above = self.target.at_most.map_or(f64::NEG_INFINITY, |most| value - most);
        let below = self.target.at_least.map_or(f64::NEG_INFINITY, |least| least - value);
        above.max(below)
    }

    /// Number of values that hold.
    pub fn met(&self, values: &[f64]) -> u64 {
        values.iter().filter(|value| self.holds(**value)).count() as u64
    }

    /// Whether the share of the values that hold meets the chance.
    pub(super) fn meets_chance(&self, values: &[f64]) -> bool {
        self.met(values) as f64 >= self.target.chance * values.len() as f64 - 1e-9
    }

    /// Whether the values cannot tell their chance from one that meets the target.
    pub(super) fn may_meet_chance(&self, values: &[f64]) -> bool {
        let met = values.iter().filter(|value| self.holds(**value)).count();
        wilson(met, values.len()).1 >= self.target.chance
    }

    /// Whether it is about the settled year.
    pub(super) fn needs_later_years(&self) -> bool {
        figures::need_later_years(self.places.iter().copied())
    }
}

/// What the sites of a plan must meet: its targets, or the questions of its verdict where it has none.
///
/// # Errors
/// [`SizingError::UnknownFigure`] for a figure that no draw has; [`SizingError::NoSettledYear`] where the questions of the verdict cannot be
/// asked.
pub fn wanted(plan: &Plan) -> Result<Vec<Wanted>, SizingError> {
    if !plan.sizing.targets.is_empty() {
        return plan.sizing.targets.iter().map(Wanted::of_target).collect();
    }
    if !plan.seeks_settled_year() {
        return Err(SizingError::NoSettledYear { days: plan.days, most_years: plan.settled_year.most_years });
    }
    let judging = plan.judging();
    Ok(judging.asked().filter_map(|failure| Wanted::of_failure(failure, &judging.rule)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::failures::FAILURES;
    use crate::trace::figures::FIGURES;

    const RULE: VerdictRule = VerdictRule { serious_chance: 0.1, caution_chance: 0.33, fails_chance: 0.5 };

    #[test]
    fn a_question_holds_in_a_draw_where_its_failure_does_not_happen() {
        for failure in &FAILURES {
            let wanted = Wanted::of_failure(failure, &RULE).unwrap();
            assert!((wanted.target.chance - (1.0 - failure.allowed(&RULE))).abs() < 1e-12);
            let limit = failure.at_most().or(failure.at_least()).unwrap();
            for value in [limit - 0.5, limit, limit + 0.5] {
                for name in failure.figures() {
                    let mut figures = [None; FIGURES];
                    figures[figures::place(name).unwrap()] = Some(value);
                    let holds = wanted.holds(wanted.value(&figures));
                    assert_eq!(Some(!holds), failure.happened(&figures), "{name} {value}");
                    assert_eq!(holds, wanted.beyond(value) <= 0.0, "{name} {value}");
                }
            }
            // what cannot happen does not
            assert!(wanted.holds(wanted.value(&[None::<f64>; FIGURES])));
            assert!(!wanted.holds(f64::NAN));
        }
    }

    #[test]
    fn draws_that_miss_a_chance_by_no_more_than_noise_may_meet_it() {
        let failure = FAILURES.iter().find(|failure| failure.at_most().is_some()).unwrap();
        let mut wanted = Wanted::of_failure(failure, &RULE).unwrap();
        let limit = failure.at_most().unwrap();
        wanted.target.chance = 0.8;
        // 95 % intervals by Wilson: 78 of 100 are 0.689 to 0.850, 71 of 100 are 0.615 to 0.790
        for (met, meets, may) in [(80, true, true), (78, false, true), (71, false, false)] {
            let values: Vec<f64> = (0..100).map(|n| if n < met { limit } else { limit + 1.0 }).collect();
            assert_eq!(
                (wanted.meets_chance(&values), wanted.may_meet_chance(&values)),
                (meets, may),
                "{met}"
            );
        }
    }

    #[test]
    fn a_failure_that_is_always_allowed_is_not_asked_about() {
        let rule = VerdictRule { caution_chance: 1.0, ..RULE };
        let asked = FAILURES.iter().filter(|failure| Wanted::of_failure(failure, &rule).is_some());
        assert_eq!(asked.count(), 5);
    }
}
