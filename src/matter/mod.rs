//! What is booked: components and gases with their formulas, vectors of them, and the numbers they are made of.

mod analysis;
mod component;
pub mod lane;
mod material;
mod serial;
mod solid_kind;

pub use analysis::{Analysis, Booking, Property};
pub use component::{
    COMPONENT_ELEMENTS, COMPONENTS, Component, ELEMENTS, Element, Formula, GAS_ELEMENTS, GASES, Gas, POOLS,
    WITH_FORMULA, atomic_weight,
};
pub use material::{ENTRIES, Elements, Gases, Material, dot, ratio, sum};
pub use solid_kind::SolidKind;
