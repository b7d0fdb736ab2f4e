//! The answer to *run*: one plain object that tables, files and other programs read.
//!
//! All figures are SI: kg, m2, m3, °C, days; shares are 0 to 1. Fields never carry text meant for people except names,
//! warnings and notes.

use crate::process::quality::standards::QualityMeasure;
use crate::site_figures::SiteFigures;
use crate::trace::{BedRecord, DayRecord};
use crate::warning::{Severity, Warning};
use jiff::civil::Date;
use serde::Serialize;

/// Amounts of matter, or of gas. # Units: kg
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
pub struct Amounts {
    /// Wet mass (for gases: their mass, oxygen negative when taken in).
    pub wet: f64,
    /// Water, water vapour included.
    pub water: f64,
    /// True dry matter (for gases: all but water vapour).
    pub dry: f64,
    /// Carbon.
    pub carbon: f64,
    /// Nitrogen.
    pub nitrogen: f64,
    /// Phosphorus.
    pub phosphorus: f64,
    /// Potassium.
    pub potassium: f64,
}

/// A movement of the whole run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlowAmounts {
    /// Stage of the chain under which it is told.
    pub stage: &'static str,
    /// Name of the movement, as in [`Flow::name`](crate::trace::Flow::name).
    pub flow: &'static str,
    /// Holder it left, or `outside` or `air`.
    pub from: &'static str,
    /// Holder it reached, or `outside` or `air`.
    pub to: &'static str,
    /// How much moved.
    #[serde(flatten)]
    pub amounts: Amounts,
}

/// What a stage held at the start and at the end; gas under lids left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Held {
    /// Name of the stage.
    pub stage: &'static str,
    /// Before the first day.
    pub start: Amounts,
    /// In the evening of the last day.
    pub end: Amounts,
}

/// One element over the gate: in, out, change in what is held.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ElementBalance {
    /// Element or conserved group.
    pub element: &'static str,
    /// In from outside, and as oxygen from the air. # Units: kg
    pub into_site: f64,
    /// Out to outside and to the air. # Units: kg
    pub out_of_site: f64,
    /// Held at the end less held at the start. # Units: kg
    pub change: f64,
}

/// The balance of the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Balance {
    /// Largest gap of any holder, element and day over what passed through it.
    pub largest_relative_residual: f64,
    /// Elements over the gate.
    pub elements: Vec<ElementBalance>,
    /// Every movement, summed over the run, in the order of the chain.
    pub flows: Vec<FlowAmounts>,
    /// What each stage held.
    pub held: Vec<Held>,
}

/// Intake of one stream.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StreamIntake {
    /// Name of the stream.
    pub name: String,
    /// Delivered, what was turned away included, contamination taken out.
    pub delivered: Amounts,
    /// Of it, turned away for want of a drum. # Units: kg
    pub turned_away: f64,
    /// Contamination sorted out on arrival; in no balance. # Units: kg
    pub contamination: f64,
}

/// Lowest, mean and highest of a daily figure, in its unit; the mean is over the days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Span {
    /// Lowest.
    pub lowest: f64,
    /// Mean.
    pub mean: f64,
    /// Highest.
    pub highest: f64,
}

/// Drums over the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrumFigures {
    /// Drums the site owns.
    pub owned: usize,
    /// Drums in use at night.
    pub in_use: Span,
    /// Drums sealed.
    pub sealed: f64,
    /// Drums opened.
    pub opened: f64,
    /// Drums that turned bad.
    pub spoiled: f64,
    /// Mean pH at opening, over the drums; none where none was opened.
    pub opened_ph: Option<f64>,
    /// Mean age at opening, over the drums; none where none was opened. # Units: d
    pub opened_age: Option<f64>,
    /// Liquor drained. # Units: kg
    pub liquor: f64,
    /// Highest pressure in a drum, over that of the air. # Units: kPa
    pub pressure: f64,
    /// Highest carbon dioxide in the drum room. # Units: ppm
    pub room_carbon_dioxide: f64,
    /// Wet mass of a full drum. # Units: kg
    pub full_mass: f64,
}

/// Bran over the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BranFigures {
    /// Bran strewn into drums. # Units: kg
    pub used: f64,
    /// Bran wanted but not in store. # Units: kg
    pub short: f64,
    /// Bran to be started, as it is scheduled backwards from demand: the day and how much; empty where bran is bought. # Units: kg
    pub weekly: Vec<(Date, f64)>,
}

/// Grinder over the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GrinderFigures {
    /// Mass ground. # Units: kg
    pub ground: f64,
    /// Running time of the grinder. # Units: h
    pub hours: f64,
    /// Electricity used. # Units: kWh
    pub energy: f64,
    /// Bulking mixed in. # Units: kg
    pub bulking: f64,
    /// Bulking per paste laid, both wet; 0 where none was laid. # Units: kg/kg
    pub bulking_ratio: f64,
    /// Air-filled porosity of the feed as laid, mean of the run; 0 where none was laid. # Units: m3/m3
    pub porosity: f64,
    /// Carbon to nitrogen ratio of the feed as laid, mean of the run; 0 where none was laid. # Units: kg/kg
    pub carbon_to_nitrogen: f64,
    /// Days on which the grinder held feeding back.
    pub limiting_days: usize,
}

/// One bed over the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BedFigures {
    /// Name of the bed.
    pub name: String,
    /// Area of the bed. # Units: m2
    pub area: f64,
    /// Feed laid per area and day of the run, bulking included. # Units: kg wet/(m2 d)
    pub load: f64,
    /// Temperature of the bed at night. # Units: °C
    pub temperature: Span,
    /// Hottest spot of the run. # Units: °C
    pub hottest: f64,
    /// Moisture where worms live. # Units: kg water per kg wet
    pub moisture: Span,
    /// pH where worms live.
    pub ph: Span,
    /// Stocking density in the evening of the first day. # Units: kg live/m2
    pub density_start: f64,
    /// Stocking density in the evening of the last day. # Units: kg live/m2
    pub density_end: f64,
    /// Days on which its worms starved.
    pub starving_days: usize,
    /// Feeding days on which it took nothing, by the limit that stood in the way; limits that never did are left out.
    pub refused: Vec<(&'static str, usize)>,
}

/// Stock of all beds by stage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
pub struct StockByStage {
    /// Number of cocoons.
    pub cocoons: f64,
    /// Juveniles. # Units: kg live
    pub juveniles: f64,
    /// Sub-adults. # Units: kg live
    pub subadults: f64,
    /// Adults. # Units: kg live
    pub adults: f64,
    /// All worms. # Units: kg live
    pub total: f64,
}

/// The worms over the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockFigures {
    /// Put into the beds before the first day.
    pub start: StockByStage,
    /// Mean of the evenings.
    pub mean: StockByStage,
    /// In the evening of the last day.
    pub end: StockByStage,
    /// Stock that would eat the mean intake at the site's ration: mean intake / ration; 0 without a ration. # Units: kg live
    pub needed_at_ration: f64,
    /// Stock that the feed eaten keeps for good: mean feed eaten a day, as feed of 80 % water, x `worms.steady_biomass_per_feed`.
    /// # Units: kg live
    pub kept_by_feed: f64,
    /// Feed eaten per live worms and day, as wet feed of 80 % water; 0 without worms. # Units: kg/(kg d)
    pub mean_intake: f64,
    /// Worms bought that arrive on a later day than the first; those of the first day are in `start`. # Units: kg live
    pub bought: f64,
    /// Worms sold. # Units: kg live
    pub sold: f64,
    /// Worms lost in castings. # Units: kg live
    pub lost: f64,
    /// Number of cocoons lost in castings.
    pub cocoons_lost: f64,
    /// Cocoons lost over cocoons laid and brought in; 0 where there were none.
    pub cocoons_lost_share: f64,
    /// Number of worms that died, by cause: background, low condition, heat, cold, acid, other.
    pub deaths: Vec<(&'static str, f64)>,
}

/// A product with its quality.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Product {
    /// "castings" or "blend".
    pub name: &'static str,
    /// Amounts sold.
    pub amounts: Amounts,
    /// Volume sold. # Units: m3
    pub volume: f64,
    /// Quality of all that was sold together, its pH at 20 °C; none where nothing was sold.
    pub quality: Option<crate::process::quality::QualityFigures>,
    /// Judgement by each limit of the standards; empty where nothing was sold.
    pub standards: Vec<Judged>,
}

/// A limit of a standard and how a product stands to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    /// Name of the standard.
    pub standard: &'static str,
    /// Name of the limit.
    pub limit: &'static str,
    /// Value of the product, in the unit of the limit; none where the model has no such figure.
    pub value: Option<f64>,
    /// Least and most allowed, in the unit of the limit; none for an end that is open.
    pub allowed: (Option<f64>, Option<f64>),
    /// Unit of value and limit.
    pub unit: &'static str,
    /// "pass", "fail" or "not tested".
    pub verdict: &'static str,
    /// Literature key of the limit.
    pub key: &'static str,
    /// What the limit is about; not in files.
    #[serde(skip)]
    pub quantity: QualityMeasure,
}

/// Gases that the whole run gave off and took in. # Units: kg
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
pub struct GasTotals {
    /// O2 taken in.
    pub oxygen_taken_in: f64,
    /// CO2.
    pub carbon_dioxide: f64,
    /// CH4.
    pub methane: f64,
    /// NH3.
    pub ammonia: f64,
    /// N2O.
    pub nitrous_oxide: f64,
    /// N2.
    pub dinitrogen: f64,
    /// H2.
    pub hydrogen: f64,
    /// Water vapour.
    pub water_vapour: f64,
}

/// A warning as files carry it: the typed value with its text.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Told {
    /// Short name of the kind of warning, for programs.
    pub code: &'static str,
    /// What is the matter, with figures.
    pub message: String,
    /// What would help.
    pub hint: &'static str,
    /// How serious it is.
    pub severity: Severity,
    /// The warning itself, with its data.
    pub warning: Warning,
}

/// The answer to *run*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// Where it is, in words; none where the plan does not say.
    pub place: Option<String>,
    /// First day of the run.
    pub start: Date,
    /// Number of days of the run.
    pub days: usize,
    /// Intake by stream, in the order of the plan.
    pub streams: Vec<StreamIntake>,
    /// The balance, which closes: see [`Balance::largest_relative_residual`].
    pub balance: Balance,
    /// Bran used and to be made.
    pub bran: BranFigures,
    /// Drums, and what they came to.
    pub drums: DrumFigures,
    /// Grinding, and the feed it made.
    pub grinder: GrinderFigures,
    /// Each bed, in the order of the plan; beds of a group are numbered.
    pub beds: Vec<BedFigures>,
    /// The worms of all beds.
    pub stock: StockFigures,
    /// Castings sold alone, then the blend, sold or not.
    pub products: Vec<Product>,
    /// Gases given off and taken in.
    pub gases: GasTotals,
    /// Screening time. # Units: h
    pub screen_hours: f64,
    /// Floor, work, energy, lifting, greenhouse gas, money.
    pub site: SiteFigures,
    /// Warnings, worst first.
    pub warnings: Vec<Told>,
    /// A record of the site for each day.
    pub daily: Vec<DayRecord>,
    /// A record of each bed for each day, by day, then by bed.
    pub bed_daily: Vec<BedRecord>,
}
