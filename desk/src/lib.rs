//! The desktop bench: recordings in, graded findings, tables and pictures out.

pub mod recording;
