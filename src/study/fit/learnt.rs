//! What a fit taught about each unknown.

use super::answer::{Points, points};
use crate::literature;
use crate::monte_carlo::Study;
use crate::quantity::Shape;
use nalgebra::DMatrix;
use schemars::JsonSchema;
use serde::Serialize;

/// What was learnt about an unknown.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct UnknownFit {
    /// Key of the literature.
    pub key: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Unit of the literature.
    pub unit: &'static str,
    /// Before the fit.
    pub before: Points,
    /// After the fit.
    pub after: Points,
    /// Share of its standard deviation that is left, on the scale on which its range is normal.
    pub left: f64,
    /// How far its mean moved, in standard deviations of its range.
    pub moved: f64,
}

/// Mean and standard deviation.
fn moments(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let square = values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (count - 1.0).max(1.0);
    (mean, square.sqrt())
}

/// What was learnt about each unknown, the most first. Shares of a set are compared by their values: the numbers that are moved are
/// those of the parts broken off in turn.
pub(super) fn unknowns(study: &Study, before: &DMatrix<f64>, after: &DMatrix<f64>) -> Vec<UnknownFit> {
    let values = |scores: &DMatrix<f64>| {
        let at = |column: Vec<f64>| study.at_scores(&column).values;
        scores.column_iter().map(|x| at(x.iter().copied().collect())).collect::<Vec<Vec<f64>>>()
    };
    let [plain_before, plain_after] = [before, after].map(values);
    let mut all: Vec<UnknownFit> = study
        .quantities()
        .iter()
        .enumerate()
        .filter_map(|(n, quantity)| {
            let entry = literature::entry(quantity.key)?;
            let of = |values: &[Vec<f64>]| values.iter().map(|draw| draw[n]).collect::<Vec<f64>>();
            let plain = [of(&plain_before), of(&plain_after)];
            let scale = if quantity.value.shape() == Shape::Dirichlet {
                plain.clone()
            } else {
                [before, after].map(|scores| scores.row(n).iter().copied().collect())
            };
            let [(mean, deviation), (moved, left)] = scale.each_ref().map(|values| moments(values));
            let part = |part: f64| if deviation > 0.0 { part / deviation } else { 0.0 };
            let [before, after] = plain.map(|values| points(values.into_iter()));
            let (left, moved) = (part(left), part(moved - mean));
            Some(UnknownFit {
                key: quantity.key,
                what: &entry.name,
                unit: &entry.unit,
                before,
                after,
                left,
                moved,
            })
        })
        .collect();
    all.sort_by(|a, b| a.left.total_cmp(&b.left));
    all
}
