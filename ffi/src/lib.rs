//! # C ABI of oddheat
//!
//! `include/oddheat.h` is generated from this crate (`cargo xtask header`) and is the documentation for C programmers.
//!
//! The split: `types` and its companions `..._types` hold what crosses the border, `status` the result codes, the modules
//! named like them (`device`, `scan`, `metrology`, `sensor`, `tools`, `fits`,
//! `display`, `level`, `local`, `change`, `track`) everything that happens, in safe Rust on
//! borrowed parts, and `boundary` the exported functions with all the `unsafe` there is: turning pointers
//! into references and back. Enumerations are only ever returned; what comes in is an integer and is matched.

#![no_std]
#![warn(unreachable_pub)]

// Hosted builds take the panic handler of std; the code itself does not use it.
#[cfg(not(target_os = "none"))]
extern crate std;

mod block;
#[allow(unsafe_code, reason = "the border: pointers become references here and nowhere else")]
mod boundary;
mod change;
mod change_types;
mod convert;
mod device;
mod display;
mod display_types;
mod fits;
mod fits_types;
mod level;
mod level_types;
mod local;
mod local_types;
mod metrology;
mod metrology_types;
mod placing;
mod placing_types;
mod scan;
mod scan_types;
mod sensor;
mod sensor_types;
mod status;
mod tools;
mod tools_types;
mod track;
mod track_types;
mod types;

pub use boundary::*;
pub use change_types::*;
pub use display_types::*;
pub use fits_types::*;
pub use level_types::*;
pub use local_types::*;
pub use metrology_types::*;
pub use placing_types::*;
pub use scan_types::*;
pub use sensor_types::*;
pub use status::Status;
pub use tools_types::*;
pub use track_types::*;
pub use types::*;
