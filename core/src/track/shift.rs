//! How far a profile moved along its axis.
//!
//! *What.* The shift with the largest correlation coefficient, refined to 1/16 pixel by the parabola through it and its
//! neighbors. The coefficient takes mean and scatter of the overlap off each time, so offset and gain of the sensor do
//! not matter. *Refusals.* A profile without structure, one that repeats itself (a comb moved by a pitch), one that
//! changed too much, and a best shift at the end of the reach give a [`Doubt`], not a number. Noise may resemble noise, the
//! more easily the shorter the profile: the coefficient must also stand out from what n elements reach by chance, and
//! fewer than 16 give none. *Limit.* That is reckoned for noise that differs from element to element; two scenes of a few
//! broad features can resemble each other by chance, and no coefficient tells.
//!
//! *Uncertainty.* From the curvature κ of the coefficient and what is missing to 1: u² = (1 − r²)/(n·κ), for noise that
//! differs from element to element (derived: the residual's variance over the sum of squared slopes); doubled, since what
//! comes in at the borders does not differ from element to element (measured in the tests: 19 of 20 errors within twice
//! the sum), and 1/16 pixel more for the parabola.
//!
//! *Scaling and overflow*: values have 14 bits and sign, products 28, sums of 65,535 of them 44, and n times those 60.

use super::projection::{MISSING, ProfileSlot};
use crate::codes::codes;

/// Largest reach in pixels.
pub(super) const REACH_MAX: u16 = 32;
const COEFFICIENTS: usize = 2 * REACH_MAX as usize + 1;
/// 1 in Q15.
const ONE: i32 = 1 << 15;
/// Least correlation coefficient, 0.7. A proposal: at that, half of the scatter is not the part's.
const LEAST: i32 = ONE * 7 / 10;
/// t² of the coefficient by chance, 5². A proposal: with 16 elements and 9 shifts tried, noise passes once in 300
/// (Student), with more of them far more rarely.
const CHANCE: u64 = 25;
/// Fewest elements that may be compared. A proposal.
const ELEMENTS_MIN: i64 = 16;
/// A second maximum this close to the first, 0.1, makes the shift ambiguous. A proposal.
const RIVAL: i32 = ONE / 10;
/// Largest uncertainty in 1/16 pixel: a pixel. A proposal.
const UNCERTAIN: u16 = 16;

codes! {
    /// Why a shift is not known.
    pub enum Doubt {
        /// There is no frame to compare with yet.
        First = 1, "first";
        /// The profile has no structure that would show a shift, or too few lines to compare.
        Flat = 2, "flat";
        /// The two profiles are too different, or no more alike than noise may be by chance.
        Changed = 3, "changed";
        /// Several shifts fit about equally well.
        Ambiguous = 4, "ambiguous";
        /// The best shift lies at the end of the reach or beyond.
        OutOfReach = 5, "out-of-reach";
    }
}

/// A shift along one axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct AxisShift {
    /// In 1/16 pixel; positive if the content moved right, or down.
    pub sixteenths: i16,
    /// Standard uncertainty in 1/16 pixel, 1 to 16.
    pub uncertainty: u16,
    /// Correlation coefficient in thousandths: how alike the profiles are at this shift, 700 to 1,000.
    pub correlation: u16,
}

/// A shift of the image, axis by axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Shift {
    /// Along rows.
    pub x: Result<AxisShift, Doubt>,
    /// Along columns.
    pub y: Result<AxisShift, Doubt>,
}

/// Shift of `now` against `before`.
pub(super) fn along(before: &[i16], now: &[ProfileSlot], reach: u16) -> Result<AxisShift, Doubt> {
    let reach = i32::from(reach);
    let mut coefficients = [0i32; COEFFICIENTS];
    let shifts = (-reach..=reach).zip(&mut coefficients);
    let mut best = (i32::MIN, 0, 0);
    for (shift, coefficient) in shifts {
        let elements;
        (*coefficient, elements) = correlation(before, now, shift).ok_or(Doubt::Flat)?;
        // Of equals, the smaller shift.
        if *coefficient > best.0 || (*coefficient == best.0 && shift.abs() < i32::abs(best.1)) {
            best = (*coefficient, shift, elements);
        }
    }
    let (peak, shift, elements) = best;
    let at = |shift: i32| coefficients.get((shift + reach) as usize).copied().unwrap_or(i32::MIN);
    // r² ≥ t²/(t² + ν) in Q30. Of n differences two apart, 2n/3 are independent (derived: they correlate by −1/2 with the
    // next ones), and two degrees of freedom go into the line: ν = 2n/3 − 2.
    let squared = u64::from(peak.unsigned_abs()) * u64::from(peak.unsigned_abs());
    if peak < LEAST || squared * (3 * CHANCE + 2 * elements - 6) < (3 * CHANCE) << 30 {
        return Err(Doubt::Changed);
    }
    if shift.abs() == reach {
        return Err(Doubt::OutOfReach);
    }
    if peak - rival(&at, shift, reach) < RIVAL {
        return Err(Doubt::Ambiguous);
    }
    let (left, right) = (at(shift - 1), at(shift + 1));
    let curvature = 2 * peak - left - right;
    // 16·(right − left)/(2·curvature), rounded; within half a pixel since the peak is the largest of the three.
    let sixteenths = (16 * (right - left) + curvature).checked_div_euclid(2 * curvature).ok_or(Doubt::Flat)?;
    let missing = (1u64 << 30).saturating_sub(squared);
    // In 1/256 pixel: u²·2¹⁶ = 2·missing/(n·κ), with missing in Q30 and κ in Q15.
    let squared = (2 * missing).checked_div(elements * u64::from(curvature.unsigned_abs())).ok_or(Doubt::Flat)?;
    // 16 to a pixel instead of 256, and doubled.
    let uncertainty = (squared.isqrt() >> 3) + 1;
    if uncertainty > u64::from(UNCERTAIN) {
        return Err(Doubt::Flat);
    }
    Ok(AxisShift {
        sixteenths: (16 * shift + sixteenths) as i16,
        uncertainty: uncertainty as u16,
        correlation: ((peak.min(ONE) * 1_000) >> 15) as u16,
    })
}

/// Largest coefficient outside the hill of the peak: from where the coefficients rise again.
fn rival(at: &impl Fn(i32) -> i32, peak: i32, reach: i32) -> i32 {
    let mut most = i32::MIN / 2;
    for step in [-1, 1] {
        let (mut shift, mut falling) = (peak + step, true);
        while shift.abs() <= reach {
            let here = at(shift);
            falling = falling && here <= at(shift - step);
            if !falling {
                most = most.max(here);
            }
            shift += step;
        }
    }
    most
}

/// Correlation coefficient in Q15 of `before[i]` with `now[i + shift]`, and how many elements have a value in both; `None`
/// if one of them is constant or they are too few.
fn correlation(before: &[i16], now: &[ProfileSlot], shift: i32) -> Option<(i32, u64)> {
    let ahead = shift.unsigned_abs() as usize;
    let (before, now) = if shift >= 0 { (before, now.get(ahead..)?) } else { (before.get(ahead..)?, now) };
    let (mut n, mut a, mut b) = (0i64, 0i64, 0i64);
    let (mut aa, mut bb, mut ab) = (0i64, 0i64, 0i64);
    for (&p, &q) in before.iter().zip(now) {
        let (p, q) = (i32::from(p), q.value());
        if p == i32::from(MISSING) || q == i32::from(MISSING) {
            core::hint::cold_path();
            continue;
        }
        n += 1;
        a += i64::from(p);
        b += i64::from(q);
        aa += i64::from(p) * i64::from(p);
        bb += i64::from(q) * i64::from(q);
        ab += i64::from(p) * i64::from(q);
    }
    if n < ELEMENTS_MIN {
        return None;
    }
    let (variance_a, variance_b) = ((n * aa - a * a) as u64, (n * bb - b * b) as u64);
    // 15 bits less, to make room for the quotient's.
    let scale = (variance_a.isqrt() * variance_b.isqrt()) >> 15;
    let r = (n * ab - a * b).checked_div(scale as i64)?;
    Some((r.clamp(-i64::from(ONE), i64::from(ONE)) as i32, n as u64))
}
