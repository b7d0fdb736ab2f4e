//! Warnings that differ only in the bed, reported as one.

use super::{Severity, Warning};
use crate::quantity::Units;

/// A warning of one place or of several beds.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Beds it was seen in, from 1; empty for a warning of the site.
    pub beds: Vec<u32>,
    /// Fewest and most days in one bed.
    pub days: (u32, u32),
    /// The worst of them, with the first day of all.
    pub warning: Warning,
}

impl Group {
    fn of(warning: &Warning) -> Self {
        let days = warning.spell().map_or(0, |spell| spell.days);
        Self { beds: warning.bed().into_iter().collect(), days: (days, days), warning: warning.clone() }
    }

    /// Whether the other is the same warning of another bed.
    fn takes(&self, other: &Self) -> bool {
        !self.beds.is_empty() && !other.beds.is_empty() && self.warning.code() == other.warning.code()
    }

    fn take_in(&mut self, other: Self) {
        let (here, there) = (self.warning.spell().copied(), other.warning.spell().copied());
        if let (Some(here), Some(there)) = (here, there) {
            if self.warning.worst().of(here.worst, there.worst).to_bits() != here.worst.to_bits() {
                self.warning = other.warning;
            }
            if let Some(spell) = self.warning.spell_mut() {
                spell.first = here.first.min(there.first);
            }
        }
        self.beds.extend(other.beds);
        self.days = (self.days.0.min(other.days.0), self.days.1.max(other.days.1));
    }

    /// What is wrong, with figures in the reader's units.
    pub fn message_in(&self, units: Units) -> String {
        if self.beds.len() < 2 {
            return self.warning.message_in(units);
        }
        let when = self.warning.spell().map_or_else(String::new, |spell| match self.days {
            (least, most) if least == most && most < 2 => spell.to_text(),
            (least, most) if least == most => format!("on {most} days each from {}", spell.first),
            (least, most) => format!("on {least} to {most} days each from {}", spell.first),
        });
        format!("beds {}: {}", ranges(&self.beds), self.warning.text_on(&when, units))
    }

    /// What may be done about it.
    pub fn hint(&self) -> &'static str {
        self.warning.hint()
    }

    /// How much it matters.
    pub fn severity(&self) -> Severity {
        self.warning.severity()
    }
}

/// Groups warnings that differ only in the bed; the worst first, of the same severity those that harm people, otherwise in the order
/// first seen.
pub fn grouped<'a>(warnings: impl IntoIterator<Item = &'a Warning>) -> Vec<Group> {
    let mut out: Vec<Group> = Vec::new();
    for warning in warnings {
        let one = Group::of(warning);
        match out.iter_mut().find(|group| group.takes(&one)) {
            Some(group) => group.take_in(one),
            None => out.push(one),
        }
    }
    out.sort_by_key(|group| std::cmp::Reverse(group.warning.rank()));
    out
}

/// "1-3, 5".
fn ranges(numbers: &[u32]) -> String {
    let mut sorted = numbers.to_vec();
    sorted.sort_unstable();
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for number in sorted {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 >= number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let text = |(first, last): &(u32, u32)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first}-{last}"),
    };
    runs.iter().map(text).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::warning::Spell;
    use jiff::civil::date;

    fn starving(bed: u32, day: i8, days: u32, worst: f64) -> Warning {
        Warning::WormsStarving { bed, spell: Spell { first: date(2031, 7, day), days, worst } }
    }

    #[test]
    fn beds_with_the_same_warning_are_one_line() {
        let all = [
            starving(2, 4, 30, 0.2),
            Warning::NoIntake,
            starving(1, 9, 20, 0.5),
            starving(3, 5, 47, 0.1),
            starving(7, 6, 25, 0.4),
        ];
        let groups = grouped(&all);
        assert_eq!(groups.len(), 2);
        assert_eq!(groups[0].warning, Warning::NoIntake, "the serious one first");
        assert_eq!(
            groups[1].message_in(Units::Si),
            "beds 1-3, 7: worms ate less than they need to keep their weight on 20 to 47 days each from 2031-07-04; \
             lowest 10.0 % of it"
        );
        let even = grouped(&[starving(1, 4, 9, 0.2), starving(2, 4, 9, 0.2)]);
        assert!(even[0].message_in(Units::Si).contains("beds 1, 2: ") && even[0].days == (9, 9));
        assert!(even[0].message_in(Units::Si).contains("on 9 days each from 2031-07-04"));
    }

    #[test]
    fn a_single_bed_and_the_site_keep_their_message() {
        for warning in [starving(4, 4, 30, 0.2), Warning::StockBelowNeed { have_kg: 1.0, need_kg: 4.0 }] {
            let group = &grouped([&warning])[0];
            assert_eq!(group.message_in(Units::Si), warning.message());
            assert_eq!((group.hint(), group.severity()), (warning.hint(), warning.severity()));
        }
    }

    #[test]
    fn figures_are_in_the_reader_s_units() {
        let spell = Spell::day(date(2031, 7, 5), 35.0);
        let hot = Warning::BedTooHot { bed: 2, limit_celsius: 33.0, spell };
        assert_eq!(hot.message_in(Units::Us), "bed 2: above 91.4 °F on 2031-07-05; highest 95 °F");
        let few = Warning::StockBelowNeed { have_kg: 10.0, need_kg: 40.0 };
        assert!(few.message_in(Units::Us).starts_with("22.05 lb of worms"), "{}", few.message_in(Units::Us));
    }
}
