//! Missing figures of an analysis filled from a like ingredient.

use crate::matter::{Component, Element};
use crate::process::ingredient::analysis::{Analysis, Field, Figure};
use crate::process::ingredient::{IngredientError, Note, SolidKind, SplitRules, content};

/// Fields of the organic fractions, in the order of `split::FRACTIONS`.
const FRACTION_FIELDS: [Field; 6] =
    [Field::Sugars, Field::Fibre, Field::Lignin, Field::Protein, Field::Fat, Field::Humus];

/// Fields of what is part of the ash.
const ASH_FIELDS: [Field; 4] = [Field::Phosphorus, Field::Potassium, Field::Salt, Field::Lime];

/// An analysis without gaps.
#[derive(Debug, Clone, Copy)]
pub(super) struct Filled {
    pub(super) moisture: f64,
    pub(super) bulk_density: f64,
    pub(super) ash: f64,
    pub(super) phosphorus: f64,
    pub(super) potassium: f64,
    pub(super) salt: f64,
    pub(super) lime: f64,
    pub(super) nitrogen: f64,
    pub(super) carbon: Option<Figure>,
    pub(super) fractions: [Figure; 6],
    pub(super) initial_ph: f64,
    pub(super) buffering_capacity: f64,
}

/// Notes the fractions that left the range stated for this ingredient itself.
pub(super) fn note_outside(masses: &[f64; 6], own: &Analysis, notes: &mut Vec<Note>) {
    for (field, &used) in FRACTION_FIELDS.into_iter().zip(masses) {
        if let Some(stated) = own.get(field)
            && (used < stated.low - 1e-9 || used > stated.high + 1e-9)
        {
            notes.push(Note::OutsideRange { field, stated, used });
        }
    }
}

/// Looks figures up in the analysis, then in the like one, and notes what was filled.
struct Lookup<'a> {
    own: &'a Analysis,
    like: Option<&'a Analysis>,
    notes: &'a mut Vec<Note>,
}

impl Lookup<'_> {
    fn find(&mut self, field: Field, factor: f64) -> Option<Figure> {
        if let Some(figure) = self.own.get(field) {
            return Some(figure);
        }
        let figure = self.like?.get(field)?;
        self.notes.push(Note::Filled { field, factor });
        Some(figure.times(factor))
    }

    fn need(&mut self, field: Field, factor: f64) -> Result<f64, IngredientError> {
        self.find(field, factor).map(|f| f.central).ok_or(IngredientError::Missing(field))
    }

    /// Own nitrogen, nitrogen of own protein, then the same of the like ingredient.
    fn nitrogen(&mut self, factor: f64) -> Result<f64, IngredientError> {
        let per_protein = content(Component::Protein, Element::Nitrogen);
        if self.own.nitrogen.is_none()
            && let Some(protein) = self.own.protein
        {
            self.notes.push(Note::NitrogenFromProtein);
            return Ok(protein.central * per_protein);
        }
        if let Some(nitrogen) = self.find(Field::Nitrogen, factor) {
            return Ok(nitrogen.central);
        }
        let protein = self.like.and_then(|l| l.protein).ok_or(IngredientError::Missing(Field::Nitrogen))?;
        self.notes.push(Note::Filled { field: Field::Protein, factor });
        self.notes.push(Note::NitrogenFromProtein);
        Ok(protein.central * factor * per_protein)
    }

    fn fractions(
        &mut self,
        organic: f64,
        factor: f64,
        nitrogen: f64,
        kind: SolidKind,
        rules: &SplitRules,
    ) -> Result<[Figure; 6], IngredientError> {
        let humified = kind == SolidKind::Humified;
        let mut fractions = [Figure::exact(0.0); 6];
        for (i, field) in FRACTION_FIELDS.into_iter().enumerate() {
            fractions[i] = if field == Field::Protein && !humified {
                // nitrogen governs, so a stated protein figure only tells when the two disagree
                Figure::exact(nitrogen / content(Component::Protein, Element::Nitrogen))
            } else if let Some(figure) = self.find(field, factor) {
                figure
            } else if humified {
                self.notes.push(Note::UsualMakeUp { field });
                let share = rules.humified[i] * organic;
                let spread = share * rules.humified_spread;
                Figure::new(share, share - spread, share + spread)
            } else if field == Field::Humus {
                Figure::exact(0.0)
            } else {
                return Err(IngredientError::Missing(field));
            };
        }
        Ok(fractions)
    }
}

/// Fills an analysis.
///
/// Carbon, nitrogen and fractions from the like ingredient follow the organic share; phosphorus, potassium, salt and lime
/// from it shrink with a smaller ash but do not grow with a larger one, which is mostly grit. What is not exact gives way
/// where the ash is too small for its parts, see [`settled`].
pub(super) fn fill(
    own: &Analysis,
    like: Option<&Analysis>,
    kind: SolidKind,
    rules: &SplitRules,
    notes: &mut Vec<Note>,
) -> Result<Filled, IngredientError> {
    own.check()?;
    if let Some(like) = like {
        like.check()?;
    }
    let stated = FRACTION_FIELDS.iter().filter_map(|&f| own.get(f)).map(|f| f.low).sum::<f64>();
    let sum = stated + own.ash.map_or(0.0, |f| f.low);
    if sum > 1.0 + rules.closure_tolerance {
        return Err(IngredientError::FractionsAboveOne { sum });
    }
    let mut look = Lookup { own, like, notes };
    let ash = look.find(Field::Ash, 1.0).ok_or(IngredientError::Missing(Field::Ash))?;
    let like_ash = like.and_then(|l| l.ash).unwrap_or(ash).central;
    let ash_factor = if like_ash > ash.central { ash.central / like_ash } else { 1.0 };
    let mut parts = [Figure::exact(0.0); 4];
    for (part, field) in parts.iter_mut().zip(ASH_FIELDS) {
        let needed = matches!(field, Field::Phosphorus | Field::Potassium);
        match look.find(field, ash_factor) {
            Some(figure) => *part = figure,
            None if needed => return Err(IngredientError::Missing(field)),
            None => {}
        }
    }
    let (ash, [phosphorus, potassium, salt, lime]) = settled(ash, parts);
    // an ash that is the like one's own, raised or not, leaves the rest as it stands there
    let organic_factor =
        if own.ash.is_some() && like_ash < 1.0 { (1.0 - ash) / (1.0 - like_ash) } else { 1.0 };
    let nitrogen = look.nitrogen(organic_factor)?;
    let carbon = look.find(Field::Carbon, organic_factor);
    if carbon.is_none() {
        look.notes.push(Note::CarbonFromFractions);
    }
    Ok(Filled {
        moisture: look.need(Field::Moisture, 1.0)?,
        bulk_density: look.need(Field::BulkDensity, 1.0)?,
        ash,
        phosphorus,
        potassium,
        salt,
        lime,
        nitrogen,
        carbon,
        fractions: look.fractions(1.0 - ash, organic_factor, nitrogen, kind, rules)?,
        initial_ph: look.need(Field::InitialPh, 1.0)?,
        buffering_capacity: look.need(Field::BufferingCapacity, 1.0)?,
    })
}

/// Ash and what is known to be in it, so that the parts fit: ash that has a range rises to hold them, to its high end at
/// most; where that is not enough the parts that have ranges share what the exact ones leave. Figures that fit are left alone,
/// and so are those whose low ends contradict each other already.
fn settled(ash: Figure, parts: [Figure; 4]) -> (f64, [f64; 4]) {
    let exact = |figure: &Figure| figure.low >= figure.high;
    let sum: f64 = parts.iter().map(|part| part.central).sum();
    let whole = if exact(&ash) { ash.central } else { ash.central.max(sum.min(ash.high)) };
    let kept: f64 = parts.iter().filter(|part| exact(part)).map(|part| part.central).sum();
    let least: f64 = parts.iter().map(|part| part.low).sum();
    let factor = if sum > whole && least <= whole { (whole - kept) / (sum - kept) } else { 1.0 };
    (whole, parts.map(|part| if exact(&part) { part.central } else { part.central * factor }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_exact_gives_way_where_the_ash_is_too_small() {
        let part = |central: f64| Figure::new(central, 0.0, 0.1);
        let none = Figure::exact(0.0);
        // it fits: nothing moves
        let ash = Figure::new(0.02, 0.01, 0.04);
        assert_eq!(
            settled(ash, [part(0.004), part(0.006), part(0.01), none]),
            (0.02, [0.004, 0.006, 0.01, 0.0])
        );
        // ash rises to its parts
        let (whole, parts) = settled(ash, [part(0.005), part(0.01), part(0.015), none]);
        assert!((whole - 0.03).abs() < 1e-15 && (parts.iter().sum::<f64>() - whole).abs() < 1e-15);
        // to its high end at most: 0.05 of parts share 0.04, the exact 0.02 stands
        let (whole, parts) = settled(ash, [part(0.01), part(0.02), Figure::exact(0.02), none]);
        assert!((whole - 0.04).abs() < 1e-15);
        for (found, expected) in parts.into_iter().zip([0.02 / 3.0, 0.04 / 3.0, 0.02, 0.0]) {
            assert!((found - expected).abs() < 1e-15, "{parts:?}");
        }
        // exact figures that contradict each other stand as they are, and are refused later
        let (whole, parts) = settled(Figure::exact(0.01), [none, none, Figure::exact(0.02), none]);
        assert!(parts[2] > whole);
    }
}
