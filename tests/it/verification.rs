//! Every outside check comes out as it should, and the page in DEVELOPERS.md says so.

use loamledger::literature;
use loamledger::report::pages::verification::summary_markdown;
use loamledger::verification::{Area, Verdict, VerificationAnswer, verify};
use std::collections::BTreeSet;
use std::process::Command;

const DEVELOPERS: &str = include_str!("../../DEVELOPERS.md");
/// Lines around the summary in DEVELOPERS.md.
const MARKS: [&str; 2] =
    ["<!-- verification: loamledger verify --summary -->\n\n", "\n<!-- end of verification -->"];

fn answer() -> VerificationAnswer {
    verify().expect("every check can be made")
}

#[test]
fn every_check_agrees_or_differs_as_stated() {
    let answer = answer();
    let broken: Vec<_> = answer.with(Verdict::Broken).map(|check| (check.case, check.difference)).collect();
    assert!(broken.is_empty(), "{broken:#?}");
    // at least thirty figures somebody else has printed, apart from those recalled, of practice, or worked here
    let own = ["recalled", "derived_here", "trade_practice"];
    let printed = answer.checks.iter().filter(|check| !own.contains(&check.case.source)).count();
    assert!(printed >= 30, "{printed}");
    for area in Area::ALL {
        assert!(answer.of(area).next().is_some(), "nothing is checked of {}", area.name());
    }
}

#[test]
fn every_check_has_a_name_a_source_and_grounds() {
    let answer = answer();
    let keys: BTreeSet<&str> = answer.checks.iter().map(|check| check.case.key).collect();
    assert_eq!(keys.len(), answer.checks.len(), "a name stands twice");
    for check in &answer.checks {
        let case = &check.case;
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_' || c == '.';
        assert!(case.key.chars().all(plain), "{}", case.key);
        assert!(literature::source(case.source).is_some(), "{} cites {}", case.key, case.source);
        assert!(!case.inputs.is_empty() && !case.why.is_empty(), "{}", case.key);
        assert!(case.printed.is_finite() && case.tolerance >= 0.0, "{}", case.key);
        // agreement within more than half of the figure tells nothing
        let wide = case.tolerance > 0.5 * case.printed.abs() + 1e-12;
        assert!(case.printed == 0.0 || check.verdict == Verdict::Differs || !wide, "{}", case.key);
    }
}

#[test]
fn the_page_for_developers_says_what_the_checks_say() {
    let (_, rest) = DEVELOPERS.split_once(MARKS[0]).expect("the page has a place for the summary");
    let (told, _) = rest.split_once(MARKS[1]).expect("the place has an end");
    let summary = summary_markdown(&answer());
    assert_eq!(told, summary, "print it anew with `loamledger verify --summary`");
}

#[test]
fn the_program_prints_every_check() {
    let run = |arguments: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_loamledger")).args(arguments).output();
        let output = output.expect("the program runs");
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
        assert!(output.stderr.is_empty());
        String::from_utf8(output.stdout).expect("text")
    };
    let page = run(&["verify"]);
    for check in &answer().checks {
        let (_, name) = check.case.key.split_once('.').expect("a name has an area");
        assert!(page.contains(name) && page.contains(check.case.source), "{name}");
    }
    assert!(!page.contains("BROKEN"));
    let told: serde_json::Value = serde_json::from_str(&run(&["verify", "--json"])).expect("JSON");
    assert_eq!(told["checks"].as_array().map(Vec::len), Some(answer().checks.len()));
    assert_eq!(run(&["verify", "--summary"]), summary_markdown(&answer()));
}
