//! Units wired together: one day's round and the run to the horizon.
//!
//! The round: weather and intake, starter and bran, fill and seal drums, ferment, open ready drums, grind with bulking, feed
//! by the feeding rule, beds and worms one day, harvest, dry and screen, cure, blend, dispatch. Every movement is booked, so
//! that every holder can be checked. A day depends only on the state at the end of the day before.

mod cohort;
mod feed;
mod fresh;
mod product;
mod round;
mod run;
mod site;
mod standing;
mod state;
#[cfg(test)]
mod tests;

pub use round::{BedRound, DrumsOpened, Round, rounds};
pub use run::{Horizon, Keep, Years, follow, run, run_days, run_saving};
pub use site::{
    BedStart, BranSupply, BulkingRecipe, FeedingPractice, FreshScraps, GritRecipe, HarvestPractice,
    KnownHarvests, Models, ScrapSupply, Site,
};
pub use standing::{Known, KnownBed, KnownDrums, KnownWorms, Stocked, state_after};
pub use state::{EqualBedsState, SiteState, StateFault};

use crate::matter::Material;
use crate::process::fermentation::load::Load;
use crate::process::recipe::Mixture;
use crate::trace::{
    BedRecord, BedTally, BranOrder, DayRecord, Flow, Holder, Ledger, NotClosed, StreamTally, Tally,
};
use crate::unit::cure::Cure;
use crate::unit::drum_store::DrumStore;
use crate::unit::grinder::GrinderUnit;
use crate::unit::screen::ScreenUnit;
use crate::unit::starter::BranMaker;
use cohort::Cohort;
use serde::{Deserialize, Serialize};

/// Weeks of demand that the bran plan looks ahead. Source: our choice.
const FORECAST_WEEKS: usize = 10;

/// The paste last mixed with its bulking and grit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FeedMix {
    /// A kilogram of paste with its bulking and grit.
    mix: Mixture,
    /// Bulking per paste, kg/kg.
    bulking_per_paste: f64,
    /// Grit per paste, kg/kg.
    grit_per_paste: f64,
}

impl FeedMix {
    /// Feed per paste, kg/kg.
    fn per_paste(&self) -> f64 {
        1.0 + self.bulking_per_paste + self.grit_per_paste
    }
}

/// A site at work.
#[derive(Debug, Clone)]
pub struct Chain<'a> {
    site: &'a Site,
    models: &'a Models,
    /// Number that units give to the first day of the run.
    first_day: u32,
    /// Scraps delivered on each day, all streams, kg.
    intake: Vec<f64>,
    /// Scraps delivered in the seven days from each day, and on beyond the horizon, kg.
    week_ahead: Vec<f64>,
    /// Day of the round on which each bed is harvested.
    turns: Vec<usize>,
    bran: BranMaker,
    drums: DrumStore,
    grinder: GrinderUnit,
    /// Opened scraps that wait for the grinder.
    hopper: Material,
    paste: Material,
    recipe: FeedMix,
    beds: Vec<Cohort>,
    screen: ScreenUnit,
    cure: Cure,
    ledger: Ledger,
    tally: Tally,
}

impl<'a> Chain<'a> {
    /// A site on the morning of its first day: as it stands, or new.
    pub fn new(site: &'a Site, models: &'a Models) -> Self {
        let mut chain = match &site.begins {
            Some(state) => Self::in_state(site, models, state),
            None => Self::fresh(site, models),
        };
        chain.open_books();
        chain
    }

    /// A new site, its books not opened.
    fn fresh(site: &'a Site, models: &'a Models) -> Self {
        let room = site.drum_room.first().copied().unwrap_or(20.0);
        let air = site.bed_air.first().map_or(20.0, |w| w.temperature);
        let bran = BranMaker::new(site.bran.making, &models.fermentation, &models.acids);
        let beds = Cohort::of(site, air);
        let tally = Tally {
            streams: vec![StreamTally::default(); site.streams.len()],
            beds: vec![BedTally::default(); site.beds.len()],
            ..Tally::default()
        };
        let intake: Vec<f64> = (0..site.days).map(|day| site.intake(day)).collect();
        Self {
            site,
            models,
            week_ahead: weeks_ahead(&intake),
            turns: product::turns(site),
            first_day: 0,
            intake,
            bran,
            drums: DrumStore::new(site.drums, models.fermentation, models.acids, room),
            grinder: GrinderUnit::new(site.grinder),
            hopper: Material::zero(),
            paste: Material::zero(),
            recipe: feed::first_guess(models),
            beds,
            screen: ScreenUnit::new(site.screen, models.screening, models.drying),
            cure: Cure::new(site.cure, models.bulk_density),
            ledger: Ledger::new(site.beds.len()),
            tally,
        }
    }

    /// Number that units give to a day of the run.
    fn clock(&self, day: usize) -> u32 {
        self.first_day + u32::try_from(day).expect("a run is shorter than 10^9 days")
    }

    /// From now on the intake of so many days of the run is known; the last week of them is taken to repeat itself.
    fn know(&mut self, days: usize) {
        self.intake = (0..days).map(|day| self.site.intake(day)).collect();
        self.week_ahead = weeks_ahead(&self.intake);
    }

    /// One day's round. `beds`, if given, receives a record of each bed.
    pub fn day(&mut self, day: usize, beds: Option<&mut Vec<BedRecord>>) -> DayRecord {
        let mut record = DayRecord::new(self.site.date(day));
        record.drum_room_temperature = self.site.drum_room[day];
        record.bed_room_temperature = self.site.bed_air[day].temperature;
        self.arrive(day);
        self.make_bran(day);
        match self.site.fresh {
            Some(fresh) => self.take_fresh(day, &fresh, &mut record),
            None => self.fill_drums(day, &mut record),
        }
        self.ferment(day, &mut record);
        self.feed_beds(day, &mut record);
        self.live(day, &mut record);
        self.harvest(day, &mut record);
        self.finish_castings(day, &mut record);
        self.record_beds(&mut record, beds);
        record
    }

    /// Spreads worms bought in today over the beds by area.
    fn arrive(&mut self, day: usize) {
        let area = self.site.bed_area();
        for (_, worms) in self.site.arrivals.iter().filter(|(when, _)| *when == day) {
            for cohort in &mut self.beds {
                let group = cohort.group();
                let bed = &mut cohort.bed;
                let part = worms.scaled(bed.setup().area / area);
                let before = bed.tissue(&self.models.bed);
                bed.stock(&part, &self.models.bed);
                let tissue = bed.tissue(&self.models.bed) - before;
                self.ledger.book_beds(Flow::StockBought, group, &tissue);
                self.tally.bought += part.biomass(&self.models.bed.worms) * cohort.times();
            }
        }
    }

    /// Starter and bran, planned backwards from the demand of the coming weeks.
    fn make_bran(&mut self, day: usize) {
        if self.site.bran.bought {
            return;
        }
        let forecast = self.bran_forecast(day);
        let today = self.clock(day);
        let step = self.bran.step(today, &forecast);
        self.ledger.book(Flow::BranSupplies, &step.drawn);
        self.ledger.book_gases(Flow::BranGas, &step.gases);
        self.ledger.book(Flow::BranOut, &step.discarded);
        if step.bran_ordered > 0.0 {
            self.tally.bran_orders.push(BranOrder { day, mass: step.bran_ordered });
        }
        self.tally.starter_failed += step.starter_failed;
        self.tally.bran_beyond_capacity += step.beyond_capacity;
    }

    /// Bran needed in each of the coming weeks, kg.
    fn bran_forecast(&self, day: usize) -> [f64; FORECAST_WEEKS] {
        std::array::from_fn(|week| self.site.bran.dose * self.week_ahead[day + 7 * week])
    }

    /// Fills drums with scraps and bran as far as they have room; the rest is turned away.
    fn fill_drums(&mut self, day: usize, record: &mut DayRecord) {
        let today = self.clock(day);
        let intake = self.intake[day];
        let dose = self.site.bran.dose;
        let taken = intake.min(self.drums.room() / (1.0 + dose));
        let scraps = self.take_in(day, taken, record);
        let bran = self.take_bran(dose * taken, record);
        let given = crate::matter::ratio(bran.wet(), taken);
        let received = self.drums.receive(today, scraps + bran, given, self.site.drum_luck[day]);
        // the amount fits the room, so only rounding is left over
        self.ledger.book(Flow::Intake, &(scraps.matter - received.turned_away));
        self.ledger.book(Flow::BranToDrums, &bran.matter);
        self.tally.sealed += received.sealed;
        record.bran_used = bran.wet();
    }

    /// The scraps of a day as far as `taken` kg of them are taken; the rest is turned away.
    fn take_in(&mut self, day: usize, taken: f64, record: &mut DayRecord) -> Load {
        let intake = self.intake[day];
        let share = crate::matter::ratio(taken, intake);
        let mut scraps = Load::default();
        for (stream, tally) in self.site.streams.iter().zip(&mut self.tally.streams) {
            let amount = stream.amounts[day];
            let delivered = stream.per_kilogram * amount;
            tally.delivered += delivered.matter;
            tally.turned_away += amount * (1.0 - share);
            tally.contamination += amount * stream.contamination;
            scraps += delivered * share;
        }
        record.intake = intake;
        record.turned_away = intake - taken;
        scraps
    }

    /// Takes bran from the store; buys what is missing where bran is bought.
    fn take_bran(&mut self, wanted: f64, record: &mut DayRecord) -> Load {
        let drawn = self.bran.draw(wanted);
        record.bran_in_store = self.bran.bran_in_stock();
        if self.site.bran.bought {
            let bought = self.bran.bran() * drawn.short;
            self.ledger.book(Flow::BranSupplies, &bought.matter);
            return drawn.bran + bought;
        }
        record.bran_short = drawn.short;
        drawn.bran
    }

    /// One day of all sealed drums.
    fn ferment(&mut self, day: usize, record: &mut DayRecord) {
        let today = self.clock(day);
        let out = self.drums.ferment(today, self.site.drum_room[day]);
        self.ledger.book_gases(Flow::DrumGas, &out.gases);
        if self.site.liquor_returned {
            self.ledger.book(Flow::LiquorToPaste, &out.liquor);
            self.paste += out.liquor;
        } else {
            self.ledger.book(Flow::LiquorOut, &out.liquor);
        }
        for (cause, count) in out.spoiled_by.into_iter().enumerate().filter(|(_, count)| *count > 0) {
            self.tally.spoiled[cause] += count;
            self.tally.spoiled_first[cause].get_or_insert(day);
        }
        record.oldest_drum = f64::from(out.oldest);
        record.drums_spoiled = out.spoiled as f64;
        record.liquor = out.liquor.wet();
        record.drum_pressure = out.gauge_pressure / 1000.0;
        record.room_carbon_dioxide = out.room_carbon_dioxide * 1e6;
        record.room_carbon_dioxide_shift = out.room_carbon_dioxide_shift * 1e6;
    }

    /// Opened scraps, what is in the grinder, and paste.
    fn paste_and_scraps(&self) -> Material {
        self.grinder.contents() + self.hopper + self.paste
    }

    /// Compares what every holder holds with its bookings.
    ///
    /// # Errors
    /// [`NotClosed`] when a holder does not hold what was booked: a fault of the program.
    pub fn check(&mut self, day: usize) -> Result<(), NotClosed> {
        let drums = self.drums.contents().elements() + self.drums.held_gases().elements();
        self.ledger.check(day, Holder::Bran, &self.bran.contents().elements())?;
        self.ledger.check(day, Holder::Drums, &drums)?;
        self.ledger.check(day, Holder::Paste, &self.paste_and_scraps().elements())?;
        let tissue = self.models.bed.parameters.tissue.elements();
        for Cohort { bed, first, .. } in &self.beds {
            self.ledger.check(day, Holder::Beds.of_bed(*first), &bed.contents().elements())?;
            let stock = tissue * bed.worms.live_mass(&self.models.bed.worms);
            self.ledger.check(day, Holder::Stock.of_bed(*first), &stock)?;
        }
        self.ledger.check(day, Holder::Screen, &self.screen.contents().elements())?;
        self.ledger.check(day, Holder::Castings, &self.cure.contents().elements())
    }

    /// What the holders on the site hold, but for the gas under the lids of drums.
    fn held(&self) -> [(Holder, Material); 7] {
        [
            (Holder::Bran, self.bran.contents()),
            (Holder::Drums, self.drums.contents()),
            (Holder::Paste, self.paste_and_scraps()),
            (Holder::Beds, self.beds.iter().map(|c| c.bed.contents() * c.times()).sum()),
            (Holder::Stock, self.beds.iter().map(|c| c.bed.tissue(&self.models.bed) * c.times()).sum()),
            (Holder::Screen, self.screen.contents()),
            (Holder::Castings, self.cure.contents()),
        ]
    }
}

/// Sums of the seven days from each day, for as many days more as the bran plan looks ahead. Beyond the run its last week is
/// repeated.
fn weeks_ahead(intake: &[f64]) -> Vec<f64> {
    let Some(last) = intake.len().checked_sub(1) else { return Vec::new() };
    let back = |day: usize| 7 * day.saturating_sub(last).div_ceil(7);
    let days = last + 7 * (FORECAST_WEEKS + 1);
    let on: Vec<f64> = (0..=days).map(|day| intake[day.saturating_sub(back(day))]).collect();
    on.windows(7).map(|week| week.iter().sum()).collect()
}
