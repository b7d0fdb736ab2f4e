//! Matter that moves: one ordered vector of components with three charge entries, and the gases given off.

use crate::matter::lane::Lane;
use crate::matter::{
    COMPONENT_ELEMENTS, COMPONENTS, Component, ELEMENTS, Element, GAS_ELEMENTS, GASES, Gas, POOLS,
    WITH_FORMULA,
};
use nalgebra::SVector;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Index, IndexMut, Mul, Neg, Sub, SubAssign};

/// Length of the booked vector: the components and the three charge entries.
pub const ENTRIES: usize = COMPONENTS + 3;
pub(super) const BASE: usize = COMPONENTS;
pub(super) const BUFFER: usize = COMPONENTS + 1;
pub(super) const CALCIUM: usize = COMPONENTS + 2;

/// Elements and conserved groups in a body of matter, kg.
pub type Elements = SVector<f64, ELEMENTS>;

/// Wet matter as an ordered vector of components in kilograms, with charge entries that mix and split like masses.
///
/// *base*: net strong cations but calcium and magnesium, eq. *buffer*: slope of the linear buffer, eq per pH unit. *calcium*:
/// calcium and magnesium that acid can dissolve, in solution or as carbonate, eq; their mass is in the minerals, and so is that of
/// their carbonate. With a [`Lane`] of several numbers this is several bodies of matter side by side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material<L = f64>(pub [L; ENTRIES]);

impl Default for Material {
    fn default() -> Self {
        Self::zero()
    }
}

impl Material {
    /// Whether there is none of it; most of it is known by its water alone.
    #[inline]
    pub fn is_nothing(&self) -> bool {
        self.water() == 0.0 && self.wet() == 0.0
    }

    /// No matter.
    pub fn zero() -> Self {
        Self::none()
    }

    /// A single component, kg.
    pub fn of(component: Component, mass: f64) -> Self {
        let mut m = Self::zero();
        m[component] = mass;
        m
    }

    /// Organic (volatile) solids: dry matter less ash, nitrate and ammonia, kg.
    pub fn organic(&self) -> f64 {
        POOLS.iter().map(|&c| self[c]).sum::<f64>() + self[Component::Humus]
    }

    /// Ash: phosphorus, potassium, salt and minerals, kg.
    pub fn ash(&self) -> f64 {
        self[Component::Phosphorus]
            + self[Component::Potassium]
            + self[Component::Salt]
            + self[Component::Minerals]
    }

    /// Water share of wet mass, kg/kg; 0 without matter.
    pub fn moisture(&self) -> f64 {
        ratio(self.water(), self.wet())
    }

    /// Elements, kg.
    #[inline(always)]
    pub fn elements(&self) -> Elements {
        let mut formula = [0.0; 4];
        for (c, row) in COMPONENT_ELEMENTS.iter().enumerate().take(WITH_FORMULA) {
            for (sum, share) in formula.iter_mut().zip(row) {
                *sum += self.0[c] * share;
            }
        }
        let [c, h, o, n] = formula;
        Elements::from([
            c,
            h,
            o,
            n,
            self[Component::Phosphorus],
            self[Component::Potassium],
            self[Component::Salt],
            self[Component::Minerals],
        ])
    }

    /// Carbon to nitrogen ratio, kg/kg; 0 without nitrogen.
    pub fn carbon_to_nitrogen(&self) -> f64 {
        ratio(self.element(Element::Carbon), self.element(Element::Nitrogen))
    }

    /// Removes up to `wet` of wet mass, kg, at the composition of the whole, and returns it.
    #[must_use = "what is taken must go somewhere"]
    pub fn take_wet(&mut self, wet: f64) -> Self {
        let have = self.wet();
        if wet >= have {
            return std::mem::take(self);
        }
        self.take_share(wet / have)
    }

    /// Smallest component mass, kg; charge entries do not count.
    pub fn smallest(&self) -> f64 {
        self.0[..COMPONENTS].iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// Largest absolute value of an entry, kg or eq.
    pub fn largest(&self) -> f64 {
        self.0.iter().fold(0.0, |most, x| x.abs().max(most))
    }
}

impl<L: Lane> Material<L> {
    /// Reads the material of each lane.
    #[inline(always)]
    pub fn gather<'a>(each: impl Fn(usize) -> &'a Material) -> Self {
        let mut all = Self::none();
        for (entry, lanes) in all.0.iter_mut().enumerate() {
            *lanes = L::gather(|place| each(place).0[entry]);
        }
        all
    }

    /// Wet mass, kg.
    #[inline(always)]
    pub fn wet(&self) -> L {
        sum(&self.0[..COMPONENTS])
    }

    /// Water, kg.
    #[inline(always)]
    pub fn water(&self) -> L {
        self[Component::Water]
    }

    /// True dry matter, kg: everything but water.
    #[inline(always)]
    pub fn dry(&self) -> L {
        sum(&self.0[Component::Water.index() + 1..COMPONENTS])
    }

    /// One element, kg.
    #[inline(always)]
    pub fn element(&self, element: Element) -> L {
        let mut sum = L::ZERO;
        for (held, row) in self.0.iter().zip(&COMPONENT_ELEMENTS) {
            // most components lack most elements, which is known when this is compiled
            let share = row[element.index()];
            if share != 0.0 {
                sum += *held * share;
            }
        }
        sum
    }

    /// Net strong cations but calcium and magnesium, eq.
    #[inline(always)]
    pub fn base(&self) -> L {
        self.0[BASE]
    }

    /// Net strong cations but calcium and magnesium, eq, mutable.
    #[inline(always)]
    pub fn base_mut(&mut self) -> &mut L {
        &mut self.0[BASE]
    }

    /// Slope of the linear buffer, eq per pH unit.
    #[inline(always)]
    pub fn buffer(&self) -> L {
        self.0[BUFFER]
    }

    /// Slope of the linear buffer, eq per pH unit, mutable.
    #[inline(always)]
    pub fn buffer_mut(&mut self) -> &mut L {
        &mut self.0[BUFFER]
    }

    /// Calcium and magnesium, in solution or as carbonate, eq.
    #[inline(always)]
    pub fn calcium(&self) -> L {
        self.0[CALCIUM]
    }

    /// Calcium and magnesium, in solution or as carbonate, eq, mutable.
    #[inline(always)]
    pub fn calcium_mut(&mut self) -> &mut L {
        &mut self.0[CALCIUM]
    }

    /// Amount of a component that has a formula, mol.
    #[inline(always)]
    pub fn moles(&self, component: Component) -> L {
        self[component] * (1.0 / component.molar_mass())
    }

    /// Removes a share (0 to 1) of every entry, charge included, and returns it.
    #[inline(always)]
    #[must_use = "what is taken must go somewhere"]
    pub fn take_share(&mut self, share: L) -> Self {
        let part = *self * share.clamp(0.0, 1.0);
        *self -= part;
        part
    }
}

impl<L> Index<Component> for Material<L> {
    type Output = L;
    #[inline(always)]
    fn index(&self, c: Component) -> &L {
        &self.0[c.index()]
    }
}

impl<L> IndexMut<Component> for Material<L> {
    #[inline(always)]
    fn index_mut(&mut self, c: Component) -> &mut L {
        &mut self.0[c.index()]
    }
}

/// Gases given off to the air, kg, with as many lanes as [`Material`]. Oxygen taken in is negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gases<L = f64>(pub [L; GASES]);

impl Default for Gases {
    fn default() -> Self {
        Self::zero()
    }
}

impl Gases {
    /// No matter.
    pub fn zero() -> Self {
        Self::none()
    }

    /// A single gas, kg.
    pub fn of(gas: Gas, mass: f64) -> Self {
        let mut g = Self::zero();
        g[gas] = mass;
        g
    }

    /// Net mass given off, kg.
    pub fn total(&self) -> f64 {
        self.0.iter().sum()
    }

    /// Elements, kg.
    #[inline(always)]
    pub fn elements(&self) -> Elements {
        let mut formula = [0.0; 4];
        for (g, row) in GAS_ELEMENTS.iter().enumerate() {
            for (sum, share) in formula.iter_mut().zip(row) {
                *sum += self.0[g] * share;
            }
        }
        let [c, h, o, n] = formula;
        Elements::from([c, h, o, n, 0.0, 0.0, 0.0, 0.0])
    }

    /// One element, kg.
    pub fn element(&self, element: Element) -> f64 {
        GAS_ELEMENTS.iter().enumerate().map(|(g, row)| self.0[g] * row[element.index()]).sum()
    }
}

impl<L> Index<Gas> for Gases<L> {
    type Output = L;
    #[inline(always)]
    fn index(&self, g: Gas) -> &L {
        &self.0[g.index()]
    }
}

impl<L> IndexMut<Gas> for Gases<L> {
    #[inline(always)]
    fn index_mut(&mut self, g: Gas) -> &mut L {
        &mut self.0[g.index()]
    }
}

macro_rules! vector_arithmetic {
    ($t:ident, $length:ident) => {
        impl<L: Lane> $t<L> {
            /// Zero in every lane.
            #[inline(always)]
            pub fn none() -> Self {
                Self([L::ZERO; $length])
            }

            /// Writes the entries of a lane to `there`.
            #[inline(always)]
            pub fn put(&self, place: usize, there: &mut $t) {
                for (entry, lanes) in there.0.iter_mut().zip(&self.0) {
                    *entry = lanes.lane(place);
                }
            }
        }
        impl<L: Lane> Add for $t<L> {
            type Output = Self;
            #[inline(always)]
            fn add(mut self, other: Self) -> Self {
                self += other;
                self
            }
        }
        impl<L: Lane> Sub for $t<L> {
            type Output = Self;
            #[inline(always)]
            fn sub(mut self, other: Self) -> Self {
                self -= other;
                self
            }
        }
        impl<L: Lane> Neg for $t<L> {
            type Output = Self;
            #[inline(always)]
            fn neg(mut self) -> Self {
                for entry in &mut self.0 {
                    *entry = -*entry;
                }
                self
            }
        }
        impl<L: Lane> Mul<L> for $t<L> {
            type Output = Self;
            #[inline(always)]
            fn mul(mut self, factor: L) -> Self {
                for entry in &mut self.0 {
                    *entry = *entry * factor;
                }
                self
            }
        }
        impl<L: Lane> AddAssign for $t<L> {
            #[inline(always)]
            fn add_assign(&mut self, other: Self) {
                for (entry, more) in self.0.iter_mut().zip(other.0) {
                    *entry += more;
                }
            }
        }
        impl<L: Lane> SubAssign for $t<L> {
            #[inline(always)]
            fn sub_assign(&mut self, other: Self) {
                for (entry, less) in self.0.iter_mut().zip(other.0) {
                    *entry -= less;
                }
            }
        }
        impl Sum for $t {
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                parts.fold(Self::zero(), |a, b| a + b)
            }
        }
    };
}
vector_arithmetic!(Material, ENTRIES);
vector_arithmetic!(Gases, GASES);

/// `a / b`, or 0 where `b` is not positive.
#[inline(always)]
pub fn ratio<L: Lane>(a: L, b: L) -> L {
    L::select(b.is_positive(), a / b, L::ZERO)
}

/// Sum by four running sums, which the processor computes side by side.
#[inline(always)]
pub fn sum<L: Lane>(a: &[L]) -> L {
    let (fours, rest) = a.as_chunks::<4>();
    let mut sums = [L::ZERO; 4];
    for x in fours {
        for k in 0..4 {
            sums[k] += x[k];
        }
    }
    let mut total = (sums[0] + sums[1]) + (sums[2] + sums[3]);
    for x in rest {
        total += *x;
    }
    total
}

/// Sum of products, by four running sums as in `sum`.
#[inline(always)]
pub fn dot<L: Lane, const N: usize>(a: &[f64; N], b: &[L; N]) -> L {
    let (fours, rest) = a.as_chunks::<4>();
    let (others, other_rest) = b.as_chunks::<4>();
    let mut sums = [L::ZERO; 4];
    for (x, y) in fours.iter().zip(others) {
        for k in 0..4 {
            sums[k] += y[k] * x[k];
        }
    }
    let mut total = (sums[0] + sums[1]) + (sums[2] + sums[3]);
    for (x, y) in rest.iter().zip(other_rest) {
        total += *y * *x;
    }
    total
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn splitting_conserves_every_entry() {
        let mut m = Material::of(Component::Water, 8.0) + Material::of(Component::Protein, 2.0);
        *m.base_mut() = 0.5;
        *m.buffer_mut() = 0.25;
        *m.calcium_mut() = 1.0;
        let whole = m;
        let part = m.take_wet(2.5);
        assert!((part.wet() - 2.5).abs() < 1e-15);
        assert!((part.base() - 0.125).abs() < 1e-15);
        assert!((part.calcium() - 0.25).abs() < 1e-15);
        assert_eq!((m + part).0.map(f64::to_bits), whole.0.map(f64::to_bits));
        assert!((m.elements().sum() - m.wet()).abs() < 1e-14);
    }

    #[test]
    fn charge_does_not_count_as_the_smallest_component() {
        let mut m = Material::of(Component::Water, 8.0) + Material::of(Component::Protein, -0.5);
        *m.base_mut() = -3.0;
        assert_eq!(m.smallest().to_bits(), (-0.5_f64).to_bits());
    }
}
