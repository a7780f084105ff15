//! Behind the C functions for the repair of a sensor, in safe Rust on borrowed parts.

use crate::convert::{self, or, sized};
use crate::device::Outcome;
use crate::sensor_types::{self as types, SensorConfig};
use crate::status::Status;
use fixed::types::I16F16;
use oddheat_core::sensor::{
    Average, AverageState, Chain, ChainMemory, ChainSettings, ChainState, Coefficient, ColumnSettings, ColumnSlot,
    Criteria, Defect, DefectKind, Defects, Drift, DriftOrder, PixelSums, RunState, ShutterTarget, SoakPoint, Steps,
    TwoPoint, UniformRun, WarmUp, WatchSettings, WatchSlot, find_defects, netd, netd_of_runs,
};
use oddheat_core::units::{Delta, Kelvin};

/// Marks the block of a sensor that was initialized.
pub(crate) const SENSOR_MAGIC: u32 = 0x0DD4_5E50;
/// Marks the block of a uniform run.
pub(crate) const RUN_MAGIC: u32 = 0x0DD4_0127;
/// Most points of a soak run that are taken. A proposal: as many as leave the stack below 2 KiB; one every few minutes
/// tells a parabola.
const SOAK_POINTS_MAX: usize = 24;

/// Start of a sensor's block. No pointers.
#[repr(C, align(8))]
#[derive(Debug)]
pub(crate) struct SensorHead {
    pub(crate) magic: u32,
    pub(crate) sizes: SensorSizes,
    settings: ChainSettings,
    chain: Option<ChainState>,
    shutter: Option<AverageState>,
}

/// What the rest of the block holds, in entries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct SensorSizes {
    pub(crate) coefficients: u32,
    pub(crate) smoothing: u32,
    pub(crate) shutter: u32,
    pub(crate) columns: u32,
    pub(crate) defects: u32,
    pub(crate) watch: u32,
}

/// Start of the block of a uniform run.
#[repr(C, align(8))]
#[derive(Debug)]
pub(crate) struct RunHead {
    pub(crate) magic: u32,
    pub(crate) pixels: u32,
    state: RunState,
}

/// A sensor: the parts of a block, borrowed for a call.
pub(crate) struct Sensor<'m> {
    pub(crate) head: &'m mut SensorHead,
    pub(crate) coefficients: &'m mut [Coefficient],
    pub(crate) smoothing: &'m mut [u32],
    pub(crate) shutter: &'m mut [u32],
    pub(crate) columns: &'m mut [ColumnSlot],
    pub(crate) defects: &'m mut [Defect],
    pub(crate) watch: &'m mut [WatchSlot],
}

/// A uniform run, borrowed for a call.
pub(crate) struct Run<'m> {
    pub(crate) head: &'m mut RunHead,
    pub(crate) pixels: &'m mut [PixelSums],
}

/// Checks a config and says what its block holds.
pub(crate) fn sizes(config: &SensorConfig) -> Outcome<SensorSizes> {
    let pixels = u32::from(config.width_px) * u32::from(config.height_px);
    if config.reserved != 0 {
        return Err(Status::ErrUnsupported);
    }
    if pixels == 0 || config.correction > 1 || config.shutter > config.correction {
        return Err(Status::ErrRange);
    }
    let when = |wanted: bool, entries: u32| if wanted { entries } else { 0 };
    Ok(SensorSizes {
        coefficients: when(config.correction == 1, pixels),
        smoothing: when(config.smoothing_shift > 0, pixels),
        shutter: when(config.shutter == 1, pixels),
        columns: when(config.column_limit_counts > 0, u32::from(config.width_px)),
        defects: u32::from(or(config.bad_pixels_max, 64)),
        watch: u32::from(config.watch_slots),
    })
}

fn settings(config: &SensorConfig) -> Outcome<ChainSettings> {
    let range = convert::readings(config.dead_at_or_below_counts, config.saturated_at_counts)?;
    let usual = WatchSettings::default();
    let small = |value: u16| u8::try_from(value).map_err(|_| Status::ErrRange);
    let warm_up = match config.warm_up_mk_per_minute {
        0 => None,
        // Millikelvin to Q16.16; above 32,767 K a minute there is no format.
        limit => {
            let bits = (i64::from(limit) * 65_536 + 500) / 1_000;
            let bits = i32::try_from(bits).map_err(|_| Status::ErrRange)?;
            let window = if config.warm_up_window_ms == 0 { 60_000 } else { config.warm_up_window_ms };
            Some(WarmUp::new(Delta(I16F16::from_bits(bits)), window)?)
        }
    };
    let steps = if config.step_counts == 0 { None } else { Some(Steps::new(config.step_counts, range)?) };
    Ok(ChainSettings {
        width: config.width_px,
        height: config.height_px,
        range,
        two_point: TwoPoint::with_pivot(range.dead(), range),
        listed: 0,
        drift: None,
        watch: WatchSettings {
            frames: or(config.watch_frames, usual.frames),
            excursion: or(config.watch_excursion_counts, usual.excursion),
            ..usual
        },
        columns: ColumnSettings {
            columns: small(or(config.column_reach_px, 2))?,
            limit: config.column_limit_counts,
            slowness: small(or(config.column_slowness, 5))?,
        },
        smoothing_shift: small(config.smoothing_shift)?,
        warm_up,
        steps,
    })
}

impl SensorHead {
    /// A head before its chain is made; the magic number comes last.
    pub(crate) fn new(config: &SensorConfig) -> Outcome<Self> {
        Ok(Self { magic: 0, sizes: sizes(config)?, settings: settings(config)?, chain: None, shutter: None })
    }
}

impl Sensor<'_> {
    /// Makes the chain anew, as after a change of its settings: what it learned of the scene is forgotten, the list of
    /// bad pixels and the coefficients stay.
    pub(crate) fn rebuild(&mut self) -> Outcome<()> {
        let settings = self.head.settings;
        let memory = ChainMemory {
            coefficients: self.coefficients,
            defects: self.defects,
            watch: self.watch,
            columns: self.columns,
            smoothing: self.smoothing,
        };
        self.head.chain = Some(Chain::new(memory, settings)?.suspend().1);
        self.head.shutter = None;
        Ok(())
    }

    /// Lets the chain work for a call.
    fn with_chain<T>(&mut self, work: impl FnOnce(&mut Chain<'_>) -> Outcome<T>) -> Outcome<T> {
        let state = self.head.chain.ok_or(Status::ErrBadState)?;
        let memory = ChainMemory {
            coefficients: self.coefficients,
            defects: self.defects,
            watch: self.watch,
            columns: self.columns,
            smoothing: self.smoothing,
        };
        let mut chain = Chain::resume(memory, state);
        let done = work(&mut chain);
        self.head.settings.listed = chain.defects().len();
        self.head.chain = Some(chain.suspend().1);
        done
    }

    pub(crate) fn begin_frame(&mut self, time_ms: u32, housing_mk: i32) -> Outcome<()> {
        let housing = match housing_mk {
            0 => None,
            mk => Some(convert::kelvin(mk).ok_or(Status::ErrRange)?),
        };
        self.with_chain(|chain| {
            chain.begin_frame(time_ms, housing);
            Ok(())
        })
    }

    pub(crate) fn row(&mut self, row: &mut [u16]) -> Outcome<()> {
        // Not with_chain: the state stays where it is.
        let mut memory = ChainMemory {
            coefficients: self.coefficients,
            defects: self.defects,
            watch: self.watch,
            columns: self.columns,
            smoothing: self.smoothing,
        };
        Ok(self.head.chain.as_mut().ok_or(Status::ErrBadState)?.push(&mut memory, row)?)
    }

    pub(crate) fn end_frame(&mut self, out: &mut types::SensorFlags) -> Outcome<()> {
        sized::<types::SensorFlags>(out.struct_size)?;
        let flags = self.with_chain(|chain| Ok(chain.end_frame()?))?;
        *out = types::SensorFlags {
            struct_size: out.struct_size,
            pixels: flags.pixels,
            dead: flags.unread.dead,
            saturated: flags.unread.saturated,
            found: flags.found,
            warming_up: u32::from(flags.warming_up),
            drift_unknown: u32::from(flags.drift_unknown),
            stepped: u32::from(flags.stepped),
            step_q4: flags.step_q4,
        };
        Ok(())
    }

    pub(crate) fn list(&mut self, x: u16, y: u16) -> Outcome<()> {
        self.with_chain(|chain| Ok(chain.list_defect(x, y, DefectKind::Listed).map(|_| ())?))
    }

    pub(crate) fn bad_pixels(&self, out: &mut [types::BadPixel]) -> u32 {
        let listed = self.head.settings.listed;
        for (to, from) in out.iter_mut().zip(self.defects.iter().take(listed)) {
            *to = types::BadPixel { x_px: from.x(), y_px: from.y(), kind: u16::from(from.kind().code()), reserved: 0 };
        }
        listed as u32
    }

    /// Takes coefficients from storage; all are checked before the first is written.
    pub(crate) fn load(&mut self, pivot: u16, from: &[types::PixelCorrection]) -> Outcome<()> {
        if self.coefficients.is_empty() || from.len() != self.coefficients.len() {
            return Err(Status::ErrSize);
        }
        let coefficient = |one: &types::PixelCorrection| Coefficient::new(one.gain_q14, one.offset_q4);
        if from.iter().any(|one| coefficient(one).is_none()) {
            return Err(Status::ErrRange);
        }
        for (to, from) in self.coefficients.iter_mut().zip(from) {
            *to = coefficient(from).unwrap_or(Coefficient::NEUTRAL);
        }
        self.head.settings.two_point = TwoPoint::with_pivot(pivot, self.head.settings.range);
        self.rebuild()
    }

    /// Writes the coefficients for storage; returns the pivot.
    pub(crate) fn save(&self, out: &mut [types::PixelCorrection]) -> Outcome<u16> {
        if self.coefficients.is_empty() || out.len() != self.coefficients.len() {
            return Err(Status::ErrSize);
        }
        for (to, from) in out.iter_mut().zip(self.coefficients.iter()) {
            *to = types::PixelCorrection { gain_q14: from.gain_q14(), offset_q4: from.offset_q4() };
        }
        Ok(self.head.settings.two_point.pivot())
    }

    pub(crate) fn set_drift(&mut self, points: &[types::SoakPoint], order: u32, reference: f64) -> Outcome<()> {
        let kelvin = |value: f64| match value > 0.0 && value <= 2_000.0 {
            true => Ok(Kelvin::from_f64(value)),
            false => Err(Status::ErrRange),
        };
        let order = match order {
            1 => DriftOrder::First,
            2 => DriftOrder::Second,
            _ => return Err(Status::ErrRange),
        };
        let mut copied = heapless::Vec::<SoakPoint, SOAK_POINTS_MAX>::new();
        for point in points {
            let one = SoakPoint { housing: kelvin(point.housing_kelvin)?, counts: point.counts };
            copied.push(one).map_err(|_| Status::ErrTooMany)?;
        }
        self.head.settings.drift = Some(Drift::fit(&copied, order, kelvin(reference)?)?);
        self.rebuild()
    }

    pub(crate) fn shutter_row(&mut self, row: &mut [u16]) -> Outcome<()> {
        if self.shutter.is_empty() {
            return Err(Status::ErrSize);
        }
        self.with_chain(|chain| Ok(chain.push_shutter(row)?))?;
        let ChainSettings { width, height, range, .. } = self.head.settings;
        let mut average = match self.head.shutter {
            Some(state) => Average::resume(self.shutter, state)?,
            None => Average::new(self.shutter, width, height, range)?,
        };
        average.push(row)?;
        self.head.shutter = Some(average.suspend());
        Ok(())
    }

    /// Renews the offsets; returns how many pixels kept theirs in part.
    pub(crate) fn shutter_end(&mut self, target_counts: u16) -> Outcome<u32> {
        let target = match target_counts {
            0 => ShutterTarget::ArrayMean,
            counts => ShutterTarget::Counts(counts),
        };
        let state = self.head.shutter.ok_or(Status::ErrOrder)?;
        let chain = self.head.chain.ok_or(Status::ErrBadState)?;
        let average = Average::resume(self.shutter, state)?;
        let means = average.means().ok_or(Status::ErrOrder)?;
        let memory = ChainMemory {
            coefficients: self.coefficients,
            defects: self.defects,
            watch: self.watch,
            columns: self.columns,
            smoothing: self.smoothing,
        };
        let mut chain = Chain::resume(memory, chain);
        let left = chain.update_offsets(&means, target)?;
        self.head.chain = Some(chain.suspend().1);
        self.head.shutter = None;
        Ok(left)
    }

    pub(crate) fn find_bad(&mut self, low: Run<'_>, high: Run<'_>) -> Outcome<types::ArrayFigures> {
        let (low, high) = (low.resumed()?, high.resumed()?);
        let mut defects = Defects::resume(self.defects, self.head.settings.listed);
        let found = find_defects(&low, &high, &Criteria::default(), &mut defects)?;
        self.head.settings.listed = defects.len();
        self.rebuild()?;
        Ok(types::ArrayFigures {
            response_q8: found.response_q8,
            noise_q8: found.noise_q8,
            good: found.good,
            pixels: found.pixels,
        })
    }

    pub(crate) fn calibrate(&mut self, low: Run<'_>, high: Run<'_>) -> Outcome<()> {
        let (low, high) = (low.resumed()?, high.resumed()?);
        let ChainSettings { width, range, listed, .. } = self.head.settings;
        let mut defects = Defects::resume(self.defects, listed);
        let calibrated = TwoPoint::calibrate(&low, &high, range, width, &mut defects, self.coefficients)?;
        self.head.settings.listed = defects.len();
        self.head.settings.two_point = calibrated;
        self.rebuild()
    }

    pub(crate) fn noise(&mut self, low: Run<'_>, high: Run<'_>, difference_k: f64) -> Outcome<types::NoiseFigure> {
        let (low, high) = (low.resumed()?, high.resumed()?);
        let defects = Defects::resume(self.defects, self.head.settings.listed);
        let figure = netd_of_runs(&low, &high, difference_k, &defects)?;
        Ok(types::NoiseFigure { netd_k: figure.kelvin, signal_counts: figure.signal, noise_counts: figure.noise })
    }
}

impl<'m> Run<'m> {
    pub(crate) fn row(self, row: &[u16]) -> Outcome<()> {
        let mut run = UniformRun::resume(self.pixels, self.head.state)?;
        run.push(row)?;
        self.head.state = run.suspend();
        Ok(())
    }

    fn resumed(self) -> Outcome<UniformRun<'m>> {
        Ok(UniformRun::resume(self.pixels, self.head.state)?)
    }
}

/// The head of a run whose pixels are already empty.
pub(crate) fn run_head(pixels: &mut [PixelSums], size: (u16, u16), dead: u16, saturated: u16) -> Outcome<RunHead> {
    let count = pixels.len() as u32;
    let state = UniformRun::new(pixels, size.0, size.1, convert::readings(dead, saturated)?)?.suspend();
    Ok(RunHead { magic: RUN_MAGIC, pixels: count, state })
}

pub(crate) fn netd_of(difference_k: f64, signal: f64, noise: f64) -> Outcome<f64> {
    Ok(netd(difference_k, signal, noise)?)
}
