//! Windows and air between the object and the sensor, folded into one equivalent medium.
//!
//! *What.* A medium passes τ of what arrives, adds (1 − τ − ρ)·S(T) of its own and ρ·S(T_r) of what its sensor side
//! reflects (radiometry notes 3.1; ASTM E1897 for the transmittance). However many stand in a row, the sensor gets
//! τ_all·S_surface plus a term that does not depend on the object, and the weights add up to 1: so they equal one
//! medium of transmittance τ_all at the temperature whose signal that term has. [`Scene::behind`] works it out, and the
//! measurement equation stays as it is. *Uncertainty.* The equation's own coefficients are by the equivalent medium;
//! [`MediumSensitivities`] are by each input of each medium. *Which windows.* Germanium, zinc selenide, polyethylene
//! film; glass and sapphire are opaque in this band (radiometry notes 5.4). *Cost.* Two exponentials per medium in f64.

use super::{MeasurementEquation, Scale, Scene, Transmittance};
use crate::error::{Error, Quantity, Result};
use crate::units::Kelvin;

/// A window, a filter or a path of air.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Medium {
    transmittance: Transmittance,
    reflectance: f64,
    temperature: Kelvin,
    reflected: Kelvin,
}

/// Partial derivatives of the object temperature by the inputs of one medium.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct MediumSensitivities {
    /// By its transmittance, K per unit, at constant reflectance.
    pub transmittance: f64,
    /// By its reflectance, K per unit, at constant transmittance.
    pub reflectance: f64,
    /// By its temperature, K/K.
    pub temperature: f64,
    /// By the temperature reflected in it, K/K.
    pub reflected: f64,
}

impl Medium {
    /// Air or smoke-free gas: absorbs and emits, reflects nothing.
    #[must_use]
    pub const fn air(transmittance: Transmittance, temperature: Kelvin) -> Self {
        Self { transmittance, reflectance: 0.0, temperature, reflected: temperature }
    }

    /// A window of this transmittance, reflectance and temperature, whose sensor side reflects what is at `reflected`:
    /// at normal view the sensor itself.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if the reflectance is negative or adds up with the transmittance to more than 1.
    pub fn window(
        transmittance: Transmittance,
        reflectance: f64,
        temperature: Kelvin,
        reflected: Kelvin,
    ) -> Result<Self> {
        // A lossless window is 1 exactly, up to rounding.
        if reflectance >= 0.0 && transmittance.get() + reflectance <= 1.0 + 1e-12 {
            Ok(Self { transmittance, reflectance, temperature, reflected })
        } else {
            Err(Error::OutOfRange(Quantity::Transmittance))
        }
    }

    fn emittance(&self) -> f64 {
        libm::fmax(1.0 - self.transmittance.get() - self.reflectance, 0.0)
    }

    /// What it adds to the signal that passes.
    fn added(&self, scale: &Scale) -> Result<f64> {
        let signal = |kelvin: Kelvin| signal_of(scale, kelvin);
        Ok(self.emittance() * signal(self.temperature)? + self.reflectance * signal(self.reflected)?)
    }
}

fn signal_of(scale: &Scale, kelvin: Kelvin) -> Result<f64> {
    scale.signal(kelvin.to_f64()).map_err(|_| Error::OutOfRange(Quantity::Temperature))
}

impl Scene {
    /// The same surface seen through `media` as well, in the order from the object to the sensor; a medium that the
    /// scene has already counts as the one next to the object. The temperature of the equivalent medium belongs to this
    /// `scale`.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if a temperature has no signal on this scale, or nothing is left to pass.
    pub fn behind(self, scale: &Scale, media: &[Medium]) -> Result<Self> {
        let mut transmittance = self.transmittance.get();
        let mut added = (1.0 - transmittance) * signal_of(scale, self.medium)?;
        for medium in media {
            transmittance *= medium.transmittance.get();
            added = medium.transmittance.get() * added + medium.added(scale)?;
        }
        let share = 1.0 - transmittance;
        if share <= 0.0 {
            return Ok(self);
        }
        let kelvin = scale.of_signal(added / share).map_err(|_| Error::OutOfRange(Quantity::Temperature))?;
        Ok(self.through(Transmittance::new(transmittance)?, Kelvin::from_f64(kelvin)))
    }
}

/// Sensitivity coefficients of the object temperature, at `kelvin`, by the inputs of `media[index]`, for `scene` seen
/// through `media` as in [`Scene::behind`].
///
/// # Errors
/// As [`Scene::behind`] and [`MeasurementEquation::apparent`]; [`Error::WrongLength`] if there is no such medium.
pub fn medium_sensitivities(
    scale: &Scale,
    scene: &Scene,
    media: &[Medium],
    index: usize,
    kelvin: f64,
) -> Result<MediumSensitivities> {
    let medium = media.get(index).ok_or(Error::WrongLength)?;
    let (before, after) = (media.get(..index).unwrap_or(&[]), media.get(index + 1..).unwrap_or(&[]));
    let slope = |kelvin: Kelvin| scale.signal_slope(kelvin.to_f64());
    // What arrives at this medium, and how much of a change behind it reaches the sensor.
    let apparent = MeasurementEquation::new(scale, &scene.behind(scale, before)?)?.apparent(kelvin)?;
    let arriving = scale.signal(apparent)?;
    let passed: f64 = before.iter().map(|m| m.transmittance.get()).product::<f64>() * scene.transmittance.get();
    let reach: f64 = after.iter().map(|m| m.transmittance.get()).product();
    let all = passed * medium.transmittance.get() * reach;
    // Kelvin of the object per unit of signal at the exit of this medium.
    let per_signal = -reach / (all * scene.emissivity.get() * scale.signal_slope(kelvin)?);
    let own = signal_of(scale, medium.temperature)?;
    Ok(MediumSensitivities {
        transmittance: per_signal * (arriving - own),
        reflectance: per_signal * (signal_of(scale, medium.reflected)? - own),
        temperature: per_signal * medium.emittance() * slope(medium.temperature)?,
        reflected: per_signal * medium.reflectance * slope(medium.reflected)?,
    })
}
