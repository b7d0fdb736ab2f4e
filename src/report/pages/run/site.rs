//! Floor, work and energy, greenhouse gas, money.

use super::years::last_year;
use crate::quantity::{Kind, Units, convert, shown_unit};
use crate::report::number::{
    format_decimals, format_figures, format_number, format_percent, format_quantity,
};
use crate::report::pages::page::Page;
use crate::report::table::{Cell, Column, Table};
use crate::site_figures::cooling::RoomCooling;
use crate::site_figures::energy::EnergyFigures;
use crate::site_figures::greenhouse::{EnergyGas, GreenhouseFigures};
use crate::site_figures::heating::RoomHeat;
use crate::site_figures::money::{Line, MoneyFigures};
use crate::study::answer::RunAnswer;
use crate::trace::YEAR;

/// Names of the columns of the year that counts and of the first; the second is `None` where only one year is known.
pub(super) fn columns(answer: &RunAnswer, one: &str) -> (String, Option<&'static str>) {
    let first = if answer.days == YEAR { "first year" } else { "the run, a year" };
    let later = answer.later_years.last.as_ref();
    later.map_or_else(|| (one.to_owned(), None), |last| (last_year(&answer.later_years, last), Some(first)))
}

/// What is needed and what is available.
fn format_need(need: &str, have: Option<String>) -> String {
    have.map_or_else(
        || format!("{need}; the plan gives no limit"),
        |have| format!("{need}; {have} is available"),
    )
}

/// Floor area and floor loads.
pub(in crate::report) fn floor(answer: &RunAnswer, page: &mut Page) {
    let f = &answer.site.floor;
    let units = page.units();
    page.heading("Floor");
    let mut table = Table::new(
        "",
        vec![
            Column::words("floor for"),
            Column::of("net", Kind::Area),
            Column::of("with aisles", Kind::Area),
            Column::words("basis"),
        ],
    );
    for u in f.uses.iter().filter(|u| u.gross > 0.0) {
        table.push(vec![u.name.into(), u.net.into(), u.gross.into(), u.basis.words.into()]);
    }
    page.table(&table);
    page.line(
        "floor needed",
        &format_need(
            &format_quantity(Kind::Area, f.total, units),
            f.have.map(|a| format_quantity(Kind::Area, a, units)),
        ),
    );
    page.line(
        "by the ratio of a published site",
        &format!("{}, the whole site with its yard", format_quantity(Kind::Area, f.published_site, units)),
    );
    if f.pallets > 0.0 {
        page.line(
            "pallets of drums",
            &format!(
                "{} of {} drums in one layer; a full pallet weighs {} and loads the floor with {}",
                format_number(f.pallets),
                format_number(f.drums_per_pallet),
                format_quantity(Kind::Mass, f.pallet_mass, units),
                format_quantity(Kind::Pressure, f.pallet_load, units)
            ),
        );
    }
    if f.bulking > 0.0 {
        page.line("store of bulking", &format_quantity(Kind::Volume, f.bulking, units));
    }
    page.line("floor load of the heaviest bed", &format_quantity(Kind::Pressure, f.bed_load, units));
    page.line(
        "floor load allowed",
        &f.load_limit
            .map_or_else(|| "not given".to_owned(), |limit| format_quantity(Kind::Pressure, limit, units)),
    );
    area_rules(answer, page);
    page.paragraph("Not counted: stores of bran, compost and finished product, offices, yard.");
}

fn area_rules(answer: &RunAnswer, page: &mut Page) {
    let Some(first) = answer.site.area_rules.first() else { return };
    let units = page.units();
    page.line(
        "fresh scraps per bed area",
        &format!(
            "{} a day; published rules for comparison (above: our beds are loaded more than the rule):",
            format_quantity(Kind::ArealMass, first.ours, units)
        ),
    );
    let mut table = Table::new(
        "",
        vec![
            Column::words("rule or site"),
            Column::of("lowest a day", Kind::ArealMass),
            Column::of("highest a day", Kind::ArealMass),
            Column::of("beds from", Kind::Area),
            Column::of("to", Kind::Area),
            Column::words("this site"),
        ],
    );
    for r in &answer.site.area_rules {
        let (low, high) = r.published;
        table.push(vec![
            r.name.into(),
            low.into(),
            high.into(),
            r.area.0.into(),
            r.area.1.into(),
            r.verdict.text().into(),
        ]);
    }
    page.table(&table);
    page.blank();
}

/// Work and energy.
pub(in crate::report) fn work(answer: &RunAnswer, page: &mut Page) {
    let l = &answer.year_that_counts().labour;
    page.heading("Work and energy in a year");
    let (counts, first) = columns(answer, "hours");
    let hours = |name: &str| Column::plain(name, "h");
    let mut table = Table::new("", vec![Column::words("task"), hours(&counts)]);
    table.columns.extend(first.map(hours));
    table.columns.push(Column::words("basis"));
    let before = first.map(|_| &answer.site.labour);
    let of =
        |name: &str| before.map(|b| b.tasks.iter().filter(|t| t.name == name).map(|t| t.hours).sum::<f64>());
    for t in &l.tasks {
        let basis = if t.basis == "run" { "running time" } else { "assumed rate" };
        let mut row: Vec<Cell> = vec![t.name.into(), t.hours.into()];
        row.extend(of(t.name).map(Cell::from));
        row.push(basis.into());
        table.push(row);
    }
    let mut total: Vec<Cell> = vec!["= total".into(), l.hours.into()];
    total.extend(before.map(|b| Cell::from(b.hours)));
    table.push(total);
    page.table(&table);
    page.line(
        "hours on a working day",
        &format_need(
            &format!("{} h on {} days a week", format_figures(l.on_a_working_day, 3), l.days_a_week),
            l.have.map(|have| format!("{} h", format_number(have))),
        ),
    );
    if let Some(hours) = l.per_tonne {
        let others: Vec<String> = l
            .published
            .iter()
            .map(|p| format!("{} {} to {}", p.name, format_number(p.hours.0), format_number(p.hours.1)))
            .collect();
        page.line(
            "hours per tonne taken in",
            &format!("{}; published: {}", format_figures(hours, 3), others.join(", ")),
        );
    }
    energy(&answer.year_that_counts().energy, page);
}

/// Electricity and heat.
fn energy(e: &EnergyFigures, page: &mut Page) {
    let units = page.units();
    page.line(
        "energy of the grinder",
        &format!("{} kWh, {} kWh/t", format_number(e.grinder), format_figures(e.grinder_per_tonne, 3)),
    );
    if e.dried > 0.0 {
        let [fan, heat_pump, heat] = e.drying_with.map(format_number);
        page.line(
            "drying castings",
            &format!(
                "{} kWh by {} for {} of water; with a fan about {fan}, a heat pump {heat_pump}, electric heat {heat} kWh",
                format_number(e.drying),
                e.dried_by,
                format_quantity(Kind::Mass, e.dried, units)
            ),
        );
    }
    for room in &e.rooms {
        page.line(&format!("heating the {}", room.room), &format_room(room, units));
    }
    for room in &e.cooled {
        page.line(&format!("cooling the {}", room.room), &format_cooling(room, units));
    }
    let fuel = if e.fuel > 0.0 { format!(", fuel {} kWh", format_number(e.fuel)) } else { String::new() };
    page.line("energy in all", &format!("electricity {} kWh{fuel}", format_number(e.electricity)));
    page.paragraph("Not counted: ventilating rooms, light, the motor of the screen, pumps, transport.");
}

/// Heat of a room, what it is lost through, and what gives it.
fn format_room(room: &RoomHeat, units: Units) -> String {
    let used = match (room.electricity, room.fuel) {
        (electricity, _) if electricity > 0.0 => format!("{} kWh of electricity", format_number(electricity)),
        (_, fuel) if fuel > 0.0 => format!("{} kWh of fuel", format_number(fuel)),
        _ => "no energy".to_owned(),
    };
    format!(
        "{used} by {} for {} kWh of heat at {}; {} of {} lose {} W/K and air {} W/K; a cold spell needs {} kW",
        room.heated_by,
        format_number(room.heat),
        format_quantity(Kind::Temperature, room.set_point, units),
        format_quantity(Kind::Area, room.floor_area, units),
        room.building,
        format_figures(room.through_walls, 3),
        format_figures(room.by_air, 3),
        format_figures(room.heater, 2)
    )
}

/// Heat taken out of a room, where it comes from, and what that takes.
fn format_cooling(room: &RoomCooling, units: Units) -> String {
    format!(
        "{} kWh of electricity by an air conditioner for {} kWh of heat, {} of it from beds, at {} on {} days a year; a hot spell needs \
         {} kW; sun on the roof comes on top; in dry air an evaporative cooler takes less",
        format_number(room.electricity),
        format_number(room.heat),
        format_number(room.of_beds),
        format_quantity(Kind::Temperature, room.set_point, units),
        format_number(room.days.round()),
        format_figures(room.cooler, 2)
    )
}

/// Greenhouse gas compared with a landfill.
pub(in crate::report) fn greenhouse(answer: &RunAnswer, page: &mut Page) {
    let g = &answer.year_that_counts().greenhouse;
    let units = page.units();
    let year = &answer.year_that_counts().yearly;
    page.heading("Greenhouse gas in a year");
    let (counts, first) = columns(answer, "");
    if let Some(first) = first {
        let gas = &answer.site.greenhouse;
        page.line(
            "figures are those of",
            &format!(
                "the {counts}; {first}: methane {}, nitrous oxide {}",
                format_quantity(Kind::Mass, gas.methane, units),
                format_quantity(Kind::Mass, gas.nitrous_oxide, units)
            ),
        );
    }
    page.line(
        "from this process",
        &format!(
            "methane {}, nitrous oxide {}",
            format_quantity(Kind::Mass, g.methane, units),
            format_quantity(Kind::Mass, g.nitrous_oxide, units)
        ),
    );
    let used = |one: &EnergyGas| format!("{} {} kWh", one.name, format_number(one.energy));
    if !g.energy.is_empty() {
        page.line(
            "energy used",
            &format!(
                "{}; electricity at {}",
                g.energy.iter().map(used).collect::<Vec<_>>().join(", "),
                format_quantity(Kind::CarbonPerEnergy, g.power_carbon, units)
            ),
        );
    }
    let mut rows: Vec<String> =
        g.rows.iter().map(|r| format!("{} {}", r.name, format_quantity(Kind::Mass, r.mass, units))).collect();
    if g.without_row > 0.0 {
        rows.push(format!("no landfill credit for {}", format_quantity(Kind::Mass, g.without_row, units)));
    }
    page.line("scraps by published category", &rows.join(", "));
    page.table(&statements(g));
    page.paragraph(&format!(
        "* With the guidelines' default emissions of composting for {} in place of the modelled gas: no default exists for \
         worms or for acid fermentation, so claim no more than this without measurements. The published factors include gas \
         capture, carbon storage and energy credits; decay includes none. {} of the decay happens within 20 years in a \
         temperate wet climate. The sources of all numbers are in result.json.",
        format_quantity(Kind::Mass, year.accepted, units),
        format_percent(g.within_twenty_years)
    ));
    page.paragraph(&format!("Not counted: {}.", g.not_counted.join("; ")));
}

/// What may be claimed: a row for each set of potentials and baseline.
fn statements(g: &GreenhouseFigures) -> Table {
    let mut table = Table::new(
        "t CO2e a year; each row is a separate claim: never add or average them",
        vec![
            Column::words("set"),
            Column::words("baseline"),
            Column::plain("landfill", "t"),
            Column::plain("process", "t"),
            Column::plain("energy", "t"),
            Column::plain("avoided", "t"),
            Column::plain("cautious*", "t"),
        ],
    );
    for s in &g.statements {
        let tonnes = |kilograms: f64| Cell::Number(kilograms / 1000.0);
        let baseline = s.baseline.split_once(" (").map_or(s.baseline, |(name, _)| name);
        table.push(vec![
            s.potentials.into(),
            baseline.into(),
            tonnes(s.landfill),
            tonnes(s.process),
            tonnes(s.energy),
            tonnes(s.avoided),
            tonnes(s.avoided_careful),
        ]);
    }
    table
}

/// Quantity, unit and price of a line in the reader's units.
pub(in crate::report) fn in_units(l: &Line, units: Units) -> (f64, &'static str, f64) {
    let (quantity, price) = match l.unit {
        "t" | "t live" => (Some((Kind::Mass, 1000.0)), Kind::MoneyPerMass),
        "m2" => (Some((Kind::Area, 1.0)), Kind::MoneyPerArea),
        "m3" => (Some((Kind::Volume, 1.0)), Kind::MoneyPerVolume),
        _ => (None, Kind::Money),
    };
    let unit = shown_unit(price, l.price, units).trim_start_matches('/');
    let shown = quantity.and_then(|(kind, size)| {
        let amount = convert(kind, size * l.quantity, unit)?;
        let price = convert(price, l.price, &format!("/{unit}"))?;
        Some((amount, unit, price))
    });
    shown.unwrap_or((l.quantity, l.unit, l.price))
}

/// The same in words.
fn quantity_and_price(l: &Line, units: Units) -> String {
    let (amount, unit, price) = in_units(l, units);
    format!("{} {unit} x {}", format_number(amount), format_number(price))
}

/// Lines with their sum: of the year that counts, and of the first where there are two.
fn lines(table: &mut Table, heading: &str, of: (&[Line], f64), first: Option<(&[Line], f64)>, units: Units) {
    let (lines, sum) = of;
    let before = |name: &str| first.map(|(lines, _)| lines.iter().find(|l| l.name == name).map(|l| l.amount));
    for (n, l) in lines.iter().enumerate() {
        let of = if n == 0 { heading } else { "" };
        let amount = quantity_and_price(l, units);
        let mut row: Vec<Cell> = vec![of.into(), l.name.into(), amount.into(), l.amount.into()];
        row.extend(before(l.name).map(Cell::from));
        row.push(l.basis.into());
        table.push(row);
    }
    // what the first year alone buys or sells
    let gone = |l: &&Line| lines.iter().all(|known| known.name != l.name);
    for l in first.iter().flat_map(|(lines, _)| lines.iter()).filter(gone) {
        table.push(vec!["".into(), l.name.into(), Cell::Empty, Cell::Empty, l.amount.into(), l.basis.into()]);
    }
    let mut total: Vec<Cell> = vec!["".into(), format!("= {heading}").into(), Cell::Empty, sum.into()];
    total.extend(first.map(|(_, sum)| Cell::from(sum)));
    table.push(total);
}

/// Lines of a block of the money table, and their sum.
type Block = fn(&MoneyFigures) -> (&[Line], f64);

/// Money, when the plan gives prices.
pub(in crate::report) fn money(answer: &RunAnswer, page: &mut Page) {
    let Some(m) = &answer.year_that_counts().money else { return };
    let units = page.units();
    page.heading(&format!("Money, {}", m.currency));
    let (counts, first) = columns(answer, "amount");
    let amount = |name: &str| Column::plain(name, "");
    let mut table = Table::new(
        "",
        vec![Column::words(""), Column::words("item"), Column::words("quantity x price"), amount(&counts)],
    );
    table.columns.extend(first.map(amount));
    table.columns.push(Column::words("basis"));
    let before = answer.site.money.as_ref().filter(|_| first.is_some());
    let blocks: [(&str, Block); 3] = [
        ("capital", |m| (&m.capital, m.capital_total)),
        ("cost of a year", |m| (&m.running, m.running_total)),
        ("income of a year", |m| (&m.income, m.income_total)),
    ];
    for (heading, of) in blocks {
        lines(&mut table, heading, of(m), before.map(of), units);
    }
    page.table(&table);
    worth(m, page);
    if !m.not_counted.is_empty() {
        page.line("not counted, no price given", &m.not_counted.join(", "));
    }
    let years = first.map_or_else(
        || {
            let days = format_number(answer.site.yearly.run_days);
            format!("Every year equals this run of {days} days scaled to a year, start-up included.")
        },
        |_| format!("What it is worth counts the first year as it was and every other as the {counts}."),
    );
    page.paragraph(&format!(
        "{years} Prices are those of one year, without inflation, tax or residual value; all product is sold."
    ));
}

fn worth(m: &MoneyFigures, page: &mut Page) {
    let units = page.units();
    let years = |value: Option<f64>| {
        value.map_or_else(
            || format!("not within {} years", m.years),
            |v| format!("{} years", format_decimals(v, 1)),
        )
    };
    page.line(
        "annuity of the capital",
        &format!("{} over {} years at {}", format_number(m.annuity), m.years, format_percent(m.interest)),
    );
    let first = if m.first_surplus.to_bits() == m.surplus.to_bits() {
        String::new()
    } else {
        format!("; {} in the first year", format_number(m.first_surplus))
    };
    page.line("income minus cost of a year", &format!("{}{first}", format_number(m.surplus)));
    page.line("net present value", &format_number(m.net_present_value));
    page.line("internal rate of return", &m.internal_rate.map_or_else(|| "none".to_owned(), format_percent));
    page.line("payback", &format!("{}; with interest {}", years(m.payback), years(m.discounted_payback)));
    if let Some(cost) = m.cost_per_tonne {
        let cost = format_quantity(Kind::MoneyPerMass, cost, units);
        page.line("net cost of scraps taken in", &format!("{cost}, after income from products and worms"));
    }
    if let Some(cost) = m.cost_per_cubic_metre {
        let cost = format_quantity(Kind::MoneyPerVolume, cost, units);
        page.line("net cost of product", &format!("{cost}, after income from gate fees and worms"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn text(units: Units, part: impl Fn(&RunAnswer, &mut Page)) -> String {
        let mut page = Page::new(units);
        part(&sample::answer(), &mut page);
        page.into_text()
    }

    /// The line that begins with a label.
    fn line<'a>(text: &'a str, label: &str) -> &'a str {
        text.lines().find(|l| l.starts_with(label)).unwrap_or_else(|| panic!("no {label} in {text}"))
    }

    #[test]
    fn floor_and_rules_in_words() {
        let text = text(Units::Si, floor);
        // 15 pallets of 1.5 m2 at 0.4; 216 m2 of beds at 0.45; two machines of 12 m2.
        assert!(line(&text, "drums on pallets").contains("22.5        56.25"), "{text}");
        assert!(line(&text, "floor needed").ends_with("560.2 m2; 500 m2 is available"), "{text}");
        assert!(
            line(&text, "pallets of drums")
                .contains("15 of 4 drums in one layer; a full pallet weighs 650.6 kg"),
            "{text}"
        );
        assert!(line(&text, "a rule").ends_with("above"), "{text}");
        assert!(!text.contains("site."), "internal keys are for files: {text}");
    }

    #[test]
    fn work_names_its_assumptions() {
        let text = text(Units::Si, work);
        assert!(line(&text, "daily rounds").ends_with("assumed rate"));
        assert!(line(&text, "= total").contains("468.5"));
        assert!(line(&text, "hours on a working day").ends_with("1.8 h on 5 days a week; 4 h is available"));
        assert!(line(&text, "hours per tonne").ends_with("5.15; published: small sites 3 to 10"));
        assert!(text.contains("Not counted: ventilating"));
    }

    #[test]
    fn each_claim_names_its_set_and_baseline() {
        let text = text(Units::Si, greenhouse);
        assert!(line(&text, "AR6").starts_with("AR6  landfill by factors "), "{text}");
        assert!(line(&text, "AR5").ends_with("88.27"), "{text}");
        assert!(text.contains("never add or average"));
    }

    #[test]
    fn money_lines_follow_the_units_and_the_sums_do_not() {
        let si = text(Units::Si, money);
        assert!(line(&si, "income of a year").contains("91 t x 90 "), "{si}");
        // without a price; water and what runs off are used too
        let words = si.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            words.contains("other capital, grinder power, drying, bran, bulking, water, drainage, other"),
            "{si}"
        );
        let us = text(Units::Us, money);
        assert!(line(&us, "income of a year").contains("100.3 ton x 81.65 "), "{us}");
        // 91 t x 90 either way
        assert!(
            line(&si, "income of a year").contains(" 8190 ")
                && line(&us, "income of a year").contains(" 8190 ")
        );
        let mut answer = sample::answer();
        answer.site.money = None;
        let mut page = Page::new(Units::Si);
        money(&answer, &mut page);
        assert_eq!(page.into_text(), "", "no prices, no money");
    }
}
