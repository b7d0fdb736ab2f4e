//! What measurements would be worth: a linear model with normal unknowns has a closed form, and what is known already is worth little.

use loamledger::monte_carlo::generator::{Purpose, stream};
use loamledger::monte_carlo::worth::Worth;
use nalgebra::DMatrix;
use rand_distr::{Distribution, StandardNormal};

const UNKNOWNS: usize = 4;

/// Standard normal numbers, a column for each draw.
fn normal(seed: u64, rows: usize, columns: usize) -> DMatrix<f64> {
    let mut made = DMatrix::zeros(rows, columns);
    for (number, mut column) in made.column_iter_mut().enumerate() {
        let mut source = stream(seed, Purpose::Rates, number as u64);
        column.iter_mut().for_each(|value| *value = StandardNormal.sample(&mut source));
    }
    made
}

/// Two figures of known unknowns.
fn figures() -> DMatrix<f64> {
    DMatrix::from_row_slice(2, UNKNOWNS, &[1.0, 0.5, 0.0, 0.0, 0.0, 0.0, 1.0, 0.2])
}

/// Four measurements: of the first unknown twice, of the second, of the third.
fn measurements() -> DMatrix<f64> {
    DMatrix::from_row_slice(
        4,
        UNKNOWNS,
        &[1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0],
    )
}

const ERRORS: [f64; 4] = [0.1, 0.1, 0.5, 0.7];

fn sample(draws: usize, seed: u64) -> Worth {
    let x = normal(seed, UNKNOWNS, draws);
    Worth::of(&(figures() * &x), &(measurements() * &x), &ERRORS)
}

/// Share of the variance of each figure after some measurements: 1 - C_fd (C_dd + R)^-1 C_df / C_ff.
fn closed_form(rows: &[usize]) -> Vec<f64> {
    let (f, d) = (figures(), measurements().select_rows(rows));
    let errors =
        DMatrix::from_fn(rows.len(), rows.len(), |i, j| if i == j { ERRORS[rows[i]].powi(2) } else { 0.0 });
    let inverse = (&d * d.transpose() + errors).try_inverse().expect("errors are above 0");
    let taken = &f * d.transpose() * inverse * &d * f.transpose();
    let whole = &f * f.transpose();
    (0..f.nrows()).map(|n| 1.0 - taken[(n, n)] / whole[(n, n)]).collect()
}

#[test]
fn the_variance_left_is_the_closed_form_of_a_linear_model_within_sampling_error() {
    let worth = sample(8000, 3);
    for rows in [vec![], vec![0], vec![2], vec![0, 1], vec![0, 2], vec![3], vec![0, 1, 2, 3]] {
        for (ours, wanted) in worth.left(&rows).into_iter().zip(closed_form(&rows)) {
            // eight thousand draws: a share of variance is sure to about one part in sixty
            assert!((ours - wanted).abs() < 0.02, "{rows:?}: {ours} {wanted}");
        }
    }
}

#[test]
fn a_second_measurement_of_the_same_thing_adds_little_and_comes_last() {
    let worth = sample(4000, 5);
    let (once, twice) = (worth.left(&[0]), worth.left(&[0, 1]));
    assert!(once[0] < 0.25 && (once[0] - twice[0]).abs() < 0.01, "{once:?} {twice:?}");
    // alone the second is worth as much as the first; after it, less than any of the others
    assert!((worth.left(&[1])[0] - once[0]).abs() < 0.01);
    let sets: Vec<Vec<usize>> = (0..4).map(|n| vec![n]).collect();
    let order = worth.in_order(&sets, &[1.0; 4], 0.0);
    let places: Vec<usize> = order.iter().map(|(n, _)| *n).collect();
    assert!(places[0] < 2 && places[1..3].iter().all(|n| *n >= 2), "{places:?}");
    let order = worth.in_order(&sets, &[1.0; 4], 0.01);
    assert_eq!(order.len(), 3, "the second of a pair is left out: {order:?}");
    // shares left fall as measurements are added
    assert!(order.windows(2).all(|pair| pair[1].1[0] <= pair[0].1[0] + 0.01));
}

#[test]
fn what_takes_less_work_comes_first_where_it_is_worth_as_much() {
    let worth = sample(4000, 7);
    let sets = [vec![0], vec![1], vec![3], vec![]];
    let order = worth.in_order(&sets, &[60.0, 10.0, 10.0, 1.0], 0.01);
    assert_eq!(order[0].0, 1);
    assert!(order.iter().all(|(n, _)| *n != 3), "a set without measurements is not named");
}

#[test]
fn noise_is_worth_nothing() {
    let (x, noise) = (normal(9, UNKNOWNS, 400), normal(10, 30, 400));
    let left = Worth::of(&(figures() * &x), &noise, &[1.0; 30]).left(&(0..30).collect::<Vec<_>>());
    assert!(left.iter().all(|share| *share > 0.97), "{left:?}");
    // a figure that does not vary has nothing to be narrowed
    let flat = DMatrix::from_element(1, 400, 5.0);
    assert_eq!(Worth::of(&flat, &noise, &[1.0; 30]).left(&[0]), [1.0]);
}

#[test]
fn shares_left_do_not_depend_on_units() {
    let (x, rows) = (normal(11, UNKNOWNS, 400), [0, 2, 3]);
    let wanted = sample(400, 11).left(&rows);
    for unit in [1e-3, 1e3] {
        let errors = ERRORS.map(|error| error * unit);
        let worth = Worth::of(&(figures() * &x * unit), &(measurements() * &x * unit), &errors);
        for (ours, wanted) in worth.left(&rows).into_iter().zip(&wanted) {
            assert!((ours - wanted).abs() < 1e-9, "{unit}: {ours} {wanted}");
        }
    }
    // a figure that is always 0 varies by exactly nothing
    let nothing = DMatrix::zeros(1, 400);
    assert_eq!(Worth::of(&nothing, &(measurements() * &x), &ERRORS).left(&rows), [1.0]);
}
