//! Benchmarks of one bed-day and one simulated year.

fn main() {
    divan::main();
}
