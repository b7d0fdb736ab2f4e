//! The state of a bed on an evening: all that enters the next day but how it is built and worked.

use super::{Bed, BedLayer, BedSetup};
use crate::matter::Material;
use crate::process::acidity::Acidity;
use crate::process::worm::Population;
use serde::{Deserialize, Serialize};

/// State of a layer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayerState {
    /// What the layer holds, kg.
    pub matter: Material,
    /// Bulk volume, m3.
    pub volume: f64,
    /// Acidity when last computed.
    pub acidity: Acidity,
    /// Share that oxygen reached when last computed.
    pub aired: f64,
    /// Depth that oxygen reached when last computed, m. `None` if it is without limit.
    pub reach: Option<f64>,
}

impl LayerState {
    fn of(layer: &BedLayer) -> Self {
        let &BedLayer { matter, volume, acidity, aired, reach } = layer;
        Self { matter, volume, acidity, aired, reach: reach.is_finite().then_some(reach) }
    }

    fn layer(&self) -> BedLayer {
        let &Self { matter, volume, acidity, aired, reach } = self;
        BedLayer { matter, volume, acidity, aired, reach: reach.unwrap_or(f64::INFINITY) }
    }
}

/// State of a bed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BedState {
    /// Acid paste.
    pub fresh: LayerState,
    /// Feed that worms can eat.
    pub ready: LayerState,
    /// Castings and bedding.
    pub castings: LayerState,
    /// Temperature, °C.
    pub temperature: f64,
    /// Acidity of the worms' zone when last computed.
    pub zone: Acidity,
    /// Worms and cocoons.
    pub worms: Population,
    /// Days since the last harvest.
    pub days_since_harvest: f64,
    /// Whether it has been watered before.
    pub wetted: bool,
}

impl Bed {
    /// Its state.
    pub fn state(&self) -> BedState {
        // every field is named, so that a new one is not forgotten
        let &Self { setup: _, fresh, ready, castings, temperature, zone, worms, days_since_harvest, wetted } =
            self;
        BedState {
            fresh: LayerState::of(&fresh),
            ready: LayerState::of(&ready),
            castings: LayerState::of(&castings),
            temperature,
            zone,
            worms,
            days_since_harvest,
            wetted,
        }
    }

    /// A bed in a state.
    pub fn in_state(setup: BedSetup, state: &BedState) -> Self {
        let &BedState { fresh, ready, castings, temperature, zone, worms, days_since_harvest, wetted } =
            state;
        Self {
            setup,
            fresh: fresh.layer(),
            ready: ready.layer(),
            castings: castings.layer(),
            temperature,
            zone,
            worms,
            days_since_harvest,
            wetted,
        }
    }
}
