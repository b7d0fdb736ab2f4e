//! The worked sites as they stand: sane states, published bands, the planted weaknesses found.

use super::{carbon_loss, codes, delivered, eaten, flow, held, names, run, serious, turned_away, within};
use loamledger::study::answer::RunAnswer;

fn product<'a>(answer: &'a RunAnswer, name: &str) -> &'a loamledger::process::quality::QualityFigures {
    let product = answer.products.iter().find(|p| p.name == name).expect("every product is listed");
    product.quality.as_ref().expect("it was sold")
}

#[test]
fn every_file_runs_closes_and_stays_in_the_bands() {
    let names = names();
    assert!(names.len() >= 3, "{names:?}");
    for name in names {
        let answer = run(&name, &[]);
        assert_eq!(answer.daily.len(), answer.days, "{name}");
        assert_eq!(answer.bed_daily.len(), answer.days * answer.beds.len(), "{name}");
        for bed in &answer.beds {
            // published loads (appelhof, biocycle_may_2014): 0.4 to 1.2 kg/m2/day for food scraps in passive beds;
            // the mean of the packhouse falls a trifle below, as its beds are made for the autumn and stand idle in spring
            let least = if name == "valley_packhouse" { 0.3 } else { 0.4 };
            within(&format!("{name} {} load", bed.name), bed.load, least, 1.2);
            // edwards_2004: best from 15 to 20 °C, limits 4 to 30 °C; heating keeps these beds between
            within(&format!("{name} {} mean temperature", bed.name), bed.temperature.mean, 15.0, 25.0);
            within(&format!("{name} {} hottest", bed.name), bed.hottest, 15.0, 30.0);
            // published castings: 60 to 80 % at harvest, which is the operator's band too
            within(&format!("{name} {} moisture", bed.name), bed.moisture.mean, 0.70, 0.80);
            within(&format!("{name} {} lowest pH", bed.name), bed.ph.lowest, 5.0, 8.3);
            within(&format!("{name} {} highest pH", bed.name), bed.ph.highest, 6.0, 8.3);
        }
        // the run the decay constants were tuned on: carbon loss 54 to 62 % in 60 days with 22 % carbon; wide, as feed here is
        // richer in fibre
        within(&format!("{name} carbon loss"), carbon_loss(&answer), 0.40, 0.70);
        let (start, end) = held(&answer, "beds");
        let made = flow(&answer, "castings_harvested").dry - flow(&answer, "overs_to_beds").dry + end.dry;
        let given = flow(&answer, "feed_to_beds").dry + start.dry;
        within(&format!("{name} castings dry matter"), made / given, 0.40, 0.65);
        // published feeds: 0.05 to 0.5 kg/kg/day over sources, 0.25 to 0.35 the current rule; `worms` table: 0.23 at steady state
        within(&format!("{name} intake of worms"), answer.stock.mean_intake, 0.1, 0.5);
        // `worms.steady_biomass_per_feed`: 4.3 kg of worms per kg of feed a day at steady state; these stocks are bought and
        // still growing
        within(
            &format!("{name} stock against feed"),
            answer.stock.mean.total / answer.stock.kept_by_feed,
            0.7,
            1.3,
        );
    }
}

#[test]
fn the_first_site_is_sound() {
    let answer = run("harbour_hall", &[]);
    assert_eq!(serious(&answer).into_iter().collect::<Vec<_>>(), Vec::<&str>::new());
    // it is given less water than its scraps weigh, drains some of it, and dries its castings on the floor it has
    for code in ["water_large", "drainage_large", "drying_short", "castings_held_up", "floor_short"] {
        assert!(!codes(&answer).contains(code), "{code}");
    }
    // and it earns its capital at best estimate
    let settled = answer.later_years.last.as_ref().and_then(|last| last.site.money.as_ref()).expect("money");
    assert!(settled.surplus > settled.annuity && settled.net_present_value > 0.0, "{settled:?}");
    assert!(turned_away(&answer).abs() < 1e-9);
    assert!(answer.drums.spoiled == 0);
    assert!(answer.drums.in_use.highest < answer.drums.owned as f64);
    assert!(answer.bran.short.abs() < 1e-9);
    within("intake per day", delivered(&answer) / 365.0, 240.0, 270.0);
    // practice: sound batches close at pH 3.5 to 4.5
    within("pH at opening", answer.drums.opened_ph.expect("drums were opened"), 3.5, 4.5);
    within("age at opening", answer.drums.opened_age.expect("drums were opened"), 14.0, 28.0);
    within("stock at the end per stock bought", answer.stock.end.total / answer.stock.bought, 1.0, 2.5);
    within("cocoons lost", answer.stock.cocoons_lost_share, 0.0, 0.1);
    within("eaten over fed, dry", 0.2 * eaten(&answer) / flow(&answer, "feed_to_beds").dry, 0.6, 1.0);
}

#[test]
fn castings_of_the_sound_site_against_published_bands() {
    let answer = run("harbour_hall", &[]);
    let castings = product(&answer, "castings");
    // published castings (`bed` table), central (low to high)
    within("moisture, 45 (25 to 55) %", castings.moisture, 0.25, 0.55);
    within("nitrogen, 2.0 (1.2 to 3.2) %", castings.nitrogen, 0.012, 0.032);
    // a hair below the published band: a third of the feed is cardboard, which holds none
    within("phosphorus, 0.8 (0.4 to 1.3) %", castings.phosphorus, 0.0038, 0.013);
    within("potassium, 1.5 (0.6 to 3.0) %", castings.potassium, 0.006, 0.030);
    within("C:N, 14 (10 to 20)", castings.carbon_to_nitrogen, 10.0, 20.0);
    within("pH, 7.2 (6.0 to 8.3)", castings.ph, 6.0, 8.3);
    within("bulk density, 650 (450 to 900) kg/m3", castings.bulk_density, 450.0, 900.0);
    // Outside: carbon 28 (19 to 39) %. The published castings hold 30 to 60 % ash from soil, manure or grit; food scraps
    // with cardboard bring 7 % and nothing else comes in, so two thirds must burn before carbon falls to 39 %.
    within("carbon", castings.carbon, 0.39, 0.50);
    within("ash", castings.ash, 0.08, 0.20);
    // 3 (1.4 to 6) mS/cm at 1:5 or 1:10: these beds drain; the model counts every gram of salt as dissolved
    within("conductivity at 1:10", castings.conductivity_1_to_10, 1.4, 6.0);
    let blend = product(&answer, "blend");
    assert!(blend.conductivity_1_to_10 < castings.conductivity_1_to_10);
    within("C:N of the blend", blend.carbon_to_nitrogen, 10.0, 20.0);
}

#[test]
fn the_mountain_school_spoils_its_winter_drums() {
    let answer = run("mountain_school", &[]);
    let codes = codes(&answer);
    assert!(codes.contains("drum_spoiled") && codes.contains("drum_store_cold"), "{codes:?}");
    assert!(serious(&answer).contains("drum_spoiled"));
    let cold = answer.warnings.iter().find(|w| w.code == "drum_spoiled").expect("it is there");
    assert!(cold.message.contains("cold"), "{}", cold.message);
    within("spoiled over opened", answer.drums.spoiled as f64 / answer.drums.opened as f64, 0.3, 1.0);
    // the summer after shows that cold is the cause
    let warm = run("mountain_school", &[("climate.drum_room.heated_to", "18")]);
    assert!(!super::codes(&warm).contains("drum_spoiled"));
    assert!(warm.drums.opened_ph < answer.drums.opened_ph);
}

#[test]
fn the_packhouse_turns_intake_away_in_autumn() {
    let answer = run("valley_packhouse", &[]);
    assert!(serious(&answer).contains("intake_turned_away"));
    within("share turned away", turned_away(&answer) / delivered(&answer), 0.2, 0.6);
    let autumn: f64 =
        answer.daily.iter().filter(|d| (8..=12).contains(&d.date.month())).map(|d| d.turned_away).sum();
    within("of it from August to December", autumn / turned_away(&answer), 0.8, 1.0 + 1e-9);
    assert!((answer.drums.in_use.highest - answer.drums.owned as f64).abs() < 1e-9);
    // twice the drums, beds and worms as large: less is turned away
    let larger = run("valley_packhouse", &[("drums.count", "300"), ("stock.mass", "4500")]);
    assert!(turned_away(&larger) < 0.6 * turned_away(&answer), "{}", turned_away(&larger));
}
