//! A printed page: headings, labelled lines, tables, wrapped paragraphs.

use crate::quantity::Units;
use crate::report::table::Table;

/// Widest line of running text.
const WIDTH: usize = 100;
/// Where the values of labelled lines begin.
const LABEL: usize = 34;

/// A page in the making.
#[derive(Debug, Clone)]
pub struct Page {
    text: String,
    units: Units,
}

impl Page {
    /// An empty page for a reader of these units.
    pub fn new(units: Units) -> Self {
        Self { text: String::new(), units }
    }

    /// Units of the page.
    pub fn units(&self) -> Units {
        self.units
    }

    /// A heading, underlined, after a blank line.
    pub fn heading(&mut self, words: &str) {
        self.blank();
        self.text.push_str(words);
        self.text.push('\n');
        self.text.push_str(&"=".repeat(words.chars().count()));
        self.text.push('\n');
    }

    /// A blank line, unless the page is empty or ends with one.
    pub fn blank(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// A label and its value; a long value goes on under itself.
    pub fn line(&mut self, label: &str, value: &str) {
        let first = format!("{label:<LABEL$}");
        self.wrapped(&first, &" ".repeat(LABEL), value);
    }

    /// A table, set apart by blank lines; right below a heading it needs none above. Nothing where it has no rows.
    pub fn table(&mut self, table: &Table) {
        if table.rows.is_empty() {
            return;
        }
        if !self.text.ends_with("==\n") {
            self.blank();
        }
        self.text.push_str(&table.to_text(self.units));
        self.text.push('\n');
    }

    /// Running text.
    pub fn paragraph(&mut self, words: &str) {
        self.wrapped("", "", words);
    }

    /// An item of a list, with its mark.
    pub fn item(&mut self, mark: &str, words: &str) {
        self.wrapped(mark, &" ".repeat(mark.chars().count()), words);
    }

    fn wrapped(&mut self, first: &str, rest: &str, words: &str) {
        let mut line = first.to_owned();
        let mut empty = true;
        for word in words.split_whitespace() {
            let longer = line.chars().count() + word.chars().count() + usize::from(!empty);
            if !empty && longer > WIDTH {
                self.text.push_str(line.trim_end());
                self.text.push('\n');
                rest.clone_into(&mut line);
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// The text of the page.
    pub fn into_text(self) -> String {
        let mut text = self.text;
        while text.ends_with("\n\n") {
            text.pop();
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_values_go_on_under_themselves() {
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
}
