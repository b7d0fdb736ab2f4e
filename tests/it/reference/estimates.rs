//! Intervals of shares, ranks and money.

use super::{close, estimates, list, number, numbers};
use loamledger::monte_carlo::summary::{order_ranks, wilson};
use loamledger::site_figures::finance;
use loamledger::study::sizing::chance;

fn count(of: f64) -> u32 {
    format!("{of:.0}").parse().unwrap()
}

#[test]
fn intervals_of_a_share_equal_scipy() {
    let reference = estimates();
    for (method, ours) in [("wilson", true), ("clopper_pearson", false)] {
        for row in list(&reference["intervals"][method]["rows"]) {
            let [met, draws, low, high] = numbers(row)[..] else { panic!("four numbers") };
            let (met, draws) = (count(met), count(draws));
            let found = if ours {
                wilson(met as usize, draws as usize)
            } else {
                chance::interval(met.into(), draws.into(), 0.95)
            };
            assert!((found.0 - low).abs() < 1e-12, "{method} {met}/{draws}: {found:?}");
            assert!((found.1 - high).abs() < 1e-12, "{method} {met}/{draws}: {found:?}");
        }
    }
}

#[test]
fn ranks_of_a_quantile_equal_scipy() {
    for row in list(&estimates()["intervals"]["order_ranks"]["rows"]) {
        let rank = |i: usize| row[i].as_u64().map(|rank| usize::try_from(rank).unwrap());
        let found = order_ranks(rank(0).unwrap(), number(&row[1]));
        assert_eq!(found, (rank(2), rank(3)), "{row}");
    }
}

#[test]
fn interest_and_present_value_equal_numpy_financial() {
    let reference = &estimates()["money"];
    let rows = |key: &str| -> Vec<Vec<f64>> { list(&reference[key]["rows"]).iter().map(numbers).collect() };
    for row in rows("annuity") {
        close("annuity", finance::annuity(row[0], row[1], count(row[2])), row[3], 1e-13);
    }
    for row in rows("present") {
        close("present", finance::present_per_annuity(row[0], count(row[1])), row[2], 1e-13);
    }
    for row in rows("future") {
        close("future", finance::future_per_annuity(row[0], count(row[1])), row[2], 1e-13);
    }
    for row in rows("loan") {
        let found = finance::payment(60_000.0, 0.07, 7, count(row[0]));
        close("interest", found.interest, row[1], 1e-11);
        close("principal", found.principal, row[2], 1e-12);
    }
    let flows = numbers(&reference["value"]["flows"]);
    for row in rows("value") {
        close("value", finance::net_present_value(&flows, row[0]), row[1], 1e-12);
    }
    close("rate", finance::internal_rate(&flows).unwrap(), number(&reference["rate"]["rate"]), 1e-12);
}
