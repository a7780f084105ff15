//! The curve as a function of its coefficients, and the search for the best ones.

use super::triangle::{COLUMNS, Row, Triangle};
use super::{CalibrationPoint, FitError, FitOptions, Form, Offset};
use crate::radiometry::Curve;
use crate::units::C2_UM_K;

/// Iterations at most. A proposal: good data take about ten.
const ITERATIONS: usize = 100;

/// The search ends when no step can lower the residuals by more than this, K. A proposal: a hundred times the rounding
/// of T in f64, a hundredth of the 1e-9 K promised for exact solutions.
const CONVERGED_KELVIN: f64 = 1e-11;

/// Damping: first value, factor per success or failure, and where the search gives up (Marquardt 1963; memory).
const DAMPING: (f64, f64, f64) = (1e-3, 10.0, 1e12);

/// Coefficients of the curve with the choice which of them are free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Model {
    pub(super) form: Form,
    pub(super) offset_free: bool,
    a: f64,
    /// B, or the shape.
    bend: f64,
    c: f64,
    offset: f64,
}

/// Temperature of a signal, and its derivatives by A, B or shape, C and offset.
pub(super) struct Evaluated {
    pub(super) kelvin: f64,
    pub(super) gradient: [f64; COLUMNS],
}

impl Model {
    /// A curve with the choice which of its coefficients were free.
    pub(super) const fn of(curve: &Curve, form: Form, offset_free: bool) -> Self {
        let bend = match form {
            Form::Planckian => curve.b_um_k(),
            Form::FreeShape => curve.shape(),
        };
        Self { form, offset_free, a: curve.a_um(), bend, c: curve.c_counts(), offset: curve.offset() }
    }

    /// A and B from the band; C, and the offset if free, from the coldest and the hottest point.
    pub(super) fn start<P: Copy + Into<CalibrationPoint>>(
        points: &[P],
        options: &FitOptions,
    ) -> Result<Self, FitError> {
        let (a, b) = options.band.start().ok_or(FitError::OutsideDomain)?;
        let all = || points.iter().map(|&point| -> CalibrationPoint { point.into() });
        let by_kelvin = |x: &CalibrationPoint, y: &CalibrationPoint| x.kelvin.total_cmp(&y.kelvin);
        let (Some(cold), Some(hot)) = (all().min_by(by_kelvin), all().max_by(by_kelvin)) else {
            return Err(FitError::TooFewPoints);
        };
        let (a, bend, shape) = match options.form {
            Form::Planckian => (a, b, 1.0),
            // The same exponent in the middle of the range.
            Form::FreeShape => (a + 2.0 * b / (cold.kelvin + hot.kelvin), 1.0, 1.0),
        };
        let b = if options.form == Form::Planckian { bend } else { 0.0 };
        let unit = |kelvin: f64| 1.0 / (libm::exp(C2_UM_K / (a * kelvin + b)) - shape);
        let (c, offset) = match options.offset {
            Offset::Fixed(counts) => ((hot.counts - counts) / unit(hot.kelvin), counts),
            Offset::Free => {
                let c = (hot.counts - cold.counts) / (unit(hot.kelvin) - unit(cold.kelvin));
                (c, cold.counts - c * unit(cold.kelvin))
            }
        };
        Ok(Self { form: options.form, offset_free: options.offset == Offset::Free, a, bend, c, offset })
    }

    /// Number of free coefficients.
    pub(super) const fn free(&self) -> usize {
        if self.offset_free { COLUMNS } else { COLUMNS - 1 }
    }

    const fn b_and_shape(&self) -> (f64, f64) {
        match self.form {
            Form::Planckian => (self.bend, 1.0),
            Form::FreeShape => (0.0, self.bend),
        }
    }

    /// The curve, if every coefficient is in its range.
    pub(super) fn curve(&self) -> Option<Curve> {
        let (b, shape) = self.b_and_shape();
        Curve::sakuma_hattori(self.a, b, self.c).ok()?.with_offset(self.offset).ok()?.with_shape(shape).ok()
    }

    /// T = (c2/L − B)/A with L = ln(C/y + shape), y = counts − offset, and its derivatives; `None` off the curve.
    pub(super) fn evaluate(&self, counts: f64) -> Option<Evaluated> {
        let (b, shape) = self.b_and_shape();
        let y = counts - self.offset;
        let argument = self.c / y + shape;
        if !(y > 0.0 && argument > 1.0) {
            return None;
        }
        let log = libm::log(argument);
        let kelvin = (C2_UM_K / log - b) / self.a;
        let by_log = -C2_UM_K / (self.a * log * log);
        let by_bend = match self.form {
            Form::Planckian => -1.0 / self.a,
            Form::FreeShape => by_log / argument,
        };
        let by_offset = if self.offset_free { by_log * self.c / (y * y * argument) } else { 0.0 };
        let gradient = [-kelvin / self.a, by_bend, by_log / (y * argument), by_offset];
        kelvin.is_finite().then_some(Evaluated { kelvin, gradient })
    }

    fn stepped(&self, [a, bend, c, offset]: [f64; COLUMNS]) -> Self {
        Self { a: self.a + a, bend: self.bend + bend, c: self.c + c, offset: self.offset + offset, ..*self }
    }

    /// Sum of the squared residuals over `deviations`, and the rows behind it into `triangle`; `None`, and some of the
    /// rows, where a point is off the curve or a coefficient out of range.
    fn linearize<P: Copy + Into<CalibrationPoint>>(
        &self,
        points: &[P],
        deviations: &[f64],
        triangle: &mut Triangle,
    ) -> Option<f64> {
        triangle.clear();
        self.curve()?;
        let mut squares = 0.0;
        for (point, deviation) in points.iter().zip(deviations) {
            let point: CalibrationPoint = (*point).into();
            let Evaluated { kelvin, gradient: [a, bend, c, offset] } = self.evaluate(point.counts)?;
            let mut row: Row = [a, bend, c, offset, point.kelvin - kelvin].map(|value| value / deviation);
            let [.., residual] = row;
            squares += residual * residual;
            triangle.push(&mut row);
        }
        Some(squares)
    }
}

/// Levenberg–Marquardt from `model`, which becomes the best; `deviations` are standard uncertainties of the points in
/// kelvin. Returns the sum of the squared residuals over them and leaves the derivatives over them in `triangle`.
///
/// There is one triangle for all: a refused step builds that of the last good model again, which costs time where the
/// search goes astray and nothing else.
pub(super) fn minimize<P: Copy + Into<CalibrationPoint>>(
    model: &mut Model,
    points: &[P],
    deviations: &[f64],
    triangle: &mut Triangle,
) -> Result<f64, FitError> {
    let free = model.free();
    // Residuals count in units of the deviations; what a kelvin weighs at most sets the scale of the end.
    let converged = CONVERGED_KELVIN / deviations.iter().copied().fold(f64::INFINITY, libm::fmin);
    let mut squares = model.linearize(points, deviations, triangle).ok_or(FitError::OutsideDomain)?;
    let (mut lambda, factor, give_up) = DAMPING;
    for _ in 0..ITERATIONS {
        if triangle.removable(free) <= converged {
            return if triangle.is_singular(free) { Err(FitError::Singular) } else { Ok(squares) };
        }
        triangle.damp(free, lambda);
        let next = triangle.solve(free).map(|step| model.stepped(step));
        let tried = next.and_then(|next| next.linearize(points, deviations, triangle).map(|found| (next, found)));
        match tried {
            // At the end the residuals change by rounding only, which must not count as failure.
            Some((next, lower)) if libm::sqrt(lower) <= libm::sqrt(squares) + converged => {
                (*model, squares) = (next, lower);
                lambda /= factor;
            }
            _ => {
                // Was possible before, and nothing has changed.
                model.linearize(points, deviations, triangle).ok_or(FitError::OutsideDomain)?;
                lambda *= factor;
            }
        }
        if lambda > give_up {
            break;
        }
    }
    Err(if triangle.is_singular(free) { FitError::Singular } else { FitError::DidNotConverge })
}
