//! Counts or kelvin to tones: eight bits in which clipping stays visible.
//!
//! *Cost.* 13 instructions a pixel (measured, thumbv7em). *Scaling and overflow*: a count less the lower end, below 2¹⁶,
//! times a factor of at most 252·2¹⁶/span stays below 252.5·2¹⁶ < 2²⁴.

use crate::error::{Error, Result};
use crate::sensor::{CountRange, SetupError};
use crate::units::{Kelvin, RowKelvin};

/// Tones with a meaning of their own, and the ends of the others.
pub mod tones {
    /// No reading.
    pub const NONE: u8 = 0;
    /// Below the range.
    pub const UNDER: u8 = 1;
    /// The lower end of the range.
    pub const LOWEST: u8 = 2;
    /// The middle of the range.
    pub const MIDDLE: u8 = 128;
    /// The upper end of the range.
    pub const HIGHEST: u8 = 254;
    /// Above the range.
    pub const OVER: u8 = 255;
}

/// Steps between the lowest and the highest tone.
const STEPS: u32 = (tones::HIGHEST - tones::LOWEST) as u32;

/// Which counts, or kelvin, become which tones: linear from [`tones::LOWEST`] at the lower end to [`tones::HIGHEST`] at
/// the upper one, rounded to nearest. As a gray picture, tones can be shown as they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ToneScale {
    low: u16,
    span: u16,
    /// Tones per count in Q16.
    factor: u32,
    /// Values at or below mean no reading.
    dead: u16,
}

impl ToneScale {
    /// A scale for counts from `low` to `high`. Saturated counts are above any range.
    ///
    /// # Errors
    /// [`SetupError::Range`] unless both are readings and `low` is below `high`.
    pub const fn new(low: u16, high: u16, range: CountRange) -> core::result::Result<Self, SetupError> {
        if low >= high || !range.holds(low) || !range.holds(high) {
            return Err(SetupError::Range);
        }
        Ok(Self::of(low, high, range.dead()))
    }

    /// A scale for differences about a middle, as for [`super::VIK`]: `center` becomes [`tones::MIDDLE`].
    ///
    /// # Errors
    /// [`SetupError::Range`] unless `center − half` and `center + half` are readings and `half` is above 0.
    pub const fn around(center: u16, half: u16, range: CountRange) -> core::result::Result<Self, SetupError> {
        if half > center || half > u16::MAX - center {
            return Err(SetupError::Range);
        }
        Self::new(center - half, center + half, range)
    }

    /// A scale for kelvin rows. A pixel "below range" of [`crate::radiometry::TableOf::kelvin_row`] may be dead or cold,
    /// so it has no reading; one "above range" is above.
    ///
    /// # Errors
    /// [`SetupError::Range`] unless `low` is at least 1/32 K below `high` and both lie above 0 and below 2,047.9 K.
    pub fn kelvin(low: Kelvin, high: Kelvin) -> core::result::Result<Self, SetupError> {
        // Q16.16 to the nearest 1/32 K, as rows are rounded.
        let bits = |kelvin: Kelvin| {
            u16::try_from(kelvin.0.to_bits().saturating_add(1 << 10) >> 11).map_err(|_| SetupError::Range)
        };
        let (low, high) = (bits(low)?, bits(high)?);
        if low == 0 || low >= high || high == u16::MAX {
            return Err(SetupError::Range);
        }
        Ok(Self::of(low, high, 0))
    }

    const fn of(low: u16, high: u16, dead: u16) -> Self {
        let span = high - low;
        // Nearest, so that the product at the upper end is wrong by less than half a tone.
        let factor = match ((STEPS << 16) + span as u32 / 2).checked_div(span as u32) {
            Some(factor) => factor,
            None => 0,
        };
        Self { low, span, factor, dead }
    }

    /// Lower and upper end.
    #[must_use]
    pub const fn ends(&self) -> (u16, u16) {
        (self.low, self.low + self.span)
    }

    /// The tone of a count.
    #[must_use]
    #[inline]
    pub const fn tone(&self, count: u16) -> u8 {
        let above_low = (count as u32).wrapping_sub(self.low as u32);
        if above_low <= self.span as u32 {
            (((above_low * self.factor + 0x8000) >> 16) + tones::LOWEST as u32) as u8
        } else if count <= self.dead {
            tones::NONE
        } else if count < self.low {
            tones::UNDER
        } else {
            tones::OVER
        }
    }

    /// Tones of a row of counts.
    ///
    /// # Errors
    /// [`Error::WrongLength`] if the slices differ in length; `tones` is then untouched.
    pub fn row(&self, counts: &[u16], tones: &mut [u8]) -> Result<()> {
        self.each(counts, tones, |&count| count)
    }

    /// Tones of a row in kelvin; the scale must be one of [`ToneScale::kelvin`].
    ///
    /// # Errors
    /// [`Error::WrongLength`] if the slices differ in length; `tones` is then untouched.
    pub fn kelvin_row(&self, kelvin: &[RowKelvin], tones: &mut [u8]) -> Result<()> {
        self.each(kelvin, tones, |&kelvin| kelvin.to_bits())
    }

    fn each<T>(&self, values: &[T], tones: &mut [u8], bits: impl Fn(&T) -> u16) -> Result<()> {
        if values.len() != tones.len() {
            return Err(Error::WrongLength);
        }
        for (tone, value) in tones.iter_mut().zip(values) {
            *tone = self.tone(bits(value));
        }
        Ok(())
    }
}
