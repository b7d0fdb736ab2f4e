//! What a number of draws says about a chance.

use statrs::distribution::{Beta, ContinuousCDF};

/// Chance that at least `met` of `draws` hold where each holds with chance `p`: I_p(met, draws - met + 1), the regularised incomplete
/// beta function.
///
/// # Panics
/// On more met than draws.
pub fn at_least(met: u64, draws: u64, p: f64) -> f64 {
    assert!(met <= draws, "{met} of {draws}");
    if met == 0 {
        return 1.0;
    }
    let beta = Beta::new(met as f64, (draws - met + 1) as f64).expect("both parameters are at least 1");
    beta.cdf(p)
}

/// The least number of draws that must hold to show a chance with a confidence. None if even all of them do not.
///
/// # Source
/// One-sided limit of Clopper and Pearson (1934).
pub fn needed(draws: u64, chance: f64, confidence: f64) -> Option<u64> {
    // the more hold, the less likely by luck
    let (mut low, mut high) = (0, draws + 1);
    while low < high {
        let middle = low + (high - low) / 2;
        if at_least(middle, draws, chance) <= 1.0 - confidence { high = middle } else { low = middle + 1 }
    }
    (low <= draws).then_some(low)
}

/// Least number of draws with which a chance can be shown at all: ln(1 - confidence) / ln(chance).
pub fn fewest(chance: f64, confidence: f64) -> u64 {
    (1..1_000_000).find(|&draws| needed(draws, chance, confidence).is_some()).unwrap_or(1_000_000)
}

/// Low and high end of the two-sided interval of a chance from so many met of so many draws, with this confidence.
///
/// # Source
/// Clopper and Pearson (1934); for stratified draws it is on the wide side.
pub fn interval(met: u64, draws: u64, confidence: f64) -> (f64, f64) {
    let tail = 0.5 * (1.0 - confidence);
    let solve = |rising: &dyn Fn(f64) -> f64| {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if rising(middle) < tail { low = middle } else { high = middle }
        }
        f64::midpoint(low, high)
    };
    let low = if met == 0 { 0.0 } else { solve(&|p| at_least(met, draws, p)) };
    // seen from the other side: draws that did not hold
    let high = if met == draws { 1.0 } else { 1.0 - solve(&|q| at_least(draws - met, draws, q)) };
    (low, high)
}

/// The value that a share `chance` of the numbers does not pass (from above where `most`, else from below): the least limit that
/// the draws still show with the confidence. None if there are too few.
pub fn promised(values: &[f64], chance: f64, confidence: f64, most: bool) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    if !most {
        sorted.reverse();
    }
    let met = needed(sorted.len() as u64, chance, confidence)?;
    let place = usize::try_from(met).ok()?.checked_sub(1)?;
    sorted.get(place).copied().filter(|value| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_draws_show_little() {
        // 0.9^22 = 0.0985 is the first power of 0.9 below one tenth
        assert_eq!(fewest(0.9, 0.9), 22);
        assert_eq!(needed(21, 0.9, 0.9), None);
        assert_eq!(needed(22, 0.9, 0.9), Some(22));
        // binomial(40, 0.9): 0.0148 for all, 0.0805 for 39 or more, 0.2228 for 38 or more
        assert!((at_least(40, 40, 0.9) - 0.9_f64.powi(40)).abs() < 1e-12);
        assert!((at_least(39, 40, 0.9) - 0.080_47).abs() < 1e-4);
        assert_eq!(needed(40, 0.9, 0.9), Some(39));
    }

    #[test]
    fn a_promise_is_an_order_statistic() {
        let values: Vec<f64> = (1..=40).map(f64::from).collect();
        assert_eq!(promised(&values, 0.9, 0.9, true), Some(39.0));
        assert_eq!(promised(&values, 0.9, 0.9, false), Some(2.0));
        assert_eq!(promised(&values[..10], 0.9, 0.9, true), None);
    }
}
