//! The checks of beds and of what they make, at the best estimates, with the band of each over draws of the rates and of the figures of ingredients.
//!
//! A published trial seldom tells its feed, its temperature or its worms well enough that one figure could be asked of the model. What
//! the model says of it is a band, as it is for a site. The set-up of a trial (area, warmth, load) is not drawn.

use super::{
    Case, Values, batches, beds, beds_ammonia, beds_crowding, beds_decay, beds_nitrogen, beds_salt,
    beds_stock, beds_water, buffers, central, worm_growth,
};
use crate::literature;
use crate::monte_carlo::design::{self, BLOCK};
use crate::monte_carlo::summary::quantile;
use crate::monte_carlo::{Block, Study, on_threads};
use crate::scenario::{self, AssembleError, Plan};
use serde_json::{Map, Value, json};
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;

/// Number of draws behind a band. Our choice: enough that its ends move by a tenth of its width with another seed.
pub const DRAWS: u64 = 200;
/// Seed of these draws.
pub const SEED: u64 = 1;

/// The plan whose rates are drawn. It moves every ingredient of the library, so that the figures of each are drawn too.
const PLAN: &str = include_str!("../../scenarios/harbour_hall.json");

/// The checks at some values.
fn cases(values: &Values<'_>) -> Vec<Case> {
    [
        batches::cases(values),
        beds::cases(values),
        beds_stock::cases(values),
        beds_salt::cases(values),
        beds_ammonia::cases(values),
        beds_crowding::cases(values),
        beds_decay::cases(values),
        beds_nitrogen::cases(values),
        beds_water::cases(values),
        buffers::cases(values),
        worm_growth::cases(values),
    ]
    .concat()
}

/// A plan with every ingredient of the library in the bedding of a bed. None if the worked site cannot be read.
fn plan_of_all() -> Option<Plan> {
    let mut text: Value = serde_json::from_str(PLAN).ok()?;
    let ingredients = literature::ingredients();
    let share = 1.0 / ingredients.len() as f64;
    let mix: Map<String, Value> = ingredients.iter().map(|facts| (facts.id.clone(), share.into())).collect();
    // what a bed is made of has its bulk density drawn too
    *text.pointer_mut("/beds/0/bedding")? = json!({ "mix": mix, "depth": "15 cm" });
    scenario::parse("worked site", &text.to_string()).ok()
}

/// What the checks give in each draw that can be run, in the order of the draws.
fn over_draws(study: &Study, draws: u64) -> Vec<Vec<f64>> {
    let next = AtomicU64::new(0);
    let blocks: Vec<Block> =
        (0..draws.div_ceil(BLOCK as u64)).map(|number| study.block(SEED, number)).collect();
    let work = || {
        let mut made = Vec::new();
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number >= draws {
                return made;
            }
            let place = design::place_in_block(number);
            let draw = blocks[usize::try_from(number).unwrap_or(usize::MAX) / BLOCK].draw(study, place);
            let get = |key: &str| study.value(&draw, key);
            // a draw whose ingredients contradict each other gives nothing
            if let Ok(values) = Values::at(&get) {
                made.push((number, cases(&values).iter().map(|case| case.ours).collect::<Vec<f64>>()));
            }
        }
    };
    let threads = thread::available_parallelism().map_or(1, usize::from);
    let mut all: Vec<_> = on_threads(threads, work).concat();
    all.sort_by_key(|(number, _)| *number);
    all.into_iter().map(|(_, figures)| figures).collect()
}

/// The checks with their bands.
///
/// # Errors
/// [`AssembleError`] when an ingredient of the library or a process table is faulty: a fault of the program.
pub(super) fn with_bands(draws: u64) -> Result<Vec<Case>, AssembleError> {
    let mut made = cases(&Values::at(&central)?);
    let Some(study) = plan_of_all().and_then(|plan| Study::of(&plan).ok()) else { return Ok(made) };
    let rows = over_draws(&study, draws);
    for (place, case) in made.iter_mut().enumerate() {
        let mut figures: Vec<f64> = rows.iter().map(|row| row[place]).filter(|x| x.is_finite()).collect();
        figures.sort_by(f64::total_cmp);
        if !figures.is_empty() {
            case.band = Some([quantile(&figures, 0.05), quantile(&figures, 0.95)]);
        }
    }
    Ok(made)
}
