//! Nitrogen of heaps, and castings of the worked sites beside those of others.

use super::batches::{Ran, ran};
use super::buffers::buffer_in_suspension;
use super::trial::{Shelf, WATERED, held, run, setup, wetted};
use super::{Case, Relation, Values, sold};
use crate::matter::{Component, Element, Material};
use crate::process::acidity::AcidConstants;
use crate::process::quality::conductivity::Ions;
use crate::process::quality::{QualityFigures, QualityRates};
use crate::process::worm::Population;
use crate::scenario::{self, Plan};
use crate::unit::bed::{Bed, BedModel, BedSetup};
use std::sync::LazyLock;

/// Nitrogen per equivalent of ammonium, kg/eq. Source: prohaska_2022.
const NITROGEN_PER_EQUIVALENT: f64 = 0.014_007;
/// Sodium in sodium chloride, kg/kg. Source: atomic weights.
const SODIUM: f64 = 22.990 / 58.443;
/// The worked sites, as they come with the program.
static SITES: LazyLock<[Option<Plan>; 3]> = LazyLock::new(|| {
    [
        include_str!("../../scenarios/harbour_hall.json"),
        include_str!("../../scenarios/mountain_school.json"),
        include_str!("../../scenarios/valley_packhouse.json"),
    ]
    .map(|text| scenario::parse("worked site", text).ok())
});

/// Castings of the worked sites and of others.
pub(super) fn castings(values: &Values<'_>) -> Vec<Case> {
    let m = &values.model;
    let rates = QualityRates::from_values(values.get);
    let acids = AcidConstants::from_values(values.get);
    // a site that cannot be run fails every check
    let years = SITES.each_ref().map(|plan| ran(plan.as_ref(), values));
    let castings = years.each_ref().map(|year| year.as_ref().map_or_else(Material::zero, Ran::castings));
    let shelf = &values.shelf;
    [
        acidity(&castings.map(|sold| figures(&rates, &acids, &sold).ph)),
        buffers(values, &castings),
        mineral_nitrogen(&castings),
        ions(&rates, &acids, &residue_castings(m, shelf)),
        vermicompost(&rates, &acids),
        sold::cases(&years, &castings.map(|sold| figures(&rates, &acids, &sold))),
    ]
    .concat()
}

/// Figures of a product at 20 °C.
fn figures(rates: &QualityRates, acids: &AcidConstants, m: &Material) -> QualityFigures {
    rates.figures(m, 650.0, acids, 20.0)
}

/// Eklind and Kirchmann 2000: household waste with litter, composted without worms.
pub(super) fn heap(Values { model: m, shelf, .. }: &Values<'_>) -> Vec<Case> {
    let mix = shelf.mix(&[("food_waste_household", 0.8), ("wheat_straw", 0.2)]);
    let feed = wetted(mix, 0.65) * 100.0;
    let insulated = BedSetup {
        heat_transfer: Some(0.75),
        surface_wetness: Some(0.15),
        moisture_band: WATERED,
        ..setup(0.5)
    };
    let mut heap = Bed::new(insulated, Material::zero(), 0.0, 20.0, Population::empty());
    heap.ready.add(feed, 0.25);
    let out = run(m, &mut heap, 590, 15.0, feed, |_| {});
    let lost = 1.0 - out.residue.element(Element::Nitrogen) / feed.element(Element::Nitrogen);
    vec![
        Case::of(
            "beds.kept_nitrogen_loss_of_a_heap",
            "eklind_kirchmann_2000",
            "household waste with a fifth of straw, no worms, 590 d; published 43 to 62 % by litter and 70 % without; 0.5 m deep, insulated, at 15 °C \
             assumed",
        )
        .printed(0.50, 2, "of nitrogen")
        .within(0.20, "30 to 70 %: litter and C:N are not in the abstract")
        .ours(lost),
    ]
}

/// Castings of kitchen residue: pH 6.9 and 6.4, mean of eleven 7.1.
fn acidity(ph: &[f64; 3]) -> Vec<Case> {
    let of = |key, inputs, ours| {
        Case::of(key, "biernbaum_2013", inputs)
            .printed(7.0, 1, "pH")
            .within(0.6, "published 6.4 to 7.1; 6.4 to 7.6 allowed")
            .ours(ours)
    };
    vec![
        of("beds.kept_ph_of_harbour_hall", "castings sold by this worked site in its year", ph[0]),
        of("beds.kept_ph_of_mountain_school", "castings sold by this worked site in its year", ph[1]),
        of(
            "beds.kept_ph_of_valley_packhouse",
            "castings sold by this worked site in its year; fruit, kitchens and leaves",
            ph[2],
        ),
    ]
}

/// Costello and Sullivan 2014: acid that composts take up per unit of pH, beside the castings of the sites.
fn buffers(values: &Values<'_>, castings: &[Material; 3]) -> Vec<Case> {
    let keys = [
        "beds.kept_buffer_of_harbour_hall",
        "beds.kept_buffer_of_mountain_school",
        "beds.kept_buffer_of_valley_packhouse",
    ];
    let case = |(key, sold): (&'static str, &Material)| {
        Case::of(
            key,
            "costello_sullivan_2014",
            "castings sold by this worked site in its year with 0.30 mol of acid per kg dry, suspended as compost was",
        )
        .printed(0.31, 2, "mol/(kg pH)")
        .within(0.14, "range of the composts")
        .ours(buffer_in_suspension(values, *sold))
    };
    keys.into_iter().zip(castings).map(case).collect()
}

/// Nitrogen of a component, g/kg dry matter.
fn nitrogen_of(m: &Material, component: Component) -> f64 {
    1000.0 * m[component] * component.elements()[Element::Nitrogen.index()] / m.dry()
}

/// Nitrate and ammonium of castings of mixed food waste.
fn mineral_nitrogen([hall, school, _]: &[Material; 3]) -> Vec<Case> {
    let of = |key, inputs| Case::of(key, "biernbaum_2013", inputs);
    let nitrate = |key, inputs, m| {
        of(key, inputs)
            .printed(1.7, 1, "g N/kg dry")
            .within(0.8, "published 0.9 to 2.2 by four sources; 0.9 to 2.5 allowed")
            .ours(nitrogen_of(m, Component::Nitrate))
    };
    let ammonium = |key, m| {
        Case::of(
            key,
            "edwards_2004",
            "ammonium N of castings sold by this worked site; the limit is that of a waste for worms",
        )
        .printed(0.5, 1, "g N/kg dry")
        .bound(Relation::AtMost)
        .ours(nitrogen_of(m, Component::Ammonia))
    };
    vec![
        ammonium("beds.kept_ammonium_of_harbour_hall", hall),
        ammonium("beds.kept_ammonium_of_mountain_school", school),
        nitrate("beds.kept_nitrate_of_harbour_hall", "nitrate N of castings sold by this worked site", hall),
        nitrate(
            "beds.kept_nitrate_of_mountain_school",
            "nitrate N of castings sold by this worked site",
            school,
        ),
    ]
}

/// Castings of a bed fed with kitchen preparation residue and leaves for a year, a fifth of each watering leached.
fn residue_castings(m: &BedModel, shelf: &Shelf) -> Material {
    let feed =
        shelf.mix(&[("fruit_and_vegetable_market", 0.8), ("coffee_grounds", 0.1), ("leaves_autumn", 0.1)]);
    let made = BedSetup { leaching: 0.2, ..setup(1.0) };
    held(m, feed, 1.5, 0.5, made, shelf.food("coconut_coir")).castings
}

/// Saturated extracts of castings of kitchen residue.
fn ions(rates: &QualityRates, acids: &AcidConstants, castings: &Material) -> Vec<Case> {
    let of = |key| {
        Case::of(
            key,
            "biernbaum_2013",
            "saturated extract of castings of kitchen preparation residue, which these worms were fed (slides of the same farm, 2012); market waste, \
             grounds and leaves 8:1:1, 1.5 kg worms/m2, a fifth of each watering leached, assumed",
        )
    };
    let water = rates.conductivity.saturation(castings);
    let dissolved = rates.conductivity.ions(castings, water);
    // equivalents of a kilogram of dry matter, and their mass, to grams per litre
    let per_litre = |eq: f64, mass: f64| 1000.0 * eq * mass / water;
    let ion = |key, printed, tolerance, ours| {
        of(key)
            .printed(printed, 3, "g/L")
            .within(tolerance, "the two extracts and a little beyond")
            .ours(ours)
    };
    vec![
        of("beds.kept_conductivity_of_kitchen_residue")
            .printed(9.5, 1, "dS/m")
            .within(2.5, "published 6.99 to 11.69, mean of eleven 8.07; 7 to 12 allowed")
            .ours(figures(rates, acids, castings).conductivity_saturated),
        ion(
            "beds.kept_potassium_in_extract",
            1.65,
            0.35,
            per_litre(dissolved.potassium, Ions::MASSES.potassium),
        ),
        ion("beds.kept_nitrate_in_extract", 0.60, 0.15, nitrogen_of(castings, Component::Nitrate) / water),
        ion(
            "beds.kept_chloride_in_extract",
            0.78,
            0.32,
            per_litre(dissolved.chloride, Ions::MASSES.chloride),
        ),
        ion("beds.kept_sodium_in_extract", 0.235, 0.095, per_litre(dissolved.sodium, Ions::MASSES.sodium)),
        ion("beds.kept_ammonium_in_extract", 0.0045, 0.0022, {
            1000.0 * dissolved.ammonium * NITROGEN_PER_EQUIVALENT / water
        }),
    ]
}

/// A vermicompost of a university leaflet, with its own ions.
fn vermicompost(rates: &QualityRates, acids: &AcidConstants) -> Vec<Case> {
    let mut m = Material::of(Component::Humus, 0.4) + Material::of(Component::Water, 2.0);
    m[Component::Potassium] = 0.0070;
    m[Component::Salt] = 0.0002 / SODIUM;
    m[Component::Nitrate] = 0.00090 / Component::Nitrate.elements()[Element::Nitrogen.index()];
    m[Component::Minerals] = 1.0 - m.dry();
    vec![
        Case::of(
            "beds.kept_conductivity_of_a_vermicompost",
            "dickerson_1994",
            "K 0.70, Na 0.02, nitrate N 0.09 % of dry matter; 40 % organic assumed from 1.9 % N; saturated extract assumed, feed and method \
             are not stated",
        )
        .printed(11.7, 1, "dS/m")
        .within(5.85, "half of it: method not stated")
        .ours(figures(rates, acids, &m).conductivity_saturated),
    ]
}
