//! Measuring on rows: shapes, what is summed over them, and readings with their uncertainty.
//!
//! Rows are walked once. What a shape covers goes into a [`Tally`], integers only; when a check is judged or a value
//! is asked for, a tally becomes a [`Reading`]: a temperature and the parts of its uncertainty, kept apart so that
//! what two readings share can cancel in their difference.
//!
//! | question | tool |
//! |---|---|
//! | count, mean, median, extremes, deviation of a place | [`Measurement`] over a [`Shape`] or [`Polygon`] |
//! | which sector, which of several like items, which band | [`Shape::sectors`], [`Shape::row_of`], [`Shape::bands`], [`against_others`], [`Statistic::Majority`] |
//! | along a line: peak, edge, decay | [`Profile`], then [`fit`] |
//! | parallel lines: pitch, slant, contrast of each | [`Comb`] |
//! | along a ring: what stands out of its neighborhood | [`Unwrapped`], then [`Excursion`] |
//! | the other side's twin, where exactly | [`Projection::register`] |
//! | what changed | [`Change`], whose rows any other tool reads |
//! | how large is the hot area | [`Above`] |
//! | over time: slope, time constant, knee | [`Trace`], then [`fit`] |
//! | where is the ring, the row of items | [`RingSearch`], [`find_row`] |
//!
//! What places itself gives a confidence with a stated meaning, or nothing; what a fit does not determine it refuses with
//! the reason. `docs/measuring.md` has the rules, memory and cost of each.
//!
//! ```
//! use oddheat_core::measure::{Item, Lengthwise, Measurement, Shape, against_others};
//!
//! # fn main() -> Result<(), oddheat_core::Error> {
//! // Four cells side by side; the third is warmer.
//! let cells = Shape::Box { x0: 0, y0: 0, x1: 15, y1: 7 }.placed_in(16, 8)?;
//! let row = [50, 51, 50, 51, 51, 50, 51, 50, 70, 71, 70, 71, 50, 51, 51, 50];
//! let mut items = [None; 4];
//! for (item, cell) in items.iter_mut().zip(cells.bands(4, Lengthwise::Columns)) {
//!     let mut measurement = Measurement::EMPTY;
//!     (0..8).for_each(|y| measurement.add_row(cell, y, &row, 0, 16_383));
//!     let seen = measurement.sums().statistics().ok_or(oddheat_core::Error::NoTemperature)?;
//!     *item = Some(Item { value: seen.mean, noise: 0.5 });
//! }
//! let third = against_others(&items, 2).unwrap();
//! assert_eq!(third.difference, 20.0); // counts over the median of the other three
//! assert!(third.score > 20.0 && against_others(&items, 1).unwrap().score.abs() < 1.0);
//! # Ok(())
//! # }
//! ```

mod above;
mod arc;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per list of regions")]
mod blobs;
mod change;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per comb; the sums are integers")]
mod comb;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per comb")]
mod comb_fit;
mod curved;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per profile or series")]
pub mod fit;
mod histogram;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per row of items")]
mod like;
mod normal_scatter;
mod pair;
mod polygon;
mod profile;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: a few hundred operations per reading")]
mod reading;
mod shape;
mod stand_in;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per measurement")]
mod statistics;
mod tally;
mod trace;
mod unwrapped;
mod wheel;

/// Square of a difference of places or counts.
fn squared(value: i32) -> u64 {
    u64::from(value.unsigned_abs()) * u64::from(value.unsigned_abs())
}

pub use above::{Above, Area};
pub use blobs::{Blob, FoundRow, MAX_BLOBS, find_row};
pub use change::{Block, Change, When};
pub use comb::{Comb, CombLine, FoundComb, MAX_LINES};
pub use like::{Item, Lengthwise, Likeness, MAX_ITEMS, against_others, median};
pub use pair::{LEAST_PAIR_CONFIDENCE, Projection, Registration};
pub use polygon::{Polygon, PolygonSpans};
pub use profile::{Profile, Sample};
pub use reading::{Component, Contribution, InputUncertainty, Reading, Relation, Statistic, WeightedSum};
pub use shape::{Shape, Spans};
pub use statistics::{Measurement, Statistics, Summary, Sums};
pub use tally::{Majority, Series, Tally};
pub use trace::{Moment, Trace, TraceState};
pub use unwrapped::{Excursion, LinePart, Unwrapped};
pub use wheel::{FoundRing, LEAST_RING_CONFIDENCE, RadiusCell, RingMemory, RingSearch};
