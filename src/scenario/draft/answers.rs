//! What a person knows before there is a site: the answers that a draft is made from.

use super::quoted;
use crate::literature;
use crate::matter::Property;
use crate::quantity::{self, Kind, QuantityError};
use jiff::civil::Date;

/// A quantity as it was typed, and its value in the unit of its kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Typed {
    /// As typed, with its unit.
    pub text: String,
    /// In the unit of its kind.
    pub value: f64,
}

impl Typed {
    /// Reads a text with a unit, such as `55 lb/day`, or a plain number in the unit of the kind.
    ///
    /// # Errors
    /// As [`quantity::parse`].
    pub fn read(kind: Kind, text: &str) -> Result<Self, QuantityError> {
        let text = text.trim().to_owned();
        let plain = text.parse().ok().filter(|number: &f64| number.is_finite());
        let value = plain.map_or_else(|| quantity::parse(kind, &text), Ok)?;
        Ok(Self { text, value })
    }

    /// So many times the quantity, in the unit it was typed in.
    pub(super) fn times(&self, factor: f64) -> Self {
        let unit_at =
            self.text.find(|c: char| c.is_whitespace() || c.is_alphabetic()).unwrap_or(self.text.len());
        let (number, unit) = self.text.split_at(unit_at);
        let value = self.value * factor;
        let text = number.parse::<f64>().map_or_else(
            |_| value.to_string(),
            |number| format!("{}{unit}", (number * factor * 1e6).round() / 1e6),
        );
        Self { text, value }
    }

    /// As a value of a scenario.
    pub(super) fn json(&self) -> String {
        if self.text.parse::<f64>().is_ok() { self.value.to_string() } else { quoted(&self.text) }
    }
}

/// Where scraps come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScrapsKind {
    /// A school kitchen and its plates.
    School,
    /// A canteen.
    Canteen,
    /// Restaurants.
    Restaurant,
    /// Households.
    Household,
    /// A market of fruit and vegetables with bakers.
    Market,
    /// Crops that are not sold.
    Farm,
    /// A collection from households, restaurants and shops.
    City,
}

impl ScrapsKind {
    /// Every kind.
    pub const ALL: [Self; 7] = [
        Self::School,
        Self::Canteen,
        Self::Restaurant,
        Self::Household,
        Self::Market,
        Self::Farm,
        Self::City,
    ];

    /// In a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::School => "school",
            Self::Canteen => "canteen",
            Self::Restaurant => "restaurant",
            Self::Household => "household",
            Self::Market => "market",
            Self::Farm => "farm",
            Self::City => "city",
        }
    }

    /// In words.
    pub const fn what(self) -> &'static str {
        match self {
            Self::School => "a school: kitchen and plates",
            Self::Canteen => "a canteen: what is served and left",
            Self::Restaurant => "restaurants, preparation included",
            Self::Household => "households",
            Self::Market => "a market or shop: fruit, vegetables, some bread",
            Self::Farm => "a farm or packhouse: fruit and vegetables",
            Self::City => "a town: households, restaurants and shops",
        }
    }

    /// Ingredients with their shares of the wet mass. Source: our choice.
    pub(super) const fn mix(self) -> &'static [(&'static str, f64)] {
        match self {
            Self::School | Self::Canteen => {
                &[("food_waste_restaurant", 0.75), ("fruit_and_vegetable_market", 0.2), ("bread", 0.05)]
            }
            Self::Restaurant => {
                &[("food_waste_restaurant", 0.8), ("fruit_and_vegetable_market", 0.15), ("bread", 0.05)]
            }
            Self::Household => &[("food_waste_household", 1.0)],
            Self::Market => &[("fruit_and_vegetable_market", 0.9), ("bread", 0.1)],
            Self::Farm => &[("fruit_and_vegetable_market", 1.0)],
            Self::City => &[
                ("food_waste_household", 0.5),
                ("food_waste_restaurant", 0.3),
                ("fruit_and_vegetable_market", 0.15),
                ("bread", 0.05),
            ],
        }
    }

    /// Key of the scraps of a person on an open day, and who the persons are. `None` where people do not tell the amount.
    pub const fn per_person(self) -> Option<(&'static str, &'static str)> {
        match self {
            Self::School => Some(("site.generation_school_cafeteria_total", "pupils")),
            Self::Canteen => Some(("site.generation_canteen_europe", "portions a day")),
            Self::Restaurant => Some(("site.generation_restaurant_all_in", "diners a day")),
            Self::Household | Self::City => Some(("site.generation_household_usa", "people")),
            Self::Market | Self::Farm => None,
        }
    }

    /// Worms bought for an area of bed, kg/m2. Source: our choice: the low end of `worms.stocking_trade_start`, and two thirds of it where
    /// nine tenths of the scraps are water.
    pub(super) const fn stocking(self) -> f64 {
        match self {
            Self::Market | Self::Farm => 1.6,
            Self::School | Self::Canteen | Self::Restaurant | Self::Household | Self::City => 2.4,
        }
    }

    /// Straw laid between the scraps in the drums, over their wet mass: fruit and vegetables alone hold too little dry matter, and more than 2 %
    /// of their drums spoil in two draws of five. Source: our choice; wet crops are ensiled with straw.
    pub(super) const fn straw(self) -> f64 {
        match self {
            Self::Farm => 0.1,
            _ => 0.0,
        }
    }

    /// Dry matter of the scraps with their straw, kg/kg, by the published moisture of each ingredient.
    pub(super) fn dry(self) -> f64 {
        let dry = |name| {
            let moisture = literature::central(&literature::composition_key(name, Property::Moisture));
            1.0 - moisture.unwrap_or(0.0)
        };
        let scraps = self.mix().iter().map(|(name, share)| share * dry(name)).sum::<f64>();
        (scraps + self.straw() * dry("wheat_straw")) / (1.0 + self.straw())
    }

    /// Days on which scraps usually come, Monday to Sunday. Source: our choice.
    pub const fn usual_days(self) -> [bool; 7] {
        match self {
            Self::School | Self::Canteen => [true, true, true, true, true, false, false],
            Self::Market => [true, true, true, true, true, true, false],
            Self::Restaurant | Self::Household | Self::Farm | Self::City => [true; 7],
        }
    }
}

/// How much scraps come.
#[derive(Debug, Clone, PartialEq)]
pub enum Scraps {
    /// Wet mass on an open day.
    Amount(Typed),
    /// People, meals or pupils on an open day.
    People(u32),
}

/// Weather outdoors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Mean of the year, °C.
    pub mean: f64,
    /// Half of the warmest less the coldest month, K.
    pub swing: f64,
}

/// Prices; what is not given is not counted.
#[derive(Debug, Clone, PartialEq)]
pub struct Prices {
    /// Currency, such as EUR.
    pub currency: String,
    /// Keys of the section `money` with their prices.
    pub given: Vec<(&'static str, Typed)>,
}

/// What a person knows of their site.
#[derive(Debug, Clone, PartialEq)]
pub struct Answers {
    /// Name of the site.
    pub name: String,
    /// First day.
    pub start: Date,
    /// Amount of scraps.
    pub scraps: Scraps,
    /// Kind of scraps.
    pub kind: ScrapsKind,
    /// Days on which scraps come, Monday to Sunday.
    pub weekdays: [bool; 7],
    /// Days without scraps, as in `streams.closed`.
    pub closed: Vec<String>,
    /// Weather outdoors.
    pub weather: Weather,
    /// What the rooms are heated to. `None` if they are not heated.
    pub heated_to: Option<Typed>,
    /// Number of drums. `None` to reckon it.
    pub drums: Option<u32>,
    /// Floor available. `None` if it does not limit the site.
    pub floor: Option<Typed>,
    /// Worms to begin with. `None` to reckon them.
    pub worms: Option<Typed>,
    /// Prices. `None` to leave money out.
    pub prices: Option<Prices>,
}

/// People that do not tell how much scraps come: those of a market or a farm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoAmount;
