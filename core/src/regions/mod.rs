//! Hot and cold regions of a frame, found while its rows go by.
//!
//! [`Scanner`] takes rows of counts and two thresholds and keeps, for every connected region, what a report needs:
//! area, box, centroid, peak and mean. It holds the runs of one row and a bounded table of regions, so its memory
//! grows with the width and the number of regions, never with the height.

mod region;
mod scanner;
mod skip;
mod slots;
#[cfg(test)]
mod tests;

pub use region::{Region, Sign};
pub use scanner::{Connectivity, Found, Run, Scanner, Settings, State};
pub use slots::Slot;
