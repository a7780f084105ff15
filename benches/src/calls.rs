//! What is measured, each call as a user would write it.

use oddheat_core::measure::{Shape, Tally};
use oddheat_core::radiometry::{Curve, MeasurementEquation, Scale, Scene, Table, Thresholds};
use oddheat_core::regions::{Connectivity, Filter, Run, Scanner, Settings, Slot};
use oddheat_core::units::RowKelvin;
use std::hint::black_box;

/// Most regions a table can hold.
pub const MOST_REGIONS: usize = 32_766;

/// Memory for scanning frames of one width, reused from frame to frame.
#[derive(Debug)]
pub struct Scan {
    runs: Vec<Run>,
    slots: Vec<Slot>,
    width: u16,
    connectivity: Connectivity,
}

impl Scan {
    /// Memory for `width` columns and `regions` regions; what is not used is not touched.
    #[must_use]
    pub fn new(width: u16, connectivity: Connectivity, regions: usize) -> Self {
        let (runs, slots) = (vec![Run::EMPTY; Scanner::runs(width)], vec![Slot::EMPTY; regions]);
        Self { runs, slots, width, connectivity }
    }

    /// Scans a frame and reads all of every region, statistics included. Returns how many regions were found and how
    /// many dropped, or nothing if the scanner refused.
    pub fn frame(&mut self, counts: &[u16], hot: u16, cold: u16) -> (usize, u32) {
        let Ok(thresholds) = Thresholds::new(hot, cold) else { return (0, 0) };
        let settings = Settings { width: self.width, thresholds, connectivity: self.connectivity, min_area: 1 };
        let Ok(mut scanner) = Scanner::new(&mut self.runs, &mut self.slots, settings) else { return (0, 0) };
        let Ok(found) = scanner.frame(thresholds, counts, &Filter::ALL) else { return (0, 0) };
        found.regions().for_each(|region| {
            black_box(region);
        });
        (found.len(), found.dropped())
    }
}

/// A table over all 16-bit counts, for a long-wave curve of a 14-bit sensor (invented coefficients).
///
/// # Errors
/// What the library says of the coefficients.
pub fn table() -> oddheat_core::Result<Table> {
    let curve = Curve::sakuma_hattori(9.37, 172.2, 410_000.0)?.with_offset(1_850.0)?;
    Table::new(&MeasurementEquation::new(&Scale::Curve(curve), &Scene::BLACKBODY)?, u16::MAX)
}

/// Converts a frame, its rows one behind the other.
pub fn convert(table: &Table, counts: &[u16], kelvin: &mut [RowKelvin]) {
    let _ = black_box(table.kelvin_row(black_box(counts), kelvin));
}

/// What every count converts to.
#[must_use]
pub fn lookup(table: &Table) -> Box<[RowKelvin; 65_536]> {
    let mut lookup = Box::new([RowKelvin::ZERO; 65_536]);
    table.write_lookup(&mut lookup);
    lookup
}

/// Converts a frame through a lookup.
pub fn look_up(lookup: &[RowKelvin; 65_536], counts: &[u16], kelvin: &mut [RowKelvin]) {
    for (pixel, &count) in kelvin.iter_mut().zip(black_box(counts)) {
        *pixel = lookup[usize::from(count)];
    }
}

/// Mean and histogram of a shape, from which every reading comes; returns the mean in Q24.8 counts.
pub fn tally(shape: Shape, counts: &[u16], width: u16) -> Option<u32> {
    let mut tally = Tally::EMPTY;
    for (y, row) in (0u16..).zip(counts.chunks_exact(usize::from(width).max(1))) {
        tally.add_row(shape, y, black_box(row), 0, u16::MAX);
    }
    black_box(&mut tally).end_frame(0)
}
