//! What changed between before and after, such as a heater switched on: a difference picture in lent memory.
//!
//! *What.* Means of blocks of pixels, first of frames before, then of frames after; the difference comes out as rows of
//! counts around [`Change::ZERO`], which every other tool reads: shapes, profiles, the region scanner. *Why.* A difference
//! of the same pixel in the same view cancels what is added and stays: fixed pattern, and a reflection whose scene did not
//! change. It cancels no factor: a rise still shows as emissivity times it (vehicle notes 1.3). *Memory.* 12 bytes per
//! block: 1 × 1 is a frame, 8 × 8 a sixty-fourth of one. *What it cannot.* A view that moved in between; register it first.

use crate::error::{Error, Quantity, Result};
use crate::sensor::CountRange;

/// Sums of a block before and after.
///
/// *Scaling and overflow*: at most 32,767 pixels of at most 65,535 counts each way, which fits in 32 bits; more are left
/// out.
#[derive(Clone, Copy, Debug, Default)]
pub struct Block {
    sums: [u32; 2],
    /// Pixels summed; [`INCOMPLETE`] set if one of several was left out.
    pixels: [u16; 2],
}

/// Marks a block whose mean is not that of all its pixels.
const INCOMPLETE: u16 = 1 << 15;

impl Block {
    /// Nothing summed.
    pub const EMPTY: Self = Self { sums: [0; 2], pixels: [0; 2] };

    /// After less before, in 1/256 count; `None` if either is missing, or if a pixel of several was left out in any frame:
    /// then both means would be of different pixels, and a block that saturates would look colder.
    #[must_use]
    pub fn difference_q8(&self) -> Option<i32> {
        let [before, after] = self.sums;
        let [before_pixels, after_pixels] = self.pixels;
        if (before_pixels | after_pixels) & INCOMPLETE != 0 {
            return None;
        }
        let mean = |sum: u32, pixels: u16| (u64::from(sum) << 8).checked_div(u64::from(pixels)).map(|mean| mean as i32);
        Some(mean(after, after_pixels)? - mean(before, before_pixels)?)
    }
}

/// Which of the two a frame belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum When {
    /// Before the change.
    Before,
    /// After it.
    After,
}

/// A difference picture; holds no references.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    width: u16,
    height: u16,
    block_log2: u8,
}

impl Change {
    /// Count that stands for no difference in a row of differences.
    pub const ZERO: u16 = 0x8000;

    /// For frames of this size, in blocks of 1, 2, 4 or 8 pixels a side (`block_log2` 0 to 3).
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a size of 0 or a larger block.
    pub const fn new(width: u16, height: u16, block_log2: u8) -> Result<Self> {
        if width == 0 || height == 0 || block_log2 > 3 {
            return Err(Error::OutOfRange(Quantity::ImageSize));
        }
        Ok(Self { width, height, block_log2 })
    }

    /// Blocks in a row of blocks; the last may be cut by the border.
    #[must_use]
    pub const fn columns(&self) -> usize {
        (self.width as usize).div_ceil(1 << self.block_log2)
    }

    /// Rows of blocks.
    #[must_use]
    pub const fn rows(&self) -> usize {
        (self.height as usize).div_ceil(1 << self.block_log2)
    }

    /// Blocks to lend.
    #[must_use]
    pub const fn blocks(&self) -> usize {
        self.columns() * self.rows()
    }

    /// Adds row `y` of a frame. Counts at or below `dead` or at or above `saturated` are left out, and of a
    /// block of several pixels nothing more is said: replace the dead pixels of a sensor first, or use 1 × 1.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for a row of another length or outside, [`Error::TooSmall`] for too few blocks.
    pub fn add_row(&self, blocks: &mut [Block], when: When, y: u16, row: &[u16], valid: (u16, u16)) -> Result<()> {
        if row.len() != usize::from(self.width) || y >= self.height {
            return Err(Error::WrongLength);
        }
        let from = (usize::from(y) >> self.block_log2) * self.columns();
        let blocks = blocks.get_mut(from..from + self.columns()).ok_or(Error::TooSmall)?;
        let range = CountRange::between(valid.0, valid.1);
        let incomplete = if self.block_log2 > 0 { INCOMPLETE } else { 0 };
        for (block, pixels) in blocks.iter_mut().zip(row.chunks(1 << self.block_log2)) {
            let ([before, after], [before_pixels, after_pixels]) = (&mut block.sums, &mut block.pixels);
            let (sum, counted) = match when {
                When::Before => (before, before_pixels),
                When::After => (after, after_pixels),
            };
            for &count in pixels {
                if !range.holds(count) {
                    *counted |= incomplete;
                } else if *counted & !INCOMPLETE < !INCOMPLETE {
                    *counted += 1;
                    *sum += u32::from(count);
                }
            }
        }
        Ok(())
    }

    /// Writes a row of differences: [`Change::ZERO`] plus the difference in 1/2^`fraction` counts (`fraction` up to 6),
    /// limited to 1…65,534; 0 where there is none. Use 0 as dead and 65,535 as saturated count with it.
    ///
    /// # Errors
    /// [`Error::WrongLength`] unless `out` has [`Change::columns`] entries and the row exists, [`Error::TooSmall`] for too
    /// few blocks, [`Error::OutOfRange`] for a larger fraction.
    pub fn difference_row(&self, blocks: &[Block], row: usize, fraction: u8, out: &mut [u16]) -> Result<()> {
        if out.len() != self.columns() || row >= self.rows() {
            return Err(Error::WrongLength);
        }
        if fraction > 6 {
            return Err(Error::OutOfRange(Quantity::Thresholds));
        }
        let from = row * self.columns();
        let blocks = blocks.get(from..from + self.columns()).ok_or(Error::TooSmall)?;
        for (out, block) in out.iter_mut().zip(blocks) {
            *out = block.difference_q8().map_or(0, |q8| {
                let (drop, half) = (8 - fraction, 128 >> fraction);
                (i32::from(Self::ZERO) + ((q8 + half) >> drop)).clamp(1, i32::from(u16::MAX) - 1) as u16
            });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec;

    proptest! {
        #[test]
        fn differences_are_those_of_the_block_means(
            width in 1u16..20, height in 1u16..20, block_log2 in 0u8..=3, seed in 0u32..1_000, fraction in 0u8..=6,
        ) {
            let change = Change::new(width, height, block_log2).unwrap();
            let mut blocks = vec![Block::EMPTY; change.blocks()];
            let pixel = |x: u16, y: u16, k: u32| {
                (1_000 + (u32::from(x) * 31 + u32::from(y) * 17 + k * seed) % 97) as u16
            };
            for (k, when) in [(0, When::Before), (1, When::Before), (2, When::After)] {
                for y in 0..height {
                    let row: vec::Vec<u16> = (0..width).map(|x| pixel(x, y, k)).collect();
                    change.add_row(&mut blocks, when, y, &row, (0, u16::MAX)).unwrap();
                }
            }
            let mut out = vec![0; change.columns()];
            let side = 1u16 << block_log2;
            for by in 0..change.rows() as u16 {
                change.difference_row(&blocks, usize::from(by), fraction, &mut out).unwrap();
                for (bx, &got) in out.iter().enumerate() {
                    let (xs, ys) = (bx as u16 * side, by * side);
                    let mean = |ks: &[u32]| {
                        let (mut sum, mut n) = (0.0, 0.0);
                        for y in ys..(ys + side).min(height) {
                            for x in xs..(xs + side).min(width) {
                                for &k in ks {
                                    (sum, n) = (sum + f64::from(pixel(x, y, k)), n + 1.0);
                                }
                            }
                        }
                        sum / n
                    };
                    let exact = mean(&[2]) - mean(&[0, 1]);
                    let got = (f64::from(got) - 32_768.0) / f64::from(1u16 << fraction);
                    prop_assert!((got - exact).abs() <= 0.5 / f64::from(1u16 << fraction) + 0.01, "{} {}", got, exact);
                }
            }
        }
    }

    /// A block one pixel of which saturates when it is heated is not shown as cooled.
    #[test]
    fn means_of_different_pixels_have_no_difference() {
        let change = Change::new(2, 2, 1).unwrap();
        let mut blocks = [Block::EMPTY; 1];
        for (when, rows) in [(When::Before, [[100, 100], [100, 900]]), (When::After, [[110, 110], [110, 1_000]])] {
            assert_eq!(blocks[0].difference_q8(), None);
            for (y, row) in (0..).zip(rows) {
                change.add_row(&mut blocks, when, y, &row, (0, 1_000)).unwrap();
            }
        }
        assert_eq!(blocks[0].difference_q8(), None);
        // A single pixel that is missing in one of two frames is the same pixel in the other.
        let change = Change::new(1, 1, 0).unwrap();
        let mut blocks = [Block::EMPTY; 1];
        for (when, count) in [(When::Before, 0), (When::Before, 100), (When::After, 110), (When::After, 1_000)] {
            change.add_row(&mut blocks, when, 0, &[count], (0, 1_000)).unwrap();
        }
        assert_eq!(blocks[0].difference_q8(), Some(10 << 8));
    }

    #[test]
    fn what_is_missing_has_no_difference() {
        let change = Change::new(2, 1, 0).unwrap();
        let mut blocks = [Block::EMPTY; 2];
        change.add_row(&mut blocks, When::Before, 0, &[5, 5], (0, 100)).unwrap();
        change.add_row(&mut blocks, When::After, 0, &[100, 9], (0, 100)).unwrap();
        let mut out = [7; 2];
        change.difference_row(&blocks, 0, 0, &mut out).unwrap();
        assert_eq!(out, [0, Change::ZERO + 4]);
        assert_eq!(change.difference_row(&blocks[..1], 0, 0, &mut out), Err(Error::TooSmall));
        assert_eq!(change.difference_row(&blocks, 1, 0, &mut out), Err(Error::WrongLength));
    }
}
