//! The years of a run beside each other: the settled year and the first.

use super::answer::{LaterYear, LaterYears, YearFigure};
use super::warn::{LaterSpan, of_a_later_year};
use crate::chain::{Models, Site, Years};
use crate::scenario::Plan;
use crate::site_figures::site_figures_with;
use crate::trace::figures::{self, FigureSource, RunFigure};
use crate::trace::{Trace, YearChange};

/// Figures of the years of a site: of its settled year, or of the last one simulated, beside those of the first.
pub(super) fn later_years(
    plan: &Plan,
    site: &Site,
    models: &Models,
    years: &Years,
    get: &dyn Fn(&str) -> f64,
) -> LaterYears {
    let ends = years.first.as_ref().zip(years.last.as_ref());
    let last = ends.zip(years.sums.last()).map(|((first, last), sums)| {
        let read = |trace: &Trace| figures::read(&FigureSource::of(trace, get, &models.acids));
        let rows = figures::TABLE.iter().zip(read(first).into_iter().zip(read(last)));
        let money = site_figures_with(plan, site, first, get).money;
        let figures = site_figures_with(plan, site, last, get).after_first(money.as_ref());
        let span = LaterSpan {
            trace: last,
            figures: &figures,
            sums: &years.sums,
            settling: years.settling,
            tolerance: plan.settled_year.tolerance,
        };
        LaterYear {
            year: sums.year,
            start: sums.start,
            figures: rows.filter_map(beside).collect(),
            warnings: of_a_later_year(plan, site, &span, get),
            site: figures,
        }
    });
    let changes = match years.sums.as_slice() {
        [.., before, now] => YearChange::between(before, now),
        _ => Vec::new(),
    };
    LaterYears {
        settling: years.settling,
        tolerance: plan.settled_year.tolerance,
        most_years: plan.settled_year.most_years as usize,
        years: years.sums.clone(),
        changes,
        last,
    }
}

/// A figure of two years. None for one that neither has, and for one that is about other years.
fn beside((figure, (first, settled)): (&RunFigure, (Option<f64>, Option<f64>))) -> Option<YearFigure> {
    let is_of_a_year = figure.name != figures::START_UP_TURNED_AWAY && (first.is_some() || settled.is_some());
    let RunFigure { name, unit, what, .. } = *figure;
    is_of_a_year.then_some(YearFigure { name, unit, what, first, settled })
}
