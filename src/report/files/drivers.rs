//! Files of *drivers*.

use crate::report::files::write_json;
use crate::report::number::format_exact;
use crate::study::drivers::DriversAnswer;
use crate::study::sensitivity::Estimate;
use std::io;

/// Names of the files of *drivers*; without Sobol' indices their file has a header only, so that none of another run remains.
pub const DRIVERS_FILES: [&str; 5] =
    ["drivers.csv", "sobol.csv", "unknowns.csv", "drivers.json", "drivers.txt"];

/// Every file of *drivers* with its bytes, in the order of [`DRIVERS_FILES`]; `page` is the text of the page.
///
/// # Errors
/// When something cannot be written as JSON or CSV: a fault of the program.
pub fn drivers_files(answer: &DriversAnswer, page: &str) -> io::Result<Vec<(&'static str, Vec<u8>)>> {
    let [drivers_csv, sobol_csv, unknowns_csv, json, text] = DRIVERS_FILES;
    let mut answered = Vec::new();
    write_json(answer, &mut answered)?;
    Ok(vec![
        (drivers_csv, drivers(answer)?),
        (sobol_csv, sobol(answer)?),
        (unknowns_csv, unknowns(answer)?),
        (json, answered),
        (text, page.as_bytes().to_vec()),
    ])
}

fn numbers(estimate: &Estimate) -> [String; 3] {
    [estimate.value, estimate.low, estimate.high].map(format_exact)
}

fn drivers(answer: &DriversAnswer) -> io::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "figure",
        "unknown",
        "evidence",
        "partial_rank_correlation",
        "low",
        "high",
        "explained_part",
    ])?;
    for figure in &answer.figures {
        for driver in &figure.drivers {
            let [value, low, high] = numbers(&driver.partial);
            let part = format_exact(driver.part);
            writer.write_record([figure.name, driver.key, driver.evidence, &value, &low, &high, &part])?;
        }
    }
    writer.into_inner().map_err(|error| io::Error::other(error.to_string()))
}

/// The value of every unknown in every draw used, one row per draw, as in draws.csv.
fn unknowns(answer: &DriversAnswer) -> io::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let keys = answer.values.iter().map(|(key, _)| *key);
    writer.write_record(std::iter::once("draw").chain(keys))?;
    for (row, draw) in answer.numbers.iter().enumerate() {
        let values = answer.values.iter().map(|(_, values)| format_exact(values[row]));
        writer.write_record(std::iter::once(draw.to_string()).chain(values))?;
    }
    writer.into_inner().map_err(|error| io::Error::other(error.to_string()))
}

fn sobol(answer: &DriversAnswer) -> io::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "figure",
        "unknown",
        "first",
        "first_low",
        "first_high",
        "total",
        "total_low",
        "total_high",
    ])?;
    for figure in answer.sobol.iter().flat_map(|sobol| &sobol.figures) {
        for index in &figure.indices {
            let ([a, b, c], [d, e, f]) = (numbers(&index.first), numbers(&index.total));
            writer.write_record([figure.name, index.key, &a, &b, &c, &d, &e, &f])?;
        }
    }
    writer.into_inner().map_err(|error| io::Error::other(error.to_string()))
}
