//! The pieces of a table, evaluated once.

use super::{COARSE, FINE, HALF_STEP, Head, UNITS, View};
use crate::error::{Error, Result};
use crate::log::log;
use crate::radiometry::{MeasurementEquation, Scale};
use crate::units::Delta;

/// Object temperatures the table covers, K: −60 °C to 1,000 °C. A proposal: colder than any vehicle, hotter than any
/// exhaust part. Outside it a count has no temperature.
const COVERED_KELVIN: (f64, f64) = (213.15, 1_273.15);

/// Largest slope that the coarsest pieces hold, K per count: 2,048 steps of 1/32 K, 16 bits with a sign of which 4 are
/// a fraction (derived).
const MAX_SLOPE: f64 = 64.0;

/// Fills the pieces, or leaves them as they are on an error. Never inlined: its frame would add to that of a caller who
/// still holds what the equation was made of.
#[inline(never)]
pub(super) fn build(
    equation: &MeasurementEquation,
    full_scale: u16,
    starts: &mut [u32],
    slopes: &mut [i16],
) -> Result<Head> {
    let pieces = starts.len();
    let mut shift = 0u16;
    while pieces << shift <= usize::from(full_scale) {
        shift += 1;
    }
    let counts_of = |piece: usize| f64::from((piece as u32) << shift);
    // Where the object may not be that cold or hot (reflections lift the floor), the curve's own domain decides.
    let low = equation.counts(COVERED_KELVIN.0).unwrap_or(0.0);
    let most = f64::from(full_scale);
    let high = equation.counts(COVERED_KELVIN.1).ok().filter(|&counts| counts < most).unwrap_or(most);
    let object = |piece: usize| equation.object(counts_of(piece));
    let first = (0..pieces).position(|piece| counts_of(piece) >= low && object(piece).is_ok());
    let end = (0..pieces).rev().find(|&piece| counts_of(piece + 1) <= high + 1.0 && object(piece + 1).is_ok());
    let (Some(first), Some(end)) = (first, end.map(|last| last + 1)) else { return Err(Error::NoTemperature) };
    // The curve is steepest at its cold end.
    let steepest = (object(first + 1)? - object(first)?) / f64::from(1u32 << shift);
    if first + 4 > end || steepest > MAX_SLOPE {
        return Err(Error::NoTemperature);
    }
    // From here on nothing can fail, so the pieces are written in place: knots first, then what is between them.
    let units = |piece: usize| object(piece).map_or(0.0, |kelvin| libm::round(kelvin * UNITS)) as u32;
    for (i, knot) in (first..).zip(starts.get_mut(first..end).unwrap_or(&mut [])) {
        *knot = units(i);
    }
    let last_knot = units(end);
    let (mut rise, mut after) = (0, last_knot);
    for &knot in starts.get(first..end).unwrap_or(&[]).iter().rev() {
        rise = rise.max(after.saturating_sub(knot));
        after = knot;
    }
    let holds = |fraction: &u32| rise.checked_shr(u32::from(shift) + FINE - fraction).unwrap_or(0) < 0x7FFF;
    let fraction = [FINE, COARSE, 8].into_iter().find(holds).unwrap_or(4);
    let (mut head, dropped) = (Head::EMPTY, FINE - fraction);
    (head.covered, head.shift, head.fraction) = ([first as u16, end as u16], shift, fraction as u16);
    let mut next = last_knot;
    for (i, (start, slope)) in starts.iter_mut().zip(slopes.iter_mut()).enumerate().rev() {
        (*start, *slope) = if i < first {
            (0, 0)
        } else if i >= end {
            (u32::MAX, 0)
        } else {
            let here = core::mem::replace(&mut next, *start);
            let per_count = rounded(here.saturating_sub(next), u32::from(shift) + dropped);
            let slope = i16::try_from(per_count).unwrap_or(i16::MAX);
            let first_count = (i << shift) as i16;
            let at_start = rounded(next, dropped) + (HALF_STEP >> dropped) as u32;
            (at_start.wrapping_sub((i32::from(slope) * i32::from(first_count)) as u32), slope)
        };
    }
    for i in first..end {
        let lift = View { head: &head, starts, slopes }.lift(i as i64) >> dropped;
        if let Some(start) = starts.get_mut(i) {
            *start = start.wrapping_add(lift as u32);
        }
    }
    find_errors(equation, &mut head, starts, slopes);
    log!("table: pieces {} to {}, row error {}, scalar error {}", first, end, head.row_error, head.scalar_error);
    Ok(head)
}

/// `units` in units 2^`bits` times as large, to the nearest.
const fn rounded(units: u32, bits: u32) -> u32 {
    ((units as u64 + (1u64 << bits >> 1)) >> bits) as u32
}

/// Differences between pieces bound the errors inside; where the curve bends ever more, at one of its ends, they fall
/// short, and the table is compared with the equation itself.
#[inline(never)]
fn find_errors(equation: &MeasurementEquation, head: &mut Head, starts: &[u32], slopes: &[i16]) {
    let view = View { head: &*head, starts, slopes };
    let (mut row_error, mut scalar_error) = view.interpolation_errors();
    let (first, end) = (u32::from(view.head.covered[0]), u32::from(view.head.covered[1]));
    // Three pieces from either end, in eighths.
    for eighth in (8 * first + 1..8 * first + 24).chain(8 * end - 24..8 * end) {
        // Counts in eighths, which are 32 of the steps of 1/256.
        let eighths = eighth << view.head.shift;
        let q8 = eighths << 5;
        let (Ok(exact), Some(cubic)) = (equation.object(f64::from(eighths) / 8.0), view.temperature_q8(q8)) else {
            continue;
        };
        let linear = view.line_q8(q8) / UNITS;
        row_error = row_error.max(off_by(linear - exact));
        scalar_error = scalar_error.max(off_by(cubic.to_f64() - exact));
    }
    // Across the hand-over of two curves a piece passes from one to the other as a line. The object changes curves where
    // its own signal gets there, not the sensor's.
    let jump = match equation.scale() {
        Scale::TwoRange(two) => libm::fabs(two.step()),
        Scale::Curve(_) | Scale::Linear(_) => 0.0,
    };
    let with_jump = |error: Delta| Delta(error.0.saturating_add(Delta::from_f64(jump).0));
    (head.row_error, head.scalar_error) = (with_jump(row_error), with_jump(scalar_error));
}

/// Bound of an error that was found at a point, in kelvin: a tenth more (proposal), as the largest error lies between the
/// points, and two steps of rounding.
#[inline(never)]
fn off_by(kelvin: f64) -> Delta {
    Delta::from_f64(libm::fabs(kelvin) * 1.1 + 2.0 / 65_536.0)
}

impl View<'_> {
    /// Temperature on the straight piece, knot units, without the half step.
    fn line_q8(self, counts_q8: u32) -> f64 {
        let bits = u32::from(self.head.shift) + 8;
        let i = i64::from(counts_q8 >> bits);
        let within = f64::from(counts_q8 & ((1 << bits) - 1)) / f64::from(1u32 << bits);
        let rise = f64::from(self.slope(i)) * f64::from(1u32 << (u32::from(self.head.shift) + self.dropped()));
        f64::from(self.line_start(i) as u32) - HALF_STEP as f64 + rise * within
    }
}
