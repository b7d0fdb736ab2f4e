//! Opens the page in the browser of the person at the machine.

use std::io::{self, Write};
use std::process::{Command, Stdio};
use std::thread;
use tempfile::NamedTempFile;

/// Opens an address. The arguments of a program can be read by other users of the machine, so that the address goes into a file that only its
/// owner can read and that leads there; it is removed when the value is dropped.
///
/// # Errors
/// If the file cannot be written or the system has no way to open it.
pub(super) fn open(address: &str) -> io::Result<NamedTempFile> {
    let mut file = tempfile::Builder::new().prefix("loamledger-").suffix(".html").tempfile()?;
    let refresh = format!("<meta http-equiv=\"refresh\" content=\"0;url={address}\">");
    write!(file, "<!DOCTYPE html><meta charset=\"utf-8\">{refresh}<a href=\"{address}\">To the page</a>")?;
    file.flush()?;
    let (program, before): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("cmd", &["/C", "start", ""])
    } else {
        ("xdg-open", &[])
    };
    let mut started = Command::new(program)
        .args(before)
        .arg(file.path())
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    thread::Builder::new().spawn(move || started.wait())?;
    Ok(file)
}
