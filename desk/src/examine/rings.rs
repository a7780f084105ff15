//! Finds the rings that a recording asks for.
//!
//! *Why in the mean picture.* A ring is chosen by its edges, not by its temperature, so that measuring it in the same
//! frames
//! does not flatter the measurement. A ring that is not found leaves its part unplaced, which the check then says.

use super::average;
use crate::recording::{Frame, Recording, RingBy, RingToFind};
use crate::setup;
use crate::words::Words;
use oddheat_core::checks::{Place, Role, Setup, View};
use oddheat_core::measure::{FoundRing, RadiusCell, RingMemory, RingSearch, Shape};
use oddheat_core::radiometry::Emissivity;
use oddheat_core::{Error, Result};

/// Noises of a pixel that make an edge, and the least edge in K that is no column pattern (vehicle notes 1.3). A proposal.
const EDGE_NOISES: f64 = 5.0;
const LEAST_EDGE_K: f64 = 0.5;

/// What a search came to.
#[derive(Clone, Copy, Debug)]
pub struct RingFound {
    /// The part.
    pub role: Role,
    /// Its picture.
    pub view: View,
    /// The shape that was placed and the part of the circumference along which both edges were seen, in 1/1,000; `None` if
    /// no ring stood out.
    pub place: Option<(Place, u16)>,
}

/// Searches every ring in the mean picture of its view, then places what lies around one.
///
/// # Errors
/// Those of the search and of the scale.
pub(super) fn find(recording: &Recording, setup: &Setup) -> Result<Vec<RingFound>> {
    let mut edges = Vec::new();
    for ring in &recording.rings {
        if let RingBy::Edges { radii, .. } = ring.by {
            edges.push((ring, search(recording, setup, ring, radii)?));
        }
    }
    let placed = |ring: &RingToFind| {
        let own = |role: Role| edges.iter().find(|(other, _)| other.role == role && other.view == ring.view);
        let (shape, found) = match ring.by {
            RingBy::Edges { margin, .. } => own(ring.role)?.1.and_then(|found| Some((found.shape(margin)?, found)))?,
            RingBy::Around { ring, shares } => own(ring)?.1.map(|found| (around(&found, shares), found))?,
        };
        let shape = shape.placed_in(setup.width, setup.height).ok()?;
        let emissivity = Some((Emissivity::new(ring.emissivity).ok()?, ring.emissivity_u));
        Some((Place { role: ring.role, view: ring.view, shape, emissivity }, found.confidence))
    };
    Ok(recording.rings.iter().map(|ring| RingFound { role: ring.role, view: ring.view, place: placed(ring) }).collect())
}

/// A ring around the center of one that was found, its radii as shares of that one's outer edge.
fn around(found: &FoundRing, (inner, outer): (f64, f64)) -> Shape {
    let nearest = |q8: u32| ((q8 + 128) >> 8) as u16;
    let radius = |share: f64| libm::round(share * f64::from(found.outer_q8) / 256.0) as u16;
    Shape::Ring { x: nearest(found.x_q8), y: nearest(found.y_q8), inner: radius(inner), outer: radius(outer) }
}

fn search(
    recording: &Recording,
    setup: &Setup,
    ring: &RingToFind,
    (least_radius, greatest_radius): (u16, u16),
) -> Result<Option<FoundRing>> {
    let of_view: Vec<&Frame> = recording.frames.iter().filter(|frame| frame.view == ring.view).collect();
    let counts = average(&of_view);
    let search = RingSearch {
        width: setup.width,
        height: setup.height,
        least_radius,
        greatest_radius,
        edge: edge_counts(&counts, setup, Emissivity::new(ring.emissivity)?)?,
        dead: setup.dead_at_or_below,
        saturated: setup.saturated_at,
    };
    let mut memory = RingMemory {
        rows: &mut vec![0; 2 * usize::from(setup.width)],
        votes: &mut vec![0; search.least_votes()],
        radii: &mut vec![RadiusCell::default(); usize::from(greatest_radius) + 2],
    };
    search.find(&counts, &mut memory)
}

/// Counts that make an edge, by the slope of the scale where the picture's mean lies.
fn edge_counts(counts: &[u16], setup: &Setup, emissivity: Emissivity) -> Result<u16> {
    let equation = setup::equation(setup, Some(emissivity))?;
    let sum: u64 = counts.iter().map(|&count| u64::from(count)).sum();
    let mean = sum as f64 / counts.len().max(1) as f64;
    let level = equation.object(mean)?;
    let kelvin = (EDGE_NOISES * setup.inputs.netd_k).max(LEAST_EDGE_K);
    let edge = equation.counts(level + kelvin)? - mean;
    if edge.is_finite() { Ok(edge.abs().round().clamp(1.0, 60_000.0) as u16) } else { Err(Error::NoTemperature) }
}

/// One line for each ring that was searched.
pub(crate) fn ring_lines(rings: &[RingFound], words: &Words) -> Vec<String> {
    let line = |ring: &RingFound| {
        let side = if ring.view == View::Single {
            String::new()
        } else {
            (words.side)(&(words.language.view)(ring.view).to_string())
        };
        let part = format!("{}{side}", (words.language.role)(ring.role));
        match ring.place {
            Some((_, confidence)) => (words.ring_found)(&part, f64::from(confidence) / 10.0),
            None => (words.ring_not_found)(&part),
        }
    };
    rings.iter().map(line).collect()
}
