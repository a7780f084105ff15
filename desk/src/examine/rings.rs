//! Finds the rings that a recording asks for.
//!
//! *Why in the mean picture.* A ring is chosen by its edges, not by its temperature, so that measuring it in the same
//! frames
//! does not flatter the measurement. A ring that is not found leaves its part unplaced, which the check then says.

use super::average;
use crate::recording::{Frame, Recording, RingToFind};
use crate::setup;
use crate::words::Words;
use oddheat_core::checks::{Place, Role, Setup, View};
use oddheat_core::measure::{FoundRing, RadiusCell, RingMemory, RingSearch};
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

/// Searches every ring in the mean picture of its view.
///
/// # Errors
/// Those of the search and of the scale.
pub(super) fn find(recording: &Recording, setup: &Setup) -> Result<Vec<RingFound>> {
    recording.rings.iter().map(|ring| one(recording, setup, ring)).collect()
}

fn one(recording: &Recording, setup: &Setup, ring: &RingToFind) -> Result<RingFound> {
    let of_view: Vec<&Frame> = recording.frames.iter().filter(|frame| frame.view == ring.view).collect();
    let counts = average(&of_view);
    let emissivity = Emissivity::new(ring.emissivity)?;
    let edge = edge_counts(&counts, setup, emissivity)?;
    let found = search(&counts, setup, ring, edge)?;
    let place = found.and_then(|found| {
        let shape = found.shape(ring.margin)?.placed_in(setup.width, setup.height).ok()?;
        let emissivity = Some((emissivity, ring.emissivity_u));
        Some((Place { role: ring.role, view: ring.view, shape, emissivity }, found.confidence))
    });
    Ok(RingFound { role: ring.role, view: ring.view, place })
}

fn search(counts: &[u16], setup: &Setup, ring: &RingToFind, edge: u16) -> Result<Option<FoundRing>> {
    let search = RingSearch {
        width: setup.width,
        height: setup.height,
        least_radius: ring.radii.0,
        greatest_radius: ring.radii.1,
        edge,
        dead: setup.dead_at_or_below,
        saturated: setup.saturated_at,
    };
    let mut memory = RingMemory {
        rows: &mut vec![0; 2 * usize::from(setup.width)],
        votes: &mut vec![0; search.least_votes()],
        radii: &mut vec![RadiusCell::default(); usize::from(ring.radii.1) + 2],
    };
    search.find(counts, &mut memory)
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
