//! Temperatures as count thresholds.

use super::View;
use crate::error::{Error, Quantity, Result};
use crate::units::Kelvin;

/// Count thresholds for the region scanner: a count above `hot` is hot, one below `cold` is cold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Thresholds {
    hot: u16,
    cold: u16,
}

impl Thresholds {
    /// Neither hot nor cold: nothing is found.
    pub const NONE: Self = Self { hot: u16::MAX, cold: 0 };

    /// Thresholds in counts.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] if `cold` exceeds `hot`: a pixel cannot be both.
    pub const fn new(hot: u16, cold: u16) -> Result<Self> {
        if cold <= hot { Ok(Self { hot, cold }) } else { Err(Error::OutOfRange(Quantity::Thresholds)) }
    }

    /// Counts above this are hot.
    #[must_use]
    pub const fn hot(self) -> u16 {
        self.hot
    }

    /// Counts below this are cold.
    #[must_use]
    pub const fn cold(self) -> u16 {
        self.cold
    }
}

impl View<'_> {
    pub(super) fn counts_at_or_below(self, temperature: Kelvin) -> Option<u16> {
        let of = |count: u16| self.temperature_q8(u32::from(count) << 8);
        let (mut low, mut high) = self.counts_covered();
        if of(low)? > temperature {
            return None;
        }
        while low < high {
            let middle = low + (high - low).div_ceil(2);
            if of(middle)? <= temperature {
                low = middle;
            } else {
                high = middle - 1;
            }
        }
        Some(low)
    }

    #[inline(always)]
    pub(super) fn thresholds(self, hot: Kelvin, cold: Kelvin) -> Result<Thresholds> {
        let (first, last) = self.counts_covered();
        let above = match self.counts_at_or_below(hot) {
            // What lies beyond the table may be hotter than `hot` or not.
            Some(count) if count >= last => u16::MAX,
            Some(count) => count,
            None => first.saturating_sub(1),
        };
        // Colder than `cold`: below the first count that is at or above it.
        let below = match self.counts_at_or_below(cold) {
            Some(count) if self.temperature_q8(u32::from(count) << 8) == Some(cold) => count,
            Some(count) => count.saturating_add(1),
            None => 0,
        };
        if cold > hot {
            return Err(Error::OutOfRange(Quantity::Thresholds));
        }
        // Between the two temperatures there may be no count at all; then they meet, in favor of cold.
        Thresholds::new(above.max(below), below)
    }
}
