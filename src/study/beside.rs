//! A run that the lines of a log are compared with: the figure of the model for each kind of line.

use crate::chain::{Models, Site};
use crate::matter::{Material, ratio};
use crate::process::quality::{QualityFigures, QualityRates};
use crate::scenario::log::{Compared, LogKind, LogPlace};
use crate::trace::{BedRecord, Trace};
use jiff::civil::Date;

/// Days around a line in which drums were opened for its pH to be compared. Source: our choice.
const NEAR_OPENING: usize = 3;

/// A run that lines are compared with; its trace keeps every bed.
pub(super) struct Beside {
    pub(super) site: Site,
    pub(super) models: Models,
    pub(super) trace: Trace,
    pub(super) rates: QualityRates,
}

impl Beside {
    /// Day of the run of a date.
    pub(super) fn day_of(&self, date: Date) -> usize {
        usize::try_from((date - self.site.start).get_days()).unwrap_or(0)
    }

    /// The figure on a day. pH at opening is that of the nearest day with drums opened.
    pub(super) fn near(&self, kind: LogKind, place: &LogPlace, day: usize) -> Option<f64> {
        if kind != LogKind::OpenedPh {
            return self.on(kind, place, day);
        }
        (0..=NEAR_OPENING)
            .flat_map(|off| [day.checked_sub(off), Some(day + off)])
            .flatten()
            .find_map(|day| self.on(kind, place, day))
    }

    /// Figures by day; sums come together.
    pub(super) fn curve(
        &self,
        kind: LogKind,
        place: &LogPlace,
        days: std::ops::Range<usize>,
    ) -> Vec<(usize, f64)> {
        let mut sum = 0.0;
        let compared = kind.row().compared;
        let harvested = |day: usize| self.trace.tally.harvests.iter().any(|harvest| harvest.day == day);
        days.filter(|&day| compared != Compared::Harvest || harvested(day))
            .filter_map(|day| Some((day, self.on(kind, place, day)?)))
            .map(|(day, value)| {
                sum += value;
                (day, if compared == Compared::Sum { sum } else { value })
            })
            .collect()
    }

    /// The figure of the model on a day. `None` where it has none.
    pub(super) fn on(&self, kind: LogKind, place: &LogPlace, day: usize) -> Option<f64> {
        let today = self.trace.daily.get(day)?;
        let value = match kind {
            LogKind::ScrapsIn => self.scraps(place, day)?,
            LogKind::WormsIn => {
                let worms = &self.models.bed.worms;
                self.site
                    .arrivals
                    .iter()
                    .filter(|(when, _)| *when == day)
                    .map(|(_, w)| w.biomass(worms))
                    .sum()
            }
            LogKind::DrumRoom => today.drum_room_temperature,
            LogKind::BedRoom => today.bed_room_temperature,
            LogKind::CastingsTaken => self.taken(place, day, day).map_or(0.0, |castings| castings.wet()),
            LogKind::DrumsInUse => today.drums_in_use,
            LogKind::DrumsOpened => today.drums_opened,
            LogKind::OpenedPh => (today.drums_opened > 0.0).then_some(today.opened_ph)?,
            LogKind::Liquor => today.liquor,
            LogKind::Bulking => today.bulking,
            LogKind::WaterAdded => today.irrigation / 1000.0,
            LogKind::YoungShare => ratio(today.juveniles + today.subadults, today.stock),
            LogKind::FeedLaid
            | LogKind::BedTemperature
            | LogKind::BedMoisture
            | LogKind::BedPh
            | LogKind::BedDepth
            | LogKind::WormMass
            | LogKind::WormDensity => self.of_beds(kind, place, day)?,
            LogKind::CastingsMoisture
            | LogKind::CastingsCarbon
            | LogKind::CastingsNitrogen
            | LogKind::CastingsRatio
            | LogKind::CastingsPhosphorus
            | LogKind::CastingsPotassium
            | LogKind::CastingsAsh
            | LogKind::CastingsPh => of_castings(kind, &self.quality(place, day)?),
        };
        value.is_finite().then_some(value)
    }

    /// Scraps of a stream as weighed at the gate, contamination included, kg.
    fn scraps(&self, place: &LogPlace, day: usize) -> Option<f64> {
        let LogPlace::Stream(stream) = place else { return None };
        let stream = self.site.streams.get(*stream)?;
        Some(stream.amounts.get(day)? * (1.0 + stream.contamination))
    }

    fn of_beds(&self, kind: LogKind, place: &LogPlace, day: usize) -> Option<f64> {
        let LogPlace::Beds(beds) = place else { return None };
        let all = self.site.beds.len();
        let records: Vec<&BedRecord> =
            beds.clone().filter_map(|bed| self.trace.beds.get(day * all + bed)).collect();
        let sum = |of: fn(&BedRecord) -> f64| records.iter().map(|bed| of(bed)).sum::<f64>();
        let mean = |of| sum(of) / records.len() as f64;
        Some(match kind {
            LogKind::FeedLaid => sum(|bed| bed.fed),
            LogKind::WormMass => sum(|bed| bed.stock),
            LogKind::WormDensity => {
                let area: f64 = self.site.beds.get(beds.clone())?.iter().map(|bed| bed.setup.area).sum();
                ratio(sum(|bed| bed.stock), area)
            }
            LogKind::BedTemperature => mean(|bed| bed.temperature),
            LogKind::BedMoisture => mean(|bed| bed.moisture),
            LogKind::BedPh => mean(|bed| bed.ph),
            _ => mean(|bed| bed.depth),
        })
    }

    /// Castings harvested from some beds between two days, both included. `None` if there were none.
    fn taken(&self, place: &LogPlace, from: usize, to: usize) -> Option<Material> {
        let LogPlace::Beds(beds) = place else { return None };
        let harvests = self.trace.tally.harvests.iter().filter(|h| (from..=to).contains(&h.day));
        let part = |first: usize, count: usize| {
            let (low, high) = (first.max(beds.start), (first + count).min(beds.end));
            high.saturating_sub(low) as f64
        };
        let all: Material = harvests.map(|h| h.castings * part(h.beds.first, h.beds.count)).sum();
        (all.wet() > 0.0).then_some(all)
    }

    /// Castings as they were last harvested from some beds, up to a day.
    fn quality(&self, place: &LogPlace, day: usize) -> Option<QualityFigures> {
        let days = self.trace.tally.harvests.iter().rev().map(|h| h.day).filter(|&when| when <= day);
        let castings = days.into_iter().find_map(|when| self.taken(place, when, when))?;
        let density = self.models.bulk_density.at(castings.moisture());
        Some(self.rates.figures(&castings, density, &self.models.acids, 20.0))
    }
}

fn of_castings(kind: LogKind, figures: &QualityFigures) -> f64 {
    match kind {
        LogKind::CastingsMoisture => figures.moisture,
        LogKind::CastingsCarbon => figures.carbon,
        LogKind::CastingsNitrogen => figures.nitrogen,
        LogKind::CastingsRatio => figures.carbon_to_nitrogen,
        LogKind::CastingsPhosphorus => figures.phosphorus,
        LogKind::CastingsPotassium => figures.potassium,
        LogKind::CastingsAsh => figures.ash,
        _ => figures.ph,
    }
}
