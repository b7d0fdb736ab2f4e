//! A site as the chain simulates it: plain numbers, every choice made, the weather and intake of every day known.

use super::SiteState;
use crate::matter::Material;
use crate::process::acidity::AcidConstants;
use crate::process::drying::DryingRates;
use crate::process::fermentation::FermentationRates;
use crate::process::fermentation::load::Load;
use crate::process::quality::BulkDensity;
use crate::process::reaction::ReactionError;
use crate::process::recipe::amounts::BulkingTargets;
use crate::process::recipe::{KeptVolumes, RecipePart, SolidDensities};
use crate::process::screening::ScreeningRates;
use crate::process::worm::{Population, WormRecovery};
use crate::unit::bed::{BedModel, BedSetup, Weather};
use crate::unit::cure::CureSetup;
use crate::unit::drum_store::DrumStoreSetup;
use crate::unit::grinder::GrinderSetup;
use crate::unit::screen::ScreenSetup;
use crate::unit::starter::StarterSetup;
use jiff::civil::Date;
use std::sync::Arc;

/// One source of scraps with its amount on each day.
#[derive(Debug, Clone, PartialEq)]
pub struct ScrapSupply {
    /// Name.
    pub name: String,
    /// What a kilogram is made of.
    pub per_kilogram: Load,
    /// Delivered on each day, contamination taken out, kg.
    pub amounts: Vec<f64>,
    /// Contamination per mass delivered, kg/kg.
    pub contamination: f64,
}

/// Scraps that are fed fresh.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreshScraps {
    /// Whether they are ground.
    pub ground: bool,
    /// Most that waits for the next feeding, kg; what comes beyond is turned away.
    pub most_waiting: f64,
    /// Bulk density as laid, before mixing, kg/m3.
    pub bulk_density: f64,
    /// Share of their loose volume kept in a mix, m3/m3.
    pub kept_volume: f64,
}

/// Bran, made or bought.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BranSupply {
    /// How starter and bran are made; bought bran has the same recipe.
    pub making: StarterSetup,
    /// Bought ready instead of made.
    pub bought: bool,
    /// Bran per wet scraps, kg/kg.
    pub dose: f64,
}

/// Bulking mixed into the paste.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BulkingRecipe {
    /// The material.
    pub part: RecipePart,
    /// Targets of the mix.
    pub targets: BulkingTargets,
    /// Maximum per paste, kg/kg.
    pub most: f64,
}

/// Mineral matter mixed into the feed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GritRecipe {
    /// The material.
    pub part: RecipePart,
    /// Wet grit per dry matter of paste and bulking, kg/kg.
    pub per_dry_feed: f64,
}

/// One bed on the first day.
#[derive(Debug, Clone, PartialEq)]
pub struct BedStart {
    /// Name.
    pub name: String,
    /// Choices.
    pub setup: BedSetup,
    /// Bedding.
    pub bedding: Material,
    /// Bulk volume of the bedding, m3.
    pub volume: f64,
    /// Feed that it is filled with, kg.
    pub filled: Material,
    /// Bulk volume of that feed, m3.
    pub filled_volume: f64,
    /// Worms at the start.
    pub worms: Population,
}

/// How beds are fed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedingPractice {
    /// Paste per live worms and day, kg/(kg d).
    pub ration: f64,
    /// Feeding days, Monday first.
    pub weekdays: [bool; 7],
}

/// When castings are taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HarvestPractice {
    /// Days between two harvests of a bed; beds take turns. `None` if the depth decides.
    pub every: Option<u32>,
    /// Depth from which a bed is harvested, m.
    pub depth: Option<f64>,
    /// Share of the castings layer taken.
    pub share: f64,
    /// No harvest before this day since the site was new.
    pub first_day: u32,
    /// Share of each stage that comes back from the screen.
    pub recovery: WormRecovery,
    /// Stocking density above which worms are sold after a harvest, kg/m2.
    pub ceiling: Option<f64>,
}

/// Harvests that are known: between two days of the run no others take place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownHarvests {
    /// First day.
    pub first: usize,
    /// Last day.
    pub last: usize,
    /// Day and number of the bed, from 0, of each, in order.
    pub takes: Vec<(usize, usize)>,
}

/// A site.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// First day.
    pub start: Date,
    /// Days that the site had run before, on which the turns of harvests and the weekly plan of bran go on.
    pub days_before: u32,
    /// Its state on the evening before the first day. `None` if it is new.
    pub begins: Option<Arc<SiteState>>,
    /// Days to run. What is given by day may reach further.
    pub days: usize,
    /// Steps of the bed in a day.
    pub steps_per_day: u32,
    /// Streams.
    pub streams: Vec<ScrapSupply>,
    /// Air over the beds on each day.
    pub bed_air: Vec<Weather>,
    /// Temperature of the drum room on each day, °C.
    pub drum_room: Vec<f64>,
    /// A number from 0 to 1 for each day: drums sealed on that day spoil if it is below their chance of spoiling.
    pub drum_luck: Vec<f64>,
    /// How they are fed fresh. `None` if they are fermented in drums.
    pub fresh: Option<FreshScraps>,
    /// Bran.
    pub bran: BranSupply,
    /// Drums.
    pub drums: DrumStoreSetup,
    /// Whether liquor returns to the paste instead of leaving the site.
    pub liquor_returned: bool,
    /// Grinder.
    pub grinder: GrinderSetup,
    /// Bulking, if any.
    pub bulking: Option<BulkingRecipe>,
    /// Mineral matter mixed into the feed, if any.
    pub grit: Option<GritRecipe>,
    /// Beds.
    pub beds: Vec<BedStart>,
    /// Worms that arrive later: day of the run and worms, spread over the beds by area.
    pub arrivals: Vec<(usize, Population)>,
    /// Feeding.
    pub feeding: FeedingPractice,
    /// Harvest.
    pub harvest: HarvestPractice,
    /// Harvests that are known, in place of those that are due. `None` if none are.
    pub known_harvests: Option<KnownHarvests>,
    /// Drying and screening.
    pub screen: ScreenSetup,
    /// Curing, blending, dispatch.
    pub cure: CureSetup,
}

impl Site {
    /// Date of a day of the run.
    ///
    /// # Panics
    /// Beyond 10^18 days (never: a plan is ten years at most).
    pub fn date(&self, day: usize) -> Date {
        let days = i64::try_from(day).expect("a run is shorter than 10^18 days");
        self.start.saturating_add(jiff::Span::new().days(days))
    }

    /// Scraps delivered on a day, all streams, kg.
    pub fn intake(&self, day: usize) -> f64 {
        self.streams.iter().map(|s| s.amounts.get(day).copied().unwrap_or(0.0)).sum()
    }

    /// Area of all beds, m2.
    pub fn bed_area(&self) -> f64 {
        self.beds.iter().map(|b| b.setup.area).sum()
    }
}

/// Processes and rates of one run: central values, or one draw.
#[derive(Debug, Clone)]
pub struct Models {
    /// Beds and worms.
    pub bed: BedModel,
    /// Drums and bran.
    pub fermentation: FermentationRates,
    /// Acids.
    pub acids: AcidConstants,
    /// Screening.
    pub screening: ScreeningRates,
    /// Drying.
    pub drying: DryingRates,
    /// Bulk density of castings as harvested.
    pub bulk_density: BulkDensity,
    /// Densities of solids.
    pub solids: SolidDensities,
    /// Volumes kept in a mix.
    pub kept_volumes: KeptVolumes,
    /// Density of paste, kg/m3.
    pub paste_density: f64,
}

impl Models {
    /// Builds every process from values by key.
    ///
    /// # Errors
    /// [`ReactionError`] if a table does not balance (a fault of ours).
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Result<Self, ReactionError> {
        Ok(Self {
            bed: BedModel::from_values(get)?,
            fermentation: FermentationRates::from_values(get),
            acids: AcidConstants::from_values(get),
            screening: ScreeningRates::from_values(get),
            drying: DryingRates::from_values(get),
            bulk_density: BulkDensity::from_values(get),
            solids: SolidDensities::from_values(get),
            kept_volumes: KeptVolumes::from_values(get),
            paste_density: get("fermentation.bulk_density_ground_paste"),
        })
    }
}
