//! Curves given as points, recovery shares of screening, published life tables.

use std::sync::LazyLock;

use serde::Deserialize;

use super::entry::{Evidence, TableError};

/// File name in messages.
const FILE: &str = "curves.json";

/// A curve given as points, linear between them.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PublishedCurve {
    /// Identifier.
    pub id: String,
    /// What x is, with its unit (moisture in kg/kg wet, not percent).
    pub x: String,
    /// What y is, with its unit.
    pub y: String,
    /// How well it is founded.
    pub evidence: Evidence,
    /// Keys of [`sources`](super::sources()).
    #[serde(rename = "source")]
    pub sources: Vec<String>,
    /// Remarks.
    pub note: String,
    /// Points `[x, y]`, rising in x.
    pub points: Vec<[f64; 2]>,
}

impl PublishedCurve {
    /// The value at x, linear between points and constant beyond the first and the last, in the units named by `x` and `y`.
    pub fn at(&self, x: f64) -> f64 {
        let right = self.points.partition_point(|point| point[0] <= x);
        let last = self.points.len() - 1;
        if right == 0 {
            return self.points[0][1];
        }
        if right > last {
            return self.points[last][1];
        }
        let [x0, y0] = self.points[right - 1];
        let [x1, y1] = self.points[right];
        y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    }
}

/// Share of each stage that a way of screening returns to the bed, 0 to 1.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ScreeningRecovery {
    /// Identifier.
    pub id: String,
    /// Share of cocoons.
    pub cocoon: f64,
    /// Share of juveniles.
    pub juvenile: f64,
    /// Share of sub-adults.
    pub subadult: f64,
    /// Share of adults.
    pub adult: f64,
    /// How well it is founded.
    pub evidence: Evidence,
    /// Keys of [`sources`](super::sources()).
    #[serde(rename = "source")]
    pub sources: Vec<String>,
}

/// A set of life-table values with the growth that follows from them without limits; a check of the worm model.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LifeTable {
    /// Identifier.
    pub id: String,
    /// Cocoons per adult, 1/d.
    pub cocoon_rate: f64,
    /// Share of cocoons that hatch.
    pub hatch: f64,
    /// Hatchlings per hatched cocoon.
    pub hatchlings: f64,
    /// Days as cocoon, juvenile, sub-adult.
    pub durations: [f64; 3],
    /// Death rates of cocoon, juvenile, sub-adult, adult, 1/d.
    pub deaths: [f64; 4],
    /// Growth factor per day.
    pub growth: f64,
    /// Doubling time, d.
    pub doubling: f64,
    /// How well it is founded.
    pub evidence: Evidence,
    /// Keys of [`sources`](super::sources()).
    #[serde(rename = "source")]
    pub sources: Vec<String>,
}

/// Life-table values of another species, for comparison.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpeciesFacts {
    /// Identifier: species, author, year.
    pub id: String,
    /// Cocoons per adult, 1/d.
    pub cocoon_rate: f64,
    /// Share of cocoons that hatch.
    pub hatch: f64,
    /// Hatchlings per hatched cocoon.
    pub hatchlings: f64,
    /// Shortest and longest days as cocoon.
    pub incubation: [f64; 2],
    /// Shortest and longest days to maturity.
    pub maturity: [f64; 2],
    /// Natural logarithm of growth, 1/d.
    pub log_growth: f64,
    /// Doubling time, d.
    pub doubling: f64,
    /// How well it is founded.
    pub evidence: Evidence,
    /// Keys of [`sources`](super::sources()).
    #[serde(rename = "source")]
    pub sources: Vec<String>,
    /// Remarks.
    pub note: String,
}

/// The file.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Tables {
    curves: Vec<PublishedCurve>,
    recoveries: Vec<ScreeningRecovery>,
    parameter_sets: Vec<LifeTable>,
    other_species: Vec<SpeciesFacts>,
}

/// Reads the file and checks that points rise along x.
fn read(text: &str) -> Result<Tables, TableError> {
    let tables: Tables =
        serde_json::from_str(text).map_err(|error| TableError::Form { file: FILE, error })?;
    for curve in &tables.curves {
        let rising = curve.points.windows(2).all(|pair| pair[0][0] < pair[1][0]);
        if curve.points.len() < 2 || !rising {
            return Err(TableError::Points { file: FILE, id: curve.id.clone() });
        }
    }
    Ok(tables)
}

static TABLES: LazyLock<Tables> = LazyLock::new(|| {
    read(include_str!("curves.json"))
        .unwrap_or_else(|error| panic!("the curves built into the library are faulty: {error}"))
});

/// Every curve.
pub fn curves() -> &'static [PublishedCurve] {
    &TABLES.curves
}

/// The curve of that identifier.
pub fn curve(id: &str) -> Option<&'static PublishedCurve> {
    TABLES.curves.iter().find(|curve| curve.id == id)
}

/// Every set of recovery shares.
pub fn recoveries() -> &'static [ScreeningRecovery] {
    &TABLES.recoveries
}

/// The recovery shares of that identifier.
pub fn recovery(id: &str) -> Option<&'static ScreeningRecovery> {
    TABLES.recoveries.iter().find(|one| one.id == id)
}

/// Every set of life-table values.
pub fn life_tables() -> &'static [LifeTable] {
    &TABLES.parameter_sets
}

/// Other species, for comparison.
pub fn species() -> &'static [SpeciesFacts] {
    &TABLES.other_species
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(points: &str) -> String {
        format!(
            r#"{{ "curves": [{{ "id": "a", "x": "x", "y": "y", "evidence": "read", "source": ["b"], "note": "",
            "points": {points} }}], "recoveries": [], "parameter_sets": [], "other_species": [] }}"#
        )
    }

    #[test]
    fn points_that_do_not_rise_are_refused() {
        assert!(matches!(read(&text("[[0, 1], [0, 2]]")), Err(TableError::Points { .. })));
        assert!(matches!(read(&text("[[0, 1]]")), Err(TableError::Points { .. })));
    }

    #[test]
    fn a_curve_is_linear_between_points_and_constant_beyond() {
        let tables = read(&text("[[0, 1], [2, 5], [4, 0]]")).unwrap();
        let curve = &tables.curves[0];
        // Exact in binary, so compared bit for bit through their differences.
        for (x, y) in [(-1.0, 1.0), (0.0, 1.0), (1.0, 3.0), (2.0, 5.0), (3.0, 2.5), (4.0, 0.0), (9.0, 0.0)] {
            assert!((curve.at(x) - y).abs() < f64::EPSILON, "at {x}");
        }
    }
}
