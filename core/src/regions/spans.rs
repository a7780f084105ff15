//! Spans of pixels outside the thresholds: the one loop of the scanner that sees every pixel.
//!
//! A pixel is ordinary if `cold ≤ v ≤ hot`, which is one subtraction and one comparison: `v − cold ≤ hot − cold` in
//! wrapping arithmetic. A span is a stretch of others: on processors with vectors of hot and cold ones alike, elsewhere of
//! one sign. How they are looked for depends on what the processor is good at; the regions do not.

use super::sums::Sums;
use crate::radiometry::Thresholds;
use core::ops::Range;

#[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
pub(super) use vectors::Spans;
#[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
pub(super) use words::Spans;

/// For processors with vectors: 64 comparisons are a handful of instructions, and their results are 64 bits of a word,
/// in which starts and ends are found without a branch per pixel.
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64", test))]
mod vectors {
    use super::{Range, Sums, Thresholds};

    const PIXELS: usize = 64;

    /// The spans of a row, from left to right.
    pub(in super::super) struct Spans<'r> {
        row: &'r [u16],
        chunks: core::slice::Iter<'r, [u16; PIXELS]>,
        tail: &'r [u16],
        cold: u16,
        ordinary: u16,
        /// Column of the lowest bit.
        base: usize,
        /// Pixels of the word under way that are outside and not yet in a span.
        bits: u64,
    }

    impl<'r> Spans<'r> {
        /// Spans may be partly hot and partly cold.
        pub(in super::super) const MIXED: bool = true;

        #[inline]
        pub(in super::super) fn new(row: &'r [u16], thresholds: Thresholds) -> Self {
            let (chunks, tail) = row.as_chunks();
            let (cold, ordinary) = (thresholds.cold(), thresholds.hot().wrapping_sub(thresholds.cold()));
            // One word before the first.
            let base = 0usize.wrapping_sub(PIXELS);
            Self { row, chunks: chunks.iter(), tail, cold, ordinary, base, bits: 0 }
        }

        /// Goes to the next word; false after the last.
        #[inline]
        fn load(&mut self) -> bool {
            self.base = self.base.wrapping_add(PIXELS);
            self.bits = match self.chunks.next() {
                Some(chunk) => bits(chunk, self.cold, self.ordinary),
                None if self.tail.is_empty() => return false,
                None => {
                    let tail = core::mem::take(&mut self.tail);
                    let (steps, rest) = tail.as_chunks::<16>();
                    let mut word = 0;
                    for (i, step) in steps.iter().enumerate() {
                        word |= bits(step, self.cold, self.ordinary) << (16 * i);
                    }
                    for (i, &v) in rest.iter().enumerate() {
                        let outside = v.wrapping_sub(self.cold) > self.ordinary;
                        word |= u64::from(outside) << (16 * steps.len() + i);
                    }
                    word
                }
            };
            true
        }
    }

    impl Iterator for Spans<'_> {
        type Item = (Range<usize>, Sums);

        #[inline]
        fn next(&mut self) -> Option<(Range<usize>, Sums)> {
            while self.bits == 0 {
                if !self.load() {
                    return None;
                }
            }
            let first = self.bits.trailing_zeros();
            let start = self.base + first as usize;
            let after = self.bits.wrapping_add(1 << first);
            let end = if after != 0 {
                // The carry runs through the span and stops at its end.
                let end = self.base + after.trailing_zeros().max(first) as usize;
                self.bits &= after;
                end
            } else {
                self.reach()
            };
            Some((start..end, Sums::of(self.row.get(start..).unwrap_or(&[]), end - start)))
        }
    }

    impl Spans<'_> {
        /// End of a span that fills the word under way to its last bit.
        #[cold]
        fn reach(&mut self) -> usize {
            loop {
                self.bits = 0;
                if !self.load() {
                    return self.row.len();
                }
                if self.bits != u64::MAX {
                    let end = self.base + self.bits.trailing_ones() as usize;
                    self.bits &= self.bits.wrapping_add(1);
                    return end.min(self.row.len());
                }
            }
        }
    }

    /// Bit i says whether pixel i is outside.
    #[inline]
    fn bits<const N: usize>(pixels: &[u16; N], cold: u16, ordinary: u16) -> u64 {
        let outside = |v: u16| v.wrapping_sub(cold) > ordinary;
        // Most chunks are all ordinary: one flag for all, before the bits are gathered.
        if pixels.iter().fold(0u16, |any, &v| any | if outside(v) { u16::MAX } else { 0 }) == 0 {
            return 0;
        }
        let mut bytes = [0u8; N];
        for (byte, &v) in bytes.iter_mut().zip(pixels) {
            *byte = u8::from(outside(v));
        }
        let mut word = 0;
        for (i, eight) in bytes.as_chunks::<8>().0.iter().enumerate() {
            // Bit 8·i of the factor comes to rest at 56 + i in one of eight copies, and no two meet on the way.
            word |= (u64::from_le_bytes(*eight).wrapping_mul(0x0102_0408_1020_4080) >> 56) << (8 * i);
        }
        word
    }
}

/// For small processors: two pixels to a word.
#[cfg(any(not(any(target_arch = "x86_64", target_arch = "aarch64")), test))]
mod words {
    use super::{Range, Sums, Thresholds};

    /// The upper bits of both halves of a word.
    const UPPER: u32 = 0x8000_8000;

    /// The spans of a row, from left to right.
    pub(in super::super) struct Spans<'r> {
        row: &'r [u16],
        at: usize,
        cold: u32,
        ordinary: u32,
        /// What is added to both halves, so that their upper bits say whether a pixel is hot, and whether it is not cold;
        /// for a hot threshold below 2¹⁵. A count beyond 15 bits fails one of the two, even where its sum runs over.
        sums: Option<(u32, u32)>,
    }

    impl<'r> Spans<'r> {
        /// Spans are of one sign.
        #[cfg_attr(
            any(target_arch = "x86_64", target_arch = "aarch64"),
            allow(dead_code, reason = "compiled for its tests")
        )]
        pub(in super::super) const MIXED: bool = false;

        #[inline]
        pub(in super::super) fn new(row: &'r [u16], thresholds: Thresholds) -> Self {
            let (hot, cold) = (u32::from(thresholds.hot()), u32::from(thresholds.cold()));
            let both = |count: u32| count * 0x1_0001;
            let sums = (hot < 0x8000).then(|| (both(0x7FFF - hot), both(0x8000 - cold)));
            // Without thresholds there is nothing to look at.
            let at = if thresholds == Thresholds::NONE { row.len() } else { 0 };
            Self { row, at, cold, ordinary: hot - cold, sums }
        }

        /// Ordinary pixels at the start of `row`, in whole turns of sixteen or eight. Written out, because an optimizer
        /// that is told to save space does not unroll.
        fn turns(&self, row: &[u16]) -> usize {
            if let Some((to_hot, to_cold)) = self.sums {
                let whole = |&&[a, b, c, d, e, f, g, h]: &&[[u16; 2]; 8]| {
                    let words = [a, b, c, d, e, f, g, h].map(bytemuck::cast::<[u16; 2], u32>);
                    let [a, b, c, d, e, f, g, h] = words;
                    let add = |word: u32, to: u32| word.wrapping_add(to);
                    let hot = (add(a, to_hot) | add(b, to_hot) | add(c, to_hot) | add(d, to_hot))
                        | (add(e, to_hot) | add(f, to_hot) | add(g, to_hot) | add(h, to_hot));
                    let not_cold = (add(a, to_cold) & add(b, to_cold) & add(c, to_cold) & add(d, to_cold))
                        & (add(e, to_cold) & add(f, to_cold) & add(g, to_cold) & add(h, to_cold));
                    (hot | !not_cold) & UPPER == 0
                };
                return 16 * row.as_chunks::<2>().0.as_chunks::<8>().0.iter().take_while(whole).count();
            }
            let inside = |v: u16| self.inside(v);
            let whole = |&&[a, b, c, d, e, f, g, h]: &&[u16; 8]| {
                inside(a) && inside(b) && inside(c) && inside(d) && inside(e) && inside(f) && inside(g) && inside(h)
            };
            8 * row.as_chunks::<8>().0.iter().take_while(whole).count()
        }

        /// In 32 bits the subtraction needs no masking.
        #[inline]
        fn inside(&self, v: u16) -> bool {
            u32::from(v).wrapping_sub(self.cold) <= self.ordinary
        }

        fn from(&self, at: usize) -> &'r [u16] {
            self.row.get(at..).unwrap_or(&[])
        }
    }

    impl Iterator for Spans<'_> {
        type Item = (Range<usize>, Sums);

        /// Finds the end and sums up in one pass over the pixels.
        #[inline]
        fn next(&mut self) -> Option<(Range<usize>, Sums)> {
            let mut start = self.at + self.turns(self.from(self.at));
            start += self.from(start).iter().take_while(|&&v| self.inside(v)).count();
            let run = self.from(start);
            let &first = run.first()?;
            let hot = self.cold + self.ordinary;
            let (length, sums) = if u32::from(first) > hot {
                let (length, sum, highest) = sum_while(run, |v| u32::from(v) > hot, u16::max);
                (length, Sums { sum, lowest: first, highest })
            } else {
                let (length, sum, lowest) = sum_while(run, |v| u32::from(v) < self.cold, u16::min);
                (length, Sums { sum, lowest, highest: first })
            };
            self.at = start + length;
            Some((start..self.at, sums))
        }
    }

    /// Pixels at the start of `run` that are inside, their sum, and the most extreme.
    #[inline(always)]
    fn sum_while(run: &[u16], inside: impl Fn(u16) -> bool, extreme: impl Fn(u16, u16) -> u16) -> (usize, u32, u16) {
        let (mut length, mut sum, mut peak) = (0usize, 0u32, run.first().copied().unwrap_or(0));
        for &v in run.iter().take_while(|&&v| inside(v)) {
            (length, sum, peak) = (length + 1, sum.wrapping_add(u32::from(v)), extreme(peak, v));
        }
        (length, sum, peak)
    }
}

#[cfg(test)]
mod tests {
    use super::{Range, Sums, Thresholds, vectors, words};
    use proptest::prelude::*;
    use std::vec::Vec;

    /// What a sign's scanner uses of the sums: all of one sign, from the outermost.
    type Run = (Range<usize>, u32, u16);

    fn one_by_one(row: &[u16], thresholds: Thresholds) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        let mut before = None;
        for (x, &v) in row.iter().enumerate() {
            let (hot, cold) = (v > thresholds.hot(), v < thresholds.cold());
            let sign = (hot || cold).then_some(hot);
            match (sign, runs.last_mut()) {
                (Some(hot), Some((columns, sum, peak))) if before == sign => {
                    (columns.end, *sum) = (x + 1, *sum + u32::from(v));
                    *peak = if hot { v.max(*peak) } else { v.min(*peak) };
                }
                (Some(_), _) => runs.push((x..x + 1, u32::from(v), v)),
                (None, _) => {}
            }
            before = sign;
        }
        runs
    }

    /// Spans of both signs are left as they are: [`one_by_one`] of their pixels says what is in them.
    fn split(row: &[u16], spans: impl Iterator<Item = (Range<usize>, Sums)>, thresholds: Thresholds) -> Vec<Run> {
        let runs = |(columns, sums): (Range<usize>, Sums)| {
            if sums.lowest > thresholds.hot() {
                return std::vec![(columns, sums.sum, sums.highest)];
            }
            if sums.highest < thresholds.cold() {
                return std::vec![(columns, sums.sum, sums.lowest)];
            }
            let start = columns.start;
            let shifted = |(c, sum, peak): Run| (c.start + start..c.end + start, sum, peak);
            one_by_one(&row[columns], thresholds).into_iter().map(shifted).collect()
        };
        spans.flat_map(runs).collect()
    }

    proptest! {
        #[test]
        fn both_ways_agree_with_pixel_by_pixel(
            (a, b) in (
                prop_oneof![Just(0u16), 0u16..0x9000],
                prop_oneof![Just(u16::MAX), Just(0x7FFF), Just(0x8000), any::<u16>()],
            ),
            pixels in proptest::collection::vec((any::<u16>(), 0u8..100), 0..300),
            share in 0u8..=100,
        ) {
            let thresholds = Thresholds::new(a.max(b), a.min(b)).unwrap();
            let ordinary = u32::from(thresholds.hot() - thresholds.cold()) + 1;
            let inside = |v: u16| thresholds.cold() + (u32::from(v) % ordinary) as u16;
            let row: Vec<u16> = pixels.iter().map(|&(v, lot)| if lot < share { v } else { inside(v) }).collect();
            let expected = one_by_one(&row, thresholds);
            prop_assert_eq!(split(&row, vectors::Spans::new(&row, thresholds), thresholds), expected.clone());
            prop_assert_eq!(split(&row, words::Spans::new(&row, thresholds), thresholds), expected);
        }
    }
}
