//! Worms speed the decay of a bed: a bed with worms never loses less than the same bed without.

use super::{Decay, density, food, model, setup};
use loamledger::matter::Material;
use loamledger::process::worm::Population;
use loamledger::unit::bed::{Bed, BedModel, BedSetup, MoistureBand, Weather};

/// Heat transfer of a box of its floor area, with walls, W/(m2 K). Assumed: three times the area of the floor at 8.
const WALLED: f64 = 24.0;

/// Dry matter lost by feed after some days, of a box of a square metre filled once, 0.15 m deep, with worms, kg.
fn lost(m: &BedModel, id: &str, worms: f64, days: u32) -> (f64, f64) {
    // moist as worms like it; in wetter boxes castings pack, and a starving stock may leave up to 3 % more of loose leaves than none
    let moisture_band = MoistureBand { low: 0.7, high: 0.8 };
    let made = BedSetup { heat_transfer: Some(WALLED), moisture_band, ..setup(1.0) };
    let stock = Population::at_stable_structure(worms, &m.worms);
    let mut bed = Bed::new(made, Material::zero(), 0.0, 22.0, stock);
    let feed = food(id) * (0.15 * density(id));
    bed.ready.add(feed, 0.15);
    let given = feed.dry() + bed.tissue(m).dry();
    for _ in 0..days {
        bed.day(m, &Weather { temperature: 22.0, humidity: 0.6 }, 1);
    }
    (1.0 - (bed.contents().dry() + bed.tissue(m).dry()) / given, bed.worms.biomass(&m.worms))
}

#[test]
fn a_bed_with_worms_never_loses_less_than_one_without() {
    let m = model(Decay::Central);
    let mut table = Vec::new();
    let mut worst: f64 = f64::INFINITY;
    for id in [
        "food_waste_household",
        "fruit_and_vegetable_market",
        "cattle_manure_solid",
        "horse_manure_bedded",
        "coffee_grounds",
        "leaves_autumn",
    ] {
        for days in [30, 60, 120] {
            let (bare, _) = lost(&m, id, 0.0, days);
            for worms in [0.5, 2.0, 4.0] {
                let (with, left) = lost(&m, id, worms, days);
                worst = worst.min(with / bare);
                table.push(format!(
                    "{id} {days} d, {worms} kg: {with:.3} with, {bare:.3} without, {left:.2} kg left"
                ));
            }
        }
    }
    // rounding of a loss in per cent
    assert!(worst >= 0.99, "{worst}\n{}", table.join("\n"));
}
