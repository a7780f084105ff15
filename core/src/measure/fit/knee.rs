//! Where a series changes its slope: two straight lines by least squares.

use super::straight::{Line, line};
use super::{Estimate, Fit, Undetermined, counted, stands_out, variance, worth};

/// Two slopes and where they meet.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Knee {
    /// Place or time of the knee.
    pub place: Estimate,
    /// Value there.
    pub value: Estimate,
    /// Slope before it.
    pub before: Estimate,
    /// Slope after it.
    pub after: Estimate,
}

/// Fewest points on either side; a proposal.
const LEAST: usize = 4;
/// Residual variances by which another cut may describe the points less well and still count as one that might have been
/// chosen: by draws of 16 to 60 points the errors are 0.9 to 1.05 of the uncertainty with it (computed).
const CHOSEN_WITHIN: f64 = 3.0;

/// Finds the knee of a series in order of place, such as a hose that warms up when a thermostat opens.
///
/// *How.* Every cut between two points is tried with a line on either side; the best whose lines meet within the gap (or
/// within a step of it) is the knee. n²-many steps.
///
/// # Errors
/// [`Undetermined::TooFewPoints`] below eight, [`Undetermined::NotFinite`], [`Undetermined::AsStraight`] if one line
/// describes the points as well (two parameters more must pay), [`Undetermined::NotThisForm`] if the slopes of the best two
/// lines differ by less than five times the uncertainty or if the lines do not meet where they are cut: a jump, no knee.
pub fn knee(points: impl Iterator<Item = (f64, f64)> + Clone, noise: f64) -> Fit<Knee> {
    let count = counted(points.clone(), 2 * LEAST)?;
    let straight = line(points.clone(), noise)?;
    let mut best: Option<(f64, Line, Line, usize)> = None;
    for cut in LEAST..=count - LEAST {
        let (Ok(before), Ok(after)) = (line(points.clone().take(cut), noise), line(points.clone().skip(cut), noise))
        else {
            continue;
        };
        let squares = before.squares + after.squares;
        if best.is_none_or(|(least, ..)| squares < least) {
            best = Some((squares, before, after, cut));
        }
    }
    let (squares, before, after, cut) = best.ok_or(Undetermined::TooShort)?;
    let free = count - 4;
    let variance = variance(noise, squares, free);
    if straight.squares - squares <= 2.0 * worth(noise, free) * variance {
        return Err(Undetermined::AsStraight);
    }
    // Noise that only the common residuals show belongs to both lines, however few points one of them has.
    let (before, after) = (before.with_deviation(libm::sqrt(variance)), after.with_deviation(libm::sqrt(variance)));
    let turn = after.slope.value - before.slope.value;
    if libm::fabs(turn) <= stands_out(noise, free) * libm::hypot(before.slope.uncertainty, after.slope.uncertainty) {
        return Err(Undetermined::NotThisForm);
    }
    let place = meeting(&before, &after).ok_or(Undetermined::NotThisForm)?;
    let (at_before, at_after) = (before.at(place), after.at(place));
    let place_u = libm::hypot(at_before.uncertainty, at_after.uncertainty) / libm::fabs(turn);
    // Cuts that describe the points as well within the noise might have been chosen too.
    let chosen = (LEAST..=count - LEAST).filter_map(|cut| {
        let before = line(points.clone().take(cut), noise).ok()?;
        let after = line(points.clone().skip(cut), noise).ok()?;
        let other = meeting(&before, &after)?;
        (before.squares + after.squares <= squares + CHOSEN_WITHIN * variance).then_some(libm::fabs(other - place))
    });
    let place_u = chosen.fold(place_u, f64::max);
    // The gap that was cut, wider by three uncertainties.
    let near = points.skip(cut - 1).take(2).map(|(x, _)| x);
    let (low, high) = near.fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(x), high.max(x)));
    let reach = 3.0 * place_u + (high - low);
    if place < low - reach || place > high + reach {
        return Err(Undetermined::NotThisForm);
    }
    // Both lines say what the value is there; the better known one counts more.
    let (va, vb) = (at_before.uncertainty * at_before.uncertainty, at_after.uncertainty * at_after.uncertainty);
    let share = if va + vb > 0.0 { vb / (va + vb) } else { 0.5 };
    let value = at_before.value * share + at_after.value * (1.0 - share);
    Ok(Knee {
        place: Estimate::new(place, place_u),
        value: Estimate::new(value, libm::sqrt(va * share * share + vb * (1.0 - share) * (1.0 - share))),
        before: before.slope,
        after: after.slope,
    })
}

/// Where two lines meet: level_i + slope_i·(x − center_i) differ by zero there. `None` if they are parallel.
fn meeting(before: &Line, after: &Line) -> Option<f64> {
    let turn = after.slope.value - before.slope.value;
    let place = before.center - (after.at(before.center).value - before.level.value) / turn;
    place.is_finite().then_some(place)
}
