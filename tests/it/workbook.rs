//! The workbook of a run, read back by another library: totals, dates, reproducibility.

use calamine::{Data, DataType, Reader, Xlsx};
use loamledger::quantity::Units;
use loamledger::report::workbook::{WorkbookContents, workbook};
use loamledger::scenario::varied;
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

/// Formulas of a sheet, row by row from its first cell.
fn formulas(bytes: &[u8], sheet: &str) -> Vec<(u32, u32, String)> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).expect("a workbook");
    let found = book.worksheet_formula(sheet).expect("the sheet");
    let (top, left) = found.start().unwrap_or((0, 0));
    let place = |row: usize, column: usize| {
        (u32::try_from(row).expect("small"), u32::try_from(column).expect("small"))
    };
    let used = found.used_cells().map(|(row, column, formula)| (place(row, column), formula.clone()));
    used.map(|((row, column), formula)| (top + row, left + column, formula)).collect()
}

/// The value of a formula of these sheets by another route: sums, products and differences of cells, and look-ups by month.
fn computed(sheet: &[Vec<Data>], others: &[(&str, &[Vec<Data>])], formula: &str) -> Option<f64> {
    let place = |name: &str| -> Option<(usize, usize)> {
        let name = name.replace('$', "");
        let column = name
            .bytes()
            .take_while(u8::is_ascii_uppercase)
            .fold(0, |n, b| 26 * n + usize::from(b - b'A') + 1);
        let digits = name.trim_start_matches(|c: char| c.is_ascii_uppercase());
        Some((digits.parse::<usize>().ok()?.checked_sub(1)?, column.checked_sub(1)?))
    };
    let at = |name: &str| -> Option<f64> {
        let (rows, name) = match name.split_once('!') {
            Some((other, name)) => (others.iter().find(|(known, _)| *known == other)?.1, name),
            None => (sheet, name),
        };
        let (row, column) = place(name)?;
        rows.get(row)?.get(column)?.get_float()
    };
    if let Some(inner) = formula.strip_prefix("SUM(").and_then(|rest| rest.strip_suffix(')')) {
        let (from, to) = inner.split_once(':')?;
        let ((top, column), (bottom, _)) = (place(from)?, place(to)?);
        return Some((top..=bottom).filter_map(|row| sheet[row][column].get_float()).sum());
    }
    if let Some((a, b)) = formula.split_once('*') {
        return Some(at(a)? * at(b)?);
    }
    let (a, b) = formula.split_once('-').filter(|(a, _)| !a.is_empty())?;
    Some(at(a)? - at(b)?)
}

#[test]
fn money_and_work_are_formulas_whose_values_are_those_of_the_answer() {
    let answer = answer("valley_packhouse", short);
    let bytes = workbook_of(&answer);
    let money = answer.year_that_counts().money.as_ref().expect("prices");
    let (sheet, labour) = (rows(&bytes, "Money"), rows(&bytes, "Labour"));
    let others = [("Money", sheet.as_slice())];
    let mut checked = 0;
    for (name, rows) in [("Money", &sheet), ("Labour", &labour)] {
        for (row, column, formula) in formulas(&bytes, name) {
            let cell = &rows[row as usize][column as usize];
            let Some(value) = computed(rows, &others, &formula) else { continue };
            close(cell.get_float().expect("a number"), value, &format!("{name}: {formula}"));
            checked += 1;
        }
    }
    let lines = money.capital.len() + money.running.len() + money.income.len();
    assert!(checked > 2 * lines, "{checked} formulas of {lines} lines");
    let of = |what: &str| -> f64 {
        let row = sheet.iter().find(|row| row[1].get_string() == Some(what)).expect("a row");
        row[5].get_float().expect("a number")
    };
    close(of("total capital"), money.capital_total, "capital");
    close(of("total cost of a year"), money.running_total, "cost");
    close(of("income less cost"), money.surplus, "surplus");
    let last = labour.last().expect("a sum");
    close(last[1].get_float().expect("hours"), answer.year_that_counts().labour.hours, "hours");
    let all: Vec<String> = formulas(&bytes, "Money").into_iter().map(|(.., formula)| formula).collect();
    assert!(all.iter().any(|f| f.contains("PMT(")) && all.iter().any(|f| f.contains("PV(")), "{all:?}");
}

#[test]
fn water_and_energy_cost_what_the_sheet_of_money_says() {
    let cooled = |text: &str| {
        varied("packhouse", &short(text), "climate.bed_room.cooled_to", "\"60 F\"").expect("a scenario")
    };
    let answer = answer("valley_packhouse", cooled);
    let bytes = workbook_of(&answer);
    let (sheet, money) = (rows(&bytes, "Water and energy"), rows(&bytes, "Money"));
    let others = [("Money", money.as_slice())];
    let found = formulas(&bytes, "Water and energy");
    for (row, column, formula) in &found {
        let value = computed(&sheet, &others, formula).unwrap_or_else(|| panic!("{formula}"));
        let cell = &sheet[*row as usize][*column as usize];
        close(cell.get_float().expect("a number"), value, formula);
    }
    let year = answer.year_that_counts();
    let of = |part: &str, item: &str, column: usize| -> f64 {
        let is = |row: &&Vec<Data>| row[0].get_string() == Some(part) && row[1].get_string() == Some(item);
        let row = sheet.iter().find(is).unwrap_or_else(|| panic!("no row {part}: {item} in {sheet:?}"));
        row[column].get_float().expect("a number")
    };
    // cubic metres of a thousand kilograms; the first year beside it
    close(of("water taken", "total water taken", 3), year.water.taken / 1000.0, "water taken");
    close(
        of("water taken", "total water taken", 4),
        answer.site.water.taken / 1000.0,
        "water of the first year",
    );
    close(of("runs off", "total that runs off", 3), year.water.run_off / 1000.0, "runs off");
    close(of("worst days and tank", "tank needed", 3), year.water.tank, "tank");
    close(of("electricity", "total electricity", 3), year.energy.electricity, "electricity");
    let cooling = of("electricity", "cooling the bed room", 3);
    assert!(cooling > 0.0, "{cooling}");
    close(of("cooling of the bed room", "heat taken out", 3), 3.0 * cooling, "at three units of heat each");
    // every line of money of water and energy is a part of this sheet
    let lines = &year.money.as_ref().expect("prices").running;
    let paid = |names: &[&str]| -> f64 {
        lines.iter().filter(|line| names.contains(&line.name)).map(|line| line.amount).sum()
    };
    for (part, total, names) in [
        ("water taken", "total water taken", &["water"][..]),
        ("runs off", "total that runs off", &["drainage"]),
        ("electricity", "total electricity", &["grinder power", "drying", "room heating", "room cooling"]),
    ] {
        let (here, there) = (paid(names), of(part, total, 5));
        assert!(there > 0.0, "{part} costs nothing");
        close(there, here, part);
    }
}

#[test]
fn worth_by_formula_is_that_of_the_answer() {
    // what the formula of the sheet says, by hand: -capital + (first - PV(i, n-1, later)) / (1 + i)
    let answer = answer("valley_packhouse", short);
    let money = answer.year_that_counts().money.as_ref().expect("prices");
    let first = answer.site.money.as_ref().expect("prices").surplus;
    let (i, later) = (money.interest, f64::from(money.years) - 1.0);
    let present = -money.surplus * (1.0 - (1.0 + i).powf(-later)) / i;
    let value = -money.capital_total + (first - present) / (1.0 + i);
    assert!((value - money.net_present_value).abs() < 1e-6 * money.net_present_value.abs(), "{value}");
}

#[test]
fn months_add_up_to_the_days() {
    let answer = answer("valley_packhouse", short);
    let bytes = workbook_of(&answer);
    let (months, days) = (rows(&bytes, "Months"), rows(&bytes, "Days"));
    for header in ["intake, kg", "turned away, kg", "irrigation, kg", "drainage, kg", "harvested, kg"] {
        close(sum(&months, header), sum(&days, header), header);
    }
    let looked_up = formulas(&bytes, "Months");
    let end = format!("${}", 1 + answer.days);
    assert_eq!(looked_up.len(), 11 * (months.len() - 1));
    assert!(
        looked_up.iter().all(|(.., f)| f.starts_with("SUMIFS(Days!") && f.contains(&end)),
        "{looked_up:?}"
    );
}
