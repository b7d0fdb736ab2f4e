//! The figures of a run: name, unit, words and how each is read, one row each; and the failures read off them.
//!
//! They are kept of every draw, named by targets of a sizing and by the options of commands, and shown in pages and files.

use super::{DayRecord, Flow, Holder, Trace};
use crate::matter::{Element, Gas, Gases, Material};
use crate::process::acidity::AcidConstants;
use crate::process::quality::{QualityFigures, QualityRates};
use crate::quantity::Kind;

/// Days of a year.
const YEAR: f64 = 365.0;

/// What a figure is read from: the trace of a run, and the quality of its castings.
pub struct FigureSource<'a> {
    trace: &'a Trace,
    /// Castings through the screen, if any.
    castings: Option<QualityFigures>,
    /// Castings sold, if any, else those screened: curing moves their pH and their mineral nitrogen.
    sold: Option<QualityFigures>,
}

/// Bulk density in kg/m3, on which no figure kept here depends, and temperature in °C at which the pH is computed. Our choice.
const CASTINGS_AT: (f64, f64) = (650.0, 20.0);

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
        Self { trace, castings, sold }
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
        [Flow::Intake, Flow::BranSupplies, Flow::Bulking, Flow::Grit, Flow::StockBought]
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

/// Values of the figures of a run, in the order of [`TABLE`]; None if there is nothing to measure, for example the moisture of castings in a run without castings.
pub type RunFigures = [Option<f64>; FIGURES];

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

/// Every figure, in the order of the files.
pub const TABLE: [RunFigure; 38] = [
    row("intake", Kind::Mass, "kg", "scraps that arrived", |s| Some(s.total(|d| d.intake))),
    row("turned_away_share", Kind::Share, "kg/kg", "share of the scraps turned away", |s| {
        part(s.total(|d| d.turned_away), s.total(|d| d.intake))
    }),
    row("fed", Kind::Mass, "kg", "paste with bulking laid", |s| Some(s.total(|d| d.fed))),
    row("bulking", Kind::Mass, "kg", "bulking used", |s| Some(s.total(|d| d.bulking))),
    row("bran_used", Kind::Mass, "kg", "bran used", |s| Some(s.total(|d| d.bran_used))),
    row("drums_highest", Kind::Count, "1", "most drums in use", |s| Some(s.highest(|d| d.drums_in_use))),
    row("drums_mean", Kind::Factor, "1", "mean drums in use", |s| {
        part(s.total(|d| d.drums_in_use), s.trace.daily.len() as f64)
    }),
    row("drums_spoiled_share", Kind::Share, "1", "spoiled drums over sealed ones", |s| {
        part(s.total(|d| d.drums_spoiled), s.trace.tally.sealed as f64)
    }),
    row("opened_ph", Kind::Acidity, "pH", "mean pH of drums opened", |s| {
        part(s.trace.tally.opened_ph, s.trace.tally.opened as f64)
    }),
    row("liquor", Kind::Mass, "kg", "liquor drained", |s| Some(s.total(|d| d.liquor))),
    row("room_carbon_dioxide", Kind::Factor, "ppm", "highest carbon dioxide in the drum room", |s| {
        Some(s.highest(|d| d.room_carbon_dioxide))
    }),
    row("castings_harvested_dry", Kind::Mass, "kg", "castings harvested, dry matter", |s| {
        Some(s.matter(Flow::Harvest).dry())
    }),
    row("castings_screened", Kind::Mass, "kg", "castings through the screen", |s| {
        Some(s.matter(Flow::Screened).wet())
    }),
    row("product_sold", Kind::Mass, "kg", "castings and blend sold", |s| {
        Some(s.matter(Flow::CastingsSold).wet() + s.matter(Flow::BlendSold).wet())
    }),
    row("stock_end", Kind::Mass, "kg", "worms at the end", |s| {
        Some(s.trace.daily.last().map_or(0.0, |d| d.stock))
    }),
    row("stock_mean", Kind::Mass, "kg", "worms, mean", |s| {
        part(s.total(|d| d.stock), s.trace.daily.len() as f64)
    }),
    row("stock_kept", Kind::Factor, "1", "worms at the end over all put in", |s| {
        let stock = s.trace.holding(Holder::Stock)?;
        part(stock.end.wet(), stock.start.wet() + s.matter(Flow::StockBought).wet())
    }),
    row("intake_per_worm", Kind::Ration, "kg/(kg d)", "feed eaten per worm, as feed of 80 % water", |s| {
        part(s.total(|d| d.eaten), s.total(|d| d.stock))
    }),
    row("starving_share", Kind::Share, "1", "share of bed-days on which worms starved", |s| {
        let beds = s.trace.tally.beds.len() as f64;
        part(s.total(|d| d.starving_beds), beds * s.trace.daily.len() as f64)
    }),
    row("bed_hottest", Kind::Temperature, "°C", "hottest spot of any bed", |s| {
        s.of_beds(s.highest(|d| d.bed_hottest))
    }),
    row("bed_ph_lowest", Kind::Acidity, "pH", "lowest pH where worms live", |s| {
        s.of_beds(s.trace.daily.iter().map(|d| d.bed_ph_lowest).fold(14.0, f64::min))
    }),
    row("irrigation", Kind::Mass, "kg", "water added to beds", |s| Some(s.total(|d| d.irrigation))),
    row("carbon_to_air_share", Kind::Share, "kg/kg", "carbon lost to the air, of that brought in", |s| {
        part(s.gases().element(Element::Carbon), s.brought(Element::Carbon))
    }),
    row("nitrogen_to_air_share", Kind::Share, "kg/kg", "nitrogen lost to the air, of that brought in", |s| {
        part(s.gases().element(Element::Nitrogen), s.brought(Element::Nitrogen))
    }),
    row("methane", Kind::Mass, "kg", "methane given off", |s| Some(s.gases()[Gas::Methane])),
    row("nitrous_oxide", Kind::Mass, "kg", "nitrous oxide given off", |s| Some(s.gases()[Gas::NitrousOxide])),
    row("castings_moisture", Kind::Share, "kg/kg", "moisture of castings through the screen", |s| {
        s.castings(|c| c.moisture)
    }),
    row("castings_carbon_to_nitrogen", Kind::Factor, "kg/kg", "C:N of castings", |s| {
        s.castings(|c| c.carbon_to_nitrogen)
    }),
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
];

/// Reads every figure of a run, in the units of [`TABLE`].
pub fn read(source: &FigureSource<'_>) -> RunFigures {
    std::array::from_fn(|n| (TABLE[n].of)(source))
}

/// Place of a figure in [`TABLE`], by its name. None if no figure has that name.
pub fn place(name: &str) -> Option<usize> {
    TABLE.iter().position(|f| f.name == name)
}

/// The figure of a name. None if no figure has it.
pub fn figure(name: &str) -> Option<&'static RunFigure> {
    place(name).map(|place| &TABLE[place])
}

/// A way for a run to fail: a figure above or below a limit.
pub struct RunFailure {
    /// Name in files.
    pub name: &'static str,
    /// When a draw counts as failed, in words.
    pub statement: &'static str,
    figure: &'static str,
    above: bool,
    limit: f64,
}

/// Every failure. The limits are our choice except two: above 33 °C worms of the model die of heat (`process::worm`), and C:N 20 is
/// the maximum of a published rule (`site.standard_carbon_to_nitrogen_maximum`).
pub const FAILURES: [RunFailure; 7] = [
    RunFailure {
        name: "turned_away",
        statement: "more than 2 % of the intake finds no drum",
        figure: "turned_away_share",
        above: true,
        limit: 0.02,
    },
    RunFailure {
        name: "spoiled",
        statement: "more than 2 % of the drums spoil",
        figure: "drums_spoiled_share",
        above: true,
        limit: 0.02,
    },
    RunFailure {
        name: "overheated",
        statement: "a bed passes 33 °C somewhere, where worms begin to die",
        figure: "bed_hottest",
        above: true,
        limit: 33.0,
    },
    RunFailure {
        name: "soured",
        statement: "a bed falls below pH 5 where worms live",
        figure: "bed_ph_lowest",
        above: false,
        limit: 5.0,
    },
    RunFailure {
        name: "starved",
        statement: "worms starve on more than 5 % of the bed-days",
        figure: "starving_share",
        above: true,
        limit: 0.05,
    },
    RunFailure {
        name: "stock_lost",
        statement: "fewer worms at the end than were bought or there at the start",
        figure: "stock_kept",
        above: false,
        limit: 1.0,
    },
    RunFailure {
        name: "off_standard",
        statement: "castings with C:N above 20",
        figure: "castings_carbon_to_nitrogen",
        above: true,
        limit: 20.0,
    },
];

impl RunFailure {
    /// Whether a run fails by its figures. None if it cannot, as castings cannot be off standard when there are none.
    ///
    /// # Panics
    /// When the failure names no figure (a fault of ours, found by a test).
    pub fn happened(&self, figures: &RunFigures) -> Option<bool> {
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
