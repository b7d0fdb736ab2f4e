//! The known name that a mistyped one was probably meant to be.

use std::fmt::Display;

/// The known name nearest to a mistyped one; of equally near names the first. None if no name is near.
///
/// A name is near if at most two fifths of the letters are wrong (1 to 6 letters). One word of a name counts as the name
/// (`cardboard` for `cardboard_corrugated`), so does its end after the last dot, and so does its beginning.
/// Letters are compared without case; a space or a hyphen is an underscore.
pub fn nearest<'a>(given: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let folded = given.to_lowercase().replace(['-', ' '], "_");
    let letters = folded.chars().count();
    let limit = (letters * 2 / 5).clamp(1, 6);
    let known: Vec<&str> = known.into_iter().collect();
    let ranked = known.iter().map(|name| {
        let distance = |part: &str| strsim::damerau_levenshtein(&folded, &part.to_lowercase());
        let whole = distance(name);
        let last = name.rsplit('.').next().map_or(whole, distance);
        let word = name.split(['_', '.']).filter(|_| letters >= 4).map(distance).min().unwrap_or(whole);
        (whole.min(last).min(word), whole.min(last), *name)
    });
    let near = ranked.filter(|r| r.0 <= limit).min_by_key(|r| (r.0, r.1)).map(|r| r.2);
    near.or_else(|| known.iter().copied().find(|name| letters >= 3 && name.starts_with(&folded)))
}

/// A hint that asks for a name.
pub fn did_you_mean(name: impl Display) -> String {
    format!("did you mean `{name}`?")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_near_name_is_found_by_the_whole_a_word_an_end_or_a_beginning() {
        let known =
            ["bed.decay_rate_protein", "cardboard_corrugated", "castings_carbon_to_nitrogen", "bread"];
        for (given, name) in [
            ("bed.decay_rate_protien", "bed.decay_rate_protein"),
            ("decay_rate_protien", "bed.decay_rate_protein"),
            ("Bread", "bread"),
            ("brede", "bread"),
            ("cardbord", "cardboard_corrugated"),
            ("castings_carbon_to", "castings_carbon_to_nitrogen"),
        ] {
            assert_eq!(nearest(given, known), Some(name), "{given}");
        }
        assert_eq!(nearest("zzz", known), None);
    }
}
