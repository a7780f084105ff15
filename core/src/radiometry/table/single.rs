//! Single values by third-order interpolation, and what can be said of the errors.

use super::View;
use crate::units::{Delta, Kelvin};
use fixed::types::I16F16;

impl View<'_> {
    /// *Scaling and overflow*: temperatures are below 2³² knot units, fractions below 2²⁴; products stay below 2⁵⁸.
    pub(super) fn temperature_q8(self, counts_q8: u32) -> Option<Kelvin> {
        let (first, end) = (i64::from(self.head.covered[0]), i64::from(self.head.covered[1]));
        let bits = u32::from(self.head.shift) + 8;
        let i = i64::from(counts_q8 >> bits);
        if i < first || i >= end {
            return None;
        }
        let f = i64::from(counts_q8 & ((1 << bits) - 1)) << (24 - bits);
        let (k0, k1) = (self.knot(i), self.knot(i + 1));
        // The ends repeat the neighboring second difference.
        let d0 = self.bend(i.max(first + 1));
        let d1 = self.bend((i + 1).min(end - 1));
        let one = 1i64 << 24;
        let linear = k0 + (((k1 - k0) * f) >> 24);
        let weight = (f * (one - f)) >> 24;
        let bend = (d0 * (2 * one - f) + d1 * (one + f)) >> 24;
        // From knot units to Q16.16 kelvin, rounded.
        let q16 = (linear - ((weight * bend) >> 24) / 6 + 16) >> 5;
        i32::try_from(q16).ok().map(|bits| Kelvin(I16F16::from_bits(bits)))
    }

    /// Bounds of the error of the lifted pieces and of third-order interpolation, from differences between knots: a
    /// sixteenth of the second, and 1/32 of the fourth (3/128, and a third more as it grows within a piece); in the last
    /// piece, which repeats a second difference, 0.065 of the third (largest value of f·(1−f)·(2−f)/6).
    pub(super) fn interpolation_errors(self) -> (Delta, Delta) {
        let (mut second, mut third, mut fourth) = (0i64, 0i64, 0i64);
        let (first, end) = (i64::from(self.head.covered[0]), i64::from(self.head.covered[1]));
        let (mut before, mut change_before) = (self.bend(first + 1), 0);
        for i in first + 2..end {
            let bend = self.bend(i);
            let change = bend - before;
            second = second.max(bend.abs()).max(before.abs());
            third = change.abs();
            if i > first + 2 {
                fourth = fourth.max((change - change_before).abs());
            }
            (before, change_before) = (bend, change);
        }
        // A slope is rounded to half a unit of the pieces, which adds up over their counts; only the last piece also has
        // its end from it.
        let rounding = 1i64 << (u32::from(self.head.shift) + self.dropped()) >> 1;
        // From knot units to Q16.16, with four steps for the rounding in pieces and result. A lift follows the bend at the
        // end of its piece, so what the bend changes by adds to the error.
        let bounded = |units: i64| Delta(I16F16::from_bits(i32::try_from((units >> 5) + 4).unwrap_or(i32::MAX)));
        (bounded(second / 16 + fourth / 8 + rounding), bounded(third * 65 / 1000 + rounding + fourth / 32))
    }
}
