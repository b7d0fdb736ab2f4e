//! What buyers read of the castings of the worked sites, which went through drums, fresh acid paste, conditioning, harvest and screen;
//! and what such a site gives to the air.

use super::batches::Ran;
use super::{Case, Relation};
use crate::matter::Gas;
use crate::process::quality::QualityFigures;
use crate::trace::Flow;

/// Checks of the worked sites with kitchens: their years, and figures of what they sold, in the order harbour hall, mountain school,
/// valley packhouse.
pub(super) fn cases(years: &[Option<Ran>; 3], sold: &[QualityFigures; 3]) -> Vec<Case> {
    let [hall, school, packhouse] = sold;
    [
        carbon(hall, school, packhouse),
        nitrogen(hall, school, packhouse),
        organic_carbon(hall, school),
        salts(hall, school),
        nitrous_oxide(years[0].as_ref()),
    ]
    .concat()
}

fn review(key: &'static str, inputs: &'static str) -> Case {
    Case::of(key, "ofmsw_review_2022", inputs)
}

/// Organic carbon of vermicomposts of municipal organic waste.
fn carbon(hall: &QualityFigures, school: &QualityFigures, packhouse: &QualityFigures) -> Vec<Case> {
    let of = |key, inputs, q: &QualityFigures| {
        review(key, inputs)
            .printed(27.4, 1, "% of dry")
            .within(8.6, "18.8 to 36.0 over the vermicomposts of the review")
            .ours(100.0 * q.carbon_walkley_black)
    };
    vec![
        of(
            "products.carbon_of_harbour_hall",
            "castings sold by this worked site, carbon by Walkley-Black; methods are mixed in the review",
            hall,
        ),
        of("products.carbon_of_mountain_school", "likewise of this worked site", school),
        of(
            "products.carbon_of_valley_packhouse",
            "likewise of this worked site; fruit, kitchens and leaves",
            packhouse,
        ),
    ]
}

/// Nitrogen of the same vermicomposts.
fn nitrogen(hall: &QualityFigures, school: &QualityFigures, packhouse: &QualityFigures) -> Vec<Case> {
    let of = |key, inputs, q: &QualityFigures| {
        review(key, inputs)
            .printed(1.87, 2, "% of dry")
            .within(0.71, "1.16 to 2.58 over the vermicomposts of the review")
            .ours(100.0 * q.nitrogen)
    };
    vec![
        of(
            "products.nitrogen_of_harbour_hall",
            "castings sold by this worked site, which mixes in card to C:N 25",
            hall,
        ),
        of("products.nitrogen_of_mountain_school", "likewise of this worked site", school),
        of(
            "products.nitrogen_of_valley_packhouse",
            "likewise of this worked site; fruit, kitchens and leaves",
            packhouse,
        ),
    ]
}

/// Carbon of the organic matter of composts.
fn organic_carbon(hall: &QualityFigures, school: &QualityFigures) -> Vec<Case> {
    let of = |key, inputs, q: &QualityFigures| {
        Case::of(key, "clemson_compost_guide", inputs)
            .printed(54.0, 0, "% of organic")
            .within(4.0, "50 to 57 over composts")
            .ours(100.0 * q.carbon_of_organic)
    };
    vec![
        of(
            "products.organic_carbon_of_harbour_hall",
            "castings sold by this worked site, carbon by combustion over dry matter less ash; the guide is of composts",
            hall,
        ),
        of("products.organic_carbon_of_mountain_school", "likewise of this worked site", school),
    ]
}

/// Conductivity of saturated extracts of castings of kitchen residue.
fn salts(hall: &QualityFigures, school: &QualityFigures) -> Vec<Case> {
    let of = |key, inputs, q: &QualityFigures| {
        Case::of(key, "biernbaum_2013", inputs)
            .printed(9.3, 1, "dS/m")
            .within(
                2.4,
                "6.99 to 11.69 over two castings of kitchen residue; mean of eleven worm composts 8.07",
            )
            .ours(q.conductivity_saturated)
    };
    vec![
        of(
            "products.conductivity_of_harbour_hall",
            "saturated extract of castings sold by this worked site",
            hall,
        ),
        of("products.conductivity_of_mountain_school", "likewise of this worked site", school),
    ]
}

/// Nitrous oxide per dry matter treated, by the guidelines for inventories.
fn nitrous_oxide(hall: Option<&Ran>) -> Vec<Case> {
    let per_dry = hall.map_or(f64::NAN, |year| {
        let ledger = &year.trace.ledger;
        1000.0 * ledger.all_gases()[Gas::NitrousOxide] / ledger.matter(Flow::Intake).dry()
    });
    let of = |key, inputs| Case::of(key, "ipcc_2006", inputs);
    vec![
        of(
            "beds.most_nitrous_oxide",
            "all gases of harbour hall over the dry scraps taken in; composting gives 0.2 to 1.6 g/kg",
        )
        .printed(1.6, 1, "g/kg dry")
        .bound(Relation::AtMost)
        .ours(per_dry),
        of("beds.least_nitrous_oxide", "the same")
            .printed(0.2, 1, "g/kg dry")
            .bound(Relation::AtLeast)
            .ours(per_dry),
    ]
}
