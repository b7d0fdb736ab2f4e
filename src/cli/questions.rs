//! The questions of `start`, asked on a terminal; answers given as options are not asked for.

use super::start::{Heating, StartArguments, USUAL_HEATING, answers, days, heating, typed, weather};
use crate::quantity::Kind;
use crate::scenario;
use crate::scenario::draft::{Answers, Prices, Scraps, ScrapsKind, Typed};
use dialoguer::theme::SimpleTheme;
use dialoguer::{Error, Input, Select};

/// Prices that are asked for: key of the section `money`, kind, words.
const PRICES: [(&str, Kind, &str); 4] = [
    ("castings_price", Kind::MoneyPerVolume, "Price of castings, such as 300 /m3"),
    ("gate_fee", Kind::MoneyPerMass, "Fee saved or earned on scraps, such as 90 /t"),
    ("wage", Kind::MoneyPerHour, "Wage with all charges, such as 24 /h"),
    ("power_price", Kind::MoneyPerEnergy, "Price of electricity, such as 0.25 /kWh"),
];

/// Asks a question until its answer can be read.
fn question<T>(prompt: &str, usual: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<T, Error> {
    let check = |text: &String| read(text).map(|_| ());
    let input = Input::with_theme(&SimpleTheme).with_prompt(prompt).default(usual.to_owned());
    let text = input
        .allow_empty(usual.is_empty())
        .show_default(!usual.is_empty())
        .validate_with(check)
        .interact_text()?;
    read(&text).map_err(|reason| Error::IO(std::io::Error::other(reason)))
}

/// The same; nothing typed is no answer.
fn may<T>(prompt: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<Option<T>, Error> {
    question(prompt, "", |text| if text.trim().is_empty() { Ok(None) } else { read(text).map(Some) })
}

/// Asks what is not given.
///
/// # Errors
/// When the terminal fails or the questions are broken off.
pub(super) fn ask(given: &StartArguments) -> Result<Answers, Error> {
    let mut all = answers(given);
    if given.name.is_none() {
        all.name = question("Name of the site", &all.name, |text| Ok::<_, String>(text.trim().to_owned()))?;
    }
    if given.kind.is_none() {
        let words = ScrapsKind::ALL.map(ScrapsKind::what);
        let place = Select::with_theme(&SimpleTheme)
            .with_prompt("Where the scraps come from")
            .items(words)
            .default(0)
            .interact()?;
        all.kind = ScrapsKind::ALL[place];
    }
    all.scraps = scraps(all.kind)?;
    if given.weekdays.is_none() {
        let usual = all.kind.usual_days();
        let names = scenario::weekday_names().into_iter().zip(usual);
        let open: Vec<&str> = names.filter(|(_, open)| *open).map(|(day, _)| day).collect();
        let usual = format!("{}-{}", open[0], open[open.len() - 1]);
        all.weekdays = question("Days on which they come", &usual, days)?;
    }
    if given.closed.is_empty() {
        let list = |text: &str| {
            let parts = text.split(',').map(str::trim).filter(|part| !part.is_empty());
            Ok::<_, String>(parts.map(str::to_owned).collect())
        };
        all.closed = question("Holidays, such as 07-01..08-31, 12-24..12-31 (empty: none)", "", list)?;
    }
    if given.place.is_none() {
        let prompt = "Climate: cold, cool, mild, warm or hot, or the mean temperature of the year";
        all.weather = question(prompt, "mild", weather)?;
    }
    if given.room.is_none() {
        let Heating(room) = question("What the rooms are heated to, or unheated", USUAL_HEATING, heating)?;
        all.heated_to = room;
    }
    let count = |text: &str| text.trim().parse().map_err(|_| "is no whole number".to_owned());
    if given.drums.is_none() {
        all.drums = may("Number of drums (empty: reckon it)", count)?;
    }
    if given.floor.is_none() {
        all.floor = may("Floor available, such as 120 m2 (empty: as needed)", typed(Kind::Area))?;
    }
    if given.worms.is_none() {
        all.worms = may("Worms to begin with, such as 20 kg (empty: reckon them)", typed(Kind::Mass))?;
    }
    if given.currency.is_none() {
        all.prices = prices()?;
    }
    Ok(all)
}

fn scraps(kind: ScrapsKind) -> Result<Scraps, Error> {
    let amount = typed(Kind::MassRate);
    let Some((_, people)) = kind.per_person() else {
        return question("Scraps on an open day, such as 25 kg/day", "25 kg/day", amount).map(Scraps::Amount);
    };
    let prompt = format!("Scraps on an open day, such as 25 kg/day, or the number of {people}");
    question(&prompt, "25 kg/day", |text| match text.trim().parse() {
        Ok(count) => Ok(Scraps::People(count)),
        Err(_) => amount(text).map(Scraps::Amount),
    })
}

fn prices() -> Result<Option<Prices>, Error> {
    let Some(currency) = may("Currency, to count money, such as EUR (empty: no money)", |text| {
        Ok::<_, String>(text.trim().to_owned())
    })?
    else {
        return Ok(None);
    };
    let mut given: Vec<(&'static str, Typed)> = Vec::new();
    for (key, kind, prompt) in PRICES {
        let price = may(&format!("{prompt} (empty: not counted)"), typed(kind))?;
        given.extend(price.map(|price| (key, price)));
    }
    Ok(Some(Prices { currency, given }))
}
