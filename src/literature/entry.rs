//! Rates: published or assumed numbers, each with unit, range, evidence and sources.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::quantity::{Shape, Uncertain, UncertainError, nearest};

use super::ingredients::{composition, composition_parts, figure};

/// The tables, in the order of [`entries`]: table name, file name, text.
const TABLES: [(&str, &str, &str); 10] = [
    ("fermentation", "fermentation.json", include_str!("fermentation.json")),
    ("fermentation", "own_fermentation.json", include_str!("own_fermentation.json")),
    ("bed", "bed.json", include_str!("bed.json")),
    ("bed", "own_bed.json", include_str!("own_bed.json")),
    ("worms", "worms.json", include_str!("worms.json")),
    ("worms", "own_worms.json", include_str!("own_worms.json")),
    ("site", "site.json", include_str!("site.json")),
    ("site", "own_site.json", include_str!("own_site.json")),
    ("feedstocks", "own_feedstocks.json", include_str!("own_feedstocks.json")),
    ("log", "own_log.json", include_str!("own_log.json")),
];

/// How well a number is founded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Evidence {
    /// Seen in a retrieved text.
    Read,
    /// Seen re-printed by another; the first text was not opened.
    SecondHand,
    /// Recalled, not seen, unverified.
    Memory,
    /// Computed from other numbers.
    Derived,
    /// A modelling choice without a source.
    Assumed,
    /// Common in the trade, no published source.
    Practice,
}

impl Evidence {
    /// Name in the tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::SecondHand => "second-hand",
            Self::Memory => "memory",
            Self::Derived => "derived",
            Self::Assumed => "assumed",
            Self::Practice => "practice",
        }
    }
}

impl fmt::Display for Evidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A published or assumed number: a rate, or a property of an ingredient.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// `<table>.<id>`, or `ingredients.<ingredient>.<property>`; unique over all tables.
    pub key: String,
    /// What the number is, in words.
    pub name: String,
    /// Unit as printed in the table.
    pub unit: String,
    /// The number, its range and shape, in `unit`.
    pub value: Uncertain,
    /// How well it is founded.
    pub evidence: Evidence,
    /// Keys of [`sources`](super::sources()).
    pub sources: Vec<String>,
    /// Remarks and the exact origin; may be empty.
    pub note: String,
}

impl Entry {
    /// Whether it is a share of the organic matter, not of the dry mass.
    pub fn is_of_organic_matter(&self) -> bool {
        self.unit.ends_with("organic matter")
    }
}

/// Why a table built into the library cannot be read; only a fault in the tables themselves can cause it.
#[derive(Debug)]
pub enum TableError {
    /// The file is not JSON of the expected form.
    Form {
        /// File name.
        file: &'static str,
        /// What the JSON reader reports.
        error: serde_json::Error,
    },
    /// A number, its range and its shape do not fit together.
    Number {
        /// File name.
        file: &'static str,
        /// Key of the number.
        key: String,
        /// The broken rule.
        error: UncertainError,
    },
    /// No shape has that name.
    Shape {
        /// File name.
        file: &'static str,
        /// Key of the number.
        key: String,
        /// The unknown name.
        shape: String,
    },
    /// Two rows have the same key.
    Duplicate {
        /// File name of the second one.
        file: &'static str,
        /// The key.
        key: String,
    },
    /// A number has no unit or no source.
    Bare {
        /// File name.
        file: &'static str,
        /// Key of the number.
        key: String,
    },
    /// An ingredient has a figure of a property that does not exist.
    Property {
        /// File name.
        file: &'static str,
        /// Key of the figure.
        key: String,
    },
    /// The points of a curve do not rise along x, or are fewer than two.
    Points {
        /// File name.
        file: &'static str,
        /// Identifier of the curve.
        id: String,
    },
}

impl fmt::Display for TableError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Form { file, error } => write!(f, "{file}: {error}"),
            Self::Number { file, key, error } => write!(f, "{file}: {key}: {error}"),
            Self::Shape { file, key, shape } => write!(f, "{file}: {key}: no shape is called \"{shape}\""),
            Self::Duplicate { file, key } => write!(f, "{file}: two rows have the key {key}"),
            Self::Bare { file, key } => write!(f, "{file}: {key} has no unit or no source"),
            Self::Property { file, key } => write!(f, "{file}: {key} is not a property of the table"),
            Self::Points { file, id } => {
                write!(f, "{file}: {id} needs two or more points that rise along x")
            }
        }
    }
}

impl std::error::Error for TableError {}

/// A row of a table, or a property of an ingredient, as in the files. A property has no `id` and no `name`: both follow from its
/// place in the file.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawEntry {
    #[serde(default)]
    id: String,
    #[serde(default)]
    name: String,
    unit: String,
    central: f64,
    low: f64,
    high: f64,
    shape: String,
    evidence: Evidence,
    source: Vec<String>,
    note: Option<String>,
}

impl RawEntry {
    /// The checked entry; an error names file and key.
    pub(super) fn check(self, file: &'static str, key: String, name: String) -> Result<Entry, TableError> {
        if self.unit.is_empty() || self.source.is_empty() {
            return Err(TableError::Bare { file, key });
        }
        let Some(shape) = Shape::from_name(&self.shape) else {
            return Err(TableError::Shape { file, key, shape: self.shape });
        };
        match Uncertain::new(self.central, self.low, self.high, shape) {
            Ok(value) => Ok(Entry {
                key,
                name,
                unit: self.unit,
                value,
                evidence: self.evidence,
                sources: self.source,
                note: self.note.unwrap_or_default(),
            }),
            Err(error) => Err(TableError::Number { file, key, error }),
        }
    }
}

/// Rows in file order with an index by key.
struct RateTable {
    rows: Vec<Entry>,
    by_key: BTreeMap<String, usize>,
}

impl RateTable {
    /// Reads the named tables; no two rows may have the same key.
    fn read(tables: &[(&str, &'static str, &str)]) -> Result<Self, TableError> {
        let mut rates = Self { rows: Vec::new(), by_key: BTreeMap::new() };
        for &(table, file, text) in tables {
            let raw: Vec<RawEntry> =
                serde_json::from_str(text).map_err(|error| TableError::Form { file, error })?;
            for mut row in raw {
                let key = format!("{table}.{}", row.id);
                if rates.by_key.insert(key.clone(), rates.rows.len()).is_some() {
                    return Err(TableError::Duplicate { file, key });
                }
                let name = std::mem::take(&mut row.name);
                rates.rows.push(row.check(file, key, name)?);
            }
        }
        Ok(rates)
    }
}

static RATES: LazyLock<RateTable> = LazyLock::new(|| {
    RateTable::read(&TABLES)
        .unwrap_or_else(|error| panic!("the rate tables built into the library are faulty: {error}"))
});

/// Every rate, table by table in file order; [`composition`](super::composition()) has the properties of ingredients.
pub fn entries() -> &'static [Entry] {
    &RATES.rows
}

/// The rate of that key, `<table>.<id>`, or the property of an ingredient, `ingredients.<ingredient>.<property>`.
pub fn entry(key: &str) -> Option<&'static Entry> {
    RATES.by_key.get(key).map(|&row| &RATES.rows[row]).or_else(|| figure(key))
}

/// The central value of that key, in the unit of its entry.
pub fn central(key: &str) -> Option<f64> {
    entry(key).map(|found| found.value.central())
}

/// The key most like a mistyped one, for a hint; None if nothing is near.
pub fn nearest_key(wrong: &str) -> Option<&'static str> {
    match composition_parts(wrong) {
        Some(_) => nearest(wrong, composition().map(|entry| entry.key.as_str())),
        None => nearest(wrong, RATES.by_key.keys().map(String::as_str)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(id: &str, unit: &str, low: f64, shape: &str) -> String {
        format!(
            r#"{{ "id": "{id}", "name": "n", "unit": "{unit}", "central": 1, "low": {low}, "high": 2,
            "shape": "{shape}", "evidence": "second-hand", "source": ["recalled"], "note": "" }}"#
        )
    }

    fn read(own: &str) -> Result<RateTable, TableError> {
        let facts = format!("[{}]", row("a", "kg", 0.5, "triangular"));
        let own = format!("[{own}]");
        RateTable::read(&[("bed", "bed.json", &facts), ("bed", "own_bed.json", &own)])
    }

    #[test]
    fn a_key_is_unique_over_both_files_of_a_table() {
        assert!(read(&row("b", "kg", 0.5, "pert")).is_ok_and(|rates| rates.rows.len() == 2));
        let twice = read(&row("a", "kg", 0.5, "pert"));
        assert!(matches!(twice, Err(TableError::Duplicate { file: "own_bed.json", key }) if key == "bed.a"));
    }

    #[test]
    fn faulty_rows_are_refused_by_kind() {
        assert!(matches!(read(&row("b", "", 0.5, "pert")), Err(TableError::Bare { .. })));
        assert!(matches!(read(&row("b", "kg", 0.5, "range")), Err(TableError::Shape { .. })));
        assert!(matches!(read(&row("b", "kg", 1.5, "pert")), Err(TableError::Number { .. })));
        assert!(matches!(read(r#"{ "id": "b", "colour": "red" }"#), Err(TableError::Form { .. })));
    }

    #[test]
    fn errors_name_file_and_key() {
        let error = read(&row("b", "kg", 1.5, "pert")).err().map(|error| error.to_string());
        assert_eq!(
            error.as_deref(),
            Some("own_bed.json: bed.b: the low value 1.5 is above the central value 1")
        );
    }
}
