//! Shifts against scenes moved by known amounts, matching against a list of all pairs, slopes and slips against their
//! formulas.

mod edges;
mod motion;
mod tracks;

use super::*;
use crate::radiometry::Thresholds;
use crate::regions::{Connectivity, Region, Run, Scanner, Settings, Slot};
use crate::sensor::CountRange;
use std::vec;
use std::vec::Vec;

const W: usize = 160;
const H: usize = 120;

fn range() -> CountRange {
    CountRange::new(0, 16_383).unwrap()
}

/// Pseudo-random numbers in 0..1: the finalizer of MurmurHash3 (public domain; memory).
fn uniform(seed: u32, i: usize) -> f64 {
    let mut h = seed ^ (i as u32).wrapping_mul(0x9E37_79B9);
    h = (h ^ (h >> 16)).wrapping_mul(0x85EB_CA6B);
    h = (h ^ (h >> 13)).wrapping_mul(0xC2B2_AE35);
    f64::from(h ^ (h >> 16)) / 4_294_967_296.0
}

/// Noise of unit variance: three uniform numbers, less their mean, doubled.
fn noise(seed: u32, i: usize) -> f64 {
    2.0 * ((0..3).map(|k| uniform(seed.wrapping_mul(31).wrapping_add(k), i)).sum::<f64>() - 1.5)
}

/// A blob: height in counts, center, standard deviation in pixels.
type Blob = (f64, f64, f64, f64);

/// A scene of a few dozen smooth blobs, which can be sampled anywhere.
struct Scene(Vec<Blob>);

impl Scene {
    fn new(seed: u32) -> Self {
        let u = |i| uniform(seed ^ 0xABCD, i);
        Self(
            (0..40)
                .map(|i| {
                    let height = 600.0 * u(4 * i) - 200.0;
                    (height, 240.0 * u(4 * i + 1) - 40.0, 200.0 * u(4 * i + 2) - 40.0, 2.5 + 8.0 * u(4 * i + 3))
                })
                .collect(),
        )
    }

    fn at(&self, x: f64, y: f64) -> f64 {
        let blob = |&(height, bx, by, s): &Blob| {
            let d2 = (x - bx) * (x - bx) + (y - by) * (y - by);
            if d2 > 25.0 * s * s { 0.0 } else { height * libm::exp(-d2 / (2.0 * s * s)) }
        };
        self.0.iter().map(blob).sum()
    }

    /// The scene moved by (dx, dy), with gain, offset and noise.
    fn frame(&self, dx: f64, dy: f64, gain: f64, offset: f64, sigma: f64, seed: u32) -> Vec<u16> {
        (0..W * H)
            .map(|i| {
                let v = offset + gain * self.at((i % W) as f64 - dx, (i / W) as f64 - dy) + sigma * noise(seed, i);
                libm::round(v).clamp(1.0, 16_382.0) as u16
            })
            .collect()
    }
}

fn settings(clip: Thresholds) -> ProfileSettings {
    ProfileSettings { width: W as u16, height: H as u16, reach: 16, clip, range: range() }
}

fn scan(frame: &[u16]) -> Vec<Region> {
    scan_above(frame, 5_100)
}

fn scan_above(frame: &[u16], hot: u16) -> Vec<Region> {
    let settings = Settings {
        width: W as u16,
        thresholds: Thresholds::new(hot, 1).unwrap(),
        connectivity: Connectivity::Eight,
        min_area: 2,
    };
    let (mut runs, mut slots) = (vec![Run::EMPTY; Scanner::runs(W as u16)], vec![Slot::EMPTY; 64]);
    let mut scanner = Scanner::new(&mut runs, &mut slots, settings).unwrap();
    frame.chunks(W).for_each(|row| scanner.push(row).unwrap());
    scanner.finish().regions().collect()
}
