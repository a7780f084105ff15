//! Thermal recordings of vehicle parts with their ground truth, simulated from physics.
//!
//! For tests and demonstrations of a thermal toolkit. This crate shares no code with the library under test: it goes
//! from temperatures to counts, the library goes back, and neither knows the other's formulas.
//!
//! ```text
//! scene physics ─► temperature and emissivity at every point ─► radiance ─► optics ─► noise ─► counts
//!  brake,           render (3 × 3 samples per pixel)             planck      render    electronics
//!  tire_leak, joint                     │
//!                                       └─► mean true temperature under each placed shape ─► truth
//! ```
//!
//! ```
//! use oddheat_scenes::{joint, sensor::Sensor};
//!
//! let params = joint::Params { fault: joint::Fault::BadJoint { ohm: 3e-3 }, ..joint::Params::default() };
//! let recording = joint::simulate(&params, &Sensor::medium(), 7);
//! assert_eq!(recording.truth.fault, "bad-joint");
//! assert_eq!(recording.frames.len(), recording.times_s.len());
//! ```
//!
//! Every recording is a function of its parameters, its sensor and a seed: the same on every machine, for all
//! transcendental functions come from the `libm` crate and all draws from one named generator (see [`draw`]).
//!
//! Numbers carry their source: sections of `vehicle.md` and `radiometry.md`, the project's reference notes, or
//! "proposal" where we chose.
//!
//! A further scene is one module with `Params`, its physics in a file below it, and `simulate`; it brings a closure from
//! pixel coordinates to a [`render::Surface`] and a [`recording::Script`].

pub mod brake;
pub mod depot;
pub mod draw;
pub mod electronics;
pub mod joint;
pub mod material;
pub mod place;
pub mod planck;
pub mod recording;
pub mod render;
pub mod sensor;
pub mod site;
pub mod tire_leak;
