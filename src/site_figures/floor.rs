//! Floor area and floor load, and the published rules for bed area.

use crate::chain::Site;
use crate::literature;
use crate::matter::ratio;
use crate::quantity::whole;
use crate::scenario::Plan;
use crate::scenario::plan::DryingRule;
use crate::trace::{DayRecord, Trace};
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

/// Standard gravity. # Units: m/s2 # Source: by definition.
const GRAVITY: f64 = 9.806_65;

/// The use of floor of the drum room.
pub(super) const DRUMS: &str = "drums on pallets";
/// The use of floor of bulking in store.
pub(super) const BULKING: &str = "bulking";
/// The use of floor that holds no matter.
pub(super) const MACHINES: &str = "grinder and screen";

/// Figures of pallets, drums and aisles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FloorRates {
    /// Area of a square pallet. # Units: m2
    pub pallet: f64,
    /// Mass of a pallet. # Units: kg
    pub pallet_tare: f64,
    /// Volume of the drum the next two are for. # Units: m3
    pub drum_volume: f64,
    /// Diameter of that drum. # Units: m
    pub drum_diameter: f64,
    /// Empty mass of that drum. # Units: kg
    pub drum_tare: f64,
    /// Share of the floor of pallets and stored goods that is under them; the rest is aisles.
    pub floor_share: f64,
    /// Share of the floor of beds that is under them.
    pub bed_share: f64,
    /// Whole site over bed area at a published site, to compare. # Units: m2/m2
    pub site_over_bed: f64,
    /// Floor of one machine with room to work. # Units: m2
    pub machine: f64,
    /// Castings on a floor where they are dried with a fan or heat. # Units: kg wet/m2
    pub forced_layer: f64,
    /// Height of stored castings. # Units: m
    pub store_height: f64,
    /// Height of stored bulking. # Units: m
    pub bulking_height: f64,
}

impl FloorRates {
    /// Reads the rates by key. # Source: `site`, own_site.json
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            pallet: get("site.pallet_area_48_by_48"),
            pallet_tare: get("site.pallet_tare"),
            drum_volume: get("site.drum_volume_55_gallon"),
            drum_diameter: get("site.drum_diameter"),
            drum_tare: get("site.drum_tare"),
            floor_share: get("site.floor_use_share"),
            bed_share: get("site.bed_floor_share"),
            site_over_bed: get("site.site_area_over_bed_area"),
            machine: get("site.machine_floor"),
            forced_layer: get("site.forced_drying_layer"),
            store_height: get("site.store_height"),
            bulking_height: get("site.bulking_store_height"),
        }
    }

    /// Drums of a volume that stand on a pallet without overhang, at least one: the square of how many diameters fit a side.
    ///
    /// # Units
    /// m3 to 1
    ///
    /// # Source
    /// Four 55-gallon drums on 48 x 48 in (trade_practice); other drums are taken as alike in shape.
    pub fn drums_per_pallet(&self, volume: f64) -> f64 {
        if volume <= 0.0 {
            return 1.0;
        }
        let diameter = self.drum_diameter * (volume / self.drum_volume).cbrt();
        (self.pallet.sqrt() / diameter).floor().max(1.0).powi(2)
    }

    /// Mass of an empty drum of a volume: as its surface, tare x (volume / known volume)^(2/3). # Units: m3 to kg
    pub fn drum_tare(&self, volume: f64) -> f64 {
        self.drum_tare * self.surface_factor(volume)
    }

    /// Surface of a drum of a volume over that of the known one, alike in shape: (volume / known volume)^(2/3). # Units: m3 to 1
    pub fn surface_factor(&self, volume: f64) -> f64 {
        (volume / self.drum_volume).max(0.0).cbrt().powi(2)
    }
}

/// What must find room.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Needs {
    /// Number of drums.
    pub drums: f64,
    /// Volume of each. # Units: m3
    pub drum_volume: f64,
    /// What a full one holds. # Units: kg
    pub drum_contents: f64,
    /// Area of all beds. # Units: m2
    pub bed_area: f64,
    /// Heaviest bed of the run, frame left out. # Units: kg/m2
    pub heaviest_bed: f64,
    /// Floor for natural drying, as the plan gives it. # Units: m2
    pub drying_floor: f64,
    /// Most castings drying at once with a fan or heat. # Units: kg wet
    pub drying_castings: f64,
    /// Most castings curing at once. # Units: m3
    pub curing: f64,
    /// Most bulking in store. # Units: m3
    pub bulking: f64,
    /// Number of machines: grinder and screen, where they run.
    pub machines: f64,
    /// Floor the plan has; none where it does not say. # Units: m2
    pub have: Option<f64>,
    /// Load it can bear; none where the plan does not say. # Units: kPa
    pub load_limit: Option<f64>,
}

/// One use of the floor.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct FloorUse {
    /// What stands there, in words.
    pub name: &'static str,
    /// Area that is under it. # Units: m2
    pub net: f64,
    /// Area with its aisles: net / share. # Units: m2
    pub gross: f64,
    /// What the area rests on.
    #[schemars(with = "String")]
    pub basis: FloorBasis,
}

/// What an area of floor rests on: keys of the literature or of the plan for files, words for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FloorBasis {
    /// Keys, separated by commas.
    pub keys: &'static str,
    /// The same in words.
    pub words: &'static str,
}

impl Serialize for FloorBasis {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.keys)
    }
}

/// Bases of the uses of floor.
mod basis {
    use super::FloorBasis;

    pub(super) const PALLETS: FloorBasis = FloorBasis {
        keys: "site.pallet_area_48_by_48, site.floor_use_share",
        words: "pallets of 48 x 48 in with aisles",
    };
    pub(super) const BEDS: FloorBasis =
        FloorBasis { keys: "site.bed_floor_share", words: "beds with aisles" };
    pub(super) const DRYING_LAYER: FloorBasis = FloorBasis {
        keys: "site.forced_drying_layer, site.floor_use_share",
        words: "layer of castings dried with a fan or heat",
    };
    pub(super) const DRYING_FLOOR: FloorBasis =
        FloorBasis { keys: "screen.drying_area", words: "drying floor of the plan" };
    pub(super) const STORE: FloorBasis =
        FloorBasis { keys: "site.store_height, site.floor_use_share", words: "height of stored castings" };
    pub(super) const BULKING: FloorBasis = FloorBasis {
        keys: "bulking.stored_days, site.bulking_store_height, site.floor_use_share",
        words: "loose bulking of the days kept in store",
    };
    pub(super) const MACHINE: FloorBasis =
        FloorBasis { keys: "site.machine_floor", words: "a machine with room to work" };
}

/// Floor of the site. Bran, compost, finished product, offices and yard are not counted.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FloorFigures {
    /// Uses of the floor, in the order of the chain.
    pub uses: Vec<FloorUse>,
    /// Floor needed: the sum of the areas with their aisles. # Units: m2
    pub total: f64,
    /// Floor the plan has; none where it does not say. # Units: m2
    pub have: Option<f64>,
    /// Bed area times whole site over bed area of a published site, to compare. # Units: m2
    pub published_site: f64,
    /// Most bulking in store. # Units: m3
    pub bulking: f64,
    /// Number of pallets of drums, in one layer.
    pub pallets: f64,
    /// Drums on each pallet.
    pub drums_per_pallet: f64,
    /// Mass of a pallet of full drums. # Units: kg
    pub pallet_mass: f64,
    /// Its load on the floor. # Units: kPa
    pub pallet_load: f64,
    /// Load of the heaviest bed on the floor, frame left out. # Units: kPa
    pub bed_load: f64,
    /// Load the floor can bear; none where the plan does not say. # Units: kPa
    pub load_limit: Option<f64>,
}

impl FloorFigures {
    /// The greater of the two loads. # Units: kPa
    pub fn heaviest(&self) -> f64 {
        self.pallet_load.max(self.bed_load)
    }
}

/// Load of a mass on an area: mass x gravity / area. # Units: kg, m2 to kPa
pub fn load(mass: f64, area: f64) -> f64 {
    ratio(mass * GRAVITY / 1000.0, area)
}

/// Floor of what must find room.
///
/// Each net area over its net share; drums stand in one layer.
///
/// # Units
/// As the fields say.
///
/// # Source
/// Loads add; asce_7 for what a floor may carry.
pub fn floor(needs: &Needs, rates: &FloorRates) -> FloorFigures {
    let per_pallet = rates.drums_per_pallet(needs.drum_volume);
    let pallets = (needs.drums / per_pallet).ceil();
    let share_of = |name, net: f64, share: f64, basis| FloorUse { name, net, gross: net / share, basis };
    let drying = if needs.drying_castings > 0.0 {
        let net = needs.drying_castings / rates.forced_layer;
        share_of("drying", net, rates.floor_share, basis::DRYING_LAYER)
    } else {
        share_of("drying", needs.drying_floor, 1.0, basis::DRYING_FLOOR)
    };
    let store = needs.curing / rates.store_height;
    let machines = needs.machines * rates.machine;
    let uses = vec![
        share_of(DRUMS, pallets * rates.pallet, rates.floor_share, basis::PALLETS),
        share_of("beds", needs.bed_area, rates.bed_share, basis::BEDS),
        drying,
        share_of("curing castings", store, rates.floor_share, basis::STORE),
        share_of(BULKING, needs.bulking / rates.bulking_height, rates.floor_share, basis::BULKING),
        share_of(MACHINES, machines, 1.0, basis::MACHINE),
    ];
    let on_one = per_pallet.min(needs.drums);
    let pallet_mass = if needs.drums > 0.0 {
        on_one * (needs.drum_contents + rates.drum_tare(needs.drum_volume)) + rates.pallet_tare
    } else {
        0.0
    };
    FloorFigures {
        total: uses.iter().map(|u| u.gross).sum(),
        uses,
        have: needs.have,
        published_site: needs.bed_area * rates.site_over_bed,
        bulking: needs.bulking,
        pallets,
        drums_per_pallet: per_pallet,
        pallet_mass,
        pallet_load: load(pallet_mass, rates.pallet),
        bed_load: load(needs.heaviest_bed, 1.0),
        load_limit: needs.load_limit,
    }
}

/// Largest sum of a daily figure over so many days in a row.
pub(super) fn largest_sum(daily: &[DayRecord], days: usize, of: impl Fn(&DayRecord) -> f64) -> f64 {
    let days = days.max(1);
    let (mut sum, mut largest) = (0.0, 0.0_f64);
    for (n, day) in daily.iter().enumerate() {
        sum += of(day);
        if n >= days {
            sum -= of(&daily[n - days]);
        }
        largest = largest.max(sum);
    }
    largest
}

/// Whole days that cover a time; a plan's times are at most a few years.
fn whole_days(time: f64) -> usize {
    whole(time.ceil()).min(4000) as usize
}

/// Volume of the most bulking that as many days in a row use as are kept in store, loose. # Units: m3
fn bulking_store(plan: &Plan, site: &Site, daily: &[DayRecord]) -> f64 {
    let (Some(bulking), Some(recipe)) = (&plan.bulking, &site.bulking) else { return 0.0 };
    let days = bulking.stored_days;
    if days == 0 {
        return 0.0;
    }
    ratio(largest_sum(daily, days as usize, |d| d.bulking), recipe.part.bulk_density)
}

/// Reads off plan and run what must find room; without a run nothing dries, cures or weighs on the beds yet.
pub(super) fn needs(plan: &Plan, site: &Site, trace: Option<&Trace>, get: &dyn Fn(&str) -> f64) -> Needs {
    let daily: &[DayRecord] = trace.map_or(&[], |t| &t.daily);
    let heaviest_bed = trace
        .iter()
        .flat_map(|t| &t.beds)
        .filter_map(|b| Some((b.fresh + b.ready + b.castings) / site.beds.get(b.bed - 1)?.setup.area))
        .fold(0.0, f64::max);
    let drying = plan.screen.dried_within().map(whole_days);
    let drying_floor = match plan.screen.drying() {
        DryingRule::Floor(area) => area,
        DryingRule::Days(_) => 0.0,
    };
    let curing = largest_sum(daily, plan.castings.cure_days as usize, |d| d.screened);
    Needs {
        drums: f64::from(plan.drums.count),
        drum_volume: plan.drums.volume,
        drum_contents: site.drums.drum_mass(),
        bed_area: plan.bed_area(),
        heaviest_bed,
        drying_floor,
        drying_castings: drying.map_or(0.0, |days| largest_sum(daily, days, |d| d.harvested)),
        curing: curing / get("bed.castings_bulk_density_wet"),
        bulking: bulking_store(plan, site, daily),
        machines: [plan.grinder.rate, plan.screen.rate].iter().filter(|rate| **rate > 0.0).count() as f64,
        have: plan.site.floor_area,
        load_limit: plan.site.floor_load,
    }
}

/// A published bed load with ours beside it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct AreaRule {
    /// Whose rule it is, in words.
    pub name: &'static str,
    /// Literature key of the rule.
    pub key: &'static str,
    /// Fresh scraps per bed area, least and most. # Units: kg/(m2 d)
    pub published: (f64, f64),
    /// Bed area it asks for our intake, least and most: intake / most and least load. # Units: m2
    pub area: (f64, f64),
    /// Load of ours: mean intake / bed area. # Units: kg/(m2 d)
    pub ours: f64,
    /// Our load compared with the rule.
    pub verdict: LoadVerdict,
}

/// A bed load compared with a published one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum LoadVerdict {
    /// Within the published range, or about the one published number.
    Agrees,
    /// Lower: more area than the rule requires.
    Below,
    /// Higher: less area than the rule requires.
    Above,
}

impl LoadVerdict {
    /// In words, as in files.
    pub const fn text(self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::Below => "below",
            Self::Above => "above",
        }
    }
}

/// Ours agrees with a rule of one number within this share; a range is taken as printed. # Source: our choice
const RULE_ROUNDING: f64 = 0.05;

/// Rules and reported sites of the `site` table, passive beds first.
const RULES: [(&str, &str); 10] = [
    ("passive beds, rule of this project", "site.bed_load_passive"),
    ("home rule, 1 lb/week per ft2", "site.bed_load_home_rule"),
    ("institutional site B, by month", "site.bed_load_site_b"),
    ("institutional site B, by bed", "site.bed_load_site_b_by_bed"),
    ("institutional site B, promised", "site.bed_load_site_b_promised"),
    ("institutional site C", "site.bed_load_site_c"),
    ("bulk bin fed weekly", "site.bed_load_bulk_bin"),
    ("bulked or climate-controlled beds", "site.bed_load_conditioned"),
    ("outdoor windrows, manure", "site.bed_load_windrow"),
    ("flow-through trough, an outlier", "site.bed_load_trough"),
];

/// Bed area for an intake at a load: intake / load, 0 without a load. # Units: kg/d, kg/(m2 d) to m2
pub fn area_for(intake: f64, load: f64) -> f64 {
    ratio(intake, load)
}

/// The published rules with ours; nothing without beds.
///
/// # Units
/// kg/d, m2
///
/// # Panics
/// When the tables lack a rule (a fault of ours).
pub fn area_rules(intake: f64, bed_area: f64) -> Vec<AreaRule> {
    if bed_area <= 0.0 {
        return Vec::new();
    }
    let ours = intake / bed_area;
    RULES
        .into_iter()
        .map(|(name, key)| {
            let value = literature::entry(key).expect("every rule stands in the tables").value;
            let (low, high) = (value.low(), value.high());
            let rounding = if high > low { 0.0 } else { RULE_ROUNDING };
            let verdict = if ours < low * (1.0 - rounding) {
                LoadVerdict::Below
            } else if ours > high * (1.0 + rounding) {
                LoadVerdict::Above
            } else {
                LoadVerdict::Agrees
            };
            let area = (area_for(intake, high), area_for(intake, low));
            AreaRule { name, key, published: (low, high), area, ours, verdict }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    /// Central values of site.json and own_site.json.
    fn rates() -> FloorRates {
        FloorRates {
            pallet: 1.486,
            pallet_tare: 25.0,
            drum_volume: 0.2082,
            drum_diameter: 0.59,
            drum_tare: 20.0,
            floor_share: 0.4,
            bed_share: 0.45,
            site_over_bed: 3.47,
            machine: 12.0,
            forced_layer: 100.0,
            store_height: 1.0,
            bulking_height: 2.0,
        }
    }

    #[test]
    fn pallets_take_what_fits() {
        // 0.59 m drums: two to a side of 1.219 m (trade_practice); 1 m3 containers stand alone; 60 L drums three to a side.
        let r = rates();
        assert!((r.drums_per_pallet(0.2082) - 4.0).abs() < 1e-12);
        assert!((r.drums_per_pallet(1.0) - 1.0).abs() < 1e-12);
        assert!((r.drums_per_pallet(0.06) - 9.0).abs() < 1e-12);
        assert!((r.drum_tare(0.2082) - 20.0).abs() < 1e-12);
    }

    #[test]
    fn a_site_without_drums_loads_no_pallet() {
        let f = floor(&Needs { bed_area: 45.0, heaviest_bed: 400.0, ..Needs::default() }, &rates());
        assert!((f.total - 100.0).abs() < 1e-9);
        assert!(f.pallet_load.abs() < 1e-12 && f.pallets.abs() < 1e-12);
        assert!((f.heaviest() - 3.92266).abs() < 1e-5);
    }

    #[test]
    fn the_largest_sum_slides() {
        let day = |harvested| DayRecord { harvested, ..DayRecord::new(date(2031, 1, 1)) };
        let daily = [1.0, 5.0, 4.0, 0.0, 8.0].map(day);
        assert!((largest_sum(&daily, 2, |d| d.harvested) - 9.0).abs() < 1e-12);
        assert!((largest_sum(&daily, 100, |d| d.harvested) - 18.0).abs() < 1e-12);
        assert_eq!((whole_days(0.0), whole_days(9.2), whole_days(14.0)), (0, 10, 14));
    }
}
