//! Numbers side by side: one, or four in step, so that the same code computes one bed or four at once.
//!
//! A *lane* is one of these numbers. The result in a lane never depends on its neighbours: four lanes give exactly the bits
//! that each gives alone, on any processor, because nothing is fused or reordered and the exponential is our own.

use std::array;
use std::fmt::Debug;
use std::ops::{Add, AddAssign, BitAnd, BitOr, Div, Mul, Neg, Not, Sub, SubAssign};

/// One number, or several side by side.
pub trait Lane:
    Copy
    + PartialEq
    + Debug
    + From<f64>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
{
    /// Number of lanes.
    const COUNT: usize;
    /// 0 in every lane.
    const ZERO: Self;
    /// 1 in every lane.
    const ONE: Self;
    /// A truth value in each lane.
    type Mask: Mask;

    /// The number that `each` gives for a lane; lanes count from 0.
    fn gather(each: impl FnMut(usize) -> f64) -> Self;
    /// The number in a lane.
    fn lane(self, place: usize) -> f64;
    /// Where this is less than `other`.
    fn lt(self, other: Self) -> Self::Mask;
    /// `yes` where the mask is true and `no` elsewhere; both are computed.
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// Square root.
    #[must_use]
    fn sqrt(self) -> Self;
    /// Applies `work` to the 64 bits of each number.
    #[must_use]
    fn map_bits(self, work: impl Fn(u64) -> u64) -> Self;

    /// Where this is greater than 0.
    #[inline(always)]
    fn is_positive(self) -> Self::Mask {
        Self::ZERO.lt(self)
    }

    /// The smaller of the two; `other` if this is not a number.
    #[inline(always)]
    #[must_use]
    fn min(self, other: Self) -> Self {
        Self::select(self.lt(other), self, other)
    }

    /// The larger of the two; `other` if this is not a number.
    #[inline(always)]
    #[must_use]
    fn max(self, other: Self) -> Self {
        Self::select(other.lt(self), self, other)
    }

    /// Not below `low` and not above `high`.
    #[inline(always)]
    #[must_use]
    fn clamp(self, low: f64, high: f64) -> Self {
        self.max(Self::from(low)).min(Self::from(high))
    }

    /// Absolute value.
    #[inline(always)]
    #[must_use]
    fn abs(self) -> Self {
        self.map_bits(
            #[inline(always)]
            |bits| bits & (u64::MAX >> 1),
        )
    }
}

/// A truth value in each lane.
pub trait Mask: Copy + BitAnd<Output = Self> + BitOr<Output = Self> + Not<Output = Self> {
    /// The same value in every lane.
    fn splat(all: bool) -> Self;
    /// Whether any lane is true.
    fn any(self) -> bool;
    /// Whether every lane is true.
    fn all(self) -> bool;
    /// The value in a lane.
    fn lane(self, place: usize) -> bool;
}

impl Lane for f64 {
    const COUNT: usize = 1;
    const ZERO: Self = 0.0;
    const ONE: Self = 1.0;
    type Mask = bool;

    #[inline(always)]
    fn gather(mut each: impl FnMut(usize) -> f64) -> Self {
        // as in four lanes, where a negative zero loses its sign
        each(0) + 0.0
    }
    #[inline(always)]
    fn lane(self, _: usize) -> f64 {
        self
    }
    #[inline(always)]
    fn lt(self, other: Self) -> bool {
        self < other
    }
    #[inline(always)]
    fn select(mask: bool, yes: Self, no: Self) -> Self {
        if mask { yes } else { no }
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Self::sqrt(self)
    }
    #[inline(always)]
    fn map_bits(self, work: impl Fn(u64) -> u64) -> Self {
        Self::from_bits(work(self.to_bits()))
    }
}

impl Mask for bool {
    #[inline(always)]
    fn splat(all: bool) -> Self {
        all
    }
    #[inline(always)]
    fn any(self) -> bool {
        self
    }
    #[inline(always)]
    fn all(self) -> bool {
        self
    }
    #[inline(always)]
    fn lane(self, _: usize) -> bool {
        self
    }
}

/// Four numbers side by side, the width of a 256-bit register.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(32))]
pub struct Four([f64; 4]);

/// True (all bits set) or false (none set) in four lanes.
#[derive(Debug, Clone, Copy)]
#[repr(align(32))]
pub struct FourMask([u64; 4]);

impl From<f64> for Four {
    #[inline(always)]
    fn from(x: f64) -> Self {
        Self([x; 4])
    }
}

impl Lane for Four {
    const COUNT: usize = 4;
    const ZERO: Self = Self([0.0; 4]);
    const ONE: Self = Self([1.0; 4]);
    type Mask = FourMask;

    #[inline(always)]
    fn gather(mut each: impl FnMut(usize) -> f64) -> Self {
        // adding nothing makes vectors of the numbers: those that are only copied are stored one by one, and then read late
        Self([each(0) + 0.0, each(1) + 0.0, each(2) + 0.0, each(3) + 0.0])
    }
    #[inline(always)]
    fn lane(self, place: usize) -> f64 {
        self.0[place]
    }
    #[inline(always)]
    fn lt(self, other: Self) -> FourMask {
        FourMask(array::from_fn(
            #[inline(always)]
            |i| if self.0[i] < other.0[i] { u64::MAX } else { 0 },
        ))
    }
    #[inline(always)]
    fn select(mask: FourMask, yes: Self, no: Self) -> Self {
        Self(array::from_fn(
            #[inline(always)]
            |i| f64::from_bits((mask.0[i] & yes.0[i].to_bits()) | (!mask.0[i] & no.0[i].to_bits())),
        ))
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Self(self.0.map(f64::sqrt))
    }
    #[inline(always)]
    fn map_bits(self, work: impl Fn(u64) -> u64) -> Self {
        Self(array::from_fn(
            #[inline(always)]
            |i| f64::from_bits(work(self.0[i].to_bits())),
        ))
    }
}

impl Mask for FourMask {
    #[inline(always)]
    fn splat(all: bool) -> Self {
        Self([if all { u64::MAX } else { 0 }; 4])
    }
    #[inline(always)]
    fn any(self) -> bool {
        (self.0[0] | self.0[1] | self.0[2] | self.0[3]) != 0
    }
    #[inline(always)]
    fn all(self) -> bool {
        (self.0[0] & self.0[1] & self.0[2] & self.0[3]) != 0
    }
    #[inline(always)]
    fn lane(self, place: usize) -> bool {
        self.0[place] != 0
    }
}

impl BitAnd for FourMask {
    type Output = Self;
    #[inline(always)]
    fn bitand(self, other: Self) -> Self {
        let (a, b) = (self.0, other.0);
        Self([a[0] & b[0], a[1] & b[1], a[2] & b[2], a[3] & b[3]])
    }
}

impl BitOr for FourMask {
    type Output = Self;
    #[inline(always)]
    fn bitor(self, other: Self) -> Self {
        let (a, b) = (self.0, other.0);
        Self([a[0] | b[0], a[1] | b[1], a[2] | b[2], a[3] | b[3]])
    }
}

impl Not for FourMask {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        let a = self.0;
        Self([!a[0], !a[1], !a[2], !a[3]])
    }
}

macro_rules! four_arithmetic {
    ($($trait:ident $method:ident $operator:tt),*) => {$(
        impl $trait for Four {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                let (a, b) = (self.0, other.0);
                Self([a[0] $operator b[0], a[1] $operator b[1], a[2] $operator b[2], a[3] $operator b[3]])
            }
        }
        impl $trait<f64> for Four {
            type Output = Self;
            #[inline(always)]
            fn $method(self, b: f64) -> Self {
                let a = self.0;
                Self([a[0] $operator b, a[1] $operator b, a[2] $operator b, a[3] $operator b])
            }
        }
    )*};
}
four_arithmetic!(Add add +, Sub sub -, Mul mul *, Div div /);

impl Neg for Four {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        let a = self.0;
        Self([-a[0], -a[1], -a[2], -a[3]])
    }
}

impl AddAssign for Four {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Four {
    #[inline(always)]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

/// Does work for each of the first `count` lanes, at most those of L. Their places are known when this is compiled, so numbers need not
/// lie in memory for one of their lanes to be picked; the work must be `#[inline(always)]` to gain by it.
#[inline(always)]
pub fn each_lane<L: Lane>(count: usize, mut work: impl FnMut(usize)) {
    if count > 0 {
        work(0);
    }
    if L::COUNT > 1 && count > 1 {
        work(1);
    }
    if L::COUNT > 2 && count > 2 {
        work(2);
    }
    if L::COUNT > 3 && count > 3 {
        work(3);
    }
}

const _: () = assert!(Four::COUNT == 4);

/// Does work on lanes in the widest registers of the processor. The work must be `#[inline(always)]` to gain by it; its results are
/// the same in any registers.
#[allow(
    unsafe_code,
    reason = "a function compiled for wider registers is unsafe to call; the processor is checked first"
)]
#[inline]
pub fn in_wide_registers<R>(work: impl FnOnce() -> R) -> R {
    #[cfg(target_arch = "x86_64")]
    {
        #[target_feature(enable = "avx2")]
        fn wide<R>(work: impl FnOnce() -> R) -> R {
            work()
        }
        if is_x86_feature_detected!("avx2") {
            // SAFETY: `wide` needs a processor with AVX2, which was checked just above
            return unsafe { wide(work) };
        }
    }
    work()
}

/// The exponential as a power of two and a remainder: `exp(x) = power (1 + rest)`.
struct Parts<L> {
    power: L,
    rest: L,
}

/// Coefficients of `exp(r) - 1 - r` over `r^2`: 1/2!, 1/3!, to 1/13!.
const SERIES: [f64; 12] = {
    let mut terms = [0.5; 12];
    let mut n = 1;
    while n < 12 {
        terms[n] = terms[n - 1] / (n as f64 + 2.0);
        n += 1;
    }
    terms
};

/// Splits `x = n ln 2 + r`, r at most half of ln 2; the series of r is good to 1e-17.
#[inline(always)]
fn parts<L: Lane>(x: L) -> Parts<L> {
    // after adding this, the lowest bits hold the nearest whole number
    const ROUND: f64 = 6_755_399_441_055_744.0;
    // ln 2 in two parts; the first is short enough for its product with n to be exact
    const LN_2: [f64; 2] = [0.693_147_180_369_123_8, 1.908_214_929_270_587_7e-10];
    let x = x.clamp(-700.0, 700.0);
    let shifted = x * std::f64::consts::LOG2_E + ROUND;
    let power = shifted.map_bits(
        #[inline(always)]
        |bits| bits.wrapping_add(1023) << 52,
    );
    let n = shifted - ROUND;
    let r = x - n * LN_2[0] - n * LN_2[1];
    // summed in pairs of pairs, which depend less on one another than a chain of twelve
    let (r2, c) = (r * r, SERIES);
    let r4 = r2 * r2;
    let low = (r * c[3] + c[2]) * r2 + (r * c[1] + c[0]);
    let middle = (r * c[7] + c[6]) * r2 + (r * c[5] + c[4]);
    let high = (r * c[11] + c[10]) * r2 + (r * c[9] + c[8]);
    Parts { power, rest: r + r2 * ((high * r4 + middle) * r4 + low) }
}

/// e to the power x, to two units in the last place; x is limited to -700 and 700.
#[inline(always)]
pub fn exp<L: Lane>(x: L) -> L {
    let Parts { power, rest } = parts(x);
    power + power * rest
}

/// 10 to the power x.
#[inline(always)]
pub fn exp10<L: Lane>(x: L) -> L {
    exp(x * std::f64::consts::LN_10)
}

/// Share lost in a unit of time by a first-order loss at rate x, `1 - exp(-x)`; accurate to a few units in the last place for
/// any x, however small.
#[inline(always)]
pub fn share_lost<L: Lane>(x: L) -> L {
    let Parts { power, rest } = parts(-x);
    // the power of a small x is 1, and the bracket exactly 0
    (L::ONE - power) - power * rest
}

/// Cube root of a number that is not negative, to a few units in the last place.
#[inline(always)]
pub fn cbrt<L: Lane>(x: L) -> L {
    // first guess of 1/y within 4 % by a third of the exponent, of its upper half only, which registers multiply; then steps of third
    // order, each of which about cubes the error, and one of Newton for the root itself, which takes the rounding of the others away;
    // none of them divides
    let mut inverse = x.map_bits(
        #[inline(always)]
        |bits| 0x553E_F0FF_289D_D796 - (bits >> 32) * 0x5555_5555,
    );
    for _ in 0..3 {
        let off = L::ONE - x * inverse * inverse * inverse;
        inverse += inverse * off * (off * (2.0 / 9.0) + 1.0 / 3.0);
    }
    let square = inverse * inverse;
    let y = x * square;
    let y = y + (x - y * y * y) * square * (1.0 / 3.0);
    L::select(x.is_positive(), y, L::ZERO)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// An endless sequence of numbers between 0 and 1 (Lehmer generator, 48271 modulo 2^31 - 1).
    pub(crate) fn shares() -> impl Iterator<Item = f64> {
        let mut state = 1_u64;
        std::iter::from_fn(move || {
            state = state * 48_271 % 2_147_483_647;
            Some(state as f64 / 2_147_483_647.0)
        })
    }

    fn numbers(low: f64, high: f64) -> impl Iterator<Item = f64> {
        shares().take(4000).map(move |share| low + (high - low) * share)
    }

    #[test]
    fn exponentials_equal_those_of_the_standard_library() {
        for x in numbers(-50.0, 50.0).chain([0.0, 1.0, -1.0, 1e-300, 699.9, -699.9]) {
            assert!((exp(x) / x.exp() - 1.0).abs() < 1e-15, "{x}: {} {}", exp(x), x.exp());
        }
        assert_eq!(exp(0.0).to_bits(), 1.0_f64.to_bits());
        assert!((exp10(-3.7) / 10f64.powf(-3.7) - 1.0).abs() < 3e-15);
    }

    #[test]
    fn small_losses_are_exact() {
        let small = numbers(-40.0, 0.0).map(f64::exp);
        for x in small.chain(numbers(0.0, 40.0)).chain([0.0]) {
            let exact = -(-x).exp_m1();
            assert!((share_lost(x) - exact).abs() <= 1e-15 * exact, "{x}: {} {exact}", share_lost(x));
        }
    }

    #[test]
    fn cube_roots_equal_those_of_the_standard_library() {
        for x in numbers(-60.0, 60.0).map(f64::exp).chain(numbers(0.0, 1.0)).chain([1.0, 8.0, 0.0]) {
            assert!((cbrt(x) - x.cbrt()).abs() <= 1e-15 * x.cbrt(), "{x}");
        }
    }

    #[test]
    fn four_lanes_give_the_bits_that_each_gives_alone() {
        fn all<L: Lane>(a: L, b: L) -> [L; 9] {
            [
                exp(a - b),
                share_lost(a),
                cbrt(a),
                (a - b).abs().sqrt(),
                L::min(a, b),
                L::max(a, b),
                L::clamp(-a, -3.0, 2.0),
                L::select(a.lt(b) | b.lt(L::ONE), a / b, a * 3.0 - b),
                L::ONE - a,
            ]
        }
        let (a, b): (Vec<_>, Vec<_>) = (numbers(0.0, 9.0).collect(), numbers(-3.0, 9.0).skip(7).collect());
        for (a, b) in a.as_chunks::<4>().0.iter().zip(b.as_chunks::<4>().0) {
            let together = all(Four(*a), Four(*b));
            for i in 0..4 {
                let alone = all(a[i], b[i]);
                for (x, y) in together.iter().zip(alone) {
                    assert_eq!(x.lane(i).to_bits(), y.to_bits(), "{} {}", a[i], b[i]);
                }
            }
        }
    }

    #[test]
    fn masks_combine_lane_by_lane() {
        let low = Four([0.0, 1.0, 2.0, f64::NAN]);
        let one = low.lt(Four::ONE);
        assert!(one.any() && !one.all() && one.lane(0) && !one.lane(3));
        assert!(Four::ZERO.lt(Four::ONE).all() && !Four::ONE.lt(Four::ONE).any());
        assert!(
            (one | FourMask::splat(true)).all()
                && !(one & FourMask::splat(false)).any()
                && (one | !one).all()
        );
    }
}
