//! Warnings as typed values.
