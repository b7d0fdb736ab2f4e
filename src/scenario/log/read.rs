//! From the text of a log to checked lines, with everything that is wrong named by line and column.

use super::cells::{Cell, Row, rows, separator};
use super::kind::{LogKind, Whereabouts};
use super::remarks::{self, Remark};
use crate::quantity::{self, Kind, did_you_mean, format_input, nearest};
use crate::scenario::calendar;
use crate::scenario::error::{Fault, ScenarioError};
use crate::scenario::file_kind::FileKind;
use crate::scenario::path::KeyPath;
use crate::scenario::plan::Plan;
use crate::scenario::read::bounded;
use jiff::civil::Date;
use std::ops::Range;

/// Columns of a log; the first three must be there.
const COLUMNS: [&str; 6] = ["date", "what", "value", "unit", "where", "note"];
/// Number of columns that must be there.
const NEEDED: usize = 3;
const FIRST_LINE: &str =
    "a first line with the columns date, what, value, unit, where, note; the last three may be left out";

/// What a line is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LogPlace {
    /// The whole site.
    Site,
    /// A stream, by its place in the plan.
    Stream(usize),
    /// Beds, by their numbers from 0.
    Beds(Range<usize>),
    /// The bed whose last harvest is longest ago.
    InTurn,
}

/// A line of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogLine {
    /// Number of the line in the file, from 1.
    pub line: usize,
    /// Date.
    pub date: Date,
    /// What it tells.
    pub kind: LogKind,
    /// Its value in the documented unit of the quantity.
    pub value: f64,
    /// What it is about.
    pub place: LogPlace,
    /// Remark of the person.
    pub note: String,
}

/// What a log says about the days of a run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Log {
    /// Lines within the run, none twice, in the order of dates.
    pub lines: Vec<LogLine>,
    /// Duplicates, gaps, unusual values and dates outside the run.
    pub remarks: Vec<Remark>,
}

/// A log as far as it could be read.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadLog {
    /// The lines that are right.
    pub log: Log,
    /// Those that are wrong. `None` if all are right.
    pub faults: Option<ScenarioError>,
}

/// Reads a log for a plan; `file` is its name in messages. A wrong line is named, and the rest is read.
///
/// # Errors
/// [`ScenarioError`] if nothing can be read: the file is empty, too large, or its first line does not name the columns.
pub fn read_log(plan: &Plan, file: &str, text: &str) -> Result<ReadLog, ScenarioError> {
    let text = bounded(file, text, FileKind::Log)?;
    let sign = separator(rows(text, ',').next().map_or("", |row| &text[row.range]));
    let mut all = rows(text, sign);
    let Some(first) = all.next() else {
        let fault = Fault::new(text, &KeyPath::default(), 0..0, "the log is empty").allowed(FIRST_LINE);
        return Err(ScenarioError::faulty(file, text, vec![fault]));
    };
    let columns = columns(text, &first).map_err(|faults| ScenarioError::faulty(file, text, faults))?;
    let reader = Reader { plan, text, sign, columns, names: plan.bed_names().collect() };
    let (mut lines, mut faults) = (Vec::new(), Vec::new());
    for row in all {
        match reader.line(&row) {
            Ok(line) => lines.push(line),
            Err(fault) => faults.push(*fault),
        }
    }
    let (lines, remarks) = remarks::sorted_out(plan, lines);
    let faults = (!faults.is_empty()).then(|| ScenarioError::faulty(file, text, faults));
    Ok(ReadLog { log: Log { lines, remarks }, faults })
}

/// Place of each of [`COLUMNS`] in a row.
type Columns = [Option<usize>; COLUMNS.len()];

fn columns(text: &str, first: &Row<'_>) -> Result<Columns, Vec<Fault>> {
    let top = KeyPath::default();
    let whole = |problem: String| Fault::new(text, &top, first.range.clone(), problem).allowed(FIRST_LINE);
    let Some(cells) = &first.cells else {
        return Err(vec![whole("a quote is not closed on this line".to_owned())]);
    };
    let mut found: Columns = [None; COLUMNS.len()];
    let mut faults = Vec::new();
    for (place, cell) in cells.iter().enumerate().filter(|(_, cell)| !cell.text.is_empty()) {
        let name = cell.text.to_lowercase();
        match COLUMNS.iter().position(|column| *column == name) {
            Some(column) if found[column].is_none() => found[column] = Some(place),
            Some(_) => faults.push(
                Fault::new(text, &top, cell.range.clone(), "this column is named twice")
                    .allowed("each column once"),
            ),
            None => faults.push(
                Fault::new(text, &top, cell.range.clone(), "unknown column")
                    .allowed(COLUMNS.join(", "))
                    .hint(nearest(&name, COLUMNS).map(did_you_mean)),
            ),
        }
    }
    let known = found.iter().any(Option::is_some);
    if !known {
        // a log without its first line: say so once
        let hint = "write this above the first line: date,what,value,unit,where,note";
        return Err(vec![
            whole("the first line does not name the columns".to_owned()).hint(Some(hint.to_owned())),
        ]);
    }
    let missing: Vec<&str> =
        COLUMNS[..NEEDED].iter().zip(&found).filter(|(_, at)| at.is_none()).map(|(c, _)| *c).collect();
    if !missing.is_empty() {
        faults.push(whole(format!("has no column {}", missing.join(", "))));
    }
    if faults.is_empty() { Ok(found) } else { Err(faults) }
}

struct Reader<'a> {
    plan: &'a Plan,
    text: &'a str,
    sign: char,
    columns: Columns,
    /// Group and own name of each bed.
    names: Vec<(&'a str, String)>,
}

/// A fault, boxed: most lines have none.
type Wrong = Box<Fault>;

impl Reader<'_> {
    fn fault(
        &self,
        column: &str,
        range: Range<usize>,
        problem: impl Into<String>,
        allowed: impl Into<String>,
    ) -> Fault {
        let path = if column.is_empty() { KeyPath::default() } else { KeyPath::top(column) };
        Fault::new(self.text, &path, range, problem).allowed(allowed)
    }

    fn line(&self, row: &Row<'_>) -> Result<LogLine, Wrong> {
        let Some(cells) = &row.cells else {
            let hint = "close the quote on the same line, or write two quotes for one";
            let fault = self.fault(
                "",
                row.range.clone(),
                "a quote is not closed, or text follows it",
                "text in quotes, then a separator",
            );
            return Err(Box::new(fault.hint(Some(hint.to_owned()))));
        };
        let end = Cell { text: "".into(), range: row.range.end..row.range.end };
        let cell = |column: usize| self.columns[column].and_then(|place| cells.get(place)).unwrap_or(&end);
        let most = self.columns.iter().flatten().max().map_or(0, |place| place + 1);
        if let Some(more) = cells.get(most..).into_iter().flatten().find(|cell| !cell.text.is_empty()) {
            let hint = "put a text that holds a separator in double quotes; write decimals with a point";
            let fault = self.fault(
                "",
                more.range.clone(),
                "one cell more than the first line has",
                format!("{most} cells"),
            );
            return Err(Box::new(fault.hint(Some(hint.to_owned()))));
        }
        let date = self.date(cell(0))?;
        let kind = self.kind(cell(1))?;
        let value = self.value(kind, cell(2), cell(3))?;
        let place = self.place(kind, cell(4))?;
        Ok(LogLine { line: row.line, date, kind, value, place, note: cell(5).text.to_string() })
    }

    fn date(&self, cell: &Cell<'_>) -> Result<Date, Wrong> {
        let text = cell.text.as_ref();
        if let Some(date) = calendar::date(text) {
            return Ok(date);
        }
        let allowed = "a date as year-month-day, such as 2027-01-04";
        let problem = if text.is_empty() { "is missing" } else { "is not a date" };
        let order = text
            .contains(['/', '.'])
            .then(|| "write year, month, day with dashes; set the cell to text in a spreadsheet".to_owned());
        Err(Box::new(self.fault("date", cell.range.clone(), problem, allowed).hint(order)))
    }

    fn kind(&self, cell: &Cell<'_>) -> Result<LogKind, Wrong> {
        let words = || LogKind::ALL.iter().map(|kind| kind.row().word);
        LogKind::of_word(&cell.text).ok_or_else(|| {
            let problem = if cell.text.is_empty() { "is missing" } else { "is no word of a log" };
            let hint = nearest(&cell.text.to_lowercase(), words()).map(did_you_mean);
            let allowed = words().collect::<Vec<_>>().join(", ");
            Box::new(self.fault("what", cell.range.clone(), problem, allowed).hint(hint))
        })
    }

    fn value(&self, kind: LogKind, cell: &Cell<'_>, unit: &Cell<'_>) -> Result<f64, Wrong> {
        let row = kind.row();
        let (low, high) = row.range;
        let documented = row.quantity.unit();
        let allowed = format!("{} to {} {documented}", format_input(low, 6), format_input(high, 6))
            .trim_end()
            .to_owned();
        let wrong = |cell: &Cell<'_>, column: &str, problem: &str, hint: Option<String>| {
            Box::new(self.fault(column, cell.range.clone(), problem, allowed.clone()).hint(hint))
        };
        if cell.text.is_empty() {
            let hint = "write what was measured, or remove the line; 0 is a value too";
            return Err(wrong(cell, "value", "is missing", Some(hint.to_owned())));
        }
        let text = self.with_point(&cell.text).map_err(|hint| {
            wrong(cell, "value", "the comma may stand for thousands or decimals", Some(hint))
        })?;
        if !unit.text.is_empty() && unit.text.parse::<f64>().is_ok() {
            let hint = "a decimal comma divides a value in two: write decimals with a point, or the value in double quotes";
            let fault = self.fault("unit", unit.range.clone(), "is a number", row.quantity.allowed());
            return Err(Box::new(fault.hint(Some(hint.to_owned()))));
        }
        let read = match (text.parse::<f64>(), unit.text.as_ref()) {
            (Ok(number), "") => number,
            (_, "") => {
                quantity::parse(row.quantity, &text).map_err(|e| wrong(cell, "value", &e.reason, e.hint))?
            }
            (Err(_), _) => {
                let hint = "write the number alone in `value` where `unit` is given".to_owned();
                return Err(wrong(cell, "value", "is not a number", Some(hint)));
            }
            (Ok(_), given) => {
                let read = quantity::parse(row.quantity, &format!("{text} {given}"));
                read.map_err(|e| {
                    let fault = self.fault("unit", unit.range.clone(), &*e.reason, row.quantity.allowed());
                    Box::new(fault.hint(e.hint))
                })?
            }
        };
        if !read.is_finite() {
            return Err(wrong(cell, "value", "is not a finite number", None));
        }
        if (low..=high).contains(&read) {
            return Ok(read);
        }
        let problem = if read < 0.0 && low >= 0.0 { "is negative" } else { "cannot be" };
        Err(wrong(cell, "value", problem, percent(row.quantity, read, high)))
    }

    /// A number with a decimal point. A decimal comma is understood where it cannot stand for thousands.
    fn with_point(&self, text: &str) -> Result<String, String> {
        let Some((before, after)) = text.split_once(',') else { return Ok(text.to_owned()) };
        let decimals: usize = after.chars().take_while(char::is_ascii_digit).count();
        let digits = before.trim_start_matches(['-', '+']);
        if !after.contains(',')
            && !text.contains('.')
            && decimals > 0
            && digits.chars().all(|c| c.is_ascii_digit())
        {
            if decimals == 3 && (self.sign == ',' || digits != "0") {
                return Err(format!("write {before}{after} or {before}.{after}"));
            }
            return Ok(format!("{before}.{after}"));
        }
        Ok(text.to_owned())
    }

    fn place(&self, kind: LogKind, cell: &Cell<'_>) -> Result<LogPlace, Wrong> {
        let name = cell.text.as_ref();
        let same = |own: &str| own.to_lowercase() == name.to_lowercase();
        let wrong = |problem: &str, allowed: String, hint: Option<String>| {
            Box::new(self.fault("where", cell.range.clone(), problem, allowed).hint(hint))
        };
        let unknown = |all: Vec<&str>, what: &str| {
            let hint = nearest(name, all.iter().copied()).map(did_you_mean);
            wrong(&format!("no {what} has this name"), all.join(", "), hint)
        };
        match kind.row().place {
            Whereabouts::Site if name.is_empty() => Ok(LogPlace::Site),
            Whereabouts::Site => {
                let hint = "leave `where` empty, or write it in `note`".to_owned();
                Err(wrong(
                    &format!("`{}` is of the whole site", kind.row().word),
                    "nothing".to_owned(),
                    Some(hint),
                ))
            }
            Whereabouts::Stream => {
                let streams: Vec<&str> = self.plan.streams.iter().map(|s| s.name.as_str()).collect();
                match streams.iter().position(|own| same(own)) {
                    Some(stream) => Ok(LogPlace::Stream(stream)),
                    None if name.is_empty() && streams.len() == 1 => Ok(LogPlace::Stream(0)),
                    None if name.is_empty() => {
                        Err(wrong("does not say which stream", streams.join(", "), None))
                    }
                    None => Err(unknown(streams, "stream")),
                }
            }
            Whereabouts::Beds | Whereabouts::BedInTurn if self.names.is_empty() => {
                Err(wrong("the site has no beds", "a scenario with `beds`".to_owned(), None))
            }
            Whereabouts::Beds if name.is_empty() => Ok(LogPlace::Beds(0..self.names.len())),
            Whereabouts::BedInTurn if name.is_empty() => Ok(LogPlace::InTurn),
            Whereabouts::Beds | Whereabouts::BedInTurn => {
                if let Some(bed) = self.names.iter().position(|(_, own)| same(own)) {
                    return Ok(LogPlace::Beds(bed..bed + 1));
                }
                let mut group = (0..self.names.len()).filter(|&bed| same(self.names[bed].0));
                if let Some(first) = group.next() {
                    return Ok(LogPlace::Beds(first..group.next_back().unwrap_or(first) + 1));
                }
                let mut all: Vec<&str> = self.plan.beds.iter().map(|b| b.name.as_str()).collect();
                all.extend(self.names.iter().map(|(_, own)| own.as_str()).filter(|own| !own.is_empty()));
                all.dedup();
                Err(unknown(all, "bed"))
            }
        }
    }
}

/// A share above one is most often a percentage.
fn percent(kind: Kind, value: f64, high: f64) -> Option<String> {
    let fits = kind == Kind::Share && value > 1.0 && value <= 100.0 * high;
    fits.then(|| format!("percent given? write % in `unit`, or {}", format_input(value / 100.0, 6)))
}
