//! Thermal recordings of vehicle parts with their ground truth, simulated from physics.
//!
//! For tests and demonstrations of a thermal toolkit. This crate shares no code with the library under test: it goes
//! from temperatures to counts, the library goes back, and neither knows the other's formulas.
//!
//! ```text
//! scene physics ─► temperature and emissivity at every point ─► radiance ─► optics ─► noise ─► counts
//!  heat, brake,     picture, nuisance (3 × 3 samples per pixel)  planck      render    electronics
//!  joint, checks …                      │
//!                                       └─► mean true temperature under each placed shape ─► truth
//! ```
//!
//! Two ways in. Draw a case of a check, sound or faulty, with what must not be judged and what only looks like a fault:
//!
//! ```
//! use oddheat_scenes::case::{Case, SeedSet, Severity};
//! use oddheat_scenes::catalog::{cases, draw};
//!
//! let fault = Case::Fault { fault: "restricted", severity: Severity::Clear };
//! assert!(cases("heater-core").contains(&fault));
//! let recording = draw("heater-core", fault, SeedSet::Tuning.seed(0));
//! assert!(recording.truth.resolvable && recording.truth.fault == "restricted");
//! ```
//!
//! Or set every number of a scene, for the three that have public parameters:
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
//! `KEYS.md` beside the sources lists the views, roles and conditions of each check.
//!
//! Every recording is a function of its parameters, its sensor and a seed: the same on every machine, for all
//! transcendental functions come from the `libm` crate and all draws from one named generator (see [`draw`]).
//!
//! Numbers carry their source: sections of `vehicle.md` and `radiometry.md`, the project's reference notes, or
//! "proposal" where we chose.
//!
//! A further check is one module in [`checks`]: a [`catalog::Check`] with its faults, gates and decoys, and a function
//! that brings a [`stage::Stage`] to a recording: draw the physics, aim, shoot, place, state, finish.

pub mod brake;
pub mod calibration;
pub mod case;
pub mod catalog;
pub mod checks;
pub mod depot;
pub mod draw;
pub mod electronics;
pub mod heat;
pub mod joint;
pub mod material;
pub mod nuisance;
pub mod picture;
pub mod place;
pub mod planck;
pub mod recording;
pub mod render;
pub mod sensor;
pub mod site;
pub mod stage;
pub mod tire_leak;
