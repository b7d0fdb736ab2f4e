//! Draws: distributions, strata, correlations, shares, streams, days.

mod distributions;
mod streams;

use loamledger::literature;
use loamledger::monte_carlo::design::{self, BLOCK};
use loamledger::monte_carlo::distribution::{self, quantile};
use loamledger::monte_carlo::{Correlation, Days, DependenceError, Study, StudyError, dependence};
use loamledger::quantity::{Shape, Uncertain};
use loamledger::scenario::{self, Plan};
use loamledger::study::sensitivity::rank_correlation;

const PACKHOUSE: &str = include_str!("../../scenarios/valley_packhouse.json");

fn plan_of(text: &str) -> Plan {
    scenario::parse("test.json", text).unwrap_or_else(|e| panic!("{e}"))
}

/// The packhouse with rates set: key and value as JSON.
fn with_rates(rates: &[(&str, &str)]) -> Plan {
    let text = rates.iter().fold(PACKHOUSE.to_owned(), |text, (key, value)| {
        scenario::varied("test.json", &text, &format!("rates.{key}"), value).expect("a rate can be set")
    });
    plan_of(&text)
}

fn number(central: f64, low: f64, high: f64, shape: Shape) -> Uncertain {
    Uncertain::new(central, low, high, shape).expect("a sound number")
}

fn close(what: &str, found: f64, expected: f64, relative: f64) {
    let gap = (found - expected).abs();
    assert!(gap <= relative * expected.abs().max(1e-300), "{what}: {found} against {expected}");
}

// ---- strata, correlations, draws ----

#[test]
fn every_block_has_one_draw_in_each_stratum_of_each_quantity() {
    let study = Study::of(&plan_of(PACKHOUSE)).unwrap();
    assert!(study.quantities().len() > 200 && study.groups().len() > 2);
    for number in [0, 1, 17] {
        let block = study.block(42, number);
        let mut filled = vec![[false; BLOCK]; study.quantities().len()];
        for place in 0..BLOCK {
            for (q, u) in block.uniforms(&study, place).into_iter().enumerate() {
                assert!(u > 0.0 && u < 1.0);
                let stratum = (0..BLOCK).rfind(|&s| u >= s as f64 / BLOCK as f64).unwrap();
                assert!(
                    !filled[q][stratum],
                    "{} has two draws in stratum {stratum}",
                    study.quantities()[q].key
                );
                filled[q][stratum] = true;
            }
        }
    }
}

#[test]
fn a_draw_lies_in_its_stratum_where_the_stream_of_its_own_number_says() {
    // draw 7 of block 2 is draw 507
    let study = Study::of(&plan_of(PACKHOUSE)).unwrap();
    let block = study.block(42, 2);
    assert_eq!(block.first(), 500);
    for (quantity, u) in study.quantities().iter().zip(block.uniforms(&study, 7)) {
        let place = (u * BLOCK as f64).fract();
        close(quantity.key, place, design::jitter(42, quantity.key, 507), 1e-9);
    }
}

#[test]
fn draws_lie_anywhere_in_their_strata() {
    let mut mean = 0.0;
    for draw in 0..4000 {
        mean += design::jitter(5, "bed.solid_density", draw) / 4000.0;
    }
    // standard error 0.29 / sqrt(4000) = 0.0046
    assert!((mean - 0.5).abs() < 0.014, "{mean}");
}

#[test]
fn a_draw_is_the_same_alone_in_a_shard_and_in_the_whole() {
    let study = Study::of(&plan_of(PACKHOUSE)).unwrap();
    let whole: Vec<_> = (0..600_u64)
        .map(|i| study.block(9, design::block_of(i)).draw(&study, design::place_in_block(i)))
        .collect();
    // alone, last one first
    for i in [599_u64, 250, 249, 3, 0] {
        assert_eq!(study.draw(9, i), whole[usize::try_from(i).unwrap()]);
    }
    // a shard that begins and ends inside blocks, by a study built anew
    let other = Study::of(&plan_of(PACKHOUSE)).unwrap();
    let block = other.block(9, 1);
    for (place, draw) in whole[300..480].iter().enumerate() {
        assert_eq!(&block.draw(&other, place + 50), draw);
    }
    assert_ne!(study.draw(10, 0), whole[0]);
    assert_ne!(whole[0], whole[1]);
}

#[test]
fn a_rate_fixed_in_a_variant_leaves_the_other_draws_alone() {
    let (base, fixed) =
        (Study::of(&plan_of(PACKHOUSE)).unwrap(), with_rates(&[("worms.adult_mass", "0.0006")]));
    let fixed = Study::of(&fixed).unwrap();
    assert_eq!(fixed.quantities().len() + 1, base.quantities().len());
    let (a, b) = (base.draw(3, 77), fixed.draw(3, 77));
    for q in fixed.quantities() {
        assert_eq!(base.value(&a, q.key).to_bits(), fixed.value(&b, q.key).to_bits(), "{}", q.key);
    }
    assert_eq!(fixed.value(&b, "worms.adult_mass").to_bits(), 0.0006_f64.to_bits());
}

/// Values of a key over whole blocks.
fn column(study: &Study, key: &str, blocks: std::ops::Range<u64>) -> Vec<f64> {
    let place = study.place(key).expect("a drawn quantity");
    blocks
        .flat_map(|b| {
            let block = study.block(11, b);
            (0..BLOCK).map(move |i| block.draw(study, i).values[place])
        })
        .collect()
}

#[test]
fn rank_correlations_are_those_required() {
    let study = Study::of(&plan_of(PACKHOUSE)).unwrap();
    let blocks = 0..4;
    for c in dependence::after_prints() {
        let (a, b) = (column(&study, &c.a, blocks.clone()), column(&study, &c.b, blocks.clone()));
        let all = rank_correlation(&a, &b).unwrap().value;
        // the scatter of a block is 0.016 at 0.6 (400 blocks; plain sampling: 0.04), of four 0.008; four times that
        assert!((all - c.rank).abs() < 0.032, "{} {}: {all} for {}", c.a, c.b, c.rank);
        for block in 0..4 {
            let part = BLOCK * block..BLOCK * (block + 1);
            let one = rank_correlation(&a[part.clone()], &b[part]).unwrap().value;
            assert!((one - c.rank).abs() < 0.064, "{} {} in block {block}: {one}", c.a, c.b);
        }
    }
    // quantities without a correlation have none but by chance: 1 / sqrt(999)
    let a = column(&study, "worms.adult_mass", blocks.clone());
    for other in ["worms.cocoon_rate_per_adult", "bed.decay_rate_protein", "worms.maximum_intake"] {
        let b = column(&study, other, blocks.clone());
        assert!(rank_correlation(&a, &b).unwrap().value.abs() < 0.11, "{other}");
    }
}

#[test]
fn re_paired_quantities_keep_their_own_distribution() {
    let study = Study::of(&plan_of(PACKHOUSE)).unwrap();
    let key = "worms.juvenile_duration";
    let values = column(&study, key, 0..4);
    let value = literature::entry(key).unwrap().value;
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    // stratified: far nearer than the 0.17 of plain sampling
    assert!((mean - distribution::mean(&value)).abs() < 0.01, "{mean}");
}

#[test]
fn spearman_and_pearson_of_normal_scores() {
    // 2 sin(pi r / 6), by other code
    for (rank, pearson) in
        [(0.3, 0.312_868_930_080_461_74), (0.6, 0.618_033_988_749_894_8), (0.9, 0.907_980_999_479_093_5)]
    {
        close("Pearson", dependence::pearson_of_rank(rank), pearson, 1e-15);
        close("rank", dependence::rank_of_pearson(pearson), rank, 1e-14);
    }
}

#[test]
fn correlations_that_cannot_hold_name_group_and_pair() {
    let keys = ["a", "b", "c", "d"];
    let c = Correlation::new;
    // b follows a and c follows b, so c cannot be against a; d stands apart
    let error =
        dependence::groups(&keys, &[c("a", "b", 0.9), c("b", "c", 0.9), c("a", "c", -0.5)]).unwrap_err();
    let DependenceError::NotPositiveDefinite { group, pair, allowed } = &error else { panic!("{error}") };
    assert_eq!(group, &["a", "b", "c"]);
    assert_eq!((pair.a.as_str(), pair.b.as_str()), ("a", "c"));
    assert!((pair.rank + 0.5).abs() < 1e-12);
    // r_ac lies between r_ab r_bc +- sqrt((1 - r_ab^2) (1 - r_bc^2)), Pearson: 0.824 +- 0.176
    let r: f64 = 0.907_980_999_479_093_5;
    let low = dependence::rank_of_pearson(2.0 * r * r - 1.0);
    let (found_low, found_high) = allowed.unwrap();
    assert!((found_low - low).abs() < 1e-9 && (found_high - 1.0).abs() < 1e-9);
    assert!(error.to_string().contains("a with c is -0.5"), "{error}");
    // inside that range all is well, just below it is not
    let with = |rank| dependence::groups(&keys, &[c("a", "b", 0.9), c("b", "c", 0.9), c("a", "c", rank)]);
    assert!(with(low + 0.01).is_ok() && with(low - 0.01).is_err());
}

#[test]
fn faulty_correlations_are_refused_by_kind() {
    let keys = ["a", "b"];
    let c = Correlation::new;
    let of = |list: &[Correlation]| dependence::groups(&keys, list).unwrap_err();
    assert!(matches!(of(&[c("a", "b", 1.2)]), DependenceError::OutOfRange(_)));
    assert!(matches!(of(&[c("a", "b", f64::NAN)]), DependenceError::OutOfRange(_)));
    assert!(matches!(of(&[c("a", "a", 0.2)]), DependenceError::WithItself(_)));
    assert!(matches!(of(&[c("a", "b", 0.2), c("b", "a", 0.2)]), DependenceError::Twice(_)));
    // a quantity that is not drawn is passed over, an unknown one is not
    let plan = plan_of(PACKHOUSE);
    let absent = Correlation::new("site.labour_small_site", "bed.solid_density", 0.5);
    assert!(Study::with_correlations(&plan, &[absent]).unwrap().groups().is_empty());
    let unknown = Correlation::new("bed.solid_densty", "bed.decay_rate_protein", 0.5);
    assert!(matches!(
        Study::with_correlations(&plan, &[unknown]),
        Err(StudyError::UnknownKey { nearest: Some("bed.solid_density"), .. })
    ));
}

#[test]
fn groups_are_as_the_literature_ties_them() {
    let study = Study::of(&plan_of(PACKHOUSE)).unwrap();
    let sizes: Vec<usize> = study.groups().iter().map(|g| g.members().len()).collect();
    // decay constants first, worms last; between them the levels of salt, and figures of ingredients: pairs, and moistures of scraps
    // with two rates
    let (decay, worms, figures) = (sizes[0], sizes[sizes.len() - 1], &sizes[1..sizes.len() - 1]);
    assert_eq!((decay, worms), (5, 4));
    assert!(
        figures[..2].iter().all(|size| *size > 2) && figures[2..].iter().all(|size| *size == 2),
        "{figures:?}"
    );
    // a plan that fixes a member leaves the rest together
    let study = Study::of(&with_rates(&[("bed.decay_rate_lignin", "0.001")])).unwrap();
    assert_eq!(study.groups()[0].members().len(), 4);
}

// ---- the quantities of a plan ----

#[test]
fn quantities_are_the_drawn_rates_the_model_asks_for_sorted_by_key() {
    let study = Study::of(&plan_of(PACKHOUSE)).unwrap();
    let keys: Vec<&str> = study.quantities().iter().map(|q| q.key).collect();
    assert!(keys.is_sorted());
    for q in study.quantities() {
        assert!(q.value.is_drawn());
        assert_eq!(study.quantities()[study.place(q.key).unwrap()].key, q.key);
    }
    // asked for; drawn in the literature but never asked for; never drawn
    assert!(keys.contains(&"worms.maximum_intake"));
    assert!(!keys.contains(&"worms.stocking_trade_start") && !keys.contains(&"bed.overfeed_index_warning"));
}

#[test]
fn a_plan_replaces_ranges_and_shapes() {
    let place = |plan: &Plan, key: &str| {
        let study = Study::of(plan).unwrap();
        study.place(key).map(|p| study.quantities()[p].value)
    };
    // the packhouse's own range of fibre decay keeps the shape of the table
    let fibre = place(&plan_of(PACKHOUSE), "bed.decay_rate_hemicellulose_and_cellulose").unwrap();
    assert_eq!(fibre, number(0.02, 0.008, 0.04, Shape::Lognormal));
    let range = r#"{"central": 0.7, "low": 0.6, "high": 0.9, "shape": "pert"}"#;
    let intake = place(&with_rates(&[("worms.maximum_intake", range)]), "worms.maximum_intake").unwrap();
    assert_eq!(intake, number(0.7, 0.6, 0.9, Shape::Pert));
    // the literature does not draw this one
    let range = r#"{"central": 5, "low": 4, "high": 6}"#;
    let index = place(&with_rates(&[("bed.overfeed_index_warning", range)]), "bed.overfeed_index_warning");
    assert_eq!(index, Some(number(5.0, 4.0, 6.0, Shape::Triangular)));
    assert_eq!(place(&with_rates(&[("worms.maximum_intake", "0.7")]), "worms.maximum_intake"), None);
}

#[test]
fn ranges_that_do_not_fit_their_shape_are_refused_with_their_key() {
    // what a shape cannot be is told where it stands, when the file is read
    for (low, told) in
        [("0", "shape lognormal needs values above zero"), ("0.05", "strictly between low and high")]
    {
        let range = format!(r#"{{"central": 0.05, "low": {low}, "high": 0.12}}"#);
        let text = scenario::varied("test.json", PACKHOUSE, "rates.bed.decay_rate_protein", &range).unwrap();
        let error = scenario::parse("test.json", &text).unwrap_err().to_string();
        assert!(error.contains("rates.\"bed.decay_rate_protein\"") && error.contains(told), "{error}");
    }
    let range = r#"{"central": 0.5, "low": 0.4, "high": 0.6, "shape": "uniform"}"#;
    let error = Study::of(&with_rates(&[("fermentation.split_homolactic", range)])).unwrap_err();
    assert!(matches!(error, StudyError::ShapeOfShare { shape: Shape::Uniform, .. }));
}

// ---- shares ----

const SPLITS: [&str; 6] = [
    "fermentation.split_homolactic",
    "fermentation.split_heterolactic_glucose",
    "fermentation.split_heterolactic_fructose",
    "fermentation.split_yeast",
    "fermentation.split_acetic_and_enterobacterial",
    "fermentation.split_butyric",
];

#[test]
fn shares_sum_to_one_with_central_means_and_ranges_about_as_printed() {
    let study = Study::of(&plan_of(PACKHOUSE)).unwrap();
    let set = study.shares().unwrap();
    assert_eq!(set.members()[0], study.place(SPLITS[0]).unwrap());
    let columns = SPLITS.map(|key| column(&study, key, 0..8));
    let draws = columns[0].len();
    for draw in 0..draws {
        let sum: f64 = columns.iter().map(|c| c[draw]).sum();
        assert!((sum - 1.0).abs() < 1e-14 && columns.iter().all(|c| (0.0..=1.0).contains(&c[draw])));
    }
    for (key, values) in SPLITS.iter().zip(&columns) {
        let known = literature::entry(key).unwrap().value;
        let m = known.central();
        let expected = (m * (1.0 - m) / (set.concentration() + 1.0)).sqrt();
        let mean = values.iter().sum::<f64>() / draws as f64;
        // four standard errors of plain sampling
        assert!((mean - m).abs() < 4.0 * expected / (draws as f64).sqrt(), "{key}: mean {mean}");
        let spread = (values.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / draws as f64).sqrt();
        close(&format!("{key}: spread"), spread, expected, 0.15);
        // one concentration for six ranges: no spread is more than twice or less than half of what its range asks for
        let asked = (known.high() - known.low()) / (2.0 * distribution::POINT_95);
        assert!((0.5..2.0).contains(&(expected / asked)), "{key}: {expected} for {asked}");
    }
    // Dirichlet shares hang together: correlation of two is -sqrt(m n / ((1 - m) (1 - n)))
    let (a, b) = (&columns[0], &columns[1]);
    let mean = |x: &[f64]| x.iter().sum::<f64>() / draws as f64;
    let (ma, mb) = (mean(a), mean(b));
    let covariance = a.iter().zip(b).map(|(x, y)| (x - ma) * (y - mb)).sum::<f64>() / draws as f64;
    close("covariance", covariance, -0.55 * 0.2 / (set.concentration() + 1.0), 0.1);
}

#[test]
fn a_fixed_share_stays_and_the_others_keep_their_means() {
    let study = Study::of(&with_rates(&[("fermentation.split_yeast", "0.3")])).unwrap();
    assert_eq!(study.place("fermentation.split_yeast"), None);
    close("sum of the others", study.shares().unwrap().sum(), 0.9, 1e-12);
    let values = column(&study, "fermentation.split_homolactic", 0..4);
    close("mean", values.iter().sum::<f64>() / values.len() as f64, 0.55, 0.002);
}

#[test]
fn free_quantities_leave_out_the_share_that_follows_from_the_others() {
    let study = Study::of(&plan_of(PACKHOUSE)).unwrap();
    let bound = study.place("fermentation.split_butyric").unwrap();
    assert_eq!(study.free().len() + 1, study.quantities().len());
    assert!(!study.free().contains(&bound));
    let mut uniforms = vec![0.5; study.quantities().len()];
    let before = study.at(&uniforms);
    uniforms[bound] = 0.9;
    assert_eq!(study.at(&uniforms), before);
    // half way along, a triangular quantity stands at its median
    let median = quantile(&literature::entry("worms.adult_mass").unwrap().value, 0.5);
    assert_eq!(study.value(&before, "worms.adult_mass").to_bits(), median.to_bits());
}

// ---- days ----

#[test]
fn days_vary_as_the_plan_says() {
    let plan = plan_of(PACKHOUSE);
    let (spread, sigma) = (plan.streams[0].daily_variation, plan.climate.day_to_day);
    assert!(spread > 0.0 && sigma > 0.0, "the packhouse varies");
    let draws = 60;
    let all: Vec<Days> = (0..draws).map(|draw| Days::of(&plan, 7, draw)).collect();
    let intake: Vec<f64> = all.iter().flat_map(|d| d.intake[0].iter().copied()).collect();
    let count = intake.len() as f64;
    let mean = intake.iter().sum::<f64>() / count;
    // four standard errors of a lognormal number of mean 1
    let deviation = (spread * spread).exp_m1().sqrt();
    assert!((mean - 1.0).abs() < 4.0 * deviation / count.sqrt(), "{mean}");
    let log_variance = intake.iter().map(|x| (x.ln() + 0.5 * spread * spread).powi(2)).sum::<f64>() / count;
    close("spread of intake", log_variance.sqrt(), spread, 0.02);
    let squares: f64 = all.iter().flat_map(|d| &d.temperature).map(|t| t * t).sum::<f64>() / count;
    close("spread of weather", squares.sqrt(), sigma, 0.03);
    let products: f64 = all.iter().flat_map(|d| d.temperature.windows(2)).map(|t| t[0] * t[1]).sum::<f64>()
        / (count - draws as f64);
    close("persistence", products / squares, 0.7, 0.03);
    // the first day varies as much as the others: 60 draws, standard error of a spread 9 %
    let first = (all.iter().map(|d| d.temperature[0].powi(2)).sum::<f64>() / draws as f64).sqrt();
    close("first day", first, sigma, 0.3);
    assert!(all.iter().flat_map(|d| &d.drum_luck).all(|u| *u > 0.0 && *u < 1.0));
}

#[test]
fn days_depend_on_seed_and_draw_and_on_nothing_else() {
    let plan = plan_of(PACKHOUSE);
    assert_eq!(Days::of(&plan, 7, 5), Days::of(&plan, 7, 5));
    let (a, b) = (Days::of(&plan, 7, 5), Days::of(&plan, 7, 6));
    assert!(a.temperature[0].to_bits() != b.temperature[0].to_bits() && a.intake != b.intake);
    // a longer run begins with the same days, and rates or other sources of scraps move none of them
    let longer = scenario::varied("test.json", PACKHOUSE, "days", "500").unwrap();
    let longer = Days::of(&plan_of(&longer), 7, 5);
    assert_eq!(longer.temperature[..a.temperature.len()], a.temperature[..]);
    assert_eq!(longer.drum_luck[..a.drum_luck.len()], a.drum_luck[..]);
    let fixed = Days::of(&with_rates(&[("worms.adult_mass", "0.0006")]), 7, 5);
    assert_eq!(fixed, a);
    // a plan without variation has none
    let still = scenario::varied("test.json", PACKHOUSE, "streams.daily_variation", "0").unwrap();
    let still = Days::of(&plan_of(&still), 7, 5);
    assert!(still.intake.iter().flatten().all(|f| f.to_bits() == 1.0_f64.to_bits()));
    let plain = Days::without_chance(&plan);
    assert_eq!(plain.intake, still.intake);
    assert!(
        plain.temperature.iter().all(|t| *t == 0.0)
            && plain.drum_luck.iter().all(|u| u.to_bits() == 0.5_f64.to_bits())
    );
}
