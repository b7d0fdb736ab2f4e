//! What can be measured on a site, and which rates each measurement informs.

use crate::literature;

/// A measurement within reach of a small site.
pub(super) struct Measurement {
    /// What to do.
    pub(super) what: &'static str,
    /// Beginnings of the keys of the rates it informs; `ingredients.*.` means a figure of any ingredient.
    pub(super) informs: &'static [&'static str],
}

impl Measurement {
    fn informs(&self, key: &str) -> bool {
        self.informs.iter().any(|start| fits(start, key))
    }
}

fn fits(start: &str, key: &str) -> bool {
    match literature::composition_parts(start) {
        Some((_, figure)) => literature::composition_parts(key).is_some_and(|(_, given)| given == figure),
        None => key.starts_with(start),
    }
}

/// Measurements on site. Rates in none of them need a laboratory or are well known.
///
/// # Source
/// Trade practice (`trade_practice`); the wording is ours.
pub(super) const MEASUREMENTS: [Measurement; 22] = [
    Measurement {
        what: "count cocoons, young and adult worms in sieved samples of a bed and weigh the adults, every two weeks for three months",
        informs: &[
            "worms.cocoon_",
            "worms.hatchlings_per_hatched_cocoon",
            "worms.juvenile_",
            "worms.subadult_",
            "worms.adult_death_rate",
            "worms.adult_size_",
            "worms.adult_growth_time",
            "worms.mass_at_maturity",
            "worms.laying_density_half_effect",
            "worms.intake_density_half_effect",
            "worms.crowding_juvenile_death_rate",
        ],
    },
    Measurement {
        what: "weigh what one bed of counted worms eats in a week with feed always left over, and again on half of it",
        informs: &[
            "worms.maximum_intake",
            "worms.maintenance_intake",
            "worms.starvation_loss_rate",
            "worms.condition_time_constant",
            "worms.feed_dry_share",
        ],
    },
    Measurement {
        what: "sort, count and weigh a kilogram of the worms as bought; dry fifty of them",
        informs: &["worms.adult_mass", "worms.mixed_stock_adult_share", "worms.worm_dry_matter"],
    },
    Measurement {
        what: "weigh a bucket of paste, a bucket of loose bulking and a bucket of mixed feed",
        informs: &[
            "feedstocks.kept_volume_",
            "fermentation.bulk_density_ground_paste",
            "ingredients.*.bulk_density",
        ],
    },
    Measurement {
        what: "pH of the drums on days 3, 7 and 14, and titrate five samples of each kind of scraps to pH 4",
        informs: &[
            "fermentation.rate_at_25_celsius_",
            "fermentation.lag_at_25_celsius_",
            "fermentation.growth_rate_optimum_",
            "fermentation.lactic_bacteria_",
            "fermentation.minimum_ph",
            "fermentation.maximum_ph_",
            "fermentation.optimum_",
            "fermentation.minimum_temperature",
            "fermentation.maximum_temperature",
            "fermentation.undissociated_lactic_",
            "fermentation.ready_progress",
            "feedstocks.native_acid_share",
            "ingredients.*.ph",
            "ingredients.*.buffering_capacity",
        ],
    },
    Measurement {
        what: "weigh a bucket of each kind of scraps and of bulking before and after drying in an oven, in three weeks of the year",
        informs: &["ingredients.*.moisture"],
    },
    Measurement {
        what: "have a dried sample of each kind of scraps and of bulking analysed for ash, salt, C, N, P, K, Ca and Mg",
        informs: &[
            "ingredients.*.ash",
            "ingredients.*.carbon",
            "ingredients.*.nitrogen",
            "ingredients.*.phosphorus",
            "ingredients.*.potassium",
            "ingredients.*.salt",
            "ingredients.*.calcium",
        ],
    },
    Measurement {
        what: "have a dried sample of each kind of scraps analysed as feed: fat, sugars, starch, fibre, lignin",
        informs: &[
            "ingredients.*.fat",
            "ingredients.*.sugars",
            "ingredients.*.free_sugar",
            "ingredients.*.cooked_starch",
            "ingredients.*.fibre",
            "ingredients.*.lignin",
            "ingredients.*.protein",
            "ingredients.*.bound_protein",
            "feedstocks.bound_protein_share",
        ],
    },
    Measurement {
        what: "weigh sealed drums on days 0, 14 and 42, and send one sample of liquor for its acids",
        informs: &[
            "fermentation.split_",
            "fermentation.starter_split_exponent",
            "fermentation.fermentable_",
            "fermentation.slow_starch_hydrolysis_rate",
            "fermentation.late_lactic_to_acetic_rate",
            "fermentation.spoilage_rate_",
            "fermentation.valve_set_pressure_",
        ],
    },
    Measurement {
        what: "drain and weigh the liquor of ten drums, and dry a sample of it",
        informs: &[
            "fermentation.effluent_scale_",
            "fermentation.liquor_met_share",
            "fermentation.leachate_dry_matter",
            "fermentation.soluble_phosphorus_in_drum",
        ],
    },
    Measurement {
        what: "ammonium by test strip on the liquor of ten drums",
        informs: &["fermentation.ammonia_nitrogen_"],
    },
    Measurement {
        what: "keep a diary of starter and bran: litres, molasses, temperature, days, how long they keep",
        informs: &[
            "fermentation.activated_liquid_per_bran",
            "fermentation.activation_",
            "fermentation.bran_shelf_life",
            "fermentation.molasses_per_bran",
            "fermentation.starter_ferment_time",
            "fermentation.starter_shelf_life",
        ],
    },
    Measurement {
        what: "pH of a freshly fed layer every day until it passes 6",
        informs: &["bed.acid_conditioning_rate"],
    },
    Measurement {
        what: "bury weighed net bags of paste, some with worms and some without; weigh, dry and burn samples after 2, 4 and 8 weeks",
        informs: &[
            "bed.decay_rate_",
            "bed.worm_decay_multiplier",
            "bed.worm_activity_half",
            "bed.worm_nitrification_rise",
            "bed.carbon_retained_in_humified_pool",
            "bed.worm_carbon_assimilation",
        ],
    },
    Measurement {
        what: "ammonia tubes over the beds, and ammonium and nitrate by test strip in feed and castings",
        informs: &[
            "bed.ammonia_transfer_coefficient",
            "bed.ammonia_cover_layer",
            "bed.uneven_ph_factor",
            "bed.ammonia_toxic_unit_",
            "bed.ammonium_partition_",
            "bed.nitrification_rate",
            "bed.denitrification_rate",
            "bed.pore_carbon_dioxide",
        ],
    },
    Measurement {
        what: "have gas under a cover on a bed sampled for methane and nitrous oxide",
        informs: &["bed.methane_share_", "bed.nitrous_oxide_yield_"],
    },
    Measurement {
        what: "log the temperatures of bed, fresh layer and room for two weeks",
        informs: &[
            "bed.bed_heat_transfer_coefficient",
            "bed.oxidation_heat",
            "bed.heat_capacity_dry_matter",
            "bed.oxygen_in_reached_layer",
        ],
    },
    Measurement {
        what: "weigh a drained tray of bed every day for a week, and catch and measure what drains",
        informs: &[
            "bed.air_heat_transfer_coefficient",
            "bed.surface_wetness_factor",
            "bed.water_held_per_dry_matter",
            "bed.drained_air",
            "bed.drain_solubility_",
        ],
    },
    Measurement {
        what: "conductivity of the beds by the month, and three trays of worms in feed of rising salt",
        informs: &["bed.salt_", "bed.toxic_death_rate"],
    },
    Measurement {
        what: "weigh a bucket of castings as harvested, dried, and blended",
        informs: &[
            "bed.castings_",
            "bed.solid_density",
            "site.castings_swelling",
            "site.castings_bulk_density_moisture",
            "site.blend_packing_shrinkage",
            "site.drying_",
        ],
    },
    Measurement {
        what: "wet castings to a glistening paste and weigh the water; conductivity and potassium strips in what it gives and in 1:5",
        informs: &[
            "site.saturation_water",
            "site.conductivity_of_limiting_sum",
            "site.extract_",
            "site.potassium_soluble_share",
        ],
    },
    Measurement {
        what: "screen a weighed batch of castings at two moistures; weigh what passes, the overs and the grinder's rinse",
        informs: &[
            "site.castings_fine_size",
            "site.castings_medium_share",
            "site.castings_near_share",
            "site.oversize_share",
            "site.screen_",
            "site.screening_",
            "site.grinder_rinsed_share",
        ],
    },
];

/// The measurement that informs a rate, by its place in the table.
pub(super) fn measurement_of(key: &str) -> Option<usize> {
    MEASUREMENTS.iter().position(|m| m.informs(key))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_beginning_matches_a_rate_and_no_rate_twice() {
        for start in MEASUREMENTS.iter().flat_map(|m| m.informs) {
            let mut known = literature::entries().iter().chain(literature::composition());
            assert!(known.any(|entry| fits(start, &entry.key)), "{start}");
        }
        for entry in literature::entries().iter().filter(|e| e.value.is_drawn()) {
            let told = MEASUREMENTS.iter().filter(|m| m.informs(&entry.key));
            assert!(told.count() <= 1, "{}", entry.key);
        }
        for entry in literature::composition() {
            let told = MEASUREMENTS.iter().filter(|m| m.informs(&entry.key));
            assert_eq!(told.count(), 1, "{}", entry.key);
        }
    }
}
