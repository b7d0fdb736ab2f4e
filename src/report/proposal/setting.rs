//! Pages and tables as markup: the same parts that the commands print as text.

use super::text::{set, short};
use crate::quantity::Units;
use crate::report::pages::page::{Page, Part};
use crate::report::table::{Align, Cell, Table};
use maud::{Markup, html};

/// Largest number of rows of a table that is kept on one printed page: a longer one would leave half a page empty.
const WHOLE: usize = 16;
/// Columns from which a table may be wider than a screen.
const WIDE: usize = 8;

/// The parts of a page. Consecutive lines or items form one list.
pub(in crate::report) fn parts(page: &Page) -> Markup {
    let alike = |a: &Part, b: &Part| {
        matches!((a, b), (Part::Line(..), Part::Line(..)) | (Part::Item(..), Part::Item(..)))
    };
    html! {
        @for group in page.parts().chunk_by(alike) {
            @match &group[0] {
                Part::Line(..) => (lines(group)),
                Part::Item(..) => (items(group)),
                Part::Heading(words) => h3 { (set(words)) },
                Part::Table(table) => (self::table(table, page.units())),
                Part::Paragraph(words) => p { (set(words)) },
                Part::Gap => {},
            }
        }
    }
}

fn lines(group: &[Part]) -> Markup {
    html! {
        dl.lines {
            @for part in group {
                @if let Part::Line(label, value) = part {
                    div { dt { (short(label)) } dd { (set(value)) } }
                }
            }
        }
    }
}

/// Items show a mark in words, such as the severity of a warning. An indented item belongs to the item above.
fn items(group: &[Part]) -> Markup {
    html! {
        ul.items {
            @for part in group {
                @if let Part::Item(mark, words) = part {
                    @let label = mark.trim().trim_matches(['-', '*']);
                    li.below[mark.starts_with(' ')] .dash[mark.starts_with(' ') && label.is_empty()] {
                        @if !label.is_empty() { strong { (set(label)) } " " }
                        (set(words))
                    }
                }
            }
        }
    }
}

/// A table with its title above and units under column names. A row with one filled cell is a heading.
pub(super) fn table(table: &Table, units: Units) -> Markup {
    let columns = table.columns.len();
    html! {
        // a wide one scrolls sideways, also from the keyboard
        div.table.whole[table.rows.len() <= WHOLE] tabindex=[(columns >= WIDE).then_some("0")] {
            table {
                @if !table.title.is_empty() { caption { (set(&table.title)) } }
                thead {
                    tr {
                        @for column in &table.columns {
                            @let unit = column.measure.unit(units);
                            @if column.name.is_empty() && unit.is_empty() {
                                td {}
                            } @else {
                                th.number[column.align == Align::Right] scope="col" {
                                    (set(&column.name))
                                    @if !unit.is_empty() { br; span.unit { (set(unit)) } }
                                }
                            }
                        }
                    }
                }
                tbody {
                    @for row in &table.rows {
                        @if heads(row) {
                            tr.head { th colspan=(columns) scope="rowgroup" { (short(&table.shown(row, units)[0])) } }
                        } @else {
                            (self::row(table, row, units))
                        }
                    }
                }
            }
        }
    }
}

fn row(table: &Table, row: &[Cell], units: Units) -> Markup {
    let shown = table.shown(row, units);
    html! {
        tr.sum[shown.iter().any(|cell| cell.starts_with("= "))] {
            @for (column, cell) in table.columns.iter().zip(&shown) {
                td.number[column.align == Align::Right].in[cell.starts_with("  ")] {
                    (short(cell.trim_start_matches("= ")))
                }
            }
        }
    }
}

/// Whether a row is a heading: words in the first cell only.
fn heads(row: &[Cell]) -> bool {
    let empty = |cell: &Cell| matches!(cell, Cell::Words(words) if words.is_empty());
    row.len() > 1 && !empty(&row[0]) && row[1..].iter().all(empty)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Kind;
    use crate::report::table::Column;

    #[test]
    fn consecutive_parts_form_one_list() {
        let mut page = Page::new(Units::Si);
        page.heading("Drums & more");
        page.line("owned", "60");
        page.line("spoiled", "<2>");
        page.item("serious: ", "few worms");
        page.item("    hint: ", "buy more");
        page.paragraph("3 m2");
        let html = parts(&page).into_string();
        assert!(html.starts_with("<h3>Drums &amp; more</h3><dl class=\"lines\">"), "{html}");
        assert!(html.contains("<dt>spoiled</dt><dd>&lt;2&gt;</dd>"), "{html}");
        assert_eq!(html.matches("<dl").count() + html.matches("<ul").count(), 2, "{html}");
        assert!(html.contains("<strong>hint:</strong> buy more</li></ul><p>3 m²</p>"), "{html}");
    }

    #[test]
    fn tables_show_units_and_row_headings() {
        let mut table = Table::new("Floor", vec![Column::words("what"), Column::of("area", Kind::Area)]);
        table.push(vec!["beds".into(), "".into()]);
        table.push(vec!["  hall".into(), 324.0.into()]);
        table.push(vec!["= together".into(), 324.0.into()]);
        let html = super::table(&table, Units::Us).into_string();
        assert!(
            html.contains(r#"<th class="number" scope="col">area<br><span class="unit">ft²</span></th>"#),
            "{html}"
        );
        assert!(
            html.contains(r#"<tr class="head"><th colspan="2" scope="rowgroup">beds</th></tr>"#),
            "{html}"
        );
        assert!(html.contains(r#"<td class=" in">hall</td><td class="number">3488</td>"#), "{html}");
        assert!(html.contains(r#"<tr class="sum"><td class="">together</td>"#), "{html}");
    }
}
