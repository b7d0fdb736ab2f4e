//! Moisture, C:N, porosity and pH of mixes, and amounts for targets.
