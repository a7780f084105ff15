//! Loops built for more than one width of vectors, and the choice among them when they run.
//!
//! *Why.* A build for any x86-64 may use vectors of 128 bits only, without an instruction that counts trailing zeros or
//! picks one mask bit per pixel; most processors have more. With feature `wide-vectors`, [`widest_if`] runs the same
//! source built for AVX2, or for AVX-512, where the processor has it; else, and on other targets, it is a plain call. Where
//! a compiler does not find the one instruction that does it, [`Vectors`] names it. The bytes that come out are the same.
//! *Who asks the processor*: the crate `pulp`, once; later calls read a flag.

#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
use crate::{radiometry::Lines, units::RowKelvin};

/// Something to do, with everything it calls inlined: what is not is built for the target's own vectors.
pub(crate) trait Work {
    /// What comes out.
    type Output;

    /// Does it. `vectors` are the widest there are, for loops that are to be functions of their own.
    fn run<V: Vectors>(self, vectors: V) -> Self::Output;
}

/// Vectors that this processor has.
pub(crate) trait Vectors: Copy {
    /// Whether the bits of a word are counted by one instruction. Other targets may have it, too; what it brings there was
    /// not measured.
    #[cfg(target_arch = "x86_64")]
    const COUNTS_BITS: bool;

    /// A bit for each pixel above `hot`, and one for each below `cold`, if there are instructions for that.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    fn beyond(self, _pixels: &[u16; 64], _hot: u16, _cold: u16) -> Option<(u64, u64)> {
        None
    }

    /// Converts chunks by lines that are picked for each pixel, up to the first chunk with a pixel that has none, and returns
    /// how many; nothing, if there are no instructions for that.
    #[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
    #[inline(always)]
    fn convert<const FINEST: bool>(self, _: &Lines, _: &[[u16; 32]], _: &mut [[RowKelvin; 32]]) -> Option<usize> {
        None
    }

    /// Does something in a function that is built for these vectors.
    #[cfg_attr(
        not(any(target_arch = "x86_64", target_arch = "aarch64")),
        allow(dead_code, reason = "small processors have no vectors")
    )]
    fn run<W: Work>(self, work: W) -> W::Output;
}

/// Does something with the widest vectors of this processor if it is `worth` the choice, else with those that the whole
/// program is built for.
#[inline(always)]
pub(crate) fn widest_if<W: Work>(worth: bool, work: W) -> W::Output {
    #[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
    if worth {
        return chosen::widest(work);
    }
    let _ = worth;
    work.run(Own)
}

/// Does something once for each width of vectors that this processor has.
#[cfg(test)]
pub(crate) fn on_every_level<W: Work>(work: impl Fn() -> W) -> std::vec::Vec<W::Output> {
    let all = std::vec![work().run(Own)];
    #[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
    let all = chosen::with_levels(all, work);
    all
}

#[derive(Clone, Copy)]
struct Own;

impl Vectors for Own {
    #[cfg(target_arch = "x86_64")]
    const COUNTS_BITS: bool = cfg!(target_feature = "popcnt");

    #[inline(never)]
    fn run<W: Work>(self, work: W) -> W::Output {
        work.run(self)
    }
}

#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
mod chosen {
    use super::{Lines, Own, RowKelvin, Vectors, Work};
    use pulp::x86::{Arch, V3, V4};
    use pulp::{NullaryFnOnce, cast};

    /// Work in the form that the crate takes.
    struct Taken<W, V>(W, V);

    impl<W: Work, V: Vectors> NullaryFnOnce for Taken<W, V> {
        type Output = W::Output;

        #[inline(always)]
        fn call(self) -> Self::Output {
            self.0.run(self.1)
        }
    }

    impl Vectors for V4 {
        const COUNTS_BITS: bool = true;

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
        fn convert<const FINEST: bool>(
            self,
            lines: &Lines,
            chunks: &[[u16; 32]],
            outs: &mut [[RowKelvin; 32]],
        ) -> Option<usize> {
            let (f, bw) = (self.avx512f, self.avx512bw);
            let all = |v: u16| f._mm512_set1_epi16(v as i16);
            let (base, reach, shift, ones) = (all(lines.base), all(lines.reach), all(lines.shift), all(u16::MAX));
            let (down, up) = (all(lines.fraction), all(16u16.saturating_sub(lines.fraction)));
            let [lows, highs, slopes] = [lines.low, lines.high, lines.slopes].map(cast);
            for (done, (chunk, out)) in chunks.iter().zip(outs).enumerate() {
                let counts = cast(*chunk);
                let from_base = bw._mm512_sub_epi16(counts, base);
                if bw._mm512_cmpgt_epu16_mask(from_base, reach) != 0 {
                    return Some(done);
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
            Some(chunks.len())
        }

        #[inline(always)]
        fn run<W: Work>(self, work: W) -> W::Output {
            self.vectorize(Taken(work, self))
        }
    }

    impl Vectors for V3 {
        const COUNTS_BITS: bool = true;

        #[inline(always)]
        fn beyond(self, pixels: &[u16; 64], hot: u16, cold: u16) -> Option<(u64, u64)> {
            let (hot, cold) = (self.avx._mm256_set1_epi16(hot as i16), self.avx._mm256_set1_epi16(cold as i16));
            let zero = self.avx._mm256_setzero_si256();
            let bits = |excess: [_; 4]| {
                let [a, b, c, d] = excess.map(|excess| self.avx2._mm256_cmpeq_epi16(excess, zero));
                let word = |low, high| {
                    // The halves of both come out one after the other, two by two.
                    let bytes = self.avx2._mm256_packs_epi16(low, high);
                    let bytes = self.avx2._mm256_permute4x64_epi64::<0b11_01_10_00>(bytes);
                    u64::from(!self.avx2._mm256_movemask_epi8(bytes) as u32)
                };
                word(a, b) | word(c, d) << 32
            };
            let quarters = pixels.as_chunks::<16>().0.first_chunk::<4>().map_or([zero; 4], |four| four.map(cast));
            let above = quarters.map(|v| self.avx2._mm256_subs_epu16(v, hot));
            let below = quarters.map(|v| self.avx2._mm256_subs_epu16(cold, v));
            // Most chunks are all ordinary.
            let or = |a, b| self.avx2._mm256_or_si256(a, b);
            let any = |[a, b, c, d]: [_; 4]| or(or(a, b), or(c, d));
            let all = or(any(above), any(below));
            let none = self.avx._mm256_testz_si256(all, all) == 1;
            Some(if none { (0, 0) } else { (bits(above), bits(below)) })
        }

        #[inline(always)]
        fn run<W: Work>(self, work: W) -> W::Output {
            self.vectorize(Taken(work, self))
        }
    }

    #[inline(always)]
    pub(super) fn widest<W: Work>(work: W) -> W::Output {
        match Arch::new() {
            Arch::V4(vectors) => vectors.run(work),
            Arch::V3(vectors) => vectors.run(work),
            _ => work.run(Own),
        }
    }

    #[cfg(test)]
    pub(super) fn with_levels<W: Work>(
        mut all: std::vec::Vec<W::Output>,
        work: impl Fn() -> W,
    ) -> std::vec::Vec<W::Output> {
        all.extend(V3::try_new().map(|vectors| vectors.run(work())));
        all.extend(V4::try_new().map(|vectors| vectors.run(work())));
        all
    }
}
