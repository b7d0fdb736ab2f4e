//! Beds.

use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, format_decimals, format_in_column, in_column_unit};
use crate::report::pages::page::{Page, words};
use crate::report::table::{Cell, Column, Table};
use crate::study::answer::{BedFigures, RunAnswer, Span};

/// Above this many beds, neighbouring beds with similar figures share a row.
const BEDS_SHOWN: usize = 6;
/// How far two similar beds may differ: temperature in °C, moisture in kg/kg, pH, and load and stocking density as a share.
/// Source: our choice.
const ALIKE: [f64; 4] = [1.0, 0.02, 0.2, 0.1];

/// Neighbouring beds with similar figures, taken together.
struct BedRow {
    /// Number of the first bed, from 1, as warnings count them.
    number: usize,
    first: String,
    last: String,
    beds: usize,
    area: f64,
    load: f64,
    temperature: Span,
    hottest: f64,
    moisture: Span,
    ph: Span,
    density: [f64; 2],
    starving_days: usize,
}

impl BedRow {
    fn of(number: usize, bed: &BedFigures) -> Self {
        Self {
            number,
            first: bed.name.clone(),
            last: bed.name.clone(),
            beds: 1,
            area: bed.area,
            load: bed.load,
            temperature: bed.temperature,
            hottest: bed.hottest,
            moisture: bed.moisture,
            ph: bed.ph,
            density: [bed.density_start, bed.density_end],
            starving_days: bed.starving_days,
        }
    }

    /// Whether a bed is similar to those of the row.
    fn like(&self, bed: &BedFigures) -> bool {
        let [kelvin, share, acid, part] = ALIKE;
        let near = |a: &Span, b: &Span, by: f64| {
            [a.lowest - b.lowest, a.mean - b.mean, a.highest - b.highest].iter().all(|gap| gap.abs() <= by)
        };
        let close = |a: f64, b: f64| (a - b).abs() <= part * a.abs().max(b.abs());
        close(self.area, bed.area)
            && close(self.load, bed.load)
            && near(&self.temperature, &bed.temperature, kelvin)
            && (self.hottest - bed.hottest).abs() <= kelvin
            && near(&self.moisture, &bed.moisture, share)
            && near(&self.ph, &bed.ph, acid)
            && close(self.density[0], bed.density_start)
            && close(self.density[1], bed.density_end)
    }

    fn take_in(&mut self, bed: &BedFigures) {
        let count = self.beds as f64;
        let mean = |own: f64, new: f64| (own * count + new) / (count + 1.0);
        let both = |own: &Span, new: &Span| Span {
            lowest: own.lowest.min(new.lowest),
            mean: mean(own.mean, new.mean),
            highest: own.highest.max(new.highest),
        };
        self.last.clone_from(&bed.name);
        self.area = mean(self.area, bed.area);
        self.load = mean(self.load, bed.load);
        self.temperature = both(&self.temperature, &bed.temperature);
        self.hottest = self.hottest.max(bed.hottest);
        self.moisture = both(&self.moisture, &bed.moisture);
        self.ph = both(&self.ph, &bed.ph);
        self.density = [mean(self.density[0], bed.density_start), mean(self.density[1], bed.density_end)];
        self.starving_days = self.starving_days.max(bed.starving_days);
        self.beds += 1;
    }

    /// "hall beds 1-12", "bed a to bed b (4)".
    fn name(&self) -> String {
        if self.beds == 1 {
            return self.first.clone();
        }
        let number =
            |name: &str| name.rsplit_once(' ').map(|(stem, last)| (stem.to_owned(), last.to_owned()));
        match (number(&self.first), number(&self.last)) {
            (Some((stem, first)), Some((other, last))) if stem == other => format!("{stem} {first}-{last}"),
            _ => format!("{} to {} ({})", self.first, self.last, self.beds),
        }
    }

    fn cells(&self, units: Units) -> Vec<Cell> {
        let in_unit = |kind: Kind, value: f64| format_in_column(kind, value, 3, units);
        let warm = |value: f64| format_decimals(in_column_unit(Kind::Temperature, value, units), 0);
        let spanned =
            |s: &Span, tell: &dyn Fn(f64) -> String| [s.lowest, s.mean, s.highest].map(tell).join("/");
        let last = self.number + self.beds - 1;
        let numbers = if self.beds == 1 { last.to_string() } else { format!("{}-{last}", self.number) };
        vec![
            numbers.into(),
            self.name().into(),
            in_unit(Kind::Area, self.area).into(),
            in_unit(Kind::ArealMass, self.load).into(),
            spanned(&self.temperature, &warm).into(),
            warm(self.hottest).into(),
            spanned(&self.moisture, &|v| format_decimals(100.0 * v, 0)).into(),
            spanned(&self.ph, &|v| format_decimals(v, 1)).into(),
            self.density.map(|d| in_unit(Kind::ArealMass, d)).join(" > ").into(),
            self.starving_days.into(),
        ]
    }
}

fn rows(answer: &RunAnswer) -> Vec<BedRow> {
    let merge = answer.beds.len() > BEDS_SHOWN;
    let mut out: Vec<BedRow> = Vec::new();
    for (place, bed) in answer.beds.iter().enumerate() {
        match out.last_mut() {
            Some(row) if merge && row.like(bed) => row.take_in(bed),
            _ => out.push(BedRow::of(place + 1, bed)),
        }
    }
    out
}

/// Beds: load, temperature, moisture, pH, and why they were not fed on some days.
pub(in crate::report) fn beds(answer: &RunAnswer, page: &mut Page) {
    if answer.beds.is_empty() {
        return;
    }
    page.heading("Beds");
    let units = page.units();
    let load = match units {
        Units::Si => "kg/m2/d",
        Units::Us => "lb/ft2/d",
    };
    let warmth = column_unit(Kind::Temperature, units);
    let columns = vec![
        Column::words("bed"),
        Column::words("name"),
        Column::plain("area", column_unit(Kind::Area, units)),
        Column::plain("load", load),
        Column::plain("temperature", warmth),
        Column::plain("hottest", warmth),
        Column::plain("moisture", "%"),
        Column::plain("pH", ""),
        Column::plain("worms", column_unit(Kind::ArealMass, units)),
        Column::plain("starving", "days"),
    ];
    let title = "Each bed: lowest/mean/highest value of the run; hottest spot; worms at the start > end";
    let mut table = Table::new(title, columns);
    let rows = rows(answer);
    for row in &rows {
        table.push(row.cells(units));
    }
    page.table(&table);
    if rows.len() < answer.beds.len() {
        page.paragraph("Similar beds share a row; the files list each bed.");
    }
    no_feed(answer, page);
}

/// Reasons for not feeding a bed.
fn no_feed(answer: &RunAnswer, page: &mut Page) {
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
        Column::words("reason for not feeding"),
        Column::plain("beds", ""),
        Column::plain("bed-days", ""),
    ];
    let mut table = Table::new("", columns);
    for (reason, beds, days) in reasons {
        table.push(vec![words(reason).into(), beds.into(), days.into()]);
    }
    page.table(&table);
}
