//! The same plan in other sizes, for the search of the smallest site.

use super::field::field;
use super::plan::{Plan, Stock};
use crate::quantity::format_input;
use std::fmt;

/// The sizes that vary when a site is sized.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Number of drums.
    pub drums: u32,
    /// Number of beds, of all groups together.
    pub beds: u32,
    /// Live worms of the first purchase, kg; 0 without one.
    pub stock: f64,
    /// Most grinding hours on a working day, h.
    pub grinder_hours: f64,
    /// Most bran made in a week, kg. None if there is no limit.
    pub bran_weekly_capacity: Option<f64>,
}

/// A size outside the allowed range of its key. Numbers are in the unit of the key.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeError {
    /// Key in the scenario, such as `drums.count`.
    pub key: &'static str,
    /// Value wanted.
    pub given: f64,
    /// Smallest allowed value.
    pub low: f64,
    /// Largest allowed value.
    pub high: f64,
}

impl fmt::Display for SizeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [given, low, high] = [self.given, self.low, self.high].map(|v| format_input(v, 5));
        write!(f, "{}: given {given}, allowed {low} to {high}", self.key)
    }
}

impl std::error::Error for SizeError {}

impl Plan {
    /// The sizes of this plan.
    pub fn size(&self) -> Size {
        Size {
            drums: self.drums.count,
            beds: self.beds.iter().map(|group| group.count).sum(),
            stock: self.stock.as_ref().map_or(0.0, |stock| stock.mass),
            grinder_hours: self.grinder.hours,
            bran_weekly_capacity: self.bran.weekly_capacity,
        }
    }

    /// How many beds each group has when the site has so many in all: as now in proportion, what is left over to the groups with the
    /// largest remainders.
    pub fn shared_beds(&self, beds: u32) -> Vec<u32> {
        let counts: Vec<u64> = self.beds.iter().map(|group| u64::from(group.count)).collect();
        let all = counts.iter().sum::<u64>().max(1);
        let quota = |count: &u64| count * u64::from(beds);
        let mut shared: Vec<u64> = counts.iter().map(|count| quota(count) / all).collect();
        let left = u64::from(beds).saturating_sub(shared.iter().sum());
        let mut order: Vec<usize> = (0..counts.len()).collect();
        order.sort_by_key(|n| std::cmp::Reverse(quota(&counts[*n]) % all));
        for (n, _) in order.into_iter().zip(0..left) {
            shared[n] += 1;
        }
        shared.into_iter().map(|count| u32::try_from(count).unwrap_or(u32::MAX)).collect()
    }

    /// Area of so many beds, shared between the groups as by [`Plan::shared_beds`].
    ///
    /// # Units
    /// m2
    pub fn area_of_beds(&self, beds: u32) -> f64 {
        self.beds.iter().zip(self.shared_beds(beds)).map(|(group, count)| group.area * f64::from(count)).sum()
    }

    /// The same site in other sizes, new on its first day: whole beds of the sizes of the plan, later purchases of worms as they are.
    ///
    /// # Errors
    /// If a size is outside the range of its key, or the plan has no beds that could be more or fewer.
    pub fn resized(&self, size: &Size) -> Result<Self, SizeError> {
        let mut choices = self.choices.clone();
        // fresh scraps pass no drums
        choices.drums.count = if self.ferments() { size.drums } else { 0 };
        within("drums.count", f64::from(size.drums))?;
        choices.grinder.hours = within("grinder.hours", size.grinder_hours)?;
        let capacity = size.bran_weekly_capacity;
        choices.bran.weekly_capacity = capacity.map(|c| within("bran.weekly_capacity", c)).transpose()?;
        let stock = within("stock.mass", size.stock)?;
        match &mut choices.stock {
            Some(first) => first.mass = stock,
            None => {
                choices.stock = Some(Stock {
                    mass: stock,
                    structure: self.structure(),
                    arrives: None,
                    top_up: Vec::new(),
                });
            }
        }
        if self.size().beds == 0 && size.beds > 0 {
            return Err(SizeError { key: "beds.count", given: f64::from(size.beds), low: 0.0, high: 0.0 });
        }
        for (group, count) in choices.beds.iter_mut().zip(self.shared_beds(size.beds)) {
            within("beds.count", f64::from(count))?;
            group.count = count;
        }
        choices.as_it_stands = None;
        Ok(Self { choices, begins: None, fitted: self.fitted.clone(), first_day: self.first_day })
    }
}

fn within(key: &'static str, given: f64) -> Result<f64, SizeError> {
    let row = field(key).expect("the key is a row of the table of fields");
    if row.low <= given && given <= row.high {
        Ok(given)
    } else {
        Err(SizeError { key, given, low: row.low, high: row.high })
    }
}
