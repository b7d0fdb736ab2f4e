//! The printed page of a sizing, and its tables for other programs.

use crate::quantity::{Kind, Units};
use crate::report::number::{format_interval, format_number, format_percent, format_quantity};
use crate::report::pages::page::{Page, capital, words};
use crate::report::pages::uncertainty::statement;
use crate::report::table::{Cell, Column, Table};
use crate::study::sizing::{Met, Missed, SizingAnswer, TradeOff, Variable};
use crate::trace::figures;
use std::io;

/// Names of the files of a sizing; its charts come beside them.
pub const SIZE_FILES: [&str; 5] = ["sizes.csv", "trade_off.csv", "start_up.csv", "result.json", "size.txt"];

/// Share of the intake that must be ground for the site to keep up. Source: our choice.
const KEEPS_UP: f64 = 0.95;

/// A figure with its unit.
fn format_value(name: &str, unit: &str, value: f64, units: Units) -> String {
    match figures::figure(name).map(|figure| figure.kind) {
        Some(Kind::Share) => format_percent(value),
        Some(kind) if kind.unit().is_empty() && unit != "1" => format!("{} {unit}", format_number(value)),
        Some(kind) => format_quantity(kind, value, units),
        None => format!("{} {unit}", format_number(value)),
    }
}

/// The answer to *size* as a page of text.
pub fn sizing_text(answer: &SizingAnswer, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading(&answer.name);
    page.line("goal", "the cheapest site that meets the targets");
    page.line("run", &format!("{} days from {}", answer.days, answer.start));
    let sites = format!("{} sites tried with {} draws in total", answer.candidates, answer.draws_made);
    page.line(
        "search",
        &format!(
            "{sites}: {} each in the search, up to {} near the answer; seed {}",
            answer.draws, answer.verified_draws, answer.seed
        ),
    );
    page.explain_draw();
    sizes(answer, &mut page);
    targets(answer, &mut page);
    risks(answer, &mut page);
    smaller(answer, &mut page);
    if let Some(trade_off) = &answer.trade_off {
        page.heading(&format!("{} against {}", capital(trade_off.follows), words(trade_off.set)));
        page.paragraph(&format!(
            "For each value of {}, the {} with which every target is met, on the same {} draws and by the same rule as the answer; {}. \
             If no site tried meets them all, the row shows the nearest one and the targets it misses: the share of draws that meets \
             the target < the share required.",
            words(trade_off.set),
            fewest(trade_off.follows),
            answer.verified_draws,
            others(trade_off)
        ));
        page.table(&trade_off_table(answer, trade_off, units));
    }
    page.heading("Buying or growing the stock");
    page.paragraph(
        "Full intake: over four weeks less than 2 % of the intake is turned away, and the worms eat at least nine tenths of what a stock bought whole eats at the end.",
    );
    page.table(&start_up(answer, true));
    demand(answer, &mut page);
    page.heading("Comparison with published rules");
    page.table(&compared(answer));
    reversals(answer, &mut page);
    page.into_text()
}

/// The smallest amount of a size, for a sentence.
pub(crate) fn fewest(name: &str) -> String {
    let least = if matches!(name, "drums" | "grinder_hours") { "fewest" } else { "least" };
    format!("{least} {}", words(name))
}

/// What a trade-off assumes of the sizes that it does not vary.
pub(crate) fn others(trade_off: &TradeOff) -> &'static str {
    if trade_off.stocked {
        "beds are stocked as densely as in the answer, and all other sizes are the same"
    } else {
        "all other sizes are the same as in the answer"
    }
}

fn amount(variable: &Variable, value: Option<f64>, units: Units) -> String {
    value.map_or_else(|| "-".to_owned(), |value| format_quantity(variable.kind, value, units))
}

fn sizes(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Sizes");
    let names = ["answer", "plan", "estimate", "minimum", "tried"];
    let mut columns = vec![Column::words("size")];
    columns.extend(names.map(Column::words_right));
    columns.extend([Column::words_right("unit cost"), Column::words("source")]);
    let mut table = Table::new("", columns);
    let units = page.units();
    for v in &answer.variables {
        let tried = match (v.low, v.high) {
            (Some(low), Some(high)) => format_interval(v.kind, low, high, units),
            _ => "fixed".to_owned(),
        };
        let value = if v.value.is_none() { "no limit".to_owned() } else { amount(v, v.value, units) };
        table.push(vec![
            words(v.name).into(),
            value.into(),
            amount(v, v.plan, units).into(),
            format_quantity(v.kind, v.by_hand, units).into(),
            amount(v, v.least, units).into(),
            tried.into(),
            format_number(v.weight).into(),
            v.basis.into(),
        ]);
    }
    page.table(&table);
    let money = answer.currency.as_deref().unwrap_or("(assumed weights)");
    let plan = answer
        .plan_cost
        .map_or_else(String::new, |cost| format!("; the plan as given: {}", format_number(cost)));
    page.line("cost", &format!("{} {money}{plan}", format_number(answer.cost)));
    let bound = if answer.proven {
        "none, if a larger site never does worse".to_owned()
    } else if answer.cost_bound < answer.cost {
        let bound = format_number(answer.cost_bound);
        format!(
            "none below {bound}, if a larger site never does worse; not every site between that and the answer was tried"
        )
    } else {
        "none found; a larger site did worse, so no lower bound can be given".to_owned()
    };
    page.line("cheaper sites that meet all", &bound);
    page.line("estimate", "from the mean intake, before any simulation");
    page.line(
        "minimum",
        "about the smallest that meets the targets with all other sizes at the largest tried; it can exceed the answer if those do harm",
    );
}

/// The limits of a target: "at most 2.0 %".
pub(crate) fn limits(met: &Met, units: Units) -> String {
    let limit = |value: f64| format_value(&met.figure, met.unit, value, units);
    let low = met.at_least.map(|v| format!("at least {}", limit(v)));
    let high = met.at_most.map(|v| format!("at most {}", limit(v)));
    low.into_iter().chain(high).collect::<Vec<_>>().join(" and ")
}

fn targets(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Targets, checked on new draws");
    let columns = vec![
        Column::words("figure"),
        Column::words("target"),
        Column::of("required", Kind::Share),
        Column::of("achieved", Kind::Share),
        Column::words("95 % interval"),
        Column::words_right("achievable limit"),
        Column::words(""),
    ];
    let mut table = Table::new("", columns);
    let units = page.units();
    for met in &answer.targets {
        let note = match (met.met, met.binding) {
            (false, _) => "MISSED",
            (true, true) => "decides the size",
            (true, false) => "",
        };
        let promised =
            met.promised.map_or_else(|| "-".to_owned(), |v| format_value(&met.figure, met.unit, v, units));
        table.push(vec![
            words(&met.figure).into(),
            limits(met, units).into(),
            met.chance.into(),
            met.share.into(),
            format_interval(Kind::Share, met.low, met.high, units).into(),
            promised.into(),
            note.into(),
        ]);
    }
    page.table(&table);
    for met in &answer.targets {
        page.line(&words(&met.figure), met.what);
    }
    page.line("draws of this check", &format!("{}, seed {}", answer.verified_draws, answer.fresh_seed));
    page.line(
        "achievable limit",
        &format!(
            "the limit that the required share of draws meets, with {} confidence",
            format_percent(answer.confidence)
        ),
    );
    if answer.raised > 0 {
        let times =
            format!("the search was tightened {} times because new draws missed a target", answer.raised);
        page.line("note", &times);
    }
}

fn risks(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Other risks, on the same draws");
    let columns =
        vec![Column::words("failure"), Column::of("draws", Kind::Share), Column::words("95 % interval")];
    let mut table = Table::new("", columns);
    for risk in &answer.risks {
        let interval = format_interval(Kind::Share, risk.low, risk.high, page.units());
        table.push(vec![statement(risk.statement, page.units()).into(), risk.share.into(), interval.into()]);
    }
    page.table(&table);
    page.paragraph("To rule one of these out, add it as a target to `sizing.targets` of the scenario.");
}

fn smaller(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Next smaller site");
    let units = page.units();
    for smaller in &answer.smaller {
        let variable = answer.variables.iter().find(|v| v.name == smaller.variable);
        let value = variable.map_or_else(String::new, |v| amount(v, smaller.value, units));
        let why = match (smaller.value, smaller.missed.is_empty()) {
            (None, _) => "the smallest tried is enough".to_owned(),
            (Some(_), true) => {
                format!("{value}: meets every target, but no cheaper site was found from there")
            }
            (Some(_), false) => {
                let reason = |m: &Missed| {
                    let (share, needed) = (format_percent(m.share), format_percent(m.needed));
                    format!("target on {} met in {share} of draws, {needed} required", words(&m.figure))
                };
                format!("{value} fails: {}", smaller.missed.iter().map(reason).collect::<Vec<_>>().join("; "))
            }
        };
        page.line(&words(smaller.variable), &why);
    }
}

/// Targets missed: the share of draws that meets each, and the share required.
fn missed(all: &[Missed]) -> String {
    let one = |m: &Missed| {
        format!("{} {} < {}", words(&m.figure), format_percent(m.share), format_percent(m.needed))
    };
    let draws = all.first().map_or(0, |m| m.draws);
    format!("{} ({draws} draws)", all.iter().map(one).collect::<Vec<_>>().join(", "))
}

fn trade_off_table(answer: &SizingAnswer, trade_off: &TradeOff, units: Units) -> Table {
    let columns = vec![
        Column::words_right(&words(trade_off.set)),
        Column::words_right(&words(trade_off.follows)),
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
        let sizes = [format_quantity(set, point.set, units), format_quantity(follows, point.follows, units)];
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
        Column::of("draws that reach it", Kind::Share),
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
    page.line("full intake in month", "reached by half of the draws; at latest: by nine tenths of them");
    page.heading("Grinder, bran and drums required in the best-estimate run");
    let d = &answer.demand;
    page.line("grinding on the busiest day", &format_quantity(Kind::Hours, d.grinder_hours, page.units()));
    if d.bran_weekly > 0.0 {
        page.line(
            "bran started in the busiest week",
            &format_quantity(Kind::Mass, d.bran_weekly, page.units()),
        );
    }
    page.line("most drums in use", &format_number(d.drums));
    page.line(
        "share of the intake ground",
        &format!("{} over the last quarter of the run", format_percent(d.keeps_up)),
    );
    if d.keeps_up < KEEPS_UP {
        page.item(
            "caution: ",
            "the drums are filling up because the beds take less than arrives; a longer run would turn intake away. Run more days, or add a target on `fed`.",
        );
    }
}

fn compared(answer: &SizingAnswer) -> Table {
    let columns = vec![
        Column::words("rule"),
        Column::plain("this site", ""),
        Column::words("published"),
        Column::words("unit"),
        Column::words("verdict"),
    ];
    let mut table = Table::new("", columns);
    for c in &answer.compared {
        let one = c.high - c.low <= 0.0;
        let published = if one {
            format_number(c.low)
        } else {
            format!("{} to {}", format_number(c.low), format_number(c.high))
        };
        let verdict = match () {
            () if c.inside => "within".to_owned(),
            () if one => format!("{} of it", format_percent(c.ours / c.low)),
            () if c.ours < c.low => format!("below: {} of the low end", format_percent(c.ours / c.low)),
            () => format!("above: {} of the high end", format_percent(c.ours / c.high)),
        };
        table.push(vec![c.what.into(), c.ours.into(), published.into(), c.unit.into(), verdict.into()]);
    }
    table
}

fn reversals(answer: &SizingAnswer, page: &mut Page) {
    page.heading("Larger sites that do worse");
    if answer.reversals.is_empty() {
        page.paragraph("No larger site met a target in clearly fewer draws than a smaller one.");
    }
    for r in &answer.reversals {
        let larger: Vec<String> = r.larger.iter().map(|name| words(name)).collect();
        let text = format!(
            "{}: in {} of draws only the site with less of {} meets the target. The lower bound on cost does not hold here; the answer itself was simulated as it is.",
            words(&r.figure),
            format_percent(r.lost),
            larger.join(", ")
        );
        page.item("- ", &text);
    }
}

/// The tables for other programs as CSV in SI: sizes, trade-off, start-up; the first three of [`SIZE_FILES`].
///
/// # Errors
/// When a table cannot be written as CSV: a fault of the program.
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
    Ok([sizes.to_csv()?, trade_off.to_csv()?, start_up(answer, false).to_csv()?])
}
