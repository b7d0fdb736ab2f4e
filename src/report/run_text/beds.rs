//! Beds.

use crate::quantity::Kind;
use crate::report::number::rounded;
use crate::report::page::Page;
use crate::report::table::Cell;
use crate::report::table::Column;
use crate::report::table::Table;
use crate::study::answer::BedFigures;
use crate::study::answer::RunAnswer;
use crate::study::answer::Span;

/// Above this many beds, beds next to each other that look the same share a row.
const BEDS_SHOWN: usize = 6;

/// Figures of areas and loads: what tells beds apart at a glance, and lets like beds share a row.
const FIGURES: u32 = 2;

/// A number column given in the documented unit but written by us; beds compare by what is shown.
fn spanned(name: &str, span: &Span, tell: impl Fn(f64) -> String) -> (String, Cell) {
    let text = format!("{} / {} / {}", tell(span.lowest), tell(span.mean), tell(span.highest));
    (name.to_owned(), text.into())
}

fn describe(bed: &BedFigures, page: &Page) -> Vec<(String, Cell)> {
    use crate::report::number::in_column_unit;
    let units = page.units();
    let in_unit = |kind: Kind, value: f64| rounded(in_column_unit(kind, value, units), FIGURES);
    let warm = |value: f64| format!("{:.0}", in_column_unit(Kind::Temperature, value, units));
    let share = |value: f64| format!("{:.0}", 100.0 * value);
    let acid = |value: f64| format!("{value:.1}");
    vec![
        ("area".to_owned(), rounded(in_column_unit(Kind::Area, bed.area, units), 3).into()),
        ("load".to_owned(), in_unit(Kind::ArealMass, bed.load).into()),
        spanned("temperature", &bed.temperature, warm),
        ("hottest".to_owned(), warm(bed.hottest).into()),
        spanned("moisture", &bed.moisture, share),
        spanned("pH", &bed.ph, acid),
        (
            "worms".to_owned(),
            format!(
                "{} > {}",
                in_unit(Kind::ArealMass, bed.density_start),
                in_unit(Kind::ArealMass, bed.density_end)
            )
            .into(),
        ),
        ("starving".to_owned(), bed.starving_days.into()),
    ]
}

/// Beds that look the same, in ranges: name of the first, of the last, number, cells.
fn groups(answer: &RunAnswer, page: &Page) -> Vec<(String, Vec<Cell>)> {
    let merge = answer.beds.len() > BEDS_SHOWN;
    let mut out: Vec<(String, String, usize, Vec<Cell>)> = Vec::new();
    for bed in &answer.beds {
        let cells: Vec<Cell> = describe(bed, page).into_iter().map(|(_, cell)| cell).collect();
        match out.last_mut() {
            Some((_, last, count, shared)) if merge && *shared == cells => {
                bed.name.clone_into(last);
                *count += 1;
            }
            _ => out.push((bed.name.clone(), bed.name.clone(), 1, cells)),
        }
    }
    out.into_iter()
        .map(|(first, last, count, cells)| {
            let name = if count == 1 { first } else { format!("{} ({count})", range(&first, &last)) };
            (name, cells)
        })
        .collect()
}

/// Two names as a range; words they share at the front stand once.
fn range(first: &str, last: &str) -> String {
    match (first.rsplit_once(' '), last.rsplit_once(' ')) {
        (Some((group, _)), Some((same, number))) if group == same => format!("{first} to {number}"),
        _ => format!("{first} to {last}"),
    }
}

/// Beds: load, temperature, moisture, pH, and on what days they took no feed.
pub(super) fn beds(answer: &RunAnswer, page: &mut Page) {
    use crate::report::number::column_unit;
    let Some(first) = answer.beds.first() else { return };
    page.heading("Beds");
    let units = page.units();
    let unit_of = |name: &str| match name {
        "area" => column_unit(Kind::Area, units),
        "load" => match units {
            crate::quantity::Units::Si => "kg/m2/day",
            crate::quantity::Units::Us => "lb/ft2/day",
        },
        "temperature" | "hottest" => column_unit(Kind::Temperature, units),
        "moisture" => "%",
        "worms" => column_unit(Kind::ArealMass, units),
        "starving" => "days",
        _ => "",
    };
    let mut columns = vec![Column::words("bed")];
    columns.extend(describe(first, page).iter().map(|(name, _)| Column::plain(name, unit_of(name))));
    let mut table = Table::new("Lowest / mean / highest over the run; worms at start > end", columns);
    for (name, cells) in groups(answer, page) {
        let mut row: Vec<Cell> = vec![name.into()];
        row.extend(cells);
        table.push(row);
    }
    page.table(&table);

    let mut reasons: Vec<(&str, usize, usize)> = Vec::new();
    for (reason, days) in answer.beds.iter().flat_map(|bed| &bed.refused).filter(|(_, days)| *days > 0) {
        match reasons.iter_mut().find(|(known, ..)| known == reason) {
            Some((_, beds, sum)) => {
                *beds += 1;
                *sum += days;
            }
            None => reasons.push((reason, 1, *days)),
        }
    }
    let columns = vec![
        Column::words("a bed took no feed for"),
        Column::plain("beds", ""),
        Column::plain("bed-days", ""),
    ];
    let mut table = Table::new("", columns);
    for (reason, beds, days) in reasons {
        table.push(vec![reason.replace('_', " ").into(), beds.into(), days.into()]);
    }
    page.table(&table);
}
