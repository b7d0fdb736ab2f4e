//! Days of beds computed by hand: evaporation, refuges, respiration, tissue, drainage, steps, and both widths of registers.

use super::super::BedSetup;
use super::super::profile::HeldMass;
use super::super::tests::{bedding, model, paste, setup};
use super::*;
use crate::process::drying::saturation_vapour_density;

fn profile(model: &BedModel, bed: &Bed) -> Profile {
    Profile::gather(model, |_| bed)
}

fn held(bed: &Profile) -> HeldMass<f64> {
    bed.held([bed.fresh.matter.dry(), bed.ready.matter.dry(), bed.castings.matter.dry()])
}

/// Gases that worms respire on a day; nothing else happens.
fn breathed_by_worms(model: &BedModel, bed: &mut Bed) -> Gases {
    let mut layers = profile(model, bed);
    let now = TemperatureFactors::at(model, bed.temperature);
    let zone = layers.zone(model, &now);
    let edible = layers.ready.matter.dry() / model.parameters.feed_dry_share;
    let mut worms = worm::day(&mut bed.worms, &model.worms, &layers.surroundings(&zone), edible);
    layers.feed_worms(model, &now, &mut bed.worms, &mut worms, edible).gases
}

const ROOM: Weather = Weather { temperature: 20.0, humidity: 0.5 };

fn beside<'a>(beds: &'a mut [Bed], outs: &'a mut [BedDay]) -> Vec<(&'a mut Bed, &'a mut BedDay)> {
    beds.iter_mut().zip(outs).collect()
}

#[test]
fn narrow_and_wide_registers_give_the_same_bits() {
    let model = model();
    let worms = |kg: f64| Population::from_adults(kg, &model.worms);
    let mut wide =
        [2.0, 5.0, 0.0, 9.0].map(|kg| Bed::new(setup(4.0), bedding(400.0), 0.6, 15.0 + kg, worms(kg)));
    let mut narrow = wide;
    // never cleared: a day sets every field
    let mut narrow_outs = [BedDay::default(); BESIDE];
    for day in 0..40 {
        for bed in [&mut wide, &mut narrow].map(|beds| &mut beds[day % 4]) {
            bed.feed(paste() * 30.0, 0.05);
        }
        let mut outs = [BedDay::default(); BESIDE];
        days(&mut beside(&mut wide, &mut outs), &model, &ROOM, 1);
        live::<Four, _>(&mut beside(&mut narrow, &mut narrow_outs), &model, &ROOM, 1);
        assert_eq!(outs, narrow_outs, "day {day}");
        assert_eq!(wide, narrow, "day {day}");
    }
}

#[test]
fn a_bed_of_little_heat_evaporates_by_its_temperature_at_the_end_of_the_step() {
    // evaporation: phi h_c/1110 (rho_vs(T) - RH rho_vs(T_air)) A; the start's 30 °C would cool it by more than 100 K
    let model = model();
    let p = &model.parameters;
    let box_of = BedSetup { heat_transfer: Some(0.05), ..setup(4.0) };
    let bed = Bed::new(box_of, bedding(4.0), 0.01, 30.0, Population::empty());
    let dryness = model.aeration.moisture_factor(0.7);
    let mut bed = profile(&model, &bed);
    let gone = bed.evaporation(&model, &ROOM, &held(&bed), 1.0);
    bed.castings.matter[Component::Water] -= gone;
    let left = held(&bed);
    bed.heat(&model, &ROOM, 1.0, 0.0, gone, &left);
    let difference =
        saturation_vapour_density(bed.temperature) - 0.5 * saturation_vapour_density(ROOM.temperature);
    let rate = p.surface_wetness * dryness * p.air_film / p.mass_transfer_divisor * difference;
    assert!(gone > 0.0 && bed.temperature < 12.0, "{gone} {}", bed.temperature);
    assert!((gone - 86_400.0 * rate * 4.0).abs() < 1e-6 * gone, "{gone} {}", bed.temperature);
}

#[test]
fn paste_as_thin_as_the_refuge_layer_leaves_worms_a_refuge() {
    // 4 m2 and a layer of 2 cm: 80 L, though most of this bed is fresh
    let model = model();
    let now = TemperatureFactors::at(&model, 20.0);
    for (litres, refuge) in [(75.0, true), (85.0, false)] {
        let mut bed = Bed::new(setup(4.0), bedding(10.0), 0.02, 20.0, Population::empty());
        bed.feed(paste() * 60.0, 0.001 * litres);
        let mut layers = profile(&model, &bed);
        let found = layers.zone(&model, &now);
        let here = layers.surroundings(&found);
        assert_eq!(here.refuge, refuge, "{litres} L");
        // with a refuge worms live in the 10 kg (2 cm) below, without it in the whole bed
        let (zone, volume) =
            if refuge { (bedding(10.0), 0.02) } else { (bed.contents(), 0.02 + 0.001 * litres) };
        let filled = zone.dry() / model.aeration.solid_density + zone.water() / 1000.0;
        assert!((here.moisture - zone.moisture()).abs() < 1e-12, "{litres} L");
        assert!((found.porosity - (1.0 - filled / volume)).abs() < 1e-12, "{litres} L");
    }
}

#[test]
fn worms_respire_more_where_it_is_warm() {
    // 5 kg of worms with all they can eat; Q10 by its definition
    let model = model();
    let q10 = crate::literature::central("bed.worm_respiration_q10").unwrap();
    let at_20 = model.parameters.respired_carbon * 5.0;
    for (temperature, factor) in [(20.0, 1.0), (15.0, 1.0 / q10.sqrt()), (25.0, q10.sqrt())] {
        let worms = Population::from_adults(5.0, &model.worms);
        let mut bed = Bed::new(setup(4.0), bedding(400.0), 0.6, temperature, worms);
        bed.ready.add(bedding(200.0), 0.3);
        let carbon = breathed_by_worms(&model, &mut bed).element(Element::Carbon);
        assert!((carbon - at_20 * factor).abs() < 1e-9, "{temperature}: {carbon} {}", at_20 * factor);
    }
}

#[test]
fn worms_respire_at_most_a_share_of_the_carbon_eaten() {
    // with almost nothing to eat they respire the assimilated share of its carbon
    let model = model();
    let mut bed = Bed::new(setup(4.0), bedding(400.0), 0.6, 20.0, Population::from_adults(5.0, &model.worms));
    bed.ready.add(paste() * 0.01, 1e-5);
    let respired = breathed_by_worms(&model, &mut bed).element(Element::Carbon);
    let carbon = (paste() * 0.01).element(Element::Carbon);
    assert!((respired - model.parameters.assimilation * carbon).abs() < 1e-12, "{respired} of {carbon}");
}

#[test]
fn tissue_takes_fibre_when_sugars_are_used_up() {
    let model = model();
    let tissue = &model.parameters.tissue;
    let mut bed = Bed::new(setup(4.0), bedding(400.0), 0.6, 20.0, Population::from_adults(5.0, &model.worms));
    for c in Component::ALL {
        bed.castings.matter[c] += f64::from(u8::from(tissue[c] > 0.0));
    }
    bed.castings.matter[Component::Sugars] = 0.0;
    let fibre = bed.castings.matter[Component::Fibre];
    let mut layers = profile(&model, &bed);
    let worms = WormDay { tissue_before: 5.0, tissue_after: 5.01, eaten: 10.0, ..WormDay::default() };
    assert!(layers.most_growth(&model, &worms) > 0.01);
    let before = layers.castings.matter.wet();
    let dry = layers.castings.matter.dry();
    let dry_left = layers.exchange_tissue(&model, growth(&worms), dry);
    assert!((dry_left - layers.castings.matter.dry()).abs() < 1e-12 * dry);
    let left = &layers.castings.matter;
    assert!((before - left.wet() - 0.01 * tissue.wet()).abs() < 1e-9);
    assert!(left[Component::Sugars].abs() < 1e-15);
    assert!(
        (fibre - left[Component::Fibre] - 0.01 * (tissue[Component::Sugars] + tissue[Component::Fibre]))
            .abs()
            < 1e-12
    );
}

/// A bed under 300 L of paste that holds 200 kg of water.
fn soaked(setup: BedSetup) -> Bed {
    let mut bed = Bed::new(setup, bedding(40.0), 0.1, 20.0, Population::empty());
    bed.feed(Material::of(Component::Fibre, 10.0) + Material::of(Component::Water, 200.0), 0.3);
    bed
}

#[test]
fn water_that_drains_from_a_layer_enters_the_next() {
    // all water that leaves soaked paste and ready feed moves down or out; none is lost
    let model = model();
    let mut bed = soaked(setup(4.0));
    bed.fresh.matter[Component::Salt] = 2.0;
    bed.castings.matter[Component::Water] = 200.0;
    let (held, ready) = (bed.contents().elements(), bed.ready.matter.wet());
    let mut layers = profile(&model, &bed);
    let mut out = Losses::none();
    let (_, left) = layers.water(&model, &ROOM, &TemperatureFactors::at(&model, 20.0), 1.0, &mut out);
    // salt moves along through all layers, and the bed takes up heat by what it holds afterwards
    assert!(out.drained[Component::Salt] > 1e-3, "{}", out.drained[Component::Salt]);
    let [left, counted] = [left, self::held(&layers)].map(|held| held.heat_capacity(&model.parameters));
    assert!((left / counted - 1.0).abs() < 1e-12, "{left} {counted}");
    layers.put_back(0, &mut bed);
    let gap = held - bed.contents().elements() - out.gases.elements() - out.drained.elements();
    assert!(gap.amax() < 1e-9, "{gap}");
    assert!(bed.ready.matter.wet() > ready && bed.fresh.matter.wet() < 210.0);
}

/// A closed bed: nothing evaporates, no heat is lost.
fn closed(area: f64) -> BedSetup {
    BedSetup { surface_wetness: Some(0.0), heat_transfer: Some(0.0), ..setup(area) }
}

#[test]
fn respiration_warms_a_closed_bed_equally_in_one_step_or_eight() {
    // the only heat is that of the oxygen used; 400 kg of grit with 400 kg of water take it up
    let model = model();
    for steps in [1, 8] {
        let grit = Material::of(Component::Minerals, 400.0) + Material::of(Component::Water, 400.0);
        let worms = Population::from_adults(5.0, &model.worms);
        let mut bed = Bed::new(closed(4.0), grit, 1.0, 20.0, worms);
        bed.ready.add(bedding(20.0), 0.05);
        let out = bed.day(&model, &ROOM, steps);
        let heat = -out.gases[Gas::Oxygen] * model.composting.rates().heat_per_oxygen;
        let p = &model.parameters;
        let held = bed.contents();
        let capacity = held.water() * p.heat_capacity_water + held.dry() * p.heat_capacity_dry;
        let rise = heat / capacity;
        assert!(((bed.temperature - 20.0) / rise - 1.0).abs() < 0.01, "{steps} {rise}");
    }
}

#[test]
fn the_inside_of_the_fresh_layer_warms_by_its_oxygen_uptake() {
    // q L^2 / (2 k) with eight times the oxygen of an eighth of a day; the bed holds nothing else and nothing is conditioned
    let mut model = model();
    model.parameters.conditioning = 0.0;
    let mut bed = Bed::new(closed(4.0), Material::zero(), 0.0, 20.0, Population::empty());
    bed.feed(paste() * 60.0, 0.1);
    let mut layers = profile(&model, &bed);
    let mut out = Losses::none();
    layers.step(
        &model,
        &ROOM,
        &TemperatureFactors::at(&model, 20.0),
        TimeStep { days: 0.125, breathed: 0.0 },
        &mut out,
    );
    let watts = -out.gases[Gas::Oxygen] * 8.0 * model.composting.rates().heat_per_oxygen / 86_400.0;
    let (volume, thickness) = (layers.fresh.volume, layers.fresh.volume / 4.0);
    let rise = watts / volume * thickness * thickness / (2.0 * model.parameters.conductivity);
    assert!(rise > 0.01 && (out.hottest - layers.temperature - rise).abs() < 1e-9, "{rise}");
}

#[test]
fn the_inside_of_a_thick_layer_is_no_hotter_than_decay_makes_it() {
    let model = model();
    let mut bed = Bed::new(closed(4.0), Material::zero(), 0.0, 60.0, Population::empty());
    bed.feed(paste() * 4000.0, 8.0);
    let mut layers = profile(&model, &bed);
    let mut out = Losses::none();
    let step = TimeStep { days: 0.125, breathed: 0.0 };
    layers.step(&model, &ROOM, &TemperatureFactors::at(&model, 60.0), step, &mut out);
    assert!((out.hottest - model.aeration.hottest_decay()).abs() < 1e-12, "{}", out.hottest);
}

#[test]
fn the_aired_share_of_paste_is_conditioned() {
    let model = model();
    let mut bed = Bed::new(setup(4.0), bedding(10.0), 0.02, 20.0, Population::empty());
    bed.feed(paste() * 60.0, 0.1);
    bed.fresh.aired = 0.25;
    let mut layers = profile(&model, &bed);
    layers.condition(&model, 0.8, 0.5, &mut Losses::none());
    let left = (-model.parameters.conditioning * 0.8 * 0.25 * 0.5).exp();
    assert!((layers.fresh.matter.wet() - 60.0 * left).abs() < 1e-9 && left < 0.999);
    assert!((layers.ready.volume - 0.1 * (1.0 - left)).abs() < 1e-12);
    // of the acids in the part that becomes ready, the aired share burns
    let lactic = 60.0 * (1.0 - left) * paste()[Component::Lactic];
    assert!((layers.ready.matter[Component::Lactic] - 0.75 * lactic).abs() < 1e-12);
}

#[test]
fn wet_paste_settles_by_the_volume_drained() {
    let model = model();
    let mut layers = profile(&model, &soaked(closed(4.0)));
    layers.water(&model, &ROOM, &TemperatureFactors::at(&model, 20.0), 0.1, &mut Losses::none());
    let drained = 210.0 - layers.fresh.matter.wet();
    assert!(drained > 1.0 && (layers.fresh.volume - (0.3 - drained / 1000.0)).abs() < 1e-12, "{drained}");
}

#[test]
fn at_most_half_the_water_evaporates_in_a_step() {
    // 10 kg of water spread on 50 m2 of a room that keeps it warm
    let model = model();
    let warm = BedSetup { heat_transfer: Some(1e6), ..setup(50.0) };
    let matter = Material::of(Component::Fibre, 10.0) + Material::of(Component::Water, 10.0);
    let bed = Bed::new(warm, matter, 0.1, 20.0, Population::empty());
    let layers = profile(&model, &bed);
    let gone = layers.evaporation(&model, &ROOM, &held(&layers), 1.0);
    assert!((gone - 5.0).abs() < 1e-12, "{gone}");
}

#[test]
fn refuge_depends_on_the_fresh_share_and_feeding_on_air() {
    let model = model();
    let p = &model.parameters;
    let now = TemperatureFactors::at(&model, 20.0);
    // a share of 0.225 may be fresh
    for (fresh, old, refuge) in
        [(100.0, 300.0, false), (22.5, 77.5, true), (22.6, 77.4, false), (80.0, 320.0, true)]
    {
        let mut bed = Bed::new(setup(0.1), bedding(old), 0.4, 20.0, Population::empty());
        bed.feed(paste() * fresh, 0.1);
        assert_eq!(profile(&model, &bed).zone(&model, &now).refuge, refuge, "{fresh} {old}");
    }
    // pores half way between those of full and of no feeding
    let matter = bedding(100.0);
    let filled = matter.dry() / model.aeration.solid_density + matter.water() / 1000.0;
    let volume = filled / (1.0 - 0.5 * (p.porosity_full + p.porosity_zero));
    let bed = Bed::new(setup(4.0), matter, volume, 20.0, Population::empty());
    let feeding = profile(&model, &bed).zone(&model, &now).feeding;
    assert!((feeding - 0.5).abs() < 1e-9, "{feeding}");
}

#[test]
fn an_empty_layer_is_aired() {
    let model = model();
    let mut bed = Bed::new(setup(4.0), bedding(40.0), 0.1, 20.0, Population::empty());
    (bed.fresh.aired, bed.fresh.reach) = (0.25, 0.01);
    bed.day(&model, &ROOM, 1);
    assert!((bed.fresh.aired - 1.0).abs() < 1e-15 && bed.fresh.reach.is_infinite());
}

#[test]
fn halved_steps_conserve_elements_and_agree_with_small_steps() {
    // much warm paste in an insulated box: a step of a day or a quarter changes by more than 15 K, one of a 64th does not
    let model = model();
    let tight = BedSetup { heat_transfer: Some(0.05), ..setup(4.0) };
    let after = |steps: u32| {
        let mut bed = Bed::new(tight, paste() * 100.0, 0.2, 45.0, Population::empty());
        bed.feed(paste() * 1000.0, 2.0);
        let before = bed.contents().elements();
        let mut layers = profile(&model, &bed);
        let now = TemperatureFactors::at(&model, bed.temperature);
        let step = TimeStep { days: 1.0 / f64::from(steps), breathed: 0.0 };
        let far = layers.steps(&model, &ROOM, &now, steps, step, &mut Losses::none());
        let out = bed.day(&model, &ROOM, steps);
        let water = Material::of(Component::Water, out.irrigated).elements();
        let gap = before + water - bed.contents().elements() - out.gases.elements() - out.drained.elements();
        assert!(gap.amax() < 1e-9 * before.amax(), "{steps}: {gap}");
        (far, bed.temperature, out.gases[Gas::CarbonDioxide])
    };
    let (far, warmth, gas) = after(64);
    assert!(!far);
    for steps in [1, 4] {
        let (far, ours, carbon_dioxide) = after(steps);
        assert!(far, "{steps} {ours}");
        // a half step counts once it changes by less than 15 K
        assert!((ours - warmth).abs() < 12.0, "{steps}: {ours} {warmth}");
        assert!((carbon_dioxide / gas - 1.0).abs() < 0.3, "{steps}: {carbon_dioxide} {gas}");
    }
}

#[test]
fn worms_feed_and_lay_as_the_worse_of_salt_and_ammonia_lets_them() {
    let model = model();
    let p = &model.parameters;
    for spoiled_by in [Component::Salt, Component::Ammonia] {
        let mut bed = Bed::new(setup(4.0), bedding(400.0), 0.6, 20.0, Population::empty());
        let zone = loop {
            let mut layers = profile(&model, &bed);
            let now = TemperatureFactors::at(&model, bed.temperature);
            let zone = layers.zone(&model, &now);
            if zone.feeding < 0.7 {
                break zone;
            }
            assert!(bed.castings.matter[spoiled_by] < 100.0, "{spoiled_by:?} slows no worm");
            bed.castings.matter[spoiled_by] += 0.1;
        };
        let salt = [p.salt.feeding(zone.salt), p.salt.laying(zone.salt)];
        let ammonia = [p.ammonia.feeding(zone.ammonia_units), p.ammonia.laying(zone.ammonia_units)];
        let (worse, other) = if spoiled_by == Component::Salt { (salt, ammonia) } else { (ammonia, salt) };
        assert!(worse[0] < other[0] && worse[1] < other[1], "{spoiled_by:?}: {worse:?} {other:?}");
        assert_eq!([zone.feeding, zone.laying].map(f64::to_bits), worse.map(f64::to_bits));
    }
}
