#![doc = include_str!("mod.md")]

#[doc = include_str!("matter.md")]
pub mod matter {}

#[doc = include_str!("drums.md")]
pub mod drums {}

#[doc = include_str!("beds.md")]
pub mod beds {}

#[doc = include_str!("worms.md")]
pub mod worms {}

#[doc = include_str!("products.md")]
pub mod products {}
