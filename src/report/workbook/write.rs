//! Sheets as a file: the only place that knows the spreadsheet library.

use super::sheet::{Sheet, SheetChart};
use crate::quantity::Units;
use crate::report::table::{Cell, Column, Measure};
use jiff::civil::Date;
use rust_xlsxwriter::{
    Chart, ChartType, ColNum, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Formula,
    RowNum, Workbook, Worksheet, XlsxError,
};

/// Widths of columns, in characters: least, most, and of a date.
const WIDTHS: (f64, f64, f64) = (9.0, 60.0, 12.0);
/// Width of numbers with their unit above them.
const NUMBER: f64 = 13.0;
/// Height of a line, pt.
const LINE: f64 = 15.0;
/// Width and height of a chart, px.
const CHART: (u32, u32) = (860, 420);
/// Letters that a cell holds.
const MOST_LETTERS: usize = 32_000;
/// Ground of headers.
const HEADER: u32 = 0x00_E4_E9_EC;

/// Writes sheets; `start` is given as the day of making, so that the same run gives the same bytes.
///
/// # Errors
/// When a sheet is longer or wider than the format allows.
pub(super) fn write(sheets: &[&Sheet], start: Date, units: Units) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let day = date(start).map_or_else(|| ExcelDateTime::from_ymd(2000, 1, 1), Ok)?;
    book.set_properties(&DocProperties::new().set_author("Loamledger").set_creation_datetime(&day));
    for sheet in sheets {
        fill(book.add_worksheet(), sheet, units)?;
    }
    book.save_to_buffer()
}

/// A date as spreadsheets know it; None before 1900.
fn date(date: Date) -> Option<ExcelDateTime> {
    let (year, month, day) =
        (date.year().try_into().ok()?, date.month().try_into().ok()?, date.day().try_into().ok()?);
    ExcelDateTime::from_ymd(year, month, day).ok()
}

fn fill(page: &mut Worksheet, sheet: &Sheet, units: Units) -> Result<(), XlsxError> {
    page.set_name(sheet.name)?;
    let header = Format::new()
        .set_bold()
        .set_text_wrap()
        .set_align(FormatAlign::Top)
        .set_background_color(HEADER)
        .set_border_bottom(FormatBorder::Thin);
    let mut lines: f64 = 1.0;
    for (n, column) in (0..).zip(&sheet.table.columns) {
        let name = column.title(units);
        let width = fill_column(page, sheet, (n, column), units)?;
        lines = lines.max((1.3 * name.chars().count() as f64 / width).ceil());
        page.write_string_with_format(0, n, name, &header)?;
    }
    page.set_row_height(0, LINE * lines)?;
    page.set_freeze_panes(1, sheet.kept)?;
    let (rows, columns) = (sheet.table.rows.len(), sheet.table.columns.len());
    if let (true, Ok(last), Ok(right)) =
        (sheet.filtered && rows > 0, RowNum::try_from(rows), ColNum::try_from(columns))
    {
        page.autofilter(0, 0, last, right.saturating_sub(1))?;
    }
    if let Some(chart) = &sheet.chart {
        beside(page, sheet, chart)?;
    }
    page.set_landscape().set_print_fit_to_pages(1, 0).set_repeat_rows(0, 0)?;
    Ok(())
}

/// Puts a chart beside the rows.
fn beside(page: &mut Worksheet, sheet: &Sheet, of: &SheetChart) -> Result<(), XlsxError> {
    let (Ok(last), Ok(right)) =
        (RowNum::try_from(sheet.table.rows.len()), ColNum::try_from(sheet.table.columns.len()))
    else {
        return Ok(());
    };
    let mut chart = Chart::new(if of.bars { ChartType::Column } else { ChartType::Line });
    for column in of.columns.iter().filter_map(|column| ColNum::try_from(*column).ok()) {
        chart
            .add_series()
            .set_name((sheet.name, 0, column))
            .set_categories((sheet.name, 1, 0, last, 0))
            .set_values((sheet.name, 1, column, last, column));
    }
    chart.title().set_name(&of.title);
    chart.set_width(CHART.0).set_height(CHART.1);
    page.insert_chart(1, right.saturating_add(1), &chart)?;
    Ok(())
}

/// Writes the cells of a column under its header; returns its width.
fn fill_column(
    page: &mut Worksheet,
    sheet: &Sheet,
    (n, column): (ColNum, &Column),
    units: Units,
) -> Result<f64, XlsxError> {
    let cells = || sheet.table.rows.iter().filter_map(|row| row.get(usize::from(n)));
    let numbers = cells().filter_map(|value| match value {
        Cell::Number(number) => Some(column.measure.convert(*number, units)),
        _ => None,
    });
    let numbered =
        Format::new().set_num_format(format(column, numbers.fold(0.0, |most, v| most.max(v.abs()))));
    let dated = Format::new().set_num_format("yyyy-mm-dd").set_align(FormatAlign::Left);
    let worded = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    let mut width = if matches!(column.measure, Measure::Words) { WIDTHS.0 } else { NUMBER };
    for (row, cells) in (1..).zip(&sheet.table.rows) {
        let at: (RowNum, ColNum) = (row, n);
        match cells.get(usize::from(n)) {
            Some(Cell::Number(number)) if number.is_finite() => {
                let value = column.measure.convert(*number, units);
                match usize::try_from(row).ok().and_then(|row| sheet.formulas.get(&(row, usize::from(n)))) {
                    Some(formula) => {
                        let formula = Formula::new(formula).set_result(value.to_string());
                        page.write_formula_with_format(at.0, at.1, formula, &numbered)?;
                    }
                    None => {
                        page.write_number_with_format(at.0, at.1, value, &numbered)?;
                    }
                }
            }
            Some(Cell::Words(text)) => {
                width = width.max(1.1 * text.chars().count() as f64);
                let text: String = text.chars().take(MOST_LETTERS).collect();
                page.write_string_with_format(at.0, at.1, text, &worded)?;
            }
            Some(Cell::Date(day)) => {
                width = width.max(WIDTHS.2);
                match date(*day) {
                    Some(day) => page.write_datetime_with_format(at.0, at.1, &day, &dated)?,
                    None => page.write_string(at.0, at.1, day.to_string())?,
                };
            }
            Some(Cell::Empty | Cell::Number(_)) | None => {}
        }
    }
    let width = width.min(WIDTHS.1);
    page.set_column_width(n, width)?;
    Ok(width)
}

/// The format of a column of numbers by the size of its largest: some four figures, all digits behind them.
fn format(column: &Column, most: f64) -> &'static str {
    if matches!(column.measure, Measure::Plain("1")) {
        return "#,##0.###";
    }
    match most {
        v if v >= 1000.0 => "#,##0",
        v if v >= 100.0 => "#,##0.0",
        v if v >= 1.0 => "0.00",
        v if v >= 0.001 => "0.0000",
        v if v > 0.0 => "0.00E+00",
        _ => "0",
    }
}
