//! Methane from waste in a landfill, by first-order decay.

/// Methane per carbon, kg CH4/kg C, 16/12 as the guidelines print it. Source: ipcc_2006.
const METHANE_PER_CARBON: f64 = 16.0 / 12.0;

/// Climate class of a landfill, which sets its decay rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LandfillClimate {
    /// Boreal or temperate, dry.
    TemperateDry,
    /// Boreal or temperate, wet.
    TemperateWet,
    /// Tropical, dry.
    TropicalDry,
    /// Tropical, moist or wet.
    TropicalWet,
}

impl LandfillClimate {
    /// Key of its decay rate for food waste.
    pub const fn key(self) -> &'static str {
        match self {
            Self::TemperateDry => "site.landfill_decay_rate_temperate_dry",
            Self::TemperateWet => "site.landfill_decay_rate_temperate_wet",
            Self::TropicalDry => "site.landfill_decay_rate_tropical_dry",
            Self::TropicalWet => "site.landfill_decay_rate_tropical_wet",
        }
    }
}

/// Share of the landfill gas collected between two ages of the waste.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Collection {
    /// Age at which it begins, years.
    pub from: f64,
    /// Age at which it ends, years.
    pub until: f64,
    /// Share collected.
    pub share: f64,
}

/// First-order decay of waste placed once.
///
/// The carbon that can decompose, DDOCm = W DOC DOCf MCF, falls as d(DDOCm)/dt = -k DDOCm; of what decomposes, F 16/12 becomes
/// methane, and OX of what is not collected is oxidised in the cover. Year 1 is the year after placing.
///
/// # Source
/// ipcc_2006: Vol. 5, Annex 3A1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LandfillDecay {
    /// DOC, degradable carbon, kg C/kg wet waste.
    pub degradable_carbon: f64,
    /// DOCf, share of it that decomposes.
    pub decomposed_share: f64,
    /// MCF, methane correction of the site.
    pub correction: f64,
    /// F, methane in the gas by volume.
    pub methane_share: f64,
    /// OX, share oxidised in the cover.
    pub oxidation: f64,
    /// k, 1/year.
    pub rate: f64,
}

impl LandfillDecay {
    /// Reads the parameters of food waste by key.
    pub fn from_values(climate: LandfillClimate, get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            degradable_carbon: get("site.degradable_carbon_food"),
            decomposed_share: get("site.degradable_carbon_decomposed"),
            correction: get("site.methane_correction_factor"),
            methane_share: get("site.methane_share_of_gas"),
            oxidation: get("site.oxidation_factor"),
            rate: get(climate.key()),
        }
    }

    /// Carbon that will decompose, DDOCm0 = W DOC DOCf MCF.
    ///
    /// # Units
    /// Mass of carbon in the unit of the waste, kg or t.
    pub fn decomposable(&self, waste: f64) -> f64 {
        waste * self.degradable_carbon * self.decomposed_share * self.correction
    }

    /// Share decomposed by the end of a year, `1 - exp(-k y)`.
    pub fn share_decomposed(&self, years: f64) -> f64 {
        -(-self.rate * years.max(0.0)).exp_m1()
    }

    /// Carbon decomposed in a year, counted from 1, in the unit of the waste.
    pub fn decomposed_in(&self, waste: f64, year: u32) -> f64 {
        let end = f64::from(year);
        let share = self.share_decomposed(end) - self.share_decomposed((end - 1.0).max(0.0));
        self.decomposable(waste) * share
    }

    /// Methane formed in a year, counted from 1, in the unit of the waste.
    pub fn generated_in(&self, waste: f64, year: u32) -> f64 {
        self.decomposed_in(waste, year) * self.methane_share * METHANE_PER_CARBON
    }

    /// Methane emitted in a year: that formed, less the share collected, less the share of the rest oxidised.
    ///
    /// # Units
    /// That of the waste.
    pub fn emitted_in(&self, waste: f64, year: u32, collected: f64) -> f64 {
        self.generated_in(waste, year) * (1.0 - collected) * (1.0 - self.oxidation)
    }

    /// Methane formed from placing to the end of a year, in the unit of the waste.
    pub fn generated_by(&self, waste: f64, year: u32) -> f64 {
        self.generated_for_ever(waste) * self.share_decomposed(f64::from(year))
    }

    /// Methane formed in all time, L0 W, in the unit of the waste.
    pub fn generated_for_ever(&self, waste: f64) -> f64 {
        self.decomposable(waste) * self.methane_share * METHANE_PER_CARBON
    }

    /// Methane emitted in all time if none is collected, in the unit of the waste.
    pub fn emitted_for_ever(&self, waste: f64) -> f64 {
        self.generated_for_ever(waste) * (1.0 - self.oxidation)
    }

    /// Time in which half decomposes, ln 2/k, years.
    pub fn half_life(&self) -> f64 {
        std::f64::consts::LN_2 / self.rate
    }

    /// Share of all methane that is not collected; nothing is collected outside the spans.
    ///
    /// # Source
    /// The schedule is that of epa_600_r_23_064.
    pub fn uncollected_share(&self, schedule: &[Collection]) -> f64 {
        let collected: f64 = schedule
            .iter()
            .map(|c| c.share * (self.share_decomposed(c.until) - self.share_decomposed(c.from)))
            .sum();
        1.0 - collected
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A made-up deposit.
    fn food() -> LandfillDecay {
        LandfillDecay {
            degradable_carbon: 0.15,
            decomposed_share: 0.5,
            correction: 1.0,
            methane_share: 0.5,
            oxidation: 0.1,
            rate: 0.185,
        }
    }

    #[test]
    fn methane_of_the_years_sums_to_the_total() {
        let d = food();
        let years: f64 = (1..=300).map(|y| d.generated_in(100.0, y)).sum();
        assert!((years - d.generated_for_ever(100.0)).abs() < 1e-9);
        let ten: f64 = (1..=10).map(|y| d.generated_in(100.0, y)).sum();
        assert!((ten - d.generated_by(100.0, 10)).abs() < 1e-12);
    }

    #[test]
    fn decomposable_carbon_equals_a_sum_by_hand() {
        // 100 t, 15 % of it carbon that can decay, half of that does, four fifths of it without air
        let shallow = LandfillDecay { correction: 0.8, ..food() };
        assert!((shallow.decomposable(100.0) - 6.0).abs() < 1e-12);
    }

    #[test]
    fn full_collection_leaves_nothing_to_emit() {
        let d = food();
        assert!(d.emitted_in(1.0, 3, 1.0).abs() < 1e-15);
        let all = [Collection { from: 0.0, until: f64::INFINITY, share: 1.0 }];
        assert!(d.uncollected_share(&all).abs() < 1e-12);
    }
}
