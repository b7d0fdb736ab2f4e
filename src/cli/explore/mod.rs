//! The command `explore`: one live page on the loopback address, for the person at this machine alone.
//!
//! `server` bounds connections, `gate` lets in whoever holds the secret, `routes` reads requests, `desk` answers them on the threads
//! of `line`.

mod browser;
mod desk;
mod gate;
mod line;
mod routes;
mod server;

use super::commands::read_with_text;
use super::failure::Failure;
use super::{Output, print, progress};
use crate::study::explore::Base;
use clap::Args;
use desk::Desk;
use gate::Gate;
use routes::{Pace, Routes};
use std::io;
use std::net::{Ipv4Addr, TcpListener};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Instant;

/// Help below the arguments of `explore`.
pub(super) const EXPLORE_HELP: &str = "\
The page is served on this machine only, under an address with a secret that is made anew each time; who does not hold it gets nothing. It needs no
network, reads no other file and writes none: a variant that you save goes through your browser. Ctrl-C ends it.

Exit status: 0 ended by Ctrl-C; 2 the file is wrong or the port is taken; 3 a fault of the program.
The address is written to standard output, all other messages to standard error.";

/// Arguments of `explore`.
#[derive(Debug, Clone, PartialEq, Eq, Args)]
pub struct ExploreArguments {
    /// Scenario file; - reads it from standard input
    pub file: PathBuf,
    /// Do not open the browser; the address is printed all the same
    #[arg(long)]
    pub no_open: bool,
    /// Port to listen on [default: any free one]
    #[arg(long, value_name = "PORT", value_parser = clap::value_parser!(u16).range(1..))]
    pub port: Option<u16>,
}

/// Serves the page until Ctrl-C.
///
/// # Errors
/// [`Failure::Scenario`] when the file is wrong, [`Failure::Serving`] when the system does not let us serve.
pub(super) fn explore(arguments: &ExploreArguments) -> Result<Output, Failure> {
    let file = arguments.file.display().to_string();
    // faults name the file as typed, the page its name alone
    let (plan, text) = read_with_text(&arguments.file)?;
    let name =
        arguments.file.file_name().map_or_else(|| file.clone(), |name| name.to_string_lossy().into_owned());
    let base = Base::of(&name, &text, plan);
    let serving = |error| Failure::Serving { error, port: arguments.port };
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, arguments.port.unwrap_or(0))).map_err(serving)?;
    let port = listener.local_addr().map_err(serving)?.port();
    let gate = Gate::new(port).map_err(|error| serving(io::Error::other(error.to_string())))?;
    let address = gate.address();
    let desk = Arc::new(Desk::new(&file, base).map_err(serving)?);
    let routes = Arc::new(Routes { gate, desk, pace: Pace::new(Instant::now()) });
    let stop = progress::stop_on_interrupt();
    let mut notes = vec!["the page is served on this machine only; Ctrl-C ends it".to_owned()];
    let opened = if arguments.no_open { None } else { Some(browser::open(&address)) };
    if let Some(Err(error)) = &opened {
        notes.push(format!("no browser could be opened ({error}): open this address yourself"));
    }
    print(&Output { text: format!("{address}\n"), notes })?;
    server::serve(listener, &routes, &stop).map_err(serving)?;
    Ok(Output::default())
}
