//! From the raw scenario to checked choices. Every fault goes to the checker; numbers stay not-a-number after one.

use super::calendar::{Calendar, Closure, MonthDay, Room, Season, day_after};
use super::check::Checker;
use super::given::Given;
use super::locate::Part;
use super::path::KeyPath;
use super::plan::{Bran, Choices, Climate, Stream};
use super::{build_site, own_ingredient, rates, raw, sizing};
use crate::quantity::whole;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Checks everything; nothing where the first day itself is unknown.
pub(super) fn choices(check: &mut Checker<'_>, raw: raw::Scenario) -> Option<Choices> {
    let top = KeyPath::default();
    let name = check.name(&top.key("name"), &raw.name);
    let start = check.date(&top.key("start"), &raw.start);
    let days = check.count(&top.key("days"), Some(&raw.days));
    let steps_per_day = check.count(&top.key("steps_per_day"), raw.steps_per_day.as_ref());
    // an unknown first day still lets the rest be checked
    let first_day = start.unwrap_or_else(|| jiff::civil::date(2000, 1, 1));
    let ingredients = own_ingredient::read(check, &raw.ingredients);
    let streams: Vec<Stream> =
        raw.streams.iter().enumerate().map(|(i, s)| stream(check, i, s, first_day)).collect();
    different_names(check, "streams", raw.streams.iter().map(|s| s.name.as_str()));
    different_names(check, "beds", raw.beds.iter().map(|b| b.name.as_str()));
    let period = build_site::Period { start, days };
    let choices = Choices {
        name,
        place: raw.place.unwrap_or_default(),
        note: raw.note.unwrap_or_default(),
        start: first_day,
        days,
        steps_per_day,
        climate: climate(check, raw.climate.unwrap_or_default()),
        ingredients,
        bran: bran(check, raw.bran.unwrap_or_default(), &streams, first_day),
        streams,
        drums: build_site::drums(check, raw.drums),
        grinder: build_site::grinder(check, raw.grinder.unwrap_or_default()),
        bulking: raw.bulking.and_then(|b| build_site::bulking(check, b)),
        beds: raw.beds.into_iter().enumerate().map(|(i, b)| build_site::beds(check, i, b)).collect(),
        stock: build_site::stock(check, raw.stock, period),
        feeding: build_site::feeding(check, raw.feeding.unwrap_or_default()),
        harvest: build_site::harvest(check, &raw.harvest.unwrap_or_default()),
        screen: build_site::screen(check, &raw.screen.unwrap_or_default()),
        castings: build_site::castings(check, raw.castings.unwrap_or_default()),
        site: build_site::site(check, &raw.site.unwrap_or_default()),
        money: raw.money.map(|m| build_site::money(check, &m)),
        sizing: sizing::sizing(check, raw.sizing.unwrap_or_default()),
        rates: rates::rates(check, raw.rates),
    };
    own_ingredient::contradictions(check, &choices);
    start.map(|_| choices)
}

fn different_names<'a>(check: &mut Checker<'_>, key: &str, names: impl Iterator<Item = &'a str>) {
    let mut seen: Vec<&str> = Vec::new();
    for (i, name) in names.enumerate() {
        if seen.contains(&name) {
            let path = KeyPath::top(key).index(i).key("name");
            check.wrong(&path, "this name is taken by an earlier one", "a name of its own", None);
        }
        seen.push(name);
    }
}

fn climate(check: &mut Checker<'_>, raw: raw::Climate) -> Climate {
    let path = KeyPath::top("climate");
    let coldest = raw.coldest_day.map_or(Some(MonthDay { month: 1, day: 20 }), |text| {
        let found = MonthDay::parse(&text);
        if found.is_none() {
            let allowed = "month-day such as \"01-20\"; south of the equator such as \"07-20\"";
            check.wrong(&path.key("coldest_day"), "is not a day of the year", allowed, None);
        }
        found
    });
    Climate {
        season: Season {
            mean: check.value(&path.key("mean_temperature"), raw.mean_temperature.as_ref()),
            swing: check.value(&path.key("seasonal_swing"), raw.seasonal_swing.as_ref()),
            coldest: coldest.unwrap_or(MonthDay { month: 1, day: 20 }),
        },
        day_to_day: check.value(&path.key("day_to_day"), raw.day_to_day.as_ref()),
        relative_humidity: check.value(&path.key("relative_humidity"), raw.relative_humidity.as_ref()),
        bed_room: room(check, &path.key("bed_room"), &raw.bed_room.unwrap_or_default()),
        drum_room: room(check, &path.key("drum_room"), &raw.drum_room.unwrap_or_default()),
    }
}

fn room(check: &mut Checker<'_>, path: &KeyPath, raw: &raw::Room) -> Room {
    let room = Room {
        heated_to: check.number(&path.key("heated_to"), raw.heated_to.as_ref()),
        cooled_to: check.number(&path.key("cooled_to"), raw.cooled_to.as_ref()),
        share_of_outdoor_swing: check
            .value(&path.key("share_of_outdoor_swing"), raw.share_of_outdoor_swing.as_ref()),
        warmer_than_outdoors: check
            .value(&path.key("warmer_than_outdoors"), raw.warmer_than_outdoors.as_ref()),
    };
    if let (Some(heated), Some(cooled)) = (room.heated_to, room.cooled_to)
        && heated > cooled
    {
        let problem = format!("cooling to {cooled} °C fights heating to {heated} °C");
        check.wrong(&path.key("cooled_to"), &problem, "at least `heated_to`", None);
    }
    room
}

fn stream(check: &mut Checker<'_>, place: usize, raw: &raw::Stream, start: Date) -> Stream {
    let path = KeyPath::top("streams").index(place);
    let name = check.name(&path.key("name"), &raw.name);
    let amount = amount(check, &path, raw);
    let closed = raw.closed.iter().enumerate().filter_map(|(i, text)| {
        let found = Closure::parse(text);
        if let Err(problem) = &found {
            let allowed =
                "a day \"2027-12-24\", a span \"2027-12-24..2028-01-02\", or either without the year";
            check.wrong(&path.key("closed").index(i), problem, allowed, None);
        }
        found.ok()
    });
    let closed = closed.collect();
    let weekdays = raw.weekday_factors.as_ref();
    let months = raw.month_factors.as_ref();
    Stream {
        name,
        calendar: Calendar {
            amount,
            weekday_factors: check.factors(&path.key("weekday_factors"), weekdays, "Monday to Sunday"),
            month_factors: check.factors(&path.key("month_factors"), months, "January to December"),
            closed,
            yearly_growth: check.value(&path.key("yearly_growth"), raw.yearly_growth.as_ref()),
            start,
        },
        mix: mix(check, &path.key("mix"), &raw.mix),
        daily_variation: check.value(&path.key("daily_variation"), raw.daily_variation.as_ref()),
        contamination: check.value(&path.key("contamination"), raw.contamination.as_ref()),
    }
}

/// Wet mass on an open day: given, or participants x rate x capture.
fn amount(check: &mut Checker<'_>, path: &KeyPath, raw: &raw::Stream) -> f64 {
    match (&raw.amount, &raw.generation) {
        (Some(given), None) => check.value(&path.key("amount"), Some(given)),
        (None, Some(generation)) => {
            let inner = path.key("generation");
            f64::from(check.count(&inner.key("count"), Some(&generation.count)))
                * check.value(&inner.key("rate"), Some(&generation.rate))
                * check.value(&inner.key("capture"), generation.capture.as_ref())
        }
        (given, _) => {
            let problem = if given.is_some() { "has both amount and generation" } else { "has no amount" };
            let fault = check.at(path, Part::Value, problem);
            let allowed = "either `amount` (kg/day on an open day) or `generation` (count and rate)";
            check.faults.push(fault.allowed(allowed).nothing_given());
            f64::NAN
        }
    }
}

fn mix(check: &mut Checker<'_>, path: &KeyPath, raw: &BTreeMap<String, Given>) -> Vec<(String, f64)> {
    let before = check.faults.len();
    let shares: Vec<(String, f64)> = raw
        .iter()
        .map(|(name, share)| {
            let inner = path.entry(name);
            let name = check.ingredient(&inner, Part::Key, name);
            (name, check.value(&inner, Some(share)))
        })
        .collect();
    let total: f64 = shares.iter().map(|s| s.1).sum();
    if check.faults.len() == before && (total - 1.0).abs() > 1e-6 {
        let fault = check.at(path, Part::Key, format!("the shares sum to {total:.6}"));
        let hint = (total > 0.0).then(|| {
            let scaled: Vec<String> = shares.iter().map(|(n, s)| format!("{n} {:.4}", s / total)).collect();
            format!("in the same proportions: {}", scaled.join(", "))
        });
        check.faults.push(fault.allowed("shares of wet mass that sum to 1").hint(hint).nothing_given());
    }
    // rounding within the tolerance must not make or lose mass
    shares.into_iter().map(|(name, share)| (name, share / total)).collect()
}

fn bran(check: &mut Checker<'_>, raw: raw::Bran, streams: &[Stream], start: Date) -> Bran {
    let path = KeyPath::top("bran");
    let carrier = raw.carrier.unwrap_or_else(|| "wheat_bran".into());
    let dose = check.value(&path.key("dose"), raw.dose.as_ref());
    let starter_days = check.count(&path.key("starter_days"), raw.starter_days.as_ref());
    let ferment_days = check.count(&path.key("ferment_days"), raw.ferment_days.as_ref());
    let safety_weeks = check.value(&path.key("safety_weeks"), raw.safety_weeks.as_ref());
    let bought = raw.bought.unwrap_or(false);
    let made_in = if bought { 0 } else { starter_days + ferment_days };
    let starting_bran = check.number(&path.key("starting_bran"), raw.starting_bran.as_ref());
    let starting_bran = starting_bran.unwrap_or_else(|| {
        // demand until the first bran of our own is ready, and the reserve
        let reserve = (safety_weeks * 7.0).ceil().clamp(0.0, 366.0);
        (0..made_in + whole(reserve))
            .map(|day| day_after(start, day))
            .map(|day| {
                streams.iter().map(|s| s.calendar.open_amount(day) * (1.0 - s.contamination)).sum::<f64>()
            })
            .sum::<f64>()
            * dose
    });
    Bran {
        carrier: check.ingredient(&path.key("carrier"), Part::Value, &carrier),
        dose,
        starter_days,
        ferment_days,
        safety_weeks,
        weekly_capacity: check.number(&path.key("weekly_capacity"), raw.weekly_capacity.as_ref()),
        starting_bran,
        bought,
    }
}
