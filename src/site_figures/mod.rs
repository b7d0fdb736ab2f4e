//! What a site takes and gives beside matter: floor, work, power, greenhouse gas, money. Every figure says what it rests on.

pub mod cooling;
pub mod energy;
pub mod finance;
pub mod floor;
pub mod greenhouse;
pub mod heating;
pub mod labour;
pub mod layout;
pub mod lifting;
pub mod money;
mod permits;
pub mod water;
mod yearly;

pub use yearly::Yearly;

use crate::chain::Site;
use crate::scenario::{Plan, central};
use crate::trace::Trace;
use crate::warning::Warning;
use energy::EnergyFigures;
use floor::{AreaRule, FloorFigures};
use greenhouse::GreenhouseFigures;
use labour::LabourFigures;
use lifting::LiftingFigures;
use money::MoneyFigures;
use schemars::JsonSchema;
use serde::Serialize;
use water::WaterFigures;

/// Figures of the site as a whole. Amounts are of a year of 365 days, see [`Yearly`].
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SiteFigures {
    /// What moves in a year.
    pub yearly: Yearly,
    /// Floor and what it bears.
    pub floor: FloorFigures,
    /// Published rules for bed area with ours beside them; empty without beds.
    pub area_rules: Vec<AreaRule>,
    /// Water taken and what runs off.
    pub water: WaterFigures,
    /// Hours of work.
    pub labour: LabourFigures,
    /// Electricity and heat.
    pub energy: EnergyFigures,
    /// What one person may lift.
    pub lifting: LiftingFigures,
    /// Greenhouse gas against a landfill.
    pub greenhouse: GreenhouseFigures,
    /// Money; none where the plan gives no prices.
    pub money: Option<MoneyFigures>,
}

/// Site figures of a run, made with the same values by key.
pub fn site_figures_with(plan: &Plan, site: &Site, trace: &Trace, get: &dyn Fn(&str) -> f64) -> SiteFigures {
    let yearly = Yearly::of(site, trace);
    let labour = labour::labour(&yearly, plan, &labour::LabourRates::from_values(get));
    let needs = floor::needs(plan, site, Some(trace), get);
    let floor = floor::floor(&needs, &floor::FloorRates::from_values(get));
    let energy = energy::energy(&yearly, plan, &floor, get);
    let water = water::water(plan, trace, &yearly, get);
    SiteFigures {
        floor,
        area_rules: floor::area_rules(yearly.accepted / Yearly::DAYS, plan.bed_area()),
        lifting: lifting::lifting(site.drums.drum_mass(), plan.drums.volume, get),
        greenhouse: greenhouse::greenhouse(plan, &yearly, &energy, get),
        money: plan.money.as_ref().map(|prices| {
            let equipment = money::Equipment::of(plan);
            let used = money::Used { hours: labour.hours, energy: &energy, water: &water };
            money::money(prices, &equipment, &yearly, &used)
        }),
        yearly,
        water,
        labour,
        energy,
    }
}

impl SiteFigures {
    /// Figures of a settled year whose money counts the first year as it was.
    #[must_use]
    pub fn after_first(self, first: Option<&MoneyFigures>) -> Self {
        let money = self.money.map(|later| match first {
            Some(first) => later.after_first(first.surplus),
            None => later,
        });
        Self { money, ..self }
    }
}

/// Floor of a plan before anything is run: what dries and cures, and how heavy beds become, is not known yet.
pub fn planned_floor(plan: &Plan, site: &Site) -> FloorFigures {
    let get = |key: &str| central(plan, key);
    floor::floor(&floor::needs(plan, site, None, &get), &floor::FloorRates::from_values(&get))
}

/// What of the floor is too small or too weak; nothing for what the plan does not give.
pub fn floor_warnings(floor: &FloorFigures) -> Vec<Warning> {
    let mut out = Vec::new();
    if let Some(have) = floor.have.filter(|have| floor.total > *have) {
        out.push(Warning::FloorShort { need_m2: floor.total, have_m2: have });
    }
    if let Some(limit) = floor.load_limit.filter(|limit| floor.heaviest() > *limit) {
        out.push(Warning::FloorOverloaded { load_kpa: floor.heaviest(), limit_kpa: limit });
    }
    out
}

/// The tank of the plan, where what runs off between two emptyings does not fit it.
pub fn tank_warning(water: &WaterFigures) -> Option<Warning> {
    let have_m3 = water.tank_of_plan.filter(|have| water.tank > *have)?;
    Some(Warning::TankSmall { need_m3: water.tank, have_m3, days: water.emptied_every })
}

/// Where the site is above a published threshold up to which small sites need no permit, in the places whose rules the plan names.
pub fn permit_warnings(plan: &Plan, site: &Site, trace: &Trace, figures: &SiteFigures) -> Vec<Warning> {
    let get = |key: &str| central(plan, key);
    permits::permits(plan, site, trace, &figures.floor, &figures.yearly, &get)
}
