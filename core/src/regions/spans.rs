//! Where the runs of a row are: the one loop of the scanner that sees every pixel.
//!
//! A pixel is ordinary if `cold ≤ v ≤ hot`, which is one subtraction and one comparison: `v − cold ≤ hot − cold` in
//! wrapping arithmetic. How the others are looked for depends on what the processor is good at; the regions do not.

use super::run::Run;
use crate::radiometry::Thresholds;
use crate::vectors::Vectors;

/// Columns from which on wide vectors are worth a choice: those of one word of bits (proposal).
pub(super) const WIDE: usize = 64;

#[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
pub(super) use vectors::find;
#[cfg(target_arch = "x86_64")]
pub(super) use vectors::{Edges, bits_of};
#[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
pub(super) use words::find;

/// For processors with vectors: 64 comparisons are a handful of instructions, and their results are 64 bits of a word,
/// in which starts and ends are found without a branch per pixel.
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64", test))]
mod vectors {
    use super::{Run, Thresholds, Vectors};

    const PIXELS: usize = super::WIDE;

    /// Writes the runs of a row from left to right and returns how many they are.
    #[inline(always)]
    pub(in super::super) fn find(
        vectors: impl Vectors,
        row: &[u16],
        thresholds: Thresholds,
        runs: &mut [Run],
    ) -> usize {
        let mut edges = Edges::new(runs);
        // 1 if the last pixel so far is hot, or cold.
        let (mut open_hot, mut open_cold) = (0, 0);
        bits_of(vectors, row, thresholds, |hot, cold| {
            let open = open_hot | open_cold;
            if hot | cold | open == 0 {
                edges.skip();
                return;
            }
            // The pixel before each.
            let (before_hot, before_cold) = (hot << 1 | open_hot, cold << 1 | open_cold);
            let starts = hot & !before_hot | cold & !before_cold;
            let ends = before_hot & !hot | before_cold & !cold;
            (open_hot, open_cold) = (hot >> (PIXELS - 1), cold >> (PIXELS - 1));
            edges.add(starts, ends, open != 0, cold);
        });
        edges.count
    }

    /// Hands over which pixels of a row are hot and which are cold, 64 at a time; the last may be fewer.
    #[inline(always)]
    pub(in super::super) fn bits_of(
        vectors: impl Vectors,
        row: &[u16],
        thresholds: Thresholds,
        mut each: impl FnMut(u64, u64),
    ) {
        let (hot, cold) = (thresholds.hot(), thresholds.cold());
        let ordinary = hot.wrapping_sub(cold);
        let outside = |v: u16| v.wrapping_sub(cold) > ordinary;
        let is_hot = |v: u16| v > hot;
        let (chunks, tail) = row.as_chunks::<PIXELS>();
        for chunk in chunks {
            let beyond = vectors.beyond(chunk, hot, cold);
            let (hot, cold) = beyond.unwrap_or_else(|| signs(chunk, outside, is_hot, cold == 0));
            each(hot, cold);
        }
        if tail.is_empty() {
            return;
        }
        if let Some(last) = row.last_chunk()
            && let Some((all_hot, all_cold)) = vectors.beyond(last, hot, cold)
        {
            each(all_hot >> (PIXELS - tail.len()), all_cold >> (PIXELS - tail.len()));
        } else {
            let (mut all_hot, mut all_cold, mut rest, mut at) = (0, 0, tail, 0);
            if let Some((half, after)) = tail.split_first_chunk::<32>() {
                (all_hot, all_cold) =
                    vectors.beyond_few(half, hot, cold).unwrap_or_else(|| signs(half, outside, is_hot, cold == 0));
                (rest, at) = (after, 32);
            }
            if let Some((quarter, after)) = rest.split_first_chunk::<16>() {
                let beyond = vectors.beyond_few(quarter, hot, cold);
                let (hot, cold) = beyond.unwrap_or_else(|| signs(quarter, outside, is_hot, cold == 0));
                (all_hot, all_cold) = (all_hot | hot << at, all_cold | cold << at);
                (rest, at) = (after, at + 16);
            }
            for (i, &v) in (at..).zip(rest) {
                (all_hot, all_cold) = (all_hot | u64::from(is_hot(v)) << i, all_cold | u64::from(v < cold) << i);
            }
            each(all_hot, all_cold);
        }
    }

    /// Makes runs of bits, word by word.
    pub(in super::super) struct Edges<'r> {
        runs: &'r mut [Run],
        /// Runs so far; there are no more than places.
        pub(in super::super) count: usize,
        /// Column of the lowest bit.
        base: usize,
    }

    impl<'r> Edges<'r> {
        pub(in super::super) fn new(runs: &'r mut [Run]) -> Self {
            Self { runs, count: 0, base: 0 }
        }

        /// Takes the next word, of which is known that its runs start where `like` do, are a column wide, and have their numbers.
        /// A last one that goes on is put right by the next word, as in [`Edges::add`].
        #[cfg(target_arch = "x86_64")]
        #[inline(always)]
        pub(in super::super) fn add_like(&mut self, like: &[Run]) {
            self.base += PIXELS;
            for (run, like) in self.runs.get_mut(self.count..).unwrap_or(&mut []).iter_mut().zip(like) {
                *run = like.first_column();
            }
            self.count += like.len();
        }

        /// Takes the next word, in which nothing starts, ends or goes on.
        #[inline(always)]
        pub(in super::super) fn skip(&mut self) {
            self.base += PIXELS;
        }

        /// Takes the next word: where runs start, the columns behind their ends, whether the last run goes on up to the first of
        /// those, and which pixels are cold.
        #[inline(always)]
        pub(in super::super) fn add(&mut self, mut starts: u64, mut ends: u64, goes_on: bool, cold: u64) {
            let base = self.base;
            self.base += PIXELS;
            // Of no bits, the end of the word: what goes on there is put right by the next word, if there is one.
            let end = |ends: u64| base + ends.trailing_zeros() as usize;
            if goes_on {
                if let Some(run) = self.runs.get_mut(self.count.wrapping_sub(1)) {
                    run.end = end(ends) as u16;
                }
                ends &= ends.wrapping_sub(1);
            }
            while starts != 0 {
                let first = starts.trailing_zeros();
                if let Some(run) = self.runs.get_mut(self.count) {
                    *run = Run::new(base + first as usize, end(ends), cold >> first & 1 != 0);
                    self.count += 1;
                }
                starts &= starts - 1;
                ends &= ends.wrapping_sub(1);
            }
        }
    }

    /// Which pixels are hot and which are cold.
    #[inline(always)]
    pub(super) fn signs<const N: usize>(
        pixels: &[u16; N],
        outside: impl Fn(u16) -> bool,
        is_hot: impl Fn(u16) -> bool,
        none_cold: bool,
    ) -> (u64, u64) {
        let any = bits(pixels, outside);
        let hot = if none_cold || any == 0 { any } else { bits(pixels, is_hot) };
        (hot, any & !hot)
    }

    /// Bit i says what `is` says of pixel i.
    #[inline(always)]
    fn bits<const N: usize>(pixels: &[u16; N], is: impl Fn(u16) -> bool) -> u64 {
        // Most chunks are all ordinary: one flag for all, before the bits are gathered.
        if pixels.iter().fold(0u16, |any, &v| any | if is(v) { u16::MAX } else { 0 }) == 0 {
            return 0;
        }
        let mut bytes = [0u8; N];
        for (byte, &v) in bytes.iter_mut().zip(pixels) {
            *byte = u8::from(is(v));
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
    use super::{Run, Thresholds, Vectors};

    /// The upper bits of both halves of a word.
    const UPPER: u32 = 0x8000_8000;

    /// Writes the runs of a row from left to right and returns how many they are.
    #[cfg_attr(
        any(target_arch = "x86_64", target_arch = "aarch64"),
        allow(dead_code, reason = "compiled for its tests")
    )]
    pub(in super::super) fn find(_: impl Vectors, row: &[u16], thresholds: Thresholds, runs: &mut [Run]) -> usize {
        // Without thresholds there is nothing to look at.
        if thresholds == Thresholds::NONE {
            return 0;
        }
        let band = Band::new(thresholds);
        let (mut at, mut count) = (0, 0);
        for run in runs {
            let rest = band.skip(row.get(at..).unwrap_or(&[]));
            let Some(&first) = rest.first() else { break };
            let start = row.len() - rest.len();
            let cold = u32::from(first) < band.cold;
            let length = if cold {
                rest.iter().take_while(|&&v| u32::from(v) < band.cold).count()
            } else {
                rest.iter().take_while(|&&v| u32::from(v) > band.cold + band.ordinary).count()
            };
            at = start + length;
            *run = Run::new(start, at, cold);
            count += 1;
        }
        count
    }

    /// The ordinary counts.
    struct Band {
        cold: u32,
        ordinary: u32,
        /// What is added to both halves, so that their upper bits say whether a pixel is hot, and whether it is not cold;
        /// for a hot threshold below 2¹⁵. A count beyond 15 bits fails one of the two, even where its sum runs over.
        sums: Option<(u32, u32)>,
    }

    impl Band {
        fn new(thresholds: Thresholds) -> Self {
            let (hot, cold) = (u32::from(thresholds.hot()), u32::from(thresholds.cold()));
            let both = |count: u32| count * 0x1_0001;
            let sums = (hot < 0x8000).then(|| (both(0x7FFF - hot), both(0x8000 - cold)));
            Self { cold, ordinary: hot - cold, sums }
        }

        /// What follows the ordinary pixels at the start.
        #[inline]
        fn skip<'r>(&self, row: &'r [u16]) -> &'r [u16] {
            let row = row.get(self.turns(row)..).unwrap_or(&[]);
            row.get(row.iter().take_while(|&&v| self.inside(v)).count()..).unwrap_or(&[])
        }

        /// Ordinary pixels at the start of `row`, in whole turns of sixteen or eight. Written out, because an optimizer
        /// that is told to save space does not unroll.
        fn turns(&self, row: &[u16]) -> usize {
            if let Some((to_hot, to_cold)) = self.sums {
                // Eight and eight, because more do not find room in the registers.
                let half = |pairs: [[u16; 2]; 4]| {
                    let [a, b, c, d] = pairs.map(bytemuck::cast::<[u16; 2], u32>);
                    let add = |word: u32, to: u32| word.wrapping_add(to);
                    let hot = add(a, to_hot) | add(b, to_hot) | add(c, to_hot) | add(d, to_hot);
                    let not_cold = add(a, to_cold) & add(b, to_cold) & add(c, to_cold) & add(d, to_cold);
                    (hot | !not_cold) & UPPER == 0
                };
                let whole = |&[a, b, c, d, e, f, g, h]: &[[u16; 2]; 8]| half([a, b, c, d]) && half([e, f, g, h]);
                let row = row.as_chunks::<2>().0.as_chunks().0;
                let mut turns = row.iter();
                // What is left tells how many there were: a count would take one more register.
                let passed = turns.by_ref().find(|turn| !whole(turn)).map_or(0, |_| 1);
                return 16 * (row.len() - turns.len() - passed);
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
    }
}

#[cfg(test)]
mod tests {
    use super::{Run, Thresholds, vectors, words};
    use crate::vectors::{Vectors, Work, on_every_level};
    use proptest::prelude::*;
    use std::vec::Vec;

    fn one_by_one(row: &[u16], thresholds: Thresholds) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        let mut before = None;
        for (x, &v) in row.iter().enumerate() {
            let (hot, cold) = (v > thresholds.hot(), v < thresholds.cold());
            let sign = (hot || cold).then_some(cold);
            match (sign, runs.last_mut()) {
                (Some(_), Some(run)) if before == sign => run.end += 1,
                (Some(cold), _) => runs.push(Run::new(x, x + 1, cold)),
                (None, _) => {}
            }
            before = sign;
        }
        runs
    }

    /// The runs of a row, found in one of the two ways.
    struct Find<'r> {
        row: &'r [u16],
        thresholds: Thresholds,
        bits: bool,
    }

    impl Work for Find<'_> {
        type Output = Vec<Run>;

        fn run<V: Vectors>(self, v: V) -> Vec<Run> {
            let Self { row, thresholds, bits } = self;
            let mut runs = std::vec![Run::EMPTY; row.len()];
            let find = if bits { vectors::find } else { words::find };
            let count = find(v, row, thresholds, &mut runs);
            runs.truncate(count);
            runs
        }
    }

    /// The bits of pixels as processors without an instruction for them find them, and as this one does.
    fn bits_agree<const N: usize>(pixels: &[u16; 64], hot: u16, cold: u16) {
        let Some(pixels) = pixels.first_chunk::<N>() else { return };
        let bits = |is: &dyn Fn(u16) -> bool| (0..).zip(pixels).map(|(i, &v)| u64::from(is(v)) << i).sum::<u64>();
        let expected = (bits(&|v| v > hot), bits(&|v| v < cold));
        let outside = |v: u16| v.wrapping_sub(cold) > hot - cold;
        assert_eq!(vectors::signs(pixels, outside, |v| v > hot, cold == 0), expected);
        #[cfg(target_arch = "x86_64")]
        for named in on_every_level(|| Named { pixels, hot, cold }) {
            assert_eq!(named, Some(expected));
        }
    }

    #[cfg(target_arch = "x86_64")]
    struct Named<'p, const N: usize> {
        pixels: &'p [u16; N],
        hot: u16,
        cold: u16,
    }

    #[cfg(target_arch = "x86_64")]
    impl<const N: usize> Work for Named<'_, N> {
        type Output = Option<(u64, u64)>;

        fn run<V: Vectors>(self, v: V) -> Self::Output {
            v.beyond_few(self.pixels, self.hot, self.cold)
        }
    }

    proptest! {
        #[test]
        fn bits_are_found_with_and_without_instructions_for_them(
            (a, b) in (any::<u16>(), any::<u16>()),
            pixels in proptest::array::uniform32(any::<u32>()),
            none_cold in any::<bool>(),
        ) {
            let (hot, cold) = (a.max(b), if none_cold { 0 } else { a.min(b) });
            // Each number is two pixels, so that thresholds and their neighbors come up, too.
            let near = |v: u32| [hot, cold, hot.saturating_add(1), cold.saturating_sub(1), v as u16, !(v as u16)][v as usize % 6];
            let mut both = [0; 64];
            for (two, v) in both.as_chunks_mut::<2>().0.iter_mut().zip(pixels) {
                *two = [near(v), near(v >> 16)];
            }
            bits_agree::<16>(&both, hot, cold);
            bits_agree::<32>(&both, hot, cold);
            bits_agree::<64>(&both, hot, cold);
        }

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
            for bits in [false, true] {
                for runs in on_every_level(|| Find { row: &row, thresholds, bits }) {
                    prop_assert_eq!(&runs, &expected);
                }
            }
        }
    }
}
