//! Behind the C functions for line profiles, series and fits, in safe Rust on borrowed parts.

use crate::block::Listed;
use crate::convert::{or, sized};
use crate::device::Outcome;
use crate::fits_types::{self as types, PROFILE_MEM_HEAD, PROFILE_MEM_PER_SAMPLE, TRACE_MEM_HEAD, TRACE_MEM_PER_ENTRY};
use crate::metrology::{Ranges, estimate, estimated};
use crate::metrology_types::Estimate;
use crate::status::Status;
use crate::types::Config;
use oddheat_core::measure::fit::{self, Undetermined};
use oddheat_core::measure::{Moment, Profile, Sample, Trace, TraceState};
use oddheat_core::radiometry::{Estimate as CoreEstimate, MeasurementEquation};

/// Head of the block of a profile.
#[derive(Debug)]
pub(crate) struct ProfileHead {
    profile: Profile,
    lines: u32,
    frames: u32,
    width: u16,
    height: u16,
    /// Rows taken of the frame under way; 0 between frames.
    rows: u16,
    dead: u16,
    saturated: u16,
}

impl Listed for ProfileHead {
    const MAGIC: u32 = 0x0DD4_11E0;
    const HEAD_BYTES: usize = PROFILE_MEM_HEAD;
    const ENTRY_BYTES: usize = PROFILE_MEM_PER_SAMPLE;
    type Entry = Sample;
    const EMPTY: Sample = Sample::EMPTY;
}

impl ProfileHead {
    /// A profile and how many samples it takes; `config` was checked.
    pub(crate) fn new(config: &Config, line: &types::Line) -> Outcome<(Self, u32)> {
        sized::<types::Line>(line.struct_size)?;
        let lines = u8::try_from(line.lines).map_err(|_| Status::ErrSize)?;
        let (from, to) = ((line.x0_q8, line.y0_q8), (line.x1_q8, line.y1_q8));
        let profile = Profile::new(from, to, lines, config.width_px, config.height_px)?;
        let head = Self {
            profile,
            lines: line.lines,
            frames: 0,
            width: config.width_px,
            height: config.height_px,
            rows: 0,
            dead: config.dead_at_or_below_counts,
            saturated: or(config.saturated_at_counts, u16::MAX),
        };
        Ok((head, profile.samples() as u32))
    }

    /// Adds a row; the last one ends the frame.
    pub(crate) fn row(&mut self, samples: &mut [Sample], row: &[u16]) -> Outcome<()> {
        if row.len() != usize::from(self.width) {
            return Err(Status::ErrSize);
        }
        self.profile.add_row(samples, self.rows, row, self.dead, self.saturated)?;
        self.rows += 1;
        if self.rows == self.height {
            (self.rows, self.frames) = (0, self.frames.saturating_add(1));
        }
        Ok(())
    }

    /// Hands out the points of whole frames; returns how many there are and how many pixels each averages.
    pub(crate) fn points(&self, samples: &[Sample], out: &mut [types::Point]) -> Outcome<(usize, u32)> {
        if self.rows > 0 {
            return Err(Status::ErrOrder);
        }
        Ok((hand_out(self.profile.points(samples), out), self.lines.saturating_mul(self.frames)))
    }
}

/// Writes as many points as there is room for; returns how many there are.
fn hand_out(points: impl Iterator<Item = (f64, f64)>, out: &mut [types::Point]) -> usize {
    let mut room = out.iter_mut();
    points.fold(0, |count, (place, value)| {
        if let Some(to) = room.next() {
            *to = types::Point { place, value };
        }
        count + 1
    })
}

/// Head of the block of a trace.
#[derive(Debug)]
pub(crate) struct TraceHead {
    /// None before the first value.
    state: Option<TraceState>,
}

impl Listed for TraceHead {
    const MAGIC: u32 = 0x0DD4_73AC;
    const HEAD_BYTES: usize = TRACE_MEM_HEAD;
    const ENTRY_BYTES: usize = TRACE_MEM_PER_ENTRY;
    type Entry = Moment;
    const EMPTY: Moment = Moment::EMPTY;
}

/// Number of entries from C.
pub(crate) fn entries(entries_max: u32) -> Outcome<u32> {
    if (16..=u32::from(u16::MAX)).contains(&entries_max) { Ok(entries_max) } else { Err(Status::ErrRange) }
}

impl TraceHead {
    pub(crate) const NEW: Self = Self { state: None };

    fn trace<'m>(&self, moments: &'m mut [Moment]) -> Outcome<Trace<'m>> {
        Ok(match self.state {
            Some(state) => Trace::resume(moments, state)?,
            None => Trace::new(moments)?,
        })
    }

    pub(crate) fn add(&mut self, moments: &mut [Moment], time_ms: u32, value_q8: i32) -> Outcome<()> {
        let mut trace = self.trace(moments)?;
        trace.add(time_ms, value_q8)?;
        self.state = Some(trace.suspend());
        Ok(())
    }

    pub(crate) fn points(&self, moments: &mut [Moment], out: &mut [types::Point]) -> Outcome<(usize, u32)> {
        let trace = self.trace(moments)?;
        Ok((hand_out(trace.points(), out), trace.frames_each()))
    }
}

/// Turns points in counts into kelvin, all or none; returns the noise of one pixel in one frame at their mean, K.
pub(crate) fn to_kelvin(ranges: Ranges<'_>, points: &mut [types::Point]) -> Outcome<f64> {
    let setup = ranges.setup()?;
    let equation = MeasurementEquation::new(&setup.scale, &setup.scene)?;
    let mut sum = 0.0;
    for point in &*points {
        sum += equation.object(point.value)?;
    }
    if points.is_empty() {
        return Err(Status::ErrTooFew);
    }
    let noise = setup.inputs.netd_k * equation.sensitivities(sum / points.len() as f64)?.apparent;
    for point in points {
        // Went well before.
        point.value = equation.object(point.value)?;
    }
    Ok(noise)
}

impl From<Undetermined> for Status {
    fn from(reason: Undetermined) -> Self {
        match reason {
            Undetermined::TooFewPoints => Self::ErrTooFew,
            Undetermined::NotFinite => Self::ErrRange,
            Undetermined::BelowNoise => Self::ErrBelowNoise,
            Undetermined::AtEnd => Self::ErrAtEnd,
            Undetermined::TooShort => Self::ErrTooShort,
            Undetermined::AsStraight => Self::ErrAsStraight,
            Undetermined::NotDecaying => Self::ErrNotDecaying,
            // NotThisForm; the list is non-exhaustive.
            _ => Self::ErrNoFit,
        }
    }
}

/// Points as a fit takes them, with a noise that can be one.
fn pairs<'p>(points: &'p [types::Point], noise: f64) -> Outcome<impl Iterator<Item = (f64, f64)> + Clone + use<'p>> {
    if !(0.0..=1e100).contains(&noise) {
        return Err(Status::ErrRange);
    }
    Ok(points.iter().map(|point| (point.place, point.value)))
}

/// What a fit found, if all of it is finite: of values beyond 1e100 it may not be.
fn sound<T>(found: T, parts: &[CoreEstimate]) -> Outcome<T> {
    let finite = parts.iter().all(|part| part.value.is_finite() && part.uncertainty.is_finite());
    if finite { Ok(found) } else { Err(Status::ErrNoFit) }
}

pub(crate) fn line(points: &[types::Point], noise: f64) -> Outcome<types::LineFit> {
    let found = fit::line(pairs(points, noise)?, noise)?;
    let fit::Line { center, level, slope, .. } = found;
    sound(types::LineFit { center, level: estimated(level), slope: estimated(slope) }, &[level, slope])
}

fn peak(fit::Peak { place, height, width }: fit::Peak) -> Outcome<types::Peak> {
    let found = types::Peak { place: estimated(place), height: estimated(height), width: estimated(width) };
    sound(found, &[place, height, width])
}

pub(crate) fn parabola(points: &[types::Point], noise: f64) -> Outcome<types::Peak> {
    peak(fit::parabola_peak(pairs(points, noise)?, noise)?)
}

pub(crate) fn gaussian(points: &[types::Point], base: f64, noise: f64) -> Outcome<types::Peak> {
    if !base.is_finite() {
        return Err(Status::ErrRange);
    }
    peak(fit::gaussian_peak(pairs(points, noise)?, base, noise)?)
}

pub(crate) fn edge(points: &[types::Point], noise: f64) -> Outcome<types::Edge> {
    let fit::Edge { place, before, behind, width } = fit::edge(pairs(points, noise)?, noise)?;
    let found = types::Edge { place: estimated(place), before: estimated(before), behind: estimated(behind), width };
    sound(found, &[place, before, behind, CoreEstimate::new(width, 0.0)])
}

pub(crate) fn exponential(points: &[types::Point], noise: f64) -> Outcome<types::Exponential> {
    let fit::Exponential { end, amplitude, constant } = fit::exponential(pairs(points, noise)?, noise)?;
    let (of_end, of_amplitude) = (estimated(end), estimated(amplitude));
    let found = types::Exponential { end: of_end, amplitude: of_amplitude, constant: estimated(constant) };
    sound(found, &[end, amplitude, constant])
}

pub(crate) fn decay(points: &[types::Point], base: &Estimate, noise: f64) -> Outcome<types::Decay> {
    if !(base.value.is_finite() && (0.0..=1e100).contains(&base.uncertainty)) {
        return Err(Status::ErrRange);
    }
    let fit::Decay { height, length } = fit::decay(pairs(points, noise)?, estimate(base), noise)?;
    sound(types::Decay { height: estimated(height), length: estimated(length) }, &[height, length])
}

pub(crate) fn knee(points: &[types::Point], noise: f64) -> Outcome<types::Knee> {
    let fit::Knee { place, value, before, after } = fit::knee(pairs(points, noise)?, noise)?;
    let (at, of, first, second) = (estimated(place), estimated(value), estimated(before), estimated(after));
    sound(types::Knee { place: at, value: of, before: first, after: second }, &[place, value, before, after])
}
