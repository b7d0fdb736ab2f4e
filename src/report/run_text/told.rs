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
    let count = |severity| answer.warnings.iter().filter(|t| t.severity == severity).count();
    let (serious, caution, note) =
        (count(Severity::Serious), count(Severity::Caution), count(Severity::Note));
    let text = if answer.warnings.is_empty() {
        "none".to_owned()
    } else {
        format!("{serious} serious, {caution} caution, {note} note; see Warnings below")
    };
    page.line("warnings", &text);
}

/// The bed a message is about and what it says; the number of the bed stands in front of it.
fn split(message: &str) -> (Option<u32>, &str) {
    let bed = message.strip_prefix("bed ").and_then(|rest| rest.split_once(": "));
    match bed.and_then(|(number, rest)| Some((number.parse().ok()?, rest))) {
        Some((number, rest)) => (Some(number), rest),
        None => (None, message),
    }
}

/// Messages of one kind, those that differ only in the bed told once for the range of beds.
fn merged(told: &[&Told]) -> Vec<String> {
    let mut out: Vec<(Option<(u32, u32)>, &str)> = Vec::new();
    for (bed, rest) in told.iter().map(|told| split(&told.message)) {
        match (out.last_mut(), bed) {
            (Some((Some((_, last)), said)), Some(bed)) if *said == rest && bed == *last + 1 => *last = bed,
            _ => out.push((bed.map(|bed| (bed, bed)), rest)),
        }
    }
    out.into_iter()
        .map(|(beds, rest)| match beds {
            None => rest.to_owned(),
            Some((first, last)) if first == last => format!("bed {first}: {rest}"),
            Some((first, last)) => format!("beds {first} to {last}: {rest}"),
        })
        .collect()
}

/// Warnings with their hints, worst first.
pub(super) fn warnings(answer: &RunAnswer, page: &mut Page) {
    page.heading("Warnings");
    if answer.warnings.is_empty() {
        page.paragraph("none");
        return;
    }
    let mut sorted: Vec<&Told> = answer.warnings.iter().collect();
    sorted.sort_by_key(|told| std::cmp::Reverse(told.severity));
    // one hint for warnings of one kind that follow each other
    for kind in sorted.chunk_by(|a, b| (a.severity, a.code, a.hint) == (b.severity, b.code, b.hint)) {
        for message in merged(kind) {
            page.item(&format!("{}: ", word(kind[0].severity)), &message);
        }
        if !kind[0].hint.is_empty() {
            page.item("    hint: ", kind[0].hint);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn messages_that_differ_in_the_bed_alone_are_told_once() {
        let mut told = sample::answer().warnings;
        let one = told.remove(0);
        let say = |message: &str| Told { message: message.to_owned(), ..one.clone() };
        let all = [
            say("bed 1: too dry"),
            say("bed 2: too dry"),
            say("bed 3: dry on 2 days"),
            say("bed 5: dry on 2 days"),
            say("the site: too dry"),
        ];
        let all: Vec<&Told> = all.iter().collect();
        assert_eq!(
            merged(&all),
            ["beds 1 to 2: too dry", "bed 3: dry on 2 days", "bed 5: dry on 2 days", "the site: too dry"]
        );
    }
}
