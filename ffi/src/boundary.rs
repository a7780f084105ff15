//! The exported functions, and every `unsafe` of the crate.
//!
//! Each function checks its pointers, turns them into references for the length of the call and hands over to
//! [`crate::device`]. What the caller must guarantee is the same everywhere: a pointer that is not NULL points to
//! memory of the stated size that nothing else writes during the call.

use crate::convert;
use crate::device::{Device, Head, MAGIC, Outcome, Sizes};
use crate::status::{self, Status};
use crate::types::{
    ABI_VERSION, Condition, Config, Finding, Frame, LANGUAGE_ENGLISH, MEM_ALIGN, MEM_HEAD, MEM_PER_COLUMN,
    MEM_PER_REGION, MEM_PER_SHAPE, Place, Region, Summary, UNIT_CELSIUS, UNIT_FAHRENHEIT,
};
use core::ffi::{c_char, c_void};
use core::mem::{align_of, size_of};
use core::ptr::NonNull;
use core::slice;
use oddheat_core::checks::{self, Kind, Located, Role, View};
use oddheat_core::regions::{self, Run, Scanner};
use oddheat_core::units::RowKelvin;
use oddheat_core::wording::{self, Language, TemperatureUnit};

/// A device. Lives at the start of the caller's block; never dereference it.
pub struct Oddheat {
    _private: [u8; 0],
}

// The header's constants, on every target. Arrays follow the head in the order regions, shapes, runs, so that each is
// aligned: the head is a multiple of 8 bytes, and so are the first two entry sizes.
const _: () = {
    assert!(size_of::<Head>() <= MEM_HEAD && align_of::<Head>() <= MEM_ALIGN && MEM_HEAD.is_multiple_of(8));
    assert!(size_of::<regions::Slot>() <= MEM_PER_REGION && MEM_PER_REGION.is_multiple_of(8));
    assert!(size_of::<checks::Slot>() <= MEM_PER_SHAPE && MEM_PER_SHAPE.is_multiple_of(8));
    assert!(align_of::<regions::Slot>() <= 8 && align_of::<checks::Slot>() <= 8);
    assert!(2 * size_of::<Run>() <= MEM_PER_COLUMN);
};

/// Runs a body that may fail and returns its status.
fn status(body: impl FnOnce() -> Outcome<()>) -> Status {
    match body() {
        Ok(()) => Status::Ok,
        Err(status) => status,
    }
}

/// A pointer that is neither NULL nor misaligned.
fn checked<T>(pointer: *mut T) -> Outcome<NonNull<T>> {
    let pointer = NonNull::new(pointer).ok_or(Status::ErrNull)?;
    if pointer.is_aligned() { Ok(pointer) } else { Err(Status::ErrMemAlign) }
}

/// # Safety
/// As in the module's documentation, for the lifetime `'a`.
unsafe fn shared<'a, T>(pointer: *const T) -> Outcome<&'a T> {
    // SAFETY: not NULL and aligned; the caller vouches for the memory.
    checked(pointer.cast_mut()).map(|pointer| unsafe { pointer.as_ref() })
}

/// # Safety
/// As in the module's documentation, for the lifetime `'a`.
unsafe fn exclusive<'a, T>(pointer: *mut T) -> Outcome<&'a mut T> {
    // SAFETY: not NULL and aligned; the caller vouches for the memory.
    checked(pointer).map(|mut pointer| unsafe { pointer.as_mut() })
}

/// An array from C. NULL is allowed with length 0 only.
///
/// # Safety
/// As in the module's documentation, for the lifetime `'a`.
unsafe fn array<'a, T>(pointer: *const T, length: usize) -> Outcome<&'a [T]> {
    if length == 0 {
        return Ok(&[]);
    }
    let pointer = checked(pointer.cast_mut())?;
    within_address_space::<T>(length)?;
    // SAFETY: not NULL, aligned, not longer than memory can be; the caller vouches for the rest.
    Ok(unsafe { slice::from_raw_parts(pointer.as_ptr(), length) })
}

/// The same, to write to.
///
/// # Safety
/// As in the module's documentation, for the lifetime `'a`.
unsafe fn array_mut<'a, T>(pointer: *mut T, length: usize) -> Outcome<&'a mut [T]> {
    if length == 0 {
        return Ok(&mut []);
    }
    let pointer = checked(pointer)?;
    within_address_space::<T>(length)?;
    // SAFETY: not NULL, aligned, not longer than memory can be; the caller vouches for the rest.
    Ok(unsafe { slice::from_raw_parts_mut(pointer.as_ptr(), length) })
}

fn within_address_space<T>(length: usize) -> Outcome<()> {
    match length.checked_mul(size_of::<T>()) {
        Some(bytes) if isize::try_from(bytes).is_ok() => Ok(()),
        _ => Err(Status::ErrSize),
    }
}

/// Offsets of the arrays behind the head.
fn offsets(sizes: Sizes) -> (usize, usize, usize) {
    let shapes = MEM_HEAD + sizes.regions as usize * size_of::<regions::Slot>();
    (MEM_HEAD, shapes, shapes + sizes.shapes as usize * size_of::<checks::Slot>())
}

/// The parts of a block.
///
/// # Safety
/// `block` is aligned, as large as `sizes` need, and its contents were initialized with these sizes.
unsafe fn parts<'m>(block: *mut u8, sizes: Sizes) -> Device<'m> {
    let (regions, shapes, runs) = offsets(sizes);
    // SAFETY: by the function's contract the parts lie inside the block, are initialized and do not overlap.
    unsafe {
        Device {
            head: &mut *block.cast(),
            regions: slice::from_raw_parts_mut(block.add(regions).cast(), sizes.regions as usize),
            shapes: slice::from_raw_parts_mut(block.add(shapes).cast(), sizes.shapes as usize),
            runs: slice::from_raw_parts_mut(block.add(runs).cast(), sizes.runs as usize),
        }
    }
}

/// The device behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`oddheat_init`].
unsafe fn device<'m>(handle: *mut Oddheat) -> Outcome<Device<'m>> {
    let head = checked(handle.cast::<Head>())?;
    // SAFETY: aligned, and the caller vouches for the memory; only these two plain integers are read before the check.
    let (magic, sizes) = unsafe { ((*head.as_ptr()).magic, (*head.as_ptr()).sizes) };
    if magic != MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that oddheat_init set the block up with these sizes.
    Ok(unsafe { parts(head.as_ptr().cast(), sizes) })
}

fn sizes(config: &Config) -> Outcome<Sizes> {
    convert::sized::<Config>(config.struct_size)?;
    if config.abi_version >> 16 != ABI_VERSION >> 16 || config.abi_version & 0xFFFF > ABI_VERSION & 0xFFFF {
        return Err(Status::ErrAbi);
    }
    let regions = if config.regions_max == 0 { 32 } else { config.regions_max };
    if config.width_px == 0 || config.height_px == 0 || regions > 32_766 {
        return Err(Status::ErrRange);
    }
    let runs = Scanner::runs(config.width_px) as u32;
    Ok(Sizes { runs, regions: u32::from(regions), shapes: u32::from(config.shapes_max) })
}

/// Bytes for these sizes, a multiple of 8; the same as the header's ODDHEAT_MEM_SIZE.
fn bytes(sizes: Sizes) -> usize {
    let (regions, shapes, columns) = (sizes.regions as usize, sizes.shapes as usize, sizes.runs as usize / 2);
    (MEM_HEAD + regions * MEM_PER_REGION + shapes * MEM_PER_SHAPE + columns * MEM_PER_COLUMN).next_multiple_of(8)
}

/// Version of the ABI this library was built with: major << 16 | minor.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_abi_version() -> u32 {
    ABI_VERSION
}

/// Version of the library: major << 16 | minor << 8 | patch.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_version() -> u32 {
    const fn part(text: &str) -> u32 {
        let (mut value, mut i) = (0, 0);
        let bytes = text.as_bytes();
        while let Some((digit, _)) = bytes.split_at(i).1.split_first() {
            value = value * 10 + (*digit - b'0') as u32;
            i += 1;
        }
        value
    }
    const VERSION: u32 = part(env!("CARGO_PKG_VERSION_MAJOR")) << 16
        | part(env!("CARGO_PKG_VERSION_MINOR")) << 8
        | part(env!("CARGO_PKG_VERSION_PATCH"));
    VERSION
}

/// Fills *config with defaults for a width_px by height_px sensor. Call it through oddheat_config_init(), which passes
/// the sizes and versions of the header.
///
/// ERR_NULL, ERR_MEM_ALIGN; ERR_UNSUPPORTED or ERR_ABI if header and library differ.
/// Context: any thread, interrupts included. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_config_init_sized(
    config: *mut Config,
    struct_size: u32,
    abi_version: u32,
    width_px: u16,
    height_px: u16,
) -> Status {
    status(|| {
        let config = checked(config)?;
        convert::sized::<Config>(struct_size)?;
        let defaults = Config { struct_size, abi_version, width_px, height_px, ..Config::DEFAULT };
        sizes(&Config { width_px: 1, height_px: 1, ..defaults })?;
        // SAFETY: not NULL, aligned; the caller vouches for the memory, which need not be initialized.
        unsafe { config.write(defaults) };
        Ok(())
    })
}

/// Bytes of memory a device with these settings needs; the same as ODDHEAT_MEM_SIZE(width_px, regions_max, shapes_max).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_UNSUPPORTED, ERR_ABI. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_mem_size(config: *const Config, out_bytes: *mut usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (shared(config)?, exclusive(out_bytes)?) };
        *out = bytes(sizes(config)?);
        Ok(())
    })
}

/// Builds a device in mem. The config is copied. mem stays the caller's and must outlive the device; there is nothing
/// to free. Between calls the block may be moved; the handle is its address.
///
/// On error *out_device is untouched and what mem holds is undefined.
///
/// As oddheat_mem_size(), plus ERR_MEM_TOO_SMALL, and ERR_NO_TEMPERATURE if no count means a temperature in this scene.
/// Context: not from an interrupt. Cost: 257 logarithms and one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    out_device: *mut *mut Oddheat,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (shared(config)?, exclusive(out_device)?) };
        let sizes = sizes(config)?;
        let block = checked(mem.cast::<Head>())?;
        if mem_size < bytes(sizes) {
            return Err(Status::ErrMemTooSmall);
        }
        convert::setup(config)?;
        let start = block.as_ptr().cast::<u8>();
        let (regions, shapes, runs) = offsets(sizes);
        // SAFETY: the block is aligned and large enough (checked above) and the caller's to give; the offsets keep the
        // alignment of each array (asserted above). Every byte that `parts` hands out is written first.
        let mut device = unsafe {
            block.write(Head::EMPTY);
            for i in 0..sizes.regions as usize {
                start.add(regions).cast::<regions::Slot>().add(i).write(regions::Slot::EMPTY);
            }
            for i in 0..sizes.shapes as usize {
                start.add(shapes).cast::<checks::Slot>().add(i).write(checks::Slot::EMPTY);
            }
            for i in 0..sizes.runs as usize {
                start.add(runs).cast::<Run>().add(i).write(Run::EMPTY);
            }
            parts(start, sizes)
        };
        device.set_up(config)?;
        device.head.sizes = sizes;
        device.head.magic = MAGIC;
        *out = start.cast();
        Ok(())
    })
}

/// Sets what counts as hot and as cold from the next frame on: object temperatures in mK, 0 = do not look.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE (also if cold_below_mk exceeds hot_above_mk).
/// Context: one thread per device. Cost: two bisections of the table.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_set_thresholds(device: *mut Oddheat, hot_above_mk: i32, cold_below_mk: i32) -> Status {
    // SAFETY: the caller vouches for the handle.
    status(|| unsafe { self::device(device) }?.set_thresholds(hot_above_mk, cold_below_mk))
}

/// Starts a frame. Needed before the first row while a check is under way; without one, info may be NULL and the call
/// may be left out.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_UNSUPPORTED, ERR_NOT_IN_CHECK, ERR_TIME, ERR_ORDER if the
/// frame before still wants rows. Context: one thread per device. Cost: one pass over the region table.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_start_frame(device: *mut Oddheat, info: *const Frame) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle.
        let mut device = unsafe { self::device(device) }?;
        let info = if info.is_null() {
            None
        } else {
            // SAFETY: not NULL; the caller vouches for it.
            Some(convert::frame(unsafe { shared(info) }?)?)
        };
        device.start_frame(info)
    })
}

/// Takes the next row of counts, top row first; after height_px rows the frame is complete.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless width_px is the config's, ERR_ORDER if a check is under way
/// and no frame was started. Context: one thread per device. Cost: linear in the row; see the footprint table.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_push_row(device: *mut Oddheat, counts: *const u16, width_px: usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let (mut device, row) = unsafe { (self::device(device)?, array(counts, width_px)?) };
        device.push_row(row)
    })
}

/// Regions of the frame completed last, strongest first: by counts beyond the threshold, then by raster position of
/// the peak. Writes up to regions_cap of them; regions may be NULL if regions_cap is 0.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_ORDER inside a frame.
/// Context: one thread per device. Cost: n log n in the regions.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_regions(
    device: *mut Oddheat,
    regions: *mut Region,
    regions_cap: usize,
    out_summary: *mut Summary,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the outputs, which must not overlap the block.
        let (mut device, out, summary) =
            unsafe { (self::device(device)?, array_mut(regions, regions_cap)?, exclusive(out_summary)?) };
        let (found, dropped) = device.regions(|i, region| {
            if let Some(out) = out.get_mut(i) {
                *out = region;
            }
        })?;
        let written = (found as usize).min(regions_cap) as u32;
        *summary = Summary { regions_found: found, regions_written: written, regions_dropped: dropped };
        Ok(())
    })
}

/// Object temperature in mK of a count with eight fractional bits (counts times 256).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_NO_TEMPERATURE. Context: any, but not during another call on this device.
/// Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_temperature(device: *mut Oddheat, counts_q8: u32, out_mk: *mut i32) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (device, out) = unsafe { (self::device(device)?, exclusive(out_mk)?) };
        *out = device.temperature(counts_q8)?;
        Ok(())
    })
}

/// Converts count pixels to kelvin times 32. 0 means below range and 65535 above range: no temperature.
/// counts and out_kelvin_q5 must not overlap.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE. Context: any, but not during another call on this device.
/// Cost: one multiplication a pixel.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_kelvin_row(
    device: *mut Oddheat,
    counts: *const u16,
    count: usize,
    out_kelvin_q5: *mut u16,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers; RowKelvin is a transparent u16.
        let (device, counts, out) = unsafe {
            (self::device(device)?, array(counts, count)?, array_mut(out_kelvin_q5.cast::<RowKelvin>(), count)?)
        };
        device.kelvin_row(counts, out)
    })
}

/// Begins a check under these conditions; ends the one before. What is not stated is unknown, not "no".
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_MEM_TOO_SMALL if shapes_max is 0.
/// Context: one thread per device. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_check_begin(
    device: *mut Oddheat,
    kind: u32,
    conditions: *const Condition,
    condition_count: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut device, stated) = unsafe { (self::device(device)?, array(conditions, condition_count)?) };
        device.begin_check(convert::code(Kind::from_code, kind)?, &convert::conditions(stated)?)
    })
}

/// Places a shape, or moves the one with the same role and view.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_UNSUPPORTED, ERR_RANGE, ERR_NOT_IN_CHECK, ERR_SIZE if it does not lie
/// inside the image, ERR_MEM_FULL, ERR_ORDER inside a frame or without a check.
/// Context: one thread per device. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_check_place(device: *mut Oddheat, place: *const Place) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut device, place) = unsafe { (self::device(device)?, shared(place)?) };
        device.place(convert::place(place)?)
    })
}

/// Searches a placed area for the strongest region of the frame completed last and places spot and surround on it.
/// *out_found becomes 1, and x and y its pixel, or 0 if there is none. Feed other frames afterwards.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_NOT_IN_CHECK, ERR_MEM_FULL, ERR_ORDER inside a frame, without
/// a check, or if the area is not placed. Context: one thread per device. Cost: n log n in the regions.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_check_locate(
    device: *mut Oddheat,
    role: u32,
    view: u32,
    out_found: *mut u32,
    out_x_px: *mut u16,
    out_y_px: *mut u16,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut device, found, x, y) =
            unsafe { (self::device(device)?, exclusive(out_found)?, exclusive(out_x_px)?, exclusive(out_y_px)?) };
        let view = if view == 0 { View::Single } else { convert::code(View::from_code, view)? };
        match device.locate(convert::code(Role::from_code, role)?, view)? {
            Located::At { x: column, y: row } => (*found, *x, *y) = (1, column, row),
            Located::Nothing => *found = 0,
        }
        Ok(())
    })
}

/// Judges what was fed so far. The check can go on afterwards. Set out_finding->struct_size first.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_UNSUPPORTED, ERR_ORDER inside a frame or without a check.
/// Context: one thread per device. Cost: some thousand floating-point operations, in software where there is no unit.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_check_judge(device: *mut Oddheat, out_finding: *mut Finding) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut device, out) = unsafe { (self::device(device)?, exclusive(out_finding)?) };
        convert::sized::<Finding>(out.struct_size)?;
        let mut finding = oddheat_core::finding::Finding::new(Kind::TireLeak);
        device.judge(&mut finding)?;
        convert::finding(&finding, out);
        Ok(())
    })
}

/// A finding in words: UTF-8, NUL-terminated, cut if text_cap is too small. *out_needed is the room for all of it, NUL
/// included. text may be NULL if text_cap is 0.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_RANGE for a code, language or unit that does not exist.
/// Context: any. Cost: linear in the text. An image that does not call it does not contain the text.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_finding_text(
    finding: *const Finding,
    language: u32,
    unit: u32,
    text: *mut c_char,
    text_cap: usize,
    out_needed: *mut usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (from, text, needed) =
            unsafe { (shared(finding)?, array_mut(text.cast::<u8>(), text_cap)?, exclusive(out_needed)?) };
        let (language, unit) = (self::language(language)?, self::unit(unit)?);
        let mut finding = oddheat_core::finding::Finding::new(Kind::TireLeak);
        convert::finding_from(from, &mut finding)?;
        *needed = terminated(text, |body| wording::finding_text(language, &finding, unit, body));
        Ok(())
    })
}

/// What a check needs, in words: set-up, cautions, conditions, what to aim at; with its limits and their sources if
/// with_limits is 1. Text and out_needed as in oddheat_finding_text().
///
/// ERR_NULL, ERR_RANGE. Context: any. Cost: linear in the text.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_brief_text(
    kind: u32,
    language: u32,
    unit: u32,
    with_limits: u32,
    text: *mut c_char,
    text_cap: usize,
    out_needed: *mut usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (text, needed) = unsafe { (array_mut(text.cast::<u8>(), text_cap)?, exclusive(out_needed)?) };
        let (language, unit) = (self::language(language)?, self::unit(unit)?);
        let kind = convert::code(Kind::from_code, kind)?;
        *needed = terminated(text, |body| wording::brief_text(language, kind, unit, with_limits != 0, body));
        Ok(())
    })
}

/// English text for a status, static storage, never NULL. An image that does not call it does not contain the text.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_status_text(status: i32) -> *const c_char {
    status::text(status).as_ptr()
}

fn language(language: u32) -> Outcome<&'static Language> {
    match language {
        LANGUAGE_ENGLISH => Ok(&wording::ENGLISH),
        _ => Err(Status::ErrRange),
    }
}

fn unit(unit: u32) -> Outcome<TemperatureUnit> {
    match unit {
        UNIT_CELSIUS => Ok(TemperatureUnit::Celsius),
        UNIT_FAHRENHEIT => Ok(TemperatureUnit::Fahrenheit),
        _ => Err(Status::ErrRange),
    }
}

/// Lets `write` fill the text with room left for a NUL, and ends it with one. Returns the room for all of it.
fn terminated(text: &mut [u8], write: impl FnOnce(&mut [u8]) -> usize) -> usize {
    // Zeros first: the text ends where the writing ends, also in the middle of the room.
    text.fill(0);
    let room = text.len().saturating_sub(1);
    write(text.get_mut(..room).unwrap_or(&mut [])) + 1
}

#[cfg(all(target_os = "none", feature = "panic-handler"))]
#[panic_handler]
fn panic(_: &core::panic::PanicInfo<'_>) -> ! {
    #[cfg(feature = "panic-link-error")]
    {
        unsafe extern "C" {
            /// Exists nowhere: if this is linked, a panic is reachable.
            fn oddheat_a_panic_is_reachable() -> !;
        }
        // SAFETY: never runs; the image that contains this call does not link.
        unsafe { oddheat_a_panic_is_reachable() }
    }
    #[cfg(not(feature = "panic-link-error"))]
    loop {
        core::hint::spin_loop();
    }
}
