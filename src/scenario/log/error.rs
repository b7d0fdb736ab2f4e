//! How far a measurement of a log may be from the model: errors by kind.

use super::kind::LogKind;

/// The scale on which the error of a kind is normal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogScale {
    /// Its logarithm: an amount, wrong by a part of itself.
    Logarithm,
    /// The value itself.
    Plain,
}

/// Errors of a kind as standard deviations on its scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogErrors {
    /// Of the reading: how far it is from the truth.
    pub reading: f64,
    /// Of the model: how far it is from a site whose rates it has right, weather and luck included.
    pub model: f64,
}

impl LogErrors {
    /// Errors of a kind, by values of the keys `log.reading_error_<kind>` and `log.model_error_<kind>`; `None` if a log knows the kind for
    /// certain.
    ///
    /// # Source
    /// Table `log`, assumed; a scenario replaces them in `rates`.
    pub fn from_values(kind: LogKind, get: &dyn Fn(&str) -> f64) -> Option<Self> {
        let name = error_name(kind)?;
        let of = |which: &str| get(&format!("log.{which}_error_{name}"));
        Some(Self { reading: of("reading"), model: of("model") })
    }

    /// Both together: reading and model err independently.
    pub fn together(&self) -> f64 {
        self.reading.hypot(self.model)
    }
}

/// Name of a kind in the keys of its errors.
const fn error_name(kind: LogKind) -> Option<&'static str> {
    Some(match kind {
        LogKind::ScrapsIn | LogKind::WormsIn | LogKind::DrumRoom | LogKind::BedRoom => return None,
        LogKind::CastingsTaken => "castings_taken",
        LogKind::DrumsInUse => "drums_in_use",
        LogKind::DrumsOpened => "drums_opened",
        LogKind::OpenedPh => "opened_ph",
        LogKind::Liquor => "liquor",
        LogKind::Bulking => "bulking",
        LogKind::FeedLaid => "feed_laid",
        LogKind::WaterAdded => "water_added",
        LogKind::BedTemperature => "bed_temperature",
        LogKind::BedMoisture => "bed_moisture",
        LogKind::BedPh => "bed_ph",
        LogKind::BedDepth => "bed_depth",
        LogKind::WormMass => "worm_mass",
        LogKind::WormDensity => "worm_density",
        LogKind::YoungShare => "young_share",
        LogKind::CastingsMoisture => "castings_moisture",
        LogKind::CastingsCarbon => "castings_carbon",
        LogKind::CastingsNitrogen => "castings_nitrogen",
        LogKind::CastingsRatio => "castings_ratio",
        LogKind::CastingsPhosphorus => "castings_phosphorus",
        LogKind::CastingsPotassium => "castings_potassium",
        LogKind::CastingsAsh => "castings_ash",
        LogKind::CastingsPh => "castings_ph",
    })
}

impl LogKind {
    /// The scale on which its error is normal.
    pub const fn scale(self) -> LogScale {
        match self {
            Self::DrumRoom
            | Self::BedRoom
            | Self::DrumsInUse
            | Self::OpenedPh
            | Self::BedTemperature
            | Self::BedMoisture
            | Self::BedPh
            | Self::YoungShare
            | Self::CastingsMoisture
            | Self::CastingsPh => LogScale::Plain,
            _ => LogScale::Logarithm,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::literature;

    #[test]
    fn every_measured_kind_has_its_errors_in_the_table_and_none_is_left_over() {
        let mut asked = 0;
        for kind in LogKind::ALL {
            let central = |key: &str| literature::central(key).unwrap_or_else(|| panic!("{key}"));
            let errors = LogErrors::from_values(kind, &central);
            let measured = !kind.row().known || kind == LogKind::CastingsTaken;
            assert_eq!(errors.is_some(), measured, "{kind:?}");
            let Some(errors) = errors else { continue };
            assert!(errors.reading > 0.0 && errors.model > 0.0);
            assert!(
                (errors.together().powi(2) - errors.reading.powi(2) - errors.model.powi(2)).abs() < 1e-12
            );
            asked += 2;
        }
        assert_eq!(
            literature::entries()
                .iter()
                .filter(|e| e.key.starts_with("log.") && e.key.contains("_error_"))
                .count(),
            asked
        );
    }
}
