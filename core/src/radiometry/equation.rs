//! The measurement equation and its sensitivity coefficients.
//!
//! *What.* S = τ·[ε·S(T) + (1 − ε)·S(T_refl)] + (1 − τ)·S(T_med), the textbook equation for an opaque gray surface
//! behind one medium (form of ISO 18434-1; memory), solved for T. An offset common to all signals drops out, because
//! the three weights add up to 1. *Uncertainty.* [`Sensitivities`] are the partial derivatives of T by the inputs
//! (JCGM 100, 5.1.3), in the form of radiometry notes 7. *Cost.* A few exponentials in f64; never per pixel.

use super::{Scale, Scene};
use crate::error::{Error, Quantity, Result};

/// A scale and a scene, with the constant terms worked out once.
#[derive(Clone, Copy, Debug)]
pub struct MeasurementEquation {
    scale: Scale,
    emissivity: f64,
    transmittance: f64,
    reflected_kelvin: f64,
    medium_kelvin: f64,
    reflected_signal: f64,
    medium_signal: f64,
}

/// Partial derivatives of the object temperature by each input, at one reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Sensitivities {
    /// By apparent temperature, K/K. Noise, calibration and drift act through it.
    pub apparent: f64,
    /// By emissivity, K per unit.
    pub emissivity: f64,
    /// By reflected apparent temperature, K/K.
    pub reflected: f64,
    /// By transmittance of the medium, K per unit.
    pub transmittance: f64,
    /// By temperature of the medium, K/K.
    pub medium: f64,
    /// By counts, K per count.
    pub counts: f64,
}

impl MeasurementEquation {
    /// Prepares the equation.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if the reflected or medium temperature has no signal on this scale.
    pub fn new(scale: &Scale, scene: &Scene) -> Result<Self> {
        let (reflected_kelvin, medium_kelvin) = (scene.reflected.to_f64(), scene.medium.to_f64());
        let signal = |kelvin| scale.signal(kelvin).map_err(|_| Error::OutOfRange(Quantity::Temperature));
        Ok(Self {
            scale: *scale,
            emissivity: scene.emissivity.get(),
            transmittance: scene.transmittance.get(),
            reflected_kelvin,
            medium_kelvin,
            reflected_signal: signal(reflected_kelvin)?,
            medium_signal: signal(medium_kelvin)?,
        })
    }

    /// Emissivity of the surface.
    #[must_use]
    pub const fn emissivity(&self) -> f64 {
        self.emissivity
    }

    /// The scale in use.
    #[must_use]
    pub const fn scale(&self) -> &Scale {
        &self.scale
    }

    /// Object temperature in kelvin that gives `counts` (not necessarily whole).
    ///
    /// # Errors
    /// [`Error::NoTemperature`] if the signal is not above the reflected and path terms, or off the scale.
    pub fn object(&self, counts: f64) -> Result<f64> {
        if self.emissivity >= 1.0 && self.transmittance >= 1.0 {
            // A blackbody in plain view is at its apparent temperature.
            return self.scale.apparent(counts);
        }
        let measured = self.scale.signal_of_counts(counts)?;
        let at_surface = (measured - (1.0 - self.transmittance) * self.medium_signal) / self.transmittance;
        self.scale.of_signal((at_surface - (1.0 - self.emissivity) * self.reflected_signal) / self.emissivity)
    }

    /// Apparent temperature in kelvin of an object at `kelvin`.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] or [`Error::NoTemperature`] as of the curve.
    pub fn apparent(&self, kelvin: f64) -> Result<f64> {
        let scale = &self.scale;
        let surface = self.emissivity * scale.signal(kelvin)? + (1.0 - self.emissivity) * self.reflected_signal;
        scale.of_signal(self.transmittance * surface + (1.0 - self.transmittance) * self.medium_signal)
    }

    /// Counts, not rounded, of an object at `kelvin`.
    ///
    /// # Errors
    /// As [`MeasurementEquation::apparent`].
    pub fn counts(&self, kelvin: f64) -> Result<f64> {
        self.scale.counts(self.apparent(kelvin)?)
    }

    /// Sensitivity coefficients at an object temperature in kelvin.
    ///
    /// # Errors
    /// As [`MeasurementEquation::apparent`].
    pub fn sensitivities(&self, kelvin: f64) -> Result<Sensitivities> {
        self.sensitivities_and_apparent(kelvin).map(|(sensitivities, _)| sensitivities)
    }

    /// The same and the apparent temperature they are at, which takes no exponential more.
    ///
    /// Always inlined: in a frame of its own it takes the deepest check over the budget of 2 KiB of stack.
    #[inline(always)]
    pub(crate) fn sensitivities_and_apparent(&self, kelvin: f64) -> Result<(Sensitivities, f64)> {
        let scale = &self.scale;
        let apparent = self.apparent(kelvin)?;
        let (e, t) = (self.emissivity, self.transmittance);
        let (object_signal, slope) = (scale.signal(kelvin)?, scale.signal_slope(kelvin)?);
        let apparent_coefficient = scale.signal_slope(apparent)? / (t * e * slope);
        let surface = e * object_signal + (1.0 - e) * self.reflected_signal;
        // What has no weight has no effect; its slope is not worked out.
        let of = |weight: f64, kelvin: f64| {
            let slope = if weight == 0.0 { 0.0 } else { scale.signal_slope(kelvin)? };
            Ok::<_, Error>(weight * slope)
        };
        let sensitivities = Sensitivities {
            apparent: apparent_coefficient,
            emissivity: -(object_signal - self.reflected_signal) / (e * slope),
            reflected: -of(1.0 - e, self.reflected_kelvin)? / (e * slope),
            transmittance: -(surface - self.medium_signal) / (t * e * slope),
            medium: -of(1.0 - t, self.medium_kelvin)? / (t * e * slope),
            counts: apparent_coefficient / self.scale.counts_per_kelvin(apparent)?,
        };
        Ok((sensitivities, apparent))
    }
}
