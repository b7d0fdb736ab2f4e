//! Integration tests. One line per module says what belongs there.

/// Scenario files: the worked ones are read, every kind of bad file is told with place, cause and cure.
mod scenario_files;
