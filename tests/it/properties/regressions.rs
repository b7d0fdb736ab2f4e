//! Sites that once broke a rule, as scenarios: their meaning does not change when keys are added.

use super::plan;
use crate::sound;
use serde_json::Value;

/// `mended`: found by properties; `fuzzed`: found by fuzzing.
const ONCE_BROKEN: &str = include_str!("../../fixtures/once_broken.json");

fn sound_and_closed(list: &str, count: usize) {
    let all: Value = serde_json::from_str(ONCE_BROKEN).expect("JSON");
    let sites = all[list].as_array().expect("a list");
    assert_eq!(sites.len(), count);
    for site in sites {
        let plan = plan(site).unwrap_or_else(|| panic!("it could be read: {site}"));
        sound::run(&plan);
        sound::owes_nothing(&plan);
    }
}

#[test]
fn mended_sites_stay_mended() {
    sound_and_closed("mended", 7);
}

#[test]
fn sites_found_by_fuzzing_stay_mended() {
    sound_and_closed("fuzzed", 8);
}
