//! Central values of the fermentation table, for tests: the printed table as constants, own entries from their file.

use loamledger::process::acidity::AcidConstants;
use loamledger::process::fermentation::{FermentationRates, StarterPractice};

/// Central values of the printed table. Source: fermentation.json.
#[rustfmt::skip]
const PRINTED: &[(&str, f64)] = &[
    ("acetic_acid_dissociation_constant", 4.76),
    ("activated_liquid_per_bran", 0.35),
    ("activation_molasses_share", 5.0),
    ("activation_mother_culture_share", 5.0),
    ("activation_time", 7.0),
    ("activation_water_share", 90.0),
    ("amber_gauge_pressure", 5.0),
    ("ammonia_nitrogen_good_batch", 7.0),
    ("ammonia_nitrogen_spoiled", 20.0),
    ("bran_dry_matter", 0.88),
    ("bran_shelf_life", 12.0),
    ("butyric_acid_dissociation_constant", 4.83),
    ("carbon_dioxide_exposure_limit_average", 5_000.0),
    ("carbon_dioxide_exposure_limit_short_term", 30_000.0),
    ("carbon_dioxide_immediately_dangerous", 40_000.0),
    ("critical_ph_intercept_grass_and_maize", 3.375),
    ("critical_ph_intercept_legume_and_protein_rich", 2.9),
    ("critical_ph_slope_grass_and_maize", 0.035),
    ("critical_ph_slope_legume_and_protein_rich", 0.06),
    ("effluent_constant_term", 767.0),
    ("effluent_dry_matter_cut", 0.29),
    ("effluent_linear_term", -5_340.0),
    ("effluent_quadratic_term", 9_360.0),
    ("effluent_scale_food_waste", 1.2),
    ("growth_rate_optimum_lactobacillus_plantarum", 0.45),
    ("henry_constant_carbon_dioxide", 3.3e-4),
    ("henry_temperature_constant_carbon_dioxide", 2_400.0),
    ("lactic_acid_dissociation_constant", 3.857),
    ("lactic_bacteria_on_raw_feed", 100_000.0),
    ("lactic_bacteria_with_starter", 3_000_000.0),
    ("lag_at_25_celsius_ground_slurry", 1.0),
    ("lag_at_25_celsius_whole_scraps", 2.0),
    ("late_lactic_to_acetic_rate", 0.004),
    ("leachate_dry_matter", 0.1),
    ("maximum_ph_lactic_bacteria", 8.5),
    ("maximum_temperature", 44.0),
    ("minimum_ph", 3.37),
    ("minimum_temperature", 4.5),
    ("optimum_ph_lactic_bacteria", 6.2),
    ("optimum_temperature", 35.0),
    ("paste_density_with_pores", 1.05),
    ("rate_at_25_celsius_ground_slurry", 1.0),
    ("rate_at_25_celsius_whole_scraps", 0.3),
    ("red_gauge_pressure", 20.0),
    ("slow_starch_hydrolysis_rate", 0.01),
    ("split_acetic_and_enterobacterial", 0.04),
    ("split_butyric", 0.01),
    ("split_heterolactic_fructose", 0.1),
    ("split_heterolactic_glucose", 0.2),
    ("split_homolactic", 0.55),
    ("split_yeast", 0.1),
    ("spoilage_probability_offset", 0.2),
    ("spoilage_probability_width", 0.12),
    ("stable_margin", 0.2),
    ("starter_ferment_time", 14.0),
    ("too_wet_dry_matter", 15.0),
    ("undissociated_lactic_stopping_production", 0.12),
];

fn central(key: &str) -> f64 {
    let id = key.strip_prefix("fermentation.").expect("only this table is asked for");
    PRINTED.iter().find(|(name, _)| *name == id).map_or_else(|| own(id), |&(_, value)| value)
}

/// Central value of an own entry, checked to be inside its range.
fn own(id: &str) -> f64 {
    let text = include_str!("../../src/literature/own_fermentation.json");
    let entries: Vec<serde_json::Value> =
        serde_json::from_str(text).expect("the file is an array of entries");
    let entry = entries.iter().find(|e| e["id"] == id).unwrap_or_else(|| panic!("no value {id}"));
    let number = |field: &str| entry[field].as_f64().unwrap_or_else(|| panic!("{id} has no {field}"));
    let value = number("central");
    assert!(number("low") <= value && value <= number("high"), "{id}");
    value
}

/// Central rates.
pub(crate) fn rates() -> FermentationRates {
    FermentationRates::from_values(&central)
}

/// Central practice of starter and bran.
pub(crate) fn practice() -> StarterPractice {
    StarterPractice::from_values(&central)
}

/// Acid constants. Source: acid_tables, emerson_1975; carbonic acid does not matter in a closed drum.
pub(crate) fn acids() -> AcidConstants {
    AcidConstants {
        lactic: 3.857,
        acetic: 4.76,
        butyric: 4.83,
        ammonium_constant: 0.090_18,
        ammonium_slope: 2729.92,
        carbonic: 6.35,
        carbonic_second: 10.38,
        calcite: 8.45,
        calcium_activity: 0.37,
        carbon_dioxide_solubility: 0.0384,
        humus_buffer: 0.42,
    }
}
