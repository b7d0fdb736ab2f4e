//! The bibliography: the source behind each key.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use super::entry::TableError;

/// How much of a source was seen when its numbers were taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SourceAccess {
    /// The text itself, often its abstract or first page only.
    Read,
    /// A copy or quotation by another.
    SecondHand,
    /// Not opened; recalled. The four reserved keys, which are no texts, have it too.
    Memory,
}

/// One source of numbers.
///
/// Four reserved keys name no text: `modelling_choice`, `recalled`, `trade_practice`, `derived_here`.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Key named by entries and cells.
    pub key: String,
    /// Authors, or the publishing body, or a remark that they are not known here.
    pub authors: String,
    /// Year, where known.
    pub year: Option<u16>,
    /// Title as printed; in square brackets, our words for what it is about.
    pub title: String,
    /// Journal, volume, pages, DOI, or where it was found.
    #[serde(rename = "where")]
    pub place: String,
    /// How much of it was seen.
    pub seen: SourceAccess,
}

/// Reads the bibliography; no two sources may have the same key.
fn read(file: &'static str, text: &str) -> Result<Vec<Source>, TableError> {
    let list: Vec<Source> = serde_json::from_str(text).map_err(|error| TableError::Form { file, error })?;
    for (position, source) in list.iter().enumerate() {
        if list[..position].iter().any(|earlier| earlier.key == source.key) {
            return Err(TableError::Duplicate { file, key: source.key.clone() });
        }
    }
    Ok(list)
}

static SOURCES: LazyLock<Vec<Source>> = LazyLock::new(|| {
    read("sources.json", include_str!("sources.json"))
        .unwrap_or_else(|error| panic!("the bibliography built into the library is faulty: {error}"))
});

/// Every source.
pub fn sources() -> &'static [Source] {
    &SOURCES
}

/// The source of that key.
pub fn source(key: &str) -> Option<&'static Source> {
    SOURCES.iter().find(|source| source.key == key)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_source_key_is_unique() {
        let one = r#"{ "key": "a", "authors": "b", "year": null, "title": "c", "where": "d", "seen": "second-hand" }"#;
        assert!(read("s", &format!("[{one}]")).is_ok());
        assert!(matches!(read("s", &format!("[{one},{one}]")), Err(TableError::Duplicate { .. })));
    }
}
