//! pH against formulas of the textbook, and the search against halving.

use super::*;

fn constants() -> AcidConstants {
    // acid_tables, echa_lactic_acid, emerson_1975; carbonic acid 6.35 and 0.0338 mol/(L atm) at 25 °C from sander_2023.
    AcidConstants {
        lactic: 3.857,
        acetic: 4.76,
        butyric: 4.83,
        ammonium_constant: 0.09018,
        ammonium_slope: 2729.92,
        carbonic: 6.35,
        carbonic_second: 10.38,
        calcite: 8.45,
        calcium_activity: 0.37,
        carbon_dioxide_solubility: 0.0384,
        humus_buffer: 0.42,
    }
}

/// Without carbon dioxide.
const AIRLESS: Surrounds = Surrounds { temperature: 20.0, carbon_dioxide: 0.0 };

#[test]
fn pure_water_is_neutral_and_half_neutralised_acid_is_at_its_pka() {
    let at = AIRLESS;
    let water = Material::of(Component::Water, 1.0);
    assert!((ph(&water, &constants(), &at, 5.0) - 7.0).abs() < 1e-9);
    let mut half = water + Material::of(Component::Lactic, 0.2 * Component::Lactic.molar_mass());
    *half.base_mut() = 0.1;
    assert!((ph(&half, &constants(), &at, 7.0) - 3.857).abs() < 2e-3);
}

#[test]
fn a_solution_of_acetic_acid_has_the_textbook_ph() {
    // 0.1 mol/L acetic acid, pKa 4.76: pH = (4.76 + 1)/2 = 2.88 by the weak-acid formula.
    let m = Material::of(Component::Water, 1.0)
        + Material::of(Component::Acetic, 0.1 * Component::Acetic.molar_mass());
    assert!((ph(&m, &constants(), &Surrounds::acid_store(20.0), 7.0) - 2.88).abs() < 0.005);
}

#[test]
fn the_base_for_a_ph_reproduces_it() {
    let at = Surrounds { temperature: 22.0, carbon_dioxide: 0.01 };
    let mut m = Material::of(Component::Water, 3.0)
        + Material::of(Component::Lactic, 0.06)
        + Material::of(Component::Ammonia, 0.01);
    *m.buffer_mut() = 0.15;
    *m.calcium_mut() = 0.2;
    for wanted in [3.5, 5.1, 7.2, 9.0] {
        *m.base_mut() = base_for(&m, &constants(), &at, wanted);
        assert!((ph(&m, &constants(), &at, 7.0) - wanted).abs() < 1e-9);
    }
}

#[test]
fn a_search_from_the_solution_stays_there() {
    let k = AcidPowers::at(&constants(), &Surrounds::acid_store(20.0));
    let mut m = Material::of(Component::Water, 3.0) + Material::of(Component::Lactic, 0.06);
    *m.buffer_mut() = 0.15;
    for wanted in [3.37, 3.9, 3.905, 4.1] {
        *m.base_mut() = k.base_for(&m, wanted);
        let mut search = Search::new(Charges::of(&m, &k), Acidity::of(wanted));
        search.step();
        assert!(search.found && (search.at.ph - wanted).abs() < 1e-14, "{wanted}: {}", search.at.ph);
    }
}

#[test]
fn dissolved_calcium_is_in_equilibrium_with_calcite() {
    // by hand: [CO3 2-] = K1 K2 K_H p/[H+]^2 = 1e-6.35 1e-10.38 0.0384 0.01 1e14 mol/L; [Ca 2+] = 1e-8.45/(0.37 [CO3 2-])
    let k = AcidPowers::at(&constants(), &Surrounds { temperature: 20.0, carbon_dioxide: 0.01 });
    let carbonate = 10f64.powf(-6.35 - 10.38 + 14.0) * 0.0384 * 0.01;
    let calcium = 10f64.powf(-8.45) / (0.37 * carbonate);
    assert!((k.most_calcium(2.0, &Acidity::of(7.0)) / (2.0 * 2.0 * calcium) - 1.0).abs() < 1e-9);
    // about 27 meq/L; printed saturated extracts of castings at pH 6.9 to 7.1 hold 52 to 54 meq/L of calcium and magnesium
    assert!((2.0 * calcium - 0.027).abs() < 0.001, "{calcium}");
    // of much lime that much dissolves, of little lime all
    let mut m = Material::of(Component::Water, 1.0);
    for (held, wanted, close) in [(100.0, 2.0 * calcium, 1e-3), (1e-5, 1e-5, 1e-3)] {
        *m.calcium_mut() = held;
        assert!((k.dissolved_calcium(&m, &Acidity::of(7.0)) / wanted - 1.0).abs() < close, "{held}");
    }
    // and all of it without carbon dioxide
    *m.calcium_mut() = 100.0;
    let store = AcidPowers::at(&constants(), &AIRLESS);
    assert!((store.dissolved_calcium(&m, &Acidity::of(9.0)) - 100.0).abs() < 1e-9);
    assert!(store.most_calcium(1.0, &Acidity::of(9.0)).is_infinite());
}

#[test]
fn lime_pays_for_acid_and_holds_alkaline_matter_near_ph_8() {
    // a kilogram of dry matter with a weak buffer in 3 L of water, under the air of a pile
    let k = AcidPowers::at(&constants(), &Surrounds { temperature: 20.0, carbon_dioxide: 0.01 });
    let of = |base: f64, calcium: f64| {
        let mut m = Material::of(Component::Water, 3.0);
        *m.buffer_mut() = 0.1;
        (*m.base_mut(), *m.calcium_mut()) = (base, calcium);
        k.ph(&m, 7.0)
    };
    // 0.2 eq of acid: without lime to pH 5, with it above 6.5
    assert!((of(-0.2, 0.0) - 5.0).abs() < 0.2 && of(-0.2, 1.0) > 6.5, "{} {}", of(-0.2, 0.0), of(-0.2, 1.0));
    // 0.2 eq of cations: as potassium alkaline, as calcium near pH 7.5
    assert!(of(0.2, 0.0) > 8.1 && of(0.0, 0.2) < 7.5, "{} {}", of(0.2, 0.0), of(0.0, 0.2));
    // lime dissolves no more than calcite lets it: an excess does not move pH
    assert!((of(0.0, 1.0) - of(0.0, 4.0)).abs() < 0.02);
}

#[test]
fn lime_stays_solid_in_a_closed_store_until_that_is_acid() {
    let k = AcidPowers::at(&constants(), &Surrounds::acid_store(20.0));
    let mut m = Material::of(Component::Water, 2.0);
    *m.calcium_mut() = 0.3;
    let dissolved = |ph: f64| k.dissolved_calcium(&m, &Acidity::of(ph)) / 0.3;
    assert!(dissolved(4.0) > 0.99 && dissolved(5.0) > 0.9 && dissolved(6.5) < 0.05);
    // wood pulp with chalk is not made caustic by a lid
    *m.buffer_mut() = 0.02;
    assert!((5.5..6.5).contains(&k.ph(&m, 7.0)), "{}", k.ph(&m, 7.0));
}

#[test]
fn matter_without_water_or_calcium_has_a_ph() {
    let k = AcidPowers::at(&constants(), &Surrounds { temperature: 20.0, carbon_dioxide: 0.01 });
    for (water, calcium) in [(0.0, 0.0), (0.0, 1.0), (1.0, 0.0), (1e-12, 1.0)] {
        let mut m = Material::of(Component::Water, water);
        (*m.calcium_mut(), *m.buffer_mut()) = (calcium, 0.1);
        assert!((0.0..=14.0).contains(&k.ph(&m, 7.0)), "{water} {calcium}");
    }
}

#[test]
fn every_search_agrees_with_bisection() {
    // mixes over the whole range; bends of the balance can make a step small far from its end
    let mut shares = crate::matter::lane::tests::shares();
    let mut any = |low: f64, high: f64| (low + (high - low) * shares.next().unwrap()).max(0.0);
    for _ in 0..2000 {
        let at = Surrounds { temperature: any(5.0, 35.0), carbon_dioxide: any(-0.01, 0.01) };
        let k = AcidPowers::at(&constants(), &at);
        let mut m = Material::of(Component::Water, 128.0);
        m[Component::Lactic] = any(-2.0, 5.0);
        m[Component::Acetic] = any(-1.0, 1.0);
        m[Component::Butyric] = any(-0.2, 0.2);
        m[Component::Ammonia] = any(-0.1, 0.17);
        m[Component::Nitrate] = any(-0.3, 0.3);
        *m.base_mut() = any(0.0, 35.0) - 5.0;
        *m.buffer_mut() = any(0.01, 5.0);
        *m.calcium_mut() = any(-10.0, 40.0);
        let charges = Charges::of(&m, &k);
        let (mut low, mut high) = (0.0, 14.0);
        while high - low > 1e-12 {
            let middle = 0.5 * (low + high);
            if charges.missing(Acidity::of(middle)) > 0.0 { high = middle } else { low = middle }
        }
        for guess in [3.0, 4.0, 5.0, 6.0, 8.5, low, low + 0.15, low - 0.1] {
            let found = k.ph(&m, guess);
            assert!((found - low).abs() < 2e-8, "from {guess}: {found} {low} {m:?}");
        }
    }
}

#[test]
fn the_series_near_zero_equals_the_power() {
    for x in [-CLOSE, -1e-3, -1e-6, 0.0, 1e-9, 2e-4, CLOSE] {
        assert!((exp10_near_zero(x) - 10f64.powf(x)).abs() < 1e-15, "{x}");
    }
}

#[test]
fn derivatives_equal_differences_of_the_balance() {
    let powers = AcidPowers::at(&constants(), &Surrounds { temperature: 22.0, carbon_dioxide: 0.01 });
    let mut m = Material::of(Component::Water, 3.0)
        + Material::of(Component::Lactic, 0.06)
        + Material::of(Component::Ammonia, 0.01);
    *m.buffer_mut() = 0.15;
    *m.calcium_mut() = 0.2;
    let charges = Charges::of(&m, &powers);
    let of = |ph: f64| charges.excess(ph, exp10(-ph));
    let close = |what: &str, ours: f64, difference: f64, scale: f64| {
        assert!((ours - difference).abs() < 1e-5 * scale, "{what}: {ours} {difference}");
    };
    for ph in [1.5, 3.3, 4.6, 6.8, 8.9, 11.0] {
        let (before, here, after) = (of(ph - 1e-4), of(ph), of(ph + 1e-4));
        let difference = |a: f64, b: f64| (b - a) / 2e-4;
        close("slope", here.slope, difference(before.value, after.value), here.slope);
        close("bend", here.bend, difference(before.slope, after.slope), here.slope + here.bend.abs());
        let scale = here.slope + here.bend.abs() + here.twist.abs();
        close("twist", here.twist, difference(before.bend, after.bend), scale);
    }
}

#[test]
fn a_step_is_of_fourth_order() {
    // x + x^2 + x^3/2 + x^4/5 is zero at 0: half the distance leaves a sixteenth of the error
    let left = |x: f64| {
        let value = x * (1.0 + x * (1.0 + x * (0.5 + x * 0.2)));
        let slope = 1.0 + x * (2.0 + x * (1.5 + x * 0.8));
        let (bend, twist) = (2.0 + x * (3.0 + x * 2.4), 3.0 + x * 4.8);
        x + Excess { value, slope, bend, twist }.step()
    };
    for x in [0.02, -0.02] {
        let order = (left(x) / left(0.5 * x)).abs().log2();
        assert!((order - 4.0).abs() < 0.3, "{x}: {order}");
    }
}

#[test]
fn free_ammonia_follows_the_printed_constants() {
    // emerson_1975: pKa 9.73 at 10 °C, 9.40 at 20 °C, 9.25 at 25 °C, 9.10 at 30 °C.
    for (t, printed) in [(10.0, 9.73), (20.0, 9.40), (25.0, 9.25), (30.0, 9.10)] {
        assert!((constants().ammonium(t) - printed).abs() < 0.006);
    }
}
