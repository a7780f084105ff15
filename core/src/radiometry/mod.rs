//! Counts to temperatures: the calibration curve, the scene, the measurement equation, its uncertainty, and the table.
//!
//! The modules named with `float_arithmetic` run when something is set up or judged. Nothing here runs per pixel
//! except [`Table`], whose conversions are integer only.

#[allow(clippy::float_arithmetic, reason = "set-up: the curve is evaluated to build a table or to close a check")]
mod curve;
#[allow(clippy::float_arithmetic, reason = "set-up and closing arithmetic: the measurement equation")]
mod equation;
#[allow(clippy::float_arithmetic, reason = "set-up: which signal a count stands for")]
mod scale;
mod scene;
mod table;

pub use curve::Curve;
pub use equation::{MeasurementEquation, Sensitivities};
pub use scale::{LinearScale, Scale};
pub use scene::{Emissivity, Scene, Transmittance};
pub use table::{Table, TableOf, Thresholds, WideTable};
