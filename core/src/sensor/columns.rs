//! Column noise: offsets that a column's readout adds to all its pixels.
//!
//! *What.* Each column has an offset that is learned over frames and taken off every row. *How.* The frame is cut into
//! four bands. In each band, a column's mean is compared with the median of the columns up to n to either side; what
//! all four bands agree on, the smallest of equal sign, moves the offset 1/2ᵏ of the way. Everything is measured on
//! corrected rows, so the offsets settle where nothing is left to correct. Our own form (proposal) of the usual
//! comparison of columns with their neighbors.
//!
//! *What it leaves alone.* A median keeps every step between stretches of more than n columns: a vertical structure at
//! least n + 1 columns wide is not touched, at its edges either. One that is missing from a band is not touched. One
//! that stands out by more than the limit is not touched.
//!
//! *What it cannot tell apart*: a vertical structure up to n columns wide, fainter than the limit and through the whole
//! height, that stands still for 2ᵏ frames, is column noise by every measure there is, and is removed. Not removed are
//! parts of column noise that stay on one side over more than n columns: steps and slopes remain (measured in the
//! tests, after 400 frames with k = 3: two fifths of the noise's rms at n = 2, a quarter at n = 4 and at n = 7). The
//! nearer an offset is to the noise of a band's mean, the slower it is learned, for then bands seldom agree. Do not use
//! it on frames from a tripod whose subject has such lines, as a window heater's.
//!
//! *Scaling and overflow*: sums of a band stay below 65,535² < 2³²; offsets are Q8 counts, cut to the limit.
//!
//! *Cost.* 17 instructions per pixel, and a sort of 2n + 1 sums per column and band: at n = 2 and 160 × 120 pixels 11
//! more per pixel (measured, thumbv7em).

use super::range::{CountRange, SetupError};
use crate::error::{Error, Result};

/// Bands in a frame. A proposal: a structure must span the frame to be taken for column noise.
const BANDS: u16 = 4;
/// Largest n.
const REACH_MAX: usize = 7;

/// What is kept of one column, 12 bytes; lend [`ColumnSlot::EMPTY`]s, one per column.
#[derive(Clone, Copy, Debug)]
pub struct ColumnSlot {
    sum: u32,
    /// What the bands of this frame agree on so far, Q8 counts.
    agreed_q8: i32,
    /// Taken off each pixel, Q8 counts.
    offset_q8: i32,
}

impl ColumnSlot {
    /// A column without offset.
    pub const EMPTY: Self = Self { sum: 0, agreed_q8: OPEN, offset_q8: 0 };

    /// What is taken off each pixel of the column, in 1/256 count.
    #[must_use]
    pub const fn offset_q8(&self) -> i32 {
        self.offset_q8
    }
}

/// No band has been seen yet.
const OPEN: i32 = i32::MAX;

/// How column noise is told from the scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ColumnSettings {
    /// n, 1 to 7: what is wider is scene. 2, because three columns are the smallest feature that may be measured
    /// (vehicle notes 1.3).
    pub columns: u8,
    /// Counts, 1 to 4,096: what stands out further is scene. A few times the temporal noise.
    pub limit: u16,
    /// k, 0 to 12: a frame moves the offsets 1/2ᵏ of the way. 5 (proposal): a second or two at 25 frames/s.
    pub slowness: u8,
}

/// What a [`Columns`] knows beyond the lent memory.
#[derive(Clone, Copy, Debug)]
pub struct ColumnState {
    settings: ColumnSettings,
    range: CountRange,
    height: u16,
    row: u16,
    /// First row of the band.
    band_start: u16,
}

/// Takes column noise off rows, and learns it from them.
#[derive(Debug)]
pub struct Columns<'m> {
    slots: &'m mut [ColumnSlot],
    state: ColumnState,
}

impl<'m> Columns<'m> {
    /// For frames of this height and as many columns as slots.
    ///
    /// # Errors
    /// [`SetupError::Setting`] for a setting outside its range, fewer than 4 rows, or not more than 2·n + 1 columns.
    pub fn new(
        slots: &'m mut [ColumnSlot],
        height: u16,
        range: CountRange,
        settings: ColumnSettings,
    ) -> core::result::Result<Self, SetupError> {
        let n = usize::from(settings.columns);
        let sound = (1..=REACH_MAX).contains(&n) && (1..=4_096).contains(&settings.limit) && settings.slowness <= 12;
        if !sound || height < BANDS || slots.len() <= 2 * n + 1 {
            return Err(SetupError::Setting);
        }
        slots.fill(ColumnSlot::EMPTY);
        Ok(Self { slots, state: ColumnState { settings, range, height, row: 0, band_start: 0 } })
    }

    /// Takes up again from a state and the same memory.
    pub const fn resume(slots: &'m mut [ColumnSlot], state: ColumnState) -> Self {
        Self { slots, state }
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> ColumnState {
        self.state
    }

    /// Corrects the next row in place and learns from it; the last row of a frame moves the offsets. What is no reading
    /// stays as it is, and the column learns nothing in that frame.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for another width.
    pub fn push(&mut self, row: &mut [u16]) -> Result<()> {
        let Self { slots, state } = self;
        if row.len() != slots.len() {
            return Err(Error::WrongLength);
        }
        for (slot, count) in slots.iter_mut().zip(row) {
            if state.range.holds(*count) {
                *count = (i32::from(*count) - ((slot.offset_q8 + 128) >> 8)).clamp(0, 0xFFFF) as u16;
                slot.sum = slot.sum.wrapping_add(u32::from(*count));
            } else {
                core::hint::cold_path();
                slot.agreed_q8 = 0;
            }
        }
        state.row += 1;
        let rest = state.height - state.row;
        let band = state.height / BANDS;
        // The last band takes the rows that do not divide.
        if rest == 0 || (rest >= band && state.row - state.band_start == band) {
            end_band(slots, state);
            state.band_start = state.row;
        }
        if rest == 0 {
            (state.row, state.band_start) = (0, 0);
            let limit = i32::from(state.settings.limit) << 8;
            for slot in slots.iter_mut() {
                // Division, not shift: below 2ᵏ/256 of a count nothing moves, on either side.
                let step = if slot.agreed_q8 == OPEN { 0 } else { slot.agreed_q8 / (1 << state.settings.slowness) };
                slot.offset_q8 = (slot.offset_q8 + step).clamp(-limit, limit);
                slot.agreed_q8 = OPEN;
            }
        }
        Ok(())
    }
}

/// Compares the columns of a band with their neighbors.
fn end_band(slots: &mut [ColumnSlot], state: &ColumnState) {
    let n = usize::from(state.settings.columns);
    let rows = u32::from(state.row - state.band_start);
    let limit = u32::from(state.settings.limit);
    let last = slots.len().saturating_sub(1);
    for x in 0..slots.len() {
        let mut sums = [0u32; 2 * REACH_MAX + 1];
        let Some(window) = sums.get_mut(..=2 * n) else { return };
        for (i, sum) in window.iter_mut().enumerate() {
            // Beyond an edge the last column counts again.
            let at = (x + i).saturating_sub(n).min(last);
            *sum = slots.get(at).map_or(0, |slot| slot.sum);
        }
        let median = median(window);
        let Some(slot) = slots.get_mut(x) else { return };
        let out_q8 = if slot.sum.abs_diff(median) > limit * rows {
            0
        } else {
            // Counts, then the remainder: within the limit both fit in 32 bits, 4,096·65,535 and 65,535·256.
            let out = slot.sum.wrapping_sub(median) as i32;
            let rows = rows as i32;
            let (counts, rest) = (out.checked_div(rows).unwrap_or(0), out.checked_rem(rows).unwrap_or(0));
            (counts << 8) + (rest << 8).checked_div(rows).unwrap_or(0)
        };
        slot.agreed_q8 = match slot.agreed_q8 {
            OPEN => out_q8,
            agreed if (agreed > 0) != (out_q8 > 0) => 0,
            agreed if agreed.abs() < out_q8.abs() => agreed,
            _ => out_q8,
        };
    }
    for slot in slots {
        slot.sum = 0;
    }
}

/// Middle of an odd number of values.
fn median(values: &mut [u32]) -> u32 {
    // Insertion, by carrying each new value through those before it: the least code, and fast for so few.
    for sorted in 1..values.len() {
        if let Some((before, [new, ..])) = values.split_at_mut_checked(sorted) {
            for value in before {
                if *value > *new {
                    core::mem::swap(value, new);
                }
            }
        }
    }
    values.get(values.len() / 2).copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec;
    use std::vec::Vec;

    const W: usize = 64;
    const H: usize = 24;

    fn settings(columns: u8) -> ColumnSettings {
        ColumnSettings { columns, limit: 40, slowness: 3 }
    }

    /// The last frame of a run, and the offsets.
    fn run(
        settings: ColumnSettings,
        frames: usize,
        pixel: impl Fn(usize, usize, usize) -> u16,
    ) -> (Vec<u16>, Vec<i32>) {
        let range = CountRange::new(0, 16_383).unwrap();
        let mut slots = vec![ColumnSlot::EMPTY; W];
        let mut columns = Columns::new(&mut slots, H as u16, range, settings).unwrap();
        let mut frame = Vec::new();
        for t in 0..frames {
            frame.clear();
            for y in 0..H {
                let mut row: Vec<_> = (0..W).map(|x| pixel(t, x, y)).collect();
                columns.push(&mut row).unwrap();
                frame.extend(row);
            }
        }
        (frame, slots.iter().map(ColumnSlot::offset_q8).collect())
    }

    fn uniform(seed: u32, i: usize) -> f64 {
        // The finalizer of MurmurHash3 (public domain; memory).
        let mut h = seed ^ (i as u32).wrapping_mul(0x9E37_79B9);
        h = (h ^ (h >> 16)).wrapping_mul(0x85EB_CA6B);
        h = (h ^ (h >> 13)).wrapping_mul(0xC2B2_AE35);
        f64::from(h ^ (h >> 16)) / 4_294_967_296.0
    }

    /// Column offsets with a standard deviation of 5.8 counts.
    fn column_noise(x: usize) -> i32 {
        libm::round((uniform(9, x) - 0.5) * 20.0) as i32
    }

    fn temporal_noise(t: usize, x: usize, y: usize) -> i32 {
        let i = (t * H + y) * W + x;
        libm::round((uniform(1, i) + uniform(2, i) + uniform(3, i) - 1.5) * 8.0) as i32
    }

    /// Scatter of the column means about their mean.
    fn column_rms(frame: &[u16]) -> f64 {
        let means: Vec<f64> =
            (0..W).map(|x| (0..H).map(|y| f64::from(frame[y * W + x])).sum::<f64>() / H as f64).collect();
        let mean = means.iter().sum::<f64>() / W as f64;
        libm::sqrt(means.iter().map(|m| (m - mean) * (m - mean)).sum::<f64>() / W as f64)
    }

    #[test]
    fn column_noise_falls_to_the_stated_part() {
        for (n, part) in [(2, 0.4), (4, 0.25), (7, 0.25)] {
            let pixel = |t, x, y| (2_000 + column_noise(x) + temporal_noise(t, x, y)) as u16;
            let before = run(settings(n), 1, pixel).0;
            let after = run(settings(n), 400, pixel).0;
            let (before, after) = (column_rms(&before), column_rms(&after));
            std::println!("n {n}: {before:.2} -> {after:.2}");
            assert!(before > 4.0 && after < part * before, "n {n}: {before} to {after}");
        }
    }

    #[test]
    fn a_single_odd_column_is_corrected_to_a_count() {
        let (frame, offsets) =
            run(settings(2), 400, |t, x, y| (2_000 + 25 * i32::from(x == 30) + temporal_noise(t, x, y)) as u16);
        assert!((offsets[30] - 25 * 256).abs() < 256, "{}", offsets[30]);
        let mean = (0..H).map(|y| u32::from(frame[y * W + 30])).sum::<u32>() / H as u32;
        assert!(mean.abs_diff(2_000) <= 2, "{mean}");
    }

    #[test]
    fn structures_wider_than_n_columns_are_untouched_to_the_last_bit() {
        for n in 1..=7u8 {
            let wide = usize::from(n) + 1;
            let scene = |_, x: usize, _| if (x / wide).is_multiple_of(2) { 2_000 } else { 2_030 };
            let (frame, offsets) = run(settings(n), 40, scene);
            // The last stretch may be cut short by the edge.
            let whole = W / wide * wide - wide;
            assert!(offsets[..whole].iter().all(|&offset| offset == 0), "n {n}: {offsets:?}");
            assert!((0..whole).all(|x| frame[x] == scene(0, x, 0)));
        }
    }

    #[test]
    fn a_narrow_line_missing_from_a_band_or_beyond_the_limit_is_untouched() {
        let short = run(settings(2), 40, |_, x, y| if x == 30 && y >= H / 4 { 2_030 } else { 2_000 });
        assert!(short.1.iter().all(|&offset| offset == 0));
        let strong = run(settings(2), 40, |_, x, _| if x == 30 { 2_041 } else { 2_000 });
        assert!(strong.1.iter().all(|&offset| offset == 0));
    }

    #[test]
    fn the_documented_limit_is_real_a_faint_full_height_line_goes() {
        let (frame, _) = run(settings(2), 100, |_, x, _| if x == 30 || x == 31 { 2_030 } else { 2_000 });
        assert!(frame[30] < 2_003, "{}", frame[30]);
    }

    #[test]
    fn a_column_with_a_pixel_that_is_no_reading_learns_nothing() {
        let (frame, offsets) =
            run(settings(2), 40, |_, x, y| if x == 30 { if y == 3 { 16_383 } else { 2_030 } } else { 2_000 });
        assert_eq!((offsets[30], frame[3 * W + 30]), (0, 16_383));
    }
}
