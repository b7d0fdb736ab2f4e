//! Mirror of the scenario file: what was typed, nothing checked but names and types.
//!
//! The text of each key here is what the published schema says of it; units, ranges and defaults stand in
//! [`super::field`].

use super::given::{Given, Rate};
use super::own_ingredient::TypedIngredient;
use super::raw_sizing::Sizing;
use super::words::{Liquor, Method, Overs, Structure, Vent, Weekday};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// A site: what comes in, what stands there, how it is worked.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// Address of the schema, for editors; not read.
    #[serde(rename = "$schema")]
    pub schema: Option<String>,
    /// Who, what, why: for readers; printed, not used.
    pub note: Option<String>,
    /// Name of the site, used in titles and file names.
    pub name: String,
    /// Where it is, in words; printed, not used.
    pub place: Option<String>,
    /// First day of the run, such as 2027-01-04; from 1900 to 2199.
    pub start: String,
    /// Length of the run.
    pub days: Given,
    /// Steps of a bed in a day; more make a run slower and a little more exact.
    pub steps_per_day: Option<Given>,
    /// Weather outdoors and temperature in the rooms. Left out: the default of each key.
    pub climate: Option<Climate>,
    /// Ingredients of your own, by name: a library ingredient with your laboratory figures.
    #[serde(default)]
    pub ingredients: BTreeMap<String, TypedIngredient>,
    /// Sources of scraps; may be empty.
    pub streams: Vec<Stream>,
    /// Starter and bran. Left out: the default of each key.
    pub bran: Option<Bran>,
    /// Fermenting drums. Left out: none, and all intake is turned away.
    pub drums: Option<Drums>,
    /// Grinder that makes paste. Left out: the default of each key.
    pub grinder: Option<Grinder>,
    /// Dry matter mixed into the paste. Left out: none.
    pub bulking: Option<Bulking>,
    /// Worm beds, in groups of equal ones. Left out: none.
    #[serde(default)]
    pub beds: Vec<Beds>,
    /// Worms. Left out: none.
    pub stock: Option<Stock>,
    /// When and how much the beds are fed. Left out: the default of each key.
    pub feeding: Option<Feeding>,
    /// When castings are taken. Left out: the default of each key.
    pub harvest: Option<Harvest>,
    /// Drying and screening of castings. Left out: the default of each key.
    pub screen: Option<Screen>,
    /// Curing, blending and sale. Left out: cured, then all sold alone.
    pub castings: Option<Castings>,
    /// Floor and people. Left out: not checked.
    pub site: Option<Site>,
    /// Prices in one currency. Left out: no money is reported.
    pub money: Option<Money>,
    /// What is asked when the site is sized. Left out: the usual questions.
    pub sizing: Option<Sizing>,
    /// Rates and figures of library ingredients fixed or replaced for this site, by key of the literature tables, such as
    /// bed.decay_rate_protein or ingredients.bread.moisture.
    #[serde(default)]
    pub rates: BTreeMap<String, Rate>,
}

/// Weather outdoors and temperature in the rooms.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Climate {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Mean outdoor temperature of the year.
    pub mean_temperature: Option<Given>,
    /// Half of the warmest less the coldest monthly mean.
    pub seasonal_swing: Option<Given>,
    /// Coldest day of the year, month-day. Left out: 01-20; south of the equator write such as 07-20.
    pub coldest_day: Option<String>,
    /// Standard deviation of the daily mean about the season, for draws.
    pub day_to_day: Option<Given>,
    /// Mean relative humidity of the air over the beds.
    pub relative_humidity: Option<Given>,
    /// Room of the beds. Left out: the default of each key.
    pub bed_room: Option<Room>,
    /// Room of the drums. Left out: the default of each key.
    pub drum_room: Option<Room>,
}

/// How a room follows the weather.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Room {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Heating keeps the room at or above this. Left out: no heating.
    pub heated_to: Option<Given>,
    /// Cooling keeps the room at or below this. Left out: no cooling.
    pub cooled_to: Option<Given>,
    /// Share of the outdoor swing felt inside: 0 constant, 1 outdoors.
    pub share_of_outdoor_swing: Option<Given>,
    /// Room warmer than outdoors by this on the mean of the year, from what is stored and from neighbours.
    pub warmer_than_outdoors: Option<Given>,
}

/// One source of scraps.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stream {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Name of the stream; each has its own.
    pub name: String,
    /// Wet mass on an open day whose factors are 1. Give this or `generation`.
    pub amount: Option<Given>,
    /// Amount from a number of people, meals or employees. Give this or `amount`.
    pub generation: Option<Generation>,
    /// Share of each ingredient in the wet mass; the shares sum to 1.
    pub mix: BTreeMap<String, Given>,
    /// Factors on the amount, Monday to Sunday. Left out: 1 each.
    pub weekday_factors: Option<Vec<Given>>,
    /// Factors on the amount, January to December. Left out: 1 each.
    pub month_factors: Option<Vec<Given>>,
    /// Days without intake: "2027-12-24", "2027-12-24..2028-01-02" (both days closed), or without the year for every year.
    #[serde(default)]
    pub closed: Vec<String>,
    /// Growth per year, continuous from the first day; negative where the generator gets better.
    pub yearly_growth: Option<Given>,
    /// Day-to-day spread: standard deviation of the logarithm, for draws.
    pub daily_variation: Option<Given>,
    /// Share that is not food and is sorted out on arrival.
    pub contamination: Option<Given>,
}

/// Amount from a number of people, meals or employees.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Generation {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// People, meals or employees on an open day.
    pub count: Given,
    /// Wet scraps of each on an open day.
    pub rate: Given,
    /// Share of the scraps that is really collected.
    pub capture: Option<Given>,
}

/// Starter and bran.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bran {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Ingredient that carries the inoculum. Left out: wheat_bran.
    pub carrier: Option<String>,
    /// Bran per wet scraps.
    pub dose: Option<Given>,
    /// Time to activate the starter; whole days.
    pub starter_days: Option<Given>,
    /// Time to ferment and dry the bran; whole days.
    pub ferment_days: Option<Given>,
    /// Weeks of demand held in reserve.
    pub safety_weeks: Option<Given>,
    /// Most bran made in a week. Left out: no limit.
    pub weekly_capacity: Option<Given>,
    /// Bran in store on the first day; not used where bran is bought. Left out: what is needed until the first own bran is
    /// ready, and the reserve.
    pub starting_bran: Option<Given>,
    /// Whether the bran is bought ready, as it is needed, instead of made. Left out: false.
    pub bought: Option<bool>,
}

/// Fermenting drums.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Drums {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Number of drums.
    pub count: Given,
    /// Volume of each.
    pub volume: Option<Given>,
    /// Share of the volume that is filled.
    pub fill_share: Option<Given>,
    /// Density of the settled scraps with their bran in the drum. Weigh one full drum.
    pub settled_density: Option<Given>,
    /// A drum is not opened before this age, nor before it has fermented enough or spoilt.
    pub minimum_days: Option<Given>,
    /// From this age a drum is opened whether it has fermented enough or not; an older one is reported.
    pub maximum_days: Option<Given>,
    /// A drum is sealed after so many days of filling, full or not.
    pub most_filling_days: Option<Given>,
    /// Whether gas can leave the lid. Left out: valve.
    pub vent: Option<Vent>,
    /// What becomes of the liquor. Left out: drained.
    pub liquor: Option<Liquor>,
    /// Air volume of the drum room.
    pub room_volume: Option<Given>,
    /// Fresh air into the drum room. Left out: half the room volume an hour.
    pub room_air: Option<Given>,
}

/// Grinder that makes paste.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Grinder {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Wet mass ground in an hour.
    pub rate: Option<Given>,
    /// Grinding hours on a working day.
    pub hours: Option<Given>,
    /// Rated power of the motor.
    pub motor: Option<Given>,
    /// Mean share of the rated power drawn.
    pub load_factor: Option<Given>,
    /// Days on which it runs. Left out: Monday to Friday.
    pub weekdays: Option<Vec<Weekday>>,
    /// Water for cleaning that ends in the paste, per paste.
    pub rinse_water: Option<Given>,
    /// Share of the paste that stays in the machine until the next grinding day.
    pub hold_up: Option<Given>,
}

/// Dry matter mixed into the paste.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bulking {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Ingredient, or "none". Left out: cardboard_corrugated.
    pub ingredient: Option<String>,
    /// Air-filled porosity to reach.
    pub air_filled_porosity: Option<Given>,
    /// Carbon to nitrogen ratio to reach, kg/kg.
    pub carbon_to_nitrogen: Option<Given>,
    /// Most bulking per paste.
    pub most_per_paste: Option<Given>,
}

/// A group of equal beds.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Beds {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Name of the group; each has its own.
    pub name: String,
    /// Number of beds in the group.
    pub count: Option<Given>,
    /// Area of each bed.
    pub area: Given,
    /// Largest depth of material.
    pub depth: Option<Given>,
    /// What each bed holds on the first day. Left out: the default of each key.
    pub bedding: Option<Bedding>,
    /// Heat transfer from the bed to the room, per bed area. Left out: the literature value.
    pub insulation: Option<Given>,
    /// Surface wetness factor of the cover: 0 tight, 1 open and wet. Left out: the literature value.
    pub cover: Option<Given>,
    /// Moisture kept by the operator where worms live: watered below the first, up to the middle of the two. Left out: 0.7 and 0.8.
    pub moisture_band: Option<Vec<Given>>,
}

/// What a bed holds on the first day.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bedding {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Ingredient. Left out: coconut_coir.
    pub ingredient: Option<String>,
    /// Depth in the bed. Give this or `mass`. Both left out: 0.15 m, or half of the depth of the bed where that is less.
    pub depth: Option<Given>,
    /// Wet mass in each bed, as the ingredient arrives. Give this or `depth`.
    pub mass: Option<Given>,
}

/// Worms.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stock {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Live worms bought at first, over all beds by area.
    pub mass: Given,
    /// Ages of the worms. Left out: mixed.
    pub structure: Option<Structure>,
    /// Day they arrive, within the run. Left out: the first day.
    pub arrives: Option<String>,
    /// Later purchases of worms. Left out: none.
    #[serde(default)]
    pub top_up: Vec<TopUp>,
}

/// A later purchase of worms.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TopUp {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Day of arrival, within the run.
    pub date: String,
    /// Live worms bought then, over all beds by area.
    pub mass: Given,
}

/// When and how much the beds are fed.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Feeding {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Most wet paste per live worms and day, over all days of the week; bulking comes on top.
    pub ration: Option<Given>,
    /// Feeding days. Left out: Monday, Wednesday, Friday.
    pub weekdays: Option<Vec<Weekday>>,
    /// Thickest layer of feed laid at one feeding.
    pub largest_layer: Option<Given>,
    /// A bed is fed until fresh paste is this share of its wet mass, and no further.
    pub fresh_share_limit: Option<Given>,
    /// No feeding of a bed warmer than this.
    pub hottest: Option<Given>,
    /// No feeding of a bed colder than this.
    pub coldest: Option<Given>,
}

/// When castings are taken.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Harvest {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Each bed after so many days. Give this or `depth`. Both left out: 90 days.
    pub every_days: Option<Given>,
    /// Each bed when its material is this deep, at most once in 14 days. Give this or `every_days`.
    pub depth: Option<Given>,
    /// Share of the castings layer taken.
    pub share: Option<Given>,
    /// No harvest before this day of the run, counted from 0.
    pub first_day: Option<Given>,
}

/// Drying and screening of castings.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Screen {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// How worms and castings are parted. Left out: trommel.
    pub method: Option<Method>,
    /// Opening of the screen.
    pub aperture: Option<Given>,
    /// Castings are dried to this moisture before screening.
    pub moisture: Option<Given>,
    /// Area on which harvested castings are spread to dry.
    pub drying_area: Option<Given>,
    /// Days in which harvested castings dry with a fan or heat, whatever the weather. Left out: they dry on the area, by the
    /// weather.
    pub drying_days: Option<Given>,
    /// Where the overs go. Left out: to_beds.
    pub overs: Option<Overs>,
    /// Wet mass screened in an hour.
    pub rate: Option<Given>,
    /// Worms above this stocking density are sold at harvest. Left out: all are returned.
    pub stocking_ceiling: Option<Given>,
}

/// Curing, blending and sale.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Castings {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Time in the curing store.
    pub cure_days: Option<Given>,
    /// Share of the cured castings, by mass, sold without blending. Left out: none with a `blend`, all without.
    pub sold_alone: Option<Given>,
    /// Blend with compost. Left out: none.
    pub blend: Option<Blend>,
}

/// Blend of castings with compost.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Blend {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Ingredient blended in. Left out: compost_finished.
    pub with: Option<String>,
    /// Share of castings, by volume.
    pub castings_share: Option<Given>,
}

/// Floor and people.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Floor there is. Left out: not checked.
    pub floor_area: Option<Given>,
    /// Load the floor can bear. Left out: not checked.
    pub floor_load: Option<Given>,
    /// Working hours there are on a working day, over all people. Left out: not checked.
    pub labour_hours: Option<Given>,
}

/// Prices in one currency; what is left out is not counted.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Money {
    /// For readers; not read by the program.
    pub note: Option<String>,
    /// Currency, as printed in reports, such as EUR.
    pub currency: String,
    /// Disposal fee saved or earned on intake.
    pub gate_fee: Option<Given>,
    /// Price of castings sold alone.
    pub castings_price: Option<Given>,
    /// Price of blend sold.
    pub blend_price: Option<Given>,
    /// Price of compost bought for the blend.
    pub compost_price: Option<Given>,
    /// Price of bulking bought; below 0 where taking it is paid for.
    pub bulking_price: Option<Given>,
    /// Price of bran bought, or of carrier and molasses for it.
    pub bran_price: Option<Given>,
    /// Price of worms bought, by live mass.
    pub worm_price: Option<Given>,
    /// Price of worms sold, by live mass.
    pub worm_sale_price: Option<Given>,
    /// Price of electricity; heat to dry castings is counted at it too.
    pub power_price: Option<Given>,
    /// Hour of work with all charges.
    pub wage: Option<Given>,
    /// Price of one drum.
    pub drum_price: Option<Given>,
    /// Price of beds, built, by area.
    pub bed_price: Option<Given>,
    /// Price of the grinder, installed.
    pub grinder_price: Option<Given>,
    /// Price of the screen, installed.
    pub screen_price: Option<Given>,
    /// Building, paving, permits and other capital.
    pub other_capital: Option<Given>,
    /// Rent, insurance and other cost of a year.
    pub other_yearly_cost: Option<Given>,
    /// Yearly interest on capital.
    pub interest: Option<Given>,
    /// Years over which capital is written off.
    pub years: Option<Given>,
}
