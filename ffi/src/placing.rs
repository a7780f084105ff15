//! Behind the C functions that find where a part is in a kept frame: a ring by its edges, a spot along a ring.

use crate::device::{Device, Outcome};
use crate::placing_types::{Ring, RingRange};
use crate::status::Status;
use oddheat_core::checks::{Check, Located, Role, View};
use oddheat_core::measure::{LinePart, RadiusCell, RingMemory, RingSearch};

/// The search that a range of radii and the device's frames make.
pub(crate) fn search(device: &Device<'_>, range: &RingRange) -> RingSearch {
    let setup = &device.head.setup;
    RingSearch {
        width: setup.width,
        height: setup.height,
        least_radius: range.least_radius_px,
        greatest_radius: range.greatest_radius_px,
        edge: range.edge_counts,
        dead: setup.dead_at_or_below,
        saturated: setup.saturated_at,
    }
}

/// Finds a ring; nothing is known of it if none stands out.
pub(crate) fn find_ring(search: &RingSearch, frame: &[u16], memory: &mut RingMemory<'_>) -> Outcome<Option<Ring>> {
    let found = search.find(frame, memory)?;
    Ok(found.map(|ring| Ring {
        x_q8: ring.x_q8,
        y_q8: ring.y_q8,
        inner_q8: ring.inner_q8,
        outer_q8: ring.outer_q8,
        hotter: u16::from(ring.hotter),
        confidence_per_mille: ring.confidence,
    }))
}

/// Searches an area of the check under way along its ring.
pub(crate) fn locate_along(
    device: &mut Device<'_>,
    (area, view): (Role, View),
    frame: &[u16],
    line: &mut [LinePart],
    excess: &mut [i32],
) -> Outcome<Located> {
    let mut check = Check::resume(&mut device.head.check, device.shapes).ok_or(Status::ErrOrder)?;
    Ok(check.locate_along(area, view, frame, line, excess)?)
}

/// What a search for a ring is lent, in 32-bit words: two rows, the least votes, a cell for each radius.
pub(crate) const fn ring_words(search: &RingSearch) -> [usize; 3] {
    let cells = search.greatest_radius as usize + 2;
    [search.width as usize, search.least_votes().div_ceil(2), cells * size_of::<RadiusCell>().div_ceil(4)]
}
