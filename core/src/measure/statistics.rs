//! Count, mean, median, minimum, maximum and standard deviation of what a shape covers.
//!
//! *What.* [`Sums`] is the exact part, 24 bytes; [`Measurement`] adds a [`Tally`] for the median and the frame means.
//! *Why apart.* A check keeps a tally per shape and needs no more; a device that shows extremes pays for them. *Cost.*
//! 16 instructions per pixel on a Cortex-M4 for the sums, 18 for the tally (`tests/measure_image.rs`).

use super::reading::{InputUncertainty, Reading, Statistic};
use super::shape::Shape;
use super::tally::Tally;
use crate::error::{Error, Result};
use crate::radiometry::MeasurementEquation;
use crate::sensor::CountRange;

/// Exact sums over pixels, of one frame or of many.
///
/// *Scaling and overflow*: the number of pixels stops at 2³² − 1, where nothing more is added: below that, the sum has 48
/// bits and that of the squares 64.
#[derive(Clone, Copy, Debug)]
pub struct Sums {
    count: u32,
    minimum: u16,
    maximum: u16,
    sum: u64,
    squares: u64,
}

/// Statistics of counts.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Statistics {
    /// Pixels, over all frames.
    pub count: u32,
    /// Mean, counts.
    pub mean: f64,
    /// Standard deviation of the pixels (divided by n − 1), counts; 0 for a single one.
    pub deviation: f64,
    /// Least count.
    pub minimum: u16,
    /// Greatest count.
    pub maximum: u16,
}

impl Sums {
    /// Nothing summed.
    pub const EMPTY: Self = Self { count: 0, minimum: u16::MAX, maximum: 0, sum: 0, squares: 0 };

    /// Adds what the spans `[start, end)` hold of a row. Counts at or below `dead` or at or above `saturated` are left
    /// out.
    pub fn add_spans(&mut self, spans: &[(u16, u16)], row: &[u16], dead: u16, saturated: u16) {
        let range = CountRange::between(dead, saturated);
        for &(start, end) in spans {
            let span = row.get(usize::from(start)..usize::from(end)).unwrap_or(&[]);
            if u32::MAX - self.count < span.len() as u32 {
                return;
            }
            // Extremes of a span by itself: two registers fewer are alive at its start.
            let (mut pixels, mut sum, mut squares) = (0u32, 0u32, 0u64);
            let (mut minimum, mut maximum) = (u32::from(u16::MAX), 0);
            for &count in span {
                if range.holds(count) {
                    let value = u32::from(count);
                    // A span has fewer than 2¹⁶ pixels; none of these wraps.
                    pixels += 1;
                    sum = sum.wrapping_add(value);
                    squares = squares.wrapping_add(u64::from(value) * u64::from(value));
                    minimum = minimum.min(value);
                    maximum = maximum.max(value);
                }
            }
            self.count += pixels;
            self.sum += u64::from(sum);
            self.squares = self.squares.wrapping_add(squares);
            self.minimum = self.minimum.min(minimum as u16);
            self.maximum = self.maximum.max(maximum as u16);
        }
    }

    /// Pixels summed.
    #[must_use]
    pub const fn count(&self) -> u32 {
        self.count
    }

    /// The statistics, or `None` without a pixel.
    #[must_use]
    pub fn statistics(&self) -> Option<Statistics> {
        // Σ(x − m)² = Σx² − m·(2·Σx − n·m) about the whole part m of the mean. The result fits in 64 bits, so wrapping
        // arithmetic gives it exactly, where floats would lose it against squares of large counts.
        let n = u64::from(self.count);
        let middle = self.sum.checked_div(n)?;
        let about = self.squares.wrapping_sub(middle.wrapping_mul((2 * self.sum).wrapping_sub(n * middle)));
        let (n, rest) = (f64::from(self.count), (self.sum - n * middle) as f64);
        let variance = (about as f64 - rest * rest / n) / (n - 1.0).max(1.0);
        Some(Statistics {
            count: self.count,
            mean: middle as f64 + rest / n,
            deviation: libm::sqrt(variance.max(0.0)),
            minimum: self.minimum,
            maximum: self.maximum,
        })
    }
}

/// All statistics of one place: sums, histogram, frame means.
#[derive(Clone, Copy, Debug)]
pub struct Measurement {
    sums: Sums,
    tally: Tally,
}

/// A measurement in kelvin, each temperature with its uncertainty budget.
#[derive(Clone, Copy, Debug)]
pub struct Summary {
    /// Pixels, over all frames.
    pub count: u32,
    /// Mean.
    pub mean: Reading,
    /// Median.
    pub median: Reading,
    /// Coldest pixel of all frames. Of many noisy pixels it is colder than the surface by chance: a few times the noise.
    pub minimum: Reading,
    /// Hottest pixel of all frames; hotter than the surface by chance, likewise.
    pub maximum: Reading,
    /// Standard deviation of the pixels, K, at the slope of the curve at the mean; noise of the sensor included.
    pub deviation_k: f64,
}

impl Measurement {
    /// Nothing measured.
    pub const EMPTY: Self = Self { sums: Sums::EMPTY, tally: Tally::EMPTY };

    /// Adds what row `y` holds of `shape`. Counts at or below `dead` or at or above `saturated` are no temperatures.
    pub fn add_row(&mut self, shape: Shape, y: u16, row: &[u16], dead: u16, saturated: u16) {
        self.add_spans(&shape.spans(y), row, dead, saturated);
    }

    /// Adds what the spans `[start, end)` hold of a row, likewise.
    pub fn add_spans(&mut self, spans: &[(u16, u16)], row: &[u16], dead: u16, saturated: u16) {
        self.sums.add_spans(spans, row, dead, saturated);
        self.tally.add_spans(spans, row, dead, saturated);
    }

    /// Ends a frame and returns its mean in Q24.8 counts, or `None` if it had no valid pixel.
    pub fn end_frame(&mut self, time_ms: u32) -> Option<u32> {
        self.tally.end_frame(time_ms)
    }

    /// Exact sums.
    #[must_use]
    pub const fn sums(&self) -> &Sums {
        &self.sums
    }

    /// Histogram and frame means.
    #[must_use]
    pub const fn tally(&self) -> &Tally {
        &self.tally
    }

    /// Median in counts, the lower one of an even number of pixels, and the most it can be off because of the width of the
    /// bins.
    #[must_use]
    pub fn median(&self) -> Option<(f64, f64)> {
        let median = self.tally.histogram.quantile_q8(1, 2)?;
        Some((f64::from(median) / 256.0, f64::from(self.tally.histogram.resolution_q8()) / 256.0))
    }

    /// One statistic as a temperature, with `emissivity_u` as standard uncertainty of the emissivity.
    ///
    /// # Errors
    /// As [`Reading::of`].
    #[inline(never)]
    pub fn reading(
        &self,
        statistic: Statistic,
        equation: &MeasurementEquation,
        inputs: &InputUncertainty,
        emissivity_u: f64,
    ) -> Result<Reading> {
        Reading::of(&self.tally, statistic, equation, inputs, emissivity_u)
    }

    /// The statistics as temperatures; `emissivity_u` is the standard uncertainty of the emissivity.
    ///
    /// # Errors
    /// [`Error::NoTemperature`] without a finished frame, or if the counts have no object temperature.
    pub fn summary(
        &self,
        equation: &MeasurementEquation,
        inputs: &InputUncertainty,
        emissivity_u: f64,
    ) -> Result<Summary> {
        let statistics = self.sums.statistics().ok_or(Error::NoTemperature)?;
        let mean = self.reading(Statistic::Mean, equation, inputs, emissivity_u)?;
        let pixel = |count: u16| Reading::of_pixel(count, equation, inputs, emissivity_u);
        Ok(Summary {
            count: statistics.count,
            mean,
            median: self.reading(Statistic::Median, equation, inputs, emissivity_u)?,
            minimum: pixel(statistics.minimum)?,
            maximum: pixel(statistics.maximum)?,
            deviation_k: statistics.deviation * mean.sensitivities.counts,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::normal_scatter::MEDIAN_SCATTER;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn sums_are_those_of_the_valid_pixels(
            row in proptest::collection::vec(any::<u16>(), 1..300), dead in 0u16..9_000, saturated in 50_000u16..,
        ) {
            let mut sums = Sums::EMPTY;
            let middle = row.len() as u16 / 2;
            sums.add_spans(&[(0, middle), (middle, row.len() as u16)], &row, dead, saturated);
            let valid: std::vec::Vec<f64> =
                row.iter().filter(|&&c| c > dead && c < saturated).map(|&c| f64::from(c)).collect();
            let Some(got) = sums.statistics() else {
                prop_assert!(valid.is_empty());
                return Ok(());
            };
            let n = valid.len() as f64;
            let mean = valid.iter().sum::<f64>() / n;
            let variance = valid.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
            prop_assert_eq!(f64::from(got.count), n);
            prop_assert!((got.mean - mean).abs() < 1e-9 * mean, "{} {}", got.mean, mean);
            prop_assert!((got.deviation - variance.sqrt()).abs() <= 1e-9 * (1.0 + variance.sqrt()));
            prop_assert_eq!(f64::from(got.minimum), valid.iter().copied().fold(f64::MAX, f64::min));
            prop_assert_eq!(f64::from(got.maximum), valid.iter().copied().fold(f64::MIN, f64::max));
        }
    }

    /// A plate at 60 °C under noise of 3 counts, two frames: the budgets of the parts are those of theory.
    #[test]
    fn summary_of_a_plate() {
        use crate::radiometry::{Curve, Emissivity, Scale, Scene};
        let scale = Scale::Curve(Curve::sakuma_hattori(9.37, 172.2, 410_000.0).unwrap());
        let equation = MeasurementEquation::new(&scale, &Scene::new(Emissivity::new(0.95).unwrap())).unwrap();
        let center = equation.counts(333.15).unwrap().round();
        let mut measurement = Measurement::EMPTY;
        let shape = Shape::Ellipse { x: 20, y: 20, axis_x: 12, axis_y: 9, across: 10 };
        let inputs = InputUncertainty::HANDHELD;
        assert!(measurement.summary(&equation, &inputs, 0.02).is_err(), "nothing measured yet");
        for frame in 0..2 {
            for y in 0..40u16 {
                // Even over −3 … 3: standard deviation 2.
                let row: std::vec::Vec<u16> = (0..40u16).map(|x| center as u16 + (x * 5 + y * 3) % 7 - 3).collect();
                measurement.add_row(shape, y, &row, 0, 16_383);
            }
            assert!(measurement.end_frame(frame * 100).is_some());
        }
        let got = measurement.summary(&equation, &inputs, 0.02).unwrap();
        assert_eq!(got.count, 2 * shape.area());
        let per_count = got.mean.sensitivities.counts;
        assert!((got.mean.kelvin - 333.15).abs() < per_count && (got.median.kelvin - 333.15).abs() < per_count);
        assert!((got.deviation_k / per_count - 2.0).abs() < 0.05, "{}", got.deviation_k / per_count);
        let reach = (got.maximum.kelvin - got.minimum.kelvin) / per_count;
        assert!((reach - 6.0).abs() < 0.1, "{reach}");
        let white = inputs.netd_k * got.mean.sensitivities.apparent;
        let of_mean = white / f64::from(got.count).sqrt();
        assert!((got.mean.noise_k / of_mean - 1.0).abs() < 1e-9, "{} {of_mean}", got.mean.noise_k);
        // The bin of one count is more than the noise of the median here.
        let of_median = (of_mean * MEDIAN_SCATTER).hypot(per_count / 3f64.sqrt());
        // Sensitivities at the median, a few hundredths of a count beside the mean.
        assert!((got.median.noise_k / of_median - 1.0).abs() < 1e-5, "{} {of_median}", got.median.noise_k);
        assert!((got.maximum.noise_k / white - 1.0).abs() < 0.01);
    }

    #[test]
    fn spans_beyond_the_row_are_left_out() {
        let mut sums = Sums::EMPTY;
        sums.add_spans(&[(0, 2), (7, 9)], &[0, 0, 5, 6], 0, 100);
        assert_eq!(sums.statistics(), None);
        sums.add_spans(&[(0, 4)], &[0, 0, 5, 7], 0, 100);
        let got = sums.statistics().unwrap();
        assert_eq!((got.count, got.mean, got.minimum, got.maximum), (2, 6.0, 5, 7));
    }
}
