//! Integration tests. One line per module says what belongs there.
/// The worm model and its projection matrices against published and derived cases of facts `worms`.
mod worm_cases;
