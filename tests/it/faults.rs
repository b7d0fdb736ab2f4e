//! Faults around the program, and sites at the ends of their ranges: what was there stays whole, what was found is still printed.

use crate::cli::loamledger;
use crate::sound;
use loamledger::report::files::ResultFolder;
use loamledger::scenario::varied;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use std::{fs, thread};

/// The site with the shortest run, for what is started many times.
fn small_site(folder: &Path) {
    let text = include_str!("../../scenarios/mountain_school.json");
    let changes = [("days", "60"), ("stock.top_up", "[]")];
    let text = changes.iter().fold(text.to_owned(), |text, (key, value)| {
        varied("site.json", &text, key, value).unwrap_or_else(|e| panic!("{e}"))
    });
    fs::write(folder.join("site.json"), text).expect("written");
}

/// Commands with arguments that give an answer. `verify`, which takes longest, prints its answer as they all do.
const ANSWERED: [&[&str]; 12] = [
    &["--help"],
    &["--version"],
    &["size", "--help"],
    &["check", "site.json"],
    &["run", "site.json"],
    &["run", "site.json", "--json"],
    &["run", "site.json", "--draws", "2"],
    &["compare", "site.json", "--vary", "drums.count=3,4", "--draws", "2"],
    &["mix", "bread=1", "cardboard_corrugated=1"],
    &["facts"],
    &["facts", "--ingredients"],
    &["schema"],
];

fn start(folder: &Path, arguments: &[&str]) -> Child {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loamledger"));
    command.current_dir(folder).args(arguments).stdout(Stdio::piped()).stderr(Stdio::piped());
    command.spawn().expect("the program starts")
}

#[test]
fn a_closed_pipe_is_no_failure_for_any_command() {
    let folder = tempfile::tempdir().expect("a folder");
    small_site(folder.path());
    for arguments in ANSWERED {
        let mut child = start(folder.path(), arguments);
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("it ends");
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
        let message = String::from_utf8_lossy(&output.stderr);
        assert!(!message.contains("error") && !message.contains("panicked"), "{arguments:?}: {message}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn every_command_reports_a_full_standard_output() {
    let folder = tempfile::tempdir().expect("a folder");
    small_site(folder.path());
    for arguments in ANSWERED {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("linux has it");
        let mut command = Command::new(env!("CARGO_BIN_EXE_loamledger"));
        let output =
            command.current_dir(folder.path()).args(arguments).stdout(full).output().expect("it starts");
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn an_unwritable_partial_answer_reports_both_faults() {
    let folder = tempfile::tempdir().expect("a folder");
    small_site(folder.path());
    let half = ["run", "site.json", "--draws", "4", "--draws-to", "2", "--no-charts", "--out", "half"];
    assert!(loamledger(folder.path(), &half).status.success());
    let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("linux has it");
    let mut command = Command::new(env!("CARGO_BIN_EXE_loamledger"));
    let output =
        command.current_dir(folder.path()).args(["merge", "half"]).stdout(full).output().expect("it starts");
    let message = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{message}");
    assert!(
        message.contains("standard output cannot be written") && message.contains("2 of 4 draws were made"),
        "{message}"
    );
}

#[test]
fn a_folder_removed_during_the_work_is_made_again() {
    let around = tempfile::tempdir().expect("a folder");
    let path = around.path().join("out");
    let folder = ResultFolder::prepare(&path, &["a.txt"]).expect("a free place");
    fs::remove_dir_all(&path).expect("it was made");
    folder.write(&[("a.txt", &"whole")]).expect("it is made again");
    assert_eq!(fs::read_to_string(path.join("a.txt")).expect("written"), "whole");
    // a file in its place cannot be helped, and is reported without the name of the unfinished file
    fs::remove_dir_all(&path).expect("it was made");
    fs::write(&path, "in the way").expect("a free place");
    let error = folder.write(&[("a.txt", &"whole")]).expect_err("a file is no folder");
    let message = format!("{error}: {}", std::error::Error::source(&error).expect("a cause"));
    assert!(message.contains("a.txt: cannot be created") && !message.contains("unfinished"), "{message}");
}

/// Runs a shell line, `$0` being the program.
#[cfg(unix)]
fn shell(folder: &Path, line: &str) -> std::process::Output {
    let mut command = Command::new("sh");
    command.current_dir(folder).args(["-c", line, env!("CARGO_BIN_EXE_loamledger")]);
    command.output().expect("a shell")
}

#[cfg(unix)]
#[test]
fn an_unwritable_answer_is_still_printed_and_old_files_stay() {
    let folder = tempfile::tempdir().expect("a folder");
    small_site(folder.path());
    fs::create_dir(folder.path().join("out")).expect("a free place");
    fs::write(folder.path().join("out/totals.csv"), "old").expect("written");
    // files may not pass a few kilobytes, and the signal that would end the program is not sent
    let output =
        shell(folder.path(), "trap '' XFSZ; ulimit -f 4; exec \"$0\" run site.json --draws 3 --out out");
    let message = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{message}");
    assert!(message.contains("cannot be written") && message.contains("hint: "), "{message}");
    assert!(String::from_utf8_lossy(&output.stdout).contains("3 of 3"), "the page is shown");
    let names: Vec<_> =
        fs::read_dir(folder.path().join("out")).expect("there").flatten().map(|e| e.file_name()).collect();
    assert_eq!(names, ["totals.csv"]);
    assert_eq!(fs::read_to_string(folder.path().join("out/totals.csv")).expect("there"), "old");
}

/// Names in a folder, unfinished files apart.
fn names(folder: &Path) -> (Vec<String>, usize) {
    let all = fs::read_dir(folder).into_iter().flatten().flatten();
    let all: Vec<String> = all.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    let unfinished = all.iter().filter(|name| name.starts_with(".unfinished-")).count();
    (all.into_iter().filter(|name| !name.starts_with(".unfinished-")).collect(), unfinished)
}

#[test]
fn a_kill_at_any_moment_leaves_no_half_written_file() {
    let folder = tempfile::tempdir().expect("a folder");
    small_site(folder.path());
    let arguments = ["run", "site.json", "--no-charts", "--out"];
    assert!(loamledger(folder.path(), &[&arguments[..], &["whole"]].concat()).status.success());
    let mut killed = 0;
    for round in 0..12 {
        let name = format!("out{round}");
        let out = folder.path().join(&name);
        let mut child = start(folder.path(), &[&arguments[..], &[&name]].concat());
        let began = Instant::now();
        // until the writing has come so far, or the program has ended by itself
        while names(&out).1 + names(&out).0.len() < round % 6 && child.try_wait().expect("asked").is_none() {
            assert!(began.elapsed() < Duration::from_mins(1), "it neither writes nor ends");
            thread::sleep(Duration::from_micros(50));
        }
        killed += u32::from(child.try_wait().expect("asked").is_none());
        child.kill().expect("killed or ended");
        child.wait().expect("it ends");
        for file in names(&out).0 {
            let (theirs, ours) =
                (fs::read(out.join(&file)), fs::read(folder.path().join("whole").join(&file)));
            assert!(theirs.expect("there") == ours.expect("there"), "{file} is not whole");
        }
    }
    assert!(killed > 0, "it always ended before it could be killed");
}

/// The worked site with keys set, over a few weeks.
fn changed(changes: &[(&str, &str)]) {
    let text = include_str!("../../scenarios/harbour_hall.json");
    let changes = [&[("days", "40")], changes].concat();
    let text = changes.iter().fold(text.to_owned(), |text, (key, value)| {
        varied("site.json", &text, key, value).unwrap_or_else(|e| panic!("{key} = {value}: {e}"))
    });
    let plan = sound::read(&text).unwrap_or_else(|e| panic!("{e}"));
    sound::run(&plan);
    sound::owes_nothing(&plan);
}

#[test]
fn the_largest_and_the_smallest_sites_are_sound() {
    changed(&[("beds.count", "100")]);
    changed(&[("drums.count", "1000")]);
    changed(&[
        ("drums.count", "20000"),
        ("drums.volume", "5"),
        ("streams[0].amount", "1000000"),
        ("grinder.rate", "100000"),
    ]);
    changed(&[
        ("streams[0].amount", "0.001"),
        ("streams[1].generation.count", "0"),
        ("streams[2].generation.count", "0"),
    ]);
    changed(&[("stock.mass", "1000000")]);
    changed(&[("steps_per_day", "96"), ("beds.count", "1")]);
}
