//! Arithmetic of money over years, knowing nothing of a site. Interest is a share per period.

/// Steps of the search for a rate; each at least halves the bracket.
const MOST_STEPS: usize = 200;
/// Doublings before a root is given up: 2^200 times the outlay is beyond any money.
const MOST_DOUBLINGS: usize = 200;

/// Present value of 1 a year for n years, (1 - (1+i)^-n)/i; n itself at no interest.
///
/// # Units
/// Interest per period, number of periods.
///
/// # Source
/// Textbook form.
pub fn present_per_annuity(interest: f64, periods: u32) -> f64 {
    let n = f64::from(periods);
    if interest == 0.0 { n } else { -(-n * interest.ln_1p()).exp_m1() / interest }
}

/// Future value of 1 a year for n years, ((1+i)^n - 1)/i; n itself at no interest.
///
/// # Units
/// Interest per period, number of periods.
///
/// # Source
/// Textbook form.
pub fn future_per_annuity(interest: f64, periods: u32) -> f64 {
    let n = f64::from(periods);
    if interest == 0.0 { n } else { (n * interest.ln_1p()).exp_m1() / interest }
}

/// Equal payments that pay off a principal, A = P i/(1 - (1+i)^-n).
///
/// # Units
/// Money, interest per period, number of periods (at least 1) to money per period.
///
/// # Source
/// Textbook form.
pub fn annuity(principal: f64, interest: f64, periods: u32) -> f64 {
    principal / present_per_annuity(interest, periods.max(1))
}

/// One payment of a loan: what of it is interest and what pays off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Payment {
    /// Interest on what was still owed. # Units: money
    pub interest: f64,
    /// What pays off. # Units: money
    pub principal: f64,
}

/// Splits payment k of a loan, counted from 1, into interest and principal. Owed before it is P (1+i)^(k-1) - A ((1+i)^(k-1) - 1)/i.
///
/// # Units
/// Money, interest per period, number of periods to money.
pub fn payment(principal: f64, interest: f64, periods: u32, number: u32) -> Payment {
    let each = annuity(principal, interest, periods);
    let before = number.saturating_sub(1);
    let owed =
        principal * (1.0 + interest).powf(f64::from(before)) - each * future_per_annuity(interest, before);
    Payment { interest: owed * interest, principal: each - owed * interest }
}

/// NPV = sum CF_t/(1+i)^t, the first at t = 0.
///
/// # Units
/// Money, interest per period.
///
/// # Source
/// Textbook form.
pub fn net_present_value(flows: &[f64], interest: f64) -> f64 {
    polynomial(flows, 1.0 / (1.0 + interest)).0
}

/// Sum of CF_t x^t and its slope.
fn polynomial(flows: &[f64], x: f64) -> (f64, f64) {
    let (mut value, mut slope) = (0.0, 0.0);
    for flow in flows.iter().rev() {
        slope = slope * x + value;
        value = value * x + flow;
    }
    (value, slope)
}

/// Why there is no internal rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoRate {
    /// The money flows one way only: no rate brings the sum to zero.
    OneWay,
    /// It turns more than once: there may be several rates, and none is the answer.
    SeveralTurns,
}

/// Rate at which the net present value is zero.
///
/// With one turn of sign the discount factor x = 1/(1+i) has one positive root; it is bracketed by doubling and found by
/// Newton steps, each replaced by halving where it would leave the bracket.
///
/// # Units
/// Money to interest per period.
///
/// # Errors
/// [`NoRate`] unless the flows turn exactly once.
pub fn internal_rate(flows: &[f64]) -> Result<f64, NoRate> {
    let first = flows.iter().position(|f| *f != 0.0).ok_or(NoRate::OneWay)?;
    let flows = &flows[first..];
    let signs: Vec<bool> = flows.iter().filter(|f| **f != 0.0).map(|f| *f > 0.0).collect();
    match signs.windows(2).filter(|w| w[0] != w[1]).count() {
        0 => return Err(NoRate::OneWay),
        1 => {}
        _ => return Err(NoRate::SeveralTurns),
    }
    let early = flows[0].signum();
    let value = |x: f64| polynomial(flows, x).0 * early;
    let (mut low, mut high) = (0.0, 1.0);
    let mut doublings = 0;
    while value(high) > 0.0 {
        low = high;
        high *= 2.0;
        doublings += 1;
        if doublings > MOST_DOUBLINGS {
            return Err(NoRate::OneWay);
        }
    }
    let mut x = 0.5 * (low + high);
    for _ in 0..MOST_STEPS {
        let (f, slope) = polynomial(flows, x);
        if f * early > 0.0 {
            low = x;
        } else {
            high = x;
        }
        let newton = x - f / slope;
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - x).abs() <= 4.0 * f64::EPSILON * x.abs() {
            return Ok(1.0 / next - 1.0);
        }
        x = next;
    }
    Ok(1.0 / x - 1.0)
}

/// Cumulative present value at the end of each year, sum CF_t/(1+i)^t up to it, the outlay first. # Units: money
pub fn cumulative(flows: &[f64], interest: f64) -> Vec<f64> {
    let x = 1.0 / (1.0 + interest);
    let (mut sum, mut factor) = (0.0, 1.0);
    flows
        .iter()
        .map(|flow| {
            sum += flow * factor;
            factor *= x;
            sum
        })
        .collect()
}

/// Years until the cumulative present value turns positive for good, with a straight line within the year; simple payback at
/// no interest. None when it never does.
///
/// # Units
/// Money, interest per year to years.
///
/// # Source
/// Textbook form.
pub fn payback(flows: &[f64], interest: f64) -> Option<f64> {
    let sums = cumulative(flows, interest);
    if *sums.last()? < 0.0 {
        return None;
    }
    let Some(last_negative) = sums.iter().rposition(|s| *s < 0.0) else { return Some(0.0) };
    let (before, after) = (sums[last_negative], sums[last_negative + 1]);
    Some(last_negative as f64 + before / (before - after))
}

/// Cost of a unit, cost / units; none where there are no units. # Units: money per unit
pub fn per_unit(cost: f64, units: f64) -> Option<f64> {
    (units > 0.0).then(|| cost / units)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_interest_factors_count_the_years() {
        assert!((annuity(700.0, 0.0, 7) - 100.0).abs() < 1e-12);
        assert!((annuity(700.0, 1e-9, 7) - 100.0).abs() < 1e-5, "no jump near zero");
        assert!((future_per_annuity(0.0, 7) - 7.0).abs() < 1e-12);
        assert!((payment(700.0, 0.0, 7, 7).principal - 100.0).abs() < 1e-12);
    }

    #[test]
    fn a_rate_needs_exactly_one_turn() {
        assert_eq!(internal_rate(&[-1.0, -2.0]), Err(NoRate::OneWay));
        assert_eq!(internal_rate(&[]), Err(NoRate::OneWay));
        assert_eq!(internal_rate(&[-1.0, 5.0, -6.0]), Err(NoRate::SeveralTurns));
    }

    #[test]
    fn rates_beyond_the_usual_are_found() {
        // closed form of two flows: i = -b/a - 1
        for (a, b) in [(-100.0, 110.0), (-100.0, 50.0), (-100.0, 1e-6), (-1.0, 1e6), (100.0, -120.0)] {
            let rate = internal_rate(&[a, b]).unwrap();
            assert!((rate - (-b / a - 1.0)).abs() < 1e-9 * (1.0 + rate.abs()), "{a} {b} {rate}");
        }
        let later = internal_rate(&[0.0, -100.0, 0.0, 121.0]).unwrap();
        assert!((later - 0.1).abs() < 1e-12, "{later}");
    }

    #[test]
    fn payback_is_never_or_at_once() {
        assert_eq!(payback(&[-10.0, 1.0], 0.0), None);
        assert_eq!(payback(&[0.0, 1.0], 0.0), Some(0.0));
        assert_eq!(payback(&[], 0.0), None);
        assert_eq!(payback(&[-10.0, 10.0], 0.0), Some(1.0));
    }
}
