//! Acid in finished compost, and calcium in the water of castings.

use super::trial::Shelf;
use super::{Case, central};
use crate::process::acidity::{AcidConstants, AcidPowers, Acidity, Surrounds};
use crate::scenario::AssembleError;

pub(super) fn cases() -> Result<Vec<Case>, AssembleError> {
    let acids = AcidConstants::from_values(&central);
    let pile = Surrounds { temperature: 20.0, carbon_dioxide: central("site.pile_carbon_dioxide") };
    let powers = AcidPowers::at(&acids, &pile);
    Ok(vec![compost(&powers, &Shelf::full()?), extract(&powers)])
}

/// Costello and Sullivan 2014: acid that a compost takes up per unit of pH.
fn compost(powers: &AcidPowers, shelf: &Shelf) -> Case {
    let mut compost = shelf.food("compost_finished");
    let before = powers.ph(&compost, 7.0);
    *compost.base_mut() -= 0.30 * compost.dry();
    let fall = before - powers.ph(&compost, 7.0);
    Case::of(
        "acidity.kept_buffer_of_compost",
        "costello_sullivan_2014",
        "0.30 mol of acid per kg dry, under the carbon dioxide of a pile; buffering between pH 6 and 4 is that of these composts",
    )
    .printed(0.31, 2, "mol/(kg pH)")
    .within(0.14, "range of eight composts, 0.21 to 0.45")
    .ours(0.30 / fall)
}

/// Biernbaum 2013: calcium and magnesium of saturated extracts, if calcite is there.
fn extract(powers: &AcidPowers) -> Case {
    // 837 mg/L of calcium and 145 mg/L of magnesium
    let printed = 0.837 / 20.039 + 0.145 / 12.152;
    // what calcite lets into a litre falls by the square of the hydrogen ions
    let at_seven = powers.most_calcium(1.0, &Acidity::of(7.0));
    Case::of(
        "acidity.ph_of_castings_with_calcite",
        "biernbaum_2013",
        "mean of 11 saturated extracts with 54 meq/L of calcium and magnesium, taken as saturated with calcite in a pile",
    )
    .printed(7.1, 1, "pH")
    .within(0.4, "carbon dioxide of 0.003 to 0.03 atm moves it by 0.25 either way, and composts are supersaturated")
    .ours(7.0 + 0.5 * (at_seven / printed).log10())
}
