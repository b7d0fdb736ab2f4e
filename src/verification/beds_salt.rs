//! Worms in salty matter.

use super::dish::{Dish, Solutes};
use super::trial::{Shelf, setup, wetted};
use super::{Case, Relation, Values};
use crate::process::worm::Population;
use crate::unit::bed::{Bed, BedModel, BedSetup, MoistureBand, Weather};

pub(super) fn cases(values: &Values<'_>) -> Vec<Case> {
    let m = &values.model;
    [soil(m), kitchen_waste(m), living_beds(m, &values.shelf)].concat()
}

/// Owojori, Reinecke and Rozanov 2008: artificial soil with sodium chloride for 28 days.
fn soil(m: &BedModel) -> Vec<Case> {
    // grams per kilogram of dry soil with 0.36 of water
    let in_soil = |dose: f64| {
        let solutes = Solutes::salt(dose / 0.36);
        Dish::rich(solutes, &Population::from_adults(0.5, &m.worms), 28, 22.0).run(m)
    };
    let dead = |dose: f64| 1.0 - in_soil(dose).stock.adults / in_soil(0.0).stock.adults;
    let of = |key, inputs| Case::of(key, "owojori_2008", inputs);
    vec![
        of(
            "beds.kept_salt_half_dead",
            "5.436 g/kg of soil at 0.36 water is 15.1 g/L; castings of that pore water, adults, 22 °C assumed; the median lethal dose",
        )
        .printed(0.5, 1, "dead")
        .within(0.25, "the water of the soil is second-hand, and the test stops at whole doses")
        .ours(dead(5.436)),
        of(
            "beds.kept_salt_cocoons",
            "2.02 g/kg, 5.6 g/L, likewise; the dose that halves cocoons (recalled), laid over those of the control",
        )
        .printed(0.5, 1, "of control")
        .within(0.2, "the dose is recalled, and its range is not in hand")
        .ours(in_soil(2.02).cocoons / in_soil(0.0).cocoons),
        of(
            "beds.kept_salt_few_dead",
            "the same dose, far below the lethal one; at most 0.1 dead beyond the control is our reading",
        )
        .printed(0.1, 1, "dead")
        .bound(Relation::AtMost)
        .ours(dead(2.02)),
    ]
}

/// Wu et al. 2019: kitchen waste with 0 to 0.3 % of salt for 28 days.
fn kitchen_waste(m: &BedModel) -> Vec<Case> {
    // per cent of wet mass with 0.75 of water, and 1 g/L of its own
    let gain = |percent: f64| {
        let solutes = Solutes::salt(1.0 + 10.0 * percent / 0.75);
        let stock = Population::at_stable_structure(0.3, &m.worms);
        Dish::rich(solutes, &stock, 28, 22.0).run(m).gain()
    };
    let of = |key, inputs| Case::of(key, "wu_2019", inputs);
    vec![
        of(
            "beds.kept_salt_growth_at_2_per_mille",
            "kitchen waste of 75 % water with 1 g/L of its own and 0.2 % added (both assumed of wet mass), gain in 28 d over that \
             without salt added; published as unhurt",
        )
        .printed(1.0, 1, "of control")
        .within(0.1, "published in words")
        .ours(gain(0.2) / gain(0.0)),
        of(
            "beds.kept_salt_growth_at_3_per_mille",
            "0.3 % added, likewise; published as stopping proper growth; a loss of 3 % or more is our reading",
        )
        .printed(0.97, 2, "of control")
        .bound(Relation::AtMost)
        .ours(gain(0.3) / gain(0.0)),
    ]
}

/// Stocks that lived where the salt of pore water is printed.
fn living_beds(m: &BedModel, shelf: &Shelf) -> Vec<Case> {
    let stock = Population::at_stable_structure(0.05, &m.worms);
    // as printed, mg/L: K 1971, Cl 1088, nitrate N 748; the salt is the chloride as sodium chloride
    let solutes = Solutes { salt: 1.79, potassium: 1.97, nitrate_nitrogen: 0.748, ammonium_nitrogen: 0.005 };
    let castings = Dish::rich(solutes, &stock, 182, 20.0).run(m);
    vec![
        Case::of(
            "beds.kept_worms_in_finished_compost",
            "trade_practice",
            "1 kg of worms on 0.2 m of finished compost at 77 % water, scraps and card to appetite, 26 weeks at 22 °C; worms at end over start",
        )
        .printed(1.0, 0, "of start")
        .bound(Relation::AtLeast)
        .ours(in_compost(m, shelf)),
        Case::of(
            "beds.kept_worms_in_salty_castings",
            "biernbaum_2013",
            "ions of the saltiest castings of kitchen residue, 11.69 dS/m in the saturated extract, as pore water; worms after 26 weeks \
             over start; those castings came from living beds",
        )
        .printed(1.0, 0, "of start")
        .bound(Relation::AtLeast)
        .ours(castings.mass[1] / castings.mass[0]),
    ]
}

/// Worms at the end over those at the start in a bed of finished compost fed to appetite.
fn in_compost(m: &BedModel, shelf: &Shelf) -> f64 {
    let compost = shelf.food("compost_finished");
    let kilograms = 0.2 * shelf.density("compost_finished");
    let feed = wetted(shelf.mix(&[("food_waste_household", 0.8), ("cardboard_corrugated", 0.2)]), 0.75);
    let made = BedSetup { moisture_band: MoistureBand { low: 0.74, high: 0.80 }, ..setup(1.0) };
    let worms = Population::at_stable_structure(1.0, &m.worms);
    let mut bed = Bed::new(made, wetted(compost * kilograms, 0.77), 0.2, 22.0, worms);
    for _ in 0..182 {
        let appetite = m.worms.parameters().maximum_intake * bed.worms.biomass(&m.worms);
        let load = (appetite - bed.ready.matter.dry() / m.parameters.feed_dry_share).max(0.0);
        bed.ready.add(feed * load, load / 500.0);
        let _ = bed.day(m, &Weather { temperature: 22.0, humidity: 0.7 }, 1);
    }
    bed.worms.biomass(&m.worms)
}
