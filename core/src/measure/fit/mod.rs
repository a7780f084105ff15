//! Fits on profiles and series: line, peak, edge, exponential, knee. Each gives its parameters with standard
//! uncertainties, or says why the data do not determine them.
//!
//! *What.* Points are any iterator of (place, value), walked several times; nothing is stored. Places are in pixels, mm or
//! seconds, values in counts or kelvin; results are in the same units. *Noise.* `noise` is the standard deviation of a
//! value as far as it is known beforehand (0 if not; then a parabola is refused). What the residuals show counts if it is
//! more; so an uncertainty is never smaller than either. Without a stated noise the uncertainty has as few degrees of
//! freedom as there are more points than parameters: of a line through three points one in three is off by more than
//! twice it (Student), so state the noise. What must stand out must do so by Student's quantile then. *Model error is
//! not in it*: an uncertainty is that of the parameters if the form is right.
//! *Refusal.* [`Undetermined`] is an answer like any other: a number that the data do not determine is not given.
//! *Cost.* f64 closing arithmetic: some twenty passes over the points at most, no memory beyond 200 bytes.

mod edge;
mod exponential;
mod knee;
mod normal;
mod peak;
mod straight;

pub use edge::{Edge, edge};
pub use exponential::{Decay, Exponential, decay, exponential};
pub use knee::{Knee, knee};
pub(super) use normal::Normal;
pub use peak::{Peak, gaussian_peak, parabola_peak};
pub(super) use peak::{peak_place, vertex};
pub use straight::{Line, line};

use crate::codes::codes;
use crate::radiometry::Estimate;

codes! {
    /// Why a fit gives nothing.
    pub enum Undetermined {
        /// Too few points for the form.
        TooFewPoints = 1, "too-few-points";
        /// A value or a place is not a finite number.
        NotFinite = 2, "not-finite";
        /// What is looked for does not stand out from the noise.
        BelowNoise = 3, "below-noise";
        /// The extreme lies at an end of the profile, so it may go on beyond.
        AtEnd = 4, "at-end";
        /// The profile shows more than one, or another form.
        NotThisForm = 5, "not-this-form";
        /// The data end before the parameter shows.
        TooShort = 6, "too-short";
        /// A straight line describes the data as well.
        AsStraight = 7, "as-straight";
        /// The values do not fall toward the base.
        NotDecaying = 8, "not-decaying";
    }
}

/// Result of a fit.
pub type Fit<T> = core::result::Result<T, Undetermined>;

/// Standard deviations by which a peak, step or amplitude must stand out: five, as for a detection that is to be wrong
/// less than once in a million noisy looks (proposal). For a noise that is known; see [`stands_out`].
const STANDS_OUT: f64 = 5.0;
/// Largest relative uncertainty of a length, time constant or width that is still given; a proposal.
const DETERMINED: f64 = 0.25;
/// How much the sum of squared residuals must fall, in units of the residual variance, for one more parameter to be
/// believed: 12 is 3.5 standard deviations of a normal parameter (derived). For a noise that is known; see [`worth`].
const WORTH_A_PARAMETER: f64 = 12.0;

/// For so many degrees of freedom or more: Student's quantiles as likely to be passed as 5 and √12 standard deviations of
/// a normal value (computed).
const STUDENT: [(usize, f64, f64); 15] = [
    (1, 1_110_441.8, 1_196.64),
    (2, 1_320.71, 43.34),
    (3, 156.68, 15.99),
    (4, 56.85, 10.14),
    (5, 31.85, 7.87),
    (6, 22.02, 6.71),
    (7, 17.1, 6.02),
    (8, 14.25, 5.56),
    (10, 11.17, 5.01),
    (12, 9.57, 4.68),
    (15, 8.27, 4.39),
    (20, 7.2, 4.12),
    (30, 6.32, 3.88),
    (50, 5.73, 3.7),
    (100, 5.34, 3.58),
];

/// Both quantiles for residuals of so many degrees of freedom.
fn student(free: usize) -> (f64, f64) {
    let found = STUDENT.iter().rev().find(|&&(least, ..)| least <= free);
    found.map_or((f64::MAX, f64::MAX), |&(_, five, three)| (five, three))
}

/// Standard uncertainties by which something must stand out: five of a known noise; more of one that few residuals show,
/// which come out small by chance.
fn stands_out(noise: f64, free: usize) -> f64 {
    if noise > 0.0 { STANDS_OUT } else { student(free).0 }
}

/// Likewise how much a parameter more must be worth, in residual variances.
fn worth(noise: f64, free: usize) -> f64 {
    let by_residuals = student(free).1;
    if noise > 0.0 { WORTH_A_PARAMETER } else { by_residuals * by_residuals }
}

/// Variance of a residual: what is known beforehand or what is seen, whichever is more. `free` are the degrees of freedom;
/// with none nothing is seen.
fn variance(noise: f64, squares: f64, free: usize) -> f64 {
    let seen = if free == 0 { 0.0 } else { squares / free as f64 };
    (noise * noise).max(seen)
}

/// Number of points, refused if fewer than `least` or not all finite.
fn counted(points: impl Iterator<Item = (f64, f64)>, least: usize) -> Fit<usize> {
    let mut count = 0;
    for (x, y) in points {
        if !(x.is_finite() && y.is_finite()) {
            return Err(Undetermined::NotFinite);
        }
        count += 1;
    }
    if count < least { Err(Undetermined::TooFewPoints) } else { Ok(count) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sound(estimates: &[Estimate]) -> bool {
        estimates.iter().all(|e| e.value.is_finite() && e.uncertainty.is_finite() && e.uncertainty >= 0.0)
    }

    proptest! {
        /// Whatever the points, a fit answers with finite numbers or a reason.
        #[test]
        fn any_points_give_finite_numbers_or_a_reason(
            mut points in proptest::collection::vec(
                (prop_oneof![-50.0..50.0f64, Just(0.0), Just(1e9)], prop_oneof![-5.0..5.0f64, Just(0.0), Just(1e12), Just(-1e-9)]),
                0..40,
            ),
            sorted: bool, noise in prop_oneof![Just(0.0), 0.0..2.0f64], base in -6.0..6.0f64,
        ) {
            if sorted {
                points.sort_by(|a, b| a.0.total_cmp(&b.0));
            }
            let points = points.iter().copied();
            if let Ok(fit) = line(points.clone(), noise) {
                prop_assert!(sound(&[fit.level, fit.slope]), "{:?}", fit);
            }
            if let Ok(fit) = parabola_peak(points.clone(), noise) {
                prop_assert!(sound(&[fit.place, fit.height, fit.width]), "{:?}", fit);
            }
            if let Ok(fit) = gaussian_peak(points.clone(), base, noise) {
                prop_assert!(sound(&[fit.place, fit.height, fit.width]), "{:?}", fit);
            }
            if let Ok(fit) = edge(points.clone(), noise) {
                prop_assert!(sound(&[fit.place, fit.before, fit.behind]) && fit.width.is_finite(), "{:?}", fit);
            }
            if let Ok(fit) = exponential(points.clone(), noise) {
                prop_assert!(sound(&[fit.end, fit.amplitude, fit.constant]), "{:?}", fit);
            }
            if let Ok(fit) = decay(points.clone(), Estimate::new(base, noise), noise) {
                prop_assert!(sound(&[fit.height, fit.length]), "{:?}", fit);
            }
            if let Ok(fit) = knee(points, noise) {
                prop_assert!(sound(&[fit.place, fit.value, fit.before, fit.after]), "{:?}", fit);
            }
        }
    }
}
