//! Result codes.

use core::ffi::CStr;
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
    /// What a fit looks for does not stand out from the noise.
    ErrBelowNoise = -73,
    /// The extreme lies at an end of the points and may go on beyond.
    ErrAtEnd = -74,
    /// The points end before the number shows.
    ErrTooShort = -75,
    /// A straight line describes the points as well.
    ErrAsStraight = -76,
    /// The values do not fall toward the base.
    ErrNotDecaying = -77,
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

/// Texts, each after its code with the sign turned and ended by a NUL: a list without pointers takes a quarter less of an
/// image than a choice among them.
const TEXTS: &str = concat!(
    "\x00done\0",
    "\x01a required pointer was NULL\0",
    "\x02a value lies outside its documented range\0",
    "\x03a length is not the stated one, or a shape lies outside\0",
    "\x04set by a newer header\0",
    "\x05the check has no such role, view or condition\0",
    "\x10the memory block is too small\0",
    "\x11a pointer is not aligned\0",
    "\x12every place for a shape is taken\0",
    "\x20the block is not initialized\0",
    "\x21header and library do not match\0",
    "\x22the call came at a wrong moment\0",
    "\x23frame times run backward\0",
    "\x30no temperature belongs to these counts\0",
    "\x40too few points or whole frames\0",
    "\x41more points than a fit takes\0",
    "\x42counts do not rise with temperature\0",
    "\x43the points lie too close together\0",
    "\x44no curve or model of this form fits the points\0",
    "\x45the second is not above the first by enough\0",
    "\x46more bad pixels than there is room for\0",
    "\x47the readings contradict each other\0",
    "\x48the curves differ at the hand-over\0",
    "\x49it does not stand out from the noise\0",
    "\x4athe extreme lies at an end of the points\0",
    "\x4bthe points end too early\0",
    "\x4ca straight line describes the points as well\0",
    "\x4dthe values do not fall toward the base\0",
);

/// Text for a code.
pub(crate) fn text(status: i32) -> &'static CStr {
    let mut rest = TEXTS.as_bytes();
    while let Some((&code, tail)) = rest.split_first() {
        let Ok(text) = CStr::from_bytes_until_nul(tail) else { break };
        if i32::from(code) == status.wrapping_neg() {
            return text;
        }
        rest = tail.get(text.count_bytes() + 1..).unwrap_or(&[]);
    }
    c"unknown code"
}
