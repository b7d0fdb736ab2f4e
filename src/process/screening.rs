//! Passage of grains through a screen.
