//! Warnings of each bed: heat, cold, water, acid, ammonia, salt, air, its worms.

use super::{LASTING, above, below, count_of, is_lasting, number, on_days};
use crate::chain::Site;
use crate::matter::ratio;
use crate::process::worm::stress::AmmoniaResponse;
use crate::trace::{BedRecord, Trace};
use crate::unit::bed::MoistureBand;
use crate::warning::{Spell, Warning};

/// Cold below which beds hardly work. # Units: °C # Source: our choice between the limits of breeding (edwards_2004) and 15 °C,
/// below which the figures of worms are extrapolated.
const COLD_BED: f64 = 10.0;
/// Moisture below which a bed is reported as dry. # Source: our choice
const DRY_BED: f64 = 0.6;
/// Toxic units of ammonia from which a bed is reported: those from which worms are held back. Source: zeguerrou_2019.
const HARMFUL_AMMONIA: f64 = AmmoniaResponse::FEEDING_FULL;
/// Share of the starting stock below which a bed is said to die out. # Source: our choice
const DYING_SHARE: f64 = 0.1;
/// Moisture off the band of the plan by more than this counts. # Source: our choice; a probe reads no closer.
const OFF_BAND: f64 = 0.02;
/// A band that is missed on fewer days than this is held. # Units: d # Source: our choice; single feedings and hot weeks pass.
const BAND_MISSED: u32 = 30;

/// Height over depth from which a bed is said to stand too high: feeding stops at its depth, and castings swell by less as they are
/// watered. # Source: our choice
const TOO_HIGH: f64 = 1.25;

/// Beds that bedding or filling already makes too high, before a run.
pub(super) fn filled_too_high(site: &Site, all: &mut Vec<Warning>) {
    for (n, bed) in site.beds.iter().enumerate() {
        let (number, depth_m) = (number(n), bed.setup.depth);
        let height = ratio(bed.volume + bed.filled_volume, bed.setup.area);
        let first = above(height, TOO_HIGH * depth_m).map(|height| (site.date(0), height));
        all.extend(on_days(first.into_iter(), |spell| Warning::BedTooHigh { bed: number, depth_m, spell }));
    }
}

pub(super) fn bed(site: &Site, trace: &Trace, n: usize, get: &dyn Fn(&str) -> f64, all: &mut Vec<Warning>) {
    let bed = number(n);
    let days = |seen: &dyn Fn(&BedRecord) -> Option<f64>, warning: &dyn Fn(Spell) -> Warning| {
        on_days(trace.of_bed(n).filter_map(|b| Some((b.date, seen(b)?))), warning)
    };
    let limit_celsius = get("bed.heat_death_onset_temperature");
    all.extend(days(&|b| above(b.hottest, limit_celsius), &|spell| Warning::BedTooHot {
        bed,
        limit_celsius,
        spell,
    }));
    let depth_m = site.beds[n].setup.depth;
    let high =
        days(&|b| above(b.depth, TOO_HIGH * depth_m), &|spell| Warning::BedTooHigh { bed, depth_m, spell });
    all.extend(high.filter(is_lasting));
    // what harms worms counts while there are worms
    let mut lasting = |seen: &dyn Fn(&BedRecord) -> Option<f64>, warning: &dyn Fn(Spell) -> Warning| {
        let seen = |b: &BedRecord| seen(b).filter(|_| b.stock > 0.0);
        all.extend(days(&seen, warning).filter(is_lasting));
    };
    let limit_celsius = COLD_BED;
    lasting(&|b| below(b.temperature, limit_celsius), &|spell| Warning::BedTooCold {
        bed,
        limit_celsius,
        spell,
    });
    let limit = DRY_BED;
    lasting(&|b| below(b.moisture, limit), &|spell| Warning::BedTooDry { bed, limit, spell });
    let limit = get("bed.moisture_response_full_high");
    lasting(&|b| above(b.moisture, limit), &|spell| Warning::BedTooWet { bed, limit, spell });
    let limit_ph = get("worms.acid_available_ph");
    lasting(&|b| below(b.ph, limit_ph), &|spell| Warning::BedSoured { bed, limit_ph, spell });
    let limit = HARMFUL_AMMONIA;
    lasting(&|b| above(b.ammonia_units, limit), &|spell| Warning::AmmoniaStress { bed, limit, spell });
    let limit_g_per_l = get("bed.salt_laying_half_effect");
    lasting(&|b| above(b.salt, limit_g_per_l), &|spell| Warning::SaltStress { bed, limit_g_per_l, spell });
    let is_thick = |b: &&BedRecord| b.fresh_reach < b.fresh_thickness;
    let reach_cm =
        trace.of_bed(n).filter(is_thick).map(|b| 100.0 * b.fresh_reach).fold(f64::INFINITY, f64::min);
    lasting(&|b| is_thick(&b).then_some(100.0 * b.fresh_thickness), &|spell| Warning::LayerTooThick {
        bed,
        reach_cm,
        spell,
    });
    band_of_bed(site, trace, n, all);
    stock_of_bed(site, trace, n, get, all);
}

/// A moisture band that is missed for weeks: what is watered drains, or the feed is wetter than the band.
fn band_of_bed(site: &Site, trace: &Trace, n: usize, all: &mut Vec<Warning>) {
    let bed = number(n);
    let MoistureBand { low: band_low, high: band_high } = site.beds[n].setup.moisture_band;
    let missed = |seen: &dyn Fn(f64) -> Option<f64>, warning: &dyn Fn(Spell) -> Warning| {
        let with_worms = trace.of_bed(n).filter(|b| b.stock > 0.0);
        on_days(with_worms.filter_map(|b| Some((b.date, seen(b.moisture)?))), warning)
            .filter(|warning| warning.spell().is_some_and(|spell| spell.days >= BAND_MISSED))
    };
    all.extend(missed(&|moisture| below(moisture, band_low - OFF_BAND), &|spell| Warning::BandMissedDry {
        bed,
        band_low,
        band_high,
        spell,
    }));
    all.extend(missed(&|moisture| above(moisture, band_high + OFF_BAND), &|spell| Warning::BandMissedWet {
        bed,
        band_low,
        band_high,
        spell,
    }));
}

fn stock_of_bed(site: &Site, trace: &Trace, n: usize, get: &dyn Fn(&str) -> f64, all: &mut Vec<Warning>) {
    let bed = number(n);
    // worms may arrive after the first day
    let mine = || trace.of_bed(n).skip_while(|b| b.stock <= 0.0);
    let days = |seen: &dyn Fn(&BedRecord) -> Option<f64>, warning: &dyn Fn(Spell) -> Warning| {
        on_days(mine().filter_map(|b| Some((b.date, seen(b)?))), warning)
    };
    let area = site.beds[n].setup.area;
    let upkeep = get("worms.maintenance_intake");
    let starving_days = trace.tally.beds[n].starving_days;
    if starving_days >= LASTING as usize {
        let hungry =
            |b: &BedRecord| below(b.intake, upkeep).filter(|_| b.stock > 0.0).map(|intake| intake / upkeep);
        let mut starving = days(&hungry, &|spell| Warning::WormsStarving { bed, spell });
        if let Some(spell) = starving.as_mut().and_then(Warning::spell_mut) {
            spell.days = count_of(starving_days);
        }
        all.extend(starving);
    }
    let crowded = get("worms.laying_density_half_effect");
    all.extend(days(&|b| above(b.stock / area, crowded), &|spell| Warning::Crowded {
        bed,
        limit_kg_per_m2: crowded,
        spell,
    }));
    let first = mine().next().map_or(0.0, |b| b.stock);
    let dying = |b: &BedRecord| below(b.stock, DYING_SHARE * first).map(|stock| stock / first);
    all.extend(days(&dying, &|spell| Warning::StockDyingOut { bed, spell }));
}
