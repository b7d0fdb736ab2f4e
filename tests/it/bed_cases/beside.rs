//! Beds computed side by side give exactly the bits that each gives alone.

use super::conservation::{bed, paste};
use super::{Decay, model};
use loamledger::matter::{Component, Material};
use loamledger::process::worm::Population;
use loamledger::unit::bed::{BESIDE, Bed, BedDay, BedModel, BedSetup, Weather, days};

/// Beds in many states: with worms and without, cold, soaked, dry, acid, empty, and an insulated box whose steps are halved.
fn every_state(m: &BedModel) -> Vec<Bed> {
    let common = bed(m, 20.0, 20.0, 15.0);
    let with = |change: &dyn Fn(&mut Bed)| {
        let mut bed = common;
        change(&mut bed);
        bed
    };
    let tight = BedSetup { heat_transfer: Some(0.05), ..*bed(m, 1.0, 0.0, 20.0).setup() };
    let mut boxed = Bed::new(tight, paste(m) * 40.0, 0.08, 55.0, Population::empty());
    boxed.feed(paste(m) * 400.0, 0.8);
    vec![
        common,
        with(&|bed| bed.feed(paste(m) * 300.0, 0.6)),
        boxed,
        with(&|bed| bed.temperature = -2.0),
        with(&|bed| bed.castings.matter[Component::Water] *= 3.0),
        with(&|bed| bed.castings.matter[Component::Water] *= 0.3),
        bed(m, 5.0, 0.0, 20.0),
        Bed::new(*common.setup(), Material::zero(), 0.0, 18.0, Population::empty()),
        with(&|bed| bed.castings.matter[Component::Ammonia] += 4.0),
        with(&|bed| bed.castings.matter[Component::Salt] += 20.0),
    ]
}

#[test]
fn beds_side_by_side_give_the_bits_of_each_alone() {
    let m = model(Decay::Central);
    for (together, steps) in [(2, 1), (3, 2), (BESIDE, 1), (BESIDE, 4)] {
        let mut alone = every_state(&m);
        let mut beside = alone.clone();
        let mut halved = false;
        for day in 0..60_usize {
            let air = Weather { temperature: 12.0 + 0.2 * day as f64, humidity: 0.6 };
            for (n, bed) in alone.iter_mut().enumerate() {
                if !(n + day).is_multiple_of(3) {
                    continue;
                }
                let (amount, _) = bed.room_for_feed(&m, 0.3, 500.0);
                bed.feed(paste(&m) * amount, amount / 500.0);
                beside[n].feed(paste(&m) * amount, amount / 500.0);
            }
            for (alone, beside) in alone.chunks_mut(together).zip(beside.chunks_mut(together)) {
                let mut outs = [BedDay::default(); BESIDE];
                let mut pairs: Vec<_> = beside.iter_mut().zip(&mut outs).collect();
                days(&mut pairs, &m, &air, steps);
                for ((alone, beside), out) in alone.iter_mut().zip(&*beside).zip(&outs) {
                    let before = alone.temperature;
                    assert_eq!(alone.day(&m, &air, steps), *out, "day {day}, {together} beds");
                    assert_eq!(alone, beside, "day {day}, {together} beds");
                    halved |= (alone.temperature - before).abs() > 15.0;
                }
            }
        }
        assert!(halved, "no bed of {together} ran far");
    }
}
