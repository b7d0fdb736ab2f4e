//! Integration tests. One line per module says what belongs there.
/// Screening, drying, product figures, lifting, and conservation through grinder, screen and cure.
mod product_cases;
