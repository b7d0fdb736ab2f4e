//! One short function per command: load, compute, pass to the report.

use super::args::{CheckArguments, Command, RunArguments, SchemaArguments};
use super::failure::Failure;
use super::results::{self, json};
use super::{
    Output, compare, draws, drivers, explore, facts, fit, log, manual, merge, mix, narrow, proposal, rounds,
    size, start, state, verify, weigh,
};
use crate::report::chart::{ChartBands, RUN_CHARTS, run_charts};
use crate::report::files::uncertainty::UNCERTAINTY_FILES;
use crate::report::files::{self, RUN_FILES, ResultFolder};
use crate::report::pages;
use crate::report::workbook::{WORKBOOK_FILE, WorkbookContents};
use crate::scenario::{self, FileKind, Plan};
use crate::study;
use crate::study::answer::RunAnswer;
use crate::study::uncertainty::text_hash;
use std::path::Path;

/// Runs a command: loads, computes, shows and writes the answer.
///
/// # Errors
/// [`Failure`], which knows its exit status.
pub fn answer(command: &Command) -> Result<Output, Failure> {
    match command {
        Command::Start(arguments) => start::start(arguments),
        Command::Check(arguments) => check(arguments),
        Command::Run(arguments) => match arguments.draws.draws {
            Some(of) => draws::run(arguments, of),
            None => run(arguments, |plan| state::simulate(plan, &arguments.state)),
        },
        Command::Explore(arguments) => explore::explore(arguments),
        Command::Merge(arguments) => merge::merge(arguments),
        Command::Drivers(arguments) => drivers::drivers(arguments),
        Command::Size(arguments) => size::size(arguments),
        Command::Compare(arguments) => compare::compare(arguments),
        Command::Log(arguments) => log::log(arguments),
        Command::Fit(arguments) => fit::fit(arguments),
        Command::Weigh(arguments) => weigh::weigh(arguments),
        Command::Rounds(arguments) => rounds::rounds(arguments),
        Command::Proposal(arguments) => proposal::proposal(arguments),
        Command::Mix(arguments) => mix::mix(arguments),
        Command::Facts(arguments) => facts::facts(arguments),
        Command::Verify(arguments) => verify::verify(arguments),
        Command::Narrow(arguments) => narrow::narrow(arguments),
        Command::Schema(SchemaArguments { result: false }) => Ok(Output::text(json(&scenario::schema())?)),
        Command::Schema(SchemaArguments { result: true }) => {
            Ok(Output::text(json(&study::answer::schema())?))
        }
        Command::Completions(arguments) => manual::completions(arguments),
        Command::Man(arguments) => manual::man(arguments),
    }
}

/// Reads and checks a scenario file against the library.
///
/// # Errors
/// [`Failure::Scenario`] when the file cannot be read or is wrong.
pub(super) fn read(path: &Path) -> Result<Plan, Failure> {
    read_with_text(path).map(|(plan, _)| plan)
}

/// Reads and checks a scenario file; the second is the hash of its text.
///
/// # Errors
/// [`Failure::Scenario`] when the file cannot be read or is wrong.
pub(super) fn read_with_hash(path: &Path) -> Result<(Plan, String), Failure> {
    read_with_text(path).map(|(plan, text)| (plan, text_hash(&text)))
}

/// Reads and checks a scenario file; the second is its text.
///
/// # Errors
/// [`Failure::Scenario`] when the file cannot be read or is wrong.
pub(super) fn read_with_text(path: &Path) -> Result<(Plan, String), Failure> {
    let text = scenario::read_text(path, FileKind::Scenario)?;
    let plan = scenario::parse(&path.display().to_string(), &text)?;
    Ok((plan, text))
}

fn check(arguments: &CheckArguments) -> Result<Output, Failure> {
    let plan = read(&arguments.file)?;
    let meaning = study::check::check(&plan)?;
    Ok(Output::text(pages::plan::plan_text(&plan, &meaning, arguments.units.into())))
}

/// Reads a plan, tests the result folder, simulates, shows and writes the answer.
///
/// # Errors
/// When the file is wrong, the folder cannot be written, or the run fails.
fn run(
    arguments: &RunArguments,
    simulate: impl FnOnce(&Plan) -> Result<RunAnswer, Failure>,
) -> Result<Output, Failure> {
    let (plan, text, hash) = state::read(&arguments.file, arguments.state.from_state.as_deref())?;
    let (plan, _) = arguments.fitted.put(plan, &text, hash)?;
    let folder = results::folder(arguments.out.as_deref(), &files::with_charts(&ALL_FILES, &RUN_CHARTS))?;
    show_run(&simulate(&plan)?, &text, arguments, folder.as_ref())
}

/// Files of a run but its charts.
const ALL_FILES: [&str; 7] = {
    let [daily, beds, balance, years, result, page] = RUN_FILES;
    [daily, beds, balance, years, result, page, WORKBOOK_FILE]
};

/// The answer to a run as text, and its files where a folder is given.
fn show_run(
    answer: &RunAnswer,
    scenario: &str,
    arguments: &RunArguments,
    folder: Option<&ResultFolder>,
) -> Result<Output, Failure> {
    let units = arguments.shown.units.into();
    let page = pages::run::run_text(answer, units);
    let mut notes = Vec::new();
    if let Some(folder) = folder {
        let charts =
            if arguments.no_charts { Vec::new() } else { run_charts(answer, &ChartBands::default(), units) };
        let contents = WorkbookContents { central: answer, study: None, scenario, units };
        let mut beside = vec![results::book(&contents)?];
        beside.extend(results::pictures(&charts)?);
        folder.write_run(answer, &page, &beside)?;
        notes.push(results::note(folder, &ALL_FILES, charts.len()));
        notes.extend(results::beside(Some(folder), &UNCERTAINTY_FILES, "`run --draws`"));
    }
    let output = results::output(answer, page, arguments.shown.json, Ok(notes))?;
    results::judged(output, &answer.verdict, units)
}

#[cfg(test)]
mod tests {
    use super::super::args::{Shown, UnitsArgument};
    use super::*;
    use crate::report::files::WriteError;
    use crate::report::sample;
    use std::fs;

    fn arguments(folder: &Path, out: &str, json: bool) -> RunArguments {
        let file = folder.join("site.json");
        fs::write(&file, start::WorkedSite::HarbourHall.text()).unwrap();
        RunArguments {
            file,
            out: Some(folder.join(out)),
            shown: Shown { json, units: UnitsArgument::Si },
            state: state::StateArguments::default(),
            fitted: fit::FittedArgument::default(),
            draws: draws::DrawsArguments::default(),
            no_charts: true,
        }
    }

    #[test]
    fn a_file_in_the_way_of_the_results_stops_before_the_work() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("results"), "kept").unwrap();
        let asked = arguments(folder.path(), "results", false);
        let stopped = run(&asked, |_| panic!("the simulation must not begin"));
        let Err(failure) = stopped else { panic!("a file is no folder") };
        assert!(matches!(failure, Failure::Write(WriteError::NotAFolder { .. })), "{failure}");
        assert_eq!(failure.status(), 2);
        assert_eq!(fs::read_to_string(folder.path().join("results")).unwrap(), "kept");
    }

    #[test]
    fn results_on_standard_output_and_in_files_are_the_same() {
        let folder = tempfile::tempdir().unwrap();
        for (json, file) in [(true, "result.json"), (false, "run.txt")] {
            let asked = arguments(folder.path(), "new/results", json);
            let output = run(&asked, |plan| {
                assert_eq!(plan.days, 365);
                Ok(sample::answer())
            });
            let output = output.unwrap();
            let written = fs::read_to_string(folder.path().join("new/results").join(file)).unwrap();
            assert_eq!(output.text, written);
            assert!(output.notes[0].contains("daily.csv"), "{:?}", output.notes);
        }
    }

    #[test]
    fn a_failed_simulation_leaves_no_results() {
        let folder = tempfile::tempdir().unwrap();
        let asked = arguments(folder.path(), "results", false);
        let failed = run(&asked, |_| Err(Failure::Broken("the balance is open".into())));
        assert_eq!(failed.err().map(|failure| failure.status()), Some(3));
        assert_eq!(fs::read_dir(folder.path().join("results")).unwrap().count(), 0);
    }
}
