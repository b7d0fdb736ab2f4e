//! Published thresholds up to which a small site needs no permit, and whether this site exceeds them.

use super::Yearly;
use super::floor::{self, FloorFigures};
use crate::chain::Site;
use crate::scenario::Plan;
use crate::trace::Trace;
use crate::warning::Warning;

/// A published threshold.
struct Threshold {
    /// Where it applies.
    place: &'static str,
    /// Word of the place in a scenario.
    rule: &'static str,
    /// Literature key of the figure.
    key: &'static str,
}

/// A figure of the site for which thresholds are published, the lowest first.
struct Measured {
    what: &'static str,
    value: f64,
    unit: &'static str,
    thresholds: &'static [Threshold],
}

/// A warning for each figure above a published threshold of a place whose rules the plan names, with the lowest such threshold.
///
/// A threshold applies in one place only; the local authority decides what applies elsewhere.
pub(super) fn permits(
    plan: &Plan,
    site: &Site,
    trace: &Trace,
    floor: &FloorFigures,
    yearly: &Yearly,
    get: &dyn Fn(&str) -> f64,
) -> Vec<Warning> {
    let week = floor::largest_sum(&trace.daily, 7, |d| d.intake - d.turned_away);
    let all = [
        Measured {
            what: "scraps a day in the busiest week",
            value: week / 7.0,
            unit: "kg/day",
            thresholds: &[Threshold { place: "Iowa", rule: "iowa", key: "site.threshold_iowa_rate" }],
        },
        Measured {
            what: "floor under drums, beds and castings",
            value: under_scraps(floor),
            unit: "m2",
            thresholds: &[Threshold {
                place: "California",
                rule: "california",
                key: "site.threshold_california_area",
            }],
        },
        Measured {
            what: "volume in drums and beds at once",
            value: volume(site, trace),
            unit: "m3",
            thresholds: &[
                Threshold { place: "Wisconsin", rule: "wisconsin", key: "site.threshold_wisconsin_volume" },
                Threshold {
                    place: "California",
                    rule: "california",
                    key: "site.threshold_california_volume",
                },
            ],
        },
        Measured {
            what: "castings and blend a year",
            value: yearly.product(),
            unit: "m3",
            thresholds: &[Threshold {
                place: "Austria",
                rule: "austria",
                key: "site.threshold_austria_volume",
            }],
        },
    ];
    let above = |m: Measured| {
        let (exceeded, threshold) = m
            .thresholds
            .iter()
            .filter(|of| plan.names_rule(of.rule))
            .map(|of| (of, get(of.key)))
            .find(|(_, limit)| m.value > *limit)?;
        Some(Warning::PermitThreshold {
            rule: format!("{} (rule of {})", m.what, exceeded.place),
            value: m.value,
            threshold,
            unit: m.unit.to_owned(),
            key: exceeded.key.to_owned(),
        })
    };
    all.into_iter().filter_map(above).collect()
}

/// Floor under what is or was scraps, m2.
fn under_scraps(floor: &FloorFigures) -> f64 {
    let other = [floor::MACHINES, floor::BULKING];
    floor.uses.iter().filter(|u| !other.contains(&u.name)).map(|u| u.net).sum()
}

/// Largest volume in drums and beds on any night, m3.
fn volume(site: &Site, trace: &Trace) -> f64 {
    let drum = site.drums.volume;
    let area = |bed: usize| site.beds.get(bed - 1).map_or(0.0, |b| b.setup.area);
    let beds = |n: usize| -> f64 {
        let count = site.beds.len();
        trace.beds.iter().skip(n * count).take(count).map(|b| b.depth * area(b.bed)).sum()
    };
    trace.daily.iter().enumerate().map(|(n, d)| d.drums_in_use * drum + beds(n)).fold(0.0, f64::max)
}
