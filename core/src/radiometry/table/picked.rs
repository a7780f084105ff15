//! Rows of counts to rows of kelvin for processors whose vectors pick from 16 or 32 numbers by their places.
//!
//! *How.* Start and slope of each pixel's piece are picked from those of so many pieces that follow one another, whatever
//! pieces neighbors lie in. All is arithmetic of 16 bits, as in `lanes`, and the bytes are the same.

use super::TableOf;
use super::lanes::{Row, in_windows};
use crate::units::RowKelvin;
use crate::vectors::{Vectors, Work};

/// Most pieces of a window, and pixels that are in or out together (derived): numbers of 16 bits in a vector of 512.
const PIECES: usize = 32;

/// Converts a row, or gives it back if the vectors are not of that kind, or the table is too small.
#[inline(always)]
pub(super) fn convert<V: Vectors, const N: usize, const FINEST: bool>(
    vectors: V,
    row: Row<'_, N>,
) -> Result<(), Row<'_, N>> {
    if N < usize::from(V::PICKED) || V::PICKED == 0 {
        return Err(row);
    }
    let table = row.table;
    in_windows::<PIECES, N>(row, |chunks, outs, [first, last]| {
        let spare = (V::PICKED - 1).checked_sub(last - first)?;
        let lines = Lines::new(table, first.saturating_sub(spare / 2), V::PICKED)?;
        Some(vectors.run(Chunks::<FINEST> { lines, chunks, outs }))
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
    /// `many` of them from piece `first` on, or from one before it if there are too few, if the table has that many.
    #[inline(always)]
    fn new<const N: usize>(table: &TableOf<N>, first: u16, many: u16) -> Option<Self> {
        let (shift, fraction, many) = (table.head.shift, table.head.fraction, usize::from(many));
        let first = usize::from(first).min(N.checked_sub(many)?);
        let (starts, slopes) = (table.starts.get(first..first + many)?, table.slopes.get(first..first + many)?);
        let mut lines = Self {
            base: (first << shift) as u16,
            reach: ((many << shift) - 1).min(usize::from(u16::MAX)) as u16,
            shift,
            fraction,
            low: [0; PIECES],
            high: [0; PIECES],
            slopes: [0; PIECES],
        };
        lines.low.iter_mut().zip(starts).for_each(|(low, start)| *low = *start as u16);
        lines.high.iter_mut().zip(starts).for_each(|(high, start)| *high = (start >> 16) as u16);
        lines.slopes.iter_mut().zip(slopes).for_each(|(to, slope)| *to = *slope as u16);
        Some(lines)
    }
}

/// Lines and what to convert with them: a loop of its own, so that they stay in registers.
struct Chunks<'c, const FINEST: bool> {
    lines: Lines,
    chunks: &'c [[u16; PIECES]],
    outs: &'c mut [[RowKelvin; PIECES]],
}

impl<const FINEST: bool> Work for Chunks<'_, FINEST> {
    type Output = usize;

    #[inline(always)]
    fn run<V: Vectors>(self, vectors: V) -> usize {
        vectors.convert::<FINEST>(&self.lines, self.chunks, self.outs)
    }
}
