//! *rounds*: the work of the coming days, as the chain does it.
//!
//! The run with best estimates gives the amounts; fitted sites, each with its own weather, intake and luck from the first of these days on,
//! give their ranges. What a log knows takes the place of the plan's. `boxes` are the lines of the next log, and
//! [`weigh`] says which of them are worth most.

pub mod answer;
mod boxes;
mod job;

use crate::chain::{self, Models, Round, Site};
use crate::monte_carlo::summary::quantile;
use crate::monte_carlo::{Answered, Days, Draw, Study, Watch, ensemble, in_order};
use crate::process::quality::QualityRates;
use crate::scenario::log::{Log, with_log};
use crate::scenario::{Almanac, Chance, Plan, assemble_on, central, with_chance};
use crate::study::ahead::AheadError;
use crate::study::beside::Beside;
use crate::study::fit::FitError;
use crate::study::run::RunError;
use crate::study::weigh::answer::WeighAnswer;
use crate::study::weigh::{self, FORECAST_DAYS, WeighQuestion};
use answer::{
    Advice, BedWork, DrumsToOpen, Hazards, JobName, LogBox, RoundsAnswer, RoundsDay, RoundsWeek, Work,
};
use boxes::{Boxes, WEEK};
use jiff::ToSpan;
use jiff::civil::Date;
use job::JOBS;

/// Most days: five weeks, each on a page. Source: our choice; farther ahead the plan is a guess.
const MOST_DAYS: u32 = 35;
/// Most fitted sites that are run for ranges. Source: our choice.
const MOST_SITES: usize = 200;
/// Days of measuring that advice counts on, and least days of its forecast. Source: our choice.
const MEASURED_DAYS: u32 = 28;
const LEAST_FORECAST: u32 = 14;
/// Ends of a range.
const ENDS: [f64; 2] = [0.05, 0.95];

/// Which days are planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RoundsQuestion {
    /// First day. `None`: the day after the log, or the first of the run.
    pub from: Option<Date>,
    /// Days.
    pub days: u32,
    /// Draws behind the advice on what to measure; 0: no advice.
    pub draws: u64,
    /// Seed of all draws.
    pub seed: u64,
    /// Threads; the answer is the same with any number.
    pub threads: usize,
}

/// A site whose days are planned.
struct Planned<'a> {
    plan: &'a Plan,
    log: Option<&'a Log>,
    almanac: Almanac,
    from: usize,
    days: usize,
}

/// Whether the question can be asked of a plan; the first day of the run that it asks for.
///
/// # Errors
/// [`AheadError::Question`].
pub fn check(plan: &Plan, log: Option<&Log>, question: &RoundsQuestion) -> Result<usize, AheadError> {
    if question.draws > 0 {
        weigh::check_draws(question.draws)?;
    }
    let last = plan.date(plan.days.saturating_sub(1));
    let wrong =
        |given: String, problem, allowed, hint| Err(AheadError::Question { given, problem, allowed, hint });
    if !(1..=MOST_DAYS).contains(&question.days) {
        let hint = "a page holds a week; plan again at its end, from the site as it is then";
        return wrong(
            format!("--days {}", question.days),
            "is out of range",
            format!("1 to {MOST_DAYS}"),
            hint,
        );
    }
    let after = log.and_then(|log| log.lines.last()).map(|line| line.date.saturating_add(1.day()));
    let from = question.from.or(after).unwrap_or(plan.start);
    let longer = "let `days` of the scenario be larger, or begin with --from-state";
    if !(plan.start..=last).contains(&from) {
        let given = if question.from.is_some() {
            format!("--from {from}")
        } else {
            format!("{from}, the day after the log")
        };
        return wrong(given, "is outside the run", format!("{} to {last}", plan.start), longer);
    }
    let left = (last - from).get_days() + 1;
    if i64::from(question.days) > i64::from(left) {
        let given = format!("--days {} from {from}", question.days);
        return wrong(given, "ends after the run", format!("1 to {left}"), longer);
    }
    Ok(usize::try_from((from - plan.start).get_days()).unwrap_or(0))
}

/// Runs that [`rounds`] takes.
pub fn runs(plan: &Plan, question: &RoundsQuestion) -> u64 {
    let sites = plan.fitted().map_or(0, |fitted| fitted.members.len().min(MOST_SITES)) as u64;
    sites + plan.fitted().map_or(question.draws, |fitted| question.draws.min(fitted.members.len() as u64))
}

/// Plans the coming days.
///
/// # Errors
/// [`AheadError`] when the question is not allowed, the run fails, draws fail, or the work is stopped.
pub fn rounds(
    plan: &Plan,
    log: Option<&Log>,
    question: &RoundsQuestion,
    watch: &Watch,
) -> Result<RoundsAnswer, AheadError> {
    let from = check(plan, log, question)?;
    let plan = &plan.without_later_years();
    let site = Planned { plan, log, almanac: Almanac::of(plan), from, days: question.days as usize };
    let get = |key: &str| central(plan, key);
    let (assembled, models) = site.assembled(&get).map_err(RunError::Assemble)?;
    let (made, trace) = chain::rounds(&assembled, &models, from, site.days).map_err(RunError::NotClosed)?;
    let full_drum = assembled.drums.drum_mass() * f64::from(u8::from(assembled.drums.drums > 0));
    let run = Beside { site: assembled, models, trace, rates: QualityRates::from_values(&get) };
    let sites = site.sites(question, watch)?;
    let advice = site.advice(question, watch)?;
    let lines = Boxes { plan, run: &run, days: from..from + site.days }.lines(advice.as_ref());
    let day = |n: usize| plan.date(u32::try_from(n).unwrap_or(u32::MAX));
    let (first, last) = (day(from), day(from + site.days - 1));
    Ok(RoundsAnswer {
        version: env!("CARGO_PKG_VERSION"),
        name: plan.name.clone(),
        from: first,
        until: last,
        sites: plan.fitted().map(|_| sites.len()),
        log_until: log.and_then(|log| log.lines.last()).map(|line| line.date),
        jobs: JOBS.iter().map(|job| JobName { name: job.name, what: job.what, unit: job.unit }).collect(),
        weeks: weeks(&made, &sites, &lines, advice.as_ref()),
        hazards: Hazards {
            full_drum,
            opens: made.iter().any(|round| round.record.drums_opened > 0.0),
            grinds: made.iter().any(|round| round.record.ground > 0.0),
            castings: made.iter().any(|round| round.record.harvested + round.record.screened > 0.0),
        },
        days: site.days(&made, &sites),
        lines,
        advice,
    })
}

impl Planned<'_> {
    fn assembled(&self, get: &dyn Fn(&str) -> f64) -> Result<(Site, Models), crate::scenario::AssembleError> {
        let (mut site, models) = assemble_on(self.plan, &self.almanac, get)?;
        if let Some(log) = self.log {
            with_log(self.plan, log, &mut site, &models, get);
        }
        Ok((site, models))
    }

    /// The same days of every fitted site; none without a fit.
    fn sites(&self, question: &RoundsQuestion, watch: &Watch) -> Result<Vec<Vec<Round>>, AheadError> {
        let Some(fitted) = self.plan.fitted() else { return Ok(Vec::new()) };
        let count = fitted.members.len().min(MOST_SITES);
        let study = Study::of(self.plan).map_err(FitError::Study)?;
        let draws = study.draws(question.seed, 0..count as u64);
        let made = in_order(question.threads, draws.len(), watch, |place| {
            ensemble::caught(|| self.one(&study, &draws[place], (question.seed, place as u64)))
        });
        let Some(Answered { answers, failed }) = Answered::of(made) else {
            return Err(AheadError::Stopped { made: watch.done(), asked: runs(self.plan, question) });
        };
        let all: Vec<Vec<Round>> = answers.into_iter().map(|(_, rounds)| rounds).collect();
        if all.len() < count.div_ceil(2) {
            let message = failed.unwrap_or_default();
            return Err(FitError::RunsFailed { left: all.len(), made: count, message }.into());
        }
        Ok(all)
    }

    /// The days of one fitted site.
    fn one(&self, study: &Study, draw: &Draw, (seed, number): (u64, u64)) -> Result<Vec<Round>, String> {
        let get = |key: &str| study.value(draw, key);
        let (mut site, models) = assemble_on(self.plan, &self.almanac, &get).map_err(|e| e.to_string())?;
        let days = Days::from_day(self.plan, seed, number, self.from);
        let chance =
            Chance { intake: &days.intake, temperature: &days.temperature, drum_luck: &days.drum_luck };
        with_chance(self.plan, &self.almanac, &mut site, &chance);
        if let Some(log) = self.log {
            with_log(self.plan, log, &mut site, &models, &get);
        }
        let made = chain::rounds(&site, &models, self.from, self.days);
        made.map(|(rounds, _)| rounds).map_err(|e| e.to_string())
    }

    fn days(&self, made: &[Round], sites: &[Vec<Round>]) -> Vec<RoundsDay> {
        let names: Vec<String> = self.plan.bed_names().map(|(_, own)| own).collect();
        let bed = |(round, name): (&chain::BedRound, &String)| BedWork {
            bed: name.clone(),
            feed: round.fed,
            water: round.water,
            castings: round.castings,
        };
        let open = |drums: &chain::DrumsOpened| DrumsToOpen {
            filled: self.plan.start.saturating_add(drums.sealed_on.days()),
            count: drums.count,
        };
        let day = |(n, round): (usize, &Round)| RoundsDay {
            date: round.record.date,
            work: work(made, sites, n..n + 1),
            open: round.opened.iter().map(open).collect(),
            beds: round.beds.iter().zip(&names).map(bed).collect(),
        };
        made.iter().enumerate().map(day).collect()
    }

    /// What is worth measuring from the first of the days on. `None` where it is not asked for or the run ends too soon.
    fn advice(&self, question: &RoundsQuestion, watch: &Watch) -> Result<Option<Advice>, AheadError> {
        let left = self.plan.days.saturating_sub(u32::try_from(self.from).unwrap_or(u32::MAX));
        let forecast = left.saturating_sub(MEASURED_DAYS).min(FORECAST_DAYS);
        if question.draws == 0 || forecast < LEAST_FORECAST {
            return Ok(None);
        }
        let asked = WeighQuestion {
            from: Some(self.plan.date(u32::try_from(self.from).unwrap_or(u32::MAX))),
            days: Some(MEASURED_DAYS),
            forecast,
            draws: question.draws,
            seed: question.seed,
            threads: question.threads,
        };
        match weigh::weigh(self.plan, &asked, watch) {
            Ok(WeighAnswer { until, forecast_days, draws, forecasts, mut routines, .. }) => {
                routines.retain(|routine| routine.place.is_some());
                Ok(Some(Advice { until, forecast_days, draws, forecasts, routines }))
            }
            // a site of which nothing is unknown, or on which nothing is there yet to be measured, still has its work
            Err(AheadError::Draws(FitError::NothingUnknown | FitError::NothingBeside { .. })) => Ok(None),
            Err(error) => Err(error),
        }
    }
}

/// Amounts of each job over some of the days.
fn work(made: &[Round], sites: &[Vec<Round>], days: std::ops::Range<usize>) -> Vec<Work> {
    let one = |job: &job::Job| {
        let sum = |rounds: &[Round]| rounds[days.clone()].iter().map(job.of).sum::<f64>();
        let mut all: Vec<f64> = sites.iter().map(|rounds| sum(rounds)).collect();
        all.sort_by(f64::total_cmp);
        let range = (!all.is_empty()).then(|| ENDS.map(|end| quantile(&all, end)));
        Work { job: job.name, planned: sum(made), range }
    };
    JOBS.iter().map(one).collect()
}

fn weeks(made: &[Round], sites: &[Vec<Round>], lines: &[LogBox], advice: Option<&Advice>) -> Vec<RoundsWeek> {
    let week = |first: usize| {
        let end = made.len().min(first + WEEK);
        let (from, until) = (made[first].record.date, made[end - 1].record.date);
        let due =
            |name: &str| lines.iter().any(|l| l.routine == Some(name) && (from..=until).contains(&l.date));
        RoundsWeek {
            first: from,
            last: until,
            work: work(made, sites, first..end),
            most_useful: advice
                .and_then(|advice| advice.routines.iter().map(|routine| routine.name).find(|name| due(name))),
        }
    };
    (0..made.len()).step_by(WEEK).map(week).collect()
}
