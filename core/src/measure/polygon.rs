//! A polygon, as the pixel spans it covers in each row.
//!
//! *What.* Even-odd rule on pixel centers, vertices on pixel centers. *Edge rule.* A center on a left or upper edge is
//! inside, on a right or lower edge outside; so polygons that share an edge share no pixel and leave none out, and a
//! rectangle from (2, 2) to (5, 4) covers columns 2 to 4 of rows 2 and 3. Vertices may lie a pixel beyond the last column
//! and row, so that those can be covered. Mirrored vertices cover mirrored pixels if they are moved by one: to `width`
//! − x. *Why lent vertices.* A shape's memory is
//! fixed and small; only who measures polygons pays for them. *Cost.* A division per edge that crosses the row.

use crate::error::{Error, Result};
use core::ops::Range;

/// Most vertices, and with it spans per row: every second crossing begins one.
const VERTICES: usize = 16;

/// Up to eight half-open column ranges `[start, end)` of one row, in order.
pub type PolygonSpans = heapless::Vec<(u16, u16), { VERTICES / 2 }>;

/// A closed polygon in lent memory; the last vertex is joined to the first. It may cross itself: what an even number of
/// turns encloses is outside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Polygon<'v> {
    vertices: &'v [(u16, u16)],
}

impl<'v> Polygon<'v> {
    /// A polygon of 3 to 16 vertices (column, row), from (0, 0) to (`width`, `height`), both included; its pixels lie
    /// in the
    /// image.
    ///
    /// # Errors
    /// [`Error::ShapeOutside`] for another number of vertices, one outside, or if no pixel is covered.
    pub fn placed_in(vertices: &'v [(u16, u16)], width: u16, height: u16) -> Result<Self> {
        let inside = vertices.iter().all(|&(x, y)| x <= width && y <= height);
        let polygon = Self { vertices };
        if (3..=VERTICES).contains(&vertices.len()) && inside && polygon.rows().any(|y| !polygon.spans(y).is_empty()) {
            Ok(polygon)
        } else {
            Err(Error::ShapeOutside)
        }
    }

    /// Takes up again a polygon that was placed; of vertices that were not, the spans are those of the even-odd rule all the
    /// same, but may lie outside the image.
    #[must_use]
    pub const fn resume(vertices: &'v [(u16, u16)]) -> Self {
        Self { vertices }
    }

    /// Rows that can hold a pixel.
    #[must_use]
    pub fn rows(&self) -> Range<u16> {
        let rows = self.vertices.iter().map(|&(_, y)| y);
        rows.clone().min().unwrap_or(0)..rows.max().unwrap_or(0)
    }

    /// The columns covered in row `y`.
    #[must_use]
    pub fn spans(&self, y: u16) -> PolygonSpans {
        let mut crossings = [NONE; VERTICES];
        let ends = self.vertices.iter().cycle().skip(1);
        let found = self.vertices.iter().zip(ends).filter_map(|(&from, &to)| crossing(from, to, y));
        for (cell, x) in crossings.iter_mut().zip(found) {
            *cell = x;
        }
        let mut spans = PolygonSpans::new();
        while let (Some(start), Some(end)) = (take_least(&mut crossings), take_least(&mut crossings)) {
            if start < end {
                // Every second crossing begins a span, so there is room.
                let _ = spans.push((start as u16, end as u16));
            }
        }
        spans
    }

    /// Number of pixels covered.
    #[must_use]
    pub fn area(&self) -> u32 {
        self.rows().flat_map(|y| self.spans(y)).map(|(start, end)| u32::from(end - start)).sum()
    }
}

/// Marks a cell without a crossing; columns are below 2¹⁶.
const NONE: u32 = u32::MAX;

/// First column on or right of the edge in row `y`, if the edge spans the row: lower end excluded, so that a vertex
/// between two edges counts once.
///
/// *Scaling and overflow*: differences below 2¹⁶, products below 2³².
fn crossing(from: (u16, u16), to: (u16, u16), y: u16) -> Option<u32> {
    let ((x0, y0), (x1, y1)) = if from.1 <= to.1 { (from, to) } else { (to, from) };
    if y < y0 || y >= y1 {
        return None;
    }
    let (dx, dy) = (i64::from(x1) - i64::from(x0), i64::from(y1) - i64::from(y0));
    let along = i64::from(y - y0) * dx;
    // Rounded up: the negative of the quotient rounded down.
    let up = -(-along).checked_div_euclid(dy)?;
    u32::try_from(i64::from(x0) + up).ok()
}

/// Removes the least crossing.
fn take_least(crossings: &mut [u32; VERTICES]) -> Option<u32> {
    let least = crossings.iter_mut().min()?;
    let taken = core::mem::replace(least, NONE);
    (taken != NONE).then_some(taken)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    fn pixels(vertices: &[(u16, u16)]) -> Vec<(u16, u16)> {
        let Ok(polygon) = Polygon::placed_in(vertices, 40, 40) else { return Vec::new() };
        let mut all = Vec::new();
        for y in polygon.rows() {
            all.extend(polygon.spans(y).iter().flat_map(|&(start, end)| start..end).map(|x| (x, y)));
        }
        assert_eq!(all.len() as u32, polygon.area());
        all
    }

    /// Even-odd by a ray to the left, in floats; a center on an edge is left to the edge rule, so it is skipped.
    fn by_ray(vertices: &[(u16, u16)], x: u16, y: u16) -> Option<bool> {
        let (px, py) = (f64::from(x), f64::from(y));
        let mut inside = false;
        for (i, &(x0, y0)) in vertices.iter().enumerate() {
            let (x1, y1) = vertices[(i + 1) % vertices.len()];
            let (x0, y0, x1, y1) = (f64::from(x0), f64::from(y0), f64::from(x1), f64::from(y1));
            let cross = (x1 - x0) * (py - y0) - (y1 - y0) * (px - x0);
            let between = px >= x0.min(x1) && px <= x0.max(x1) && py >= y0.min(y1) && py <= y0.max(y1);
            if cross == 0.0 && between {
                return None;
            }
            // Straddling decided half a thousandth below the center, where no vertex lies.
            let ray = py + 0.0005;
            if (y0 > ray) != (y1 > ray) && x0 + (ray - y0) / (y1 - y0) * (x1 - x0) < px {
                inside = !inside;
            }
        }
        Some(inside)
    }

    proptest! {
        #[test]
        fn spans_are_the_pixels_of_the_even_odd_rule(
            vertices in proptest::collection::vec((0u16..40, 0u16..40), 3..=16),
        ) {
            let got = pixels(&vertices);
            for y in 0..40 {
                for x in 0..40 {
                    if let Some(inside) = by_ray(&vertices, x, y) {
                        prop_assert_eq!(got.contains(&(x, y)), inside, "{} {}", x, y);
                    }
                }
            }
        }

        #[test]
        fn triangles_around_a_point_tile_the_square(x in 1u16..39, y in 1u16..39) {
            let corners = [(0, 0), (39, 0), (39, 39), (0, 39)];
            let mut seen = Vec::new();
            for i in 0..4 {
                seen.extend(pixels(&[corners[i], corners[(i + 1) % 4], (x, y)]));
            }
            seen.sort_unstable();
            let mut square = pixels(&corners);
            square.sort_unstable();
            prop_assert_eq!(seen, square);
        }

        #[test]
        fn moving_the_vertices_moves_the_pixels(
            vertices in proptest::collection::vec((0u16..20, 0u16..20), 3..=9), dx in 0u16..20, dy in 0u16..20,
        ) {
            let moved: Vec<_> = vertices.iter().map(|&(x, y)| (x + dx, y + dy)).collect();
            let expected: Vec<_> = pixels(&vertices).iter().map(|&(x, y)| (x + dx, y + dy)).collect();
            prop_assert_eq!(pixels(&moved), expected);
        }
    }

    #[test]
    fn edge_rule_and_refusals() {
        let square = [(2, 2), (5, 2), (5, 4), (2, 4)];
        assert_eq!(pixels(&square), [(2, 2), (3, 2), (4, 2), (2, 3), (3, 3), (4, 3)]);
        assert_eq!(Polygon::placed_in(&square, 4, 10), Err(Error::ShapeOutside));
        // The whole image, last column and row included.
        assert_eq!(Polygon::placed_in(&[(0, 0), (10, 0), (10, 7), (0, 7)], 10, 7).unwrap().area(), 70);
        assert_eq!(Polygon::placed_in(&square[..2], 10, 10), Err(Error::ShapeOutside));
        assert_eq!(Polygon::placed_in(&[(1, 1), (5, 1), (3, 1)], 10, 10), Err(Error::ShapeOutside));
    }
}
