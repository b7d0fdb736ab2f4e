//! Sums over a run that no daily figure carries.

use super::EqualBeds;
use crate::matter::{Gases, Material};
use crate::process::worm::Deaths;
use std::array;

/// One stream over the run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StreamTally {
    /// Delivered, contamination taken out.
    pub delivered: Material,
    /// Part of it turned away, kg.
    pub turned_away: f64,
    /// Sorted out as contamination, kg.
    pub contamination: f64,
}

/// One bed over the run.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BedTally {
    /// Feed laid, kg.
    pub fed: f64,
    /// Days on which its worms starved.
    pub starving_days: usize,
    /// Feeding days on which it took nothing, by [`crate::unit::bed::FeedLimit`] in the order of its variants.
    pub refused: [usize; 6],
    /// Days on which worms had no refuge from acid paste.
    pub no_refuge_days: usize,
    /// Days on which lack of protein or other tissue material limited growth.
    pub tissue_short_days: usize,
}

/// Feed laid over the run.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FeedTally {
    /// Paste with bulking.
    pub matter: Material,
    /// Bulk volume, m3.
    pub volume: f64,
    /// Volume of solids and water, m3.
    pub full_volume: f64,
}

/// Bran to be started.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BranOrder {
    /// Day of the run.
    pub day: usize,
    /// Bran, kg.
    pub mass: f64,
}

/// Castings taken on a day from each of some beds in one state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HarvestTally {
    /// Day of the run.
    pub day: usize,
    /// The beds.
    pub beds: EqualBeds,
    /// What each of them gave, kg.
    pub castings: Material,
}

/// Sums over a run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tally {
    /// By stream.
    pub streams: Vec<StreamTally>,
    /// By bed.
    pub beds: Vec<BedTally>,
    /// Drums sealed.
    pub sealed: usize,
    /// Drums opened.
    pub opened: usize,
    /// Age at opening summed over drums, d.
    pub opened_age: f64,
    /// pH at opening summed over drums.
    pub opened_ph: f64,
    /// Dry matter that was sealed in the drums opened, kg.
    pub opened_sealed_dry: f64,
    /// Gas that fermentation made in them, kg; oxygen of leaked air is negative.
    pub opened_made: Gases,
    /// Drums that turned bad, by cause, in the order of [`SpoilReason::ALL`](crate::unit::drum_store::SpoilReason::ALL).
    pub spoiled: [usize; 6],
    /// Day of the run on which the first of each turned bad.
    pub spoiled_first: [Option<usize>; 6],
    /// Starter that failed its pH test, L.
    pub starter_failed: f64,
    /// Bran needed beyond the weekly capacity, kg.
    pub bran_beyond_capacity: f64,
    /// Bran to be started, in the order of days.
    pub bran_orders: Vec<BranOrder>,
    /// Electricity of the grinder, kWh.
    pub energy: f64,
    /// Days on which the grinder limited feeding.
    pub grinder_limited_days: usize,
    /// Days on which the bulking targets were out of reach.
    pub bulking_short_days: usize,
    /// Feed laid.
    pub feed: FeedTally,
    /// Harvests in the order of days and beds.
    pub harvests: Vec<HarvestTally>,
    /// Running time of the screen, h.
    pub screen_hours: f64,
    /// Cocoons laid.
    pub cocoons_laid: f64,
    /// Cocoons lost in castings.
    pub cocoons_lost: f64,
    /// Worms lost in castings, kg live.
    pub worms_lost: f64,
    /// Worms bought, kg live.
    pub bought: f64,
    /// Worms sold, kg live.
    pub sold: f64,
    /// Number of deaths by cause, in the order of [`Deaths::CAUSES`].
    pub deaths: [f64; Deaths::CAUSES.len()],
    /// Volume of castings sold alone, m3.
    pub castings_volume: f64,
    /// Volume of blend sold, m3.
    pub blend_volume: f64,
}

impl StreamTally {
    fn since(&self, earlier: &Self) -> Self {
        Self {
            delivered: self.delivered - earlier.delivered,
            turned_away: self.turned_away - earlier.turned_away,
            contamination: self.contamination - earlier.contamination,
        }
    }
}

impl BedTally {
    fn since(&self, earlier: &Self) -> Self {
        Self {
            fed: self.fed - earlier.fed,
            starving_days: self.starving_days - earlier.starving_days,
            refused: array::from_fn(|limit| self.refused[limit] - earlier.refused[limit]),
            no_refuge_days: self.no_refuge_days - earlier.no_refuge_days,
            tissue_short_days: self.tissue_short_days - earlier.tissue_short_days,
        }
    }
}

impl FeedTally {
    fn since(&self, earlier: &Self) -> Self {
        Self {
            matter: self.matter - earlier.matter,
            volume: self.volume - earlier.volume,
            full_volume: self.full_volume - earlier.full_volume,
        }
    }
}

impl Tally {
    /// Sums since an earlier state of the same tally. The first drum of a cause to turn bad is that of the whole run.
    #[must_use]
    pub fn since(&self, earlier: &Self) -> Self {
        Self {
            streams: self.streams.iter().zip(&earlier.streams).map(|(now, then)| now.since(then)).collect(),
            beds: self.beds.iter().zip(&earlier.beds).map(|(now, then)| now.since(then)).collect(),
            sealed: self.sealed - earlier.sealed,
            opened: self.opened - earlier.opened,
            opened_age: self.opened_age - earlier.opened_age,
            opened_ph: self.opened_ph - earlier.opened_ph,
            opened_sealed_dry: self.opened_sealed_dry - earlier.opened_sealed_dry,
            opened_made: self.opened_made - earlier.opened_made,
            spoiled: array::from_fn(|cause| self.spoiled[cause] - earlier.spoiled[cause]),
            spoiled_first: self.spoiled_first,
            starter_failed: self.starter_failed - earlier.starter_failed,
            bran_beyond_capacity: self.bran_beyond_capacity - earlier.bran_beyond_capacity,
            bran_orders: self.bran_orders[earlier.bran_orders.len()..].to_vec(),
            energy: self.energy - earlier.energy,
            grinder_limited_days: self.grinder_limited_days - earlier.grinder_limited_days,
            bulking_short_days: self.bulking_short_days - earlier.bulking_short_days,
            feed: self.feed.since(&earlier.feed),
            harvests: self.harvests[earlier.harvests.len()..].to_vec(),
            screen_hours: self.screen_hours - earlier.screen_hours,
            cocoons_laid: self.cocoons_laid - earlier.cocoons_laid,
            cocoons_lost: self.cocoons_lost - earlier.cocoons_lost,
            worms_lost: self.worms_lost - earlier.worms_lost,
            bought: self.bought - earlier.bought,
            sold: self.sold - earlier.sold,
            deaths: array::from_fn(|cause| self.deaths[cause] - earlier.deaths[cause]),
            castings_volume: self.castings_volume - earlier.castings_volume,
            blend_volume: self.blend_volume - earlier.blend_volume,
        }
    }
}
