//! Response of worms to temperature, moisture and pH: factors of 0 to about 1.
//!
//! Curves are tables in the code because they are not single numbers; their points are those of `worms.curves`.

use crate::matter::lane::Lane;

/// Temperature at which every rate is stated.
///
/// # Units
/// °C
/// # Source
/// `worms.curves`, growth_temperature_factor: divided by its value at 25 °C.
pub const REFERENCE_TEMPERATURE: f64 = 25.0;

/// Laying against temperature, phi_R; assumed and weak.
///
/// # Units
/// (°C, share of the rate at 20-25 °C)
/// # Source
/// `worms.curves`, laying_temperature_factor
pub const LAYING: [(f64, f64); 8] =
    [(5.0, 0.0), (10.0, 0.25), (15.0, 0.7), (20.0, 1.0), (25.0, 1.0), (30.0, 0.6), (33.0, 0.25), (35.0, 0.0)];

/// Feeding and growth against water content, phi_M.
///
/// # Units
/// (kg water per kg wet, share)
/// # Source
/// `worms.curves`, moisture_factor: judged from Dominguez & Edwards 1997 and Reinecke & Venter 1985
pub const MOISTURE: [(f64, f64); 9] = [
    (0.52, 0.0),
    (0.61, 0.13),
    (0.65, 0.5),
    (0.70, 0.75),
    (0.75, 0.9),
    (0.80, 1.0),
    (0.85, 1.0),
    (0.90, 0.85),
    (0.95, 0.0),
];

/// Feeding and growth against pH, phi_pH.
///
/// # Units
/// (pH, share)
/// # Source
/// `worms.curves`, ph_factor
pub const PH: [(f64, f64); 4] = [(5.0, 0.0), (6.0, 1.0), (8.0, 1.0), (9.0, 0.0)];

/// Value at `x` of straight lines through `points` (rising in x), flat outside them.
///
/// # Units
/// those of the points
#[inline(always)]
pub fn piecewise<L: Lane>(points: &[(f64, f64)], x: L) -> L {
    let Some(&(_, first)) = points.first() else { return L::ZERO };
    let mut y = L::from(first);
    for ends in points.windows(2) {
        let ((left_x, left_y), (right_x, right_y)) = (ends[0], ends[1]);
        // a step up has no width and no slope
        let slope = if right_x > left_x { (right_y - left_y) / (right_x - left_x) } else { 0.0 };
        y = L::select(x.lt(L::from(left_x)), y, (x - left_x) * slope + left_y);
    }
    let Some(&(last_x, last_y)) = points.last() else { return y };
    L::select(x.lt(L::from(last_x)), y, L::from(last_y))
}

/// Curve of growth against temperature: zero at and outside 0 °C (or a higher base) and the maximum, one at 25 °C.
///
/// phi(T) = T (T - base) sqrt(max - T) / norm
///
/// # Units
/// °C in, share of the rate at 25 °C out
/// # Source
/// First equation of briere_1999; fitted to the digitised points of edwards_1988, tsukamoto_watanabe_1977 and tripathi_bhardwaj_2004 in
/// mathieu_2018
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrowthCurve {
    base: f64,
    maximum: f64,
    inverse_norm: f64,
}

impl GrowthCurve {
    /// Curve with a base and a maximum, scaled to one at 25 °C.
    ///
    /// # Units
    /// °C
    pub fn new(base: f64, maximum: f64) -> Self {
        let plain = Self { base, maximum, inverse_norm: 1.0 };
        let norm = plain.at(REFERENCE_TEMPERATURE);
        // a curve that is zero at 25 °C cannot be scaled to one there, so it is not scaled
        Self { inverse_norm: if norm > 0.0 { norm.recip() } else { 1.0 }, ..plain }
    }

    /// Value of the unscaled curve at 25 °C, by which [`GrowthCurve::at`] divides.
    pub fn norm(&self) -> f64 {
        self.inverse_norm.recip()
    }

    /// Factor at a temperature.
    ///
    /// # Units
    /// °C
    #[inline(always)]
    pub fn at<L: Lane>(&self, temperature: L) -> L {
        let below = (L::from(self.maximum) - temperature).max(L::ZERO);
        let inside = temperature * (temperature - self.base) * below.sqrt() * self.inverse_norm;
        // a temperature that is not a number also gives zero
        let within = L::from(self.base.max(0.0)).lt(temperature) & temperature.lt(L::from(self.maximum));
        L::select(within, inside, L::ZERO)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_pass_through_their_points_and_are_flat_outside() {
        for table in [&LAYING[..], &MOISTURE[..], &PH[..]] {
            for &(x, y) in table {
                assert!((piecewise(table, x) - y).abs() < 1e-15, "{x}");
            }
            assert!((piecewise(table, table[0].0 - 3.0) - table[0].1).abs() < 1e-15);
            assert!((piecewise(table, 99.0) - table[table.len() - 1].1).abs() < 1e-15);
        }
        assert!((piecewise(&LAYING, 12.5) - 0.475).abs() < 1e-12);
        assert!((piecewise(&PH, 5.5) - 0.5).abs() < 1e-12);
        assert!(piecewise(&[], 1.0).abs() < 1e-15);
    }

    #[test]
    fn growth_curve_is_zero_outside_and_highest_between() {
        let curve = GrowthCurve::new(-9.0, 37.5);
        for t in [-12.0, -5.0, 0.0, 37.5, 45.0, f64::NAN] {
            assert!(curve.at(t).abs() < 1e-15, "{t}");
        }
        assert!((curve.at(25.0) - 1.0).abs() < 1e-15);
        assert!(curve.at(29.0) > curve.at(26.0) && curve.at(29.0) > curve.at(33.0));
        // a base above 0 °C is the lower end
        assert!(GrowthCurve::new(4.0, 37.0).at(3.9).abs() < 1e-15);
    }

    #[test]
    fn growth_curve_follows_the_published_points() {
        // mathieu_2018: growth over that at 25 °C of edwards_1988, tsukamoto_watanabe_1977 and tripathi_bhardwaj_2004, read off curves;
        // their mean by temperature, and half of their spread where there is one
        let curve = GrowthCurve::new(-9.0, 37.5);
        for (t, mean, spread) in [
            (10.0, 0.38, 0.06),
            (15.0, 0.54, 0.25),
            (20.0, 0.78, 0.13),
            (30.0, 0.95, 0.13),
            (35.0, 0.83, 0.13),
        ] {
            assert!((curve.at(t) - mean).abs() < spread, "{t}: {}", curve.at(t));
        }
    }
}
