//! The range that a picture's colors span, from its counts, without flicker.
//!
//! *What.* Two percentiles, with a least span so that noise is not blown up to a picture. *Steadiness.* An end that is
//! within 1/32 of the span of where it should be stays; one that is further moves there by 1/2ᵏ of the way per frame
//! until it is within 1/128. A scene that stands still therefore keeps its colors to the last bit, and one that changes
//! glides. The fractions are a proposal.
//!
//! *Memory.* 28 bytes, beside the histogram. *Cost.* Two quantiles a frame. *Scaling*: Q8 counts, below 2²⁵.

use super::tone::ToneScale;
use crate::background::Histogram;
use crate::sensor::{CountRange, SetupError};

/// How the range follows the scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct AutoRangeSettings {
    /// Thousandths of the readings below the lower end, and of those below the upper one.
    pub thousandths: (u16, u16),
    /// Counts the range spans at least; a few times the noise, or a kelvin.
    pub least_span: u16,
    /// k, 0 to 8: an end moves 1/2ᵏ of the way per frame.
    pub slowness: u8,
}

impl AutoRangeSettings {
    /// 0.5 % and 99.5 %, so that a stray pixel does not flatten the rest; 32 counts; k = 2, so that nine tenths of a
    /// change are made in eight frames. Proposals.
    pub const DEFAULT: Self = Self { thousandths: (5, 995), least_span: 32, slowness: 2 };
}

/// The range that colors span, by two percentiles, without flicker: an end within 1/32 of the span of where it should be
/// stays, one further away glides there. A scene that stands still keeps its colors to the last bit.
#[derive(Clone, Copy, Debug)]
pub struct AutoRange {
    settings: AutoRangeSettings,
    range: CountRange,
    ends: Option<(End, End)>,
}

#[derive(Clone, Copy, Debug)]
struct End {
    at_q8: i32,
    moving: bool,
}

impl AutoRange {
    /// Before the first frame.
    ///
    /// # Errors
    /// [`SetupError::Setting`] for crossed percentiles or k above 8; [`SetupError::Range`] for a least span of 0 or more
    /// than the readings have.
    pub const fn new(range: CountRange, settings: AutoRangeSettings) -> Result<Self, SetupError> {
        let (low, high) = settings.thousandths;
        if low >= high || high > 1_000 || settings.slowness > 8 {
            return Err(SetupError::Setting);
        }
        if settings.least_span == 0 || settings.least_span > range.full_scale() - range.dead() - 2 {
            return Err(SetupError::Range);
        }
        Ok(Self { settings, range, ends: None })
    }

    /// Forgets the scene: the next frame sets the range at once.
    pub fn start(&mut self) {
        self.ends = None;
    }

    /// Follows a frame; call it once per frame. The range to use from now on, or `None` before there was a frame with
    /// both percentiles inside the histogram's window; a later one without them changes nothing.
    pub fn follow(&mut self, frame: &Histogram<'_>) -> Option<ToneScale> {
        let (low, high) = self.settings.thousandths;
        if let (Some(low), Some(high)) = (frame.quantile_q8(low), frame.quantile_q8(high)) {
            let (low, high) = self.widened(low as i32, high as i32);
            let slowness = self.settings.slowness;
            self.ends = Some(match self.ends {
                None => (End { at_q8: low, moving: false }, End { at_q8: high, moving: false }),
                Some((lower, upper)) => {
                    let span = upper.at_q8 - lower.at_q8;
                    (lower.toward(low, span, slowness), upper.toward(high, span, slowness))
                }
            });
        }
        self.scale()
    }

    /// At least the least span, about the same middle, and within the readings.
    fn widened(&self, low: i32, high: i32) -> (i32, i32) {
        let (first, last) =
            (i32::from(self.range.dead() + 1) << 8, i32::from(self.range.full_scale().saturating_sub(1)) << 8);
        let least = i32::from(self.settings.least_span) << 8;
        let missing = (least - (high - low)).max(0);
        // Written without `clamp`, which panics on crossed bounds as far as the compiler knows.
        let low = (low - missing / 2).min(last - least).max(first);
        (low, (high + missing - missing / 2).max(low + least).min(last))
    }

    fn scale(&self) -> Option<ToneScale> {
        let (lower, upper) = self.ends?;
        let [low, high] = [lower, upper].map(|end| ((end.at_q8 + 128) >> 8).clamp(0, 0xFFFF) as u16);
        ToneScale::new(low, high, self.range).ok()
    }
}

impl End {
    fn toward(self, target: i32, span: i32, slowness: u8) -> Self {
        let away = target - self.at_q8;
        let moving = away.abs() > if self.moving { span / 128 } else { span / 32 };
        // Division rounds toward zero: within 2ᵏ/256 of a count nothing moves, so an end cannot hunt.
        let step = if moving { away / (1 << slowness) } else { 0 };
        Self { at_q8: self.at_q8 + step, moving }
    }
}
