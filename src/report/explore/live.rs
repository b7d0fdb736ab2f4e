//! What the page is sent: texts in both systems of units, and the numbers that its marks are placed by.

use super::{PAGE_CHARTS, chart, site};
use crate::quantity::{Kind, Units, format_input};
use crate::report::chart::ChartBands;
use crate::report::number::{column_unit, format_interval, format_percent, format_quantity, in_column_unit};
use crate::report::pages::run::warnings;
use crate::report::pages::{uncertainty, verdict};
use crate::report::proposal::founded::quoted;
use crate::report::proposal::text::{capital, set};
use crate::study::answer::RunAnswer;
use crate::study::explore::{Choice, FigureValue, MOST_DRAWS, Outcome, SEED, SHOWN, SHOWN_SETTLED};
use crate::study::uncertainty::UncertaintyAnswer;
use crate::study::verdict::Standing;
use crate::trace::Settling;
use serde::Serialize;

/// A text in both systems of units.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Both {
    /// Metric.
    pub si: String,
    /// US customary.
    pub us: String,
}

impl Both {
    pub(super) fn of(text: impl Fn(Units) -> String) -> Self {
        Self { si: text(Units::Si), us: text(Units::Us) }
    }

    /// Typeset, for text that stands on the page.
    fn set(text: impl Fn(Units) -> String) -> Self {
        Self::of(|units| set(&text(units)))
    }
}

/// A choice as it stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChoiceNow {
    /// Its key.
    pub key: String,
    /// Its value in the documented unit. `None` if it is left out.
    pub value: Option<f64>,
    /// Its value as it may be typed, in the unit beside it.
    pub typed: Both,
    /// Its value with its unit, to be read out.
    pub said: Both,
}

/// A figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FigureNow {
    /// Its name.
    pub name: &'static str,
    /// Its value, by which its mark is placed. `None` if there is nothing to measure.
    pub value: Option<f64>,
    /// As text.
    pub text: Both,
}

/// The answer to a move: the best estimate of the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moved {
    /// Hash of the scenario as moved.
    pub of: String,
    /// Every choice as it stands now.
    pub choices: Vec<ChoiceNow>,
    /// Figures, in the order of the page.
    pub figures: Vec<FigureNow>,
    /// The site as its chain, as markup without any text of the scenario.
    pub site: Both,
}

/// The typed value of a choice and its value with its unit.
pub(super) fn choice_now(choice: &Choice) -> ChoiceNow {
    let of = |text: &dyn Fn(f64, Units) -> String| {
        Both::of(|units| choice.value.map_or_else(String::new, |value| text(value, units)))
    };
    ChoiceNow {
        key: choice.key.clone(),
        value: choice.value,
        typed: of(&|value, units| format_input(in_column_unit(choice.kind, value, units), 5)),
        said: of(&|value, units| {
            let unit = column_unit(choice.kind, units);
            let number = format_input(in_column_unit(choice.kind, value, units), 5);
            if unit.is_empty() { number } else { format!("{number} {unit}") }
        }),
    }
}

/// A value of a figure as text.
pub(super) fn figure_text(figure: &FigureValue, value: f64, units: Units) -> String {
    match figure.kind {
        Kind::Factor | Kind::Count | Kind::Acidity => {
            uncertainty::shown(figure.name, figure.unit, value, units)
        }
        kind => format_quantity(kind, value, units),
    }
}

fn figure_now(figure: &FigureValue) -> FigureNow {
    let text =
        |units| figure.value.map_or_else(|| "none".to_owned(), |value| figure_text(figure, value, units));
    FigureNow { name: figure.name, value: figure.value, text: Both::set(text) }
}

/// The answer to a move, of the outcome of the variant with this hash and these choices.
pub fn moved(id: &str, choices: &[Choice], outcome: &Outcome) -> Moved {
    Moved {
        of: id.to_owned(),
        choices: choices.iter().map(choice_now).collect(),
        figures: outcome.named(&SHOWN).iter().map(figure_now).collect(),
        site: Both::of(|units| site::chain(&outcome.answer, units).into_string()),
    }
}

/// A warning.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WarningNow {
    /// Its severity, in a word.
    pub severity: &'static str,
    /// What is the matter.
    pub text: Both,
    /// What would help; empty if nothing is known.
    pub hint: String,
}

/// The finding of a chart.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChartNow {
    /// Its file name without ending.
    pub name: &'static str,
    /// Its finding.
    pub text: Both,
}

/// The answer once a choice rests: the verdict, the settled year and the warnings of the best estimate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Settled {
    /// Hash of the scenario.
    pub of: String,
    /// How the site stands: `works`, `at_risk` or `fails`.
    pub standing: Standing,
    /// The verdict.
    pub verdict: Both,
    /// Whether a year settles, in words.
    pub year: String,
    /// Figures of that year.
    pub figures: Vec<FigureNow>,
    /// Warnings, the worst first.
    pub warnings: Vec<WarningNow>,
    /// Charts.
    pub charts: Vec<ChartNow>,
    /// Name of the file that a save gives.
    pub file: String,
    /// Command that gives the same answer.
    pub command: String,
}

fn charts_now(answer: &RunAnswer, study: Option<&UncertaintyAnswer>) -> Vec<ChartNow> {
    let bands = study.map(ChartBands::of);
    let drawn = study.zip(bands.as_ref());
    let finding =
        |name, units| chart(name, answer, drawn, units).map_or_else(String::new, |chart| chart.title);
    PAGE_CHARTS
        .into_iter()
        .map(|name| ChartNow { name, text: Both::set(|units| finding(name, units)) })
        .collect()
}

/// The command that gives the same answer, of a scenario file as typed.
fn command(file: &str) -> String {
    let file =
        if file.starts_with('-') || file.contains(['/', '\\']) { quoted_path(file) } else { quoted(file) };
    format!("loamledger run {file} --draws {MOST_DRAWS} --seed {SEED}")
}

/// A path quoted for a shell where it holds more than plain letters.
fn quoted_path(path: &str) -> String {
    let parts: Vec<&str> = path.split('/').collect();
    let plain = |part: &&str| part.is_empty() || quoted(part) == *part;
    if parts.iter().all(plain) { path.to_owned() } else { quoted(path) }
}

/// Name of the file that a save of a scenario gives: letters, digits, `_`, `-` and dots, whatever the name of the scenario's own file.
pub fn saved_name(file: &str, moved: bool) -> String {
    let stem = file.strip_suffix(".json").unwrap_or(file);
    let plain = |c: char| if c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.') { c } else { '_' };
    let stem: String = stem.chars().take(60).map(plain).collect();
    let stem = stem.trim_matches(['.', '-']);
    let stem = if stem.is_empty() { "scenario" } else { stem };
    if moved { format!("{stem}_explored.json") } else { format!("{stem}.json") }
}

/// The answer once a choice rests, of the outcome with the settled year. `file` is the scenario file as typed, `moved` whether choices
/// differ from it.
pub fn settled(id: &str, outcome: &Outcome, (file, moved): (&str, bool)) -> Settled {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let saved = saved_name(name, moved);
    let command = command(if moved { &saved } else { file });
    let answer = &outcome.answer;
    let [si, us] = [Units::Si, Units::Us].map(|units| warnings::items(answer, units));
    let warnings = si.iter().zip(&us).map(|(si, us)| WarningNow {
        severity: si.severity.name(),
        text: Both { si: set(&si.message), us: set(&us.message) },
        hint: set(si.hint()),
    });
    let year = match (&answer.later_years.last, answer.later_years.settling) {
        (Some(last), Settling::Settled) => {
            format!("Year {}, the first that is like the one before.", last.year)
        }
        (Some(last), _) => format!("Year {}, the last simulated; no year settles.", last.year),
        (None, _) => "No settled year is sought: the run is shorter than a year, or the scenario seeks none."
            .to_owned(),
    };
    Settled {
        of: id.to_owned(),
        standing: answer.verdict.standing,
        verdict: Both::set(|units| capital(&verdict::sentence(&answer.verdict, units))),
        year,
        figures: outcome.named(&SHOWN_SETTLED).iter().map(figure_now).collect(),
        warnings: warnings.collect(),
        charts: charts_now(answer, None),
        file: saved,
        command,
    }
}

/// The band of a figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BandNow {
    /// Name of the figure.
    pub name: &'static str,
    /// 5 % quantile, by which its mark is placed.
    pub low: f64,
    /// 95 % quantile.
    pub high: f64,
    /// Both as text.
    pub text: Both,
}

/// The chance of a failure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChanceNow {
    /// The failure.
    pub text: Both,
    /// Its chance and the 95 % interval of that.
    pub chance: String,
    /// How much it matters.
    pub severity: &'static str,
}

/// The answer of draws.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bands {
    /// Hash of the scenario.
    pub of: String,
    /// Draws that gave figures.
    pub made: usize,
    /// Draws that are made at most.
    pub most: u64,
    /// Draws that gave no answer.
    pub failed: usize,
    /// Bands of figures, in the order of the page; a figure that no draw has is left out.
    pub bands: Vec<BandNow>,
    /// Chances of failures that happened in some draw, the likeliest first.
    pub chances: Vec<ChanceNow>,
    /// Charts.
    pub charts: Vec<ChartNow>,
}

/// The answer of draws beside the best estimate.
pub fn bands(id: &str, outcome: &Outcome, study: &UncertaintyAnswer) -> Bands {
    let band = |figure: &FigureValue| {
        let [low, _, _, _, high] =
            study.figures.iter().find(|one| one.name == figure.name)?.spread.as_ref()?.quantiles;
        let text = |units| match figure.kind {
            Kind::Factor | Kind::Count | Kind::Acidity => {
                let [low, high] = [low, high].map(|value| figure_text(figure, value, units));
                if low == high { low } else { format!("{low} to {high}") }
            }
            kind => format_interval(kind, low, high, units),
        };
        Some(BandNow { name: figure.name, low, high, text: Both::set(text) })
    };
    let mut happened: Vec<_> = study.failures.iter().filter(|failure| failure.count > 0).collect();
    happened.sort_by(|a, b| b.share.total_cmp(&a.share));
    let chances = happened.into_iter().map(|failure| ChanceNow {
        text: Both::set(|units| uncertainty::statement(failure.statement, units)),
        chance: format!(
            "{} ({} to {})",
            format_percent(failure.share),
            format_percent(failure.low),
            format_percent(failure.high)
        ),
        severity: failure.severity.name(),
    });
    Bands {
        of: id.to_owned(),
        made: study.answered,
        most: MOST_DRAWS,
        failed: study.failed.len(),
        bands: outcome.named(&SHOWN).iter().filter_map(band).collect(),
        chances: chances.collect(),
        charts: charts_now(&outcome.answer, Some(study)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_saved_file_has_a_plain_name_and_the_command_quotes_what_needs_it() {
        assert_eq!(saved_name("harbour_hall.json", true), "harbour_hall_explored.json");
        assert_eq!(saved_name("../<b>a b</b>.json", false), "__b_a_b__b_.json");
        assert_eq!(saved_name("-.json", true), "scenario_explored.json");
        assert_eq!(command("scenarios/hall.json"), "loamledger run scenarios/hall.json --draws 400 --seed 1");
        assert_eq!(command("my sites/hall.json"), "loamledger run 'my sites/hall.json' --draws 400 --seed 1");
        assert_eq!(command("-x.json"), "loamledger run './-x.json' --draws 400 --seed 1");
    }
}
