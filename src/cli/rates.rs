//! Central values of the literature tables for what the program builds itself.

use super::failure::Failure;
use crate::literature;
use std::cell::RefCell;

/// Builds something from central values; `choice` may replace some.
///
/// # Errors
/// [`Failure::MissingRate`] when a key is asked for that is in no table.
pub fn with_rates<T>(
    choice: impl Fn(&str) -> Option<f64>,
    build: impl FnOnce(&dyn Fn(&str) -> f64) -> T,
) -> Result<T, Failure> {
    let missing: RefCell<Option<String>> = RefCell::new(None);
    let built = build(&|key| {
        choice(key).or_else(|| literature::central(key)).unwrap_or_else(|| {
            missing.borrow_mut().get_or_insert_with(|| key.to_owned());
            f64::NAN
        })
    });
    missing.into_inner().map_or(Ok(built), |key| Err(Failure::MissingRate(key)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_rate_is_told_by_its_key() {
        let found = with_rates(|_| None, |get| get("bed.no_such_rate"));
        assert!(matches!(found, Err(Failure::MissingRate(key)) if key == "bed.no_such_rate"));
        let replaced = with_rates(|_| Some(2.0), |get| get("bed.no_such_rate"));
        assert!(replaced.is_ok_and(|value| value > 1.5));
    }
}
