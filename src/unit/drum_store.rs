//! The store of sealed drums.
