//! What crosses the border for calibrating, for an operator's procedures and for uncertainty budgets. Doubles: all of
//! it is set-up or closing arithmetic.

use core::mem::{offset_of, size_of};

/// A, B and C free, shape 1.
pub const FIT_PLANCKIAN: u32 = 0;
/// A, C and shape free, B = 0.
pub const FIT_FREE_SHAPE: u32 = 1;
/// The covariance of a fit is known.
pub const FIT_HAS_COVARIANCE: u32 = 1;
/// The chi-square of a fit is known.
pub const FIT_HAS_CHI_SQUARE: u32 = 2;
/// The shape was fitted, not B: the second row and column of the covariance belong to it.
pub const FIT_HAS_FREE_SHAPE: u32 = 4;
/// The offset was fitted.
pub const FIT_HAS_FREE_OFFSET: u32 = 8;
/// Most points a fit takes.
pub const FIT_POINTS_MAX: usize = 16;

/// Air seen in 8 to 14 micrometers.
pub const PATH_BAND_8_TO_14: u32 = 1;
/// Air seen in 7.5 to 13 micrometers.
pub const PATH_BAND_7P5_TO_13: u32 = 2;

/// A temperature may be reported.
pub const EMISSIVITY_USABLE: u32 = 1;
/// A temperature may be reported with a warning.
pub const EMISSIVITY_LOW: u32 = 2;
/// No temperature is to be reported.
pub const EMISSIVITY_NO_TEMPERATURE: u32 = 3;

/// Over all wavelengths.
pub const SURFACE_BAND_TOTAL: u32 = 1;
/// Long-wave infrared, about 8 to 14 micrometers.
pub const SURFACE_BAND_LONGWAVE: u32 = 2;
/// As an infrared thermometer shows it, band not stated.
pub const SURFACE_BAND_THERMOMETER: u32 = 3;
/// Text of a surface: key for programs.
pub const SURFACE_TEXT_KEY: u32 = 1;
/// Text of a surface: name for people.
pub const SURFACE_TEXT_NAME: u32 = 2;
/// Text of a surface: temperature of the values; may be empty.
pub const SURFACE_TEXT_TEMPERATURE: u32 = 3;
/// Text of a surface: source of the values.
pub const SURFACE_TEXT_SOURCE: u32 = 4;

/// Two readings were taken in the same frames: offset drift cancels.
pub const RELATION_SAME_VIEW: u32 = 1;
/// Two readings have the same finish: the error of the emissivity is the same in both.
pub const RELATION_SAME_SURFACE: u32 = 2;
/// Two readings lie within a few pixels: a third of the non-uniformity remains.
pub const RELATION_ADJACENT: u32 = 4;
/// Room for the parts of a budget.
pub const BUDGET_PARTS_MAX: usize = 12;

/// A value with its standard uncertainty, in the same unit.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty, 0 to 2000.
    pub uncertainty: f64,
}

/// One setting of the blackbody.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct CalibrationPoint {
    /// Its temperature in K, corrected for its emissivity.
    pub kelvin: f64,
    /// Mean counts.
    pub counts: f64,
    /// Standard uncertainty of the temperature in K; 0 if not stated. State uncertainties for all points or for none.
    pub kelvin_sd: f64,
    /// Standard uncertainty of the mean counts; 0 if not stated.
    pub counts_sd: f64,
}

/// What is fitted. Zero but for struct_size means A, B and C of 8 to 14 micrometers with offset 0.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct FitOptions {
    /// sizeof(oddheat_fit_options).
    pub struct_size: u32,
    /// ODDHEAT_FIT_PLANCKIAN or ODDHEAT_FIT_FREE_SHAPE.
    pub form: u32,
    /// 1 if the offset is fitted too, 0 if it is offset_counts.
    pub free_offset: u32,
    /// Must be 0.
    pub reserved: u32,
    /// Short end of the spectral band in micrometers, for the start values; both ends 0 = 8 to 14.
    pub band_from_um: f64,
    /// Long end of the band in micrometers.
    pub band_to_um: f64,
    /// Known signal offset in counts.
    pub offset_counts: f64,
}

/// A fitted curve and how well it is known.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Fit {
    /// sizeof(oddheat_fit), set by the caller.
    pub struct_size: u32,
    /// Points fitted.
    pub points_count: u32,
    /// Points minus free coefficients.
    pub degrees_of_freedom: u32,
    /// Sum of the ODDHEAT_FIT_HAS_... that hold: what is not known is 0.
    pub known: u32,
    /// A in micrometers, for the config.
    pub curve_a_um: f64,
    /// B in micrometers times kelvin.
    pub curve_b_um_k: f64,
    /// C in counts.
    pub curve_c_counts: f64,
    /// Offset in counts.
    pub curve_offset_counts: f64,
    /// Shape.
    pub curve_shape: f64,
    /// Lowest temperature of the points in K: the range that the curve is good for.
    pub low_kelvin: f64,
    /// Highest temperature of the points in K.
    pub high_kelvin: f64,
    /// Sum of the squared residuals, each divided by the standard uncertainty of its point.
    pub chi_square: f64,
    /// Covariance of A, B (or shape, where that is free), C and offset, row by row.
    pub covariance: [f64; 16],
    /// Temperature of the curve minus that of the point in K, in the order of the points.
    pub residuals_k: [f64; FIT_POINTS_MAX],
    /// Standard uncertainty of the curve at each point in K, if the covariance is known.
    pub curve_u_k: [f64; FIT_POINTS_MAX],
}

/// The curve for high counts, and where it takes over from that of a config.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct TwoRange {
    /// sizeof(oddheat_two_range).
    pub struct_size: u32,
    /// Must be 0.
    pub reserved: u32,
    /// A in micrometers, as in a config.
    pub curve_a_um: f64,
    /// B in micrometers times kelvin.
    pub curve_b_um_k: f64,
    /// C in counts.
    pub curve_c_counts: f64,
    /// Offset in counts.
    pub curve_offset_counts: f64,
    /// Shape; 1 in the Sakuma-Hattori form.
    pub curve_shape: f64,
    /// Temperature in K at which it takes over: from the count on that the curve of the config has there.
    pub hand_over_kelvin: f64,
    /// By how much the curves may differ there in K, above 0; the expanded uncertainty of the calibration.
    pub tolerance_k: f64,
}

/// A window, a filter or a path of air.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Medium {
    /// Transmittance, above 0 and at most 1.
    pub transmittance: f64,
    /// Reflectance, 0 or more; with the transmittance at most 1. 0 for air.
    pub reflectance: f64,
    /// Temperature in K.
    pub kelvin: f64,
    /// Apparent temperature of what its sensor side reflects, K; unused without a reflectance.
    pub reflected_kelvin: f64,
}

/// Emissivity of a vehicle surface: a range to start from, never a calibration.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Surface {
    /// Lowest value quoted.
    pub low: f64,
    /// Value to start from.
    pub typical: f64,
    /// Highest value quoted.
    pub high: f64,
    /// ODDHEAT_SURFACE_BAND_...
    pub band: u32,
    /// 1 if the values were read in the source, 0 if they are from memory and still to be confirmed.
    pub read: u32,
}

/// Standard uncertainties of what all readings of an instrument share.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Inputs {
    /// sizeof(oddheat_inputs).
    pub struct_size: u32,
    /// Must be 0.
    pub reserved: u32,
    /// Noise equivalent temperature difference of one pixel in one frame, K.
    pub netd_k: f64,
    /// Absolute calibration, K of apparent temperature.
    pub calibration_k: f64,
    /// Calibration slope, relative.
    pub slope_relative: f64,
    /// Offset drift between two views, K.
    pub drift_k: f64,
    /// Non-uniformity between two places of a frame, K.
    pub uniformity_k: f64,
    /// Reflected apparent temperature, K.
    pub reflected_k: f64,
    /// Transmittance of the medium.
    pub transmittance: f64,
    /// Temperature of the medium, K.
    pub medium_k: f64,
    /// Stated air temperature, K.
    pub air_k: f64,
}

/// A temperature with what its uncertainty is made of.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// sizeof(oddheat_reading), set by the caller.
    pub struct_size: u32,
    /// Must be 0.
    pub reserved: u32,
    /// Object temperature, K.
    pub kelvin: f64,
    /// Standard uncertainty from noise alone, K.
    pub noise_k: f64,
    /// Emissivity it was worked out with.
    pub emissivity: f64,
    /// Standard uncertainty of the emissivity.
    pub emissivity_u: f64,
    /// Apparent temperature, K.
    pub apparent_k: f64,
    /// Sensitivity coefficient by apparent temperature, K/K.
    pub by_apparent: f64,
    /// By emissivity, K per unit.
    pub by_emissivity: f64,
    /// By reflected apparent temperature, K/K.
    pub by_reflected: f64,
    /// By transmittance of the medium, K per unit.
    pub by_transmittance: f64,
    /// By temperature of the medium, K/K.
    pub by_medium: f64,
    /// By counts, K per count.
    pub by_counts: f64,
}

/// One line of an uncertainty budget.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Contribution {
    /// ODDHEAT_COMPONENT_...
    pub component: u32,
    /// 0.
    pub reserved: u32,
    /// Kelvin per unit of the input. In a budget of a difference: 0, for it has none.
    pub coefficient: f64,
    /// Standard uncertainty of the input in its unit. In a budget of a difference: 0.
    pub input: f64,
    /// Contribution in K, with the sign of the coefficient; of a difference what is left of it, 0 or more.
    pub kelvin: f64,
    /// Its share of the combined variance, 0 to 1.
    pub share: f64,
}

/// An uncertainty budget. The squares of the contributions add up to that of the combined standard uncertainty.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Budget {
    /// sizeof(oddheat_budget), set by the caller.
    pub struct_size: u32,
    /// Entries used in parts.
    pub parts_count: u32,
    /// The temperature or the difference, K.
    pub value_k: f64,
    /// Combined standard uncertainty, K.
    pub standard_k: f64,
    /// Coverage factor k.
    pub coverage_factor: f64,
    /// Expanded uncertainty, K.
    pub expanded_k: f64,
    /// The parts in the order of ODDHEAT_COMPONENT_...
    pub parts: [Contribution; BUDGET_PARTS_MAX],
}

/// The same on every target, so that one header serves all. Doubles are aligned to 4 or 8; nothing here depends on it.
const _: () = {
    assert!(size_of::<Estimate>() == 16 && size_of::<CalibrationPoint>() == 32 && size_of::<Medium>() == 32);
    assert!(size_of::<TwoRange>() == 64 && offset_of!(TwoRange, hand_over_kelvin) == 48);
    assert!(size_of::<FitOptions>() == 40 && offset_of!(FitOptions, band_from_um) == 16);
    assert!(size_of::<Fit>() == 464 && offset_of!(Fit, covariance) == 80 && offset_of!(Fit, curve_u_k) == 336);
    assert!(size_of::<Surface>() == 32 && offset_of!(Surface, band) == 24);
    assert!(size_of::<Inputs>() == 80 && size_of::<Reading>() == 96 && offset_of!(Reading, by_counts) == 88);
    assert!(size_of::<Contribution>() == 40 && size_of::<Budget>() == 520 && offset_of!(Budget, parts) == 40);
};
