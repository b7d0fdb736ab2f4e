//! Printed cases of composition and mix arithmetic (facts: feedstocks tables E1-E12 and findings, site table 3.1).

use loamledger::component::Component;
use loamledger::component::Element;
use loamledger::component::Formula;
use loamledger::component::atomic_weight;
use loamledger::ingredient::Ingredient;
use loamledger::ingredient::IngredientError;
use loamledger::ingredient::Note;
use loamledger::ingredient::SolidKind;
use loamledger::ingredient::SplitRules;
use loamledger::ingredient::analysis::Analysis;
use loamledger::ingredient::analysis::Field;
use loamledger::ingredient::analysis::Figure;
use loamledger::ingredient::formula::oxidise;
use loamledger::ingredient::formula::oxidise_fully;
use loamledger::ingredient::formula::per_nitrogen;
use loamledger::ingredient::mix;
use loamledger::material::Material;
use loamledger::process::acidity::Surrounds;
use loamledger::process::acidity::base_for;
use loamledger::process::acidity::ph;
use loamledger::process::recipe::Measure;
use loamledger::process::recipe::Mixture;
use loamledger::process::recipe::Part;
use loamledger::process::recipe::SolidDensities;
use loamledger::process::recipe::air_filled_porosity;
use loamledger::process::recipe::amounts::BulkingTargets;
use loamledger::process::recipe::amounts::RecipeError;
use loamledger::process::recipe::amounts::Sense;
use loamledger::process::recipe::amounts::Target;
use loamledger::process::recipe::amounts::bulking_for;
use loamledger::process::recipe::amounts::least_amounts;
use loamledger::process::recipe::amounts::second_for_carbon_to_nitrogen;
use loamledger::process::recipe::amounts::second_for_moisture;
use loamledger::process::recipe::amounts::two_for_moisture_and_carbon_to_nitrogen;
use loamledger::process::recipe::mean_by_volume;
use loamledger::study::mix::Amount;
use loamledger::study::mix::MixConstants;
use loamledger::study::mix::MixPart;
use loamledger::study::mix::mix as mix_study;
use serde_json::Value;

/// Feedstocks tables 1.1 and 1.2: central/low/high in percent (density in kg/m3), columns moisture, C, N, ash, P, K, bulk
/// density, protein, lipid, sugars and starch, cellulose and hemicellulose, lignin.
const ROWS: &str = "\
food_waste_household 70/50/80 48/45/50 2.6/1.9/3.2 10/5/17 0.5/0.2/0.7 0.9/0.6/1.5 455/235/900 16.3/12/20 15/10/25 35/25/45 18/10/25 5/2/11
food_waste_restaurant 68/53/75 52/48/54 3.3/2.9/3.8 8/3/11 0.5/0.2/0.7 0.9/0.6/1.5 455/235/900 20.9/18.3/23.5 29.5/25.7/33.2 22.8/16.2/29.4 12/5/18 3/1/6
fruit_and_vegetable_market 89.2/87/91 43/40/45 2/1.4/4 5.5/3/9 0.22/0.15/0.4 1.9/1.2/3 600/400/940 12.5/8.6/25 2.2/1/4 50/35/57 19/14/24 3/1/6
apple_pomace 80/60/85 45/42/48 0.81/0.5/1.1 2/1.4/3 0.06/0.05/0.14 0.68/0.58/0.76 700/400/1000 5.1/3/7 3/1.5/4.5 30/15/55 45/25/50 10/5/15
coffee_grounds 62/50/66 53/49/58 2.1/1.7/2.4 1.5/0.9/2.5 0.09/0.07/0.18 0.3/0.3/1.17 450/300/700 13/10.5/15 15/10/24 2/0/5 40/23/55 22.5/12/26
bread 35.3/30/40 45.8/44.5/47 2.4/2/2.5 1.7/1.5/4.1 0.15/0.12/0.33 0.19/0.17/0.3 250/150/350 14.2/12.1/14.8 2/0.9/10.7 78/61/82 4/2/8 0.5/0/1
wheat_bran 10/9/13 45.7/44.5/47 2.7/2.5/2.9 6.4/5.5/6.9 1.13/0.95/1.3 1.31/1.1/1.5 220/180/270 17.2/14.9/18 5/2.7/5.3 25/20/32 42/38/46 3.9/3/5
rice_bran 10.3/5/12 46/45/48.5 2.26/2.1/2.4 6.6/6.6/9.9 1.22/1.2/1.96 1.02/0.7/1.46 350/300/420 14.1/13.4/15 13/13/19.6 45.1/25.9/45.1 14.7/14.7/31 2.5/2/4
brewers_grain_wet 78/75/82 50/48/52 4.2/3.6/5.3 4.5/3.5/5.5 0.5/0.5/0.59 0.5/0.05/0.6 900/800/1000 26.2/26/33.1 7.3/7/8.6 8.3/4/9 48/45/52 5.6/4/12
cane_molasses 27/25/28 37/35/40 0.96/0.5/1 14/10/16 0.07/0.05/0.1 4/3/5 1400/1380/1430 6/3/6 0/0/0.5 64/60/70 0/0/0 0/0/0
cardboard_corrugated 8/5/10 44/43/47 0.1/0.1/0.3 5/1.5/8 0.01/0/0.03 0.02/0/0.05 63/30/154 0.6/0.5/1.9 0.5/0/1 2/0/4 67.2/62/72 20.8/15/24
newsprint 6/3/8 49.1/43.4/49.5 0.1/0.05/0.14 1.5/1.5/6 0.01/0/0.02 0.01/0/0.03 214/115/300 0.6/0.3/0.9 1/0/2 0/0/1 57.5/52/64 23.9/22/28
leaves_autumn 38/15/50 48/36.3/51.6 0.94/0.66/1.62 10/5/25 0.1/0.02/0.29 0.36/0.09/0.88 70/60/80 5.9/4/10 4/2/8 8/3/15 30/25/40 30/20/43.8
wheat_straw 10/8/14 45.5/43/47.5 0.4/0.3/0.5 7/3.3/11.2 0.06/0.03/0.1 0.61/0.5/1.5 135/58/222 2.8/1.9/3.5 1.5/1/2 2/1/3 70/59.4/79 16.4/8/17
sawdust 39/11.5/65 50/49.5/51.2 0.1/0.03/0.8 0.3/0.3/4.1 0.01/0/0.02 0.05/0.02/0.1 237/207/267 0.6/0.2/1 2/1/4 1/0/2 67/63.8/72 26/22/30
wood_chips 35/15/50 50.2/48.2/51 0.09/0.04/0.23 0.9/0.17/4 0.01/0/0.03 0.1/0.05/0.2 316/264/371 0.6/0.3/1.4 5/1/9.7 1/0/2 63.8/63.8/72 24.7/22/30
coconut_coir 20/10/85 44/44/48 0.45/0.2/0.7 7.1/0.8/8 0.03/0.01/0.06 0.9/0.3/2 80/40/120 2.8/1.5/4.4 8/0/15.8 1/0/3 43.9/43.9/73.6 31.2/17.8/42
compost_finished 45/40/50 22.2/15/33 1.53/0.5/3 57.7/35/70 0.59/0.3/1.5 1.13/0.5/1.8 590/475/710 - - - - -
horse_manure_bedded 67/59/79 40.5/30/47 1.5/0.9/2.3 15/8/30 0.35/0.2/0.5 1.2/0.8/2 840/725/960 9.4/6/14 2/1/3 2/0/4 52/40/60 14/10/20
cattle_manure_solid 79/68/85 38/30.6/45 1.7/1.3/2.4 18/12/30 0.31/0.25/0.8 1.2/0.6/2 710/650/990 10.6/8/15 3/2/5 2/0/5 42/30/50 12/8/18
grass_clippings 77/70/82 46/42/47 3.4/2.4/6 9/6/15 0.35/0.2/0.6 2/1/3 250/148/470 21/15/30 3/2/5 10/5/15 40/36/50 8/4/28";

/// Column "C check" of feedstocks table 1.2, in the order of [`ROWS`].
const CARBON_CHECK: [Option<f64>; 21] = [
    Some(47.1),
    Some(53.0),
    Some(44.1),
    Some(46.6),
    Some(53.7),
    Some(45.3),
    Some(45.5),
    Some(47.3),
    Some(48.5),
    Some(38.3),
    Some(46.0),
    Some(48.2),
    Some(46.7),
    Some(45.0),
    Some(49.4),
    Some(49.9),
    Some(49.3),
    None,
    Some(41.8),
    Some(40.6),
    Some(44.9),
];

/// Central values: own feedstock entries, and the fermentation and bed constants that acidity asks for.
fn value(key: &str) -> f64 {
    match key {
        "fermentation.lactic_acid_dissociation_constant" => 3.857,
        "fermentation.acetic_acid_dissociation_constant" => 4.76,
        "fermentation.butyric_acid_dissociation_constant" => 4.83,
        "fermentation.calcium_carbonate_neutralising_power" => 20.0,
        "bed.ammonium_pka_constant" => 0.09018,
        "bed.ammonium_pka_slope" => 2729.92,
        "bed.carbonic_acid_pka" => 6.35,
        "bed.carbon_dioxide_solubility" => 0.0384,
        _ => own(key.strip_prefix("feedstocks.").unwrap()).central,
    }
}

fn own(id: &str) -> Figure {
    let all: Vec<Value> =
        serde_json::from_str(include_str!("../../src/literature/own_feedstocks.json")).unwrap();
    let entry = all.iter().find(|e| e["id"] == id).unwrap_or_else(|| panic!("no entry {id}"));
    let end = |k: &str| entry[k].as_f64().unwrap();
    Figure::new(end("central"), end("low"), end("high"))
}

fn rules() -> SplitRules {
    SplitRules::from_values(&value)
}

fn densities() -> SolidDensities {
    SolidDensities::from_values(&value)
}

fn published() -> Vec<(&'static str, Analysis)> {
    ROWS.lines()
        .map(|line| {
            let mut words = line.split_whitespace();
            let id = words.next().unwrap();
            let mut next = |scale: f64| {
                let mut ends = words.next().unwrap().split('/').map(str::parse::<f64>);
                let mut end = || ends.next().and_then(Result::ok);
                Some(Figure::new(end()?, end()?, end()?).times(scale))
            };
            let analysis = Analysis {
                moisture: next(0.01),
                carbon: next(0.01),
                nitrogen: next(0.01),
                ash: next(0.01),
                phosphorus: next(0.01),
                potassium: next(0.01),
                bulk_density: next(1.0),
                protein: next(0.01),
                fat: next(0.01),
                sugars: next(0.01),
                fibre: next(0.01),
                lignin: next(0.01),
                humus: None,
                initial_ph: Some(own(&format!("{id}_initial_ph"))),
                buffering_capacity: Some(own(&format!("{id}_buffering_capacity"))),
                salt: Some(own(&format!("{id}_salt"))),
                lime: None,
            };
            (id, analysis)
        })
        .collect()
}

fn analysis(id: &str) -> Analysis {
    published().into_iter().find(|(i, _)| *i == id).unwrap().1
}

fn kind(id: &str) -> SolidKind {
    match id {
        "compost_finished" => SolidKind::Humified,
        "cardboard_corrugated"
        | "newsprint"
        | "leaves_autumn"
        | "wheat_straw"
        | "sawdust"
        | "wood_chips"
        | "coconut_coir" => SolidKind::Bulking,
        _ => SolidKind::Food,
    }
}

fn ingredient(id: &str) -> Ingredient {
    Ingredient::from_analysis(id, &analysis(id), None, kind(id), &rules()).unwrap()
}

fn on_dry(m: &Material, e: Element) -> f64 {
    m.element(e) / m.dry()
}

/// A material with stated moisture, and C, N, P, K on dry mass: protein for N, fat for the rest of C, minerals to fill.
fn stuff(moisture: f64, carbon: f64, nitrogen: f64, phosphorus: f64, potassium: f64) -> Material {
    let share = |c: Component, e: Element| c.elements()[e.index()];
    let protein = nitrogen / share(Component::Protein, Element::Nitrogen);
    let fat = (carbon - protein * share(Component::Protein, Element::Carbon))
        / share(Component::Fat, Element::Carbon);
    let minerals = 1.0 - protein - fat - phosphorus - potassium;
    let dry = Material::of(Component::Protein, protein)
        + Material::of(Component::Fat, fat)
        + Material::of(Component::Phosphorus, phosphorus)
        + Material::of(Component::Potassium, potassium)
        + Material::of(Component::Minerals, minerals);
    assert!(dry.smallest() >= 0.0);
    Material::of(Component::Water, moisture) + dry * (1.0 - moisture)
}

fn close(found: f64, printed: f64, tolerance: f64) {
    assert!((found - printed).abs() <= tolerance, "{found} against {printed} +- {tolerance}");
}

// ---- published rows -----------------------------------------------------------------------------------------------

#[test]
fn every_published_row_keeps_its_analysis() {
    for (id, a) in published() {
        let made = ingredient(id);
        let m = made.per_kilogram;
        assert!(m.smallest() >= 0.0, "{id}: {m:?}");
        close(m.wet(), 1.0, 1e-12);
        close(m.moisture(), a.moisture.unwrap().central, 1e-12);
        close(on_dry(&m, Element::Nitrogen), a.nitrogen.unwrap().central, 1e-12);
        close(m.ash() / m.dry(), a.ash.unwrap().central, 1e-12);
        close(on_dry(&m, Element::Phosphorus), a.phosphorus.unwrap().central, 1e-12);
        close(on_dry(&m, Element::Potassium), a.potassium.unwrap().central, 1e-12);
        let (carbon, stated) = (on_dry(&m, Element::Carbon), a.carbon.unwrap());
        assert!(carbon > stated.low - 1e-9 && carbon < stated.high + 1e-9, "{id}: {carbon} {stated:?}");
        let missed = made.notes.iter().any(|n| matches!(n, Note::CarbonMissed { .. }));
        assert_eq!(missed, (carbon - stated.central).abs() > 1e-9, "{id}: {carbon} {stated:?}");
        let found = ph(&m, &rules().acids, &Surrounds::acid_store(20.0), 7.0);
        close(found, a.initial_ph.unwrap().central, 1e-6);
    }
}

#[test]
fn carbon_is_missed_only_where_the_printed_figures_contradict_each_other() {
    // Gaps, all inside the printed range of carbon and at most 2.1 points. Market waste, pomace, molasses: free sugars
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
        ("fruit_and_vegetable_market", 0.69),
        ("apple_pomace", 0.36),
        ("rice_bran", 1.49),
        ("brewers_grain_wet", -0.29),
        ("cane_molasses", 1.72),
        ("cardboard_corrugated", 1.28),
        ("wheat_straw", -0.43),
        ("coconut_coir", 0.50),
        ("horse_manure_bedded", 0.16),
        ("cattle_manure_solid", 2.02),
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
    let a = Analysis { carbon: Some(Figure::exact(0.44)), ..analysis("cardboard_corrugated") };
    let made = Ingredient::from_analysis("c", &a, None, SolidKind::Bulking, &rules()).unwrap();
    close(on_dry(&made.per_kilogram, Element::Carbon), 0.44, 1e-12);
    // 95 % organic matter holds at most 73 % C, as fat alone
    let a = Analysis { carbon: Some(Figure::exact(0.75)), ..a };
    let made = Ingredient::from_analysis("c", &a, None, SolidKind::Bulking, &rules()).unwrap();
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
            (a.protein, Component::Protein),
            (a.fat, Component::Fat),
            (a.sugars, Component::Sugars),
            (a.fibre, Component::Fibre),
            (a.lignin, Component::Lignin),
        ]
        .map(|(f, c)| (f.unwrap().central, c));
        let sum = parts.iter().map(|p| p.0).sum::<f64>() + a.ash.unwrap().central;
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

// ---- charge -------------------------------------------------------------------------------------------------------

#[test]
fn a_food_titrates_to_its_buffering_capacity_with_and_without_native_acid() {
    for rules in [rules(), rules().without_native_acid()] {
        let a = analysis("food_waste_household");
        let m = Ingredient::from_analysis("food", &a, None, SolidKind::Food, &rules).unwrap().per_kilogram;
        let at = Surrounds::acid_store(20.0);
        let base = |p: f64| base_for(&m, &rules.acids, &at, p);
        // the water itself takes 0.23 mEq per kg dry mass at pH 4 and 70 % moisture
        close((base(6.0) - base(4.0)) * 1000.0 / m.dry(), 300.0, 0.3);
        close(ph(&m, &rules.acids, &at, 7.0), 5.1, 1e-6);
    }
}

#[test]
fn burning_native_acid_raises_ph_and_the_plain_rule_has_none_to_burn() {
    let at = Surrounds::acid_store(20.0);
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
    let a = Analysis { lime: Some(Figure::exact(0.02)), ..analysis("food_waste_household") };
    let with = Ingredient::from_analysis("f", &a, None, SolidKind::Food, &rules()).unwrap().per_kilogram;
    close((with.base() - without.base()) / with.dry(), 0.4, 1e-12);
    close(with.ash(), without.ash(), 1e-15);
    assert!(with[Component::Minerals] >= 0.02 * with.dry());
}

#[test]
fn too_much_native_acid_is_capped_and_told() {
    let a = Analysis { buffering_capacity: Some(Figure::exact(3000.0)), ..analysis("food_waste_household") };
    let made = Ingredient::from_analysis("f", &a, None, SolidKind::Food, &rules()).unwrap();
    let capped = made.notes.iter().find_map(|n| match n {
        Note::NativeAcidCapped { wanted, booked } => Some((*wanted, *booked)),
        _ => None,
    });
    // 0.7 x 3 eq / 0.798 eq per mol x 60.05 g = 158 g wanted; a tenth of 0.9 kg organic matter booked
    let (wanted, booked) = capped.unwrap();
    close(wanted, 0.158, 0.001);
    close(booked, 0.09, 1e-12);
    let base = |p: f64| base_for(&made.per_kilogram, &rules().acids, &Surrounds::acid_store(20.0), p);
    close((base(6.0) - base(4.0)) * 1000.0 / made.per_kilogram.dry(), 3000.0, 0.3);
}

// ---- a laboratory's partial figures -------------------------------------------------------------------------------

#[test]
fn partial_figures_are_filled_from_the_like_ingredient() {
    let own = Analysis {
        moisture: Some(Figure::exact(0.75)),
        nitrogen: Some(Figure::exact(0.031)),
        ash: Some(Figure::exact(0.14)),
        ..Analysis::default()
    };
    let like = analysis("food_waste_household");
    let made = Ingredient::from_analysis("mine", &own, Some(&like), SolidKind::Food, &rules()).unwrap();
    let m = made.per_kilogram;
    close(on_dry(&m, Element::Nitrogen), 0.031, 1e-12);
    close(m.ash() / m.dry(), 0.14, 1e-12);
    // carbon of the like ingredient follows the organic share: 48 % x 0.86/0.90
    close(on_dry(&m, Element::Carbon), 0.48 * 0.86 / 0.90, 1e-9);
    let filled =
        |field: Field| made.notes.iter().any(|n| matches!(n, Note::Filled { field: f, .. } if *f == field));
    assert!(filled(Field::Carbon) && filled(Field::Lignin) && filled(Field::InitialPh));
    assert!(!filled(Field::Ash) && !filled(Field::Nitrogen));
}

#[test]
fn nitrogen_governs_a_contradicting_protein_figure_and_protein_gives_missing_nitrogen() {
    let both = Analysis { protein: Some(Figure::exact(0.30)), ..analysis("food_waste_household") };
    let made = Ingredient::from_analysis("f", &both, None, SolidKind::Food, &rules()).unwrap();
    close(on_dry(&made.per_kilogram, Element::Nitrogen), 0.026, 1e-12);
    let told = |n: &Note| matches!(n, Note::OutsideRange { field: Field::Protein, .. });
    assert!(made.notes.iter().any(told));
    let only = Analysis { nitrogen: None, protein: Some(Figure::exact(0.20)), ..both };
    let made = Ingredient::from_analysis("f", &only, None, SolidKind::Food, &rules()).unwrap();
    // 20 % crude protein = 6.25 N
    close(on_dry(&made.per_kilogram, Element::Nitrogen), 0.20 / 6.25, 0.0003);
    assert!(made.notes.contains(&Note::NitrogenFromProtein));
}

#[test]
fn impossible_analyses_are_refused_with_the_field() {
    let build = |a: Analysis| {
        Ingredient::from_analysis("f", &a, None, SolidKind::Food, &rules()).map(|i| i.name).unwrap_err()
    };
    let food = analysis("food_waste_household");
    let exact = |x: f64| Some(Figure::exact(x));
    let out = |e: IngredientError, field: Field| matches!(e, IngredientError::OutOfRange { field: f, .. } if f == field);
    assert!(out(build(Analysis { moisture: exact(1.0), ..food }), Field::Moisture));
    assert!(out(build(Analysis { fat: exact(-0.1), ..food }), Field::Fat));
    assert!(out(build(Analysis { carbon: exact(48.0), ..food }), Field::Carbon));
    assert!(out(build(Analysis { initial_ph: exact(f64::NAN), ..food }), Field::InitialPh));
    assert_eq!(build(Analysis { lignin: None, ..food }), IngredientError::Missing(Field::Lignin));
    assert_eq!(
        build(Analysis { ash: Some(Figure::new(0.1, 0.2, 0.3)), ..food }),
        IngredientError::Unordered(Field::Ash)
    );
    let much = Analysis { sugars: exact(0.6), fat: exact(0.4), ..food };
    assert!(matches!(build(much), IngredientError::FractionsAboveOne { .. }));
    assert!(matches!(build(Analysis { ash: exact(0.01), ..food }), IngredientError::AshTooSmall { .. }));
    assert!(matches!(
        build(Analysis { nitrogen: exact(0.16), ..food }),
        IngredientError::ImpossibleNitrogen { .. }
    ));
}

// ---- mix arithmetic: E1, E2, E5, E12 ------------------------------------------------------------------------------

#[test]
fn e1_grass_and_leaves_to_sixty_percent_moisture() {
    // Cornell Composting as reproduced by another: 10 g wet, 2.3 g dry -> 77 %; 10 kg grass with leaves at 35 % -> 6.8 kg.
    let grass = Material::of(Component::Water, 7.7) + Material::of(Component::Fibre, 2.3);
    close(grass.moisture(), 0.77, 0.0005);
    let leaves = stuff(0.35, 0.50, 0.0075, 0.0, 0.0);
    close(10.0 * second_for_moisture(&grass, &leaves, 0.60).unwrap(), 6.8, 1e-9);
    close(mix(&[(grass * 0.1, 10.0), (leaves, 6.8)]).moisture(), 0.60, 1e-12);
}

#[test]
fn e2_grass_and_leaves_to_a_ratio_of_thirty() {
    // Inputs and the answer of 3.5 kg from memory of the Cornell page; last digits by the facts table.
    let grass = stuff(0.77, 0.45, 0.024, 0.0, 0.0);
    let leaves = stuff(0.35, 0.50, 0.0075, 0.0, 0.0);
    let kilograms = 10.0 * second_for_carbon_to_nitrogen(&grass, &leaves, 30.0).unwrap();
    close(kilograms, 3.5, 0.05);
    close(kilograms, 3.474_126, 5e-7);
    close(mix(&[(grass, 10.0), (leaves, kilograms)]).moisture(), 0.662, 0.0005);
    close(mix(&[(grass, 10.0), (leaves, 6.8)]).carbon_to_nitrogen(), 36.7, 0.05);
    close(mix(&[(grass, 10.0), (leaves, 7.0)]).carbon_to_nitrogen(), 37.1, 0.05);
}

#[test]
fn e5_averaging_ratios_is_not_what_the_solver_does() {
    // North Carolina method, re-printed: litter C:N 7.5 and straw 130 "give" 0.90 / 0.10 by averaging ratios. Negative test:
    // with litter N 3.6-4.7 % and straw N 0.4 % of dry mass that mix stands at 8.6-9.0, and a goal of 20 takes 1.0-1.3 kg
    // straw per kg litter (dry), ten times the printed share. (Straw N 0.5 % would mean 65 % C at this ratio.)
    let straw = stuff(0.0, 130.0 * 0.004, 0.004, 0.0, 0.0);
    for (nitrogen, stands, takes) in [(0.036, 9.0, 1.0), (0.047, 8.6, 1.3)] {
        let litter = stuff(0.0, 7.5 * nitrogen, nitrogen, 0.0, 0.0);
        close(mix(&[(litter, 0.9), (straw, 0.1)]).carbon_to_nitrogen(), stands, 0.05);
        let needed = second_for_carbon_to_nitrogen(&litter, &straw, 20.0).unwrap();
        close(needed, takes, 0.05);
        assert!(needed > 9.0 * 0.10 / 0.90);
    }
    // the printed share itself is the average of ratios, for a goal of 20 and not the printed 30
    close((130.0 - 20.0) / (130.0 - 7.5), 0.90, 0.005);
}

#[test]
fn e12_sawdust_with_chicken_manure() {
    // NRAES-54 recipe form; 0.4 and about 1.07 from memory, last digits by the facts table.
    let sawdust = stuff(0.35, 0.55, 0.0011, 0.0, 0.0);
    let manure = stuff(0.70, 0.60, 0.06, 0.0, 0.0);
    let for_moisture = second_for_moisture(&manure, &sawdust, 0.60).unwrap();
    close(for_moisture, 0.4, 1e-9);
    close(mix(&[(manure, 1.0), (sawdust, for_moisture)]).carbon_to_nitrogen(), 17.66, 0.005);
    let for_ratio = second_for_carbon_to_nitrogen(&manure, &sawdust, 30.0).unwrap();
    close(for_ratio, 1.071_269, 5e-7);
    close(mix(&[(manure, 1.0), (sawdust, for_ratio)]).moisture(), 0.519, 0.0005);
}

#[test]
fn moisture_and_ratio_are_solved_together_with_water_as_one_unknown() {
    let manure = stuff(0.70, 0.60, 0.06, 0.0, 0.0);
    let sawdust = stuff(0.35, 0.55, 0.0011, 0.0, 0.0);
    let water = Material::of(Component::Water, 1.0);
    let [s, w] = two_for_moisture_and_carbon_to_nitrogen(&manure, [&sawdust, &water], 0.60, 30.0).unwrap();
    // water does not change C:N, so sawdust is E12's and water makes up the rest: 1.0713 kg at 51.9 % -> 60 %
    close(s, 1.071_269, 5e-7);
    let whole = mix(&[(manure, 1.0), (sawdust, s), (water, w)]);
    close(whole.moisture(), 0.60, 1e-12);
    close(whole.carbon_to_nitrogen(), 30.0, 1e-9);
    close(w, (0.60 * (1.0 + s) - 0.70 - 0.35 * s) / 0.40, 1e-9);
    // at 45 % moisture water would have to be taken out
    let dry = two_for_moisture_and_carbon_to_nitrogen(&manure, [&sawdust, &water], 0.45, 30.0);
    assert_eq!(dry.unwrap_err(), RecipeError::NotTogether);
}

#[test]
fn least_amounts_of_three_materials_weigh_no_more_than_any_pair() {
    let part = |m: Material| Part { per_kilogram: m, bulk_density: 300.0, kept_volume: 0.8 };
    let grass = part(stuff(0.77, 0.45, 0.034, 0.0, 0.0));
    let free =
        [part(stuff(0.35, 0.50, 0.0075, 0.0, 0.0)), part(stuff(0.20, 0.50, 0.001, 0.0, 0.0)), Part::water()];
    let targets = [
        Target::new(Measure::CarbonToNitrogen, Sense::AtLeast, 25.0),
        Target::new(Measure::Moisture, Sense::Exactly, 0.55),
    ];
    let all = least_amounts(&[(grass, 1.0)], &free, &targets, &densities()).unwrap();
    let total = all.iter().sum::<f64>();
    let mut parts: Vec<_> = free.iter().copied().zip(all).collect();
    parts.push((grass, 1.0));
    let whole = Mixture::of(&parts, &densities());
    close(whole.moisture(), 0.55, 1e-9);
    assert!(whole.carbon_to_nitrogen() > 25.0 - 1e-9);
    let mut pairs = 0;
    for out in 0..3 {
        let pair: Vec<Part> = (0..3).filter(|i| *i != out).map(|i| free[i]).collect();
        if let Ok(amounts) = least_amounts(&[(grass, 1.0)], &pair, &targets, &densities()) {
            pairs += 1;
            assert!(total <= amounts.iter().sum::<f64>() + 1e-9);
        }
    }
    assert!(pairs >= 2);
}

// ---- stoichiometry: E6, E7, E8, E9, finding 1 ---------------------------------------------------------------------

#[test]
fn e6_oxidation_of_sludge_and_bacteria() {
    // Haug 1980 in Polprasert: C10H19O3N + 12.5 O2 -> 10 CO2 + 8 H2O + NH3; C5H7O2N + 5 O2 -> 5 CO2 + 2 H2O + NH3.
    for (f, oxygen, carbon_dioxide, water, mass) in [
        (Formula::new(10.0, 19.0, 3.0, 1.0), 12.5, 10.0, 8.0, 1.987),
        (Formula::new(5.0, 7.0, 2.0, 1.0), 5.0, 5.0, 2.0, 1.414),
    ] {
        let o = oxidise_fully(&f);
        close(o.oxygen, oxygen, 1e-12);
        close(o.carbon_dioxide, carbon_dioxide, 1e-12);
        close(o.water, water, 1e-12);
        close(o.ammonia, 1.0, 1e-12);
        close(o.oxygen_mass, mass, 0.001);
    }
}

#[test]
fn e7_formula_of_food_waste() {
    // C 48, H 6.4, O 37.6, N 2.6 % of dry mass (Masters and Ela type table); formula from memory, digits by the facts table.
    let f = per_nitrogen(0.48, 0.064, 0.376, 0.026).unwrap();
    close(f.carbon, 21.529, 0.0005);
    close(f.hydrogen, 34.205, 0.0005);
    close(f.oxygen, 12.661, 0.0005);
    close(48.0 / 2.6, 18.46, 0.005);
    let moles = 26.0 / atomic_weight::NITROGEN;
    let oxygen = oxidise_fully(&f).oxygen * moles * 2.0 * atomic_weight::OXYGEN / 1000.0;
    close(oxygen, 1.366, 0.0005);
    // nitrification takes 2 O2 more per N
    close(oxygen + 2.0 * moles * 2.0 * atomic_weight::OXYGEN / 1000.0, 1.485, 0.0005);
    assert!(per_nitrogen(0.48, 0.064, 0.376, 0.0).is_none());
}

#[test]
fn e8_partial_oxidation_of_refuse() {
    // Pichtel 2005, example 8.1: C35H67O31N, 1000 kg, to 180 kg C14H20O9N. Printed first step: 997 g/mol, 1.00 kmol; the
    // printed end is not on record, so the rest is checked against the facts table's own arithmetic only. The printed 997 is
    // whole-number atomic weights; the 2021 weights give 997.9, a gap of 0.09 %.
    let feed = Formula::new(35.0, 67.0, 31.0, 1.0);
    let product = Formula::new(14.0, 20.0, 9.0, 1.0);
    close(35.0 * 12.0 + 67.0 + 31.0 * 16.0 + 14.0, 997.0, 0.0);
    close(feed.molar_mass(), 997.0, 1.0);
    let kilomoles = 1000.0 / feed.molar_mass();
    close(kilomoles, 1.00, 0.005);
    let n = 180.0 / product.molar_mass() / kilomoles;
    close(n, 0.519, 0.0015);
    let o = oxidise(&feed, &product, n);
    close(o.water, 27.59, 0.005);
    close(o.carbon_dioxide, 27.74, 0.015);
    close(o.oxygen, 28.37, 0.015);
    close(o.oxygen_mass * 1000.0, 910.0, 1.0);
    close(o.ammonia, 0.48, 0.005);
}

#[test]
fn e9_garden_waste_is_told_but_is_no_published_check() {
    // The printed parts sum to 987 of 1000 kg and the printed answer is not on record: no pass or fail against print. What is
    // checked is our arithmetic on the remembered input (C 513) and product C11H14O4N against the facts table's.
    close(500.0 + 60.0 + 405.0 + 22.0, 987.0, 0.0);
    let feed = per_nitrogen(0.513, 0.060, 0.405, 0.022).unwrap();
    close(feed.carbon, 27.0, 0.5);
    close(feed.hydrogen, 38.0, 0.5);
    close(feed.oxygen, 16.0, 0.5);
    let product = Formula::new(11.0, 14.0, 4.0, 1.0);
    close(11.0 * atomic_weight::CARBON / atomic_weight::NITROGEN, 9.43, 0.005);
    let rounded = Formula::new(27.0, 38.0, 16.0, 1.0);
    let o = oxidise(&rounded, &product, 0.75);
    close(o.ammonia, 0.25, 1e-12);
    close(o.oxygen, 18.94, 0.005);
    close(o.oxygen_mass, 0.959, 0.0015);
}

#[test]
fn finding_1_the_protein_formula_keeps_the_nitrogen_of_crude_protein() {
    // 6.25 N fed into C5H7O2N loses 23 % of the nitrogen; C16H24O5N4 keeps it.
    let bacteria = Formula::new(5.0, 7.0, 2.0, 1.0).mass_shares()[3];
    close(1.0 - 6.25 * bacteria, 0.23, 0.005);
    close(6.25 * Component::Protein.elements()[Element::Nitrogen.index()], 1.0, 0.007);
}

// ---- findings 2 and 6 ---------------------------------------------------------------------------------------------

#[test]
fn finding_2_the_gotaas_rule_is_not_for_sugary_feed() {
    // (100 - ash)/1.8 against carbon of the components: bread 54.6, molasses 47.8, market waste 52.5 are far too high;
    // compost 23.5 against 22.2 is near.
    for (id, printed, least_gap) in
        [("bread", 54.6, 0.07), ("cane_molasses", 47.8, 0.07), ("fruit_and_vegetable_market", 52.5, 0.07)]
    {
        let m = ingredient(id).per_kilogram;
        let gotaas = (1.0 - m.ash() / m.dry()) / 1.8;
        close(100.0 * gotaas, printed, 0.05);
        assert!(gotaas - on_dry(&m, Element::Carbon) > least_gap, "{id}");
    }
    let m = ingredient("compost_finished").per_kilogram;
    let gotaas = (1.0 - m.ash() / m.dry()) / 1.8;
    close(100.0 * gotaas, 23.5, 0.05);
    close(100.0 * on_dry(&m, Element::Carbon), 22.2, 1e-9);
}

#[test]
fn finding_6_the_ash_stated_for_food_decides_the_ash_booked() {
    // 5 % by a textbook, 13-17 % by a municipal sample: ash is conserved, so a stated figure must come through untouched.
    for ash in [0.05, 0.13, 0.17] {
        let a = Analysis { ash: Some(Figure::exact(ash)), ..analysis("food_waste_household") };
        let m = Ingredient::from_analysis("f", &a, None, SolidKind::Food, &rules()).unwrap().per_kilogram;
        close(m.ash() / m.dry(), ash, 1e-12);
        close(on_dry(&m, Element::Nitrogen), 0.026, 1e-12);
    }
}

// ---- blend by volume: site 3.1 ------------------------------------------------------------------------------------

#[test]
fn the_blend_table_of_castings_and_compost() {
    // v, wet kg/m3, wet mass share, moisture, dry kg/m3, dry share, N % DM, C:N, kg N, P, K per m3, EC; last digit.
    let table = [
        [0.10, 532.0, 0.1203, 0.4180, 309.6, 0.0930, 1.565, 18.01, 4.846, 1.354, 2.873, 2.650],
        [0.25, 550.0, 0.2909, 0.4436, 306.0, 0.2353, 1.665, 17.10, 5.094, 1.512, 2.970, 2.875],
        [0.40, 568.0, 0.4507, 0.4676, 302.4, 0.3810, 1.767, 16.28, 5.342, 1.670, 3.067, 3.100],
    ];
    let castings =
        Part { per_kilogram: stuff(0.55, 0.30, 0.022, 0.008, 0.012), bulk_density: 640.0, kept_volume: 1.0 };
    let compost =
        Part { per_kilogram: stuff(0.40, 0.28, 0.015, 0.004, 0.009), bulk_density: 520.0, kept_volume: 1.0 };
    for [v, wet, wet_share, moisture, dry, dry_share, nitrogen, ratio, kg_n, kg_p, kg_k, ec] in table {
        let parts = [(castings, v * 640.0), (compost, (1.0 - v) * 520.0)];
        let blend = Mixture::of(&parts, &densities());
        let m = blend.material;
        close(blend.volume, 1.0, 1e-12);
        close(blend.bulk_density(), wet, 0.05);
        close(parts[0].1 / m.wet(), wet_share, 0.00005);
        close(blend.moisture(), moisture, 0.00005);
        close(m.dry(), dry, 0.05);
        close(parts[0].1 * 0.45 / m.dry(), dry_share, 0.00005);
        close(100.0 * on_dry(&m, Element::Nitrogen), nitrogen, 0.0005);
        close(blend.carbon_to_nitrogen(), ratio, 0.005);
        close(m.element(Element::Nitrogen), kg_n, 0.0005);
        close(m.element(Element::Phosphorus), kg_p, 0.0005);
        close(m.element(Element::Potassium), kg_k, 0.0005);
        close(mean_by_volume(&parts, &[4.0, 2.5]), ec, 0.0005);
    }
    // Traps at v = 0.25: N weighted by wet mass is 1.704 %, by volume 1.675 %; only dry mass gives 1.665 %.
    let parts = [(castings, 160.0), (compost, 390.0)];
    let m = Mixture::of(&parts, &densities()).material;
    let right = 100.0 * on_dry(&m, Element::Nitrogen);
    close((160.0 * 2.2 + 390.0 * 1.5) / 550.0, 1.704, 0.0005);
    close(mean_by_volume(&parts, &[2.2, 1.5]), 1.675, 0.0005);
    assert!((right - 1.704).abs() > 0.03 && (right - 1.675).abs() > 0.009);
}

// ---- bulking ------------------------------------------------------------------------------------------------------

fn paste() -> Part {
    // ground paste stands at 1020 kg/m3 (fermentation table, section 6)
    Part {
        per_kilogram: ingredient("food_waste_household").per_kilogram,
        bulk_density: 1020.0,
        kept_volume: 1.0,
    }
}

fn bulking(id: &str, kept: &str) -> Part {
    let i = ingredient(id);
    Part { per_kilogram: i.per_kilogram, bulk_density: i.bulk_density, kept_volume: value(kept) }
}

#[test]
fn bulking_reaches_porosity_and_ratio_and_the_harder_target_binds() {
    let card = bulking("cardboard_corrugated", "feedstocks.kept_volume_fibrous");
    let solve = |porosity: Option<f64>, ratio: Option<f64>| {
        let wanted = BulkingTargets { air_filled_porosity: porosity, carbon_to_nitrogen: ratio };
        bulking_for(&paste(), &card, &wanted, &densities()).unwrap()
    };
    let air = solve(Some(0.25), None);
    assert_eq!(air.binding, Some(Measure::AirFilledPorosity));
    // the same porosity by Haug's form from the bulk as mixed, worked from masses and volumes here
    let x = air.bulking_per_paste;
    let volume = 1.0 / 1020.0 + x * card.kept_volume / card.bulk_density;
    let m = mix(&[(paste().per_kilogram, 1.0), (card.per_kilogram, x)]);
    let ash = m.ash() / m.dry();
    let solid = 1.0 / ((1.0 - ash) / densities().organic + ash / densities().ash);
    close(air_filled_porosity(m.dry() / volume, solid, m.water() / m.dry()), 0.25, 1e-9);
    close(air.reached.air_filled_porosity(), 0.25, 1e-9);
    let ratio = solve(Some(0.25), Some(30.0));
    assert_eq!(ratio.binding, Some(Measure::CarbonToNitrogen));
    close(ratio.reached.carbon_to_nitrogen(), 30.0, 1e-9);
    assert!(ratio.reached.air_filled_porosity() > 0.25);
    assert!(ratio.bulking_per_paste > air.bulking_per_paste);
    let none = solve(Some(0.0), Some(10.0));
    assert_eq!((none.bulking_per_paste, none.binding), (0.0, None));
}

#[test]
fn an_unreachable_target_tells_the_best_this_bulking_allows() {
    let compost = bulking("compost_finished", "feedstocks.kept_volume_granular");
    let wanted = BulkingTargets { air_filled_porosity: None, carbon_to_nitrogen: Some(25.0) };
    let error = bulking_for(&paste(), &compost, &wanted, &densities()).unwrap_err();
    // paste stands at 18.5, compost at 14.5: more compost only lowers C:N, so paste alone is best
    let RecipeError::Unreachable { best: Some(best), target } = error else { panic!("{error}") };
    close(best, 48.0 / 2.6, 0.01);
    assert_eq!(target.measure, Measure::CarbonToNitrogen);
    let wanted = BulkingTargets { air_filled_porosity: Some(0.6), carbon_to_nitrogen: None };
    let error = bulking_for(&paste(), &compost, &wanted, &densities()).unwrap_err();
    let RecipeError::Unreachable { best: Some(best), .. } = error else { panic!("{error}") };
    // compost alone as kept: 590/0.85 = 694 kg/m3, 45 % water, 57.7 % ash
    let solid = 1.0 / (0.423 / densities().organic + 0.577 / densities().ash);
    close(best, air_filled_porosity(590.0 / 0.85 * 0.55, solid, 0.45 / 0.55), 1e-9);
}

// ---- the question behind `mix` ------------------------------------------------------------------------------------

#[test]
fn the_answer_adds_up_and_solves_for_the_free_part() {
    let (food, card) = (ingredient("food_waste_household"), ingredient("cardboard_corrugated"));
    let constants = MixConstants { acids: rules().acids, densities: densities(), temperature: 20.0 };
    let parts = [
        MixPart {
            id: "food_waste_household",
            ingredient: &food,
            kept_volume: 0.7,
            amount: Amount::Given(100.0),
        },
        MixPart { id: "cardboard_corrugated", ingredient: &card, kept_volume: 0.6, amount: Amount::Free },
    ];
    let target = Target::new(Measure::CarbonToNitrogen, Sense::Exactly, 25.0);
    let answer = mix_study(&parts, &[target], &constants).unwrap();
    // equation 4.3: Q2 = Q1 N1 (R - C1/N1)(1 - m1) / [N2 (C2/N2 - R)(1 - m2)], with the carbon the cardboard was given
    let (m, carbon) = (card.per_kilogram, on_dry(&card.per_kilogram, Element::Carbon));
    let by_hand = 100.0 * 0.026 * (25.0 - 0.48 / 0.026) * 0.30
        / (0.001 * (carbon / 0.001 - 25.0) * (1.0 - m.moisture()));
    close(answer.parts[1].wet, by_hand, 1e-9 * by_hand);
    close(answer.whole.wet, answer.parts.iter().map(|p| p.wet).sum(), 1e-9);
    close(answer.whole.nitrogen, answer.parts.iter().map(|p| p.nitrogen).sum(), 1e-9);
    close(answer.targets[0].reached, 25.0, 1e-9);
    close(answer.parts[0].ph, 5.1, 1e-6);
    close(answer.parts[0].bulk_density, 455.0, 1e-6);
    assert!(answer.whole.ph > 5.1 && answer.whole.ph < 7.0);
    let text = serde_json::to_value(&answer).unwrap();
    close(text["whole"]["carbon_to_nitrogen"].as_f64().unwrap(), 25.0, 1e-9);
}
