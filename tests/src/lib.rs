//! Tools of the tests: recordings as C, the same check straight through the core, C compilers, images and emulators.
//!
//! The tests themselves are in `tests/`; `cargo xtask firmware` and `cargo xtask footprint` use the same tools.

pub mod direct;
pub mod embed;
pub mod image;
pub mod toolchain;
