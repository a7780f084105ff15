//! Rows of counts to rows of kelvin for processors with vectors.
//!
//! *How.* Neighbors mostly lie in one piece of the table, or in a few that follow one another. While the pixels do, no
//! pixel needs to look anything up: start and slope are selected from those few, and all is arithmetic of 16 bits that a
//! compiler turns into vectors. Where they do not, pixels go one by one as everywhere else, and the bytes are the same.

use super::{FINE, TableOf, rows};
use crate::units::RowKelvin;
use crate::vectors::{Vectors, Work, widest_if};

/// Pixels that are in or out together: more are rarely in few pieces, fewer cost more branches.
const CHUNK: usize = 16;

/// Converts a row; the slices are of one length.
pub(super) fn convert<const N: usize>(table: &TableOf<N>, counts: &[u16], kelvin: &mut [RowKelvin]) {
    widest_if(true, Row { table, counts, kelvin });
}

/// A row to convert.
struct Row<'r, const N: usize> {
    table: &'r TableOf<N>,
    counts: &'r [u16],
    kelvin: &'r mut [RowKelvin],
}

impl<const N: usize> Work for Row<'_, N> {
    type Output = ();

    #[inline(always)]
    fn run<V: Vectors>(self, vectors: V) {
        if u32::from(self.table.head.fraction) == FINE {
            convert_with::<N, true>(vectors, self);
        } else {
            convert_with::<N, false>(vectors, self);
        }
    }
}

#[inline(always)]
fn convert_with<const N: usize, const FINEST: bool>(vectors: impl Vectors, row: Row<'_, N>) {
    let Row { table, counts, kelvin } = row;
    let (mut chunks, rest) = counts.as_chunks::<CHUNK>();
    let (mut outs, rest_out) = kelvin.as_chunks_mut::<CHUNK>();
    // Chunks to take one by one without a look: more and more, where a look has been of no use.
    let mut blind = 1;
    while let Some(chunk) = chunks.first() {
        let (first, last) = bounds(chunk);
        let pieces = (last >> table.head.shift) - (first >> table.head.shift);
        let done = match pieces {
            0 => vectors.run(Chunks::<1, FINEST> { window: Window::new(table, first), chunks, outs }),
            1 => vectors.run(Chunks::<2, FINEST> { window: Window::new(table, first), chunks, outs }),
            2 | 3 => vectors.run(Chunks::<4, FINEST> { window: Window::new(table, first), chunks, outs }),
            _ => {
                let done = blind.min(chunks.len());
                let (these, now) = (chunks.get(..done), outs.get_mut(..done));
                rows::one_by_one(table, these.unwrap_or(&[]).as_flattened(), now.unwrap_or(&mut []).as_flattened_mut());
                done
            }
        };
        blind = if pieces < 4 { 1 } else { 4 * done };
        (chunks, outs) = (chunks.get(done..).unwrap_or(&[]), outs.get_mut(done..).unwrap_or(&mut []));
    }
    rows::one_by_one(table, rest, rest_out);
}

/// Lowest and highest count. Found as signed numbers, for which the oldest vectors have an instruction.
fn bounds(chunk: &[u16; CHUNK]) -> (u16, u16) {
    let signed = chunk.map(|count| (count ^ SIGN) as i16);
    let low = signed.iter().fold(i16::MAX, |low, &v| low.min(v));
    let high = signed.iter().fold(i16::MIN, |high, &v| high.max(v));
    (low as u16 ^ SIGN, high as u16 ^ SIGN)
}

/// What turns the order of unsigned numbers into that of signed ones.
const SIGN: u16 = 0x8000;

/// `K` pieces that follow one another.
struct Window<const K: usize> {
    /// What is taken off a count to have its place in the window, as a signed number: the first place is the lowest.
    base: u16,
    /// Last place of the window.
    last: i16,
    fraction: u16,
    pieces: [Piece; K],
}

#[derive(Clone, Copy, Default)]
struct Piece {
    /// Place of its first count.
    from: i16,
    /// Halves of its start, and its slope: the bits in which they are not those of the piece before.
    low: u16,
    high: u16,
    slope: i16,
}

impl<const K: usize> Window<K> {
    /// From the piece of `count` on.
    #[inline(always)]
    fn new<const N: usize>(table: &TableOf<N>, count: u16) -> Self {
        let (shift, size) = (table.head.shift, 1u16 << table.head.shift);
        let first = count >> shift << shift;
        let mut pieces = [Piece::default(); K];
        let (mut place, mut start_before, mut slope_before) = (0u16, 0, 0);
        for piece in &mut pieces {
            let (start, slope) = table.view().piece(first.wrapping_add(place));
            let bits = start ^ start_before;
            *piece = Piece {
                from: (place ^ SIGN) as i16,
                low: bits as u16,
                high: (bits >> 16) as u16,
                slope: slope ^ slope_before,
            };
            (place, start_before, slope_before) = (place + size, start, slope);
        }
        let last = ((K as u16 * size - 1) ^ SIGN) as i16;
        Self { base: first ^ SIGN, last, fraction: table.head.fraction, pieces }
    }

    /// Converts chunks up to the first with a pixel outside, and returns how many.
    #[inline(always)]
    fn convert<const FINEST: bool>(self, chunks: &[[u16; CHUNK]], outs: &mut [[RowKelvin; CHUNK]]) -> usize {
        let [first, ref others @ ..] = self.pieces[..] else { return 0 };
        let mut left = chunks.iter();
        for out in outs {
            let Some(chunk) = left.next() else { break };
            let mut any_outside = 0;
            for (pixel, &count) in out.iter_mut().zip(chunk) {
                let place = count.wrapping_sub(self.base) as i16;
                let outside = mask(place > self.last);
                any_outside |= outside;
                let Piece { mut low, mut high, mut slope, .. } = first;
                // Changes nothing that counts, but a slope that is the same for all pixels would be widened to 32 bits
                // before the loop, and products of 16 bits, which old vectors have, not be recognized.
                slope &= !outside as i16;
                for piece in others {
                    let reached = mask(place >= piece.from);
                    low ^= piece.low & reached;
                    high ^= piece.high & reached;
                    slope ^= piece.slope & reached as i16;
                }
                *pixel = RowKelvin::from_bits(line::<FINEST>((low, high), slope, count, self.fraction));
            }
            if any_outside != 0 {
                return chunks.len() - left.len() - 1;
            }
        }
        chunks.len() - left.len()
    }
}

/// A window and what to convert with it: a loop of its own, so that the window stays in registers.
struct Chunks<'c, const K: usize, const FINEST: bool> {
    window: Window<K>,
    chunks: &'c [[u16; CHUNK]],
    outs: &'c mut [[RowKelvin; CHUNK]],
}

impl<const K: usize, const FINEST: bool> Work for Chunks<'_, K, FINEST> {
    type Output = usize;

    #[inline(always)]
    fn run<V: Vectors>(self, _: V) -> usize {
        self.window.convert::<FINEST>(self.chunks, self.outs)
    }
}

/// All bits or none.
#[inline(always)]
const fn mask(all: bool) -> u16 {
    if all { u16::MAX } else { 0 }
}

/// The line of a piece in steps: [`rows::line`] in halves, of which a vector holds more.
#[inline(always)]
fn line<const FINEST: bool>((low, high): (u16, u16), slope: i16, count: u16, fraction: u16) -> u16 {
    let count = count as i16;
    let product_high = ((i32::from(slope) * i32::from(count)) >> 16) as u16;
    let sum = (slope.wrapping_mul(count) as u16).wrapping_add(low);
    let carry = u16::from(sum < low);
    let high = high.wrapping_add(product_high).wrapping_add(carry);
    if FINEST { high } else { high << (FINE - u32::from(fraction)) | sum >> fraction }
}
