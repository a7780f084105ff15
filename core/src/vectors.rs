//! Loops built for more than one width of vectors, and the choice among them when they run.
//!
//! *Why.* A build for any x86-64 may use vectors of 128 bits only, without an instruction that counts trailing zeros or
//! picks one mask bit per pixel; most processors have more. With feature `wide-vectors`, [`widest_if`] runs the same
//! source built for AVX2, or for AVX-512, where the processor has it; else, and on other targets, it is a plain call. The
//! bytes that come out are the same. *Who asks the processor*: the crate `pulp`, once; later calls read a flag.

/// Something to do, with everything it calls inlined: what is not is built for the target's own vectors.
pub(crate) trait Work {
    /// What comes out.
    type Output;

    /// Does it. `vectors` are the widest there are, for loops that are to be functions of their own.
    fn run<V: Vectors>(self, vectors: V) -> Self::Output;
}

/// Vectors that this processor has.
pub(crate) trait Vectors: Copy {
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

#[derive(Clone, Copy)]
struct Own;

impl Vectors for Own {
    #[inline(never)]
    fn run<W: Work>(self, work: W) -> W::Output {
        work.run(self)
    }
}

#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
mod chosen {
    use super::{Vectors, Work};
    use pulp::{Arch, Simd, WithSimd};

    /// Work in the form that the crate takes.
    struct Taken<W>(W);

    impl<W: Work> WithSimd for Taken<W> {
        type Output = W::Output;

        #[inline(always)]
        fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
            self.0.run(Level(simd))
        }
    }

    #[derive(Clone, Copy)]
    struct Level<S>(S);

    impl<S: Simd> Vectors for Level<S> {
        #[inline(always)]
        fn run<W: Work>(self, work: W) -> W::Output {
            self.0.vectorize(Taken(work))
        }
    }

    #[inline(always)]
    pub(super) fn widest<W: Work>(work: W) -> W::Output {
        Arch::new().dispatch(Taken(work))
    }
}
