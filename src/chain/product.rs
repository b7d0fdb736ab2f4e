//! From beds to products: harvest, drying, screening, curing, blending.

use super::{Chain, Site};
use crate::trace::{DayRecord, Flow, HarvestTally, Holder};
use crate::unit::bed::Bed;
use crate::unit::screen::OversTo;

/// Minimum days between two harvests of a bed by depth. Source: our choice.
const DEPTH_PAUSE: f64 = 14.0;

/// Day of the round, from 0, on which each bed is harvested; empty without a calendar of harvests.
pub(super) fn turns(site: &Site) -> Vec<usize> {
    let beds = site.beds.len();
    let turn = |every: usize| (0..beds).map(|number| number * every / beds).collect();
    round(site).map_or_else(Vec::new, turn)
}

/// Days of the round in which every bed is harvested once; `None` without a calendar of harvests.
fn round(site: &Site) -> Option<usize> {
    site.harvest.every.map(|every| every.max(1) as usize)
}

impl Chain<'_> {
    /// Whether a bed is due: as is known, else in turn by the calendar, or by its depth.
    fn is_due(&self, day: usize, number: usize, bed: &Bed) -> bool {
        if let Some(known) = self.site.known_harvests.as_ref().filter(|k| (k.first..=k.last).contains(&day)) {
            return known.takes.binary_search(&(day, number)).is_ok();
        }
        let rule = &self.site.harvest;
        let age = self.site.days_before as usize + day;
        let Some(since) = age.checked_sub(rule.first_day as usize) else { return false };
        let by_calendar = round(self.site).is_some_and(|every| since % every == self.turns[number]);
        let by_depth =
            rule.depth.is_some_and(|limit| bed.depth() >= limit && bed.days_since_harvest() >= DEPTH_PAUSE);
        by_calendar || by_depth
    }

    /// Takes castings from the beds that are due; the screen returns part of their worms.
    pub(super) fn harvest(&mut self, day: usize, record: &mut DayRecord) {
        let mut place = 0;
        while place < self.beds.len() {
            if self.part_due(day, place) {
                self.take_castings(day, place, record);
                self.sell_surplus(place);
            }
            place += 1;
        }
    }

    /// Whether a cohort is due. Beds that differ in this from its first become the next cohort.
    fn part_due(&mut self, day: usize, place: usize) -> bool {
        let cohort = &self.beds[place];
        let due = |number| self.is_due(day, number, &cohort.bed);
        let first = due(cohort.first);
        let alike = cohort.numbers().take_while(|number| due(*number) == first).count();
        if alike < cohort.count {
            let rest = self.beds[place].split_off(alike);
            let kept = self.beds[place].first;
            for holder in [Holder::Beds, Holder::Stock] {
                self.ledger.copy_account(holder.of_bed(kept), holder.of_bed(rest.first));
            }
            self.beds.insert(place + 1, rest);
        }
        first
    }

    fn take_castings(&mut self, day: usize, place: usize, record: &mut DayRecord) {
        let (group, times) = (self.beds[place].group(), self.beds[place].times());
        let bed = &mut self.beds[place].bed;
        let rule = &self.site.harvest;
        let got = bed.harvest(rule.share, &rule.recovery, &self.models.bed);
        let castings = got.castings - got.tissue;
        self.ledger.book_beds(Flow::Harvest, group, &castings);
        self.ledger.book_beds(Flow::StockLost, group, &got.tissue);
        for _ in 0..group.count {
            self.screen.add(got.castings);
        }
        self.tally.worms_lost += got.lost.biomass * times;
        self.tally.cocoons_lost += got.lost.cocoons * times;
        record.harvested += got.castings.wet() * times;
        self.tally.harvests.push(HarvestTally { day, beds: group, castings: got.castings });
    }

    /// Worms above the ceiling are taken out for sale after a harvest.
    fn sell_surplus(&mut self, place: usize) {
        let Some(ceiling) = self.site.harvest.ceiling else { return };
        let model = &self.models.bed;
        let group = self.beds[place].group();
        let bed = &mut self.beds[place].bed;
        let have = bed.worms.biomass(&model.worms);
        let most = ceiling * bed.setup().area;
        if have <= most {
            return;
        }
        let before = bed.tissue(model);
        let sold = bed.take_worms(1.0 - most / have);
        let tissue = before - bed.tissue(model);
        self.ledger.book_beds(Flow::StockSold, group, &tissue);
        self.tally.sold += sold.biomass(&model.worms) * (group.count as f64);
    }

    /// Drying, screening, curing and dispatch.
    pub(super) fn finish_castings(&mut self, day: usize, record: &mut DayRecord) {
        let air = self.site.bed_air[day];
        let screened = self.screen.day(air.temperature, air.humidity);
        self.ledger.book_gases(Flow::ScreenGas, &screened.gases);
        match self.site.screen.overs {
            _ if screened.overs.wet() <= 0.0 => {}
            OversTo::ToBeds => {
                let area = self.site.bed_area();
                for cohort in &mut self.beds {
                    let part = screened.overs * (cohort.bed.setup().area / area);
                    cohort.bed.return_to_castings(part, &self.models.bed);
                    self.ledger.book_beds(Flow::OversToBeds, cohort.group(), &part);
                }
            }
            OversTo::Out => self.ledger.book(Flow::OversOut, &screened.overs),
        }
        self.ledger.book(Flow::Screened, &screened.product);
        let sold = self.cure.day(&self.models.bed, air.temperature, screened.product);
        self.ledger.book_gases(Flow::CureGas, &sold.gases);
        self.ledger.book(Flow::Compost, &sold.compost_drawn);
        self.ledger.book(Flow::CastingsSold, &sold.alone);
        self.ledger.book(Flow::BlendSold, &sold.blend);
        self.tally.screen_hours += screened.hours;
        self.tally.castings_volume += sold.alone_volume;
        self.tally.blend_volume += sold.blend_volume;
        record.castings_drying = screened.drying;
        record.longest_drying = f64::from(screened.longest_drying);
        record.castings_waiting = screened.waiting;
        record.screened = screened.product.wet();
        record.castings_sold = sold.alone.wet();
        record.blend_sold = sold.blend.wet();
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{on_day, worked};
    use super::*;
    use crate::matter::{Component, Element};

    #[test]
    fn harvest_and_sale_of_equal_beds_count_each_bed() {
        let (mut site, models) = worked("valley_packhouse");
        let ceiling = 0.8;
        (site.harvest.first_day, site.harvest.ceiling) = (1000, Some(ceiling));
        let mut chain = on_day(&site, &models, 40);
        let mut record = DayRecord::new(site.date(40));
        let (place, count) = (0, 12.0);
        assert_eq!(chain.beds[place].count, 12);
        let tissue = models.bed.parameters.tissue.wet();
        let cocoons = |chain: &Chain<'_>| chain.beds[place].bed.worms.cocoons.iter().sum::<f64>() * count;
        let stock = |chain: &Chain<'_>| chain.beds[place].bed.worms.biomass(&models.bed.worms) * count;

        let before = (stock(&chain), cocoons(&chain));
        chain.take_castings(40, place, &mut record);
        let after = (stock(&chain), cocoons(&chain));
        let near = |ours: f64, by_hand: f64| assert!((ours / by_hand - 1.0).abs() < 1e-9, "{ours} {by_hand}");
        near(chain.tally.worms_lost, before.0 - after.0);
        near(chain.tally.cocoons_lost, before.1 - after.1);
        // cocoons are booked as tissue too
        let cocoon = models.bed.worms.parameters().cocoon_mass;
        let lost = chain.tally.worms_lost + cocoon * chain.tally.cocoons_lost;
        near(chain.ledger.matter(Flow::StockLost).wet(), lost * tissue);
        let harvested = [Flow::Harvest, Flow::StockLost].map(|flow| chain.ledger.matter(flow).wet());
        near(record.harvested, harvested[0] + harvested[1]);
        near(chain.screen.contents().wet(), record.harvested);

        // worms above 0.8 kg/m2 go
        chain.sell_surplus(place);
        let most = ceiling * chain.beds[place].bed.setup().area * count;
        near(stock(&chain), most);
        near(chain.tally.sold, after.0 - most);
        let sold = chain.tally.sold + cocoon * (after.1 - cocoons(&chain));
        near(chain.ledger.matter(Flow::StockSold).wet(), sold * tissue);
    }

    #[test]
    fn castings_of_fruit_and_leaves_hold_hardly_any_nitrate() {
        let (mut site, models) = worked("valley_packhouse");
        // without its kitchens
        site.streams[2].amounts.fill(0.0);
        let chain = on_day(&site, &models, site.days);
        let castings = chain.ledger.matter(Flow::Screened);
        let nitrogen =
            castings[Component::Nitrate] * Component::Nitrate.elements()[Element::Nitrogen.index()];
        assert!((0.0..0.5e-3).contains(&(nitrogen / castings.dry())), "{nitrogen} of {}", castings.dry());
    }
}
