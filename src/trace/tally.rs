//! Sums over a run that no daily figure carries.

use crate::matter::{Gases, Material};

/// One stream over the run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StreamTally {
    /// Delivered, contamination taken out.
    pub delivered: Material,
    /// Of it, turned away. # Units: kg
    pub turned_away: f64,
    /// Sorted out as contamination. # Units: kg
    pub contamination: f64,
}

/// One bed over the run.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BedTally {
    /// Feed laid. # Units: kg
    pub fed: f64,
    /// Days on which its worms starved.
    pub starving_days: usize,
    /// Feeding days on which it took nothing, by [`crate::unit::bed::FeedLimit`] in the order of its variants.
    pub refused: [usize; 6],
    /// Days on which worms had no refuge from acid paste.
    pub no_refuge_days: usize,
    /// Days on which growth was held back by what the feed could give.
    pub tissue_short_days: usize,
}

/// Sums over a run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tally {
    /// By stream.
    pub streams: Vec<StreamTally>,
    /// By bed.
    pub beds: Vec<BedTally>,
    /// Drums sealed.
    pub sealed: f64,
    /// Drums opened.
    pub opened: f64,
    /// Age at opening, summed over drums. # Units: d
    pub opened_age: f64,
    /// pH at opening, summed over drums.
    pub opened_ph: f64,
    /// Drums that turned bad, by cause, in the order of [`SpoilReason::ALL`](crate::unit::drum_store::SpoilReason::ALL).
    pub spoiled: [f64; 6],
    /// Day of the run on which the first of each turned bad.
    pub spoiled_first: [Option<usize>; 6],
    /// Starter that failed its pH. # Units: L
    pub starter_failed: f64,
    /// Bran wanted beyond the weekly capacity. # Units: kg
    pub bran_beyond_capacity: f64,
    /// Bran to be started: day of the run and kilograms.
    pub bran_orders: Vec<(usize, f64)>,
    /// Grinder energy. # Units: kWh
    pub energy: f64,
    /// Days on which the grinder held feeding back.
    pub grinder_limited_days: usize,
    /// Days on which the bulking aims could not be reached.
    pub bulking_short_days: usize,
    /// Paste with bulking laid, and its bulk and full volumes. # Units: kg, m3, m3
    pub feed: (Material, f64, f64),
    /// Screening. # Units: h
    pub screen_hours: f64,
    /// Cocoons laid.
    pub cocoons_laid: f64,
    /// Cocoons lost in castings.
    pub cocoons_lost: f64,
    /// Worms lost in castings. # Units: kg live
    pub worms_lost: f64,
    /// Worms bought. # Units: kg live
    pub bought: f64,
    /// Worms sold. # Units: kg live
    pub sold: f64,
    /// Deaths by cause: background, low condition, heat, cold, acid, other. # Units: 1
    pub deaths: [f64; 6],
    /// Volume of castings sold alone. # Units: m3
    pub castings_volume: f64,
    /// Volume of blend sold. # Units: m3
    pub blend_volume: f64,
    /// Gases given off by drums, bran, beds, screen and cure together.
    pub gases: Gases,
}
