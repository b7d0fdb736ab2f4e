//! Twins: sites with hidden rates, weather, intake and luck, and the logs that their people keep.

#![allow(clippy::unwrap_used, reason = "a helper that fails fails its test")]

use crate::fits::HEAD;
use loamledger::chain::{self, Keep, Site};
use loamledger::monte_carlo::generator::{Purpose, named_stream};
use loamledger::monte_carlo::{Days, Study, design};
use loamledger::scenario::{Almanac, Chance, Plan, assemble_on, with_chance};
use loamledger::trace::Trace;
use rand_distr::{Distribution, StandardNormal};
use std::fmt::Write;

/// A site with hidden rates, weather, intake and luck, and the log that its people kept.
pub(crate) struct Twin {
    pub(crate) log: String,
    /// Rates as standard normal numbers, and their values.
    pub(crate) scores: Vec<f64>,
    pub(crate) values: Vec<f64>,
    /// Castings, worms and feed of the days after the log.
    pub(crate) ahead: [f64; 3],
}

/// Seed of the twins.
pub(crate) const TWINS: u64 = 77;

/// How people keep a log.
#[derive(Clone, Copy)]
pub(crate) struct Keeping {
    /// Days of the log.
    pub(crate) days: usize,
    /// What the scale at the gate shows of a kilogram.
    pub(crate) gate: f64,
    /// What the thermometer of the bed room shows above the truth, K; `None` if neither room has one.
    pub(crate) thermometers: Option<f64>,
}

impl Keeping {
    pub(crate) const fn well(days: usize) -> Self {
        Self { days, gate: 1.0, thermometers: Some(0.0) }
    }
}

/// The twin of a seed and a number. `plan` gives the ranges its rates are drawn from, and what it is.
pub(crate) fn twin(plan: &Plan, (seed, number): (u64, u64), keeping: Keeping) -> Twin {
    let study = Study::of(plan).unwrap();
    let block = study.block(seed, design::block_of(number));
    let place = design::place_in_block(number);
    let (scores, draw) = (block.scores(&study, place), block.draw(&study, place));
    let almanac = Almanac::of(plan);
    let (mut site, models) = assemble_on(plan, &almanac, &|key| study.value(&draw, key)).unwrap();
    let days_of = Days::of(plan, seed, number);
    let chance =
        Chance { intake: &days_of.intake, temperature: &days_of.temperature, drum_luck: &days_of.drum_luck };
    with_chance(plan, &almanac, &mut site, &chance);
    let trace = chain::run(&site, &models, Keep::Beds).unwrap();
    let mut noise = named_stream(seed, Purpose::Smoother, "readings", number);
    let mut error = |deviation: f64| {
        let z: f64 = StandardNormal.sample(&mut noise);
        deviation * z
    };
    let mut log = HEAD.to_owned();
    for day in 0..keeping.days {
        let date = trace.daily[day].date;
        let mut line = |what: &str, value: f64, place: &str| {
            let shown = match (what, keeping.thermometers) {
                ("scraps in", _) => keeping.gate * value,
                ("bed room" | "drum room", None) => return,
                ("bed room", Some(off)) => value + off,
                _ => value,
            };
            writeln!(log, "{date},{what},{shown:.4},,{place},").unwrap();
        };
        weighed(&site, &trace, day, &mut error, &mut line);
        measured(&site, &trace, day, &mut error, &mut line);
    }
    let ahead = &trace.daily[keeping.days..];
    let ahead = [
        ahead.iter().map(|day| day.harvested).sum(),
        ahead.last().map_or(0.0, |day| day.stock),
        ahead.iter().map(|day| day.fed).sum(),
    ];
    Twin { log, scores, values: draw.values, ahead }
}

type Line<'a> = dyn FnMut(&str, f64, &str) + 'a;

/// Weighings of a day.
fn weighed(site: &Site, trace: &Trace, day: usize, error: &mut dyn FnMut(f64) -> f64, line: &mut Line<'_>) {
    for stream in site.streams.iter().filter(|stream| stream.amounts[day] > 0.0) {
        line("scraps in", stream.amounts[day] * (1.0 + stream.contamination), &stream.name);
    }
    let fed = trace.daily[day].fed;
    if fed > 0.0 {
        line("feed laid", fed * error(0.03).exp(), "");
    }
    for harvest in trace.tally.harvests.iter().filter(|harvest| harvest.day == day) {
        for bed in harvest.beds.numbers() {
            line("castings taken", harvest.castings.wet() * error(0.05).exp(), &site.beds[bed].name);
        }
    }
}

/// Readings of a day, most once a week.
fn measured(site: &Site, trace: &Trace, day: usize, error: &mut dyn FnMut(f64) -> f64, line: &mut Line<'_>) {
    let record = &trace.daily[day];
    if day % 7 == 3 {
        line("bed room", record.bed_room_temperature, "");
        line("drum room", record.drum_room_temperature, "");
        line("drums in use", (record.drums_in_use + error(1.0)).round().max(0.0), "");
        let bed = (day / 7) % site.beds.len();
        let (read, name) = (trace.beds[day * site.beds.len() + bed], &site.beds[bed].name);
        line("bed temperature", read.temperature + error(0.5), name);
        if day % 14 == 3 {
            line("bed moisture", (read.moisture + error(0.02)).clamp(0.05, 1.0), name);
        }
    }
    if record.drums_opened > 0.0 && day % 7 < 2 {
        line("pH at opening", record.opened_ph + error(0.1), "");
    }
    if day % 28 == 27 && record.stock > 1.0 {
        let area: f64 = site.beds.iter().map(|bed| bed.setup.area).sum();
        line("worms sampled", record.stock / area * error(0.2).exp(), "");
        let young = (record.juveniles + record.subadults) / record.stock;
        line("young worms", (young + error(0.08)).clamp(0.0, 1.0), "");
    }
}
