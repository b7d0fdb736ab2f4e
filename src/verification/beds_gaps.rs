//! Checks of beds that the model does not meet: by how much, how far that may change, and why.

use super::KnownGap;

/// Name of a check, ours minus printed, how far that may change, both in the unit of the check, and the reason.
type Gap = (&'static str, f64, f64, &'static str);

const GAPS: [Gap; 40] = [
    (
        "beds.manure_and_scraps_worm_yield",
        -0.0288,
        0.00719,
        "start stock and load are not published; from 0.4 kg/m2 the stock of the model grows fivefold and \
         is still growing at the end",
    ),
    (
        "beds.food_waste_ph",
        -0.707,
        0.377,
        "nitrate and the carbon dioxide of pores hold the model lower; the trial also leached salts",
    ),
    (
        "beds.pomace_carbon_to_nitrogen",
        1.41,
        0.675,
        "the model leaves slightly more carbon at the same nitrogen",
    ),
    (
        "beds.pomace_and_straw_carbon_to_nitrogen",
        16.0,
        4.01,
        "straw adds carbon without nitrogen; the source does not explain how all mixes reach one C:N",
    ),
    (
        "beds.pomace_phosphorus",
        -0.00607,
        0.00152,
        "pomace with 0.06 % P would have to lose 93 % of its dry matter to reach the published figure",
    ),
    (
        "beds.pineapple_batch_worms",
        0.358,
        0.0896,
        "the source gives neither age nor number of its worms; in the model a stock of all ages gains 0.93 \
         and grown worms gain 0.05",
    ),
    (
        "beds.pineapple_daily_loss",
        -0.114,
        0.0285,
        "the feed is 30 d old on average, so it has lost what the batch lost by half time; the source does \
         not state its basis",
    ),
    (
        "beds.broom_loss",
        -0.574,
        0.143,
        "the published figure is an upper bound: woody parts were sieved off and the basis is not \
         reported; no set of constants reaches it",
    ),
    (
        "beds.grape_marc_loss",
        -0.202,
        0.0506,
        "the published figure is an upper bound: woody parts were sieved off and the basis is not \
         reported; no set of constants reaches it",
    ),
    (
        "beds.kitchen_waste_volume",
        -0.235,
        0.0587,
        "40 to 50 % of the dry matter is lost, and castings have one dry density for all wastes, above \
         that of this one; the published fall needs a loss of three quarters or denser castings",
    ),
    (
        "beds.coffee_pulp_volume",
        -0.206,
        0.0515,
        "40 to 50 % of the dry matter is lost, and castings have one dry density for all wastes, above \
         that of this one; the published fall needs a loss of three quarters or denser castings",
    ),
    (
        "beds.kitchen_waste_nitrogen",
        0.0162,
        0.00405,
        "no bedding or grit adds ash in the model, which warns about such castings",
    ),
    (
        "beds.manure_phosphorus",
        -0.0147,
        0.00367,
        "manure with 0.31 % P would have to lose 85 % of its dry matter to reach the published figure",
    ),
    (
        "beds.nitrogen_rise",
        -2.48,
        0.621,
        "without added nitrogen, the published rise of 4.4 to 5.8 fold requires a loss of 77 to 83 % of \
         dry matter",
    ),
    (
        "beds.nitrogen_loss_beside_a_heap",
        -0.396,
        0.0991,
        "the heap of the model is never turned and gets its air by diffusion only; the one of the source \
         was turned",
    ),
    (
        "beds.ammonia_beside_a_heap",
        -0.379,
        0.0949,
        "the heap of the model is never turned and gets its air by diffusion only; the one of the source \
         was turned",
    ),
    (
        "beds.nitrous_oxide_beside_a_heap",
        -0.425,
        0.106,
        "the heap of the model is never turned and gets its air by diffusion only; the one of the source \
         was turned",
    ),
    (
        "beds.methane_beside_a_heap",
        -0.764,
        0.191,
        "the heap of the model is never turned and gets its air by diffusion only; the one of the source \
         was turned",
    ),
    (
        "beds.castings_per_area",
        -0.468,
        0.117,
        "the source weighs the whole bed of one filling, including straw, at an unreported load; ours is \
         what the worms turned over",
    ),
    (
        "beds.castings_of_a_flow_through_bed",
        -0.472,
        0.118,
        "the source takes castings as 0.75 of body mass, as if feed lost nothing; in the model half of the \
         dry matter is lost",
    ),
    (
        "beds.best_rate_for_growth",
        1.25,
        0.312,
        "intake is capped at a figure of this paper: more feed adds little, and the model has no harm from \
         overfeeding, so the largest rate tried is best",
    ),
    (
        "beds.capacity_of_manure",
        -0.649,
        0.162,
        "the manure of the model is half decayed before the hatchlings are grown, and feeds few then",
    ),
    (
        "beds.carrying_capacity",
        3.25,
        0.812,
        "a stock that is fed without limit levels off where crowding halves intake, at 5 (3.5 to 8) kg/m2, \
         and a little beyond; the lower end of the range reaches the published figure",
    ),
    (
        "beds.worm_production",
        21.4,
        5.36,
        "below the ceiling the stock of the model grows as in its life table; the jars of the source grew \
         half as fast on a feed that is not described",
    ),
    (
        "beds.kept_worms_by_start",
        1.18,
        0.295,
        "beds stocked with 50 to 125 g/m2 are far from crowded in the model; species, feed and days are \
         not in the abstract, so a limit by feed cannot be tested",
    ),
    (
        "beds.kept_product_by_start",
        1.16,
        0.289,
        "beds stocked with 50 to 125 g/m2 are far from crowded in the model; species, feed and days are \
         not in the abstract, so a limit by feed cannot be tested",
    ),
    (
        "beds.kept_product_per_worm_by_start",
        0.467,
        0.117,
        "beds stocked with 50 to 125 g/m2 are far from crowded in the model; species, feed and days are \
         not in the abstract, so a limit by feed cannot be tested",
    ),
    (
        "beds.kept_nitrate_by_worms",
        -3.24,
        0.809,
        "in the model the decay of coir takes up the nitrogen that the faeces give off, so hardly any \
         nitrate forms to acidify the mix; composition of both is not in the abstract",
    ),
    (
        "beds.kept_ph_of_coir_with_worms",
        2.13,
        0.533,
        "in the model the decay of coir takes up the nitrogen that the faeces give off, so hardly any \
         nitrate forms to acidify the mix; composition of both is not in the abstract",
    ),
    (
        "beds.kept_ph_fall_by_worms",
        -1.97,
        0.492,
        "in the model the decay of coir takes up the nitrogen that the faeces give off, so hardly any \
         nitrate forms to acidify the mix; composition of both is not in the abstract",
    ),
    (
        "beds.kept_nitrogen_loss_of_a_heap",
        -0.276,
        0.0689,
        "the heap of the model is never turned and its straw takes up nitrogen; without straw it loses \
         more",
    ),
    (
        "beds.kept_nitrate_of_mountain_school",
        1.12,
        0.281,
        "kitchen scraps with leaves, C:N 24 in all, leave more mineral nitrogen than humus takes up",
    ),
    (
        "beds.kept_ammonium_of_harbour_hall",
        0.144,
        0.036,
        "the sources dried and stored their castings; in the model a little ammonium is always on its way \
         from humus to nitrate, at 0.15 per day",
    ),
    (
        "beds.kept_ammonium_of_mountain_school",
        0.265,
        0.0664,
        "the sources dried and stored their castings; in the model a little ammonium is always on its way \
         from humus to nitrate, at 0.15 per day",
    ),
    (
        "beds.kept_conductivity_of_harbour_hall",
        4.3,
        1.07,
        "scraps with restaurant waste hold 1 to 2 % of salt in dry matter, and little drains in the first \
         year; the published castings hold a quarter of it",
    ),
    (
        "beds.kept_conductivity_of_mountain_school",
        4.45,
        1.11,
        "scraps with restaurant waste hold 1 to 2 % of salt in dry matter, and little drains in the first \
         year; the published castings hold a quarter of it",
    ),
    (
        "beds.kept_potassium_in_extract",
        0.609,
        0.152,
        "market waste brings 1.9 % of potassium, which the two published residues need not hold",
    ),
    (
        "beds.kept_chloride_in_extract",
        1.99,
        0.498,
        "scraps with restaurant waste hold 1 to 2 % of salt in dry matter, and little drains in the first \
         year; the published castings hold a quarter of it",
    ),
    (
        "beds.kept_sodium_in_extract",
        1.3,
        0.324,
        "scraps with restaurant waste hold 1 to 2 % of salt in dry matter, and little drains in the first \
         year; the published castings hold a quarter of it",
    ),
    (
        "beds.kept_conductivity_of_a_vermicompost",
        -6.0,
        1.5,
        "the method is not stated; the printed ions, all dissolved in a saturated extract, give half of \
         the printed conductivity",
    ),
];

/// The known gap of a check. None if it should agree.
pub(super) fn known(key: &str) -> Option<KnownGap> {
    let (_, expected, within, reason) = GAPS.into_iter().find(|(of, ..)| *of == key)?;
    Some(KnownGap { expected, within, reason })
}

/// Names of the checks with a gap.
#[cfg(test)]
pub(super) fn names() -> impl Iterator<Item = &'static str> {
    GAPS.into_iter().map(|(key, ..)| key)
}
