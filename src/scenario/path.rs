//! Place of a value in the scenario file.

use std::fmt;

/// One step into the file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Step {
    /// A key of an object.
    Key(String),
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
}

impl fmt::Display for KeyPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, step) in self.0.iter().enumerate() {
            let dot = if i == 0 { "" } else { "." };
            match step {
                Step::Index(place) => write!(f, "[{place}]")?,
                Step::Key(name) if name.contains(['.', '[', ' ']) => {
                    write!(f, "{dot}\"{name}\"")?;
                }
                Step::Key(name) => write!(f, "{dot}{name}")?,
            }
        }
        Ok(())
    }
}
