//! Which pixels lie beyond a threshold, as bits, and what follows from them for stretches of columns.

use super::super::region::Sign;
use super::super::run::Run;
use super::super::spans::{Edges, bits_of};
use crate::radiometry::Thresholds;
use crate::vectors::Vectors;
use core::cell::Cell;

/// Words of bits for a row; the last is empty, so that there is one after any other.
const WORDS: usize = 32;

/// Widest row (proposal): three rows of bits of both signs are 1.5 KiB of stack.
pub(super) const WIDEST: u16 = 64 * (WORDS as u16 - 1);

/// Least number of stretches above for a look whether those below repeat them (proposal).
const MANY: usize = 8;

/// Columns of a row, one bit each.
type Bits = [u64; WORDS];

/// A word of them.
#[inline(always)]
fn word(bits: &Bits, i: usize) -> u64 {
    bits.get(i % WORDS).copied().unwrap_or(0)
}

/// Which pixels of a row are hot, or which are cold.
pub(super) struct Marks {
    bits: Bits,
    /// All words in one.
    any: u64,
}

impl Marks {
    const NONE: Self = Self { bits: [0; WORDS], any: 0 };

    /// Whether there are any.
    pub(super) const fn any(&self) -> bool {
        self.any != 0
    }

    /// 64 marks from a column of the row on.
    #[inline(always)]
    pub(super) fn word_at(&self, column: u32) -> u64 {
        let (i, bit) = (column as usize / 64, column % 64);
        word(&self.bits, i) >> bit | word(&self.bits, i + 1) << 1 << (63 - bit)
    }

    /// Runs that may belong to no region of the row `above`, or a few more: those whose first pixel touches none there.
    #[inline(always)]
    fn newcomers<const EIGHT: bool>(&self, above: &Self) -> usize {
        let count = |i: usize| {
            let [left, above, right] = [i.wrapping_sub(1), i, i + 1].map(|i| word(&above.bits, i));
            let (before, here) = (word(&self.bits, i.wrapping_sub(1)), word(&self.bits, i));
            let near = if EIGHT { above | above << 1 | left >> 63 | above >> 1 | right << 63 } else { above };
            (here & !(here << 1 | before >> 63) & !near).count_ones() as usize
        };
        (0..WORDS - 1).map(count).sum()
    }
}

/// Which pixels of a row are hot, and which are cold.
pub(super) struct Row {
    pub(super) hot: Marks,
    pub(super) cold: Marks,
}

impl Row {
    pub(super) const EMPTY: Self = Self { hot: Marks::NONE, cold: Marks::NONE };

    /// Takes the place of another row of as many columns with the first `columns` counts of `rest`, which goes on to the end of
    /// the frame. Where there is nothing left, a row without marks.
    #[inline(always)]
    pub(super) fn read(&mut self, vectors: impl Vectors, rest: &[u16], columns: usize, thresholds: Thresholds) {
        let words = columns.div_ceil(64);
        let places = self.hot.bits.iter_mut().zip(&mut self.cold.bits).take(words);
        let (mut any_hot, mut any_cold) = (0, 0);
        // A short row with what comes after it is one comparison.
        let short = rest.first_chunk().filter(|_| columns < 64);
        if let Some((hot, cold)) = short.and_then(|chunk| vectors.beyond(chunk, thresholds.hot(), thresholds.cold())) {
            let row = !(u64::MAX << columns);
            (any_hot, any_cold) = (hot & row, cold & row);
            places.for_each(|place| (*place.0, *place.1) = (any_hot, any_cold));
        } else {
            let mut places = places;
            bits_of(vectors, rest.get(..columns).unwrap_or(&[]), thresholds, |hot, cold| {
                if let Some(place) = places.next() {
                    (*place.0, *place.1) = (hot, cold);
                }
                (any_hot, any_cold) = (any_hot | hot, any_cold | cold);
            });
            places.for_each(|place| (*place.0, *place.1) = (0, 0));
        }
        (self.hot.any, self.cold.any) = (any_hot, any_cold);
    }

    /// Regions of either sign that may open below a row, or a few more.
    #[inline(always)]
    pub(super) fn newcomers<const EIGHT: bool>(&self, above: &Self) -> usize {
        self.hot.newcomers::<EIGHT>(&above.hot) + self.cold.newcomers::<EIGHT>(&above.cold)
    }
}

/// Where stretches start.
pub(super) struct Starts {
    bits: Bits,
    /// Those in the words before each.
    before: [u16; WORDS],
}

/// The stretches of columns of two rows, from left to right.
pub(super) struct Stretches<'f> {
    list: &'f mut [Run],
    count: usize,
    /// How many of them are wider than a column.
    wide: usize,
    /// A bit for each word whose stretches are in regions already.
    repeated: u32,
    /// Whether there may be any others.
    others: bool,
    starts: Starts,
}

impl<'f> Stretches<'f> {
    /// None yet.
    pub(super) fn new(list: &'f mut [Run]) -> Self {
        Self {
            list,
            count: 0,
            wide: 0,
            repeated: 0,
            others: false,
            starts: Starts { bits: [0; WORDS], before: [0; WORDS] },
        }
    }

    /// Those that were found last, and where they start.
    pub(super) fn parts(&mut self) -> (&[Cell<Run>], &Starts) {
        (Cell::from_mut(&mut *self.list).as_slice_of_cells().get(..self.count).unwrap_or(&[]), &self.starts)
    }

    /// A bit for each word whose stretches are in regions already.
    pub(super) const fn repeated(&self) -> u32 {
        self.repeated
    }

    /// Whether all stretches are.
    pub(super) const fn are_repeated(&self) -> bool {
        !self.others
    }

    /// Whether nearly all of them, all but an eighth (proposal), are a column wide.
    pub(super) const fn are_narrow(&self) -> bool {
        8 * self.wide <= self.count
    }

    /// The stretches of two rows, below those `above`, in whose lower row are the `last` marks. Whether there was place for
    /// all.
    #[inline(always)]
    #[must_use]
    pub(super) fn find<const EIGHT: bool>(
        &mut self,
        last: &Marks,
        above: &Stretches<'_>,
        rows: [&Marks; 2],
        words: usize,
        sign: Sign,
    ) -> bool {
        // Of none, nobody asks where they are.
        self.count = 0;
        if rows[0].any | rows[1].any == 0 {
            return true;
        }
        // Looking where there is little to find costs more than it saves.
        if above.count >= MANY && above.are_narrow() {
            self.find_as::<EIGHT, true>(last, above, rows, words, sign)
        } else {
            self.find_as::<EIGHT, false>(last, above, rows, words, sign)
        }
    }

    /// Long shapes repeat their columns from row to row: where all stretches of a word start in the same columns as those
    /// above, are one column wide, as far as the word goes, and touch them, they are theirs, and there is nothing else that
    /// they could touch.
    #[inline(always)]
    fn find_as<const EIGHT: bool, const LOOKING: bool>(
        &mut self,
        last: &Marks,
        above: &Stretches<'_>,
        [upper, lower]: [&Marks; 2],
        words: usize,
        sign: Sign,
    ) -> bool {
        let cold = if sign == Sign::Cold { u64::MAX } else { 0 };
        let mut edges = Edges::new(self.list);
        // Last bits of the word before: of either row, and of each.
        let (mut open, mut open_upper, mut open_lower) = (0, 0, 0);
        let (mut all, mut wide) = (0, 0);
        let (mut repeated, mut others) = (0u32, !LOOKING);
        let rows = upper.bits.iter().zip(&lower.bits).take(words);
        let starts = self.starts.bits.iter_mut().zip(&mut self.starts.before);
        for ((i, (upper, lower)), (starts, before)) in rows.enumerate().zip(starts) {
            let either = upper | lower;
            // Where a stretch goes on from the column before.
            let go_on = if EIGHT {
                either & (either << 1 | open)
            } else {
                upper & (upper << 1 | open_upper) | lower & (lower << 1 | open_lower)
            };
            let ends = (either << 1 | open) & !go_on;
            let goes_on = open != 0;
            (open, open_upper, open_lower) = (either >> 63, upper >> 63, lower >> 63);
            *starts = either & !go_on;
            *before = all as u16;
            all += starts.count_ones() as usize;
            wide += (go_on & !(go_on << 1)).count_ones() as usize;
            let narrow = LOOKING && either != 0 && either == *starts;
            if narrow && either == word(&above.starts.bits, i) && either == word(&last.bits, i) & upper {
                edges.add_like(above.of_word(i));
                repeated |= 1 << i;
            } else if goes_on || either != 0 {
                edges.add(*starts, ends, goes_on, cold);
                others |= either != 0;
            } else {
                edges.skip();
            }
        }
        (self.count, self.wide, self.repeated, self.others) = (edges.count, wide, repeated, others);
        edges.count == all
    }

    /// Those that start in a word.
    #[inline(always)]
    fn of_word(&self, i: usize) -> &[Run] {
        let before = self.starts.before.get(i).map_or(0, |&before| usize::from(before));
        self.list.get(before..before + word(&self.starts.bits, i).count_ones() as usize).unwrap_or(&[])
    }
}

/// Hands over which stretches touch: the number of one above, the number of one below, at least once for all that do.
///
/// A pixel below touches one straight above or, if all eight neighbors count, to the left of that: `level`; those that lie
/// side by side do so in the same two stretches, until another starts above. Or it touches one to the right only: `right`.
#[inline(always)]
pub(super) fn contacts<const EIGHT: bool>(
    last: &Marks,
    above: &Starts,
    first: &Marks,
    here: &Starts,
    repeated: u32,
    words: usize,
    mut touch: impl FnMut(usize, usize),
) {
    if last.any == 0 {
        return;
    }
    let (mut left, mut level_before) = (0, 0);
    for (i, &first_bits) in first.bits.iter().enumerate().take(words) {
        let last_bits = word(&last.bits, i);
        if first_bits == 0 || repeated >> i & 1 != 0 {
            (left, level_before) = (last_bits >> 63, (last_bits & first_bits) >> 63);
            continue;
        }
        let (above_starts, here_starts) = (word(&above.bits, i), word(&here.bits, i));
        let before = |starts: &Starts| starts.before.get(i).map_or(0, |&before| usize::from(before));
        let (above_before, here_before) = (before(above), before(here));
        // Of the last that starts at a bit or before it.
        let number = |starts: u64, before: usize, bit: u32| {
            (before + (starts << (63 - bit)).count_ones() as usize).wrapping_sub(1)
        };
        let level = if EIGHT { last_bits | last_bits << 1 | left } else { last_bits } & first_bits;
        // Straight above one another, neither starts anew while the pixels are side by side.
        let anew = if EIGHT { above_starts } else { 0 };
        let mut level_starts = level & (!(level << 1 | level_before) | anew);
        let (last_after, first_after) = (word(&last.bits, i + 1), word(&first.bits, i + 1));
        let mut right = if EIGHT {
            (last_bits >> 1 | last_after << 63) & first_bits & !(first_bits >> 1 | first_after << 63) & !last_bits
        } else {
            0
        };
        (left, level_before) = (last_bits >> 63, level >> 63);
        while level_starts != 0 {
            let bit = level_starts.trailing_zeros();
            touch(number(above_starts, above_before, bit), number(here_starts, here_before, bit));
            level_starts &= level_starts - 1;
        }
        let next_starts = above_starts >> 1 | word(&above.bits, i + 1) << 63;
        let above_before = above_before + (above_starts & 1) as usize;
        while right != 0 {
            let bit = right.trailing_zeros();
            touch(number(next_starts, above_before, bit), number(here_starts, here_before, bit));
            right &= right - 1;
        }
    }
}
