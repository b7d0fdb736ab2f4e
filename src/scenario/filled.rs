//! Feed filled into beds on the first day: what a kilogram of it holds, how much there is, and whether it fits.

use super::assemble::part;
use super::check::Checker;
use super::larder::Larder;
use super::path::KeyPath;
use super::plan::{BeddingAmount, Beds, Choices, Filling, Plan};
use crate::literature;
use crate::matter::{Component, Element, Material};
use crate::process::ingredient::SplitRules;
use crate::process::recipe::{Mixture, RecipePart, SolidDensities};
use crate::quantity::constant::WATER_DENSITY;
use crate::quantity::format_input;

/// A filling, by one kilogram of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Filled {
    per_kilogram: Material,
    /// Loose volume of a kilogram, m3.
    volume: f64,
    /// Volume of its solids and water, m3.
    full_volume: f64,
    /// Carbon to nitrogen ratio before anything is added for it, kg/kg.
    mixed: f64,
    /// Whether the ratio asked for is reached.
    reached: bool,
}

impl Filled {
    /// Mixes a filling; `part` gives the ingredients. Added is as much of `carbon_from` as the carbon to nitrogen ratio asked for needs, and
    /// nothing where it cannot be reached.
    ///
    /// With the ratio R, carbon C and nitrogen N of a kilogram of the mix, and c and n of a kilogram of what is added: `(R N - C)/(c - R n)`.
    pub(super) fn of(filling: &Filling, part: &dyn Fn(&str) -> RecipePart, solids: &SolidDensities) -> Self {
        let mut parts: Vec<(RecipePart, f64)> =
            filling.parts().map(|(name, share)| (part(name), share)).collect();
        let mixed = Mixture::of(&parts, solids).carbon_to_nitrogen();
        let mut reached = true;
        if let Some(wanted) = filling.carbon_to_nitrogen {
            let lean = |m: &Material| wanted * m.element(Element::Nitrogen) - m.element(Element::Carbon);
            let added = part(&filling.carbon_from);
            let amount = lean(&Mixture::of(&parts, solids).material) / -lean(&added.per_kilogram);
            reached = amount.is_finite() && amount >= 0.0;
            parts.push((added, if reached { amount } else { 0.0 }));
        }
        let mix = Mixture::of(&parts, solids);
        let mut matter = mix.material;
        let mut full_volume = mix.full_volume;
        if let Some(moisture) = filling.moisture {
            let water = matter.dry() * moisture / (1.0 - moisture);
            full_volume += (water - matter.water()) / WATER_DENSITY;
            matter[Component::Water] = water;
        }
        let scale = 1.0 / matter.wet();
        let full_volume = full_volume * scale;
        let volume = (parts.iter().map(|(p, kg)| p.volume() * kg).sum::<f64>() * scale).max(full_volume);
        Self { per_kilogram: matter * scale, volume, full_volume, mixed, reached }
    }

    /// Wet mass in a bed of an area (m2), kg.
    fn mass(&self, filling: &Filling, area: f64) -> f64 {
        let by_depth = || filling.depth.map_or(0.0, |depth| depth * area / self.volume);
        filling.mass.unwrap_or_else(by_depth)
    }

    /// What a bed of an area (m2) holds of it, kg.
    pub(super) fn matter(&self, filling: &Filling, area: f64) -> Material {
        self.per_kilogram * self.mass(filling, area)
    }

    /// Its bulk volume in a bed of an area (m2), m3.
    pub(super) fn volume(&self, filling: &Filling, area: f64) -> f64 {
        let loose = || self.mass(filling, area) * self.volume;
        filling.depth.map_or_else(loose, |depth| depth * area)
    }
}

/// Refuses fillings that do not fit into their beds, or cannot have the carbon to nitrogen ratio asked for, by the central values of the
/// plan. Says nothing of a plan that is wrong otherwise.
pub(super) fn fits(check: &mut Checker<'_>, path: &KeyPath, choices: &Choices) {
    if !check.faults.is_empty() || !choices.fills_beds() {
        return;
    }
    let own = |key: &str| choices.rates.iter().find(|rate| rate.key == key).map(|rate| rate.central);
    let get = |key: &str| own(key).or_else(|| literature::central(key)).expect("a key of the tables");
    let plan = Plan { choices: choices.clone(), begins: None, fitted: None, first_day: choices.start };
    let Ok(larder) = Larder::of(&plan, &SplitRules::from_values(&get), &get) else { return };
    let solids = SolidDensities::from_values(&get);
    for (n, group) in choices.beds.iter().enumerate() {
        let Some(filling) = &group.filled_with else { continue };
        let at = path.key("beds").index(n).key("filled_with");
        let made = Filled::of(filling, &|name| part(larder.get(name), &get), &solids);
        one_fits(check, &at, group, filling, &made);
    }
}

fn one_fits(check: &mut Checker<'_>, at: &KeyPath, group: &Beds, filling: &Filling, made: &Filled) {
    let short = |value: f64| format_input(value, 3);
    if !made.reached {
        let problem = format!("cannot be reached: the mix has {}", short(made.mixed));
        let allowed = format!("a ratio between that of the mix and that of `{}`", filling.carbon_from);
        let hint = "name another ingredient in `carbon_from`, or change `mix`".to_owned();
        check.wrong(&at.key("carbon_to_nitrogen"), &problem, &allowed, Some(hint));
    }
    let volume = made.volume(filling, group.area);
    let full = made.mass(filling, group.area) * made.full_volume;
    if full > volume * (1.0 + 1e-9) {
        let problem = format!("solids and water alone take {} m", short(full / group.area));
        let allowed = "a depth that holds the mass, with air between".to_owned();
        let hint = "leave `mass` or `depth` out: it then follows from the ingredients".to_owned();
        check.wrong(&at.key("depth"), &problem, &allowed, Some(hint));
    }
    let below = match group.bedding_amount() {
        BeddingAmount::Depth(depth) => depth,
        BeddingAmount::Mass(_) => 0.0,
    };
    let deep = below + volume / group.area;
    if deep > group.depth * (1.0 + 1e-9) {
        let key = if filling.depth.is_some() { "depth" } else { "mass" };
        let problem = format!("the bed would be {} m deep", short(deep));
        let allowed = format!("at most `depth` of the bed, {} m, bedding included", short(group.depth));
        check.wrong(&at.key(key), &problem, &allowed, None);
    }
}
