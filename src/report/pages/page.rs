//! A page in parts: headings, labelled lines, tables, paragraphs. Here it becomes wrapped text; a document may set the same parts.

use crate::quantity::Units;
use crate::report::clean::printable;
use crate::report::draw::text::one_line;
use crate::report::table::Table;

/// Widest line of running text.
const WIDTH: usize = 100;
/// Where the values of labelled lines begin.
const LABEL: usize = 34;

/// A name of files as words: `worms_at_the_end` becomes "worms at the end".
pub(in crate::report) fn words(name: &str) -> String {
    name.replace('_', " ")
}

/// A name of files as words that begin a line.
pub(in crate::report) fn capital(name: &str) -> String {
    let name = words(name);
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A key of facts or scenarios as words: `worms.adult_death_rate` becomes "worms: adult death rate".
pub(in crate::report) fn key_words(key: &str) -> String {
    words(key.strip_prefix("ingredients.").unwrap_or(key)).replace('.', ": ")
}

/// A part of a page.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::report) enum Part {
    /// A heading.
    Heading(String),
    /// A gap between parts.
    Gap,
    /// A label and its value.
    Line(String, String),
    /// A table with rows.
    Table(Table),
    /// Running text.
    Paragraph(String),
    /// An item of a list: its mark and its words.
    Item(String, String),
}

/// A page under construction.
#[derive(Debug, Clone)]
pub(in crate::report) struct Page {
    parts: Vec<Part>,
    units: Units,
}

impl Page {
    /// An empty page for a reader of these units.
    pub(in crate::report) fn new(units: Units) -> Self {
        Self { parts: Vec::new(), units }
    }

    /// Units of the page.
    pub(in crate::report) fn units(&self) -> Units {
        self.units
    }

    /// Its parts, from the top.
    pub(in crate::report) fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Adds a heading.
    pub(in crate::report) fn heading(&mut self, words: &str) {
        self.parts.push(Part::Heading(one_line(words)));
    }

    /// Adds a gap.
    pub(in crate::report) fn blank(&mut self) {
        self.parts.push(Part::Gap);
    }

    /// Adds a label and its value.
    pub(in crate::report) fn line(&mut self, label: &str, value: &str) {
        self.parts.push(Part::Line(one_line(label), value.to_owned()));
    }

    /// Adds a line that says what a draw is.
    pub(in crate::report) fn explain_draw(&mut self) {
        self.line("one draw", "a simulated run with its own set of uncertain values");
    }

    /// Adds a table, unless it has no rows.
    pub(in crate::report) fn table(&mut self, table: &Table) {
        if !table.rows.is_empty() {
            self.parts.push(Part::Table(table.clone()));
        }
    }

    /// Adds running text.
    pub(in crate::report) fn paragraph(&mut self, words: &str) {
        self.parts.push(Part::Paragraph(words.to_owned()));
    }

    /// Adds an item of a list, with its mark.
    pub(in crate::report) fn item(&mut self, mark: &str, words: &str) {
        self.parts.push(Part::Item(mark.to_owned(), words.to_owned()));
    }

    /// The page as text, wrapped for a terminal of 100 columns.
    pub(in crate::report) fn into_text(self) -> String {
        let mut text = Text(String::new());
        for part in &self.parts {
            text.add(part, self.units);
        }
        let mut text = printable(&text.0);
        while text.ends_with("\n\n") {
            text.pop();
        }
        text
    }
}

/// A page as wrapped text.
struct Text(String);

impl Text {
    fn add(&mut self, part: &Part, units: Units) {
        match part {
            Part::Heading(words) => self.heading(words),
            Part::Gap => self.blank(),
            // a long value continues below itself
            Part::Line(label, value) => {
                let room = LABEL.max(label.chars().count() + 2);
                self.wrapped(&format!("{label:<room$}"), &" ".repeat(LABEL), value);
            }
            Part::Table(table) => self.table(table, units),
            Part::Paragraph(words) => self.wrapped("", "", words),
            Part::Item(mark, words) => self.wrapped(mark, &" ".repeat(mark.chars().count()), words),
        }
    }

    /// A heading, underlined, after a blank line.
    fn heading(&mut self, words: &str) {
        self.blank();
        self.0.push_str(words);
        self.0.push('\n');
        self.0.push_str(&"=".repeat(words.chars().count()));
        self.0.push('\n');
    }

    /// A blank line, unless the text is empty or ends with one.
    fn blank(&mut self) {
        if !self.0.is_empty() && !self.0.ends_with("\n\n") {
            self.0.push('\n');
        }
    }

    /// A table, set apart by blank lines; right below a heading it needs none above.
    fn table(&mut self, table: &Table, units: Units) {
        if !self.0.ends_with("==\n") {
            self.blank();
        }
        self.0.push_str(&table.to_text(units));
        self.0.push('\n');
    }

    fn wrapped(&mut self, first: &str, rest: &str, words: &str) {
        let mut line = first.to_owned();
        let mut empty = true;
        for word in one_line(words).split_whitespace() {
            let longer = line.chars().count() + word.chars().count() + usize::from(!empty);
            if !empty && longer > WIDTH {
                self.0.push_str(line.trim_end());
                self.0.push('\n');
                rest.clone_into(&mut line);
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
        self.0.push_str(line.trim_end());
        self.0.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_values_continue_below_themselves() {
        let mut page = Page::new(Units::Si);
        page.heading("Drums");
        page.line("owned", &"twelve ".repeat(12));
        page.item("- ", "vented lids");
        insta::assert_snapshot!(page.into_text(), @r"
        Drums
        =====
        owned                             twelve twelve twelve twelve twelve twelve twelve twelve twelve
                                          twelve twelve twelve
        - vented lids
        ");
    }

    #[test]
    fn names_of_a_scenario_cannot_steer_the_terminal() {
        let wild = "a\u{1b}]0;title\u{7}\r\0\nb\u{202e}c\u{9b}";
        let mut page = Page::new(Units::Si);
        page.heading(wild);
        page.line(wild, wild);
        page.paragraph(wild);
        page.item("- ", wild);
        let mut table = Table::new(wild, vec![crate::report::table::Column::words(wild)]);
        table.push(vec![wild.into()]);
        page.table(&table);
        let text = page.into_text();
        assert!(text.chars().all(|c| c == '\n' || !crate::report::clean::is_steering(c)), "{text:?}");
        assert_eq!(text.lines().filter(|line| line.starts_with("a]0;title bc")).count(), 5, "{text}");
    }

    #[test]
    fn keys_are_shown_as_words() {
        assert_eq!(key_words("worms.adult_death_rate"), "worms: adult death rate");
        assert_eq!(key_words("ingredients.bread.moisture"), "bread: moisture");
        assert_eq!(key_words("drums.count"), "drums: count");
    }

    #[test]
    fn a_long_label_keeps_its_distance_from_the_value() {
        let mut page = Page::new(Units::Si);
        page.line("a label that is longer than the space for it", "value");
        assert_eq!(page.into_text(), "a label that is longer than the space for it  value\n");
    }
}
