//! Rows of counts to rows of kelvin for processors whose vectors pick from 32 numbers by their places.
//!
//! *How.* Start and slope of each pixel's piece are picked from those of 32 pieces that follow one another, whatever
//! pieces neighbors lie in. All is arithmetic of 16 bits, as in `lanes`, and the bytes are the same.

use super::TableOf;
use super::lanes::{Row, in_windows};
use crate::units::RowKelvin;
use crate::vectors::{Vectors, Work};

/// Pieces of a window, and pixels that are in or out together (derived): numbers of 16 bits in a vector of 512.
const PIECES: usize = 32;

/// Converts a row, or gives it back if the vectors are not of that kind, or the table is too small.
#[inline(always)]
pub(super) fn convert<const N: usize, const FINEST: bool>(
    vectors: impl Vectors,
    row: Row<'_, N>,
) -> Result<(), Row<'_, N>> {
    if N < PIECES || vectors.convert::<FINEST>(&Lines::NONE, &[], &mut []).is_none() {
        return Err(row);
    }
    let table = row.table;
    in_windows::<PIECES, N>(row, |chunks, outs, [first, last]| {
        let spare = (PIECES as u16 - 1).checked_sub(last - first)?;
        let lines = Lines::new(table, first.saturating_sub(spare / 2))?;
        vectors.run(Chunks::<FINEST> { lines, chunks, outs })
    });
    Ok(())
}

/// Pieces that follow one another.
pub(crate) struct Lines {
    /// First count, and the last as a distance from it.
    pub(crate) base: u16,
    pub(crate) reach: u16,
    /// log2 of the counts in a piece.
    pub(crate) shift: u16,
    /// Fraction bits of the pieces.
    pub(crate) fraction: u16,
    /// Halves of the starts, and the slopes.
    pub(crate) low: [u16; PIECES],
    pub(crate) high: [u16; PIECES],
    pub(crate) slopes: [u16; PIECES],
}

impl Lines {
    const NONE: Self =
        Self { base: 0, reach: 0, shift: 0, fraction: 0, low: [0; PIECES], high: [0; PIECES], slopes: [0; PIECES] };

    /// From piece `first` on, or from one before it if there are too few, if the table has that many.
    #[inline(always)]
    fn new<const N: usize>(table: &TableOf<N>, first: u16) -> Option<Self> {
        let (shift, fraction) = (table.head.shift, table.head.fraction);
        let first = usize::from(first).min(N.checked_sub(PIECES)?);
        let starts = table.starts.get(first..)?.first_chunk::<PIECES>()?;
        let slopes = table.slopes.get(first..)?.first_chunk::<PIECES>()?;
        Some(Self {
            base: (first << shift) as u16,
            reach: (((PIECES as u32) << shift) - 1).min(u32::from(u16::MAX)) as u16,
            shift,
            fraction,
            low: starts.map(|start| start as u16),
            high: starts.map(|start| (start >> 16) as u16),
            slopes: slopes.map(|slope| slope as u16),
        })
    }
}

/// Lines and what to convert with them: a loop of its own, so that they stay in registers.
struct Chunks<'c, const FINEST: bool> {
    lines: Lines,
    chunks: &'c [[u16; PIECES]],
    outs: &'c mut [[RowKelvin; PIECES]],
}

impl<const FINEST: bool> Work for Chunks<'_, FINEST> {
    type Output = Option<usize>;

    #[inline(always)]
    fn run<V: Vectors>(self, vectors: V) -> Option<usize> {
        vectors.convert::<FINEST>(&self.lines, self.chunks, self.outs)
    }
}
