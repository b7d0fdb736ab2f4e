//! Beds that were filled on the first day and neither fed nor harvested: what became of the batch.

use crate::chain::{Models, Site, SiteState};
use crate::matter::{Element, Material, ratio};
use crate::process::acidity::AcidConstants;
use crate::process::quality::{QualityFigures, QualityRates, suspended_ph};
use crate::process::worm::Population;
use crate::scenario::Plan;
use crate::trace::Trace;
use schemars::JsonSchema;
use serde::Serialize;

/// Temperature at which products are judged, °C.
const LABORATORY: f64 = 20.0;

/// What a filled bed held on an evening, without live worms, as a laboratory would take it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Held {
    /// Bulk volume, m3.
    pub volume: f64,
    /// Live worms, kg.
    pub worms: f64,
    /// Number of live worms, cocoons not counted.
    pub worm_count: f64,
    /// pH of a suspension in ten times the dry mass of water, open to the air.
    pub ph_in_water: f64,
    /// Figures of the matter.
    pub quality: QualityFigures,
}

/// A bed that was filled on the first day and neither fed nor harvested.
///
/// Losses are of the matter and its worms together, so that worms that die are not counted as feed left.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FilledBed {
    /// Name of the group of beds.
    pub name: String,
    /// How many beds it has; figures are those of one.
    pub count: u32,
    /// As filled, bedding included.
    pub start: Held,
    /// On the last evening.
    pub end: Held,
    /// Share of the wet mass lost.
    pub wet_loss: f64,
    /// Share of the dry matter lost.
    pub dry_loss: f64,
    /// Share of the carbon lost.
    pub carbon_loss: f64,
    /// Share of the nitrogen lost, to the air and with drainage.
    pub nitrogen_loss: f64,
    /// Share of the bulk volume lost.
    pub volume_loss: f64,
}

/// Every group of beds that was filled and neither fed nor harvested in a run that ended in a state.
pub(crate) fn filled_beds(
    plan: &Plan,
    site: &Site,
    models: &Models,
    trace: &Trace,
    last: &SiteState,
    get: &dyn Fn(&str) -> f64,
) -> Vec<FilledBed> {
    let rates = QualityRates::from_values(get);
    let acids = AcidConstants::from_values(get);
    let air = 1e-6 * get("fermentation.outdoor_carbon_dioxide");
    let ends: Vec<_> = last.beds.iter().flat_map(|beds| std::iter::repeat_n(&beds.bed, beds.count)).collect();
    let harvested = |n: usize| trace.tally.harvests.iter().any(|taken| taken.beds.numbers().contains(&n));
    let mut made = Vec::new();
    let mut first = 0;
    for group in &plan.beds {
        let number = first;
        first += group.count as usize;
        let untouched = trace.tally.beds.get(number).is_some_and(|bed| bed.fed <= 0.0) && !harvested(number);
        if group.filled_with.is_none() || group.count == 0 || !untouched {
            continue;
        }
        let Some((start, end)) = site.beds.get(number).zip(ends.get(number)) else { continue };
        let held = |matter: &Material, volume: f64, worms: &Population| Held {
            volume,
            worms: worms.biomass(&models.bed.worms),
            worm_count: worms.worms(),
            ph_in_water: suspended_ph(matter, &acids, air),
            quality: rates.figures(matter, ratio(matter.wet(), volume), &acids, LABORATORY),
        };
        let tissue = |worms: &Population| models.bed.parameters.tissue * worms.live_mass(&models.bed.worms);
        let filled = start.bedding + start.filled;
        let left = end.fresh.matter + end.ready.matter + end.castings.matter;
        let volumes =
            [start.volume + start.filled_volume, end.fresh.volume + end.ready.volume + end.castings.volume];
        let [before, after] = [filled + tissue(&start.worms), left + tissue(&end.worms)];
        let lost = |of: &dyn Fn(&Material) -> f64| 1.0 - ratio(of(&after), of(&before));
        made.push(FilledBed {
            name: group.name.clone(),
            count: group.count,
            start: held(&filled, volumes[0], &start.worms),
            end: held(&left, volumes[1], &end.worms),
            wet_loss: lost(&|m| m.wet()),
            dry_loss: lost(&|m| m.dry()),
            carbon_loss: lost(&|m| m.element(Element::Carbon)),
            nitrogen_loss: lost(&|m| m.element(Element::Nitrogen)),
            volume_loss: 1.0 - ratio(volumes[1], volumes[0]),
        });
    }
    made
}
