//! Units wired together.
