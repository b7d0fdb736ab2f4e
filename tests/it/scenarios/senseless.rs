//! Legal but senseless sites run, close and say what follows; calendars at their edges.

use super::{codes, delivered, eaten, flow, held, run, serious, text, turned_away, within};
use serde_json::Value;

const SITE: &str = "harbour_hall";
const SCHOOL: &str = "mountain_school";

#[test]
fn a_site_without_worms_eats_nothing_and_fills_up() {
    for answer in [run(SITE, &[("stock.mass", "0")]), super::run_text(&without("stock"))] {
        assert!(serious(&answer).contains("no_worms") && serious(&answer).contains("intake_turned_away"));
        assert!(eaten(&answer).abs() < 1e-9 && flow(&answer, "feed_to_beds").wet.abs() < 1e-9);
        assert!((answer.drums.in_use.highest - answer.drums.owned as f64).abs() < 1e-9);
        assert!(answer.beds[0].refused.iter().any(|(why, days)| *why == "no worms" && *days > 200));
        // the bedding is all there is to harvest
        assert!(flow(&answer, "castings_harvested").dry < held(&answer, "beds").0.dry);
    }
}

/// The worked site with a top-level key taken out.
fn without(key: &str) -> String {
    let mut site: Value = serde_json::from_str(&text(SITE, &[])).expect("JSON");
    site.as_object_mut().expect("an object").remove(key).expect("the key is there");
    site.to_string()
}

#[test]
fn a_site_without_beds_keeps_what_its_drums_hold() {
    for answer in [super::run_text(&without("beds")), run(SITE, &[("beds.count", "0")])] {
        assert!(serious(&answer).contains("no_beds"));
        assert!(answer.beds.is_empty() && answer.bed_daily.is_empty());
        assert!(flow(&answer, "castings_harvested").wet.abs() < 1e-9);
        let taken = delivered(&answer) - turned_away(&answer) + flow(&answer, "bran_to_drums").wet;
        let gone = flow(&answer, "drum_gas").wet
            + held(&answer, "drums").1.wet
            + flow(&answer, "liquor_returned").wet
            + flow(&answer, "liquor_drained").wet;
        // gas under the lids and dissolved aside
        within("where the intake is, of what came", gone / taken, 0.99, 1.0);
        assert!(answer.products.iter().all(|p| p.quality.is_none()));
    }
}

#[test]
fn a_site_without_intake_lets_its_worms_starve() {
    let none = [
        ("streams[0].amount", "0"),
        ("streams[1].generation.count", "0"),
        ("streams[2].generation.count", "0"),
    ];
    for answer in [run(SITE, &none), run(SITE, &[("streams", "[]")])] {
        assert!(serious(&answer).contains("no_intake"));
        assert!(codes(&answer).contains("worms_starving"));
        assert!(delivered(&answer).abs() < 1e-12 && answer.drums.sealed == 0);
        within("stock at the end over bought", answer.stock.end.total / answer.stock.bought, 0.0, 0.2);
    }
}

#[test]
fn a_site_without_drums_turns_everything_away() {
    for answer in [run(SITE, &[("drums.count", "0")]), super::run_text(&without("drums"))] {
        assert!(serious(&answer).contains("no_drums") && serious(&answer).contains("intake_turned_away"));
        assert!((turned_away(&answer) - delivered(&answer)).abs() < 1e-6);
        assert!(answer.drums.in_use.highest.abs() < 1e-12 && answer.drums.opened_ph.is_none());
        assert!(codes(&answer).contains("worms_starving"));
    }
}

#[test]
fn a_grinder_without_hours_opens_no_drum() {
    let answer = run(SITE, &[("grinder.hours", "0")]);
    assert!(codes(&answer).contains("grinder_bottleneck") && serious(&answer).contains("intake_turned_away"));
    assert!(answer.drums.opened == 0 && answer.grinder.ground.abs() < 1e-12);
    // liquor needs no grinding and is all the beds get
    let fed = flow(&answer, "feed_to_beds").wet - flow(&answer, "bulking").wet;
    assert!(fed <= flow(&answer, "liquor_returned").wet + 1e-9, "{fed}");
    assert!(answer.grinder.limiting_days > 100);
}

#[test]
fn one_day_is_a_run() {
    let mut site: Value = serde_json::from_str(&text(SITE, &[("days", "1")])).expect("JSON");
    site["stock"].as_object_mut().expect("an object").remove("arrives");
    let answer = super::run_text(&site.to_string());
    assert_eq!((answer.days, answer.daily.len()), (1, 1));
    within("stock bought or there", answer.stock.start.total, 1099.0, 1101.0);
    assert!(answer.products.iter().all(|p| p.quality.is_none()));
    // 2027-01-04 is a Monday
    within("intake", delivered(&answer), 200.0, 300.0);
}

#[test]
fn a_leap_year_has_366_days() {
    let from = |start: &str| {
        run(SCHOOL, &[("start", start), ("days", "366"), ("stock.arrives", start), ("stock.top_up", "[]")])
    };
    let leap = from("\"2028-01-01\"");
    let last = leap.daily.last().expect("days").date;
    assert_eq!(last, jiff::civil::date(2028, 12, 31));
    assert!(leap.daily.iter().any(|d| d.date == jiff::civil::date(2028, 2, 29) && d.intake > 0.0));
    assert_eq!(from("\"2027-01-01\"").daily.last().expect("days").date, jiff::civil::date(2028, 1, 1));
}

#[test]
fn a_start_on_each_weekday_gives_nearly_the_same_year() {
    let year = |day: u32| {
        let start = format!("\"2027-03-0{day}\"");
        run(SCHOOL, &[("start", &start), ("stock.arrives", "\"2027-03-20\""), ("stock.top_up", "[]")])
    };
    let base = year(1);
    for day in 2..=7 {
        let other = year(day);
        within("delivered", delivered(&other) / delivered(&base), 0.98, 1.02);
        within("eaten", eaten(&other) / eaten(&base), 0.9, 1.1);
        within("stock at the end", other.stock.end.total / base.stock.end.total, 0.9, 1.1);
        assert!(
            other
                .daily
                .iter()
                .all(|d| d.fed.abs() < 1e-12 || d.date.weekday().to_monday_zero_offset() % 2 == 0)
        );
    }
}

#[test]
fn ten_years_close() {
    let answer = run(SCHOOL, &[("days", "3652")]);
    assert_eq!(answer.daily.len(), 3652);
    // 5 % less a year: growth is continuous from the first day
    let year = |n: usize| answer.daily.iter().skip(365 * n).take(365).map(|d| d.intake).sum::<f64>();
    within("tenth year over first", year(9) / year(0), 0.55, 0.72);
}
