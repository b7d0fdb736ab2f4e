//! Kinds of solids.

use serde::Deserialize;

/// What kind of solid an ingredient is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SolidKind {
    /// Food scraps, by-products, starter carriers, manures: no humus unless stated.
    Food,
    /// Bulking that softens and settles when it is wetted, such as cardboard, leaves, straw: no humus unless stated.
    Fibrous,
    /// Bulking that keeps its shape when it is wetted, such as wood chips, sawdust, coir: no humus unless stated.
    Granular,
    /// Stabilised matter such as compost: nitrogen sits in humus and protein, no native acid.
    Humified,
}
