//! The command `start`: a first scenario, from answers to plain questions or from options, or a worked one to copy.

use super::failure::Failure;
use super::{Output, questions};
use crate::quantity::Kind;
use crate::report::files;
use crate::scenario;
use crate::scenario::draft::{Answers, NoAmount, Prices, Scraps, ScrapsKind, Typed, Weather, draft};
use clap::builder::PossibleValue;
use clap::error::ErrorKind;
use clap::{Args, ValueEnum};
use jiff::civil::{Date, Weekday};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use std::io::{self, IsTerminal};
use std::path::PathBuf;

/// Worked sites that come with the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[value(rename_all = "snake_case")]
pub enum WorkedSite {
    /// A hall kitchen in a harbour town
    HarbourHall,
    /// A boarding school in the mountains
    MountainSchool,
    /// A packhouse of fruit and vegetables
    ValleyPackhouse,
}

impl WorkedSite {
    /// Its scenario.
    pub(super) const fn text(self) -> &'static str {
        match self {
            Self::HarbourHall => include_str!("../../scenarios/harbour_hall.json"),
            Self::MountainSchool => include_str!("../../scenarios/mountain_school.json"),
            Self::ValleyPackhouse => include_str!("../../scenarios/valley_packhouse.json"),
        }
    }
}

impl ValueEnum for ScrapsKind {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let what = self.what();
        let (first, rest) = what.split_at(1);
        Some(PossibleValue::new(self.word()).help(first.to_uppercase() + rest))
    }
}

/// Climates in a word, with mean and swing (half of the warmest less the coldest month). Source: our choice.
const PLACES: [(&str, Weather); 5] = [
    ("cold", Weather { mean: 5.0, swing: 11.0 }),
    ("cool", Weather { mean: 9.0, swing: 8.0 }),
    ("mild", Weather { mean: 12.0, swing: 6.0 }),
    ("warm", Weather { mean: 18.0, swing: 7.0 }),
    ("hot", Weather { mean: 25.0, swing: 4.0 }),
];
/// Swing where only a mean temperature is given, K. Source: our choice.
const USUAL_SWING: f64 = 8.0;
/// What rooms are heated to if nothing is said. Source: our choice, for drums that ferment within a month.
pub(super) const USUAL_HEATING: &str = "18 °C";

/// A quantity that is not below 0.
pub(super) fn typed(kind: Kind) -> impl Fn(&str) -> Result<Typed, String> + Clone + Send + Sync + 'static {
    move |text| match Typed::read(kind, text) {
        Ok(typed) if typed.value < 0.0 && kind != Kind::Temperature => Err("is below 0".to_owned()),
        Ok(typed) => Ok(typed),
        Err(error) => Err(error.to_string()),
    }
}

/// A climate by a word or by its mean temperature.
pub(super) fn weather(text: &str) -> Result<Weather, String> {
    if let Some((_, weather)) = PLACES.iter().find(|(word, _)| *word == text.trim()) {
        return Ok(*weather);
    }
    let mean = Typed::read(Kind::Temperature, text).map_err(|error| {
        let words = PLACES.map(|(word, _)| word).join(", ");
        format!("{error}; or one of {words}")
    })?;
    if (-20.0..=35.0).contains(&mean.value) {
        return Ok(Weather { mean: mean.value, swing: USUAL_SWING });
    }
    Err("a mean temperature of the year is between -20 and 35 °C".to_owned())
}

/// What rooms are heated to. `None` if they are not heated.
#[derive(Debug, Clone, PartialEq)]
pub struct Heating(pub Option<Typed>);

pub(super) fn heating(text: &str) -> Result<Heating, String> {
    if text.trim() == "unheated" {
        return Ok(Heating(None));
    }
    let warm = Typed::read(Kind::Temperature, text).map_err(|error| format!("{error}; or unheated"))?;
    if (-10.0..=35.0).contains(&warm.value) {
        return Ok(Heating(Some(warm)));
    }
    Err("rooms are heated to between -10 and 35 °C; or unheated".to_owned())
}

/// Days of a week: `monday-friday`, or a list with commas. The first three letters are enough.
pub(super) fn days(text: &str) -> Result<[bool; 7], String> {
    let names = scenario::weekday_names();
    let place = |word: &str| {
        let word = word.trim().to_lowercase();
        let found = names.iter().position(|day| word.len() >= 3 && day.starts_with(&word));
        found.ok_or_else(|| format!("`{word}` is no day; such as monday-friday, or monday,thursday"))
    };
    let mut open = [false; 7];
    for part in text.split(',') {
        let (first, last) = part.split_once('-').unwrap_or((part, part));
        let (first, last) = (place(first)?, place(last)?);
        // a range may run over the end of the week
        for step in 0..=(last + 7 - first) % 7 {
            open[(first + step) % 7] = true;
        }
    }
    Ok(open)
}

/// Arguments of `start`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct StartArguments {
    /// File to write; an existing file is not overwritten
    pub file: PathBuf,
    /// Copy this worked site instead
    #[arg(long, value_name = "SITE", value_enum, conflicts_with_all = ["scraps", "people", "kind", "weekdays", "closed", "place", "room", "drums", "floor", "worms", "currency", "name", "first_day"])]
    pub from: Option<WorkedSite>,
    /// Scraps on an open day, such as "25 kg/day" or "55 lb/day"
    #[arg(long, value_name = "AMOUNT", value_parser = typed(Kind::MassRate), conflicts_with = "people")]
    pub scraps: Option<Typed>,
    /// Pupils, portions, diners or people on an open day, in place of --scraps
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000_000))]
    pub people: Option<u32>,
    /// Where the scraps come from
    #[arg(long, value_enum)]
    pub kind: Option<ScrapsKind>,
    /// Days on which scraps come, such as monday-friday or monday,thursday
    #[arg(long, value_name = "DAYS", value_parser = days)]
    pub weekdays: Option<[bool; 7]>,
    /// Days without scraps, such as 07-01..08-31; may be given again
    #[arg(long, value_name = "DAYS")]
    pub closed: Vec<String>,
    /// Climate: cold, cool, mild, warm or hot, or the mean temperature of the year, such as "11 °C" or "54 F"
    #[arg(long, value_name = "CLIMATE", value_parser = weather, allow_hyphen_values = true)]
    pub place: Option<Weather>,
    /// What the rooms of drums and beds are heated to, such as "18 °C", or unheated
    #[arg(long, value_name = "TEMPERATURE", value_parser = heating, allow_hyphen_values = true)]
    pub room: Option<Heating>,
    /// Number of drums
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(0..=20_000))]
    pub drums: Option<u32>,
    /// Floor available, such as "120 m2"; a third of it is for beds
    #[arg(long, value_name = "AREA", value_parser = typed(Kind::Area))]
    pub floor: Option<Typed>,
    /// Worms to begin with, live, such as "20 kg"
    #[arg(long, value_name = "MASS", value_parser = typed(Kind::Mass))]
    pub worms: Option<Typed>,
    /// Currency, to count money; add prices to the section `money` of the file
    #[arg(long, value_name = "NAME")]
    pub currency: Option<String>,
    /// Name of the site
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,
    /// First day [default: the first Monday of next month]
    #[arg(long, value_name = "DATE")]
    pub first_day: Option<Date>,
}

/// Writes a first scenario.
///
/// # Errors
/// When the amount of scraps is missing and nobody can be asked, an answer is wrong, or the file cannot be written.
pub fn start(arguments: &StartArguments) -> Result<Output, Failure> {
    let file = &arguments.file;
    if let Some(site) = arguments.from {
        files::write_new(file, site.text())?;
        let note = format!("wrote {0}; next: loamledger check {0}", file.display());
        return Ok(Output { text: String::new(), notes: vec![note] });
    }
    files::is_free(file)?;
    let answers = if arguments.scraps.is_some() || arguments.people.is_some() {
        answers(arguments)
    } else if io::stdin().is_terminal() && io::stderr().is_terminal() {
        questions::ask(arguments).map_err(|error| Failure::Unanswered(error.into()))?
    } else {
        return Err(usage(
            "the amount of scraps is missing: give --scraps or --people, or --from to copy a worked site",
        ));
    };
    let text = draft(&answers).map_err(|NoAmount| {
        usage("the amount of a market or a farm does not follow from --people: give --scraps")
    })?;
    // a wrong answer, such as a holiday that is no date, is shown in its place
    scenario::parse(&file.display().to_string(), &text)?;
    files::write_new(file, &text)?;
    let name = file.display();
    let notes = vec![
        format!("wrote {name}"),
        format!("next: loamledger check {name}; then run it, size it or explore it"),
    ];
    Ok(Output { text: String::new(), notes })
}

fn usage(message: &str) -> Failure {
    Failure::Usage(clap::Error::raw(ErrorKind::MissingRequiredArgument, format!("{message}\n")))
}

/// What was given, and the usual where nothing was.
pub(super) fn answers(given: &StartArguments) -> Answers {
    let scraps = given.scraps.clone().map(Scraps::Amount);
    let scraps = scraps.unwrap_or_else(|| Scraps::People(given.people.unwrap_or(0)));
    let kind = given.kind.unwrap_or(ScrapsKind::School);
    Answers {
        name: given.name.clone().unwrap_or_else(|| "First draft".to_owned()),
        start: given.first_day.unwrap_or_else(next_start),
        scraps,
        kind,
        weekdays: given.weekdays.unwrap_or_else(|| kind.usual_days()),
        closed: given.closed.clone(),
        weather: given.place.unwrap_or(PLACES[2].1),
        heated_to: given.room.clone().map_or_else(usual_heating, |Heating(room)| room),
        drums: given.drums,
        floor: given.floor.clone(),
        worms: given.worms.clone(),
        prices: given.currency.clone().map(|currency| Prices { currency, given: Vec::new() }),
    }
}

fn usual_heating() -> Option<Typed> {
    Typed::read(Kind::Temperature, USUAL_HEATING).ok()
}

/// The first Monday of next month.
fn next_start() -> Date {
    let today = Timestamp::now().to_zoned(TimeZone::UTC).date();
    let next = today.first_of_month().saturating_add(1.month());
    let monday =
        (0..7).map(|day| next.saturating_add(day.days())).find(|day| day.weekday() == Weekday::Monday);
    monday.unwrap_or(next)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_read_as_ranges_and_lists() {
        assert_eq!(days("monday-friday"), Ok([true, true, true, true, true, false, false]));
        assert_eq!(days("Mon, thu"), Ok([true, false, false, true, false, false, false]));
        assert_eq!(days("sat-mon"), Ok([true, false, false, false, false, true, true]));
        assert!(days("mo").is_err() && days("").is_err() && days("workdays").is_err());
    }

    #[test]
    fn climates_are_words_or_mean_temperatures() {
        assert_eq!(weather("cold"), Ok(Weather { mean: 5.0, swing: 11.0 }));
        let us = weather("50 F").unwrap();
        assert!((us.mean - 10.0).abs() < 1e-9 && (us.swing - 8.0).abs() < 1e-12);
        for wrong in ["tropical", "60 °C", "3 kg"] {
            assert!(weather(wrong).is_err(), "{wrong}");
        }
        assert_eq!(heating("unheated"), Ok(Heating(None)));
        assert!(heating("90 °C").is_err());
    }
}
