//! The question *run*: what happens at this site with central values.

use super::answer::{
    Amounts, AsItStands, Balance, BatchFigures, BedFigures, BranFigures, DrumFigures, ElementBalance,
    FlowAmounts, GasTotals, GrinderFigures, HeldAmounts, Judged, LaterYears, LiquorFigures, Product,
    RunAnswer, Span, StockByStage, StockFigures, StreamIntake,
};
use super::filled::{FilledBed, filled_beds};
use super::later_years::later_years;
use super::verdict::Verdict;
use super::warn::warnings;
use crate::chain::{self, Models, Site, SiteState};
use crate::matter::{Component, Element, Elements, Gas, Gases, Material, ratio};
use crate::process::acidity::{AcidPowers, Surrounds};
use crate::process::ingredient::REFERENCE_TEMPERATURE;
use crate::process::quality::standards::{self, QualityLimit};
use crate::process::quality::{QualityFigures, QualityRates};
use crate::process::worm::Deaths;
use crate::scenario::{Almanac, AssembleError, Plan, StateFile, assemble_on, central};
use crate::site_figures::site_figures_with;
use crate::trace::failures::RunFailure;
use crate::trace::figures::{self, FigureSource, RunFigures};
use crate::trace::{BedRecord, DayRecord, Flow, Holder, Holding, NotClosed, Trace};
use jiff::civil::Date;
use std::fmt;

/// Why a run gives no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum RunError {
    /// The plan cannot be assembled: the input is wrong.
    Assemble(AssembleError),
    /// The balance does not close: a fault of ours.
    NotClosed(NotClosed),
}

impl fmt::Display for RunError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Assemble(e) => e.fmt(f),
            Self::NotClosed(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for RunError {}

/// Runs a plan with central values and without chance: a smooth season, streams as the calendar has them.
///
/// # Errors
/// [`RunError::Assemble`] when an ingredient contradicts itself, [`RunError::NotClosed`] when the balance does not close.
pub fn run(plan: &Plan) -> Result<RunAnswer, RunError> {
    run_with(plan, &|key| central(plan, key))
}

/// [`run`] that also returns the state of the site on some evenings of the run, in the order of the dates; dates outside the run
/// are left out.
///
/// # Errors
/// As [`run`].
pub fn run_saving(plan: &Plan, evenings: &[Date]) -> Result<(RunAnswer, Vec<StateFile>), RunError> {
    let days: Vec<usize> =
        (0..).zip(plan.dates()).filter(|(_, date)| evenings.contains(date)).map(|(n, _)| n).collect();
    let Simulated { answer, states, .. } = simulated(plan, &|key| central(plan, key), &days)?;
    let saved = plan.dates().filter(|date| evenings.contains(date)).zip(states);
    Ok((answer, saved.map(|(date, state)| StateFile::new(&plan.name, date, state)).collect()))
}

/// Runs a plan with values by key.
///
/// # Errors
/// As [`run`].
pub(super) fn run_with(plan: &Plan, get: &dyn Fn(&str) -> f64) -> Result<RunAnswer, RunError> {
    simulated(plan, get, &[]).map(|simulated| simulated.answer)
}

/// [`run`] that also returns the figures of the run, in the order of [`figures::TABLE`].
///
/// # Errors
/// As [`run`].
pub(super) fn run_and_figures(plan: &Plan) -> Result<(RunAnswer, RunFigures), RunError> {
    simulated(plan, &|key| central(plan, key), &[]).map(|simulated| (simulated.answer, simulated.figures))
}

/// What a simulation leaves behind.
struct Simulated {
    answer: RunAnswer,
    /// In the order of [`figures::TABLE`].
    figures: RunFigures,
    /// States on the evenings asked for.
    states: Vec<SiteState>,
}

/// The answer, and the states on the evenings of some days of the run.
fn simulated(plan: &Plan, get: &dyn Fn(&str) -> f64, evenings: &[usize]) -> Result<Simulated, RunError> {
    let (followed, models) = assemble_on(plan, &Almanac::of_years(plan), get).map_err(RunError::Assemble)?;
    // the last evening is what became of a batch
    let last = (plan.days as usize).saturating_sub(1);
    let for_batches = plan.is_new() && plan.fills_beds();
    let mut saved = evenings.to_vec();
    saved.extend((for_batches && !evenings.contains(&last)).then_some(last));
    let mut years = chain::follow(&followed, &models, chain::Keep::Beds, &plan.horizon(), &saved)
        .map_err(RunError::NotClosed)?;
    let end = for_batches.then(|| years.states.last().cloned()).flatten();
    years.states.truncate(evenings.len());
    let site = Site { days: plan.days as usize, ..followed };
    let later = later_years(plan, &site, &models, &years, get);
    let source =
        FigureSource::of(&years.run, get, &models.acids).and_later(years.later(), get, &models.acids);
    let figures = figures::read(&source);
    let verdict = verdict(plan, &figures);
    let filled = end.map_or_else(Vec::new, |end| filled_beds(plan, &site, &models, &years.run, &end, get));
    let answer = answer(plan, &site, &models, (years.run, filled, later, verdict), get);
    Ok(Simulated { answer, figures, states: years.states })
}

fn answer(
    plan: &Plan,
    site: &Site,
    models: &Models,
    (trace, filled_beds, later_years, verdict): (Trace, Vec<FilledBed>, LaterYears, Verdict),
    get: &dyn Fn(&str) -> f64,
) -> RunAnswer {
    let mut answer = RunAnswer {
        version: env!("CARGO_PKG_VERSION"),
        name: plan.name.clone(),
        place: (!plan.place.is_empty()).then(|| plan.place.clone()),
        start: site.start,
        days: site.days,
        goes_on_from: plan.begins().map(|begins| begins.name.clone()),
        as_it_stands: plan.standing().map(|standing| AsItStands {
            days_run: standing.days_run,
            filled: standing.filled(&plan.bed_names().collect::<Vec<_>>()),
        }),
        fresh_scraps: site.fresh.is_some(),
        streams: streams(site, &trace),
        balance: balance(&trace),
        bran: bran(site, &trace),
        drums: drums(site, models, &trace),
        grinder: grinder(&trace),
        beds: beds(site, &trace),
        filled_beds,
        stock: stock(plan, site, models, &trace, get),
        products: products(plan, models, &trace, get),
        gases: gas_totals(&trace.ledger.all_gases()),
        screen_hours: trace.tally.screen_hours,
        site: site_figures_with(plan, site, &trace, get),
        later_years,
        verdict,
        warnings: Vec::new(),
        daily: Vec::new(),
        bed_daily: Vec::new(),
    };
    answer.warnings = warnings(plan, site, &trace, &answer, get);
    answer.daily = trace.daily;
    answer.bed_daily = trace.beds;
    answer
}

/// The verdict of the run alone: a failure that happens has a chance of 1.
fn verdict(plan: &Plan, figures: &RunFigures) -> Verdict {
    let judging = plan.judging();
    let happened = |failure: &'static RunFailure| {
        failure.happened(figures).map(|happened| (failure, if happened { 1.0 } else { 0.0 }))
    };
    Verdict::of(judging.asked().filter_map(happened), 0, judging.rule)
}

/// Reads amounts off matter.
pub(super) fn amounts(m: &Material) -> Amounts {
    Amounts {
        wet: m.wet(),
        water: m.water(),
        dry: m.dry(),
        carbon: m.element(Element::Carbon),
        nitrogen: m.element(Element::Nitrogen),
        phosphorus: m.element(Element::Phosphorus),
        potassium: m.element(Element::Potassium),
    }
}

fn gas_amounts(g: &Gases) -> Amounts {
    let water = g[Gas::WaterVapour];
    Amounts {
        wet: g.total(),
        water,
        dry: g.total() - water,
        carbon: g.element(Element::Carbon),
        nitrogen: g.element(Element::Nitrogen),
        ..Amounts::default()
    }
}

fn streams(site: &Site, trace: &Trace) -> Vec<StreamIntake> {
    site.streams
        .iter()
        .zip(&trace.tally.streams)
        .map(|(stream, tally)| StreamIntake {
            name: stream.name.clone(),
            delivered: amounts(&tally.delivered),
            turned_away: tally.turned_away,
            contamination: tally.contamination,
        })
        .collect()
}

fn balance(trace: &Trace) -> Balance {
    let mut flows = Vec::new();
    let (mut into, mut out) = (Elements::zeros(), Elements::zeros());
    for flow in Flow::ALL {
        let (matter, gases) = (trace.ledger.matter(flow), trace.ledger.gases(flow));
        let oxygen = Gases::of(Gas::Oxygen, gases[Gas::Oxygen]);
        into -= oxygen.elements();
        out += (*gases - oxygen).elements();
        if flow.from() == Holder::Outside {
            into += matter.elements();
        } else if flow.to() == Holder::Outside {
            out += matter.elements();
        }
        let amounts = if flow.is_gas() { gas_amounts(gases) } else { amounts(matter) };
        flows.push(FlowAmounts::new(flow, amounts));
    }
    let change = trace.held.iter().fold(Elements::zeros(), |sum, h| {
        sum + h.end.elements() + h.end_gases.elements() - h.start.elements() - h.start_gases.elements()
    });
    let element = |&e: &Element| ElementBalance {
        element: e.name(),
        into_site: into[e.index()],
        out_of_site: out[e.index()],
        change: change[e.index()],
    };
    let held = |h: &Holding| HeldAmounts {
        stage: h.holder,
        start: amounts(&h.start) + gas_amounts(&h.start_gases),
        end: amounts(&h.end) + gas_amounts(&h.end_gases),
    };
    Balance {
        largest_relative_residual: trace.ledger.largest_relative_residual(),
        elements: Element::ALL.iter().map(element).collect(),
        flows,
        held: trace.held.iter().map(held).collect(),
    }
}

fn bran(site: &Site, trace: &Trace) -> BranFigures {
    BranFigures {
        used: total(&trace.daily, |d| d.bran_used),
        short: total(&trace.daily, |d| d.bran_short),
        weekly: trace.tally.bran_orders.iter().map(|order| (site.date(order.day), order.mass)).collect(),
    }
}

/// Sum of a daily figure.
pub(super) fn total(daily: &[DayRecord], of: impl Fn(&DayRecord) -> f64) -> f64 {
    daily.iter().map(of).sum()
}

/// Lowest, mean and highest of a figure; zeros for none.
fn span(values: impl Iterator<Item = f64>) -> Span {
    let mut count = 0.0;
    let mut s = Span { lowest: f64::INFINITY, mean: 0.0, highest: f64::NEG_INFINITY };
    for v in values {
        count += 1.0;
        s.lowest = s.lowest.min(v);
        s.highest = s.highest.max(v);
        s.mean += v;
    }
    if count > 0.0 {
        Span { mean: s.mean / count, ..s }
    } else {
        Span { lowest: 0.0, mean: 0.0, highest: 0.0 }
    }
}

fn highest(daily: &[DayRecord], of: impl Fn(&DayRecord) -> f64) -> f64 {
    daily.iter().map(of).fold(0.0, f64::max)
}

/// What fermentation made of the batches opened. None if none was opened.
fn batches(trace: &Trace) -> Option<BatchFigures> {
    let t = &trace.tally;
    let paste = trace.ledger.matter(Flow::DrumsToGrinder);
    let of_paste = |c: Component| ratio(paste[c], paste.dry());
    let moles = t.opened_made[Gas::CarbonDioxide] / Gas::CarbonDioxide.molar_mass();
    let ammonia = paste[Component::Ammonia] * Component::Ammonia.elements()[Element::Nitrogen.index()];
    (t.opened > 0).then(|| BatchFigures {
        lactic_acid: of_paste(Component::Lactic),
        acetic_acid: of_paste(Component::Acetic),
        butyric_acid: of_paste(Component::Butyric),
        ethanol: of_paste(Component::Ethanol),
        ammonia_share: ratio(ammonia, paste.element(Element::Nitrogen)),
        carbon_dioxide: ratio(moles, t.opened_sealed_dry),
        dry_loss: ratio(t.opened_made.total(), t.opened_sealed_dry),
    })
}

/// Liquor drained and returned, mixed. None if there was none.
fn liquor(models: &Models, trace: &Trace) -> Option<LiquorFigures> {
    let [out, back, scraps, bran] = [Flow::LiquorOut, Flow::LiquorToPaste, Flow::Intake, Flow::BranToDrums]
        .map(|f| trace.ledger.matter(f));
    let liquor = *out + *back;
    let litres = liquor.wet();
    let per_litre = |kg: f64| 1000.0 * ratio(kg, litres);
    let ammonium = liquor[Component::Ammonia] * Component::Ammonia.elements()[Element::Nitrogen.index()];
    (litres > 0.0).then(|| LiquorFigures {
        share: ratio(litres, scraps.wet() + bran.wet()),
        ph: AcidPowers::at(&models.acids, &Surrounds::acid_store(REFERENCE_TEMPERATURE)).ph(&liquor, 4.0),
        ammonium_nitrogen: per_litre(ammonium),
        potassium: per_litre(liquor[Component::Potassium]),
        phosphorus: per_litre(liquor[Component::Phosphorus]),
    })
}

fn drums(site: &Site, models: &Models, trace: &Trace) -> DrumFigures {
    let t = &trace.tally;
    let opened = |sum: f64| (t.opened > 0).then(|| sum / t.opened as f64);
    DrumFigures {
        owned: site.drums.drums,
        in_use: span(trace.daily.iter().map(|d| d.drums_in_use)),
        sealed: t.sealed,
        opened: t.opened,
        spoiled: t.spoiled.iter().sum(),
        opened_ph: opened(t.opened_ph),
        opened_age: opened(t.opened_age),
        batches: batches(trace),
        liquor: total(&trace.daily, |d| d.liquor),
        liquor_quality: liquor(models, trace),
        pressure: highest(&trace.daily, |d| d.drum_pressure),
        room_carbon_dioxide: highest(&trace.daily, |d| d.room_carbon_dioxide),
        room_carbon_dioxide_shift: highest(&trace.daily, |d| d.room_carbon_dioxide_shift),
        full_mass: site.drums.drum_mass(),
    }
}

fn grinder(trace: &Trace) -> GrinderFigures {
    let feed = &trace.tally.feed;
    let bulking = total(&trace.daily, |d| d.bulking);
    let grit = trace.ledger.matter(Flow::Grit).wet();
    let fed = total(&trace.daily, |d| d.fed);
    GrinderFigures {
        ground: total(&trace.daily, |d| d.ground),
        hours: total(&trace.daily, |d| d.grinder_hours),
        energy: trace.tally.energy,
        bulking,
        bulking_ratio: ratio(bulking, fed - bulking - grit),
        grit,
        porosity: if feed.volume > 0.0 { 1.0 - feed.full_volume / feed.volume } else { 0.0 },
        carbon_to_nitrogen: feed.matter.carbon_to_nitrogen(),
        limiting_days: trace.tally.grinder_limited_days,
    }
}

/// Why a bed took no feed, in the order of [`crate::unit::bed::FeedLimit`].
const REFUSALS: [&str; 6] =
    ["ration", "fresh paste", "ready feed uneaten", "temperature", "room", "no worms"];

fn beds(site: &Site, trace: &Trace) -> Vec<BedFigures> {
    site.beds
        .iter()
        .enumerate()
        .map(|(n, start)| {
            let mine = || trace.of_bed(n);
            let tally = &trace.tally.beds[n];
            let area = start.setup.area;
            let density = |b: Option<&BedRecord>| b.map_or(0.0, |b| b.stock / area);
            BedFigures {
                name: start.name.clone(),
                area,
                load: tally.fed / area / (site.days as f64).max(1.0),
                temperature: span(mine().map(|b| b.temperature)),
                hottest: mine().map(|b| b.hottest).fold(f64::NEG_INFINITY, f64::max),
                moisture: span(mine().map(|b| b.moisture)),
                ph: span(mine().map(|b| b.ph)),
                density_start: density(mine().next()),
                density_end: density(mine().next_back()),
                starving_days: tally.starving_days,
                refused: REFUSALS.into_iter().zip(tally.refused).filter(|(_, days)| *days > 0).collect(),
            }
        })
        .collect()
}

fn stages(d: &DayRecord) -> StockByStage {
    StockByStage {
        cocoons: d.cocoons,
        juveniles: d.juveniles,
        subadults: d.subadults,
        adults: d.adults,
        total: d.stock,
    }
}

fn stock(
    plan: &Plan,
    site: &Site,
    models: &Models,
    trace: &Trace,
    get: &dyn Fn(&str) -> f64,
) -> StockFigures {
    let days = (site.days as f64).max(1.0);
    let mut start = StockByStage::default();
    for bed in &site.beds {
        let masses = bed.worms.masses(&models.bed.worms);
        start.cocoons += bed.worms.counts().cocoons;
        start.juveniles += masses.juveniles;
        start.subadults += masses.subadults;
        start.adults += masses.adults;
        start.total += bed.worms.biomass(&models.bed.worms);
    }
    let mean = |of: fn(&DayRecord) -> f64| total(&trace.daily, of) / days;
    let eaten = mean(|d| d.eaten);
    let intake = mean(|d| d.intake);
    let t = &trace.tally;
    // purchases of mixed or stable stock bring cocoons along
    let arrived: f64 = site.arrivals.iter().map(|(_, worms)| worms.counts().cocoons).sum();
    StockFigures {
        start,
        mean: StockByStage {
            cocoons: mean(|d| d.cocoons),
            juveniles: mean(|d| d.juveniles),
            subadults: mean(|d| d.subadults),
            adults: mean(|d| d.adults),
            total: mean(|d| d.stock),
        },
        end: trace.daily.last().map_or(start, stages),
        needed_at_ration: ratio(intake, plan.feeding.ration),
        kept_by_feed: eaten * get("worms.steady_biomass_per_feed"),
        mean_intake: ratio(eaten, mean(|d| d.stock)),
        bought: t.bought,
        sold: t.sold,
        lost: t.worms_lost,
        cocoons_lost: t.cocoons_lost,
        cocoons_lost_share: ratio(t.cocoons_lost, start.cocoons + arrived + t.cocoons_laid),
        deaths: Deaths::CAUSES.into_iter().zip(t.deaths).collect(),
    }
}

fn products(plan: &Plan, models: &Models, trace: &Trace, get: &dyn Fn(&str) -> f64) -> Vec<Product> {
    let rates = QualityRates::from_values(get);
    let mut limits = standards::limits(get);
    limits.retain(|limit| limit.standard.rule().is_none_or(|rule| plan.names_rule(rule)));
    [
        ("castings", Flow::CastingsSold, trace.tally.castings_volume),
        ("blend", Flow::BlendSold, trace.tally.blend_volume),
    ]
    .into_iter()
    .map(|(name, flow, volume)| {
        let sold = trace.ledger.matter(flow);
        let figures =
            (sold.wet() > 0.0).then(|| rates.figures(sold, ratio(sold.wet(), volume), &models.acids, 20.0));
        let standards = figures.iter().flat_map(|f| limits.iter().map(|l| judged(l, f))).collect();
        Product { name, amounts: amounts(sold), volume, quality: figures, standards }
    })
    .collect()
}

fn judged(limit: &QualityLimit, figures: &QualityFigures) -> Judged {
    let j = limit.judge(figures);
    Judged {
        standard: limit.standard.name(),
        limit: limit.name,
        value: j.value,
        allowed: (limit.minimum, limit.maximum),
        unit: limit.unit,
        verdict: j.judgement,
        key: limit.key,
        quantity: limit.quantity,
    }
}

fn gas_totals(g: &Gases) -> GasTotals {
    GasTotals {
        oxygen_taken_in: -g[Gas::Oxygen],
        carbon_dioxide: g[Gas::CarbonDioxide],
        methane: g[Gas::Methane],
        ammonia: g[Gas::AmmoniaGas],
        nitrous_oxide: g[Gas::NitrousOxide],
        dinitrogen: g[Gas::Dinitrogen],
        hydrogen: g[Gas::Hydrogen],
        water_vapour: g[Gas::WaterVapour],
    }
}
