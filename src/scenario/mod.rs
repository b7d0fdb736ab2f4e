//! Choices of a site, read from a scenario file.
