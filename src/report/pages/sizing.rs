//! The printed page of a sizing, and its tables for other programs.

use crate::quantity::{Kind, Units};
use crate::report::number::{figure, percent, told};
use crate::report::pages::page::{Page, words};
use crate::report::table::{Align, Cell, Column, Measure, Table};
use crate::study::sizing::{Met, Missed, SizingAnswer, TradeOff, Variable};
use crate::trace::figures;
use std::io;

/// Names of the files of a sizing; its charts come beside them.
pub const SIZE_FILES: [&str; 5] = ["sizes.csv", "trade_off.csv", "start_up.csv", "result.json", "size.txt"];

/// Share of the intake that must be ground for the site to keep up. # Source: our choice
const KEEPS_UP: f64 = 0.95;

/// A column of numbers that were put in words, flush right.
fn told_column(name: &str) -> Column {
    Column { name: name.to_owned(), measure: Measure::Words, align: Align::Right }
}

/// A figure with its unit.
fn of_figure(name: &str, unit: &str, value: f64, units: Units) -> String {
    match figures::figure(name).map(|figure| figure.kind) {
        Some(Kind::Share) => percent(value),
        Some(kind) if kind.unit().is_empty() && unit != "1" => format!("{} {unit}", figure(value)),
        Some(kind) => told(kind, value, units),
        None => format!("{} {unit}", figure(value)),
    }
}

/// The answer to *size* as a page of text.
pub fn sizing_text(answer: &SizingAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&answer.name);
    page.line("question", "the cheapest site that meets the targets");
    page.line("run", &format!("{} days from {}", answer.days, answer.start));
    let sites = format!("{} sites judged with {} draws in all", answer.candidates, answer.draws_made);
    page.line(
        "effort",
        &format!(
            "{sites}: {} each in the search, up to {} near the answer; seed {}",
            answer.draws, answer.verified_draws, answer.seed
        ),
    );
    sizes(answer, &mut page);
    targets(answer, &mut page);
    risks(answer, &mut page);
    smaller(answer, &mut page);
    if let Some(trade_off) = &answer.trade_off {
        page.heading(&format!("{} against {}", capital(trade_off.follows), words(trade_off.set)));
        page.paragraph(&format!(
            "For each value of {} about the {} with which every target is met, by the same {} draws and the same rule as the answer; {}. \
             Where none that was tried meets them, the nearest stands with the targets it misses: the share of its draws in \
             which each holds < the share that is needed.",
            words(trade_off.set),
            fewest(trade_off.follows),
            answer.verified_draws,
            others(trade_off)
        ));
        page.table(&told_trade_off(answer, trade_off, units));
    }
    page.heading("Buying the stock against growing it");
    page.paragraph(
        "Full intake: over four weeks less than 2 % turned away and nine tenths of what the whole stock would eat at the end.",
    );
    page.table(&start_up(answer, true));
    demand(answer, &mut page);
    page.heading("Beside printed rules");
    page.table(&compared(answer));
    reversals(answer, &mut page);
    page.into_text()
}

/// The least of a size, as a sentence bears it.
pub(crate) fn fewest(name: &str) -> String {
    let least = if matches!(name, "drums" | "grinder_hours") { "fewest" } else { "least" };
    format!("{least} {}", words(name))
}

/// What the sizes are that a trade-off does not trade.
pub(crate) fn others(trade_off: &TradeOff) -> &'static str {
    if trade_off.stocked {
        "beds are stocked as densely as in the answer, and all else is as there"
    } else {
        "all other sizes are as in the answer"
    }
}

fn capital(name: &str) -> String {
    let name = words(name);
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn amount(variable: &Variable, value: Option<f64>, units: Units) -> String {
    value.map_or_else(|| "-".to_owned(), |value| told(variable.kind, value, units))
}

fn sizes(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Sizes");
    let names = ["answer", "plan", "by hand", "least alone", "tried"];
    let mut columns = vec![Column::words("size")];
    columns.extend(names.map(told_column));
    columns.extend([told_column("cost of one"), Column::words("from")]);
    let mut table = Table::new("", columns);
    let units = page.units();
    for v in &answer.variables {
        let tried = match (v.low, v.high) {
            (Some(low), Some(high)) => {
                format!("{} to {}", told(v.kind, low, units), told(v.kind, high, units))
            }
            _ => "held".to_owned(),
        };
        let value = if v.value.is_none() { "no limit".to_owned() } else { amount(v, v.value, units) };
        table.push(vec![
            words(v.name).into(),
            value.into(),
            amount(v, v.plan, units).into(),
            told(v.kind, v.by_hand, units).into(),
            amount(v, v.least, units).into(),
            tried.into(),
            figure(v.weight).into(),
            v.basis.into(),
        ]);
    }
    page.table(&table);
    let money = answer.currency.as_deref().unwrap_or("(assumed weights)");
    let plan =
        answer.plan_cost.map_or_else(String::new, |cost| format!("; the plan's own sizes: {}", figure(cost)));
    page.line("cost", &format!("{} {money}{plan}", figure(answer.cost)));
    let bound = if answer.proven {
        "none, where more never harms".to_owned()
    } else if answer.cost_bound < answer.cost {
        let bound = figure(answer.cost_bound);
        format!("none below {bound} where more never harms; from there to the answer not all was looked at")
    } else {
        "none was found; as more did harm somewhere, no bound holds".to_owned()
    };
    page.line("cheaper sites that meet all", &bound);
    page.line(
        "least alone",
        "about the least with all others at the largest tried; more than the answer where those harm",
    );
}

/// What is asked of a figure: at most 2.0 %.
pub(crate) fn limits(met: &Met, units: Units) -> String {
    let told = |value: f64| of_figure(&met.figure, met.unit, value, units);
    let least = met.at_least.map(|v| format!("at least {}", told(v)));
    let most = met.at_most.map(|v| format!("at most {}", told(v)));
    least.into_iter().chain(most).collect::<Vec<_>>().join(" and ")
}

fn targets(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Targets, on draws the site was not chosen by");
    let columns = vec![
        Column::words("figure"),
        Column::words("target"),
        Column::of("asked", Kind::Share),
        Column::of("achieved", Kind::Share),
        Column::words("95 % interval"),
        told_column("can be promised"),
        Column::words(""),
    ];
    let mut table = Table::new("", columns);
    let units = page.units();
    for met in &answer.targets {
        let note = match (met.met, met.binding) {
            (false, _) => "MISSED",
            (true, true) => "binding",
            (true, false) => "",
        };
        let promised =
            met.promised.map_or_else(|| "-".to_owned(), |v| of_figure(&met.figure, met.unit, v, units));
        table.push(vec![
            words(&met.figure).into(),
            limits(met, units).into(),
            met.chance.into(),
            met.share.into(),
            format!("{} to {}", percent(met.low), percent(met.high)).into(),
            promised.into(),
            note.into(),
        ]);
    }
    page.table(&table);
    for met in &answer.targets {
        page.line(&words(&met.figure), met.what);
    }
    page.line("draws of the verification", &format!("{}, seed {}", answer.verified_draws, answer.fresh_seed));
    page.line(
        "can be promised",
        &format!(
            "the limit these draws show with the chance asked and {} confidence",
            percent(answer.confidence)
        ),
    );
    if answer.raised > 0 {
        let times =
            format!("the search was made stricter {} times, a fresh seed having fallen short", answer.raised);
        page.line("note", &times);
    }
}

fn risks(answer: &SizingAnswer, page: &mut Page) {
    page.heading("What else may go wrong, on the same draws");
    let columns =
        vec![Column::words("failure"), Column::of("draws", Kind::Share), Column::words("95 % interval")];
    let mut table = Table::new("", columns);
    for risk in &answer.risks {
        let interval = format!("{} to {}", percent(risk.low), percent(risk.high));
        table.push(vec![risk.statement.into(), risk.share.into(), interval.into()]);
    }
    page.table(&table);
    page.paragraph("What is not to happen can be made a target: see `sizing.targets`.");
}

fn smaller(answer: &SizingAnswer, page: &mut Page) {
    page.heading("The next smaller site");
    let units = page.units();
    for smaller in &answer.smaller {
        let variable = answer.variables.iter().find(|v| v.name == smaller.variable);
        let value = variable.map_or_else(String::new, |v| amount(v, smaller.value, units));
        let why = match (smaller.value, smaller.missed.is_empty()) {
            (None, _) => "the least tried is enough".to_owned(),
            (Some(_), true) => {
                format!("{value}: meets every target, but no cheaper site was found from there")
            }
            (Some(_), false) => {
                let told = |m: &Missed| {
                    let (share, needed) = (percent(m.share), percent(m.needed));
                    format!("{} holds in {share}, {needed} are needed", words(&m.figure))
                };
                format!("{value} fails: {}", smaller.missed.iter().map(told).collect::<Vec<_>>().join("; "))
            }
        };
        page.line(&words(smaller.variable), &why);
    }
}

/// Targets missed, briefly: how often each holds and how often it would have to.
fn missed(all: &[Missed]) -> String {
    let told = |m: &Missed| format!("{} {} < {}", words(&m.figure), percent(m.share), percent(m.needed));
    let draws = all.first().map_or(0, |m| m.draws);
    format!("{} ({draws} draws)", all.iter().map(told).collect::<Vec<_>>().join(", "))
}

fn told_trade_off(answer: &SizingAnswer, trade_off: &TradeOff, units: Units) -> Table {
    let columns = vec![
        told_column(&words(trade_off.set)),
        told_column(&words(trade_off.follows)),
        Column::plain("cost", ""),
        Column::words("targets"),
    ];
    let mut table = Table::new("", columns);
    let kind = |name: &str| answer.variables.iter().find(|v| v.name == name).map_or(Kind::Factor, |v| v.kind);
    let (set, follows) = (kind(trade_off.set), kind(trade_off.follows));
    for point in &trade_off.points {
        let targets = match (point.answer, point.meets()) {
            (true, _) => "met: the answer".to_owned(),
            (false, true) => "met".to_owned(),
            (false, false) => missed(&point.missed),
        };
        let sizes = [told(set, point.set, units), told(follows, point.follows, units)];
        table.push(sizes.map(Cell::from).into_iter().chain([point.cost.into(), targets.into()]).collect());
    }
    table
}

fn start_up(answer: &SizingAnswer, shown: bool) -> Table {
    let whole = |n: Option<u32>| Cell::from(n.map(f64::from));
    let columns = vec![
        Column::of("bought", Kind::Share),
        Column::of("worms bought", Kind::Mass),
        Column::plain("cost", ""),
        Column::plain("full intake in month", ""),
        Column::plain("at latest", ""),
        Column::of("draws reach it", Kind::Share),
        Column::of("turned away", Kind::Share),
        Column::of("worms at the end", Kind::Mass),
    ];
    let mut table = Table::new("", columns);
    for way in &answer.start_up {
        table.push(vec![
            way.bought_share.into(),
            way.bought.into(),
            way.cost.into(),
            whole(if shown { way.month } else { way.day }),
            whole(way.late_month),
            way.reached.into(),
            way.turned_away.into(),
            way.stock_end.into(),
        ]);
    }
    if !shown {
        "day of full intake".clone_into(&mut table.columns[3].name);
        "late month".clone_into(&mut table.columns[4].name);
    }
    table
}

fn demand(answer: &SizingAnswer, page: &mut Page) {
    page.line("month of full intake", "in half of the draws; at latest: in nine tenths");
    page.heading("What it asks of grinder, bran and drums, with central values");
    let d = &answer.demand;
    page.line("grinding on the busiest day", &told(Kind::Hours, d.grinder_hours, page.units()));
    if d.bran_weekly > 0.0 {
        page.line("bran begun in the largest week", &told(Kind::Mass, d.bran_weekly, page.units()));
    }
    page.line("most drums in use at night", &figure(d.drums));
    page.line(
        "ground of what is taken in",
        &format!("{} over the last quarter of the run", percent(d.keeps_up)),
    );
    if d.keeps_up < KEEPS_UP {
        page.item(
            "caution: ",
            "the drums store what the beds do not take; a longer run would turn intake away. Run more days, or ask for it with a target on `fed`.",
        );
    }
}

fn compared(answer: &SizingAnswer) -> Table {
    let columns = vec![
        Column::words("rule"),
        Column::plain("ours", ""),
        Column::words("printed"),
        Column::words("unit"),
        Column::words("verdict"),
        Column::words("facts key"),
    ];
    let mut table = Table::new("", columns);
    for c in &answer.compared {
        let one = c.high - c.low <= 0.0;
        let printed = if one { figure(c.low) } else { format!("{} to {}", figure(c.low), figure(c.high)) };
        let verdict = match () {
            () if c.inside => "inside".to_owned(),
            () if one => format!("{} of it", percent(c.ours / c.low)),
            () if c.ours < c.low => format!("below: {} of low", percent(c.ours / c.low)),
            () => format!("above: {} of high", percent(c.ours / c.high)),
        };
        table.push(vec![
            c.what.into(),
            c.ours.into(),
            printed.into(),
            c.unit.into(),
            verdict.into(),
            c.key.into(),
        ]);
    }
    table
}

fn reversals(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Whether more never harms");
    if answer.reversals.is_empty() {
        page.paragraph("No larger site met a target in clearly fewer draws than a smaller one.");
    }
    for r in &answer.reversals {
        let larger: Vec<String> = r.larger.iter().map(|name| words(name)).collect();
        let text = format!(
            "{} fails in {} of draws with more of: {}. The bound on cost does not hold for it; the answer itself was tried as it stands.",
            words(&r.figure),
            percent(r.lost),
            larger.join(", ")
        );
        page.item("- ", &text);
    }
}

/// The tables for other programs as CSV in SI: sizes, trade-off, start-up, as the first three of [`SIZE_FILES`].
///
/// # Errors
/// When a table cannot be written as CSV: our fault.
pub fn sizing_tables(answer: &SizingAnswer) -> io::Result<[String; 3]> {
    let numbers = ["value", "plan", "by hand", "least alone", "low", "high", "step", "weight"];
    let mut columns = vec![Column::words("size"), Column::words("unit")];
    columns.extend(numbers.map(|name| Column::plain(name, "")));
    columns.push(Column::words("basis"));
    let mut sizes = Table::new("", columns);
    for v in &answer.variables {
        let mut row: Vec<Cell> = vec![v.name.into(), v.unit.into()];
        row.extend(
            [v.value, v.plan, Some(v.by_hand), v.least, v.low, v.high, v.step, Some(v.weight)]
                .map(Cell::from),
        );
        row.push(v.basis.into());
        sizes.push(row);
    }
    let (set, follows) = answer.trade_off.as_ref().map_or(("set", "follows"), |t| (t.set, t.follows));
    let mut columns = [set, follows, "cost", "answer", "meets"].map(|name| Column::plain(name, "")).to_vec();
    columns.push(Column::words("missed"));
    let mut trade_off = Table::new("", columns);
    for p in answer.trade_off.iter().flat_map(|t| &t.points) {
        let [answer, meets] = [p.answer, p.meets()].map(|holds| f64::from(u8::from(holds)));
        let missed: Vec<&str> = p.missed.iter().map(|m| m.figure.as_str()).collect();
        let mut row: Vec<Cell> = [p.set, p.follows, p.cost, answer, meets].map(Cell::from).to_vec();
        row.push(missed.join("; ").into());
        trade_off.push(row);
    }
    let csv = |table: &Table| -> io::Result<String> {
        let mut bytes = Vec::new();
        table.write_csv(Units::Si, &mut bytes)?;
        String::from_utf8(bytes).map_err(|e| io::Error::new(io::ErrorKind::InvalidData, e))
    };
    Ok([csv(&sizes)?, csv(&trade_off)?, csv(&start_up(answer, false))?])
}
