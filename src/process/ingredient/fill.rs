//! Properties that an analysis does not state, filled from a like ingredient.

use crate::matter::{Analysis, Component, Element, Property, SolidKind};
use crate::process::ingredient::analysis::{self, Stated, StatedAnalysis};
use crate::process::ingredient::split::FRACTIONS;
use crate::process::ingredient::{IngredientError, Note, SplitRules, content};

/// An analysis without gaps.
#[derive(Debug, Clone, Copy)]
pub(super) struct CompleteAnalysis {
    /// Central values; carbon and the organic fractions are in the two fields below instead.
    pub(super) central: Analysis<f64>,
    /// Carbon; None lets it follow from the fractions.
    pub(super) carbon: Option<Stated>,
    /// Organic fractions in the order of [`FRACTIONS`].
    pub(super) fractions: [Stated; FRACTIONS.len()],
}

/// Notes the fractions that left the range stated for this ingredient itself.
pub(super) fn note_outside(masses: &[f64; FRACTIONS.len()], own: &StatedAnalysis, notes: &mut Vec<Note>) {
    for ((property, _), &used) in FRACTIONS.into_iter().zip(masses) {
        if let Some(stated) = own[property]
            && (used < stated.low - 1e-9 || used > stated.high + 1e-9)
        {
            notes.push(Note::OutsideRange { property, stated, used });
        }
    }
}

/// Looks properties up in the analysis, then in the like one, and notes which were filled.
struct Lookup<'a> {
    own: &'a StatedAnalysis,
    like: Option<&'a StatedAnalysis>,
    notes: &'a mut Vec<Note>,
}

impl Lookup<'_> {
    fn find(&mut self, property: Property, factor: f64) -> Option<Stated> {
        if let Some(figure) = self.own[property] {
            return Some(figure);
        }
        let figure = self.like?[property]?;
        self.notes.push(Note::Filled { property, factor });
        Some(figure.times(factor))
    }

    fn need(&mut self, property: Property) -> Result<Stated, IngredientError> {
        self.find(property, 1.0).ok_or(IngredientError::Missing(property))
    }

    /// Own nitrogen, nitrogen of own protein, then the same of the like ingredient.
    fn nitrogen(&mut self, factor: f64) -> Result<f64, IngredientError> {
        let per_protein = content(Component::Protein, Element::Nitrogen);
        if self.own[Property::Nitrogen].is_none()
            && let Some(protein) = self.own[Property::Protein]
        {
            self.notes.push(Note::NitrogenFromProtein);
            return Ok(protein.central * per_protein);
        }
        if let Some(nitrogen) = self.find(Property::Nitrogen, factor) {
            return Ok(nitrogen.central);
        }
        let protein = self
            .like
            .and_then(|like| like[Property::Protein])
            .ok_or(IngredientError::Missing(Property::Nitrogen))?;
        self.notes.push(Note::Filled { property: Property::Protein, factor });
        self.notes.push(Note::NitrogenFromProtein);
        Ok(protein.central * factor * per_protein)
    }

    /// Ash and its parts, made to fit each other.
    ///
    /// Parts from the like ingredient shrink with a smaller ash but do not grow with a larger one, which is mostly grit.
    fn ash(&mut self, central: &mut Analysis<f64>) -> Result<(), IngredientError> {
        let ash = self.need(Property::Ash)?;
        let like_ash = self.like.and_then(|like| like[Property::Ash]).unwrap_or(ash).central;
        let factor = if like_ash > ash.central { ash.central / like_ash } else { 1.0 };
        let mut parts = Vec::new();
        for (property, _) in Property::of_ash() {
            match self.find(property, factor) {
                Some(figure) => parts.push((property, figure)),
                None if matches!(property, Property::Phosphorus | Property::Potassium) => {
                    return Err(IngredientError::Missing(property));
                }
                None => {}
            }
        }
        let figures: Vec<Stated> = parts.iter().map(|(_, figure)| *figure).collect();
        let (ash, settled) = settled(ash, &figures);
        central[Property::Ash] = ash;
        for ((property, _), value) in parts.into_iter().zip(settled) {
            central[property] = value;
        }
        Ok(())
    }

    /// How much more organic matter it has than the like ingredient. An ash filled from the like ingredient, raised or not,
    /// leaves the rest as it is there.
    fn organic_factor(&self, ash: f64) -> f64 {
        match (self.own[Property::Ash], self.like.and_then(|like| like[Property::Ash])) {
            (Some(_), Some(like)) if like.central < 1.0 => (1.0 - ash) / (1.0 - like.central),
            _ => 1.0,
        }
    }

    fn fractions(
        &mut self,
        organic: f64,
        factor: f64,
        nitrogen: f64,
        kind: SolidKind,
        rules: &SplitRules,
    ) -> Result<[Stated; FRACTIONS.len()], IngredientError> {
        let humified = kind == SolidKind::Humified;
        let mut fractions = [Stated::exact(0.0); FRACTIONS.len()];
        for (i, (property, _)) in FRACTIONS.into_iter().enumerate() {
            fractions[i] = if property == Property::Protein && !humified {
                // nitrogen governs: a stated protein figure matters only when the two disagree
                Stated::exact(nitrogen / content(Component::Protein, Element::Nitrogen))
            } else if let Some(figure) = self.find(property, factor) {
                figure
            } else if humified {
                self.notes.push(Note::UsualMakeUp { property });
                let share = rules.humified[i] * organic;
                let spread = share * rules.humified_spread;
                Stated::new(share, share - spread, share + spread)
            } else if property == Property::Humus {
                Stated::exact(0.0)
            } else {
                return Err(IngredientError::Missing(property));
            };
        }
        Ok(fractions)
    }
}

/// Fills an analysis.
///
/// Carbon, nitrogen and fractions from the like ingredient follow the organic share. Figures that are not exact give way if
/// the ash is too small for its parts, see [`settled`].
pub(super) fn fill(
    own: &StatedAnalysis,
    like: Option<&StatedAnalysis>,
    kind: SolidKind,
    rules: &SplitRules,
    notes: &mut Vec<Note>,
) -> Result<CompleteAnalysis, IngredientError> {
    analysis::check(own)?;
    if let Some(like) = like {
        analysis::check(like)?;
    }
    let stated = FRACTIONS.iter().filter_map(|(property, _)| own[*property]).map(|f| f.low).sum::<f64>();
    let sum = stated + own[Property::Ash].map_or(0.0, |f| f.low);
    if sum > 1.0 + rules.closure_tolerance {
        return Err(IngredientError::FractionsAboveOne { sum });
    }
    let mut look = Lookup { own, like, notes };
    let mut central = Analysis::default();
    look.ash(&mut central)?;
    let ash = central[Property::Ash];
    let factor = look.organic_factor(ash);
    let nitrogen = look.nitrogen(factor)?;
    central[Property::Nitrogen] = nitrogen;
    let carbon = look.find(Property::Carbon, factor);
    if carbon.is_none() {
        look.notes.push(Note::CarbonFromFractions);
    }
    for property in [Property::Moisture, Property::BulkDensity, Property::Ph, Property::BufferingCapacity] {
        central[property] = look.need(property)?.central;
    }
    let bound = look.find(Property::BoundProtein, 1.0);
    central[Property::BoundProtein] = bound.map_or(rules.bound_protein, |share| share.central);
    for property in [Property::FreeSugar, Property::CookedStarch] {
        central[property] = look.find(property, 1.0).map_or(0.0, |share| share.central);
    }
    let fractions = look.fractions(1.0 - ash, factor, nitrogen, kind, rules)?;
    Ok(CompleteAnalysis { central, carbon, fractions })
}

/// Ash and its known parts, made to fit each other: an ash with a range rises to hold its parts, up to its high end; if that is
/// not enough, the parts with ranges share what the exact ones leave. Figures that fit are left alone, and so are those whose low
/// ends contradict each other already.
fn settled(ash: Stated, parts: &[Stated]) -> (f64, Vec<f64>) {
    let sum: f64 = parts.iter().map(|part| part.central).sum();
    let whole = if ash.is_exact() { ash.central } else { ash.central.max(sum.min(ash.high)) };
    let kept: f64 = parts.iter().filter(|part| part.is_exact()).map(|part| part.central).sum();
    let lowest: f64 = parts.iter().map(|part| part.low).sum();
    let factor = if sum > whole && lowest <= whole { (whole - kept) / (sum - kept) } else { 1.0 };
    let settled = parts.iter().map(|part| if part.is_exact() { part.central } else { part.central * factor });
    (whole, settled.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_with_a_range_give_way_if_the_ash_is_too_small() {
        let part = |central: f64| Stated::new(central, 0.0, 0.1);
        // it fits: nothing moves
        let ash = Stated::new(0.02, 0.01, 0.04);
        assert_eq!(settled(ash, &[part(0.004), part(0.006), part(0.01)]), (0.02, vec![0.004, 0.006, 0.01]));
        // ash rises to its parts
        let (whole, parts) = settled(ash, &[part(0.005), part(0.01), part(0.015)]);
        assert!((whole - 0.03).abs() < 1e-15 && (parts.iter().sum::<f64>() - whole).abs() < 1e-15);
        // to its high end at most: 0.05 of parts share 0.04, the exact 0.02 stays
        let (whole, parts) = settled(ash, &[part(0.01), part(0.02), Stated::exact(0.02)]);
        assert!((whole - 0.04).abs() < 1e-15);
        for (found, expected) in parts.into_iter().zip([0.02 / 3.0, 0.04 / 3.0, 0.02]) {
            assert!((found - expected).abs() < 1e-15, "{found}");
        }
        // exact figures that contradict each other stay as they are, and are refused later
        let (whole, parts) = settled(Stated::exact(0.01), &[Stated::exact(0.02)]);
        assert!(parts[0] > whole);
    }
}
