//! Analyses into components, charge entries, findings 2 and 6.

use super::{CARBON_CHECK, analysis, close, ingredient, on_dry, published, rules};
use loamledger::matter::{Component, Element, Property, SolidKind};
use loamledger::process::acidity::{base_for, ph};
use loamledger::process::ingredient::analysis::{Stated, StatedAnalysis};
use loamledger::process::ingredient::{Ingredient, IngredientError, Note};

#[test]
fn every_published_ingredient_keeps_its_analysis() {
    for (id, a) in published() {
        let made = ingredient(id);
        let m = made.per_kilogram;
        assert!(m.smallest() >= 0.0, "{id}: {m:?}");
        close(m.wet(), 1.0, 1e-12);
        close(m.moisture(), a[Property::Moisture].unwrap().central, 1e-12);
        close(on_dry(&m, Element::Nitrogen), a[Property::Nitrogen].unwrap().central, 1e-12);
        close(m.ash() / m.dry(), a[Property::Ash].unwrap().central, 1e-12);
        close(on_dry(&m, Element::Phosphorus), a[Property::Phosphorus].unwrap().central, 1e-12);
        close(on_dry(&m, Element::Potassium), a[Property::Potassium].unwrap().central, 1e-12);
        let (carbon, stated) = (on_dry(&m, Element::Carbon), a[Property::Carbon].unwrap());
        assert!(carbon > stated.low - 1e-9 && carbon < stated.high + 1e-9, "{id}: {carbon} {stated:?}");
        let missed = made.notes.iter().any(|n| matches!(n, Note::CarbonMissed { .. }));
        assert_eq!(missed, (carbon - stated.central).abs() > 1e-9, "{id}: {carbon} {stated:?}");
        let found = ph(&m, &rules().acids, &rules().surroundings(), 7.0);
        close(found, a[Property::Ph].unwrap().central, 1e-6);
    }
}

#[test]
fn carbon_is_missed_only_where_the_printed_figures_contradict_each_other() {
    // Gaps, all inside the printed range of carbon and at most 2.3 points. Market waste, pomace, molasses: free sugars
    // hold 40-42 % C, the booked anhydro-hexose 44.4 %. Molasses also prints 16 % organics that are neither sugar nor
    // protein (finding 12). Cardboard, coir, rice bran, manures: the printed fractions hold 1-5 points more C than the
    // printed C (column C check). Brewers' grain and straw: less.
    let missed = |id: &str| {
        ingredient(id).notes.into_iter().find_map(|n| match n {
            Note::CarbonMissed { stated, reached } => Some(100.0 * (reached - stated)),
            _ => None,
        })
    };
    let found: Vec<_> = published().iter().filter_map(|(id, _)| Some((*id, missed(id)?))).collect();
    let expected = [
        ("fruit_and_vegetable_market", 0.02),
        ("apple_pomace", 0.32),
        ("rice_bran", 1.52),
        ("brewers_grain_wet", -0.29),
        ("cane_molasses", 1.77),
        ("cardboard_corrugated", 1.34),
        ("wheat_straw", -0.42),
        ("coconut_coir", 0.54),
        ("compost_finished", 0.02),
        ("horse_manure_bedded", 0.18),
        ("cattle_manure_solid", 2.25),
    ];
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for ((id, gap), (wanted, stated_gap)) in found.iter().zip(expected) {
        assert_eq!(*id, wanted);
        close(*gap, stated_gap, 0.01);
    }
}

#[test]
fn fractions_leave_their_printed_ranges_in_three_rows_only() {
    // Bread: the source's protein used the factor 5.70, ours is 6.29. Molasses and newsprint print 16 % unidentified
    // organics, which must be booked somewhere.
    let outside: Vec<_> = published()
        .iter()
        .map(|(id, _)| *id)
        .filter(|id| ingredient(id).notes.iter().any(|n| matches!(n, Note::OutsideRange { .. })))
        .collect();
    assert_eq!(outside, ["bread", "cane_molasses", "newsprint"]);
}

#[test]
fn a_carbon_figure_without_a_range_is_met_exactly() {
    let a = analysis("cardboard_corrugated").with(Property::Carbon, Stated::exact(0.44));
    let made = Ingredient::from_analysis("c", &a, None, SolidKind::Fibrous, &rules()).unwrap();
    close(on_dry(&made.per_kilogram, Element::Carbon), 0.44, 1e-12);
    // 95 % organic matter holds at most 73 % C, as fat alone
    let a = a.with(Property::Carbon, Stated::exact(0.75));
    let made = Ingredient::from_analysis("c", &a, None, SolidKind::Fibrous, &rules()).unwrap();
    let reached = on_dry(&made.per_kilogram, Element::Carbon);
    let most = made.per_kilogram[Component::Fat] / made.per_kilogram.dry();
    assert!(made.notes.iter().any(|n| matches!(n, Note::CarbonMissed { .. })));
    assert!(most > 0.93 && reached > 0.72 && reached < 0.75);
}

#[test]
fn components_rebuild_the_carbon_check_column() {
    // Equation 4.4 with our formulas in place of the printed contents, the remainder at 45 % C. Ours hold 0.95 points
    // more in sugars and 1.2 in lignin, so up to 2.5 points are allowed.
    let share = |c: Component| c.elements()[Element::Carbon.index()];
    for ((id, a), printed) in published().iter().zip(CARBON_CHECK) {
        let Some(printed) = printed else { continue };
        let parts = [
            (a[Property::Protein], Component::Protein),
            (a[Property::Fat], Component::Fat),
            (a[Property::Sugars], Component::Sugars),
            (a[Property::Fibre], Component::Fibre),
            (a[Property::Lignin], Component::Lignin),
        ]
        .map(|(f, c)| (f.unwrap().central, c));
        let sum = parts.iter().map(|p| p.0).sum::<f64>() + a[Property::Ash].unwrap().central;
        let carbon = parts.iter().map(|(x, c)| x * share(*c)).sum::<f64>() + 0.45 * (1.0 - sum).max(0.0);
        assert!((100.0 * carbon - printed).abs() < 2.5, "{id}: {carbon} against {printed}");
    }
}

#[test]
fn compost_holds_its_nitrogen_mostly_in_humus() {
    let m = ingredient("compost_finished").per_kilogram;
    let in_humus = m[Component::Humus] * Component::Humus.elements()[Element::Nitrogen.index()];
    assert!(in_humus > 0.5 * m.element(Element::Nitrogen));
    close(m[Component::Acetic], 0.0, 0.0);
}

#[test]
fn a_food_titrates_to_its_buffering_capacity_with_and_without_native_acid() {
    for rules in [rules(), rules().without_native_acid()] {
        let a = analysis("food_waste_household");
        let m = Ingredient::from_analysis("food", &a, None, SolidKind::Food, &rules).unwrap().per_kilogram;
        let at = rules.surroundings();
        let base = |p: f64| base_for(&m, &rules.acids, &at, p);
        // the water takes 0.23 mEq per kg dry mass at pH 4 and 70 % moisture, and bicarbonate of the air 0.02 at pH 6; a five
        // hundredth of the calcium is solid there
        close((base(6.0) - base(4.0)) * 1000.0 / m.dry(), 300.0, 0.6);
        close(ph(&m, &rules.acids, &at, 7.0), 5.1, 1e-6);
    }
}

#[test]
fn burning_native_acid_raises_ph_and_the_plain_rule_has_none_to_burn() {
    let at = rules().surroundings();
    let mut m = ingredient("food_waste_household").per_kilogram;
    m[Component::Acetic] = 0.0;
    assert!(ph(&m, &rules().acids, &at, 7.0) > 6.5);
    let a = analysis("food_waste_household");
    let plain = Ingredient::from_analysis("f", &a, None, SolidKind::Food, &rules().without_native_acid());
    close(plain.unwrap().per_kilogram[Component::Acetic], 0.0, 0.0);
}

#[test]
fn lime_adds_twenty_equivalents_per_kilogram_and_sits_in_the_ash() {
    let without = ingredient("food_waste_household").per_kilogram;
    let a = analysis("food_waste_household").with(Property::Lime, Stated::exact(0.02));
    let with = Ingredient::from_analysis("f", &a, None, SolidKind::Food, &rules()).unwrap().per_kilogram;
    close((with.calcium() - without.calcium()) / with.dry(), 0.4, 1e-12);
    close(with.base(), without.base(), 1e-15);
    close(with.ash(), without.ash(), 1e-15);
    assert!(with[Component::Minerals] >= 0.02 * with.dry());
}

#[test]
fn calcium_of_an_acid_ingredient_is_bound_by_its_charge_and_carbonate_of_a_dry_one_is_not() {
    let eq = |share: f64| share / 0.020_039;
    // scraps at pH 5.1 dissolve all they hold, 0.75 eq/kg of dry mass, against 0.15 eq of net cations and anions beside them
    let scraps = ingredient("food_waste_household").per_kilogram;
    let room = (scraps.base() + scraps.calcium()) / scraps.dry() + 0.05;
    close(scraps.calcium() / scraps.dry(), room, 1e-3);
    assert!(room < 0.25 && eq(0.015) > 0.7);
    // board at pH 7 lets 5 % of its carbonate into solution
    let board = ingredient("cardboard_corrugated").per_kilogram;
    close(board.calcium() / board.dry(), eq(0.004), 1e-12);
    // the mass of calcium is a part of the ash
    let a = analysis("cardboard_corrugated").with(Property::Calcium, Stated::exact(0.06));
    let refused = Ingredient::from_analysis("c", &a, None, SolidKind::Fibrous, &rules());
    assert!(refused.is_ok(), "ash has a range and rises");
    let a = a.with(Property::Ash, Stated::exact(0.05));
    let refused = Ingredient::from_analysis("c", &a, None, SolidKind::Fibrous, &rules());
    assert!(matches!(refused, Err(IngredientError::AshTooSmall { .. })), "{refused:?}");
}

#[test]
fn too_much_native_acid_is_capped_and_noted() {
    let a = analysis("food_waste_household").with(Property::BufferingCapacity, Stated::exact(3000.0));
    let made = Ingredient::from_analysis("f", &a, None, SolidKind::Food, &rules()).unwrap();
    let capped = made.notes.iter().find_map(|n| match n {
        Note::NativeAcidCapped { wanted, booked } => Some((*wanted, *booked)),
        _ => None,
    });
    // 0.7 x 3 eq / 0.798 eq per mol x 60.05 g = 158 g wanted; a tenth of 0.9 kg organic matter booked
    let (wanted, booked) = capped.unwrap();
    close(wanted, 0.158, 0.001);
    close(booked, 0.09, 1e-12);
    let base = |p: f64| base_for(&made.per_kilogram, &rules().acids, &rules().surroundings(), p);
    close((base(6.0) - base(4.0)) * 1000.0 / made.per_kilogram.dry(), 3000.0, 0.6);
}

#[test]
fn partial_figures_are_filled_from_the_like_ingredient() {
    let own = StatedAnalysis::default()
        .with(Property::Moisture, Stated::exact(0.75))
        .with(Property::Nitrogen, Stated::exact(0.031))
        .with(Property::Ash, Stated::exact(0.14));
    let like = analysis("food_waste_household");
    let made = Ingredient::from_analysis("mine", &own, Some(&like), SolidKind::Food, &rules()).unwrap();
    let m = made.per_kilogram;
    close(on_dry(&m, Element::Nitrogen), 0.031, 1e-12);
    close(m.ash() / m.dry(), 0.14, 1e-12);
    // carbon of the like ingredient follows the organic share: 48 % x 0.86/0.90
    close(on_dry(&m, Element::Carbon), 0.48 * 0.86 / 0.90, 1e-9);
    let filled =
        |wanted| made.notes.iter().any(|n| matches!(n, Note::Filled { property, .. } if *property == wanted));
    assert!(filled(Property::Carbon) && filled(Property::Lignin) && filled(Property::Ph));
    assert!(!filled(Property::Ash) && !filled(Property::Nitrogen));
}

#[test]
fn nitrogen_governs_a_contradicting_protein_figure_and_protein_gives_missing_nitrogen() {
    let both = analysis("food_waste_household").with(Property::Protein, Stated::exact(0.30));
    let made = Ingredient::from_analysis("f", &both, None, SolidKind::Food, &rules()).unwrap();
    close(on_dry(&made.per_kilogram, Element::Nitrogen), 0.026, 1e-12);
    let outside = |n: &Note| matches!(n, Note::OutsideRange { property: Property::Protein, .. });
    assert!(made.notes.iter().any(outside));
    let none = both.without(Property::Protein);
    let made = Ingredient::from_analysis("f", &none, None, SolidKind::Food, &rules()).unwrap();
    close(on_dry(&made.per_kilogram, Element::Nitrogen), 0.026, 1e-12);
    let only = both.without(Property::Nitrogen).with(Property::Protein, Stated::exact(0.20));
    let made = Ingredient::from_analysis("f", &only, None, SolidKind::Food, &rules()).unwrap();
    // 20 % crude protein = 6.25 N
    close(on_dry(&made.per_kilogram, Element::Nitrogen), 0.20 / 6.25, 0.0003);
    assert!(made.notes.contains(&Note::NitrogenFromProtein));
}

#[test]
fn impossible_analyses_are_refused_and_name_the_property() {
    let build = |a: StatedAnalysis| {
        Ingredient::from_analysis("f", &a, None, SolidKind::Food, &rules()).map(|i| i.name).unwrap_err()
    };
    let food = analysis("food_waste_household");
    let out = |e: IngredientError, wanted: Property| matches!(e, IngredientError::OutOfRange { property, .. } if property == wanted);
    assert!(out(build(food.with(Property::Moisture, Stated::exact(1.0))), Property::Moisture));
    assert!(out(build(food.with(Property::Fat, Stated::exact(-0.1))), Property::Fat));
    assert!(out(build(food.with(Property::Carbon, Stated::exact(48.0))), Property::Carbon));
    assert!(out(build(food.with(Property::Ph, Stated::exact(f64::NAN))), Property::Ph));
    assert_eq!(build(food.without(Property::Lignin)), IngredientError::Missing(Property::Lignin));
    assert_eq!(
        build(food.with(Property::Ash, Stated::new(0.1, 0.2, 0.3))),
        IngredientError::Unordered(Property::Ash)
    );
    let much = food.with(Property::Sugars, Stated::exact(0.6)).with(Property::Fat, Stated::exact(0.4));
    assert!(matches!(build(much), IngredientError::FractionsAboveOne { .. }));
    // organic matter below one, but not beside the ash
    let organic = [
        (Property::Sugars, 0.50),
        (Property::Fibre, 0.20),
        (Property::Lignin, 0.05),
        (Property::Protein, 0.16),
        (Property::Fat, 0.05),
        (Property::Ash, 0.10),
    ];
    let full =
        organic.into_iter().fold(food, |all, (property, share)| all.with(property, Stated::exact(share)));
    let IngredientError::FractionsAboveOne { sum } = build(full) else { panic!("they are too much") };
    close(sum, 1.06, 1e-12);
    assert!(matches!(
        build(food.with(Property::Ash, Stated::exact(0.01))),
        IngredientError::AshTooSmall { .. }
    ));
    assert!(matches!(
        build(food.with(Property::Nitrogen, Stated::exact(0.16))),
        IngredientError::ImpossibleNitrogen { .. }
    ));
}

#[test]
fn finding_2_the_gotaas_rule_overstates_carbon_of_sugary_feed() {
    // (100 - ash)/1.8 against carbon of the components: bread 54.6, molasses 47.8, market waste 51.7 are far too high;
    // compost 23.5 against 22.2 is near.
    for (id, printed, least_gap) in
        [("bread", 54.6, 0.07), ("cane_molasses", 47.8, 0.07), ("fruit_and_vegetable_market", 51.7, 0.07)]
    {
        let m = ingredient(id).per_kilogram;
        let gotaas = (1.0 - m.ash() / m.dry()) / 1.8;
        close(100.0 * gotaas, printed, 0.05);
        assert!(gotaas - on_dry(&m, Element::Carbon) > least_gap, "{id}");
    }
    let m = ingredient("compost_finished").per_kilogram;
    let gotaas = (1.0 - m.ash() / m.dry()) / 1.8;
    close(100.0 * gotaas, 23.5, 0.05);
    close(100.0 * on_dry(&m, Element::Carbon), 22.2, 0.03);
}

#[test]
fn finding_6_the_ash_stated_for_food_decides_the_ash_booked() {
    // 5 % by a textbook, 13-17 % by a municipal sample: ash is conserved, so a stated figure must come through untouched.
    for ash in [0.05, 0.13, 0.17] {
        let a = analysis("food_waste_household").with(Property::Ash, Stated::exact(ash));
        let m = Ingredient::from_analysis("f", &a, None, SolidKind::Food, &rules()).unwrap().per_kilogram;
        close(m.ash() / m.dry(), ash, 1e-12);
        close(on_dry(&m, Element::Nitrogen), 0.026, 1e-12);
    }
}
