//! Writes tests/data/brake_small: the recording that the C programs and the firmware image carry.
//!
//! `cargo run -p oddheat-tests --example brake_small`. A dragging brake on the left after a drive without braking; the
//! smallest sensor and three frames a side, so that the image stays small.

use oddheat_scenes::brake::{Fault, Params, Side, simulate};
use oddheat_scenes::sensor::Sensor;
use std::path::Path;

fn main() -> std::io::Result<()> {
    let params = Params {
        title: "Minibus 4, front axle, small".to_owned(),
        fault: Fault::Dragging { side: Side::Left, torque_nm: 30.0 },
        unused_s: 480.0,
        frames: 3,
        ..Params::default()
    };
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/brake_small");
    simulate(&params, &Sensor::small(), 20).write(&folder)?;
    println!("wrote {}", folder.display());
    Ok(())
}
