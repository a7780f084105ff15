//! Loops built for more than one width of vectors, and the choice among them when they run.
//!
//! *Why.* A build for any x86-64 may use vectors of 128 bits only, without an instruction that counts trailing zeros or
//! picks one mask bit per pixel; most processors have more. With feature `wide-vectors`, [`widest_if`] runs the same
//! source built for AVX2, or for AVX-512, where the processor has it; else, and on other targets, it is a plain call. Where
//! a compiler does not find the one instruction that does it, [`Vectors`] names it. The bytes that come out are the same.
//! *Who asks the processor*: the crate `pulp`, once; later calls read a flag.

#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
mod avx2;
#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
mod avx512;
#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
mod chosen;
#[cfg(target_arch = "x86_64")]
mod every;

#[cfg(target_arch = "x86_64")]
pub(crate) use every::fetch;

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
    fn beyond(self, pixels: &[u16; 64], hot: u16, cold: u16) -> Option<(u64, u64)> {
        self.beyond_few(pixels, hot, cold)
    }

    /// The same for other numbers of pixels: multiples of sixteen, up to 64.
    #[cfg(any(target_arch = "x86_64", target_arch = "aarch64"))]
    #[inline(always)]
    fn beyond_few<const N: usize>(self, pixels: &[u16; N], hot: u16, cold: u16) -> Option<(u64, u64)> {
        #[cfg(target_arch = "x86_64")]
        return Some(every::beyond(pixels, hot, cold));
        #[cfg(not(target_arch = "x86_64"))]
        {
            let _ = (pixels, hot, cold);
            None
        }
    }

    /// Of eight numbers, the highest, the first place that has it, and a bit for each that is not 0.
    #[cfg(target_arch = "x86_64")]
    #[inline(always)]
    fn highest(self, eight: [u16; 8]) -> (u16, u16, u32) {
        let (mut highest, mut places) = (0, 0);
        for (i, v) in (0u32..).zip(eight) {
            highest = highest.max(u32::from(v) << 3 | (7 - i));
            places |= u32::from(v != 0) << i;
        }
        ((highest >> 3) as u16, 7 - (highest & 7) as u16, places)
    }

    /// Of how many lines one is picked for each pixel by an instruction; 0 if there is none.
    #[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
    const PICKED: u16 = 0;

    /// Converts chunks by the first [`Vectors::PICKED`] lines, up to the first chunk with a pixel that has none, and returns
    /// how many.
    #[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
    #[inline(always)]
    fn convert<const FINEST: bool>(self, _: &Lines, _: &[[u16; 32]], _: &mut [[RowKelvin; 32]]) -> usize {
        0
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
