//! Drying and screening of harvested castings.
