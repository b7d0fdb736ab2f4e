//! Random numbers: ChaCha with 8 rounds, one stream for each purpose and draw.
//!
//! The generator is named, portable and counter-based: a stream is picked by its number at no cost, so no generator is ever shared
//! or advanced by another part. It is one of `rand`, so the distributions of `rand` and `rand_distr` sample from it; tests pin the
//! values, since a later version of a library may sample in another way.

use rand::distr::{Distribution, Open01};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// What a stream is for. The numbers are fixed: a purpose added later gets the next one and shifts no other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Purpose {
    /// Place of a draw inside its stratum, for every unknown.
    Rates,
    /// Outdoor temperature of each day.
    Weather,
    /// Intake of each day.
    Intake,
    /// Luck of the drums sealed on each day.
    Drums,
    /// Which draw gets which stratum.
    Shuffle,
    /// Resampling of results.
    Bootstrap,
    /// Rows of a design for sensitivity indices.
    Sensitivity,
    /// Errors that an ensemble smoother adds to measurements.
    Smoother,
}

impl Purpose {
    /// The fixed number, which picks the streams.
    pub const fn number(self) -> u8 {
        match self {
            Self::Rates => 1,
            Self::Weather => 2,
            Self::Intake => 3,
            Self::Drums => 4,
            Self::Shuffle => 5,
            Self::Bootstrap => 6,
            Self::Sensitivity => 7,
            Self::Smoother => 8,
        }
    }
}

/// Draws are numbered below this, so that purpose and draw fit one stream number.
pub const MOST_DRAWS: u64 = 1 << 56;

/// The stream of a purpose and a draw: number purpose x 2^56 + draw of the generator of that seed.
///
/// # Panics
/// On a draw of [`MOST_DRAWS`] or more.
pub fn stream(seed: u64, purpose: Purpose, draw: u64) -> ChaCha8Rng {
    assert!(draw < MOST_DRAWS, "draws are numbered below 2^56");
    let mut generator = ChaCha8Rng::seed_from_u64(seed);
    generator.set_stream((u64::from(purpose.number()) << 56) | draw);
    generator
}

/// The stream of a purpose and a draw for one named quantity: that of [`stream`] on a seed mixed with the name.
///
/// A name keeps its numbers whatever other names there are.
///
/// # Panics
/// On a draw of [`MOST_DRAWS`] or more.
pub fn named_stream(seed: u64, purpose: Purpose, name: &str, draw: u64) -> ChaCha8Rng {
    stream(mixed(seed ^ mixed(name_hash(name))), purpose, draw)
}

/// FNV-1a, 64 bits. Source: Fowler, Noll and Vo; offset and prime as published.
fn name_hash(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// Spreads a change of any bit over all. Source: the finishing step of SplitMix64 (Steele, Lea and Flood 2014).
const fn mixed(word: u64) -> u64 {
    let word = word.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let word = (word ^ (word >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let word = (word ^ (word >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    word ^ (word >> 31)
}

/// A uniform number above 0 and below 1, as inverse distribution functions need it: (k + 1/2) / 2^52 with k the leading 52 bits of a
/// word.
pub fn uniform(source: &mut impl Rng) -> f64 {
    Open01.sample(source)
}

/// A whole number below `bound`, each equally likely. It is written out here, and so is [`shuffle`], because the order of strata
/// decides every draw and must not change with the version of a library.
///
/// # Source
/// Multiplication with rejection (Lemire 2019).
///
/// # Panics
/// On a bound of 0.
pub fn below(source: &mut impl Rng, bound: usize) -> usize {
    assert!(bound > 0, "nothing is below 0");
    let bound = bound as u64;
    let unfair = bound.wrapping_neg() % bound;
    loop {
        let word = source.next_u64();
        if word.wrapping_mul(bound) >= unfair {
            let high = (u128::from(word) * u128::from(bound)) >> 64;
            return usize::try_from(high).expect("below the bound, which is a usize");
        }
    }
}

/// Brings a list into random order. Source: Fisher and Yates, from the end.
pub fn shuffle<T>(source: &mut impl Rng, list: &mut [T]) {
    for last in (1..list.len()).rev() {
        list.swap(last, below(source, last + 1));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_uniform_number_is_the_middle_of_one_of_2_to_the_52_parts() {
        let (mut words, mut numbers) = (stream(1, Purpose::Rates, 2), stream(1, Purpose::Rates, 2));
        for _ in 0..100 {
            let part = uniform(&mut numbers) * 2.0_f64.powi(52);
            assert_eq!(part.to_bits(), ((words.next_u64() >> 12) as f64 + 0.5).to_bits());
        }
    }
}
