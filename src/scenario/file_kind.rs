//! The files that are read beside each other: what each is, where it comes from, and what to do if it cannot be read.

/// What a file is read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileKind {
    /// A scenario.
    Scenario,
    /// The state of a site on an evening.
    State,
    /// Fitted sites.
    Fitted,
    /// The log of a running site.
    Log,
}

impl FileKind {
    /// In words.
    pub(super) const fn what(self) -> &'static str {
        match self {
            Self::Scenario => "a scenario file",
            Self::State => "a state file",
            Self::Fitted => "a file of fitted sites",
            Self::Log => "a log",
        }
    }

    /// Where such a file comes from.
    pub(super) const fn origin(self) -> &'static str {
        match self {
            Self::Scenario => "`loamledger start FILE` writes a scenario to begin with",
            Self::State => "`loamledger run SCENARIO --save-state DATE=FILE` writes the state of an evening",
            Self::Fitted => "`loamledger fit SCENARIO --log FILE --out DIR` writes it as fitted.json",
            Self::Log => "a log is a CSV file that you keep; `loamledger log --help` shows its lines",
        }
    }

    /// What to do about a folder given in its place.
    pub(super) const fn in_folder(self) -> &'static str {
        match self {
            Self::Log => "name a .csv file inside it",
            _ => "name a .json file inside it",
        }
    }

    /// What to do about a file that is no text.
    pub(super) const fn as_text(self) -> &'static str {
        match self {
            Self::Log => {
                "this looks like a spreadsheet, a picture or another binary file; save the sheet as CSV with the encoding UTF-8"
            }
            _ => "this looks like a picture, a spreadsheet or another binary file; JSON text is expected",
        }
    }

    /// What to ask oneself about a file that is too large.
    pub(super) const fn usual_size(self) -> &'static str {
        match self {
            Self::Scenario => "is this the scenario file? a large one is about 20 kB",
            Self::State | Self::Fitted => "is this the right file?",
            Self::Log => "is this the log? ten lines a day for ten years are about 2 MB",
        }
    }
}
