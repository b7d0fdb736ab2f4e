//! What is booked: components and gases with their formulas, vectors of them, and the numbers they are made of.

mod component;
pub mod lane;
mod material;

pub use component::{
    COMPONENT_ELEMENTS, COMPONENTS, Component, ELEMENTS, Element, Formula, GAS_ELEMENTS, GASES, Gas, POOLS,
    WITH_FORMULA, atomic_weight,
};
pub use material::{ENTRIES, Elements, Gases, Material, dot, ratio};
