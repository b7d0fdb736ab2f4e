//! The sizes that are tried: bounds, steps, what each costs. The numbers below are choices of ours.

use super::search::{AXES, Point};
use crate::quantity::{Kind, whole};
use crate::scenario::sizing::Extent;
use crate::scenario::{Plan, Size, central};
use crate::study::check;

/// Share of a hand calculation that makes a step, rounded to a readable number; drums and beds are whole.
const STEP: f64 = 0.05;
/// Most steps of one size.
const LARGEST_STEPS: u32 = 10_000_000;
/// Largest value tried, over the hand calculation and over the plan's own, where the user gives none.
const WIDE: (f64, f64) = (6.0, 2.0);
/// Places of the axes of drums, beds and stock.
const DRUMS: usize = 0;
/// See [`DRUMS`].
pub(super) const BEDS: usize = 1;
pub(super) const STOCK: usize = 2;

/// Names of the sizes, in the order of the axes.
pub const NAMES: [&str; AXES] = ["drums", "beds", "stock", "grinder_hours", "bran_weekly_capacity"];
/// Kinds of the sizes.
pub(super) const KINDS: [Kind; AXES] = [Kind::Count, Kind::Count, Kind::Mass, Kind::Hours, Kind::Mass];

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
    /// Area by number of beds, m2.
    areas: Vec<f64>,
    /// Cost of a square metre of bed.
    area_price: f64,
}

/// The largest number of beds.
fn axes_high(axes: &[SizeAxis; AXES]) -> f64 {
    axes[BEDS].high()
}

/// What a calculation by hand gives; a size is 0 if the plan has nothing to divide by. `check` prints the same drums and stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reckoned {
    /// Mean intake, kg/d.
    pub intake: f64,
    /// Mean intake of the busiest calendar month, kg/d.
    pub busiest: f64,
    /// Number of drums: busiest intake x days a drum is occupied / contents, whole.
    pub drums: f64,
    /// Bed area: mean intake / published load of beds without climate control, m2.
    pub bed_area: f64,
    /// Number of beds of the plan's mean size with that area, whole.
    pub beds: f64,
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
        let intake = plan.mean_intake();
        let busiest = check::months(plan, |day| daily[day]).into_iter().flatten().fold(0.0, f64::max);
        let working = plan.grinder.weekdays.iter().filter(|on| **on).count() as f64;
        let over = |amount: f64, by: f64| if by > 0.0 { amount / by } else { 0.0 };
        let bed_area = over(intake, central(plan, "site.bed_load_passive"));
        Self {
            intake,
            busiest,
            drums: check::drums(plan, intake, busiest)
                .filter(|_| plan.ferments())
                .map_or(0.0, |drums| drums.needed_busiest),
            bed_area,
            beds: over(bed_area * f64::from(plan.size().beds), plan.bed_area()).ceil(),
            stock: over(intake, plan.feeding.ration),
            grinder_hours: over(7.0 * busiest, plan.grinder.rate * working),
            bran: 7.0 * busiest * plan.bran_dose(),
        }
    }
}

impl Grid {
    /// The sizes that the scenario allows.
    pub fn of(plan: &Plan) -> Self {
        let s = &plan.sizing;
        Self::with(plan, &[s.drums, s.beds, s.stock, s.grinder_hours, s.bran_weekly_capacity])
    }

    /// Every size that means anything to the plan free, far beyond the largest tried. What it would take is sought there where the
    /// targets cannot be met.
    pub(super) fn beyond(plan: &Plan, tried: &Self) -> Self {
        let mut wide = Self::with(plan, &[Extent { free: true, ..Extent::default() }; AXES]);
        for (axis, tried) in wide.axes.iter_mut().zip(&tried.axes) {
            // no limit is no need of more
            if tried.plan.is_none() && !tried.free {
                *axis = tried.clone();
                continue;
            }
            let (low, high) = (tried.low.min(axis.low), axis.high().max(4.0 * tried.high()));
            let most = if axis.most > 0 { whole_steps((high - low) / axis.step) } else { 0 };
            *axis = SizeAxis { low, most, ..axis.clone() };
            if axis.name == "grinder_hours" {
                axis.most = axis.most.min(whole_steps((24.0 - low) / axis.step));
            }
        }
        wide
    }

    fn with(plan: &Plan, asked: &[Extent; AXES]) -> Self {
        let base = plan.size();
        let by_hand = Reckoned::of(plan);
        let plan_values = [
            Some(f64::from(base.drums)),
            Some(f64::from(base.beds)),
            Some(base.stock),
            Some(base.grinder_hours),
            base.bran_weekly_capacity,
        ];
        let hand = [by_hand.drums, by_hand.beds, by_hand.stock, by_hand.grinder_hours, by_hand.bran];
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
            // a site without beds gives none of which there could be more, and fresh scraps pass no drums
            let possible = (n != BEDS || base.beds > 0) && (n != DRUMS || plan.ferments());
            if asked[n].free && possible { sought(axis, &asked[n]) } else { axis }
        });
        let areas = (0..=whole(axes_high(&axes))).map(|beds| plan.area_of_beds(beds)).collect();
        let area_price = if plan.bed_area() > 0.0 { weights[BEDS].0 / mean_bed_area(plan) } else { 0.0 };
        Self { axes, base, areas, area_price }
    }

    /// Area of the beds at a point, m2.
    pub fn bed_area(&self, point: &Point) -> f64 {
        self.areas.get(whole(self.axes[BEDS].value(point[BEDS])) as usize).copied().unwrap_or(0.0)
    }

    /// The point with the largest value of everything.
    pub fn top(&self) -> Point {
        std::array::from_fn(|n| self.axes[n].most)
    }

    /// The first point not below some sizes; those without a limit are at their least.
    fn at(&self, value: impl Fn(&SizeAxis) -> Option<f64>) -> Point {
        std::array::from_fn(|n| value(&self.axes[n]).map_or(0, |value| self.axes[n].steps_to(value)))
    }

    /// The first point not below the plan's own sizes.
    pub(super) fn at_plan(&self) -> Point {
        self.at(|axis| axis.plan)
    }

    /// The first point not below a calculation by hand.
    pub(super) fn at_hand(&self) -> Point {
        self.at(|axis| Some(axis.by_hand))
    }

    /// The first point not below that of another grid.
    pub(super) fn at_values(&self, values: &[f64; AXES]) -> Point {
        std::array::from_fn(|n| self.axes[n].steps_to(values[n]))
    }

    /// Steps that make a share of a point, at least 1; 0 on an axis that is held.
    pub(super) fn strides(&self, point: &Point, share: f64) -> Point {
        std::array::from_fn(|n| {
            let axis = &self.axes[n];
            let steps = share * axis.value(point[n]).max(axis.by_hand) / axis.step;
            if axis.most == 0 { 0 } else { whole_steps(steps).max(1) }
        })
    }

    /// Value of each size at a point, in its unit.
    pub fn values(&self, point: &Point) -> [f64; AXES] {
        std::array::from_fn(|n| self.axes[n].value(point[n]))
    }

    /// What all sizes at a point cost together: the sum of weight x value, beds by their area.
    pub fn cost(&self, point: &Point) -> f64 {
        let values = self.values(point);
        let others = (0..AXES).filter(|n| *n != BEDS).map(|n| self.axes[n].weight * values[n]).sum::<f64>();
        others + self.area_price * self.bed_area(point)
    }

    /// The sizes at a point.
    pub fn size(&self, point: &Point) -> Size {
        let [drums, beds, stock, grinder_hours, bran] = self.values(point);
        Size {
            drums: whole(drums),
            beds: whole(beds),
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

/// A size that is sought: bounds as given, else wide around what the hand gives; steps of a twentieth of that, whole for drums and beds.
#[expect(clippy::needless_pass_by_value, reason = "the axis comes back completed")]
fn sought(axis: SizeAxis, asked: &Extent) -> SizeAxis {
    let hand = axis.by_hand;
    let whole_things = axis.kind == Kind::Count;
    let step = round_step(STEP * hand);
    let step = asked.step.unwrap_or(if whole_things { step.max(1.0) } else { step });
    let mut high = asked.high.unwrap_or_else(|| (WIDE.0 * hand).max(WIDE.1 * axis.plan.unwrap_or(0.0)));
    if axis.name == "grinder_hours" {
        high = high.min(24.0);
    }
    let least = if whole_things { step } else { 0.0 };
    let low = asked.low.unwrap_or(least.min(high));
    let high = high.max(low);
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

/// Mean area of the plan's beds, m2; 1 without beds.
fn mean_bed_area(plan: &Plan) -> f64 {
    let beds = plan.size().beds;
    if beds > 0 { plan.bed_area() / f64::from(beds) } else { 1.0 }
}

/// Weight and basis of each size, of a bed by its mean area: as given, else from prices, else assumed.
///
/// Assumed weights are in no currency: a drum 50, a square metre of bed 100, a kilogram of worms 20, an hour of grinding a
/// working day 6000, a kilogram of bran a week 1. They stand in the proportions of the worked sites' prices.
fn weights(plan: &Plan) -> [(f64, &'static str); AXES] {
    let given = &plan.sizing.cost;
    let bed = mean_bed_area(plan);
    let money = plan.money.as_ref();
    let working = plan.grinder.weekdays.iter().filter(|on| **on).count() as f64;
    let yearly_hours = working * 365.0 / 7.0;
    let weeks = 365.0 / 7.0;
    let rows: [(Option<f64>, Option<f64>, &'static str, f64); AXES] = [
        (given.drum, money.and_then(|m| m.drum_price), "price of a drum", 50.0),
        (
            given.bed.map(|by_area| by_area * bed),
            money.and_then(|m| m.bed_price).map(|by_area| by_area * bed),
            "price of beds by area",
            100.0 * bed,
        ),
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
