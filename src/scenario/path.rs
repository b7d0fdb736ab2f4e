//! Where a value stands in the scenario file.

use std::fmt;

/// One step into the file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Step {
    /// A key of the schema.
    Key(String),
    /// A name the user chose: an ingredient, a rate.
    Entry(String),
    /// A place in a list, from zero.
    Index(usize),
}

/// The keys and places from the top of the file to a value; shown as `beds[1].area`.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct KeyPath(pub(super) Vec<Step>);

impl KeyPath {
    /// The path of a key at the top.
    pub(super) fn top(key: &str) -> Self {
        Self::default().key(key)
    }

    /// One key deeper.
    #[must_use]
    pub(super) fn key(&self, key: &str) -> Self {
        self.with(Step::Key(key.to_owned()))
    }

    /// One entry deeper.
    #[must_use]
    pub(super) fn entry(&self, name: &str) -> Self {
        self.with(Step::Entry(name.to_owned()))
    }

    /// One place deeper.
    #[must_use]
    pub(super) fn index(&self, place: usize) -> Self {
        self.with(Step::Index(place))
    }

    fn with(&self, step: Step) -> Self {
        let mut steps = self.0.clone();
        steps.push(step);
        Self(steps)
    }

    /// The row in the table of fields: places left out, entries as `*`.
    pub(super) fn pattern(&self) -> String {
        let keys = self.0.iter().filter_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Entry(_) => Some("*"),
            Step::Index(_) => None,
        });
        keys.collect::<Vec<_>>().join(".")
    }
}

impl fmt::Display for KeyPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, step) in self.0.iter().enumerate() {
            let dot = if i == 0 { "" } else { "." };
            match step {
                Step::Index(place) => write!(f, "[{place}]")?,
                Step::Key(name) | Step::Entry(name) if name.contains(['.', '[', ' ']) => {
                    write!(f, "{dot}\"{name}\"")?;
                }
                Step::Key(name) | Step::Entry(name) => write!(f, "{dot}{name}")?,
            }
        }
        Ok(())
    }
}
