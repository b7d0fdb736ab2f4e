//! The `loamledger` program: parse, answer, print, exit status.

use loamledger::cli;
use std::process::ExitCode;

fn main() -> ExitCode {
    let answered = cli::parse(std::env::args_os())
        .and_then(|arguments| cli::answer(&arguments))
        .and_then(|output| cli::print(&output));
    match answered {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => ExitCode::from(cli::explain(&failure)),
    }
}
