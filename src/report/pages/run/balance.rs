//! Intake, movements, what is held, elements over the gate, and where they go.

use crate::quantity::Kind;
use crate::report::number::{percent, told};
use crate::report::pages::page::{Page, words};
use crate::report::table::{Cell, Column, Table};
use crate::study::answer::{Amounts, RunAnswer};
use crate::trace::CLOSURE_TOLERANCE;

/// Holder beyond the gate, as the ledger names it.
const OUTSIDE: &str = "outside";
/// Holder of gases, as the ledger names it.
const AIR: &str = "air";

/// Shares of the largest movement below which an amount is rounding. # Units: kg/kg
const DUST: f64 = 1e-12;

/// The seven amounts as columns.
fn amount_columns() -> [Column; 7] {
    ["wet", "water", "dry", "C", "N", "P", "K"].map(|name| Column::of(name, Kind::Mass))
}

fn amount_cells(a: &Amounts) -> [Cell; 7] {
    [a.wet, a.water, a.dry, a.carbon, a.nitrogen, a.phosphorus, a.potassium].map(Cell::Number)
}

/// Intake by stream.
pub(in crate::report) fn intake(answer: &RunAnswer, page: &mut Page) {
    page.heading("Intake");
    let mut columns = vec![Column::words("stream")];
    columns.extend(amount_columns());
    columns.push(Column::of("turned away", Kind::Mass));
    columns.push(Column::of("sorted out", Kind::Mass));
    let mut table = Table::new("", columns);
    for stream in &answer.streams {
        let mut row: Vec<Cell> = vec![stream.name.as_str().into()];
        row.extend(amount_cells(&stream.delivered));
        row.extend([stream.turned_away.into(), stream.contamination.into()]);
        table.push(row);
    }
    page.table(&table);
    let offered: f64 = answer.streams.iter().map(|s| s.delivered.wet).sum();
    let away: f64 = answer.streams.iter().map(|s| s.turned_away).sum();
    if away > 0.0 && offered > 0.0 {
        let text =
            format!("{}, {} of what arrived", told(Kind::Mass, away, page.units()), percent(away / offered));
        page.line("turned away for want of a drum", &text);
    }
}

/// Amounts with the rounding left of sums that cancel shown as nothing; `scale` is the size of the largest sum.
fn without_dust(a: &Amounts, scale: f64) -> Amounts {
    let clean = |value: f64| if value.abs() < DUST * scale { 0.0 } else { value };
    Amounts {
        wet: clean(a.wet),
        water: clean(a.water),
        dry: clean(a.dry),
        carbon: clean(a.carbon),
        nitrogen: clean(a.nitrogen),
        phosphorus: clean(a.phosphorus),
        potassium: clean(a.potassium),
    }
}

/// Movements by stage, and what every stage holds.
pub(in crate::report) fn movements(answer: &RunAnswer, page: &mut Page) {
    page.heading("Balance by stage");
    let scale = answer.balance.flows.iter().map(|f| f.amounts.wet.abs()).fold(0.0, f64::max);
    let place = |holder: &'static str| if holder == OUTSIDE { "gate" } else { holder };
    let mut columns = vec![Column::words("stage: movement"), Column::words("from > to")];
    columns.extend(amount_columns());
    let mut table = Table::new("Movements of the whole run (gate: in from or out to elsewhere)", columns);
    let mut stage = "";
    for flow in &answer.balance.flows {
        if flow.stage != stage {
            stage = flow.stage;
            table.push(vec![stage.into(), "".into()].into_iter().chain((0..7).map(|_| "".into())).collect());
        }
        let mut row: Vec<Cell> = vec![
            format!("  {}", words(flow.flow)).into(),
            format!("{} > {}", place(flow.from), place(flow.to)).into(),
        ];
        row.extend(amount_cells(&without_dust(&flow.amounts, scale)));
        table.push(row);
    }
    page.table(&table);
    page.paragraph("Wet and dry mass of gases are net of the oxygen taken in.");
    held(answer, scale, page);
}

fn held(answer: &RunAnswer, scale: f64, page: &mut Page) {
    let mut columns = vec![Column::words("stage"), Column::words("")];
    columns.extend(amount_columns());
    let mut table = Table::new("Held by each stage", columns);
    for held in &answer.balance.held {
        for (when, amounts) in [("start", &held.start), ("end", &held.end)] {
            let mut row: Vec<Cell> = vec![if when == "start" { held.stage } else { "" }.into(), when.into()];
            row.extend(amount_cells(&without_dust(amounts, scale)));
            table.push(row);
        }
    }
    page.table(&table);
}

/// Elements over the gate, and how well the balance closes.
pub(in crate::report) fn gate(answer: &RunAnswer, page: &mut Page) {
    let columns = vec![
        Column::words("element"),
        Column::of("in", Kind::Mass),
        Column::of("out", Kind::Mass),
        Column::of("change held", Kind::Mass),
        Column::of("in - out - change", Kind::Mass),
    ];
    let mut table = Table::new("Elements over the gate", columns);
    for e in &answer.balance.elements {
        let gap = e.into_site - e.out_of_site - e.change;
        table.push(vec![
            e.element.into(),
            e.into_site.into(),
            e.out_of_site.into(),
            e.change.into(),
            gap.into(),
        ]);
    }
    page.table(&table);
    let largest = answer.balance.largest_relative_residual;
    page.line(
        "largest relative residual",
        &format!("{largest:.1e} of any holder, element and day; at most {CLOSURE_TOLERANCE:.0e} is allowed"),
    );
    let closed = largest <= CLOSURE_TOLERANCE;
    page.line("the balance", if closed { "closes" } else { "DOES NOT CLOSE: a fault of the program" });
}

/// A group of ways in or out.
struct Way {
    name: &'static str,
    carbon: f64,
    nitrogen: f64,
    water: f64,
}

impl Way {
    fn of<'a>(name: &'static str, amounts: impl Iterator<Item = &'a Amounts>) -> Self {
        let mut way = Self { name, carbon: 0.0, nitrogen: 0.0, water: 0.0 };
        for a in amounts {
            way.carbon += a.carbon;
            way.nitrogen += a.nitrogen;
            way.water += a.water;
        }
        way
    }
}

/// Carbon, nitrogen and water by way in and out, as shares of all that was brought in.
fn ways(answer: &RunAnswer) -> (Vec<Way>, Vec<Way>) {
    let flows = &answer.balance.flows;
    let chosen = |name,
                  from: Option<&'static str>,
                  to: Option<&'static str>,
                  pick: fn(&str, &str) -> bool| {
        let here = flows.iter().filter(move |f| {
            from.is_none_or(|from| f.from == from) && to.is_none_or(|to| f.to == to) && pick(f.stage, f.flow)
        });
        Way::of(name, here.map(|f| &f.amounts))
    };
    let ways_in = vec![
        chosen("scraps", Some(OUTSIDE), None, |stage, _| stage == "intake"),
        chosen("bulking", Some(OUTSIDE), None, |_, flow| flow == "bulking"),
        chosen("bran, water, compost, worms", Some(OUTSIDE), None, |stage, flow| {
            stage != "intake" && flow != "bulking"
        }),
    ];
    let is_liquor = |flow: &str| matches!(flow, "liquor_drained" | "bed_drainage");
    let mut ways_out = vec![
        chosen("to product", None, Some(OUTSIDE), |stage, _| stage == "product"),
        chosen("to the air", None, Some(AIR), |_, _| true),
        Way::of(
            "to liquor and drainage",
            flows.iter().filter(|f| f.to == OUTSIDE && is_liquor(f.flow)).map(|f| &f.amounts),
        ),
        Way::of(
            "sent away otherwise",
            flows
                .iter()
                .filter(|f| f.to == OUTSIDE && f.stage != "product" && !is_liquor(f.flow))
                .map(|f| &f.amounts),
        ),
    ];
    let (start, end) = answer.balance.held.iter().fold(
        (Amounts::default(), Amounts::default()),
        |(mut start, mut end), held| {
            for (sum, a) in [(&mut start, &held.start), (&mut end, &held.end)] {
                sum.carbon += a.carbon;
                sum.nitrogen += a.nitrogen;
                sum.water += a.water;
            }
            (start, end)
        },
    );
    ways_out.push(Way {
        name: "change in what is held",
        carbon: end.carbon - start.carbon,
        nitrogen: end.nitrogen - start.nitrogen,
        water: end.water - start.water,
    });
    (ways_in, ways_out)
}

/// Where carbon, nitrogen and water go.
pub(in crate::report) fn ways_out(answer: &RunAnswer, page: &mut Page) {
    let (mut ways_in, ways_out) = ways(answer);
    let sum = |ways: &[Way], pick: fn(&Way) -> f64| ways.iter().map(pick).sum::<f64>();
    let brought = [sum(&ways_in, |w| w.carbon), sum(&ways_in, |w| w.nitrogen), sum(&ways_in, |w| w.water)];
    // water is no element: oxidation makes some, hydrolysis takes some
    let made = sum(&ways_out, |w| w.water) - brought[2];
    ways_in.push(Way { name: "made by reactions, net", carbon: 0.0, nitrogen: 0.0, water: made });
    let mut columns = vec![Column::words("")];
    for name in ["carbon", "nitrogen", "water"] {
        columns.push(Column::of(name, Kind::Mass));
        columns.push(Column::of("share", Kind::Share));
    }
    let mut table = Table::new("Where carbon, nitrogen and water go, as shares of all brought in", columns);
    let row = |way: &Way| {
        let mut row: Vec<Cell> = vec![way.name.into()];
        for (value, all) in [way.carbon, way.nitrogen, way.water].into_iter().zip(brought) {
            row.push(value.into());
            row.push(if all > 0.0 { Cell::Number(value / all) } else { Cell::Empty });
        }
        row
    };
    for way in &ways_in {
        table.push(row(way));
    }
    let [carbon, nitrogen, water] = brought;
    table.push(row(&Way { name: "= together", carbon, nitrogen, water: water + made }));
    for way in &ways_out {
        table.push(row(way));
    }
    page.table(&table);
}

/// Gases of the whole run.
pub(in crate::report) fn gases(answer: &RunAnswer, page: &mut Page) {
    let g = &answer.gases;
    let mut table = Table::new("", vec![Column::words("gas"), Column::of("mass", Kind::Mass)]);
    for (name, value) in [
        ("oxygen taken in", g.oxygen_taken_in),
        ("carbon dioxide", g.carbon_dioxide),
        ("methane", g.methane),
        ("ammonia", g.ammonia),
        ("nitrous oxide", g.nitrous_oxide),
        ("nitrogen", g.dinitrogen),
        ("hydrogen", g.hydrogen),
        ("water vapour", g.water_vapour),
    ] {
        table.push(vec![name.into(), value.into()]);
    }
    page.heading("Gases");
    page.table(&table);
}
