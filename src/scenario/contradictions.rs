//! Own ingredients that contradict themselves, found when the file is read and told where they stand.

use super::check::Checker;
use super::error::Fault;
use super::larder::{self, own_ingredient};
use super::locate::Part;
use super::path::KeyPath;
use super::plan::{Choices, OwnIngredient};
use crate::literature;
use crate::process::ingredient::analysis::Field;
use crate::process::ingredient::{IngredientError, SplitRules};
use crate::quantity::unparted;

/// Splits every own ingredient that has no fault yet, by the rules of this plan, and tells why one cannot be split.
pub(super) fn own_ingredients(check: &mut Checker<'_>, choices: &Choices) {
    // rates that are wrong themselves say nothing about an ingredient
    let sound = !check.faults.iter().any(|fault| fault.key.starts_with("rates"));
    let chosen = |key: &str| choices.rates.iter().find(|r| sound && r.key == key).map(|r| r.central);
    let get = |key: &str| {
        chosen(key).or_else(|| literature::central(key)).expect("rules and figures stand in the tables")
    };
    let rules = SplitRules::from_values(&get);
    if sound {
        library(check, choices, &rules, &get);
    }
    for own in &choices.ingredients {
        let path = KeyPath::top("ingredients").entry(&own.id);
        let name = path.to_string();
        let faulty = check.faults.iter().any(|f| f.key == name || f.key.starts_with(&format!("{name}.")));
        if faulty || literature::ingredient(&own.like).is_none() {
            continue;
        }
        if let Err(problem) = own_ingredient(own, &rules, true, &get) {
            let fault = fault(check, &path, own, &problem);
            check.faults.push(fault);
        }
    }
}

/// Splits every ingredient of the library with a figure replaced in `rates`.
fn library(check: &mut Checker<'_>, choices: &Choices, rules: &SplitRules, get: &dyn Fn(&str) -> f64) {
    let mut seen = Vec::new();
    for choice in &choices.rates {
        let Some((name, _)) = literature::composition_parts(&choice.key) else { continue };
        if seen.contains(&name) {
            continue;
        }
        seen.push(name);
        let Some(facts) = literature::ingredient(name) else { continue };
        if let Err(error) = larder::replaced(facts, rules, get) {
            let fault =
                check.at(&KeyPath::top("rates").entry(&choice.key), Part::Key, error.problem.to_string());
            let hint = format!("`loamledger facts {name}` shows the figures that are not replaced");
            check.faults.push(fault.allowed("figures that fit together").hint(Some(hint)).nothing_given());
        }
    }
}

/// Key of a figure in a scenario.
const fn key(field: Field) -> &'static str {
    match field {
        Field::InitialPh => "ph",
        other => other.name(),
    }
}

fn given(own: &OwnIngredient, field: Field) -> Option<f64> {
    match field {
        Field::Moisture => own.moisture,
        Field::Carbon => own.carbon,
        Field::Nitrogen => own.nitrogen,
        Field::Ash => own.ash,
        Field::Phosphorus => own.phosphorus,
        Field::Potassium => own.potassium,
        Field::BulkDensity => own.bulk_density,
        Field::Protein => own.protein,
        Field::Fat => own.fat,
        Field::Sugars => own.sugars,
        Field::Fibre => own.fibre,
        Field::Lignin => own.lignin,
        Field::Humus => None,
        Field::InitialPh => own.ph,
        Field::BufferingCapacity => own.buffering_capacity,
        Field::Salt => own.salt,
        Field::Lime => (own.lime > 0.0).then_some(own.lime),
    }
}

/// The figure to point at: the first of these that is given, else the ingredient itself.
fn fault(check: &Checker<'_>, path: &KeyPath, own: &OwnIngredient, problem: &IngredientError) -> Fault {
    let short = |value: f64| unparted(value, 4);
    let (fields, allowed): (&[Field], String) = match problem {
        IngredientError::Missing(field) => {
            (&[], format!("`{}` given here or by `{}`", key(*field), own.like))
        }
        IngredientError::OutOfRange { field, low, high, .. } => (&[*field], format!("{low} to {high}")),
        IngredientError::Unordered(field) => (&[*field], "low, central and high in order".to_owned()),
        IngredientError::FractionsAboveOne { .. } => (
            &[Field::Protein, Field::Sugars, Field::Fibre, Field::Fat, Field::Lignin, Field::Ash],
            "protein, fat, sugars, fibre, lignin and ash that sum to at most 1".to_owned(),
        ),
        IngredientError::AshTooSmall { parts, .. } => (
            &[Field::Ash, Field::Salt, Field::Lime, Field::Potassium, Field::Phosphorus],
            format!("ash of at least {}, the sum of what is in it", short(*parts)),
        ),
        IngredientError::ImpossibleNitrogen { most, .. } => {
            (&[Field::Nitrogen, Field::Protein, Field::Ash], format!("nitrogen of at most {}", short(*most)))
        }
    };
    let hint = format!(
        "what is left out is filled from `{}` (`loamledger facts {}` shows it); give the other figures too, or one it is more like",
        own.like, own.like
    );
    let found = fields.iter().find(|field| given(own, **field).is_some());
    let fault = match found {
        Some(field) => check.at(&path.key(key(*field)), Part::Value, problem.to_string()),
        None => check.at(path, Part::Key, problem.to_string()).nothing_given(),
    };
    fault.allowed(allowed).hint(Some(hint))
}
