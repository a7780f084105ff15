//! What is summed over a shape, within a frame and over frames. Integers only.

use super::histogram::Histogram;
use super::normal_scatter::THREE_DEVIATIONS_Q8;
use super::shape::Shape;
use crate::sensor::CountRange;

/// A quantity followed over frames: sums for mean, scatter and how long a limit was passed.
///
/// *Scaling and overflow*: values are Q24.8 counts taken relative to the first one, so they fit in 25 bits; their
/// squares are summed in `i64`, saturating, with room for 8,192 frames at full scale and 2²⁴ at a tenth of it.
#[derive(Clone, Copy, Debug)]
pub struct Series {
    pub(crate) frames: u32,
    first_q8: i32,
    sum: i64,
    squares: i64,
    pub(crate) beyond: u32,
    beyond_from_ms: u32,
    beyond_to_ms: u32,
    from_ms: u32,
    to_ms: u32,
}

impl Series {
    pub(crate) const EMPTY: Self = Self {
        frames: 0,
        first_q8: 0,
        sum: 0,
        squares: 0,
        beyond: 0,
        beyond_from_ms: 0,
        beyond_to_ms: 0,
        from_ms: 0,
        to_ms: 0,
    };

    /// Adds the value of one frame; `beyond` says whether it passed the limit that is watched.
    pub(crate) fn add(&mut self, value_q8: i32, time_ms: u32, beyond: bool) {
        if self.frames == 0 {
            (self.first_q8, self.from_ms) = (value_q8, time_ms);
        }
        self.to_ms = time_ms;
        let relative = i64::from(value_q8) - i64::from(self.first_q8);
        self.frames = self.frames.saturating_add(1);
        self.sum = self.sum.saturating_add(relative);
        self.squares = self.squares.saturating_add(relative.saturating_mul(relative));
        if beyond {
            if self.beyond == 0 {
                self.beyond_from_ms = time_ms;
            }
            self.beyond = self.beyond.saturating_add(1);
            self.beyond_to_ms = time_ms;
        }
    }

    /// Frames added.
    #[must_use]
    pub const fn frames(&self) -> u32 {
        self.frames
    }

    /// Time from the first to the last frame, ms.
    #[must_use]
    pub const fn span_ms(&self) -> u32 {
        self.to_ms.saturating_sub(self.from_ms)
    }

    /// Time from the first to the last frame in which the watched limit was passed, ms.
    #[must_use]
    pub const fn beyond_ms(&self) -> u32 {
        self.beyond_to_ms.saturating_sub(self.beyond_from_ms)
    }

    /// Mean value in counts, or `None` without a frame.
    #[must_use]
    #[inline(always)]
    #[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per reading")]
    pub fn mean_counts(&self) -> Option<f64> {
        if self.frames == 0 {
            return None;
        }
        Some((f64::from(self.first_q8) + self.sum as f64 / f64::from(self.frames)) / 256.0)
    }

    /// Sample standard deviation of the frame values in counts, or `None` with fewer than four frames, too few to say.
    #[must_use]
    #[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per reading")]
    pub fn scatter_counts(&self) -> Option<f64> {
        (self.frames >= 4).then(|| {
            let n = f64::from(self.frames);
            let sum = self.sum as f64;
            let variance = (self.squares as f64 - sum * sum / n) / (n - 1.0);
            libm::sqrt(variance.max(0.0)) / 256.0
        })
    }
}

/// What [`Tally::majority`] kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Majority {
    /// Mean of the kept pixels, Q24.8 counts.
    pub mean_q8: u32,
    /// Pixels kept, over all frames.
    pub kept: u32,
    /// Pixels left out, over all frames.
    pub left_out: u32,
    /// Median absolute deviation of all pixels from their median, Q24.8 counts, to a bin of the histogram.
    pub deviation_q8: u32,
}

/// Least share of the pixels that makes a majority clear, percent; a proposal.
const MAJORITY_PERCENT: u64 = 60;

/// Sums over one shape.
#[derive(Clone, Copy, Debug)]
pub struct Tally {
    frame_pixels: u32,
    frame_sum: u64,
    rejected: u32,
    pixels: u32,
    pub(crate) means: Series,
    pub(crate) histogram: Histogram,
}

impl Tally {
    /// Nothing summed.
    pub const EMPTY: Self = Self {
        frame_pixels: 0,
        frame_sum: 0,
        rejected: 0,
        pixels: 0,
        means: Series::EMPTY,
        histogram: Histogram::EMPTY,
    };

    /// Adds what row `y` holds of `shape`. Counts at or below `dead` or at or above `saturated` are not temperatures:
    /// they are counted as rejected and left out.
    ///
    /// *Overflow*: a frame has fewer than 2³² pixels of less than 2¹⁶ counts: the sum stays below 2⁴⁸.
    pub fn add_row(&mut self, shape: Shape, y: u16, row: &[u16], dead: u16, saturated: u16) {
        self.add_spans(&shape.spans(y), row, dead, saturated);
    }

    /// Adds what the spans `[start, end)` hold of a row, as [`Tally::add_row`]; what lies outside the row is left out.
    ///
    /// Always inlined, like the end of a frame: an image that has checks but no tools beside them would pay for a call.
    #[inline(always)]
    pub fn add_spans(&mut self, spans: &[(u16, u16)], row: &[u16], dead: u16, saturated: u16) {
        let range = CountRange::between(dead, saturated);
        for &(start, end) in spans {
            let span = row.get(usize::from(start)..usize::from(end)).unwrap_or(&[]);
            let (pixels, sum) = self.histogram.add_valid(span, range);
            self.frame_pixels = self.frame_pixels.saturating_add(pixels);
            self.frame_sum += u64::from(sum);
            self.rejected = self.rejected.saturating_add((span.len() as u32).wrapping_sub(pixels));
        }
    }

    /// Ends a frame and returns its mean in Q24.8 counts, or `None` if it had no valid pixel.
    #[inline(always)]
    pub fn end_frame(&mut self, time_ms: u32) -> Option<u32> {
        let pixels = u64::from(self.frame_pixels);
        let mean = (self.frame_sum << 8).checked_div(pixels).map(|mean| mean as u32);
        if let Some(mean) = mean {
            self.pixels = self.pixels.max(self.frame_pixels);
            self.means.add(mean as i32, time_ms, false);
        }
        (self.frame_pixels, self.frame_sum) = (0, 0);
        mean
    }

    /// The mean without the pixels that differ from most: block tops of a tread without the grooves, a panel without its
    /// screws. A pixel is kept within 4.45 median absolute deviations (three standard deviations of normal noise) of the
    /// median, then once more around the mean of those kept. `None` if fewer than 60 % are kept: then the rule does not
    /// say which part is meant.
    #[must_use]
    pub fn majority(&self) -> Option<Majority> {
        let histogram = &self.histogram;
        let mut center = histogram.quantile_q8(1, 2)?;
        // Not below one and a half bins, or a bin beside the center would be cut off by its width alone.
        let least = histogram.resolution_q8() + histogram.resolution_q8() / 2;
        let deviation_q8 = histogram.deviation_q8(center);
        let reach = (u64::from(deviation_q8) * u64::from(THREE_DEVIATIONS_Q8)) >> 8;
        let reach = u32::try_from(reach).unwrap_or(u32::MAX).max(least);
        center = histogram.within(center, reach).1?;
        let (kept, mean) = histogram.within(center, reach);
        let (all, _) = histogram.within(center, u32::MAX);
        (u64::from(kept) * 100 >= u64::from(all) * MAJORITY_PERCENT).then_some(())?;
        Some(Majority { mean_q8: mean?, kept, left_out: all.saturating_sub(kept), deviation_q8 })
    }

    /// Largest number of valid pixels in a frame.
    #[must_use]
    pub const fn pixels(&self) -> u32 {
        self.pixels
    }

    /// Pixels left out over all frames because their counts are not temperatures.
    #[must_use]
    pub const fn rejected(&self) -> u32 {
        self.rejected
    }

    /// Frame means.
    #[must_use]
    pub const fn means(&self) -> &Series {
        &self.means
    }
}
