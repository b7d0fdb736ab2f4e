//! The program as people and other programs meet it: exit status, standard output, standard error.

use assert_cmd::Command;
use loamledger::literature;
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::Stdio;

/// The program with these arguments, in this folder.
pub(crate) fn loamledger(folder: &Path, arguments: &[&str]) -> std::process::Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loamledger"));
    command.current_dir(folder).args(arguments).output().expect("the program starts")
}

pub(crate) fn here(arguments: &[&str]) -> std::process::Output {
    loamledger(Path::new("."), arguments)
}

pub(crate) fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("output is UTF-8")
}

/// Exit status and both streams, to be looked at whole.
pub(crate) fn whole(output: &std::process::Output) -> String {
    let mut all = format!("exit status: {}\n", output.status.code().expect("it exits"));
    for (name, bytes) in [("stdout", &output.stdout), ("stderr", &output.stderr)] {
        if !bytes.is_empty() {
            write!(all, "----- {name}\n{}", text(bytes)).expect("a string takes all");
        }
    }
    all
}

pub(crate) fn status(output: &std::process::Output) -> i32 {
    output.status.code().expect("it exits")
}

#[test]
fn every_command_has_help_on_standard_output() {
    let overview = here(&["--help"]);
    assert_eq!(status(&overview), 0);
    for command in [
        "start", "check", "run", "explore", "size", "compare", "proposal", "rounds", "weigh", "mix", "facts",
        "narrow", "schema",
    ] {
        assert!(text(&overview.stdout).contains(command), "{command}");
        let help = here(&[command, "--help"]);
        assert_eq!(status(&help), 0, "{command}");
        assert!(text(&help.stdout).contains("Usage: loamledger"), "{command}");
        assert!(help.stderr.is_empty(), "{command}");
        // every argument has words behind it, and the exit status or an example ends the page
        let text = text(&help.stdout);
        assert!(text.contains("Exit status: 0 ") || text.contains("Example: "), "{text}");
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        for pair in lines.windows(2).filter(|pair| pair[0].starts_with("--")) {
            let beside = pair[0].split("  ").filter(|part| !part.is_empty()).count() > 1;
            assert!(beside || !pair[1].is_empty(), "{command}: {}", pair[0]);
        }
    }
}

#[test]
fn shells_complete_commands_and_every_command_has_a_manual_page() {
    for (shell, word) in
        [("bash", "complete -F"), ("zsh", "#compdef"), ("fish", "complete -c"), ("powershell", "Register")]
    {
        let output = here(&["completions", shell]);
        assert_eq!(status(&output), 0, "{shell}");
        let text = text(&output.stdout);
        assert!(text.contains(word) && text.contains("proposal") && text.contains("quiet"), "{shell}");
    }
    assert_eq!(status(&here(&["completions", "tcl"])), 2);
    let page = here(&["man"]);
    assert!(text(&page.stdout).contains(".TH loamledger 1") && status(&page) == 0);
    let folder = tempfile::tempdir().expect("a folder");
    let output = loamledger(folder.path(), &["man", "--out", "pages"]);
    assert_eq!(status(&output), 0, "{}", whole(&output));
    for command in ["", "-run", "-size", "-fit", "-man"] {
        let page =
            fs::read_to_string(folder.path().join(format!("pages/loamledger{command}.1"))).expect("a page");
        assert!(page.contains(".SH SYNOPSIS") && page.contains("SH OPTIONS"), "{command}");
    }
}

#[test]
fn a_scenario_is_read_from_standard_input_and_quiet_prints_the_answer_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    cut_site(folder.path(), 40);
    let site = fs::read(folder.path().join("site.json")).expect("read");
    let piped = |args: &[&str], input: &[u8]| {
        let mut command = Command::cargo_bin("loamledger").expect("it is built");
        command.current_dir(folder.path()).args(args).write_stdin(input).output().expect("it runs")
    };
    let from_file = loamledger(folder.path(), &["check", "site.json"]);
    let from_pipe = piped(&["check", "-"], &site);
    assert_eq!(status(&from_pipe), 0, "{}", whole(&from_pipe));
    assert_eq!(from_file.stdout, from_pipe.stdout);
    let wrong = piped(&["check", "-"], b"{}");
    assert_eq!(status(&wrong), 2);
    for key in ["name", "start", "days", "streams"] {
        assert!(text(&wrong.stderr).contains(&format!("{key}: is missing")), "{}", text(&wrong.stderr));
    }
    assert!(text(&wrong.stderr).contains("loamledger start FILE"), "{}", text(&wrong.stderr));
    assert_eq!(status(&piped(&["check", "-"], b"\xff\xfe")), 2);
    let loud = loamledger(folder.path(), &["run", "site.json", "--out", "a", "--no-charts"]);
    let quiet = loamledger(folder.path(), &["run", "site.json", "--out", "b", "--no-charts", "--quiet"]);
    assert!(!loud.stderr.is_empty() && quiet.stderr.is_empty(), "{}", whole(&quiet));
    assert_eq!(loud.stdout, quiet.stdout);
    // the answer of a site that fails is as quiet
    let none = r#"{ "name": "None", "start": "2027-01-04", "days": 365, "streams": [ { "name": "a", "amount": 5, "mix": { "bread": 1 } } ] }"#;
    fs::write(folder.path().join("none.json"), none).expect("written");
    let fails = loamledger(folder.path(), &["run", "none.json", "--out", "c", "--no-charts", "--quiet"]);
    assert!(status(&fails) == 1 && text(&fails.stderr).starts_with("error: as planned"), "{}", whole(&fails));
}

/// A worked site, cut to its first days.
fn cut_site(folder: &Path, days: u32) {
    assert_eq!(status(&loamledger(folder, &["start", "site.json", "--from", "harbour_hall"])), 0);
    let file = folder.join("site.json");
    let cut =
        fs::read_to_string(&file).expect("read").replacen("\"days\": 365", &format!("\"days\": {days}"), 1);
    fs::write(&file, cut).expect("written");
}

#[test]
fn a_run_prints_the_object_it_writes() {
    let folder = tempfile::tempdir().expect("a folder");
    cut_site(folder.path(), 120);
    let output = loamledger(folder.path(), &["run", "site.json", "--out", "out", "--json"]);
    assert_eq!(status(&output), 0, "{}", whole(&output));
    assert!(text(&output.stderr).contains("run.txt, workbook.xlsx and 9 charts"), "{}", text(&output.stderr));
    let written = fs::read(folder.path().join("out/result.json")).expect("read");
    assert!(output.stdout == written, "standard output and result.json differ");
    let answer: serde_json::Value = serde_json::from_slice(&written).expect("JSON");
    let residual = answer["balance"]["largest_relative_residual"].as_f64().expect("a number");
    assert!((0.0..=1e-9).contains(&residual), "{residual}");
    assert_eq!(answer["daily"].as_array().expect("a list").len(), 120);
    // each bed's warning stands by itself in the object, however few lines the page takes
    for warning in answer["warnings"].as_array().expect("a list") {
        for key in ["code", "message", "hint", "severity", "warning"] {
            assert!(!warning[key].is_null(), "{key} of {warning}");
        }
    }
    let page = loamledger(folder.path(), &["run", "site.json"]);
    assert_eq!(text(&page.stdout), fs::read_to_string(folder.path().join("out/run.txt")).expect("read"));
}

#[test]
fn a_page_of_a_run_begins_with_what_matters() {
    let folder = tempfile::tempdir().expect("a folder");
    cut_site(folder.path(), 200);
    let page = text(&loamledger(folder.path(), &["run", "site.json"]).stdout);
    let at =
        |heading: &str| page.find(&format!("{heading}\n===")).unwrap_or_else(|| panic!("{heading}: {page}"));
    let order =
        ["Harbour Hall", "Summary", "Warnings", "Intake", "Balance by stage", "Drums", "Beds", "Worm stock"];
    assert!(order.windows(2).all(|pair| at(pair[0]) < at(pair[1])), "{page}");
    let short = &page[at("Summary")..at("Warnings")];
    for label in
        ["intake ", "castings sold ", "blend sold ", "drums in use ", "worms ", "balance ", "warnings "]
    {
        assert!(short.contains(&format!("\n{label}")), "{label}: {short}");
    }
    assert!(short.contains("closes: largest relative residual"), "{short}");
    // twelve beds that fare alike are one line of the page
    assert!(page.matches("worms ate less than they need").count() <= 1, "{page}");
    for line in page.lines() {
        assert!(line.chars().count() <= 106, "{line}");
    }
}

#[test]
fn us_units_reach_the_page_of_a_run() {
    let folder = tempfile::tempdir().expect("a folder");
    cut_site(folder.path(), 60);
    let page = text(&loamledger(folder.path(), &["run", "site.json", "--units", "us"]).stdout);
    for unit in [" lb", "ft2", "°F"] {
        assert!(page.contains(unit), "{unit}: {page}");
    }
    for unit in [" kg ", "°C", " m2 "] {
        // standards are printed in their own units
        let before = page.split("Published standards").next().expect("a page");
        assert!(!before.contains(unit), "{unit}: {before}");
    }
    // files are SI whatever the page
    let output = loamledger(folder.path(), &["run", "site.json", "--units", "us", "--json"]);
    let si = loamledger(folder.path(), &["run", "site.json", "--json"]);
    assert!(output.stdout == si.stdout);
}

#[test]
fn wrong_usage_is_status_two_and_silent_on_standard_output() {
    for arguments in
        [&[][..], &["brew"], &["mix"], &["mix", "bread"], &["start"], &["facts", "--units", "us"]]
    {
        let output = here(arguments);
        assert_eq!(status(&output), 2, "{arguments:?}");
        assert!(output.stdout.is_empty(), "{arguments:?}");
        assert!(!output.stderr.is_empty(), "{arguments:?}");
    }
}

#[test]
fn facts_lists_every_rate_with_evidence_and_source() {
    let output = here(&["facts"]);
    assert_eq!(status(&output), 0);
    let all = text(&output.stdout);
    let lines: Vec<&str> = all.lines().collect();
    for rate in literature::entries() {
        let at = lines.iter().position(|line| line.split_whitespace().next() == Some(rate.key.as_str()));
        let below = lines[at.unwrap_or_else(|| panic!("{} is not listed", rate.key)) + 1];
        assert!(below.contains(rate.evidence.name()), "{below}");
        assert!(rate.sources.iter().all(|key| below.contains(key.as_str())), "{below}");
    }
}

#[test]
fn facts_json_carries_full_references() {
    let output = here(&["facts", "--json"]);
    let all: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let list = all.as_array().expect("a list");
    assert_eq!(list.len(), literature::entries().len());
    for rate in list {
        for key in ["key", "name", "unit", "central", "low", "high", "shape", "evidence", "note"] {
            assert!(!rate[key].is_null(), "{key} of {rate}");
        }
        let sources = rate["sources"].as_array().expect("a list");
        assert!(!sources.is_empty() && sources.iter().all(|s| s["title"].is_string()), "{rate}");
    }
}

#[test]
fn one_rate_is_printed_in_full() {
    insta::assert_snapshot!(whole(&here(&["facts", "worms.hatchling_mass_in_model"])), @r"
    exit status: 0
    ----- stdout
    worms.hatchling_mass_in_model
    =============================
    meaning                           mass at start of juvenile stage
    central                           3e-6 kg
    shape                             fixed
    evidence                          assumed
    note                              origin: Venter & Reinecke 1988, S. Afr. J. Zool. 23(3):161-165 2.8
                                      mg (read)
    source                            venter_reinecke_1988: Venter & Reinecke 1988. [the life-cycle of
                                      the compost worm Eisenia fetida]. S. Afr. J. Zool. 23(3):161-165
                                      (seen: read)
    ");
}

#[test]
fn words_filter_and_ingredients_are_marked() {
    let some = text(&here(&["facts", "decay", "--json"]).stdout);
    let some: serde_json::Value = serde_json::from_str(&some).expect("JSON");
    let count = some.as_array().expect("a list").len();
    assert!(count > 2 && count < literature::entries().len() / 4, "{count}");
    let output = here(&["facts", "--ingredients"]);
    let table = text(&output.stdout);
    // the table is cut into blocks of columns, each with every ingredient
    let blocks = table.matches(&format!("\n{} ", literature::ingredients()[0].id)).count();
    assert!((2..=4).contains(&blocks), "{blocks}");
    for ingredient in literature::ingredients() {
        assert_eq!(table.matches(&format!("\n{} ", ingredient.id)).count(), blocks, "{}", ingredient.id);
    }
    assert!(table.contains("marks of evidence: r read"));
}

#[test]
fn an_unknown_fact_is_reported_with_the_nearest() {
    insta::assert_snapshot!(whole(&here(&["facts", "worms.hatchling_mas_in_model"])), @r"
    exit status: 2
    ----- stderr
    error: no rate or ingredient is named or mentions `worms.hatchling_mas_in_model`
    hint: did you mean `worms.hatchling_mass_in_model`?
    hint: `loamledger facts` lists all rates, `loamledger facts --ingredients` all ingredients
    ");
}

#[test]
fn start_writes_a_scenario_that_check_reads() {
    let folder = tempfile::tempdir().expect("a folder");
    for site in ["harbour_hall", "mountain_school", "valley_packhouse"] {
        let file = format!("{site}.json");
        let output = loamledger(folder.path(), &["start", &file, "--from", site]);
        assert_eq!(status(&output), 0);
        assert!(output.stdout.is_empty());
        assert!(text(&output.stderr).contains(&file));
        let checked = loamledger(folder.path(), &["check", &file]);
        assert_eq!(status(&checked), 0, "{}", whole(&checked));
        let page = text(&checked.stdout);
        for part in [
            "Warnings of the plan",
            "Intake",
            "Mean intake of each month",
            "Rooms",
            "Drums",
            "needed in the busiest month",
            "Beds",
            "Worms",
            "doubles in",
            "reproductive value",
        ] {
            assert!(page.contains(part), "{site}: {part}");
        }
        assert!(page.lines().all(|line| line.chars().count() <= 101), "{page}");
        let us = text(&loamledger(folder.path(), &["check", &file, "--units", "us"]).stdout);
        assert!(us.contains("lb/day") && us.contains("ft2"), "{us}");
    }
}

#[test]
fn start_overwrites_nothing_and_leaves_nothing_behind() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("mine.json"), "mine").expect("written");
    insta::assert_snapshot!(whole(&loamledger(folder.path(), &["start", "mine.json"])), @r"
    exit status: 2
    ----- stderr
    error: mine.json: exists already and is not overwritten
    hint: name another file, or move the old one away first
    ");
    assert_eq!(fs::read_to_string(folder.path().join("mine.json")).expect("read"), "mine");
    insta::assert_snapshot!(whole(&loamledger(folder.path(), &["start", "no/folder.json"])), @r"
    exit status: 2
    ----- stderr
    error: no/folder.json: the folder no does not exist
    hint: check the spelling, or make the folder first
    ");
    assert_eq!(fs::read_dir(folder.path()).expect("read").count(), 1);
}

#[test]
fn check_reports_where_a_file_is_wrong() {
    let folder = tempfile::tempdir().expect("a folder");
    assert_eq!(status(&loamledger(folder.path(), &["start", "site.json", "--from", "harbour_hall"])), 0);
    let file = folder.path().join("site.json");
    let wrong = fs::read_to_string(&file).expect("read").replacen("\"days\": 365", "\"dais\": 365", 1);
    fs::write(&file, wrong).expect("written");
    let output = loamledger(folder.path(), &["check", "site.json"]);
    assert_eq!(status(&output), 2);
    assert!(output.stdout.is_empty());
    let told = text(&output.stderr);
    for part in ["site.json:", "dais", "did you mean `days`?"] {
        assert!(told.contains(part), "{part}: {told}");
    }
    assert_eq!(status(&loamledger(folder.path(), &["check", "none.json"])), 2);
}

#[test]
fn the_schema_is_json_of_the_scenario() {
    let output = here(&["schema"]);
    let schema: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    for key in [
        "name",
        "place",
        "note",
        "start",
        "days",
        "steps_per_day",
        "climate",
        "ingredients",
        "streams",
        "bran",
        "drums",
        "grinder",
        "bulking",
        "beds",
        "stock",
        "feeding",
        "harvest",
        "screen",
        "castings",
        "site",
        "money",
        "rates",
    ] {
        assert!(schema["properties"][key].is_object(), "{key}");
    }
    // every key with its own row of the table of fields stands in the printed text
    let printed = text(&output.stdout);
    for field in loamledger::scenario::field::fields() {
        let name = field.path.rsplit('.').find(|part| *part != "*").expect("a name");
        assert!(printed.contains(&format!("\"{name}\"")), "{}", field.path);
    }
}

#[test]
fn a_reader_who_goes_away_is_no_failure() {
    let folder = tempfile::tempdir().expect("a folder");
    cut_site(folder.path(), 120);
    for arguments in [&["facts", "--json"][..], &["run", "site.json", "--json"]] {
        reader_gone(folder.path(), arguments);
    }
}

fn reader_gone(folder: &Path, arguments: &[&str]) {
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_loamledger"))
        .current_dir(folder)
        .args(arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // far more is written than a pipe holds, so the write meets the closed end
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it exits");
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(text(&output.stderr), "");
}

/// A folder with a worked site in it, cut to its first ten weeks.
fn short_folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    cut_site(folder.path(), 70);
    folder
}

#[test]
fn run_prints_a_page_that_closes_and_writes_the_same_to_files() {
    let folder = short_folder();
    let shown = loamledger(folder.path(), &["run", "site.json", "--out", "results"]);
    assert_eq!(status(&shown), 0, "{}", whole(&shown));
    let page = text(&shown.stdout);
    assert!(page.lines().all(|line| line.chars().count() <= 120), "{page}");
    assert!(page.contains("the balance                       closes"), "{page}");
    for heading in ["Intake", "Balance by stage", "Drums", "Beds", "Worm stock", "Warnings", "Cautions"] {
        assert!(page.contains(&format!("\n{heading}\n===")), "{heading}");
    }
    let result = |name: &str| fs::read_to_string(folder.path().join("results").join(name)).expect("written");
    assert_eq!(result("run.txt"), page);
    assert_eq!(result("daily.csv").lines().count(), 71);
    let json = loamledger(folder.path(), &["run", "site.json", "--json"]);
    assert_eq!(text(&json.stdout), result("result.json"));
    assert!(json.stderr.is_empty());
    let answer: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(answer["days"], 70);
    assert_eq!(answer["daily"].as_array().map(Vec::len), Some(70));
    let beds = answer["beds"].as_array().map_or(0, Vec::len);
    assert!(beds > 0);
    assert_eq!(result("beds_daily.csv").lines().count(), 70 * beds + 1);
    assert!(result("chart_throughput.svg").starts_with("<svg"));
    let without = loamledger(folder.path(), &["run", "site.json", "--out", "plain", "--no-charts"]);
    assert_eq!(status(&without), 0, "{}", whole(&without));
    let files = fs::read_dir(folder.path().join("plain")).expect("written").count();
    // the six of the first and the workbook
    assert_eq!(files, 7);
}

#[test]
fn every_output_on_the_page_of_a_run_adds_up() {
    let folder = short_folder();
    let page = text(&loamledger(folder.path(), &["run", "site.json"]).stdout);
    // carbon in kg is the first number of each row; words hold no digits here
    let carbon = |row: &str| -> f64 {
        let line = page.lines().find(|line| line.starts_with(row)).unwrap_or_else(|| panic!("{row}"));
        let columns: Vec<&str> = line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect();
        columns[1].replace(',', "").parse().expect("a number")
    };
    let out = [
        "to product",
        "to the air",
        "to liquor and drainage",
        "sent away otherwise",
        "change in what is held",
    ];
    let (together, sum) = (carbon("= together"), out.iter().map(|row| carbon(row)).sum::<f64>());
    // each is printed with four figures; carbon dioxide still in the drums is held by no stage's matter
    assert!((together - sum).abs() <= 3e-3 * together, "{together} against {sum}");
}

#[test]
fn a_file_in_the_way_of_the_results_is_reported_before_the_run() {
    let folder = short_folder();
    fs::write(folder.path().join("results"), "kept").expect("written");
    insta::assert_snapshot!(whole(&loamledger(folder.path(), &["run", "site.json", "--out", "results"])), @r"
    exit status: 2
    ----- stderr
    error: results: is a file, not a folder
    hint: name another folder, or move that file away
    ");
    assert_eq!(fs::read_to_string(folder.path().join("results")).expect("read"), "kept");
}
