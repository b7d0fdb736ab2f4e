//! One drum by hand: sugars, water, air, gas, liquor, and why it spoils.

use super::super::beside;
use super::super::tests::setup;
use super::super::{DrumVent, Fermented};
use super::*;
use crate::literature;
use crate::process::acidity::{AcidConstants, Surrounds};
use crate::process::ingredient::Carbohydrates;
use std::collections::VecDeque;

/// One day of a drum alone.
fn advance(drum: &mut DrumCohort, today: &Today<'_>) -> Fermented {
    let mut all = VecDeque::from([*drum]);
    let mut out = Fermented::nothing(0.0);
    fermenting::advance(&mut all, today, &mut out);
    *drum = all[0];
    out
}

/// Lets gas out of a drum: carbon dioxide and hydrogen, kg, and the gauge pressure, Pa.
fn let_out(drum: &mut DrumCohort, today: &Today<'_>) -> ([f64; 2], f64) {
    let mut lane = fermenting::Drum::<f64>::gather([&*drum; 4]);
    let out = lane.vent(today);
    drum.held_carbon_dioxide = lane.held_carbon_dioxide;
    drum.held_hydrogen = lane.held_hydrogen;
    out
}

#[test]
fn drums_side_by_side_give_the_bits_that_each_gives_alone() {
    for vent in [DrumVent::Sealed, DrumVent::Valve { set_pressure: 2000.0 }] {
        with_a_drum(&DrumStoreSetup { leak: 0.0001, vent, ..setup() }, |drum, today| {
            // drums of seven ages, one of them spoiled, in two groups
            let mut alone = vec![drum; 7];
            for (days, drum) in alone.iter_mut().enumerate() {
                drum.spoiled = days == 5;
                for _ in 0..3 * days {
                    advance(drum, today);
                }
            }
            let mut together = VecDeque::from(alone.clone());
            let mut out = Fermented::nothing(0.0);
            for _ in 0..9 {
                fermenting::advance(&mut together, today, &mut out);
            }
            let mut gases = 0.0;
            for drum in &mut alone {
                for _ in 0..9 {
                    gases += advance(drum, today).gases[Gas::CarbonDioxide];
                }
            }
            // a margin that is not judged is not a number, which equals nothing
            let text = |drums: &mut dyn Iterator<Item = &DrumCohort>| {
                drums.map(|drum| serde_json::to_string(drum).unwrap_or_default()).collect::<Vec<_>>()
            };
            assert_eq!(text(&mut together.iter()), text(&mut alone.iter()));
            assert!((out.gases[Gas::CarbonDioxide] - gases).abs() < 1e-12 * (1.0 + gases), "{gases}");
        });
    }
}

/// Fills a drum with other amounts.
fn fill(drum: &mut DrumCohort, amounts: &[(Component, f64)]) {
    for &(component, kg) in amounts {
        drum.loaded[component] = kg;
    }
    drum.amounts = at_loading(&drum.loaded);
}

/// A drum of scraps sealed today, and the day, at 20 °C.
fn with_a_drum(setup: &DrumStoreSetup, test: impl Fn(DrumCohort, &Today<'_>)) {
    let get = |key: &str| literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
    let (rates, k) = (FermentationRates::from_values(&get), AcidConstants::from_values(&get));
    let powers = AcidPowers::at(&k, &Surrounds::acid_store(20.0));
    let today = Today::new(setup, &rates, &powers, 0, 20.0);
    let mut scraps = Material::of(Component::Water, 115.0);
    for (c, kg) in [
        (Component::Sugars, 14.0),
        (Component::Protein, 6.0),
        (Component::Fat, 4.0),
        (Component::Fibre, 8.0),
        (Component::Minerals, 3.0),
    ] {
        scraps[c] = kg;
    }
    *scraps.buffer_mut() = 0.05 * scraps.dry();
    let scraps = rates.load(scraps, Carbohydrates { free_sugar: 0.25, cooked_starch: 1.0 });
    test(DrumCohort::seal(scraps, 1, Start { dose: 0.0, luck: 1.0 }, Acidity::of(5.0), &today), &today);
}

#[test]
fn exactly_the_oxygen_that_leaks_in_is_used() {
    // 7 g a week per kg of 35 kg dry matter: 35 g a day, while there is sugar or lactic acid to burn
    with_a_drum(&DrumStoreSetup { leak: 0.007, ..setup() }, |mut drum, today| {
        for day in 0..20 {
            let gases = advance(&mut drum, today).gases;
            assert!((gases[Gas::Oxygen] + 0.035).abs() < 1e-9, "day {day}: {}", gases[Gas::Oxygen]);
        }
        assert!(drum.matter()[Component::Lactic] > 0.1);
    });
}

#[test]
fn leaked_air_burns_sugar_first_then_lactic_acid() {
    // by hand: 35 g of oxygen a day; 1.1841 kg burn a kg of C6H10O5, 1.0657 kg a kg of C3H6O3; nothing ferments in the cold
    with_a_drum(&DrumStoreSetup { leak: 0.007, ..setup() }, |drum, today| {
        let cold = Today { clock: 0.0, slow_kept: 1.0, late_share: 0.0, ..*today };
        let burn = |sugars: f64, lactic: f64| {
            let mut drum = drum;
            fill(&mut drum, &[(Component::Sugars, sugars), (Component::Lactic, lactic)]);
            let gases = advance(&mut drum, &cold).gases;
            let left = drum.matter();
            [left[Component::Sugars], left[Component::Lactic], -gases[Gas::Oxygen]]
        };
        for ((sugars, lactic), by_hand) in [
            ((1.0, 1.0), [1.0 - 0.035 / 1.1841, 1.0, 0.035]),
            ((0.010, 1.0), [0.0, 1.0 - (0.035 - 0.011_841) / 1.0657, 0.035]),
            ((0.0, 0.010), [0.0, 0.0, 0.010_657]),
        ] {
            for (ours, by_hand) in burn(sugars, lactic).into_iter().zip(by_hand) {
                assert!((ours - by_hand).abs() < 2e-6, "{sugars} {lactic}: {ours} {by_hand}");
            }
        }
    });
}

/// Sugars and starch by what the drum keeps account of: a tenth of 3.5 kg of sugar never ferments, and 2.5 mol come of each mol of
/// deaminated protein.
fn sugars_by_account(drum: &DrumCohort) -> f64 {
    let per_protein = 2.5 * Component::Sugars.molar_mass() / Component::Protein.molar_mass();
    0.35 + drum.fermentable + drum.slow - drum.sugar_use * drum.fermented + per_protein * drum.deaminated
}

#[test]
fn a_drum_follows_its_mass_and_sugars() {
    with_a_drum(&setup(), |mut drum, today| {
        // by hand: of 14 kg a quarter is sugar, of which 0.9 ferments; of the cooked starch 0.12 does, and of 8 kg of fibre 0.02
        let slow = 0.88 * 0.75 * 14.0;
        assert!((drum.slow - slow).abs() < 1e-12);
        assert!((drum.fermentable - (0.9 * 3.5 + 0.12 * 10.5 + 0.02 * 8.0)).abs() < 1e-12);
        assert!((drum.matter()[Component::Fibre] - 0.98 * 8.0).abs() < 1e-12);
        for day in 1..=40 {
            advance(&mut drum, today);
            let matter = drum.matter();
            assert!((drum.wet() - matter.wet()).abs() < 1e-9, "{day}: {} {}", drum.wet(), matter.wet());
            let (sugars, known) = (matter[Component::Sugars], sugars_by_account(&drum));
            assert!((sugars - known).abs() < 1e-9, "{day}: {sugars} {known}");
            let kept = slow * (-today.rates.hydrolysis_rate * today.clock * f64::from(day)).exp();
            assert!((drum.slow - kept).abs() < 1e-9, "{day}: {} {kept}", drum.slow);
        }
        assert!(drum.wet() < 149.9 && drum.fermented > 1.0);
    });
    // and where air leaks in and hydrogen comes of spoiling
    with_a_drum(&DrumStoreSetup { leak: 0.007, ..setup() }, |mut drum, today| {
        drum.spoiled = true;
        for day in 1..=40 {
            advance(&mut drum, today);
            assert!((drum.wet() - drum.matter().wet()).abs() < 1e-9, "{day}");
        }
        assert!(drum.held_hydrogen > 0.01);
    });
}

#[test]
fn late_bacteria_use_their_share_of_lactic_acid_before_clostridia() {
    // 1 kg of acid, first order in both, as are 3 kg of protein that spoiling will deaminate; acid has stopped all else
    with_a_drum(&setup(), |mut drum, today| {
        (drum.spoiled, drum.acid_extent, drum.ammonia_spoiled) = (true, 0.0, 3.0);
        fill(&mut drum, &[(Component::Lactic, 1.0)]);
        advance(&mut drum, today);
        let kept = |rate: f64| (-rate * today.clock).exp();
        let (late, spoiling) = (kept(today.rates.late_rate), kept(today.rates.stability.spoilage_rate));
        let left = drum.matter()[Component::Lactic];
        assert!((left - late * spoiling).abs() < 1e-12, "{left} {late} {spoiling}");
        let protein = drum.matter()[Component::Protein];
        assert!((protein - (6.0 - 3.0 * (1.0 - spoiling))).abs() < 1e-12, "{protein}");
        assert!(late < 0.999 && spoiling < 0.99 && (today.clock - 1.0).abs() > 0.1);
    });
}

/// What is left after a day, long after sealing, in a drum whose bacteria no acid stops.
fn after_a_late_day(today: &Today<'_>, mut drum: DrumCohort) -> (DrumCohort, Material) {
    (drum.clock, drum.acid_extent) = (1000.0, f64::INFINITY);
    advance(&mut drum, today);
    (drum, drum.matter())
}

#[test]
fn a_day_uses_no_more_sugar_acid_and_water_than_available() {
    let none = |kg: f64| assert!(kg.abs() < 1e-12, "{kg}");
    with_a_drum(&DrumStoreSetup { leak: 0.007, ..setup() }, |mut drum, today| {
        // bacteria could ferment 10 kg of sugar, there is half a kilogram; the air burns acid then
        (drum.fermentable, drum.ammonia_good) = (10.0, 0.0);
        fill(&mut drum, &[(Component::Sugars, 0.5), (Component::Lactic, 1.0)]);
        let (fed, left) = after_a_late_day(today, drum);
        none(left[Component::Sugars]);
        assert!((fed.fermented * fed.sugar_use - 0.5).abs() < 1e-12 && fed.sugar_use < 0.99);
        // 10 g of acid: late bacteria take half, clostridia half of the rest, and the air what is left
        (drum.spoiled, drum.fermentable, drum.ammonia_spoiled) = (true, 0.0, 0.0);
        drum.slow = 0.0;
        fill(&mut drum, &[(Component::Sugars, 0.0), (Component::Lactic, 0.010)]);
        let (_, left) = after_a_late_day(&Today { late_share: 0.5, spoil_share: 0.5, ..*today }, drum);
        none(left[Component::Lactic]);
    });
    with_a_drum(&setup(), |mut drum, today| {
        // 100 g of water: fermenting the sugar would bind above a tenth of it
        (drum.fermentable, drum.ammonia_good) = (14.0, 0.0);
        fill(&mut drum, &[(Component::Water, 0.1)]);
        let (_, left) = after_a_late_day(today, drum);
        none(left.water());
        assert!(left[Component::Sugars] > 10.0);
        // 1 kg of water: fermenting 2 kg of sugar binds its part, and deaminating 6 kg of protein would bind 2.5 kg
        (drum.fermentable, drum.slow) = (2.0, 0.0);
        fill(&mut drum, &[(Component::Water, 1.0)]);
        (drum.spoiled, drum.ammonia_spoiled) = (true, 6.0);
        let (fed, left) = after_a_late_day(&Today { spoil_share: 1.0, ..*today }, drum);
        none(left.water());
        assert!((fed.fermented - 2.0).abs() < 1e-9 && fed.deaminated > 1.0 && left[Component::Protein] > 3.0);
    });
}

#[test]
fn a_batch_is_spoiled_by_the_first_cause_that_holds() {
    with_a_drum(&setup(), |mut drum, today| {
        let plain = drum.matter();
        let (mut limed, mut meat) = (plain, plain);
        *limed.calcium_mut() = 1.1 * limed.dry();
        meat[Component::Protein] = 20.0;
        // every cause at once, then without the first, the first two, and so on
        (drum.leak, drum.reached, drum.acid_extent, drum.fermentable) = (0.001, 0.4, 1.0, 1.1);
        *meat.base_mut() = 1.1 * meat.dry();
        assert_eq!(drum.reason(&meat, today), SpoilReason::Air);
        drum.leak = 0.0;
        assert_eq!(drum.reason(&meat, today), SpoilReason::Cold);
        drum.reached = 0.6;
        assert_eq!(drum.reason(&meat, today), SpoilReason::TooWet);
        drum.acid_extent = 1.2;
        assert_eq!(drum.reason(&meat, today), SpoilReason::Lime);
        assert_eq!(drum.reason(&limed, today), SpoilReason::Lime);
        *meat.base_mut() = 0.9 * meat.dry();
        assert_eq!(drum.reason(&meat, today), SpoilReason::ProteinRich);
        assert_eq!(drum.reason(&plain, today), SpoilReason::LowSugar);
    });
}

#[test]
fn pressure_under_a_closed_lid_follows_from_gas_and_dissolved_carbon_dioxide() {
    // p = n / (V / R T + H Vl), by hand, with 115 L of water
    with_a_drum(&setup(), |mut drum, today| {
        drum.held_carbon_dioxide = 2.0 * Gas::CarbonDioxide.molar_mass();
        let headspace = today.rates.gas.headspace(0.208, 150.0);
        let per_pascal = headspace / (8.314_462_618 * 293.15) + today.rates.gas.solubility(20.0) * 0.115;
        let ([carbon_dioxide, hydrogen], pressure) = let_out(&mut drum, today);
        assert!((pressure * per_pascal / 2.0 - 1.0).abs() < 1e-9, "{pressure}");
        assert!(carbon_dioxide == 0.0 && hydrogen == 0.0);
    });
}

#[test]
fn fermentation_continues_in_proportion_after_tapping() {
    with_a_drum(&DrumStoreSetup { drain_liquor: true, ..setup() }, |mut drum, today| {
        for _ in 0..7 {
            advance(&mut drum, today);
        }
        let (before, matter) = (drum, drum.matter());
        let liquor = beside::tap([&mut drum].into_iter(), &Today { day: 7, ..*today });
        let left = drum.matter();
        assert!(liquor.wet() > 0.1 && (matter.wet() - liquor.wet() - left.wet()).abs() < 1e-9);
        let shares = |d: &DrumCohort, m: &Material| {
            [
                d.acid_extent / m[Component::Lactic],
                d.fermented / m[Component::Lactic],
                d.fermentable / m[Component::Lactic],
                d.slow / m[Component::Protein],
                d.ammonia_good / m[Component::Protein],
                d.ammonia_spoiled / m[Component::Protein],
                d.deaminated / m[Component::Protein],
            ]
        };
        // sugar in solution leaves with the pore water, as lactic acid does, and the rest of it with the fines, as fibre does
        let soluble = before.fermentable - before.sugar_use * before.fermented;
        let left_with = |c: Component| liquor[c] / matter[c];
        let by_hand = soluble * left_with(Component::Lactic)
            + (matter[Component::Sugars] - soluble) * left_with(Component::Fibre);
        assert!(soluble > 1.0 && (liquor[Component::Sugars] / by_hand - 1.0).abs() < 1e-9);
        for (n, (was, is)) in shares(&before, &matter).into_iter().zip(shares(&drum, &left)).enumerate() {
            assert!((is / was - 1.0).abs() < 1e-9, "{n}: {was} {is}");
        }
    });
}

#[test]
fn drums_tapped_side_by_side_are_those_tapped_alone() {
    with_a_drum(&DrumStoreSetup { drain_liquor: true, ..setup() }, |drum, today| {
        let mut drums = [drum; 7];
        for (n, drum) in drums.iter_mut().enumerate() {
            (drum.count, drum.spoiled) = (n + 1, n == 2);
            drum.loaded[Component::Potassium] += 0.02 * n as f64;
            drum.luck = 0.1 * n as f64;
            for _ in 0..7 {
                advance(drum, today);
            }
        }
        let (today, mut alone) = (Today { day: 7, ..*today }, drums);
        let all = beside::tap(drums.iter_mut(), &today);
        let mut sum = Material::zero();
        for drum in &mut alone {
            sum += beside::tap([drum].into_iter(), &today);
        }
        // the margin is not judged yet, so not a number: compared as text
        assert_eq!(format!("{drums:?}"), format!("{alone:?}"));
        assert_eq!(all.0.map(f64::to_bits), sum.0.map(f64::to_bits));
        assert!(all.wet() > 1.0);
    });
}

#[test]
fn the_margin_of_a_drum_is_saved_once_it_is_judged() {
    with_a_drum(&setup(), |mut drum, today| {
        let margin = |drum: &DrumCohort| {
            let text = serde_json::to_string(drum).expect("a drum is JSON");
            serde_json::from_str::<DrumCohort>(&text).expect("and JSON is a drum").margin
        };
        assert!(margin(&drum).is_nan());
        let (matter, acidity) = (drum.matter(), drum.acidity);
        drum.check(&matter, acidity, today);
        let wanted = today.rates.stability.margin(&matter, acidity.ph);
        assert_eq!(margin(&drum).to_bits(), wanted.to_bits());
    });
}

#[test]
fn almost_dry_matter_binds_no_more_water_than_it_has() {
    // 1 kg of water: homolactic sugar alone would bind 0.11 kg per kg, deaminated protein 8 mol per mol, 0.41 kg per kg
    with_a_drum(&setup(), |drum, today| {
        let mut dry = drum.loaded;
        dry[Component::Water] = 1.0;
        let dry = Load { matter: dry, fermentable: drum.fermentable, slow: drum.slow, ..Load::default() };
        let mut drum = DrumCohort::seal(dry, 1, Start { dose: 0.0, luck: 1.0 }, Acidity::of(5.0), today);
        // all protein is to be deaminated, and acid stops nothing
        (drum.ammonia_good, drum.acid_extent) = (6.0, f64::INFINITY);
        for _ in 0..200 {
            advance(&mut drum, today);
            assert!(drum.matter().smallest() > -1e-12, "{:?}", drum.matter());
        }
        assert!(drum.matter()[Component::Water] < 1e-6);
    });
}

#[test]
fn hydrogen_has_the_pressure_of_an_ideal_gas() {
    // p = n R T / V, none of it dissolved
    with_a_drum(&setup(), |mut drum, today| {
        drum.held_hydrogen = Gas::Hydrogen.molar_mass();
        let headspace = today.rates.gas.headspace(0.208, 150.0);
        let (_, pressure) = let_out(&mut drum, today);
        assert!((pressure - 8.314_462_618 * 293.15 / headspace).abs() < 1e-6, "{pressure}");
    });
}

#[test]
fn a_valve_retains_the_carbon_dioxide_held_at_its_pressure() {
    let vent = DrumVent::Valve { set_pressure: 2000.0 };
    with_a_drum(&DrumStoreSetup { vent, ..setup() }, |mut drum, today| {
        // n = p (V / R T + H Vl), by hand, with 115 L of water
        let headspace = today.rates.gas.headspace(0.208, 150.0);
        let per_pascal = headspace / (8.314_462_618 * 293.15) + today.rates.gas.solubility(20.0) * 0.115;
        let kept = 103_325.0 * per_pascal * Gas::CarbonDioxide.molar_mass();
        drum.held_carbon_dioxide = 1.0;
        let ([carbon_dioxide, _], pressure) = let_out(&mut drum, today);
        assert!((carbon_dioxide + kept - 1.0).abs() < 1e-9 && kept > 0.1, "{kept}");
        assert!((pressure - 2000.0).abs() < 1e-9);
        let ([carbon_dioxide, _], pressure) = let_out(&mut drum, today);
        assert!(carbon_dioxide < 1e-12 && pressure < 2000.1);
    });
}
