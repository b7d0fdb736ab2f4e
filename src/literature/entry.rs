//! Rates: one published or assumed number with all that is known about it.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::quantity::{Shape, Uncertain, UncertainError, nearest};

use super::composition::{composition, composition_parts, figure};

/// The tables, in the order of [`entries`]: table name, file name, text.
const TABLES: [(&str, &str, &str); 9] = [
    ("fermentation", "fermentation.json", include_str!("fermentation.json")),
    ("fermentation", "own_fermentation.json", include_str!("own_fermentation.json")),
    ("bed", "bed.json", include_str!("bed.json")),
    ("bed", "own_bed.json", include_str!("own_bed.json")),
    ("worms", "worms.json", include_str!("worms.json")),
    ("worms", "own_worms.json", include_str!("own_worms.json")),
    ("site", "site.json", include_str!("site.json")),
    ("site", "own_site.json", include_str!("own_site.json")),
    ("feedstocks", "own_feedstocks.json", include_str!("own_feedstocks.json")),
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
    /// The mark as it stands in the tables.
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

/// One rate: a number with unit, range, shape, evidence and sources.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// `<table>.<id>`, unique over all tables.
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
    /// Remarks and where exactly it comes from; may be empty.
    pub note: String,
}

/// Why a table built into the library cannot be read; only a fault in the tables themselves brings one about.
#[derive(Debug)]
pub enum TableError {
    /// The file is not JSON of the expected form.
    Form {
        /// File name.
        file: &'static str,
        /// What the reader says.
        error: serde_json::Error,
    },
    /// A number, its range and its shape do not fit together.
    Number {
        /// File name.
        file: &'static str,
        /// Identifier of the row, and of the cell where there are several.
        id: String,
        /// The broken rule.
        error: UncertainError,
    },
    /// A shape of that name does not exist.
    Shape {
        /// File name.
        file: &'static str,
        /// Identifier of the row, and of the cell where there are several.
        id: String,
        /// The name given.
        shape: String,
    },
    /// Two rows have one key.
    Duplicate {
        /// File name in which the second one stands.
        file: &'static str,
        /// The key.
        key: String,
    },
    /// A row names no unit or no source.
    Bare {
        /// File name.
        file: &'static str,
        /// Identifier of the row, and of the cell where there are several.
        id: String,
    },
    /// The points of a curve do not rise along its first axis, or are fewer than two.
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
            Self::Number { file, id, error } => write!(f, "{file}: {id}: {error}"),
            Self::Shape { file, id, shape } => write!(f, "{file}: {id}: no shape is called \"{shape}\""),
            Self::Duplicate { file, key } => write!(f, "{file}: {key} is there twice"),
            Self::Bare { file, id } => write!(f, "{file}: {id} lacks its unit or its source"),
            Self::Points { file, id } => {
                write!(f, "{file}: {id}: points must rise along x and be two or more")
            }
        }
    }
}

impl std::error::Error for TableError {}

/// The number of a row or cell as the files hold it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Number<'a> {
    pub(super) central: f64,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) shape: &'a str,
}

impl Number<'_> {
    /// The checked number; the error names file and row.
    pub(super) fn check(self, file: &'static str, id: &str) -> Result<Uncertain, TableError> {
        let shape = Shape::from_name(self.shape).ok_or_else(|| TableError::Shape {
            file,
            id: id.to_owned(),
            shape: self.shape.to_owned(),
        })?;
        Uncertain::new(self.central, self.low, self.high, shape).map_err(|error| TableError::Number {
            file,
            id: id.to_owned(),
            error,
        })
    }
}

/// A row as the files hold it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawEntry {
    id: String,
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

/// Rows in file order with an index by key.
struct Rates {
    rows: Vec<Entry>,
    by_key: BTreeMap<String, usize>,
}

impl Rates {
    /// Reads the named tables; a key may stand once over all of them.
    fn read(tables: &[(&str, &'static str, &str)]) -> Result<Self, TableError> {
        let mut rates = Self { rows: Vec::new(), by_key: BTreeMap::new() };
        for &(table, file, text) in tables {
            let raw: Vec<RawEntry> =
                serde_json::from_str(text).map_err(|error| TableError::Form { file, error })?;
            for row in raw {
                let key = format!("{table}.{}", row.id);
                if row.unit.is_empty() || row.source.is_empty() {
                    return Err(TableError::Bare { file, id: row.id });
                }
                let number = Number { central: row.central, low: row.low, high: row.high, shape: &row.shape };
                let value = number.check(file, &row.id)?;
                if rates.by_key.insert(key.clone(), rates.rows.len()).is_some() {
                    return Err(TableError::Duplicate { file, key });
                }
                rates.rows.push(Entry {
                    key,
                    name: row.name,
                    unit: row.unit,
                    value,
                    evidence: row.evidence,
                    sources: row.source,
                    note: row.note.unwrap_or_default(),
                });
            }
        }
        Ok(rates)
    }
}

static RATES: LazyLock<Rates> = LazyLock::new(|| {
    Rates::read(&TABLES)
        .unwrap_or_else(|error| panic!("the rate tables built into the library are faulty: {error}"))
});

/// Every rate, table by table in file order; figures of ingredients stand in [`composition`](super::composition()).
pub fn entries() -> &'static [Entry] {
    &RATES.rows
}

/// The rate of that key, `<table>.<id>`, or the figure of an ingredient, `ingredients.<ingredient>.<figure>`.
pub fn entry(key: &str) -> Option<&'static Entry> {
    RATES.by_key.get(key).map(|&row| &RATES.rows[row]).or_else(|| figure(key))
}

/// The central value of the rate or figure of that key.
///
/// # Units
/// Those of the entry.
pub fn central(key: &str) -> Option<f64> {
    entry(key).map(|found| found.value.central())
}

/// The key most like a mistyped one, for a hint; none if nothing is near.
pub fn nearest_key(wrong: &str) -> Option<&'static str> {
    match composition_parts(wrong) {
        Some(_) => nearest(wrong, composition().iter().map(|figure| figure.key.as_str())),
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

    fn read(own: &str) -> Result<Rates, TableError> {
        let facts = format!("[{}]", row("a", "kg", 0.5, "triangular"));
        let own = format!("[{own}]");
        Rates::read(&[("bed", "bed.json", &facts), ("bed", "own_bed.json", &own)])
    }

    #[test]
    fn a_key_may_stand_once_over_both_files_of_a_table() {
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
    fn errors_name_file_and_row() {
        let error = read(&row("b", "kg", 1.5, "pert")).err().map(|error| error.to_string());
        assert_eq!(error.as_deref(), Some("own_bed.json: b: the low value 1.5 is above the central value 1"));
    }
}
