//! What lies between the surface and the detector, and what the surface reflects.

use crate::error::{Error, Quantity, Result};
use crate::units::{Kelvin, celsius};

/// Emissivity of an opaque surface in the band and direction of view, above 0 and at most 1 (ISO 18434-1, 3.4).
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Emissivity(f64);

/// Transmittance of an attenuating medium (window, air path), above 0 and at most 1 (ASTM E1897).
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Transmittance(f64);

macro_rules! share {
    ($name:ident, $quantity:expr) => {
        impl $name {
            /// Full emission or transmission.
            pub const ONE: Self = Self(1.0);

            /// Checks the value.
            ///
            /// # Errors
            /// [`Error::OutOfRange`] unless 0 < `value` ≤ 1; NaN is refused too.
            pub const fn new(value: f64) -> Result<Self> {
                if value > 0.0 && value <= 1.0 { Ok(Self(value)) } else { Err(Error::OutOfRange($quantity)) }
            }

            /// The value.
            #[must_use]
            pub const fn get(self) -> f64 {
                self.0
            }
        }
    };
}
share!(Emissivity, Quantity::Emissivity);
share!(Transmittance, Quantity::Transmittance);

/// A surface as the detector sees it: its emissivity, what it reflects, and the medium in front of it.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Scene {
    pub(crate) emissivity: Emissivity,
    pub(crate) reflected: Kelvin,
    pub(crate) transmittance: Transmittance,
    pub(crate) medium: Kelvin,
}

impl Scene {
    /// A blackbody at any temperature through a clear path: emissivity 1, so what it would reflect (0 °C) is unused.
    pub const BLACKBODY: Self = {
        let freezing = Kelvin(fixed::types::I16F16::lit("273.15"));
        Self { emissivity: Emissivity::ONE, reflected: freezing, transmittance: Transmittance::ONE, medium: freezing }
    };

    /// A surface of this emissivity, reflecting surroundings at 20 °C through a clear path.
    #[must_use]
    pub fn new(emissivity: Emissivity) -> Self {
        Self { emissivity, reflected: celsius(20.0), transmittance: Transmittance::ONE, medium: celsius(20.0) }
    }

    /// The same with this reflected apparent temperature (ISO 18434-1, 3.12; measured as in ASTM E1862).
    #[must_use]
    pub const fn reflected(self, temperature: Kelvin) -> Self {
        Self { reflected: temperature, ..self }
    }

    /// The same behind a medium of this transmittance and temperature.
    #[must_use]
    pub const fn through(self, transmittance: Transmittance, temperature: Kelvin) -> Self {
        Self { transmittance, medium: temperature, ..self }
    }

    /// The medium in front of the surface: its transmittance and temperature.
    #[must_use]
    pub const fn medium(&self) -> (Transmittance, Kelvin) {
        (self.transmittance, self.medium)
    }

    /// The same for a surface of another emissivity.
    #[must_use]
    pub const fn with_emissivity(self, emissivity: Emissivity) -> Self {
        Self { emissivity, ..self }
    }
}
