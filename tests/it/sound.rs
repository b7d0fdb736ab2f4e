//! What every answer must be, whatever the site: balanced, with numbers everywhere, and never less than nothing.

use loamledger::scenario::{Plan, ScenarioError, assemble, parse, varied};
use loamledger::study::answer::RunAnswer;
use loamledger::trace::CLOSURE_TOLERANCE;
use loamledger::{chain, study};
use serde_json::Value;
use std::path::Path;

/// Reads the text of a scenario against the library.
pub(crate) fn read(text: &str) -> Result<Plan, ScenarioError> {
    parse("variant.json", text)
}

/// Runs a plan; the answer must be sound.
pub(crate) fn run(plan: &Plan) -> RunAnswer {
    let answer = study::run(plan).unwrap_or_else(|e| panic!("{e}"));
    closes(&answer);
    let json = serde_json::to_value(&answer).expect("an answer is data");
    all_finite(&json);
    none_negative(&json);
    answer
}

/// Runs a worked site with keys set, in turn; the answer must be sound.
pub(crate) fn run_varied(site: &str, changes: &[(&str, &str)]) -> RunAnswer {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(site).with_extension("json");
    let start = std::fs::read_to_string(path).expect("a worked site");
    let text = changes.iter().fold(start, |text, (key, value)| {
        varied(site, &text, key, value).unwrap_or_else(|e| panic!("{key} = {value}: {e}"))
    });
    run(&read(&text).unwrap_or_else(|e| panic!("{e}")))
}

/// Every component that a stage holds at the end is there or not, never owed.
pub(crate) fn owes_nothing(plan: &Plan) {
    let (site, models) = assemble(plan).unwrap_or_else(|e| panic!("{e}"));
    let trace = chain::run(&site, &models, chain::Keep::Beds).unwrap_or_else(|e| panic!("{e}"));
    for held in &trace.held {
        for matter in [&held.start, &held.end] {
            let least = -NOTHING * matter.largest();
            assert!(matter.smallest() >= least, "{} holds {:?}", held.holder, matter.0);
        }
    }
}

/// Rounding leaves less than this of the largest number beside it.
const NOTHING: f64 = 1e-9;

/// Every holder and day closes (the run stops otherwise), and so does each element over the gate.
pub(crate) fn closes(answer: &RunAnswer) {
    let balance = &answer.balance;
    let residual = balance.largest_relative_residual;
    assert!((0.0..=CLOSURE_TOLERANCE).contains(&residual), "{residual:e}");
    assert_eq!(balance.elements.len(), 8);
    // what is held by the ton and hardly moves is known to the last bits of the tons
    let held: f64 = balance.held.iter().map(|h| h.start.wet.max(h.end.wet)).sum();
    for e in &balance.elements {
        let scale = e.into_site.abs() + e.out_of_site.abs() + e.change.abs() + 1e-4 * held;
        let gap = e.into_site - e.out_of_site - e.change;
        assert!(gap.abs() <= CLOSURE_TOLERANCE * scale.max(1e-6), "{}: {gap:e} of {scale:e} kg", e.element);
    }
}

/// Figures of the site that may be absent: not in the plan, without intake or product, or with no such rate or year.
const SITE_OPTIONS: [&str; 12] = [
    ".site.floor.have",
    ".site.floor.load_limit",
    ".site.labour.have",
    ".site.labour.per_tonne",
    ".site.water.per_scraps",
    ".site.water.tank_of_plan",
    ".site.money",
    ".site.money.internal_rate",
    ".site.money.payback",
    ".site.money.discounted_payback",
    ".site.money.cost_per_tonne",
    ".site.money.cost_per_cubic_metre",
];

/// Every number of the answer is finite: JSON has no other, they would be written as null.
pub(crate) fn all_finite(answer: &Value) {
    let mut nulls = Vec::new();
    visit(answer, "", &mut |path, value| {
        if value.is_null() {
            nulls.push(path.to_owned());
        }
    });
    // what may be absent: documented as Option in the answer
    let allowed = |path: &str| {
        // the settled year has the figures of a run
        let of_the_run = path.strip_prefix(".later_years.last").filter(|rest| rest.starts_with(".site."));
        let path = of_the_run.unwrap_or(path);
        path == ".later_years.last"
            || [".first"].iter().any(|end| path.ends_with(end))
            || path.ends_with(".settled")
            || [
                "opened_ph",
                "opened_age",
                "batches",
                "liquor_quality",
                "place",
                "goes_on_from",
                "as_it_stands",
                "quality",
                "value",
                "below_4_mm",
            ]
            .iter()
            .any(|name| path.ends_with(name))
            || path.contains(".allowed[")
            || path.contains(".warning")
            || SITE_OPTIONS.contains(&path)
    };
    nulls.retain(|path| !allowed(path));
    assert!(nulls.is_empty(), "no number at {nulls:?}");
}

/// Coldest weather there can be, the coldest mean less the largest swing and more.
const COLDEST: f64 = -70.0;
/// Hotter than any heap of scraps: decay ends at 80 °C.
const HOTTEST: f64 = 100.0;

/// Amounts, counts, shares and pH are not below nothing, but for rounding; temperatures are on this earth.
///
/// Left out: the net growth of worms, which starving turns; gases, where oxygen is taken in; change, site and money.
fn none_negative(answer: &Value) {
    let mut wrong = Vec::new();
    let mut scale = 0.0_f64;
    for part in ["streams", "bran", "drums", "grinder", "beds", "stock", "products", "daily", "bed_daily"] {
        visit(&answer[part], part, &mut |path, value| {
            let Some(number) = value.as_f64() else { return };
            scale = scale.max(number);
            if path.contains("temperature") || path.contains("hottest") {
                assert!((COLDEST..HOTTEST).contains(&number), "{path}: {number} degrees");
            } else if number < 0.0 {
                wrong.push((path.to_owned(), number));
            }
        });
    }
    for flow in answer["balance"]["flows"].as_array().expect("a list") {
        let free = flow["to"] == "air" || flow["flow"] == "worm_growth";
        visit(&flow["amounts"], flow["flow"].as_str().unwrap_or(""), &mut |path, value| {
            let number = value.as_f64().unwrap_or(0.0);
            scale = scale.max(number);
            if number < 0.0 && !free {
                wrong.push((path.to_owned(), number));
            }
        });
    }
    wrong.retain(|(_, number)| *number < -NOTHING * scale);
    assert!(wrong.is_empty(), "below nothing: {wrong:?}, the largest number is {scale}");
}

/// Calls `at` with the key path of each value that holds no others.
fn visit(value: &Value, path: &str, at: &mut dyn FnMut(&str, &Value)) {
    match value {
        Value::Array(list) => {
            for (n, inner) in list.iter().enumerate() {
                visit(inner, &format!("{path}[{n}]"), at);
            }
        }
        Value::Object(map) => {
            for (key, inner) in map {
                visit(inner, &format!("{path}.{key}"), at);
            }
        }
        value => at(path, value),
    }
}
