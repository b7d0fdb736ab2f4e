//! A log taken apart into cells with their places. Every line stands for itself, so that one wrong line costs no other.

use std::borrow::Cow;
use std::ops::Range;

/// A cell and where it is in the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Cell<'a> {
    /// Its text without quotes and blanks around it.
    pub(super) text: Cow<'a, str>,
    /// Bytes of the cell in the text of the file.
    pub(super) range: Range<usize>,
}

/// A line: its number from 1, where it is, and its cells; `None` if a quote in it is not closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Row<'a> {
    pub(super) line: usize,
    pub(super) range: Range<usize>,
    pub(super) cells: Option<Vec<Cell<'a>>>,
}

/// The sign between cells: the one of comma, semicolon and tab that is most frequent in the first row; a comma if none is.
pub(super) fn separator(first: &str) -> char {
    let count = |sign: char| first.chars().filter(|c| *c == sign).count();
    let mut best = ',';
    for sign in [';', '\t'] {
        if count(sign) > count(best) {
            best = sign;
        }
    }
    best
}

/// Lines that are neither empty nor remarks (`#`), with their cells.
pub(super) fn rows(text: &str, separator: char) -> impl Iterator<Item = Row<'_>> {
    let mut start = 0;
    text.split_inclusive('\n').enumerate().filter_map(move |(n, line)| {
        let from = start;
        start += line.len();
        let line = line.trim_end_matches(['\n', '\r']);
        let blank = line.trim().is_empty() || line.trim_start().starts_with('#');
        // a spreadsheet writes an empty row as separators
        let blank = blank || line.chars().all(|c| c == separator || c.is_whitespace());
        (!blank).then(|| Row {
            line: n + 1,
            range: from..from + line.len(),
            cells: cells(line, from, separator),
        })
    })
}

fn cells(line: &str, from: usize, separator: char) -> Option<Vec<Cell<'_>>> {
    let mut all = Vec::new();
    let mut at = 0;
    loop {
        let rest = &line[at..];
        let lead = rest.len() - rest.trim_start_matches(' ').len();
        let (cell, length) = if rest[lead..].starts_with('"') {
            let (cell, length) = quoted(&rest[lead..], from + at + lead)?;
            (cell, lead + length)
        } else {
            let length = rest.find(separator).unwrap_or(rest.len());
            let text = rest[..length].trim();
            let begin = from + at + (rest[..length].len() - rest[..length].trim_start().len());
            (Cell { text: Cow::Borrowed(text), range: begin..begin + text.len() }, length)
        };
        all.push(cell);
        at += length;
        let rest = &line[at..];
        let gap = rest.len() - rest.trim_start_matches(' ').len();
        match rest[gap..].chars().next() {
            None => return Some(all),
            Some(sign) if sign == separator => at += gap + sign.len_utf8(),
            // text after a closing quote
            Some(_) => return None,
        }
    }
}

/// A cell in quotes, in which two quotes are one, and its length; `None` if it does not end.
fn quoted(text: &str, from: usize) -> Option<(Cell<'_>, usize)> {
    let mut at = 1;
    loop {
        at += text[at..].find('"')?;
        if text[at + 1..].starts_with('"') {
            at += 2;
            continue;
        }
        let inner = &text[1..at];
        let plain =
            if inner.contains('"') { Cow::Owned(inner.replace("\"\"", "\"")) } else { Cow::Borrowed(inner) };
        let plain = match plain {
            Cow::Borrowed(text) => Cow::Borrowed(text.trim()),
            Cow::Owned(text) => Cow::Owned(text.trim().to_owned()),
        };
        return Some((Cell { text: plain, range: from..from + at + 1 }, at + 1));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(line: &str, separator: char) -> Option<Vec<String>> {
        cells(line, 0, separator).map(|cells| cells.into_iter().map(|cell| cell.text.into_owned()).collect())
    }

    #[test]
    fn cells_are_split_at_separators_outside_quotes() {
        for (line, wanted) in [
            ("a, b ,c", vec!["a", "b", "c"]),
            ("a,,", vec!["a", "", ""]),
            ("\"a, b\" ,\"say \"\"c\"\"\"", vec!["a, b", "say \"c\""]),
            ("  \"\",x", vec!["", "x"]),
        ] {
            assert_eq!(texts(line, ',').unwrap(), wanted, "{line}");
        }
        assert_eq!(texts("1,5;kg", ';').unwrap(), ["1,5", "kg"]);
        for line in ["\"a", "\"a\"b,c", "x,\"y"] {
            assert_eq!(texts(line, ','), None, "{line}");
        }
    }

    #[test]
    fn places_are_those_of_the_file() {
        let text = "# remark\r\n\r\ndate, what\r\n;;\n\u{e4},  x";
        let rows: Vec<Row<'_>> = rows(text, ',').collect();
        assert_eq!(rows.iter().map(|row| row.line).collect::<Vec<_>>(), [3, 4, 5]);
        let last = rows[2].cells.as_ref().unwrap();
        assert_eq!(&text[last[1].range.clone()], "x");
        assert_eq!(&text[rows[0].range.clone()], "date, what");
    }

    #[test]
    fn the_separator_is_the_most_frequent_sign_of_the_first_row() {
        assert_eq!(
            ['a', ',', ';', '\t'].map(|sign| separator(&format!("date{sign}what{sign}value"))),
            [',', ',', ';', '\t']
        );
    }
}
