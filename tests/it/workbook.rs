//! The workbook of a run, read back by another library: totals, dates, reproducibility.

use calamine::{Data, DataType, Reader, Xlsx};
use loamledger::quantity::Units;
use loamledger::report::workbook::{WorkbookContents, workbook};
use loamledger::study::answer::RunAnswer;
use std::io::Cursor;

use super::charts::{answer, short};

fn workbook_of(answer: &RunAnswer) -> Vec<u8> {
    let contents = WorkbookContents { central: answer, study: None, scenario: "{}\n", units: Units::Si };
    workbook(&contents).expect("a workbook")
}

/// Rows of a sheet, its header first.
fn rows(bytes: &[u8], sheet: &str) -> Vec<Vec<Data>> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).expect("a workbook");
    book.worksheet_range(sheet).expect("the sheet").rows().map(<[Data]>::to_vec).collect()
}

/// Sum of the column under a header.
fn sum(rows: &[Vec<Data>], header: &str) -> f64 {
    let column = rows[0].iter().position(|cell| cell.get_string() == Some(header));
    let column = column.unwrap_or_else(|| panic!("no column {header} in {:?}", rows[0]));
    rows[1..].iter().filter_map(|row| row[column].get_float()).sum()
}

fn close(found: f64, wanted: f64, what: &str) {
    assert!((found - wanted).abs() <= 1e-9 * wanted.abs().max(1.0), "{what}: {found} is not {wanted}");
}

#[test]
fn totals_match_the_answer() {
    let answer = answer("valley_packhouse", short);
    let bytes = workbook_of(&answer);
    // as other programs read it
    let json = serde_json::to_value(&answer).expect("JSON");
    let all = |list: &serde_json::Value, key: &str| -> f64 {
        list.as_array().expect("a list").iter().filter_map(|row| row[key].as_f64()).sum()
    };
    let balance = rows(&bytes, "Balance");
    assert_eq!(balance.len(), 1 + answer.balance.flows.len());
    for key in ["wet", "water", "dry", "carbon", "nitrogen", "phosphorus", "potassium"] {
        close(sum(&balance, &format!("{key}, kg")), all(&json["balance"]["flows"], key), key);
    }
    let elements = rows(&bytes, "Elements");
    close(sum(&elements, "in, kg"), all(&json["balance"]["elements"], "into_site"), "in");
    let days = rows(&bytes, "Days");
    assert_eq!(days.len(), 1 + answer.days);
    for key in ["intake", "turned_away", "fed", "harvested", "screened"] {
        close(sum(&days, &format!("{}, kg", key.replace('_', " "))), all(&json["daily"], key), key);
    }
    let beds = rows(&bytes, "Beds");
    close(sum(&beds, "stock, kg"), all(&json["bed_daily"], "stock"), "stock");
    // moisture is in percent
    close(sum(&beds, "moisture, %"), 100.0 * all(&json["bed_daily"], "moisture"), "moisture");
    let streams = rows(&bytes, "Streams");
    close(sum(&streams, "turned away, kg"), all(&json["streams"], "turned_away"), "turned away");
}

#[test]
fn days_are_dates() {
    let answer = answer("valley_packhouse", short);
    let days = rows(&workbook_of(&answer), "Days");
    let Data::DateTime(first) = &days[1][0] else { panic!("{:?} is no date", days[1][0]) };
    // 1 March 2027 is day 46447 of spreadsheets, which count 1 January 1900 as 1 and a 29 February of that year
    assert!((first.as_f64() - 46_447.0).abs() < 1e-9, "{first:?}");
}

#[test]
fn the_same_run_gives_the_same_workbook() {
    let answer = answer("valley_packhouse", short);
    assert!(workbook_of(&answer) == workbook_of(&answer));
}
