//! Every outside check has the expected result, and `tests/verification.md` holds the summary.

use loamledger::literature;
use loamledger::report::pages::verification::{summary_markdown, verification_text};
use loamledger::verification::{Area, Basis, GapKind, Verdict, VerificationAnswer, verify};
use std::collections::BTreeSet;
use std::process::Command;
use std::sync::LazyLock;

/// The summary as last printed.
const SUMMARY: &str = include_str!("../verification.md");

/// Made once: the draws take most of the time.
static ANSWER: LazyLock<VerificationAnswer> = LazyLock::new(|| verify().expect("every check can be made"));

fn answer() -> &'static VerificationAnswer {
    &ANSWER
}

#[test]
fn every_check_agrees_or_differs_as_stated() {
    let answer = answer();
    let broken: Vec<_> = answer.with(Verdict::Broken).map(|check| (check.case, check.difference)).collect();
    assert!(broken.is_empty(), "{broken:#?}");
    // at least thirty published figures, apart from those recalled, of trade practice, or derived here
    let own = ["recalled", "derived_here", "trade_practice"];
    let printed = answer.checks.iter().filter(|check| !own.contains(&check.case.source)).count();
    assert!(printed >= 30, "{printed}");
    let of_the_model = answer.on(Basis::Model).count();
    assert!(of_the_model >= 200, "{of_the_model}");
    for area in Area::ALL {
        assert!(answer.of(area).next().is_some(), "{} has no check", area.name());
    }
}

#[test]
fn nine_in_ten_kept_cases_hold_and_few_other_checks_of_beds_differ() {
    let kept = |key: &str| key.contains(".kept_");
    let all = &answer().checks;
    let (held, cases): (Vec<bool>, Vec<&str>) = (all.iter().filter(|check| kept(check.case.key)))
        .map(|check| (check.verdict == Verdict::Agrees, check.case.key))
        .unzip();
    let share = held.iter().filter(|held| **held).count() as f64 / cases.len() as f64;
    assert!(cases.len() >= 50 && share >= 0.9, "{share} of {}", cases.len());
    let others = |open: bool| {
        let gaps = all.iter().filter(|check| check.area == Area::Beds && !kept(check.case.key));
        gaps.filter_map(|check| check.case.gap).filter(|gap| (gap.kind == GapKind::Open) == open).count()
    };
    assert!(others(false) <= 10 && others(true) <= 5, "{} and {}", others(false), others(true));
}

#[test]
fn every_check_has_a_name_a_source_and_reasons() {
    let answer = answer();
    let keys: BTreeSet<&str> = answer.checks.iter().map(|check| check.case.key).collect();
    assert_eq!(keys.len(), answer.checks.len(), "every name is unique");
    for check in &answer.checks {
        let case = &check.case;
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == '.';
        assert!(case.key.chars().all(plain), "{}", case.key);
        assert!(literature::source(case.source).is_some(), "{} cites {}", case.key, case.source);
        assert!(!case.inputs.is_empty() && !case.why.is_empty(), "{}", case.key);
        assert!(case.printed.is_finite() && case.tolerance >= 0.0, "{}", case.key);
        // a tolerance of more than half of the figure proves nothing
        let wide = case.tolerance > 0.5 * case.printed.abs() + 1e-12;
        assert!(case.printed == 0.0 || check.verdict == Verdict::Differs || !wide, "{}", case.key);
    }
}

#[test]
fn the_stored_summary_is_the_one_printed() {
    let summary = summary_markdown(answer());
    assert_eq!(SUMMARY, summary, "write `loamledger verify --summary` to tests/verification.md");
}

#[test]
fn every_form_of_the_answer_holds_every_check() {
    let page = verification_text(answer());
    for check in &answer().checks {
        let (_, name) = check.case.key.split_once('.').expect("a name has an area");
        assert!(page.contains(&name.replace('_', " ")) && page.contains(check.case.source), "{name}");
    }
    assert!(!page.contains("BROKEN"));
    let as_json = serde_json::to_value(answer()).expect("JSON");
    assert_eq!(as_json["checks"].as_array().map(Vec::len), Some(answer().checks.len()));
    let output = Command::new(env!("CARGO_BIN_EXE_loamledger")).args(["verify", "--summary"]).output();
    let output = output.expect("the program runs");
    assert_eq!((output.status.code(), output.stderr.is_empty()), (Some(0), true));
    assert_eq!(String::from_utf8(output.stdout).expect("text"), summary_markdown(answer()));
}
