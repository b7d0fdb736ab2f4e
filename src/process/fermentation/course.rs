//! Course of a fermentation in time: a cardinal temperature curve, a clock weighted by it, and a Gompertz curve on the clock.

use crate::matter::lane::{Lane, exp};
use serde::{Deserialize, Serialize};

/// Cardinal temperatures of lactic bacteria, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CardinalTemperatures {
    /// Growth stops below.
    pub minimum: f64,
    /// Fastest growth.
    pub optimum: f64,
    /// Growth stops above.
    pub maximum: f64,
}

impl CardinalTemperatures {
    /// Reads the three temperatures by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            minimum: get("fermentation.minimum_temperature"),
            optimum: get("fermentation.optimum_temperature"),
            maximum: get("fermentation.maximum_temperature"),
        }
    }

    /// Growth rate as a share of the rate at the optimum, by temperature in °C: the cardinal temperature model with inflection.
    ///
    /// g = (T-Tmax)(T-Tmin)^2 / {(Topt-Tmin)[(Topt-Tmin)(T-Topt) - (Topt-Tmax)(Topt+Tmin-2T)]}, 0 outside (Tmin, Tmax).
    ///
    /// # Source
    /// Rosso et al. 1995, Appl. Environ. Microbiol. 61:610 (formula from memory).
    pub fn factor(&self, temperature: f64) -> f64 {
        let (t, low, best, high) = (temperature, self.minimum, self.optimum, self.maximum);
        if t <= low || t >= high {
            return 0.0;
        }
        let above = (t - high) * (t - low).powi(2);
        let below = (best - low) * ((best - low) * (t - best) - (best - high) * (best + low - 2.0 * t));
        (above / below).clamp(0.0, 1.0)
    }

    /// Speed of the fermentation clock: factor at `temperature` over factor at 25 °C.
    ///
    /// # Units
    /// days of clock per day
    pub fn clock(&self, temperature: f64) -> f64 {
        let reference = self.factor(25.0);
        if reference > 0.0 { self.factor(temperature) / reference } else { 0.0 }
    }
}

/// Growth rate as a share of the rate at the best pH: the cardinal pH model.
///
/// g = (pH-min)(pH-max) / [(pH-min)(pH-max) - (pH-opt)^2], 0 outside (min, max).
///
/// # Source
/// Rosso et al. 1995, Appl. Environ. Microbiol. 61:610 (formula from memory).
pub fn acidity_factor(ph: f64, minimum: f64, optimum: f64, maximum: f64) -> f64 {
    if ph <= minimum || ph >= maximum {
        return 0.0;
    }
    let product = (ph - minimum) * (ph - maximum);
    product / (product - (ph - optimum).powi(2))
}

/// Courses of whole scraps and of ground slurry at 25 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CourseRates {
    /// Whole scraps, at the reference starter dose.
    pub scraps: Course,
    /// Ground slurry, at the reference starter dose.
    pub slurry: Course,
}

impl CourseRates {
    /// Reads rates and lags by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            scraps: Course {
                rate: get("fermentation.rate_at_25_celsius_whole_scraps"),
                lag: get("fermentation.lag_at_25_celsius_whole_scraps"),
            },
            slurry: Course {
                rate: get("fermentation.rate_at_25_celsius_ground_slurry"),
                lag: get("fermentation.lag_at_25_celsius_ground_slurry"),
            },
        }
    }
}

/// Course of one batch on the clock, or of one in each lane. `rate` includes the poorer access of microbes to whole scraps.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Course<L = f64> {
    /// Largest slope, 1/d at 25 °C.
    pub rate: L,
    /// Lag, d at 25 °C.
    pub lag: L,
}

impl<L: Lane> Course<L> {
    /// Share of the end point reached at a clock reading: the modified Gompertz curve exp(-exp(e r (lag - tau) + 1)).
    ///
    /// # Units
    /// days of clock to 1
    ///
    /// It starts a little above 0 if rate times lag is small; [`Course::made`] subtracts that.
    ///
    /// # Source
    /// Gompertz curve as modified by Zwietering et al. 1990 (memory), scaled to end at 1.
    #[inline(always)]
    pub fn progress(&self, clock: L) -> L {
        exp(-exp(self.rate * std::f64::consts::E * (self.lag - clock) + 1.0))
    }

    /// Share of the end point reached since sealing, `(p(tau) - p(0))/(1 - p(0))`, at tau days of clock: from 0 to 1.
    #[inline(always)]
    pub fn made(&self, clock: L) -> L {
        self.made_since(self.progress(L::ZERO), clock)
    }

    /// [`Course::made`] with the progress at clock 0, `start`, already computed.
    #[inline(always)]
    pub fn made_since(&self, start: L, clock: L) -> L {
        ((self.progress(clock) - start) / (L::ONE - start)).clamp(0.0, 1.0)
    }
}

/// Effects of the dose of starter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StarterEffect {
    /// Lactic bacteria on raw scraps, cfu/g.
    pub native: f64,
    /// Lactic bacteria brought by the reference dose, cfu/g of mix.
    pub at_reference: f64,
    /// Reference dose, for which rate, lag and split are stated, kg bran per kg wet scraps.
    pub reference_dose: f64,
    /// Power by which P2, P5 and P7+P8 fall with the number of bacteria.
    pub split_exponent: f64,
    /// Growth rate at the best temperature and pH, 1/h.
    pub growth_rate: f64,
    /// pH below which growth stops.
    pub minimum_ph: f64,
    /// Best pH.
    pub optimum_ph: f64,
    /// pH above which growth stops.
    pub maximum_ph: f64,
}

impl StarterEffect {
    /// Reads the parameters by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            native: get("fermentation.lactic_bacteria_on_raw_feed"),
            at_reference: get("fermentation.lactic_bacteria_with_starter"),
            reference_dose: get("fermentation.starter_reference_dose"),
            split_exponent: get("fermentation.starter_split_exponent"),
            growth_rate: get("fermentation.growth_rate_optimum_lactobacillus_plantarum"),
            minimum_ph: get("fermentation.minimum_ph"),
            optimum_ph: get("fermentation.optimum_ph_lactic_bacteria"),
            maximum_ph: get("fermentation.maximum_ph_lactic_bacteria"),
        }
    }

    /// Lactic bacteria at a dose, cfu/g.
    pub fn bacteria(&self, dose: f64) -> f64 {
        self.native + self.at_reference * (dose / self.reference_dose).max(0.0)
    }

    /// Bacteria at a dose (kg bran/kg wet scraps) over bacteria at the reference dose.
    pub fn relative(&self, dose: f64) -> f64 {
        self.bacteria(dose) / self.bacteria(self.reference_dose)
    }

    /// Growth rate at a temperature and pH, 1/d.
    pub fn growth(&self, cardinal: &CardinalTemperatures, temperature: f64, ph: f64) -> f64 {
        24.0 * self.growth_rate
            * cardinal.factor(temperature)
            * acidity_factor(ph, self.minimum_ph, self.optimum_ph, self.maximum_ph)
    }

    /// The course at a dose: the lag moves by -ln(N/N_reference)/mu, not below 0.
    ///
    /// If the pH allows no growth (mu = 0), the lag does not change.
    ///
    /// # Source
    /// `derived_here`: exponential growth from a larger number of bacteria.
    pub fn course(
        &self,
        at_reference: Course,
        cardinal: &CardinalTemperatures,
        ph: f64,
        dose: f64,
    ) -> Course {
        let mu = self.growth(cardinal, 25.0, ph);
        let shift = if mu > 0.0 { self.relative(dose).ln() / mu } else { 0.0 };
        Course { rate: at_reference.rate, lag: (at_reference.lag - shift).max(0.0) }
    }

    /// Factor on the shares of P2, P5 and P7+P8 at a dose: relative bacteria to the power of minus the exponent.
    ///
    /// # Units
    /// kg bran/kg wet scraps to 1
    pub fn split_factor(&self, dose: f64) -> f64 {
        self.relative(dose).powf(-self.split_exponent)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_grows_outside_the_cardinal_temperatures() {
        let cardinal = CardinalTemperatures { minimum: 3.0, optimum: 35.0, maximum: 45.0 };
        for t in [-20.0, 2.9, 3.0, 45.0, 45.1, 80.0] {
            assert!(cardinal.factor(t).abs() < 1e-15, "{t} {}", cardinal.factor(t));
        }
        assert!((cardinal.factor(35.0) - 1.0).abs() < 1e-12);
        for ph in [0.0, 2.9, 3.0, 9.0, 9.1, 14.0] {
            assert!(acidity_factor(ph, 3.0, 6.5, 9.0) == 0.0, "pH {ph}");
        }
        // by hand: (7 - 3)(7 - 9) = -8; -8 / (-8 - 0.25)
        assert!((acidity_factor(7.0, 3.0, 6.5, 9.0) - 8.0 / 8.25).abs() < 1e-12);
    }

    #[test]
    fn fewer_bacteria_mean_more_side_pathways() {
        // 10^5 on raw scraps and 3 x 10^6 with starter: without bran there are 1/31 of the bacteria, so sqrt(31) of the side pathways
        let starter = StarterEffect {
            native: 1e5,
            at_reference: 3e6,
            reference_dose: 0.02,
            split_exponent: 0.5,
            growth_rate: 0.5,
            minimum_ph: 3.0,
            optimum_ph: 6.5,
            maximum_ph: 9.0,
        };
        assert!((starter.split_factor(0.0) - 31.0_f64.sqrt()).abs() < 1e-12);
        assert!((starter.split_factor(0.02) - 1.0).abs() < 1e-12);
        assert!((starter.split_factor(0.04) - (31.0_f64 / 61.0).sqrt()).abs() < 1e-12);
    }
}
