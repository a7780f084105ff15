//! Any sequence of C calls with any arguments: nothing panics, guard words around the block stay, refused outputs stay.
#![no_main]

use arbitrary::Arbitrary;
use libfuzzer_sys::fuzz_target;
use oddheat::*;
use std::mem::{MaybeUninit, size_of};
use std::ptr;

#[derive(Arbitrary, Debug)]
enum Call {
    Thresholds(i32, i32),
    Start { time_ms: u32, view: u8, shutter: u8 },
    Rows(u8, u16),
    Regions(u8),
    Begin { kind: u8, conditions: Vec<(u8, i32)> },
    Place { role: u8, view: u8, shape: u8, x: u8, y: u8, a: u8, b: u8, e: u16 },
    Locate(u8, u8),
    Judge,
    Temperature(u32),
}

#[derive(Arbitrary, Debug)]
struct Input {
    width: u8,
    height: u8,
    regions: u8,
    shapes: u8,
    linear: (f64, f64),
    emissivity: u16,
    short_by: u8,
    calls: Vec<Call>,
}

const GUARD: u64 = 0xA5A5_5A5A_C3C3_3C3C;

fuzz_target!(|input: Input| {
    let mut config = MaybeUninit::<Config>::uninit();
    let (width, height) = (u16::from(input.width % 40), u16::from(input.height % 12));
    let size = size_of::<Config>() as u32;
    // SAFETY: the pointer is good; the config is initialized by the call.
    let mut config = unsafe {
        assert_eq!(oddheat_config_init_sized(config.as_mut_ptr(), size, ABI_VERSION, width, height), Status::Ok);
        config.assume_init()
    };
    config.regions_max = u16::from(input.regions % 9);
    config.shapes_max = u16::from(input.shapes % 5);
    config.scale = SCALE_LINEAR;
    (config.linear_counts_per_kelvin, config.linear_zero_celsius) = input.linear;
    config.emissivity_q15 = input.emissivity;
    let mut bytes = 0usize;
    // SAFETY: good pointers, here and below: locals of the stated sizes.
    if unsafe { oddheat_mem_size(&config, &mut bytes) } != Status::Ok {
        return;
    }
    let words = bytes / 8;
    let mut memory = vec![GUARD; words + 2];
    let mut device = ptr::null_mut();
    let offered = bytes.saturating_sub(usize::from(input.short_by % 4));
    let status = unsafe { oddheat_init(memory[1..].as_mut_ptr().cast(), offered, &config, &mut device) };
    if status != Status::Ok {
        assert!(device.is_null());
        return;
    }
    scan(&config, &input.calls);
    for call in input.calls {
        run(device, width, call);
    }
    assert_eq!((memory[0], memory[words + 1]), (GUARD, GUARD));
});

fn row(width: u16, y: u8, level: u16) -> Vec<u16> {
    (0..width).map(|x| level.wrapping_add(x * 37 ^ u16::from(y) * 91)).collect()
}

/// The calls that a scan with a finished table has too: what a device takes, it takes.
fn scan(config: &Config, calls: &[Call]) {
    let mut bytes = 0usize;
    let mut table = FinishedTable { words: [0; TABLE_WORDS] };
    // SAFETY: good pointers, here and below: locals of the stated sizes.
    unsafe {
        assert_eq!(oddheat_table_build(config, &mut table), Status::Ok);
        assert_eq!(oddheat_scan_mem_size(config, &mut bytes), Status::Ok);
    }
    let words = bytes / 8;
    let mut memory = vec![GUARD; words + 2];
    let mut scan = ptr::null_mut();
    let status = unsafe { oddheat_scan_init(memory[1..].as_mut_ptr().cast(), bytes, config, &mut scan) };
    assert_eq!(status, Status::Ok);
    for call in calls {
        unsafe {
            match *call {
                Call::Thresholds(hot, cold) => {
                    let (mut above, mut below) = (77, 77);
                    if oddheat_table_thresholds(&table, hot, cold, &mut above, &mut below) == Status::Ok {
                        assert_eq!(oddheat_scan_start(scan, above, below), Status::Ok);
                    } else {
                        assert_eq!((above, below), (77, 77));
                    }
                }
                Call::Rows(rows, level) => {
                    for y in 0..rows % 16 {
                        let row = row(config.width_px, y, level);
                        assert_eq!(oddheat_scan_row(scan, row.as_ptr(), row.len()), Status::Ok);
                    }
                }
                Call::Regions(room) => {
                    let mut out = vec![MaybeUninit::<Region>::zeroed().assume_init(); usize::from(room)];
                    let mut summary = Summary { regions_found: 77, regions_written: 77, regions_dropped: 77 };
                    let status = oddheat_scan_regions(scan, &table, out.as_mut_ptr(), out.len(), &mut summary);
                    assert!(status == Status::Ok && summary.regions_written <= summary.regions_found);
                }
                Call::Temperature(counts_q8) => {
                    let mut mk = 77;
                    if oddheat_table_temperature(&table, counts_q8, &mut mk) != Status::Ok {
                        assert_eq!(mk, 77);
                    }
                }
                _ => {}
            }
        }
    }
    assert_eq!((memory[0], memory[words + 1]), (GUARD, GUARD));
}

fn run(device: *mut Oddheat, width: u16, call: Call) {
    // SAFETY: good pointers: the device and locals of the stated sizes.
    unsafe {
        match call {
            Call::Thresholds(hot, cold) => {
                let _ = oddheat_set_thresholds(device, hot, cold);
            }
            Call::Start { time_ms, view, shutter } => {
                let (view, shutter) = (u32::from(view), u32::from(shutter));
                let frame = Frame { struct_size: size_of::<Frame>() as u32, time_ms, view, shutter, housing_mk: 0 };
                let _ = oddheat_start_frame(device, &frame);
            }
            Call::Rows(rows, level) => {
                for y in 0..rows % 16 {
                    let row = row(width, y, level);
                    let _ = oddheat_push_row(device, row.as_ptr(), row.len());
                }
            }
            Call::Regions(room) => {
                let mut out = vec![MaybeUninit::<Region>::zeroed().assume_init(); usize::from(room)];
                let mut summary = Summary { regions_found: 77, regions_written: 77, regions_dropped: 77 };
                if oddheat_regions(device, out.as_mut_ptr(), out.len(), &mut summary) == Status::Ok {
                    assert!(summary.regions_written <= summary.regions_found);
                } else {
                    assert_eq!(summary.regions_written, 77);
                }
            }
            Call::Begin { kind, conditions } => {
                let stated: Vec<Condition> = conditions
                    .iter()
                    .map(|&(condition, thousandths)| Condition { condition: u32::from(condition), thousandths })
                    .collect();
                let _ = oddheat_check_begin(device, u32::from(kind), stated.as_ptr(), stated.len());
            }
            Call::Place { role, view, shape, x, y, a, b, e } => {
                let place = Place {
                    struct_size: size_of::<Place>() as u32,
                    role: u32::from(role),
                    view: u32::from(view),
                    shape: u32::from(shape),
                    x_px: u16::from(x),
                    y_px: u16::from(y),
                    a_px: u16::from(a),
                    b_px: u16::from(b),
                    emissivity_q15: e,
                    emissivity_u_q15: e / 7,
                };
                let _ = oddheat_check_place(device, &place);
            }
            Call::Locate(role, view) => {
                let (mut found, mut x, mut y) = (77, 0, 0);
                let _ = oddheat_check_locate(device, u32::from(role), u32::from(view), &mut found, &mut x, &mut y);
            }
            Call::Judge => {
                let mut finding = MaybeUninit::<Finding>::zeroed().assume_init();
                finding.struct_size = size_of::<Finding>() as u32;
                if oddheat_check_judge(device, &mut finding) == Status::Ok {
                    let (mut text, mut needed) = ([0; 512], 0usize);
                    let status = oddheat_finding_text(
                        &finding,
                        LANGUAGE_ENGLISH,
                        UNIT_CELSIUS,
                        text.as_mut_ptr(),
                        512,
                        &mut needed,
                    );
                    assert_eq!(status, Status::Ok);
                    assert!(needed > 1 && text[511] == 0);
                }
            }
            Call::Temperature(counts_q8) => {
                let mut mk = 77;
                let _ = oddheat_temperature(device, counts_q8, &mut mk);
            }
        }
    }
}
