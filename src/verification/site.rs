//! Landfill, warming, money, areas and lifting.

use super::{Case, central};
use crate::literature;
use crate::process::landfill::{Collection, LandfillClimate, LandfillDecay};
use crate::process::quality::safety::{Lift, Lifting};
use crate::quantity::{Kind, convert, parse};
use crate::site_figures::greenhouse::{Fifth, Potentials, Sixth};
use crate::site_figures::{Yearly, finance, floor};

pub(super) fn cases() -> Vec<Case> {
    let sums =
        [emission_factors(), potentials(), interest(), investment(), costs(), areas(), lifting()].concat();
    [landfill(), Case::arithmetic(sums)].concat()
}

fn landfill() -> Vec<Case> {
    let rate = std::f64::consts::LN_2 / central("site.landfill_half_life_food");
    let decay = LandfillDecay {
        rate,
        oxidation: 0.25,
        ..LandfillDecay::from_values(LandfillClimate::TemperateWet, &central)
    };
    let span = |from, until, share| Collection { from, until, share };
    let schedule = [
        span(0.0, 5.0, 0.0),
        span(5.0, 10.0, 0.5),
        span(10.0, 15.0, 0.75),
        span(15.0, 21.0, 0.825),
        span(21.0, 35.0, 0.9),
    ];
    vec![
        Case::of(
            "landfill.methane_released",
            "epa_600_r_23_064",
            "food waste, half-life 3.6 a, collection by age from none to 90 %, 25 % oxidised",
        )
        .printed(61.0, 0, "% of that made")
        .within(8.0, "the report sums many landfills and years of deposit; ours is one deposit")
        .ours(100.0 * decay.uncollected_share(&schedule) * (1.0 - decay.oxidation)),
        Case::of(
            "landfill.factor_of_food_waste",
            "evans_2012",
            "an independent review against the agency's factor",
        )
        .printed(0.743, 3, "t CO2e/t")
        .within(0.01, "two reviews of different countries")
        .ours(central("site.landfill_factor_food_waste")),
    ]
}

fn emission_factors() -> Vec<Case> {
    let dry = |id: &str| literature::entry(&format!("site.{id}")).map(|entry| entry.value);
    // wet = dry x (1 - 0.60), as the table's note says
    let wet = |of: Option<f64>| of.map_or(f64::NAN, |share| 1000.0 * 0.4 * share);
    let (methane, nitrous) = (dry("compost_methane_dry"), dry("compost_nitrous_oxide_dry"));
    let of = |key, inputs| Case::of(key, "ipcc_2006", inputs);
    vec![
        of("warming.compost_methane", "10 g CH4 per kg dry at 60 % water")
            .printed(4.0, 0, "g/kg wet")
            .ours(wet(methane.map(|v| v.central()))),
        of("warming.compost_methane_least", "0.08 g CH4 per kg dry at 60 % water")
            .printed(0.03, 2, "g/kg wet")
            .ours(wet(methane.map(|v| v.low()))),
        of("warming.compost_methane_most", "20 g CH4 per kg dry at 60 % water")
            .printed(8.0, 0, "g/kg wet")
            .ours(wet(methane.map(|v| v.high()))),
        of("warming.compost_nitrous_oxide", "0.6 g N2O per kg dry at 60 % water")
            .printed(0.3, 1, "g/kg wet")
            .ours(wet(nitrous.map(|v| v.central())))
            .contradicts(-0.06, 0.001, "the source contradicts its own note of 60 % water, which gives 0.24; later editions have 0.24"),
    ]
}

fn potentials() -> Vec<Case> {
    let of = |key, inputs| Case::of(key, "public_parameter_file", inputs).printed(179.52, 2, "kg CO2e/t");
    let reason = "the source combines methane of the sixth assessment (27) with nitrous oxide of the fourth (298); the model never \
                  mixes sets";
    let (methane, nitrous) = (4.0, 0.24);
    vec![
        of("warming.compost_by_fifth_assessment", "4 g CH4 and 0.24 g N2O per kg wet, potentials 28 and 265")
            .ours(Potentials::<Fifth>::published().of(methane, nitrous).kilograms())
            .contradicts(-3.92, 0.01, reason),
        of("warming.compost_by_sixth_assessment", "4 g CH4 and 0.24 g N2O per kg wet, potentials 27 and 273")
            .ours(Potentials::<Sixth>::published().of(methane, nitrous).kilograms())
            .contradicts(-6.0, 0.01, reason),
    ]
}

fn interest() -> Vec<Case> {
    let of = |key, inputs| Case::of(key, "interest_factor_table", inputs);
    let other = |key| Case::of(key, "teaching_example", "500 at 4.25 % over 5 periods");
    vec![
        of("money.payment_5", "A/P at 8 %, 5 periods")
            .printed(0.2505, 4, "")
            .ours(finance::annuity(1.0, 0.08, 5)),
        of("money.present_5", "P/A at 8 %, 5 periods")
            .printed(3.9927, 4, "")
            .ours(finance::present_per_annuity(0.08, 5)),
        of("money.sinking_5", "A/F at 8 %, 5 periods")
            .printed(0.1705, 4, "")
            .ours(1.0 / finance::future_per_annuity(0.08, 5)),
        of("money.payment_10", "A/P at 8 %, 10 periods")
            .printed(0.1490, 4, "")
            .ours(finance::annuity(1.0, 0.08, 10)),
        of("money.present_10", "P/A at 8 %, 10 periods")
            .printed(6.7101, 4, "")
            .ours(finance::present_per_annuity(0.08, 10)),
        of("money.future_10", "F/A at 8 %, 10 periods")
            .printed(14.4866, 4, "")
            .ours(finance::future_per_annuity(0.08, 10)),
        other("money.factor_of_a_loan").printed(0.2262, 4, "").ours(finance::annuity(1.0, 0.0425, 5)),
        other("money.payment_of_a_loan").printed(113.10, 2, "").ours(finance::annuity(500.0, 0.0425, 5)),
    ]
}

fn investment() -> Vec<Case> {
    let flows = [-100_000.0, 35_000.0, 35_000.0, 35_000.0, 35_000.0, 55_000.0];
    vec![
        Case::of(
            "money.internal_rate",
            "teaching_example",
            "100,000 spent; 55,000 less 20,000 a year for 5 years; 20,000 back at the end",
        )
        .printed(25.3, 1, "%")
        .ours(finance::internal_rate(&flows).map_or(f64::NAN, |rate| 100.0 * rate)),
    ]
}

fn costs() -> Vec<Case> {
    let plant = |key, inputs| Case::of(key, "deyle_hanks_1991", inputs);
    let operating: f64 = [1.92, 2.98, 1.19, 0.67, 0.13, 0.08, 1.33].iter().sum();
    let capital: f64 = [915.0, 1296.0, 2288.0, 4958.0, 1907.0, 114.0].iter().sum();
    vec![
        plant("money.capital_of_a_compost_plant", "six lines of table 8.1 per daily ton")
            .printed(11_478.0, 0, "$")
            .ours(capital),
        plant("money.capital_in_the_tables", "the same as the literature tables hold it")
            .printed(11_478.0, 0, "$")
            .ours(central("site.compost_capital_per_daily_ton")),
        plant("money.running_a_compost_plant_least", "seven lines of table 8.2 and 0.31")
            .printed(8.61, 2, "$/ton")
            .ours(operating + 0.31),
        plant("money.running_a_compost_plant_most", "seven lines of table 8.2 and 0.50")
            .printed(8.80, 2, "$/ton")
            .ours(operating + 0.50),
        Case::of("money.feed_of_a_year", "trade_practice", "124 lb a day all year; published to two digits")
            .printed(45_000.0, -3, "lb/a")
            .ours(124.0 * Yearly::DAYS),
        Case::of("money.fall_of_gate_fees", "eref_2024", "58.47 to 56.80 a ton")
            .printed(3.0, 0, "%")
            .ours(100.0 * (1.0 - 56.80 / 58.47)),
        Case::of("money.cost_of_food_wasted", "wrap_2013", "2.5 bn over 920,000 t; published as `around`")
            .printed(2800.0, -2, "per t")
            .ours(finance::per_unit(2.5e9, 920_000.0).unwrap_or(f64::NAN))
            .contradicts(-82.6, 0.1, "the published sum and tonnage are rounded: 2.58 bn would give 2,800"),
    ]
}

fn areas() -> Vec<Case> {
    let unit = |kind, text| parse(kind, text).unwrap_or(f64::NAN);
    let rule = unit(Kind::Mass, "1 lb") / 7.0 / unit(Kind::Area, "1 ft2");
    let needed = floor::area_for(5.0 * unit(Kind::Mass, "30 lb") / 7.0, rule);
    vec![
        Case::of(
            "site.school_bed_area",
            "us_school_guide",
            "30 lb a day on 5 days; 1 lb a week per square foot",
        )
        .printed(150.0, 0, "ft2")
        .ours(convert(Kind::Area, needed, "ft2").unwrap_or(f64::NAN)),
    ]
}

fn lifting() -> Vec<Case> {
    let k = Lifting::from_values(&central);
    let lift = Lift { reach: 0.25, height: 0.55, raised: 0.95, twist: 0.0, frequency: 0.88, grip: 0.95 };
    let inputs = "12 kg from 55 cm, reach 25 cm, raised 95 cm, 3 a minute for 45 min, FM 0.88, CM 0.95";
    let of = |key| Case::of(key, "teaching_example", inputs);
    let rounded = "the example rounds the distance factor, 0.8674, to 0.87";
    vec![
        of("site.recommended_weight").printed(15.7, 1, "kg").ours(k.recommended_weight(&lift)),
        of("site.lifting_index").printed(0.76, 2, "").within(0.006, rounded).ours(k.index(&lift, 12.0)),
    ]
}
