//! Benchmarks: one bed-day, one drum-store day, one simulated year of each worked site.

use divan::Bencher;
use divan::black_box;
use loamledger::chain;
use loamledger::chain::Models;
use loamledger::chain::Site;
use loamledger::literature;
use loamledger::scenario::Known;
use loamledger::scenario::assemble;
use loamledger::scenario::read_scenario;
use loamledger::unit::bed::Bed;
use loamledger::unit::bed::Weather;
use std::path::Path;

fn main() {
    divan::main();
}

/// A worked site with its processes.
fn worked(name: &str) -> (Site, Models) {
    let ingredients: Vec<&str> = literature::ingredients().iter().map(|i| i.id.as_str()).collect();
    let rates: Vec<&str> = literature::entries().iter().map(|e| e.key.as_str()).collect();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name).with_extension("json");
    let plan =
        read_scenario(&path, Known { ingredients: &ingredients, rates: &rates }).expect("worked sites read");
    assemble(&plan).expect("worked sites assemble")
}

/// One day of one bed in full work, worms and all.
#[divan::bench]
fn bed_day(bencher: Bencher<'_, '_>) {
    let (site, models) = worked("harbour_hall");
    let start = &site.beds[0];
    let worms = loamledger::process::worm::Population::at_stable_structure(100.0, &models.bed.worms);
    let mut bed = Bed::new(start.setup, start.bedding, start.volume, 18.0, worms);
    let air = Weather { temperature: 16.0, humidity: 0.75 };
    let feed = site.streams[0].per_kilogram * 20.0;
    for _ in 0..60 {
        bed.feed(feed, 0.03);
        let _ = bed.day(&models.bed, &air, 1);
    }
    bencher.bench_local(|| {
        let mut today = bed;
        black_box(today.day(&models.bed, &air, 1))
    });
}

/// One year of a worked site without records of single beds, as an ensemble runs it.
#[divan::bench(args = ["harbour_hall", "mountain_school", "valley_packhouse"])]
fn year(bencher: Bencher<'_, '_>, name: &str) {
    let (site, models) = worked(name);
    bencher.bench_local(|| chain::run(black_box(&site), &models, false).expect("the balance closes"));
}
