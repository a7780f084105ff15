//! Behind the C functions for level, noise and thresholds by rule, in safe Rust on borrowed parts.

use crate::block::Listed;
use crate::convert::{self, sized};
use crate::device::{Device, Outcome};
use crate::level_types::{self as types, LEVEL_MEM_HEAD, LEVEL_MEM_PER_BIN};
use crate::level_types::{LEVEL_HAS_MEDIAN, LEVEL_HAS_NOISE, LEVEL_HAS_SCATTER, LEVEL_HAS_SPLIT};
use crate::status::Status;
use crate::types::Config;
use fixed::types::I16F16;
use oddheat_core::background::{DetectionRule, Histogram, HistogramState, NoiseMeter, Window};
use oddheat_core::sensor::CountRange;
use oddheat_core::units::{Delta, Kelvin};

/// Head of the block of a level.
#[derive(Debug)]
pub(crate) struct LevelHead {
    range: CountRange,
    width: u16,
    /// Bins of the histogram of counts; the others are those of the noise.
    bins: u32,
    /// None before the first row.
    states: Option<(HistogramState, HistogramState)>,
}

impl Listed for LevelHead {
    const MAGIC: u32 = 0x0DD4_1E7E;
    const HEAD_BYTES: usize = LEVEL_MEM_HEAD;
    const ENTRY_BYTES: usize = LEVEL_MEM_PER_BIN;
    type Entry = u32;
    const EMPTY: u32 = 0;
}

/// Number of all bins from C.
pub(crate) fn bins(bins: u32, noise_bins: u32) -> Outcome<u32> {
    let sound = |count: u32| (2..=u32::from(u16::MAX)).contains(&count);
    if sound(bins) && sound(noise_bins) { Ok(bins + noise_bins) } else { Err(Status::ErrRange) }
}

impl LevelHead {
    pub(crate) fn new(config: &Config, bins: u32) -> Outcome<Self> {
        let range = convert::readings(config.dead_at_or_below_counts, config.saturated_at_counts)?;
        Ok(Self { range, width: config.width_px, bins, states: None })
    }

    /// Both meters, as they were left or anew.
    fn meters<'m>(&self, bins: &'m mut [u32]) -> Outcome<(Histogram<'m>, NoiseMeter<'m>)> {
        let (level, noise) = bins.split_at_mut_checked(self.bins as usize).ok_or(Status::ErrBadState)?;
        Ok(match self.states {
            Some((of_level, of_noise)) => (Histogram::resume(level, of_level), NoiseMeter::resume(noise, of_noise)),
            None => {
                let window = Window::of(self.range, level.len());
                (Histogram::new(level, window)?, NoiseMeter::new(noise, 0)?)
            }
        })
    }

    pub(crate) fn row(&mut self, bins: &mut [u32], row: &[u16]) -> Outcome<()> {
        if row.len() != usize::from(self.width) {
            return Err(Status::ErrSize);
        }
        let (mut level, mut noise) = self.meters(bins)?;
        level.push(row, self.range);
        noise.push(row, self.range);
        self.states = Some((level.suspend(), noise.suspend()));
        Ok(())
    }

    /// Empties both, and puts the window where this frame lay.
    pub(crate) fn end_frame(&mut self, bins: &mut [u32]) -> Outcome<()> {
        let (mut level, mut noise) = self.meters(bins)?;
        level.start(level.next_window(self.range));
        noise.start();
        self.states = Some((level.suspend(), noise.suspend()));
        Ok(())
    }

    pub(crate) fn quantile(&self, bins: &mut [u32], thousandths: u32) -> Outcome<u32> {
        let thousandths = u16::try_from(thousandths).ok().filter(|&share| share <= 1_000).ok_or(Status::ErrRange)?;
        self.meters(bins)?.0.quantile_q8(thousandths).ok_or(Status::ErrNoSignal)
    }

    pub(crate) fn figures(&self, bins: &mut [u32], out: &mut types::LevelFigures) -> Outcome<()> {
        sized::<types::LevelFigures>(out.struct_size)?;
        let (level, noise) = self.meters(bins)?;
        let (median, deviation, sigma) = (level.quantile_q8(500), level.deviation_q8(), level.sigma_q8());
        let (noise, split) = (noise.sigma_q8(), level.split());
        let (below, above) = level.outside();
        let flag = |known: bool, flag: u32| if known { flag } else { 0 };
        *out = types::LevelFigures {
            struct_size: out.struct_size,
            known: flag(median.is_some(), LEVEL_HAS_MEDIAN)
                | flag(sigma.is_some(), LEVEL_HAS_SCATTER)
                | flag(noise.is_some(), LEVEL_HAS_NOISE)
                | flag(split.is_some(), LEVEL_HAS_SPLIT),
            readings: u32::try_from(level.readings()).unwrap_or(u32::MAX),
            below,
            above,
            median_q8: median.unwrap_or(0),
            deviation_q8: deviation.unwrap_or(0),
            sigma_q8: sigma.unwrap_or(0),
            noise_q8: noise.unwrap_or(0),
            upper: split.map_or(0, |split| u32::try_from(split.upper).unwrap_or(u32::MAX)),
            split_counts: split.map_or(0, |split| split.threshold),
            separability: split.map_or(0, |split| split.separability),
        };
        Ok(())
    }
}

/// Sets the thresholds of a device around a level by a rule.
pub(crate) fn thresholds(
    device: &mut Device<'_>,
    rule: &types::Rule,
    level_q8: u32,
    noise_q8: u32,
) -> Outcome<types::Detection> {
    sized::<types::Rule>(rule.struct_size)?;
    let usual = DetectionRule::DEFAULT;
    let frames = u16::try_from(rule.frames).map_err(|_| Status::ErrRange)?;
    let sigmas = match rule.sigmas {
        0 => usual.sigmas,
        sigmas => u8::try_from(sigmas).map_err(|_| Status::ErrRange)?,
    };
    let kelvin = |mk: u32| i32::try_from(mk).ok().and_then(convert::kelvin).ok_or(Status::ErrRange);
    let floor = if rule.floor_mk == 0 { usual.floor } else { Delta(kelvin(rule.floor_mk)?.0) };
    let emissivity_thousandths = match rule.emissivity_thousandths {
        share if share <= 1_000 => share as u16,
        _ => return Err(Status::ErrRange),
    };
    let reflected = match emissivity_thousandths {
        0 => Kelvin(I16F16::ZERO),
        _ => convert::kelvin(rule.reflected_mk).ok_or(Status::ErrRange)?,
    };
    // Counts of 16 bits with eight more.
    if level_q8 > 0x00FF_FFFF || noise_q8 > 0x00FF_FFFF {
        return Err(Status::ErrRange);
    }
    let rule = DetectionRule { sigmas, frames: frames.max(1), floor, emissivity_thousandths };
    let found = rule.thresholds(&device.head.table, level_q8, noise_q8, reflected)?;
    device.head.thresholds = found.thresholds;
    Ok(types::Detection {
        difference_q16: found.difference.0.to_bits(),
        term: u32::from(found.by.code()),
        hot_counts: found.thresholds.hot(),
        cold_counts: found.thresholds.cold(),
    })
}
