//! Result codes.

use oddheat_core::Error;

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
        _ => c"unknown code",
    }
}
