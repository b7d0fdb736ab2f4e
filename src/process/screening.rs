//! Passage of grains through a screen.
//!
//! A sphere of size d passes a square opening a between wires t in one contact with probability
//! P = ((a - d)/(a + t))^2 (Gaudin 1939); n independent contacts pass E = 1 - (1 - P)^n. Castings are held as four grain
//! sizes, because grains near the size of the opening decide how a fine screen works. Wet castings form balls, so moisture reduces
//! the passage, as printed for a trommel. Product and oversize keep the composition of the feed; no figures of composition by
//! grain size were found.

/// Number of grain sizes of castings.
pub const GRAINS: usize = 4;

/// Moistures at which the passage of castings is known or assumed, kg water/kg wet.
pub const MOISTURES: [f64; 4] = [0.40, 0.60, 0.70, 0.75];

/// A screen surface and how often a grain meets it.
///
/// # Units
/// m, m, contacts
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deck {
    /// Side of the square opening.
    pub aperture: f64,
    /// Thickness of the wire.
    pub wire: f64,
    /// Contacts of a grain with the screen before it is thrown off.
    pub contacts: f64,
}

/// Grain sizes of castings, and the effect of moisture on their passage.
///
/// # Units
/// sizes m, shares kg/kg, moisture kg water/kg wet
///
/// # Source
/// Oversize share from the `site` table; the rest assumed, see `own_site.json`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScreeningRates {
    /// Size of each grain class, small to large; the last is the oversize.
    pub sizes: [f64; GRAINS],
    /// Share of wet mass in the last, largest class.
    pub oversize_share: f64,
    /// Share of the rest in the second class.
    pub medium_share: f64,
    /// Share of the rest in the third class.
    pub near_share: f64,
    /// Share of grains larger than the opening that still reach the product (long grains, broken clumps).
    pub misplaced_share: f64,
    /// Printed passage of a trommel at each of [`MOISTURES`].
    pub passages: [f64; MOISTURES.len()],
}

impl ScreeningRates {
    /// Reads the rates by key.
    pub fn from_values(get: &dyn Fn(&str) -> f64) -> Self {
        Self {
            sizes: [
                get("site.castings_fine_size"),
                get("site.castings_medium_size"),
                get("site.castings_near_size"),
                get("site.castings_oversize_size"),
            ],
            oversize_share: get("site.oversize_share"),
            medium_share: get("site.castings_medium_share"),
            near_share: get("site.castings_near_share"),
            misplaced_share: get("site.screen_misplaced_share"),
            passages: [
                get("site.screening_passage_at_40_percent"),
                get("site.screening_passage_at_60_percent"),
                get("site.screening_passage_at_70_percent"),
                get("site.screening_passage_at_75_percent"),
            ],
        }
    }

    /// Share of wet mass in each grain class, kg/kg.
    pub fn shares(&self) -> [f64; GRAINS] {
        let under = 1.0 - self.oversize_share;
        let fine = (1.0 - self.medium_share - self.near_share).max(0.0);
        let all = fine + self.medium_share + self.near_share;
        [
            under * fine / all,
            under * self.medium_share / all,
            under * self.near_share / all,
            self.oversize_share,
        ]
    }

    /// Factor of moisture on passage: passage as printed over that at the driest, in straight lines between the printed moistures;
    /// 1 below the driest, the least passage above the wettest. Over the driest, because [`passage`] holds what a screen
    /// misses when castings crumble.
    ///
    /// # Units
    /// moisture kg water/kg wet
    ///
    /// # Source
    /// manyuchi_phiri_2013, a trommel of 4 mm at 40 to 60 % moisture; assumed beyond.
    pub fn moisture_factor(&self, moisture: f64) -> f64 {
        let mut passage = self.passages[0];
        for (at, of) in MOISTURES.windows(2).zip(self.passages.windows(2)) {
            let along = ((moisture - at[0]) / (at[1] - at[0])).clamp(0.0, 1.0);
            passage += along * (of[1] - of[0]);
        }
        passage / self.passages[0]
    }
}

/// Chance that one contact lets a grain through, P = ((a - d)/(a + t))^2; 0 for a grain as large as the opening.
///
/// # Units
/// m, m, m
///
/// # Source
/// Gaudin 1939 (memory).
pub fn passage_per_contact(size: f64, aperture: f64, wire: f64) -> f64 {
    if size >= aperture {
        return 0.0;
    }
    let ratio = (aperture - size) / (aperture + wire);
    ratio * ratio
}

/// Share of grains of one size that pass in n contacts, E = 1 - (1 - P)^n. Source: Gaudin 1939 (memory).
pub fn passage(size: f64, deck: &Deck) -> f64 {
    1.0 - (1.0 - passage_per_contact(size, deck.aperture, deck.wire)).powf(deck.contacts)
}

/// The first-order form E = 1 - exp(-n P), which the contact form approaches for small P. Source: screening texts (memory).
pub fn first_order_passage(size: f64, deck: &Deck) -> f64 {
    1.0 - (-deck.contacts * passage_per_contact(size, deck.aperture, deck.wire)).exp()
}

/// Contacts needed for a share `passed` of one size to pass, n = ln(1 - E)/ln(1 - P); infinite for grains that cannot.
///
/// # Units
/// m, m, m, kg/kg
///
/// # Source
/// [`passage`], inverted.
pub fn contacts_for(size: f64, aperture: f64, wire: f64, passed: f64) -> f64 {
    let p = passage_per_contact(size, aperture, wire);
    if p <= 0.0 { f64::INFINITY } else { (1.0 - passed).ln() / (1.0 - p).ln() }
}

/// How a screen splits its feed, kg/kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScreenSplit {
    /// Share of the feed smaller than the opening.
    pub undersize: f64,
    /// Share of that undersize which passes.
    pub efficiency: f64,
    /// Share of the oversize which passes.
    pub misplaced: f64,
}

impl ScreenSplit {
    /// Product per feed, u E + (1 - u) m, kg/kg. Source: mass balance.
    pub fn product_share(&self) -> f64 {
        self.undersize * self.efficiency + (1.0 - self.undersize) * self.misplaced
    }

    /// Oversize per feed, kg/kg.
    pub fn overs_share(&self) -> f64 {
        1.0 - self.product_share()
    }

    /// Undersize share of the product, kg/kg; 1 if nothing passes.
    pub fn purity(&self) -> f64 {
        let product = self.product_share();
        if product > 0.0 { self.undersize * self.efficiency / product } else { 1.0 }
    }
}

/// Splits castings of a moisture (kg water/kg wet) on a deck, class by class.
pub fn split(rates: &ScreeningRates, deck: &Deck, moisture: f64) -> ScreenSplit {
    let mut undersize = 0.0;
    let mut passed = 0.0;
    for (size, share) in rates.sizes.iter().zip(rates.shares()) {
        if *size < deck.aperture {
            undersize += share;
            passed += share * passage(*size, deck);
        }
    }
    let efficiency = if undersize > 0.0 { passed / undersize * rates.moisture_factor(moisture) } else { 0.0 };
    ScreenSplit { undersize, efficiency, misplaced: rates.misplaced_share }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    pub(crate) fn central() -> ScreeningRates {
        // site.oversize_share; own_site.json, central values.
        ScreeningRates {
            sizes: [0.001, 0.002, 0.0028, 0.006],
            oversize_share: 0.2,
            medium_share: 0.3,
            near_share: 0.15,
            misplaced_share: 0.05,
            passages: [0.95, 0.8, 0.5, 0.2],
        }
    }

    #[test]
    fn shares_make_up_the_whole_and_follow_the_oversize_share() {
        let shares = central().shares();
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-15);
        // 0.8 x (0.55, 0.30, 0.15), 0.2
        for (have, want) in shares.iter().zip([0.44, 0.24, 0.12, 0.2]) {
            assert!((have - want).abs() < 1e-15);
        }
    }

    #[test]
    fn shares_above_the_whole_are_scaled_down() {
        // 90 and 60 % of what is under size: no fines, and 0.8 x (0.6, 0.4)
        let shares = ScreeningRates { medium_share: 0.9, near_share: 0.6, ..central() }.shares();
        for (have, want) in shares.iter().zip([0.0, 0.48, 0.32, 0.2]) {
            assert!((have - want).abs() < 1e-15);
        }
    }

    #[test]
    fn passage_falls_with_moisture_as_printed() {
        // over 0.95: 1; 0.80; 0.875 halfway; 0.65 halfway to 70 %; 0.5; 0.35 halfway to 75 %; 0.2
        for (moisture, passage) in [
            (0.1, 0.95),
            (0.4, 0.95),
            (0.5, 0.875),
            (0.6, 0.8),
            (0.65, 0.65),
            (0.7, 0.5),
            (0.725, 0.35),
            (0.75, 0.2),
            (0.9, 0.2),
        ] {
            let ours = central().moisture_factor(moisture);
            assert!((ours - passage / 0.95).abs() < 1e-12, "{moisture}: {ours}");
        }
    }

    #[test]
    fn a_finer_screen_more_water_or_fewer_contacts_never_pass_more() {
        let rates = central();
        let deck = Deck { aperture: 0.0032, wire: 0.0009, contacts: 20.0 };
        let base = split(&rates, &deck, 0.4).product_share();
        assert!(split(&rates, &Deck { aperture: 0.0024, ..deck }, 0.4).product_share() < base);
        assert!(split(&rates, &Deck { contacts: 5.0, ..deck }, 0.4).product_share() < base);
        assert!(split(&rates, &deck, 0.55).product_share() < base);
        assert!((split(&rates, &deck, 0.2).product_share() - base).abs() < 1e-15);
    }
}
