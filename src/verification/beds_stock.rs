//! Castings made, best feed rates and carrying capacity.

use super::trial::{Shelf, held, setup, wetted};
use super::{Case, Relation, Values};
use crate::matter::Material;
use crate::process::worm::Population;
use crate::unit::bed::{Bed, BedModel, BedSetup, Weather};

/// Reason for the tolerances.
const WIDE: &str = "feeds, basis and temperature are only partly reported";

/// Heat transfer of a jar per area of its floor, W/(m2 K): at 78 cm2 filled 10 cm high, walls, floor and top together have six
/// times the area of the floor, at 8 W/(m2 K) each (assumed).
const JAR_HEAT_TRANSFER: f64 = 50.0;

/// Best feed rates and carrying capacity.
pub(super) fn stocks(values: &Values<'_>) -> Vec<Case> {
    [feed_rates(&values.model, &values.shelf), capacity(&values.model, &values.shelf)].concat()
}

/// Castings made.
pub(super) fn castings(Values { model: m, shelf, .. }: &Values<'_>) -> Vec<Case> {
    let coir = shelf.food("coconut_coir");
    let keep = |feed, stocking, ration| held(m, wetted(feed, 0.78), stocking, ration, setup(1.0), coir);
    let layered = keep(shelf.food("horse_manure_bedded"), 1.0, 0.4);
    let straw = shelf.mix(&[("wheat_straw", 0.2), ("grass_clippings", 0.1), ("cattle_manure_solid", 0.5)]);
    let mixed = shelf.mix(&[
        ("fruit_and_vegetable_market", 0.4),
        ("cattle_manure_solid", 0.3),
        ("cardboard_corrugated", 0.3),
    ]);
    let uptake = m.composting.potential_uptake(&layered.last);
    let yadav = |key| {
        let inputs = "faeces layered with castings, a year; bedded horse manure, 1 kg/m2, 0.4 kg/(kg d), wet basis assumed";
        Case::of(key, "yadav_2010", inputs)
    };
    vec![
        yadav("beds.castings_per_worm")
            .printed(0.30, 2, "kg/(kg d)")
            .within(0.15, "barely inside: salt and free ammonia of manure limit intake to 0.29 kg/(kg d)")
            .ours(layered.castings.wet()),
        yadav("beds.oxygen_uptake_of_castings")
            .printed(0.15, 2, "mg O2/(g VS h)")
            .within(0.075, WIDE)
            .ours(uptake / layered.last.organic() * 1000.0 / 24.0),
        Case::of(
            "beds.castings_per_area",
            "ramnarain_2019",
            "straw, grass and manure, 120 d; 1.6 kg worms/m2 assumed",
        )
        .printed(0.82, 2, "kg/(m2 d)")
        .within(0.41, WIDE)
        .ours(keep(straw, 1.6, 0.6).castings.wet()),
        Case::of(
            "beds.castings_of_a_flow_through_bed",
            "asian_flow_through",
            "paper, dung and vegetables; 1 kg/m2",
        )
        .printed(0.70, 2, "kg/(kg d)")
        .within(0.35, WIDE)
        .ours(keep(mixed, 1.0, 0.75).castings.wet()),
    ]
}

/// Ndegwa et al. 2000, 1.60 kg/m2: stock after 45 days at a feed rate, and the share of dry feed left.
fn at_rate(m: &BedModel, shelf: &Shelf, rate: f64) -> (f64, f64) {
    let mix = shelf.mix(&[("fruit_and_vegetable_market", 0.8), ("cardboard_corrugated", 0.2)]);
    let daily = wetted(mix, 0.8) * (1.6 * rate);
    let coir = wetted(shelf.food("coconut_coir"), 0.75) * 12.5;
    let mut bed = Bed::new(setup(1.0), coir, 0.06, 24.0, Population::from_adults(1.6, &m.worms));
    for _ in 0..45 {
        bed.ready.add(daily, 1.6 * rate / 600.0);
        let _ = bed.day(m, &Weather { temperature: 24.0, humidity: 0.7 }, 1);
    }
    (bed.worms.biomass(&m.worms), bed.ready.matter.dry() / (45.0 * daily.dry()))
}

fn feed_rates(m: &BedModel, shelf: &Shelf) -> Vec<Case> {
    let rates = [0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5];
    let found = rates.map(|rate| at_rate(m, shelf, rate));
    let eaten_up = rates.iter().zip(&found).rev().find(|(_, (_, left))| *left < 0.25);
    let grown = rates.iter().zip(&found).max_by(|(_, one), (_, other)| one.0.total_cmp(&other.0));
    let rate = |of: Option<(&f64, &(f64, f64))>| of.map_or(f64::NAN, |(rate, _)| *rate);
    let of = |key, inputs| Case::of(key, "ndegwa_2000", inputs);
    vec![
        of(
            "beds.best_rate_for_castings",
            "largest of the rates from 0.25 to 2.5 that leaves less than a quarter of the feed; 45 d, fruit waste and card assumed",
        )
        .printed(0.75, 2, "kg/(kg d)")
        .within(0.35 * 0.75, WIDE)
        .ours(rate(eaten_up)),
        of("beds.best_rate_for_growth", "the one of these rates at which the stock grows most in 45 d")
            .printed(1.25, 2, "kg/(kg d)")
            .within(0.35 * 1.25, WIDE)
            .ours(rate(grown)),
    ]
}

/// Live worms per area, day by day, in a jar of manure filled once (`renewed` 0) or fed every day, kg wet/(m2 d).
fn jar(m: &BedModel, feed: Material, worms: &Population, renewed: f64, warmth: f64) -> Vec<f64> {
    let small = BedSetup { heat_transfer: Some(JAR_HEAT_TRANSFER), ..setup(1.0) };
    let mut bed = Bed::new(small, Material::zero(), 0.0, warmth, *worms);
    if renewed <= 0.0 {
        bed.ready.add(feed * 32.0, 32.0 / 400.0);
    }
    (0..200)
        .map(|_| {
            bed.ready.add(feed * renewed, renewed / 400.0);
            bed.day(m, &Weather { temperature: warmth, humidity: 0.8 }, 1).worms.biomass_after
        })
        .collect()
}

/// The jar fed every day for the carrying capacity.
pub(super) fn fed_jar(m: &BedModel, shelf: &Shelf) -> Vec<f64> {
    jar(m, shelf.food("horse_manure_bedded"), &Population::from_adults(2.0, &m.worms), 4.0, 24.0)
}

pub(super) fn highest(course: &[f64]) -> f64 {
    course.iter().copied().fold(0.0, f64::max)
}

fn capacity(m: &BedModel, shelf: &Shelf) -> Vec<Case> {
    // the highest of jars with hatchlings that would weigh 0.3 to 4 kg/m2 when grown
    let manure = [0.3, 0.8, 2.0, 4.0].map(|grown| {
        let mut hatchlings = Population::empty();
        hatchlings.juveniles[0] = grown / m.worms.parameters().adult_mass;
        highest(&jar(m, shelf.food("horse_manure_bedded"), &hatchlings, 0.0, 25.0))
    });
    let rich = shelf.mix(&[("fruit_and_vegetable_market", 0.8), ("cardboard_corrugated", 0.2)]);
    let fed = fed_jar(m, shelf);
    // growth in the seven weeks before the stock reaches the published capacity
    let below = fed.iter().take_while(|stock| **stock < 3.96).count();
    let seven_weeks = fed.get(below).zip(below.checked_sub(49).and_then(|day| fed.get(day)));
    let growth = seven_weeks.map_or(f64::NAN, |(end, start)| 1000.0 * (end - start) / 49.0);
    let jars = |key, inputs| Case::of(key, "neuhauser_1980", inputs);
    let fed_jars = |key| {
        Case::of(
            key,
            "production_of_earthworms_1981",
            "fed jars of horse manure at 24 °C; 4 kg/(m2 d) assumed",
        )
    };
    vec![
        jars(
            "beds.capacity_of_manure",
            "250 g horse manure on 78 cm2, 25 °C, highest stock in 200 d of jars with few to many hatchlings",
        )
        .printed(0.77, 2, "kg/m2")
        .within(0.40 * 0.77, WIDE)
        .ours(highest(&manure)),
        jars("beds.capacity_of_rich_feed", "activated sludge; fruit waste and card, 2 kg/(m2 d), assumed")
            .printed(2.95, 2, "kg/m2")
            .bound(Relation::AtLeast)
            .ours(highest(&jar(m, rich, &Population::from_adults(1.0, &m.worms), 2.0, 24.0))),
        fed_jars("beds.carrying_capacity")
            .printed(3.96, 2, "kg/m2")
            .within(0.40 * 3.96, WIDE)
            .ours(highest(&fed)),
        fed_jars("beds.worm_production").printed(17.0, 0, "g/(m2 d)").within(0.40 * 17.0, WIDE).ours(growth),
    ]
}
