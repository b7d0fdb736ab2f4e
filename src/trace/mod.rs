//! What happened each day.
