//! What an operator measures before measuring: emissivity, reflected apparent temperature, spot size.
//!
//! *What.* The procedures of ASTM E1933 (emissivity; memory) and ASTM E1862 (reflected apparent temperature; read,
//! abstract and definitions), each with its uncertainty by first-order propagation (JCGM 100, 5.1.2). *Readings* are
//! apparent temperatures: taken with emissivity and transmittance set to 1, at close range. They are turned into
//! signals of the sensor's own scale, because emissivity mixes signals, not temperatures: with T⁴ the worked example of
//! radiometry notes 3.2 gives 0.540 instead of 0.559. *Safety.* Tape, foil and contact probes go on parts that are cold,
//! stopped and free of voltage, never on friction faces or belts, and never on surfaces hotter than the tape is rated
//! for (vehicle notes 1.2); work on energized parts belongs to licensed people under local rules. *Cost.* A few
//! exponentials in f64.

use super::curve::MAX_KELVIN;
use super::{Emissivity, Scale};

/// Least difference in K between object and reflected apparent temperature for an emissivity measurement (memory: both
/// standards ask for some 10 to 20 K; below, the result is mostly noise).
pub const MIN_CONTRAST_K: f64 = 10.0;

/// A value with its standard uncertainty, in the same unit.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty, 0 to 2,000.
    pub uncertainty: f64,
}

impl Estimate {
    /// A value with its standard uncertainty.
    #[must_use]
    pub const fn new(value: f64, uncertainty: f64) -> Self {
        Self { value, uncertainty }
    }

    /// Mean of repeated readings with the standard uncertainty of the mean (JCGM 100, 4.2.3); `None` below two.
    #[must_use]
    pub fn mean_of(readings: &[f64]) -> Option<Self> {
        let count = readings.len() as f64;
        let mean = readings.iter().sum::<f64>() / count;
        let squares: f64 = readings.iter().map(|r| (r - mean) * (r - mean)).sum();
        (readings.len() > 1).then(|| Self::new(mean, libm::sqrt(squares / (count * (count - 1.0)))))
    }
}

/// Why a procedure gave no result.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum PracticeError {
    /// A temperature is off the scale, an uncertainty negative or above 2,000, or an emissivity not above 0 and at most
    /// 1.
    OutsideDomain,
    /// Object and reflected apparent temperature differ by less than [`MIN_CONTRAST_K`]: heat the part.
    TooLittleContrast,
    /// The readings contradict each other: the emissivity is not above 0, or above 1 by more than its expanded
    /// uncertainty (k = 2).
    Contradiction,
}

impl core::fmt::Display for PracticeError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::OutsideDomain => "a reading or emissivity is outside its range",
            Self::TooLittleContrast => "the part must differ by 10 K or more from what it reflects",
            Self::Contradiction => "the readings contradict each other",
        })
    }
}

impl core::error::Error for PracticeError {}

/// Emissivity of a surface from a patch of known emissivity at the same temperature, on or beside it.
///
/// `surface` and `patch` are their apparent temperatures, `reflected` the reflected apparent temperature, all in K;
/// ε = ε_patch·(S_surface − S_reflected)/(S_patch − S_reflected). The result can be up to 1; a value above 1 by no more
/// than twice its uncertainty is reported as 1.
///
/// # Errors
/// [`PracticeError`].
pub fn emissivity_by_patch(
    scale: &Scale,
    patch_emissivity: Estimate,
    patch: Estimate,
    surface: Estimate,
    reflected: Estimate,
) -> Result<Estimate, PracticeError> {
    if Emissivity::new(patch_emissivity.value).is_err() {
        return Err(PracticeError::OutsideDomain);
    }
    let ([patch, by_patch], [surface, by_surface], [reflected_signal, by_reflected]) =
        (seen(scale, patch)?, seen(scale, surface)?, seen(scale, reflected)?);
    let contrast = patch - reflected_signal;
    let object = scale.of_signal(reflected_signal + contrast / patch_emissivity.value);
    let object = object.map_err(|_| PracticeError::OutsideDomain)?;
    if libm::fabs(object - reflected.value) < MIN_CONTRAST_K {
        return Err(PracticeError::TooLittleContrast);
    }
    let per_signal = patch_emissivity.value / contrast;
    let value = per_signal * (surface - reflected_signal);
    let uncertainty = combined([
        value / patch_emissivity.value * checked(patch_emissivity.uncertainty)?,
        per_signal * by_surface,
        value / contrast * by_patch,
        (value - patch_emissivity.value) / contrast * by_reflected,
    ]);
    if !(value > 0.0 && value <= 1.0 + 2.0 * uncertainty) {
        return Err(PracticeError::Contradiction);
    }
    Ok(Estimate::new(libm::fmin(value, 1.0), uncertainty))
}

/// Emissivity of a surface from its temperature by a contact thermometer, `contact` in K; otherwise as
/// [`emissivity_by_patch`]. A probe on a surface reads low on metal sheet and high in its own shade: its uncertainty
/// includes the contact.
///
/// # Errors
/// [`PracticeError`].
pub fn emissivity_by_contact(
    scale: &Scale,
    contact: Estimate,
    surface: Estimate,
    reflected: Estimate,
) -> Result<Estimate, PracticeError> {
    // A patch that shows its true temperature is one of emissivity 1.
    emissivity_by_patch(scale, Estimate::new(1.0, 0.0), contact, surface, reflected)
}

/// Reflected apparent temperature in K by the reflector method: the mean apparent temperature of a crumpled and
/// flattened foil in front of the part, corrected for what the foil itself emits at its own temperature.
///
/// `foil_emissivity` is below 0.5; aluminum foil has about 0.05 ± 0.02 (read: polished aluminum 0.03 to 0.08, radiometry
/// notes 4). `foil` is the foil's own temperature, usually the air's.
///
/// # Errors
/// [`PracticeError::OutsideDomain`].
pub fn reflected_by_foil(
    scale: &Scale,
    reading: Estimate,
    foil_emissivity: Estimate,
    foil: Estimate,
) -> Result<Estimate, PracticeError> {
    let e = foil_emissivity.value;
    if !(0.0..0.5).contains(&e) {
        return Err(PracticeError::OutsideDomain);
    }
    let ([read, by_reading], [emitted, by_foil]) = (seen(scale, reading)?, seen(scale, foil)?);
    let signal = (read - e * emitted) / (1.0 - e);
    let value = scale.of_signal(signal).map_err(|_| PracticeError::OutsideDomain)?;
    let slope = scale.signal_slope(value).map_err(|_| PracticeError::OutsideDomain)?;
    let uncertainty = combined([by_reading, (signal - emitted) * checked(foil_emissivity.uncertainty)?, e * by_foil]);
    let uncertainty = uncertainty / ((1.0 - e) * slope);
    // Far in the cold a count is worth more kelvin than there are numbers.
    if uncertainty.is_finite() { Ok(Estimate::new(value, uncertainty)) } else { Err(PracticeError::OutsideDomain) }
}

/// What a surface's emissivity allows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum EmissivityGate {
    /// A temperature may be reported.
    Usable,
    /// A temperature may be reported with a warning: at ε = 0.5 one degree of error in the reflected temperature is
    /// 0.56 K at 100 °C, and one hundredth in ε is 1.25 K (computed, radiometry notes 3.2).
    Low,
    /// No temperature is reported: at ε = 0.3 the same errors make 1.31 K and 2.09 K, and ε itself is rarely known
    /// within a tenth on such a surface. Put on a patch of known emissivity, or aim at a cavity or a painted neighbor.
    NoTemperature,
}

impl EmissivityGate {
    /// The gate of an emissivity: warning below 0.5 (radiometry notes 4; proposal), no temperature at 0.3 and below
    /// (vehicle notes 1.2; proposal).
    #[must_use]
    pub fn of(emissivity: Emissivity) -> Self {
        let value = emissivity.get();
        if value <= 0.3 {
            Self::NoTemperature
        } else if value < 0.5 {
            Self::Low
        } else {
            Self::Usable
        }
    }
}

/// What a spot of the object means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SpotVerdict {
    /// The object covers three by three pixels or more: its temperature is measured.
    Measured,
    /// It is smaller: it may show, but what is read is a mixture with its surroundings.
    DetectedNotMeasured,
}

/// Size in mm of what one pixel sees at `distance_m`, for an instantaneous field of view of `ifov_mrad`.
#[must_use]
pub fn pixel_spot_mm(distance_m: f64, ifov_mrad: f64) -> f64 {
    distance_m * ifov_mrad
}

/// Whether an object `size_mm` across is measured at `distance_m`: it must be three pixels wide (read, radiometry notes
/// 6: measurement resolution is about three times the field of view of one pixel). Anything not positive and finite is
/// not measured.
#[must_use]
pub fn spot_verdict(size_mm: f64, distance_m: f64, ifov_mrad: f64) -> SpotVerdict {
    let pixel = pixel_spot_mm(distance_m, ifov_mrad);
    if pixel > 0.0 && pixel.is_finite() && size_mm >= 3.0 * pixel {
        SpotVerdict::Measured
    } else {
        SpotVerdict::DetectedNotMeasured
    }
}

/// Signal of an apparent temperature, and its standard uncertainty in signal.
fn seen(scale: &Scale, apparent: Estimate) -> Result<[f64; 2], PracticeError> {
    let signal = scale.signal(apparent.value).map_err(|_| PracticeError::OutsideDomain)?;
    let slope = scale.signal_slope(apparent.value).map_err(|_| PracticeError::OutsideDomain)?;
    Ok([signal, slope * checked(apparent.uncertainty)?])
}

/// An uncertainty that is one: not wider than the range of temperatures, so that its square is a number (derived).
fn checked(uncertainty: f64) -> Result<f64, PracticeError> {
    if (0.0..=MAX_KELVIN).contains(&uncertainty) { Ok(uncertainty) } else { Err(PracticeError::OutsideDomain) }
}

/// Root of the sum of squares of independent contributions.
fn combined<const N: usize>(parts: [f64; N]) -> f64 {
    libm::sqrt(parts.iter().map(|part| part * part).sum())
}
