//! The figures of a run: name, unit, words and how each is read, one row each.
//!
//! They are kept of every draw, named by targets of a sizing and by the options of commands, and shown in pages and files.

use super::{DayRecord, Flow, Holder, Settling, Trace, YearSums};
use crate::matter::{Element, Gas, Gases, Material};
use crate::process::acidity::AcidConstants;
use crate::process::quality::{QualityFigures, QualityRates};
use crate::process::worm::Deaths;
use crate::quantity::Kind;

/// Days of a year.
const YEAR: f64 = 365.0;
/// Days of the start-up, in which a bought stock is spread thin and grows: half a year, our choice.
const START_UP: usize = 183;

/// What a figure is read from: the trace of a run, and the quality of its castings.
pub struct FigureSource<'a> {
    trace: &'a Trace,
    /// Castings through the screen, if any.
    castings: Option<QualityFigures>,
    /// Castings sold, if any, else those screened: curing moves their pH and their mineral nitrogen.
    sold: Option<QualityFigures>,
    /// The settled year, or the last one simulated, with the years before. None where none is sought.
    later: Option<(Box<FigureSource<'a>>, LaterYear<'a>)>,
}

/// The settled year of a site, or the last one simulated.
#[derive(Debug, Clone, Copy)]
pub struct LaterYear<'a> {
    /// What it left behind.
    pub trace: &'a Trace,
    /// Sums of every year up to it.
    pub sums: &'a [YearSums],
    /// How the search for it ended.
    pub settling: Settling,
}

/// Bulk density in kg/m3, on which no figure kept here depends, and temperature in °C at which the pH is computed. Our choice.
const CASTINGS_AT: (f64, f64) = (650.0, 20.0);

/// Asks `get` for every value that figures need beside the run itself.
pub fn ask(get: &dyn Fn(&str) -> f64) {
    let _ = QualityRates::from_values(get);
}

impl<'a> FigureSource<'a> {
    /// Of a run, with the values of rates and the acids that it was made with.
    pub fn of(trace: &'a Trace, get: &dyn Fn(&str) -> f64, acids: &AcidConstants) -> Self {
        let rates = QualityRates::from_values(get);
        let (density, temperature) = CASTINGS_AT;
        let figures = |flow: Flow| {
            let product = trace.ledger.matter(flow);
            (product.wet() > 0.0).then(|| rates.figures(product, density, acids, temperature))
        };
        let castings = figures(Flow::Screened);
        let sold = figures(Flow::CastingsSold).or(castings);
        Self { trace, castings, sold, later: None }
    }

    /// With its settled year, made with the same values.
    #[must_use]
    pub fn and_later(
        self,
        later: Option<LaterYear<'a>>,
        get: &dyn Fn(&str) -> f64,
        acids: &AcidConstants,
    ) -> Self {
        let read = |year: LaterYear<'a>| (Box::new(Self::of(year.trace, get, acids)), year);
        Self { later: later.map(read), ..self }
    }

    /// A figure of the settled year. None where none is sought.
    fn settled(&self, of: fn(&FigureSource<'_>) -> Option<f64>) -> Option<f64> {
        self.later.as_ref().and_then(|(year, _)| of(year))
    }

    /// Share of the scraps of so many first days that was turned away. None if none arrived.
    fn turned_away(&self, days: usize) -> Option<f64> {
        let daily = &self.trace.daily[..days.min(self.trace.daily.len())];
        part(daily.iter().map(|d| d.turned_away).sum(), daily.iter().map(|d| d.intake).sum())
    }

    fn total(&self, of: fn(&DayRecord) -> f64) -> f64 {
        self.trace.daily.iter().map(of).sum()
    }

    fn highest(&self, of: fn(&DayRecord) -> f64) -> f64 {
        self.trace.daily.iter().map(of).fold(0.0, f64::max)
    }

    fn matter(&self, flow: Flow) -> &Material {
        self.trace.ledger.matter(flow)
    }

    /// An element in the intake and in all else that was brought to the beds, kg.
    fn brought(&self, element: Element) -> f64 {
        [Flow::Intake, Flow::FreshScraps, Flow::BranSupplies, Flow::Bulking, Flow::Grit, Flow::StockBought]
            .iter()
            .map(|flow| self.matter(*flow).element(element))
            .sum()
    }

    fn gases(&self) -> Gases {
        self.trace.ledger.all_gases()
    }

    /// A figure of the beds. None if the site has no beds.
    fn of_beds(&self, value: f64) -> Option<f64> {
        (!self.trace.tally.beds.is_empty()).then_some(value)
    }

    /// A figure of the castings. None if there are no castings.
    fn castings(&self, of: fn(&QualityFigures) -> f64) -> Option<f64> {
        self.castings.as_ref().map(of)
    }

    /// A figure of the castings as sold alone, else through the screen. None if there are no castings.
    fn sold(&self, of: fn(&QualityFigures) -> f64) -> Option<f64> {
        self.sold.as_ref().map(of)
    }
}

/// A part of a whole. None if the whole is 0.
fn part(part: f64, whole: f64) -> Option<f64> {
    (whole > 0.0).then(|| part / whole)
}

/// A figure of a run.
pub struct RunFigure {
    /// Name in files.
    pub name: &'static str,
    /// What it measures, which says in which units a limit may be given.
    pub kind: Kind,
    /// Unit in files, SI; `1` for a count or a ratio of counts.
    pub unit: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    of: fn(&FigureSource<'_>) -> Option<f64>,
}

/// Shares whose part may be more than the whole: it holds also what was there before, or is set against a year of a shorter run.
const MAY_EXCEED_ONE: [&str; 4] =
    ["carbon_to_air_share", "nitrogen_to_air_share", "backlog", "settled_taken_share"];
/// What no sum of a run reaches, in SI units: a million tonnes a day for a century is 4e13 kg. Our choice.
const BEYOND_REACH: f64 = 1e15;
/// What rounding may leave below zero, in the unit of the figure. Our choice.
pub const BELOW_ZERO: f64 = 1e-6;
/// What rounding may add to a share of 1. Our choice.
const ABOVE_ONE: f64 = 1e-9;

impl RunFigure {
    /// Lowest and highest value that any run can give, in its unit.
    pub fn possible(&self) -> (f64, f64) {
        match self.kind {
            Kind::Temperature => (-90.0, 200.0),
            Kind::Acidity => (0.0, 14.0),
            Kind::Share if !MAY_EXCEED_ONE.contains(&self.name) => (-BELOW_ZERO, 1.0 + ABOVE_ONE),
            _ => (-BELOW_ZERO, BEYOND_REACH),
        }
    }
}

/// The first figure of a row with a value that no run can give: its name, the value, lowest and highest.
pub fn impossible(values: &[impl Into<Option<f64>> + Copy]) -> Option<(&'static str, f64, (f64, f64))> {
    TABLE.iter().zip(values).find_map(|(figure, value)| {
        let (value, (low, high)) = ((*value).into()?, figure.possible());
        (!(low..=high).contains(&value)).then_some((figure.name, value, (low, high)))
    })
}

/// Values of the figures of a run, in the order of [`TABLE`]; None if there is nothing to measure, for example the moisture of castings in a run without castings.
pub type RunFigures = [Option<f64>; FIGURES];

/// How the names of figures of the settled year begin.
pub const SETTLED: &str = "settled_";

/// Name of the figure of the start-up, which is no figure of a year.
pub const START_UP_TURNED_AWAY: &str = "start_up_turned_away_share";

/// Figures of drums and of what they hold: a site without drums has zeros there, which say nothing.
const OF_DRUMS: [&str; 10] = [
    "bran_used",
    "drums_highest",
    "drums_mean",
    "drums_spoiled_share",
    "opened_ph",
    "liquor",
    "room_carbon_dioxide",
    "room_carbon_dioxide_shift",
    "settled_drums_highest",
    "settled_drums_spoiled_share",
];

/// Whether a figure, by its name, is one of drums.
pub fn is_of_drums(name: &str) -> bool {
    OF_DRUMS.contains(&name)
}

/// Number of figures.
pub const FIGURES: usize = TABLE.len();

const fn row(
    name: &'static str,
    kind: Kind,
    unit: &'static str,
    what: &'static str,
    of: fn(&FigureSource<'_>) -> Option<f64>,
) -> RunFigure {
    RunFigure { name, kind, unit, what, of }
}

fn turned_away_share(s: &FigureSource<'_>) -> Option<f64> {
    s.turned_away(usize::MAX)
}

/// Share of the scraps that the beds took: neither turned away nor added to what waits in drums and as paste. None if none arrived.
fn taken_share(s: &FigureSource<'_>) -> Option<f64> {
    let (intake, away) = (s.total(|d| d.intake), s.total(|d| d.turned_away));
    let waiting = |holder| s.trace.holding(holder).map(|h| h.end.wet() - h.start.wet());
    part((intake - away - waiting(Holder::Drums)? - waiting(Holder::Paste)?).max(0.0), intake)
}

fn fed(s: &FigureSource<'_>) -> f64 {
    s.total(|d| d.fed)
}

fn bulking(s: &FigureSource<'_>) -> f64 {
    s.total(|d| d.bulking)
}

fn drums_highest(s: &FigureSource<'_>) -> f64 {
    s.highest(|d| d.drums_in_use)
}

fn drums_spoiled_share(s: &FigureSource<'_>) -> Option<f64> {
    part(s.total(|d| d.drums_spoiled), s.trace.tally.sealed as f64)
}

fn castings_harvested_dry(s: &FigureSource<'_>) -> f64 {
    s.matter(Flow::Harvest).dry()
}

fn product_sold(s: &FigureSource<'_>) -> f64 {
    s.matter(Flow::CastingsSold).wet() + s.matter(Flow::BlendSold).wet()
}

fn stock_mean(s: &FigureSource<'_>) -> Option<f64> {
    part(s.total(|d| d.stock), s.trace.daily.len() as f64)
}

fn starving_share(s: &FigureSource<'_>) -> Option<f64> {
    part(s.total(|d| d.starving_beds), s.trace.tally.beds.len() as f64 * s.trace.daily.len() as f64)
}

/// Share of the dead worms that hunger killed. None if none died.
fn hunger_deaths_share(s: &FigureSource<'_>) -> Option<f64> {
    let deaths = &s.trace.tally.deaths;
    let hunger = Deaths::CAUSES.iter().position(|cause| *cause == Deaths::HUNGER)?;
    part(deaths[hunger], deaths.iter().sum())
}

fn bed_hottest(s: &FigureSource<'_>) -> Option<f64> {
    s.of_beds(s.highest(|d| d.bed_hottest))
}

fn bed_ph_lowest(s: &FigureSource<'_>) -> Option<f64> {
    s.of_beds(s.trace.daily.iter().map(|d| d.bed_ph_lowest).fold(14.0, f64::min))
}

fn irrigation(s: &FigureSource<'_>) -> f64 {
    s.total(|d| d.irrigation)
}

fn methane(s: &FigureSource<'_>) -> f64 {
    s.gases()[Gas::Methane]
}

fn nitrous_oxide(s: &FigureSource<'_>) -> f64 {
    s.gases()[Gas::NitrousOxide]
}

fn castings_carbon_to_nitrogen(s: &FigureSource<'_>) -> Option<f64> {
    s.castings(|c| c.carbon_to_nitrogen)
}

/// Every figure, in the order of the files. Those of the settled year are of the last year simulated where none settles.
pub const TABLE: [RunFigure; 59] = [
    row("intake", Kind::Mass, "kg", "scraps that arrived", |s| Some(s.total(|d| d.intake))),
    row("turned_away_share", Kind::Share, "kg/kg", "share of the scraps turned away", turned_away_share),
    row("fed", Kind::Mass, "kg", "paste with bulking laid", |s| Some(fed(s))),
    row("bulking", Kind::Mass, "kg", "bulking used", |s| Some(bulking(s))),
    row("bran_used", Kind::Mass, "kg", "bran used", |s| Some(s.total(|d| d.bran_used))),
    row("drums_highest", Kind::Count, "1", "most drums in use", |s| Some(drums_highest(s))),
    row("drums_mean", Kind::Factor, "1", "mean drums in use", |s| {
        part(s.total(|d| d.drums_in_use), s.trace.daily.len() as f64)
    }),
    row("drums_spoiled_share", Kind::Share, "1", "spoiled drums over sealed ones", drums_spoiled_share),
    row("opened_ph", Kind::Acidity, "pH", "mean pH of drums opened", |s| {
        part(s.trace.tally.opened_ph, s.trace.tally.opened as f64)
    }),
    row("liquor", Kind::Mass, "kg", "liquor drained", |s| Some(s.total(|d| d.liquor))),
    row("room_carbon_dioxide", Kind::Factor, "ppm", "highest carbon dioxide in the drum room", |s| {
        Some(s.highest(|d| d.room_carbon_dioxide))
    }),
    row(
        "room_carbon_dioxide_shift",
        Kind::Factor,
        "ppm",
        "carbon dioxide in the drum room, mean of eight hours",
        |s| Some(s.highest(|d| d.room_carbon_dioxide_shift)),
    ),
    row("castings_harvested_dry", Kind::Mass, "kg", "castings harvested, dry matter", |s| {
        Some(castings_harvested_dry(s))
    }),
    row("castings_screened", Kind::Mass, "kg", "castings through the screen", |s| {
        Some(s.matter(Flow::Screened).wet())
    }),
    row("product_sold", Kind::Mass, "kg", "castings and blend sold", |s| Some(product_sold(s))),
    row("stock_end", Kind::Mass, "kg", "worms at the end", |s| {
        Some(s.trace.daily.last().map_or(0.0, |d| d.stock))
    }),
    row("stock_mean", Kind::Mass, "kg", "worms, mean", stock_mean),
    row("stock_kept", Kind::Factor, "1", "worms at the end over all put in", |s| {
        let stock = s.trace.holding(Holder::Stock)?;
        part(stock.end.wet(), stock.start.wet() + s.matter(Flow::StockBought).wet())
    }),
    row("intake_per_worm", Kind::Ration, "kg/(kg d)", "feed eaten per worm, as feed of 80 % water", |s| {
        part(s.total(|d| d.eaten), s.total(|d| d.stock))
    }),
    row("starving_share", Kind::Share, "1", "share of bed-days on which worms starved", starving_share),
    row("bed_hottest", Kind::Temperature, "°C", "hottest spot of any bed", bed_hottest),
    row("bed_ph_lowest", Kind::Acidity, "pH", "lowest pH where worms live", bed_ph_lowest),
    row("irrigation", Kind::Mass, "kg", "water added to beds", |s| Some(irrigation(s))),
    row("carbon_to_air_share", Kind::Share, "kg/kg", "carbon lost to the air, of that brought in", |s| {
        part(s.gases().element(Element::Carbon), s.brought(Element::Carbon))
    }),
    row("nitrogen_to_air_share", Kind::Share, "kg/kg", "nitrogen lost to the air, of that brought in", |s| {
        part(s.gases().element(Element::Nitrogen), s.brought(Element::Nitrogen))
    }),
    row("methane", Kind::Mass, "kg", "methane given off", |s| Some(methane(s))),
    row("nitrous_oxide", Kind::Mass, "kg", "nitrous oxide given off", |s| Some(nitrous_oxide(s))),
    row("castings_moisture", Kind::Share, "kg/kg", "moisture of castings through the screen", |s| {
        s.castings(|c| c.moisture)
    }),
    row("castings_carbon_to_nitrogen", Kind::Factor, "kg/kg", "C:N of castings", castings_carbon_to_nitrogen),
    row("castings_nitrogen", Kind::Share, "kg/kg", "nitrogen of castings, on dry matter", |s| {
        s.castings(|c| c.nitrogen)
    }),
    row("castings_conductivity", Kind::Factor, "dS/m", "conductivity of castings, 1:5 extract", |s| {
        s.castings(|c| c.conductivity_1_to_5)
    }),
    row("castings_carbon", Kind::Share, "kg/kg", "carbon of castings, on dry matter", |s| {
        s.castings(|c| c.carbon)
    }),
    row("castings_phosphate", Kind::Share, "kg/kg", "phosphate (P2O5) of castings, on dry matter", |s| {
        s.castings(|c| c.phosphate)
    }),
    row("castings_potash", Kind::Share, "kg/kg", "potash (K2O) of castings, on dry matter", |s| {
        s.castings(|c| c.potash)
    }),
    row("castings_ph", Kind::Acidity, "pH", "pH of castings as sold alone, else through the screen", |s| {
        s.sold(|c| c.ph)
    }),
    row(
        "castings_conductivity_saturated",
        Kind::Factor,
        "dS/m",
        "conductivity of castings, saturated extract",
        |s| s.castings(|c| c.conductivity_saturated),
    ),
    row("backlog", Kind::Share, "kg/kg", "scraps in drums and ground at the end, of a year's intake", |s| {
        let waiting = |holder| s.trace.holding(holder).map(|h| h.end.wet());
        let years = s.trace.daily.len() as f64 / YEAR;
        part(waiting(Holder::Drums)? + waiting(Holder::Paste)?, s.total(|d| d.intake) / years)
    }),
    row("castings_nitrate_nitrogen", Kind::Share, "kg/kg", "nitrate-N of castings, on dry matter", |s| {
        s.sold(|c| c.nitrate_nitrogen)
    }),
    row("castings_ammonium_nitrogen", Kind::Share, "kg/kg", "ammonium-N of castings, on dry matter", |s| {
        s.sold(|c| c.ammonium_nitrogen)
    }),
    row(
        START_UP_TURNED_AWAY,
        Kind::Share,
        "kg/kg",
        "share of the scraps of the first half-year turned away",
        |s| s.turned_away(START_UP),
    ),
    row("settled_year", Kind::Count, "1", "settled year, counted from the first", |s| {
        let (_, year) = s.later.as_ref()?;
        (year.settling == Settling::Settled).then_some(year.sums.len() as f64)
    }),
    row(
        "settled_turned_away_share",
        Kind::Share,
        "kg/kg",
        "settled year: share of the scraps turned away",
        |s| s.settled(turned_away_share),
    ),
    row("settled_fed", Kind::Mass, "kg", "settled year: paste with bulking laid", |s| {
        s.settled(|year| Some(fed(year)))
    }),
    row("settled_bulking", Kind::Mass, "kg", "settled year: bulking used", |s| {
        s.settled(|year| Some(bulking(year)))
    }),
    row("settled_drums_highest", Kind::Count, "1", "settled year: most drums in use", |s| {
        s.settled(|year| Some(drums_highest(year)))
    }),
    row(
        "settled_drums_spoiled_share",
        Kind::Share,
        "1",
        "settled year: spoiled drums over sealed ones",
        |s| s.settled(drums_spoiled_share),
    ),
    row(
        "settled_castings_harvested_dry",
        Kind::Mass,
        "kg",
        "settled year: castings harvested, dry matter",
        |s| s.settled(|year| Some(castings_harvested_dry(year))),
    ),
    row("settled_product_sold", Kind::Mass, "kg", "settled year: castings and blend sold", |s| {
        s.settled(|year| Some(product_sold(year)))
    }),
    row("settled_stock_mean", Kind::Mass, "kg", "settled year: worms, mean", |s| s.settled(stock_mean)),
    row(
        "settled_stock_kept",
        Kind::Factor,
        "1",
        "settled year: worms, mean, over those of the year before",
        |s| {
            let (_, year) = s.later.as_ref()?;
            let [.., before, now] = year.sums else { return None };
            part(now.stock_mean, before.stock_mean)
        },
    ),
    row(
        "settled_taken_share",
        Kind::Share,
        "kg/kg",
        "settled year: share of the scraps that the beds took",
        |s| s.settled(taken_share),
    ),
    row(
        "settled_starving_share",
        Kind::Share,
        "1",
        "settled year: share of bed-days on which worms starved",
        |s| s.settled(starving_share),
    ),
    row(
        "settled_hunger_deaths_share",
        Kind::Share,
        "1",
        "settled year: share of dead worms that hunger killed",
        |s| s.settled(hunger_deaths_share),
    ),
    row("settled_bed_hottest", Kind::Temperature, "°C", "settled year: hottest spot of any bed", |s| {
        s.settled(bed_hottest)
    }),
    row("settled_bed_ph_lowest", Kind::Acidity, "pH", "settled year: lowest pH where worms live", |s| {
        s.settled(bed_ph_lowest)
    }),
    row("settled_irrigation", Kind::Mass, "kg", "settled year: water added to beds", |s| {
        s.settled(|year| Some(irrigation(year)))
    }),
    row("settled_methane", Kind::Mass, "kg", "settled year: methane given off", |s| {
        s.settled(|year| Some(methane(year)))
    }),
    row("settled_nitrous_oxide", Kind::Mass, "kg", "settled year: nitrous oxide given off", |s| {
        s.settled(|year| Some(nitrous_oxide(year)))
    }),
    row("settled_castings_carbon_to_nitrogen", Kind::Factor, "kg/kg", "settled year: C:N of castings", |s| {
        s.settled(castings_carbon_to_nitrogen)
    }),
];

/// Reads every figure of a run, in the units of [`TABLE`].
pub fn read(source: &FigureSource<'_>) -> RunFigures {
    std::array::from_fn(|n| (TABLE[n].of)(source))
}

/// Place of a figure in [`TABLE`], by its name. None if no figure has that name.
pub fn place(name: &str) -> Option<usize> {
    TABLE.iter().position(|f| f.name == name)
}

/// Whether any of these figures, by their places, is read off the settled year; else a site need not be followed beyond its run.
pub fn need_later_years(places: impl IntoIterator<Item = usize>) -> bool {
    places.into_iter().any(|place| TABLE[place].name.starts_with(SETTLED))
}

/// The figure of a name. None if no figure has it.
pub fn figure(name: &str) -> Option<&'static RunFigure> {
    place(name).map(|place| &TABLE[place])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique() {
        for (n, figure) in TABLE.iter().enumerate() {
            assert_eq!(place(figure.name), Some(n), "{}", figure.name);
        }
    }
}
