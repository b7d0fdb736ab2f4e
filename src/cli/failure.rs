//! Why a command gave no answer, and its exit status.

use super::Output;
use super::draws_failure::DrawsFailure;
use crate::process::recipe::amounts::RecipeError;
use crate::quantity::did_you_mean;
use crate::report::files::WriteError;
use crate::report::number::format_number;
use crate::scenario::{AssembleError, ScenarioError};
use crate::study::RunError;
use crate::study::ahead::AheadError;
use crate::study::fit::FitError;
use crate::study::mix::MixError;
use crate::study::sizing::SizingError;
use crate::study::what_if::WhatIfError;
use crate::verification::narrow::{LEAST_EFFECTIVE, NarrowError};
use std::error::Error;
use std::{fmt, io};

/// Hint of what only we can mend.
const REPORT_IT: &str = "this is a fault of the program, not of your input; please report it";
/// Hint where nothing has a name.
const ALL_FACTS: &str =
    "`loamledger facts` lists all rates, `loamledger facts --ingredients` all ingredients";
/// Hint where too few draws count.
const MORE_DRAWS: &str = "make more draws with --draws, or grant the model a larger error with --error-of-losses and --error-of-worms";

/// Why a command gave no answer.
#[derive(Debug)]
pub enum Failure {
    /// The command line is wrong, or help was asked for.
    Usage(clap::Error),
    /// The scenario file is wrong.
    Scenario(ScenarioError),
    /// A file or folder cannot be written.
    Write(WriteError),
    /// There is an answer, but its files cannot be written.
    Unwritten {
        /// The answer.
        output: Output,
        /// Why.
        error: WriteError,
    },
    /// Nothing published under this name.
    UnknownFact {
        /// The key or word given.
        given: String,
        /// The known name most like it. None if nothing is near.
        nearest: Option<String>,
    },
    /// A mix has no answer.
    Mix(MixError),
    /// No site is found.
    Sizing(SizingError),
    /// Nothing is compared.
    WhatIf(WhatIfError),
    /// A question about draws has no whole answer.
    Draws(Box<DrawsFailure>),
    /// A comparison was stopped: the draws made so far.
    Partial {
        /// What they say.
        output: Output,
        /// Draws of each site that were made.
        made: u64,
        /// Draws of each site that were asked for.
        asked: u64,
    },
    /// The site fails by its verdict: the answer is no.
    SiteFails {
        /// The whole answer.
        output: Output,
        /// The verdict in words.
        verdict: String,
    },
    /// No site that was tried meets its targets: the answer is no.
    NoSite {
        /// The whole answer, about the nearest site.
        output: Output,
        /// The answer in words.
        answer: String,
    },
    /// Some lines of a log are wrong: the answer of the others.
    LogLines {
        /// The answer.
        output: Output,
        /// The lines that are wrong.
        error: Box<ScenarioError>,
    },
    /// The questions were not all answered.
    Unanswered(io::Error),
    /// A log is not fitted.
    Fit(FitError),
    /// A log cannot be reached within the ranges of the unknowns: the answer is no.
    LogNotReached {
        /// The whole answer.
        output: Output,
        /// The kinds that are not reached, in words.
        kinds: String,
    },
    /// Coming days are not planned, or what to measure in them is not said.
    Rounds(AheadError),
    /// Standard output cannot be written.
    Output(io::Error),
    /// The live page cannot be served.
    Serving {
        /// Why.
        error: io::Error,
        /// Port asked for. None if any would do.
        port: Option<u16>,
    },
    /// Outside checks do not come out as they should: our fault.
    Unverified {
        /// The page.
        output: Output,
        /// Keys of those checks.
        broken: Vec<&'static str>,
    },
    /// Ranges are not narrowed.
    Narrowing(NarrowError),
    /// Too few draws count for ranges that may be shipped: the answer is no.
    TooThin {
        /// The whole answer.
        output: Output,
        /// Effective number of draws.
        effective: f64,
    },
    /// The model broke one of its own rules, such as the balance: our fault.
    Broken(Box<dyn Error + Send + Sync>),
}

impl Failure {
    /// Exit status: 0 help was asked for, 1 the answer is no, 2 the input is wrong, 3 our fault.
    pub fn status(&self) -> u8 {
        match self {
            Self::Usage(error) => u8::try_from(error.exit_code()).unwrap_or(2),
            Self::Mix(MixError::Recipe(RecipeError::Unreachable { .. } | RecipeError::NotTogether))
            | Self::Sizing(SizingError::Stopped(_))
            | Self::NoSite { .. }
            | Self::WhatIf(WhatIfError::Stopped)
            | Self::Partial { .. }
            | Self::Unanswered(_)
            | Self::LogNotReached { .. }
            | Self::Narrowing(NarrowError::Stopped | NarrowError::NoPrint)
            | Self::TooThin { .. }
            | Self::SiteFails { .. } => 1,
            Self::Sizing(SizingError::UnknownFigure(_) | SizingError::NoDraw(_))
            | Self::WhatIf(WhatIfError::NoDraw { .. })
            | Self::Unverified { .. }
            | Self::Narrowing(_)
            | Self::Broken(_) => 3,
            Self::Scenario(_)
            | Self::Write(_)
            | Self::Unwritten { .. }
            | Self::LogLines { .. }
            | Self::UnknownFact { .. }
            | Self::Mix(_)
            | Self::Sizing(_)
            | Self::WhatIf(_)
            | Self::Serving { .. }
            | Self::Output(_) => 2,
            Self::Draws(failure) => failure.status(),
            Self::Fit(error) => error.status(),
            Self::Rounds(error) => error.status(),
        }
    }

    /// The answer, if it is no or partial, was not written or failed a check. None if no part of it exists.
    pub fn partial_output(&self) -> Option<&Output> {
        match self {
            Self::Unwritten { output, .. }
            | Self::Unverified { output, .. }
            | Self::LogLines { output, .. }
            | Self::Partial { output, .. }
            | Self::NoSite { output, .. }
            | Self::LogNotReached { output, .. }
            | Self::TooThin { output, .. }
            | Self::SiteFails { output, .. } => Some(output),
            Self::Draws(failure) => match failure.as_ref() {
                DrawsFailure::Partial { output, .. } => Some(output),
                _ => None,
            },
            _ => None,
        }
    }

    /// What would help, a line each; may be empty.
    pub fn hints(&self) -> Vec<String> {
        match self {
            Self::Usage(_) | Self::Scenario(_) => Vec::new(),
            Self::LogLines { .. } => vec!["mend these lines; all others were used".to_owned()],
            Self::Write(error) | Self::Unwritten { error, .. } => vec![error.hint()],
            Self::UnknownFact { nearest, .. } => {
                let guess = nearest.as_ref().map(did_you_mean);
                guess.into_iter().chain([ALL_FACTS.to_owned()]).collect()
            }
            Self::Mix(MixError::UnknownIngredient { nearest, .. }) => {
                let guess = nearest.map(did_you_mean);
                let list = "`loamledger facts --ingredients` lists them; `water` may be used too";
                guess.into_iter().chain([list.to_owned()]).collect()
            }
            Self::Mix(MixError::Ingredient { .. }) => {
                vec!["figures are shares of dry mass, moisture of wet mass".to_owned()]
            }
            Self::Mix(MixError::Recipe(error)) => recipe_hints(error),
            Self::NoSite { .. } => {
                vec!["the page says why and what would help; a target may be loosened under `sizing.targets`, what the verdict allows under `verdict`".to_owned()]
            }
            Self::SiteFails { .. } => {
                vec!["the page says why; `loamledger size` seeks a site that works, `verdict` in the scenario sets what weighs".to_owned()]
            }
            Self::Partial { .. } => {
                vec![
                    "all differences use the draws made; let it run longer, or request fewer with --draws"
                        .to_owned(),
                ]
            }
            Self::Sizing(SizingError::UnknownFigure(_) | SizingError::NoDraw(_))
            | Self::WhatIf(WhatIfError::NoDraw { .. })
            | Self::Unverified { .. }
            | Self::Broken(_) => {
                vec![REPORT_IT.to_owned()]
            }
            Self::Narrowing(error) => vec![narrowing_hint(error).to_owned()],
            Self::TooThin { .. } => vec![MORE_DRAWS.to_owned()],
            Self::WhatIf(error) => what_if_hints(error),
            Self::Sizing(error) => sizing_hints(error),
            Self::Mix(MixError::NothingFree) => {
                vec!["write `ingredient=?` for the amount to be solved".to_owned()]
            }
            Self::Mix(MixError::NoTarget) => {
                vec!["add a target such as `--moisture 0.6`, or give the amount in kilograms".to_owned()]
            }
            Self::Draws(failure) => failure.hints(),
            Self::Unanswered(_) => {
                vec!["nothing was written; `loamledger start --help` shows the answers as options".to_owned()]
            }
            Self::Fit(error) => vec![error.hint()],
            Self::Rounds(error) => vec![error.hint()],
            Self::LogNotReached { .. } => vec![
                "check these lines and their units first; then give a setting that may be otherwise than planned a range in `rates` \
                 (`loamledger fit --help` lists them), or a kind a larger error of the model"
                    .to_owned(),
            ],
            Self::Output(_) => vec!["check the disk, or the program that reads the output".to_owned()],
            Self::Serving { port, .. } => vec![serving_hint(*port).to_owned()],
        }
    }
}

fn serving_hint(port: Option<u16>) -> &'static str {
    match port {
        Some(_) => "choose another with --port, or leave it out for any free one",
        None => "check whether this machine lets programs listen on 127.0.0.1",
    }
}

fn sizing_hints(error: &SizingError) -> Vec<String> {
    let hint = match error {
        SizingError::Stopped(known) => return known.hints(),
        SizingError::NoSettledYear { .. } => {
            "let `days` be 365 or more and `settled_year.most_years` 2 or more, or write the targets under `sizing.targets`"
        }
        SizingError::TooFewDraws { .. } => {
            "increase --draws and --verify, or lower the chance or the confidence"
        }
        _ => "check `sizing` and `rates` of the scenario",
    };
    vec![hint.to_owned()]
}

/// What helps where ranges were not narrowed.
const fn narrowing_hint(error: &NarrowError) -> &'static str {
    match error {
        NarrowError::Assemble(_) | NarrowError::Undrawn => REPORT_IT,
        NarrowError::Stopped => "let it run longer, or request fewer draws with --draws",
        NarrowError::NoPrint => {
            "make more draws with --draws: with few, no print seems to depend on these rates"
        }
    }
}

fn what_if_hints(error: &WhatIfError) -> Vec<String> {
    let figures = "figures of a run are fed, castings_screened, turned_away_share, stock_end and others";
    match error {
        WhatIfError::UnknownFigure { nearest, .. } => {
            let guess = nearest.map(did_you_mean);
            guess.into_iter().chain([figures.to_owned()]).collect()
        }
        WhatIfError::Stopped => vec!["let it run longer, or request fewer draws with --draws".to_owned()],
        _ => vec!["`loamledger compare --help` shows how keys and values are written".to_owned()],
    }
}

fn recipe_hints(error: &RecipeError) -> Vec<String> {
    match error {
        RecipeError::Impossible(_) => {
            vec!["moisture and porosity lie between 0 and 1, C:N is above 0".to_owned()]
        }
        RecipeError::NothingFixed => vec!["give at least one part in kilograms".to_owned()],
        RecipeError::Unreachable { best: Some(best), .. } => {
            vec![format!("the nearest these parts reach is {}; add another free part or ask for that", format_number(*best))]
        }
        RecipeError::Unreachable { best: None, .. } => vec!["add another free part".to_owned()],
        RecipeError::NotTogether => vec![
            "add a free part for each target, or loosen one: `>=0.3` asks for at least 0.3, `<=0.6` for at most 0.6"
                .to_owned(),
        ],
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Usage(error) => error.fmt(f),
            Self::Scenario(error) => error.fmt(f),
            Self::Write(error) | Self::Unwritten { error, .. } => error.fmt(f),
            Self::UnknownFact { given, .. } => {
                write!(f, "no rate or ingredient is named or mentions `{given}`")
            }
            Self::Mix(error) => error.fmt(f),
            Self::Sizing(error) => error.fmt(f),
            Self::WhatIf(error) => error.fmt(f),
            Self::Draws(failure) => failure.fmt(f),
            Self::Partial { made, asked, .. } => {
                write!(f, "the answer is partial: {made} of {asked} draws of each site were made")
            }
            Self::SiteFails { verdict, .. } => write!(f, "as planned, {verdict}"),
            Self::NoSite { answer, .. } => write!(f, "{answer}"),
            Self::LogLines { error, .. } => {
                write!(f, "lines of the log that are wrong and were not used: {}", error.faults().len())
            }
            Self::Unanswered(_) => write!(f, "the questions were not all answered"),
            Self::Fit(error) => error.fmt(f),
            Self::Rounds(error) => error.fmt(f),
            Self::LogNotReached { kinds, .. } => {
                write!(
                    f,
                    "the log cannot be reached within the ranges of the unknowns: {kinds}; no fitted.json is written"
                )
            }
            Self::Output(_) => write!(f, "standard output cannot be written"),
            Self::Serving { port: Some(port), .. } => write!(f, "the page cannot be served on port {port}"),
            Self::Serving { port: None, .. } => write!(f, "the page cannot be served"),
            Self::Unverified { broken, .. } => {
                write!(
                    f,
                    "{} outside checks do not come out as they should: {}",
                    broken.len(),
                    broken.join(", ")
                )
            }
            Self::Narrowing(error) => error.fmt(f),
            Self::TooThin { effective, .. } => write!(
                f,
                "only {} draws count, and ranges that are used need {}; narrowed.json is not written",
                format_number(effective.round()),
                format_number(LEAST_EFFECTIVE)
            ),
            Self::Broken(error) => error.fmt(f),
        }
    }
}

impl Error for Failure {
    /// The cause below the message; variants that only wrap an error pass its cause on, so that nothing is printed twice.
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            Self::Write(error) | Self::Unwritten { error, .. } => error.source(),
            Self::Draws(failure) => failure.source(),
            Self::Output(error) | Self::Unanswered(error) | Self::Serving { error, .. } => Some(error),
            Self::Broken(error) => error.source(),
            _ => None,
        }
    }
}

impl From<ScenarioError> for Failure {
    fn from(error: ScenarioError) -> Self {
        Self::Scenario(error)
    }
}

impl From<RunError> for Failure {
    fn from(error: RunError) -> Self {
        match error {
            RunError::Assemble(error) => error.into(),
            RunError::NotClosed(error) => Self::Broken(error.into()),
        }
    }
}

impl From<AssembleError> for Failure {
    /// A checked plan assembles: own ingredients that contradict themselves are found when the file is read.
    fn from(error: AssembleError) -> Self {
        Self::Broken(error.into())
    }
}

impl From<SizingError> for Failure {
    fn from(error: SizingError) -> Self {
        match error {
            SizingError::Run(error) => error.into(),
            error => Self::Sizing(error),
        }
    }
}

impl From<FitError> for Failure {
    fn from(error: FitError) -> Self {
        Self::Fit(error)
    }
}

impl From<AheadError> for Failure {
    fn from(error: AheadError) -> Self {
        match error {
            AheadError::Run(error) => error.into(),
            error => Self::Rounds(error),
        }
    }
}

impl From<WhatIfError> for Failure {
    fn from(error: WhatIfError) -> Self {
        match error {
            WhatIfError::Scenario(error) => Self::Scenario(error),
            error => Self::WhatIf(error),
        }
    }
}

impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Self {
        Self::Write(error)
    }
}
