//! Sheets of money and work: amounts follow from quantities and prices by formulas, so that a changed price moves everything.

use super::sheet::{Making, Sheet, cell, sum};
use crate::quantity::Units;
use crate::report::pages::run::site::in_units;
use crate::report::table::{Cell, Column};
use crate::site_figures::money::{Line, MoneyFigures};
use crate::study::answer::RunAnswer;

/// Name of the sheet of money.
const MONEY: &str = "Money";
/// Columns of the sheet of money, from 0.
const PRICE: usize = 3;
const LATER: (usize, usize) = (4, 5);
const FIRST: (usize, usize) = (6, 7);
/// Name of the line of wages.
const WAGES: &str = "wages";

/// A block of lines with its sum: of the year that counts, and of the first.
struct Block<'a> {
    name: &'static str,
    later: (&'a [Line], f64),
    first: (&'a [Line], f64),
}

/// Lines of both years by name, in the order of the later one.
fn both<'a>(block: &Block<'a>) -> Vec<(&'a Line, Option<&'a Line>, Option<&'a Line>)> {
    let find = |lines: &'a [Line], name: &str| lines.iter().find(|line| line.name == name);
    let mut out: Vec<_> =
        block.later.0.iter().map(|line| (line, Some(line), find(block.first.0, line.name))).collect();
    let gone = block.first.0.iter().filter(|line| find(block.later.0, line.name).is_none());
    out.extend(gone.map(|line| (line, None, Some(line))));
    out
}

/// Adds a block; returns the row of its sum.
fn add_block(making: &mut Making, block: &Block<'_>, units: Units) -> usize {
    let top = making.next();
    for (n, (line, later, first)) in both(block).into_iter().enumerate() {
        let row = making.next();
        let (_, unit, price) = in_units(line, units);
        let quantity = |line: Option<&Line>| line.map(|line| in_units(line, units).0);
        let amount = |line: Option<&Line>| Cell::from(line.map_or(0.0, |line| line.amount));
        let of = |(quantity, _): (usize, usize)| format!("{}*{}", cell(quantity, row), cell(PRICE, row));
        let name = if n == 0 { block.name } else { "" };
        making.add(
            vec![
                name.into(),
                line.name.into(),
                unit.into(),
                price.into(),
                quantity(later).unwrap_or(0.0).into(),
                amount(later),
                quantity(first).unwrap_or(0.0).into(),
                amount(first),
                line.basis.into(),
            ],
            vec![(LATER.1, of(LATER)), (FIRST.1, of(FIRST))],
        );
    }
    let bottom = making.next();
    let mut row: Vec<Cell> = vec![Cell::Empty, format!("total {}", block.name).into()];
    row.extend([
        Cell::Empty,
        Cell::Empty,
        Cell::Empty,
        block.later.1.into(),
        Cell::Empty,
        block.first.1.into(),
    ]);
    making.add(row, vec![(LATER.1, sum(LATER.1, top..bottom)), (FIRST.1, sum(FIRST.1, top..bottom))])
}

/// What is bought, what a year costs and earns, and what that is worth. None without prices.
pub(super) fn money(answer: &RunAnswer, later_name: &str, units: Units) -> Option<Sheet> {
    let later = answer.year_that_counts().money.as_ref()?;
    let first = answer.site.money.as_ref()?;
    let mut making = Making::default();
    let block =
        |name, of: fn(&MoneyFigures) -> (&[Line], f64)| Block { name, later: of(later), first: of(first) };
    let capital = add_block(&mut making, &block("capital", |m| (&m.capital, m.capital_total)), units);
    let running = add_block(&mut making, &block("cost of a year", |m| (&m.running, m.running_total)), units);
    let income = add_block(&mut making, &block("income of a year", |m| (&m.income, m.income_total)), units);
    worth(&mut making, later, first, [capital, running, income]);
    let currency = &later.currency;
    let number = |name: String| Column::plain(&name, "");
    let columns = [
        Column::words("part"),
        Column::words("item"),
        Column::words("unit"),
        number(format!("price of a unit, {currency} (may be changed)")),
        number(format!("quantity, {later_name}")),
        number(format!("{currency}, {later_name}")),
        number("quantity, first year".to_owned()),
        number(format!("{currency}, first year")),
        Column::words("basis of the quantity"),
    ];
    let missing = if later.not_counted.is_empty() {
        String::new()
    } else {
        format!(" No price is given for {}.", later.not_counted.join(", "))
    };
    let about = format!(
        "Capital, cost and income: amounts are formulas of quantities and prices, so a changed price moves every sum.{missing}"
    );
    Some(Sheet::new(MONEY, &about, 2, columns, making.rows).with_formulas(making.formulas))
}

/// Surplus, annuity and net present value, with interest and years that may be changed.
fn worth(
    making: &mut Making,
    later: &MoneyFigures,
    first: &MoneyFigures,
    [capital, running, income]: [usize; 3],
) {
    let row = |name: &str, later: Cell, first: Cell, basis: &str| -> Vec<Cell> {
        let empty = || Cell::Empty;
        vec!["worth".into(), name.into(), empty(), empty(), empty(), later, empty(), first, basis.into()]
    };
    let less = |column: usize| format!("{}-{}", cell(column, income), cell(column, running));
    let surplus = making.add(
        row("income less cost", later.surplus.into(), first.surplus.into(), ""),
        vec![(LATER.1, less(LATER.1)), (FIRST.1, less(FIRST.1))],
    );
    let interest = making.add(
        row("interest, a share (may be changed)", later.interest.into(), Cell::Empty, "plan"),
        Vec::new(),
    );
    let years = making
        .add(row("years (may be changed)", f64::from(later.years).into(), Cell::Empty, "plan"), Vec::new());
    let at = |row: usize| cell(LATER.1, row);
    let (i, n) = (at(interest), at(years));
    making.add(
        row("annuity of the capital", later.annuity.into(), Cell::Empty, "equal yearly payments"),
        vec![(LATER.1, format!("-PMT({i},{n},{})", at(capital)))],
    );
    making.add(
        row(
            "net present value",
            later.net_present_value.into(),
            Cell::Empty,
            "the first year as it is, every other as the one that counts",
        ),
        vec![(
            LATER.1,
            format!("-{}+({}-PV({i},{n}-1,{}))/(1+{i})", at(capital), cell(FIRST.1, surplus), at(surplus)),
        )],
    );
}

/// The price of a line in the sheet of money: its cell, as formulas of other sheets name it, and its value. None without such a line.
pub(super) fn price_of(money: Option<&Sheet>, line: &str) -> Option<(String, f64)> {
    let rows = &money?.table.rows;
    let place = rows.iter().position(|row| matches!(row.get(1), Some(Cell::Words(name)) if name == line))?;
    let Some(Cell::Number(price)) = rows[place].get(PRICE) else { return None };
    Some((format!("{MONEY}!{}", cell(PRICE, place + 1)), *price))
}

/// Hours by task, with their cost at the wage of the sheet of money.
pub(super) fn labour(answer: &RunAnswer, later_name: &str, money: Option<&Sheet>) -> Sheet {
    let (later, first) = (&answer.year_that_counts().labour, &answer.site.labour);
    let wage = price_of(money, WAGES);
    let mut making = Making::default();
    for task in &later.tasks {
        let row = making.next();
        let before: f64 = first.tasks.iter().filter(|t| t.name == task.name).map(|t| t.hours).sum();
        let basis = if task.basis == "run" { "running time of the machine" } else { "assumed rate" };
        let mut cells: Vec<Cell> = vec![task.name.into(), task.hours.into(), before.into()];
        let mut formulas = Vec::new();
        if let Some((at, price)) = &wage {
            cells.push((task.hours * price).into());
            formulas.push((3, format!("{}*{at}", cell(1, row))));
        }
        cells.push(basis.into());
        making.add(cells, formulas);
    }
    let bottom = making.next();
    let mut cells: Vec<Cell> = vec!["total".into(), later.hours.into(), first.hours.into()];
    let mut formulas = vec![(1, sum(1, 1..bottom)), (2, sum(2, 1..bottom))];
    if let Some((_, price)) = &wage {
        cells.push((later.hours * price).into());
        formulas.push((3, sum(3, 1..bottom)));
    }
    making.add(cells, formulas);
    let mut columns = vec![
        Column::words("task"),
        Column::plain(&format!("hours, {later_name}"), ""),
        Column::plain("hours, first year", ""),
    ];
    columns.extend(wage.map(|_| Column::plain(&format!("wages, {later_name}"), "")));
    columns.push(Column::words("basis"));
    Sheet::new(
        "Labour",
        "Hours of work in a year by task, with wages at the price of the sheet Money.",
        1,
        columns,
        making.rows,
    )
    .with_formulas(making.formulas)
}
