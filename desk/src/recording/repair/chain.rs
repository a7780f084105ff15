//! What is to be done to the frames, and doing it.

use oddheat_core::checks::View;
use oddheat_core::sensor::{ChainSettings, ColumnSlot, Drift, FrameFlags, TwoPoint, UNSMOOTHED, WatchSlot};
use oddheat_core::units::celsius;

use super::{
    Chain, ChainMemory, Coefficient, ColumnSettings, Correction, CountRange, Defect, DefectKind, Defects, Frame,
    Housing, Repaired, SetupError, ShutterTarget, Steps, WarmUp, WatchSettings,
};
use oddheat_core::sensor::PixelMeans;

/// A repair that is stated in full.
pub(super) struct Plan {
    width: u16,
    height: u16,
    pub(super) range: CountRange,
    /// As much memory as may be listed and found; the first `listed` are in use.
    defects: Vec<Defect>,
    listed: usize,
    /// Empty without a correction.
    pub(super) coefficients: Vec<Coefficient>,
    pub(super) two_point: TwoPoint,
    pub(super) correction: Correction,
    pub(super) drift: Option<Drift>,
    pub(super) watch: Option<(WatchSettings, usize)>,
    pub(super) columns: Option<ColumnSettings>,
    pub(super) smoothing: Option<u8>,
    pub(super) warm_up: Option<WarmUp>,
    pub(super) steps: Option<Steps>,
    pub(super) netd_k: Option<f64>,
}

/// Memory of the steps that are wanted in a pass.
#[derive(Default)]
struct Memory {
    watch: Vec<WatchSlot>,
    columns: Vec<ColumnSlot>,
    smoothing: Vec<u32>,
}

impl Plan {
    /// Does nothing yet; `bad_most` pixels may be listed and found.
    pub(super) fn new((width, height): (u16, u16), range: CountRange, bad_most: usize) -> Self {
        Self {
            width,
            height,
            range,
            defects: vec![Defect::EMPTY; bad_most],
            listed: 0,
            coefficients: Vec::new(),
            // Gains of 1 turn about any count.
            two_point: TwoPoint::with_pivot(range.dead(), range),
            correction: Correction::None,
            drift: None,
            watch: None,
            columns: None,
            smoothing: None,
            warm_up: None,
            steps: None,
            netd_k: None,
        }
    }

    pub(super) fn list(&mut self, x: u16, y: u16, kind: DefectKind) -> Result<(), SetupError> {
        self.with_defects(|defects, _| defects.insert(x, y, kind).map(|_| ()))
    }

    /// Lets the list of bad pixels and the coefficients be worked on together.
    pub(super) fn with_defects<T, E>(
        &mut self,
        work: impl FnOnce(&mut Defects<'_>, &mut Vec<Coefficient>) -> Result<T, E>,
    ) -> Result<T, E> {
        let mut defects = Defects::resume(&mut self.defects, self.listed);
        let done = work(&mut defects, &mut self.coefficients);
        self.listed = defects.len();
        done
    }

    fn settings(&self) -> ChainSettings {
        ChainSettings {
            width: self.width,
            height: self.height,
            range: self.range,
            two_point: self.two_point,
            listed: self.listed,
            drift: self.drift,
            watch: self.watch.map_or_else(WatchSettings::default, |(settings, _)| settings),
            columns: self.columns.unwrap_or(ColumnSettings { columns: 1, limit: 1, slowness: 0 }),
            smoothing_shift: self.smoothing.unwrap_or(0),
            warm_up: self.warm_up,
            steps: self.steps,
        }
    }

    fn chain<'m>(&'m mut self, memory: &'m mut Memory) -> Result<Chain<'m>, SetupError> {
        let settings = self.settings();
        let lent = ChainMemory {
            coefficients: &mut self.coefficients,
            defects: &mut self.defects,
            watch: &mut memory.watch,
            columns: &mut memory.columns,
            smoothing: &mut memory.smoothing,
        };
        Chain::new(lent, settings)
    }

    /// Sets the offsets anew from means of raw frames of one uniform surface, so that it comes out uniform at its mean.
    pub(super) fn flatten(&mut self, raw: &impl PixelMeans) -> Result<(), SetupError> {
        let mut memory = Memory::default();
        self.chain(&mut memory)?.update_offsets(raw, ShutterTarget::ArrayMean).map(|_| ())
    }

    /// Runs the chain over all frames and keeps what it says.
    pub(super) fn run(mut self, frames: &mut [Frame]) -> Result<Repaired, SetupError> {
        let mut views: Vec<View> = Vec::new();
        for frame in frames.iter() {
            if !views.contains(&frame.view) {
                views.push(frame.view);
            }
        }
        let (width, listed) = (self.width, self.listed);
        let mut unwatched = Vec::new();
        if let Some((settings, slots)) = self.watch {
            for &view in &views {
                let of_view = frames.iter().filter(|frame| frame.view == view);
                if of_view.clone().count() < usize::from(settings.frames) {
                    unwatched.push(view);
                }
                let mut memory = Memory { watch: vec![WatchSlot::EMPTY; slots], ..Memory::default() };
                let mut chain = self.chain(&mut memory)?;
                for frame in of_view {
                    let mut counts = frame.counts.clone();
                    one(&mut chain, width, frame, &mut counts)?;
                }
                let found = chain.defects().len();
                self.listed = found;
            }
        }
        let mut flags: Vec<Option<FrameFlags>> = vec![None; frames.len()];
        let pixels = usize::from(self.width) * usize::from(self.height);
        for view in views {
            let mut memory = Memory::default();
            if self.columns.is_some() {
                memory.columns = vec![ColumnSlot::EMPTY; usize::from(self.width)];
            }
            if self.smoothing.is_some() {
                memory.smoothing = vec![UNSMOOTHED; pixels];
            }
            let mut chain = self.chain(&mut memory)?;
            for (frame, flags) in frames.iter_mut().zip(&mut flags).filter(|(frame, _)| frame.view == view) {
                let mut counts = std::mem::take(&mut frame.counts);
                let said = one(&mut chain, width, frame, &mut counts)?;
                frame.counts = counts;
                // A step that nobody told of is one all the same: what is compared across it compares the instrument.
                frame.shutter |= said.stepped;
                *flags = Some(said);
            }
        }
        Ok(Repaired {
            correction: self.correction,
            bad: self.defects.get(..self.listed).unwrap_or(&[]).to_vec(),
            found_by_watch: self.listed.saturating_sub(listed) as u32,
            unwatched,
            housing: housing(self.warm_up, frames),
            flags: flags.into_iter().flatten().collect(),
            netd_k: self.netd_k,
            drift_residual_counts: self.drift.map(|drift| f64::from(drift.residual_q8()) / 256.0),
        })
    }
}

/// What the monitor says of all frames together: they span more time than those of a view.
fn housing(monitor: Option<WarmUp>, frames: &[Frame]) -> Housing {
    let Some(mut monitor) = monitor else { return Housing::NotMonitored };
    let mut seen = Housing::NotKnown;
    for frame in frames {
        if let Some(celsius_of) = frame.housing_c {
            monitor.add(frame.time_ms, celsius(celsius_of));
        }
        if monitor.slope_per_minute().is_some() && seen != Housing::Changing {
            seen = if monitor.is_warming() { Housing::Changing } else { Housing::Steady };
        }
    }
    seen
}

/// One frame through a chain. Frames have been read in the size the chain was made for, so its row errors cannot come.
fn one(chain: &mut Chain<'_>, width: u16, frame: &Frame, counts: &mut [u16]) -> Result<FrameFlags, SetupError> {
    chain.begin_frame(frame.time_ms, frame.housing_c.map(celsius));
    for row in counts.chunks_exact_mut(usize::from(width)) {
        chain.push(row).map_err(|_| SetupError::Memory)?;
    }
    chain.end_frame().map_err(|_| SetupError::Memory)
}
