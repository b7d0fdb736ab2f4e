//! Safety cautions about a site whatever its figures say, chosen by what it holds. Their words are here alone: [in full](cautions) for
//! pages and the proposal, in short for its first page, and for the person at work on the page for the wall.

use super::chart;
use crate::literature;
use crate::quantity::{Kind, Units};
use crate::report::number::{format_figures, format_number, format_quantity};
use crate::study::answer::{DrumFigures, RunAnswer};
use crate::study::rounds::answer::Hazards;

const VENTED: &str = "vented lids or valves, never a closed steel drum";
const TIP: &str = "Tip it or use a machine, do not lift.";
const PROTECTION: &str = "gloves and eye protection";
const GRINDER: &str = "Grinder: keep guards on; lock it out before clearing.";
const FRESH: &str = "Fresh scraps: they rot and draw flies and rats within days. Keep them closed and cool, feed them at once and cover them";
const DUST: &str = "Dust: screening dry castings raises bioaerosols. Wear a mask.";
/// Key of the limit of carbon dioxide in the air of a room, as a mean over eight hours.
const SHIFT_LIMIT: &str = "fermentation.carbon_dioxide_exposure_limit_average";
/// Key of that of a short stay, a quarter of an hour.
const SHORT_LIMIT: &str = "fermentation.carbon_dioxide_exposure_limit_short_term";

/// The cautions that apply to a run, in the order of the chain, each in a few sentences with its figures in the units asked for.
pub fn cautions(answer: &RunAnswer, units: Units) -> Vec<String> {
    let mut out = Vec::new();
    let drums = &answer.drums;
    let lifting = &answer.site.lifting;
    if drums.owned > 0 {
        out.push(format!("Pressure: sealed fermenting drums make gas. Use {VENTED}."));
        out.push(
            "Room air: carbon dioxide collects where drums stand. Ventilate and install a carbon dioxide meter; an \
             oxygen meter does not protect."
                .to_owned(),
        );
    }
    if drums.full_mass > 0.0 && !answer.no_drums_wanted() {
        out.push(format!(
            "{} From the floor one person may lift {} once a minute (NIOSH): a drum with its own mass has a lifting \
             index of {}, a pail of {} one of {}; an index above 1 is too much for most people.",
            lifting_words(&format_quantity(Kind::Mass, drums.full_mass, units)),
            format_quantity(Kind::Mass, lifting.limit, units),
            format_figures(lifting.drum_index, 2),
            format_quantity(Kind::Mass, lifting.pail, units),
            format_figures(lifting.pail_index, 3)
        ));
    }
    if answer.grinder.ground > 0.0 {
        out.push(GRINDER.to_owned());
    }
    if answer.fresh_scraps {
        out.push(format!("{FRESH}; wear gloves."));
    } else if is_acid(answer) {
        out.push(format!("Acid: fermented scraps, liquor and paste are acid. Wear {PROTECTION}."));
    }
    out.push(
        "Hygiene: neither acid fermentation nor worms reach sanitising temperatures. Make no hygiene claim without a \
         separate heat step and tests, and keep to what the local authority accepts (animal by-products, small-site \
         thresholds, permits)."
            .to_owned(),
    );
    if answer.screen_hours > 0.0 {
        out.push(DUST.to_owned());
    }
    out.push(
        "These figures are planning estimates, not engineering approval; local codes and licensed practice come first."
            .to_owned(),
    );
    out
}

/// What endangers people at work, in a line or two with the figures of this site. Empty if the site holds none of it.
pub(super) fn in_short(answer: &RunAnswer, units: Units) -> Vec<String> {
    let drums = &answer.drums;
    let mut out = Vec::new();
    if drums.full_mass > 0.0 && !answer.no_drums_wanted() {
        let mass = chart::format_quantity(Kind::Mass, drums.full_mass, units);
        out.push(format!("A full drum weighs {mass}. {TIP}"));
    }
    if drums.owned > 0 {
        out.push(format!("{} Use {VENTED}.", room_air(drums)));
    }
    if answer.fresh_scraps {
        out.push(format!("{FRESH}."));
    } else if is_acid(answer) {
        out.push(format!("Acid paste: {PROTECTION}."));
    }
    if answer.grinder.ground > 0.0 {
        out.push(GRINDER.to_owned());
    }
    if answer.screen_hours > 0.0 {
        out.push("Dusty castings: a mask.".to_owned());
    }
    out
}

/// Carbon dioxide in the drum room: its mean over eight hours against the limit of a working day, its peak against that of a short stay.
fn room_air(drums: &DrumFigures) -> String {
    let held_against = |value: f64, key: &str, what: &str| {
        let limit = literature::central(key).unwrap_or(f64::INFINITY);
        let than = if value > limit { "above" } else { "below" };
        format!("{} ppm {what}, {than} the limit of {}", format_figures(value, 2), format_number(limit))
    };
    format!(
        "Carbon dioxide in the drum room: at most {}; {}. Ventilate, hang up a meter.",
        held_against(drums.room_carbon_dioxide_shift, SHIFT_LIMIT, "over eight hours"),
        held_against(drums.room_carbon_dioxide, SHORT_LIMIT, "for a moment"),
    )
}

/// What can hurt in the work of some days.
pub(super) fn at_work(hazards: &Hazards, units: Units) -> Vec<String> {
    let mut all = Vec::new();
    if hazards.full_drum > 0.0 {
        all.push(lifting_words(&chart::format_quantity(Kind::Mass, hazards.full_drum, units)));
    }
    if hazards.opens {
        all.push(format!(
            "Opening drums: gas comes out under pressure. Air the room first and open slowly, your face turned away; carbon dioxide collects \
             near the floor and cannot be smelt. Liquor and paste are acid: {PROTECTION}."
        ));
    }
    if hazards.grinds {
        all.push(GRINDER.to_owned());
    }
    if hazards.castings {
        all.push(DUST.to_owned());
    }
    all.push(
        "The amounts are a plan. What you see comes first: do not feed a bed that is hot, sour or still covered with feed. Local codes and \
         your permit come before this page."
            .to_owned(),
    );
    all
}

fn lifting_words(mass: &str) -> String {
    format!("Lifting: a full drum weighs about {mass}, several times a one-person lift. {TIP}")
}

/// Whether people handle what has fermented.
fn is_acid(answer: &RunAnswer) -> bool {
    answer.drums.opened > 0 || answer.grinder.ground > 0.0
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
