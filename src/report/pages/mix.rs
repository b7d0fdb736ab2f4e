//! The printed page of a mix.

use crate::quantity::{Kind, Units};
use crate::report::number::{format_decimals, format_number};
use crate::report::pages::page::{Page, words};
use crate::report::table::{Cell, Column, Table};
use crate::study::mix::MixAnswer;

/// The answer to *mix* as a page of text: contents and properties of each part and of the whole, and the targets.
pub fn mix_text(answer: &MixAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    let lines = || answer.parts.iter().chain(std::iter::once(&answer.whole));
    let mut columns = vec![Column::words("part")];
    columns
        .extend(["wet", "water", "dry", "C", "N", "P", "K", "ash"].map(|name| Column::of(name, Kind::Mass)));
    let mut masses = Table::new("Masses", columns);
    for line in lines() {
        let amounts = [
            line.wet,
            line.water,
            line.dry,
            line.carbon,
            line.nitrogen,
            line.phosphorus,
            line.potassium,
            line.ash,
        ];
        let mut row: Vec<Cell> = vec![words(&line.id).into()];
        row.extend(amounts.map(Cell::Number));
        masses.push(row);
    }
    page.table(&masses);

    let columns = vec![
        Column::words("part"),
        Column::of("moisture", Kind::Share),
        Column::of("ash of dry", Kind::Share),
        Column::plain("C:N", ""),
        Column::plain("pH", ""),
        Column::of("volume", Kind::Volume),
        Column::of("bulk density", Kind::Density),
        Column::of("air-filled porosity", Kind::Share),
    ];
    let mut figures = Table::new("Properties", columns);
    for line in lines() {
        let row: [Cell; 8] = [
            words(&line.id).into(),
            line.moisture.into(),
            line.ash_share.into(),
            line.carbon_to_nitrogen.into(),
            format_decimals(line.ph, 2).into(),
            line.volume.into(),
            line.bulk_density.into(),
            line.air_filled_porosity.into(),
        ];
        figures.push(row.into());
    }
    page.table(&figures);

    for target in &answer.targets {
        page.line(
            &words(target.measure),
            &format!("target {}, reached {}", format_number(target.wanted), format_number(target.reached)),
        );
    }
    page.into_text()
}
