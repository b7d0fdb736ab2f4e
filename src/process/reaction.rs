//! Reactions that balance themselves.
