//! Averaging frames: a plain mean over a run, and a recursive filter that follows the scene.
//!
//! *Why.* White noise falls with the square root of the number of frames (radiometry notes 6, computed: 0.062 K over
//! 16 frames becomes 0.0155 K). Drift and fixed pattern do not fall. *Honesty.* A pixel that was not a reading in one
//! frame of the run has no mean: leaving that frame out would make a blinking or briefly saturated pixel look sound.

use super::range::{CountRange, SetupError};
use crate::error::{Error, Result};

/// Sum of a pixel that was saturated in a frame; above any sum of 65,535 frames.
const SATURATED: u32 = u32::MAX;
/// Sum of a pixel that was dead in a frame and never saturated.
const DEAD: u32 = u32::MAX - 1;

/// Mean count of each pixel over a run, in Q24.8.
pub trait PixelMeans {
    /// Pixels in a frame.
    fn pixels(&self) -> usize;
    /// Mean of the pixel in raster order, in 1/256 count, or `None` if it was not a reading throughout.
    fn mean_q8(&self, index: usize) -> Option<u32>;
}

/// What an [`Average`] knows beyond the lent memory.
#[derive(Clone, Copy, Debug)]
pub struct AverageState {
    width: u16,
    height: u16,
    row: u16,
    frames: u16,
    range: CountRange,
}

/// Sums whole frames row by row; one `u32` per pixel.
///
/// *Scaling and overflow*: sums are whole counts. 65,535 frames of 65,535 counts stay two below the markers for
/// "saturated" and "dead", so a sum never wraps and never meets a marker. Cost: one read, one addition, one write.
#[derive(Debug)]
pub struct Average<'m> {
    sums: &'m mut [u32],
    state: AverageState,
}

impl<'m> Average<'m> {
    /// An empty average in lent memory of exactly width times height words.
    ///
    /// # Errors
    /// [`SetupError::Memory`] for another length or a size of 0.
    pub fn new(
        sums: &'m mut [u32],
        width: u16,
        height: u16,
        range: CountRange,
    ) -> core::result::Result<Self, SetupError> {
        let mut average = Self::resume(sums, AverageState { width, height, row: 0, frames: 0, range })?;
        average.clear();
        Ok(average)
    }

    /// Takes up an average again from its state and the same memory.
    ///
    /// # Errors
    /// [`SetupError::Memory`] if the memory cannot be the same.
    pub fn resume(sums: &'m mut [u32], state: AverageState) -> core::result::Result<Self, SetupError> {
        let pixels = usize::from(state.width) * usize::from(state.height);
        if pixels == 0 || sums.len() != pixels {
            return Err(SetupError::Memory);
        }
        Ok(Self { sums, state })
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> AverageState {
        self.state
    }

    /// Forgets everything.
    pub fn clear(&mut self) {
        self.sums.fill(0);
        (self.state.row, self.state.frames) = (0, 0);
    }

    /// Adds the next row; the last row of a frame completes it.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for another width, [`Error::Full`] after 65,535 frames.
    pub fn push(&mut self, row: &[u16]) -> Result<()> {
        let state = &mut self.state;
        if row.len() != usize::from(state.width) {
            return Err(Error::WrongLength);
        }
        if state.frames == u16::MAX {
            return Err(Error::Full);
        }
        let from = usize::from(state.row) * row.len();
        let sums = self.sums.get_mut(from..).unwrap_or(&mut []);
        for (sum, &count) in sums.iter_mut().zip(row) {
            *sum = if *sum >= DEAD || !state.range.holds(count) {
                (*sum).max(if state.range.is_saturated(count) { SATURATED } else { DEAD })
            } else {
                // Cannot wrap, see above; wrapping keeps the check out of the loop.
                sum.wrapping_add(u32::from(count))
            };
        }
        state.row += 1;
        if state.row == state.height {
            (state.row, state.frames) = (0, state.frames + 1);
        }
        Ok(())
    }

    /// Whole frames summed.
    #[must_use]
    pub const fn frames(&self) -> u16 {
        self.state.frames
    }

    /// The means, or `None` without a whole frame or inside one.
    #[must_use]
    pub fn means(&self) -> Option<Means<'_>> {
        let Self { sums, state } = self;
        (state.frames > 0 && state.row == 0).then_some(Means { sums, frames: u32::from(state.frames) })
    }

    /// Writes row `y` of the means, rounded to the nearest count. A pixel without a mean becomes full scale if it ever
    /// was saturated, else dead.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for another width or a row outside, [`Error::WrongOrder`] without means.
    pub fn mean_row(&self, y: u16, row: &mut [u16]) -> Result<()> {
        let means = self.means().ok_or(Error::WrongOrder)?;
        if row.len() != usize::from(self.state.width) || y >= self.state.height {
            return Err(Error::WrongLength);
        }
        let from = usize::from(y) * row.len();
        for (offset, out) in row.iter_mut().enumerate() {
            *out = match means.sums.get(from + offset) {
                Some(&sum) if sum < DEAD => rounded(sum, means.frames),
                Some(&SATURATED) => self.state.range.full_scale(),
                _ => self.state.range.dead(),
            };
        }
        Ok(())
    }
}

/// sum / frames to the nearest, halves upward; at most 65,535 because the sum is of that many counts.
fn rounded(sum: u32, frames: u32) -> u16 {
    // Both below 2³² less what half of the frames adds.
    sum.saturating_add(frames / 2).checked_div(frames).map_or(0, |mean| mean as u16)
}

/// Means of a complete run.
#[derive(Clone, Copy, Debug)]
pub struct Means<'a> {
    sums: &'a [u32],
    frames: u32,
}

impl PixelMeans for Means<'_> {
    fn pixels(&self) -> usize {
        self.sums.len()
    }

    fn mean_q8(&self, index: usize) -> Option<u32> {
        let sum = *self.sums.get(index).filter(|&&sum| sum < DEAD)?;
        // In two steps, so that it fits in 32 bits: the remainder is below 2¹⁶.
        let (counts, rest) = (sum.checked_div(self.frames)?, sum.checked_rem(self.frames)?);
        Some((counts << 8) + ((rest << 8) + self.frames / 2).checked_div(self.frames)?)
    }
}

/// Fills lent memory for [`Smoothing`]: no pixel has a state yet.
pub const UNSMOOTHED: u32 = u32::MAX;

/// Recursive temporal filter: each frame moves a pixel 1/2ᵏ of the way to its new count.
///
/// *Scaling and overflow*: the state is the filtered count in Q16.k, at most 65,535·2¹⁵ + 2¹⁵, so below 2³¹. Each step
/// adds the new count and takes off the count that is put out, s ← s + x − ⌊s/2ᵏ⌋. Nothing is rounded away: what went
/// in minus what came out is the state. Hence a constant input is reached exactly, and the mean of the output is the
/// mean of the input. (The form y ← y + (x − y)/2ᵏ in whole counts stops up to 2ᵏ − 1 counts short.)
///
/// The time constant is about 2ᵏ frames; the last count of an approach takes up to 2ᵏ frames more. White noise falls
/// by √(2·2ᵏ − 1) (derived, first-order recursive filter). A moving object leaves a trail of that length: smooth only
/// what stands still. Cost: 18 instructions per pixel (measured, thumbv7em).
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Smoothing {
    shift: u8,
    range: CountRange,
}

impl Smoothing {
    /// A filter with the time constant 2^`shift` frames; `shift` from 0 (no filter) to 15.
    ///
    /// # Errors
    /// [`SetupError::Setting`] for a larger shift.
    pub const fn new(shift: u8, range: CountRange) -> core::result::Result<Self, SetupError> {
        if shift > 15 {
            return Err(SetupError::Setting);
        }
        Ok(Self { shift, range })
    }

    /// Filters a row in place. `states` are the words of this row, [`UNSMOOTHED`] at the start. A pixel that is not a
    /// reading passes through and starts afresh with its next reading.
    ///
    /// # Errors
    /// [`Error::WrongLength`] if the lengths differ.
    pub fn apply(&self, states: &mut [u32], row: &mut [u16]) -> Result<()> {
        if states.len() != row.len() {
            return Err(Error::WrongLength);
        }
        let shift = u32::from(self.shift);
        for (state, count) in states.iter_mut().zip(row) {
            let new = u32::from(*count);
            *state = if !self.range.holds(*count) {
                UNSMOOTHED
            } else if *state == UNSMOOTHED {
                // The middle of the states that mean this count: a start at their lower end would put out too little
                // until the fraction has filled.
                (new << shift) + ((1 << shift) >> 1)
            } else {
                let next = state.wrapping_add(new).wrapping_sub(*state >> shift);
                *count = (next >> shift) as u16;
                next
            };
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    fn range() -> CountRange {
        CountRange::new(0, 16_383).unwrap()
    }

    #[test]
    fn mean_of_a_run_rounds_to_nearest_and_keeps_what_is_no_reading() {
        let mut sums = [7; 4];
        let mut average = Average::new(&mut sums, 2, 2, range()).unwrap();
        assert!(average.means().is_none());
        for (top, bottom) in [([10, 0], [5, 16_383]), ([11, 9], [5, 0])] {
            average.push(&top).unwrap();
            assert!(average.means().is_none());
            average.push(&bottom).unwrap();
        }
        let means = average.means().unwrap();
        let q8: Vec<_> = (0..5).map(|i| means.mean_q8(i)).collect();
        assert_eq!(q8, [Some(10 * 256 + 128), None, Some(5 * 256), None, None]);
        let mut row = [0; 2];
        average.mean_row(0, &mut row).unwrap();
        assert_eq!(row, [11, 0]);
        average.mean_row(1, &mut row).unwrap();
        assert_eq!(row, [5, 16_383]);
        assert_eq!(average.mean_row(2, &mut row), Err(Error::WrongLength));
        assert_eq!(average.push(&[1]), Err(Error::WrongLength));
    }

    #[test]
    fn the_longest_run_of_the_highest_counts_does_not_meet_the_markers() {
        let all = CountRange::new(0, 65_535).unwrap();
        let mut sums = [0];
        let mut average = Average::new(&mut sums, 1, 1, all).unwrap();
        for _ in 0..u16::MAX {
            average.push(&[65_534]).unwrap();
        }
        assert_eq!(average.push(&[65_534]), Err(Error::Full));
        assert_eq!(average.means().unwrap().mean_q8(0), Some(65_534 << 8));
    }

    #[test]
    fn a_reading_after_saturation_starts_afresh() {
        let filter = Smoothing::new(3, range()).unwrap();
        let mut states = [UNSMOOTHED];
        let mut put = |count: u16| {
            let mut row = [count];
            filter.apply(&mut states, &mut row).unwrap();
            row[0]
        };
        assert_eq!([put(1_000), put(16_383), put(0), put(2_000), put(2_800)], [1_000, 16_383, 0, 2_000, 2_100]);
    }

    proptest! {
        #[test]
        fn a_constant_input_is_reached_exactly(shift in 0u8..=8, from in 1u16..65_535, to in 1u16..65_535) {
            let filter = Smoothing::new(shift, CountRange::new(0, u16::MAX).unwrap()).unwrap();
            let (mut states, mut row) = ([UNSMOOTHED], [from]);
            filter.apply(&mut states, &mut row).unwrap();
            // ln(65535) < 12 time constants to the last count, and one more for that.
            for _ in 0..13 << shift {
                row = [to];
                filter.apply(&mut states, &mut row).unwrap();
            }
            prop_assert_eq!(row, [to]);
        }

        #[test]
        fn nothing_is_lost_between_input_and_output(
            shift in 0u8..=15,
            counts in proptest::collection::vec(1u16..65_535, 2..200),
        ) {
            let filter = Smoothing::new(shift, CountRange::new(0, u16::MAX).unwrap()).unwrap();
            let mut states = [UNSMOOTHED];
            let (mut inputs, mut outputs) = (0i64, 0i64);
            // What the filter holds before a step, it puts out in that step's subtraction.
            for (i, &count) in counts.iter().enumerate() {
                let held = states[0] >> shift;
                let mut row = [count];
                filter.apply(&mut states, &mut row).unwrap();
                if i > 0 {
                    inputs += i64::from(count);
                    outputs += i64::from(held);
                }
            }
            prop_assert_eq!(inputs - outputs, i64::from(states[0]) - (i64::from(counts[0]) << shift) - ((1 << shift) >> 1));
            let (low, high) = (counts.iter().min().unwrap(), counts.iter().max().unwrap());
            let last = (states[0] >> shift) as u16;
            prop_assert!(*low <= last && last <= *high);
        }
    }
}
