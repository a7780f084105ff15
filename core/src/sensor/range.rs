//! Which counts are readings, and why a set-up was refused.

/// The counts that stand for a signal. A count at or below `dead` or at or above `full_scale` is not a reading: no
/// step of this module makes it one, and none averages it with readings.
///
/// [`crate::measure`] has the same rule, by this type. A corrected count may pass `full_scale`, because the pixel's
/// gain lifts it there; it is then as unusable as a saturated one, so it is not clamped to a plausible count below.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CountRange {
    first: u16,
    /// Readings there are: `first .. first + span`.
    span: u16,
}

impl CountRange {
    /// Readings lie above `dead` and below `full_scale`.
    ///
    /// # Errors
    /// [`SetupError::Range`] if no count lies between the two.
    pub const fn new(dead: u16, full_scale: u16) -> Result<Self, SetupError> {
        if full_scale as u32 <= dead as u32 + 1 {
            return Err(SetupError::Range);
        }
        Ok(Self::between(dead, full_scale))
    }

    /// As [`CountRange::new`], but holds nothing if no count lies between the two.
    pub(crate) const fn between(dead: u16, full_scale: u16) -> Self {
        let first = dead.saturating_add(1);
        Self { first, span: full_scale.saturating_sub(first) }
    }

    /// Whether the count is a reading.
    #[must_use]
    #[inline]
    pub const fn holds(self, count: u16) -> bool {
        // In 32 bits: a machine without 16-bit registers would have to cut the difference.
        (count as u32).wrapping_sub(self.first as u32) < self.span as u32
    }

    /// The highest count that means "no signal"; what a step writes where nothing is known.
    #[must_use]
    pub const fn dead(self) -> u16 {
        self.first - 1
    }

    /// The lowest count that means "saturated".
    #[must_use]
    pub const fn full_scale(self) -> u16 {
        self.first + self.span
    }

    /// Whether the count means "saturated".
    #[must_use]
    pub const fn is_saturated(self, count: u16) -> bool {
        count >= self.full_scale()
    }
}

/// Why a set-up call of this module was refused. No result was written; lent working memory may have been cleared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum SetupError {
    /// Full scale must be at least two counts above the dead level.
    Range,
    /// A setting lies outside its documented range.
    Setting,
    /// Lent memory does not fit the width and height.
    Memory,
    /// The runs have too few whole frames, or no pixel was a reading in all of them.
    TooFewFrames,
    /// The second run is not brighter than the first.
    NoSignal,
    /// More defects than the lent list can hold: such an array needs another list, or service.
    ListFull,
    /// Too few points, or all of one housing temperature.
    TooFewPoints,
    /// The fit lies outside what the fixed-point model can hold, or a value was not finite.
    Model,
}

impl core::fmt::Display for SetupError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Range => "full scale must be at least two counts above the dead level",
            Self::Setting => "a sensor setting lies outside its documented range",
            Self::Memory => "the lent memory does not fit the width and height",
            Self::TooFewFrames => "too few whole frames with readings in the run",
            Self::NoSignal => "the second uniform run must be brighter than the first",
            Self::ListFull => "the list of defects is full",
            Self::TooFewPoints => "too few points, or all at one housing temperature",
            Self::Model => "the fitted drift lies outside what the model can hold",
        })
    }
}

impl core::error::Error for SetupError {}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn refuses_a_range_without_readings() {
        assert_eq!(CountRange::new(5, 6), Err(SetupError::Range));
        assert_eq!(CountRange::new(u16::MAX, 0), Err(SetupError::Range));
        let narrow = CountRange::new(5, 7).unwrap();
        assert_eq!([5, 6, 7].map(|count| narrow.holds(count)), [false, true, false]);
    }

    proptest! {
        #[test]
        fn a_reading_lies_strictly_between(dead in any::<u16>(), full in any::<u16>(), count in any::<u16>()) {
            prop_assert_eq!(CountRange::between(dead, full).holds(count), count > dead && count < full);
            if let Ok(range) = CountRange::new(dead, full) {
                prop_assert_eq!(range.holds(count), count > dead && count < full);
                prop_assert_eq!(range.is_saturated(count), count >= full);
                prop_assert_eq!((range.dead(), range.full_scale()), (dead, full));
            }
        }
    }
}
