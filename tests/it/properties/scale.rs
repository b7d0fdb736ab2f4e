//! Twice every extensive input is twice every extensive output.

use super::{bytes, cases, grown, plan};
use crate::sound;
use loamledger::scenario::field::{Fallback, field};
use loamledger::study::answer::RunAnswer;
use proptest::prelude::*;
use serde_json::{Value, json};

/// Every extensive number of a site but whole numbers of drums and beds: these are made larger instead.
const EXTENSIVE: [&str; 17] = [
    "streams.amount",
    "streams.generation.count",
    "bran.weekly_capacity",
    "bran.starting_bran",
    "drums.volume",
    "drums.room_volume",
    "drums.room_air",
    "grinder.rate",
    "grinder.motor",
    "beds.area",
    "beds.bedding.mass",
    "beds.filled_with.mass",
    "feeding.most_waiting",
    "stock.mass",
    "stock.top_up.mass",
    "screen.drying_area",
    "screen.rate",
];

/// Calls `with` for each object at a path of keys, lists on the way passed through.
fn each(node: &mut Value, path: &[&str], with: &mut dyn FnMut(&mut Value)) {
    match (node, path) {
        (Value::Array(list), _) => list.iter_mut().for_each(|inner| each(inner, path, with)),
        (node, []) => with(node),
        (Value::Object(map), [first, rest @ ..]) => {
            if let Some(inner) = map.get_mut(*first) {
                each(inner, rest, with);
            }
        }
        _ => {}
    }
}

/// Puts every extensive number into its range so that it can be doubled, or doubles it.
fn change(site: &mut Value, of: impl Fn(f64, f64, f64) -> f64) {
    for path in EXTENSIVE {
        let row = field(path).expect("a path of the table");
        let (parents, key) = path.rsplit_once('.').expect("a key in an object");
        let parents: Vec<&str> = parents.split('.').collect();
        each(site, &parents, &mut |object| {
            let default = match row.fallback {
                Fallback::Value(default) => Some(default),
                _ => None,
            };
            if let Some(value) = object.get(key).and_then(Value::as_f64).or(default) {
                object[key] = json!(of(value, row.low, row.high));
            }
        });
    }
}

/// Extensive figures of an answer by name.
fn extensive(answer: &RunAnswer) -> Vec<(String, f64)> {
    let mut all = Vec::new();
    for f in &answer.balance.flows {
        let a = &f.amounts;
        for (what, value) in [("wet", a.wet), ("dry", a.dry), ("carbon", a.carbon), ("nitrogen", a.nitrogen)]
        {
            all.push((format!("{} {what}", f.flow), value));
        }
    }
    for h in &answer.balance.held {
        all.push((format!("{} at the end", h.stage), h.end.wet));
    }
    let s = &answer.stock;
    for (what, value) in
        [("mean", s.mean.total), ("end", s.end.total), ("cocoons", s.end.cocoons), ("lost", s.lost)]
    {
        all.push((format!("stock {what}"), value));
    }
    all.push(("energy".into(), answer.grinder.energy));
    all.push(("turned away".into(), super::turned_away(answer)));
    all
}

proptest! {
    #![proptest_config(cases(30))]

    #[test]
    fn twice_the_site_is_twice_the_answer(bytes in bytes()) {
        let mut site = grown(&bytes);
        // what stands there is given in kilograms
        site.as_object_mut().expect("an object").remove("as_it_stands");
        // starter is not made below a few litres: bran of one's own does not scale
        site["bran"]["bought"] = json!(true);
        for object in ["drums", "grinder", "screen"] {
            if site.get(object).is_none() && object != "drums" {
                site[object] = json!({});
            }
        }
        change(&mut site, |value, low, high| value.clamp(low, high / 2.0));
        let Some(one) = plan(&site) else { return Ok(()) };
        change(&mut site, |value, _, _| 2.0 * value);
        let two = plan(&site).expect("half of the range was used");
        let (one, two) = (sound::run(&one), sound::run(&two));
        let all = extensive(&one);
        let scale = all.iter().fold(1e-9, |most: f64, (_, value)| most.max(value.abs()));
        for ((name, one), (_, two)) in all.into_iter().zip(extensive(&two)) {
            let gap = (2.0 * one - two).abs();
            prop_assert!(gap <= 1e-7 * one.abs() + 1e-12 * scale, "{name}: {one} and {two}");
        }
    }
}
