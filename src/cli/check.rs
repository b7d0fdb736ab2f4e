//! The command `check`: what a plan means and what is wrong with it before it is run.

use super::failure::Failure;
use super::rates::with_rates;
use crate::process::projection::doubling_steps;
use crate::process::worm::WormRates;
use crate::quantity::Units;
use crate::report::plan_text;
use crate::report::plan_text::Growth;
use crate::scenario::Plan;
use crate::scenario::plan::Vent;
use crate::warning::Warning;
use crate::warning::Warnings;

/// The page of a plan.
///
/// # Errors
/// [`Failure::MissingRate`] when the tables lack a rate: our fault.
pub fn page(plan: &Plan, units: Units) -> Result<String, Failure> {
    let growth = growth(plan)?;
    let lift = with_rates(|key| chosen(plan, key), |get| get("site.one_person_lift_men"))?;
    let warnings = warnings(plan, lift);
    Ok(plan_text::plan_text(plan, growth, &warnings.by_severity(), units))
}

/// The value a plan puts in the place of a published one.
fn chosen(plan: &Plan, key: &str) -> Option<f64> {
    plan.rates.iter().find(|choice| choice.key == key).map(|choice| choice.central)
}

/// Growth at the mean temperature of the bed room: the dominant eigenvalue of the daily projection matrix.
fn growth(plan: &Plan) -> Result<Growth, Failure> {
    let mean = plan.climate.season.mean;
    let temperature = plan.climate.bed_room.temperature(mean, mean);
    let rates = with_rates(|key| chosen(plan, key), WormRates::from_values)?;
    let per_day = rates.growth_per_day(temperature);
    Ok(Growth { temperature, per_day, doubling: doubling_steps(per_day) })
}

/// What can be said of a plan without running it.
fn warnings(plan: &Plan, one_person: f64) -> Warnings {
    let mut out = Warnings::new();
    let intake = plan.mean_intake();
    let (drums, stock) = (plan.drums.count, plan.stock.mass());
    let missing = [
        (intake <= 0.0, Warning::NoIntake),
        (drums == 0, Warning::NoDrums),
        (plan.bed_area() <= 0.0, Warning::NoBeds),
        (stock <= 0.0, Warning::NoWorms),
        (drums > 0 && plan.drums.vent == Vent::Sealed, Warning::ValveMissing { drums }),
    ];
    for (_, warning) in missing.into_iter().filter(|(holds, _)| *holds) {
        out.add(warning);
    }
    let full = plan.drums.contents();
    if drums > 0 && full > one_person {
        out.add(Warning::DrumTooHeavy { drum_kg: full, one_person_kg: one_person });
    }
    let need = intake / plan.feeding.ration;
    if stock > 0.0 && need > stock {
        out.add(Warning::StockBelowNeed { have_kg: stock, need_kg: need });
    }
    for choice in &plan.rates {
        let Some(entry) = crate::literature::entry(&choice.key) else { continue };
        let (low, high) = (entry.value.low(), entry.value.high());
        if choice.central < low || choice.central > high {
            out.add(Warning::OutsidePublishedRange {
                key: choice.key.clone(),
                value: choice.central,
                low,
                high,
                unit: entry.unit.clone(),
            });
        }
    }
    if let Some(have) = plan.site.floor_area.filter(|have| *have < plan.bed_area()) {
        out.add(Warning::FloorShort { need_m2: plan.bed_area(), have_m2: have });
    }
    out
}
