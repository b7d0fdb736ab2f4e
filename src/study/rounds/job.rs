//! The work of a day: one row for each thing that is carried, counted or begun.

use crate::chain::Round;

/// A job with its amount on a day.
pub(super) struct Job {
    /// Name in files.
    pub(super) name: &'static str,
    /// What to do.
    pub(super) what: &'static str,
    /// Unit of the amount: kg, L or 1.
    pub(super) unit: &'static str,
    /// The amount of a day.
    pub(super) of: fn(&Round) -> f64,
}

/// Every job, in the order of the chain.
pub(super) const JOBS: [Job; 13] = [
    Job {
        name: "scraps",
        what: "scraps taken in",
        unit: "kg",
        of: |r| (r.record.intake - r.record.turned_away).max(0.0),
    },
    Job { name: "turned_away", what: "scraps to turn away", unit: "kg", of: |r| r.record.turned_away },
    Job { name: "bran", what: "bran to spread", unit: "kg", of: |r| r.record.bran_used },
    Job { name: "starter_begun", what: "starter to begin", unit: "L", of: |r| r.starter_begun },
    Job { name: "bran_begun", what: "bran to begin", unit: "kg", of: |r| r.bran_begun },
    Job { name: "drums_sealed", what: "drums to seal", unit: "1", of: |r| r.sealed as f64 },
    Job { name: "drums_opened", what: "drums to open", unit: "1", of: |r| r.record.drums_opened },
    Job { name: "ground", what: "scraps to grind", unit: "kg", of: |r| r.record.ground },
    Job { name: "bulking", what: "bulking", unit: "kg", of: |r| r.record.bulking },
    Job { name: "grit", what: "grit", unit: "kg", of: |r| r.grit },
    Job { name: "feed", what: "feed to lay", unit: "kg", of: |r| r.record.fed },
    Job { name: "water", what: "water for beds", unit: "L", of: |r| r.record.irrigation },
    Job { name: "castings", what: "castings to harvest", unit: "kg", of: |r| r.record.harvested },
];
