//! Measuring on rows: shapes, what is summed over them, and readings with their uncertainty.
//!
//! Rows are walked once. What a shape covers goes into a [`Tally`], integers only; when a check is judged or a value
//! is asked for, a tally becomes a [`Reading`]: a temperature and the parts of its uncertainty, kept apart so that
//! what two readings share can cancel in their difference.

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
mod pair;
mod polygon;
mod profile;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: a few hundred operations per reading")]
mod reading;
mod shape;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: once per measurement")]
mod statistics;
mod tally;
mod trace;
mod wheel;

pub use above::{Above, Area};
pub use blobs::{Blob, FoundRow, MAX_BLOBS, find_row};
pub use change::{Block, Change, When};
pub use comb::{Comb, CombLine, FoundComb, MAX_LINES};
pub use like::{Item, Lengthwise, Likeness, MAX_ITEMS, against_others, median};
pub use pair::{LEAST_CONFIDENCE, Projection, Registration};
pub use polygon::{Polygon, PolygonSpans};
pub use profile::{Profile, Sample};
pub use reading::{Component, Contribution, InputUncertainty, Reading, Relation, Statistic};
pub use shape::{Shape, Spans};
pub use statistics::{Measurement, Statistics, Summary, Sums};
pub use tally::{Majority, Series, Tally};
pub use trace::{Moment, Trace, TraceState};
pub use wheel::{FoundRing, LEAST_RING_CONFIDENCE, RadiusCell, RingMemory, RingSearch};
