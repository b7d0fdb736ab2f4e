//! Properties that hold for any stock, surroundings and feed: the invariants of section 3.2.

use loamledger::process::worm::{Population, Surroundings, WormParameters, WormRates, day};
use proptest::array::{uniform9, uniform10, uniform12};
use proptest::prelude::*;

use super::central;

fn stocks() -> impl Strategy<Value = Population> {
    let number = || prop_oneof![Just(0.0), 0.0..5e4];
    let (condition, body, size) = (0.0..=1.0, 0.2..=1.0, 0.5..=2.5);
    (uniform9(number()), uniform12(number()), uniform10(number()), number(), condition, body, size).prop_map(
        |(cocoons, juveniles, subadults, adults, condition, body, adult_size)| Population {
            cocoons,
            juveniles,
            subadults,
            adults,
            condition,
            body,
            adult_size,
        },
    )
}

fn places() -> impl Strategy<Value = Surroundings> {
    let deaths = || prop_oneof![Just(0.0), 0.0..1.5];
    let (share, limit) = (0.0..=1.0, 0.0..=1.0);
    (-10.0..50.0, 0.3..1.0, 3.0..10.0, 0.1..20.0, deaths(), deaths(), share, limit, any::<bool>()).prop_map(
        |(temperature, moisture, ph, area, salt_death, ammonia_death, feeding, laying, refuge)| {
            Surroundings {
                temperature,
                moisture,
                ph,
                area,
                feeding,
                laying,
                salt_death,
                ammonia_death,
                refuge,
            }
        },
    )
}

proptest! {
    #[test]
    fn any_day_stays_sane(start in stocks(), here in places(), feed in 0.0..50.0) {
        let rates = WormRates::new(central());
        let mut stock = start;
        let what = day(&mut stock, &rates, &here, feed);
        prop_assert!(stock.is_finite());
        prop_assert!(stock.condition <= 1.0 && stock.body <= 1.0);
        prop_assert!(what.eaten >= 0.0 && what.eaten <= feed);
        let capacity = central().maximum_intake * rates.temperature_factor(here.temperature) * what.biomass_before;
        prop_assert!(what.eaten <= capacity * (1.0 + 1e-12));
        prop_assert!((-1.0..=1.0).contains(&what.food_index) && (0.0..=1.0).contains(&what.crowding));

        // heads and kilograms close
        let scale = start.worms() + start.counts().cocoons + 1.0;
        let heads = start.worms() - what.deaths.total() + what.hatched - stock.worms();
        prop_assert!(heads.abs() < 1e-9 * scale, "heads {heads}");
        let opened = what.hatched / central().hatchlings;
        let cocoons = start.counts().cocoons + what.cocoons_laid - what.cocoons_failed - opened;
        prop_assert!((cocoons - stock.counts().cocoons).abs() < 1e-9 * scale);
        let mass = what.biomass_before + what.tissue_made - what.deaths_kg - stock.biomass(&rates);
        prop_assert!(mass.abs() < 1e-12 * scale);
    }

    #[test]
    fn without_deaths_and_laying_nobody_is_lost(start in stocks(), feed in 0.0..50.0, temperature in 0.5..32.0) {
        // mu = 0, h m = 1, no laying; body above the low-condition threshold
        let rates = WormRates::new(WormParameters {
            cocoon_rate: 0.0,
            hatch_share: 1.0,
            hatchlings: 1.0,
            cocoon_death: 0.0,
            juvenile_death: 0.0,
            subadult_death: 0.0,
            adult_death: 0.0,
            ..central()
        });
        let mut stock = Population { body: 1.0, ..start };
        let total = |stock: &Population| stock.worms() + stock.counts().cocoons;
        let before = total(&stock);
        for _ in 0..30 {
            let here = Surroundings { temperature, ..Surroundings::ideal(1.0) };
            day(&mut stock, &rates, &here, feed);
        }
        prop_assert!((total(&stock) - before).abs() <= 1e-10 * before.max(1.0));
    }

    #[test]
    fn twice_the_bed_does_everything_twice(start in stocks(), here in places(), feed in 0.0..50.0) {
        let rates = WormRates::new(central());
        let (mut one, mut two) = (start, start.scaled(2.0));
        let wide = Surroundings { area: 2.0 * here.area, ..here };
        for _ in 0..10 {
            let small = day(&mut one, &rates, &here, feed);
            let large = day(&mut two, &rates, &wide, 2.0 * feed);
            for (single, double) in [
                (small.biomass_before, large.biomass_before),
                (small.eaten, large.eaten),
                (small.cocoons_laid, large.cocoons_laid),
                (small.hatched, large.hatched),
                (small.deaths_kg, large.deaths_kg),
                (small.deaths.total(), large.deaths.total()),
                (small.biomass_after, large.biomass_after),
            ] {
                prop_assert!((2.0 * single - double).abs() <= 1e-12 * double.abs());
            }
            prop_assert!((small.crowding - large.crowding).abs() < 1e-12);
            prop_assert!((small.food_index - large.food_index).abs() < 1e-12);
        }
    }

    #[test]
    fn merging_loses_no_kilogram(first in stocks(), second in stocks()) {
        let rates = WormRates::new(central());
        let mut both = first;
        both.merge(&second, &rates);
        let expected = first.biomass(&rates) + second.biomass(&rates);
        prop_assert!((both.biomass(&rates) - expected).abs() <= 1e-12 * expected.max(1e-12));
        prop_assert!(both.condition <= 1.0 && both.body <= 1.0 && both.is_finite());
    }

    #[test]
    fn more_feed_never_makes_fewer_worms(start in stocks(), feed in 0.0..20.0, more in 0.0..20.0) {
        let rates = WormRates::new(central());
        let here = Surroundings::ideal(2.0);
        let (mut lean, mut rich) = (start, start);
        let small = day(&mut lean, &rates, &here, feed);
        let large = day(&mut rich, &rates, &here, feed + more);
        prop_assert!(large.eaten >= small.eaten && large.cocoons_laid >= small.cocoons_laid - 1e-9);
        // the low-condition step may be passed by either, so mass is compared on sound bodies only
        if lean.body >= 0.4 {
            prop_assert!(large.biomass_after >= small.biomass_after * (1.0 - 1e-12));
        }
    }
}
