//! How a site is judged.

use crate::quantity::Kind::Share;
use crate::scenario::check::Checker;
use crate::scenario::path::KeyPath;
use crate::scenario::rule::set;
use crate::scenario::section::section;
use crate::trace::failures::VerdictRule;

section! {
    /// How failures weigh in the verdict on the site: by severity and by chance.
    #[derive(Copy)]
    pub struct Verdict checked by in_order {
        /// Largest share of the draws in which a serious failure may happen in a site that works.
        serious_chance: f64 = set(Share, 0.0, 1.0, 0.1, "choice"),
        /// Largest share of the draws in which any other failure may happen in a site that works.
        caution_chance: f64 = set(Share, 0.0, 1.0, 0.33, "choice"),
        /// Share of the draws above which a serious failure means that the site fails, not only that it is at risk.
        fails_chance: f64 = set(Share, 0.0, 1.0, 0.5, "choice"),
    }
}

impl Verdict {
    /// The rule of the verdict.
    pub fn rule(&self) -> VerdictRule {
        let Self { serious_chance, caution_chance, fails_chance } = *self;
        VerdictRule { serious_chance, caution_chance, fails_chance }
    }
}

fn in_order(check: &mut Checker<'_>, path: &KeyPath, verdict: &Verdict) {
    if verdict.serious_chance > verdict.fails_chance {
        let problem = "a site would fail before it is at risk";
        check.wrong(&path.key("fails_chance"), problem, "at least `serious_chance`", None);
    }
}
