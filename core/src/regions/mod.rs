//! Hot and cold regions of a frame, found while its rows go by.
//!
//! [`Scanner`] takes rows of counts and two thresholds and keeps, for every connected region, what a report needs:
//! area, box, centroid, peak and mean; with a [`Shape`] lent for each region also spread, moments, outline, holes and
//! contrast. It holds the runs of one row and a bounded table of regions, so its memory
//! grows with the width and the number of regions, never with the height.

mod detail;
mod filter;
mod found;
#[cfg(target_arch = "x86_64")]
mod pairs;
mod region;
mod run;
mod scanner;
mod slot;
mod slots;
mod spans;
mod sums;
#[cfg(test)]
mod tests;

pub use detail::{Detail, RunPixels, Shape, ShapeReport};
pub use filter::Filter;
pub use found::Found;
pub use region::{Region, Sign};
pub use run::Run;
pub use scanner::{Connectivity, Scanner, ScannerOf, Settings, State};
pub use slot::{Slot, SlotOf};
