//! Place, height and width of a peak on a profile.

use super::normal::{Normal, gauss_newton};
use super::{DETERMINED, Estimate, Fit, STANDS_OUT, Undetermined, counted, stands_out, variance};

/// A peak.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Peak {
    /// Where it is.
    pub place: Estimate,
    /// Height over the base, for the parabola over 0.
    pub height: Estimate,
    /// Standard deviation of the Gaussian; for the parabola that of the Gaussian with the same height and curvature.
    pub width: Estimate,
}

/// Largest value, its place and those beside it.
fn highest(points: impl Iterator<Item = (f64, f64)> + Clone) -> Fit<[(f64, f64); 3]> {
    let mut best: Option<[(f64, f64); 3]> = None;
    let triples = points.clone().zip(points.clone().skip(1)).zip(points.clone().skip(2));
    for ((left, middle), right) in triples {
        if best.is_none_or(|[_, (_, y), _]| middle.1 > y) {
            best = Some([left, middle, right]);
        }
    }
    let triple = best.ok_or(Undetermined::TooFewPoints)?;
    let ends = points.clone().take(1).chain(points.last());
    // If an end is as high as every inner point, the peak may lie beyond it.
    if ends.into_iter().any(|(_, y)| y >= triple[1].1) { Err(Undetermined::AtEnd) } else { Ok(triple) }
}

/// Peak by the parabola through the highest point and its two neighbors. For a single narrow maximum on evenly or
/// unevenly spaced points. On a sampled Gaussian of standard deviation s the place is off by a small part of a step
/// (0.02 at s = 1, computed); use [`gaussian_peak`] where the base is known.
///
/// # Errors
/// [`Undetermined::TooFewPoints`] below three points, [`Undetermined::NotFinite`], [`Undetermined::AtEnd`],
/// [`Undetermined::BelowNoise`] if the curvature is not five times its noise, or if no noise is given: three points on a
/// parabola show none, [`Undetermined::NotThisForm`] if a point other than the neighbors is as high (a plateau).
pub fn parabola_peak(points: impl Iterator<Item = (f64, f64)> + Clone, noise: f64) -> Fit<Peak> {
    if noise > 0.0 { parabola(points, noise) } else { Err(Undetermined::BelowNoise) }
}

/// Place of the peak by the parabola, where its uncertainty shows otherwise.
pub(in crate::measure) fn peak_place(points: impl Iterator<Item = (f64, f64)> + Clone) -> Fit<f64> {
    Ok(parabola(points, 0.0)?.place.value)
}

/// How far the vertex of the parabola through three values a step apart lies from the middle one, in steps; 0 if they are
/// not curved downward.
pub(in crate::measure) fn vertex(before: f64, here: f64, after: f64) -> f64 {
    let curvature = before - 2.0 * here + after;
    if curvature < 0.0 { (before - after) / (2.0 * curvature) } else { 0.0 }
}

fn parabola(points: impl Iterator<Item = (f64, f64)> + Clone, noise: f64) -> Fit<Peak> {
    counted(points.clone(), 3)?;
    let [(x0, y0), (x1, y1), (x2, y2)] = highest(points.clone())?;
    if points.filter(|&(_, y)| y >= y1).count() > [y0, y1, y2].iter().filter(|&&y| y >= y1).count() {
        return Err(Undetermined::NotThisForm);
    }
    let (left, right) = (x1 - x0, x2 - x1);
    if left <= 0.0 || right <= 0.0 {
        return Err(Undetermined::NotThisForm);
    }
    // y = y1 + g·d + c·d², from the two chords; each is linear in the three values.
    let span = left + right;
    let curvature = |y0: f64, y1: f64, y2: f64| ((y2 - y1) / right - (y1 - y0) / left) / span;
    let gradient = |y0: f64, y1: f64, y2: f64| ((y2 - y1) / right * left + (y1 - y0) / left * right) / span;
    let (c, g) = (curvature(y0, y1, y2), gradient(y0, y1, y2));
    let units = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let spread = |by: &dyn Fn([f64; 3]) -> f64| {
        noise * libm::sqrt(units.iter().map(|&unit| by(unit)).map(|weight| weight * weight).sum::<f64>())
    };
    let c_u = spread(&|[a, b, d]| curvature(a, b, d));
    if c >= 0.0 || -c < STANDS_OUT * c_u {
        return Err(Undetermined::BelowNoise);
    }
    let offset = -g / (2.0 * c);
    let height = y1 + g * offset / 2.0;
    // d(offset) = −dg/(2c) + g·dc/(2c²); d(height) = dy1 + dg·offset + dc·offset².
    let place_u = spread(&|[a, b, d]| -gradient(a, b, d) / (2.0 * c) + g * curvature(a, b, d) / (2.0 * c * c));
    let height_u = spread(&|[a, b, d]| b + gradient(a, b, d) * offset + curvature(a, b, d) * offset * offset);
    let width = libm::sqrt(libm::fabs(height) / (-2.0 * c));
    let width_u = width / 2.0 * libm::hypot(c_u / c, if height == 0.0 { 0.0 } else { height_u / height });
    Ok(Peak {
        place: Estimate::new(x1 + offset, place_u),
        height: Estimate::new(height, height_u),
        width: Estimate::new(width, width_u),
    })
}

/// Peak by least squares with a Gaussian on a known `base`, started from a weighted parabola through the logarithms.
///
/// *Why a Gaussian.* A thin hot line seen through optics is one (vehicle notes 4: blur of 0.6–1.2 px); what is wider has
/// no such reason, and the uncertainty does not cover another form: residuals that show one are refused. The uncertainty
/// of the base adds directly to that of the height.
///
/// # Errors
/// [`Undetermined::TooFewPoints`] below five points or four above a third of the height, [`Undetermined::NotFinite`],
/// [`Undetermined::AtEnd`], [`Undetermined::BelowNoise`] if the height is not five times its uncertainty,
/// [`Undetermined::NotThisForm`] if the residuals are more than a fifth of the height or the fit does not converge,
/// [`Undetermined::TooShort`] if the width is not determined to a quarter.
pub fn gaussian_peak(points: impl Iterator<Item = (f64, f64)> + Clone, base: f64, noise: f64) -> Fit<Peak> {
    let count = counted(points.clone(), 5)?;
    let top = points.clone().map(|(_, y)| y - base).fold(f64::MIN, f64::max);
    if top <= STANDS_OUT * noise || top <= 0.0 {
        return Err(Undetermined::BelowNoise);
    }
    let [_, (x_top, _), _] = highest(points.clone())?;
    let mut normal = Normal::default();
    let mut used = 0;
    for (x, y) in points.clone() {
        let relative = (y - base) / top;
        if relative > 1.0 / 3.0 {
            // The noise of a logarithm is that of the value over the value, so its weight is the value squared.
            let d = x - x_top;
            normal.add([1.0, d, d * d], libm::log(relative), relative * relative);
            used += 1;
        }
    }
    if used < 4 {
        return Err(Undetermined::TooFewPoints);
    }
    let [_, gradient, curvature] = normal.solve().ok_or(Undetermined::NotThisForm)?.parameters;
    if curvature >= 0.0 {
        return Err(Undetermined::NotThisForm);
    }
    let start = [top, -gradient / (2.0 * curvature), libm::sqrt(-0.5 / curvature)];
    let model = |[height, place, width]: [f64; 3], x: f64| {
        let z = (x - x_top - place) / width;
        let bell = libm::exp(-z * z / 2.0);
        let value = height * bell;
        (value, [bell, value * z / width, value * z * z / width])
    };
    let shifted = points.clone().map(|(x, y)| (x, y - base));
    let [_, _, start_width] = start;
    let scales = [top, start_width, start_width];
    let (solution, squares) = gauss_newton(shifted, model, start, scales, false).ok_or(Undetermined::NotThisForm)?;
    let [height, place, width] = solution.parameters;
    let width = libm::fabs(width);
    let variance = variance(noise, squares, count - 3);
    let [height_u, place_u, width_u] = solution.variances.map(|part| libm::sqrt(part * variance));
    let (first, last) = points.fold((f64::MAX, f64::MIN), |(low, high), (x, _)| (low.min(x), high.max(x)));
    if height <= stands_out(noise, count - 3) * height_u {
        return Err(Undetermined::BelowNoise);
    }
    if !(first..=last).contains(&(x_top + place)) {
        return Err(Undetermined::AtEnd);
    }
    if libm::sqrt(squares / count as f64) > height / 5.0 {
        return Err(Undetermined::NotThisForm);
    }
    if width_u > DETERMINED * width {
        return Err(Undetermined::TooShort);
    }
    Ok(Peak {
        place: Estimate::new(x_top + place, place_u),
        height: Estimate::new(height, height_u),
        width: Estimate::new(width, width_u),
    })
}
