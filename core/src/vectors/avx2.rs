//! With AVX2.
//!
//! No closure here asks for an instruction: it is built for no vectors itself, and the instruction may stay a call.
//! `cargo xtask baseline` looks for such calls.

use super::chosen::Taken;
use super::{Vectors, Work};
use crate::{radiometry::Lines, units::RowKelvin};
use core::arch::x86_64::{__m128i, __m256i};
use pulp::cast;
use pulp::x86::V3;

/// Lower and upper bytes of the first sixteen numbers, each twice.
#[inline(always)]
fn halves(numbers: &[u16; 32]) -> [__m256i; 2] {
    [0, 8].map(|bits| {
        let bytes: [u8; 16] = core::array::from_fn(|i| (numbers.get(i).copied().unwrap_or(0) >> bits) as u8);
        cast([bytes, bytes])
    })
}

/// Of sixteen numbers in halves, those at these places, which are given once for each byte.
#[inline(always)]
fn pick(v: V3, [low, high]: [__m256i; 2], of_low: __m256i, of_high: __m256i) -> __m256i {
    v.avx2._mm256_or_si256(v.avx2._mm256_shuffle_epi8(low, of_low), v.avx2._mm256_shuffle_epi8(high, of_high))
}

/// The highest of eight numbers and its first place.
#[inline(always)]
pub(super) fn highest_of(v: V3, eight: __m128i) -> (u16, u16) {
    // There is an instruction for the lowest and its place; of complements, that is the highest.
    let complement = v.sse2._mm_xor_si128(eight, v.sse2._mm_set1_epi16(-1));
    let lowest = v.sse2._mm_cvtsi128_si32(v.sse4_1._mm_minpos_epu16(complement)) as u32;
    (!lowest as u16, (lowest >> 16) as u16)
}

/// A bit for each of 64 numbers that is not 0.
#[inline(always)]
fn marks(v: V3, excess: [__m256i; 4]) -> u64 {
    let zero = v.avx._mm256_setzero_si256();
    let mut all = 0;
    for (i, [low, high]) in excess.as_chunks::<2>().0.iter().enumerate() {
        let (low, high) = (v.avx2._mm256_cmpeq_epi16(*low, zero), v.avx2._mm256_cmpeq_epi16(*high, zero));
        // The halves of both come out one after the other, two by two.
        let bytes = v.avx2._mm256_permute4x64_epi64::<0b11_01_10_00>(v.avx2._mm256_packs_epi16(low, high));
        all |= u64::from(!v.avx2._mm256_movemask_epi8(bytes) as u32) << (32 * i);
    }
    all
}

impl Vectors for V3 {
    const COUNTS_BITS: bool = true;
    const PICKED: u16 = 16;

    #[inline(always)]
    fn beyond(self, pixels: &[u16; 64], hot: u16, cold: u16) -> Option<(u64, u64)> {
        let (hot, cold) = (self.avx._mm256_set1_epi16(hot as i16), self.avx._mm256_set1_epi16(cold as i16));
        let zero = self.avx._mm256_setzero_si256();
        let (mut above, mut below, mut all) = ([zero; 4], [zero; 4], zero);
        for ((above, below), v) in above.iter_mut().zip(&mut below).zip(pixels.as_chunks::<16>().0) {
            let v = cast(*v);
            (*above, *below) = (self.avx2._mm256_subs_epu16(v, hot), self.avx2._mm256_subs_epu16(cold, v));
            all = self.avx2._mm256_or_si256(all, self.avx2._mm256_or_si256(*above, *below));
        }
        // Most chunks are all ordinary.
        let none = self.avx._mm256_testz_si256(all, all) == 1;
        Some(if none { (0, 0) } else { (marks(self, above), marks(self, below)) })
    }

    #[inline(always)]
    fn highest(self, eight: [u16; 8]) -> (u16, u16, u32) {
        let (eight, zero) = (cast(eight), self.sse2._mm_setzero_si128());
        let zeros = self.sse2._mm_packs_epi16(self.sse2._mm_cmpeq_epi16(eight, zero), zero);
        let places = !self.sse2._mm_movemask_epi8(zeros) as u32 & 0xFF;
        let (highest, place) = highest_of(self, eight);
        (highest, place, places)
    }

    #[inline(always)]
    fn convert<const FINEST: bool>(self, lines: &Lines, chunks: &[[u16; 32]], outs: &mut [[RowKelvin; 32]]) -> usize {
        let (avx, avx2) = (self.avx, self.avx2);
        let [base, reach, one] = [lines.base, lines.reach, 1].map(|v| v as i16);
        let (base, reach, one) =
            (avx._mm256_set1_epi16(base), avx._mm256_set1_epi16(reach), avx._mm256_set1_epi16(one));
        let (no_low, no_high) = (avx._mm256_set1_epi16(0x0080), avx._mm256_set1_epi16(0x8000u16 as i16));
        let bits = |v: u16| cast([u64::from(v), 0]);
        let (shift, down, up) = (bits(lines.shift), bits(lines.fraction), bits(16u16.saturating_sub(lines.fraction)));
        let [low_of, high_of, slope_of] = [&lines.low, &lines.high, &lines.slopes].map(halves);
        for (done, (chunk, out)) in chunks.iter().zip(outs).enumerate() {
            let mut halves_out = [avx._mm256_setzero_si256(); 2];
            for (half, out) in chunk.as_chunks::<16>().0.iter().zip(&mut halves_out) {
                let counts = cast(*half);
                let from_base = avx2._mm256_sub_epi16(counts, base);
                let beyond = avx2._mm256_subs_epu16(from_base, reach);
                if avx._mm256_testz_si256(beyond, beyond) == 0 {
                    return done;
                }
                // Bytes are picked, and a place with the highest bit is that of no byte.
                let places = avx2._mm256_srl_epi16(from_base, shift);
                let of_low = avx2._mm256_or_si256(places, no_high);
                let of_high = avx2._mm256_or_si256(avx2._mm256_slli_epi16::<8>(places), no_low);
                let low = pick(self, low_of, of_low, of_high);
                let high = pick(self, high_of, of_low, of_high);
                let slope = pick(self, slope_of, of_low, of_high);
                let sum = avx2._mm256_add_epi16(avx2._mm256_mullo_epi16(slope, counts), low);
                let high = avx2._mm256_add_epi16(avx2._mm256_mulhi_epi16(slope, counts), high);
                // One more where the sum ran over: one, less one where it did not.
                let whole = avx2._mm256_cmpeq_epi16(avx2._mm256_max_epu16(sum, low), sum);
                let high = avx2._mm256_add_epi16(high, avx2._mm256_add_epi16(whole, one));
                *out = if FINEST {
                    high
                } else {
                    avx2._mm256_or_si256(avx2._mm256_sll_epi16(high, up), avx2._mm256_srl_epi16(sum, down))
                };
            }
            *out = cast(halves_out);
        }
        chunks.len()
    }

    #[inline(always)]
    fn run<W: Work>(self, work: W) -> W::Output {
        self.vectorize(Taken(work, self))
    }
}
