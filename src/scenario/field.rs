//! The table of numbers in a scenario: unit, range, default and its basis.
//!
//! One row serves the reading of a value, its range check, the message on a wrong type and the published schema.

use super::own_ingredient;
use crate::quantity::Kind;

/// What stands for a number that is left out of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fallback {
    /// The key must be given.
    Required,
    /// Nothing: the plan holds none, or a rule of its own fills it in.
    Nothing,
    /// This value, in the documented unit.
    Value(f64),
}

/// A number of the scenario file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// Key path, such as `drums.count`; entries of a map as `*`, places in a list left out.
    pub path: &'static str,
    /// What is measured; tells the documented unit and the others that are read.
    pub kind: Kind,
    /// Least allowed value, in the documented unit.
    pub low: f64,
    /// Largest allowed value, in the documented unit.
    pub high: f64,
    /// What stands for a value left out.
    pub fallback: Fallback,
    /// Where the default comes from: a key of the literature tables (and which part of the entry), a key of the sources, or `choice`;
    /// empty without a default. The schema shows it.
    pub basis: &'static str,
}

/// The row of a key path, written as [`Field::path`]; none for what is no number.
pub fn field(pattern: &str) -> Option<&'static Field> {
    FIELDS.iter().find(|f| f.path == pattern)
}

/// Key paths that hold an object, and whether they hold a list of them. The reader refuses a list where an object is wanted.
pub const OBJECTS: &[(&str, bool)] = &[
    ("", false),
    ("climate", false),
    ("climate.bed_room", false),
    ("climate.drum_room", false),
    ("ingredients", false),
    ("ingredients.*", false),
    ("streams", true),
    ("streams.generation", false),
    ("streams.mix", false),
    ("bran", false),
    ("drums", false),
    ("grinder", false),
    ("bulking", false),
    ("beds", true),
    ("beds.bedding", false),
    ("stock", false),
    ("stock.top_up", true),
    ("feeding", false),
    ("harvest", false),
    ("screen", false),
    ("castings", false),
    ("castings.blend", false),
    ("site", false),
    ("money", false),
    ("sizing", false),
    ("sizing.drums", false),
    ("sizing.bed_area", false),
    ("sizing.stock", false),
    ("sizing.grinder_hours", false),
    ("sizing.bran_weekly_capacity", false),
    ("sizing.targets", true),
    ("sizing.cost", false),
    ("rates", false),
    ("rates.*", false),
];

const fn set(
    path: &'static str,
    kind: Kind,
    low: f64,
    high: f64,
    default: f64,
    basis: &'static str,
) -> Field {
    Field { path, kind, low, high, fallback: Fallback::Value(default), basis }
}

const fn need(path: &'static str, kind: Kind, low: f64, high: f64) -> Field {
    Field { path, kind, low, high, fallback: Fallback::Required, basis: "" }
}

const fn may(path: &'static str, kind: Kind, low: f64, high: f64) -> Field {
    Field { path, kind, low, high, fallback: Fallback::Nothing, basis: "" }
}

/// Widest bound of prices. # Units: those of the price # Source: our choice
const MOST_MONEY: f64 = 1e9;

/// Every number of a scenario. Sources: `basis` of each row; ranges are wide bounds of sense, our choice.
pub const FIELDS: &[Field] = &{
    const COUNT: usize = own_ingredient::FIELDS.len() + SECTIONS.len();
    let (mut all, mut i) = ([SECTIONS[0]; COUNT], 0);
    while i < COUNT {
        all[i] = if i < own_ingredient::FIELDS.len() {
            own_ingredient::FIELDS[i]
        } else {
            SECTIONS[i - own_ingredient::FIELDS.len()]
        };
        i += 1;
    }
    all
};

/// The numbers of all sections but `ingredients`.
const SECTIONS: &[Field] = &[
    need("days", Kind::Days, 1.0, 3660.0),
    set("steps_per_day", Kind::Count, 1.0, 96.0, 1.0, "choice"),
    set("climate.mean_temperature", Kind::Temperature, -20.0, 35.0, 11.0, "choice"),
    set("climate.seasonal_swing", Kind::TemperatureDifference, 0.0, 35.0, 8.0, "choice"),
    set("climate.day_to_day", Kind::TemperatureDifference, 0.0, 10.0, 3.0, "choice"),
    set("climate.relative_humidity", Kind::Share, 0.05, 1.0, 0.75, "choice"),
    may("climate.bed_room.heated_to", Kind::Temperature, -10.0, 35.0),
    may("climate.bed_room.cooled_to", Kind::Temperature, 0.0, 45.0),
    set("climate.bed_room.share_of_outdoor_swing", Kind::Share, 0.0, 1.0, 0.6, "choice"),
    set("climate.bed_room.warmer_than_outdoors", Kind::TemperatureDifference, -10.0, 25.0, 0.0, "choice"),
    may("climate.drum_room.heated_to", Kind::Temperature, -10.0, 45.0),
    may("climate.drum_room.cooled_to", Kind::Temperature, 0.0, 45.0),
    set("climate.drum_room.share_of_outdoor_swing", Kind::Share, 0.0, 1.0, 0.6, "choice"),
    set("climate.drum_room.warmer_than_outdoors", Kind::TemperatureDifference, -10.0, 25.0, 0.0, "choice"),
    may("streams.amount", Kind::MassRate, 0.0, 1e6),
    need("streams.generation.count", Kind::Count, 0.0, 1e7),
    need("streams.generation.rate", Kind::MassRate, 0.0, 1000.0),
    set("streams.generation.capture", Kind::Share, 0.0, 1.0, 1.0, "choice"),
    need("streams.mix.*", Kind::Share, 0.0, 1.0),
    need("streams.weekday_factors", Kind::Factor, 0.0, 20.0),
    need("streams.month_factors", Kind::Factor, 0.0, 20.0),
    set("streams.yearly_growth", Kind::Share, -0.5, 1.0, 0.0, "choice"),
    // malefors_2019: the printed spread is 19 % of the mean at canteens, 16 % at restaurants
    set("streams.daily_variation", Kind::Factor, 0.0, 1.5, 0.18, "malefors_2019"),
    set("streams.contamination", Kind::Share, 0.0, 0.5, 0.0, "choice"),
    set("bran.dose", Kind::Ratio, 0.0, 0.3, 0.02, "fermentation.bran_dose"),
    set("bran.starter_days", Kind::Days, 1.0, 60.0, 14.0, "fermentation.starter_ferment_time"),
    set("bran.ferment_days", Kind::Days, 0.0, 90.0, 14.0, "fermentation.starter_ferment_time"),
    set("bran.safety_weeks", Kind::Factor, 0.0, 52.0, 2.0, "choice"),
    may("bran.weekly_capacity", Kind::Mass, 0.0, 1e5),
    may("bran.starting_bran", Kind::Mass, 0.0, 1e6),
    need("drums.count", Kind::Count, 0.0, 20_000.0),
    set("drums.volume", Kind::Volume, 0.005, 5.0, 0.2082, "site.drum_volume_55_gallon"),
    set("drums.fill_share", Kind::Share, 0.05, 1.0, 0.875, "fermentation.drum_fill_fraction, middle"),
    set(
        "drums.settled_density",
        Kind::Density,
        50.0,
        1300.0,
        700.0,
        "fermentation.bulk_density_settled_in_drum",
    ),
    set("drums.minimum_days", Kind::Days, 1.0, 365.0, 14.0, "choice"),
    set("drums.maximum_days", Kind::Days, 1.0, 730.0, 84.0, "fermentation.shelf_life_sealed_stable"),
    set("drums.most_filling_days", Kind::Days, 1.0, 60.0, 3.0, "choice"),
    set("drums.room_volume", Kind::Volume, 1.0, 1e6, 100.0, "choice"),
    may("drums.room_air", Kind::Airflow, 0.0, 1e6),
    set("grinder.rate", Kind::Throughput, 0.0, 1e5, 300.0, "choice"),
    set("grinder.hours", Kind::Hours, 0.0, 24.0, 2.0, "choice"),
    set("grinder.motor", Kind::Power, 0.0, 1000.0, 3.0, "choice"),
    set("grinder.load_factor", Kind::Share, 0.0, 1.0, 0.7, "choice"),
    set("grinder.rinse_water", Kind::Ratio, 0.0, 2.0, 0.02, "choice"),
    set("grinder.hold_up", Kind::Share, 0.0, 0.5, 0.005, "choice"),
    set("bulking.air_filled_porosity", Kind::Share, 0.0, 0.8, 0.25, "bed.air_porosity_response_full"),
    set("bulking.carbon_to_nitrogen", Kind::Factor, 5.0, 200.0, 25.0, "choice"),
    set("bulking.most_per_paste", Kind::Ratio, 0.0, 3.0, 0.3, "choice"),
    set("beds.count", Kind::Count, 0.0, 10_000.0, 1.0, "choice"),
    need("beds.area", Kind::Area, 0.05, 10_000.0),
    set("beds.depth", Kind::Length, 0.05, 3.0, 0.6, "bed.bed_depth_working, high end"),
    may("beds.bedding.depth", Kind::Length, 0.0, 3.0),
    may("beds.bedding.mass", Kind::Mass, 0.0, 1e6),
    may("beds.insulation", Kind::HeatTransfer, 0.05, 50.0),
    may("beds.cover", Kind::Share, 0.0, 1.0),
    need("beds.moisture_band", Kind::Share, 0.3, 0.95),
    need("stock.mass", Kind::Mass, 0.0, 1e6),
    need("stock.top_up.mass", Kind::Mass, 0.0, 1e6),
    set("feeding.ration", Kind::Ration, 0.0, 3.0, 0.25, "site.feed_per_body_weight"),
    set("feeding.largest_layer", Kind::Length, 0.001, 0.5, 0.025, "bed.fed_layer_thickness"),
    set("feeding.fresh_share_limit", Kind::Share, 0.0, 1.0, 0.225, "bed.fresh_layer_largest_share"),
    set("feeding.hottest", Kind::Temperature, 0.0, 60.0, 30.0, "bed.heat_death_onset_temperature"),
    set("feeding.coldest", Kind::Temperature, -20.0, 30.0, 4.0, "bed.feeding_temperature_minimum"),
    may("harvest.every_days", Kind::Days, 1.0, 3660.0),
    may("harvest.depth", Kind::Length, 0.02, 3.0),
    set("harvest.share", Kind::Share, 0.01, 1.0, 0.5, "choice"),
    set("harvest.first_day", Kind::Days, 0.0, 3660.0, 120.0, "choice"),
    set("screen.aperture", Kind::Length, 0.001, 0.05, 0.004, "site.product_share_below_4_mm, the sieve"),
    set("screen.moisture", Kind::Share, 0.1, 0.9, 0.45, "bed.castings_moisture_after_drying"),
    set("screen.drying_area", Kind::Area, 0.0, 1e5, 10.0, "choice"),
    may("screen.drying_days", Kind::Days, 1.0, 365.0),
    // 0.55 m3/h at 650 kg/m3
    set("screen.rate", Kind::Throughput, 0.0, 1e6, 357.5, "site.trommel_throughput_bench"),
    may("screen.stocking_ceiling", Kind::ArealMass, 0.0, 100.0),
    set("castings.cure_days", Kind::Days, 0.0, 730.0, 30.0, "choice"),
    may("castings.sold_alone", Kind::Share, 0.0, 1.0),
    set("castings.blend.castings_share", Kind::Share, 0.01, 1.0, 0.25, "site.blend_castings_share_by_volume"),
    may("site.floor_area", Kind::Area, 1.0, 1e6),
    may("site.floor_load", Kind::Pressure, 0.1, 1000.0),
    may("site.labour_hours", Kind::Factor, 0.0, 10_000.0),
    may("money.gate_fee", Kind::MoneyPerMass, -MOST_MONEY, MOST_MONEY),
    may("money.castings_price", Kind::MoneyPerVolume, 0.0, MOST_MONEY),
    may("money.blend_price", Kind::MoneyPerVolume, 0.0, MOST_MONEY),
    may("money.compost_price", Kind::MoneyPerVolume, 0.0, MOST_MONEY),
    may("money.bulking_price", Kind::MoneyPerMass, -MOST_MONEY, MOST_MONEY),
    may("money.bran_price", Kind::MoneyPerMass, 0.0, MOST_MONEY),
    may("money.worm_price", Kind::MoneyPerMass, 0.0, MOST_MONEY),
    may("money.worm_sale_price", Kind::MoneyPerMass, 0.0, MOST_MONEY),
    may("money.power_price", Kind::MoneyPerEnergy, 0.0, MOST_MONEY),
    may("money.wage", Kind::MoneyPerHour, 0.0, MOST_MONEY),
    may("money.drum_price", Kind::Money, 0.0, MOST_MONEY),
    may("money.bed_price", Kind::MoneyPerArea, 0.0, MOST_MONEY),
    may("money.grinder_price", Kind::Money, 0.0, MOST_MONEY),
    may("money.screen_price", Kind::Money, 0.0, MOST_MONEY),
    may("money.other_capital", Kind::Money, 0.0, MOST_MONEY),
    may("money.other_yearly_cost", Kind::Money, 0.0, MOST_MONEY),
    set("money.interest", Kind::Share, -0.05, 0.5, 0.05, "choice"),
    set("money.years", Kind::Count, 1.0, 60.0, 10.0, "choice"),
    may("sizing.drums.low", Kind::Count, 0.0, 20_000.0),
    may("sizing.drums.high", Kind::Count, 0.0, 20_000.0),
    may("sizing.drums.step", Kind::Count, 1.0, 20_000.0),
    may("sizing.bed_area.low", Kind::Area, 0.05, 1e6),
    may("sizing.bed_area.high", Kind::Area, 0.05, 1e6),
    may("sizing.bed_area.step", Kind::Area, 0.01, 1e6),
    may("sizing.stock.low", Kind::Mass, 0.0, 1e6),
    may("sizing.stock.high", Kind::Mass, 0.0, 1e6),
    may("sizing.stock.step", Kind::Mass, 1e-3, 1e6),
    may("sizing.grinder_hours.low", Kind::Hours, 0.0, 24.0),
    may("sizing.grinder_hours.high", Kind::Hours, 0.0, 24.0),
    may("sizing.grinder_hours.step", Kind::Hours, 0.01, 24.0),
    may("sizing.bran_weekly_capacity.low", Kind::Mass, 0.0, 1e5),
    may("sizing.bran_weekly_capacity.high", Kind::Mass, 0.0, 1e5),
    may("sizing.bran_weekly_capacity.step", Kind::Mass, 1e-3, 1e5),
    may("sizing.targets.at_most", Kind::Factor, -1e9, 1e9),
    may("sizing.targets.at_least", Kind::Factor, -1e9, 1e9),
    set("sizing.targets.chance", Kind::Share, 0.05, 0.999, 0.9, "choice"),
    set("sizing.confidence", Kind::Share, 0.5, 0.999, 0.95, "choice"),
    may("sizing.cost.drum", Kind::Money, 0.0, MOST_MONEY),
    may("sizing.cost.bed", Kind::MoneyPerArea, 0.0, MOST_MONEY),
    may("sizing.cost.worms", Kind::MoneyPerMass, 0.0, MOST_MONEY),
    may("sizing.cost.grinder_hour", Kind::Money, 0.0, MOST_MONEY),
    may("sizing.cost.bran", Kind::Money, 0.0, MOST_MONEY),
];
