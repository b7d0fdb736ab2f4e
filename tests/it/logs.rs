//! Logs of a site: thirty kinds of bad ones, each answered with line, column and remedy while the rest is read; what is known replaces
//! the plan; what is measured stands beside the model.

use crate::cli::loamledger;
use jiff::civil::{Date, date};
use loamledger::chain::{self, Keep};
use loamledger::scenario::log::{Log, LogKind, LogPlace, ReadLog, Remark, read_log, with_log};
use loamledger::scenario::{Plan, assemble, central, parse};
use loamledger::study::log::against;
use std::fs;
use std::path::{Path, PathBuf};

fn scenarios() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios")
}

fn plan(name: &str) -> Plan {
    let text = fs::read_to_string(scenarios().join(name).with_extension("json")).expect("readable");
    parse(name, &text).unwrap_or_else(|e| panic!("{e}"))
}

const HEAD: &str = "date,what,value,unit,where,note\n";
const GOOD: &str = "2027-03-02,drums in use,30,,,\n";

fn read(plan: &Plan, text: &str) -> ReadLog {
    read_log(plan, "site.csv", text).unwrap_or_else(|e| panic!("{e}"))
}

/// A log of such lines, all right.
fn log(plan: &Plan, lines: &str) -> Log {
    let read = read(plan, &format!("{HEAD}{lines}"));
    let said = read.faults.as_ref().map(ToString::to_string);
    assert!(said.is_none(), "{said:?}");
    read.log
}

/// Wrong lines: the line, the column of the fault, and words of the message.
const WRONG_LINES: [(&str, usize, &[&str]); 27] = [
    (
        "01/03/2027,scraps in,210,kg,market hall,",
        1,
        &["date: is not a date", "given 01/03/2027", "with dashes"],
    ),
    ("2027-02-30,scraps in,210,kg,market hall,", 1, &["date: is not a date", "2027-01-04"]),
    (",scraps in,210,kg,market hall,", 1, &["date: is missing"]),
    (
        "2027-03-01,scrap in,210,kg,market hall,",
        12,
        &["what: is no word of a log", "did you mean `scraps in`?"],
    ),
    ("2027-03-01,,210,kg,market hall,", 12, &["what: is missing", "allowed: scraps in, "]),
    ("2027-03-01,weather,fine,,,", 12, &["what: is no word of a log", "allowed: scraps in, "]),
    ("2027-03-01,scraps in,,kg,market hall,", 22, &["value: is missing", "0 is a value too"]),
    ("2027-03-01,scraps in,much,kg,market hall,", 22, &["value: is not a number", "the number alone"]),
    ("2027-03-01,scraps in,much,,market hall,", 22, &["value: ", "given much"]),
    ("2027-03-01,scraps in,-210,kg,market hall,", 22, &["value: is negative", "0 to 1000000 kg"]),
    ("2027-03-01,scraps in,nan,,market hall,", 22, &["value: is not a finite number"]),
    ("2027-03-01,scraps in,1e999,,market hall,", 22, &["value: is not a finite number"]),
    ("2027-03-01,scraps in,9e9,kg,market hall,", 22, &["value: cannot be", "0 to 1000000 kg"]),
    ("2027-03-01,scraps in,210,kgs per,market hall,", 26, &["unit: ", "given kgs per"]),
    ("2027-03-01,scraps in,210,m2,market hall,", 26, &["unit: ", "area"]),
    ("2027-03-01,scraps in,210 kg,kg,market hall,", 22, &["value: is not a number", "the number alone"]),
    (
        "2027-03-01,scraps in,210,kg,market,",
        29,
        &["where: no stream has this name", "did you mean `market hall`?"],
    ),
    ("2027-03-01,scraps in,210,kg,,", 29, &["where: does not say which stream", "canteen quay"]),
    ("2027-03-01,bed temperature,19,C,hall bed 3,", 33, &["where: no bed has this name", "hall beds 3"]),
    ("2027-03-01,bed temperature,19,C,hall beds 23,", 33, &["where: no bed has this name"]),
    ("2027-03-01,drums in use,30,,north,", 29, &["where: `drums in use` is of the whole site", "`note`"]),
    ("2027-03-01,bed moisture,78,,,", 25, &["value: cannot be", "percent given? write % in `unit`, or 0.78"]),
    ("2027-03-01,bed pH,68,,,", 19, &["value: cannot be", "2 to 12"]),
    (
        "2027-03-01,feed laid,\"1,200\",kg,,",
        22,
        &["the comma may stand for thousands or decimals", "write 1200 or 1.200"],
    ),
    ("2027-03-01,bed pH,6,8,,,", 21, &["unit: is a number", "write decimals with a point"]),
    ("2027-03-01,bed pH,6.8,,,wet, cold", 30, &["one cell more than the first line has", "in double quotes"]),
    ("2027-03-01,bed pH,6.8,,,\"wet", 1, &["a quote is not closed", "two quotes for one"]),
];

#[test]
fn a_wrong_line_is_named_with_its_place_and_remedy_and_the_rest_is_read() {
    let plan = plan("harbour_hall");
    for (line, column, wanted) in WRONG_LINES {
        let read = read(&plan, &format!("{HEAD}{line}\n{GOOD}"));
        let faults = read.faults.unwrap_or_else(|| panic!("{line}"));
        let fault = &faults.faults()[0];
        let said = faults.to_string();
        assert_eq!((faults.faults().len(), fault.line), (1, 2), "{said}");
        assert!(said.contains("site.csv:2:"), "{said}");
        assert!(wanted.iter().all(|words| said.contains(words)), "{line}: {said}");
        // a short row is pointed at by its end
        assert!(fault.column == column, "{line}: column {} {said}", fault.column);
        assert!(!fault.allowed.is_empty() || fault.hint.is_some(), "{said}");
        // nothing else is lost
        assert_eq!(read.log.lines.len(), 1);
        assert_eq!((read.log.lines[0].kind, read.log.lines[0].line), (LogKind::DrumsInUse, 3));
    }
}

#[test]
fn a_log_without_its_columns_is_refused_whole() {
    let plan = plan("harbour_hall");
    for (text, wanted) in [
        ("", &["the log is empty", "date, what, value"][..]),
        ("# only a remark\n\n", &["the log is empty"]),
        ("2027-03-02,drums in use,30\n", &["does not name the columns", "write this above the first line"]),
        ("date,what,amount\n", &["unknown column", "given amount", "has no column value"]),
        ("date,what\n", &["has no column value"]),
        ("date,what,value,value\n", &["this column is named twice"]),
        ("date,what,value,wher\n", &["unknown column", "did you mean `where`?"]),
        ("date,what,\"value\n", &["a quote is not closed"]),
    ] {
        let refused = read_log(&plan, "site.csv", text).expect_err(text).to_string();
        assert!(wanted.iter().all(|words| refused.contains(words)), "{text}: {refused}");
    }
}

#[test]
fn duplicates_gaps_unusual_amounts_and_dates_outside_the_run_are_named() {
    let plan = plan("harbour_hall");
    let log = log(
        &plan,
        "2027-03-01,scraps in,210,kg,market hall,\n\
         2027-03-01,scraps in,210,kg,market hall,\n\
         2027-03-01,scraps in,210,kg,market hall,second van\n\
         2027-03-15,scraps in,9000,kg,market hall,\n\
         2027-03-01,bed room,18,C,,\n\
         2027-04-20,bed room,19,C,,\n\
         2026-12-31,drums in use,4,,,\n\
         2029-01-01,drums in use,4,,,\n",
    );
    let gap =
        |what, place: &str, from, to, days| Remark::Gap { what, place: place.to_owned(), from, to, days };
    let (one, mid, last) = (date(2027, 3, 1), date(2027, 3, 15), date(2027, 4, 20));
    assert_eq!(
        log.remarks,
        [
            Remark::OutsideRun { line: 8, date: date(2026, 12, 31) },
            Remark::Duplicate { line: 3, of: 2 },
            Remark::OutsideRun { line: 9, date: date(2029, 1, 1) },
            Remark::Unusual { line: 5, value: 9000.0, largest: log_largest(&plan) },
            gap(Some(LogKind::ScrapsIn), "market hall", one, mid, 13),
            gap(Some(LogKind::BedRoom), "", one, last, 49),
            gap(None, "", mid, last, 35),
        ]
    );
    assert_eq!(log.lines.len(), 5);
}

fn log_largest(plan: &Plan) -> f64 {
    plan.daily_amounts(0).into_iter().fold(0.0, f64::max)
}

#[test]
fn units_separators_and_spellings_are_understood() {
    let plan = plan("harbour_hall");
    let text = "\u{feff}Date;What;Where;Value;Unit\r\n# remark\r\n\r\n\
                2027-03-01;Scraps_In;Market Hall;463;lb\r\n\
                2027-03-01;bed temperature;hall beds 3;66;F\r\n\
                2027-03-01;bed moisture;;78,5;%\r\n\
                2027-03-02;water added;;\"120 L\";\r\n;;;;\r\n";
    let read = read(&plan, text);
    assert!(read.faults.is_none(), "{}", read.faults.unwrap());
    let lines = &read.log.lines;
    let values: Vec<f64> = lines.iter().map(|line| line.value).collect();
    for (ours, wanted) in values.iter().zip([463.0 * 0.453_592_37, (66.0 - 32.0) / 1.8, 0.785, 0.12]) {
        assert!((ours - wanted).abs() < 1e-12, "{values:?}");
    }
    assert_eq!((lines[0].place.clone(), lines[1].place.clone()), (LogPlace::Stream(0), LogPlace::Beds(2..3)));
    assert_eq!(lines[2].place, LogPlace::Beds(0..22));
}

#[test]
fn what_a_log_knows_replaces_the_plan_within_its_days() {
    let plan = plan("harbour_hall");
    let (mut site, models) = assemble(&plan).unwrap();
    let before = site.clone();
    let log = log(
        &plan,
        "2027-07-01,scraps in,150,kg,market hall,\n\
         2027-07-01,scraps in,50,kg,market hall,second van\n\
         2027-07-03,scraps in,100,kg,market hall,\n\
         2027-07-01,bed room,25,C,,\n\
         2027-07-05,worms in,30,kg,,\n\
         2027-07-04,castings taken,400,kg,hall beds 7,\n\
         2027-07-20,castings taken,400,kg,,\n",
    );
    with_log(&plan, &log, &mut site, &models, &|key| central(&plan, key));
    let day = |text: &str| {
        usize::try_from((text.parse::<Date>().unwrap() - plan.start).get_days()).expect("a day of the run")
    };
    // two per cent of the market hall is not food
    let from = day("2027-07-01");
    let amounts = &site.streams[0].amounts[from..from + 3];
    for (ours, wanted) in amounts.iter().zip([196.0, 0.0, 98.0]) {
        assert!((ours - wanted).abs() < 1e-9, "{amounts:?}");
    }
    assert_eq!(site.streams[0].amounts[..from], before.streams[0].amounts[..from]);
    assert_eq!(site.streams[0].amounts[from + 3..], before.streams[0].amounts[from + 3..]);
    assert_eq!(site.streams[1], before.streams[1]);
    assert!((site.bed_air[from].temperature - 25.0).abs() < 1e-12 && site.drum_room == before.drum_room);
    assert_eq!(site.arrivals.len(), before.arrivals.len() + 1);
    let known = site.known_harvests.as_ref().unwrap();
    // the second is of the first bed, which no line names
    assert_eq!(known.takes, [(day("2027-07-04"), 6), (day("2027-07-20"), 0)]);
    let trace = chain::run(&site, &models, Keep::Days).unwrap();
    let within = |day: &usize| (from..=known.last).contains(day);
    let taken: Vec<(usize, usize)> =
        trace.tally.harvests.iter().map(|h| (h.day, h.beds.first)).filter(|(day, _)| within(day)).collect();
    assert_eq!(taken, known.takes);
    assert!(
        trace.tally.harvests.iter().any(|h| !within(&h.day)),
        "the plan's calendar holds outside the log"
    );
    for harvest in &trace.tally.harvests {
        let day = trace.daily[harvest.day].harvested;
        assert!(harvest.castings.wet() > 0.0 && harvest.castings.wet() <= day * (1.0 + 1e-12));
    }
}

#[test]
fn what_is_measured_stands_beside_the_model() {
    let plan = plan("mountain_school");
    let log = log(
        &plan,
        "2027-10-04,scraps in,40,kg,,\n2027-10-05,scraps in,60,kg,,\n2027-10-06,scraps in,50,kg,,\n\
         2027-12-01,bed temperature,12,C,shed beds 2,\n2027-12-08,bed temperature,11,C,shed beds 3,\n\
         2027-12-01,worm mass,80,kg,,\n2028-04-10,castings taken,300,kg,shed beds,\n\
         2028-04-11,castings nitrogen,2.1,%,,\n2027-10-04,castings pH,7,,,\n2027-12-01,pH at opening,3.9,,,\n",
    );
    let answer = against(&plan, &log, 0).unwrap();
    let of = |kind| answer.comparisons.iter().find(|c| c.what == kind).unwrap_or_else(|| panic!("{kind:?}"));
    let scraps = of(LogKind::ScrapsIn);
    assert!((scraps.log - 150.0).abs() < 1e-9 && (scraps.model.unwrap() - 150.0).abs() < 1e-9);
    assert!((scraps.plan.unwrap() - 150.0).abs() > 1e-3 && scraps.known);
    assert_eq!(scraps.model_curve.len(), 3);
    let beds = of(LogKind::BedTemperature);
    let points: Vec<f64> = beds.points.iter().map(|p| p.model.unwrap()).collect();
    let by_hand = ((12.0 - points[0]).powi(2) / 2.0 + (11.0 - points[1]).powi(2) / 2.0).sqrt();
    assert!((beds.misfit.unwrap() - by_hand).abs() < 1e-12 && (beds.log - 11.5).abs() < 1e-12);
    assert_eq!(beds.points[0].place, "shed beds 2");
    // a harvest of the log happens in the model on its day, and its nitrogen is that of those castings
    let taken = of(LogKind::CastingsTaken);
    assert!(taken.model.unwrap() > 0.0 && taken.points[0].model == taken.model);
    assert_eq!(answer.harvests.len(), 7);
    let nitrogen = of(LogKind::CastingsNitrogen);
    assert!((0.005..0.06).contains(&nitrogen.model.unwrap()), "{nitrogen:?}");
    // no castings were harvested by then
    assert_eq!(of(LogKind::CastingsPh).model, None);
    assert_eq!(of(LogKind::CastingsPh).misfit, None);
    assert!(of(LogKind::OpenedPh).model.is_some() && of(LogKind::WormMass).model.is_some());
}

#[test]
fn the_worked_log_is_read_whole_and_what_it_knows_is_what_the_model_takes() {
    let plan = plan("harbour_hall");
    let text = fs::read_to_string(scenarios().join("harbour_hall_log.csv")).expect("readable");
    let read = read(&plan, &text);
    assert!(read.faults.is_none() && read.log.remarks.is_empty(), "{:?}", read.log.remarks);
    assert_eq!(read.log.lines.len(), 1088);
    let answer = against(&plan, &read.log, 0).unwrap();
    for of in &answer.comparisons {
        let model = of.model.unwrap_or_else(|| panic!("{:?}", of.what));
        if of.known && of.what != LogKind::CastingsTaken {
            assert!((of.log / model - 1.0).abs() < 1e-9, "{:?} {} {model}", of.what, of.log);
        }
    }
    // the site of the log took in less than planned, which the plan alone does not know
    let scraps = &answer.comparisons[0];
    assert!(scraps.log < 0.95 * scraps.plan.unwrap());
}

#[test]
fn the_program_answers_with_page_files_and_charts() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let site = scenarios().join("mountain_school.json");
    let site = site.to_str().expect("a path in UTF-8");
    let lines = "2027-12-01,bed temperature,12,C,,\n2027-12-20,bed temperature,54,F,,\n2027-12-20,drums in use,30,,,\n";
    fs::write(path.join("good.csv"), format!("{HEAD}{lines}")).expect("written");
    fs::write(path.join("bad.csv"), format!("{HEAD}{lines}2027-12-21,drums in use,-3,,,\n"))
        .expect("written");
    let run = |file: &str, more: &[&str]| {
        let asked: Vec<&str> =
            ["log", file, "--scenario", site].into_iter().chain(more.iter().copied()).collect();
        let output = loamledger(path, &asked);
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        (output.status.code(), text(&output.stdout), text(&output.stderr))
    };
    let (status, page, said) = run("good.csv", &["--out", "out"]);
    assert_eq!(status, Some(0), "{said}");
    assert!(page.contains("What was read") && page.contains("Against the plan"), "{page}");
    for file in ["log.json", "log.txt", "chart_log_beds.svg", "chart_log_beds.png", "chart_log_drums.svg"] {
        assert!(path.join("out").join(file).exists(), "{file}");
    }
    let json = fs::read_to_string(path.join("out/log.json")).expect("written");
    let (_, shown, _) = run("good.csv", &["--json"]);
    assert!(json == shown && json.contains("\"bed_temperature\""));
    // another log into the same folder: no chart of the first one stays
    fs::write(path.join("beds.csv"), format!("{HEAD}2027-12-01,bed temperature,12,C,,\n")).expect("written");
    let (status, _, said) = run("beds.csv", &["--out", "out"]);
    assert_eq!(status, Some(0), "{said}");
    let mut left: Vec<_> =
        fs::read_dir(path.join("out")).expect("a folder").map(|e| e.expect("a file").file_name()).collect();
    left.sort();
    assert_eq!(left, ["chart_log_beds.png", "chart_log_beds.svg", "log.json", "log.txt"]);
    // a wrong line: the answer of the others, and exit status 2
    let (status, page, said) = run("bad.csv", &[]);
    assert_eq!(status, Some(2));
    assert!(page.contains("lines that are wrong") && page.contains("bed temperature"), "{page}");
    assert!(
        said.contains("bad.csv:5:25")
            && said.contains("is negative")
            && said.contains("all others were used"),
        "{said}"
    );
    for (file, wanted) in [("nowhere.csv", "there is no such file"), (".", "is a folder, not a log")] {
        let (status, _, said) = run(file, &[]);
        assert!(status == Some(2) && said.contains(wanted), "{said}");
    }
    fs::write(path.join("sheet.csv"), [0x50, 0x4b, 3, 4, 0xff, 0]).expect("written");
    let (status, _, said) = run("sheet.csv", &[]);
    assert!(status == Some(2) && said.contains("save the sheet as CSV"), "{said}");
}
