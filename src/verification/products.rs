//! Screens, blends, ash, hygiene.

use super::mixing::stuff;
use super::{Case, Relation, central};
use crate::matter::{Component, Element, Gases, Material};
use crate::process::quality::safety::Hygiene;
use crate::process::reaction;
use crate::process::screening::{self, Deck, ScreeningRates};
use crate::quantity::{Kind, convert, parse};

pub(super) fn cases() -> Vec<Case> {
    let sums = [volumes(), blend(), ash(), hygiene()].concat();
    [trommel(), Case::arithmetic(sums)].concat()
}

fn trommel() -> Vec<Case> {
    let rates = ScreeningRates::from_values(&central);
    let deck = Deck { aperture: 0.004, wire: 0.001, contacts: 20.0 };
    let passed = |moisture| 100.0 * screening::split(&rates, &deck, moisture).efficiency;
    let of = |key, inputs| Case::of(key, "manyuchi_phiri_2013", inputs);
    let other = "the source separates worms from compost, not castings from oversize";
    vec![
        of("screening.trommel_best", "4 mm drum trommel at 40 % moisture")
            .printed(95.0, 0, "% separated")
            .within(5.0, other)
            .ours(passed(0.40)),
        of("screening.trommel_lowest", "the same at 60 % moisture, the wettest tried")
            .printed(80.0, 0, "% separated")
            .within(5.0, other)
            .ours(passed(0.60)),
    ]
}

/// A volume of trash as weight: arithmetic of bulk densities and units.
fn volumes() -> Vec<Case> {
    let of = |key, inputs| Case::of(key, "energy_star_weights", inputs);
    let yards = 100_000.0 / central("site.dry_gallons_per_cubic_yard");
    let mass = || -> Option<f64> {
        let volume = parse(Kind::Volume, &format!("{yards} yd3")).ok()?;
        Some(volume * parse(Kind::Density, "138 lb/yd3").ok()?)
    };
    let weight = |unit| mass().and_then(|mass| convert(Kind::Mass, mass, unit)).unwrap_or(f64::NAN);
    vec![
        of("blending.volume_of_trash", "100,000 dry gallons at 173.57 per cubic yard")
            .printed(576.14, 2, "yd3")
            .ours(yards),
        of("blending.weight_of_trash", "that volume at 138 lb/yd3")
            .printed(79_506.83, 2, "lb")
            .ours(weight("lb")),
        of("blending.tons_of_trash", "that weight in short tons")
            .printed(39.75, 2, "ton")
            .ours(weight("ton")),
    ]
}

/// No published blend with its inputs was found, so the arithmetic is compared with figures worked by hand.
fn blend() -> Vec<Case> {
    let inputs = "a quarter castings by volume: 640 kg/m3, 55 % water, C 30 and N 2.2 % of dry; compost 520, 40 %, 28, 1.5; by hand";
    let m: Material = stuff(0.55, 0.30, 0.022) * (0.25 * 640.0) + stuff(0.40, 0.28, 0.015) * (0.75 * 520.0);
    let of = |key| Case::of(key, "derived_here", inputs);
    vec![
        of("blending.wet_density").printed(550.0, 1, "kg/m3").ours(m.wet()),
        of("blending.moisture").printed(44.36, 2, "% of wet").ours(100.0 * m.moisture()),
        of("blending.nitrogen")
            .printed(1.665, 3, "% of dry")
            .ours(100.0 * m.element(Element::Nitrogen) / m.dry()),
        of("blending.carbon_to_nitrogen").printed(17.10, 2, "kg/kg").ours(m.carbon_to_nitrogen()),
    ]
}

/// Ash of a product whose organic matter burns, by the reaction of the model: the loss is 1 - a0/a1 for ash a0 before and a1 after.
fn ash() -> Vec<Case> {
    let (before, loss) = (0.114, 0.595);
    let mut m = Material::of(Component::Fibre, 1.0 - before) + Material::of(Component::Minerals, before);
    let (burnt, mut gases) = (reaction::oxidation("fibre", Component::Fibre), Gases::zero());
    let burnt = burnt.map(|reaction| reaction.apply(loss, &mut m, &mut gases));
    let ash = if burnt.is_ok() { 100.0 * m.ash() / m.dry() } else { f64::NAN };
    let inputs = "11.40 % ash before, 59.5 % of dry matter lost; the loss follows from the printed ash";
    vec![
        Case::of("products.ash_after_a_loss", "waste_corn_pulp", inputs)
            .printed(28.15, 2, "% of dry")
            .ours(ash),
    ]
}

fn hygiene() -> Vec<Case> {
    let rule = Hygiene::from_values(&central);
    let minutes = |celsius| rule.days(celsius).map_or(f64::NAN, |days| 1440.0 * days);
    vec![
        Case::of(
            "hygiene.pasteurising",
            "cfr_40_503",
            "70 °C by the equation; appendix B gives the time (recalled)",
        )
        .printed(30.0, 0, "min")
        .ours(minutes(70.0)),
        Case::of(
            "hygiene.static_pile",
            "cfr_40_503",
            "55 °C by the equation; the appendix requires 3 days for aerated piles",
        )
        .printed(3.0, 0, "d")
        .bound(Relation::AtMost)
        .ours(minutes(55.0) / 1440.0),
        Case::of("hygiene.shortest_time", "nc_15a_02t_1106", "80 °C, beyond the reach of the equation")
            .printed(20.0, 0, "min")
            .ours(minutes(80.0)),
    ]
}
