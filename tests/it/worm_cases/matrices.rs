//! Published matrices and life tables: V1 to V5.

use loamledger::process::projection::{MatrixAnalysis, doubling_steps, euler_lotka};
use nalgebra::{DMatrix, dmatrix};

use super::{lab, printed};
use loamledger::process::worm::WormRates;

/// Crouse, Crowder & Caswell 1987, Ecology 68:1412-1423: loggerhead turtles, 7 stages.
fn crouse() -> DMatrix<f64> {
    dmatrix![
        0.0, 0.0, 0.0, 0.0, 127.0, 4.0, 80.0;
        0.6747, 0.7370, 0.0, 0.0, 0.0, 0.0, 0.0;
        0.0, 0.0486, 0.6610, 0.0, 0.0, 0.0, 0.0;
        0.0, 0.0, 0.0147, 0.6907, 0.0, 0.0, 0.0;
        0.0, 0.0, 0.0, 0.0518, 0.0, 0.0, 0.0;
        0.0, 0.0, 0.0, 0.0, 0.8091, 0.0, 0.0;
        0.0, 0.0, 0.0, 0.0, 0.0, 0.8091, 0.8089
    ]
}

#[test]
fn v1_loggerhead_turtles() {
    let analysis = MatrixAnalysis::of(&crouse()).unwrap();
    // the paper prints 0.945; the further digits were computed by other code
    printed("lambda", analysis.growth, 0.945_031, 6);
    printed("r", analysis.log_growth(), -0.056_54, 5);
    for (i, (share, decimals)) in
        [(0.2065, 4), (0.6698, 4), (0.1146, 4), (0.0066, 4), (0.000_36, 5), (0.000_31, 5), (0.001_85, 5)]
            .into_iter()
            .enumerate()
    {
        printed("stable", analysis.stable[i], share, decimals);
    }
    for (i, (value, decimals)) in
        [(1.0, 9), (1.400_67, 5), (5.995_52, 5), (115.8445, 4), (568.781, 3), (507.373, 3), (587.669, 3)]
            .into_iter()
            .enumerate()
    {
        printed("reproductive value", analysis.value[i], value, decimals);
    }
    let fecundity = analysis.elasticities.row(0).sum();
    let stasis = analysis.elasticities.trace();
    printed("F", fecundity, 0.0510, 4);
    printed("P", stasis, 0.6674, 4);
    printed("G", analysis.elasticities.sum() - fecundity - stasis, 0.2816, 4);
    assert!((analysis.elasticities.sum() - 1.0).abs() < 1e-12);
}

#[test]
fn v2_killer_whales() {
    // Brault & Caswell 1993; Caswell 2001, Ex. 5.1. The last stage no longer breeds: the matrix is reducible.
    let analysis = MatrixAnalysis::of(&dmatrix![
        0.0, 0.0043, 0.1132, 0.0;
        0.9775, 0.9111, 0.0, 0.0;
        0.0, 0.0736, 0.9534, 0.0;
        0.0, 0.0, 0.0452, 0.9804
    ])
    .unwrap();
    printed("lambda", analysis.growth, 1.025_441, 6);
    for (i, share) in [0.0370, 0.3161, 0.3229, 0.3240].into_iter().enumerate() {
        printed("stable", analysis.stable[i], share, 4);
    }
    for (i, value) in [1.0, 1.0490, 1.5713, 0.0].into_iter().enumerate() {
        printed("reproductive value", analysis.value[i], value, 4);
    }
}

#[test]
fn v3_santadino_weekly() {
    // Santadino, Coviella & Momo 2014 (COMADRE 3.0.1): eggs, juveniles, adults of Eisenia fetida
    let control = MatrixAnalysis::of(&dmatrix![0.0, 0.0, 0.04; 1.0, 0.0, 0.0; 0.0, 1.0, 1.0]).unwrap();
    printed("control", control.growth, 1.037_183, 6);
    printed("doubling", control.doubling_steps().unwrap(), 18.986, 3);
    for (i, share) in [0.0359, 0.0346, 0.9296].into_iter().enumerate() {
        printed("stable", control.stable[i], share, 4);
    }
    let first = MatrixAnalysis::of(&dmatrix![0.0, 0.0, 1.70; 0.76, 0.0, 0.0; 0.0, 0.07, 0.07]).unwrap();
    printed("dose 1", first.growth, 0.473_458, 6);
    let second = MatrixAnalysis::of(&dmatrix![0.0, 0.0, 0.81; 0.84, 0.0, 0.0; 0.0, 0.04, 0.04]).unwrap();
    printed("dose 2", second.growth, 0.314_740, 6);
    assert!(first.doubling_steps().is_none());
}

/// Births, delay, deaths; r and its decimals; doubling.
type LifeTable = (f64, f64, f64, (f64, i32), f64);

#[test]
fn v4_euler_lotka_rows() {
    // table 2.2: Venter & Reinecke 1988 (three maturities, and as observed), Edwards, Reinecke & Viljoen, Siddique
    let venter = 0.35 * 0.73 * 2.7;
    let rows: [LifeTable; 9] = [
        (venter, 77.0, 0.0, (0.037_74, 5), 18.4),
        (venter, 67.0, 0.0, (0.041_83, 5), 16.6),
        (venter, 87.0, 0.0, (0.034_45, 5), 20.1),
        (venter, 93.0, 0.0, (0.032_76, 5), 21.2),
        (10.4 / 7.0, 117.0, 0.0, (0.032_63, 5), 21.2),
        (0.749, 77.0, 0.0, (0.038_53, 5), 18.0),
        // printed 0.01706; the root is 0.0170650, so the print is cut and not rounded
        (0.0635, 77.0, 0.0, (0.017_065_0, 7), 40.6),
        (0.0635, 95.0, 0.0, (0.015_11, 5), 45.9),
        (0.3449, 77.0, 0.005, (0.029_79, 5), 23.3),
    ];
    for (births, delay, deaths, (rate, decimals), doubling) in rows {
        let root = euler_lotka(births, delay, deaths).unwrap();
        printed(&format!("r for F = {births}, a = {delay}"), root, rate, decimals);
        printed("doubling", doubling_steps(root.exp()).unwrap(), doubling, 1);
    }
    printed("lambda per day", euler_lotka(venter, 77.0, 0.0).unwrap().exp(), 1.038_46, 5);
    printed("lambda per week", (7.0 * euler_lotka(venter, 77.0, 0.0).unwrap()).exp(), 1.3023, 4);
}

#[test]
fn v5_four_stage_matrix() {
    let analysis = MatrixAnalysis::of(&dmatrix![
        0.95556, 0.0, 0.0, 0.35;
        0.08561, 0.96377, 0.0, 0.0;
        0.0, 0.03323, 0.95642, 0.0;
        0.0, 0.0, 0.04158, 0.998
    ])
    .unwrap();
    // entries are rounded to five decimals, so lambda is asked for to 1e-5 only
    assert!((analysis.growth - 1.050_848).abs() < 1e-5, "{}", analysis.growth);
    assert!((analysis.log_growth() - 0.049_60).abs() < 1e-5, "{}", analysis.log_growth());
    printed("doubling", analysis.doubling_steps().unwrap(), 13.98, 2);
    printed("weekly", analysis.growth.powi(7), 1.415_075, 4);
    for (i, share) in [0.3844, 0.3779, 0.1330, 0.1047].into_iter().enumerate() {
        printed("stable", analysis.stable[i], share, 4);
    }
    for (i, value) in [1.0, 1.1130, 2.9164, 6.6228].into_iter().enumerate() {
        // derived from entries with four or five significant digits
        assert!((analysis.value[i] - value).abs() < 2e-4 * value, "{}", analysis.value[i]);
    }
    for (i, stasis) in [0.1853, 0.2045, 0.1872, 0.3490].into_iter().enumerate() {
        printed("stasis", analysis.elasticities[(i, i)], stasis, 4);
    }
    for (row, column) in [(1, 0), (2, 1), (3, 2), (0, 3)] {
        printed("growth or fertility", analysis.elasticities[(row, column)], 0.018_48, 5);
    }
    assert!((analysis.elasticities.sum() - 1.0).abs() < 1e-12);
}

#[test]
fn v5_is_the_one_class_form_of_the_lab_set() {
    let matrix = WormRates::new(lab()).one_class_matrix(25.0);
    let rows = dmatrix![
        0.95556, 0.0, 0.0, 0.35;
        0.08561, 0.96377, 0.0, 0.0;
        0.0, 0.03323, 0.95642, 0.0;
        0.0, 0.0, 0.04158, 0.998
    ];
    // printed to five decimals; the first entry, 0.955565, was cut and not rounded
    assert!((&matrix - rows).amax() < 1e-5);
    // with unrounded entries lambda is the printed one to its last digit
    printed("lambda", MatrixAnalysis::of(&matrix).unwrap().growth, 1.050_848, 6);
}
