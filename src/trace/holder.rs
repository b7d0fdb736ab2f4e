//! Who holds matter.

use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;

/// Who holds matter. Beds and their worms have an account for each bed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Holder {
    /// The world beyond the gate.
    Outside,
    /// The air.
    Air,
    /// Starter and bran, brewing and stored.
    Bran,
    /// The drums, gas under their lids included.
    Drums,
    /// Opened scraps that wait for the grinder, what is in the grinder, and paste.
    Paste,
    /// The beds without their worms.
    Beds,
    /// The live worms.
    Stock,
    /// Castings drying and being screened.
    Screen,
    /// Castings curing, stored and blended.
    Castings,
}

/// Accounts before those of the beds.
pub(super) const FIXED: usize = 5;

impl Holder {
    /// Name in files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Outside => "outside",
            Self::Air => "air",
            Self::Bran => "bran",
            Self::Drums => "drums",
            Self::Paste => "paste",
            Self::Beds => "beds",
            Self::Stock => "stock",
            Self::Screen => "screen",
            Self::Castings => "castings",
        }
    }

    /// Whether each bed has an account of its own.
    pub(super) const fn is_by_bed(self) -> bool {
        matches!(self, Self::Beds | Self::Stock)
    }

    /// The account for a bed, counted from 0. Other holders have one account.
    pub const fn of_bed(self, bed: usize) -> Account {
        Account { holder: self, bed }
    }
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// An account of the ledger.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Account {
    /// Holder.
    pub holder: Holder,
    /// Bed from 0, where each bed has an account; of beds in one state the first has the account of each.
    pub bed: usize,
}

impl Account {
    /// Place in the ledger; `None` for outside and air, for nobody knows what they hold.
    pub(super) const fn place(self) -> Option<usize> {
        match self.holder {
            Holder::Outside | Holder::Air => None,
            Holder::Bran => Some(0),
            Holder::Drums => Some(1),
            Holder::Paste => Some(2),
            Holder::Screen => Some(3),
            Holder::Castings => Some(4),
            Holder::Beds => Some(FIXED + 2 * self.bed),
            Holder::Stock => Some(FIXED + 2 * self.bed + 1),
        }
    }
}

impl From<Holder> for Account {
    fn from(holder: Holder) -> Self {
        holder.of_bed(0)
    }
}

impl fmt::Display for Account {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.holder {
            Holder::Beds => write!(f, "bed {}", self.bed + 1),
            Holder::Stock => write!(f, "stock of bed {}", self.bed + 1),
            holder => holder.fmt(f),
        }
    }
}
