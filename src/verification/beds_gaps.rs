//! Checks of beds that the model does not meet: by how much, how far that may change, and why.

use super::KnownGap;

/// Name of a check, ours minus printed, how far that may change, both in the unit of the check, and the reason.
type Gap = (&'static str, f64, f64, &'static str);

const GAPS: [Gap; 42] = [
    (
        "beds.manure_and_scraps_worm_yield",
        -0.0279,
        0.00698,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.pomace_carbon_to_nitrogen",
        2.0,
        0.675,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.pomace_and_straw_carbon_to_nitrogen",
        17.4,
        4.34,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.pomace_phosphorus",
        -0.0062,
        0.00155,
        "pomace with 0.06 % P would have to lose 93 % of its dry matter to reach the published figure",
    ),
    (
        "beds.pineapple_batch_worms",
        0.349,
        0.0874,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.pineapple_daily_loss",
        -0.154,
        0.0386,
        "before the mend: this part of the model of beds is being changed",
    ),
    ("beds.broom_loss", -0.533, 0.133, "before the mend: this part of the model of beds is being changed"),
    (
        "beds.grape_marc_loss",
        -0.202,
        0.0506,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kitchen_waste_volume",
        -0.207,
        0.0517,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.coffee_pulp_volume",
        -0.218,
        0.0544,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kitchen_waste_nitrogen",
        0.0158,
        0.00395,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.manure_phosphorus",
        -0.0148,
        0.0037,
        "manure with 0.31 % P would have to lose 85 % of its dry matter to reach the published figure",
    ),
    ("beds.nitrogen_rise", -2.49, 0.622, "before the mend: this part of the model of beds is being changed"),
    (
        "beds.nitrogen_loss_beside_a_heap",
        -0.323,
        0.0809,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.ammonia_beside_a_heap",
        -0.213,
        0.0532,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.nitrous_oxide_beside_a_heap",
        -0.335,
        0.0838,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.methane_beside_a_heap",
        -0.766,
        0.192,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.castings_per_area",
        -0.453,
        0.113,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.castings_of_a_flow_through_bed",
        -0.462,
        0.116,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.best_rate_for_growth",
        1.25,
        0.312,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.capacity_of_manure",
        -0.652,
        0.163,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.carrying_capacity",
        3.05,
        0.761,
        "before the mend: this part of the model of beds is being changed",
    ),
    ("beds.worm_production", 21.7, 5.42, "before the mend: this part of the model of beds is being changed"),
    (
        "beds.kept_ammonia_half_dead",
        -0.482,
        0.12,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_worms_by_start",
        1.16,
        0.291,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_product_by_start",
        1.3,
        0.326,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_product_per_worm_by_start",
        0.526,
        0.131,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_loss_by_worms",
        -0.353,
        0.0883,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_nitrate_by_worms",
        -3.36,
        0.841,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_ph_of_coir_with_worms",
        2.69,
        0.673,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_ph_fall_by_worms",
        -1.97,
        0.493,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_nitrogen_loss_of_a_heap",
        -0.269,
        0.0671,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_nitrate_of_harbour_hall",
        -0.918,
        0.229,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_nitrate_of_mountain_school",
        1.58,
        0.396,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_ammonium_of_harbour_hall",
        0.0737,
        0.0184,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_ammonium_of_mountain_school",
        0.195,
        0.0488,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_conductivity_of_mountain_school",
        6.39,
        1.6,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_potassium_in_extract",
        0.368,
        0.092,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_nitrate_in_extract",
        -0.355,
        0.0889,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_chloride_in_extract",
        1.78,
        0.444,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_sodium_in_extract",
        1.18,
        0.296,
        "before the mend: this part of the model of beds is being changed",
    ),
    (
        "beds.kept_conductivity_of_a_vermicompost",
        -6.0,
        1.5,
        "before the mend: this part of the model of beds is being changed",
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
