//! What a year moves, read off a run of any length.

use crate::chain::Site;
use crate::matter::{Gas, ratio};
use crate::trace::{DayRecord, Flow, Trace};
use schemars::JsonSchema;
use serde::Serialize;

/// Amounts of a year of 365 days: those of the run x 365 / its days, whatever its length and season. A first year holds the start-up,
/// so that later years may do better.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema, Default)]
pub struct Yearly {
    /// Days of the run they were read off.
    pub run_days: f64,
    /// Scraps taken in, by stream in the order of the plan, contamination and what was turned away left out. # Units: kg wet/a
    pub by_stream: Vec<f64>,
    /// Scraps taken in of all streams. # Units: kg wet/a
    pub accepted: f64,
    /// Bran strewn. # Units: kg/a
    pub bran: f64,
    /// Bulking mixed in. # Units: kg wet/a
    pub bulking: f64,
    /// Grit mixed in. # Units: kg wet/a
    pub grit: f64,
    /// Compost bought for the blend. # Units: m3/a
    pub compost: f64,
    /// Drums sealed. # Units: 1/a
    pub sealed: f64,
    /// Drums opened. # Units: 1/a
    pub opened: f64,
    /// Running time of the grinder. # Units: h/a
    pub grinder_hours: f64,
    /// Electricity of the grinder. # Units: kWh/a
    pub grinder_energy: f64,
    /// Paste with bulking laid on beds. # Units: kg wet/a
    pub fed: f64,
    /// Area of the beds that were fed, each time. # Units: m2/a
    pub area_fed: f64,
    /// Castings harvested. # Units: kg wet/a
    pub harvested: f64,
    /// Running time of the screen. # Units: h/a
    pub screen_hours: f64,
    /// Water dried off castings. # Units: kg/a
    pub dried: f64,
    /// Castings sold alone. # Units: m3/a
    pub castings: f64,
    /// Blend sold. # Units: m3/a
    pub blend: f64,
    /// Worms sold. # Units: kg live/a
    pub worms_sold: f64,
    /// Oxygen used in beds. # Units: kg/a
    pub bed_oxygen: f64,
    /// Methane given off. # Units: kg/a
    pub methane: f64,
    /// Nitrous oxide given off. # Units: kg/a
    pub nitrous_oxide: f64,
}

impl Yearly {
    /// Days of a year. # Units: d/a
    pub const DAYS: f64 = 365.0;

    /// Reads the amounts off a run.
    pub fn of(site: &Site, trace: &Trace) -> Self {
        let days = (trace.daily.len() as f64).max(1.0);
        let a_year = |amount: f64| amount * Self::DAYS / days;
        let sum = |of: fn(&DayRecord) -> f64| a_year(trace.daily.iter().map(of).sum());
        let (t, gases) = (&trace.tally, trace.ledger.all_gases());
        let by_stream: Vec<f64> =
            t.streams.iter().map(|s| a_year(s.delivered.wet() - s.turned_away)).collect();
        let compost_density = site.cure.blend.map_or(0.0, |b| b.compost_bulk_density);
        Self {
            run_days: days,
            accepted: by_stream.iter().sum(),
            by_stream,
            bran: sum(|d| d.bran_used),
            bulking: sum(|d| d.bulking),
            grit: a_year(trace.ledger.matter(Flow::Grit).wet()),
            compost: a_year(ratio(trace.ledger.matter(Flow::Compost).wet(), compost_density)),
            sealed: a_year(t.sealed as f64),
            opened: a_year(t.opened as f64),
            grinder_hours: sum(|d| d.grinder_hours),
            grinder_energy: a_year(t.energy),
            fed: sum(|d| d.fed),
            area_fed: a_year(area_fed(site, trace)),
            harvested: sum(|d| d.harvested),
            screen_hours: a_year(t.screen_hours),
            dried: a_year(trace.ledger.gases(Flow::ScreenGas)[Gas::WaterVapour]),
            castings: a_year(t.castings_volume),
            blend: a_year(t.blend_volume),
            worms_sold: a_year(t.sold),
            bed_oxygen: a_year(-trace.ledger.gases(Flow::BedGas)[Gas::Oxygen]),
            methane: a_year(gases[Gas::Methane]),
            nitrous_oxide: a_year(gases[Gas::NitrousOxide]),
        }
    }

    /// Scraps taken in. # Units: t/a
    pub fn tonnes(&self) -> f64 {
        self.accepted / 1000.0
    }

    /// Castings and blend sold. # Units: m3/a
    pub fn product(&self) -> f64 {
        self.castings + self.blend
    }
}

/// Area of the beds that were fed, summed over days, m2.
fn area_fed(site: &Site, trace: &Trace) -> f64 {
    let area = |bed: usize| site.beds.get(bed - 1).map_or(0.0, |b| b.setup.area);
    trace.beds.iter().filter(|b| b.fed > 0.0).map(|b| area(b.bed)).sum()
}
