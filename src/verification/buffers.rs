//! Acid in finished compost, and calcium in the water of castings.

use super::{Case, Values};
use crate::matter::Material;
use crate::process::acidity::{AcidConstants, AcidPowers, Acidity, Surrounds};
use crate::process::quality::suspended_ph;

pub(super) fn cases(values: &Values<'_>) -> Vec<Case> {
    let acids = AcidConstants::from_values(values.get);
    let pile = Surrounds { temperature: 20.0, carbon_dioxide: (values.get)("site.pile_carbon_dioxide") };
    let powers = AcidPowers::at(&acids, &pile);
    vec![compost(values), extract(&powers)]
}

/// Costello and Sullivan 2014: acid that a compost takes up per unit of pH.
fn compost(values: &Values<'_>) -> Case {
    Case::of(
        "acidity.kept_buffer_of_compost",
        "costello_sullivan_2014",
        "0.30 mol of acid per kg dry; in ten times its dry mass of water and in air, assumed",
    )
    .printed(0.31, 2, "mol/(kg pH)")
    .within(0.14, "range of eight composts, 0.21 to 0.45")
    .ours(buffer_in_suspension(values, values.shelf.food("compost_finished")))
}

/// Acid taken up per dry mass and unit of pH, mol/(kg pH), when 0.30 mol/kg is added to a suspension in ten times the dry mass of
/// water, open to the air: as a laboratory titrates. In a moist pile, rich in carbon dioxide, lime adds to the buffer.
pub(super) fn buffer_in_suspension(values: &Values<'_>, matter: Material) -> f64 {
    let before = ph_in_suspension(values, matter);
    let mut acid = matter;
    *acid.base_mut() -= 0.30 * matter.dry();
    0.30 / (before - ph_in_suspension(values, acid))
}

/// [`suspended_ph`] in outdoor air.
pub(super) fn ph_in_suspension(values: &Values<'_>, matter: Material) -> f64 {
    let outdoors = 1e-6 * (values.get)("fermentation.outdoor_carbon_dioxide");
    suspended_ph(&matter, &AcidConstants::from_values(values.get), outdoors)
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
