//! Matter in files: an object of its entries by name, kg (charge entries in eq); entries of nothing are left out.

use super::material::{BASE, BUFFER, CALCIUM};
use super::{COMPONENTS, Component, ENTRIES, Material};
use serde::de::{Error, MapAccess, Visitor};
use serde::ser::SerializeMap;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// Name of an entry in files.
fn entry_name(entry: usize) -> &'static str {
    match entry {
        BASE => "base",
        BUFFER => "buffer",
        CALCIUM => "calcium",
        component => Component::ALL[component.min(COMPONENTS - 1)].name(),
    }
}

impl Serialize for Material {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(None)?;
        for (entry, amount) in self.0.iter().enumerate() {
            // a zero below zero is kept, so that numbers come back to the bit
            if amount.to_bits() != 0 {
                map.serialize_entry(entry_name(entry), amount)?;
            }
        }
        map.end()
    }
}

struct Entries;

impl<'de> Visitor<'de> for Entries {
    type Value = Material;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object with the kilograms of each component")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Material, A::Error> {
        let mut read = Material::zero();
        let mut seen = [false; ENTRIES];
        while let Some(name) = map.next_key::<String>()? {
            let Some(entry) = (0..ENTRIES).find(|&entry| entry_name(entry) == name) else {
                let known: Vec<&str> = (0..ENTRIES).map(entry_name).collect();
                let message = format!("unknown component `{name}`, expected one of {}", known.join(", "));
                return Err(A::Error::custom(message));
            };
            if std::mem::replace(&mut seen[entry], true) {
                return Err(A::Error::custom(format!("component `{name}` is given twice")));
            }
            read.0[entry] = map.next_value()?;
        }
        Ok(read)
    }
}

impl<'de> Deserialize<'de> for Material {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_map(Entries)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn matter_comes_back_to_the_bit() {
        let mut matter = Material::of(Component::Water, 0.1 + 0.2);
        matter[Component::Protein] = -0.0;
        *matter.calcium_mut() = 1.0 / 3.0;
        let text = serde_json::to_string(&matter).unwrap();
        assert_eq!(text, r#"{"water":0.30000000000000004,"protein":-0.0,"calcium":0.3333333333333333}"#);
        let read: Material = serde_json::from_str(&text).unwrap();
        assert_eq!(read.0.map(f64::to_bits), matter.0.map(f64::to_bits));
    }

    #[test]
    fn unknown_and_repeated_components_are_refused() {
        for (text, wanted) in [
            (r#"{"watter":1}"#, "unknown component `watter`, expected one of water, "),
            (r#"{"water":1,"water":2}"#, "component `water` is given twice"),
            (r#"{"water":"1"}"#, "expected f64"),
        ] {
            let error = serde_json::from_str::<Material>(text).unwrap_err().to_string();
            assert!(error.contains(wanted), "{error}");
        }
    }
}
