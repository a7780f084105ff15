//! Fits a [`Curve`] to a blackbody calibration.
//!
//! *What.* 3 to 16 points of temperature and mean counts; the curve minimizes the weighted squares of
//! T(counts) − T(point), in kelvin, because that is the error a user sees: the same error in counts means five times
//! as many kelvin at −20 °C as at 300 °C. *How.* Levenberg–Marquardt with the analytic derivatives and a triangular
//! factor built by rotations (no normal equations, whose condition would be the square), from start values that follow
//! from the spectral band (closed form of Saunders & White 2003; memory, reproduced by radiometry notes 2.1). Three
//! points and three free coefficients are solved exactly. *How close.* With A, B and C free the form follows an
//! 8–14 µm band within 0.0013 K over −20…150 °C and 0.043 K over −20…650 °C; with B = 0, offset and shape free within
//! 0.015 K and 0.27 K (computed, radiometry notes 2.3, smallest possible worst error): prefer the first. Outside the
//! fitted range the error grows fast; see [`Fit::range`]. *Cost.* Some 60 f64 operations and a logarithm per point
//! and iteration, at most 100 iterations; about 2 KiB of stack (thumbv7em, from the disassembly).
//!
//! ```
//! use oddheat_core::radiometry::{CalibrationPoint, FitOptions, SpectralBand, fit_curve};
//!
//! let points = [(253.15, 3_279.5), (296.15, 4_955.8), (373.15, 10_056.6), (423.15, 14_790.4)]
//!     .map(|(kelvin, counts)| CalibrationPoint::new(kelvin, counts).uncertain(0.05, 1.2));
//! let fit = fit_curve(&points, &FitOptions::new(SpectralBand::flat(8.0, 14.0)).with_free_offset()).unwrap();
//! assert!(fit.residuals().iter().all(|kelvin| kelvin.abs() < 1e-9)); // four points, four coefficients
//! assert_eq!(fit.range(), (253.15, 423.15));
//! ```

mod error;
mod least_squares;
mod points;
mod triangle;

use super::Curve;
use heapless::Vec;
use least_squares::{Model, minimize};
use triangle::COLUMNS;

pub use error::FitError;
pub use points::{CalibrationPoint, Form, MAX_POINTS, Offset, SpectralBand, blackbody_settings};

/// Rounds of "weights from the slope of the curve, then fit". The start values give the slope to some percent,
/// so the weights settle in the second; a proposal.
const WEIGHT_ROUNDS: usize = 3;

/// What is fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FitOptions {
    /// Spectral band of sensor and lens; gives the start values only, so ±0.5 µm is enough.
    pub band: SpectralBand,
    /// Signal offset: known, or fitted.
    pub offset: Offset,
    /// Which coefficients carry the shape of the curve.
    pub form: Form,
}

impl FitOptions {
    /// A, B and C free; offset 0; shape 1.
    #[must_use]
    pub const fn new(band: SpectralBand) -> Self {
        Self { band, offset: Offset::Fixed(0.0), form: Form::Planckian }
    }

    /// The same with a known offset in counts.
    #[must_use]
    pub const fn with_offset(self, counts: f64) -> Self {
        Self { offset: Offset::Fixed(counts), ..self }
    }

    /// The same with a fitted offset.
    #[must_use]
    pub const fn with_free_offset(self) -> Self {
        Self { offset: Offset::Free, ..self }
    }

    /// The same with this form.
    #[must_use]
    pub const fn with_form(self, form: Form) -> Self {
        Self { form, ..self }
    }
}

/// A fitted curve and how well it is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    model: Model,
    curve: Curve,
    covariance: Option<[[f64; COLUMNS]; COLUMNS]>,
    residuals: Vec<f64, MAX_POINTS>,
    chi_square: Option<f64>,
    degrees_of_freedom: usize,
    range: (f64, f64),
}

impl Fit {
    /// The curve.
    #[must_use]
    pub const fn curve(&self) -> &Curve {
        &self.curve
    }

    /// Covariance matrix of the coefficients, in the order A (µm), B (µm·K) – or shape, where that is free –, C
    /// (counts), offset (counts); rows and columns of a fixed offset are 0. From the stated standard uncertainties; if
    /// none were stated, from the scatter of the residuals. `None` if there is neither: no uncertainty stated and as
    /// many free coefficients as points. It covers what the points leave open, not the misfit of the form.
    #[must_use]
    pub const fn covariance(&self) -> Option<&[[f64; 4]; 4]> {
        self.covariance.as_ref()
    }

    /// T(counts) − T(point) in kelvin, in the order of the points.
    #[must_use]
    pub fn residuals(&self) -> &[f64] {
        &self.residuals
    }

    /// Sum of the squared residuals, each divided by the standard uncertainty of its point; near
    /// [`Fit::degrees_of_freedom`] if form and uncertainties are right. `None` if no uncertainty was stated.
    #[must_use]
    pub const fn chi_square(&self) -> Option<f64> {
        self.chi_square
    }

    /// Points minus free coefficients.
    #[must_use]
    pub const fn degrees_of_freedom(&self) -> usize {
        self.degrees_of_freedom
    }

    /// Chi-square per degree of freedom; `None` without stated uncertainties or without degrees of freedom.
    #[must_use]
    pub fn reduced_chi_square(&self) -> Option<f64> {
        let chi_square = self.chi_square?;
        (self.degrees_of_freedom > 0).then(|| chi_square / self.degrees_of_freedom as f64)
    }

    /// Lowest and highest temperature of the points in kelvin: the range the curve is good for. Beyond it the error of
    /// the form grows: a fit over −20…150 °C is 0.1 K off at 400 °C and 0.6 K at 650 °C (computed, radiometry notes
    /// 2.3), apart from what the uncertainty of the points adds.
    #[must_use]
    pub const fn range(&self) -> (f64, f64) {
        self.range
    }

    /// Standard uncertainty, in kelvin, that the calibration adds to an apparent temperature of `kelvin`: the
    /// coefficients' covariance carried through the curve (JCGM 100, 5.2.2). `None` without a covariance or off the
    /// curve.
    #[must_use]
    pub fn standard_uncertainty(&self, kelvin: f64) -> Option<f64> {
        let covariance = self.covariance.as_ref()?;
        let gradient = self.model.evaluate(self.curve.signal(kelvin).ok()?)?.gradient;
        let variance: f64 = covariance
            .iter()
            .zip(&gradient)
            .map(|(row, g)| g * row.iter().zip(&gradient).map(|(c, h)| c * h).sum::<f64>())
            .sum();
        Some(libm::sqrt(libm::fmax(variance, 0.0)))
    }
}

/// Fits a curve to calibration points, in any order; average repeated settings of the blackbody first.
///
/// # Errors
/// One of [`FitError`]; see its variants.
pub fn fit_curve(points: &[CalibrationPoint], options: &FitOptions) -> Result<Fit, FitError> {
    let mut model = Model::start(points, options)?;
    let free = model.free();
    points::check(points, free, options)?;
    let stated = points.iter().any(|p| p.kelvin_sd > 0.0 || p.counts_sd > 0.0);
    let rounds = if points.iter().any(|p| p.counts_sd > 0.0) { WEIGHT_ROUNDS } else { 1 };
    let mut solution = None;
    for _ in 0..rounds {
        let deviations = deviations(points, &model, stated)?;
        let round = minimize(&model, points, &deviations)?;
        model = round.model;
        solution = Some(round);
    }
    let solution = solution.ok_or(FitError::DidNotConverge)?;
    let degrees_of_freedom = points.len().saturating_sub(free);
    let scale = match (stated, degrees_of_freedom) {
        (true, _) => Some(1.0),
        (false, 0) => None,
        (false, more) => Some(solution.squares / more as f64),
    };
    let covariance = match scale {
        Some(scale) => Some(solution.triangle.inverse_square(free, scale).ok_or(FitError::Singular)?),
        None => None,
    };
    let mut residuals = Vec::new();
    for point in points {
        let at = model.evaluate(point.counts).ok_or(FitError::OutsideDomain)?;
        residuals.push(at.kelvin - point.kelvin).map_err(|_| FitError::TooManyPoints)?;
    }
    Ok(Fit {
        curve: model.curve().ok_or(FitError::OutsideDomain)?,
        covariance,
        residuals,
        chi_square: stated.then_some(solution.squares),
        degrees_of_freedom,
        range: span(points),
        model,
    })
}

/// Lowest and highest temperature of the points.
fn span(points: &[CalibrationPoint]) -> (f64, f64) {
    let wider = |(low, high): (f64, f64), p: &CalibrationPoint| (libm::fmin(low, p.kelvin), libm::fmax(high, p.kelvin));
    points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), wider)
}

/// Standard uncertainty of each point in kelvin: that of its temperature, and that of its counts through the slope of
/// the curve; 1 K for all if none is stated, which weighs them equally.
fn deviations(points: &[CalibrationPoint], model: &Model, stated: bool) -> Result<Vec<f64, MAX_POINTS>, FitError> {
    let curve = model.curve().ok_or(FitError::OutsideDomain)?;
    let mut deviations = Vec::new();
    for point in points {
        let slope = curve.slope(point.kelvin).map_err(|_| FitError::OutsideDomain)?;
        let deviation = if stated { libm::hypot(point.kelvin_sd, point.counts_sd / slope) } else { 1.0 };
        deviations.push(deviation).map_err(|_| FitError::TooManyPoints)?;
    }
    Ok(deviations)
}
