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
//! and iteration, at most 100 iterations. *Stack.* Results are built where they are to stand, and there is one
//! triangle: with [`fit_curve_into`] 1 KiB beside the lent [`Fit`] (thumbv7em, from the disassembly).
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
use triangle::{COLUMNS, Triangle};

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
    /// No fit yet: the nominal curve, no points.
    pub const EMPTY: Self = Self {
        model: Model::of(&Curve::nominal_longwave(), Form::Planckian, false),
        curve: Curve::nominal_longwave(),
        covariance: None,
        residuals: Vec::new(),
        chi_square: None,
        degrees_of_freedom: 0,
        range: (0.0, 0.0),
    };

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
        let Model { form, offset_free, .. } = self.model;
        curve_uncertainty(&self.curve, form, offset_free, self.covariance.as_ref()?, kelvin)
    }
}

/// Standard uncertainty, in kelvin, that a calibration adds to an apparent temperature of `kelvin`, from what is kept of
/// a fit: its curve, which coefficients were free, and their covariance in the order of [`Fit::covariance`]. As
/// [`Fit::standard_uncertainty`], bit for bit, for an instrument that holds its calibration and not the points. `None` off
/// the curve, and where the covariance gives no finite number. *Cost.* An exponential, a logarithm and some fifty
/// operations.
#[must_use]
pub fn curve_uncertainty(
    curve: &Curve,
    form: Form,
    offset_free: bool,
    covariance: &[[f64; 4]; 4],
    kelvin: f64,
) -> Option<f64> {
    let gradient = Model::of(curve, form, offset_free).evaluate(curve.signal(kelvin).ok()?)?.gradient;
    let variance: f64 = covariance
        .iter()
        .zip(&gradient)
        .map(|(row, g)| g * row.iter().zip(&gradient).map(|(c, h)| c * h).sum::<f64>())
        .sum();
    variance.is_finite().then(|| libm::sqrt(libm::fmax(variance, 0.0)))
}

/// Fits a curve to calibration points, in any order; average repeated settings of the blackbody first.
///
/// # Errors
/// One of [`FitError`]; see its variants.
pub fn fit_curve(points: &[CalibrationPoint], options: &FitOptions) -> Result<Fit, FitError> {
    let mut fit = Fit::EMPTY;
    fit_curve_into(points, options, &mut fit)?;
    Ok(fit)
}

/// The same with less stack: into memory that is lent, from points as they are kept.
///
/// # Errors
/// As [`fit_curve`]; `fit` is then [`Fit::EMPTY`].
pub fn fit_curve_into<P: Copy + Into<CalibrationPoint>>(
    points: &[P],
    options: &FitOptions,
    fit: &mut Fit,
) -> Result<(), FitError> {
    let done = search(points, options, fit);
    if done.is_err() {
        *fit = Fit::EMPTY;
    }
    done
}

/// All results where they are to stand: what is built elsewhere first would stand on the stack twice.
fn search<P: Copy + Into<CalibrationPoint>>(points: &[P], options: &FitOptions, fit: &mut Fit) -> Result<(), FitError> {
    let Fit { model, residuals, .. } = fit;
    *model = Model::start(points, options)?;
    let free = model.free();
    points::check(points, free, options)?;
    let stated = points::any_stated(points);
    let by_counts = points.iter().any(|&point| point.into().counts_sd > 0.0);
    let (mut triangle, mut squares) = (Triangle::default(), 0.0);
    for _ in 0..if by_counts { WEIGHT_ROUNDS } else { 1 } {
        // Until the residuals are known their memory holds what they are divided by.
        deviations(points, model, stated, residuals)?;
        squares = minimize(model, points, residuals, &mut triangle)?;
    }
    residuals.clear();
    for point in points {
        let point: CalibrationPoint = (*point).into();
        let at = model.evaluate(point.counts).ok_or(FitError::OutsideDomain)?;
        residuals.push(at.kelvin - point.kelvin).map_err(|_| FitError::TooManyPoints)?;
    }
    fit.curve = fit.model.curve().ok_or(FitError::OutsideDomain)?;
    fit.degrees_of_freedom = points.len().saturating_sub(free);
    fit.chi_square = stated.then_some(squares);
    fit.range = span(points);
    let scale = match (stated, fit.degrees_of_freedom) {
        (true, _) => 1.0,
        (false, 0) => {
            fit.covariance = None;
            return Ok(());
        }
        (false, more) => squares / more as f64,
    };
    let covariance = fit.covariance.insert([[0.0; COLUMNS]; COLUMNS]);
    triangle.inverse_square(free, scale, covariance).ok_or(FitError::Singular)
}

/// Lowest and highest temperature of the points.
fn span<P: Copy + Into<CalibrationPoint>>(points: &[P]) -> (f64, f64) {
    points.iter().map(|&point| point.into().kelvin).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), kelvin| {
        (libm::fmin(low, kelvin), libm::fmax(high, kelvin))
    })
}

/// Standard uncertainty of each point in kelvin, into `deviations`: that of its temperature, and that of its counts
/// through the slope of the curve; 1 K for all if none is stated, which weighs them equally.
fn deviations<P: Copy + Into<CalibrationPoint>>(
    points: &[P],
    model: &Model,
    stated: bool,
    deviations: &mut Vec<f64, MAX_POINTS>,
) -> Result<(), FitError> {
    let curve = model.curve().ok_or(FitError::OutsideDomain)?;
    deviations.clear();
    for point in points {
        let point: CalibrationPoint = (*point).into();
        let slope = curve.slope(point.kelvin).map_err(|_| FitError::OutsideDomain)?;
        let deviation = if stated { libm::hypot(point.kelvin_sd, point.counts_sd / slope) } else { 1.0 };
        deviations.push(deviation).map_err(|_| FitError::TooManyPoints)?;
    }
    Ok(())
}
