//! The figures kept of every draw, and the failures read off them.

use crate::matter::{Element, Gas, Gases, Material};
use crate::process::acidity::AcidConstants;
use crate::process::quality::{QualityFigures, QualityRates};
use crate::trace::{DayRecord, Flow, Trace};

/// Days of a year. # Units: d/a
const YEAR: f64 = 365.0;

/// What a figure is read from: the trace of a run, and the quality of its castings.
pub struct Seen<'a> {
    trace: &'a Trace,
    /// Castings through the screen, if any.
    castings: Option<QualityFigures>,
    /// Curing moves the pH by a unit and more, so it is read off what is sold, if anything is.
    castings_ph: Option<f64>,
}

/// Bulk density, on which no figure kept here depends, and temperature of pH at which quality is reckoned. # Units: kg/m3, °C
/// # Source: our choice
const CASTINGS_AT: (f64, f64) = (650.0, 20.0);

impl<'a> Seen<'a> {
    /// Of a run, with the rates of product quality and the acids that it was made with.
    pub fn of(trace: &'a Trace, rates: &QualityRates, acids: &AcidConstants) -> Self {
        let (density, temperature) = CASTINGS_AT;
        let figures = |flow: Flow| {
            let product = trace.ledger.matter(flow);
            (product.wet() > 0.0).then(|| rates.figures(product, density, acids, temperature))
        };
        let castings = figures(Flow::Screened);
        let castings_ph = figures(Flow::CastingsSold).or(castings).map(|c| c.ph);
        Self { trace, castings, castings_ph }
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

    /// Intake and all else that was brought to the beds. # Units: kg
    fn brought(&self, element: Element) -> f64 {
        [Flow::Intake, Flow::BranSupplies, Flow::Bulking, Flow::StockBought]
            .iter()
            .map(|flow| self.matter(*flow).element(element))
            .sum()
    }

    fn gases(&self) -> &Gases {
        &self.trace.tally.gases
    }

    /// A figure of the beds; none where there are none.
    fn of_beds(&self, value: f64) -> Option<f64> {
        (!self.trace.tally.beds.is_empty()).then_some(value)
    }

    /// A figure of the castings; none where there are none.
    fn castings(&self, of: fn(&QualityFigures) -> f64) -> Option<f64> {
        self.castings.as_ref().map(of)
    }
}

/// A part of a whole; none where there is no whole.
fn part(part: f64, whole: f64) -> Option<f64> {
    (whole > 0.0).then(|| part / whole)
}

/// A figure of a draw.
pub struct Figure {
    /// Name in files.
    pub name: &'static str,
    /// Unit, SI; `1` for a count or a ratio of counts.
    pub unit: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    of: fn(&Seen<'_>) -> Option<f64>,
}

/// Figures of a draw, in the order of [`TABLE`]; none where there is nothing to measure, such as the moisture of no castings.
pub type Figures = [Option<f64>; FIGURES];

/// Number of figures.
pub const FIGURES: usize = TABLE.len();

/// Every figure, in the order of the files.
pub const TABLE: [Figure; 36] = [
    Figure { name: "intake", unit: "kg", what: "scraps that arrived", of: |s| Some(s.total(|d| d.intake)) },
    Figure {
        name: "turned_away_share",
        unit: "kg/kg",
        what: "share of the scraps turned away",
        of: |s| part(s.total(|d| d.turned_away), s.total(|d| d.intake)),
    },
    Figure { name: "fed", unit: "kg", what: "paste with bulking laid", of: |s| Some(s.total(|d| d.fed)) },
    Figure { name: "bulking", unit: "kg", what: "bulking used", of: |s| Some(s.total(|d| d.bulking)) },
    Figure { name: "bran_used", unit: "kg", what: "bran used", of: |s| Some(s.total(|d| d.bran_used)) },
    Figure {
        name: "drums_highest",
        unit: "1",
        what: "most drums in use",
        of: |s| Some(s.highest(|d| d.drums_in_use)),
    },
    Figure {
        name: "drums_mean",
        unit: "1",
        what: "mean drums in use",
        of: |s| part(s.total(|d| d.drums_in_use), s.trace.daily.len() as f64),
    },
    Figure {
        name: "drums_spoiled_share",
        unit: "1",
        what: "spoiled drums over sealed ones",
        of: |s| part(s.total(|d| d.drums_spoiled), s.trace.tally.sealed),
    },
    Figure {
        name: "opened_ph",
        unit: "pH",
        what: "mean pH of drums opened",
        of: |s| part(s.trace.tally.opened_ph, s.trace.tally.opened),
    },
    Figure { name: "liquor", unit: "kg", what: "liquor drained", of: |s| Some(s.total(|d| d.liquor)) },
    Figure {
        name: "room_carbon_dioxide",
        unit: "ppm",
        what: "highest carbon dioxide in the drum room",
        of: |s| Some(s.highest(|d| d.room_carbon_dioxide)),
    },
    Figure {
        name: "castings_harvested_dry",
        unit: "kg",
        what: "castings harvested, dry matter",
        of: |s| Some(s.matter(Flow::Harvest).dry()),
    },
    Figure {
        name: "castings_screened",
        unit: "kg",
        what: "castings through the screen",
        of: |s| Some(s.matter(Flow::Screened).wet()),
    },
    Figure {
        name: "product_sold",
        unit: "kg",
        what: "castings and blend sold",
        of: |s| Some(s.matter(Flow::CastingsSold).wet() + s.matter(Flow::BlendSold).wet()),
    },
    Figure {
        name: "stock_end",
        unit: "kg",
        what: "worms at the end",
        of: |s| Some(s.trace.daily.last().map_or(0.0, |d| d.stock)),
    },
    Figure {
        name: "stock_mean",
        unit: "kg",
        what: "worms, mean",
        of: |s| part(s.total(|d| d.stock), s.trace.daily.len() as f64),
    },
    Figure {
        name: "stock_kept",
        unit: "1",
        what: "worms at the end over all put in",
        of: |s| {
            let start = s.trace.held.iter().find(|h| h.stage == "stock").map_or(0.0, |h| h.start.wet());
            let end = s.trace.held.iter().find(|h| h.stage == "stock").map_or(0.0, |h| h.end.wet());
            part(end, start + s.matter(Flow::StockBought).wet())
        },
    },
    Figure {
        name: "intake_per_worm",
        unit: "kg/(kg d)",
        what: "feed eaten per worm, as feed of 80 % water",
        of: |s| part(s.total(|d| d.eaten), s.total(|d| d.stock)),
    },
    Figure {
        name: "starving_share",
        unit: "1",
        what: "share of bed-days on which worms starved",
        of: |s| {
            let beds = s.trace.tally.beds.len() as f64;
            part(s.total(|d| d.starving_beds), beds * s.trace.daily.len() as f64)
        },
    },
    Figure {
        name: "bed_hottest",
        unit: "°C",
        what: "hottest spot of any bed",
        of: |s| s.of_beds(s.highest(|d| d.bed_hottest)),
    },
    Figure {
        name: "bed_ph_lowest",
        unit: "pH",
        what: "lowest pH where worms live",
        of: |s| s.of_beds(s.trace.daily.iter().map(|d| d.bed_ph_lowest).fold(14.0, f64::min)),
    },
    Figure {
        name: "irrigation",
        unit: "kg",
        what: "water added to beds",
        of: |s| Some(s.total(|d| d.irrigation)),
    },
    Figure {
        name: "carbon_to_air_share",
        unit: "kg/kg",
        what: "carbon lost to the air, of that brought in",
        of: |s| part(s.gases().element(Element::Carbon), s.brought(Element::Carbon)),
    },
    Figure {
        name: "nitrogen_to_air_share",
        unit: "kg/kg",
        what: "nitrogen lost to the air, of that brought in",
        of: |s| part(s.gases().element(Element::Nitrogen), s.brought(Element::Nitrogen)),
    },
    Figure { name: "methane", unit: "kg", what: "methane given off", of: |s| Some(s.gases()[Gas::Methane]) },
    Figure {
        name: "nitrous_oxide",
        unit: "kg",
        what: "nitrous oxide given off",
        of: |s| Some(s.gases()[Gas::NitrousOxide]),
    },
    Figure {
        name: "castings_moisture",
        unit: "kg/kg",
        what: "moisture of castings through the screen",
        of: |s| s.castings(|c| c.moisture),
    },
    Figure {
        name: "castings_carbon_to_nitrogen",
        unit: "kg/kg",
        what: "C:N of castings",
        of: |s| s.castings(|c| c.carbon_to_nitrogen),
    },
    Figure {
        name: "castings_nitrogen",
        unit: "kg/kg",
        what: "nitrogen of castings, on dry matter",
        of: |s| s.castings(|c| c.nitrogen),
    },
    Figure {
        name: "castings_conductivity",
        unit: "dS/m",
        what: "conductivity of castings, 1:5 extract",
        of: |s| s.castings(|c| c.conductivity_1_to_5),
    },
    Figure {
        name: "castings_carbon",
        unit: "kg/kg",
        what: "carbon of castings, on dry matter",
        of: |s| s.castings(|c| c.carbon),
    },
    Figure {
        name: "castings_phosphate",
        unit: "kg/kg",
        what: "phosphate (P2O5) of castings, on dry matter",
        of: |s| s.castings(|c| c.phosphate),
    },
    Figure {
        name: "castings_potash",
        unit: "kg/kg",
        what: "potash (K2O) of castings, on dry matter",
        of: |s| s.castings(|c| c.potash),
    },
    Figure {
        name: "castings_ph",
        unit: "pH",
        what: "pH of castings as sold alone, else through the screen",
        of: |s| s.castings_ph,
    },
    Figure {
        name: "castings_conductivity_saturated",
        unit: "dS/m",
        what: "conductivity of castings, saturated extract",
        of: |s| s.castings(|c| c.conductivity_saturated),
    },
    Figure {
        name: "backlog",
        unit: "kg/kg",
        what: "scraps in drums and ground at the end, of a year's intake",
        of: |s| {
            let waiting =
                s.trace.held.iter().filter(|h| ["drums", "paste"].contains(&h.stage)).map(|h| h.end.wet());
            let years = s.trace.daily.len() as f64 / YEAR;
            part(waiting.sum(), s.total(|d| d.intake) / years)
        },
    },
];

/// Reads every figure of a run, in the units of [`TABLE`].
pub fn read(seen: &Seen<'_>) -> Figures {
    std::array::from_fn(|n| (TABLE[n].of)(seen))
}

/// Place of a figure in [`TABLE`], by its name; none for a name that is no figure.
pub fn place(name: &str) -> Option<usize> {
    TABLE.iter().position(|f| f.name == name)
}

/// A way for a run to fail: a figure above or below a limit.
pub struct Failure {
    /// Name in files.
    pub name: &'static str,
    /// When a draw counts as failed, in words.
    pub statement: &'static str,
    figure: &'static str,
    above: bool,
    limit: f64,
}

/// Every failure. # Source: limits are choices of ours, but for two: above 33 °C worms of the model die of heat (`process::worm`), and C:N 20
/// is the most of a published rule (`site.standard_carbon_to_nitrogen_maximum`).
pub const FAILURES: [Failure; 7] = [
    Failure {
        name: "turned_away",
        statement: "more than 2 % of the intake finds no drum",
        figure: "turned_away_share",
        above: true,
        limit: 0.02,
    },
    Failure {
        name: "spoiled",
        statement: "more than 2 % of the drums spoil",
        figure: "drums_spoiled_share",
        above: true,
        limit: 0.02,
    },
    Failure {
        name: "overheated",
        statement: "a bed passes 33 °C somewhere, where worms begin to die",
        figure: "bed_hottest",
        above: true,
        limit: 33.0,
    },
    Failure {
        name: "soured",
        statement: "a bed falls below pH 5 where worms live",
        figure: "bed_ph_lowest",
        above: false,
        limit: 5.0,
    },
    Failure {
        name: "starved",
        statement: "worms starve on more than 5 % of the bed-days",
        figure: "starving_share",
        above: true,
        limit: 0.05,
    },
    Failure {
        name: "stock_lost",
        statement: "fewer worms at the end than were bought or there at the start",
        figure: "stock_kept",
        above: false,
        limit: 1.0,
    },
    Failure {
        name: "off_standard",
        statement: "castings with C:N above 20",
        figure: "castings_carbon_to_nitrogen",
        above: true,
        limit: 20.0,
    },
];

impl Failure {
    /// Whether the figures of a draw fail; none where there is nothing that could, such as castings off standard where there
    /// are none.
    ///
    /// # Panics
    /// When the failure names no figure (a fault of ours, found by a test).
    pub fn happened(&self, figures: &Figures) -> Option<bool> {
        let value = figures[place(self.figure).expect("a failure names a figure of the table")];
        value.map(|value| if self.above { value > self.limit } else { value < self.limit })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_failures_name_figures() {
        for (n, figure) in TABLE.iter().enumerate() {
            assert_eq!(place(figure.name), Some(n), "{}", figure.name);
        }
        for failure in FAILURES {
            assert!(place(failure.figure).is_some(), "{}", failure.name);
        }
    }

    #[test]
    fn a_draw_fails_above_or_below_its_limit_by_kind() {
        for failure in FAILURES {
            let happened = |value: Option<f64>| {
                let mut figures = [None; FIGURES];
                figures[place(failure.figure).unwrap()] = value;
                failure.happened(&figures)
            };
            assert_eq!(happened(Some(failure.limit + 0.001)), Some(failure.above), "{}", failure.name);
            assert_eq!(happened(Some(failure.limit - 0.001)), Some(!failure.above), "{}", failure.name);
            assert_eq!(happened(Some(failure.limit)), Some(false));
            assert_eq!(happened(None), None);
        }
    }
}
