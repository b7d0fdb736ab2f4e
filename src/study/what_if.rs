//! The question *compare*: a site and variants of it on the same draws.
//!
//! Draw *i* of a variant is draw *i* of the base: the same rates, weather, intake and luck. What differs is what was varied, so that
//! the paired differences carry none of the spread that both share, and those of two equal variants are exactly zero.

use crate::monte_carlo::Study;
use crate::monte_carlo::StudyError;
use crate::monte_carlo::ensemble;
use crate::monte_carlo::ensemble::Ensemble;
use crate::monte_carlo::ensemble::Request;
use crate::monte_carlo::figures;
use crate::quantity;
use crate::quantity::Kind;
use crate::scenario;
use crate::scenario::Known;
use crate::scenario::Plan;
use crate::scenario::ScenarioError;
use serde::Serialize;
use statrs::distribution::ContinuousCDF;
use statrs::distribution::StudentsT;
use std::fmt;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicU64;

/// Key of our own: worms bought first per bed area, kg/m2. It stands for `stock.mass` = density x area of all beds.
pub const DENSITY: &str = "stock.density";
/// Figures compared where none are named.
pub const USUAL: [&str; 6] =
    ["fed", "turned_away_share", "castings_screened", "stock_end", "starving_share", "bed_hottest"];
/// Most variants.
pub const MOST_VARIANTS: usize = 400;
/// Confidence of intervals.
const CONFIDENCE: f64 = 0.95;
/// Gain from a denser stocking below which it counts as none.
pub const NO_GAIN: f64 = 0.02;

/// A key and the values it takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Axis {
    /// Key of the scenario, or [`DENSITY`].
    pub key: String,
    /// Values as a scenario would hold them.
    pub values: Vec<String>,
}

/// Reads `key=a,b,c` or `key=from..to/points`. Commas inside brackets, braces and quotes belong to a value.
///
/// # Errors
/// In words, with what is allowed.
pub fn axis(text: &str) -> Result<Axis, String> {
    let allowed =
        "write `key=a,b,c` or `key=from..to/points`, such as drums.count=40,60 or stock.density=1..5/5";
    let Some((key, list)) = text.split_once('=') else { return Err(format!("has no values; {allowed}")) };
    let (key, list) = (key.trim(), list.trim());
    if key.is_empty() {
        return Err(format!("has no key; {allowed}"));
    }
    if list.is_empty() {
        return Err(format!("has no points; {allowed}"));
    }
    let values = match list.split_once("..").filter(|_| list.contains('/') || !list.contains(['"', '[', ',']))
    {
        Some((from, rest)) => range(from, rest).map_err(|problem| format!("{problem}; {allowed}"))?,
        None => split(list),
    };
    if values.iter().any(String::is_empty) {
        return Err(format!("has an empty value; {allowed}"));
    }
    Ok(Axis { key: key.to_owned(), values })
}

fn range(from: &str, rest: &str) -> Result<Vec<String>, String> {
    let Some((to, points)) = rest.split_once('/') else {
        return Err("the range says no number of points".to_owned());
    };
    let number = |text: &str| {
        let value = text.trim().parse::<f64>().ok().filter(|v| v.is_finite());
        value.ok_or_else(|| format!("`{}` is not a number", text.trim()))
    };
    let (from, to) = (number(from)?, number(to)?);
    let points: u32 =
        points.trim().parse().map_err(|_| format!("`{}` is not a number of points", points.trim()))?;
    match points {
        0 => Err("a range of 0 points has no points".to_owned()),
        1 if from.total_cmp(&to).is_ne() => Err("a range of two ends needs at least 2 points".to_owned()),
        1 => Ok(vec![from.to_string()]),
        _ if points as usize > MOST_VARIANTS => Err(format!("at most {MOST_VARIANTS} points")),
        _ if from >= to => Err(format!("nothing lies between {from} and {to}")),
        _ => Ok((0..points)
            .map(|n| {
                let value = from + (to - from) * f64::from(n) / f64::from(points - 1);
                // a range of thirds should not print sixteen digits
                let rounded: f64 = format!("{value:.10}").parse().unwrap_or(value);
                rounded.to_string()
            })
            .collect()),
    }
}

/// Parts between commas that stand outside brackets, braces and quotes.
fn split(list: &str) -> Vec<String> {
    let (mut parts, mut depth, mut quoted) = (vec![String::new()], 0_i32, false);
    for letter in list.chars() {
        match letter {
            '"' => quoted = !quoted,
            '[' | '{' if !quoted => depth += 1,
            ']' | '}' if !quoted => depth -= 1,
            ',' if !quoted && depth == 0 => {
                parts.push(String::new());
                continue;
            }
            _ => {}
        }
        parts.last_mut().expect("there is always a part").push(letter);
    }
    parts.into_iter().map(|part| part.trim().to_owned()).collect()
}

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// Name of the scenario in messages.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
    /// Names it may refer to.
    pub known: Known<'a>,
    /// One key or two.
    pub axes: &'a [Axis],
    /// Names of figures; none for the usual ones.
    pub figures: &'a [String],
    /// Draws.
    pub draws: u64,
    /// Seed.
    pub seed: u64,
    /// Threads.
    pub threads: usize,
}

/// Why nothing is compared.
#[derive(Debug, Clone, PartialEq)]
pub enum WhatIfError {
    /// The scenario or a variant of it is wrong.
    Scenario(ScenarioError),
    /// The unknowns of a variant cannot be drawn.
    Study(StudyError),
    /// No figure has this name.
    UnknownFigure {
        /// As given.
        given: String,
        /// The known one most like it.
        nearest: Option<&'static str>,
    },
    /// More than two keys, or the same key twice.
    Keys(String),
    /// More variants than are run.
    TooMany(usize),
    /// A stocking density that cannot be read, or no bed to hold it.
    Density(String),
    /// Fewer than two draws have no spread.
    TooFewDraws(u64),
    /// A variant in which no draw gives an answer.
    NoDraw {
        /// The variant.
        variant: String,
        /// What the first said.
        message: String,
    },
}

impl fmt::Display for WhatIfError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Scenario(e) => e.fmt(f),
            Self::Study(e) => e.fmt(f),
            Self::UnknownFigure { given, .. } => write!(f, "no figure of a run is named `{given}`"),
            Self::Keys(problem) | Self::Density(problem) => f.write_str(problem),
            Self::TooMany(count) => {
                write!(f, "{count} variants are more than the {MOST_VARIANTS} that are run")
            }
            Self::TooFewDraws(given) => write!(f, "{given} draws have no spread; at least 2 are needed"),
            Self::NoDraw { variant, message } => write!(f, "{variant}: no draw gives an answer: {message}"),
        }
    }
}

impl std::error::Error for WhatIfError {}

impl From<ScenarioError> for WhatIfError {
    fn from(e: ScenarioError) -> Self {
        Self::Scenario(e)
    }
}

impl From<StudyError> for WhatIfError {
    fn from(e: StudyError) -> Self {
        Self::Study(e)
    }
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhatIf {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// Seed.
    pub seed: u64,
    /// Draws of the base and of every variant.
    pub draws: u64,
    /// Keys that were varied.
    pub keys: Vec<String>,
    /// Figures, with the mean of the base.
    pub figures: Vec<Base>,
    /// Variants.
    pub variants: Vec<Variant>,
    /// Draws of the base that gave no answer.
    pub failed: usize,
    /// Stocking density: where nothing more is gained. Only where that alone was varied.
    pub density: Option<Densities>,
}

/// A figure of the base.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Base {
    /// Name.
    pub figure: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// What it is.
    pub what: &'static str,
    /// Mean over the draws.
    pub mean: f64,
}

/// A variant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Variant {
    /// Value of each key.
    pub values: Vec<String>,
    /// Figures, in the order of those of the base.
    pub figures: Vec<Compared>,
    /// Draws that gave no answer.
    pub failed: usize,
}

/// A figure of a variant against the base.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Compared {
    /// Mean over the draws.
    pub mean: f64,
    /// Variant less base, draw by draw.
    pub difference: Paired,
}

/// Mean of paired differences with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Paired {
    /// Mean.
    pub mean: f64,
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Whether the interval leaves zero out: an effect, not noise.
    pub clear: bool,
}

/// Stocking densities against each other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Densities {
    /// By rising density.
    pub points: Vec<DensityPoint>,
    /// The least density from which on no denser one gains feed laid or castings; none where the densest still gains.
    pub enough: Option<f64>,
}

/// One stocking density. Figures are means over the draws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DensityPoint {
    /// Worms bought first per bed area. # Units: kg/m2
    pub density: f64,
    /// Worms bought first. # Units: kg
    pub bought: f64,
    /// Paste with bulking laid. # Units: kg
    pub fed: f64,
    /// Castings through the screen. # Units: kg
    pub castings: f64,
    /// Worms at the end. # Units: kg
    pub stock_end: f64,
    /// Worms at the end per bed area: crowding. # Units: kg/m2
    pub density_end: f64,
    /// Feed eaten per worm. # Units: kg/(kg d)
    pub intake: f64,
    /// Share of bed-days on which worms starved.
    pub starving: f64,
    /// Gain in feed laid over the next thinner point, as a share of it; none for the thinnest.
    pub gain_fed: Option<Paired>,
    /// Gain in castings over the next thinner point.
    pub gain_castings: Option<Paired>,
}

/// Mean of the differences `b - a` with its interval by Student's t; one pair has no interval but its own value.
///
/// # Panics
/// Never: a t distribution with at least one degree of freedom exists.
pub fn paired(a: &[f64], b: &[f64]) -> Paired {
    let differences: Vec<f64> = a.iter().zip(b).map(|(a, b)| b - a).collect();
    let n = differences.len() as f64;
    let mean = differences.iter().sum::<f64>() / n.max(1.0);
    let half = if n < 2.0 {
        0.0
    } else {
        let squares: f64 = differences.iter().map(|d| (d - mean) * (d - mean)).sum();
        let t = StudentsT::new(0.0, 1.0, n - 1.0).expect("at least one degree of freedom");
        t.inverse_cdf(0.5 + 0.5 * CONFIDENCE) * (squares / (n - 1.0) / n).sqrt()
    };
    let (low, high) = (mean - half, mean + half);
    Paired { mean, low, high, clear: low > 0.0 || high < 0.0 }
}

/// A variant ready to run.
struct Ready {
    values: Vec<String>,
    plan: Plan,
}

/// Runs base and variants and compares them.
///
/// # Errors
/// [`WhatIfError`]; every variant is read and checked before the first is run.
pub fn compare(question: &Question<'_>) -> Result<WhatIf, WhatIfError> {
    let places = places(question.figures)?;
    let base = scenario::parse(question.name, question.text, question.known)?;
    let ready = variants(question)?;
    if question.draws < 2 {
        return Err(WhatIfError::TooFewDraws(question.draws));
    }
    let studies: Vec<Study> = ready.iter().map(|r| Study::of(&r.plan)).collect::<Result<_, _>>()?;
    let first = run(question, &base, &Study::of(&base)?, "the scenario as it stands")?;
    let mut runs = Vec::new();
    for (ready, study) in ready.iter().zip(&studies) {
        runs.push(run(question, &ready.plan, study, &ready.values.join(", "))?);
    }
    let variants = ready
        .iter()
        .zip(&runs)
        .map(|(ready, run)| Variant {
            values: ready.values.clone(),
            failed: run.failed.len(),
            figures: places
                .iter()
                .map(|&place| {
                    let (a, b) = common(&first, run, place);
                    Compared { mean: mean(run, place), difference: paired(&a, &b) }
                })
                .collect(),
        })
        .collect();
    let alone = question.axes.len() == 1 && matches!(question.axes[0].key.as_str(), DENSITY | "stock.mass");
    Ok(WhatIf {
        version: env!("CARGO_PKG_VERSION"),
        name: base.name.clone(),
        seed: question.seed,
        draws: question.draws,
        keys: question.axes.iter().map(|axis| axis.key.clone()).collect(),
        figures: places.iter().map(|&place| base_figure(&first, place)).collect(),
        failed: first.failed.len(),
        density: alone.then(|| densities(&ready, &runs)),
        variants,
    })
}

fn base_figure(run: &Ensemble, place: usize) -> Base {
    let figure = &figures::TABLE[place];
    Base { figure: figure.name, unit: figure.unit, what: figure.what, mean: mean(run, place) }
}

/// Places of the figures named, or of the usual ones.
fn places(names: &[String]) -> Result<Vec<usize>, WhatIfError> {
    let found = |name: &str| {
        figures::place(name).ok_or_else(|| WhatIfError::UnknownFigure {
            given: name.to_owned(),
            nearest: scenario::sizing::nearest_figure(name),
        })
    };
    if names.is_empty() {
        return USUAL.iter().map(|name| found(name)).collect();
    }
    let mut places: Vec<usize> = names.iter().map(|name| found(name)).collect::<Result<_, _>>()?;
    let mut seen = Vec::new();
    places.retain(|place| {
        !seen.contains(place) && {
            seen.push(*place);
            true
        }
    });
    Ok(places)
}

/// Every combination of values, read and checked.
fn variants(question: &Question<'_>) -> Result<Vec<Ready>, WhatIfError> {
    let axes = question.axes;
    if axes.is_empty() || axes.len() > 2 {
        return Err(WhatIfError::Keys(format!("{} keys are varied; one or two can be", axes.len())));
    }
    if axes.len() == 2 && axes[0].key == axes[1].key {
        return Err(WhatIfError::Keys(format!("{} is varied twice", axes[0].key)));
    }
    let count = axes.iter().map(|axis| axis.values.len()).product();
    if count > MOST_VARIANTS {
        return Err(WhatIfError::TooMany(count));
    }
    let mut combinations: Vec<Vec<String>> = vec![Vec::new()];
    for axis in axes {
        combinations = combinations
            .into_iter()
            .flat_map(|so_far| {
                axis.values.iter().map(move |value| [so_far.clone(), vec![value.clone()]].concat())
            })
            .collect();
    }
    combinations.into_iter().map(|values| Ok(Ready { plan: variant(question, &values)?, values })).collect()
}

/// The plan of a combination of values.
fn variant(question: &Question<'_>, values: &[String]) -> Result<Plan, WhatIfError> {
    let set: Vec<String> =
        question.axes.iter().zip(values).map(|(axis, v)| format!("{}={v}", axis.key)).collect();
    let name = format!("{} with {}", question.name, set.join(" "));
    let mut text = question.text.to_owned();
    let plain = question.axes.iter().zip(values).filter(|(axis, _)| axis.key != DENSITY);
    for (axis, value) in plain {
        text = scenario::varied(&name, &text, &axis.key, value)?;
    }
    let plan = scenario::parse(&name, &text, question.known)?;
    // a density needs the beds as the other key leaves them
    let Some(density) = question.axes.iter().zip(values).find(|(axis, _)| axis.key == DENSITY) else {
        return Ok(plan);
    };
    if plan.bed_area() <= 0.0 {
        return Err(WhatIfError::Density("this scenario has no beds to stock".to_owned()));
    }
    let given = density.1;
    let per_area = match given.parse::<f64>() {
        Ok(value) => value,
        Err(_) => quantity::parse(Kind::ArealMass, given.trim_matches('"'))
            .map_err(|e| WhatIfError::Density(format!("{DENSITY}: {e}")))?,
    };
    let text = scenario::varied(&name, &text, "stock.mass", &(per_area * plan.bed_area()).to_string())?;
    Ok(scenario::parse(&name, &text, question.known)?)
}

fn run(question: &Question<'_>, plan: &Plan, study: &Study, variant: &str) -> Result<Ensemble, WhatIfError> {
    let asked = Request { seed: question.seed, from: 0, to: question.draws, threads: question.threads };
    let made = ensemble::run(plan, study, &asked, &AtomicU64::new(0), &AtomicBool::new(false));
    match made.failed.first() {
        Some(failed) if made.rows.len() < 2 => {
            Err(WhatIfError::NoDraw { variant: variant.to_owned(), message: failed.message.clone() })
        }
        _ => Ok(made),
    }
}

fn mean(run: &Ensemble, place: usize) -> f64 {
    let there = || run.rows.iter().filter_map(|row| row.figures[place]);
    there().sum::<f64>() / there().count().max(1) as f64
}

/// A figure in the draws that both have.
fn common(a: &Ensemble, b: &Ensemble, place: usize) -> (Vec<f64>, Vec<f64>) {
    let other = |draw: u64| b.rows.binary_search_by_key(&draw, |row| row.draw).ok();
    let pairs = a.rows.iter().filter_map(|row| other(row.draw).map(|at| (row, &b.rows[at])));
    pairs.filter_map(|(a, b)| Some((a.figures[place]?, b.figures[place]?))).unzip()
}

/// Paired gain as a share of the mean before; none where that is zero.
fn gain(a: &Ensemble, b: &Ensemble, place: usize) -> Option<Paired> {
    let (before, after) = common(a, b, place);
    let level = before.iter().sum::<f64>() / before.len().max(1) as f64;
    let p = paired(&before, &after);
    (level > 0.0).then(|| Paired {
        mean: p.mean / level,
        low: p.low / level,
        high: p.high / level,
        clear: p.clear,
    })
}

/// Whether a gain counts as none: below 2 %, and either not told from zero or surely below 2 %.
fn nothing(gain: Option<Paired>) -> bool {
    gain.is_none_or(|g| g.mean < NO_GAIN && (g.low <= 0.0 || g.high < NO_GAIN))
}

fn densities(ready: &[Ready], runs: &[Ensemble]) -> Densities {
    let place = |name: &str| figures::place(name).expect("a figure of the table");
    let (fed, castings, stock) = (place("fed"), place("castings_screened"), place("stock_end"));
    let mut order: Vec<usize> = (0..ready.len()).collect();
    let density = |n: usize| ready[n].plan.size().stock / ready[n].plan.bed_area();
    order.sort_by(|a, b| density(*a).total_cmp(&density(*b)));
    let points = order
        .iter()
        .enumerate()
        .map(|(at, &n)| {
            let thinner = at.checked_sub(1).map(|before| &runs[order[before]]);
            let run = &runs[n];
            DensityPoint {
                density: density(n),
                bought: ready[n].plan.size().stock,
                fed: mean(run, fed),
                castings: mean(run, castings),
                stock_end: mean(run, stock),
                density_end: mean(run, stock) / ready[n].plan.bed_area(),
                intake: mean(run, place("intake_per_worm")),
                starving: mean(run, place("starving_share")),
                gain_fed: thinner.and_then(|thinner| gain(thinner, run, fed)),
                gain_castings: thinner.and_then(|thinner| gain(thinner, run, castings)),
            }
        })
        .collect();
    // the densest has nothing beside it that could show a gain, so it is never the answer
    let enough = (0..order.len().saturating_sub(1)).find(|&at| {
        let denser = &order[at + 1..];
        [fed, castings]
            .iter()
            .all(|&figure| denser.iter().all(|&n| nothing(gain(&runs[order[at]], &runs[n], figure))))
    });
    Densities { points, enough: enough.map(|at| density(order[at])) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_ranges_and_values_with_commas_are_read() {
        let values = |text: &str| axis(text).unwrap().values;
        assert_eq!(values("drums.count=40, 60,80"), ["40", "60", "80"]);
        assert_eq!(values("drums.count=2..8/4"), ["2", "4", "6", "8"]);
        assert_eq!(values("feeding.ration=0.1..0.2/4"), ["0.1", "0.1333333333", "0.1666666667", "0.2"]);
        assert_eq!(values("beds.moisture_band=[0.72,0.8],[0.78,0.85]"), ["[0.72,0.8]", "[0.78,0.85]"]);
        assert_eq!(values("drums.volume=120 L,55 gal"), ["120 L", "55 gal"]);
        assert_eq!(values("streams[0].closed=[\"12-24..01-02\"]"), ["[\"12-24..01-02\"]"]);
        assert_eq!(values("screen.method=trommel"), ["trommel"]);
    }

    #[test]
    fn keys_without_points_say_what_is_allowed() {
        for (text, wanted) in [
            ("drums.count", "no values"),
            ("=3", "no key"),
            ("drums.count=", "no points"),
            ("drums.count=2..8/0", "no points"),
            ("drums.count=2..8", "number of points"),
            ("drums.count=8..2/4", "nothing lies between"),
            ("drums.count=2..8/1", "at least 2 points"),
            ("drums.count=a..b/3", "not a number"),
            ("drums.count=2..8/4000", "at most"),
            ("drums.count=1,,2", "empty value"),
        ] {
            let error = axis(text).unwrap_err();
            assert!(error.contains(wanted) && error.contains("key=a,b,c"), "{text}: {error}");
        }
    }

    #[test]
    fn paired_differences_are_those_of_students_t() {
        // differences 1, 2, 3: mean 2, standard error 1/sqrt(3), t(0.975, 2) = 4.302652729911275 (printed tables: 4.303)
        let p = paired(&[1.0, 2.0, 3.0], &[2.0, 4.0, 6.0]);
        let half = 4.302_652_729_911_275 / 3.0_f64.sqrt();
        assert!((p.mean - 2.0).abs() < 1e-12 && (p.low - (2.0 - half)).abs() < 1e-6, "{p:?}");
        assert!(!p.clear);
        let same = paired(&[0.1, 0.2, 0.3], &[0.1, 0.2, 0.3]);
        assert_eq!(same, Paired { mean: 0.0, low: 0.0, high: 0.0, clear: false });
    }
}
