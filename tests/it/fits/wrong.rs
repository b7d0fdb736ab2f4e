//! Models that are wrong in a way no unknown covers: the verdict says so, or the setting becomes an unknown and is found.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use super::twin::{Keeping, TWINS, twin};
use super::{QUICK, fitted, scenario};
use loamledger::scenario::parse;
use loamledger::study::fit::FitQuestion;
use loamledger::study::fit::answer::{FitAnswer, FitVerdict, Misfit};
use serde_json::{Value, json};
use std::fmt::Write;

/// What the scenario has wrong.
struct Wrong {
    name: &'static str,
    /// Place in the scenario and value of the truth.
    truth: Option<(&'static str, Value)>,
    /// What the scale at the gate shows of a kilogram.
    gate: f64,
    /// What the thermometer of the bed room shows above the truth, K; `None` if neither room has one.
    thermometers: Option<f64>,
    /// A setting that may be an unknown: its key, its true value and the shape of its range, which is that of the table.
    setting: Option<(&'static str, f64, &'static str)>,
}

/// The four errors of the model that a fit must not hide; the warm room once with a thermometer that is wrong and once without one.
fn errors() -> [Wrong; 5] {
    let right = || Wrong { name: "", truth: None, gate: 1.0, thermometers: Some(0.0), setting: None };
    [
        Wrong { name: "scraps are weighed 15 % low", gate: 0.85, ..right() },
        Wrong {
            name: "the bed room is 3 K warmer than read",
            thermometers: Some(-3.0),
            setting: Some(("site.bed_room_offset", 3.0, "normal")),
            ..right()
        },
        Wrong {
            name: "the bed room is 3 K warmer than planned, not read",
            truth: Some(("/climate/bed_room/warmer_than_outdoors", json!(6))),
            thermometers: None,
            setting: Some(("site.bed_room_offset", 3.0, "normal")),
            ..right()
        },
        Wrong {
            name: "drums are filled at 600, not 700 kg/m3",
            truth: Some(("/drums/settled_density", json!(600))),
            setting: Some(("site.drum_contents_factor", 600.0 / 700.0, "lognormal")),
            ..right()
        },
        Wrong {
            name: "a harvest takes 0.4, not 0.5 of the castings",
            truth: Some(("/harvest/share", json!(0.4))),
            setting: Some(("site.harvest_factor", 0.8, "lognormal")),
            ..right()
        },
    ]
}

/// A site, how long it runs and is logged, and how its log is fitted.
struct Trial {
    beds: u32,
    days: u32,
    log: usize,
    question: FitQuestion,
}

impl Trial {
    fn log(&self, wrong: &Wrong, number: u64) -> String {
        let mut truth: Value = serde_json::from_str(&scenario(self.beds, self.days, &[])).unwrap();
        if let Some((place, value)) = &wrong.truth {
            *truth.pointer_mut(place).unwrap() = value.clone();
        }
        let keeping = Keeping { days: self.log, gate: wrong.gate, thermometers: wrong.thermometers };
        twin(&parse("truth", &truth.to_string()).unwrap(), (TWINS, number), keeping).log
    }

    /// The log fitted by the scenario as it is, or with a setting as an unknown.
    fn fitted(&self, log: &str, setting: Option<(&str, f64, &str)>) -> FitAnswer {
        let rates = setting.map_or(json!({}), |(key, _, shape)| {
            let range = loamledger::literature::entry(key).unwrap().value;
            json!({ key: { "central": range.central(), "low": range.low(), "high": range.high(), "shape": shape } })
        });
        let text = scenario(self.beds, self.days, &[("rates", rates)]);
        fitted(&parse("site", &text).unwrap(), &text, log, &self.question).answer
    }
}

/// Whether the fit reaches the log and has no doubt of it.
fn is_reached(answer: &FitAnswer) -> bool {
    !matches!(answer.verdict, FitVerdict::NotReached { .. }) && answer.in_doubt().next().is_none()
}

/// Whether the fit reaches the log, its band of the setting holds the truth, and its median is so many times nearer to it than before.
fn is_cured(answer: &FitAnswer, (key, truth, _): (&str, f64, &str), times: f64) -> bool {
    let unknown = answer.unknowns.iter().find(|unknown| unknown.key == key).unwrap();
    let is_nearer = times * (unknown.after[1] - truth).abs() < (unknown.before[1] - truth).abs();
    is_reached(answer) && is_nearer && (unknown.after[0]..=unknown.after[2]).contains(&truth)
}

/// Verdict, misfits and, if it is an unknown, the setting.
fn summary(name: &str, answer: &FitAnswer, setting: Option<(&str, f64, &str)>) -> String {
    let mut text = format!("  {name}: {:?}\n   ", answer.verdict);
    for kind in &answer.kinds {
        let Misfit { after, beyond, nearest, limit, .. } = kind.misfit;
        write!(text, " {:?} {after:.2}/{beyond:.2}/{nearest:.2}/{limit:.2};", kind.what).unwrap();
    }
    if let Some((key, truth, _)) = setting {
        let unknown = answer.unknowns.iter().find(|unknown| unknown.key == key);
        let [before, after] = unknown.map(|unknown| [unknown.before, unknown.after]).unwrap();
        write!(text, "\n    {key} {truth:.3}: {before:.3?} before, {after:.3?} after").unwrap();
    }
    text
}

#[test]
fn a_wrong_model_is_not_reached_or_its_setting_is_found() {
    let trial = Trial { beds: 1, days: 160, log: 140, question: QUICK };
    for wrong in errors() {
        let answer = trial.fitted(&trial.log(&wrong, 0), wrong.setting);
        println!("{}", summary(wrong.name, &answer, wrong.setting));
        match wrong.setting {
            Some(setting) => assert!(is_cured(&answer, setting, 2.0), "{}: {:?}", wrong.name, answer.verdict),
            None => assert!(!is_reached(&answer), "{}: {:?}", wrong.name, answer.misfit),
        }
    }
}

/// As above, on more twins and at the usual settings of a fit; `TWINS` is their number.
#[test]
#[ignore = "takes ten minutes"]
fn wrong_models_of_some_twins_are_not_reached_or_their_settings_are_found() {
    let question = FitQuestion { prior: 5000, members: 200, steps: 4, forecast: 60, seed: 3, threads: 2 };
    let trial = Trial { beds: 4, days: 260, log: 200, question };
    let count: u64 = std::env::var("TWINS").ok().and_then(|count| count.parse().ok()).unwrap_or(4);
    let mut missed = 0;
    for number in 0..count {
        println!("twin {number}");
        for wrong in errors() {
            let log = trial.log(&wrong, number);
            let planned = trial.fitted(&log, None);
            println!("{}", summary(wrong.name, &planned, None));
            let is_found = !is_reached(&planned)
                || wrong.setting.is_some_and(|setting| {
                    let answer = trial.fitted(&log, Some(setting));
                    println!("{}", summary("with the setting unknown", &answer, Some(setting)));
                    // rates can imitate a setting, so that its median may stop on the way
                    is_cured(&answer, setting, 1.0)
                });
            missed += u64::from(!is_found);
            println!("    {}", if is_found { "flagged or cured" } else { "missed" });
        }
    }
    // a band of nine in ten misses one in ten
    assert!(missed <= count.div_ceil(2), "{missed} of {count} twins with five errors each");
}
