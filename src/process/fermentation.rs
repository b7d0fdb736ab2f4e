//! Acid fermentation in a closed drum.
