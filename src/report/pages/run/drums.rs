//! Drums, bran, grinder.

use super::format_span;
use crate::quantity::Kind;
use crate::report::number::{format_figures, format_number, format_percent, format_quantity};
use crate::report::pages::page::Page;
use crate::study::answer::RunAnswer;

/// Weeks of bran work listed on the page; the files hold them all.
const WEEKS_SHOWN: usize = 6;

/// Drums over the run.
pub(in crate::report) fn drums(answer: &RunAnswer, page: &mut Page) {
    if answer.no_drums_wanted() {
        return;
    }
    let d = &answer.drums;
    let units = page.units();
    page.heading("Drums");
    page.line("owned", &d.owned.to_string());
    page.line("in use overnight", &format_span(&d.in_use, format_number));
    page.line("sealed, opened, spoiled", &format!("{}, {}, {}", d.sealed, d.opened, d.spoiled));
    if let Some(ph) = d.opened_ph {
        page.line("pH at opening, mean", &format!("{ph:.2}"));
    }
    if let Some(age) = d.opened_age {
        page.line("age at opening, mean", &format_quantity(Kind::Days, age, units));
    }
    if let Some(batches) = &d.batches {
        let grams = |share: f64| format_figures(1000.0 * share, 2);
        let acids = [batches.lactic_acid, batches.acetic_acid, batches.butyric_acid, batches.ethanol];
        let [lactic, acetic, butyric, ethanol] = acids.map(grams);
        page.line("lactic, acetic, butyric acid", &format!("{lactic}, {acetic}, {butyric} g/kg dry matter"));
        page.line("ethanol", &format!("{ethanol} g/kg dry matter"));
        page.line("nitrogen turned to ammonia", &format_percent(batches.ammonia_share));
        page.line(
            "carbon dioxide made",
            &format!("{} mol/kg dry matter", format_figures(batches.carbon_dioxide, 2)),
        );
        page.line("dry matter lost as gas", &format_percent(batches.dry_loss));
    }
    page.line("liquor drained", &format_quantity(Kind::Mass, d.liquor, units));
    if let Some(liquor) = &d.liquor_quality {
        page.line("of what was filled in", &format_percent(liquor.share));
        page.line("pH of the liquor", &format!("{:.2}", liquor.ph));
        let per_litre = |grams: f64| format!("{} g/L", format_figures(grams, 2));
        page.line("ammonium nitrogen in it", &per_litre(liquor.ammonium_nitrogen));
        page.line("potassium in it", &per_litre(liquor.potassium));
    }
    page.line("highest gauge pressure", &format_quantity(Kind::Pressure, d.pressure, units));
    page.line(
        "highest carbon dioxide in room",
        &format!(
            "{} ppm as a mean over eight hours, {} ppm for a moment",
            format_number(d.room_carbon_dioxide_shift),
            format_number(d.room_carbon_dioxide)
        ),
    );
    page.line("a full drum weighs", &format_quantity(Kind::Mass, d.full_mass, units));
}

/// Bran over the run.
pub(in crate::report) fn bran(answer: &RunAnswer, page: &mut Page) {
    if answer.no_drums_wanted() {
        return;
    }
    let b = &answer.bran;
    let units = page.units();
    page.heading("Bran");
    page.line("bran used", &format_quantity(Kind::Mass, b.used, units));
    page.line("needed but not in store", &format_quantity(Kind::Mass, b.short, units));
    let working: Vec<&(jiff::civil::Date, f64)> = b.weekly.iter().filter(|(_, kg)| *kg > 0.0).collect();
    if working.is_empty() {
        return;
    }
    let shown: Vec<String> = working
        .iter()
        .take(WEEKS_SHOWN)
        .map(|(day, kg)| format!("{day} {}", format_quantity(Kind::Mass, *kg, units)))
        .collect();
    let more = working.len() - shown.len();
    let rest = if more > 0 { format!("; and {more} weeks more") } else { String::new() };
    page.line("to start in the week of", &format!("{}{rest}", shown.join("; ")));
    let largest = working.iter().map(|(_, kg)| *kg).fold(0.0, f64::max);
    page.line("largest week", &format_quantity(Kind::Mass, largest, units));
}

/// Grinder and bulking over the run.
pub(in crate::report) fn grinder(answer: &RunAnswer, page: &mut Page) {
    let g = &answer.grinder;
    let units = page.units();
    if answer.no_drums_wanted() && !answer.fresh_scraps {
        return;
    }
    if answer.fresh_scraps && g.ground <= 0.0 {
        page.heading("Feed and bulking");
    } else {
        page.heading("Grinder and bulking");
        page.line("ground", &format_quantity(Kind::Mass, g.ground, units));
        page.line(
            "running time",
            &format!(
                "{} h, {} h a day on average",
                format_number(g.hours),
                format_figures(g.hours / answer.days.max(1) as f64, 3)
            ),
        );
        page.line("energy", &format!("{} kWh", format_number(g.energy)));
        page.line("days on which it limited feeding", &g.limiting_days.to_string());
    }
    page.line(
        "bulking mixed in",
        &format!(
            "{}, {} per {} scraps",
            format_quantity(Kind::Mass, g.bulking, units),
            format_quantity(Kind::Ratio, g.bulking_ratio, units),
            if answer.fresh_scraps { "fresh" } else { "fermented" }
        ),
    );
    if g.grit > 0.0 {
        page.line("grit mixed in", &format_quantity(Kind::Mass, g.grit, units));
    }
    page.line("air-filled porosity of the feed", &format_percent(g.porosity));
    page.line("C:N of the feed", &format_number(g.carbon_to_nitrogen));
}
