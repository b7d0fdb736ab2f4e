//! Which published numbers an answer rests on: asked for while the run is made, so that the list cannot fall behind the model.

use super::answer::RunAnswer;
use super::run::{RunError, run_with};
use crate::literature::{self, Entry};
use crate::quantity::Uncertain;
use crate::scenario::plan::RateChoice;
use crate::scenario::{Plan, central, narrowed};
use std::cell::RefCell;
use std::collections::BTreeSet;

/// Rates that only draws use, and not a run with central values.
const OF_DRAWS: [&str; 1] = ["site.weather_persistence"];

/// A rate that an answer rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct RateUsed {
    /// The rate as published.
    pub published: &'static Entry,
    /// What the plan replaces it with. None if the published value is used.
    pub replaced: Option<RateChoice>,
    /// The range that draws take, where published trials narrow the published one. None where they do not.
    pub narrowed: Option<Uncertain>,
}

/// Runs a plan with central values, and lists every rate that the run used or that draws would use as well, sorted by key.
/// Figures of ingredients are among them only where the plan replaces them.
///
/// # Errors
/// As [`run()`](super::run()).
pub fn run_and_rates(plan: &Plan) -> Result<(RunAnswer, Vec<RateUsed>), RunError> {
    let keys = RefCell::new(OF_DRAWS.iter().map(|key| (*key).to_owned()).collect::<BTreeSet<String>>());
    let answer = run_with(plan, &|key| {
        keys.borrow_mut().insert(key.to_owned());
        central(plan, key)
    })?;
    let used = keys.into_inner();
    let rates = used.iter().filter_map(|key| literature::entry(key)).map(|published| RateUsed {
        published,
        replaced: plan.rates.iter().find(|choice| choice.key == published.key).cloned(),
        // fitted sites are drawn in place of both ranges
        narrowed: narrowed(plan, &published.key).filter(|_| plan.fitted().is_none()),
    });
    // figures of ingredients that a plan does not replace have a table of their own
    let listed = |rate: &RateUsed| rate.replaced.is_some() || !rate.published.key.starts_with("ingredients.");
    Ok((answer, rates.filter(listed).collect()))
}
