//! Counts to temperatures: the calibration curve, the scene, the measurement equation, its uncertainty, and the table.
//!
//! Around them stands what is needed to set them up: the fit of a curve to a calibration, curves in two ranges, the
//! transmittance of air and windows, emissivities of surfaces, and the measurements an operator makes first.
//!
//! The modules named with `float_arithmetic` run when something is set up or judged. Nothing here runs per pixel
//! except [`Table`], whose conversions are integer only.

#[allow(clippy::float_arithmetic, reason = "set-up: the path is worked out once")]
mod atmosphere;
#[allow(clippy::float_arithmetic, reason = "set-up: the curve is evaluated to build a table or to close a check")]
mod curve;
#[allow(clippy::float_arithmetic, reason = "set-up and closing arithmetic: the measurement equation")]
mod equation;
#[allow(clippy::float_arithmetic, reason = "set-up: a curve is fitted once per calibration")]
mod fit;
#[allow(clippy::float_arithmetic, reason = "set-up: windows and air are folded into one medium")]
mod media;
#[allow(clippy::float_arithmetic, reason = "set-up: what an operator measures before measuring")]
mod practice;
#[allow(clippy::float_arithmetic, reason = "set-up: which signal a count stands for")]
mod scale;
mod scene;
mod surfaces;
mod table;
#[allow(clippy::float_arithmetic, reason = "set-up: the curves are evaluated to build a table")]
mod two_range;

pub use atmosphere::{
    AIR_CELSIUS, AtmosphereError, MAX_DISTANCE_M, MAX_VAPOR_G_PER_M3, PathBand, PathLoss, TRANSMITTANCE_UNCERTAINTY,
    saturation_pressure_hpa, vapor_density,
};
pub use curve::Curve;
pub use equation::{MeasurementEquation, Sensitivities};
pub use fit::{
    CalibrationPoint, Fit, FitError, FitOptions, Form, MAX_POINTS, Offset, SpectralBand, blackbody_settings,
    curve_uncertainty, fit_curve, fit_curve_into,
};
pub use media::{Medium, MediumSensitivities, medium_sensitivities};
pub use practice::{
    EmissivityGate, Estimate, MIN_CONTRAST_K, PracticeError, SpotVerdict, emissivity_by_contact, emissivity_by_patch,
    pixel_spot_mm, reflected_by_foil, spot_verdict,
};
pub use scale::{LinearScale, Scale};
pub use scene::{Emissivity, Scene, Transmittance};
pub use surfaces::{EmissivityBand, SURFACES, Surface, surface};
#[cfg(all(feature = "wide-vectors", target_arch = "x86_64"))]
pub(crate) use table::Lines;
pub use table::{Table, TableOf, Thresholds, WideTable};
pub use two_range::{TwoRange, TwoRangeError};
