//! Finer steps of the bed change a year by little, and the error falls as the order of the method says.
//!
//! The bed splits worms, decay, water and heat (first order). Watering, feeding and harvest are decisions that a finer step
//! may move by a day, so single figures of a worked site jump about the line of first order; a site without such
//! decisions shows the order clean.

use super::{eaten, flow, held, run, within};
use loamledger::study::answer::RunAnswer;

const SITE: &str = "harbour_hall";
const STEPS: [&str; 5] = ["1", "2", "4", "8", "32"];

type Figure = fn(&RunAnswer) -> f64;

/// Errors of a figure at 1, 2, 4 and 8 steps a day against 32, relative.
fn errors(runs: &[RunAnswer], of: Figure) -> Vec<f64> {
    let fine = of(runs.last().expect("runs"));
    runs[..runs.len() - 1].iter().map(|a| (of(a) / fine - 1.0).abs()).collect()
}

/// Order by least squares of log error on log step.
fn order(errors: &[f64]) -> f64 {
    let n = errors.len() as f64;
    let points: Vec<(f64, f64)> = errors.iter().enumerate().map(|(i, e)| (-(i as f64), e.log2())).collect();
    let (x, y) = points.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0 / n, s.1 + p.1 / n));
    let (xy, xx) =
        points.iter().fold((0.0, 0.0), |s, p| (s.0 + (p.0 - x) * (p.1 - y), s.1 + (p.0 - x).powi(2)));
    xy / xx
}

#[test]
fn halving_the_step_hardly_changes_a_year() {
    let runs: Vec<RunAnswer> = STEPS.iter().map(|n| run(SITE, &[("steps_per_day", n)])).collect();
    let figures: [(&str, Figure, f64); 6] = [
        ("castings", |a| flow(a, "castings_harvested").dry, 0.01),
        ("carbon to the air", |a| flow(a, "bed_gas").carbon, 0.006),
        ("stock at the end", |a| a.stock.end.total, 0.02),
        ("stock change", |a| a.stock.end.total - a.stock.bought, 0.05),
        ("eaten", eaten, 0.01),
        // nitrification, volatilisation and denitrification pass ammonia on within hours: one step a day loses a tenth
        ("nitrogen to the air", |a| flow(a, "bed_gas").nitrogen, 0.15),
    ];
    for (name, of, bound) in figures {
        let errors = errors(&runs, of);
        within(name, errors[0], 0.0, bound);
        within(name, errors[3], 0.0, 0.2 * bound);
        // an error of some hundredths of a per cent is that of decisions that move by a day
        if errors[0] > 1e-3 {
            within(&format!("order of {name}: {errors:?}"), order(&errors), 0.6, 3.0);
        }
    }
}

#[test]
fn a_site_without_daily_decisions_converges_with_first_order() {
    // no season, no harvest, one bed, a ration that leaves nothing uneaten: the same decisions at every step
    let quiet = |n: &str| {
        run(
            SITE,
            &[
                ("steps_per_day", n),
                ("climate.seasonal_swing", "0"),
                ("harvest", r#"{"every_days": 3000, "first_day": 3000}"#),
                ("beds.count", "1"),
                ("beds.area", "540"),
                ("beds.leaching", "0"),
                ("beds.depth", "3"),
                ("feeding.ration", "0.1"),
                // dry enough never to drain: drainage of a day depends on the watering of that morning
                ("beds.moisture_band", "[0.72, 0.8]"),
            ],
        )
    };
    let runs: Vec<RunAnswer> = ["2", "4", "8", "16"].iter().map(|n| quiet(n)).collect();
    let figures: [(&str, Figure); 3] = [
        ("nitrogen to the air", |a| flow(a, "bed_gas").nitrogen),
        ("stock at the end", |a| a.stock.end.total),
        ("eaten", eaten),
    ];
    // what is left of two losses of opposite error, nitrogen of the bed, has no order of its own but hardly moves
    let left: Vec<f64> = runs.iter().map(|a| held(a, "beds").1.nitrogen).collect();
    assert!(left.windows(2).all(|v| (v[0] / v[1] - 1.0).abs() < 0.01), "{left:?}");
    for (name, of) in figures {
        let v: Vec<f64> = runs.iter().map(of).collect();
        // halving: successive differences of a first-order method stand 2 to 1; the longest steps add parts of second order
        let ratios = [(v[0] - v[1]) / (v[1] - v[2]), (v[1] - v[2]) / (v[2] - v[3])];
        // nitrogen leaves as ammonia and as dinitrogen, whose errors cancel at the longest steps
        if name != "nitrogen to the air" {
            within(&format!("{name}: {v:?}"), ratios[0], 1.2, 10.0);
        }
        within(&format!("{name}: {v:?}"), ratios[1], 1.0, 3.6);
    }
}
