//! Regions over time: the same region from frame to frame, its trend, and whether it belongs to the part.
//!
//! ```text
//! rows ─► Profiles      means of rows and columns; how far the image moved       O(width + height)
//!             └─► PartFollower   where the part lies since the epoch began
//!                      │
//! regions ─► Tracker ◄─┘   association, birth n of m, loss after k              lent tracks
//!               └─► Track  trend of area, peak and contrast; stays or slides
//! ```
//!
//! *Why.* A real hot spot stays on the part when the viewer steps aside; a reflection slides over it (vehicle notes 1.2).
//! What moved by how much is measured here; the limits, and what they cannot tell apart, are with [`SlipRule`].
//!
//! ```
//! use oddheat_core::radiometry::Thresholds;
//! use oddheat_core::sensor::CountRange;
//! use oddheat_core::track::{ProfileSettings, ProfileSlot, Profiles, Reference};
//!
//! # fn main() -> Result<(), Box<dyn core::error::Error>> {
//! # let frame = |moved: i32| (0..48i32).map(move |y| core::array::from_fn::<u16, 64, _>(|x| {
//! #     let (x, y) = (x as i32 - moved, y);
//! #     (5_000 + 40 * ((x * x / 7 + 3 * y) % 29) + if (20..31).contains(&x) { 900 } else { 0 } + y * y % 53 * 20) as u16
//! # }));
//! let settings =
//!     ProfileSettings { width: 64, height: 48, reach: 8, clip: Thresholds::NONE, range: CountRange::new(0, 16_383)? };
//! let (mut slots, mut reference) = ([ProfileSlot::EMPTY; 64 + 48], [0; 64 + 48]); // yours
//! let mut profiles = Profiles::new(&mut slots, &mut reference, settings)?;
//! for row in frame(0) {
//!     profiles.push(&row)?;
//! }
//! profiles.finish(Reference::Adopt)?;
//! for row in frame(3) {
//!     profiles.push(&row)?;
//! }
//! let shift = profiles.finish(Reference::Keep)?;
//! assert_eq!(shift.x.map(|axis| axis.sixteenths / 16), Ok(3));
//! # Ok(())
//! # }
//! ```

mod part;
mod projection;
mod ratio;
mod shift;
mod slip;
#[cfg(test)]
mod tests;
mod tracker;
mod trend;

pub use part::{PartFollower, Placement};
pub use projection::{ProfileSettings, ProfileSlot, ProfileState, Profiles, Reference};
pub use shift::{AxisShift, Doubt, Shift};
pub use slip::{Cause, SlipJudgement, SlipRule, Verdict};
pub use tracker::{Changes, Stage, Track, TrackSettings, Tracker, TrackerState};
pub use trend::Trend;
