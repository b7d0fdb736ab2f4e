//! Integration tests. One line per module says what belongs there.
