//! The exported functions, and every `unsafe` of the crate.
//!
//! Each function checks its pointers, turns them into references for the length of the call and hands over to
//! the module named after what it works on. What the caller must guarantee is the same everywhere: a pointer that is not
//! NULL points to memory of the stated size that nothing else writes during the call.

use crate::block::{self, Block, Listed};
use crate::change::ChangeHead;
use crate::convert;
use crate::device::{Device, Head, MAGIC, Outcome, Sizes};
use crate::display::{
    self, CIVIDIS_COLORS, COLORS_MAGIC, Colors, DISPLAY_MAGIC, Display, DisplayHead, DisplaySizes, GRAY_COLORS,
    VIK_COLORS, VIRIDIS_COLORS,
};
use crate::display_types::{
    DISPLAY_MEM_HEAD, DISPLAY_MEM_PER_BIN, DISPLAY_MEM_PER_COLUMN, DISPLAY_MEM_PER_WIDE_COLUMN, DisplayConfig,
};
use crate::fits::{self, ProfileHead, TraceHead};
use crate::fits_types::{Decay, Edge, Exponential, Knee, Line, LineFit, Peak, Point};
use crate::level::{self, LevelHead};
use crate::level_types::{Detection, LevelFigures, Rule};
use crate::local::{self, LOCAL_MAGIC, Local, LocalHead, LocalMemory, LocalSizes};
use crate::local_types::{LOCAL_MEM_HEAD, LOCAL_MEM_PER_BAND, LOCAL_MEM_PER_BLOCK};
use crate::metrology::{self, Ranges};
use crate::metrology_types::{
    Budget, CalibrationPoint, Estimate, Fit, FitOptions, Inputs, Medium, Reading, Surface, TwoRange,
};
use crate::placing;
use crate::placing_types::{Comb, CombArea, ItemRow, Pair, Ring, RingRange, Shift};
use crate::scan::{SCAN_MAGIC, Scan, ScanHead, Stored};
use crate::scan_types::{FinishedTable, SCAN_MEM_HEAD};
use crate::sensor::{self, RUN_MAGIC, Run, RunHead, SENSOR_MAGIC, Sensor, SensorHead, SensorSizes};
use crate::sensor_types::{
    ArrayFigures, BadPixel, NoiseFigure, PixelCorrection, RUN_MEM_HEAD, RUN_MEM_PER_PIXEL, SENSOR_MEM_HEAD,
    SENSOR_MEM_PER_BAD_PIXEL, SENSOR_MEM_PER_COLUMN, SENSOR_MEM_PER_PIXEL_STEP, SENSOR_MEM_PER_WATCH, SensorConfig,
    SensorFlags, SoakPoint,
};
use crate::status::{self, Status};
use crate::tools::{self, Tools, ToolsHead};
use crate::tools_types::{Likeness, Measurement, Tool};
use crate::track::{self, Following, Memory, States, TRACKER_MAGIC, TrackerHead, TrackerSizes};
use crate::track_types::{
    TRACKER_MEM_HEAD, TRACKER_MEM_PER_LINE, TRACKER_MEM_PER_REGION, TRACKER_MEM_PER_TRACK, Track, Tracked,
    TrackerConfig,
};
use crate::types::{
    ABI_VERSION, Condition, Config, Finding, Frame, LANGUAGE_ENGLISH, MEM_ALIGN, MEM_HEAD, MEM_PER_COLUMN,
    MEM_PER_REGION, MEM_PER_SHAPE, Place, Region, Summary, UNIT_CELSIUS, UNIT_FAHRENHEIT,
};
use core::ffi::{c_char, c_void};
use core::mem::{align_of, size_of};
use core::ptr::NonNull;
use core::slice;
use oddheat_core::background::{BandBins, LevelBlock};
use oddheat_core::checks::{self, Kind, Located, Role, Setup, View};
use oddheat_core::measure::{LinePart, RadiusCell, RingMemory};
use oddheat_core::radiometry::{Table, Thresholds};
use oddheat_core::regions::{self, Scanner};
use oddheat_core::sensor::{Coefficient, ColumnSlot, Defect, PixelSums, UNSMOOTHED, WatchSlot};
use oddheat_core::track as core_track;
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
    assert!(2 * size_of::<regions::Run>() <= MEM_PER_COLUMN);
};

/// Scratch of a call, handed out from its start in whole words.
struct Scratch {
    next: NonNull<u32>,
    left: usize,
}

impl Scratch {
    /// # Safety
    /// As in the module's documentation, for as long as what is taken is used.
    unsafe fn new(words: *mut u32, count: usize) -> Outcome<Self> {
        let next = checked(words)?;
        within_address_space::<u32>(count)?;
        Ok(Self { next, left: count })
    }

    /// An array of `n` entries that are as aligned as a word at most, all equal to `fill`.
    ///
    /// # Safety
    /// As for [`Scratch::new`].
    unsafe fn take<'a, T: Copy>(&mut self, n: usize, fill: T) -> Outcome<&'a mut [T]> {
        const { assert!(align_of::<T>() <= align_of::<u32>()) };
        let words = n.checked_mul(size_of::<T>()).map(|bytes| bytes.div_ceil(size_of::<u32>()));
        let left = words.and_then(|words| self.left.checked_sub(words)).ok_or(Status::ErrMemTooSmall)?;
        let first = self.next.cast::<T>();
        for i in 0..n {
            // SAFETY: within the words that are left, aligned for T.
            unsafe { first.add(i).write(fill) };
        }
        // SAFETY: likewise; the entries are written, and these words are handed out once.
        let array = unsafe { slice::from_raw_parts_mut(first.as_ptr(), n) };
        // SAFETY: not beyond the end of the words.
        self.next = unsafe { self.next.add(self.left - left) };
        self.left = left;
        Ok(array)
    }
}

/// Runs a body that may fail and returns its status.
fn status(body: impl FnOnce() -> Outcome<()>) -> Status {
    match body() {
        Ok(()) => Status::Ok,
        Err(status) => status,
    }
}

/// What is wrong with a pointer. Apart, as every function looks at several.
#[cold]
#[inline(never)]
fn refused(pointer: *mut u8) -> Status {
    if pointer.is_null() { Status::ErrNull } else { Status::ErrMemAlign }
}

/// A pointer that is neither NULL nor misaligned.
fn checked<T>(pointer: *mut T) -> Outcome<NonNull<T>> {
    NonNull::new(pointer).filter(|pointer| pointer.is_aligned()).ok_or_else(|| refused(pointer.cast()))
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

/// The device behind a handle. Always inlined: by itself it would return seven words through memory for every row.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`oddheat_init`].
#[inline(always)]
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

/// Whether a header of this version can be served.
fn same_abi(version: u32) -> Outcome<()> {
    let served = version >> 16 == ABI_VERSION >> 16 && version & 0xFFFF <= ABI_VERSION & 0xFFFF;
    if served { Ok(()) } else { Err(Status::ErrAbi) }
}

fn sizes(config: &Config) -> Outcome<Sizes> {
    convert::sized::<Config>(config.struct_size)?;
    same_abi(config.abi_version)?;
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
    // SAFETY: the caller vouches for the pointers.
    status(|| unsafe { initialize(mem, mem_size, config, out_device, |_| Ok(())) })
}

/// As oddheat_init(), for a sensor calibrated in two ranges: config has the curve for low counts, high the one that takes
/// over at a temperature. The same count always means the same temperature.
///
/// As oddheat_init(), plus ERR_CURVES_DIFFER, and ERR_RANGE for a linear scale. Context and cost as there.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_init_two_range(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    high: *const TwoRange,
    out_device: *mut *mut Oddheat,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        unsafe {
            let high = shared(high)?;
            initialize(mem, mem_size, config, out_device, |setup| metrology::two_range(setup, high))
        }
    })
}

/// Builds a device; `adjust` may change the setup that the config gives. A function for each way of adjusting, so that
/// an image has only the one it uses.
///
/// # Safety
/// As in the module's documentation.
unsafe fn initialize(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    out_device: *mut *mut Oddheat,
    adjust: impl FnOnce(&mut Setup) -> Outcome<()>,
) -> Outcome<()> {
    // SAFETY: the caller vouches for the pointers.
    let (config, out) = unsafe { (shared(config)?, exclusive(out_device)?) };
    let sizes = sizes(config)?;
    let block = checked(mem.cast::<Head>())?;
    if mem_size < bytes(sizes) {
        return Err(Status::ErrMemTooSmall);
    }
    let mut setup = convert::setup(config)?;
    adjust(&mut setup)?;
    let start = block.as_ptr().cast::<u8>();
    let (regions, shapes, runs) = offsets(sizes);
    // SAFETY: the block is aligned and large enough (checked above) and the caller's to give; the offsets keep the
    // alignment of each array (asserted above). Every byte that `parts` hands out is written first.
    let mut device = unsafe {
        write_head(block.as_ptr(), setup);
        for i in 0..sizes.regions as usize {
            start.add(regions).cast::<regions::Slot>().add(i).write(regions::Slot::EMPTY);
        }
        for i in 0..sizes.shapes as usize {
            start.add(shapes).cast::<checks::Slot>().add(i).write(checks::Slot::EMPTY);
        }
        for i in 0..sizes.runs as usize {
            start.add(runs).cast::<regions::Run>().add(i).write(regions::Run::EMPTY);
        }
        parts(start, sizes)
    };
    device.set_up(config)?;
    device.head.sizes = sizes;
    device.head.magic = MAGIC;
    *out = start.cast();
    Ok(())
}

/// Writes a head in which nothing but the setup is set. Field by field: a whole one would be a template of its size, mostly zeros, in
/// every image.
///
/// # Safety
/// `head` is aligned and its memory the caller's to give.
unsafe fn write_head(head: *mut Head, setup: Setup) {
    // Whoever adds a field comes by here.
    let _ = |Head { magic: _, sizes: _, thresholds: _, scanner: _, rows: _, setup: _, table: _, check: _ }: Head| ();
    // SAFETY: by the function's contract. Zeros are values of the integers of `magic`, `sizes` and `rows`, and of `table`,
    // which holds nothing but integers; every other field is written before anyone sees a reference.
    unsafe {
        head.write_bytes(0, 1);
        (&raw mut (*head).thresholds).write(Thresholds::NONE);
        (&raw mut (*head).scanner).write(None);
        (&raw mut (*head).setup).write(setup);
        (&raw mut (*head).check).write(checks::State::IDLE);
    }
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
/// frame before still wants rows. Context: one thread per device. Cost: constant.
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
        let counts = device.regions(|i, region| {
            if let Some(out) = out.get_mut(i) {
                *out = region;
            }
        })?;
        *summary = summed_up(counts, regions_cap);
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

/// A scan: regions by count thresholds, with a table of its caller's, and nothing else. Lives at the start of the
/// caller's block; never dereference it.
pub struct OddheatScan {
    _private: [u8; 0],
}

const _: () = {
    assert!(size_of::<ScanHead>() <= SCAN_MEM_HEAD && align_of::<ScanHead>() <= MEM_ALIGN);
    assert!(SCAN_MEM_HEAD.is_multiple_of(8));
};

/// A finished table.
///
/// # Safety
/// As in the module's documentation.
unsafe fn finished<'a>(table: *const FinishedTable) -> Outcome<&'a Table> {
    // SAFETY: not NULL and aligned as its words are, which are all that it is made of; the caller vouches for the memory.
    unsafe { shared(table.cast::<Stored>()) }?.table()
}

/// Makes the table of a config: scale, full_scale_counts, emissivity, reflected temperature, transmittance and medium;
/// what else it has must be as for oddheat_init(). To be kept, copied, printed as words and compiled into another image:
/// then that needs none of the arithmetic that made it. On error *out_table is untouched.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_UNSUPPORTED, ERR_ABI, ERR_NO_TEMPERATURE. Context: not from an interrupt.
/// Cost: 257 logarithms.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_table_build(config: *const Config, out_table: *mut FinishedTable) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers; any words are a value of Stored, which is made of integers.
        let (config, stored) = unsafe { (shared(config)?, exclusive(out_table.cast::<Stored>())?) };
        sizes(config)?;
        stored.build(config)
    })
}

/// Object temperature in mK of a count with eight fractional bits (counts times 256); as oddheat_temperature().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE if table is none, ERR_NO_TEMPERATURE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_table_temperature(
    table: *const FinishedTable,
    counts_q8: u32,
    out_mk: *mut i32,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (table, out) = unsafe { (finished(table)?, exclusive(out_mk)?) };
        *out = convert::temperature(table, counts_q8)?;
        Ok(())
    })
}

/// Converts count pixels to kelvin times 32; as oddheat_kelvin_row().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE if table is none. Context: any. Cost: one multiplication a pixel.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_table_kelvin_row(
    table: *const FinishedTable,
    counts: *const u16,
    count: usize,
    out_kelvin_q5: *mut u16,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers; RowKelvin is a transparent u16.
        let (table, counts, out) =
            unsafe { (finished(table)?, array(counts, count)?, array_mut(out_kelvin_q5.cast::<RowKelvin>(), count)?) };
        Ok(table.kelvin_row(counts, out)?)
    })
}

/// Count thresholds for oddheat_scan_start() from object temperatures in mK, 0 = do not look; as
/// oddheat_set_thresholds(). On error the outputs are untouched.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE if table is none, ERR_RANGE (also if cold_below_mk exceeds hot_above_mk).
/// Context: any. Cost: two bisections of the table.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_table_thresholds(
    table: *const FinishedTable,
    hot_above_mk: i32,
    cold_below_mk: i32,
    out_hot_above_counts: *mut u16,
    out_cold_below_counts: *mut u16,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers, which must not overlap.
        let (table, hot, cold) =
            unsafe { (finished(table)?, exclusive(out_hot_above_counts)?, exclusive(out_cold_below_counts)?) };
        let found = convert::thresholds(table, hot_above_mk, cold_below_mk)?;
        (*hot, *cold) = (found.hot(), found.cold());
        Ok(())
    })
}

/// Bytes of a scan of these sizes, a multiple of 8; the same as the header's ODDHEAT_SCAN_MEM_SIZE.
fn scan_bytes(sizes: Sizes) -> usize {
    let (regions, columns) = (sizes.regions as usize, sizes.runs as usize / 2);
    (SCAN_MEM_HEAD + regions * MEM_PER_REGION + columns * MEM_PER_COLUMN).next_multiple_of(8)
}

/// The arrays of a scan: runs and regions.
///
/// # Safety
/// `block` is aligned, as large as so many regions and runs need, and its arrays were filled.
unsafe fn scan_memory<'m>(
    block: *mut u8,
    regions: u32,
    runs: u32,
) -> (&'m mut [regions::Run], &'m mut [regions::Slot]) {
    // SAFETY: by the function's contract the arrays lie inside the block, are initialized and do not overlap.
    unsafe {
        let slots = block.add(SCAN_MEM_HEAD);
        let first_run = slots.add(regions as usize * size_of::<regions::Slot>()).cast();
        (slice::from_raw_parts_mut(first_run, runs as usize), slice::from_raw_parts_mut(slots.cast(), regions as usize))
    }
}

/// The scan behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`oddheat_scan_init`].
#[inline(always)]
unsafe fn scan<'m>(handle: *mut OddheatScan) -> Outcome<Scan<'m>> {
    let head = checked(handle.cast::<ScanHead>())?.as_ptr();
    // SAFETY: aligned, and the caller vouches for the memory; only plain integers are read before the check.
    let (magic, regions, runs) = unsafe { ((*head).magic, (*head).regions, (*head).runs) };
    if magic != SCAN_MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that oddheat_scan_init set the block up with these sizes.
    let ((runs, regions), head) = unsafe { (scan_memory(head.cast(), regions, runs), &mut *head) };
    Ok(Scan { head, runs, regions })
}

/// Bytes of memory a scan with these settings needs; the same as ODDHEAT_SCAN_MEM_SIZE(width_px, regions_max).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_UNSUPPORTED, ERR_ABI. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_scan_mem_size(config: *const Config, out_bytes: *mut usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (shared(config)?, exclusive(out_bytes)?) };
        *out = scan_bytes(sizes(config)?);
        Ok(())
    })
}

/// Builds a scan in mem from width_px, regions_max, connectivity and min_area_px of the config: regions by count
/// thresholds as a device finds them, in less flash (docs/footprint.md) and without a table of its own. mem stays the
/// caller's and must outlive the scan; there is nothing to free. Between calls the block may be moved; the handle is its address.
///
/// On error *out_scan is untouched and what mem holds is undefined. As oddheat_scan_mem_size(), plus ERR_MEM_TOO_SMALL.
/// Context: not from an interrupt. Cost: one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_scan_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    out_scan: *mut *mut OddheatScan,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (shared(config)?, exclusive(out_scan)?) };
        let sizes = sizes(config)?;
        let head = checked(mem.cast::<ScanHead>())?.as_ptr();
        let settings = convert::scanning(config)?;
        if mem_size < scan_bytes(sizes) {
            return Err(Status::ErrMemTooSmall);
        }
        let start = head.cast::<u8>();
        // SAFETY: the block is aligned and large enough (checked above) and the caller's to give; entry sizes keep the
        // alignment of both arrays (asserted above), and every byte that `scan_memory` hands out is written first.
        unsafe {
            let slots = start.add(SCAN_MEM_HEAD);
            fill(slots, sizes.regions, regions::Slot::EMPTY);
            fill(slots.add(sizes.regions as usize * size_of::<regions::Slot>()), sizes.runs, regions::Run::EMPTY);
            let (runs, regions) = scan_memory(start, sizes.regions, sizes.runs);
            let state = Scanner::new(runs, regions, settings)?.suspend();
            head.write(ScanHead { magic: SCAN_MAGIC, runs: sizes.runs, regions: sizes.regions, state });
        }
        *out = start.cast();
        Ok(())
    })
}

/// Starts a frame: counts above hot_above_counts are hot, those below cold_below_counts are cold; 65535 and 0 find
/// nothing. Forgets the rows before.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE if cold_below_counts exceeds hot_above_counts.
/// Context: one thread per scan. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_scan_start(
    scan: *mut OddheatScan,
    hot_above_counts: u16,
    cold_below_counts: u16,
) -> Status {
    // SAFETY: the caller vouches for the handle.
    status(|| unsafe { self::scan(scan) }?.start(hot_above_counts, cold_below_counts))
}

/// Takes the next row of counts, top row first; after oddheat_scan_regions() the first of a frame with the same
/// thresholds.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless width_px is the config's, or for the 65536th row of a frame.
/// Context: one thread per scan. Cost: as oddheat_push_row() without a check.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_scan_row(scan: *mut OddheatScan, counts: *const u16, width_px: usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let (mut scan, row) = unsafe { (self::scan(scan)?, array(counts, width_px)?) };
        scan.row(row)
    })
}

/// Regions of the rows since the start of the frame, strongest first, and the end of the frame; called again, the same.
/// As oddheat_regions(). table gives peak_mk; it may be NULL, then that is 0.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, also if table is none. Context: one thread per scan.
/// Cost: n log n in the regions.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_scan_regions(
    scan: *mut OddheatScan,
    table: *const FinishedTable,
    regions: *mut Region,
    regions_cap: usize,
    out_summary: *mut Summary,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle, the table and the outputs, which must not overlap the block.
        let (mut scan, table, out, summary) = unsafe {
            let table = if table.is_null() { None } else { Some(finished(table)?) };
            (self::scan(scan)?, table, array_mut(regions, regions_cap)?, exclusive(out_summary)?)
        };
        let counts = scan.regions(table, |i, region| {
            if let Some(out) = out.get_mut(i) {
                *out = region;
            }
        })?;
        *summary = summed_up(counts, regions_cap);
        Ok(())
    })
}

/// What a frame gave, of which so many regions had room.
fn summed_up((found, dropped): (u32, u32), regions_cap: usize) -> Summary {
    let written = (found as usize).min(regions_cap) as u32;
    Summary { regions_found: found, regions_written: written, regions_dropped: dropped }
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

/// Searches a placed area that is a ring, such as the seat of a bead, unwrapped to a line: what is narrow along it and
/// stands out of its neighborhood is the spot, whatever changes slowly around the ring. Places spot and surround on it, as
/// oddheat_check_locate() does. frame has width_px * height_px counts, row by row, best the mean of several frames;
/// scratch is yours until the call returns (ODDHEAT_LOCATE_ALONG_WORDS at most).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_NOT_IN_CHECK, ERR_SIZE if the area is no ring or for another
/// frame, ERR_MEM_TOO_SMALL for too little scratch, ERR_MEM_FULL, ERR_ORDER inside a frame, without a check, or if the area
/// is not placed. Context: one thread per device. Cost: forty instructions a pixel of the ring, and some ten passes over
/// an eighth of the line for each of its parts.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_check_locate_along(
    device: *mut Oddheat,
    role: u32,
    view: u32,
    frame: *const u16,
    frame_length: usize,
    scratch: *mut u32,
    scratch_words: usize,
    out_found: *mut u32,
    out_x_px: *mut u16,
    out_y_px: *mut u16,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut device, frame, found, x, y) = unsafe {
            let outputs = (exclusive(out_found)?, exclusive(out_x_px)?, exclusive(out_y_px)?);
            (self::device(device)?, array(frame, frame_length)?, outputs.0, outputs.1, outputs.2)
        };
        let view = if view == 0 { View::Single } else { convert::code(View::from_code, view)? };
        let area = (convert::code(Role::from_code, role)?, view);
        let parts = scratch_words / 3;
        // SAFETY: the caller vouches for the scratch.
        let (line, excess) = unsafe {
            let mut words = Scratch::new(scratch, scratch_words)?;
            (words.take(parts, LinePart::EMPTY)?, words.take(parts, 0i32)?)
        };
        match placing::locate_along(&mut device, area, frame, line, excess)? {
            Located::At { x: column, y: row } => (*found, *x, *y) = (1, column, row),
            Located::Nothing => *found = 0,
        }
        Ok(())
    })
}

/// Words of scratch that oddheat_find_ring() takes for this device and range.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_find_ring_words(
    device: *mut Oddheat,
    range: *const RingRange,
    out_words: *mut usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (device, range, out) = unsafe { (self::device(device)?, shared(range)?, exclusive(out_words)?) };
        *out = placing::ring_words(&placing::search(&device, range)).iter().sum();
        Ok(())
    })
}

/// Looks for a ring, such as a brake rotor behind a wheel, by its two edges in a kept frame of width_px * height_px
/// counts, row by row. *out_found becomes 1 and *out_ring the ring, or 0 if none stands out along three fifths of its
/// circumference; nothing is then written to *out_ring. Place the part two pixels inside its edges, and measure it in the
/// frames after this one. scratch is yours until the call returns: oddheat_find_ring_words().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE for the radii, ERR_SIZE for another frame, ERR_MEM_TOO_SMALL for too
/// little scratch. Context: one thread per device. Cost: seven passes over the frame, 340 instructions a pixel.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_find_ring(
    device: *mut Oddheat,
    range: *const RingRange,
    frame: *const u16,
    frame_length: usize,
    scratch: *mut u32,
    scratch_words: usize,
    out_found: *mut u32,
    out_ring: *mut Ring,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (device, range, frame, found, out) = unsafe {
            let outputs = (exclusive(out_found)?, exclusive(out_ring)?);
            (self::device(device)?, shared(range)?, array(frame, frame_length)?, outputs.0, outputs.1)
        };
        let search = placing::search(&device, range);
        // SAFETY: the caller vouches for the scratch.
        let mut memory = unsafe {
            let mut words = Scratch::new(scratch, scratch_words)?;
            RingMemory {
                rows: words.take(2 * usize::from(search.width), 0)?,
                votes: words.take(search.least_votes(), 0)?,
                radii: words.take(usize::from(search.greatest_radius) + 2, RadiusCell::default())?,
            }
        };
        match placing::find_ring(&search, frame, &mut memory)? {
            Some(ring) => (*found, *out) = (1, ring),
            None => *found = 0,
        }
        Ok(())
    })
}

/// Words of scratch that oddheat_find_comb() takes for this area.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_find_comb_words(area: *const CombArea, out_words: *mut usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (area, out) = unsafe { (shared(area)?, exclusive(out_words)) };
        put(out, placing::comb_words(area))
    })
}

/// Finds parallel lines at equal distances, such as the heating lines of a rear window, in a box of 16 pixels or more a side
/// of a kept frame of width_px * height_px counts: their distance, up to a third of the box across, and their slant, up to a
/// quarter of the box across over its length; of each its place, its contrast, and whether it is there. scratch is yours until
/// the call returns: oddheat_find_comb_words().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_SIZE for another frame or a box that is too small or outside,
/// ERR_MEM_TOO_SMALL for too little scratch; ERR_BELOW_NOISE, ERR_TOO_FEW lines, ERR_NO_FIT if they are not even or more than
/// 24. Context: one thread per device. Cost: 15 instructions a pixel, some ten million at the close.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_find_comb(
    device: *mut Oddheat,
    area: *const CombArea,
    frame: *const u16,
    frame_length: usize,
    scratch: *mut u32,
    scratch_words: usize,
    out_comb: *mut Comb,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (device, area, frame, out) =
            unsafe { (self::device(device)?, shared(area)?, array(frame, frame_length)?, exclusive(out_comb)?) };
        // SAFETY: the caller vouches for the scratch.
        let words = unsafe { Scratch::new(scratch, scratch_words)?.take(placing::comb_words(area)?, 0)? };
        placing::find_comb(&device.head.setup, area, frame, words, out)
    })
}

/// Finds a row of evenly spaced items, such as relays or lamps, among the boxes of up to ODDHEAT_BLOBS_MAX regions, places
/// that hold none included. *out_found becomes 1 and *out_row the row, or 0 if none is clear; nothing is then written to
/// *out_row. A place without a region is an item that is missing, or one that is no warmer than what is around it.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_TOO_MANY regions. Context: any. Cost: up to a million instructions a region.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_find_items(
    regions: *const Region,
    count: usize,
    out_found: *mut u32,
    out_row: *mut ItemRow,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (regions, found, out) = unsafe { (array(regions, count)?, exclusive(out_found)?, exclusive(out_row)?) };
        match placing::find_items(regions)? {
            Some(row) => (*found, *out) = (1, row),
            None => *found = 0,
        }
        Ok(())
    })
}

/// Words of scratch that oddheat_find_shift() takes for this pair.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_find_shift_words(pair: *const Pair, out_words: *mut usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (pair, out) = unsafe { (shared(pair)?, exclusive(out_words)) };
        put(out, placing::pair_size(pair).map(|[columns, rows]| 2 * (columns + rows)))
    })
}

/// Lays a part over its twin, or over the mirror image of it: finds by how much the second of a pair is off, from the sums of
/// the columns and of the rows of kept frames of width_px * height_px counts. Both frames may be the same. *out_found becomes
/// 1 and *out_shift the shift, or 0 if nothing sure can be said: too little structure, a pattern that repeats, a shift at the
/// end of the reach; nothing is then written to *out_shift. No turn and no change of size is looked for. scratch is yours
/// until the call returns: oddheat_find_shift_words().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_SIZE for other frames or a box outside, ERR_MEM_TOO_SMALL for too
/// little scratch. Context: one thread per device. Cost: 14 instructions a pixel of the boxes, and the reach times their sides.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_find_shift(
    device: *mut Oddheat,
    pair: *const Pair,
    first_frame: *const u16,
    second_frame: *const u16,
    frame_length: usize,
    scratch: *mut u32,
    scratch_words: usize,
    out_found: *mut u32,
    out_shift: *mut Shift,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (device, pair, frames, found, out) = unsafe {
            let frames = [array(first_frame, frame_length)?, array(second_frame, frame_length)?];
            (self::device(device)?, shared(pair)?, frames, exclusive(out_found)?, exclusive(out_shift)?)
        };
        let [columns, rows] = placing::pair_size(pair)?;
        // SAFETY: the caller vouches for the scratch.
        let sums = unsafe {
            let mut words = Scratch::new(scratch, scratch_words)?;
            [[words.take(columns, 0)?, words.take(rows, 0)?], [words.take(columns, 0)?, words.take(rows, 0)?]]
        };
        match placing::find_shift(&device.head.setup, pair, frames, sums)? {
            Some(shift) => (*found, *out) = (1, shift),
            None => *found = 0,
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

/// A language. Static storage, nothing to free; never dereference it. May be kept and compared.
pub struct OddheatLanguage {
    _private: [u8; 0],
}

/// What a language's handle points to.
struct Words {
    magic: u32,
    language: &'static Language,
}

/// Marks the words of a language.
const LANGUAGE_MAGIC: u32 = 0x0DD4_EA7C;
static ENGLISH_WORDS: Words = Words { magic: LANGUAGE_MAGIC, language: &wording::ENGLISH };
static SPANISH_WORDS: Words = Words { magic: LANGUAGE_MAGIC, language: &wording::SPANISH };

/// English, for oddheat_finding_text_in() and oddheat_brief_text_in(). Never NULL. An image contains the languages whose
/// functions it calls, and no other.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_language_english() -> *const OddheatLanguage {
    (&raw const ENGLISH_WORDS).cast()
}

/// Spanish, as oddheat_language_english(): instructions in the infinitive, words that both Spain and America understand,
/// decimal point. The text is UTF-8 with letters of Latin-1 (ISO 8859-1) and the signs of every language: en dash,
/// ellipsis, arrow.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_language_spanish() -> *const OddheatLanguage {
    (&raw const SPANISH_WORDS).cast()
}

/// A finding in words: UTF-8, NUL-terminated, cut after a whole character if text_cap is too small. *out_needed is the
/// room for all of it, NUL included. text may be NULL if text_cap is 0.
/// Spanish: pass oddheat_language_spanish() for language.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_RANGE for a code or unit that does not exist, ERR_BAD_STATE if language
/// is none. Context: any. Cost: linear in the text. An image that does not call it does not contain the text.
///
/// # Safety
/// See the module's documentation; `language` came from a function of this library.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_finding_text_in(
    finding: *const Finding,
    language: *const OddheatLanguage,
    unit: u32,
    text: *mut c_char,
    text_cap: usize,
    out_needed: *mut usize,
) -> Status {
    // SAFETY: the caller vouches for the pointers.
    status(|| unsafe { write_finding(finding, || words(language), unit, text, text_cap, out_needed) })
}

/// What a check needs, in words: set-up, cautions, conditions, what to aim at; with its limits and their sources if
/// with_limits is 1. Text and out_needed as in oddheat_finding_text_in().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_BAD_STATE if language is none. Context: any. Cost: linear in the text.
///
/// # Safety
/// See the module's documentation; `language` came from a function of this library.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_brief_text_in(
    kind: u32,
    language: *const OddheatLanguage,
    unit: u32,
    with_limits: u32,
    text: *mut c_char,
    text_cap: usize,
    out_needed: *mut usize,
) -> Status {
    // SAFETY: the caller vouches for the pointers.
    status(|| unsafe { write_brief(kind, || words(language), (unit, with_limits), text, text_cap, out_needed) })
}

/// As oddheat_finding_text_in(), with the number of a language: ODDHEAT_LANGUAGE_ENGLISH.
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
    // SAFETY: the caller vouches for the pointers.
    status(|| unsafe { write_finding(finding, || numbered(language), unit, text, text_cap, out_needed) })
}

/// As oddheat_brief_text_in(), with the number of a language: ODDHEAT_LANGUAGE_ENGLISH.
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
    // SAFETY: the caller vouches for the pointers.
    status(|| unsafe { write_brief(kind, || numbered(language), (unit, with_limits), text, text_cap, out_needed) })
}

/// # Safety
/// As in the module's documentation.
unsafe fn write_finding(
    finding: *const Finding,
    language: impl FnOnce() -> Outcome<&'static Language>,
    unit: u32,
    text: *mut c_char,
    text_cap: usize,
    out_needed: *mut usize,
) -> Outcome<()> {
    // SAFETY: the caller vouches for the pointers.
    let (from, text, needed) =
        unsafe { (shared(finding)?, array_mut(text.cast::<u8>(), text_cap)?, exclusive(out_needed)?) };
    let (language, unit) = (language()?, self::unit(unit)?);
    let mut finding = oddheat_core::finding::Finding::new(Kind::TireLeak);
    convert::finding_from(from, &mut finding)?;
    *needed = terminated(text, |body| wording::finding_text(language, &finding, unit, body));
    Ok(())
}

/// # Safety
/// As in the module's documentation.
unsafe fn write_brief(
    kind: u32,
    language: impl FnOnce() -> Outcome<&'static Language>,
    (unit, with_limits): (u32, u32),
    text: *mut c_char,
    text_cap: usize,
    out_needed: *mut usize,
) -> Outcome<()> {
    // SAFETY: the caller vouches for the pointers.
    let (text, needed) = unsafe { (array_mut(text.cast::<u8>(), text_cap)?, exclusive(out_needed)?) };
    let (language, unit) = (language()?, self::unit(unit)?);
    let kind = convert::code(Kind::from_code, kind)?;
    *needed = terminated(text, |body| wording::brief_text(language, kind, unit, with_limits != 0, body));
    Ok(())
}

/// The language behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from a function of this library.
unsafe fn words(handle: *const OddheatLanguage) -> Outcome<&'static Language> {
    let words = checked(handle.cast::<Words>().cast_mut())?;
    // SAFETY: aligned, and the caller vouches for the memory; only this plain integer is read before the check.
    if unsafe { (*words.as_ptr()).magic } != LANGUAGE_MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that it is one of the statics above.
    Ok(unsafe { words.as_ref() }.language)
}

fn numbered(language: u32) -> Outcome<&'static Language> {
    match language {
        LANGUAGE_ENGLISH => Ok(&wording::ENGLISH),
        _ => Err(Status::ErrRange),
    }
}

/// English text for a status, static storage, never NULL. An image that does not call it does not contain the text.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_status_text(status: i32) -> *const c_char {
    status::text(status).as_ptr()
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

// ---- Sensor repair ----

/// A sensor's repair. Lives at the start of the caller's block; never dereference it.
pub struct OddheatSensor {
    _private: [u8; 0],
}

/// A uniform run. Lives at the start of the caller's block; never dereference it.
pub struct OddheatRun {
    _private: [u8; 0],
}

// As for a device. The arrays follow in the order of their alignment, 4 before 2.
const _: () = {
    assert!(size_of::<SensorHead>() <= SENSOR_MEM_HEAD && align_of::<SensorHead>() <= MEM_ALIGN);
    assert!(SENSOR_MEM_HEAD.is_multiple_of(8) && RUN_MEM_HEAD.is_multiple_of(8));
    assert!(size_of::<Coefficient>() == SENSOR_MEM_PER_PIXEL_STEP && align_of::<Coefficient>() <= 4);
    assert!(size_of::<ColumnSlot>() == SENSOR_MEM_PER_COLUMN && align_of::<ColumnSlot>() <= 4);
    assert!(size_of::<Defect>() == SENSOR_MEM_PER_BAD_PIXEL && align_of::<Defect>() <= 4);
    assert!(size_of::<WatchSlot>() <= SENSOR_MEM_PER_WATCH && align_of::<WatchSlot>() <= 4);
    assert!(size_of::<RunHead>() <= RUN_MEM_HEAD && align_of::<RunHead>() <= MEM_ALIGN);
    assert!(size_of::<PixelSums>() == RUN_MEM_PER_PIXEL && align_of::<PixelSums>() <= 8);
};

/// Offsets of the arrays behind the head, and the end: coefficients, smoothing, shutter, columns, defects, watch.
fn sensor_offsets(sizes: SensorSizes) -> [usize; 7] {
    let bytes = [
        SENSOR_MEM_HEAD,
        sizes.coefficients as usize * SENSOR_MEM_PER_PIXEL_STEP,
        sizes.smoothing as usize * SENSOR_MEM_PER_PIXEL_STEP,
        sizes.shutter as usize * SENSOR_MEM_PER_PIXEL_STEP,
        sizes.columns as usize * SENSOR_MEM_PER_COLUMN,
        sizes.defects as usize * SENSOR_MEM_PER_BAD_PIXEL,
        sizes.watch as usize * SENSOR_MEM_PER_WATCH,
    ];
    let mut end = 0usize;
    // Saturates on a machine that could not hold such an array, and is then larger than any block.
    bytes.map(|bytes| {
        end = end.saturating_add(bytes);
        end
    })
}

/// The parts of a sensor's block.
///
/// # Safety
/// `block` is aligned, as large as `sizes` need, and its contents were initialized with these sizes.
unsafe fn sensor_parts<'m>(block: *mut u8, sizes: SensorSizes) -> Sensor<'m> {
    let [coefficients, smoothing, shutter, columns, defects, watch, _] = sensor_offsets(sizes);
    // SAFETY: by the function's contract the parts lie inside the block, are initialized and do not overlap.
    unsafe {
        Sensor {
            head: &mut *block.cast(),
            coefficients: slice::from_raw_parts_mut(block.add(coefficients).cast(), sizes.coefficients as usize),
            smoothing: slice::from_raw_parts_mut(block.add(smoothing).cast(), sizes.smoothing as usize),
            shutter: slice::from_raw_parts_mut(block.add(shutter).cast(), sizes.shutter as usize),
            columns: slice::from_raw_parts_mut(block.add(columns).cast(), sizes.columns as usize),
            defects: slice::from_raw_parts_mut(block.add(defects).cast(), sizes.defects as usize),
            watch: slice::from_raw_parts_mut(block.add(watch).cast(), sizes.watch as usize),
        }
    }
}

/// The sensor behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`oddheat_sensor_init`].
unsafe fn sensor<'m>(handle: *mut OddheatSensor) -> Outcome<Sensor<'m>> {
    let head = checked(handle.cast::<SensorHead>())?;
    // SAFETY: aligned, and the caller vouches for the memory; only these two plain integers are read before the check.
    let (magic, sizes) = unsafe { ((*head.as_ptr()).magic, (*head.as_ptr()).sizes) };
    if magic != SENSOR_MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that oddheat_sensor_init set the block up with these sizes.
    Ok(unsafe { sensor_parts(head.as_ptr().cast(), sizes) })
}

/// The run behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`oddheat_run_init`].
unsafe fn run<'m>(handle: *mut OddheatRun) -> Outcome<Run<'m>> {
    let head = checked(handle.cast::<RunHead>())?;
    // SAFETY: as above.
    let (magic, pixels) = unsafe { ((*head.as_ptr()).magic, (*head.as_ptr()).pixels) };
    if magic != RUN_MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that oddheat_run_init set the block up for so many pixels behind the head.
    Ok(unsafe {
        Run {
            head: &mut *head.as_ptr(),
            pixels: slice::from_raw_parts_mut(head.as_ptr().cast::<u8>().add(RUN_MEM_HEAD).cast(), pixels as usize),
        }
    })
}

fn sensor_sizes(config: &SensorConfig) -> Outcome<SensorSizes> {
    convert::sized::<SensorConfig>(config.struct_size)?;
    same_abi(config.abi_version)?;
    sensor::sizes(config)
}

/// Bytes for these sizes, a multiple of 8; the same as the header's ODDHEAT_SENSOR_MEM_SIZE.
fn sensor_bytes(sizes: SensorSizes) -> usize {
    let [.., end] = sensor_offsets(sizes);
    end.checked_next_multiple_of(8).unwrap_or(usize::MAX)
}

/// Fills *config with defaults for a width_px by height_px sensor: bad pixels are replaced, nothing else is done. Call
/// it through oddheat_sensor_config_init(), which passes the sizes and versions of the header.
///
/// ERR_NULL, ERR_MEM_ALIGN; ERR_UNSUPPORTED or ERR_ABI if header and library differ.
/// Context: any thread, interrupts included. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_config_init_sized(
    config: *mut SensorConfig,
    struct_size: u32,
    abi_version: u32,
    width_px: u16,
    height_px: u16,
) -> Status {
    status(|| {
        let config = checked(config)?;
        convert::sized::<SensorConfig>(struct_size)?;
        same_abi(abi_version)?;
        let defaults = SensorConfig { struct_size, abi_version, width_px, height_px, ..SensorConfig::DEFAULT };
        // SAFETY: not NULL, aligned; the caller vouches for the memory, which need not be initialized.
        unsafe { config.write(defaults) };
        Ok(())
    })
}

/// Bytes of memory that the repair of a sensor with these settings needs; the same as ODDHEAT_SENSOR_MEM_SIZE().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_UNSUPPORTED, ERR_ABI. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_mem_size(config: *const SensorConfig, out_bytes: *mut usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (shared(config)?, exclusive(out_bytes)?) };
        *out = sensor_bytes(sensor_sizes(config)?);
        Ok(())
    })
}

/// Builds the repair of a sensor in mem, as oddheat_init() does a device. Gains are 1 and offsets 0 until
/// oddheat_sensor_calibrate() or oddheat_sensor_load(); no pixel is bad.
///
/// On error *out_sensor is untouched and what mem holds is undefined.
///
/// As oddheat_sensor_mem_size(), plus ERR_MEM_TOO_SMALL. Context: not from an interrupt. Cost: one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const SensorConfig,
    out_sensor: *mut *mut OddheatSensor,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (shared(config)?, exclusive(out_sensor)?) };
        let sizes = sensor_sizes(config)?;
        let block = checked(mem.cast::<SensorHead>())?;
        if mem_size < sensor_bytes(sizes) {
            return Err(Status::ErrMemTooSmall);
        }
        let head = SensorHead::new(config)?;
        let start = block.as_ptr().cast::<u8>();
        let [coefficients, smoothing, shutter, columns, defects, watch, _] = sensor_offsets(sizes);
        // SAFETY: the block is aligned and large enough (checked above) and the caller's to give; the offsets keep the
        // alignment of each array (asserted above). Every byte that `sensor_parts` hands out is written first.
        let mut sensor = unsafe {
            block.write(head);
            fill(start.add(coefficients), sizes.coefficients, Coefficient::NEUTRAL);
            fill(start.add(smoothing), sizes.smoothing, UNSMOOTHED);
            fill(start.add(shutter), sizes.shutter, 0u32);
            fill(start.add(columns), sizes.columns, ColumnSlot::EMPTY);
            fill(start.add(defects), sizes.defects, Defect::EMPTY);
            fill(start.add(watch), sizes.watch, WatchSlot::EMPTY);
            sensor_parts(start, sizes)
        };
        sensor.rebuild()?;
        sensor.head.magic = SENSOR_MAGIC;
        *out = start.cast();
        Ok(())
    })
}

/// Writes the same entry `count` times.
///
/// # Safety
/// `start` is aligned for `T`, and so many entries fit behind it.
unsafe fn fill<T: Copy>(start: *mut u8, count: u32, entry: T) {
    for i in 0..count as usize {
        // SAFETY: by the function's contract.
        unsafe { start.cast::<T>().add(i).write(entry) };
    }
}

/// Begins a frame, with the housing temperature in mK or 0 if it is not known; a frame that was begun and not ended is
/// dropped.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE. Context: one thread per sensor. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_begin_frame(
    sensor: *mut OddheatSensor,
    time_ms: u32,
    housing_mk: i32,
) -> Status {
    // SAFETY: the caller vouches for the handle.
    status(|| unsafe { self::sensor(sensor) }?.begin_frame(time_ms, housing_mk))
}

/// Repairs the next row of the frame in place, top row first: correction, drift, bad pixels, column noise, smoothing.
/// The row is then ready for oddheat_push_row().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless width_px is the config's, ERR_ORDER outside a frame; the row
/// is then untouched. Context: one thread per sensor. Cost: linear in the row.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_row(sensor: *mut OddheatSensor, counts: *mut u16, width_px: usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let (mut sensor, row) = unsafe { (self::sensor(sensor)?, array_mut(counts, width_px)?) };
        sensor.row(row)
    })
}

/// Ends a frame and says what is to be known of it. Set out_flags->struct_size first.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_UNSUPPORTED, ERR_ORDER unless all rows came. Context: one thread per
/// sensor. Cost: linear in the watch slots.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_end_frame(sensor: *mut OddheatSensor, out_flags: *mut SensorFlags) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut sensor, out) = unsafe { (self::sensor(sensor)?, exclusive(out_flags)?) };
        sensor.end_frame(out)
    })
}

/// Adds a bad pixel to the list; one that is there already stays as it is.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE outside the frame, ERR_LIST_FULL. Context: one thread per sensor.
/// Cost: linear in the list.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_list_pixel(sensor: *mut OddheatSensor, x_px: u16, y_px: u16) -> Status {
    // SAFETY: the caller vouches for the handle.
    status(|| unsafe { self::sensor(sensor) }?.list(x_px, y_px))
}

/// Bad pixels, listed and found, in raster order. Writes up to pixels_cap of them; *out_count is how many there are.
/// pixels may be NULL if pixels_cap is 0.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE. Context: one thread per sensor. Cost: linear in the list.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_bad_pixels(
    sensor: *mut OddheatSensor,
    pixels: *mut BadPixel,
    pixels_cap: usize,
    out_count: *mut u32,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (sensor, pixels, out) =
            unsafe { (self::sensor(sensor)?, array_mut(pixels, pixels_cap)?, exclusive(out_count)?) };
        *out = sensor.bad_pixels(pixels);
        Ok(())
    })
}

/// Takes gain and offset of each pixel from storage, in raster order, and the count about which gains turn. What was
/// learned of the scene is forgotten.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless count is that of the pixels and correction is 1, ERR_RANGE
/// for a gain above 31744. Context: one thread per sensor. Cost: linear in the pixels.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_load(
    sensor: *mut OddheatSensor,
    pivot_counts: u16,
    corrections: *const PixelCorrection,
    count: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut sensor, from) = unsafe { (self::sensor(sensor)?, array(corrections, count)?) };
        sensor.load(pivot_counts, from)
    })
}

/// Writes gain and offset of each pixel and the pivot for storage.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless count is that of the pixels and correction is 1.
/// Context: one thread per sensor. Cost: linear in the pixels.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_save(
    sensor: *mut OddheatSensor,
    corrections: *mut PixelCorrection,
    count: usize,
    out_pivot_counts: *mut u16,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (sensor, to, pivot) =
            unsafe { (self::sensor(sensor)?, array_mut(corrections, count)?, exclusive(out_pivot_counts)?) };
        *pivot = sensor.save(to)?;
        Ok(())
    })
}

/// Fits the drift with the housing temperature to a soak run of up to 24 points, with order 1 or 2, zero at
/// reference_kelvin: that of the uniform runs, inside the soak run. What was learned of the scene is forgotten.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_TOO_FEW, ERR_TOO_MANY, ERR_NO_FIT. Context: one thread per
/// sensor. Cost: some hundred floating-point operations per point.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_set_drift(
    sensor: *mut OddheatSensor,
    points: *const SoakPoint,
    count: usize,
    order: u32,
    reference_kelvin: f64,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut sensor, points) = unsafe { (self::sensor(sensor)?, array(points, count)?) };
        sensor.set_drift(points, order, reference_kelvin)
    })
}

/// Takes the next row of a frame of the closed shutter, begun with oddheat_sensor_begin_frame(); corrects it in place.
///
/// As oddheat_sensor_row(), and ERR_SIZE unless shutter is 1 in the config. Context: one thread per sensor. Cost: linear
/// in the row.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_shutter_row(
    sensor: *mut OddheatSensor,
    counts: *mut u16,
    width_px: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let (mut sensor, row) = unsafe { (self::sensor(sensor)?, array_mut(counts, width_px)?) };
        sensor.shutter_row(row)
    })
}

/// Renews the offsets from the whole shutter frames taken since the last time: the shutter then reads target_counts, or
/// with 0 its own mean, so that a drift common to all pixels stays. *out_left is the number of pixels whose offset could
/// not take up all of it. Watches and smoothing begin again.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_ORDER without whole frames, ERR_TOO_FEW without a pixel that was a reading
/// in all of them. Context: one thread per sensor. Cost: linear in the pixels.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_shutter_end(
    sensor: *mut OddheatSensor,
    target_counts: u16,
    out_left: *mut u32,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut sensor, out) = unsafe { (self::sensor(sensor)?, exclusive(out_left)?) };
        *out = sensor.shutter_end(target_counts)?;
        Ok(())
    })
}

/// Builds an empty uniform run in mem of ODDHEAT_RUN_MEM_SIZE(width_px, height_px) bytes. saturated_at_counts 0 = 65535.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_MEM_TOO_SMALL, ERR_RANGE, ERR_SIZE for a size of 0. Context: not from an interrupt.
/// Cost: linear in the pixels.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_run_init(
    mem: *mut c_void,
    mem_size: usize,
    width_px: u16,
    height_px: u16,
    dead_at_or_below_counts: u16,
    saturated_at_counts: u16,
    out_run: *mut *mut OddheatRun,
) -> Status {
    status(|| {
        let block = checked(mem.cast::<RunHead>())?;
        // SAFETY: the caller vouches for the pointer.
        let out = unsafe { exclusive(out_run)? };
        let pixels = u32::from(width_px) * u32::from(height_px);
        let bytes = (pixels as usize).checked_mul(RUN_MEM_PER_PIXEL).and_then(|all| all.checked_add(RUN_MEM_HEAD));
        if bytes.is_none_or(|bytes| mem_size < bytes) {
            return Err(Status::ErrMemTooSmall);
        }
        let start = block.as_ptr().cast::<u8>();
        // SAFETY: the block is aligned and large enough (checked above) and the caller's to give; what is lent is written
        // first, and the head lies before it.
        unsafe {
            fill(start.add(RUN_MEM_HEAD), pixels, PixelSums::EMPTY);
            let lent = slice::from_raw_parts_mut(start.add(RUN_MEM_HEAD).cast(), pixels as usize);
            block.write(sensor::run_head(lent, (width_px, height_px), dead_at_or_below_counts, saturated_at_counts)?);
        }
        *out = start.cast();
        Ok(())
    })
}

/// Adds the next row of raw counts to a run; height_px rows make a frame.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless width_px is the run's, ERR_MEM_FULL after 32767 frames.
/// Context: one thread per run. Cost: linear in the row.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_run_row(run: *mut OddheatRun, counts: *const u16, width_px: usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let (run, row) = unsafe { (self::run(run)?, array(counts, width_px)?) };
        run.row(row)
    })
}

/// Finds dead, stuck, noisy and blinking pixels in two uniform runs, the second warmer, and adds them to the list.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE if the sizes differ, ERR_TOO_FEW with fewer than 16 whole frames in a
/// run, ERR_NO_SIGNAL unless the second is brighter, ERR_LIST_FULL. Context: one thread per sensor and run.
/// Cost: four passes over the pixels, integers only.
///
/// # Safety
/// See the module's documentation. The three blocks do not overlap.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_find_bad_pixels(
    sensor: *mut OddheatSensor,
    low: *mut OddheatRun,
    high: *mut OddheatRun,
    out_figures: *mut ArrayFigures,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut sensor, low, high, out) =
            unsafe { (self::sensor(sensor)?, run(low)?, run(high)?, exclusive(out_figures)?) };
        *out = sensor.find_bad(low, high)?;
        Ok(())
    })
}

/// Sets gain and offset of each pixel, so that two uniform runs come out uniform at the means of the array; pixels that
/// cannot be corrected join the bad ones. What was learned of the scene is forgotten.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE if the sizes differ or correction is 0, ERR_TOO_FEW, ERR_NO_SIGNAL,
/// ERR_LIST_FULL. Context: one thread per sensor and run. Cost: three passes over the pixels, integers only.
///
/// # Safety
/// See the module's documentation. The three blocks do not overlap.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_calibrate(
    sensor: *mut OddheatSensor,
    low: *mut OddheatRun,
    high: *mut OddheatRun,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut sensor, low, high) = unsafe { (self::sensor(sensor)?, run(low)?, run(high)?) };
        sensor.calibrate(low, high)
    })
}

/// Noise equivalent temperature difference from two uniform runs whose blackbodies differ by difference_k; the sensor's
/// bad pixels are left out.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE if the sizes differ, ERR_TOO_FEW, ERR_NO_SIGNAL, ERR_RANGE.
/// Context: one thread per sensor and run. Cost: one pass over the pixels.
///
/// # Safety
/// See the module's documentation. The three blocks do not overlap.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_sensor_noise(
    sensor: *mut OddheatSensor,
    low: *mut OddheatRun,
    high: *mut OddheatRun,
    difference_k: f64,
    out_figure: *mut NoiseFigure,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut sensor, low, high, out) =
            unsafe { (self::sensor(sensor)?, run(low)?, run(high)?, exclusive(out_figure)?) };
        *out = sensor.noise(low, high, difference_k)?;
        Ok(())
    })
}

/// Noise equivalent temperature difference in K of a target difference_k above its background that gives signal_counts,
/// in noise of noise_counts rms.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_NO_SIGNAL, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_netd(
    difference_k: f64,
    signal_counts: f64,
    noise_counts: f64,
    out_netd_k: *mut f64,
) -> Status {
    // SAFETY: the caller vouches for the pointer.
    status(|| put(unsafe { exclusive(out_netd_k) }, sensor::netd_of(difference_k, signal_counts, noise_counts)))
}

/// Writes a result to where it belongs, if there is both.
fn put<T>(out: Outcome<&mut T>, value: Outcome<T>) -> Outcome<()> {
    let out = out?;
    *out = value?;
    Ok(())
}

// ---- Calibration, procedures, budgets ----

/// Fits a calibration curve to 3 to 16 blackbody points by weighted least squares in temperature. Set
/// options->struct_size and out_fit->struct_size first; of the fit, the curve_ fields go into a config.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED; ERR_TOO_FEW, ERR_TOO_MANY, ERR_NOT_MONOTONIC, ERR_SINGULAR, ERR_NO_FIT,
/// ERR_RANGE say why there is no curve. Context: not from an interrupt. Cost: some ten thousand floating-point operations.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_fit_curve(
    points: *const CalibrationPoint,
    count: usize,
    options: *const FitOptions,
    out_fit: *mut Fit,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (points, options, out) = unsafe { (array(points, count)?, shared(options)?, exclusive(out_fit)?) };
        metrology::fit(points, options, out)
    })
}

/// Standard uncertainty, in K, that a fitted calibration adds to an apparent temperature: the covariance of the
/// coefficients carried through the curve. The fit is one of oddheat_fit_curve(), of any age; the points are not needed.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_RANGE for a fit that was changed, ERR_TOO_FEW if its covariance is not
/// known, ERR_NO_TEMPERATURE off the curve or outside 0 to 2000 K. Context: any. Cost: an exponential and a logarithm.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_fit_uncertainty(fit: *const Fit, kelvin: f64, out_k: *mut f64) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (fit, out) = unsafe { (shared(fit)?, exclusive(out_k)) };
        put(out, metrology::fit_uncertainty(fit, kelvin))
    })
}

/// Emissivity of a surface from a patch of known emissivity on it, at the same temperature. Apparent temperatures are in
/// K, read with emissivity and transmittance 1 at close range; of the config only the scale matters. high is that of
/// oddheat_init_two_range(), or NULL with a single curve or a linear scale.
///
/// Safety at the vehicle: tape and patches go on parts that are cold, stopped and free of voltage only.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_NO_SIGNAL if the part differs by less than 10 K from what it reflects,
/// ERR_CONTRADICTION, and what oddheat_init_two_range() finds wrong with the scale. Context: any. Cost: a few
/// exponentials.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_emissivity_by_patch(
    config: *const Config,
    high: *const TwoRange,
    patch_emissivity: *const Estimate,
    patch: *const Estimate,
    surface: *const Estimate,
    reflected: *const Estimate,
    out_emissivity: *mut Estimate,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (ranges, known, readings, out) = unsafe {
            let readings = [shared(patch)?, shared(surface)?, shared(reflected)?];
            (ranges(config, high)?, shared(patch_emissivity)?, readings, exclusive(out_emissivity)?)
        };
        *out = metrology::by_patch(ranges, known, readings)?;
        Ok(())
    })
}

/// Emissivity of a surface from its temperature by a contact thermometer; otherwise as oddheat_emissivity_by_patch().
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_emissivity_by_contact(
    config: *const Config,
    high: *const TwoRange,
    contact: *const Estimate,
    surface: *const Estimate,
    reflected: *const Estimate,
    out_emissivity: *mut Estimate,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (ranges, readings, out) = unsafe {
            let readings = [shared(contact)?, shared(surface)?, shared(reflected)?];
            (ranges(config, high)?, readings, exclusive(out_emissivity)?)
        };
        *out = metrology::by_contact(ranges, readings)?;
        Ok(())
    })
}

/// Reflected apparent temperature in K by the reflector method: from the reading of crumpled foil before the part, the
/// foil's emissivity (aluminum: 0.05 with 0.02) and its own temperature in K. high as in oddheat_emissivity_by_patch().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, and what oddheat_init_two_range() finds wrong with the scale. Context: any. Cost:
/// a few exponentials.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_reflected_by_foil(
    config: *const Config,
    high: *const TwoRange,
    reading: *const Estimate,
    foil_emissivity: *const Estimate,
    foil: *const Estimate,
    out_reflected: *mut Estimate,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (ranges, readings, out) = unsafe {
            let readings = [shared(reading)?, shared(foil_emissivity)?, shared(foil)?];
            (ranges(config, high)?, readings, exclusive(out_reflected)?)
        };
        *out = metrology::by_foil(ranges, readings)?;
        Ok(())
    })
}

/// What an emissivity allows: *out_gate becomes ODDHEAT_EMISSIVITY_USABLE, _LOW (below 0.5) or _NO_TEMPERATURE (0.3 and
/// below).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_emissivity_gate(emissivity: f64, out_gate: *mut u32) -> Status {
    // SAFETY: the caller vouches for the pointer.
    status(|| put(unsafe { exclusive(out_gate) }, metrology::gate(emissivity)))
}

/// Whether a part size_mm across is measured at distance_m with ifov_mrad a pixel: *out_measured becomes 1 if it covers
/// three pixels, 0 if it is detected but not measured.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_spot_check(
    size_mm: f64,
    distance_m: f64,
    ifov_mrad: f64,
    out_measured: *mut u32,
) -> Status {
    // SAFETY: the caller vouches for the pointer.
    status(|| put(unsafe { exclusive(out_measured) }, metrology::spot(size_mm, distance_m, ifov_mrad)))
}

/// Transmittance of 0 to 10 m of clean air of -6 to 35 degrees Celsius and a relative humidity of 0 to 1, in the band
/// ODDHEAT_PATH_BAND_..., with its standard uncertainty.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: two powers and two exponentials.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_path_transmittance(
    band: u32,
    distance_m: f64,
    air_celsius: f64,
    humidity: f64,
    out_transmittance: *mut Estimate,
) -> Status {
    // SAFETY: the caller vouches for the pointer.
    status(|| put(unsafe { exclusive(out_transmittance) }, metrology::path(band, distance_m, air_celsius, humidity)))
}

/// Puts windows and air, in the order from the object to the sensor, into a config: its transmittance_q15 and medium_mk
/// become those of the one medium that all of them make, with the one that it had already nearest to the object. high is
/// that of oddheat_init_two_range(), or NULL.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_TOO_MANY for more than 8, and what oddheat_init_two_range() finds wrong.
/// Context: any. Cost: two exponentials per medium.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_config_behind(
    config: *mut Config,
    high: *const TwoRange,
    media: *const Medium,
    count: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, high, media) = unsafe { (exclusive(config)?, optional(high)?, array(media, count)?) };
        sizes(config)?;
        (config.transmittance_q15, config.medium_mk) = metrology::behind(Ranges { config, high }, media)?;
        Ok(())
    })
}

/// Number of surfaces in the table.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_surface_count() -> u32 {
    metrology::surfaces()
}

/// Emissivity of the surface with this index, counted from 0.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_surface_at(index: u32, out_surface: *mut Surface) -> Status {
    // SAFETY: the caller vouches for the pointer.
    status(|| put(unsafe { exclusive(out_surface) }, metrology::surface(index)))
}

/// A text of a surface, ODDHEAT_SURFACE_TEXT_...; text and out_needed as in oddheat_finding_text().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: linear in the text.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_surface_text(
    index: u32,
    which: u32,
    text: *mut c_char,
    text_cap: usize,
    out_needed: *mut usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (text, needed) = unsafe { (array_mut(text.cast::<u8>(), text_cap)?, exclusive(out_needed)?) };
        let from = metrology::surface_text(index, which)?;
        *needed = terminated(text, |body| {
            for (to, &from) in body.iter_mut().zip(from.as_bytes()) {
                *to = from;
            }
            from.len()
        });
        Ok(())
    })
}

/// Index of the surface with this key of key_length characters.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE if there is none. Context: any. Cost: linear in the table.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_surface_find(key: *const c_char, key_length: usize, out_index: *mut u32) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (key, out) = unsafe { (array(key.cast::<u8>(), key_length)?, exclusive(out_index)?) };
        *out = metrology::surface_index(key)?;
        Ok(())
    })
}

/// The standard uncertainties that a config states, with struct_size set.
///
/// ERR_NULL, ERR_MEM_ALIGN, and what oddheat_init() finds wrong with the config. Context: any. Cost: a few exponentials.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_inputs_init(config: *const Config, out_inputs: *mut Inputs) -> Status {
    // SAFETY: the caller vouches for the pointers; the output need not be initialized, and is written whole.
    status(|| unsafe {
        let (config, out) = (described(config)?, checked(out_inputs)?);
        out.write(metrology::inputs_of(config)?);
        Ok(())
    })
}

/// The reading of an object at a stated temperature in K whose noise is known, in the scene of a config. high is that of
/// oddheat_init_two_range(), or NULL with a single curve or a linear scale. Set out_reading->struct_size first.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_RANGE, ERR_NO_TEMPERATURE, and what oddheat_init_two_range() finds wrong
/// with the config and the high range. Context: any. Cost: some exponentials.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_reading_at(
    config: *const Config,
    high: *const TwoRange,
    kelvin: f64,
    noise_k: f64,
    out_reading: *mut Reading,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (ranges, out) = unsafe { (ranges(config, high)?, exclusive(out_reading)?) };
        metrology::reading_at(ranges, kelvin, noise_k, out)
    })
}

/// The reading that mean counts over so many pixels and frames give, in the scene of a config. scatter_counts is the
/// standard deviation of the frames' means, or 0 if it is not known; white noise is the least it can be. Set
/// out_reading->struct_size first.
///
/// As oddheat_reading_at().
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_reading_of(
    config: *const Config,
    high: *const TwoRange,
    mean_counts: f64,
    pixels: u32,
    frames: u32,
    scatter_counts: f64,
    out_reading: *mut Reading,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (ranges, out) = unsafe { (ranges(config, high)?, exclusive(out_reading)?) };
        metrology::reading_of(ranges, mean_counts, (pixels, frames), scatter_counts, out)
    })
}

/// The uncertainty of a reading by its parts, expanded with coverage_factor (above 0, at most 10). Set
/// out_budget->struct_size first.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_RANGE. Context: any. Cost: some ten floating-point operations a part.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_budget_of(
    reading: *const Reading,
    inputs: *const Inputs,
    coverage_factor: f64,
    out_budget: *mut Budget,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (reading, inputs, out) = unsafe { (shared(reading)?, shared(inputs)?, exclusive(out_budget)?) };
        metrology::budget(reading, inputs, coverage_factor, out)
    })
}

/// The difference of two readings, first minus second, and its uncertainty by what is left of each part: what both have
/// in common cancels. relation is the sum of ODDHEAT_RELATION_... that hold. Set out_budget->struct_size first.
///
/// As oddheat_budget_of().
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_difference(
    first: *const Reading,
    second: *const Reading,
    relation: u32,
    inputs: *const Inputs,
    coverage_factor: f64,
    out_budget: *mut Budget,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (readings, inputs, out) =
            unsafe { ([shared(first)?, shared(second)?], shared(inputs)?, exclusive(out_budget)?) };
        metrology::difference(readings, relation, inputs, coverage_factor, out)
    })
}

/// How many times further the first reading has risen over the air than the second, each rise times its factor first
/// (cooling since the stop, say), with its standard uncertainty: what both readings have in common cancels. factors are
/// two estimates, or NULL for 1 and 1. relation as in oddheat_difference().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_RANGE, ERR_NO_SIGNAL if the second has not risen at all. Context: any.
/// Cost: some hundred floating-point operations.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_rise_ratio(
    first: *const Reading,
    second: *const Reading,
    air_kelvin: f64,
    factors: *const Estimate,
    relation: u32,
    inputs: *const Inputs,
    out_ratio: *mut Estimate,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (readings, inputs, out) =
            unsafe { ([shared(first)?, shared(second)?], shared(inputs)?, exclusive(out_ratio)) };
        // SAFETY: the caller vouches for two estimates.
        let factors = unsafe { array(factors, if factors.is_null() { 0 } else { 2 })? };
        put(out, metrology::rise_ratio(readings, air_kelvin, factors, relation, inputs))
    })
}

// ---- Measuring over shapes ----

/// Measuring tools. Live at the start of the caller's block; never dereference it.
pub struct OddheatTools {
    _private: [u8; 0],
}

/// What must hold for a block of a kind; see [`build`].
const fn holds<H: Listed>() -> bool {
    size_of::<Block<H>>() <= H::HEAD_BYTES
        && align_of::<Block<H>>() <= MEM_ALIGN
        && H::HEAD_BYTES.is_multiple_of(8)
        && size_of::<H::Entry>() <= H::ENTRY_BYTES
        && align_of::<H::Entry>() <= 8
}

const _: () = assert!(holds::<ToolsHead>());

/// Writes a block: its head, and so many empty entries behind it.
///
/// # Safety
/// As in the module's documentation; `mem_size` bytes at `mem` are the caller's to give.
unsafe fn build<H: Listed>(mem: *mut c_void, mem_size: usize, count: u32, head: H) -> Outcome<*mut c_void> {
    const { assert!(holds::<H>()) };
    let block = checked(mem.cast::<Block<H>>())?;
    if mem_size < block::bytes::<H>(count) {
        return Err(Status::ErrMemTooSmall);
    }
    // SAFETY: the block is aligned and large enough (checked above) and the caller's to give; the entries fit behind the
    // head and keep their alignment there (asserted above).
    unsafe {
        block.write(Block { magic: H::MAGIC, count, head });
        fill(block.as_ptr().cast::<u8>().add(H::HEAD_BYTES), count, H::EMPTY);
    }
    Ok(mem)
}

/// Head and entries of the block behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`build`] for this kind of block.
unsafe fn opened<'m, H: Listed>(handle: *mut c_void) -> Outcome<(&'m mut H, &'m mut [H::Entry])> {
    let block = checked(handle.cast::<Block<H>>())?;
    // SAFETY: aligned, and the caller vouches for the memory; only these two plain integers are read before the check.
    let (magic, count) = unsafe { ((*block.as_ptr()).magic, (*block.as_ptr()).count) };
    if magic != H::MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that the block was built with so many entries behind its head.
    Ok(unsafe {
        let entries = block.as_ptr().cast::<u8>().add(H::HEAD_BYTES).cast();
        (&mut (*block.as_ptr()).head, slice::from_raw_parts_mut(entries, count as usize))
    })
}

/// The tools behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`oddheat_tools_init`].
unsafe fn tools<'m>(handle: *mut OddheatTools) -> Outcome<Tools<'m>> {
    // SAFETY: by the function's contract.
    let (head, tools) = unsafe { opened::<ToolsHead>(handle.cast())? };
    Ok(Tools { head, tools })
}

/// Bytes of memory for tools_max measuring tools (1 to 65535); the same as ODDHEAT_TOOLS_MEM_SIZE(tools_max).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_mem_size(tools_max: u32, out_bytes: *mut usize) -> Status {
    // SAFETY: the caller vouches for the pointer.
    status(|| put(unsafe { exclusive(out_bytes) }, tools::count(tools_max).map(block::bytes::<ToolsHead>)))
}

/// Builds tools_max measuring tools in mem, as oddheat_init() does a device, with nothing placed. Of config the image, the
/// scale, the surface and the uncertainties count, the same as of a device; high is that of oddheat_init_two_range(), or
/// NULL. Both are copied. Then oddheat_tools_place(); per frame its rows through oddheat_tools_row() and
/// oddheat_tools_end_frame(); then oddheat_tools_measurement().
///
/// On error *out_tools is untouched and what mem holds is undefined.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_MEM_TOO_SMALL, ERR_RANGE, and what oddheat_init() or oddheat_init_two_range() finds wrong
/// with the config. Context: not from an interrupt. Cost: a few exponentials and one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    high: *const TwoRange,
    tools_max: u32,
    out_tools: *mut *mut OddheatTools,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        unsafe {
            let (ranges, out) = (ranges(config, high)?, exclusive(out_tools)?);
            let (count, head) = (tools::count(tools_max)?, ToolsHead::new(ranges)?);
            *out = build(mem, mem_size, count, head)?.cast();
        }
        Ok(())
    })
}

/// Places a shape as the tool with this index, counted from 0, instead of what it covered before; what that had summed is
/// forgotten. NULL takes the tool away. Shapes may overlap.
///
/// ERR_NULL without tools, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_UNSUPPORTED, ERR_RANGE, ERR_SIZE if the shape does not lie
/// inside the image or covers no pixel, ERR_NO_TEMPERATURE if no count means above_mk, ERR_ORDER inside a frame. Context:
/// one thread per block. Cost: constant; with above_mk some exponentials.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_place(tools: *mut OddheatTools, index: u32, tool: *const Tool) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut tools, tool) = unsafe { (self::tools(tools)?, optional(tool)?) };
        tools.place(index, tool)
    })
}

/// Takes the next row of counts, top row first. Dead and saturated pixels are counted as rejected and left out.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless width_px is the config's, ERR_ORDER for a row more than the
/// frame has. Context: one thread per block. Cost: 35 instructions for each pixel that a tool covers, 58 with an
/// area; up to 1,300 for each tool in each of its rows by its shape, four times that for a polygon with an area.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_row(tools: *mut OddheatTools, counts: *const u16, width_px: usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let (mut tools, row) = unsafe { (self::tools(tools)?, array(counts, width_px)?) };
        tools.row(row)
    })
}

/// Ends a frame, taken at time_ms since any fixed moment. More frames average the noise out.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_ORDER unless all rows came, ERR_TIME if time runs backward. Context: one
/// thread per block. Cost: linear in the tools.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_end_frame(tools: *mut OddheatTools, time_ms: u32) -> Status {
    // SAFETY: the caller vouches for the handle.
    status(|| unsafe { self::tools(tools) }?.end_frame(time_ms))
}

/// Forgets what all tools have summed, and a frame under way; the shapes stay.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE. Context: one thread per block. Cost: one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_clear(tools: *mut OddheatTools) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle.
        unsafe { self::tools(tools) }?.clear();
        Ok(())
    })
}

/// What a tool has measured since it was placed or cleared. Set out_measurement->struct_size first.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_UNSUPPORTED, ERR_RANGE for an index that is none, ERR_ORDER inside a frame or
/// with nothing placed there, ERR_NO_TEMPERATURE before a frame with a reading has ended or if no temperature belongs to
/// the counts. Context: one thread per block. Cost: 270,000 instructions without a floating-point unit.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_measurement(
    tools: *mut OddheatTools,
    index: u32,
    out_measurement: *mut Measurement,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (tools, out) = unsafe { (self::tools(tools)?, exclusive(out_measurement)?) };
        tools.measurement(index, out)
    })
}

/// One number of a tool, ODDHEAT_STATISTIC_..., with what its uncertainty is made of: for oddheat_budget_of(),
/// oddheat_difference() of two tools, in which what both have in common cancels, and oddheat_rise_ratio(). Set
/// out_reading->struct_size first.
///
/// As oddheat_tools_measurement(); ERR_RANGE also for a statistic that is none, ERR_NO_TEMPERATURE also where a majority
/// is not clear.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_reading(
    tools: *mut OddheatTools,
    index: u32,
    statistic: u32,
    out_reading: *mut Reading,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (tools, out) = unsafe { (self::tools(tools)?, exclusive(out_reading)?) };
        tools.reading(index, statistic, out)
    })
}

/// Mean of a tool in the frame ended last, in counts times 256: for oddheat_trace_add(), or for oddheat_temperature().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_ORDER as oddheat_tools_measurement(), ERR_NO_TEMPERATURE if that
/// frame had no reading there. Context: one thread per block. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_frame_mean(
    tools: *mut OddheatTools,
    index: u32,
    out_counts_q8: *mut u32,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (tools, out) = unsafe { (self::tools(tools)?, exclusive(out_counts_q8)) };
        put(out, tools.frame_mean(index))
    })
}

/// Area above the temperature of a tool in the frame ended last, in square millimeters as seen from the instrument: a
/// surface at an angle to the view is larger. ifov_mrad is the angle of a pixel.
///
/// As oddheat_tools_measurement(), ERR_ORDER also if the tool counts no area; ERR_RANGE unless both values are above 0 and
/// both uncertainties 0 or more.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tools_area(
    tools: *mut OddheatTools,
    index: u32,
    distance_m: *const Estimate,
    ifov_mrad: *const Estimate,
    out_square_mm: *mut Estimate,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (tools, distance, ifov, out) =
            unsafe { (self::tools(tools)?, shared(distance_m)?, shared(ifov_mrad)?, exclusive(out_square_mm)) };
        put(out, tools.area_mm2(index, distance, ifov))
    })
}

/// What a reading counts for among like items of one frame (cells, fuses, thirds of a tread): its temperature in K with
/// the uncertainty that it does not share with its neighbors. For oddheat_like_item().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_RANGE. Context: any. Cost: some floating-point operations.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_item_of(
    reading: *const Reading,
    inputs: *const Inputs,
    out_item: *mut Estimate,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (reading, inputs, out) = unsafe { (shared(reading)?, shared(inputs)?, exclusive(out_item)) };
        put(out, tools::item(reading, inputs))
    })
}

/// The item at index, counted from 0, of up to 64 like ones, against the median of the others: one faulty item among
/// healthy ones moves neither that nor their scatter. An item with a negative uncertainty could not be measured and is
/// left out.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE for an item beyond 1e100 or an index without one, ERR_TOO_MANY, ERR_TOO_FEW below
/// three others, ERR_NO_SIGNAL without noise and scatter. Context: any. Cost: the square of the items.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_like_item(
    items: *const Estimate,
    count: usize,
    index: usize,
    out_likeness: *mut Likeness,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (items, out) = unsafe { (array(items, count)?, exclusive(out_likeness)) };
        put(out, tools::likeness(items, index))
    })
}

// ---- Line profiles, series, fits ----

/// A line profile. Lives at the start of the caller's block; never dereference it.
pub struct OddheatProfile {
    _private: [u8; 0],
}

/// A value over time. Lives at the start of the caller's block; never dereference it.
pub struct OddheatTrace {
    _private: [u8; 0],
}

const _: () = assert!(holds::<ProfileHead>() && holds::<TraceHead>());

/// Bytes of memory for a profile along this line in the image of config: ODDHEAT_PROFILE_MEM_SIZE() of its length in
/// pixels, rounded, plus 1.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_ABI, ERR_RANGE, ERR_SIZE as oddheat_profile_init(). Context: any. Cost:
/// constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_profile_mem_size(
    config: *const Config,
    line: *const Line,
    out_bytes: *mut usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, line, out) = unsafe { (described(config)?, shared(line)?, exclusive(out_bytes)?) };
        *out = block::bytes::<ProfileHead>(ProfileHead::new(config, line)?.1);
        Ok(())
    })
}

/// Builds a line profile in mem, with nothing sampled: rows through oddheat_profile_row(), then oddheat_profile_points().
/// Of config the image and what is dead or saturated count. To begin anew, call it again.
///
/// On error *out_profile is untouched.
///
/// As oddheat_profile_mem_size(), ERR_MEM_TOO_SMALL, ERR_SIZE unless all samples lie in the image, the length is 3 to 2047
/// pixels and there are 1 to 31 lines. Context: not from an interrupt. Cost: one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_profile_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    line: *const Line,
    out_profile: *mut *mut OddheatProfile,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        unsafe {
            let (config, line, out) = (described(config)?, shared(line)?, exclusive(out_profile)?);
            let (head, samples) = ProfileHead::new(config, line)?;
            *out = build(mem, mem_size, samples, head)?.cast();
        }
        Ok(())
    })
}

/// Takes the next row of counts, top row first; after height_px rows the frame is complete and the next one begins. More
/// frames average the noise out.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless width_px is the config's. Context: one thread per profile. Cost:
/// some thirty instructions for each sample and line that the row touches.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_profile_row(
    profile: *mut OddheatProfile,
    counts: *const u16,
    width_px: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let ((head, samples), row) = unsafe { (opened::<ProfileHead>(profile.cast())?, array(counts, width_px)?) };
        head.row(samples, row)
    })
}

/// The profile so far, in counts. Writes up to points_cap points; *out_count is how many there are. A point is missing
/// where more than half of its weight fell on dead or saturated pixels, or before the first frame. *out_pixels is how many
/// pixels a point averages, lines times frames: for a fit, give the noise of a pixel over its root. For kelvin see
/// oddheat_points_to_kelvin(). points may be NULL if points_cap is 0.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_ORDER inside a frame. Context: one thread per profile. Cost: linear.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_profile_points(
    profile: *mut OddheatProfile,
    points: *mut Point,
    points_cap: usize,
    out_count: *mut usize,
    out_pixels: *mut u32,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers; the outputs must not overlap the block.
        let ((head, samples), points, count, pixels) = unsafe {
            let outputs = (array_mut(points, points_cap)?, exclusive(out_count)?, exclusive(out_pixels)?);
            (opened::<ProfileHead>(profile.cast())?, outputs.0, outputs.1, outputs.2)
        };
        (*count, *pixels) = head.points(samples, points)?;
        Ok(())
    })
}

/// Bytes of memory for a trace of 16 to 65535 entries; the same as ODDHEAT_TRACE_MEM_SIZE(entries_max).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_trace_mem_size(entries_max: u32, out_bytes: *mut usize) -> Status {
    // SAFETY: the caller vouches for the pointer.
    status(|| put(unsafe { exclusive(out_bytes) }, fits::entries(entries_max).map(block::bytes::<TraceHead>)))
}

/// Builds an empty trace in mem: a value over time, for fits of slope, time constant and knee, in 16 to 65535 entries. When
/// it is full neighbors are merged, so that all entries stand for equally many frames. 32 are enough for a fit. To begin
/// anew, call it again.
///
/// On error *out_trace is untouched.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_MEM_TOO_SMALL. Context: not from an interrupt. Cost: one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_trace_init(
    mem: *mut c_void,
    mem_size: usize,
    entries_max: u32,
    out_trace: *mut *mut OddheatTrace,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        unsafe {
            let out = exclusive(out_trace)?;
            *out = build(mem, mem_size, fits::entries(entries_max)?, TraceHead::NEW)?.cast();
        }
        Ok(())
    })
}

/// Adds the value of a frame, such as oddheat_tools_frame_mean(), in 1/256 of any unit.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_TIME if time runs backward, ERR_MEM_FULL when every entry stands for 65536
/// frames. Context: one thread per trace. Cost: constant, but linear in the entries when they are merged.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_trace_add(trace: *mut OddheatTrace, time_ms: u32, value_q8: i32) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle.
        let (head, moments) = unsafe { opened::<TraceHead>(trace.cast())? };
        head.add(moments, time_ms, value_q8)
    })
}

/// The course so far, in seconds and the unit put in. Writes up to points_cap points; *out_count is how many there are.
/// *out_frames is how many frames a point averages: for a fit, give the noise of a frame's value over its root. points may
/// be NULL if points_cap is 0.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE. Context: one thread per trace. Cost: linear.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_trace_points(
    trace: *mut OddheatTrace,
    points: *mut Point,
    points_cap: usize,
    out_count: *mut usize,
    out_frames: *mut u32,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers; the outputs must not overlap the block.
        let ((head, moments), points, count, frames) = unsafe {
            let outputs = (array_mut(points, points_cap)?, exclusive(out_count)?, exclusive(out_frames)?);
            (opened::<TraceHead>(trace.cast())?, outputs.0, outputs.1, outputs.2)
        };
        (*count, *frames) = head.points(moments, points)?;
        Ok(())
    })
}

/// Turns points in counts into object temperatures in K, in place and all or none. *out_noise_k becomes the noise of one
/// pixel in one frame at their mean: over the root of the pixels and frames that a point averages it is what a fit takes.
/// high is that of oddheat_init_two_range(), or NULL.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_TOO_FEW without a point, ERR_NO_TEMPERATURE, and what oddheat_init() or
/// oddheat_init_two_range() finds wrong with the config. Context: any. Cost: two logarithms a point.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_points_to_kelvin(
    config: *const Config,
    high: *const TwoRange,
    points: *mut Point,
    count: usize,
    out_noise_k: *mut f64,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (ranges, points, out) =
            unsafe { (ranges(config, high)?, array_mut(points, count)?, exclusive(out_noise_k)?) };
        *out = fits::to_kelvin(ranges, points)?;
        Ok(())
    })
}

/// A straight line through at least two points, such as the slope of a trace. noise is the standard deviation of a value
/// as far as it is known, or 0; what the residuals show counts if it is more. The uncertainties hold if the form is right.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE for a negative noise or what is no finite number, ERR_TOO_FEW, ERR_TOO_SHORT if all
/// places are the same, ERR_NO_FIT for numbers beyond 1e100. Context: any. Cost: 3,000 instructions a point without a
/// floating-point unit.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_fit_line(
    points: *const Point,
    count: usize,
    noise: f64,
    out_line: *mut LineFit,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (points, out) = unsafe { (array(points, count)?, exclusive(out_line)) };
        put(out, fits::line(points, noise))
    })
}

/// A peak by the parabola through the highest point and its neighbors; noise must be above 0, for three points on a
/// parabola show none.
///
/// As oddheat_fit_line(), ERR_TOO_FEW below three, ERR_AT_END, ERR_BELOW_NOISE, ERR_NO_FIT for a plateau.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_fit_peak(
    points: *const Point,
    count: usize,
    noise: f64,
    out_peak: *mut Peak,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (points, out) = unsafe { (array(points, count)?, exclusive(out_peak)) };
        put(out, fits::parabola(points, noise))
    })
}

/// A peak by least squares with a Gaussian on a known base: a thin hot line seen through optics is one.
///
/// As oddheat_fit_line(), ERR_TOO_FEW below five or with fewer than four above a third of the height, ERR_AT_END,
/// ERR_BELOW_NOISE, ERR_TOO_SHORT unless the width is determined to a quarter, ERR_NO_FIT. Cost: 40,000 to 400,000
/// instructions a point without a floating-point unit.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_fit_gaussian(
    points: *const Point,
    count: usize,
    base: f64,
    noise: f64,
    out_peak: *mut Peak,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (points, out) = unsafe { (array(points, count)?, exclusive(out_peak)) };
        put(out, fits::gaussian(points, base, noise))
    })
}

/// The one step of a profile whose first and last quarter are level; points in order of place.
///
/// As oddheat_fit_line(), ERR_TOO_FEW below eight, ERR_BELOW_NOISE, ERR_NO_FIT if a quarter is off its level by a quarter of
/// the step or the values go back and forth, ERR_AT_END outside the middle half. An even slope passes for a wide edge: look
/// at the width.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_fit_edge(
    points: *const Point,
    count: usize,
    noise: f64,
    out_edge: *mut Edge,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (points, out) = unsafe { (array(points, count)?, exclusive(out_edge)) };
        put(out, fits::edge(points, noise))
    })
}

/// An approach to an unknown end value, such as the time constant of a part that warms up or cools.
///
/// As oddheat_fit_line(), ERR_TOO_FEW below six, ERR_BELOW_NOISE, ERR_AS_STRAIGHT if not even an end value shows,
/// ERR_TOO_SHORT unless the constant is determined to a quarter, ERR_NO_FIT. Cost: 100,000 to 200,000 instructions a point
/// without a floating-point unit.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_fit_exponential(
    points: *const Point,
    count: usize,
    noise: f64,
    out_exponential: *mut Exponential,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (points, out) = unsafe { (array(points, count)?, exclusive(out_exponential)) };
        put(out, fits::exponential(points, noise))
    })
}

/// A decay to a known base along a line, such as heat that leaks along a cable from a warm joint. The uncertainty of the
/// base is carried into both results.
///
/// As oddheat_fit_line(), ERR_TOO_FEW below five or with fewer than three that stand out, ERR_BELOW_NOISE,
/// ERR_NOT_DECAYING, ERR_TOO_SHORT unless the length is determined to a quarter, ERR_NO_FIT. Cost: 100,000 to 150,000
/// instructions a point without a floating-point unit, four times that if the form is another.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_fit_decay(
    points: *const Point,
    count: usize,
    base: *const Estimate,
    noise: f64,
    out_decay: *mut Decay,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (points, base, out) = unsafe { (array(points, count)?, shared(base)?, exclusive(out_decay)) };
        put(out, fits::decay(points, base, noise))
    })
}

/// Where a series changes its slope, such as a hose when a thermostat opens; points in order of place.
///
/// As oddheat_fit_line(), ERR_TOO_FEW below eight, ERR_AS_STRAIGHT, ERR_NO_FIT for a jump or a faint turn. Cost: the square
/// of the points, 25 million instructions for 64 of them without a floating-point unit.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_fit_knee(
    points: *const Point,
    count: usize,
    noise: f64,
    out_knee: *mut Knee,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (points, out) = unsafe { (array(points, count)?, exclusive(out_knee)) };
        put(out, fits::knee(points, noise))
    })
}

// ---- Pictures ----

/// A display. Lives at the start of the caller's block; never dereference it.
pub struct OddheatDisplay {
    _private: [u8; 0],
}

/// Colors of a display. Static storage, nothing to free; never dereference it. May be kept and compared.
pub struct OddheatPalette {
    _private: [u8; 0],
}

// The arrays follow the head in the order bins, row before, wide row, tones: that of their alignment, 4 before 2 before 1.
const _: () = {
    assert!(size_of::<DisplayHead>() <= DISPLAY_MEM_HEAD && align_of::<DisplayHead>() <= MEM_ALIGN);
    assert!(DISPLAY_MEM_HEAD.is_multiple_of(8) && DISPLAY_MEM_PER_BIN == size_of::<u32>());
    assert!(DISPLAY_MEM_PER_COLUMN == size_of::<u16>() && DISPLAY_MEM_PER_WIDE_COLUMN == size_of::<u16>() + 1);
};

/// Offsets of the arrays behind the head, and the end: bins, row before, wide row, tones.
fn display_offsets(sizes: DisplaySizes) -> [usize; 5] {
    // At most 256 KiB, 128 KiB and 12 MiB.
    let before = DISPLAY_MEM_HEAD + usize::from(sizes.bins) * size_of::<u32>();
    let wide = before + usize::from(sizes.width) * size_of::<u16>();
    let tones = wide + sizes.wide() * size_of::<u16>();
    [DISPLAY_MEM_HEAD, before, wide, tones, tones + sizes.wide()]
}

/// The parts of a display's block.
///
/// # Safety
/// `block` is aligned, as large as `sizes` need, and its contents were initialized with these sizes.
unsafe fn display_parts<'m>(block: *mut u8, sizes: DisplaySizes) -> Display<'m> {
    let [bins, before, wide, tones, _] = display_offsets(sizes);
    // SAFETY: by the function's contract the parts lie inside the block, are initialized and do not overlap.
    unsafe {
        Display {
            head: &mut *block.cast(),
            bins: slice::from_raw_parts_mut(block.add(bins).cast(), usize::from(sizes.bins)),
            before: slice::from_raw_parts_mut(block.add(before).cast(), usize::from(sizes.width)),
            wide: slice::from_raw_parts_mut(block.add(wide).cast(), sizes.wide()),
            tones: slice::from_raw_parts_mut(block.add(tones), sizes.wide()),
        }
    }
}

/// The display behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`oddheat_display_init`].
unsafe fn display<'m>(handle: *mut OddheatDisplay) -> Outcome<Display<'m>> {
    let head = checked(handle.cast::<DisplayHead>())?;
    // SAFETY: aligned, and the caller vouches for the memory; only these plain integers are read before the check.
    let (magic, sizes) = unsafe { ((*head.as_ptr()).magic, (*head.as_ptr()).sizes) };
    if magic != DISPLAY_MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that oddheat_display_init set the block up with these sizes.
    Ok(unsafe { display_parts(head.as_ptr().cast(), sizes) })
}

/// The colors behind a handle, or none for NULL.
///
/// # Safety
/// As in the module's documentation; `handle` came from a function of this library.
unsafe fn colors(handle: *const OddheatPalette) -> Outcome<Option<&'static Colors>> {
    if handle.is_null() {
        return Ok(None);
    }
    let colors = checked(handle.cast::<Colors>().cast_mut())?;
    // SAFETY: aligned, and the caller vouches for the memory; only this plain integer is read before the check.
    if unsafe { (*colors.as_ptr()).magic } != COLORS_MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that it is one of the statics of this library.
    Ok(Some(unsafe { colors.as_ref() }))
}

fn display_sizes(config: &DisplayConfig) -> Outcome<DisplaySizes> {
    convert::sized::<DisplayConfig>(config.struct_size)?;
    same_abi(config.abi_version)?;
    display::sizes(config)
}

/// Bytes for these sizes, a multiple of 8; the same as the header's ODDHEAT_DISPLAY_MEM_SIZE.
fn display_bytes(sizes: DisplaySizes) -> usize {
    let [.., end] = display_offsets(sizes);
    end.next_multiple_of(8)
}

/// Cividis (Nunez, Anderton, Renslow 2018): dark blue to yellow, for every kind of color vision. Never NULL. An image
/// contains the palettes whose functions it calls, 1280 bytes each, and no other. Pixels without a reading are dark green,
/// those below the range cyan and those above it magenta, in every palette.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_palette_cividis() -> *const OddheatPalette {
    (&raw const CIVIDIS_COLORS).cast()
}

/// Viridis (Smith, van der Walt, Firing 2015): violet through green to yellow.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_palette_viridis() -> *const OddheatPalette {
    (&raw const VIRIDIS_COLORS).cast()
}

/// Gray: even steps from black to white.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_palette_gray() -> *const OddheatPalette {
    (&raw const GRAY_COLORS).cast()
}

/// Vik (Crameri 2018): blue through white to red, for differences about the middle of the range.
#[must_use]
#[unsafe(no_mangle)]
pub extern "C" fn oddheat_palette_vik() -> *const OddheatPalette {
    (&raw const VIK_COLORS).cast()
}

/// Color of a tone, 0 to 255, as 0xRRGGBB: for a legend. Tones are those of ODDHEAT_PIXEL_TONE.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE if palette is none, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation; `palette` came from a function of this library.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_palette_color(
    palette: *const OddheatPalette,
    tone: u32,
    out_rgb888: *mut u32,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (colors, out) = unsafe { (colors(palette)?.ok_or(Status::ErrNull)?, exclusive(out_rgb888)) };
        put(out, display::color(colors, tone))
    })
}

/// Fills *config with defaults for frames of width_px columns: no enlargement, an automatic range. Call it through
/// oddheat_display_config_init(), which passes the sizes and versions of the header.
///
/// ERR_NULL, ERR_MEM_ALIGN; ERR_UNSUPPORTED or ERR_ABI if header and library differ. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_display_config_init_sized(
    config: *mut DisplayConfig,
    struct_size: u32,
    abi_version: u32,
    width_px: u16,
) -> Status {
    status(|| {
        let config = checked(config)?;
        convert::sized::<DisplayConfig>(struct_size)?;
        same_abi(abi_version)?;
        // SAFETY: not NULL, aligned; the caller vouches for the memory, which need not be initialized.
        unsafe { config.write(DisplayConfig { struct_size, abi_version, width_px, ..DisplayConfig::DEFAULT }) };
        Ok(())
    })
}

/// Bytes of memory that a display with these settings needs; the same as ODDHEAT_DISPLAY_MEM_SIZE(width_px, zoom, bins).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_UNSUPPORTED, ERR_ABI. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_display_mem_size(config: *const DisplayConfig, out_bytes: *mut usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (shared(config)?, exclusive(out_bytes)?) };
        *out = display_bytes(display_sizes(config)?);
        Ok(())
    })
}

/// Builds a display in mem, as oddheat_init() does a device. Per frame its rows through oddheat_display_row(), then
/// oddheat_display_end_frame(), which lets the range follow the scene: the first frame is shown over all readings, every
/// other by what the frames before it spanned. A scene that stands still keeps its colors to the last bit.
///
/// On error *out_display is untouched and what mem holds is undefined.
///
/// As oddheat_display_mem_size(), plus ERR_MEM_TOO_SMALL. Context: not from an interrupt. Cost: one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_display_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const DisplayConfig,
    out_display: *mut *mut OddheatDisplay,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (shared(config)?, exclusive(out_display)?) };
        let bytes = display_bytes(display_sizes(config)?);
        let block = checked(mem.cast::<DisplayHead>())?;
        if mem_size < bytes {
            return Err(Status::ErrMemTooSmall);
        }
        let head = DisplayHead::new(config)?;
        // SAFETY: the block is aligned and large enough (checked above) and the caller's to give. Behind the head are arrays
        // of integers, of which zeros are values.
        unsafe {
            block.cast::<u8>().write_bytes(0, bytes);
            block.write(head);
        }
        *out = mem.cast();
        Ok(())
    })
}

/// Shows the next row of counts, top row first: writes *out_rows rows of the picture to pixels, each width_px times zoom
/// pixels of format ODDHEAT_PIXEL_... without a gap. In blocks that is zoom rows for each row; interpolated, half of them
/// come later, the last ones with oddheat_display_end_frame(). pixels has room for zoom rows. palette may be NULL for
/// tones; palette and format may change from row to row.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_SIZE unless width_px is the config's and pixels has the room.
/// Context: one thread per display. Cost: 38 instructions for each pixel of the picture, 8 in blocks of 4; 17 for each one that
/// counts for the range.
///
/// # Safety
/// See the module's documentation; `palette` came from a function of this library.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_display_row(
    display: *mut OddheatDisplay,
    palette: *const OddheatPalette,
    format: u32,
    counts: *const u16,
    width_px: usize,
    pixels: *mut u8,
    pixels_size: usize,
    out_rows: *mut u32,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers; row and outputs must not overlap the block or each other.
        let (mut display, colors, row, pixels, out) = unsafe {
            let (row, pixels) = (array(counts, width_px)?, array_mut(pixels, pixels_size)?);
            (self::display(display)?, colors(palette)?, row, pixels, exclusive(out_rows)?)
        };
        *out = display.row(row, format, colors, pixels)?;
        Ok(())
    })
}

/// Ends a frame: writes the *out_rows rows of the picture that are left, as oddheat_display_row(), and lets the range follow
/// the scene. In blocks none are left, and pixels may be NULL with pixels_size 0.
///
/// As oddheat_display_row(), ERR_ORDER without a row. Cost: linear in the bins.
///
/// # Safety
/// See the module's documentation; `palette` came from a function of this library.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_display_end_frame(
    display: *mut OddheatDisplay,
    palette: *const OddheatPalette,
    format: u32,
    pixels: *mut u8,
    pixels_size: usize,
    out_rows: *mut u32,
) -> Status {
    status(|| {
        // SAFETY: as above.
        let (mut display, colors, pixels, out) = unsafe {
            let pixels = array_mut(pixels, pixels_size)?;
            (self::display(display)?, colors(palette)?, pixels, exclusive(out_rows)?)
        };
        *out = display.end_frame(format, colors, pixels)?;
        Ok(())
    })
}

/// Sets the range from now on, in counts; see oddheat_counts_at(). Both 0: it follows the scene, at once with the next
/// oddheat_display_end_frame().
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE unless both are readings and low is below high. Context: one thread
/// per display. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_display_set_range(
    display: *mut OddheatDisplay,
    low_counts: u16,
    high_counts: u16,
) -> Status {
    // SAFETY: the caller vouches for the handle.
    status(|| unsafe { self::display(display) }?.set_range(low_counts, high_counts))
}

/// The range that rows are shown with now, in counts: for a legend, through oddheat_temperature() of counts times 256.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE. Context: one thread per display. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_display_range(
    display: *mut OddheatDisplay,
    out_low_counts: *mut u16,
    out_high_counts: *mut u16,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (display, low, high) =
            unsafe { (self::display(display)?, exclusive(out_low_counts)?, exclusive(out_high_counts)?) };
        (*low, *high) = display.range();
        Ok(())
    })
}

/// Counts, not rounded, of an object at a temperature in K, above 0 and at most 2000. high is that of
/// oddheat_init_two_range(), or NULL.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_NO_TEMPERATURE, and what oddheat_init() or oddheat_init_two_range() finds wrong
/// with the config. Context: any. Cost: a few exponentials.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_counts_at(
    config: *const Config,
    high: *const TwoRange,
    kelvin: f64,
    out_counts: *mut f64,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (ranges, out) = unsafe { (ranges(config, high)?, exclusive(out_counts)) };
        put(out, display::counts_at(ranges, kelvin))
    })
}

// ---- Level, noise, thresholds by rule ----

/// Level and noise of frames. Lives at the start of the caller's block; never dereference it.
pub struct OddheatLevel {
    _private: [u8; 0],
}

const _: () = assert!(holds::<LevelHead>());

/// Bytes of memory for a level of so many bins, 2 to 65535 each; the same as ODDHEAT_LEVEL_MEM_SIZE(bins, noise_bins).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_level_mem_size(bins: u32, noise_bins: u32, out_bytes: *mut usize) -> Status {
    // SAFETY: the caller vouches for the pointer.
    status(|| put(unsafe { exclusive(out_bytes) }, level::bins(bins, noise_bins).map(block::bytes::<LevelHead>)))
}

/// Builds a level in mem: what rows look like where nothing is wrong, whatever hot and cold parts they hold. bins are those
/// of the counts; 256 are enough, as their window follows the scene. noise_bins are one count wide; 128 measure noise up to
/// 30 counts. Of config the width and what is dead or saturated count. Rows through oddheat_level_row(), every fourth of a
/// frame is enough; then oddheat_level_read() and oddheat_level_end_frame(). The first frame sets the window.
///
/// On error *out_level is untouched.
///
/// As oddheat_level_mem_size(), ERR_UNSUPPORTED, ERR_ABI, ERR_MEM_TOO_SMALL. Context: not from an interrupt. Cost: one pass
/// over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_level_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    bins: u32,
    noise_bins: u32,
    out_level: *mut *mut OddheatLevel,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        unsafe {
            let (config, out) = (described(config)?, exclusive(out_level)?);
            let count = level::bins(bins, noise_bins)?;
            *out = build(mem, mem_size, count, LevelHead::new(config, bins)?)?.cast();
        }
        Ok(())
    })
}

/// Takes a row of counts.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless width_px is the config's. Context: one thread per level. Cost: 47
/// instructions a pixel.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_level_row(level: *mut OddheatLevel, counts: *const u16, width_px: usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let ((head, bins), row) = unsafe { (opened::<LevelHead>(level.cast())?, array(counts, width_px)?) };
        head.row(bins, row)
    })
}

/// Median, scatter, noise and split of the rows since the last frame ended. Set out_figures->struct_size first.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_UNSUPPORTED. Context: one thread per level. Cost: some hundred instructions a
/// bin.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_level_read(level: *mut OddheatLevel, out_figures: *mut LevelFigures) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let ((head, bins), out) = unsafe { (opened::<LevelHead>(level.cast())?, exclusive(out_figures)?) };
        head.figures(bins, out)
    })
}

/// The counts times 256 below which so many thousandths of the readings lie; 500 is the median.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE above 1000, ERR_NO_SIGNAL if it lies outside the window or no row came.
/// Context: one thread per level. Cost: linear in the bins.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_level_quantile(
    level: *mut OddheatLevel,
    thousandths: u32,
    out_counts_q8: *mut u32,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let ((head, bins), out) = unsafe { (opened::<LevelHead>(level.cast())?, exclusive(out_counts_q8)) };
        put(out, head.quantile(bins, thousandths))
    })
}

/// Ends a frame: empties the level and puts its window where this frame lay.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE. Context: one thread per level. Cost: linear in the bins.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_level_end_frame(level: *mut OddheatLevel) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle.
        let (head, bins) = unsafe { opened::<LevelHead>(level.cast())? };
        head.end_frame(bins)
    })
}

/// Sets what counts as hot and as cold from the next frame on, as oddheat_set_thresholds(), by a rule around a level: its
/// median and noise as oddheat_level_read() gives them.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_UNSUPPORTED, ERR_RANGE, ERR_NO_TEMPERATURE if the level has none. Context: one
/// thread per device. Cost: two bisections of the table.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_set_thresholds_by_rule(
    device: *mut Oddheat,
    rule: *const Rule,
    level_q8: u32,
    noise_q8: u32,
    out_detection: *mut Detection,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut device, rule, out) = unsafe { (self::device(device)?, shared(rule)?, exclusive(out_detection)?) };
        *out = level::thresholds(&mut device, rule, level_q8, noise_q8)?;
        Ok(())
    })
}

// ---- Bands and rows of like places ----

/// Cuts the box of a tool into count bands of equal width to a pixel, 1 to 255, without gap or overlap: tools that are like it
/// but for their boxes, for oddheat_tools_place(). side_by_side is 1 for bands from left to right, 0 for bands from top to
/// bottom. The tool must not be one of out_tools.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_RANGE for another shape or number, or for more bands than there are pixels.
/// Context: any. Cost: some hundred instructions a band.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tool_bands(
    tool: *const Tool,
    side_by_side: u32,
    out_tools: *mut Tool,
    count: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (tool, out) = unsafe { (shared(tool)?, array_mut(out_tools, count)?) };
        tools::bands(tool, side_by_side, out)
    })
}

/// Puts count boxes of the size of a tool's evenly along a line, 1 to 255, the first where that is, the last of several with
/// its first column and row at last_x_px and last_y_px: tools that are like it but for their boxes, for oddheat_tools_place(),
/// which knows the frame. The tool must not be one of out_tools.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_UNSUPPORTED, ERR_RANGE for another shape or number, or for a box that would begin or end beyond
/// 65535. Context: any. Cost: some hundred instructions a box.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tool_row(
    tool: *const Tool,
    last_x_px: u32,
    last_y_px: u32,
    out_tools: *mut Tool,
    count: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (tool, out) = unsafe { (shared(tool)?, array_mut(out_tools, count)?) };
        tools::row_of(tool, (last_x_px, last_y_px), out)
    })
}

// ---- Before and after ----

/// What changed between before and after. Lives at the start of the caller's block; never dereference it.
pub struct OddheatChange {
    _private: [u8; 0],
}

const _: () = assert!(holds::<ChangeHead>());

/// Bytes of memory for a change in blocks of block_px * block_px pixels: 1, 2, 4 or 8; the same as
/// ODDHEAT_CHANGE_MEM_SIZE(width_px, height_px, block_px).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_UNSUPPORTED, ERR_ABI. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_change_mem_size(
    config: *const Config,
    block_px: u32,
    out_bytes: *mut usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (described(config)?, exclusive(out_bytes)) };
        let blocks = ChangeHead::new(config, block_px).and_then(|head| head.blocks());
        put(out, blocks.map(block::bytes::<ChangeHead>))
    })
}

/// Builds a change in mem: means of blocks of block_px * block_px pixels before something happened, such as a heater switched
/// on, and after it. Of config the size and what is dead or saturated count. Rows of frames through oddheat_change_row(), then
/// oddheat_change_read(). The view must stay as it is. Of a block, 32767 pixels are summed before
/// and as many after, which is 511 frames at 8 pixels a side; what comes later is left out. Call it again for the next change.
///
/// On error *out_change is untouched. As oddheat_change_mem_size(), plus ERR_MEM_TOO_SMALL. Context: not from an interrupt.
/// Cost: one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_change_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    block_px: u32,
    out_change: *mut *mut OddheatChange,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        unsafe {
            let (config, out) = (described(config)?, exclusive(out_change)?);
            let head = ChangeHead::new(config, block_px)?;
            *out = build(mem, mem_size, head.blocks()?, head)?.cast();
        }
        Ok(())
    })
}

/// Takes row y of a frame: after is 0 before the change, 1 after it. A dead or saturated count is left out, and of a block of
/// several pixels nothing more is said then.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_SIZE for another width or a row that the frame does not have.
/// Context: one thread per change. Cost: 21 instructions a pixel.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_change_row(
    change: *mut OddheatChange,
    after: u32,
    y: u32,
    counts: *const u16,
    width_px: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let ((head, blocks), row) = unsafe { (opened::<ChangeHead>(change.cast())?, array(counts, width_px)?) };
        head.row(blocks, after, y, row)
    })
}

/// Writes a row of blocks, count of them, as counts: after less before in 1/2^fraction_bits counts (up to 6), to the nearest,
/// around ODDHEAT_CHANGE_ZERO and from 1 to 65534; 0 where a block has none. Such rows go wherever rows of counts go: give 0 as
/// dead and 65535 as saturated count there.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_SIZE for another number of blocks or a row that there is not.
/// Context: one thread per change. Cost: two divisions a block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_change_read(
    change: *mut OddheatChange,
    row: u32,
    fraction_bits: u32,
    out_counts: *mut u16,
    count: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the array, which must not overlap the block.
        let ((head, blocks), out) = unsafe { (opened::<ChangeHead>(change.cast())?, array_mut(out_counts, count)?) };
        head.read(blocks, row, fraction_bits, out)
    })
}

// ---- Local level ----

/// The level of each part of a frame. Lives at the start of the caller's block; never dereference it.
pub struct OddheatLocal {
    _private: [u8; 0],
}

// Arrays follow the head in the order blocks, bands: the alignment of either falls from one to the next.
const _: () = {
    assert!(size_of::<LocalHead>() <= LOCAL_MEM_HEAD && LOCAL_MEM_HEAD.is_multiple_of(8));
    assert!(align_of::<LocalHead>() <= MEM_ALIGN);
    assert!(size_of::<LevelBlock>() == LOCAL_MEM_PER_BLOCK && size_of::<BandBins>() == LOCAL_MEM_PER_BAND);
    assert!(align_of::<LevelBlock>() <= 4 && align_of::<BandBins>() <= LOCAL_MEM_PER_BLOCK);
};

/// Where the bands begin, and the bytes of the block, a multiple of 8; the same as the header's ODDHEAT_LOCAL_MEM_SIZE.
fn local_layout(sizes: LocalSizes) -> Outcome<(usize, usize)> {
    let bands = LOCAL_MEM_HEAD + sizes.blocks as usize * LOCAL_MEM_PER_BLOCK;
    let bytes = (sizes.bands as usize).checked_mul(LOCAL_MEM_PER_BAND).and_then(|own| own.checked_add(bands));
    Ok((bands, bytes.and_then(|bytes| bytes.checked_next_multiple_of(8)).ok_or(Status::ErrRange)?))
}

/// The arrays of a local level.
///
/// # Safety
/// `block` is aligned, as large as `sizes` need, and its arrays were filled with these sizes.
unsafe fn local_memory<'m>(block: *mut u8, sizes: LocalSizes) -> Outcome<LocalMemory<'m>> {
    let (bands, _) = local_layout(sizes)?;
    // SAFETY: by the function's contract the arrays lie inside the block, are initialized and do not overlap.
    Ok(unsafe {
        LocalMemory {
            blocks: slice::from_raw_parts_mut(block.add(LOCAL_MEM_HEAD).cast(), sizes.blocks as usize),
            bands: slice::from_raw_parts_mut(block.add(bands).cast(), sizes.bands as usize),
        }
    })
}

/// The local level behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`oddheat_local_init`].
unsafe fn local<'m>(handle: *mut OddheatLocal) -> Outcome<Local<'m>> {
    let head = checked(handle.cast::<LocalHead>())?.as_ptr();
    // SAFETY: aligned, and the caller vouches for the memory; only plain integers are read before the check.
    let (magic, sizes) = unsafe { ((*head).magic, (*head).sizes) };
    if magic != LOCAL_MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that oddheat_local_init set the block up with these sizes.
    Ok(unsafe { Local { state: &mut (*head).state, memory: local_memory(head.cast(), sizes)? } })
}

/// Bytes of memory for a local level in blocks of about side_px * side_px pixels, 4 to 128 a side; for a frame of at least a
/// block either way the same as ODDHEAT_LOCAL_MEM_SIZE(width_px, height_px, side_px).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_UNSUPPORTED, ERR_ABI. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_local_mem_size(config: *const Config, side_px: u32, out_bytes: *mut usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (described(config)?, exclusive(out_bytes)) };
        put(out, local::grid(config, side_px).and_then(|(_, sizes)| local_layout(sizes)).map(|(_, bytes)| bytes))
    })
}

/// Builds a local level in mem: the median of each block of about side_px * side_px pixels of the frames before, for scenes in
/// which one threshold does not do. A part larger than half a block is taken for what surrounds it: make the side half as
/// large again as what is sought. Per row of a frame, oddheat_local_correct() on a copy of it, which is then scanned, and
/// oddheat_local_row() with the row as it came. Half a block from the border the level stays as it is there, so a slope shows
/// again. When the scene jumps, the level follows within some six frames and is off until then. Of config the size, up to
/// 4096 a side, and what is dead or saturated count.
///
/// On error *out_local is untouched and what mem holds is undefined. As oddheat_local_mem_size(), plus ERR_MEM_TOO_SMALL.
/// Context: not from an interrupt. Cost: one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_local_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    side_px: u32,
    out_local: *mut *mut OddheatLocal,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, out) = unsafe { (described(config)?, exclusive(out_local)?) };
        let (settings, sizes) = local::grid(config, side_px)?;
        let head = checked(mem.cast::<LocalHead>())?.as_ptr();
        let (bands, bytes) = local_layout(sizes)?;
        if mem_size < bytes {
            return Err(Status::ErrMemTooSmall);
        }
        let start = head.cast::<u8>();
        // SAFETY: the block is aligned and large enough (checked above) and the caller's to give; the offsets keep the
        // alignment of either array (asserted above), and every byte that `local_memory` hands out is written first.
        unsafe {
            fill(start.add(LOCAL_MEM_HEAD), sizes.blocks, LevelBlock::EMPTY);
            fill(start.add(bands), sizes.bands, BandBins::EMPTY);
            let state = local::state(config, settings, local_memory(start, sizes)?)?;
            head.write(LocalHead { magic: LOCAL_MAGIC, sizes, state });
        }
        *out = start.cast();
        Ok(())
    })
}

/// Takes the next row of a frame, as it came; the last one ends the frame.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless width_px is the config's. Context: one thread per local level. Cost:
/// 23 instructions a pixel.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_local_row(local: *mut OddheatLocal, counts: *const u16, width_px: usize) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let (mut local, row) = unsafe { (self::local(local)?, array(counts, width_px)?) };
        local.row(row)
    })
}

/// Writes 1 if the level of every block is known, so that rows can be corrected, else 0: a few frames more are needed. A block
/// without readings has that of a neighbor. What is known once stays known, even if the scene jumps.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE. Context: one thread per local level. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_local_is_settled(local: *mut OddheatLocal, out_settled: *mut u32) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (mut local, out) = unsafe { (self::local(local)?, exclusive(out_settled)?) };
        *out = u32::from(local.is_settled());
        Ok(())
    })
}

/// Takes the local level off row y, in place, and puts level_counts, such as the median of all, in its stead. What is dead or
/// saturated stays as it is, and what is not does not become so.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE, ERR_ORDER until the level is settled, ERR_SIZE for another width or a
/// row that the frame does not have. Context: one thread per local level. Cost: 28 instructions a pixel.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_local_correct(
    local: *mut OddheatLocal,
    y: u32,
    level_counts: u32,
    counts: *mut u16,
    width_px: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let (mut local, row) = unsafe { (self::local(local)?, array_mut(counts, width_px)?) };
        local.correct(y, level_counts, row)
    })
}

/// A pointer that may be NULL.
///
/// # Safety
/// As in the module's documentation, for the lifetime `'a`.
unsafe fn optional<'a, T>(pointer: *const T) -> Outcome<Option<&'a T>> {
    // SAFETY: the caller vouches for the pointer.
    if pointer.is_null() { Ok(None) } else { unsafe { shared(pointer).map(Some) } }
}

/// A config whose size and version fit this library, with the high range of two or NULL.
///
/// # Safety
/// As in the module's documentation, for the lifetime `'a`.
unsafe fn ranges<'a>(config: *const Config, high: *const TwoRange) -> Outcome<Ranges<'a>> {
    // SAFETY: the caller vouches for the pointers.
    unsafe { Ok(Ranges { config: described(config)?, high: optional(high)? }) }
}

/// A config whose size and version fit this library.
///
/// # Safety
/// As in the module's documentation, for the lifetime `'a`.
unsafe fn described<'a>(config: *const Config) -> Outcome<&'a Config> {
    // SAFETY: the caller vouches for the pointer.
    let config = unsafe { shared(config)? };
    sizes(config)?;
    Ok(config)
}

/// Regions over time. Lives at the start of the caller's block; never dereference it.
pub struct OddheatTracker {
    _private: [u8; 0],
}

// Arrays follow the head in the order tracks, regions, lines, reference, so that each is aligned.
const _: () = {
    assert!(size_of::<TrackerHead>() <= TRACKER_MEM_HEAD && TRACKER_MEM_HEAD.is_multiple_of(8));
    assert!(align_of::<TrackerHead>() <= MEM_ALIGN);
    assert!(size_of::<core_track::Track>() <= TRACKER_MEM_PER_TRACK && TRACKER_MEM_PER_TRACK.is_multiple_of(8));
    assert!(align_of::<core_track::Track>() <= 8 && align_of::<regions::Region>() <= 8);
    assert!(size_of::<regions::Region>() <= TRACKER_MEM_PER_REGION && TRACKER_MEM_PER_REGION.is_multiple_of(8));
    assert!(size_of::<core_track::ProfileSlot>() == 8 && TRACKER_MEM_PER_LINE == 8 + size_of::<i16>());
};

/// Bytes for these sizes, a multiple of 8; the same as the header's ODDHEAT_TRACKER_MEM_SIZE.
fn tracker_bytes(sizes: TrackerSizes) -> usize {
    let [tracks, regions, lines] = [sizes.tracks, sizes.regions, sizes.lines].map(|count| count as usize);
    let arrays = tracks * TRACKER_MEM_PER_TRACK + regions * TRACKER_MEM_PER_REGION + lines * TRACKER_MEM_PER_LINE;
    (TRACKER_MEM_HEAD + arrays).next_multiple_of(8)
}

/// Where the arrays lie behind the head.
fn tracker_offsets(sizes: TrackerSizes) -> [usize; 4] {
    let regions = TRACKER_MEM_HEAD + sizes.tracks as usize * TRACKER_MEM_PER_TRACK;
    let lines = regions + sizes.regions as usize * TRACKER_MEM_PER_REGION;
    [TRACKER_MEM_HEAD, regions, lines, lines + sizes.lines as usize * size_of::<core_track::ProfileSlot>()]
}

/// The arrays of a tracker.
///
/// # Safety
/// `block` is aligned, as large as `sizes` need, and its arrays were filled with these sizes.
unsafe fn tracker_memory<'m>(block: *mut u8, sizes: TrackerSizes) -> Memory<'m> {
    let [tracks, regions, lines, reference] = tracker_offsets(sizes);
    // SAFETY: by the function's contract the arrays lie inside the block, are initialized and do not overlap.
    unsafe {
        Memory {
            tracks: slice::from_raw_parts_mut(block.add(tracks).cast(), sizes.tracks as usize),
            regions: slice::from_raw_parts_mut(block.add(regions).cast(), sizes.regions as usize),
            lines: slice::from_raw_parts_mut(block.add(lines).cast(), sizes.lines as usize),
            reference: slice::from_raw_parts_mut(block.add(reference).cast(), sizes.lines as usize),
        }
    }
}

/// The tracker behind a handle.
///
/// # Safety
/// As in the module's documentation; `handle` came from [`oddheat_tracker_init`].
unsafe fn following<'m>(handle: *mut OddheatTracker) -> Outcome<Following<'m>> {
    let head = checked(handle.cast::<TrackerHead>())?.as_ptr();
    // SAFETY: aligned, and the caller vouches for the memory; only plain integers are read before the check.
    let (magic, sizes) = unsafe { ((*head).magic, (*head).sizes) };
    if magic != TRACKER_MAGIC {
        return Err(Status::ErrBadState);
    }
    // SAFETY: the magic number says that oddheat_tracker_init set the block up with these sizes.
    Ok(unsafe { Following { states: &mut (*head).states, memory: tracker_memory(head.cast(), sizes) } })
}

/// Sizes from C.
fn tracker_sizes(config: &Config, settings: &TrackerConfig) -> Outcome<TrackerSizes> {
    sizes(config)?;
    track::sizes(config, settings)
}

/// Bytes of memory that following the regions of a device with this config needs; the same as
/// ODDHEAT_TRACKER_MEM_SIZE(width_px, height_px, regions_max, tracks_max).
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_RANGE, ERR_UNSUPPORTED, ERR_ABI. Context: any. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tracker_mem_size(
    config: *const Config,
    settings: *const TrackerConfig,
    out_bytes: *mut usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, settings, out) = unsafe { (shared(config)?, shared(settings)?, exclusive(out_bytes)?) };
        *out = tracker_bytes(tracker_sizes(config, settings)?);
        Ok(())
    })
}

/// Builds a tracker in mem for the regions of a device with this config. mem stays the caller's and must outlive it; there is
/// nothing to free. Between calls the block may be moved; the handle is its address.
///
/// Frame by frame: give all rows to oddheat_tracker_row(), or none, then the regions to oddheat_tracker_frame(). With rows it
/// is found how far the image moved, so that a region that stays on the part can be told from one that slides over it with
/// the viewer.
///
/// On error *out_tracker is untouched and what mem holds is undefined. As oddheat_tracker_mem_size(), plus
/// ERR_MEM_TOO_SMALL. Context: not from an interrupt. Cost: one pass over the block.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tracker_init(
    mem: *mut c_void,
    mem_size: usize,
    config: *const Config,
    settings: *const TrackerConfig,
    out_tracker: *mut *mut OddheatTracker,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the pointers.
        let (config, settings, out) = unsafe { (shared(config)?, shared(settings)?, exclusive(out_tracker)?) };
        let sizes = tracker_sizes(config, settings)?;
        let head = checked(mem.cast::<TrackerHead>())?.as_ptr();
        if mem_size < tracker_bytes(sizes) {
            return Err(Status::ErrMemTooSmall);
        }
        let start = head.cast::<u8>();
        let [tracks, regions, lines, reference] = tracker_offsets(sizes);
        // SAFETY: the block is aligned and large enough (checked above) and the caller's to give; the offsets keep the
        // alignment of each array (asserted above), and every byte that `tracker_memory` hands out is written first.
        unsafe {
            fill(start.add(tracks), sizes.tracks, core_track::Track::EMPTY);
            fill(start.add(regions), sizes.regions, regions::Region::EMPTY);
            fill(start.add(lines), sizes.lines, core_track::ProfileSlot::EMPTY);
            fill(start.add(reference), sizes.lines, 0i16);
            let states = States::new(config, settings, tracker_memory(start, sizes))?;
            head.write(TrackerHead { magic: TRACKER_MAGIC, sizes, states });
        }
        *out = start.cast();
        Ok(())
    })
}

/// Between frames: counts beyond these are left out where it is found how far the image moved, so that what is to be judged
/// does not steer that. The 5th and 95th percentile serve, see oddheat_level_quantile(); 65535 and 0 leave nothing out, as in
/// the beginning.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_ORDER inside a frame, ERR_RANGE if cold_below_counts exceeds
/// hot_above_counts. Context: one thread per tracker. Cost: constant.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tracker_set_clip(
    tracker: *mut OddheatTracker,
    hot_above_counts: u16,
    cold_below_counts: u16,
) -> Status {
    // SAFETY: the caller vouches for the handle.
    status(|| unsafe { following(tracker) }?.clip(hot_above_counts, cold_below_counts))
}

/// Takes the next row of counts of the frame, top row first.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_SIZE unless width_px is the config's, or for a row too many.
/// Context: one thread per tracker. Cost: linear in the row.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tracker_row(
    tracker: *mut OddheatTracker,
    counts: *const u16,
    width_px: usize,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle and the row, which must not overlap the block.
        let (mut following, row) = unsafe { (self::following(tracker)?, array(counts, width_px)?) };
        following.row(row)
    })
}

/// Ends a frame: takes its regions, strongest first as oddheat_regions() gives them, up to regions_max of the config. On
/// error nothing has changed.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_ORDER unless all rows came or none, ERR_SIZE for more regions,
/// ERR_RANGE for a region that no frame of this size has, ERR_TIME if the frame is older than the last.
/// Context: one thread per tracker. Cost: regions times tracks, and with rows a correlation over the reach.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tracker_frame(
    tracker: *mut OddheatTracker,
    regions: *const Region,
    regions_count: usize,
    time_ms: u32,
    out_tracked: *mut Tracked,
) -> Status {
    status(|| {
        // SAFETY: the caller vouches for the handle, the regions and the output, which must not overlap the block.
        let (mut following, regions, out) =
            unsafe { (self::following(tracker)?, array(regions, regions_count)?, exclusive(out_tracked)?) };
        *out = following.frame(regions, time_ms)?;
        Ok(())
    })
}

/// The tracks after the last frame, in no particular order. Writes up to tracks_cap of them; tracks may be NULL if that is 0;
/// *out_found may exceed what was written. stepped_aside is 1 if the viewer is known to have moved sideways, rather than
/// turned the instrument: only then can a region be said to stay on the part.
///
/// ERR_NULL, ERR_MEM_ALIGN, ERR_BAD_STATE, ERR_RANGE for another stepped_aside than 0 and 1.
/// Context: one thread per tracker. Cost: linear in the tracks.
///
/// # Safety
/// See the module's documentation.
#[must_use]
#[unsafe(no_mangle)]
pub unsafe extern "C" fn oddheat_tracker_tracks(
    tracker: *mut OddheatTracker,
    stepped_aside: u32,
    tracks: *mut Track,
    tracks_cap: usize,
    out_found: *mut u32,
) -> Status {
    status(|| {
        if stepped_aside > 1 {
            return Err(Status::ErrRange);
        }
        // SAFETY: the caller vouches for the handle and the outputs, which must not overlap the block.
        let (mut following, out, found) =
            unsafe { (self::following(tracker)?, array_mut(tracks, tracks_cap)?, exclusive(out_found)?) };
        *found = following.tracks(stepped_aside == 1, |i, track| {
            if let Some(out) = out.get_mut(i) {
                *out = track;
            }
        });
        Ok(())
    })
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
