//! Making the draws of a site, and not making those that cannot differ from one of another site.

use super::{Judge, Made};
use crate::monte_carlo::ensemble;
use crate::scenario::Plan;
use crate::study::sizing::SizingError;
use crate::study::sizing::grid::BEDS;
use crate::study::sizing::question::Wanted;
use crate::study::sizing::search::Point;

impl Judge<'_> {
    /// Makes draws of a site, or takes them from a site with other drums where they cannot differ.
    pub(super) fn make(&mut self, point: &Point, draws: &[usize]) -> Result<(), SizingError> {
        let mut known = match self.seen.get(point) {
            Some(known) => known.clone(),
            None => vec![None; self.count()],
        };
        let mut missing = Vec::new();
        for &n in draws {
            match self.same(point, n) {
                Some(made) => {
                    known[n] = Some(made);
                    self.draws_reused += 1;
                }
                None => missing.push(n as u64),
            }
        }
        if missing.is_empty() {
            self.seen.insert(*point, known);
            return Ok(());
        }
        let plan = self.sized(point)?;
        let made = ensemble::single(&plan, &self.common, &missing, (self.all.threads, self.watch));
        if made.len() < missing.len() {
            return Err(SizingError::Stopped(Box::default()));
        }
        if let Some(Err(message)) = made.first().map(|draw| &draw.figures)
            && self.draws_made == 0
            && made.iter().all(|draw| draw.figures.is_err())
        {
            return Err(SizingError::NoDraw(message.clone()));
        }
        for draw in made {
            let n = usize::try_from(draw.number).expect("draws are kept in memory");
            let value =
                |wanted: &Wanted| draw.figures.as_ref().map_or(f64::NAN, |figures| wanted.value(figures));
            let values = self.wanted.iter().map(value).collect();
            known[n] = Some(Made { values, drums_enough: draw.drums_enough });
            self.draws_made += 1;
        }
        self.seen.insert(*point, known);
        Ok(())
    }

    /// A draw of another site that is the same to the last bit: all sizes but drums are equal, and both have drums enough.
    fn same(&self, point: &Point, draw: usize) -> Option<Made> {
        let drums = self.grid.axes[0].value(point[0]);
        let alike = |other: &Point| other[BEDS..] == point[BEDS..];
        let mut made =
            self.seen.iter().filter(|(other, _)| alike(other)).filter_map(|(_, known)| known[draw].as_ref());
        made.find(|made| made.drums_enough.is_some_and(|enough| drums >= enough)).cloned()
    }

    /// The plan of a site, followed no farther than the questions ask.
    fn sized(&self, point: &Point) -> Result<Plan, SizingError> {
        let sized = self.plan.resized(&self.grid.size(point)).map_err(SizingError::Size)?;
        let later = self.wanted.iter().any(Wanted::needs_later_years);
        Ok(if later { sized } else { sized.without_later_years() })
    }
}
