//! `merge`: shards made anywhere, merged into the whole.

use super::args::Shown;
use super::commands::read_with_text;
use super::draws_failure::DrawsFailure;
use super::failure::Failure;
use super::{Output, draws, results};
use crate::report::files::uncertainty::SHARD_FILE;
use crate::study::drivers::DriversError;
use crate::study::uncertainty::{self, MergeError, Shard, ShardFile, text_hash};
use clap::Args;
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

/// What stands below the options: how draws are made on many machines, tried with GNU parallel.
pub const MERGE_HELP: &str = "\
A million draws in a hundred shards, on as many processors as there are:
  seq 0 10000 990000 | parallel --joblog shards.log \\
    'loamledger run site.json --draws 1000000 --draws-from {} --draws-to $(({} + 10000)) \\
     --threads 1 --quiet --out shards/{}'
  loamledger merge shards/* --out whole
A shard that was stopped leaves a folder without shard.json, which merge refuses. It is made again, the others are not, when the same
line runs with `parallel --resume-failed`. As an array job of a cluster scheduler, task N makes `--draws-from $((N * 10000))
--draws-to $((N * 10000 + 10000))`. Shards hold the same numbers on any machine, and merge refuses those of another scenario, version or
seed, draws that come twice, and impossible figures; draws that are missing are listed.

Exit status: 0 all draws are there; 1 some are missing, or the site fails by its verdict; 2 a shard is wrong; 3 fault of the program";

/// Arguments of `merge`.
#[derive(Debug, Clone, PartialEq, Args)]
pub struct MergeArguments {
    /// Shards, in any order: files, or folders with a shard.json
    #[arg(required = true, value_name = "SHARD")]
    pub shards: Vec<PathBuf>,
    /// Scenario file of the shards: with it the workbook and charts are written too, which show its best-estimate run
    #[arg(long, value_name = "FILE", requires = "out")]
    pub scenario: Option<PathBuf>,
    /// Folder for the merged files, the same bytes as one long run writes; created if missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How the answer is shown.
    #[command(flatten)]
    pub shown: Shown,
}

/// Reads a shard from its file, or from a folder that holds one.
///
/// # Errors
/// When there is none, or it is broken.
pub(super) fn read_shard(path: &Path) -> Result<Shard, DrawsFailure> {
    let path = if path.is_dir() { path.join(SHARD_FILE) } else { path.to_owned() };
    let name = path.display().to_string();
    let unreadable = |error| DrawsFailure::Unreadable { path: path.clone(), error };
    let file = File::open(&path).map_err(unreadable)?;
    let read: Result<ShardFile<'_>, serde_json::Error> = serde_json::from_reader(io::BufReader::new(file));
    let file = match read {
        Ok(file) => file,
        Err(error) if error.is_io() => return Err(unreadable(error.into())),
        Err(error) => {
            let problem = format!("is no shard: {error}");
            return Err(DrawsFailure::Merge(MergeError::Broken { file: name, problem }));
        }
    };
    file.checked(&name).map_err(DrawsFailure::Merge)
}

/// Merges shards and shows the whole.
///
/// # Errors
/// When shards are broken or do not fit together, or draws are missing.
pub fn merge(arguments: &MergeArguments) -> Result<Output, Failure> {
    let scenario = arguments.scenario.as_deref().map(read_with_text).transpose()?;
    let site = scenario.as_ref().map(|(plan, text)| draws::DrawnSite { plan, text, charts: true });
    let folder = results::folder(arguments.out.as_deref(), &draws::DrawnSite::names())?;
    let read = |path: &PathBuf| Ok((path.display().to_string(), read_shard(path)?));
    let whole = uncertainty::merge::<DrawsFailure>(arguments.shards.iter().map(read))?;
    if let Some(site) = &site {
        let (given, draws) = (text_hash(site.text), whole.head.scenario.clone());
        if given != draws {
            return Err(DrawsFailure::Drivers(DriversError::OtherScenario { given, draws }).into());
        }
    }
    draws::show(&whole, site.as_ref(), &arguments.shown, folder.as_ref())
}
