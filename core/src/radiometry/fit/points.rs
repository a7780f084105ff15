//! What goes into a fit.

use super::{FitError, FitOptions};
use crate::radiometry::curve::MAX_KELVIN;
use crate::units::C2_UM_K;

/// Most points a fit takes. A proposal: blackbody calibrations have 3 to 10.
pub const MAX_POINTS: usize = 16;

/// One setting of the blackbody.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CalibrationPoint {
    /// Radiance temperature of the blackbody in K, corrected for its emissivity; above 0, at most 2,000.
    pub kelvin: f64,
    /// Mean counts.
    pub counts: f64,
    /// Standard uncertainty of the temperature in K; 0 if not stated.
    pub kelvin_sd: f64,
    /// Standard uncertainty of the mean counts; 0 if not stated.
    pub counts_sd: f64,
}

impl CalibrationPoint {
    /// A point without stated uncertainty.
    #[must_use]
    pub const fn new(kelvin: f64, counts: f64) -> Self {
        Self { kelvin, counts, kelvin_sd: 0.0, counts_sd: 0.0 }
    }

    /// The same with standard uncertainties of its temperature (K) and of its mean counts. State them for all points or
    /// for none: beside others a point without uncertainty would outweigh everything.
    #[must_use]
    pub const fn uncertain(self, kelvin_sd: f64, counts_sd: f64) -> Self {
        Self { kelvin_sd, counts_sd, ..self }
    }
}

/// Where to set a blackbody for a curve from `low` to `high` K, and how long to measure there, in relative time: four
/// settings at Chebyshev's extrema in √T, the inner two measured twice as long. The error of the form waves evenly in
/// √T, so these four leave a worst error within an eighth of the smallest possible one – less than 16 evenly weighted
/// settings do (computed, `docs/accuracy.md`). More settings reveal mistakes and average noise.
#[must_use]
pub fn blackbody_settings(low_kelvin: f64, high_kelvin: f64) -> [(f64, f64); 4] {
    let (low, high) = (libm::sqrt(low_kelvin), libm::sqrt(high_kelvin));
    // −cos(k·π/3) = −1, −1/2, 1/2, 1.
    let at = |share: f64| (low + (high - low) * share) * (low + (high - low) * share);
    [(low_kelvin, 1.0), (at(0.25), 2.0), (at(0.75), 2.0), (high_kelvin, 1.0)]
}

/// A spectral band by its mean wavelength and the standard deviation of its responsivity about that mean.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SpectralBand {
    /// Mean wavelength in µm.
    pub mean_um: f64,
    /// Standard deviation in µm; for a flat band its width over √12.
    pub deviation_um: f64,
}

impl SpectralBand {
    /// A band of constant responsivity between two wavelengths in µm.
    #[must_use]
    pub fn flat(from_um: f64, to_um: f64) -> Self {
        // Variance of a uniform distribution: width²/12.
        Self { mean_um: (from_um + to_um) / 2.0, deviation_um: libm::fabs(to_um - from_um) / libm::sqrt(12.0) }
    }

    /// A in µm and B in µm·K of the band: A = λ(1 − 6w²/λ²), B = (c2/2)·w²/λ² (Saunders & White, Metrologia 2003;
    /// memory; gives the published pair 9.36 and 178 for 8–14 µm, radiometry notes 2.1).
    pub(super) fn start(self) -> Option<(f64, f64)> {
        let squared = (self.deviation_um / self.mean_um) * (self.deviation_um / self.mean_um);
        let a = self.mean_um * (1.0 - 6.0 * squared);
        let in_range = (1.0..=100.0).contains(&self.mean_um) && self.deviation_um >= 0.0 && (1.0..=100.0).contains(&a);
        in_range.then_some((a, C2_UM_K / 2.0 * squared))
    }
}

/// Signal offset of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Offset {
    /// Known, in counts: dark level, or 0 where it is subtracted already.
    Fixed(f64),
    /// Fitted. One coefficient more, so at least four points.
    Free,
}

/// Which coefficients carry the shape of the curve.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Form {
    /// A, B and C free, shape 1: the Planckian Sakuma–Hattori form; about ten times closer than the other.
    Planckian,
    /// A, C and shape free, B = 0; with a free offset the common four-parameter form.
    FreeShape,
}

/// Refuses what no fit can use.
pub(super) fn check<P: Copy + Into<CalibrationPoint>>(
    points: &[P],
    free: usize,
    options: &FitOptions,
) -> Result<(), FitError> {
    if points.len() < free {
        return Err(FitError::TooFewPoints);
    }
    if points.len() > MAX_POINTS {
        return Err(FitError::TooManyPoints);
    }
    let all = || points.iter().map(|&point| -> CalibrationPoint { point.into() });
    let any_stated = any_stated(points);
    let floor = if let Offset::Fixed(counts) = options.offset { counts } else { f64::MIN };
    for point in all() {
        let sound = point.kelvin > 0.0
            && point.kelvin <= MAX_KELVIN
            && point.counts > floor
            && point.counts.is_finite()
            && (0.0..f64::INFINITY).contains(&point.kelvin_sd)
            && (0.0..f64::INFINITY).contains(&point.counts_sd)
            && stated(&point) == any_stated;
        if !sound {
            return Err(FitError::OutsideDomain);
        }
    }
    let rises = |a: CalibrationPoint, b: CalibrationPoint| {
        if a.kelvin < b.kelvin { a.counts < b.counts } else { a.kelvin > b.kelvin && a.counts > b.counts }
    };
    for (index, first) in all().enumerate() {
        if !all().skip(index + 1).all(|other| rises(first, other)) {
            return Err(FitError::NotMonotonic);
        }
    }
    Ok(())
}

fn stated(point: &CalibrationPoint) -> bool {
    point.kelvin_sd > 0.0 || point.counts_sd > 0.0
}

/// Whether some point states an uncertainty.
pub(super) fn any_stated<P: Copy + Into<CalibrationPoint>>(points: &[P]) -> bool {
    points.iter().any(|&point| stated(&point.into()))
}
