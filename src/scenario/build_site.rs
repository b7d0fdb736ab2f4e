//! Checked choices of equipment and work: drums to sale.

use super::calendar::days_between;
use super::check::Checker;
use super::given::Given;
use super::locate::Part;
use super::path::KeyPath;
use super::plan::{
    BeddingAmount, Beds, Blend, Bulking, Castings, Drums, Feeding, Grinder, Harvest, HarvestRule, Money,
    Screen, Site, Stock,
};
use super::raw;
use super::words::{Liquor, Method, Overs, Structure, Vent, Weekday};
use jiff::civil::Date;

/// The days of the run; no start where it was not a date.
#[derive(Debug, Clone, Copy)]
pub(super) struct Period {
    pub(super) start: Option<Date>,
    pub(super) days: u32,
}

pub(super) fn drums(check: &mut Checker<'_>, raw: Option<raw::Drums>) -> Drums {
    let path = KeyPath::top("drums");
    // no drums key: none, though their other defaults still hold
    let raw = raw.unwrap_or_default();
    let minimum_days = check.count(&path.key("minimum_days"), raw.minimum_days.as_ref());
    let maximum_days = check.count(&path.key("maximum_days"), raw.maximum_days.as_ref());
    if maximum_days < minimum_days && maximum_days > 0 {
        let allowed = format!("at least `minimum_days`, {minimum_days} days");
        let key = if raw.maximum_days.is_some() { "maximum_days" } else { "minimum_days" };
        check.wrong(&path.key(key), "a drum would be too old before it is ready", &allowed, None);
    }
    let room_volume = check.value(&path.key("room_volume"), raw.room_volume.as_ref());
    let room_air = check.number(&path.key("room_air"), raw.room_air.as_ref());
    Drums {
        count: check.count(&path.key("count"), Some(&raw.count)),
        volume: check.value(&path.key("volume"), raw.volume.as_ref()),
        fill_share: check.value(&path.key("fill_share"), raw.fill_share.as_ref()),
        settled_density: check.value(&path.key("settled_density"), raw.settled_density.as_ref()),
        minimum_days,
        maximum_days,
        most_filling_days: check.count(&path.key("most_filling_days"), raw.most_filling_days.as_ref()),
        vent: raw.vent.unwrap_or(Vent::Valve),
        liquor: raw.liquor.unwrap_or(Liquor::Drained),
        room_volume,
        room_air: room_air.unwrap_or(0.5 * room_volume),
    }
}

fn weekdays(raw: Option<Vec<Weekday>>, default: [bool; 7]) -> [bool; 7] {
    let Some(named) = raw else { return default };
    [
        Weekday::Monday,
        Weekday::Tuesday,
        Weekday::Wednesday,
        Weekday::Thursday,
        Weekday::Friday,
        Weekday::Saturday,
        Weekday::Sunday,
    ]
    .map(|day| named.contains(&day))
}

pub(super) fn grinder(check: &mut Checker<'_>, raw: raw::Grinder) -> Grinder {
    let path = KeyPath::top("grinder");
    Grinder {
        rate: check.value(&path.key("rate"), raw.rate.as_ref()),
        hours: check.value(&path.key("hours"), raw.hours.as_ref()),
        motor: check.value(&path.key("motor"), raw.motor.as_ref()),
        load_factor: check.value(&path.key("load_factor"), raw.load_factor.as_ref()),
        weekdays: weekdays(raw.weekdays, [true, true, true, true, true, false, false]),
        rinse_water: check.value(&path.key("rinse_water"), raw.rinse_water.as_ref()),
        hold_up: check.value(&path.key("hold_up"), raw.hold_up.as_ref()),
    }
}

pub(super) fn bulking(check: &mut Checker<'_>, raw: raw::Bulking) -> Option<Bulking> {
    let path = KeyPath::top("bulking");
    let ingredient = raw.ingredient.unwrap_or_else(|| "cardboard_corrugated".into());
    let none = ingredient == "none";
    let bulking = Bulking {
        air_filled_porosity: check.value(&path.key("air_filled_porosity"), raw.air_filled_porosity.as_ref()),
        carbon_to_nitrogen: check.value(&path.key("carbon_to_nitrogen"), raw.carbon_to_nitrogen.as_ref()),
        most_per_paste: check.value(&path.key("most_per_paste"), raw.most_per_paste.as_ref()),
        ingredient: if none {
            ingredient
        } else {
            check.ingredient(&path.key("ingredient"), Part::Value, &ingredient)
        },
    };
    (!none).then_some(bulking)
}

pub(super) fn beds(check: &mut Checker<'_>, place: usize, raw: raw::Beds) -> Beds {
    let path = KeyPath::top("beds").index(place);
    let name = check.name(&path.key("name"), &raw.name);
    let depth = check.value(&path.key("depth"), raw.depth.as_ref());
    let bedding = raw.bedding.unwrap_or_default();
    let inner = path.key("bedding");
    let ingredient = bedding.ingredient.unwrap_or_else(|| "coconut_coir".into());
    let bedding_depth = check.number(&inner.key("depth"), bedding.depth.as_ref());
    let mass = check.number(&inner.key("mass"), bedding.mass.as_ref());
    if bedding.depth.is_some() && bedding.mass.is_some() {
        let fault = check.at(&inner, Part::Value, "has both depth and mass");
        check.faults.push(fault.allowed("either `depth` or `mass`").nothing_given());
    }
    if let Some(too_deep) = bedding_depth.filter(|&d| d > depth) {
        let allowed = format!("at most the depth of the bed, {depth} m");
        check.wrong(&inner.key("depth"), &format!("{too_deep} m does not fit the bed"), &allowed, None);
    }
    // trade practice: beds start with 15 to 20 cm of bedding; a shallow bed takes half its depth
    let usual = BeddingAmount::Depth(0.15_f64.min(depth / 2.0));
    let amount = mass.map(BeddingAmount::Mass).or(bedding_depth.map(BeddingAmount::Depth));
    Beds {
        name,
        count: check.count(&path.key("count"), raw.count.as_ref()),
        area: check.value(&path.key("area"), Some(&raw.area)),
        depth,
        bedding: check.ingredient(&inner.key("ingredient"), Part::Value, &ingredient),
        bedding_amount: amount.unwrap_or(usual),
        insulation: check.number(&path.key("insulation"), raw.insulation.as_ref()),
        cover: check.number(&path.key("cover"), raw.cover.as_ref()),
        moisture_band: moisture_band(check, &path.key("moisture_band"), raw.moisture_band.as_ref()),
    }
}

fn moisture_band(check: &mut Checker<'_>, path: &KeyPath, raw: Option<&Vec<Given>>) -> [f64; 2] {
    // edwards_2004: worms live fully between 70 and 85 % water; 80 % leaves room for a wet feeding
    let Some(raw) = raw else { return [0.7, 0.8] };
    let band: [f64; 2] =
        check.factors(path, Some(raw), "the drier and the wetter moisture, such as [0.70, 0.80]");
    if band[0] > band[1] {
        check.wrong(path, "the first moisture is the wetter one", "the drier moisture first", None);
    }
    band
}

fn day_of_run(check: &mut Checker<'_>, path: &KeyPath, text: &str, period: Period) -> Option<u32> {
    let date = check.date(path, text)?;
    let start = period.start?;
    let day = u32::try_from(days_between(start, date)).ok().filter(|&d| d < period.days.max(1));
    if day.is_none() {
        let last = super::calendar::day_after(start, period.days.max(1) - 1);
        check.wrong(path, "is outside the run", &format!("{start} to {last}"), None);
    }
    day
}

pub(super) fn stock(check: &mut Checker<'_>, raw: Option<raw::Stock>, period: Period) -> Stock {
    let path = KeyPath::top("stock");
    let Some(raw) = raw else {
        return Stock { structure: Structure::Mixed, purchases: Vec::new() };
    };
    let first = check.value(&path.key("mass"), Some(&raw.mass));
    let arrives = raw
        .arrives
        .map_or(Some(0), |text| day_of_run(check, &path.key("arrives"), &text, period))
        .unwrap_or(0);
    let mut purchases = vec![(arrives, first)];
    for (i, top_up) in raw.top_up.iter().enumerate() {
        let inner = path.key("top_up").index(i);
        let day = day_of_run(check, &inner.key("date"), &top_up.date, period).unwrap_or(0);
        purchases.push((day, check.value(&inner.key("mass"), Some(&top_up.mass))));
    }
    Stock { structure: raw.structure.unwrap_or(Structure::Mixed), purchases }
}

pub(super) fn feeding(check: &mut Checker<'_>, raw: raw::Feeding) -> Feeding {
    let path = KeyPath::top("feeding");
    let feeding = Feeding {
        ration: check.value(&path.key("ration"), raw.ration.as_ref()),
        weekdays: weekdays(raw.weekdays, [true, false, true, false, true, false, false]),
        largest_layer: check.value(&path.key("largest_layer"), raw.largest_layer.as_ref()),
        fresh_share_limit: check.value(&path.key("fresh_share_limit"), raw.fresh_share_limit.as_ref()),
        hottest: check.value(&path.key("hottest"), raw.hottest.as_ref()),
        coldest: check.value(&path.key("coldest"), raw.coldest.as_ref()),
    };
    if feeding.hottest <= feeding.coldest {
        let key = if raw.hottest.is_some() { "hottest" } else { "coldest" };
        let problem = "no bed could ever be fed";
        check.wrong(&path.key(key), problem, "`coldest` below `hottest`", None);
    }
    feeding
}

pub(super) fn harvest(check: &mut Checker<'_>, raw: &raw::Harvest) -> Harvest {
    let path = KeyPath::top("harvest");
    let depth = check.number(&path.key("depth"), raw.depth.as_ref());
    if raw.depth.is_some() && raw.every_days.is_some() {
        let fault = check.at(&path, Part::Value, "has both every_days and depth");
        check.faults.push(fault.allowed("either `every_days` or `depth`").nothing_given());
    }
    // a season, where nothing is said
    let every_days =
        raw.every_days.as_ref().map_or(90, |given| check.count(&path.key("every_days"), Some(given)));
    Harvest {
        rule: depth.map_or(HarvestRule::EveryDays(every_days), HarvestRule::Depth),
        share: check.value(&path.key("share"), raw.share.as_ref()),
        first_day: check.count(&path.key("first_day"), raw.first_day.as_ref()),
    }
}

pub(super) fn screen(check: &mut Checker<'_>, raw: &raw::Screen) -> Screen {
    let path = KeyPath::top("screen");
    Screen {
        method: raw.method.unwrap_or(Method::Trommel),
        aperture: check.value(&path.key("aperture"), raw.aperture.as_ref()),
        moisture: check.value(&path.key("moisture"), raw.moisture.as_ref()),
        drying_area: check.value(&path.key("drying_area"), raw.drying_area.as_ref()),
        drying_days: check.number(&path.key("drying_days"), raw.drying_days.as_ref()),
        overs: raw.overs.unwrap_or(Overs::ToBeds),
        rate: check.value(&path.key("rate"), raw.rate.as_ref()),
        stocking_ceiling: check.number(&path.key("stocking_ceiling"), raw.stocking_ceiling.as_ref()),
    }
}

pub(super) fn castings(check: &mut Checker<'_>, raw: raw::Castings) -> Castings {
    let path = KeyPath::top("castings");
    let sold_alone = check.number(&path.key("sold_alone"), raw.sold_alone.as_ref());
    let blend = raw.blend.map(|blend| {
        let inner = path.key("blend");
        let with = blend.with.unwrap_or_else(|| "compost_finished".into());
        Blend {
            with: check.ingredient(&inner.key("with"), Part::Value, &with),
            castings_share: check.value(&inner.key("castings_share"), blend.castings_share.as_ref()),
        }
    });
    if blend.is_none() && sold_alone.is_some_and(|s| s < 1.0) {
        let hint = Some("add \"blend\": {} or leave `sold_alone` out".to_owned());
        check.wrong(&path.key("sold_alone"), "the rest has nowhere to go", "1 without a `blend`", hint);
    }
    Castings {
        cure_days: check.count(&path.key("cure_days"), raw.cure_days.as_ref()),
        sold_alone: sold_alone.unwrap_or(if blend.is_some() { 0.0 } else { 1.0 }),
        blend,
    }
}

pub(super) fn site(check: &mut Checker<'_>, raw: &raw::Site) -> Site {
    let path = KeyPath::top("site");
    Site {
        floor_area: check.number(&path.key("floor_area"), raw.floor_area.as_ref()),
        floor_load: check.number(&path.key("floor_load"), raw.floor_load.as_ref()),
        labour_hours: check.number(&path.key("labour_hours"), raw.labour_hours.as_ref()),
    }
}

pub(super) fn money(check: &mut Checker<'_>, raw: &raw::Money) -> Money {
    let path = KeyPath::top("money");
    let currency = check.name(&path.key("currency"), &raw.currency);
    let years = check.count(&path.key("years"), raw.years.as_ref());
    let interest = check.value(&path.key("interest"), raw.interest.as_ref());
    let mut read = |key: &str, given: &Option<Given>| check.number(&path.key(key), given.as_ref());
    Money {
        currency,
        gate_fee: read("gate_fee", &raw.gate_fee),
        castings_price: read("castings_price", &raw.castings_price),
        blend_price: read("blend_price", &raw.blend_price),
        compost_price: read("compost_price", &raw.compost_price),
        bulking_price: read("bulking_price", &raw.bulking_price),
        bran_price: read("bran_price", &raw.bran_price),
        worm_price: read("worm_price", &raw.worm_price),
        worm_sale_price: read("worm_sale_price", &raw.worm_sale_price),
        power_price: read("power_price", &raw.power_price),
        wage: read("wage", &raw.wage),
        drum_price: read("drum_price", &raw.drum_price),
        bed_price: read("bed_price", &raw.bed_price),
        grinder_price: read("grinder_price", &raw.grinder_price),
        screen_price: read("screen_price", &raw.screen_price),
        other_capital: read("other_capital", &raw.other_capital),
        other_yearly_cost: read("other_yearly_cost", &raw.other_yearly_cost),
        interest,
        years,
    }
}
