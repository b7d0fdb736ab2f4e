//! Published trials written as ordinary scenarios (the files in `trials`), run as any site is.

use super::{Case, Values};
use crate::chain::{self, Keep};
use crate::matter::Material;
use crate::scenario::{self, Plan};
use crate::study::filled::{FilledBed, filled_beds};
use crate::trace::{Flow, Trace};
use std::sync::LazyLock;

/// Declares the scenario of each trial.
macro_rules! trials {
    ($($NAME:ident = $file:literal;)+) => { $(
        static $NAME: LazyLock<Option<Plan>> =
            LazyLock::new(|| scenario::parse($file, include_str!(concat!("trials/", $file, ".json"))).ok());
    )+ };
}

trials! {
    PINEAPPLE = "pineapple_batch";
    FOOD_WASTE = "food_waste";
    POMACE = "apple_pomace";
    DOMESTIC = "domestic_waste";
    STRAW = "straw_grass_manure";
    ADULTS = "adults_double";
    FLOW_THROUGH = "flow_through";
}

/// Reason for the tolerances of losses.
const UNREPORTED: &str =
    "scatter of the trial; its start composition, basis and temperature are not reported";

/// Beds filled once.
pub(super) fn filled(values: &Values<'_>) -> Vec<Case> {
    let batch = |plan: &Option<Plan>| ran(plan.as_ref(), values).and_then(|ran| ran.filled.first().cloned());
    [
        pineapple(batch(&PINEAPPLE).as_ref()),
        food_waste(batch(&FOOD_WASTE).as_ref()),
        pomace(batch(&POMACE).as_ref()),
        domestic(batch(&DOMESTIC).as_ref()),
        straw(batch(&STRAW).as_ref()),
    ]
    .concat()
}

/// A scenario that was run.
pub(super) struct Ran {
    pub(super) trace: Trace,
    pub(super) filled: Vec<FilledBed>,
}

impl Ran {
    /// Castings sold alone; those screened where nothing is sold alone.
    pub(super) fn castings(&self) -> Material {
        let sold = self.trace.ledger.matter(Flow::CastingsSold);
        if sold.wet() > 0.0 { *sold } else { *self.trace.ledger.matter(Flow::Screened) }
    }
}

/// Runs a plan at some values; the plan's own rates stay as it has them. `None` if it cannot be run, which fails every check.
pub(super) fn ran(plan: Option<&Plan>, values: &Values<'_>) -> Option<Ran> {
    let plan = plan?;
    let own = |key: &str| plan.rates.iter().any(|rate| rate.key == key);
    let get = |key: &str| if own(key) { scenario::central(plan, key) } else { (values.get)(key) };
    let (site, models) = scenario::assemble_with(plan, &get).ok()?;
    let last = site.days.checked_sub(1)?;
    let (trace, states) = chain::run_saving(&site, &models, Keep::Days, &[last]).ok()?;
    let filled = filled_beds(plan, &site, &models, &trace, states.first()?, &get);
    Some(Ran { trace, filled })
}

/// A figure of a batch; not a number without one.
fn of_batch(bed: Option<&FilledBed>, figure: impl Fn(&FilledBed) -> f64) -> f64 {
    bed.map_or(f64::NAN, figure)
}

/// Zziwa et al. 2021: pineapple peel and manure in one batch.
fn pineapple(bed: Option<&FilledBed>) -> Vec<Case> {
    let of = |key| {
        let inputs =
            "pineapple peel and manure 4:1, one batch of 60 d; fruit waste, 100 kg/m2, 22 °C assumed";
        Case::of(key, "zziwa_2021", inputs)
    };
    vec![
        of("beds.pineapple_batch_loss")
            .printed(0.60, 2, "of dry")
            .within(0.10, UNREPORTED)
            .ours(of_batch(bed, |bed| bed.dry_loss)),
        of("beds.pineapple_batch_worms")
            .printed(0.57, 2, "gain")
            .within(0.25, UNREPORTED)
            .ours(of_batch(bed, |bed| bed.end.worms / bed.start.worms - 1.0)),
    ]
}

/// Majlessi et al. 2012: food waste.
fn food_waste(bed: Option<&FilledBed>) -> Vec<Case> {
    let of = |key| {
        let inputs = "food waste; cardboard added for the printed start of C:N 30.13, 90 d, 17 kg/m2, 1 kg worms/m2 assumed";
        Case::of(key, "majlessi_2012", inputs)
    };
    vec![
        of("beds.food_waste_carbon_to_nitrogen")
            .printed(14.32, 2, "kg/kg")
            .within(0.20 * 14.32, UNREPORTED)
            .ours(of_batch(bed, |bed| bed.end.quality.carbon_to_nitrogen)),
        of("beds.food_waste_ph")
            .printed(7.53, 2, "pH")
            .within(0.5, UNREPORTED)
            .ours(of_batch(bed, |bed| bed.end.ph_in_water)),
    ]
}

/// Hanc and Chadimova 2014: what a laboratory found in castings of apple pomace.
fn pomace(bed: Option<&FilledBed>) -> Vec<Case> {
    let of = |key, inputs| Case::of(key, "hanc_chadimova_2014", inputs);
    vec![
        of(
            "products.pomace_ph",
            "castings of apple pomace, with and without straw 5.9 to 6.9; ours without, as in pomace loss",
        )
        .printed(6.4, 1, "pH")
        .within(0.5, "published as 5.9 to 6.9")
        .ours(of_batch(bed, |bed| bed.end.ph_in_water)),
        of(
            "products.pomace_conductivity",
            "the same, 1.6 to 4.4; extract 1:10 by mass assumed, the ratio is not in the abstract",
        )
        .printed(3.0, 1, "dS/m")
        .within(1.4, "published as 1.6 to 4.4")
        .ours(of_batch(bed, |bed| bed.end.quality.conductivity_1_to_10)),
        of("products.pomace_potassium", "the same")
            .printed(0.023, 3, "of dry")
            .within(0.005, UNREPORTED)
            .ours(of_batch(bed, |bed| bed.end.quality.potassium)),
    ]
}

/// Duran and Henriquez 2006: domestic waste.
fn domestic(bed: Option<&FilledBed>) -> Vec<Case> {
    let inputs = "domestic waste, 600 worms in 0.03 m3, 90 d";
    vec![
        Case::of("products.kitchen_waste_potassium", "duran_henriquez_2006", inputs)
            .printed(0.030, 3, "of dry")
            .within(0.005, UNREPORTED)
            .ours(of_batch(bed, |bed| bed.end.quality.potassium)),
    ]
}

/// Ramnarain et al. 2019: straw, grass and manure.
fn straw(bed: Option<&FilledBed>) -> Vec<Case> {
    let inputs = "castings of straw, grass and manure, 120 d; 100 kg/m2, 1.6 kg worms/m2, 26 °C assumed";
    vec![
        Case::of("products.straw_and_manure_ph", "ramnarain_2019", inputs)
            .printed(6.25, 2, "pH")
            .within(0.75, "published as 5.5 to 7.0")
            .ours(of_batch(bed, |bed| bed.end.ph_in_water)),
    ]
}

/// Stocks of beds that are fed fresh scraps.
pub(super) fn stocks(values: &Values<'_>) -> Vec<Case> {
    let doubled = || -> Option<f64> {
        let daily = ran(ADULTS.as_ref(), values)?.trace.daily;
        let start = ADULTS.as_ref()?.stock_bought();
        let day = daily.iter().position(|day| day.stock >= 2.0 * start)?;
        Some(f64::from(u32::try_from(day + 1).ok()?))
    };
    let settled = || -> Option<f64> {
        let daily = ran(FLOW_THROUGH.as_ref(), values)?.trace.daily;
        let year = daily.get(daily.len().checked_sub(365)?..)?;
        Some(year.iter().map(|day| day.stock).sum::<f64>() / 365.0 / FLOW_THROUGH.as_ref()?.bed_area())
    };
    vec![
        Case::of(
            "worms.days_to_double",
            "trade_practice",
            "a stock of adults doubles in 60 to 90 days; half of its mass a day of market waste, manure and card, fed fresh, 25 °C assumed",
        )
        .printed(75.0, 0, "d")
        .within(15.0, "60 to 90 d")
        .ours(doubled().unwrap_or(f64::NAN)),
        Case::of(
            "worms.stock_of_a_flow_through_bed",
            "growers_flow_through",
            "beds start at 2.4 kg/m2 and level off at 7.3 to 9.8; mean of the third year, fed to appetite, cut from below, 25 °C assumed",
        )
        .printed(8.55, 2, "kg/m2")
        .within(1.25, "published as 7.3 to 9.8")
        .ours(settled().unwrap_or(f64::NAN)),
    ]
}
