//! Checks that the model does not meet: by how much, how far that may change, and why.

use super::{GapKind, KnownGap};

/// Name of a check, kind of its gap, ours minus printed, how far that may change, both in the unit of the check, and the reason.
type Gap = (&'static str, GapKind, f64, f64, &'static str);

const ANOTHER_SPECIES: &str = "each worm made 0.11 kg of product; Eisenia fetida of 0.45 g eats at most that much feed in a \
     year, so that another species or a far longer trial is behind it";
const UNMIXED: &str = "oxygen inside faeces that no worm mixes would close it: the box of the model is mixed from \
     the start, and nitrifies without worms too";

const LEAN: &str = "ash of the scraps would close it: the carbon of the review means 33 to 65 % of ash, soil and grit included, and ours hold 20; \
     other prints reach 2.8 to 3.2 %";
const SHARED: &str = "feed of the model is as good to the last of it; worms that share one filling grow less long before it is eaten up, as \
     if each picked the best of it first; what a worm picks would close it";
const SOUR_GRASS: &str = "sugar of the grass would close it: ours sours to a pH 0.2 above the published mean, and a tenth of pH moves \
     the chance by a fifth";
const DEAMINATION: &str = "protein set free before the grass is sour would close it: the model lets wetter grass lose little more than \
     dry grass";

const GAPS: [Gap; 31] = [
    (
        "beds.manure_and_scraps_worm_yield",
        GapKind::NotComparable,
        -0.0191,
        0.0019,
        "the worms of the trial were Eudrilus eugeniae, which grow several times faster than Eisenia \
         fetida; the loss does not depend on the species as much",
    ),
    (
        "beds.pomace_and_straw_carbon_to_nitrogen",
        GapKind::Contradiction,
        14.7,
        1.47,
        "pomace with three quarters of straw begins at C:N 88; the published loss of 65 % leaves 31 \
         even if no nitrogen is lost",
    ),
    (
        "beds.pomace_phosphorus",
        GapKind::Contradiction,
        -0.00608,
        0.0006,
        "pomace with 0.06 % P would have to lose 93 % of its dry matter to reach the published figure",
    ),
    (
        "beds.pineapple_daily_loss",
        GapKind::NotComparable,
        -0.108,
        0.0108,
        "feed of 60 days is 30 days old on average: where a batch loses 60 % in 60 days at 0.04 per \
         day, daily feed loses 41 %; the basis of the published figure is not stated",
    ),
    (
        "beds.broom_loss",
        GapKind::NotComparable,
        -0.575,
        0.0575,
        "woody parts were sieved off, so that the published figure is an upper bound, and its basis \
         is not stated",
    ),
    (
        "beds.grape_marc_loss",
        GapKind::NotComparable,
        -0.202,
        0.0202,
        "seeds and stalks were sieved off, so that the published figure is an upper bound, and its \
         basis is not stated",
    ),
    (
        "beds.kitchen_waste_volume",
        GapKind::Open,
        -0.18,
        0.018,
        "the bulk density of the waste filled in and of the castings would close it: from 350 kg/m3 \
         the loss of the model gives the published fall",
    ),
    (
        "beds.coffee_pulp_volume",
        GapKind::NotComparable,
        -0.206,
        0.0206,
        "the trial had coffee pulp; the library holds only grounds, which decay more slowly and lie \
         denser",
    ),
    (
        "beds.kitchen_waste_nitrogen",
        GapKind::Open,
        0.0164,
        0.00164,
        "nitrogen and ash of the waste filled in would close it: scraps of 1.9 % nitrogen, the low \
         end of the library, reach it",
    ),
    (
        "beds.manure_phosphorus",
        GapKind::Contradiction,
        -0.0147,
        0.00147,
        "manure with 0.31 % P would have to lose 85 % of its dry matter to reach the published figure",
    ),
    (
        "beds.nitrogen_rise",
        GapKind::Contradiction,
        -2.56,
        0.256,
        "without added nitrogen, a rise of 4.4 to 5.8 fold requires a loss of 77 to 83 % of the dry \
         matter",
    ),
    (
        "beds.methane_beside_a_heap",
        GapKind::Open,
        -0.703,
        0.0703,
        "how often the heap was turned and how deep it was would close it: methane of the heap of the \
         model, aired by diffusion alone, varies tenfold with both",
    ),
    (
        "beds.castings_of_a_flow_through_bed",
        GapKind::Contradiction,
        -0.422,
        0.0422,
        "the source takes castings as 0.75 of body mass a day, as much as is eaten, as if feed lost \
         nothing",
    ),
    ("beds.kept_worms_by_start", GapKind::NotComparable, 1.18, 0.118, ANOTHER_SPECIES),
    ("beds.kept_product_by_start", GapKind::NotComparable, 1.10, 0.110, ANOTHER_SPECIES),
    ("beds.kept_product_per_worm_by_start", GapKind::NotComparable, 0.445, 0.0445, ANOTHER_SPECIES),
    ("beds.kept_nitrate_by_worms", GapKind::Open, -3.48, 0.348, UNMIXED),
    ("beds.kept_ph_fall_by_worms", GapKind::Open, -1.96, 0.196, UNMIXED),
    ("silage.ammonia_of_wet_grass", GapKind::Open, -4.9, 0.49, DEAMINATION),
    ("silage.ammonia_of_grass", GapKind::Open, -3.58, 0.358, DEAMINATION),
    ("silage.good_wet_grass", GapKind::Open, -40.3, 4.0, SOUR_GRASS),
    ("silage.good_grass", GapKind::Open, -35.8, 3.6, SOUR_GRASS),
    (
        "worms.dead_in_acid",
        GapKind::Open,
        -0.979,
        0.0979,
        "worms of the model die of acid only where they cannot leave it; hill_2013 kept the species at pH 4.6 for 90 d and \
         peat_storage in peat of pH 3.6 to 4.3, so that more than pH killed; which acid it was would close it",
    ),
    ("worms.growth_of_4_in_a_jar", GapKind::Open, 0.423, 0.0423, SHARED),
    ("worms.growth_of_16_in_a_jar", GapKind::Open, 0.568, 0.0568, SHARED),
    (
        "products.pomace_ph",
        GapKind::Open,
        -0.782,
        0.0782,
        "calcium of the pomace would close it: it is not in the abstract, and the lowest published pH \
         lies within the band",
    ),
    (
        "products.kitchen_waste_potassium",
        GapKind::Open,
        -0.0117,
        0.00117,
        "potassium of the waste filled in would close it: it must be at the high end of the library, \
         1.5 % of dry matter",
    ),
    (
        "products.straw_and_manure_ph",
        GapKind::Open,
        1.54,
        0.154,
        "nitrate of the product would close it: the model nitrifies little in lean straw, so that its \
         potassium stays beside bicarbonate",
    ),
    ("products.nitrogen_of_harbour_hall", GapKind::Open, 1.32, 0.132, LEAN),
    ("products.nitrogen_of_mountain_school", GapKind::Open, 1.09, 0.109, LEAN),
    ("products.nitrogen_of_valley_packhouse", GapKind::Open, 1.33, 0.133, LEAN),
];

/// The known gap of a check. None if it should agree.
pub(super) fn known(key: &str) -> Option<KnownGap> {
    let (_, kind, expected, within, reason) = GAPS.into_iter().find(|(of, ..)| *of == key)?;
    Some(KnownGap { kind, expected, within, reason })
}

/// Names of the checks with a gap.
#[cfg(test)]
pub(super) fn names() -> impl Iterator<Item = &'static str> {
    GAPS.into_iter().map(|(key, ..)| key)
}
