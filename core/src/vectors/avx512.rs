//! With AVX-512.

use super::avx2::highest_of;
use super::chosen::Taken;
use super::{Vectors, Work};
use crate::{radiometry::Lines, units::RowKelvin};
use pulp::cast;
use pulp::x86::V4;

impl Vectors for V4 {
    const COUNTS_BITS: bool = true;
    const PICKED: u16 = 32;

    #[inline(always)]
    fn beyond(self, pixels: &[u16; 64], hot: u16, cold: u16) -> Option<(u64, u64)> {
        let (hot, cold) = (self.avx512f._mm512_set1_epi16(hot as i16), self.avx512f._mm512_set1_epi16(cold as i16));
        let (mut above, mut below) = (0, 0);
        for (i, half) in pixels.as_chunks::<32>().0.iter().enumerate() {
            let half = cast(*half);
            above |= u64::from(self.avx512bw._mm512_cmpgt_epu16_mask(half, hot)) << (32 * i);
            below |= u64::from(self.avx512bw._mm512_cmplt_epu16_mask(half, cold)) << (32 * i);
        }
        Some((above, below))
    }

    #[inline(always)]
    fn highest(self, eight: [u16; 8]) -> (u16, u16, u32) {
        let eight = cast(eight);
        let places = self.avx512bw._mm_test_epi16_mask(eight, eight);
        let (highest, place) = highest_of(*self, eight);
        (highest, place, u32::from(places))
    }

    #[inline(always)]
    fn convert<const FINEST: bool>(self, lines: &Lines, chunks: &[[u16; 32]], outs: &mut [[RowKelvin; 32]]) -> usize {
        let (f, bw) = (self.avx512f, self.avx512bw);
        let all = |v: u16| f._mm512_set1_epi16(v as i16);
        let (base, reach, shift, ones) = (all(lines.base), all(lines.reach), all(lines.shift), all(u16::MAX));
        let (down, up) = (all(lines.fraction), all(16u16.saturating_sub(lines.fraction)));
        let [lows, highs, slopes] = [lines.low, lines.high, lines.slopes].map(cast);
        for (done, (chunk, out)) in chunks.iter().zip(outs).enumerate() {
            let counts = cast(*chunk);
            let from_base = bw._mm512_sub_epi16(counts, base);
            if bw._mm512_cmpgt_epu16_mask(from_base, reach) != 0 {
                return done;
            }
            let places = bw._mm512_srlv_epi16(from_base, shift);
            let low = bw._mm512_permutexvar_epi16(places, lows);
            let high = bw._mm512_permutexvar_epi16(places, highs);
            let slope = bw._mm512_permutexvar_epi16(places, slopes);
            let sum = bw._mm512_add_epi16(bw._mm512_mullo_epi16(slope, counts), low);
            let high = bw._mm512_add_epi16(bw._mm512_mulhi_epi16(slope, counts), high);
            let carry = bw._mm512_cmplt_epu16_mask(sum, low);
            let high = bw._mm512_mask_sub_epi16(high, carry, high, ones);
            *out = cast(if FINEST {
                high
            } else {
                f._mm512_or_si512(bw._mm512_sllv_epi16(high, up), bw._mm512_srlv_epi16(sum, down))
            });
        }
        chunks.len()
    }

    #[inline(always)]
    fn run<W: Work>(self, work: W) -> W::Output {
        self.vectorize(Taken(work, self))
    }
}
