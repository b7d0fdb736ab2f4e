//! An uncertain number: central value, range and shape.
