//! One thing changed at a sound site: the stage that must suffer does, by a sane amount.

use super::{codes, dead, delivered, eaten, flow, run, serious, turned_away, within};
use loamledger::study::answer::RunAnswer;

const SITE: &str = "harbour_hall";

fn changed(changes: &[(&str, &str)]) -> (RunAnswer, RunAnswer) {
    (run(SITE, &[]), run(SITE, changes))
}

/// A band of moisture in which the feed, not the watering, decides the air of a bed.
const DRIER: (&str, &str) = ("beds.moisture_band", "[0.72, 0.8]");

/// The drier site, and the same with `changes`.
fn changed_drier(changes: &[(&str, &str)]) -> (RunAnswer, RunAnswer) {
    (run(SITE, &[DRIER]), run(SITE, &[&[DRIER], changes].concat()))
}

/// A figure of the variant over that of the base.
fn over(of: impl Fn(&RunAnswer) -> f64, both: &(RunAnswer, RunAnswer)) -> f64 {
    of(&both.1) / of(&both.0)
}

fn nitrogen_of_castings(answer: &RunAnswer) -> f64 {
    let castings = flow(answer, "castings_harvested");
    castings.nitrogen / castings.dry
}

fn harvested(answer: &RunAnswer) -> f64 {
    flow(answer, "castings_harvested").dry
}

#[test]
fn a_quarter_of_the_worms_leaves_drums_full() {
    let both = changed(&[("stock.mass", "275")]);
    // fewer worms eat less until they catch up: well fed they double in weeks, so two doublings take them a part of the year
    within("eaten", over(eaten, &both), 0.3, 0.95);
    within("castings", over(harvested, &both), 0.3, 0.95);
    within("mean stock", over(|a| a.stock.mean.total, &both), 0.3, 0.9);
    within("drums in use", over(|a| a.drums.in_use.mean, &both), 1.2, 3.0);
    within("turned away", turned_away(&both.1) / delivered(&both.1), 0.02, 0.7);
    // and the drums themselves ferment as before
    within("pH at opening", both.1.drums.opened_ph.expect("opened"), 3.5, 4.5);
}

#[test]
fn ten_degrees_colder_slows_drums_and_beds() {
    let colder = [
        ("climate.mean_temperature", "1"),
        ("climate.bed_room.heated_to", "4"),
        ("climate.drum_room.heated_to", "8"),
    ];
    let both = changed(&colder);
    // heated rooms stay at their set point, beds above it by what they burn
    within("colder beds by", both.0.beds[0].temperature.mean - both.1.beds[0].temperature.mean, 8.0, 15.0);
    // a tenth of what they eat at 25 °C at the 4 to 8 °C of these beds, where warm worms eat a third of their fill
    within("eaten per worm", over(|a| a.stock.mean_intake, &both), 0.02, 0.5);
    within("age at opening", over(|a| a.drums.opened_age.expect("opened"), &both), 1.5, 20.0);
    assert!(both.1.drums.spoiled > 20, "{}", both.1.drums.spoiled);
    // and they hardly breed
    assert!(both.1.stock.end.total < 0.8 * both.1.stock.bought);
    // cold worms need as little as they eat
    for code in ["drum_store_cold", "drum_spoiled", "bed_too_cold"] {
        assert!(codes(&both.1).contains(code), "{code}");
    }
    // beds that burn less also breathe less
    within("carbon dioxide", over(|a| a.gases.carbon_dioxide, &both), 0.01, 0.4);
}

#[test]
fn beds_in_frost_lose_worms_to_cold() {
    let answer = run(
        SITE,
        &[("climate.mean_temperature", "1"), ("climate.bed_room", r#"{"share_of_outdoor_swing": 0.6}"#)],
    );
    assert!(dead(&answer, "cold") > 0.1 * dead(&answer, "background"), "{:?}", answer.stock.deaths);
    assert!(answer.beds[0].temperature.lowest < 0.0);
}

#[test]
fn a_tenth_of_the_drums_turns_the_intake_away() {
    let both = changed(&[("drums.count", "6")]);
    // six drums of 127 kg turned over every fortnight take 54 kg a day of the 250
    let most = 6.0 * both.1.drums.full_mass * 365.0 / 14.0;
    let taken = delivered(&both.1) - turned_away(&both.1);
    within("taken of the most six drums can", taken / most, 0.7, 1.0);
    within("turned away", turned_away(&both.1) / delivered(&both.1), 0.7, 0.9);
    assert!(serious(&both.1).contains("intake_turned_away"));
    assert!(codes(&both.1).contains("worms_starving"));
    within("castings", over(harvested, &both), 0.1, 0.4);
    within("pH at opening", both.1.drums.opened_ph.expect("opened"), 3.5, 4.5);
}

#[test]
fn sealed_drums_build_pressure_and_nothing_else_changes() {
    let both = changed(&[("drums.vent", "sealed")]);
    // gas law by hand: a valve opens below 1 kPa; a closed lid sees tens to hundreds of kPa
    within("with a valve, kPa", both.0.drums.pressure, 0.0, 5.0);
    within("sealed, kPa", both.1.drums.pressure, 50.0, 500.0);
    for code in ["drum_pressure", "valve_missing"] {
        assert!(serious(&both.1).contains(code) && !codes(&both.0).contains(code), "{code}");
    }
    within("castings", over(harvested, &both), 0.99, 1.01);
}

#[test]
fn wet_feed_without_bulking_excludes_air() {
    // share of the fresh layer that oxygen reaches, over days on which there is a layer to speak of
    let reach = |answer: &RunAnswer| {
        let rows = answer.bed_daily.iter().filter(|b| b.fresh_thickness > 0.001);
        let (sum, count) =
            rows.fold((0.0, 0.0), |(s, n), b| (s + b.fresh_reach / b.fresh_thickness, n + 1.0));
        sum / count
    };
    let bare = ("bulking.ingredient", "none");
    let both = changed_drier(&[bare]);
    within("air-filled porosity, bulked", both.0.grinder.porosity, 0.25, 0.6);
    within("air-filled porosity, bare", both.1.grinder.porosity, 0.0, 0.1);
    within("reach, bulked", reach(&both.0), 0.999, 1.0);
    within("reach, bare", reach(&both.1), 0.5, 0.9995);
    within("eaten", over(eaten, &both), 0.1, 0.8);
    within("castings hold more nitrogen", over(nitrogen_of_castings, &both), 1.05, 2.0);
    // thicker layers make it worse without bulking and no worse with it
    let thick =
        [("feeding.fresh_share_limit", "1"), ("feeding.largest_layer", "0.2"), ("feeding.ration", "1")];
    within("reach, bulked and thick", reach(&run(SITE, &[&[DRIER], &thick[..]].concat())), 0.999, 1.0);
    let few = ("beds.count", "6");
    within(
        "reach, bare and thick",
        reach(&run(SITE, &[&[DRIER, bare, few], &thick[..]].concat())),
        0.1,
        0.85,
    );
}

#[test]
fn one_trommel_loses_cocoons_and_worms() {
    let both = changed(&[("screen.method", "trommel")]);
    within("cocoons lost", over(|a| a.stock.cocoons_lost, &both), 3.0, 10.0);
    within("worms lost", over(|a| a.stock.lost, &both), 1.5, 4.0);
    within("stock at the end", over(|a| a.stock.end.total, &both), 0.7, 0.99);
    within("intake turned away", turned_away(&both.1), 0.0, 1e-9);
}

#[test]
fn twice_the_intake_overruns_the_site() {
    // hours of grinding that suit the site, not twice its intake
    let hours = ("grinder.hours", "0.9");
    let twice = [
        hours,
        ("streams[0].amount", "340"),
        ("streams[1].generation.count", "2800"),
        ("streams[2].generation.count", "3000"),
    ];
    let both = (run(SITE, &[hours]), run(SITE, &twice));
    within("intake", over(delivered, &both), 2.0 - 1e-9, 2.0 + 1e-9);
    within("turned away", turned_away(&both.1) / delivered(&both.1), 0.05, 0.5);
    within("castings", over(harvested, &both), 1.05, 1.8);
    within("bed load", over(|a| a.beds[0].load, &both), 1.1, 1.9);
    assert!(both.1.beds[0].temperature.mean > both.0.beds[0].temperature.mean);
    // every drum is in use, and the grinder is short of hours as well
    assert!((both.1.drums.in_use.highest - both.1.drums.owned as f64).abs() < 1e-9);
    let limiting = [&both.0, &both.1].map(|a| a.grinder.limiting_days);
    assert!(
        codes(&both.1).contains("grinder_bottleneck") && limiting[0] <= 2 && limiting[1] > 20,
        "{limiting:?}"
    );
    assert!(serious(&both.1).contains("intake_turned_away"));
}

#[test]
fn an_overheated_room_stops_feeding_and_kills() {
    // evaporation holds beds below the room, here near 31 degrees: too hot to be fed, and the starving stock sours its bed
    let warm = run(SITE, &[("climate.bed_room", r#"{"heated_to": 33, "share_of_outdoor_swing": 0}"#)]);
    within("bed at 33", warm.beds[0].temperature.mean, 30.0, 33.0);
    assert!(serious(&warm).contains("bed_too_hot"));
    assert!(flow(&warm, "feed_to_beds").wet < 1e-9);
    assert!(warm.stock.end.total < 0.01 * warm.stock.bought);
    assert!(serious(&warm).contains("stock_dying_out"));
    assert!(warm.beds[0].refused.iter().any(|(why, days)| *why == "temperature" && *days > 100));
    // at 39 degrees heat itself kills most
    let room = r#"{"warmer_than_outdoors": 25, "share_of_outdoor_swing": 0}"#;
    let hot = run(SITE, &[("climate.mean_temperature", "15"), ("climate.bed_room", room)]);
    let all: f64 = hot.stock.deaths.iter().map(|d| d.1).sum();
    within("deaths by heat", dead(&hot, "heat") / all, 0.5, 1.0);
    assert!(hot.stock.end.total < 1e-6);
    assert!(dead(&run(SITE, &[]), "heat").abs() < 1e-9);
}

#[test]
fn thick_layers_keep_air_out_and_worms_hungry() {
    // six beds for the feed of twenty
    let thick = [
        ("beds.count", "6"),
        ("feeding.fresh_share_limit", "1"),
        ("feeding.largest_layer", "0.2"),
        ("feeding.ration", "1"),
        ("bulking.ingredient", "none"),
    ];
    let both = changed_drier(&thick);
    // coir itself has pH 5.5
    within("lowest pH of the sound bed", both.0.beds[0].ph.lowest, 5.4, 7.0);
    within(
        "hottest spot, K above that of the sound bed",
        both.1.beds[0].hottest - both.0.beds[0].hottest,
        3.0,
        15.0,
    );
    for code in ["layer_too_thick", "worms_starving"] {
        assert!(
            codes(&both.1).contains(code) && (code == "worms_starving" || !codes(&both.0).contains(code)),
            "{code}"
        );
    }
    within("stock at the end", over(|a| a.stock.end.total, &both), 0.0, 0.4);
    within("eaten", over(eaten, &both), 0.1, 0.7);
}

#[test]
fn worms_starve_after_intake_stops() {
    let both = changed(&[("streams.closed", r#"["2027-07-01..2028-12-31"]"#)]);
    let on = |answer: &RunAnswer, date: jiff::civil::Date| {
        answer.daily.iter().find(|d| d.date == date).expect("a day of the run").stock
    };
    let (july, december) = (jiff::civil::date(2027, 7, 1), jiff::civil::date(2027, 12, 31));
    assert!((on(&both.0, july) / on(&both.1, july) - 1.0).abs() < 1e-9);
    // half a year without feed: bodies thin and the old die, but the stock is not gone (trade practice: months of famine)
    within("stock in December over July", on(&both.1, december) / on(&both.1, july), 0.1, 0.6);
    assert!(codes(&both.1).contains("worms_starving"));
    let starving: usize = both.1.beds.iter().map(|b| b.starving_days).sum();
    within("starving days of a bed", starving as f64 / both.1.beds.len() as f64, 90.0, 184.0);
    // a bed that is not fed ends where its bedding and castings go on decaying
    assert!(both.1.beds[0].hottest <= both.0.beds[0].hottest + 1e-9);
}
