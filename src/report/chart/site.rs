//! Pictures of a site: its floor to scale, and its drums, beds and worms as counts.

use super::{Body, Chart, ChartBands, Ink, source};
use crate::literature;
use crate::quantity::{Kind, Units, convert, format_figures};
use crate::report::number::{column_unit, format_interval, format_number, in_column_unit};
use crate::scenario::{Plan, central};
use crate::site_figures::floor::FloorFigures;
use crate::site_figures::layout::{
    BedGroup, Contents, Equipped, FloorPlan, FloorRoom, Rectangle, floor_plan,
};
use crate::study::answer::RunAnswer;
use crate::study::uncertainty::UncertaintyAnswer;

/// Most marks of a row of counts.
const MOST_MARKS: f64 = 120.0;
/// Rows of what is bought: drums, beds, worms.
const BOUGHT: usize = 3;

/// A floor plan with the names of its rooms.
#[derive(Debug, Clone, PartialEq)]
pub struct FloorDrawing {
    /// The plan.
    pub plan: FloorPlan,
    /// What each of its rooms is, in words.
    pub names: Vec<String>,
    /// The reader's units.
    pub units: Units,
}

/// Rows of marks that show how many there are of something.
#[derive(Debug, Clone, PartialEq)]
pub struct Counts {
    /// Rows, top first.
    pub rows: Vec<CountRow>,
}

/// A row of equal marks.
#[derive(Debug, Clone, PartialEq)]
pub struct CountRow {
    /// How many of what.
    pub label: String,
    /// What one mark is, and anything else to know.
    pub detail: String,
    /// Shape of a mark.
    pub shape: MarkShape,
    /// Marks in order: their number, look (none: an outline) and name in the key; an empty name has no key.
    pub groups: Vec<(usize, Option<Ink>, String)>,
}

/// Shape of a mark that stands for a thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkShape {
    /// A drum from above.
    Disc,
    /// A bed from above.
    Bed,
    /// An amount.
    Square,
}

/// Floor of the run or of the year that counts, whichever is larger: what dries and cures differs.
pub(in crate::report) fn needed_floor(answer: &RunAnswer) -> &FloorFigures {
    let (run, later) = (&answer.site.floor, &answer.year_that_counts().floor);
    if later.total > run.total { later } else { run }
}

/// A quantity for a picture: three digits.
fn rounded(kind: Kind, value: f64, units: Units) -> String {
    super::format_quantity(kind, value, units).trim_end().to_owned()
}

/// A length to a tenth of a metre or to a foot: "31.5 m", "103 ft".
pub(in crate::report) fn length(metres: f64, units: Units) -> String {
    let (unit, digits) = match units {
        Units::Si => ("m", 10.0),
        Units::Us => ("ft", 1.0),
    };
    let shown = convert(Kind::Length, metres, unit).unwrap_or(metres);
    format!("{} {unit}", format_number((digits * shown).round() / digits))
}

/// The floor plan of a site. None without any use of the floor.
pub fn floor_chart(plan: &Plan, answer: &RunAnswer, units: Units) -> Option<Chart> {
    let group = |of: &crate::scenario::plan::Beds| BedGroup {
        name: of.name.clone(),
        count: of.count as usize,
        area: of.area,
    };
    let equipped = Equipped {
        beds: plan.beds.iter().map(group).collect(),
        drums: plan.drums.count as usize,
        drum_volume: plan.drums.volume,
    };
    let floor = needed_floor(answer);
    let drawn = floor_plan(floor, &equipped, &|key| central(plan, key))?;
    let names = drawn.rooms.iter().map(|room| room_name(room, &drawn, units)).collect();
    Some(Chart {
        file: "chart_floor".to_owned(),
        title: format!(
            "The site needs {} of floor, drawn as {} by {}.",
            rounded(Kind::Area, floor.total, units),
            length(drawn.width, units),
            length(drawn.depth, units)
        ),
        shows: shows(&drawn, units),
        source: source(answer, &ChartBands::default()),
        body: Body::Floor(FloorDrawing { plan: drawn, names, units }),
    })
}

/// "hall beds: 20 of 27 m2, 1200 m2 with aisles".
fn room_name(room: &FloorRoom, plan: &FloorPlan, units: Units) -> String {
    let area = |value| rounded(Kind::Area, value, units);
    let each = room.things.first().map_or(0.0, Rectangle::area);
    let with_aisles = area(room.room.area());
    match room.contents {
        Contents::Beds if room.things.len() == 1 => {
            format!("{}: a bed of {}, {with_aisles} with aisles", room.name, area(each))
        }
        Contents::Beds => {
            format!("{}: {} beds of {}, {with_aisles} with aisles", room.name, room.things.len(), area(each))
        }
        Contents::Pallets => {
            let pallets = if room.things.len() == 1 { "pallet" } else { "pallets" };
            format!("{} drums on {} {pallets}, {with_aisles} with aisles", plan.drums, room.things.len())
        }
        Contents::Goods if room.room.area() - each < 1e-6 => format!("{}: {}", room.name, area(each)),
        Contents::Goods => format!("{}: {}, {with_aisles} with aisles", room.name, area(each)),
    }
}

/// How the plan is to be read: what is counted, what is assumed, what comes first.
fn shows(plan: &FloorPlan, units: Units) -> String {
    let length = |value| length(value, units);
    let way = |contents| {
        let of = plan.rooms.iter().filter(|room| room.contents == contents);
        of.filter_map(|room| room.aisle).reduce(f64::min)
    };
    let ways: Vec<String> = [(Contents::Beds, "beds"), (Contents::Pallets, "pallets")]
        .into_iter()
        .filter_map(|(contents, name)| Some(format!("{} between {name}", length(way(contents)?))))
        .collect();
    let ways = if ways.is_empty() { String::new() } else { format!(" ({})", ways.join(", ")) };
    let truck = literature::entry("site.aisle_hand_pallet_truck").map_or_else(String::new, |entry| {
        let (low, high) = (entry.value.low(), entry.value.high());
        format!("; a hand pallet truck needs {} to {}, recalled", length(low), length(high))
    });
    let beds = if plan.rooms.iter().all(|room| room.contents != Contents::Beds) {
        String::new()
    } else if plan.beds_fit {
        format!("beds at most {} wide, ", length(plan.bed_width))
    } else {
        "the shape of beds, ".to_owned()
    };
    format!(
        "To scale: areas and counts are those of the site. Assumed: {beds}the shape of the rooms, and aisles by a share of the floor, \
         which leaves the ways shown{ways}{truck}. Not drawn: stores of bran, bulking, compost and finished product, offices, yard. This \
         is no construction drawing: local codes for exits, fire, ventilation, drainage and access come first."
    )
}

/// The smallest of 1, 2 or 5 times a power of ten of which a number has at most so many.
fn per_mark(largest: f64, least: f64) -> f64 {
    let mut step = least;
    for factor in [2.0, 2.5, 2.0].into_iter().cycle().take(60) {
        if largest / step <= MOST_MARKS {
            break;
        }
        step *= factor;
    }
    step
}

/// Number of marks of an amount, to the nearest.
fn marks(amount: f64, each: f64) -> usize {
    crate::quantity::whole((amount / each).round()) as usize
}

/// Drums, beds and worms of a site as counts. None without any.
pub fn counts_chart(
    plan: &Plan,
    answer: &RunAnswer,
    study: Option<&UncertaintyAnswer>,
    units: Units,
) -> Option<Chart> {
    let mut rows = Vec::new();
    rows.extend(drums(plan, answer, study, units));
    rows.extend(beds(plan, units));
    rows.extend(worms(answer, study, units));
    // what is bought; the rows of worms below the first say what they are for
    let have: Vec<String> = rows.iter().take(BOUGHT).map(|row| row.label.clone()).collect();
    (!rows.is_empty()).then(|| Chart {
        file: "chart_counts".to_owned(),
        title: format!("{}.", crate::report::pages::page::capital(&have.join("; "))),
        shows: "One mark is one drum or bed unless its row says otherwise; marks of worms are rounded to whole ones.".to_owned(),
        source: source(answer, &ChartBands::default()),
        body: Body::Counts(Counts { rows }),
    })
}

/// 5 % and 95 % quantile of a figure over the draws.
fn ends(study: Option<&UncertaintyAnswer>, name: &str) -> Option<(f64, f64)> {
    let [low, .., high] =
        study?.figures.iter().find(|figure| figure.name == name)?.spread.as_ref()?.quantiles;
    Some((low, high))
}

fn drums(
    plan: &Plan,
    answer: &RunAnswer,
    study: Option<&UncertaintyAnswer>,
    units: Units,
) -> Option<CountRow> {
    let of = &answer.drums;
    if of.owned == 0 {
        return None;
    }
    let owned = of.owned as f64;
    let each = per_mark(owned, 1.0);
    let mean = of.in_use.mean.ceil().min(owned);
    let peak = of.in_use.highest.max(mean);
    let rare = ends(study, "drums_highest").map_or(peak, |(_, high)| high.ceil()).clamp(peak, owned);
    let groups = [
        (0.0, mean, Some(Ink::Night), format!("in use on an average evening: {}", format_number(mean))),
        (
            mean,
            peak,
            Some(Ink::Steel),
            format!("on the fullest evening of the best-estimate run: {}", format_number(peak)),
        ),
        (peak, rare, Some(Ink::Straw), format!("in one draw of twenty: {} or more", format_number(rare))),
        (rare, owned, None, format!("to spare: {}", format_number(owned - rare))),
    ];
    let groups = groups
        .into_iter()
        .filter(|(from, to, ..)| to > from)
        .map(|(from, to, ink, name)| (marks(to, each) - marks(from, each), ink, name));
    Some(CountRow {
        label: format!("{} drums of {}", of.owned, rounded(Kind::Volume, plan.drums.volume, units)),
        detail: if each > 1.0 { format!("one mark: {} drums", format_number(each)) } else { String::new() },
        shape: MarkShape::Disc,
        groups: groups.collect(),
    })
}

fn beds(plan: &Plan, units: Units) -> Option<CountRow> {
    let count: f64 = plan.beds.iter().map(|group| f64::from(group.count)).sum();
    if count <= 0.0 {
        return None;
    }
    let each = per_mark(count, 1.0);
    let inks = [Ink::Night, Ink::Steel, Ink::Straw, Ink::Sky];
    let area = |value| rounded(Kind::Area, value, units);
    let groups = plan.beds.iter().filter(|group| group.count > 0).enumerate().map(|(n, group)| {
        let name = format!("{}: {} of {}", group.name, group.count, area(group.area));
        (marks(f64::from(group.count), each).max(1), Some(inks[n % inks.len()]), name)
    });
    let beds = if count > 1.0 { "beds" } else { "bed" };
    Some(CountRow {
        label: format!("{} {beds}, {} in all", format_number(count), area(plan.bed_area())),
        detail: if each > 1.0 { format!("one mark: {} beds", format_number(each)) } else { String::new() },
        shape: MarkShape::Bed,
        groups: groups.collect(),
    })
}

/// Rows of worms on one scale: bought, required by the scraps, living in the year that counts.
fn worms(answer: &RunAnswer, study: Option<&UncertaintyAnswer>, units: Units) -> Vec<CountRow> {
    let stock = &answer.stock;
    let put_in = stock.start.total + stock.bought;
    if put_in <= 0.0 {
        return Vec::new();
    }
    let last = answer.later_years.last.as_ref();
    let settled = last.and_then(|last| last.figures.iter().find(|f| f.name == "stock_mean")?.settled);
    let living = settled.unwrap_or(stock.mean.total);
    let range = ends(study, if settled.is_some() { "settled_stock_mean" } else { "stock_mean" });
    let shown = |kg: f64| in_column_unit(Kind::Mass, kg, units);
    let unit = column_unit(Kind::Mass, units);
    let words = |kg: f64| format!("{} {unit}", format_figures(shown(kg), 3));
    let each = per_mark(shown(put_in.max(stock.needed_at_ration).max(living)) * 2.0, 1.0);
    let detail = format!("one mark: {} {unit}", format_number(each));
    let row = |label: String, kg: f64, ink: Ink| CountRow {
        label,
        detail: detail.clone(),
        shape: MarkShape::Square,
        groups: vec![(marks(shown(kg), each).max(usize::from(kg > 0.0)), Some(ink), String::new())],
    };
    let year = last.map_or_else(|| "in the run".to_owned(), |last| format!("in year {}", last.year));
    let between = range.map_or_else(String::new, |(low, high)| {
        format!(", {} in nine of ten draws", format_interval(Kind::Mass, low, high, units))
    });
    vec![
        row(format!("{} of worms put in", words(put_in)), put_in, Ink::Night),
        row(
            format!("{} eat the mean intake at the ration", words(stock.needed_at_ration)),
            stock.needed_at_ration,
            Ink::Ember,
        ),
        row(format!("{} live there on average {year}{between}", words(living)), living, Ink::Steel),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_stands_for_a_round_number_of_things() {
        for (n, by_hand) in [(84.0, 1.0), (121.0, 2.0), (700.0, 10.0), (13_000.0, 200.0)] {
            assert!((per_mark(n, 1.0) - by_hand).abs() < 1e-12, "{n}");
        }
        assert_eq!(marks(84.0, 1.0), 84);
        assert_eq!(marks(1300.0, 50.0), 26);
    }
}
