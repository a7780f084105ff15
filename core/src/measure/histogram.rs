//! A histogram of counts in 128 bins that widens itself.
//!
//! *What.* Bins start one count wide around the first count seen; a count outside doubles the width by merging pairs,
//! as often as needed. *Why.* The median of a shape needs all its pixels, but rows go by and no frame is kept; 128
//! bins give a quantile within a bin from 520 bytes, without knowing the range beforehand. *Cost.*
//! 18 instructions per count on a Cortex-M4, the tally's sum included; at most 16 widenings ever. A desktop takes long spans
//! that need no widening four counts at a time. *Limit.* The bin width is 2^s, 1 or at most range/32, and a quantile is off
//! by at most that; [`Histogram::resolution_q8`] says it.

use crate::sensor::CountRange;

/// Bins; the pair merge needs an even number.
const BINS: usize = 128;
const HALF: usize = BINS / 2;
/// Least number of counts that are worth a look at all of them first (proposal): what copies of the bins cost.
#[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
const MANY: usize = 256;
/// Origin of an empty histogram: above every count, and too far for any to fall into a bin by wrapping.
const UNREACHED: i32 = 1 << 24;

/// See the [module](self).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Histogram {
    bins: [u32; BINS],
    /// Count at the lower edge of bin 0; may be negative.
    origin: i32,
    /// Counts in all bins.
    total: u32,
    /// log2 of the bin width in counts.
    shift: u8,
}

impl Histogram {
    pub(crate) const EMPTY: Self = Self { bins: [0; BINS], origin: UNREACHED, total: 0, shift: 0 };

    /// Adds one count, which is a reading in every range that holds any: neither 0 nor 65,535.
    #[cfg(test)]
    pub(crate) fn add(&mut self, count: u16) {
        self.add_valid(&[count], CountRange::between(0, u16::MAX));
    }

    /// Adds the counts that are readings, and returns how many there were and their sum; at most 2¹⁶ counts, so that the
    /// sum fits.
    ///
    /// *Overflow*: before all bins together could hold more than 2³² counts, every bin is halved: quantiles stay, and no
    /// addition needs a check.
    #[inline(always)]
    pub(crate) fn add_valid(&mut self, counts: &[u16], range: CountRange) -> (u32, u32) {
        let length = counts.len() as u32;
        if self.total.checked_add(length).is_none() {
            self.halve();
        }
        #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
        if counts.len() >= MANY
            && let Some(sum) = self.add_inside(counts, range)
        {
            return (length, sum);
        }
        let (mut rejected, mut sum) = (0u32, 0u32);
        let mut rest = counts.iter();
        loop {
            // Where the bins lie changes rarely; kept in registers until it does.
            let (origin, shift) = (self.origin as u32, self.shift & 31);
            let mut outside = None;
            for &count in rest.by_ref() {
                if !range.holds(count) {
                    rejected += 1;
                    continue;
                }
                let value = u32::from(count);
                sum = sum.wrapping_add(value);
                // Below the origin, the difference wraps to a large number and finds no bin, as above the last one; and so
                // it does while the histogram is empty, whose origin is out of reach.
                if let Some(bin) = self.bins.get_mut((value.wrapping_sub(origin) >> shift) as usize) {
                    *bin = bin.wrapping_add(1);
                } else {
                    outside = Some(count);
                    break;
                }
            }
            if let Some(count) = outside {
                self.add_outside(count);
            } else {
                let pixels = length.wrapping_sub(rejected);
                self.total = self.total.wrapping_add(pixels);
                return (pixels, sum);
            }
        }
    }

    /// Adds counts that are all readings and all fall into bins, and returns their sum; else changes nothing. Neighbors that
    /// fall into one bin go to different copies of it, so that none waits for the one before.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(never)]
    fn add_inside(&mut self, counts: &[u16], range: CountRange) -> Option<u32> {
        let (low, high) = counts.iter().fold((u16::MAX, 0), |(low, high), &v| (v.min(low), v.max(high)));
        let (origin, shift) = (self.origin as u32, self.shift & 31);
        let bin = |count: u16| (u32::from(count).wrapping_sub(origin) >> shift) as usize;
        if !range.holds(low) || !range.holds(high) || bin(low) >= BINS || bin(high) >= BINS {
            return None;
        }
        // A quarter of at most 2¹⁶ counts for each.
        let mut copies = [[0u16; BINS]; 4];
        let (fours, rest) = counts.as_chunks::<4>();
        for four in fours {
            for (copy, &count) in copies.iter_mut().zip(four) {
                if let Some(bin) = copy.get_mut(bin(count) % BINS) {
                    *bin += 1;
                }
            }
        }
        for &count in rest {
            if let Some(bin) = self.bins.get_mut(bin(count)) {
                *bin += 1;
            }
        }
        let [a, b, c, d] = &copies;
        for ((((bin, a), b), c), d) in self.bins.iter_mut().zip(a).zip(b).zip(c).zip(d) {
            *bin += u32::from(*a) + u32::from(*b) + u32::from(*c) + u32::from(*d);
        }
        self.total += counts.len() as u32;
        Some(counts.iter().fold(0, |sum, &count| sum.wrapping_add(u32::from(count))))
    }

    #[cold]
    fn halve(&mut self) {
        self.bins.iter_mut().for_each(|bin| *bin /= 2);
        self.total = self.bins.iter().fold(0, |sum: u32, &bin| sum.wrapping_add(bin));
    }

    /// Adds a count that the bins do not reach yet.
    #[cold]
    fn add_outside(&mut self, count: u16) {
        let value = i32::from(count);
        if self.origin == UNREACHED {
            self.origin = value - HALF as i32;
        }
        // A 16-bit count is inside after at most 16 doublings.
        loop {
            let offset = value.wrapping_sub(self.origin);
            if offset < 0 {
                self.widen(true);
            } else if (offset >> self.shift) as usize >= BINS {
                self.widen(false);
            } else if let Some(bin) = self.bins.get_mut((offset >> self.shift) as usize) {
                *bin = bin.saturating_add(1);
                return;
            } else {
                return;
            }
        }
    }

    fn widen(&mut self, downward: bool) {
        let mut merged = [0u32; HALF];
        for (to, pair) in merged.iter_mut().zip(self.bins.chunks_exact(2)) {
            *to = pair.iter().fold(0, |sum: u32, &bin| sum.saturating_add(bin));
        }
        let (low, high) = self.bins.split_at_mut(HALF);
        let (used, unused) = if downward { (high, low) } else { (low, high) };
        for (to, &from) in used.iter_mut().zip(&merged) {
            *to = from;
        }
        unused.fill(0);
        if downward {
            self.origin -= (BINS as i32) << self.shift;
        }
        self.shift += 1;
    }

    /// The count below which `numerator/denominator` of all counts lie, with eight fractional bits; `None` if empty.
    /// Interpolated within the bin.
    pub(crate) fn quantile_q8(&self, numerator: u16, denominator: u16) -> Option<u32> {
        let total: u64 = self.bins.iter().map(|&bin| u64::from(bin)).sum();
        if total == 0 {
            return None;
        }
        // The total is below 2^39, so a numerator of up to 16 bits and the 8 fractional bits fit in 63.
        let wanted = ((total << 8) * u64::from(numerator) / u64::from(denominator.max(1))) as i64;
        let mut below = 0i64;
        for (i, &bin) in self.bins.iter().enumerate() {
            let inside = i64::from(bin) << 8;
            if inside > 0 && below + inside >= wanted {
                let start = (i64::from(self.origin) + ((i as i64) << self.shift)) << 8;
                let within = (((wanted - below) << 8) / inside) << self.shift;
                // A bin of integers a…b is the interval from a − ½ to b + ½.
                return Some((start + within - 128).max(0) as u32);
            }
            below += inside;
        }
        None
    }

    /// Number of counts within `reach_q8` of `center_q8`, and their mean with eight fractional bits. Counts of a bin are
    /// taken to lie at its middle.
    pub(crate) fn within(&self, center_q8: u32, reach_q8: u32) -> (u32, Option<u32>) {
        let (mut pixels, mut sum) = (0u64, 0u64);
        for (middle, bin) in self.middles_q8() {
            if middle.abs_diff(i64::from(center_q8)) <= u64::from(reach_q8) {
                pixels += u64::from(bin);
                // At most 2³⁹ counts of 24 bits.
                sum += middle.max(0) as u64 * u64::from(bin);
            }
        }
        (u32::try_from(pixels).unwrap_or(u32::MAX), sum.checked_div(pixels).map(|mean| mean as u32))
    }

    /// Median absolute deviation from `center_q8`, rounded up to a bin; 0 if empty.
    pub(crate) fn deviation_q8(&self, center_q8: u32) -> u32 {
        let total: u64 = self.middles_q8().map(|(_, bin)| u64::from(bin)).sum();
        // The distance of each used bin is tried; sorting would save little of 128 × 128 steps at a closing.
        let distance = |middle: i64| middle.abs_diff(i64::from(center_q8)) as u32;
        let enough = |&reach: &u32| u64::from(self.within(center_q8, reach).0) * 2 >= total;
        self.middles_q8()
            .filter(|&(_, bin)| bin > 0)
            .map(|(middle, _)| distance(middle))
            .filter(enough)
            .min()
            .unwrap_or(0)
    }

    /// Middle of each bin, with eight fractional bits, and what is in it.
    fn middles_q8(&self) -> impl Iterator<Item = (i64, u32)> {
        let half = (128i64 << self.shift) - 128;
        self.bins
            .iter()
            .enumerate()
            .map(move |(i, &bin)| (((i64::from(self.origin) + ((i as i64) << self.shift)) << 8) + half, bin))
    }

    /// A bin, with eight fractional bits: the most a quantile can be off, since all counts of its bin may lie at one end.
    pub(crate) const fn resolution_q8(&self) -> u32 {
        256 << self.shift
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    proptest! {
        #[test]
        fn quantiles_are_within_the_stated_resolution(
            mut counts in proptest::collection::vec(1u16..u16::MAX, 1..400),
            numerator in 1u16..100,
        ) {
            let mut histogram = Histogram::EMPTY;
            counts.iter().for_each(|&c| histogram.add(c));
            counts.sort_unstable();
            let got = i64::from(histogram.quantile_q8(numerator, 100).unwrap());
            // The exact quantile lies between the counts on either side of rank n·p.
            let rank = counts.len() as u32 * u32::from(numerator) / 100;
            let low = i64::from(counts[(rank as usize).saturating_sub(1)]) << 8;
            let high = i64::from(counts[(rank as usize).min(counts.len() - 1)]) << 8;
            let slack = i64::from(histogram.resolution_q8());
            prop_assert!(low - slack <= got && got <= high + slack, "{low} {got} {high} ± {slack}");
            let range = f64::from(counts[counts.len() - 1] - counts[0]);
            prop_assert!(slack == 256 || slack as f64 / 256.0 <= range / 32.0, "{} of {}", slack, range);
        }
    }

    proptest! {
        /// Many at a time, of which most fit the bins and some do not, and one by one.
        #[test]
        fn many_are_added_as_one_by_one(
            rows in proptest::collection::vec((any::<u16>(), 1u16..400, 200usize..700, 0u32..10), 1..6),
            seed in any::<u32>(),
        ) {
            let range = CountRange::between(3, 60_000);
            let (mut many, mut single) = (Histogram::EMPTY, Histogram::EMPTY);
            for (start, spread, length, odd) in rows {
                let noise = |i: usize| seed.wrapping_mul(i as u32 ^ 0x9E37_79B9).wrapping_mul(2_654_435_761) >> 16;
                let count = |i| match noise(i) {
                    v if odd == 0 && v % 97 == 0 => v as u16,
                    v => (start / 2).wrapping_add(v as u16 % spread),
                };
                let counts: Vec<u16> = (0..length).map(count).collect();
                let got = many.add_valid(&counts, range);
                let parts = counts.iter().map(|&count| single.add_valid(&[count], range));
                prop_assert_eq!(got, parts.fold((0, 0), |(a, b), (c, d)| (a + c, b + d)));
            }
            prop_assert_eq!((many.bins, many.origin, many.total, many.shift), (single.bins, single.origin, single.total, single.shift));
        }
    }

    #[test]
    fn median_of_a_narrow_set_is_exact_to_half_a_count() {
        let mut histogram = Histogram::EMPTY;
        for c in [1000, 1001, 1001, 1002, 1003] {
            histogram.add(c);
        }
        let median = histogram.quantile_q8(1, 2).unwrap();
        assert!(median.abs_diff(1001 << 8) <= 128, "{median}");
    }

    #[test]
    fn halving_keeps_the_quantiles() {
        let (mut histogram, readings) = (Histogram::EMPTY, CountRange::between(0, 101));
        let row = [[7u16; 30], [11; 30]].concat();
        histogram.add_valid(&row, readings);
        // As if it had gone on for years.
        histogram.bins.iter_mut().for_each(|bin| *bin *= 71_582_788);
        histogram.total = 60 * 71_582_788;
        for _ in 0..3 {
            assert_eq!(histogram.add_valid(&row, readings), (60, 540));
            assert!(histogram.quantile_q8(1, 4).unwrap().abs_diff(7 << 8) <= 128);
            assert!(histogram.quantile_q8(3, 4).unwrap().abs_diff(11 << 8) <= 128);
        }
        assert!(histogram.total < u32::MAX / 2 + 200 && histogram.total == histogram.bins.iter().sum::<u32>());
    }

    #[test]
    fn many_counts_keep_their_proportions() {
        let mut histogram = Histogram::EMPTY;
        for _ in 0..200_000 {
            histogram.add(5);
        }
        for _ in 0..100_000 {
            histogram.add(9);
        }
        assert!(histogram.quantile_q8(1, 2).unwrap().abs_diff(5 << 8) <= 128);
        assert!(histogram.quantile_q8(9, 10).unwrap().abs_diff(9 << 8) <= 128);
    }
}
