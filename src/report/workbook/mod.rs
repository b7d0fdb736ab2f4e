//! The workbook of a run: its balance, days, products and warnings for those who live in spreadsheets. It is for people, so it
//! follows the reader's units as pages and charts do; CSV and JSON stay SI. The same run gives the same bytes.

mod draws;
mod money;
mod months;
mod pages;
mod sheet;
mod water_energy;
mod write;

use self::sheet::Sheet;
use crate::quantity::Units;
use crate::study::answer::RunAnswer;
use crate::study::uncertainty::UncertaintyAnswer;
use std::io;

/// Name of the file of the workbook.
pub const WORKBOOK_FILE: &str = "workbook.xlsx";

/// What a workbook is made from.
#[derive(Debug, Clone, Copy)]
pub struct WorkbookContents<'a> {
    /// The best-estimate run.
    pub central: &'a RunAnswer,
    /// Draws of the same site; None if none were made.
    pub study: Option<&'a UncertaintyAnswer>,
    /// Text of the scenario, so that anyone can run it again.
    pub scenario: &'a str,
    /// Units of the reader, for every number.
    pub units: Units,
}

/// The workbook as the bytes of its file.
///
/// # Errors
/// When it cannot be written, as where a sheet would be longer than spreadsheets allow.
pub fn workbook(contents: &WorkbookContents<'_>) -> io::Result<Vec<u8>> {
    let mut sheets = pages::sheets(contents.central, contents.scenario, contents.units);
    if let Some(study) = contents.study {
        sheets.extend(draws::sheets(study, contents.units));
    }
    let guide = pages::guide(contents, &sheets);
    let all: Vec<&Sheet> = std::iter::once(&guide).chain(&sheets).collect();
    write::write(&all, contents.central.start, contents.units).map_err(io::Error::other)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{sample, sample_draws};
    use calamine::{Data, Reader, Xlsx};
    use std::io::Cursor;

    fn made(units: Units) -> Vec<u8> {
        let central = sample::answer();
        let study = sample_draws::study();
        let contents = WorkbookContents {
            central: &central,
            study: Some(&study),
            scenario: "{\n  \"name\": \"=1+1\"\n}\n",
            units,
        };
        workbook(&contents).unwrap()
    }

    fn sheet(bytes: &[u8], name: &str) -> Vec<Vec<Data>> {
        let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
        book.worksheet_range(name).unwrap().rows().map(<[Data]>::to_vec).collect()
    }

    fn text(cell: &Data) -> String {
        cell.to_string()
    }

    #[test]
    fn the_same_answer_gives_the_same_bytes() {
        assert!(made(Units::Si) == made(Units::Si));
    }

    #[test]
    fn the_guide_names_every_sheet() {
        let bytes = made(Units::Si);
        let book: Xlsx<_> = Xlsx::new(Cursor::new(&bytes[..])).unwrap();
        let names = book.sheet_names();
        assert_eq!(
            names,
            [
                "Guide",
                "Money",
                "Months",
                "Labour",
                "Water and energy",
                "Balance",
                "Held",
                "Elements",
                "Streams",
                "Days",
                "Beds",
                "Years",
                "First and settled",
                "Products",
                "Standards",
                "Warnings",
                "Scenario",
                "Totals",
                "Chances",
                "Bands"
            ]
        );
        let guide: Vec<String> = sheet(&bytes, "Guide").iter().map(|row| text(&row[0])).collect();
        for name in &names[1..] {
            assert!(guide.contains(name), "{name} is not in {guide:?}");
        }
    }

    #[test]
    fn every_number_has_its_unit_and_dates_are_dates() {
        for units in [Units::Si, Units::Us] {
            let bytes = made(units);
            let days = sheet(&bytes, "Days");
            assert_eq!(text(&days[0][0]), "date");
            assert!(matches!(days[1][0], Data::DateTime(_)), "{:?}", days[1][0]);
            let mass = if units == Units::Si { "kg" } else { "lb" };
            assert!(days[0].iter().any(|cell| text(cell) == format!("intake, {mass}")), "{:?}", days[0]);
            // 250.5 kg; a pound is 0.45359237 kg by definition
            let wanted = if units == Units::Si { 250.5 } else { 250.5 / 0.453_592_37 };
            let intake = days[0].iter().position(|cell| text(cell) == format!("intake, {mass}")).unwrap();
            let Data::Float(found) = days[1][intake] else { panic!("{:?}", days[1][intake]) };
            assert!((found - wanted).abs() < 1e-9, "{found}");
        }
    }

    #[test]
    fn text_of_the_scenario_is_never_a_formula() {
        let bytes = made(Units::Si);
        assert_eq!(text(&sheet(&bytes, "Scenario")[2][1]), "  \"name\": \"=1+1\"");
        let mut book: Xlsx<_> = Xlsx::new(Cursor::new(&bytes[..])).unwrap();
        assert!(book.worksheet_formula("Scenario").unwrap().is_empty());
    }
}
