//! Projection matrices, incubation, densities.

use super::{Case, Relation, central};
use crate::process::projection::MatrixAnalysis;
use crate::process::worm::{WormParameters, WormRates};
use crate::quantity::{Kind, parse};
use nalgebra::{DMatrix, dmatrix};

pub(super) fn cases() -> Vec<Case> {
    [matrices(), redworms(), measured()].concat()
}

/// Growth per step. `NaN` if the matrix has no single stable structure.
fn growth(matrix: &DMatrix<f64>) -> f64 {
    MatrixAnalysis::of(matrix).map_or(f64::NAN, |analysis| analysis.growth)
}

fn matrices() -> Vec<Case> {
    let turtles = dmatrix![
        0.0, 0.0, 0.0, 0.0, 127.0, 4.0, 80.0;
        0.6747, 0.7370, 0.0, 0.0, 0.0, 0.0, 0.0;
        0.0, 0.0486, 0.6610, 0.0, 0.0, 0.0, 0.0;
        0.0, 0.0, 0.0147, 0.6907, 0.0, 0.0, 0.0;
        0.0, 0.0, 0.0, 0.0518, 0.0, 0.0, 0.0;
        0.0, 0.0, 0.0, 0.0, 0.8091, 0.0, 0.0;
        0.0, 0.0, 0.0, 0.0, 0.0, 0.8091, 0.8089
    ];
    // the last stage no longer breeds: the matrix is reducible
    let whales = dmatrix![
        0.0, 0.0043, 0.1132, 0.0;
        0.9775, 0.9111, 0.0, 0.0;
        0.0, 0.0736, 0.9534, 0.0;
        0.0, 0.0, 0.0452, 0.9804
    ];
    vec![
        Case::of("worms.growth_of_turtles", "crouse_1987", "7-stage matrix of loggerhead turtles, per year")
            .printed(0.945, 3, "per step")
            .ours(growth(&turtles)),
        Case::of(
            "worms.growth_of_whales",
            "brault_caswell_1993",
            "4-stage matrix of killer whales (lambda recalled)",
        )
        .printed(1.0254, 4, "per step")
        .ours(growth(&whales)),
    ]
}

fn redworms() -> Vec<Case> {
    let of = |key, inputs| Case::of(key, "santadino_2014", inputs);
    let control = dmatrix![0.0, 0.0, 0.04; 1.0, 0.0, 0.0; 0.0, 1.0, 1.0];
    let first = dmatrix![0.0, 0.0, 1.70; 0.76, 0.0, 0.0; 0.0, 0.07, 0.07];
    let second = dmatrix![0.0, 0.0, 0.81; 0.84, 0.0, 0.0; 0.0, 0.04, 0.04];
    vec![
        of("worms.redworms_grow", "weekly matrix of Eisenia fetida, control; the text says it grew")
            .printed(1.0, 0, "per step")
            .bound(Relation::AtLeast)
            .ours(growth(&control)),
        of("worms.redworms_shrink_at_dose_1", "the same under a herbicide; the text says it shrank")
            .printed(1.0, 0, "per step")
            .bound(Relation::AtMost)
            .ours(growth(&first)),
        of("worms.redworms_shrink_at_dose_2", "the same under a herbicide, other dose")
            .printed(1.0, 0, "per step")
            .bound(Relation::AtMost)
            .ours(growth(&second)),
    ]
}

fn measured() -> Vec<Case> {
    let lab = WormParameters { cocoon_duration: 23.0, ..WormParameters::from_values(&central) };
    let matrix = WormRates::new(lab).chain_matrix(25.0, [9, 1, 1]);
    let passed = matrix[(1, 0)] / (matrix[(0, 0)] + matrix[(1, 0)]);
    let density = parse(Kind::ArealMass, "0.33 lb/ft2").unwrap_or(f64::NAN);
    vec![
        Case::of(
            "worms.incubation_mean",
            "venter_reinecke_1988",
            "nine sub-stages of a 23-day cocoon at 25 °C",
        )
        .printed(23.0, 0, "d")
        .ours(9.0 / passed),
        Case::of(
            "worms.incubation_spread",
            "venter_reinecke_1988",
            "standard deviation, read by eye from figure 4",
        )
        .printed(6.0, 1, "d")
        .ours((9.0 * (1.0 - passed)).sqrt() / passed),
        Case::of("worms.best_density", "ndegwa_2000", "0.33 lb/ft2, printed beside it in metric")
            .printed(1.60, 2, "kg/m2")
            .within(0.025, "0.33 has two digits")
            .ours(density),
    ]
}
