//! Quantities: fixed-point kelvin, and the constants of the radiation laws.
//!
//! *What.* [`Kelvin`] is an absolute temperature and [`Delta`] a temperature difference or an uncertainty; both are
//! `I16F16`, so one step is 15 µK and the range ±32,768 K. [`RowKelvin`] is the 16-bit form of whole converted rows
//! (`U11F5`: 31.25 mK steps, 0–2,048 K). *Why two types.* 20 °C is 293.15 K, a difference of 20 °C is 20 K: the
//! compiler keeps them apart. *Arithmetic* saturates and never panics.

use fixed::types::{I16F16, U11F5};

/// Second radiation constant c2 = h·c/k in µm·K. Exact in the SI since 2019 (CODATA 2018); digits: computed, see
/// `tests/reference/radiometry.rs`.
pub const C2_UM_K: f64 = 14_387.768_775_039_337;

/// The ice point, 0 °C in kelvin. Exact by definition.
pub const ICE_POINT_K: f64 = 273.15;

/// Root of the sum of two squares: independent standard uncertainties combined (JCGM 100, 5.1.2).
///
/// Squares of uncertainties and kelvins neither overflow nor vanish, so the splitting that makes `hypot` exact at the ends
/// of its range would only be bytes.
#[inline(never)]
#[allow(clippy::float_arithmetic, reason = "closing arithmetic")]
pub(crate) fn root_sum_square(a: f64, b: f64) -> f64 {
    libm::sqrt(a * a + b * b)
}

/// Pixel of a converted row: kelvin in steps of 1/32 K. 0 means "no temperature: below range", the largest value
/// "no temperature: above range"; see [`crate::radiometry::TableOf::kelvin_row`].
pub type RowKelvin = U11F5;

/// An absolute temperature in kelvin. Range 0 to 32,767 K in use, resolution 15 µK.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Kelvin(pub I16F16);

/// A temperature difference or an uncertainty in kelvin. Range ±32,768 K, resolution 15 µK.
#[repr(transparent)]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Delta(pub I16F16);

/// Temperature in kelvin from degrees Celsius; NaN becomes 0 K and large values saturate. Set-up only.
#[must_use]
pub fn celsius(degrees: f64) -> Kelvin {
    Kelvin::from_f64(degrees + ICE_POINT_K)
}

/// Round-to-nearest `I16F16` from a float; saturates, and NaN becomes 0. Set-up and closing arithmetic only.
#[inline(never)]
pub(crate) fn i16f16(value: f64) -> I16F16 {
    // A saturating `as` cast: NaN becomes 0, infinities the ends of the range.
    I16F16::from_bits(libm::round(value * 65_536.0) as i32)
}

impl Kelvin {
    /// From kelvin; NaN becomes 0 K and large values saturate. Set-up and closing arithmetic only.
    #[must_use]
    pub fn from_f64(kelvin: f64) -> Self {
        Self(i16f16(kelvin))
    }

    /// As kelvin, exact.
    #[must_use]
    pub fn to_f64(self) -> f64 {
        f64::from(self.0.to_bits()) / 65_536.0
    }

    /// As degrees Celsius.
    #[must_use]
    pub fn to_celsius(self) -> f64 {
        self.to_f64() - ICE_POINT_K
    }

    /// Nearest millikelvin, ties away from zero. Integer only.
    #[must_use]
    pub const fn millikelvin(self) -> i32 {
        thousandths(self.0.to_bits())
    }

    /// Difference `self − other`, saturating.
    #[must_use]
    pub const fn minus(self, other: Self) -> Delta {
        Delta(self.0.saturating_sub(other.0))
    }

    /// Sum with a difference, saturating.
    #[must_use]
    pub const fn plus(self, delta: Delta) -> Self {
        Self(self.0.saturating_add(delta.0))
    }
}

impl Delta {
    /// From kelvin; NaN becomes 0 and large values saturate. Set-up and closing arithmetic only.
    #[must_use]
    pub fn from_f64(kelvin: f64) -> Self {
        Self(i16f16(kelvin))
    }

    /// As kelvin, exact.
    #[must_use]
    pub fn to_f64(self) -> f64 {
        f64::from(self.0.to_bits()) / 65_536.0
    }

    /// Nearest millikelvin, ties away from zero. Integer only.
    #[must_use]
    pub const fn millikelvin(self) -> i32 {
        thousandths(self.0.to_bits())
    }
}

/// Q16.16 to thousandths, nearest, ties away from zero.
///
/// *Scaling and overflow*: |bits| ≤ 2³¹, so the product fits in 42 bits of the `i64` and the result in 26.
pub(crate) const fn thousandths(q16_16: i32) -> i32 {
    let product = q16_16 as i64 * 1000;
    let half = if product < 0 { -32_768 } else { 32_768 };
    ((product + half) / 65_536) as i32
}

#[cfg(feature = "defmt")]
impl defmt::Format for Kelvin {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(f, "{} mK", self.millikelvin());
    }
}

#[cfg(feature = "defmt")]
impl defmt::Format for Delta {
    fn format(&self, f: defmt::Formatter<'_>) {
        defmt::write!(f, "{} mK", self.millikelvin());
    }
}

/// A positive power of a number of 0 or more, to some 1e-15; set-up and closing arithmetic only. Not `libm::pow`, which is
/// 2.7 KB of flash where an exponential and a logarithm are linked already.
pub(crate) fn power(base: f64, exponent: f64) -> f64 {
    libm::exp(exponent * libm::log(base))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn celsius_is_offset_by_the_ice_point() {
        assert_eq!(celsius(0.0).millikelvin(), 273_150);
        assert_eq!(celsius(-273.15).millikelvin(), 0);
        assert_eq!(celsius(f64::NAN).millikelvin(), 0);
        assert_eq!(celsius(1e9).0, I16F16::MAX);
    }

    proptest! {
        #[test]
        fn millikelvin_is_the_nearest_thousandth(bits in any::<i32>()) {
            let exact = f64::from(bits) * 1000.0 / 65_536.0;
            prop_assert!((f64::from(thousandths(bits)) - exact).abs() <= 0.5);
        }

        #[test]
        fn differences_undo_sums(a in 0i32..2_000_000, d in -1_000_000i32..1_000_000) {
            let (a, d) = (Kelvin(I16F16::from_bits(a * 60)), Delta(I16F16::from_bits(d * 60)));
            prop_assert_eq!(a.plus(d).minus(a), d);
        }
    }
}
