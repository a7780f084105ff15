//! The measuring tools that place themselves, run on whole frames: with the memory they need, row by row.

use oddheat_core::Error;
use oddheat_core::measure::fit::Fit;
use oddheat_core::measure::{
    Comb, FoundComb, FoundRing, Lengthwise, Projection, RadiusCell, Registration, RingMemory, RingSearch, Shape,
};

/// The rows of a frame of counts, with their numbers.
pub fn rows(frame: &[u16], width: u16) -> impl Iterator<Item = (u16, &[u16])> {
    (0..).zip(frame.chunks_exact(usize::from(width)))
}

/// A ring between two radii (least inner and greatest outer one, pixels) whose edges are of so many counts over two
/// pixels, with the least memory.
///
/// # Errors
/// [`Error::OutOfRange`] for a frame or radii of a size that [`RingSearch`] does not take.
pub fn find_ring(frame: &[u16], width: u16, radii: (u16, u16), edge: u16) -> Result<Option<FoundRing>, Error> {
    let height = (frame.len() / usize::from(width)) as u16;
    let (least_radius, greatest_radius) = radii;
    let search = RingSearch { width, height, least_radius, greatest_radius, edge, dead: 0, saturated: u16::MAX };
    let mut memory = RingMemory {
        rows: &mut vec![0; 2 * usize::from(width)],
        votes: &mut vec![0; search.least_votes()],
        radii: &mut vec![RadiusCell::default(); usize::from(greatest_radius) + 2],
    };
    search.find(frame, &mut memory)
}

/// A comb in a box of a frame, at a pitch of at least 4 pixels.
///
/// # Errors
/// Why there is none.
///
/// # Panics
/// If the shape is no box of at least 16 × 16 pixels.
pub fn find_comb(frame: &[u16], width: u16, shape: Shape, lengthwise: Lengthwise) -> Fit<FoundComb> {
    let (x0, y0, x1, y1) = shape.bounds();
    let mut sums = vec![0; Comb::words((x1 - x0).max(y1 - y0) as u16 + 1)];
    let mut comb = Comb::new(&mut sums, shape, lengthwise).expect("a box of at least 16 × 16 pixels");
    rows(frame, width).for_each(|(y, row)| comb.add_row(y, row, 0, u16::MAX));
    comb.find(4)
}

/// The second of two boxes of a frame against the first, or against its mirror image.
///
/// # Errors
/// [`Error::ShapeOutside`] if a shape is no box.
pub fn register(
    frame: &[u16],
    width: u16,
    boxes: [Shape; 2],
    mirrored: bool,
    reach: u16,
) -> Result<Option<Registration>, Error> {
    let mut lists = boxes.map(|shape| {
        let (x0, y0, x1, y1) = shape.bounds();
        [x1 - x0, y1 - y0].map(|last| vec![0; last as usize + 1])
    });
    let [[a, b], [c, d]] = &mut lists;
    let mut parts = [Projection::new(a, b, boxes[0])?, Projection::new(c, d, boxes[1])?];
    for (y, row) in rows(frame, width) {
        parts.iter_mut().for_each(|part| part.add_row(y, row, 0, u16::MAX));
    }
    let [first, second] = &parts;
    Ok(first.register(second, mirrored, reach))
}
