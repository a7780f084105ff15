//! Recorded frames for tests of what works on rows: a real one, and one of the simulator.

use oddheat_desk::recording::{Recording, Scale, StatedScale};
use std::path::Path;

/// Counts, row by row.
#[derive(Clone, Debug)]
pub struct Plain {
    /// Columns.
    pub width: usize,
    /// `width` × rows counts.
    pub counts: Vec<u16>,
}

impl Plain {
    /// Rows from the top.
    pub fn rows(&self) -> impl Iterator<Item = &[u16]> {
        self.counts.chunks_exact(self.width)
    }

    /// Rows there are.
    #[must_use]
    pub fn height(&self) -> usize {
        self.counts.len() / self.width
    }

    /// A window whose upper left corner is at (x, y).
    #[must_use]
    pub fn window(&self, x: usize, y: usize, width: usize, height: usize) -> Self {
        let counts = self.rows().skip(y).take(height).flat_map(|row| &row[x..x + width]).copied().collect();
        Self { width, counts }
    }
}

fn data(path: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("data").join(path)
}

/// The real frame of `tests/data/building_night`, 640 × 512.
///
/// # Panics
/// If it cannot be read.
#[must_use]
pub fn building_night() -> Plain {
    let scale = StatedScale::Counts(Scale::Linear { counts_per_kelvin: 40.0, zero_c: -100.0 });
    let recording = Recording::from_image(&data("building_night/22-18-41-880.tif"), scale).expect("the real frame");
    Plain { width: recording.width.into(), counts: recording.frames[0].counts.clone() }
}

/// The first frame of `tests/data/brake_small`, 80 × 60; it has three dead pixels.
///
/// # Panics
/// If it cannot be read.
#[must_use]
pub fn brake_small() -> Plain {
    let recording = Recording::open(&data("brake_small")).expect("the small recording");
    Plain { width: recording.width.into(), counts: recording.frames[0].counts.clone() }
}
