//! Measuring on rows: shapes, what is summed over them, and readings with their uncertainty.
//!
//! Rows are walked once. What a shape covers goes into a [`Tally`], integers only; when a check is judged or a value
//! is asked for, a tally becomes a [`Reading`]: a temperature and the parts of its uncertainty, kept apart so that
//! what two readings share can cancel in their difference.

mod histogram;
#[allow(clippy::float_arithmetic, reason = "closing arithmetic: a few hundred operations per reading")]
mod reading;
mod shape;
mod tally;

pub use reading::{Component, Contribution, InputUncertainty, Reading, Relation, Statistic};
pub use shape::{Shape, Spans};
pub use tally::{Series, Tally};
