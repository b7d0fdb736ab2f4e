//! A worm bed.
