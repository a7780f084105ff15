//! Enlargement by a whole number, row by row.
//!
//! *What.* [`repeat_row`] makes a block of every pixel, for any kind of pixel. [`Enlarger`] interpolates counts
//! bilinearly between pixel centers, before they become tones, so that the tones with a meaning are never mixed with
//! colors; beside a pixel that is no reading, the nearest pixel decides, so that none is invented. Peaks are not
//! raised: an interpolated count lies between its neighbors.
//!
//! *Memory.* One row, lent, and one for the output. *Cost*, measured on thumbv7em, per pixel of the output: 6
//! instructions to repeat and 23 to interpolate, at zoom 4.
//!
//! *Scaling and overflow*: weights are Q14, differences 17 bits with sign, so products fit in `i32`; an interpolated
//! count in Q14 stays below 2³⁰.

use crate::error::{Error, Result};
use crate::sensor::{CountRange, SetupError};

/// Largest zoom; beyond it weights would lose their last digits.
const ZOOM_MAX: u16 = 64;
const ONE: i32 = 1 << 14;

/// Repeats every pixel `zoom` times; repeat the row itself as often.
///
/// # Errors
/// [`Error::WrongLength`] if `wide` is not `zoom` times as long as `row`; it is then untouched.
pub fn repeat_row<T: Copy>(row: &[T], zoom: u16, wide: &mut [T]) -> Result<()> {
    if row.len().checked_mul(usize::from(zoom)) != Some(wide.len()) || zoom == 0 {
        return Err(Error::WrongLength);
    }
    for (block, pixel) in wide.chunks_exact_mut(usize::from(zoom)).zip(row) {
        block.fill(*pixel);
    }
    Ok(())
}

/// Enlarges rows of counts by a whole number, bilinearly between pixel centers, before they become tones. Beside a pixel
/// that is no reading the nearest pixel decides, and no count is invented beyond its neighbors.
#[derive(Debug)]
pub struct Enlarger<'m> {
    /// The row before, once there was one.
    before: &'m mut [u16],
    /// For the output.
    wide: &'m mut [u16],
    range: CountRange,
    zoom: u16,
    begun: bool,
}

impl<'m> Enlarger<'m> {
    /// For rows as wide as `before`, zoomed 1 to 64 times into `wide`.
    ///
    /// # Errors
    /// [`SetupError::Setting`] for another zoom, [`SetupError::Memory`] if `before` is empty or `wide` is not `zoom`
    /// times as long.
    pub const fn new(
        before: &'m mut [u16],
        wide: &'m mut [u16],
        zoom: u16,
        range: CountRange,
    ) -> core::result::Result<Self, SetupError> {
        if zoom == 0 || zoom > ZOOM_MAX {
            return Err(SetupError::Setting);
        }
        if before.is_empty() || before.len() * zoom as usize != wide.len() {
            return Err(SetupError::Memory);
        }
        Ok(Self { before, wide, range, zoom, begun: false })
    }

    /// As [`Enlarger::new`], taken up again in a frame of which rows came already, with the memory as it was left.
    ///
    /// # Errors
    /// As there.
    pub const fn resume(
        before: &'m mut [u16],
        wide: &'m mut [u16],
        zoom: u16,
        range: CountRange,
    ) -> core::result::Result<Self, SetupError> {
        match Self::new(before, wide, zoom, range) {
            Ok(enlarger) => Ok(Self { begun: true, ..enlarger }),
            Err(error) => Err(error),
        }
    }

    /// Takes the next row and hands on the wide rows that are now known: half a zoom of them for the first row, a whole
    /// zoom for every other.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for another width.
    pub fn push(&mut self, row: &[u16], mut show: impl FnMut(&[u16])) -> Result<()> {
        if row.len() != self.before.len() {
            return Err(Error::WrongLength);
        }
        let Self { before, wide, range, zoom, begun } = self;
        if *begun {
            for weight in weights(*zoom) {
                let blended = before.iter().zip(row).map(|(&a, &b)| blend(a, b, weight, *range));
                widen(blended, wide, *zoom, *range);
                show(wide);
            }
        } else {
            widen(row.iter().copied(), wide, *zoom, *range);
            (0..*zoom / 2).for_each(|_| show(wide));
        }
        for (before, &count) in self.before.iter_mut().zip(row) {
            *before = count;
        }
        self.begun = true;
        Ok(())
    }

    /// Ends the frame with the rows below the last row's center. Without a row nothing is shown.
    pub fn finish(&mut self, mut show: impl FnMut(&[u16])) {
        if self.begun {
            self.begun = false;
            widen(self.before.iter().copied(), self.wide, self.zoom, self.range);
            (0..self.zoom - self.zoom / 2).for_each(|_| show(self.wide));
        }
    }
}

/// Weights of the later of two pixels, Q14, for the wide pixels after the center of the earlier one. With an even zoom
/// the centers lie between wide pixels: ½, 1½ … of `zoom`; with an odd one, on them: 0, 1 …
fn weights(zoom: u16) -> impl Iterator<Item = i32> {
    // Steps of 2⁻²⁰: 64 of them, rounded down, lose less than one of Q14.
    let step = (1i32 << 20).checked_div(i32::from(zoom)).unwrap_or(0);
    let start = if zoom.is_multiple_of(2) { step / 2 } else { 0 };
    (0..i32::from(zoom)).map(move |phase| (start + phase * step) >> 6)
}

#[inline]
fn blend(a: u16, b: u16, weight: i32, range: CountRange) -> u16 {
    if range.holds(a) && range.holds(b) {
        let (a, b) = (i32::from(a), i32::from(b));
        (a + (((b - a) * weight + ONE / 2) >> 14)) as u16
    } else if weight <= ONE / 2 {
        a
    } else {
        b
    }
}

/// Interpolates along a row.
fn widen(row: impl Iterator<Item = u16>, wide: &mut [u16], zoom: u16, range: CountRange) {
    let mut before: Option<u16> = None;
    let mut wide = wide.iter_mut();
    for count in row {
        match before {
            Some(before) if range.holds(before) && range.holds(count) => {
                // Q14, and the change from one wide pixel to the next; half a count rounds.
                let apart = (i32::from(count) - i32::from(before)) << 14;
                let step = apart.checked_div(i32::from(zoom)).unwrap_or(0);
                let start = if zoom.is_multiple_of(2) { step / 2 } else { 0 };
                let mut value = (i32::from(before) << 14) + start + ONE / 2;
                for pixel in wide.by_ref().take(usize::from(zoom)) {
                    *pixel = (value >> 14) as u16;
                    value += step;
                }
            }
            Some(before) => {
                for (weight, pixel) in weights(zoom).zip(&mut wide) {
                    *pixel = blend(before, count, weight, range);
                }
            }
            // The first half block has no pixel before it.
            None => wide.by_ref().take(usize::from(zoom / 2)).for_each(|pixel| *pixel = count),
        }
        before = Some(count);
    }
    wide.for_each(|pixel| *pixel = before.unwrap_or(0));
}
