//! Stability of a drum: its pH against the critical pH of its dry matter, and the chance that clostridia spoil it.

use crate::matter::{Element, Material, ratio};

/// Crude protein per nitrogen, kg/kg. Source: feedstocks table, default factor.
pub const CRUDE_PROTEIN_PER_NITROGEN: f64 = 6.25;

/// A straight line of critical pH over dry matter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CriticalLine {
    /// pH at zero dry matter.
    pub intercept: f64,
    /// pH per kg/kg of dry matter.
    pub slope: f64,
}

/// Constants of the stability test and of spoilage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StabilityRates {
    /// Critical pH of ordinary matter (grass and maize line).
    pub ordinary: CriticalLine,
    /// Critical pH of protein-rich matter (legume line).
    pub protein_rich: CriticalLine,
    /// Crude protein from which the protein-rich line applies, kg/kg dry matter.
    pub protein_rich_from: f64,
    /// Dry matter, kg/kg, below which the critical pH does not change.
    pub least_dry_share: f64,
    /// Margin of a stable batch, pH.
    pub stable_margin: f64,
    /// Offset of the spoilage curve, pH.
    pub offset: f64,
    /// Width of the spoilage curve, pH.
    pub width: f64,
    /// Age at which a batch is judged, d.
    pub check_age: f64,
    /// Conversion of lactic to butyric acid in a spoiling batch, 1/d at 25 °C.
    pub spoilage_rate: f64,
    /// Share of nitrogen that a spoiling batch turns into ammonia, kg/kg.
    pub spoiled_ammonia: f64,
}

/// Stability of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Margin at or above that of a stable batch.
    Stable,
    /// Below the critical pH by less than the stable margin.
    Watch,
    /// Above the critical pH.
    Unstable,
}

impl StabilityRates {
    /// Reads the constants by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        let line = |intercept, slope| CriticalLine { intercept: get(intercept), slope: 100.0 * get(slope) };
        Self {
            ordinary: line(
                "fermentation.critical_ph_intercept_grass_and_maize",
                "fermentation.critical_ph_slope_grass_and_maize",
            ),
            protein_rich: line(
                "fermentation.critical_ph_intercept_legume_and_protein_rich",
                "fermentation.critical_ph_slope_legume_and_protein_rich",
            ),
            protein_rich_from: get("fermentation.protein_rich_crude_protein"),
            least_dry_share: 0.01 * get("fermentation.too_wet_dry_matter"),
            stable_margin: get("fermentation.stable_margin"),
            offset: get("fermentation.spoilage_probability_offset"),
            width: get("fermentation.spoilage_probability_width"),
            check_age: get("fermentation.stability_check_age"),
            spoilage_rate: get("fermentation.spoilage_rate_at_25_celsius"),
            spoiled_ammonia: 0.01 * get("fermentation.ammonia_nitrogen_spoiled"),
        }
    }

    /// Highest pH at which clostridia are held back, by dry matter in kg/kg. Source: muck_2020.
    pub fn critical_ph(&self, dry_share: f64, protein_rich: bool) -> f64 {
        let line = if protein_rich { self.protein_rich } else { self.ordinary };
        line.intercept + line.slope * dry_share.max(self.least_dry_share)
    }

    /// Whether crude protein, 6.25 N over dry matter, is high enough for the protein-rich line.
    pub fn is_protein_rich(&self, matter: &Material) -> bool {
        let protein = CRUDE_PROTEIN_PER_NITROGEN * matter.element(Element::Nitrogen);
        ratio(protein, matter.dry()) > self.protein_rich_from
    }

    /// Margin in pH: critical pH of a material less its pH. It keeps if the margin is above 0.
    pub fn margin(&self, matter: &Material, ph: f64) -> f64 {
        self.critical_ph(1.0 - matter.moisture(), self.is_protein_rich(matter)) - ph
    }

    /// Chance of spoiling: P = 1/(1 + exp((margin + offset)/width)). Source: form and width assumed.
    pub fn spoilage_chance(&self, margin: f64) -> f64 {
        1.0 / (1.0 + ((margin + self.offset) / self.width).exp())
    }

    /// Stability by margin.
    pub fn standing(&self, margin: f64) -> Standing {
        if margin >= self.stable_margin {
            Standing::Stable
        } else if margin >= 0.0 {
            Standing::Watch
        } else {
            Standing::Unstable
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rates() -> StabilityRates {
        StabilityRates::from_values(&|key| {
            crate::literature::central(key).unwrap_or_else(|| panic!("no value for {key}"))
        })
    }

    #[test]
    fn stability_follows_from_the_margin_ends_included() {
        let rates = rates();
        for (margin, wanted) in [
            (rates.stable_margin, Standing::Stable),
            (rates.stable_margin - 1e-9, Standing::Watch),
            (0.0, Standing::Watch),
            (-1e-9, Standing::Unstable),
        ] {
            assert_eq!(rates.standing(margin), wanted, "{margin}");
        }
    }

    #[test]
    fn crude_protein_decides_the_line() {
        // 1 kg of dry matter with so much protein that 6.25 N is a hundredth off the limit
        use crate::matter::Component;
        let rates = rates();
        let nitrogen = Component::Protein.elements()[Element::Nitrogen.index()];
        for (beside, rich) in [(1.01, true), (0.99, false)] {
            let protein = beside * rates.protein_rich_from / (CRUDE_PROTEIN_PER_NITROGEN * nitrogen);
            let dry =
                Material::of(Component::Protein, protein) + Material::of(Component::Fibre, 1.0 - protein);
            let wet = dry + Material::of(Component::Water, 3.0);
            assert_eq!(rates.is_protein_rich(&wet), rich, "{beside}");
            let line = if rich { rates.protein_rich } else { rates.ordinary };
            let margin = line.intercept + line.slope * 0.25 - 4.0;
            assert!((rates.margin(&wet, 4.0) - margin).abs() < 1e-12);
        }
    }
}
