//! Tools of the tests: recordings as C, the same check straight through the core, C compilers, images and emulators.
//!
//! The tests themselves are in `tests/`; `cargo xtask` uses the same tools for `firmware`, `footprint` and `accuracy`.

pub mod air_table;
pub mod band_integral;
pub mod direct;
pub mod embed;
pub mod frames;
pub mod image;
pub mod placed;
pub mod plain;
pub mod toolchain;

/// The front page's Rust example, compiled and run as a documentation test.
#[cfg(doctest)]
#[doc = include_str!("../../README.md")]
pub struct FrontPage;
