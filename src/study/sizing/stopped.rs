//! What is known when the work is stopped before its answer.

use super::Chosen;
use super::judge::Judge;
use super::refuse::{named, statement, with_unit};
use crate::quantity::format_figures;
use std::fmt;

/// What is known when the work is stopped before its answer.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stopped {
    /// Number of sites judged.
    pub sites: usize,
    /// Draws made.
    pub draws: u64,
    /// The best site so far. None if no site met the targets.
    pub best: Option<BestSoFar>,
}

/// The best site when the work was stopped.
#[derive(Debug, Clone, PartialEq)]
pub struct BestSoFar {
    /// Names and values of its sizes; those without a limit are left out.
    pub sizes: Vec<(&'static str, f64)>,
    /// What its sizes cost together.
    pub cost: f64,
    /// Targets in words, with the share of its draws in which each holds.
    pub targets: Vec<(String, f64)>,
    /// Draws made of it.
    pub draws: u64,
    /// Whether these are draws it was not chosen by: the search was over.
    pub verified: bool,
}

impl Stopped {
    /// What the judge has seen.
    pub(super) fn with(judge: &Judge<'_>, chosen: Option<&Chosen>) -> Self {
        let verified = chosen.map(|c| (c.point, c.fresh.clone(), true));
        let so_far = || judge.cheapest_so_far().map(|(point, values)| (point, values, false));
        let best = verified.or_else(so_far).map(|(point, values, verified)| BestSoFar {
            sizes: named(&judge.grid, &point),
            cost: judge.grid.cost(&point),
            targets: judge
                .wanted
                .iter()
                .zip(&values)
                .map(|(w, values)| (statement(w), w.met(values) as f64 / values.len() as f64))
                .collect(),
            draws: values[0].len() as u64,
            verified,
        });
        Self { sites: judge.candidates(), draws: judge.draws_made, best }
    }

    /// What was known, in lines for the command line.
    pub fn hints(&self) -> Vec<String> {
        let Some(best) = &self.best else {
            return vec!["no site tried so far met every target; larger ones were not tried".to_owned()];
        };
        let sizes: Vec<String> = best.sizes.iter().map(|(name, value)| with_unit(name, *value)).collect();
        let shares: Vec<String> = best
            .targets
            .iter()
            .map(|(statement, share)| format!("{statement} in {:.1} % of draws", 100.0 * share))
            .collect();
        let how = if best.verified {
            format!("the search was finished; its site was tested with {} draws of a fresh seed", best.draws)
        } else {
            format!("the cheapest site so far, not verified, by {} draws", best.draws)
        };
        vec![
            format!("{how}: {}, cost {}", sizes.join(", "), format_figures(best.cost, 4)),
            format!("at this site {}", shares.join("; ")),
        ]
    }
}

impl fmt::Display for Stopped {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "stopped before the answer, after {} sites and {} draws", self.sites, self.draws)
    }
}
