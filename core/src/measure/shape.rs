//! Shapes on the image, as the pixel spans they cover in each row.
//!
//! *What.* A [`Shape`] is checked once against the image ([`Shape::placed_in`]); after that, asking for the spans of a
//! row cannot fail. *Why spans.* Rows arrive one at a time, and a span is a slice: the inner loop of a measurement is
//! a walk over contiguous counts without a test per pixel. *Cost.* One or two integer square roots per row and ring,
//! two divisions more for a sector, about twenty tests of a point for an ellipse.

use super::curved::{ellipse_reach, ellipse_span, sector_range};
use crate::error::{Error, Result};

/// A shape in pixel coordinates; x grows to the right, y downward, (0, 0) is the first pixel of the first row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Shape {
    /// Square of `size` × `size` pixels around a center pixel; `size` is odd.
    Spot {
        /// Center column.
        x: u16,
        /// Center row.
        y: u16,
        /// Side in pixels, odd.
        size: u16,
    },
    /// Rectangle, both corners included.
    Box {
        /// First column.
        x0: u16,
        /// First row.
        y0: u16,
        /// Last column, not before the first.
        x1: u16,
        /// Last row, not before the first.
        y1: u16,
    },
    /// Annulus: pixels whose center distance d from the center pixel has `inner` ≤ d ≤ `outer`.
    Ring {
        /// Center column.
        x: u16,
        /// Center row.
        y: u16,
        /// Inner radius in pixels; 0 gives a disc.
        inner: u16,
        /// Outer radius in pixels, not below the inner one.
        outer: u16,
    },
    /// One of `of` equal sectors of an annulus. Sector 0 begins at three o'clock, numbers grow clockwise on the image. A
    /// pixel on the line between two sectors belongs to the later one, so the sectors of a ring are its pixels without
    /// overlap; the center pixel belongs to none.
    Sector {
        /// Center column.
        x: u16,
        /// Center row.
        y: u16,
        /// Inner radius in pixels.
        inner: u16,
        /// Outer radius in pixels, not below the inner one.
        outer: u16,
        /// Which sector, below `of`.
        index: u8,
        /// Sectors in the ring, 3 to 64.
        of: u8,
    },
    /// Ellipse, rotated as wanted: pixels whose center lies in the ellipse or on it, decided in integers.
    Ellipse {
        /// Center column.
        x: u16,
        /// Center row.
        y: u16,
        /// Columns from the center to the end of one semi-axis; that semi-axis is from 1 to 1,023 pixels long.
        axis_x: i16,
        /// Rows from the center to the end of that semi-axis.
        axis_y: i16,
        /// Length of the other semi-axis in pixels, 1 to 1,023.
        across: u16,
    },
}

/// Most sectors of a ring.
const SECTORS: u8 = 64;

/// Up to two half-open column ranges `[start, end)` of one row.
pub type Spans = heapless::Vec<(u16, u16), 2>;

impl Shape {
    /// The shape itself, if it lies wholly inside a `width` × `height` image and covers at least one pixel.
    ///
    /// # Errors
    /// [`Error::ShapeOutside`] otherwise, also for an even spot size or crossed corners or radii.
    pub fn placed_in(self, width: u16, height: u16) -> Result<Self> {
        let sound = match self {
            Self::Spot { size, .. } => size % 2 == 1,
            Self::Box { x0, y0, x1, y1 } => x0 <= x1 && y0 <= y1,
            Self::Ring { inner, outer, .. } => inner <= outer,
            Self::Sector { inner, outer, index, of, .. } => inner <= outer && index < of && (3..=SECTORS).contains(&of),
            Self::Ellipse { axis_x, axis_y, across, .. } => ellipse_reach(axis_x, axis_y, across).is_some(),
        };
        let (x0, y0, x1, y1) = self.bounds();
        let inside = x0 >= 0 && y0 >= 0 && x1 < i32::from(width) && y1 < i32::from(height);
        // A narrow sector near the center may lie between pixels; every other shape holds its center or corner.
        let covers = |y: i32| u16::try_from(y).is_ok_and(|y| !self.spans(y).is_empty());
        if sound && inside && (!matches!(self, Self::Sector { .. }) || (y0..=y1).any(covers)) {
            Ok(self)
        } else {
            Err(Error::ShapeOutside)
        }
    }

    /// Bounding box (first column, first row, last column, last row), which may reach outside the image.
    #[must_use]
    pub const fn bounds(self) -> (i32, i32, i32, i32) {
        let (x, y, r) = match self {
            Self::Spot { x, y, size } => (x as i32, y as i32, (size / 2) as i32),
            Self::Ring { x, y, outer, .. } | Self::Sector { x, y, outer, .. } => (x as i32, y as i32, outer as i32),
            Self::Ellipse { x, y, axis_x, axis_y, across } => {
                let (x, y) = (x as i32, y as i32);
                return match ellipse_reach(axis_x, axis_y, across) {
                    Some((rx, ry)) => (x - rx, y - ry, x + rx, y + ry),
                    // No ellipse: a box that no image holds.
                    None => (-1, -1, -1, -1),
                };
            }
            Self::Box { x0, y0, x1, y1 } => return (x0 as i32, y0 as i32, x1 as i32, y1 as i32),
        };
        (x - r, y - r, x + r, y + r)
    }

    /// Smallest extent in pixels across the measured material: side, shorter edge, or width of the ring; of a sector at
    /// most
    /// its length along the middle of the ring, rounded down, but at least 1.
    #[must_use]
    pub const fn least_extent(self) -> u16 {
        match self {
            Self::Spot { size, .. } => size,
            Self::Box { x0, y0, x1, y1 } => {
                let (w, h) = (x1.saturating_sub(x0), y1.saturating_sub(y0));
                (if w < h { w } else { h }).saturating_add(1)
            }
            Self::Ring { inner: 0, outer, .. } => outer.saturating_mul(2).saturating_add(1),
            Self::Ring { inner, outer, .. } => outer.saturating_sub(inner).saturating_add(1),
            Self::Sector { inner, outer, of, .. } => {
                let width = outer.saturating_sub(inner).saturating_add(1);
                // Twice the middle radius times π, as 355/113.
                let along = match ((inner as u64 + outer as u64) * 355).checked_div(of as u64 * 113) {
                    Some(0) | None => 1,
                    Some(along) => along,
                };
                if along < width as u64 { along as u16 } else { width }
            }
            Self::Ellipse { axis_x, axis_y, across, .. } => {
                let (ax, ay) = (axis_x.unsigned_abs() as u32, axis_y.unsigned_abs() as u32);
                let axis = (ax * ax + ay * ay).isqrt() as u16;
                (if axis < across { axis } else { across }).saturating_mul(2).saturating_add(1)
            }
        }
    }

    /// The `of` sectors of a ring, in order; nothing if the shape is no ring or `of` is not from 3 to 64.
    pub fn sectors(self, of: u8) -> impl Iterator<Item = Self> {
        let count = if (3..=SECTORS).contains(&of) { of } else { 0 };
        (0..count).filter_map(move |index| match self {
            Self::Ring { x, y, inner, outer } => Some(Self::Sector { x, y, inner, outer, index, of }),
            _ => None,
        })
    }

    /// Whether the pixel belongs to the shape.
    #[must_use]
    pub fn contains(self, x: u16, y: u16) -> bool {
        self.spans(y).iter().any(|&(start, end)| start <= x && x < end)
    }

    /// The columns the shape covers in row `y`; for a shape placed in the image they lie inside it.
    ///
    /// *Scaling and overflow*: radii and offsets are below 2¹⁶, so squares and their differences fit in `u32`/`i64`.
    #[must_use]
    pub fn spans(self, y: u16) -> Spans {
        let mut spans = Spans::new();
        let (x0, y0, x1, y1) = self.bounds();
        let row = i32::from(y);
        if row < y0 || row > y1 {
            return spans;
        }
        let mut add = |start: i32, end: i32| {
            if let (Ok(start), Ok(end)) = (u16::try_from(start.max(0)), u16::try_from(end))
                && start < end
            {
                // Two spans at most, by the branches below.
                let _ = spans.push((start, end));
            }
        };
        match self {
            Self::Spot { .. } | Self::Box { .. } => add(x0, x1 + 1),
            Self::Ellipse { x, y: center, axis_x, axis_y, across } => {
                let dy = row - i32::from(center);
                if let Some((first, last)) = ellipse_span(dy, axis_x, axis_y, across) {
                    add(i32::from(x) + first, i32::from(x) + last + 1);
                }
            }
            Self::Sector { x, y: center, inner, outer, index, of } => {
                let (first, last) = sector_range(row - i32::from(center), index, of);
                let (first, last) = (i32::from(x).saturating_add(first), i32::from(x).saturating_add(last));
                for (start, end) in ring_spans(i32::from(x), center.abs_diff(y), inner, outer) {
                    add(start.max(first), end.min(last.saturating_add(1)));
                }
            }
            Self::Ring { x, y: center, inner, outer } => {
                for (start, end) in ring_spans(i32::from(x), center.abs_diff(y), inner, outer) {
                    add(start, end);
                }
            }
        }
        spans
    }

    /// Number of pixels covered.
    #[must_use]
    pub fn area(self) -> u32 {
        let (_, y0, _, y1) = self.bounds();
        let first = u16::try_from(y0.max(0)).unwrap_or(u16::MAX);
        let last = u16::try_from(y1).unwrap_or(u16::MAX);
        (first..=last).flat_map(|y| self.spans(y)).map(|(start, end)| u32::from(end - start)).sum()
    }
}

/// Columns of an annulus around column `x` in the row `dy` from its center: left and right of the hole, or all in one and
/// an empty second. The caller has checked dy ≤ outer.
fn ring_spans(x: i32, dy: u16, inner: u16, outer: u16) -> [(i32, i32); 2] {
    let dy = u32::from(dy);
    let reach = half_chord(outer, dy);
    // Half-width of the hole: the largest dx with dx² + dy² < inner².
    match u32::from(inner).checked_mul(u32::from(inner)).and_then(|i| i.checked_sub(dy * dy + 1)) {
        Some(left) => {
            let hole = left.isqrt() as i32;
            [(x - reach, x - hole), (x + hole + 1, x + reach + 1)]
        }
        None => [(x - reach, x + reach + 1), (0, 0)],
    }
}

/// Largest dx with dx² + dy² ≤ radius²; the caller has checked dy ≤ radius.
fn half_chord(radius: u16, dy: u32) -> i32 {
    let r = u32::from(radius);
    (r * r).saturating_sub(dy * dy).isqrt() as i32
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn by_definition(shape: Shape, px: i64, py: i64) -> bool {
        match shape {
            Shape::Spot { x, y, size } => {
                let r = i64::from(size / 2);
                (px - i64::from(x)).abs() <= r && (py - i64::from(y)).abs() <= r
            }
            Shape::Box { x0, y0, x1, y1 } => {
                (i64::from(x0)..=i64::from(x1)).contains(&px) && (i64::from(y0)..=i64::from(y1)).contains(&py)
            }
            Shape::Ring { x, y, inner, outer } => {
                let d2 = (px - i64::from(x)).pow(2) + (py - i64::from(y)).pow(2);
                i64::from(inner).pow(2) <= d2 && d2 <= i64::from(outer).pow(2)
            }
            Shape::Sector { x, y, inner, outer, index, of } => {
                let ring = Shape::Ring { x, y, inner, outer };
                let (dx, dy) = (px - i64::from(x), py - i64::from(y));
                let turn = |i: u8| (f64::from(i) / f64::from(of) * core::f64::consts::TAU).sin_cos();
                let cross = |(sin, cos): (f64, f64)| cos * dy as f64 - sin * dx as f64;
                by_definition(ring, px, py) && cross(turn(index)) >= 0.0 && cross(turn(index + 1)) < 0.0
            }
            Shape::Ellipse { x, y, axis_x, axis_y, across } => {
                let (dx, dy) = (i128::from(px) - i128::from(x), i128::from(py) - i128::from(y));
                let (ux, uy, v) = (i128::from(axis_x), i128::from(axis_y), i128::from(across));
                let u2 = ux * ux + uy * uy;
                (dx * ux + dy * uy).pow(2) * v * v + (dx * uy - dy * ux).pow(2) * u2 <= u2 * u2 * v * v
            }
        }
    }

    fn shapes() -> impl Strategy<Value = Shape> {
        prop_oneof![
            (0u16..64, 0u16..64, 0u16..20).prop_map(|(x, y, h)| Shape::Spot { x, y, size: 2 * h + 1 }),
            (0u16..64, 0u16..64, 0u16..64, 0u16..64).prop_map(|(x0, y0, x1, y1)| Shape::Box { x0, y0, x1, y1 }),
            (0u16..64, 0u16..64, 0u16..30, 0u16..30).prop_map(|(x, y, inner, outer)| Shape::Ring {
                x,
                y,
                inner,
                outer
            }),
            (0u16..64, 0u16..64, -30i16..30, -30i16..30, 1u16..30)
                .prop_map(|(x, y, axis_x, axis_y, across)| Shape::Ellipse { x, y, axis_x, axis_y, across }),
        ]
    }

    proptest! {
        #[test]
        fn spans_are_the_pixels_of_the_definition(shape in shapes()) {
            if let Ok(shape) = shape.placed_in(64, 64) {
                let mut area = 0;
                for y in 0..64u16 {
                    for x in 0..64u16 {
                        let inside = by_definition(shape, i64::from(x), i64::from(y));
                        prop_assert_eq!(shape.contains(x, y), inside, "at {}, {}", x, y);
                        area += u32::from(inside);
                    }
                }
                prop_assert_eq!(shape.area(), area);
                prop_assert!(area > 0);
            }
        }
    }

    proptest! {
        #[test]
        fn sectors_are_the_ring_without_overlap(
            (x, y, inner, outer) in (20u16..44, 20u16..44, 0u16..20, 0u16..20), of in 3u8..=64,
        ) {
            if let Ok(ring) = (Shape::Ring { x, y, inner, outer }).placed_in(64, 64) {
                let mut area = 0;
                for sector in ring.sectors(of) {
                    prop_assert_eq!(sector.placed_in(64, 64).is_ok(), sector.area() > 0);
                    area += sector.area();
                }
                prop_assert_eq!(area, ring.area() - u32::from(inner == 0));
                for py in 0..64u16 {
                    for px in 0..64u16 {
                        let held = ring.sectors(of).filter(|sector| sector.contains(px, py)).count();
                        let center = (px, py) == (x, y);
                        prop_assert_eq!(held, usize::from(ring.contains(px, py) && !center));
                    }
                }
            }
        }

        /// The directions come from a table, good to 1/6,000: within a few pixels of the angle only the pixels that lie
        /// on the line can differ.
        #[test]
        fn sectors_lie_at_their_angles(index in 0u8..12) {
            let sector = Shape::Sector { x: 32, y: 32, inner: 3, outer: 30, index, of: 12 };
            for y in 0..64u16 {
                for x in 0..64u16 {
                    let (dx, dy) = (f64::from(x) - 32.0, f64::from(y) - 32.0);
                    let angle = dy.atan2(dx).to_degrees().rem_euclid(30.0);
                    if (0.01..29.99).contains(&angle) {
                        prop_assert_eq!(sector.contains(x, y), by_definition(sector, i64::from(x), i64::from(y)));
                    }
                }
            }
        }
    }

    #[test]
    fn largest_ellipse_does_not_overflow() {
        for (axis_x, axis_y) in [(1_023, 0), (0, 1_023), (723, 723), (-1_000, 200)] {
            let shape = Shape::Ellipse { x: 2_000, y: 2_000, axis_x, axis_y, across: 1_023 };
            assert!(shape.placed_in(4_000, 4_000).is_ok(), "{axis_x} {axis_y}");
            for y in (970..3_030u16).step_by(97) {
                for x in (970..3_030u16).step_by(103) {
                    assert_eq!(shape.contains(x, y), by_definition(shape, i64::from(x), i64::from(y)), "{x} {y}");
                }
            }
        }
    }

    /// A sector that lies between pixels is refused, and a narrow one is no wider than it is.
    #[test]
    fn narrow_sectors_are_as_narrow_as_they_are() {
        let sector = |inner, outer, of| Shape::Sector { x: 32, y: 32, inner, outer, index: 1, of };
        assert_eq!(sector(2, 2, 64).placed_in(65, 65), Err(Error::ShapeOutside));
        assert!(sector(4, 30, 64).placed_in(65, 65).is_ok());
        assert_eq!([sector(4, 30, 64), sector(4, 30, 3), sector(0, 3, 3)].map(Shape::least_extent), [1, 27, 3]);
    }

    #[test]
    fn largest_ring_does_not_overflow() {
        let ring = Shape::Ring { x: 32_767, y: 32_767, inner: 32_000, outer: 32_767 };
        assert!(ring.placed_in(u16::MAX, u16::MAX).is_ok());
        assert_eq!(ring.spans(0).as_slice(), &[(32_767, 32_768)]);
        assert_eq!(ring.spans(32_767).as_slice(), &[(0, 768), (64_767, 65_535)]);
    }

    #[test]
    fn shapes_that_reach_outside_are_refused() {
        for shape in [
            Shape::Spot { x: 0, y: 5, size: 3 },
            Shape::Spot { x: 5, y: 5, size: 2 },
            Shape::Box { x0: 4, y0: 4, x1: 3, y1: 8 },
            Shape::Box { x0: 4, y0: 4, x1: 10, y1: 8 },
            Shape::Ring { x: 5, y: 5, inner: 3, outer: 2 },
            Shape::Ring { x: 5, y: 5, inner: 3, outer: 6 },
            Shape::Sector { x: 5, y: 5, inner: 1, outer: 3, index: 2, of: 2 },
            Shape::Sector { x: 5, y: 5, inner: 1, outer: 3, index: 3, of: 3 },
            Shape::Ellipse { x: 5, y: 5, axis_x: 0, axis_y: 0, across: 2 },
            Shape::Ellipse { x: 5, y: 5, axis_x: 2, axis_y: 0, across: 0 },
            Shape::Ellipse { x: 5, y: 5, axis_x: 5, axis_y: 0, across: 2 },
            Shape::Ellipse { x: 5, y: 5, axis_x: i16::MIN, axis_y: i16::MIN, across: u16::MAX },
        ] {
            assert_eq!(shape.placed_in(10, 10), Err(Error::ShapeOutside), "{shape:?}");
        }
    }
}
