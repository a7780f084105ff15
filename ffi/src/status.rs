//! Result codes.

use oddheat_core::Error;
use oddheat_core::radiometry::{FitError, PracticeError, TwoRangeError};
use oddheat_core::sensor::SetupError;

/// Result of every fallible call. 0 is success, errors are negative; numbers are never reused. On error no output is
/// written and the device is unchanged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(i32)]
pub enum Status {
    /// Done.
    Ok = 0,
    /// A required pointer was NULL.
    ErrNull = -1,
    /// A value lies outside its documented range.
    ErrRange = -2,
    /// A length differs from the stated width, or a shape does not lie inside the image.
    ErrSize = -3,
    /// Set by a newer header; this library does not know it.
    ErrUnsupported = -4,
    /// The check has no such role, view or condition.
    ErrNotInCheck = -5,
    /// mem_size is below oddheat_mem_size().
    ErrMemTooSmall = -16,
    /// A pointer is not aligned; mem must be aligned to ODDHEAT_MEM_ALIGN.
    ErrMemAlign = -17,
    /// Every place for a shape is taken; raise shapes_max.
    ErrMemFull = -18,
    /// The block was not initialized, or was overwritten.
    ErrBadState = -32,
    /// Header and library do not match.
    ErrAbi = -33,
    /// The call came at a wrong moment: a row outside a frame, judging inside one, no check begun.
    ErrOrder = -34,
    /// Frame times run backward.
    ErrTime = -35,
    /// No temperature belongs to these counts.
    ErrNoTemperature = -48,
    /// Too few points for the free coefficients, or too few whole frames in a run.
    ErrTooFew = -64,
    /// More points than a fit takes.
    ErrTooMany = -65,
    /// Counts do not rise with temperature from point to point.
    ErrNotMonotonic = -66,
    /// The points lie too close together to tell the coefficients apart.
    ErrSingular = -67,
    /// No curve or model of this form fits the points.
    ErrNoFit = -68,
    /// The second run or reading is not above the first by enough to measure anything.
    ErrNoSignal = -69,
    /// More bad pixels than bad_pixels_max: raise it, or have the array serviced.
    ErrListFull = -70,
    /// The readings contradict each other.
    ErrContradiction = -71,
    /// Two curves differ by more than the tolerance where one takes over from the other.
    ErrCurvesDiffer = -72,
}

impl From<FitError> for Status {
    fn from(error: FitError) -> Self {
        match error {
            FitError::TooFewPoints => Self::ErrTooFew,
            FitError::TooManyPoints => Self::ErrTooMany,
            FitError::NotMonotonic => Self::ErrNotMonotonic,
            FitError::Singular => Self::ErrSingular,
            FitError::DidNotConverge => Self::ErrNoFit,
            // The error is non-exhaustive; OutsideDomain is the caller's, like anything not yet named here.
            _ => Self::ErrRange,
        }
    }
}

impl From<SetupError> for Status {
    fn from(error: SetupError) -> Self {
        match error {
            SetupError::Memory => Self::ErrSize,
            SetupError::TooFewFrames | SetupError::TooFewPoints => Self::ErrTooFew,
            SetupError::NoSignal => Self::ErrNoSignal,
            SetupError::ListFull => Self::ErrListFull,
            SetupError::Model => Self::ErrNoFit,
            _ => Self::ErrRange,
        }
    }
}

impl From<TwoRangeError> for Status {
    fn from(error: TwoRangeError) -> Self {
        match error {
            TwoRangeError::CurvesDiffer => Self::ErrCurvesDiffer,
            _ => Self::ErrRange,
        }
    }
}

impl From<PracticeError> for Status {
    fn from(error: PracticeError) -> Self {
        match error {
            PracticeError::TooLittleContrast => Self::ErrNoSignal,
            PracticeError::Contradiction => Self::ErrContradiction,
            _ => Self::ErrRange,
        }
    }
}

impl From<Error> for Status {
    fn from(error: Error) -> Self {
        match error {
            Error::NoTemperature => Self::ErrNoTemperature,
            Error::WrongLength | Error::ShapeOutside => Self::ErrSize,
            Error::TooSmall => Self::ErrMemTooSmall,
            Error::NotInThisCheck => Self::ErrNotInCheck,
            Error::Full => Self::ErrMemFull,
            Error::WrongOrder => Self::ErrOrder,
            Error::TimeBackward => Self::ErrTime,
            // Error is non-exhaustive; a value out of range is the caller's, like anything not yet named here.
            _ => Self::ErrRange,
        }
    }
}

/// Text for a code.
pub(crate) const fn text(status: i32) -> &'static core::ffi::CStr {
    match status {
        0 => c"done",
        -1 => c"a required pointer was NULL",
        -2 => c"a value lies outside its documented range",
        -3 => c"a length differs from the stated width, or a shape does not lie inside the image",
        -4 => c"set by a newer header, unknown to this library",
        -5 => c"the check has no such role, view or condition",
        -16 => c"the memory block is too small",
        -17 => c"a pointer is not aligned",
        -18 => c"every place for a shape is taken",
        -32 => c"the block was not initialized, or was overwritten",
        -33 => c"header and library do not match",
        -34 => c"the call came at a wrong moment",
        -35 => c"frame times run backward",
        -48 => c"no temperature belongs to these counts",
        -64 => c"too few points or whole frames",
        -65 => c"more points than a fit takes",
        -66 => c"counts do not rise with temperature from point to point",
        -67 => c"the points lie too close together",
        -68 => c"no curve or model of this form fits the points",
        -69 => c"the second run or reading is not above the first by enough",
        -70 => c"more bad pixels than there is room for",
        -71 => c"the readings contradict each other",
        -72 => c"the curves differ at the hand-over",
        _ => c"unknown code",
    }
}
