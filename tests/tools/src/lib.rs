//! Every measuring tool behind a C function of one frame, for `tests/measure_image.rs`.
//!
//! *Why.* The C interface does not offer all tools yet, so its own image does not link them. Here it is proved for all
//! that no panic
//! is reachable, and what they cost is counted. Memory that a device would lend is on the stack.

#![no_std]

use core::hint::black_box;
use oddheat_core::measure::fit::{self, Fit};
use oddheat_core::measure::{
    Above, Blob, Block, Change, Comb, Item, Lengthwise, Measurement, Moment, Polygon, Profile, Projection, RadiusCell,
    RingMemory, RingSearch, Sample, Shape, Sums, Tally, Trace, When, against_others, find_row,
};
use oddheat_core::measure::{InputUncertainty, Statistics};
use oddheat_core::radiometry::{Curve, Emissivity, Estimate, MeasurementEquation, Scale, Scene};

#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    unsafe extern "C" {
        /// Exists nowhere: if this is linked, a panic is reachable.
        fn oddheat_a_panic_is_reachable() -> !;
    }
    // SAFETY: never runs; the image that contains this call does not link.
    unsafe { oddheat_a_panic_is_reachable() }
}

const WIDTH: u16 = 160;
const HEIGHT: u16 = 120;
const PIXELS: usize = WIDTH as usize * HEIGHT as usize;
const WHOLE: Shape = Shape::Box { x0: 0, y0: 0, x1: WIDTH - 1, y1: HEIGHT - 1 };

fn rows(frame: &[u16]) -> impl Iterator<Item = (u16, &[u16])> {
    (0..HEIGHT).zip(frame.chunks_exact(usize::from(WIDTH)))
}

/// Counts what the shape covers, row by row.
fn walk(shape: Shape) {
    let mut pixels = 0;
    for y in 0..HEIGHT {
        for (start, end) in black_box(shape).spans(y) {
            pixels += u32::from(end - start);
        }
    }
    black_box(pixels);
}

/// Cools toward 300 by a tenth a step, with a ripple for noise.
fn cooling() -> impl Iterator<Item = (f64, f64)> + Clone {
    let fall = |height: &mut f64, i: u8| {
        *height *= 0.9;
        Some((f64::from(i), 300.0 + *height + f64::from(i % 3) * 0.05))
    };
    (0..64).scan(20.0, fall)
}

/// Parameter or reason, so that neither is optimized away.
fn keep<T>(fit: Fit<T>, value: fn(&T) -> f64) {
    black_box(fit.as_ref().map_or_else(|reason| f64::from(reason.code()), value));
}

macro_rules! tools {
    ($($(#[doc = $doc:literal])+ $name:ident($frame:ident) $body:block)+) => {$(
        $(#[doc = $doc])+
        /// # Safety
        /// `frame` points to 19,200 counts.
        #[unsafe(no_mangle)]
        pub unsafe extern "C" fn $name(frame: *const [u16; PIXELS]) {
            // SAFETY: the caller's promise.
            let $frame: &[u16] = unsafe { &*frame };
            $body
        }
    )+};
}

tools! {
    /// Tally of the whole frame.
    tool_tally(frame) {
        let mut tally = Tally::EMPTY;
        rows(frame).for_each(|(y, row)| tally.add_row(WHOLE, y, row, 0, u16::MAX));
        black_box(tally);
    }
    /// Exact sums of the whole frame.
    tool_sums(frame) {
        let mut sums = Sums::EMPTY;
        rows(frame).for_each(|(y, row)| sums.add_spans(&WHOLE.spans(y), row, 0, u16::MAX));
        black_box(sums);
    }
    /// Both, and the summary in kelvin with its budgets.
    tool_measurement(frame) {
        let mut measurement = Measurement::EMPTY;
        rows(frame).for_each(|(y, row)| measurement.add_row(WHOLE, y, row, 0, u16::MAX));
        measurement.end_frame(0);
        let statistics: Option<Statistics> = measurement.sums().statistics();
        black_box((statistics, measurement.median(), measurement.tally().majority()));
        let Ok(curve) = Curve::sakuma_hattori(9.37, 172.2, 410_000.0) else { return };
        let Ok(emissivity) = Emissivity::new(0.95) else { return };
        let Ok(equation) = MeasurementEquation::new(&Scale::Curve(curve), &Scene::new(emissivity)) else { return };
        let _ = black_box(measurement.summary(&equation, &InputUncertainty::HANDHELD, 0.02));
    }
    /// Spans of a ring.
    tool_ring(_frame) { walk(Shape::Ring { x: 80, y: 60, inner: 20, outer: 40 }); }
    /// Spans of a sector of it.
    tool_sector(_frame) { walk(Shape::Sector { x: 80, y: 60, inner: 20, outer: 40, index: 1, of: 8 }); }
    /// Spans of a rotated ellipse.
    tool_ellipse(_frame) { walk(Shape::Ellipse { x: 80, y: 60, axis_x: 40, axis_y: 20, across: 20 }); }
    /// Spans of a polygon.
    tool_polygon(_frame) {
        let corners = black_box([(10, 10), (150, 20), (120, 110), (20, 90)]);
        let Ok(polygon) = Polygon::placed_in(&corners, WIDTH, HEIGHT) else { return };
        black_box((0..HEIGHT).map(|y| polygon.spans(y).len()).sum::<usize>());
    }
    /// Area above a temperature, in mm².
    tool_above(frame) {
        let Ok(mut above) = Above::new(3_030, 3_040, 3_050) else { return };
        rows(frame).for_each(|(y, row)| above.add_row(WHOLE, y, row));
        let _ = black_box(above.area().square_mm(Estimate::new(0.5, 0.01), Estimate::new(3.0, 0.1)));
    }
    /// Before and after, in blocks of 8.
    tool_change(frame) {
        let Ok(change) = Change::new(WIDTH, HEIGHT, 3) else { return };
        let (mut blocks, mut out) = ([Block::EMPTY; 300], [0; 20]);
        for when in [When::Before, When::After] {
            for (y, row) in rows(frame) {
                let _ = change.add_row(&mut blocks, when, y, row, (0, u16::MAX));
            }
        }
        for row in 0..change.rows() {
            let _ = change.difference_row(&blocks, row, 3, &mut out);
        }
        black_box(out);
    }
    /// Profile of 150 pixels, three wide, with the fits of a line, an edge and a peak.
    tool_profile(frame) {
        let ends = black_box([(20 << 8, 10 << 8), (140 << 8, 100 << 8)]);
        let Ok(profile) = Profile::new(ends[0], ends[1], 3, WIDTH, HEIGHT) else { return };
        let mut samples = [Sample::EMPTY; 256];
        for (y, row) in rows(frame) {
            let _ = profile.add_row(&mut samples, y, row, 0, u16::MAX);
        }
        keep(fit::line(profile.points(&samples), 1.0), |line| line.at(3.0).value);
        keep(fit::edge(profile.points(&samples), 1.0), |edge| edge.place.value);
        keep(fit::parabola_peak(profile.points(&samples), 1.0), |peak| peak.place.value);
    }
    /// Gaussian over 25 points.
    tool_gaussian(_frame) {
        let points = (0..25u8).map(|i| (f64::from(i), 1.0 / (1.0 + (f64::from(i) - 12.0) * (f64::from(i) - 12.0) * 0.1)));
        keep(fit::gaussian_peak(points, 0.0, 0.01), |peak| peak.place.value);
    }
    /// Exponential over 64 points.
    tool_exponential(_frame) { keep(fit::exponential(cooling(), 0.05), |fit| fit.constant.value); }
    /// Decay over 64 points, with an uncertain base.
    tool_decay(_frame) { keep(fit::decay(cooling(), Estimate::new(300.0, 0.1), 0.05), |fit| fit.length.value); }
    /// Knee over 64 points.
    tool_knee(_frame) { keep(fit::knee(cooling(), 0.05), |knee| knee.place.value); }
    /// A thousand values in a trace of 64.
    tool_trace(_frame) {
        let mut moments = [Moment::default(); 64];
        let Ok(mut trace) = Trace::new(&mut moments) else { return };
        for i in 0..1_000u16 {
            let _ = trace.add(u32::from(i) * 100, i32::from(i));
        }
        black_box(trace.points().map(|(_, value)| value).sum::<f64>());
    }
    /// Comb over the whole frame, found or refused.
    tool_comb(frame) {
        let mut sums = [0; Comb::words(HEIGHT)];
        let Ok(mut comb) = Comb::new(&mut sums, WHOLE, Lengthwise::Rows) else { return };
        rows(frame).for_each(|(y, row)| comb.add_row(y, row, 0, u16::MAX));
        let found = comb.find(4);
        black_box(found.map_or_else(|reason| f64::from(reason.code()), |comb| comb.pitch.value + comb.angle()));
    }
    /// Halves of the frame as a mirrored pair, and a shape carried over.
    tool_pair(frame) {
        let (mut columns, mut sums) = ([[0; 80]; 2], [[0; 100]; 2]);
        let ([a, b], [c, d]) = (&mut columns, &mut sums);
        let Ok(mut first) = Projection::new(a, c, Shape::Box { x0: 0, y0: 10, x1: 79, y1: 109 }) else { return };
        let Ok(mut second) = Projection::new(b, d, Shape::Box { x0: 80, y0: 10, x1: 159, y1: 109 }) else { return };
        for (y, row) in rows(frame) {
            first.add_row(y, row, 0, u16::MAX);
            second.add_row(y, row, 0, u16::MAX);
        }
        let found = first.register(&second, true, 10);
        black_box(found.and_then(|found| found.carry(black_box(Shape::Spot { x: 30, y: 30, size: 3 }))));
    }
    /// Ring found in the frame, and its shape.
    tool_find_ring(frame) {
        let (mut rows, mut votes, mut radii) = ([0; 320], [0; 1_200], [RadiusCell::default(); 57]);
        let (least_radius, greatest_radius) = (10, 55);
        let search =
            RingSearch { width: WIDTH, height: HEIGHT, least_radius, greatest_radius, edge: 40, dead: 0, saturated: u16::MAX };
        let mut memory = RingMemory { rows: &mut rows, votes: &mut votes, radii: &mut radii };
        let found = search.find(frame, &mut memory);
        black_box(found.is_ok_and(|ring| ring.and_then(|ring| ring.shape(2)).is_some()));
    }
    /// Row found among 16 blobs.
    tool_find_row(_frame) {
        let blobs: [Blob; 16] =
            core::array::from_fn(|i| Blob { x: (i * 10) as f64, y: (i % 3) as f64, width: 5, height: 5 });
        black_box(find_row(black_box(&blobs)));
    }
    /// Twelve like items against the others; boxes in a row and bands.
    tool_like(_frame) {
        let items: [_; 12] = core::array::from_fn(|i| Some(Item { value: (i * i % 7) as f64, noise: 0.1 }));
        for i in 0..items.len() {
            black_box(against_others(black_box(&items), i));
        }
        let boxes = Shape::row_of((20, 20), (140, 30), black_box(12), (5, 5));
        black_box(boxes.chain(WHOLE.bands(black_box(3), Lengthwise::Columns)).map(Shape::area).sum::<u32>());
    }
}
