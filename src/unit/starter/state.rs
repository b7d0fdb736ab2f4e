//! The state of starter and bran on an evening.

use super::{BranMaker, Lot};
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;

/// An amount and its age on the evening.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LotState {
    /// Days since it was begun or made.
    pub age: u32,
    /// Starter, L, or bran, kg.
    pub amount: f64,
}

/// State of starter and bran, oldest lots first.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BranState {
    /// Starter under way, L.
    pub brewing: Vec<LotState>,
    /// Starter ready for use, L.
    pub starter: Vec<LotState>,
    /// Bran that waits for starter, kg.
    pub waiting: Vec<LotState>,
    /// Bran that ferments, kg.
    pub fermenting: Vec<LotState>,
    /// Bran in store, kg.
    pub stock: Vec<LotState>,
}

impl BranState {
    /// Age of the oldest lot, d; 0 without lots.
    pub fn oldest(&self) -> u32 {
        let all = [&self.brewing, &self.starter, &self.waiting, &self.fermenting, &self.stock];
        all.into_iter().flatten().map(|lot| lot.age).max().unwrap_or(0)
    }

    /// Sets the bran in store, kg: lots are scaled, and where there are none it was made today.
    pub fn set_store(&mut self, mass: f64) {
        let held = self.in_store();
        if held > 0.0 {
            self.stock.iter_mut().for_each(|lot| lot.amount *= mass / held);
        } else {
            self.stock = vec![LotState { age: 0, amount: mass }];
        }
    }

    /// Bran in store, kg.
    pub fn in_store(&self) -> f64 {
        self.stock.iter().map(|lot| lot.amount).sum()
    }
}

impl BranMaker {
    /// Its state on the evening of a day.
    pub fn state(&self, evening: u32) -> BranState {
        let Self {
            setup: _,
            starter: _,
            bran: _,
            load: _,
            starter_per_bran: _,
            brewing,
            starter_stock,
            waiting,
            fermenting,
            stock,
        } = self;
        let of = |lots: &VecDeque<Lot>| {
            let aged = |lot: &Lot| LotState { age: evening.saturating_sub(lot.since), amount: lot.amount };
            lots.iter().map(aged).collect()
        };
        BranState {
            brewing: of(brewing),
            starter: of(starter_stock),
            waiting: of(waiting),
            fermenting: of(fermenting),
            stock: of(stock),
        }
    }

    /// Puts it into the state of the evening of a day, which is no earlier than its oldest lot is old.
    pub fn restore(&mut self, state: &BranState, evening: u32) {
        let to = |lots: &mut VecDeque<Lot>, from: &[LotState]| {
            lots.clear();
            lots.extend(
                from.iter().map(|lot| Lot { since: evening.saturating_sub(lot.age), amount: lot.amount }),
            );
        };
        to(&mut self.brewing, &state.brewing);
        to(&mut self.starter_stock, &state.starter);
        to(&mut self.waiting, &state.waiting);
        to(&mut self.fermenting, &state.fermenting);
        to(&mut self.stock, &state.stock);
    }
}
