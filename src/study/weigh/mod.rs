//! *weigh*: what to measure on a site, before anything is measured.
//!
//! 1. A sample of draws is run, as before a fit (`study::fit::site`): no chance while it is measured, weather, intake and luck after it.
//! 2. Every routine (module `routine`) gives the lines of a log that it would give, and these the measurements that a fit would make of
//!    them, with the errors of reading and model that a fit would use.
//! 3. [`Worth`] says how much of the variance of each forecast they would leave, alone and in the order in which they are worth most for a
//!    minute of work.
//!
//! # Source
//! The linear-Gaussian estimate; the work of a measurement is assumed (`log.minutes_...`), a scenario replaces it in `rates`.

pub mod answer;
pub(super) mod routine;

use crate::chain;
use crate::monte_carlo::worth::Worth;
use crate::monte_carlo::{Answered, Study, Watch, ensemble, in_order};
use crate::process::quality::QualityRates;
use crate::scenario::log::{Log, LogLine};
use crate::scenario::{Almanac, Plan, assemble_with, central};
use crate::study::ahead::AheadError;
use crate::study::beside::Beside;
use crate::study::fit::data::{Datum, measurements};
use crate::study::fit::site::{FORECASTS, FitSite, Outcome};
use crate::study::fit::{FitError, beside, table};
use crate::study::run::RunError;
use answer::WeighAnswer;
use jiff::civil::Date;
use nalgebra::DMatrix;
use routine::ROUTINES;

/// Days of a forecast.
pub const FORECAST_DAYS: u32 = 60;
/// Longest time of measuring where none is given, and shortest, d. Source: our choice; shorter ones hold no sum of an amount.
const USUAL_DAYS: u32 = 180;
const LEAST_DAYS: u32 = 15;
/// Draws. Source: our choice; fewer show little but the strongest.
const DRAWS: (u64, u64) = (50, 20_000);
/// Mean share of variance that a measurement must take to be named. Source: our choice.
const LEAST: f64 = 0.005;

/// When is measured, and what is forecast.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WeighQuestion {
    /// First day of measuring. `None`: the first of the run.
    pub from: Option<Date>,
    /// Days of measuring. `None`: as many as leave a forecast within the run, 180 at most.
    pub days: Option<u32>,
    /// Days of the forecast after them.
    pub forecast: u32,
    /// Draws of the sample; of a fitted plan as many as it has sites, at most.
    pub draws: u64,
    /// Seed of all draws.
    pub seed: u64,
    /// Threads; the answer is the same with any number.
    pub threads: usize,
}

/// The days of a question within a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Span {
    from: usize,
    /// Last day of measuring.
    last: usize,
    /// Days of a run.
    days: usize,
}

/// A routine as it would be done.
struct Done {
    place: usize,
    times: usize,
    minutes: f64,
    /// Its measurements among all.
    rows: Vec<usize>,
}

/// Runs that [`weigh`] takes.
pub fn runs(plan: &Plan, question: &WeighQuestion) -> u64 {
    plan.fitted().map_or(question.draws, |sites| question.draws.min(sites.members.len() as u64))
}

/// Whether the question can be asked of a plan.
///
/// # Errors
/// [`AheadError::Question`].
pub fn check(plan: &Plan, question: &WeighQuestion) -> Result<(), AheadError> {
    span(plan, question).map(|_| ())
}

/// Whether so many draws can be made.
///
/// # Errors
/// [`AheadError::Question`].
pub(super) fn check_draws(draws: u64) -> Result<(), AheadError> {
    if (DRAWS.0..=DRAWS.1).contains(&draws) {
        return Ok(());
    }
    Err(AheadError::Question {
        given: format!("--draws {draws}"),
        problem: "is out of range",
        allowed: format!("{} to {}", DRAWS.0, DRAWS.1),
        hint: "500 are a good choice; fewer find only what is worth much",
    })
}

fn span(plan: &Plan, question: &WeighQuestion) -> Result<Span, AheadError> {
    check_draws(question.draws)?;
    let wrong =
        |given: String, problem, allowed, hint| Err(AheadError::Question { given, problem, allowed, hint });
    let run = plan.days;
    let needed = LEAST_DAYS + question.forecast.max(1);
    let latest = run.checked_sub(needed).map(|day| plan.date(day));
    let longer = "let `days` of the scenario be larger, or forecast fewer days with --forecast";
    let (Some(latest), true) = (latest, question.forecast > 0) else {
        let most = run.saturating_sub(LEAST_DAYS);
        let given = format!("--forecast {}", question.forecast);
        return wrong(given, "leaves no days to measure in", format!("1 to {most}"), longer);
    };
    let from = question.from.unwrap_or(plan.start);
    if !(plan.start..=latest).contains(&from) {
        let allowed = format!("{} to {latest}", plan.start);
        return wrong(
            format!("--from {from}"),
            "is outside the run, or too near its end for a forecast",
            allowed,
            longer,
        );
    }
    let from = u32::try_from((from - plan.start).get_days()).unwrap_or(0);
    let most = run - question.forecast - from;
    let days = question.days.unwrap_or(USUAL_DAYS.min(most));
    if !(LEAST_DAYS..=most).contains(&days) {
        let hint =
            "amounts of a day are compared over two weeks or more; the forecast must end within the run";
        return wrong(format!("--days {days}"), "is out of range", format!("{LEAST_DAYS} to {most}"), hint);
    }
    let (from, days) = (from as usize, days as usize);
    Ok(Span { from, last: from + days - 1, days: from + days + question.forecast as usize })
}

/// Says what to measure.
///
/// # Errors
/// [`AheadError`] when the question is not allowed, nothing is unknown, too few draws give an answer, or the work is stopped.
pub fn weigh(plan: &Plan, question: &WeighQuestion, watch: &Watch) -> Result<WeighAnswer, AheadError> {
    let span = span(plan, question)?;
    let plan = &plan.without_later_years();
    let study = Study::of(plan).map_err(FitError::Study)?;
    if study.quantities().is_empty() {
        return Err(FitError::NothingUnknown.into());
    }
    let run = central_run(plan, &span)?;
    let (log, mut done) = planned(plan, &run, &span);
    let data = measurements(plan, &log);
    let site = FitSite {
        plan,
        study: &study,
        almanac: Almanac::of(plan),
        log: &log,
        data: &data,
        last: span.last,
        days: span.days,
        seed: question.seed,
        threads: question.threads,
    };
    let mut outcomes = sample(&site, runs(plan, question), watch)?;
    let kept = beside(&outcomes, data.len());
    if kept.is_empty() {
        return Err(FitError::NothingBeside { measurements: data.len() }.into());
    }
    for outcome in &mut outcomes {
        outcome.data = kept.iter().map(|&n| outcome.data[n]).collect();
    }
    let data: Vec<&Datum> = kept.iter().map(|&n| &data[n]).collect();
    for routine in &mut done {
        let of = |n: &usize| ROUTINES[routine.place].kinds.contains(&data[*n].kind);
        routine.rows = (0..data.len()).filter(of).collect();
    }
    let errors: Vec<f64> = data.iter().map(|datum| datum.error).collect();
    let figures = DMatrix::from_fn(FORECASTS, outcomes.len(), |n, run| outcomes[run].forecast()[n]);
    let worth = Worth::of(&figures, &table(&outcomes), &errors);
    let sets: Vec<Vec<usize>> = done.iter().map(|routine| routine.rows.clone()).collect();
    let costs: Vec<f64> = done.iter().map(|routine| routine.minutes.max(1.0)).collect();
    let order = worth.in_order(&sets, &costs, LEAST);
    Ok(answer::answer(&site, (question, &span), &outcomes, (&worth, &done, &order)))
}

/// The run with central values.
fn central_run(plan: &Plan, span: &Span) -> Result<Beside, AheadError> {
    let get = |key: &str| central(plan, key);
    let (site, models) = assemble_with(plan, &get).map_err(RunError::Assemble)?;
    let trace = chain::run_days(&site, &models, span.days).map_err(RunError::NotClosed)?;
    Ok(Beside { site, models, trace, rates: QualityRates::from_values(&get) })
}

/// The log that all routines would give, and the routines that give lines.
fn planned(plan: &Plan, run: &Beside, span: &Span) -> (Log, Vec<Done>) {
    let (mut lines, mut done): (Vec<LogLine>, Vec<Done>) = (Vec::new(), Vec::new());
    for (place, routine) in ROUTINES.iter().enumerate() {
        let (made, times) = routine.lines(run, &(span.from..=span.last));
        if times > 0 {
            let minutes = central(plan, &format!("log.minutes_{}", routine.name)) * times as f64;
            done.push(Done { place, times, minutes, rows: Vec::new() });
        }
        lines.extend(made);
    }
    lines.sort_by_key(|line| line.date);
    (Log { lines, remarks: Vec::new() }, done)
}

/// The draws that gave answers.
fn sample(site: &FitSite<'_>, count: u64, watch: &Watch) -> Result<Vec<Outcome>, AheadError> {
    let draws = site.study.draws(site.seed, 0..count);
    let made = in_order(site.threads, draws.len(), watch, |place| {
        ensemble::caught(|| site.run(place as u64, &draws[place]))
    });
    let Some(Answered { answers, failed }) = Answered::of(made) else {
        return Err(AheadError::Stopped { made: watch.done(), asked: count });
    };
    let outcomes: Vec<Outcome> = answers.into_iter().map(|(_, outcome)| outcome).collect();
    if outcomes.len() < 2 || (outcomes.len() as u64) < count / 2 {
        let message = failed.unwrap_or_default();
        return Err(FitError::RunsFailed { left: outcomes.len(), made: draws.len(), message }.into());
    }
    Ok(outcomes)
}
