//! The published JSON Schema of scenario files, made from the declarations of the sections.

use super::field::{Fallback, Number};
use super::plan::Choices;
use super::section::{Key, Presence, Section, Shape};
use serde_json::{Map, Value, json};

/// JSON Schema (draft 2020-12) of a scenario file: every key with its text, unit, range and default. The command `schema` prints it.
pub fn schema() -> Value {
    let mut schema = node(&Choices::shape(()), Presence::Required);
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Scenario");
    schema
}

fn key(key: &Key) -> Value {
    let mut made = node(&key.shape, key.presence);
    made["description"] = match &key.shape {
        Shape::Number(number) => json!(format!("{} {}", key.text, units(number))),
        _ => json!(key.text),
    };
    made
}

/// The units of a number and the basis of its default, in words.
fn units(number: &Number) -> String {
    let basis = match number.fallback {
        Fallback::Value(_) => format!(" Default from: {}.", number.basis),
        _ => String::new(),
    };
    format!("As {}.{basis}", number.kind.allowed())
}

fn node(shape: &Shape, presence: Presence) -> Value {
    let null = presence == Presence::Optional;
    let one = |name: &str| if null { json!([name, "null"]) } else { json!(name) };
    match shape {
        Shape::Number(number) => {
            let types = if null { json!(["number", "string", "null"]) } else { json!(["number", "string"]) };
            let mut made = json!({
                "type": types, "minimum": number.low, "maximum": number.high, "description": units(number),
            });
            if let Fallback::Value(default) = number.fallback {
                made["default"] = json!(default);
            }
            made
        }
        Shape::Plain => json!({ "type": "number", "format": "double" }),
        Shape::Text => json!({ "type": one("string") }),
        Shape::Flag => json!({ "type": one("boolean") }),
        Shape::Words(about, words) => {
            let word = |(name, text): &(&str, &str)| json!({ "const": name, "type": "string", "description": text.trim() });
            let all: Vec<Value> = words.iter().map(word).collect();
            let made = json!({ "description": about.trim(), "oneOf": all });
            if null { json!({ "anyOf": [made, { "type": "null" }] }) } else { made }
        }
        Shape::List(inner) => {
            let mut made = json!({ "type": one("array"), "items": node(inner, Presence::Required) });
            if presence == Presence::NotNull {
                made["default"] = json!([]);
            }
            made
        }
        Shape::Map(inner) => {
            json!({ "type": "object", "additionalProperties": node(inner, Presence::Required) })
        }
        Shape::Section(about, keys) => {
            let properties: Map<String, Value> =
                keys.iter().map(|inner| (inner.name.to_owned(), key(inner))).collect();
            let required = keys.iter().filter(|inner| inner.presence == Presence::Required);
            let required: Vec<&str> = required.map(|inner| inner.name).collect();
            let mut made = json!({
                "description": about, "type": one("object"), "properties": properties,
                "additionalProperties": false,
            });
            if !required.is_empty() {
                made["required"] = json!(required);
            }
            made
        }
        Shape::NumberOr(about, section) => json!({
            "description": about, "anyOf": [{ "type": "number" }, node(section, Presence::Required)],
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::parse;
    use crate::scenario::plan::{
        BeddingAmount, HarvestRule, Liquor, Method, Overs, Plan, Rinse, Structure, Vent,
    };

    /// A plan of a site that leaves out what may be left out.
    fn bare() -> Plan {
        let text = r#"{ "name": "n", "start": "2027-01-04", "days": 30, "drums": { "count": 1 }, "bulking": {},
            "streams": [ { "name": "s", "amount": 50, "mix": { "bread": 1 } } ], "stock": { "mass": 1 },
            "beds": [ { "name": "b", "area": 10 } ], "castings": { "blend": {} } }"#;
        parse("n", text).unwrap()
    }

    /// The text of a key.
    fn text(node: &Value, path: &[&str]) -> Option<String> {
        let inner = |key: &str| node[key].as_array().cloned().unwrap_or_default();
        let Some((name, rest)) = path.split_first() else {
            return node["description"].as_str().map(str::to_owned);
        };
        let below = node["properties"].get(name).and_then(|property| text(property, rest));
        below
            .or_else(|| node.get("items").and_then(|item| text(item, path)))
            .or_else(|| inner("anyOf").iter().find_map(|choice| text(choice, path)))
    }

    #[test]
    fn defaults_in_words_are_those_of_a_plan() {
        let (schema, plan) = (schema(), bare());
        let (bed, blend) = (&plan.beds[0], plan.castings.blend.as_ref().unwrap());
        let (coldest, stream) = (plan.climate.coldest_day, &plan.streams[0]);
        let band = format!("{} and {}", bed.moisture_band[0], bed.moisture_band[1]);
        let bulking = &plan.bulking.as_ref().unwrap().ingredient;
        let coldest = format!("{:02}-{:02}", coldest.month, coldest.day);
        let stated: [(&str, &str, bool); 23] = [
            ("climate.coldest_day", &coldest, true),
            ("streams.weekday_factors", "1 each", stream.weekday_factors.iter().sum::<f64>() > 6.999),
            ("streams.month_factors", "1 each", stream.month_factors.iter().sum::<f64>() > 11.999),
            ("bran.carrier", &plan.bran.carrier, true),
            ("bran.bought", "false", !plan.bran.bought),
            ("drums.vent", "valve", plan.drums.vent == Vent::Valve),
            ("drums.liquor", "drained", plan.drums.liquor == Liquor::Drained),
            ("drums.scraps_ground", "false", !plan.drums.scraps_ground),
            ("grinder.rinse_to", "beds", plan.grinder.rinse_to == Rinse::Beds),
            (
                "grinder.weekdays",
                "Monday to Friday",
                plan.grinder.weekdays[..5] == [true; 5] && !plan.grinder.weekdays[5],
            ),
            ("bulking.ingredient", bulking, true),
            ("beds.bedding.ingredient", &bed.bedding.ingredient, true),
            ("beds.bedding.depth", "0.15 m", bed.bedding_amount() == BeddingAmount::Depth(0.15)),
            ("beds.moisture_band", &band, true),
            ("stock.structure", "mixed", plan.structure() == Structure::Mixed),
            (
                "feeding.weekdays",
                "Monday, Wednesday, Friday",
                plan.feeding.weekdays == [true, false, true, false, true, false, false],
            ),
            ("feeding.scraps", "fermented", plan.ferments()),
            ("harvest.never", "false", !plan.harvest.never),
            ("harvest.every_days", "90 days", plan.harvest.rule() == HarvestRule::EveryDays(90)),
            ("screen.method", "trommel", plan.screen.method == Method::Trommel),
            ("screen.overs", "to_beds", plan.screen.overs == Overs::ToBeds),
            ("castings.blend.with", &blend.with, true),
            ("castings.sold_alone", "none with a `blend`", plan.castings.sold_alone() == 0.0),
        ];
        for (path, default, holds) in stated {
            let text = text(&schema, &path.split('.').collect::<Vec<_>>()).unwrap();
            let left_out =
                text.split_once("eft out: ").unwrap_or_else(|| panic!("{path} states no default: {text}")).1;
            assert!(holds && left_out.starts_with(default), "{path}: {text}");
        }
    }

    #[test]
    fn the_schema_states_what_is_asked_without_targets() {
        let stated = text(&schema(), &["sizing", "targets"]).unwrap();
        assert!(bare().sizing.targets.is_empty() && stated.contains("questions of the verdict"), "{stated}");
    }

    #[test]
    fn no_text_is_broken_into_lines() {
        assert!(!schema().to_string().contains("\\n"));
    }
}
