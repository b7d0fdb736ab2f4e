//! A worked site wired together, and what of its round is seen from inside only.

use super::*;
use crate::scenario::{assemble, parse};
use std::path::Path;

/// The site and the models of a worked scenario.
pub(super) fn worked(name: &str) -> (Site, Models) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name).with_extension("json");
    let text = std::fs::read_to_string(path).expect("the scenario is readable");
    let plan = parse(name, &text).unwrap_or_else(|e| panic!("{e}"));
    assemble(&plan).unwrap_or_else(|e| panic!("{e}"))
}

/// A worked site on the morning of a day, after its own rounds.
pub(super) fn on_day<'a>(site: &'a Site, models: &'a Models, day: usize) -> Chain<'a> {
    let mut chain = Chain::new(site, models);
    for day in 0..day {
        chain.day(day, None);
    }
    chain
}

#[test]
fn beds_alike_are_one_cohort() {
    // twelve beds of one kind and four of another
    let (site, models) = worked("valley_packhouse");
    let chain = Chain::new(&site, &models);
    let counts: Vec<_> = chain.beds.iter().map(|cohort| (cohort.first, cohort.count)).collect();
    assert_eq!(counts, [(0, 12), (12, 4)]);
}

#[test]
fn the_last_week_of_a_run_stands_for_those_beyond_it() {
    // 10 days of 1, 2, ... 10 kg: from day 4 on 5 to 10 and then 4, the same weekday a week before; after that 4 to 10
    let (mut site, models) = worked("harbour_hall");
    (site.days, site.bran.dose) = (10, 0.02);
    let mut chain = Chain::new(&site, &models);
    chain.week_ahead = weeks_ahead(&(1..=10).map(f64::from).collect::<Vec<_>>());
    for (day, first) in [(0, 28.0), (3, 49.0), (4, 49.0), (9, 49.0)] {
        let forecast = chain.bran_forecast(day);
        assert!((forecast[0] - 0.02 * first).abs() < 1e-12, "{day} {forecast:?}");
        assert!(forecast[1..].iter().skip(usize::from(day == 0)).all(|week| (week - 0.98).abs() < 1e-12));
    }
    // day 0: the second week is of 8, 9, 10 and the days that 1 + 7 to 4 + 7 would be
    assert!((chain.bran_forecast(0)[1] - 0.98).abs() < 1e-12);
}

#[test]
fn bran_beyond_the_capacity_and_starter_that_fails_add_up_week_by_week() {
    // by hand: what a week of none makes is asked for again in the next, with nothing drawn in between
    let (mut site, models) = worked("harbour_hall");
    let after = |site: &Site, days: usize| {
        let mut chain = Chain::new(site, &models);
        chain.week_ahead = weeks_ahead(&vec![100.0; site.days]);
        for day in 0..days {
            chain.make_bran(day);
        }
        (chain.tally.bran_beyond_capacity, chain.tally.starter_failed, chain.tally.bran_orders)
    };
    site.bran.making.starting_bran = 0.0;
    site.bran.making.weekly_capacity = 0.0;
    let (beyond, failed, orders) = after(&site, 15);
    let practice = site.bran.making.practice;
    let weeks = (practice.activation_days + practice.bran_days) / 7.0 + 1.0 + site.bran.making.safety_weeks;
    let wanted = weeks * 7.0 * 100.0 * site.bran.dose;
    assert!((beyond / (3.0 * wanted) - 1.0).abs() < 1e-9 && failed == 0.0, "{beyond} {wanted}");
    assert!(orders.is_empty());
    // too cold to sour: the starter of the first order fails after its fortnight, and the next after another
    (site.bran.making.weekly_capacity, site.bran.making.activation_temperature) = (1e9, 8.0);
    let (beyond, failed, orders) = after(&site, 29);
    let litres = after(&site, 15).1;
    assert!((practice.activation_days - 14.0).abs() < 1e-12 && beyond == 0.0);
    assert!(litres > 1.0 && (failed / litres - 2.0).abs() < 1e-9, "{failed} {litres}");
    assert!(orders.len() == 1 && orders[0].day == 0 && (orders[0].mass / wanted - 1.0).abs() < 1e-9);
}
