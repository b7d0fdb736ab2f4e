//! Analyses of an ingredient split into components.
