//! Stratified designs: Latin hypercubes in blocks.
//!
//! A block is a Latin hypercube: for each quantity the unit interval is cut into as many strata as the block has draws, and each
//! draw gets one stratum of its own. Which one, a permutation says that depends on seed, block and name of the
//! quantity; where inside it, the stream of that draw. A block can be made without any other, so a draw depends on the seed
//! and its number alone; full blocks are independent repeats of each other, so their scatter gives standard errors.
//!
//! The matrices of a Saltelli design are two hypercubes of all rows. Quasi-random points are not used: with more than two
//! hundred columns their first points cover many pairs of columns poorly, their number must be a power of two, and they can be
//! repeated only by scrambling. The hypercube removes the first-order part of the variance, most of it here, at any number of rows.

use super::generator::{self, Purpose, named_stream, stream};

/// Draws in a block. Our choice: four blocks, the least for a standard error, are 1000 draws.
pub const BLOCK: usize = 250;

/// Number of the block a draw is in, from 0.
pub const fn block_of(draw: u64) -> u64 {
    draw / BLOCK as u64
}

/// Place of a draw in its block, from 0.
///
/// # Panics
/// Never: a place is below [`BLOCK`].
pub fn place_in_block(draw: u64) -> usize {
    usize::try_from(draw % BLOCK as u64).expect("a place is below the size of a block")
}

/// The stratum, from 0, of every draw of a block for one named quantity: a random permutation.
pub fn strata(seed: u64, name: &str, block: u64) -> Vec<usize> {
    let mut order: Vec<usize> = (0..BLOCK).collect();
    generator::shuffle(&mut named_stream(seed, Purpose::Shuffle, name, block), &mut order);
    order
}

/// Where inside its stratum a draw lies for one named quantity: above 0, below 1.
pub fn jitter(seed: u64, name: &str, draw: u64) -> f64 {
    generator::uniform(&mut named_stream(seed, Purpose::Rates, name, draw))
}

/// The uniform number of a stratum out of `strata` and a place inside it: (stratum + place) / strata.
pub fn uniform(stratum: usize, place: f64, strata: usize) -> f64 {
    // a place so near 1 that the sum rounds up would leave the stratum
    ((stratum as f64 + place) / strata as f64).min(((stratum + 1) as f64 / strata as f64).next_down())
}

/// The two independent matrices of a Saltelli design, each a Latin hypercube of `rows` rows with a column for every name.
#[derive(Debug, Clone, PartialEq)]
pub struct Matrices {
    /// A, a uniform number by row (outer) and name (inner).
    pub a: Vec<Vec<f64>>,
    /// B, likewise.
    pub b: Vec<Vec<f64>>,
}

/// The matrices of a Saltelli design with `rows` rows, stratified over all rows.
pub fn saltelli(seed: u64, names: &[&str], rows: usize) -> Matrices {
    Matrices { a: hypercube(seed, names, rows, 0), b: hypercube(seed, names, rows, 1) }
}

fn hypercube(seed: u64, names: &[&str], rows: usize, which: u64) -> Vec<Vec<f64>> {
    let mut matrix = vec![Vec::new(); rows];
    for name in names {
        // strata and places of a column come from one stream, since all rows are made together
        let mut source = named_stream(seed, Purpose::Sensitivity, name, which);
        let mut order: Vec<usize> = (0..rows).collect();
        generator::shuffle(&mut source, &mut order);
        for (row, stratum) in matrix.iter_mut().zip(order) {
            row.push(uniform(stratum, generator::uniform(&mut source), rows));
        }
    }
    matrix
}

/// Uniform numbers by row (outer) and column (inner) without strata, for comparison and for the coverage of intervals.
pub fn plain(seed: u64, columns: usize, rows: usize) -> Vec<Vec<f64>> {
    (0..rows as u64)
        .map(|row| {
            let mut source = stream(seed, Purpose::Sensitivity, row);
            (0..columns).map(|_| generator::uniform(&mut source)).collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_next_to_1_stays_in_its_stratum() {
        // 249 and the largest number below 1 round to 250
        let place = 1.0_f64.next_down();
        assert!(249.0 + place >= 250.0);
        assert_eq!(uniform(249, place, 250).to_bits(), 1.0_f64.next_down().to_bits());
        assert_eq!(uniform(124, place, 250).to_bits(), 0.5_f64.next_down().to_bits());
    }
}
