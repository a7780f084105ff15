//! A ring unwrapped to a line, and the one place along it that stands out.
//!
//! *What.* The pixels of a ring are sorted by their direction from its center into equal parts, so that the seat of a bead
//! or the surroundings of a spot become a line that closes on itself. *Why.* What changes slowly along a ring, such as
//! warm air above and a cold floor below, is no fault; what changes within a few parts is. Each part is held against the
//! median of its neighborhood, and the scatter of all parts says how much is much. *Memory* is lent, a
//! [`LinePart`] each. *Cost.* Some forty instructions for a pixel of the ring, none for others; the search takes
//! some ten passes over the neighborhood of every part.

use super::normal_scatter::DEVIATION_PER_MAD_Q8;
use super::shape::Shape;
use crate::error::{Error, Result};
use crate::regions::Sign;
use crate::sensor::CountRange;

/// Sum over one part of the line.
///
/// *Scaling and overflow*: takes no more pixels once it has 2¹⁶ − 1, so the sum stays below 2³².
#[derive(Clone, Copy, Debug, Default)]
pub struct LinePart {
    sum: u32,
    pixels: u16,
}

impl LinePart {
    /// Nothing summed.
    pub const EMPTY: Self = Self { sum: 0, pixels: 0 };

    /// Adds a count.
    fn add(&mut self, count: u16) {
        if self.pixels < u16::MAX {
            self.pixels += 1;
            self.sum += u32::from(count);
        }
    }

    /// Mean in 1/256 count; `None` of nothing.
    #[must_use]
    pub fn mean_q8(&self) -> Option<i32> {
        let pixels = u32::from(self.pixels);
        // Whole part and 8 bits more, each in 32 bits.
        let whole = self.sum.checked_div(pixels)?;
        let rest = (self.sum - whole * pixels) << 8;
        Some((whole << 8) as i32 + rest.checked_div(pixels)? as i32)
    }
}

/// A ring that is unwrapped; holds no references.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unwrapped {
    ring: Shape,
    center: (i32, i32),
    parts: u16,
}

/// Least and most parts of a line. A proposal.
const PARTS: core::ops::RangeInclusive<usize> = 8..=1_024;
/// Pixels in a part along the ring's middle, in quarters: a spot of three pixels then fills two (proposal).
const PIXELS_PER_PART_Q2: u32 = 6;

/// Parts on either side of an excursion that may belong to it: 9 pixels, half of a spot of 15 mm (vehicle notes 2.1) at
/// 0.8 mm a pixel. A proposal.
const NEAR: usize = 6;

impl Unwrapped {
    /// Unwraps a ring into this many parts; the first begins at three o'clock, numbers grow clockwise on the image.
    ///
    /// # Errors
    /// [`Error::ShapeOutside`] if the shape is no ring or the parts are not from 8 to 1,024.
    pub fn new(ring: Shape, parts: usize) -> Result<Self> {
        match (ring, u16::try_from(parts)) {
            (Shape::Ring { x, y, .. }, Ok(number)) if PARTS.contains(&parts) => {
                Ok(Self { ring, center: (i32::from(x), i32::from(y)), parts: number })
            }
            _ => Err(Error::ShapeOutside),
        }
    }

    /// Parts of one and a half pixels along the middle of a ring, at least 8 and at most 1,024; 0 for other shapes.
    #[must_use]
    pub fn parts_of(ring: Shape) -> usize {
        let Shape::Ring { inner, outer, .. } = ring else { return 0 };
        // Twice the middle radius times π, as 355/113.
        let along = (u32::from(inner) + u32::from(outer)) * 355 / 113;
        ((along * 4 / PIXELS_PER_PART_Q2) as usize).clamp(*PARTS.start(), *PARTS.end())
    }

    /// Adds row `y` of an image. Parts beyond the lent ones are left out.
    pub fn add_row(&self, line: &mut [LinePart], y: u16, row: &[u16], range: CountRange) {
        let dy = i32::from(y) - self.center.1;
        for (start, end) in self.ring.spans(y) {
            let seen = row.get(usize::from(start)..usize::from(end)).unwrap_or(&[]);
            for (dx, &count) in (i32::from(start) - self.center.0..).zip(seen) {
                if range.holds(count)
                    && let Some(part) = line.get_mut(self.part_at(dx, dy))
                {
                    part.add(count);
                }
            }
        }
    }

    /// Pixel nearest to the middle of what stands out near an excursion, and how many pixels that is: those of the ring
    /// up to [`NEAR`] parts away that pass `level_q8` by half its excess or more in the direction of the sign. `None` if
    /// there is none.
    pub(crate) fn center_of<'r>(
        &self,
        rows: impl Iterator<Item = (u16, &'r [u16])>,
        found: Excursion,
        (level_q8, sign): (i32, Sign),
        range: CountRange,
    ) -> Option<(u16, u16, u32)> {
        let (mut pixels, mut sum_x, mut sum_y) = (0u32, 0u64, 0u64);
        let parts = usize::from(self.parts);
        for (y, row) in rows {
            let dy = i32::from(y) - self.center.1;
            for (start, end) in self.ring.spans(y) {
                for x in start..end {
                    let count = row.get(usize::from(x)).copied().filter(|&count| range.holds(count));
                    let part = self.part_at(i32::from(x) - self.center.0, dy);
                    let apart = part.abs_diff(found.part);
                    let near = apart.min(parts - apart.min(parts)) <= NEAR;
                    let over = count.map_or(0, |count| (i32::from(count) << 8) - level_q8);
                    let over = if sign == Sign::Hot { over } else { -over };
                    if count.is_some() && near && 2 * i64::from(over) >= i64::from(found.excess_q8) {
                        pixels += 1;
                        sum_x += u64::from(x);
                        sum_y += u64::from(y);
                    }
                }
            }
        }
        let middle = |sum: u64| (sum + u64::from(pixels / 2)).checked_div(u64::from(pixels)).map(|sum| sum as u16);
        Some((middle(sum_x)?, middle(sum_y)?, pixels))
    }

    /// Number of the part in this direction from the center.
    #[must_use]
    pub(crate) fn part_at(&self, dx: i32, dy: i32) -> usize {
        ((turn(dx, dy) * u32::from(self.parts)) >> 16) as usize
    }
}

/// Direction from the center, a full turn being 65,536; clockwise from three o'clock, with y downward.
///
/// *Error* below 0.22°, a third of a pixel at 85 pixels from the center: the arc tangent of t from 0 to 1 as
/// π/4·t + 0.273·t·(1 − t) (memory: Rajan, Wang, Inkol and Joyal, IEEE Signal Processing Magazine, May 2006).
fn turn(dx: i32, dy: i32) -> u32 {
    /// A quarter turn, and 0.273 rad.
    const QUARTER: u32 = 16_384;
    const BEND: u32 = 2_847;
    let (ax, ay) = (dx.unsigned_abs(), dy.unsigned_abs());
    let (lesser, greater) = (ax.min(ay), ax.max(ay));
    let t = (lesser << 15).checked_div(greater).unwrap_or(0);
    let bend = ((32_768 - t) * BEND) >> 15;
    let octant = ((t * (QUARTER / 2)) >> 15) + ((t * bend) >> 15);
    let quadrant = if ay > ax { QUARTER - octant } else { octant };
    let half = if dx < 0 { 2 * QUARTER - quadrant } else { quadrant };
    (if dy < 0 { 4 * QUARTER - half } else { half }) & 0xffff
}

/// What stands out along a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Excursion {
    /// The part that stands out most.
    pub part: usize,
    /// By how much against the median of its neighborhood, 1/256 count, positive in the direction looked for.
    pub excess_q8: i32,
    /// Standard deviation of the parts against theirs, 1/256 count, at least 1: 1.4826 times the median deviation.
    pub scatter_q8: i32,
}

impl Excursion {
    /// The strongest excursion of this sign along a line that closes on itself, each part against the median of those up
    /// to `reach` parts away. `excess` is lent, one for each part, and holds what each has over its neighborhood
    /// afterward. `None` if a part is empty, if there are fewer than 8, or for too little memory.
    ///
    /// Whether it is significant is for the caller to say; the most of n normal deviations is 2.5 to 3.5 of them by
    /// chance.
    #[must_use]
    pub fn strongest(line: &[LinePart], excess: &mut [i32], reach: usize, sign: Sign) -> Option<Self> {
        let n = line.len();
        let excess = excess.get_mut(..n).filter(|excess| excess.len() >= *PARTS.start())?;
        let reach = reach.min(n / 2);
        let means = || line.iter().filter_map(LinePart::mean_q8);
        if means().count() < n {
            return None;
        }
        let range = (means().min()?, means().max()?);
        for (part, excess) in excess.iter_mut().enumerate() {
            // `checked_rem`: the remainder of a division by a variable keeps its panic.
            let around = (0..=2 * reach).filter_map(|i| line.get((part + n + i - reach).checked_rem(n)?)?.mean_q8());
            let over = line.get(part)?.mean_q8()? - lower_median(around, range)?;
            *excess = if sign == Sign::Hot { over } else { -over };
        }
        // First of the strongest.
        let (part, &strongest) = excess.iter().enumerate().min_by_key(|&(_, &excess)| -excess)?;
        let median = lower_median(excess.iter().map(|excess| excess.abs()), (0, range.1 - range.0))?;
        let scatter_q8 = (median.saturating_mul(DEVIATION_PER_MAD_Q8) >> 8).max(1);
        Some(Self { part, excess_q8: strongest, scatter_q8 })
    }
}

/// Lower median of values within a range, by halving the range: no memory, and no sorting in the image.
fn lower_median(values: impl Iterator<Item = i32> + Clone, (mut low, mut high): (i32, i32)) -> Option<i32> {
    let rank = values.clone().count().checked_sub(1)? / 2;
    while low < high {
        let middle = low + (high - low) / 2;
        if values.clone().filter(|&value| value <= middle).count() > rank { high = middle } else { low = middle + 1 }
    }
    Some(low)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RING: Shape = Shape::Ring { x: 40, y: 30, inner: 20, outer: 26 };
    const RANGE: CountRange = CountRange::between(0, 65_535);

    fn line_of(parts: usize, count: impl Fn(i32, i32) -> u16) -> [LinePart; 128] {
        let unwrapped = Unwrapped::new(RING, parts).unwrap();
        let mut line = [LinePart::EMPTY; 128];
        for y in 0..60 {
            let mut row = [0; 80];
            row.iter_mut().zip(-40..).for_each(|(pixel, dx)| *pixel = count(dx, i32::from(y) - 30));
            unwrapped.add_row(&mut line[..parts], y, &row, RANGE);
        }
        line
    }

    proptest! {
        /// Against the arc tangent of the standard library (f64): within the stated 0.22 degrees.
        #[test]
        fn a_direction_is_that_of_the_arc_tangent(dx in -1_000i32..1_000, dy in -1_000i32..1_000) {
            prop_assume!((dx, dy) != (0, 0));
            let exact = f64::from(dy).atan2(f64::from(dx)).to_degrees().rem_euclid(360.0);
            let found = f64::from(turn(dx, dy)) * 360.0 / 65_536.0;
            let off = (found - exact + 180.0).rem_euclid(360.0) - 180.0;
            prop_assert!(off.abs() < 0.23, "{dx} {dy}: {found} for {exact}");
        }

        /// Against sorting.
        #[test]
        fn a_median_is_that_of_sorted_values(mut values in proptest::collection::vec(0i32..5_000, 1..60)) {
            let found = lower_median(values.iter().copied(), (0, 5_000));
            values.sort_unstable();
            prop_assert_eq!(found, Some(values[(values.len() - 1) / 2]));
        }
    }

    #[test]
    fn every_pixel_of_the_ring_is_in_one_part() {
        let line = line_of(96, |_, _| 700);
        let pixels: u32 = line.iter().map(|part| u32::from(part.pixels)).sum();
        assert_eq!(pixels, RING.area());
        assert!(line[..96].iter().all(|part| part.mean_q8() == Some(700 << 8)));
    }

    /// A slope across the ring, twice as large as the dip does not hide it.
    #[test]
    fn a_narrow_dip_stands_out_of_a_slope() {
        let dip = |dx: i32, dy: i32| (dx + 16).pow(2) + (dy + 16).pow(2) <= 9;
        let line = line_of(96, |dx, dy| (10_000 + 2 * dy - if dip(dx, dy) { 40 } else { 0 }) as u16);
        let found = Excursion::strongest(&line[..96], &mut [0; 96], 12, Sign::Cold).unwrap();
        // (−16, −16) lies at 225°: part 60 of 96.
        assert!((58..=61).contains(&found.part), "{found:?}");
        assert!(found.excess_q8 > 5 * found.scatter_q8, "{found:?}");
        // Nothing of that size the other way.
        let other = Excursion::strongest(&line[..96], &mut [0; 96], 12, Sign::Hot).unwrap();
        assert!(other.excess_q8 < found.excess_q8 / 2, "{other:?}");
    }

    #[test]
    fn what_is_no_ring_or_not_all_there_is_refused() {
        assert!(Unwrapped::new(Shape::Spot { x: 4, y: 4, size: 3 }, 12).is_err());
        assert!(Unwrapped::new(RING, 7).is_err() && Unwrapped::new(RING, 1_025).is_err());
        let line = line_of(96, |dx, dy| if dx > 0 && dy == 0 { 0 } else { 500 });
        assert!(Excursion::strongest(&line[..96], &mut [0; 95], 12, Sign::Cold).is_none());
        assert!(Excursion::strongest(&[LinePart::EMPTY; 8], &mut [0; 8], 4, Sign::Cold).is_none());
        assert_eq!(Unwrapped::parts_of(RING), 96);
    }
}
