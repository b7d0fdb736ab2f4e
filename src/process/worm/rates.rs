//! Parameters of the worm model, values derived from them, and the projection matrix.

use nalgebra::DMatrix;

use super::day::{cold_deaths, heat_deaths};
use super::response::{GrowthCurve, LAYING, piecewise};
use super::{COCOON_STAGES, JUVENILE_STAGES, SUBADULT_STAGES};
use crate::matter::lane::Lane;

/// The numbers of the worm model, one field per key of the `worms` table.
///
/// # Units
/// kg live, kg wet feed at about 80 % water, days, °C
/// # Source
/// `worms` table; keys beside the fields
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WormParameters {
    /// Cocoons per adult and day at 25 °C and full food, `cocoon_rate_per_adult`.
    pub cocoon_rate: f64,
    /// Share of cocoons that hatch, `cocoon_hatch_share`.
    pub hatch_share: f64,
    /// Hatchlings per hatched cocoon, `hatchlings_per_hatched_cocoon`.
    pub hatchlings: f64,
    /// Days as cocoon at 25 °C, `cocoon_duration`.
    pub cocoon_duration: f64,
    /// Days as juvenile at 25 °C and full food, `juvenile_duration`.
    pub juvenile_duration: f64,
    /// Days as sub-adult at 25 °C and full food, `subadult_duration`.
    pub subadult_duration: f64,
    /// Deaths of cocoons per day, `cocoon_death_rate`.
    pub cocoon_death: f64,
    /// Deaths of juveniles per day, `juvenile_death_rate`.
    pub juvenile_death: f64,
    /// Deaths of sub-adults per day, `subadult_death_rate`.
    pub subadult_death: f64,
    /// Deaths of adults per day, `adult_death_rate`.
    pub adult_death: f64,
    /// Largest feed intake at 25 °C, kg/(kg d), `maximum_intake`.
    pub maximum_intake: f64,
    /// Intake that keeps mass constant at 25 °C, kg/(kg d), `maintenance_intake`.
    pub maintenance_intake: f64,
    /// Loss of body mass without feed, 1/d, `starvation_loss_rate`.
    pub starvation_loss: f64,
    /// Memory of feeding, d, `condition_time_constant`.
    pub condition_time: f64,
    /// Density that halves laying, kg/m2, `laying_density_half_effect`.
    pub laying_half_density: f64,
    /// Density that halves intake, kg/m2, `intake_density_half_effect`.
    pub intake_half_density: f64,
    /// Additional deaths of juveniles at that density, 1/d, `crowding_juvenile_death_rate`.
    pub crowding_juvenile_death: f64,
    /// Mass of an adult as bought, `adult_mass`.
    pub adult_mass: f64,
    /// Mass of a worm as it matures, `mass_at_maturity`.
    pub maturity_mass: f64,
    /// Mass that adults keep at maintenance over that of one as bought, `adult_size_at_maintenance`.
    pub adult_size_at_maintenance: f64,
    /// Mass that adults reach at full food over that, `adult_size_at_full_food`.
    pub adult_size_at_full_food: f64,
    /// Days in which adults at full food and 25 °C close all but 1/e of the gap to their mass, `adult_growth_time`.
    pub adult_growth_time: f64,
    /// Mass at the start of the juvenile stage, `hatchling_mass_in_model`.
    pub hatchling_mass: f64,
    /// Mass at the end of the juvenile stage, `juvenile_end_mass_in_model`.
    pub juvenile_end_mass: f64,
    /// Mass at the end of the sub-adult stage, `subadult_end_mass_in_model`.
    pub subadult_end_mass: f64,
    /// Mass of a cocoon, `cocoon_mass_measured`.
    pub cocoon_mass: f64,
    /// Base of the curve of growth against temperature, `growth_temperature_base`.
    pub growth_base: f64,
    /// Temperature from which nothing grows, `growth_temperature_maximum`.
    pub growth_maximum: f64,
    /// Body-mass factor below which extra deaths start, `low_condition_threshold`.
    pub low_condition_threshold: f64,
    /// Those deaths per day, `low_condition_extra_death_rate`.
    pub low_condition_death: f64,
    /// Deaths per day and kelvin above 33 °C, `heat_extra_death_rate_per_kelvin`.
    pub heat_death_per_kelvin: f64,
    /// Deaths per day above 38 °C, `heat_extra_death_rate_above_38_celsius`.
    pub heat_death_above_limit: f64,
    /// Deaths per day below 0 °C, `cold_extra_death_rate_below_0_celsius`.
    pub cold_death: f64,
    /// Deaths per day below pH 5 without refuge, `acid_death_rate_without_refuge`.
    pub acid_death: f64,
    /// Deaths per day half a unit and more above pH 9, `alkali_death_rate`.
    pub alkali_death: f64,
    /// Largest tissue made per feed eaten, cocoons and what replaces the dead included, kg/kg, `largest_allowed_conversion`.
    pub largest_conversion: f64,
}

impl WormParameters {
    /// Parameters by key `worms.<id>`.
    ///
    /// # Units
    /// those of the table
    /// # Source
    /// `worms` table
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        let worms = |id: &str| get(&format!("worms.{id}"));
        Self {
            cocoon_rate: worms("cocoon_rate_per_adult"),
            hatch_share: worms("cocoon_hatch_share"),
            hatchlings: worms("hatchlings_per_hatched_cocoon"),
            cocoon_duration: worms("cocoon_duration"),
            juvenile_duration: worms("juvenile_duration"),
            subadult_duration: worms("subadult_duration"),
            cocoon_death: worms("cocoon_death_rate"),
            juvenile_death: worms("juvenile_death_rate"),
            subadult_death: worms("subadult_death_rate"),
            adult_death: worms("adult_death_rate"),
            maximum_intake: worms("maximum_intake"),
            maintenance_intake: worms("maintenance_intake"),
            starvation_loss: worms("starvation_loss_rate"),
            condition_time: worms("condition_time_constant"),
            laying_half_density: worms("laying_density_half_effect"),
            intake_half_density: worms("intake_density_half_effect"),
            crowding_juvenile_death: worms("crowding_juvenile_death_rate"),
            adult_mass: worms("adult_mass"),
            maturity_mass: worms("mass_at_maturity"),
            adult_size_at_maintenance: worms("adult_size_at_maintenance"),
            adult_size_at_full_food: worms("adult_size_at_full_food"),
            adult_growth_time: worms("adult_growth_time"),
            hatchling_mass: worms("hatchling_mass_in_model"),
            juvenile_end_mass: worms("juvenile_end_mass_in_model"),
            subadult_end_mass: worms("subadult_end_mass_in_model"),
            cocoon_mass: worms("cocoon_mass_measured"),
            growth_base: worms("growth_temperature_base"),
            growth_maximum: worms("growth_temperature_maximum"),
            low_condition_threshold: worms("low_condition_threshold"),
            low_condition_death: worms("low_condition_extra_death_rate"),
            heat_death_per_kelvin: worms("heat_extra_death_rate_per_kelvin"),
            heat_death_above_limit: worms("heat_extra_death_rate_above_38_celsius"),
            cold_death: worms("cold_extra_death_rate_below_0_celsius"),
            acid_death: worms("acid_death_rate_without_refuge"),
            alkali_death: worms("alkali_death_rate"),
            largest_conversion: worms("largest_allowed_conversion"),
        }
    }
}

/// Parameters with the values derived from them, computed once: sub-stage masses, advance rates, reciprocals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WormRates {
    pub(super) given: WormParameters,
    pub(super) growth: GrowthCurve,
    pub(super) juvenile_mass: [f64; JUVENILE_STAGES],
    pub(super) subadult_mass: [f64; SUBADULT_STAGES],
    /// Sub-stages per day at 25 °C and full food: cocoon, juvenile, sub-adult.
    pub(super) advance: [f64; 3],
    pub(super) hatchlings_per_cocoon: f64,
    pub(super) inverse_growth_span: f64,
    pub(super) inverse_maintenance: f64,
    pub(super) condition_step: f64,
    /// Share of the gap to their mass that adults close in a day at full food.
    pub(super) adult_step: f64,
    /// Mass of a worm that has just matured over that of a bought adult.
    pub(super) young_adult_size: f64,
    pub(super) inverse_laying_density: f64,
    pub(super) inverse_intake_density: f64,
}

/// 1/(1 + x^2).
#[inline(always)]
fn halved_by_square<L: Lane>(x: L) -> L {
    L::ONE / (x * x + 1.0)
}

/// Survival and advance of one stage in the linear model.
#[derive(Clone, Copy)]
struct Class {
    stages: usize,
    stay: f64,
    go: f64,
}

impl WormRates {
    /// Rates from values by key `worms.<id>`.
    ///
    /// # Units
    /// those of the table
    /// # Source
    /// `worms` table
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self::new(WormParameters::from_values(get))
    }

    /// Rates from parameters. Sub-stage masses are geometric between the ends of the stage, taken at mid sub-stage.
    ///
    /// w_i = start (end/start)^((i - 0.5)/n)
    ///
    /// # Units
    /// kg, d
    pub fn new(given: WormParameters) -> Self {
        let tiny = f64::MIN_POSITIVE;
        Self {
            given,
            growth: GrowthCurve::new(given.growth_base, given.growth_maximum),
            juvenile_mass: geometric_masses(given.hatchling_mass, given.juvenile_end_mass),
            subadult_mass: geometric_masses(given.juvenile_end_mass, given.subadult_end_mass),
            advance: advance_rates(&given, [COCOON_STAGES, JUVENILE_STAGES, SUBADULT_STAGES]),
            hatchlings_per_cocoon: given.hatch_share * given.hatchlings,
            inverse_growth_span: (given.maximum_intake - given.maintenance_intake).max(tiny).recip(),
            inverse_maintenance: given.maintenance_intake.max(tiny).recip(),
            // a memory shorter than a day counts as one day
            condition_step: given.condition_time.max(1.0).recip(),
            adult_step: given.adult_growth_time.max(1.0).recip(),
            young_adult_size: given.maturity_mass / given.adult_mass.max(tiny),
            inverse_laying_density: given.laying_half_density.max(tiny).recip(),
            inverse_intake_density: given.intake_half_density.max(tiny).recip(),
        }
    }

    /// The parameters these rates were made from.
    pub fn parameters(&self) -> &WormParameters {
        &self.given
    }

    /// The same worms when feed limits them: juveniles and sub-adults develop, and adults lay, at a share of their rate at
    /// full food. It is the state to which condition settles when the food index stays at that share.
    ///
    /// # Units
    /// food index above maintenance, 0 (none) to 1 (full)
    /// # Source
    /// The day of [`super::day::day`] with q = f
    #[must_use]
    pub fn at_food(&self, food: f64) -> Self {
        // no food: development takes longer than any run
        let share = food.clamp(1e-12, 1.0);
        Self::new(WormParameters {
            juvenile_duration: self.given.juvenile_duration / share,
            subadult_duration: self.given.subadult_duration / share,
            cocoon_rate: self.given.cocoon_rate * share,
            adult_size_at_full_food: self.adult_size_at(share),
            ..self.given
        })
    }

    /// Size that adults seek at a condition q, `s* = s_0 + (s_1 - s_0) q`: the mass that their feed carries, over that of a bought one.
    ///
    /// # Source
    /// Ends from `worms.adult_size_at_maintenance` and `worms.adult_size_at_full_food`; the straight line is assumed.
    #[inline(always)]
    pub(super) fn adult_size_at<L: Lane>(&self, condition: L) -> L {
        let given = &self.given;
        condition * (given.adult_size_at_full_food - given.adult_size_at_maintenance)
            + given.adult_size_at_maintenance
    }

    /// Food index at a constant intake: 1 at full intake, 0 at maintenance or below; both depend on temperature.
    ///
    /// f = (I - i_m phi_T) / ((i_max - i_m) phi_T)
    ///
    /// # Units
    /// intake in kg/(kg d) of feed as the worm figures state it, °C
    /// # Source
    /// As in [`super::day::day`]
    pub fn food_index(&self, intake: f64, temperature: f64) -> f64 {
        let pace = self.growth.at(temperature);
        if pace <= 0.0 {
            return 0.0;
        }
        ((intake / pace - self.given.maintenance_intake) * self.inverse_growth_span).clamp(0.0, 1.0)
    }

    /// Factor of crowding on intake, `1/(1 + (D/D_half)^2)` at a density D, kg live/m2.
    ///
    /// # Source
    /// Half-effect from `worms.intake_density_half_effect` (derived from neuhauser_1980 and others); the exponent is assumed.
    #[inline(always)]
    pub fn crowded_intake<L: Lane>(&self, density: L) -> L {
        halved_by_square(density * self.inverse_intake_density)
    }

    /// Factor of crowding on laying, likewise, with its own half-effect.
    #[inline(always)]
    pub fn crowded_laying<L: Lane>(&self, density: L) -> L {
        halved_by_square(density * self.inverse_laying_density)
    }

    /// Growth temperature factor phi_T; intake, maintenance and development all scale with it.
    ///
    /// # Units
    /// °C in, share of the rate at 25 °C out
    pub fn temperature_factor(&self, temperature: f64) -> f64 {
        self.growth.at(temperature)
    }

    /// The temperature curve itself.
    pub fn temperature_curve(&self) -> &GrowthCurve {
        &self.growth
    }

    /// Masses of the twelve juvenile sub-stages at full body mass.
    ///
    /// # Units
    /// kg live
    pub fn juvenile_masses(&self) -> &[f64; JUVENILE_STAGES] {
        &self.juvenile_mass
    }

    /// Masses of the ten sub-adult sub-stages at full body mass.
    ///
    /// # Units
    /// kg live
    pub fn subadult_masses(&self) -> &[f64; SUBADULT_STAGES] {
        &self.subadult_mass
    }

    /// Projection matrix of one day with unlimited food and no crowding, 32 by 32; columns are "from".
    ///
    /// Order: cocoons 1-9, juveniles 1-12, sub-adults 1-10, adults.
    ///
    /// # Units
    /// °C in; numbers per number and day out
    /// # Source
    /// The day of [`super::day::day`] at full food, written as a matrix
    pub fn matrix(&self, temperature: f64) -> DMatrix<f64> {
        self.chain_matrix(temperature, [COCOON_STAGES, JUVENILE_STAGES, SUBADULT_STAGES])
    }

    /// The four-by-four form with one class per stage, for checks. It overstates growth, since some worms then mature in three days.
    ///
    /// # Units
    /// °C in; numbers per number and day out
    pub fn one_class_matrix(&self, temperature: f64) -> DMatrix<f64> {
        self.chain_matrix(temperature, [1, 1, 1])
    }

    /// The same day with any number of cocoon, juvenile and sub-adult sub-stages (0 counts as 1).
    ///
    /// As many sub-stages as days in the stage make a fixed delay.
    ///
    /// # Units
    /// °C in; numbers per number and day out
    pub fn chain_matrix(&self, temperature: f64, stages: [usize; 3]) -> DMatrix<f64> {
        let (classes, adult, laying) = self.linear(temperature, stages);
        let last = classes.iter().map(|class| class.stages).sum::<usize>();
        let mut matrix = DMatrix::zeros(last + 1, last + 1);
        let mut at = 0;
        for (class, offspring) in classes.iter().zip([self.hatchlings_per_cocoon, 1.0, 1.0]) {
            for step in 0..class.stages {
                let passed_on = if step + 1 == class.stages { offspring } else { 1.0 };
                matrix[(at, at)] = class.stay;
                matrix[(at + 1, at)] = class.go * passed_on;
                at += 1;
            }
        }
        matrix[(last, last)] = adult;
        matrix[(0, last)] = laying;
        matrix
    }

    /// Dominant eigenvalue of [`WormRates::matrix`], from the characteristic equation of the chain.
    ///
    /// lambda - s_A = b h m prod_k (s_k p_k / (lambda - s_k (1 - p_k)))^(n_k), one root above every s (1 - p)
    ///
    /// # Units
    /// °C in; 1/d out (factor per day)
    pub fn growth_per_day(&self, temperature: f64) -> f64 {
        let (classes, adult, laying) =
            self.linear(temperature, [COCOON_STAGES, JUVENILE_STAGES, SUBADULT_STAGES]);
        self.chain_root(&classes, adult, laying)
    }

    /// Stable numbers of cocoons, juveniles, sub-adults and adults at unlimited food, sum 1.
    ///
    /// # Units
    /// °C in; numbers per number out
    pub(super) fn stable_numbers(
        &self,
        temperature: f64,
    ) -> ([f64; COCOON_STAGES], [f64; JUVENILE_STAGES], [f64; SUBADULT_STAGES], f64) {
        let (classes, adult, laying) =
            self.linear(temperature, [COCOON_STAGES, JUVENILE_STAGES, SUBADULT_STAGES]);
        let growth = self.chain_root(&classes, adult, laying);
        let mut cocoons = [0.0; COCOON_STAGES];
        let mut juveniles = [0.0; JUVENILE_STAGES];
        let mut subadults = [0.0; SUBADULT_STAGES];
        let reproduces = laying * self.hatchlings_per_cocoon * classes[0].go * classes[1].go * classes[2].go;
        if reproduces <= 0.0 {
            // no worm reaches the next stage: only adults remain
            return (cocoons, juveniles, subadults, 1.0);
        }
        let out = fill(&mut cocoons, classes[0], growth, laying);
        let out = fill(&mut juveniles, classes[1], growth, out * self.hatchlings_per_cocoon);
        fill(&mut subadults, classes[2], growth, out);
        let total =
            1.0 + cocoons.iter().sum::<f64>() + juveniles.iter().sum::<f64>() + subadults.iter().sum::<f64>();
        for number in cocoons.iter_mut().chain(&mut juveniles).chain(&mut subadults) {
            *number /= total;
        }
        (cocoons, juveniles, subadults, total.recip())
    }

    /// Mean size of adults in a stock that grows steadily at full food: of a day's adults the share s_A/lambda has survived and grown, and
    /// the rest has just matured.
    pub(super) fn stable_adult_size(&self, temperature: f64) -> f64 {
        let (_, survive, _) = self.linear(temperature, [1, 1, 1]);
        let old = survive / self.growth_per_day(temperature);
        let step = (self.growth.at(temperature) * self.adult_step).min(1.0);
        let grown = old * step * self.given.adult_size_at_full_food;
        (grown + (1.0 - old) * self.young_adult_size) / (1.0 - old * (1.0 - step))
    }

    /// Stay and go shares of the three chained stages, adult survival, and cocoons laid per adult.
    fn linear(&self, temperature: f64, stages: [usize; 3]) -> ([Class; 3], f64, f64) {
        let given = &self.given;
        let stages = stages.map(|number| number.max(1));
        let advance = advance_rates(given, stages);
        let growth = self.growth.at(temperature);
        let heat = heat_deaths(given, temperature);
        let cold = cold_deaths(given, temperature);
        let deaths = [
            given.cocoon_death + heat,
            given.juvenile_death + heat + cold,
            given.subadult_death + heat + cold,
            given.adult_death + heat + cold,
        ];
        let class = |stage: usize| {
            let survive = (1.0 - deaths[stage]).max(0.0);
            let share = (advance[stage] * growth).min(1.0);
            Class { stages: stages[stage], stay: survive * (1.0 - share), go: survive * share }
        };
        let laying = given.cocoon_rate * piecewise(&LAYING, temperature);
        ([class(0), class(1), class(2)], (1.0 - deaths[3]).max(0.0), laying)
    }

    /// Bisection on the characteristic equation; the left side rises and the right side falls with lambda.
    fn chain_root(&self, classes: &[Class; 3], adult: f64, laying: f64) -> f64 {
        let excess = |growth: f64| {
            let mut cycle = laying * self.hatchlings_per_cocoon;
            for class in classes {
                let share = class.go / (growth - class.stay);
                for _ in 0..class.stages {
                    cycle *= share;
                }
            }
            growth - adult - cycle
        };
        let mut low = classes.iter().map(|class| class.stay).fold(adult, f64::max);
        // the largest column sum is an upper bound of the root
        let mut high = 1.0 + laying + self.hatchlings_per_cocoon;
        loop {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                return middle;
            }
            if excess(middle) > 0.0 {
                high = middle;
            } else {
                low = middle;
            }
        }
    }
}

/// Numbers along one chained stage at steady growth; returns the number that leave its last sub-stage.
fn fill(numbers: &mut [f64], class: Class, growth: f64, into: f64) -> f64 {
    let mut passing = into;
    for number in numbers {
        *number = passing / (growth - class.stay);
        passing = class.go * *number;
    }
    passing
}

fn advance_rates(given: &WormParameters, stages: [usize; 3]) -> [f64; 3] {
    [
        stages[0] as f64 / given.cocoon_duration,
        stages[1] as f64 / given.juvenile_duration,
        stages[2] as f64 / given.subadult_duration,
    ]
}

fn geometric_masses<const N: usize>(start: f64, end: f64) -> [f64; N] {
    std::array::from_fn(|i| start * (end / start).powf((i as f64 + 0.5) / N as f64))
}

#[cfg(test)]
pub(super) mod tests {
    use super::super::response::REFERENCE_TEMPERATURE;
    use super::*;

    /// Central values of `worms.json`.
    pub(crate) fn central() -> WormParameters {
        WormParameters {
            cocoon_rate: 0.25,
            hatch_share: 0.73,
            hatchlings: 2.7,
            cocoon_duration: 25.0,
            juvenile_duration: 36.0,
            subadult_duration: 29.0,
            cocoon_death: 0.003,
            juvenile_death: 0.010,
            subadult_death: 0.004,
            adult_death: 0.003,
            maximum_intake: 0.75,
            maintenance_intake: 0.14,
            starvation_loss: 0.006,
            condition_time: 10.0,
            laying_half_density: 5.0,
            intake_half_density: 5.0,
            crowding_juvenile_death: 0.0025,
            adult_mass: 5e-4,
            maturity_mass: 3e-4,
            adult_size_at_maintenance: 0.8,
            adult_size_at_full_food: 2.0,
            adult_growth_time: 18.0,
            hatchling_mass: 3e-6,
            juvenile_end_mass: 1.2e-4,
            subadult_end_mass: 3e-4,
            cocoon_mass: 1.43e-5,
            growth_base: -9.0,
            growth_maximum: 37.5,
            low_condition_threshold: 0.4,
            low_condition_death: 0.02,
            heat_death_per_kelvin: 0.01,
            heat_death_above_limit: 0.3,
            cold_death: 0.02,
            acid_death: 0.35,
            alkali_death: 0.35,
            largest_conversion: 0.1,
        }
    }

    #[test]
    fn each_key_is_read_once_into_its_field() {
        let asked = std::cell::RefCell::new(Vec::new());
        let read = WormParameters::from_values(&|key| {
            asked.borrow_mut().push(key.to_owned());
            asked.borrow().len() as f64
        });
        let mut keys = asked.into_inner();
        assert_eq!(keys.len(), 36);
        assert!(keys.iter().all(|key| key.starts_with("worms.")));
        keys.sort();
        keys.dedup();
        assert_eq!(keys.len(), 36);
        assert!((read.cocoon_rate - 1.0).abs() < 1e-12 && (read.largest_conversion - 36.0).abs() < 1e-12);
    }

    #[test]
    fn scalar_root_and_chain_give_the_printed_growth() {
        // worms section 2.3, "bed central": 1.026457
        let rates = WormRates::new(central());
        assert!((rates.growth_per_day(REFERENCE_TEMPERATURE) - 1.026_457).abs() < 5e-7);
    }

    #[test]
    fn stable_numbers_are_an_eigenvector_of_the_matrix() {
        let rates = WormRates::new(central());
        for temperature in [12.0, 25.0, 34.0] {
            let (cocoons, juveniles, subadults, adults) = rates.stable_numbers(temperature);
            let mut all: Vec<f64> = cocoons.iter().chain(&juveniles).chain(&subadults).copied().collect();
            all.push(adults);
            let before = nalgebra::DVector::from_vec(all);
            let after = rates.matrix(temperature) * &before;
            let growth = rates.growth_per_day(temperature);
            assert!((after - before * growth).amax() < 1e-12, "{temperature}");
        }
    }

    #[test]
    fn stable_numbers_sum_to_one_and_are_adults_if_a_stage_is_missing() {
        let all = |given: WormParameters, temperature: f64| {
            let (cocoons, juveniles, subadults, adults) = WormRates::new(given).stable_numbers(temperature);
            [cocoons.iter().sum(), juveniles.iter().sum(), subadults.iter().sum(), adults]
        };
        for temperature in [12.0, 25.0, 34.0] {
            assert!((all(central(), temperature).iter().sum::<f64>() - 1.0).abs() < 1e-12);
        }
        // none laid (and adults that die sooner than the young), none hatched, a stage that never ends
        for given in [
            WormParameters { cocoon_rate: 0.0, adult_death: 0.5, ..central() },
            WormParameters { hatchlings: 0.0, ..central() },
            WormParameters { cocoon_duration: f64::INFINITY, ..central() },
            WormParameters { juvenile_duration: f64::INFINITY, ..central() },
            WormParameters { subadult_duration: f64::INFINITY, ..central() },
        ] {
            assert_eq!(
                all(given, REFERENCE_TEMPERATURE).map(f64::to_bits),
                [0.0, 0.0, 0.0, 1.0].map(f64::to_bits)
            );
        }
    }

    #[test]
    fn without_laying_only_adults_remain() {
        let rates = WormRates::new(WormParameters { cocoon_rate: 0.0, ..central() });
        let (cocoons, _, _, adults) = rates.stable_numbers(REFERENCE_TEMPERATURE);
        assert!(cocoons.iter().all(|&n| n.abs() < 1e-15) && (adults - 1.0).abs() < 1e-15);
        assert!((rates.growth_per_day(REFERENCE_TEMPERATURE) - 0.997).abs() < 1e-12);
    }
}
