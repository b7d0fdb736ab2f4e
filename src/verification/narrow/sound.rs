//! Which prints draws are weighed by: a rule for each reason to leave one out.

use super::super::{Basis, Case, GapKind};
use super::outcome::{ModelError, Print};
use super::rows::rank_correlation;
use crate::literature;
use serde::Serialize;

/// Distance beyond which a print is out of reach of a draw, in standard deviations.
const FAR: f64 = 3.0;
/// Share of the draws beyond that distance from which on a print is out of reach of the rates.
const OUT_OF_REACH: f64 = 0.75;
/// Least rank correlation of a print with a row that may be narrowed: a quarter of its spread in the draws then follows that row. Our
/// choice. What hangs more on the composition of the feed or on worms teaches little of a row, and each such print leaves fewer draws
/// that count: with 0.4 one in eighty, with 0.5 one in twenty.
pub(super) const BEARING: f64 = 0.5;
/// The worked sites. Prints beside them are of castings in general, of no trial.
const SITES: [&str; 3] = ["harbour_hall", "mountain_school", "valley_packhouse"];
/// Keys of sources that are no paper: what two rows have from them need not be the same thing.
const NO_PAPER: [&str; 2] = ["trade_practice", "recalled"];
/// Prints that can only lie on one side of what they are compared with, and why.
const ONE_SIDED: [(&str, &str); 1] =
    [("beds.castings_per_area", "the whole bed was weighed, what was not eaten included")];

/// Why a print is left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "rule")]
pub enum LeftOut {
    /// A sum, a unit, or a figure that this project derived.
    Arithmetic,
    /// A bound at 0, which has no error in proportion.
    NoScale,
    /// Castings of a worked site beside castings in general.
    Site,
    /// It contradicts a balance or its own source.
    Contradicted,
    /// It is of another species, feed, basis or method.
    NotComparable,
    /// It can only lie on one side of what it is compared with.
    OneSided {
        /// Why.
        reason: &'static str,
    },
    /// Its source is one that the range of a drawn rate comes from, so that it would count twice.
    Circular {
        /// The rate.
        rate: String,
    },
    /// Hardly any draw comes near it: a gap of the form of the model, or of the print.
    OutOfReach {
        /// Share of the draws that are far off.
        far: f64,
        /// Whether they lie above it.
        above: bool,
    },
    /// It hardly depends on the rows that may be narrowed.
    NoBearing {
        /// Largest rank correlation with one of them.
        most: f64,
    },
    /// Its source alone would move a row too far.
    Refused,
}

/// Why a check is left out, by what it is. None if it is compared with the draws.
pub(super) fn by_kind(case: &Case, drawn: &[&'static str]) -> Option<LeftOut> {
    if case.basis == Basis::Arithmetic || case.source == "derived_here" {
        return Some(LeftOut::Arithmetic);
    }
    if SITES.iter().any(|site| case.key.ends_with(site)) {
        return Some(LeftOut::Site);
    }
    match case.gap.map(|gap| gap.kind) {
        Some(GapKind::Contradiction) => return Some(LeftOut::Contradicted),
        Some(GapKind::NotComparable) => return Some(LeftOut::NotComparable),
        Some(GapKind::Open) | None => {}
    }
    if let Some((_, reason)) = ONE_SIDED.iter().find(|(key, _)| *key == case.key) {
        return Some(LeftOut::OneSided { reason });
    }
    if case.printed <= 0.0 {
        return Some(LeftOut::NoScale);
    }
    if NO_PAPER.contains(&case.source) {
        return None;
    }
    let of_source = |key: &&&str| {
        literature::entry(key).is_some_and(|entry| entry.sources.iter().any(|source| source == case.source))
    };
    let rate = drawn.iter().find(of_source)?;
    Some(LeftOut::Circular { rate: (*rate).to_owned() })
}

/// Why a print is left out, by what it is in the draws. `figures` holds its figure by draw, `rows` the scores of each row that may be
/// narrowed, `bearing` is the least rank correlation with one of them.
pub(super) fn by_draws(print: &Print, figures: &[f64], rows: &[Vec<f64>], bearing: f64) -> Option<LeftOut> {
    let error = ModelError::OF_REACH;
    let distances: Vec<f64> = figures.iter().map(|figure| print.distance(*figure, &error)).collect();
    let far = |far: &dyn Fn(f64) -> bool| {
        distances.iter().filter(|distance| far(**distance)).count() as f64 / distances.len().max(1) as f64
    };
    let both = far(&|distance| distance.abs() > FAR);
    if both > OUT_OF_REACH {
        return Some(LeftOut::OutOfReach { far: both, above: far(&|distance| distance > FAR) > 0.5 * both });
    }
    let most = rows.iter().map(|row| rank_correlation(row, figures).abs()).fold(0.0, f64::max);
    (most < bearing).then_some(LeftOut::NoBearing { most })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::slice;

    fn case(key: &'static str, source: &'static str) -> Case {
        Case::of(key, source, "").printed(0.6, 2, "of dry")
    }

    #[test]
    fn a_print_whose_source_set_a_range_would_count_twice() {
        let drawn = ["bed.decay_rate_protein", "worms.maximum_intake"];
        let circular = by_kind(&case("beds.best", "ndegwa_2000"), &drawn);
        assert_eq!(circular, Some(LeftOut::Circular { rate: "worms.maximum_intake".into() }));
        assert_eq!(by_kind(&case("beds.loss", "zziwa_2021"), &drawn), None);
        assert_eq!(by_kind(&case("beds.loss_of_harbour_hall", "zziwa_2021"), &drawn), Some(LeftOut::Site));
        let gap = case("beds.loss", "zziwa_2021").contradicts(1.0, 0.1, "");
        assert_eq!(by_kind(&gap, &drawn), Some(LeftOut::Contradicted));
    }

    #[test]
    fn out_of_reach_and_without_bearing_are_seen_in_the_draws() {
        let print = Print::of(&case("beds.loss", "zziwa_2021"), 0);
        let row: Vec<f64> = (0..100).map(|n| f64::from(n) / 50.0 - 1.0).collect();
        let near: Vec<f64> = row.iter().map(|x| 0.5 + 0.1 * x).collect();
        assert_eq!(by_draws(&print, &near, slice::from_ref(&row), BEARING), None);
        let low: Vec<f64> = row.iter().map(|x| 0.1 + 0.01 * x).collect();
        let out = by_draws(&print, &low, slice::from_ref(&row), BEARING);
        assert!(matches!(out, Some(LeftOut::OutOfReach { far, above: false }) if far > 0.99), "{out:?}");
        let apart: Vec<f64> = (0..100).map(|n| 0.5 + 0.001 * f64::from((n * 37) % 100)).collect();
        assert!(matches!(by_draws(&print, &apart, &[row], BEARING), Some(LeftOut::NoBearing { .. })));
    }
}
