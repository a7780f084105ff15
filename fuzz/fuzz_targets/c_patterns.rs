//! The C calls that look for lines, rows and twins, and those for before/after and the local level, with any boxes, sizes and
//! counts: nothing panics, nothing beyond the stated sizes is written, refused outputs stay, and what is handed out is finite.
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

const PATTERN: u8 = 0xA5;

#[derive(Arbitrary, Debug)]
struct Input {
    size: [u8; 2],
    valid: [u16; 2],
    area: [u8; 6],
    pair: [u8; 8],
    boxes: Vec<[u8; 4]>,
    band: ([u8; 4], u8, u8, [u8; 2]),
    block: u8,
    side: u8,
    scratch: u16,
    counts: Vec<u16>,
    rows: Vec<(bool, u8, u8)>,
}

/// An output; nothing may be written to it if the call is refused, or finds nothing.
struct Out<T>(MaybeUninit<T>);

impl<T> Out<T> {
    fn new() -> Self {
        let mut out = MaybeUninit::uninit();
        // SAFETY: the bytes of a local.
        unsafe { ptr::write_bytes(out.as_mut_ptr(), PATTERN, 1) };
        Self(out)
    }

    fn at(&mut self) -> *mut T {
        self.0.as_mut_ptr()
    }

    /// What was written, if anything was to be; all `T` here are integers and doubles.
    fn read(&self, written: bool) -> Option<&T> {
        // SAFETY: every byte was written in `new`.
        let bytes = unsafe { std::slice::from_raw_parts(self.0.as_ptr().cast::<u8>(), size_of::<T>()) };
        assert!(written || bytes.iter().all(|&byte| byte == PATTERN));
        // SAFETY: initialized, and any bits are a `T`.
        written.then(|| unsafe { self.0.assume_init_ref() })
    }
}

fn searches(input: &Input, device: *mut Oddheat, frame: &[u16], scratch: &mut Memory) {
    let [x0_px, y0_px, x1_px, y1_px, upright, least] = input.area.map(u16::from);
    let area = CombArea { x0_px, y0_px, x1_px, y1_px, upright: upright % 3, least_pitch_px: least };
    let words = usize::from(input.scratch % 2_048);
    let (counts, length) = (frame.as_ptr(), frame.len());
    let mut comb = Out::<Comb>::new();
    // SAFETY: good pointers of the stated sizes, here and below.
    let status =
        unsafe { oddheat_find_comb(device, &raw const area, counts, length, scratch.start(), words, comb.at()) };
    if let Some(comb) = comb.read(status == Status::Ok) {
        assert!(comb.pitch_px.value.is_finite() && comb.slant.value.is_finite() && comb.lines_count <= 24);
    }
    let [x0_px, y0_px, x1_px, y1_px, second_x0_px, second_y0_px, mirrored, reach_px] = input.pair.map(u16::from);
    let mirrored = mirrored % 3;
    let pair = Pair { x0_px, y0_px, x1_px, y1_px, second_x0_px, second_y0_px, mirrored, reach_px };
    let (mut found, mut shift) = (Out::<u32>::new(), Out::<Shift>::new());
    let status = unsafe {
        let scratch = scratch.start();
        oddheat_find_shift(device, &raw const pair, counts, counts, length, scratch, words, found.at(), shift.at())
    };
    let found = found.read(status == Status::Ok).copied();
    shift.read(found == Some(1));
    let regions: Vec<Region> = input
        .boxes
        .iter()
        .map(|&[x0, y0, x1, y1]| Region {
            x0_px: x0.into(),
            y0_px: y0.into(),
            x1_px: x1.into(),
            y1_px: y1.into(),
            ..zeroed()
        })
        .collect();
    let (mut found, mut row) = (Out::<u32>::new(), Out::<ItemRow>::new());
    let status = unsafe { oddheat_find_items(regions.as_ptr(), regions.len(), found.at(), row.at()) };
    let found = found.read(status == Status::Ok).copied();
    if let Some(row) = row.read(found == Some(1)) {
        assert!(row.first_x_px.is_finite() && row.step_x_px.uncertainty.is_finite() && row.places >= 3);
    }
}

fn bands(input: &Input) {
    let ([x, y, a, b], side_by_side, count, last) = input.band;
    let tool = Tool {
        struct_size: size_of::<Tool>() as u32,
        shape: SHAPE_BOX,
        x_px: x.into(),
        y_px: y.into(),
        a_px: a.into(),
        b_px: b.into(),
        ..zeroed()
    };
    let mut tools = vec![zeroed::<Tool>(); usize::from(count)];
    let whole = |tools: &[Tool]| tools.iter().all(|tool| tool.x_px <= tool.a_px && tool.y_px <= tool.b_px);
    // SAFETY: good pointers of the stated sizes.
    unsafe {
        let status = oddheat_tool_bands(&raw const tool, (side_by_side % 3).into(), tools.as_mut_ptr(), tools.len());
        assert!(status != Status::Ok || whole(&tools));
        let [x, y] = last.map(u32::from);
        let status = oddheat_tool_row(&raw const tool, x * 257, y, tools.as_mut_ptr(), tools.len());
        assert!(status != Status::Ok || whole(&tools));
    }
}

fn over_time(input: &Input, config: &Config, row_of: &dyn Fn(u8) -> Vec<u16>) {
    let mut bytes = Out::<usize>::new();
    // SAFETY: good pointers of the stated sizes, here and below.
    let status = unsafe { oddheat_change_mem_size(config, input.block.into(), bytes.at()) };
    if let Some(&bytes) = bytes.read(status == Status::Ok) {
        let (mut memory, mut change) = (Memory::new(bytes), ptr::null_mut());
        let status =
            unsafe { oddheat_change_init(memory.start(), memory.bytes, config, input.block.into(), &raw mut change) };
        for &(after, y, length) in input.rows.iter().filter(|_| status == Status::Ok) {
            let row = row_of(length);
            let _ = unsafe { oddheat_change_row(change, after.into(), y.into(), row.as_ptr(), row.len()) };
            let mut out = row_of(length);
            let _ = unsafe { oddheat_change_read(change, y.into(), (length % 9).into(), out.as_mut_ptr(), out.len()) };
        }
    }
    let mut bytes = Out::<usize>::new();
    let status = unsafe { oddheat_local_mem_size(config, input.side.into(), bytes.at()) };
    if let Some(&bytes) = bytes.read(status == Status::Ok) {
        let (mut memory, mut local) = (Memory::new(bytes), ptr::null_mut());
        let status =
            unsafe { oddheat_local_init(memory.start(), memory.bytes, config, input.side.into(), &raw mut local) };
        for &(correct, y, length) in input.rows.iter().filter(|_| status == Status::Ok) {
            let mut row = row_of(length);
            let _ = unsafe { oddheat_local_row(local, row.as_ptr(), row.len()) };
            let level = if correct { 7_000 } else { u32::from(length) << 10 };
            let _ = unsafe { oddheat_local_correct(local, y.into(), level, row.as_mut_ptr(), row.len()) };
        }
    }
}

fuzz_target!(|input: Input| {
    let [width, height] = input.size.map(|size| u16::from(size % 96) + 1);
    let mut config = MaybeUninit::<Config>::uninit();
    // SAFETY: a local of the stated size.
    let mut config = unsafe {
        let size = size_of::<Config>() as u32;
        assert_eq!(oddheat_config_init_sized(config.as_mut_ptr(), size, ABI_VERSION, width, height), Status::Ok);
        config.assume_init()
    };
    (config.curve_a_um, config.curve_b_um_k, config.curve_c_counts) = (9.36, 178.0, 1e6);
    [config.dead_at_or_below_counts, config.saturated_at_counts] = input.valid;
    config.regions_max = 1;
    let count = |i: usize| input.counts.get(i % input.counts.len().max(1)).copied().unwrap_or(7_000);
    // Mostly of the right length.
    let row_of = |length: u8| (0..usize::from(if length < 200 { width } else { length.into() })).map(count).collect();
    let mut bytes = 0;
    // SAFETY: good pointers of the stated sizes.
    unsafe {
        if oddheat_mem_size(&raw const config, &raw mut bytes) != Status::Ok {
            return;
        }
        let (mut memory, mut device) = (Memory::new(bytes), ptr::null_mut());
        if oddheat_init(memory.start(), memory.bytes, &raw const config, &raw mut device) == Status::Ok {
            let frame: Vec<u16> = (0..usize::from(width) * usize::from(height)).map(count).collect();
            searches(&input, device, &frame, &mut Memory::new(4 * usize::from(input.scratch % 2_048)));
        }
    }
    bands(&input);
    over_time(&input, &config, &row_of);
});
