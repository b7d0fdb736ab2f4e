//! Worms in matter that holds ammonia.

use super::beds::{WORMS_IN_A_BOX, boxed};
use super::dish::{Dish, Lived, Solutes};
use super::trial::{Shelf, setup};
use super::{Case, Relation, Values};
use crate::matter::{Component, Element, Gas, Material};
use crate::process::worm::Population;
use crate::unit::bed::{Bed, BedModel, BedSetup, MoistureBand, Weather};

/// Share of exchangeable ammonium that is dissolved in soils; published as 5 to 20 %, the upper end.
const DISSOLVED_IN_SOIL: f64 = 0.2;

pub(super) fn cases(values: &Values<'_>) -> Vec<Case> {
    let m = &values.model;
    [soil(m), dissolved(m), batches(m, &values.shelf)].concat()
}

/// Zeguerrou and Adjroudi: soil with ammonium hydroxide for 56 days.
fn soil(m: &BedModel) -> Vec<Case> {
    // grams of nitrogen per kilogram of dry soil with 0.36 of water
    let in_soil = |nitrogen: f64| -> Lived {
        let ammonium_nitrogen = nitrogen * DISSOLVED_IN_SOIL / 0.36;
        let solutes = Solutes { ammonium_nitrogen, ..Solutes::default() };
        Dish::rich(solutes, &Population::from_adults(0.5, &m.worms), 56, 22.0).run(m)
    };
    let (control, harmless, harmful) = (in_soil(0.0), in_soil(0.20), in_soil(0.33));
    let of = |key, inputs| Case::of(key, "zeguerrou_adjroudi", inputs);
    let wide = "dissolved share, pH and upkeep of the dose are assumed";
    vec![
        of(
            "beds.kept_ammonia_harmless",
            "0.20 mg N/g of soil, 0.36 water, a fifth dissolved (0.11 g/L), pH 7, kept up for 56 d; cocoons laid over those of the control; \
             published as without effect",
        )
        .printed(1.0, 1, "of control")
        .within(0.15, wide)
        .ours(harmless.cocoons / control.cocoons),
        of(
            "beds.kept_ammonia_half_dead",
            "0.33 mg N/g, 0.18 g/L dissolved, likewise; the median lethal dose of 56 d",
        )
        .printed(0.5, 1, "dead")
        .within(0.25, wide)
        .ours(1.0 - harmful.stock.adults / control.stock.adults),
        of(
            "beds.kept_ammonia_juveniles",
            "the same; the dose that halves juveniles; cocoons laid over those of the control",
        )
        .printed(0.5, 1, "of control")
        .within(0.25, wide)
        .ours(harmful.cocoons / control.cocoons),
    ]
}

/// What a day shows of the ammonium of a bed of 20 kg of dry castings with 60 kg of water.
#[derive(Debug, Clone, Copy)]
struct Seen {
    /// Concentration in the water that drains over that of all ammonium in all water.
    drained: f64,
    /// The same in the pore water of the worms.
    worms: f64,
    /// Ammonia to the air, kg.
    gas: f64,
}

/// Castings with 1 g of ammonium nitrogen per kg dry, at pH 8, dense enough to drain.
fn seen(m: &BedModel, humus: f64) -> Seen {
    let made = BedSetup {
        surface_wetness: Some(0.0),
        moisture_band: MoistureBand { low: 0.0, high: 0.0 },
        ..setup(1.0)
    };
    let mut castings = Material::of(Component::Water, 60.0);
    castings[Component::Humus] = 20.0 * humus;
    castings[Component::Minerals] = 20.0 * (1.0 - humus);
    castings[Component::Ammonia] = 0.02;
    *castings.base_mut() = m.pores.base_for(&castings, 8.0);
    let mut bed = Bed::new(made, castings, 20.0 / 260.0, 20.0, Population::empty());
    let day = bed.day(m, &Weather { temperature: 20.0, humidity: 1.0 }, 1);
    // after decay and gases, part of the water left with the share x of it times the dissolved share of ammonium
    let out = &day.drained;
    let water = out.water() / (out.water() + bed.castings.matter.water());
    let ammonium =
        out[Component::Ammonia] / (out[Component::Ammonia] + bed.castings.matter[Component::Ammonia]);
    let all = castings[Component::Ammonia] * Component::Ammonia.elements()[Element::Nitrogen.index()];
    Seen {
        drained: ammonium / water,
        worms: day.zone_ammonia / (1000.0 * all / castings.water()),
        gas: day.gases[Gas::AmmoniaGas],
    }
}

/// One dissolved share of ammonium for drainage, air and worms.
fn dissolved(m: &BedModel) -> Vec<Case> {
    let (castings, minerals) = (seen(m, 0.5), seen(m, 0.0));
    let one = |key, inputs| {
        Case::of(key, "derived_here", inputs)
            .printed(1.0, 0, "1")
            .within(0.05, "ammonium falls a little within the day")
    };
    vec![
        Case::of(
            "beds.kept_dissolved_ammonium",
            "davis_2024",
            "ammonium in drained over that in all water, castings with half of humus and 3 kg water per kg dry; derived from soils, 0.23 to 0.67",
        )
        .printed(0.43, 2, "of all")
        .within(0.20, "soils dissolve 5 to 20 % at 0.25 kg water, 1 to 5 L/kg")
        .ours(castings.drained),
        one("beds.kept_ammonium_of_worms", "dissolved share that poisons worms over the share that drains, the same castings")
            .ours(castings.worms / castings.drained),
        one(
            "beds.kept_ammonium_of_air",
            "ammonia to the air from these castings over that from minerals alike, divided by the same ratio of the shares that drain",
        )
        .ours((castings.gas / minerals.gas) / (castings.drained / minerals.drained)),
    ]
}

/// Duran and Henriquez 2006: boxes filled once with fresh waste, in which worms lived.
fn batches(m: &BedModel, shelf: &Shelf) -> Vec<Case> {
    let of = |key, inputs, id| {
        let out = boxed(m, shelf, id, WORMS_IN_A_BOX);
        Case::of(key, "duran_henriquez_2006", inputs)
            .printed(0.1, 1, "of start")
            .bound(Relation::AtLeast)
            .ours(out.worms[1] / out.worms[0])
    };
    vec![
        of(
            "beds.kept_worms_in_kitchen_waste",
            "kitchen waste, 600 worms in 0.03 m3, 90 d; live worms at the end; a tenth or more is our reading of `worked`",
            "food_waste_household",
        ),
        of("beds.kept_worms_in_coffee_pulp", "coffee pulp, likewise; grounds assumed", "coffee_grounds"),
        of("beds.kept_worms_in_manure", "cattle manure, likewise", "cattle_manure_solid"),
    ]
}
