//! Mirrored pairs: how far the second part is shifted against the mirror image of the first.
//!
//! *What.* Column and row sums of two equal boxes ([`Projection`]), correlated over shifts; the best shift, to a part of a
//! pixel, places the shapes of the first part on the second. *Why sums.* Two lists instead of two pictures, and a shift of
//! both axes without a search over the plane. *Cost.* One addition to either list per pixel; at the close two correlations
//! of a list per shift tried. *Limit.* Shift only: a part that is turned or seen from another distance correlates less, and
//! the correlation says so.

use super::fit::vertex;
use super::shape::Shape;
use super::stand_in::StandIn;
use crate::error::{Error, Result};
use crate::sensor::CountRange;

/// Row and column sums of a box in lent memory.
///
/// *Scaling and overflow*: lists hold at most 2¹⁶ counts below 2¹⁶ each.
#[derive(Debug)]
pub struct Projection<'m> {
    columns: &'m mut [u32],
    rows: &'m mut [u32],
    corner: (u16, u16),
    stand_in: StandIn,
}

/// Where the second part lies against the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Registration {
    /// Whether the first part was mirrored left to right.
    pub mirrored: bool,
    /// Columns by which the second part lies to the right of where its box says, 1/256 pixel.
    pub dx_q8: i32,
    /// Rows by which it lies below, 1/256 pixel.
    pub dy_q8: i32,
    /// How sure: the smaller of the two correlations of the sums at that shift, in 1/1,000. Below
    /// [`LEAST_PAIR_CONFIDENCE`],
    /// or more for short sums, there is no registration.
    pub confidence: u16,
    /// First column and row of either box, and the columns of both.
    boxes: ([u16; 2], [u16; 2], u16),
}

/// Least correlation that is believed, in 1/1,000; a proposal.
pub const LEAST_PAIR_CONFIDENCE: u16 = 700;
/// Standard deviations by which a correlation must pass that of independent noise, as Fisher's transform has it: artanh r
/// scatters by 1/√(n − 3). Some ten shifts are tried on two axes, both of which must pass (proposal; by draws below one
/// pair
/// in a thousand).
const BEYOND_NOISE: f64 = 3.5;
/// Another shift, more than two pixels away from the best, must correlate less by this much; a proposal.
const CLEARER_BY: f64 = 0.03;

impl<'m> Projection<'m> {
    /// Empty sums of a box; `columns` and `rows` are as long as the box is wide and high.
    ///
    /// # Errors
    /// [`Error::ShapeOutside`] if the shape is no box, [`Error::TooSmall`] for lists of another length.
    pub fn new(columns: &'m mut [u32], rows: &'m mut [u32], shape: Shape) -> Result<Self> {
        let Shape::Box { x0, y0, x1, y1 } = shape else { return Err(Error::ShapeOutside) };
        let long = |from: u16, to: u16| to.checked_sub(from).map(|last| usize::from(last) + 1);
        if long(x0, x1) != Some(columns.len()) || long(y0, y1) != Some(rows.len()) {
            return Err(Error::TooSmall);
        }
        columns.fill(0);
        rows.fill(0);
        Ok(Self { columns, rows, corner: (x0, y0), stand_in: StandIn::NONE })
    }

    /// Adds what row `y` of a frame holds of the box; one frame. A count at or below `dead` or at or above `saturated` is
    /// replaced by the one before it, or by the first of its row. Rows without any before the first reading stay 0.
    pub fn add_row(&mut self, y: u16, row: &[u16], dead: u16, saturated: u16) {
        let (x0, y0) = self.corner;
        let Some(row_sum) = y.checked_sub(y0).and_then(|y| self.rows.get_mut(usize::from(y))) else { return };
        let pixels = row.get(usize::from(x0)..).unwrap_or(&[]);
        let pixels = pixels.get(..self.columns.len()).unwrap_or(pixels);
        let counts = self.stand_in.fill(pixels, CountRange::between(dead, saturated));
        for (column_sum, count) in self.columns.iter_mut().zip(counts) {
            *column_sum = column_sum.saturating_add(count);
            *row_sum = row_sum.saturating_add(count);
        }
    }

    /// Finds the shift of `second` against this, or against its mirror image, up to `reach` pixels either way.
    ///
    /// `None` is the answer where nothing sure can be said: boxes of different size, sums without structure, a correlation
    /// below 0.7 or below what sums of independent noise of that length reach (0.75 for an overlap of 24 pixels, 0.9 of 12,
    /// 0.97 of 8), the best shift at the end of the reach, or another one that is nearly as good (a pattern that repeats).
    ///
    /// *Limit.* No uncertainty is given: with a correlation above 0.9 shifts were good to 0.2 pixels (by draws). Two parts
    /// that are smooth alike, such as two plain ramps, correlate without being the same.
    #[must_use]
    pub fn register(&self, second: &Projection<'_>, mirrored: bool, reach: u16) -> Option<Registration> {
        let columns = best_shift(self.columns, second.columns, mirrored, reach)?;
        let rows = best_shift(self.rows, second.rows, false, reach)?;
        let corners = |corner: (u16, u16)| [corner.0, corner.1];
        Some(Registration {
            mirrored,
            dx_q8: columns.0,
            dy_q8: rows.0,
            confidence: columns.1.min(rows.1),
            boxes: (corners(self.corner), corners(second.corner), u16::try_from(self.columns.len()).ok()?),
        })
    }
}

impl Registration {
    /// A shape on the first part, placed on the second, to the nearest pixel. `None` if it would begin outside the image,
    /// or for a sector in a mirrored pair (its mirror image is no sector of the same numbering). Check it with
    /// [`Shape::placed_in`].
    #[must_use]
    pub fn carry(&self, shape: Shape) -> Option<Shape> {
        let ([x0, y0], [to_x0, to_y0], columns) = self.boxes;
        let nearest = |q8: i32| (q8 + 128) >> 8;
        let x = |x: u16| {
            let inside = i32::from(x) - i32::from(x0);
            let inside = if self.mirrored { i32::from(columns) - 1 - inside } else { inside };
            u16::try_from(i32::from(to_x0) + inside + nearest(self.dx_q8)).ok()
        };
        let y = |y: u16| u16::try_from(i32::from(to_y0) + i32::from(y) - i32::from(y0) + nearest(self.dy_q8)).ok();
        Some(match shape {
            Shape::Spot { x: cx, y: cy, size } => Shape::Spot { x: x(cx)?, y: y(cy)?, size },
            Shape::Box { x0, y0, x1, y1 } => {
                let (left, right) = if self.mirrored { (x1, x0) } else { (x0, x1) };
                Shape::Box { x0: x(left)?, y0: y(y0)?, x1: x(right)?, y1: y(y1)? }
            }
            Shape::Ring { x: cx, y: cy, inner, outer } => Shape::Ring { x: x(cx)?, y: y(cy)?, inner, outer },
            Shape::Ellipse { x: cx, y: cy, axis_x, axis_y, across } => {
                let axis_x = if self.mirrored { axis_x.saturating_neg() } else { axis_x };
                Shape::Ellipse { x: x(cx)?, y: y(cy)?, axis_x, axis_y, across }
            }
            Shape::Sector { .. } if self.mirrored => return None,
            Shape::Sector { x: cx, y: cy, inner, outer, index, of } => {
                Shape::Sector { x: x(cx)?, y: y(cy)?, inner, outer, index, of }
            }
        })
    }
}

/// Correlation of `first` (mirrored or not) with `second` shifted by `shift`: first[i] with second[i + shift].
///
/// *Scaling and overflow*: integers throughout. Values are reduced to 16 bits over their own range beforehand, so products
/// have 32 bits and sums of 2¹⁶ of them 48; only the closing division is in floats.
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per shift tried")]
fn correlation(first: &[u32], second: &[u32], mirrored: bool, shift: i32) -> Option<f64> {
    let scaled = |list: &[u32]| {
        let low = list.iter().copied().min().unwrap_or(0);
        let range = list.iter().copied().max().unwrap_or(0).saturating_sub(low);
        (low, u32::BITS.saturating_sub(range.leading_zeros()).saturating_sub(16))
    };
    let ((low_a, shift_a), (low_b, shift_b)) = (scaled(first), scaled(second));
    let (skip_a, skip_b) = (shift.min(0).unsigned_abs() as usize, shift.max(0).unsigned_abs() as usize);
    let (mut n, mut a1, mut b1, mut aa, mut bb, mut ab) = (0u64, 0u64, 0u64, 0u64, 0u64, 0u64);
    let mut add = |a: u32, b: u32| {
        let (a, b) = (u64::from((a - low_a) >> shift_a), u64::from((b - low_b) >> shift_b));
        (n, a1, b1, aa, bb, ab) = (n + 1, a1 + a, b1 + b, aa + a * a, bb + b * b, ab + a * b);
    };
    let second = second.iter().skip(skip_b);
    if mirrored {
        first.iter().rev().skip(skip_a).zip(second).for_each(|(&a, &b)| add(a, b));
    } else {
        first.iter().skip(skip_a).zip(second).for_each(|(&a, &b)| add(a, b));
    }
    let (n, a1, b1) = (n as f64, a1 as f64, b1 as f64);
    let (va, vb) = (n * aa as f64 - a1 * a1, n * bb as f64 - b1 * b1);
    (n >= 3.0 && va > 0.0 && vb > 0.0).then(|| (n * ab as f64 - a1 * b1) / libm::sqrt(va * vb))
}

/// Best shift in 1/256 and its correlation in 1/1,000.
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per shift tried")]
fn best_shift(first: &[u32], second: &[u32], mirrored: bool, reach: u16) -> Option<(i32, u16)> {
    // At least half of the lists must overlap, or a few end values decide.
    let reach = i32::from(reach).min(i32::try_from(first.len() / 2).ok()?);
    if first.len() != second.len() || reach < 2 {
        return None;
    }
    let at = |shift: i32| correlation(first, second, mirrored, shift);
    let (mut best, mut value) = (0, f64::MIN);
    for shift in -reach..=reach {
        if let Some(r) = at(shift)
            && r > value
        {
            (best, value) = (shift, r);
        }
    }
    let overlap = first.len().saturating_sub(best.unsigned_abs() as usize) as f64;
    let by_noise = libm::tanh(BEYOND_NOISE / libm::sqrt((overlap - 3.0).max(0.1)));
    if value * 1_000.0 < f64::from(LEAST_PAIR_CONFIDENCE) || value < by_noise || best.abs() == reach {
        return None;
    }
    // A rival is a maximum of its own: the flank of the best one falls all the way.
    let rival = (1 - reach..reach).filter(|&shift| shift.abs_diff(best) > 2).any(|shift| {
        let (Some(before), Some(here), Some(after)) = (at(shift - 1), at(shift), at(shift + 1)) else { return false };
        here >= before && here >= after && here > value - CLEARER_BY
    });
    if rival {
        return None;
    }
    let (before, after) = (at(best - 1)?, at(best + 1)?);
    let part = vertex(before, value, after);
    Some(((best << 8) + libm::round(part * 256.0) as i32, libm::round(value * 1_000.0) as u16))
}
