//! Limits for a product, and the verdict on each.
//!
//! A limit names the literature key of its figure. Limits that need a laboratory test (metals, pathogens, phytotoxicity) are
//! listed with the verdict *not tested*.

use crate::process::quality::QualityFigures;
use schemars::JsonSchema;
use serde::Serialize;

/// The property that a limit concerns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum QualityMeasure {
    /// Water, kg/kg wet.
    Moisture,
    /// Dry matter, kg/kg wet.
    DryMatter,
    /// Organic carbon, kg/kg dry matter.
    Carbon,
    /// Organic carbon by mass of product, kg/kg wet.
    CarbonOfProduct,
    /// Nitrogen, kg/kg dry matter.
    Nitrogen,
    /// P2O5, kg/kg dry matter.
    Phosphate,
    /// K2O, kg/kg dry matter.
    Potash,
    /// N + P2O5 + K2O, kg/kg dry matter.
    NutrientSum,
    /// C:N, kg/kg.
    CarbonToNitrogen,
    /// Conductivity of a 1:5 extract, dS/m.
    Conductivity,
    /// Conductivity of a saturated-media extract, dS/m.
    SaturatedConductivity,
    /// pH.
    Ph,
    /// Wet bulk density, kg/m3.
    BulkDensity,
    /// Share below 4 mm, kg/kg.
    Below4Mm,
    /// A metal, mg/kg dry matter.
    Metal,
    /// A pathogen, in the unit of the rule.
    Pathogen,
}

impl QualityMeasure {
    /// Value of a product; None if it needs a laboratory test.
    pub fn of(self, f: &QualityFigures) -> Option<f64> {
        Some(match self {
            Self::Moisture => f.moisture,
            Self::DryMatter => 1.0 - f.moisture,
            Self::Carbon => f.carbon,
            Self::CarbonOfProduct => f.carbon * (1.0 - f.moisture),
            Self::Nitrogen => f.nitrogen,
            Self::Phosphate => f.phosphate,
            Self::Potash => f.potash,
            Self::NutrientSum => f.nutrient_sum,
            Self::CarbonToNitrogen => f.carbon_to_nitrogen,
            Self::Conductivity => f.conductivity_1_to_5,
            Self::SaturatedConductivity => f.conductivity_saturated,
            Self::Ph => f.ph,
            Self::BulkDensity => f.bulk_density,
            Self::Below4Mm => return f.below_4_mm,
            Self::Metal | Self::Pathogen => return None,
        })
    }
}

/// A standard for products.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standard {
    /// India, Fertiliser Control Order, vermicompost.
    FertiliserControlOrder,
    /// Requirements of buyers of live castings.
    LiveCastings,
    /// Greenhouse mix, saturated-media extract.
    GreenhouseMix,
    /// EU 2019/1009, PFC 3(A) organic soil improver.
    EuSoilImprover,
    /// US Class A pathogen limits, copied into many compost rules.
    UsClassA,
    /// Range of published castings, outside which this program warns.
    PublishedRange,
}

impl Standard {
    /// Word of the rule under which it applies, as a scenario names it. None if it always does.
    pub const fn rule(self) -> Option<&'static str> {
        match self {
            Self::FertiliserControlOrder => Some("india"),
            Self::LiveCastings | Self::GreenhouseMix => Some("trade"),
            Self::EuSoilImprover => Some("european_union"),
            Self::UsClassA => Some("united_states"),
            Self::PublishedRange => None,
        }
    }

    /// Name in reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::FertiliserControlOrder => "Fertiliser Control Order (India), vermicompost",
            Self::LiveCastings => "live castings, trade practice",
            Self::GreenhouseMix => "greenhouse mix, saturated-media extract",
            Self::EuSoilImprover => "EU 2019/1009 PFC 3(A), organic soil improver",
            Self::UsClassA => "US Class A germ limits",
            Self::PublishedRange => "range of published castings",
        }
    }
}

/// One limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QualityLimit {
    /// The standard that sets it.
    pub standard: Standard,
    /// Name in reports.
    pub name: &'static str,
    /// The property.
    pub quantity: QualityMeasure,
    /// Smallest value allowed; None if unlimited.
    pub minimum: Option<f64>,
    /// Largest value allowed; None if unlimited.
    pub maximum: Option<f64>,
    /// Unit of both.
    pub unit: &'static str,
    /// Literature key of the figure (of the minimum where there are two).
    pub key: &'static str,
    /// Evidence mark of that key.
    pub evidence: &'static str,
}

/// Verdict on one limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, JsonSchema)]
pub enum Judgement {
    /// Inside.
    #[serde(rename = "pass")]
    Pass,
    /// Outside.
    #[serde(rename = "fail")]
    Fail,
    /// Not computed: needs a laboratory test.
    #[serde(rename = "not tested")]
    NotTested,
}

impl Judgement {
    /// Name in files and tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Fail => "fail",
            Self::NotTested => "not tested",
        }
    }
}

/// A limit compared with a product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitVerdict {
    /// The limit.
    pub limit: QualityLimit,
    /// Value of the product; None if not tested.
    pub value: Option<f64>,
    /// Verdict.
    pub judgement: Judgement,
}

impl QualityLimit {
    /// Compares a product with the limit.
    pub fn judge(&self, figures: &QualityFigures) -> LimitVerdict {
        let value = self.quantity.of(figures);
        let inside = |v: f64| self.minimum.is_none_or(|m| v >= m) && self.maximum.is_none_or(|m| v <= m);
        let judgement = match value {
            None => Judgement::NotTested,
            Some(v) if inside(v) => Judgement::Pass,
            Some(_) => Judgement::Fail,
        };
        LimitVerdict { limit: *self, value, judgement }
    }
}

/// The bounds that a row of the table gives.
#[derive(Clone, Copy)]
enum Bound {
    Least(&'static str),
    Most(&'static str),
    Between(&'static str, &'static str),
}

type Row = (Standard, &'static str, QualityMeasure, Bound, &'static str, &'static str);

const DRY: &str = "kg/kg dry matter";
const WET: &str = "kg/kg wet";
const METAL: &str = "mg/kg dry matter";

/// Every limit, with the literature keys its figures are read from.
const ROWS: [Row; 25] = {
    use Bound::{Between, Least, Most};
    use QualityMeasure as Q;
    use Standard as S;
    const FCO: Standard = S::FertiliserControlOrder;
    [
        (
            FCO,
            "moisture",
            Q::Moisture,
            Between("site.standard_moisture_minimum", "site.standard_moisture_maximum"),
            WET,
            "second-hand",
        ),
        (FCO, "below 4 mm", Q::Below4Mm, Least("bed.standard_share_below_4_mm"), "kg/kg", "second-hand"),
        (
            FCO,
            "bulk density",
            Q::BulkDensity,
            Between("site.standard_bulk_density_minimum", "site.standard_bulk_density_maximum"),
            "kg/m3",
            "second-hand",
        ),
        (FCO, "organic carbon", Q::Carbon, Least("bed.standard_organic_carbon_minimum"), DRY, "second-hand"),
        (FCO, "nitrogen", Q::Nitrogen, Least("bed.standard_nitrogen_minimum"), DRY, "second-hand"),
        (FCO, "phosphate P2O5", Q::Phosphate, Least("bed.standard_phosphate_minimum"), DRY, "second-hand"),
        (FCO, "potash K2O", Q::Potash, Least("bed.standard_potash_minimum"), DRY, "second-hand"),
        (
            FCO,
            "N + P2O5 + K2O",
            Q::NutrientSum,
            Least("bed.standard_nutrient_sum_minimum"),
            DRY,
            "second-hand",
        ),
        (
            FCO,
            "C:N",
            Q::CarbonToNitrogen,
            Most("site.standard_carbon_to_nitrogen_maximum"),
            "kg/kg",
            "memory",
        ),
        (FCO, "conductivity", Q::Conductivity, Most("site.standard_conductivity_maximum"), "dS/m", "memory"),
        (FCO, "pH", Q::Ph, Between("site.standard_ph_minimum", "site.standard_ph_maximum"), "pH", "memory"),
        (FCO, "cadmium", Q::Metal, Most("bed.standard_cadmium_maximum"), METAL, "second-hand"),
        (FCO, "chromium", Q::Metal, Most("bed.standard_chromium_maximum"), METAL, "second-hand"),
        (FCO, "nickel", Q::Metal, Most("bed.standard_nickel_maximum"), METAL, "second-hand"),
        (FCO, "lead", Q::Metal, Most("bed.standard_lead_maximum"), METAL, "second-hand"),
        (
            S::LiveCastings,
            "moisture",
            Q::Moisture,
            Between("site.live_castings_moisture_minimum", "site.live_castings_moisture_maximum"),
            WET,
            "assumed",
        ),
        (
            S::GreenhouseMix,
            "conductivity, acceptable to optimum",
            Q::SaturatedConductivity,
            Between("site.greenhouse_conductivity_very_low", "site.greenhouse_conductivity_optimum"),
            "dS/m",
            "memory",
        ),
        (
            S::GreenhouseMix,
            "conductivity, very high above",
            Q::SaturatedConductivity,
            Most("site.greenhouse_conductivity_high"),
            "dS/m",
            "memory",
        ),
        (
            S::GreenhouseMix,
            "conductivity, seedlings",
            Q::SaturatedConductivity,
            Most("site.greenhouse_conductivity_low"),
            "dS/m",
            "memory",
        ),
        (
            S::EuSoilImprover,
            "organic carbon",
            Q::CarbonOfProduct,
            Least("site.eu_soil_improver_carbon_minimum"),
            WET,
            "memory",
        ),
        (
            S::EuSoilImprover,
            "dry matter",
            Q::DryMatter,
            Least("site.eu_soil_improver_dry_matter_minimum"),
            WET,
            "memory",
        ),
        (
            S::EuSoilImprover,
            "cadmium",
            Q::Metal,
            Most("site.eu_soil_improver_cadmium_maximum"),
            METAL,
            "memory",
        ),
        (
            S::EuSoilImprover,
            "Escherichia coli",
            Q::Pathogen,
            Most("site.eu_soil_improver_coliform_maximum"),
            "CFU/g",
            "memory",
        ),
        (
            S::UsClassA,
            "faecal coliforms",
            Q::Pathogen,
            Most("site.class_a_faecal_coliform_maximum"),
            "MPN/g",
            "read",
        ),
        (S::PublishedRange, "nitrogen", Q::Nitrogen, Most("bed.castings_nitrogen_warning"), DRY, "assumed"),
    ]
};

/// Every limit, with its figures read by key.
pub fn limits(get: &dyn Fn(&str) -> f64) -> Vec<QualityLimit> {
    ROWS.iter()
        .map(|&(standard, name, quantity, bound, unit, evidence)| {
            let (minimum, maximum, key) = match bound {
                Bound::Least(k) => (Some(get(k)), None, k),
                Bound::Most(k) => (None, Some(get(k)), k),
                Bound::Between(k, most) => (Some(get(k)), Some(get(most)), k),
            };
            QualityLimit { standard, name, quantity, minimum, maximum, unit, key, evidence }
        })
        .collect()
}

/// Class of a greenhouse mix by the conductivity of its saturated-media extract.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SaltClass {
    /// Feeding needed.
    VeryLow,
    /// Low but acceptable.
    Low,
    /// Optimum.
    Optimum,
    /// High; salt-sensitive plants suffer.
    High,
    /// Very high.
    VeryHigh,
}

/// Upper bounds of the classes below [`SaltClass::VeryHigh`].
///
/// # Units
/// dS/m
///
/// # Source
/// warncke_krauskopf (Michigan State Univ. Ext. E-1736; memory).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltClasses(pub [f64; 4]);

impl SaltClasses {
    /// Reads the bounds by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self([
            get("site.greenhouse_conductivity_very_low"),
            get("site.greenhouse_conductivity_low"),
            get("site.greenhouse_conductivity_optimum"),
            get("site.greenhouse_conductivity_high"),
        ])
    }

    /// Class of a conductivity, dS/m.
    pub fn class(&self, conductivity: f64) -> SaltClass {
        const BELOW: [SaltClass; 4] =
            [SaltClass::VeryLow, SaltClass::Low, SaltClass::Optimum, SaltClass::High];
        let found = self.0.iter().zip(BELOW).find(|&(&bound, _)| conductivity < bound);
        found.map_or(SaltClass::VeryHigh, |(_, class)| class)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_passes_fails_or_is_not_tested() {
        let all = limits(&|key| match key {
            "bed.standard_nitrogen_minimum" => 0.01, // india_fertiliser_control_order
            _ => 1.0,
        });
        let find = |name, standard| all.iter().find(|l| l.name == name && l.standard == standard).unwrap();
        let nitrogen = find("nitrogen", Standard::FertiliserControlOrder);
        let good = QualityFigures { nitrogen: 0.02, ..QualityFigures::default() };
        let poor = QualityFigures { nitrogen: 0.009, ..QualityFigures::default() };
        assert_eq!(nitrogen.judge(&good).judgement, Judgement::Pass);
        assert_eq!(nitrogen.judge(&poor).judgement, Judgement::Fail);
        let cadmium = find("cadmium", Standard::FertiliserControlOrder).judge(&good);
        assert_eq!((cadmium.judgement, cadmium.value), (Judgement::NotTested, None));
    }

    #[test]
    fn dry_matter_and_carbon_of_a_product_equal_values_by_hand() {
        // 40 % water, and 30 % carbon in the dry matter: 60 % and 18 % of the product
        let product = QualityFigures { moisture: 0.4, carbon: 0.3, ..QualityFigures::default() };
        for (quantity, by_hand) in [(QualityMeasure::DryMatter, 0.6), (QualityMeasure::CarbonOfProduct, 0.18)]
        {
            assert!((quantity.of(&product).unwrap() - by_hand).abs() < 1e-12);
        }
    }

    #[test]
    fn salt_classes_follow_the_printed_table() {
        let classes = SaltClasses([0.75, 2.0, 3.5, 5.0]); // warncke_krauskopf
        let want = [
            (0.5, SaltClass::VeryLow),
            (1.0, SaltClass::Low),
            (2.0, SaltClass::Optimum),
            (3.5, SaltClass::High),
            (9.0, SaltClass::VeryHigh),
        ];
        for (ec, class) in want {
            assert_eq!(classes.class(ec), class);
        }
    }
}
