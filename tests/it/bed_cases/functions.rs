//! The `function_checks` of the cases: response and rate functions, acid and ammonia, and evaporation (computed by other code,
//! 2.11; oxygen reach, 2.10, is checked beside the function).

use super::{Decay, central, close, model, model_with, setup};
use loamledger::matter::{Component, Gas, Material};
use loamledger::process::acidity::{Surrounds, base_for, dissociated};
use loamledger::process::drying::{evaporation, vapour_mass_transfer};
use loamledger::process::fermentation::course::CardinalTemperatures;
use loamledger::process::worm::Population;
use loamledger::unit::bed::{Bed, BedModel, BedSetup, Weather};

#[test]
fn feeding_temperature_factor() {
    // The bed table's cardinals 4/22/33 C, through the cardinal curve that lactic bacteria use with their own three.
    let curve = CardinalTemperatures {
        minimum: central("bed.feeding_temperature_minimum"),
        optimum: central("bed.feeding_temperature_optimum"),
        maximum: central("bed.feeding_temperature_maximum"),
    };
    for (t, printed) in
        [(10.0, 0.31), (15.0, 0.71), (20.0, 0.97), (25.0, 0.93), (28.0, 0.72), (30.0, 0.49), (32.0, 0.18)]
    {
        close("feeding", curve.factor(t), printed, 0.005);
    }
}

#[test]
fn decay_factors() {
    let m = model(Decay::Central);
    let a = &m.aeration;
    for (t, printed) in [(5.0, 0.38), (10.0, 0.53), (15.0, 0.73), (20.0, 1.0), (25.0, 1.38), (30.0, 1.89)] {
        close("temperature", a.temperature_factor(t), printed, 0.005);
    }
    for (w, printed) in [(0.3, 0.15), (0.4, 0.5), (0.5, 0.86), (0.6, 0.97), (0.8, 1.0)] {
        close("moisture", a.moisture_factor(w), printed, 0.005);
    }
    for (f, printed) in [(0.05, 0.09), (0.1, 0.24), (0.15, 0.51), (0.2, 0.78), (0.3, 0.97)] {
        close("air space", a.air_space_factor(f), printed, 0.005);
    }
    for (percent, printed) in [(5.0, 0.71), (21.0, 0.91)] {
        let factor = model_with(&[("bed.oxygen_in_reached_layer", percent)]).aeration.oxygen_factor();
        close("oxygen", factor, printed, 0.005);
    }
}

#[test]
fn acids_and_ammonium() {
    let BedModel { acids, pores, .. } = model(Decay::Central);
    for (t, printed) in [(10.0, 9.73), (20.0, 9.4), (25.0, 9.25), (30.0, 9.1)] {
        close("ammonium pKa", acids.ammonium(t), printed, 0.005);
    }
    for (ph, printed) in [(4.0, 0.42), (5.0, 0.07)] {
        close("lactic", 1.0 - dissociated(acids.lactic, ph), printed, 0.005);
    }
    for (ph, printed) in [(4.0, 0.85), (5.0, 0.37), (6.0, 0.05)] {
        close("acetic", 1.0 - dissociated(acids.acetic, ph), printed, 0.006);
    }
    // The same share of the lactic acid of a real paste: 10 g in a litre of water.
    let paste = Material::of(Component::Water, 1.0) + Material::of(Component::Lactic, 0.01);
    let all = 0.01 / Component::Lactic.molar_mass();
    close("share in a paste", pores.undissociated_lactic(&paste, 4.0) / all, 0.42, 0.005);
}

#[test]
fn henry_constant_of_ammonia() {
    let m = model(Decay::Central);
    for (t, printed) in [(15.0, 98.9), (20.0, 77.2), (25.0, 60.7), (30.0, 48.1)] {
        close("Henry", m.ammonia_henry(t + 273.15), printed, 0.05);
    }
}

/// A bed of one square metre whose top layer alone holds something.
fn top_layer(matter: Material, volume: f64, temperature: f64, made: BedSetup) -> Bed {
    let mut bed = Bed::new(made, Material::zero(), 0.0, temperature, Population::empty());
    bed.feed(matter, volume);
    bed
}

#[test]
fn ammonia_flux_of_a_real_bed() {
    // 0.3 g ammonia N per kg wet, 80 % water, 22 C, 2 mm/s; printed g N/(m2 d), 15 %. One day of a 1 m deep layer of wet sand
    // (nothing decays), nitrification off, so that TAN and pH hardly change; all ammonium dissolved, even pH, as in the print.
    let m = model_with(&[
        ("bed.nitrification_rate", 0.0),
        ("bed.ammonia_transfer_coefficient", 0.002),
        ("bed.ammonium_partition_rest", 0.0),
        ("bed.uneven_ph_factor", 1.0),
    ]);
    let nitrogen = Component::Ammonia.elements()[3];
    for (ph, printed) in [(6.0, 0.02), (7.0, 0.17), (7.5, 0.55), (8.0, 1.7), (8.5, 4.8)] {
        let mut matter = Material::of(Component::Water, 800.0);
        matter[Component::Ammonia] = 0.3 / nitrogen;
        matter[Component::Minerals] = 200.0 - matter[Component::Ammonia];
        *matter.buffer_mut() = 100.0;
        let pores = Surrounds { temperature: 22.0, carbon_dioxide: m.parameters.pore_carbon_dioxide };
        *matter.base_mut() = base_for(&matter, &m.acids, &pores, ph);
        let mut bed = top_layer(matter, 1.2, 22.0, setup(1.0));
        let out = bed.day(&m, &Weather { temperature: 22.0, humidity: 0.9 }, 1);
        let flux = 1000.0 * nitrogen_of_gas(out.gases[Gas::AmmoniaGas]);
        // the print at pH 6 has one digit: half of it is a quarter of the value
        let tolerance = f64::max(0.15 * printed, 0.005);
        close("flux", flux, printed, tolerance);
    }
}

fn nitrogen_of_gas(ammonia: f64) -> f64 {
    ammonia * Gas::AmmoniaGas.elements()[3]
}

#[test]
fn evaporation_of_an_open_wet_surface() {
    // by hand, kg/(m2 d): bed 22 C in air of 20 C and 60 %; 20/15 C, 80 %; 25/25 C, 50 %; h_c 3, and half of it for 1.5.
    let m = model(Decay::Central);
    for (bed, air, humidity, printed) in
        [(22.0, 20.0, 0.6, 2.1), (20.0, 15.0, 0.8, 1.6), (25.0, 25.0, 0.5, 2.7)]
    {
        for (film, share) in [(3.0, 1.0), (1.5, 0.5)] {
            let transfer = vapour_mass_transfer(film, central("bed.mass_transfer_divisor"));
            close("surface", evaporation(transfer, bed, air, humidity), share * printed, 0.05);
        }
        // a real bed, wetness 1, in its first day, which evaporates at its morning temperature
        let matter = Material::of(Component::Water, 300.0) + Material::of(Component::Minerals, 80.0);
        let made = BedSetup { surface_wetness: Some(1.0), ..setup(1.0) };
        let mut real = top_layer(matter, 0.5, bed, made);
        let out = real.day(&m, &Weather { temperature: air, humidity }, 1);
        close("bed", out.gases[Gas::WaterVapour], printed, 0.05);
    }
    // The pool formula of the same section (4.2 at the first point) is an upper bound.
    let transfer = vapour_mass_transfer(3.0, central("bed.mass_transfer_divisor"));
    assert!(evaporation(transfer, 22.0, 20.0, 0.6) < 4.2);
}

#[test]
fn water_above_what_pores_hold_drains_by_half_a_day() {
    // by hand: D = k_D (W - W_fc) with W_fc = 1000 (V (1 - a) - DM/1600) = 69.5 kg for 0.1 m3 that keep 0.18 of air, k_D 0.5 1/d,
    // solved exactly over the day; metabolic water 0.55 kg/kg VS (0.4-1.0), 0.60 for carbohydrate as 0.556 of anhydro-hexose.
    let m = model(Decay::Central);
    let matter = Material::of(Component::Water, 100.0) + Material::of(Component::Minerals, 20.0);
    let made = BedSetup { surface_wetness: Some(0.0), ..setup(1.0) };
    let mut bed = Bed::new(made, matter, 0.1, 20.0, Population::empty());
    let out = bed.day(&m, &Weather { temperature: 20.0, humidity: 1.0 }, 1);
    close("drained", out.drained.wet(), 30.5 * (1.0 - (-0.5_f64).exp()), 1e-9);
    let rows = m.composting.table().rows();
    // the humus row is full oxidation; the others keep a share as humus, so water per decayed matter is less
    let fat = rows.iter().find(|row| row.name == "fat").unwrap();
    assert!(fat.change[Component::Water] > 0.55 && fat.change[Component::Water] < 1.07);
}
