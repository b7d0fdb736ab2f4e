//! Grinder and bulking.
