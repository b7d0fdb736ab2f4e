//! A first draft of a scenario, from what a person knows before there is a site.
//!
//! The text holds the answers, and for the sizes that were not given reckoned ones, each with a note of how. Everything else is left to
//! the defaults of the scenario. The rules of thumb below only have to give a site that works; `size` finds better ones.

mod answers;

pub use answers::{Answers, NoAmount, Prices, Scraps, ScrapsKind, Typed, Weather};

use super::plan::{Choices, Drums, Plan};
use super::read::parse;
use crate::{literature, quantity};
use jiff::ToSpan;
use std::fmt::Write;

/// Scraps a day for an area of bed, kg/(m2 d). Source: our choice; beds of the mended model turn 0.3 to 0.6 of mixed scraps.
const LOAD: f64 = 0.45;
/// Share of a floor that beds can take, the rest being aisles, drums and store. Source: our choice.
const BED_SHARE: f64 = 0.35;
/// Days from the filling of a drum to its emptying: two weeks of fermentation and two in which it waits. Source: our choice.
const DRUM_DAYS: f64 = 28.0;
/// Days after which the first drum is ready. Source: our choice, two weeks and a few days in a room of 18 °C.
const READY_DAYS: i64 = 17;
/// Drums over those reckoned for the mean amount. Source: our choice.
const DRUM_RESERVE: f64 = 1.5;
/// Volumes of drums, m3, with the largest amount of scraps a day for each, kg; above, drums are those of a plan that names no volume.
/// Source: our choice.
const SMALL_DRUMS: [(f64, f64); 4] = [(0.01, 1.2), (0.02, 3.0), (0.06, 8.0), (0.12, 60.0)];
/// Areas of beds, m2, with the largest amount of scraps a day for each, kg. Source: our choice.
const SMALL_BEDS: [(f64, f64); 5] = [(1.0, 3.0), (2.0, 15.0), (4.0, 60.0), (12.0, 150.0), (27.0, 600.0)];
/// Area of a bed above that, m2. Source: our choice, a row 1.8 m wide and 30 m long.
const LARGE_BED: f64 = 54.0;
/// Share of its hours that the grinder needs for the mean amount: a Monday brings three days' drums, and those that waited are caught up
/// with. Source: our choice.
const GRINDER_SHARE: f64 = 0.35;
/// Room for a drum of the usual size, m3, and fresh air for a kilogram of scraps a day, m3/h. Source: our choice, for less than 5000 ppm of carbon dioxide.
const DRUM_ROOM: [f64; 2] = [2.2, 2.0];

/// Ration of scraps with [`USUAL_DRY`], kg for each kilogram of worms and day. Source: our choice within `site.feed_per_body_weight`, 0.05
/// to 0.5: with 0.25 one draw in ten of a small first stock never catches up.
const RATION: f64 = 0.3;
/// Scraps a day up to which drums and beds stand in rooms that are heated anyway, kg. Source: our choice.
const IN_A_CORNER: f64 = 8.0;
/// Highest temperature of the bed room where it would be warmer than [`WARM_ROOM`] in the warmest month, °C. Source: our choice: beds are a
/// few kelvins warmer than their room, worms grow best at 25 °C and begin to die at 33 °C.
const COOLED_TO: f64 = 26.0;
/// Mean of the warmest month in the bed room from which it is cooled, °C. Source: our choice: days vary by some kelvins about it.
const WARM_ROOM: f64 = 24.0;
/// Dry matter of the scraps that this ration is of, kg/kg: mixed scraps of households (`ingredients.food_waste_household`).
const USUAL_DRY: f64 = 0.3;
/// Dry matter of scraps from which that ration feeds worms enough, kg/kg. Source: our choice.
const DRY_ENOUGH: f64 = 0.25;

/// A scenario that names nothing but what it must.
const BARE: &str =
    r#"{ "name": "bare", "start": "2027-01-04", "days": 1, "streams": [], "drums": { "count": 0 } }"#;

/// The plan that has the default of each key.
fn usual() -> Plan {
    parse("bare", BARE).expect("it names all that must be given")
}

/// Sizes of a site.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Reckoned {
    /// Scraps a day over the week, with the straw among them, kg.
    mean: f64,
    /// m3.
    drum_volume: f64,
    fill_days: f64,
    drums: u32,
    bed_area: f64,
    beds: u32,
    /// Whether the floor holds fewer beds than the scraps need.
    floor_limits: bool,
    worms: f64,
    /// Days until the first drum is opened.
    first_paste: i64,
    /// Grinder needed beyond the default, kg/h.
    grinder: Option<f64>,
}

fn size_for(sizes: &[(f64, f64)], mean: f64) -> Option<f64> {
    sizes.iter().find(|(_, most)| mean <= *most).map(|(size, _)| *size)
}

impl Reckoned {
    fn of(answers: &Answers, usual: &Plan) -> Result<Self, NoAmount> {
        let a_day = match &answers.scraps {
            Scraps::Amount(amount) => amount.value,
            Scraps::People(count) => f64::from(*count) * rate(answers.kind)?,
        };
        let with_straw = a_day * (1.0 + answers.kind.straw());
        let mean = with_straw * answers.weekdays.iter().filter(|open| **open).count() as f64 / 7.0;
        let Choices { drums: large, grinder, .. } = &**usual;
        let drum_volume = size_for(&SMALL_DRUMS, mean).unwrap_or(large.volume);
        let filling = large.drum_mass() * drum_volume / large.volume;
        let least_days = f64::from(large.most_filling_days);
        let fill_days = (filling / mean.max(f64::MIN_POSITIVE)).clamp(least_days, 30.0).ceil();
        let drums = ((DRUM_DAYS + fill_days) * mean / filling * DRUM_RESERVE).ceil() + 1.0;
        let bed_area = size_for(&SMALL_BEDS, mean).unwrap_or(LARGE_BED);
        let needed = (mean / LOAD / bed_area).ceil().max(1.0);
        let room = answers.floor.as_ref().map_or(f64::INFINITY, |floor| floor.value * BED_SHARE / bed_area);
        let beds = needed.min(room.floor()).max(1.0);
        let grinder_days = grinder.weekdays.iter().filter(|on| **on).count() as f64;
        let grinder_hours = GRINDER_SHARE * grinder.hours * grinder_days;
        Ok(Self {
            mean,
            drum_volume,
            fill_days,
            drums: quantity::whole(drums),
            bed_area,
            beds: quantity::whole(beds),
            floor_limits: beds < needed,
            worms: two_digits(beds * bed_area * answers.kind.stocking()),
            first_paste: READY_DAYS + i64::from(quantity::whole(fill_days)),
            grinder: Some((mean * 7.0 / grinder_hours / 100.0).ceil() * 100.0)
                .filter(|rate| *rate > grinder.rate),
        })
    }
}

/// A number rounded up to two digits, from 1 on.
fn two_digits(x: f64) -> f64 {
    let unit = 10_f64.powf((x.max(1.0).log10().floor() - 1.0).max(0.0));
    (x / unit).ceil() * unit
}

/// Scraps of a person on an open day, kg.
fn rate(kind: ScrapsKind) -> Result<f64, NoAmount> {
    kind.per_person().and_then(|(key, _)| literature::central(key)).ok_or(NoAmount)
}

/// Entries of a JSON object, in order.
#[derive(Clone, Default)]
struct Object(Vec<String>);

impl Object {
    fn put(&mut self, key: &str, json: impl Into<String>) {
        self.0.push(format!("{}: {}", quoted(key), json.into()));
    }

    fn note(&mut self, note: &str) {
        self.put("note", quoted(note));
    }

    /// On one line if it is short, else with a line for each entry.
    fn text(&self, indent: usize) -> String {
        let line = format!("{{ {} }}", self.0.join(", "));
        if line.len() + indent <= 100 {
            return line;
        }
        let mut text = String::from("{\n");
        let space = " ".repeat(indent);
        for (n, entry) in self.0.iter().enumerate() {
            let comma = if n + 1 < self.0.len() { "," } else { "" };
            // writing to a text cannot fail
            let _ = writeln!(text, "{space}  {entry}{comma}");
        }
        text.push_str(&space);
        text.push('}');
        text
    }
}

fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// The text of a first draft.
///
/// # Errors
/// [`NoAmount`] when people are given for scraps that people do not tell.
pub fn draft(answers: &Answers) -> Result<String, NoAmount> {
    let usual = usual();
    let site = Reckoned::of(answers, &usual)?;
    let mut all = Object::default();
    all.note(
        "A first draft. Sizes that were not given are reckoned by rules of thumb, as the notes say; what is not written here has its \
         default, which `check` prints. `run` simulates the site, `size` finds better sizes.",
    );
    all.put("name", quoted(&answers.name));
    all.put("start", quoted(&answers.start.to_string()));
    all.put("days", "365");
    all.put("climate", climate(answers, &site, &usual).text(2));
    let streams: Vec<String> =
        [Some(stream(answers)?), straw(answers)].into_iter().flatten().map(|stream| stream.text(2)).collect();
    all.put("streams", format!("[{}]", streams.join(", ")));
    let mut bran = Object::default();
    bran.note("Bought; make it on the site if you like: `bought` false.");
    bran.put("bought", "true");
    all.put("bran", bran.text(2));
    all.put("drums", drums(answers, &site, &usual.drums).text(2));
    if let Some(rate) = site.grinder {
        let mut grinder = Object::default();
        grinder.note("Reckoned for a third of the two hours on five days a week that it may run: Mondays bring three days' drums.");
        grinder.put("rate", quoted(&format!("{rate} kg/h")));
        all.put("grinder", grinder.text(2));
    }
    let mut bulking = Object::default();
    bulking.note("Shredded boxes: paste alone is too wet, and its ammonia harms worms.");
    bulking.put("ingredient", quoted("cardboard_corrugated"));
    all.put("bulking", bulking.text(2));
    all.put("beds", format!("[{}]", beds(&site).text(2)));
    all.put("stock", stock(answers, &site).text(2));
    all.put("feeding", feeding(answers.kind).text(2));
    let mut screen = Object::default();
    screen.note(
        "Castings dry in a thin layer under a fan, which takes a thirtieth of the electricity of heaters.",
    );
    screen.put("dried_by", quoted("fan"));
    all.put("screen", screen.text(2));
    if let Some(floor) = &answers.floor {
        let mut premises = Object::default();
        premises.put("floor_area", floor.json());
        all.put("site", premises.text(2));
    }
    if let Some(prices) = &answers.prices {
        let mut money = Object::default();
        money.put("currency", quoted(&prices.currency));
        for (key, price) in &prices.given {
            money.put(key, price.json());
        }
        all.put("money", money.text(2));
    }
    let mut text = all.text(0);
    text.push('\n');
    Ok(text)
}

fn climate(answers: &Answers, site: &Reckoned, usual: &Plan) -> Object {
    let Weather { mean, swing } = answers.weather;
    let mut room = Object::default();
    let mut climate = Object::default();
    let mut notes = Vec::new();
    if let Some(heated) = &answers.heated_to {
        let (by, note) = if site.mean <= IN_A_CORNER {
            ("waste_heat", "A corner of rooms that are heated anyway.")
        } else {
            ("heat_pump", "Heated by heat pumps; electric heaters take three times as much.")
        };
        notes.push(note);
        room.put("heated_to", heated.json());
        room.put("heated_by", quoted(by));
    }
    let mut bed_room = room.clone();
    let warmest = usual.climate.bed_room.unheated(mean, mean + swing);
    let lowest = answers.heated_to.as_ref().map_or(f64::NEG_INFINITY, |heated| heated.value);
    if warmest > WARM_ROOM {
        notes.push(
            "The bed room is cooled: worms begin to die at 33 °C, and beds are warmer than their room.",
        );
        bed_room.put("cooled_to", quoted(&format!("{} °C", COOLED_TO.max(lowest))));
    }
    if !notes.is_empty() {
        climate.note(&notes.join(" "));
    }
    climate.put("mean_temperature", format!("{mean}"));
    climate.put("seasonal_swing", format!("{swing}"));
    climate.put("bed_room", bed_room.text(4));
    climate.put("drum_room", room.text(4));
    climate
}

fn stream(answers: &Answers) -> Result<Object, NoAmount> {
    let mut stream = Object::default();
    stream.put("name", quoted("scraps"));
    match &answers.scraps {
        Scraps::Amount(amount) => stream.put("amount", amount.json()),
        Scraps::People(count) => {
            let mut generation = Object::default();
            let (key, people) = answers.kind.per_person().ok_or(NoAmount)?;
            generation.note(&format!("{people}; the rate is {key}."));
            generation.put("count", count.to_string());
            generation.put("rate", quoted(&format!("{} kg/day", rate(answers.kind)?)));
            stream.put("generation", generation.text(4));
        }
    }
    let mut mix = Object::default();
    for (ingredient, share) in answers.kind.mix() {
        mix.put(ingredient, share.to_string());
    }
    stream.put("mix", mix.text(4));
    open_days(answers, &mut stream);
    Ok(stream)
}

/// Straw laid between wet scraps in the drums, so that fewer of them spoil. `None` where scraps are dry enough, or people say how many.
fn straw(answers: &Answers) -> Option<Object> {
    let Scraps::Amount(amount) = &answers.scraps else { return None };
    let share = Some(answers.kind.straw()).filter(|share| *share > 0.0)?;
    let mut straw = Object::default();
    straw.note(&format!(
        "Reckoned: {:.0} % of the wet scraps, laid between them in the drums: without it nearly twice as many drums spoil.",
        100.0 * share
    ));
    straw.put("name", quoted("straw"));
    straw.put("amount", amount.times(share).json());
    straw.put("mix", r#"{ "wheat_straw": 1 }"#);
    open_days(answers, &mut straw);
    Some(straw)
}

/// Weekdays and holidays of a stream.
fn open_days(answers: &Answers, stream: &mut Object) {
    if answers.weekdays != [true; 7] {
        let factors = answers.weekdays.map(|open| if open { "1" } else { "0" });
        stream.put("weekday_factors", format!("[{}]", factors.join(", ")));
    }
    if !answers.closed.is_empty() {
        let closed: Vec<String> = answers.closed.iter().map(|days| quoted(days)).collect();
        stream.put("closed", format!("[{}]", closed.join(", ")));
    }
}

fn drums(answers: &Answers, site: &Reckoned, usual: &Drums) -> Object {
    let mut drums = Object::default();
    if answers.drums.is_none() {
        drums.note(&format!(
            "Reckoned: {} kg of scraps a day, four weeks from filling to emptying, half as many again in reserve.",
            quantity::format_figures(site.mean, 3)
        ));
    }
    drums.put("count", answers.drums.unwrap_or(site.drums).to_string());
    if site.drum_volume < usual.volume {
        drums.put("volume", quoted(&format!("{} L", 1000.0 * site.drum_volume)));
    }
    if site.fill_days > f64::from(usual.most_filling_days) {
        drums.put("most_filling_days", site.fill_days.to_string());
    }
    let count = f64::from(answers.drums.unwrap_or(site.drums));
    let [room, air] =
        [DRUM_ROOM[0] * count * site.drum_volume / usual.volume, DRUM_ROOM[1] * site.mean].map(f64::ceil);
    if room > usual.room_volume || air > usual.room_air() {
        drums.put("room_volume", quoted(&format!("{} m3", room.max(usual.room_volume))));
        drums.put("room_air", quoted(&format!("{} m3/h", air.max(usual.room_air()))));
    }
    drums
}

fn beds(site: &Reckoned) -> Object {
    let mut beds = Object::default();
    beds.note(&if site.floor_limits {
        format!("A third of the floor, the rest being for aisles, drums and store; the scraps would need a bed for each {LOAD} kg a day and m2.")
    } else {
        format!("Reckoned: {LOAD} kg of scraps a day and m2.")
    });
    beds.put("name", quoted("beds"));
    beds.put("count", site.beds.to_string());
    beds.put("area", quoted(&format!("{} m2", site.bed_area)));
    beds
}

fn stock(answers: &Answers, site: &Reckoned) -> Object {
    let mut stock = Object::default();
    let when = "They arrive when the first drums are ready.";
    if let Some(worms) = &answers.worms {
        stock.note(when);
        stock.put("mass", worms.json());
    } else {
        stock.note(&format!("Reckoned: {} kg of worms a m2. {when}", answers.kind.stocking()));
        stock.put("mass", quoted(&format!("{} kg", site.worms)));
    }
    let arrival = answers.start.saturating_add(site.first_paste.days());
    stock.put("arrives", quoted(&arrival.to_string()));
    stock
}

/// The ration. Worms live on dry matter: on scraps of nine tenths of water the same wet mass leaves them too little to grow, so that in half
/// of the draws harvests take more worms than hatch.
fn feeding(kind: ScrapsKind) -> Object {
    let dry = kind.dry();
    let mut feeding = Object::default();
    if dry < DRY_ENOUGH {
        feeding.note(&format!(
            "Reckoned: {RATION} kg for each kilogram of worms and day is of scraps with {:.0} % dry matter; these hold {:.0} %.",
            100.0 * USUAL_DRY,
            100.0 * dry
        ));
        feeding.put("ration", format!("{:.2}", RATION * USUAL_DRY / dry));
    } else {
        feeding.note("Scraps for each kilogram of worms and day, within the published 0.05 to 0.5 kg.");
        feeding.put("ration", RATION.to_string());
    }
    feeding
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Kind;
    use jiff::civil::date;

    fn answers(kind: ScrapsKind, scraps: &str) -> Answers {
        Answers {
            name: "Draft \"one\"".to_owned(),
            start: date(2027, 1, 4),
            scraps: Scraps::Amount(Typed::read(Kind::MassRate, scraps).unwrap()),
            kind,
            weekdays: kind.usual_days(),
            closed: vec!["07-01..08-31".to_owned()],
            weather: Weather { mean: 11.0, swing: 6.0 },
            heated_to: Some(Typed::read(Kind::Temperature, "18 °C").unwrap()),
            drums: None,
            floor: None,
            worms: None,
            prices: None,
        }
    }

    #[test]
    fn every_kind_and_size_gives_a_scenario_without_fault() {
        for kind in ScrapsKind::ALL {
            for scraps in ["0.3 kg/day", "2 lb/day", "25 kg/day", "260 kg/day", "20 t/day"] {
                let text = draft(&answers(kind, scraps)).unwrap();
                let plan =
                    parse("draft.json", &text).unwrap_or_else(|e| panic!("{}\n{text}", e.render(false)));
                assert!(plan.size().stock > 0.0 && plan.bed_area() > 0.0, "{text}");
            }
        }
    }

    #[test]
    fn sizes_follow_the_rules_of_thumb() {
        // by hand: 25 kg on five days of seven is 17.9 kg a day; 120 L hold 73.5 kg, filled in 5 days; 33 days of 17.9 kg are 8 drums, with
        // half as many again 12.03, and one; 39.7 m2 are ten beds of 4 m2 with 96 kg of worms
        let site = Reckoned::of(&answers(ScrapsKind::School, "25 kg/day"), &usual()).unwrap();
        assert!((site.mean - 125.0 / 7.0).abs() < 1e-12);
        assert_eq!((site.drums, site.beds), (14, 10));
        assert!((site.worms - 96.0).abs() < 1e-12 && site.grinder.is_none());
        // a third of 60 m2 of floor, and a bit, holds five beds of 4 m2
        let small = Answers {
            floor: Some(Typed::read(Kind::Area, "60 m2").unwrap()),
            ..answers(ScrapsKind::School, "25 kg/day")
        };
        let site = Reckoned::of(&small, &usual()).unwrap();
        assert_eq!((site.beds, site.floor_limits), (5, true));
    }

    #[test]
    fn worms_on_wet_scraps_get_as_much_dry_matter() {
        let ration =
            |kind| parse("draft.json", &draft(&answers(kind, "60 kg/day")).unwrap()).unwrap().feeding.ration;
        // by hand: 0.9 x 0.108 + 0.1 x 0.647 = 0.1619 kg/kg, 0.3 x 0.3 / 0.1619 = 0.556; fruit with a tenth of straw of 0.9 kg/kg:
        // (0.108 + 0.1 x 0.9) / 1.1 = 0.18, 0.3 x 0.3 / 0.18 = 0.5
        assert!((ration(ScrapsKind::Market) - 0.56).abs() < 1e-12);
        assert!((ration(ScrapsKind::Farm) - 0.5).abs() < 1e-12);
        // a school's 0.294 kg/kg are as dry as the usual scraps
        assert!((ration(ScrapsKind::School) - 0.3).abs() < 1e-12);
    }

    #[test]
    fn straw_comes_with_wet_fruit_on_the_same_days() {
        let given = answers(ScrapsKind::Farm, "440 lb/day");
        let plan = parse("draft.json", &draft(&given).unwrap()).unwrap();
        let [scraps, straw] = &plan.streams[..] else { panic!("{:?}", plan.streams) };
        let pound = 0.453_592_37;
        assert!((straw.amount.unwrap() - 44.0 * pound).abs() < 1e-9 && straw.closed == scraps.closed);
        // by hand: 484 lb a day of both
        assert!((Reckoned::of(&given, &usual()).unwrap().mean - 484.0 * pound).abs() < 1e-9);
        assert_eq!(
            parse("draft.json", &draft(&answers(ScrapsKind::Market, "60 kg/day")).unwrap())
                .unwrap()
                .streams
                .len(),
            1
        );
    }

    #[test]
    fn people_tell_the_scraps_of_a_school_and_not_of_a_farm() {
        let of = |kind| Answers { scraps: Scraps::People(400), ..answers(kind, "1 kg/day") };
        // 0.1023 kg of each on five days of seven
        let site = Reckoned::of(&of(ScrapsKind::School), &usual()).unwrap();
        assert!((site.mean - 400.0 * 0.1023 * 5.0 / 7.0).abs() < 1e-9);
        assert_eq!(draft(&of(ScrapsKind::Farm)), Err(NoAmount));
    }

    #[test]
    fn answers_are_kept_as_typed() {
        let money = Prices {
            currency: "USD".to_owned(),
            given: vec![("wage", Typed::read(Kind::MoneyPerHour, "22 /h").unwrap())],
        };
        let given = Answers {
            drums: Some(5),
            worms: Some(Typed::read(Kind::Mass, "40 lb").unwrap()),
            prices: Some(money),
            ..answers(ScrapsKind::Restaurant, "60 lb/day")
        };
        let text = draft(&given).unwrap();
        for part in ["60 lb/day", "\"count\": 5", "40 lb", "\"currency\": \"USD\"", "22 /h", "07-01..08-31"] {
            assert!(text.contains(part), "{part}: {text}");
        }
        let plan = parse("draft.json", &text).unwrap_or_else(|e| panic!("{}\n{text}", e.render(false)));
        assert_eq!(plan.name, "Draft \"one\"");
    }
}
