//! Targets that no site within the bounds meets: the nearest that can be promised, and what it would take. The numbers below are choices of ours.

use super::grid::{Grid, KINDS, NAMES};
use super::judge::Judge;
use super::search::{self, AXES};
use super::{SizingError, chance};
use crate::quantity::{Kind, format_figures};
use crate::scenario::Plan;
use crate::scenario::sizing::Target;
use crate::trace::figures;
use std::fmt;

/// Questions asked to find what it would take.
const BUDGET: usize = 16;

/// A target as the nearest site meets it.
#[derive(Debug, Clone, PartialEq)]
pub struct Nearest {
    /// The target.
    pub target: Target,
    /// Unit of the figure.
    pub unit: &'static str,
    /// Share of all draws in which it holds there.
    pub share: f64,
    /// Share of all draws that would show the chance asked with the confidence asked.
    pub needed: f64,
    /// Limit that can be promised there with the chance asked. None for a target between two limits.
    pub promised: Option<f64>,
}

/// A size that would have to be larger than was tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Take {
    /// Name of the size.
    pub name: &'static str,
    /// Whether it was held at the plan's value; else it was sought within bounds.
    pub held: bool,
    /// Largest value tried, in the unit of the size.
    pub tried: f64,
    /// Value it would take.
    pub takes: f64,
}

/// Why the answer is no.
#[derive(Debug, Clone, PartialEq)]
pub struct Impossible {
    /// Names and values of the sizes of the nearest site; those without a limit are left out.
    pub sizes: Vec<(&'static str, f64)>,
    /// Every target, as that site meets it.
    pub targets: Vec<Nearest>,
    /// Sizes that would have to be larger; empty where no size tried reached.
    pub takes: Vec<Take>,
}

/// A target in words.
pub(super) fn statement(target: &Target) -> String {
    let most = target.at_most.map(|v| format!("at most {}", format_figures(v, 4)));
    let least = target.at_least.map(|v| format!("at least {}", format_figures(v, 4)));
    let limits: Vec<String> = least.into_iter().chain(most).collect();
    format!("{} {}", target.figure, limits.join(" and "))
}

impl Nearest {
    /// Whether it is missed: it holds in fewer draws than needed.
    pub fn missed(&self) -> bool {
        self.share < self.needed
    }

    /// The nearest statement that can be promised, in words: another limit with the chance asked, or the limit with another chance.
    pub fn nearest(&self) -> String {
        let t = &self.target;
        let instead = self.promised.map(|value| {
            let limits = Target {
                at_most: t.at_most.map(|_| value),
                at_least: t.at_least.map(|_| value),
                ..t.clone()
            };
            let plain = ["1", "kg/kg"].contains(&self.unit);
            let unit = if plain { String::new() } else { format!(" {}", self.unit) };
            format!("{}{unit} with chance {}, or ", statement(&limits), format_figures(t.chance, 4))
        });
        let chance = format!("{} with chance {}", statement(t), format_figures(self.share, 4));
        format!("{}{chance}", instead.unwrap_or_default())
    }
}

impl fmt::Display for Impossible {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "no site within the bounds meets the targets")?;
        for t in self.targets.iter().filter(|t| t.missed()) {
            write!(
                f,
                "; {} holds in {:.1} % of draws where {:.1} % are needed",
                statement(&t.target),
                100.0 * t.share,
                100.0 * t.needed
            )?;
        }
        Ok(())
    }
}

impl Impossible {
    /// What would help, in lines.
    pub fn hints(&self) -> Vec<String> {
        let sizes: Vec<String> = self.sizes.iter().map(|(name, value)| with_unit(name, *value)).collect();
        let mut hints = vec![format!("the nearest site has {}", sizes.join(", "))];
        hints.extend(
            self.targets
                .iter()
                .filter(|t| t.missed())
                .map(|t| format!("this can be promised: {}", t.nearest())),
        );
        let takes: Vec<String> = self
            .takes
            .iter()
            .map(|t| {
                let why = if t.held { "held at" } else { "tried up to" };
                format!("{} ({why} {})", with_unit(t.name, t.takes), format_figures(t.tried, 4))
            })
            .collect();
        hints.push(if takes.is_empty() {
            "no larger site that was tried meets them either; relax a target, or read the warnings of `loamledger run`"
                .to_owned()
        } else {
            format!("it would take {}", takes.join(", "))
        });
        hints
    }
}

/// Looks for the nearest site among those judged, and beyond the bounds for what it would take.
///
/// # Errors
/// [`SizingError`].
pub(super) fn impossible(plan: &Plan, judge: &mut Judge<'_>) -> Result<Impossible, SizingError> {
    let nearest = judge.nearest()?;
    let values = judge.whole(&nearest)?.clone();
    let targets = judge
        .wanted
        .iter()
        .zip(&values)
        .map(|(wanted, values)| {
            let t = &wanted.target;
            let one_sided = t.at_most.is_none() || t.at_least.is_none();
            Nearest {
                target: t.clone(),
                unit: figures::TABLE[wanted.place].unit,
                share: wanted.met(values) as f64 / values.len() as f64,
                needed: judge.needed(t) as f64 / values.len() as f64,
                promised: chance::promised(values, t.chance, judge.confidence(), t.at_most.is_some())
                    .filter(|_| one_sided),
            }
        })
        .collect();
    let sizes = named(&judge.grid, &nearest);
    Ok(Impossible { sizes, targets, takes: takes(plan, judge)? })
}

/// A size by name, with its value and unit.
pub(super) fn with_unit(name: &str, value: f64) -> String {
    let kind = NAMES.iter().zip(KINDS).find(|(known, _)| **known == name).map(|(_, kind)| kind);
    let unit = kind.map_or("", Kind::unit);
    format!("{name} {} {unit}", format_figures(value, 4)).trim_end().to_owned()
}

/// Values of all sizes that the plan limits, by name.
pub(super) fn named(grid: &Grid, point: &search::Point) -> Vec<(&'static str, f64)> {
    let values = grid.values(point);
    let limited = |n: &usize| grid.axes[*n].free || grid.axes[*n].plan.is_some();
    (0..AXES).filter(limited).map(|n| (grid.axes[n].name, values[n])).collect()
}

/// The cheapest way to enlarge what was held or bounded until the targets are met.
fn takes(plan: &Plan, within: &Judge<'_>) -> Result<Vec<Take>, SizingError> {
    let tried = &within.grid;
    let mut judge = within.on(Grid::beyond(plan, tried));
    let Some(start) = super::first(&mut judge)? else { return Ok(Vec::new()) };
    let (slopes, grain) = (judge.grid.slopes(), judge.grid.grain());
    let found = search::cheapest(&slopes, &start, &grain, BUDGET, |p| judge.quick(p))?;
    let Some(lifted) = super::lift(&mut judge, &found.point, &start, &grain)? else { return Ok(Vec::new()) };
    let point = search::descend(&slopes, &lifted, &found.point, |p| judge.meets(p))?;
    let values = judge.grid.values(&point);
    let more = (0..AXES).filter(|axis| values[*axis] > tried.axes[*axis].high() * (1.0 + 1e-12));
    Ok(more
        .map(|axis| Take {
            name: tried.axes[axis].name,
            held: !tried.axes[axis].free,
            tried: tried.axes[axis].high(),
            takes: values[axis],
        })
        .collect())
}
