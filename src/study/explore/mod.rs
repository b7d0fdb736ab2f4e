//! The question behind the live page: what becomes of a site when some of its choices are moved.
//!
//! A [`Base`] is a scenario with its `choices`; [`Base::variant`] moves some of them and checks the whole. A [`Variant`] gives the
//! [best estimate](Variant::outcome) of its run at once, [with the settled year](Variant::settled) somewhat later, and
//! [draws](DrawsSoFar) bit by bit. All of it is a pure function of scenario and changes.

mod choices;
mod draws;

use choices::ten_decimals;
pub use choices::{Choice, Part, choices};
pub use draws::{DrawsSoFar, MOST_DRAWS, SEED, TURNS};

use super::answer::RunAnswer;
use super::rates_used::{RateUsed, run_and_rates};
use super::run::run_and_figures;
use super::uncertainty::text_hash;
use super::what_if::DENSITY;
use crate::monte_carlo::ensemble::caught;
use crate::quantity::{self, Kind};
use crate::scenario::{self, Plan, ScenarioError};
use crate::trace::figures::{self, RunFigures};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;

/// Figures that the page shows, by their names in [`figures::TABLE`], in the order of the chain.
pub const SHOWN: [&str; 13] = [
    "intake",
    "turned_away_share",
    "drums_highest",
    "drums_spoiled_share",
    "fed",
    "bulking",
    "stock_end",
    "starving_share",
    "bed_hottest",
    "irrigation",
    "castings_screened",
    "castings_moisture",
    "product_sold",
];
/// Figures of the settled year that the page shows, by name.
pub const SHOWN_SETTLED: [&str; 4] =
    ["settled_turned_away_share", "settled_stock_mean", "settled_starving_share", "settled_product_sold"];
/// Longest text of a quantity that is read, bytes. Our choice.
const LONGEST: usize = 40;

/// What a choice is moved to.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(untagged)]
pub enum Setting {
    /// Left out of the scenario.
    LeftOut,
    /// A number in the documented unit of the key.
    Number(f64),
    /// A number with its unit.
    Text(String),
}

/// Choices moved, by key.
pub type Changes = BTreeMap<String, Setting>;

/// Why there is no variant or no figure of it.
#[derive(Debug, Clone, PartialEq)]
pub enum VariantError {
    /// A key without a control.
    NoChoice(String),
    /// A setting that cannot be.
    Setting {
        /// The key.
        key: String,
        /// What is wrong and what is allowed.
        problem: String,
    },
    /// The scenario with these changes is wrong.
    Scenario(ScenarioError),
    /// The model gives no answer for it.
    Model(String),
}

impl fmt::Display for VariantError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoChoice(key) => write!(f, "`{key}` has no control on this page"),
            Self::Setting { key, problem } => write!(f, "{key}: {problem}"),
            Self::Scenario(error) => f.write_str(&faults(error)),
            Self::Model(message) => write!(f, "the model gives no answer: {message}"),
        }
    }
}

impl std::error::Error for VariantError {}

impl From<ScenarioError> for VariantError {
    fn from(error: ScenarioError) -> Self {
        Self::Scenario(error)
    }
}

/// The faults of a scenario, a line each, without excerpts of the file.
pub fn faults(error: &ScenarioError) -> String {
    let ScenarioError::Faulty { faults, .. } = error else { return error.to_string() };
    let line = |fault: &scenario::Fault| {
        let given = if fault.given.is_empty() { String::new() } else { format!(", given {}", fault.given) };
        let allowed =
            if fault.allowed.is_empty() { String::new() } else { format!("; allowed: {}", fault.allowed) };
        format!("{}: {}{given}{allowed}", fault.key, fault.problem)
    };
    faults.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// A scenario whose choices are moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Base {
    /// Name of its file, without folders.
    pub name: String,
    /// Its text.
    pub text: String,
    /// The checked scenario.
    pub plan: Plan,
    /// Its choices that have a control.
    pub choices: Vec<Choice>,
}

impl Base {
    /// Reads and checks a scenario.
    ///
    /// # Errors
    /// [`ScenarioError`] as of [`scenario::parse`].
    pub fn new(name: &str, text: &str) -> Result<Self, ScenarioError> {
        Ok(Self::of(name, text, scenario::parse(name, text)?))
    }

    /// A checked scenario, with its text.
    pub fn of(name: &str, text: &str, plan: Plan) -> Self {
        let choices = choices(&plan);
        Self { name: name.to_owned(), text: text.to_owned(), plan, choices }
    }

    /// The scenario with choices moved. Worms per area are set last, as they need the beds.
    ///
    /// # Errors
    /// [`VariantError`] for a key without a control, a setting that is no such quantity, and a scenario that cannot be.
    pub fn variant(&self, changes: &Changes) -> Result<Variant, VariantError> {
        let mut text = self.text.clone();
        for (key, setting) in changes.iter().filter(|(key, _)| *key != DENSITY) {
            let choice = self.choice(key)?;
            text = scenario::varied(&self.name, &text, key, &typed(choice, setting)?)?;
        }
        let mut plan =
            if changes.is_empty() { self.plan.clone() } else { scenario::parse(&self.name, &text)? };
        if let Some(setting) = changes.get(DENSITY) {
            let density = amount(self.choice(DENSITY)?, setting)?;
            let mass = ten_decimals(density * plan.bed_area());
            text = scenario::varied(&self.name, &text, "stock.mass", &mass.to_string())?;
            plan = scenario::parse(&self.name, &text)?;
        }
        Ok(Variant { id: text_hash(&text), text, plan })
    }

    fn choice(&self, key: &str) -> Result<&Choice, VariantError> {
        let known = self.choices.iter().find(|choice| choice.key == key);
        known.ok_or_else(|| VariantError::NoChoice(key.chars().take(80).collect()))
    }
}

/// A setting as the value of its key in a scenario, as JSON.
fn typed(choice: &Choice, setting: &Setting) -> Result<String, VariantError> {
    let whole = matches!(choice.kind, Kind::Count | Kind::Days);
    match setting {
        Setting::LeftOut if choice.optional => Ok("null".to_owned()),
        Setting::Text(text) if !whole => {
            amount(choice, setting)?;
            Ok(serde_json::Value::String(text.trim().to_owned()).to_string())
        }
        _ => Ok(ten_decimals(amount(choice, setting)?).to_string()),
    }
}

/// A setting in the documented unit of its key, within the range of the key.
fn amount(choice: &Choice, setting: &Setting) -> Result<f64, VariantError> {
    let wrong = |problem: String| VariantError::Setting { key: choice.key.clone(), problem };
    let (low, high) = choice.allowed;
    let allowed = || format!("allowed: {low} to {high} {}", choice.kind.unit());
    let value = match setting {
        Setting::Number(value) => *value,
        Setting::Text(text) if text.len() > LONGEST => return Err(wrong("is no quantity".to_owned())),
        Setting::Text(text) => match text.trim().parse::<f64>() {
            Ok(value) => value,
            Err(_) => quantity::parse(choice.kind, text).map_err(|error| wrong(error.to_string()))?,
        },
        Setting::LeftOut => return Err(wrong(format!("must be given; {}", allowed()))),
    };
    if value.is_finite() && (low..=high).contains(&value) {
        Ok(value)
    } else {
        Err(wrong(format!("given {value}; {}", allowed())))
    }
}

/// A scenario with its choices moved, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Variant {
    /// Hash of its text.
    pub id: String,
    /// Its text, which gives the same answers from the command line.
    pub text: String,
    /// The checked scenario.
    pub plan: Plan,
}

/// The best estimate of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The answer, without the daily records of single beds.
    pub answer: RunAnswer,
    /// Its figures, in the order of [`figures::TABLE`].
    pub figures: RunFigures,
}

/// A figure by its name, with its kind, unit, words and value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FigureValue {
    /// Name in files.
    pub name: &'static str,
    /// What it measures.
    pub kind: Kind,
    /// Unit in files.
    pub unit: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Value in that unit. `None` if there is nothing to measure.
    pub value: Option<f64>,
}

/// What a figure is, in words; empty if no figure has that name.
pub fn figure_words(name: &str) -> &'static str {
    figures::figure(name).map_or("", |figure| figure.what)
}

impl Outcome {
    /// Figures of these names; a name that is no figure is left out.
    pub fn named(&self, names: &[&str]) -> Vec<FigureValue> {
        let of = |name: &&str| {
            let place = figures::place(name)?;
            let figure = &figures::TABLE[place];
            Some(FigureValue {
                name: figure.name,
                kind: figure.kind,
                unit: figure.unit,
                what: figure.what,
                value: self.figures[place],
            })
        };
        names.iter().filter_map(of).collect()
    }
}

impl Variant {
    /// The best estimate of the run alone, without a settled year.
    ///
    /// # Errors
    /// [`VariantError::Model`] if the model gives no answer.
    pub fn outcome(&self) -> Result<Outcome, VariantError> {
        outcome_of(&self.plan.without_later_years())
    }

    /// The best estimate of the run and of the settled year.
    ///
    /// # Errors
    /// As [`Variant::outcome`].
    pub fn settled(&self) -> Result<Outcome, VariantError> {
        outcome_of(&self.plan)
    }

    /// Every rate that the best estimate rests on, sorted by key.
    ///
    /// # Errors
    /// As [`Variant::outcome`].
    pub fn rates(&self) -> Result<Vec<RateUsed>, VariantError> {
        let plan = self.plan.without_later_years();
        let rates = caught(|| run_and_rates(&plan).map_err(|error| error.to_string()));
        rates.map(|(_, rates)| rates).map_err(VariantError::Model)
    }
}

fn outcome_of(plan: &Plan) -> Result<Outcome, VariantError> {
    let made = caught(|| run_and_figures(plan).map_err(|error| error.to_string()));
    let (answer, figures) = made.map_err(VariantError::Model)?;
    Ok(Outcome { answer: RunAnswer { bed_daily: Vec::new(), ..answer }, figures })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::monte_carlo::Watch;
    use crate::study::drivers::DriversError;

    const SCHOOL: &str = include_str!("../../../scenarios/mountain_school.json");

    /// The mountain school over forty days.
    fn short() -> Base {
        let text = scenario::varied("school.json", SCHOOL, "days", "40").unwrap();
        let text = scenario::varied("school.json", &text, "stock.top_up", "[]").unwrap();
        Base::new("school.json", &text).unwrap()
    }

    fn changes(list: &[(&str, Setting)]) -> Changes {
        list.iter().map(|(key, setting)| ((*key).to_owned(), setting.clone())).collect()
    }

    #[test]
    fn no_change_is_the_scenario_itself() {
        let base = short();
        let variant = base.variant(&Changes::new()).unwrap();
        assert_eq!((&variant.text, &variant.plan), (&base.text, &base.plan));
        let answer = crate::study::run(&base.plan).unwrap();
        let outcome = variant.settled().unwrap();
        assert_eq!((&outcome.answer.daily, &outcome.answer.verdict), (&answer.daily, &answer.verdict));
    }

    #[test]
    fn changes_are_written_into_the_scenario_and_the_run_follows() {
        let base = short();
        let moved = changes(&[
            ("drums.count", Setting::Number(3.0)),
            ("climate.drum_room.heated_to", Setting::Text("68 °F".to_owned())),
            ("climate.bed_room.heated_to", Setting::LeftOut),
            ("stock.density", Setting::Number(1.5)),
        ]);
        let variant = base.variant(&moved).unwrap();
        let again = scenario::parse("saved.json", &variant.text).unwrap();
        assert_eq!(again, variant.plan);
        assert_eq!(again.drums.count, 3);
        assert!((again.climate.drum_room.heated_to.unwrap() - 20.0).abs() < 1e-9);
        assert_eq!(again.climate.bed_room.heated_to, None);
        assert!((again.size().stock - 1.5 * again.bed_area()).abs() < 1e-9);
        let turned_away =
            |variant: &Variant| variant.outcome().unwrap().named(&["turned_away_share"])[0].value;
        let few = turned_away(&variant).unwrap();
        assert!(few > turned_away(&base.variant(&Changes::new()).unwrap()).unwrap(), "{few}");
    }

    #[test]
    fn settings_that_cannot_be_say_what_is_allowed() {
        let base = short();
        for (key, setting, wanted) in [
            ("name", Setting::Text("x".to_owned()), "no control"),
            ("drums.count", Setting::Number(-1.0), "allowed: 0 to 20000"),
            ("drums.count", Setting::Number(f64::NAN), "allowed"),
            ("drums.count", Setting::LeftOut, "must be given"),
            ("drums.count", Setting::Number(2.5), "drums.count"),
            ("drums.volume", Setting::Text("3 kg".to_owned()), "allowed"),
            ("drums.volume", Setting::Text("9".repeat(50)), "no quantity"),
            ("stock.density", Setting::Number(1e9), "allowed: 0 to 100"),
            ("climate.bed_room.heated_to", Setting::Text("{\"a\":1}".to_owned()), "allowed"),
        ] {
            let error = base.variant(&changes(&[(key, setting)])).unwrap_err().to_string();
            assert!(error.contains(wanted), "{key}: {error}");
        }
    }

    #[test]
    fn draws_in_turns_are_those_made_at_once() {
        let base = short();
        let variant = base.variant(&Changes::new()).unwrap();
        let central = variant.outcome().unwrap().figures;
        let [mut turns, mut once] = [(); 2].map(|()| DrawsSoFar::none(&variant, &central).unwrap());
        assert!(turns.answer().is_err() && turns.made() == 0);
        assert!(turns.extend(4, 1, &Watch::default()) && turns.extend(9, 2, &Watch::default()));
        assert!(once.extend(9, 1, &Watch::default()));
        let watch = Watch::default();
        watch.stop();
        assert!(!turns.extend(12, 1, &watch), "stopped work is not kept");
        assert_eq!((turns.made(), turns.answer().unwrap()), (9, once.answer().unwrap()));
        assert!(
            turns.drivers("stock_end").is_err_and(|error| matches!(error, DriversError::TooFewDraws { .. }))
        );
    }

    #[test]
    fn shown_figures_are_figures() {
        let outcome = short().variant(&Changes::new()).unwrap().outcome().unwrap();
        assert_eq!(outcome.named(&SHOWN).len(), SHOWN.len());
        assert_eq!(outcome.named(&SHOWN_SETTLED).len(), SHOWN_SETTLED.len());
    }
}
