//! What goes into a drum: matter, with what only its ingredients tell of its fermentation.
//!
//! ```text
//! fermentable = a_s sugar + a_r raw starch + a_c cooked starch + a_f fibre        kg, within weeks
//! slow        = (1 - a_c) cooked starch                                            kg, released later at a slow rate
//! ```
//!
//! Sugar ferments almost wholly, raw starch hardly, cooked starch a little at first and slowly later on; of fibre only some pectin
//! and hemicellulose does. The fibre of a mix is known when it is sealed, so its part is added then (see the drum store); the other
//! parts are known of each ingredient only, and are carried along.

use crate::matter::{Component, Material};
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

    /// A load of one ingredient.
    pub fn load(&self, matter: Material, classes: Carbohydrates) -> Load {
        let sugars = matter[Component::Sugars];
        let sugar = classes.free_sugar * sugars;
        let cooked = classes.cooked_starch * (sugars - sugar);
        let raw = sugars - sugar - cooked;
        Load {
            matter,
            fermentable: self.sugar * sugar + self.raw_starch * raw + self.cooked_starch * cooked,
            slow: (1.0 - self.cooked_starch) * cooked,
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
    }
}

impl Mul<f64> for Load {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self {
            matter: self.matter * factor,
            fermentable: self.fermentable * factor,
            slow: self.slow * factor,
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

    fn shares() -> FermentableShares {
        FermentableShares { sugar: 0.9, raw_starch: 0.05, cooked_starch: 0.1, fibre: 0.02 }
    }

    #[test]
    fn each_class_ferments_by_its_own_share() {
        // by hand: of 100 g, 20 are sugar; of 80 g of starch 60 are cooked: 18 + 1 + 6 = 25 g ferment, and 54 follow slowly
        let matter = Material::of(Component::Water, 0.9) + Material::of(Component::Sugars, 0.1);
        let load = shares().load(matter, Carbohydrates { free_sugar: 0.2, cooked_starch: 0.75 });
        assert!((load.fermentable - 0.025).abs() < 1e-15 && (load.slow - 0.054).abs() < 1e-15, "{load:?}");
        // raw starch alone hardly ferments and is not released later
        let raw = shares().load(matter, Carbohydrates::default());
        assert!((raw.fermentable - 0.005).abs() < 1e-15 && raw.slow.abs() < 1e-15);
    }

    #[test]
    fn a_load_splits_into_parts_of_one_composition() {
        let matter = Material::of(Component::Water, 6.0) + Material::of(Component::Sugars, 2.0);
        let mut load = shares().load(matter, Carbohydrates { free_sugar: 0.5, cooked_starch: 1.0 });
        let whole = load;
        let part = load.take_wet(2.0);
        assert!((part.fermentable - 0.25 * whole.fermentable).abs() < 1e-15);
        assert!((part.slow - 0.25 * whole.slow).abs() < 1e-15 && (part.wet() - 2.0).abs() < 1e-15);
        assert!((load + part + whole * -1.0).matter.largest() < 1e-15);
        assert!((load.fermentable + part.fermentable - whole.fermentable).abs() < 1e-15);
        assert_eq!(load.take_wet(100.0).wet().to_bits(), 6.0_f64.to_bits());
        assert!(load.wet() == 0.0 && load.fermentable == 0.0);
    }
}
