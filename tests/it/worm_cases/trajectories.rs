//! Trajectories of the whole model: V9, V10, V12, and V14.

use loamledger::process::worm::stress::SaltResponse;
use loamledger::process::worm::{Population, Surroundings, WormParameters, WormRates, day};

use super::{Bed, central, printed};

#[test]
fn v9_fed_bed() {
    // B, I, f, psi as used during the day; counts, q and feed at the end of the day
    type Row = (u32, [f64; 4], [f64; 6]);
    let rows: [Row; 7] = [
        (1, [492.308, 0.0, 0.0, 1994.000], [1.00000, 0.75000, 1.0, 1.0, 0.98462, 0.2500]),
        (2, [981.707, 0.0, 0.0, 1988.018], [0.99700, 0.75000, 1.0, 1.0, 0.98471, 0.5022]),
        (30, [10836.193, 5187.121, 0.044, 1827.615], [0.94407, 0.75000, 1.0, 1.0, 0.98627, 8.3559]),
        (60, [10224.827, 22800.856, 2494.028, 1677.019], [1.71105, 0.75000, 1.0, 1.0, 0.95626, 11.6779]),
        (90, [7832.586, 29301.261, 9790.357, 2297.373], [3.52164, 0.28396, 0.23600, 0.40819, 0.83768, 0.0]),
        (180, [2841.611, 26210.899, 8838.501, 4517.517], [4.47963, 0.22323, 0.13645, 0.14024, 0.76130, 0.0]),
        (365, [4061.902, 24286.878, 4269.654, 6450.417], [4.42051, 0.22622, 0.14134, 0.13969, 0.76609, 0.0]),
    ];
    let mut bed = Bed::square_metre();
    for today in 1..=365 {
        let what = bed.day(1.0);
        let Some((_, counts, figures)) = rows.iter().find(|row| row.0 == today) else { continue };
        let now = bed.worms.counts();
        for (count, expected) in
            [now.cocoons, now.juveniles, now.subadults, now.adults].into_iter().zip(counts)
        {
            printed(&format!("day {today}"), count, *expected, 3);
        }
        let found =
            [what.biomass_before, what.intake, what.food_index, bed.worms.condition, what.crowding, bed.feed];
        // day 2: the feed is 0.50225 exactly, printed 0.5022
        for ((figure, expected), decimals) in found.into_iter().zip(figures).zip([5, 5, 5, 5, 5, 4]) {
            printed(&format!("day {today}"), figure, *expected, decimals);
        }
    }
}

#[test]
fn v10_unfed_bed() {
    let mut bed = Bed::square_metre();
    for today in 1..=60 {
        let what = bed.day(0.0);
        let counts = bed.worms.counts();
        assert!(what.starving && what.growth_per_feed.abs() < 1e-15);
        match today {
            1 => {
                printed("C", counts.cocoons, 443.077, 3);
                printed("g", bed.worms.body, 0.994_00, 5);
                printed("q", bed.worms.condition, 0.900_00, 5);
            }
            10 => {
                printed("C", counts.cocoons, 2811.527, 3);
                printed("B", what.biomass_before, 0.922_01, 5);
                printed("g", bed.worms.body, 0.941_59, 5);
                printed("q", bed.worms.condition, 0.348_68, 5);
            }
            30 => {
                printed("J", counts.juveniles, 3087.877, 3);
                printed("A", counts.adults, 1827.615, 3);
                printed("B", what.biomass_before, 0.777_96, 5);
                printed("g", bed.worms.body, 0.834_82, 5);
            }
            60 => {
                printed("C", counts.cocoons, 118.727, 3);
                printed("J", counts.juveniles, 5902.203, 3);
                printed("A", counts.adults, 1670.089, 3);
                printed("B", what.biomass_before, 0.601_79, 5);
                printed("g", bed.worms.body, 0.696_92, 5);
            }
            _ => {}
        }
    }
}

#[test]
fn v12_steady_state() {
    for (feed, mean, range) in
        [(1.0, 4.2794, Some((4.2702, 4.2885))), (2.0, 8.1202, None), (0.5, 2.1785, None)]
    {
        let mut bed = Bed::square_metre();
        let mut seen = Vec::new();
        for today in 1..=1460 {
            let what = bed.day(feed);
            if today >= 1096 {
                seen.push(what.biomass_before);
            }
        }
        printed("mean", seen.iter().sum::<f64>() / seen.len() as f64, mean, 4);
        if let Some((lowest, highest)) = range {
            printed("lowest", seen.iter().copied().fold(f64::MAX, f64::min), lowest, 4);
            printed("highest", seen.iter().copied().fold(0.0, f64::max), highest, 4);
        }
    }
}

#[test]
fn v14_temperature_factors() {
    let rates = WormRates::new(central());
    for (temperature, factor) in [
        (5.0, 0.1328),
        (8.0, 0.2458),
        (10.0, 0.3315),
        (12.0, 0.4234),
        (15.0, 0.5682),
        (18.0, 0.7141),
        (20.0, 0.8074),
        (22.0, 0.8935),
        (25.0, 1.0),
        (28.0, 1.0625),
        (30.0, 1.0662),
        (32.0, 1.0239),
        (34.0, 0.9101),
        (35.0, 0.8102),
        (36.0, 0.6602),
        (37.5, 0.0),
    ] {
        printed(&format!("{temperature} C"), rates.temperature_factor(temperature), factor, 4);
    }
    // 25 (25 + 9) sqrt(12.5) by hand
    printed("norm", rates.temperature_curve().norm(), 3_005.203_8, 4);
}

#[test]
fn alkali_and_crowds_kill_at_their_printed_rates() {
    // of a thousand adults half the full rate of 0.35 a day at pH 9.25, all of it from 9.5 on
    let rates = WormRates::new(central());
    for (ph, dead) in [(9.0, 0.0), (9.25, 175.0), (9.5, 350.0), (9.9, 350.0)] {
        let mut bed = Population::from_adult_count(1000.0);
        let what = day(&mut bed, &rates, &Surroundings { ph, ..Surroundings::ideal(1.0) }, 10.0);
        assert!((what.deaths.alkali - dead).abs() < 1e-9, "pH {ph}: {}", what.deaths.alkali);
    }
    // juveniles only: 0.02 a day times the square of density over 5 kg/m2
    let given = WormParameters { crowding_juvenile_death: 0.02, intake_half_density: 5.0, ..central() };
    let rates = WormRates::new(given);
    for (density, share) in [(5.0, 0.02), (10.0, 0.08)] {
        let mut bed = Population { juveniles: [2000.0; 12], ..Population::from_adult_count(1000.0) };
        let area = bed.biomass(&rates) / density;
        let what = day(&mut bed, &rates, &Surroundings::ideal(area), 10.0);
        let dead = what.deaths.crowding / (12.0 * 2000.0);
        assert!((dead / share - 1.0).abs() < 1e-9, "{density} kg/m2: {dead}");
    }
}

#[test]
fn worms_lose_mass_by_the_share_of_their_maintenance_that_is_not_met() {
    // 0.6 % a day of nothing, half of it on half of 0.14 kg/(kg d), none on all of it
    let rates = WormRates::new(central());
    for (met, lost) in [(0.0, 0.006), (0.5, 0.003), (0.9, 0.000_6), (1.001, 0.0)] {
        let mut bed = Population::from_adult_count(1000.0);
        let feed = met * 0.14 * bed.biomass(&rates);
        let what = day(&mut bed, &rates, &Surroundings::ideal(1.0), feed);
        assert!((1.0 - bed.body - lost).abs() < 1e-12, "{met}: {}", bed.body);
        assert_eq!(what.starving, met < 1.0, "{met}");
    }
}

#[test]
fn salt_that_is_drawn_to_stop_worms_before_it_slows_them_stops_them_where_it_would_slow_them() {
    let salt = SaltResponse::from_values(&|key| match key {
        "bed.salt_response_full_limit" => 4.0,
        "bed.salt_response_zero" => 3.0,
        _ => 1.0,
    });
    assert!((salt.feeding(3.9_f64) - 1.0).abs() < 1e-12 && salt.feeding(4.1_f64).abs() < 1e-12);
}

#[test]
fn v14_units() {
    // 0.453 592 37 kg per pound, 0.3048 m per foot, both exact
    let per_square_foot = 0.453_592_37 / (0.3048 * 0.3048);
    // other code printed 4.8825; exact is 4.88243, so their last digit is one too high
    printed("lb/ft2", per_square_foot, 4.8824, 4);
    assert!((per_square_foot - 4.8825).abs() < 1e-4);
    printed("0.33 lb/ft2", 0.33 * per_square_foot, 1.611, 3);
}
