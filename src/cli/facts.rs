//! The command `facts`.

use super::Output;
use super::args::FactsArguments;
use super::failure::Failure;
use super::results::json;
use crate::report::pages::facts::Facts;

/// Lists published numbers, or prints one in full.
///
/// # Errors
/// [`Failure::UnknownFact`] if no number has that key or mentions the words.
pub fn facts(arguments: &FactsArguments) -> Result<Output, Failure> {
    let filter = arguments.key.as_deref().unwrap_or_default();
    let found = if arguments.ingredients { Facts::find_ingredients(filter) } else { Facts::find(filter) };
    let facts = found.ok_or_else(|| Failure::UnknownFact {
        given: filter.to_owned(),
        nearest: Facts::nearest(filter).map(str::to_owned),
    })?;
    Ok(Output::text(if arguments.json { json(&facts.to_out())? } else { facts.to_text() }))
}
