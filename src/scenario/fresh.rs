//! How scraps are fed that are not fermented.

use super::assemble::part;
use super::larder::Larder;
use super::plan::{Plan, Scraps};
use crate::chain::{FreshScraps, Models};

/// How scraps are fed fresh. None if they are fermented.
pub(super) fn fresh(
    plan: &Plan,
    larder: &Larder,
    models: &Models,
    get: &dyn Fn(&str) -> f64,
) -> Option<FreshScraps> {
    let most_waiting = plan.most_waiting();
    match plan.feeding.scraps {
        Scraps::Fermented => None,
        Scraps::Ground => Some(FreshScraps {
            ground: true,
            most_waiting,
            bulk_density: models.paste_density,
            kept_volume: models.kept_volumes.paste,
        }),
        Scraps::Whole => {
            // loose volumes add; of several streams by what arrives on an open day
            let (mut mass, mut loose, mut kept) = (0.0, 0.0, 0.0);
            for stream in &plan.streams {
                for (name, share) in stream.parts() {
                    let of = part(larder.get(name), get);
                    let amount = stream.open_day_amount() * share;
                    mass += amount;
                    loose += amount / of.bulk_density;
                    kept += amount * of.volume();
                }
            }
            Some(FreshScraps {
                ground: false,
                most_waiting,
                bulk_density: if loose > 0.0 { mass / loose } else { models.paste_density },
                kept_volume: if loose > 0.0 { kept / loose } else { 1.0 },
            })
        }
    }
}
