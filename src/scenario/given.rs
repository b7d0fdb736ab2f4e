//! Values that may be typed in two ways, read by hand so that a wrong type says what is allowed.

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::de::Visitor;
use serde::{Deserialize, Deserializer};
use std::borrow::Cow;
use std::fmt;

/// A quantity as typed: a number in the documented unit or a text with a unit.
#[derive(Debug, Clone, PartialEq)]
pub enum Given {
    /// A number in the documented unit.
    Number(f64),
    /// A text such as `120 lb/day`.
    Text(String),
}

impl Default for Given {
    /// Zero: the count of what is not there.
    fn default() -> Self {
        Self::Number(0.0)
    }
}

impl<'de> Deserialize<'de> for Given {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Reader;
        impl Visitor<'_> for Reader {
            type Value = Given;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a number or a text with a unit")
            }
            fn visit_f64<E>(self, v: f64) -> Result<Given, E> {
                Ok(Given::Number(v))
            }
            fn visit_i64<E>(self, v: i64) -> Result<Given, E> {
                Ok(Given::Number(v as f64))
            }
            fn visit_u64<E>(self, v: u64) -> Result<Given, E> {
                Ok(Given::Number(v as f64))
            }
            fn visit_str<E>(self, v: &str) -> Result<Given, E> {
                Ok(Given::Text(v.to_owned()))
            }
        }
        deserializer.deserialize_any(Reader)
    }
}

impl JsonSchema for Given {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "Quantity".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        schemars::json_schema!({ "type": ["number", "string"] })
    }
}

/// A rate for this site, in the unit of its literature table: a number fixes it, an object gives a range to draw from.
#[derive(Debug, Clone, PartialEq)]
pub enum Rate {
    /// Fixed at this value.
    Fixed(f64),
    /// Drawn from this range.
    Range(RateRange),
}

/// Range of a rate, in the unit of its literature table.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RateRange {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Value of the central run.
    pub central: f64,
    /// Low end: a limit, or the 5 % point where the shape is normal or lognormal.
    pub low: f64,
    /// High end: a limit, or the 95 % point where the shape is normal or lognormal.
    pub high: f64,
    /// Shape of the distribution. Left out: the shape in the literature table.
    pub shape: Option<String>,
}

impl<'de> Deserialize<'de> for Rate {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Reader;
        impl<'de> Visitor<'de> for Reader {
            type Value = Rate;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(
                    "a number in the unit of the table, or an object with central, low, high and shape",
                )
            }
            fn visit_f64<E>(self, v: f64) -> Result<Rate, E> {
                Ok(Rate::Fixed(v))
            }
            fn visit_i64<E>(self, v: i64) -> Result<Rate, E> {
                Ok(Rate::Fixed(v as f64))
            }
            fn visit_u64<E>(self, v: u64) -> Result<Rate, E> {
                Ok(Rate::Fixed(v as f64))
            }
            fn visit_map<A: serde::de::MapAccess<'de>>(self, map: A) -> Result<Rate, A::Error> {
                RateRange::deserialize(serde::de::value::MapAccessDeserializer::new(map)).map(Rate::Range)
            }
        }
        deserializer.deserialize_any(Reader)
    }
}

impl JsonSchema for Rate {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "Rate".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let range = generator.subschema_for::<RateRange>();
        schemars::json_schema!({
            "description": "A number in the unit of the literature table fixes the rate; an object gives a range to draw from.",
            "anyOf": [{ "type": "number" }, range]
        })
    }
}
