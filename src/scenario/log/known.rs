//! What a log knows for certain takes the place of what the plan assumes: what arrived, room temperatures, when beds were harvested.

use super::kind::LogKind;
use super::read::{Log, LogLine, LogPlace};
use super::remarks::LONG_WITHOUT_READING;
use crate::chain::{KnownHarvests, Models, Site};
use crate::scenario::assemble::worms;
use crate::scenario::calendar::days_between;
use crate::scenario::plan::Plan;

/// Puts what a log knows into a site fresh from [`assemble_on`](crate::scenario::assemble_on) of the same plan, chance included.
///
/// - Scraps of a stream: from its first to its last line what the lines say, and nothing on days without one.
/// - Worms bought: between the first and the last line of the log those of the lines, if there are any.
/// - Rooms: on days with a reading that (the mean of several); between readings at most 15 days apart the difference to the plan's
///   temperature goes straight from one to the other; the plan's elsewhere. `site.bed_room_offset` and `site.drum_room_offset` come on
///   top: a thermometer may be wrong or hang in the wrong place.
/// - Harvests: between the first and the last line of the log those of the lines, if there are any.
pub fn with_log(plan: &Plan, log: &Log, site: &mut Site, models: &Models, get: &dyn Fn(&str) -> f64) {
    let (Some(first), Some(last)) = (log.lines.first(), log.lines.last()) else { return };
    let period = day_of(plan, first)..=day_of(plan, last);
    let of = |kind: LogKind| log.lines.iter().filter(move |line| line.kind == kind);
    for (number, stream) in site.streams.iter_mut().enumerate() {
        let lines: Vec<&LogLine> =
            of(LogKind::ScrapsIn).filter(|line| line.place == LogPlace::Stream(number)).collect();
        let (Some(first), Some(last)) = (lines.first(), lines.last()) else { continue };
        let kept = 1.0 - plan.streams[number].contamination;
        if let Some(days) = stream.amounts.get_mut(day_of(plan, first)..=day_of(plan, last)) {
            days.fill(0.0);
        }
        for line in &lines {
            stream.amounts[day_of(plan, line)] += line.value * kept;
        }
    }
    if of(LogKind::WormsIn).next().is_some() {
        site.arrivals.retain(|(day, _)| !period.contains(day));
        let bought = |line: &LogLine| {
            (day_of(plan, line), worms(plan.structure(), line.value, &models.bed.worms, get))
        };
        site.arrivals.extend(of(LogKind::WormsIn).map(bought));
    }
    let readings =
        |kind, above: f64| of(kind).map(|line| (day_of(plan, line), line.value + above)).collect::<Vec<_>>();
    let mut beds: Vec<f64> = site.bed_air.iter().map(|air| air.temperature).collect();
    joined(&mut beds, &readings(LogKind::BedRoom, get("site.bed_room_offset")));
    for (air, temperature) in site.bed_air.iter_mut().zip(beds) {
        air.temperature = temperature;
    }
    joined(&mut site.drum_room, &readings(LogKind::DrumRoom, get("site.drum_room_offset")));
    let mut takes: Vec<(usize, usize)> = of(LogKind::CastingsTaken)
        .flat_map(|line| match &line.place {
            LogPlace::Beds(beds) => beds.clone().map(|bed| (day_of(plan, line), bed)).collect(),
            _ => Vec::new(),
        })
        .collect();
    takes.sort_unstable();
    takes.dedup();
    if !takes.is_empty() {
        site.known_harvests = Some(KnownHarvests { first: *period.start(), last: *period.end(), takes });
    }
}

/// Day of the run of a line, which is within it.
fn day_of(plan: &Plan, line: &LogLine) -> usize {
    usize::try_from(days_between(plan.start, line.date)).unwrap_or(0)
}

/// Whether a log knows the temperature of a room on a day: it was read then, or before and after as near as readings are joined.
pub fn knows_room(plan: &Plan, log: &Log, room: LogKind, day: usize) -> bool {
    let days = log.lines.iter().filter(|line| line.kind == room).map(|line| day_of(plan, line));
    let before = days.clone().filter(|&read| read <= day).max();
    let after = days.filter(|&read| read >= day).min();
    before.zip(after).is_some_and(|(before, after)| after - before <= longest_joined())
}

/// Most days between two readings that are joined.
fn longest_joined() -> usize {
    usize::try_from(LONG_WITHOUT_READING).unwrap_or(0) + 1
}

/// Puts readings, in the order of days, into the temperatures of all days.
fn joined(days: &mut [f64], readings: &[(usize, f64)]) {
    let mut means: Vec<(usize, f64, f64)> = Vec::new();
    for &(day, value) in readings {
        match means.last_mut() {
            Some((last, sum, count)) if *last == day => (*sum, *count) = (*sum + value, *count + 1.0),
            _ => means.push((day, value, 1.0)),
        }
    }
    let longest = longest_joined();
    let differences: Vec<(usize, f64)> =
        means.into_iter().map(|(day, sum, count)| (day, sum / count - days[day])).collect();
    for pair in differences.windows(2) {
        let [(from, before), (to, after)] = [pair[0], pair[1]];
        if to - from > longest {
            continue;
        }
        for (day, temperature) in days.iter_mut().enumerate().take(to).skip(from + 1) {
            let part = (day - from) as f64 / (to - from) as f64;
            *temperature += before + (after - before) * part;
        }
    }
    for (day, difference) in differences {
        days[day] += difference;
    }
}

#[cfg(test)]
mod tests {
    use super::joined;

    #[test]
    fn readings_are_joined_by_their_difference_to_the_plan() {
        // by hand: plan 10, 11, 12 ...; read 12 on day 1 (the mean of two) and 17 on day 5: differences of 1 and 2
        let mut days: Vec<f64> = (10..40).map(f64::from).collect();
        joined(&mut days, &[(1, 11.0), (1, 13.0), (5, 17.0), (25, 30.0)]);
        let wanted = [10.0, 12.0, 13.25, 14.5, 15.75, 17.0, 16.0];
        assert!(days.iter().zip(wanted).all(|(day, wanted)| (day - wanted).abs() < 1e-12), "{days:?}");
        // twenty days are too long to join
        assert!(
            (days[15] - 25.0).abs() < 1e-12
                && (days[25] - 30.0).abs() < 1e-12
                && (days[26] - 36.0).abs() < 1e-12
        );
    }
}
