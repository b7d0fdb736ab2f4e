//! The sheet of water and energy: amounts of a year with their cost, by formulas at the prices of the sheet of money.

use super::money::price_of;
use super::sheet::{Making, Sheet, cell, sum};
use crate::quantity::{Kind, Units};
use crate::report::number::{column_unit, in_column_unit};
use crate::report::pages::run::site::in_units;
use crate::report::table::{Cell, Column};
use crate::site_figures::SiteFigures;
use crate::site_figures::cooling::RoomCooling;
use crate::site_figures::heating::RoomHeat;
use crate::site_figures::money::Line;
use crate::study::answer::RunAnswer;

/// Columns of the sheet, from 0.
const LATER: (usize, usize) = (3, 5);
const FIRST: (usize, usize) = (4, 6);

/// What a row is measured in.
#[derive(Clone, Copy)]
enum Measured {
    /// A volume in m3, in the unit of the price of this line of the sheet of money.
    Priced(&'static str),
    /// kWh at the price of this line.
    Energy(&'static str),
    /// A quantity without a price.
    Of(Kind),
    /// A number in this unit, without a price.
    Plain(&'static str),
}

/// A figure of a heated room.
type OfRoom = fn(&RoomHeat) -> f64;
/// A figure of a cooled room.
type OfCooled = fn(&RoomCooling) -> f64;

/// A row: what it is, how it is measured, its value in a year, and where that comes from.
struct Amount<'a> {
    item: String,
    measured: Measured,
    of: Box<dyn Fn(&SiteFigures) -> f64 + 'a>,
    basis: &'static str,
}

impl<'a> Amount<'a> {
    fn new(
        item: &str,
        measured: Measured,
        basis: &'static str,
        of: impl Fn(&SiteFigures) -> f64 + 'a,
    ) -> Self {
        Self { item: item.to_owned(), measured, of: Box::new(of), basis }
    }
}

/// The two years, the prices and the rows in the making.
struct Years<'a> {
    later: &'a SiteFigures,
    first: &'a SiteFigures,
    money: Option<&'a Sheet>,
    units: Units,
    making: Making,
}

impl Years<'_> {
    /// Value, unit and place of the price of an amount.
    fn shown(&self, measured: Measured, value: f64) -> (f64, String, Option<(String, f64)>) {
        match measured {
            Measured::Priced(line) => {
                let price = price_of(self.money, line);
                // a unit follows the price that it has
                let (volume, unit) = self.volume(line, value);
                (volume, unit, price)
            }
            Measured::Energy(line) => (value, "kWh".to_owned(), price_of(self.money, line)),
            Measured::Of(kind) => {
                (in_column_unit(kind, value, self.units), column_unit(kind, self.units).to_owned(), None)
            }
            Measured::Plain(unit) => (value, unit.to_owned(), None),
        }
    }

    /// A volume in the unit that its price is for, or in that of columns where it has none.
    fn volume(&self, line: &str, value: f64) -> (f64, String) {
        let years = [self.later, self.first].into_iter().filter_map(|year| year.money.as_ref());
        let known: Option<&Line> = years.flat_map(|money| &money.running).find(|known| known.name == line);
        if let Some(known) = known {
            let (volume, unit, _) = in_units(&Line { quantity: value, ..*known }, self.units);
            return (volume, unit.to_owned());
        }
        let unit = column_unit(Kind::Volume, self.units);
        (in_column_unit(Kind::Volume, value, self.units), unit.to_owned())
    }

    /// Adds a row of an amount; None if neither year has any.
    fn add(&mut self, part: &str, amount: &Amount<'_>) -> Option<usize> {
        let (later, first) = ((amount.of)(self.later), (amount.of)(self.first));
        if later == 0.0 && first == 0.0 {
            return None;
        }
        let row = self.making.next();
        let (now, unit, price) = self.shown(amount.measured, later);
        let (before, ..) = self.shown(amount.measured, first);
        let mut cells: Vec<Cell> =
            vec![part.into(), amount.item.clone().into(), unit.into(), now.into(), before.into()];
        let mut formulas = Vec::new();
        match price {
            Some((at, price)) => {
                cells.extend([now, before].map(|quantity| Cell::from(quantity * price)));
                formulas.extend(
                    [LATER, FIRST].map(|(quantity, cost)| (cost, format!("{}*{at}", cell(quantity, row)))),
                );
            }
            None => cells.extend([Cell::Empty, Cell::Empty]),
        }
        cells.push(amount.basis.into());
        Some(self.making.add(cells, formulas))
    }

    /// Adds a block of rows with their sum.
    fn block(&mut self, part: &str, total: &str, amounts: &[Amount<'_>]) {
        let top = self.making.next();
        let rows: Vec<usize> = amounts.iter().filter_map(|amount| self.add(part, amount)).collect();
        if rows.is_empty() {
            return;
        }
        let above = top..self.making.next();
        let mut cells: Vec<Cell> = vec![part.into(), total.into(), Cell::Empty];
        if let Some(Cell::Words(unit)) = self.making.rows.last().and_then(|row| row.get(2)) {
            cells[2] = unit.clone().into();
        }
        let mut formulas = Vec::new();
        for column in [LATER.0, FIRST.0, LATER.1, FIRST.1] {
            let total = self.making.total(column, above.clone());
            if total != Cell::Empty {
                formulas.push((column, sum(column, above.clone())));
            }
            cells.push(total);
        }
        cells.push(Cell::Empty);
        self.making.add(cells, formulas);
    }
}

/// Water of a year and of the worst days, energy by use, and the heat of rooms.
pub(super) fn water_energy(
    answer: &RunAnswer,
    later_name: &str,
    money: Option<&Sheet>,
    units: Units,
) -> Sheet {
    let (later, first) = (answer.year_that_counts(), &answer.site);
    let making = Making::default();
    let mut years = Years { later, first, money, units, making };
    water(&mut years);
    energy(&mut years);
    let currency = later.money.as_ref().map_or("cost", |money| money.currency.as_str());
    let number = |name: String| Column::plain(&name, "");
    let columns = [
        Column::words("part"),
        Column::words("item"),
        Column::words("unit"),
        number(format!("amount, {later_name}")),
        number("amount, first year".to_owned()),
        number(format!("{currency}, {later_name}")),
        number(format!("{currency}, first year")),
        Column::words("basis"),
    ];
    let about = "Water taken, what runs off, the tank for it, and energy by use, each row in its own unit; costs are formulas of the \
                 prices on the sheet Money. Not counted: water for starter and bran, people and rain; ventilating rooms, light, \
                 the motor of the screen, pumps, transport.";
    Sheet::new("Water and energy", about, 2, columns, years.making.rows).with_formulas(years.making.formulas)
}

/// Water in m3: a kilogram is taken as a litre, as on the page.
fn water(years: &mut Years<'_>) {
    use crate::quantity::constant::WATER_DENSITY as DENSITY;
    let (taken, off) = (Measured::Priced("water"), Measured::Priced("drainage"));
    let (run, assumed) = ("run", "run, assumed amount for each drum");
    years.block(
        "water taken",
        "total water taken",
        &[
            Amount::new("put on beds", taken, run, |s| s.water.on_beds / DENSITY),
            Amount::new("rinsing the grinder", taken, run, |s| s.water.rinsing / DENSITY),
            Amount::new("washing drums", taken, assumed, |s| s.water.washing / DENSITY),
        ],
    );
    years.block(
        "runs off",
        "total that runs off",
        &[
            Amount::new("drained from beds", off, run, |s| s.water.drained / DENSITY),
            Amount::new("liquor of drums", off, run, |s| s.water.liquor / DENSITY),
            Amount::new("rinse water", off, run, |s| s.water.rinsed_away / DENSITY),
            Amount::new("washing water", off, assumed, |s| s.water.washing / DENSITY),
        ],
    );
    let volume = Measured::Of(Kind::Volume);
    for amount in [
        Amount::new("most taken on one day", volume, run, |s| s.water.most_taken / DENSITY),
        Amount::new("most that runs off on one day", volume, run, |s| s.water.most_run_off / DENSITY),
        Amount::new("tank needed", volume, "run, emptied as planned", |s| s.water.tank),
        Amount::new("tank of the plan", volume, "plan", |s| s.water.tank_of_plan.unwrap_or(0.0)),
        Amount::new("days from one emptying to the next", Measured::Plain("d"), "plan", |s| {
            f64::from(s.water.emptied_every)
        }),
    ] {
        years.add("worst days and tank", &amount);
    }
}

/// The room of that name in a year.
fn room<'a>(site: &'a SiteFigures, name: &str) -> Option<&'a RoomHeat> {
    site.energy.rooms.iter().find(|room| room.room == name)
}

fn energy(years: &mut Years<'_>) {
    let names: Vec<&'static str> = years.later.energy.rooms.iter().map(|room| room.room).collect();
    let in_room = |name: &'static str, of: OfRoom| move |site: &SiteFigures| room(site, name).map_or(0.0, of);
    let basis = "plan, assumed losses";
    let heated = |priced: &'static str, of: OfRoom| {
        let one = move |&name: &&'static str| {
            Amount::new(&format!("heating the {name}"), Measured::Energy(priced), basis, in_room(name, of))
        };
        names.iter().map(one)
    };
    let mut power = vec![
        Amount::new("grinder", Measured::Energy("grinder power"), "run", |s| s.energy.grinder),
        Amount::new("drying castings", Measured::Energy("drying"), "run, assumed energy", |s| {
            s.energy.drying
        }),
    ];
    power.extend(heated("room heating", |room| room.electricity));
    let cooled: Vec<&'static str> = years.later.energy.cooled.iter().map(|room| room.room).collect();
    power.extend(cooled.iter().map(|&name| {
        let item = format!("cooling the {name}");
        Amount::new(&item, Measured::Energy("room cooling"), basis, in_cooled(name, |room| room.electricity))
    }));
    years.block("electricity", "total electricity", &power);
    let fuel: Vec<Amount<'_>> = heated("heating fuel", |room| room.fuel).collect();
    years.block("fuel", "total fuel", &fuel);
    drying(years);
    for &name in &names {
        let properties: [(&str, Measured, OfRoom); 6] = [
            ("kept at", Measured::Of(Kind::Temperature), |room| room.set_point),
            ("floor", Measured::Of(Kind::Area), |room| room.floor_area),
            ("lost through walls, roof and floor", Measured::Plain("W/K"), |room| room.through_walls),
            ("lost with air", Measured::Plain("W/K"), |room| room.by_air),
            ("heat given", Measured::Plain("kWh"), |room| room.heat),
            ("heater for a cold spell", Measured::Plain("kW"), |room| room.heater),
        ];
        for (item, measured, of) in properties {
            years.add(&format!("heat of the {name}"), &Amount::new(item, measured, basis, in_room(name, of)));
        }
    }
    for &name in &cooled {
        let properties: [(&str, Measured, OfCooled); 5] = [
            ("kept at or below", Measured::Of(Kind::Temperature), |room| room.set_point),
            ("days of cooling", Measured::Plain("d"), |room| room.days),
            ("heat taken out", Measured::Plain("kWh"), |room| room.heat),
            ("of this from beds", Measured::Plain("kWh"), |room| room.of_beds),
            ("cooler for a hot spell", Measured::Plain("kW"), |room| room.cooler),
        ];
        for (item, measured, of) in properties {
            let amount = Amount::new(item, measured, basis, in_cooled(name, of));
            years.add(&format!("cooling of the {name}"), &amount);
        }
    }
}

/// A figure of the cooled room of that name.
fn in_cooled(name: &'static str, of: OfCooled) -> impl Fn(&SiteFigures) -> f64 {
    move |site| site.energy.cooled.iter().find(|room| room.room == name).map_or(0.0, of)
}

/// Water dried off castings and what each way to dry it would use.
fn drying(years: &mut Years<'_>) {
    let compared = Measured::Plain("kWh");
    let assumed = "assumed energy, to compare";
    for amount in [
        Amount::new("water dried off castings", Measured::Of(Kind::Mass), "run", |s| s.energy.dried),
        Amount::new("with a fan", compared, assumed, |s| s.energy.drying_with[0]),
        Amount::new("with a heat pump", compared, assumed, |s| s.energy.drying_with[1]),
        Amount::new("with electric heat", compared, assumed, |s| s.energy.drying_with[2]),
    ] {
        years.add("drying", &amount);
    }
}
