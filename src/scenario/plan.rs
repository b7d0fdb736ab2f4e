//! The checked plan: plain numbers in SI, dates resolved, defaults applied. Shares are 0 to 1 and have no unit.

pub use super::words::{Liquor, Method, Overs, Structure, Vent};

use super::calendar::{Calendar, Room, Season, day_after};
use super::own_ingredient::OwnIngredient;
use super::sizing::Sizing;
use jiff::civil::Date;
use std::iter::successors;
use std::ops::Deref;

/// A scenario that has been checked; read its [`Choices`] through it. Only a check can make one.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan(pub(super) Choices);

impl Deref for Plan {
    type Target = Choices;
    fn deref(&self) -> &Choices {
        &self.0
    }
}

/// All choices of a site.
#[derive(Debug, Clone, PartialEq)]
pub struct Choices {
    /// Name of the site.
    pub name: String,
    /// Where it is, in words; may be empty.
    pub place: String,
    /// Who, what, why, for readers; may be empty.
    pub note: String,
    /// First day of the run.
    pub start: Date,
    /// Length of the run. # Units: days
    pub days: u32,
    /// Steps of a bed in a day, at least 1.
    pub steps_per_day: u32,
    /// Weather and rooms.
    pub climate: Climate,
    /// Ingredients of the user's own, in the order of their names.
    pub ingredients: Vec<OwnIngredient>,
    /// Sources of scraps, in the order of the file; may be empty.
    pub streams: Vec<Stream>,
    /// Starter and bran.
    pub bran: Bran,
    /// Drums; a count of zero where there are none.
    pub drums: Drums,
    /// Grinder, as given or by default.
    pub grinder: Grinder,
    /// Bulking; none where it is left out or its ingredient is "none".
    pub bulking: Option<Bulking>,
    /// Groups of equal beds, in the order of the file; empty where there are none.
    pub beds: Vec<Beds>,
    /// Worms; no purchases where there are none.
    pub stock: Stock,
    /// When and how much the beds are fed.
    pub feeding: Feeding,
    /// When castings are taken, and how much of them.
    pub harvest: Harvest,
    /// Drying and screening.
    pub screen: Screen,
    /// Curing, blending, sale.
    pub castings: Castings,
    /// Floor and people.
    pub site: Site,
    /// Prices; none where no `money` is given, and no money is reported then.
    pub money: Option<Money>,
    /// What is asked when the site is sized.
    pub sizing: Sizing,
    /// Rates fixed or replaced, in the order of their keys.
    pub rates: Vec<RateChoice>,
}

/// Weather and rooms.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// The smooth year outdoors.
    pub season: Season,
    /// Standard deviation of the daily mean about the season. # Units: K
    pub day_to_day: f64,
    /// Mean relative humidity over the beds, 0 to 1.
    pub relative_humidity: f64,
    /// Room of the beds.
    pub bed_room: Room,
    /// Room of the drums.
    pub drum_room: Room,
}

/// One source of scraps.
#[derive(Debug, Clone, PartialEq)]
pub struct Stream {
    /// Name, different from that of every other stream.
    pub name: String,
    /// How much on which day, contamination included.
    pub calendar: Calendar,
    /// Ingredient and share of the wet mass, in the order of the names; the shares sum to one.
    pub mix: Vec<(String, f64)>,
    /// Standard deviation of the logarithm of a day's amount, for draws.
    pub daily_variation: f64,
    /// Share of what arrives that is sorted out and never enters the balance.
    pub contamination: f64,
}

/// Starter and bran.
#[derive(Debug, Clone, PartialEq)]
pub struct Bran {
    /// Ingredient that carries the inoculum.
    pub carrier: String,
    /// Bran per wet scraps. # Units: kg/kg
    pub dose: f64,
    /// Time to activate the starter. # Units: days
    pub starter_days: u32,
    /// Time to ferment and dry the bran. # Units: days
    pub ferment_days: u32,
    /// Weeks of demand held in reserve.
    pub safety_weeks: f64,
    /// Most bran made in a week; none for no limit. # Units: kg
    pub weekly_capacity: Option<f64>,
    /// Bran in store on the first day; not used where bran is bought. # Units: kg
    pub starting_bran: f64,
    /// Whether it is bought ready, as it is needed.
    pub bought: bool,
}

/// Fermenting drums.
#[derive(Debug, Clone, PartialEq)]
pub struct Drums {
    /// Number of drums.
    pub count: u32,
    /// Volume of each. # Units: m3
    pub volume: f64,
    /// Share of the volume filled.
    pub fill_share: f64,
    /// Density of settled scraps with their bran. # Units: kg/m3
    pub settled_density: f64,
    /// Least age at opening. # Units: days
    pub minimum_days: u32,
    /// Age from which a drum is opened, fermented enough or not; an older one is reported. # Units: days
    pub maximum_days: u32,
    /// Time of filling after which a drum is sealed, full or not. # Units: days
    pub most_filling_days: u32,
    /// Whether gas can leave the lid.
    pub vent: Vent,
    /// What becomes of the liquor.
    pub liquor: Liquor,
    /// Air volume of the drum room. # Units: m3
    pub room_volume: f64,
    /// Fresh air into the drum room. # Units: m3/h
    pub room_air: f64,
}

impl Drums {
    /// Wet scraps, bran included, that one drum takes: volume x filled share x density. # Units: kg
    pub fn contents(&self) -> f64 {
        self.volume * self.fill_share * self.settled_density
    }
}

/// Grinder.
#[derive(Debug, Clone, PartialEq)]
pub struct Grinder {
    /// Wet mass ground in an hour. # Units: kg/h
    pub rate: f64,
    /// Most grinding hours on a working day. # Units: h
    pub hours: f64,
    /// Rated power of the motor. # Units: kW
    pub motor: f64,
    /// Mean share of the rated power drawn while grinding.
    pub load_factor: f64,
    /// Working days, Monday to Sunday.
    pub weekdays: [bool; 7],
    /// Cleaning water that ends in the paste, per paste. # Units: kg/kg
    pub rinse_water: f64,
    /// Share of the paste that stays in the machine until the next grinding day.
    pub hold_up: f64,
}

/// Bulking mixed into the paste.
#[derive(Debug, Clone, PartialEq)]
pub struct Bulking {
    /// Ingredient that is mixed in.
    pub ingredient: String,
    /// Air-filled porosity to reach. # Units: m3/m3
    pub air_filled_porosity: f64,
    /// Carbon to nitrogen ratio to reach. # Units: kg/kg
    pub carbon_to_nitrogen: f64,
    /// Most bulking per paste, both wet. # Units: kg/kg
    pub most_per_paste: f64,
}

/// A group of equal beds.
#[derive(Debug, Clone, PartialEq)]
pub struct Beds {
    /// Name of the group, different from that of every other group.
    pub name: String,
    /// Number of beds.
    pub count: u32,
    /// Area of each. # Units: m2
    pub area: f64,
    /// Largest depth of material. # Units: m
    pub depth: f64,
    /// Ingredient of the bedding.
    pub bedding: String,
    /// How much bedding each bed holds on the first day.
    pub bedding_amount: BeddingAmount,
    /// Heat transfer to the room per bed area; none takes the literature value. # Units: W/m2K
    pub insulation: Option<f64>,
    /// Surface wetness factor of the cover, 0 tight to 1 open and wet; none takes the literature value.
    pub cover: Option<f64>,
    /// Moisture kept by the operator: watered below the first, up to the middle of the two. # Units: kg water per kg wet
    pub moisture_band: [f64; 2],
}

/// How much bedding each bed holds on the first day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BeddingAmount {
    /// Depth. # Units: m
    Depth(f64),
    /// Wet mass in each bed. # Units: kg
    Mass(f64),
}

/// Worms.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// Ages of the worms of each purchase.
    pub structure: Structure,
    /// Day of the run (from 0) and live mass of each purchase: that of `mass` first, then the later ones as they stand in the file;
    /// empty where there are no worms. # Units: days, kg
    pub purchases: Vec<(u32, f64)>,
}

impl Stock {
    /// Live worms bought in all purchases. # Units: kg
    pub fn mass(&self) -> f64 {
        self.purchases.iter().map(|p| p.1).sum()
    }
}

/// Feeding.
#[derive(Debug, Clone, PartialEq)]
pub struct Feeding {
    /// Most wet paste per live worms and day, over all days of the week; bulking comes on top. # Units: kg/(kg d)
    pub ration: f64,
    /// Feeding days, Monday to Sunday.
    pub weekdays: [bool; 7],
    /// Thickest layer of feed laid at one feeding. # Units: m
    pub largest_layer: f64,
    /// A bed is fed until fresh paste is this share of its wet mass, and no further.
    pub fresh_share_limit: f64,
    /// No feeding of a warmer bed. # Units: °C
    pub hottest: f64,
    /// No feeding of a colder bed. # Units: °C
    pub coldest: f64,
}

/// When castings are taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HarvestRule {
    /// Each bed after so many days. # Units: days
    EveryDays(u32),
    /// Each bed when its material is this deep. # Units: m
    Depth(f64),
}

/// When castings are taken, and how much of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Harvest {
    /// When castings are taken.
    pub rule: HarvestRule,
    /// Share of the castings layer taken.
    pub share: f64,
    /// No harvest before this day of the run, from 0. # Units: days
    pub first_day: u32,
}

/// Drying and screening.
#[derive(Debug, Clone, PartialEq)]
pub struct Screen {
    /// How worms and castings are parted.
    pub method: Method,
    /// Opening of the screen. # Units: m
    pub aperture: f64,
    /// Castings are dried to this moisture before screening. # Units: kg water per kg wet
    pub moisture: f64,
    /// Area on which castings dry; not used where `drying_days` is given. # Units: m2
    pub drying_area: f64,
    /// Time to dry with a fan or heat, whatever the weather; none where castings dry on the area, by the weather. # Units: days
    pub drying_days: Option<f64>,
    /// Where the overs go.
    pub overs: Overs,
    /// Wet mass screened in an hour. # Units: kg/h
    pub rate: f64,
    /// Worms above this stocking density are sold at harvest; none returns all. # Units: kg/m2
    pub stocking_ceiling: Option<f64>,
}

/// Curing, blending, sale.
#[derive(Debug, Clone, PartialEq)]
pub struct Castings {
    /// Time in the curing store. # Units: days
    pub cure_days: u32,
    /// Share of the cured castings, by mass, sold without blending; 1 where there is no blend.
    pub sold_alone: f64,
    /// Blend with compost; none where all is sold alone.
    pub blend: Option<Blend>,
}

/// Blend with compost.
#[derive(Debug, Clone, PartialEq)]
pub struct Blend {
    /// Ingredient blended in.
    pub with: String,
    /// Share of castings by volume.
    pub castings_share: f64,
}

/// Floor and people; what is not given is not checked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Site {
    /// Floor there is. # Units: m2
    pub floor_area: Option<f64>,
    /// Load the floor can bear. # Units: kPa
    pub floor_load: Option<f64>,
    /// Working hours there are on a working day, over all people. # Units: h
    pub labour_hours: Option<f64>,
}

/// Prices in one currency; what is none is not counted.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Money {
    /// Currency, as printed, such as EUR.
    pub currency: String,
    /// Earned or saved per t of intake; below 0 where it is paid.
    pub gate_fee: Option<f64>,
    /// Earned per m3 of castings sold alone.
    pub castings_price: Option<f64>,
    /// Earned per m3 of blend.
    pub blend_price: Option<f64>,
    /// Per m3 of compost bought.
    pub compost_price: Option<f64>,
    /// Per t of bulking bought.
    pub bulking_price: Option<f64>,
    /// Per t of bran bought, or of carrier and molasses for it.
    pub bran_price: Option<f64>,
    /// Per t of live worms bought.
    pub worm_price: Option<f64>,
    /// Earned per t of live worms sold.
    pub worm_sale_price: Option<f64>,
    /// Per kWh of electricity.
    pub power_price: Option<f64>,
    /// Per hour of work, with all charges.
    pub wage: Option<f64>,
    /// Per drum.
    pub drum_price: Option<f64>,
    /// Per m2 of bed.
    pub bed_price: Option<f64>,
    /// The grinder, installed.
    pub grinder_price: Option<f64>,
    /// The screen, installed.
    pub screen_price: Option<f64>,
    /// Building, paving, permits and other capital.
    pub other_capital: Option<f64>,
    /// Rent, insurance and other cost of a year.
    pub other_yearly_cost: Option<f64>,
    /// Yearly interest, a share.
    pub interest: f64,
    /// Years over which capital is written off, at least 1.
    pub years: u32,
}

/// A rate fixed or replaced for this site, in the unit of its literature table.
#[derive(Debug, Clone, PartialEq)]
pub struct RateChoice {
    /// Key of the literature tables, such as `bed.decay_rate_protein` or `ingredients.bread.moisture`.
    pub key: String,
    /// Value of the central run.
    pub central: f64,
    /// Range to draw from; none where the rate is fixed.
    pub range: Option<RateSpread>,
}

/// Range of a replaced rate, in the unit of its literature table. What the ends mean depends on the shape:
/// [`crate::quantity::Shape`].
#[derive(Debug, Clone, PartialEq)]
pub struct RateSpread {
    /// Low end, at most the central value.
    pub low: f64,
    /// High end, at least the central value.
    pub high: f64,
    /// Name of the shape; none keeps the shape of the table.
    pub shape: Option<String>,
}

impl Plan {
    /// Wraps choices that have been checked.
    pub(super) fn checked(choices: Choices) -> Self {
        Self(choices)
    }

    /// Date of a day of the run, the first being 0.
    pub fn date(&self, day: u32) -> Date {
        day_after(self.start, day)
    }

    /// Date of every day of the run, in order.
    pub fn dates(&self) -> impl Iterator<Item = Date> {
        let first = (self.days > 0).then_some(self.start);
        successors(first, |day| day.tomorrow().ok()).take(self.days as usize)
    }

    /// Wet mass of a stream on a day before day-to-day variation, contamination included.
    ///
    /// # Units
    /// kg
    ///
    /// # Panics
    /// When the plan has no stream of that place.
    pub fn open_amount(&self, stream: usize, date: Date) -> f64 {
        self.streams[stream].calendar.open_amount(date)
    }

    /// [`Plan::open_amount`] of each day of the run.
    ///
    /// # Units
    /// kg
    ///
    /// # Panics
    /// When the plan has no stream of that place.
    pub fn daily_amounts(&self, stream: usize) -> Vec<f64> {
        self.dates().map(|date| self.open_amount(stream, date)).collect()
    }

    /// Mean intake over the run, contamination left out: `sum over streams and days of open amount x (1 - contamination) / days`.
    ///
    /// # Units
    /// kg/day
    pub fn mean_intake(&self) -> f64 {
        let total: f64 = (0..self.streams.len())
            .map(|i| self.daily_amounts(i).iter().sum::<f64>() * (1.0 - self.streams[i].contamination))
            .sum();
        total / f64::from(self.days)
    }

    /// Area of all beds, 0 where there are none. # Units: m2
    pub fn bed_area(&self) -> f64 {
        self.beds.iter().map(|b| f64::from(b.count) * b.area).sum()
    }
}
