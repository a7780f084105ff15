//! Rows of counts to rows of kelvin: the loop that runs for every pixel.
//!
//! *How.* Two counts lie in a word and two pixels leave in one, in whatever order the target has them; index, two table
//! reads and a multiplication of a half with a 16-bit slope are one instruction each on a core with the DSP extension.
//! That a count is beyond the sensor's bits is looked for in sixteen at once, for the loop that knows the bits would read
//! the wrong piece.
//! *Cost* on thumbv7em: `docs/footprint.md`.

use super::{COARSE, FINE, TableOf, View};
use crate::units::RowKelvin;

/// Converts a row; the slices are of one length.
pub(super) fn convert<const N: usize>(table: &TableOf<N>, counts: &[u16], kelvin: &mut [RowKelvin]) {
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    super::lanes::convert(table, counts, kelvin);
    #[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
    one_by_one(table, counts, kelvin);
}

/// The same, with two reads of the table for each pixel.
#[inline]
pub(super) fn one_by_one<const N: usize>(table: &TableOf<N>, counts: &[u16], kelvin: &mut [RowKelvin]) {
    let (bits, fraction) = (N.ilog2() + u32::from(table.head.shift), u32::from(table.head.fraction));
    let turns = match (bits, fraction) {
        (14, FINE) => in_turns::<N, 14, FINE>,
        (14, COARSE) => in_turns::<N, 14, COARSE>,
        (16, FINE) => in_turns::<N, 16, FINE>,
        (16, COARSE) => in_turns::<N, 16, COARSE>,
        _ => return table.view().convert(counts, kelvin),
    };
    let (mut counts, mut kelvin) = (counts, kelvin);
    loop {
        // Words are written where words may lie: after the first pixel of a row that begins in the middle of one.
        let (before, words, _) = bytemuck::pod_align_to_mut::<RowKelvin, u32>(kelvin);
        let mut slow = before.len();
        if slow == 0 {
            let done = turns(&table.starts, &table.slopes, counts.as_chunks().0.as_chunks().0, words.as_chunks_mut().0);
            counts = counts.get(done * 16..).unwrap_or(&[]);
            kelvin = kelvin.get_mut(done * 16..).unwrap_or(&mut []);
            if counts.is_empty() {
                return;
            }
            // A turn with a count beyond the bits, or the rest of the row.
            slow = counts.len().min(16);
        }
        let (Some((these, counts_after)), Some((now, after))) =
            (counts.split_at_checked(slow), kelvin.split_at_mut_checked(slow))
        else {
            return;
        };
        table.view().convert(these, now);
        (counts, kelvin) = (counts_after, after);
    }
}

impl View<'_> {
    /// Any table, pixel by pixel.
    fn convert(self, counts: &[u16], kelvin: &mut [RowKelvin]) {
        for (pixel, &count) in kelvin.iter_mut().zip(counts) {
            let (start, slope) = self.piece(count);
            *pixel = RowKelvin::from_bits((line(start, slope, count) >> self.head.fraction) as u16);
        }
    }

    /// Start and slope of the piece that a count lies in; counts beyond the full scale have none.
    #[inline(always)]
    pub(super) fn piece(self, count: u16) -> (u32, i16) {
        let piece = usize::from(count >> self.head.shift);
        match (self.starts.get(piece), self.slopes.get(piece)) {
            (Some(&start), Some(&slope)) => (start, slope),
            _ => (u32::MAX, 0),
        }
    }
}

/// The straight line of a piece, in its units and half a step up.
#[inline(always)]
const fn line(start: u32, slope: i16, count: u16) -> u32 {
    (slope as i32).wrapping_mul(count as i16 as i32).wrapping_add(start as i32) as u32
}

/// Sixteen pixels at a time for a sensor of `BITS` bits; returns the number of turns before the first in which a count
/// has more. Written out, because an optimizer that is told to save space would roll it up.
#[inline(never)]
fn in_turns<const N: usize, const BITS: u32, const FRACTION: u32>(
    starts: &[u32; N],
    slopes: &[i16; N],
    counts: &[[[u16; 2]; 8]],
    words: &mut [[u32; 8]],
) -> usize {
    let shift = BITS.saturating_sub(N.ilog2());
    let convert = |count: u16| {
        let piece = usize::from(count >> shift) % N;
        // Never absent, after the remainder.
        let (start, slope) = (starts.get(piece).copied().unwrap_or(0), slopes.get(piece).copied().unwrap_or(0));
        line(start, slope, count)
    };
    let mut turns = counts.iter();
    for [o, p, q, r, s, t, u, v] in words.iter_mut() {
        let Some([a, b, c, d, e, f, g, h]) = turns.next() else { break };
        let mut all = 0;
        macro_rules! in_turn {
            ($($word:ident $pair:ident),+) => {
                $(
                    // As a word from the start: as two counts that are combined, each is loaded by itself.
                    let pair: u32 = bytemuck::pod_read_unaligned(bytemuck::bytes_of($pair));
                    all |= pair;
                    let (low, high) = (convert(pair as u16), convert((pair >> 16) as u16));
                    *$word = if FRACTION == FINE {
                        low >> 16 | high & 0xFFFF_0000
                    } else {
                        low >> FRACTION & 0xFFFF | high >> FRACTION << 16
                    };
                )+
            };
        }
        in_turn!(o a, p b, q c, r d, s e, t f, u g, v h);
        let beyond = 0xFFFFu32 >> BITS << BITS;
        if all & (beyond | beyond << 16) != 0 {
            return counts.len() - turns.len() - 1;
        }
    }
    counts.len() - turns.len()
}
