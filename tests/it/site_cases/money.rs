//! Interest, payback, cost lines, printed prices.

use super::{get, kilograms, printed};
use loamledger::quantity::{Kind, parse};
use loamledger::scenario::plan::Money;
use loamledger::site_figures::energy::EnergyFigures;
use loamledger::site_figures::money::{self, Equipment};
use loamledger::site_figures::water::WaterFigures;
use loamledger::site_figures::{Yearly, finance};

#[test]
fn value_and_payback_of_the_printed_investment() {
    // V3: -100,000; 55,000 - 20,000 a year for 5; 20,000 at the end; digits by hand.
    let flows = [-100_000.0, 35_000.0, 35_000.0, 35_000.0, 35_000.0, 55_000.0];
    let rate = finance::internal_rate(&flows).unwrap();
    printed(100.0 * rate, 25.31, 2);
    assert!(finance::net_present_value(&flows, rate).abs() < 1e-6);
    printed(finance::net_present_value(&flows, 0.08), 53_356.5, 1);
    printed(finance::payback(&flows, 0.0).unwrap(), 2.857, 3);
    let before = [-100_000.0, 35_000.0, 35_000.0, 35_000.0, 35_000.0, 35_000.0];
    let sums = finance::cumulative(&before, 0.08);
    for (have, recomputed) in sums[1..].iter().zip([-67_592.6, -37_585.7, -9_801.6, 15_924.4, 39_744.9]) {
        printed(*have, recomputed, 1);
    }
    // A straight line between -9,801.6 and 15,924.4.
    printed(finance::payback(&flows, 0.08).unwrap(), 3.0 + 9_801.6 / 25_726.0, 4);
}

#[test]
fn made_up_loan() {
    // by hand: 60,000 at 7 % in 7 yearly payments.
    printed(finance::annuity(60_000.0, 0.07, 7), 11_133.19, 2);
    let first = finance::payment(60_000.0, 0.07, 7, 1);
    printed(first.interest, 4200.0, 2);
    printed(first.principal, 6933.19, 2);
    let last = finance::payment(60_000.0, 0.07, 7, 7);
    printed(last.interest, 728.34, 2);
    printed(last.principal, 10_404.85, 2);
    let payments = || (1..=7).map(|n| finance::payment(60_000.0, 0.07, 7, n));
    printed(payments().map(|p| p.interest).sum(), 17_932.35, 2);
    printed(payments().map(|p| p.principal).sum(), 60_000.0, 6);
    printed(finance::annuity(60_000.0, 0.07 / 12.0, 84), 905.56, 2);
    let mut flows = vec![-60_000.0];
    flows.resize(8, 14_000.0);
    printed(finance::net_present_value(&flows, 0.07), 15_450.05, 2);
}

#[test]
fn prices_and_weights_stand_in_the_tables() {
    // V4: 138 lb/yd3.
    printed(get("site.density_mixed_trash"), parse(Kind::Density, "138 lb/yd3").unwrap(), 1);
    // V14: 124 lb a day.
    printed(get("site.institutional_site_d_feed"), kilograms("124 lb"), 1);
    // V15: 56.80 a short ton is 62.61 a tonne.
    printed(get("site.landfill_gate_fee"), parse(Kind::MoneyPerMass, "56.80 /ton").unwrap(), 2);
}

#[test]
fn money_of_a_made_up_year() {
    // By hand. Capital 30 x 50 + 100 x 80 + 2 t x 15,000 = 39,500; at 7 % over 7 years x 0.185553 = 7,329.35.
    // Year: 800 h x 20 + 1,000 kWh x 0.2 + 2 t x 500 = 17,200; income 100 t x 90 + 60 m3 x 300 + 0.5 t x 10,000 = 32,000.
    let prices = Money {
        currency: "EUR".to_owned(),
        gate_fee: Some(90.0),
        castings_price: Some(300.0),
        worm_sale_price: Some(10_000.0),
        drum_price: Some(50.0),
        bed_price: Some(80.0),
        worm_price: Some(15_000.0),
        wage: Some(20.0),
        power_price: Some(0.2),
        bran_price: Some(500.0),
        interest: 0.07,
        years: 7,
        ..Money::default()
    };
    let equipment = Equipment { drums: 30.0, bed_area: 100.0, grinders: 1.0, screens: 0.0, worms: 2000.0 };
    let year =
        Yearly { accepted: 100_000.0, bran: 2000.0, castings: 60.0, worms_sold: 500.0, ..Yearly::default() };
    let energy = EnergyFigures { grinder: 400.0, drying: 600.0, ..EnergyFigures::default() };
    let used = money::Used { hours: 800.0, energy: &energy, water: &WaterFigures::default() };
    let m = money::money(&prices, &equipment, &year, &used);
    printed(m.capital_total, 39_500.0, 6);
    printed(m.annuity, 7329.35, 2);
    printed(m.running_total, 17_200.0, 6);
    printed(m.income_total, 32_000.0, 6);
    // 14,800 a year: x 5.389289 - 39,500 = 40,261.48; payback 39,500/14,800 = 2.669.
    printed(m.net_present_value, 40_261.48, 2);
    printed(m.payback.unwrap(), 2.6689, 4);
    assert!(m.discounted_payback > m.payback);
    // (7,329.35 + 17,200 - 18,000 - 5,000)/100 and (7,329.35 + 17,200 - 9,000 - 5,000)/60.
    printed(m.cost_per_tonne.unwrap(), 15.29, 2);
    printed(m.cost_per_cubic_metre.unwrap(), 175.49, 2);
    assert_eq!(m.not_counted, ["grinder", "other capital", "other"]);
    let rate = m.internal_rate.unwrap();
    printed(finance::present_per_annuity(rate, 7), 39_500.0 / 14_800.0, 6);
}
