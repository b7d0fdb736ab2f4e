//! Every warning, raised by a scenario.

use crate::sound;
use loamledger::scenario::varied;
use loamledger::study::answer::RunAnswer;
use loamledger::warning::{Spell, Warning};
use std::path::Path;

/// Runs a worked site with keys set, in turn.
fn run(site: &str, changes: &[(&str, &str)]) -> RunAnswer {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(site).with_extension("json");
    let start = std::fs::read_to_string(path).expect("a worked site");
    let text = changes.iter().fold(start, |text, (key, value)| {
        varied(site, &text, key, value).unwrap_or_else(|e| panic!("{key} = {value}: {e}"))
    });
    sound::run(&sound::read(&text).unwrap_or_else(|e| panic!("{e}")))
}

/// The days of a site's warning of this code.
fn spell(answer: &RunAnswer, code: &str) -> Option<Spell> {
    answer.warnings.iter().find(|w| w.code == code).and_then(|w| w.warning.spell().copied())
}

const HALL: &str = "harbour_hall";

#[test]
fn castings_that_cannot_dry_are_reported() {
    // without a floor nothing dries, so nothing is screened or sold
    let wet = run(HALL, &[("screen.drying_days", "null"), ("screen.drying_area", "0")]);
    assert!(wet.products.iter().all(|p| p.amounts.wet <= 0.0));
    let short = spell(&wet, "drying_short").expect("no castings are sold, and nothing says why");
    // the first harvest is on day 150, and castings may take 30 days to dry
    let day = |n: usize| wet.daily[n].date;
    assert!(short.first >= day(180) && short.first <= day(190), "{short:?}");
    let most = wet.daily.iter().map(|d| d.castings_drying).fold(0.0, f64::max);
    assert!((short.worst - most).abs() < 1e-9 && most > 1000.0, "{short:?}");
    assert_eq!(spell(&run(HALL, &[]), "drying_short"), None);
}

#[test]
fn a_screen_that_is_too_slow_is_reported() {
    for rate in ["2", "0"] {
        let slow = run(HALL, &[("screen.rate", rate)]);
        let waiting = spell(&slow, "screen_bottleneck").expect("castings wait, and nothing says so");
        let most = slow.daily.iter().map(|d| d.castings_waiting).fold(0.0, f64::max);
        assert!((waiting.worst - most).abs() < 1e-6, "{waiting:?}");
        assert!(waiting.days > 100, "{waiting:?}");
    }
    assert_eq!(spell(&run(HALL, &[]), "screen_bottleneck"), None);
}

#[test]
fn drums_past_their_age_are_reported_with_their_days_and_age() {
    // a grinder without hours opens no drum; the first is sealed within a day or two
    let answer = run(HALL, &[("grinder.hours", "0"), ("days", "120")]);
    let Some(Warning::DrumsPastMaximum { maximum_days, spell }) =
        answer.warnings.iter().map(|w| &w.warning).find(|w| w.code() == "drums_past_maximum")
    else {
        panic!("drums are 120 days old, and nothing says so")
    };
    let sealed = answer.daily.iter().position(|d| d.oldest_drum > 0.0).expect("drums are sealed") - 1;
    let over = sealed + 84 + 1;
    assert!((maximum_days - 84.0).abs() < 1e-12);
    assert_eq!(spell.first, answer.daily[over].date);
    assert_eq!(spell.days as usize, answer.days - over);
    assert!((spell.worst - (answer.days - 1 - sealed) as f64).abs() < 1e-12, "{spell:?}");
}
