//! The ensemble smoother: a linear model with normal unknowns has the closed form of Kalman; noise teaches nothing.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use loamledger::monte_carlo::generator::{Purpose, stream};
use loamledger::monte_carlo::smoother::{Measured, Members, SmootherError, shares_left, smooth, taper};
use nalgebra::{DMatrix, DVector};
use rand_distr::{Distribution, StandardNormal};

const UNKNOWNS: usize = 5;
const MEASUREMENTS: usize = 8;

/// Standard normal numbers.
fn normal(seed: u64, rows: usize, columns: u64) -> DMatrix<f64> {
    let mut made = DMatrix::zeros(rows, usize::try_from(columns).unwrap());
    for (number, mut column) in made.column_iter_mut().enumerate() {
        let mut source = stream(seed, Purpose::Rates, number as u64);
        column.iter_mut().for_each(|value| *value = StandardNormal.sample(&mut source));
    }
    made
}

/// A linear model of known numbers; the last unknown moves nothing.
fn linear() -> DMatrix<f64> {
    DMatrix::from_fn(MEASUREMENTS, UNKNOWNS, |i, j| {
        if j + 1 == UNKNOWNS { 0.0 } else { ((1 + i * 3 + j * 5) as f64).sin() }
    })
}

fn measured() -> Measured {
    let errors = (0..MEASUREMENTS).map(|i| 0.3 + 0.1 * i as f64).collect();
    Measured { values: vec![1.0, -0.4, 0.8, 0.3, -1.2, 0.5, 0.1, -0.7], errors }
}

/// Error of the smoother as one that cannot happen otherwise.
#[derive(Debug)]
struct Fault(SmootherError);

impl From<SmootherError> for Fault {
    fn from(error: SmootherError) -> Self {
        Self(error)
    }
}

fn smoothed(count: u64, steps: usize, seed: u64, with_taper: bool) -> Members {
    let matrix = linear();
    let unknowns = normal(seed, UNKNOWNS, count);
    let mut members = Members { numbers: (0..count).collect(), unknowns };
    let model = &matrix * &members.unknowns;
    let sample = normal(seed + 1, UNKNOWNS, 5000);
    let taper = with_taper.then(|| taper(&sample, &(&matrix * &sample), members.numbers.len()));
    let forward = |members: &Members, _: usize| {
        Ok::<_, Fault>(members.unknowns.column_iter().map(|x| Some(&matrix * x)).collect())
    };
    let end = smooth(&mut members, model, &measured(), (steps, seed), taper.as_ref(), forward)
        .unwrap_or_else(|e| panic!("{}", e.0));
    assert!((end - matrix * &members.unknowns).norm() < 1e-9);
    members
}

/// Mean and covariance of the unknowns after the measurements: K = H' (H H' + R)^-1, K d and I - K H.
fn kalman() -> (DVector<f64>, DMatrix<f64>) {
    let (h, d) = (linear(), measured());
    let r = DMatrix::from_diagonal(&DVector::from_vec(d.errors.iter().map(|e| e * e).collect()));
    let inverse = (&h * h.transpose() + r).try_inverse().unwrap();
    let gain = h.transpose() * inverse;
    (&gain * DVector::from_vec(d.values), DMatrix::identity(UNKNOWNS, UNKNOWNS) - gain * h)
}

fn mean_and_covariance(x: &DMatrix<f64>) -> (DVector<f64>, DMatrix<f64>) {
    let mean = x.column_mean();
    let mut less = x.clone();
    less.column_iter_mut().for_each(|mut column| column -= &mean);
    let covariance = &less * less.transpose() / (x.ncols() - 1) as f64;
    (mean, covariance)
}

#[test]
fn a_linear_model_gives_the_closed_form_of_kalman_within_sampling_error() {
    let (mean, covariance) = kalman();
    for steps in [1, 4] {
        let members = smoothed(20_000, steps, 7, false);
        let (ours, spread) = mean_and_covariance(&members.unknowns);
        // twenty thousand members: a mean is sure to 0.007 of a prior standard deviation, a variance to one per cent
        assert!((&ours - &mean).amax() < 0.03, "{steps}: {ours} {mean}");
        assert!((&spread - &covariance).amax() < 0.03, "{steps}: {spread} {covariance}");
    }
    // what nothing measures keeps its prior
    assert!(
        mean[UNKNOWNS - 1].abs() < 1e-12 && (covariance[(UNKNOWNS - 1, UNKNOWNS - 1)] - 1.0).abs() < 1e-12
    );
}

#[test]
fn a_tapered_small_ensemble_keeps_what_is_not_measured_and_finds_what_is() {
    let (mean, covariance) = kalman();
    let last = UNKNOWNS - 1;
    let seeds = 40;
    let (mut bias, mut left, mut first) = (0.0, 0.0, 0.0);
    for seed in 0..seeds {
        let before = mean_and_covariance(&normal(100 + seed, UNKNOWNS, 100)).1;
        let (ours, spread) = mean_and_covariance(&smoothed(100, 4, 100 + seed, true).unknowns);
        bias += (ours[0] - mean[0]) / seeds as f64;
        left += spread[(last, last)] / before[(last, last)] / seeds as f64;
        first += spread[(0, 0)] / seeds as f64;
    }
    assert!((left - 1.0).abs() < 1e-9, "{left}");
    assert!(bias.abs() < 0.1 && (0.8..1.6).contains(&(first / covariance[(0, 0)])), "{bias} {first}");
}

#[test]
fn the_share_of_a_spread_that_is_left_is_that_of_kalman() {
    let (_, covariance) = kalman();
    let sample = normal(11, UNKNOWNS, 4000);
    let model = linear() * &sample;
    for (unknown, left) in shares_left(&sample, &model, &measured().errors).into_iter().enumerate() {
        let wanted = covariance[(unknown, unknown)].sqrt();
        assert!((left - wanted).abs() < 0.02, "{unknown}: {left} {wanted}");
    }
    // many measurements of a small sample explain nothing that they do not know
    let few = normal(12, 60, 40);
    assert!(shares_left(&normal(13, 1, 40), &few, &[0.1; 60])[0] > 0.99);
}

#[test]
fn the_taper_is_what_its_formula_says() {
    // the measurement is the first unknown and has nothing of the second: r = 1 and 0
    let unknowns = DMatrix::from_row_slice(2, 4, &[1.0, -1.0, 1.0, -1.0, 1.0, 1.0, -1.0, -1.0]);
    let model = unknowns.rows(0, 1).into_owned();
    // of four draws nothing is above noise
    assert_eq!(taper(&unknowns, &model, 10), DMatrix::zeros(2, 1));
    let many = |rows: &DMatrix<f64>| DMatrix::from_fn(rows.nrows(), 400, |i, j| rows[(i, j % 4)]);
    let factors = taper(&many(&unknowns), &many(&model), 10);
    // 1 / (1 + 2 / 10)
    assert!((factors[(0, 0)] - 1.0 / 1.2).abs() < 1e-12 && factors[(1, 0)].abs() < 1e-12, "{factors}");
}

#[test]
fn members_without_an_answer_leave_and_two_must_stay() {
    let matrix = linear();
    let run = |lost: u64| {
        let unknowns = normal(3, UNKNOWNS, 10);
        let mut members = Members { numbers: (0..10).collect(), unknowns };
        let model = &matrix * &members.unknowns;
        let forward = |members: &Members, _: usize| {
            let columns = members.numbers.iter().zip(members.unknowns.column_iter());
            Ok::<_, Fault>(columns.map(|(n, x)| (*n >= lost).then(|| &matrix * x)).collect())
        };
        smooth(&mut members, model, &measured(), (2, 1), None, forward).map(|_| members.numbers)
    };
    assert_eq!(run(3).unwrap(), (3..10).collect::<Vec<_>>());
    assert_eq!(run(9).unwrap_err().0, SmootherError::TooFewMembers { left: 1 });
}

#[test]
fn without_measurements_nothing_moves() {
    let mut members = Members { numbers: (0..9).collect(), unknowns: normal(3, UNKNOWNS, 9) };
    let before = members.clone();
    let none = Measured { values: Vec::new(), errors: Vec::new() };
    let forward =
        |members: &Members, _: usize| Ok::<_, Fault>(vec![Some(DVector::zeros(0)); members.numbers.len()]);
    smooth(&mut members, DMatrix::zeros(0, 9), &none, (4, 1), None, forward).unwrap();
    assert_eq!(members, before);
}

/// Mean share of the spread of unknowns that is left by measurements whose figures in the model are chance of their own in every run.
fn left_by_noise(with_taper: bool) -> f64 {
    let (unknowns, measurements, draws, count) = (300, 100, 2000, 200);
    let sample = normal(21, unknowns, draws);
    let model = normal(22, measurements, draws);
    let first = usize::try_from(count).unwrap();
    let before = sample.columns(0, first).into_owned();
    let mut members = Members { numbers: (0..count).collect(), unknowns: before.clone() };
    let taper = with_taper.then(|| taper(&sample, &model, first));
    let values = normal(23, measurements, 1).column(0).iter().copied().collect();
    let noise = Measured { values, errors: vec![0.3; measurements] };
    let forward = |_: &Members, step: usize| {
        let figures = normal(30 + step as u64, measurements, count);
        Ok::<_, Fault>(figures.column_iter().map(|figures| Some(figures.into_owned())).collect())
    };
    let start = model.columns(0, first).into_owned();
    smooth(&mut members, start, &noise, (4, 1), taper.as_ref(), forward)
        .unwrap_or_else(|e| panic!("{}", e.0));
    let ratios = (mean_and_covariance(&members.unknowns).1.diagonal())
        .component_div(&mean_and_covariance(&before).1.diagonal())
        .map(f64::sqrt);
    ratios.mean()
}

#[test]
fn measurements_that_no_unknown_moves_teach_nothing_and_would_without_the_taper() {
    let (with, without) = (left_by_noise(true), left_by_noise(false));
    assert!(with > 0.995 && with < 1.005, "{with}");
    assert!(without < 0.9, "{without}");
}
