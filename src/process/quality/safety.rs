//! Hygiene by time and temperature, and the limit of lifting for one person.

/// The hygiene equation D = c/10^(s t).
///
/// # Source
/// cfr_40_503: 503.32(a)(3), solids of 7 % and more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hygiene {
    /// Constant c, d.
    pub constant: f64,
    /// Slope s, 1/K.
    pub slope: f64,
    /// Lowest temperature of the equation, °C.
    pub minimum_temperature: f64,
    /// Shortest time that counts, s.
    pub minimum_time: f64,
}

impl Hygiene {
    /// Reads the rates by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            constant: get("site.hygiene_equation_constant"),
            slope: get("site.hygiene_equation_slope"),
            minimum_temperature: get("site.hygiene_minimum_temperature"),
            minimum_time: get("site.hygiene_minimum_time"),
        }
    }

    /// Days a material must be held at a temperature; None below the lowest temperature, where no time is enough.
    ///
    /// # Units
    /// °C to d
    ///
    /// # Source
    /// D = 131.7e6/10^(0.14 t), at least 20 min.
    pub fn days(&self, temperature: f64) -> Option<f64> {
        if temperature < self.minimum_temperature {
            return None;
        }
        let equation = self.constant / 10_f64.powf(self.slope * temperature);
        Some(equation.max(self.minimum_time / 86_400.0))
    }

    /// Temperature at which the shortest time is reached, °C.
    pub fn shortest_time_temperature(&self) -> f64 {
        (self.constant * 86_400.0 / self.minimum_time).log10() / self.slope
    }
}

/// Constants of the NIOSH lifting equation, as printed in centimetres and degrees.
///
/// # Source
/// niosh_94_110.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lifting {
    /// Load constant, kg.
    pub load: f64,
    /// Horizontal reference, cm.
    pub horizontal: f64,
    /// Vertical reference, cm.
    pub vertical: f64,
    /// Loss per centimetre from it, 1/cm.
    pub vertical_slope: f64,
    /// Constant of the distance multiplier.
    pub distance: f64,
    /// Slope of the distance multiplier, cm.
    pub distance_slope: f64,
    /// Loss per degree of twist, 1/degree.
    pub asymmetry_slope: f64,
}

/// A lift in the terms of the equation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lift {
    /// Distance of the hands from the ankles, m.
    pub reach: f64,
    /// Height of the hands at the start, m.
    pub height: f64,
    /// Distance the load is raised or lowered, m.
    pub raised: f64,
    /// Twist of the body, degree.
    pub twist: f64,
    /// Frequency multiplier from the printed table.
    pub frequency: f64,
    /// Grip multiplier from the printed table.
    pub grip: f64,
}

impl Lifting {
    /// Reads the rates by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            load: get("site.niosh_load_constant"),
            horizontal: get("site.niosh_horizontal_reference"),
            vertical: get("site.niosh_vertical_reference"),
            vertical_slope: get("site.niosh_vertical_slope"),
            distance: get("site.niosh_distance_constant"),
            distance_slope: get("site.niosh_distance_slope"),
            asymmetry_slope: get("site.niosh_asymmetry_slope"),
        }
    }

    /// Recommended weight limit, RWL = LC HM VM DM AM FM CM.
    ///
    /// Reach and raise below 25 cm count as 25 cm. The equation holds up to 63 cm reach, 175 cm height and 135 degrees;
    /// beyond that nothing may be lifted and the limit is 0.
    ///
    /// # Units
    /// kg
    ///
    /// # Source
    /// niosh_94_110; the bounds are of the same manual (memory).
    pub fn recommended_weight(&self, lift: &Lift) -> f64 {
        let (reach, height, raised) = (lift.reach * 100.0, lift.height * 100.0, lift.raised * 100.0);
        if reach > 63.0 || !(0.0..=175.0).contains(&height) || raised > 175.0 || lift.twist > 135.0 {
            return 0.0;
        }
        let horizontal = (self.horizontal / reach.max(self.horizontal)).min(1.0);
        let vertical = 1.0 - self.vertical_slope * (height - self.vertical).abs();
        let distance = (self.distance + self.distance_slope / raised.max(25.0)).min(1.0);
        let twist = 1.0 - self.asymmetry_slope * lift.twist;
        self.load * horizontal * vertical * distance * twist * lift.frequency * lift.grip
    }

    /// Lifting index, load over recommended weight; infinite if nothing may be lifted.
    pub fn index(&self, lift: &Lift, load: f64) -> f64 {
        let limit = self.recommended_weight(lift);
        if limit > 0.0 { load / limit } else { f64::INFINITY }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_time_sanitises_a_cool_bed() {
        // cfr_40_503
        let h = Hygiene { constant: 131.7e6, slope: 0.14, minimum_temperature: 50.0, minimum_time: 1200.0 };
        assert_eq!(h.days(33.0), None);
        assert!(h.days(50.0).is_some());
    }

    #[test]
    fn the_best_lift_is_the_load_constant_and_an_impossible_one_zero() {
        // niosh_94_110
        let k = Lifting {
            load: 23.0,
            horizontal: 25.0,
            vertical: 75.0,
            vertical_slope: 0.003,
            distance: 0.82,
            distance_slope: 4.5,
            asymmetry_slope: 0.0032,
        };
        let best = Lift { reach: 0.25, height: 0.75, raised: 0.25, twist: 0.0, frequency: 1.0, grip: 1.0 };
        assert!((k.recommended_weight(&best) - 23.0).abs() < 1e-12);
        assert!(k.index(&Lift { reach: 0.7, ..best }, 5.0).is_infinite());
        // asymmetry multipliers of the manual's table, two digits (NIOSH 94-110, memory)
        for (twist, printed) in [(45.0, 0.86), (90.0, 0.71), (135.0, 0.57)] {
            let multiplier = k.recommended_weight(&Lift { twist, ..best }) / 23.0;
            assert!((multiplier - printed).abs() <= 0.005, "{twist} degrees: {multiplier}");
        }
    }
}
