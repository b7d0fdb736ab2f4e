//! Losses, nitrogen after a loss, and the calibration run of the decay constants, against the composting process.

use super::{DECAY, central, close};
use loamledger::literature;
use loamledger::matter::{Component, Element, Material};
use loamledger::process::composting::{Composting, CompostingRates, LayerConditions};

/// The feed of the calibration: 38 R / 17 P / 12 L / 20 H / 4 G / 9 ash, with 0.5 P and 0.9 K inside the ash.
fn feed() -> Material {
    let mut m = Material::of(Component::Water, 300.0);
    for (component, kilograms) in [
        (Component::Sugars, 38.0),
        (Component::Protein, 17.0),
        (Component::Fat, 12.0),
        (Component::Fibre, 20.0),
        (Component::Lignin, 4.0),
        (Component::Phosphorus, 0.5),
        (Component::Potassium, 0.9),
        (Component::Minerals, 7.6),
    ] {
        m[component] = kilograms;
    }
    m
}

fn conditions(volatilisation: f64) -> LayerConditions {
    // 22 C, mu = 1, air everywhere
    let factor = central("bed.decay_temperature_base_rise").powi(2);
    LayerConditions {
        decay: factor,
        temperature: factor,
        oxygen: 1.0,
        aired: 1.0,
        nitrification: 1.0,
        volatilisation,
    }
}

/// The feed after some days, with decay constants from low (-1) through central (0) to high (1).
fn after(days: u32, end: i32, humus_yield: f64, volatilisation: f64) -> Material {
    let get = |key: &str| {
        let value = literature::entry(key).unwrap().value;
        match (DECAY.contains(&key), end) {
            (true, -1) => value.low(),
            (true, 1) => value.high(),
            _ => value.central(),
        }
    };
    let rates = CompostingRates { humus_yield, ..CompostingRates::from_values(&get) };
    let composting = Composting::new(rates).unwrap();
    let mut m = feed();
    for _ in 0..days {
        let _ = composting.decay(&mut m, &conditions(volatilisation), 1.0);
    }
    m
}

/// Dry matter as in the calibration run: without mineral nitrogen.
fn dry(m: &Material) -> f64 {
    m.dry() - m[Component::Ammonia] - m[Component::Nitrate]
}

#[test]
fn calibration_run_brackets() {
    // The tuning, computed by other code: 22 C, eta 0.3-0.4: dry loss 44-50 % at 30 d, 52-59 % at 60 d, 57-63 % at 90 d; VS
    // loss 57-64 % and C loss 54-62 % at 60 d; low constants 41-46 % and high ones 58-65 % at 60 d (consistency: not printed
    // elsewhere; within a point, since humus here is a formula with its own hydrogen and oxygen and not carbon over 0.54).
    let start = feed();
    let loss = |m: &Material| 1.0 - dry(m) / start.dry();
    for eta in [0.3, 0.35, 0.4] {
        for (days, low, high) in [(30, 0.44, 0.50), (60, 0.52, 0.59), (90, 0.57, 0.63)] {
            let found = loss(&after(days, 0, eta, 0.0));
            assert!(found > low - 0.01 && found < high + 0.01, "{eta} {days}: {found}");
        }
        let sixty = after(60, 0, eta, 0.0);
        let organic = 1.0 - sixty.organic() / start.organic();
        let carbon = 1.0 - sixty.element(Element::Carbon) / start.element(Element::Carbon);
        assert!(organic > 0.565 && organic < 0.645, "{eta}: {organic}");
        assert!(carbon > 0.535 && carbon < 0.625, "{eta}: {carbon}");
        for (end, low, high) in [(-1, 0.41, 0.46), (1, 0.58, 0.65)] {
            let found = loss(&after(60, end, eta, 0.0));
            assert!(found > low - 0.01 && found < high + 0.01, "{eta} {end}: {found}");
        }
    }
}

#[test]
fn ash_content_gives_the_loss() {
    // Balance of ash: X_dm = 1 - a0/a1, X_vs = 1 - a0 (1 - a1)/(a1 (1 - a0)), exact where no ash enters or leaves. No published case
    // prints ash at both ends.
    let (start, end) = (feed(), after(60, 0, 0.35, 0.02));
    let (a0, a1) = (start.ash() / start.dry(), end.ash() / end.dry());
    close("dry", 1.0 - a0 / a1, 1.0 - end.dry() / start.dry(), 1e-12);
    let organic = |m: &Material| m.dry() - m.ash();
    close(
        "volatile",
        1.0 - a0 * (1.0 - a1) / (a1 * (1.0 - a0)),
        1.0 - organic(&end) / organic(&start),
        1e-12,
    );
    // grit of 2 % of the start turns a 50 % loss from 9 % ash into an apparent 57 %, within the rounding of the print
    let apparent = |loss: f64, grit: f64| {
        let a1 = (0.09 + grit) / (1.0 - loss + grit);
        1.0 - 0.09 / a1
    };
    close("grit", apparent(0.5, 0.02), 0.57, 0.008);
    // leaching of 30 % of K makes a K-based loss read 29 % instead of 50 %
    close("leached", 1.0 - 0.5 / 0.7, 0.29, 0.005);
}

#[test]
fn carbon_to_nitrogen_and_concentrations_follow_from_losses() {
    // Balance of C and N: (1 - fC) = (CN1/CN0)(1 - fN) and n1 = n0 (1 - f)/(1 - X)
    let (start, end) = (feed(), after(45, 0, 0.35, 0.05));
    let lost = |e| 1.0 - end.element(e) / start.element(e);
    let ratio = end.carbon_to_nitrogen() / start.carbon_to_nitrogen();
    let nitrogen = lost(Element::Nitrogen);
    assert!(nitrogen > 0.02, "{nitrogen}");
    close("carbon", 1.0 - lost(Element::Carbon), ratio * (1.0 - nitrogen), 1e-12);
    let loss = 1.0 - end.dry() / start.dry();
    for e in [Element::Nitrogen, Element::Phosphorus, Element::Potassium] {
        let (n0, n1) = (start.element(e) / start.dry(), end.element(e) / end.dry());
        close(e.name(), n1, n0 * (1.0 - lost(e)) / (1.0 - loss), 1e-12);
    }
    // Majlessi et al. 2012, 30.13 -> 14.32: carbon lost for 0, 10, 20 and 30 % of nitrogen lost
    for (f, printed) in [(0.0, 0.525), (0.1, 0.572), (0.2, 0.62), (0.3, 0.667)] {
        close("Majlessi", 1.0 - 14.32 / 30.13 * (1.0 - f), printed, 0.001);
    }
}

/// A feed of stated nitrogen, % DM: protein against sugars.
fn with_nitrogen(percent: f64) -> Material {
    let mut m = feed();
    let protein = percent / Component::Protein.elements()[Element::Nitrogen.index()];
    m[Component::Sugars] += m[Component::Protein] - protein;
    m[Component::Protein] = protein;
    m
}

#[test]
fn nitrogen_of_castings_after_half_the_matter_is_lost() {
    // By hand: N % DM after a 50 % dry loss for feed N of 1.5-3.0 % and f of 5-50 % lost, last printed digit. The composting
    // table runs in small steps to half the dry matter and must have kept all nitrogen by then but for a trace of nitrous
    // oxide; f is then taken off.
    let composting = Composting::new(CompostingRates::from_values(&central)).unwrap();
    let shares = [0.05, 0.15, 0.25, 0.35, 0.50];
    for (feed_nitrogen, printed) in [
        (1.5, [2.9, 2.6, 2.3, 2.0, 1.5]),
        (2.0, [3.8, 3.4, 3.0, 2.6, 2.0]),
        (2.5, [4.8, 4.3, 3.8, 3.3, 2.5]),
        (3.0, [5.7, 5.1, 4.5, 3.9, 3.0]),
    ] {
        let start = with_nitrogen(feed_nitrogen);
        close("feed", 100.0 * start.element(Element::Nitrogen) / start.dry(), feed_nitrogen, 1e-9);
        let mut m = start;
        while m.dry() > 0.5 * start.dry() {
            let _ = composting.decay(&mut m, &conditions(0.0), 0.01);
        }
        let kept = m.element(Element::Nitrogen) / start.element(Element::Nitrogen);
        assert!(kept > 0.99 && kept <= 1.0, "{kept}");
        for (f, expected) in shares.into_iter().zip(printed) {
            let nitrogen = m.element(Element::Nitrogen) * (1.0 - f);
            close("castings", 100.0 * nitrogen / m.dry(), expected, 0.05 + 0.01 * expected);
        }
    }
    // Above 3.5 % N castings are to be flagged: 2.5 % N feed passes it unless more than 30 % is lost.
    assert!(central("bed.castings_nitrogen_warning") * 100.0 < 4.8);
}

#[test]
fn castings_of_a_low_ash_feed_hold_too_much_carbon() {
    // A check that fails usefully: 42-44 % C at 60 d from 9 % ash, where published castings hold 18.8-36 %; for
    // 36 % C the ash must rise to a third, a loss of 73 %. The gap is the bedding, grit and old bed that bring ash in.
    let end = after(60, 0, 0.35, 0.0);
    let carbon = end.element(Element::Carbon) / dry(&end);
    close("carbon", carbon, 0.43, 0.02);
    assert!(carbon > 0.36);
    close("needed loss", 1.0 - 0.09 / 0.33, 0.73, 0.005);
}
