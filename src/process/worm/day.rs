//! One day of a bed's worms.

use super::population::{Population, Stages};
use super::rates::{WormParameters, WormRates};
use super::response::{LAYING, MOISTURE, PH, piecewise};
use crate::matter::lane::{Lane, Mask};
use crate::matter::{ratio, sum};

/// Temperature above which heat kills, °C. Source: `worms.heat_extra_death_rate_per_kelvin`.
const HEAT_START: f64 = 33.0;
/// Temperature above which heat kills fast, °C. Source: `worms.heat_extra_death_rate_above_38_celsius`.
const HEAT_LIMIT: f64 = 38.0;
/// Temperature below which cold kills, °C. Source: `worms.cold_extra_death_rate_below_0_celsius`.
const COLD_LIMIT: f64 = 0.0;
/// pH below which acid kills worms without a refuge. Source: kaplan_1980, edwards_2004.
const ACID_LIMIT: f64 = 5.0;
/// pH above which alkali kills worms. Source: kaplan_1980, edwards_2004.
const ALKALI_LIMIT: f64 = 9.0;
/// Rise of pH above that limit over which deaths reach their full rate. Source: assumed.
const ALKALI_RISE: f64 = 0.5;

/// Conditions of a bed for its worms on one day, or of one bed in each lane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings<L: Lane = f64> {
    /// Bed temperature, °C.
    pub temperature: L,
    /// Water of the worm zone, kg per kg wet.
    pub moisture: L,
    /// pH of the worm zone.
    pub ph: L,
    /// Bed area, m2.
    pub area: L,
    /// Smallest factor of salt, ammonia and lack of air on feeding and growth, 0 to 1.
    pub feeding: L,
    /// The same on laying.
    pub laying: L,
    /// Deaths from salt, 1/d.
    pub salt_death: L,
    /// Deaths from ammonia, 1/d.
    pub ammonia_death: L,
    /// Whether worms can retreat from acid paste (thin layer or part of the surface covered).
    pub refuge: L::Mask,
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
pub struct Deaths<L = f64> {
    /// Background deaths.
    pub background: L,
    /// Juveniles in a crowd.
    pub crowding: L,
    /// Starvation: body-mass factor below its threshold.
    pub low_condition: L,
    /// Above 33 °C.
    pub heat: L,
    /// Below 0 °C.
    pub cold: L,
    /// Below pH 5 without refuge.
    pub acid: L,
    /// Above pH 9.
    pub alkali: L,
    /// Salt in the pore water.
    pub salt: L,
    /// Ammonia in the pore water.
    pub ammonia: L,
}

impl Deaths {
    /// Name of death by hunger.
    pub const HUNGER: &'static str = "low condition";
    /// Names of the causes.
    pub const CAUSES: [&'static str; 9] =
        ["background", "crowding", Self::HUNGER, "heat", "cold", "acid", "alkali", "salt", "ammonia"];

    /// The number by cause, in the order of [`Self::CAUSES`].
    pub fn by_cause(&self) -> [f64; Self::CAUSES.len()] {
        let Self { background, crowding, low_condition, heat, cold, acid, alkali, salt, ammonia } = *self;
        [background, crowding, low_condition, heat, cold, acid, alkali, salt, ammonia]
    }

    /// All causes together.
    ///
    /// # Units
    /// number
    pub fn total(&self) -> f64 {
        self.by_cause().iter().sum()
    }
}

/// Results of one day of the worms of a bed, or of one in each lane.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WormDay<L: Lane = f64> {
    /// Live worms in the morning, kg.
    pub biomass_before: L,
    /// Feed eaten E, kg wet.
    pub eaten: L,
    /// Intake I = E/B, kg/(kg d).
    pub intake: L,
    /// Food index f: 1 full, 0 maintenance, below 0 starving.
    pub food_index: L,
    /// Crowding factor of laying psi, 0 to 1.
    pub crowding: L,
    /// Cocoons laid, number.
    pub cocoons_laid: L,
    /// Live mass of the cocoons laid, kg.
    pub cocoon_tissue: L,
    /// Hatchlings, number.
    pub hatched: L,
    /// Cocoons that died or did not hatch, number.
    pub cocoons_failed: L,
    /// Live mass of the worms that died, kg.
    pub deaths_kg: L,
    /// Worms that died, by cause.
    pub deaths: Deaths<L>,
    /// Whether intake was below maintenance.
    pub starving: L::Mask,
    /// Tissue made by growth of worms without cocoons, `after - before + dead`, kg live; negative when starving.
    pub tissue_made: L,
    /// Tissue made, cocoons included, per feed eaten, kg/kg; 0 if nothing was eaten. A check value.
    pub growth_per_feed: L,
    /// Live worms in the evening, kg.
    pub biomass_after: L,
    /// Live worms and cocoons in the morning, kg.
    pub tissue_before: L,
    /// Live worms and cocoons in the evening, kg.
    pub tissue_after: L,
    /// Live mass that died in worms and cocoons, or was left of cocoons that hatched, kg.
    pub tissue_lost: L,
}

impl<L: Lane> WormDay<L> {
    /// The day of a lane.
    #[inline(always)]
    pub fn lane(&self, place: usize) -> WormDay {
        let dead = &self.deaths;
        WormDay {
            biomass_before: self.biomass_before.lane(place),
            eaten: self.eaten.lane(place),
            intake: self.intake.lane(place),
            food_index: self.food_index.lane(place),
            crowding: self.crowding.lane(place),
            cocoons_laid: self.cocoons_laid.lane(place),
            cocoon_tissue: self.cocoon_tissue.lane(place),
            hatched: self.hatched.lane(place),
            cocoons_failed: self.cocoons_failed.lane(place),
            deaths_kg: self.deaths_kg.lane(place),
            deaths: Deaths {
                background: dead.background.lane(place),
                crowding: dead.crowding.lane(place),
                low_condition: dead.low_condition.lane(place),
                heat: dead.heat.lane(place),
                cold: dead.cold.lane(place),
                acid: dead.acid.lane(place),
                alkali: dead.alkali.lane(place),
                salt: dead.salt.lane(place),
                ammonia: dead.ammonia.lane(place),
            },
            starving: self.starving.lane(place),
            tissue_made: self.tissue_made.lane(place),
            growth_per_feed: self.growth_per_feed.lane(place),
            biomass_after: self.biomass_after.lane(place),
            tissue_before: self.tissue_before.lane(place),
            tissue_after: self.tissue_after.lane(place),
            tissue_lost: self.tissue_lost.lane(place),
        }
    }
}

/// Advances a bed's worms by one day.
///
/// In order, with phi_E the smallest of phi_M, phi_pH and the factor of salt, ammonia and air on feeding, and phi_L the same on laying:
///
/// 1. intake `E = min(i_max phi_T phi_E chi B, feed)` with crowding `chi = 1/(1 + (D/D_I)^2)` and the density D = B/area of the morning;
/// 2. food index `f = (E/(B phi_T) - i_m)/(i_max - i_m)`, between -1 and 1, and hunger `u = 1 - E/(B phi_T i_m)`, at least 0;
/// 3. condition `q += (max(f, 0) - q)/tau`; body `g += (1 - g) max(f, 0)/tau` if f >= 0, else `g *= 1 - k phi_T u`; size of adults
///    `s += (s* - s) min(r phi_T, 1)` with `s* = s_0 + (s_1 - s_0) q`, where r is k if they shrink, `1/tau_s` if they grow and f > 0,
///    and else 0;
/// 4. crowding of laying `psi = 1/(1 + (D/D_L)^2)`;
/// 5. cocoons laid by the adults of the morning, `b phi_R phi_L q psi A`;
/// 6. survival, then advance to the next sub-stage: cocoons at the pace phi_T, juveniles and sub-adults at phi_T max(f, 0). Worms that
///    mature bring their mass into the mean of the adults.
///
/// Poor surroundings slow growth through f, as worms eat less in them; they do not slow it a second time.
///
/// Deaths are those of the stage plus extra deaths by low body mass, heat, cold, acid, alkali, salt and ammonia, at most 1 a day; juveniles
/// also die at `d (D/D_I)^2` in a crowd. Heat kills cocoons too; the other extra deaths are of worms only.
///
/// In a bed without worms, condition, body and size return to 1, so that hatchlings start well fed.
///
/// # Units
/// feed: edible feed in reach, kg wet at about 80 % water
/// # Source
/// `worms` table for the rates; the form of the day is this project's (`modelling_choice`)
#[inline(always)]
pub fn day<L: Lane>(
    pop: &mut Population<L>,
    rates: &WormRates,
    here: &Surroundings<L>,
    feed: L,
) -> WormDay<L> {
    let given = &rates.given;
    let frames = pop.frames(rates);
    let biomass_before = pop.body * (frames[0] + frames[1] + frames[2]);
    let numbers = pop.counts();
    let growth = rates.growth.at(here.temperature);
    let surroundings = piecewise(&MOISTURE, here.moisture).min(piecewise(&PH, here.ph));
    let comfort = surroundings.min(here.feeding);
    let density = biomass_before / here.area.max(L::from(f64::MIN_POSITIVE));
    let meal = eat(rates, biomass_before, growth * rates.crowded_intake(density), growth, comfort, feed);
    remember(pop, rates, &meal, growth, biomass_before);

    let crowding = rates.crowded_laying(density);
    let laying = piecewise(&LAYING, here.temperature) * surroundings.min(here.laying) * given.cocoon_rate;
    let cocoons_laid = laying * pop.condition * crowding * pop.adults;

    let extra = Extra::of(rates, here, pop.body, density);
    let full = meal.food_index.max(L::ZERO);
    let paces = Paces { cocoons: growth, worms: growth * full };
    let passed = advance(pop, &numbers, rates, &extra, &paces, cocoons_laid);

    let after = pop.frames(rates);
    let biomass_after = pop.body * (after[0] + after[1] + after[2]);
    let dead = passed.shares[0] * frames[0] + passed.shares[1] * frames[1] + passed.shares[2] * frames[2];
    let deaths_kg = pop.body * dead;
    let tissue_made = biomass_after - biomass_before + deaths_kg;
    let cocoon_tissue = cocoons_laid * given.cocoon_mass;
    let cocoons_after = sum(&pop.cocoons);
    let hatchling = pop.body * rates.juvenile_mass[0];
    let left_of_cocoons =
        (numbers.cocoons + cocoons_laid - cocoons_after) * given.cocoon_mass - passed.hatched * hatchling;
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
        starving: meal.hunger.is_positive(),
        tissue_made,
        growth_per_feed: ratio(tissue_made + cocoon_tissue, meal.eaten),
        biomass_after,
        tissue_before: biomass_before + numbers.cocoons * given.cocoon_mass,
        tissue_after: biomass_after + cocoons_after * given.cocoon_mass,
        tissue_lost: deaths_kg + left_of_cocoons,
    }
}

struct Meal<L> {
    eaten: L,
    intake: L,
    food_index: L,
    /// u: share of maintenance not met.
    hunger: L,
}

/// Steps 1 and 2: intake at a `pace` of temperature and crowding, food index and hunger; all 0 without worms.
#[inline(always)]
fn eat<L: Lane>(rates: &WormRates, biomass: L, pace: L, growth: L, comfort: L, feed: L) -> Meal<L> {
    let given = &rates.given;
    let alive = biomass.is_positive();
    let wanted = (pace * comfort * biomass * given.maximum_intake).min(feed.max(L::ZERO));
    let eaten = L::select(alive, wanted, L::ZERO);
    let intake = ratio(eaten, biomass);
    // without growth there is no need of food either: as at maintenance
    let warm_intake = L::select(growth.is_positive(), intake / growth, L::from(given.maintenance_intake));
    let food_index = ((warm_intake - given.maintenance_intake) * rates.inverse_growth_span).clamp(-1.0, 1.0);
    let hunger = (L::ONE - warm_intake * rates.inverse_maintenance).max(L::ZERO);
    Meal {
        eaten,
        intake,
        food_index: L::select(alive, food_index, L::ZERO),
        hunger: L::select(alive, hunger, L::ZERO),
    }
}

/// Step 3: condition, body mass and size of adults follow the food index; without worms all are 1.
#[inline(always)]
fn remember<L: Lane>(pop: &mut Population<L>, rates: &WormRates, meal: &Meal<L>, growth: L, biomass: L) {
    let alive = biomass.is_positive();
    let full = meal.food_index.max(L::ZERO);
    let condition = pop.condition + (full - pop.condition) * rates.condition_step;
    let grown = pop.body + (L::ONE - pop.body) * full * rates.condition_step;
    let starved = pop.body * (L::ONE - growth * meal.hunger * rates.given.starvation_loss);
    let body = L::select(meal.food_index.lt(L::ZERO), starved, grown);
    let sought = rates.adult_size_at(condition);
    // nothing grows on less than maintenance
    let rise = L::select(meal.food_index.is_positive(), L::from(rates.adult_step), L::ZERO);
    let pace = L::select(sought.lt(pop.adult_size), L::from(rates.given.starvation_loss), rise);
    let size = pop.adult_size + (sought - pop.adult_size) * (growth * pace).min(L::ONE);
    pop.condition = L::select(alive, condition, L::ONE);
    pop.body = L::select(alive, body, L::ONE);
    pop.adult_size = L::select(alive, size, L::ONE);
}

/// Extra deaths, 1/d.
struct Extra<L> {
    low_condition: L,
    heat: L,
    cold: L,
    acid: L,
    alkali: L,
    salt: L,
    ammonia: L,
    /// Of juveniles only.
    crowding: L,
}

impl<L: Lane> Extra<L> {
    #[inline(always)]
    fn of(rates: &WormRates, here: &Surroundings<L>, body: L, density: L) -> Self {
        let given = &rates.given;
        let crowd = density * rates.inverse_intake_density;
        let thin = body.lt(L::from(given.low_condition_threshold));
        let acid = here.ph.lt(L::from(ACID_LIMIT)) & !here.refuge;
        Self {
            low_condition: when(thin, given.low_condition_death),
            heat: heat_deaths(given, here.temperature),
            cold: cold_deaths(given, here.temperature),
            acid: when(acid, given.acid_death),
            alkali: ((here.ph - ALKALI_LIMIT) * (1.0 / ALKALI_RISE)).clamp(0.0, 1.0) * given.alkali_death,
            salt: here.salt_death,
            ammonia: here.ammonia_death,
            crowding: crowd * crowd * given.crowding_juvenile_death,
        }
    }

    /// Of all worms, those of a crowd left out.
    #[inline(always)]
    fn on_worms(&self) -> L {
        self.low_condition + self.heat + self.cold + self.acid + self.alkali + self.salt + self.ammonia
    }
}

/// A rate where something happens, and 0 elsewhere.
#[inline(always)]
fn when<L: Lane>(happens: L::Mask, rate: f64) -> L {
    L::select(happens, L::from(rate), L::ZERO)
}

/// Deaths by heat: per kelvin above 33 °C, and more above 38 °C.
///
/// # Units
/// °C in, 1/d out
#[inline(always)]
pub(super) fn heat_deaths<L: Lane>(given: &WormParameters, temperature: L) -> L {
    let sudden: L = when(L::from(HEAT_LIMIT).lt(temperature), given.heat_death_above_limit);
    (temperature - HEAT_START).max(L::ZERO) * given.heat_death_per_kelvin + sudden
}

/// Deaths by cold: below 0 °C.
///
/// # Units
/// °C in, 1/d out
#[inline(always)]
pub(super) fn cold_deaths<L: Lane>(given: &WormParameters, temperature: L) -> L {
    when(temperature.lt(L::from(COLD_LIMIT)), given.cold_death)
}

/// Development today as a share of that at 25 °C and full food.
struct Paces<L> {
    cocoons: L,
    worms: L,
}

struct Passed<L> {
    hatched: L,
    cocoons_failed: L,
    /// Share of juveniles, sub-adults and adults that died.
    shares: [L; 3],
    deaths: Deaths<L>,
}

/// Step 6: survival of the `numbers` of the morning, then development.
#[inline(always)]
fn advance<L: Lane>(
    pop: &mut Population<L>,
    numbers: &Stages<L>,
    rates: &WormRates,
    extra: &Extra<L>,
    paces: &Paces<L>,
    laid: L,
) -> Passed<L> {
    let given = &rates.given;
    let on_worms = extra.on_worms();
    let rates_of_death = [
        on_worms + extra.crowding + given.juvenile_death,
        on_worms + given.subadult_death,
        on_worms + given.adult_death,
    ];
    let [juveniles, subadults, adults] = rates_of_death;
    let shares = [juveniles.min(L::ONE), subadults.min(L::ONE), adults.min(L::ONE)];
    let cocoon_share = (extra.heat + given.cocoon_death).min(L::ONE);
    let go = |pace: L, stage: usize| (pace * rates.advance[stage]).min(L::ONE);

    let out = step(&mut pop.cocoons, cocoon_share, go(paces.cocoons, 0), laid);
    let hatched = out * rates.hatchlings_per_cocoon;
    let grown = step(&mut pop.juveniles, shares[0], go(paces.worms, 1), hatched);
    let mature = step(&mut pop.subadults, shares[1], go(paces.worms, 2), grown);
    let survivors = pop.adults * (L::ONE - shares[2]);
    pop.adults = survivors + mature;
    // the young adults are smaller than those that have grown
    pop.adult_size += (L::from(rates.young_adult_size) - pop.adult_size) * ratio(mature, pop.adults);

    // at most all die, and the causes share the deaths
    let juveniles = numbers.juveniles / rates_of_death[0].max(L::ONE);
    let subadults = numbers.subadults / rates_of_death[1].max(L::ONE);
    let adults = numbers.adults / rates_of_death[2].max(L::ONE);
    let worms = juveniles + subadults + adults;
    let deaths = Deaths {
        background: juveniles * given.juvenile_death
            + subadults * given.subadult_death
            + adults * given.adult_death,
        crowding: juveniles * extra.crowding,
        low_condition: worms * extra.low_condition,
        heat: worms * extra.heat,
        cold: worms * extra.cold,
        acid: worms * extra.acid,
        alkali: worms * extra.alkali,
        salt: worms * extra.salt,
        ammonia: worms * extra.ammonia,
    };
    let cocoons_failed = numbers.cocoons * cocoon_share + out * (1.0 - given.hatch_share);
    Passed { hatched, cocoons_failed, shares, deaths }
}

/// One chained stage: the share `go` of survivors moves to the next sub-stage. Returns the number that leave the last.
#[inline(always)]
fn step<L: Lane, const N: usize>(numbers: &mut [L; N], die: L, go: L, into: L) -> L {
    let survive = L::ONE - die;
    let (stay, leave) = (survive * (L::ONE - go), survive * go);
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
    fn alkali_kills_all_within_a_week() {
        // kaplan_1980: all dead within a week above pH 9
        let left = |ph: f64| {
            let mut bed = Population::from_adult_count(1000.0);
            for _ in 0..7 {
                day(&mut bed, &rates(), &Surroundings { ph, ..Surroundings::ideal(1.0) }, 10.0);
            }
            bed.adults
        };
        assert!(left(9.5) < 60.0 && left(9.0) > 970.0, "{} {}", left(9.5), left(9.0));
    }

    #[test]
    fn adults_weigh_what_their_feed_carries() {
        let rates = WormRates::new(WormParameters { cocoon_rate: 0.0, ..central() });
        let after = |mut bed: Population, days: u32, feed: f64| {
            for _ in 0..days {
                day(&mut bed, &rates, &Surroundings::ideal(1.0), feed);
            }
            (bed, 1e3 * bed.masses(&rates).adults / bed.adults)
        };
        // dominguez_edwards_1997, garg_2008: alone on ample feed 0.9 to 1.5 g
        let (bed, full) = after(Population::from_adult_count(1.0), 90, 1.0);
        assert!((0.9..1.5).contains(&full), "{full}");
        // neuhauser_1980: on a fixed ration they lose 0.38 to 0.98 % a day
        let (_, thin) = after(bed, 30, 0.0);
        let lost = (full / thin).ln() / 30.0;
        assert!((0.003_8..0.009_8).contains(&lost), "{lost}");
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
