//! What crosses the border for the level and the noise of a frame, and thresholds by rule.

use core::mem::{offset_of, size_of};

/// Bytes of the block of a level that any level takes.
pub const LEVEL_MEM_HEAD: usize = 96;
/// Bytes for each bin of either histogram.
pub const LEVEL_MEM_PER_BIN: usize = 4;

/// The median is known.
pub const LEVEL_HAS_MEDIAN: u32 = 1;
/// The scatter about the median is known.
pub const LEVEL_HAS_SCATTER: u32 = 2;
/// The noise of a pixel is known.
pub const LEVEL_HAS_NOISE: u32 = 4;
/// There is a split in two classes.
pub const LEVEL_HAS_SPLIT: u32 = 8;

/// What the rows of a frame look like where nothing is wrong. What is not known is 0: the window of the histogram did not
/// hold it, or too few rows came.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct LevelFigures {
    /// sizeof(oddheat_level_figures), set by the caller.
    pub struct_size: u32,
    /// Sum of the ODDHEAT_LEVEL_HAS_... that hold.
    pub known: u32,
    /// Readings, those outside the window included.
    pub readings: u32,
    /// Readings below the window.
    pub below: u32,
    /// Readings above the window.
    pub above: u32,
    /// Median in counts times 256.
    pub median_q8: u32,
    /// Median absolute deviation from it in counts times 256.
    pub deviation_q8: u32,
    /// Standard deviation of a normal distribution with that deviation: the scatter of the bulk.
    pub sigma_q8: u32,
    /// Noise of a pixel, whatever the scene, as a standard deviation in counts times 256.
    pub noise_q8: u32,
    /// Readings in the upper of the two classes.
    pub upper: u32,
    /// Counts above this belong to the upper class (Otsu).
    pub split_counts: u16,
    /// Variance between the classes over all of it, in thousandths: 637 of one normal distribution, 750 of an even one;
    /// clearly more speaks for two classes.
    pub separability: u16,
}

/// How far a pixel must stand out to count: the largest of k noise over the root of the frames, a floor for drift, and
/// what an uncertain emissivity makes of reflections. Zero means the documented default.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Rule {
    /// sizeof(oddheat_detection_rule).
    pub struct_size: u32,
    /// k, standard deviations of noise, up to 255; 0 = 3.
    pub sigmas: u32,
    /// Frames that are averaged after the noise was measured, up to 65535; 0 = 1.
    pub frames: u32,
    /// Least difference whatever the noise in mK; 0 = 300.
    pub floor_mk: u32,
    /// Relative standard uncertainty of the emissivity in thousandths, up to 1000; 0 leaves reflections out.
    pub emissivity_thousandths: u32,
    /// Reflected apparent temperature in mK; used with an emissivity uncertainty only.
    pub reflected_mk: i32,
}

/// Thresholds and why they lie there.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Detection {
    /// Least difference on either side of the level, kelvin times 65536.
    pub difference_q16: i32,
    /// What it came from, ODDHEAT_TERM_...
    pub term: u32,
    /// Counts above this are hot.
    pub hot_counts: u16,
    /// Counts below this are cold.
    pub cold_counts: u16,
}

/// The same on every target, so that one header serves all.
const _: () = {
    assert!(size_of::<LevelFigures>() == 44 && offset_of!(LevelFigures, split_counts) == 40);
    assert!(size_of::<Rule>() == 24 && size_of::<Detection>() == 12);
};
