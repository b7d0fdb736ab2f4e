//! What an analysis of an ingredient states: one table of properties, and a map from each property to a value.

use super::component::Component;
use crate::quantity::Kind;
use std::ops::{Index, IndexMut};

/// Where the mass that a property states is booked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Booking {
    /// A part of the ash, booked as this component.
    Ash(Component),
    /// A fraction of the organic matter, booked as this component.
    Organic(Component),
    /// Not a mass of its own: a total, an element inside the fractions, or no mass at all.
    None,
}

/// A row of the table of properties.
struct Row {
    name: &'static str,
    key: &'static str,
    words: &'static str,
    kind: Kind,
    booking: Booking,
    possible: (f64, f64),
    given: Option<(f64, f64)>,
}

macro_rules! properties {
    ($(
        #[doc = $words:literal]
        $variant:ident { name: $name:literal, kind: $kind:ident, booking: $booking:expr,
            possible: $possible:expr, given: $given:expr }
    )+) => {
        /// A property of an ingredient that an analysis may state.
        ///
        /// This table is the only list of properties: scenario files, the ingredients of the literature, keys of draws
        /// (`ingredients.<ingredient>.<property>`), the schema and the pages all follow it.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Property {
            $( #[doc = $words] $variant, )+
        }

        impl Property {
            /// Number of properties.
            pub const COUNT: usize = [$( $name ),+].len();
            /// Every property, in the order of the table.
            pub const ALL: [Self; Self::COUNT] = [$( Self::$variant ),+];
        }

        const ROWS: [Row; Property::COUNT] = [$( Row {
            name: $name,
            key: concat!("ingredients.*.", $name),
            words: $words,
            kind: Kind::$kind,
            booking: $booking,
            possible: $possible,
            given: $given,
        } ),+];
    };
}

// `possible`: outside of it no split can be computed. `given`: what a scenario may give, wide bounds of sense, our choice;
// None if a scenario may not give it.
properties! {
    /// Water, share of wet mass.
    Moisture { name: "moisture", kind: Share, booking: Booking::None,
        // above this too little is dry for an analysis on dry mass
        possible: (0.0, 0.9998), given: Some((0.0, 0.98)) }
    /// Carbon, share of dry mass.
    Carbon { name: "carbon", kind: Share, booking: Booking::None,
        possible: (0.0, 1.0), given: Some((0.0, 0.8)) }
    /// Nitrogen, share of dry mass.
    Nitrogen { name: "nitrogen", kind: Share, booking: Booking::None,
        possible: (0.0, 1.0), given: Some((0.0, 0.2)) }
    /// Ash, share of dry mass.
    Ash { name: "ash", kind: Share, booking: Booking::None,
        possible: (0.0, 1.0), given: Some((0.0, 0.95)) }
    /// Phosphorus (element), share of dry mass.
    Phosphorus { name: "phosphorus", kind: Share, booking: Booking::Ash(Component::Phosphorus),
        possible: (0.0, 1.0), given: Some((0.0, 0.1)) }
    /// Potassium (element), share of dry mass.
    Potassium { name: "potassium", kind: Share, booking: Booking::Ash(Component::Potassium),
        possible: (0.0, 1.0), given: Some((0.0, 0.2)) }
    /// Bulk density as it arrives.
    BulkDensity { name: "bulk_density", kind: Density, booking: Booking::None,
        possible: (1.0, 5000.0), given: Some((10.0, 2000.0)) }
    /// Crude protein, share of dry mass.
    Protein { name: "protein", kind: Share, booking: Booking::Organic(Component::Protein),
        possible: (0.0, 1.0), given: Some((0.0, 1.0)) }
    /// Part of the protein that is bound in cell walls or browned and decays no faster than fibre. Left out: the literature value.
    BoundProtein { name: "bound_protein", kind: Share, booking: Booking::None,
        possible: (0.0, 1.0), given: Some((0.0, 1.0)) }
    /// Fat, share of dry mass.
    Fat { name: "fat", kind: Share, booking: Booking::Organic(Component::Fat),
        possible: (0.0, 1.0), given: Some((0.0, 1.0)) }
    /// Sugars and starch, share of dry mass.
    Sugars { name: "sugars", kind: Share, booking: Booking::Organic(Component::Sugars),
        possible: (0.0, 1.0), given: Some((0.0, 1.0)) }
    /// Part of the sugars and starch that is sugar; the rest is starch. Left out of a library row: all of it is starch.
    FreeSugar { name: "free_sugar", kind: Share, booking: Booking::None,
        possible: (0.0, 1.0), given: Some((0.0, 1.0)) }
    /// Part of the starch that is cooked; raw starch hardly ferments. Left out of a library row: none of it.
    CookedStarch { name: "cooked_starch", kind: Share, booking: Booking::None,
        possible: (0.0, 1.0), given: Some((0.0, 1.0)) }
    /// Cellulose and hemicellulose, share of dry mass.
    Fibre { name: "fibre", kind: Share, booking: Booking::Organic(Component::Fibre),
        possible: (0.0, 1.0), given: Some((0.0, 1.0)) }
    /// Lignin, share of dry mass.
    Lignin { name: "lignin", kind: Share, booking: Booking::Organic(Component::Lignin),
        possible: (0.0, 1.0), given: Some((0.0, 1.0)) }
    /// Humus, share of dry mass.
    Humus { name: "humus", kind: Share, booking: Booking::Organic(Component::Humus),
        possible: (0.0, 1.0), given: None }
    /// Calcium that acid can dissolve (magnesium counted as 1.65 kg per kg), without the lime, share of dry mass; left out: none.
    Calcium { name: "calcium", kind: Ratio, booking: Booking::Ash(Component::Minerals),
        possible: (0.0, 0.41), given: Some((0.0, 0.41)) }
    /// pH of the fresh material, without the lime.
    Ph { name: "ph", kind: Acidity, booking: Booking::None,
        possible: (1.0, 13.0), given: Some((2.0, 13.0)) }
    /// Buffering capacity between pH 6 and 4, per dry mass.
    BufferingCapacity { name: "buffering_capacity", kind: Buffering, booking: Booking::None,
        possible: (0.0, 20_000.0), given: Some((0.0, 3000.0)) }
    /// Soluble salts as NaCl, share of dry mass; potassium is not counted.
    Salt { name: "salt", kind: Share, booking: Booking::Ash(Component::Salt),
        possible: (0.0, 1.0), given: Some((0.0, 0.5)) }
    /// Lime (calcium carbonate) added, share of dry mass; it counts as ash. Left out: none.
    Lime { name: "lime", kind: Ratio, booking: Booking::Ash(Component::Minerals),
        possible: (0.0, 1.0), given: Some((0.0, 0.3)) }
}

impl Property {
    const fn row(self) -> &'static Row {
        &ROWS[self as usize]
    }

    /// Name in scenario files, keys and literature tables.
    pub const fn name(self) -> &'static str {
        self.row().name
    }

    /// The property of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|property| property.name() == name)
    }

    /// Key in a scenario file, with `*` for the name of the ingredient.
    pub const fn key(self) -> &'static str {
        self.row().key
    }

    /// Name as people read it, for headings.
    pub fn heading(self) -> String {
        match self {
            Self::Ph => "pH".to_owned(),
            other => other.name().replace('_', " "),
        }
    }

    /// What it is and of which mass, in words.
    pub fn words(self) -> &'static str {
        self.row().words.trim()
    }

    /// What is measured; its unit is that of every value of this property.
    pub const fn kind(self) -> Kind {
        self.row().kind
    }

    /// Where its mass is booked.
    pub const fn booking(self) -> Booking {
        self.row().booking
    }

    /// Values with which an ingredient can be split, both ends included.
    pub const fn possible(self) -> (f64, f64) {
        self.row().possible
    }

    /// Values that a scenario may give, both ends included; None if it may not give any.
    pub const fn given(self) -> Option<(f64, f64)> {
        self.row().given
    }

    /// Parts of the ash with the component that each is booked as.
    pub fn of_ash() -> impl Iterator<Item = (Self, Component)> {
        Self::ALL.into_iter().filter_map(|property| match property.booking() {
            Booking::Ash(component) => Some((property, component)),
            _ => None,
        })
    }
}

/// One value for each property, such as an `Option` of what is published, given or measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Analysis<T>([T; Property::COUNT]);

impl<T> Analysis<T> {
    /// The value that a function gives for each property.
    pub fn from_fn(value: impl FnMut(Property) -> T) -> Self {
        Self(Property::ALL.map(value))
    }

    /// Every property with its value, in the order of the table.
    pub fn iter(&self) -> impl Iterator<Item = (Property, &T)> {
        Property::ALL.into_iter().zip(&self.0)
    }
}

impl<T> Analysis<Option<T>> {
    /// The properties that are stated, in the order of the table.
    pub fn stated(&self) -> impl Iterator<Item = (Property, &T)> {
        self.iter().filter_map(|(property, value)| Some((property, value.as_ref()?)))
    }

    /// What a function makes of each stated property; nothing is added to those that are not stated.
    pub fn map_stated<U>(&self, mut change: impl FnMut(Property, &T) -> U) -> Analysis<Option<U>> {
        Analysis::from_fn(|property| self[property].as_ref().map(|value| change(property, value)))
    }

    /// The same analysis with one property stated.
    #[must_use]
    pub fn with(mut self, property: Property, value: T) -> Self {
        self[property] = Some(value);
        self
    }

    /// The same analysis with one property not stated.
    #[must_use]
    pub fn without(mut self, property: Property) -> Self {
        self[property] = None;
        self
    }
}

impl<T: Default> Default for Analysis<T> {
    fn default() -> Self {
        Self::from_fn(|_| T::default())
    }
}

impl<T> Index<Property> for Analysis<T> {
    type Output = T;

    fn index(&self, property: Property) -> &T {
        &self.0[property as usize]
    }
}

impl<T> IndexMut<Property> for Analysis<T> {
    fn index_mut(&mut self, property: Property) -> &mut T {
        &mut self.0[property as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_property_has_its_own_name_and_a_scenario_may_give_only_what_is_possible() {
        for property in Property::ALL {
            assert_eq!(Property::from_name(property.name()), Some(property));
            assert!(property.words().ends_with('.'), "{property:?}");
            let (low, high) = property.possible();
            if let Some((from, to)) = property.given() {
                assert!(low <= from && from < to && to <= high, "{property:?}");
            }
        }
        assert_eq!(Property::from_name("colour"), None);
    }
}
