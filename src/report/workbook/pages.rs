//! The sheets of a run.

use super::sheet::{Sheet, recorded};
use super::{WorkbookContents, money, months, water_energy};
use crate::process::quality::QualityFigures;
use crate::quantity::{Kind, Units};
use crate::report::cautions::cautions;
use crate::report::number::in_column_unit;
use crate::report::pages::run::warnings::items;
use crate::report::pages::run::years::{ended, last_year, sought_of_years};
use crate::report::pages::uncertainty::{kind_of, shown_unit};
use crate::report::table::{Cell, Column};
use crate::study::answer::{Amounts, Judged, Product, RunAnswer};
use crate::trace::{BedRecord, DayRecord, YearSums};
use jiff::civil::Date;
use serde::Serialize;

/// Most rows of the sheet of beds. Our choice.
const BED_ROWS: usize = 50_000;
/// Most characters of a cell.
const CELL: usize = 30_000;

/// The sheets of a run in the order of their tabs, the guide left out.
pub(super) fn sheets(answer: &RunAnswer, scenario: &str, units: Units) -> Vec<Sheet> {
    let years = &answer.later_years;
    let year = years.last.as_ref().map_or_else(|| "a year".to_owned(), |last| last_year(years, last));
    let money = money::money(answer, &year, units);
    let labour = money::labour(answer, &year, money.as_ref());
    let water_energy = water_energy::water_energy(answer, &year, money.as_ref(), units);
    let days = records(
        "Days",
        "The site by day; movements are those of the day, stores and stock those in the evening.",
        &DayRecord::FIELDS,
        1,
        &answer.daily,
    );
    let months = months::months(answer, &days);
    let mut out = vec![
        months.with_chart("Scraps, feed and castings by month", true, &["intake", "fed", "harvested"]),
        labour,
        water_energy,
        balance(answer),
        held(answer),
        elements(answer),
        streams(answer),
        days.with_chart("Drums in use", false, &["drums in use"]),
        beds(answer),
        records(
            "Years",
            "Each year of 365 days, up to one that is like the one before.",
            &YearSums::FIELDS,
            2,
            &answer.later_years.years,
        ),
        settled_year(answer, units),
        products(answer),
        standards(answer),
        warnings(answer, units),
        text(scenario).unfiltered(),
    ];
    if let Some(money) = money {
        out.insert(0, money);
    }
    out
}

/// Each bed by day; of so many beds and days that the sheet would be long, every few days only: a workbook is held in memory, some
/// 4 kB for each row.
fn beds(answer: &RunAnswer) -> Sheet {
    let first = answer.bed_daily.first().map(|record| record.date);
    let beds = answer.bed_daily.iter().take_while(|record| Some(record.date) == first).count().max(1);
    let every = answer.bed_daily.len().div_ceil(BED_ROWS).max(1);
    let days = answer.bed_daily.chunks(beds).step_by(every);
    let shown: Vec<&BedRecord> = days.flatten().collect();
    let thinned =
        if every > 1 { format!(" Every {every} days; beds_daily.csv has every day.") } else { String::new() };
    let about = format!("Each bed by day, in the evening and where worms live.{thinned}");
    records("Beds", &about, &BedRecord::FIELDS, 2, &shown)
}

/// The first sheet: the site, the content of the other sheets, and cautions.
pub(super) fn guide(contents: &WorkbookContents<'_>, sheets: &[Sheet]) -> Sheet {
    let WorkbookContents { central: answer, study, units, .. } = contents;
    let mut rows: Vec<[Cell; 2]> = vec![
        ["Site".into(), answer.name.as_str().into()],
        ["Place".into(), answer.place.as_deref().unwrap_or("").into()],
        ["First day".into(), answer.start.into()],
        ["Days".into(), (answer.days as f64).into()],
        ["Program".into(), format!("Loamledger {}", answer.version).into()],
        ["Units".into(), if *units == Units::Si { "SI: kg, m, \u{b0}C" } else { "US customary: lb, ft, \u{b0}F" }.into()],
        [
            "Basis".into(),
            "One run with every rate at its best estimate and smooth weather and intake; planning figures, not measurements.".into(),
        ],
        [
            "Balance".into(),
            format!(
                "Largest gap of any stage, element and day: {:.1e} of what passed through it (at most 1e-9 is allowed).",
                answer.balance.largest_relative_residual
            )
            .into(),
        ],
    ];
    if let Some(study) = study {
        let draws = format!(
            "{} of {}, seed {}, scenario hash {}",
            study.answered, study.draws, study.seed, study.scenario
        );
        rows.push(["Draws".into(), draws.into()]);
    }
    rows.push([Cell::Empty, Cell::Empty]);
    rows.extend(sheets.iter().map(|sheet| [sheet.name.into(), sheet.about.clone().into()]));
    rows.push([Cell::Empty, Cell::Empty]);
    rows.extend(cautions(answer, *units).into_iter().map(|caution| ["Caution".into(), caution.into()]));
    Sheet::new(
        "Guide",
        "",
        0,
        [Column::words("item"), Column::words("value")],
        rows.into_iter().map(Vec::from),
    )
    .unfiltered()
}

/// Columns of matter.
fn amount_fields() -> impl Iterator<Item = Column> {
    Amounts::NAMES.into_iter().map(|name| Column::of(name, Kind::Mass))
}

fn amounts(a: &Amounts) -> impl Iterator<Item = Cell> {
    a.values().into_iter().map(Cell::from)
}

/// Figures of the first year and of the settled one, each row in its own unit.
fn settled_year(answer: &RunAnswer, units: Units) -> Sheet {
    let years = &answer.later_years;
    let last = years.last.as_ref().map_or_else(|| "settled year".to_owned(), |last| last_year(years, last));
    let columns = [Column::words("figure"), Column::words("unit")]
        .into_iter()
        .chain(["first year", last.as_str()].map(|name| Column::plain(name, "")));
    let rows = sought_of_years(answer).map(|f| {
        let kind = kind_of(f.name, f.unit);
        let shown = |value: Option<f64>| {
            Cell::from(value.map(|v| kind.map_or(v, |kind| in_column_unit(kind, v, units))))
        };
        vec![f.what.into(), shown_unit(f.name, f.unit, units).into(), shown(f.first), shown(f.settled)]
    });
    let about = format!("The first year beside the settled one. Settled year: {}.", ended(years));
    Sheet::new("First and settled", &about, 1, columns, rows)
}

fn balance(answer: &RunAnswer) -> Sheet {
    let fields = ["stage", "movement", "from", "to"].into_iter().map(Column::words).chain(amount_fields());
    let rows = answer.balance.flows.iter().map(|flow| {
        let names = [flow.stage.name(), flow.flow.words(), flow.from.name(), flow.to.name()].map(Cell::from);
        names.into_iter().chain(amounts(&flow.amounts)).collect()
    });
    Sheet::new(
        "Balance",
        "Every movement of matter of the whole run; gases are net of the oxygen taken in.",
        2,
        fields,
        rows,
    )
}

fn held(answer: &RunAnswer) -> Sheet {
    let rows = answer.balance.held.iter().flat_map(|held| {
        [("start", &held.start), ("end", &held.end)].map(|(when, held_then)| {
            [held.stage.name().into(), when.into()].into_iter().chain(amounts(held_then)).collect()
        })
    });
    Sheet::new(
        "Held",
        "What each stage held at the start and at the end of the run, gas under the lids of drums included.",
        2,
        ["stage", "when"].into_iter().map(Column::words).chain(amount_fields()),
        rows,
    )
}

fn elements(answer: &RunAnswer) -> Sheet {
    let mass = |name| Column::of(name, Kind::Mass);
    let rows = answer
        .balance
        .elements
        .iter()
        .map(|e| vec![e.element.into(), e.into_site.into(), e.out_of_site.into(), e.change.into()]);
    Sheet::new(
        "Elements",
        "Each element over the whole site: what came in equals what went out plus the change in what is held.",
        1,
        [Column::words("element"), mass("in"), mass("out"), mass("change held")],
        rows,
    )
}

fn streams(answer: &RunAnswer) -> Sheet {
    let fields = [Column::words("stream")].into_iter().chain(amount_fields());
    let more = ["turned away", "contamination sorted out"].map(|name| Column::of(name, Kind::Mass));
    let rows = answer.streams.iter().map(|stream| {
        let name = [stream.name.as_str().into()];
        let more = [stream.turned_away, stream.contamination].map(Cell::from);
        name.into_iter().chain(amounts(&stream.delivered)).chain(more).collect()
    });
    Sheet::new(
        "Streams",
        "What each stream delivered once sorted, and how much was turned away because no drum was free.",
        1,
        fields.chain(more),
        rows,
    )
}

/// Daily records, by the names of their fields.
fn records<T: Serialize>(
    name: &'static str,
    about: &str,
    fields: &[(&str, &'static str)],
    kept: u16,
    records: &[T],
) -> Sheet {
    let row = |record: &T| -> Vec<Cell> {
        let object = serde_json::to_value(record).ok().and_then(|value| value.as_object().cloned());
        let object = object.unwrap_or_default();
        fields.iter().map(|(name, _)| value(object.get(*name))).collect()
    };
    Sheet::new(
        name,
        about,
        kept,
        fields.iter().map(|(name, unit)| recorded(name, unit)),
        records.iter().map(row),
    )
}

fn value(json: Option<&serde_json::Value>) -> Cell {
    match json {
        Some(serde_json::Value::Number(number)) => number.as_f64().into(),
        Some(serde_json::Value::String(text)) => {
            text.parse::<Date>().map_or_else(|_| text.as_str().into(), Cell::from)
        }
        _ => Cell::Empty,
    }
}

/// Figures of a product in the order of the sheet, from moisture on.
fn quality_cells(q: &QualityFigures) -> [Cell; 20] {
    [
        q.moisture,
        q.carbon,
        q.carbon_walkley_black,
        q.nitrogen,
        q.nitrate_nitrogen,
        q.ammonium_nitrogen,
        q.phosphorus,
        q.potassium,
        q.phosphate,
        q.potash,
        q.carbon_to_nitrogen,
        q.organic_matter,
        q.ash,
        q.conductivity_1_to_5,
        q.conductivity_1_to_10,
        q.conductivity_1_to_5_volume,
        q.conductivity_saturated,
        q.conductivity_pore_water,
        q.ph,
        q.bulk_density,
    ]
    .map(Cell::from)
}

fn products(answer: &RunAnswer) -> Sheet {
    let share = |name| Column::of(name, Kind::Share);
    let fields = [
        Column::words("product"),
        Column::of("sold", Kind::Mass),
        Column::of("volume", Kind::Volume),
        share("moisture (of wet)"),
        share("carbon (of dry)"),
        share("carbon, Walkley-Black (of dry)"),
        share("nitrogen (of dry)"),
        share("nitrate-N (of dry)"),
        share("ammonium-N (of dry)"),
        share("phosphorus (of dry)"),
        share("potassium (of dry)"),
        share("P2O5 (of dry)"),
        share("K2O (of dry)"),
        Column::plain("C:N", ""),
        share("organic matter (of dry)"),
        share("ash (of dry)"),
        Column::plain("conductivity 1:5", "dS/m"),
        Column::plain("conductivity 1:10", "dS/m"),
        Column::plain("conductivity 1:5 by volume", "dS/m"),
        Column::plain("conductivity, saturated extract", "dS/m"),
        Column::plain("conductivity, pore water", "dS/m"),
        Column::plain("pH", ""),
        Column::of("bulk density", Kind::Density),
    ];
    let row = |product: &Product| {
        let mut row = vec![product.name.into(), product.amounts.wet.into(), product.volume.into()];
        row.extend(product.quality.iter().flat_map(quality_cells));
        row
    };
    Sheet::new(
        "Products",
        "Products sold and their mean quality over the run.",
        1,
        fields,
        answer.products.iter().map(row),
    )
}

fn standards(answer: &RunAnswer) -> Sheet {
    let row = |(product, judged): (&Product, &Judged)| -> Vec<Cell> {
        let (low, high) = judged.allowed;
        let mut row: Vec<Cell> =
            [product.name, judged.standard, judged.limit].into_iter().map(Cell::from).collect();
        row.extend([judged.value, low, high].map(Cell::from));
        row.extend([judged.unit, judged.verdict.name()].map(Cell::from));
        row
    };
    let judged = answer.products.iter().flat_map(|p| p.standards.iter().map(move |judged| (p, judged)));
    let number = |name| Column::plain(name, "");
    Sheet::new(
        "Standards",
        "Each product against published limits; metals and germs need a laboratory. Shares are 0 to 1, each row in its own unit.",
        3,
        [
            Column::words("product"),
            Column::words("standard"),
            Column::words("limit"),
            number("value"),
            number("lowest allowed"),
            number("highest allowed"),
            Column::words("unit"),
            Column::words("verdict"),
        ],
        judged.map(row),
    )
}

fn warnings(answer: &RunAnswer, units: Units) -> Sheet {
    let rows = items(answer, units).into_iter().map(|item| {
        [item.severity.name(), &item.message, item.hint()].map(|text| Cell::from(text.to_owned())).to_vec()
    });
    Sheet::new(
        "Warnings",
        "Warnings of the run and of the settled year or the last one simulated, each once, the worst first; one row for all beds.",
        1,
        ["severity", "warning", "hint"].map(Column::words),
        rows,
    )
}

fn text(scenario: &str) -> Sheet {
    // a cell holds 32767 characters; a longer line continues in the next row
    let pieces = |line: &str| -> Vec<String> {
        let letters: Vec<char> = line.chars().collect();
        letters.chunks(CELL).map(|piece| piece.iter().collect()).collect()
    };
    let rows = (1_u32..).zip(scenario.lines()).flat_map(|(n, line)| {
        pieces(line).into_iter().map(move |piece| vec![f64::from(n).into(), piece.into()])
    });
    Sheet::new(
        "Scenario",
        "The scenario file of this run, line by line: saved as a file it gives the same run.",
        1,
        [Column::plain("line", "1"), Column::words("text")],
        rows,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn a_long_sheet_of_beds_leaves_out_days_not_beds() {
        let sample = sample::answer();
        assert_eq!(beds(&sample).table.rows.len(), sample.bed_daily.len());
        // three days of 20,000 beds are 60,000 rows: the first day and the third are kept
        let record = sample.bed_daily[0];
        let on = |day: i8| (1..=20_000).map(move |bed| (day, bed));
        let bed_daily: Vec<BedRecord> = (1..=3)
            .flat_map(on)
            .map(|(day, bed)| BedRecord { date: jiff::civil::date(2031, 4, day), bed, ..record })
            .collect();
        let sheet = beds(&RunAnswer { bed_daily, ..sample });
        assert_eq!(sheet.table.rows.len(), 40_000);
        assert!(sheet.about.ends_with("Every 2 days; beds_daily.csv has every day."), "{}", sheet.about);
        assert_eq!(sheet.table.rows[39_999][0], jiff::civil::date(2031, 4, 3).into());
    }
}
