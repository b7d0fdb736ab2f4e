//! Moisture, C:N, porosity and pH of mixes, and amounts for targets.
//!
//! Masses add; moisture and C:N follow from the sums and are never averaged. Bulk volumes add after each part has lost
//! the loose volume it does not keep when wetted. Every target is one linear row in the masses, so amounts are solved.

use crate::component::Component;
use crate::component::Element;
use crate::material::Material;
use crate::material::ratio;
use crate::process::acidity::AcidConstants;
use crate::process::acidity::Surrounds;
use crate::process::acidity::ph;
use nalgebra::DMatrix;
use nalgebra::DVector;
use std::fmt;

/// Density of water. # Units: kg/m3 # Source: convention, as in Haug's form.
pub const WATER_DENSITY: f64 = 1000.0;
/// A row counts as met when its residual is below this share of the sum of its terms; far above rounding, far below use.
const MET: f64 = 1e-9;

/// Particle densities of the solids.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolidDensities {
    /// Organic matter. # Units: kg/m3
    pub organic: f64,
    /// Ash. # Units: kg/m3
    pub ash: f64,
}

impl SolidDensities {
    /// Reads the densities by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self { organic: get("feedstocks.organic_solid_density"), ash: get("feedstocks.ash_solid_density") }
    }

    /// Volume of solids in a material. # Units: m3
    pub fn solid_volume(&self, m: &Material) -> f64 {
        (m.dry() - m.ash()) / self.organic + m.ash() / self.ash
    }
}

/// Loose volume that stays when bulking is wetted in a mix. # Units: m3/m3
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeptVolumes {
    /// Shredded cardboard, newsprint, leaves, straw.
    pub fibrous: f64,
    /// Wood chips, sawdust, coir, compost.
    pub granular: f64,
}

impl KeptVolumes {
    /// Reads the shares by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            fibrous: get("feedstocks.kept_volume_fibrous"),
            granular: get("feedstocks.kept_volume_granular"),
        }
    }
}

/// Air-filled porosity of a bulk by Haug's form.
///
/// ```text
/// f = 1 - rho_dry (1/rho_solid + w/rho_water)
/// ```
///
/// `dry_bulk_density` in kg/m3, `solid_density` in kg/m3, `water` in kg per kg dry mass. # Units: m3/m3
/// # Source
/// Haug 1993, from memory.
pub fn air_filled_porosity(dry_bulk_density: f64, solid_density: f64, water: f64) -> f64 {
    1.0 - dry_bulk_density * (1.0 / solid_density + water / WATER_DENSITY)
}

/// Something that goes into a mix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// One kilogram, wet. # Units: kg
    pub per_kilogram: Material,
    /// Bulk density as is. # Units: kg/m3
    pub bulk_density: f64,
    /// Share of loose volume that stays when wetted in a mix; 0 for what only fills pores. # Units: m3/m3
    pub kept_volume: f64,
}

impl Part {
    /// Water: fills pores, so it brings no volume of its own until they are full.
    pub fn water() -> Self {
        let per_kilogram = Material::of(Component::Water, 1.0);
        Self { per_kilogram, bulk_density: WATER_DENSITY, kept_volume: 0.0 }
    }

    /// A material whose volume is of no interest.
    fn of_mass(per_kilogram: &Material) -> Self {
        Self { per_kilogram: *per_kilogram, bulk_density: WATER_DENSITY, kept_volume: 1.0 }
    }

    /// Volume a kilogram takes in a mix. # Units: m3/kg
    pub fn volume(&self) -> f64 {
        self.kept_volume / self.bulk_density
    }

    /// Volume of solids and water in a kilogram. # Units: m3/kg
    pub fn full_volume(&self, densities: &SolidDensities) -> f64 {
        densities.solid_volume(&self.per_kilogram) + self.per_kilogram.water() / WATER_DENSITY
    }
}

/// A mix of parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mixture {
    /// What is in it. # Units: kg
    pub material: Material,
    /// Bulk volume; never less than that of solids and water. # Units: m3
    pub volume: f64,
    /// Volume of solids and water. # Units: m3
    pub full_volume: f64,
}

impl Mixture {
    /// Mixes so many kilograms of each part.
    pub fn of(parts: &[(Part, f64)], densities: &SolidDensities) -> Self {
        let material: Material = parts.iter().map(|(p, kg)| p.per_kilogram * *kg).sum();
        let full_volume = parts.iter().map(|(p, kg)| p.full_volume(densities) * kg).sum::<f64>();
        let loose = parts.iter().map(|(p, kg)| p.volume() * kg).sum::<f64>();
        Self { material, volume: loose.max(full_volume), full_volume }
    }

    /// Water share of wet mass. # Units: kg/kg
    pub fn moisture(&self) -> f64 {
        self.material.moisture()
    }

    /// Carbon to nitrogen ratio; 0 without nitrogen. # Units: kg/kg
    pub fn carbon_to_nitrogen(&self) -> f64 {
        self.material.carbon_to_nitrogen()
    }

    /// Bulk density. # Units: kg/m3
    pub fn bulk_density(&self) -> f64 {
        ratio(self.material.wet(), self.volume)
    }

    /// Share of the bulk volume filled with air. # Units: m3/m3
    pub fn air_filled_porosity(&self) -> f64 {
        if self.volume > 0.0 { 1.0 - self.full_volume / self.volume } else { 0.0 }
    }

    /// pH by charge balance, bicarbonate left out.
    pub fn ph(&self, acids: &AcidConstants, temperature: f64) -> f64 {
        ph(&self.material, acids, &Surrounds::acid_store(temperature), 7.0)
    }
}

/// Mean of a property that mixes by bulk volume, such as the conductivity of an extract. 0 for no volume.
pub fn mean_by_volume(parts: &[(Part, f64)], values: &[f64]) -> f64 {
    let volume = parts.iter().map(|(p, kg)| p.volume() * kg).sum::<f64>();
    ratio(parts.iter().zip(values).map(|((p, kg), v)| p.volume() * kg * v).sum(), volume)
}

/// What a target is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Water share of wet mass. # Units: kg/kg
    Moisture,
    /// Carbon to nitrogen ratio. # Units: kg/kg
    CarbonToNitrogen,
    /// Air-filled porosity. # Units: m3/m3
    AirFilledPorosity,
}

impl Measure {
    /// Name in files and messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Moisture => "moisture",
            Self::CarbonToNitrogen => "carbon_to_nitrogen",
            Self::AirFilledPorosity => "air_filled_porosity",
        }
    }

    /// The measure as amount and reference of one kilogram: its value is amount / reference, and both add.
    fn terms(self, part: &Part, densities: &SolidDensities) -> (f64, f64) {
        let m = &part.per_kilogram;
        match self {
            Self::Moisture => (m.water(), m.wet()),
            Self::CarbonToNitrogen => (m.element(Element::Carbon), m.element(Element::Nitrogen)),
            Self::AirFilledPorosity => (part.volume() - part.full_volume(densities), part.volume()),
        }
    }

    /// Value of a mix.
    pub fn of(self, mixture: &Mixture) -> f64 {
        match self {
            Self::Moisture => mixture.moisture(),
            Self::CarbonToNitrogen => mixture.carbon_to_nitrogen(),
            Self::AirFilledPorosity => mixture.air_filled_porosity(),
        }
    }
}

/// How a target binds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sense {
    /// Equal to the value.
    Exactly,
    /// The value or more.
    AtLeast,
    /// The value or less.
    AtMost,
}

/// A target for a mix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// What it is about.
    pub measure: Measure,
    /// How it binds.
    pub sense: Sense,
    /// Value.
    pub value: f64,
}

impl Target {
    /// A target.
    pub const fn new(measure: Measure, sense: Sense, value: f64) -> Self {
        Self { measure, sense, value }
    }

    /// What one kilogram adds to the surplus over the target.
    fn surplus(&self, part: &Part, densities: &SolidDensities) -> f64 {
        let (amount, reference) = self.measure.terms(part, densities);
        amount - self.value * reference
    }

    fn possible(&self) -> bool {
        match self.measure {
            Measure::Moisture | Measure::AirFilledPorosity => self.value >= 0.0 && self.value < 1.0,
            Measure::CarbonToNitrogen => self.value > 0.0 && self.value.is_finite(),
        }
    }

    /// Whether a surplus (with the sum of its terms' sizes) meets the target.
    fn met(&self, surplus: f64, size: f64) -> bool {
        let slack = MET * size;
        match self.sense {
            Sense::Exactly => surplus.abs() <= slack,
            Sense::AtLeast => surplus >= -slack,
            Sense::AtMost => surplus <= slack,
        }
    }
}

/// Why amounts cannot be found.
#[derive(Debug, Clone, PartialEq)]
pub enum RecipeError {
    /// A target value that no mix can have.
    Impossible(Target),
    /// Nothing to start from: the fixed parts weigh nothing, or a mass is negative.
    NothingFixed,
    /// One target cannot be reached with the free parts; `best` is the nearest value any of them (or the fixed parts
    /// alone) stands at, approached but not reached by ever larger amounts.
    Unreachable {
        /// The target.
        target: Target,
        /// Nearest value, `None` if no part has one.
        best: Option<f64>,
    },
    /// Each target can be reached, but not all in one mix.
    NotTogether,
}

impl fmt::Display for RecipeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Impossible(t) => write!(f, "{} of {} is not possible", t.measure.name(), t.value),
            Self::NothingFixed => {
                write!(f, "the given parts weigh nothing, so there is no amount to solve for")
            }
            Self::Unreachable { target, best } => {
                write!(f, "{} of {} cannot be reached", target.measure.name(), target.value)?;
                best.map_or(Ok(()), |b| write!(f, ", the best these parts allow is {b:.4}"))
            }
            Self::NotTogether => write!(f, "each target can be reached, but not all of them in one mix"),
        }
    }
}

impl std::error::Error for RecipeError {}

/// Least total mass of the free parts that brings the fixed parts to every target. # Units: kg, one per free part
///
/// Targets are linear in the masses, so the least amounts stand at a corner where as many targets bind as parts are used;
/// the corners are few and all are tried.
///
/// # Errors
/// [`RecipeError`] when nothing is fixed, a target is not possible, or targets cannot be reached.
pub fn least_amounts(
    fixed: &[(Part, f64)],
    free: &[Part],
    targets: &[Target],
    densities: &SolidDensities,
) -> Result<Vec<f64>, RecipeError> {
    if let Some(t) = targets.iter().find(|t| !t.possible()) {
        return Err(RecipeError::Impossible(*t));
    }
    if fixed.iter().any(|(_, kg)| *kg < 0.0) || fixed.iter().all(|(_, kg)| *kg <= 0.0) {
        return Err(RecipeError::NothingFixed);
    }
    if let Some(found) = System::new(fixed, free, targets, densities).least() {
        return Ok(found);
    }
    for target in targets {
        let alone = std::slice::from_ref(target);
        if System::new(fixed, free, alone, densities).least().is_none() {
            let best = best_value(fixed, free, target, densities);
            return Err(RecipeError::Unreachable { target: *target, best });
        }
    }
    Err(RecipeError::NotTogether)
}

/// The value nearest to a target among the fixed mix and each free part.
fn best_value(
    fixed: &[(Part, f64)],
    free: &[Part],
    target: &Target,
    densities: &SolidDensities,
) -> Option<f64> {
    let whole = fixed.iter().fold((0.0, 0.0), |(a, r), (p, kg)| {
        let (amount, reference) = target.measure.terms(p, densities);
        (a + amount * kg, r + reference * kg)
    });
    std::iter::once(whole)
        .chain(free.iter().map(|p| target.measure.terms(p, densities)))
        .filter(|(_, reference)| *reference > 0.0)
        .map(|(amount, reference)| amount / reference)
        .min_by(|a, b| (a - target.value).abs().total_cmp(&(b - target.value).abs()))
}

/// Targets as rows: surplus of the fixed parts and of a kilogram of each free part.
struct System<'a> {
    targets: &'a [Target],
    given: DVector<f64>,
    given_size: DVector<f64>,
    rows: DMatrix<f64>,
}

impl<'a> System<'a> {
    fn new(fixed: &[(Part, f64)], free: &[Part], targets: &'a [Target], densities: &SolidDensities) -> Self {
        let terms = |t: &Target| fixed.iter().map(|(p, kg)| t.surplus(p, densities) * kg).collect::<Vec<_>>();
        let given = targets.iter().map(|t| terms(t).iter().sum()).collect::<Vec<f64>>();
        let size = targets.iter().map(|t| terms(t).iter().map(|x| x.abs()).sum()).collect::<Vec<f64>>();
        Self {
            targets,
            given: DVector::from_vec(given),
            given_size: DVector::from_vec(size),
            rows: DMatrix::from_fn(targets.len(), free.len(), |r, c| targets[r].surplus(&free[c], densities)),
        }
    }

    /// Least amounts, or `None` when no amounts meet the targets.
    fn least(&self) -> Option<Vec<f64>> {
        let (count, parts) = self.rows.shape();
        let mut best: Option<Vec<f64>> = None;
        for used in 0..=count.min(parts) {
            for columns in choices(parts, used) {
                for rows in choices(count, used) {
                    let Some(amounts) = self.corner(&rows, &columns) else { continue };
                    let total = amounts.iter().sum::<f64>();
                    if best.as_ref().is_none_or(|b| total < b.iter().sum::<f64>()) {
                        best = Some(amounts);
                    }
                }
            }
        }
        best
    }

    /// Amounts at which the chosen rows bind and only the chosen parts are used, if they meet every target.
    fn corner(&self, rows: &[usize], columns: &[usize]) -> Option<Vec<f64>> {
        let n = rows.len();
        let mut amounts = vec![0.0; self.rows.ncols()];
        if n > 0 {
            let matrix = DMatrix::from_fn(n, n, |i, j| self.rows[(rows[i], columns[j])]);
            let right = DVector::from_fn(n, |i, _| -self.given[rows[i]]);
            let solved = matrix.full_piv_lu().solve(&right)?;
            for (&c, &x) in columns.iter().zip(solved.iter()) {
                if !x.is_finite() || x < 0.0 {
                    return None;
                }
                amounts[c] = x;
            }
        }
        let all_met = self.targets.iter().enumerate().all(|(r, t)| {
            let terms = amounts.iter().enumerate().map(|(c, x)| self.rows[(r, c)] * x);
            let (sum, size) = terms.fold((0.0, 0.0), |(s, z): (f64, f64), v| (s + v, z + v.abs()));
            t.met(self.given[r] + sum, self.given_size[r] + size)
        });
        all_met.then_some(amounts)
    }
}

/// Every choice of `k` out of `n` places, in order.
fn choices(n: usize, k: usize) -> Vec<Vec<usize>> {
    if k == 0 {
        return vec![Vec::new()];
    }
    (k - 1..n)
        .flat_map(|last| {
            choices(last, k - 1).into_iter().map(move |mut c| {
                c.push(last);
                c
            })
        })
        .collect()
}

/// Kilograms of a second material that bring one kilogram of a first to a moisture. # Units: kg/kg
///
/// ```text
/// Q2 = Q1 (M - m1) / (m2 - M)
/// ```
///
/// # Errors
/// [`RecipeError::Unreachable`] when the second lies on the same side of the target.
pub fn second_for_moisture(first: &Material, second: &Material, moisture: f64) -> Result<f64, RecipeError> {
    one_exactly(first, second, Target::new(Measure::Moisture, Sense::Exactly, moisture))
}

/// Kilograms of a second material that bring one kilogram of a first to a C:N. # Units: kg/kg
///
/// ```text
/// Q2 = Q1 N1 (R - C1/N1)(1 - m1) / [N2 (C2/N2 - R)(1 - m2)]
/// ```
///
/// # Errors
/// [`RecipeError::Unreachable`] when the second lies on the same side of the target.
pub fn second_for_carbon_to_nitrogen(
    first: &Material,
    second: &Material,
    wanted: f64,
) -> Result<f64, RecipeError> {
    one_exactly(first, second, Target::new(Measure::CarbonToNitrogen, Sense::Exactly, wanted))
}

/// Moisture and C:N do not depend on particle densities; water's stands in.
const NO_VOLUME: SolidDensities = SolidDensities { organic: WATER_DENSITY, ash: WATER_DENSITY };

fn one_exactly(first: &Material, second: &Material, target: Target) -> Result<f64, RecipeError> {
    let fixed = [(Part::of_mass(first), 1.0 / first.wet())];
    let free = [Part::of_mass(&(*second * (1.0 / second.wet())))];
    Ok(least_amounts(&fixed, &free, &[target], &NO_VOLUME)?[0])
}

/// Kilograms of two further materials (one may be water) that bring one kilogram of a first to a moisture and a C:N at
/// once. # Units: kg/kg
///
/// # Errors
/// [`RecipeError`] when one target, or both together, cannot be reached.
pub fn two_for_moisture_and_carbon_to_nitrogen(
    first: &Material,
    others: [&Material; 2],
    moisture: f64,
    wanted: f64,
) -> Result<[f64; 2], RecipeError> {
    let fixed = [(Part::of_mass(first), 1.0 / first.wet())];
    let free = others.map(|m| Part::of_mass(&(*m * (1.0 / m.wet()))));
    let targets = [
        Target::new(Measure::Moisture, Sense::Exactly, moisture),
        Target::new(Measure::CarbonToNitrogen, Sense::Exactly, wanted),
    ];
    let found = least_amounts(&fixed, &free, &targets, &NO_VOLUME)?;
    Ok([found[0], found[1]])
}

/// What paste must reach with bulking.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BulkingTargets {
    /// Air-filled porosity or more. # Units: m3/m3
    pub air_filled_porosity: Option<f64>,
    /// C:N or more. # Units: kg/kg
    pub carbon_to_nitrogen: Option<f64>,
}

/// Bulking for paste.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recipe {
    /// Bulking per paste. # Units: kg/kg wet
    pub bulking_per_paste: f64,
    /// The mix of one kilogram of paste with its bulking.
    pub reached: Mixture,
    /// The target that sets the amount; `None` when the paste meets all by itself.
    pub binding: Option<Measure>,
}

/// Least bulking that brings paste to an air-filled porosity and a C:N.
///
/// # Errors
/// [`RecipeError::Unreachable`] when a target cannot be reached with this bulking, with the best reachable value.
pub fn bulking_for(
    paste: &Part,
    bulking: &Part,
    wanted: &BulkingTargets,
    densities: &SolidDensities,
) -> Result<Recipe, RecipeError> {
    let targets = [
        wanted.air_filled_porosity.map(|v| Target::new(Measure::AirFilledPorosity, Sense::AtLeast, v)),
        wanted.carbon_to_nitrogen.map(|v| Target::new(Measure::CarbonToNitrogen, Sense::AtLeast, v)),
    ];
    let mut least = 0.0;
    let mut binding = None;
    for target in targets.iter().flatten() {
        let alone = std::slice::from_ref(target);
        let amount = least_amounts(&[(*paste, 1.0)], &[*bulking], alone, densities)?[0];
        if amount > least {
            least = amount;
            binding = Some(target.measure);
        }
    }
    let reached = Mixture::of(&[(*paste, 1.0), (*bulking, least)], densities);
    Ok(Recipe { bulking_per_paste: least, reached, binding })
}
