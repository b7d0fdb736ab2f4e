//! Fitted files: the equally likely sites that a fit to a log left, from which a plan draws.

use super::error::{Fault, ScenarioError};
use super::file_kind::FileKind;
use super::locate::{Located, Part, byte_at};
use super::path::KeyPath;
use super::plan::Plan;
use super::read::bounded;
use super::read::message;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// What the file says it is.
const FORMAT: &str = "loamledger fitted sites";
/// Version of the format; a change that older programs cannot read raises it.
pub const FITTED_VERSION: u32 = 1;
const ALLOWED: &str = "a fitted.json written by `loamledger fit`";
const MAKE: &str = FileKind::Fitted.origin();

/// A file of fitted sites.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FittedFile {
    format: String,
    version: u32,
    /// Version of the program that wrote it.
    program: String,
    /// Hash of the text of the scenario.
    pub scenario: String,
    /// Hash of the text of the log.
    pub log: String,
    /// Name of the site.
    pub name: String,
    /// Date of the last line of the log.
    pub until: Date,
    /// Seed of the fit.
    pub seed: u64,
    /// The sites.
    pub sites: Fitted,
}

/// Equally likely sites.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fitted {
    /// Keys of the unknowns, sorted.
    pub keys: Vec<String>,
    /// Best estimate of each: its value at the mean of the sites on the scale of the fit.
    pub central: Vec<f64>,
    /// Values by site, in the order of the keys, in the units of the literature.
    pub members: Vec<Vec<f64>>,
}

impl FittedFile {
    /// The file of sites fitted to a log.
    pub fn new([scenario, log, name]: [&str; 3], until: Date, seed: u64, sites: Fitted) -> Self {
        Self {
            format: FORMAT.to_owned(),
            version: FITTED_VERSION,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            scenario: scenario.to_owned(),
            log: log.to_owned(),
            name: name.to_owned(),
            until,
            seed,
            sites,
        }
    }
}

impl Fitted {
    /// Place of a key. `None` if it is no unknown of the fit.
    pub fn place(&self, key: &str) -> Option<usize> {
        self.keys.binary_search_by(|known| known.as_str().cmp(key)).ok()
    }

    /// Best estimate of a key. `None` if it is no unknown of the fit.
    pub fn central(&self, key: &str) -> Option<f64> {
        self.place(key).map(|place| self.central[place])
    }

    /// The site of a draw: they take turns.
    ///
    /// # Panics
    /// Without sites, which no reader lets pass.
    pub fn site(&self, draw: u64) -> &[f64] {
        let count = self.members.len() as u64;
        &self.members[usize::try_from(draw % count).unwrap_or(0)]
    }
}

/// What every fitted file has, whatever its version.
#[derive(Deserialize)]
struct Head {
    format: String,
    version: u32,
}

impl Plan {
    /// The plan whose unknowns are those of fitted sites, in turn, with what they have in common as best estimate. `file` and
    /// `text` are name and text of the fitted file, `scenario` is the hash of the text of the scenario.
    ///
    /// # Errors
    /// [`ScenarioError`] if the text is no fitted file, or was fitted with another scenario or by another version of the program.
    pub fn with_fitted(&self, file: &str, text: &str, scenario: &str) -> Result<Self, ScenarioError> {
        let read = parse_fitted(file, text)?;
        if read.scenario != scenario {
            let hint = "fit the log again with this scenario, or give the scenario that it was fitted with";
            return Err(at_key(
                file,
                text,
                ("scenario", Part::Value),
                "is that of another scenario",
                scenario,
                hint,
            ));
        }
        Ok(self.clone().fitted_by(Some(&Arc::new(read.sites))))
    }

    /// The same plan drawn from fitted sites, which its name says; as it was without any. For variants of a scenario.
    #[must_use]
    pub fn fitted_by(mut self, sites: Option<&Arc<Fitted>>) -> Self {
        if let Some(sites) = sites {
            self.fitted = Some(Arc::clone(sites));
            self.choices.name.push_str(", fitted");
        }
        self
    }
}

fn at_key(
    file: &str,
    text: &str,
    (key, part): (&str, Part),
    problem: &str,
    allowed: &str,
    hint: &str,
) -> ScenarioError {
    let path = KeyPath::top(key);
    let fault = Fault::new(text, &path, Located::new(text).range(&path, part), problem);
    ScenarioError::faulty(file, text, vec![fault.allowed(allowed).hint(Some(hint.to_owned()))])
}

fn parse_fitted(file: &str, text: &str) -> Result<FittedFile, ScenarioError> {
    let text = bounded(file, text, FileKind::Fitted)?;
    let wrong = |error: &serde_json::Error| {
        let at = byte_at(text, error.line(), error.column()).min(text.len());
        let problem = format!("not a file of fitted sites: {}", message(error));
        let fault = Fault::new(text, &KeyPath::default(), at..at, problem);
        ScenarioError::faulty(file, text, vec![fault.allowed(ALLOWED).hint(Some(MAKE.to_owned()))])
    };
    let head: Head = serde_json::from_str(text).map_err(|e| wrong(&e))?;
    if head.format != FORMAT {
        let allowed = format!("\"{FORMAT}\"");
        return Err(at_key(
            file,
            text,
            ("format", Part::Value),
            "is not that of fitted sites",
            &allowed,
            MAKE,
        ));
    }
    if head.version != FITTED_VERSION {
        let problem = "was written by another version of the program";
        return Err(at_key(file, text, ("version", Part::Value), problem, &FITTED_VERSION.to_string(), MAKE));
    }
    let read: FittedFile = serde_json::from_str(text).map_err(|e| wrong(&e))?;
    let ours = env!("CARGO_PKG_VERSION");
    if read.program != ours {
        return Err(at_key(
            file,
            text,
            ("program", Part::Value),
            "is another version of the program",
            ours,
            MAKE,
        ));
    }
    let sites = &read.sites;
    let whole = |values: &[f64]| values.len() == sites.keys.len() && values.iter().all(|v| v.is_finite());
    let sound = sites.keys.is_sorted()
        && whole(&sites.central)
        && !sites.members.is_empty()
        && sites.members.iter().all(|member| whole(member));
    if sound {
        return Ok(read);
    }
    let problem = "does not hold a number for each key, sorted, and each site";
    Err(at_key(file, text, ("sites", Part::Key), problem, ALLOWED, MAKE))
}
