//! A uniform run: what each pixel does while every pixel sees the same, and which pixels are bad by it.
//!
//! *What.* Mean, noise and span of each pixel over the frames of a run; from two runs the responsivity; from these the
//! kinds of defects. *Sources.* GB/T 17444-2013 for dead (responsivity below half of the array's mean) and noisy
//! (noise above twice the mean), memory; the edition of 1998 had one tenth and ten times, memory. So thresholds are
//! settings. The criteria for stuck and blinking are our own (proposal).
//!
//! *Scaling and overflow*: sums are relative to the pixel's first count, at most 65,535·32,767 < 2³¹; squares are
//! summed in 32 bits and stop at the largest value, which then means "noisy beyond measure".

use super::average::PixelMeans;
use super::defects::{DefectKind, Defects};
use super::range::{CountRange, SetupError};
use super::two_point::place;
use crate::error::{Error, Result};

/// Sums of one pixel over a run: 16 bytes. Lend [`PixelSums::EMPTY`]s.
#[derive(Clone, Copy, Debug)]
pub struct PixelSums {
    first: u16,
    min: u16,
    max: u16,
    unread: bool,
    sum: i32,
    squares: u32,
}

impl PixelSums {
    /// Nothing summed.
    pub const EMPTY: Self = Self { first: 0, min: 0, max: 0, unread: false, sum: 0, squares: 0 };
}

/// Most frames in a run.
const FRAMES_MAX: u16 = 32_767;

/// What a [`UniformRun`] knows beyond the lent memory.
#[derive(Clone, Copy, Debug)]
pub struct RunState {
    width: u16,
    height: u16,
    row: u16,
    frames: u16,
    range: CountRange,
}

/// A uniform run, taken in row by row. Memory for set-up only; a device may give it back afterward.
#[derive(Debug)]
pub struct UniformRun<'m> {
    pixels: &'m mut [PixelSums],
    state: RunState,
}

impl<'m> UniformRun<'m> {
    /// An empty run in lent memory of exactly width times height entries.
    ///
    /// # Errors
    /// [`SetupError::Memory`] for another length or a size of 0.
    pub fn new(
        pixels: &'m mut [PixelSums],
        width: u16,
        height: u16,
        range: CountRange,
    ) -> core::result::Result<Self, SetupError> {
        let run = Self::resume(pixels, RunState { width, height, row: 0, frames: 0, range })?;
        run.pixels.fill(PixelSums::EMPTY);
        Ok(run)
    }

    /// Takes up a run again from its state and the same memory.
    ///
    /// # Errors
    /// [`SetupError::Memory`] if the memory cannot be the same.
    pub fn resume(pixels: &'m mut [PixelSums], state: RunState) -> core::result::Result<Self, SetupError> {
        if pixels.is_empty() || pixels.len() != usize::from(state.width) * usize::from(state.height) {
            return Err(SetupError::Memory);
        }
        Ok(Self { pixels, state })
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> RunState {
        self.state
    }

    /// Adds the next row of raw counts; the last row of a frame completes it.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for another width, [`Error::Full`] after 32,767 frames.
    pub fn push(&mut self, row: &[u16]) -> Result<()> {
        if row.len() != usize::from(self.state.width) {
            return Err(Error::WrongLength);
        }
        if self.state.frames == FRAMES_MAX {
            return Err(Error::Full);
        }
        let from = usize::from(self.state.row) * row.len();
        for (pixel, &count) in self.pixels.get_mut(from..).unwrap_or(&mut []).iter_mut().zip(row) {
            if self.state.frames == 0 {
                *pixel = PixelSums { first: count, min: count, max: count, ..PixelSums::EMPTY };
            }
            let relative = i32::from(count) - i32::from(pixel.first);
            pixel.sum = pixel.sum.wrapping_add(relative);
            pixel.squares = pixel.squares.saturating_add(relative.unsigned_abs().saturating_pow(2));
            (pixel.min, pixel.max) = (pixel.min.min(count), pixel.max.max(count));
            pixel.unread |= !self.state.range.holds(count);
        }
        self.state.row += 1;
        if self.state.row == self.state.height {
            (self.state.row, self.state.frames) = (0, self.state.frames + 1);
        }
        Ok(())
    }

    /// Whole frames.
    #[must_use]
    pub const fn frames(&self) -> u16 {
        self.state.frames
    }

    pub(super) const fn width(&self) -> u16 {
        self.state.width
    }

    fn complete(&self) -> bool {
        self.state.frames > 1 && self.state.row == 0
    }

    fn pixel(&self, index: usize) -> Option<&PixelSums> {
        self.pixels.get(index).filter(|pixel| self.complete() && !pixel.unread)
    }

    /// Temporal noise of the pixel: sample standard deviation in 1/256 count, `None` with fewer than two whole frames
    /// or if the pixel was not a reading throughout.
    ///
    /// *Scaling*: squares·n < 2⁴⁷ and sum² ≤ squares·n (unless the squares stopped), so 16 more bits fit in `u64`.
    #[must_use]
    pub fn noise_q8(&self, index: usize) -> Option<u32> {
        let pixel = self.pixel(index)?;
        if pixel.squares == u32::MAX {
            return Some(u32::MAX);
        }
        let n = u64::from(self.state.frames);
        let squared = u64::from(pixel.sum.unsigned_abs()).pow(2);
        let spread = (u64::from(pixel.squares) * n).saturating_sub(squared);
        (spread << 16).checked_div(n * (n - 1)).map(|variance| variance.isqrt() as u32)
    }

    /// Highest minus lowest count of the pixel over the run; `None` as for [`UniformRun::noise_q8`].
    #[must_use]
    pub fn span(&self, index: usize) -> Option<u16> {
        self.pixel(index).map(|pixel| pixel.max - pixel.min)
    }
}

impl PixelMeans for UniformRun<'_> {
    fn pixels(&self) -> usize {
        self.pixels.len()
    }

    fn mean_q8(&self, index: usize) -> Option<u32> {
        let pixel = self.pixel(index)?;
        let n = i64::from(self.state.frames);
        let mean = (i64::from(pixel.sum) * 256 + n / 2).div_euclid(n.max(1)) + i64::from(pixel.first) * 256;
        u32::try_from(mean).ok()
    }
}

/// Thresholds, as multiples of the array's mean in Q8 (256 is 1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Criteria {
    /// Dead: responsivity below this share of the mean. 128, one half: GB/T 17444-2013, memory.
    pub dead_below_q8: u16,
    /// Noisy: noise above this multiple of the mean. 512, twice: GB/T 17444-2013, memory.
    pub noisy_above_q8: u16,
    /// Blinking: span over a run above this multiple of the mean noise. 3,072, twelve times: proposal. Normal noise has
    /// a span of 6.5 over 1,000 frames (derived); a jump that happens in one frame of a hundred passes the noise
    /// criterion and not this one.
    pub blinking_above_q8: u16,
}

impl Default for Criteria {
    fn default() -> Self {
        Self { dead_below_q8: 128, noisy_above_q8: 512, blinking_above_q8: 3_072 }
    }
}

/// The array's means over its good pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ArrayFigures {
    /// Response between the two runs, 1/256 count.
    pub response_q8: u32,
    /// Temporal noise, mean of the runs, 1/256 count.
    pub noise_q8: u32,
    /// Good pixels.
    pub good: u32,
    /// All pixels. Operability (GB/T 17444-2013, memory) is good/pixels.
    pub pixels: u32,
}

/// Finds bad pixels from two uniform runs of raw counts and adds them to `defects`. The array's means are taken twice:
/// over all pixels with readings, then over those that passed, so that a few wild pixels do not hide others. A pixel
/// that is no reading throughout is dead. *Stuck* is a pixel without any noise in an array that has some.
///
/// # Errors
/// [`SetupError::Memory`] if the sizes differ, [`SetupError::TooFewFrames`] with fewer than 16 frames in a run
/// (proposal: the noise of a pixel is then known to 18 %, derived as 1/√(2·15)), [`SetupError::NoSignal`] without a
/// response of a count, [`SetupError::ListFull`]: nothing is then added.
pub fn find_defects(
    cold: &UniformRun,
    hot: &UniformRun,
    criteria: &Criteria,
    defects: &mut Defects,
) -> core::result::Result<ArrayFigures, SetupError> {
    if (cold.state.width, cold.state.height) != (hot.state.width, hot.state.height) {
        return Err(SetupError::Memory);
    }
    if cold.state.frames.min(hot.state.frames) < 16 || !cold.complete() || !hot.complete() {
        return Err(SetupError::TooFewFrames);
    }
    let indices = || (0..cold.pixels.len()).filter_map(|index| Some((index, place(index, cold.state.width)?)));
    let figures = |passes: &dyn Fn(usize) -> bool| -> core::result::Result<ArrayFigures, SetupError> {
        let (mut response, mut noise, mut good) = (0i64, 0i64, 0u32);
        for (index, (x, y)) in indices() {
            if let Some(pixel) = Pixel::of(cold, hot, index)
                && !defects.contains(x, y)
                && passes(index)
            {
                (response, noise, good) =
                    (response + pixel.response_q8, noise + i64::from(pixel.noise_q8.min(1 << 24)), good + 1);
            }
        }
        let (Some(response), Some(noise)) = (response.checked_div(i64::from(good)), noise.checked_div(i64::from(good)))
        else {
            return Err(SetupError::TooFewFrames);
        };
        let response_q8 = u32::try_from(response).ok().filter(|&response| response >= 256);
        let response_q8 = response_q8.ok_or(SetupError::NoSignal)?;
        Ok(ArrayFigures { response_q8, noise_q8: noise as u32, good, pixels: cold.pixels.len() as u32 })
    };
    let all = figures(&|_| true)?;
    let kind = |index, array: &ArrayFigures| {
        Pixel::of(cold, hot, index).map_or(Some(DefectKind::Dead), |pixel| pixel.kind(criteria, array))
    };
    let array = figures(&|index| kind(index, &all).is_none())?;
    let new = indices().filter(|&(index, (x, y))| kind(index, &array).is_some() && !defects.contains(x, y)).count();
    if new > defects.free() {
        return Err(SetupError::ListFull);
    }
    let figures = figures(&|index| kind(index, &array).is_none())?;
    for (index, (x, y)) in indices() {
        if let Some(kind) = kind(index, &array) {
            defects.insert(x, y, kind)?;
        }
    }
    Ok(figures)
}

/// What two runs say of one pixel.
struct Pixel {
    response_q8: i64,
    /// The larger of the two runs.
    noise_q8: u32,
    span: u16,
}

impl Pixel {
    fn of(cold: &UniformRun, hot: &UniformRun, index: usize) -> Option<Self> {
        Some(Self {
            response_q8: i64::from(hot.mean_q8(index)?) - i64::from(cold.mean_q8(index)?),
            noise_q8: cold.noise_q8(index)?.max(hot.noise_q8(index)?),
            span: cold.span(index)?.max(hot.span(index)?),
        })
    }

    /// Products: 2²⁴ · 2¹⁶ and less, in `i64`.
    fn kind(&self, criteria: &Criteria, array: &ArrayFigures) -> Option<DefectKind> {
        let times = |value: u32, factor_q8: u16| (i64::from(value) * i64::from(factor_q8)) >> 8;
        // Half a count: an array quieter than its own counts says nothing of a pixel that stands still.
        if self.span == 0 && array.noise_q8 >= 128 {
            Some(DefectKind::Stuck)
        } else if self.response_q8 < times(array.response_q8, criteria.dead_below_q8) {
            Some(DefectKind::Dead)
        } else if i64::from(self.noise_q8) > times(array.noise_q8, criteria.noisy_above_q8) {
            Some(DefectKind::Noisy)
        } else if i64::from(self.span) << 8 > times(array.noise_q8, criteria.blinking_above_q8) {
            Some(DefectKind::Blinking)
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::defects::Defect;
    use super::*;
    use std::vec;
    use std::vec::Vec;

    const W: usize = 6;
    const FRAMES: usize = 64;

    fn range() -> CountRange {
        CountRange::new(0, 16_383).unwrap()
    }

    fn run<'m>(memory: &'m mut [PixelSums], pixel: impl Fn(usize, usize) -> u16) -> UniformRun<'m> {
        let mut run = UniformRun::new(memory, W as u16, 2, range()).unwrap();
        for t in 0..FRAMES {
            for y in 0..2 {
                let row: Vec<_> = (0..W).map(|x| pixel(t, y * W + x)).collect();
                run.push(&row).unwrap();
            }
        }
        run
    }

    #[test]
    fn mean_noise_and_span_of_known_counts() {
        let mut memory = [PixelSums::EMPTY; 2 * W];
        // Alternates between two counts: sample standard deviation 3·sqrt(64/63) for ±3.
        let run = run(&mut memory, |t, _| if t % 2 == 0 { 1_000 } else { 1_006 });
        assert_eq!((run.mean_q8(3), run.span(3)), (Some(1_003 * 256), Some(6)));
        let noise = f64::from(run.noise_q8(3).unwrap()) / 256.0;
        assert!((noise - 3.0 * libm::sqrt(64.0 / 63.0)).abs() <= 1.0 / 256.0, "{noise}");
        assert_eq!(run.mean_q8(2 * W), None);
    }

    #[test]
    fn wild_counts_over_a_long_run_stay_noisy() {
        let mut memory = [PixelSums::EMPTY; 1];
        let mut run = UniformRun::new(&mut memory, 1, 1, CountRange::new(0, u16::MAX).unwrap()).unwrap();
        for t in 0..FRAMES_MAX {
            run.push(&[if t % 2 == 0 { 1 } else { 65_534 }]).unwrap();
        }
        assert_eq!(run.push(&[1]), Err(Error::Full));
        assert_eq!(run.noise_q8(0), Some(u32::MAX));
        let mean = f64::from(run.mean_q8(0).unwrap()) / 256.0;
        assert!((mean - 32_767.5).abs() < 1.1, "{mean}");
    }

    /// Each pixel of twelve is sound or has one fault.
    fn faulty(level: u16) -> impl Fn(usize, usize) -> u16 {
        move |t, i| {
            let noise = [0u16, 3, 1, 4, 2, 5, 6, 3][(t * 5 + i * 3) % 8];
            match i {
                1 => 1_000 + level * 2 / 5 + noise,
                3 => 1_700,
                5 => 1_000 + level + 4 * noise,
                7 => 1_000 + level + noise + if t == 20 { 24 } else { 0 },
                9 => {
                    if t == 3 {
                        0
                    } else {
                        1_000 + level + noise
                    }
                }
                _ => 1_000 + level + noise,
            }
        }
    }

    #[test]
    fn each_kind_is_found_for_what_it_is() {
        use DefectKind::{Blinking, Dead, Noisy, Stuck};
        let (mut low, mut high) = ([PixelSums::EMPTY; 2 * W], [PixelSums::EMPTY; 2 * W]);
        let (cold, hot) = (run(&mut low, faulty(0)), run(&mut high, faulty(1_000)));
        let mut slots = [Defect::EMPTY; 8];
        let mut defects = Defects::new(&mut slots);
        let figures = find_defects(&cold, &hot, &Criteria::default(), &mut defects).unwrap();
        let found: Vec<_> =
            defects.as_slice().iter().map(|d| (usize::from(d.y()) * W + usize::from(d.x()), d.kind())).collect();
        assert_eq!(found, [(1, Dead), (3, Stuck), (5, Noisy), (7, Blinking), (9, Dead)]);
        assert_eq!((figures.good, figures.pixels), (7, 12));
        assert!(figures.response_q8.abs_diff(256_000) <= 256, "{figures:?}");
        // With the thresholds of 1998 only what is far off remains.
        let old = Criteria { dead_below_q8: 26, noisy_above_q8: 2_560, ..Criteria::default() };
        defects.clear();
        find_defects(&cold, &hot, &old, &mut defects).unwrap();
        assert!(!defects.contains(1, 0) && defects.contains(3, 0));
    }

    #[test]
    fn refuses_short_runs_and_full_lists() {
        let (mut low, mut high) = ([PixelSums::EMPTY; 2 * W], [PixelSums::EMPTY; 2 * W]);
        let (cold, hot) = (run(&mut low, faulty(0)), run(&mut high, faulty(1_000)));
        let mut slots = [Defect::EMPTY; 4];
        let mut defects = Defects::new(&mut slots);
        let criteria = Criteria::default();
        assert_eq!(find_defects(&cold, &hot, &criteria, &mut defects), Err(SetupError::ListFull));
        assert!(defects.is_empty());
        assert_eq!(find_defects(&cold, &cold, &criteria, &mut defects), Err(SetupError::NoSignal));
        let mut memory = vec![PixelSums::EMPTY; 2 * W];
        let short = UniformRun::new(&mut memory, W as u16, 2, range()).unwrap();
        assert_eq!(find_defects(&cold, &short, &criteria, &mut defects), Err(SetupError::TooFewFrames));
    }
}
