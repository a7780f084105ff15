//! What crosses the border for measuring over shapes.

use core::mem::{offset_of, size_of};

/// One of several equal sectors of an annulus.
pub const SHAPE_SECTOR: u32 = 4;
/// Ellipse, rotated as wanted.
pub const SHAPE_ELLIPSE: u32 = 5;
/// Polygon of 3 to 16 vertices.
pub const SHAPE_POLYGON: u32 = 6;
/// Most vertices of a polygon.
pub const POLYGON_VERTICES_MAX: usize = 16;

/// Mean of all pixels, averaged over the frames.
pub const STATISTIC_MEAN: u32 = 1;
/// Median of all pixels of all frames.
pub const STATISTIC_MEDIAN: u32 = 2;
/// Coldest pixel of all frames. Of many noisy pixels it is colder than the surface by chance: a few times the noise.
pub const STATISTIC_MINIMUM: u32 = 3;
/// Hottest pixel of all frames; hotter than the surface by chance, likewise.
pub const STATISTIC_MAXIMUM: u32 = 4;
/// Mean without the pixels that differ from most: block tops of a tread without the grooves, a panel without its screws.
/// None where fewer than 60 percent are alike.
pub const STATISTIC_MAJORITY: u32 = 5;
/// Median of the hotter half of the pixels: the 75 percent quantile.
pub const STATISTIC_UPPER_HALF_MEDIAN: u32 = 6;
/// Median of a surface of which up to two fifths may be covered by something warmer.
pub const STATISTIC_COOLER_MEDIAN: u32 = 7;

/// No area was asked for.
pub const AREA_NONE: u32 = 0;
/// The area lies wholly inside the shape.
pub const AREA_WHOLE: u32 = 1;
/// The area reaches the border of the shape and may go on outside: a lower bound.
pub const AREA_AT_LEAST: u32 = 2;

/// Bytes of a block of measuring tools that any such block takes.
pub const TOOLS_MEM_HEAD: usize = 512;
/// Bytes for each tool.
pub const TOOLS_MEM_PER_TOOL: usize = 896;
/// Most like items that are compared with each other.
pub const ITEMS_MAX: usize = 64;

/// A vertex of a polygon, on the center of a pixel.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Vertex {
    /// Column, 0 to the width, the width included.
    pub x_px: u16,
    /// Row, 0 to the height, the height included.
    pub y_px: u16,
}

/// A shape to measure over. All zero but for struct_size, the shape and its numbers is enough.
///
/// A pixel belongs to a ring if its center lies from the inner to the outer radius away; to an ellipse if its center
/// lies in it or on it. Sector 0 begins at three o'clock and numbers grow clockwise; the sectors of a ring are the ring
/// without overlap. A polygon follows the even-odd rule: its left and upper edges are inside, right and lower ones
/// outside, so that polygons that share an edge share no pixel.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Tool {
    /// sizeof(oddheat_tool).
    pub struct_size: u32,
    /// ODDHEAT_SHAPE_...
    pub shape: u32,
    /// Center column. Box: first column. Polygon: unused.
    pub x_px: u16,
    /// Center row. Box: first row. Polygon: unused.
    pub y_px: u16,
    /// Spot: side, odd. Box: last column. Ring and sector: inner radius. Ellipse: length of the other semi-axis, 1 to 1023.
    pub a_px: u16,
    /// Box: last row. Ring and sector: outer radius.
    pub b_px: u16,
    /// Ellipse: columns from the center to the end of one semi-axis, which is 1 to 1023 pixels long.
    pub axis_x_px: i16,
    /// Ellipse: rows from the center to the end of that semi-axis.
    pub axis_y_px: i16,
    /// Sector: which, below sectors.
    pub sector: u16,
    /// Sector: how many there are in the ring, 3 to 64.
    pub sectors: u16,
    /// Emissivity times 32768; 0 = that of the config.
    pub emissivity_q15: u16,
    /// Its standard uncertainty, times 32768.
    pub emissivity_u_q15: u16,
    /// Object temperature in mK above which the area is counted; 0 = no area.
    pub above_mk: i32,
    /// Standard uncertainty of that temperature in mK, up to 1000000; 0 = that of a reading there without noise.
    pub above_u_mk: u32,
    /// Polygon: vertices used, 3 to 16.
    pub vertices_count: u32,
    /// Polygon: the vertices in order; the last one is joined to the first.
    pub vertices: [Vertex; POLYGON_VERTICES_MAX],
}

/// What a tool measured. Temperatures are kelvin times 65536 with their combined standard uncertainty; twice that is the
/// expanded uncertainty.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Measurement {
    /// sizeof(oddheat_measurement), set by the caller.
    pub struct_size: u32,
    /// Frames with at least one reading in the shape.
    pub frames: u32,
    /// Readings, over all frames.
    pub count_px: u32,
    /// Pixels left out over all frames, dead or saturated.
    pub rejected_px: u32,
    /// Mean of all pixels, averaged over the frames.
    pub mean_q16: i32,
    /// Its standard uncertainty.
    pub mean_u_q16: i32,
    /// Median of all pixels of all frames, the lower one of an even number.
    pub median_q16: i32,
    /// Its standard uncertainty.
    pub median_u_q16: i32,
    /// Coldest pixel of all frames.
    pub minimum_q16: i32,
    /// Its standard uncertainty, that of one pixel.
    pub minimum_u_q16: i32,
    /// Hottest pixel of all frames.
    pub maximum_q16: i32,
    /// Its standard uncertainty, that of one pixel.
    pub maximum_u_q16: i32,
    /// Standard deviation of the pixels in kelvin times 65536, noise of the sensor included.
    pub deviation_q16: i32,
    /// ODDHEAT_AREA_NONE, _WHOLE or _AT_LEAST.
    pub area: u32,
    /// Pixels above the temperature asked for, in the frame ended last; a saturated pixel is above.
    pub area_px: u32,
    /// Standard uncertainty of that number times 256, from where the border falls within pixels and from above_u_mk.
    pub area_u_q8: u32,
}

/// An item against the others of its row.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct Likeness {
    /// Value less the median of the others.
    pub difference: f64,
    /// Standard uncertainty of that difference.
    pub uncertainty: f64,
    /// Scatter of the others, as a standard deviation.
    pub scatter: f64,
    /// Difference in units of what a healthy item would differ by: 0.3 percent of healthy ones lie beyond 3 either way.
    pub score: f64,
}

/// The same on every target, so that one header serves all.
const _: () = {
    assert!(size_of::<Vertex>() == 4 && size_of::<Likeness>() == 32);
    assert!(size_of::<Tool>() == 104 && offset_of!(Tool, above_mk) == 28 && offset_of!(Tool, vertices) == 40);
    assert!(size_of::<Measurement>() == 64 && offset_of!(Measurement, mean_q16) == 16);
};
