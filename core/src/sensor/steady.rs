//! Whether the instrument is steady: warm-up, steps between frames, saturation.
//!
//! Steps of 0.3 to 2 K at shutter events and slow drift between them are common (vehicle notes 1.3, common practice);
//! what is compared across them compares the instrument. These flags are for the gates of the checks.

use super::range::{CountRange, SetupError};
use crate::error::{Error, Result};
use crate::units::{Delta, Kelvin};
use fixed::types::I16F16;

/// Follows the housing temperature and tells a warm-up from a steady state.
///
/// *Scaling and overflow*: temperatures Q16.16, times in ms; Q16·60,000 fits in 48 bits.
#[derive(Clone, Copy, Debug)]
pub struct WarmUp {
    limit_per_minute: Delta,
    half_window_ms: u32,
    /// Two readings, the older between half a window and a whole one back.
    older: Option<(u32, Kelvin)>,
    newer: Option<(u32, Kelvin)>,
    slope: Option<Delta>,
}

impl WarmUp {
    /// Steady means a slope of at most `limit_per_minute` (0.1 K/min, proposal: with 50 counts/K of drift and a residual
    /// of 1 % that is 0.05 counts/min) over a window of `window_ms` (60,000, proposal; 2 to 2³¹).
    ///
    /// # Errors
    /// [`SetupError::Setting`] for a limit of 0 or less, or a window outside its range.
    pub fn new(limit_per_minute: Delta, window_ms: u32) -> core::result::Result<Self, SetupError> {
        if limit_per_minute.0 <= I16F16::ZERO || !(2..=1 << 31).contains(&window_ms) {
            return Err(SetupError::Setting);
        }
        Ok(Self { limit_per_minute, half_window_ms: window_ms / 2, older: None, newer: None, slope: None })
    }

    /// Takes a reading. Times may wrap, and must come at least once in 2³¹ ms.
    pub fn add(&mut self, time_ms: u32, housing: Kelvin) {
        let Some((newer_ms, _)) = self.newer else {
            self.newer = Some((time_ms, housing));
            return;
        };
        if time_ms.wrapping_sub(newer_ms) >= self.half_window_ms {
            (self.older, self.newer) = (self.newer, Some((time_ms, housing)));
        }
        if let Some((older_ms, older)) = self.older {
            let elapsed = i64::from(time_ms.wrapping_sub(older_ms)).max(1);
            let per_minute = i64::from(housing.minus(older).0.to_bits()) * 60_000 / elapsed;
            let bits = per_minute.clamp(i64::from(i32::MIN), i64::from(i32::MAX)) as i32;
            self.slope = Some(Delta(I16F16::from_bits(bits)));
        }
    }

    /// Slope in kelvin per minute, over half a window to a whole one; `None` before half a window has gone by.
    #[must_use]
    pub const fn slope_per_minute(&self) -> Option<Delta> {
        self.slope
    }

    /// Whether the housing is still warming up or cooling down. True until the slope is known.
    #[must_use]
    pub fn is_warming(&self) -> bool {
        self.slope.is_none_or(|slope| slope.0.unsigned_abs() > self.limit_per_minute.0.unsigned_abs())
    }
}

/// Blocks of columns whose means are compared.
const BLOCKS: usize = 8;
/// One column in this many is summed.
const EVERY: usize = 4;

/// Finds steps common to the whole frame: the mark of a shutter event that nobody told us of.
///
/// *How.* The frame is cut into eight vertical blocks; the step is what the changes of all block means agree on, the
/// smallest of equal sign. A hot part that comes into view changes some blocks; an offset step changes all. *Limit.* A
/// camera that turns from a cold wall to a warm one changes all blocks too. That also forbids comparing the frames.
///
/// *Scaling and overflow*: a block has at most 2,048 columns in the sum and 65,535 rows: below 2⁴³ in 64 bits.
#[derive(Clone, Copy, Debug)]
pub struct Steps {
    limit_q4: u32,
    range: CountRange,
    blocks: [Block; BLOCKS],
    step_q4: i32,
}

#[derive(Clone, Copy, Debug)]
struct Block {
    sum: u64,
    pixels: u32,
    before_q4: Option<i32>,
}

impl Steps {
    /// A step is `limit` counts or more, 1 at least; 0.3 K in counts is the smallest that shutters make (vehicle notes
    /// 1.3, common practice).
    ///
    /// # Errors
    /// [`SetupError::Setting`] for 0.
    pub const fn new(limit: u16, range: CountRange) -> core::result::Result<Self, SetupError> {
        if limit == 0 {
            return Err(SetupError::Setting);
        }
        let block = Block { sum: 0, pixels: 0, before_q4: None };
        Ok(Self { limit_q4: (limit as u32) << 4, range, blocks: [block; BLOCKS], step_q4: 0 })
    }

    /// Takes a row: one pixel in four, three instructions per pixel of the row (measured, thumbv7em).
    ///
    /// # Errors
    /// [`Error::WrongLength`] for fewer than 32 columns: blocks would be empty.
    pub fn push(&mut self, row: &[u16]) -> Result<()> {
        let columns = row.len() / BLOCKS;
        if columns < EVERY {
            return Err(Error::WrongLength);
        }
        for (block, counts) in self.blocks.iter_mut().zip(row.chunks_exact(columns)) {
            // Of one row: at most 2,048 counts.
            let (mut sum, mut pixels) = (0u32, 0);
            for &[count, ..] in counts.as_chunks::<EVERY>().0 {
                if self.range.holds(count) {
                    (sum, pixels) = (sum + u32::from(count), pixels + 1);
                }
            }
            (block.sum, block.pixels) = (block.sum + u64::from(sum), block.pixels + pixels);
        }
        Ok(())
    }

    /// Ends a frame and returns its common step from the frame before, 1/16 count; 0 if the blocks do not agree or one
    /// of them had no reading in either frame.
    pub fn end_frame(&mut self) -> i32 {
        let mut agreed: Option<i32> = None;
        for block in &mut self.blocks {
            let now = (block.sum << 4).checked_div(u64::from(block.pixels)).map(|mean| mean as i32);
            let step = now.zip(block.before_q4).map_or(0, |(now, before)| now - before);
            agreed = Some(match agreed {
                None => step,
                Some(agreed) if (agreed > 0) != (step > 0) => 0,
                Some(agreed) if agreed.abs() < step.abs() => agreed,
                Some(_) => step,
            });
            *block = Block { sum: 0, pixels: 0, before_q4: now };
        }
        self.step_q4 = agreed.unwrap_or(0);
        self.step_q4
    }

    /// Whether the last frame stepped.
    #[must_use]
    pub const fn stepped(&self) -> bool {
        self.step_q4.unsigned_abs() >= self.limit_q4
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::celsius;

    #[test]
    fn warming_until_the_slope_is_known_and_small() {
        let mut warm_up = WarmUp::new(Delta::from_f64(0.1), 60_000).unwrap();
        assert!(warm_up.is_warming());
        // Time constant 5 minutes from 20 to 30 °C: the slope over a minute falls below 0.1 K/min after about
        // 5·ln(10/5/0.1) = 15 minutes and at most one window more.
        let mut steady_at = None;
        for s in 0..3_600u32 {
            let housing = celsius(30.0 - 10.0 * libm::exp(-f64::from(s) / 300.0));
            warm_up.add(s * 1_000, housing);
            if !warm_up.is_warming() && steady_at.is_none() {
                steady_at = Some(s);
            }
        }
        let steady_at = steady_at.unwrap();
        assert!((899..=970).contains(&steady_at), "{steady_at}");
        assert!(!warm_up.is_warming());
        // It cools again, and the clock wraps.
        warm_up.add(u32::MAX - 40_000, celsius(30.0));
        warm_up.add(u32::MAX - 9_000, celsius(29.0));
        warm_up.add(31_000, celsius(28.0));
        assert!(warm_up.is_warming());
        let slope = warm_up.slope_per_minute().unwrap().to_f64();
        // One kelvin since the reading before, 40.001 s back: the one that is at least half a window old.
        assert!((slope + 60.0 / 40.001).abs() < 1e-4, "{slope}");
    }

    fn stepped(frames: &[[u16; 64]]) -> std::vec::Vec<(i32, bool)> {
        let mut steps = Steps::new(20, CountRange::new(0, 16_383).unwrap()).unwrap();
        let mut found = std::vec::Vec::new();
        for frame in frames {
            for _ in 0..4 {
                steps.push(frame).unwrap();
            }
            found.push((steps.end_frame(), steps.stepped()));
        }
        found
    }

    #[test]
    fn a_common_step_is_found_and_a_hot_part_is_not_one() {
        let base = [2_000; 64];
        let mut part = base;
        part[3..40].fill(4_000);
        let saturated = [16_383; 64];
        let found = stepped(&[base, base, [2_020; 64], [2_039; 64], part, [2_000; 64], saturated, base]);
        let flags: std::vec::Vec<_> = found.iter().map(|&(_, stepped)| stepped).collect();
        assert_eq!(flags, [false, false, true, false, false, false, false, false]);
        assert_eq!(found[2].0, 320);
        assert_eq!(stepped(&[[2_039; 64], base])[1], (-39 * 16, true));
    }

    #[test]
    fn refuses_rows_too_narrow_for_blocks() {
        let mut steps = Steps::new(20, CountRange::new(0, 16_383).unwrap()).unwrap();
        assert_eq!(steps.push(&[1; 31]), Err(Error::WrongLength));
        assert!(Steps::new(0, CountRange::new(0, 16_383).unwrap()).is_err());
    }
}
