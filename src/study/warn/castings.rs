//! Warnings of castings on their way out: drying, screen.

use super::{above, of_site};
use crate::chain::Site;
use crate::trace::{DayRecord, Flow, Trace};
use crate::unit::screen::Drying;
use crate::warning::Warning;

/// Castings that dry on a floor for longer than this are reported. # Units: d # Source: our choice; a good floor takes 3 to 14 days.
const SLOW_DRYING: f64 = 30.0;
/// Dry castings are reported if the screen needs more than this for them. # Units: d # Source: our choice
const SCREEN_BACKLOG: f64 = 7.0;
/// Castings are said to be held up where a smaller share of their dry matter than this passed the screen. Source: our choice; screens of
/// dry castings pass 0.8 and more (`site`), and the rest goes round again.
const COME_OUT: f64 = 0.5;
/// Nothing is said of castings first harvested later than this before the end. # Units: d # Source: our choice, twice the longest good
/// drying.
const DUE: usize = 60;

/// Castings that wait for the drying floor or for the screen, or hardly come out at all.
pub(super) fn castings(site: &Site, trace: &Trace, all: &mut Vec<Warning>) {
    all.extend(held_up(trace));
    let screen = &site.screen;
    if matches!(screen.drying, Drying::Floor { .. }) {
        let slow = |d: &DayRecord| (d.longest_drying > SLOW_DRYING).then_some(d.castings_drying);
        all.extend(of_site(&trace.daily, slow, |spell| Warning::DryingShort { spell }));
    }
    let capacity_kg_per_day = screen.rate * screen.hours_per_day;
    all.extend(of_site(
        &trace.daily,
        |d| above(d.castings_waiting, SCREEN_BACKLOG * capacity_kg_per_day),
        |spell| Warning::ScreenBottleneck { capacity_kg_per_day, spell },
    ));
}

/// Castings of which less than half came through the screen.
fn held_up(trace: &Trace) -> Option<Warning> {
    let first = trace.daily.iter().position(|d| d.harvested > 0.0)?;
    let dry = |flow| trace.ledger.matter(flow).dry();
    let (harvested_dry_kg, screened_dry_kg) = (dry(Flow::Harvest), dry(Flow::Screened));
    let is_due = trace.daily.len() - first > DUE;
    (is_due && screened_dry_kg < COME_OUT * harvested_dry_kg)
        .then_some(Warning::CastingsHeldUp { harvested_dry_kg, screened_dry_kg })
}
