//! The settled year beside the first, and the verdict: worked sites followed until a year is like the one before.

use crate::cli::here;
use crate::ensemble::{made, plan_of, site};
use crate::sound::run_varied;
use loamledger::chain::{self, Keep, Models, Years};
use loamledger::matter::{Element, Elements, Gases};
use loamledger::process::worm::Deaths;
use loamledger::scenario::{Almanac, Plan, assemble_on, central};
use loamledger::study::verdict::Standing;
use loamledger::study::{Draws, uncertainty};
use loamledger::trace::figures::{self, FigureSource, LaterYear, SETTLED};
use loamledger::trace::{BedTally, Flow, Holder, Settling, Tally, Trace};

const HALL: &str = include_str!("../../scenarios/harbour_hall.json");

/// The harbour site with keys set, followed over its years.
fn followed(changes: &[(&str, &str)]) -> (Plan, Models, Years) {
    let plan = plan_of(&site(HALL, changes));
    let (site, models) = assemble_on(&plan, &Almanac::of_years(&plan), &|key| central(&plan, key))
        .expect("the site can be assembled");
    let years =
        chain::follow(&site, &models, Keep::Days, &plan.horizon(), &[]).unwrap_or_else(|e| panic!("{e}"));
    (plan, models, years)
}

fn years(changes: &[(&str, &str)]) -> Years {
    followed(changes).2
}

/// What came to a holder less what left it, by the flows of a year.
fn booked(year: &Trace, holder: Holder) -> Elements {
    let moved = |flow: &Flow| {
        let (matter, gases): (_, &Gases) = (year.ledger.matter(*flow), year.ledger.gases(*flow));
        let elements = matter.elements() + gases.elements();
        let into = if flow.to() == holder { elements } else { Elements::zeros() };
        if flow.from() == holder { into - elements } else { into }
    };
    Flow::ALL.iter().map(moved).fold(Elements::zeros(), |sum, moved| sum + moved)
}

#[test]
fn a_run_is_the_same_to_the_last_bit_however_long_the_site_is_followed() {
    let [alone, followed] = ["1", "3"].map(|most| years(&[("settled_year.most_years", most)]));
    assert_eq!((alone.settling, alone.sums.len()), (Settling::NotSought, 0));
    assert_eq!(alone.run.daily, followed.run.daily);
    assert_eq!(alone.run.tally, followed.run.tally);
    for flow in Flow::ALL {
        assert_eq!(alone.run.ledger.matter(flow), followed.run.ledger.matter(flow), "{flow}");
    }
    // the first year is the run where that has 365 days
    assert_eq!(followed.first.as_ref().unwrap().daily, followed.run.daily);
}

#[test]
fn every_holder_of_the_settled_year_holds_what_was_booked_in_it() {
    let years = years(&[]);
    let last = years.last.as_ref().unwrap();
    assert_eq!((years.settling, last.daily.len(), years.sums.len()), (Settling::Settled, 365, 3));
    for held in last.held.iter().filter(|held| held.holder != Holder::Drums) {
        let (change, booked) = (held.end.elements() - held.start.elements(), booked(last, held.holder));
        let scale = held.start.elements().sum() + held.end.elements().sum() + booked.abs().sum();
        for element in Element::ALL {
            let gap = change[element.index()] - booked[element.index()];
            assert!(gap.abs() <= 1e-9 * scale, "{} of {}: {gap:e} of {scale}", element.name(), held.holder);
        }
    }
    // the sums are those of its days
    let eaten: f64 = last.daily.iter().map(|d| d.eaten).sum();
    assert_eq!(years.sums[2].eaten.to_bits(), eaten.to_bits());
    assert_eq!(years.sums[2].start, last.daily[0].date);
    let worms = last.daily.iter().map(|d| d.stock).sum::<f64>() / 365.0;
    assert!(worms > 1.0 && (years.sums[2].stock_mean / worms - 1.0).abs() < 1e-12, "{worms}");
}

#[test]
fn hunger_has_its_share_of_the_deaths_of_the_settled_year() {
    // by hand: 30 of 100 dead worms, of nine causes in this order
    let (plan, models, years) = followed(&[("settled_year.most_years", "2")]);
    let get = |key: &str| central(&plan, key);
    let place = figures::place("settled_hunger_deaths_share").unwrap();
    let share = |deaths: [f64; 9]| {
        let mut last = years.last.clone().unwrap();
        last.tally.deaths = deaths;
        let later = LaterYear { trace: &last, sums: &years.sums, settling: years.settling };
        let source = FigureSource::of(&years.run, &get, &models.acids);
        figures::read(&source.and_later(Some(later), &get, &models.acids))[place]
    };
    assert_eq!(Deaths::CAUSES[..3], ["background", "crowding", "low condition"]);
    assert!((share([10.0, 0.0, 30.0, 0.0, 0.0, 40.0, 20.0, 0.0, 0.0]).unwrap() - 0.3).abs() < 1e-12);
    assert_eq!(share([0.0; 9]), None, "none died");
}

#[test]
fn growth_ends_with_the_run_and_holds_in_later_years() {
    let years = years(&[("streams.yearly_growth", "-0.2")]);
    let [first, second, third] = [0, 1, 2].map(|n| years.sums[n].intake);
    // by hand: over the year the mean of 0.8^t is (1 - 0.8) / -ln 0.8 = 0.896; after it 0.8
    assert!((second / first - 0.8 / 0.896).abs() < 0.01, "{first} {second}");
    assert!((third / second - 1.0).abs() < 0.01, "weekdays alone move it: {second} {third}");
}

#[test]
fn a_settled_year_that_is_not_reached_is_said_with_its_reason() {
    let two = run_varied("harbour_hall", &[("settled_year.most_years", "2")]).later_years;
    assert_eq!((two.settling, two.years.len()), (Settling::StillChanging, 2));
    assert!(two.changes[0].share.abs() > two.tolerance && two.last.is_some());
    let dry = [("beds[0].moisture_band", "[0.3, 0.4]"), ("settled_year.most_years", "4")];
    assert_eq!(run_varied("harbour_hall", &dry).later_years.settling, Settling::DiedOut);
    let short = run_varied("harbour_hall", &[("days", "200")]).later_years;
    assert_eq!((short.settling, short.years.len(), short.last), (Settling::TooShort, 0, None));
}

#[test]
fn money_counts_the_first_year_once() {
    let answer = run_varied("harbour_hall", &[]);
    let (first, later) = (answer.site.money.unwrap(), answer.later_years.last.unwrap().site.money.unwrap());
    assert_eq!(later.first_surplus.to_bits(), first.surplus.to_bits());
    let years: f64 =
        (2..=later.years).map(|year| later.surplus / (1.0 + later.interest).powf(f64::from(year))).sum();
    let by_hand = first.surplus / (1.0 + later.interest) + years - later.capital_total;
    assert!((later.net_present_value - by_hand).abs() < 1e-6 * by_hand.abs(), "{by_hand}");
}

#[test]
fn draws_have_a_settled_year_on_any_number_of_threads() {
    let text = site(HALL, &[]);
    let draws = |threads| Draws::first(5, 6, threads);
    let one = made(&text, &draws(1));
    assert_eq!(one, made(&text, &draws(3)));
    let answer = uncertainty::answer(&one).unwrap();
    for figure in answer.figures.iter().filter(|f| f.name.starts_with(SETTLED)) {
        assert!(figure.draws > 0, "{}", figure.name);
    }
    let place = figures::place("settled_stock_mean").unwrap();
    assert!(one.ensemble.rows.iter().all(|row| row.figures[place].value().unwrap() > 0.0));
    assert_eq!(answer.verdict.draws, 6);
    assert!(answer.failures.iter().all(|f| f.name != "off_standard"), "no rule is named");
}

#[test]
fn the_verdict_is_the_exit_status() {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, status) in [("harbour_hall", 0), ("valley_packhouse", 1)] {
        let file = format!("{name}.json");
        assert_eq!(
            here(&["start", folder.path().join(&file).to_str().unwrap(), "--from", name]).status.code(),
            Some(0)
        );
        let ran = here(&["run", folder.path().join(&file).to_str().unwrap()]);
        assert_eq!(ran.status.code(), Some(status), "{name}");
        let page = String::from_utf8(ran.stdout).expect("text");
        assert!(page.contains("verdict  "), "the page is printed whole: {page}");
    }
    let answer = run_varied("valley_packhouse", &[]);
    assert_eq!(answer.verdict.standing, Standing::Fails);
    assert!(answer.verdict.against().any(|w| w.name == "turned_away"));
}

#[test]
fn what_weighs_is_set_in_the_scenario() {
    let mild =
        [("verdict.serious_chance", "1"), ("verdict.caution_chance", "1"), ("verdict.fails_chance", "1")];
    assert_eq!(run_varied("valley_packhouse", &mild).verdict.standing, Standing::Works);
    let wrong = loamledger::scenario::varied("hall.json", HALL, "verdict.fails_chance", "0.05");
    let error =
        wrong.and_then(|text| loamledger::scenario::parse("hall.json", &text)).unwrap_err().render(false);
    assert!(
        error.contains("fail before it is at risk") && error.contains("at least `serious_chance`"),
        "{error}"
    );
}

#[test]
fn sums_of_a_year_are_what_was_added_since_the_year_before() {
    let tally = |n: f64, count: usize| {
        let mut tally = Tally { opened_age: 30.0 * n, sold: 2.0 * n, ..Tally::default() };
        tally.beds = vec![BedTally { fed: 5.0 * n, ..BedTally::default() }];
        tally.spoiled.fill(count);
        tally
    };
    let year = tally(7.0, 9).since(&tally(4.0, 3));
    let near = |ours: f64, wanted: f64| assert!((ours - wanted).abs() < 1e-12, "{ours} {wanted}");
    near(year.opened_age, 90.0);
    near(year.sold, 6.0);
    near(year.beds[0].fed, 15.0);
    assert!(year.spoiled.iter().all(|count| *count == 6));
}
