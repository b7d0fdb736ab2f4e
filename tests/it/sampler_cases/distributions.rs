//! Inverse distribution functions against another library, closed forms and their own conventions.

use super::{close, number, with_rates};
use crate::reference::{estimates, list, numbers};
use loamledger::monte_carlo::Study;
use loamledger::monte_carlo::distribution::{self, cut_normal, quantile};
use loamledger::quantity::{Shape, Uncertain};

/// Error allowed by shape, over the range: of closed forms rounding only; the normal distribution function of statrs 0.19 is off
/// by up to 1.4e-11, its inverse beta function by less than 1e-11.
fn accuracy(shape: Shape) -> f64 {
    match shape {
        Shape::Normal => 2e-10,
        Shape::Beta | Shape::Pert | Shape::Dirichlet => 1e-11,
        _ => 1e-13,
    }
}

#[test]
fn quantiles_and_moments_equal_those_of_another_library() {
    for row in list(&estimates()["distributions"]) {
        let value = |key: &str| row[key].as_f64().unwrap();
        let shape = Shape::from_name(row["shape"].as_str().unwrap()).unwrap();
        let drawn = number(value("central"), value("low"), value("high"), shape);
        let what = |of: &str| format!("{of} of {drawn:?}");
        for (u, x) in numbers(&row["points"]).into_iter().zip(numbers(&row["quantiles"])) {
            let allowed = accuracy(shape) * x.abs().max(drawn.high() - drawn.low());
            let found = quantile(&drawn, u);
            assert!((found - x).abs() <= allowed, "{}: {found} against {x}", what(&format!("quantile {u}")));
        }
        close(&what("mean"), distribution::mean(&drawn), value("mean"), 1e-11);
        close(&what("variance"), distribution::variance(&drawn), value("variance"), 1e-9);
    }
}

#[test]
fn quantiles_equal_closed_forms_of_their_distribution_functions() {
    let e = 1.0_f64.exp();
    // triangular on the logarithm from -1 over 0 to 1: F = (1 + x)^2 / 2 below the mode, 1 - (1 - x)^2 / 2 above
    let log_triangular = number(1.0, 1.0 / e, e, Shape::LogTriangular);
    close("log-triangular", quantile(&log_triangular, 0.125), (-0.5_f64).exp(), 1e-14);
    close("log-triangular", quantile(&log_triangular, 0.875), 0.5_f64.exp(), 1e-14);
    close("uniform", quantile(&number(0.7, 0.5, 1.0, Shape::Uniform), 0.3), 0.65, 1e-15);
    // beta of whole parameters is a polynomial: I_x(3, 3) = 10 x^3 - 15 x^4 + 6 x^5, I_x(2, 4) = 1 - (1 - x)^5 - 5 x (1 - x)^4
    let even = |x: f64| x.powi(3) * (10.0 - 15.0 * x + 6.0 * x * x);
    let skewed = |x: f64| 1.0 - (1.0 - x).powi(5) - 5.0 * x * (1.0 - x).powi(4);
    let mean_in_the_middle = number(0.25, 0.1, 0.4, Shape::Beta);
    let mean_at_a_third = number(0.2, 0.1, 0.4, Shape::Beta);
    // a share of mean 1/2 and concentration 6: sigma^2 = 1/4 / 7
    let half = distribution::POINT_95 * (0.25_f64 / 7.0).sqrt();
    let share = number(0.5, 0.5 - half, 0.5 + half, Shape::Dirichlet);
    for u in [0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99] {
        close("beta", even((quantile(&mean_in_the_middle, u) - 0.1) / 0.3), u, 1e-10);
        close("beta", skewed((quantile(&mean_at_a_third, u) - 0.1) / 0.3), u, 1e-10);
        close("share", even(quantile(&share, u)), u, 1e-10);
    }
}

#[test]
fn cut_normals_equal_those_of_another_library() {
    for row in list(&estimates()["cut_normals"]) {
        let value = |key: &str| row[key].as_f64().unwrap_or(f64::INFINITY);
        for (u, x) in numbers(&row["points"]).into_iter().zip(numbers(&row["quantiles"])) {
            // the normal distribution function of statrs 0.19 is off by up to 1.4e-11 (at 1), its inverse is not
            let found = cut_normal(value("mean"), value("sigma"), value("low"), value("high"), u);
            close("cut normal", found, x, 2e-10);
        }
    }
}

#[test]
fn a_cut_far_in_the_upper_tail_keeps_its_digits() {
    // standard normal above 10: mean excess about 1 / 10; from this side Phi(10) is 1 and nothing would be left
    let x = cut_normal(0.0, 1.0, 10.0, f64::INFINITY, 0.5);
    // median m of the tail: Q(m) = Q(10) / 2, by the asymptotic series m = 10 + ln 2 / 10 (1 - O(1/100))
    close("upper tail", x - 10.0, 2.0_f64.ln() / 10.0, 0.02);
}

/// One of every shape, with mode or median off the middle where the shape allows it.
fn every_shape() -> Vec<Uncertain> {
    vec![
        number(0.7, 0.5, 1.0, Shape::Uniform),
        number(0.3, 0.0, 0.8, Shape::Triangular),
        number(5.0, 3.0, 5.0, Shape::Triangular),
        number(0.3, 0.12, 0.6, Shape::LogTriangular),
        number(1.0, 1.0, 50.0, Shape::LogTriangular),
        number(0.001, 0.0003, 0.003, Shape::Lognormal),
        number(4.68, 3.0, 6.0, Shape::Normal),
        number(0.649, 0.05, 1.2, Shape::Normal),
        number(1.0, -4.0, 5.0, Shape::Normal),
        number(0.25, 0.1, 0.4, Shape::Beta),
        number(0.12, 0.1, 0.4, Shape::Beta),
        number(60.0, 40.0, 90.0, Shape::Pert),
        number(0.55, 0.3, 0.85, Shape::Dirichlet),
        number(0.04, 0.01, 0.15, Shape::Dirichlet),
    ]
}

#[test]
fn moments_by_quadrature_over_the_quantiles_equal_the_closed_forms() {
    let steps = 100_000;
    for value in every_shape() {
        let at = |k: i32| quantile(&value, (f64::from(k) + 0.5) / f64::from(steps));
        let (mut first, mut second, mut before) = (0.0, 0.0, f64::NEG_INFINITY);
        let mean = distribution::mean(&value);
        for k in 0..steps {
            let x = at(k);
            assert!(x >= before, "{value:?} falls");
            before = x;
            first += (x - mean) / f64::from(steps);
            second += (x - mean).powi(2) / f64::from(steps);
        }
        let variance = distribution::variance(&value);
        // the midpoint rule misses the outermost half step of unbounded tails
        assert!(first.abs() < 1e-4 * variance.sqrt(), "{value:?}: mean off by {first}");
        close(&format!("variance of {value:?}"), second, variance, 1e-3);
    }
}

#[test]
fn ranges_mean_what_their_shapes_say() {
    for value in every_shape() {
        let (low, high) = (quantile(&value, 1e-12), quantile(&value, 1.0 - 1e-12));
        match value.shape() {
            Shape::Uniform | Shape::Triangular | Shape::LogTriangular | Shape::Beta | Shape::Pert => {
                assert!(value.low() <= low && high <= value.high(), "{value:?}: {low} to {high}");
            }
            Shape::Normal if value.low() >= 0.0 => assert!(low >= 0.0, "{value:?}: {low}"),
            Shape::Dirichlet => assert!(low >= 0.0 && high <= 1.0),
            _ => {}
        }
        assert!(low < high);
    }
    let normal = number(1.0, -4.0, 6.0, Shape::Normal);
    close("5 %", quantile(&normal, 0.05), -4.0, 1e-12);
    close("95 %", quantile(&normal, 0.95), 6.0, 1e-12);
    // an asymmetric lognormal keeps its median and the ratio of its points
    let skewed = number(0.015, 0.005, 0.035, Shape::Lognormal);
    close("median", quantile(&skewed, 0.5), 0.015, 1e-12);
    close("ratio", quantile(&skewed, 0.95) / quantile(&skewed, 0.05), 7.0, 1e-12);
}

#[test]
fn no_width_is_exactly_the_central_value() {
    for u in [1e-9, 0.3, 0.5, 1.0 - 1e-9] {
        assert_eq!(quantile(&Uncertain::fixed(0.1).unwrap(), u).to_bits(), 0.1_f64.to_bits());
        // a fixed number with a printed span is not drawn from it
        assert_eq!(quantile(&number(0.1, 0.0, 0.3, Shape::Fixed), u).to_bits(), 0.1_f64.to_bits());
    }
    let range = r#"{"central": 0.06, "low": 0.06, "high": 0.06}"#;
    let plan = with_rates(&[("bed.decay_rate_protein", range)]);
    let study = Study::of(&plan).unwrap();
    assert_eq!(study.place("bed.decay_rate_protein"), None);
    let value = study.value(&study.draw(1, 3), "bed.decay_rate_protein");
    assert_eq!(value.to_bits(), 0.06_f64.to_bits());
    // the narrowest range there is keeps inside it
    let narrow = number(0.1, 0.1_f64.next_down(), 0.1_f64.next_up(), Shape::Triangular);
    assert!((quantile(&narrow, 0.2) - 0.1).abs() <= f64::EPSILON);
}
