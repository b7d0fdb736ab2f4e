//! What is asked through the page, and the last answers, which charts and the pages behind numbers are made from.

use super::line::{Lanes, Line, Ticket, held};
use crate::quantity::Units;
use crate::report::explore::{self as page, details, saved_name};
use crate::scenario::ScenarioError;
use crate::study::Watch;
use crate::study::explore::{
    Base, Changes, DrawsSoFar, MOST_DRAWS, Outcome, Variant, VariantError, choices, faults,
};
use crate::study::uncertainty::{UncertaintyAnswer, text_hash};
use serde::{Deserialize, Serialize};
use std::sync::{Arc, Mutex};
use std::{io, thread};

/// Scenarios opened through the page that are kept beside the file. Our choice.
const MOST_OPENED: usize = 8;
/// Days of runs whose last answers are kept: some 40 kB of counts a day. At least two answers are. Our choice.
const DAYS_KEPT: u32 = 4 * 365;
/// Most last answers. Our choice.
const MOST_KEPT: usize = 6;
/// Longest name of a lane, bytes. Our choice.
const LONGEST_LANE: usize = 32;

/// A question of the page.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Question {
    /// Lane: a name for each side of each page.
    pub(super) tab: String,
    /// Number of the move that it belongs to.
    pub(super) number: u64,
    /// The scenario, by the name that its page has.
    of: String,
    /// Choices moved.
    changes: Changes,
    /// Draws to reach; not given where none are asked for.
    #[serde(default)]
    draws: Option<u64>,
}

impl Question {
    /// Whether its parts are of a sensible size.
    pub(super) fn is_sensible(&self) -> bool {
        self.tab.len() <= LONGEST_LANE && self.of.len() <= LONGEST_LANE && self.changes.len() <= 64
    }
}

/// A scenario that the page opens.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Opened {
    name: String,
    text: String,
}

/// Why a question has no answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum NoAnswer {
    /// A later question of the lane has come, or nobody waits any more.
    Overtaken,
    /// The scenario or the answer is not known here.
    Unknown,
    /// The question is wrong, in words.
    Wrong(String),
}

impl From<VariantError> for NoAnswer {
    fn from(error: VariantError) -> Self {
        Self::Wrong(error.to_string())
    }
}

impl From<ScenarioError> for NoAnswer {
    fn from(error: ScenarioError) -> Self {
        Self::Wrong(faults(&error))
    }
}

/// An answer as JSON.
pub(super) type Answer = Result<String, NoAnswer>;

/// A scenario with a page.
struct Known {
    id: String,
    /// Its file as typed, or the name under which it was opened.
    file: String,
    base: Base,
}

/// The answers to a variant so far.
#[derive(Clone)]
struct Kept {
    known: Arc<Known>,
    variant: Arc<Variant>,
    run: Arc<Outcome>,
    settled: Option<Arc<Outcome>>,
    draws: Option<Arc<Mutex<DrawsSoFar>>>,
    study: Option<Arc<UncertaintyAnswer>>,
}

impl Kept {
    /// Whether a choice only moved past it.
    fn is_passed(&self) -> bool {
        self.settled.is_none() && self.draws.is_none()
    }

    /// The outcome that knows most.
    fn outcome(&self) -> &Outcome {
        self.settled.as_ref().unwrap_or(&self.run)
    }
}

/// The desk.
pub(super) struct Desk {
    file: Arc<Known>,
    opened: Mutex<Vec<Arc<Known>>>,
    kept: Mutex<Vec<Kept>>,
    threads: usize,
    /// Requests by lane.
    pub(super) lanes: Lanes,
    /// Best estimates while a choice moves.
    pub(super) quick: Line,
    /// Draws.
    pub(super) slow: Line,
    /// Settled years.
    pub(super) settling: Line,
    /// Charts and pages behind numbers.
    pub(super) reading: Line,
}

impl Desk {
    /// With the scenario of a file, as typed.
    ///
    /// # Errors
    /// If the system refuses a thread.
    pub(super) fn new(file: &str, base: Base) -> io::Result<Self> {
        let known = Known { id: text_hash(&base.text), file: file.to_owned(), base };
        Ok(Self {
            file: Arc::new(known),
            opened: Mutex::default(),
            kept: Mutex::default(),
            threads: thread::available_parallelism().map_or(1, usize::from),
            lanes: Lanes::default(),
            quick: Line::start("best estimates")?,
            slow: Line::start("draws")?,
            settling: Line::start("settled years")?,
            reading: Line::start("pages")?,
        })
    }

    fn known(&self, id: &str) -> Option<Arc<Known>> {
        if id == self.file.id {
            return Some(Arc::clone(&self.file));
        }
        held(&self.opened).iter().find(|known| known.id == id).cloned()
    }

    /// The document of a scenario; of the file if none is named, or if it is no longer known.
    pub(super) fn page(&self, of: Option<&str>) -> String {
        let known = of.and_then(|id| self.known(id)).unwrap_or_else(|| Arc::clone(&self.file));
        page::page(&known.base, &known.id)
    }

    /// Checks and keeps a scenario that the page opens.
    pub(super) fn open(&self, opened: &Opened) -> Answer {
        let plain = opened.name.rsplit(['/', '\\']).next().unwrap_or_default();
        let name: String = plain.chars().take(100).collect();
        let base = Base::new(&name, &opened.text)?;
        let id = text_hash(&base.text);
        let known = Arc::new(Known { id: id.clone(), file: name, base });
        let mut all = held(&self.opened);
        all.retain(|other| other.id != id);
        if all.len() >= MOST_OPENED {
            all.remove(0);
        }
        all.push(known);
        json(&OpenedAs { of: &id })
    }

    fn variant(&self, question: &Question) -> Result<(Arc<Known>, Variant), NoAnswer> {
        let known = self.known(&question.of).ok_or(NoAnswer::Unknown)?;
        let variant = known.base.variant(&question.changes)?;
        Ok((known, variant))
    }

    /// The best estimate of a move.
    pub(super) fn figures(&self, question: &Question, ticket: &Ticket) -> Answer {
        let kept = self.keep(question, ticket)?;
        json(&page::moved(&kept.variant.id, &choices(&kept.variant.plan), &kept.run))
    }

    /// The settled year and the warnings.
    pub(super) fn settled(&self, question: &Question, ticket: &Ticket) -> Answer {
        let kept = self.keep(question, ticket)?;
        let outcome = match &kept.settled {
            Some(there) => Arc::clone(there),
            None => Arc::new(kept.variant.settled()?),
        };
        let mine = Arc::clone(&outcome);
        self.add(&kept.variant.id, |one| one.settled = Some(mine));
        let moved = !question.changes.is_empty();
        json(&page::settled(&kept.variant.id, &outcome, (&kept.known.file, moved)))
    }

    /// Bands of draws, after so many more as the question asks for.
    pub(super) fn draws(&self, question: &Question, ticket: &Ticket) -> Answer {
        let kept = self.keep(question, ticket)?;
        let draws = match &kept.draws {
            Some(there) => Arc::clone(there),
            None => Arc::new(Mutex::new(DrawsSoFar::none(&kept.variant, &kept.run.figures)?)),
        };
        let mine = Arc::clone(&draws);
        self.add(&kept.variant.id, |one| one.draws = Some(mine));
        let study = {
            let mut draws = held(&draws);
            let wanted = question.draws.unwrap_or(MOST_DRAWS);
            if !draws.extend(wanted, self.threads, &Watch::stopped_by(ticket.flag())) {
                return Err(NoAnswer::Overtaken);
            }
            Arc::new(draws.answer().map_err(|error| NoAnswer::Wrong(error.to_string()))?)
        };
        let mine = Arc::clone(&study);
        self.add(&kept.variant.id, |one| one.study = Some(mine));
        json(&page::bands(&kept.variant.id, &kept.run, &study))
    }

    /// The scenario as moved, to be saved.
    pub(super) fn save(&self, question: &Question) -> Answer {
        let (known, variant) = self.variant(question)?;
        let file = saved_name(&known.base.name, !question.changes.is_empty());
        json(&Saved { file, text: &variant.text })
    }

    /// The answers to the variant of a question, of which its run is made if it is not there; they become the newest.
    fn keep(&self, question: &Question, ticket: &Ticket) -> Result<Kept, NoAnswer> {
        if ticket.is_void() {
            return Err(NoAnswer::Overtaken);
        }
        let (known, variant) = self.variant(question)?;
        let there = self.last(&variant.id);
        let one = if let Some(one) = there {
            one
        } else {
            let run = Arc::new(variant.outcome()?);
            Kept { known, run, variant: Arc::new(variant), settled: None, draws: None, study: None }
        };
        let mut all = held(&self.kept);
        all.retain(|other| other.variant.id != one.variant.id);
        let most = usize::try_from(DAYS_KEPT / one.variant.plan.days.max(1))
            .unwrap_or(MOST_KEPT)
            .clamp(2, MOST_KEPT);
        while all.len() >= most {
            // first what a choice only moved past, so that a pinned variant stays
            let oldest = all.iter().position(Kept::is_passed).unwrap_or(0);
            all.remove(oldest);
        }
        all.push(one.clone());
        Ok(one)
    }

    /// Adds to the answers to a variant, if they are still kept.
    fn add(&self, id: &str, what: impl FnOnce(&mut Kept)) {
        if let Some(mine) = held(&self.kept).iter_mut().find(|one| one.variant.id == id) {
            what(mine);
        }
    }

    fn last(&self, id: &str) -> Option<Kept> {
        held(&self.kept).iter().find(|kept| kept.variant.id == id).cloned()
    }

    /// The page behind a figure.
    pub(super) fn number(&self, name: &str, of: &str, units: Units) -> Answer {
        let kept = self.last(of).ok_or(NoAnswer::Unknown)?;
        let figure = kept.outcome().named(&[name]).pop().ok_or(NoAnswer::Unknown)?;
        let study = kept.study.as_deref();
        let moved_by = study.and(kept.draws.as_ref()).map(|draws| {
            // a copy, so that draws that are being made meanwhile need not wait
            let draws = held(draws).clone();
            draws.drivers(name)
        });
        Ok(details::figure(&figure, study, moved_by.as_ref(), (&kept.variant.plan, units)))
    }

    /// The page behind a choice, by its place.
    pub(super) fn choice(&self, place: usize, of: Option<&str>, units: Units) -> Answer {
        let kept = of.and_then(|id| self.last(id));
        let all = kept.map_or_else(|| self.file.base.choices.clone(), |kept| choices(&kept.variant.plan));
        all.get(place).map(|choice| details::choice(choice, units)).ok_or(NoAnswer::Unknown)
    }

    /// The page of all rates behind a run.
    pub(super) fn rates(&self, of: Option<&str>) -> Answer {
        let plan = |variant: &Variant| Ok(details::rates(&variant.plan, &variant.rates()?));
        match of.and_then(|id| self.last(id)) {
            Some(kept) => plan(&kept.variant),
            None => plan(&self.file.base.variant(&Changes::new())?),
        }
    }

    /// A chart of the last answer with this name.
    pub(super) fn chart(&self, name: &str, of: &str, units: Units) -> Answer {
        let kept = self.last(of).ok_or(NoAnswer::Unknown)?;
        page::picture(name, &kept.run.answer, kept.study.as_deref(), units).ok_or(NoAnswer::Unknown)
    }
}

#[derive(Serialize)]
struct OpenedAs<'a> {
    of: &'a str,
}

#[derive(Serialize)]
struct Saved<'a> {
    file: String,
    text: &'a str,
}

fn json(answer: &impl Serialize) -> Answer {
    serde_json::to_string(answer).map_err(|error| NoAnswer::Wrong(error.to_string()))
}
