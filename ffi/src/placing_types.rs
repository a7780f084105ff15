//! C types of the functions that find where a part is.

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
