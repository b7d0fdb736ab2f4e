//! Intake, movements, what is held, elements over the gate, and where they go.

use crate::quantity::Kind;
use crate::report::number::{format_percent, format_quantity};
use crate::report::pages::page::Page;
use crate::report::table::{Cell, Column, Table};
use crate::study::answer::{Amounts, FlowAmounts, RunAnswer};
use crate::trace::{CLOSURE_TOLERANCE, Flow, FlowGroup, Holder};

/// Share of the largest movement below which an amount is rounding. Source: our choice.
const DUST: f64 = 1e-12;

/// The seven amounts as columns.
fn amount_columns() -> [Column; 7] {
    ["wet", "water", "dry", "C", "N", "P", "K"].map(|name| Column::of(name, Kind::Mass))
}

fn amount_cells(a: &Amounts) -> [Cell; 7] {
    a.values().map(Cell::Number)
}

/// Intake by stream.
pub(in crate::report) fn intake(answer: &RunAnswer, page: &mut Page) {
    if answer.streams.is_empty() && answer.no_drums_wanted() {
        return;
    }
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
        let text = format!(
            "{}, {} of what arrived",
            format_quantity(Kind::Mass, away, page.units()),
            format_percent(away / offered)
        );
        let lacking = if answer.fresh_scraps {
            "turned away, no room to wait"
        } else {
            "turned away for lack of a drum"
        };
        page.line(lacking, &text);
    }
}

/// Amounts with rounding errors of sums set to 0; `scale` is the size of the largest sum.
fn without_dust(a: &Amounts, scale: f64) -> Amounts {
    Amounts::from_values(a.values().map(|value| if value.abs() < DUST * scale { 0.0 } else { value }))
}

/// Whether a site works with a holder: drums and bran only where scraps are fermented, paste not where all feed was filled in at the start.
fn works_with(answer: &RunAnswer, holder: Holder) -> bool {
    match holder {
        Holder::Drums | Holder::Bran => !answer.no_drums_wanted(),
        Holder::Paste => answer.fresh_scraps || !answer.no_drums_wanted(),
        _ => true,
    }
}

/// Whether a movement can take place on a site.
fn can_move(answer: &RunAnswer, flow: Flow) -> bool {
    let fresh = flow != Flow::FreshScraps || answer.fresh_scraps;
    fresh && works_with(answer, flow.from()) && works_with(answer, flow.to())
}

/// Movements by stage, and what every stage holds.
pub(in crate::report) fn movements(answer: &RunAnswer, page: &mut Page) {
    page.heading("Balance by stage");
    let scale = answer.balance.flows.iter().map(|f| f.amounts.wet.abs()).fold(0.0, f64::max);
    let mut columns = vec![Column::words("stage: movement"), Column::words("from > to")];
    columns.extend(amount_columns());
    let mut table = Table::new("Movements of the whole run", columns);
    let mut group = None;
    for flow in answer.balance.flows.iter().filter(|flow| can_move(answer, flow.flow)) {
        if group != Some(flow.stage) {
            group = Some(flow.stage);
            let name = [flow.stage.name().into(), "".into()];
            table.push(name.into_iter().chain((0..7).map(|_| "".into())).collect());
        }
        let mut row: Vec<Cell> =
            vec![format!("  {}", flow.flow.words()).into(), format!("{} > {}", flow.from, flow.to).into()];
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
    let mut table = Table::new(
        if answer.no_drums_wanted() {
            "Held by each stage"
        } else {
            "Held by each stage (drums: gas under their lids included)"
        },
        columns,
    );
    for held in answer.balance.held.iter().filter(|held| works_with(answer, held.stage)) {
        for (when, amounts) in [("start", &held.start), ("end", &held.end)] {
            let mut row: Vec<Cell> =
                vec![if when == "start" { held.stage.name() } else { "" }.into(), when.into()];
            row.extend(amount_cells(&without_dust(amounts, scale)));
            table.push(row);
        }
    }
    page.table(&table);
}

/// Elements over the whole site, and how well the balance closes.
pub(in crate::report) fn gate(answer: &RunAnswer, page: &mut Page) {
    let columns = vec![
        Column::words("element"),
        Column::of("in", Kind::Mass),
        Column::of("out", Kind::Mass),
        Column::of("change held", Kind::Mass),
        Column::of("in - out - change", Kind::Mass),
    ];
    let mut table = Table::new("Elements over the whole site", columns);
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
        &format!("{largest:.1e} over all stages, elements and days; {CLOSURE_TOLERANCE:.0e} is allowed"),
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
        let sum = amounts.fold(Amounts::default(), |sum, a| sum + *a);
        Self { name, carbon: sum.carbon, nitrogen: sum.nitrogen, water: sum.water }
    }
}

/// Ways in, as [`way_in`] numbers them.
const WAYS_IN: [&str; 3] = ["scraps", "bulking and grit", "bran, water, compost, worms"];

fn way_in(flow: Flow) -> usize {
    match flow {
        Flow::Bulking | Flow::Grit => 1,
        _ if flow.group() == FlowGroup::Intake => 0,
        _ => 2,
    }
}

/// Ways out, as [`way_out`] numbers them.
const WAYS_OUT: [&str; 4] = ["to product", "to the air", "to liquor and drainage", "sent away otherwise"];

fn way_out(flow: Flow) -> usize {
    match flow {
        _ if flow.group() == FlowGroup::Product => 0,
        _ if flow.is_gas() => 1,
        Flow::LiquorOut | Flow::Drainage => 2,
        _ => 3,
    }
}

/// Carbon, nitrogen and water by way in and out.
fn ways(answer: &RunAnswer) -> (Vec<Way>, Vec<Way>) {
    let flows = &answer.balance.flows;
    let way = |name, is: &dyn Fn(&FlowAmounts) -> bool| {
        Way::of(name, flows.iter().filter(|f| is(f)).map(|f| &f.amounts))
    };
    let enters = |f: &FlowAmounts| f.from == Holder::Outside;
    let leaves = |f: &FlowAmounts| matches!(f.to, Holder::Outside | Holder::Air);
    let ways_in = (WAYS_IN.into_iter().enumerate())
        .map(|(n, name)| way(name, &|f| enters(f) && way_in(f.flow) == n))
        .collect();
    let mut ways_out: Vec<Way> = (WAYS_OUT.into_iter().enumerate())
        .map(|(n, name)| way(name, &|f| leaves(f) && way_out(f.flow) == n))
        .collect();
    let held = &answer.balance.held;
    let start = Way::of("", held.iter().map(|h| &h.start));
    let end = Way::of("", held.iter().map(|h| &h.end));
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
