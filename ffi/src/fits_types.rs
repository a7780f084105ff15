//! What crosses the border for line profiles, series and the fits on both. Doubles: all of it is closing arithmetic.

use crate::metrology_types::Estimate;
use core::mem::{offset_of, size_of};

/// Bytes of the block of a profile that any profile takes.
pub const PROFILE_MEM_HEAD: usize = 96;
/// Bytes for each sample of a profile.
pub const PROFILE_MEM_PER_SAMPLE: usize = 16;
/// Bytes of the block of a trace that any trace takes.
pub const TRACE_MEM_HEAD: usize = 64;
/// Bytes for each entry of a trace.
pub const TRACE_MEM_PER_ENTRY: usize = 8;

/// Where a line profile lies: samples a pixel apart from one point to another, 3 to 2047 pixels away, each averaged over
/// parallel lines a pixel apart. Points are in 1/256 pixel, with the centers of pixels at multiples of 256.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Line {
    /// sizeof(oddheat_line).
    pub struct_size: u32,
    /// Parallel lines, 1 to 31, half of them to either side.
    pub lines: u32,
    /// Column of the first point times 256.
    pub x0_q8: u32,
    /// Row of the first point times 256.
    pub y0_q8: u32,
    /// Column of the last point times 256.
    pub x1_q8: u32,
    /// Row of the last point times 256.
    pub y1_q8: u32,
}

/// A value at a place.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Point {
    /// Profile: pixels from the first point. Trace: seconds since the time 0.
    pub place: f64,
    /// Counts or kelvin, or whatever was put into a trace.
    pub value: f64,
}

/// A straight line. Its value at a place is level + slope (place - center); the variances of level and of
/// slope (place - center) add up.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct LineFit {
    /// Mean of the places.
    pub center: f64,
    /// Value there.
    pub level: Estimate,
    /// Value per place.
    pub slope: Estimate,
}

/// A peak.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Peak {
    /// Where it is.
    pub place: Estimate,
    /// Height over the base; by the parabola over 0.
    pub height: Estimate,
    /// Standard deviation of the Gaussian; by the parabola that of the Gaussian of the same height and curvature.
    pub width: Estimate,
}

/// A step from one level to another.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Edge {
    /// Where an ideal step of the same area would be; with an even blur where half the height is crossed.
    pub place: Estimate,
    /// Level before it.
    pub before: Estimate,
    /// Level behind it.
    pub behind: Estimate,
    /// Standard deviation of the blur; 0 if noise hides it.
    pub width: f64,
}

/// value = end + amplitude exp(-(place - first place) / constant).
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Exponential {
    /// Value that is approached.
    pub end: Estimate,
    /// Distance from it at the first point; negative when warming up.
    pub amplitude: Estimate,
    /// Time constant.
    pub constant: Estimate,
}

/// value = base + height exp(-(place - first place) / length).
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Decay {
    /// Height over the base at the first point.
    pub height: Estimate,
    /// Length over which it falls to 1/e.
    pub length: Estimate,
}

/// Two straight lines that meet.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Knee {
    /// Where they meet.
    pub place: Estimate,
    /// Value there.
    pub value: Estimate,
    /// Slope before.
    pub before: Estimate,
    /// Slope after.
    pub after: Estimate,
}

/// The same on every target, so that one header serves all.
const _: () = {
    assert!(size_of::<Line>() == 24 && size_of::<Point>() == 16 && size_of::<LineFit>() == 40);
    assert!(size_of::<Peak>() == 48 && size_of::<Edge>() == 56 && offset_of!(Edge, width) == 48);
    assert!(size_of::<Exponential>() == 48 && size_of::<Decay>() == 32 && size_of::<Knee>() == 64);
};
