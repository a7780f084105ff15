//! What is summed over the pixels of a stretch.

use super::super::run::Run;
use super::super::sums::Beyond;
use super::marks::Marks;
use crate::vectors::Vectors;

/// Pixels of a row side by side (proposal): a vector of 256 bits.
pub(super) const LANES: usize = 16;

/// Most columns that go by one vector a row (derived): eight numbers of 16 bits, for which there are the instructions.
pub(super) const FEW: usize = 8;

/// In a rank, set for pixels of the upper row; below it the complement of the column. No row is that wide.
const UPPER: u32 = 0x8000;

/// What the pixels of a stretch of two rows come to.
pub(super) struct PairTotal {
    /// Of the upper row, and of the lower.
    pub(super) pixels: [u32; 2],
    pub(super) sum: u32,
    /// Sum of the columns.
    pub(super) sum_x: u32,
    /// Counts by which the most extreme lies beyond the threshold, the column of the first that does so, in raster order, and
    /// whether it is in the upper row.
    pub(super) top: (u16, u16, bool),
}

impl PairTotal {
    /// Of the marked pixels in a column; as [`PairTotal::of`], but a lower row without marks is empty.
    #[inline(always)]
    pub(super) fn of_column(rows: [&[u16]; 2], x: u16, Beyond { threshold, flip }: Beyond) -> Self {
        // Of no pixel, what lies beyond no threshold.
        let [upper, lower] = rows.map(|row| row.get(usize::from(x)).copied().unwrap_or(flip));
        let excess = |v: u16| (v ^ flip).saturating_sub(threshold);
        let strengths = [excess(upper), excess(lower)];
        let pixels = strengths.map(|strength| u32::from(strength != 0));
        let sum = pixels[0] * u32::from(upper) + pixels[1] * u32::from(lower);
        let top = (strengths[0].max(strengths[1]), x, strengths[0] >= strengths[1]);
        Self { pixels, sum, sum_x: (pixels[0] + pixels[1]) * u32::from(x), top }
    }

    /// Of the marked pixels in the columns of `span`, at most [`FEW`]; as [`PairTotal::of`].
    #[inline(always)]
    pub(super) fn of_few(
        vectors: impl Vectors,
        rows: [&[u16]; 2],
        marks: [&Marks; 2],
        span: Run,
        Beyond { threshold, flip }: Beyond,
    ) -> Self {
        let from = usize::from(span.start).min(rows[0].len().saturating_sub(FEW));
        let wanted = mask(usize::from(span.start) - from, usize::from(span.end) - from);
        let lower = if marks[1].any() { u16::MAX } else { 0 };
        let excess = |row: &[u16], all: u16| {
            let mut eight = row.get(from..).and_then(<[u16]>::first_chunk::<FEW>).copied().unwrap_or([0; FEW]);
            for (v, wanted) in eight.iter_mut().zip(wanted) {
                *v = (*v ^ flip).saturating_sub(threshold) & wanted & all;
            }
            eight
        };
        let both = [excess(rows[0], u16::MAX), excess(rows[1], lower)];
        let [upper, under] = both.map(|eight| vectors.highest(eight));
        let in_upper = upper.0 >= under.0;
        let (strength, place, _) = if in_upper { upper } else { under };
        let places = under.2 << FEW | upper.2;
        let within = (0..).zip([0xAAAA, 0xCCCC, 0xF0F0u32]).map(|(i, of)| (places & of).count_ones() << i).sum::<u32>();
        let pixels = [upper.2.count_ones(), under.2.count_ones()];
        let selected = pixels[0] + pixels[1];
        let excess = both[0].iter().zip(&both[1]).fold(0, |all, (&a, &b)| all + u32::from(a) + u32::from(b));
        Self {
            pixels,
            sum: of_excess(excess, selected, threshold, flip),
            sum_x: from as u32 * selected + within,
            top: (strength, from as u16 + place, in_upper),
        }
    }

    /// Of the marked pixels in the columns of `span`. `rows` have at least [`LANES`] columns; the lower, if without
    /// marks, may hold anything.
    #[inline(always)]
    pub(super) fn of(rows: [&[u16]; 2], marks: [&Marks; 2], span: Run, Beyond { threshold, flip }: Beyond) -> Self {
        let (start, end) = (usize::from(span.start), usize::from(span.end));
        let farthest = rows[0].len().saturating_sub(LANES);
        let lower = if marks[1].any() { u16::MAX } else { 0 };
        let (mut sums, mut ranks) = ([0u32; LANES], [0u32; LANES]);
        let mut at = start;
        loop {
            let from = at.min(farthest);
            let lanes = |row: &[u16]| row.get(from..).and_then(<[u16]>::first_chunk::<LANES>).copied();
            let (Some(upper), Some(under)) = (lanes(rows[0]), lanes(rows[1])) else { break };
            let (first, behind) = ((at - from) as u16, (end - from).min(LANES) as u16);
            let place = UPPER - 1 - from as u32;
            let pixel = |row: &[u16; LANES], i: u16| row.get(usize::from(i) % LANES).map_or(0, |v| v ^ flip);
            for (i, (sum, rank)) in (0u16..).zip(sums.iter_mut().zip(&mut ranks)) {
                let wanted = if i >= first && i < behind { u16::MAX } else { 0 };
                let upper = u32::from(pixel(&upper, i).saturating_sub(threshold) & wanted);
                let under = u32::from(pixel(&under, i).saturating_sub(threshold) & wanted & lower);
                *sum += upper + under;
                let place = place - u32::from(i);
                *rank = (*rank).max(upper << 16 | UPPER | place).max(under << 16 | place);
            }
            at = from + LANES;
            if at >= end {
                break;
            }
        }
        let excess = sums.iter().fold(0, |a: u32, &b| a.wrapping_add(b));
        let rank = highest(ranks);
        let (pixels, sum_x) = columns(marks, start as u32, end as u32);
        let selected = pixels[0] + pixels[1];
        let sum = of_excess(excess, selected, threshold, flip);
        let x = UPPER - 1 - (rank & (UPPER - 1));
        Self { pixels, sum, sum_x, top: ((rank >> 16) as u16, x as u16, rank & UPPER != 0) }
    }
}

/// The highest of some ranks: by halves, for one after the other is a chain that no compiler breaks.
#[inline(always)]
fn highest(mut ranks: [u32; LANES]) -> u32 {
    let mut half = LANES / 2;
    while half != 0 {
        let (lower, upper) = ranks.split_at_mut(half);
        for (a, &mut b) in lower.iter_mut().zip(upper) {
            *a = (*a).max(b);
        }
        half /= 2;
    }
    ranks[0]
}

/// All bits of those of eight numbers that are from `first` on and before `behind`, which are at most eight. Two reads: what
/// compares places is not put into vectors.
#[inline(always)]
fn mask(first: usize, behind: usize) -> [u16; FEW] {
    const FROM: [u16; 2 * FEW] = [0, 0, 0, 0, 0, 0, 0, 0, !0, !0, !0, !0, !0, !0, !0, !0];
    const BEFORE: [u16; 2 * FEW] = [!0, !0, !0, !0, !0, !0, !0, !0, 0, 0, 0, 0, 0, 0, 0, 0];
    let at = |edge: &[u16; 2 * FEW], place: usize| {
        edge.get(FEW - place.min(FEW)..).and_then(<[u16]>::first_chunk::<FEW>).copied().unwrap_or([0; FEW])
    };
    let (mut from, before) = (at(&FROM, first), at(&BEFORE, behind));
    for (from, before) in from.iter_mut().zip(before) {
        *from &= before;
    }
    from
}

/// Sum of as many counts as are `selected`, from that of what they, or their complements, lie beyond the threshold by.
#[inline(always)]
const fn of_excess(excess: u32, selected: u32, threshold: u16, flip: u16) -> u32 {
    let sum = excess.wrapping_add(selected.wrapping_mul(threshold as u32));
    // Of complements, what they are complements of.
    if flip == 0 { sum } else { selected.wrapping_mul(u16::MAX as u32).wrapping_sub(sum) }
}

/// Marks of either row between two columns, and the sum of their columns.
#[inline(always)]
fn columns(marks: [&Marks; 2], start: u32, end: u32) -> ([u32; 2], u32) {
    if end - start <= 16 {
        // Both rows in one word.
        let [upper, lower] = marks.map(|marks| marks.word_at(start) as u32 & u32::MAX >> (32 - (end - start)));
        let both = lower << 16 | upper;
        let places = [0xAAAA_AAAA, 0xCCCC_CCCC, 0xF0F0_F0F0, 0xFF00_FF00u32];
        let within = (0..).zip(places).map(|(i, places)| (both & places).count_ones() << i).sum::<u32>();
        return ([upper.count_ones(), lower.count_ones()], start * both.count_ones() + within);
    }
    let (mut pixels, mut sum, mut at) = ([0; 2], 0, start);
    while at < end {
        let places = [
            0xAAAA_AAAA_AAAA_AAAA,
            0xCCCC_CCCC_CCCC_CCCC,
            0xF0F0_F0F0_F0F0_F0F0,
            0xFF00_FF00_FF00_FF00,
            0xFFFF_0000_FFFF_0000,
            0xFFFF_FFFF_0000_0000u64,
        ];
        for (pixels, marks) in pixels.iter_mut().zip(marks) {
            let word = marks.word_at(at) & u64::MAX >> 64u32.saturating_sub(end - at);
            let ones = word.count_ones();
            let within = (0..).zip(places).map(|(i, places)| (word & places).count_ones() << i).sum::<u32>();
            *pixels += ones;
            sum += at * ones + within;
        }
        at += 64;
    }
    (pixels, sum)
}
