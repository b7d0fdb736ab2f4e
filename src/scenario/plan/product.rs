//! Harvest, screening, castings, floor and people, prices.

use crate::quantity::Kind::{
    Area, ArealMass, CarbonPerEnergy, Count, Days, Factor, Length, Money as Sum, MoneyPerArea,
    MoneyPerEnergy, MoneyPerHour, MoneyPerMass, MoneyPerVolume, Pressure, Share, Throughput, Volume,
};
use crate::scenario::check::Checker;
use crate::scenario::locate::Part;
use crate::scenario::path::KeyPath;
use crate::scenario::rule::{flag, ingredient, may, may_word, name, section, set, word};
use crate::scenario::section::section;
use crate::scenario::words::{DrainsTo, DriedBy, Method, Overs, Word};

section! {
    /// When castings are taken.
    pub struct Harvest checked by one_rule {
        /// Each bed after so many days. Give this or `depth`. Both left out: 90 days.
        every_days: Option<u32> = may(Days, 1.0, 3660.0),
        /// Each bed when its material is this deep, at most once in 14 days. Give this or `every_days`.
        depth: Option<f64> = may(Length, 0.02, 3.0),
        /// Share of the castings layer taken.
        share: f64 = set(Share, 0.01, 1.0, 0.5, "choice"),
        /// No harvest before this day, counted from 0 on the first day of a new site.
        first_day: u32 = set(Days, 0.0, 3660.0, 120.0, "choice"),
        /// Whether castings are never taken, as in a batch that is weighed at its end. Left out: false.
        never: bool = flag(false),
    }
}

fn one_rule(check: &mut Checker<'_>, path: &KeyPath, harvest: &Harvest) {
    if harvest.every_days.is_some() && harvest.depth.is_some() {
        let fault = check.at(path, Part::Value, "has both every_days and depth");
        check.faults.push(fault.allowed("either `every_days` or `depth`").nothing_given());
    }
    if harvest.never && (harvest.every_days.is_some() || harvest.depth.is_some()) {
        let hint = Some("leave `never` out, or leave out `every_days` and `depth`".to_owned());
        check.wrong(
            &path.key("never"),
            "a time of harvest is given too",
            "false with `every_days` or `depth`",
            hint,
        );
    }
}

/// When castings are taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HarvestRule {
    /// Each bed after so many days.
    EveryDays(u32),
    /// Each bed when its material is this deep, m.
    Depth(f64),
    /// Never.
    Never,
}

impl Harvest {
    /// When castings are taken.
    pub fn rule(&self) -> HarvestRule {
        if self.never {
            return HarvestRule::Never;
        }
        // a season if nothing is said
        let days = HarvestRule::EveryDays(self.every_days.unwrap_or(90));
        self.depth.map_or(days, HarvestRule::Depth)
    }
}

section! {
    /// Drying and screening of castings.
    pub struct Screen checked by what_dries_fits {
        /// How worms and castings are separated. Left out: trommel.
        method: Method = word(Method::Trommel),
        /// Opening of the screen.
        aperture: f64 = set(Length, 0.001, 0.05, 0.004, "site.product_share_below_4_mm, the sieve"),
        /// Castings are dried to this moisture before screening.
        moisture: f64 = set(Share, 0.1, 0.9, 0.45, "bed.castings_moisture_after_drying"),
        /// Area on which harvested castings are spread to dry by the weather. Left out: they dry with a fan or heat.
        drying_area: Option<f64> = may(Area, 0.0, 1e5),
        /// Days in which harvested castings dry with a fan or heat, whatever the weather. Left out: they dry on `drying_area`; 14
        /// days if that is left out too.
        drying_days: Option<f64> = may(Days, 1.0, 365.0),
        /// What dries them, for the energy it takes: air or fan on a `drying_area`; fan, heat_pump or heat within `drying_days`.
        /// Left out: air on a floor, else heat.
        dried_by: Option<DriedBy> = may_word::<DriedBy>(),
        /// Where the oversize of the screen goes. Left out: to_beds.
        overs: Overs = word(Overs::ToBeds),
        /// Wet mass screened in an hour.
        // 0.55 m3/h at 650 kg/m3
        rate: f64 = set(Throughput, 0.0, 1e6, 357.5, "site.trommel_throughput_bench"),
        /// Worms above this stocking density are sold at harvest. Left out: all are returned.
        stocking_ceiling: Option<f64> = may(ArealMass, 0.0, 100.0),
    }
}

fn what_dries_fits(check: &mut Checker<'_>, path: &KeyPath, screen: &Screen) {
    let Some(by) = screen.dried_by else { return };
    let (fits, problem, allowed): (bool, _, _) = match screen.drying() {
        DryingRule::Floor(_) => (
            matches!(by, DriedBy::Air | DriedBy::Fan),
            "does not dry castings spread on a floor",
            "air or fan",
        ),
        DryingRule::Days(_) => {
            (by != DriedBy::Air, "dries castings on a floor alone", "fan, heat_pump or heat")
        }
    };
    if !fits {
        let hint =
            "`drying_area` is a floor, `drying_days` a time with a fan or heat; give the one that is meant";
        let problem = format!("{} {problem}", by.name());
        check.wrong(&path.key("dried_by"), &problem, allowed, Some(hint.to_owned()));
    }
}

/// Days in which castings dry with a fan or heat if nothing is said. # Units: d # Source: our choice, the slow end of a good floor (3
/// to 14 days). A floor of any one size would not suit small and large sites alike, and castings that never dry never leave.
const USUAL_DRYING_DAYS: f64 = 14.0;

/// How castings are dried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DryingRule {
    /// Spread on so much floor, by the weather, m2.
    Floor(f64),
    /// With a fan or heat in so many days, whatever the weather.
    Days(f64),
}

impl Screen {
    /// How castings are dried; days go before a floor.
    pub fn drying(&self) -> DryingRule {
        match (self.drying_days, self.drying_area) {
            (Some(days), _) => DryingRule::Days(days),
            (None, Some(area)) => DryingRule::Floor(area),
            (None, None) => DryingRule::Days(USUAL_DRYING_DAYS),
        }
    }

    /// What dries castings.
    pub fn dried_by(&self) -> DriedBy {
        self.dried_by.unwrap_or(match self.drying() {
            DryingRule::Floor(_) => DriedBy::Air,
            DryingRule::Days(_) => DriedBy::Heat,
        })
    }

    /// Days in which castings dry with a fan or heat. None if they dry on a floor, by the weather.
    pub fn dried_within(&self) -> Option<f64> {
        match self.drying() {
            DryingRule::Days(days) => Some(days),
            DryingRule::Floor(_) => None,
        }
    }
}

section! {
    /// Curing, blending and sale.
    pub struct Castings checked by all_is_sold {
        /// Time in the curing store.
        cure_days: u32 = set(Days, 0.0, 730.0, 30.0, "choice"),
        /// Share of the cured castings, by mass, sold without blending. Left out: none with a `blend`, all without.
        sold_alone: Option<f64> = may(Share, 0.0, 1.0),
        /// Blend with compost. Left out: none.
        blend: Option<Blend> = section(),
    }
}

fn all_is_sold(check: &mut Checker<'_>, path: &KeyPath, castings: &Castings) {
    if castings.blend.is_none() && castings.sold_alone.is_some_and(|s| s < 1.0) {
        let hint = Some("add \"blend\": {} or leave `sold_alone` out".to_owned());
        check.wrong(&path.key("sold_alone"), "the rest has nowhere to go", "1 without a `blend`", hint);
    }
}

impl Castings {
    /// Share of the cured castings, by mass, sold without blending.
    pub fn sold_alone(&self) -> f64 {
        self.sold_alone.unwrap_or(if self.blend.is_some() { 0.0 } else { 1.0 })
    }
}

section! {
    /// Blend of castings with compost.
    pub struct Blend {
        /// Ingredient blended in. Left out: compost_finished.
        with: String = ingredient("compost_finished"),
        /// Share of castings, by volume.
        castings_share: f64 = set(Share, 0.01, 1.0, 0.25, "site.blend_castings_share_by_volume"),
    }
}

section! {
    /// Floor, drain, power and people.
    pub struct Premises {
        /// Floor available. Left out: not checked.
        floor_area: Option<f64> = may(Area, 1.0, 1e6),
        /// Load the floor can bear. Left out: not checked.
        floor_load: Option<f64> = may(Pressure, 0.1, 1000.0),
        /// Where drainage of beds, liquor and washing water go. Left out: undecided.
        drains_to: DrainsTo = word(DrainsTo::Undecided),
        /// Tank that holds what runs off. Left out: not checked.
        drainage_tank: Option<f64> = may(Volume, 0.0, 1e5),
        /// The tank is emptied after so many days.
        tank_emptied_every: u32 = set(Days, 1.0, 365.0, 7.0, "choice"),
        /// Greenhouse gas of the electricity used, as the supplier or the country prints it.
        power_carbon: f64 = set(CarbonPerEnergy, 0.0, 2.0, 0.3, "site.power_carbon"),
        /// Working hours available on a working day, over all people. Left out: not checked.
        labour_hours: Option<f64> = may(Factor, 0.0, 10_000.0),
    }
}

/// Widest bound of prices, our choice.
pub(in crate::scenario) const MOST_MONEY: f64 = 1e9;

section! {
    /// Prices in one currency; what is left out is not counted.
    #[derive(Default)]
    pub struct Money {
        /// Currency, as printed in reports, such as EUR.
        currency: String = name(),
        /// Disposal fee saved or earned on intake.
        gate_fee: Option<f64> = may(MoneyPerMass, -MOST_MONEY, MOST_MONEY),
        /// Price of castings sold alone.
        castings_price: Option<f64> = may(MoneyPerVolume, 0.0, MOST_MONEY),
        /// Price of blend sold.
        blend_price: Option<f64> = may(MoneyPerVolume, 0.0, MOST_MONEY),
        /// Price of compost bought for the blend.
        compost_price: Option<f64> = may(MoneyPerVolume, 0.0, MOST_MONEY),
        /// Price of bulking bought; below 0 where taking it is paid for.
        bulking_price: Option<f64> = may(MoneyPerMass, -MOST_MONEY, MOST_MONEY),
        /// Price of grit, soil or lime bought.
        grit_price: Option<f64> = may(MoneyPerMass, -MOST_MONEY, MOST_MONEY),
        /// Price of bran bought, or of carrier and molasses for it.
        bran_price: Option<f64> = may(MoneyPerMass, 0.0, MOST_MONEY),
        /// Price of worms bought, by live mass.
        worm_price: Option<f64> = may(MoneyPerMass, 0.0, MOST_MONEY),
        /// Price of worms sold, by live mass.
        worm_sale_price: Option<f64> = may(MoneyPerMass, 0.0, MOST_MONEY),
        /// Price of electricity; heat to dry castings and to heat rooms is counted at it too.
        power_price: Option<f64> = may(MoneyPerEnergy, 0.0, MOST_MONEY),
        /// Price of fuel that heats rooms, by the energy in it.
        fuel_price: Option<f64> = may(MoneyPerEnergy, 0.0, MOST_MONEY),
        /// Price of water.
        water_price: Option<f64> = may(MoneyPerVolume, 0.0, MOST_MONEY),
        /// Price to get rid of what runs off: sewage charge, tanker or spreading; below 0 where it is paid for.
        drainage_price: Option<f64> = may(MoneyPerVolume, -MOST_MONEY, MOST_MONEY),
        /// Hour of work with all charges.
        wage: Option<f64> = may(MoneyPerHour, 0.0, MOST_MONEY),
        /// Price of one drum.
        drum_price: Option<f64> = may(Sum, 0.0, MOST_MONEY),
        /// Price of beds, built, by area.
        bed_price: Option<f64> = may(MoneyPerArea, 0.0, MOST_MONEY),
        /// Price of the grinder, installed.
        grinder_price: Option<f64> = may(Sum, 0.0, MOST_MONEY),
        /// Price of the screen, installed.
        screen_price: Option<f64> = may(Sum, 0.0, MOST_MONEY),
        /// Building, paving, permits and other capital.
        other_capital: Option<f64> = may(Sum, 0.0, MOST_MONEY),
        /// Rent, insurance and other cost of a year.
        other_yearly_cost: Option<f64> = may(Sum, 0.0, MOST_MONEY),
        /// Yearly interest on capital.
        interest: f64 = set(Share, -0.05, 0.5, 0.05, "choice"),
        /// Years over which capital is written off.
        years: u32 = set(Count, 1.0, 60.0, 10.0, "choice"),
    }
}
