//! Constants of normal scatter, in one place.

/// Standard deviation of normal values over their median absolute deviation, 1/Φ⁻¹(3/4) (computed); for many values.
pub(super) const DEVIATION_PER_MAD: f64 = 1.482_602_218_505_602;
/// Standard deviation of a median of normal values against that of their mean, √(π/2); for many values, and an upper
/// bound for few.
pub(super) const MEDIAN_SCATTER: f64 = 1.253_314_137_315_500_3;
/// Three standard deviations in median absolute deviations, in 1/256.
#[allow(clippy::float_arithmetic, reason = "a constant, worked out by the compiler")]
pub(super) const THREE_DEVIATIONS_Q8: u32 = (3.0 * 256.0 * DEVIATION_PER_MAD + 0.5) as u32;
/// [`DEVIATION_PER_MAD`] in 1/256.
#[allow(clippy::float_arithmetic, reason = "a constant, worked out by the compiler")]
pub(super) const DEVIATION_PER_MAD_Q8: i32 = (256.0 * DEVIATION_PER_MAD + 0.5) as i32;
