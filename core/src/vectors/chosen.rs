//! The widest vectors of the processor that the program runs on.

use super::{Own, Vectors, Work};
use pulp::NullaryFnOnce;
use pulp::x86::Arch;

/// Work in the form that the crate takes.
pub(super) struct Taken<W, V>(pub(super) W, pub(super) V);

impl<W: Work, V: Vectors> NullaryFnOnce for Taken<W, V> {
    type Output = W::Output;

    #[inline(always)]
    fn call(self) -> Self::Output {
        self.0.run(self.1)
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
    use pulp::x86::{V3, V4};
    all.extend(V3::try_new().map(|vectors| vectors.run(work())));
    all.extend(V4::try_new().map(|vectors| vectors.run(work())));
    all
}
