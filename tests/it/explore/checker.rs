//! The accessibility checker axe-core, which `.ci/run` installs beside the tests. It is no part of the program.

use super::chromium::{Chromium, Tab};
use super::school;
use crate::cli::loamledger;
use serde_json::Value;
use std::path::Path;
use std::{env, fs};

/// What is asked of a page: the success criteria of WCAG 2.2 at levels A and AA, and usual practice. Answers what was found and what was
/// looked at.
const ASK: &str = "axe.run(document, {
    runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
    resultTypes: ['violations', 'passes'],
}).then(({ violations, passes }) => ({
    found: violations.flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.target.join(' ')}: ${node.failureSummary}`)),
    passed: passes.map(({ id }) => id),
}))";

/// The script of the checker. `None` if it is not installed, which is a failure in CI.
#[expect(clippy::print_stderr, reason = "a test that checks less says so")]
fn script() -> Option<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/accessibility");
    let script = fs::read_to_string(folder.join("node_modules/axe-core/axe.min.js")).ok();
    if script.is_none() {
        let missing =
            "the accessibility checker is not installed (`npm ci` in tests/accessibility installs it)";
        assert!(env::var_os("CI").is_none(), "{missing}");
        eprintln!("{missing}: pages were opened without it");
    }
    script
}

#[test]
fn pages_to_hand_over_and_to_pin_up_raise_no_barrier() {
    let Some(mut browser) = Chromium::start() else { return };
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("school.json"), school(60)).expect("written");
    for asked in [
        ["proposal", "school.json", "--out", ".", "--draws", "3"],
        ["rounds", "school.json", "--out", ".", "--days", "7"],
    ] {
        let made = loamledger(folder.path(), &asked);
        assert!(made.status.code().is_some_and(|status| status < 2), "{made:?}");
    }
    for page in ["proposal.html", "rounds.html"] {
        let address = format!("file://{}", folder.path().join(page).display());
        let tab = browser.open(&address, 1200, false);
        finds_nothing(&mut browser, &tab, page);
    }
    assert!(browser.complaints.is_empty(), "{:?}", browser.complaints);
}

/// Runs the checker over a page as it stands.
pub(super) fn finds_nothing(browser: &mut Chromium, tab: &Tab, page: &str) {
    let Some(script) = script() else { return };
    if browser.evaluate(tab, "typeof axe") == "undefined" {
        browser.evaluate(tab, &format!("{script};true"));
    }
    let answer = browser.evaluate(tab, ASK);
    let texts = |key: &str| -> Vec<String> {
        let list = answer[key].as_array().expect("a list");
        list.iter().filter_map(Value::as_str).map(str::to_owned).collect()
    };
    let (found, passed) = (texts("found"), texts("passed"));
    assert!(found.is_empty(), "{page}:\n{}", found.join("\n"));
    // a checker that looked at nothing would find nothing
    assert!(passed.iter().any(|rule| rule == "color-contrast"), "{page}: {passed:?}");
}
