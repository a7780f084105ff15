//! The desktop bench: recordings in, graded findings, tables and pictures out.
//!
//! [`recording`] reads, [`examine`] runs the embedded library over what was read, [`picture`] and [`report`] show it.
//! The binary `oddheat` is a thin shell around [`cli`]. Everything measured comes from `oddheat-core`: the bench adds
//! files, pictures and tables, never a temperature of its own.

mod budget;
mod calibrate;
pub mod cli;
mod demo;
pub mod examine;
mod output;
pub mod picture;
mod practice;
pub mod recording;
pub mod report;
mod setup;
mod simulate;
mod words;
