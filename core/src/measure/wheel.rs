//! Finds a ring, such as a brake rotor behind a wheel, by the directions of its edges.
//!
//! *What.* At the edge of a disc the steepest direction points to or from its center. Every steep pixel votes for the
//! places along that direction; where the votes of a whole circumference meet is the center. A second, finer vote around
//! it, then the radii at which edges point at it from all around, then two fits of both circles give the center to a
//! part of
//! a pixel. *Integers* per pixel; two small solutions in f64. *Cost.* Ten instructions for a pixel that is not steep, a
//! hundred and more for one that is. *Limit.* Circles:
//! seen at an angle of 20° a ring is 6 % narrower and its edges miss the center. Roundness is not tested beyond that edges
//! point at the center and lie within a few pixels of a radius: a hexagon with a hole is found as a ring as surely as a
//! round one, and a square frame mostly. Search where a ring must be. What is seen along too little is not given.

use super::arc::{Arc, Edge, moved};
use super::shape::Shape;
use super::squared;
use crate::error::{Error, Quantity, Result};
use crate::sensor::CountRange;

/// What to look for.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RingSearch {
    /// Columns of the image, at least 16.
    pub width: u16,
    /// Rows of the image, at least 16.
    pub height: u16,
    /// Least inner radius, at least 4 pixels.
    pub least_radius: u16,
    /// Greatest outer radius, at most 1,023 pixels.
    pub greatest_radius: u16,
    /// Least difference over two pixels that makes an edge, counts: five times the noise of a pixel or more.
    pub edge: u16,
    /// Counts at or below are no temperatures.
    pub dead: u16,
    /// Counts at or above are no temperatures.
    pub saturated: u16,
}

/// Lent memory of a search.
#[derive(Debug)]
pub struct RingMemory<'m> {
    /// Two rows: twice the width.
    pub rows: &'m mut [u16],
    /// Votes, at least [`RingSearch::least_votes`]; with more, the first pass is finer.
    pub votes: &'m mut [u16],
    /// A cell for each radius: the greatest radius and two.
    pub radii: &'m mut [RadiusCell],
}

/// Directions in which an edge was seen at a radius, one bit for each 32nd of the circumference.
#[derive(Clone, Copy, Debug, Default)]
pub struct RadiusCell {
    /// Hotter outward.
    rises: u32,
    /// Colder outward.
    falls: u32,
    /// Sums of the steepness of either kind.
    rise: u32,
    fall: u32,
}

/// A ring that was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FoundRing {
    /// Column of the center, 1/256 pixel.
    pub x_q8: u32,
    /// Row of the center, 1/256 pixel.
    pub y_q8: u32,
    /// Radius of the inner edge, where it is steepest, 1/256 pixel.
    pub inner_q8: u32,
    /// Radius of the outer edge, likewise.
    pub outer_q8: u32,
    /// True if the ring is hotter than what is on either side, false if colder.
    pub hotter: bool,
    /// How sure, in 1/1,000: the part of the circumference along which an edge that points at the center was seen; the
    /// lesser of both edges. A caliper in front of a rotor costs its share. Never below [`LEAST_RING_CONFIDENCE`].
    pub confidence: u16,
}

/// Part of the circumference below which no ring is given, in 1/1,000; a proposal.
pub const LEAST_RING_CONFIDENCE: u16 = 600;
/// How often the center is moved to fit both circles (proposal).
const REFINEMENTS: usize = 2;
/// Side of the window of the second pass, pixels: the first is good to a cell and a half of at most 8 pixels (derived).
const WINDOW: u16 = 24;
/// Largest cell of the first pass: 8 pixels, log2 (proposal).
const COARSEST: u8 = 3;
/// Pixels that an edge may lie off its radius either way, by blur and by the center (proposal).
const SMEAR: usize = 1;

impl FoundRing {
    /// The ring as a shape, narrower by `margin` pixels on either side so that blurred edges stay out; `None` if nothing
    /// is left.
    #[must_use]
    pub fn shape(&self, margin: u16) -> Option<Shape> {
        let nearest = |q8: u32| u16::try_from((q8 + 128) >> 8).ok();
        let inner = u16::try_from(self.inner_q8.div_ceil(256)).ok()?.checked_add(margin)?;
        let outer = u16::try_from(self.outer_q8 >> 8).ok()?.checked_sub(margin)?;
        let shape = Shape::Ring { x: nearest(self.x_q8)?, y: nearest(self.y_q8)?, inner, outer };
        (inner <= outer).then_some(shape)
    }
}

impl RingSearch {
    /// Fewest votes to lend for this image.
    #[must_use]
    pub const fn least_votes(&self) -> usize {
        let coarse = (self.width as usize).div_ceil(1 << COARSEST) * (self.height as usize).div_ceil(1 << COARSEST);
        let window = WINDOW as usize * WINDOW as usize;
        if coarse > window { coarse } else { window }
    }

    /// Looks for the ring in a frame, `width` × `height` counts in raster order. It is read seven times, so it must be
    /// kept; measure the ring in the frames after it.
    ///
    /// `None` if no center stands out or either edge is seen along less than 0.6 of the circumference.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a size or radius outside its range, [`Error::WrongLength`] for another frame,
    /// [`Error::TooSmall`] for too little memory.
    pub fn find(&self, frame: &[u16], memory: &mut RingMemory<'_>) -> Result<Option<FoundRing>> {
        let (width, height) = (usize::from(self.width), usize::from(self.height));
        let radii = self.least_radius >= 4 && self.least_radius <= self.greatest_radius && self.greatest_radius < 1_024;
        if width < 16 || height < 16 || !radii {
            return Err(Error::OutOfRange(Quantity::ImageSize));
        }
        if frame.len() != width * height {
            return Err(Error::WrongLength);
        }
        let rows = memory.rows.get_mut(..2 * width).ok_or(Error::TooSmall)?;
        let cells = memory.radii.get_mut(..usize::from(self.greatest_radius) + 2).ok_or(Error::TooSmall)?;
        if memory.votes.len() < self.least_votes() {
            return Err(Error::TooSmall);
        }
        let cell_log2 = (1..COARSEST)
            .find(|&log2| width.div_ceil(1 << log2) * height.div_ceil(1 << log2) <= memory.votes.len())
            .unwrap_or(COARSEST);
        let whole = |pixels: u16| u16::try_from(usize::from(pixels).div_ceil(1 << cell_log2)).unwrap_or(u16::MAX);
        let coarse = Grid { x0: 0, y0: 0, columns: whole(self.width), rows: whole(self.height), cell_log2 };
        let Some((x, y)) = self.vote(frame, rows, memory.votes, coarse) else { return Ok(None) };
        let corner = |center_q8: u32, size: u16| {
            let begin = (center_q8 >> 8) as i32 - i32::from(WINDOW / 2);
            begin.clamp(0, i32::from(size.saturating_sub(WINDOW))) as u16
        };
        let (x0, y0) = (corner(x, self.width), corner(y, self.height));
        let fine = Grid { x0, y0, columns: WINDOW, rows: WINDOW, cell_log2: 0 };
        let Some(mut center) = self.vote(frame, rows, memory.votes, fine) else { return Ok(None) };
        for _ in 0..REFINEMENTS {
            let Some(ring) = self.seen(frame, rows, cells, center) else { return Ok(None) };
            let circles = [(ring.inner_q8, ring.hotter), (ring.outer_q8, !ring.hotter)];
            let mut arcs = [Arc::EMPTY; 2];
            self.steep(frame, rows, |edge| {
                for (arc, (radius_q8, rising)) in arcs.iter_mut().zip(circles) {
                    arc.add(edge, center, radius_q8, rising);
                }
            });
            let Some(moved) = moved(center, &arcs) else { return Ok(None) };
            center = moved;
        }
        Ok(self.seen(frame, rows, cells, center))
    }

    /// Calls `each` for every steep pixel of the frame. The rows are kept in lent memory, as they would be of a stream.
    fn steep(&self, frame: &[u16], kept: &mut [u16], mut each: impl FnMut(Edge)) {
        let width = usize::from(self.width);
        let (above, middle) = kept.split_at_mut(width.min(kept.len()));
        let least = u64::from(self.edge.max(1)) * u64::from(self.edge.max(1));
        let range = CountRange::between(self.dead, self.saturated);
        for (y, row) in frame.chunks_exact(width.max(1)).enumerate() {
            if y >= 2 {
                let around = middle.iter().zip(middle.iter().skip(2));
                let beside = above.iter().skip(1).zip(row.iter().skip(1));
                for (x, ((&left, &right), (&up, &down))) in around.zip(beside).enumerate() {
                    let (gx, gy) = (i32::from(right) - i32::from(left), i32::from(down) - i32::from(up));
                    let square = squared(gx) + squared(gy);
                    if square >= least && [left, right, up, down].into_iter().all(|count| range.holds(count)) {
                        each(Edge { x: x as i32 + 1, y: y as i32 - 1, gx, gy, steepness: square.isqrt() as i32 });
                    }
                }
            }
            for ((above, middle), &count) in above.iter_mut().zip(middle.iter_mut()).zip(row) {
                (*above, *middle) = (*middle, count);
            }
        }
    }

    /// Votes on a grid and returns the place where most meet, in 1/256 pixel.
    fn vote(&self, frame: &[u16], kept: &mut [u16], votes: &mut [u16], grid: Grid) -> Option<(u32, u32)> {
        let columns = usize::from(grid.columns);
        let votes = votes.get_mut(..columns * usize::from(grid.rows))?;
        votes.fill(0);
        self.steep(frame, kept, |edge| {
            // A unit vector in 1/256 and steps of a cell; |gx| ≤ steepness < 2¹⁷.
            let unit = |g: i32| (g << 8).checked_div(edge.steepness).unwrap_or(0);
            let (ux, uy) = (unit(edge.gx), unit(edge.gy));
            for sign in [-1, 1] {
                for radius in (self.least_radius..=self.greatest_radius).step_by(1 << grid.cell_log2) {
                    let far = sign * i32::from(radius);
                    let to =
                        |at: i32, u: i32, from: u16| (at - i32::from(from) + ((u * far + 128) >> 8)) >> grid.cell_log2;
                    let (column, row) = (to(edge.x, ux, grid.x0), to(edge.y, uy, grid.y0));
                    if (0..i32::from(grid.columns)).contains(&column)
                        && (0..i32::from(grid.rows)).contains(&row)
                        && let Some(vote) = votes.get_mut(row as usize * columns + column as usize)
                    {
                        *vote = vote.saturating_add(1);
                    }
                }
            }
        });
        grid.best(votes)
    }

    /// Notes all edges that point at a center; the ring around it by the best two.
    fn seen(&self, frame: &[u16], kept: &mut [u16], cells: &mut [RadiusCell], center: (u32, u32)) -> Option<FoundRing> {
        cells.fill(RadiusCell::default());
        self.steep(frame, kept, |edge| self.see(cells, edge, center));
        let (inner, outer, hotter, confidence) = self.best_edges(cells)?;
        let of = |rising| if rising { |cell: &RadiusCell| cell.rise } else { |cell: &RadiusCell| cell.fall };
        let (inner_q8, outer_q8) = (steepest(cells, inner, of(hotter)), steepest(cells, outer, of(!hotter)));
        Some(FoundRing { x_q8: center.0, y_q8: center.1, inner_q8, outer_q8, hotter, confidence })
    }

    /// Notes an edge that points at the center.
    fn see(&self, cells: &mut [RadiusCell], edge: Edge, center: (u32, u32)) {
        let Some(((dx, dy), radius_q8, rises)) = edge.seen_from(center) else { return };
        let nearest = ((radius_q8 + 128) >> 8) as usize;
        if nearest < usize::from(self.least_radius) {
            return;
        }
        if let Some(cell) = cells.get_mut(nearest) {
            let bit = 1u32 << direction(dx, dy);
            let (seen, sum) = if rises { (&mut cell.rises, &mut cell.rise) } else { (&mut cell.falls, &mut cell.fall) };
            *seen |= bit;
            *sum = sum.saturating_add(edge.steepness as u32);
        }
    }

    /// The two radii at which the edges of a ring are seen best: inner, outer, hotter between them, confidence.
    fn best_edges(&self, cells: &[RadiusCell]) -> Option<(u16, u16, bool, u16)> {
        let around = |radius: usize, of: fn(&RadiusCell) -> u32| {
            let near = cells.iter().skip(radius.saturating_sub(SMEAR)).take(2 * SMEAR + 1);
            // Of neighbors that see as much together, the one that sees most itself is nearer to the edge.
            let own = cells.get(radius).map_or(0, |cell| of(cell).count_ones());
            (near.fold(0, |seen, cell| seen | of(cell)).count_ones(), own)
        };
        let mut best: Option<((u32, u32), u16, u16, bool)> = None;
        let radii = self.least_radius..=self.greatest_radius;
        let mut consider = |inner_edge: fn(&RadiusCell) -> u32, outer_edge: fn(&RadiusCell) -> u32, hotter: bool| {
            // Best inner edge so far, for each outer one.
            let mut inner: Option<((u32, u32), u16)> = None;
            for radius in radii.clone() {
                if let Some((seen, from)) = inner
                    && radius > from + 2 * SMEAR as u16
                {
                    let outer = around(usize::from(radius), outer_edge);
                    let lesser = (seen.0.min(outer.0), seen.1 + outer.1);
                    if best.is_none_or(|(most, ..)| lesser > most) {
                        best = Some((lesser, from, radius, hotter));
                    }
                }
                let seen = around(usize::from(radius), inner_edge);
                if inner.is_none_or(|(most, _)| seen > most) {
                    inner = Some((seen, radius));
                }
            }
        };
        consider(|cell| cell.rises, |cell| cell.falls, true);
        consider(|cell| cell.falls, |cell| cell.rises, false);
        let ((seen, _), inner, outer, hotter) = best?;
        let confidence = (seen * 1_000 / 32) as u16;
        (confidence >= LEAST_RING_CONFIDENCE).then_some((inner, outer, hotter, confidence))
    }
}

/// Radius in 1/256 pixel at which an edge is steepest: center of gravity of the steepness within three pixels. Fewer pixels
/// lie on a smaller circle, so their sums are divided by the radius.
fn steepest(cells: &[RadiusCell], radius: u16, of: fn(&RadiusCell) -> u32) -> u32 {
    const REACH: usize = 3;
    let from = usize::from(radius).saturating_sub(REACH);
    let near = cells.iter().enumerate().skip(from).take(2 * REACH + 1);
    // 32 bits of sum, 8 more against rounding, 18 of the radius, 3 of the number: 61.
    let (weights, moments) = near.fold((0u64, 0u64), |(weights, moments), (radius, cell)| {
        let weight = (u64::from(of(cell)) << 8).checked_div(radius as u64).unwrap_or(0);
        (weights + weight, moments + weight * ((radius as u64) << 8))
    });
    moments.checked_div(weights).map_or(u32::from(radius) << 8, |radius| radius as u32)
}

/// Where votes are counted.
#[derive(Clone, Copy, Debug)]
struct Grid {
    x0: u16,
    y0: u16,
    columns: u16,
    rows: u16,
    cell_log2: u8,
}

impl Grid {
    /// Center of gravity of the 3 × 3 cells with most votes, 1/256 pixel; `None` without votes.
    fn best(&self, votes: &[u16]) -> Option<(u32, u32)> {
        let columns = usize::from(self.columns);
        let at = |column: usize, row: usize| votes.get(row * columns + column).copied().map_or(0, u32::from);
        let (mut most, mut place) = (0, None);
        for row in 1..usize::from(self.rows).saturating_sub(1) {
            for column in 1..columns.saturating_sub(1) {
                let sum = (0..9).map(|i| at(column + i % 3 - 1, row + i / 3 - 1)).sum::<u32>();
                if sum > most {
                    (most, place) = (sum, Some((column, row)));
                }
            }
        }
        let (column, row) = place?;
        let moment = |part: fn(usize) -> i32| {
            let sum: i32 = (0..9).map(|i| at(column + i % 3 - 1, row + i / 3 - 1) as i32 * part(i)).sum();
            (sum << 8).checked_div_euclid(most as i32).unwrap_or(0)
        };
        let to_pixels = |cell: usize, part_q8: i32, from: u16| {
            // Middle of a cell: half its pixels less a half; 9 · 2¹⁶ votes at most, times 2⁸.
            let half_q8 = ((256 << self.cell_log2) - 256) / 2;
            let place = (((cell as i32) << 8) + part_q8) << self.cell_log2;
            u32::try_from(place + half_q8 + (i32::from(from) << 8)).ok()
        };
        let x = to_pixels(column, moment(|i| (i % 3) as i32 - 1), self.x0)?;
        let y = to_pixels(row, moment(|i| (i / 3) as i32 - 1), self.y0)?;
        Some((x, y))
    }
}

/// Which 32nd of the circumference a direction falls in: eight parts of each quadrant by |dy|/(|dx| + |dy|), 5.3° to 8.1°
/// wide.
fn direction(dx: i32, dy: i32) -> u32 {
    let (ax, ay) = (dx.unsigned_abs(), dy.unsigned_abs());
    let part = (ay * 8).checked_div(ax + ay).unwrap_or(0).min(7);
    u32::from(dx < 0) * 16 + u32::from(dy < 0) * 8 + part
}
