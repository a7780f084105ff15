//! A line profile, sampled between pixels while rows go by.
//!
//! *What.* Samples a pixel apart along a line between any two points, each bilinear in its four neighbors and averaged
//! over `width` parallel lines a pixel apart. *Why streamed.* A sample needs two rows; each adds its share when it comes,
//! so no row is kept. *Memory.* One [`Sample`] of 16 bytes per pixel of length. *Cost.* Per row only for the samples
//! that it
//! touches: two rows × `width` × length in all, some thirty instructions each, and a division per line.

use super::squared;
use crate::error::{Error, Result};
use crate::sensor::CountRange;

/// One place on the profile.
///
/// *Scaling and overflow*: weights are in 1/4,096 pixel. A sample stops taking more when they reach 2³² (some 34,000
/// frames of the widest profile), long before the sum of at most 2¹⁶ times that does.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    sum: u64,
    weight: u32,
    rejected: u32,
}

impl Sample {
    /// Nothing sampled.
    pub const EMPTY: Self = Self { sum: 0, weight: 0, rejected: 0 };

    /// Mean in 1/256 count; `None` if more than half of its weight fell on pixels that are no temperatures, or nothing
    /// was sampled.
    #[must_use]
    pub fn mean_q8(&self) -> Option<u32> {
        if self.rejected > self.weight {
            return None;
        }
        // 48 bits and 8 more.
        (self.sum << 8).checked_div(u64::from(self.weight)).map(|mean| mean as u32)
    }

    fn add(&mut self, count: u16, weight: u32, valid: bool) {
        if valid {
            if let Some(sum) = self.weight.checked_add(weight) {
                self.weight = sum;
                self.sum += u64::from(count) * u64::from(weight);
            }
        } else {
            self.rejected = self.rejected.saturating_add(weight);
        }
    }
}

/// Longest profile in pixels.
const LONGEST: u32 = 2_047;
/// Most parallel lines.
const WIDEST: u8 = 31;

/// Where a profile lies; holds no references. Points are in 1/256 pixel, pixel centers at multiples of 256.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Profile {
    start: (i32, i32),
    delta: (i32, i32),
    /// A pixel to the side, 1/256 pixel.
    normal: (i32, i32),
    gaps: u16,
    spacing_q16: u32,
    width: u8,
}

impl Profile {
    /// A profile `width` lines wide from one point to another (column, row), in 1/256 pixel.
    ///
    /// # Errors
    /// [`Error::ShapeOutside`] if a sample would lie outside the image, if the length is not from 3 to 2,047 pixels or the
    /// width not from 1 to 31.
    pub fn new(from: (u32, u32), to: (u32, u32), width: u8, image_width: u16, image_height: u16) -> Result<Self> {
        // Beyond any image; below it, sums of places stay far from overflow.
        let place = |value: u32| if value < 1 << 24 { Ok(value as i32) } else { Err(Error::ShapeOutside) };
        let start = (place(from.0)?, place(from.1)?);
        let delta = (place(to.0)? - start.0, place(to.1)? - start.1);
        let length_q8 = squared(delta.0).saturating_add(squared(delta.1)).isqrt() as u32;
        if !(3 << 8..=LONGEST << 8).contains(&length_q8) || !(1..=WIDEST).contains(&width) {
            return Err(Error::ShapeOutside);
        }
        let gaps = (length_q8 + 128) >> 8;
        // Within 2¹⁹·2⁸.
        let side = |value: i32| (value << 8).checked_div(length_q8 as i32).unwrap_or(0);
        let spacing_q16 = (length_q8 << 8).checked_div(gaps).unwrap_or(0);
        let normal = (side(-delta.1), side(delta.0));
        let profile = Self { start, delta, normal, gaps: gaps as u16, spacing_q16, width };
        let inside = |(x, y): (i32, i32)| {
            (0..=(i32::from(image_width) - 1) << 8).contains(&x)
                && (0..=(i32::from(image_height) - 1) << 8).contains(&y)
        };
        let corners = [0, width - 1].map(|line| [0, profile.gaps].map(|sample| profile.position(sample, line)));
        if corners.iter().flatten().copied().all(inside) { Ok(profile) } else { Err(Error::ShapeOutside) }
    }

    /// Samples to lend.
    #[must_use]
    pub const fn samples(&self) -> usize {
        self.gaps as usize + 1
    }

    /// Distance between samples in 1/65,536 pixel; within a sixth of a pixel of one.
    #[must_use]
    pub const fn spacing_q16(&self) -> u32 {
        self.spacing_q16
    }

    /// Place of a sample on one of the lines, in 1/256 pixel; the middle line is the profile itself.
    fn position(&self, sample: u16, line: u8) -> (i32, i32) {
        // Twice the distance from the middle, so that an even number of lines lies evenly too.
        let aside = 2 * i32::from(line) - i32::from(self.width - 1);
        let at = |start: i32, delta: i32, normal: i32| {
            // Within 2¹⁹·2¹¹.
            let along = (delta * i32::from(sample)).checked_div(i32::from(self.gaps)).unwrap_or(0);
            start + along + normal * aside / 2
        };
        (at(self.start.0, self.delta.0, self.normal.0), at(self.start.1, self.delta.1, self.normal.1))
    }

    /// Samples of a line that row `y` can touch, first and last.
    fn touched(&self, y: u16, line: u8) -> (u16, u16) {
        let (_, from) = self.position(0, line);
        let rows = i64::from(i32::from(y) << 8) - i64::from(from);
        let at = |offset: i64| ((rows + offset) * i64::from(self.gaps)).checked_div(i64::from(self.delta.1));
        let (Some(a), Some(b)) = (at(-256), at(256)) else { return (0, self.gaps) };
        // One more on either side for the rounding; the weight decides.
        let clamp = |value: i64| value.clamp(0, i64::from(self.gaps)) as u16;
        (clamp(a.min(b) - 1), clamp(a.max(b) + 1))
    }

    /// Adds what row `y` holds of the profile; rows may come in any order, and frame after frame. Counts at or below
    /// `dead` or at or above `saturated` are no temperatures.
    ///
    /// # Errors
    /// [`Error::TooSmall`] for fewer than [`Profile::samples`] samples, [`Error::WrongLength`] if the row ends before the
    /// profile does.
    pub fn add_row(&self, samples: &mut [Sample], y: u16, row: &[u16], dead: u16, saturated: u16) -> Result<()> {
        let samples = samples.get_mut(..self.samples()).ok_or(Error::TooSmall)?;
        let range = CountRange::between(dead, saturated);
        let ends = [0, self.width - 1].map(|line| [0, self.gaps].map(|sample| self.position(sample, line).0));
        let rightmost = ends.iter().flatten().max().copied().unwrap_or(0);
        if row.len() as u64 <= ((i64::from(rightmost) + 255) >> 8) as u64 {
            return Err(Error::WrongLength);
        }
        for line in 0..self.width {
            // Of a line along a row all samples lie in the same two rows; in the others there is nothing to look for.
            if self.delta.1 == 0 && self.position(0, line).1.abs_diff(i32::from(y) << 8) >= 256 {
                continue;
            }
            let (first, last) = self.touched(y, line);
            for (index, cell) in
                samples.iter_mut().enumerate().skip(usize::from(first)).take(usize::from(last - first) + 1)
            {
                let (px, py) = self.position(index as u16, line);
                let down = (py - (i32::from(y) << 8)).unsigned_abs();
                if down >= 256 {
                    continue;
                }
                let (column, right) = ((px >> 8) as usize, (px & 255) as u32);
                for (offset, share) in [(0, 256 - right), (1, right)] {
                    let weight = (share * (256 - down)) >> 4;
                    if weight > 0
                        && let Some(&count) = row.get(column + offset)
                    {
                        cell.add(count, weight, range.holds(count));
                    }
                }
            }
        }
        Ok(())
    }

    /// The samples that have a value: distance from the start in pixels, and counts. Ready for [`super::fit`].
    ///
    /// *Noise.* For a fit, give the noise of a pixel over √(width · frames). A single sample is smoother than that, but
    /// neighbors share pixels, and what a fit averages over is what counts.
    #[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per sample when a profile is judged")]
    pub fn points<'s>(&self, samples: &'s [Sample]) -> impl Iterator<Item = (f64, f64)> + Clone + use<'s> {
        let spacing = f64::from(self.spacing_q16) / 65_536.0;
        let taken = samples.iter().take(self.samples()).enumerate();
        taken.filter_map(move |(i, sample)| Some((i as f64 * spacing, f64::from(sample.mean_q8()?) / 256.0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec;

    fn sampled(profile: &Profile, image: impl Fn(u16, u16) -> u16) -> vec::Vec<(f64, f64)> {
        let mut samples = vec![Sample::EMPTY; profile.samples()];
        for y in 0..64 {
            let row: vec::Vec<u16> = (0..80).map(|x| image(x, y)).collect();
            profile.add_row(&mut samples, y, &row, 0, u16::MAX).unwrap();
        }
        let all = samples.iter().all(|sample| sample.weight.abs_diff(u32::from(profile.width) << 12) <= 32);
        assert!(all, "every sample has its whole weight");
        profile.points(&samples).collect()
    }

    proptest! {
        /// On a plane, bilinear sampling is exact wherever the line lies, and averaging to the sides changes nothing.
        #[test]
        fn a_plane_is_sampled_exactly(
            x0 in 1_800u32..18_000, y0 in 1_800u32..14_000, x1 in 1_800u32..18_000, y1 in 1_800u32..14_000,
            width in 1u8..12, a in 0u16..40, b in 0u16..40,
        ) {
            let Ok(profile) = Profile::new((x0, y0), (x1, y1), width, 80, 64) else { return Ok(()) };
            let points = sampled(&profile, |x, y| 1_000 + a * x + b * y);
            prop_assert_eq!(points.len(), profile.samples());
            let last = (profile.samples() - 1) as f64;
            let length = f64::hypot(f64::from(x1) - f64::from(x0), f64::from(y1) - f64::from(y0)) / 256.0;
            prop_assert!((points.last().unwrap().0 - length).abs() < 0.02);
            for (i, (_, value)) in points.iter().enumerate() {
                let at = |from: u32, to: u32| (f64::from(from) + (f64::from(to) - f64::from(from)) * i as f64 / last) / 256.0;
                let exact = 1_000.0 + f64::from(a) * at(x0, x1) + f64::from(b) * at(y0, y1);
                // Rounding of the places and of the side step, 1/256 pixel each, and of the weights.
                prop_assert!((value - exact).abs() < 0.016 * f64::from(a + b) + 0.02, "{} {}", value, exact);
            }
        }
    }

    #[test]
    fn mirror_images_give_the_same_profile() {
        let image = |x: u16, y: u16| 2_000 + (x * 37 + y * 91) % 500;
        let there = Profile::new((10 << 8, 8 << 8), (60 << 8, 40 << 8), 3, 80, 64).unwrap();
        let back = Profile::new(((79 - 10) << 8, 8 << 8), ((79 - 60) << 8, 40 << 8), 3, 80, 64).unwrap();
        let (a, b) = (sampled(&there, image), sampled(&back, |x, y| image(79 - x, y)));
        // Places round toward the start of the image on either side: up to 1/128 pixel of a step of 500.
        assert!(a.iter().zip(&b).all(|(a, b)| (a.1 - b.1).abs() < 8.0), "{a:?} {b:?}");
    }

    #[test]
    fn a_hole_is_bridged_by_its_neighbors_or_left_out() {
        let profile = Profile::new((0, 0), (9 << 8, 0), 1, 10, 1).unwrap();
        let mut samples = [Sample::EMPTY; 10];
        profile.add_row(&mut samples, 0, &[5, 5, 5, 0, 5, 5, 5, 5, 5, 5], 0, u16::MAX).unwrap();
        let places: vec::Vec<_> = profile.points(&samples).map(|(x, _)| x).collect();
        assert_eq!(places, [0.0, 1.0, 2.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0]);
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let outside = |from, to, width| Profile::new(from, to, width, 20, 20).unwrap_err() == Error::ShapeOutside;
        assert!(outside((0, 0), (20 << 8, 0), 1), "beyond the last column");
        assert!(outside((0, 0), (19 << 8, 0), 3), "side line above the image");
        assert!(outside((512, 512), (512, 700), 1) && outside((0, 0), (4_000, 0), 0), "short, without width");
        assert!(outside((u32::MAX, 0), (0, 0), 1));
        let profile = Profile::new((0, 256), (19 << 8, 256), 3, 20, 20).unwrap();
        assert_eq!(profile.add_row(&mut [Sample::EMPTY; 5], 0, &[1; 20], 0, 9), Err(Error::TooSmall));
        assert_eq!(profile.add_row(&mut [Sample::EMPTY; 20], 0, &[1; 19], 0, 9), Err(Error::WrongLength));
    }
}
