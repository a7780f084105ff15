//! # oddheat-golden
//!
//! Computes what the product computes (conversions, regions, findings and their text) from numbers that are made here
//! with integers, and prints the results as lines. The lines are the same on every target, or a target differs; that is
//! tested by `tests/tests/golden.rs`, against `tests/data/golden.txt`.
//!
//! The program `oddheat-golden` is the same source for the host, for bare-metal images in an emulator and for WebAssembly.
//! [`run`] needs no heap and 13 KiB of stack (measured on Armv6-M: 12 are too few), so that it runs in 16 KiB of RAM.

#![no_std]

#[cfg(test)]
extern crate std;

mod lines;

pub use lines::run;
