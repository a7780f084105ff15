//! What is summed over the pixels of a run.

use super::region::Sign;
use crate::radiometry::Thresholds;

/// Sum and highest count of some pixels; of cold ones, the highest complement.
///
/// *Overflow*: a run has at most 65,535 pixels of at most 65,535 counts, so the sum fits in 32 bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Sums {
    pub(super) sum: u32,
    pub(super) top: u16,
}

/// Which pixels count. `flip` is 0 for those above the threshold, and `u16::MAX` for those below it: then the threshold
/// is its complement.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beyond {
    #[cfg_attr(
        not(any(target_arch = "x86_64", target_arch = "aarch64")),
        allow(dead_code, reason = "small processors take runs one by one, and all their pixels lie beyond it")
    )]
    pub(super) threshold: u16,
    pub(super) flip: u16,
}

impl Beyond {
    #[inline(always)]
    pub(super) const fn of(thresholds: Thresholds, sign: Sign) -> Self {
        match sign {
            Sign::Hot => Self { threshold: thresholds.hot(), flip: 0 },
            Sign::Cold => Self { threshold: !thresholds.cold(), flip: u16::MAX },
        }
    }
}

impl Sums {
    const NOTHING: Self = Self { sum: 0, top: 0 };

    /// Over the first `length` pixels of `from`, which go on to the end of the row; all lie beyond the threshold.
    #[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
    #[inline(always)]
    pub(super) fn of(from: &[u16], length: usize, Beyond { flip, .. }: Beyond, _: u32) -> Self {
        let pixels = from.get(..length).unwrap_or(from).iter();
        pixels
            .fold(Self::NOTHING, |all, &v| Self { sum: all.sum.wrapping_add(u32::from(v)), top: all.top.max(v ^ flip) })
    }

    /// Over the first `length` pixels of `from`, which go on to the end of the row; of these, those that lie beyond the
    /// threshold, which are `selected`.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    pub(super) fn of(from: &[u16], length: usize, beyond: Beyond, selected: u32) -> Self {
        // Combs and outlines are all runs of one pixel.
        if length == 1
            && let Some(&v) = from.first()
        {
            return Self { sum: u32::from(v), top: v ^ beyond.flip };
        }
        // Lengths vary from run to run, and a loop that ends at a length that cannot be foreseen costs more than a few
        // pixels too many: they are masked away.
        if length <= 4
            && selected as usize == length
            && let Some(four) = from.first_chunk::<4>()
        {
            return Self::of_four(four, length, beyond.flip);
        }
        Self::of_many(from, length, beyond, selected)
    }

    /// Over the first 1 to 4 pixels, in one word.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    fn of_four(four: &[u16; 4], length: usize, flip: u16) -> Self {
        const EVEN: u64 = 0xFFFF_0000_FFFF;
        let word = |[a, b, c, d]: [u16; 4]| u64::from(a) | u64::from(b) << 16 | u64::from(c) << 32 | u64::from(d) << 48;
        let mask = u64::MAX >> ((64 - 16 * length as u32) % 64);
        let counts = word(*four) & mask;
        let pairs = (counts & EVEN) + (counts >> 16 & EVEN);
        let flipped = counts ^ (word([flip; 4]) & mask);
        let pixel = |i: u32| (flipped >> (16 * i)) as u16;
        let top = pixel(0).max(pixel(1)).max(pixel(2).max(pixel(3)));
        Self { sum: (pairs as u32).wrapping_add((pairs >> 32) as u32), top }
    }

    /// Over those of the first `length` pixels that lie beyond the threshold. What a pixel lies beyond it by, and 0 for
    /// the others, is one instruction for a vector of them.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    fn of_many(from: &[u16], length: usize, Beyond { threshold, flip }: Beyond, selected: u32) -> Self {
        let mut beyond = Excess { sum: [0; 8], top: [0; 8], threshold, flip };
        let span = from.get(..length).unwrap_or(from);
        let (eights, rest) = span.as_chunks::<8>();
        for eight in eights {
            beyond.add(eight, 0, 8);
        }
        let mut one_by_one = Self::NOTHING;
        if let Some(last) = span.last_chunk::<8>() {
            beyond.add(last, 8 - rest.len() as u16, 8);
        } else if let Some(first) = from.first_chunk::<8>() {
            beyond.add(first, 0, length as u16);
        } else {
            for &v in rest {
                let excess = (v ^ flip).saturating_sub(threshold);
                one_by_one.sum += u32::from(excess);
                one_by_one.top = one_by_one.top.max(excess);
            }
        }
        let sum = beyond.sum.iter().fold(one_by_one.sum, |a, &b| a.wrapping_add(b));
        let top = beyond.top.iter().fold(one_by_one.top, |a, &b| a.max(b));
        let sum = sum.wrapping_add(selected.wrapping_mul(u32::from(threshold)));
        // Of complements, what they are complements of.
        let sum = if flip == 0 { sum } else { selected.wrapping_mul(u32::from(u16::MAX)).wrapping_sub(sum) };
        Self { sum, top: threshold.wrapping_add(top) }
    }
}

/// What pixels lie beyond a threshold by, eight side by side.
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
struct Excess {
    sum: [u32; 8],
    top: [u16; 8],
    threshold: u16,
    flip: u16,
}

#[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
impl Excess {
    /// Adds the pixels `from..to` of eight.
    #[inline(always)]
    fn add(&mut self, pixels: &[u16; 8], from: u16, to: u16) {
        for (i, ((sum, top), &v)) in (0u16..).zip(self.sum.iter_mut().zip(&mut self.top).zip(pixels)) {
            let excess = (v ^ self.flip).saturating_sub(self.threshold);
            let excess = if i >= from && i < to { excess } else { 0 };
            (*sum, *top) = (sum.wrapping_add(u32::from(excess)), (*top).max(excess));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Beyond, Sums};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn equals_one_by_one(
            mut row in proptest::collection::vec(any::<u16>(), 1..90),
            length in 1usize..90,
            threshold in any::<u16>(),
            cold in any::<bool>(),
            whole in any::<bool>(),
        ) {
            let length = length.min(row.len());
            let counts = |v: u16| if cold { v < threshold } else { v > threshold };
            // A single run lies beyond the threshold as a whole; several, with ordinary pixels between them.
            let extreme = if cold { threshold.saturating_sub(1) } else { threshold.saturating_add(1) };
            prop_assume!(counts(extreme));
            for (i, v) in row[..length].iter_mut().enumerate() {
                if !counts(*v) && (whole || i == 0 || i + 1 == length) {
                    *v = extreme;
                }
            }
            let selected = row[..length].iter().copied().filter(|&v| counts(v));
            let sum = selected.clone().map(u32::from).sum();
            let flip = if cold { u16::MAX } else { 0 };
            let top = selected.clone().map(|v| v ^ flip).max().unwrap();
            let beyond = Beyond { threshold: threshold ^ flip, flip };
            prop_assert_eq!(Sums::of(&row, length, beyond, selected.count() as u32), Sums { sum, top });
        }
    }
}
