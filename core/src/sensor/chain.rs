//! The steps in their order, applied to rows as they come.
//!
//! *Order*: two-point correction, drift with the housing temperature, shutter (kept in the offsets), then bad pixels:
//! that of Budzier & Gerlach, J. Sens. Sens. Syst. 4 (2015) 187–197 (abstract read), who search for defects after each
//! step. Column noise comes after the bad pixels, which would spoil their columns; smoothing last, for it carries what
//! it gets into later frames. Steps whose memory is not lent are left out.
//!
//! A row comes out as soon as it went in: no step looks ahead, and the counts belong to the pixel they came from.
//!
//! *Cost* on thumbv7em, in instructions per pixel: gain, offset and drift 11.8 for rows of 160 pixels of up to 15 bits and
//! 14.7 for wider counts, through the C interface with all that falls with the width; 20 bad pixels 1 (all in
//! `docs/footprint.md`). Measured once in the emulator: watch with 16 slots 5.9; steps 3.1; smoothing 18; column noise 29.
//! Stack below 1 KiB.

use super::average::{PixelMeans, Smoothing, UNSMOOTHED};
use super::columns::{ColumnSettings, ColumnSlot, ColumnState, Columns};
use super::defects::{Defect, DefectKind, Defects};
use super::drift::{Drift, DriftOffset};
use super::range::{CountRange, SetupError};
use super::replace::replace_row;
use super::steady::{Steps, WarmUp};
use super::two_point::{Coefficient, ShutterTarget, TwoPoint, Unread};
use super::watch::{Watch, WatchSettings, WatchSlot, WatchState};
use crate::error::{Error, Result};
use crate::units::Kelvin;

/// Memory of a chain. An empty slice leaves its step out.
#[derive(Debug, Default)]
pub struct ChainMemory<'m> {
    /// Two-point correction: one per pixel, as calibrated.
    pub coefficients: &'m mut [Coefficient],
    /// Bad pixels: as many as may be listed and found.
    pub defects: &'m mut [Defect],
    /// Watching for new ones.
    pub watch: &'m mut [WatchSlot],
    /// Column noise: one per column.
    pub columns: &'m mut [ColumnSlot],
    /// Smoothing: one per pixel, [`UNSMOOTHED`] at the start.
    pub smoothing: &'m mut [u32],
}

/// What a chain is to do.
#[derive(Clone, Copy, Debug)]
pub struct ChainSettings {
    /// Columns, 1 to 65,535.
    pub width: u16,
    /// Rows, 1 to 65,535.
    pub height: u16,
    /// Which counts are readings.
    pub range: CountRange,
    /// What [`TwoPoint::calibrate`] returned; used if coefficients are lent.
    pub two_point: TwoPoint,
    /// How many of the lent defects are listed: [`Defects::len`].
    pub listed: usize,
    /// Drift model.
    pub drift: Option<Drift>,
    /// Used if slots for watching are lent; needs memory for defects.
    pub watch: WatchSettings,
    /// Used if slots for columns are lent.
    pub columns: ColumnSettings,
    /// Time constant 2^k frames, used if words for smoothing are lent.
    pub smoothing_shift: u8,
    /// Monitor of the housing temperature.
    pub warm_up: Option<WarmUp>,
    /// Monitor of common steps; needs 32 columns.
    pub steps: Option<Steps>,
}

/// What a chain knows beyond the lent memory; holds no references.
#[derive(Clone, Copy, Debug)]
pub struct ChainState {
    settings: ChainSettings,
    watch: Option<WatchState>,
    columns: Option<ColumnState>,
    smoothing: Option<Smoothing>,
    drift: DriftOffset,
    unread: Unread,
    /// Next row; the height outside a frame.
    row: u16,
}

impl ChainState {
    /// [`Chain::push`] for whoever keeps state and memory side by side: moving the state out and back for each row costs
    /// more than some of its steps. `memory` is the one the chain was made in.
    ///
    /// # Errors
    /// As [`Chain::push`].
    pub fn push(&mut self, memory: &mut ChainMemory<'_>, row: &mut [u16]) -> Result<()> {
        self.check(row)?;
        let (y, state) = (self.row, self);
        let unread = state.correct(memory, row)?;
        state.unread.dead = state.unread.dead.saturating_add(unread.dead);
        state.unread.saturated = state.unread.saturated.saturating_add(unread.saturated);
        let range = state.settings.range;
        let mut defects = Defects::resume(memory.defects, state.settings.listed);
        if let Some(watch_state) = state.watch {
            let mut watch = Watch::resume(memory.watch, watch_state);
            watch.push(y, row, &defects)?;
            state.watch = Some(watch.suspend());
        }
        replace_row(&mut defects, y, range, row);
        if let Some(column_state) = state.columns {
            let mut columns = Columns::resume(memory.columns, column_state);
            columns.push(row)?;
            state.columns = Some(columns.suspend());
        }
        if let Some(steps) = &mut state.settings.steps {
            steps.push(row)?;
        }
        if let Some(smoothing) = &state.smoothing {
            smoothing.apply(part(memory.smoothing, y, row.len()), row)?;
        }
        state.row = y + 1;
        Ok(())
    }

    fn check(&self, row: &[u16]) -> Result<()> {
        if row.len() != usize::from(self.settings.width) {
            return Err(Error::WrongLength);
        }
        if self.row >= self.settings.height { Err(Error::WrongOrder) } else { Ok(()) }
    }

    /// Gain, offset and drift, in one pass over the row.
    fn correct(&self, memory: &mut ChainMemory<'_>, row: &mut [u16]) -> Result<Unread> {
        let two_point = &self.settings.two_point;
        let common = self.drift.offset_q4;
        if !memory.coefficients.is_empty() {
            return two_point.correct_row(part(memory.coefficients, self.row, row.len()), common, row);
        }
        // Without coefficients the drift alone, on the same path.
        let mut unread = Unread::default();
        let neutral = [Coefficient::NEUTRAL; 32];
        for piece in row.chunks_mut(neutral.len()) {
            let new = two_point.correct_row(neutral.get(..piece.len()).unwrap_or(&[]), common, piece)?;
            unread.dead += new.dead;
            unread.saturated += new.saturated;
        }
        Ok(unread)
    }
}

/// What is to be known of a frame before its counts are judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FrameFlags {
    /// Pixels that the sensor sent as no readings.
    pub unread: Unread,
    /// Pixels of the frame.
    pub pixels: u32,
    /// Bad pixels found by the watch in this frame. They were used in the frames before.
    pub found: u32,
    /// The housing temperature still changes, or is not yet known to be steady. False without a monitor.
    pub warming_up: bool,
    /// The drift model does not cover this housing temperature, or was not told it. False without a model.
    pub drift_unknown: bool,
    /// All of the frame stepped by the limit or more. False without a monitor.
    pub stepped: bool,
    /// By how much, 1/16 count.
    pub step_q4: i32,
}

impl FrameFlags {
    /// Share of saturated pixels, times 65,536.
    #[must_use]
    pub fn saturated_q16(&self) -> u32 {
        let share = (u64::from(self.unread.saturated) << 16).checked_div(u64::from(self.pixels));
        share.map_or(0, |share| share as u32)
    }
}

/// The chain of corrections over lent memory.
#[derive(Debug)]
pub struct Chain<'m> {
    memory: ChainMemory<'m>,
    state: ChainState,
}

impl<'m> Chain<'m> {
    /// A chain in lent memory.
    ///
    /// # Errors
    /// [`SetupError::Memory`] if a slice that is not empty does not fit the size, [`SetupError::Setting`] for a setting
    /// that a step refuses, a size of 0, or a watch without memory for defects.
    pub fn new(memory: ChainMemory<'m>, settings: ChainSettings) -> core::result::Result<Self, SetupError> {
        let ChainSettings { width, height, range, .. } = settings;
        let pixels = usize::from(width) * usize::from(height);
        let fits = |len: usize, wanted: usize| len == 0 || len == wanted;
        if pixels == 0 || (!memory.watch.is_empty() && memory.defects.is_empty()) {
            return Err(SetupError::Setting);
        }
        if settings.steps.is_some() && width < 32 {
            return Err(SetupError::Setting);
        }
        let sized = fits(memory.coefficients.len(), pixels)
            && fits(memory.smoothing.len(), pixels)
            && fits(memory.columns.len(), usize::from(width));
        if !sized || settings.listed > memory.defects.len() {
            return Err(SetupError::Memory);
        }
        let watch = if memory.watch.is_empty() {
            None
        } else {
            Some(Watch::new(&mut *memory.watch, width, height, range, settings.watch)?.suspend())
        };
        let columns = if memory.columns.is_empty() {
            None
        } else {
            Some(Columns::new(&mut *memory.columns, height, range, settings.columns)?.suspend())
        };
        let smoothing = if memory.smoothing.is_empty() {
            None
        } else {
            memory.smoothing.fill(UNSMOOTHED);
            Some(Smoothing::new(settings.smoothing_shift, range)?)
        };
        let drift = DriftOffset { offset_q4: 0, outside: settings.drift.is_some() };
        let state = ChainState { settings, watch, columns, smoothing, drift, unread: Unread::default(), row: height };
        Ok(Self { memory, state })
    }

    /// Takes up a chain again from its state and the same memory, untouched since [`Chain::suspend`].
    #[must_use]
    pub const fn resume(memory: ChainMemory<'m>, state: ChainState) -> Self {
        Self { memory, state }
    }

    /// Gives the memory back and keeps what is needed to go on.
    #[must_use]
    pub fn suspend(self) -> (ChainMemory<'m>, ChainState) {
        (self.memory, self.state)
    }

    /// Begins a frame, with the housing temperature if it was read; a frame that was begun and not ended is dropped.
    /// Without a temperature the drift of the frame before holds.
    pub fn begin_frame(&mut self, time_ms: u32, housing: Option<Kelvin>) {
        let state = &mut self.state;
        (state.row, state.unread) = (0, Unread::default());
        if let Some((warm_up, housing)) = state.settings.warm_up.as_mut().zip(housing) {
            warm_up.add(time_ms, housing);
        }
        state.drift = match (&state.settings.drift, housing) {
            (Some(drift), Some(housing)) => drift.offset(housing),
            (Some(_), None) => DriftOffset { outside: true, ..state.drift },
            (None, _) => DriftOffset { offset_q4: 0, outside: false },
        };
    }

    /// Corrects the next row of the frame in place.
    ///
    /// # Errors
    /// [`Error::WrongLength`] for another width, [`Error::WrongOrder`] outside a frame or after its last row. The row
    /// is then untouched.
    pub fn push(&mut self, row: &mut [u16]) -> Result<()> {
        self.state.push(&mut self.memory, row)
    }

    /// Corrects the next row of a frame of the closed shutter, for [`Chain::update_offsets`]: gain, offset and drift
    /// only. Nothing is learned from it and no pixel is replaced.
    ///
    /// # Errors
    /// As [`Chain::push`].
    pub fn push_shutter(&mut self, row: &mut [u16]) -> Result<()> {
        self.state.check(row)?;
        self.state.correct(&mut self.memory, row)?;
        self.state.row += 1;
        Ok(())
    }

    /// Ends a frame.
    ///
    /// # Errors
    /// [`Error::WrongOrder`] unless all its rows were pushed.
    pub fn end_frame(&mut self) -> Result<FrameFlags> {
        let Self { memory, state } = self;
        if state.row != state.settings.height {
            return Err(Error::WrongOrder);
        }
        let mut found = 0;
        if let Some(watch_state) = state.watch {
            let mut defects = Defects::resume(memory.defects, state.settings.listed);
            let mut watch = Watch::resume(memory.watch, watch_state);
            found = watch.end_frame(&mut defects);
            state.watch = Some(watch.suspend());
            state.settings.listed = defects.len();
        }
        let step_q4 = state.settings.steps.as_mut().map_or(0, Steps::end_frame);
        Ok(FrameFlags {
            unread: state.unread,
            pixels: u32::from(state.settings.width) * u32::from(state.settings.height),
            found,
            warming_up: state.settings.warm_up.as_ref().is_some_and(WarmUp::is_warming),
            drift_unknown: state.drift.outside,
            stepped: state.settings.steps.as_ref().is_some_and(Steps::stepped),
            step_q4,
        })
    }

    /// Updates the offsets from means of shutter frames that went through [`Chain::push_shutter`], and begins all
    /// watches again. Smoothed counts start afresh: they were made with the old offsets.
    ///
    /// # Errors
    /// As [`TwoPoint::update_offsets`]; [`SetupError::Memory`] without coefficients.
    pub fn update_offsets(
        &mut self,
        shutter: &impl PixelMeans,
        target: ShutterTarget,
    ) -> core::result::Result<u32, SetupError> {
        let Self { memory, state } = self;
        if memory.coefficients.is_empty() {
            return Err(SetupError::Memory);
        }
        let left = state.settings.two_point.update_offsets(shutter, target, memory.coefficients)?;
        if let Some(watch_state) = state.watch {
            Watch::resume(memory.watch, watch_state).restart();
        }
        memory.smoothing.fill(UNSMOOTHED);
        Ok(left)
    }

    /// Bad pixels, listed and found.
    #[must_use]
    pub fn defects(&self) -> &[Defect] {
        self.memory.defects.get(..self.state.settings.listed).unwrap_or(&[])
    }

    /// Adds a bad pixel. Returns whether it is new.
    ///
    /// # Errors
    /// [`SetupError::Setting`] for a pixel outside, [`SetupError::ListFull`].
    pub fn list_defect(&mut self, x: u16, y: u16, kind: DefectKind) -> core::result::Result<bool, SetupError> {
        let settings = &mut self.state.settings;
        if x >= settings.width || y >= settings.height {
            return Err(SetupError::Setting);
        }
        let mut defects = Defects::resume(self.memory.defects, settings.listed);
        let new = defects.insert(x, y, kind)?;
        settings.listed = defects.len();
        Ok(new)
    }
}

/// What memory per pixel holds for row `y`.
fn part<T>(memory: &mut [T], y: u16, width: usize) -> &mut [T] {
    memory.get_mut(usize::from(y) * width..).and_then(|rest| rest.get_mut(..width)).unwrap_or(&mut [])
}
