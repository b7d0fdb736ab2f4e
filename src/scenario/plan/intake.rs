//! Climate, streams of scraps, bran.

use crate::quantity::Kind::{
    Area, Count, Days, Factor, HeatTransfer, Length, Mass, MassRate, Ratio, Share, Temperature,
    TemperatureDifference,
};
use crate::scenario::calendar::{Closure, MonthDay, days_between, weekday_index};
use crate::scenario::check::Checker;
use crate::scenario::field::{Fallback, Number};
use crate::scenario::locate::Part;
use crate::scenario::path::KeyPath;
use crate::scenario::rule::{
    Entry, closures, factors, flag, ingredient, may, month_day, name, need, needed_entries, section,
    section_with, set, word,
};
use crate::scenario::section::{Shape, section};
use crate::scenario::words::{Building, HeatedBy};
use jiff::civil::Date;
use jsonc_parser::ast::Value;
use std::f64::consts::TAU;

section! {
    /// Weather outdoors and temperature in the rooms.
    pub struct Climate {
        /// Mean outdoor temperature of the year.
        mean_temperature: f64 = set(Temperature, -20.0, 35.0, 11.0, "choice"),
        /// Half of the warmest less the coldest monthly mean.
        seasonal_swing: f64 = set(TemperatureDifference, 0.0, 35.0, 8.0, "choice"),
        /// Coldest day of the year, month-day. Left out: 01-20; south of the equator write such as 07-20.
        coldest_day: MonthDay = month_day(1, 20),
        /// Standard deviation of the daily mean about the season, for draws.
        day_to_day: f64 = set(TemperatureDifference, 0.0, 10.0, 3.0, "choice"),
        /// Mean relative humidity of the air over the beds.
        relative_humidity: f64 = set(Share, 0.05, 1.0, 0.75, "choice"),
        /// Room of the beds. Left out: the default of each key.
        bed_room: Room = section_with(35.0),
        /// Room of the drums. Left out: the default of each key.
        drum_room: Room = section_with(45.0),
    }
}

impl Climate {
    /// Outdoor temperature without day-to-day weather: one cosine, our choice,
    /// `mean - swing x cos(2 pi x days since the coldest / days of the year)`.
    ///
    /// # Units
    /// °C
    pub fn outdoors(&self, day: Date) -> f64 {
        let coldest = self.coldest_day.in_year(day.year());
        let turn = f64::from(day.day_of_year() - coldest.day_of_year()) / f64::from(day.days_in_year());
        self.mean_temperature - self.seasonal_swing * (TAU * turn).cos()
    }
}

section! {
    /// How a room follows the weather.
    pub struct Room (warmest_heating: f64) checked by heating_below_cooling {
        /// Heating keeps the room at or above this. Left out: no heating.
        heated_to: Option<f64> = may(Temperature, -10.0, warmest_heating),
        /// Cooling keeps the room at or below this. Left out: no cooling.
        cooled_to: Option<f64> = may(Temperature, 0.0, 45.0),
        /// Share of the outdoor swing felt inside: 0 constant, 1 outdoors.
        share_of_outdoor_swing: f64 = set(Share, 0.0, 1.0, 0.6, "choice"),
        /// Room warmer than outdoors by this on the mean of the year, from what is stored and from neighbours.
        warmer_than_outdoors: f64 = set(TemperatureDifference, -10.0, 25.0, 0.0, "choice"),
        /// What heats the room to `heated_to`. Left out: electricity.
        heated_by: HeatedBy = word(HeatedBy::Electricity),
        /// Walls and roof, for the heat they lose. Left out: insulated.
        building: Building = word(Building::Insulated),
        /// Heat transfer of walls and roof, in place of that of `building`.
        heat_transfer: Option<f64> = may(HeatTransfer, 0.05, 20.0),
        /// Floor of the room, for the heat it loses. Left out: `drums.room_volume` over the height for the drum room, the floor
        /// needed without drums for the bed room.
        floor_area: Option<f64> = may(Area, 0.1, 1e6),
        /// Height of the room, for the heat it loses.
        height: f64 = set(Length, 1.5, 20.0, 3.0, "choice"),
    }
}

fn heating_below_cooling(check: &mut Checker<'_>, path: &KeyPath, room: &Room) {
    if let (Some(heated), Some(cooled)) = (room.heated_to, room.cooled_to)
        && heated > cooled
    {
        let problem = format!("cooling to {cooled} °C fights heating to {heated} °C");
        check.wrong(&path.key("cooled_to"), &problem, "at least `heated_to`", None);
    }
}

impl Room {
    /// Temperature of the room neither heated nor cooled: `yearly mean + warmer than outdoors + share of the swing x (outdoors - yearly
    /// mean)`.
    ///
    /// # Units
    /// °C
    pub fn unheated(&self, yearly_mean: f64, outdoors: f64) -> f64 {
        yearly_mean + self.warmer_than_outdoors + self.share_of_outdoor_swing * (outdoors - yearly_mean)
    }

    /// Temperature of the room: that [`unheated`](Self::unheated), raised to what it is heated to and lowered to what it is cooled to. It
    /// follows without delay, our choice.
    ///
    /// # Units
    /// °C
    pub fn temperature(&self, yearly_mean: f64, outdoors: f64) -> f64 {
        let free = self.unheated(yearly_mean, outdoors);
        let heated = self.heated_to.map_or(free, |lowest| free.max(lowest));
        self.cooled_to.map_or(heated, |highest| heated.min(highest))
    }
}

section! {
    /// One source of scraps.
    pub struct Stream checked by one_amount {
        /// Name of the stream; each has its own.
        name: String = name(),
        /// Wet mass on an open day whose factors are 1. Give this or `generation`.
        amount: Option<f64> = may(MassRate, 0.0, 1e6),
        /// Amount from a number of people, meals or employees. Give this or `amount`.
        generation: Option<Generation> = section(),
        /// Share of each ingredient in the wet mass; the shares sum to 1.
        mix: Vec<MixPart> = needed_entries(),
        /// Factors on the amount, Monday to Sunday. Left out: 1 each.
        weekday_factors: [f64; 7] = factors(Factor, 0.0, 20.0, "Monday to Sunday", [1.0; 7]),
        /// Factors on the amount, January to December. Left out: 1 each.
        month_factors: [f64; 12] = factors(Factor, 0.0, 20.0, "January to December", [1.0; 12]),
        /// Days without intake: "2027-12-24", "2027-12-24..2028-01-02" (both days closed), or without the year for every year.
        closed: Vec<Closure> = closures(),
        /// Growth per year, continuous from the first day; negative where the generator gets better.
        yearly_growth: f64 = set(Share, -0.5, 1.0, 0.0, "choice"),
        /// Day-to-day spread: standard deviation of the logarithm, for draws.
        // malefors_2019: the printed spread is 19 % of the mean at canteens, 16 % at restaurants
        daily_variation: f64 = set(Factor, 0.0, 1.5, 0.18, "malefors_2019"),
        /// Share that is not food and is sorted out on arrival.
        contamination: f64 = set(Share, 0.0, 0.5, 0.0, "choice"),
    }
}

section! {
    /// Amount from a number of people, meals or employees.
    pub struct Generation {
        /// People, meals or employees on an open day.
        count: u32 = need(Count, 0.0, 1e7),
        /// Wet scraps of each on an open day.
        rate: f64 = need(MassRate, 0.0, 1000.0),
        /// Share of the scraps that is really collected.
        capture: f64 = set(Share, 0.0, 1.0, 1.0, "choice"),
    }
}

/// An ingredient of a stream.
#[derive(Debug, Clone, PartialEq)]
pub struct MixPart {
    /// Name of the ingredient.
    pub ingredient: String,
    /// Share of the wet mass.
    pub share: f64,
}

/// Share of an ingredient in a mix.
const SHARE: Number = Number { kind: Share, low: 0.0, high: 1.0, fallback: Fallback::Required, basis: "" };

impl Entry for MixPart {
    fn shape() -> Shape {
        Shape::Number(SHARE)
    }

    fn read(check: &mut Checker<'_>, path: &KeyPath, name: &str, value: &Value<'_>) -> Self {
        check.ingredient(path, Part::Key, name, true);
        let share = check.number(path, value, &SHARE).unwrap_or(f64::NAN);
        Self { ingredient: name.to_owned(), share }
    }
}

fn one_amount(check: &mut Checker<'_>, path: &KeyPath, stream: &Stream) {
    let given = |key: &str| check.located.holds(&path.key(key));
    let problem = match (given("amount"), given("generation")) {
        (true, true) => Some("has both amount and generation"),
        (false, false) => Some("has no amount"),
        _ => None,
    };
    if let Some(problem) = problem {
        let fault = check.at(path, Part::Value, problem);
        let allowed = "either `amount` (kg/day on an open day) or `generation` (count and rate)";
        check.faults.push(fault.allowed(allowed).nothing_given());
    }
    shares_sum_to_one(check, &path.key("mix"), &stream.mix);
}

/// Refuses shares of a mix that do not sum to 1; says nothing of a mix that is wrong otherwise.
pub(super) fn shares_sum_to_one(check: &mut Checker<'_>, path: &KeyPath, mix: &[MixPart]) {
    let total = total(mix);
    if !check.is_faulty(path) && (total - 1.0).abs() > 1e-6 {
        let fault = check.at(path, Part::Key, format!("the shares sum to {total:.6}"));
        let hint = (total > 0.0).then(|| {
            let scaled = mix.iter().map(|part| format!("{} {:.4}", part.ingredient, part.share / total));
            format!("in the same proportions: {}", scaled.collect::<Vec<_>>().join(", "))
        });
        check.faults.push(fault.allowed("shares of wet mass that sum to 1").hint(hint).nothing_given());
    }
}

/// Sum of the shares as given: 1 but for rounding.
fn total(mix: &[MixPart]) -> f64 {
    // an empty sum is a negative zero
    mix.iter().map(|part| part.share).sum::<f64>() + 0.0
}

/// The parts of a mix with shares that sum to 1 exactly, so that rounding in the file makes or loses no mass.
pub(super) fn exact_shares(mix: &[MixPart]) -> impl Iterator<Item = (&str, f64)> {
    let total = total(mix);
    mix.iter().map(move |part| (part.ingredient.as_str(), part.share / total))
}

impl Stream {
    /// The parts of the mix with shares that sum to 1 exactly.
    pub fn parts(&self) -> impl Iterator<Item = (&str, f64)> {
        exact_shares(&self.mix)
    }

    /// Wet mass on an open day whose factors are 1, contamination included: as given, or `people x rate x capture`.
    ///
    /// # Units
    /// kg/day
    pub fn open_day_amount(&self) -> f64 {
        let generated = self.generation.as_ref().map(|g| f64::from(g.count) * g.rate * g.capture);
        self.amount.or(generated).unwrap_or(f64::NAN)
    }

    /// Wet mass that arrives on a day, contamination included:
    /// `amount x weekday factor x month factor x (1 + growth)^(days since the first / 365.25)`, nothing on closed days.
    ///
    /// # Units
    /// kg
    pub fn open_amount(&self, first: Date, day: Date) -> f64 {
        self.level_amount(first, day, day)
    }

    /// The same with the growth reached on another day.
    ///
    /// # Units
    /// kg
    pub fn level_amount(&self, first: Date, day: Date, grown_until: Date) -> f64 {
        if self.closed.iter().any(|c| c.covers(day)) {
            return 0.0;
        }
        let month = usize::try_from(day.month() - 1).unwrap_or(0);
        let years = f64::from(days_between(first, grown_until)) / 365.25;
        self.open_day_amount()
            * self.weekday_factors[weekday_index(day.weekday())]
            * self.month_factors[month]
            * if self.yearly_growth == 0.0 { 1.0 } else { (1.0 + self.yearly_growth).powf(years) }
    }
}

section! {
    /// Starter and bran.
    pub struct Bran {
        /// Ingredient that carries the inoculum. Left out: wheat_bran.
        carrier: String = ingredient("wheat_bran"),
        /// Bran per wet scraps.
        dose: f64 = set(Ratio, 0.0, 0.3, 0.02, "fermentation.bran_dose"),
        /// Time to activate the starter; whole days.
        starter_days: u32 = set(Days, 1.0, 60.0, 14.0, "fermentation.starter_ferment_time"),
        /// Time to ferment and dry the bran; whole days.
        ferment_days: u32 = set(Days, 0.0, 90.0, 14.0, "fermentation.starter_ferment_time"),
        /// Weeks of demand held in reserve.
        safety_weeks: f64 = set(Factor, 0.0, 52.0, 2.0, "choice"),
        /// Most bran made in a week. Left out: no limit.
        weekly_capacity: Option<f64> = may(Mass, 0.0, 1e5),
        /// Bran in store on the first day; not used where bran is bought. Left out: what is needed until the first own bran is
        /// ready, and the reserve.
        starting_bran: Option<f64> = may(Mass, 0.0, 1e6),
        /// Whether the bran is bought ready, as it is needed, instead of made. Left out: false.
        bought: bool = flag(false),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::calendar::{date, day_after};

    fn day(text: &str) -> Date {
        date(text).unwrap()
    }

    fn stream() -> Stream {
        Stream {
            name: "kitchen".into(),
            amount: Some(100.0),
            generation: None,
            mix: Vec::new(),
            weekday_factors: [1.0, 1.0, 1.0, 1.0, 2.0, 0.5, 0.0],
            month_factors: [1.0; 12],
            closed: Vec::new(),
            yearly_growth: 0.0,
            daily_variation: 0.0,
            contamination: 0.0,
        }
    }

    fn room() -> Room {
        Room {
            heated_to: Some(8.0),
            cooled_to: Some(20.0),
            share_of_outdoor_swing: 0.5,
            warmer_than_outdoors: 1.0,
            heated_by: HeatedBy::Electricity,
            building: Building::Insulated,
            heat_transfer: None,
            floor_area: None,
            height: 3.0,
        }
    }

    fn amount(stream: &Stream, text: &str) -> f64 {
        stream.open_amount(day("2027-01-04"), day(text))
    }

    #[test]
    fn weekday_and_month_factors_multiply() {
        let mut c = stream();
        c.month_factors[1] = 3.0;
        // 4 January 2027 is a Monday, 5 February 2027 a Friday
        assert_eq!(amount(&c, "2027-01-04").to_bits(), 100f64.to_bits());
        assert!((amount(&c, "2027-02-05") - 600.0).abs() < 1e-9);
        assert!(amount(&c, "2027-01-10").abs() < 1e-12);
    }

    #[test]
    fn a_week_of_the_printed_factors() {
        // 4 x 1 + 2 + 0.5 + 0 = 6.5 days of 100 kg
        let (c, start) = (stream(), day("2027-01-04"));
        let week: f64 = (0..7).map(|d| c.open_amount(start, day_after(start, d))).sum();
        assert!((week - 650.0).abs() < 1e-9);
    }

    #[test]
    fn closures_take_both_ends() {
        let mut c = stream();
        c.closed =
            vec![Closure::parse("2027-03-01..2027-03-03").unwrap(), Closure::parse("12-24..01-02").unwrap()];
        for closed in ["2027-03-01", "2027-03-03", "2027-12-24", "2028-01-02", "2031-12-31"] {
            assert!(amount(&c, closed).abs() < 1e-12, "{closed}");
        }
        // the days beside them: a Thursday, a Thursday, a Thursday, a Monday
        for open in ["2027-03-04", "2027-02-25", "2027-12-23", "2028-01-03"] {
            assert!(amount(&c, open) > 0.0, "{open}");
        }
        assert!(Closure::parse("2027-03-03..2027-03-01").is_err());
        assert!(Closure::parse("2027-02-29").is_err());
        assert!(Closure::parse("2027-02-01..02-03").is_err());
        assert!(Closure::parse("13-01").is_err());
    }

    #[test]
    fn a_leap_year_has_its_day() {
        let c = stream();
        assert_eq!(day_after(day("2028-02-28"), 1), day("2028-02-29"));
        assert_eq!(days_between(day("2028-01-01"), day("2029-01-01")), 366);
        let mut closed = stream();
        closed.closed = vec![Closure::parse("02-29").unwrap()];
        // 29 February 2028 is a Tuesday
        assert!(amount(&c, "2028-02-29") > 0.0);
        assert!(amount(&closed, "2028-02-29").abs() < 1e-12);
        assert_eq!(MonthDay { month: 2, day: 29 }.in_year(2027), day("2027-02-28"));
    }

    #[test]
    fn growth_is_whole_after_a_year() {
        let mut c = stream();
        c.yearly_growth = -0.15;
        let after_four_years = amount(&c, "2031-01-06") / 100.0;
        // 1461 days later is a Saturday in 2031; 1463 days make 4.0055 years
        assert!((after_four_years - 0.85f64.powf(1463.0 / 365.25)).abs() < 1e-12);
    }

    #[test]
    fn the_season_is_coldest_and_warmest_where_it_should_be() {
        let room = room();
        let season = Climate {
            mean_temperature: 11.0,
            seasonal_swing: 6.0,
            coldest_day: MonthDay { month: 1, day: 20 },
            day_to_day: 0.0,
            relative_humidity: 0.75,
            bed_room: room.clone(),
            drum_room: room,
        };
        assert!((season.outdoors(day("2027-01-20")) - 5.0).abs() < 1e-12);
        assert!((season.outdoors(day("2027-07-21")) - 17.0).abs() < 0.01);
        let year: f64 =
            (0..365).map(|d| season.outdoors(day_after(day("2027-01-01"), d))).sum::<f64>() / 365.0;
        assert!((year - 11.0).abs() < 1e-9);
        // no jump at the new year
        let jump = season.outdoors(day("2029-01-01")) - season.outdoors(day("2028-12-31"));
        assert!(jump.abs() < 0.1);
    }

    #[test]
    fn rooms_soften_heat_and_cool() {
        let room = room();
        assert!((room.temperature(10.0, 10.0) - 11.0).abs() < 1e-12);
        assert!((room.temperature(10.0, -10.0) - 8.0).abs() < 1e-12);
        assert!((room.temperature(10.0, 40.0) - 20.0).abs() < 1e-12);
    }
}
