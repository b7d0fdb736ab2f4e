//! The state of a site on an evening: all that enters the next day.

use super::cohort::Cohort;
use super::{Chain, FeedMix, Models, Site};
use crate::matter::Material;
use crate::trace::Holder;
use crate::unit::bed::{Bed, BedDay, BedState};
use crate::unit::cure::{BINS, CureState};
use crate::unit::drum_store::DrumsState;
use crate::unit::screen::{LOTS, ScreenState};
use crate::unit::starter::BranState;
use serde::{Deserialize, Serialize};

/// Days of the week, after which the bran plan comes round.
const WEEK: u32 = 7;

/// Neighbouring beds in one state.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EqualBedsState {
    /// How many.
    pub count: usize,
    /// Area of each, m2.
    pub area: f64,
    /// The state of each.
    pub bed: BedState,
}

/// The state of a site on an evening. A site put into it goes on to the last bit as the one it was taken from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteState {
    /// Days that the site has run, this one included: harvests come round by it, and so does the weekly plan of bran.
    pub days_run: u32,
    /// Starter and bran.
    pub bran: BranState,
    /// Drums.
    pub drums: DrumsState,
    /// Matter in the grinder, kg.
    pub grinder: Material,
    /// Opened scraps that wait for the grinder, kg.
    pub hopper: Material,
    /// Paste, kg.
    pub paste: Material,
    /// The feed last mixed.
    pub(super) feed_mix: FeedMix,
    /// The beds in order.
    pub beds: Vec<EqualBedsState>,
    /// Castings that dry or wait for the screen.
    pub screen: ScreenState,
    /// Castings that cure or wait for sale.
    pub cure: CureState,
}

/// Why a state cannot be that of a site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StateFault {
    /// Key in the state, such as `drums`.
    pub key: &'static str,
    /// What is wrong.
    pub problem: String,
    /// What is allowed.
    pub allowed: String,
}

impl SiteState {
    /// Whether a site with so many drums and beds of these areas (m2) can be in this state.
    ///
    /// # Errors
    /// [`StateFault`] for the first thing that does not fit.
    pub fn fits(&self, drums: usize, areas: &[f64]) -> Result<(), StateFault> {
        let fault = |key, problem, allowed| Err(StateFault { key, problem, allowed });
        let in_use = self.drums.in_use();
        if in_use > drums {
            return fault(
                "drums",
                format!("{in_use} drums are in use"),
                format!("at most {drums}, as the scenario has"),
            );
        }
        let own: Vec<f64> = self
            .beds
            .iter()
            .flat_map(|beds| std::iter::repeat_n(beds.area, beds.count.min(1 << 20)))
            .collect();
        if own.len() != areas.len() {
            let problem = format!("has {} beds", own.len());
            return fault("beds", problem, format!("{}, as the scenario has", areas.len()));
        }
        if let Some(n) = (0..own.len()).find(|&n| own[n].to_bits() != areas[n].to_bits()) {
            let problem = format!("bed {} has an area of {} m2", n + 1, own[n]);
            return fault("beds", problem, format!("{} m2, as in the scenario", areas[n]));
        }
        if self.screen.lots() > LOTS {
            return fault("screen", format!("has {} lots", self.screen.lots()), format!("at most {LOTS}"));
        }
        if self.cure.current >= BINS {
            return fault(
                "cure",
                format!("bin {} is being filled", self.cure.current),
                format!("0 to {}", BINS - 1),
            );
        }
        Ok(())
    }

    /// Number of the first day after it, as units count days: at least the age of all that is kept, and on the same day of the bran
    /// plan as `days_run` is.
    fn first_day(&self) -> u32 {
        let oldest = self.drums.oldest().max(self.bran.oldest()) + 1;
        let short = oldest.saturating_sub(self.days_run);
        self.days_run + WEEK * short.div_ceil(WEEK)
    }
}

impl<'a> Chain<'a> {
    /// Its state on the evening of a day of the run.
    ///
    /// # Panics
    /// Beyond 10^9 days (never: a plan is ten years at most).
    pub fn state(&self, day: usize) -> SiteState {
        let run = u32::try_from(day + 1).expect("a run is shorter than 10^9 days");
        let evening = self.clock(day);
        SiteState {
            days_run: self.site.days_before + run,
            bran: self.bran.state(evening),
            drums: self.drums.state(evening),
            grinder: self.grinder.contents(),
            hopper: self.hopper,
            paste: self.paste,
            feed_mix: self.recipe,
            beds: self
                .beds
                .iter()
                .map(|cohort| EqualBedsState {
                    count: cohort.count,
                    area: cohort.bed.setup().area,
                    bed: cohort.bed.state(),
                })
                .collect(),
            screen: self.screen.state(),
            cure: self.cure.state(),
        }
    }

    /// A site on the morning after a state, which [fits](SiteState::fits) it.
    pub(super) fn in_state(site: &'a Site, models: &'a Models, state: &SiteState) -> Self {
        let mut chain = Self::fresh(site, models);
        chain.first_day = state.first_day();
        let evening = chain.first_day - 1;
        chain.bran.restore(&state.bran, evening);
        chain.drums.restore(&state.drums, evening);
        chain.grinder.restore(state.grinder);
        (chain.hopper, chain.paste, chain.recipe) = (state.hopper, state.paste, state.feed_mix);
        chain.beds.clear();
        let mut first = 0;
        for beds in &state.beds {
            let Some(start) = site.beds.get(first) else { break };
            let bed = Bed::in_state(start.setup, &beds.bed);
            chain.beds.push(Cohort { bed, first, count: beds.count, fed: 0.0, today: BedDay::default() });
            first += beds.count;
        }
        chain.screen.restore(&state.screen);
        chain.cure.restore(&state.cure);
        chain
    }

    /// Enters what the holders hold on the first morning.
    pub(super) fn open_books(&mut self) {
        self.ledger.open(Holder::Bran, &self.bran.contents());
        self.ledger.open(Holder::Drums, &self.drums.contents());
        self.ledger.open_gases(Holder::Drums, &self.drums.held_gases());
        self.ledger.open(Holder::Paste, &self.paste_and_scraps());
        for Cohort { bed, first, .. } in &self.beds {
            self.ledger.open(Holder::Beds.of_bed(*first), &bed.contents());
            self.ledger.open(Holder::Stock.of_bed(*first), &bed.tissue(&self.models.bed));
        }
        self.ledger.open(Holder::Screen, &self.screen.contents());
        self.ledger.open(Holder::Castings, &self.cure.contents());
    }
}

#[cfg(test)]
mod tests {
    use super::super::state_after;
    use super::super::tests::worked;
    use super::*;
    use crate::unit::starter::LotState;

    #[test]
    fn bran_keeps_its_age_on_a_site_that_has_run_for_fewer_days() {
        // a state written by hand may hold bran that was bought before the site began
        let (mut site, models) = worked("harbour_hall");
        site.days = 3;
        let mut state = state_after(&site, &models);
        state.bran = BranState { stock: vec![LotState { age: 30, amount: 5.0 }], ..BranState::default() };
        let chain = Chain::in_state(&site, &models, &state);
        assert_eq!(chain.bran.state(chain.first_day - 1), state.bran);
        // and the bran plan comes round on the days that it did
        assert_eq!((state.days_run, chain.first_day % WEEK), (3, 3));
    }
}
