//! Drift with the temperature of the housing.
//!
//! *What.* A polynomial of first or second order from housing temperature to counts, fitted to a soak run in front of a
//! constant scene, and taken off every frame as one offset for all pixels. *Why.* Uncorrected output moved by 4.0 K rms
//! over a 7.2 K change of focal-plane temperature, corrected by 0.2 to 0.3 K (Nugent, Shaw, Pust, Opt. Eng. 53 (2014)
//! 123106 and 52 (2013) 061304, abstracts read; radiometry notes 6). *Limits.* One offset for all pixels. It
//! serves a drift that the pixels see, as radiation of the housing; one that enters behind their gains leaves a pattern
//! of drift times scatter of the gains (440 counts and 4 %: 17 counts rms, simulated), which is for the shutter. The
//! change of gain with temperature is not modeled. Outside the soak run the model holds its end value and says so; it
//! does not extrapolate.
//!
//! *Floats* only in [`Drift::fit`].

use super::range::SetupError;
use crate::units::Kelvin;
use fixed::types::I16F16;

/// One reading of a soak run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SoakPoint {
    /// Housing temperature.
    pub housing: Kelvin,
    /// Mean counts of the array, after two-point correction.
    pub counts: f64,
}

/// Order of the polynomial.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum DriftOrder {
    /// A straight line; two points at least.
    First,
    /// A parabola; three points at least.
    Second,
}

/// The fitted model.
///
/// *Scaling and overflow*: temperatures relative to the reference are Q16.16 and within ±256 K, cut to the soak run;
/// the slope is Q16.16 counts/K, the curvature Q8.24 counts/K², both in 32 bits. The largest products, 2³¹·2²⁴ and
/// 2³¹·2²⁴·2⁻²⁴·2²⁴, stay below 2⁵⁶; the offset below 2²⁸, and what the correction cannot hold it cuts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drift {
    reference: Kelvin,
    low: Kelvin,
    high: Kelvin,
    slope_q16: i32,
    curve_q24: i32,
    residual_q8: u32,
}

/// The drift of one frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct DriftOffset {
    /// To add to every pixel, 1/16 count.
    pub offset_q4: i32,
    /// The housing is outside the temperatures of the soak run: the offset is that of its end, and absolute
    /// temperatures are not assessable.
    pub outside: bool,
}

impl Drift {
    /// Fits a soak run. `reference` is the housing temperature at which the correction shall be zero: that of the
    /// two-point runs. It must lie within the soak run.
    ///
    /// Least squares by normal equations about the middle of the run, scaled to ±1: the condition number is then below
    /// 100 for points spread over the run.
    ///
    /// # Errors
    /// [`SetupError::TooFewPoints`] with fewer points or distinct temperatures than coefficients,
    /// [`SetupError::Model`] if a value is not finite, the reference lies outside, the run spans more than 256 K, or a
    /// coefficient exceeds its format (slope ±32,767 counts/K, curvature ±127 counts/K²).
    #[allow(clippy::float_arithmetic, reason = "set-up: once per soak run")]
    pub fn fit(points: &[SoakPoint], order: DriftOrder, reference: Kelvin) -> Result<Self, SetupError> {
        let low = points.iter().map(|p| p.housing).min().ok_or(SetupError::TooFewPoints)?;
        let high = points.iter().map(|p| p.housing).max().ok_or(SetupError::TooFewPoints)?;
        let (from, to, origin) = (low.to_f64(), high.to_f64(), reference.to_f64());
        if low == high {
            return Err(SetupError::TooFewPoints);
        }
        let finite = points.iter().all(|p| p.counts.is_finite());
        if !finite || to - from > 256.0 || reference < low || reference > high {
            return Err(SetupError::Model);
        }
        let (middle, half) = ((from + to) / 2.0, (to - from) / 2.0);
        let count = points.len() as f64;
        let mean = points.iter().map(|p| p.counts).sum::<f64>() / count;
        // Sums of u^0 to u^4 and of y·u^0 to y·u^2, with u in -1..=1 and y about its mean.
        let (mut u_sums, mut y_sums) = ([0.0f64; 5], [0.0f64; 3]);
        for point in points {
            let (u, y) = ((point.housing.to_f64() - middle) / half, point.counts - mean);
            let powers = [1.0, u, u * u, u * u * u, u * u * u * u];
            for (sum, power) in u_sums.iter_mut().zip(powers) {
                *sum += power;
            }
            for (sum, power) in y_sums.iter_mut().zip(powers) {
                *sum += y * power;
            }
        }
        let [s0, s1, s2, s3, s4] = u_sums;
        let [y0, y1, y2] = y_sums;
        // Cramer's rule; a determinant is 0 up to rounding exactly when temperatures coincide.
        let (a, b, c) = match order {
            DriftOrder::First => {
                let det = s0 * s2 - s1 * s1;
                ((y0 * s2 - y1 * s1) / det, (s0 * y1 - s1 * y0) / det, 0.0)
            }
            DriftOrder::Second => {
                let det = s0 * (s2 * s4 - s3 * s3) - s1 * (s1 * s4 - s2 * s3) + s2 * (s1 * s3 - s2 * s2);
                if det < 1e-9 * s0 * s0 * s0 {
                    return Err(SetupError::TooFewPoints);
                }
                let a = y0 * (s2 * s4 - s3 * s3) - s1 * (y1 * s4 - y2 * s3) + s2 * (y1 * s3 - y2 * s2);
                let b = s0 * (y1 * s4 - y2 * s3) - y0 * (s1 * s4 - s2 * s3) + s2 * (s1 * y2 - s2 * y1);
                let c = s0 * (s2 * y2 - s3 * y1) - s1 * (s1 * y2 - s2 * y1) + y0 * (s1 * s3 - s2 * s2);
                (a / det, b / det, c / det)
            }
        };
        let squares = points.iter().map(|point| {
            let u = (point.housing.to_f64() - middle) / half;
            let residual = point.counts - mean - a - u * (b + u * c);
            residual * residual
        });
        let residual = libm::sqrt(squares.sum::<f64>() / count);
        // About the reference, per kelvin.
        let at = (origin - middle) / half;
        let slope_q16 = narrow((b + 2.0 * c * at) / half * 65_536.0)?;
        let curve_q24 = narrow(c / (half * half) * 16_777_216.0)?;
        let residual_q8 = narrow(residual * 256.0)?.unsigned_abs();
        Ok(Self { reference, low, high, slope_q16, curve_q24, residual_q8 })
    }

    /// What to add to a frame at this housing temperature. Integers only, once per frame.
    #[must_use]
    pub fn offset(&self, housing: Kelvin) -> DriftOffset {
        // Not `clamp`, which panics for bounds that cross; these do not, but the compiler cannot know.
        let within = housing.max(self.low).min(self.high);
        let dt = i64::from(within.minus(self.reference).0.to_bits());
        // Q16·Q16 → Q32; Q24·Q16 → Q40, cut to Q16 before the last product → Q32.
        let linear = i64::from(self.slope_q16) * dt;
        let counts_q32 = linear + ((i64::from(self.curve_q24) * dt) >> 24) * dt;
        let offset_q4 = (-counts_q32 + (1 << 27)) >> 28;
        DriftOffset { offset_q4: offset_q4 as i32, outside: within != housing }
    }

    /// Root mean square of what the fit leaves of the soak run, 1/256 count.
    #[must_use]
    pub const fn residual_q8(&self) -> u32 {
        self.residual_q8
    }

    /// Lowest and highest housing temperature of the soak run.
    #[must_use]
    pub const fn span(&self) -> (Kelvin, Kelvin) {
        (self.low, self.high)
    }

    /// Slope at the reference, counts per kelvin of housing temperature.
    #[must_use]
    pub const fn slope(&self) -> I16F16 {
        I16F16::from_bits(self.slope_q16)
    }
}

#[allow(clippy::float_arithmetic, reason = "set-up: once per soak run")]
fn narrow(value: f64) -> Result<i32, SetupError> {
    let rounded = libm::round(value);
    // False for NaN as well.
    if libm::fabs(rounded) <= f64::from(i32::MAX) { Ok(rounded as i32) } else { Err(SetupError::Model) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::celsius;
    use proptest::prelude::*;
    use std::vec::Vec;

    fn run(from: f64, to: f64, n: u32, counts: impl Fn(f64) -> f64) -> Vec<SoakPoint> {
        let at = |i: u32| from + (to - from) * f64::from(i) / f64::from(n - 1);
        (0..n).map(|i| SoakPoint { housing: celsius(at(i)), counts: counts(at(i)) }).collect()
    }

    #[test]
    fn outside_the_soak_run_the_end_is_held_and_said() {
        let drift = Drift::fit(&run(20.0, 40.0, 9, |t| 3_000.0 + 12.5 * t), DriftOrder::First, celsius(25.0)).unwrap();
        let offset = |t| drift.offset(celsius(t));
        assert_eq!(offset(25.0), DriftOffset { offset_q4: 0, outside: false });
        assert_eq!(offset(40.0), DriftOffset { offset_q4: -3_000, outside: false });
        assert_eq!(offset(55.0), DriftOffset { offset_q4: -3_000, outside: true });
        assert_eq!(offset(-10.0), DriftOffset { offset_q4: 1_000, outside: true });
        assert_eq!((drift.slope().to_bits(), drift.residual_q8()), (25 << 15, 0));
    }

    #[test]
    fn refuses_what_does_not_determine_a_curve() {
        let line = run(20.0, 40.0, 2, |t| t);
        let fit = |points: &[SoakPoint], order, t| Drift::fit(points, order, celsius(t)).unwrap_err();
        assert_eq!(fit(&[], DriftOrder::First, 20.0), SetupError::TooFewPoints);
        assert_eq!(fit(&line, DriftOrder::Second, 20.0), SetupError::TooFewPoints);
        assert_eq!(fit(&[line[0]; 5], DriftOrder::First, 20.0), SetupError::TooFewPoints);
        assert_eq!(fit(&line, DriftOrder::First, 41.0), SetupError::Model);
        assert_eq!(fit(&run(0.0, 1.0, 3, |t| 1e9 * t), DriftOrder::First, 0.5), SetupError::Model);
        assert_eq!(fit(&run(0.0, 1.0, 3, |_| f64::NAN), DriftOrder::First, 0.5), SetupError::Model);
    }

    proptest! {
        #[test]
        fn a_parabola_is_recovered_to_an_eighth_of_a_count(
            slope in -60.0f64..60.0, curve in -1.0f64..1.0, n in 3u32..40, at in 0.0f64..1.0, reference in 0.0f64..1.0,
        ) {
            let (from, to) = (-10.0, 50.0);
            let counts = |t: f64| 3_000.0 + slope * t + curve * t * t;
            let (at, reference) = (from + (to - from) * at, from + (to - from) * reference);
            let drift = Drift::fit(&run(from, to, n, counts), DriftOrder::Second, celsius(reference)).unwrap();
            let wanted = counts(reference) - counts(at);
            let got = f64::from(drift.offset(celsius(at)).offset_q4) / 16.0;
            // Half a step of the result, and what 1/65,536 count/K and 1/65,536 K make over 60 K.
            prop_assert!((got - wanted).abs() <= 0.125, "{got} {wanted}");
            prop_assert!(drift.residual_q8() <= 1);
        }
    }
}
