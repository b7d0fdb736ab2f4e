//! The command `mix`.

use super::Output;
use super::args::MixArguments;
use super::failure::Failure;
use super::results::json;
use crate::report::pages;
use crate::study::mix::{CarbonMissed, mix as solve};

/// Mixes parts and solves for the free ones.
///
/// # Errors
/// If a part is unknown or impossible, or the targets cannot be met.
pub fn mix(arguments: &MixArguments) -> Result<Output, Failure> {
    let targets: Vec<_> = [arguments.moisture, arguments.carbon_to_nitrogen, arguments.air_filled_porosity]
        .into_iter()
        .flatten()
        .collect();
    let answer = solve(&arguments.parts, &targets, arguments.ground).map_err(Failure::Mix)?;
    let text =
        if arguments.json { json(&answer)? } else { pages::mix::mix_text(&answer, arguments.units.into()) };
    let note = |missed: &CarbonMissed| {
        let CarbonMissed { id, stated, reached } = missed;
        format!("note: {id}: carbon of {stated} does not fit its other properties; {reached:.4} is used")
    };
    Ok(Output { text, notes: answer.carbon_missed.iter().map(note).collect() })
}
