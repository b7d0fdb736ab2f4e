//! The sheets of a run.

use super::Contents;
use super::sheet::{Field, Sheet, Value};
use crate::quantity::{Kind, Units};
use crate::report::pages::cautions::cautions;
use crate::study::answer::{Amounts, Judged, Product, RunAnswer};
use crate::trace::{BedRecord, DayRecord};
use jiff::civil::Date;
use serde::Serialize;

/// Most characters put in a cell.
const CELL: usize = 30_000;

/// The sheets of a run in the order of their tabs, the guide left out.
pub(super) fn sheets(answer: &RunAnswer, scenario: &str) -> Vec<Sheet> {
    vec![
        balance(answer),
        held(answer),
        elements(answer),
        streams(answer),
        records(
            "Days",
            "The site by day; masses are those of the day, stores and stock those at night.",
            &DayRecord::FIELDS,
            1,
            &answer.daily,
        ),
        records(
            "Beds",
            "Each bed by day, at night and where worms live.",
            &BedRecord::FIELDS,
            2,
            &answer.bed_daily,
        ),
        products(answer),
        standards(answer),
        warnings(answer),
        text(scenario),
    ]
}

/// The first sheet: what the workbook is of, what the others hold, and cautions.
pub(super) fn guide(contents: &Contents<'_>, sheets: &[Sheet]) -> Sheet {
    let Contents { central: answer, study, units, .. } = contents;
    let mut rows: Vec<[Value; 2]> = vec![
        ["Site".into(), answer.name.as_str().into()],
        ["Place".into(), answer.place.as_deref().unwrap_or("").into()],
        ["First day".into(), answer.start.into()],
        ["Days".into(), (answer.days as f64).into()],
        ["Program".into(), format!("Loamledger {}", answer.version).into()],
        ["Units".into(), if *units == Units::Si { "SI: kg, m, \u{b0}C" } else { "US customary: lb, ft, \u{b0}F" }.into()],
        [
            "Basis".into(),
            "One run with every rate at its central value and smooth weather and intake; planning figures, not measurements.".into(),
        ],
        [
            "Balance".into(),
            format!(
                "Largest gap of any holder, element and day: {:.1e} of what passed through it (at most 1e-9 is allowed).",
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
    rows.push([Value::Empty, Value::Empty]);
    rows.extend(sheets.iter().map(|sheet| [sheet.name.into(), sheet.about.clone().into()]));
    rows.push([Value::Empty, Value::Empty]);
    rows.extend(cautions(answer, *units).into_iter().map(|caution| ["Caution".into(), caution.into()]));
    Sheet {
        name: "Guide",
        about: String::new(),
        fields: vec![Field::words("what"), Field::words("which")],
        kept: 0,
        rows: rows.into_iter().map(Vec::from).collect(),
    }
}

/// Columns of matter.
fn amount_fields() -> impl Iterator<Item = Field> {
    Amounts::NAMES.into_iter().map(|name| Field::of(name, Kind::Mass))
}

fn amounts(a: &Amounts) -> impl Iterator<Item = Value> {
    a.values().into_iter().map(Value::from)
}

fn words(name: &str) -> Value {
    name.replace('_', " ").into()
}

fn balance(answer: &RunAnswer) -> Sheet {
    let fields = ["stage", "movement", "from", "to"].into_iter().map(Field::words).chain(amount_fields());
    let rows = answer.balance.flows.iter().map(|flow| {
        let names = [flow.stage.name(), flow.flow.words(), flow.from.name(), flow.to.name()];
        names.into_iter().map(Value::from).chain(amounts(&flow.amounts)).collect()
    });
    Sheet {
        name: "Balance",
        about: "Every movement of matter of the whole run; gases are net of the oxygen taken in.".to_owned(),
        fields: fields.collect(),
        kept: 2,
        rows: rows.collect(),
    }
}

fn held(answer: &RunAnswer) -> Sheet {
    let rows = answer.balance.held.iter().flat_map(|held| {
        [("start", &held.start), ("end", &held.end)].map(|(when, held_then)| {
            [held.stage.name().into(), when.into()].into_iter().chain(amounts(held_then)).collect()
        })
    });
    Sheet {
        name: "Held",
        about: "What each stage held at the start and at the end of the run, gas under the lids of drums included.".to_owned(),
        fields: ["stage", "when"].into_iter().map(Field::words).chain(amount_fields()).collect(),
        kept: 2,
        rows: rows.collect(),
    }
}

fn elements(answer: &RunAnswer) -> Sheet {
    let mass = |name| Field::of(name, Kind::Mass);
    let rows = answer
        .balance
        .elements
        .iter()
        .map(|e| vec![e.element.into(), e.into_site.into(), e.out_of_site.into(), e.change.into()]);
    Sheet {
        name: "Elements",
        about:
            "Each element over the whole site: what came in equals what went out plus the change in what is held."
                .to_owned(),
        fields: vec![Field::words("element"), mass("in"), mass("out"), mass("change held")],
        kept: 1,
        rows: rows.collect(),
    }
}

fn streams(answer: &RunAnswer) -> Sheet {
    let fields = [Field::words("stream")].into_iter().chain(amount_fields());
    let more = ["turned away", "contamination sorted out"].map(|name| Field::of(name, Kind::Mass));
    let rows = answer.streams.iter().map(|stream| {
        let name = [stream.name.as_str().into()];
        let more = [stream.turned_away, stream.contamination].map(Value::from);
        name.into_iter().chain(amounts(&stream.delivered)).chain(more).collect()
    });
    Sheet {
        name: "Streams",
        about: "What each stream delivered, contamination taken out, and what of it found no drum."
            .to_owned(),
        fields: fields.chain(more).collect(),
        kept: 1,
        rows: rows.collect(),
    }
}

/// Daily records, by the names of their fields.
fn records<T: Serialize>(
    name: &'static str,
    about: &str,
    fields: &[(&str, &'static str)],
    kept: u16,
    records: &[T],
) -> Sheet {
    let row = |record: &T| -> Vec<Value> {
        let object = serde_json::to_value(record).ok().and_then(|value| value.as_object().cloned());
        let object = object.unwrap_or_default();
        fields.iter().map(|(name, _)| value(object.get(*name))).collect()
    };
    Sheet {
        name,
        about: about.to_owned(),
        fields: fields.iter().map(|(name, unit)| Field::recorded(name, unit)).collect(),
        kept,
        rows: records.iter().map(row).collect(),
    }
}

fn value(json: Option<&serde_json::Value>) -> Value {
    match json {
        Some(serde_json::Value::Number(number)) => number.as_f64().into(),
        Some(serde_json::Value::String(text)) => {
            text.parse::<Date>().map_or_else(|_| text.as_str().into(), Value::from)
        }
        _ => Value::Empty,
    }
}

fn products(answer: &RunAnswer) -> Sheet {
    let share = |name| Field::of(name, Kind::Share);
    let fields = [
        Field::words("product"),
        Field::of("sold", Kind::Mass),
        Field::of("volume", Kind::Volume),
        share("moisture (of wet)"),
        share("carbon (of dry)"),
        share("nitrogen (of dry)"),
        share("phosphorus (of dry)"),
        share("potassium (of dry)"),
        share("P2O5 (of dry)"),
        share("K2O (of dry)"),
        Field::plain("C:N", ""),
        share("organic matter (of dry)"),
        share("ash (of dry)"),
        Field::plain("conductivity 1:5", "dS/m"),
        Field::plain("conductivity 1:10", "dS/m"),
        Field::plain("conductivity, saturated extract", "dS/m"),
        Field::plain("pH", ""),
        Field::of("bulk density", Kind::Density),
    ];
    let row = |product: &Product| {
        let mut row = vec![product.name.into(), product.amounts.wet.into(), product.volume.into()];
        if let Some(q) = &product.quality {
            row.extend(
                [
                    q.moisture,
                    q.carbon,
                    q.nitrogen,
                    q.phosphorus,
                    q.potassium,
                    q.phosphate,
                    q.potash,
                    q.carbon_to_nitrogen,
                    q.organic_matter,
                    q.ash,
                    q.conductivity_1_to_5,
                    q.conductivity_1_to_10,
                    q.conductivity_saturated,
                    q.ph,
                    q.bulk_density,
                ]
                .map(Value::from),
            );
        }
        row
    };
    Sheet {
        name: "Products",
        about: "What is sold and its mean quality over the run.".to_owned(),
        fields: fields.into(),
        kept: 1,
        rows: answer.products.iter().map(row).collect(),
    }
}

fn standards(answer: &RunAnswer) -> Sheet {
    let row = |(product, judged): (&Product, &Judged)| -> Vec<Value> {
        let (least, most) = judged.allowed;
        let mut row: Vec<Value> =
            [product.name, judged.standard, judged.limit].into_iter().map(Value::from).collect();
        row.extend([judged.value, least, most].map(Value::from));
        row.extend([judged.unit, judged.verdict.name(), judged.key].map(Value::from));
        row
    };
    let judged = answer.products.iter().flat_map(|p| p.standards.iter().map(move |judged| (p, judged)));
    let number = |name| Field::plain(name, "as told beside");
    Sheet {
        name: "Standards",
        about:
            "Each product against published limits; metals and germs need a laboratory. Shares are 0 to 1."
                .to_owned(),
        fields: vec![
            Field::words("product"),
            Field::words("standard"),
            Field::words("limit"),
            number("value"),
            number("least allowed"),
            number("most allowed"),
            Field::words("unit"),
            Field::words("verdict"),
            Field::words("literature key"),
        ],
        kept: 3,
        rows: judged.map(row).collect(),
    }
}

fn warnings(answer: &RunAnswer) -> Sheet {
    let rows = answer.warnings.iter().map(|told| {
        let severity = serde_json::to_value(told.severity);
        let severity = severity.ok().and_then(|s| s.as_str().map(str::to_owned)).unwrap_or_default();
        vec![severity.into(), told.message.as_str().into(), told.hint.into(), words(told.code)]
    });
    Sheet {
        name: "Warnings",
        about: "What the run warns of, worst first, in SI units.".to_owned(),
        fields: ["severity", "what is the matter", "what would help", "kind"].map(Field::words).into(),
        kept: 1,
        rows: rows.collect(),
    }
}

fn text(scenario: &str) -> Sheet {
    // a cell holds 32767 characters; what is left goes on in the next row
    let pieces = |line: &str| -> Vec<String> {
        let letters: Vec<char> = line.chars().collect();
        letters.chunks(CELL).map(|piece| piece.iter().collect()).collect()
    };
    let rows = (1_u32..).zip(scenario.lines()).flat_map(|(n, line)| {
        pieces(line).into_iter().map(move |piece| vec![f64::from(n).into(), piece.into()])
    });
    Sheet {
        name: "Scenario",
        about: "The scenario file as it was run, line by line: copied out as a file it gives the same run."
            .to_owned(),
        fields: vec![Field::plain("line", "1"), Field::words("text")],
        kept: 1,
        rows: rows.collect(),
    }
}
