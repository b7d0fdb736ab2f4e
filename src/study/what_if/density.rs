//! Stocking densities against each other: what a square metre of bed does in the first year and in the settled one, and what follows
//! for buying worms.

use super::draws::SiteDraws;
use super::paired::{Paired, paired};
use super::variants::Ready;
use crate::chain::{Site, Years};
use crate::matter::ratio;
use crate::monte_carlo::ensemble::DrawFigures;
use crate::monte_carlo::summary::quantile;
use crate::scenario::Plan;
use crate::site_figures::money::MoneyFigures;
use crate::site_figures::site_figures_with;
use crate::trace::figures::FIGURES;
use crate::trace::{Settling, Trace, YEAR, YearSums};
use serde::Serialize;

/// Smallest difference between two densities, as a share of the larger mean, that counts. Our choice.
pub const NO_GAIN: f64 = 0.02;
/// Stocks per bed area that differ by no more than this, as a share of the largest mean, have met. Our choice, as for a settled year.
pub const MET: f64 = 0.05;
/// A start keeps its worms while its lowest stock is, on average, at least this share of it. Our choice: beyond it bodies thin and
/// some die, whatever was bought.
pub const KEPT: f64 = 0.8;
/// Stock per bed area below which there are no worms left, kg live/m2. Our choice: a gram is one worm or two.
const NONE_LEFT: f64 = 0.001;
/// A stock is lost when less than this share of the worms bought is left at the end of the first year. Our choice.
pub const LOST: f64 = 0.01;
/// Quantiles of a band.
const BAND: [f64; 2] = [0.05, 0.95];

/// Stocking densities against each other, the thinnest first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Densities {
    /// Worms bought first, per bed area, kg live/m2.
    pub densities: Vec<f64>,
    /// Worms bought first, kg live.
    pub bought: Vec<f64>,
    /// Density at which the scenario itself stocks its beds, kg live/m2.
    pub own: f64,
    /// Days of the first span: 365, or fewer where the run is shorter than a year.
    pub first_days: usize,
    /// Share of the draws of each density that reach a settled year; empty where none is sought.
    pub settled_share: Vec<f64>,
    /// Currency of money. `None` where the scenario gives no prices.
    pub currency: Option<String>,
    /// Each figure against density.
    pub figures: Vec<DensityFigure>,
    /// Mean stock per bed area at the end of each year, by density, kg live/m2: a draw that has settled stays as it is.
    pub stock_by_year: Vec<Vec<f64>>,
    /// The most neighbouring starts whose stocks come together. `None` where no two do, or fewer than two years are known.
    pub meeting: Option<Meeting>,
    /// The densest start that keeps its worms in the first year: its lowest stock is on average 80 % of the start or more. `None` if
    /// none does.
    pub kept_up_to: Option<f64>,
    /// Share of the draws, by density, that lose their stock: less than 1 % of the worms bought is left at the end of the first year.
    pub lost: Vec<f64>,
}

/// A figure against density.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DensityFigure {
    /// Name in files.
    pub name: &'static str,
    /// What it is, in words.
    pub what: &'static str,
    /// Unit, SI; the currency's place is held by `money`.
    pub unit: &'static str,
    /// In the first year, by density.
    pub first: Vec<Band>,
    /// In the settled year, by density; empty where none is sought.
    pub settled: Vec<Band>,
    /// Best density of the first year. `None` if none is best, or the figure has no best.
    pub best: Option<BestDensity>,
    /// Best density of the settled year.
    pub best_settled: Option<BestDensity>,
}

/// A figure over the draws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Band {
    /// Mean.
    pub mean: f64,
    /// 5 % of the draws are below.
    pub low: f64,
    /// 5 % of the draws are above.
    pub high: f64,
}

/// The best density of those tried, and those around it that are no worse.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BestDensity {
    /// Density with the best mean, kg live/m2.
    pub density: f64,
    /// Its mean.
    pub mean: f64,
    /// The thinnest density from which on, up to the best, none is clearly worse by 2 % or more.
    pub from: f64,
    /// The densest up to which none is clearly worse by 2 % or more.
    pub to: f64,
}

/// Starts whose stocks come together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Meeting {
    /// Thinnest of these starts, kg live/m2.
    pub from: f64,
    /// Densest of these starts, kg live/m2.
    pub to: f64,
    /// The first year from whose end on all their mean stocks per bed area are within 5 % of the largest, counted from 1.
    pub year: usize,
    /// Lowest of their mean stocks per bed area at the end of the last year, kg live/m2.
    pub low: f64,
    /// Highest of their mean stocks per bed area at the end of the last year, kg live/m2.
    pub high: f64,
}

/// What a density may be best at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Better {
    More,
    Unjudged,
}

/// A figure of a density: name, words, unit, whether more is better.
struct Measured {
    name: &'static str,
    what: &'static str,
    unit: &'static str,
    better: Better,
}

const fn measured(name: &'static str, what: &'static str, unit: &'static str, better: Better) -> Measured {
    Measured { name, what, unit, better }
}

/// Place of growth among the figures.
const GROWTH: usize = 3;
/// The figures, in the order in which a draw keeps them: first year, then settled year of each.
const MEASURED: [Measured; 7] = [
    measured("eaten", "feed eaten per bed area and day, as feed of 80 % water", "kg/(m2 d)", Better::More),
    measured("castings_dry", "castings harvested per bed area, dry matter", "kg/m2", Better::More),
    measured("stock_end", "worms at the end of the year, per bed area", "kg/m2", Better::Unjudged),
    measured("growth", "worms at the end of the year over those at its start", "1", Better::Unjudged),
    measured("survival", "lowest stock of the year over that at its start", "1", Better::Unjudged),
    measured("turned_away_share", "share of the scraps turned away", "kg/kg", Better::Unjudged),
    measured(
        "surplus",
        "surplus of the year and gain of the stock at its sale price, per bed area",
        "money/m2",
        Better::More,
    ),
];
/// What the site is worth over the years of the plan, which has no year: it counts the first year once, and the worms bought.
const WORTH: Measured =
    measured("worth", "net present value of the site per bed area, worms included", "money/m2", Better::More);
/// Places of the figures of a draw.
const GROWTH_PLACE: usize = FIGURES + 2 * GROWTH;
const WORTH_PLACE: usize = FIGURES + 2 * MEASURED.len();
const SETTLED_PLACE: usize = WORTH_PLACE + 1;
const YEARS_PLACE: usize = SETTLED_PLACE + 1;

/// What a density needs of a draw beside the figures of the table, in the order of the places above.
pub(super) fn of_draw(
    plan: &Plan,
    site: &Site,
    years: &Years,
    get: &dyn Fn(&str) -> f64,
) -> Vec<Option<f64>> {
    let area = plan.bed_area();
    let money = |trace: &Trace| site_figures_with(plan, site, trace, get).money;
    let whole = years.first.as_ref().unwrap_or(&years.run);
    let (first, last) = (YearSums::of(1, whole), years.sums.last().zip(years.last.as_ref()));
    let before = years.sums.len().checked_sub(2).map(|n| years.sums[n].stock_end);
    let first_money = money(whole);
    let last_money = last.and_then(|(_, trace)| money(trace));
    // worms bought and sold again are no income of the year, and those that died are a loss of it
    let price = plan.money.as_ref().and_then(|prices| prices.worm_sale_price).unwrap_or(0.0) / 1000.0;
    let surplus = |money: Option<&MoneyFigures>, start: Option<f64>, sums: &YearSums| {
        Some((money?.surplus + price * (sums.stock_end - start?)) / area)
    };
    let bought = Some(first_stock(whole));
    let of_first = of_year(&first, whole, area, bought, surplus(first_money.as_ref(), bought, &first));
    let of_last = last
        .map(|(sums, trace)| of_year(sums, trace, area, before, surplus(last_money.as_ref(), before, sums)));
    let of_last = of_last.unwrap_or([None; MEASURED.len()]);
    let mut out: Vec<Option<f64>> = of_first.into_iter().zip(of_last).flat_map(|(a, b)| [a, b]).collect();
    let worth = match (&first_money, last_money) {
        (Some(first), Some(later)) => Some(later.after_first(first.surplus).net_present_value),
        (Some(first), None) => Some(first.net_present_value),
        _ => None,
    };
    out.push(worth.map(|worth| worth / area));
    out.push(last.map(|_| f64::from(u8::from(years.settling == Settling::Settled))));
    out.extend(years.sums.iter().map(|year| Some(left(year.stock_end / area))));
    out
}

/// A stock per bed area, 0 where none is left.
fn left(stock: f64) -> f64 {
    if stock < NONE_LEFT { 0.0 } else { stock }
}

/// Live worms on the first day that has any, kg.
fn first_stock(trace: &Trace) -> f64 {
    trace.daily.iter().map(|d| d.stock).find(|stock| *stock > 0.0).unwrap_or(0.0)
}

/// The figures of a year, in the order of [`MEASURED`].
fn of_year(
    sums: &YearSums,
    trace: &Trace,
    area: f64,
    start: Option<f64>,
    surplus: Option<f64>,
) -> [Option<f64>; MEASURED.len()] {
    let over = |part: f64, whole: f64| (whole > 0.0).then(|| part / whole);
    let lowest = trace.daily.iter().map(|d| d.stock).skip_while(|stock| *stock <= 0.0);
    let lowest = lowest.fold(f64::INFINITY, f64::min);
    [
        over(sums.eaten, area * trace.daily.len() as f64),
        over(sums.castings_dry, area),
        over(sums.stock_end, area).map(left),
        start.and_then(|start| over(sums.stock_end, start)),
        start.and_then(|start| over(lowest.min(start), start)),
        over(sums.turned_away, sums.intake),
        surplus,
    ]
}

/// The variants by rising density; `own` is the density of the scenario itself.
pub(super) fn densities(own: f64, ready: &[Ready], runs: &[SiteDraws]) -> Densities {
    let density = |n: usize| ready[n].plan.size().stock / ready[n].plan.bed_area();
    let mut order: Vec<usize> = (0..ready.len()).collect();
    order.sort_by(|a, b| density(*a).total_cmp(&density(*b)));
    order.dedup_by(|a, b| density(*a).total_cmp(&density(*b)).is_eq());
    let runs: Vec<&SiteDraws> = order.iter().map(|&n| &runs[n]).collect();
    let densities: Vec<f64> = order.iter().map(|&n| density(n)).collect();
    let mut figures: Vec<DensityFigure> = (0..MEASURED.len())
        .filter_map(|n| figure(&MEASURED[n], (FIGURES + 2 * n, Some(FIGURES + 2 * n + 1)), &densities, &runs))
        .collect();
    figures.extend(figure(&WORTH, (WORTH_PLACE, None), &densities, &runs));
    let stock_by_year: Vec<Vec<f64>> = runs.iter().map(|run| stock_by_year(run)).collect();
    let kept = figures.iter().find(|f| f.name == "survival").map(|f| f.first.as_slice());
    let kept = kept.and_then(|of| of.iter().rposition(|band| band.mean >= KEPT));
    let shares = runs.iter().filter_map(|run| band(run, SETTLED_PLACE)).map(|band| band.mean).collect();
    let plan = &ready[order[0]].plan;
    Densities {
        bought: order.iter().map(|&n| ready[n].plan.size().stock).collect(),
        own,
        first_days: (plan.days as usize).min(YEAR),
        settled_share: shares,
        currency: plan.money.as_ref().map(|money| money.currency.clone()),
        figures,
        meeting: meeting(&densities, &stock_by_year),
        stock_by_year,
        kept_up_to: kept.map(|n| densities[n]),
        lost: runs.iter().map(|run| lost(run)).collect(),
        densities,
    }
}

/// Share of the draws that lose their stock in the first year.
fn lost(run: &SiteDraws) -> f64 {
    debug_assert_eq!(MEASURED[GROWTH].name, "growth");
    let ends: Vec<f64> = run.rows.iter().filter_map(|row| value(row, GROWTH_PLACE)).collect();
    let lost = ends.iter().filter(|end| **end < LOST).count();
    ratio(lost as f64, ends.len() as f64)
}

/// A value of a draw. None if it has none.
fn value(row: &DrawFigures, place: usize) -> Option<f64> {
    row.figures.get(place)?.value()
}

/// A figure over the draws that have it. None if no draw has.
fn band(run: &SiteDraws, place: usize) -> Option<Band> {
    let mut values: Vec<f64> = run.rows.iter().filter_map(|row| value(row, place)).collect();
    if values.is_empty() {
        return None;
    }
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    values.sort_by(f64::total_cmp);
    let [low, high] = BAND.map(|at| quantile(&values, at));
    Some(Band { mean, low, high })
}

/// A figure against density. None if some density has no draw with it in the first year.
fn figure(
    of: &Measured,
    (first, settled): (usize, Option<usize>),
    densities: &[f64],
    runs: &[&SiteDraws],
) -> Option<DensityFigure> {
    let bands = |place: usize| runs.iter().map(|run| band(run, place)).collect::<Option<Vec<Band>>>();
    let best = |place: usize, bands: &[Band]| {
        if of.better == Better::More { best(place, bands, densities, runs) } else { None }
    };
    let in_first = bands(first)?;
    let in_settled = settled.and_then(bands).unwrap_or_default();
    Some(DensityFigure {
        name: of.name,
        what: of.what,
        unit: of.unit,
        best: best(first, &in_first),
        best_settled: settled.and_then(|place| best(place, &in_settled)),
        first: in_first,
        settled: in_settled,
    })
}

/// The density of the highest mean, and those beside it that are not clearly worse. None with fewer than two densities.
fn best(place: usize, bands: &[Band], densities: &[f64], runs: &[&SiteDraws]) -> Option<BestDensity> {
    let at = (0..bands.len()).max_by(|a, b| bands[*a].mean.total_cmp(&bands[*b].mean))?;
    if bands.len() < 2 {
        return None;
    }
    let as_good = |n: usize| {
        let Paired { mean, low, .. } = less(runs[n], runs[at], place);
        let counts = NO_GAIN * bands[at].mean.abs();
        // the best is better by less than counts, or not for sure
        n == at || mean < counts || low <= 0.0
    };
    let from = (0..=at).rev().take_while(|n| as_good(*n)).last().unwrap_or(at);
    let to = (at..bands.len()).take_while(|n| as_good(*n)).last().unwrap_or(at);
    Some(BestDensity {
        density: densities[at],
        mean: bands[at].mean,
        from: densities[from],
        to: densities[to],
    })
}

/// How much more the second has than the first, over the draws that both have.
fn less(a: &SiteDraws, b: &SiteDraws, place: usize) -> Paired {
    let other = |draw: u64| b.rows.binary_search_by_key(&draw, |row| row.draw).ok();
    let both = a.rows.iter().filter_map(|row| {
        let found = &b.rows[other(row.draw)?];
        Some((value(row, place)?, value(found, place)?))
    });
    let (a, b): (Vec<f64>, Vec<f64>) = both.unzip();
    paired(&a, &b)
}

/// Mean stock per bed area at the end of each year; a draw that is followed no further stays as it is.
fn stock_by_year(run: &SiteDraws) -> Vec<f64> {
    let years = |row: &DrawFigures| row.figures.len().saturating_sub(YEARS_PLACE);
    let most = run.rows.iter().map(years).max().unwrap_or(0);
    let known: Vec<_> = run.rows.iter().filter(|row| years(row) > 0).collect();
    let at = |year: usize| {
        let end = |row: &&DrawFigures| value(row, YEARS_PLACE + year.min(years(row) - 1)).unwrap_or(0.0);
        known.iter().map(end).sum::<f64>() / known.len() as f64
    };
    (0..most).map(at).collect()
}

/// The most neighbouring starts whose stocks come together, and when.
fn meeting(densities: &[f64], stock: &[Vec<f64>]) -> Option<Meeting> {
    let most = stock.iter().map(Vec::len).max()?;
    if most < 2 || stock.iter().any(Vec::is_empty) {
        return None;
    }
    let ends = |starts: &[Vec<f64>], year: usize| {
        let at = starts.iter().map(|years| years[year.min(years.len() - 1)]);
        at.fold((f64::INFINITY, 0.0_f64), |(low, high), end| (low.min(end), high.max(end)))
    };
    let is_met = |starts: &[Vec<f64>], year: usize| {
        let (low, high) = ends(starts, year);
        high - low <= MET * high
    };
    let count = stock.len();
    let spans = (2..=count).rev().flat_map(|size| (0..=count - size).map(move |from| (from, from + size)));
    let (from, past) = spans.into_iter().find(|(from, past)| is_met(&stock[*from..*past], most - 1))?;
    let starts = &stock[from..past];
    // starts that have met do not part again
    let year = (0..most).rev().take_while(|year| is_met(starts, *year)).last()? + 1;
    let (low, high) = ends(starts, most - 1);
    Some(Meeting { from: densities[from], to: densities[past - 1], year, low, high })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::monte_carlo::ensemble::KeptFigure;

    /// Draws that hold these values at a place after the figures of the table.
    fn run(values: &[f64]) -> SiteDraws {
        let row = |(draw, value): (u64, &f64)| {
            let figures = [None; FIGURES].into_iter().chain([Some(*value)]).map(KeptFigure::from);
            DrawFigures { draw, figures: figures.collect() }
        };
        let rows: Vec<DrawFigures> = (0..).zip(values).map(row).collect();
        SiteDraws { rows, failed: Vec::new() }
    }

    #[test]
    fn densities_within_noise_or_two_percent_of_the_best_are_as_good() {
        let runs = [
            run(&[0.5, 0.6, 0.7]),    // clearly less than the best
            run(&[0.99, 1.09, 1.19]), // always 0.01 less: below 2 %
            run(&[1.0, 1.1, 1.2]),    // the best
            run(&[0.9, 1.3, 0.9]),    // less by 0.07 on average, but not for sure
            run(&[0.9, 1.0, 1.1]),    // always 0.1 less
        ];
        let runs: Vec<&SiteDraws> = runs.iter().collect();
        let bands: Vec<Band> = runs.iter().map(|run| band(run, FIGURES).expect("draws")).collect();
        let best = best(FIGURES, &bands, &[1.0, 2.0, 4.0, 8.0, 16.0], &runs).expect("five densities");
        assert!((best.density - 4.0).abs() < 1e-12 && (best.mean - 1.1).abs() < 1e-12);
        assert_eq!((best.from.to_bits(), best.to.to_bits()), (2.0_f64.to_bits(), 8.0_f64.to_bits()));
    }

    #[test]
    fn stocks_meet_in_the_year_from_which_on_they_are_alike() {
        // by hand: at the end of year 2 the starts are 5.0 and 5.9 (15 % apart), of year 3 5.6 and 5.7 (2 %)
        let met = meeting(&[2.0, 8.0], &[vec![2.0, 5.0, 5.6], vec![8.0, 5.9, 5.7]]).expect("two starts");
        assert_eq!(met, Meeting { from: 2.0, to: 8.0, year: 3, low: 5.6, high: 5.7 });
        // one that settles earlier stays as it is
        let settled = meeting(&[2.0, 8.0], &[vec![2.0, 5.6], vec![8.0, 6.5, 5.7]]);
        assert_eq!(settled.map(|met| met.year), Some(3));
        assert_eq!(meeting(&[2.0, 8.0], &[vec![2.0, 3.0], vec![8.0, 6.0]]), None);
        assert_eq!(meeting(&[2.0], &[vec![2.0, 3.0]]), None);
        assert_eq!(meeting(&[2.0, 8.0], &[Vec::new(), Vec::new()]), None);
        // stocks that died out have met at nothing: a gram on a square metre is no stock
        assert_eq!([3e-8, 0.0009, 0.001].map(|s| left(s).to_bits()), [0.0, 0.0, 0.001_f64].map(f64::to_bits));
        let dead = meeting(&[2.0, 8.0], &[vec![2.0, 0.0], vec![8.0, 0.0]]).expect("two starts");
        assert_eq!((dead.year, dead.high.to_bits()), (2, 0));
        // a start that stays apart leaves the others out of nothing
        let apart = [vec![2.0, 5.6], vec![5.0, 5.7], vec![9.0, 2.0]];
        let met = meeting(&[2.0, 4.0, 30.0], &apart).expect("two of three");
        assert_eq!((met.from.to_bits(), met.to.to_bits()), (2.0_f64.to_bits(), 4.0_f64.to_bits()));
    }
}
