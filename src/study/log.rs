//! A log against its plan: what was read, and the model beside what was measured.

use super::beside::Beside;
use super::run::RunError;
use crate::chain;
use crate::process::quality::QualityRates;
use crate::scenario::log::{Compared, Log, LogKind, LogLine, LogPlace, Remark, with_log};
use crate::scenario::{Plan, assemble_with, central};
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeSet;

/// A line beside the model.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LogPoint {
    /// Number of the line in the file.
    pub line: usize,
    /// Date.
    #[schemars(with = "String")]
    pub date: Date,
    /// Stream or beds; empty for the whole site.
    pub place: String,
    /// As written, in the unit of the comparison.
    pub log: f64,
    /// The plan as it is. `null` where the model has no such figure on that day.
    pub plan: Option<f64>,
    /// The plan with what the log knows for certain.
    pub model: Option<f64>,
}

/// All lines of a kind, of scraps all of a stream, beside the model.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LogComparison {
    /// What the lines tell.
    pub what: LogKind,
    /// Unit of all values.
    pub unit: &'static str,
    /// Name of the stream; empty otherwise.
    pub stream: String,
    /// How they are compared: sums from the first to the last line, or means over the lines that have a figure beside them.
    pub compared: Compared,
    /// Whether the model takes the lines as known.
    pub known: bool,
    /// Date of the first line.
    #[schemars(with = "String")]
    pub first: Date,
    /// Date of the last line.
    #[schemars(with = "String")]
    pub last: Date,
    /// Sum or mean of the log.
    pub log: f64,
    /// The same of the plan as it is. `null` if the model has no such figure on any of these days.
    pub plan: Option<f64>,
    /// The same of the plan with what the log knows.
    pub model: Option<f64>,
    /// Standard deviation of log less model about zero, over the lines; `null` for sums.
    pub misfit: Option<f64>,
    /// The lines.
    pub points: Vec<LogPoint>,
    /// The plan by days since the first day of the run: the figure, or for sums what has come together since the first line.
    pub plan_curve: Vec<(usize, f64)>,
    /// The same of the plan with what the log knows.
    pub model_curve: Vec<(usize, f64)>,
}

/// The answer to *log*.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LogAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// First day of the run.
    #[schemars(with = "String")]
    pub start: Date,
    /// Number of days of the run.
    pub days: usize,
    /// Lines used.
    pub lines: usize,
    /// Lines that are wrong and were not used.
    pub wrong: usize,
    /// Duplicates, gaps, unusual values and dates outside the run.
    pub remarks: Vec<Remark>,
    /// Beds whose harvests the log knows, in order of dates: date and number of the bed, from 1.
    #[schemars(with = "Vec<(String, usize)>")]
    pub harvests: Vec<(Date, usize)>,
    /// Each kind of line beside the model, in the order of the chain.
    pub comparisons: Vec<LogComparison>,
}

/// Compares a log with its plan, by central values and without chance: the plan as it is, and with what the log knows. `wrong` is the
/// number of lines that could not be read.
///
/// # Errors
/// As [`run`](super::run()).
pub fn against(plan: &Plan, log: &Log, wrong: usize) -> Result<LogAnswer, RunError> {
    let get = |key: &str| central(plan, key);
    let run = |known: bool| {
        let (mut site, models) = assemble_with(plan, &get).map_err(RunError::Assemble)?;
        if known {
            with_log(plan, log, &mut site, &models, &get);
        }
        let trace = chain::run(&site, &models, chain::Keep::Beds).map_err(RunError::NotClosed)?;
        Ok(Beside { site, models, trace, rates: QualityRates::from_values(&get) })
    };
    let (planned, known) = (run(false)?, run(true)?);
    let names: Vec<String> = plan.bed_names().map(|(_, own)| own).collect();
    let mut comparisons = Vec::new();
    for kind in LogKind::ALL {
        let streams = if kind == LogKind::ScrapsIn { plan.streams.len() } else { 1 };
        for stream in 0..streams {
            let of_stream =
                |line: &&LogLine| kind != LogKind::ScrapsIn || line.place == LogPlace::Stream(stream);
            let lines: Vec<&LogLine> =
                log.lines.iter().filter(|line| line.kind == kind).filter(of_stream).collect();
            if !lines.is_empty() {
                comparisons.push(comparison(plan, &names, &lines, &planned, &known));
            }
        }
    }
    let harvests = known.site.known_harvests.iter().flat_map(|known| &known.takes);
    Ok(LogAnswer {
        version: env!("CARGO_PKG_VERSION"),
        name: plan.name.clone(),
        start: plan.start,
        days: plan.days as usize,
        lines: log.lines.len(),
        wrong,
        remarks: log.remarks.clone(),
        harvests: harvests.map(|&(day, bed)| (known.site.date(day), bed + 1)).collect(),
        comparisons,
    })
}

fn comparison(
    plan: &Plan,
    names: &[String],
    lines: &[&LogLine],
    planned: &Beside,
    known: &Beside,
) -> LogComparison {
    let (first, last) = (lines[0], lines[lines.len() - 1]);
    let kind = first.kind;
    let row = kind.row();
    let day = |line: &LogLine| known.day_of(line.date);
    let points: Vec<LogPoint> = lines
        .iter()
        .map(|line| LogPoint {
            line: line.line,
            date: line.date,
            place: place_name(plan, names, &line.place),
            log: line.value,
            plan: planned.near(kind, &line.place, day(line)),
            model: known.near(kind, &line.place, day(line)),
        })
        .collect();
    let whole = together(lines);
    let days = match row.compared {
        Compared::Sum => day(first)..day(last) + 1,
        Compared::State | Compared::Harvest => 0..known.site.days,
    };
    let drawn = one_place(kind, lines);
    let curve = |run: &Beside| if drawn { run.curve(kind, &whole, days.clone()) } else { Vec::new() };
    let mut made = LogComparison {
        what: kind,
        unit: row.quantity.unit(),
        stream: if kind == LogKind::ScrapsIn { points[0].place.clone() } else { String::new() },
        compared: row.compared,
        known: row.known,
        first: first.date,
        last: last.date,
        log: 0.0,
        plan: None,
        model: None,
        misfit: None,
        plan_curve: curve(planned),
        model_curve: curve(known),
        points,
    };
    if row.compared == Compared::Sum {
        let sum = |run: &Beside| Some(days.clone().filter_map(|day| run.on(kind, &whole, day)).sum());
        made.log = made.points.iter().map(|point| point.log).sum();
        (made.plan, made.model) = (sum(planned), sum(known));
    } else {
        means(&mut made);
    }
    made
}

/// Means over the lines that have a figure of the model beside them, and the misfit.
fn means(made: &mut LogComparison) {
    let mean = |of: &dyn Fn(&LogPoint) -> Option<f64>| {
        let values: Vec<f64> = made.points.iter().filter_map(of).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    let beside = |point: &LogPoint| point.model.map(|_| point.log);
    let log = mean(&beside).or_else(|| mean(&|point| Some(point.log))).unwrap_or(0.0);
    let (plan, model) = (mean(&|point| point.plan), mean(&|point| point.model));
    let misfit = mean(&|point| point.model.map(|model| (point.log - model).powi(2))).map(f64::sqrt);
    (made.log, made.plan, made.model, made.misfit) = (log, plan, model, misfit);
}

/// All places of some lines as one.
fn together(lines: &[&LogLine]) -> LogPlace {
    let mut beds = BTreeSet::new();
    for line in lines {
        match &line.place {
            LogPlace::Beds(of) => beds.extend(of.clone()),
            other => return other.clone(),
        }
    }
    match (beds.first(), beds.last()) {
        (Some(first), Some(last)) => LogPlace::Beds(*first..last + 1),
        _ => LogPlace::Site,
    }
}

/// Whether one curve can stand for all lines: they share a place, or are means over beds.
fn one_place(kind: LogKind, lines: &[&LogLine]) -> bool {
    let additive = matches!(kind, LogKind::WormMass | LogKind::FeedLaid);
    !additive || lines.iter().all(|line| line.place == lines[0].place)
}

fn place_name(plan: &Plan, names: &[String], place: &LogPlace) -> String {
    match place {
        LogPlace::Site | LogPlace::InTurn => String::new(),
        LogPlace::Stream(stream) => plan.streams[*stream].name.clone(),
        LogPlace::Beds(beds) if beds.len() == names.len() && beds.len() > 1 => "all beds".to_owned(),
        LogPlace::Beds(beds) => match (names.get(beds.start), beds.len()) {
            (Some(own), 1) => own.clone(),
            (Some(own), _) => format!("{own} to {}", names.get(beds.end - 1).map_or("", String::as_str)),
            (None, _) => String::new(),
        },
    }
}
