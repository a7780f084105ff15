//! How far a pixel must stand out to count: the rule of the vehicle notes, section 1.3, turned into thresholds.
//!
//! *What.* The least reportable difference is the largest of three: k·σ/√N for noise, a floor for drift, and what an
//! uncertain emissivity makes of reflections. *Why.* Differences within a frame are trusted, absolutes are not. *What it
//! is not*: a false-alarm rate. At k = 3 noise alone puts one pixel in 370 beyond one threshold or the other (computed,
//! normal noise), 52 of 160 × 120; the scanner's least area deals with those.
//!
//! *Scaling and overflow*: kelvin are Q16.16 below 2³¹; products with k ≤ 255, with 2⁸ and with thousandths fit in `i64`.

use crate::codes::codes;
use crate::error::{Error, Result};
use crate::radiometry::{TableOf, Thresholds};
use crate::regions::Region;
use crate::units::{Delta, Kelvin};
use fixed::types::I16F16;

codes! {
    /// Which part of the rule decided.
    pub enum Term {
        /// The noise of a pixel.
        Noise = 1, "noise";
        /// The floor for drift.
        Floor = 2, "floor";
        /// Reflections, through an uncertain emissivity.
        Emissivity = 3, "emissivity";
    }
}

/// How far a pixel must stand out to count: the largest of k·σ/√N, a floor for drift, and what an uncertain emissivity
/// makes of reflections (vehicle notes 1.3, proposal). Not a false-alarm rate: at k = 3, noise alone puts one pixel in
/// 370 beyond one of the two thresholds; the scanner's least area deals with those.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct DetectionRule {
    /// k: how many standard deviations of noise.
    pub sigmas: u8,
    /// N: frames that are averaged after the noise was measured; 1 if the noise is that of the rows scanned. 0 is 1.
    pub frames: u16,
    /// Least difference whatever the noise.
    pub floor: Delta,
    /// Relative standard uncertainty of the emissivity in thousandths; 0 leaves reflections out.
    pub emissivity_thousandths: u16,
}

/// Thresholds and why they lie there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Detection {
    /// For the scanner.
    pub thresholds: Thresholds,
    /// Least difference on either side of the level.
    pub difference: Delta,
    /// What it came from.
    pub by: Term,
}

impl DetectionRule {
    /// 3 σ of a single frame and 0.3 K (vehicle notes 1.3, proposal), without reflections: like with like.
    pub const DEFAULT: Self = Self {
        sigmas: 3,
        frames: 1,
        // 0.3·2¹⁶
        floor: Delta(I16F16::from_bits(19_661)),
        emissivity_thousandths: 0,
    };

    /// The least reportable difference for this noise, and for a level that differs from the reflected temperature by
    /// this much.
    #[must_use]
    pub fn least_difference(&self, noise: Delta, from_reflected: Delta) -> (Delta, Term) {
        let root_q8 = i64::from((u32::from(self.frames.max(1)) << 16).isqrt());
        let noise = (i64::from(noise.0.to_bits().max(0)) * i64::from(self.sigmas)) << 8;
        let noise = noise.checked_div(root_q8).unwrap_or(0);
        // (Δε/ε)·|T − T_reflected|·0.9
        let apart = i64::from(from_reflected.0.to_bits()).abs();
        let reflections = apart * i64::from(self.emissivity_thousandths) * 9 / 10_000;
        let floor = i64::from(self.floor.0.to_bits().max(0));
        let (bits, by) = if noise > floor.max(reflections) {
            (noise, Term::Noise)
        } else if reflections > floor {
            (reflections, Term::Emissivity)
        } else {
            (floor, Term::Floor)
        };
        (Delta(I16F16::from_bits(i32::try_from(bits).unwrap_or(i32::MAX))), by)
    }

    /// Thresholds around a level, in counts, through the table. `reflected` is used with an emissivity uncertainty only.
    ///
    /// # Errors
    /// [`Error::NoTemperature`] if the level has none, or no count beside it has.
    pub fn thresholds<const N: usize>(
        &self,
        table: &TableOf<N>,
        level_q8: u32,
        sigma_q8: u32,
        reflected: Kelvin,
    ) -> Result<Detection> {
        let level = table.temperature_q8(level_q8).ok_or(Error::NoTemperature)?;
        // A count to either side gives the slope; at an end of the table, the one that is there.
        let near = |q8: u32| table.temperature_q8(q8).map_or((level_q8, level), |kelvin| (q8, kelvin));
        let (before, after) = (near(level_q8.saturating_sub(256)), near(level_q8.saturating_add(256)));
        let rise = i64::from(after.1.0.to_bits()) - i64::from(before.1.0.to_bits());
        let noise = (rise * i64::from(sigma_q8)).checked_div(i64::from(after.0 - before.0));
        let noise = noise.ok_or(Error::NoTemperature)?;
        let noise = Delta(I16F16::from_bits(i32::try_from(noise).unwrap_or(i32::MAX)));
        let (difference, by) = self.least_difference(noise, level.minus(reflected));
        let lower = Kelvin(level.0.saturating_sub(difference.0));
        Ok(Detection { thresholds: table.thresholds(level.plus(difference), lower)?, difference, by })
    }

    /// Thresholds around a level where no table is at hand: k·σ/√N, and at least so many counts. The floor in kelvin and
    /// reflections play no part.
    ///
    /// # Errors
    /// None in practice: the cold threshold never exceeds the hot one.
    pub fn thresholds_in_counts(&self, level_q8: u32, sigma_q8: u32, least: u16) -> Result<Thresholds> {
        let root_q8 = u64::from((u32::from(self.frames.max(1)) << 16).isqrt());
        let noise_q8 = ((u64::from(sigma_q8) * u64::from(self.sigmas)) << 8).checked_div(root_q8).unwrap_or(0);
        let away = noise_q8.max(u64::from(least) << 8);
        let hot = (u64::from(level_q8) + away) >> 8;
        // Rounded up: a count must lie below the exact value.
        let cold = (u64::from(level_q8).saturating_sub(away) + 255) >> 8;
        let (hot, cold) = (hot.min(0xFFFF) as u16, cold.min(0xFFFF) as u16);
        Thresholds::new(hot.max(cold), cold)
    }
}

/// Whether a region is large enough for a temperature: its box measures at least 3 × 3 pixels and it fills nine (vehicle
/// notes 1.3, proposal). A smaller one is detected, not measured.
#[must_use]
pub const fn is_measurable(region: &Region) -> bool {
    let (width, height) = (region.x1.saturating_sub(region.x0), region.y1.saturating_sub(region.y0));
    width >= 2 && height >= 2 && region.area >= 9 && !region.incomplete
}
