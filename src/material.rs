//! Matter that moves: one ordered vector of components with two charge entries, and the gases given off.

use crate::component::{
    COMPONENT_ELEMENTS, COMPONENTS, Component, ELEMENTS, Element, GAS_ELEMENTS, GASES, Gas, POOLS,
    WITH_FORMULA,
};
use nalgebra::SVector;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Index, IndexMut, Mul, Neg, Sub, SubAssign};

/// Length of the booked vector: the components and the two charge entries.
pub const ENTRIES: usize = COMPONENTS + 2;
const BASE: usize = COMPONENTS;
const BUFFER: usize = COMPONENTS + 1;

/// Elements and conserved groups in a body of matter. # Units: kg
pub type Elements = SVector<f64, ELEMENTS>;

/// Wet matter as an ordered vector of components in kilograms, with charge entries that mix and split like masses.
///
/// *base*: net strong cations, eq. *buffer*: slope of the linear buffer, eq per pH unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material(pub SVector<f64, ENTRIES>);

impl Default for Material {
    fn default() -> Self {
        Self::zero()
    }
}

impl Material {
    /// Nothing.
    pub fn zero() -> Self {
        Self(SVector::zeros())
    }

    /// A single component. # Units: kg
    pub fn of(component: Component, mass: f64) -> Self {
        let mut m = Self::zero();
        m[component] = mass;
        m
    }

    /// Wet mass. # Units: kg
    pub fn wet(&self) -> f64 {
        sum(&self.0.as_slice()[..COMPONENTS])
    }

    /// Water. # Units: kg
    pub fn water(&self) -> f64 {
        self[Component::Water]
    }

    /// True dry matter: everything but water. # Units: kg
    pub fn dry(&self) -> f64 {
        self.wet() - self.water()
    }

    /// Organic (volatile) solids: dry matter less ash, nitrate and ammonia. # Units: kg
    pub fn organic(&self) -> f64 {
        POOLS.iter().map(|&c| self[c]).sum::<f64>() + self[Component::Humus]
    }

    /// Ash: phosphorus, potassium, salt and minerals. # Units: kg
    pub fn ash(&self) -> f64 {
        self[Component::Phosphorus]
            + self[Component::Potassium]
            + self[Component::Salt]
            + self[Component::Minerals]
    }

    /// Water share of wet mass; 0 for nothing. # Units: kg/kg
    pub fn moisture(&self) -> f64 {
        ratio(self.water(), self.wet())
    }

    /// Elements. # Units: kg
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

    /// One element. # Units: kg
    pub fn element(&self, element: Element) -> f64 {
        COMPONENT_ELEMENTS.iter().enumerate().map(|(c, row)| self.0[c] * row[element.index()]).sum()
    }

    /// Carbon to nitrogen ratio; 0 when there is no nitrogen. # Units: kg/kg
    pub fn carbon_to_nitrogen(&self) -> f64 {
        ratio(self.element(Element::Carbon), self.element(Element::Nitrogen))
    }

    /// Net strong cations. # Units: eq
    pub fn base(&self) -> f64 {
        self.0[BASE]
    }

    /// Net strong cations, to change. # Units: eq
    pub fn base_mut(&mut self) -> &mut f64 {
        &mut self.0[BASE]
    }

    /// Slope of the linear buffer. # Units: eq per pH unit
    pub fn buffer(&self) -> f64 {
        self.0[BUFFER]
    }

    /// Slope of the linear buffer, to change. # Units: eq per pH unit
    pub fn buffer_mut(&mut self) -> &mut f64 {
        &mut self.0[BUFFER]
    }

    /// Amount of a component that has a formula. # Units: mol
    pub fn moles(&self, component: Component) -> f64 {
        self[component] / component.molar_mass()
    }

    /// Takes a share of every entry away, charge with it, and returns it. # Units: share 0 to 1; kg
    #[must_use = "what is taken must go somewhere"]
    pub fn take_share(&mut self, share: f64) -> Self {
        let part = *self * share.clamp(0.0, 1.0);
        *self -= part;
        part
    }

    /// Takes up to `wet` of wet mass away, in the mix it has, and returns it. # Units: kg
    #[must_use = "what is taken must go somewhere"]
    pub fn take_wet(&mut self, wet: f64) -> Self {
        let have = self.wet();
        if wet >= have {
            return std::mem::take(self);
        }
        self.take_share(wet / have)
    }

    /// Smallest component mass (charge entries left out). # Units: kg
    pub fn smallest(&self) -> f64 {
        self.0.fixed_rows::<COMPONENTS>(0).min()
    }
}

impl Index<Component> for Material {
    type Output = f64;
    fn index(&self, c: Component) -> &f64 {
        &self.0[c.index()]
    }
}

impl IndexMut<Component> for Material {
    fn index_mut(&mut self, c: Component) -> &mut f64 {
        &mut self.0[c.index()]
    }
}

/// Gases given off to the air; oxygen is negative when taken in. # Units: kg
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gases(pub SVector<f64, GASES>);

impl Default for Gases {
    fn default() -> Self {
        Self::zero()
    }
}

impl Gases {
    /// Nothing.
    pub fn zero() -> Self {
        Self(SVector::zeros())
    }

    /// A single gas. # Units: kg
    pub fn of(gas: Gas, mass: f64) -> Self {
        let mut g = Self::zero();
        g[gas] = mass;
        g
    }

    /// Net mass given off. # Units: kg
    pub fn total(&self) -> f64 {
        self.0.sum()
    }

    /// Elements. # Units: kg
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

    /// One element. # Units: kg
    pub fn element(&self, element: Element) -> f64 {
        GAS_ELEMENTS.iter().enumerate().map(|(g, row)| self.0[g] * row[element.index()]).sum()
    }
}

impl Index<Gas> for Gases {
    type Output = f64;
    fn index(&self, g: Gas) -> &f64 {
        &self.0[g.index()]
    }
}

impl IndexMut<Gas> for Gases {
    fn index_mut(&mut self, g: Gas) -> &mut f64 {
        &mut self.0[g.index()]
    }
}

macro_rules! vector_arithmetic {
    ($t:ident) => {
        impl Add for $t {
            type Output = Self;
            #[inline]
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl Sub for $t {
            type Output = Self;
            #[inline]
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl Neg for $t {
            type Output = Self;
            #[inline]
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Mul<f64> for $t {
            type Output = Self;
            #[inline]
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
        impl AddAssign for $t {
            #[inline]
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }
        impl SubAssign for $t {
            #[inline]
            fn sub_assign(&mut self, other: Self) {
                self.0 -= other.0;
            }
        }
        impl Sum for $t {
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                parts.fold(Self::zero(), |a, b| a + b)
            }
        }
    };
}
vector_arithmetic!(Material);
vector_arithmetic!(Gases);

/// `a / b`, or 0 when `b` is not positive: ratios of nothing read as 0.
pub fn ratio(a: f64, b: f64) -> f64 {
    if b > 0.0 { a / b } else { 0.0 }
}

/// Sum in four running sums, which the processor takes side by side.
#[inline]
fn sum(a: &[f64]) -> f64 {
    let (fours, rest) = a.as_chunks::<4>();
    let mut sums = [0.0; 4];
    for x in fours {
        for k in 0..4 {
            sums[k] += x[k];
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest.iter().sum::<f64>()
}

/// Sum of products, taken as `sum` does.
#[inline]
pub fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    let (fours, rest) = a.as_chunks::<4>();
    let (others, other_rest) = b.as_chunks::<4>();
    let mut sums = [0.0; 4];
    for (x, y) in fours.iter().zip(others) {
        for k in 0..4 {
            sums[k] += x[k] * y[k];
        }
    }
    let tail: f64 = rest.iter().zip(other_rest).map(|(x, y)| x * y).sum();
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + tail
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn splitting_keeps_every_entry() {
        let mut m = Material::of(Component::Water, 8.0) + Material::of(Component::Protein, 2.0);
        *m.base_mut() = 0.5;
        *m.buffer_mut() = 0.25;
        let whole = m;
        let part = m.take_wet(2.5);
        assert!((part.wet() - 2.5).abs() < 1e-15);
        assert!((part.base() - 0.125).abs() < 1e-15);
        assert_eq!((m + part).0, whole.0);
        assert!((m.elements().sum() - m.wet()).abs() < 1e-14);
    }

    #[test]
    fn the_smallest_component_is_no_charge() {
        let mut m = Material::of(Component::Water, 8.0) + Material::of(Component::Protein, -0.5);
        *m.base_mut() = -3.0;
        assert_eq!(m.smallest().to_bits(), (-0.5_f64).to_bits());
    }
}
