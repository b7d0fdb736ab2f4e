//! The published JSON Schema of scenario files, from the types that read them and the table of fields.

use super::field::{Fallback, Field, field};
use super::path::KeyPath;
use super::raw;
use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

/// JSON Schema (draft 2020-12) of a scenario file: every key with its text, unit, range and default. The command `schema` prints it.
pub fn schema() -> Value {
    let settings = SchemaSettings::draft2020_12().with(|s| s.inline_subschemas = true);
    let mut schema = settings.into_generator().into_root_schema_for::<raw::Scenario>().to_value();
    complete(&mut schema, &KeyPath::default());
    schema
}

/// Adds units, ranges and defaults below a node.
fn complete(node: &mut Value, path: &KeyPath) {
    let Some(object) = node.as_object_mut() else { return };
    // a text runs over lines of the source, which mean nothing to its readers
    if let Some(Value::String(text)) = object.get_mut("description") {
        *text = text.replace('\n', " ");
    }
    if let Some(row) = field(&path.pattern()) {
        describe(object, row);
    }
    for (key, inner) in object.iter_mut() {
        match (key.as_str(), inner) {
            ("properties", Value::Object(properties)) => {
                for (name, property) in properties {
                    complete(property, &path.key(name));
                }
            }
            ("items", inner) => complete(inner, &path.index(0)),
            ("additionalProperties", inner) => complete(inner, &path.entry("*")),
            ("anyOf", Value::Array(choices)) => {
                for choice in choices {
                    complete(choice, path);
                }
            }
            _ => {}
        }
    }
}

fn describe(object: &mut Map<String, Value>, row: &Field) {
    // a list is described by its own text; the range belongs to its elements
    if object.contains_key("items") {
        return;
    }
    let text = object.get("description").and_then(Value::as_str).unwrap_or("").to_owned();
    let separator = if text.is_empty() { "" } else { " " };
    let basis = match row.fallback {
        Fallback::Value(_) => format!(" Default from: {}.", row.basis),
        _ => String::new(),
    };
    object.insert("description".into(), json!(format!("{text}{separator}As {}.{basis}", row.kind.allowed())));
    object.insert("minimum".into(), json!(row.low));
    object.insert("maximum".into(), json!(row.high));
    if let Fallback::Value(default) = row.fallback {
        object.insert("default".into(), json!(default));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::parse;
    use crate::scenario::plan::{BeddingAmount, HarvestRule, Liquor, Method, Overs, Plan, Structure, Vent};

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
    fn defaults_told_in_words_are_those_of_a_plan() {
        let (schema, plan) = (schema(), bare());
        let (season, bed, blend) =
            (&plan.climate.season, &plan.beds[0], plan.castings.blend.as_ref().unwrap());
        let stream = &plan.streams[0].calendar;
        let band = format!("{} and {}", bed.moisture_band[0], bed.moisture_band[1]);
        let bulking = &plan.bulking.as_ref().unwrap().ingredient;
        let coldest = format!("{:02}-{:02}", season.coldest.month, season.coldest.day);
        let told: [(&str, &str, bool); 19] = [
            ("climate.coldest_day", &coldest, true),
            ("streams.weekday_factors", "1 each", stream.weekday_factors.iter().sum::<f64>() > 6.999),
            ("streams.month_factors", "1 each", stream.month_factors.iter().sum::<f64>() > 11.999),
            ("bran.carrier", &plan.bran.carrier, true),
            ("bran.bought", "false", !plan.bran.bought),
            ("drums.vent", "valve", plan.drums.vent == Vent::Valve),
            ("drums.liquor", "drained", plan.drums.liquor == Liquor::Drained),
            (
                "grinder.weekdays",
                "Monday to Friday",
                plan.grinder.weekdays[..5] == [true; 5] && !plan.grinder.weekdays[5],
            ),
            ("bulking.ingredient", bulking, true),
            ("beds.bedding.ingredient", &bed.bedding, true),
            ("beds.bedding.depth", "0.15 m", bed.bedding_amount == BeddingAmount::Depth(0.15)),
            ("beds.moisture_band", &band, true),
            ("stock.structure", "mixed", plan.stock.structure == Structure::Mixed),
            (
                "feeding.weekdays",
                "Monday, Wednesday, Friday",
                plan.feeding.weekdays == [true, false, true, false, true, false, false],
            ),
            ("harvest.every_days", "90 days", plan.harvest.rule == HarvestRule::EveryDays(90)),
            ("screen.method", "trommel", plan.screen.method == Method::Trommel),
            ("screen.overs", "to_beds", plan.screen.overs == Overs::ToBeds),
            ("castings.blend.with", &blend.with, true),
            ("castings.sold_alone", "none with a `blend`", plan.castings.sold_alone == 0.0),
        ];
        for (path, default, holds) in told {
            let text = text(&schema, &path.split('.').collect::<Vec<_>>()).unwrap();
            let left_out =
                text.split_once("eft out: ").unwrap_or_else(|| panic!("{path} tells no default: {text}")).1;
            assert!(holds && left_out.starts_with(default), "{path}: {text}");
        }
    }

    #[test]
    fn targets_that_are_left_out_are_told_as_they_are() {
        let (told, plan) = (text(&schema(), &["sizing", "targets"]).unwrap(), bare());
        let limits = plan.sizing.targets.iter().map(|t| (t.figure.as_str(), t.at_most, t.at_least, t.chance));
        let known = [
            ("turned_away_share", Some(0.02), None, 0.9),
            ("bed_hottest", Some(33.0), None, 0.9),
            ("backlog", Some(0.15), None, 0.9),
            ("stock_kept", None, Some(0.5), 0.9),
        ];
        assert_eq!(limits.collect::<Vec<_>>(), known);
        for words in [
            "0.9 each",
            "2 % of the intake",
            "above 33 degrees",
            "15 % of a year's intake",
            "half of the worms",
        ] {
            assert!(told.contains(words), "{words}: {told}");
        }
    }

    #[test]
    fn no_text_is_broken_into_lines() {
        assert!(!schema().to_string().contains("\\n"));
    }
}
