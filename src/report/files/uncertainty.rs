//! Files of *run --draws* and *merge*: the same bytes on any number of threads and from any shards.

use crate::monte_carlo::shard::Shard;
use crate::monte_carlo::summary::Interval;
use crate::report::files::{Stream, write_json};
use crate::report::number::format_exact;
use crate::report::table::header;
use crate::study::uncertainty::UncertaintyAnswer;
use crate::trace::figures;
use std::io::{self, Write};

/// Name of the file of a shard.
pub const SHARD_FILE: &str = "shard.json";

/// Names of the files of a whole study. The last one can be merged with other draws and read by *drivers*.
pub const UNCERTAINTY_FILES: [&str; 7] = [
    "totals.csv",
    "failures.csv",
    "bands.csv",
    "draws.csv",
    "uncertainty.json",
    "uncertainty.txt",
    SHARD_FILE,
];

/// Every file of a study, in the order of [`UNCERTAINTY_FILES`]; `page` is the text of the page.
pub fn study_files<'a>(
    shard: &'a Shard,
    answer: &'a UncertaintyAnswer,
    page: &'a str,
) -> Vec<(&'static str, Stream<'a>)> {
    let [totals_csv, failures_csv, bands_csv, draws_csv, json, text, shard_json] = UNCERTAINTY_FILES;
    vec![
        (totals_csv, Stream::new(|to| totals(answer, to))),
        (failures_csv, Stream::new(|to| failures(answer, to))),
        (bands_csv, Stream::new(|to| bands(answer, to))),
        (draws_csv, Stream::new(|to| draws(shard, to))),
        (json, Stream::new(|to| write_json(answer, to))),
        (text, Stream::new(|to| to.write_all(page.as_bytes()))),
        (shard_json, Stream::new(|to| write_shard(shard, to))),
    ]
}

/// Writes the file of a shard: one line of JSON, for programs.
///
/// # Errors
/// When the writer fails.
pub fn write_shard(shard: &Shard, mut to: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer(&mut to, &shard.to_file())?;
    to.write_all(b"\n")
}

fn write_csv(rows: impl IntoIterator<Item = Vec<String>>, to: &mut dyn Write) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(to);
    for row in rows {
        writer.write_record(row)?;
    }
    writer.flush()
}

fn words(list: &[&str]) -> Vec<String> {
    list.iter().map(|word| (*word).to_owned()).collect()
}

/// A number, or an empty cell.
fn format_cell(value: Option<f64>) -> String {
    value.map_or_else(String::new, format_exact)
}

fn ends(interval: &Interval) -> [String; 2] {
    [interval.low, interval.high].map(format_cell)
}

fn totals(answer: &UncertaintyAnswer, to: &mut dyn Write) -> io::Result<()> {
    let head = words(&[
        "figure",
        "unit",
        "what",
        "draws",
        "central_run",
        "mean",
        "mean_low",
        "mean_high",
        "standard_deviation",
        "standard_error",
        "p5",
        "p25",
        "p50",
        "p75",
        "p95",
        "p5_low",
        "p5_high",
        "p50_low",
        "p50_high",
        "p95_low",
        "p95_high",
        "settled",
    ]);
    let columns = head.len();
    let rows = answer.figures.iter().map(|f| {
        let mut row = words(&[f.name, f.unit, f.what]);
        row.push(f.draws.to_string());
        row.push(format_cell(f.central));
        let Some(s) = &f.spread else {
            row.resize(columns, String::new());
            return row;
        };
        row.push(format_exact(s.mean));
        row.extend(ends(&s.mean_interval));
        row.extend([s.standard_deviation, s.standard_error].map(format_exact));
        row.extend(s.quantiles.map(format_exact));
        row.extend([&s.low_interval, &s.median_interval, &s.high_interval].into_iter().flat_map(ends));
        row.push(s.settled.to_string());
        row
    });
    write_csv(std::iter::once(head).chain(rows), to)
}

fn failures(answer: &UncertaintyAnswer, to: &mut dyn Write) -> io::Result<()> {
    let head = words(&[
        "failure",
        "statement",
        "severity",
        "count",
        "draws",
        "chance",
        "low",
        "high",
        "in_central_run",
        "settled",
    ]);
    let rows = answer.failures.iter().map(|f| {
        let mut row = words(&[f.name, f.statement, f.severity.name()]);
        row.extend([f.count, f.draws].map(|n| n.to_string()));
        row.extend([f.share, f.low, f.high].map(format_exact));
        row.extend([f.in_central_run, f.settled].map(|x| x.to_string()));
        row
    });
    write_csv(std::iter::once(head).chain(rows), to)
}

fn bands(answer: &UncertaintyAnswer, to: &mut dyn Write) -> io::Result<()> {
    let head = words(&["series", "unit", "date", "p5", "p25", "p50", "p75", "p95"]);
    let rows = answer.bands.iter().flat_map(|series| {
        series.days.iter().map(|day| {
            let mut row = words(&[series.name, series.unit]);
            row.push(day.date.to_string());
            row.extend(day.quantiles.map(format_exact));
            row
        })
    });
    write_csv(std::iter::once(head).chain(rows), to)
}

fn draws(shard: &Shard, to: &mut dyn Write) -> io::Result<()> {
    let names = figures::TABLE.iter().map(|f| header(f.name, f.unit));
    let head = std::iter::once("draw".to_owned()).chain(names).collect();
    let rows = shard.ensemble.rows.iter().map(|row| {
        std::iter::once(row.draw.to_string())
            .chain(row.figures.iter().map(|figure| format_cell(figure.value())))
            .collect()
    });
    write_csv(std::iter::once(head).chain(rows), to)
}
