//! Warnings of water and salt: what beds are given, what they drain, and salt that stays.

use super::LaterSpan;
use crate::chain::Site;
use crate::trace::{DayRecord, Settling, Trace};
use crate::warning::Warning;

/// Water given to beds above this is much. # Units: kg/kg scraps taken in # Source: our choice; scraps bring some 0.75 kg of their own.
const MUCH_WATER: f64 = 1.0;
/// Drainage of beds above this is much. # Units: kg/kg scraps taken in # Source: our choice, about half of the 0.7 kg that practice says
/// must leave scraps of 80 % water by air or drain.
const MUCH_DRAINAGE: f64 = 0.3;
/// Fewer days say little of water per scraps: bedding is wetted at first. # Units: d # Source: our choice
const WATER_DAYS: usize = 180;
/// Salt that gathers is reported from this part of the level at which worms lay half. Source: our choice
const SALT_FELT: f64 = 0.5;

/// Much water given to beds or drained from them, for the scraps taken in.
pub(super) fn water(site: &Site, trace: &Trace, all: &mut Vec<Warning>) {
    let sum = |of: fn(&DayRecord) -> f64| trace.daily.iter().map(of).sum::<f64>();
    let scraps = sum(|d| d.intake - d.turned_away);
    if site.beds.is_empty() || scraps <= 0.0 || trace.daily.len() < WATER_DAYS {
        return;
    }
    let (added_kg, drained_kg) = (sum(|d| d.irrigation), sum(|d| d.drainage));
    if added_kg > MUCH_WATER * scraps {
        all.push(Warning::WaterLarge { added_kg, per_kg_scraps: added_kg / scraps, limit: MUCH_WATER });
    }
    if drained_kg > MUCH_DRAINAGE * scraps {
        all.push(Warning::DrainageLarge {
            drained_kg,
            per_kg_scraps: drained_kg / scraps,
            limit: MUCH_DRAINAGE,
            peak_kg_per_day: trace.daily.iter().map(|d| d.drainage).fold(0.0, f64::max),
        });
    }
}

/// Salt that still grows from year to year when the last one simulated ends, and is felt by worms.
pub(super) fn salt_gathers(of: &LaterSpan<'_>, get: &dyn Fn(&str) -> f64) -> Option<Warning> {
    let [.., before, now] = of.sums else { return None };
    let grows = now.salt_held > (1.0 + of.tolerance) * before.salt_held;
    let grams_per_litre = of.trace.beds.iter().map(|b| b.salt).fold(0.0, f64::max);
    let is_felt = grams_per_litre > SALT_FELT * get("bed.salt_laying_half_effect");
    (of.settling == Settling::StillChanging && grows && is_felt).then_some(Warning::SaltGathers {
        before_kg: before.salt_held,
        now_kg: now.salt_held,
        grams_per_litre,
    })
}
