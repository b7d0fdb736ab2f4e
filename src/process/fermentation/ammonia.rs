//! Nitrogen that a batch turns into ammonia: more in a wet batch.
//!
//! ```text
//! share = a + b max(0.30 - max(x, 0.20), 0)         x dry matter, kg/kg wet
//! ```
//!
//! Grass silages printed by dry matter have 9.4 % of their nitrogen as ammonia above 26 % dry matter, 12.5 % at 22 to 26 % and 15.1 %
//! at 18 to 22 %. Of these 83, 67 and 48 % fermented well; with a fifth of the nitrogen in the others, good batches have 7.2, 8.8 and
//! 9.8 %. Below 18 % nothing is printed, and the share stays.

/// Dry matter from which the share no longer falls, and below which it no longer rises, kg/kg wet. Source: haigh_1987 (its classes).
const CLASSES: (f64, f64) = (0.30, 0.20);

/// Constants of the ammonia of a good batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AmmoniaRates {
    /// Share of nitrogen in a batch of 30 % dry matter or more, kg/kg.
    pub dry: f64,
    /// Rise of the share per kg/kg of dry matter below that.
    pub rise: f64,
}

impl AmmoniaRates {
    /// Reads the constants by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            dry: 0.01 * get("fermentation.ammonia_nitrogen_good_batch"),
            rise: get("fermentation.ammonia_nitrogen_rise_when_wet"),
        }
    }

    /// Share of nitrogen that a good batch turns into ammonia, by its dry matter in kg/kg wet.
    ///
    /// # Source
    /// haigh_1987 for the rise.
    pub fn good_share(&self, dry_share: f64) -> f64 {
        let (dry, wet) = CLASSES;
        self.dry + self.rise * (dry - dry_share.max(wet)).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wet_batches_make_more_ammonia_down_to_the_wettest_class_printed() {
        let rates = AmmoniaRates { dry: 0.07, rise: 0.7 };
        for (dry_share, share) in [(0.6, 0.07), (0.30, 0.07), (0.25, 0.105), (0.20, 0.14), (0.08, 0.14)] {
            assert!((rates.good_share(dry_share) - share).abs() < 1e-12, "{dry_share}");
        }
    }
}
