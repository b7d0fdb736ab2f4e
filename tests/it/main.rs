//! Integration tests. One line per module says what belongs there.
/// Drums, starter and bran through their whole life.
mod drum_cases;
/// Fermentation against printed cases.
mod fermentation_cases;
/// Central values of the fermentation facts.
mod fermentation_values;
