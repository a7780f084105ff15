//! The ranges and defaults of a recording, each with its source. Tags: R# read, M memory, CP common practice,
//! D derived, P proposal; the numbered sources are those of the project's reference notes.

use std::fmt;

/// A range of numbers with a unit; both ends are included unless said otherwise.
#[derive(Clone, Copy)]
pub(super) struct Limits {
    low: f64,
    low_included: bool,
    high: f64,
    unit: &'static str,
}

impl Limits {
    pub(super) const fn from(low: f64, high: f64, unit: &'static str) -> Self {
        Self { low, low_included: true, high, unit }
    }

    pub(super) const fn above(low: f64, high: f64, unit: &'static str) -> Self {
        Self { low, low_included: false, high, unit }
    }

    /// Whether the number is in the range; never for a number that is not finite.
    pub(super) fn admit(self, number: f64) -> bool {
        (number > self.low || (self.low_included && number == self.low)) && number <= self.high
    }
}

impl fmt::Display for Limits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let space = if self.unit.is_empty() { "" } else { " " };
        if self.low_included {
            write!(f, "a number from {} to {}{space}{}", self.low, self.high, self.unit)
        } else {
            write!(f, "a number above {} and at most {}{space}{}", self.low, self.high, self.unit)
        }
    }
}

/// 0 K in °C. Source: definition of the degree Celsius, SI brochure (M).
pub(super) const ZERO_KELVIN_C: f64 = -273.15;

/// Emissivity of a surface. Source: definition; 0 leaves no signal to convert (D).
pub(super) const EMISSIVITY: Limits = Limits::above(0.0, 1.0, "");
/// Transmittance of the attenuating medium. Source: definition; 0 leaves no signal (D).
pub(super) const TRANSMITTANCE: Limits = Limits::above(0.0, 1.0, "");
/// Any stated or measured temperature. Upper end P: above the hottest part of a vehicle, below the core's 2,000 K.
pub(super) const TEMPERATURE_C: Limits = Limits::above(ZERO_KELVIN_C, 1700.0, "°C");
/// Any stated or measured temperature in kelvin; the same range as [`TEMPERATURE_C`].
pub(super) const TEMPERATURE_K: Limits = Limits::above(0.0, 1700.0 - ZERO_KELVIN_C, "K");
/// Standard uncertainties and noise in kelvin. Upper end P: more says nothing about a temperature.
pub(super) const UNCERTAINTY_K: Limits = Limits::from(0.0, 1000.0, "K");
/// Standard uncertainty of an emissivity, a transmittance, a relative slope; larger than the whole range says nothing
/// (D).
pub(super) const UNCERTAINTY_OF_SHARE: Limits = Limits::from(0.0, 1.0, "");
/// Angle one pixel sees. Upper end P: a pixel of one radian is no imager.
pub(super) const IFOV_MRAD: Limits = Limits::above(0.0, 1000.0, "mrad");
/// Temperature differences of region rules: as wide as the range of temperatures (D).
pub(super) const DIFFERENCE_K: Limits = Limits::above(0.0, 1700.0 - ZERO_KELVIN_C, "K");
/// Frame rate. Upper end P: beyond what times in whole milliseconds can tell apart.
pub(super) const FRAMES_PER_SECOND: Limits = Limits::above(0.0, 1000.0, "frames per second");
/// Frame times: whole milliseconds in 32 bits (D).
pub(super) const TIME_S: Limits = Limits::from(0.0, 4_294_967.0, "s");
/// Largest stated s, A, kPa or m: its thousandths fit in 32 signed bits (D).
pub(super) const STATED_MOST: f64 = 2_147_483.0;

/// Coefficients of the curve: the ranges that the core documents for its curve (its `Quantity`).
pub(super) const CURVE_A_UM: Limits = Limits::from(1.0, 100.0, "µm");
/// See [`CURVE_A_UM`].
pub(super) const CURVE_B_UM_K: Limits = Limits::from(0.0, 10_000.0, "µm·K");
/// See [`CURVE_A_UM`].
pub(super) const CURVE_C_COUNTS: Limits = Limits::above(0.0, 1e12, "counts");
/// See [`CURVE_A_UM`].
pub(super) const CURVE_OFFSET_COUNTS: Limits = Limits::from(-1e9, 1e9, "counts");
/// See [`CURVE_A_UM`].
pub(super) const CURVE_SHAPE: Limits = Limits::above(-1.0, 10.0, "");
/// By how much two curves may differ at their hand-over. Upper end P: more is no hand-over.
pub(super) const TOLERANCE_K: Limits = Limits::above(0.0, 100.0, "K");
/// Linear scale: the range that the core documents for it (its `Quantity`).
pub(super) const COUNTS_PER_KELVIN: Limits = Limits::above(0.0, 65_535.0, "counts per kelvin");
/// Temperature at zero counts of a linear scale. It may lie below 0 K, since no pixel need read zero. Range P.
pub(super) const ZERO_C: Limits = Limits::from(-100_000.0, 100_000.0, "°C");

/// Temporal noise of an uncooled array if not stated. P, inside the 40 to 100 mK of the vehicle notes, 1.3 (CP).
pub(super) const NETD_K: f64 = 0.08;
/// Standard uncertainty of the absolute scale if not stated. Handhelds commonly ±2 to 5 K, vehicle notes 1.3 (CP).
pub(super) const CALIBRATION_K: f64 = 2.0;
/// Standard uncertainty of offset drift between two views if not stated. The allowance of the vehicle notes, 1.3 (P).
pub(super) const DRIFT_K: f64 = 0.3;
/// Standard uncertainty of the reflected temperature if not stated. P: surroundings within ±2 K of the air indoors
/// (vehicle notes, 4), rounded to a standard uncertainty.
pub(super) const REFLECTED_U_K: f64 = 1.0;
/// Regions kept per frame if not stated: the larger of the two scanner budgets in the design page (P).
pub(super) const CAPACITY: u16 = 256;

/// Pixels of all frames of a recording, its uniform and flat runs included: 1 GiB of counts, 4 GiB while float temperatures
/// are converted (P).
pub(super) const MOST_PIXELS: u64 = 1 << 29;
/// Bytes of a `recording.toml` (P): a hundred thousand frames with time, view, shutter and housing temperature.
pub(super) const MOST_TEXT: u64 = 4 << 20;

/// Bad pixels that a repair may list and find: a share of the array, and so many beside it in a small one (P). An array
/// with more needs service: common practice asks for 99 % and more of sound pixels.
pub(super) const BAD_SHARE: usize = 50;
/// See [`BAD_SHARE`].
pub(super) const BAD_LEAST: usize = 16;
/// Temperature difference of two uniform runs: as wide as the range of temperatures (D).
pub(super) const UNIFORM_K: Limits = DIFFERENCE_K;
/// Slope of the housing temperature that still counts as steady. Upper end P: faster is no instrument at rest.
pub(super) const WARM_UP_K_PER_MINUTE: Limits = Limits::above(0.0, 100.0, "K/min");
/// Slope at which the housing counts as steady if not stated: the library's proposal (P).
pub(super) const STEADY_K_PER_MINUTE: f64 = 0.1;
/// Window over which the slope is taken, s: the library's range (D).
pub(super) const WARM_UP_WINDOW_S: Limits = Limits::from(0.002, 2_147_483.0, "s");
/// Window if not stated: the library's proposal (P).
pub(super) const STEADY_WINDOW_S: f64 = 60.0;
/// Pixels watched at a time if not stated, the larger of the library's proposals (P): a desktop need not be sparing.
pub(super) const WATCHED: u16 = 64;
/// Columns up to which a vertical structure may be column noise, and slowness, if not stated: the library's (P).
pub(super) const COLUMN_REACH: u8 = 2;
/// See [`COLUMN_REACH`].
pub(super) const COLUMN_SLOWNESS: u8 = 5;
