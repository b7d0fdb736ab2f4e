//! Drums, grinder, bulking, beds, worms, feeding.

use super::intake::{MixPart, exact_shares, shares_sum_to_one};
use crate::quantity::Kind::{
    Airflow, Area, Count, Days, Density, Factor, HeatTransfer, Hours, Length, Mass, Power, Ratio, Ration,
    Share, Temperature, Throughput, Volume,
};
use crate::scenario::check::Checker;
use crate::scenario::locate::Part;
use crate::scenario::path::KeyPath;
use crate::scenario::rule::{
    date, entries, factors, flag, ingredient, ingredient_or_none, list, may, name, need, needed_entries,
    section, set, weekdays, word,
};
use crate::scenario::section::section;
use crate::scenario::words::{Liquor, Rinse, Scraps, Structure, Vent};
use crate::unit::drum_store::drum_mass;
use jiff::civil::Date;

section! {
    /// Fermenting drums.
    pub struct Drums checked by ready_before_too_old {
        /// Number of drums.
        count: u32 = need(Count, 0.0, 20_000.0),
        /// Volume of each.
        volume: f64 = set(Volume, 0.005, 5.0, 0.2082, "site.drum_volume_55_gallon"),
        /// Share of the volume that is filled.
        fill_share: f64 = set(Share, 0.05, 1.0, 0.875, "fermentation.drum_fill_fraction, middle"),
        /// Density of the settled scraps with their bran in the drum. Weigh one full drum.
        settled_density: f64 = set(Density, 50.0, 1300.0, 700.0, "fermentation.bulk_density_settled_in_drum"),
        /// A drum is not opened before this age, nor before it has fermented enough or spoilt.
        minimum_days: u32 = set(Days, 1.0, 365.0, 14.0, "choice"),
        /// From this age a drum is opened whether it has fermented enough or not; an older one is reported.
        maximum_days: u32 = set(Days, 1.0, 730.0, 84.0, "fermentation.shelf_life_sealed_stable"),
        /// A drum is sealed after so many days of filling, full or not.
        most_filling_days: u32 = set(Days, 1.0, 60.0, 3.0, "choice"),
        /// Whether gas can leave the lid. Left out: valve.
        vent: Vent = word(Vent::Valve),
        /// Oxygen that leaks into a drum in a week, per dry matter in it: 0 tight.
        leak: f64 = set(Ratio, 0.0, 0.02, 0.0, "choice"),
        /// Whether the scraps are ground before they are put into the drums. Left out: false.
        scraps_ground: bool = flag(false),
        /// What becomes of the liquor. Left out: drained.
        liquor: Liquor = word(Liquor::Drained),
        /// Air volume of the drum room.
        room_volume: f64 = set(Volume, 1.0, 1e6, 100.0, "choice"),
        /// Fresh air into the drum room. Left out: half the room volume an hour.
        room_air: Option<f64> = may(Airflow, 0.0, 1e6),
    }
}

fn ready_before_too_old(check: &mut Checker<'_>, path: &KeyPath, drums: &Drums) {
    if drums.maximum_days < drums.minimum_days && drums.maximum_days > 0 {
        let allowed = format!("at least `minimum_days`, {} days", drums.minimum_days);
        let given = check.located.holds(&path.key("maximum_days"));
        let key = if given { "maximum_days" } else { "minimum_days" };
        check.wrong(&path.key(key), "a drum would be too old before it is ready", &allowed, None);
    }
}

impl Drums {
    /// Wet scraps, bran included, that one drum takes, kg.
    pub fn drum_mass(&self) -> f64 {
        drum_mass(self.volume, self.fill_share, self.settled_density)
    }

    /// Fresh air into the drum room, m3/h.
    pub fn room_air(&self) -> f64 {
        self.room_air.unwrap_or(0.5 * self.room_volume)
    }
}

section! {
    /// Grinder that makes paste.
    pub struct Grinder {
        /// Wet mass ground in an hour.
        rate: f64 = set(Throughput, 0.0, 1e5, 300.0, "choice"),
        /// Grinding hours on a working day.
        hours: f64 = set(Hours, 0.0, 24.0, 2.0, "choice"),
        /// Rated power of the motor.
        motor: f64 = set(Power, 0.0, 1000.0, 3.0, "choice"),
        /// Mean share of the rated power drawn.
        load_factor: f64 = set(Share, 0.0, 1.0, 0.7, "choice"),
        /// Days on which it runs. Left out: Monday to Friday.
        weekdays: [bool; 7] = weekdays([true, true, true, true, true, false, false]),
        /// Water for cleaning, per paste.
        rinse_water: f64 = set(Ratio, 0.0, 2.0, 0.02, "choice"),
        /// Where the water for cleaning goes, with the paste it washes out. Left out: beds.
        rinse_to: Rinse = word(Rinse::Beds),
        /// Share of the paste that stays in the machine until the next grinding day.
        hold_up: f64 = set(Share, 0.0, 0.5, 0.005, "choice"),
    }
}

section! {
    /// Dry matter mixed into the paste.
    pub struct Bulking {
        /// Ingredient, or "none". Left out: cardboard_corrugated.
        ingredient: String = ingredient_or_none("cardboard_corrugated"),
        /// Air-filled porosity to reach.
        air_filled_porosity: f64 = set(Share, 0.0, 0.8, 0.25, "bed.air_porosity_response_full"),
        /// Carbon to nitrogen ratio to reach, kg/kg.
        carbon_to_nitrogen: f64 = set(Factor, 5.0, 200.0, 25.0, "choice"),
        /// Most bulking per paste.
        // kitchen scraps of C:N 16 take 0.4 to 0.5 of cardboard to C:N 25; with less, ammonia kills the worms within a year
        most_per_paste: f64 = set(Ratio, 0.0, 3.0, 0.5, "choice"),
        /// Days of bulking kept in store, for the floor and volume it takes; 0 where it arrives as it is used.
        stored_days: u32 = set(Days, 0.0, 730.0, 28.0, "choice"),
    }
}

section! {
    /// Mineral matter mixed into the feed: grit, soil, ground lime or eggshell.
    pub struct Grit checked by shares_of_grit {
        /// Share of each ingredient in the wet mass; the shares sum to 1.
        mix: Vec<MixPart> = needed_entries(),
        // practitioners strew 2 to 4 kg per 100 kg of dry feed
        /// Grit per dry matter of feed, bulking included, both dry.
        per_dry_feed: f64 = set(Ratio, 0.0, 1.0, 0.03, "choice"),
    }
}

fn shares_of_grit(check: &mut Checker<'_>, path: &KeyPath, grit: &Grit) {
    shares_sum_to_one(check, &path.key("mix"), &grit.mix);
}

section! {
    /// A group of equal beds.
    pub struct Beds checked by bedding_and_moisture_fit {
        /// Name of the group; each has its own.
        name: String = name(),
        /// Number of beds in the group.
        count: u32 = set(Count, 0.0, 10_000.0, 1.0, "choice"),
        /// Area of each bed.
        area: f64 = need(Area, 0.05, 10_000.0),
        /// Largest depth of material.
        depth: f64 = set(Length, 0.05, 3.0, 0.6, "bed.bed_depth_working, high end"),
        /// Bedding of each bed on the first day. Left out: the default of each key.
        bedding: Bedding = section(),
        /// Feed filled into each bed on the first day, as in a batch. Left out: none.
        filled_with: Option<Filling> = section(),
        /// Heat transfer from the bed to the room, per bed area. Left out: the literature value.
        insulation: Option<f64> = may(HeatTransfer, 0.05, 50.0),
        /// Surface wetness factor of the cover: 0 tight, about 0.2 under a lid, board or carpet, 0.5 open, 1 open and wet. Left out:
        /// the literature value.
        cover: Option<f64> = may(Share, 0.0, 1.0),
        /// Moisture kept by the operator where worms live: watered below the first, up to the middle of the two. Left out: 0.75 and
        /// 0.82.
        // edwards_2004: worms live fully between 70 and 85 % water; in the drier half the salt of kitchen scraps harms them
        moisture_band: [f64; 2] = factors(Share, 0.3, 0.95,
            "the drier and the wetter moisture, such as [0.75, 0.82]", [0.75, 0.82]),
        /// Share of each watering that runs through the bed and drains, which takes salt along.
        // salt would gather for ever in a bed that never drains; irrigation practice leaches 10 to 30 %
        leaching: f64 = set(Share, 0.0, 0.8, 0.2, "choice"),
    }
}

section! {
    /// Bedding of a bed on the first day.
    pub struct Bedding {
        /// Ingredient. Give this or `mix`. Both left out: coconut_coir.
        ingredient: String = ingredient("coconut_coir"),
        /// Share of each ingredient in the wet mass, where bedding is of several; the shares sum to 1. Give this or `ingredient`.
        mix: Vec<MixPart> = entries(),
        /// Depth in the bed. Give this or `mass`. Both left out: 0.15 m, or half of the depth of the bed where that is less;
        /// a filled bed has none.
        depth: Option<f64> = may(Length, 0.0, 3.0),
        /// Wet mass in each bed, as the ingredient arrives. Give this or `depth`.
        mass: Option<f64> = may(Mass, 0.0, 1e6),
    }
}

section! {
    /// Feed filled into each bed on the first day, which worms eat from then on; bacteria air it as they do ready feed. A filled bed has no
    /// bedding unless `bedding` says so, and is watered without worms too.
    pub struct Filling checked by shares_and_amount {
        /// Share of each ingredient in the wet mass, as the ingredients arrive; the shares sum to 1.
        mix: Vec<MixPart> = needed_entries(),
        /// Wet mass in each bed, with the water of `moisture`. Give this, `depth`, or both where the bulk density is known.
        mass: Option<f64> = may(Mass, 0.001, 1e6),
        /// Depth in the bed. Give this, `mass`, or both.
        depth: Option<f64> = may(Length, 0.001, 3.0),
        /// Moisture as filled: water is added or dried off. Left out: as the ingredients arrive.
        moisture: Option<f64> = may(Share, 0.2, 0.95),
        /// Carbon to nitrogen ratio as filled, kg/kg, reached by adding `carbon_from`. Left out: as the ingredients have it.
        carbon_to_nitrogen: Option<f64> = may(Factor, 5.0, 200.0),
        /// Ingredient added for `carbon_to_nitrogen`; it is part of the mass. Left out: cardboard_corrugated.
        carbon_from: String = ingredient("cardboard_corrugated"),
    }
}

fn shares_and_amount(check: &mut Checker<'_>, path: &KeyPath, filling: &Filling) {
    shares_sum_to_one(check, &path.key("mix"), &filling.mix);
    let given = |key: &str| check.located.holds(&path.key(key));
    if !given("mass") && !given("depth") {
        let fault = check.at(path, Part::Value, "has no amount");
        check.faults.push(fault.allowed("`mass`, `depth` or both").nothing_given());
    }
    if given("carbon_from") && !given("carbon_to_nitrogen") {
        let hint = Some("add `carbon_to_nitrogen`, or put the ingredient into `mix`".to_owned());
        let problem = "no carbon to nitrogen ratio is asked for";
        check.wrong(&path.key("carbon_from"), problem, "nothing without `carbon_to_nitrogen`", hint);
    }
}

impl Filling {
    /// Its ingredients with shares of the wet mass that sum to 1 exactly.
    pub fn parts(&self) -> impl Iterator<Item = (&str, f64)> {
        exact_shares(&self.mix)
    }

    /// Names of all its ingredients.
    pub fn ingredients(&self) -> impl Iterator<Item = &str> {
        let added = self.carbon_to_nitrogen.map(|_| self.carbon_from.as_str());
        self.mix.iter().map(|part| part.ingredient.as_str()).chain(added)
    }
}

fn bedding_and_moisture_fit(check: &mut Checker<'_>, path: &KeyPath, beds: &Beds) {
    let inner = path.key("bedding");
    if check.located.holds(&inner.key("mix")) {
        shares_sum_to_one(check, &inner.key("mix"), &beds.bedding.mix);
        if check.located.holds(&inner.key("ingredient")) {
            let fault = check.at(&inner, Part::Value, "has both ingredient and mix");
            check.faults.push(fault.allowed("either `ingredient` or `mix`").nothing_given());
        }
    }
    if beds.bedding.depth.is_some() && beds.bedding.mass.is_some() {
        let fault = check.at(&inner, Part::Value, "has both depth and mass");
        check.faults.push(fault.allowed("either `depth` or `mass`").nothing_given());
    }
    if let Some(too_deep) = beds.bedding.depth.filter(|&d| d > beds.depth) {
        let allowed = format!("at most the depth of the bed, {} m", beds.depth);
        check.wrong(&inner.key("depth"), &format!("{too_deep} m does not fit the bed"), &allowed, None);
    }
    if beds.moisture_band[0] > beds.moisture_band[1] {
        let at = path.key("moisture_band");
        check.wrong(&at, "the first moisture is the wetter one", "the drier moisture first", None);
    }
}

impl Bedding {
    /// Its ingredients with shares of the wet mass that sum to 1 exactly.
    pub fn parts(&self) -> Vec<(&str, f64)> {
        if self.mix.is_empty() { vec![(&self.ingredient, 1.0)] } else { exact_shares(&self.mix).collect() }
    }
}

/// How much bedding each bed holds on the first day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BeddingAmount {
    /// Depth, m.
    Depth(f64),
    /// Wet mass in each bed, kg.
    Mass(f64),
}

impl Grit {
    /// Its ingredients with shares of the wet mass that sum to 1 exactly.
    pub fn parts(&self) -> impl Iterator<Item = (&str, f64)> {
        exact_shares(&self.mix)
    }
}

impl Beds {
    /// How much bedding each bed holds on the first day.
    pub fn bedding_amount(&self) -> BeddingAmount {
        // trade practice: beds start with 15 to 20 cm of bedding; a shallow bed takes half its depth
        let usual = || match self.filled_with {
            Some(_) => BeddingAmount::Mass(0.0),
            None => BeddingAmount::Depth(0.15_f64.min(self.depth / 2.0)),
        };
        let given = self.bedding.mass.map(BeddingAmount::Mass);
        given.or(self.bedding.depth.map(BeddingAmount::Depth)).unwrap_or_else(usual)
    }
}

section! {
    /// Worms.
    pub struct Stock {
        /// Live worms bought at first, over all beds by area.
        mass: f64 = need(Mass, 0.0, 1e6),
        /// Ages of the worms. Left out: mixed.
        structure: Structure = word(Structure::Mixed),
        /// Day they arrive, within the run. Left out: the first day.
        arrives: Option<Date> = date(),
        /// Later purchases of worms. Left out: none.
        top_up: Vec<TopUp> = list(),
    }
}

section! {
    /// A later purchase of worms.
    pub struct TopUp {
        /// Day of arrival, within the run.
        date: Date = date(),
        /// Live worms bought then, over all beds by area.
        mass: f64 = need(Mass, 0.0, 1e6),
    }
}

/// A purchase of worms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Purchase {
    /// Day of the run, from 0.
    pub day: u32,
    /// Live mass, kg.
    pub mass: f64,
}

section! {
    /// When and how much the beds are fed.
    pub struct Feeding checked by some_bed_can_be_fed {
        /// How scraps reach the beds. Left out: fermented.
        scraps: Scraps = word(Scraps::Fermented),
        /// Most fresh scraps that wait for the next feeding; what comes beyond is turned away. Only where scraps are not fermented. Left
        /// out: what arrives on four open days.
        most_waiting: Option<f64> = may(Mass, 0.0, 1e7),
        /// Most wet paste per live worms and day, over all days of the week; bulking and grit come on top.
        ration: f64 = set(Ration, 0.0, 3.0, 0.25, "site.feed_per_body_weight"),
        /// Feeding days. Left out: Monday, Wednesday, Friday.
        weekdays: [bool; 7] = weekdays([true, false, true, false, true, false, false]),
        /// Thickest layer of feed laid at one feeding.
        largest_layer: f64 = set(Length, 0.001, 0.5, 0.025, "bed.fed_layer_thickness"),
        /// A bed is fed until fresh paste is this share of its wet mass, and no further.
        fresh_share_limit: f64 = set(Share, 0.0, 1.0, 0.225, "bed.fresh_layer_largest_share"),
        /// No feeding of a bed warmer than this.
        hottest: f64 = set(Temperature, 0.0, 60.0, 30.0, "bed.heat_death_onset_temperature"),
        /// No feeding of a bed colder than this.
        coldest: f64 = set(Temperature, -20.0, 30.0, 4.0, "bed.feeding_temperature_minimum"),
    }
}

fn some_bed_can_be_fed(check: &mut Checker<'_>, path: &KeyPath, feeding: &Feeding) {
    if feeding.hottest <= feeding.coldest {
        let given = check.located.holds(&path.key("hottest"));
        let key = if given { "hottest" } else { "coldest" };
        check.wrong(&path.key(key), "no bed could ever be fed", "`coldest` below `hottest`", None);
    }
    if feeding.most_waiting.is_some() && feeding.scraps == Scraps::Fermented {
        let hint = "write \"scraps\": \"ground\" or \"whole\" for a site without drums".to_owned();
        let allowed = "nothing where scraps are fermented: they wait in drums";
        check.wrong(&path.key("most_waiting"), "no fresh scraps wait", allowed, Some(hint));
    }
}
