//! A run that goes on from a saved state, and saves states on the way.

use super::commands::read_with_text;
use super::failure::Failure;
use crate::report::files;
use crate::scenario::{self, FileKind, Plan};
use crate::study;
use crate::study::answer::RunAnswer;
use crate::study::uncertainty::text_hash;
use clap::Args;
use clap::error::ErrorKind;
use jiff::civil::Date;
use std::path::{Path, PathBuf};

/// A state to be saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SavedState {
    /// The evening.
    pub evening: Date,
    /// File to write.
    pub file: PathBuf,
}

/// Arguments of `run` about states.
#[derive(Debug, Clone, Default, PartialEq, Args)]
pub struct StateArguments {
    /// Go on from a state that --save-state wrote: the run begins on the morning after it
    ///
    /// With --draws the state is taken as known in every draw.
    #[arg(long, value_name = "FILE")]
    pub from_state: Option<PathBuf>,
    /// Save the state of the site on the evening of a day of the run; repeat for more. An existing file is not overwritten
    ///
    /// A run that goes on from the state with --from-state equals the uninterrupted run to the last digit.
    #[arg(long, value_name = "DATE=FILE", value_parser = saved, conflicts_with = "draws")]
    pub save_state: Vec<SavedState>,
}

fn saved(text: &str) -> Result<SavedState, String> {
    let Some((date, file)) = text.split_once('=').filter(|(_, file)| !file.is_empty()) else {
        return Err("has no file; write a date and a file, such as 2027-06-30=june.json".to_owned());
    };
    let evening =
        date.trim().parse().map_err(|_| format!("`{date}` is no date; write such as 2027-06-30"))?;
    Ok(SavedState { evening, file: PathBuf::from(file) })
}

/// The plan of a scenario file, from the morning after its state where one is given; the text of the scenario; and a hash of all that
/// was read.
///
/// # Errors
/// [`Failure::Scenario`] when a file cannot be read or is wrong, or the state does not belong to the scenario.
pub(super) fn read(scenario: &Path, state: Option<&Path>) -> Result<(Plan, String, String), Failure> {
    let (plan, text) = read_with_text(scenario)?;
    let Some(file) = state else {
        let hash = text_hash(&text);
        return Ok((plan, text, hash));
    };
    let state = scenario::read_text(file, FileKind::State)?;
    let plan = plan.continued(&file.display().to_string(), &state)?;
    let hash = text_hash(&format!("{text}\n{state}"));
    Ok((plan, text, hash))
}

/// Runs a plan with central values and writes the states asked for.
///
/// # Errors
/// When an evening is outside the run, the run fails or a file cannot be written.
pub(super) fn simulate(plan: &Plan, given: &StateArguments) -> Result<RunAnswer, Failure> {
    let last = plan.date(plan.days.saturating_sub(1));
    for saved in &given.save_state {
        if !(plan.start..=last).contains(&saved.evening) {
            let message = format!(
                "--save-state {}: is outside the run; allowed: {} to {last}\n",
                saved.evening, plan.start
            );
            return Err(Failure::Usage(clap::Error::raw(ErrorKind::ValueValidation, message)));
        }
    }
    let evenings: Vec<Date> = given.save_state.iter().map(|saved| saved.evening).collect();
    let (answer, states) = study::run_saving(plan, &evenings)?;
    for saved in &given.save_state {
        let Some(state) = states.iter().find(|state| state.evening == saved.evening) else { continue };
        let text = files::json_text(state).map_err(|error| Failure::Broken(error.into()))?;
        files::write_new(&saved.file, &text)?;
    }
    Ok(answer)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_evening_and_its_file_are_read() {
        let read = saved("2027-06-30=a=b.json").unwrap();
        assert_eq!(
            (read.evening.to_string().as_str(), read.file.as_path()),
            ("2027-06-30", Path::new("a=b.json"))
        );
        for (text, wanted) in
            [("2027-06-30", "has no file"), ("june=x.json", "is no date"), ("2027-06-30=", "has no file")]
        {
            assert!(saved(text).unwrap_err().contains(wanted), "{text}");
        }
    }
}
