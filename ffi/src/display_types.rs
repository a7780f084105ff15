//! What crosses the border for pictures on a display.

use core::mem::{offset_of, size_of};

/// Tones, 8 bits a pixel: 2 to 254 from the lower to the upper end of the range, 1 below it, 255 above it, 0 without a
/// reading. As a gray picture they can be shown as they are.
pub const PIXEL_TONE: u32 = 1;
/// RGB565, 16 bits a pixel, the high byte first as most display controllers take it.
pub const PIXEL_RGB565: u32 = 2;
/// RGB888, 24 bits a pixel: red, green, blue.
pub const PIXEL_RGB888: u32 = 3;

/// Bytes of a display's block that any display takes.
pub const DISPLAY_MEM_HEAD: usize = 128;
/// Bytes for each bin of the histogram that the range comes from.
pub const DISPLAY_MEM_PER_BIN: usize = 4;
/// Bytes for each column of a frame.
pub const DISPLAY_MEM_PER_COLUMN: usize = 2;
/// Bytes for each column of the picture, which is zoom times as wide.
pub const DISPLAY_MEM_PER_WIDE_COLUMN: usize = 3;

/// How rows of counts become a picture. Start from oddheat_display_config_init(); zero means the documented default.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct DisplayConfig {
    /// Set by oddheat_display_config_init().
    pub struct_size: u32,
    /// Set by oddheat_display_config_init().
    pub abi_version: u32,
    /// Columns of a frame, 1 to 65535.
    pub width_px: u16,
    /// Pixels of the picture for each one of the frame, along and across, 1 to 64; 0 = 1.
    pub zoom: u16,
    /// 1 if the picture is interpolated between pixels, 0 if each pixel becomes a block.
    pub smooth: u16,
    /// Counts at or below this are dead pixels.
    pub dead_at_or_below_counts: u16,
    /// Counts at or above this are saturated; 0 = 65535.
    pub saturated_at_counts: u16,
    /// Bins of the histogram that the automatic range comes from, 2 to 65535; 0 = 256.
    pub bins: u16,
    /// Every how many rows one counts for the automatic range; 0 = 4.
    pub every_rows: u16,
    /// Thousandths of the readings below the lower end of the automatic range; with the next one both 0 = 5 and 995.
    pub low_thousandths: u16,
    /// Thousandths of the readings below the upper end.
    pub high_thousandths: u16,
    /// Counts that the range spans at least; a few times the noise, or a kelvin. 0 = 32.
    pub least_span_counts: u16,
    /// An end of the range moves 1/2 to the power of this of the way per frame, 1 to 8; 0 = 2.
    pub slowness: u16,
    /// Must be 0.
    pub reserved: u16,
}

/// The same on every target, so that one header serves all.
const _: () = assert!(size_of::<DisplayConfig>() == 32 && offset_of!(DisplayConfig, slowness) == 28);

impl DisplayConfig {
    /// Everything zero.
    pub(crate) const DEFAULT: Self = Self {
        struct_size: 0,
        abi_version: 0,
        width_px: 0,
        zoom: 0,
        smooth: 0,
        dead_at_or_below_counts: 0,
        saturated_at_counts: 0,
        bins: 0,
        every_rows: 0,
        low_thousandths: 0,
        high_thousandths: 0,
        least_span_counts: 0,
        slowness: 0,
        reserved: 0,
    };
}
