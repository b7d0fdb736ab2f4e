//! Integration tests. One line per module says what belongs there.
/// Printed cases of composition, mixing and recipes.
mod mix_cases;
