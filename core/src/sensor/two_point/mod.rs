//! Two-point non-uniformity correction, and its offset update from shutter frames.
//!
//! *What.* Gain and offset of each pixel from two uniform runs, so that both runs come out uniform at the array's
//! means; later the offsets alone from frames of a closed shutter. *Source.* The standard two-point form, the first
//! step in Budzier & Gerlach, J. Sens. Sens. Syst. 4 (2015) 187–197 (abstract read); radiometry notes 6.
//!
//! *Form.* out = pivot + gain·(raw − pivot) + offset + common, with one pivot for the array, the middle of the two
//! means. The textbook offset belongs to raw = 0, where it is large and its error is the gain's times the whole count;
//! at the pivot it is small enough for 16 bits with a fraction.
//!
//! *Scaling and overflow*: gain Q2.14 up to 1.9375, offset Q12.4 within ±2,048 counts. The sum is exact in Q17.14 and
//! rounded once, at the end. It lies between −pivot and 1.9375·(full scale) plus offset and common, so it fits in 32
//! bits with a common part of ±2,047 counts at 16 bits and ±97,000 at 14; a larger one is cut to that. A wrapped
//! product on the way does no harm, for the sum does not wrap. Gain and offset share a word, and the word as it is,
//! shifted, serves as the offset: the gain below it adds at most 1/32 count, which the computed offset allows for.
//! Both means come out within 1/32 count and half of the pixel's response between the runs times the gain's error of
//! 2⁻¹⁵ (derived), then rounded: whole means exactly if the response is below 30,000 counts.

mod rows;

use super::average::PixelMeans;
use super::defects::{DefectKind, Defects};
use super::range::{CountRange, SetupError};

/// Fraction bits of a gain.
const GAIN_BITS: u32 = 14;
/// Largest gain, 1.9375 (derived from the overflow bound above). A pixel that needs 2 responds half as strongly as the
/// array's mean: the limit below which GB/T 17444-2013 calls it dead (memory).
const GAIN_MAX: u16 = 31_744;
/// Gain and offset of one pixel: 4 bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Coefficient(
    /// Gain below, offset above: one word is one load.
    u32,
);

impl Coefficient {
    /// Changes nothing.
    pub const NEUTRAL: Self = Self(1 << GAIN_BITS);

    /// From a gain in Q2.14 (0 to 31,744) and an offset at the pivot in 1/16 count; `None` for a larger gain.
    #[must_use]
    pub const fn new(gain_q14: u16, offset_q4: i16) -> Option<Self> {
        if gain_q14 > GAIN_MAX { None } else { Some(Self(gain_q14 as u32 | (offset_q4 as u16 as u32) << 16)) }
    }

    /// Gain, times 16,384.
    #[must_use]
    #[inline]
    pub const fn gain_q14(self) -> u16 {
        self.0 as u16
    }

    /// Offset at the pivot, 1/16 count.
    #[must_use]
    #[inline]
    pub const fn offset_q4(self) -> i16 {
        (self.0 >> 16) as i16
    }
}

/// Pixels of a row or frame that were no readings before correction.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Unread {
    /// At or below the dead level.
    pub dead: u32,
    /// At or above full scale.
    pub saturated: u32,
}

/// What a shutter update makes of the array.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ShutterTarget {
    /// Uniform at its own mean: the pattern goes, a drift common to all pixels stays.
    ArrayMean,
    /// Uniform at the counts that belong to the shutter's temperature: both go.
    Counts(u16),
}

/// What all pixels share; the coefficients are lent to each call.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TwoPoint {
    pivot: u16,
    range: CountRange,
}

impl TwoPoint {
    /// A correction with coefficients from elsewhere, which must belong to this pivot; one above full scale is cut to it.
    #[must_use]
    pub const fn with_pivot(pivot: u16, range: CountRange) -> Self {
        Self { pivot: if pivot > range.full_scale() { range.full_scale() } else { pivot }, range }
    }

    /// The count about which gains turn.
    #[must_use]
    pub const fn pivot(self) -> u16 {
        self.pivot
    }

    /// Computes the coefficients from two uniform runs of raw counts, in raster order for `width` columns. Pixels in
    /// `defects` do not count toward the means; those whose gain or offset does not fit are added to it and get
    /// [`Coefficient::NEUTRAL`]: replace them. Integers only; three passes.
    ///
    /// # Errors
    /// [`SetupError::Memory`] if the lengths differ or are no whole rows, [`SetupError::TooFewFrames`] if no pixel has
    /// both means, [`SetupError::NoSignal`] unless the second mean is higher by a count, [`SetupError::ListFull`].
    pub fn calibrate(
        cold: &impl PixelMeans,
        hot: &impl PixelMeans,
        range: CountRange,
        width: u16,
        defects: &mut Defects,
        coefficients: &mut [Coefficient],
    ) -> core::result::Result<Self, SetupError> {
        let pixels = coefficients.len();
        if cold.pixels() != pixels || hot.pixels() != pixels || pixels.checked_rem(usize::from(width)) != Some(0) {
            return Err(SetupError::Memory);
        }
        let both = |index| Some((i64::from(cold.mean_q8(index)?), i64::from(hot.mean_q8(index)?)));
        let (mut sums, mut count) = ((0i64, 0i64), 0i64);
        // Sums: fewer than 2³² pixels of less than 2²⁴ each.
        for index in 0..pixels {
            let Some((x, y)) = place(index, width) else { return Err(SetupError::Memory) };
            if let Some((low, high)) = both(index)
                && !defects.contains(x, y)
            {
                (sums, count) = ((sums.0 + low, sums.1 + high), count + 1);
            }
        }
        let (Some(low), Some(high)) = (nearest(sums.0, count), nearest(sums.1, count)) else {
            return Err(SetupError::TooFewFrames);
        };
        if high - low < 256 {
            return Err(SetupError::NoSignal);
        }
        let pivot_q8 = (low + high) / 512 * 256;
        let fitted = |index| -> core::result::Result<Coefficient, DefectKind> {
            let (raw_low, raw_high) = both(index).ok_or(DefectKind::Dead)?;
            let gain = nearest((high - low) << GAIN_BITS, (raw_high - raw_low).max(0)).ok_or(DefectKind::Dead)?;
            let gain = u16::try_from(gain).ok().filter(|&gain| gain <= GAIN_MAX).ok_or(DefectKind::Dead)?;
            // What the offset must add at either run with the gain as rounded, in Q14; it serves both equally.
            let lacks = |mean: i64, raw: i64| {
                ((mean - pivot_q8) << 6) - (((raw - pivot_q8) * i64::from(gain)) >> 8) - i64::from(gain >> 6)
            };
            let offset = nearest(lacks(low, raw_low) + lacks(high, raw_high), 2 << 10);
            let offset = offset.and_then(|offset| i16::try_from(offset).ok());
            offset.and_then(|offset| Coefficient::new(gain, offset)).ok_or(DefectKind::Uncorrectable)
        };
        let places = || (0..pixels).filter_map(|index| Some((index, place(index, width)?)));
        let new = places().filter(|&(index, (x, y))| fitted(index).is_err() && !defects.contains(x, y)).count();
        if new > defects.free() {
            return Err(SetupError::ListFull);
        }
        for ((index, (x, y)), coefficient) in places().zip(coefficients.iter_mut()) {
            *coefficient = match fitted(index) {
                Ok(fitted) => fitted,
                Err(kind) => {
                    defects.insert(x, y, kind)?;
                    Coefficient::NEUTRAL
                }
            };
        }
        Ok(Self { pivot: (pivot_q8 / 256) as u16, range })
    }

    /// The corrected count in 1/16,384, before rounding and saturation. `common_q4` as for [`TwoPoint::correct_row`].
    #[must_use]
    pub fn corrected_q14(&self, coefficient: Coefficient, common_q4: i32, raw: u16) -> i32 {
        self.sum(coefficient, self.base(common_q4), raw)
    }

    /// What is the same for all pixels of a row, Q17.14.
    fn base(&self, common_q4: i32) -> i32 {
        // Above: 2¹⁷ − 1 less the largest corrected count without it. Below there is more room; the same serves.
        let room = 131_071 - 2_048 - i32::from(self.range.full_scale()) * 31 / 16;
        (i32::from(self.pivot) << GAIN_BITS).wrapping_add(common_q4.clamp(-room * 16, room * 16) << (GAIN_BITS - 4))
    }

    #[inline]
    const fn sum(&self, coefficient: Coefficient, base: i32, raw: u16) -> i32 {
        (raw as i32 - self.pivot as i32)
            .wrapping_mul(coefficient.gain_q14() as i32)
            .wrapping_add(base)
            .wrapping_add(coefficient.0 as i32 >> 6)
    }

    /// One-point update: shifts the offsets so that the shutter comes out uniform. `shutter` are means of *corrected*
    /// frames of the closed shutter, made with these coefficients and the drift of those frames. A pixel without a
    /// mean keeps its offset; one that meets the limit of ±2,048 counts saturates. Returns how many did either: none in
    /// a sound array but listed defects. Any shutter noise stays in the offsets: average 16 frames or more (proposal).
    ///
    /// # Errors
    /// [`SetupError::Memory`] if the lengths differ, [`SetupError::TooFewFrames`] if no pixel has a mean.
    pub fn update_offsets(
        &self,
        shutter: &impl PixelMeans,
        target: ShutterTarget,
        coefficients: &mut [Coefficient],
    ) -> core::result::Result<u32, SetupError> {
        if shutter.pixels() != coefficients.len() {
            return Err(SetupError::Memory);
        }
        let means = || (0..shutter.pixels()).map(|index| shutter.mean_q8(index));
        let (sum, count) = means().flatten().fold((0, 0), |(sum, n), mean| (sum + i64::from(mean), n + 1));
        let mean = nearest(sum, count).ok_or(SetupError::TooFewFrames)?;
        let target_q8 = match target {
            ShutterTarget::ArrayMean => mean,
            ShutterTarget::Counts(counts) => i64::from(counts) << 8,
        };
        let mut left = 0;
        for (coefficient, mean) in coefficients.iter_mut().zip(means()) {
            let shift = mean.and_then(|mean| nearest(target_q8 - i64::from(mean), 16)).unwrap_or(0);
            let wanted = i64::from(coefficient.offset_q4()) + shift;
            let offset = wanted.clamp(i64::from(i16::MIN), i64::from(i16::MAX)) as i16;
            left += u32::from(mean.is_none() || wanted != i64::from(offset));
            *coefficient = Coefficient::new(coefficient.gain_q14(), offset).unwrap_or(*coefficient);
        }
        Ok(left)
    }
}

/// n/d to the nearest, halves upward; `None` for a d of 0.
fn nearest(n: i64, d: i64) -> Option<i64> {
    if d > 0 { Some((n + d / 2).div_euclid(d)) } else { None }
}

/// Column and row of a pixel in raster order.
pub(super) fn place(index: usize, width: u16) -> Option<(u16, u16)> {
    let y = index.checked_div(usize::from(width))?;
    Some((index.checked_rem(usize::from(width))? as u16, u16::try_from(y).ok()?))
}
