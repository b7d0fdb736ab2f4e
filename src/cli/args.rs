//! What may be typed. The help text is the reference.

use super::compare::{COMPARE_HELP, CompareArguments};
use super::draws::DrawsArguments;
use super::drivers::DriversArguments;
use super::explore::{EXPLORE_HELP, ExploreArguments};
use super::fit::{FIT_HELP, FitArguments, FittedArgument};
use super::log::{LogArguments, log_help};
use super::merge::{MERGE_HELP, MergeArguments};
use super::narrow::{NARROW_HELP, NarrowArguments};
use super::proposal::ProposalArguments;
use super::rounds::{ROUNDS_HELP, RoundsArguments};
use super::size::SizeArguments;
use super::start::StartArguments;
use super::state::StateArguments;
use super::verify::VerifyArguments;
use super::weigh::{WEIGH_HELP, WeighArguments};
use crate::matter::{Analysis, Property};
use crate::process::recipe::RecipeMeasure;
use crate::process::recipe::amounts::{RecipeTarget, Sense};
use crate::quantity::{self, Kind, Units};
use crate::study::mix::TypedPart;
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use std::path::PathBuf;

/// The end of every page of help.
const STATUS: &str = "Exit status: 0 answered; 1 no answer, part of one, or the answer is that the site fails, though the input is valid; 2 the input is wrong; \
                      3 a fault of the program.\nResults are written to standard output, all other messages to standard error.";

/// Mass-and-nutrient balance of a small site that ferments food scraps in drums and feeds them to worm beds
///
/// A scenario file describes what arrives and what equipment the site has; the program follows every kilogram from intake
/// to castings, day by day, and closes the balance.
#[derive(Debug, Clone, PartialEq, Parser)]
#[command(name = "loamledger", version, after_help = STATUS, max_term_width = 100)]
pub struct Arguments {
    /// What to do
    #[command(subcommand)]
    pub command: Command,
    /// Print results and errors only: no progress, no notes of files written
    #[arg(long, global = true)]
    pub quiet: bool,
}

/// What to do.
#[derive(Debug, Clone, PartialEq, Subcommand)]
pub enum Command {
    /// Write a first scenario from what you know of a site, or copy a worked site
    #[command(after_help = STATUS)]
    Start(StartArguments),
    /// Read a scenario; print what it means and every warning
    #[command(after_help = STATUS)]
    Check(CheckArguments),
    /// Simulate a site: balance, drums, beds, worms, castings, warnings
    #[command(after_help = STATUS)]
    Run(RunArguments),
    /// Explore a site in the browser: move a choice and see what becomes of it
    #[command(after_help = EXPLORE_HELP)]
    Explore(ExploreArguments),
    /// Merge partial results of `run --draws`
    #[command(after_help = MERGE_HELP)]
    Merge(MergeArguments),
    /// Find which unknowns matter most, and what to measure first
    #[command(after_help = STATUS)]
    Drivers(DriversArguments),
    /// Find the cheapest site that meets its targets
    #[command(after_help = STATUS)]
    Size(SizeArguments),
    /// Compare a site with variants of it, under the same simulated years
    #[command(after_help = COMPARE_HELP)]
    Compare(CompareArguments),
    /// Read the log of a site and compare it with the model
    #[command(after_help = log_help())]
    Log(LogArguments),
    /// Fit a scenario to the log of its site: what it teaches, and a narrower forecast
    #[command(after_help = FIT_HELP)]
    Fit(FitArguments),
    /// Say what to measure on a site, in order, before anything is measured
    #[command(after_help = WEIGH_HELP)]
    Weigh(WeighArguments),
    /// Plan the work of the coming days: a page for the wall, a calendar, lines of the next log
    #[command(after_help = ROUNDS_HELP)]
    Rounds(RoundsArguments),
    /// Write a document to hand over: results, charts, balance, uncertainty and sources
    #[command(after_help = STATUS)]
    Proposal(ProposalArguments),
    /// Moisture, C:N, porosity and pH of a mix; solves amounts for targets
    #[command(after_help = MIX_HELP)]
    Mix(MixArguments),
    /// Print published rates and ingredients with evidence and source
    #[command(after_help = STATUS)]
    Facts(FactsArguments),
    /// Compare the model with published results: every check, with differences and reasons
    #[command(after_help = STATUS)]
    Verify(VerifyArguments),
    /// Narrow the ranges of some rates by published trials: once for each version of the rates
    #[command(after_help = NARROW_HELP)]
    Narrow(NarrowArguments),
    /// Print the JSON Schema of scenario files, or of results
    #[command(after_help = STATUS)]
    Schema(SchemaArguments),
    /// Print a file by which a shell completes commands and options
    #[command(after_help = COMPLETIONS_HELP)]
    Completions(CompletionsArguments),
    /// Print the manual page of the program, or write those of all commands
    #[command(after_help = STATUS)]
    Man(ManArguments),
}

/// Help below the arguments of `completions`.
const COMPLETIONS_HELP: &str = "\
Example: loamledger completions bash > ~/.local/share/bash-completion/completions/loamledger";

/// Arguments of `completions`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Args)]
pub struct CompletionsArguments {
    /// Shell that completes
    #[arg(value_enum)]
    pub shell: Shell,
}

/// Arguments of `man`.
#[derive(Debug, Clone, PartialEq, Eq, Args)]
pub struct ManArguments {
    /// Folder for the pages of the program and of every command (loamledger.1, loamledger-run.1, ...); created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// Units of printed pages. Files and --json are always SI.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsArgument {
    /// Metric: kg, m2, m3, °C
    Si,
    /// US customary: lb, ft2, yd3, °F
    Us,
}

impl From<UnitsArgument> for Units {
    fn from(given: UnitsArgument) -> Self {
        match given {
            UnitsArgument::Si => Self::Si,
            UnitsArgument::Us => Self::Us,
        }
    }
}

/// Arguments of `schema`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Args)]
pub struct SchemaArguments {
    /// Print the schema of result.json as `run` writes it without --draws
    #[arg(long)]
    pub result: bool,
}

/// Arguments of `check`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct CheckArguments {
    /// Scenario file; - reads it from standard input
    pub file: PathBuf,
    /// Units of the printed page
    #[arg(long, value_enum, default_value = "si")]
    pub units: UnitsArgument,
}

/// Arguments of `run`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct RunArguments {
    /// Scenario file; - reads it from standard input
    pub file: PathBuf,
    /// Folder for result files (daily.csv, beds_daily.csv, balance.csv, years.csv, result.json, run.txt, workbook.xlsx, charts); created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// State of the site from which the run goes on.
    #[command(flatten)]
    pub state: StateArguments,
    /// Sites of a fit.
    #[command(flatten)]
    pub fitted: FittedArgument,
    /// Leave the charts (chart_*.svg, chart_*.png) out of the result files
    #[arg(long)]
    pub no_charts: bool,
    /// How the answer is shown.
    #[command(flatten)]
    pub shown: Shown,
    /// Draws.
    #[command(flatten)]
    pub draws: DrawsArguments,
}

/// How an answer is shown.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct Shown {
    /// Print the whole answer as JSON instead of the page
    #[arg(long)]
    pub json: bool,
    /// Units of the page, the charts and the workbook; other files and JSON are always SI
    #[arg(long, value_enum, default_value = "si")]
    pub units: UnitsArgument,
}

/// Arguments of `facts`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct FactsArguments {
    /// Key of a rate (such as bed.decay_rate_protein) or an ingredient for all about it, or words to search for
    pub key: Option<String>,
    /// Print as JSON, with full references
    #[arg(long)]
    pub json: bool,
    /// Ingredients instead of rates
    #[arg(long)]
    pub ingredients: bool,
}

/// Help below the arguments of `mix`.
const MIX_HELP: &str = "\
A part is INGREDIENT=AMOUNT, with what you have measured after commas (shares of dry mass; moisture of wet mass):
  food_waste_restaurant=100            100 kg
  food_waste_restaurant=220lb          a mass with its unit
  cardboard_corrugated=?               the least that reaches the targets
  leaves_autumn=?,moisture=0.35        with the moisture measured
Names are those of `ingredients` in a scenario: moisture, nitrogen, ash, ph and more. `water` is an ingredient too.

A target is a number to be met exactly, or `>=0.3` for at least, `<=0.6` for at most (quote them for the shell).

Example: loamledger mix grass_clippings=10 leaves_autumn=?,moisture=0.35 --moisture 0.6";

/// Arguments of `mix`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct MixArguments {
    /// Parts of the mix
    #[arg(required = true, value_name = "INGREDIENT=AMOUNT", value_parser = part)]
    pub parts: Vec<TypedPart>,
    /// Wanted moisture, kg water per kg wet mass
    #[arg(long, value_name = "SHARE", value_parser = |text: &str| target(RecipeMeasure::Moisture, text))]
    pub moisture: Option<RecipeTarget>,
    /// Wanted carbon to nitrogen ratio
    #[arg(long, value_name = "RATIO", value_parser = |text: &str| target(RecipeMeasure::CarbonToNitrogen, text))]
    pub carbon_to_nitrogen: Option<RecipeTarget>,
    /// Wanted air-filled porosity, m3 air per m3 bulk
    #[arg(long, value_name = "SHARE", value_parser = |text: &str| target(RecipeMeasure::AirFilledPorosity, text))]
    pub air_filled_porosity: Option<RecipeTarget>,
    /// Scraps are ground to paste, which flows into the pores of bulking
    #[arg(long)]
    pub ground: bool,
    /// Print the answer as JSON
    #[arg(long)]
    pub json: bool,
    /// Units of the printed page; JSON is always SI
    #[arg(long, value_enum, default_value = "si")]
    pub units: UnitsArgument,
}

/// A plain number in the documented unit, or a text with a unit.
fn number(kind: Kind, text: &str) -> Result<f64, String> {
    let value = match text.parse::<f64>() {
        Ok(value) => value,
        Err(_) => quantity::parse(kind, text).map_err(|error| error.to_string())?,
    };
    if value.is_finite() { Ok(value) } else { Err(format!("`{text}` is not a finite number")) }
}

fn part(text: &str) -> Result<TypedPart, String> {
    let mut words = text.split(',');
    let first = words.next().unwrap_or_default();
    let Some((id, amount)) = first.split_once('=') else {
        return Err(format!("has no amount; write `{first}=10` for 10 kg or `{first}=?` to solve for it"));
    };
    let amount = match amount.trim() {
        "?" => None,
        amount => Some(number(Kind::Mass, amount)?),
    };
    if amount.is_some_and(|kg| kg < 0.0) {
        return Err("the amount is below zero".to_owned());
    }
    let mut measured = Analysis::default();
    for text in words {
        let (property, value) = measurement(text)?;
        measured[property] = Some(value);
    }
    Ok(TypedPart { id: id.trim().to_owned(), amount, measured })
}

fn measurement(text: &str) -> Result<(Property, f64), String> {
    let measurable = || Property::ALL.into_iter().filter(|property| property.given().is_some());
    let allowed = || measurable().map(Property::name).collect::<Vec<_>>().join(", ");
    let Some((name, value)) = text.split_once('=') else {
        return Err(format!("`{text}` is not a property; write `name=value`, names are {}", allowed()));
    };
    let name = name.trim();
    let property = measurable()
        .find(|property| property.name() == name)
        .ok_or_else(|| format!("no property is named `{name}`; allowed: {}", allowed()))?;
    Ok((property, number(property.kind(), value.trim())?))
}

fn target(measure: RecipeMeasure, text: &str) -> Result<RecipeTarget, String> {
    let text = text.trim();
    let (sense, rest) = if let Some(rest) = text.strip_prefix(">=") {
        (Sense::AtLeast, rest)
    } else if let Some(rest) = text.strip_prefix("<=") {
        (Sense::AtMost, rest)
    } else {
        (Sense::Exactly, text)
    };
    let kind = match measure {
        RecipeMeasure::Moisture | RecipeMeasure::AirFilledPorosity => Kind::Share,
        RecipeMeasure::CarbonToNitrogen => Kind::Ratio,
    };
    Ok(RecipeTarget::new(measure, sense, number(kind, rest.trim())?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_is_sound_and_every_argument_has_help() {
        let command = Arguments::command();
        command.clone().debug_assert();
        for sub in command.get_subcommands() {
            assert!(sub.get_about().is_some(), "{}", sub.get_name());
            for argument in sub.get_arguments() {
                assert!(argument.get_help().is_some(), "{} {}", sub.get_name(), argument.get_id());
            }
        }
    }

    #[test]
    fn parts_carry_amounts_units_and_figures() {
        let wet = part("leaves_autumn=?,moisture=25%,nitrogen=0.0075").unwrap();
        assert_eq!((wet.id.as_str(), wet.amount), ("leaves_autumn", None));
        let expected = Analysis::default().with(Property::Moisture, 0.25).with(Property::Nitrogen, 0.0075);
        assert_eq!(wet.measured, expected);
        // one pound is 0.45359237 kg by definition
        assert!((part("bread=20lb").unwrap().amount.unwrap() - 9.071_847_4).abs() < 1e-9);
    }

    #[test]
    fn wrong_parts_say_what_is_allowed() {
        for (text, wanted) in [
            ("bread", "`bread=10`"),
            ("bread=-1", "below zero"),
            ("bread=1,colour=3", "allowed: moisture"),
            ("bread=1,moisture", "name=value"),
            ("bread=ten", "number"),
            ("bread=inf", "finite"),
            ("bread=3 m3", "measures volume"),
        ] {
            let error = part(text).unwrap_err();
            assert!(error.contains(wanted), "{text}: {error}");
        }
    }

    #[test]
    fn targets_bind_as_their_sign_says() {
        let senses = ["0.6", ">=60%", "<= 0.6"].map(|text| target(RecipeMeasure::Moisture, text).unwrap());
        assert_eq!(senses.map(|t| t.sense), [Sense::Exactly, Sense::AtLeast, Sense::AtMost]);
        assert!(senses.iter().all(|t| (t.value - 0.6).abs() < 1e-12));
    }
}
