//! A site grown from bytes is run for a month at most, shown and drawn; the answer must be sound.
#![no_main]

use libfuzzer_sys::Corpus;
use libfuzzer_sys::fuzz_target;
use loamledger::quantity::Units;
use loamledger::report::chart::ChartBands;
use loamledger::report::chart::run_charts;
use loamledger::report::draw;
use loamledger::report::pages::plan::plan_text;
use loamledger::report::pages::run::run_text;
use loamledger::study::check::check;

#[path = "../it/properties/legal.rs"]
mod legal;
#[path = "../it/sound.rs"]
mod sound;

const BOUNDS: legal::Bounds = legal::Bounds { days: 30, steps_per_day: 3, beds: 2 };

fuzz_target!(|bytes: &[u8]| -> Corpus {
    let text = legal::scenario(bytes, BOUNDS).to_string();
    let plan = match sound::read(&text) {
        Ok(plan) => plan,
        Err(error) => {
            // figures of an own ingredient may contradict each other; all else is legal
            assert!(error.faults().iter().all(|f| f.key.starts_with("ingredients.")), "{error}\n{text}");
            return Corpus::Reject;
        }
    };
    let answer = sound::run(&plan);
    sound::owes_nothing(&plan);
    assert!(!run_text(&answer, Units::Si).is_empty());
    // drawing costs as much as running: some of the time
    if bytes.len() % 8 == 0 {
        let meaning = check(&plan).unwrap_or_else(|e| panic!("{e}"));
        assert!(!plan_text(&plan, &meaning, Units::Us).is_empty());
        let charts = run_charts(&answer, &ChartBands::default(), Units::Us);
        assert_eq!(draw::pictures(&charts).unwrap_or_else(|e| panic!("{e}")).len() % charts.len(), 0);
    }
    Corpus::Keep
});
