//! From beds to products: harvest, drying, screening, curing, blending.

use super::Chain;
use super::Site;
use crate::trace::DayRecord;
use crate::trace::Flow;
use crate::trace::Holder;
use crate::unit::bed::Bed;
use crate::unit::screen::Overs;

/// Least days between two harvests of a bed by depth.
const DEPTH_PAUSE: f64 = 14.0;

/// Whether a bed is due: in turn by the calendar, or by its depth.
fn is_due(site: &Site, day: usize, number: usize, bed: &Bed) -> bool {
    let rule = &site.harvest;
    let Some(since) = day.checked_sub(rule.first_day as usize) else { return false };
    let by_calendar = rule.every.is_some_and(|every| {
        let every = every.max(1) as usize;
        let turn = number * every / site.beds.len().max(1);
        since >= turn && (since - turn).is_multiple_of(every)
    });
    let by_depth =
        rule.depth.is_some_and(|limit| bed.depth() >= limit && bed.days_since_harvest() >= DEPTH_PAUSE);
    by_calendar || by_depth
}

impl Chain<'_> {
    /// Takes castings from the beds that are due; worms come back as the screen lets them.
    pub(super) fn harvest(&mut self, day: usize, record: &mut DayRecord) {
        for n in 0..self.beds.len() {
            if !is_due(self.site, day, n, &self.beds[n]) {
                continue;
            }
            let rule = &self.site.harvest;
            let got = self.beds[n].harvest(rule.share, &rule.recovery, &self.models.bed);
            self.ledger.book(Flow::Harvest, Holder::Bed(n), Holder::Screen, &(got.castings - got.tissue));
            self.ledger.book(Flow::StockLost, Holder::Stock(n), Holder::Screen, &got.tissue);
            self.screen.add(got.castings);
            self.tally.worms_lost += got.lost.biomass;
            self.tally.cocoons_lost += got.lost.cocoons;
            record.harvested += got.castings.wet();
            self.sell_surplus(n);
        }
    }

    /// Worms above the ceiling are taken out for sale after a harvest.
    fn sell_surplus(&mut self, n: usize) {
        let Some(ceiling) = self.site.harvest.ceiling else { return };
        let model = &self.models.bed;
        let bed = &mut self.beds[n];
        let have = bed.worms.biomass(&model.worms);
        let most = ceiling * bed.setup().area;
        if have <= most {
            return;
        }
        let before = bed.tissue(model);
        let sold = bed.take_worms(1.0 - most / have);
        let tissue = before - bed.tissue(model);
        self.ledger.book(Flow::StockSold, Holder::Stock(n), Holder::Outside, &tissue);
        self.tally.sold += sold.biomass(&model.worms);
    }

    /// Drying, screening, curing and dispatch.
    pub(super) fn finish_castings(&mut self, day: usize, record: &mut DayRecord) {
        let air = self.site.bed_air[day];
        let screened = self.screen.day(air.temperature, air.humidity);
        self.gases(Flow::ScreenGas, Holder::Screen, &screened.gases);
        match self.site.screen.overs {
            Overs::ToBeds if !self.beds.is_empty() => {
                let area = self.site.bed_area();
                for (n, bed) in self.beds.iter_mut().enumerate() {
                    let part = screened.overs * (bed.setup().area / area);
                    bed.return_to_castings(part, &self.models.bed);
                    self.ledger.book(Flow::OversToBeds, Holder::Screen, Holder::Bed(n), &part);
                }
            }
            Overs::ToBeds | Overs::Out => {
                self.ledger.book(Flow::OversOut, Holder::Screen, Holder::Outside, &screened.overs);
            }
        }
        self.ledger.book(Flow::Screened, Holder::Screen, Holder::Cure, &screened.product);
        self.cure.add(screened.product);
        let sold = self.cure.day(air.temperature);
        self.gases(Flow::CureGas, Holder::Cure, &sold.gases);
        self.ledger.book(Flow::Compost, Holder::Outside, Holder::Cure, &sold.compost_drawn);
        self.ledger.book(Flow::CastingsSold, Holder::Cure, Holder::Outside, &sold.alone);
        self.ledger.book(Flow::BlendSold, Holder::Cure, Holder::Outside, &sold.blend);
        self.tally.screen_hours += screened.hours;
        self.tally.castings_volume += sold.alone_volume;
        self.tally.blend_volume += sold.blend_volume;
        record.screened = screened.product.wet();
        record.castings_sold = sold.alone.wet();
        record.blend_sold = sold.blend.wet();
    }
}
