//! Scraps that are fed without drums: they wait for the grinder, or for the next feeding.

use super::{Chain, FreshScraps};
use crate::trace::{DayRecord, Flow};

impl Chain<'_> {
    /// Takes scraps in as far as fewer than the most allowed then wait; the rest is turned away.
    pub(super) fn take_fresh(&mut self, day: usize, fresh: &FreshScraps, record: &mut DayRecord) {
        let room = (fresh.most_waiting - self.paste_and_scraps().wet()).max(0.0);
        let scraps = self.take_in(day, self.intake[day].min(room), record).matter;
        self.ledger.book(Flow::FreshScraps, &scraps);
        if fresh.ground {
            self.hopper += scraps;
        } else if scraps.wet() > 0.0 {
            self.paste += scraps;
            self.mix();
        }
    }
}
