//! Amounts that bring a mix to targets.
//!
//! Every target is linear in the masses, so amounts are solved for, not searched.

use crate::matter::Material;
use crate::process::recipe::{Mixture, RecipeMeasure, RecipePart, SolidDensities};
use crate::quantity::constant::WATER_DENSITY;
use nalgebra::{DMatrix, DVector};
use std::fmt;

/// A target counts as met if its residual is below this share of the sum of its terms. Source: our choice, far above rounding and far
/// below any use.
const MET: f64 = 1e-9;

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
pub struct RecipeTarget {
    /// The property.
    pub measure: RecipeMeasure,
    /// How it binds.
    pub sense: Sense,
    /// Value.
    pub value: f64,
}

impl RecipeTarget {
    /// A target.
    pub const fn new(measure: RecipeMeasure, sense: Sense, value: f64) -> Self {
        Self { measure, sense, value }
    }

    /// Surplus over the target that one kilogram adds.
    fn surplus(&self, part: &RecipePart, densities: &SolidDensities) -> f64 {
        let (amount, reference) = self.measure.terms(part, densities);
        amount - self.value * reference
    }

    /// Whether any mix can meet the target. Air-filled porosity is never negative, although the linear sum of parts that flow
    /// into pores can be.
    fn always_met(&self) -> bool {
        self.measure == RecipeMeasure::AirFilledPorosity && self.sense == Sense::AtLeast && self.value <= 0.0
    }

    fn possible(&self) -> bool {
        match self.measure {
            RecipeMeasure::Moisture | RecipeMeasure::AirFilledPorosity => {
                self.value >= 0.0 && self.value < 1.0
            }
            RecipeMeasure::CarbonToNitrogen => self.value > 0.0 && self.value.is_finite(),
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

/// Why no amounts meet the targets.
#[derive(Debug, Clone, PartialEq)]
pub enum RecipeError {
    /// A target value that no mix can have.
    Impossible(RecipeTarget),
    /// The fixed parts weigh nothing, or a mass is negative.
    NothingFixed,
    /// One target cannot be reached with the free parts; `best` is the nearest value of any of them, or of the fixed parts
    /// alone. Ever larger amounts approach it.
    Unreachable {
        /// The target.
        target: RecipeTarget,
        /// Nearest value; None if no part has one.
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

/// Masses of the free parts, kg, of the least total that brings the fixed parts to every target.
///
/// Targets are linear in the masses, so the least amounts are at a corner where as many targets bind as parts are used.
/// the corners are few and all are tried.
///
/// # Errors
/// [`RecipeError`] if nothing is fixed, a target is not possible, or targets cannot be reached.
pub fn least_amounts(
    fixed: &[(RecipePart, f64)],
    free: &[RecipePart],
    targets: &[RecipeTarget],
    densities: &SolidDensities,
) -> Result<Vec<f64>, RecipeError> {
    if let Some(t) = targets.iter().find(|t| !t.possible()) {
        return Err(RecipeError::Impossible(*t));
    }
    if fixed.iter().any(|(_, kg)| *kg < 0.0) || fixed.iter().all(|(_, kg)| *kg <= 0.0) {
        return Err(RecipeError::NothingFixed);
    }
    let targets: Vec<RecipeTarget> = targets.iter().copied().filter(|t| !t.always_met()).collect();
    if let Some(found) = System::new(fixed, free, &targets, densities).least() {
        return Ok(found);
    }
    for target in &targets {
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
    fixed: &[(RecipePart, f64)],
    free: &[RecipePart],
    target: &RecipeTarget,
    densities: &SolidDensities,
) -> Option<f64> {
    let whole = fixed.iter().fold((0.0, 0.0), |(a, r), (p, kg)| {
        let (amount, reference) = target.measure.terms(p, densities);
        (a + amount * kg, r + reference * kg)
    });
    std::iter::once(whole)
        .chain(free.iter().map(|p| target.measure.terms(p, densities)))
        .filter(|(_, reference)| *reference > 0.0)
        // full pores hold no air, never less
        .map(|(amount, reference)| (amount / reference).max(0.0))
        .min_by(|a, b| (a - target.value).abs().total_cmp(&(b - target.value).abs()))
}

/// Targets as rows: surplus of the fixed parts and of a kilogram of each free part.
struct System<'a> {
    targets: &'a [RecipeTarget],
    given: DVector<f64>,
    given_size: DVector<f64>,
    rows: DMatrix<f64>,
}

impl<'a> System<'a> {
    fn new(
        fixed: &[(RecipePart, f64)],
        free: &[RecipePart],
        targets: &'a [RecipeTarget],
        densities: &SolidDensities,
    ) -> Self {
        let terms =
            |t: &RecipeTarget| fixed.iter().map(|(p, kg)| t.surplus(p, densities) * kg).collect::<Vec<_>>();
        let given = targets.iter().map(|t| terms(t).iter().sum()).collect::<Vec<f64>>();
        let size = targets.iter().map(|t| terms(t).iter().map(|x| x.abs()).sum()).collect::<Vec<f64>>();
        Self {
            targets,
            given: DVector::from_vec(given),
            given_size: DVector::from_vec(size),
            rows: DMatrix::from_fn(targets.len(), free.len(), |r, c| targets[r].surplus(&free[c], densities)),
        }
    }

    /// Least amounts; None if no amounts meet the targets.
    fn least(&self) -> Option<Vec<f64>> {
        let (count, parts) = self.rows.shape();
        let mut best: Option<Vec<f64>> = None;
        for used in 0..=count {
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

/// Mass of a second material that brings one kilogram of a first to a moisture, kg/kg.
///
/// ```text
/// Q2 = Q1 (M - m1) / (m2 - M)
/// ```
///
/// # Errors
/// [`RecipeError::Unreachable`] if the second lies on the same side of the target.
pub fn second_for_moisture(first: &Material, second: &Material, moisture: f64) -> Result<f64, RecipeError> {
    one_exactly(first, second, RecipeTarget::new(RecipeMeasure::Moisture, Sense::Exactly, moisture))
}

/// Mass of a second material that brings one kilogram of a first to a C:N, kg/kg.
///
/// ```text
/// Q2 = Q1 N1 (R - C1/N1)(1 - m1) / [N2 (C2/N2 - R)(1 - m2)]
/// ```
///
/// # Errors
/// [`RecipeError::Unreachable`] if the second lies on the same side of the target.
pub fn second_for_carbon_to_nitrogen(
    first: &Material,
    second: &Material,
    wanted: f64,
) -> Result<f64, RecipeError> {
    one_exactly(first, second, RecipeTarget::new(RecipeMeasure::CarbonToNitrogen, Sense::Exactly, wanted))
}

/// Moisture and C:N do not depend on particle densities, so that of water serves.
const NO_VOLUME: SolidDensities = SolidDensities { organic: WATER_DENSITY, ash: WATER_DENSITY };

fn one_exactly(first: &Material, second: &Material, target: RecipeTarget) -> Result<f64, RecipeError> {
    let fixed = [(RecipePart::of_mass(first), 1.0 / first.wet())];
    let free = [RecipePart::of_mass(&(*second * (1.0 / second.wet())))];
    Ok(least_amounts(&fixed, &free, &[target], &NO_VOLUME)?[0])
}

/// Masses of two further materials (one may be water) that bring one kilogram of a first to a moisture and a C:N at
/// once, kg/kg.
///
/// # Errors
/// [`RecipeError`] if one target, or both together, cannot be reached.
pub fn two_for_moisture_and_carbon_to_nitrogen(
    first: &Material,
    others: [&Material; 2],
    moisture: f64,
    wanted: f64,
) -> Result<[f64; 2], RecipeError> {
    let fixed = [(RecipePart::of_mass(first), 1.0 / first.wet())];
    let free = others.map(|m| RecipePart::of_mass(&(*m * (1.0 / m.wet()))));
    let targets = [
        RecipeTarget::new(RecipeMeasure::Moisture, Sense::Exactly, moisture),
        RecipeTarget::new(RecipeMeasure::CarbonToNitrogen, Sense::Exactly, wanted),
    ];
    let found = least_amounts(&fixed, &free, &targets, &NO_VOLUME)?;
    Ok([found[0], found[1]])
}

/// Targets for paste with bulking.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BulkingTargets {
    /// Least air-filled porosity, m3/m3.
    pub air_filled_porosity: Option<f64>,
    /// Least C:N, kg/kg.
    pub carbon_to_nitrogen: Option<f64>,
}

/// Bulking for paste.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recipe {
    /// Bulking per paste, kg/kg wet.
    pub bulking_per_paste: f64,
    /// The mix of one kilogram of paste with its bulking.
    pub reached: Mixture,
    /// The target that decides the amount; None if paste meets all targets without bulking.
    pub binding: Option<RecipeMeasure>,
}

/// Least mass of one part that raises one kilogram of another to a target or above.
fn least_of_one(
    first: &RecipePart,
    second: &RecipePart,
    target: &RecipeTarget,
    densities: &SolidDensities,
) -> Result<f64, RecipeError> {
    if !target.possible() {
        return Err(RecipeError::Impossible(*target));
    }
    let missing = -target.surplus(first, densities);
    let given = target.surplus(second, densities);
    if missing <= 0.0 || target.always_met() {
        Ok(0.0)
    } else if given > 0.0 {
        Ok(missing / given)
    } else {
        // the general solution gives the best value in reach
        least_amounts(&[(*first, 1.0)], &[*second], std::slice::from_ref(target), densities).map(|a| a[0])
    }
}

/// Least bulking that brings paste to an air-filled porosity and a C:N.
///
/// # Errors
/// [`RecipeError::Unreachable`] if a target cannot be reached with this bulking, with the best reachable value.
pub fn bulking_for(
    paste: &RecipePart,
    bulking: &RecipePart,
    wanted: &BulkingTargets,
    densities: &SolidDensities,
) -> Result<Recipe, RecipeError> {
    let targets = [
        wanted
            .air_filled_porosity
            .map(|v| RecipeTarget::new(RecipeMeasure::AirFilledPorosity, Sense::AtLeast, v)),
        wanted
            .carbon_to_nitrogen
            .map(|v| RecipeTarget::new(RecipeMeasure::CarbonToNitrogen, Sense::AtLeast, v)),
    ];
    let mut least = 0.0;
    let mut binding = None;
    for target in targets.iter().flatten() {
        let amount = least_of_one(paste, bulking, target, densities)?;
        if amount > least {
            least = amount;
            binding = Some(target.measure);
        }
    }
    let reached = Mixture::of(&[(*paste, 1.0), (*bulking, least)], densities);
    Ok(Recipe { bulking_per_paste: least, reached, binding })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matter::{Component, Element};

    #[test]
    fn the_tolerance_of_a_target_is_a_share_of_its_terms() {
        // a billionth of the terms, whether they are tons or grams
        for size in [1e4, 1.0, 1e-4] {
            for (sense, below, above) in
                [(Sense::Exactly, false, false), (Sense::AtLeast, false, true), (Sense::AtMost, true, false)]
            {
                let target = RecipeTarget::new(RecipeMeasure::Moisture, sense, 0.6);
                for within in [-0.9e-9, 0.0, 0.9e-9] {
                    assert!(target.met(within * size, size), "{sense:?} {within} of {size}");
                }
                assert_eq!(target.met(-1.1e-9 * size, size), below, "{sense:?} of {size}");
                assert_eq!(target.met(1.1e-9 * size, size), above, "{sense:?} of {size}");
            }
        }
    }

    fn wet(moisture: f64, nitrogen: f64) -> Material {
        let protein = nitrogen / Component::Protein.elements()[Element::Nitrogen.index()];
        Material::of(Component::Water, moisture)
            + Material::of(Component::Protein, protein)
            + Material::of(Component::Fibre, 1.0 - moisture - protein)
    }

    #[test]
    fn the_nearest_value_is_that_of_the_mix_or_of_a_part() {
        // by hand: 2 kg at 0.5 and 3 kg at 0.6 make 0.56
        let part = |moisture: f64| RecipePart::of_mass(&wet(moisture, 0.0));
        let fixed = [(part(0.5), 2.0), (part(0.6), 3.0)];
        for (free, wanted, nearest) in [(0.3, 0.9, 0.56), (0.7, 0.9, 0.7), (0.7, 0.2, 0.56), (0.4, 0.2, 0.4)]
        {
            let target = RecipeTarget::new(RecipeMeasure::Moisture, Sense::Exactly, wanted);
            match least_amounts(&fixed, &[part(free)], &[target], &NO_VOLUME) {
                Err(RecipeError::Unreachable { best: Some(best), .. }) => {
                    assert!((best - nearest).abs() < 1e-12, "{free} for {wanted}: {best}");
                }
                other => panic!("{free} for {wanted}: {other:?}"),
            }
        }
    }

    #[test]
    fn amounts_are_per_kilogram_for_any_masses() {
        let (first, second, third) = (wet(0.8, 0.01), wet(0.1, 0.001), wet(0.5, 0.002));
        let moist = second_for_moisture(&first, &second, 0.6).unwrap();
        // by hand: (0.6 - 0.8) / (0.1 - 0.6)
        assert!((moist - 0.4).abs() < 1e-9, "{moist}");
        assert!((second_for_moisture(&(first * 5.0), &(second * 3.0), 0.6).unwrap() - moist).abs() < 1e-9);
        // the mix of the result has the target value
        let mix = first + second * 0.5 + third * 0.3;
        let (moisture, wanted) = (mix.moisture(), mix.carbon_to_nitrogen());
        for (a, b, c) in [(1.0, 1.0, 1.0), (7.0, 2.0, 0.3)] {
            let others = [&(second * b), &(third * c)];
            let both =
                two_for_moisture_and_carbon_to_nitrogen(&(first * a), others, moisture, wanted).unwrap();
            assert!((both[0] - 0.5).abs() < 1e-6 && (both[1] - 0.3).abs() < 1e-6, "{both:?}");
        }
    }

    #[test]
    fn zero_mass_and_impossible_porosity_are_refused() {
        let part = RecipePart::of_mass(&wet(0.5, 0.0));
        let exactly = [RecipeTarget::new(RecipeMeasure::Moisture, Sense::Exactly, 0.5)];
        let found = |fixed: &[(RecipePart, f64)]| least_amounts(fixed, &[], &exactly, &NO_VOLUME);
        assert_eq!(found(&[(part, 2.0)]), Ok(Vec::new()));
        for fixed in [&[(part, 2.0), (part, -1.0)][..], &[(part, 0.0)], &[]] {
            assert_eq!(found(fixed), Err(RecipeError::NothingFixed));
        }
        // a loose heap has pores: it always has at least no air, and never at most none
        let (loose, densities) =
            (RecipePart { bulk_density: 100.0, ..part }, SolidDensities { organic: 1550.0, ash: 2500.0 });
        let target = |sense| [RecipeTarget::new(RecipeMeasure::AirFilledPorosity, sense, 0.0)];
        let air = |sense| least_amounts(&[(loose, 1.0)], &[], &target(sense), &densities);
        assert_eq!(air(Sense::AtLeast), Ok(Vec::new()));
        assert!(matches!(air(Sense::AtMost), Err(RecipeError::Unreachable { .. })));
    }

    #[test]
    fn targets_are_met_to_rounding_by_cancelling_and_small_amounts() {
        // the first already has the target moisture, so the water and dry matter added for C:N must keep it
        for n in 0..50 {
            let first = wet(0.6 + 0.003 * f64::from(n), 0.02);
            let (carbon, water) =
                (wet(0.07 + 0.001 * f64::from(n), 0.0), Material::of(Component::Water, 1.0));
            let wanted = (2.0 + 0.1 * f64::from(n)) * first.carbon_to_nitrogen();
            let targets =
                [(RecipeMeasure::Moisture, first.moisture()), (RecipeMeasure::CarbonToNitrogen, wanted)]
                    .map(|(measure, value)| RecipeTarget::new(measure, Sense::Exactly, value));
            for mass in [1.0, 1e-20] {
                let free = [carbon, water].map(|m| RecipePart::of_mass(&m));
                let found =
                    least_amounts(&[(RecipePart::of_mass(&first), mass)], &free, &targets, &NO_VOLUME);
                let found = found.unwrap_or_else(|e| panic!("{n}, {mass} kg: {e}"));
                let mix = first * mass + carbon * found[0] + water * found[1];
                assert!((mix.moisture() - first.moisture()).abs() < 1e-9, "{n}, {mass} kg");
                assert!((mix.carbon_to_nitrogen() / wanted - 1.0).abs() < 1e-9, "{n}, {mass} kg");
            }
        }
    }

    #[test]
    fn impossible_targets_are_refused() {
        for (measure, value, possible) in [
            (RecipeMeasure::Moisture, -0.1, false),
            (RecipeMeasure::Moisture, 0.0, true),
            (RecipeMeasure::Moisture, 1.0, false),
            (RecipeMeasure::CarbonToNitrogen, 0.0, false),
            (RecipeMeasure::CarbonToNitrogen, 25.0, true),
            (RecipeMeasure::CarbonToNitrogen, f64::INFINITY, false),
        ] {
            assert_eq!(
                RecipeTarget::new(measure, Sense::Exactly, value).possible(),
                possible,
                "{measure:?} {value}"
            );
        }
    }
}
