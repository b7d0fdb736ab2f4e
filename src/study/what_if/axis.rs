//! Keys that are varied, as typed.

use super::{DENSITY, MOST_VARIANTS};

/// A key and the values it takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VariedKey {
    /// Key path of the scenario such as `drums.count`, or [`DENSITY`].
    pub key: String,
    /// Values as a scenario would hold them, one or more, in the order given.
    pub values: Vec<String>,
}

/// Reads `key=a,b,c` or `key=from..to/points`, points spaced evenly with both ends. Commas inside brackets, braces and quotes belong to a
/// value.
///
/// # Errors
/// In words, with what is allowed.
pub fn axis(text: &str) -> Result<VariedKey, String> {
    let allowed =
        "write `key=a,b,c` or `key=from..to/points`, such as drums.count=40,60 or stock.density=1..5/5";
    let Some((key, list)) = text.split_once('=') else { return Err(format!("has no values; {allowed}")) };
    let (key, list) = (key.trim(), list.trim());
    if key.is_empty() {
        return Err(format!("has no key; {allowed}"));
    }
    if list.is_empty() {
        return Err(format!("has no points; {allowed}"));
    }
    let values = match list.split_once("..").filter(|_| list.contains('/') || !list.contains(['"', '[', ',']))
    {
        Some((from, rest)) => range(from, rest).map_err(|problem| format!("{problem}; {allowed}"))?,
        None => split(list),
    };
    if values.iter().any(String::is_empty) {
        return Err(format!("has an empty value; {allowed}"));
    }
    Ok(VariedKey { key: key.to_owned(), values })
}

/// Reads stocking densities alone, as [`axis`] reads them after `stock.density=`.
///
/// # Errors
/// As [`axis`].
pub fn density_axis(list: &str) -> Result<VariedKey, String> {
    axis(&format!("{DENSITY}={list}"))
}

fn range(from: &str, rest: &str) -> Result<Vec<String>, String> {
    let Some((to, points)) = rest.split_once('/') else {
        return Err("the range has no number of points".to_owned());
    };
    let number = |text: &str| {
        let value = text.trim().parse::<f64>().ok().filter(|v| v.is_finite());
        value.ok_or_else(|| format!("`{}` is not a number", text.trim()))
    };
    let (from, to) = (number(from)?, number(to)?);
    let points: u32 =
        points.trim().parse().map_err(|_| format!("`{}` is not a number of points", points.trim()))?;
    match points {
        0 => Err("a range of 0 points has no points".to_owned()),
        1 if from.total_cmp(&to).is_ne() => Err("a range of two ends needs at least 2 points".to_owned()),
        1 => Ok(vec![from.to_string()]),
        _ if points as usize > MOST_VARIANTS => Err(format!("at most {MOST_VARIANTS} points")),
        _ if from >= to => Err(format!("nothing lies between {from} and {to}")),
        _ => Ok((0..points)
            .map(|n| {
                let value = from + (to - from) * f64::from(n) / f64::from(points - 1);
                // a range of thirds should not print sixteen digits
                let rounded: f64 = format!("{value:.10}").parse().unwrap_or(value);
                rounded.to_string()
            })
            .collect()),
    }
}

/// Parts between commas outside brackets, braces and quotes.
fn split(list: &str) -> Vec<String> {
    let (mut parts, mut depth, mut quoted) = (vec![String::new()], 0_i32, false);
    for letter in list.chars() {
        match letter {
            '"' => quoted = !quoted,
            '[' | '{' if !quoted => depth += 1,
            ']' | '}' if !quoted => depth -= 1,
            ',' if !quoted && depth == 0 => {
                parts.push(String::new());
                continue;
            }
            _ => {}
        }
        parts.last_mut().expect("there is always a part").push(letter);
    }
    parts.into_iter().map(|part| part.trim().to_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_ranges_and_values_with_commas_are_read() {
        let values = |text: &str| axis(text).unwrap().values;
        assert_eq!(values("drums.count=40, 60,80"), ["40", "60", "80"]);
        assert_eq!(values("drums.count=2..8/4"), ["2", "4", "6", "8"]);
        assert_eq!(values("feeding.ration=0.1..0.2/4"), ["0.1", "0.1333333333", "0.1666666667", "0.2"]);
        assert_eq!(values("beds.moisture_band=[0.72,0.8],[0.78,0.85]"), ["[0.72,0.8]", "[0.78,0.85]"]);
        assert_eq!(values("drums.volume=120 L,55 gal"), ["120 L", "55 gal"]);
        assert_eq!(values("streams[0].closed=[\"12-24..01-02\"]"), ["[\"12-24..01-02\"]"]);
        assert_eq!(values("screen.method=trommel"), ["trommel"]);
    }

    #[test]
    fn keys_without_points_say_what_is_allowed() {
        for (text, wanted) in [
            ("drums.count", "no values"),
            ("=3", "no key"),
            ("drums.count=", "no points"),
            ("drums.count=2..8/0", "no points"),
            ("drums.count=2..8", "number of points"),
            ("drums.count=8..2/4", "nothing lies between"),
            ("drums.count=2..8/1", "at least 2 points"),
            ("drums.count=a..b/3", "not a number"),
            ("drums.count=2..8/4000", "at most"),
            ("drums.count=1,,2", "empty value"),
        ] {
            let error = axis(text).unwrap_err();
            assert!(error.contains(wanted) && error.contains("key=a,b,c"), "{text}: {error}");
        }
    }
}
