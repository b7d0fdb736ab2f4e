//! Starter and bran: planned backwards from the bran that the drums will need.
//!
//! Starter is mother culture, molasses and water, activated for about a week; bran is a carrier wetted with starter and molasses,
//! fermented and dried. Once a week the plan looks ahead over the lead time, the week until the next plan and the safety weeks,
//! and begins what stock and batches under way do not cover. All batches share one recipe, so its end points are computed once.

use crate::matter::{Component, Gas, Gases, Material, ratio};
use crate::process::acidity::{AcidConstants, AcidPowers, Surrounds};
use crate::process::fermentation::load::Load;
use crate::process::fermentation::{FermentationRates, StarterPractice, closure, pathway};
use crate::quantity::whole;
use std::collections::VecDeque;

mod state;

pub use state::{BranState, LotState};

/// Days between two plans.
const WEEK: u32 = 7;
/// Lots for which a stage reserves memory at most: those of a hundred years. Source: our choice.
const LARGEST_LOTS: u32 = 5200;

/// How starter and bran are made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StarterSetup {
    /// One kilogram of carrier.
    pub carrier: Load,
    /// One kilogram of molasses.
    pub molasses: Load,
    /// One kilogram of mother culture, taken as a litre.
    pub mother_culture: Material,
    /// Density of molasses, kg/L.
    pub molasses_density: f64,
    /// Recipes and times.
    pub practice: StarterPractice,
    /// Temperature of activation and of bran fermentation, °C.
    pub activation_temperature: f64,
    /// Smallest batch of starter, L.
    pub least_starter: f64,
    /// Bran kept ahead of the forecast, weeks of demand.
    pub safety_weeks: f64,
    /// Bran in stock at the start, kg.
    pub starting_bran: f64,
    /// Most bran that may be begun in a week, kg.
    pub weekly_capacity: f64,
}

/// One unit of a recipe: its ingredients, mix and product.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Recipe {
    /// Ingredients brought in.
    bought: Material,
    /// As mixed.
    mixed: Material,
    /// When ready.
    ready: Material,
    gases: Gases,
    ph: f64,
}

/// An amount with the day on which it was begun or made.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lot {
    since: u32,
    amount: f64,
}

/// Movements of a day of starter and bran making.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StarterDay {
    /// Ingredients brought in.
    pub drawn: Material,
    /// Gases and water vapour given off.
    pub gases: Gases,
    /// Starter that failed or expired and bran that expired.
    pub discarded: Material,
    /// Starter begun, L.
    pub starter_begun: f64,
    /// Starter that failed its pH, L.
    pub starter_failed: f64,
    /// Bran ordered in today's plan, kg.
    pub bran_ordered: f64,
    /// Bran wanted beyond the weekly capacity, kg.
    pub beyond_capacity: f64,
    /// Bran that became ready, kg.
    pub bran_ready: f64,
}

/// Bran taken from stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BranDrawn {
    /// The bran.
    pub bran: Load,
    /// Shortfall, kg.
    pub short: f64,
}

/// Makes starter and bran. Nothing is allocated after construction.
#[derive(Debug, Clone)]
pub struct BranMaker {
    setup: StarterSetup,
    /// Per litre.
    starter: Recipe,
    /// Per kilogram of dried bran; `mixed` includes the starter.
    bran: Recipe,
    /// A kilogram of dried bran, as it goes into drums.
    load: Load,
    /// Starter per kilogram of dried bran, L/kg.
    starter_per_bran: f64,
    brewing: VecDeque<Lot>,
    starter_stock: VecDeque<Lot>,
    waiting: VecDeque<Lot>,
    fermenting: VecDeque<Lot>,
    stock: VecDeque<Lot>,
}

/// Largest number of weekly lots in a stage of some days, plus two.
fn lots(days: f64) -> usize {
    whole((days / f64::from(WEEK)).ceil()).min(LARGEST_LOTS) as usize + 2
}

/// Ferments a mix of which so much carbohydrate ferments, kg; with the recipe, what of it still ferments, kg.
fn ferment(
    mix: Material,
    fermentable: f64,
    days: f64,
    setup: &StarterSetup,
    rates: &FermentationRates,
    k: &AcidConstants,
) -> (Recipe, f64) {
    let powers = AcidPowers::at(k, &Surrounds::acid_store(setup.activation_temperature));
    let change = rates.split.change();
    let use_of_sugar = rates.split.extents().iter().sum::<f64>();
    let most = fermentable.min(mix[Component::Sugars]) / use_of_sugar;
    let end = closure::end_point(&mix, &change, most, &rates.limits, &powers);
    let reached = rates.course.slurry.made(days * rates.cardinal.clock(setup.activation_temperature));
    let mut ready = mix;
    let mut gases = Gases::zero();
    for (row, share) in pathway::TABLE.rows().iter().zip(rates.split.extents()) {
        row.apply(share * end.extent * reached, &mut ready, &mut gases);
    }
    let ph = powers.ph(&ready, end.ph);
    let left = (fermentable - use_of_sugar * end.extent * reached).max(0.0);
    (Recipe { bought: mix, mixed: mix, ready, gases, ph }, left)
}

impl BranMaker {
    /// Computes the recipes and puts the starting bran into stock.
    pub fn new(setup: StarterSetup, rates: &FermentationRates, k: &AcidConstants) -> Self {
        let p = &setup.practice;
        let sugared = setup.molasses * (p.molasses * setup.molasses_density);
        let mix = setup.mother_culture * p.mother_culture
            + sugared.matter
            + Material::of(Component::Water, p.water);
        let (starter, starter_left) = ferment(mix, sugared.fermentable, p.activation_days, &setup, rates, k);
        let dry = setup.carrier + setup.molasses * p.molasses_per_carrier;
        let wetted = dry.matter + starter.ready * p.starter_per_carrier;
        let fermentable = dry.fermentable + starter_left * p.starter_per_carrier;
        let (mut bran, left) = ferment(wetted, fermentable, p.bran_days, &setup, rates, k);
        bran.bought = dry.matter;
        let kept = bran.ready.dry() * ratio(p.bran_moisture, 1.0 - p.bran_moisture);
        let dried = (bran.ready.water() - kept).max(0.0);
        bran.ready[Component::Water] -= dried;
        bran.gases[Gas::WaterVapour] += dried;
        let scale = ratio(1.0, bran.ready.wet());
        let bran = Recipe {
            bought: bran.bought * scale,
            mixed: bran.mixed * scale,
            ready: bran.ready * scale,
            gases: bran.gases * scale,
            ph: bran.ph,
        };
        let mut stock = VecDeque::with_capacity(lots(p.bran_keeps) + lots(p.bran_days));
        stock.push_back(Lot { since: 0, amount: setup.starting_bran });
        Self {
            setup,
            starter,
            bran,
            load: Load {
                matter: bran.ready,
                fermentable: left * scale,
                slow: dry.slow * scale,
                drains: rates.liquor.drains(&bran.ready),
                soaks_up: rates.liquor.soaks_up(&bran.ready),
            },
            starter_per_bran: p.starter_per_carrier * scale,
            brewing: VecDeque::with_capacity(lots(p.activation_days)),
            starter_stock: VecDeque::with_capacity(lots(p.starter_keeps) + lots(p.activation_days)),
            waiting: VecDeque::with_capacity(lots(p.activation_days) + lots(p.starter_keeps)),
            fermenting: VecDeque::with_capacity(lots(p.bran_days) + lots(p.starter_keeps)),
            stock,
        }
    }

    /// One day: finished batches move on, expired ones are discarded, and once a week the plan begins new batches.
    ///
    /// `forecast` is the bran demand of each of the coming weeks, kg, from the week that begins today; its last value
    /// holds for later weeks.
    pub fn step(&mut self, day: u32, forecast: &[f64]) -> StarterDay {
        let mut out = StarterDay {
            drawn: Material::zero(),
            gases: Gases::zero(),
            discarded: Material::zero(),
            starter_begun: 0.0,
            starter_failed: 0.0,
            bran_ordered: 0.0,
            beyond_capacity: 0.0,
            bran_ready: 0.0,
        };
        self.finish(day, &mut out);
        self.expire(day, &mut out);
        if day.is_multiple_of(WEEK) {
            self.plan(day, forecast, &mut out);
        }
        self.begin_bran(day, &mut out);
        out
    }

    fn finish(&mut self, day: u32, out: &mut StarterDay) {
        let p = self.setup.practice;
        while let Some(lot) = take_older(&mut self.brewing, day, p.activation_days) {
            out.gases += self.starter.gases * lot.amount;
            if self.starter.ph > p.highest_ph {
                out.starter_failed += lot.amount;
                out.discarded += self.starter.ready * lot.amount;
            } else {
                self.starter_stock.push_back(Lot { since: day, amount: lot.amount });
            }
        }
        while let Some(lot) = take_older(&mut self.fermenting, day, p.bran_days) {
            out.gases += self.bran.gases * lot.amount;
            out.bran_ready += lot.amount;
        }
        if out.bran_ready > 0.0 {
            self.stock.push_back(Lot { since: day, amount: out.bran_ready });
        }
    }

    fn expire(&mut self, day: u32, out: &mut StarterDay) {
        let p = self.setup.practice;
        while let Some(lot) = take_older(&mut self.starter_stock, day, p.starter_keeps) {
            out.discarded += self.starter.ready * lot.amount;
        }
        while let Some(lot) = take_older(&mut self.stock, day, p.bran_keeps) {
            out.discarded += self.bran.ready * lot.amount;
        }
    }

    fn plan(&mut self, day: u32, forecast: &[f64], out: &mut StarterDay) {
        let p = self.setup.practice;
        let ahead = (p.activation_days + p.bran_days) / f64::from(WEEK) + 1.0 + self.setup.safety_weeks;
        let wanted = demand(forecast, ahead);
        let position = self.bran_in_stock() + sum(&self.fermenting) + sum(&self.waiting);
        let order = (wanted - position).max(0.0);
        out.bran_ordered = order.min(self.setup.weekly_capacity);
        out.beyond_capacity = order - out.bran_ordered;
        if out.bran_ordered > 0.0 {
            match self.waiting.back_mut() {
                // a backlog waits for one batch of starter
                Some(lot) if self.starter.ph > p.highest_ph => lot.amount += out.bran_ordered,
                _ => self.waiting.push_back(Lot { since: day, amount: out.bran_ordered }),
            }
        }
        let missing =
            sum(&self.waiting) * self.starter_per_bran - sum(&self.starter_stock) - sum(&self.brewing);
        if missing > 1e-9 {
            let litres = missing.max(self.setup.least_starter);
            out.starter_begun = litres;
            out.drawn += self.starter.bought * litres;
            self.brewing.push_back(Lot { since: day, amount: litres });
        }
    }

    fn begin_bran(&mut self, day: u32, out: &mut StarterDay) {
        let mut begun = 0.0;
        while let Some(&order) = self.waiting.front() {
            let litres = order.amount * self.starter_per_bran;
            if sum(&self.starter_stock) < litres * (1.0 - 1e-9) {
                break;
            }
            self.waiting.pop_front();
            // rounding may leave slightly less than was ordered
            let amount = take(&mut self.starter_stock, litres) / self.starter_per_bran;
            out.drawn += self.bran.bought * amount;
            begun += amount;
        }
        if begun > 0.0 {
            self.fermenting.push_back(Lot { since: day, amount: begun });
        }
    }

    /// Takes bran from stock, kg, oldest first, up to what is available.
    pub fn draw(&mut self, wanted: f64) -> BranDrawn {
        let given = take(&mut self.stock, wanted.max(0.0));
        BranDrawn { bran: self.load * given, short: (wanted - given).max(0.0) }
    }

    /// Bran in stock, kg.
    pub fn bran_in_stock(&self) -> f64 {
        sum(&self.stock)
    }

    /// pH of activated starter at the end of its time.
    pub fn starter_ph(&self) -> f64 {
        self.starter.ph
    }

    /// One kilogram of dried bran, as it goes into drums.
    pub fn bran(&self) -> Load {
        self.load
    }

    /// Starter, bran under way and bran in stock.
    pub fn contents(&self) -> Material {
        self.starter.mixed * sum(&self.brewing)
            + self.starter.ready * sum(&self.starter_stock)
            + self.bran.mixed * sum(&self.fermenting)
            + self.bran.ready * sum(&self.stock)
    }
}

fn sum(lots: &VecDeque<Lot>) -> f64 {
    lots.iter().map(|l| l.amount).sum()
}

/// Removes the oldest lot if it has reached an age.
fn take_older(lots: &mut VecDeque<Lot>, day: u32, age: f64) -> Option<Lot> {
    let oldest = lots.front()?;
    if f64::from(day.saturating_sub(oldest.since)) >= age { lots.pop_front() } else { None }
}

/// Removes an amount, oldest lots first; returns what was available of it.
fn take(lots: &mut VecDeque<Lot>, wanted: f64) -> f64 {
    let mut missing = wanted;
    while let Some(oldest) = lots.front_mut() {
        if oldest.amount > missing {
            oldest.amount -= missing;
            return wanted;
        }
        missing -= oldest.amount;
        lots.pop_front();
    }
    wanted - missing
}

/// Demand over some weeks, the last of them in part, kg.
fn demand(forecast: &[f64], weeks: f64) -> f64 {
    let mut total = 0.0;
    let mut left = weeks;
    for &week in forecast {
        let part = left.clamp(0.0, 1.0);
        total += part * week;
        left -= part;
    }
    total + left.max(0.0) * forecast.last().copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests;
