//! Numbers worked on side by side: one, or four in step, so that one piece of code serves a single bed and four at once.
//!
//! A *lane* is one of them. What a lane comes to never depends on its neighbours: four lanes give the very bits that each
//! gives alone, on any processor, for nothing here is fused or reordered and the exponential is our own.

use std::array;
use std::fmt::Debug;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// One number, or several side by side.
pub trait Lane:
    Copy
    + PartialEq
    + Debug
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
    /// How many.
    const COUNT: usize;
    /// Yes or no in each lane.
    type Mask: Mask;

    /// The same number in every lane.
    fn of(x: f64) -> Self;
    /// A number for each lane, by its place from 0.
    fn gather(each: impl FnMut(usize) -> f64) -> Self;
    /// The number in a lane.
    fn lane(self, place: usize) -> f64;
    /// Where this is less.
    fn less(self, other: Self) -> Self::Mask;
    /// One number or the other, lane by lane; both are worked out.
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// Square root.
    #[must_use]
    fn root(self) -> Self;
    /// Works on the 64 bits of each number.
    #[must_use]
    fn map_bits(self, work: impl Fn(u64) -> u64) -> Self;

    /// The smaller, or `other` where this is no number.
    #[inline(always)]
    #[must_use]
    fn least(self, other: Self) -> Self {
        Self::select(self.less(other), self, other)
    }

    /// The larger, or `other` where this is no number.
    #[inline(always)]
    #[must_use]
    fn most(self, other: Self) -> Self {
        Self::select(other.less(self), self, other)
    }

    /// Held between two numbers.
    #[inline(always)]
    #[must_use]
    fn within(self, low: f64, high: f64) -> Self {
        self.most(Self::of(low)).least(Self::of(high))
    }

    /// Without its sign.
    #[inline(always)]
    #[must_use]
    fn size(self) -> Self {
        self.map_bits(
            #[inline(always)]
            |bits| bits & (u64::MAX >> 1),
        )
    }
}

/// Yes or no in each lane.
pub trait Mask: Copy {
    /// The same in every lane.
    fn of(all: bool) -> Self;
    /// Yes in some lane.
    fn any(self) -> bool;
    /// Yes in every lane.
    fn all(self) -> bool;
    /// Yes in both.
    #[must_use]
    fn and(self, other: Self) -> Self;
    /// Yes in one of the two.
    #[must_use]
    fn or(self, other: Self) -> Self;
    /// The opposite.
    #[must_use]
    fn not(self) -> Self;
    /// What a lane says.
    fn lane(self, place: usize) -> bool;
}

impl Lane for f64 {
    const COUNT: usize = 1;
    type Mask = bool;

    #[inline(always)]
    fn of(x: f64) -> Self {
        x
    }
    #[inline(always)]
    fn gather(mut each: impl FnMut(usize) -> f64) -> Self {
        each(0)
    }
    #[inline(always)]
    fn lane(self, _: usize) -> f64 {
        self
    }
    #[inline(always)]
    fn less(self, other: Self) -> bool {
        self < other
    }
    #[inline(always)]
    fn select(mask: bool, yes: Self, no: Self) -> Self {
        if mask { yes } else { no }
    }
    #[inline(always)]
    fn root(self) -> Self {
        self.sqrt()
    }
    #[inline(always)]
    fn map_bits(self, work: impl Fn(u64) -> u64) -> Self {
        Self::from_bits(work(self.to_bits()))
    }
}

impl Mask for bool {
    #[inline(always)]
    fn of(all: bool) -> Self {
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
    fn and(self, other: Self) -> Self {
        self & other
    }
    #[inline(always)]
    fn or(self, other: Self) -> Self {
        self | other
    }
    #[inline(always)]
    fn not(self) -> Self {
        !self
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

/// Yes (all bits set) or no (none) in four lanes.
#[derive(Debug, Clone, Copy)]
#[repr(align(32))]
pub struct FourMask([u64; 4]);

impl Lane for Four {
    const COUNT: usize = 4;
    type Mask = FourMask;

    #[inline(always)]
    fn of(x: f64) -> Self {
        Self([x; 4])
    }
    #[inline(always)]
    fn gather(mut each: impl FnMut(usize) -> f64) -> Self {
        Self([each(0), each(1), each(2), each(3)])
    }
    #[inline(always)]
    fn lane(self, place: usize) -> f64 {
        self.0[place]
    }
    #[inline(always)]
    fn less(self, other: Self) -> FourMask {
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
    fn root(self) -> Self {
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
    fn of(all: bool) -> Self {
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
    fn and(self, other: Self) -> Self {
        Self(array::from_fn(
            #[inline(always)]
            |i| self.0[i] & other.0[i],
        ))
    }
    #[inline(always)]
    fn or(self, other: Self) -> Self {
        Self(array::from_fn(
            #[inline(always)]
            |i| self.0[i] | other.0[i],
        ))
    }
    #[inline(always)]
    fn not(self) -> Self {
        Self(self.0.map(
            #[inline(always)]
            |all| !all,
        ))
    }
    #[inline(always)]
    fn lane(self, place: usize) -> bool {
        self.0[place] != 0
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

/// Whole powers of two and the rest of an exponent: `exp(x) = power (1 + rest)`.
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
    // adding it leaves the nearest whole number in the lowest bits
    const ROUND: f64 = 6_755_399_441_055_744.0;
    // ln 2 in two pieces, the first with bits to spare for an exact product
    const LN_2: [f64; 2] = [0.693_147_180_369_123_8, 1.908_214_929_270_587_7e-10];
    let x = x.within(-700.0, 700.0);
    let shifted = x * std::f64::consts::LOG2_E + ROUND;
    let power = shifted.map_bits(
        #[inline(always)]
        |bits| bits.wrapping_add(1023) << 52,
    );
    let n = shifted - ROUND;
    let r = x - n * LN_2[0] - n * LN_2[1];
    // summed in pairs of pairs, which wait less for one another than a chain of twelve
    let (r2, c) = (r * r, SERIES);
    let r4 = r2 * r2;
    let low = (r * c[3] + c[2]) * r2 + (r * c[1] + c[0]);
    let middle = (r * c[7] + c[6]) * r2 + (r * c[5] + c[4]);
    let high = (r * c[11] + c[10]) * r2 + (r * c[9] + c[8]);
    Parts { power, rest: r + r2 * ((high * r4 + middle) * r4 + low) }
}

/// e to the power x, to two units of the last place; x beyond 700 either way counts as 700.
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

/// What is lost in a unit of time by a first-order loss of x, `1 - exp(-x)`, to a few units of the last place however small x.
#[inline(always)]
pub fn share_lost<L: Lane>(x: L) -> L {
    let Parts { power, rest } = parts(-x);
    // without a whole power the first bracket is exactly 0
    (-power + 1.0) - power * rest
}

/// Cube root of a number of 0 or more, to a few units of the last place; of 0 it is 0.
#[inline(always)]
pub fn cube_root<L: Lane>(x: L) -> L {
    // a third of the exponent, as a first guess within 4 %; then Halley's steps, each of which cubes the error
    let mut y = x.map_bits(
        #[inline(always)]
        |bits| bits / 3 + 0x2A9F_7893_8000_0000,
    );
    for _ in 0..3 {
        let cube = y * y * y;
        y = y * (cube + x * 2.0) / (cube * 2.0 + x);
    }
    L::select(L::of(0.0).less(x), y, L::of(0.0))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// Numbers between 0 and 1 without end, by a small generator (Lehmer, 48271 modulo 2^31 - 1).
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
    fn exponentials_are_those_of_the_standard_library() {
        for x in numbers(-50.0, 50.0).chain([0.0, 1.0, -1.0, 1e-300, 699.9, -699.9]) {
            assert!((exp(x) / x.exp() - 1.0).abs() < 1e-15, "{x}: {} {}", exp(x), x.exp());
        }
        assert_eq!(exp(0.0).to_bits(), 1.0_f64.to_bits());
        assert!((exp10(-3.7) / 10f64.powf(-3.7) - 1.0).abs() < 3e-15);
    }

    #[test]
    fn what_is_lost_is_exact_however_little() {
        let small = numbers(-40.0, 0.0).map(f64::exp);
        for x in small.chain(numbers(0.0, 40.0)).chain([0.0]) {
            let exact = -(-x).exp_m1();
            assert!((share_lost(x) - exact).abs() <= 1e-15 * exact, "{x}: {} {exact}", share_lost(x));
        }
    }

    #[test]
    fn cube_roots_are_those_of_the_standard_library() {
        for x in numbers(-60.0, 60.0).map(f64::exp).chain(numbers(0.0, 1.0)).chain([1.0, 8.0, 0.0]) {
            assert!((cube_root(x) - x.cbrt()).abs() <= 1e-15 * x.cbrt(), "{x}");
        }
    }

    #[test]
    fn four_lanes_give_the_bits_of_each_alone() {
        fn all<L: Lane>(a: L, b: L) -> [L; 8] {
            [
                exp(a - b),
                share_lost(a),
                cube_root(a),
                (a - b).size().root(),
                a.least(b),
                a.most(b),
                (-a).within(-3.0, 2.0),
                L::select(a.less(b).or(b.less(L::of(1.0))), a / b, a * 3.0 - b),
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
    fn masks_say_any_and_all() {
        let low = Four([0.0, 1.0, 2.0, f64::NAN]);
        let one = low.less(Four::of(1.0));
        assert!(one.any() && !one.all() && one.lane(0) && !one.lane(3));
        assert!(Four::of(0.0).less(Four::of(1.0)).all() && !Four::of(1.0).less(Four::of(1.0)).any());
        assert!(one.or(FourMask::of(true)).all() && !one.and(FourMask::of(false)).any());
    }
}
