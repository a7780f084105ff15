//! Exponential approach and decay: over time to an unknown end value, along a line to a known base.

use super::normal::gauss_newton;
use super::straight::line;
use super::{DETERMINED, Estimate, Fit, Undetermined, counted, stands_out, variance, worth};

/// value = `end` + `amplitude`·exp(−(time − first time)/`constant`).
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Exponential {
    /// Value that is approached.
    pub end: Estimate,
    /// Distance from it at the first point; negative when warming up.
    pub amplitude: Estimate,
    /// Time constant.
    pub constant: Estimate,
}

/// value = base + `height`·exp(−(place − first place)/`length`).
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Decay {
    /// Height over the base at the first point.
    pub height: Estimate,
    /// Length over which the height falls to 1/e.
    pub length: Estimate,
}

/// Time constants tried for a start, as parts of the time seen: from a twentieth to tenfold, each 1.5 times the last.
const FIRST_TRIED: f64 = 0.05;
const TRIED: usize = 14;

/// First place and the stretch covered; places need not be in order.
fn extent(points: impl Iterator<Item = (f64, f64)>) -> (f64, f64) {
    let (first, last) = points.fold((f64::MAX, f64::MIN), |(low, high), (x, _)| (low.min(x), high.max(x)));
    (first, last - first)
}

/// Sizes of the parameters of the model: of both values the amplitude.
fn scales([_, amplitude, constant]: [f64; 3]) -> [f64; 3] {
    [libm::fabs(amplitude), libm::fabs(amplitude), libm::fabs(constant)]
}

fn model([end, amplitude, constant]: [f64; 3], t: f64) -> (f64, [f64; 3]) {
    let fall = libm::exp(-t / constant);
    (end + amplitude * fall, [1.0, fall, amplitude * fall * t / (constant * constant)])
}

/// Fits an approach to an unknown end value by nonlinear least squares.
///
/// # Errors
/// [`Undetermined::TooFewPoints`] below six, [`Undetermined::NotFinite`], [`Undetermined::BelowNoise`] if the amplitude is
/// not five times its uncertainty, [`Undetermined::AsStraight`] if a line describes the points as well (then not even the
/// existence of an end value shows), [`Undetermined::TooShort`] if the time constant is not determined to a quarter of
/// itself, as happens when less than about one of it was seen, [`Undetermined::NotThisForm`] if the fit does not converge.
pub fn exponential(points: impl Iterator<Item = (f64, f64)> + Clone, noise: f64) -> Fit<Exponential> {
    let count = counted(points.clone(), 6)?;
    let (first, stretch) = extent(points.clone());
    let straight = line(points.clone(), noise)?;
    let from_start = points.map(move |(t, y)| (t - first, y));
    // For a given constant the rest is a straight line in exp(−t/constant): the best of a few is the start.
    let mut constant = FIRST_TRIED * stretch;
    let mut best: Option<(f64, [f64; 3], usize)> = None;
    let (n, level) = (count as f64, straight.level.value);
    for tried in 0..TRIED {
        let (mut f, mut ff, mut v, mut vv, mut fv) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (t, y) in from_start.clone() {
            let (fall, value) = (libm::exp(-t / constant), y - level);
            (f, ff, v, vv, fv) = (f + fall, ff + fall * fall, v + value, vv + value * value, fv + fall * value);
        }
        let (sff, sfv, svv) = (ff - f * f / n, fv - f * v / n, vv - v * v / n);
        let squares = svv - sfv * sfv / sff;
        if sff > 0.0 && best.is_none_or(|(least, ..)| squares < least) {
            let amplitude = sfv / sff;
            best = Some((squares, [level + (v - amplitude * f) / n, amplitude, constant], tried));
        }
        constant *= 1.5;
    }
    let (_, start, tried) = best.ok_or(Undetermined::NotThisForm)?;
    let pays = |squares: f64| {
        let gained = straight.squares - squares;
        gained > worth(noise, count - 3) * variance(noise, squares, count - 3)
    };
    let Some((solution, squares)) = gauss_newton(from_start, model, start, scales(start), false) else {
        // Toward a straight line the constant runs away; the refusal says so.
        let runaway = tried + 1 == TRIED || !pays(best.map_or(f64::MAX, |(squares, ..)| squares));
        return Err(if runaway { Undetermined::AsStraight } else { Undetermined::NotThisForm });
    };
    if !pays(squares) {
        return Err(Undetermined::AsStraight);
    }
    let variance = variance(noise, squares, count - 3);
    let [end_u, amplitude_u, constant_u] = solution.variances.map(|part| libm::sqrt(part * variance));
    let [end, amplitude, constant] = solution.parameters;
    if constant <= 0.0 {
        // A growing exponential: no end value is approached.
        return Err(Undetermined::NotThisForm);
    }
    if constant_u > DETERMINED * constant {
        return Err(Undetermined::TooShort);
    }
    if libm::fabs(amplitude) <= stands_out(noise, count - 3) * amplitude_u {
        return Err(Undetermined::BelowNoise);
    }
    Ok(Exponential {
        end: Estimate::new(end, end_u),
        amplitude: Estimate::new(amplitude, amplitude_u),
        constant: Estimate::new(constant, constant_u),
    })
}

/// Fits a decay to a known base: heat that leaks along a cable from a warm joint to a cable at the base temperature. A
/// weighted line through the logarithms of what stands out gives the start, nonlinear least squares over all points the
/// result, so noise around the base does not bias it. The uncertainty of the base is carried into both results.
///
/// # Errors
/// [`Undetermined::TooFewPoints`] below five points or three that stand out, [`Undetermined::NotFinite`],
/// [`Undetermined::BelowNoise`] if the height is not five times its uncertainty (or the base's),
/// [`Undetermined::NotDecaying`] if the values do not fall toward the base, [`Undetermined::TooShort`] if the length is not
/// determined to a quarter of itself, [`Undetermined::NotThisForm`] if the residuals are more than a fifth of the height or
/// the fit does not converge.
pub fn decay(points: impl Iterator<Item = (f64, f64)> + Clone, base: Estimate, noise: f64) -> Fit<Decay> {
    let count = counted(points.clone(), 5)?;
    let (first, _) = extent(points.clone());
    let points = points.map(move |(x, y)| (x - first, y));
    let (height, length, squares, variances) = solve_decay(points.clone(), base.value, noise)?;
    let variance = variance(noise, squares, count - 2);
    // A base that is off by its uncertainty moves both; the fit done again says how much. Where that fit fails, so does
    // the claim.
    let (moved_height, moved_length, ..) = if base.uncertainty > 0.0 {
        solve_decay(points, base.value + base.uncertainty, noise).map_err(|_| Undetermined::BelowNoise)?
    } else {
        (height, length, 0.0, [0.0; 2])
    };
    let [height_var, length_var] = variances.map(|part| part * variance);
    let height_u = libm::hypot(libm::sqrt(height_var), moved_height - height);
    let length_u = libm::hypot(libm::sqrt(length_var), moved_length - length);
    if libm::sqrt(squares / count as f64) > libm::fabs(height) / 5.0 {
        return Err(Undetermined::NotThisForm);
    }
    if libm::fabs(height) <= stands_out(noise, count - 2) * height_u {
        return Err(Undetermined::BelowNoise);
    }
    if length_u > DETERMINED * length {
        return Err(Undetermined::TooShort);
    }
    Ok(Decay { height: Estimate::new(height, height_u), length: Estimate::new(length, length_u) })
}

/// Height, length, sum of squares, unscaled variances of both.
fn solve_decay(
    points: impl Iterator<Item = (f64, f64)> + Clone,
    base: f64,
    noise: f64,
) -> Fit<(f64, f64, f64, [f64; 2])> {
    let above = points.clone().map(move |(x, y)| (x, y - base));
    // Over or under the base: by what lies farther from it.
    let farthest = |far: f64, (_, y): (f64, f64)| if libm::fabs(y) > libm::fabs(far) { y } else { far };
    let sign = if above.clone().fold(0.0, farthest) < 0.0 { -1.0 } else { 1.0 };
    let top = above.clone().map(|(_, y)| y * sign).fold(0.0, f64::max);
    let least = (3.0 * noise).max(top * 0.05);
    // Weighted line through the logarithms: the noise of a logarithm is noise/value, so its weight is value².
    let (mut w, mut wx, mut wl, mut used) = (0.0, 0.0, 0.0, 0);
    let standing = above.clone().map(move |(x, y)| (x, y * sign)).filter(move |&(_, y)| y > least);
    for (x, y) in standing.clone() {
        (w, wx, wl, used) = (w + y * y, wx + y * y * x, wl + y * y * libm::log(y), used + 1);
    }
    if used < 3 {
        return Err(if top > 0.0 && noise > 0.0 { Undetermined::BelowNoise } else { Undetermined::TooFewPoints });
    }
    let (center, level) = (wx / w, wl / w);
    let (xx, xl) = standing.fold((0.0, 0.0), |(xx, xl), (x, y)| {
        let d = x - center;
        (xx + y * y * d * d, xl + y * y * d * (libm::log(y) - level))
    });
    // Slope of the logarithm and its noise, which is `noise`/√Σ(value·d)².
    let slope = if xx > 0.0 { xl / xx } else { 0.0 };
    if slope >= 0.0 || (xx > 0.0 && -slope <= 3.0 * noise / libm::sqrt(xx)) {
        return Err(Undetermined::NotDecaying);
    }
    let start = [0.0, sign * libm::exp(level - slope * center), -1.0 / slope];
    let (solution, squares) =
        gauss_newton(above, model, start, scales(start), true).ok_or(Undetermined::NotThisForm)?;
    let ([_, height, length], [_, height_v, length_v]) = (solution.parameters, solution.variances);
    if length <= 0.0 { Err(Undetermined::NotDecaying) } else { Ok((height, length, squares, [height_v, length_v])) }
}
