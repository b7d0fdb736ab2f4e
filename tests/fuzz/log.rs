//! Any bytes as the log of a site: the reader yields lines, or errors that can be shown. Its lines written down again read the same, and
//! stand beside the model.
#![no_main]

use libfuzzer_sys::fuzz_target;
use loamledger::quantity::Units;
use loamledger::report::pages::log::log_text;
use loamledger::scenario::log::{Log, LogLine, LogPlace, read_log};
use loamledger::scenario::{Plan, ScenarioError, parse};
use loamledger::study::log::against;
use std::fmt::Write;
use std::sync::LazyLock;

static PLAN: LazyLock<Plan> = LazyLock::new(|| {
    parse("small_site.json", include_str!("small_site.json")).unwrap_or_else(|e| panic!("{e}"))
});

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let read = match read_log(&PLAN, "site.csv", text) {
        Ok(read) => read,
        Err(error) => return shown(&error),
    };
    let wrong = read.faults.as_ref().map_or(0, |error| error.faults().len());
    read.faults.iter().for_each(shown);
    let written = written(&read.log);
    let again = read_log(&PLAN, "again.csv", &written).unwrap_or_else(|e| panic!("{e}\n{written}"));
    assert_eq!(again.faults.map(|e| e.to_string()), None, "{written}");
    assert_eq!(unnumbered(&again.log.lines), unnumbered(&read.log.lines), "{written}");
    // two runs cost more than many readings: some of the time
    if bytes.len().is_multiple_of(8) {
        let answer = against(&PLAN, &read.log, wrong).unwrap_or_else(|e| panic!("{e}\n{written}"));
        assert!(!log_text(&answer, Units::Us).is_empty());
    }
});

fn shown(error: &ScenarioError) {
    assert!(!error.render(false).is_empty());
    assert!(!error.render(true).is_empty());
}

/// The lines of a log as a file.
fn written(log: &Log) -> String {
    let mut text = "date,what,value,unit,where,note\n".to_owned();
    for line in &log.lines {
        let (place, note) = (quoted(&place(&line.place)), quoted(&line.note));
        let _ = writeln!(text, "{},{},{},,{place},{note}", line.date, line.kind.row().word, line.value);
    }
    text
}

/// The name of a place; empty for the whole site, all beds and the bed in turn.
fn place(place: &LogPlace) -> String {
    match place {
        LogPlace::Site | LogPlace::InTurn => String::new(),
        LogPlace::Stream(stream) => PLAN.streams[*stream].name.clone(),
        LogPlace::Beds(beds) => {
            let named: Vec<(&str, String)> = PLAN.bed_names().collect();
            match beds.len() {
                1 => named[beds.start].1.clone(),
                all if all == named.len() => String::new(),
                _ => named[beds.start].0.to_owned(),
            }
        }
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

fn unnumbered(lines: &[LogLine]) -> Vec<LogLine> {
    lines.iter().map(|line| LogLine { line: 0, ..line.clone() }).collect()
}
