//! A comb of parallel lines, such as the heating lines on a rear window: pitch, angle, and each line's contrast.
//!
//! *What.* The box is cut into strips across the lines; each strip's sums along the lines are kept ([`Comb`], in lent
//! memory). At the close the strips are laid over each other at trial slants, the pitch comes from the autocorrelation of
//! the sum, and the lines' places in all strips are fitted to place = first + pitch·k + slant·x. *Why strips.* Averaging
//! along the lines finds lines that no single row shows, and a slant of half a pitch over the width would smear plain
//! row sums. *Cost.* One addition per pixel; at the close some hundred passes over the sums. *Limit.* Straight lines
//! at equal pitch, as on a flat pane seen nearly head on; a fan or a bow is refused by its residuals.

use super::comb_fit::Lines;
use super::fit::{Undetermined, vertex};
use super::like::Lengthwise;
use super::shape::Shape;
use super::stand_in::StandIn;
use crate::error::{Error, Result};
use crate::radiometry::Estimate;
use crate::sensor::CountRange;

/// Most lines that are told apart; a box with room for more at its pitch is refused (proposal: it is what the result
/// takes of the stack).
pub const MAX_LINES: usize = 24;
/// Strips across the lines. Enough that a slant of one pitch over the whole comb moves by an eighth of it from strip to
/// strip (proposal).
pub(super) const STRIPS: usize = 8;
/// Part of the highest autocorrelation from which a shorter lag is the pitch, and the highest a multiple of it; a proposal.
const NEARLY: f64 = 0.8;
/// Least autocorrelation at the pitch that is believed; a proposal. It leaves room for one line in four missing.
const LEAST_LIKENESS: f64 = 0.4;

/// Sums of the strips of a box; lines run along x ([`Lengthwise::Rows`]: one above the other) or along y.
#[derive(Debug)]
pub struct Comb<'m> {
    sums: &'m mut [u32],
    corner: (u16, u16),
    /// Pixels along the lines and across them.
    along: u16,
    pub(super) across: u16,
    lengthwise: Lengthwise,
    stand_in: StandIn,
}

/// One line of the comb.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CombLine {
    /// Where it is, or would be, in the middle of the box: pixels across from the image's border.
    pub place: f64,
    /// Mean over its length less the mean of the gaps beside it, counts.
    pub contrast: f64,
    /// False if its contrast is below 0.3 of the median: cold, or not there.
    pub present: bool,
}

/// What was found.
#[derive(Clone, Debug)]
pub struct FoundComb {
    /// Distance of the lines across, pixels.
    pub pitch: Estimate,
    /// Pixels across per pixel along; the tangent of the angle to the axis.
    pub slant: Estimate,
    /// How sure, in 1/1,000: the autocorrelation of the projected profile at the pitch. 1,000 for equal lines without
    /// noise; noise, unequal and missing lines make it less.
    pub confidence: u16,
    /// The lines in order, missing ones between others included.
    pub lines: heapless::Vec<CombLine, MAX_LINES>,
}

impl FoundComb {
    /// No lines.
    pub const EMPTY: Self = Self {
        pitch: Estimate::new(0.0, 0.0),
        slant: Estimate::new(0.0, 0.0),
        confidence: 0,
        lines: heapless::Vec::new(),
    };

    /// Angle of the lines to their axis in radians. For display; `libm` is used since it is linked anyway.
    #[must_use]
    pub fn angle(&self) -> f64 {
        libm::atan(self.slant.value)
    }
}

impl<'m> Comb<'m> {
    /// Words to lend for a box of this extent across the lines: the strips, and one profile to work on.
    #[must_use]
    pub const fn words(across: u16) -> usize {
        (STRIPS + 1) * across as usize
    }

    /// Empty sums.
    ///
    /// # Errors
    /// [`Error::ShapeOutside`] if the shape is no box of at least 16 × 16 pixels, [`Error::TooSmall`] for fewer than
    /// [`Comb::words`] words.
    pub fn new(sums: &'m mut [u32], shape: Shape, lengthwise: Lengthwise) -> Result<Self> {
        let Shape::Box { x0, y0, x1, y1 } = shape else { return Err(Error::ShapeOutside) };
        let long = |from: u16, to: u16| to.checked_sub(from).and_then(|last| last.checked_add(1)).filter(|&n| n >= 16);
        let (Some(width), Some(height)) = (long(x0, x1), long(y0, y1)) else { return Err(Error::ShapeOutside) };
        let (along, across) = if lengthwise == Lengthwise::Rows { (width, height) } else { (height, width) };
        let sums = sums.get_mut(..Self::words(across)).ok_or(Error::TooSmall)?;
        sums.fill(0);
        Ok(Self { sums, corner: (x0, y0), along, across, lengthwise, stand_in: StandIn::NONE })
    }

    /// First pixel along the lines of a strip.
    fn begins(&self, strip: usize) -> usize {
        usize::from(self.along) * strip / STRIPS
    }

    /// Adds what row `y` of a frame holds of the box; one frame. A count at or below `dead` or at or above `saturated` is
    /// replaced by the one before it, or by the first of its row. Rows without any before the first reading stay 0.
    pub fn add_row(&mut self, y: u16, row: &[u16], dead: u16, saturated: u16) {
        let (x0, y0) = self.corner;
        let (width, height) = match self.lengthwise {
            Lengthwise::Rows => (self.along, self.across),
            Lengthwise::Columns => (self.across, self.along),
        };
        let Some(inside) = y.checked_sub(y0).filter(|&inside| inside < height) else { return };
        let pixels = row.get(usize::from(x0)..usize::from(x0) + usize::from(width)).unwrap_or(&[]);
        let (inside, across) = (usize::from(inside), usize::from(self.across));
        // Where the strips begin, before what stands in is borrowed.
        let begins: [usize; STRIPS + 1] = core::array::from_fn(|strip| self.begins(strip));
        let mut counts = self.stand_in.fill(pixels, CountRange::between(dead, saturated));
        match self.lengthwise {
            Lengthwise::Rows => {
                for (strip, (begin, end)) in begins.iter().zip(begins.iter().skip(1)).enumerate() {
                    let sum = counts.by_ref().take(end - begin).fold(0u32, u32::saturating_add);
                    if let Some(to) = self.sums.get_mut(strip * across + inside) {
                        *to = to.saturating_add(sum);
                    }
                }
            }
            Lengthwise::Columns => {
                // The strip whose first pixel is not beyond this one.
                let strip = begins.iter().take(STRIPS).rposition(|&begin| begin <= inside).unwrap_or(0);
                let to = self.sums.get_mut(strip * across..(strip + 1) * across).unwrap_or(&mut []);
                for (to, count) in to.iter_mut().zip(counts) {
                    *to = to.saturating_add(count);
                }
            }
        }
    }

    /// Middle of a strip from the middle of the box, pixels along.
    pub(super) fn middle(&self, strip: usize) -> f64 {
        (self.begins(strip) + self.begins(strip + 1)) as f64 / 2.0 - f64::from(self.along) / 2.0
    }

    /// Mean count of a strip at a place across; `None` outside.
    pub(super) fn mean(&self, strip: usize, place: i32) -> Option<f64> {
        let place = usize::try_from(place).ok().filter(|&place| place < usize::from(self.across))?;
        let pixels = self.begins(strip + 1) - self.begins(strip);
        Some(f64::from(*self.sums.get(strip * usize::from(self.across) + place)?) / pixels as f64)
    }

    /// Writes the strips laid over each other at a slant into the working profile, in 1/4,096 count. Returns how much of it
    /// is filled (what every strip reaches), and a measure of its variance that is comparable between slants.
    ///
    /// *Scaling and overflow*: a strip's sum is its pixels times 2¹⁶ at most; times 2²⁸ over eight times its pixels that is
    /// 2⁴¹, and eight of them 2⁴⁴. For the variance, values are taken in 1/16 count: 20 bits, squares 40, and sums of
    /// 2¹⁶ of
    /// them 56; the number times that would not fit, so the sums go to floats first.
    fn overlay(&mut self, slant: f64) -> (usize, f64) {
        let (across, base) = (usize::from(self.across), STRIPS * usize::from(self.across));
        let strips: [(i32, u64); STRIPS] = core::array::from_fn(|strip| {
            let pixels = (self.begins(strip + 1) - self.begins(strip)) as u64;
            let shift = libm::round(self.middle(strip) * slant) as i32;
            (shift, (1u64 << 28).checked_div(STRIPS as u64 * pixels).unwrap_or(0))
        });
        let margin = strips.iter().map(|(shift, _)| shift.unsigned_abs() as usize).max().unwrap_or(0);
        let (mut sum, mut squares, mut count) = (0u64, 0u64, 0usize);
        for place in margin..across.saturating_sub(margin) {
            let values = strips.iter().enumerate().map(|(strip, &(shift, weight))| {
                let at = (strip * across + place).wrapping_add_signed(shift as isize);
                self.sums.get(at).map_or(0, |&value| u64::from(value) * weight)
            });
            let value = values.sum::<u64>() >> 16;
            if let Some(to) = self.sums.get_mut(base + count) {
                *to = value as u32;
                let coarse = value >> 8;
                (sum, squares, count) = (sum + coarse, squares + coarse * coarse, count + 1);
            }
        }
        let (n, sum) = ((count as f64).max(1.0), sum as f64);
        (count, squares as f64 / n - sum / n * (sum / n))
    }

    /// The working profile, counts.
    fn profile(&self, count: usize) -> impl Iterator<Item = f64> + Clone {
        let base = STRIPS * usize::from(self.across);
        self.sums.get(base..base + count).unwrap_or(&[]).iter().map(|&value| f64::from(value) / 4_096.0)
    }

    /// Finds lines hotter than the gaps between them, at a pitch from `least_pitch` pixels (at least 4) to a third of the
    /// extent across. Slants up to a quarter of the extent across over the length are tried.
    ///
    /// # Errors
    /// [`Undetermined::BelowNoise`] if the profile at its best slant repeats less than by 0.4 of its variance at any pitch,
    /// [`Undetermined::TooFewPoints`] if fewer than three lines are found in more than half of the strips,
    /// [`Undetermined::NotThisForm`] if the lines lie more than an eighth of a pitch off the fit in the mean square, or
    /// if the
    /// box has room for more than [`MAX_LINES`] lines: take a smaller one.
    pub fn find(&mut self, least_pitch: u16) -> core::result::Result<FoundComb, Undetermined> {
        let mut found = FoundComb::EMPTY;
        self.find_into(least_pitch, &mut found)?;
        Ok(found)
    }

    /// The same for callers whose stack is small: the result is written in place. On an error it holds nothing that counts.
    ///
    /// # Errors
    /// As [`Comb::find`].
    pub fn find_into(&mut self, least_pitch: u16, found: &mut FoundComb) -> core::result::Result<(), Undetermined> {
        let (x0, y0) = self.corner;
        let offset = if self.lengthwise == Lengthwise::Rows { y0 } else { x0 };
        let (start, likeness) = self.start(least_pitch)?;
        (found.pitch, found.slant) = start.fit(&mut found.lines)?;
        found.lines.iter_mut().for_each(|line| line.place += f64::from(offset));
        found.confidence = libm::round(likeness * 1_000.0) as u16;
        Ok(())
    }

    /// Where the lines lie about, and the autocorrelation at their pitch. Never inlined, so that what it takes of the stack is
    /// gone before the fit.
    #[inline(never)]
    fn start(&mut self, least_pitch: u16) -> core::result::Result<(Lines<'_, 'm>, f64), Undetermined> {
        let (along, across) = (f64::from(self.along), i32::from(self.across));
        let reach = across / 4;
        let (mut best, mut most) = (0, f64::MIN);
        for trial in -reach..=reach {
            let (_, variance) = self.overlay(f64::from(trial) / along);
            if variance > most {
                (best, most) = (trial, variance);
            }
        }
        let slant = f64::from(best) / along;
        let (count, _) = self.overlay(slant);
        let margin = (across - count as i32) / 2;
        let (pitch, likeness) = self.repeat(count, usize::from(least_pitch.max(4)))?;
        let first = f64::from(margin) + self.phase(count, pitch);
        Ok((Lines { comb: self, first, pitch, slant }, likeness))
    }

    /// Lag at which the profile repeats best, the shortest of those that are nearly as good, and its autocorrelation.
    fn repeat(&self, count: usize, least: usize) -> core::result::Result<(f64, f64), Undetermined> {
        let at = |lag: usize| {
            let pairs = || self.profile(count).zip(self.profile(count).skip(lag));
            let n = count.saturating_sub(lag) as f64;
            let (a, b) = pairs().fold((0.0, 0.0), |(a, b), (x, y)| (a + x, b + y));
            let (a, b) = (a / n, b / n);
            let (aa, bb, ab) = pairs().fold((0.0, 0.0, 0.0), |(aa, bb, ab), (x, y)| {
                let (x, y) = (x - a, y - b);
                (aa + x * x, bb + y * y, ab + x * y)
            });
            if aa > 0.0 && bb > 0.0 { ab / libm::sqrt(aa * bb) } else { 0.0 }
        };
        // Local maxima only: the flank of lag 0 is no repeat.
        let mut peaks: heapless::Vec<(usize, f64), MAX_LINES> = heapless::Vec::new();
        let (mut before, mut here) = (at(least - 1), at(least));
        for lag in least..=count / 3 {
            let after = at(lag + 1);
            if here >= before && here > after && here >= LEAST_LIKENESS {
                // Multiples of a pitch, so no more than lines.
                let _ = peaks.push((lag, here));
            }
            (before, here) = (here, after);
        }
        let most = peaks.iter().map(|&(_, here)| here).fold(0.0, f64::max);
        let nearly = peaks.iter().find(|&&(_, here)| here >= NEARLY * most);
        let &(lag, here) = nearly.ok_or(Undetermined::BelowNoise)?;
        let (before, after) = (at(lag - 1), at(lag + 1));
        Ok((lag as f64 + vertex(before, here, after), here))
    }

    /// Place of the first line in the profile: the offset at which the mean at all lines is highest.
    fn phase(&self, count: usize, pitch: f64) -> f64 {
        let at = |offset: f64| {
            let (mut sum, mut lines) = (0.0, 0.0);
            for (i, value) in self.profile(count).enumerate() {
                // Nearest line, within half a pixel.
                let turns = (i as f64 - offset) / pitch;
                if libm::fabs(turns - libm::round(turns)) * pitch <= 0.5 {
                    (sum, lines) = (sum + value, lines + 1.0);
                }
            }
            if lines > 0.0 { sum / lines } else { f64::MIN }
        };
        let (mut best, mut most) = (0.0, f64::MIN);
        let mut offset = 0.0;
        while offset < pitch {
            let value = at(offset);
            if value > most {
                (best, most) = (offset, value);
            }
            offset += 0.5;
        }
        best
    }
}
