//! Castings made, best feed rates, carrying capacity and the worked bed: VC20, VC21, VC25-VC28, bed.md 2.13.

use super::Decay;
use super::close;
use super::density;
use super::food;
use super::model;
use super::setup;
use super::wetted;
use loamledger::component::Component;
use loamledger::component::Element;
use loamledger::component::Gas;
use loamledger::material::Material;
use loamledger::process::worm::Population;
use loamledger::process::worm::Recovery;
use loamledger::unit::bed::Bed;
use loamledger::unit::bed::BedModel;
use loamledger::unit::bed::Setup;
use loamledger::unit::bed::Weather;

/// Means per day of a bed of 1 m2 from day 120 to day 360, its stock held by taking the surplus out.
struct Held {
    castings: Material,
    /// Live worms taken out, kg/(m2 d).
    surplus: f64,
    eaten: f64,
    /// Water that evaporated or drained less what was watered, kg/(m2 d).
    water: f64,
    rise: f64,
    /// Castings in the bed at the end.
    last: Material,
    /// Live worms at the end, kg/m2.
    stock: f64,
}

fn held(m: &BedModel, feed: Material, stocking: f64, rate: f64, made: Setup) -> Held {
    let worms = Population::at_stable_structure(stocking, &m.worms);
    let coir = wetted(food("coconut_coir"), 0.75) * 20.0;
    let mut bed = Bed::new(made, coir, 0.1, 22.0, worms);
    let all = Recovery { cocoon: 1.0, juvenile: 1.0, subadult: 1.0, adult: 1.0 };
    let mut sum = Held {
        castings: Material::zero(),
        surplus: 0.0,
        eaten: 0.0,
        water: 0.0,
        rise: 0.0,
        last: Material::zero(),
        stock: 0.0,
    };
    let counted = 240.0;
    for day in 0..360_u32 {
        let load = stocking * rate;
        bed.ready.add(feed * load, load / 500.0);
        let out = bed.day(m, &Weather { temperature: 22.0, humidity: 0.7 }, 1);
        let stock = bed.worms.biomass(&m.worms);
        let surplus = (stock - stocking).max(0.0);
        let _ = bed.take_worms(surplus / stock);
        let got = bed.harvest(1.0 / 60.0, &all, m);
        if day >= 120 {
            sum.castings += got.castings * (1.0 / counted);
            sum.surplus += surplus / counted;
            sum.eaten += out.worms.eaten / counted;
            let left = out.gases[Gas::WaterVapour] + out.drained.water() - out.irrigated;
            sum.water += left / counted;
            sum.rise += (bed.temperature - 22.0) / counted;
        }
    }
    sum.stock = bed.worms.biomass(&m.worms);
    sum.last = bed.castings.matter;
    sum
}

#[test]
fn vc20_castings_and_oxygen_uptake_of_a_layered_bed() {
    // Yadav et al. 2010 (read): 0.30 kg cast per kg worm and day over a year, product 0.15 mg O2/(g VS h), both within 50 %; cast
    // basis not stated: wet. Bedded horse manure stands for faeces layered with vermicompost; 1 kg/m2, 0.4 kg/(kg d).
    let m = model(Decay::Central);
    let bed = held(&m, wetted(food("horse_manure_bedded"), 0.78), 1.0, 0.4, setup(1.0));
    // Gap: barely inside, 0.14 below the print: salt and free ammonia of manure hold intake to 0.29 kg/(kg d).
    close("cast", bed.castings.wet(), 0.30, 0.15);
    close("cast gap", bed.castings.wet() - 0.30, -0.137, 0.01);
    close("intake", bed.eaten, 0.287, 0.02);
    let decay = m.parameters.castings_multiplier;
    let uptake = m.composting.potential_uptake(&bed.last) * decay / bed.last.organic();
    close("oxygen", uptake * 1000.0 / 24.0, 0.15, 0.075);
    // fresh matter of the same kind, at 22 C: printed 3 (1-5) for ground ferment, 20 times the product
    let fresh = food("food_waste_household");
    let fresh = m.composting.potential_uptake(&fresh) / fresh.organic() * 1000.0 / 24.0;
    assert!((1.0..5.0).contains(&fresh), "{fresh}");
}

#[test]
fn vc21_best_feed_rates() {
    // Ndegwa et al. 2000 (read), 1.60 kg/m2: vermicompost best at 0.75, worm growth at 1.25 kg/(kg d), within 35 %. Fruit waste
    // with cardboard stands for biosolids with paper; 45 d. Vermicompost is best at the largest rate that is eaten up.
    let m = model(Decay::Central);
    let feed = wetted(food("fruit_and_vegetable_market") * 0.8 + food("cardboard_corrugated") * 0.2, 0.8);
    let trial = |rate: f64| {
        let worms = Population::from_adults(1.6, &m.worms);
        let coir = wetted(food("coconut_coir"), 0.75) * 12.5;
        let mut bed = Bed::new(setup(1.0), coir, 0.06, 24.0, worms);
        let mut eaten = 0.0;
        for _ in 0..45 {
            bed.ready.add(feed * (1.6 * rate), 1.6 * rate / 600.0);
            eaten += bed.day(&m, &Weather { temperature: 24.0, humidity: 0.7 }, 1).worms.eaten;
        }
        let uneaten = bed.ready.matter.dry() / (feed * (1.6 * rate * 45.0)).dry();
        (bed.worms.biomass(&m.worms), eaten, uneaten)
    };
    let rates = [0.25, 0.5, 0.75, 1.0, 1.25, 1.5];
    let found = rates.map(trial);
    // The largest rate of which less than a quarter stays uneaten: 0.5, a third below the print and barely inside.
    let best = rates.iter().zip(&found).rev().find(|(_, one)| one.2 < 0.25).unwrap().0;
    close("best for vermicompost", *best, 0.75, 0.35 * 0.75);
    close("best gap", *best - 0.75, -0.25, 1e-9);
    // Growth rises with the rate and then levels off: intake is capped at 0.75 kg/(kg d), itself from this paper. Gap: what
    // grows best at 1.25 in the print stands still from 0.75 on, within 3 % (0.4 below, or 40 %, outside the 35 %).
    for pair in found.windows(2) {
        assert!(pair[1].0 > pair[0].0, "{found:?}");
    }
    let gain = |i: usize| found[i].0 / found[2].0 - 1.0;
    assert!(gain(0) < -0.03 && gain(4) < 0.03, "{found:?}");
}

#[test]
fn vc25_and_vc26_castings_of_an_area() {
    // VC25, Ramnarain et al. 2019 (read): 87-105 kg/m2 in 120 d, 0.82 kg/(m2 d) wet (50 %), straw, grass and manure.
    // VC26, flow-through bed (read, largely a design sum): 0.70 kg/(kg d) (50 %), 1 kg/m2; paper, dung, vegetables.
    let m = model(Decay::Central);
    let straw = food("wheat_straw") * 0.2 + food("grass_clippings") * 0.1 + food("cattle_manure_solid") * 0.5;
    let area = held(&m, wetted(straw, 0.78), 1.6, 0.6, setup(1.0));
    let mixed = food("fruit_and_vegetable_market") * 0.4
        + food("cattle_manure_solid") * 0.3
        + food("cardboard_corrugated") * 0.3;
    let reactor = held(&m, wetted(mixed, 0.78), 1.0, 0.75, setup(1.0));
    // Gaps: both below their bands. VC25 prints the whole bed of one filling, straw left in it, at a load not given; ours is
    // what 1.6 kg worms/m2 turned over. VC26 takes castings as 0.75 of body mass, as if a feed lost nothing; ours eat
    // 0.53 kg/(kg d), lose half of the dry matter and give castings of 68 % water.
    close("VC25 gap", area.castings.wet() - 0.82, -0.517, 0.02);
    close("VC26 gap", reactor.castings.wet() - 0.70, -0.452, 0.02);
    for bed in [&area, &reactor] {
        // published castings (bed.md 1.10): moisture 60-80 %, N 1.2-3.2 %, K 0.6-3.0 %; N of paper feed falls below
        let share = |e| bed.castings.element(e) / bed.castings.dry();
        assert!((0.60..0.80).contains(&bed.castings.moisture()));
        assert!((0.006..0.030).contains(&share(Element::Potassium)));
        assert!((0.010..0.032).contains(&share(Element::Nitrogen)));
    }
    // The stock grows to the end although castings of such feed hold no sugars: carbohydrate comes from fibre.
    assert!(reactor.surplus > 0.005 && reactor.last[Component::Sugars] < 1e-3 * reactor.last.dry());
    // VC26 prints 4.19 % N, 1.15 % P, 6.18 % K: no mix of these feeds holds so much potassium and nitrogen with paper.
    assert!(reactor.castings.element(Element::Nitrogen) / reactor.castings.dry() < 0.0419 / 2.0);
}

/// Live worms per area, day by day, in a jar of manure filled once (`renewed` 0) or fed every day, kg wet/(m2 d).
fn jar(m: &BedModel, feed: Material, start: f64, renewed: f64, days: u32, warmth: f64) -> Vec<f64> {
    let worms = Population::from_adults(start, &m.worms);
    let mut bed = Bed::new(setup(1.0), Material::zero(), 0.0, warmth, worms);
    if renewed <= 0.0 {
        bed.ready.add(feed * 32.0, 32.0 / 400.0);
    }
    (0..days)
        .map(|_| {
            bed.ready.add(feed * renewed, renewed / 400.0);
            bed.day(m, &Weather { temperature: warmth, humidity: 0.8 }, 1).worms.biomass_after
        })
        .collect()
}

fn highest(course: &[f64]) -> f64 {
    course.iter().copied().fold(0.0, f64::max)
}

#[test]
fn vc27_a_jar_of_manure_carries_less_than_rich_feed() {
    // Neuhauser et al. 1980 (read): 250 g horse manure on 78 cm2 (32 kg/m2), 25 C: 0.77 kg/m2 (40 %); activated sludge: more than
    // 2.95. Loosened to 400 kg/m3; the loam is left out (one moisture for all would drown it); start 0.5 kg/m2.
    let manure = food("horse_manure_bedded");
    let slow = jar(&model(Decay::Low), manure, 0.5, 0.0, 200, 25.0);
    close("manure, slow decay", highest(&slow), 0.77, 0.40 * 0.77);
    // Gap: with central constants free ammonia of the fresh manure kills them at once, where the print's worms lived.
    let central = jar(&model(Decay::Central), manure, 0.5, 0.0, 200, 25.0);
    close("manure gap", *central.last().unwrap() - 0.77, -0.77, 0.03);
    let rich = food("fruit_and_vegetable_market") * 0.8 + food("cardboard_corrugated") * 0.2;
    assert!(highest(&jar(&model(Decay::Central), rich, 1.0, 2.0, 200, 24.0)) > 2.95);
}

#[test]
fn vc28_has_no_ceiling_in_the_model() {
    // Biotechnol Bioeng 1981 (read): at 24 C a carrying capacity of 3.96 kg/m2 and at most 17 g/(m2 d) in 7 weeks (both 40 %).
    // Gap: the worms table lets crowding halve laying at 8 kg/m2 and nothing else, so a fed bed passes both: from 2 kg/m2 it
    // stands above 5.5 kg/m2 in 200 d, and grows by 40 g/(m2 d) in the seven weeks before it meets the printed capacity.
    let m = model(Decay::Central);
    let rich = food("fruit_and_vegetable_market") * 0.8 + food("cardboard_corrugated") * 0.2;
    let course = jar(&m, rich, 2.0, 4.0, 200, 24.0);
    assert!(highest(&course) > 1.4 * 3.96, "{}", highest(&course));
    let below = course.iter().take_while(|stock| **stock < 3.96).count();
    let growth = (course[below] - course[below - 49]) / 49.0;
    close("production gap", 1000.0 * growth - 17.0, 23.0, 2.0);
}

#[test]
fn worked_bed_of_the_facts() {
    // bed.md 2.13 (derived): 100 kg/d at 78 % on 125 m2 with 200 kg of worms: rise about 2 K, 11 kg DM/d of castings, 50 kg/d of
    // water to evaporate or drain, worms gain 2.1 (areal ceiling) to 4.9 kg/d. Per m2: 0.8 kg feed, 0.088 kg DM, 0.4 kg water,
    // 17 to 39 g. Covered (wetness 0.2). Market waste with cardboard; kitchen waste is told below.
    let m = model(Decay::Central);
    let covered = Setup { surface_wetness: Some(0.2), ..setup(1.0) };
    let feed = food("fruit_and_vegetable_market") * 0.85 + food("cardboard_corrugated") * 0.15;
    let bed = held(&m, wetted(feed, 0.78), 1.6, 0.5, covered);
    // Gaps: the sum halves the dry matter where cardboard and wet castings let the bed lose 35 %, so castings stand 0.027 above,
    // water 0.10 and the rise 1.5 K below it.
    close("castings gap", bed.castings.dry() - 0.088, 0.027, 0.003);
    close("water gap", bed.water - 0.4, -0.10, 0.02);
    close("rise gap", bed.rise - 2.0, -1.5, 0.2);
    assert!((0.013..0.039).contains(&bed.surplus), "{}", bed.surplus);
    // Gap: on kitchen waste with cardboard salt gathers in a bed that does not drain, and the stock shrinks.
    let salty = food("food_waste_household") * 0.85 + food("cardboard_corrugated") * 0.15;
    let salty = held(&m, wetted(salty, 0.78), 1.6, 0.5, setup(1.0));
    assert!(salty.stock < 0.6 * 1.6 && salty.eaten < 0.25 * 1.6, "{}", salty.stock);
}

#[test]
fn rations_above_what_is_eaten_pile_up_as_the_index_warns() {
    // bed.md 2.1: an overfeed index (ready feed over a day's intake) above 5 warns.
    let m = model(Decay::Central);
    let mut bed = Bed::new(
        setup(1.0),
        wetted(food("coconut_coir"), 0.75) * 20.0,
        0.1,
        22.0,
        Population::at_stable_structure(1.0, &m.worms),
    );
    let rich = wetted(food("fruit_and_vegetable_market"), 0.8);
    let mut stopped = None;
    for day in 0..60 {
        let (room, _) = bed.room_for_feed(&m, 3.0, density("fruit_and_vegetable_market"));
        if room <= 0.0 {
            stopped = Some(day);
            break;
        }
        bed.ready.add(rich * 3.0, 3.0 / 600.0);
        bed.day(&m, &Weather { temperature: 22.0, humidity: 0.7 }, 1);
    }
    // 3 kg/d against 0.75 at most: the surplus of five days' eating is there within a fortnight, and feeding stops
    assert!((4..20).contains(&stopped.unwrap()), "{stopped:?}");
}
