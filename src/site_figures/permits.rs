//! Published thresholds up to which a small site needs no permit, where this site is above them.

use super::Yearly;
use super::floor::{self, FloorFigures};
use crate::chain::Site;
use crate::trace::Trace;
use crate::warning::Warning;

/// What a site has of something that thresholds are set for, and their keys, the lowest first.
struct Measured {
    what: &'static str,
    value: f64,
    unit: &'static str,
    keys: &'static [&'static str],
}

/// A warning for each measure that is above a published threshold, with the lowest one.
///
/// Each threshold holds in one place only: what counts here the local authority says.
pub(super) fn permits(
    site: &Site,
    trace: &Trace,
    floor: &FloorFigures,
    yearly: &Yearly,
    get: &dyn Fn(&str) -> f64,
) -> Vec<Warning> {
    let week = floor::largest_sum(&trace.daily, 7, |d| d.intake - d.turned_away);
    let all = [
        Measured {
            what: "scraps a day, busiest week",
            value: week / 7.0,
            unit: "kg/day",
            keys: &["site.threshold_iowa_rate"],
        },
        Measured {
            what: "floor under drums, beds and castings",
            value: floor.uses.iter().filter(|u| u.name != floor::MACHINES).map(|u| u.net).sum(),
            unit: "m2",
            keys: &["site.threshold_california_area"],
        },
        Measured {
            what: "volume in drums and beds at once",
            value: volume(site, trace),
            unit: "m3",
            keys: &["site.threshold_wisconsin_volume", "site.threshold_california_volume"],
        },
        Measured {
            what: "castings and blend a year",
            value: yearly.product(),
            unit: "m3",
            keys: &["site.threshold_austria_volume"],
        },
    ];
    let above = |m: Measured| {
        let (key, threshold) =
            m.keys.iter().map(|key| (*key, get(key))).find(|(_, limit)| m.value > *limit)?;
        let rule = format!("{}: {key}", m.what);
        Some(Warning::PermitThreshold { rule, value: m.value, threshold, unit: m.unit.to_owned() })
    };
    all.into_iter().filter_map(above).collect()
}

/// Most that stands in drums and beds at night. # Units: m3
fn volume(site: &Site, trace: &Trace) -> f64 {
    let drum = site.drums.volume;
    let area = |bed: usize| site.beds.get(bed - 1).map_or(0.0, |b| b.setup.area);
    let beds = |n: usize| -> f64 {
        let count = site.beds.len();
        trace.beds.iter().skip(n * count).take(count).map(|b| b.depth * area(b.bed)).sum()
    };
    trace.daily.iter().enumerate().map(|(n, d)| d.drums_in_use * drum + beds(n)).fold(0.0, f64::max)
}
