//! The live page: what it answers, whom it refuses, and how it works in a browser.

mod answers;
mod browser;
mod checker;
mod chromium;
mod refused;

use loamledger::scenario::varied;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use tempfile::TempDir;

/// The mountain school over so many days, with 40 drums and all worms on the first day.
fn school(days: u32) -> String {
    let text = include_str!("../../scenarios/mountain_school.json");
    let plain = [("stock.arrives", "null"), ("stock.top_up", "[]"), ("drums.count", "40")]
        .map(|(key, value)| (key, value.to_owned()));
    let changes = plain.into_iter().chain([("days", days.to_string())]);
    changes.fold(text.to_owned(), |text, (key, value)| {
        varied("school.json", &text, key, &value).unwrap_or_else(|e| panic!("{e}"))
    })
}

/// A running `explore` in a folder of its own.
struct Served {
    child: Child,
    /// Host and port.
    host: String,
    /// Path with the secret, slashes at both ends.
    path: String,
    /// Folder with the scenario alone.
    folder: TempDir,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer over the wire.
#[derive(Debug)]
struct Reply {
    status: u16,
    head: String,
    body: String,
}

impl Served {
    fn of(text: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("school.json"), text).expect("written");
        let mut command = Command::new(env!("CARGO_BIN_EXE_loamledger"));
        command.current_dir(folder.path()).args(["explore", "school.json", "--no-open"]);
        let mut child =
            command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().expect("the program starts");
        let mut line = String::new();
        let mut output = BufReader::new(child.stdout.take().expect("a pipe"));
        output.read_line(&mut line).expect("it prints its address");
        let rest = line.trim().strip_prefix("http://").unwrap_or_else(|| panic!("no address: {line}"));
        let (host, path) = rest.split_once('/').expect("a path");
        Self { child, host: host.to_owned(), path: format!("/{path}"), folder }
    }

    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.host).expect("it listens");
        stream.set_read_timeout(Some(Duration::from_mins(1))).expect("a time limit");
        stream
    }

    /// What comes back for these bytes.
    fn raw(&self, bytes: &[u8]) -> Reply {
        let mut stream = self.connect();
        // it may answer and close before all is sent
        let _ = stream.write_all(bytes);
        read(&mut stream)
    }

    fn get(&self, path: &str) -> Reply {
        let (host, own) = (&self.host, &self.path);
        self.raw(format!("GET {own}{path} HTTP/1.1\r\nHost: {host}\r\n\r\n").as_bytes())
    }

    fn post(&self, path: &str, body: &str) -> Reply {
        let (host, own, length) = (&self.host, &self.path, body.len());
        let head = format!(
            "POST {own}{path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nContent-Type: application/json\r\nContent-Length: {length}"
        );
        self.raw(format!("{head}\r\n\r\n{body}").as_bytes())
    }

    /// The name by which the page calls its scenario.
    fn scenario(&self) -> String {
        let page = self.get("").body;
        let (_, rest) = page.split_once("data-of=\"").expect("the page names it");
        rest.split('"').next().expect("a name").to_owned()
    }

    /// A question about the scenario with changes, as JSON.
    fn question(&self, number: u64, changes: &str) -> String {
        format!(
            "{{\"tab\":\"t\",\"number\":{number},\"of\":\"{}\",\"changes\":{changes},\"draws\":10}}",
            self.scenario()
        )
    }

    fn lives(&mut self) -> bool {
        self.child.try_wait().expect("it can be asked").is_none()
    }

    /// Memory in use, MB. `None` where the system does not tell.
    fn memory(&self) -> Option<u64> {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
        line.trim().strip_suffix(" kB")?.trim().parse::<u64>().ok().map(|kb| kb / 1024)
    }
}

/// Reads an answer to its end; status 0 if the connection was closed without one.
fn read(stream: &mut TcpStream) -> Reply {
    let mut bytes = Vec::new();
    // a connection that was closed on us counts as the end
    let _ = stream.read_to_end(&mut bytes);
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
    let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or(0);
    Reply { status, head: head.to_lowercase(), body: body.to_owned() }
}

/// Names of the files in a folder.
fn files(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    let mut names: Vec<String> =
        entries.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}
