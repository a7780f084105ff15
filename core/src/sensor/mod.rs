//! From the counts a sensor sends to counts that compare: between its pixels, and over time.
//!
//! An uncooled array sends a fixed pattern, a drift and some bad pixels along with the scene. Left in, the pattern is
//! noise that no averaging removes, the drift is a wrong temperature, and a pixel that sticks is a hot part. This module
//! takes them off, row by row, in the order of [`Chain`], and says when it cannot.
//!
//! ```text
//! raw counts ─► two_point ─► (drift) ─► (shutter) ─► watch ─► replace ─► columns ─► steady ─► smoothing ─► counts
//!               gain, offset  housing    offset       find     bad        column     step?     average
//!               per pixel     model      update       bad      pixels     noise
//! ```
//!
//! *Set-up*: two [`UniformRun`]s give the bad pixels ([`find_defects`]), the coefficients ([`TwoPoint::calibrate`]) and
//! the noise figure ([`netd_of_runs`]); a soak run gives the [`Drift`]. *In use*: [`Chain::push`] for each row, and from
//! time to time an [`Average`] of shutter frames for [`Chain::update_offsets`].
//!
//! *What is no reading*, dead or saturated, stays so through every step ([`CountRange`]), and a count that a correction
//! moves out of the range becomes one.
//!
//! ```
//! use oddheat_core::sensor::{Coefficient, CountRange, Defect, Defects, PixelSums, TwoPoint, UniformRun};
//!
//! # fn main() -> Result<(), Box<dyn core::error::Error>> {
//! let range = CountRange::new(0, 16_383)?;
//! let (mut low, mut high) = ([PixelSums::EMPTY; 4], [PixelSums::EMPTY; 4]); // yours, for set-up only
//! let mut cold = UniformRun::new(&mut low, 2, 2, range)?;
//! let mut hot = UniformRun::new(&mut high, 2, 2, range)?;
//! for _ in 0..16 {
//!     for row in [[1_000, 1_040], [980, 1_010]] {
//!         cold.push(&row)?;
//!     }
//!     for row in [[3_000, 3_200], [2_880, 3_050]] {
//!         hot.push(&row)?;
//!     }
//! }
//! let (mut list, mut coefficients) = ([Defect::EMPTY; 8], [Coefficient::NEUTRAL; 4]); // yours, to keep
//! let mut defects = Defects::new(&mut list);
//! let two_point = TwoPoint::calibrate(&cold, &hot, range, 2, &mut defects, &mut coefficients)?;
//!
//! let mut row = [2_000, 2_150];
//! two_point.correct_row(&coefficients[..2], 0, &mut row)?;
//! assert_eq!(row, [2_020, 2_048]);
//! # Ok(())
//! # }
//! ```
//!
//! *Floats* only where something is set up: [`Drift::fit`], [`netd`], [`netd_of_mean`], [`netd_of_runs`].

mod average;
mod chain;
mod columns;
mod defects;
mod drift;
mod netd;
mod range;
mod replace;
mod steady;
#[cfg(test)]
mod tests;
mod two_point;
mod uniform;
mod watch;

pub use average::{Average, AverageState, Means, PixelMeans, Smoothing, UNSMOOTHED};
pub use chain::{Chain, ChainMemory, ChainSettings, ChainState, FrameFlags};
pub use columns::{ColumnSettings, ColumnSlot, ColumnState, Columns};
pub use defects::{Defect, DefectKind, Defects};
pub use drift::{Drift, DriftOffset, DriftOrder, SoakPoint};
pub use netd::{NoiseFigure, netd, netd_of_mean, netd_of_runs};
pub use range::{CountRange, SetupError};
pub use replace::{REACH, replace_row};
pub use steady::{Steps, WarmUp};
pub use two_point::{Coefficient, ShutterTarget, TwoPoint, Unread};
pub use uniform::{ArrayFigures, Criteria, PixelSums, RunState, UniformRun, find_defects};
pub use watch::{Watch, WatchSettings, WatchSlot, WatchState};
