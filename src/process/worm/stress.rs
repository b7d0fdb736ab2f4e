//! Response of worms to salt, ammonia, lack of air and crowding: factors of 0 to 1 on feeding and laying, and deaths.
//!
//! A worm that lacks or suffers several things at once is held back by the worst of them alone (the law of the minimum), so factors
//! of poisons, air, water and pH combine by the smallest.

use crate::matter::lane::Lane;

/// Deaths by a poison rise to this rate at its lethal level, 1/d: half of the worms die in 28 days.
///
/// # Source
/// ln 2 / 28 d; the lethal levels are those that kill half in a test of 28 days.
pub const LETHAL_DEATH: f64 = std::f64::consts::LN_2 / 28.0;

/// Response to salt in pore water, kg NaCl/m3.
///
/// # Source
/// `bed` table; owojori_2008 and others for the levels, shapes assumed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltResponse {
    /// Level up to which worms feed in full.
    pub feeding_full: f64,
    /// Level at which they stop feeding.
    pub feeding_zero: f64,
    /// Level that halves laying.
    pub laying_half: f64,
    /// Level that kills half of the worms in 28 days.
    pub lethal: f64,
    /// Largest death rate, 1/d.
    pub largest_death: f64,
}

impl SaltResponse {
    /// Reads the levels by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        let full = get("bed.salt_response_full_limit");
        Self {
            feeding_full: full,
            // a draw may not put the end before the start
            feeding_zero: get("bed.salt_response_zero").max(full + f64::EPSILON),
            laying_half: get("bed.salt_laying_half_effect"),
            lethal: get("bed.salt_lethal_level"),
            largest_death: get("bed.toxic_death_rate"),
        }
    }

    /// Factor on feeding and growth: 1 up to `feeding_full`, 0 from `feeding_zero`, straight between.
    #[inline(always)]
    pub fn feeding<L: Lane>(&self, salt: L) -> L {
        falling(salt, self.feeding_full, self.feeding_zero)
    }

    /// Factor on laying, `1/(1 + (c/c_half)^3)`.
    #[inline(always)]
    pub fn laying<L: Lane>(&self, salt: L) -> L {
        let x = salt * (1.0 / self.laying_half);
        L::ONE / (x * x * x + 1.0)
    }

    /// Deaths, 1/d: `0.025 (c/c_lethal)^6`, at most the largest rate.
    #[inline(always)]
    pub fn deaths<L: Lane>(&self, salt: L) -> L {
        let x = salt * (1.0 / self.lethal);
        let square = x * x;
        (square * square * square * LETHAL_DEATH).min(L::from(self.largest_death))
    }
}

/// Response to ammonia in pore water, in toxic units: `u = TAN/A + NH3/B`, all nitrogen in kg N/m3. One unit kills half of the worms in
/// 28 days.
///
/// TAN is all dissolved ammoniacal nitrogen, NH3 the free part of it.
///
/// # Source
/// `bed` table; A derived from zeguerrou_adjroudi and others, B and the shapes assumed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AmmoniaResponse {
    /// Dissolved ammoniacal nitrogen of one unit, A.
    pub total_unit: f64,
    /// Free ammonia nitrogen of one unit, B.
    pub free_unit: f64,
    /// Largest death rate, 1/d.
    pub largest_death: f64,
}

impl AmmoniaResponse {
    /// Units up to which worms feed in full: no effect on growth was seen at 0.6 of the lethal level. Source: zeguerrou_2019.
    pub const FEEDING_FULL: f64 = 0.6;
    /// Units at which worms stop feeding, as far above the lethal level. Source: assumed.
    pub const FEEDING_ZERO: f64 = 1.4;
    /// Units that halve laying: juveniles were halved at the lethal level. Source: zeguerrou_2019.
    const LAYING_HALF: f64 = 1.0;

    /// Reads the units by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            total_unit: get("bed.ammonia_toxic_unit_total"),
            free_unit: get("bed.ammonia_toxic_unit_free"),
            largest_death: get("bed.toxic_death_rate"),
        }
    }

    /// Toxic units of dissolved ammoniacal nitrogen and the free part of it, both kg N/m3.
    #[inline(always)]
    pub fn units<L: Lane>(&self, total: L, free: L) -> L {
        total * (1.0 / self.total_unit) + free * (1.0 / self.free_unit)
    }

    /// Factor on feeding and growth: 1 up to 0.6 units, 0 from 1.4, straight between.
    #[inline(always)]
    pub fn feeding<L: Lane>(&self, units: L) -> L {
        falling(units, Self::FEEDING_FULL, Self::FEEDING_ZERO)
    }

    /// Factor on laying, `1/(1 + u^3)`.
    #[inline(always)]
    pub fn laying<L: Lane>(&self, units: L) -> L {
        let x = units * (1.0 / Self::LAYING_HALF);
        L::ONE / (x * x * x + 1.0)
    }

    /// Deaths, 1/d: `0.025 u^4`, at most the largest rate.
    #[inline(always)]
    pub fn deaths<L: Lane>(&self, units: L) -> L {
        let square = units * units;
        (square * square * LETHAL_DEATH).min(L::from(self.largest_death))
    }
}

/// A straight fall from 1 at `full` to 0 at `none`, flat outside.
#[inline(always)]
pub fn falling<L: Lane>(x: L, full: f64, none: f64) -> L {
    ((L::from(none) - x) * (1.0 / (none - full))).clamp(0.0, 1.0)
}

/// How worms that work a layer speed its decay and nitrification.
///
/// # Source
/// `bed.worm_decay_multiplier`, `bed.worm_activity_half`, `bed.worm_nitrification_rise` (assumed).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WormActivity {
    /// Largest multiplier of decay.
    pub most: f64,
    /// Share of the layer's dry matter eaten in a day at which half of the rise is reached, 1/d.
    pub half: f64,
    /// Largest rise of nitrification, as a share.
    pub nitrification_rise: f64,
}

impl WormActivity {
    /// Reads the numbers by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            most: get("bed.worm_decay_multiplier"),
            half: get("bed.worm_activity_half"),
            nitrification_rise: get("bed.worm_nitrification_rise"),
        }
    }

    /// Part of the full rise that worms reach which eat the share `turnover` of a layer's dry matter in a day, `t/(t + t_half)`.
    #[inline(always)]
    pub fn reached<L: Lane>(&self, turnover: L) -> L {
        turnover / (turnover + self.half)
    }

    /// Multiplier of decay, `1 + (most - 1) reached`.
    #[inline(always)]
    pub fn decay<L: Lane>(&self, reached: L) -> L {
        reached * (self.most - 1.0) + 1.0
    }

    /// Multiplier of nitrification, `1 + rise reached`.
    #[inline(always)]
    pub fn nitrification<L: Lane>(&self, reached: L) -> L {
        reached * self.nitrification_rise + 1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::literature;

    fn central(key: &str) -> f64 {
        literature::central(key).unwrap_or_else(|| panic!("no value for {key}"))
    }

    #[test]
    fn half_of_the_worms_die_in_28_days_at_a_lethal_level() {
        let salt = SaltResponse::from_values(&central);
        assert!(((-28.0 * salt.deaths(salt.lethal)).exp() - 0.5).abs() < 1e-12);
        let ammonia = AmmoniaResponse::from_values(&central);
        assert!(((-28.0 * ammonia.deaths(1.0)).exp() - 0.5).abs() < 1e-12);
        assert!((salt.deaths(1000.0) - salt.largest_death).abs() < 1e-15);
        assert!((ammonia.deaths(1000.0) - ammonia.largest_death).abs() < 1e-15);
    }

    #[test]
    fn responses_to_salt_pass_through_their_levels() {
        // by hand at full 4, zero 15, half 5.6, lethal 14
        let salt = SaltResponse {
            feeding_full: 4.0,
            feeding_zero: 15.0,
            laying_half: 5.6,
            lethal: 14.0,
            largest_death: 0.35,
        };
        for (level, feeding, laying) in [
            (0.0, 1.0, 1.0),
            (4.0, 1.0, 0.7329),
            (5.6, 0.854_5, 0.5),
            (9.5, 0.5, 0.170_0),
            (15.0, 0.0, 0.0494),
            (30.0, 0.0, 0.0065),
        ] {
            assert!((salt.feeding(level) - feeding).abs() < 1e-4, "{level} {}", salt.feeding(level));
            assert!((salt.laying(level) - laying).abs() < 1e-4, "{level} {}", salt.laying(level));
        }
        // 0.02476 (8/14)^6 and (20/14)^6
        assert!((salt.deaths(8.0) - 0.000_862).abs() < 1e-6 && (salt.deaths(20.0) - 0.2104).abs() < 1e-4);
    }

    #[test]
    fn responses_to_ammonia_pass_through_their_levels() {
        // by hand: 0.25 g/L of all and 0.01 g/L of free ammonia are 0.5 + 0.25 units
        let ammonia = AmmoniaResponse { total_unit: 0.5, free_unit: 0.04, largest_death: 0.35 };
        let units = ammonia.units(0.25, 0.01);
        assert!((units - 0.75).abs() < 1e-15);
        assert!((ammonia.feeding(units) - 0.65 / 0.8).abs() < 1e-12);
        assert!((ammonia.laying(1.0) - 0.5).abs() < 1e-12);
        assert!((ammonia.deaths(0.5) - LETHAL_DEATH / 16.0).abs() < 1e-15);
        assert!((ammonia.feeding(0.2) - 1.0).abs() < 1e-15 && ammonia.feeding(1.5).abs() < 1e-15);
    }

    #[test]
    fn worms_that_eat_nothing_change_nothing_and_busy_worms_reach_the_full_rise() {
        let activity = WormActivity { most: 1.6, half: 0.02, nitrification_rise: 2.0 };
        for (turnover, decay, nitrification) in [(0.0, 1.0, 1.0), (0.02, 1.3, 2.0), (0.08, 1.48, 2.6)] {
            let reached = activity.reached(turnover);
            assert!((activity.decay(reached) - decay).abs() < 1e-12, "{turnover}");
            assert!((activity.nitrification(reached) - nitrification).abs() < 1e-12, "{turnover}");
        }
    }
}
