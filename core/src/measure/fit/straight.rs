//! The straight line by least squares.

use super::{Estimate, Fit, Undetermined, counted, variance};

/// value = `level` + `slope`·(place − `center`); level and slope are independent of each other.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Line {
    /// Mean of the places.
    pub center: f64,
    /// Value at the center.
    pub level: Estimate,
    /// Slope, value per place.
    pub slope: Estimate,
    /// Sum of squared residuals.
    pub squares: f64,
    /// Points.
    pub points: usize,
    /// Uncertainties of level and slope for a standard deviation of one.
    unit_level: f64,
    unit_slope: f64,
}

impl Line {
    /// Value of the line at a place, with its standard uncertainty.
    #[must_use]
    pub fn at(&self, place: f64) -> Estimate {
        let along = place - self.center;
        let value = self.level.value + self.slope.value * along;
        Estimate::new(value, libm::hypot(self.level.uncertainty, self.slope.uncertainty * along))
    }

    /// The uncertainties as they are when a value has this standard deviation.
    pub(super) fn with_deviation(mut self, deviation: f64) -> Self {
        self.level.uncertainty = deviation * self.unit_level;
        self.slope.uncertainty = deviation * self.unit_slope;
        self
    }
}

/// Fits a line to at least two points at different places; with exactly two, only `noise` makes its uncertainty. Without
/// it the uncertainty is by the residuals, with two degrees of freedom less than points: of three points, use `noise`.
///
/// # Errors
/// [`Undetermined::TooFewPoints`], [`Undetermined::NotFinite`], [`Undetermined::TooShort`] if all places are the same.
pub fn line(points: impl Iterator<Item = (f64, f64)> + Clone, noise: f64) -> Fit<Line> {
    let count = counted(points.clone(), 2)?;
    let n = count as f64;
    // Means first: differences from them lose no digits to a large offset such as 300 K.
    let (sum_x, sum_y) = points.clone().fold((0.0, 0.0), |(sx, sy), (x, y)| (sx + x, sy + y));
    let (center, level) = (sum_x / n, sum_y / n);
    let (xx, xy) = points.clone().fold((0.0, 0.0), |(xx, xy), (x, y)| {
        let dx = x - center;
        (xx + dx * dx, xy + dx * (y - level))
    });
    if xx <= 0.0 {
        return Err(Undetermined::TooShort);
    }
    // Places or values beyond 1e150, whose squares are no numbers.
    if !(xx.is_finite() && xy.is_finite() && level.is_finite()) {
        return Err(Undetermined::NotFinite);
    }
    let slope = xy / xx;
    let residual = |(x, y): (f64, f64)| y - level - slope * (x - center);
    let squares = points.map(residual).map(|r| r * r).sum();
    let (unit_level, unit_slope) = (1.0 / libm::sqrt(n), 1.0 / libm::sqrt(xx));
    let (level, slope) = (Estimate::new(level, 0.0), Estimate::new(slope, 0.0));
    let line = Line { center, level, slope, squares, points: count, unit_level, unit_slope };
    Ok(line.with_deviation(libm::sqrt(variance(noise, squares, count - 2))))
}
