//! Two curves that share one count axis, each good for its part of the range.
//!
//! *Why.* The four-parameter form is 0.3 K off over −20…650 °C but 0.03 K in each of two segments that meet at 150 °C
//! (computed, radiometry notes 2.3); the Planckian form gains too. *Hand-over.* One count decides: below it the low
//! curve, from it on the high one, so the same count always means the same temperature (no hysteresis). Where the curves
//! do not meet exactly, the temperature steps by [`TwoRange::step`], which must stay within the tolerance stated when
//! the pair is made; state the calibration's expanded uncertainty there. *Cost.* As a [`Curve`].

use super::Curve;
use crate::error::Result;

/// Why a pair of curves was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum TwoRangeError {
    /// A curve has no signal or temperature at the hand-over, or the tolerance is not above 0 and finite.
    OutsideDomain,
    /// At the hand-over the curves differ by more than the tolerance.
    CurvesDiffer,
}

impl core::fmt::Display for TwoRangeError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::OutsideDomain => "a curve has no value at the hand-over, or the tolerance is not positive",
            Self::CurvesDiffer => "the curves differ by more than the tolerance at the hand-over",
        })
    }
}

impl core::error::Error for TwoRangeError {}

/// A low and a high curve with a defined hand-over.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TwoRange {
    low: Curve,
    high: Curve,
    counts: f64,
}

impl TwoRange {
    /// Joins two curves where `low` reaches `hand_over_kelvin`; there `high` may differ by up to `tolerance_kelvin`.
    ///
    /// # Errors
    /// [`TwoRangeError`].
    pub fn new(
        low: Curve,
        high: Curve,
        hand_over_kelvin: f64,
        tolerance_kelvin: f64,
    ) -> core::result::Result<Self, TwoRangeError> {
        if !(tolerance_kelvin > 0.0 && tolerance_kelvin.is_finite()) {
            return Err(TwoRangeError::OutsideDomain);
        }
        let counts = low.signal(hand_over_kelvin).map_err(|_| TwoRangeError::OutsideDomain)?;
        let step = high.temperature(counts).map_err(|_| TwoRangeError::OutsideDomain)? - hand_over_kelvin;
        if libm::fabs(step) > tolerance_kelvin {
            return Err(TwoRangeError::CurvesDiffer);
        }
        Ok(Self { low, high, counts })
    }

    /// The count from which the high curve is used.
    #[must_use]
    pub const fn hand_over_counts(&self) -> f64 {
        self.counts
    }

    /// How far the temperature jumps at the hand-over, K: positive leaves out, negative repeats so much of the scale.
    #[must_use]
    pub fn step(&self) -> f64 {
        // Both have a value there, or the pair would not have been made.
        self.high.temperature(self.counts).unwrap_or(0.0) - self.low.temperature(self.counts).unwrap_or(0.0)
    }

    /// The curve that `signal` counts belong to.
    #[must_use]
    pub fn curve_at(&self, signal: f64) -> &Curve {
        if signal < self.counts { &self.low } else { &self.high }
    }

    /// Blackbody temperature in kelvin that gives `signal` counts.
    ///
    /// # Errors
    /// As [`Curve::temperature`].
    pub fn temperature(&self, signal: f64) -> Result<f64> {
        self.curve_at(signal).temperature(signal)
    }

    /// Signal in counts of a blackbody at `kelvin`; never falls with rising temperature. [`TwoRange::temperature`] undoes
    /// it, except within a positive step, whose temperatures all give the hand-over count.
    ///
    /// # Errors
    /// As [`Curve::signal`].
    pub fn signal(&self, kelvin: f64) -> Result<f64> {
        match self.high.signal(kelvin) {
            Ok(signal) if signal >= self.counts => Ok(signal),
            Ok(_) => self.low.signal(kelvin).map(|signal| libm::fmin(signal, self.counts)),
            // Too hot for the high curve, as a curve has no signal at its hot end only.
            Err(error) => Err(error),
        }
    }

    /// Slope dS/dT in counts per kelvin at `kelvin`, of the curve in use there.
    ///
    /// # Errors
    /// As [`Curve::slope`].
    pub fn slope(&self, kelvin: f64) -> Result<f64> {
        self.curve_at(self.signal(kelvin)?).slope(kelvin)
    }
}
