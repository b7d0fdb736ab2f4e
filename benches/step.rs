//! Benchmarks: one bed-day, one simulated year of each worked site, draws of a year on one and two threads.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use loamledger::chain::{self, Models, Site};
use loamledger::monte_carlo::{Draws, Study, Watch, ensemble};
use loamledger::scenario::{Plan, assemble, read_scenario};
use loamledger::unit::bed::{BESIDE, Bed, BedDay, Weather, days};
use std::path::Path;

fn main() {
    divan::main();
}

/// Draws of one sample of [`draws`].
const DRAWS: u64 = 50;

/// The plan of a worked site.
fn plan(name: &str) -> Plan {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name).with_extension("json");
    read_scenario(&path).expect("worked sites read")
}

/// A worked site with its processes.
fn worked(name: &str) -> (Site, Models) {
    assemble(&plan(name)).expect("worked sites assemble")
}

/// One day of beds in full work, worms and all: of one alone, and of as many as are worked on side by side.
#[divan::bench(args = [1, BESIDE])]
fn bed_day(bencher: Bencher<'_, '_>, beds: usize) {
    let (site, models) = worked("harbour_hall");
    let start = &site.beds[0];
    let worms = loamledger::process::worm::Population::at_stable_structure(100.0, &models.bed.worms);
    let mut bed = Bed::new(start.setup, start.bedding, start.volume, 18.0, worms);
    let air = Weather { temperature: 16.0, humidity: 0.75 };
    let feed = site.streams[0].per_kilogram.matter * 20.0;
    for _ in 0..60 {
        bed.feed(feed, 0.03);
        let _ = bed.day(&models.bed, &air, 1);
    }
    bencher.counter(ItemsCount::new(beds)).bench_local(|| {
        let (mut today, mut outs) = ([bed; BESIDE], [BedDay::default(); BESIDE]);
        let mut pairs: [_; BESIDE] = {
            let mut pairs = today.iter_mut().zip(&mut outs);
            std::array::from_fn(|_| pairs.next().expect("as many as beds"))
        };
        days(&mut pairs[..beds], &models.bed, &air, 1);
        black_box(outs)
    });
}

/// One year of a worked site without records of single beds, as an ensemble runs it.
#[divan::bench(args = ["harbour_hall", "mountain_school", "valley_packhouse"])]
fn year(bencher: Bencher<'_, '_>, name: &str) {
    let (site, models) = worked(name);
    bencher.bench_local(|| {
        chain::run(black_box(&site), &models, chain::Keep::Days).expect("the balance closes")
    });
}

/// Draws of a year of Harbour Hall by threads; the items per second are draws per second.
#[divan::bench(args = [1, 2], sample_count = 10)]
fn draws(bencher: Bencher<'_, '_>, threads: usize) {
    let plan = plan("harbour_hall");
    let study = Study::of(&plan).expect("worked sites can be drawn");
    let draws = Draws::first(1, DRAWS, threads);
    bencher
        .counter(ItemsCount::new(DRAWS))
        .bench_local(|| ensemble::run(&plan, &study, black_box(&draws), &Watch::default()));
}
