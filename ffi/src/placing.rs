//! Behind the C functions that find where a part is in a kept frame: a ring by its edges, a spot along a ring, parallel
//! lines, a twin; and a row of like items among regions.

use crate::convert;
use crate::device::{Device, Outcome};
use crate::metrology::estimated;
use crate::placing_types::{BLOBS_MAX, Comb, CombArea, CombLine, ItemRow, Pair, Ring, RingRange, Shift};
use crate::status::Status;
use crate::types::Region;
use oddheat_core::checks::{Check, Located, Role, Setup, View};
use oddheat_core::measure::{
    self, Blob, FoundComb, FoundRow, Lengthwise, LinePart, Projection, RadiusCell, RingMemory, RingSearch, Shape,
    find_row,
};

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

/// The rows of a kept frame, which must be as large as those of the device.
fn rows<'f>(setup: &Setup, frame: &'f [u16]) -> Outcome<impl Iterator<Item = (u16, &'f [u16])>> {
    let (width, height) = (usize::from(setup.width), usize::from(setup.height));
    if frame.len() != width * height {
        return Err(Status::ErrSize);
    }
    Ok((0..setup.height).zip(frame.chunks(width.max(1))))
}

/// A box that lies in the frames of a device.
fn placed(setup: &Setup, [x0, y0, x1, y1]: [u16; 4]) -> Outcome<Shape> {
    Ok(Shape::Box { x0, y0, x1, y1 }.placed_in(setup.width, setup.height)?)
}

fn lengthwise(area: &CombArea) -> Outcome<Lengthwise> {
    convert::lengthwise(u32::from(area.upright))
}

/// Words of scratch for the lines of a box.
pub(crate) fn comb_words(area: &CombArea) -> Outcome<usize> {
    let [width, height] = extent([area.x0_px, area.y0_px, area.x1_px, area.y1_px])?;
    if (1..4).contains(&area.least_pitch_px) {
        return Err(Status::ErrRange);
    }
    let across = if lengthwise(area)? == Lengthwise::Rows { height } else { width };
    Ok(measure::Comb::words(u16::try_from(across).map_err(|_| Status::ErrRange)?))
}

/// Finds parallel lines, or says why there are none.
pub(crate) fn find_comb(
    setup: &Setup,
    area: &CombArea,
    frame: &[u16],
    words: &mut [u32],
    out: &mut Comb,
) -> Outcome<()> {
    let shape = placed(setup, [area.x0_px, area.y0_px, area.x1_px, area.y1_px])?;
    let mut comb = measure::Comb::new(words, shape, lengthwise(area)?)?;
    for (y, row) in rows(setup, frame)? {
        comb.add_row(y, row, setup.dead_at_or_below, setup.saturated_at);
    }
    let mut found = FoundComb::EMPTY;
    comb.find_into(area.least_pitch_px, &mut found)?;
    (out.pitch_px, out.slant) = (estimated(found.pitch), estimated(found.slant));
    (out.confidence_per_mille, out.lines_count) = (u32::from(found.confidence), found.lines.len() as u32);
    out.lines = [CombLine::default(); _];
    for (to, from) in out.lines.iter_mut().zip(&found.lines) {
        let present = u32::from(from.present);
        *to = CombLine { place_px: from.place, contrast_counts: from.contrast, present, reserved: 0 };
    }
    Ok(())
}

/// Finds a row of like items among the boxes of regions.
pub(crate) fn find_items(regions: &[Region]) -> Outcome<Option<ItemRow>> {
    let mut blobs = [Blob::of_box(0, 0, 0, 0); BLOBS_MAX];
    let blobs = blobs.get_mut(..regions.len()).ok_or(Status::ErrTooMany)?;
    for (blob, region) in blobs.iter_mut().zip(regions) {
        *blob = Blob::of_box(region.x0_px, region.y0_px, region.x1_px, region.y1_px);
    }
    Ok(find_row(blobs).map(|FoundRow { first, step, places, filled, confidence }| ItemRow {
        first_x_px: first.0,
        first_y_px: first.1,
        step_x_px: estimated(step.0),
        step_y_px: estimated(step.1),
        places: u32::from(places),
        filled,
        confidence_per_mille: u32::from(confidence),
        reserved: 0,
    }))
}

/// Columns and rows of a box.
fn extent([x0, y0, x1, y1]: [u16; 4]) -> Outcome<[usize; 2]> {
    let along =
        |first: u16, last: u16| last.checked_sub(first).map(|last| usize::from(last) + 1).ok_or(Status::ErrRange);
    Ok([along(x0, x1)?, along(y0, y1)?])
}

/// Columns and rows of the boxes of a pair.
pub(crate) fn pair_size(pair: &Pair) -> Outcome<[usize; 2]> {
    extent([pair.x0_px, pair.y0_px, pair.x1_px, pair.y1_px])
}

/// Lays the second of a pair over the first. The sums are as long as [`pair_size`] says, columns and rows of either.
pub(crate) fn find_shift(
    setup: &Setup,
    pair: &Pair,
    frames: [&[u16]; 2],
    sums: [[&mut [u32]; 2]; 2],
) -> Outcome<Option<Shift>> {
    let Pair { x0_px, y0_px, x1_px, y1_px, second_x0_px, second_y0_px, .. } = *pair;
    let end = |first: u16, from: u16, to: u16| first.checked_add(to - from).ok_or(Status::ErrSize);
    let corner = [end(second_x0_px, x0_px, x1_px)?, end(second_y0_px, y0_px, y1_px)?];
    let boxes = [
        placed(setup, [x0_px, y0_px, x1_px, y1_px])?,
        placed(setup, [second_x0_px, second_y0_px, corner[0], corner[1]])?,
    ];
    let mirrored = convert::flag(u32::from(pair.mirrored))?;
    let summed = |shape: Shape, frame, [columns, of_rows]: [_; 2]| {
        let mut projection = Projection::new(columns, of_rows, shape)?;
        for (y, row) in rows(setup, frame)? {
            projection.add_row(y, row, setup.dead_at_or_below, setup.saturated_at);
        }
        Ok::<_, Status>(projection)
    };
    let ([first_frame, second_frame], [of_first, of_second]) = (frames, sums);
    let (first, second) = (summed(boxes[0], first_frame, of_first)?, summed(boxes[1], second_frame, of_second)?);
    Ok(first.register(&second, mirrored, pair.reach_px).map(|found| Shift {
        dx_q8: found.dx_q8,
        dy_q8: found.dy_q8,
        confidence_per_mille: u32::from(found.confidence),
    }))
}
