//! Curing, blending and dispatch of castings.
