//! Place of a step on a profile.

use super::{Estimate, Fit, Undetermined, counted, stands_out, variance};

/// A step from one level to another.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Edge {
    /// Where an ideal step of the same area would be; for a symmetric blur, where half the height is crossed.
    pub place: Estimate,
    /// Level before the edge: mean of the first quarter of the points.
    pub before: Estimate,
    /// Level behind it: mean of the last quarter.
    pub behind: Estimate,
    /// Standard deviation of the blur, by the second moment of the slope; 0 if noise hides it.
    pub width: f64,
}

/// Finds the one edge of a profile whose first and last quarter are level. Points are in order of place.
///
/// *How.* With f = (value − before)/(behind − before), an ideal step at e leaves ∫f = (last place) − e; so the place is
/// where the integral says. That uses all points of the middle half, needs no error function and no iteration, and is the
/// same for every symmetric blur.
///
/// # Errors
/// [`Undetermined::TooFewPoints`] below eight points, [`Undetermined::NotFinite`], [`Undetermined::BelowNoise`] if the step
/// is not five times its uncertainty, [`Undetermined::NotThisForm`] if a quarter is not level, if places are not in order
/// or the values go back and forth by a quarter of the step (two edges, a line), [`Undetermined::AtEnd`] if the edge does
/// not lie in the middle half.
pub fn edge(points: impl Iterator<Item = (f64, f64)> + Clone, noise: f64) -> Fit<Edge> {
    let count = counted(points.clone(), 8)?;
    let quarter = count / 4;
    if points.clone().zip(points.clone().skip(1)).any(|((a, _), (b, _))| b <= a) {
        return Err(Undetermined::NotThisForm);
    }
    let head = points.clone().take(quarter);
    let tail = points.clone().skip(count - quarter);
    let mean = |values: &mut dyn Iterator<Item = (f64, f64)>| values.map(|(_, y)| y).sum::<f64>() / quarter as f64;
    let (before, behind) = (mean(&mut head.clone()), mean(&mut tail.clone()));
    let squares = head.clone().map(|(_, y)| (y - before) * (y - before)).sum::<f64>()
        + tail.clone().map(|(_, y)| (y - behind) * (y - behind)).sum::<f64>();
    let free = (2 * quarter).saturating_sub(2);
    let variance = variance(noise, squares, free);
    let (sigma, level_u) = (libm::sqrt(variance), libm::sqrt(variance / quarter as f64));
    let step = behind - before;
    if libm::fabs(step) <= stands_out(noise, free) * level_u * core::f64::consts::SQRT_2 || step == 0.0 {
        return Err(Undetermined::BelowNoise);
    }
    // Height of a point between the levels, 0 to 1.
    let rise = |y: f64| (y - before) / step;
    let slack = (4.0 * sigma / libm::fabs(step)).max(0.25);
    if head.map(|(_, y)| rise(y)).chain(tail.map(|(_, y)| rise(y) - 1.0)).any(|off| libm::fabs(off) > slack) {
        return Err(Undetermined::NotThisForm);
    }
    let mut reached = f64::MIN;
    for (_, y) in points.clone() {
        if rise(y) < reached - slack || rise(y) > 1.0 + slack {
            return Err(Undetermined::NotThisForm);
        }
        reached = reached.max(rise(y));
    }
    // Trapezoids over the middle half, from the last point of the head to the first of the tail.
    let middle = points.clone().skip(quarter - 1).take(count - 2 * quarter + 2);
    let pairs = middle.clone().zip(middle.clone().skip(1));
    let (mut area, mut width2) = (0.0, 0.0);
    for ((xa, ya), (xb, yb)) in pairs.clone() {
        area += (rise(ya) + rise(yb)) / 2.0 * (xb - xa);
    }
    let ends = |(low, high): (f64, f64), (x, _): (f64, f64)| (low.min(x), high.max(x));
    let (first, last) = middle.clone().fold((f64::MAX, f64::MIN), ends);
    // What the middle half does not hold of the step (blur, noise of the levels) counts as lying at its ends.
    let place = last - area;
    if !(first..=last).contains(&place) {
        return Err(Undetermined::AtEnd);
    }
    for ((xa, ya), (xb, yb)) in pairs {
        let (at, h) = ((xa + xb) / 2.0 - place, xb - xa);
        // Second moment of the slope; the width of a step between two points, h²/12, is the sampling's.
        width2 += (rise(yb) - rise(ya)) * (at * at - h * h / 12.0);
    }
    // By the points of the middle half (each with the step around it), by either level.
    let spacing = (last - first) / (count - 2 * quarter + 1) as f64;
    let by_points = sigma / libm::fabs(step) * libm::sqrt(spacing * (last - first));
    let by_levels = level_u / libm::fabs(step) * libm::hypot(place - first, last - place);
    Ok(Edge {
        place: Estimate::new(place, libm::hypot(by_points, by_levels)),
        before: Estimate::new(before, level_u),
        behind: Estimate::new(behind, level_u),
        width: libm::sqrt(width2.max(0.0)),
    })
}
