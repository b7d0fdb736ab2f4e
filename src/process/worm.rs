//! The daily stage-structured worm model.
