//! Shards: any part of the draws of a study, made anywhere, kept in a file, merged into exactly the whole.

use super::bands::{DayCounts, FilledBins, SERIES};
use super::ensemble::{DrawFigures, Ensemble, Failed};
use crate::trace::failures::Judging;
use crate::trace::figures::{self, FIGURES};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// What must be the same in all shards of a study.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    /// Version of the program that made it.
    pub version: String,
    /// Hash of the scenario text, by [`text_hash`].
    pub scenario: String,
    /// Name of the site.
    pub name: String,
    /// First day of the run.
    pub start: Date,
    /// Length of the run, days.
    pub days: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Draws of the whole study.
    pub draws: u64,
    /// Number of the rates and figures of ingredients that are drawn.
    pub unknowns_drawn: usize,
    /// Figures of the run with central values and without chance, in the order of [`figures::TABLE`]. Equal only if
    /// tables and machine give the same values.
    pub central: Vec<Option<f64>>,
    /// How the site is judged.
    pub judging: Judging,
}

/// Part of a study, or all of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shard {
    /// What all shards share.
    pub head: Head,
    /// The draws of this part.
    pub ensemble: Ensemble,
}

/// A shard as its file holds it: numbers in full, so that they read back to the last bit. One that is written borrows from its shard.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShardFile<'a> {
    /// What all shards share.
    pub head: Cow<'a, Head>,
    /// First draw requested.
    pub from: u64,
    /// One past the last requested.
    pub to: u64,
    /// Names of the figures of a row, in order.
    pub figures: Vec<String>,
    /// Figures by draw, by rising number.
    pub rows: Cow<'a, [DrawFigures]>,
    /// Draws that gave no answer.
    pub failed: Cow<'a, [Failed]>,
    /// Names of the series of the bands, in order.
    pub series: Vec<String>,
    /// Counts by series, day and bin.
    pub bands: Vec<FilledBins>,
}

/// Hash of a scenario text: FNV-1a, 64 bits, over its bytes without carriage returns and byte order mark, as 16 hexadecimal
/// figures. It finds a changed file, it does not guard against forgery.
///
/// # Source
/// Fowler, Noll and Vo; offset and prime as published.
pub fn text_hash(text: &str) -> String {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let hash = text.bytes().filter(|byte| *byte != b'\r').fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    });
    format!("{hash:016x}")
}

/// Why shards make no whole.
#[derive(Debug, Clone, PartialEq)]
pub enum MergeError {
    /// No shard was given.
    Nothing,
    /// A file is no shard, or its parts do not fit together.
    Broken {
        /// The file.
        file: String,
        /// What is wrong.
        problem: String,
    },
    /// Shards of different studies.
    Differs {
        /// What differs, in words.
        what: &'static str,
        /// First file and its value.
        first: (String, String),
        /// Another file and its value.
        other: (String, String),
    },
    /// A draw is in two shards.
    Overlap {
        /// Number of the draw.
        draw: u64,
        /// One file.
        first: String,
        /// The other.
        other: String,
    },
}

impl fmt::Display for MergeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => write!(f, "no shard is given to merge"),
            Self::Broken { file, problem } => write!(f, "{file}: {problem}"),
            Self::Differs { what, first, other } => {
                write!(
                    f,
                    "{} and {} are of different studies: {what} is {} and {}",
                    first.0, other.0, first.1, other.1
                )
            }
            Self::Overlap { draw, first, other } => write!(f, "draw {draw} is in {first} and in {other}"),
        }
    }
}

impl std::error::Error for MergeError {}

impl Shard {
    /// The shard as its file holds it.
    pub fn to_file(&self) -> ShardFile<'_> {
        let whole = &self.ensemble;
        ShardFile {
            head: Cow::Borrowed(&self.head),
            from: whole.from,
            to: whole.to,
            figures: figures::TABLE.iter().map(|f| f.name.to_owned()).collect(),
            rows: Cow::Borrowed(&whole.rows),
            failed: Cow::Borrowed(&whole.failed),
            series: SERIES.iter().map(|s| s.name.to_owned()).collect(),
            bands: whole.bands.filled(),
        }
    }

    /// Whether every draw of the study was asked for; some of them may be missing all the same ([`Shard::missing`]).
    pub fn is_whole(&self) -> bool {
        self.ensemble.from == 0 && self.ensemble.to == self.head.draws
    }

    /// Draws of the study that were not made, as ranges from the first to one past the last.
    pub fn missing(&self) -> Vec<(u64, u64)> {
        let whole = &self.ensemble;
        let mut made: Vec<u64> =
            whole.rows.iter().map(|r| r.draw).chain(whole.failed.iter().map(|f| f.draw)).collect();
        made.sort_unstable();
        let mut gaps = Vec::new();
        let mut next = 0;
        for draw in made.into_iter().chain([self.head.draws]) {
            if draw > next {
                gaps.push((next, draw));
            }
            next = draw + 1;
        }
        gaps
    }
}

impl ShardFile<'_> {
    /// The shard a file holds, when all its parts fit together.
    ///
    /// # Errors
    /// [`MergeError::Broken`] with what does not fit; `file` is its name there.
    pub fn checked(self, file: &str) -> Result<Shard, MergeError> {
        let broken = |problem: String| MergeError::Broken { file: file.to_owned(), problem };
        self.check_names().map_err(broken)?;
        self.check_draws().map_err(broken)?;
        self.check_figures().map_err(broken)?;
        let days = self.head.days;
        self.check_counts().map_err(broken)?;
        let bands = DayCounts::from_filled(days, &self.bands)
            .ok_or_else(|| broken("a count of the bands lies outside series, days or bins".to_owned()))?;
        let ensemble = Ensemble {
            seed: self.head.seed,
            from: self.from,
            to: self.to,
            rows: self.rows.into_owned(),
            failed: self.failed.into_owned(),
            bands,
        };
        Ok(Shard { head: self.head.into_owned(), ensemble })
    }

    fn check_names(&self) -> Result<(), String> {
        let ours = env!("CARGO_PKG_VERSION");
        if self.head.version != ours {
            return Err(format!("was made by version {}, this is {ours}", self.head.version));
        }
        let figures = self.figures.iter().eq(figures::TABLE.iter().map(|f| f.name));
        let series = self.series.iter().eq(SERIES.iter().map(|s| s.name));
        if figures && series && self.head.central.len() == FIGURES {
            Ok(())
        } else {
            Err("holds other figures than this program keeps".to_owned())
        }
    }

    fn check_draws(&self) -> Result<(), String> {
        if self.from > self.to || self.to > self.head.draws {
            return Err(format!("draws {} to {} are not of {}", self.from, self.to, self.head.draws));
        }
        let rising = |draws: &[u64]| draws.windows(2).all(|pair| pair[0] < pair[1]);
        let rows: Vec<u64> = self.rows.iter().map(|row| row.draw).collect();
        let failed: Vec<u64> = self.failed.iter().map(|failed| failed.draw).collect();
        let within = |draw: &u64| (self.from..self.to).contains(draw);
        let both = failed.iter().any(|draw| rows.binary_search(draw).is_ok());
        if !rising(&rows) || !rising(&failed) || both || !rows.iter().chain(&failed).all(within) {
            return Err("its draws are out of order, listed twice or outside its range".to_owned());
        }
        match self.rows.iter().find(|row| row.figures.len() != FIGURES) {
            Some(row) => Err(format!("draw {} has {} figures, not {FIGURES}", row.draw, row.figures.len())),
            None => Ok(()),
        }
    }

    /// No figure may have a value that no run can give: a damaged file must not move the chances of a whole study.
    fn check_figures(&self) -> Result<(), String> {
        check_possible(&"the best-estimate run", &self.head.central)?;
        let mut rows = self.rows.iter();
        rows.try_for_each(|row| check_possible(&format_args!("draw {}", row.draw), &row.figures))
    }

    /// Every series and day must count every row once; this also bounds the memory the bands may ask for.
    fn check_counts(&self) -> Result<(), String> {
        let cells = SERIES.len().checked_mul(self.head.days);
        if cells != Some(self.bands.len()) {
            return Err("the bands are not those of all series and days".to_owned());
        }
        let mut seen = BTreeSet::new();
        for cell in &self.bands {
            let sum: u64 = cell.counts.iter().map(|(_, count)| u64::from(*count)).sum();
            if sum != self.rows.len() as u64 || !seen.insert((cell.series, cell.day)) {
                return Err(format!("the bands of day {} do not count every draw once", cell.day));
            }
        }
        Ok(())
    }
}

fn check_possible(of: &dyn fmt::Display, values: &[impl Into<Option<f64>> + Copy]) -> Result<(), String> {
    match figures::impossible(values) {
        Some((name, value, (low, high))) => {
            Err(format!("{of}: {name} is {value}, which no run gives ({low} to {high} can be)"))
        }
        None => Ok(()),
    }
}

/// Merges shards, each with the name of its file, in any order. Each is taken in before the next is asked for, so that one at a time need
/// be read. Missing draws are not an error: see [`Shard::missing`].
///
/// # Errors
/// That of the first shard that cannot be had; [`MergeError`] without a shard, for shards of different studies, and for a draw that is in
/// two.
pub fn merge<E: From<MergeError>>(
    parts: impl IntoIterator<Item = Result<(String, Shard), E>>,
) -> Result<Shard, E> {
    let mut parts = parts.into_iter();
    let (first, mut whole) = parts.next().ok_or(MergeError::Nothing)??;
    let mut owner = BTreeMap::new();
    let mut files = vec![first.clone()];
    claim(&mut owner, &whole, &files)?;
    for part in parts {
        let (file, part) = part?;
        same(&whole.head, &part.head).map_err(|(what, ours, theirs)| MergeError::Differs {
            what,
            first: (first.clone(), ours),
            other: (file.clone(), theirs),
        })?;
        files.push(file);
        claim(&mut owner, &part, &files)?;
        whole.ensemble.append(part.ensemble);
    }
    // no draw is there twice
    whole.ensemble.rows.sort_unstable_by_key(|row| row.draw);
    whole.ensemble.failed.sort_by_key(|failed| failed.draw);
    Ok(whole)
}

/// Notes which file the draws of a shard are in, the last of `files`.
fn claim(owner: &mut BTreeMap<u64, usize>, part: &Shard, files: &[String]) -> Result<(), MergeError> {
    let (made, mine) = (&part.ensemble, files.len() - 1);
    for draw in made.rows.iter().map(|r| r.draw).chain(made.failed.iter().map(|f| f.draw)) {
        if let Some(first) = owner.insert(draw, mine) {
            let (first, other) = (files[first].clone(), files[mine].clone());
            return Err(MergeError::Overlap { draw, first, other });
        }
    }
    Ok(())
}

/// Whether two shards are of one study; what differs with both values where not.
fn same(a: &Head, b: &Head) -> Result<(), (&'static str, String, String)> {
    let bits = |head: &Head| head.central.iter().map(|x| x.map(f64::to_bits)).collect::<Vec<_>>();
    let checks = [
        ("the version", a.version.clone(), b.version.clone()),
        ("the hash of the scenario", a.scenario.clone(), b.scenario.clone()),
        ("the seed", a.seed.to_string(), b.seed.to_string()),
        ("the number of draws", a.draws.to_string(), b.draws.to_string()),
        ("the length of the run", a.days.to_string(), b.days.to_string()),
        ("the number of unknowns", a.unknowns_drawn.to_string(), b.unknowns_drawn.to_string()),
    ];
    for (what, ours, theirs) in checks {
        if ours != theirs {
            return Err((what, ours, theirs));
        }
    }
    if bits(a) != bits(b) {
        let name = figures::TABLE.iter().zip(a.central.iter().zip(&b.central));
        let found = name.into_iter().find(|(_, (x, y))| x.map(f64::to_bits) != y.map(f64::to_bits));
        let shown = |x: Option<f64>| x.map_or_else(|| "absent".to_owned(), |x| x.to_string());
        let (ours, theirs) = found.map_or_else(Default::default, |(_, (x, y))| (shown(*x), shown(*y)));
        return Err(("the run with central values (tables or machines differ)", ours, theirs));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::monte_carlo::bands::DrawBins;
    use crate::trace::DayRecord;
    use crate::trace::failures::VerdictRule;
    use jiff::civil::date;

    /// A change and a word of what is said of it.
    type Change<T> = (fn(&mut T), &'static str);

    fn shard(from: u64, to: u64) -> Shard {
        let mut bands = DayCounts::new(2);
        let mut rows = Vec::new();
        for draw in from..to {
            let value = (draw as f64 + 0.1).sqrt();
            let day = |n: i8| DayRecord { fed: value, ..DayRecord::new(date(2031, 1, n)) };
            bands.add(&[DrawBins::of(&[day(1), day(2)])]);
            let mut figures = [Some(value / 30.0).into(); FIGURES];
            figures[1] = None.into();
            rows.push(DrawFigures { draw, figures: figures.into() });
        }
        let head = Head {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            scenario: text_hash("{}"),
            name: "site".to_owned(),
            start: date(2031, 1, 1),
            days: 2,
            seed: 7,
            draws: 40,
            unknowns_drawn: 3,
            central: vec![Some(0.1); FIGURES],
            judging: Judging {
                rule: VerdictRule { serious_chance: 0.1, caution_chance: 0.33, fails_chance: 0.5 },
                rules: vec!["india".to_owned()],
            },
        };
        Shard { head, ensemble: Ensemble { seed: 7, from, to, rows, failed: Vec::new(), bands } }
    }

    fn through_file(shard: &Shard) -> Shard {
        let text = serde_json::to_string(&shard.to_file()).unwrap();
        serde_json::from_str::<ShardFile>(&text).unwrap().checked("a").unwrap()
    }

    fn named(parts: &[(u64, u64)]) -> Vec<Result<(String, Shard), MergeError>> {
        parts.iter().map(|(from, to)| Ok((format!("{from}"), through_file(&shard(*from, *to))))).collect()
    }

    #[test]
    fn shards_in_any_order_merge_into_the_whole_to_the_last_bit() {
        let whole = shard(0, 40);
        assert_eq!(through_file(&whole), whole);
        assert_eq!(merge(named(&[(13, 29), (0, 13), (29, 40)])).unwrap(), whole);
        assert!(whole.missing().is_empty() && whole.is_whole());
        assert!(![shard(0, 39), shard(1, 40), shard(1, 39)].iter().any(Shard::is_whole));
    }

    #[test]
    fn gaps_are_named_and_overlaps_refused() {
        let gappy = merge(named(&[(0, 5), (9, 12)])).unwrap();
        assert_eq!(gappy.missing(), [(5, 9), (12, 40)]);
        let overlap = merge(named(&[(0, 5), (4, 6)])).unwrap_err();
        assert_eq!(overlap, MergeError::Overlap { draw: 4, first: "0".into(), other: "4".into() });
        assert_eq!(merge(named(&[])), Err(MergeError::Nothing));
    }

    #[test]
    fn a_shard_is_taken_in_before_the_next_is_read() {
        let next = std::iter::once_with(|| panic!("a shard is read after one that does not fit"));
        let refused = merge(named(&[(0, 5), (4, 6)]).into_iter().chain(next)).unwrap_err();
        assert!(matches!(refused, MergeError::Overlap { draw: 4, .. }));
    }

    #[test]
    fn shards_of_different_studies_do_not_merge() {
        let changes: [Change<Head>; 6] = [
            (|h| h.seed = 8, "the seed"),
            (|h| h.scenario = text_hash("{ }"), "the hash"),
            (|h| h.draws = 41, "the number of draws"),
            (|h| h.central[3] = Some(0.1_f64.next_up()), "the run with central values"),
            (|h| (h.central[2], h.central[3]) = (None, Some(0.5)), "absent"),
            (|h| h.central[3] = Some(0.5), "0.5"),
        ];
        for (change, what) in changes {
            let mut parts = named(&[(0, 5), (5, 6)]);
            change(&mut parts[1].as_mut().unwrap().1.head);
            let message = merge(parts).unwrap_err().to_string();
            assert!(message.contains(what), "{message}");
        }
    }

    #[test]
    fn a_broken_file_is_refused_with_its_fault() {
        let changes: [Change<ShardFile<'_>>; 12] = [
            (|f| f.head.to_mut().draws = 4, "draws 0 to 5 are not of 4"),
            (|f| (f.from, f.to) = (6, 5), "draws 6 to 5 are not of 40"),
            (|f| f.head.to_mut().version = "0.0.0".into(), "version 0.0.0"),
            (|f| f.figures[0] = "colour".into(), "other figures"),
            (|f| f.rows.to_mut()[1].draw = 0, "out of order"),
            (|f| f.rows.to_mut()[1].figures = [None.into(); 3].into(), "3 figures"),
            (|f| f.rows.to_mut()[1].figures[1] = Some(7.0).into(), "draw 1: turned_away_share is 7"),
            (|f| f.rows.to_mut()[2].figures[0] = Some(-1.0).into(), "draw 2: intake is -1"),
            (|f| f.rows.to_mut()[2].figures[2] = Some(1e308).into(), "draw 2: fed is 1"),
            (|f| f.head.to_mut().central[8] = Some(17.0), "the best-estimate run: opened_ph is 17"),
            (|f| f.bands[1].counts[0].1 += 1, "count every draw once"),
            (|f| f.head.to_mut().days = usize::MAX, "all series and days"),
        ];
        let sound = shard(0, 5);
        for (change, what) in changes {
            let mut file = sound.to_file();
            change(&mut file);
            let message = file.checked("a").unwrap_err().to_string();
            assert!(message.contains(what), "{message}");
        }
        let mut outside = sound.to_file();
        outside.bands[0].counts[0].0 = 1_000_000;
        assert!(outside.checked("a").unwrap_err().to_string().contains("outside"));
    }

    #[test]
    fn the_hash_is_that_of_print_and_knows_no_line_ends() {
        // FNV-1a 64 of "a" and of nothing (the printed test vectors)
        assert_eq!(text_hash("a"), "af63dc4c8601ec8c");
        assert_eq!(text_hash(""), "cbf29ce484222325");
        assert_eq!(text_hash("a\r\nb"), text_hash("a\nb"));
    }
}
