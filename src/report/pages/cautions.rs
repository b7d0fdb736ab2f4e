//! Safety cautions about a site whatever its figures say, chosen by what the run holds.

use crate::quantity::{Kind, Units};
use crate::report::number::{format_figures, format_quantity};
use crate::study::answer::RunAnswer;

/// The cautions that apply to a run, in the order of the chain, each in a few sentences with its figures in the units asked for.
pub fn cautions(answer: &RunAnswer, units: Units) -> Vec<String> {
    let mut out = Vec::new();
    let drums = &answer.drums;
    let lifting = &answer.site.lifting;
    if drums.owned > 0 {
        out.push(
            "Pressure: sealed fermenting drums make gas. Use vented lids or valves, never a closed steel drum."
                .to_owned(),
        );
        out.push(
            "Room air: carbon dioxide collects where drums stand. Ventilate and install a carbon dioxide meter; an \
             oxygen meter does not protect."
                .to_owned(),
        );
    }
    if drums.full_mass > 0.0 && !answer.no_drums_wanted() {
        out.push(format!(
            "Lifting: a full drum weighs about {}, several times a one-person lift. Tip it or use a machine, do not \
             lift. From the floor one person may lift {} once a minute (NIOSH): a drum with its own mass has a lifting \
             index of {}, a pail of {} one of {}; an index above 1 is too much for most people.",
            format_quantity(Kind::Mass, drums.full_mass, units),
            format_quantity(Kind::Mass, lifting.limit, units),
            format_figures(lifting.drum_index, 2),
            format_quantity(Kind::Mass, lifting.pail, units),
            format_figures(lifting.pail_index, 3)
        ));
    }
    if answer.grinder.ground > 0.0 {
        out.push("Grinder: keep guards on; lock it out before clearing.".to_owned());
    }
    if answer.fresh_scraps {
        out.push(
            "Fresh scraps: they rot and draw flies and rats within days. Keep them closed and cool, feed them at once and cover \
             them; wear gloves."
                .to_owned(),
        );
    } else if drums.opened > 0 || answer.grinder.ground > 0.0 {
        out.push(
            "Acid: fermented scraps, liquor and paste are acid. Wear gloves and eye protection.".to_owned(),
        );
    }
    out.push(
        "Hygiene: neither acid fermentation nor worms reach sanitising temperatures. Make no hygiene claim without a \
         separate heat step and tests, and keep to what the local authority accepts (animal by-products, small-site \
         thresholds, permits)."
            .to_owned(),
    );
    if answer.screen_hours > 0.0 {
        out.push("Dust: screening dry castings raises bioaerosols. Wear a mask.".to_owned());
    }
    out.push(
        "These figures are planning estimates, not engineering approval; local codes and licensed practice come first."
            .to_owned(),
    );
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn cautions_follow_what_the_run_holds() {
        let mut answer = sample::answer();
        assert_eq!(cautions(&answer, Units::Si).len(), 8);
        answer.drums.owned = 0;
        answer.drums.full_mass = 0.0;
        answer.drums.opened = 0;
        answer.grinder.ground = 0.0;
        answer.screen_hours = 0.0;
        let left = cautions(&answer, Units::Si);
        assert_eq!(left.len(), 2, "hygiene and planning estimates hold always: {left:?}");
    }
}
