//! Money of a site: what is bought once, what a year costs and earns, and what that is worth. All money is in the currency of the plan.

use super::energy::EnergyFigures;
use super::water::WaterFigures;
use super::{Yearly, finance};
use crate::scenario::Plan;
use crate::scenario::plan::Money;
use schemars::JsonSchema;
use serde::Serialize;

/// One line: a quantity at a price.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Line {
    /// What it is for, in words.
    pub name: &'static str,
    /// How much, in its unit.
    pub quantity: f64,
    /// Unit of the quantity.
    pub unit: &'static str,
    /// Price of a unit.
    pub price: f64,
    /// Quantity x price.
    pub amount: f64,
    /// Where the quantity comes from: the plan, the run, or the run with assumed rates.
    pub basis: &'static str,
    /// Key of the price in the plan.
    pub key: &'static str,
}

/// Sum of the amounts of lines.
pub fn total(lines: &[Line]) -> f64 {
    lines.iter().map(|l| l.amount).sum()
}

/// What is bought once.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Equipment {
    /// Number of drums.
    pub drums: f64,
    /// Area of beds. # Units: m2
    pub bed_area: f64,
    /// Number of grinders.
    pub grinders: f64,
    /// Number of screens.
    pub screens: f64,
    /// Worms bought within the run. # Units: kg live
    pub worms: f64,
}

impl Equipment {
    /// Equipment of a plan; a machine that does nothing is not bought.
    pub fn of(plan: &Plan) -> Self {
        let one = |rate: f64| if rate > 0.0 { 1.0 } else { 0.0 };
        Self {
            drums: f64::from(plan.drums.count),
            bed_area: plan.bed_area(),
            grinders: one(plan.grinder.rate),
            screens: one(plan.screen.rate),
            worms: plan.purchases().iter().filter(|p| p.day < plan.days).map(|p| p.mass).sum(),
        }
    }
}

/// What a year uses beside what it moves.
#[derive(Debug, Clone, Copy)]
pub struct Used<'a> {
    /// Hours of work. # Units: h/a
    pub hours: f64,
    /// Electricity and heat.
    pub energy: &'a EnergyFigures,
    /// Water taken and what runs off.
    pub water: &'a WaterFigures,
}

/// Lines in the making: a quantity without a price is remembered as not counted.
struct Book {
    lines: Vec<Line>,
    missing: Vec<&'static str>,
}

impl Book {
    fn new() -> Self {
        Self { lines: Vec::new(), missing: Vec::new() }
    }

    fn add(
        &mut self,
        name: &'static str,
        quantity: f64,
        unit: &'static str,
        price: Option<f64>,
        (basis, key): (&'static str, &'static str),
    ) {
        match price {
            _ if quantity == 0.0 => {}
            Some(price) => {
                self.lines.push(Line { name, quantity, unit, price, amount: quantity * price, basis, key });
            }
            None => self.missing.push(name),
        }
    }
}

/// Money of a site. Prices of one year throughout, without inflation, tax and residual value; every year but the first is taken as the
/// year it is of.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct MoneyFigures {
    /// Currency, as printed.
    pub currency: String,
    /// Yearly interest, a share.
    pub interest: f64,
    /// Years over which capital is written off.
    pub years: u32,
    /// What is bought once.
    pub capital: Vec<Line>,
    /// Sum of what is bought once.
    pub capital_total: f64,
    /// Yearly payment that pays it off, by [`annuity`](super::finance::annuity).
    pub annuity: f64,
    /// What a year costs beside that.
    pub running: Vec<Line>,
    /// Sum of what a year costs.
    pub running_total: f64,
    /// What a year earns.
    pub income: Vec<Line>,
    /// Sum of what a year earns.
    pub income_total: f64,
    /// Income of a year less running cost.
    pub surplus: f64,
    /// The same of the first year; that of every year where only one is known.
    pub first_surplus: f64,
    /// Net present value of capital and surpluses over the years.
    pub net_present_value: f64,
    /// Interest at which that is zero; none where there is no such rate.
    pub internal_rate: Option<f64>,
    /// Payback without interest; none where it never pays back within the years. # Units: a
    pub payback: Option<f64>,
    /// Payback with interest, likewise. # Units: a
    pub discounted_payback: Option<f64>,
    /// Annuity and running cost less what products and worms earn, per tonne taken in: the gate fee that breaks even; none without
    /// intake.
    pub cost_per_tonne: Option<f64>,
    /// Annuity and running cost less what gate and worms earn, per m3 of product: the price that breaks even; none without
    /// product.
    pub cost_per_cubic_metre: Option<f64>,
    /// What is bought, used or sold but has no price in the plan, in words.
    pub not_counted: Vec<&'static str>,
}

fn capital(prices: &Money, equipment: &Equipment) -> Book {
    let mut book = Book::new();
    book.add("drums", equipment.drums, "drum", prices.drum_price, ("plan", "money.drum_price"));
    book.add("beds", equipment.bed_area, "m2", prices.bed_price, ("plan", "money.bed_price"));
    book.add("grinder", equipment.grinders, "machine", prices.grinder_price, ("plan", "money.grinder_price"));
    book.add("screen", equipment.screens, "machine", prices.screen_price, ("plan", "money.screen_price"));
    book.add("worms", equipment.worms / 1000.0, "t live", prices.worm_price, ("plan", "money.worm_price"));
    book.add("other capital", 1.0, "site", prices.other_capital, ("plan", "money.other_capital"));
    book
}

fn running(prices: &Money, yearly: &Yearly, used: &Used<'_>) -> Book {
    let mut book = Book::new();
    let Used { hours, energy, water } = *used;
    book.add("wages", hours, "h", prices.wage, ("run, assumed rates", "money.wage"));
    book.add("grinder power", energy.grinder, "kWh", prices.power_price, ("run", "money.power_price"));
    let basis = "run, assumed energy";
    book.add("drying", energy.drying, "kWh", prices.power_price, (basis, "money.power_price"));
    let heating = energy.heating();
    let basis = "plan, assumed losses";
    book.add("room heating", heating, "kWh", prices.power_price, (basis, "money.power_price"));
    let cooling = energy.cooling();
    book.add("room cooling", cooling, "kWh", prices.power_price, (basis, "money.power_price"));
    book.add("heating fuel", energy.fuel, "kWh", prices.fuel_price, (basis, "money.fuel_price"));
    book.add("bran", yearly.bran / 1000.0, "t", prices.bran_price, ("run", "money.bran_price"));
    book.add("bulking", yearly.bulking / 1000.0, "t", prices.bulking_price, ("run", "money.bulking_price"));
    book.add("grit", yearly.grit / 1000.0, "t", prices.grit_price, ("run", "money.grit_price"));
    book.add("compost", yearly.compost, "m3", prices.compost_price, ("run", "money.compost_price"));
    let (taken, run_off) = (water.taken_volume(), water.run_off_volume());
    let basis = "run, assumed washing";
    book.add("water", taken, "m3", prices.water_price, (basis, "money.water_price"));
    book.add("drainage", run_off, "m3", prices.drainage_price, (basis, "money.drainage_price"));
    book.add("other", 1.0, "year", prices.other_yearly_cost, ("plan", "money.other_yearly_cost"));
    book
}

/// Lines earned at the gate, by products, by worms.
fn income(prices: &Money, yearly: &Yearly) -> [Book; 3] {
    let mut books = [Book::new(), Book::new(), Book::new()];
    books[0].add("gate fees", yearly.tonnes(), "t", prices.gate_fee, ("run", "money.gate_fee"));
    books[1].add("castings", yearly.castings, "m3", prices.castings_price, ("run", "money.castings_price"));
    books[1].add("blend", yearly.blend, "m3", prices.blend_price, ("run", "money.blend_price"));
    let worms = yearly.worms_sold / 1000.0;
    books[2].add("worms sold", worms, "t live", prices.worm_sale_price, ("run", "money.worm_sale_price"));
    books
}

/// Payments of each year: the capital, what the first year leaves, what every other leaves.
fn flows(capital: f64, first: f64, later: f64, years: u32) -> Vec<f64> {
    let mut flows = vec![-capital, first];
    flows.resize(years as usize + 1, later);
    flows
}

/// What payments are worth.
struct Worth {
    net_present_value: f64,
    internal_rate: Option<f64>,
    payback: Option<f64>,
    discounted_payback: Option<f64>,
}

impl Worth {
    fn of(flows: &[f64], interest: f64) -> Self {
        Self {
            net_present_value: finance::net_present_value(flows, interest),
            internal_rate: finance::internal_rate(flows).ok(),
            payback: finance::payback(flows, 0.0),
            discounted_payback: finance::payback(flows, interest),
        }
    }
}

impl MoneyFigures {
    /// The same where the first year leaves another surplus: a start-up is not every year.
    #[must_use]
    pub fn after_first(self, surplus: f64) -> Self {
        let flows = flows(self.capital_total, surplus, self.surplus, self.years);
        let Worth { net_present_value, internal_rate, payback, discounted_payback } =
            Worth::of(&flows, self.interest);
        Self { first_surplus: surplus, net_present_value, internal_rate, payback, discounted_payback, ..self }
    }
}

/// Money figures of prices, equipment, a year's amounts, and what it uses.
///
/// # Units
/// Hours per year, kWh per year
///
/// # Source
/// Sums of prices times amounts; capital spread as [`annuity`](super::finance::annuity) does.
pub fn money(prices: &Money, equipment: &Equipment, yearly: &Yearly, used: &Used<'_>) -> MoneyFigures {
    let capital = capital(prices, equipment);
    let running = running(prices, yearly, used);
    let [gate, products, worms] = income(prices, yearly);
    let (capital_total, running_total) = (total(&capital.lines), total(&running.lines));
    let (at_gate, by_products, by_worms) = (total(&gate.lines), total(&products.lines), total(&worms.lines));
    let income_total = at_gate + by_products + by_worms;
    let surplus = income_total - running_total;
    let annuity = finance::annuity(capital_total, prices.interest, prices.years);
    let worth = Worth::of(&flows(capital_total, surplus, surplus, prices.years), prices.interest);
    let cost = annuity + running_total;
    let books = [&capital, &running, &gate, &products, &worms];
    MoneyFigures {
        currency: prices.currency.clone(),
        interest: prices.interest,
        years: prices.years,
        annuity,
        surplus,
        first_surplus: surplus,
        net_present_value: worth.net_present_value,
        internal_rate: worth.internal_rate,
        payback: worth.payback,
        discounted_payback: worth.discounted_payback,
        cost_per_tonne: finance::per_unit(cost - by_products - by_worms, yearly.tonnes()),
        cost_per_cubic_metre: finance::per_unit(cost - at_gate - by_worms, yearly.product()),
        not_counted: books.iter().flat_map(|b| b.missing.iter().copied()).collect(),
        income: [gate.lines, products.lines, worms.lines].concat(),
        capital: capital.lines,
        running: running.lines,
        capital_total,
        running_total,
        income_total,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::LazyLock;

    fn prices() -> Money {
        Money {
            currency: "EUR".to_owned(),
            gate_fee: Some(90.0),
            blend_price: Some(100.0),
            drum_price: Some(50.0),
            wage: Some(20.0),
            interest: 0.05,
            years: 10,
            ..Money::default()
        }
    }

    fn yearly() -> Yearly {
        Yearly { accepted: 100_000.0, blend: 120.0, bulking: 5000.0, castings: 10.0, ..Yearly::default() }
    }

    /// Hours of work alone.
    fn work(hours: f64) -> Used<'static> {
        static ENERGY: LazyLock<EnergyFigures> = LazyLock::new(EnergyFigures::default);
        static WATER: LazyLock<WaterFigures> = LazyLock::new(WaterFigures::default);
        Used { hours, energy: &ENERGY, water: &WATER }
    }

    #[test]
    fn what_has_no_price_is_named_and_what_is_not_there_is_not() {
        let equipment = Equipment { drums: 40.0, bed_area: 100.0, ..Equipment::default() };
        let m = money(&prices(), &equipment, &yearly(), &work(500.0));
        assert_eq!(m.not_counted, ["beds", "other capital", "bulking", "other", "castings"]);
        assert!((m.capital_total - 2000.0).abs() < 1e-9);
    }

    #[test]
    fn break_even_prices_break_even() {
        let equipment = Equipment { drums: 40.0, ..Equipment::default() };
        let y = Yearly { castings: 0.0, ..yearly() };
        let m = money(&prices(), &equipment, &y, &work(500.0));
        for changed in [
            Money { gate_fee: m.cost_per_tonne, ..prices() },
            Money { blend_price: m.cost_per_cubic_metre, ..prices() },
        ] {
            let even = money(&changed, &equipment, &y, &work(500.0));
            assert!(even.net_present_value.abs() < 1e-6, "{}", even.net_present_value);
            assert!((even.internal_rate.unwrap() - 0.05).abs() < 1e-9);
            assert!((even.discounted_payback.unwrap_or(10.0) - 10.0).abs() < 1e-6);
        }
    }

    #[test]
    fn a_poor_first_year_is_counted_once() {
        let m = money(&prices(), &Equipment { drums: 40.0, ..Equipment::default() }, &yearly(), &work(500.0));
        let later = m.clone().after_first(m.surplus - 1000.0);
        // by hand: a thousand less, one year on, at 5 %
        assert!((m.net_present_value - later.net_present_value - 1000.0 / 1.05).abs() < 1e-6);
        assert_eq!((later.surplus.to_bits(), later.cost_per_tonne), (m.surplus.to_bits(), m.cost_per_tonne));
        assert_eq!(m.clone().after_first(m.surplus), m);
    }

    #[test]
    fn no_intake_has_no_cost_per_tonne() {
        let m = money(&prices(), &Equipment::default(), &Yearly::default(), &work(0.0));
        assert_eq!((m.cost_per_tonne, m.cost_per_cubic_metre, m.internal_rate), (None, None, None));
    }
}
