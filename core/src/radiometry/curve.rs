//! The calibration curve of a thermal detector.
//!
//! *What.* S(T) = offset + C / (exp(c2 / (A·T + B)) − shape). With `shape` = 1 this is the Planckian form of the
//! Sakuma–Hattori equation (CCT-WG5 2008; read: the encyclopedia article of that name), which follows the true band
//! integral of an 8–14 µm detector within 0.04 K over −20…650 °C (computed, `shared` radiometry notes 2.3). With
//! `B` = 0 and a free `shape` it is the common four-parameter form, within 0.3 K. *Why closed form.* It inverts
//! exactly, so no iteration and no start value. *Cost.* One exponential or logarithm in f64.

use crate::error::{Error, Quantity, Result};
use crate::units::C2_UM_K;

/// Highest temperature the curve is used for, K. A proposal: far above every check, far below any overflow.
pub(crate) const MAX_KELVIN: f64 = 2_000.0;

/// Signal against blackbody temperature, in counts.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Curve {
    a_um: f64,
    b_um_k: f64,
    c_counts: f64,
    offset: f64,
    shape: f64,
}

impl Curve {
    /// The Planckian Sakuma–Hattori curve with `a` in µm, `b` in µm·K and `c` in counts; offset 0.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] with the coefficient's name for a value outside its range or not finite.
    pub fn sakuma_hattori(a_um: f64, b_um_k: f64, c_counts: f64) -> Result<Self> {
        let within = |value: f64, low: f64, high: f64, what| {
            if (low..=high).contains(&value) { Ok(()) } else { Err(Error::OutOfRange(what)) }
        };
        within(a_um, 1.0, 100.0, Quantity::CurveA)?;
        within(b_um_k, 0.0, 10_000.0, Quantity::CurveB)?;
        within(c_counts, f64::MIN_POSITIVE, 1e12, Quantity::CurveC)?;
        Ok(Self { a_um, b_um_k, c_counts, offset: 0.0, shape: 1.0 })
    }

    /// The same curve with a signal `offset` in counts.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if it is not finite or beyond ±10⁹ counts.
    pub fn with_offset(self, offset: f64) -> Result<Self> {
        if (-1e9..=1e9).contains(&offset) {
            Ok(Self { offset, ..self })
        } else {
            Err(Error::OutOfRange(Quantity::CurveOffset))
        }
    }

    /// The same curve with another `shape`; a fit parameter, near 1 on wide ranges and up to about 2 on short ones.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if it is not above −1 and at most 10.
    pub fn with_shape(self, shape: f64) -> Result<Self> {
        if shape > -1.0 && shape <= 10.0 {
            Ok(Self { shape, ..self })
        } else {
            Err(Error::OutOfRange(Quantity::CurveShape))
        }
    }

    /// The band-neutral curve used where a recording holds temperatures, not counts: the 8–14 µm flat band,
    /// −20…650 °C minimax coefficients (computed, radiometry notes 2.3), in W/(m²·sr).
    #[must_use]
    pub const fn nominal_longwave() -> Self {
        Self { a_um: 9.370_228, b_um_k: 172.869_2, c_counts: 6_766.88, offset: 0.0, shape: 1.0 }
    }

    /// Coefficient A in µm.
    #[must_use]
    pub const fn a_um(&self) -> f64 {
        self.a_um
    }

    /// Coefficient B in µm·K.
    #[must_use]
    pub const fn b_um_k(&self) -> f64 {
        self.b_um_k
    }

    /// Coefficient C in counts.
    #[must_use]
    pub const fn c_counts(&self) -> f64 {
        self.c_counts
    }

    /// Offset in counts.
    #[must_use]
    pub const fn offset(&self) -> f64 {
        self.offset
    }

    /// Shape, no unit.
    #[must_use]
    pub const fn shape(&self) -> f64 {
        self.shape
    }

    /// Signal in counts of a blackbody at `kelvin`.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] outside 0…2,000 K; [`Error::NoTemperature`] where the curve has no finite positive signal.
    pub fn signal(&self, kelvin: f64) -> Result<f64> {
        let exponential = libm::exp(self.exponent(kelvin)?);
        let divisor = exponential - self.shape;
        if divisor > 0.0 { Ok(self.offset + self.c_counts / divisor) } else { Err(Error::NoTemperature) }
    }

    /// Slope dS/dT in counts per kelvin at `kelvin`.
    ///
    /// # Errors
    /// As [`Curve::signal`].
    pub fn slope(&self, kelvin: f64) -> Result<f64> {
        let exponent = self.exponent(kelvin)?;
        let above = self.signal(kelvin)? - self.offset;
        let argument = self.a_um * kelvin + self.b_um_k;
        // (S−s0)²·exp(x)/C = (S−s0)·(1 + shape·(S−s0)/C): finite where exp(x) alone would overflow.
        let slope = above * (1.0 + self.shape * above / self.c_counts) * exponent * self.a_um / argument;
        if slope > 0.0 { Ok(slope) } else { Err(Error::NoTemperature) }
    }

    /// Blackbody temperature in kelvin that gives `signal` counts; the inverse of [`Curve::signal`].
    ///
    /// # Errors
    /// [`Error::NoTemperature`] if no temperature from 0 to 2,000 K gives this signal, or it is not finite.
    pub fn temperature(&self, signal: f64) -> Result<f64> {
        let above = signal - self.offset;
        if above > 0.0 {
            let argument = self.c_counts / above + self.shape;
            if argument > 1.0 {
                let kelvin = (C2_UM_K / libm::log(argument) - self.b_um_k) / self.a_um;
                if kelvin > 0.0 && kelvin <= MAX_KELVIN {
                    return Ok(kelvin);
                }
            }
        }
        Err(Error::NoTemperature)
    }

    fn exponent(&self, kelvin: f64) -> Result<f64> {
        if kelvin > 0.0 && kelvin <= MAX_KELVIN {
            Ok(C2_UM_K / (self.a_um * kelvin + self.b_um_k))
        } else {
            Err(Error::OutOfRange(Quantity::Temperature))
        }
    }
}
