//! Output of an answer: its page or its JSON to standard output, its files to a folder.

use super::Output;
use super::failure::Failure;
use crate::quantity::Units;
use crate::report::chart::Chart;
use crate::report::clean::printable_json;
use crate::report::draw::{self, Picture};
use crate::report::files::{self, Fill, ResultFolder};
use crate::report::pages::verdict::sentence;
use crate::report::workbook::{self, WORKBOOK_FILE, WorkbookContents};
use crate::study::verdict::{Standing, Verdict};
use serde::Serialize;
use std::path::Path;

/// The result folder, created and tested before the long work.
///
/// # Errors
/// When it cannot be written to.
pub(super) fn folder(
    out: Option<&Path>,
    names: &[impl AsRef<Path>],
) -> Result<Option<ResultFolder>, Failure> {
    Ok(out.map(|path| ResultFolder::prepare(path, names)).transpose()?)
}

/// Writes files and pictures of charts if a folder is given, and lists them. The folder is created again if it was removed
/// during the work.
///
/// # Errors
/// When files cannot be made or written.
pub(super) fn written<'a, F: Fill>(
    folder: Option<&ResultFolder>,
    files: impl FnOnce() -> Result<Vec<(&'a str, F)>, Failure>,
    charts: impl FnOnce() -> Vec<Chart>,
) -> Result<Vec<String>, Failure> {
    let Some(folder) = folder else { return Ok(Vec::new()) };
    let (files, pictures) = (files()?, pictures(&charts())?);
    let named = files.iter().map(|(name, content)| (*name, content as &dyn Fill));
    let drawn = pictures.iter().map(|picture| (picture.name.as_str(), &picture.bytes as &dyn Fill));
    folder.write(&named.chain(drawn).collect::<Vec<_>>())?;
    let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
    Ok(vec![note(folder, &names, pictures.len() / draw::ENDINGS.len())])
}

/// Draws charts.
///
/// # Errors
/// When a picture cannot be made: our fault.
pub(super) fn pictures(charts: &[Chart]) -> Result<Vec<Picture>, Failure> {
    draw::pictures(charts).map_err(|error| Failure::Broken(error.into()))
}

/// The workbook as a file.
///
/// # Errors
/// When it cannot be made: our fault.
pub(super) fn book(contents: &WorkbookContents<'_>) -> Result<Picture, Failure> {
    let bytes = workbook::workbook(contents).map_err(|error| Failure::Broken(error.into()))?;
    Ok(Picture { name: WORKBOOK_FILE.to_owned(), bytes })
}

/// What was written, in a line.
pub(super) fn note(folder: &ResultFolder, files: &[&str], charts: usize) -> String {
    let charts = match charts {
        0 => String::new(),
        1 => format!(" and 1 chart (chart_*.{})", draw::ENDINGS.join(", chart_*.")),
        charts => format!(" and {charts} charts (chart_*.{})", draw::ENDINGS.join(", chart_*.")),
    };
    format!("wrote {}{charts} in {}", files.join(", "), folder.path().display())
}

/// That files of another question lie beside the new ones, if any do: they may be of another scenario.
pub(super) fn beside(folder: Option<&ResultFolder>, others: &[&str], of: &str) -> Option<String> {
    let others = folder?.holds(others);
    (!others.is_empty()).then(|| format!("not of this answer but of an earlier {of}: {}", others.join(", ")))
}

/// An answer as its page, or as JSON. Files that cannot be written do not cost the answer of long work: it is still shown.
///
/// # Errors
/// When it cannot be JSON: our fault; when files were not written.
pub(super) fn output(
    answer: &impl Serialize,
    page: String,
    as_json: bool,
    written: Result<Vec<String>, Failure>,
) -> Result<Output, Failure> {
    shown(if as_json { json(answer)? } else { page }, written)
}

/// A text with what was written of it; with the failure where nothing was.
///
/// # Errors
/// When files were not written.
pub(super) fn shown(text: String, written: Result<Vec<String>, Failure>) -> Result<Output, Failure> {
    match written {
        Ok(notes) => Ok(Output { text, notes }),
        Err(Failure::Write(error)) => Err(Failure::Unwritten { output: Output::text(text), error }),
        Err(failure) => Err(failure),
    }
}

/// The output of a site, or the same as a failure where the verdict is that the site fails.
///
/// # Errors
/// [`Failure::SiteFails`].
pub(super) fn judged(output: Output, verdict: &Verdict, units: Units) -> Result<Output, Failure> {
    match verdict.standing {
        Standing::Fails => Err(Failure::SiteFails { output, verdict: sentence(verdict, units) }),
        Standing::Works | Standing::AtRisk => Ok(output),
    }
}

/// Any answer as JSON.
///
/// # Errors
/// When it cannot be JSON: our fault.
pub(super) fn json(answer: &impl Serialize) -> Result<String, Failure> {
    let text = files::json_text(answer).map_err(|error| Failure::Broken(error.into()))?;
    Ok(printable_json(&text))
}
