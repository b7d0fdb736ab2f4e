//! Readers of results.
