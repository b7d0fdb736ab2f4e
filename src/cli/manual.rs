//! Completions of shells and manual pages, from the definition of the arguments.

use super::args::{Arguments, CompletionsArguments, ManArguments};
use super::failure::Failure;
use super::{Output, results};
use crate::report::files::Fill;
use clap::{Command, CommandFactory};
use clap_mangen::Man;

/// Name of the program.
const NAME: &str = "loamledger";

/// The file by which a shell completes commands and options.
///
/// # Errors
/// [`Failure::Broken`] if it is not text: our fault.
pub fn completions(arguments: &CompletionsArguments) -> Result<Output, Failure> {
    let mut bytes = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), NAME, &mut bytes);
    text(bytes).map(Output::text)
}

/// The manual page of the program, or those of all commands as files.
///
/// # Errors
/// When the folder cannot be written.
pub fn man(arguments: &ManArguments) -> Result<Output, Failure> {
    // building the definition gives every command its whole name
    let mut whole = Arguments::command();
    whole.build();
    let commands: Vec<&Command> = std::iter::once(&whole).chain(whole.get_subcommands()).collect();
    let of_all: Vec<String> = commands.iter().map(|command| name(command)).collect();
    let Some(folder) = results::folder(arguments.out.as_deref(), &of_all)? else {
        return page(&whole).map(Output::text);
    };
    let pages = commands.into_iter().map(page).collect::<Result<Vec<String>, Failure>>()?;
    let files: Vec<(&str, &dyn Fill)> =
        of_all.iter().zip(&pages).map(|(name, page)| (name.as_str(), page as &dyn Fill)).collect();
    folder.write(&files)?;
    let note = format!("wrote {} manual pages to {}", files.len(), folder.path().display());
    Ok(Output { text: String::new(), notes: vec![note] })
}

/// Name of the file of a page: the program's, then the command's after a hyphen.
fn name(command: &Command) -> String {
    match command.get_name() {
        NAME => format!("{NAME}.1"),
        other => format!("{NAME}-{other}.1"),
    }
}

fn page(command: &Command) -> Result<String, Failure> {
    let mut bytes = Vec::new();
    Man::new(command.clone()).render(&mut bytes).map_err(|error| Failure::Broken(error.into()))?;
    text(bytes)
}

fn text(bytes: Vec<u8>) -> Result<String, Failure> {
    String::from_utf8(bytes).map_err(|error| Failure::Broken(error.into()))
}
