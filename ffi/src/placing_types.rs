//! C types of the functions that find where a part is.

use crate::metrology_types::Estimate;
use core::mem::{offset_of, size_of};
use oddheat_core::measure::{MAX_BLOBS, MAX_LINES};

/// What ring to look for in a frame.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct RingRange {
    /// Least inner radius, 4 or more.
    pub least_radius_px: u16,
    /// Greatest outer radius, up to 1023.
    pub greatest_radius_px: u16,
    /// Least difference over two pixels that makes an edge, counts: five times the noise of a pixel or more.
    pub edge_counts: u16,
    /// 0.
    pub reserved: u16,
}

/// A ring that was found, in 1/256 pixel.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Ring {
    /// Column of the center.
    pub x_q8: u32,
    /// Row of the center.
    pub y_q8: u32,
    /// Radius of the inner edge, where it is steepest.
    pub inner_q8: u32,
    /// Radius of the outer edge, likewise.
    pub outer_q8: u32,
    /// 1 if the ring is hotter than what is on either side, 0 if colder.
    pub hotter: u16,
    /// Part of the circumference along which both edges point at the center, in 1/1000; 600 or more.
    pub confidence_per_mille: u16,
}

/// Words of scratch that oddheat_check_locate_along() never exceeds. It takes 3 words for every part of 1.5 pixels along
/// the middle of the ring, at least 24: 2.1 * (inner + outer) * 3.
pub const LOCATE_ALONG_WORDS: usize = 3072;

/// Two boxes of the same size whose contents are to be laid over each other: a part and its twin.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Pair {
    /// First column of the first box.
    pub x0_px: u16,
    /// First row of the first box.
    pub y0_px: u16,
    /// Last column of the first box.
    pub x1_px: u16,
    /// Last row of the first box.
    pub y1_px: u16,
    /// First column of the second box.
    pub second_x0_px: u16,
    /// First row of the second box.
    pub second_y0_px: u16,
    /// 1 if the first is to be mirrored left to right, 0 if not.
    pub mirrored: u16,
    /// More than the second may be off in pixels, either way: 2 or more, or nothing is found. Half of the box is the most.
    pub reach_px: u16,
}

/// Where the second of a pair lies against the first, in 1/256 pixel. A column x of the first is column
/// second_x0_px + (x - x0_px) + dx of the second, or second_x0_px + (x1_px - x) + dx if mirrored; a row y is row
/// second_y0_px + (y - y0_px) + dy.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Shift {
    /// Columns by which the second lies to the right of where its box says.
    pub dx_q8: i32,
    /// Rows by which it lies below.
    pub dy_q8: i32,
    /// The smaller correlation of column sums and of row sums in 1/1000; 700 or more.
    pub confidence_per_mille: u32,
}

/// A box that holds parallel lines, such as the heating lines of a rear window.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct CombArea {
    /// First column.
    pub x0_px: u16,
    /// First row.
    pub y0_px: u16,
    /// Last column.
    pub x1_px: u16,
    /// Last row.
    pub y1_px: u16,
    /// 0 if the lines run along rows, one above the other; 1 if they stand upright, side by side.
    pub upright: u16,
    /// Least distance of two lines in pixels, 4 or more; 0 = 4. A third of the box across is the most.
    pub least_pitch_px: u16,
}

/// Most lines of a comb.
pub const COMB_LINES_MAX: usize = 24;

/// A line of a comb.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
pub struct CombLine {
    /// Where it is, or would be, in the middle of the box: row, or column if the lines stand upright.
    pub place_px: f64,
    /// Its mean less that of the gaps beside it, counts.
    pub contrast_counts: f64,
    /// 1 if it is there; 0 if its contrast is below 0.3 of the median: cold, or broken.
    pub present: u32,
    /// 0.
    pub reserved: u32,
}

/// Parallel lines that were found.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Comb {
    /// Distance of the lines, pixels.
    pub pitch_px: Estimate,
    /// Pixels across per pixel along: the tangent of the angle to the axis.
    pub slant: Estimate,
    /// Autocorrelation of the profile at the pitch in 1/1000; 400 or more.
    pub confidence_per_mille: u32,
    /// Lines used.
    pub lines_count: u32,
    /// The lines in order, those that are missing between others included.
    pub lines: [CombLine; COMB_LINES_MAX],
}

/// Most boxes among which a row is looked for.
pub const BLOBS_MAX: usize = 32;

/// A row of evenly spaced items that was found.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct ItemRow {
    /// Column of the center of the first place.
    pub first_x_px: f64,
    /// Row of it.
    pub first_y_px: f64,
    /// Columns to the next place.
    pub step_x_px: Estimate,
    /// Rows to the next place.
    pub step_y_px: Estimate,
    /// Places, the first and the last of which hold a region.
    pub places: u32,
    /// A bit for each place that holds a region, the lowest for the first: where there is none, an item is missing or no
    /// other than its surroundings.
    pub filled: u32,
    /// Part of the places that hold a region times how even they are, in 1/1000; 300 or more.
    pub confidence_per_mille: u32,
    /// 0.
    pub reserved: u32,
}

/// The same on every target, so that one header serves all.
const _: () = {
    assert!(size_of::<Pair>() == 16 && size_of::<Shift>() == 12 && size_of::<CombArea>() == 12);
    assert!(size_of::<CombLine>() == 24 && size_of::<Comb>() == 616 && offset_of!(Comb, lines) == 40);
    assert!(size_of::<ItemRow>() == 64 && offset_of!(ItemRow, places) == 48);
    assert!(COMB_LINES_MAX == MAX_LINES && BLOBS_MAX == MAX_BLOBS);
};
