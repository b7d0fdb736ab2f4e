//! Crowded worms: growth, numbers and product against stocking density; cocoons.

use super::beds_stock::{fed_jar, highest};
use super::dish::{Dish, Solutes};
use super::trial::{Shelf, setup, wetted};
use super::{Case, Relation, Values};
use crate::matter::{Component, Elements, Material};
use crate::process::worm::Population;
use crate::unit::bed::{Bed, BedModel, BedSetup, Weather};

pub(super) fn cases(values: &Values<'_>) -> Vec<Case> {
    let m = &values.model;
    let shelf = &values.shelf;
    [starts(m, shelf), growth(m), ceiling(m, shelf), cocoons(m, shelf)].concat()
}

/// What a bed filled once made of its feed.
#[derive(Debug, Clone, Copy)]
struct Made {
    /// Worms at the end, number.
    worms: f64,
    /// Castings, kg wet.
    product: f64,
}

/// A bed of 1 m2 with 25 kg of feed and so many adults, after 120 days.
fn filled_once(m: &BedModel, shelf: &Shelf, adults: f64) -> Made {
    let mix = shelf.mix(&[("wheat_straw", 0.2), ("grass_clippings", 0.4), ("cattle_manure_solid", 0.4)]);
    let made = BedSetup { heat_transfer: Some(super::trial::box_heat_transfer(m, 1.0, 0.07)), ..setup(1.0) };
    let mut bed = Bed::new(made, Material::zero(), 0.0, 25.0, Population::from_adult_count(adults));
    bed.ready.add(wetted(mix, 0.70) * 25.0, 25.0 / 350.0);
    for _ in 0..120 {
        let _ = bed.day(m, &Weather { temperature: 25.0, humidity: 0.7 }, 1);
    }
    Made { worms: bed.worms.worms(), product: bed.castings.matter.wet() }
}

/// Beds of 1 m2 and the same feed, started with 100 and with 250 worms.
fn starts(m: &BedModel, shelf: &Shelf) -> Vec<Case> {
    let [few, many] = [100.0, 250.0].map(|adults| filled_once(m, shelf, adults));
    let inputs = "beds of 1 m2 with one filling, 250 worms at the start over 100; straw, grass and manure, 25 kg, 120 d, 25 °C assumed";
    let wide =
        "feed, species and duration are not in the abstract; straw gave 1.32 where soybean waste gave 1.27";
    let of = |key, printed, ours| {
        Case::of(key, "dharwad_2002", inputs)
            .printed(printed, 2, "many/few")
            .within(0.3 * printed, wide)
            .ours(ours)
    };
    vec![
        of("beds.kept_worms_by_start", 1.27, many.worms / few.worms),
        of("beds.kept_product_by_start", 1.36, many.product / few.product),
        of("beds.kept_product_per_worm_by_start", 0.54, many.product / few.product / 2.5),
    ]
}

/// Neuhauser et al. 1980: mass of worms reared together on rich feed, at the density at which it was highest.
fn growth(m: &BedModel) -> Vec<Case> {
    // hatchlings so many that grown worms would weigh so much per area, after 70 days
    let mean_mass = |density: f64| {
        let mut stock = Population::empty();
        stock.juveniles[0] = density / m.worms.parameters().adult_mass;
        let grown = Dish::rich(Solutes::default(), &stock, 70, 25.0).run(m);
        grown.mass[1] / grown.stock.worms()
    };
    vec![
        Case::of(
            "beds.kept_growth_of_crowded_worms",
            "neuhauser_1980",
            "hatchlings on sludge, 78 cm2, 25 °C: highest mean mass at 3.9 kg/m2 over that at 0.3, published 0.81; unlimited feed and \
             70 d assumed",
        )
        .printed(0.75, 2, "of mass")
        .bound(Relation::AtLeast)
        .ours(mean_mass(3.9) / mean_mass(0.3)),
    ]
}

/// The carrying capacity of fed jars, in doublings.
fn ceiling(m: &BedModel, shelf: &Shelf) -> Vec<Case> {
    let doublings = (highest(&fed_jar(m, shelf)) / 3.96).log2();
    vec![
        Case::of(
            "beds.kept_carrying_capacity",
            "production_of_earthworms_1981",
            "as carrying capacity below: binary logarithm of the highest stock over 3.96 kg/m2",
        )
        .printed(0.0, 0, "doublings")
        .within(1.0, "a factor of two: feeds, basis and temperature are only partly reported")
        .ours(doublings),
    ]
}

/// Cocoons of a stock at its stable structure, and the books of worms and cocoons.
fn cocoons(m: &BedModel, shelf: &Shelf) -> Vec<Case> {
    let masses = Population::at_stable_structure(1.0, &m.worms).masses(&m.worms);
    vec![
        Case::of(
            "beds.kept_mass_of_cocoons",
            "venter_reinecke_1988",
            "cocoons of 14.3 mg over worms, both live, in the stable structure of unlimited growth; 2 to 9 % derived from printed masses",
        )
        .printed(0.055, 3, "kg/kg")
        .within(0.0275, "half of it: the structure of a stock is not published")
        .ours(masses.cocoons / masses.worms()),
        Case::of(
            "beds.kept_books_of_worms",
            "derived_here",
            "largest element gap of a bed fed for 120 d, over what it holds: matter, worms and cocoons",
        )
        .printed(0.0, 0, "kg/kg")
        .within(1e-9, "rounding")
        .ours(largest_gap(m, shelf)),
    ]
}

fn largest_gap(m: &BedModel, shelf: &Shelf) -> f64 {
    let feed = wetted(shelf.mix(&[("food_waste_household", 0.8), ("cardboard_corrugated", 0.2)]), 0.75);
    let coir = wetted(shelf.food("coconut_coir"), 0.75) * 20.0;
    let mut bed = Bed::new(setup(1.0), coir, 0.1, 22.0, Population::from_adults(1.0, &m.worms));
    let holds = |bed: &Bed| -> Elements { bed.contents().elements() + bed.tissue(m).elements() };
    let mut booked = holds(&bed);
    for _ in 0..120 {
        bed.ready.add(feed * 0.5, 0.001);
        let day = bed.day(m, &Weather { temperature: 22.0, humidity: 0.7 }, 1);
        let water = Material::of(Component::Water, day.irrigated);
        booked += (feed * 0.5 + water).elements() - day.gases.elements() - day.drained.elements();
    }
    (holds(&bed) - booked).amax() / booked.amax()
}
