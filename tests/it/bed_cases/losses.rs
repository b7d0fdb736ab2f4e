//! Losses of mass, volume and carbon: VC02, VC03, VC06-VC10, VC14-VC18, VC22, VC30, VC31.

use super::Decay;
use super::Fed;
use super::Outcome;
use super::close;
use super::density;
use super::fill_once;
use super::food;
use super::model;
use super::model_with;
use super::run;
use super::setup;
use super::wetted;
use loamledger::component::Component;
use loamledger::component::Element;
use loamledger::component::Gas;
use loamledger::material::Material;
use loamledger::process::acidity::Surrounds;
use loamledger::process::acidity::base_for;
use loamledger::process::worm::Population;
use loamledger::unit::bed::Bed;
use loamledger::unit::bed::BedModel;
use loamledger::unit::bed::Setup;

/// Low, central and high decay constants.
fn three(trial: impl Fn(&BedModel) -> Outcome) -> [Outcome; 3] {
    [Decay::Low, Decay::Central, Decay::High].map(|decay| trial(&model(decay)))
}

/// Dry losses with low, central and high constants.
fn losses(all: &[Outcome; 3]) -> [f64; 3] {
    let found = all.map(|one| one.dry_loss());
    assert!(found[0] < found[1] && found[1] < found[2], "{found:?}");
    found
}

/// Dry worm tissue gained per dry matter given (worms 18 % dry).
fn worm_yield(one: &Outcome) -> f64 {
    0.18 * (one.worms[1] - one.worms[0]) / one.given.dry()
}

#[test]
fn vc02_manure_and_food_waste_fed_for_172_days() {
    // Consistency only. Lalander et al. 2015 (second-hand): total solids -45.9 %, worms 3.5 % of total solids. Assumed: equal
    // wet masses, 1 kg/(m2 d) on 8 kg/m2 of coir, 0.4 kg worms/m2, 23 C (printed: low-maintenance unit).
    let feed = food("food_waste_household") * 0.5 + food("cattle_manure_solid") * 0.5;
    let trial = Fed {
        feed,
        density: 580.0,
        area: 1.0,
        worms: 0.4,
        load: 1.0,
        feeding: 172,
        days: 172,
        warmth: 23.0,
        bedding: 8.0,
    };
    let all = three(|m| trial.run(m));
    let found = losses(&all);
    close("total solids loss", found[1], 0.459, 0.10);
    assert!(found[0] < 0.459 && 0.459 < found[2], "{found:?}");
    // Gap: the printed worms gained 0.035 +- 0.02; ours die of salt, which evaporation alone leaves behind until it passes
    // 8 kg/m3 of pore water (an assumed limit of the bed table). With twice that limit they grow to a third of the print.
    close("worm yield gap", worm_yield(&all[1]) - 0.035, -0.036, 0.001);
    assert!(all[1].worms[1] < 0.5 * all[1].worms[0], "{:?}", all[1].worms);
    let limits = [("bed.salt_response_full_limit", 6.0), ("bed.salt_response_zero", 16.0)];
    let hardy = trial.run(&model_with(&limits));
    assert!(hardy.worms[1] > 1.5 * hardy.worms[0], "{:?}", hardy.worms);
    close("worm yield gap, hardy", worm_yield(&hardy) - 0.035, -0.0244, 0.001);
}

#[test]
fn vc03_carbon_to_nitrogen_of_food_waste() {
    // Consistency only. Majlessi et al. 2012 (read): C:N 30.13 -> 14.32 (20 %), pH 5.6 -> 7.53. Duration not in hand: 90 d
    // assumed. Food waste stands at 18.5, so cardboard brings it to the printed start; 29 kg/m2 of it with 1 kg worms/m2.
    let feed = wetted(food("food_waste_household") + food("cardboard_corrugated") * 0.2337, 0.70);
    close("start", feed.carbon_to_nitrogen(), 30.13, 0.05);
    let all = three(|m| fill_once(m, feed * 10.0, 10.0 / 350.0, 0.6, 0.6, 90, 22.0));
    let found = all.map(|one| one.left.carbon_to_nitrogen());
    close("central C:N", found[1], 14.32, 0.20 * 14.32);
    assert!(found[2] < 14.32 && 14.32 < found[0], "{found:?}");
    // derived there: 52.5 to 66.7 % of carbon lost for 0 to 30 % of nitrogen lost
    let kept = |one: &Outcome, e| one.left.element(e) / one.given.element(e);
    let (carbon, nitrogen) = (1.0 - kept(&all[1], Element::Carbon), 1.0 - kept(&all[1], Element::Nitrogen));
    close("carbon lost", carbon, 1.0 - found[1] / feed.carbon_to_nitrogen() * (1.0 - nitrogen), 1e-9);
    // Gap: pH rises, but by nitrification stops near 6 and not at 7.53. (Conductivity fell as printed only by leaching.)
    assert!(all[1].ph[1] > all[1].ph[0]);
    close("pH gap", all[1].ph[1] - 7.53, -1.5, 0.3);
}

#[test]
fn vc06_apple_pomace_with_straw() {
    // Hanc & Chadimova 2014 (read): weight -65 % (0.10), volume -85 %, N 2.8 %, P 0.85 %, C:N 13-14 for 0 to 75 % v/v straw.
    // Duration not in hand: 120 d assumed; basis not stated: dry.
    let m = model(Decay::Central);
    let trial = |straw: f64| {
        let mix = food("apple_pomace") * (700.0 * (1.0 - straw)) + food("wheat_straw") * (135.0 * straw);
        fill_once(&m, wetted(mix * 0.01, 0.78), 0.01, 0.05, 0.05, 120, 22.0)
    };
    let all = [0.0, 0.25, 0.5, 0.75].map(trial);
    for one in &all {
        close("weight loss", one.dry_loss(), 0.65, 0.10);
    }
    // Gap: the volume falls by 0.74 and not 0.85 in pomace alone: a layer keeps its dry density until worms eat it, and at
    // pH below 5 they eat little of it.
    close("volume gap", all[0].volume_loss() - 0.85, -0.115, 0.01);
    // Nitrogen and C:N of pomace alone come near the print; straw carries them away from it, though the print has one
    // figure for all mixes.
    close("nitrogen", all[0].on_dry(Element::Nitrogen), 0.028, 0.005);
    close("C:N gap, pomace", all[0].left.carbon_to_nitrogen() - 13.5, 2.1, 0.4);
    close("C:N gap, most straw", all[3].left.carbon_to_nitrogen() - 13.5, 21.1, 1.0);
    // The printed P cannot come from pomace of 0.06 % P: that takes a loss of 93 %.
    assert!(all.iter().all(|one| one.on_dry(Element::Phosphorus) < 0.0085 / 2.0));
}

fn pineapple() -> Material {
    food("fruit_and_vegetable_market") * 0.8 + food("cattle_manure_solid") * 0.2
}

#[test]
fn vc07_pineapple_and_manure_in_one_batch() {
    // Consistency only. Zziwa et al. 2021 (read): 60 % degraded in 60 d (0.10), worms +57 %. Fruit waste stands for peel;
    // 100 kg/m2, 1 kg worms/m2, 22 C assumed; basis not stated: dry.
    let all = three(|m| fill_once(m, pineapple() * 10.0, 10.0 / 620.0, 0.1, 0.1, 60, 22.0));
    let found = losses(&all);
    close("degraded", found[1], 0.60, 0.10);
    assert!(found[0] < 0.60 && 0.60 < found[2], "{found:?}");
    close("worm gain", all[1].worms[1] / all[1].worms[0] - 1.0, 0.57, 0.25);
}

#[test]
fn vc08_pineapple_and_manure_fed_daily() {
    // Consistency only. The same mix fed through the 60 d: 54 % (0.10), worms +129 %. 2 kg/(m2 d) on 8 kg/m2 of coir, 1 kg
    // worms/m2, 22 C assumed.
    let trial = Fed {
        feed: pineapple(),
        density: 620.0,
        area: 1.0,
        worms: 1.0,
        load: 2.0,
        feeding: 60,
        days: 60,
        warmth: 22.0,
        bedding: 8.0,
    };
    let all = three(|m| trial.run(m));
    let found = losses(&all);
    // Gap: the mean age of the feed is 30 d, so on a dry basis the model stands 0.14 below the print (as the batch rate at
    // half the time would) and only the fastest constants reach its band; on a wet basis it stands 0.12 above.
    close("dry gap", found[1] - 0.54, -0.143, 0.01);
    close("fastest", found[2], 0.54, 0.10);
    close("wet gap", all[1].wet_loss() - 0.54, 0.12, 0.02);
    close("worm gain", all[1].worms[1] / all[1].worms[0] - 1.0, 1.29, 0.25);
}

#[test]
fn vc09_and_vc10_are_upper_envelopes() {
    // Dominguez et al. 2018, Scotch broom: -84 % in 42 d (0.12); 2014, grape marc: -58 % (0.12), day 14 not said outright.
    // Both upper bounds only (woody parts sieved off, basis not stated). Grass stands for broom, pomace for marc.
    let broom = three(|m| fill_once(m, food("grass_clippings") * 7.5, 0.03, 0.3, 0.3, 42, 22.0));
    let marc = three(|m| fill_once(m, food("apple_pomace") * 21.0, 0.03, 0.3, 0.3, 14, 22.0));
    let (broom, marc) = (losses(&broom), losses(&marc));
    assert!(broom[2] < 0.84 && marc[2] < 0.58, "{broom:?} {marc:?}");
    // Gaps: no set of constants reaches them.
    close("broom gap", broom[1] - 0.84, -0.515, 0.02);
    close("broom gap, fastest", broom[2] - 0.84, -0.381, 0.02);
    close("marc gap", marc[1] - 0.58, -0.165, 0.02);
    close("marc gap, fastest", marc[2] - 0.58, -0.05, 0.03);
}

#[test]
fn vc14_to_vc18_volume_losses_of_small_boxes() {
    // Duran & Henriquez 2006 (read): 600 worms in 0.03 m3, 90 d, volume loss within 0.12. Box of 0.12 m2 filled once, 0.15 kg
    // of worms, 22 C. Market waste stands for banana, grounds for pulp, autumn leaves for foliage.
    let m = model(Decay::Central);
    let boxed = |id: &str| fill_once(&m, food(id) * (0.03 * density(id)), 0.03, 0.12, 0.15, 90, 22.0);
    for (id, printed, gap) in [
        ("food_waste_household", 0.80, -0.224),
        ("fruit_and_vegetable_market", 0.83, 0.061),
        ("cattle_manure_solid", 0.53, -0.094),
        ("coffee_grounds", 0.67, -0.191),
        ("leaves_autumn", 0.80, 0.057),
    ] {
        close(id, boxed(id).volume_loss() - printed, gap, 0.015);
    }
    // Gaps: kitchen waste and grounds miss the 0.12. In the model free ammonia (and in kitchen waste heat) kills the worms of
    // a box filled at once with fresh matter, which then keeps its dry density as it decays; the print's worms lived.
    for (id, left) in [("food_waste_household", 0.01), ("cattle_manure_solid", 0.01), ("coffee_grounds", 0.3)]
    {
        let one = boxed(id);
        assert!(one.worms[1] < left * one.worms[0], "{id} {:?}", one.worms);
    }
    // Printed N of 3.1 % for kitchen waste: ours ends at 4.7 %, the warning of bed.md 2.6 (no bedding brings ash in).
    close("nitrogen gap", boxed("food_waste_household").on_dry(Element::Nitrogen) - 0.031, 0.0156, 0.002);
    // Printed P of 2.0 % for manure takes a loss of 85 % from 0.31 %.
    assert!(boxed("cattle_manure_solid").on_dry(Element::Phosphorus) < 0.01);
}

#[test]
fn vc22_a_nitrogen_rise_above_fourfold_is_out_of_reach() {
    // Garg, Gupta & Satya 2006 (read): TKN rises 4.4 to 5.8 fold in 100 d. Outlier check: without nitrogen from outside that
    // takes 77-83 % dry loss, which even the fastest constants do not reach in kitchen waste.
    for fold in [4.4, 5.8_f64] {
        close("needed loss", 1.0 - 1.0 / fold, if fold < 5.0 { 0.773 } else { 0.828 }, 0.0005);
    }
    let fast = model(Decay::High);
    let one = fill_once(&fast, food("food_waste_household") * 13.65, 0.03, 0.12, 0.15, 100, 22.0);
    let rise = one.on_dry(Element::Nitrogen) / (one.given.element(Element::Nitrogen) / one.given.dry());
    assert!(rise > 1.5 && rise < 3.0, "{rise}");
}

#[test]
fn vc30_a_worm_bed_keeps_more_nitrogen_than_a_hot_heap() {
    // Trans CSAE 2012 (read), dung and tomato stems, paired: N loss ratio 0.69, NH3 0.54, N2O 0.83, CH4 0.85. Qualitative: the
    // heap is the same bed model without worms, 1 m deep, well insulated; 60 d; grass for stems.
    let m = model(Decay::Central);
    let mix = food("cattle_manure_solid") * 0.6 + food("grass_clippings") * 0.2 + food("wheat_straw") * 0.2;
    let mix = wetted(mix, 0.70);
    let thin = fill_once(&m, mix * 100.0, 0.25, 1.25, 0.5, 60, 22.0);
    let mut heap = Bed::new(
        Setup { heat_transfer: Some(1.5), surface_wetness: Some(0.3), ..setup(0.25) },
        Material::zero(),
        0.0,
        22.0,
        Population::empty(),
    );
    heap.ready.add(mix * 100.0, 0.25);
    let hot = run(&m, &mut heap, 60, 22.0, mix * 100.0, |_| {});
    assert!(hot.hottest > 45.0, "{}", hot.hottest);
    let lost = |one: &Outcome| one.gases.element(Element::Nitrogen);
    let ratio = |gas: Gas| thin.gases[gas] / hot.gases[gas];
    let found =
        [lost(&thin) / lost(&hot), ratio(Gas::AmmoniaGas), ratio(Gas::NitrousOxide), ratio(Gas::Methane)];
    // All four fall as printed, nitrous oxide within 30 %. Gaps: the heap, which the model airs by diffusion only, loses more
    // nitrogen and far more methane than the turned one of the print, so those ratios come out too low.
    assert!(found.iter().all(|value| *value < 1.0), "{found:?}");
    for (value, stated) in found.iter().zip([0.46, 0.29, 0.74, 0.084]) {
        close("ratio", *value, stated, 0.1 * stated);
    }
    close("nitrous oxide", found[2], 0.826, 0.3 * 0.826);
}

#[test]
fn vc31_acid_fruit_peel_is_taken_and_its_ph_rises() {
    // Mahathaninwong et al. 2022 (read): durian shell : citrus peel 1:1 (moisture 84.6 and 77.3 %), citrus pH 3.95; worms
    // survive, pH rises, germination index 0.90 (not modelled). Qualitative. Market waste with acid to pH 3.95, 2 cm laid on 8 kg
    // of coir, 0.5 kg worms/m2, 30 d.
    let m = model(Decay::Central);
    let mut feed = wetted(food("fruit_and_vegetable_market"), 0.81);
    feed += Material::of(Component::Lactic, 0.03 * feed.dry());
    *feed.base_mut() = 0.0;
    let store = Surrounds::acid_store(22.0);
    *feed.base_mut() = base_for(&feed, &m.acids, &store, 3.95);
    let bedding = food("coconut_coir") * 8.0;
    let worms = Population::at_stable_structure(0.5, &m.worms);
    let mut bed = Bed::new(setup(1.0), bedding, 8.0 / density("coconut_coir"), 22.0, worms);
    bed.feed(feed * 14.0, 14.0 / 700.0);
    let mut fresh = Vec::new();
    let out = run(&m, &mut bed, 30, 22.0, feed * 14.0, |bed| fresh.push(bed.fresh.ph));
    assert!(out.worms[1] > 0.9 * out.worms[0], "{:?}", out.worms);
    assert!(bed.fresh.matter.wet() < 0.2 && bed.ready.matter[Component::Lactic] < 1e-3);
    // day 1 sees the acid, day 20 what is left of it
    assert!((3.7..4.3).contains(&fresh[1]) && fresh[20] > fresh[1] + 0.5, "{fresh:?}");
    assert!(out.ph[1] > 6.0, "{}", out.ph[1]);
}
