//! Text for terminals and files for people, without characters that could steer a terminal.

use std::fmt::Write;

/// Whether a character steers a terminal or turns the direction of what follows: control characters, direction marks and overrides, and
/// code points that are no characters.
pub(in crate::report) fn is_steering(c: char) -> bool {
    let turns = matches!(
        c,
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
    );
    c.is_control() || turns || matches!(c, '\u{2028}' | '\u{2029}' | '\u{fffe}' | '\u{ffff}')
}

/// Text that is safe to print: lines stay, steering characters are removed.
///
/// A scenario may contain any character in its names; everything that reaches a terminal or a text file passes through here.
pub fn printable(text: &str) -> String {
    text.chars().filter(|c| *c == '\n' || !is_steering(*c)).collect()
}

/// Text for a cell of a table: on one line and safe to print, its indent kept.
pub(in crate::report) fn cell(text: &str) -> String {
    let spaced = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c });
    spaced.filter(|c| !is_steering(*c)).collect()
}

/// JSON that is safe to print: steering characters, which only a string may hold, are written as escapes.
pub fn printable_json(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        if c != '\n' && is_steering(c) {
            // writing to a text cannot fail
            let _ = write!(out, "\\u{:04x}", u32::from(c));
        } else {
            out.push(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const WILD: &str = "a\u{1b}[31mb\u{7}\0\r\u{9b}2Jc\u{202e}d\u{2066}\u{7f}";

    #[test]
    fn steering_characters_are_removed_and_lines_stay() {
        assert_eq!(printable("one\ntwo"), "one\ntwo");
        assert_eq!(cell("  one\ntwo\u{202e}"), "  one two");
        assert_eq!(printable(WILD), "a[31mb2Jcd");
        assert_eq!(printable("caf\u{e9} 20 \u{b0}C"), "caf\u{e9} 20 \u{b0}C");
    }

    #[test]
    fn json_keeps_its_data() {
        let text = serde_json::to_string_pretty(&[WILD]).unwrap();
        let safe = printable_json(&text);
        assert!(!safe.chars().any(|c| c != '\n' && is_steering(c)), "{safe}");
        assert_eq!(serde_json::from_str::<Vec<String>>(&safe).unwrap(), [WILD]);
    }
}
