//! The one error type of the crate.

/// Why a call was refused. On every error the object and all outputs are as they were before the call.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Error {
    /// A number is not finite or lies outside its documented range; the caller's data.
    OutOfRange(Quantity),
    /// No temperature belongs to these counts: they are at or below what the cold limit of the curve gives, or at or
    /// above what it can reach.
    NoTemperature,
    /// A row, frame or buffer has another length than stated at set-up.
    WrongLength,
    /// Lent memory is too small; ask the matching size function.
    TooSmall,
    /// A shape does not lie wholly inside the image, or covers no pixel.
    ShapeOutside,
    /// A check, role, view or condition does not belong here; for a role, see the check's brief.
    NotInThisCheck,
    /// Every place for a shape is taken.
    Full,
    /// The call came at a wrong moment: a row outside a frame, a judgement inside one, feeding without shapes.
    WrongOrder,
    /// Frame times run backward.
    TimeBackward,
}

/// Which quantity was out of range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Quantity {
    /// Curve coefficient A, µm; 1 to 100.
    CurveA,
    /// Curve coefficient B, µm·K; 0 to 10,000.
    CurveB,
    /// Curve coefficient C, counts; above 0.
    CurveC,
    /// Curve offset, counts.
    CurveOffset,
    /// Curve shape; above −1, at most 10.
    CurveShape,
    /// Counts per kelvin of a linear scale; above 0.
    CountsPerKelvin,
    /// Temperature of count 0 of a linear scale; −10⁶ to 1,700 °C.
    ScaleZero,
    /// Emissivity; above 0, at most 1.
    Emissivity,
    /// Transmittance of the attenuating medium; above 0, at most 1.
    Transmittance,
    /// A temperature; above 0 K, at most 2,000 K.
    Temperature,
    /// A standard uncertainty; 0 or more.
    Uncertainty,
    /// Image width or height in pixels; 1 to 65,535.
    ImageSize,
    /// Thresholds: the cold one must not exceed the hot one.
    Thresholds,
    /// A stated condition.
    Condition,
}

impl core::fmt::Display for Error {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::OutOfRange(quantity) => quantity.expected(),
            Self::NoTemperature => "no temperature belongs to these counts",
            Self::WrongLength => "the length differs from the one stated at set-up",
            Self::TooSmall => "the lent memory is too small",
            Self::ShapeOutside => "the shape must lie wholly inside the image and cover a pixel",
            Self::NotInThisCheck => "this check has no such role, view or condition",
            Self::Full => "every place for a shape is taken",
            Self::WrongOrder => "the call came at a wrong moment",
            Self::TimeBackward => "frame times must not run backward",
        })
    }
}

impl Quantity {
    /// What was expected, as a clause.
    #[must_use]
    pub const fn expected(self) -> &'static str {
        match self {
            Self::CurveA => "curve coefficient A must be from 1 to 100 µm",
            Self::CurveB => "curve coefficient B must be from 0 to 10000 µm·K",
            Self::CurveC => "curve coefficient C must be above 0 and at most 1e12 counts",
            Self::CurveOffset => "the curve offset must be from -1e9 to 1e9 counts",
            Self::CurveShape => "the curve shape must be above -1 and at most 10",
            Self::CountsPerKelvin => "counts per kelvin must be above 0 and at most 65535",
            Self::ScaleZero => "the zero of a linear scale must be from -1e6 to 1700 °C",
            Self::Emissivity => "emissivity must be above 0 and at most 1",
            Self::Transmittance => "transmittance must be above 0 and at most 1",
            Self::Temperature => "a temperature must be above 0 K and at most 2000 K",
            Self::Uncertainty => "a standard uncertainty must be 0 or more and finite",
            Self::ImageSize => "image width and height must be from 1 to 65535 pixels",
            Self::Thresholds => "the cold threshold must not exceed the hot one",
            Self::Condition => "the stated condition is outside its range",
        }
    }
}

impl core::error::Error for Error {}

/// Result of the crate's fallible calls.
pub type Result<T> = core::result::Result<T, Error>;
