//! What a frame looks like where nothing is wrong: its level, its noise, and how both become thresholds.
//!
//! ```text
//! rows ─► Histogram    level: median, scatter, percentiles, split in two classes      bins lent
//!    ├──► NoiseMeter   noise of a pixel, whatever the scene                           bins lent
//!    └──► LocalLevel   block medians, interpolated: row − background + level          O(blocks)
//!                         │
//! level, noise ─► DetectionRule ─► thresholds of the region scanner
//! ```
//!
//! A corrected row ([`LocalLevel::correct_row`]) goes through [`crate::regions::Scanner`] as any other, with
//! thresholds around the level; so ground that is uneven by more than a region is deep no longer hides it. Its counts
//! are contrasts put on a level, not temperatures: measure on the row as it came.
//!
//! ```
//! use oddheat_core::background::{DetectionRule, Histogram, NoiseMeter, Window};
//! use oddheat_core::sensor::CountRange;
//! use oddheat_core::units::Delta;
//!
//! # fn main() -> Result<(), Box<dyn core::error::Error>> {
//! # let rows = [[5_000u16, 5_001, 4_999, 5_002, 5_000, 4_998, 5_001, 5_600]; 8];
//! let range = CountRange::new(0, 16_383)?;
//! let (mut bins, mut signed) = ([0; 256], [0; 128]); // yours
//! let mut level = Histogram::new(&mut bins, Window::new(4_900, 0))?;
//! let mut noise = NoiseMeter::new(&mut signed, 0)?;
//! for row in &rows {
//!     level.push(row, range);
//!     noise.push(row, range);
//! }
//! let (median, sigma) = (level.quantile_q8(500).unwrap_or(0), noise.sigma_q8().unwrap_or(0));
//! assert!((4_990 << 8..5_010 << 8).contains(&median) && sigma < 3 << 8);
//! // Beside kelvin through a table, a threshold may be stated in counts.
//! let thresholds = DetectionRule::DEFAULT.thresholds_in_counts(median, sigma, 12)?;
//! assert!(thresholds.hot() < 5_600 && thresholds.cold() > 4_900);
//! # Ok(())
//! # }
//! ```

mod grid;
mod histogram;
mod noise;
mod rule;
#[cfg(test)]
mod tests;

pub use grid::{BandBins, GridSettings, LevelBlock, LocalLevel, LocalState};
pub use histogram::{Histogram, HistogramState, Split, Window};
pub use noise::NoiseMeter;
pub use rule::{Detection, DetectionRule, Term, is_measurable};
