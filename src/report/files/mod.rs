//! Result files. The folder is tested before long work, and every file is written whole or not at all.
//!
//! Files are for other programs: SI units whatever the reader's choice, numbers in full, units in every CSV header.

pub mod calendar;
mod draft;
pub mod drivers;
pub mod uncertainty;

pub use draft::{Fill, Stream};

use crate::report::draw::{self, Picture};
use crate::report::table::header;
use crate::study::answer::{Amounts, RunAnswer};
use crate::trace::{BedRecord, DayRecord, YearSums};
use draft::{Draft, refused};
use serde::Serialize;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;
use std::{error, fmt, fs};

/// Names of the data files of a run; its workbook and charts come beside them.
pub const RUN_FILES: [&str; 6] =
    ["daily.csv", "beds_daily.csv", "balance.csv", "years.csv", "result.json", "run.txt"];

/// Names of files, then those of the pictures of so named charts beside them.
pub fn with_charts(files: &[&str], charts: &[impl AsRef<str>]) -> Vec<String> {
    let pictures = draw::picture_names(charts.iter().map(AsRef::as_ref));
    files.iter().map(|name| (*name).to_owned()).chain(pictures).collect()
}

/// Why a file or its folder cannot be written.
#[derive(Debug)]
pub enum WriteError {
    /// A file is in the place of the folder.
    NotAFolder {
        /// The folder wanted.
        path: PathBuf,
        /// The file.
        obstacle: PathBuf,
    },
    /// A folder is in the place of the file.
    IsAFolder {
        /// The file wanted.
        path: PathBuf,
    },
    /// The folder of the file is missing.
    NoFolder {
        /// The file wanted.
        path: PathBuf,
        /// The folder.
        folder: PathBuf,
    },
    /// The file exists already.
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// The system refused.
    Refused {
        /// File or folder.
        path: PathBuf,
        /// What was tried, in words.
        tried: &'static str,
        /// What the system says.
        error: io::Error,
    },
}

impl WriteError {
    /// What would help, for a reader at the command line.
    pub fn hint(&self) -> String {
        match self {
            Self::NotAFolder { .. } => "name another folder, or move that file away".to_owned(),
            Self::IsAFolder { path } => format!("move {} away, or name another folder", path.display()),
            Self::NoFolder { .. } => "check the spelling, or make the folder first".to_owned(),
            Self::Exists { .. } => "name another file, or move the old one away first".to_owned(),
            Self::Refused { error, .. } => match error.kind() {
                io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                    "choose a folder you may write to".to_owned()
                }
                io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                    "make room on the disk or choose another one".to_owned()
                }
                io::ErrorKind::NotFound => "check the spelling of the folder".to_owned(),
                _ => "check the path, the disk and the permissions".to_owned(),
            },
        }
    }
}

impl fmt::Display for WriteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAFolder { path, obstacle } if path == obstacle => {
                write!(f, "{}: is a file, not a folder", path.display())
            }
            Self::NotAFolder { path, obstacle } => {
                write!(f, "{}: cannot be a folder, {} is a file", path.display(), obstacle.display())
            }
            Self::IsAFolder { path } => write!(f, "{}: is a folder; a file was expected", path.display()),
            Self::NoFolder { path, folder } => {
                write!(f, "{}: the folder {} does not exist", path.display(), folder.display())
            }
            Self::Exists { path } => write!(f, "{}: exists already and is not overwritten", path.display()),
            Self::Refused { path, tried, .. } => write!(f, "{}: cannot be {tried}", path.display()),
        }
    }
}

impl error::Error for WriteError {
    fn source(&self) -> Option<&(dyn error::Error + 'static)> {
        match self {
            Self::Refused { error, .. } => Some(error),
            _ => None,
        }
    }
}

/// Whether a new file can be written there.
///
/// # Errors
/// [`WriteError::Exists`] or [`WriteError::IsAFolder`] if the path exists, [`WriteError::NoFolder`] if its folder is missing.
pub fn is_free(path: &Path) -> Result<(), WriteError> {
    place_of(path).map(|_| ())
}

/// Writes a new file whole; an existing file is left alone.
///
/// # Errors
/// As [`is_free`]; [`WriteError::Refused`] when the system refuses.
pub fn write_new(path: &Path, text: &str) -> Result<(), WriteError> {
    let (folder, name) = place_of(path)?;
    Draft::new(folder, name, |to| to.write_all(text.as_bytes()))?.put_in_free_place()
}

/// Folder and name of a file that is not there yet.
fn place_of(path: &Path) -> Result<(&Path, &str), WriteError> {
    let Some(name) = path.file_name().and_then(|name| name.to_str()) else {
        return Err(WriteError::IsAFolder { path: path.to_owned() });
    };
    if path.is_dir() {
        return Err(WriteError::IsAFolder { path: path.to_owned() });
    }
    if path.exists() {
        return Err(WriteError::Exists { path: path.to_owned() });
    }
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    if !folder.is_dir() {
        return Err(WriteError::NoFolder { path: path.to_owned(), folder: folder.to_owned() });
    }
    Ok((folder, name))
}

/// Age from which an unfinished file is taken for one that a killed run left: a file takes seconds to write. Our choice.
const ABANDONED: Duration = Duration::from_hours(1);
/// How the names of unfinished files begin.
const UNFINISHED: &str = ".unfinished-";

/// A folder that exists and can be written to. It holds the files of one answer: those of an earlier answer to the same question go
/// before the new ones come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ResultFolder {
    path: PathBuf,
    /// Every file that an answer to the question may have.
    names: Vec<PathBuf>,
}

impl ResultFolder {
    /// Makes the folder if it is missing, and tests that files can be written to it under these names: all that an answer to the question may
    /// have. Unfinished files that killed runs left there are removed.
    ///
    /// # Errors
    /// [`WriteError::NotAFolder`] and [`WriteError::IsAFolder`] when something is in the way, [`WriteError::Refused`] when the system refuses.
    pub fn prepare(path: &Path, names: &[impl AsRef<Path>]) -> Result<Self, WriteError> {
        // the nearest thing that exists decides, so that a file in the way is named, not its errno
        if let Some(obstacle) = path.ancestors().find(|p| p.exists()).filter(|p| !p.is_dir()) {
            return Err(WriteError::NotAFolder { path: path.to_owned(), obstacle: obstacle.to_owned() });
        }
        fs::create_dir_all(path).map_err(refused(path, "created"))?;
        if let Some(folder) = names.iter().map(|name| path.join(name)).find(|p| p.is_dir()) {
            return Err(WriteError::IsAFolder { path: folder });
        }
        let probe = tempfile::Builder::new().prefix(UNFINISHED).tempfile_in(path);
        probe
            .and_then(|mut file| file.write_all(b"probe").and_then(|()| file.close()))
            .map_err(refused(path, "written to"))?;
        remove_abandoned(path);
        Ok(Self { path: path.to_owned(), names: names.iter().map(|name| name.as_ref().to_owned()).collect() })
    }

    /// Path of the folder, as given.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Which of these files lie in the folder.
    pub fn holds<'a>(&self, names: &[&'a str]) -> Vec<&'a str> {
        names.iter().copied().filter(|name| self.path.join(name).is_file()).collect()
    }

    /// Writes the [`RUN_FILES`] of a run, `page` being its text, with workbook and pictures beside them, as [`ResultFolder::write`] does.
    ///
    /// # Errors
    /// [`WriteError::Refused`] when the system refuses.
    pub fn write_run(&self, answer: &RunAnswer, page: &str, beside: &[Picture]) -> Result<(), WriteError> {
        let [daily, beds, balance, years, result, run] = RUN_FILES;
        let mut drafts = vec![
            Draft::new(&self.path, daily, |to| write_records(&DayRecord::FIELDS, &answer.daily, to))?,
            Draft::new(&self.path, beds, |to| write_records(&BedRecord::FIELDS, &answer.bed_daily, to))?,
            Draft::new(&self.path, balance, |to| write_balance(answer, to))?,
            Draft::new(&self.path, years, |to| {
                write_records(&YearSums::FIELDS, &answer.later_years.years, to)
            })?,
            Draft::new(&self.path, result, |to| write_json(answer, to))?,
            Draft::new(&self.path, run, |to| to.write_all(page.as_bytes()))?,
        ];
        for picture in beside {
            drafts.push(Draft::new(&self.path, &picture.name, |to| to.write_all(&picture.bytes))?);
        }
        self.put_in_place(drafts)
    }

    /// Writes files, each a name and what fills it. All are written under other names first, so that a full disk leaves the old ones.
    /// Then the files of the old answer are removed and the new ones take their place: a run that is killed between leaves files
    /// of one answer only.
    ///
    /// # Errors
    /// [`WriteError::Refused`] when the system refuses.
    pub fn write(&self, files: &[(&str, &dyn Fill)]) -> Result<(), WriteError> {
        let drafts: Vec<Draft> = files
            .iter()
            .map(|(name, content)| Draft::new(&self.path, name, |to| content.fill(to)))
            .collect::<Result<_, _>>()?;
        self.put_in_place(drafts)
    }

    fn put_in_place(&self, drafts: Vec<Draft>) -> Result<(), WriteError> {
        for name in &self.names {
            let old = self.path.join(name);
            match fs::remove_file(&old) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    return Err(refused(&old, "replaced")(error));
                }
                _ => {}
            }
        }
        drafts.into_iter().try_for_each(Draft::put_in_place)
    }
}

/// Removes the unfinished files of killed runs. What cannot be removed stays: it is in nobody's way.
fn remove_abandoned(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let unfinished = entry.file_name().to_str().is_some_and(|name| name.starts_with(UNFINISHED));
        let age =
            entry.metadata().and_then(|data| data.modified()).map(|time| time.elapsed().unwrap_or_default());
        if unfinished && age.is_ok_and(|age| age > ABANDONED) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Writes any answer as indented JSON with a last line end; the same bytes for `--json` and for files.
///
/// # Errors
/// When the writer fails.
pub(in crate::report) fn write_json(answer: &impl Serialize, mut to: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut to, answer)?;
    to.write_all(b"\n")
}

/// Any answer as indented JSON text with a last line end; files of answers hold the same bytes.
///
/// # Errors
/// When the answer cannot be JSON: our fault.
pub fn json_text(answer: &impl Serialize) -> io::Result<String> {
    let mut bytes = Vec::new();
    write_json(answer, &mut bytes)?;
    String::from_utf8(bytes).map_err(|e| io::Error::new(io::ErrorKind::InvalidData, e))
}

/// Records of days or years as CSV under headers with units.
///
/// # Errors
/// When the writer fails.
fn write_records<T: Serialize>(fields: &[(&str, &str)], records: &[T], to: &mut dyn Write) -> io::Result<()> {
    let mut writer = csv::WriterBuilder::new().has_headers(false).from_writer(to);
    writer.write_record(fields.iter().map(|(name, unit)| header(name, unit)))?;
    for record in records {
        writer.serialize(record)?;
    }
    writer.flush()
}

/// Movements and what is held as one CSV.
///
/// # Errors
/// When the writer fails.
fn write_balance(answer: &RunAnswer, to: &mut dyn Write) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(to);
    let amounts = Amounts::NAMES.iter().map(|name| header(name, "kg"));
    writer.write_record(
        ["entry", "stage", "flow", "from", "to"].map(str::to_owned).into_iter().chain(amounts),
    )?;
    for flow in &answer.balance.flows {
        let words = ["movement", flow.stage.name(), flow.flow.name(), flow.from.name(), flow.to.name()];
        writer.write_record(row(&words, &flow.amounts))?;
    }
    for held in &answer.balance.held {
        for (entry, amounts) in [("held_at_start", &held.start), ("held_at_end", &held.end)] {
            writer.write_record(row(&[entry, held.stage.name(), "", "", ""], amounts))?;
        }
    }
    writer.flush()
}

fn row(words: &[&str; 5], amounts: &Amounts) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).chain(amounts.values().map(|n| n.to_string())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Units;
    use crate::report::chart::{ChartBands, RUN_CHARTS, run_charts};
    use crate::report::sample;
    use serde_json::Value;

    /// Header as the serializer would write it.
    fn names<T: Serialize>(record: &T) -> Vec<String> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.serialize(record).unwrap();
        let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
        text.lines().next().unwrap().split(',').map(str::to_owned).collect()
    }

    #[test]
    fn headers_of_daily_files_are_the_fields_of_their_records() {
        let answer = sample::answer();
        assert_eq!(names(&answer.daily[0]), DayRecord::FIELDS.map(|(name, _)| name.to_owned()));
        assert_eq!(names(&answer.bed_daily[0]), BedRecord::FIELDS.map(|(name, _)| name.to_owned()));
        let year = sample::later_years().years[0];
        assert_eq!(names(&year), YearSums::FIELDS.map(|(name, _)| name.to_owned()));
    }

    #[test]
    fn amounts_are_written_in_the_order_of_their_header() {
        let json = serde_json::to_value(Amounts::default()).unwrap();
        let mut known: Vec<&str> = json.as_object().unwrap().keys().map(String::as_str).collect();
        let mut ours = Amounts::NAMES.to_vec();
        known.sort_unstable();
        ours.sort_unstable();
        assert_eq!(known, ours);
        let mut bytes = Vec::new();
        write_balance(&sample::answer(), &mut bytes).unwrap();
        let text = String::from_utf8(bytes).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        insta::assert_snapshot!(format!("{}\n{}\n{}", lines[0], lines[2], lines[7]), @r"
        entry,stage,flow,from,to,wet_kg,water_kg,dry_kg,carbon_kg,nitrogen_kg,phosphorus_kg,potassium_kg
        movement,drums,liquor_drained,drums,outside,200,180,20,15,1,0.2,0.4
        held_at_end,beds,,,,1940,1800,140,205,14,1.94,3.88
        ");
    }

    #[test]
    fn daily_file_carries_units_and_full_numbers() {
        let mut bytes = Vec::new();
        write_records(&BedRecord::FIELDS, &sample::answer().bed_daily, &mut bytes).unwrap();
        insta::assert_snapshot!(String::from_utf8(bytes).unwrap(), @r"
        date,bed,temperature_celsius,hottest_celsius,moisture,ph,porosity,salt_kg_per_m3,ammonia_g_n_per_m3,ammonia_units,depth_m,fresh_kg,fresh_thickness_m,fresh_reach_m,ready_kg,castings_kg,fed_kg,stock_kg_live,intake_kg_per_kg_d
        2031-04-01,1,15.8,25.4,0.75,6.8,0.3,4.0,50.0,0.1,0.3,100.0,0.02,0.02,50.0,900.0,20.0,100.0,0.2
        ");
    }

    #[test]
    fn a_run_is_written_whole_and_json_is_the_same_everywhere() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("deep/er");
        let answer = sample::answer();
        let charts = run_charts(&answer, &ChartBands::default(), Units::Si);
        let results = ResultFolder::prepare(&path, &with_charts(&RUN_FILES, &RUN_CHARTS)).unwrap();
        for _again in 0..2 {
            results.write_run(&answer, "page\n", &draw::pictures(&charts).unwrap()).unwrap();
            let mut found: Vec<String> = fs::read_dir(&path)
                .unwrap()
                .map(|entry| entry.unwrap().file_name().into_string().unwrap())
                .collect();
            let mut wanted = with_charts(&RUN_FILES, &RUN_CHARTS);
            found.sort();
            wanted.sort();
            assert_eq!(found, wanted);
        }
        let file = fs::read_to_string(path.join("result.json")).unwrap();
        assert_eq!(file, json_text(&answer).unwrap());
        let value: Value = serde_json::from_str(&file).unwrap();
        for key in ["name", "balance", "streams", "drums", "beds", "stock", "products", "warnings", "daily"] {
            assert!(!value[key].is_null(), "{key}");
        }
        assert_eq!(value["start"], "2031-04-01");
        assert_eq!(value["balance"]["flows"][0]["wet"], 3500.0);
        assert_eq!(value["warnings"][0]["warning"]["code"], "stock_below_need");
    }

    #[test]
    fn a_folder_holds_the_files_of_one_answer() {
        let folder = tempfile::tempdir().unwrap();
        let (path, names) = (folder.path(), ["page.txt", "chart_a.svg", "chart_b.svg"]);
        fs::write(path.join("notes.txt"), "mine").unwrap();
        let results = ResultFolder::prepare(path, &names).unwrap();
        results.write(&[("page.txt", &"first"), ("chart_b.svg", &"first")]).unwrap();
        results.write(&[("page.txt", &"second"), ("chart_a.svg", &"second")]).unwrap();
        let mut found: Vec<_> = fs::read_dir(path).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        found.sort();
        assert_eq!(found, ["chart_a.svg", "notes.txt", "page.txt"]);
        assert_eq!(fs::read_to_string(path.join("page.txt")).unwrap(), "second");
    }

    #[test]
    fn unfinished_files_of_killed_runs_go_and_those_of_running_ones_stay() {
        let folder = tempfile::tempdir().unwrap();
        let [old, new] = ["old", "new"].map(|name| folder.path().join(format!("{UNFINISHED}{name}")));
        fs::write(&new, "half").unwrap();
        let file = fs::File::create(&old).unwrap();
        file.set_modified(std::time::SystemTime::now() - 2 * ABANDONED).unwrap();
        ResultFolder::prepare(folder.path(), &["page.txt"]).unwrap();
        assert!(new.exists() && !old.exists());
    }

    #[test]
    fn obstacles_are_named_before_the_work() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "kept").unwrap();
        for path in [file.clone(), file.join("below")] {
            let error = ResultFolder::prepare(&path, &RUN_FILES).unwrap_err();
            assert!(
                matches!(&error, WriteError::NotAFolder { obstacle, .. } if *obstacle == file),
                "{error}"
            );
        }
        fs::create_dir_all(folder.path().join("out/run.txt")).unwrap();
        let error = ResultFolder::prepare(&folder.path().join("out"), &RUN_FILES).unwrap_err();
        assert!(matches!(error, WriteError::IsAFolder { .. }), "{error}");
        assert!(matches!(write_new(&file, "new"), Err(WriteError::Exists { .. })));
        assert_eq!(fs::read_to_string(&file).unwrap(), "kept");
    }
}
