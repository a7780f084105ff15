//! What crosses the border for the repair of a sensor.

use core::mem::{offset_of, size_of};

/// Bytes of a sensor's block that any sensor takes.
pub const SENSOR_MEM_HEAD: usize = 1024;
/// Bytes for each pixel and each step that keeps something per pixel: correction, smoothing, shutter.
pub const SENSOR_MEM_PER_PIXEL_STEP: usize = 4;
/// Bytes for each column.
pub const SENSOR_MEM_PER_COLUMN: usize = 12;
/// Bytes for each bad pixel that may be listed or found.
pub const SENSOR_MEM_PER_BAD_PIXEL: usize = 8;
/// Bytes for each pixel watched at a time.
pub const SENSOR_MEM_PER_WATCH: usize = 20;
/// Bytes of the block of a uniform run that any run takes.
pub const RUN_MEM_HEAD: usize = 32;
/// Bytes for each pixel of a uniform run.
pub const RUN_MEM_PER_PIXEL: usize = 16;

/// Settings of a sensor's repair. Start from oddheat_sensor_config_init(); zero means the documented default.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct SensorConfig {
    /// Set by oddheat_sensor_config_init().
    pub struct_size: u32,
    /// Set by oddheat_sensor_config_init().
    pub abi_version: u32,
    /// Columns of a frame, 1 to 65535.
    pub width_px: u16,
    /// Rows of a frame, 1 to 65535.
    pub height_px: u16,
    /// Counts at or below this are dead pixels.
    pub dead_at_or_below_counts: u16,
    /// Counts at or above this are saturated; 0 = 65535.
    pub saturated_at_counts: u16,
    /// Bad pixels that may be listed and found; 0 = 64.
    pub bad_pixels_max: u16,
    /// Pixels watched at a time for new bad ones, 16 to 64 are sensible; 0 = none.
    pub watch_slots: u16,
    /// Frames of one watch, 8 to 1000; 0 = 32.
    pub watch_frames: u16,
    /// Counts by which a pixel goes beyond its neighbors when it blinks, about five times the noise; 0 = 60.
    pub watch_excursion_counts: u16,
    /// Most counts of column noise, 1 to 4096; what stands out further is scene. 0 = no column correction.
    pub column_limit_counts: u16,
    /// Columns up to which a vertical structure may be column noise, 1 to 7; 0 = 2.
    pub column_reach_px: u16,
    /// A frame moves the column offsets 1/2 to the power of this, 1 to 12; 0 = 5.
    pub column_slowness: u16,
    /// Smoothing with a time constant of 2 to the power of this in frames, 1 to 15; 0 = none.
    pub smoothing_shift: u16,
    /// 1 if gain and offset of each pixel are corrected, else 0.
    pub correction: u16,
    /// 1 if offsets are renewed from frames of a closed shutter, else 0; needs correction.
    pub shutter: u16,
    /// Counts of a step of the whole frame that is flagged; 0 = no monitor. Needs 32 columns.
    pub step_counts: u16,
    /// Must be 0.
    pub reserved: u16,
    /// Slope of the housing temperature in mK per minute up to which it is steady, at most 32767000; 0 = no monitor.
    pub warm_up_mk_per_minute: u32,
    /// Window of that slope in ms, 2 to 2147483648; 0 = 60000.
    pub warm_up_window_ms: u32,
}

/// Correction of one pixel: pivot + gain (counts - pivot) + offset.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct PixelCorrection {
    /// Gain times 16384, 0 to 31744.
    pub gain_q14: u16,
    /// Offset at the pivot in 1/16 count.
    pub offset_q4: i16,
}

/// A pixel that is replaced by its neighbors.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct BadPixel {
    /// Column.
    pub x_px: u16,
    /// Row.
    pub y_px: u16,
    /// ODDHEAT_DEFECT_KIND_...
    pub kind: u16,
    /// 0.
    pub reserved: u16,
}

/// A reading of a soak run in front of a constant scene.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct SoakPoint {
    /// Housing temperature in K.
    pub housing_kelvin: f64,
    /// Mean counts of the corrected frame.
    pub counts: f64,
}

/// What is to be known of a frame before its counts are judged.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct SensorFlags {
    /// sizeof(oddheat_sensor_flags), set by the caller.
    pub struct_size: u32,
    /// Pixels of the frame.
    pub pixels: u32,
    /// Pixels sent as dead.
    pub dead: u32,
    /// Pixels sent as saturated.
    pub saturated: u32,
    /// Bad pixels found by the watch in this frame; they were used in the frames before.
    pub found: u32,
    /// 1 if the housing temperature still changes, or is not yet known to be steady. 0 without a monitor.
    pub warming_up: u32,
    /// 1 if the drift model does not cover the housing temperature, or was not told it. 0 without a model.
    pub drift_unknown: u32,
    /// 1 if all of the frame stepped by the limit or more: a shutter event. 0 without a monitor.
    pub stepped: u32,
    /// By how much, in 1/16 count.
    pub step_q4: i32,
}

/// Means of an array over its good pixels, from two uniform runs.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct ArrayFigures {
    /// Response between the runs in 1/256 count.
    pub response_q8: u32,
    /// Temporal noise in 1/256 count.
    pub noise_q8: u32,
    /// Good pixels.
    pub good: u32,
    /// All pixels.
    pub pixels: u32,
}

/// Noise of an array and what it rests on.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct NoiseFigure {
    /// Noise equivalent temperature difference of one frame, K.
    pub netd_k: f64,
    /// Signal between the runs, counts.
    pub signal_counts: f64,
    /// Temporal noise of one frame, rms counts.
    pub noise_counts: f64,
}

/// The same on every target, so that one header serves all.
const _: () = {
    assert!(size_of::<SensorConfig>() == 48 && offset_of!(SensorConfig, warm_up_mk_per_minute) == 40);
    assert!(size_of::<PixelCorrection>() == 4 && size_of::<BadPixel>() == 8 && size_of::<SoakPoint>() == 16);
    assert!(size_of::<SensorFlags>() == 36 && size_of::<ArrayFigures>() == 16 && size_of::<NoiseFigure>() == 24);
};

impl SensorConfig {
    /// Everything zero.
    pub(crate) const DEFAULT: Self = Self {
        struct_size: 0,
        abi_version: 0,
        width_px: 0,
        height_px: 0,
        dead_at_or_below_counts: 0,
        saturated_at_counts: 0,
        bad_pixels_max: 0,
        watch_slots: 0,
        watch_frames: 0,
        watch_excursion_counts: 0,
        column_limit_counts: 0,
        column_reach_px: 0,
        column_slowness: 0,
        smoothing_shift: 0,
        correction: 0,
        shutter: 0,
        step_counts: 0,
        reserved: 0,
        warm_up_mk_per_minute: 0,
        warm_up_window_ms: 0,
    };
}
