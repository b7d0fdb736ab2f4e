//! From keys and values to checked plans.

use super::{Comparison, MOST_VARIANTS, VariedKey, WhatIfError};
use crate::quantity::{self, Kind};
use crate::scenario::{self, Plan};

/// A key that only comparisons have: worms bought first per bed area, kg/m2. It sets `stock.mass` to density x area of all beds.
pub const DENSITY: &str = "stock.density";

/// The key of which draws depend only where drums run out.
const DRUMS: &str = "drums.count";

/// Densest stocking that is tried, kg/m2. Our choice: a layer of nothing but worms, 10 cm thick.
pub const DENSEST: f64 = 100.0;

/// A variant ready to run.
pub(super) struct Ready {
    pub(super) values: Vec<String>,
    pub(super) plan: Plan,
}

/// Every combination of values, read and checked.
///
/// # Errors
/// [`WhatIfError`] for keys that cannot be varied so, too many variants, and a variant that is no sound scenario.
pub(super) fn variants(question: &Comparison<'_>) -> Result<Vec<Ready>, WhatIfError> {
    let axes = question.axes;
    if axes.is_empty() || axes.len() > 2 {
        return Err(WhatIfError::Keys(format!("{} keys are varied; one or two can be", axes.len())));
    }
    if axes.len() == 2 && axes[0].key == axes[1].key {
        return Err(WhatIfError::Keys(format!("{} is varied twice", axes[0].key)));
    }
    let count = axes.iter().map(|axis| axis.values.len()).product();
    if count > MOST_VARIANTS {
        return Err(WhatIfError::TooMany(count));
    }
    let mut combinations: Vec<Vec<String>> = vec![Vec::new()];
    for axis in axes {
        combinations = combinations
            .into_iter()
            .flat_map(|so_far| {
                axis.values.iter().map(move |value| [so_far.clone(), vec![value.clone()]].concat())
            })
            .collect();
    }
    combinations.into_iter().map(|values| Ok(Ready { plan: variant(question, &values)?, values })).collect()
}

/// Places of the sites that differ in their drums alone, group by group; the base is the first site, the variants follow.
pub(super) fn alike(axes: &[VariedKey], ready: &[Ready]) -> Vec<Vec<usize>> {
    let sites = 0..=ready.len();
    let Some(drums) = axes.iter().position(|axis| axis.key == DRUMS) else {
        return sites.map(|site| vec![site]).collect();
    };
    // the base has no value of a second key
    let other = |site: usize| -> Option<&String> {
        let values = &ready[site.checked_sub(1)?].values;
        values.iter().enumerate().find(|(n, _)| *n != drums).map(|(_, value)| value)
    };
    let mut groups: Vec<(Option<&String>, Vec<usize>)> = Vec::new();
    for site in sites {
        let value = other(site);
        match groups.iter_mut().find(|(known, _)| *known == value) {
            Some((_, group)) => group.push(site),
            None => groups.push((value, vec![site])),
        }
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

/// The plan of a combination of values.
fn variant(question: &Comparison<'_>, values: &[String]) -> Result<Plan, WhatIfError> {
    let set: Vec<String> =
        question.axes.iter().zip(values).map(|(axis, v)| format!("{}={v}", axis.key)).collect();
    let name = format!("{} with {}", question.name, set.join(" "));
    let mut text = question.text.to_owned();
    let plain = question.axes.iter().zip(values).filter(|(axis, _)| axis.key != DENSITY);
    for (axis, value) in plain {
        text = scenario::varied(&name, &text, &axis.key, value)?;
    }
    let plan = scenario::parse(&name, &text)?.fitted_by(question.fitted);
    // a density needs the beds as the other key leaves them
    let Some(density) = question.axes.iter().zip(values).find(|(axis, _)| axis.key == DENSITY) else {
        return Ok(plan);
    };
    if plan.bed_area() <= 0.0 {
        return Err(WhatIfError::Density("this scenario has no beds to stock".to_owned()));
    }
    if !plan.is_new() {
        let problem =
            format!("{DENSITY}: this site runs already with worms in its beds; a new site can be stocked");
        return Err(WhatIfError::Density(problem));
    }
    let per_area = per_area(density.1)?;
    let text = scenario::varied(&name, &text, "stock.mass", &(per_area * plan.bed_area()).to_string())?;
    Ok(scenario::parse(&name, &text)?.fitted_by(question.fitted))
}

/// A stocking density as typed: a number in kg/m2, or a text with its unit.
fn per_area(given: &str) -> Result<f64, WhatIfError> {
    let wrong = |problem: String| WhatIfError::Density(format!("{DENSITY}: {problem}"));
    let value = match given.parse::<f64>() {
        Ok(value) => value,
        Err(_) => {
            quantity::parse(Kind::ArealMass, given.trim_matches('"')).map_err(|e| wrong(e.to_string()))?
        }
    };
    if value > 0.0 && value <= DENSEST {
        Ok(value)
    } else {
        Err(wrong(format!(
            "{given} is no density to stock beds with; allowed: above 0 and at most {DENSEST} kg/m2"
        )))
    }
}
