//! Drivers: which unknowns move the answer, found where they are known.

use crate::ensemble::{first, fixed_but, made, plan_of, short};
use loamledger::monte_carlo::shard::text_hash;
use loamledger::monte_carlo::{Study, design};
use loamledger::study::Watch;
use loamledger::study::drivers::{DriversAnswer, DriversError, chosen_figures, drivers};
use loamledger::study::sensitivity::rank_regression;
use loamledger::study::sobol::SobolQuestion;
use loamledger::trace::figures;
use std::fs;

fn asked(
    text: &str,
    draws: u64,
    figures: &[&str],
    sobol: Option<&SobolQuestion>,
) -> Result<DriversAnswer, DriversError> {
    let names: Vec<String> = figures.iter().map(|name| (*name).to_owned()).collect();
    let chosen = chosen_figures(&names)?;
    let shard = made(text, &first(draws, 2));
    drivers(&plan_of(text), &text_hash(text), &shard, &chosen, sobol, &Watch::default())
}

#[test]
fn parts_of_a_linear_toy_are_its_variances() {
    // y = 2 a + b + small: of the variance of y 0.8 and 0.2; on ranks of near-normal sums nearly the same
    let rows = design::plain(3, 3, 4000);
    let column = |n: usize| rows.iter().map(|row| row[n]).collect::<Vec<f64>>();
    let (a, b, idle) = (column(0), column(1), column(2));
    let y: Vec<f64> = a.iter().zip(&b).map(|(a, b)| 2.0 * a + b).collect();
    let found = rank_regression(&[&a, &b, &idle], &y).unwrap();
    assert!((found.parts[0] - 0.8).abs() < 0.03 && (found.parts[1] - 0.2).abs() < 0.03, "{:?}", found.parts);
    assert!(found.parts[2].abs() < 0.01);
    let sum: f64 = found.parts.iter().sum();
    // adjusted for three inputs by (n - 1) / (n - 4)
    assert!((1.0 - (1.0 - sum) * 3999.0 / 3996.0 - found.explained).abs() < 1e-9);
    assert!(found.partial[2].low < 0.0 && found.partial[2].high > 0.0);
}

#[test]
fn an_outcome_that_follows_from_its_inputs_exactly_has_its_drivers_too() {
    let rows = design::plain(4, 2, 200);
    let column = |n: usize| rows.iter().map(|row| row[n]).collect::<Vec<f64>>();
    let (a, idle) = (column(0), column(1));
    let y: Vec<f64> = a.iter().map(|a| -a.powi(3)).collect();
    let alone = rank_regression(&[&a], &y).unwrap();
    assert!(alone.partial[0].value < -0.9999 && alone.explained > 0.9999, "{alone:?}");
    let both = rank_regression(&[&a, &idle], &y).unwrap();
    assert!(both.partial[0].value < -0.999 && both.parts[1].abs() < 1e-3, "{both:?}");
}

#[test]
fn the_only_rate_that_is_drawn_is_found_with_its_sign_and_measurement() {
    let text = fixed_but(&short(&[]), &["worms.adult_death_rate"]);
    let answer = asked(&text, 60, &["stock_end", "intake"], None).unwrap();
    assert_eq!(answer.unknowns_drawn, 1);
    let stock = &answer.figures[0];
    assert_eq!(stock.drivers.len(), 1);
    let driver = &stock.drivers[0];
    assert_eq!(driver.key, "worms.adult_death_rate");
    assert!(driver.partial.value < -0.99 && stock.explained > 0.98, "{stock:?}");
    assert!(stock.measurements[0].measurement.starts_with("count cocoons"));
    assert_eq!(stock.measurements[0].rates, [("worms.adult_death_rate", "assumed")]);
    // nothing moves the intake here: this is said, not reckoned
    assert!(answer.figures[1].nothing.as_ref().is_some_and(|why| why.contains("the same in every draw")));
}

#[test]
fn sobol_indices_of_two_rates_share_the_variance_on_any_number_of_threads() {
    let text = fixed_but(&short(&[("days", "40")]), &["worms.adult_death_rate", "worms.juvenile_death_rate"]);
    let ask = |threads: usize| {
        let sobol = SobolQuestion { rows: 64, rates: 12, threads };
        asked(&text, 40, &["stock_end"], Some(&sobol)).unwrap()
    };
    let answer = ask(2);
    assert_eq!(answer.sobol, ask(1).sobol);
    let sobol = answer.sobol.unwrap();
    assert_eq!((sobol.rows_used, sobol.rates.len()), (64, 2));
    let indices = &sobol.figures[0].indices;
    assert_eq!(indices[0].key, "worms.adult_death_rate");
    // deaths of stages add up in a few days, so hardly anything is left to act together
    let totals: f64 = indices.iter().map(|i| i.total.value).sum();
    assert!((totals - 1.0).abs() < 0.2, "{indices:?}");
    assert!(indices.iter().all(|i| i.total.low <= i.total.value && i.total.value <= i.total.high));
}

#[test]
fn each_wrong_request_has_its_own_error() {
    let text = short(&[("days", "10")]);
    let few = asked(&text, 40, &[], None).unwrap_err();
    assert!(matches!(few, DriversError::TooFewDraws { given: 40, .. }) && few.hint().contains("--draws"));
    let unknown = asked(&text, 1, &["stokc_end"], None).unwrap_err();
    assert!(unknown.hint().contains("`stock_end`"));
    let sobol = SobolQuestion { rows: 3, rates: 2, threads: 1 };
    assert_eq!(asked(&text, 1, &[], Some(&sobol)), Err(DriversError::Rows { given: 3 }));
    let nothing = asked(&fixed_but(&text, &[]), 2, &[], None);
    assert_eq!(nothing, Err(DriversError::NothingDrawn));
    let shard = made(&text, &first(1, 1));
    let other = short(&[("days", "11")]);
    let refused = drivers(&plan_of(&other), &text_hash(&other), &shard, &[0], None, &Watch::default());
    assert!(matches!(refused, Err(DriversError::OtherScenario { .. })));
    for name in loamledger::study::drivers::USUAL_FIGURES {
        assert!(figures::place(name).is_some(), "{name}");
    }
}

#[test]
fn the_program_finds_drivers_of_draws_made_before_and_of_new_ones_alike() {
    let folder = tempfile::tempdir().unwrap();
    let text = short(&[("days", "36")]);
    fs::write(folder.path().join("site.json"), &text).unwrap();
    let few =
        crate::cli::loamledger(folder.path(), &["drivers", "site.json", "--draws", "100", "--out", "few"]);
    let told = String::from_utf8_lossy(&few.stderr).into_owned();
    // told before the work, and no folder is made for nothing
    assert_eq!(few.status.code(), Some(1), "{told}");
    assert!(
        told.contains("100 draws with figures are too few") && told.contains("hint: use --draws 750"),
        "{told}"
    );
    assert!(!folder.path().join("few").exists());
    let program = |arguments: &[&str]| {
        let output = crate::cli::loamledger(folder.path(), arguments);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    program(&["run", "site.json", "--draws", "400", "--out", "draws"]);
    let figure = ["--figure", "stock_end", "--figure", "nitrogen_to_air_share"];
    let from = [&["drivers", "site.json", "--from", "draws"], &figure[..]].concat();
    let page = program(&[&from[..], &["--out", "drivers"]].concat());
    assert!(page.lines().all(|line| line.chars().count() <= 120), "{page}");
    assert!(
        page.contains("Most informative measurements") && page.contains("worms: adult death rate"),
        "{page}"
    );
    assert!(page.contains("acts by a hump"), "{page}");
    let written = |name: &str| fs::read_to_string(folder.path().join("drivers").join(name)).unwrap();
    assert_eq!(written("drivers.txt"), page);
    assert_eq!(written("sobol.csv").lines().count(), 1);
    let unknowns = written("drivers.csv").lines().count() - 1;
    assert!(unknowns > 400 && unknowns % 2 == 0, "two figures by every unknown: {unknowns}");
    // the values behind it, by name: rates and figures of ingredients
    let values = written("unknowns.csv");
    let head: Vec<&str> = values.lines().next().unwrap().split(',').collect();
    assert_eq!((values.lines().count(), 2 * (head.len() - 1)), (401, unknowns));
    assert!(head.contains(&"ingredients.bread.moisture") && head.contains(&"worms.adult_death_rate"));
    let study = Study::of(&plan_of(&text)).unwrap();
    let key = "ingredients.bread.moisture";
    let cell =
        values.lines().nth(8).unwrap().split(',').nth(head.iter().position(|k| *k == key).unwrap()).unwrap();
    assert_eq!(cell, study.value(&study.draw(1, 7), key).to_string());
    let json = program(&[&["drivers", "site.json", "--draws", "400", "--json"], &figure[..]].concat());
    assert_eq!(json, written("drivers.json"));
}
