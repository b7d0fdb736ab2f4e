//! Sites that feed fresh scraps without drums, beds filled on the first day, and a published batch as an ordinary scenario.

use crate::ensemble::{first, made, plan_of, short, site};
use crate::sound::{read, run};
use calamine::{Reader, Xlsx};
use loamledger::quantity::Units;
use loamledger::report::pages::plan::plan_text;
use loamledger::report::pages::run::run_text;
use loamledger::report::pages::uncertainty::uncertainty_text;
use loamledger::report::workbook::{WorkbookContents, workbook};
use loamledger::scenario::{Plan, parse};
use loamledger::study::answer::RunAnswer;
use loamledger::study::check::check;
use loamledger::study::{run as run_plan, run_saving, uncertainty};
use loamledger::trace::{Flow, figures};
use std::io::Cursor;

/// Zziwa et al. 2021, J. Environ. Manage. 279:111784: pineapple peel and manure in one batch of 60 days.
const BATCH: &str = include_str!("../../src/verification/trials/pineapple_batch.json");

/// A kitchen and its beds, with more lines.
fn fresh(scraps: &str, more: &str) -> Plan {
    read(&fresh_text(scraps, more)).unwrap_or_else(|e| panic!("{e}"))
}

fn fresh_text(scraps: &str, more: &str) -> String {
    format!(
        r#"{{ "name": "Small", "start": "2027-01-04", "days": 120,
            "climate": {{ "bed_room": {{ "heated_to": 20, "cooled_to": 20 }} }},
            "streams": [ {{ "name": "kitchen", "amount": 5, "mix": {{ "fruit_and_vegetable_market": 0.6, "bread": 0.1,
                "coffee_grounds": 0.3 }} }} ],
            "feeding": {{ "scraps": "{scraps}", "ration": 0.25 }},
            "bulking": {{}},
            "beds": [ {{ "name": "bed", "count": 4, "area": 4 }} ],
            "stock": {{ "mass": 40 }}{more} }}"#
    )
}

fn flow(answer: &RunAnswer, flow: Flow) -> f64 {
    answer.balance.flows.iter().find(|row| row.flow == flow).map_or(f64::NAN, |row| row.amounts.wet)
}

#[test]
fn fresh_scraps_reach_the_beds_without_drums_and_bran() {
    for (scraps, ground) in [("ground", true), ("whole", false)] {
        let answer = run(&fresh(scraps, ""));
        let taken = 120.0 * 5.0 - answer.streams[0].turned_away;
        assert!((flow(&answer, Flow::FreshScraps) / taken - 1.0).abs() < 1e-12, "{scraps}");
        // by hand: every kilogram taken is laid or waits; rinse water and bulking come on top
        let on_hand = answer.daily.last().unwrap().paste_on_hand;
        let laid = flow(&answer, Flow::Feed) - flow(&answer, Flow::Bulking) - flow(&answer, Flow::Rinse);
        assert!((laid + on_hand - taken).abs() < 0.02 * taken, "{scraps}: {laid} {on_hand} {taken}");
        assert_eq!(answer.grinder.ground > 0.0, ground);
        for none in [Flow::Intake, Flow::DrumsToGrinder, Flow::BranToDrums, Flow::BranSupplies, Flow::DrumGas]
        {
            assert!(flow(&answer, none).abs() < 1e-12, "{scraps} {none}");
        }
        let page = run_text(&answer, Units::Si);
        for absent in ["Drums\n=", "Bran\n=", "drums in use", "full drum"] {
            assert!(!page.contains(absent), "{scraps}: {absent}\n{page}");
        }
        assert!(page.contains("Fresh scraps: they rot"), "{page}");
        assert!(answer.warnings.iter().all(|w| w.code != "no_drums"));
    }
}

#[test]
fn fresh_scraps_wait_no_longer_than_there_is_room() {
    // no bed takes any: what waits never exceeds the room, and the rest is turned away
    let plan = read(&plan_text_without_worms()).unwrap_or_else(|e| panic!("{e}"));
    let answer = run(&plan);
    let most = plan.most_waiting();
    assert!((most - 20.0).abs() < 1e-12, "four open days of 5 kg");
    assert!(answer.daily.iter().all(|day| day.paste_on_hand <= most * (1.0 + 1e-12)));
    assert!((answer.streams[0].turned_away - (120.0 * 5.0 - most)).abs() < 1e-9);
    assert!(answer.warnings.iter().any(|w| w.code == "fresh_scraps_turned_away"));
}

#[test]
fn rows_of_drums_are_left_out_where_there_are_none() {
    let text = site(&fresh_text("whole", ""), &[("days", "365"), ("settled_year.most_years", "2")]);
    let answer = run(&plan_of(&text));
    let shard = made(&text, &first(3, 1));
    let study = uncertainty::answer(&shard).unwrap();
    let contents =
        WorkbookContents { central: &answer, study: Some(&study), scenario: &text, units: Units::Si };
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(workbook(&contents).unwrap())).unwrap();
    let mut shown = vec![run_text(&answer, Units::Si), uncertainty_text(&study, Units::Si)];
    for sheet in ["First and settled", "Totals", "Chances", "Bands"] {
        let cells: Vec<String> =
            book.worksheet_range(sheet).unwrap().cells().map(|c| c.2.to_string()).collect();
        shown.push(cells.join("\n"));
    }
    for text in shown {
        for absent in ["drums in use", "bran used", "liquor drained", "the drum room, mean", "drums spoil"] {
            assert!(!text.contains(absent), "{absent}\n{text}");
        }
    }
    // what waits is of any site; files for programs keep every figure
    assert!(uncertainty_text(&study, Units::Si).contains("scraps in drums and ground at the end"));
    assert_eq!(study.figures.len(), figures::TABLE.len());
    let last = answer.later_years.last.unwrap();
    for name in ["drums_highest", "bran_used", "liquor"] {
        assert!(last.figures.iter().any(|f| f.name == name && f.settled == Some(0.0)), "{name}");
    }
    // a site with drums shows them
    let with_drums = uncertainty::answer(&made(&short(&[("days", "8")]), &first(2, 1))).unwrap();
    assert!(uncertainty_text(&with_drums, Units::Si).contains("most drums in use"));
}

fn plan_text_without_worms() -> String {
    r#"{ "name": "Small", "start": "2027-01-04", "days": 120,
        "streams": [ { "name": "kitchen", "amount": 5, "mix": { "bread": 1 } } ],
        "feeding": { "scraps": "whole" }, "beds": [ { "name": "bed", "area": 4 } ] }"#
        .to_owned()
}

#[test]
fn a_site_without_drums_goes_on_from_a_state_to_the_last_bit() {
    for plan in [fresh("ground", ""), fresh("whole", "")] {
        let (whole, states) = run_saving(&plan, &[plan.date(50)]).unwrap();
        let state = serde_json::to_string(&states[0]).unwrap();
        let rest = run_plan(&plan.continued("state.json", &state).unwrap()).unwrap();
        assert!(rest.daily[..] == whole.daily[51..]);
    }
}

#[test]
fn a_published_batch_is_an_ordinary_scenario() {
    let plan = read(BATCH).unwrap_or_else(|e| panic!("{e}"));
    let answer = run(&plan);
    let [bed] = answer.filled_beds.as_slice() else { panic!("{:?}", answer.filled_beds) };
    // as filled: 10 kg of the two as they arrive, 0.8 x 0.892 + 0.2 x 0.79 of it water
    assert!((bed.start.quality.wet - 10.0).abs() < 1e-9, "{}", bed.start.quality.wet);
    assert!((bed.start.quality.moisture - 0.8716).abs() < 1e-9, "{}", bed.start.quality.moisture);
    assert!((bed.start.worms - 0.1).abs() < 1e-9);
    // what is lost is what the books say: gas, less the water given
    let carbon = answer.balance.elements.iter().find(|e| e.element == "carbon").unwrap();
    let held = answer.balance.held.iter().map(|h| h.start.carbon).sum::<f64>();
    assert!((bed.carbon_loss - carbon.out_of_site / held).abs() < 1e-9, "{}", bed.carbon_loss);
    // printed: 60 % lost, worms grow by 57 %; tolerances as in the outside checks
    assert!((bed.dry_loss - 0.60).abs() < 0.10, "{}", bed.dry_loss);
    assert!(answer.products.iter().all(|p| p.amounts.wet <= 0.0), "nothing is harvested");
    let page = run_text(&answer, Units::Si);
    for part in ["Filled beds: box", "dry matter lost", "pH in water, 1:10"] {
        assert!(page.contains(part), "{part}\n{page}");
    }
    for absent in ["Drums\n=", "Bran\n=", "Grinder", "drums in use"] {
        assert!(!page.contains(absent), "{absent}\n{page}");
    }
    let serious: Vec<_> = answer.warnings.iter().map(|w| w.code).collect();
    for none in ["no_drums", "no_intake", "no_worms"] {
        assert!(!serious.contains(&none), "{serious:?}");
    }
}

#[test]
fn a_batch_without_worms_loses_less_and_is_watered() {
    let text = BATCH.replace("\"mass\": \"0.1 kg\"", "\"mass\": 0");
    assert_ne!(text, BATCH);
    let (with, without) = (run(&read(BATCH).unwrap()), run(&read(&text).unwrap()));
    assert!(without.filled_beds[0].end.worms.abs() < 1e-12);
    assert!(without.filled_beds[0].dry_loss < with.filled_beds[0].dry_loss);
    assert!(without.filled_beds[0].dry_loss > 0.2);
    assert!(without.daily.iter().map(|day| day.irrigation).sum::<f64>() > 0.0);
}

#[test]
fn a_filling_has_the_moisture_and_the_carbon_to_nitrogen_ratio_asked_for() {
    let text = include_str!("../../src/verification/trials/food_waste.json");
    let answer = run(&read(text).unwrap());
    let start = &answer.filled_beds[0].start;
    // Majlessi et al. 2012: C:N 30.13 at the start
    assert!((start.quality.carbon_to_nitrogen - 30.13).abs() < 1e-9, "{}", start.quality.carbon_to_nitrogen);
    assert!((start.quality.moisture - 0.70).abs() < 1e-12);
    assert!((start.quality.wet - 10.0).abs() < 1e-9);
    assert!((start.volume - 0.6 * 0.0476).abs() < 1e-12);
    // without a depth the volume follows from the ingredients, without a mass the mass does
    let of = |from: &str| text.replace(from, "").replace(",\n        \n", ",\n");
    let by_mass = run(&read(&of("\"depth\": 0.0476,")).unwrap());
    let by_depth = run(&read(&of("\"mass\": \"10 kg\",")).unwrap());
    let density = |answer: &RunAnswer| {
        let start = &answer.filled_beds[0].start;
        start.quality.wet / start.volume
    };
    assert!((density(&by_mass) / density(&by_depth) - 1.0).abs() < 1e-9);
}

/// What `check` says of the batch with a text replaced.
fn refused(from: &str, to: &str) -> String {
    assert!(BATCH.contains(from), "{from}");
    parse("site.json", &BATCH.replacen(from, to, 1)).expect_err("refused").to_string()
}

/// A text of the batch, what replaces it, and what the message then says.
const BAD_FILLINGS: &[(&str, &str, [&str; 3])] = &[
    (
        "\"mass\": \"10 kg\",",
        "\"mass\": \"90 kg\",",
        ["filled_with.depth", "solids and water alone take", "leave `mass` or `depth` out"],
    ),
    (
        "\"depth\": 0.1613",
        "\"depth\": 0.6",
        ["filled_with.depth", "the bed would be 0.6 m deep", "at most `depth` of the bed, 0.5 m"],
    ),
    ("\"depth\": 0.1613", "\"depth\": -1", ["filled_with.depth", "is negative", "0.001"]),
    ("\"mass\": \"10 kg\",", "\"mass\": \"10 km\",", ["filled_with.mass", "10 km", "kg"]),
    (
        "\"mass\": \"10 kg\",",
        "\"moisture\": 75,\"mass\": \"10 kg\",",
        ["filled_with.moisture", "is out of range", "0.75"],
    ),
    (
        "\"mass\": \"10 kg\",",
        "\"carbon_to_nitrogen\": 12, \"mass\": \"10 kg\",",
        [
            "filled_with.carbon_to_nitrogen",
            "cannot be reached: the mix has",
            "name another ingredient in `carbon_from`",
        ],
    ),
    (
        "\"mass\": \"10 kg\",",
        "\"carbon_from\": \"wheat_straw\", \"mass\": \"10 kg\",",
        ["filled_with.carbon_from", "no carbon to nitrogen ratio is asked for", "add `carbon_to_nitrogen`"],
    ),
    (
        "\"mass\": \"10 kg\",",
        "\"carbon_from\": \"wheat_strow\", \"carbon_to_nitrogen\": 40, \"mass\": \"10 kg\",",
        ["filled_with.carbon_from", "unknown ingredient", "wheat_straw"],
    ),
    (
        "\"fruit_and_vegetable_market\": 0.8,",
        "\"fruit_and_vegetable_market\": 0.7,",
        ["filled_with.mix", "the shares sum to 0.9", "in the same proportions"],
    ),
    (
        "\"never\": true",
        "\"never\": true, \"every_days\": 30",
        ["harvest.never", "a time of harvest is given too", "leave `never` out"],
    ),
    ("\"never\": true", "\"never\": 1", ["harvest.never", "wrong type", "true or false"]),
];

#[test]
fn bad_fillings_are_refused_with_place_and_remedy() {
    for (from, to, parts) in BAD_FILLINGS {
        let message = refused(from, to);
        for part in parts {
            assert!(message.contains(part), "{to}: {part}\n{message}");
        }
    }
    let bare = BATCH.replacen("\"mass\": \"10 kg\",", "", 1).replacen(",\n        \"depth\": 0.1613", "", 1);
    let bare = bare.replacen("\"depth\": 0.1613", "\"moisture\": 0.8", 1);
    let message = parse("site.json", &bare).expect_err("refused").to_string();
    assert!(message.contains("has no amount") && message.contains("`mass`, `depth` or both"), "{message}");
}

#[test]
fn bad_feeding_without_drums_is_refused_with_place_and_remedy() {
    let of = |feeding: &str, drums: &str| {
        let text = plan_text_without_worms().replace(
            r#""feeding": { "scraps": "whole" }"#,
            &format!(r#""feeding": {{ {feeding} }}, "drums": {{ "count": {drums} }}"#),
        );
        parse("site.json", &text).map(|_| ()).map_err(|e| e.to_string())
    };
    assert_eq!(of(r#""scraps": "whole""#, "0"), Ok(()));
    for (feeding, drums, parts) in [
        (r#""scraps": "raw""#, "0", ["feeding.scraps", "unknown word", "fermented, ground, whole"]),
        (r#""scraps": "ground""#, "3", ["feeding.scraps", "3 drums are given", "leave `drums` out"]),
        (
            r#""most_waiting": 5"#,
            "3",
            ["feeding.most_waiting", "no fresh scraps wait", "\"scraps\": \"ground\""],
        ),
        (r#""scraps": "whole", "most_waiting": -1"#, "0", ["feeding.most_waiting", "is negative", "0 to"]),
    ] {
        let message = of(feeding, drums).expect_err(feeding);
        for part in parts {
            assert!(message.contains(part), "{feeding}: {part}\n{message}");
        }
    }
}

#[test]
fn own_carbon_that_does_not_fit_is_said_in_check_and_run() {
    let more = r#", "ingredients": { "our_bread": { "like": "bread", "carbon": 0.30, "ash": 0.02, "nitrogen": 0.024 } }"#;
    let plan = fresh("ground", more);
    let meaning = check(&plan).unwrap();
    let page = plan_text(&plan, &meaning, Units::Si);
    let answer = run(&plan);
    for said in [page, run_text(&answer, Units::Si)] {
        assert!(said.contains("our_bread: a carbon of 30.0 % does not fit"), "{said}");
    }
    // a figure that fits is no warning
    let fits = fresh("ground", &more.replace("0.30", "0.455"));
    assert!(check(&fits).unwrap().warnings.iter().all(|w| w.code() != "own_carbon_does_not_fit"));
}
