//! Beds still fail where they should, and the page says why; worms live where people keep them.

use crate::sound::{self, run_varied};
use loamledger::quantity::Units;
use loamledger::report::pages::run::run_text;
use loamledger::study::answer::RunAnswer;

fn deaths(answer: &RunAnswer, cause: &str) -> f64 {
    answer
        .stock
        .deaths
        .iter()
        .find(|(name, _)| *name == cause)
        .unwrap_or_else(|| panic!("no cause {cause}"))
        .1
}

/// Worms at the end over those bought.
fn kept(answer: &RunAnswer) -> f64 {
    answer.stock.end.total / (answer.stock.start.total + answer.stock.bought)
}

/// The site loses most of the worms that the unchanged site keeps, most of those above the background die of `cause`, and the page
/// says so in the words of the warning.
#[track_caller]
fn fails(answer: &RunAnswer, cause: &str, warning: &str, words: &str) {
    let others = answer.stock.deaths.iter().filter(|(name, _)| *name != cause && *name != "background");
    let (own, others) = (deaths(answer, cause), others.map(|(_, number)| number).sum::<f64>());
    assert!(kept(answer) < 0.5, "{} of the worms are left", kept(answer));
    assert!(own > others, "{cause} {own}, others {others}: {:?}", answer.stock.deaths);
    let raised = answer.warnings.iter().find(|w| w.code == warning);
    let raised = raised.unwrap_or_else(|| panic!("no {warning}: {:?}", codes(answer)));
    assert!(raised.message.contains(words), "{}", raised.message);
    let page = run_text(answer, Units::Si);
    assert!(page.contains(words), "{words} is not on the page");
}

fn codes(answer: &RunAnswer) -> Vec<&str> {
    answer.warnings.iter().map(|w| w.code).collect()
}

const HALL: &str = "harbour_hall";
const SCHOOL: &str = "mountain_school";

#[test]
fn a_shed_as_hot_as_35_degrees_kills_the_worms_by_heat() {
    let hot = run_varied(HALL, &[("climate.bed_room.heated_to", "35")]);
    fails(&hot, "heat", "bed_too_hot", "°C");
}

#[test]
fn scraps_with_a_tenth_of_salt_kill_the_worms_by_salt() {
    let salty = run_varied(
        SCHOOL,
        &[("ingredients.kitchen_scraps.ash", "\"18 %\""), ("ingredients.kitchen_scraps.salt", "\"12 %\"")],
    );
    fails(&salty, "salt", "salt_stress", "salt per litre of pore water");
}

#[test]
fn layers_of_thirty_centimetres_cook_the_worms() {
    // 40 kg of worms on 4 m2
    let small = [
        ("beds[0].count", "1"),
        ("beds[0].area", "4"),
        ("beds[0].cover", "0.5"),
        ("stock.mass", "40"),
        ("stock.top_up", "[]"),
        ("screen.stocking_ceiling", "100"),
    ];
    let thick =
        [("feeding.largest_layer", "0.3"), ("feeding.fresh_share_limit", "0.9"), ("feeding.ration", "3")];
    let thick = run_varied(SCHOOL, &[&small[..], &thick].concat());
    fails(&thick, "heat", "bed_too_hot", "highest ");
    let hot = thick.warnings.iter().find(|w| w.code == "bed_too_hot").expect("it is there");
    assert!(hot.hint.contains("thinner"), "{}", hot.hint);
    // the same bed in thin layers
    let thin = run_varied(SCHOOL, &small);
    assert!(deaths(&thin, "heat").abs() < 1.0 && kept(&thin) > 2.0 * kept(&thick), "{:?}", thin.stock.deaths);
}

#[test]
fn a_bed_that_is_kept_dry_starves_its_worms_in_their_own_salt() {
    let dry = run_varied(HALL, &[("beds[0].moisture_band", "[0.45, 0.55]")]);
    // a dry bed holds the salt of its scraps in half of the water
    fails(&dry, "salt", "bed_too_dry", "moisture below 60");
    assert!(
        codes(&dry).contains(&"salt_stress") && codes(&dry).contains(&"worms_starving"),
        "{:?}",
        codes(&dry)
    );
}

#[test]
fn a_stock_with_a_twentieth_of_its_scraps_dwindles() {
    let starved = run_varied(SCHOOL, &[("streams[0].generation.count", "20")]);
    let usual = run_varied(SCHOOL, &[]);
    // grown worms die of age and few grow up
    assert!(kept(&starved) < 0.5 && kept(&usual) > 1.0, "{} {}", kept(&starved), kept(&usual));
    let raised = starved.warnings.iter().find(|w| w.code == "worms_starving").expect("the page says so");
    assert!(raised.message.contains("ate less than they need"), "{}", raised.message);
    assert!(run_text(&starved, Units::Si).contains("ate less than they need"));
}

/// Whether a failure happens in the best-estimate run.
fn happens(answer: &RunAnswer, failure: &str) -> bool {
    answer.verdict.weighed.iter().any(|weighed| weighed.name == failure && weighed.chance > 0.5)
}

#[test]
fn a_site_that_starves_its_worms_to_death_fails_and_one_that_thins_to_its_feed_does_not() {
    // nothing to eat: hunger kills, and the stock falls from year to year
    let nothing = run_varied(SCHOOL, &[("streams", "[]")]);
    assert!(
        happens(&nothing, "starved") && happens(&nothing, "stock_falls"),
        "{:?}",
        nothing.verdict.weighed
    );
    // more worms than the feed carries thin in the first year, and live on it in the settled one
    let usual = run_varied(SCHOOL, &[]);
    let overstocked = run_varied(SCHOOL, &[("stock.mass", "500")]);
    for answer in [&usual, &overstocked] {
        assert!(!happens(answer, "starved"), "{:?}", answer.verdict.weighed);
    }
}

#[test]
fn thirty_kilograms_of_worms_per_square_metre_thin_out() {
    let full = run_varied(HALL, &[("stock.mass", "10692")]);
    // young worms die in the crowd
    fails(&full, "crowding", "crowded", "of worms, above");
    // fewer worms eat more there in the first half year
    let usual = run_varied(HALL, &[("stock.mass", "1100")]);
    let eaten = |answer: &RunAnswer| answer.daily.iter().take(200).map(|day| day.eaten).sum::<f64>();
    assert!(eaten(&full) < eaten(&usual), "{} {}", eaten(&full), eaten(&usual));
    // and no bed dies out of it
    assert!(full.stock.end.total > 300.0, "{}", full.stock.end.total);
}

#[test]
fn worms_live_in_finished_compost() {
    let compost = run_varied(SCHOOL, &[("beds[0].bedding.ingredient", "compost_finished")]);
    let coir = run_varied(SCHOOL, &[("beds[0].bedding.ingredient", "coconut_coir")]);
    assert!(kept(&compost) > 0.9 && kept(&compost) > 0.6 * kept(&coir), "{} {}", kept(&compost), kept(&coir));
    assert!(deaths(&compost, "salt") < 0.1 * deaths(&compost, "background"), "{:?}", compost.stock.deaths);
}

/// A household: 3 kg of scraps a week in buckets, then in a bin of half a square metre with a kilogram of worms.
const HOUSEHOLD: &str = r#"{
  "name": "Household bin",
  "start": "2027-03-01",
  "days": 400,
  "climate": {
    "mean_temperature": 12,
    "seasonal_swing": 6,
    "bed_room": { "heated_to": 18, "share_of_outdoor_swing": 0, "warmer_than_outdoors": 6 },
    "drum_room": { "heated_to": 18, "share_of_outdoor_swing": 0, "warmer_than_outdoors": 6 }
  },
  "streams": [{ "name": "kitchen", "amount": 0.4286, "mix": { "food_waste_household": 1 } }],
  "bran": { "bought": true },
  "drums": { "count": 6, "volume": "18 L", "most_filling_days": 14, "room_volume": 30 },
  "grinder": { "rate": 20, "hours": 1, "motor": "0.5 kW" },
  "bulking": { "ingredient": "cardboard_corrugated" },
  "beds": [{ "name": "bin", "area": 0.5, "depth": 0.5, "bedding": { "ingredient": "coconut_coir", "depth": 0.15 } }],
  "stock": { "mass": 1, "arrives": "2027-04-05" },
  "feeding": { "ration": 0.5 },
  "harvest": { "every_days": 120, "share": 0.4, "first_day": 200 },
  "screen": { "method": "migration", "aperture": "5 mm", "drying_days": 14, "rate": 20 }
}"#;

#[test]
fn a_kilogram_of_worms_lives_in_a_household_bin() {
    let bin = sound::run(&sound::read(HOUSEHOLD).unwrap_or_else(|e| panic!("{e}")));
    assert!((0.5..4.0).contains(&kept(&bin)), "{} {:?}", kept(&bin), bin.stock.deaths);
    let serious: Vec<&str> = codes(&bin).into_iter().filter(|code| *code == "stock_dying_out").collect();
    assert!(serious.is_empty(), "{:?}", codes(&bin));
    let turned_away: f64 = bin.streams.iter().map(|s| s.turned_away).sum();
    assert!(turned_away < 0.1 * 3.0 * 57.0, "{turned_away}");
}
