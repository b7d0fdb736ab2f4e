//! One day of a bed's worms.

use super::population::Population;
use super::rates::{WormParameters, WormRates};
use super::response::{LAYING, MOISTURE, PH, piecewise};
use crate::matter::lane;

/// Temperature above which heat kills, °C. Source: `worms.heat_extra_death_rate_per_kelvin`.
const HEAT_START: f64 = 33.0;
/// Temperature above which heat kills fast, °C. Source: `worms.heat_extra_death_rate_above_38_celsius`.
const HEAT_LIMIT: f64 = 38.0;
/// Temperature below which cold kills, °C. Source: `worms.cold_extra_death_rate_below_0_celsius`.
const COLD_LIMIT: f64 = 0.0;
/// pH below which acid kills worms without a refuge. Source: kaplan_1980, edwards_2004.
const ACID_LIMIT: f64 = 5.0;

/// Conditions of a bed for its worms on one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Bed temperature, °C.
    pub temperature: f64,
    /// Water of the worm zone, kg per kg wet.
    pub moisture: f64,
    /// pH of the worm zone.
    pub ph: f64,
    /// Bed area, m2.
    pub area: f64,
    /// Smallest factor of salt, ammonia and lack of air on feeding and growth, 0 to 1.
    pub feeding: f64,
    /// The same on laying.
    pub laying: f64,
    /// Deaths from salt, 1/d.
    pub salt_death: f64,
    /// Deaths from ammonia, 1/d.
    pub ammonia_death: f64,
    /// Whether worms can retreat from acid paste (thin layer or part of the surface covered).
    pub refuge: bool,
}

impl Surroundings {
    /// The best bed: 25 °C, 80 % water, pH 7.
    ///
    /// # Units
    /// m2
    pub fn ideal(area: f64) -> Self {
        Self {
            temperature: 25.0,
            moisture: 0.8,
            ph: 7.0,
            area,
            feeding: 1.0,
            laying: 1.0,
            salt_death: 0.0,
            ammonia_death: 0.0,
            refuge: true,
        }
    }
}

/// Worms that died, by cause (juveniles, sub-adults and adults).
///
/// # Units
/// numbers
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Deaths {
    /// Background deaths.
    pub background: f64,
    /// Juveniles in a crowd.
    pub crowding: f64,
    /// Starvation: body-mass factor below its threshold.
    pub low_condition: f64,
    /// Above 33 °C.
    pub heat: f64,
    /// Below 0 °C.
    pub cold: f64,
    /// Below pH 5 without refuge.
    pub acid: f64,
    /// Salt in the pore water.
    pub salt: f64,
    /// Ammonia in the pore water.
    pub ammonia: f64,
}

impl Deaths {
    /// Name of death by hunger.
    pub const HUNGER: &'static str = "low condition";
    /// Names of the causes.
    pub const CAUSES: [&'static str; 8] =
        ["background", "crowding", Self::HUNGER, "heat", "cold", "acid", "salt", "ammonia"];

    /// The number by cause, in the order of [`Self::CAUSES`].
    pub fn by_cause(&self) -> [f64; 8] {
        let Self { background, crowding, low_condition, heat, cold, acid, salt, ammonia } = *self;
        [background, crowding, low_condition, heat, cold, acid, salt, ammonia]
    }

    /// All causes together.
    ///
    /// # Units
    /// number
    pub fn total(&self) -> f64 {
        self.by_cause().iter().sum()
    }
}

/// Results of one day of the worms of a bed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WormDay {
    /// Live worms in the morning, kg.
    pub biomass_before: f64,
    /// Feed eaten E, kg wet.
    pub eaten: f64,
    /// Intake I = E/B, kg/(kg d).
    pub intake: f64,
    /// Food index f: 1 full, 0 maintenance, below 0 starving.
    pub food_index: f64,
    /// Crowding factor of laying psi, 0 to 1.
    pub crowding: f64,
    /// Cocoons laid, number.
    pub cocoons_laid: f64,
    /// Live mass of the cocoons laid, kg.
    pub cocoon_tissue: f64,
    /// Hatchlings, number.
    pub hatched: f64,
    /// Cocoons that died or did not hatch, number.
    pub cocoons_failed: f64,
    /// Live mass of the worms that died, kg.
    pub deaths_kg: f64,
    /// Worms that died, by cause.
    pub deaths: Deaths,
    /// Whether intake was below maintenance.
    pub starving: bool,
    /// Tissue made by growth of worms without cocoons, `after - before + dead`, kg live; negative when starving.
    pub tissue_made: f64,
    /// Tissue made, cocoons included, per feed eaten, kg/kg; 0 if nothing was eaten. A check value.
    pub growth_per_feed: f64,
    /// Live worms in the evening, kg.
    pub biomass_after: f64,
    /// Live worms and cocoons in the morning, kg.
    pub tissue_before: f64,
    /// Live worms and cocoons in the evening, kg.
    pub tissue_after: f64,
    /// Live mass that died in worms and cocoons, or was left of cocoons that hatched, kg.
    pub tissue_lost: f64,
}

/// Advances a bed's worms by one day.
///
/// In order, with phi_E the smallest of phi_M, phi_pH and the factor of salt, ammonia and air on feeding, and phi_L the same on laying:
///
/// 1. intake `E = min(i_max phi_T phi_E chi B, feed)` with crowding `chi = 1/(1 + (D/D_I)^2)` and the density D = B/area of the morning;
/// 2. food index `f = (E/(B phi_T) - i_m)/(i_max - i_m)`, between -1 and 1, and hunger `u = 1 - E/(B phi_T i_m)`, at least 0;
/// 3. condition `q += (max(f, 0) - q)/tau`; body `g += (1 - g) max(f, 0)/tau` if f >= 0, else `g *= 1 - k phi_T u`;
/// 4. crowding of laying `psi = 1/(1 + (D/D_L)^2)`;
/// 5. cocoons laid by the adults of the morning, `b phi_R phi_L q psi A`;
/// 6. survival, then advance to the next sub-stage: cocoons at the pace phi_T, juveniles and sub-adults at phi_T max(f, 0).
///
/// Poor surroundings slow growth through f, as worms eat less in them; they do not slow it a second time.
///
/// Deaths are those of the stage plus extra deaths by low body mass, heat, cold, acid, salt and ammonia, at most 1 a day; juveniles
/// also die at `d (D/D_I)^2` in a crowd. Heat kills cocoons too; the other extra deaths are of worms only.
///
/// In a bed without worms, condition and body return to 1, so that hatchlings start well fed.
///
/// # Units
/// feed: edible feed in reach, kg wet at about 80 % water
/// # Source
/// `worms` table for the rates; the form of the day is this project's (`modelling_choice`)
pub fn day(pop: &mut Population, rates: &WormRates, here: &Surroundings, feed: f64) -> WormDay {
    lane::in_wide_registers(
        #[inline(always)]
        || wide_day(pop, rates, here, feed),
    )
}

#[inline(always)]
fn wide_day(pop: &mut Population, rates: &WormRates, here: &Surroundings, feed: f64) -> WormDay {
    let given = &rates.given;
    let frames = pop.frames(rates);
    let biomass_before = pop.body * (frames[0] + frames[1] + frames[2]);
    let cocoons_before = pop.cocoons.iter().sum::<f64>();
    let growth = rates.growth.at(here.temperature);
    let surroundings = piecewise(&MOISTURE, here.moisture).min(piecewise(&PH, here.ph));
    let comfort = surroundings.min(here.feeding);
    let density = biomass_before / here.area.max(f64::MIN_POSITIVE);
    let meal = eat(rates, biomass_before, growth * rates.crowded_intake(density), growth, comfort, feed);
    remember(pop, rates, &meal, growth, biomass_before);

    let crowding = rates.crowded_laying(density);
    let laying = given.cocoon_rate * piecewise(&LAYING, here.temperature) * surroundings.min(here.laying);
    let cocoons_laid = laying * pop.condition * crowding * pop.adults;

    let extra = Extra::of(rates, here, pop.body, density);
    let full = meal.food_index.max(0.0);
    let paces = Paces { cocoons: growth, worms: growth * full };
    let passed = advance(pop, rates, &extra, &paces, cocoons_laid);

    let after = pop.frames(rates);
    let biomass_after = pop.body * (after[0] + after[1] + after[2]);
    let dead = [passed.shares[0] * frames[0], passed.shares[1] * frames[1], passed.shares[2] * frames[2]];
    let deaths_kg = pop.body * (dead[0] + dead[1] + dead[2]);
    let tissue_made = biomass_after - biomass_before + deaths_kg;
    let cocoon_tissue = cocoons_laid * given.cocoon_mass;
    let cocoons_after = pop.cocoons.iter().sum::<f64>();
    let hatchling = pop.body * rates.juvenile_mass[0];
    let left_of_cocoons =
        (cocoons_before + cocoons_laid - cocoons_after) * given.cocoon_mass - passed.hatched * hatchling;
    let growth_per_feed = if meal.eaten > 0.0 { (tissue_made + cocoon_tissue) / meal.eaten } else { 0.0 };
    WormDay {
        biomass_before,
        eaten: meal.eaten,
        intake: meal.intake,
        food_index: meal.food_index,
        crowding,
        cocoons_laid,
        cocoon_tissue,
        hatched: passed.hatched,
        cocoons_failed: passed.cocoons_failed,
        deaths_kg,
        deaths: passed.deaths,
        starving: meal.hunger > 0.0,
        tissue_made,
        growth_per_feed,
        biomass_after,
        tissue_before: biomass_before + cocoons_before * given.cocoon_mass,
        tissue_after: biomass_after + cocoons_after * given.cocoon_mass,
        tissue_lost: deaths_kg + left_of_cocoons,
    }
}

struct Meal {
    eaten: f64,
    intake: f64,
    food_index: f64,
    /// u: share of maintenance not met.
    hunger: f64,
}

/// Steps 1 and 2: intake at a `pace` of temperature and crowding, food index and hunger.
#[inline(always)]
fn eat(rates: &WormRates, biomass: f64, pace: f64, growth: f64, comfort: f64, feed: f64) -> Meal {
    let given = &rates.given;
    let eaten = (given.maximum_intake * pace * comfort * biomass).min(feed.max(0.0));
    if biomass <= 0.0 {
        return Meal { eaten: 0.0, intake: 0.0, food_index: 0.0, hunger: 0.0 };
    }
    let intake = eaten / biomass;
    // without growth there is no need of food either: as at maintenance
    let warm_intake = if growth > 0.0 { intake / growth } else { given.maintenance_intake };
    let food_index = ((warm_intake - given.maintenance_intake) * rates.inverse_growth_span).clamp(-1.0, 1.0);
    let hunger = (1.0 - warm_intake * rates.inverse_maintenance).max(0.0);
    Meal { eaten, intake, food_index, hunger }
}

/// Step 3: condition and body mass follow the food index.
#[inline(always)]
fn remember(pop: &mut Population, rates: &WormRates, meal: &Meal, growth: f64, biomass: f64) {
    if biomass <= 0.0 {
        pop.condition = 1.0;
        pop.body = 1.0;
        return;
    }
    let full = meal.food_index.max(0.0);
    pop.condition += (full - pop.condition) * rates.condition_step;
    if meal.food_index >= 0.0 {
        pop.body += (1.0 - pop.body) * full * rates.condition_step;
    } else {
        pop.body *= 1.0 - rates.given.starvation_loss * growth * meal.hunger;
    }
}

/// Extra deaths, 1/d.
struct Extra {
    low_condition: f64,
    heat: f64,
    cold: f64,
    acid: f64,
    salt: f64,
    ammonia: f64,
    /// Of juveniles only.
    crowding: f64,
}

impl Extra {
    fn of(rates: &WormRates, here: &Surroundings, body: f64, density: f64) -> Self {
        let given = &rates.given;
        let crowd = density * rates.inverse_intake_density;
        let when = |happens: bool, rate: f64| if happens { rate } else { 0.0 };
        Self {
            low_condition: when(body < given.low_condition_threshold, given.low_condition_death),
            heat: heat_deaths(given, here.temperature),
            cold: cold_deaths(given, here.temperature),
            acid: when(here.ph < ACID_LIMIT && !here.refuge, given.acid_death),
            salt: here.salt_death,
            ammonia: here.ammonia_death,
            crowding: given.crowding_juvenile_death * crowd * crowd,
        }
    }

    /// Of all worms, those of a crowd left out.
    fn on_worms(&self) -> f64 {
        self.low_condition + self.heat + self.cold + self.acid + self.salt + self.ammonia
    }
}

/// Deaths by heat: per kelvin above 33 °C, and more above 38 °C.
///
/// # Units
/// °C in, 1/d out
pub(super) fn heat_deaths(given: &WormParameters, temperature: f64) -> f64 {
    let sudden = if temperature > HEAT_LIMIT { given.heat_death_above_limit } else { 0.0 };
    given.heat_death_per_kelvin * (temperature - HEAT_START).max(0.0) + sudden
}

/// Deaths by cold: below 0 °C.
///
/// # Units
/// °C in, 1/d out
pub(super) fn cold_deaths(given: &WormParameters, temperature: f64) -> f64 {
    if temperature < COLD_LIMIT { given.cold_death } else { 0.0 }
}

/// Development today as a share of that at 25 °C and full food.
struct Paces {
    cocoons: f64,
    worms: f64,
}

struct Passed {
    hatched: f64,
    cocoons_failed: f64,
    /// Share of juveniles, sub-adults and adults that died.
    shares: [f64; 3],
    deaths: Deaths,
}

/// Step 6: survival, then development.
#[inline(always)]
fn advance(pop: &mut Population, rates: &WormRates, extra: &Extra, paces: &Paces, laid: f64) -> Passed {
    let given = &rates.given;
    let numbers = pop.counts();
    let on_worms = extra.on_worms();
    let backgrounds = [given.juvenile_death, given.subadult_death, given.adult_death];
    let crowding = [extra.crowding, 0.0, 0.0];
    let rates_of_death = [0, 1, 2].map(|stage| backgrounds[stage] + crowding[stage] + on_worms);
    let shares = rates_of_death.map(|rate| rate.min(1.0));
    let cocoon_share = (given.cocoon_death + extra.heat).min(1.0);

    let out = step(&mut pop.cocoons, cocoon_share, (rates.advance[0] * paces.cocoons).min(1.0), laid);
    let hatched = out * rates.hatchlings_per_cocoon;
    let grown = step(&mut pop.juveniles, shares[0], (rates.advance[1] * paces.worms).min(1.0), hatched);
    let mature = step(&mut pop.subadults, shares[1], (rates.advance[2] * paces.worms).min(1.0), grown);
    pop.adults = pop.adults * (1.0 - shares[2]) + mature;

    let mut deaths = Deaths::default();
    for (stage, count) in [numbers.juveniles, numbers.subadults, numbers.adults].into_iter().enumerate() {
        // at most all die, and the causes share the deaths
        let each = count / rates_of_death[stage].max(1.0);
        deaths.background += each * backgrounds[stage];
        deaths.crowding += each * crowding[stage];
        deaths.low_condition += each * extra.low_condition;
        deaths.heat += each * extra.heat;
        deaths.cold += each * extra.cold;
        deaths.acid += each * extra.acid;
        deaths.salt += each * extra.salt;
        deaths.ammonia += each * extra.ammonia;
    }
    let cocoons_failed = numbers.cocoons * cocoon_share + out * (1.0 - given.hatch_share);
    Passed { hatched, cocoons_failed, shares, deaths }
}

/// One chained stage: the share `go` of survivors moves to the next sub-stage. Returns the number that leave the last.
#[inline(always)]
fn step<const N: usize>(numbers: &mut [f64; N], die: f64, go: f64, into: f64) -> f64 {
    let survive = 1.0 - die;
    let (stay, leave) = (survive * (1.0 - go), survive * go);
    let out = numbers[N - 1] * leave;
    for i in (1..N).rev() {
        numbers[i] = numbers[i] * stay + numbers[i - 1] * leave;
    }
    numbers[0] = numbers[0] * stay + into;
    out
}

#[cfg(test)]
mod tests {
    use super::super::rates::tests::central;
    use super::*;

    fn rates() -> WormRates {
        WormRates::new(central())
    }

    #[test]
    fn an_empty_bed_stays_empty_without_nan() {
        let mut nobody = Population { condition: 0.1, body: 0.3, ..Population::empty() };
        let what = day(&mut nobody, &rates(), &Surroundings { area: 0.0, ..Surroundings::ideal(0.0) }, 5.0);
        assert_eq!(nobody, Population::empty());
        assert!(what.intake.abs() < 1e-15 && what.eaten.abs() < 1e-15 && what.crowding.is_finite());
        assert!(!what.starving);
    }

    #[test]
    fn frozen_worms_neither_eat_nor_lose_mass() {
        let mut bed = Population::from_adult_count(2000.0);
        let frozen = Surroundings { temperature: -4.0, ..Surroundings::ideal(1.0) };
        let what = day(&mut bed, &rates(), &frozen, 5.0);
        assert!(what.eaten.abs() < 1e-15 && !what.starving && (bed.body - 1.0).abs() < 1e-15);
        assert!((what.deaths.cold - 2000.0 * 0.02).abs() < 1e-9);
        assert!(bed.is_finite());
    }

    #[test]
    fn acid_without_refuge_kills_95_percent_in_a_week() {
        // worms section 1.9: 1 - 0.05^(1/7) = 0.35 per day (Kaplan et al. 1980: all dead within a week)
        let mut bed = Population::from_adult_count(1000.0);
        let rates = WormRates::new(WormParameters { adult_death: 0.0, ..central() });
        let acid = Surroundings { ph: 4.0, refuge: false, ..Surroundings::ideal(1.0) };
        for _ in 0..7 {
            day(&mut bed, &rates, &acid, 10.0);
        }
        assert!((bed.adults - 50.0).abs() < 1.0, "{}", bed.adults);
        let mut safe = Population::from_adult_count(1000.0);
        let what = day(&mut safe, &rates, &Surroundings { refuge: true, ..acid }, 10.0);
        assert!(what.deaths.acid.abs() < 1e-15 && what.eaten.abs() < 1e-15 && what.starving);
    }

    #[test]
    fn deaths_never_exceed_the_living_and_split_over_causes() {
        let mut bed = Population::at_stable_structure(2.0, &rates());
        bed.body = 0.35;
        let worms = bed.worms();
        let hell = Surroundings {
            temperature: 45.0,
            ph: 4.0,
            refuge: false,
            salt_death: 0.9,
            ..Surroundings::ideal(1.0)
        };
        let what = day(&mut bed, &rates(), &hell, 1.0);
        assert!((what.deaths.total() - worms).abs() < 1e-6 * worms);
        assert!(bed.worms().abs() < 1e-9 && (what.deaths_kg - what.biomass_before).abs() < 1e-12);
        assert!(what.deaths.heat > 0.0 && what.deaths.acid > 0.0 && what.deaths.low_condition > 0.0);
    }

    #[test]
    fn biomass_changes_by_tissue_made_less_deaths() {
        let mut bed = Population::at_stable_structure(2.0, &rates());
        let worms = bed.worms();
        let what = day(&mut bed, &rates(), &Surroundings::ideal(1.0), 0.6);
        assert!((what.biomass_before + what.tissue_made - what.deaths_kg - what.biomass_after).abs() < 1e-12);
        assert!((bed.worms() - (worms - what.deaths.total() + what.hatched)).abs() < 1e-9 * worms);
    }

    #[test]
    fn cocoons_laid_hatch_or_fail() {
        let mut bed = Population::at_stable_structure(2.0, &rates());
        let cocoons = bed.counts().cocoons;
        let what = day(&mut bed, &rates(), &Surroundings::ideal(1.0), 0.6);
        let opened = what.hatched / central().hatchlings;
        let left = cocoons + what.cocoons_laid - what.cocoons_failed - opened;
        assert!((bed.counts().cocoons - left).abs() < 1e-9 * cocoons);
    }
}
