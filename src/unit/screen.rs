//! Drying and screening of harvested castings.
//!
//! Harvested castings dry on a floor in a few lots, oldest first. A lot that has reached screening moisture waits in
//! a heap for the screen. If all places are taken, a new lot joins the youngest. No day allocates memory.

use crate::matter::{Component, Gas, Gases, Material};
use crate::process::drying::{DryingRates, water_per_dry};
use crate::process::screening::{self, Deck, ScreenSplit, ScreeningRates};
use serde::{Deserialize, Serialize};

/// Largest number of separate lots on the floor.
pub const LOTS: usize = 12;
/// A lot whose excess water, per wet mass, is at most this is dry. Source: our choice, rounding of a day's drying.
const DRY_TOLERANCE: f64 = 1e-9;

/// Where the oversize goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum OversTo {
    /// Back to the beds.
    ToBeds,
    /// Off the site.
    Out,
}

/// How castings are dried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drying {
    /// Naturally, spread on a floor.
    Floor {
        /// Floor, m2.
        area: f64,
        /// Thinnest layer, kg wet/m2.
        layer: f64,
    },
    /// In a given number of days, in any weather (heated, or from experience).
    Days(f64),
}

/// A screen, its drying floor and how they are worked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScreenSetup {
    /// Opening, wire and contacts.
    pub deck: Deck,
    /// Moisture at which castings are screened, kg/kg wet.
    pub screening_moisture: f64,
    /// How they are dried to it.
    pub drying: Drying,
    /// Throughput of the screen, kg/h.
    pub rate: f64,
    /// Hours it may run a day, h/d.
    pub hours_per_day: f64,
    /// Where the oversize goes.
    pub overs: OversTo,
}

/// Castings that dry together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Lot {
    material: Material,
    days_left: f64,
    days_drying: u32,
}

/// State of the drying floor and the heap on an evening.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ScreenState {
    /// Lots that dry, oldest first.
    lots: Vec<Lot>,
    /// Dry castings that wait for the screen, kg.
    pub ready: Material,
}

impl ScreenState {
    /// Number of lots that dry; at most [`LOTS`] can.
    pub fn lots(&self) -> usize {
        self.lots.len()
    }

    /// Sets all castings on the floor and in the heap, kg, from those held: lots are scaled by wet mass, and where there are none they
    /// lie in the heap.
    pub fn set_contents(&mut self, to: impl FnOnce(Material) -> Material) {
        let held = self.lots.iter().fold(self.ready, |sum, lot| sum + lot.material);
        let wanted = to(held);
        if held.wet() > 0.0 {
            let factor = wanted.wet() / held.wet();
            self.ready = self.ready * factor;
            self.lots.iter_mut().for_each(|lot| lot.material = lot.material * factor);
        } else {
            self.ready = wanted;
        }
    }
}

/// Result of a day at the screen, kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScreenDay {
    /// Water evaporated.
    pub gases: Gases,
    /// Matter that passed the screen.
    pub product: Material,
    /// Oversize; [`ScreenSetup::overs`] says where it goes.
    pub overs: Material,
    /// Hours of screening.
    pub hours: f64,
    /// How the screen split its feed.
    pub split: ScreenSplit,
    /// Castings still drying.
    pub drying: f64,
    /// Longest time that any of them has been drying, d.
    pub longest_drying: u32,
    /// Dry castings that wait for the screen.
    pub waiting: f64,
}

/// A screen with its drying floor and heap.
#[derive(Debug, Clone, PartialEq)]
pub struct ScreenUnit {
    setup: ScreenSetup,
    rates: ScreeningRates,
    air: DryingRates,
    lots: [Lot; LOTS],
    used: usize,
    ready: Material,
}

impl ScreenUnit {
    /// An empty screen and floor.
    pub fn new(setup: ScreenSetup, rates: ScreeningRates, air: DryingRates) -> Self {
        let empty = Lot { material: Material::zero(), days_left: 0.0, days_drying: 0 };
        Self { setup, rates, air, lots: [empty; LOTS], used: 0, ready: Material::zero() }
    }

    /// Its state.
    pub fn state(&self) -> ScreenState {
        ScreenState { lots: self.lots().to_vec(), ready: self.ready }
    }

    /// Puts it into a state of at most [`LOTS`] lots; more are left out.
    pub fn restore(&mut self, state: &ScreenState) {
        self.used = state.lots.len().min(LOTS);
        self.lots[..self.used].copy_from_slice(&state.lots[..self.used]);
        self.ready = state.ready;
    }

    /// How it is worked.
    pub fn setup(&self) -> &ScreenSetup {
        &self.setup
    }

    /// Spreads harvested castings on the floor, kg; castings already dry enough go to the heap.
    pub fn add(&mut self, castings: Material) {
        if castings.wet() <= 0.0 {
            return;
        }
        if self.excess(&castings) <= 0.0 {
            self.ready += castings;
            return;
        }
        let days = match self.setup.drying {
            Drying::Floor { .. } => 0.0,
            Drying::Days(days) => days.max(1.0),
        };
        if self.used < LOTS {
            self.lots[self.used] = Lot { material: castings, days_left: days, days_drying: 0 };
            self.used += 1;
            return;
        }
        let youngest = &mut self.lots[LOTS - 1];
        let (old, new) = (youngest.material.wet(), castings.wet());
        youngest.days_left = (youngest.days_left * old + days * new) / (old + new);
        youngest.material += castings;
    }

    /// Dries and screens for a day in air of a temperature (°C) and relative humidity (0 to 1).
    pub fn day(&mut self, temperature: f64, humidity: f64) -> ScreenDay {
        let evaporated = match self.setup.drying {
            Drying::Floor { area, layer } => {
                self.dry_on_floor(area, layer, self.air.constant_rate(temperature, humidity))
            }
            Drying::Days(_) => self.dry_by_days(),
        };
        for lot in &mut self.lots[..self.used] {
            lot.days_drying += 1;
        }
        self.move_dry_lots();
        let capacity = self.setup.rate * self.setup.hours_per_day;
        let split = screening::split(&self.rates, &self.setup.deck, self.ready.moisture());
        let mut overs = self.ready.take_wet(capacity);
        let hours = if self.setup.rate > 0.0 { overs.wet() / self.setup.rate } else { 0.0 };
        let product = overs.take_share(split.product_share());
        ScreenDay {
            gases: Gases::of(Gas::WaterVapour, evaporated),
            product,
            overs,
            hours,
            split,
            drying: self.lots().iter().map(|l| l.material.wet()).sum(),
            longest_drying: self.lots().iter().map(|l| l.days_drying).max().unwrap_or(0),
            waiting: self.ready.wet(),
        }
    }

    /// All castings on the floor and in the heap.
    pub fn contents(&self) -> Material {
        self.lots().iter().fold(self.ready, |sum, lot| sum + lot.material)
    }

    fn lots(&self) -> &[Lot] {
        &self.lots[..self.used]
    }

    /// Water above screening moisture, kg.
    fn excess(&self, castings: &Material) -> f64 {
        castings.water() - castings.dry() * water_per_dry(self.setup.screening_moisture)
    }

    /// Lots share the floor by dry matter, none spread thinner than the thinnest layer. Returns the water evaporated, kg.
    fn dry_on_floor(&mut self, area: f64, layer: f64, rate: f64) -> f64 {
        let all: f64 = self.lots().iter().map(|l| l.material.dry()).sum();
        if all <= 0.0 {
            return 0.0;
        }
        let mut evaporated = 0.0;
        for lot in &mut self.lots[..self.used] {
            let m = &mut lot.material;
            let dry = m.dry();
            let own = (area * dry / all).min(if layer > 0.0 { m.wet() / layer } else { f64::INFINITY });
            let wanted = dry * water_per_dry(self.setup.screening_moisture);
            let left = self.air.water_after(m.water(), dry, rate * own, 1.0).max(wanted);
            evaporated += m.water() - left;
            m[Component::Water] = left;
        }
        evaporated
    }

    /// Each lot loses its excess water in equal parts over its remaining days. Returns the water evaporated, kg.
    fn dry_by_days(&mut self) -> f64 {
        let per_dry = water_per_dry(self.setup.screening_moisture);
        let mut evaporated = 0.0;
        for lot in &mut self.lots[..self.used] {
            let excess = lot.material.water() - lot.material.dry() * per_dry;
            let off = excess / lot.days_left.max(1.0);
            lot.material[Component::Water] -= off;
            lot.days_left -= 1.0;
            evaporated += off;
        }
        evaporated
    }

    fn move_dry_lots(&mut self) {
        let mut kept = 0;
        for i in 0..self.used {
            let lot = self.lots[i];
            if self.excess(&lot.material) <= DRY_TOLERANCE * lot.material.wet() {
                self.ready += lot.material;
            } else {
                self.lots[kept] = lot;
                kept += 1;
            }
        }
        self.used = kept;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn screen(drying: Drying) -> ScreenUnit {
        // Rates: central values of the `site` and `bed` tables. Setup: a made-up site.
        let rates = screening::tests::central();
        let air = DryingRates {
            heat_transfer: 3.0,
            mass_transfer_divisor: 1110.0,
            latent_heat: 2.45e6,
            warming: 8.0,
            critical_moisture: 0.5,
        };
        let setup = ScreenSetup {
            deck: Deck { aperture: 0.004, wire: 0.001, contacts: 20.0 },
            screening_moisture: 0.45,
            drying,
            rate: 100.0,
            hours_per_day: 3.0,
            overs: OversTo::ToBeds,
        };
        ScreenUnit::new(setup, rates, air)
    }

    fn castings(wet: f64, moisture: f64) -> Material {
        Material::of(Component::Water, wet * moisture)
            + Material::of(Component::Humus, wet * (1.0 - moisture))
    }

    #[test]
    fn drying_takes_the_given_days() {
        let mut s = screen(Drying::Days(5.0));
        s.add(castings(100.0, 0.7));
        for _ in 0..4 {
            assert!(s.day(20.0, 0.6).product.wet() <= 0.0);
        }
        let last = s.day(20.0, 0.6);
        // 100 kg at 70 % leave 30/0.55 kg at 45 %.
        assert!((last.product.wet() + last.overs.wet() - 30.0 / 0.55).abs() < 1e-6);
        assert!((last.product.moisture() - 0.45).abs() < 1e-9);
    }

    #[test]
    fn the_floor_dries_in_the_days_of_the_closed_form() {
        let mut s = screen(Drying::Floor { area: 20.0, layer: 1.0 });
        let rate = s.air.constant_rate(20.0, 0.6);
        let days = s.air.days_to_dry(100.0, 0.7, 0.45, rate, 20.0);
        s.add(castings(100.0, 0.7));
        let mut taken = 0.0;
        loop {
            taken += 1.0;
            let day = s.day(20.0, 0.6);
            if day.drying <= 0.0 {
                break;
            }
        }
        assert!((taken - days.ceil()).abs() < 0.5, "{taken} {days}");
    }

    #[test]
    fn floor_beyond_the_thinnest_layer_does_not_dry_faster() {
        // by hand: 100 kg laid 30 kg/m2 thick cover 3.3 of 20 m2; with no thinnest layer all 20
        for (layer, covered) in [(30.0, 100.0 / 30.0), (0.0, 20.0)] {
            let mut s = screen(Drying::Floor { area: 20.0, layer });
            let rate = s.air.constant_rate(20.0, 0.6);
            s.add(castings(100.0, 0.7));
            let dried = s.day(20.0, 0.6).gases[Gas::WaterVapour];
            assert!((dried - rate * covered).abs() < 1e-9, "{dried} of {}", rate * covered);
        }
    }

    #[test]
    fn lots_beyond_the_places_merge_and_conserve_mass() {
        let mut s = screen(Drying::Floor { area: 20.0, layer: 30.0 });
        for _ in 0..(LOTS + 5) {
            s.add(castings(10.0, 0.7));
        }
        assert_eq!(s.lots().len(), LOTS);
        assert!((s.contents().wet() - 170.0).abs() < 1e-9);
    }

    #[test]
    fn a_lot_that_joins_another_takes_the_mean_time_left() {
        // by hand: places for 12 lots of 10 kg; after two days the last has 3 of 5 days left, and 30 kg of 5 days join: 4.5
        let mut s = screen(Drying::Days(5.0));
        for _ in 0..LOTS {
            s.add(castings(10.0, 0.7));
        }
        s.day(20.0, 0.6);
        s.day(20.0, 0.6);
        let old = s.lots()[LOTS - 1].material.wet();
        s.add(castings(3.0 * old, 0.7));
        assert!((s.lots()[LOTS - 1].days_left - 4.5).abs() < 1e-12, "{}", s.lots()[LOTS - 1].days_left);
    }

    #[test]
    fn a_day_screens_at_most_its_hours() {
        // 100 kg/h for 3 h, of 500 kg that are dry enough
        let mut s = screen(Drying::Days(5.0));
        s.add(castings(500.0, 0.45));
        let day = s.day(20.0, 0.6);
        assert!((day.product.wet() + day.overs.wet() - 300.0).abs() < 1e-9);
        assert!((day.hours - 3.0).abs() < 1e-12 && (day.waiting - 200.0).abs() < 1e-9);
    }
}
