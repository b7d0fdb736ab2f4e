//! The answer to *rounds*: the work of each day, and what to write down.

use crate::scenario::log::LogKind;
use crate::study::answer::inlined;
use crate::study::weigh::answer::{WeighForecast, Weighing};
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

/// What a job is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct JobName {
    /// Name in files.
    pub name: &'static str,
    /// What to do.
    pub what: &'static str,
    /// Unit of its amounts: kg, L or 1.
    pub unit: &'static str,
}

/// An amount of work.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Work {
    /// Name of the job.
    pub job: &'static str,
    /// As the run with the best estimates has it.
    pub planned: f64,
    /// 5 % and 95 % points over fitted sites, weather and intake of these days drawn. `null` without a fit.
    pub range: Option<[f64; 2]>,
}

/// Drums to open.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct DrumsToOpen {
    /// Day on which they were filled and sealed.
    #[schemars(with = "String")]
    pub filled: Date,
    /// How many.
    pub count: usize,
}

/// The work at one bed.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BedWork {
    /// Name of the bed.
    pub bed: String,
    /// Feed to lay, kg.
    pub feed: f64,
    /// Water to add, L.
    pub water: f64,
    /// Castings to harvest, kg; above 0, the bed is to be harvested.
    pub castings: f64,
}

/// A day.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RoundsDay {
    /// Date.
    #[schemars(with = "String")]
    pub date: Date,
    /// Amount of each job, in the order of the jobs.
    pub work: Vec<Work>,
    /// Drums to open, those filled first in front.
    pub open: Vec<DrumsToOpen>,
    /// Each bed.
    pub beds: Vec<BedWork>,
}

/// Seven days, or what is left of them at the end.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RoundsWeek {
    /// First day.
    #[schemars(with = "String")]
    pub first: Date,
    /// Last day.
    #[schemars(with = "String")]
    pub last: Date,
    /// Sum of each job, in the order of the jobs.
    pub work: Vec<Work>,
    /// Name of the routine of measuring that is worth most in this week. `null` if none is due or none is named.
    pub most_useful: Option<&'static str>,
}

/// A line of the next log, with its value to be written in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LogBox {
    /// Date.
    #[schemars(with = "String")]
    pub date: Date,
    /// The kind of line.
    pub what: LogKind,
    /// Stream or bed, as a log names it; empty for the whole site or all beds.
    pub place: String,
    /// Name of the routine of measuring that it belongs to. `null` for what a log knows for certain.
    pub routine: Option<&'static str>,
}

/// What is worth measuring from these days on.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Advice {
    /// Last day of measuring that it counts on.
    #[schemars(with = "String")]
    pub until: Date,
    /// Days of the forecast after it.
    pub forecast_days: u32,
    /// Draws.
    pub draws: usize,
    /// The forecasts.
    pub forecasts: Vec<WeighForecast>,
    /// Routines in the order of what they are worth for a minute of work; those that take too little are left out.
    pub routines: Vec<Weighing>,
}

/// What on the site can hurt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Hazards {
    /// Mass of a full drum, kg; 0 without drums.
    pub full_drum: f64,
    /// Whether drums are opened.
    pub opens: bool,
    /// Whether the grinder runs.
    pub grinds: bool,
    /// Whether castings are harvested or screened.
    pub castings: bool,
}

/// The answer to *rounds*.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RoundsAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// First day.
    #[schemars(with = "String")]
    pub from: Date,
    /// Last day.
    #[schemars(with = "String")]
    pub until: Date,
    /// Fitted sites behind the ranges. `null` without a fit.
    pub sites: Option<usize>,
    /// Last day of the log whose known lines replace the plan's. `null` without a log.
    #[schemars(with = "Option<String>")]
    pub log_until: Option<Date>,
    /// The jobs.
    pub jobs: Vec<JobName>,
    /// The days.
    pub days: Vec<RoundsDay>,
    /// The weeks from the first day on.
    pub weeks: Vec<RoundsWeek>,
    /// What to write down, in the order of dates.
    pub lines: Vec<LogBox>,
    /// What to measure. `null` if it was not asked for, or the run ends too soon after these days for a forecast.
    pub advice: Option<Advice>,
    /// What can hurt.
    pub hazards: Hazards,
}

/// JSON Schema of the answer.
pub fn schema() -> serde_json::Value {
    inlined::<RoundsAnswer>()
}
