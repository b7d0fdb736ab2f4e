//! Elements of a bed over a year at four step lengths, and the order of the step.

use super::{Decay, density, food, model, setup, wetted};
use loamledger::matter::{Component, Element, Elements, Material};
use loamledger::process::acidity::{Surrounds, base_for};
use loamledger::process::worm::{Population, WormRecovery};
use loamledger::unit::bed::{Bed, BedModel, BedSetup, Weather};

/// Fermented market waste with cardboard, pH 4, 70 % water.
pub(super) fn paste(m: &BedModel) -> Material {
    let mut paste = food("fruit_and_vegetable_market") * 0.85 + food("cardboard_corrugated") * 0.15;
    let acid = 0.3 * paste[Component::Sugars];
    paste[Component::Sugars] -= acid;
    paste[Component::Lactic] += acid;
    let mut paste = wetted(paste, 0.70);
    *paste.base_mut() += base_for(&paste, &m.acids, &Surrounds::acid_store(20.0), 4.0);
    paste
}

/// A bed of coir (m2) with worms (kg), as warm as its room (°C).
pub(super) fn bed(m: &BedModel, area: f64, worms: f64, warmth: f64) -> Bed {
    let made = BedSetup { surface_wetness: Some(0.5), heat_transfer: Some(8.0), ..setup(area) };
    let depth = 0.1;
    let bedding = food("coconut_coir") * (depth * area * density("coconut_coir"));
    let worms = Population::at_stable_structure(worms, &m.worms);
    Bed::new(made, wetted(bedding, 0.75), depth * area, warmth, worms)
}

#[test]
fn a_year_conserves_every_element_at_any_step() {
    // Everything that crosses the bed's edge is summed: feed, water, gases, drainage, castings, worms taken out and put in.
    let m = model(Decay::Central);
    let recovery = WormRecovery { cocoon: 0.3, juvenile: 0.6, subadult: 0.85, adult: 0.95 };
    for steps in [1, 2, 4, 8] {
        let mut bed = bed(&m, 20.0, 20.0, 15.0);
        let held = |bed: &Bed| bed.contents().elements() + bed.tissue(&m).elements();
        let mut expected: Elements = held(&bed);
        let mut through = expected;
        for day in 0..365_u32 {
            let season = (std::f64::consts::TAU * f64::from(day) / 365.0).sin();
            let air = Weather { temperature: 16.0 + 9.0 * season, humidity: 0.7 - 0.2 * season };
            let (amount, _) = bed.room_for_feed(&m, 0.3, 500.0);
            let feed = paste(&m) * amount;
            bed.feed(feed, amount / 500.0);
            let out = bed.day(&m, &air, steps);
            let enters = feed + Material::of(Component::Water, out.irrigated);
            expected += enters.elements() - out.gases.elements() - out.drained.elements();
            through += enters.elements();
            if day % 60 == 59 {
                let got = bed.harvest(0.4, &recovery, &m);
                expected -= got.castings.elements();
                // a tenth of the stock is moved out, its matter with it
                let moved = bed.take_worms(0.1);
                expected -= (m.parameters.tissue * moved.live_mass(&m.worms)).elements();
            }
            let now = held(&bed);
            for e in Element::ALL {
                let gap = (now[e.index()] - expected[e.index()]).abs();
                assert!(gap < 1e-9 * through[e.index()], "{steps} steps, day {day}, {}: {gap}", e.name());
            }
            assert!(bed.contents().smallest() > -1e-12 && bed.temperature.is_finite());
        }
        assert!(bed.worms.biomass(&m.worms) > 1.0 && through[Element::Carbon.index()] > 2.0 * held(&bed)[0]);
    }
}

/// Castings dry matter, gas carbon and stock after 120 days of constant feed and weather; moist air, so that the bed is never
/// watered (watering is an event of whole days and no part of the step).
fn course(m: &BedModel, steps: u32) -> [f64; 3] {
    let mut bed = bed(m, 10.0, 8.0, 20.0);
    let feed = paste(m);
    let mut carbon = 0.0;
    for _ in 0..120 {
        bed.feed(feed * 8.0, 8.0 / 500.0);
        let out = bed.day(m, &Weather { temperature: 20.0, humidity: 0.95 }, steps);
        carbon += out.gases.element(Element::Carbon);
    }
    [bed.castings.matter.dry(), carbon, bed.worms.biomass(&m.worms)]
}

#[test]
fn halving_the_step_halves_the_error() {
    // First order in the step: against 64 steps a day, errors of 1, 2, 4 and 8 steps fall by 2.03, 2.07 and 2.14 where the error
    // is exactly proportional to the step. Long steps stay outside that range (castings fall by 1.1, 1.5 and 1.7): evaporation
    // explicit in temperature and drainage that begins within a step add parts of second order.
    let m = model(Decay::Central);
    let reference = course(&m, 64);
    let runs = [1, 2, 4, 8].map(|steps| course(&m, steps));
    for (n, what) in ["castings dry matter", "gas carbon", "stock"].into_iter().enumerate() {
        let errors = runs.map(|run| (run[n] - reference[n]).abs());
        for (pair, least) in errors.windows(2).zip([1.0, 1.3, 1.6]) {
            let ratio = pair[0] / pair[1];
            assert!((least..=2.7).contains(&ratio), "{what}: {errors:?} of {}", reference[n]);
        }
        assert!(errors[0] < 0.05 * reference[n], "{what}: {errors:?} of {}", reference[n]);
    }
}
