//! pH by one charge balance.
