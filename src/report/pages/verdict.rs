//! The verdict on a site in words, the same on every page.

use crate::quantity::Units;
use crate::report::number::format_percent;
use crate::report::pages::page::Page;
use crate::report::pages::uncertainty::statement;
use crate::study::verdict::{Standing, Verdict, Weighed};

/// Failures named in one sentence.
const NAMED: usize = 3;

/// How a site stands, in two words or three.
pub(crate) const fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Works => "it works",
        Standing::AtRisk => "at risk",
        Standing::Fails => "it fails",
    }
}

/// The verdict in a sentence without its first capital: how the site stands, and the failures that decide it.
pub(crate) fn sentence(verdict: &Verdict, units: Units) -> String {
    let stands = standing(verdict.standing);
    let against: Vec<String> = verdict.against().take(NAMED).map(|w| failure(w, verdict, units)).collect();
    let more = verdict.against().count().saturating_sub(NAMED);
    let more = if more > 0 { format!("; and {more} more") } else { String::new() };
    match (verdict.draws, verdict.standing) {
        (0, Standing::Works) => {
            format!("{stands} in the best-estimate run: no failure happens; draws show how likely that is")
        }
        (0, _) => format!("{stands} in the best-estimate run: {}{more}", against.join("; ")),
        (_, Standing::Works) => {
            let nearest = verdict.weighed.first().filter(|w| w.chance > 0.0);
            let nearest = nearest.map_or_else(
                || "none happens in any draw".to_owned(),
                |w| format!("likeliest: {}", failure(w, verdict, units)),
            );
            format!("{stands}: no failure is likelier than allowed; {nearest}")
        }
        _ => format!("{stands}: {}{more}", against.join("; ")),
    }
}

/// A failure with its chance and what is allowed of it.
fn failure(w: &Weighed, verdict: &Verdict, units: Units) -> String {
    let said = statement(w.statement, units);
    if verdict.draws == 0 {
        return said;
    }
    let limit = match w.standing {
        Standing::Fails => format!("a site fails above {}", format_percent(verdict.rule.fails_chance)),
        _ => format!("{} allowed", format_percent(w.allowed)),
    };
    format!("{said} ({} of draws, {limit})", format_percent(w.chance))
}

/// The rule of the verdict, in words, and where it is set.
pub(crate) fn rule(verdict: &Verdict) -> String {
    format!("{} The scenario sets these chances under `verdict`.", thresholds(verdict))
}

/// The rule of the verdict, in words.
pub(crate) fn thresholds(verdict: &Verdict) -> String {
    let [serious, caution, fails] =
        [verdict.rule.serious_chance, verdict.rule.caution_chance, verdict.rule.fails_chance]
            .map(format_percent);
    format!(
        "A site is at risk when a serious failure happens in more than {serious} of the draws or another failure in more than \
         {caution}, and fails when a serious one happens in more than {fails}."
    )
}

/// The verdict with its rule.
pub(in crate::report) fn verdict(verdict: &Verdict, page: &mut Page) {
    page.line("verdict", &sentence(verdict, page.units()));
    page.paragraph(&rule(verdict));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample::RULE;
    use crate::trace::failures::FAILURES;

    fn of(chances: &[(&str, f64)], draws: usize) -> String {
        let named = |name: &str| FAILURES.iter().find(|f| f.name == name).unwrap();
        let chances = chances.iter().map(|(name, chance)| (named(name), *chance));
        sentence(&Verdict::of(chances, draws, RULE), Units::Us)
    }

    #[test]
    fn a_verdict_names_what_decides_it_with_chance_and_limit() {
        assert_eq!(
            of(&[("overheated", 0.48), ("spoiled", 0.2)], 100),
            "at risk: a bed passes 91.4 °F somewhere, where worms begin to die (48.0 % of draws, 10.0 % allowed)"
        );
        assert_eq!(
            of(&[("turned_away", 0.9)], 100),
            "it fails: more than 2 % of the scraps of a settled year are turned away (90.0 % of draws, a site fails above 50.0 %)"
        );
        assert_eq!(
            of(&[("spoiled", 0.2)], 100),
            "it works: no failure is likelier than allowed; likeliest: more than 2 % of the drums spoil (20.0 % of draws, 33.0 % allowed)"
        );
        assert!(of(&[("spoiled", 0.0)], 100).ends_with("none happens in any draw"));
    }

    #[test]
    fn without_draws_the_run_alone_is_judged() {
        assert_eq!(
            of(&[("soured", 1.0)], 0),
            "it fails in the best-estimate run: a bed falls below pH 5 where worms live"
        );
        assert!(
            of(&[("soured", 0.0)], 0).starts_with("it works in the best-estimate run: no failure happens")
        );
    }

    #[test]
    fn the_rule_is_printed_with_its_chances() {
        let text = rule(&Verdict::of([], 10, RULE));
        assert!(text.contains("10.0 %") && text.contains("33.0 %") && text.contains("50.0 %"), "{text}");
    }
}
