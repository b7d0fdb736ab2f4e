//! Text for the document: removes control and direction characters and applies typography. The markup library escapes it.

use crate::report::draw::text::{bound, one_line, set_apart};

/// Longest name in a sentence, characters. The scenario at the end holds the full name.
const LONGEST_NAME: usize = 120;

/// Longest text of a table cell, characters.
const LONGEST_CELL: usize = 240;

/// Units with powers, plain and as printed.
const POWERS: [(&str, &str); 5] =
    [("m2", "m²"), ("m3", "m³"), ("ft2", "ft²"), ("ft3", "ft³"), ("yd3", "yd³")];

/// Text on one line with powers raised; numbers are not broken or separated from their units.
pub(in crate::report) fn set(text: &str) -> String {
    let line = whole(&bound(&one_line(text)));
    let mut out = String::with_capacity(line.len());
    let mut word = String::new();
    for c in line.chars() {
        if c.is_alphanumeric() || c == '_' {
            word.push(c);
        } else {
            out.push_str(raised(&word));
            word.clear();
            out.push(c);
        }
    }
    out.push_str(raised(&word));
    out
}

/// Replaces the spaces inside grouped numbers by no-break spaces.
fn whole(line: &str) -> String {
    let letters: Vec<char> = line.chars().collect();
    let digit = |n: usize| letters.get(n).is_some_and(char::is_ascii_digit);
    let inside = |n: usize| {
        n > 0 && letters[n] == ' ' && digit(n - 1) && (1..=3).all(|ahead| digit(n + ahead)) && !digit(n + 4)
    };
    (0..letters.len()).map(|n| if inside(n) { '\u{a0}' } else { letters[n] }).collect()
}

fn raised(word: &str) -> &str {
    POWERS.iter().find(|(plain, _)| *plain == word).map_or(word, |(_, set)| *set)
}

/// Text of a cell or a label, cut because names can have any length.
pub(super) fn short(text: &str) -> String {
    set(&cut(text, LONGEST_CELL))
}

fn cut(text: &str, limit: usize) -> String {
    let mut kept: String = text.chars().take(limit).collect();
    if kept.len() < text.len() {
        kept.push('\u{2026}');
    }
    kept
}

/// A name as typed, on one line, cut and isolated from the surrounding text direction.
pub(in crate::report) fn name(typed: &str) -> String {
    set_apart(&cut(&one_line(typed), LONGEST_NAME))
}

/// "one", "one and two", "one, two and three".
pub(super) fn join(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Text with its first letter in upper case.
pub(in crate::report) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_raised_and_names_unchanged() {
        assert_eq!(set("3 m2 at 2 kg/m2/day in room_m2"), "3 m² at 2 kg/m²/day in room_m2");
        assert_eq!(set("EUR 35 400 in 2027"), "EUR 35\u{a0}400 in 2027");
        assert_eq!(set("a\u{202e}b\u{0}\nc"), "ab c");
    }

    #[test]
    fn names_are_cut_and_isolated() {
        let long = name(&"x".repeat(5000));
        // cut with an ellipsis, and isolated by two characters
        assert_eq!(long.chars().count(), LONGEST_NAME + 3);
        assert!(name("\u{5d0}\u{202e}\u{5d1}").starts_with('\u{2068}'));
        assert!(!name("\u{5d0}\u{202e}\u{5d1}").contains('\u{202e}'));
    }

    #[test]
    fn lists_end_with_and() {
        let words = |n: usize| ["a", "b", "c"].iter().take(n).map(|w| (*w).to_owned()).collect::<Vec<_>>();
        assert_eq!([0, 1, 2, 3].map(|n| join(&words(n))), ["", "a", "a and b", "a, b and c"]);
        assert_eq!(capital("drums"), "Drums");
    }
}
