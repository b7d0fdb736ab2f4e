//! The checks of beds and of what they make, at the best estimates, with the band of each over draws of the rates and of the figures of ingredients.
//!
//! A published trial seldom tells its feed, its temperature or its worms well enough that one figure could be asked of the model. What
//! the model says of it is a band, as it is for a site. The set-up of a trial (area, warmth, load) is not drawn.

use super::{
    Case, Values, batches, beds, beds_ammonia, beds_crowding, beds_decay, beds_nitrogen, beds_salt,
    beds_stock, beds_water, buffers, central, worm_growth,
};
use crate::literature;
use crate::monte_carlo::design::BLOCK;
use crate::monte_carlo::summary::quantile;
use crate::monte_carlo::{Block, Study, Watch, in_order};
use crate::scenario::{self, AssembleError, Plan};
use serde_json::{Map, Value, json};
use std::thread;

/// Number of draws behind a band. Our choice: enough that its ends move by a tenth of its width with another seed.
pub const DRAWS: u64 = 200;
/// Seed of these draws.
pub const SEED: u64 = 1;

/// The plan whose rates are drawn. It moves every ingredient of the library, so that the figures of each are drawn too.
const PLAN: &str = include_str!("../../scenarios/harbour_hall.json");

/// Checks that are run together.
pub(super) type Family = fn(&Values<'_>) -> Vec<Case>;

/// Every check of beds and of what they make.
pub(super) const FAMILIES: [Family; 14] = [
    batches::filled,
    batches::stocks,
    beds::cases,
    beds_stock::castings,
    beds_stock::stocks,
    beds_salt::cases,
    beds_ammonia::cases,
    beds_crowding::cases,
    beds_decay::cases,
    beds_nitrogen::heap,
    beds_nitrogen::castings,
    beds_water::cases,
    |values| buffers::cases(values),
    worm_growth::cases,
];

/// The checks of some families at some values.
pub(super) fn cases(families: &[Family], values: &Values<'_>) -> Vec<Case> {
    families.iter().flat_map(|family| family(values)).collect()
}

/// A plan with every ingredient of the library in the bedding of a bed, and ranges as printed. None if the worked site cannot be read.
fn plan_of_all() -> Option<Plan> {
    let mut text: Value = serde_json::from_str(PLAN).ok()?;
    let ingredients = literature::ingredients();
    let share = 1.0 / ingredients.len() as f64;
    let mix: Map<String, Value> = ingredients.iter().map(|facts| (facts.id.clone(), share.into())).collect();
    // what a bed is made of has its bulk density drawn too
    *text.pointer_mut("/beds/0/bedding")? = json!({ "mix": mix, "depth": "15 cm" });
    text["ranges"] = json!("as_printed");
    scenario::parse("worked site", &text.to_string()).ok()
}

/// Draws of every rate and of every figure of an ingredient, over which checks are run. Rates have their ranges as printed: at ranges
/// that were narrowed by published figures, a check against the same figures would be no check from outside.
pub(super) struct Drawn {
    pub(super) study: Study,
    blocks: Vec<Block>,
    number: usize,
}

impl Drawn {
    /// So many draws of a seed. None if the worked site cannot be read or drawn.
    pub(super) fn new(seed: u64, number: u64) -> Option<Self> {
        let study = Study::of(&plan_of_all()?).ok()?;
        let blocks = (0..number.div_ceil(BLOCK as u64)).map(|block| study.block(seed, block)).collect();
        Some(Self { study, blocks, number: usize::try_from(number).ok()? })
    }

    /// What the checks of some families give in each draw, in the order of the draws, beside the values of some quantities. None in a
    /// draw whose ingredients contradict each other, and in those that were not made because the work was stopped.
    pub(super) fn outcomes(
        &self,
        families: &[Family],
        quantities: &[usize],
        threads: usize,
        watch: &Watch,
    ) -> Vec<Option<Outcomes>> {
        let one = |number: usize| {
            let (block, place) = (&self.blocks[number / BLOCK], number % BLOCK);
            let draw = block.draw(&self.study, place);
            let get = |key: &str| self.study.value(&draw, key);
            let values = Values::at(&get).ok()?;
            let scores = block.scores(&self.study, place);
            Some(Outcomes {
                figures: cases(families, &values).iter().map(|case| case.ours).collect(),
                scores: quantities.iter().map(|quantity| scores[*quantity]).collect(),
            })
        };
        in_order(threads, self.number, watch, one).into_iter().map(Option::flatten).collect()
    }
}

/// What checks give in a draw.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outcomes {
    /// Figure of each check.
    pub(super) figures: Vec<f64>,
    /// Chosen quantities as standard normal numbers.
    pub(super) scores: Vec<f64>,
}

/// The checks with their bands.
///
/// # Errors
/// [`AssembleError`] when an ingredient of the library or a process table is faulty: a fault of the program.
pub(super) fn with_bands(draws: u64) -> Result<Vec<Case>, AssembleError> {
    let mut made = cases(&FAMILIES, &Values::at(&central)?);
    let Some(drawn) = Drawn::new(SEED, draws) else { return Ok(made) };
    let threads = thread::available_parallelism().map_or(1, usize::from);
    let rows: Vec<Outcomes> =
        drawn.outcomes(&FAMILIES, &[], threads, &Watch::default()).into_iter().flatten().collect();
    for (place, case) in made.iter_mut().enumerate() {
        let mut figures: Vec<f64> =
            rows.iter().map(|row| row.figures[place]).filter(|x| x.is_finite()).collect();
        figures.sort_by(f64::total_cmp);
        if !figures.is_empty() {
            case.band = Some([quantile(&figures, 0.05), quantile(&figures, 0.95)]);
        }
    }
    Ok(made)
}
