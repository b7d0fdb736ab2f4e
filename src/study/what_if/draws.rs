//! Draws of the sites of a comparison. A draw in which drums were always free is the same with any other number that is enough, and is
//! not made again.

use super::WhatIfError;
use crate::monte_carlo::ensemble::{
    self, CommonDraws, DrawFigures, Failed, KeptFigure, ReadMore, SingleDraw,
};
use crate::monte_carlo::{Draws, Study, StudyError, Watch};
use crate::scenario::Plan;

/// Draws of each site in a turn.
const TURN: u64 = 20;

/// Draws of a site.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct SiteDraws {
    /// Figures by draw, in rising order.
    pub(super) rows: Vec<DrawFigures>,
    /// Draws that gave no answer, in rising order.
    pub(super) failed: Vec<Failed>,
}

impl SiteDraws {
    fn append(&mut self, more: Self) {
        self.rows.extend(more.rows);
        self.failed.extend(more.failed);
    }

    fn add(&mut self, SingleDraw { number: draw, figures, .. }: &SingleDraw) {
        match figures {
            Ok(figures) => {
                let figures = figures.map(KeptFigure::from).into();
                self.rows.push(DrawFigures { draw: *draw, figures });
            }
            Err(message) => self.failed.push(Failed { draw: *draw, message: message.clone() }),
        }
    }
}

/// Sites that are run on the same draws, and how.
pub(super) struct Sites<'a> {
    pub(super) plans: &'a [&'a Plan],
    /// Places of the plans that differ in their drums alone, group by group.
    pub(super) alike: &'a [Vec<usize>],
    /// What is read beside the figures of the table; not in groups of several.
    pub(super) more: Option<&'a ReadMore<'a>>,
}

impl Sites<'_> {
    /// Draws of all sites, a few of each in turn, so that all have the same ones when the work is stopped; and one past the last of them.
    ///
    /// # Errors
    /// [`WhatIfError`] when unknowns cannot be drawn, or the work is stopped before two draws.
    pub(super) fn draws(&self, asked: &Draws, watch: &Watch) -> Result<(Vec<SiteDraws>, u64), WhatIfError> {
        let study = |group: &Vec<usize>| Study::of(self.plans[group[0]]);
        let studies: Vec<Study> = self.alike.iter().map(study).collect::<Result<_, StudyError>>()?;
        let mut all = vec![SiteDraws::default(); self.plans.len()];
        let mut from = asked.from;
        while from < asked.to {
            let turn = asked.between(from, (from + TURN).min(asked.to));
            let made: Option<Vec<_>> = studies
                .iter()
                .zip(self.alike)
                .map(|(study, of)| match of[..] {
                    [site] => self.alone(site, study, &turn, watch),
                    _ => self.shared(of, &CommonDraws::of(study, &turn), &turn, watch),
                })
                .collect();
            let Some(made) = made else { break };
            for (site, draws) in made.into_iter().flatten() {
                all[site].append(draws);
            }
            from = turn.to;
        }
        if from - asked.from < 2 { Err(WhatIfError::Stopped) } else { Ok((all, from)) }
    }

    /// Draws of one site. `None` if the work was stopped.
    fn alone(
        &self,
        site: usize,
        study: &Study,
        turn: &Draws,
        watch: &Watch,
    ) -> Option<Vec<(usize, SiteDraws)>> {
        let made = ensemble::run_reading(self.plans[site], study, turn, watch, self.more);
        let whole = !made.is_partial();
        whole.then(|| vec![(site, SiteDraws { rows: made.rows, failed: made.failed })])
    }

    /// Draws of sites that differ in their drums alone, that with most drums first, as its draws serve the others. `None` if the work was
    /// stopped.
    fn shared(
        &self,
        of: &[usize],
        common: &CommonDraws<'_>,
        turn: &Draws,
        watch: &Watch,
    ) -> Option<Vec<(usize, SiteDraws)>> {
        let drums = |site: usize| self.plans[site].size().drums;
        let mut sites = of.to_vec();
        sites.sort_by_key(|site| std::cmp::Reverse(drums(*site)));
        let mut known: Vec<SingleDraw> = Vec::new();
        let mut all = Vec::new();
        for site in sites {
            let same =
                |draw: &&SingleDraw| draw.drums_enough.is_some_and(|enough| f64::from(drums(site)) >= enough);
            let kept: Vec<SingleDraw> = known.iter().filter(same).cloned().collect();
            let missing: Vec<u64> = (turn.from..turn.to)
                .filter(|number| kept.iter().all(|draw| draw.number != *number))
                .collect();
            let made = ensemble::single(self.plans[site], common, &missing, (turn.threads, watch));
            if made.len() < missing.len() {
                return None;
            }
            for _ in &kept {
                watch.count();
            }
            known = kept.into_iter().chain(made).collect();
            known.sort_by_key(|draw| draw.number);
            let mut draws = SiteDraws::default();
            for draw in &known {
                draws.add(draw);
            }
            all.push((site, draws));
        }
        Some(all)
    }
}
