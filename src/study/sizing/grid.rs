//! The sizes that are tried: bounds, steps, what each costs. The numbers below are choices of ours.

use super::search::{AXES, Point, Slopes};
use crate::quantity::{Kind, whole};
use crate::scenario::sizing::Extent;
use crate::scenario::{Plan, Size, central};

/// Days of the window over which the busiest intake is taken.
const BUSY_DAYS: usize = 28;
/// Days that a drum waits for a working day, for its turn and for the week to end, beyond filling and fermenting.
const WAITING_DAYS: f64 = 7.0;
/// Most steps of one size.
const LARGEST_STEPS: u32 = 10_000_000;
/// Steps between the least and the largest value where the user gives none.
const STEPS: f64 = 100.0;

/// Grains in the range of a size: a thirtieth is told apart by few draws, a hundredth is not.
const GRAINS: u32 = 32;

/// Names of the sizes, in the order of the axes.
pub const NAMES: [&str; AXES] = ["drums", "bed_area", "stock", "grinder_hours", "bran_weekly_capacity"];
/// Kinds of the sizes.
pub(super) const KINDS: [Kind; AXES] = [Kind::Count, Kind::Area, Kind::Mass, Kind::Hours, Kind::Mass];

/// One size, in the unit of its kind.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeAxis {
    /// Name, one of [`NAMES`].
    pub name: &'static str,
    /// What it measures.
    pub kind: Kind,
    /// Whether it is sought; else it is held at the plan's value.
    pub free: bool,
    /// Value of the plan. None if the plan sets no limit.
    pub plan: Option<f64>,
    /// Least value tried.
    pub low: f64,
    /// Step between values.
    pub step: f64,
    /// Steps to the largest value tried.
    pub most: u32,
    /// Cost of one unit, in the currency of the plan or in assumed weight.
    pub weight: f64,
    /// Where the weight comes from: given, a price of the plan, or assumed.
    pub basis: &'static str,
    /// What a calculation by hand gives.
    pub by_hand: f64,
}

impl SizeAxis {
    /// Value after so many steps: low + steps x step.
    pub fn value(&self, steps: u32) -> f64 {
        self.low + f64::from(steps) * self.step
    }

    /// Largest value tried.
    pub fn high(&self) -> f64 {
        self.value(self.most)
    }

    /// Steps to the first value that is not below the given one, at most to the largest.
    pub fn steps_to(&self, value: f64) -> u32 {
        (0..self.most).find(|&n| self.value(n) >= value * (1.0 - 1e-12)).unwrap_or(self.most)
    }
}

/// All sizes, and the plan's own.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Axes in the order of `NAMES`.
    pub axes: [SizeAxis; AXES],
    /// The plan's own sizes; what is held stays as it is here.
    base: Size,
}

/// What a calculation by hand gives; a size is 0 if the plan has nothing to divide by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reckoned {
    /// Mean intake, kg/d.
    pub intake: f64,
    /// Mean intake of the busiest four weeks, kg/d.
    pub busiest: f64,
    /// Number of drums: busiest intake x (filling + fermenting + a week of waiting) / contents.
    pub drums: f64,
    /// Bed area: mean intake / published load of beds without climate control, m2.
    pub bed_area: f64,
    /// Stock: mean intake / ration, kg live.
    pub stock: f64,
    /// Grinding hours on a working day: 7 x busiest intake / (rate x working days of a week), h.
    pub grinder_hours: f64,
    /// Bran of a week: 7 x busiest intake x dose, kg.
    pub bran: f64,
}

impl Reckoned {
    /// Calculates by hand from a plan.
    ///
    /// # Source
    /// `site.bed_load_passive`; the plan's own fill, days, ration and rates.
    pub fn of(plan: &Plan) -> Self {
        let mut daily = vec![0.0; plan.days as usize];
        for (n, stream) in plan.streams.iter().enumerate() {
            for (sum, amount) in daily.iter_mut().zip(plan.daily_amounts(n)) {
                *sum += amount * (1.0 - stream.contamination);
            }
        }
        let window = BUSY_DAYS.min(daily.len()).max(1);
        let busiest =
            daily.windows(window).map(|days| days.iter().sum::<f64>() / window as f64).fold(0.0, f64::max);
        let intake = plan.mean_intake();
        let days = f64::from(plan.drums.minimum_days + plan.drums.most_filling_days) + WAITING_DAYS;
        let working = plan.grinder.weekdays.iter().filter(|on| **on).count() as f64;
        let over = |amount: f64, by: f64| if by > 0.0 { amount / by } else { 0.0 };
        Self {
            intake,
            busiest,
            drums: over(busiest * days, plan.drums.drum_mass()),
            bed_area: over(intake, central(plan, "site.bed_load_passive")),
            stock: over(intake, plan.feeding.ration),
            grinder_hours: over(7.0 * busiest, plan.grinder.rate * working),
            bran: 7.0 * busiest * plan.bran.dose,
        }
    }
}

impl Grid {
    /// The sizes that the scenario allows.
    pub fn of(plan: &Plan) -> Self {
        Self::reaching(plan, 1.0)
    }

    /// The sizes that the scenario allows; if it gives no largest value, this many times as far as usual.
    pub(super) fn reaching(plan: &Plan, reach: f64) -> Self {
        let s = &plan.sizing;
        let asked = [s.drums, s.bed_area, s.stock, s.grinder_hours, s.bran_weekly_capacity];
        Self::with(plan, &asked, reach)
    }

    /// Every size that means anything to the plan free, far beyond the largest tried: what was sought from its least value on, as more
    /// of it may harm, what was held from there on. What it would take is sought there where the targets cannot be met.
    pub fn beyond(plan: &Plan, tried: &Self) -> Self {
        let mut wide = Self::with(plan, &[Extent { free: true, ..Extent::default() }; AXES], 1.0);
        for (axis, tried) in wide.axes.iter_mut().zip(&tried.axes) {
            let (low, high) = (tried.low, axis.high().max(4.0 * tried.high()));
            let limitless = tried.plan.is_none() && !tried.free;
            let idle = (tried.name == "bed_area" && plan.bed_area() <= 0.0) || limitless;
            axis.low = low;
            axis.step = if axis.name == "drums" { 1.0 } else { round_step((high - low) / STEPS) };
            axis.most = if idle { 0 } else { whole_steps((high - low) / axis.step) };
            if axis.name == "grinder_hours" {
                axis.most = axis.most.min(whole_steps((24.0 - low) / axis.step));
            }
            axis.free = axis.most > 0;
        }
        wide
    }

    fn with(plan: &Plan, asked: &[Extent; AXES], reach: f64) -> Self {
        let base = plan.size();
        let by_hand = Reckoned::of(plan);
        let plan_values = [
            Some(f64::from(base.drums)),
            Some(base.bed_area),
            Some(base.stock),
            Some(base.grinder_hours),
            base.bran_weekly_capacity,
        ];
        let hand = [by_hand.drums, by_hand.bed_area, by_hand.stock, by_hand.grinder_hours, by_hand.bran];
        let weights = weights(plan);
        let axes = std::array::from_fn(|n| {
            let (weight, basis) = weights[n];
            let axis = SizeAxis {
                name: NAMES[n],
                kind: KINDS[n],
                free: false,
                plan: plan_values[n],
                low: plan_values[n].unwrap_or(0.0),
                step: 1.0,
                most: 0,
                weight,
                basis,
                by_hand: hand[n],
            };
            // a site without beds has none that could be scaled
            let possible = n != 1 || base.bed_area > 0.0;
            if asked[n].free && possible { sought(axis, &asked[n], reach) } else { axis }
        });
        Self { axes, base }
    }

    /// Cost of a step on each axis: weight x step.
    pub fn slopes(&self) -> Slopes {
        std::array::from_fn(|n| self.axes[n].weight * self.axes[n].step)
    }

    /// Steps on each axis that the few draws of a search do not tell apart: a part in 32 of the range, at least 1.
    pub fn grain(&self) -> Point {
        std::array::from_fn(|n| (self.axes[n].most / GRAINS).max(1))
    }

    /// The point with the largest value of everything.
    pub fn top(&self) -> Point {
        std::array::from_fn(|n| self.axes[n].most)
    }

    /// The first point not below the plan's own sizes.
    pub(super) fn at_plan(&self) -> Point {
        std::array::from_fn(|n| self.axes[n].plan.map_or(0, |value| self.axes[n].steps_to(value)))
    }

    /// Value of each size at a point, in its unit.
    pub fn values(&self, point: &Point) -> [f64; AXES] {
        std::array::from_fn(|n| self.axes[n].value(point[n]))
    }

    /// What all sizes at a point cost together: the sum of weight x value.
    pub fn cost(&self, point: &Point) -> f64 {
        self.axes.iter().zip(self.values(point)).map(|(axis, value)| axis.weight * value).sum()
    }

    /// The sizes at a point.
    pub fn size(&self, point: &Point) -> Size {
        let [drums, bed_area, stock, grinder_hours, bran] = self.values(point);
        Size {
            drums: whole(drums),
            bed_area,
            stock,
            grinder_hours,
            bran_weekly_capacity: if self.axes[4].most > 0 {
                Some(bran)
            } else {
                self.base.bran_weekly_capacity
            },
        }
    }
}

/// A size that is sought: bounds as given, else well around what the hand gives.
#[expect(clippy::needless_pass_by_value, reason = "the axis comes back completed")]
fn sought(axis: SizeAxis, asked: &Extent, reach: f64) -> SizeAxis {
    let hand = axis.by_hand;
    let plan = axis.plan.unwrap_or(0.0);
    let drums = axis.name == "drums";
    let above = if drums { 4.0 } else { 2.5 };
    let mut high = asked.high.unwrap_or_else(|| reach * (above * hand).max(1.25 * plan));
    if axis.name == "grinder_hours" {
        high = high.min(24.0);
    }
    let least = match axis.name {
        "drums" => 1.0,
        "bed_area" => 0.1 * hand.min(plan),
        _ => 0.0,
    };
    let low = asked.low.unwrap_or(least.min(high));
    let high = high.max(low);
    let usual = if drums { 1.0 } else { round_step((high - low) / STEPS) };
    let step = asked.step.unwrap_or(usual);
    // values read well when they are whole steps
    let low = if asked.low.is_some() || drums { low } else { (low / step).ceil() * step };
    let high = if drums { high.ceil() } else { high };
    SizeAxis { free: true, low, step, most: whole_steps(((high - low) / step).max(0.0) + 1e-9), ..axis }
}

/// 1, 2 or 5 times a power of ten, not above the given value.
fn round_step(wanted: f64) -> f64 {
    if wanted <= 0.0 || !wanted.is_finite() {
        return 1.0;
    }
    let power = 10.0_f64.powf(wanted.log10().floor());
    let digit = wanted / power;
    power
        * if digit >= 5.0 {
            5.0
        } else if digit >= 2.0 {
            2.0
        } else {
            1.0
        }
}

/// Whole steps in a range, as many as a search can count.
fn whole_steps(steps: f64) -> u32 {
    whole(steps).min(LARGEST_STEPS)
}

/// Weight and basis of each size: as given, else from prices, else assumed.
///
/// Assumed weights are in no currency: a drum 50, a square metre of bed 100, a kilogram of worms 20, an hour of grinding a
/// working day 6000, a kilogram of bran a week 1. They stand in the proportions of the worked sites' prices.
fn weights(plan: &Plan) -> [(f64, &'static str); AXES] {
    let given = &plan.sizing.cost;
    let money = plan.money.as_ref();
    let working = plan.grinder.weekdays.iter().filter(|on| **on).count() as f64;
    let yearly_hours = working * 365.0 / 7.0;
    let weeks = 365.0 / 7.0;
    let rows: [(Option<f64>, Option<f64>, &'static str, f64); AXES] = [
        (given.drum, money.and_then(|m| m.drum_price), "price of a drum", 50.0),
        (given.bed, money.and_then(|m| m.bed_price), "price of beds by area", 100.0),
        (
            given.worms.map(|per_tonne| per_tonne / 1000.0),
            money.and_then(|m| m.worm_price).map(|per_tonne| per_tonne / 1000.0),
            "price of worms",
            20.0,
        ),
        (
            given.grinder_hour,
            money.and_then(|m| m.wage).map(|wage| wage * yearly_hours),
            "a year's wages",
            6000.0,
        ),
        (
            given.bran,
            money.and_then(|m| m.bran_price).map(|per_tonne| per_tonne / 1000.0 * weeks),
            "a year's bran",
            1.0,
        ),
    ];
    rows.map(|(given, price, words, assumed)| match (given, price) {
        (Some(weight), _) => (weight, "given"),
        (None, Some(weight)) => (weight, words),
        (None, None) => (assumed, "assumed"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        for (wanted, step) in [(1.0, 1.0), (6.25, 5.0), (0.37, 0.2), (19.9, 10.0), (20.0, 20.0), (0.0, 1.0)] {
            assert!((round_step(wanted) - step).abs() < 1e-12, "{wanted}: {}", round_step(wanted));
        }
    }
}
