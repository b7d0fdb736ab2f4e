//! The question *check*: what a plan means before anything is run.

use super::stock_growth::{Conditions, Growth, StockGrowth};
use super::warn::{of_the_plan, stock_had};
use crate::chain::Site;
use crate::matter::{Element, Material, ratio};
use crate::process::ingredient::{Note, SplitRules};
use crate::process::worm::WormRates;
use crate::scenario::own_ingredient::OwnIngredient;
use crate::scenario::plan::{HarvestRule, Room};
use crate::scenario::{AssembleError, Larder, Plan, assemble, central};
use crate::warning::Warning;

/// Days a drum is occupied beyond its fermenting: filling, waiting for the grinder, weekends. Source: the notes of the worked
/// sites, a week (trade practice).
const DAYS_AROUND_FERMENTING: f64 = 7.0;

/// Days over which room temperatures are taken.
const YEAR: u32 = 365;

/// One stream of a plan. Masses are without contamination.
#[derive(Debug, Clone, PartialEq)]
pub struct StreamMeaning {
    /// Mean over the run, kg/d.
    pub mean: f64,
    /// Highest of the run, kg/d.
    pub largest: f64,
    /// Mean in each calendar month, January to December, kg/d. `None` for a month outside the run.
    pub months: [Option<f64>; 12],
    /// Water of the mix as it arrives, kg/kg wet.
    pub moisture: f64,
    /// Carbon to nitrogen ratio of the mix, kg/kg.
    pub carbon_to_nitrogen: f64,
}

/// An ingredient of the user's own as it is used. Shares are of dry mass unless the field says otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnMeaning {
    /// Name in the plan.
    pub name: String,
    /// Library ingredient that supplies the figures left out.
    pub like: String,
    /// Water, share of wet mass.
    pub moisture: f64,
    /// Carbon.
    pub carbon: f64,
    /// Nitrogen.
    pub nitrogen: f64,
    /// Ash.
    pub ash: f64,
    /// Carbon as given, if it contradicts the other figures; `carbon` is then the nearest possible.
    pub carbon_missed: Option<f64>,
}

/// What the drums of a plan can hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrumMeaning {
    /// Contents of a drum, bran included, kg.
    pub contents: f64,
    /// Drums filled a day at the mean intake: mean intake / contents, 1/d.
    pub filled: f64,
    /// Time a drum is occupied, d: its minimum days of fermenting, and a week for filling, waiting and weekends.
    pub held_days: f64,
    /// Drums needed at the mean intake: mean intake x held days / contents, rounded up.
    pub needed: f64,
    /// Drums needed at the mean of the busiest month.
    pub needed_busiest: f64,
}

/// What a plan means.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanMeaning {
    /// Streams, in the order of the plan.
    pub streams: Vec<StreamMeaning>,
    /// Ingredients of the user's own, in the order of their names.
    pub own: Vec<OwnMeaning>,
    /// All streams together, mean of each calendar month as in [`StreamMeaning::months`], kg/d.
    pub months: [Option<f64>; 12],
    /// Mean intake of the run without contamination, kg/d.
    pub mean_intake: f64,
    /// The busiest calendar month, January being 0, and its mean, kg/d.
    pub busiest: Option<(usize, f64)>,
    /// What its drums can hold. `None` if a drum holds nothing.
    pub drums: Option<DrumMeaning>,
    /// Bed room over a year from the first day, without day-to-day weather: coldest, mean and warmest day, °C.
    pub bed_room: [f64; 3],
    /// Drum room over that year: coldest, mean and warmest day, °C.
    pub drum_room: [f64; 3],
    /// Growth of the worms at the mean temperature of the bed room.
    pub stock: StockGrowth,
    /// Growth at unlimited food on the coldest and the warmest day of the bed room.
    pub coldest_and_warmest: [Growth; 2],
    /// Days between harvests of a bed. `None` if the plan harvests by depth.
    pub every_days: Option<u32>,
    /// Live worms that the plan has, kg: those bought, and those in the beds of a site that runs already.
    pub had: f64,
    /// Live worms that eat the mean intake at the ration, kg: mean intake / ration. `None` without a ration.
    pub needed: Option<f64>,
    /// Live worms that the mean intake can sustain, kg: mean intake as feed of 80 % water, by dry matter, x
    /// `worms.steady_biomass_per_feed`.
    pub kept: f64,
    /// Time for all worms bought to grow to the stock needed at the ration, with the site's screening, d. `None` if they never do.
    pub days_to_need: Option<f64>,
    /// Warnings that need no run.
    pub warnings: Vec<Warning>,
}

/// What a plan means, by central values and without a run.
///
/// # Errors
/// [`AssembleError`] when the plan cannot be assembled.
pub fn check(plan: &Plan) -> Result<PlanMeaning, AssembleError> {
    let (site, models) = assemble(plan)?;
    let months = months(plan, |day| site.intake(day));
    let mean_intake = plan.mean_intake();
    let busiest = months
        .iter()
        .enumerate()
        .filter_map(|(month, mean)| mean.map(|mean| (month, mean)))
        // of equal months the first
        .rev()
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let every_days = match plan.harvest.rule() {
        HarvestRule::EveryDays(days) => Some(days),
        HarvestRule::Depth(_) | HarvestRule::Never => None,
    };
    let bed_room = year(plan, &plan.climate.bed_room);
    let worms = &models.bed.worms;
    let stock = StockGrowth::of(worms, &conditions(plan, &site, bed_room[1], every_days));
    let needed = (plan.feeding.ration > 0.0).then(|| mean_intake / plan.feeding.ration);
    let growth = stock.of_the_site(every_days);
    let at_start = site.beds.iter().map(|bed| bed.worms.biomass(worms)).sum();
    let had = stock_had(plan, at_start);
    Ok(PlanMeaning {
        streams: streams(plan, &site),
        own: own(plan)?,
        months,
        mean_intake,
        busiest,
        drums: drums(plan, mean_intake, busiest.map_or(mean_intake, |b| b.1)),
        drum_room: year(plan, &plan.climate.drum_room),
        coldest_and_warmest: [bed_room[0], bed_room[2]].map(|t| grown(worms, t)),
        bed_room,
        every_days,
        needed,
        kept: kept(plan, &site),
        days_to_need: needed.and_then(|needed| time_to(needed, had, growth)),
        stock,
        had,
        warnings: of_the_plan(plan, &site, at_start),
    })
}

fn grown(worms: &WormRates, temperature: f64) -> Growth {
    Growth::of(worms.growth_per_day(temperature))
}

/// Days for a stock to grow to the stock needed. `None` without stock or growth.
fn time_to(needed: f64, stock: f64, growth: Growth) -> Option<f64> {
    if stock >= needed {
        return Some(0.0);
    }
    if stock > 0.0 { growth.days_to(needed / stock) } else { None }
}

/// Coldest, mean and warmest day of a room.
fn year(plan: &Plan, room: &Room) -> [f64; 3] {
    let climate = &plan.climate;
    let mut seen = [f64::INFINITY, 0.0, f64::NEG_INFINITY];
    for day in 0..YEAR {
        let today = room.temperature(climate.mean_temperature, climate.outdoors(plan.date(day)));
        seen = [seen[0].min(today), seen[1] + today / f64::from(YEAR), seen[2].max(today)];
    }
    seen
}

/// Mean of a daily figure in each calendar month of the run.
pub(super) fn months(plan: &Plan, of: impl Fn(usize) -> f64) -> [Option<f64>; 12] {
    let mut sums = [(0.0, 0.0); 12];
    for day in 0..plan.days {
        let month = usize::try_from(plan.date(day).month() - 1).expect("months are 1 to 12");
        sums[month].0 += of(day as usize);
        sums[month].1 += 1.0;
    }
    sums.map(|(sum, days)| (days > 0.0).then(|| sum / days))
}

fn streams(plan: &Plan, site: &Site) -> Vec<StreamMeaning> {
    site.streams
        .iter()
        .map(|stream| {
            let amounts = &stream.amounts;
            StreamMeaning {
                mean: amounts.iter().sum::<f64>() / amounts.len().max(1) as f64,
                largest: amounts.iter().copied().fold(0.0, f64::max),
                months: months(plan, |day| amounts[day]),
                moisture: stream.per_kilogram.matter.moisture(),
                carbon_to_nitrogen: stream.per_kilogram.matter.carbon_to_nitrogen(),
            }
        })
        .collect()
}

fn own(plan: &Plan) -> Result<Vec<OwnMeaning>, AssembleError> {
    let get = |key: &str| central(plan, key);
    let larder = Larder::of(plan, &SplitRules::from_values(&get), &get)?;
    let meaning = |own: &OwnIngredient| {
        let made = larder.get(&own.id);
        let dry = made.per_kilogram.dry();
        let of_dry = |mass: f64| ratio(mass, dry);
        OwnMeaning {
            name: own.id.clone(),
            like: own.like.clone(),
            moisture: made.per_kilogram.moisture(),
            carbon: of_dry(made.per_kilogram.element(Element::Carbon)),
            nitrogen: of_dry(made.per_kilogram.element(Element::Nitrogen)),
            ash: of_dry(made.per_kilogram.ash()),
            carbon_missed: made.notes.iter().find_map(|note| match note {
                Note::CarbonMissed { stated, .. } => Some(*stated),
                _ => None,
            }),
        }
    };
    Ok(plan.ingredients.iter().map(meaning).collect())
}

pub(super) fn drums(plan: &Plan, mean: f64, busiest: f64) -> Option<DrumMeaning> {
    let contents = plan.drums.drum_mass();
    if contents <= 0.0 {
        return None;
    }
    let held_days = f64::from(plan.drums.minimum_days) + DAYS_AROUND_FERMENTING;
    Some(DrumMeaning {
        contents,
        filled: mean / contents,
        held_days,
        needed: (mean * held_days / contents).ceil(),
        needed_busiest: (busiest * held_days / contents).ceil(),
    })
}

/// Everything that arrives in the run.
fn arriving(site: &Site) -> Material {
    site.streams.iter().map(|stream| stream.per_kilogram.matter * stream.amounts.iter().sum::<f64>()).sum()
}

/// Kilograms of feed of the worm figures (80 % water) in a kilogram of scraps as they arrive, by dry matter.
fn feed_per_scraps(plan: &Plan, site: &Site) -> f64 {
    let scraps = arriving(site);
    ratio(scraps.dry(), scraps.wet()) / central(plan, "worms.feed_dry_share")
}

fn kept(plan: &Plan, site: &Site) -> f64 {
    plan.mean_intake() * feed_per_scraps(plan, site) * central(plan, "worms.steady_biomass_per_feed")
}

fn conditions(plan: &Plan, site: &Site, temperature: f64, every_days: Option<u32>) -> Conditions {
    Conditions {
        temperature,
        ration: plan.feeding.ration * feed_per_scraps(plan, site),
        recovery: site.harvest.recovery,
        screened_share: site.harvest.share,
        every_days,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::parse;

    fn plan(more: &str) -> Plan {
        let text = format!(
            r#"{{ "name": "n", "start": "2027-01-01", "days": 365,
                "streams": [ {{ "name": "s", "amount": 50, "mix": {{ "bread": 1 }},
                    "month_factors": [1, 1, 1, 1, 1, 1, 1, 1, 1, 3, 1, 1], "contamination": 0.1 }} ]{more} }}"#
        );
        parse("n", &text).unwrap()
    }

    #[test]
    fn months_and_drums_agree_with_hand_arithmetic() {
        let drums = r#", "drums": { "count": 30, "volume": 0.2, "fill_share": 0.9, "settled_density": 500,
            "minimum_days": 14 }"#;
        let meaning = check(&plan(drums)).unwrap();
        assert!((meaning.months[0].unwrap() - 45.0).abs() < 1e-9);
        let (month, busiest) = meaning.busiest.unwrap();
        assert!(month == 9 && (busiest - 135.0).abs() < 1e-9);
        let drums = meaning.drums.unwrap();
        // 90 kg a drum, 21 days held: 45 x 21 / 90 = 10.5, in October 31.5; the mean has a month of three in it
        assert!((drums.contents - 90.0).abs() < 1e-9 && (drums.held_days - 21.0).abs() < 1e-12);
        assert!((drums.needed - 13.0).abs() < 1e-12, "{drums:?}");
        assert!((drums.needed_busiest - 32.0).abs() < 1e-12, "{drums:?}");
    }

    #[test]
    fn a_warm_bed_room_speeds_growth() {
        let warm =
            check(&plan(r#", "climate": { "bed_room": { "heated_to": 25, "cooled_to": 25 } }"#)).unwrap();
        // root of the characteristic equation at 25 °C, by a script of its own; doubling in 20.6 d, 16.6 to 21.2 d of life tables
        assert!((warm.stock.unlimited.per_day - 1.034_246).abs() < 5e-7);
        assert!(warm.bed_room.iter().all(|t| (t - 25.0).abs() < 1e-9));
        let mild = check(&plan("")).unwrap();
        assert!(mild.stock.unlimited.per_day < warm.stock.unlimited.per_day);
        assert!(mild.coldest_and_warmest[0].per_day < mild.coldest_and_warmest[1].per_day);
    }

    #[test]
    fn a_small_stock_needs_time_to_grow() {
        let few = check(&plan(r#", "stock": { "mass": 20 }, "feeding": { "ration": 0.5 }"#)).unwrap();
        let needed = few.needed.unwrap();
        assert!((needed - few.mean_intake / 0.5).abs() < 1e-9);
        let days = few.days_to_need.unwrap();
        let growth = few.stock.of_the_site(few.every_days).per_day;
        assert!((20.0 * growth.powf(days) / needed - 1.0).abs() < 1e-6);
        let many = check(&plan(r#", "stock": { "mass": 5000 }"#)).unwrap();
        assert!(many.days_to_need.is_some_and(|days| days.abs() < 1e-12));
        assert!(check(&plan("")).unwrap().days_to_need.is_none(), "nothing grows from nothing");
    }

    #[test]
    fn missing_drums_beds_and_worms_raise_warnings() {
        let codes: Vec<&str> = check(&plan("")).unwrap().warnings.iter().map(Warning::code).collect();
        for code in ["no_drums", "no_beds", "no_worms"] {
            assert!(codes.contains(&code), "{code}: {codes:?}");
        }
        assert!(!codes.contains(&"no_intake"));
    }
}
