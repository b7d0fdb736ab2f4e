//! What goes into a drum: matter, with what its fermentation depends on by ingredient.
//!
//! ```text
//! fermentable = a_s sugar + a_r raw starch + a_c cooked starch + a_f fibre        kg, within weeks
//! slow        = (1 - a_c) cooked starch                                            kg, released later at a slow rate
//! liquor      = k_L sum_i w_i V(x_i)  -  q sum_j w_j (r x_j - (1 - x_j))+          kg, x dry matter per wet mass
//! ```
//!
//! Sugar ferments almost wholly, raw starch hardly, cooked starch a little at first and slowly later on; of fibre only some pectin
//! and hemicellulose does. The fibre of a mix is known when it is sealed, so its part is added then (see the drum store); the other
//! parts are known of each ingredient only, and are carried along. So is liquor: each wet ingredient i gives what it would give
//! alone, each dry one j can take up water to r kg per kg of dry matter, at which by-products stop draining, and does so for the part
//! q that the liquor meets (see [`super::liquor`]).

use crate::matter::{Component, Material};
use crate::process::fermentation::FermentationRates;
use crate::process::ingredient::Carbohydrates;
use serde::{Deserialize, Serialize};
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul};

/// Parts of each class of carbohydrate that ferment within weeks, kg/kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FermentableShares {
    /// Of sugar.
    pub sugar: f64,
    /// Of raw starch.
    pub raw_starch: f64,
    /// Of cooked starch.
    pub cooked_starch: f64,
    /// Of fibre: pectin and some hemicellulose.
    pub fibre: f64,
}

impl FermentableShares {
    /// Reads the four shares by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            sugar: get("fermentation.fermentable_sugar_share"),
            raw_starch: get("fermentation.fermentable_raw_starch_share"),
            cooked_starch: get("fermentation.fermentable_cooked_starch_share"),
            fibre: get("fermentation.fermentable_fibre_share"),
        }
    }

    /// What ferments within weeks of so much sugar and starch, and what is released slowly, kg.
    pub fn split(&self, sugars: f64, classes: Carbohydrates) -> [f64; 2] {
        let sugar = classes.free_sugar * sugars;
        let cooked = classes.cooked_starch * (sugars - sugar);
        let raw = sugars - sugar - cooked;
        let quick = self.sugar * sugar + self.raw_starch * raw + self.cooked_starch * cooked;
        [quick, (1.0 - self.cooked_starch) * cooked]
    }
}

impl FermentationRates {
    /// A load of one ingredient.
    pub fn load(&self, matter: Material, classes: Carbohydrates) -> Load {
        let [fermentable, slow] = self.fermentable.split(matter[Component::Sugars], classes);
        Load {
            matter,
            fermentable,
            slow,
            drains: self.liquor.drains(&matter),
            soaks_up: self.liquor.soaks_up(&matter),
        }
    }
}

/// Matter on its way into a drum. All of it adds and splits like masses.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// The matter.
    pub matter: Material,
    /// Sugars and starch that ferment within weeks, kg.
    pub fermentable: f64,
    /// Cooked starch that is released slowly, kg.
    pub slow: f64,
    /// Liquor that its wet ingredients would give as grass in a silo, kg.
    pub drains: f64,
    /// Liquor that its dry ingredients could take up, kg.
    pub soaks_up: f64,
}

impl Load {
    /// Wet mass, kg.
    pub fn wet(&self) -> f64 {
        self.matter.wet()
    }

    /// Removes up to `wet` kilograms at the composition of the whole, and returns them.
    #[must_use = "what is taken must go somewhere"]
    pub fn take_wet(&mut self, wet: f64) -> Self {
        let have = self.wet();
        if wet >= have {
            return std::mem::take(self);
        }
        let share = wet / have;
        let taken = Self { matter: self.matter.take_wet(wet), ..*self * share };
        *self = Self { matter: self.matter, ..*self * (1.0 - share) };
        taken
    }
}

impl Add for Load {
    type Output = Self;
    fn add(mut self, other: Self) -> Self {
        self += other;
        self
    }
}

impl AddAssign for Load {
    fn add_assign(&mut self, other: Self) {
        self.matter += other.matter;
        self.fermentable += other.fermentable;
        self.slow += other.slow;
        self.drains += other.drains;
        self.soaks_up += other.soaks_up;
    }
}

impl Mul<f64> for Load {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self {
            matter: self.matter * factor,
            fermentable: self.fermentable * factor,
            slow: self.slow * factor,
            drains: self.drains * factor,
            soaks_up: self.soaks_up * factor,
        }
    }
}

impl Sum for Load {
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::default(), Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn load(matter: Material, free_sugar: f64, cooked_starch: f64) -> Load {
        let get = |key: &str| crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
        let shares = FermentableShares { sugar: 0.9, raw_starch: 0.05, cooked_starch: 0.1, fibre: 0.02 };
        let rates = FermentationRates { fermentable: shares, ..FermentationRates::from_values(&get) };
        rates.load(matter, Carbohydrates { free_sugar, cooked_starch })
    }

    #[test]
    fn each_class_ferments_by_its_own_share() {
        // by hand: of 100 g, 20 are sugar; of 80 g of starch 60 are cooked: 18 + 1 + 6 = 25 g ferment, and 54 follow slowly
        let matter = Material::of(Component::Water, 0.9) + Material::of(Component::Sugars, 0.1);
        let mixed = load(matter, 0.2, 0.75);
        assert!((mixed.fermentable - 0.025).abs() < 1e-15 && (mixed.slow - 0.054).abs() < 1e-15, "{mixed:?}");
        // raw starch alone hardly ferments and is not released later
        let raw = load(matter, 0.0, 0.0);
        assert!((raw.fermentable - 0.005).abs() < 1e-15 && raw.slow.abs() < 1e-15);
    }

    #[test]
    fn a_load_splits_into_parts_of_one_composition() {
        let matter = Material::of(Component::Water, 6.0) + Material::of(Component::Sugars, 1.0);
        let dry = Material::of(Component::Water, 0.1) + Material::of(Component::Sugars, 0.9);
        let mut rest = load(matter, 0.5, 1.0) + load(dry, 0.5, 1.0);
        let whole = rest;
        let part = rest.take_wet(2.0);
        let parts = |l: &Load| [l.wet(), l.fermentable, l.slow, l.drains, l.soaks_up];
        for (n, whole) in parts(&whole).into_iter().enumerate() {
            assert!((parts(&part)[n] - 0.25 * whole).abs() < 1e-15 && whole > 0.0, "{n} {part:?}");
            assert!((parts(&rest)[n] - 0.75 * whole).abs() < 1e-15, "{n} {rest:?}");
        }
        assert!((rest.take_wet(100.0).wet() - 6.0).abs() < 1e-12);
        assert!(parts(&rest).into_iter().all(|left| left == 0.0));
    }
}
