//! Warnings and cautions.

use crate::report::cautions;
use crate::report::page::Page;
use crate::study::answer::RunAnswer;
use crate::study::answer::Told;
use crate::warning::Severity;

const fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Serious => "serious",
        Severity::Caution => "caution",
        Severity::Note => "note",
    }
}

/// How many warnings there are, at the head of the page.
pub(super) fn counts(answer: &RunAnswer, page: &mut Page) {
    let count = |severity| answer.warnings.iter().filter(|t| t.warning.severity() == severity).count();
    let (serious, caution, note) =
        (count(Severity::Serious), count(Severity::Caution), count(Severity::Note));
    let text = if answer.warnings.is_empty() {
        "none".to_owned()
    } else {
        format!("{serious} serious, {caution} caution, {note} note; see Warnings below")
    };
    page.line("warnings", &text);
}

/// Warnings with their hints, worst first.
pub(super) fn warnings(answer: &RunAnswer, page: &mut Page) {
    page.heading("Warnings");
    if answer.warnings.is_empty() {
        page.paragraph("none");
        return;
    }
    let mut sorted: Vec<&Told> = answer.warnings.iter().collect();
    sorted.sort_by_key(|told| std::cmp::Reverse(told.warning.severity()));
    for told in sorted {
        page.item(&format!("{}: ", word(told.warning.severity())), &told.message);
        if !told.hint.is_empty() {
            page.item("    hint: ", &told.hint);
        }
    }
}

/// Cautions that hold for any site of this make.
pub(super) fn cautions(answer: &RunAnswer, page: &mut Page) {
    page.heading("Cautions");
    let units = page.units();
    for caution in cautions::cautions(answer, units) {
        page.item("- ", &caution);
    }
}
