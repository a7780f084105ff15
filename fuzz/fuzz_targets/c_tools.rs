//! The C calls that measure, fit and show, with any shapes, lines, rows and numbers, in any order: nothing panics, nothing
//! beyond the stated sizes is written, refused outputs stay, and what is handed out is finite.
#![no_main]

mod memory;
mod zeroed;

use arbitrary::Arbitrary;
use libfuzzer_sys::fuzz_target;
use memory::Memory;
use oddheat::*;
use std::mem::{MaybeUninit, size_of};
use std::ptr;
use zeroed::zeroed;

const WIDTH: u16 = 24;
const HEIGHT: u16 = 12;
const TOOLS: u32 = 3;

#[derive(Arbitrary, Clone, Copy, Debug)]
struct Shape {
    index: u8,
    shape: u8,
    numbers: [u8; 4],
    axis: [i8; 2],
    sector: [u8; 2],
    emissivity: [u16; 2],
    above_mk: i32,
    above_u_mk: u32,
    vertices_count: u8,
    vertices: [[u8; 2]; POLYGON_VERTICES_MAX],
}

/// What is done to the three blocks.
#[derive(Arbitrary, Clone, Debug)]
enum Step {
    Place(Box<Shape>),
    TakeAway(u8),
    Row { first: u16, step: u8, width: Option<u8> },
    Frame { first: u16, step: u8 },
    EndFrame(u32),
    Clear,
    Ask { index: u8, statistic: u8 },
    Show { format: u8, palette: u8, room: u16, end: bool },
    Range(u16, u16),
    Trace(u32, i32),
}

#[derive(Arbitrary, Debug)]
struct Input {
    saturated: u16,
    dead: u16,
    line: [u16; 4],
    lines: u8,
    zoom: u8,
    smooth: bool,
    bins: u8,
    steps: Vec<Step>,
    points: Vec<(f64, f64)>,
    noise: f64,
    base: [f64; 2],
}

fn config(input: &Input) -> Config {
    let mut config = MaybeUninit::<Config>::uninit();
    // SAFETY: good pointers, here and below: locals of the stated sizes, or memory with room.
    let mut config = unsafe {
        let size = size_of::<Config>() as u32;
        assert_eq!(oddheat_config_init_sized(config.as_mut_ptr(), size, ABI_VERSION, WIDTH, HEIGHT), Status::Ok);
        config.assume_init()
    };
    (config.curve_a_um, config.curve_b_um_k, config.curve_c_counts) = (9.36, 178.0, 1e6);
    (config.dead_at_or_below_counts, config.saturated_at_counts) = (input.dead, input.saturated);
    config
}

fn tool(from: &Shape) -> Tool {
    let [x_px, y_px, a_px, b_px] = from.numbers.map(u16::from);
    let mut tool = Tool {
        struct_size: size_of::<Tool>() as u32,
        shape: u32::from(from.shape % 8),
        x_px,
        y_px,
        a_px,
        b_px,
        axis_x_px: from.axis[0].into(),
        axis_y_px: from.axis[1].into(),
        sector: from.sector[0].into(),
        sectors: from.sector[1].into(),
        emissivity_q15: from.emissivity[0],
        emissivity_u_q15: from.emissivity[1],
        above_mk: from.above_mk,
        above_u_mk: from.above_u_mk,
        vertices_count: from.vertices_count.into(),
        vertices: zeroed(),
    };
    for (to, [x, y]) in tool.vertices.iter_mut().zip(from.vertices) {
        *to = Vertex { x_px: u16::from(x % 32), y_px: u16::from(y % 16) };
    }
    tool
}

fn row(first: u16, step: u8, width: usize) -> Vec<u16> {
    (0..width as u16).map(|x| first.wrapping_add(x.wrapping_mul(step.into()))).collect()
}

struct Blocks {
    tools: *mut OddheatTools,
    profile: *mut OddheatProfile,
    display: *mut OddheatDisplay,
    trace: *mut OddheatTrace,
    zoom: usize,
}

impl Blocks {
    fn row(&self, counts: &[u16]) {
        unsafe {
            let _ = oddheat_tools_row(self.tools, counts.as_ptr(), counts.len());
            if !self.profile.is_null() {
                let _ = oddheat_profile_row(self.profile, counts.as_ptr(), counts.len());
            }
        }
    }

    fn ask(&self, index: u32, statistic: u32) {
        let mut measurement = Measurement { struct_size: size_of::<Measurement>() as u32, area_px: 77, ..zeroed() };
        let mut reading = Reading { struct_size: size_of::<Reading>() as u32, ..zeroed() };
        let (mut mean, mut area) = (77, Estimate { value: -1.0, uncertainty: -1.0 });
        let one = Estimate { value: 1.0, uncertainty: 0.1 };
        unsafe {
            match oddheat_tools_measurement(self.tools, index, &mut measurement) {
                Status::Ok => {
                    let m = measurement;
                    assert!(m.count_px > 0 && m.frames > 0 && m.minimum_q16 <= m.maximum_q16, "{m:?}");
                    assert!(m.deviation_q16 >= 0 && m.mean_u_q16 > 0 && m.area <= AREA_AT_LEAST, "{m:?}");
                }
                _ => assert_eq!((measurement.area_px, measurement.count_px), (77, 0)),
            }
            match oddheat_tools_reading(self.tools, index, statistic, &mut reading) {
                Status::Ok => assert!(reading.kelvin.is_finite() && reading.noise_k >= 0.0, "{reading:?}"),
                _ => assert_eq!(reading.kelvin, 0.0),
            }
            if oddheat_tools_frame_mean(self.tools, index, &mut mean) != Status::Ok {
                assert_eq!(mean, 77);
            }
            if oddheat_tools_area(self.tools, index, &one, &one, &mut area) == Status::Ok {
                assert!(area.value >= 0.0 && area.uncertainty >= 0.0);
            } else {
                assert_eq!(area.value, -1.0);
            }
        }
    }

    fn show(&self, format: u32, palette: u8, room: usize, end: bool) {
        let most = self.zoom * self.zoom * usize::from(WIDTH) * 3;
        let mut pixels = vec![0xA5u8; room.min(most + 8)];
        let mut rows = 77;
        let palette = match palette % 5 {
            0 => ptr::null(),
            1 => oddheat_palette_cividis(),
            2 => oddheat_palette_viridis(),
            3 => oddheat_palette_gray(),
            _ => oddheat_palette_vik(),
        };
        let counts = row(7_000, 31, usize::from(WIDTH));
        let status = unsafe {
            let (to, room) = (pixels.as_mut_ptr(), pixels.len());
            if end {
                oddheat_display_end_frame(self.display, palette, format, to, room, &mut rows)
            } else {
                oddheat_display_row(self.display, palette, format, counts.as_ptr(), counts.len(), to, room, &mut rows)
            }
        };
        match status {
            Status::Ok => assert!(rows as usize <= self.zoom),
            _ => assert!(rows == 77 && pixels.iter().all(|&byte| byte == 0xA5)),
        }
    }
}

/// The same steps for a tracker: shapes that were placed are the regions of its next frame.
fn follow(input: &Input, config: &Config) {
    let [reach_px, gate_px, born_after, born_within] = input.line.map(|number| number % 7);
    let lost_after = u16::from(input.bins);
    let struct_size = size_of::<TrackerConfig>() as u32;
    let settings = TrackerConfig { struct_size, tracks_max: 3, reach_px, gate_px, born_after, born_within, lost_after };
    let (mut bytes, mut tracker) = (0, ptr::null_mut());
    // SAFETY: good pointers, here and below: locals of the stated sizes, or memory with room.
    unsafe {
        assert_eq!(oddheat_tracker_mem_size(config, &settings, &mut bytes), Status::Ok);
        let mut memory = Memory::new(bytes);
        if oddheat_tracker_init(memory.start(), bytes, config, &settings, &mut tracker) != Status::Ok {
            assert!(tracker.is_null());
            return;
        }
        let mut regions: Vec<Region> = Vec::new();
        for step in &input.steps {
            match step {
                Step::Place(shape) => {
                    let [x0_px, y0_px, x1_px, y1_px] = shape.numbers.map(u16::from);
                    let [centroid_x_q16, centroid_y_q16] = [x0_px, y0_px].map(|side| u32::from(side) << 16);
                    let (area_px, sign) = (u32::from(shape.index), u16::from(shape.shape % 4));
                    let peak_counts = shape.emissivity[0];
                    let (peak_x_px, peak_y_px) = (x1_px, y1_px);
                    regions.push(Region {
                        area_px,
                        centroid_x_q16,
                        centroid_y_q16,
                        x0_px,
                        y0_px,
                        x1_px,
                        y1_px,
                        peak_counts,
                        peak_x_px,
                        peak_y_px,
                        strength_counts: shape.emissivity[1],
                        sign,
                        ..zeroed()
                    });
                }
                Step::Row { first, step, width } => {
                    let row = row(*first, *step, width.map_or(usize::from(WIDTH), usize::from));
                    let _ = oddheat_tracker_row(tracker, row.as_ptr(), row.len());
                }
                Step::Frame { first, step } => {
                    for y in 0..HEIGHT {
                        let row = row(first.wrapping_add(3 * y), *step, usize::from(WIDTH));
                        let _ = oddheat_tracker_row(tracker, row.as_ptr(), row.len());
                    }
                }
                Step::Range(cold, hot) => {
                    let _ = oddheat_tracker_set_clip(tracker, *hot, *cold);
                }
                Step::EndFrame(time_ms) => {
                    let mut tracked = Tracked { part_known: 77, ..Tracked::default() };
                    let status =
                        oddheat_tracker_frame(tracker, regions.as_ptr(), regions.len(), *time_ms, &mut tracked);
                    assert_eq!(status == Status::Ok, tracked.part_known < 2);
                    regions.clear();
                }
                Step::Ask { statistic, .. } => {
                    let (mut tracks, mut found) = ([zeroed::<Track>(); 2], 0);
                    let aside = u32::from(statistic % 2);
                    let status = oddheat_tracker_tracks(tracker, aside, tracks.as_mut_ptr(), 2, &mut found);
                    assert!(status == Status::Ok && found <= 3);
                    assert!(tracks.iter().take(found as usize).all(|track| track.id != 0 && track.stage != 0));
                }
                _ => {}
            }
        }
    }
}

fn fits(input: &Input) {
    let points: Vec<Point> = input.points.iter().map(|&(place, value)| Point { place, value }).collect();
    let (at, count, noise) = (points.as_ptr(), points.len().min(64), input.noise);
    let base = Estimate { value: input.base[0], uncertainty: input.base[1] };
    let answered = |status: Status, parts: &[Estimate]| {
        let sound = |part: &Estimate| part.value.is_finite() && part.uncertainty.is_finite();
        match status {
            Status::Ok => assert!(parts.iter().all(sound), "{parts:?}"),
            _ => assert!(parts.iter().all(|part| part.value == 0.0 && part.uncertainty == 0.0)),
        }
    };
    let (mut line, mut peak, mut bell, mut edge) = <(LineFit, Peak, Peak, Edge)>::default();
    let (mut exponential, mut decay, mut knee) = <(Exponential, Decay, Knee)>::default();
    unsafe {
        answered(oddheat_fit_line(at, count, noise, &mut line), &[line.level, line.slope]);
        answered(oddheat_fit_peak(at, count, noise, &mut peak), &[peak.place, peak.height, peak.width]);
        answered(oddheat_fit_gaussian(at, count, base.value, noise, &mut bell), &[bell.place, bell.height, bell.width]);
        answered(oddheat_fit_edge(at, count, noise, &mut edge), &[edge.place, edge.before, edge.behind]);
        let status = oddheat_fit_exponential(at, count, noise, &mut exponential);
        answered(status, &[exponential.end, exponential.amplitude, exponential.constant]);
        answered(oddheat_fit_decay(at, count, &base, noise, &mut decay), &[decay.height, decay.length]);
        answered(oddheat_fit_knee(at, count, noise, &mut knee), &[knee.place, knee.value, knee.before, knee.after]);
    }
    let items: Vec<Estimate> =
        points.iter().map(|point| Estimate { value: point.value, uncertainty: point.place }).collect();
    let mut likeness = Likeness::default();
    for index in 0..items.len().min(3) {
        unsafe {
            if oddheat_like_item(items.as_ptr(), items.len().min(65), index, &mut likeness) == Status::Ok {
                assert!(likeness.difference.is_finite(), "{likeness:?}");
            }
        }
    }
}

fuzz_target!(|input: Input| {
    fits(&input);
    let config = config(&input);
    let mut bytes = 0;
    let mut blocks = Blocks {
        tools: ptr::null_mut(),
        profile: ptr::null_mut(),
        display: ptr::null_mut(),
        trace: ptr::null_mut(),
        zoom: usize::from(input.zoom.clamp(1, 5)),
    };
    unsafe {
        assert_eq!(oddheat_tools_mem_size(TOOLS, &mut bytes), Status::Ok);
        let mut tools_memory = Memory::new(bytes);
        let (start, size) = (tools_memory.start(), tools_memory.bytes);
        assert_eq!(oddheat_tools_init(start, size, &config, ptr::null(), TOOLS, &mut blocks.tools), Status::Ok);

        let [x0_q8, y0_q8, x1_q8, y1_q8] = input.line.map(u32::from);
        let struct_size = size_of::<Line>() as u32;
        let line = Line { struct_size, lines: u32::from(input.lines % 6), x0_q8, y0_q8, x1_q8, y1_q8 };
        let mut profile_memory = None;
        if oddheat_profile_mem_size(&config, &line, &mut bytes) == Status::Ok {
            let memory = profile_memory.insert(Memory::new(bytes));
            let (start, size) = (memory.start(), memory.bytes);
            assert_eq!(oddheat_profile_init(start, size, &config, &line, &mut blocks.profile), Status::Ok);
        }

        assert_eq!(oddheat_trace_mem_size(16, &mut bytes), Status::Ok);
        let mut trace_memory = Memory::new(bytes);
        let (start, size) = (trace_memory.start(), trace_memory.bytes);
        assert_eq!(oddheat_trace_init(start, size, 16, &mut blocks.trace), Status::Ok);

        let mut shown = MaybeUninit::<DisplayConfig>::uninit();
        let size = size_of::<DisplayConfig>() as u32;
        let made = oddheat_display_config_init_sized(shown.as_mut_ptr(), size, ABI_VERSION, WIDTH);
        assert_eq!(made, Status::Ok);
        let mut shown = shown.assume_init();
        (shown.zoom, shown.smooth, shown.bins) =
            (blocks.zoom as u16, input.smooth.into(), u16::from(input.bins.max(2)));
        (shown.dead_at_or_below_counts, shown.saturated_at_counts) = (input.dead, input.saturated);
        assert_eq!(oddheat_display_mem_size(&shown, &mut bytes), Status::Ok);
        let mut display_memory = Memory::new(bytes);
        let (start, size) = (display_memory.start(), display_memory.bytes);
        let has_display = oddheat_display_init(start, size, &shown, &mut blocks.display) == Status::Ok;

        follow(&input, &config);
        for step in &input.steps {
            match step {
                Step::Place(shape) => {
                    let _ = oddheat_tools_place(blocks.tools, u32::from(shape.index % 4), &tool(shape));
                }
                Step::TakeAway(index) => {
                    let _ = oddheat_tools_place(blocks.tools, u32::from(*index % 4), ptr::null());
                }
                Step::Row { first, step, width } => {
                    blocks.row(&row(*first, *step, width.map_or(usize::from(WIDTH), usize::from)));
                }
                Step::Frame { first, step } => {
                    (0..HEIGHT).for_each(|y| blocks.row(&row(first.wrapping_add(3 * y), *step, usize::from(WIDTH))));
                }
                Step::EndFrame(time_ms) => {
                    let _ = oddheat_tools_end_frame(blocks.tools, *time_ms);
                }
                Step::Clear => assert_eq!(oddheat_tools_clear(blocks.tools), Status::Ok),
                Step::Ask { index, statistic } => blocks.ask(u32::from(*index % 4), u32::from(*statistic % 9)),
                Step::Show { format, palette, room, end } if has_display => {
                    blocks.show(u32::from(*format % 5), *palette, usize::from(*room), *end);
                }
                Step::Range(low, high) if has_display => {
                    let _ = oddheat_display_set_range(blocks.display, *low, *high);
                }
                Step::Show { .. } | Step::Range(..) => {}
                Step::Trace(time_ms, value) => {
                    let _ = oddheat_trace_add(blocks.trace, *time_ms, *value);
                }
            }
        }
        let mut points = [Point::default(); 32];
        let (mut count, mut averaged, mut noise) = (0, 0, 0.0);
        let status = oddheat_trace_points(blocks.trace, points.as_mut_ptr(), 16, &mut count, &mut averaged);
        assert!(status == Status::Ok && count <= 16 && averaged >= 1);
        if !blocks.profile.is_null()
            && oddheat_profile_points(blocks.profile, points.as_mut_ptr(), 32, &mut count, &mut averaged) == Status::Ok
        {
            let count = count.min(32);
            let before = points;
            if oddheat_points_to_kelvin(&config, ptr::null(), points.as_mut_ptr(), count, &mut noise) == Status::Ok {
                assert!(points[..count].iter().all(|point| point.value > 0.0) && noise > 0.0);
            } else {
                let same = |(a, b): (&Point, &Point)| a.value == b.value;
                assert!(points.iter().zip(&before).all(same));
            }
        }
    }
});
