//! The answer to *run*: one plain object that tables, files and other programs read.
//!
//! All figures are SI: kg, m2, m3, °C, days; shares are 0 to 1. The texts of the fields are those of the published schema
//! ([`schema`]); `result.json` and `--json` hold the same object.

use super::filled::FilledBed;
use super::verdict::Verdict;
use crate::process::quality::standards::{Judgement, QualityMeasure};
use crate::scenario::plan::FilledPart;
use crate::site_figures::SiteFigures;
use crate::trace::{BedRecord, DayRecord, Flow, FlowGroup, Holder, Settling, YearChange, YearSums};
use crate::warning::{Severity, Warning};
use jiff::civil::Date;
use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::Serialize;
use std::ops::Add;

/// Amounts of matter or of gas, kg.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema, Default)]
pub struct Amounts {
    /// Wet mass, kg (of gases their mass; oxygen taken in is negative).
    pub wet: f64,
    /// Water and water vapour, kg.
    pub water: f64,
    /// Dry matter, kg (of gases all but water vapour).
    pub dry: f64,
    /// Carbon, kg.
    pub carbon: f64,
    /// Nitrogen, kg.
    pub nitrogen: f64,
    /// Phosphorus, kg.
    pub phosphorus: f64,
    /// Potassium, kg.
    pub potassium: f64,
}

impl Amounts {
    /// Names of the fields, in order.
    pub const NAMES: [&'static str; 7] =
        ["wet", "water", "dry", "carbon", "nitrogen", "phosphorus", "potassium"];

    /// The fields, in order.
    pub fn values(&self) -> [f64; 7] {
        [self.wet, self.water, self.dry, self.carbon, self.nitrogen, self.phosphorus, self.potassium]
    }

    /// Amounts from the values of the fields, in order.
    pub fn from_values([wet, water, dry, carbon, nitrogen, phosphorus, potassium]: [f64; 7]) -> Self {
        Self { wet, water, dry, carbon, nitrogen, phosphorus, potassium }
    }
}

impl Add for Amounts {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        let (a, b) = (self.values(), other.values());
        Self::from_values(std::array::from_fn(|n| a[n] + b[n]))
    }
}

/// A movement of the whole run.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FlowAmounts {
    /// Group in which tables list it.
    pub stage: FlowGroup,
    /// Movement.
    pub flow: Flow,
    /// Holder that gives.
    pub from: Holder,
    /// Holder that receives.
    pub to: Holder,
    /// Amounts moved.
    #[serde(flatten)]
    pub amounts: Amounts,
}

impl FlowAmounts {
    /// A movement with its amounts.
    pub fn new(flow: Flow, amounts: Amounts) -> Self {
        Self { stage: flow.group(), flow, from: flow.from(), to: flow.to(), amounts }
    }
}

/// What a holder held at the start and at the end, gas under the lids of drums included.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct HeldAmounts {
    /// Holder.
    pub stage: Holder,
    /// Amounts before the first day.
    pub start: Amounts,
    /// Amounts at night on the last day.
    pub end: Amounts,
}

/// One element over the whole site: in, out, change in what is held.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ElementBalance {
    /// Element or conserved group: carbon, hydrogen, oxygen, nitrogen, phosphorus, potassium, salt, minerals.
    pub element: &'static str,
    /// In from outside, and as oxygen from the air, kg.
    pub into_site: f64,
    /// Out to outside and to the air, kg.
    pub out_of_site: f64,
    /// Held at the end less held at the start, kg.
    pub change: f64,
}

/// The balance of the run.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Balance {
    /// Largest gap of any account, element and day, relative to what passed through the account.
    pub largest_relative_residual: f64,
    /// Elements over the whole site.
    pub elements: Vec<ElementBalance>,
    /// Every movement, summed over the run, in the order of the chain.
    pub flows: Vec<FlowAmounts>,
    /// What each holder held.
    pub held: Vec<HeldAmounts>,
}

/// Intake of one stream.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct StreamIntake {
    /// Name of the stream.
    pub name: String,
    /// Delivered, with what was turned away, without contamination.
    pub delivered: Amounts,
    /// Part of it turned away for lack of a drum, or of room for fresh scraps to wait, kg.
    pub turned_away: f64,
    /// Contamination sorted out on arrival, kg; in no balance.
    pub contamination: f64,
}

/// Lowest, mean and highest of a daily figure, in its unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Span {
    /// Lowest.
    pub lowest: f64,
    /// Mean.
    pub mean: f64,
    /// Highest.
    pub highest: f64,
}

/// Liquor of the whole run, mixed. A litre is taken as a kilogram.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LiquorFigures {
    /// Liquor per mass of scraps and bran filled into drums, kg/kg.
    pub share: f64,
    /// pH.
    pub ph: f64,
    /// Ammonium nitrogen, g/L.
    pub ammonium_nitrogen: f64,
    /// Potassium, g/L.
    pub potassium: f64,
    /// Phosphorus, g/L.
    pub phosphorus: f64,
}

/// Batches opened over the run, taken together.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BatchFigures {
    /// Lactic acid at opening, kg/kg dry matter.
    pub lactic_acid: f64,
    /// Acetic acid at opening, with the native acids of the scraps, which are booked as acetic, kg/kg dry matter.
    pub acetic_acid: f64,
    /// Butyric acid at opening, kg/kg dry matter.
    pub butyric_acid: f64,
    /// Ethanol at opening, kg/kg dry matter.
    pub ethanol: f64,
    /// Ammonia at opening, kg N/kg N.
    pub ammonia_share: f64,
    /// Carbon dioxide made, vented and held, mol per kg of the dry matter sealed.
    pub carbon_dioxide: f64,
    /// Dry matter lost as gas, of that sealed, kg/kg. Liquor is not counted, nor is the water that sugars bind as they ferment.
    pub dry_loss: f64,
}

/// Drums over the run.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct DrumFigures {
    /// Drums the site owns.
    pub owned: usize,
    /// Drums in use at night.
    pub in_use: Span,
    /// Drums sealed.
    pub sealed: usize,
    /// Drums opened.
    pub opened: usize,
    /// Drums that turned bad.
    pub spoiled: usize,
    /// Mean pH at opening, over the drums. `null` if none was opened.
    pub opened_ph: Option<f64>,
    /// Mean age at opening, over the drums, d. `null` if none was opened.
    pub opened_age: Option<f64>,
    /// What fermentation made of the batches. `null` if none was opened.
    pub batches: Option<BatchFigures>,
    /// Liquor drained, kg.
    pub liquor: f64,
    /// What the liquor is like. `null` if none was drained.
    pub liquor_quality: Option<LiquorFigures>,
    /// Highest gauge pressure in a drum, kPa.
    pub pressure: f64,
    /// Highest carbon dioxide in the drum room, that of drums just opened included, ppm.
    pub room_carbon_dioxide: f64,
    /// Highest mean of carbon dioxide in the drum room over eight hours, ppm.
    pub room_carbon_dioxide_shift: f64,
    /// Wet mass of a full drum, kg.
    pub full_mass: f64,
}

/// Bran over the run.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BranFigures {
    /// Bran spread in drums, kg.
    pub used: f64,
    /// Bran needed but not in store, kg.
    pub short: f64,
    /// Bran to be started, as pairs of date and kg; empty if bran is bought.
    #[schemars(with = "Vec<(String, f64)>")]
    pub weekly: Vec<(Date, f64)>,
}

/// Grinder over the run.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GrinderFigures {
    /// Scraps ground, fermented unless they are fed fresh, kg.
    pub ground: f64,
    /// Running time of the grinder, h.
    pub hours: f64,
    /// Electricity used, kWh.
    pub energy: f64,
    /// Bulking mixed in, kg.
    pub bulking: f64,
    /// Bulking per paste laid, kg/kg wet; 0 if none was laid.
    pub bulking_ratio: f64,
    /// Grit mixed in, kg.
    pub grit: f64,
    /// Mean air-filled porosity of the feed as laid, m3/m3; 0 if none was laid.
    pub porosity: f64,
    /// Mean carbon to nitrogen ratio of the feed as laid, kg/kg; 0 if none was laid.
    pub carbon_to_nitrogen: f64,
    /// Days on which the grinder limited feeding.
    pub limiting_days: usize,
}

/// One bed over the run.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BedFigures {
    /// Name of the bed.
    pub name: String,
    /// Area of the bed, m2.
    pub area: f64,
    /// Feed laid per area and day of the run, bulking included, kg wet/(m2 d).
    pub load: f64,
    /// Temperature of the bed at night, °C.
    pub temperature: Span,
    /// Hottest spot of the run, °C.
    pub hottest: f64,
    /// Moisture where worms live, kg/kg wet.
    pub moisture: Span,
    /// pH where worms live.
    pub ph: Span,
    /// Stocking density at night on the first day, kg live/m2.
    pub density_start: f64,
    /// Stocking density at night on the last day, kg live/m2.
    pub density_end: f64,
    /// Days on which its worms starved.
    pub starving_days: usize,
    /// Feeding days on which it took nothing, as pairs of the limiting factor and days; factors that never limited are left out.
    pub refused: Vec<(&'static str, usize)>,
}

/// Stock of all beds by stage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema, Default)]
pub struct StockByStage {
    /// Number of cocoons.
    pub cocoons: f64,
    /// Juveniles, kg live.
    pub juveniles: f64,
    /// Sub-adults, kg live.
    pub subadults: f64,
    /// Adults, kg live.
    pub adults: f64,
    /// All worms, kg live.
    pub total: f64,
}

/// The worms over the run.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct StockFigures {
    /// In the beds before the first day.
    pub start: StockByStage,
    /// Mean over the nights.
    pub mean: StockByStage,
    /// At night on the last day, after the harvest.
    pub end: StockByStage,
    /// Stock that would eat the mean intake at the site's ration, kg live: mean intake / ration; 0 without a ration.
    pub needed_at_ration: f64,
    /// Stock the feed eaten can sustain, kg live: mean feed eaten a day, as feed of 80 % water, x `worms.steady_biomass_per_feed`.
    pub kept_by_feed: f64,
    /// Feed eaten per live worms and day, as wet feed of 80 % water, kg/(kg d); 0 without worms.
    pub mean_intake: f64,
    /// Worms bought that arrive after the first day, kg live; those of the first day are in `start`.
    pub bought: f64,
    /// Worms sold, kg live.
    pub sold: f64,
    /// Worms lost in castings, kg live.
    pub lost: f64,
    /// Number of cocoons lost in castings.
    pub cocoons_lost: f64,
    /// Share lost of the cocoons laid and brought in, 0 to 1.
    pub cocoons_lost_share: f64,
    /// Worms that died, as pairs of cause (background, crowding, low condition, heat, cold, acid, salt, ammonia) and number.
    pub deaths: Vec<(&'static str, f64)>,
}

/// A product with its quality.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Product {
    /// `castings` or `blend`.
    pub name: &'static str,
    /// Amounts sold.
    pub amounts: Amounts,
    /// Volume sold, m3.
    pub volume: f64,
    /// Quality of all that was sold, mixed. `null` if nothing was sold.
    pub quality: Option<crate::process::quality::QualityFigures>,
    /// Verdict on each limit of the standards; empty if nothing was sold.
    pub standards: Vec<Judged>,
}

/// A limit of a standard and whether a product meets it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Judged {
    /// Name of the standard.
    pub standard: &'static str,
    /// Name of the limit.
    pub limit: &'static str,
    /// Value of the product, in the unit of the limit. `null` if the model has no such figure.
    pub value: Option<f64>,
    /// Minimum and maximum allowed, in the unit of the limit; `null` for an open end.
    pub allowed: (Option<f64>, Option<f64>),
    /// Unit of value and limit.
    pub unit: &'static str,
    /// Verdict.
    pub verdict: Judgement,
    /// Literature key of the limit.
    pub key: &'static str,
    /// What the limit is about; not in files.
    #[serde(skip)]
    pub quantity: QualityMeasure,
}

/// Gases that the whole run gave off and took in, kg.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema, Default)]
pub struct GasTotals {
    /// Oxygen taken in, kg.
    pub oxygen_taken_in: f64,
    /// Carbon dioxide, kg.
    pub carbon_dioxide: f64,
    /// Methane, kg.
    pub methane: f64,
    /// Ammonia, kg.
    pub ammonia: f64,
    /// Nitrous oxide, kg.
    pub nitrous_oxide: f64,
    /// Nitrogen gas, kg.
    pub dinitrogen: f64,
    /// Hydrogen, kg.
    pub hydrogen: f64,
    /// Water vapour, kg.
    pub water_vapour: f64,
}

/// A warning as files carry it: the typed value with its text.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Reported {
    /// Short name of the kind of warning, for programs.
    pub code: &'static str,
    /// What is wrong, with figures.
    pub message: String,
    /// What may be done about it.
    pub hint: &'static str,
    /// How serious it is.
    pub severity: Severity,
    /// The warning with its data: `code` again and its figures.
    pub warning: Warning,
}

impl From<Warning> for Reported {
    fn from(warning: Warning) -> Self {
        Self {
            code: warning.code(),
            message: warning.message(),
            hint: warning.hint(),
            severity: warning.severity(),
            warning,
        }
    }
}

/// A figure in the first year and in the settled one; name, unit and words are those of [`crate::trace::figures::TABLE`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct YearFigure {
    /// Name in files.
    pub name: &'static str,
    /// Unit, SI.
    pub unit: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// In the first year. `null` if there is nothing to measure.
    pub first: Option<f64>,
    /// In the settled year, or in the last one simulated. `null` if there is nothing to measure.
    pub settled: Option<f64>,
}

/// The settled year, or the last one simulated where none settles.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LaterYear {
    /// Number of the year, from 1.
    pub year: usize,
    /// Its first day.
    #[schemars(with = "String")]
    pub start: Date,
    /// Figures of the first year and of this one.
    pub figures: Vec<YearFigure>,
    /// Floor, work, energy, lifting, greenhouse gas and money of this year. What money is worth takes the first year as it is and every
    /// other as this one.
    pub site: SiteFigures,
    /// Warnings of this year, the worst first. Those of the plan alone are with the run.
    pub warnings: Vec<Reported>,
}

/// The years of the site, followed beyond its run until one is like the one before.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LaterYears {
    /// How the search ended.
    pub settling: Settling,
    /// Largest difference allowed between a settled year and the one before, as a share of the larger.
    pub tolerance: f64,
    /// Most years that are simulated, the first included.
    pub most_years: usize,
    /// Sums of every year from the first; empty where no settled year is sought.
    pub years: Vec<YearSums>,
    /// Changes from the last but one of them to the last, the largest first; empty with fewer than two.
    pub changes: Vec<YearChange>,
    /// The settled year. `null` where none is sought.
    pub last: Option<LaterYear>,
}

/// A site that runs already on its first day.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct AsItStands {
    /// Days that it has run, for which the plan was run beforehand to fill what is left out.
    pub days_run: u32,
    /// What the scenario leaves out and that run filled.
    pub filled: Vec<FilledPart>,
}

/// The answer to *run*.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RunAnswer {
    /// Version of the program.
    pub version: &'static str,
    /// Name of the site.
    pub name: String,
    /// Where it is, in words. `null` if the scenario does not say.
    pub place: Option<String>,
    /// First day of the run, as `2031-04-27`.
    #[schemars(with = "String")]
    pub start: Date,
    /// Number of days of the run.
    pub days: usize,
    /// Name of the site whose state on the evening before the first day the run goes on from. `null` if the site is new.
    pub goes_on_from: Option<String>,
    /// What the site began with, where the scenario says how it stands. `null` if it does not.
    pub as_it_stands: Option<AsItStands>,
    /// Whether scraps are fed fresh, without drums and bran.
    pub fresh_scraps: bool,
    /// Intake by stream, in the order of the scenario.
    pub streams: Vec<StreamIntake>,
    /// The balance.
    pub balance: Balance,
    /// Bran used, and to be made.
    pub bran: BranFigures,
    /// Drums over the run.
    pub drums: DrumFigures,
    /// Grinding, and the feed as laid.
    pub grinder: GrinderFigures,
    /// Each bed, in the order of the scenario; beds of a group are numbered.
    pub beds: Vec<BedFigures>,
    /// Groups of beds that were filled on the first day and neither fed nor harvested; empty on a site that goes on.
    pub filled_beds: Vec<FilledBed>,
    /// The worms of all beds.
    pub stock: StockFigures,
    /// Castings sold alone, then the blend.
    pub products: Vec<Product>,
    /// Gases given off and taken in.
    pub gases: GasTotals,
    /// Running time of the screen, h.
    pub screen_hours: f64,
    /// Floor, work, energy, lifting, greenhouse gas, money, of the run.
    pub site: SiteFigures,
    /// The verdict of this run alone: whether a failure happens, not how likely it is.
    pub verdict: Verdict,
    /// The years of the site up to its settled one.
    pub later_years: LaterYears,
    /// Warnings, worst first.
    pub warnings: Vec<Reported>,
    /// A record of the site for each day.
    pub daily: Vec<DayRecord>,
    /// A record of each bed for each day, by day, then by bed.
    pub bed_daily: Vec<BedRecord>,
}

impl RunAnswer {
    /// Whether nothing is missing where there are no drums: scraps are fed fresh, or all feed was filled in on the first day.
    pub fn no_drums_wanted(&self) -> bool {
        let batch = !self.filled_beds.is_empty() && self.streams.iter().all(|s| s.delivered.wet <= 0.0);
        self.drums.owned == 0 && (self.fresh_scraps || batch)
    }

    /// Site figures of the year that counts: the settled one or the last one simulated, else the run scaled to a year.
    pub fn year_that_counts(&self) -> &SiteFigures {
        self.later_years.last.as_ref().map_or(&self.site, |last| &last.site)
    }
}

/// JSON Schema (draft 2020-12) of [`RunAnswer`], each field with its text and unit. The command `schema --result` prints it.
pub fn schema() -> serde_json::Value {
    inlined::<RunAnswer>()
}

/// JSON Schema of an answer, with every part where it is used.
pub(super) fn inlined<T: JsonSchema>() -> serde_json::Value {
    let settings = SchemaSettings::draft2020_12().for_serialize().with(|s| s.inline_subschemas = true);
    settings.into_generator().into_root_schema_for::<T>().to_value()
}
