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
pub(super) struct Row<'r, const N: usize> {
    pub(super) table: &'r TableOf<N>,
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
    #[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
    let Err(row) = super::picked::convert::<_, N, FINEST>(vectors, row) else { return };
    let table = row.table;
    in_windows::<CHUNK, N>(row, |chunks, outs, [first, last]| {
        let count = first << table.head.shift;
        Some(match last - first {
            0 => vectors.run(Chunks::<1, FINEST> { window: Window::new(table, count), chunks, outs }),
            1 => vectors.run(Chunks::<2, FINEST> { window: Window::new(table, count), chunks, outs }),
            2 | 3 => vectors.run(Chunks::<4, FINEST> { window: Window::new(table, count), chunks, outs }),
            _ => return None,
        })
    });
}

/// Converts a row by windows of pieces. `convert` is handed the chunks to come and the first and last piece of the next, and
/// returns how many of them it took; none, if these pieces are too many for a window.
#[inline(always)]
pub(super) fn in_windows<const C: usize, const N: usize>(
    Row { table, counts, kelvin }: Row<'_, N>,
    mut convert: impl FnMut(&[[u16; C]], &mut [[RowKelvin; C]], [u16; 2]) -> Option<usize>,
) {
    let (mut chunks, rest) = counts.as_chunks::<C>();
    let (mut outs, rest_out) = kelvin.as_chunks_mut::<C>();
    // Chunks to take one by one without a look: more and more, where a look has been of no use.
    let mut blind = 1;
    while let Some(chunk) = chunks.first() {
        let done = if let Some(done @ 1..) = convert(chunks, outs, bounds(chunk).map(|count| count >> table.head.shift))
        {
            blind = 1;
            done
        } else {
            let done = blind.min(chunks.len());
            let (these, now) = (chunks.get(..done), outs.get_mut(..done));
            rows::one_by_one(table, these.unwrap_or(&[]).as_flattened(), now.unwrap_or(&mut []).as_flattened_mut());
            blind = 4 * done;
            done
        };
        (chunks, outs) = (chunks.get(done..).unwrap_or(&[]), outs.get_mut(done..).unwrap_or(&mut []));
    }
    rows::one_by_one(table, rest, rest_out);
}

/// Lowest and highest count. Found as signed numbers, for which the oldest vectors have an instruction.
fn bounds<const C: usize>(chunk: &[u16; C]) -> [u16; 2] {
    let signed = chunk.map(|count| (count ^ SIGN) as i16);
    let low = signed.iter().fold(i16::MAX, |low, &v| low.min(v));
    let high = signed.iter().fold(i16::MIN, |high, &v| high.max(v));
    [low as u16 ^ SIGN, high as u16 ^ SIGN]
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

#[cfg(test)]
mod tests {
    use super::{Row, rows};
    use crate::radiometry::{LinearScale, MeasurementEquation, Scale, Scene, TableOf};
    use crate::units::RowKelvin;
    use crate::vectors::{Vectors, Work, on_every_level};
    use proptest::prelude::*;
    use std::vec;
    use std::vec::Vec;

    struct Converted<'r, const N: usize> {
        table: &'r TableOf<N>,
        counts: &'r [u16],
    }

    impl<const N: usize> Work for Converted<'_, N> {
        type Output = Vec<RowKelvin>;

        fn run<V: Vectors>(self, vectors: V) -> Vec<RowKelvin> {
            let mut kelvin = vec![RowKelvin::ZERO; self.counts.len()];
            Row { table: self.table, counts: self.counts, kelvin: &mut kelvin }.run(vectors);
            kelvin
        }
    }

    fn equals_one_by_one<const N: usize>(counts_per_kelvin: f64, full_scale: u16, counts: &[u16]) {
        let scale = Scale::Linear(LinearScale::new(counts_per_kelvin, -40.0).unwrap());
        let equation = MeasurementEquation::new(&scale, &Scene::BLACKBODY).unwrap();
        let table = TableOf::<N>::new(&equation, full_scale).unwrap();
        let mut expected = vec![RowKelvin::ZERO; counts.len()];
        rows::one_by_one(&table, counts, &mut expected);
        for row in on_every_level(|| Converted { table: &table, counts }) {
            assert_eq!(row, expected);
        }
    }

    proptest! {
        /// Neighbors alike, in a few pieces, and all over the place.
        #[test]
        fn every_level_gives_what_one_by_one_gives(
            steps in proptest::collection::vec((0u32..4, any::<u16>()), 1..400),
            start in any::<u16>(),
            counts_per_kelvin in 4.0f64..200.0,
        ) {
            let mut at = start;
            let counts: Vec<u16> = steps.iter().map(|&(kind, by)| {
                let by = match kind {
                    0 | 1 => by % 16,
                    2 => by % 1_000,
                    _ => by,
                };
                at = at.wrapping_add(by).wrapping_sub(if kind == 0 { 15 } else { 0 });
                at
            }).collect();
            equals_one_by_one::<256>(counts_per_kelvin, u16::MAX, &counts);
            equals_one_by_one::<2048>(counts_per_kelvin, u16::MAX, &counts);
            equals_one_by_one::<16>(40.0 + counts_per_kelvin, u16::MAX, &counts);
            equals_one_by_one::<256>(counts_per_kelvin, 16_383, &counts);
            // Calm rows go through windows from end to end.
            let calm: Vec<u16> = counts.iter().map(|&v| start / 2 + v % 700).collect();
            equals_one_by_one::<256>(counts_per_kelvin, u16::MAX, &calm);
        }
    }
}
