//! The region scanner over made-up frames: noise of any density, and blobs that grow together.

use super::print::{Hash, Lines};
use super::random::XorShift;
use oddheat_core::radiometry::Thresholds;
use oddheat_core::regions::{
    Connectivity, Region, Run, Scanner, ScannerOf, Settings, Shape, ShapeReport, Sign, SlotOf,
};

/// Widest frame.
const WIDTH: usize = 160;
/// Most regions kept; several frames have more, so that weak ones are dropped.
const REGIONS: usize = 24;
/// Most blobs in a frame.
const BLOBS: usize = 12;

/// What fills a frame.
#[derive(Clone, Copy)]
enum Picture {
    /// Of 16 pixels about so many are hot and so many cold.
    Noise(u32, u32),
    /// So many cones of counts, half of them cold, on a slightly noisy ground.
    Blobs(usize),
}

/// A frame and how it is scanned.
struct Frame {
    width: u16,
    height: u16,
    picture: Picture,
    connectivity: Connectivity,
    min_area: u32,
    slots: usize,
}

const fn frame(width: u16, height: u16, picture: Picture, connectivity: Connectivity, more: (u32, usize)) -> Frame {
    Frame { width, height, picture, connectivity, min_area: more.0, slots: more.1 }
}

const FRAMES: [Frame; 14] = [
    frame(1, 1, Picture::Noise(8, 8), Connectivity::Eight, (0, 1)),
    frame(1, 40, Picture::Noise(6, 6), Connectivity::Eight, (1, REGIONS)),
    frame(160, 1, Picture::Noise(6, 6), Connectivity::Four, (1, REGIONS)),
    frame(37, 29, Picture::Noise(1, 1), Connectivity::Four, (1, REGIONS)),
    frame(37, 29, Picture::Noise(9, 2), Connectivity::Four, (3, 7)),
    frame(37, 29, Picture::Noise(2, 9), Connectivity::Eight, (3, 7)),
    frame(80, 60, Picture::Noise(5, 5), Connectivity::Four, (2, REGIONS)),
    frame(80, 60, Picture::Noise(8, 8), Connectivity::Eight, (1, 3)),
    frame(80, 60, Picture::Blobs(7), Connectivity::Eight, (4, REGIONS)),
    frame(120, 90, Picture::Blobs(12), Connectivity::Four, (1, REGIONS)),
    frame(160, 120, Picture::Blobs(3), Connectivity::Eight, (9, REGIONS)),
    frame(160, 120, Picture::Blobs(12), Connectivity::Eight, (9, 5)),
    frame(160, 120, Picture::Noise(0, 1), Connectivity::Eight, (1, REGIONS)),
    frame(160, 120, Picture::Noise(0, 0), Connectivity::Eight, (1, REGIONS)),
];

pub(super) fn run(lines: &mut Lines<'_>) {
    for (number, frame) in (1u32..).zip(&FRAMES) {
        scan(number, frame, lines);
    }
}

/// A frame of its own, so that its memory is given back before checks need theirs.
#[inline(never)]
fn scan(number: u32, frame: &Frame, lines: &mut Lines<'_>) {
    let mut random = XorShift::new(number);
    let middle = random.between(1_000, 60_000);
    let (hot, cold) = ((middle + random.between(0, 900)) as u16, (middle - random.between(0, 900)) as u16);
    let thresholds = Thresholds::new(hot, cold).unwrap_or(Thresholds::NONE);
    // Not as one tuple, which the compiler would build elsewhere on the stack first.
    let mut runs = [Run::EMPTY; Scanner::runs(WIDTH as u16)];
    let mut slots = [SlotOf::<Shape>::EMPTY; REGIONS];
    let (width, connectivity, min_area) = (frame.width, frame.connectivity, frame.min_area);
    let settings = Settings { width, thresholds, connectivity, min_area };
    let mut scanner = match ScannerOf::new(&mut runs, &mut slots[..frame.slots], settings) {
        Ok(scanner) => scanner,
        Err(error) => return lines.refused(error),
    };
    let blobs = blobs(frame, &mut random);
    let mut row = [0u16; WIDTH];
    let row = &mut row[..usize::from(width)];
    for y in 0..frame.height {
        match frame.picture {
            Picture::Noise(hots, colds) => noise(row, (hot, hots), (cold, colds), &mut random),
            Picture::Blobs(count) => draw(row, y, middle, &blobs[..count], &mut random),
        }
        if let Err(error) = scanner.push(row) {
            return lines.refused(error);
        }
    }
    let found = scanner.finish();
    let mut hash = Hash::EMPTY;
    found.regions().for_each(|region| fields(&region).iter().for_each(|&field| hash.word(field)));
    let mut shapes = Hash::EMPTY;
    found.detailed().for_each(|(_, shape)| describe(&shape, &mut shapes));
    let size = lines.begin("frame").number(number).number(frame.width).number(frame.height);
    size.word("found")
        .number(found.len() as u32)
        .word("dropped")
        .number(found.dropped())
        .hash(&hash)
        .word("shapes")
        .hash(&shapes)
        .end();
    // The strongest in the open, so that a difference can be looked at.
    for region in found.regions().take(2) {
        lines.begin("region").number(number).word(region.sign.key());
        fields(&region).iter().skip(1).for_each(|&field| {
            lines.number(field);
        });
        lines.end();
    }
}

/// Every field of a region, the sign first.
fn fields(region: &Region) -> [u32; 14] {
    // Named one by one, so that a new field is a compiler error here.
    let &Region {
        sign,
        area,
        x0,
        y0,
        x1,
        y1,
        peak,
        peak_x,
        peak_y,
        centroid_x,
        centroid_y,
        mean,
        strength,
        incomplete,
        touches_edge,
    } = region;
    let [x0, y0, x1, y1, peak, peak_x, peak_y, strength] =
        [x0, y0, x1, y1, peak, peak_x, peak_y, strength].map(u32::from);
    let (centroid_x, centroid_y) = (centroid_x.to_bits(), centroid_y.to_bits());
    let sign = u32::from(sign == Sign::Hot);
    let flags = u32::from(incomplete) | u32::from(touches_edge) << 1;
    [sign, area, x0, y0, x1, y1, peak, peak_x, peak_y, centroid_x, centroid_y, mean.to_bits(), strength, flags]
}

/// Every field of a shape but the direction, which is a float for display only.
fn describe(shape: &ShapeReport, hash: &mut Hash) {
    let &ShapeReport {
        standard_deviation,
        weighted_x,
        weighted_y,
        moment_xx,
        moment_yy,
        moment_xy,
        perimeter,
        holes,
        flank_mean,
    } = shape;
    for word in [standard_deviation.to_bits(), weighted_x.to_bits(), weighted_y.to_bits(), perimeter, holes] {
        hash.word(word);
    }
    for moment in [moment_xx, moment_yy, moment_xy] {
        hash.word(moment as u32);
        hash.word((moment >> 32) as u32);
    }
    hash.maybe(flank_mean.map(|mean| mean.to_bits()));
    hash.word(u32::from(shape.elongation_q8()));
}

fn noise(row: &mut [u16], (hot, hots): (u16, u32), (cold, colds): (u16, u32), random: &mut XorShift) {
    for pixel in row {
        let dice = (random.next() >> 8) % 16;
        let far = random.between(0, 900) as u16;
        *pixel = if dice < hots {
            hot.saturating_add(far)
        } else if dice < hots + colds {
            cold.saturating_sub(far)
        } else {
            // Both ends of what is neither hot nor cold occur.
            random.between(i32::from(cold), i32::from(hot)) as u16
        };
    }
}

/// Center column and row, slope in counts per pixel, and height in counts with its sign.
type Blob = (i32, i32, i32, i32);

fn blobs(frame: &Frame, random: &mut XorShift) -> [Blob; BLOBS] {
    core::array::from_fn(|i| {
        let (x, y) = (random.between(0, i32::from(frame.width)), random.between(0, i32::from(frame.height)));
        let (slope, height) = (random.between(40, 400), random.between(1_000, 4_000));
        (x, y, slope, if i % 2 == 0 { height } else { -height })
    })
}

fn draw(row: &mut [u16], y: u16, middle: i32, blobs: &[Blob], random: &mut XorShift) {
    for (pixel, x) in row.iter_mut().zip(0i32..) {
        let cone = |&(cx, cy, slope, height): &Blob| {
            let distance = x.abs_diff(cx).max(i32::from(y).abs_diff(cy)) as i32;
            (height.abs() - slope * distance).max(0) * height.signum()
        };
        let sum: i32 = blobs.iter().map(cone).sum();
        *pixel = (middle + sum + random.between(-30, 30)).clamp(0, 65_535) as u16;
    }
}
