//! Twice a site is twice the answer; the order of streams is no matter.

use super::{run, text, within};
use loamledger::study::answer::RunAnswer;
use serde_json::Value;

const SITE: &str = "harbour_hall";

/// Extensive figures by name.
fn extensive(answer: &RunAnswer) -> Vec<(String, f64)> {
    let mut all = Vec::new();
    let mut add = |name: String, value: f64| all.push((name, value));
    for f in &answer.balance.flows {
        let a = &f.amounts;
        for (what, value) in [
            ("wet", a.wet),
            ("water", a.water),
            ("dry", a.dry),
            ("carbon", a.carbon),
            ("nitrogen", a.nitrogen),
            ("phosphorus", a.phosphorus),
            ("potassium", a.potassium),
        ] {
            add(format!("{} {what}", f.flow), value);
        }
    }
    for h in &answer.balance.held {
        add(format!("{} at the end", h.stage), h.end.wet);
        add(format!("carbon of {} at the end", h.stage), h.end.carbon);
    }
    let s = &answer.stock;
    let stock = [("mean", s.mean.total), ("end", s.end.total), ("cocoons", s.end.cocoons), ("lost", s.lost)];
    for (what, value) in stock {
        add(format!("stock {what}"), value);
    }
    add("energy".into(), answer.grinder.energy);
    add("carbon dioxide".into(), answer.gases.carbon_dioxide);
    add("nitrous oxide".into(), answer.gases.nitrous_oxide);
    add("turned away".into(), super::turned_away(answer));
    all
}

/// Largest relative gap of `factor` times one answer and the other, with its name.
fn gap(base: &RunAnswer, factor: f64, other: &RunAnswer) -> (f64, String) {
    let mut worst = (0.0, String::new());
    let pairs = extensive(base);
    assert!(pairs.iter().filter(|p| p.1.abs() > 0.0).count() > 100);
    for ((name, one), (_, two)) in pairs.into_iter().zip(extensive(other)) {
        let relative = (factor * one - two).abs() / (factor * one).abs().max(1e-9);
        if relative > worst.0 {
            worst = (relative, name);
        }
    }
    worst
}

/// Everything extensive doubled but drums and beds.
const TWICE: [(&str, &str); 11] = [
    ("streams[0].amount", "340"),
    ("streams[1].generation.count", "2800"),
    ("streams[2].generation.count", "3000"),
    ("bran.weekly_capacity", "120"),
    ("drums.room_volume", "360"),
    ("drums.room_air", "600"),
    ("grinder.rate", "1500"),
    ("stock.mass", "2200"),
    ("screen.rate", "2000"),
    ("screen.drying_area", "800"),
    // power scales with the grinder's rate, so that energy per tonne stays
    ("grinder.motor", "11"),
];

#[test]
fn doubling_the_site_doubles_every_total() {
    let base = run(SITE, &[]);
    // drums of twice the volume and beds of twice the area keep every whole number as it was
    let whole = [("drums.volume", "\"416.4 L\""), ("beds.area", "54")];
    let twice = run(SITE, &[&TWICE[..], &whole].concat());
    let (worst, name) = gap(&base, 2.0, &twice);
    assert!(worst < 1e-6, "{name}: {worst:e}");
    // what is intensive stays
    within("pH", twice.drums.opened_ph.expect("opened") - base.drums.opened_ph.expect("opened"), -1e-9, 1e-9);
    within("bed load", twice.beds[0].load - base.beds[0].load, -1e-9, 1e-9);
    within(
        "drum room",
        twice.drums.room_carbon_dioxide / base.drums.room_carbon_dioxide,
        1.0 - 1e-6,
        1.0 + 1e-6,
    );
}

#[test]
fn doubling_drums_and_beds_nearly_doubles_the_output() {
    // Drums open whole and beds are harvested in turn, so that twice the number is not twice each figure: the days of
    // opening and of harvest move, and what lies on the screen or in the last drums at the end moves with them.
    let base = run(SITE, &[]);
    let whole = [("drums.count", "112"), ("beds.count", "44")];
    let twice = run(SITE, &[&TWICE[..], &whole].concat());
    let ratio = |of: &dyn Fn(&RunAnswer) -> f64| of(&twice) / of(&base);
    within("fed", ratio(&|a| super::flow(a, "feed_to_beds").dry), 1.98, 2.02);
    within("eaten", ratio(&super::eaten), 1.98, 2.02);
    within("castings", ratio(&|a| super::flow(a, "castings_harvested").dry), 1.9, 2.1);
    within("liquor", ratio(&|a| super::flow(a, "liquor_drained").wet), 1.9, 2.1);
    within("stock", ratio(&|a| a.stock.end.total), 1.98, 2.02);
    within("carbon to the air", ratio(&|a| super::flow(a, "bed_gas").carbon), 1.98, 2.02);
}

#[test]
fn stream_order_does_not_matter() {
    let base = run(SITE, &[]);
    let mut site: Value = serde_json::from_str(&text(SITE, &[])).expect("JSON");
    let streams = site["streams"].as_array_mut().expect("a list");
    streams.reverse();
    let reversed = super::run_text(&site.to_string());
    site["streams"].as_array_mut().expect("a list").rotate_left(1);
    let rotated = super::run_text(&site.to_string());
    for other in [reversed, rotated] {
        let (worst, name) = gap(&base, 1.0, &other);
        assert!(worst < 1e-9, "{name}: {worst:e}");
        for stream in &base.streams {
            let same = other.streams.iter().find(|s| s.name == stream.name).expect("the same streams");
            assert!((same.delivered.wet - stream.delivered.wet).abs() < 1e-6, "{}", stream.name);
        }
    }
}
