//! # oddheat-core
//!
//! Finds heat that is where it should not be, on the rows a thermal sensor sends, without a heap and without floats in
//! any path that runs per pixel, row, frame or region.
//!
//! ```text
//! counts ──► radiometry   curve, scene, measurement equation, fixed-point table      counts → kelvin
//!    │
//!    ├─────► sensor       gain and offset per pixel, bad pixels, drift, averaging      counts → counts
//!    │
//!    ├─────► regions      one pass over the rows: hot and cold regions               thresholds are counts
//!    │          └──► track   the same region from frame to frame: trend, stays or slides
//!    │
//!    ├─────► background   level, noise, local level                                  counts → thresholds
//!    │
//!    ├─────► measure      shapes, sums, readings with their uncertainty
//!    │          └──► image   colors, range, enlargement, marks                       counts → display
//!    └─────► checks ──► finding ──► wording
//!                    when a picture means something; grade, evidence, gates, causes, next test, cautions; text
//! ```
//!
//! A module uses only those above it in this picture; [`units`] and [`Error`] are below all. Most programs need a
//! [`radiometry::Table`], a [`regions::Scanner`] and a [`checks::Check`].
//!
//! ```
//! use oddheat_core::radiometry::{Curve, Emissivity, MeasurementEquation, Scale, Scene, Table};
//! use oddheat_core::regions::{Connectivity, Run, Scanner, Settings, Slot};
//! use oddheat_core::units::celsius;
//!
//! # fn main() -> Result<(), oddheat_core::Error> {
//! let curve = Curve::sakuma_hattori(9.37, 172.2, 410_000.0)?.with_offset(1_850.0)?; // µm, µm·K, counts, counts
//! let scene = Scene::new(Emissivity::new(0.95)?).reflected(celsius(21.0));
//! let table = Table::new(&MeasurementEquation::new(&Scale::Curve(curve), &scene)?, 16_383)?; // once; 1.5 KiB
//!
//! let thresholds = table.thresholds(celsius(40.0), celsius(10.0))?;
//! let (mut runs, mut slots) = ([Run::EMPTY; Scanner::runs(8)], [Slot::EMPTY; 4]); // yours
//! let settings = Settings { width: 8, thresholds, connectivity: Connectivity::Eight, min_area: 1 };
//! let mut scanner = Scanner::new(&mut runs, &mut slots, settings)?;
//! # let ambient = table.counts_at_or_below(celsius(21.0)).unwrap();
//! # let hot = table.counts_at_or_below(celsius(60.0)).unwrap();
//! # let sensor = [[ambient; 8], [ambient, ambient, hot, hot, ambient, ambient, ambient, ambient]];
//! for row in &sensor {
//!     scanner.push(row)?;
//! }
//! for region in scanner.finish().regions() {
//!     assert_eq!((region.area, region.peak_x), (2, 2)); // strongest first
//!     assert_eq!(table.temperature(region.peak).unwrap().to_celsius().round(), 60.0);
//! }
//! # Ok(())
//! # }
//! ```
//!
//! **Guarantees.** No panic, no allocation, no `unsafe`, no recursion, no global state. Memory is lent by the caller
//! at construction; states hold no references. The same counts give the same bytes on every target. On an error the
//! object is as it was before the call.
//!
//! **Floats** are used only where something is set up or judged (f64 through `libm`, so identical everywhere); the
//! modules that do so are named where they are declared.
//!
//! **Features.** `defmt`: formats on the public types; it changes no result. `embedded-graphics`: marks and legends on
//! any display that has a driver for that library ([`image`]). `wide-vectors`: on x86-64 with an operating system,
//! scanner and kelvin rows use AVX2 or AVX-512 where the processor has them; the same bytes, sooner, above all from whole
//! frames ([`regions::ScannerOf::frame`]). What the processor has, the crate `pulp` finds out once and keeps.

#![no_std]
#![cfg_attr(
    test,
    allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, clippy::float_arithmetic)
)]

#[cfg(test)]
extern crate std;

pub mod background;
pub mod checks;
mod codes;
mod error;
pub mod finding;
pub mod image;
mod log;
pub mod measure;
pub mod radiometry;
pub mod regions;
pub mod sensor;
pub mod track;
#[allow(clippy::float_arithmetic, reason = "conversions at the border; the arithmetic in use is integer")]
pub mod units;
mod vectors;
pub mod wording;

pub use error::{Error, Quantity, Result};
