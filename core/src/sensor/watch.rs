//! Finding stuck and blinking pixels while the instrument is in use.
//!
//! *Why.* One stuck pixel in the middle of the range looks like a small hot part: within a 7 × 7 spot it turned a sound
//! joint into a probable fault in our simulator. A set-up run cannot know what sticks later.
//!
//! *What.* A few pixels are watched over a number of frames, each beside a neighbor. Stuck: the pixel kept within a
//! count or so while the neighbor moved, by noise or by scene. Blinking: the pixel went beyond its neighbors to the left,
//! right and above, and back, several times. Every pixel takes its turn in raster order; a pixel beyond both neighbors
//! goes first, because it
//! is what a measurement would trip over. Criteria are our own (proposals); all are settings.
//!
//! *Limits.* Where the neighbor does not move more than noise-free counts do, nothing is said. A live pixel is taken
//! for stuck if all its counts of a watch lie within the span: with noise of 2 counts and 32 frames below 1 in 10¹²
//! (derived: 0.38³¹), with noise of 1 count the neighbor does not pass the live span. A feature smaller than a pixel
//! that crosses it is one excursion, two changes; a scene that comes and goes again and again in single pixels, as a
//! recording that alternates between two views, is taken for blinking at its points. Blinking is not found in the first
//! row, nor below a listed pixel.
//!
//! *Cost.* Per row one comparison per slot; while slots are free, one row of four is looked through. With 16 slots and
//! 160 × 120 pixels 6 instructions per pixel (measured, thumbv7em). A turn of all pixels takes pixels·frames/slots
//! frames, at least one frame per pixel: a pixel that sticks within the range of its neighbors may stay that long.

use super::defects::{DefectKind, Defects};
use super::range::{CountRange, SetupError};
use crate::error::{Error, Result};

/// What is followed of one pixel; lend [`WatchSlot::EMPTY`]s, 16 to 64 (proposal).
#[derive(Clone, Copy, Debug)]
pub struct WatchSlot {
    x: u16,
    y: u16,
    own: Span,
    neighbor: Span,
    frames: u16,
    /// Count of the pixel above in this frame, or 0: count 0 is never a reading.
    above: u16,
    changes: u8,
    outside: bool,
}

#[derive(Clone, Copy, Debug)]
struct Span {
    low: u16,
    high: u16,
}

impl Span {
    const NONE: Self = Self { low: u16::MAX, high: 0 };

    fn add(&mut self, count: u16) {
        (self.low, self.high) = (self.low.min(count), self.high.max(count));
    }

    const fn width(self) -> u16 {
        self.high.saturating_sub(self.low)
    }
}

/// Row of a slot in which nothing is watched; rows of an image end before it.
const IDLE: u16 = u16::MAX;
/// While slots are free, one row in this many is looked through per frame.
const SEEK_EVERY: u16 = 4;

impl WatchSlot {
    /// Watches nothing.
    pub const EMPTY: Self =
        Self { x: 0, y: IDLE, own: Span::NONE, neighbor: Span::NONE, frames: 0, above: 0, changes: 0, outside: false };
}

/// When a pixel is called stuck or blinking.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct WatchSettings {
    /// Frames of one watch, 8 to 1,000. 32.
    pub frames: u16,
    /// Stuck: highest less lowest count of the pixel at most this. 1: a step of the drift offset may move it by one.
    pub stuck_span: u16,
    /// and that of its neighbor at least this, above `stuck_span`. 6.
    pub live_span: u16,
    /// Excursion: counts beyond the neighbors; back when below half of it. About five times the noise; 1 at least.
    pub excursion: u16,
    /// Blinking: changes into or out of an excursion during one watch, 3 to 255. 6, three excursions.
    pub changes: u8,
}

impl Default for WatchSettings {
    fn default() -> Self {
        Self { frames: 32, stuck_span: 1, live_span: 6, excursion: 60, changes: 6 }
    }
}

/// What a [`Watch`] knows beyond the lent memory.
#[derive(Clone, Copy, Debug)]
pub struct WatchState {
    settings: WatchSettings,
    range: CountRange,
    width: u16,
    height: u16,
    /// Next pixel in turn.
    cursor: (u16, u16),
    /// Frames taken, for which rows are looked through.
    frame: u16,
}

/// Watches pixels of corrected rows before bad ones are replaced.
#[derive(Debug)]
pub struct Watch<'m> {
    slots: &'m mut [WatchSlot],
    state: WatchState,
}

impl<'m> Watch<'m> {
    /// A watch over frames of this size. Without slots it does nothing.
    ///
    /// # Errors
    /// [`SetupError::Setting`] for a setting outside its range or fewer than three columns.
    pub fn new(
        slots: &'m mut [WatchSlot],
        width: u16,
        height: u16,
        range: CountRange,
        settings: WatchSettings,
    ) -> core::result::Result<Self, SetupError> {
        let sound = (8..=1_000).contains(&settings.frames)
            && settings.live_span > settings.stuck_span
            && settings.excursion > 0
            && settings.changes >= 3;
        if width < 3 || height == 0 || !sound {
            return Err(SetupError::Setting);
        }
        slots.fill(WatchSlot::EMPTY);
        Ok(Self { slots, state: WatchState { settings, range, width, height, cursor: (0, 0), frame: 0 } })
    }

    /// Takes up a watch again from its state and the same memory.
    pub const fn resume(slots: &'m mut [WatchSlot], state: WatchState) -> Self {
        Self { slots, state }
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> WatchState {
        self.state
    }

    /// Begins all watches again, as after a shutter event: counts before and after it do not compare.
    pub fn restart(&mut self) {
        self.slots.fill(WatchSlot::EMPTY);
    }

    /// Takes row `y` of a frame. Listed pixels are neither watched nor used as neighbors.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for another width or a row outside.
    pub fn push(&mut self, y: u16, row: &[u16], defects: &Defects) -> Result<()> {
        let Self { slots, state } = self;
        if row.len() != usize::from(state.width) || y >= state.height {
            return Err(Error::WrongLength);
        }
        let mut idle = 0usize;
        for slot in slots.iter_mut() {
            if slot.y == y.wrapping_add(1) {
                let count = row.get(usize::from(slot.x)).copied().unwrap_or(0);
                let good = state.range.holds(count) && !defects.contains(slot.x, y);
                slot.above = if good { count } else { 0 };
            }
            if slot.y == y {
                *slot = follow(*slot, row, state, defects).unwrap_or(WatchSlot::EMPTY);
            }
            idle += usize::from(slot.y == IDLE);
        }
        if idle > 0 && y % SEEK_EVERY == state.frame % SEEK_EVERY {
            seek(slots, idle, y, row, state, defects);
        }
        Ok(())
    }

    /// Ends a frame: judges the watches that are complete, adds what they found to `defects`, and gives their slots to
    /// the next pixels in turn. Returns how many pixels were found. If the list is full, a find is not kept, and the
    /// pixel will be found again.
    pub fn end_frame(&mut self, defects: &mut Defects) -> u32 {
        let Self { slots, state } = self;
        let mut found = 0;
        for slot in slots.iter_mut() {
            if slot.y != IDLE && slot.frames >= state.settings.frames {
                if let Some(kind) = verdict(slot, &state.settings) {
                    found += u32::from(defects.insert(slot.x, slot.y, kind) == Ok(true));
                }
                *slot = WatchSlot::EMPTY;
            }
        }
        // One new pixel per frame, so that finds of the search always meet free slots.
        if let Some(slot) = slots.iter_mut().rev().find(|slot| slot.y == IDLE) {
            let (x, y) = state.cursor;
            *slot = WatchSlot { x, y, ..WatchSlot::EMPTY };
            let end_of_row = x + 1 >= state.width;
            let end_of_frame = end_of_row && y + 1 >= state.height;
            state.cursor =
                (if end_of_row { 0 } else { x + 1 }, if end_of_frame { 0 } else { y + u16::from(end_of_row) });
        }
        state.frame = state.frame.wrapping_add(1);
        found
    }
}

/// The two pixels beside column `x`; at an edge the one there is, twice.
fn beside(row: &[u16], x: u16) -> Option<(u16, u16)> {
    let left = usize::from(x).checked_sub(1).and_then(|at| row.get(at));
    let right = row.get(usize::from(x) + 1);
    Some((*left.or(right)?, *right.or(left)?))
}

/// Counts by which the pixel lies beyond both neighbors.
fn beyond(count: u16, (left, right): (u16, u16)) -> u16 {
    count.saturating_sub(left.max(right)).max(left.min(right).saturating_sub(count))
}

/// The slot with this row taken in, or `None` if the pixel cannot be watched now.
fn follow(mut slot: WatchSlot, row: &[u16], state: &WatchState, defects: &Defects) -> Option<WatchSlot> {
    let count = *row.get(usize::from(slot.x))?;
    let (left, right) = beside(row, slot.x)?;
    let listed = |x: Option<u16>| x.is_some_and(|x| defects.contains(x, slot.y));
    let near = [Some(slot.x), slot.x.checked_sub(1), slot.x.checked_add(1)];
    if near.into_iter().any(listed) || ![count, left, right].into_iter().all(|count| state.range.holds(count)) {
        return None;
    }
    slot.own.add(count);
    slot.neighbor.add(left);
    // Above as well: a thin line that trembles stands out along all its length, a blinking pixel alone. Without a good
    // pixel above nothing is said; else one wrong find would lead to the next below it.
    let beyond = match slot.above {
        0 => 0,
        above => beyond(count, (left.min(right).min(above), left.max(right).max(above))),
    };
    let was = slot.outside;
    slot.outside = beyond >= if was { state.settings.excursion.div_ceil(2) } else { state.settings.excursion };
    slot.changes = slot.changes.saturating_add(u8::from(slot.frames > 0 && slot.outside != was));
    slot.frames = slot.frames.saturating_add(1);
    Some(slot)
}

fn verdict(slot: &WatchSlot, settings: &WatchSettings) -> Option<DefectKind> {
    if slot.changes >= settings.changes {
        Some(DefectKind::Blinking)
    } else if slot.own.width() <= settings.stuck_span && slot.neighbor.width() >= settings.live_span {
        Some(DefectKind::Stuck)
    } else {
        None
    }
}

/// Gives free slots to pixels of this row that lie beyond both neighbors. One slot is left for the pixels in turn.
fn seek(slots: &mut [WatchSlot], idle: usize, y: u16, row: &[u16], state: &WatchState, defects: &Defects) {
    let mut left = idle.saturating_sub(1);
    for (x, window) in (1u16..).zip(row.windows(3)) {
        let [before, count, after] = *window else { continue };
        // The first comparison alone decides for most pixels.
        let least = state.settings.excursion;
        if count.abs_diff(before) < least || beyond(count, (before, after)) < least {
            continue;
        }
        if left == 0 {
            return;
        }
        let known = defects.contains(x, y) || slots.iter().any(|slot| (slot.x, slot.y) == (x, y));
        if let Some(slot) = slots.iter_mut().find(|slot| slot.y == IDLE)
            && !known
        {
            *slot = WatchSlot { x, y, ..WatchSlot::EMPTY };
            left -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::defects::Defect;
    use super::*;
    use std::vec::Vec;

    const W: usize = 16;
    const H: usize = 8;

    /// Noise with a standard deviation of about 4 counts: the sum of four uniform values of 0 to 7.
    fn noisy(seed: &mut u32) -> u16 {
        (0..4).fold(0, |sum, _| {
            *seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            sum + (*seed >> 29) as u16
        })
    }

    /// Runs `frames` frames through a watch and returns what it found.
    fn watched(
        frames: u32,
        slots: usize,
        pixel: impl Fn(u32, usize, usize, u16) -> u16,
    ) -> Vec<(u16, u16, DefectKind)> {
        let range = CountRange::new(0, 16_383).unwrap();
        let mut slots = std::vec![WatchSlot::EMPTY; slots];
        let mut list = [Defect::EMPTY; 32];
        let mut defects = Defects::new(&mut list);
        let mut watch = Watch::new(&mut slots, W as u16, H as u16, range, WatchSettings::default()).unwrap();
        let mut seed = 1;
        let mut found = 0;
        for t in 0..frames {
            for y in 0..H {
                let row: Vec<_> = (0..W).map(|x| pixel(t, x, y, noisy(&mut seed))).collect();
                watch.push(y as u16, &row, &defects).unwrap();
            }
            found += watch.end_frame(&mut defects);
        }
        assert_eq!(found as usize, defects.len());
        defects.as_slice().iter().map(|d| (d.x(), d.y(), d.kind())).collect()
    }

    #[test]
    fn an_outlying_stuck_pixel_is_found_within_two_watches() {
        let found = watched(64, 8, |_, x, y, noise| if (x, y) == (5, 3) { 2_500 } else { 2_000 + noise });
        assert_eq!(found, [(5, 3, DefectKind::Stuck)]);
    }

    #[test]
    fn a_stuck_pixel_amid_the_scene_is_found_in_its_turn() {
        let frames = (W * H) as u32 + 40;
        let found = watched(frames, 40, |_, x, y, noise| if (x, y) == (9, 6) { 2_014 } else { 2_000 + noise });
        assert_eq!(found, [(9, 6, DefectKind::Stuck)]);
    }

    #[test]
    fn a_blinking_pixel_is_found_and_a_passing_feature_is_not() {
        let blinks = |t: u32| if (t / 3).is_multiple_of(2) { 300 } else { 0 };
        let found = watched(80, 8, |t, x, y, noise| {
            // A bright column wanders across the frame, one column each eight frames.
            let scene = if x as u32 == t / 8 { 800 } else { 0 };
            2_000 + noise + scene + if (x, y) == (13, 2) { blinks(t) } else { 0 }
        });
        assert_eq!(found, [(13, 2, DefectKind::Blinking)]);
    }

    #[test]
    fn a_thin_line_that_trembles_is_no_defect() {
        // One column wide, it moves to and fro by a column every two frames.
        let line = |t: u32, x: usize| x as u32 == 7 + t / 2 % 2;
        assert_eq!(watched(200, 16, |t, x, _, noise| 2_000 + noise + if line(t, x) { 500 } else { 0 }), []);
    }

    #[test]
    fn a_live_frame_has_no_finds_and_a_noise_free_one_says_nothing() {
        assert_eq!(watched(600, 40, |_, _, _, noise| 2_000 + noise), []);
        assert_eq!(watched(300, 40, |_, x, y, _| 2_000 + if (x, y) == (5, 3) { 500 } else { 0 }), []);
    }

    #[test]
    fn a_small_hot_part_that_lives_is_no_defect() {
        assert_eq!(watched(300, 8, |_, x, y, noise| 2_000 + noise + if (x, y) == (5, 3) { 500 } else { 0 }), []);
    }
}
