//! A site that begins as it stands, written by hand: what is given is there on the first morning, the rest is filled and said.

use crate::sound;
use loamledger::chain::{Known, KnownBed, state_after};
use loamledger::quantity::Units;
use loamledger::report::pages::run::run_text;
use loamledger::scenario::{ScenarioError, assemble, parse, varied};
use loamledger::study::answer::RunAnswer;
use std::fs;
use std::path::Path;

/// Mountain School for some weeks with bought bran, worms from the first day and other keys.
fn text(changes: &[(&str, &str)]) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/mountain_school.json");
    let start = fs::read_to_string(path).expect("the scenario is readable");
    let usual = [
        ("stock", r#"{ "mass": 60 }"#),
        ("bran.bought", "true"),
        ("streams[0].yearly_growth", "0"),
        ("harvest", r#"{ "every_days": 20, "first_day": 10 }"#),
    ];
    usual.iter().chain(changes).fold(start, |text, (key, value)| {
        varied("school", &text, key, value).unwrap_or_else(|e| panic!("{e}"))
    })
}

fn with_standing(text: &str, standing: &str) -> Result<RunAnswer, ScenarioError> {
    let at = text.find("\"beds\"").expect("it has beds");
    let text = format!("{}\"as_it_stands\": {standing},\n  {}", &text[..at], &text[at..]);
    parse("school", &text).map(|plan| sound::run(&plan))
}

#[test]
fn a_site_of_which_nothing_is_known_is_that_of_the_plan_run_for_so_long() {
    let begun = sound::run(&parse("school", &text(&[("start", "\"2027-07-01\""), ("days", "90")])).unwrap());
    let later = text(&[("start", "\"2027-08-30\""), ("days", "30")]);
    let stands = with_standing(&later, r#"{ "days_run": 60 }"#).unwrap();
    assert!(stands.daily[..] == begun.daily[60..]);
    let page = run_text(&stands, Units::Si);
    assert!(page.contains("begins as it stands") && page.contains("after 60 days of running"), "{page}");
    assert_eq!(stands.as_it_stands.as_ref().map(|s| s.filled.len()), Some(12));
}

#[test]
fn what_is_given_is_there_on_the_first_morning() {
    let names = text(&[("days", "30")]);
    let standing = r#"{
        "days_run": 60, "bran": 20, "filling": "10 kg", "paste": "40 kg", "drying": 70, "curing": "300 kg",
        "drums": [ { "count": 2, "filled": "2027-08-20" }, { "count": 1, "age": "3 days" } ],
        "beds": [
          { "name": "shed beds", "castings": "2 t", "moisture": "75 %", "ready": 5, "fresh": 3, "temperature": 16,
            "worms": "9 kg", "harvested": "2027-08-01" },
          { "name": "shed beds 2", "depth": "20 cm", "sampled": { "area": "0.1 m2", "worms": 300 } }
        ]
    }"#;
    let answer = with_standing(&names, standing).unwrap();
    let held = |stage: &str| {
        let of = answer.balance.held.iter().find(|h| h.stage.name() == stage);
        of.unwrap_or_else(|| panic!("{stage}")).start
    };
    let near = |what: &str, ours: f64, given: f64| {
        assert!((ours / given - 1.0).abs() < 1e-9, "{what}: {ours} {given}");
    };
    near("screen", held("screen").wet, 70.0);
    near("castings", held("castings").wet, 300.0);
    let beds = answer.beds.len() as f64;
    // bran is bought, and what is in store is there all the same
    near("bran", held("bran").wet, 20.0);
    // three sealed drums and one being filled; the oldest was nine days old on the evening before
    assert!((answer.daily[0].oldest_drum - 10.0).abs() < 1e-12, "{}", answer.daily[0].oldest_drum);
    let grinder = held("paste").wet - 40.0;
    assert!((0.0..2.0).contains(&grinder), "paste and what is left in the grinder: {grinder}");
    // 300 worms on a tenth of a square metre; the first and the others by mass
    let first = answer.bed_daily.iter().find(|bed| bed.bed == 1).unwrap();
    assert!((first.stock / 9.0 - 1.0).abs() < 0.1, "{}", first.stock);
    let others = answer.stock.start.total - 9.0 * (beds - 1.0);
    assert!(others > 0.0, "{others}");
    let second = answer.bed_daily.iter().find(|bed| bed.bed == 2).unwrap();
    assert!((second.depth - 0.20).abs() < 0.03, "{}", second.depth);
    assert!((first.moisture - 0.75).abs() < 0.05 && (first.temperature - 16.0).abs() < 3.0);
    assert!(first.castings > 1500.0, "{}", first.castings);
    let filled = &answer.as_it_stands.as_ref().unwrap().filled;
    let said: Vec<String> = filled.iter().map(|part| serde_json::to_string(part).unwrap()).collect();
    assert_eq!(said, ["\"moisture\"", "\"feed\"", "\"temperature\"", "\"harvested\""]);
}

#[test]
fn a_bed_holds_what_is_known_of_it_before_its_first_day() {
    // in term: beds are fed
    let plan = parse("school", &text(&[("start", "\"2027-10-01\""), ("days", "40")])).unwrap();
    let (site, models) = assemble(&plan).unwrap_or_else(|e| panic!("{e}"));
    let held = state_after(&site, &models);
    let before = held.beds[0].bed;
    let bed = KnownBed {
        castings: Some(2000.0),
        moisture: Some(0.75),
        ready: Some(5.0),
        fresh: Some(3.0),
        ..KnownBed::default()
    };
    let known = Known { beds: vec![bed], ..Known::default() };
    let after = held.with_known(&known, &site, &models, &|_| unreachable!("the bed holds worms")).beds[0].bed;
    let near = |what: &str, ours: f64, wanted: f64| {
        assert!(wanted > 0.0 && (ours / wanted - 1.0).abs() < 1e-9, "{what}: {ours} {wanted}");
    };
    for (what, before, after, mass) in
        [("ready", before.ready, after.ready, 5.0), ("fresh", before.fresh, after.fresh, 3.0)]
    {
        near(what, after.matter.wet(), mass);
        near(what, after.volume, before.volume * mass / before.matter.wet());
    }
    // two tonnes as moist as castings were, and then 0.75 / 0.25 kg of water for each kg of dry matter in the same volume
    let (before, after) = (before.castings, after.castings);
    let scaled = 2000.0 / before.matter.wet();
    near("dry", after.matter.dry(), before.matter.dry() * scaled);
    near("water", after.matter.water(), 3.0 * after.matter.dry());
    near("volume", after.volume, before.volume * scaled);
}

#[test]
fn feed_of_a_site_that_mixed_none_is_of_its_scraps() {
    // holidays from the first day on
    let plan = parse("school", &text(&[("start", "\"2027-08-01\""), ("days", "10")])).unwrap();
    let (site, models) = assemble(&plan).unwrap_or_else(|e| panic!("{e}"));
    let held = state_after(&site, &models);
    assert!(held.beds[0].bed.ready.matter.wet() <= 0.0, "nothing was fed");
    let bed = KnownBed { ready: Some(5.0), ..KnownBed::default() };
    let known = Known { beds: vec![bed], ..Known::default() };
    let ready =
        held.with_known(&known, &site, &models, &|_| unreachable!("the bed holds worms")).beds[0].bed.ready;
    let scraps = site.streams[0].per_kilogram.matter;
    assert!((ready.matter.wet() - 5.0).abs() < 1e-9);
    assert!((ready.matter.dry() / 5.0 - scraps.dry() / scraps.wet()).abs() < 1e-9, "{}", ready.matter.dry());
}

#[test]
fn an_empty_list_of_drums_means_that_none_is_sealed() {
    // in term: drums are filled every day
    let names = text(&[("start", "\"2027-11-01\""), ("days", "5")]);
    let none = with_standing(&names, r#"{ "days_run": 60, "drums": [], "filling": 0 }"#).unwrap();
    let filled = with_standing(&names, r#"{ "days_run": 60 }"#).unwrap();
    assert!(none.daily[0].oldest_drum < 1.0 && filled.daily[0].oldest_drum > 1.0);
}

#[test]
fn what_cannot_stand_is_refused_with_place_and_remedy() {
    let names = text(&[("days", "30")]);
    for (standing, wanted) in [
        ("{}", &["as_it_stands.days_run", "is missing"][..]),
        (r#"{ "days_run": 0 }"#, &["as_it_stands.days_run", "out of range"]),
        (r#"{ "days_run": 9, "paste": "3 m2" }"#, &["as_it_stands.paste", "area"]),
        (r#"{ "days_run": 9, "pasta": 3 }"#, &["unknown key", "paste"]),
        (r#"{ "days_run": 9, "drums": [ { "count": 1 } ] }"#, &["has neither filled nor age"]),
        (
            r#"{ "days_run": 9, "drums": [ { "count": 1, "age": 3, "filled": "2027-08-20" } ] }"#,
            &["has both filled and age"],
        ),
        (
            r#"{ "days_run": 9, "drums": [ { "count": 1, "filled": "2027-08-30" } ] }"#,
            &["at most 2027-08-29"],
        ),
        (
            r#"{ "days_run": 9, "drums": [ { "count": 9000, "age": 3 } ] }"#,
            &["9000 drums are in use", "`drums.count`"],
        ),
        (r#"{ "days_run": 9, "filling": "1 t" }"#, &["do not fit into a drum", "a full drum"]),
        (r#"{ "days_run": 9, "beds": [ { "name": "shed bed" } ] }"#, &["no bed has this name", "shed beds"]),
        (
            r#"{ "days_run": 9, "beds": [ { "name": "shed beds" }, { "name": "shed beds" } ] }"#,
            &["given already"],
        ),
        (
            r#"{ "days_run": 9, "beds": [ { "name": "shed beds", "castings": 1, "depth": 1 } ] }"#,
            &["has both castings and depth"],
        ),
        (
            r#"{ "days_run": 9, "beds": [ { "name": "shed beds", "worms": 1, "sampled": { "area": 1, "worms": 1 } } ] }"#,
            &["has both worms and sampled"],
        ),
        (
            r#"{ "days_run": 9, "beds": [ { "name": "shed beds", "harvested": "2027-09-01" } ] }"#,
            &["at most 2027-08-29"],
        ),
        (r#"{ "days_run": 9, "beds": [ { "name": "shed beds", "moisture": 75 } ] }"#, &["percent given?"]),
    ] {
        let refused = with_standing(&names, standing).expect_err(standing).to_string();
        assert!(wanted.iter().all(|words| refused.contains(words)), "{standing}: {refused}");
    }
}
