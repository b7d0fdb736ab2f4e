//! The answer to *run*: one plain object that tables, files and other programs read.
//!
//! All figures are SI: kg, m2, m3, °C, days; shares are 0 to 1. Fields never carry text meant for people except names,
//! warnings and notes.

use super::site_figures::SiteFigures;
use crate::process::quality::standards::Quantity;
use crate::trace::BedRecord;
use crate::trace::DayRecord;
use crate::warning::Severity;
use crate::warning::Warning;
use jiff::civil::Date;
use serde::Serialize;

/// Amounts of matter. # Units: kg
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
    /// Stage of the chain.
    pub stage: &'static str,
    /// Name of the movement.
    pub flow: &'static str,
    /// Holder it left.
    pub from: &'static str,
    /// Holder it reached.
    pub to: &'static str,
    /// How much.
    #[serde(flatten)]
    pub amounts: Amounts,
}

/// What a stage held at the start and at the end.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Held {
    /// Stage.
    pub stage: &'static str,
    /// At the start.
    pub start: Amounts,
    /// At the end.
    pub end: Amounts,
}

/// One element over the gate: in, out, change in what is held.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ElementBalance {
    /// Element or conserved group.
    pub element: &'static str,
    /// In from outside and from the air. # Units: kg
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
    /// Movements.
    pub flows: Vec<FlowAmounts>,
    /// What is held.
    pub held: Vec<Held>,
}

/// Intake of one stream.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StreamIntake {
    /// Name.
    pub name: String,
    /// Delivered, contamination taken out.
    pub delivered: Amounts,
    /// Turned away for want of a drum. # Units: kg
    pub turned_away: f64,
    /// Contamination sorted out. # Units: kg
    pub contamination: f64,
}

/// Lowest, mean and highest of a daily figure.
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
    /// Owned.
    pub owned: usize,
    /// In use at night.
    pub in_use: Span,
    /// Sealed.
    pub sealed: f64,
    /// Opened.
    pub opened: f64,
    /// Turned bad.
    pub spoiled: f64,
    /// pH at opening, weighted by drums; `None` when none was opened.
    pub opened_ph: Option<f64>,
    /// Age at opening. # Units: d
    pub opened_age: Option<f64>,
    /// Liquor drained. # Units: kg
    pub liquor: f64,
    /// Highest gauge pressure. # Units: kPa
    pub pressure: f64,
    /// Carbon dioxide in the drum room. # Units: ppm
    pub room_carbon_dioxide: f64,
    /// Wet mass of a full drum. # Units: kg
    pub full_mass: f64,
}

/// Bran over the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BranFigures {
    /// Strewn. # Units: kg
    pub used: f64,
    /// Wanted but not in store. # Units: kg
    pub short: f64,
    /// To be started each week, as the plan schedules it backwards from demand. # Units: kg per week, first day of each
    pub weekly: Vec<(Date, f64)>,
}

/// Grinder over the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GrinderFigures {
    /// Ground. # Units: kg
    pub ground: f64,
    /// Running time. # Units: h
    pub hours: f64,
    /// Energy. # Units: kWh
    pub energy: f64,
    /// Bulking mixed in. # Units: kg
    pub bulking: f64,
    /// Bulking per fermented scraps. # Units: kg/kg
    pub bulking_ratio: f64,
    /// Air-filled porosity of the feed as laid. # Units: m3/m3
    pub porosity: f64,
    /// Carbon to nitrogen ratio of the feed as laid.
    pub carbon_to_nitrogen: f64,
    /// Days on which the grinder was the limit.
    pub limiting_days: usize,
}

/// One bed over the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BedFigures {
    /// Name.
    pub name: String,
    /// Area. # Units: m2
    pub area: f64,
    /// Feed laid per area and day. # Units: kg/(m2 d)
    pub load: f64,
    /// Bed temperature.
    pub temperature: Span,
    /// Hottest spot. # Units: °C
    pub hottest: f64,
    /// Moisture where worms live.
    pub moisture: Span,
    /// pH where worms live.
    pub ph: Span,
    /// Stocking density at the start. # Units: kg/m2
    pub density_start: f64,
    /// Stocking density at the end. # Units: kg/m2
    pub density_end: f64,
    /// Days on which its worms starved.
    pub starving_days: usize,
    /// Days on which it took no feed, by the limit that stood in the way.
    pub refused: Vec<(&'static str, usize)>,
}

/// Stock by stage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
pub struct StockByStage {
    /// Cocoons. # Units: 1
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
    /// At the start.
    pub start: StockByStage,
    /// Mean.
    pub mean: StockByStage,
    /// At the end.
    pub end: StockByStage,
    /// Stock that would eat the mean feed at the site's ration. # Units: kg live
    pub needed_at_ration: f64,
    /// Stock that the mean feed keeps for good, by the published relation. # Units: kg live
    pub kept_by_feed: f64,
    /// Feed eaten per worm and day, as wet feed of 80 % water. # Units: kg/(kg d)
    pub mean_intake: f64,
    /// Bought. # Units: kg live
    pub bought: f64,
    /// Sold or moved. # Units: kg live
    pub sold: f64,
    /// Lost in castings. # Units: kg live
    pub lost: f64,
    /// Cocoons lost in castings. # Units: 1
    pub cocoons_lost: f64,
    /// Cocoons lost over cocoons laid and brought in.
    pub cocoons_lost_share: f64,
    /// Dead by cause: background, low condition, heat, cold, acid, other. # Units: number of worms
    pub deaths: Vec<(&'static str, f64)>,
}

/// A product with its quality.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Product {
    /// "castings" or "blend".
    pub name: &'static str,
    /// Sold.
    pub amounts: Amounts,
    /// Volume sold. # Units: m3
    pub volume: f64,
    /// Quality read off the mean product; `None` when nothing was sold.
    pub quality: Option<crate::process::quality::Figures>,
    /// Judgement by each limit of the standards.
    pub standards: Vec<Judged>,
}

/// A limit of a standard and how a product stands to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    /// Standard.
    pub standard: &'static str,
    /// Limit.
    pub limit: &'static str,
    /// Value of the product; `None` when not computed.
    pub value: Option<f64>,
    /// Least and most allowed.
    pub allowed: (Option<f64>, Option<f64>),
    /// Unit.
    pub unit: &'static str,
    /// "pass", "fail" or "not tested".
    pub verdict: &'static str,
    /// Literature key of the limit.
    pub key: &'static str,
    /// What the limit is about.
    #[serde(skip)]
    pub quantity: Quantity,
}

/// Gases of the whole run. # Units: kg
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
    /// Short name of the kind.
    pub code: &'static str,
    /// What is the matter, with figures.
    pub message: String,
    /// What would help.
    pub hint: &'static str,
    /// "note", "caution" or "serious".
    pub severity: Severity,
    /// The typed value.
    pub warning: Warning,
}

/// The answer to *run*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunAnswer {
    /// Program version.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// Place.
    pub place: Option<String>,
    /// First day.
    pub start: Date,
    /// Number of days.
    pub days: usize,
    /// Intake by stream.
    pub streams: Vec<StreamIntake>,
    /// The balance.
    pub balance: Balance,
    /// Bran.
    pub bran: BranFigures,
    /// Drums.
    pub drums: DrumFigures,
    /// Grinder.
    pub grinder: GrinderFigures,
    /// Beds.
    pub beds: Vec<BedFigures>,
    /// Worms.
    pub stock: StockFigures,
    /// Products.
    pub products: Vec<Product>,
    /// Gases.
    pub gases: GasTotals,
    /// Screening time. # Units: h
    pub screen_hours: f64,
    /// Floor, work, energy, greenhouse gas, money.
    pub site: SiteFigures,
    /// Warnings, worst first.
    pub warnings: Vec<Told>,
    /// Daily record of the site.
    pub daily: Vec<DayRecord>,
    /// Daily record of each bed.
    pub bed_daily: Vec<BedRecord>,
}
