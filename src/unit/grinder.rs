//! The grinder: opened batches become paste; some stays in the machine and some is rinsed out.

use crate::matter::{Component, Material};
use jiff::civil::Weekday;

/// Where rinse water and its contents go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RinseTo {
    /// Onto the beds.
    Beds,
    /// To a drain: leaves the site.
    Drain,
}

/// A grinder and how it is worked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrinderSetup {
    /// Throughput, kg/h.
    pub rate: f64,
    /// Hours it may run on a working day, h/d.
    pub hours_per_day: f64,
    /// Motor power, kW.
    pub motor_kw: f64,
    /// Share of motor power drawn while grinding.
    pub load_factor: f64,
    /// Share of the machine's contents that remains in it when grinding ends.
    pub hold_up: f64,
    /// Rinse water at the end of a grinding day, per mass ground, kg/kg.
    pub rinse_water: f64,
    /// Share of the remainder that the rinse washes out.
    pub rinsed_share: f64,
    /// Where the rinse goes.
    pub rinse_to: RinseTo,
    /// Working days, Monday first.
    pub working: [bool; 7],
}

/// Result of a grinding day: kg, h, kWh.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    /// Paste for the beds.
    pub paste: Material,
    /// Rinse water taken in from outside.
    pub rinse_in: Material,
    /// Rinse water with what it washed out; [`GrinderSetup::rinse_to`] says where it goes.
    pub wash: Material,
    /// Matter that remains in the machine until the next grinding day.
    pub left_in_machine: Material,
    /// Hours run.
    pub hours: f64,
    /// Electricity used.
    pub energy_kwh: f64,
}

/// A grinder with the matter that remains in it.
#[derive(Debug, Clone, PartialEq)]
pub struct GrinderUnit {
    setup: GrinderSetup,
    held: Material,
}

impl GrinderUnit {
    /// An empty grinder.
    pub fn new(setup: GrinderSetup) -> Self {
        Self { setup, held: Material::zero() }
    }

    /// Puts matter back into the machine, in place of what is there.
    pub fn restore(&mut self, held: Material) {
        self.held = held;
    }

    /// How it is worked.
    pub fn setup(&self) -> &GrinderSetup {
        &self.setup
    }

    /// Capacity on a weekday, kg/d; 0 on a day off.
    pub fn capacity(&self, weekday: Weekday) -> f64 {
        let day = usize::from(weekday.to_monday_zero_offset().unsigned_abs());
        if self.setup.working[day] { self.setup.rate * self.setup.hours_per_day } else { 0.0 }
    }

    /// Electricity per mass ground, `P load/throughput`, kWh/t.
    pub fn specific_energy(&self) -> f64 {
        self.setup.motor_kw * self.setup.load_factor / (self.setup.rate / 1000.0)
    }

    /// Grinds the input, kg; the caller keeps to [`GrinderUnit::capacity`]. Without input the grinder neither runs nor is rinsed.
    ///
    /// The remainder of the last grinding day mixes with the input. At the end the hold-up share of the whole remains, and the
    /// rinse washes part of it out; the rest waits for the next grinding day. No mass is lost.
    pub fn grind(&mut self, input: Material) -> Ground {
        let mass = input.wet();
        if mass <= 0.0 {
            return Ground {
                paste: input,
                rinse_in: Material::zero(),
                wash: Material::zero(),
                left_in_machine: self.held,
                hours: 0.0,
                energy_kwh: 0.0,
            };
        }
        let mut paste = self.held + input;
        self.held = paste.take_share(self.setup.hold_up);
        let rinse_in = Material::of(Component::Water, self.setup.rinse_water * mass);
        let washed = if self.setup.rinse_water > 0.0 {
            self.held.take_share(self.setup.rinsed_share)
        } else {
            Material::zero()
        };
        let hours = mass / self.setup.rate;
        Ground {
            paste,
            rinse_in,
            wash: rinse_in + washed,
            left_in_machine: self.held,
            hours,
            energy_kwh: self.setup.motor_kw * self.setup.load_factor * hours,
        }
    }

    /// Matter in the machine.
    pub fn contents(&self) -> Material {
        self.held
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn setup() -> GrinderSetup {
        // Choices of a made-up site; by hand 3 kW x 0.7 / 0.30 t/h = 7.0 kWh/t.
        GrinderSetup {
            rate: 300.0,
            hours_per_day: 2.0,
            motor_kw: 3.0,
            load_factor: 0.7,
            hold_up: 0.01,
            rinse_water: 0.08,
            rinsed_share: 0.75,
            rinse_to: RinseTo::Beds,
            working: [true, true, true, true, true, false, false],
        }
    }

    #[test]
    fn a_day_off_has_no_capacity() {
        let g = GrinderUnit::new(setup());
        assert!((g.capacity(Weekday::Friday) - 600.0).abs() < 1e-12);
        assert!(g.capacity(Weekday::Saturday).abs() < 1e-12);
    }

    #[test]
    fn hold_up_is_carried_over_and_rinsed() {
        let mut g = GrinderUnit::new(setup());
        let day = g.grind(Material::of(Component::Fibre, 100.0));
        // 1 kg remains, of which 8 kg of rinse water wash out 0.75 kg
        assert!((day.paste.wet() - 99.0).abs() < 1e-12);
        assert!((day.wash.wet() - 8.75).abs() < 1e-12);
        assert!((g.contents().wet() - 0.25).abs() < 1e-12);
        assert!((day.hours - 1.0 / 3.0).abs() < 1e-12);
        let idle = g.grind(Material::zero());
        assert!(idle.hours.abs() < 1e-12 && idle.rinse_in.wet().abs() < 1e-12);
        assert!((g.contents().wet() - 0.25).abs() < 1e-12);
    }
}
