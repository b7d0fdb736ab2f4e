//! Plans, lots and recipes of starter and bran by hand.

use super::*;
use crate::literature;

#[test]
fn demand_counts_part_weeks_and_holds_the_last() {
    assert!((demand(&[10.0, 20.0], 1.5) - 20.0).abs() < 1e-12);
    assert!((demand(&[10.0, 20.0], 4.0) - 70.0).abs() < 1e-12);
    assert!(demand(&[], 4.0).abs() < 1e-12);
}

#[test]
fn taking_uses_the_oldest_first() {
    let mut lots: VecDeque<Lot> =
        [Lot { since: 0, amount: 2.0 }, Lot { since: 7, amount: 3.0 }].into_iter().collect();
    assert!((take(&mut lots, 2.5) - 2.5).abs() < 1e-12);
    assert_eq!(lots.front().unwrap().since, 7);
    assert!((take(&mut lots, 9.0) - 2.5).abs() < 1e-12);
}

#[test]
fn only_fermentable_sugars_are_used() {
    // by hand: 20 g of sugars in a litre, 10 g of them fermentable and far from the acid limit; 10 g stay
    let get = |key: &str| literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
    let setup = StarterSetup {
        carrier: Load::default(),
        molasses: Load::default(),
        mother_culture: Material::zero(),
        molasses_density: 1.4,
        practice: StarterPractice::from_values(&get),
        activation_temperature: 25.0,
        least_starter: 0.0,
        safety_weeks: 0.0,
        starting_bran: 0.0,
        weekly_capacity: 0.0,
    };
    let mut mix = Material::of(Component::Water, 1.0) + Material::of(Component::Sugars, 0.02);
    *mix.buffer_mut() = 0.2;
    let (rates, k) = (FermentationRates::from_values(&get), AcidConstants::from_values(&get));
    let (recipe, fermentable) = ferment(mix, 0.01, 1000.0, &setup, &rates, &k);
    let left = recipe.ready[Component::Sugars];
    assert!((left - 0.01).abs() < 1e-6 && fermentable < 1e-6, "{left} {fermentable}");
}

/// A maker of bran from made-up bran, molasses and culture, activation 7 d and bran 14 d, with 5 kg of bran in stock.
fn maker(change: impl FnOnce(&mut StarterSetup)) -> BranMaker {
    let get = |key: &str| literature::central(key).unwrap_or_else(|| panic!("no value for {key}"));
    let mut carrier = Material::of(Component::Water, 0.1) + Material::of(Component::Fibre, 0.7);
    carrier[Component::Sugars] = 0.2;
    *carrier.buffer_mut() = 0.05;
    // a quarter of the carrier's sugars ferments, and half of them is released slowly; all sugar of molasses ferments
    let carrier = Load { matter: carrier, fermentable: 0.05, slow: 0.10, ..Load::default() };
    let molasses = Material::of(Component::Water, 0.25) + Material::of(Component::Sugars, 0.75);
    let molasses = Load { matter: molasses, fermentable: 0.75, ..Load::default() };
    let practice = StarterPractice {
        activation_days: 7.0,
        bran_days: 14.0,
        starter_keeps: 30.0,
        bran_keeps: 365.0,
        ..StarterPractice::from_values(&get)
    };
    let mut setup = StarterSetup {
        carrier,
        molasses,
        mother_culture: Material::of(Component::Water, 1.0),
        molasses_density: 1.4,
        practice,
        activation_temperature: 30.0,
        least_starter: 0.5,
        safety_weeks: 0.5,
        starting_bran: 5.0,
        weekly_capacity: 100.0,
    };
    change(&mut setup);
    BranMaker::new(setup, &FermentationRates::from_values(&get), &AcidConstants::from_values(&get))
}

#[test]
fn the_plan_equals_one_computed_by_hand() {
    // 10 kg a week: 7 + 14 days, the week until the next look and half a week are 4.5 weeks, 45 kg; 5 are in stock
    let mut bran = maker(|_| {});
    assert!(bran.starter_ph() < bran.setup.practice.highest_ph, "the starter is sound");
    let weekly = [10.0; 10];
    let first = bran.step(0, &weekly);
    assert!((first.bran_ordered - 40.0).abs() < 1e-9 && first.beyond_capacity == 0.0);
    let litres = 40.0 * bran.starter_per_bran;
    assert!((first.starter_begun - litres).abs() < 1e-9, "{} {litres}", first.starter_begun);
    assert!((first.drawn - bran.starter.bought * litres).largest() < 1e-9);
    // begun when the starter is ready, on day 7; ready on day 21; nothing more is ordered meanwhile
    let mut ready = Vec::new();
    for day in 1..22 {
        let step = bran.step(day, &weekly);
        assert!(step.bran_ordered.abs() < 1e-9 && step.discarded.wet() == 0.0, "day {day}");
        let begun = if day == 7 { bran.bran.bought * 40.0 } else { Material::zero() };
        assert!((step.drawn - begun).largest() < 1e-9, "day {day}");
        if step.bran_ready > 0.0 {
            ready.push((day, step.bran_ready));
        }
    }
    assert_eq!(ready.len(), 1);
    assert!(ready[0].0 == 21 && (ready[0].1 - 40.0).abs() < 1e-9);
    assert!((bran.bran_in_stock() - 45.0).abs() < 1e-9);
    let drawn = bran.draw(50.0);
    assert!((drawn.bran.wet() - 45.0).abs() < 1e-9 && (drawn.short - 5.0).abs() < 1e-9);
}

#[test]
fn the_plan_reports_demand_beyond_capacity_and_keeps_the_smallest_batch() {
    let mut bran = maker(|setup| (setup.weekly_capacity, setup.least_starter) = (30.0, 1000.0));
    let step = bran.step(0, &[10.0; 10]);
    assert!((step.bran_ordered - 30.0).abs() < 1e-9 && (step.beyond_capacity - 10.0).abs() < 1e-9);
    assert!((step.starter_begun - 1000.0).abs() < 1e-9);
}

#[test]
fn failed_starter_is_discarded_and_leaves_one_backlog() {
    let mut bran = maker(|setup| setup.practice.highest_ph = 0.0);
    let begun = bran.step(0, &[10.0; 10]).starter_begun;
    for day in 1..8 {
        let step = bran.step(day, &[20.0; 10]);
        if day == 7 {
            // 90 kg are wanted now: 40 wait already, 45 more are ordered
            assert!((step.starter_failed - begun).abs() < 1e-9);
            assert!((step.discarded - bran.starter.ready * begun).largest() < 1e-9);
            assert!((step.bran_ordered - 45.0).abs() < 1e-9, "{}", step.bran_ordered);
        }
    }
    assert_eq!(bran.waiting.len(), 1);
    assert!((sum(&bran.waiting) - 85.0).abs() < 1e-9);
}

#[test]
fn old_bran_and_starter_are_discarded() {
    // 4.5 weeks of 2 kg are 9 kg: 4 are ordered, and 50 L begun where they need less. The 5 kg of the start are kept 10 d,
    // the starter that the bran leaves on day 7 another 3
    let mut bran = maker(|setup| {
        (setup.practice.bran_keeps, setup.practice.starter_keeps) = (10.0, 3.0);
        setup.least_starter = 50.0;
    });
    let left = 50.0 - 4.0 * bran.starter_per_bran;
    for day in 0..12 {
        let gone = bran.step(day, &[2.0; 10]).discarded;
        let wanted = bran.starter.ready * left + bran.bran.ready * 5.0;
        let wanted = if day == 10 { wanted } else { Material::zero() };
        assert!((gone - wanted).largest() < 1e-9, "day {day}: {gone:?}");
    }
}

#[test]
fn lots_are_the_weeks_begun_plus_two() {
    assert_eq!([0.0, 6.9, 7.0, 7.1, 14.0, 30.0].map(lots), [2, 3, 3, 4, 4, 7]);
}

#[test]
fn years_of_bran_allocate_nothing() {
    for keeps in [365.0, 20.0] {
        let mut bran =
            maker(|setup| (setup.practice.starter_keeps, setup.practice.bran_keeps) = (10.0, keeps));
        let room = |b: &BranMaker| {
            [&b.brewing, &b.starter_stock, &b.waiting, &b.fermenting, &b.stock].map(VecDeque::capacity)
        };
        let before = room(&bran);
        for day in 0..1000 {
            bran.step(day, &[f64::from(day % 50); 10]);
            bran.draw(1.0);
        }
        assert_eq!(room(&bran), before);
    }
}

#[test]
fn recipes_equal_sums_by_hand() {
    // a tenth of a litre of molasses at 1.4 kg/L and three quarters of sugar; 10 g of sugars in a kilogram of carrier, which with a
    // little molasses and unfinished starter are far from the acid limit: in the end only what does not ferment is left
    let mut bran = maker(|setup| {
        (setup.carrier.matter[Component::Sugars], setup.practice.molasses_per_carrier) = (0.010, 0.002);
        (setup.carrier.fermentable, setup.carrier.slow) = (0.004, 0.005);
        *setup.carrier.matter.buffer_mut() = 0.5;
        (setup.practice.molasses, setup.practice.activation_days) = (0.1, 1.0);
        (setup.practice.bran_days, setup.practice.starter_per_carrier) = (1e4, 0.02);
    });
    let first = bran.step(0, &[10.0; 10]);
    assert!((first.drawn[Component::Sugars] / first.starter_begun - 0.1 * 1.4 * 0.75).abs() < 1e-9);
    assert!(bran.starter.ready[Component::Sugars] > 0.05, "the starter is not finished");
    let made = bran.bran();
    let per_fibre = |kg: f64| kg / made.matter[Component::Fibre];
    let left = per_fibre(made.matter[Component::Sugars]);
    assert!((left / (0.006 / 0.7) - 1.0).abs() < 1e-6, "{left}");
    assert!(made.fermentable.abs() < 1e-9 && (per_fibre(made.slow) / (0.005 / 0.7) - 1.0).abs() < 1e-9);
}
