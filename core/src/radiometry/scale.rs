//! Which signal a count stands for.
//!
//! Instruments deliver either raw counts, which follow a [`Curve`], or counts proportional to apparent temperature.
//! The measurement equation mixes signals, so for the second kind the temperature is first turned into the signal of
//! a nominal long-wave band. The error of that choice is small: 8–14 against 7.5–13 µm changes an object temperature
//! of 100 °C at emissivity 0.95 by 0.07 K (computed from the two tables in radiometry notes 3.2).

use super::{Curve, TwoRange};
use crate::error::{Error, Quantity, Result};
use crate::units::ICE_POINT_K;

/// Counts proportional to apparent temperature: t [°C] = counts / `counts_per_kelvin` + `zero_celsius`.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LinearScale {
    counts_per_kelvin: f64,
    zero_kelvin: f64,
    band: Curve,
}

impl LinearScale {
    /// A linear scale with the nominal long-wave band.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] unless 0 < `counts_per_kelvin` ≤ 65,535 and −10⁶ ≤ `zero_celsius` ≤ 1,700. The zero may lie
    /// below absolute zero: it is where the line meets count 0, not a temperature that occurs.
    pub fn new(counts_per_kelvin: f64, zero_celsius: f64) -> Result<Self> {
        if !(counts_per_kelvin > 0.0 && counts_per_kelvin <= 65_535.0) {
            return Err(Error::OutOfRange(Quantity::CountsPerKelvin));
        }
        if !(-1e6..=1_700.0).contains(&zero_celsius) {
            return Err(Error::OutOfRange(Quantity::ScaleZero));
        }
        let zero_kelvin = zero_celsius + ICE_POINT_K;
        Ok(Self { counts_per_kelvin, zero_kelvin, band: Curve::nominal_longwave() })
    }
}

/// How counts relate to apparent temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Scale {
    /// Raw counts on a calibration curve.
    Curve(Curve),
    /// Raw counts on two curves with a hand-over. The measurement equation mixes their signals as those of one detector.
    TwoRange(TwoRange),
    /// Counts proportional to apparent temperature.
    Linear(LinearScale),
}

impl Scale {
    /// Signal of a blackbody at `kelvin`, in which the measurement equation is solved: counts, or for a linear scale
    /// the radiance of the nominal band.
    ///
    /// # Errors
    /// As [`Curve::signal`].
    pub(crate) fn signal(&self, kelvin: f64) -> Result<f64> {
        match self {
            Self::Curve(curve) => curve.signal(kelvin),
            Self::TwoRange(two) => two.signal(kelvin),
            Self::Linear(linear) => linear.band.signal(kelvin),
        }
    }

    /// Temperature in kelvin of a blackbody that gives `signal`.
    ///
    /// # Errors
    /// As [`Curve::temperature`].
    pub(crate) fn of_signal(&self, signal: f64) -> Result<f64> {
        match self {
            Self::Curve(curve) => curve.temperature(signal),
            Self::TwoRange(two) => two.temperature(signal),
            Self::Linear(linear) => linear.band.temperature(signal),
        }
    }

    /// Slope of the signal at `kelvin`.
    ///
    /// # Errors
    /// As [`Curve::slope`].
    pub(crate) fn signal_slope(&self, kelvin: f64) -> Result<f64> {
        match self {
            Self::Curve(curve) => curve.slope(kelvin),
            Self::TwoRange(two) => two.slope(kelvin),
            Self::Linear(linear) => linear.band.slope(kelvin),
        }
    }

    /// Signal that arrives when the sensor delivers `counts`.
    ///
    /// # Errors
    /// [`Error::NoTemperature`] if there is none.
    pub(crate) fn signal_of_counts(&self, counts: f64) -> Result<f64> {
        match self {
            Self::Curve(_) | Self::TwoRange(_) => Ok(counts),
            Self::Linear(_) => self.signal(self.apparent(counts)?).map_err(|_| Error::NoTemperature),
        }
    }

    /// Apparent temperature in kelvin of `counts` (not necessarily whole).
    ///
    /// # Errors
    /// [`Error::NoTemperature`] if there is none between 0 and 2,000 K.
    pub fn apparent(&self, counts: f64) -> Result<f64> {
        match self {
            Self::Curve(_) | Self::TwoRange(_) => self.of_signal(counts),
            Self::Linear(linear) => {
                let kelvin = counts / linear.counts_per_kelvin + linear.zero_kelvin;
                if kelvin > 0.0 && kelvin <= super::curve::MAX_KELVIN { Ok(kelvin) } else { Err(Error::NoTemperature) }
            }
        }
    }

    /// Counts, not rounded, of an apparent temperature in kelvin; below 0 or above full scale where a linear scale has
    /// none.
    ///
    /// # Errors
    /// As [`Curve::signal`]; a linear scale has none.
    pub fn counts(&self, apparent_kelvin: f64) -> Result<f64> {
        match self {
            Self::Curve(_) | Self::TwoRange(_) => self.signal(apparent_kelvin),
            Self::Linear(linear) => Ok((apparent_kelvin - linear.zero_kelvin) * linear.counts_per_kelvin),
        }
    }

    /// Counts per kelvin of apparent temperature at `apparent_kelvin`.
    ///
    /// # Errors
    /// As [`Curve::slope`].
    pub fn counts_per_kelvin(&self, apparent_kelvin: f64) -> Result<f64> {
        match self {
            Self::Curve(_) | Self::TwoRange(_) => self.signal_slope(apparent_kelvin),
            Self::Linear(linear) => Ok(linear.counts_per_kelvin),
        }
    }
}
