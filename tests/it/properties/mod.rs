//! What holds for any legal scenario. `PROPTEST_CASES=2000` tries more than the usual few.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_possible_wrap,
    reason = "small numbers grown from bytes"
)]

mod legal;
mod regressions;
mod scale;

use crate::sound;
use loamledger::chain::{self, Chain};
use loamledger::scenario::{Plan, assemble};
use loamledger::study::answer::RunAnswer;
use loamledger::study::run_saving;
use loamledger::trace::DayRecord;
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use serde_json::{Value, json};
use std::{env, fmt};

/// Small enough for many cases in a second.
const BOUNDS: legal::Bounds = legal::Bounds { days: 45, steps_per_day: 2, beds: 2 };

/// So many cases, or as many as the environment asks for. Failing bytes are printed, not kept: they become tests of their own.
fn cases(usual: u32) -> ProptestConfig {
    let asked = env::var("PROPTEST_CASES").ok().and_then(|text| text.parse().ok());
    ProptestConfig {
        cases: asked.unwrap_or(usual),
        failure_persistence: Some(Box::new(FileFailurePersistence::Off)),
        ..ProptestConfig::default()
    }
}

/// Bytes enough to make every choice of a site, shown in one line.
#[derive(Clone)]
struct Bytes(Vec<u8>);

impl fmt::Debug for Bytes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.0)
    }
}

fn bytes() -> impl Strategy<Value = Bytes> {
    prop::collection::vec(any::<u8>(), 0..700).prop_map(Bytes)
}

/// The plan of a grown site; none where its own ingredient contradicts itself, the only fault it may have.
fn plan(site: &Value) -> Option<Plan> {
    match sound::read(&site.to_string()) {
        Ok(plan) => Some(plan),
        Err(error) => {
            let own = error.faults().iter().all(|f| f.key.starts_with("ingredients."));
            assert!(own && !error.faults().is_empty(), "a grown site is legal: {error}\n{site}");
            None
        }
    }
}

/// A site grown from bytes.
fn grown(bytes: &Bytes) -> Value {
    legal::scenario(&bytes.0, BOUNDS)
}

fn turned_away(answer: &RunAnswer) -> f64 {
    answer.streams.iter().map(|s| s.turned_away).sum()
}

/// Largest gap of two days' records, over the largest figure of its name in the run.
fn largest_gap(ours: &[DayRecord], theirs: &[DayRecord]) -> (f64, String) {
    let rows = |days: &[DayRecord]| -> Vec<Value> {
        days.iter().map(|day| serde_json::to_value(day).expect("a record is data")).collect()
    };
    let (ours, theirs) = (rows(ours), rows(theirs));
    let mut worst = (0.0, String::new());
    let names: Vec<String> =
        ours.first().and_then(Value::as_object).map_or(Vec::new(), |o| o.keys().cloned().collect());
    for name in names {
        let largest =
            ours.iter().filter_map(|day| day[&name].as_f64()).fold(1e-9, |most: f64, x| most.max(x.abs()));
        for (day, (a, b)) in ours.iter().zip(&theirs).enumerate() {
            if let (Some(a), Some(b)) = (a[&name].as_f64(), b[&name].as_f64()) {
                let gap = (a - b).abs() / largest;
                if gap > worst.0 {
                    worst = (gap, format!("{name} on day {day}: {a} and {b}"));
                }
            }
        }
    }
    worst
}

proptest! {
    #![proptest_config(cases(60))]

    #[test]
    fn any_site_closes_with_finite_nonnegative_numbers(bytes in bytes()) {
        if let Some(plan) = plan(&grown(&bytes)) {
            sound::run(&plan);
            sound::owes_nothing(&plan);
        }
    }
}

proptest! {
    #![proptest_config(cases(30))]

    #[test]
    fn stream_order_does_not_matter(bytes in bytes()) {
        let mut site = grown(&bytes);
        let Some(first) = plan(&site) else { return Ok(()) };
        site["streams"].as_array_mut().expect("a list").reverse();
        let second = plan(&site).expect("the same streams");
        let (worst, what) = largest_gap(&sound::run(&first).daily, &sound::run(&second).daily);
        prop_assert!(worst < 1e-6, "{what}");
    }

    #[test]
    fn a_run_in_two_halves_equals_the_whole_run(bytes in bytes(), share in 0.0..1.0) {
        let Some(plan) = plan(&grown(&bytes)) else { return Ok(()) };
        let (site, models) = assemble(&plan).expect("a checked plan");
        let whole = chain::run(&site, &models, chain::Keep::Days).expect("closes").daily;
        let half = (share * site.days as f64) as usize;
        let mut first = Chain::new(&site, &models);
        let mut daily: Vec<DayRecord> = (0..half).map(|day| first.day(day, None)).collect();
        // the other half goes on from a copy, while the first is driven elsewhere
        let mut second = first.clone();
        if half < site.days {
            first.day(half, None);
            first.check(half).expect("closes");
        }
        daily.extend((half..site.days).map(|day| second.day(day, None)));
        prop_assert_eq!(daily, whole);
    }

    #[test]
    fn any_site_goes_on_from_its_saved_state(bytes in bytes(), share in 0.0..1.0) {
        let Some(plan) = plan(&grown(&bytes)) else { return Ok(()) };
        let evening = (share * f64::from(plan.days - 1)) as u32;
        let (whole, states) = run_saving(&plan, &[plan.date(evening)]).expect("closes");
        let text = serde_json::to_string(&states[0]).expect("a state is JSON");
        if evening + 1 < plan.days {
            let next = plan.continued("state.json", &text).unwrap_or_else(|e| panic!("{e}"));
            let rest = sound::run(&next);
            prop_assert_eq!(&rest.daily[..], &whole.daily[evening as usize + 1..]);
        }
    }

    #[test]
    fn a_longer_run_begins_like_the_shorter_one(bytes in bytes()) {
        let mut site = grown(&bytes);
        // bran of one's own is planned for the weeks ahead, which a short run does not know
        site["bran"] = json!({ "bought": true });
        let Some(long) = plan(&site) else { return Ok(()) };
        let (long, models) = assemble(&long).expect("a checked plan");
        let mut short = long.clone();
        short.days = 1 + long.days / 2;
        let whole = chain::run(&long, &models, chain::Keep::Days).expect("closes").daily;
        let begun = chain::run(&short, &models, chain::Keep::Days).expect("closes").daily;
        prop_assert_eq!(&begun[..], &whole[..short.days]);
    }

    #[test]
    fn more_drums_turn_no_more_away_until_the_fewer_drums_are_full(bytes in bytes(), more in 1_u32..40) {
        let mut site = grown(&bytes);
        // the run that fills what is not given would have more drums too
        site.as_object_mut().expect("an object").remove("as_it_stands");
        // fresh scraps do not pass through drums
        if let Some(feeding) = site.get_mut("feeding").and_then(Value::as_object_mut) {
            feeding.retain(|key, _| key != "scraps" && key != "most_waiting");
        }
        let count = site["drums"]["count"].as_f64().unwrap_or(0.0);
        let Some(few) = plan(&site) else { return Ok(()) };
        site["drums"]["count"] = json!((count + f64::from(more)).min(20_000.0));
        let many = plan(&site).expect("drums are legal");
        let (few, many) = (sound::run(&few), sound::run(&many));
        // to the last full drum both sites are the same one; on that day more drums hold more
        let full = few.daily.iter().position(|d| d.turned_away > 0.0).unwrap_or(few.daily.len());
        for (day, (a, b)) in few.daily.iter().zip(&many.daily).enumerate().take(full + 1) {
            prop_assert!(b.turned_away <= a.turned_away + 1e-9 * a.intake, "day {}", day);
        }
        let total: f64 = few.streams.iter().map(|s| s.delivered.wet).sum();
        prop_assert!(turned_away(&many) <= turned_away(&few) + 1e-9 * total);
    }
}
