//! Integration tests. One line per module says what belongs there.
/// The tables of published numbers: complete, sourced, unchanged.
mod literature;
