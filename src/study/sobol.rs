//! Sobol' indices of the leading unknowns, on runs without chance.

use super::drivers::{DriversError, FigureDrivers, ROWS};
use super::sensitivity::{Estimate, Outcomes, Saltelli, sobol_indices};
use super::uncertainty::central_draw;
use crate::monte_carlo::ensemble::figures_of;
use crate::monte_carlo::{Draw, Study, Watch, design, on_threads};
use crate::quantity::Shape;
use crate::scenario::Plan;
use crate::trace::figures::{self, RunFigures};
use serde::Serialize;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Resamples behind the intervals of Sobol' indices. Our choice.
const RESAMPLES: usize = 500;

/// Sobol' indices asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SobolQuestion {
    /// Base rows; each costs one run for each unknown looked at and two more.
    pub rows: usize,
    /// Most unknowns looked at, the leading ones.
    pub rates: usize,
    /// Threads, at least 1.
    pub threads: usize,
}

/// First-order and total index of an unknown.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Index {
    /// Key of the literature.
    pub key: &'static str,
    /// Share of the variance of the figure that it explains alone.
    pub first: Estimate,
    /// Share of the variance that would be left if all others were known.
    pub total: Estimate,
}

/// Indices of one figure; mean and deviation in its unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FigureSobol {
    /// Name of the figure.
    pub name: &'static str,
    /// Why it has no indices. None if it has.
    pub nothing: Option<String>,
    /// Mean over the rows of A and B.
    pub mean: f64,
    /// Standard deviation over the rows of A and B; 0 without indices.
    pub standard_deviation: f64,
    /// Indices, the largest total first.
    pub indices: Vec<Index>,
}

/// Sobol' indices of the leading unknowns.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SobolAnswer {
    /// Base rows asked for.
    pub rows: usize,
    /// Base rows with all their runs.
    pub rows_used: usize,
    /// Message of the first run that failed. None if no run failed.
    pub failed: Option<String>,
    /// Keys of the unknowns looked at, the leading one first; all others have their central values.
    pub rates: Vec<&'static str>,
    /// The indices of each figure.
    pub figures: Vec<FigureSobol>,
}

/// Whether a Sobol' design can be asked for; to be found before the draws are made.
///
/// # Errors
/// [`DriversError::Rows`] for rows out of range, or no unknown to look at.
pub fn check_sobol(sobol: Option<&SobolQuestion>) -> Result<(), DriversError> {
    match sobol {
        Some(asked) if asked.rows < ROWS.0 || asked.rows > ROWS.1 || asked.rates == 0 => {
            Err(DriversError::Rows { given: asked.rows })
        }
        _ => Ok(()),
    }
}

/// The rates with the largest partial correlations over all figures, the largest first.
fn leading(study: &Study, figures: &[FigureDrivers], most: usize) -> Vec<usize> {
    let mut all: Vec<(f64, usize)> = study
        .free()
        .into_iter()
        .filter_map(|place| {
            let key = study.quantities()[place].key;
            let of =
                |f: &FigureDrivers| f.drivers.iter().find(|d| d.key == key).map(|d| d.partial.value.abs());
            figures.iter().filter_map(of).reduce(f64::max).map(|largest| (largest, place))
        })
        .collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    all.into_iter().take(most).map(|(_, place)| place).collect()
}

/// A draw in which some rates have the values of uniform numbers and all others their central ones. Shares of a set are filled in
/// together: where one is looked at, the others break their part of the rest at its median.
fn partly_central(study: &Study, places: &[usize], uniforms: &[f64]) -> Draw {
    let mut all = vec![0.5; study.quantities().len()];
    for (place, u) in places.iter().zip(uniforms) {
        all[*place] = *u;
    }
    let mut draw = study.at(&all);
    let central = central_draw(study);
    let is_share = |place: usize| study.quantities()[place].value.shape() == Shape::Dirichlet;
    let shares_too = places.iter().any(|place| is_share(*place));
    for (place, value) in draw.values.iter_mut().enumerate() {
        let looked_at = places.contains(&place) || (shares_too && is_share(place));
        if !looked_at {
            *value = central.values[place];
        }
    }
    draw
}

/// Indices of the leading rates for every figure looked at. A base row of which a run failed or was not made is left out.
///
/// # Errors
/// [`DriversError::Sensitivity`] on a faulty design (a fault of ours).
pub(super) fn sobol_answer(
    plan: &Plan,
    study: &Study,
    seed: u64,
    found: &[FigureDrivers],
    asked: &SobolQuestion,
    watch: &Watch,
) -> Result<SobolAnswer, DriversError> {
    let places = leading(study, found, asked.rates);
    let keys: Vec<&'static str> = places.iter().map(|place| study.quantities()[*place].key).collect();
    let matrices = design::saltelli(seed, &keys, asked.rows);
    let design = Saltelli::new(matrices).map_err(DriversError::Sensitivity)?;
    let runs = parallel(design.runs(), asked.threads, watch, |run| {
        figures_of(plan, study, &partly_central(study, &places, &design.row(run)))
    });
    let each = keys.len() + 2;
    let failed = runs.iter().flatten().find_map(|run| run.as_ref().err().cloned());
    let whole: Vec<Vec<RunFigures>> = runs
        .chunks(each)
        .filter_map(|row| row.iter().map(|run| run.as_ref().and_then(|r| r.as_ref().ok()).copied()).collect())
        .collect();
    let figures = found.iter().map(|figure| figure_sobol(figure.name, &keys, &whole, seed)).collect();
    Ok(SobolAnswer { rows: asked.rows, rows_used: whole.len(), failed, rates: keys, figures })
}

/// Indices of one figure over base rows that have all their runs.
fn figure_sobol(
    name: &'static str,
    keys: &[&'static str],
    rows: &[Vec<RunFigures>],
    seed: u64,
) -> FigureSobol {
    let place = figures::place(name).expect("a figure of the table");
    // a row counts for a figure only if all its runs have it
    let rows: Vec<Vec<f64>> =
        rows.iter().filter_map(|row| row.iter().map(|run| run[place]).collect()).collect();
    let list = |kind: usize| rows.iter().map(|row| row[kind]).collect::<Vec<f64>>();
    let outcomes =
        Outcomes { a: list(0), b: list(1), mixed: (0..keys.len()).map(|input| list(input + 2)).collect() };
    let mean = outcomes.a.iter().chain(&outcomes.b).sum::<f64>() / (2 * rows.len()).max(1) as f64;
    let mut found = FigureSobol { name, nothing: None, mean, standard_deviation: 0.0, indices: Vec::new() };
    match sobol_indices(&outcomes.centred(), RESAMPLES, seed) {
        Ok(indices) => {
            found.standard_deviation = indices.variance.sqrt();
            let all = keys.iter().zip(indices.first).zip(indices.total);
            found.indices = all.map(|((key, first), total)| Index { key, first, total }).collect();
            found.indices.sort_by(|a, b| b.total.value.total_cmp(&a.total.value));
        }
        Err(error) => found.nothing = Some(error.to_string()),
    }
    found
}

/// The results of so many jobs, in their order, whatever the threads; None for those not done when the work was stopped.
fn parallel<T: Send>(
    jobs: usize,
    threads: usize,
    watch: &Watch,
    job: impl Fn(usize) -> T + Sync,
) -> Vec<Option<T>> {
    let next = AtomicUsize::new(0);
    let finished = on_threads(threads.min(jobs), || {
        let mut mine = Vec::new();
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number >= jobs || watch.is_stopped() {
                return mine;
            }
            mine.push((number, job(number)));
            watch.count();
        }
    });
    let mut results: Vec<Option<T>> = (0..jobs).map(|_| None).collect();
    for (number, result) in finished.into_iter().flatten() {
        results[number] = Some(result);
    }
    results
}
