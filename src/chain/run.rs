//! The run to the horizon, and on to a settled year.

use super::{Chain, Models, Site, SiteState};
use crate::matter::{Gases, Material};
use crate::trace::figures::LaterYear;
use crate::trace::{
    BedRecord, DayRecord, Holder, Holding, Ledger, NotClosed, Settling, Tally, Trace, YEAR, YearSums,
    settling,
};

/// What is kept of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Keep {
    /// Records of the site by day, as for one draw of many. The books are checked once a week and on the last day: accounts add up
    /// from the first morning, so an earlier gap is still found.
    Days,
    /// Records of every bed as well, and the books checked every evening.
    Beds,
}

/// Runs a site to its last day.
///
/// # Errors
/// [`NotClosed`] when a holder does not hold what was booked: a fault of the program.
pub fn run(site: &Site, models: &Models, keep: Keep) -> Result<Trace, NotClosed> {
    run_saving(site, models, keep, &[]).map(|(trace, _)| trace)
}

/// [`run`] that also returns the state on the evenings of some days of the run, in the order of the days.
///
/// # Errors
/// As [`run`].
pub fn run_saving(
    site: &Site,
    models: &Models,
    keep: Keep,
    evenings: &[usize],
) -> Result<(Trace, Vec<SiteState>), NotClosed> {
    let only = Horizon { days: site.days, most_years: 1, tolerance: 0.0 };
    follow(site, models, keep, &only, evenings).map(|years| (years.run, years.states))
}

/// Runs a site through its first days alone; they are the same to the last bit as those of its whole run. Records of every bed are
/// kept; the books are checked once a week and on the last of these days.
///
/// # Errors
/// As [`run`].
///
/// # Panics
/// If the site has fewer days.
pub fn run_days(site: &Site, models: &Models, days: usize) -> Result<Trace, NotClosed> {
    days_of(site, models, days, |chain, day, beds| chain.day(day, Some(beds)))
}

/// Days from the first on, each as `one` does it; it adds the records of beds to those given to it.
pub(super) fn days_of(
    site: &Site,
    models: &Models,
    days: usize,
    mut one: impl FnMut(&mut Chain<'_>, usize, &mut Vec<BedRecord>) -> DayRecord,
) -> Result<Trace, NotClosed> {
    let mut chain = Chain::new(site, models);
    chain.know(site.days);
    let mut run = Span::from(&chain, days);
    let mut beds = Vec::new();
    for day in 0..days {
        beds.clear();
        let record = one(&mut chain, day, &mut beds);
        run.add(&record, &beds);
        if (day + 1).is_multiple_of(7) || day + 1 == days {
            chain.check(day)?;
        }
    }
    Ok(run.end(&chain))
}

/// How long a site is followed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Horizon {
    /// Days of the run. Until its last day the site knows the intake of these days only.
    pub days: usize,
    /// Most years, the first included, of which the settled one is sought; 1 seeks none.
    pub most_years: usize,
    /// Largest difference between a settled year and the one before, as a share of the larger.
    pub tolerance: f64,
}

/// A run and its years.
#[derive(Debug, Clone)]
pub struct Years {
    /// The run.
    pub run: Trace,
    /// The state on the evenings asked for, in the order of the days.
    pub states: Vec<SiteState>,
    /// How the search for a settled year ended.
    pub settling: Settling,
    /// Sums of every whole year up to the settled one, or to the last one simulated; empty where none is sought.
    pub sums: Vec<YearSums>,
    /// The first year. `None` where no settled year is sought.
    pub first: Option<Trace>,
    /// The settled year, or the last one simulated. `None` where none is sought.
    pub last: Option<Trace>,
    /// A number of drums with which, as with any larger one, all would have come as it did: one more than were ever in use. `None` if scraps were turned away.
    pub drums_enough: Option<f64>,
}

impl Years {
    /// The settled year, or the last one simulated, and those before it. `None` where none is sought.
    pub fn later(&self) -> Option<LaterYear<'_>> {
        let trace = self.last.as_ref()?;
        Some(LaterYear { trace, sums: &self.sums, settling: self.settling })
    }
}

/// What a span of days leaves behind, while it is made.
struct Span {
    daily: Vec<DayRecord>,
    beds: Vec<BedRecord>,
    ledger: Ledger,
    tally: Tally,
    held: [(Holder, Material); 7],
    drum_gases: Gases,
}

impl Span {
    /// A span of so many days from this evening on.
    fn from(chain: &Chain<'_>, days: usize) -> Self {
        let (ledger, tally) = (chain.ledger.clone(), chain.tally.clone());
        let (held, drum_gases) = (chain.held(), chain.drums.held_gases());
        Self { daily: Vec::with_capacity(days), beds: Vec::new(), ledger, tally, held, drum_gases }
    }

    fn add(&mut self, day: &DayRecord, beds: &[BedRecord]) {
        self.daily.push(*day);
        self.beds.extend_from_slice(beds);
    }

    /// The span up to this evening.
    fn end(self, chain: &Chain<'_>) -> Trace {
        let held = self
            .held
            .into_iter()
            .zip(chain.held())
            .map(|((holder, start), (_, end))| {
                let [start_gases, end_gases] = match holder {
                    Holder::Drums => [self.drum_gases, chain.drums.held_gases()],
                    _ => [Gases::zero(); 2],
                };
                Holding { holder, start, start_gases, end, end_gases }
            })
            .collect();
        Trace {
            daily: self.daily,
            beds: self.beds,
            ledger: chain.ledger.since(&self.ledger),
            tally: chain.tally.since(&self.tally),
            held,
        }
    }
}

/// The search for a settled year.
struct Search {
    horizon: Horizon,
    settling: Settling,
    sums: Vec<YearSums>,
    first: Option<Trace>,
    last: Option<Trace>,
    /// The year in the making. `None` once the search has ended.
    year: Option<Span>,
}

impl Search {
    fn from(chain: &Chain<'_>, horizon: Horizon) -> Self {
        let settling = match horizon {
            Horizon { most_years: ..=1, .. } => Settling::NotSought,
            Horizon { days: ..YEAR, .. } => Settling::TooShort,
            _ => Settling::StillChanging,
        };
        let year = (settling == Settling::StillChanging).then(|| Span::from(chain, YEAR));
        Self { horizon, settling, sums: Vec::new(), first: None, last: None, year }
    }

    fn add(&mut self, day: &DayRecord, beds: &[BedRecord], chain: &Chain<'_>) {
        let Some(year) = &mut self.year else { return };
        year.add(day, beds);
        if year.daily.len() == YEAR {
            self.end_year(chain);
        }
    }

    fn end_year(&mut self, chain: &Chain<'_>) {
        let Some(year) = self.year.take() else { return };
        let trace = year.end(chain);
        self.sums.push(YearSums::of(self.sums.len() + 1, &trace));
        if self.first.is_none() {
            self.first = Some(trace);
        } else {
            self.last = Some(trace);
        }
        self.settling = settling(&self.sums, self.horizon.tolerance).unwrap_or(Settling::StillChanging);
        if self.settling == Settling::StillChanging && self.sums.len() < self.horizon.most_years {
            self.year = Some(Span::from(chain, YEAR));
        }
    }
}

/// Runs a site to the last day of the run, and on to its settled year or to the most years; saves its state on some evenings of the
/// run. What the run itself leaves behind is the same to the last bit however long the site is followed. Only the first year, the year in
/// hand and the one before are kept.
///
/// # Errors
/// As [`run`].
///
/// # Panics
/// If the site has fewer days than may be simulated.
pub fn follow(
    site: &Site,
    models: &Models,
    keep: Keep,
    horizon: &Horizon,
    evenings: &[usize],
) -> Result<Years, NotClosed> {
    let mut chain = Chain::new(site, models);
    chain.know(horizon.days);
    let mut states = Vec::with_capacity(evenings.len());
    let mut run = Some(Span::from(&chain, horizon.days));
    let mut made = None;
    let mut search = Search::from(&chain, *horizon);
    let each_bed = keep == Keep::Beds;
    let mut beds = Vec::new();
    let mut drums_enough = Some(0.0_f64);
    for day in 0.. {
        if day == horizon.days {
            made = run.take().map(|run| run.end(&chain));
            chain.know(site.days);
        }
        if day >= horizon.days && search.year.is_none() {
            break;
        }
        beds.clear();
        let record = chain.day(day, each_bed.then_some(&mut beds));
        let done = day + 1;
        // drums are filled in the morning and opened later
        let in_use = record.drums_in_use + record.drums_opened + 1.0;
        drums_enough = drums_enough.filter(|_| record.turned_away <= 0.0).map(|enough| enough.max(in_use));
        if each_bed || done.is_multiple_of(7) || done == horizon.days {
            chain.check(day)?;
        }
        if let Some(run) = &mut run {
            run.add(&record, &beds);
            if evenings.contains(&day) {
                states.push(chain.state(day));
            }
        }
        search.add(&record, &beds, &chain);
    }
    let run = made.unwrap_or_else(|| Span::from(&chain, 0).end(&chain));
    let Search { settling, sums, first, last, .. } = search;
    Ok(Years { run, states, settling, sums, first, last, drums_enough })
}
