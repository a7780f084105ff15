//! Profiles of a frame: the means of its columns and of its rows.
//!
//! *What.* When the image moves sideways, the profile of column means moves along its axis; likewise for rows. Two short
//! correlations thus find a shift that would otherwise take a frame kept and a search in two dimensions. *Left out* are
//! counts beyond the thresholds, so that the hot and cold regions that are to be judged do not steer the estimate of
//! where the part went. Put them at the 5th and 95th percentile or so: a threshold high up on a region leaves its skirt,
//! which then does steer (seen in the tests). *Limit.* A pattern of columns or rows that stays with the sensor looks like
//! a scene that does not move: correct it first ([`crate::sensor::Columns`]).
//! A line of which a part is left out has the mean of the others, which is another scene's where it varies across the line;
//! ten columns hot over half of their height stand still enough for the shift to be refused (seen once, not tested).
//!
//! *Memory.* 10·(width + height) bytes: 2.8 KiB at 160 × 120, 11.3 KiB at 640 × 512. *Cost.* 11 instructions a pixel
//! (measured, thumbv7em), and per frame about 36·(2·reach + 1)·(width + height) for the correlation (counted in the
//! listing): 17 a pixel at 160 × 120 and a reach of 16.
//!
//! *Scaling and overflow*: at most 65,535 counts of at most 65,535 sum to below 2³²; means are Q8, below 2²⁴. Profiles
//! are shifted to 14 bits and sign; see `shift` for the rest.

use super::shift::{self, Doubt, Shift};
use crate::error::{Error, Result};
use crate::radiometry::Thresholds;
use crate::sensor::{CountRange, SetupError};

/// Bits of the values of a profile, beside the sign.
const PROFILE_BITS: u32 = 14;
/// Distance of the differences in a profile, pixels.
const APART: usize = 2;
/// In a profile: no value, for want of pixels. Values have [`PROFILE_BITS`] and means are not negative.
pub(super) const MISSING: i16 = i16::MIN;

/// Working memory for one column or row, 8 bytes; lend [`ProfileSlot::EMPTY`]s.
#[derive(Clone, Copy, Debug)]
pub struct ProfileSlot {
    /// Sum of counts; at the end of a frame, the value of the profile as the bits of an `i32`.
    sum: u32,
    /// Pixels that the sum leaves out.
    left_out: u16,
}

impl ProfileSlot {
    /// Nothing summed.
    pub const EMPTY: Self = Self { sum: 0, left_out: 0 };

    pub(super) const fn value(self) -> i32 {
        self.sum as i32
    }

    const fn set(&mut self, value: i32) {
        self.sum = value as u32;
    }
}

/// What a frame is like, and how far to look.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ProfileSettings {
    /// Columns.
    pub width: u16,
    /// Rows.
    pub height: u16,
    /// Largest shift looked for, in pixels; 2 to 32, and at most a quarter of width and height.
    pub reach: u16,
    /// Counts beyond these are left out; [`Thresholds::NONE`] leaves nothing out.
    pub clip: Thresholds,
    /// Which counts are readings; others are left out as well.
    pub range: CountRange,
}

/// What becomes of the reference.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reference {
    /// The next frame is compared with the same one as this.
    Keep,
    /// The next frame is compared with this one.
    Adopt,
}

/// What a [`Profiles`] knows beyond the lent memory.
#[derive(Clone, Copy, Debug)]
pub struct ProfileState {
    settings: ProfileSettings,
    row: u16,
    has_reference: bool,
}

/// The means of a frame's columns and rows, and how far they moved against a reference. Counts beyond the thresholds are
/// left out, so that what is to be judged does not steer the estimate; a pattern that stays with the sensor does, so
/// correct it first. 10·(width + height) bytes; 11 instructions a pixel, and 36·(2·reach + 1)·(width + height) a frame.
#[derive(Debug)]
pub struct Profiles<'m> {
    /// Columns, then rows.
    slots: &'m mut [ProfileSlot],
    reference: &'m mut [i16],
    state: ProfileState,
}

impl<'m> Profiles<'m> {
    /// In lent memory: width + height of both.
    ///
    /// # Errors
    /// [`SetupError::Setting`] for a reach outside its range, [`SetupError::Memory`] for lengths that do not fit.
    pub fn new(
        slots: &'m mut [ProfileSlot],
        reference: &'m mut [i16],
        settings: ProfileSettings,
    ) -> core::result::Result<Self, SetupError> {
        let least = settings.width.min(settings.height);
        if !(2..=shift::REACH_MAX).contains(&settings.reach) || settings.reach > least / 4 {
            return Err(SetupError::Setting);
        }
        let length = usize::from(settings.width) + usize::from(settings.height);
        if slots.len() != length || reference.len() != length {
            return Err(SetupError::Memory);
        }
        slots.fill(ProfileSlot::EMPTY);
        Ok(Self { slots, reference, state: ProfileState { settings, row: 0, has_reference: false } })
    }

    /// Takes up again from a state and the same memory.
    pub const fn resume(slots: &'m mut [ProfileSlot], reference: &'m mut [i16], state: ProfileState) -> Self {
        Self { slots, reference, state }
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> ProfileState {
        self.state
    }

    /// The settings.
    #[must_use]
    pub const fn settings(&self) -> &ProfileSettings {
        &self.state.settings
    }

    /// Uses other thresholds from the next row on; change them between frames.
    pub const fn set_clip(&mut self, clip: Thresholds) {
        self.state.settings.clip = clip;
    }

    /// Takes the next row.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for another width or a row too many.
    pub fn push(&mut self, row: &[u16]) -> Result<()> {
        let ProfileSettings { width, height, clip, range, .. } = self.state.settings;
        if row.len() != usize::from(width) || self.state.row >= height {
            return Err(Error::WrongLength);
        }
        // Readings within the thresholds, as one comparison.
        let lowest = u32::from(clip.cold().max(range.dead().saturating_add(1)));
        let highest = u32::from(clip.hot().min(range.full_scale().saturating_sub(1)));
        let span = highest.saturating_sub(lowest);
        let (columns, rows) = self.slots.split_at_mut_checked(usize::from(width)).ok_or(Error::WrongLength)?;
        let mut total = ProfileSlot::EMPTY;
        for (column, &count) in columns.iter_mut().zip(row) {
            let count = u32::from(count);
            if count.wrapping_sub(lowest) <= span {
                column.sum = column.sum.wrapping_add(count);
                total.sum = total.sum.wrapping_add(count);
            } else {
                core::hint::cold_path();
                column.left_out = column.left_out.wrapping_add(1);
                total.left_out = total.left_out.wrapping_add(1);
            }
        }
        if let Some(row) = rows.get_mut(usize::from(self.state.row)) {
            *row = total;
        }
        self.state.row += 1;
        Ok(())
    }

    /// Ends the frame: how far its content lies from where it was in the reference. The first frame becomes the
    /// reference in any case.
    ///
    /// # Errors
    /// [`Error::WrongOrder`] before the frame is whole.
    pub fn finish(&mut self, reference: Reference) -> Result<Shift> {
        self.finish_with(|_| reference)
    }

    /// As [`Profiles::finish`]; what becomes of the reference is decided from the shift.
    ///
    /// # Errors
    /// [`Error::WrongOrder`] before the frame is whole.
    pub fn finish_with(&mut self, decide: impl FnOnce(&Shift) -> Reference) -> Result<Shift> {
        let ProfileSettings { width, height, reach, .. } = self.state.settings;
        if self.state.row != height {
            return Err(Error::WrongOrder);
        }
        let split = usize::from(width);
        let (Some((columns, rows)), Some((columns_before, rows_before))) =
            (self.slots.split_at_mut_checked(split), self.reference.split_at_checked(split))
        else {
            return Err(Error::WrongLength);
        };
        let has_reference = self.state.has_reference;
        let axis = |slots: &mut [ProfileSlot], before: &[i16], across: u16| {
            outline(slots, across);
            let inner = slots.len().saturating_sub(APART);
            match (before.get(..inner), slots.get(..inner)) {
                (Some(before), Some(now)) if has_reference => shift::along(before, now, reach),
                _ => Err(Doubt::First),
            }
        };
        let shift = Shift { x: axis(columns, columns_before, height), y: axis(rows, rows_before, width) };
        if !has_reference || decide(&shift) == Reference::Adopt {
            for (before, now) in self.reference.iter_mut().zip(self.slots.iter()) {
                *before = now.value() as i16;
            }
        }
        self.slots.fill(ProfileSlot::EMPTY);
        self.state.has_reference = true;
        self.state.row = 0;
        Ok(shift)
    }
}

/// Turns sums into means, and those into the differences between means two apart, scaled by a power of two to
/// [`PROFILE_BITS`]; the last two have none. A line with less than a quarter of its pixels left has no mean, and no
/// difference with it: a value put in its place would be an edge that stands still with the sensor. Differences leave
/// the edges of the scene and take off what changes slowly:
/// shading, and most of what comes in at the far borders (measured in the tests: the worst error of 84 shifts along both
/// axes at once falls from 1.2 pixels to 0.4).
fn outline(slots: &mut [ProfileSlot], across: u16) {
    let missing = i32::from(MISSING);
    for slot in slots.iter_mut() {
        let pixels = across.saturating_sub(slot.left_out);
        let mean = (u64::from(slot.sum) << 8).checked_div(u64::from(pixels)).filter(|_| pixels > across / 4);
        slot.set(mean.map_or(missing, |mean| mean as i32));
    }
    let after = |slots: &[ProfileSlot], i: usize| {
        let (here, there) = (slots.get(i)?.value(), slots.get(i + APART)?.value());
        (here != missing && there != missing).then_some(there - here)
    };
    let most = (0..slots.len()).filter_map(|i| after(slots, i)).map(i32::unsigned_abs).max().unwrap_or(0);
    let bits = u32::BITS - most.leading_zeros();
    for i in 0..slots.len() {
        let scaled = |value: i32| {
            if bits > PROFILE_BITS { value >> (bits - PROFILE_BITS) } else { value << (PROFILE_BITS - bits) }
        };
        let value = after(slots, i).map_or(missing, scaled);
        if let Some(slot) = slots.get_mut(i) {
            slot.set(value);
        }
    }
}
