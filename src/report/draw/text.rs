//! Text of charts: width, line breaks, cutting and escaping.

use crate::report::clean::is_steering;

/// Advances of the printable ASCII characters of Noto Sans Regular, starting with the space, 1/1000 em.
const REGULAR: [u16; 95] = [
    260, 269, 408, 646, 572, 831, 732, 225, 300, 300, 551, 572, 268, 322, 268, 372, 572, 572, 572, 572, 572,
    572, 572, 572, 572, 572, 268, 268, 572, 572, 572, 434, 899, 639, 650, 632, 730, 556, 519, 728, 741, 339,
    273, 619, 524, 907, 760, 781, 605, 781, 622, 549, 556, 731, 600, 930, 586, 566, 572, 329, 372, 329, 572,
    444, 281, 561, 615, 480, 615, 564, 344, 615, 618, 258, 258, 534, 258, 935, 618, 605, 615, 615, 413, 479,
    361, 618, 508, 786, 529, 510, 470, 380, 551, 380, 572,
];

/// Advances of Noto Sans Bold, 1/1000 em.
const BOLD: [u16; 95] = [
    260, 286, 472, 646, 572, 901, 750, 266, 339, 339, 545, 572, 285, 322, 285, 413, 572, 572, 572, 572, 572,
    572, 572, 572, 572, 572, 285, 285, 572, 572, 572, 477, 897, 690, 672, 637, 740, 560, 549, 724, 765, 389,
    331, 664, 565, 943, 813, 796, 628, 796, 660, 551, 579, 756, 650, 967, 667, 624, 579, 331, 413, 331, 572,
    411, 362, 604, 633, 514, 633, 591, 387, 633, 657, 305, 305, 620, 305, 982, 657, 619, 633, 633, 454, 497,
    434, 657, 569, 856, 578, 569, 488, 394, 551, 394, 572,
];

/// Width of other letters: the mean of Latin and Greek ones of the font, em.
const OTHER: f64 = 0.62;
/// Width of characters of the scripts that fill a square, em.
const SQUARE: f64 = 1.0;

/// Size and weight of text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Type {
    /// Size, px.
    pub size: f64,
    /// Whether bold.
    pub bold: bool,
}

impl Type {
    /// Regular text.
    pub(super) const fn regular(size: f64) -> Self {
        Self { size, bold: false }
    }

    /// Bold text.
    pub(super) const fn bold(size: f64) -> Self {
        Self { size, bold: true }
    }

    /// Width of a text, kerning left out, px.
    pub(super) fn width(self, text: &str) -> f64 {
        text.chars().map(|c| self.advance(c)).sum()
    }

    fn advance(self, c: char) -> f64 {
        let table = if self.bold { &BOLD } else { &REGULAR };
        let place = (c as usize).checked_sub(32);
        let em = match place.and_then(|n| table.get(n)) {
            Some(advance) => f64::from(*advance) / 1000.0,
            None if is_mark(c) => 0.0,
            None if c == '\u{a0}' => 0.26,
            None if c == '\u{2009}' || c == '\u{202f}' => 0.2,
            None if c as u32 >= 0x2e80 => SQUARE,
            None => OTHER,
        };
        em * self.size
    }

    /// The text, cut with an ellipsis if it is wider than `width`.
    pub(super) fn cut(self, text: &str, width: f64) -> String {
        if self.width(text) <= width {
            return text.to_owned();
        }
        let room = width - self.advance('\u{2026}');
        let mut used = 0.0;
        let kept: String = text
            .chars()
            .take_while(|c| {
                used += self.advance(*c);
                used <= room
            })
            .collect();
        format!("{}\u{2026}", kept.trim_end())
    }

    /// The text in lines no wider than `width`, broken between words. A word wider than a line is cut.
    pub(super) fn wrap(self, text: &str, width: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            let word = self.cut(word, width);
            match lines.last_mut() {
                Some(line) if self.width(line) + self.advance(' ') + self.width(&word) <= width => {
                    line.push(' ');
                    line.push_str(&word);
                }
                _ => lines.push(word),
            }
        }
        lines
    }
}

/// Whether a character has no width: combining marks and direction controls.
fn is_mark(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36f}' | '\u{591}'..='\u{5bd}' | '\u{64b}'..='\u{65f}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{fe00}'..='\u{fe0f}')
}

/// Typed text on one line, without control characters and direction controls.
pub(in crate::report) fn one_line(text: &str) -> String {
    let spaced = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c });
    let whole = spaced.filter(|c| !is_steering(*c));
    whole.collect::<String>().split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Text in which no line break separates a number from its unit.
pub(in crate::report) fn bound(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let words: Vec<&str> = text.split(' ').collect();
    for (n, word) in words.iter().enumerate() {
        out.push_str(word);
        let Some(next) = words.get(n + 1) else { break };
        let number = word.ends_with(|c: char| c.is_ascii_digit());
        let unit = next.trim_end_matches([',', '.', ';', ')']);
        let bound =
            number && matches!(unit, "%" | "g" | "kg" | "t" | "lb" | "oz" | "ton" | "tons" | "°C" | "°F");
        out.push(if bound { '\u{a0}' } else { ' ' });
    }
    out
}

/// A name isolated from the direction of the surrounding text.
pub(in crate::report) fn set_apart(name: &str) -> String {
    if name.is_ascii() { name.to_owned() } else { format!("\u{2068}{name}\u{2069}") }
}

/// Text escaped for element content and attributes.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_match_the_font() {
        // H 741, e 564, a 561, t 361 thousandths of an em
        assert!((Type::regular(10.0).width("Heat") - 22.27).abs() < 1e-9);
        assert!(Type::bold(10.0).width("Heat") > 22.27);
        assert!((Type::regular(10.0).width("\u{2068}a\u{2069}") - 5.61).abs() < 1e-9);
    }

    #[test]
    fn long_text_is_cut_or_wrapped_to_its_width() {
        let face = Type::regular(12.0);
        let cut = face.cut("a very long name of a site", 80.0);
        assert!(cut.ends_with('\u{2026}') && face.width(&cut) <= 80.0, "{cut}");
        assert_eq!(face.cut("short", 80.0), "short");
        let lines = face.wrap("one two three four five six seven", 70.0);
        assert!(lines.len() > 2 && lines.iter().all(|line| face.width(line) <= 70.0), "{lines:?}");
        assert_eq!(lines.join(" "), "one two three four five six seven");
        assert_eq!(face.wrap(&"x".repeat(300), 70.0).len(), 1);
    }

    #[test]
    fn typed_text_cannot_break_out_of_its_element() {
        assert_eq!(escaped("<script>\"'&"), "&lt;script&gt;&quot;&#39;&amp;");
        assert_eq!(one_line("a\n\tb\u{0}\u{202e}c"), "a bc");
        assert_eq!(bound("2 % of 10 t, 5 of 6"), "2\u{a0}% of 10\u{a0}t, 5 of 6");
        assert_eq!(set_apart("\u{5d0}\u{5d1}"), "\u{2068}\u{5d0}\u{5d1}\u{2069}");
    }
}
