//! Buying the stock against growing it: when the site takes the full intake. The numbers below are choices of ours.

use super::SizingError;
use super::answer::StartUp;
use super::judge::Judge;
use crate::monte_carlo::ensemble;
use crate::scenario::Size;
use crate::trace::DayRecord;

/// Shares of the stock that are bought.
const BOUGHT: [f64; 4] = [1.0, 0.5, 0.25, 0.1];
/// Draws of each.
pub(super) const DRAWS: u64 = 16;
/// Days over which intake and feed eaten are looked at.
const WINDOW: usize = 28;
/// Share of the intake that may be turned away at full intake.
const TURNED_AWAY: f64 = 0.02;
/// Share of the final level that is eaten at full intake.
const EATEN: f64 = 0.9;
/// Days of a month.
const MONTH: f64 = 365.25 / 12.0;

fn total(days: &[DayRecord], of: fn(&DayRecord) -> f64) -> f64 {
    days.iter().map(of).sum()
}

/// Day of the run, from 1, on which the full intake is reached: over the four weeks before less than 2 % of the intake is turned
/// away and at least nine tenths of `level` are eaten. None if it never is.
///
/// # Units
/// `level` in kg of feed a day.
pub(super) fn full_intake(days: &[DayRecord], level: f64) -> Option<usize> {
    let full = |days: &[DayRecord]| {
        let intake = total(days, |d| d.intake);
        total(days, |d| d.turned_away) < TURNED_AWAY * intake
            && total(days, |d| d.eaten) >= EATEN * level * days.len() as f64
    };
    days.windows(WINDOW).position(full).map(|first| first + WINDOW)
}

/// Feed eaten a day over the last four weeks, kg/d.
fn final_level(days: &[DayRecord]) -> f64 {
    let last = &days[days.len().saturating_sub(WINDOW)..];
    total(last, |d| d.eaten) / last.len().max(1) as f64
}

/// Month of the run, from 1, of a day.
fn month(day: u32) -> u32 {
    (1..=u32::MAX).find(|n| f64::from(day) <= f64::from(*n) * MONTH).unwrap_or(1)
}

/// The day by which a share of all draws have reached it.
fn by(reached: &[usize], share: f64) -> Option<u32> {
    let wanted = (0..=reached.len()).find(|n| *n as f64 >= share * DRAWS as f64)?;
    reached.get(wanted.max(1) - 1).and_then(|day| u32::try_from(*day).ok())
}

/// The ways to begin with a site of this size. The level to reach is what the whole stock eats in the last four weeks of the same
/// draw.
///
/// # Errors
/// [`SizingError`].
pub(super) fn start_up(judge: &Judge<'_>, size: &Size, worm_cost: f64) -> Result<Vec<StartUp>, SizingError> {
    let Judge { plan, watch, .. } = *judge;
    let numbers: Vec<u64> = (0..DRAWS).collect();
    let mut levels: Vec<f64> = Vec::new();
    let mut ways = Vec::new();
    for share in BOUGHT {
        let bought = size.stock * share;
        let sized = plan.resized(&Size { stock: bought, ..*size }).map_err(SizingError::Size)?;
        let (mut reached, mut turned_away, mut stock_end) = (Vec::new(), 0.0, 0.0);
        let made = ensemble::daily(&sized, judge.common(), &numbers, (judge.all_draws().threads, watch));
        if made.len() < numbers.len() {
            return Err(SizingError::Stopped(Box::default()));
        }
        for (place, days) in made.into_iter().enumerate() {
            let days = days.map_err(SizingError::NoDraw)?;
            if levels.len() <= place {
                levels.push(final_level(&days));
            }
            reached.extend(full_intake(&days, levels[place]));
            let intake = total(&days, |d| d.intake);
            turned_away += if intake > 0.0 { total(&days, |d| d.turned_away) / intake } else { 0.0 };
            stock_end += days.last().map_or(0.0, |d| d.stock);
        }
        reached.sort_unstable();
        let (half, late) = (by(&reached, 0.5), by(&reached, 0.9));
        ways.push(StartUp {
            bought_share: share,
            bought,
            cost: bought * worm_cost,
            reached: reached.len() as f64 / DRAWS as f64,
            month: half.map(month),
            day: half,
            late_month: late.map(month),
            turned_away: turned_away / DRAWS as f64,
            stock_end: stock_end / DRAWS as f64,
        });
    }
    Ok(ways)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn full_intake_needs_both_conditions_over_four_weeks() {
        let day = |turned_away: f64, eaten: f64| DayRecord {
            intake: 100.0,
            turned_away,
            eaten,
            ..DayRecord::new(date(2031, 1, 1))
        };
        // forty days of half the intake turned away, then none; feed eaten rises 1 kg a day to 100
        let days: Vec<DayRecord> =
            (0..200).map(|n| day(if n < 40 { 50.0 } else { 0.0 }, f64::from(n).min(100.0))).collect();
        // the mean of days n-27..n is n - 13.5 while it rises: 90 is passed once n - 13.5 >= 90, curved by the cap at 100
        let found = full_intake(&days, 100.0).unwrap();
        let mean = |to: usize| (to - 28..to).map(|n| n.min(100) as f64).sum::<f64>() / 28.0;
        assert!(mean(found) >= 90.0 && mean(found - 1) < 90.0, "{found}");
        assert_eq!(full_intake(&days[..60], 100.0), None);
        assert_eq!((month(1), month(30), month(31), month(365)), (1, 1, 2, 12));
        assert_eq!(by(&[30, 40], 0.5), None);
        assert_eq!(by(&[10, 20, 30, 40, 50, 60, 70, 80, 90], 0.5), Some(80));
    }
}
